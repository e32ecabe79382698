"""Traffic past one closed lane: tapers, sight distance, devices, signs, and the length that a closure takes."""

from __future__ import annotations

from deckcalc.traffic.formulas.layout import device_spacing, devices, sign_positions
from deckcalc.traffic.formulas.length import closure_length, roll_ahead_bound
from deckcalc.traffic.formulas.short_tapers import clear_time, roll_ahead_table, short_taper
from deckcalc.traffic.formulas.sight import stopping, stopping_on_grade
from deckcalc.traffic.formulas.tapers import taper

__all__ = [
    "clear_time", "closure_length", "device_spacing", "devices", "roll_ahead_bound", "roll_ahead_table", "short_taper",
    "sign_positions", "stopping_on_grade", "stopping", "taper",
]  # fmt: skip
