"""Spreadsheets that are written: an empty one with a sheet per table to fill in, and a copy of tables with their faults marked."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from itertools import chain, count
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from deckcalc.base.fields import Strict
from deckcalc.base.replacing import holding
from deckcalc.core import units
from deckcalc.core.units import InputError, clipped
from deckcalc.job.folder import Contents
from deckcalc.job.read_tables import CHOICES, read_tables
from deckcalc.job.result_tables import number_or_none
from deckcalc.job.settings import ROWS
from deckcalc.job.table import Table, head_of, is_moment, kind_of, letters_of, plain_head, quantity_of

MODELS = ROWS
#: Rows of a sheet in which choices drop down.
ROWS_TO_FILL = 2_000
#: The fill of a cell at fault; its words stand in a comment and in the last column as well.
FILL = "FFD9B3"
TEXT, MOMENT, DATE = "@", "yyyy-mm-dd hh:mm", "yyyy-mm-dd"
WIDEST = 40
FAULTS = "faults.xlsx"


def openpyxl() -> Any:
    """Import openpyxl.

    Raises
    ------
    InputError
        If it is not installed.
    """
    try:
        import openpyxl
    except ImportError:
        raise InputError(
            "a spreadsheet is written with the library openpyxl; install it with: pip install “deckcalc[job]”"
        ) from None
    return openpyxl


# ---- a template


def template(
    names: Sequence[str],
    system: units.System,
    path: str | Path,
    examples: Mapping[str, Sequence[Sequence[str]]] = {},
) -> Path:
    """Write a spreadsheet with a sheet per table: heads with units, what each column means, choices that drop down.

    Parameters
    ----------
    names : sequence of str
        Tables, such as ``bars``.
    system : {"SI", "US"}
        Of the units in the heads.
    path : path
        ``tables.xlsx`` in a job folder; nothing may stand there.
    examples : dict of list, optional
        Head and rows of a table, to be replaced; else its sheet has no row.

    Raises
    ------
    InputError
        If a table is not known, something stands at the place, or openpyxl is not installed.
    """
    unknown = [name for name in names if name not in MODELS]
    if unknown or not names:
        raise InputError(f"{', '.join(unknown) or 'no table'}: unknown; known are {', '.join(MODELS)}")
    book = openpyxl().Workbook()
    book.remove(book.active)
    lists: dict[tuple[str, ...], str] = {}
    for name in names:
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        for place, column in enumerate(MODELS[name].model_fields, 1):
            fill_column(sheet, place, column, MODELS[name], system, lists)
        fill_rows(sheet, examples.get(name, ()), MODELS[name])
    if lists:
        sheet = book.create_sheet(CHOICES)
        sheet.sheet_state = "hidden"
        for place, options in enumerate(lists, 1):
            for row, option in enumerate(options, 1):
                sheet.cell(row, place, option)
    return saved(book, Path(path))


def fill_rows(sheet: Any, rows: Sequence[Sequence[str]], model: type[Strict]) -> None:
    """Write example rows below the heads that they have, with their units; a number as a number."""
    field_of = lambda head: (head_of(head, model) or ("", ""))[0]  # noqa: E731
    heads = {field_of(cell.value): cell.column for cell in sheet[1]}
    for head in rows[0] if rows else ():
        sheet.cell(1, heads[field_of(head)], plain_head(head, model))
    for number, row in enumerate(rows[1:], 2):
        for head, text in zip(rows[0], row, strict=True):
            value = number_or_none(text)
            sheet.cell(number, heads[field_of(head)], text if value is None else value)


def fill_column(
    sheet: Any, place: int, column: str, model: type[Strict], system: units.System, lists: dict[tuple[str, ...], str]
) -> None:
    """Write the head of a column and what it means, and let its choices drop down."""
    from openpyxl.styles import Font
    from openpyxl.worksheet.datavalidation import DataValidation

    info, kind, letters = model.model_fields[column], kind_of(column, model), letters_of(place)
    unit = kind.symbol(system) if kind else ""
    head = plain_head(f"{column} [{unit}]" if unit else column, model)
    cell = sheet.cell(1, place, head)
    cell.font = Font(bold=info.is_required(), italic=not info.is_required())
    cell.comment = comment(meaning(column, model))
    size = sheet.column_dimensions[letters]
    size.width = min(len(head) + 4, WIDEST)
    if kind is None:
        date = "date" in str(info.annotation)
        size.number_format = MOMENT if is_moment(column, model) else DATE if date else TEXT
    if options := choices_of(info.annotation):
        end = f"${letters_of(len(lists) + 1)}$" if options not in lists else ""
        source = lists.setdefault(options, f"{CHOICES}!{end}1:{end}{len(options)}")
        rule = DataValidation(type="list", formula1=source, allow_blank=True, showErrorMessage=True)
        rule.error = clipped(f"wanted {', '.join(options)}", 200)
        sheet.add_data_validation(rule)
        rule.add(f"{letters}2:{letters}{ROWS_TO_FILL}")


def choices_of(annotation: Any) -> tuple[str, ...]:
    """Return the choices of a field; none where it takes other texts."""
    if get_origin(annotation) is Literal:
        return tuple(one for one in get_args(annotation) if one)
    return tuple(one for part in get_args(annotation) for one in choices_of(part))


def meaning(column: str, model: type[Strict]) -> str:
    """Return what a column means, between what it lies, and whether it may be left empty."""
    info, quantity = model.model_fields[column], quantity_of(column, model)
    parts = [info.description or column.replace("_", " ")]
    if quantity:
        parts.append(f"from {quantity.low} to {quantity.high}")
        if quantity.least:
            parts.append("several readings separated by semicolons")
    if options := choices_of(info.annotation):
        parts.append(f"one of: {'; '.join(options)}")
    if is_moment(column, model):
        parts.append("local date and time, such as 2026-10-09 21:00")
    parts.append("wanted" if info.is_required() else "may be left empty")
    return ".\n".join(parts) + "."


def comment(text: str) -> Any:
    """Return a comment of a cell, as large as its text."""
    from openpyxl.comments import Comment

    made = Comment(text, "deckcalc")
    made.width, made.height = 320, 40 + 18 * (text.count("\n") + len(text) // 45 + 1)
    return made


def saved(book: Any, path: Path) -> Path:
    """Save a spreadsheet whole, where nothing stands.

    Raises
    ------
    InputError
        If something stands there.
    """
    place = Path(os.path.realpath(path))
    with holding(place) as holder:
        book.save(holder / "new.xlsx")
        if os.path.lexists(place):
            raise InputError(f"{path} exists already; nothing was written")
        os.rename(holder / "new.xlsx", place)
    return place


# ---- faults, marked


def mark_faults(contents: Contents, faults: Sequence[str], path: str | Path | None = None) -> Path:
    """Write a copy of the tables with their faults marked; the files of the job are not touched.

    Parameters
    ----------
    contents : Contents
        What was read.
    faults : sequence of str
        As `JobError` names them.
    path : path, optional
        By default ``faults.xlsx`` in the job folder, or ``faults-2.xlsx`` and so on where that stands there already; a job
        reads neither.

    Returns
    -------
    Path
        A spreadsheet. Its first sheet lists all faults; each table at fault is a sheet, in which the cells at fault are
        filled, bear the fault in a comment, and in a last column.
    """
    tables = read_tables(contents, MODELS).found
    places = {fault: place_in(fault, tables) for fault in faults}
    book = openpyxl().Workbook()
    listing = book.active
    listing.title = "faults"
    listing.append(["sheet", "cell", "fault"])
    for row, (fault, found) in enumerate(places.items(), 2):
        cell = f"{letters_of(found[2])}{found[1]}" if found else ""
        for column, text in enumerate((found[0] if found else "job", cell, fault), 1):
            put(listing, row, column, text)
        if found:
            listing.cell(row, 2).hyperlink = f"#'{found[0]}'!{cell}"
    for letters, width in (("A", 14), ("B", 8), ("C", 120)):
        listing.column_dimensions[letters].width = width
    listing.freeze_panes = "A2"
    for name in dict.fromkeys(found[0] for found in places.values() if found):
        marked = [(found[1], found[2], fault) for fault, found in places.items() if found and found[0] == name]
        write_marked(book.create_sheet(name), tables[name], marked)
    usual = contents.place / FAULTS
    others = (usual.with_name(f"{usual.stem}-{number}{usual.suffix}") for number in count(2))
    return saved(book, Path(path) if path else next(one for one in chain([usual], others) if not os.path.lexists(one)))


def write_marked(sheet: Any, table: Table, marked: Sequence[tuple[int, int, str]]) -> None:
    """Write a table where its rows and columns stand, with its faults."""
    from openpyxl.styles import Font, PatternFill

    columns = [column_of(table, place) for place in range(len(table.header))]
    last = max([0, *columns, *(len(row) for row in table.rows)]) + 1
    for place, cell in zip(columns, table.header, strict=True):
        put(sheet, head_row(table), place, cell).font = Font(bold=True)
        sheet.column_dimensions[letters_of(place)].width = min(len(cell) + 4, WIDEST)
    for row, (number, cells) in enumerate(zip(table.numbers, table.rows, strict=True)):
        for place, cell in enumerate(cells):
            if cell:
                value = number_or_none(cell)
                column = columns[place] if place < len(columns) else place + 1
                put(sheet, row_of(table, row, number), column, cell if value is None else value)
    sheet.column_dimensions[letters_of(last)].width = 100
    by_cell: dict[tuple[int, int], list[str]] = {}
    by_row: dict[int, list[str]] = {}
    for line, column, fault in marked:
        by_cell.setdefault((line, column), []).append(fault)
        by_row.setdefault(line, []).append(fault)
    for (line, column), said in by_cell.items():
        cell = sheet.cell(line, column)
        cell.fill = PatternFill("solid", fgColor=FILL)
        cell.comment = comment("\n".join(said))
    for line, said in {head_row(table): [], **by_row}.items():
        text = "; ".join(["fault"] * (line == head_row(table)) + said)
        put(sheet, line, last, text).font = Font(bold=line == head_row(table))


def put(sheet: Any, row: int, column: int, value: Any) -> Any:
    """Write a cell and return it: a text is never taken for a formula."""
    cell = sheet.cell(row, column)
    cell.value = (
        "".join(sign if sign.isprintable() else "\ufffd" for sign in value) if isinstance(value, str) else value
    )
    if isinstance(value, str):
        cell.data_type = "s"
    return cell


def head_row(table: Table) -> int:
    """Return the row in which the heads are written."""
    return int(table.head) if table.head.isdigit() else 1


def row_of(table: Table, place: int, number: str) -> int:
    """Return the row in which a row of the table is written: its own number, where rows are counted."""
    return int(number) if table.head.isdigit() else head_row(table) + 1 + place


def column_of(table: Table, place: int) -> int:
    """Return the column in which a column of the table is written: that of its own sheet, where it has one."""
    known = {letters_of(number): number for number in range(1, 103)}
    return known.get(table.letters[place], place + 1) if table.letters else place + 1


def place_in(fault: str, tables: Mapping[str, Table]) -> tuple[str, int, int] | None:
    """Return table, row and column that a fault is of, in the copy; None where it is of none."""
    for name, table in tables.items():
        if not re.match(rf"{re.escape(table.file)}[,:]", fault):
            continue
        rest = fault[len(table.file) :]
        if match := re.match(r", cell ([A-Z]+)(\d+)\b", rest):
            return name, int(match[2]), next(i for i in range(1, 20_000) if letters_of(i) == match[1])
        heads = {column_of(table, place): cell for place, cell in enumerate(table.header)}
        column = next((at for at, cell in heads.items() if is_column(cell, rest)), None)
        for row, (number, cells) in enumerate(zip(table.numbers, table.rows, strict=True)):
            line = row_of(table, row, number)
            if re.match(rf", row {re.escape(number)}[,:]", rest):
                return name, line, column or min(heads, default=1)
            if cells[0] and re.match(rf", [a-z][a-z ]*? {re.escape(cells[0])}[,:]", rest):
                return name, line, column or min(heads, default=1)
        quoted = next((at for at, cell in heads.items() if f"“{cell}”" in rest), None)
        return name, head_row(table), quoted or column or min(heads, default=1)
    return None


def is_column(cell: str, rest: str) -> bool:
    """Whether the place of a fault names a column by this head, with its unit or without."""
    plain = cell.partition("[")[0].strip().replace("-", " ")
    return any(f", column {one}: " in f"{rest} " for one in (cell, plain, plain.replace(" ", "_")))
