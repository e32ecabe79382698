"""Sheet of curing and opening: what stands in the appendix."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import wraps
from typing import Any

import numpy as np

from deckcalc.core import units
from deckcalc.core.digits import power_of_ten
from deckcalc.core.units import quantity
from deckcalc.curing.design import Placing, Placings, ages
from deckcalc.curing.design.curves import ConcreteCurve
from deckcalc.curing.design.evaporation import SPREAD
from deckcalc.curing.design.heat_model import PER_HOUR
from deckcalc.curing.design.strength import at_hour
from deckcalc.curing.formulas import heat
from deckcalc.curing.formulas.maturity import FromCubes
from deckcalc.curing.inputs.rows import clock
from deckcalc.curing.sheet import drawings
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block


def where_present(function: Callable[..., Text]) -> Callable[..., Text]:
    """Let a part of the sheet be empty where the job has no such section, or nothing is computed of any placing."""

    @wraps(function)
    def part(placings: Placings, *others: Any) -> Text:
        return function(placings, *others) if placings.inputs.curing and len(placings) else Text("")

    return part


def further(placings: Placings) -> list[Any]:
    """Return tables and drawings of the placings, each after its heading, where there is anything."""
    parts = {
        "Evaporation from the fresh surface": [drawings.drying(placings), drying(placings)],
        "Measures against evaporation, each at the worst hour": [measures(placings)],
        "Temperature of each item": [drawings.temperatures(placings), each_item(placings)],
        "Strength of the cylinders": [drawings.cylinders(placings), curves(placings)],
        "Datum and activation energy from mortar cubes": [cubes(placings)],
        "Strength by the hour": [drawings.strength(placings), opening_table(placings)],
        "Equivalent age, summed": [age_by_intervals(placings)],
        "Starts that work through the year": [drawings.calendar(placings).picture, drawings.calendar(placings).why],
    }
    found: list[Any] = []
    for heading, shown in parts.items():
        if kept := [one for one in shown if one]:
            found += [Text(f"## {heading}\n"), *kept]
    return found


def evaporation(placings: Placings, rate: units.Quantity) -> str:
    """Return a rate of evaporation as printed."""
    if rate.magnitude <= 0:
        return "none, dew"
    return placings.show(rate, units.Evaporation, units.kind_of(units.Evaporation).decimals(placings.system))


def strength(placings: Placings, value: float) -> str:
    """Return a strength in MPa as the job prints it; a dash where there is none."""
    if np.isnan(value):
        return "–"
    return placings.show(quantity(value, "MPa"), units.Stress)


@where_present
def drying(placings: Placings) -> Text:
    """Evaporation through the placing window, hour by hour."""
    rows: list[list[str]] = []
    shown = lambda rate: evaporation(placings, rate)  # noqa: E731
    for one in placings:
        for hour in one.drying.hours:
            air = hour.air
            rows.append([
                f"{one.name}, {clock(air.time)}", placings.show(air.air, units.Temperature, 1), placings.show(air.humidity, units.Share, 0),
                placings.show(air.wind, units.WindSpeed, 1), shown(hour.rate), f"{shown(hour.low).split()[0]} to {shown(hour.high)}",
                hour.verdict,
            ])  # fmt: skip
    spread = f"{100 * SPREAD:.0f} % either way"
    heads = ["placing, hour", "air", "humidity", "wind", "evaporation", spread, "verdict"]
    leads = {}
    for design in dict.fromkeys(one.design.name for one in placings):
        concrete = placings.concretes[design]
        limit = placings.evaporation_limit(concrete)
        bleeds = "bleeds little" if placings.little_bleeding(concrete) else "bleeds as usual"
        leads[design] = f"{design} {bleeds}: at most {shown(limit.value)} ({limit.source})"
    lead = f"{'; '.join(leads.values())}. Equation of {placings.choices.evaporation}, {placings.system} form."
    return block([lead, pipe_table(heads, rows, "lrrrrrl")])


@where_present
def measures(placings: Placings) -> Text:
    """Each measure at the worst hour of each window."""
    rows = []
    for one in placings:
        worst = one.drying.worst
        rows.append(
            [
                f"{one.name}, {worst.air.time:%H:%M}",
                "none",
                "as planned",
                evaporation(placings, worst.rate),
                worst.verdict,
            ]
        )
        for measure in one.drying.measures:
            left = "" if measure.rate is None else evaporation(placings, measure.rate)
            rows.append(["", measure.name, measure.change, left, measure.verdict])
    return Text(pipe_table(["placing, hour", "measure", "change", "evaporation", "verdict"], rows, "lllrl"))


@where_present
def curves(placings: Placings) -> Text:
    """The curves fitted to the cylinders, side by side."""
    parts: list[str] = []
    for one in placings.curves.values():
        parts.append(f"**Curve{one.of}**")
        if one.estimated:
            spread = placings.show(placings.choices.estimate_spread, units.Share, 0)
            parts.append(
                f"No cylinders: strength is a first estimate by {one.rests_on}, with a spread of {spread} either way. It opens no lane."
            )
        else:
            parts += curve_table(placings, one)
    return block(parts)


def curve_table(placings: Placings, one: ConcreteCurve) -> list[str]:
    """The curves of one concrete, and the ages that they hold for."""
    stress = lambda value: placings.show(quantity(value, "MPa"), units.Stress)  # noqa: E731
    rows = []
    for name, fit in one.fits.items():
        a, b, *rest = fit.values
        if name == "hyperbolic":
            said = f"S_u {stress(a)}, k {b:.5f} h⁻¹, t_0 {rest[0]:.2f} h"
        elif name == "exponential":
            said = f"S_u {stress(a)}, τ {b:.2f} h, a {rest[0]:.3f}"
        else:
            said = f"a {stress(a)}, b {stress(b)} for each tenfold age"
        chosen = "used" if fit is one.fit else ""
        rows.append([name, plain_symbols(said), stress(fit.error), f"{fit.r2:.4f}", str(fit.free), chosen])
    heads = ["curve", "constants", "standard error", "R²", "degrees of freedom", ""]
    reference = placings.show(placings.choices.reference, units.Temperature)
    ages = f"Equivalent ages of {len(one.tests)} cylinders: {one.fit.first:.1f} to {one.fit.last:.1f} h at {reference}"
    return [pipe_table(heads, rows, "llrrrl"), f"{ages}. Least squares; a curve is not to be read outside these ages."]


def plain_symbols(text: str) -> str:
    """Return text with underscores that print."""
    return text.replace("_", "\\_")


@where_present
def cubes(placings: Placings) -> Text:
    """Datum and activation energy from mortar cubes, step by step."""
    if not placings.cubes:
        return Text("")
    parts: list[str] = []
    for concrete, made in placings.cubes.items():
        parts.append(f"**Cubes of {concrete}**")
        parts += cube_table(placings, made)
    return block([*parts, "Procedure: [ASTM C1074], annex (from memory, to be verified)."])


def cube_table(placings: Placings, made: FromCubes) -> list[str]:
    """The three steps for the cubes of one concrete."""
    choices = placings.choices
    rows = [
        [placings.show(quantity(T, "degC"), units.Temperature, 1), placings.show(quantity(S, "Pa"), units.Stress), f"{k:.5f}", f"{np.log(k):.4f}",
         f"{1 / (T + 273.15):.7f}"]
        for T, k, S in zip(made.temperatures, made.constants, made.limits, strict=True)
    ]  # fmt: skip
    heads = ["bath", "limiting strength", "rate constant k [h⁻¹]", "ln k", "1/T [1/K]"]
    found = (
        f"(1) A hyperbola through the cubes of each bath gives limiting strength and rate constant. (2) The straight line of k over temperature "
        f"meets zero at the datum: {placings.show(made.datum, units.Temperature, 1)}; the job uses {placings.show(choices.datum, units.Temperature, 1)}. "
        f"(3) The slope of ln k over 1/T times 8.314 J/(mol K) is the activation energy: {made.energy.m_as('kJ/mol'):.1f} kJ/mol "
        f"(R² {made.fit:.4f}); the job uses {choices.activation_energy.m_as('kJ/mol'):g} kJ/mol."
    )
    return [pipe_table(heads, rows), found]


def hours_shown(one: Placing) -> list[float]:
    """Return the hours of the opening table: every six hours, then each hour round the opening."""
    at, last = one.opening_hour, float(one.governing.hours[-1])
    first = np.ceil(one.hour(one.row.start.replace(minute=0)) / 6) * 6
    base = one.hour(one.row.end.replace(minute=0)) + (1 if one.row.end.minute else 0)
    coarse = [base + 6 * i for i in range(1, 200) if base + 6 * i < at - 6 - 1e-9]
    fine = [at + i for i in range(-6, 25) if i <= 3 or i % 3 == 0]
    return [hour for hour in [*coarse, *fine] if max(first, 0) <= hour <= last + 1e-9]


@where_present
def opening_table(placings: Placings) -> Text:
    """Strength by the hour with its band, and what to do."""
    parts = []
    for one in placings:
        rows = []
        for hour in hours_shown(one):
            then = at_hour(placings, one, hour)
            when = clock(one.moment(hour))
            if abs(hour - one.opening_hour) < 1e-9:
                when = f"**{when}**, as planned"
            low, mid, high, required = (
                strength(placings, value) for value in (then.low, then.mid, then.high, placings.required)
            )
            rows.append([when, f"{then.age:.1f} h", mid, f"{low} to {high}", required, then.decision])
        item = "the measured history" if one.measured else f"{one.slowest_item}, the slowest, by the heat model"
        heads = ["time", "equivalent age", "expected", "band", "required", "decision"]
        parts += [f"**{one.heading}: {item}**", pipe_table(heads, rows, "lrrrrl")]
    return block(parts)


@where_present
def each_item(placings: Placings) -> Text:
    """Temperatures and hours of every item of every placing, by the heat model."""
    rows = []
    warm = lambda T: placings.show(quantity(T, "degC"), units.Temperature, 1)  # noqa: E731
    for one in placings:
        for made in ages.each_item(placings, one):
            when = [
                clock(one.moment(hour)) if hour is not None else "not in the record"
                for hour in (made.reached.expected, made.reached.sure)
            ]
            thick = placings.show(quantity(made.thickness * 1e3, "mm"), units.Length)
            rows.append(
                [f"{one.name}, {made.item}", thick, warm(made.hottest), warm(made.coldest), f"{made.age:.1f} h", *when]
            )
    heads = [
        "item",
        "thickness",
        "hottest",
        "coldest",
        "equivalent age at opening",
        "required strength expected",
        "at the lower edge",
    ]
    worst = math.ceil(math.log10(max(1e-16, *(one.temperatures.imbalance for one in placings))))
    said = (
        f"Heat balance of the model: stored, given off and lost agree within 1 part in {power_of_ten(-worst)} of the heat moved. Cells of 1/{heat.CELLS} of the "
        f"thickness, steps of {60 // PER_HOUR} min, implicit in time."
    )
    return block([pipe_table(heads, rows, "lrrrrll"), said])


@where_present
def age_by_intervals(placings: Placings) -> Text:
    """Equivalent age of every placing summed in intervals that a checker can follow."""
    return block(part for one in placings for part in summed(placings, one))


def summed(placings: Placings, one: Placing) -> list[str]:
    """Return the equivalent age of the governing history of a placing, summed in intervals."""
    source = (
        f"measured, {len(one.history)} readings" if one.measured else f"slowest point of {one.slowest_item}, heat model"
    )
    found = ages.intervals(placings, one)
    rows = [
        [
            f"{clock(one.moment(each.start))} to {one.moment(each.end):%m-%d %H:%M}", f"{each.length:.2f} h",
            placings.show(quantity(each.mean, "degC"), units.Temperature, 1), f"{each.rate:.4f}", f"{each.gained:.2f} h",
            f"{each.total:.2f} h",
        ]
        for each in found
    ]  # fmt: skip
    heads = ["interval", "length", "mean temperature", "mean rate", "equivalent age gained", "sum"]
    said = (
        f"{one.heading}: {source}. The sum of the table is {found[-1].total:.2f} h; strength is read at {one.governing.at(one.opening_hour)[0]:.2f} h. "
        "The rate of the mean temperature comes within about 1 % of the mean rate."
    )
    return [said, pipe_table(heads, rows)]
