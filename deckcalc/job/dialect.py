"""CSV files as people have them: which encoding, which separator, which decimal sign; each departure from the plain form said.

The plain form is UTF-8 text, cells separated by commas, lines ended by LF, numbers with a decimal point. What can be read two
ways is a fault that names both readings.
"""

from __future__ import annotations

import re
from typing import Literal

from deckcalc.base.fields import Strict
from deckcalc.core.units import InputError, clipped
from deckcalc.job.bounded import csv_of, encoding_of, text_of
from deckcalc.job.table import Table, counted, field_of, head_of, is_notes

#: Signs beyond ASCII that a table in cp1252 may hold beside letters; others show that it is in yet another encoding.
WESTERN = set("°²³¹¼½¾±×·“”‘’–…\xa0\xf7\xa3\xa7\xab\xad\xbb\u2014\u201a\u201e\u2022\u20ac")
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
#: A cell, or a part of one, that is a number with a decimal sign, and perhaps a unit.
UNIT = r"(?:\s*[^\d\s.,;][^\d.,;]{0,24}[²³]?\d?)?"
POINT = re.compile(rf"[-+]?\d*\.\d+{UNIT}")
COMMA = re.compile(rf"([-+]?\d*),(\d+(?:[eE][-+]?\d+)?{UNIT})")
THOUSANDS = re.compile(rf"[-+]?[1-9]\d{{0,2}}(?:,\d{{3}})+{UNIT}")
#: Rows that a fault names one by one.
NAMED = 5


def decoded(data: bytes) -> tuple[str, str]:
    """Return the text of a file and its encoding in words; none for plain UTF-8.

    Raises
    ------
    InputError
        With the row, where it is in no encoding that is known.

    Examples
    --------
    >>> decoded("15 µm".encode("cp1252")), decoded("15 µm".encode())
    (('15 µm', 'cp1252 text'), ('15 µm', ''))
    """
    name, words = encoding_of(data)
    if name == "utf-8":
        return text_of(data), ""
    try:
        text = data.decode(name).removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        raise InputError(
            f", row {row_of(data, error.start)}: not {words}; save the file with the encoding UTF-8"
        ) from None
    if name == "cp1252":
        require_western(data, text)
    return text_of(text.encode("utf-8", "surrogatepass")), words


def require_western(data: bytes, text: str) -> None:
    """Refuse what is neither UTF-8 throughout nor likely in cp1252."""
    save = "save the file with the encoding UTF-8"
    if found := re.search(rb"[\xc2\xc3][\x80-\xbf]|\xe2[\x80-\xbf]{2}|\xed[\xa0-\xbf][\x80-\xbf]", data):
        bad = _first_wrong(data)
        raise InputError(
            f", row {row_of(data, bad)}: not UTF-8 text, while row {row_of(data, found.start())} is; {save}"
        )
    strange = next(
        (place for place, sign in enumerate(text) if ord(sign) > 126 and not (sign.isalpha() or sign in WESTERN)), None
    )
    if strange is not None:
        raise InputError(
            f", row {row_of(data, strange)}: not UTF-8 text, and “{clipped(text[strange])}” in it is hardly cp1252 text; {save}"
        )


def _first_wrong(data: bytes) -> int:
    try:
        data.decode()
    except UnicodeDecodeError as error:
        return error.start
    return 0


def row_of(data: bytes, place: int) -> int:
    """Return the row in which a byte stands."""
    return max(data.count(b"\n", 0, place), data.count(b"\r", 0, place)) + 1


def read_csv(name: str, data: bytes, model: type[Strict], most: int) -> Table:
    """Read a table from a CSV file.

    Raises
    ------
    InputError
        If it is no text.
    """
    text, encoding = decoded(data)
    said = [f"read as {encoding}"] if encoding else []
    if "\r" in text:
        said.append(f"lines ended by {'CR LF' if text.count(chr(13) + chr(10)) == text.count(chr(13)) else 'CR'}")
    separator, head, words = separator_of(text)
    said += words
    rows, stopped = csv_of(text, most, separator, SEPARATORS[separator], head)
    file = f"{name}.csv"
    if len(rows) < head:
        return Table(name, file, (), (), (), stopped=stopped)
    header, cells = rows[head - 1], rows[head:]
    cells, words, faults = with_points(file, header, cells, head, model)
    said += words
    while cells and not any(map(str.strip, cells[-1])):
        cells.pop()
    numbers = tuple(str(head + 1 + row) for row in range(len(cells)))
    return Table(
        name, file, tuple(header), tuple(map(tuple, cells)), numbers, str(head), stopped=stopped, data=b"" if said else data,
        understood=tuple(said), faults=faults, unread=frozenset(numbers if faults else ()),
    )  # fmt: skip


