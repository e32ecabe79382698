"""Evaporation from the fresh surface through the placing window, and the measures against it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from deckcalc.base.subject import joined
from deckcalc.core import units
from deckcalc.core.check import Check
from deckcalc.core.units import Quantity, quantity
from deckcalc.curing.design.placings import Drying, DryingHour, Measure, Placing, Placings
from deckcalc.curing.formulas import evaporation as drying
from deckcalc.curing.inputs.rows import Hour, celsius, clock

SPREAD = 0.4  # share by which the estimate may be off either way; see the calculation


def rates(placings: Placings, one: Placing, hours: Sequence[Hour]) -> Quantity:
    """Return the rate of evaporation at each hour, for concrete at the temperature as placed."""
    each = lambda name: joined([getattr(hour, name) for hour in hours])  # noqa: E731
    author = placings.choices.evaporation
    return drying.rate(author, placings.system, one.concrete, each("air"), each("humidity"), each("wind"))


def evaporate(placings: Placings, one: Placing) -> None:
    """Evaporation at the worst hour of the window, and every measure against it."""
    limit, found = placings.evaporation_limit(one.design), rates(placings, one, one.window)
    hours = [
        DryingHour(hour, rate, (1 - SPREAD) * rate, (1 + SPREAD) * rate, Check("", "", rate, limit).verdict)
        for hour, rate in zip(one.window, found, strict=True)
    ]
    worst = hours[int(np.argmax(found.magnitude))]
    air = worst.air
    calculation = drying.EQUATIONS[placings.choices.evaporation].form(placings.system)
    made = placings.run(
        calculation, f"{one.item}, {clock(air.time)}", T_c=one.concrete, T_a=air.air, RH=air.humidity, V=air.wind
    )
    why = "use a measure of the table of measures, or place at another hour"
    title = f"evaporation at its worst hour of placing, {air.time:%H:%M}"
    placings.checks.append(Check(one.item, title, made.E, limit, "at most", why))
    tried = measures(placings, one, air)
    enough = [measure.name for measure in tried if measure.rate is not None and measure.rate <= limit.value]
    if made.E <= limit.value:  # noqa: SIM300
        said = f"no measure is needed by the estimate; keep fog and cover at hand, it is good to about {100 * SPREAD:.0f} %"
    elif enough:
        said = "enough by itself: " + "; ".join(enough)
    else:
        said = "no single measure is enough; combine them, or place at another hour"
    placings.decisions[f"{one.item}: drying"] = said
    one.drying = Drying(hours, worst, made.E, tried, said)


def measures(placings: Placings, one: Placing, worst: Hour) -> list[Measure]:
    """Return each measure with what it changes and the evaporation that is left at the worst hour."""
    choices, system, limit = placings.choices, placings.system, placings.evaporation_limit(one.design).value
    author = choices.evaporation
    cooler = choices.measures.shade
    left = choices.measures.wind_left
    fog = max(choices.measures.fog_humidity, worst.humidity)
    rate = lambda T_c, T_a, RH, V: drying.rate(author, system, T_c, T_a, RH, V)  # noqa: E731
    low = max(celsius(one.concrete) - kelvins(cooler), 0.0)
    shaded = quantity(low, "degC"), quantity(celsius(worst.air) - kelvins(cooler), "degC")
    found: list[tuple[str, str, Quantity | None]] = [
        ("shade", f"concrete and air at the surface {placings.show(cooler, units.TemperatureDifference)} cooler",
         rate(shaded[0], shaded[1], worst.humidity, worst.wind)),
        ("wind break", f"{placings.show(left, units.Share, 0)} of the wind comes through",
         rate(one.concrete, worst.air, worst.humidity, worst.wind * float(left.m_as("")))),
        ("fogging", f"humidity over the surface {placings.show(fog, units.Share, 0)}",
         rate(one.concrete, worst.air, fog, worst.wind)),
    ]  # fmt: skip
    needed = cool_enough(
        lambda T: rate(quantity(T, "degC"), worst.air, worst.humidity, worst.wind), celsius(one.concrete), limit
    )
    if needed is None:
        found.append(("cooler concrete", "none warm enough to place would do", None))
    else:
        T = quantity(needed, "degC")
        found.append(("cooler concrete", f"placed at {placings.show(T, units.Temperature, 1)}",
                      rate(T, worst.air, worst.humidity, worst.wind)))  # fmt: skip
    found.append(later_start(placings, one))
    return [
        Measure(name, change, left, Check("", "", left, placings.evaporation_limit(one.design)).verdict)
        for name, change, left in found
    ]


def kelvins(difference: Quantity) -> float:
    """Return a difference of temperature as a plain number of °C."""
    return float(difference.m_as("delta_degC"))


def cool_enough(rate: Any, now: float, limit: Quantity, coolest: float = 5.0) -> float | None:
    """Return the highest temperature of concrete [°C], at most that now, at which the rate is within the limit."""
    if rate(now) <= limit:
        return now
    if rate(coolest) > limit:
        return None
    low, high = coolest, now
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if rate(middle) <= limit else (low, middle)
    return low


def later_start(placings: Placings, one: Placing) -> tuple[str, str, Quantity | None]:
    """Return the first later start, by whole hours within 24, whose whole window is within the limit."""
    limit = placings.evaporation_limit(one.design).value
    span = len(one.window)
    first = next(i for i, hour in enumerate(one.air) if hour.time >= one.row.start or i == len(one.air) - 1)
    for shift in range(25):
        hours = one.air[first + shift : first + shift + span]
        if len(hours) < span:
            break
        found = rates(placings, one, hours)
        if np.max(found) <= limit:
            when = "as planned" if shift == 0 else f"start at {clock(hours[0].time)}"
            return "later start", when, np.max(found)
    return "later start", "no start within 24 h of the record would do", None
