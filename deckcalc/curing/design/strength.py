"""Strength by equivalent age: curves fitted to the cylinders, or a first estimate by type of cement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from deckcalc import curing, mix
from deckcalc.base.fields import JobError
from deckcalc.core.units import InputError, Quantity, quantity
from deckcalc.curing.design.curves import ConcreteCurve
from deckcalc.curing.design.placings import Placing, Placings, Reached
from deckcalc.curing.formulas import maturity, opening, regression, strength
from deckcalc.curing.formulas.regression import Estimate, MakersEstimate
from deckcalc.curing.inputs.rows import CylinderRow, celsius
from deckcalc.mix.design import Design

OUTSIDE = "wait: outside the ages of the cylinders"
NO_CURVE = "wait: this concrete has no curve of its own"
ESTIMATED = "wait for cylinders: strong enough by an estimate only"


def fit_cylinders(placings: Placings) -> None:
    """Fit the curves of every concrete to its own cylinders, or take a first estimate: by its manufacturer, or from print by its cement."""
    for row in placings.inputs.cylinders:
        name = row.concrete or next(iter(placings.concretes)).name
        age = age_run(placings, of_cylinders(row), row.temperature, row.age)
        curve = placings.curves.setdefault(name, ConcreteCurve(name))
        curve.tests += [(float(age.m_as("h")), float(value)) for value in row.strengths.m_as("MPa")]
    for curve in placings.curves.values():
        fit_curve(placings, curve)
    for one in placings.concretes:
        if one.name not in placings.curves and (estimate := estimate_of(placings, one)) is not None:
            curve = placings.curves[one.name] = ConcreteCurve(one.name)
            curve.fit = estimate


def estimate_of(placings: Placings, one: Design) -> Estimate | MakersEstimate | None:
    """Return the first estimate of the strength of a concrete that has no cylinders; None where nobody states anything."""
    spread = float(placings.choices.estimate_spread.m_as(""))
    if one.makers_curve is not None:
        ages, strengths = zip(*one.makers_curve.rows, strict=True)
        return MakersEstimate(
            tuple(float(t.m_as("h")) for t in ages), tuple(float(S.m_as("MPa")) for S in strengths), spread
        )
    if one.heat is None:
        return None
    a, b = strength.cement_curve(one.heat.cement)
    return Estimate(24 * a, b, float(one.strength.m_as("MPa")), spread)


def fit_curve(placings: Placings, curve: ConcreteCurve) -> None:
    """Fit all three curves to the cylinders of one concrete."""
    choices = placings.choices
    t, S = (np.array(column) for column in zip(*curve.tests, strict=True))
    share = float(choices.confidence.m_as(""))
    for name in regression.CURVES:
        try:
            curve.fits[name] = regression.fit(name, t, S, share)
        except InputError as error:
            if name == choices.curve:
                raise JobError([f"cylinders.csv{curve.of}: {error}; choose another curve"]) from None
    curve.fit = curve.fits[choices.curve]


def of_cylinders(row: CylinderRow) -> str:
    """Return what the runs of the cylinders of one age are called."""
    return f"cylinders {row.test}"


def read_cubes(placings: Placings) -> None:
    """Find datum and activation energy from the mortar cubes, where there are any."""
    sets: dict[str, dict[float, tuple[list[float], list[float]]]] = {}
    for row in placings.inputs.cubes:
        ages, found = sets.setdefault(row.concrete or next(iter(placings.concretes)).name, {}).setdefault(
            celsius(row.bath), ([], [])
        )
        for value in row.strengths.m_as("Pa"):
            ages.append(float(row.age.m_as("h")))
            found.append(float(value))
    for concrete, baths in sets.items():
        try:
            placings.cubes[concrete] = maturity.from_cubes(baths)
        except InputError as error:
            raise JobError([f"cubes.csv of {concrete}: {error}"]) from None


def age_run(placings: Placings, item: str, T: Quantity, t: Quantity) -> Quantity:
    """Run the calculation of equivalent age that the job chooses."""
    choices = placings.choices
    if choices.maturity == "equivalent age":
        return placings.run(
            curing.equivalent_age, item, T=T, E_a=choices.activation_energy, T_r=choices.reference, t=t
        ).t_e
    return placings.run(curing.nurse_saul, item, T=T, T_0=choices.datum, T_r=choices.reference, t=t).t_e


def strength_run(placings: Placings, curve: ConcreteCurve, item: str, t_e: Quantity) -> Quantity | None:
    """Run the strength of the chosen curve of a concrete at an equivalent age; None where a manufacturer's table does not hold that age."""
    fit = curve.fit
    if isinstance(fit, Estimate):
        return placings.run(
            curing.strength_aci209, item, t=t_e.to("d"), f_28=quantity(fit.f_28, "MPa"), a=quantity(fit.a / 24, "d"),
            b=quantity(fit.b),
        )  # fmt: skip
    if isinstance(fit, MakersEstimate):
        table = placings.concretes[curve.concrete].makers_curve
        row = table.around(t_e) if table else None
        return placings.run(mix.strength_at_time, item, **row).S if row else None
    a, b, *rest = fit.values
    if fit.curve == "hyperbolic":
        return placings.run(
            curing.strength_hyperbolic, item, t_e=t_e, S_u=quantity(a, "MPa"), k=quantity(b, "1/h"),
            t_0=quantity(rest[0], "h"),
        ).S  # fmt: skip
    if fit.curve == "exponential":
        return placings.run(
            curing.strength_exponential, item, t_e=t_e, S_u=quantity(a, "MPa"), tau=quantity(b, "h"), a=quantity(rest[0])
        ).S  # fmt: skip
    return placings.run(curing.strength_logarithmic, item, t_e=t_e, a=quantity(a, "MPa"), b=quantity(b, "MPa")).S


@dataclass(frozen=True)
class AtHour:
    """Strength of a placing at an hour: equivalent age [h], band [MPa], and what to do."""

    age: float
    low: float
    mid: float
    high: float
    decision: str


def at_hour(placings: Placings, one: Placing, hour: float) -> AtHour:
    """Return the strength of a placing at an hour since its end, and what to do then."""
    age, low, mid, high = one.governing.at(hour)
    if one.curve is None:
        word = NO_CURVE
    elif one.curve.outside(age):
        word = OUTSIDE
    else:
        word = opening.decide(low, mid, placings.required)
        if one.curve.estimated and word == opening.OPEN:
            word = ESTIMATED
    return AtHour(age, low, mid, high, word)


def times_of_tests(placings: Placings, one: Placing) -> dict[str, float | None]:
    """Return the hours at which to break cylinders that are cured with the patch; None outside the record."""
    first = Reached.by(one.governing, 0.7 * placings.required).expected
    return {
        "first, to see whether the patch follows the curve": first,
        "at the expected hour": one.opens.expected,
        "before the lane opens": one.opens.sure,
    }
