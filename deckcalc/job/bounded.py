"""Text, TOML and CSV read from bytes within bounds: what is too long, too deep or no text is a fault at once."""

from __future__ import annotations

import codecs
import csv
import datetime
import io
import re
import tomllib
from collections.abc import Iterator
from typing import Any

from deckcalc.core.units import InputError, clipped

#: Bounds of a table whose rows are taken by a grid or a logger: every 0.3 m over 4 000 m², or by the hour for five years.
MOST_ROWS, MOST_COLUMNS, LONGEST_CELL = 50_000, 100, 4_000
GRIDS = ("potentials", "covers", "weather", "history")
#: Rows of any other table, which a person writes one by one and each of which is held against the others.
MOST_WRITTEN = 2_000
#: Bounds of job.toml, far beyond what its sections hold.
DEEPEST, LONGEST_LIST, LONGEST_TEXT, LONGEST_KEY, LARGEST = 8, 2_000, 10_000, 200, 10**15
#: Years in which a deck is built, measured and repaired.
YEARS = range(1900, 2101)
#: Byte order marks, the longest first.
MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8 text with a byte order mark"),
    (codecs.BOM_UTF32_LE, "utf-32", "UTF-32 text"), (codecs.BOM_UTF32_BE, "utf-32", "UTF-32 text"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16 text"), (codecs.BOM_UTF16_BE, "utf-16", "UTF-16 text"),
)  # fmt: skip
#: Share of pairs of bytes whose one half is zero, from which a text without a mark is UTF-16: nearly all signs of a table are ASCII.
ZEROS = 0.4
_KEY = r"""(?:(?<![\w"'-])[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
DEEP_KEY = re.compile(rf"(?:{_KEY}[ \t]*+\.[ \t]*+){{{DEEPEST + 4}}}")


def most_rows(name: str = GRIDS[0]) -> int:
    """Return how many rows of a table are read; without a name, of any."""
    return MOST_ROWS if name in GRIDS else MOST_WRITTEN


def text_of(data: bytes) -> str:
    """Return the text of a file.

    Raises
    ------
    InputError
        If it is not UTF-8, is empty, or holds control characters: with the row.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        seems = f" (it seems to be {encoding_of(data)[1]})"
        raise InputError(f", row {row}: not UTF-8 text{seems}; save the file with the encoding UTF-8") from None
    if not text.strip():
        raise InputError(": the file is empty")
    if found := re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text):
        row = text.count("\n", 0, found.start()) + 1
        raise InputError(f", row {row}: holds the control character U+{ord(found[0]):04X}; save it as plain text")
    return text


def encoding_of(data: bytes) -> tuple[str, str]:
    """Return the encoding of a text, for Python and in words."""
    for mark, name, words in MARKS:
        if data.startswith(mark):
            return name, words
    even, odd = data[0::2].count(0), data[1::2].count(0)
    if max(even, odd) >= ZEROS * len(data) / 2 > 0 and min(even, odd) < 0.1 * max(even, odd):
        return ("utf-16-le" if odd > even else "utf-16-be"), "UTF-16 text"
    try:
        data.decode()
    except UnicodeDecodeError:
        return "cp1252", "cp1252 text"
    return "utf-8", ""


def toml_of(text: str) -> dict[str, Any]:
    """Return the data of a TOML text.

    Raises
    ------
    InputError
        If it is no TOML, or holds something too deep, too long or too large: all such places, one a line.
    """
    if found := DEEP_KEY.search(text):
        row = text.count("\n", 0, found.start()) + 1
        raise InputError(f"row {row}: a key of very many parts; sections are at most {DEEPEST} deep")
    try:
        data = tomllib.loads(text)
    except RecursionError:
        raise InputError(f"brackets are nested too deep; sections are at most {DEEPEST} deep") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError(clipped(error, 300)) from None
    except ValueError as error:  # a number of too many digits
        raise InputError(f"holds a number that cannot be read: {clipped(error, 60)}") from None
    faults = list(beyond(data))
    if faults:
        raise InputError("\n".join(faults[:20]))
    return data


def beyond(data: dict[str, Any]) -> Iterator[str]:
    """Yield what lies beyond the bounds of job.toml, with its place."""
    left: list[tuple[str, Any, int]] = [("", data, 0)]
    while left:
        place, value, depth = left.pop()
        where = clipped(place, LONGEST_KEY)
        if isinstance(value, dict | list) and depth > DEEPEST:
            yield f"{where}: nested too deep; sections are at most {DEEPEST} deep"
        elif isinstance(value, dict | list) and len(value) > LONGEST_LIST:
            yield f"{where}: {len(value)} items, wanted at most {LONGEST_LIST}"
        elif isinstance(value, dict):
            left += [(f"{place}.{key}".lstrip("."), inner, depth + 1) for key, inner in value.items()]
        elif isinstance(value, list):
            left += [(f"{place}.{number}", inner, depth + 1) for number, inner in enumerate(value)]
        elif isinstance(value, str) and len(value) > LONGEST_TEXT:
            yield f"{where}: {len(value)} characters, wanted at most {LONGEST_TEXT}"
        elif isinstance(value, int | float) and not abs(value) < LARGEST:
            yield f"{where}: found {clipped(value)}, wanted a finite number below {LARGEST:.0e}"
        elif isinstance(value, datetime.date) and value.year not in YEARS:
            yield f"{where}: found {value.isoformat()}, wanted a year from {YEARS[0]} to {YEARS[-1]}"


def csv_of(
    text: str, most: int = MOST_ROWS, separator: str = ",", word: str = "comma", heads: int = 1
) -> tuple[list[list[str]], str]:
    """Return the rows of a CSV text, and what stopped the reading if it did not come to the end: with the row.

    The first rows of `heads` are none of the table's. Quotation marks pair within their line, and neither rows, columns nor cells are beyond their bounds.
    """
    rows: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=None), strict=True, delimiter=separator)
    try:
        for cells in reader:
            row = len(rows) + 1
            if reader.line_num != row:
                return rows, f", row {row}: a cell goes over the end of the line; is a quotation mark left open?"
            if row > most + heads:
                return rows[:heads], f": more than {most} rows; the package prints every one of them: split the job"
            if len(cells) > MOST_COLUMNS:
                return rows, f", row {row}: {len(cells)} cells; at most {MOST_COLUMNS} columns are read"
            if any(len(cell) > LONGEST_CELL for cell in cells):
                return rows, f", row {row}: a cell of more than {LONGEST_CELL} characters"
            rows.append(cells)
    except csv.Error as error:
        return rows, f", row {len(rows) + 1}: no {word}-separated cells: {error}; is a quotation mark left open?"
    return rows, ""
