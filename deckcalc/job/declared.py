"""What a field is declared to hold, in words and as an example: read from the models of job.toml and of the tables."""

from __future__ import annotations

import datetime
import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR
from functools import cache
from math import floor, log10
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from deckcalc.base.fields import InRange, Strict
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.core.units import SYSTEMS, InputError, Kind, System
from deckcalc.job.bounded import csv_of
from deckcalc.mix.inputs.given import EitherOf

#: In a demo job a field that is left out stands behind this, with an example.
LEFT_OUT = re.compile(r"^# (\w+ = |\[)", re.MULTILINE)


def parts(info: Any) -> Iterator[Any]:
    """Yield everything that the declaration of a field is made of: types, ranges, choices."""
    left = [info]
    while left:
        one = left.pop(0)
        yield one
        if isinstance(one, FieldInfo):
            left += [*one.metadata, one.annotation]
        elif get_origin(one) is not Literal:
            left += get_args(one)


def sections(info: FieldInfo) -> list[type[Strict]]:
    """Return the models of the sections that a field may hold; none for a value."""
    return [one for one in parts(info) if isinstance(one, type) and issubclass(one, Strict)]


def holds_value(info: FieldInfo) -> bool:
    """Return whether a field may hold a value, beside any section that it may hold."""
    return not sections(info) or (not shape(info) and str in types(info))


def shape(info: FieldInfo) -> str:
    """Return in what a field holds its sections or values: "list", "dict", or nothing for one of them."""
    origins = {get_origin(one) for one in (info.annotation, *get_args(info.annotation))}
    return "list" if list in origins else "dict" if dict in origins else ""


def choices(info: FieldInfo) -> list[str]:
    """Return the texts that a field may hold, where they are counted up."""
    return [text for one in parts(info) if get_origin(one) is Literal for text in get_args(one) if text]


def ranges(info: FieldInfo) -> list[InRange]:
    """Return the ranges of a quantity, one for each kind that it may be of."""
    found = [one for one in parts(info) if isinstance(one, InRange | EitherOf)]
    return [one for each in found for one in (each.ranges if isinstance(each, EitherOf) else (each,))]


def kind_of(one: InRange) -> Kind:
    """Return what a range is a range of."""
    return one.kind if isinstance(one.kind, Kind) else units.kind_of(one.kind)


@cache
def names_of(system: str) -> frozenset[str]:
    """Return the units, by their names in the registry, that only this system prints."""
    kinds = [units.kind_of(one) for one in vars(units).values() if hasattr(one, "__metadata__")]
    printed = {each: {str(name) for one in kinds for name in one.unit(each)._units} for each in SYSTEMS}
    return frozenset(printed[system] - printed["US" if system == "SI" else "SI"])


def is_written_in(quantity: Any, system: str, kind: Kind) -> bool:
    """Return whether the unit of a quantity is one of the system's, or common to both."""
    if kind.si == kind.us or quantity.units == kind.unit(system):
        return True
    return bool(set(quantity.units._units) & names_of("US")) == (system == "US")


def bound(text: str, kind: Kind, system: System, rounding: str) -> str:
    """Return a bound in the system's unit, rounded to the inside of the range where it has to be converted.

    Examples
    --------
    >>> kind = units.kind_of(units.Length)
    >>> bound("100 mm", kind, "SI", ROUND_CEILING), bound("100 mm", kind, "US", ROUND_CEILING)
    ('100 mm', '3.94 in')
    """
    quantity = units.read(text, kind)
    if is_written_in(quantity, system, kind):
        return text
    value = float(units.magnitude(quantity, kind, system))
    decimals = max(0, 2 - floor(log10(abs(value)))) if value else 0
    return f"{trimmed(units.fixed(value, decimals, rounding))} {kind.symbol(system)}".strip()


def trimmed(number: str) -> str:
    """Return a number without zeros that say nothing."""
    return number.rstrip("0").rstrip(".") if "." in number else number


def wanted(info: FieldInfo, system: System) -> str:
    """Return in words what a field may hold: a range, choices, a form; empty for free text."""
    said = []
    for one in ranges(info):
        low, high = (
            bound(text, kind_of(one), system, rounding)
            for text, rounding in ((one.low, ROUND_CEILING), (one.high, ROUND_FLOOR))
        )
        readings = f", {one.least} or more separated by semicolons" if one.least else ""
        said.append(f"{low} to {high}{readings}")
    if choices(info):
        said.append(in_quotes(choices(info)))
    kinds = set(types(info))
    if bool in kinds:
        said.append("true or false")
    elif not said:
        said.append(number(info))
    return " or ".join(part for part in said if part)


def number(info: FieldInfo) -> str:
    """Return in words which numbers a field may hold; empty where that is not said."""
    bounds = {name: getattr(one, name) for one in parts(info) for name in ("ge", "gt", "le") if hasattr(one, name)}
    least = f"from {bounds['ge']:.15g}" if "ge" in bounds else f"above {bounds['gt']:.15g}" if "gt" in bounds else ""
    said = [part for part in (least, f"to {bounds['le']:.15g}" if "le" in bounds else "") if part]
    if int in types(info):
        return " ".join(["a whole number", *said])
    return " ".join(["a number", *said]) if said else ""


