"""A table as text, whatever it was read from: a CSV file, a sheet of a spreadsheet, or a table handed over in Python.

All three readers give a `Table`; `deckcalc.job.rows` reads its rows, and its faults name the place as the user knows it.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, get_args

from deckcalc.base.fields import InRange, Strict
from deckcalc.core import units
from deckcalc.core.units import InputError, clipped
from deckcalc.core.words import us_names

#: Heads of a column that says something to people alone; the last one is that of the copies in which faults are marked.
NOTES = ("notes", "note", "remarks", "remark", "comments", "comment", "fault")
#: Heads that are not the name of their field.
WORDS = {"from": "upper", "to": "lower"}


@dataclass(frozen=True)
class Table:
    """A table as text.

    Attributes
    ----------
    name : str
        Of the table: ``bars``.
    file : str
        Where it stands, in words: ``bars.csv``, ``tables.xlsx, sheet bars`` or ``table bars``.
    header : tuple of str
    rows : tuple of tuple
        Cells, as many as the row has.
    numbers : tuple of str
        By which each row is named.
    head : str
        By which the row of the heads is named; empty where it is no row.
    letters : tuple of str
        Of a spreadsheet: the letters of its columns.
    stopped : str
        What stopped the reading, if it did not come to the end.
    data : bytes
        The file, where it stands as it is filed; empty where it is written anew.
    understood : tuple of str
        What departs from the plain form, and how it was taken.
    faults : tuple of str
        Cells that hold nothing that could be read.
    unread : frozenset of str
        The rows in which such cells stand: nothing else is said of them.
    """

    name: str
    file: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[str, ...]
    head: str = "1"
    letters: tuple[str, ...] = ()
    stopped: str = ""
    data: bytes = b""
    understood: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    unread: frozenset[str] = frozenset()

    def at(self, row: str = "", place: int | None = None, column: str = "") -> str:
        """Return a place in words: of the table, of a row, or of a cell."""
        cell = self.letters[place] if self.letters and place is not None and place < len(self.letters) else ""
        parts = [self.file, f"cell {cell}{row}" if cell else f"row {row}" if row else "", column and f"column {column}"]
        return ", ".join(part for part in parts if part)

    @property
    def at_head(self) -> str:
        """The row of the heads in words."""
        return self.at(self.head)

    def filed(self, model: type[Strict]) -> bytes:
        """Return the table as it is filed: as it stands, or as plain CSV with the units in its heads."""
        if self.data:
            return self.data
        with io.StringIO() as text:
            writer = csv.writer(text, lineterminator="\n")
            writer.writerow(plain_head(cell, model) for cell in self.header)
            writer.writerows(self.rows)
            return text.getvalue().encode()


def plain_head(cell: str, model: type[Strict]) -> str:
    """Return the head of a column as it is filed.

    Examples
    --------
    >>> from deckcalc.steel.inputs import BarRow
    >>> plain_head("Readings (mm)", BarRow), plain_head("Remarks", BarRow)
    ('readings [mm]', 'Remarks')
    """
    try:
        column, unit = head_of(cell, model) or ("", "")
    except InputError:
        column = ""
    if not column:
        return cell.strip()
    named = {field: word for word, field in WORDS.items()}.get(column, column.replace("_", " "))
    return f"{named} [{unit}]" if unit else named


@cache
def head_of(cell: str, model: type[Strict]) -> tuple[str, str] | None:
    """Return field and unit that a head names; None where it names no field.

    Raises
    ------
    InputError
        If it can be read with two units.

    Examples
    --------
    >>> from deckcalc.steel.inputs import BarRow
    >>> [head_of(one, BarRow) for one in ("Station [m]", "station (m)", "station, m", "STATION_M", "loss-length")]
    [('station', 'm'), ('station', 'm'), ('station', 'm'), ('station', 'm'), ('loss_length', '')]
    """
    for pattern in (r"([^\[\]]+?)\s*(?:\[(.*)\])?", r"([^()]+?)\s*\((.*)\)", r"([^,]+?)\s*,\s*([^,]+)"):
        if (match := re.fullmatch(pattern, cell.strip())) and (column := field_of(match[1], model)):
            return column, (match[2] or "").strip()
    name, _, unit = cell.strip().rpartition("_")
    column = field_of(name, model)
    kind = column and kind_of(column, model)
    if not column or not kind or kind.dimensionless:
        return None
    meant = [own for own in (kind.si, kind.us) if own.casefold() == unit.casefold()]
    found = {found: text for text in (*meant, unit.lower(), unit) if (found := measuring(text, kind)) is not None}
    if len(found) > 1:
        raise InputError(
            f"“{clipped(cell)}” can be read as {column} in {' or in '.join(found.values())}; write {column} [{kind.si}], with its unit"
        )
    return (column, next(iter(found.values()))) if found else None


def field_of(text: str, model: type[Strict]) -> str:
    """Return the field that a name means; nothing where it means none."""
    column = re.sub(r"[\s-]+", "_", text.strip().lower())
    column = WORDS.get(column, us_names(tuple(model.model_fields)).get(column, column))
    return column if column in model.model_fields else ""


def measuring(text: str, kind: units.Kind) -> Any:
    """Return the unit that a text names if the kind is measured in it."""
    try:
        unit = units.unit(text)
        kind.scale(unit)
    except InputError:
        return None
    return unit


def quantity_of(column: str, model: type[Strict]) -> InRange | None:
    """Return what a field says of the quantity that it holds; None where it holds none."""
    info = model.model_fields[column]
    metadata = [*info.metadata, *(one for arg in get_args(info.annotation) for one in getattr(arg, "__metadata__", ()))]
    return next((one for one in metadata if isinstance(one, InRange)), None)


def kind_of(column: str, model: type[Strict]) -> units.Kind | None:
    """Return the kind of the quantity that a field holds; None where it holds none."""
    found = quantity_of(column, model)
    return None if found is None else found.kind if isinstance(found.kind, units.Kind) else units.kind_of(found.kind)


def is_notes(cell: str, model: type[Strict]) -> bool:
    """Whether a head is that of a column for people alone, which the table does not know."""
    return cell.strip().casefold() in NOTES and not field_of(cell, model)


def is_moment(column: str, model: type[Strict]) -> bool:
    """Whether a field holds a date with its time of day."""
    annotation = model.model_fields[column].annotation
    return datetime.datetime in (annotation, *get_args(annotation))


def written(value: Any, digits: int = 17, moment: bool = False) -> str:
    """Return a value of a cell as text: numbers with at most so many digits, dates and times as ISO has them.

    Examples
    --------
    >>> written(15.199999999999999, 15), written(3.0), written(True), written(datetime.datetime(2026, 3, 14))
    ('15.2', '3', 'yes', '2026-03-14')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        if isinstance(value, float) and value == int_or_none(value):
            value = int(value)
        return str(value) if isinstance(value, int) else repr(value) if digits > 16 else f"{value:.{digits}g}"
    if isinstance(value, datetime.datetime):
        value = (value + datetime.timedelta(milliseconds=500)).replace(microsecond=0)
        if value.time() == datetime.time() and not moment:
            return value.date().isoformat()
        return value.isoformat(" ", "seconds" if value.second else "minutes")
    if isinstance(value, datetime.date):
        return f"{value.isoformat()} 00:00" if moment else value.isoformat()
    if isinstance(value, datetime.time):
        return value.isoformat("seconds" if value.second else "minutes")
    return " ".join(str(value).split("\n")).strip()


