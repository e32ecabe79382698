"""What a page needs to read quantities as people write them: the patterns of `spelling`, and factors of units from the registry."""

from __future__ import annotations

import re
from functools import cache
from typing import Any, get_args

from pint.errors import PintError

from deckcalc.core import spelling, tables, units
from deckcalc.core.units import Kind

#: Units that no kind prints and people write, and the prefixes that metric units may have.
ALSO = (
    "mile",
    "tonne",
    "ton",
    "bar",
    "quart",
    "pint",
    "week",
    "month",
    "ounce",
    "joule",
    "watt",
    "newton",
    "litre",
    "ampere",
    "ppm",
)
PREFIXED = (
    "meter",
    "gram",
    "second",
    "pascal",
    "newton",
    "liter",
    "joule",
    "watt",
    "volt",
    "ohm",
    "coulomb",
    "mole",
    "ampere",
)
PREFIXES = ("µ", "μ", "u", "m", "c", "k", "M", "G", "micro", "milli", "centi", "kilo", "mega", "giga")
#: Temperatures on a scale with a nought of its own; they stand alone.
OFFSET = ("degC", "degF", "celsius", "fahrenheit", "degree_Celsius", "degree_Fahrenheit")


def all_kinds() -> dict[str, Kind]:
    """Return every kind that is declared, by the name of its type."""
    return {
        name: one for name, hint in vars(units).items() for one in get_args(hint) if isinstance(one, Kind)
    }  # fmt: skip


def javascript(pattern: re.Pattern[str], whole: bool = False) -> list[str]:
    """Return a pattern as one of JavaScript, to match at the beginning or the whole, with its flags.

    Examples
    --------
    >>> javascript(re.compile("(?P<a>x) [ ]y", re.X | re.I), whole=True)
    ['^(?:(?<a>x)[ ]y)$', 'i']
    """
    text = pattern.pattern
    if pattern.flags & re.X:  # a blank counts within a class alone
        text = "".join(
            part if part.startswith("[") else "".join(part.split()) for part in re.split(r"(\[[^\]]*\])", text)
        )
    text = re.sub(r"\(\?P<", "(?<", text)
    return [f"^(?:{text}){'$' if whole else ''}", "i" if pattern.flags & re.I else ""]


def dimensions(unit: Any) -> dict[str, int]:
    """Return the exponents of the dimensions of a unit."""
    return {name.strip("[]"): int(power) for name, power in unit.dimensionality.items()}


def in_key(unit: Any) -> list[str]:
    """Return the dimensions of a unit as a page compares them."""
    return sorted(f"{name}{power}" for name, power in dimensions(unit).items())


@cache
def named() -> dict[str, tuple[float, dict[str, int]]]:
    """Return factor to the coherent SI unit and dimensions of every name of a unit that a page knows."""
    ureg = units.registry()
    symbols = [text for kind in all_kinds().values() for text in (kind.si, kind.us, kind.si_small[0], kind.us_small[0])]
    words = {word for text in symbols for word in re.findall(r"[A-Za-zµΩ_][\w]*", spelling.unit(text) or "")}
    words |= {*ALSO, *spelling.USUAL.values(), *(line.partition(" ")[0] for line in units.DEFINITIONS)}
    found: dict[str, tuple[float, dict[str, int]]] = {}
    known = {*words, *OFFSET}
    for word in words:
        try:
            base = next(iter(ureg.Unit(word)._units))
        except PintError:
            continue
        root = ureg._units.get(ureg.parse_unit_name(base)[0][1])
        if root is None:
            continue
        names = {root.name, root.symbol, *root.aliases}
        known |= names | {f"{name}s" for name in names if len(name) > 2}
        if root.name in PREFIXED:
            known |= {prefix + name for prefix in PREFIXES for name in names}
    for name in sorted(known):
        if spelling.UNIT.fullmatch(name) is None or name.rstrip("s") == "mil":
            continue
        try:
            unit = ureg.Unit(f"delta_{name}" if name in OFFSET else name)  # within a product a degree is a difference
            found[name] = float(ureg.Quantity(1.0, unit).to_base_units().magnitude), dimensions(unit)
        except (PintError, AttributeError):  # no such name, or a scale that is not a factor
            continue
    return found


def offsets() -> dict[str, dict[str, Any]]:
    """Return the scales of temperature with a nought of their own."""
    kind = units.kind_of(units.Temperature)
    made = {}
    for name in OFFSET:
        scale, zero = kind.scale(units.registry().Unit(name))
        made[name] = {"scale": scale, "zero": zero, "dimensions": ["temperature1"], "name": name, "temperature": True}
    return made


def bars() -> dict[str, tuple[float, float]]:
    """Return nominal diameter and factor to metres of every size of bar."""
    found = {}
    for row in tables.load("bars").rows:
        column = "in" if row["d [in]"] else "mm"
        found[row["size"]] = float(row[f"d [{column}]"]), 0.0254 if column == "in" else 1e-3
    return found


def spelled() -> dict[str, Any]:
    """Return everything that the reader of a page knows, as plain data."""
    return {
        "longest": units.LONGEST_QUANTITY,
        "longestUnit": units.LONGEST_UNIT,
        "patterns": {
            "prefix": javascript(spelling.PREFIX),
            "station": javascript(spelling.STATION, whole=True),
            "feet": javascript(spelling.FEET, whole=True),
            "fraction": javascript(spelling.FRACTION),
            "number": javascript(spelling.NUMBER),
            "unit": javascript(spelling.UNIT, whole=True),
            "sized": javascript(units.SIZED),
            "bar": javascript(tables.BAR, whole=True),
            "old": javascript(tables.OLD, whole=True),
        },
        "alike": {chr(sign): usual for sign, usual in spelling.ALIKE.items()},
        "vulgar": {sign: f"{one.numerator}/{one.denominator}" for sign, one in spelling.VULGAR.items()},
        "superscripts": {chr(sign): chr(usual) for sign, usual in spelling.SUPERSCRIPTS.items()},
        "marks": spelling.MARKS,
        "stations": spelling.UNITS,
        "usual": spelling.USUAL,
        "units": named(),
        "offset": offsets(),
        "bars": bars(),
    }


def kind(one: Kind) -> dict[str, Any]:
    """Return what the reader knows of a kind."""
    return {
        "name": one.name,
        "dimensions": in_key(one.unit("SI")),
        "temperature": one.is_temperature,
        "along": one.si == "m",
    }
