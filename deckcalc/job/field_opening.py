"""When a placing opens and how late it may begin, by the temperatures of concrete and air: tables worked out for the crew beforehand."""

from __future__ import annotations

import copy
import datetime
from typing import TYPE_CHECKING, NamedTuple

from deckcalc.base.work import PlacementRow
from deckcalc.core.check import SATISFIED, Check
from deckcalc.core.units import Quantity, System, quantity
from deckcalc.curing.design import Placings, checks, hydration_rate, strength
from deckcalc.curing.design.heat_model import place
from deckcalc.curing.design.placings import Placing, Reached
from deckcalc.curing.inputs.rows import HOUR, AirHour, celsius
from deckcalc.job.field_tables import on_grid, steps

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: Step of the temperatures, its unit and that of a difference; and minutes from one start of placing to the next that is tried.
WARMTH: dict[System, tuple[float, str, str]] = {"US": (10.0, "degF", "delta_degF"), "SI": (5.0, "degC", "delta_degC")}
LATER = 15


class OpeningRow(NamedTuple):
    """What a placing comes to with concrete and air of a temperature: read as much or more.

    `opens` is the hour of opening where it is placed as planned, `start_by` the last hour at which placing may begin for the
    planned opening; None where there is none.
    """

    concrete: Quantity
    air: Quantity
    opens: datetime.datetime | None
    start_by: datetime.datetime | None


class OpeningTable(NamedTuple):
    """Opening of a placing by temperatures: its concrete, what the curve rests on, and the rows, coldest first."""

    placing: PlacementRow
    concrete: str
    curve: str
    slab: Quantity
    rows: list[OpeningRow]


def opening_table(job: Job, row: PlacementRow) -> OpeningTable | None:
    """Return when a placing of the plan opens, by the temperatures of concrete and air; None where nothing of it is computed.

    The rows are empty where no curve of its concrete decides, or its temperature was logged: then tests or the log decide.
    """
    if "curing" not in job.file.ready or job.of("curing") is None or row.placement not in job.curing.each:
        return None
    one = job.curing[row.placement]
    rests = one.curve.rests_on if one.curve is not None else ""
    if not one.computed or one.measured is not None:
        return OpeningTable(row, one.design.name, rests, row.slab_temperature, [])
    step, unit, apart = WARMTH[job.system]
    cold, hot = (limit.value for limit in job.mix.placing_limits(one.design))
    coldest = min((hour.air for hour in one.window), key=celsius)
    rows, grid = [], list(steps(cold, hot, step, unit))
    least = on_grid(cold, 1.0, unit, "up")
    warmths = grid if least in grid else [least, *grid]
    for colder in (1, 0):
        placings = cut_short(job.curing, row, quantity(step * colder, apart))
        air = on_grid(quantity(float(coldest.m_as(unit)) - step * colder, unit), 1.0, unit, "up")
        for warm in warmths:
            opens = opening_of(placings, row, warm, 0)
            rows.append(OpeningRow(warm, air, opens, None if opens is None else last_start(placings, row, warm)))
    return OpeningTable(row, one.design.name, rests, row.slab_temperature, rows)


def cut_short(curing: Placings, row: PlacementRow, colder: Quantity) -> Placings:
    """Return the placings with the air so much colder, no hour of it past the opening of one of them."""
    found = copy.copy(curing)
    found.weather = [
        AirHour(hour.time, hour.air - colder, hour.humidity, hour.wind, hour.sun)
        for hour in curing.weather
        if hour.time <= row.opening + HOUR
    ]
    return found


def later(row: PlacementRow, warm: Quantity, minutes: int) -> PlacementRow:
    """Return a placing that begins so much later, with concrete of a temperature."""
    by = datetime.timedelta(minutes=minutes)
    said = f"{float(warm.magnitude):g} {'°F' if str(warm.units) == 'degree_Fahrenheit' else '°C'}"
    return row.model_copy(update={"start": row.start + by, "end": row.end + by, "concrete_temperature": said})


def opening_of(placings: Placings, row: PlacementRow, warm: Quantity, minutes: int) -> datetime.datetime | None:
    """Return when a placing is strong enough to open; None where it is not by the hour of the plan."""
    moved = later(row, warm, minutes)
    if moved.end >= moved.opening:
        return None
    one: Placing = place(placings, moved, hydration_rate(placings))
    now = strength.at_hour(placings, one, one.opening_hour)
    limit = placings.limit("opening_strength")
    if (
        checks.unknown_strength(one, now.age)
        or Check("", "", quantity(now.low, "MPa"), limit, "at least").verdict != SATISFIED
    ):
        return None
    reached = Reached.by(one.governing, placings.required).sure
    return None if reached is None else min(one.moment(reached), row.opening)


def last_start(placings: Placings, row: PlacementRow, warm: Quantity) -> datetime.datetime:
    """Return the last start, in steps of some minutes after that of the plan, at which a placing still opens as planned."""
    good, bad = 0, int((row.opening - row.end).total_seconds() // 60 // LATER) + 1
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if opening_of(placings, row, warm, middle * LATER) else (good, middle)
    return row.start + datetime.timedelta(minutes=good * LATER)
