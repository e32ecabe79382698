"""Temperatures of a placing by the heat model, and the strength that follows from them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from deckcalc.base.fields import JobError
from deckcalc.base.work import PLACED, THICKNESS, PlacementRow
from deckcalc.core.units import Quantity, number
from deckcalc.curing.design.logged import band_of
from deckcalc.curing.design.placings import Placing, Placings
from deckcalc.curing.formulas import heat, opening
from deckcalc.curing.formulas.regression import NoCurve
from deckcalc.curing.inputs.rows import HOUR, block_of, celsius, history_of
from deckcalc.mix.design import Design

PER_HOUR = 4  # steps of the heat model in an hour


def placed_temperature(row: PlacementRow, design: Design) -> Quantity:
    """Return the temperature as placed: that measured, which the row states, else what the concrete has as mixed."""
    if row.concrete_temperature:
        return PLACED.one(row.concrete_temperature)
    if design.temperature is None:
        raise JobError(
            [
                f"placements.csv, placement {row.placement}, column concrete temperature: empty, and none is known of {design.name} as mixed; "
                "state the temperature as placed there, or that of the fresh concrete with the concrete"
            ]
        )
    return design.temperature


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
    wind = on_grid([number(hour.wind, "m/s") for hour in record])
    absorbed = float(choices.heat.sun_absorbed.m_as(""))
    design = placings.concretes.of_placing(row)
    concrete = placed_temperature(row, design)
    ran = heat.temperatures(
        heat.Build(
            thickness, total, float(choices.heat.conductivity.m_as("W/m/K")),
            placings.capacity(design), float(choices.heat.cover.m_as("m²*K/W")),
            np.where(full, float(choices.heat.soffit.m_as("m²*K/W")), 0.0),
        ),
        heat.Air(
            on_grid([celsius(hour.air) for hour in record]), heat.exchange(wind), heat.exchange(0.5 * wind),
            absorbed * on_grid([number(hour.sun, "W/m²") for hour in record]),
        ),
        3600 / PER_HOUR, celsius(concrete), celsius(row.slab_temperature), placings.heat_source(design), hydration_rate,
        None if placings.rate is hydration_rate else placings.rate,
        keep_field=True,
    )  # fmt: skip
    curve = placings.curves.get(design.name)
    fit: opening.StrengthCurve = curve.fit if curve else NoCurve()
    bands = [opening.band(fit, hours, ran.age[:, i] / 3600) for i in range(len(depth))]
    readings = history_of(placings.inputs.history, row)
    measured = None
    if readings:
        measured, _ = band_of(placings, fit, row.end, readings)
    return Placing(
        row, patches, thickness, total, full, concrete, record, hours, ran, bands, measured, readings, curve, design
    )
