"""The night of the closure: durations, placing against the mixer, labour, what is loaded, cost."""

from __future__ import annotations

from deckcalc.closure.formulas.cost import cost, embodied_carbon, unit_cost
from deckcalc.closure.formulas.durations import labour, placing_time, share_in_time, step_time, window
from deckcalc.closure.formulas.loads import containers, fuel, truck_loads

__all__ = [
    "containers", "cost", "embodied_carbon", "fuel", "labour",
    "placing_time", "share_in_time", "step_time",
    "truck_loads", "unit_cost", "window",
]  # fmt: skip