def separator_of(text: str) -> tuple[Literal[",", ";", "\t"], int, list[str]]:
    r"""Return what separates the cells, the row of the heads, and what was understood.

    Examples
    --------
    >>> separator_of("sep=;\nbar;size\n"), separator_of('bar,"a; b"\n')
    ((';', 2, ['cells separated by semicolons, as its first line says']), (',', 1, []))
    """
    lines = re.split(r"\r\n|\r|\n", text[:100_000])
    if match := re.fullmatch(r'"?sep=([,;\t])"?[,;\t]*', lines[0].strip(" "), re.I | re.S):
        return match[1], 2, [f"cells separated by {SEPARATORS[match[1]]}s, as its first line says"]  # type: ignore[return-value]
    head = next((place for place, line in enumerate(lines) if line.strip()), 0)
    bare = re.sub(r'"[^"]*"', "", lines[head])
    separator: Literal[",", ";", "\t"] = "\t" if "\t" in bare else ";" if ";" in bare else ","
    said = [] if separator == "," else [f"cells separated by {SEPARATORS[separator]}s"]
    return separator, head + 1, [*said, f"{counted(head, 'empty row')} above the heads left out"] if head else said


def with_points(
    file: str, header: list[str], rows: list[list[str]], head: int, model: type[Strict]
) -> tuple[list[list[str]], list[str], tuple[str, ...]]:
    """Return the rows with decimal points, what was understood, and why it could not be."""
    if not any("," in cell for cells in rows for cell in cells):
        return rows, [], ()
    told = [not is_notes(cell, model) and not is_text(cell, model) for cell in header]
    commas: dict[int, str] = {}
    points: dict[int, str] = {}
    plain = True  # whether every number with a comma may have it between thousands
    for row, cells in enumerate(rows, head + 1):
        for place, cell in enumerate(cells[: len(told)]):
            for part in map(str.strip, cell.split(";") if told[place] else ()):
                if THOUSANDS.fullmatch(part) or COMMA.fullmatch(part):
                    commas.setdefault(row, part)
                    plain = plain and bool(THOUSANDS.fullmatch(part))
                elif POINT.fullmatch(part):
                    points.setdefault(row, part)
    if not commas or (points and plain):  # with points, groups of three digits are left to the reading of each cell
        return rows, [], ()
    first, cell = next(iter(commas.items()))
    if points:
        with_comma, with_point = ((f"row{'s' * (len(found) > 1)} {listed(found)}") for found in (commas, points))
        return rows, [], (
            f"{file}: numbers with a decimal comma in {with_comma} (“{clipped(cell)}”) and with a point in {with_point} "
            f"(“{clipped(next(iter(points.values())))}”); write one of the two throughout",
        )  # fmt: skip
    number = re.match(r"[-+\d,]+", cell)
    if plain and number:
        return rows, [], (
            f"{file}, row {first}: “{clipped(cell)}” can be read as {number[0].replace(',', '.', 1)} or as "
            f"{number[0].replace(',', '')}; write the decimal sign as a point, and thousands without a sign",
        )  # fmt: skip
    made = [
        [pointed(cell) if place < len(told) and told[place] else cell for place, cell in enumerate(cells)]
        for cells in rows
    ]
    return made, ["decimal comma"], ()


def pointed(cell: str) -> str:
    """Return a cell with the decimal commas of its numbers as points.

    Examples
    --------
    >>> pointed("15,2; 14,9 mm"), pointed("mark, saw")
    ('15.2; 14.9 mm', 'mark, saw')
    """
    return ";".join(
        re.sub(r"^(\s*[-+]?\d*),", r"\1.", part) if COMMA.fullmatch(part.strip()) else part for part in cell.split(";")
    )


def is_text(cell: str, model: type[Strict]) -> bool:
    """Whether a head is that of a column of free text, in which a number is part of a sentence."""
    try:
        column = (head_of(cell, model) or ("",))[0] or field_of(cell, model)
    except InputError:
        return False
    info = model.model_fields.get(column)
    return info is not None and info.annotation is str and any(hasattr(one, "max_length") for one in info.metadata)


def listed(rows: dict[int, str]) -> str:
    """Return rows in words, cut off where there are many."""
    named = ", ".join(map(str, list(rows)[:NAMED]))
    return named + (f" and {len(rows) - NAMED} more" if len(rows) > NAMED else "")
