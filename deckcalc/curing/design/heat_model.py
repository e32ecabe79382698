"""Temperatures of a placing by the heat model, and the strength that follows from them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from deckcalc.base.fields import PARTIAL, JobError
from deckcalc.base.work import PLACED, THICKNESS, PlacementRow
from deckcalc.core.units import Quantity
from deckcalc.curing.design.placings import Placing, Placings
from deckcalc.curing.formulas import heat, opening
from deckcalc.curing.formulas.maturity import accumulated
from deckcalc.curing.formulas.regression import NoCurve
from deckcalc.curing.inputs.rows import HOUR, block_of, celsius, history_of

PER_HOUR = 4  # steps of the heat model in an hour


def placed_temperature(placings: Placings, row: PlacementRow) -> Quantity:
    """Return the temperature as placed: that of the row, else what the mix gives."""
    if row.concrete_temperature:
        return PLACED.one(row.concrete_temperature)
    found = placings.concretes.for_depth(PARTIAL).temperature
    if found is None:
        raise JobError(
            [
                f"placements.csv, placement {row.placement}, column concrete temperature: empty, and the mix gives none; state it"
            ]
        )
    return found


def place(placings: Placings, row: PlacementRow, hydration_rate: Callable[[Any], Any]) -> Placing:
    """Run the heat model for every item of a placing at once."""
    choices, slab = placings.choices, float(placings.deck.slab_thickness.m_as("m"))
    patches = [placings.patches[name] for name in row.names]
    depth = [float(one.h.m_as("m")) for one in patches] or [float(THICKNESS.one(row.thickness).m_as("m"))]
    full = [one.full for one in patches] or [True]
    thickness = np.array(depth)
    total = np.maximum(slab, thickness) if patches else thickness
    record = [hour for hour in block_of(placings.weather, row.start) if hour.time >= row.start - HOUR]
    times = np.array([(hour.time - row.end).total_seconds() / 3600 for hour in record])
    hours = np.arange(int(np.floor(times[-1] * PER_HOUR + 1e-9)) + 1) / PER_HOUR
    on_grid = lambda values: np.interp(hours, times, values)  # noqa: E731
    wind = on_grid([float(hour.wind.m_as("m/s")) for hour in record])
    absorbed = float(choices.heat.sun_absorbed.m_as(""))
    concrete = placed_temperature(placings, row)
    ran = heat.temperatures(
        heat.Build(
            thickness, total, float(choices.heat.conductivity.m_as("W/m/K")),
            float((placings.deck.unit_weight * choices.heat.specific_heat).m_as("J/m³/K")),
            float(choices.heat.cover.m_as("m²*K/W")),
            np.where(full, float(choices.heat.soffit.m_as("m²*K/W")), 0.0),
        ),
        heat.Air(
            on_grid([celsius(hour.air) for hour in record]), heat.exchange(wind), heat.exchange(0.5 * wind),
            absorbed * on_grid([float(hour.sun.m_as("W/m²")) for hour in record]),
        ),
        3600 / PER_HOUR, celsius(concrete), celsius(row.slab_temperature), placings.heat_source, hydration_rate,
        None if placings.rate is hydration_rate else placings.rate,
        keep_field=True,
    )  # fmt: skip
    curve = placings.curve_of(row)
    fit: opening.StrengthCurve = curve.fit if curve else NoCurve()
    bands = [opening.band(fit, hours, ran.age[:, i] / 3600) for i in range(len(depth))]
    readings = history_of(placings.inputs.history, row)
    measured = None
    if readings:
        since = np.array([(reading.time - row.end).total_seconds() / 3600 for reading in readings])
        age = accumulated(since, placings.rate(np.array([celsius(reading.temperature) for reading in readings])))
        age = age - np.interp(0.0, since, age)  # nothing counts before the end of placing
        measured = opening.band(fit, since, np.maximum(age, 0.0))
    return Placing(row, patches, thickness, total, full, concrete, record, hours, ran, bands, measured, readings, curve)
