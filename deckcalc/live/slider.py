"""Where a slider may stop: values as the trade writes them, each of which its argument takes."""

from __future__ import annotations

import math

from deckcalc.core import units
from deckcalc.core.boundary import Param
from deckcalc.core.units import Quantity

#: A range of so many times its lowest value is slid over as a whole; a wider one, about the value that stands in the field.
WHOLE, BELOW, BEYOND = 20, 3, 3
#: Stops of a slider at the least, except where few whole numbers are meant.
STOPS = 60


def stops(param: Param, value: Quantity | None, system: str) -> list[str]:
    """Return the values at which a slider stops, as they stand in its field; none where a slider makes no sense.

    Parameters
    ----------
    param : Param
    value : Quantity or None
        What stands in the field; a slider of a wide range is laid about it.
    system : {"SI", "US"}

    Examples
    --------
    >>> from deckcalc.patch import saw_cut
    >>> cover = stops(saw_cut.params["c_min"], units.quantity(50, "mm"), "SI")
    >>> cover[0], cover[1], cover[-1]
    ('18 mm', '20 mm', '150 mm')
    """
    if param.kind is None or param.range is None or param.several:
        return []
    low, high = (float(units.magnitude(units.read(text, param.kind), param.kind, system)) for text in (param.range.low, param.range.high))  # fmt: skip
    least, most = low, high
    whole = param.kind.is_temperature or (low > 0 and high / low <= WHOLE) or high - low <= WHOLE * param.kind.whole
    if not whole:
        middle = float(units.magnitude(value, param.kind, system)) if value is not None else 0.0
        if not middle:
            return []
        ends = sorted((middle / BELOW, middle * BEYOND))
        low, high = max(low, ends[0]), min(high, ends[1])
    step = nice((high - low) / STOPS)
    if param.kind.whole:
        step = max(1.0, step)
    symbol = param.kind.symbol(system)
    lowest, highest = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    numbers = [count * step for count in range(lowest, highest + 1)]
    found = [x for x in numbers if (x > least if param.range.above else x >= least) and x <= most]
    return [f"{x:.6g} {symbol}".strip() for x in found] if len(found) > 2 else []


def nice(step: float) -> float:
    """Return the largest of 1, 2 and 5 times a power of ten that is no larger.

    Examples
    --------
    >>> nice(2.2), nice(0.9), nice(7)
    (2.0, 0.5, 5.0)
    """
    power = 10.0 ** math.floor(math.log10(step))
    return max(times * power for times in (1, 2, 5) if times * power <= step * (1 + 1e-9))


def nearest(found: list[str], value: Quantity, param: Param, system: str) -> int:
    """Return which stop lies nearest to a value; -1 where the value lies beyond them all."""
    assert param.kind
    number = float(units.magnitude(value, param.kind, system))
    numbers = [float(text.partition(" ")[0]) for text in found]
    slack = numbers[1] - numbers[0]
    if not numbers[0] - slack <= number <= numbers[-1] + slack:
        return -1
    return min(range(len(numbers)), key=lambda at: abs(numbers[at] - number))
