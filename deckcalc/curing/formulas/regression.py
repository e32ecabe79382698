"""Strength-age curves fitted to cylinders by least squares, with the band of one more test."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from deckcalc.core.units import InputError

Curve = Literal["hyperbolic", "exponential", "logarithmic"]
CURVES = ("hyperbolic", "exponential", "logarithmic")


def shape(curve: str, t: np.ndarray, *p: float) -> np.ndarray:
    """Return strength on a curve, plain numbers: hours and any unit of strength."""
    t = np.asarray(t, dtype=float)
    if curve == "hyperbolic":
        since = np.maximum(t - p[2], 0.0)
        return p[0] * p[1] * since / (1 + p[1] * since)
    if curve == "exponential":
        return p[0] * np.exp(-((p[1] / np.maximum(t, 1e-9)) ** p[2]))
    return p[0] + p[1] * np.log10(np.maximum(t, 1e-9))


def straight_hyperbola(t: np.ndarray, S: np.ndarray) -> tuple[float, float]:
    """Return limiting strength and rate constant of a hyperbola through the origin, from a line of t/S over t.

    Parameters
    ----------
    t, S : array, shape (n,)

    Returns
    -------
    tuple of float
        Limiting strength in the unit of `S`, rate constant per unit of `t`.

    Examples
    --------
    >>> S_u, k = straight_hyperbola(np.array([1.0, 4.0]), np.array([10.0, 16.0]))
    >>> round(S_u, 6), round(k, 6)
    (20.0, 1.0)
    """
    slope, level = np.polyfit(t, t / S, 1)
    return float(1 / slope), float(slope / level)


@dataclass(frozen=True)
class Fit:
    """A strength-age curve fitted to cylinders.

    Attributes
    ----------
    curve : str
    values : tuple of float
        Hyperbola: limiting strength, rate constant [1/h], start [h]; exponential: limiting strength, time constant [h],
        shape; logarithmic: strength at 1 h, gain for each tenfold age. Strengths in the unit given.
    covariance : array
    error : float
        Standard error of the estimate.
    r2 : float
        Coefficient of determination.
    free : int
        Degrees of freedom.
    share : float
        Two-sided confidence of the band.
    first, last : float
        Ages that the cylinders cover [h].
    """

    curve: str
    values: tuple[float, ...]
    covariance: np.ndarray
    error: float
    r2: float
    free: int
    share: float
    first: float
    last: float

    def strength(self, t: Any) -> np.ndarray:
        """Return the strength on the curve at equivalent ages in hours; never below zero."""
        return np.maximum(shape(self.curve, t, *self.values), 0.0)

    def band(self, t: Any) -> np.ndarray:
        """Return half the width of the band for one more test at that age."""
        from scipy.special import stdtrit

        t = np.atleast_1d(np.asarray(t, dtype=float))
        centre = shape(self.curve, t, *self.values)
        slopes = []
        for i, value in enumerate(self.values):
            step = 1e-6 * max(abs(value), 1e-3)
            moved = list(self.values)
            moved[i] = value + step
            slopes.append((shape(self.curve, t, *moved) - centre) / step)
        gradient = np.array(slopes)
        of_curve = np.einsum("in,ij,jn->n", gradient, self.covariance, gradient)
        return stdtrit(self.free, 0.5 + self.share / 2) * np.sqrt(np.maximum(of_curve, 0) + self.error**2)

    def low(self, t: Any) -> np.ndarray:
        """Return the lower edge of the band, never below zero."""
        return np.maximum(self.strength(t) - self.band(t).reshape(np.shape(t)), 0.0)

    def high(self, t: Any) -> np.ndarray:
        """Return the upper edge of the band."""
        return self.strength(t) + self.band(t).reshape(np.shape(t))


@dataclass(frozen=True)
class Estimate:
    """Strength by cement type from print, for a first estimate: the same answers as a fit."""

    a: float  # h
    b: float
    f_28: float  # MPa
    spread: float
    first: float = 24.0
    last: float = 28 * 24.0

    def strength(self, t: Any) -> np.ndarray:
        """Return the strength at equivalent ages in hours."""
        t = np.asarray(t, dtype=float)
        return t / (self.a + self.b * t) * self.f_28

    def low(self, t: Any) -> np.ndarray:
        """Return the lower edge of the stated spread."""
        return (1 - self.spread) * self.strength(t)

    def high(self, t: Any) -> np.ndarray:
        """Return the upper edge of the stated spread."""
        return (1 + self.spread) * self.strength(t)


@dataclass(frozen=True)
class MakersEstimate:
    """Strength of a prepackaged concrete by its manufacturer's table, for a first estimate: straight over the logarithm of age."""

    ages: tuple[float, ...]  # h
    strengths: tuple[float, ...]  # MPa
    spread: float

    @property
    def first(self) -> float:
        """First age of the table [h]."""
        return self.ages[0]

    @property
    def last(self) -> float:
        """Last age of the table [h]."""
        return self.ages[-1]

    def strength(self, t: Any) -> np.ndarray:
        """Return the strength at equivalent ages in hours: nothing before the first of the table, no more than the last after it."""
        t = np.asarray(t, dtype=float)
        found = np.interp(np.log(np.maximum(t, 1e-9)), np.log(self.ages), self.strengths)
        return np.where(t < self.first * (1 - 1e-9), 0.0, found)

    def low(self, t: Any) -> np.ndarray:
        """Return the lower edge of the stated spread."""
        return (1 - self.spread) * self.strength(t)

    def high(self, t: Any) -> np.ndarray:
        """Return the upper edge of the stated spread."""
        return (1 + self.spread) * self.strength(t)


