"""Tables of a job for other programs: its inputs, each calculation with its items, checks, materials and open items."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Mapping
from dataclasses import asdict, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from deckcalc.base.errors import PackageError
from deckcalc.base.replacing import MANIFEST, hashes, holding, put, sealed
from deckcalc.base.subject import Material, OpenItem, Run
from deckcalc.core.units import InputError
from deckcalc.job.table import written
from deckcalc.show.display import frame, pandas

if TYPE_CHECKING:
    import pandas as pd

    from deckcalc.job.order import Job

#: What each format of a file wants beside pandas; the spreadsheets hold all tables in one file.
FORMATS = {"csv": "", "parquet": "pyarrow", "xlsx": "openpyxl", "ods": "odfpy"}
ENGINES = {"xlsx": "openpyxl", "ods": "odf"}
BOOK = "results"
#: The longest name of a sheet.
LONGEST_SHEET = 31
#: Columns of the open items.
OPEN = tuple(one.name for one in fields(OpenItem) if one.name != "checks")


def tables_of(job: Job) -> dict[str, pd.DataFrame]:
    """Return the tables of a job, units in their heads, numbers in full.

    Parameters
    ----------
    job : Job

    Returns
    -------
    dict of DataFrame
        Inputs by the name of their table, ready for `Job.build`; calculations by their key, such as
        ``steel.section_loss``, a row for each item with arguments and results; ``checks``, ``materials``, ``open_items``.
        Several values of one item stand between semicolons.

    Raises
    ------
    InputError
        If pandas is not installed.
    """
    made = {Path(name).stem: input_table(data) for name, data in job.file.verbatim.items() if name.endswith(".csv")}
    runs: dict[str, list[Run[Any]]] = {}
    for subject in job.subjects:
        for run in subject.runs:
            runs.setdefault(run.calculation.key, []).append(run)
    for key, of_one in runs.items():
        made[key] = joined(frame(of_one, job.system))
    made["checks"] = frame(job.checks, job.system)
    made["materials"] = pandas().DataFrame(
        [asdict(one) for one in job.materials], columns=[one.name for one in fields(Material)]
    )
    rows = [{name: getattr(one, name) for name in OPEN} for one in job.open_items]
    made["open_items"] = joined(pandas().DataFrame(rows, columns=list(OPEN)))
    return made | of_record(job)


def of_record(job: Job) -> dict[str, pd.DataFrame]:
    """Return what differs from the plan, and the account with its quantities by patch, of a job that has a record or items of work."""
    from deckcalc.job.deviations import Deviation, deviations
    from deckcalc.job.payment import account
    from deckcalc.job.record import record_of, recorded

    made: dict[str, pd.DataFrame] = {}
    if recorded(job):
        rows = [(one.words, ", ".join(one.patches), *one[2:]) for one in deviations(record_of(job))]
        made["deviations"] = pandas().DataFrame(rows, columns=["rank", *Deviation._fields[1:]])
    if (paid := account(job)) is not None:
        number = lambda value: None if value is None else float(value)  # noqa: E731
        made["payment"] = pandas().DataFrame(
            [
                (one.item, one.what, number(one.quantity), one.unit, number(one.price), number(one.amount))
                for one in paid.lines
            ],
            columns=["item", "what", "quantity", "unit", "price", "amount"],
        )
        made["payment_by_patch"] = pandas().DataFrame(
            [(item.row.item, part.where, item.row.unit, number(part.planned), number(part.built), number(part.built - part.planned), part.measured)
             for item in paid.items for part in item.parts],
            columns=["item", "where", "unit", "planned", "built", "difference", "measured"],
        )  # fmt: skip
    return made


def input_table(data: bytes) -> pd.DataFrame:
    """Return a table of inputs: columns of numbers as numbers, others as text, so that what is written back is the same."""
    head, *rows = [
        row for row in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=None)) if "".join(row).strip()
    ]
    columns = {}
    for place, cell in enumerate(head):
        texts = [row[place].strip() if place < len(row) else "" for row in rows]
        numbers = [number_or_none(text) for text in texts]
        whole = all(number is not None or not text for number, text in zip(numbers, texts, strict=True))
        columns[cell.strip()] = numbers if whole and any(texts) else texts
    made: pd.DataFrame = pandas().DataFrame({name: pandas().Series(column) for name, column in columns.items()})
    return made


def number_or_none(text: str) -> int | float | None:
    """Return the number that a text is; None where writing it back would give another text."""
    if not re.fullmatch(r"-?\d+(\.\d+)?", text):
        return None
    number = float(text) if "." in text else int(text)
    return number if written(number) == text else None


def joined(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table in which several values of one cell are a text, separated by semicolons."""
    for head in table.columns:
        if any(isinstance(cell, np.ndarray | tuple | list) and np.ndim(cell) for cell in table[head]):
            table[head] = [
                "; ".join(written(one.item() if isinstance(one, np.generic) else one) for one in np.atleast_1d(cell).ravel())
                for cell in table[head]
            ]  # fmt: skip
    return table


