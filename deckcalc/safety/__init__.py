"""Safety of the crew: dust, noise, vibration of the hands, lifting."""

from __future__ import annotations

from deckcalc.safety.formulas.exposure import shift_vibration, silica_respirator, tool_vibration
from deckcalc.safety.formulas.lifting import lifting_index, lifting_limit
from deckcalc.safety.formulas.noise import noise_dose, noise_hours

__all__ = [
    "lifting_index", "lifting_limit", "noise_dose", "noise_hours", "shift_vibration",
    "silica_respirator", "tool_vibration",
]  # fmt: skip