@dataclass(frozen=True)
class NoCurve:
    """What is known of the strength of a concrete that has no curve: nothing at any age."""

    first: float = float("inf")
    last: float = float("inf")

    def strength(self, t: Any) -> np.ndarray:
        """Return no strength."""
        return np.full(np.shape(t), np.nan)

    low = high = strength


def fit(curve: str, t: np.ndarray, S: np.ndarray, share: float) -> Fit:
    """Fit a strength-age curve to cylinders by least squares.

    Parameters
    ----------
    curve : {"hyperbolic", "exponential", "logarithmic"}
    t : array, shape (n,)
        Equivalent ages of the tests [h].
    S : array, shape (n,)
        Strengths, any unit.
    share : float
        Two-sided confidence of the band, for instance 0.90.

    Returns
    -------
    Fit

    Raises
    ------
    InputError
        If there are too few tests for the curve, or no curve of that form goes through them.

    Examples
    --------
    >>> t = np.array([12.0, 24.0, 48.0, 72.0, 168.0])
    >>> made = fit("logarithmic", t, 5 + 12 * np.log10(t) + np.array([0.1, -0.1, 0.0, 0.1, -0.1]), 0.90)
    >>> [round(float(v), 1) for v in made.values]
    [5.1, 11.9]
    """
    from scipy.optimize import OptimizeWarning, curve_fit

    t, S = np.asarray(t, dtype=float), np.asarray(S, dtype=float)
    count = 2 if curve == "logarithmic" else 3
    if len(t) < count + 2:
        raise InputError(f"{len(t)} tests; the {curve} curve wants at least {count + 2}")
    scale = float(S.max())
    if curve == "logarithmic":
        design = np.column_stack([np.ones_like(t), np.log10(t)])
        values = np.linalg.lstsq(design, S, rcond=None)[0]
        inverse = np.linalg.inv(design.T @ design)
    else:
        S_u, k = straight_hyperbola(t, S / scale)
        S_u = S_u if 0 < S_u < 5 else 1.2
        half = 1 / k if 0 < k < 10 else float(np.median(t))
        begin = [S_u, 1 / half, 0.5 * float(t.min())] if curve == "hyperbolic" else [S_u, half, 0.8]
        upper = [10.0, 10.0, 0.98 * float(t.min())] if curve == "hyperbolic" else [10.0, 1000.0, 5.0]
        begin = [min(b, 0.99 * u) for b, u in zip(begin, upper, strict=True)]
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", OptimizeWarning)
                values, covariance = curve_fit(
                    lambda x, *p: shape(curve, x, *p), t, S / scale, p0=begin, bounds=([0.01, 1e-6, 0.0], upper),
                    x_scale=[max(b, 1e-3) for b in begin], max_nfev=5000,
                )  # fmt: skip
        except (RuntimeError, ValueError, OptimizeWarning):
            raise InputError(f"no {curve} curve goes through these tests; check ages and strengths") from None
        values = np.array([values[0] * scale, *values[1:]])
        factor = np.array([scale, 1, 1])
        covariance = covariance * np.outer(factor, factor)
    residual = S - shape(curve, t, *values)
    free = len(t) - count
    error = float(np.sqrt(residual @ residual / free))
    if curve == "logarithmic":
        covariance = inverse * error**2
    spread = S - S.mean()
    r2 = 1 - float(residual @ residual) / float(spread @ spread)
    return Fit(
        curve, tuple(float(v) for v in values), covariance, error, r2, free, share, float(t.min()), float(t.max())
    )
