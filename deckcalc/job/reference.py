"""Every section, field and table of a job folder, as they are declared: one commented file beside the job."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache
from typing import Any

from pydantic.fields import FieldInfo

from deckcalc.base.fields import Strict
from deckcalc.base.start import Rows
from deckcalc.core.units import System
from deckcalc.job import declared
from deckcalc.job.settings import INPUTS, ROWS, JobSettings

NAME = "reference.toml"
HEAD = """\
## Every section, field and table of a job folder, written from the declarations by which it is read.
## Nothing of this file is read. To use a field, copy its line into job.toml below the head of its section, and take the "# "
## at its beginning away; likewise the head, which stands once. Of sections in double brackets there may be several.
## What is not called required may be left out; of a section that stands there, its required fields have to.
## Quantities are written as people write them: "65 mm", "2 1/2 in", "4 ksi", "0.4 %"; any unit may be used in any job.
"""
TABLES = """\
## Tables stand beside job.toml, separated by commas. The unit in the head of a column holds for every cell that has none of
## its own. Columns come in any order; one that is required has to be there, though a cell may be empty where its words say so.
"""


def reference(system: System, subjects: Collection[str] | None = None) -> str:
    """Return the reference of the fields and tables of a job.

    Parameters
    ----------
    system : {"SI", "US"}
        Whose units it is written in.
    subjects : collection of str, optional
        Subjects to keep to, by the words of `WORDS` of deckcalc.job.file, beside what every job has; all if left out.

    Returns
    -------
    str
        TOML in which every line is a comment: prose behind ``##``, heads and fields behind ``#``.
    """
    left = [module for module in INPUTS if subjects is not None and module.NEEDS.about not in subjects]
    not_wanted = {name for module in left for name in (*module.SECTIONS, *module.ROWS)}
    data = declared.demo(system)
    lines = HEAD.splitlines()
    fields = {name: info for name, info in JobSettings.model_fields.items() if name not in not_wanted}
    lines += ["", *(line for name, info in fields.items() for line in of_field("", name, info, system, data))]
    lines += ["", *TABLES.splitlines()]
    for name, model in ROWS.items():
        if name not in not_wanted:
            lines += ["", *of_table(name, model, system)]
    return "\n".join(lines) + "\n"


def of_field(path: str, name: str, info: FieldInfo, system: System, data: Mapping[str, Any]) -> Iterator[str]:
    """Yield the lines of one field: its own line, or its sections."""
    models, given = declared.sections(info), data.get(name)
    if declared.holds_value(info):
        value = declared.example(info, system, None if models and isinstance(given, dict) else given)
        yield f"# {declared.key_of(name)} = {declared.toml(value)}  # {explained(info, system)}"
        if models:
            yield f"## or, in place of the line {name}:"
    for model in models:
        yield from of_section(f"{path}{name}", info, model, system, given)


def explained(info: FieldInfo, system: System) -> str:
    """Return meaning, range and default of a field in one line."""
    default = "required" if info.is_required() else declared.left_out(info)
    return "; ".join(part for part in (info.description or "", declared.wanted(info, system), default) if part)


def of_section(path: str, info: FieldInfo, model: type[Strict], system: System, given: Any) -> Iterator[str]:
    """Yield the lines of a section: what it is, its head, its fields, and its own sections."""
    form = declared.shape(info)
    entries = given if isinstance(given, dict) and form == "dict" else {}
    mine = {name: one for name, one in entries.items() if fits(model, one)}
    if form == "dict":
        path += f".{declared.key_of(next(iter(mine), 'NAME'))}"
    examples = list(mine.values()) if form == "dict" else given if isinstance(given, list) else [given or {}]
    data = declared.merged([one for one in examples if isinstance(one, Mapping)])
    one_of_many = len(declared.sections(info)) > 1 or not info.description
    what = capital((declared.first_sentence(model) if one_of_many else info.description or "").rstrip("."))
    yield ""
    yield f"## {what}; required." if info.is_required() else f"## {what}."
    yield f"# [[{path}]]" if form == "list" else f"# [{path}]"
    for name, one in sorted(model.model_fields.items(), key=lambda item: bool(declared.sections(item[1]))):
        yield from of_field(f"{path}.", name, one, system, data)


def fits(model: type[Strict], entry: Any) -> bool:
    """Return whether an entry is one of this model, where the kind of each says of which it is."""
    kinds = declared.choices(model.model_fields["kind"]) if "kind" in model.model_fields else []
    return isinstance(entry, dict) and (not kinds or entry.get("kind") in kinds)


def capital(text: str) -> str:
    """Return a text with a capital letter at its beginning."""
    return text[:1].upper() + text[1:]


def of_table(name: str, model: type[Strict], system: System) -> Iterator[str]:
    """Yield the lines of a table: what it is, its columns, and rows as an example."""
    said = " ".join((model.__doc__ or "").split())
    yield f"## {said}"
    for column, info in model.model_fields.items():
        yield f"##   {head_of(name, column, info, system)}: {explained(info, system)}"
    yield "## For example:"
    for line in csv_text(example_rows(name, model, system, shown(name))[:3]).splitlines():
        yield f"##   {line}"


def shown(name: str) -> Rows:
    """Return the rows that a new job has of a table."""
    return next((module.START.rows[name] for module in INPUTS if name in module.START.rows), "")


@cache
def demo_heads(name: str, system: System) -> dict[str, str]:
    """Return the heads of a table of the demo job by field."""
    table = declared.demo_table(system, name)
    called = {"from": "upper", "to": "lower"}
    plain = {
        cell: re.sub(r"\s*\[.*", "", cell).replace(" ", "_").replace("-", "_") for cell in (table[0] if table else ())
    }
    return {called.get(field, field): cell for cell, field in plain.items()}


def head_of(name: str, column: str, info: FieldInfo, system: System) -> str:
    """Return the head of a column, with its unit."""
    if (head := demo_heads(name, system).get(column)) is not None:
        return head
    found = declared.ranges(info)
    unit = declared.kind_of(found[0]).symbol(system) if found else ""
    return column.replace("_", " ") + (f" [{unit}]" if unit else "")


def example_rows(
    name: str, model: type[Strict], system: System, rows: Rows = "", columns: Collection[str] | None = None
) -> list[list[str]]:
    """Return head and rows of a table: of the demo job where it has the table, else one worked out from the declaration.

    Parameters
    ----------
    rows : str or dict
        As in `Start`; the first two of the demo job if empty.
    columns : collection of str, optional
        Columns that are kept beside the required ones, as ``"bars.patch"``; all if left out.
    """
    needed = {column: info for column, info in model.model_fields.items() if info.is_required()}
    kept = {
        column: info
        for column, info in model.model_fields.items()
        if column in needed or columns is None or f"{name}.{column}" in columns
    }
    named = rows if isinstance(rows, str) else rows[system]
    if isinstance(named, str):
        fields, table = list(demo_heads(name, system)), declared.demo_table(system, name)
        given = [dict(zip(fields, row, strict=True)) for row in table[1:]]
        by_name = {row[next(iter(model.model_fields))]: row for row in given}
        chosen = given if named == "*" else [by_name[each] for each in named.split()] or given[:2] or [{}]
    else:
        chosen = [dict(zip(needed, cells, strict=True)) for cells in csv.reader(named)]
    return [
        [head_of(name, column, info, system) for column, info in kept.items()],
        *([cell_of(column, info, row, system) for column, info in kept.items()] for row in chosen),
    ]


def cell_of(column: str, info: FieldInfo, row: Mapping[str, str], system: System) -> str:
    """Return a cell of an example; where the row does not say it, its default, or one worked out from the declaration."""
    if column in row:
        return row[column]
    return str(declared.example(info, system)) if info.is_required() else str(info.default or "")


def csv_text(rows: Sequence[Sequence[str]]) -> str:
    """Return rows as they stand in a file."""
    with io.StringIO() as file:
        csv.writer(file, lineterminator="\n").writerows(rows)
        return file.getvalue()
