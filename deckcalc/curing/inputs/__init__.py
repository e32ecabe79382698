"""What the job folder says of curing and opening: placings, weather, history and cylinders, checked against each other."""

from __future__ import annotations

import datetime
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from deckcalc.base.context import Context
from deckcalc.base.work import PlacementRow
from deckcalc.curing.inputs.rows import (
    HOUR,
    JUMP,
    NEEDS,
    ROWS,
    SECTIONS,
    START,
    ClimateRow,
    CubeRow,
    Curing,
    CylinderRow,
    DayRow,
    HistoryRow,
    Hour,
    WeatherRow,
    block_of,
    celsius,
    clock,
    history_of,
    weather_of,
)
from deckcalc.mix.inputs import Mix
from deckcalc.patch.design import Marked

__all__ = ["NEEDS", "ROWS", "SECTIONS", "START", "Curing", "Hour", "Inputs", "check", "not_recorded"]


@dataclass(frozen=True)
class Inputs:
    """What curing and opening are worked out from."""

    curing: Curing | None
    mix: Mix
    weather: list[WeatherRow]
    days: list[DayRow]
    history: list[HistoryRow]
    cylinders: list[CylinderRow]
    cubes: list[CubeRow]
    climate: list[ClimateRow]


def check(context: Context[Inputs], marked: Marked, faults: list[str]) -> None:
    """Check weather, history and cylinders against each other and against the placings of the plan."""
    inputs, choices = context.inputs, context.inputs.curing
    if choices is None:
        return
    rows = context.work.rows
    before = len(faults)
    _check_weather(inputs.weather, faults)
    for number, day in enumerate(inputs.days, 2):
        if day.high < day.low:
            faults.append(f"days.csv, row {number}: the high is below the low")
    _check_history(inputs.history, faults)
    if len(faults) == before:
        weather = weather_of(inputs.weather, inputs.days)
        for number, row in enumerate(rows, 2):
            where = f"placements.csv, row {number}"
            _check_placement(f"{where}, placement {row.placement}", row, inputs.history, faults)
            if context.work.zone and not_recorded(weather, row) is None:
                _check_clock(where, row, weather, context.work.zone, faults)
    for concrete in dict.fromkeys(row.concrete for row in inputs.cylinders):
        _check_cylinders([row for row in inputs.cylinders if row.concrete == concrete], inputs.cylinders, faults)
    _check_concretes(inputs, faults)
    if inputs.climate and len(inputs.climate) != 12:
        faults.append(f"climate.csv: {len(inputs.climate)} rows, wanted twelve, January to December")
    for number, month in enumerate(inputs.climate, 2):
        if month.high <= month.low:
            faults.append(f"climate.csv, row {number}: the mean high is not above the mean low")


def _check_clock(
    where: str, row: PlacementRow, weather: Sequence[Hour], zone: zoneinfo.ZoneInfo, faults: list[str]
) -> None:
    """Refuse a clock change between start and the end of the record."""
    first = row.start.replace(tzinfo=zone).utcoffset()
    for hour in block_of(weather, row.end):
        if hour.time >= row.start and hour.time.replace(tzinfo=zone).utcoffset() != first:
            faults.append(
                f"{where}: the clocks of {zone.key} change before {clock(hour.time)}; maturity is followed in one clock, and a record "
                "through the change is not covered: place on another day, or end the record before it"
            )
            return


def _check_weather(rows: list[WeatherRow], faults: list[str]) -> None:
    for number, (before, row) in enumerate(pairwise(rows), 3):
        where, step = f"weather.csv, row {number}", row.time - before.time
        if step <= datetime.timedelta(0):
            faults.append(
                f"{where}: {clock(row.time)} does not come after {clock(before.time)}; an hour appears twice or the rows are not in "
                "order (if the clocks were set back, write the record in one clock)"
            )
        elif step != HOUR and step < 24 * HOUR:
            what = "fill in" if step > HOUR else "leave one reading an hour:"
            missing = clock(before.time + HOUR) if step > HOUR else clock(row.time)
            faults.append(
                f"{where}: {clock(row.time)} follows {clock(before.time)}; hourly readings are wanted without a gap: {what} {missing} "
                "(if the clocks were set forward, write the record in one clock)"
            )
        elif step == HOUR and abs(celsius(row.air) - celsius(before.air)) > JUMP:
            faults.append(
                f"{where}, column air: {celsius(row.air):.1f} °C follows {celsius(before.air):.1f} °C an hour before; is one of them in °F?"
            )


