"""Curing and opening: drying of the fresh surface through the placing window, and the measures against it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from deckcalc.base.subject import joined
from deckcalc.core import units
from deckcalc.core.check import Check
from deckcalc.core.units import Quantity, registry
from deckcalc.curing.formulas import evaporation as drying
from deckcalc.curing.inputs.rows import celsius, clock

if TYPE_CHECKING:
    from deckcalc.curing.design import CuringSubject, Placing
    from deckcalc.job import Job


def q(value: Any, unit: str) -> Quantity:
    """Return a quantity."""
    return registry().Quantity(value, unit)


def window(one: Placing) -> list[Any]:
    """Return the hours of weather from the start to the end of placing, both ends included."""
    return [hour for hour in one.air if one.row.start <= hour.time <= one.row.end] or one.air[:1]


def window_rates(job: Job, subject: CuringSubject, one: Placing) -> Quantity:
    """Return the rate of evaporation at each hour of the placing window."""
    assert subject.choice
    hours = window(one)
    each = lambda name: joined([getattr(hour, name) for hour in hours])  # noqa: E731
    return drying.rate(
        subject.choice.evaporation, job.system, one.concrete, each("air"), each("humidity"), each("wind")
    )


def evaporate(job: Job, subject: CuringSubject, one: Placing) -> None:
    """Evaporation at the worst hour of the window, and every measure against it."""
    choice = subject.choice
    assert choice
    rates = window_rates(job, subject, one)
    hours = window(one)
    worst = hours[int(np.argmax(rates.magnitude))]
    item = f"{one.name}, {clock(worst.time)}"
    calculation = drying.EQUATIONS[choice.evaporation].form(job.system)
    made = subject.run(calculation, item, T_c=one.concrete, T_a=worst.air, RH=worst.humidity, V=worst.wind)
    limit = job.limit("evaporation")
    title = f"evaporation at its worst hour of placing, {worst.time:%H:%M}"
    subject.checks.append(
        Check(
            one.name,
            title,
            made.E,
            limit,
            "at most",
            "use a measure of the table of measures, or place at another hour",
        )
    )
    found = measures(job, subject, one, worst)
    enough = [name for name, _, value in found if value is not None and value <= limit.value]
    if made.E <= limit.value:  # noqa: SIM300
        said = "no measure is needed by the estimate; keep fog and cover at hand, it is good to about 40 %"
    elif enough:
        said = "enough by itself: " + "; ".join(enough)
    else:
        said = "no single measure is enough; combine them, or place at another hour"
    subject.decisions[f"{one.name}: drying"] = said


def measures(job: Job, subject: CuringSubject, one: Placing, worst: Any) -> list[tuple[str, str, Quantity | None]]:
    """Return each measure with what it changes and the evaporation that is left at the worst hour.

    Parameters
    ----------
    worst : WeatherRow

    Returns
    -------
    list of tuple
        Name, what it changes in words, rate left (None where the measure cannot be had).
    """
    choice = subject.choice
    assert choice
    system, author = job.system, choice.evaporation
    limit = job.limit("evaporation").value
    cooler = choice.measures.shade
    left = choice.measures.wind_left
    fog = max(choice.measures.fog_humidity, worst.humidity)
    rate = lambda T_c, T_a, RH, V: drying.rate(author, system, T_c, T_a, RH, V)  # noqa: E731
    low = max(celsius(one.concrete) - celsius_difference(cooler), 0.0)
    shaded = q(low, "degC"), q(celsius(worst.air) - celsius_difference(cooler), "degC")
    found: list[tuple[str, str, Quantity | None]] = [
        ("shade", f"concrete and air at the surface {job.show(cooler, units.TemperatureDifference)} cooler",
         rate(shaded[0], shaded[1], worst.humidity, worst.wind)),
        ("wind break", f"{job.show(left, units.Share, 0)} of the wind comes through",
         rate(one.concrete, worst.air, worst.humidity, worst.wind * float(left.m_as("")))),
        ("fogging", f"humidity over the surface {job.show(fog, units.Share, 0)}",
         rate(one.concrete, worst.air, fog, worst.wind)),
    ]  # fmt: skip
    needed = cool_enough(
        lambda T: rate(q(T, "degC"), worst.air, worst.humidity, worst.wind), celsius(one.concrete), limit
    )
    if needed is None:
        found.append(("cooler concrete", "none warm enough to place would do", None))
    else:
        T = q(needed, "degC")
        found.append(("cooler concrete", f"placed at {job.show(T, units.Temperature, 1)}",
                      rate(T, worst.air, worst.humidity, worst.wind)))  # fmt: skip
    found.append(later_start(job, subject, one))
    return found


def celsius_difference(quantity: Quantity) -> float:
    """Return a difference of temperature as a plain number of °C."""
    return float(quantity.m_as("delta_degC"))


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


def later_start(job: Job, subject: CuringSubject, one: Placing) -> tuple[str, str, Quantity | None]:
    """Return the first later start, by whole hours within 24, whose whole window is within the limit."""
    assert subject.choice
    limit = job.limit("evaporation").value
    span = len(window(one))
    first = next(i for i, hour in enumerate(one.air) if hour.time >= one.row.start or i == len(one.air) - 1)
    for shift in range(25):
        hours = one.air[first + shift : first + shift + span]
        if len(hours) < span:
            break
        each = lambda name, rows=hours: joined([getattr(hour, name) for hour in rows])  # noqa: E731
        rates = drying.rate(
            subject.choice.evaporation, job.system, one.concrete, each("air"), each("humidity"), each("wind")
        )
        if np.max(rates) <= limit:
            when = "as planned" if shift == 0 else f"start at {clock(hours[0].time)}"
            return "later start", when, np.max(rates)
    return "later start", "no start within 24 h of the record would do", None
