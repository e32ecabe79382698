"""The night of the closure: durations, placing against the mixer, noise, labour, what is loaded, cost."""

from __future__ import annotations

from deckcalc.closure.cost import cost, embodied_carbon, unit_cost
from deckcalc.closure.lifting import lifting_index, lifting_limit_si, lifting_limit_us
from deckcalc.closure.loads import containers, fuel, truck_loads
from deckcalc.closure.noise import noise_dose, noise_hours
from deckcalc.closure.safety import shift_vibration, silica_respirator, tool_vibration
from deckcalc.closure.work import labour, placing_time, share_in_time, step_time, window

__all__ = [
    "containers", "cost", "embodied_carbon", "fuel", "labour", "lifting_index", "lifting_limit_si", "lifting_limit_us",
    "noise_dose", "noise_hours", "placing_time", "share_in_time", "shift_vibration", "silica_respirator", "step_time",
    "tool_vibration", "truck_loads", "unit_cost", "window",
]  # fmt: skip
