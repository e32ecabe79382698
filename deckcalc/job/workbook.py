"""A spreadsheet in a job folder: ``tables.xlsx`` or ``tables.ods``, a sheet per table, read as values and never run.

What its parts hold is looked at first, within bounds: how large they are unpacked, how far their cells reach, which cells
hold an error, a formula without its result, or are shown in per cent. Only then are the values read, through pandas.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any
from xml.etree.ElementTree import Element

from deckcalc.base.fields import Strict
from deckcalc.core.units import InputError, clipped
from deckcalc.job.bounded import LONGEST_CELL, MOST_COLUMNS, most_rows
from deckcalc.job.table import Table, head_of, is_moment, kind_of, letters_of, written

#: Parts of a spreadsheet that are looked at, and how large they may be together when unpacked.
MOST_PARTS, MOST_UNPACKED = 2_000, 64 * 2**20
CHUNK = 2**20
#: Digits that a spreadsheet holds and shows of a number.
DIGITS = 15
#: Formats of numbers in per cent that every spreadsheet has.
PER_CENT = ("9", "10")
MOST_FAULTS = 20


@dataclass
class Look:
    """What was seen of one sheet: cells by row and column, from 1."""

    rows: int = 0
    columns: int = 0
    per_cent: set[tuple[int, int]] = field(default_factory=set)
    faults: dict[tuple[int, int], str] = field(default_factory=dict)

    def reach(self, row: int, column: int) -> None:
        """Note how far the cells reach."""
        self.rows, self.columns = max(self.rows, row), max(self.columns, column)


def looked_at(file: str, data: bytes) -> dict[str, Look]:
    """Look at every sheet of a spreadsheet, by name.

    Raises
    ------
    InputError
        If it is no spreadsheet, unpacks to too much, or what looks at it is not installed.
    """
    require_small(data)
    try:
        return dict(looks_ods(data) if file.endswith(".ods") else looks_xlsx(data))
    except ImportError:
        raise InputError(f"wants {INSTALL}") from None
    except Exception as error:  # parts that are missing, cut off or forbidden raise several unrelated kinds of error
        raise InputError(unreadable(error)) from None


def unreadable(error: Exception) -> str:
    """Say that a file is no spreadsheet."""
    return f"no spreadsheet that can be read ({clipped(error, 80) or type(error).__name__}); save it again, without a password"


def values_of(data: bytes, sheets: Mapping[str, Look]) -> dict[str, list[list[Any]]]:
    """Return the values of the cells of sheets, as they are stored.

    Raises
    ------
    InputError
        If a sheet reaches too far, or what reads it is not installed.
    """
    for name, look in sheets.items():
        if look.columns > MOST_COLUMNS or look.rows > most_rows() + 1:
            raise InputError(
                f"sheet {clipped(name)}: its cells reach to {letters_of(look.columns)}{look.rows}; "
                f"at most {MOST_COLUMNS} columns and {most_rows()} rows are read"
            )
    try:
        import pandas as pd

        how = {"header": None, "engine": "calamine", "dtype": object, "na_filter": False}
        frames = pd.read_excel(io.BytesIO(data), sheet_name=list(sheets), **how)
    except ImportError:
        raise InputError(f"wants {INSTALL}") from None
    except Exception as error:  # the reader raises several unrelated kinds of error
        raise InputError(unreadable(error)) from None
    return {str(name): frame.to_numpy().tolist() for name, frame in frames.items()}


INSTALL = "the libraries pandas, python-calamine and defusedxml; install them with: pip install “deckcalc[job]”"


def require_small(data: bytes) -> None:
    """Refuse what unpacks to more than is read; its parts are unpacked here once, so that no size is taken on trust."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            entries = parts.infolist()
            if len(entries) > MOST_PARTS:
                raise InputError(f"{len(entries)} parts; at most {MOST_PARTS} are read")
            left = MOST_UNPACKED
            for entry in entries:
                with parts.open(entry) as part:
                    while chunk := part.read(min(CHUNK, left + 1)):
                        left -= len(chunk)
                        if left < 0:
                            raise InputError(f"unpacks to more than {MOST_UNPACKED // 2**20} MB; no table is as large")
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError, EOFError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(unreadable(error)) from None


