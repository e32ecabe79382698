"""Sheet of curing and opening: its tables."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from itertools import pairwise
from typing import Any

import numpy as np

from deckcalc.core import units
from deckcalc.core.check import Check
from deckcalc.core.units import registry
from deckcalc.curing.design import Placing
from deckcalc.curing.design import evaporation as course
from deckcalc.curing.formulas import heat, opening
from deckcalc.curing.inputs.rows import celsius, clock
from deckcalc.job import Job
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, by_hand

ABSENT = "This job has no section [curing]: nothing is said here of placing, curing and opening.\n"


def q(value: Any, unit: str) -> units.Quantity:
    """Return a quantity."""
    return registry().Quantity(value, unit)


def evaporation(job: Job, rate: units.Quantity) -> str:
    """Return a rate of evaporation as printed."""
    if rate.magnitude <= 0:
        return "none, dew"
    return job.show(rate, units.Evaporation, units.kind_of(units.Evaporation).decimals(job.system))


def where_present(function: Callable[[Job], Text]) -> Callable[[Job], Text]:
    """Let a part of the sheet say that the job has no such section."""

    @wraps(function)
    def part(job: Job) -> Text:
        return function(job) if job.curing.choice else Text("")

    return part


def placings(job: Job) -> Text:
    """What is placed, when, and how warm it is."""
    if not job.curing.choice:
        return Text(ABSENT)
    rows = []
    for one in job.curing.placings:
        thick = job.show(q(one.thickness * 1e3, "mm"), units.Length)
        rows.append([
            one.row.placement, ", ".join(item.removeprefix("patch ") for item in one.items), thick, clock(one.row.start),
            clock(one.row.end), clock(one.row.opening), job.show(one.concrete, units.Temperature, 1),
            job.show(one.row.slab_temperature, units.Temperature, 1),
            f"measured, {len(one.history)} readings" if one.measured else "heat model",
        ])  # fmt: skip
    heads = [
        "placing",
        "patches",
        "thickness",
        "start",
        "end",
        "opening asked for",
        "concrete",
        "old concrete",
        "temperature history",
    ]
    return Text(pipe_table(heads, rows, "lllllllll"))


@where_present
def drying(job: Job) -> Text:
    """Evaporation through the placing window, hour by hour."""
    rows, limit = [], job.limit("evaporation")
    for one in job.curing.placings:
        rates = course.window_rates(job, job.curing, one)
        for hour, rate in zip(course.window(one), rates, strict=True):
            verdict = Check("", "", rate, limit).verdict
            rows.append([
                f"{one.row.placement}, {clock(hour.time)}", job.show(hour.air, units.Temperature, 1), job.show(hour.humidity, units.Share, 0),
                job.show(hour.wind, units.WindSpeed, 1), evaporation(job, rate),
                f"{evaporation(job, 0.6 * rate).split()[0]} to {evaporation(job, 1.4 * rate)}", verdict,
            ])  # fmt: skip
    heads = ["placing, hour", "air", "humidity", "wind", "evaporation", "40 % either way", "against the limit"]
    lead = f"Limit: {evaporation(job, limit.value)}; equation of {job.curing.choice.evaporation}, {job.system} form."  # type: ignore[union-attr]
    return block([lead, pipe_table(heads, rows, "lrrrrrl")])


@where_present
def measures(job: Job) -> Text:
    """Each measure at the worst hour of each window."""
    rows, limit = [], job.limit("evaporation")
    for one in job.curing.placings:
        rates = course.window_rates(job, job.curing, one)
        worst = course.window(one)[int(np.argmax(rates.magnitude))]
        rows.append([f"{one.row.placement}, {worst.time:%H:%M}", "none", "as planned", evaporation(job, rates.max()),
                     Check("", "", rates.max(), limit).verdict])  # fmt: skip
        for name, change, rate in course.measures(job, job.curing, one, worst):
            shown = "" if rate is None else evaporation(job, rate)
            rows.append(["", name, change, shown, Check("", "", rate, limit).verdict])
    return Text(
        pipe_table(["placing, hour", "measure", "what it changes", "evaporation", "against the limit"], rows, "lllrl")
    )


@where_present
def curves(job: Job) -> Text:
    """The curves fitted to the cylinders, side by side."""
    subject = job.curing
    if not subject.fits:
        return Text("No cylinders: strength is a first estimate by type of cement, with a stated spread.\n")
    stress = lambda value: job.show(q(value, "MPa"), units.Stress)  # noqa: E731
    rows = []
    for name, fit in subject.fits.items():
        a, b, *rest = fit.values
        if name == "hyperbolic":
            said = f"S_u {stress(a)}, k {b:.5f} h⁻¹, t_0 {rest[0]:.2f} h"
        elif name == "exponential":
            said = f"S_u {stress(a)}, τ {b:.2f} h, a {rest[0]:.3f}"
        else:
            said = f"a {stress(a)}, b {stress(b)} for each tenfold age"
        chosen = "used" if fit is subject.fit else ""
        rows.append([name, plain_symbols(said), stress(fit.error), f"{fit.r2:.4f}", str(fit.free), chosen])
    heads = ["curve", "constants", "standard error", "R²", "degrees of freedom", ""]
    reference = job.show(subject.choice.reference, units.Temperature) if subject.choice else ""
    ages = f"Equivalent ages of {len(subject.tests)} cylinders: {subject.fit.first:.1f} to {subject.fit.last:.1f} h at {reference}"
    return block(
        [pipe_table(heads, rows, "llrrrl"), f"{ages}. Least squares; a curve is not to be read outside these ages."]
    )


def plain_symbols(text: str) -> str:
    """Return text with underscores that print."""
    return text.replace("_", "\\_")


@where_present
def cubes(job: Job) -> Text:
    """Datum and activation energy from mortar cubes, step by step."""
    made, choice = job.curing.cubes, job.curing.choice
    if made is None or choice is None:
        return Text("No mortar cubes were tested: datum and activation energy are those that the job states.\n")
    rows = [
        [job.show(q(T, "degC"), units.Temperature, 1), job.show(q(S, "Pa"), units.Stress), f"{k:.5f}", f"{np.log(k):.4f}",
         f"{1 / (T + 273.15):.7f}"]
        for T, k, S in zip(made.temperatures, made.constants, made.limits, strict=True)
    ]  # fmt: skip
    heads = ["bath", "limiting strength", "rate constant k [h⁻¹]", "ln k", "1/T [1/K]"]
    found = (
        f"(1) A hyperbola through the cubes of each bath gives limiting strength and rate constant. (2) The straight line of k over temperature "
        f"meets zero at the datum: {job.show(made.datum, units.Temperature, 1)}; the job uses {job.show(choice.datum, units.Temperature, 1)}. "
        f"(3) The slope of ln k over 1/T times 8.314 J/(mol K) is the activation energy: {made.energy.m_as('kJ/mol'):.1f} kJ/mol "
        f"(R² {made.fit:.4f}); the job uses {choice.activation_energy.m_as('kJ/mol'):g} kJ/mol."
    )
    return block([pipe_table(heads, rows), found, "Procedure: [ASTM C1074], annex (from memory, to be verified)."])


def rows_of_night(one: Placing) -> list[float]:
    """Return the hours of the opening table: every six hours, then each hour round the opening."""
    at, last = one.hour(one.row.opening), float(one.governing.hours[-1])
    first = np.ceil(one.hour(one.row.start.replace(minute=0)) / 6) * 6
    base = one.hour(one.row.end.replace(minute=0)) + (1 if one.row.end.minute else 0)
    coarse = [base + 6 * i for i in range(1, 200) if base + 6 * i < at - 6 - 1e-9]
    fine = [at + i for i in range(-6, 25) if i <= 3 or i % 3 == 0]
    return [hour for hour in [*coarse, *fine] if max(first, 0) <= hour <= last + 1e-9]


@where_present
def opening_table(job: Job) -> Text:
    """Strength by the hour with its band, and what to do."""
    parts = []
    required = float(job.limit("opening_strength").value.m_as("MPa"))
    for one in job.curing.placings:
        rows, band = [], one.governing
        for hour in rows_of_night(one):
            age, low, mid, high = band.at(hour)
            when = clock(one.moment(hour))
            if abs(hour - one.hour(one.row.opening)) < 1e-9:
                when = f"**{when}**, asked for"
            spread = f"{strength(job, low)} to {strength(job, high)}"
            outside = age < job.curing.fit.first * (1 - 1e-9) or age > job.curing.fit.last * (1 + 1e-9)
            word = "wait: outside the ages of the cylinders" if outside else opening.decide(low, mid, required)
            rows.append([when, f"{age:.1f} h", strength(job, mid), spread, strength(job, required), word])
        item = "the measured history" if one.measured else f"{one.items[one.slowest]}, the slowest, by the heat model"
        heads = ["time", "equivalent age", "expected", "band", "required", "decision"]
        parts += [f"### {one.heading}: {item}", pipe_table(heads, rows, "lrrrrl")]
    return block(parts)


def strength(job: Job, value: float) -> str:
    """Return a strength in MPa as the job prints it."""
    return job.show(q(value, "MPa"), units.Stress)


@where_present
def each_item(job: Job) -> Text:
    """Temperatures and hours of every item of every placing, by the heat model."""
    required = float(job.limit("opening_strength").value.m_as("MPa"))
    rows = []
    for one in job.curing.placings:
        for i, item in enumerate(one.items):
            band, ran = one.bands[i], one.temperatures
            times = [opening.reached(band.hours, edge, required) for edge in (band.mid, band.low)]
            when = [clock(one.moment(t)) if t is not None else "not in the record" for t in times]
            rows.append([
                f"{one.row.placement}, {item}", job.show(q(one.thickness[i] * 1e3, "mm"), units.Length),
                job.show(q(float(ran.hottest[:, i].max()), "degC"), units.Temperature, 1),
                job.show(q(float(ran.coldest[:, i].min()), "degC"), units.Temperature, 1),
                f"{band.at(one.hour(one.row.opening))[0]:.1f} h", *when,
            ])  # fmt: skip
    heads = [
        "item",
        "thickness",
        "hottest",
        "coldest",
        "equivalent age at opening",
        "required strength expected",
        "at the lower edge",
    ]
    worst = max(one.temperatures.imbalance for one in job.curing.placings)
    said = (
        f"Heat balance of the model: stored, given off and lost agree to {worst:.0e} of the heat moved. Cells of 1/{heat.CELLS} of the "
        "thickness, steps of 15 min, implicit in time."
    )
    return block([pipe_table(heads, rows, "lrrrrll"), said])


@where_present
def age_by_intervals(job: Job) -> Text:
    """Equivalent age of the governing history summed in intervals that a checker can follow."""
    subject = job.curing
    assert subject.rate
    parts = []
    for one in subject.placings:
        at = one.hour(one.row.opening)
        grid = np.append(np.arange(0.0, at, max(1.0, np.ceil(at / 12))), at)
        if one.measured:
            hours = np.array([one.hour(reading.time) for reading in one.history])
            values = np.array([celsius(reading.temperature) for reading in one.history])
            source = f"measured, {len(hours)} readings"
        else:
            hours, values = one.hours, one.trace
            source = f"slowest point of {one.items[one.slowest]}, heat model"
        rows, total = [], 0.0
        for a, b in pairwise(grid):
            inside = np.unique(np.concatenate([[a, b], hours[(hours > a) & (hours < b)]]))
            T = np.interp(inside, hours, values)
            mean = float(np.trapezoid(T, inside) / (b - a))
            gained = float(np.trapezoid(subject.rate(T), inside))
            total += gained
            rows.append([f"{clock(one.moment(a))} to {one.moment(b):%m-%d %H:%M}", f"{b - a:.2f} h", job.show(q(mean, "degC"), units.Temperature, 1),
                         f"{gained / (b - a):.4f}", f"{gained:.2f} h", f"{total:.2f} h"])  # fmt: skip
        heads = ["interval", "length", "mean temperature", "mean rate", "equivalent age gained", "sum"]
        used = one.governing.at(at)[0]
        said = (
            f"{one.heading}: {source}. The sum of the table is {total:.2f} h; strength is read at {used:.2f} h. "
            "The rate of the mean temperature comes within about 1 % of the mean rate."
        )
        parts += [said, pipe_table(heads, rows)]
    return block(parts)


@where_present
def cylinder_schedule(job: Job) -> Text:
    """When to break the cylinders that are cured with the patch."""
    required = float(job.limit("opening_strength").value.m_as("MPa"))
    rows = []
    for one in job.curing.placings:
        if not one.row.names:
            continue
        band = one.governing
        times = {
            "first, to see whether the patch follows the curve": opening.reached(band.hours, band.mid, 0.7 * required),
            "at the expected hour": opening.reached(band.hours, band.mid, required),
            "before the lane opens": opening.reached(band.hours, band.low, required),
        }
        for what, time in times.items():
            if time is None:
                rows.append([one.row.placement, what, "not within the record", "", ""])
                continue
            _, low, mid, high = band.at(time)
            rows.append([one.row.placement, what, clock(one.moment(time)), f"{strength(job, mid)} ({strength(job, low)} to {strength(job, high)})",
                         "2 or more"])  # fmt: skip
    text = "Cylinders lie beside the patch under the same cover. A set below its band: wait, and find out why before the next."
    return block([pipe_table(["placing", "set", "break at", "expected", "cylinders"], rows, "lllll"), text])


@where_present
def written_out(job: Job) -> Text:
    """Hand calculations; of the cylinders the first alone, the others follow by the same lines."""
    items = [item for item in job.curing.items if not item.startswith("cylinders")]
    first = [item for item in job.curing.items if item.startswith("cylinders")][:1]
    lead = [
        "The equivalent age of the first cylinders is written out; the others follow by the same lines.",
        by_hand(job, job.curing, *first),
    ]
    return block([*(lead if first else []), by_hand(job, job.curing, *items)])
