"""When a strength is reached: the hour of opening, the hour of stripping, and what to say at each hour."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from deckcalc.core.remembered import remembered

OPEN, WAIT = "open", "wait"


class StrengthCurve(Protocol):
    """Strength by equivalent age in hours, with a band."""

    def strength(self, t: Any) -> np.ndarray:
        """Return the expected strength."""

    def low(self, t: Any) -> np.ndarray:
        """Return the lower edge."""

    def high(self, t: Any) -> np.ndarray:
        """Return the upper edge."""


@dataclass(frozen=True)
class Band:
    """Strength over time with its band; any unit of strength.

    Attributes
    ----------
    hours : array, shape (n,)
        Since the end of placing.
    age : array, shape (n,)
        Equivalent age [h].
    low, mid, high : array, shape (n,)
        Edges of the band and the curve.
    """

    hours: np.ndarray
    age: np.ndarray
    low: np.ndarray
    mid: np.ndarray
    high: np.ndarray

    def at(self, hour: float) -> tuple[float, float, float, float]:
        """Return equivalent age, low, mid and high at an hour."""
        return tuple(float(np.interp(hour, self.hours, x)) for x in (self.age, self.low, self.mid, self.high))  # type: ignore[return-value]


@remembered(most=256)
def band(fit: StrengthCurve, hours: np.ndarray, age: np.ndarray) -> Band:
    """Return the strength that a fit gives for equivalent ages in hours, with its band.

    The edges never fall back: where a regression's lower edge dips at late ages the best value so far is kept.
    """
    old = np.maximum(age, 1e-6)
    return Band(
        hours, age, np.maximum.accumulate(fit.low(old)), np.maximum.accumulate(fit.strength(old)),
        np.maximum.accumulate(fit.high(old)),
    )  # fmt: skip


def reached(hours: np.ndarray, values: np.ndarray, required: float) -> float | None:
    """Return the hour at which values that rise reach what is required; None if they do not.

    Parameters
    ----------
    hours, values : array, shape (n,)
    required : float

    Examples
    --------
    >>> reached(np.array([0.0, 1.0, 2.0]), np.array([0.0, 10.0, 30.0]), 20.0)
    1.5
    >>> reached(np.array([0.0, 1.0]), np.array([0.0, 10.0]), 20.0) is None
    True
    """
    hours, values = np.asarray(hours, dtype=float), np.asarray(values, dtype=float)
    slack = 1e-9 * abs(required)
    if values[0] >= required - slack:
        return float(hours[0])
    if not values[-1] >= required - slack:  # nor where there is no strength
        return None
    i = int(np.argmax(values >= required - slack))
    rise = values[i] - values[i - 1]
    return float(hours[i - 1] + (hours[i] - hours[i - 1]) * min((required - values[i - 1]) / rise, 1.0))


def decide(low: float, mid: float, required: float) -> str:
    """Return what to do at an hour: open when the lower edge of the band has reached what is required.

    Examples
    --------
    >>> decide(15.9, 18.2, 20.7), decide(19.0, 21.0, 20.7), decide(20.8, 23.0, 20.7)
    ('wait', 'wait: expected value reached, lower edge not', 'open')
    """
    if low >= required * (1 - 1e-9):
        return OPEN
    return f"{WAIT}: expected value reached, lower edge not" if mid >= required * (1 - 1e-9) else WAIT
