"""The closure: hours, crews and plant of job.toml; rates.csv, and prices.csv, stock.csv and equipment.csv where there are any."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field

from deckcalc import closure
from deckcalc.base.context import Context
from deckcalc.base.fields import Day, Id, InRange, OptionalDay, Remark, Strict, Text
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.base.work import WorkPlan
from deckcalc.closure.formulas.critical_path import Step, sorted_steps
from deckcalc.core import units
from deckcalc.core.dates import read_time
from deckcalc.core.noise import GREATEST_LEVEL, LEAST_LEVEL, NoiseRule
from deckcalc.core.units import (  # fmt: skip
    Area,
    Count,
    ExposureHours,
    FuelRate,
    InputError,
    Liquid,
    Mass,
    MassPerArea,
    Minutes,
    Quantity,
    RoadLength,
    Share,
    SoundLevel,
    Temperature,
    TimePerArea,
    TimePerLength,
    TimePerVolume,
)
from deckcalc.curing.inputs import Curing
from deckcalc.formwork.inputs import TakenOff
from deckcalc.patch.design import Marked

#: What a rate counts, and the kind in which its times are written.
RATE_KINDS: dict[str, Any] = {
    "closure": Minutes, "patch": Minutes, "hole": Minutes, "m of cut": TimePerLength, "area": TimePerArea,
    "volume out": TimePerVolume, "mixer": Share, "wait": Minutes,
}  # fmt: skip
Per = Literal["closure", "patch", "hole", "m of cut", "area", "volume out", "mixer", "wait"]
#: In the column uses of equipment.csv: as long as the lane is closed.
THROUGHOUT = "closure"
Positive = Annotated[float, Field(gt=0, le=1e9)]


class Noise(Strict):
    """Noise at the ear of one worker in the shift."""

    level: Annotated[Quantity, InRange(SoundLevel, LEAST_LEVEL, GREATEST_LEVEL)] = Field(description="dBA at the ear")
    step: Id = Field(description="step of rates.csv that makes it")


class Alternative(Strict):
    """One way to do the patches of the plan; the first is the plan itself."""

    name: Id = Field(description="as in the column plan of prices.csv")
    what: Text = Field(description="what it is, in words")
    closures: Annotated[int | None, Field(ge=1, le=1000)] = Field(
        None, description="number of closures; left out: those of the plan"
    )
    hours: Annotated[Quantity | None, InRange(ExposureHours, "0.5 h", "10000 h")] = Field(
        None, description="hours of one closure; left out: those of the longest of the plan"
    )
    delay_price: Annotated[float | None, Field(ge=0, le=1e7)] = Field(
        None, description="delay of road users for an hour of it; left out: that of the closure"
    )
    area: Annotated[Quantity | None, InRange(Area, "0.01 m²", "100000 m²")] = Field(
        None, description="area of deck that it covers, if it is not the patches alone"
    )


class Closure(Strict):
    """Who works in a closure with what, and the nights for which a plan is proposed."""

    first_night: OptionalDay = Field(
        None, description="first date on which the lane may be taken, for a plan to be proposed"
    )
    closes: Annotated[datetime.time, BeforeValidator(read_time)] = Field(
        "20:00", validate_default=True, description="hour at which the lane may be taken, for a plan to be proposed"
    )
    opens: Annotated[datetime.time, BeforeValidator(read_time)] = Field(
        "06:00", validate_default=True, description="hour at which it must be open again"
    )
    slab_temperature: Annotated[Quantity | None, InRange(Temperature, "-20 °C", "60 °C")] = Field(
        None, description="temperature of the existing concrete at placing, for a plan to be proposed"
    )
    mixer_cycle: Annotated[Quantity, InRange.of(closure.placing_time, "t_c")] = Field(
        description="of one batch: charge, mix, discharge"
    )
    placing_rate: Annotated[Quantity, InRange.of(closure.placing_time, "r")] = Field(
        description="at which the crew places"
    )
    workable: Annotated[Quantity, InRange(Minutes, "3 min", "180 min")] = Field(
        description="longest gap between two batches without a cold joint"
    )
    crews: dict[str, Annotated[int, Field(ge=1, le=20)]] = Field(
        description="how many of each crew and plant there are"
    )
    people: dict[str, Annotated[int, Field(ge=1, le=30)]] = Field(description="people in each crew")
    samples: Annotated[int, Field(ge=200, le=200000)] = Field(20000, description="samples of the timetable")
    seed: int = Field(1, description="of the samples")
    common: Annotated[Quantity, InRange(Share, "0 %", "100 %")] = Field(
        units.registry().Quantity(50, "%"),
        description="what the steps of a night have in common, as a correlation; engineer's estimate: none is published",
    )
    noise_rule: NoiseRule = Field(description="rule for noise")
    noise: list[Noise] = Field(default_factory=list, description="noise of the loud steps, one entry for each")
    currency: Remark = Field("", description="of prices.csv")
    delay_price: Annotated[float, Field(ge=0, le=1e7)] = Field(
        0, description="delay of road users, for an hour of closure"
    )
    alternatives: list[Alternative] = Field(
        default_factory=list, description="ways to do the job; the first is planned"
    )
    at_work: Annotated[Quantity, InRange.of(closure.labour, "k_a")] = Field(
        units.registry().Quantity(0.75, ""), description="share of the shift that people spend on the work"
    )
    trucks: Annotated[int, Field(ge=1, le=50)] = Field(1, description="trucks that carry materials to the bridge")
    payload: Annotated[Quantity | None, InRange.of(closure.truck_loads, "m_1")] = Field(
        None, description="payload of one truck"
    )
    spare: Annotated[Quantity, InRange(Share, "0 %", "50 %")] = Field(
        description="of materials, beyond their own allowances"
    )
    source: Text = Field(description="where hours, crews and wait come from")


def read_rate(value: object) -> str:
    """Keep a time as written; it is read by what the rate counts."""
    if not str(value).strip():
        raise InputError("empty, wanted a time such as “12 min” or “3 min/m”; every step needs a rate")
    return str(value)


Rate = Annotated[str, BeforeValidator(read_rate)]


class RateRow(Strict):
    """rates.csv: one step of the work a row; what it takes off the form of a full-depth hole, if it does.

    `fallback` says what is done if the step cannot begin in time; `with_plates` what is done in its place at a hole that may be
    closed with a plate.
    """

    step: Id = Field(description="name of the step")
    work: Text = Field(description="what is done, in words")
    per: Per = Field(description="what its time counts")
    after: str = Field(description="steps that it follows, separated by semicolons; empty for the first")
    uses: str = Field(description="crews and plant of closure.crews that it takes, separated by semicolons")
    least: Rate = Field(description="minimum time, or share of the mixer's time")
    likely: Rate = Field(description="likely time")
    most: Rate = Field(description="maximum time")
    fallback: Remark = Field(description="what is done if the step cannot begin in time")
    date: Day = Field(description="date of the rate")
    source: Text = Field(description="where the rate comes from")
    takes_off: Literal["", TakenOff] = Field("", description="what it takes off the form of a full-depth hole")
    with_plates: Remark = Field(
        "", description="what is done in place of the fallback at a hole that may be closed with a plate"
    )

    def names(self, column: str) -> tuple[str, ...]:
        """Return the names of a cell that separates them by semicolons."""
        return tuple(part.strip() for part in getattr(self, column).split(";") if part.strip())

    def time(self, column: str) -> Quantity:
        """Return a rate as a quantity."""
        return units.read(getattr(self, column), RATE_KINDS[self.per])


#: What a price is for, and the unit in which that is counted; none where it is a number or a time.
PRICED: dict[str, tuple[str, str]] = {
    "closure": ("closures", ""), "hour": ("hours", ""), "patch": ("patches", ""), "night in use": ("", ""),
    "m of cut": ("m of cut", "m"), "ft of cut": ("m of cut", "ft"), "m² of patch": ("area", "m²"),
    "ft² of patch": ("area", "ft²"), "m³ of concrete": ("order", "m³"), "yd³ of concrete": ("order", "yd³"),
    "m² of deck": ("deck", "m²"), "ft² of deck": ("deck", "ft²"),
}  # fmt: skip


class PriceRow(Strict):
    """prices.csv: one price a row; without a date or a currency it is no price."""

    price: Id = Field(description="name of the price")
    work: Text = Field(description="what it pays for, in words")
    per: Literal[
        "closure", "hour", "patch", "night in use", "m of cut", "ft of cut", "m² of patch", "ft² of patch", "m³ of concrete",
        "yd³ of concrete", "m² of deck", "ft² of deck",
    ] = Field(description="what is counted")  # fmt: skip
    plan: Text = Field(description="alternatives in which it counts, separated by semicolons, or all")
    least: Positive = Field(description="minimum price")
    likely: Positive = Field(description="likely price")
    most: Positive = Field(description="maximum price")
    currency: Text = Field(description="currency, as closure.currency has it")
    date: Day = Field(description="date of the price")
    source: Text = Field(description="where the price comes from")

    def counts(self, plan: str) -> bool:
        """Whether it counts in an alternative."""
        return self.plan == "all" or plan in [part.strip() for part in self.plan.split(";")]


AMOUNTS: tuple[Any, ...] = (Mass, Liquid, RoadLength, Area, Count)


def read_amount(value: object) -> Quantity:
    """Read an amount of some material: a mass, volume of liquid, length, area or number."""
    for kind in AMOUNTS:
        try:
            found = units.read(value, kind)
        except InputError:
            continue
        if found.magnitude > 0:
            return found
    raise InputError(f"found “{value}”, wanted an amount such as “20 L”, “25 kg”, “60 m”, “45 m^2” or “100”")


class StockRow(Strict):
    """stock.csv: in what a material of the load list comes; or one that is counted by the area of the patches.

    What does not keep once it is opened is ordered in the whole containers of every night.
    """

    material: Text = Field(description="material of the load list, or one that is counted by the area of the patches")
    container: Text = Field(description="in what it comes")
    contents: Annotated[Quantity, BeforeValidator(read_amount)] = Field(
        description="what one container holds: mass, volume of liquid, length, area or number"
    )
    per: Literal["load list", "area of patch"] = Field(
        description="whether the load list gives the amount, or the area of the patches"
    )
    rate: str = Field(description="mass for an area of patch; empty for what the load list gives")
    date: Day = Field(description="date of the entry")
    source: Text = Field(description="where it comes from")
    keeps: Literal["yes", "no"] = Field("yes", description="whether an opened container keeps until the next night")

    def by_area(self) -> Quantity:
        """Return the rate as a quantity."""
        return units.read(self.rate, MassPerArea)


class ToolRow(Strict):
    """equipment.csv: one tool or machine a row, with the limit that it must keep and the fuel that it burns."""

    tool: Id = Field(description="name of the tool or machine")
    work: Text = Field(description="what it is, in words")
    number: Annotated[int, Field(ge=1, le=1000)] = Field(description="how many there are")
    value: str = Field(description="what is held against the limit, with its unit; empty without a limit")
    limit: str = Field(description="key of a limit, as “deckcalc list limits” names it; empty for none")
    uses: str = Field(
        description="crew or plant of closure.crews by whose hours it runs, or closure for as long as the lane is closed"
    )
    fuel: Remark = Field(description="fuel that it burns; empty for none")
    burns: str = Field(description="fuel burnt in an hour, with its unit; empty for none")
    date: Day = Field(description="date of the entry")
    source: Text = Field(description="where it comes from")


SECTIONS = {"closure": Closure}
ROWS: dict[str, type[Strict]] = {
    "rates": RateRow, "prices": PriceRow, "stock": StockRow, "equipment": ToolRow,
}  # fmt: skip
NEEDS = Needs(
    "closure", ("closure",), (("patch",), ("mix",), ("rates",)), "timetable, loads and probability of opening on time"
)
START = Start(rows={"rates": "*"}, own=("closure.first_night",))


@dataclass(frozen=True)
class Inputs:
    """What a closure is planned from: its own section and tables, and whether and how concrete is cured."""

    closure: Closure | None
    rates: list[RateRow]
    prices: list[PriceRow]
    stock: list[StockRow]
    equipment: list[ToolRow]
    curing: Curing | None


def check(context: Context[Inputs], marked: Marked, faults: list[str]) -> None:
    """Check steps, crews, patches and hours against one another."""
    inputs, want = context.inputs, context.inputs.closure
    if want is None:
        return
    check_rates(want, inputs.rates, faults)
    check_prices(want, inputs.prices, faults)
    check_planned(want, context.work, faults)
    check_stock(inputs.stock, faults)
    check_equipment(context, want, faults)


def check_rates(want: Closure, rates: list[RateRow], faults: list[str]) -> None:
    """Check the rates, their order, and the crews and steps that are named elsewhere."""
    steps = {row.step for row in rates}
    for row in rates:
        check_rate(row, faults)
        if re.search(r"\bplates?\b", row.fallback, re.IGNORECASE):
            faults.append(
                f"rates.csv, step {row.step}, column fallback: found “{row.fallback}”; what needs a plate over the hole stands in "
                "column with plates, since it is printed only where sheet 05 finds that the hole may be closed"
            )
        if row.with_plates and not row.fallback:
            faults.append(
                f"rates.csv, step {row.step}, column fallback: empty; say what is done at a hole that no plate may close"
            )
        for crew in row.names("uses"):
            if crew not in want.crews:
                faults.append(f"rates.csv, step {row.step}, column uses: job.toml has no closure.crews.{crew}")
    check_off(rates, faults)
    for crew in want.people:
        if crew not in want.crews:
            faults.append(f"job.toml: closure.people.{crew}: there is no such crew in closure.crews")
    for one in want.noise:
        if one.step not in steps:
            faults.append(f"job.toml: closure.noise: rates.csv has no step “{one.step}”")
    try:
        sorted_steps([Step(row.step, row.names("after"), (), 0, 0, 0) for row in rates])
    except InputError as error:
        faults.append(f"rates.csv, column after: {error}")


def check_off(rates: list[RateRow], faults: list[str]) -> None:
    """Check that what takes a form off is counted by the hole and follows the wait for strength."""
    known = {row.step: row for row in rates}

    def waits(row: RateRow, seen: set[str]) -> bool:
        if row.per == "wait":
            return True
        before = [known[name] for name in row.names("after") if name in known and name not in seen]
        return any(waits(one, seen | {one.step}) for one in before)

    for row in rates:
        if row.takes_off and row.per != "hole":
            faults.append(
                f"rates.csv, step {row.step}, column per: found “{row.per}”, wanted “hole”, as it takes a form off"
            )
        for other in rates if row.takes_off else ():
            if other.takes_off in before_it(row.takes_off) and other.step not in followed(row, known):
                faults.append(
                    f"rates.csv, step {row.step}, column after: wanted {other.step}, or a step after it; of a suspended form "
                    f"{', then '.join(get_args(TakenOff))} come off in this order"
                )
        if row.takes_off and not waits(row, {row.step}):
            faults.append(
                f"rates.csv, step {row.step}, column after: wanted the wait for strength, or a step after it; the concrete carries "
                "nothing before"
            )


def before_it(what: str) -> tuple[str, ...]:
    """Return what comes off a form before a part of it."""
    order: tuple[str, ...] = get_args(TakenOff)
    return order[: order.index(what)]


def followed(row: RateRow, known: Mapping[str, RateRow]) -> set[str]:
    """Return the steps that a step follows, directly or through others."""
    found, left = set[str](), list(row.names("after"))
    while left:
        name = left.pop()
        if name in known and name not in found:
            found.add(name)
            left += known[name].names("after")
    return found


def check_prices(want: Closure, rows: list[PriceRow], faults: list[str]) -> None:
    """Check the order of each price, its currency and the alternatives in which it counts."""
    plans = [one.name for one in want.alternatives]
    if len(set(plans)) < len(plans):
        faults.append(f"job.toml: closure.alternatives: a name appears twice; found {', '.join(plans)}")
    if plans and not rows:
        faults.append("prices.csv: missing; closure.alternatives wants prices, each with its date and currency")
    if rows and not want.currency:
        faults.append("job.toml: closure.currency: missing; prices.csv wants a currency")
    for row in rows:
        where = f"prices.csv, price {row.price}"
        if not row.least <= row.likely <= row.most:
            faults.append(f"{where}: wanted “least” ≤ “likely” ≤ “most”")
        if want.currency and row.currency != want.currency:
            faults.append(f"{where}, column currency: “{row.currency}”; closure.currency is “{want.currency}”")
        for part in row.plan.split(";"):
            if part.strip() not in [*plans, "all"]:
                known = ", ".join(["all", *plans])
                faults.append(
                    f"{where}, column plan: found “{part.strip()}”, wanted {known}, or several with semicolons"
                )
        if row.per == "night in use" and row.price not in want.crews:
            faults.append(f"{where}: the price of a night in use is named like a crew or plant of closure.crews")


def check_planned(want: Closure, work: WorkPlan, faults: list[str]) -> None:
    """Check that the first way, which is the plan itself, does not say other closures or hours than the plan that is adopted."""
    if not (want.alternatives and work.adopted):
        return
    first, where = want.alternatives[0], "job.toml: closure.alternatives.0"
    leave = "the first way is the plan of the work: leave the entry out"
    longest = max(work.minutes(one.closing, one.opening) for one in work) / 60
    if first.closures is not None and first.closures != len(work.closures):
        faults.append(f"{where}.closures: {first.closures}, and placements.csv has {len(work.closures)}; {leave}")
    if first.hours is not None and abs(float(first.hours.m_as("h")) - longest) > 1e-6:
        faults.append(
            f"{where}.hours: {first.hours:~P}, and the longest closure of placements.csv has {longest:g} h; {leave}"
        )


def check_stock(rows: list[StockRow], faults: list[str]) -> None:
    """Check the rates of what is counted by the area of patches."""
    for row in rows:
        where = f"stock.csv, material {row.material}"
        if row.per == "load list":
            if row.rate.strip():
                faults.append(
                    f"{where}, column rate: found “{row.rate}”, wanted nothing; the load list gives the amount"
                )
            continue
        try:
            row.by_area()
        except InputError as error:
            faults.append(f"{where}, column rate: {error}")
        if not row.contents.is_compatible_with("kg"):
            faults.append(f"{where}, column contents: found “{row.contents:~P}”, wanted a mass, as its rate is one")


def check_equipment(context: Context[Inputs], want: Closure, faults: list[str]) -> None:
    """Check the limits, crews and fuel that the tools name."""
    limits = context.limits
    for row in context.inputs.equipment:
        where = f"equipment.csv, tool {row.tool}"
        if row.limit:
            if row.limit not in limits:
                faults.append(
                    f"{where}, column limit: there is no limit “{row.limit}”; “deckcalc list limits” names them"
                )
            else:
                try:
                    units.read(row.value, limits[row.limit].kind)
                except InputError as error:
                    faults.append(f"{where}, column value: {error}")
        if row.uses and row.uses not in [THROUGHOUT, *want.crews]:
            faults.append(
                f"{where}, column uses: job.toml has no closure.crews.{row.uses}; write “{THROUGHOUT}” for as long as it lasts"
            )
        if bool(row.fuel) != bool(row.burns):
            faults.append(f"{where}: columns fuel and burns go together; found “{row.fuel}” and “{row.burns}”")
        elif row.burns:
            if not row.uses:
                faults.append(f"{where}, column uses: empty; fuel is calculated from the hours of a crew or plant")
            try:
                units.read(row.burns, FuelRate)
            except InputError as error:
                faults.append(f"{where}, column burns: {error}")


def check_rate(row: RateRow, faults: list[str]) -> None:
    """Check the three rates of a row and their order."""
    found = []
    for column in ("least", "likely", "most"):
        try:
            found.append(float(row.time(column).to_base_units().magnitude))
        except InputError as error:
            faults.append(f"rates.csv, step {row.step}, column {column}: {error}")
    if len(found) == 3 and not 0 <= found[0] <= found[1] <= found[2]:
        faults.append(f"rates.csv, step {row.step}: wanted “least” ≤ “likely” ≤ “most”, none negative")
