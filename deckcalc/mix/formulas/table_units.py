"""Which tables, exact factors from their units to plain numbers in coherent SI, and look-up element by element."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Literal

import numpy as np

from deckcalc.core import tables

Tables = Literal["SI", "US"]
MM, IN = 0.001, 0.0254  # m
KG_M3, LB_YD3 = 1.0, 0.45359237 / 0.9144**3  # kg/m³
MPA, PSI = 1e6, 0.45359237 * 9.80665 / 0.0254**2  # Pa


def each(function: Callable[..., float], *values: Any) -> Any:
    """Look up each element where values are arrays; a single number gives a single number."""
    return np.vectorize(function, otypes=[float])(*values)[()]


def along(x: Any, xs: Sequence[float], ys: Sequence[float], what: str) -> Any:
    """Interpolate linearly for a number or each element of an array, never beyond the table."""
    for end in (np.min(x), np.max(x)):
        tables.interpolate(float(end), xs, ys, what)
    return np.interp(x, xs, ys)