def looks_xlsx(data: bytes) -> Iterator[tuple[str, Look]]:
    """Look at the sheets of an Office Open XML spreadsheet (ISO/IEC 29500)."""
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        targets = {
            one.get("Id", ""): one.get("Target", "")
            for one in elements(parts, "xl/_rels/workbook.xml.rels", "Relationship")
        }
        shown = per_cent_styles(parts)
        for sheet in list(elements(parts, "xl/workbook.xml", "sheet")):
            key = next((value for name, value in sheet.items() if local(name) == "id"), "")
            target = targets[key]
            part = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
            if "worksheets" in part:
                yield sheet.get("name", ""), look_xlsx(parts, part, shown)


def per_cent_styles(parts: zipfile.ZipFile) -> set[str]:
    """Return the numbers of the cell styles that show per cent."""
    if "xl/styles.xml" not in parts.namelist():
        return set()
    own = {
        one.get("numFmtId", "") for one in elements(parts, "xl/styles.xml", "numFmt")
        if "%" in re.sub(r'"[^"]*"|\\.', "", one.get("formatCode", ""))
    }  # fmt: skip
    groups = list(elements(parts, "xl/styles.xml", "cellXfs"))
    formats = [one.get("numFmtId", "") for group in groups for one in group]
    return {str(place) for place, one in enumerate(formats) if one in own or one in PER_CENT}


def look_xlsx(parts: zipfile.ZipFile, part: str, shown: set[str]) -> Look:
    """Look at one sheet."""
    look, row, column = Look(), 0, 0
    for element in elements(parts, part, "c", "row", start="row"):
        if element.tag == "start":
            row, column = int(element.get("r") or row + 1), 0
            continue
        place = re.fullmatch(r"([A-Z]{1,3})(\d{1,7})", element.get("r", ""))
        column = number_of(place[1]) if place else column + 1
        row = int(place[2]) if place else row
        inner = {local(one.tag): (one.text or "") for one in element}
        if not inner:
            continue
        look.reach(row, column)
        if element.get("t") == "e":
            look.faults[row, column] = f"holds the error {clipped(inner.get('v', ''))}"
        elif "f" in inner and not inner.get("v", "").strip() and element.get("t") != "str":
            look.faults[row, column] = NO_RESULT
        if element.get("s", "") in shown and element.get("t", "n") == "n":
            look.per_cent.add((row, column))
    return look


NO_RESULT = "holds a formula whose result is not stored; open the file in the program that it comes from and save it, or write the value"


def looks_ods(data: bytes) -> Iterator[tuple[str, Look]]:
    """Look at the sheets of an OpenDocument spreadsheet (ISO/IEC 26300)."""
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        look, name, row = Look(), "", 0
        for element in elements(parts, "content.xml", "table", "table-row", start="table"):
            if element.tag == "start":
                name, look, row = attribute(element, "name"), Look(), 0
                continue
            if local(element.tag) == "table":
                yield name, look
                continue
            times, column, full = int(attribute(element, "number-rows-repeated") or 1), 0, False
            for cell in element:
                again = int(attribute(cell, "number-columns-repeated") or 1)
                kind = attribute(cell, "value-type", "urn:oasis:names:tc:opendocument:xmlns:office:1.0")
                formula = attribute(cell, "formula")
                if kind or formula or any(True for _ in cell):
                    full = True
                    look.reach(row + times, column + again)
                    if (
                        attribute(
                            cell, "value-type", "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"
                        )
                        == "error"
                    ):
                        look.faults[row + 1, column + 1] = f"holds the error {clipped(''.join(cell.itertext()))}"
                    elif formula and not kind:
                        look.faults[row + 1, column + 1] = NO_RESULT
                    elif kind == "percentage" and again * times <= most_rows():
                        cells = product(range(times), range(again))
                        look.per_cent |= {(row + 1 + down, column + 1 + right) for down, right in cells}
                column += again
            row += times
            if full:
                look.reach(row, 0)


