"""The tables of a job, from wherever they stand: CSV files, the sheets of one spreadsheet, or handed over in Python."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from deckcalc.base.fields import Strict
from deckcalc.core.units import InputError, clipped
from deckcalc.job.bounded import most_rows
from deckcalc.job.dialect import read_csv
from deckcalc.job.folder import HEAD, SPREADSHEETS, Contents, near
from deckcalc.job.table import Table, taken

#: A sheet that templates have for the choices that drop down.
CHOICES = "choices"


@dataclass
class Tables:
    """What the tables of a job hold.

    Attributes
    ----------
    found : dict of Table
        By name.
    unread : list of str
        Sheets that were not read, and why.
    faults : list of str
    """

    found: dict[str, Table] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def read_tables(contents: Contents, models: Mapping[str, type[Strict]]) -> Tables:
    """Read every table of a job that is there; one that was handed over stands instead of any file or sheet."""
    tables = Tables()
    for name, model in models.items():
        if f"{name}.csv" not in contents.files or name in contents.tables:
            continue
        try:
            tables.found[name] = read_csv(name, contents.files[f"{name}.csv"], model, most_rows(name))
        except InputError as error:
            tables.faults.append(f"{name}.csv{error}")
    files = [file for file in SPREADSHEETS if file in contents.files]
    if len(files) > 1:
        tables.faults.append(f"{' and '.join(files)}: both are there; keep one of them in the job folder")
    for file in files[-1:]:
        try:
            read_sheets(file, contents.files[file], models, tables, contents.tables)
        except InputError as error:
            tables.faults.append(f"{file}: {error}")
    found = {**tables.found, **contents.tables}
    tables.found = {name: taken(found[name], models[name]) for name in models if name in found}
    return tables


def read_sheets(
    file: str, data: bytes, models: Mapping[str, type[Strict]], tables: Tables, instead: Mapping[str, Table]
) -> None:
    """Read the sheets of a spreadsheet that are tables; a name near that of a table is a fault, another one a note."""
    from deckcalc.job.workbook import looked_at, read_sheet, values_of

    looks = looked_at(file, data)
    known = {f"{name}.csv": name for name in models}
    wanted: dict[str, str] = {}
    for sheet in looks:
        if sheet == CHOICES:
            continue
        shown = clipped(sheet, 60)
        name = re.sub(r"[\s-]+", "_", sheet.strip().casefold())
        meant = known.get(near(f"{sheet}.csv", list(known))[0] or "")
        if name in models and name in wanted.values():
            tables.faults.append(
                f"{file}, sheet {shown}: the table {name} is already in another sheet; keep one of them"
            )
        elif name in models:
            wanted[sheet] = name
        elif meant and near(f"{sheet}.csv", list(known))[1]:
            tables.faults.append(
                f"{file}, sheet {shown}: not read; is it {meant}? Give it that name; if it is something else, take it out"
            )
        else:
            tables.unread.append(f"{file}, sheet {shown}: no table of a job; not read")
    wanted = {sheet: name for sheet, name in wanted.items() if name not in instead}
    for sheet, name in wanted.items():
        if name in tables.found or any(fault.startswith(f"{name}.csv") for fault in tables.faults):
            tables.faults.append(both(name, f"{name}.csv", f"{file}, sheet {clipped(sheet, 60)}"))
    sheets = {sheet: looks[sheet] for sheet, name in wanted.items() if name not in tables.found}
    for sheet, values in values_of(data, sheets).items() if sheets else ():
        name = wanted[sheet]
        tables.found[name] = read_sheet(file, clipped(sheet, 60), name, models[name], values, looks[sheet])


def both(name: str, one: str, other: str) -> str:
    """Say that a table stands in two places."""
    return f"{one} and {other}: the table {name} stands in both; take one of the two away"


def told(fault: str, tables: Mapping[str, Table], handed_over: bool) -> str:
    """Return a fault with the places of tables as the user knows them, instead of the files in which they are filed."""
    for name, table in tables.items():
        if table.file != f"{name}.csv":
            fault = re.sub(rf"(?<![\w.-]){name}\.csv\b", table.file.replace("\\", "\\\\"), fault)
    if handed_over:
        fault = re.sub(rf"^{re.escape(HEAD)}\b", "job", fault)
        fault = fault.replace(HEAD, "the settings")
    return fault
