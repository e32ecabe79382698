"""Traffic past one closed lane: tapers, sight distance, devices, signs, and the length that a closure takes."""

from __future__ import annotations

from deckcalc.traffic.formulas.layout import device_spacing_metric, device_spacing_us, devices, sign_positions
from deckcalc.traffic.formulas.length import closure_length, roll_ahead_bound
from deckcalc.traffic.formulas.sight import stopping_on_grade, stopping_si, stopping_us
from deckcalc.traffic.formulas.tapers import taper_metric, taper_us

__all__ = [
    "closure_length", "device_spacing_metric", "device_spacing_us", "devices", "roll_ahead_bound", "sign_positions",
    "stopping_on_grade", "stopping_si", "stopping_us", "taper_metric", "taper_us",
]  # fmt: skip