def elements(parts: zipfile.ZipFile, part: str, *names: str, start: str = "") -> Iterator[Element]:
    """Give the elements of a part with these names when they end, forgotten afterwards; and one named “start” where some begin."""
    from defusedxml.ElementTree import iterparse

    with parts.open(part) as file:
        above: list[Element] = []
        inside = 0
        for event, element in iterparse(file, events=("start", "end")):
            name = local(element.tag)
            if event == "start":
                above.append(element)
                inside += name in names
                if name == start:
                    yield Element("start", element.attrib)
                continue
            above.pop()
            if name in names:
                inside -= 1
                yield element
            if above and (not inside or name in names):
                above[-1].remove(element)


def local(tag: str) -> str:
    """Return a name without its name space."""
    return tag.rpartition("}")[2]


def attribute(element: Element, name: str, space: str = "") -> str:
    """Return an attribute by its name."""
    if space:
        return element.get(f"{{{space}}}{name}", "")
    return next((value for key, value in element.items() if local(key) == name), "")


def number_of(letters: str) -> int:
    """Return the number of a column from its letters.

    Examples
    --------
    >>> number_of("C"), number_of("AA")
    (3, 27)
    """
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number


def read_sheet(file: str, sheet: str, name: str, model: type[Strict], values: list[list[Any]], look: Look) -> Table:
    """Return the table of a sheet: values as text, shares as they are shown, cells that hold no value as faults."""
    place = f"{file}, sheet {sheet}"
    head = next((row for row, cells in enumerate(values) if any(cell != "" for cell in cells)), None)
    if head is None:
        return Table(name, place, (), (), (), stopped=": the sheet is empty")
    width = max(place for cells in values for place, cell in enumerate(cells, 1) if cell != "")
    header = tuple(written(cell) for cell in values[head][:width])
    fields = [fields_of(cell, model) for cell in header]
    letters = tuple(letters_of(column) for column in range(1, width + 1))
    empty = Table(name, place, header, (), (), str(head + 1), letters)
    faults = [
        f"{empty.at(str(row), column - 1, header[column - 1] if column <= width and row > head + 1 else '')}: {fault}"
        for (row, column), fault in sorted(look.faults.items())
    ]
    if len(values) - head - 1 > most_rows(name):
        too_many = f": more than {most_rows(name)} rows; the package prints every one of them: split the job"
        return replace(empty, stopped=too_many)
    unread = {str(row) for row, _ in look.faults}
    rows, shown = [], dict[str, str]()
    for number, cells in enumerate(values[head + 1 :], head + 2):
        row = []
        for column, cell in enumerate(cells[:width]):
            known, unit = fields[column]
            kind = kind_of(known, model) if known else None
            text = written(cell, DIGITS, bool(known) and is_moment(known, model))
            if isinstance(cell, int | float) and not isinstance(cell, bool) and kind:
                if (number, column + 1) in look.per_cent:
                    share = f"{cell * 100:.{DIGITS - 1}g}"
                    shown.setdefault(text, f"{share} %")
                    text = share if unit == "%" else f"{share} %"
                elif kind.si == "%" and not unit:
                    unread.add(str(number))
                    faults.append(
                        f"{empty.at(str(number), column, header[column])}: found {text}, which can be read as {text} % or as "
                        f"{cell * 100:.6g} %; write the unit into the head, {header[column]} [%], or show the cell in per cent"
                    )
            if len(text) > LONGEST_CELL:
                unread.add(str(number))
                faults.append(f"{empty.at(str(number), column, header[column])}: more than {LONGEST_CELL} characters")
            row.append(text)
        rows.append(tuple(row))
    while rows and not any(rows[-1]):
        rows.pop()
    said = [
        f"a cell shown in per cent is read as shown, {stored} as {text}" for stored, text in list(shown.items())[:1]
    ]
    if sheet != name:
        said.append(f"the sheet is the table {name}")
    numbers = tuple(str(head + 2 + row) for row in range(len(rows)))
    if len(faults) > MOST_FAULTS:
        faults[MOST_FAULTS:] = [f"{place}: more cells are at fault; these first"]
    return Table(
        name, place, header, tuple(rows), numbers, str(head + 1), letters, understood=tuple(said),
        faults=tuple(faults), unread=frozenset(unread),
    )  # fmt: skip


def fields_of(cell: str, model: type[Strict]) -> tuple[str, str]:
    """Return field and unit that a head names; nothing where it names none."""
    try:
        return head_of(cell, model) or ("", "")
    except InputError:
        return "", ""
