"""What commands print: tables that fit the terminal, and questions for the word that may be meant."""

from __future__ import annotations

import difflib
import json
import os
import re
import shutil
import sys
import textwrap
from collections.abc import Collection, Iterator, Sequence
from typing import Any

import numpy as np

from deckcalc.core.units import InputError
from deckcalc.ends import plain, say

#: Less room is none.
NARROW = 16
#: A column is not made narrower than its longest word, if that is not longer than this.
LONG = 40
#: The blank between a number and its unit at the end of a text.
UNIT = re.compile(r"(?<=\d) (?=\S{1,10}$)")


def pair(text: str) -> tuple[str, str]:
    """Split key=value."""
    key, equals, value = text.partition("=")
    if not equals or not key.strip():
        raise InputError(plain(f"found “{text}”, wanted key=value"))
    return key.strip(), value.strip()


def near(word: str, known: Collection[str]) -> str:
    """Return a question for the known word that may be meant."""
    lower = {one.lower(): one for one in known}
    found = difflib.get_close_matches(word.lower(), lower, n=1)
    return f" (did you mean {lower[found[0]]}?)" if found else ""


def say_data(data: Any) -> None:
    """Print data as JSON, in letters that any terminal has."""
    say(*json.dumps(data, indent=1).split("\n"))


def columns() -> int:
    """Return the width of the terminal; 0 where the output goes elsewhere and COLUMNS does not ask for one."""
    asked = os.environ.get("COLUMNS", "").isdecimal()
    return shutil.get_terminal_size().columns if asked or (sys.stdout is not None and sys.stdout.isatty()) else 0


def say_wrapped(text: str, indent: int = 0, head: str = "") -> None:
    """Print a paragraph behind an indent, the first line with a head in it, in lines that fit the terminal."""
    room = columns() - indent
    lines = wrapped(plain(text), room) if room >= NARROW else [plain(text)]
    for number, line in enumerate(lines):
        say(f"{'' if number else head:<{indent}}{line}".rstrip())


def wrapped(text: str, room: int) -> list[str]:
    """Return the lines of a text that is at most so wide; the unit that ends it stays with its number."""
    lines = textwrap.wrap(UNIT.sub("\xa0", text), room, break_on_hyphens=False)
    return [line.replace("\xa0", " ") for line in lines] or [""]


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows in columns; in a narrow terminal long cells go over several lines, or a row is printed cell below cell."""
    if not rows:
        say("  none")
        return
    cells = [[plain(str(cell)) for cell in row] for row in (heads, *rows)]
    widths = fitted(cells, columns())
    if not widths:
        print_records(cells[0], cells[1:])
        return
    for line in [*lines_of(cells[0], widths), ["-" * width for width in widths]]:
        say_cells(line, widths)
    for row in cells[1:]:
        for line in lines_of(row, widths):
            say_cells(line, widths)


def print_records(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print each row cell below cell, the head before it."""
    indent = max(map(len, heads)) + 4
    for number, row in enumerate(rows):
        if number:
            say("")
        for head, cell in zip(heads, row, strict=True):
            say_wrapped(cell, indent, f"  {head}")


def say_cells(cells: Sequence[str], widths: Sequence[int]) -> None:
    """Print one line of a table."""
    say("  " + "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip())


def fitted(cells: Sequence[Sequence[str]], room: int) -> list[int]:
    """Return how wide each column is: as its widest cell; where a row does not fit, narrowed where that costs the fewest lines.

    Empty where it only fits with words broken.
    """
    lengths = np.array([[len(cell) for cell in row] for row in cells])
    made = zip(*cells, strict=True)
    least = [
        min(LONG, max(len(word) for cell in column for word in UNIT.sub("\xa0", cell).split(" "))) for column in made
    ]
    widths = [int(longest) for longest in lengths.max(axis=0)]
    while room and sum(widths) + 2 * len(widths) > room:
        narrower = [
            [width - (other == at) for other, width in enumerate(widths)]
            for at in range(len(widths))
            if widths[at] > least[at]
        ]
        if not narrower:
            return []
        widths = min(
            narrower, key=lambda tried: (np.ceil(lengths / np.maximum(tried, 1)).max(axis=1).sum(), max(tried))
        )
    return widths


def lines_of(row: Sequence[str], widths: Sequence[int]) -> Iterator[list[str]]:
    """Give the lines that a row of a table takes."""
    parts = [[cell] if len(cell) <= width else wrapped(cell, width) for cell, width in zip(row, widths, strict=True)]
    for number in range(max(map(len, parts))):
        yield [part[number] if number < len(part) else "" for part in parts]
