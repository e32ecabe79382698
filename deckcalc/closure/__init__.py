"""The night of the closure: durations, placing against the mixer, noise, labour, what is loaded, cost."""

from __future__ import annotations

from deckcalc.closure.cost import cost, embodied_carbon, unit_cost
from deckcalc.closure.loads import containers, fuel, truck_loads
from deckcalc.closure.noise import noise_dose, noise_hours
from deckcalc.closure.work import labour, placing_time, share_in_time, step_time, window

__all__ = [
    "containers", "cost", "embodied_carbon", "fuel", "labour", "noise_dose", "noise_hours", "placing_time", "share_in_time",
    "step_time", "truck_loads", "unit_cost", "window",
]  # fmt: skip
