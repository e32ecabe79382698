"""Files of temperature loggers as they come: which column is the time, which the temperature, told by what they hold.

What stands above the heads and below the readings is left out and said; a date or a unit that can be read in two ways is settled by
the plan of the work, or refused with both readings.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from deckcalc.core.dates import read_moment
from deckcalc.core.units import InputError, clipped
from deckcalc.job.dialect import SEPARATORS, decoded
from deckcalc.job.table import counted

NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?")
#: A date whose day or month may come first, and the rest of the cell.
EITHER = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})(?=\D|$)(.*)", re.S)
SECONDS = re.compile(r"(\d{1,2}:\d{2}):\d{2}(?:[.,]\d+)?")
TEMPERATURE = re.compile(r"temp|°|\bdeg|celsius|fahrenheit|[(\[ ][CF][)\]]?$", re.I)
OTHER = re.compile(r"hum|\brh\b|batt|volt|matur|strength|dew|age\b|index|^#|^no\.?$|record", re.I)
UNITS = {
    "°F": re.compile(r"°\s?F\b|fahrenheit|deg\.?\s?F\b|[(\[ ,]F[)\]]?$", re.I),
    "°C": re.compile(r"°\s?C\b|celsius|deg\.?\s?C\b|[(\[ ,]C[)\]]?$", re.I),
}
#: Readings lie within so long of the placing that they are of.
NEAR = datetime.timedelta(days=30)
#: Rows that are looked at to find the first reading.
LOOKED_AT = 200
Order = Callable[[str], datetime.datetime]


@dataclass(frozen=True)
class Log:
    """The readings of one patch.

    Attributes
    ----------
    patch : str
    readings : list of tuple
        Moment, and temperature as text with its unit.
    """

    patch: str
    readings: list[tuple[datetime.datetime, str]]


@dataclass
class Logs:
    """What a file of a logger holds.

    Attributes
    ----------
    logs : list of Log
    understood : list of str
        How it was taken.
    """

    logs: list[Log] = field(default_factory=list)
    understood: list[str] = field(default_factory=list)


def read(
    name: str, data: bytes, placed: Mapping[str, datetime.datetime | None], patch: str = "", unit: str = ""
) -> Logs:
    """Read a file of a logger.

    Parameters
    ----------
    name : str
        Of the file.
    data : bytes
    placed : dict of datetime
        By patch of the job: when it is placed; None where nobody says.
    patch : str
        Which patch, where neither heads, file name nor the lines above say it.
    unit : {"", "°C", "°F"}
        Of temperatures whose head names none.

    Raises
    ------
    InputError
        If it holds no readings, or they can be read in two ways.
    """
    text, encoding = decoded(data)
    made = Logs(understood=[f"read as {encoding}"] if encoding else [])
    rows = cells_of(text)
    first = next((k for k, row in enumerate(rows[:LOOKED_AT]) if time_columns(row)), None)
    if first is None:
        raise InputError(f"{name}: no column of it holds dates with times; wanted a table, or readings of a logger")
    times = time_columns(rows[first])
    assert times is not None
    heads = [cell.strip() for cell in rows[first - 1]] if first and not time_columns(rows[first - 1]) else []
    above = " ".join(cell for row in rows[: max(first - 1, 0)] for cell in row)
    body: list[tuple[int, list[str]]] = []
    left: list[tuple[int, list[str]]] = []
    for number, row in enumerate(rows[first:], first + 1):
        (body if len(row) > max(times) and NUMBER.search(row[times[0]]) else left).append((number, row))
    columns = temperature_columns(name, heads, [row for _, row in body], times)
    of = patches_of(name, heads, columns, placed, above, patch)
    order = order_of(name, [moment_text(row, times) for _, row in body], [placed[one] for one in of.values()], made)
    for column, whose in of.items():
        own = unit_of(name, heads[column] if column < len(heads) else "", unit)
        readings = []
        for number, row in body:
            cell = row[column].strip().replace(",", ".") if column < len(row) else ""
            if not NUMBER.fullmatch(cell):
                left.append((number, row))
                continue
            try:
                readings.append((order(moment_text(row, times)), f"{cell} {own}"))
            except InputError as error:
                raise InputError(f"{name}, row {number}: {error}") from None
        if not readings:
            raise InputError(f"{name}: column {clipped(heads[column] if heads else column + 1)} holds no temperature")
        made.logs.append(Log(whose, readings))
        head = f"“{clipped(heads[column])}”" if column < len(heads) else f"column {column + 1}"
        made.understood.append(f"{head} is the temperature in {whose} in {own}, {counted(len(readings), 'reading')}")
    if first > bool(heads):
        made.understood.append(f"{counted(first - bool(heads), 'row')} above the heads left out")
    if left:
        made.understood.append(
            f"without a reading and left out: row {', '.join(str(number) for number in sorted({one for one, _ in left})[:5])}{' and more' if len(left) > 5 else ''}"
        )
    return made


def cells_of(text: str) -> list[list[str]]:
    """Return the cells of a text by the sign that parts most of its lines into as many."""
    lines = text.splitlines()
    best = max(SEPARATORS, key=lambda sign: sum(sign in line for line in lines))
    if ";" in text and sum(";" in line for line in lines) >= 0.5 * len(lines):
        best = ";"  # then a comma is a decimal sign
    return [row for row in csv.reader(io.StringIO(text), delimiter=best) if any(map(str.strip, row))]


def time_columns(row: Sequence[str]) -> tuple[int, ...] | None:
    """Return the columns of a row that hold its moment: one, or a date and a time beside it; None where it has none."""
    for k, cell in enumerate(row):
        if is_moment(cell):
            return (k,)
        if k + 1 < len(row) and is_moment(f"{cell.strip()} {row[k + 1].strip()}"):
            return (k, k + 1)
    return None


def is_moment(text: str) -> bool:
    """Whether a text is a date with a time, in whatever order its day and month stand."""
    return any(readable(order, text) for order in ORDERS.values())


def readable(order: Order, text: str) -> bool:
    """Whether a text is a moment by an order."""
    try:
        order(text)
    except InputError:
        return False
    return True


def plain(text: str) -> str:
    """Return a moment without its seconds, which a table leaves out."""
    return SECONDS.sub(
        r"\1",
        " ".join(text.split()).replace("T", " ", 1) if re.match(r"\d{4}-", text.strip()) else " ".join(text.split()),
    )


def by_order(day_first: bool) -> Order:
    """Return what reads a moment with its day, or its month, first."""

    def read_one(text: str) -> datetime.datetime:
        found = EITHER.fullmatch(plain(text))
        if not found:
            return read_moment(plain(text))
        a, sign, b, year, rest = found.groups()
        day, month = (a, b) if day_first or sign == "." else (b, a)  # with points the day comes first
        return read_moment(f"{year if len(year) == 4 else '20' + year}-{month}-{day}{rest}")

    return read_one


ORDERS: dict[str, Order] = {"day first": by_order(True), "month first": by_order(False)}


def moment_text(row: Sequence[str], times: Sequence[int]) -> str:
    """Return the cells of a moment as one text."""
    return " ".join(row[k].strip() for k in times)


def order_of(name: str, texts: Sequence[str], placed: Sequence[datetime.datetime | None], made: Logs) -> Order:
    """Return in which order day and month stand: the one in which all can be read, and lie near the placing of the plan.

    Raises
    ------
    InputError
        If neither does, or both do and differ.
    """
    good = [word for word, order in ORDERS.items() if all(readable(order, text) for text in texts)]
    if not good:
        bad = next(text for text in texts if not any(readable(order, text) for order in ORDERS.values())) if any(
            not any(readable(order, text) for order in ORDERS.values()) for text in texts) else texts[0]  # fmt: skip
        raise InputError(f"{name}: found “{clipped(bad)}”, wanted dates with times of one form throughout")
    if len(good) == 2 and any(ORDERS[good[0]](text) != ORDERS[good[1]](text) for text in texts):
        known = [moment for moment in placed if moment is not None]
        near = [
            word
            for word in good
            if known and all(abs(ORDERS[word](text) - moment) < NEAR for text in texts for moment in known)
        ]
        if len(near) != 1:
            ways = " or ".join(f"{ORDERS[word](texts[0]):%Y-%m-%d}" for word in good)
            raise InputError(
                f"{name}: “{clipped(texts[0])}” may be {ways}, and the plan of the work does not tell; write dates such as 2026-10-09"
            )
        good = near
        made.understood.append(
            f"dates have their {near[0].replace(' first', '')} first, as the placing of the plan tells"
        )
    elif len(good) == 1 and any(EITHER.fullmatch(plain(text)) for text in texts):
        made.understood.append(f"dates have their {good[0].replace(' first', '')} first")
    return ORDERS[good[0]]


def temperature_columns(
    name: str, heads: Sequence[str], rows: Sequence[Sequence[str]], times: Sequence[int]
) -> list[int]:
    """Return the columns that hold temperatures: by their heads, or the only one that holds numbers.

    Raises
    ------
    InputError
        If there is none, or nothing tells which of several.
    """
    width = max(map(len, rows))
    numbers = [
        k
        for k in range(width)
        if k not in times and any(k < len(row) and NUMBER.fullmatch(row[k].strip()) for row in rows)
    ]
    named = [k for k in numbers if k < len(heads) and TEMPERATURE.search(heads[k]) and not OTHER.search(heads[k])]
    if named:
        return named
    left = [k for k in numbers if not (k < len(heads) and OTHER.search(heads[k]))]
    if len(left) == 1:
        return left
    said = ", ".join(f"“{clipped(heads[k])}”" if k < len(heads) and heads[k] else f"column {k + 1}" for k in left)
    raise InputError(
        f"{name}: {f'which is the temperature: {said}? Write “temperature” in its head' if left else 'no column holds numbers'}"
    )


def patches_of(
    name: str, heads: Sequence[str], columns: Sequence[int], placed: Mapping[str, object], above: str, patch: str
) -> dict[int, str]:
    """Return the patch of each column: as its head says, as told, as the name of the file or the lines above say.

    Raises
    ------
    InputError
        If nothing tells.
    """
    by_head = {k: own[0] for k in columns if k < len(heads) and len(own := named_in(heads[k], placed)) == 1}
    if len(by_head) == len(columns) == len(set(by_head.values())):
        return by_head
    if len(columns) > 1:
        said = ", ".join(f"“{clipped(heads[k])}”" for k in columns)
        raise InputError(f"{name}: temperatures in {said}; write the patch into the head of each")
    told = [patch] if patch else named_in(re.sub(r"\.\w+$", "", name), placed) or named_in(above, placed)
    if len(told) == 1 and told[0] in placed:
        return {columns[0]: told[0]}
    found = f"“{patch}” is no patch of the job" if patch else "nothing says in which patch the sensor is"
    raise InputError(f"{name}: {found}; name it with --patch, or in the name of the file: {', '.join(placed)}")


def named_in(text: str, known: Mapping[str, object]) -> list[str]:
    """Return the patches that stand as words in a text.

    Examples
    --------
    >>> named_in("logger_P1 (beside P12)", {"P1": None, "P2": None})
    ['P1']
    """
    return [name for name in known if re.search(rf"(?<![A-Za-z0-9]){re.escape(name)}(?![A-Za-z0-9])", text, re.I)]


def unit_of(name: str, head: str, told: str) -> str:
    """Return the unit of a column: as its head says, or as told.

    Raises
    ------
    InputError
        If neither does.
    """
    found = [unit for unit, pattern in UNITS.items() if pattern.search(head)]
    if len(found) == 1 or told:
        return found[0] if len(found) == 1 else told
    raise InputError(
        f"{name}: the temperatures may be in °C or in °F, and the head “{clipped(head)}” does not say; write the unit there, or --unit °C"
    )