def write(tables: Mapping[str, pd.DataFrame], out: str | Path, format: str = "csv") -> Path:
    """Write tables into a folder that stands there whole or not at all: a file each, or one spreadsheet.

    Parameters
    ----------
    tables : dict of DataFrame
    out : path
        What stands there is replaced only if it was written by this function and not changed since.
    format : {"csv", "parquet", "xlsx", "ods"}

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    InputError
        If the format is not known, or a library for it is not installed.
    PackageError
        If the folder cannot be written, or holds what may not be replaced.
    """
    if format not in FORMATS:
        raise InputError(f"found the format “{format}”, wanted one of {', '.join(FORMATS)}")
    place = Path(os.path.realpath(out))
    if (place / "job.toml").exists():
        raise PackageError(f"{out} is a job folder; name another folder with --out")
    with holding(place) as holder:
        (made := holder / "new").mkdir()
        try:
            write_files(tables, made, format)
        except ImportError:
            raise InputError(
                f"files of the format {format} want the library {FORMATS[format]}; install it with: pip install {FORMATS[format]}"
            ) from None
        (made / MANIFEST).write_bytes(sealed({"tables": list(tables), "files": hashes(made)}))
        return put(made, Path(out), beside=False)


def write_files(tables: Mapping[str, pd.DataFrame], made: Path, format: str) -> None:
    """Write the files of one format."""
    if format in ENGINES:
        sheets = names_of_sheets(tables)
        with pandas().ExcelWriter(made / f"{BOOK}.{format}", engine=ENGINES[format]) as book:
            for name, table in tables.items():
                table.to_excel(book, sheet_name=sheets[name], index=False)
            for sheet in book.book.worksheets if format == "xlsx" else ():
                for cell in (cell for row in sheet.iter_rows() for cell in row if cell.data_type == "f"):
                    cell.data_type = "s"  # a text is no formula
        return
    for name, table in tables.items():
        if format == "csv":
            table.to_csv(made / f"{name}.csv", index=False, lineterminator="\n")
        else:
            table.to_parquet(made / f"{name}.parquet", index=False, engine="pyarrow")


def names_of_sheets(names: Mapping[str, Any]) -> dict[str, str]:
    """Return a name of a sheet for each table: as long as a spreadsheet takes it, no two alike.

    Examples
    --------
    >>> names_of_sheets({"checks": 0, "chloride.fit_profile_and_background": 0, "chloride.fit_profile_and_background_2": 0})
    ... # doctest: +NORMALIZE_WHITESPACE
    {'checks': 'checks', 'chloride.fit_profile_and_background': 'chloride.fit_profile_and_backgr',
     'chloride.fit_profile_and_background_2': 'chloride.fit_profile_and_back~2'}
    """
    made: dict[str, str] = {}
    for name in names:
        short, number = re.sub(r"[\[\]:*?/\\]", "-", name)[:LONGEST_SHEET], 1
        while short.casefold() in {one.casefold() for one in made.values()}:
            number += 1
            short = f"{short[: LONGEST_SHEET - len(f'~{number}')].partition('~')[0]}~{number}"
        made[name] = short
    return made
