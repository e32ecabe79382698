"""Shape of the chloride profile below a surface whose content is constant, or has grown with the age or its root."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

Surface = Literal["constant", "linear", "root"]
Array = Any
ORDERS: dict[str, tuple[int, float]] = {"constant": (0, 1.0), "linear": (2, 4.0), "root": (1, np.sqrt(np.pi))}


def repeated_erfc(n: int, z: Array) -> Array:
    """Return the complementary error function integrated n times (n = −1 is minus its derivative)."""
    from scipy.special import erfc

    if n == -1:
        return 2 / np.sqrt(np.pi) * np.exp(-z * z)
    if n == 0:
        return erfc(z)
    return (repeated_erfc(n - 2, z) / 2 - z * repeated_erfc(n - 1, z)) / n


def shape(
    surface: Surface, s: Array, upper: Array, lower: Array, sliced: bool, slope: bool = True
) -> tuple[Array, Array]:
    """Return the part of the surface content at depth (or its mean over a slice), and its derivative by ln s.

    A slice without thickness is a reading at a point.
    """
    n, scale = ORDERS[surface]
    if not sliced:
        z = (upper + lower) / 2 / s
        part = scale * repeated_erfc(n, z)
        return part, scale * z * repeated_erfc(n - 1, z) if slope else part
    a, b, thick = upper / s, lower / s, lower > upper
    thickness = np.where(thick, lower - upper, 1.0)
    part = scale * s / thickness * (repeated_erfc(n + 1, a) - repeated_erfc(n + 1, b))
    rest = scale / thickness * (upper * repeated_erfc(n, a) - lower * repeated_erfc(n, b))
    if np.all(thick):
        return part, part + rest
    at_point, at_slope = shape(surface, s, upper, upper, False)
    return np.where(thick, part, at_point), np.where(thick, part + rest, at_slope)