def int_or_none(value: float) -> int | None:
    """Return a float as a whole number that it holds without loss."""
    return int(value) if abs(value) < 1e15 else None


def taken(table: Table, model: type[Strict]) -> Table:
    """Return a table as it is filed: without what is empty, its departures from the plain form said.

    Empty columns, rows and cells at the ends of rows go; a column of notes that the table does not know stays, for people.
    """
    said, width = list(table.understood), len(table.header)
    rows = [tuple(cell.strip() for cell in row) for row in table.rows]
    if any(len(row) > width and not any(row[width:]) for row in rows):
        rows = [row if any(row[width:]) else row[:width] for row in rows]
        said.append("empty cells behind the last column left out")
    full = [place for place, row in enumerate(rows) if any(row)]
    kept = [
        place
        for place in range(width)
        if table.header[place].strip() or any(rows[i][place : place + 1] != ("",) for i in full)
    ]
    if len(kept) < width:
        rows = [tuple(row[place] for place in kept if place < len(row)) + row[width:] for row in rows]
        said.append(f"{counted(width - len(kept), 'empty column')} left out")
    if full and len(full) <= full[-1]:
        said.append(f"{counted(full[-1] + 1 - len(full), 'empty row')} left out")
    header = tuple(table.header[place] for place in kept)
    said += [f"“{clipped(cell.strip())}” is {plain_head(cell, model)}" for cell in header if departs(cell, model)]
    data = b"" if said else table.data
    said += [f"the column “{cell.strip()}” is for people and not used" for cell in header if is_notes(cell, model)]
    return replace(
        table, header=header, rows=tuple(rows[i] for i in full), numbers=tuple(table.numbers[i] for i in full),
        letters=tuple(table.letters[place] for place in kept) if table.letters else (), data=data, understood=tuple(said),
    )  # fmt: skip


def departs(cell: str, model: type[Strict]) -> bool:
    """Whether a head names its unit otherwise than in square brackets."""
    try:
        found = head_of(cell, model)
    except InputError:
        return False
    return found is not None and "[" not in cell and field_of(cell, model) != found[0]


def letters_of(column: int) -> str:
    """Return the letters of a column of a spreadsheet, counted from 1.

    Examples
    --------
    >>> letters_of(3), letters_of(27)
    ('C', 'AA')
    """
    letters = ""
    while column:
        column, place = divmod(column - 1, 26)
        letters = chr(65 + place) + letters
    return letters


def counted(number: int, what: str) -> str:
    """Return a number of things in words."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def grouped(understood: Mapping[str, Sequence[str]]) -> list[str]:
    """Return sentences by what was understood, files that are alike together.

    Examples
    --------
    >>> grouped({"bars.csv": ["cells separated by tabs"], "cores.csv": ["cells separated by tabs"]})
    ['bars.csv, cores.csv: cells separated by tabs']
    """
    alike: dict[str, list[str]] = {}
    for file, said in understood.items():
        if said:
            alike.setdefault(", ".join(said), []).append(file)
    return [f"{', '.join(files)}: {said}" for said, files in alike.items()]