def types(info: FieldInfo) -> list[type]:
    """Return the plain types that a field may hold."""
    return [one for one in parts(info) if isinstance(one, type) and one is not NoneType]


def in_quotes(words: list[str]) -> str:
    """Return texts in quotation marks, as a list that ends in “or”."""
    quoted = [json.dumps(one, ensure_ascii=False) for one in words]
    return " or ".join(part for part in (", ".join(quoted[:-1]), quoted[-1]) if part)


def left_out(info: FieldInfo) -> str:
    """Return in words what counts where a field may be left out; empty where that goes without saying."""
    default = info.get_default(call_default_factory=True)
    if isinstance(default, units.Quantity):
        return f'left out: "{units.text(default, "g")}"'
    if not isinstance(default, str | int | float) or default == "":
        return ""
    return f"left out: {json.dumps(default, ensure_ascii=False)}"


# --- examples


@cache
def demo(system: System) -> dict[str, Any]:
    """Return job.toml of the demo job, with the fields that it leaves out as examples."""
    text = (folder("notebooks") / f"demo_{system.lower()}" / "job.toml").read_text(encoding="utf-8")
    return tomllib.loads(LEFT_OUT.sub(r"\1", text))


@cache
def demo_table(system: System, name: str) -> tuple[tuple[str, ...], ...]:
    """Return head and rows of a table of the demo job; nothing where it has none."""
    place = folder("notebooks") / f"demo_{system.lower()}" / f"{name}.csv"
    rows, _ = csv_of(place.read_text(encoding="utf-8")) if place.is_file() else ([], "")
    return tuple(tuple(row) for row in rows)


def example(info: FieldInfo, system: System, given: Any = None) -> Any:
    """Return an example of a field: what the demo job has, or the default, or the middle of its range.

    Raises
    ------
    InputError
        If nothing of the declaration gives one.
    """
    if given is not None and not foreign(info, system, given):
        return given
    for one in info.examples or ():
        if not foreign(info, system, one):
            return one
    if shape(info):
        inner = example(FieldInfo.from_annotation(get_args(info.annotation)[-1]), system)
        return {"NAME": inner} if shape(info) == "dict" else [inner] * 2
    if isinstance(info.default, str | int | float) and info.default != "" and not foreign(info, system, info.default):
        return info.default
    if found := ranges(info):
        return middle(found[0], system)
    if known := choices(info):
        return known[0]
    return plain_example(info)


def foreign(info: FieldInfo, system: System, given: Any) -> bool:
    """Return whether an example is a quantity in a unit of the other system."""
    for one in ranges(info) if isinstance(given, str) else ():
        try:
            return not is_written_in(units.read(given, one.kind), system, kind_of(one))
        except InputError:
            continue
    return False


def plain_example(info: FieldInfo) -> Any:
    """Return an example of a field without range or choices, by its type."""
    kinds = types(info)
    bounds = [getattr(one, name) for one in parts(info) for name in ("ge", "gt") if hasattr(one, name)]
    for kind, value in (
        (bool, True), (datetime.datetime, "2027-05-07 20:00"), (datetime.date, datetime.date(2027, 5, 7)), (datetime.time, "20:00"),
        (int, max([1, *bounds])), (float, float(max([1, *bounds]))),
    ):  # fmt: skip
        if kind in kinds:
            return value
    raise InputError(f"no example follows from {info!r}; give one with Field(examples=...)")


def middle(one: InRange, system: System) -> str:
    """Return the middle of a range, in as few digits of the system's unit as lie inside."""
    kind = kind_of(one)
    low, high = (float(units.magnitude(units.read(text, kind), kind, system)) for text in (one.low, one.high))
    half = (low + high) / 2
    for digits in range(1, 9):
        value = float(f"{half:.{digits}g}")
        if low <= value <= high:
            break
    text = f"{round(value) if kind.whole else value:.10g} {kind.symbol(system)}".strip()
    return "; ".join([text] * max(one.least, 1))


def merged(entries: list[Mapping[str, Any]]) -> dict[str, Any]:
    """Return one entry with the fields of all: of each, what the first entry that has it says."""
    made: dict[str, Any] = {}
    for one in entries:
        for key, value in one.items():
            if isinstance(value, dict) and isinstance(made.get(key), dict):
                made[key] = merged([made[key], value])
            else:
                made.setdefault(key, value)
    return made


# --- text


def toml(value: Any) -> str:
    """Return a value as TOML writes it, in one line.

    Examples
    --------
    >>> toml({"saws": 2, "saw-crew": [1.5, "2 m"]}), toml(True)
    ('{ saws = 2, saw-crew = [1.5, "2 m"] }', 'true')
    """
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key_of(name)} = {toml(one)}" for name, one in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return json.dumps(value, ensure_ascii=False)


def key_of(name: str) -> str:
    """Return a key as TOML writes it."""
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else json.dumps(name, ensure_ascii=False)


def first_sentence(model: type[Strict]) -> str:
    """Return the first line of what a model says of itself."""
    return (model.__doc__ or "").strip().partition("\n")[0]
