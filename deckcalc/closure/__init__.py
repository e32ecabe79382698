"""The night of the closure: durations, placing against the mixer, noise, labour, cost."""

from __future__ import annotations

from deckcalc.closure.lifting import lifting_index, lifting_limit_si, lifting_limit_us
from deckcalc.closure.noise import noise_dose, noise_hours
from deckcalc.closure.safety import shift_vibration, silica_respirator, tool_vibration
from deckcalc.closure.work import cost, labour, placing_time, window

__all__ = [
    "cost", "labour", "lifting_index", "lifting_limit_si", "lifting_limit_us", "noise_dose", "noise_hours", "placing_time", "shift_vibration",
    "silica_respirator", "tool_vibration", "window",
]  # fmt: skip
