"""Strength against age: curves by regression from cylinders, and published curves for a first estimate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from deckcalc import tables
from deckcalc.calculation import Range, calculation, lookup, sqrt
from deckcalc.curing.hydration import decay, exponential
from deckcalc.sources import Cite
from deckcalc.units import Days, Hours, InputError, Ratio, RatePerHour, Stress

Curve = Literal["hyperbolic", "exponential", "logarithmic"]
CURVES = ("hyperbolic", "exponential", "logarithmic")
Age = Annotated[Hours, Range("0 h", "50000 h", above=True)]
Limiting = Annotated[Stress, Range("1 MPa", "200 MPa")]
CARINO = "carino-lew-2001"
OWN = "Holds for the concrete of the cylinders and over their ages; a change of materials asks for new cylinders."


@lookup("{t_e} less {t_0}, not below zero")
def age_since(t_e: Hours, t_0: Hours) -> Hours:
    """Return the age since strength began; zero before."""
    return np.maximum(np.subtract(t_e, t_0), 0.0)


class Hyperbolic(NamedTuple):
    """Result of `strength_hyperbolic`."""

    t: Hours
    S: Stress


@calculation(
    title="Strength at an equivalent age (hyperbola)",
    source=Cite(CARINO, "hyperbolic strength-age function", "memory"), notes=(OWN,),
)  # fmt: skip
def strength_hyperbolic(
    t_e: Age,
    S_u: Limiting,
    k: Annotated[RatePerHour, Range("0.00001 h⁻¹", "5 h⁻¹")],
    t_0: Annotated[Hours, Range("0 h", "48 h")],
) -> Hyperbolic:
    r"""Strength on a hyperbola fitted to cylinders.

    .. math:: S = S_u \frac{k (t_e - t_0)}{1 + k (t_e - t_0)}

    Parameters
    ----------
    t_e : quantity of time, shape (...,)
        equivalent age
    S_u : quantity of stress
        limiting strength of the fit
    k : quantity of rate
        rate constant of the fit
    t_0 : quantity of time
        equivalent age at which strength begins

    Returns
    -------
    Hyperbolic
        `t` equivalent age since strength began, `S` strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Carino, from memory. Before `t_0` there is no strength.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_hyperbolic(Q(26, 'h'), Q(40, 'MPa'), Q(0.04, '1/h'), Q(1, 'h')).S:.1f~P}"
    '20.0 MPa'
    """
    t = age_since(t_e, t_0)  # equivalent age since strength began
    S = S_u * k * t / (1 + k * t)  # strength
    return Hyperbolic(t, S)


class Exponential(NamedTuple):
    """Result of `strength_exponential`."""

    y: Ratio
    g: Ratio
    S: Stress


@calculation(
    title="Strength at an equivalent age (exponential)",
    source=Cite(CARINO, "exponential strength-age function", "memory"), notes=(OWN,),
)  # fmt: skip
def strength_exponential(
    t_e: Age,
    S_u: Limiting,
    tau: Annotated[Hours, Range("0.1 h", "1000 h")],
    a: Annotated[Ratio, Range("0.1", "5")],
) -> Exponential:
    r"""Strength on an exponential curve fitted to cylinders.

    .. math:: S = S_u \exp\left(-(\tau/t_e)^a\right)

    Parameters
    ----------
    t_e : quantity of time, shape (...,)
        equivalent age
    S_u : quantity of stress
        limiting strength of the fit
    tau : quantity of time
        time constant of the fit
    a : quantity of ratio
        shape parameter of the fit

    Returns
    -------
    Exponential
        `y` exponent, `g` share of the limiting strength, `S` strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Carino; Freiesleben Hansen and Pedersen; from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_exponential(Q(24, 'h'), Q(40, 'MPa'), Q(24, 'h'), 0.9).S:.2f~P}"
    '14.72 MPa'
    """
    y = (tau / t_e) ** a  # exponent
    g = decay(y)  # share of the limiting strength
    S = S_u * g  # strength
    return Exponential(y, g, S)


@lookup("decimal logarithm of {t_e} in hours", units={"t_e": "h", "": ""})
def decimal_logarithm(t_e: Hours) -> Ratio:
    """Return the decimal logarithm of an age in hours."""
    return np.log10(t_e)


class Logarithmic(NamedTuple):
    """Result of `strength_logarithmic`."""

    L: Ratio
    S: Stress


@calculation(
    title="Strength at an equivalent age (logarithmic)",
    source=Cite("plowman-1956", "strength against the logarithm of maturity", "memory"),
    units={"t_e": "h", "a": "MPa", "b": "MPa", "L": "", "S": "MPa"},
    notes=(OWN, "Never to be carried to very early or very late ages."),
)
def strength_logarithmic(
    t_e: Age,
    a: Annotated[Stress, Range("-300 MPa", "100 MPa")],
    b: Annotated[Stress, Range("0 MPa", "200 MPa")],
) -> Logarithmic:
    r"""Strength on a straight line over the logarithm of age, fitted to cylinders.

    .. math:: S = a + b \log_{10} t_e

    Parameters
    ----------
    t_e : quantity of time, shape (...,)
        equivalent age
    a : quantity of stress
        strength of the line at 1 h
    b : quantity of stress
        strength gained for each tenfold age

    Returns
    -------
    Logarithmic
        `L` decimal logarithm of the age in hours, `S` strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Plowman 1956, from memory; the regression is held in the tests against open strength-age data.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_logarithmic(Q(100, 'h'), Q(-10, 'MPa'), Q(20, 'MPa')).S:.0f~P}"
    '30 MPa'
    """
    L = decimal_logarithm(t_e)  # decimal logarithm of the age in hours
    S = a + b * L  # strength
    return Logarithmic(L, S)


@calculation(
    title="Strength at an age by cement and curing (ACI 209)",
    source=Cite("aci209r-92", "Eq. 2-1 and Table 2.2.1", "memory"),
    notes=("A first estimate, not a record of this concrete. It gives 1.007 of the 28-day strength at 28 d for Type I.",),
)
def strength_aci209(
    t: Annotated[Days, Range("0 d", "4000 d", above=True)],
    f_28: Annotated[Stress, Range("5 MPa", "120 MPa")],
    a: Annotated[Days, Range("0.05 d", "6 d")],
    b: Annotated[Ratio, Range("0.6", "1.05")],
) -> Stress:
    r"""Strength at an age from that at 28 days.

    .. math:: f = \frac{t}{a + b t} f_{28}

    Parameters
    ----------
    t : quantity of time, shape (...,)
        age, at about 20 °C
    f_28 : quantity of stress
        strength at 28 days
    a : quantity of time
        constant of the cement and curing
    b : quantity of ratio
        constant of the cement and curing

    Returns
    -------
    Stress
        `f`, strength at the age.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 209R-92, equation 2-1, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_aci209(Q(7, 'd'), Q(30, 'MPa'), Q(4, 'd'), 0.85):.1f~P}"
    '21.1 MPa'
    """
    f = t / (a + b * t) * f_28  # strength at the age
    return f


class Ec2(NamedTuple):
    """Result of `strength_ec2`."""

    x: Ratio
    b_cc: Ratio
    f: Stress


@calculation(
    title="Mean strength at an age by class of cement (EN 1992-1-1)",
    source=Cite("en1992-1-1", "3.1.2(6), expressions (3.1) and (3.2)"),
    units={"t": "d", "f_cm": "MPa", "s": "", "x": "", "b_cc": "", "f": "MPa"},
    notes=("s is 0.20, 0.25, 0.38 for cements of class R, N, S.", "A first estimate, not a record of this concrete."),
)
def strength_ec2(
    t: Annotated[Days, Range("0 d", "4000 d", above=True)],
    f_cm: Annotated[Stress, Range("5 MPa", "120 MPa")],
    s: Annotated[Ratio, Range("0.15", "0.45")],
) -> Ec2:
    r"""Mean strength at an age from that at 28 days.

    .. math:: f = f_{cm} \exp\left(s (1 - \sqrt{28/t})\right)

    Parameters
    ----------
    t : quantity of time, shape (...,)
        age, at 20 °C
    f_cm : quantity of stress
        mean strength at 28 days
    s : quantity of ratio
        coefficient of the class of cement

    Returns
    -------
    Ec2
        `x` exponent, `b_cc` share of the 28-day strength, `f` mean strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: EN 1992-1-1, 3.1.2(6).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_ec2(Q(3, 'd'), Q(38, 'MPa'), 0.25).f:.1f~P}"
    '22.7 MPa'
    """
    x = s * (1 - sqrt(28 / t))  # exponent
    b_cc = exponential(x)  # share of the strength at 28 days
    f = b_cc * f_cm  # mean strength at the age
    return Ec2(x, b_cc, f)


def cement_curve(cement: str) -> tuple[float, float]:
    """Return the constants a [d] and b of ACI 209 for a cement type, moist cured.

    Raises
    ------
    TableError
        If the table has no such cement.

    Examples
    --------
    >>> cement_curve("III")
    (2.3, 0.92)
    """
    row = tables.load("strength_age").row("cement", cement)
    return float(row["a [d]"]), float(row["b"])


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
        from scipy.stats import t as student

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
        return student.ppf(0.5 + self.share / 2, self.free) * np.sqrt(np.maximum(of_curve, 0) + self.error**2)

    def low(self, t: Any) -> np.ndarray:
        """Return the lower edge of the band, never below zero."""
        return np.maximum(self.strength(t) - self.band(t).reshape(np.shape(t)), 0.0)

    def high(self, t: Any) -> np.ndarray:
        """Return the upper edge of the band."""
        return self.strength(t) + self.band(t).reshape(np.shape(t))


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
        import warnings

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
