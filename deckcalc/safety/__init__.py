"""Safety of the crew: dust, noise, hand-arm vibration, lifting, work over water, slurry."""

from __future__ import annotations

from deckcalc.safety.formulas.exposure import blasting_dust, shift_vibration, silica_respirator, tool_vibration
from deckcalc.safety.formulas.lifting import lifting_index, lifting_limit
from deckcalc.safety.formulas.noise import noise_dose, noise_hours
from deckcalc.safety.formulas.water import ring_buoys, slurry

__all__ = [
    "blasting_dust", "lifting_index", "lifting_limit", "noise_dose", "noise_hours", "ring_buoys", "shift_vibration",
    "silica_respirator", "slurry", "tool_vibration",
]  # fmt: skip
