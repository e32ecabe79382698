"""Curing and opening: from the weather of the night to the hour at which the lane may open."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from deckcalc.base.context import Context
from deckcalc.curing.design import checks, evaporation, strength
from deckcalc.curing.design.covers import cover
from deckcalc.curing.design.heat_model import place
from deckcalc.curing.design.placings import Placing, Placings
from deckcalc.curing.formulas import heat
from deckcalc.curing.inputs import Inputs, not_recorded
from deckcalc.curing.inputs.rows import celsius, weather_of
from deckcalc.mix.design import Mixes
from deckcalc.patch.design import Patches

__all__ = ["Placing", "Placings", "compute", "hydration_rate"]


def hydration_rate(placings: Placings) -> Callable[[Any], Any]:
    """Return the rate of hydration by temperature [°C]: that of equivalent age."""
    choices = placings.choices
    return heat.arrhenius(float(choices.activation_energy.m_as("J/mol")), celsius(choices.reference))


def compute(context: Context[Inputs], patches: Patches, concretes: Mixes) -> Placings:
    """Work out temperatures, drying, strength and curing of every placing, and check them."""
    placings = Placings(context, patches=patches, concretes=concretes)
    inputs = placings.inputs
    if inputs.curing is None:
        return placings
    choices = inputs.curing
    arrhenius = placings.rate = hydration_rate(placings)
    if choices.maturity != "equivalent age":
        placings.rate = heat.nurse_saul_rate(celsius(choices.datum), celsius(choices.reference))
    placings.weather = weather_of(inputs.weather, inputs.days)
    strength.read_cubes(placings)
    strength.fit_cylinders(placings)
    for row in placings.work.rows:
        cover(placings, row)
        why = not_recorded(placings.weather, row)
        if why is None:
            placings.each[row.placement] = place(placings, row, arrhenius)
        else:
            checks.not_recorded(placings, row, why)
    for one in placings:
        evaporation.evaporate(placings, one)
        checks.check_temperatures(placings, one)
        checks.as_mixed(placings, one)
        checks.open_lane(placings, one)
        checks.strip_forms(placings, one)
        checks.cure(placings, one)
    checks.heat_of_hydration(placings)
    checks.shrink(placings)
    placings.notes += checks.notes(placings)
    return placings
