"""The values that an argument may have, in the words of either unit system."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP
from functools import cache
from typing import get_args

from deckcalc.core import units
from deckcalc.core.units import Kind


@contextmanager
def speaking(system: str) -> Iterator[None]:
    """Let messages word ranges and examples in a unit system, while this lasts.

    Examples
    --------
    >>> from deckcalc.patch import saw_cut
    >>> with speaking("US"):
    ...     print(saw_cut.params["m_saw"].wanted)
    a length from 0 in to 7.87 in
    """
    token = units.SPOKEN.set(system)
    try:
        yield
    finally:
        units.SPOKEN.reset(token)


@dataclass(frozen=True)
class Range:
    """The values an argument may have, as the trade writes them: ``Range("3 mm", "60 mm")``."""

    low: str
    high: str
    above: bool = False  # the lowest value itself is refused

    def __str__(self) -> str:
        return self.words(self.low, self.high)

    def words(self, low: str, high: str) -> str:
        """Word the range with its two ends as they are printed."""
        return f"{'more than' if self.above else 'from'} {low} {'and up ' if self.above else ''}to {high}"

    def spoken(self, kind: Kind) -> str:
        """Word the range in the unit system that is spoken; each end is rounded into the range."""
        system = units.SPOKEN.get()
        return self.words(
            in_system(self.low, kind, system, ROUND_CEILING), in_system(self.high, kind, system, ROUND_FLOOR)
        )


@cache
def usual(system: str) -> frozenset[units.Unit]:
    """Return the units in which one kind or another is printed in a unit system."""
    kinds = (one for hint in vars(units).values() for one in get_args(hint) if isinstance(one, Kind))
    return frozenset(kind.unit(system) for kind in kinds)


def in_system(text: str, kind: Kind, system: str, rounding: str = ROUND_HALF_UP, digits: int = 3) -> str:
    """Return a value that is written in a unit of the system, or the same in the unit that the kind is printed in.

    Parameters
    ----------
    text : str
    kind : Kind
    system : {"SI", "US", ""}
        Empty: the text stays.
    rounding : str
        Of the decimal module.
    digits : int
        Significant digits that a converted value keeps at the least.

    Examples
    --------
    >>> length = units.kind_of(units.Length)
    >>> in_system("50 mm", length, "US", ROUND_CEILING), in_system("0.3 m", length, "SI"), in_system("2 ft", length, "US")
    ('1.97 in', '0.3 m', '2 ft')
    """
    if not system:
        return text
    value = units.read(text, kind)
    if value.units in usual(system):
        return text
    number = float(units.magnitude(value, kind, system))
    decimals = kind.decimals(system)
    if number:
        decimals = max(decimals, digits - 1 - math.floor(math.log10(abs(number))))
    exact = units.exact_decimals(number, decimals)
    return units.show(value, kind, system, decimals if exact is None else exact, rounding)