def _check_history(rows: list[HistoryRow], faults: list[str]) -> None:
    steps = sorted((b.time - a.time).total_seconds() / 3600 for a, b in pairwise(rows))
    usual = steps[len(steps) // 2] if steps else 1.0
    for number, (before, row) in enumerate(pairwise(rows), 3):
        where, step = f"history.csv, row {number}", (row.time - before.time).total_seconds() / 3600
        if step <= 0:
            faults.append(
                f"{where}: {clock(row.time)} does not come after {clock(before.time)}; a reading appears twice or out of order"
            )
        elif step > 1.5 * usual and step < 24:
            faults.append(
                f"{where}: a gap of {step:g} h between {clock(before.time)} and {clock(row.time)}, readings are {usual:g} h apart elsewhere; "
                "fill in the missing readings from the logger"
            )
        elif step < 24 and abs(celsius(row.temperature) - celsius(before.temperature)) > JUMP * max(step, 1):
            faults.append(
                f"{where}, column temperature: {celsius(row.temperature):.1f} °C follows {celsius(before.temperature):.1f} °C; is one of "
                "them in °F?"
            )


def not_recorded(weather: Sequence[Hour], row: PlacementRow) -> str | None:
    """Return why the record of the weather does not reach a placing, in words; None where it does."""
    air = block_of(weather, row.start)
    if not air:
        return f"no weather record for placing {row.placement}"
    if air[-1].time < row.opening:
        return (
            f"no weather record for placing {row.placement} up to its opening: it ends {clock(air[-1].time)}, before "
            f"{clock(row.opening)}"
        )
    return None


def _check_placement(where: str, row: PlacementRow, history: list[HistoryRow], faults: list[str]) -> None:
    if row.opening - row.end > datetime.timedelta(days=14):
        faults.append(f"{where}: opening is more than 14 days after the end of placing; is a date wrong?")
    measured = history_of(history, row)
    if measured:
        late = measured[0].time - row.end
        if late > HOUR:
            faults.append(
                f"history.csv: begins {clock(measured[0].time)}, more than an hour after the end of placing {row.placement} "
                f"({clock(row.end)})"
            )
        if measured[-1].time < row.opening:
            faults.append(
                f"history.csv: ends {clock(measured[-1].time)}, before the opening of {row.placement} that is asked about "
                f"({clock(row.opening)}); read the logger again"
            )


def _check_concretes(inputs: Inputs, faults: list[str]) -> None:
    """Check that every row of the tables names its concrete, and that it is one of the job; a job with one need not name it."""
    known = list(inputs.mix.concretes)
    tables_of: dict[str, Sequence[CylinderRow | CubeRow]] = {"cylinders": inputs.cylinders, "cubes": inputs.cubes}
    for table, rows in tables_of.items():
        for number, row in enumerate(rows, 2):
            where = f"{table}.csv, row {number}, column concrete"
            if not row.concrete and len(known) > 1:
                faults.append(f"{where}: empty; the job has concretes {', '.join(known)}: say which was tested")
                break
            if row.concrete and row.concrete not in known:
                faults.append(
                    f"{where}: there is no concrete “{row.concrete}”; the concretes of the job are {', '.join(known)}"
                )


def _check_cylinders(rows: list[CylinderRow], table: list[CylinderRow], faults: list[str]) -> None:
    tests = sum(len(row.strengths.magnitude) for row in rows)
    if rows and tests < 5:
        of = f" of {rows[0].concrete}" if rows[0].concrete else ""
        faults.append(f"cylinders.csv: {tests} strengths{of}, wanted at least five, at three ages or more")
    baths: dict[float, CylinderRow] = {}
    for row in rows:
        number = 2 + next(place for place, one in enumerate(table) if one is row)
        before = baths.get(celsius(row.temperature))
        if before is not None:
            if row.age <= before.age:
                faults.append(
                    f"cylinders.csv, row {number}: age {row.age:~P} does not come after {before.age:~P}; list ages as they rise"
                )
            elif row.strengths.mean() <= before.strengths.mean():
                faults.append(
                    f"cylinders.csv, row {number}: the mean {row.strengths.mean():.3g~P} at {row.age:~P} is not above "
                    f"{before.strengths.mean():.3g~P} at {before.age:~P}; strength rises with age, check the tests"
                )
        baths[celsius(row.temperature)] = row
