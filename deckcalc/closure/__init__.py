"""The night of the closure: durations, placing against the mixer, noise, labour, cost."""

from __future__ import annotations

from deckcalc.closure.noise import noise_dose, noise_hours
from deckcalc.closure.work import cost, labour, placing_time, window

__all__ = ["cost", "labour", "noise_dose", "noise_hours", "placing_time", "window"]
