"""Levels and rules of noise: shared by the field that asks for them and the formulas that use them."""

from __future__ import annotations

from typing import Literal

#: Sound levels that the rules cover, in dBA.
LEAST_LEVEL, GREATEST_LEVEL = "60", "140"
#: How many decibels halve the permitted time, and the level that is permitted for eight hours.
NoiseRule = Literal["5 dB from 90 dBA", "3 dB from 87 dBA", "3 dB from 85 dBA"]
