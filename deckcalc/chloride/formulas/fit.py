"""Fick's second law fitted to many profiles in one call.

For a given diffusion length s = 2 √(D t) surface content and background enter linearly and are solved exactly; what is
left is a search in ln s alone, done for all profiles at once: a coarse scan, then Gauss-Newton steps with secants,
held in a bracket until they stand still. Arrays are plain numbers in coherent SI, one profile a row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from deckcalc.chloride.formulas.curves import Surface, shape
from deckcalc.core.units import InputError

Array = Any
#: Readings scatter by about 15 % between operators and laboratories (Schoefs and others 2023).
SCATTER = 0.15
SHORT, LONG, SCAN = 0.4, 30.0, 14  # search from 0.4 of the first depth to 30 times the last one
STILL = 1e-13  # ln s that no longer moves


@dataclass(frozen=True)
class Profiles:
    """Measured profiles, one a row, short ones filled up.

    Attributes
    ----------
    upper, lower : array, shape (n, m)
        Where each slice begins and ends, in metres; both the same for a reading at a point.
    content : array, shape (n, m)
        Chloride content in kg/m³.
    used : array of bool, shape (n, m)
        Whether the reading takes part in the fit; False fills up short profiles.
    age : array, shape (n,)
        Time of exposure in seconds.
    """

    upper: Array
    lower: Array
    content: Array
    used: Array
    age: Array

    def __post_init__(self) -> None:
        for name in ("upper", "lower", "content"):
            values = np.asarray(getattr(self, name), float)
            if values.shape != self.used.shape or not np.all(np.isfinite(values[self.used])):
                raise InputError(f"{name} wants a finite number for each reading that is used")
        if np.any((self.lower < self.upper)[self.used]) or np.any(self.upper[self.used] < 0):
            raise InputError("a slice begins at or below the surface and ends no higher than it begins")
        if np.any(self.content[self.used] < 0):
            raise InputError("a chloride content is negative")
        if not np.all(np.asarray(self.age) > 0):
            raise InputError("the time of exposure is positive")

    def only(self, which: Array) -> Profiles:
        """Return some of the profiles."""
        return Profiles(*(getattr(self, name)[which] for name in ("upper", "lower", "content", "used", "age")))


@dataclass(frozen=True)
class Fits:
    """What was fitted, one profile an element; not a number where `why` refuses the profile.

    Attributes
    ----------
    D, C_s, C_0 : array, shape (n,)
        Diffusion coefficient in m²/s, surface content and background in kg/m³.
    covariance : array, shape (n, 3, 3)
        Of C_0, C_s − C_0 and ln s.
    rss, r2, rms : array, shape (n,)
        Sum of squared residuals, coefficient of determination, root of RSS over degrees of freedom.
    points, freedom : array of int, shape (n,)
        Readings used, and how many more they are than what was fitted.
    why : list of str
        Why a profile was refused; empty where it was fitted.
    held : array of bool, shape (n,)
        Whether a fitted background would have been negative and was held at zero.
    surface, sliced : how it was fitted
    age : array, shape (n,)
    """

    D: Array
    C_s: Array
    C_0: Array
    covariance: Array
    rss: Array
    r2: Array
    rms: Array
    points: Array
    freedom: Array
    why: list[str]
    held: Array
    surface: Surface
    sliced: bool
    age: Array

    @property
    def se_D(self) -> Array:
        """Standard error of D."""
        return 2 * self.D * np.sqrt(self.covariance[:, 2, 2])

    @property
    def se_C_s(self) -> Array:
        """Standard error of the surface content."""
        c = self.covariance
        return np.sqrt(c[:, 0, 0] + c[:, 1, 1] + 2 * c[:, 0, 1])

    @property
    def se_C_0(self) -> Array:
        """Standard error of the background; nil where it was known or held."""
        return np.sqrt(self.covariance[:, 0, 0])

    def curve(self, i: int, depth: Array, confidence: float = 0.95) -> tuple[Array, Array]:
        """Return content at depths of one profile, and half the width of the confidence band of the mean.

        Parameters
        ----------
        i : int
            Which profile.
        depth : array, shape (k,)
            In metres.
        confidence : float
            For instance 0.95.

        Returns
        -------
        content, half : array, shape (k,)
            In kg/m³.
        """
        from scipy.special import stdtrit

        depth = np.asarray(depth, float)
        s = 2 * np.sqrt(self.D[i] * self.age[i])
        part, slope = shape(self.surface, s, depth, depth, False)
        rise = self.C_s[i] - self.C_0[i]
        row = np.stack([np.ones_like(part), part, rise * slope], -1)
        variance = np.einsum("ki,ij,kj->k", row, self.covariance[i], row)
        t = stdtrit(max(int(self.freedom[i]), 1), 0.5 + confidence / 2)
        return self.C_0[i] + rise * part, t * np.sqrt(np.maximum(variance, 0))


def unfit(profiles: Profiles, need: int, C_s: Array | None = None) -> list[str]:
    """Say of each profile why it is no diffusion profile; empty if it may be one.

    Parameters
    ----------
    profiles : Profiles
    need : int
        Fewest readings: one more than what is fitted.
    C_s : array, shape (n,), optional
        Surface content in kg/m³, where it is given.

    Returns
    -------
    list of str
    """
    used, content = profiles.used, profiles.content
    points = used.sum(1)
    order = np.argsort(np.where(used, profiles.upper, np.inf), axis=1, kind="stable")
    first = np.take_along_axis(np.where(used, content, 0.0), order[:, :1], 1)[:, 0]
    most, least = np.where(used, content, 0.0).max(1), np.where(used, content, np.inf).min(1)
    cases = {
        "fewer readings to fit than " + str(need): points < need,
        "all readings are zero": most <= 0,
        f"flat: the readings differ by less than {SCATTER:.0%} of the highest, which is their scatter": (
            most - least < SCATTER * most
        ),
        f"inside maximum: a deeper reading is higher than the first one used by more than their scatter of {SCATTER:.0%}; leave "
        "out the readings above the maximum (a deeper surface layer of the core) or single ones, with a reason": (
            first < (1 - SCATTER) * most
        ),
    }
    if C_s is not None:
        cases[f"a reading is higher than the surface content given by more than their scatter of {SCATTER:.0%}"] = (
            C_s < (1 - SCATTER) * most
        )
    said = [""] * len(points)
    for text, bad in reversed(cases.items()):
        for place in np.flatnonzero(bad):
            said[place] = text
    return said


def fit_profiles(
    profiles: Profiles, C_0: Array | None = None, surface: Surface = "constant", sliced: bool = False,
    refused: Sequence[str] = (), C_s: Array | None = None,
) -> Fits:  # fmt: skip
    """Fit Fick's second law to all profiles in one call.

    Least squares of C_0 + (C_s − C_0) erfc(x / 2 √(D t)), or of the closed form for a growing surface.

    Parameters
    ----------
    profiles : Profiles
    C_0 : array, shape (n,), optional
        Known background in kg/m³; without it the background is fitted, and held at zero where it would be negative, also where
        the free search runs to an endless D with it. A profile is refused only if that fails too.
    surface : {"constant", "linear", "root"}
        How the surface content came about; C_s is that of the age of the profile.
    sliced : bool
        Whether the closed form is integrated over each slice, instead of taken at its middle.
    refused : sequence of str
        Reasons from elsewhere (for instance a core on a crack) why a profile is not to be fitted; empty where there is none.
    C_s : array, shape (n,), optional
        Surface content in kg/m³ that is given rather than fitted; the background is then known too.

    Returns
    -------
    Fits

    Raises
    ------
    InputError
        If readings are not finite or negative, or a surface content that is given does not exceed a known background.

    Notes
    -----
    Least squares as in Florida DOT BA502, p. 10, ASTM C1556 and NT BUILD 443. Standard errors are those of the linearised
    problem.

    Examples
    --------
    >>> import numpy as np
    >>> from scipy.special import erfc
    >>> x, t = np.array([[5., 15., 25., 35., 45.]]) / 1000, np.array([20 * 31557600.0])
    >>> C = 0.2 + 6 * erfc(x / (2 * np.sqrt(1e-12 * t[0])))
    >>> fits = fit_profiles(Profiles(x, x, C, np.ones_like(x, bool), t))
    >>> f"{fits.D[0]:.4g} {fits.C_s[0]:.4f} {fits.C_0[0]:.4f}"
    '1e-12 6.2000 0.2000'
    """
    count = len(profiles.content)
    known, given = (None if one is None else np.broadcast_to(np.asarray(one, float), (count,)) for one in (C_0, C_s))
    if given is not None and (known is None or not np.all(given > known)):
        raise InputError("a surface content that is given wants a known background that is less")
    need = 1 + 3 - (known is not None) - (given is not None)
    why = [a or b for a, b in zip(list(refused) or [""] * count, unfit(profiles, need, given), strict=True)]
    good = np.array([not text for text in why], bool)
    rise = None if given is None or known is None else (given - known)[good]
    part = profiles.only(good)
    u, edge = search(part, None if known is None else known[good], surface, sliced, rise)
    fits = solved(profiles, good, u, known, surface, sliced, why, rise)
    below = np.zeros(count, bool) if known is not None else fits.C_0 < 0
    for place, at_edge in zip(np.flatnonzero(good), edge, strict=True):
        if at_edge and not below[place]:
            why[place] = "the readings do not fix the diffusion coefficient: the best fit lies at the end of the search"
    fits = blanked(fits, np.array([bool(text) for text in why], bool), why)
    if not np.any(below):
        return fits
    again = fit_profiles(profiles.only(below), np.zeros(int(below.sum())), surface, sliced)
    return merged(fits, again, below)


def linear(
    part: Array, slope: Array, y: Array, w: Array, free: bool, rise: Array | None = None
) -> tuple[Array, Array, Array, Array]:
    """Solve for the linear unknown: rise, residuals, and part and slope as they enter (centred if C_0 is free)."""
    if free:
        total = w.sum(1, keepdims=True)
        part = part - (w * part).sum(1, keepdims=True) / total
        slope = slope - (w * slope).sum(1, keepdims=True) / total
        y = y - (w * y).sum(1, keepdims=True) / total
    if rise is None:
        weighted = w * part
        rise = (weighted * y).sum(1) / np.maximum((weighted * part).sum(1), 1e-300)
    return rise, w * (y - rise[:, None] * part), part, slope


def search(
    profiles: Profiles, C_0: Array | None, surface: Surface, sliced: bool, given: Array | None = None
) -> tuple[Array, Array]:
    """Find ln s of minimum squared error for every profile; also whether it lies at an end of the search."""
    w = profiles.used.astype(float)
    y = np.where(profiles.used, profiles.content, 0.0) - (0.0 if C_0 is None else C_0[:, None])
    free = C_0 is None
    middle = np.where(profiles.used, (profiles.upper + profiles.lower) / 2, np.nan)
    if not len(w):
        return np.empty(0), np.empty(0, bool)
    low = np.log(SHORT * np.nanmin(np.where(middle > 0, middle, np.nan), 1))
    step = (np.log(LONG * np.nanmax(middle, 1)) - low) / (SCAN - 1)
    gains = np.empty((SCAN, len(w)))
    for k in range(SCAN):
        part, _ = shape(surface, np.exp(low + k * step)[:, None], profiles.upper, profiles.lower, sliced, False)
        rise, r, *_ = linear(part, part, y, w, free, given)
        gains[k] = np.where(rise > 0, -(r**2).sum(1), -np.inf)
    best = gains.argmax(0)
    edge = (best == 0) | (best == SCAN - 1) | np.isneginf(gains.max(0))
    u = low + best * step
    a, b = u - step, u + step
    old_u, old_h = np.full_like(u, np.nan), np.full_like(u, np.nan)
    active = np.flatnonzero(~edge)
    for _ in range(60):
        if not len(active):
            break
        part, slope = shape(surface, np.exp(u[active])[:, None], profiles.upper[active], profiles.lower[active], sliced)
        fixed = None if given is None else given[active]
        rise, r, part, slope = linear(part, slope, y[active], w[active], free, fixed)
        h = -rise * (r * slope).sum(1)  # half the derivative of the squared error by ln s
        turn = (w[active] * slope * part).sum(1) / (w[active] * part**2).sum(1) if fixed is None else np.zeros_like(h)
        across = slope - part * turn[:, None]
        gauss = h / np.maximum(rise**2 * (w[active] * across**2).sum(1), 1e-300)
        now = u[active]
        a[active], b[active] = np.where(h <= 0, now, a[active]), np.where(h >= 0, now, b[active])
        with np.errstate(divide="ignore", invalid="ignore"):
            secant = h * (now - old_u[active]) / (h - old_h[active])
        change = np.where(np.isfinite(secant) & (np.abs(secant) < 2 * np.abs(gauss)), secant, gauss)
        new = now - change
        inside = (new > a[active]) & (new < b[active])
        new = np.where(inside | (h == 0), new, (a[active] + b[active]) / 2)
        old_u[active], old_h[active] = now, h
        u[active] = new
        active = active[np.abs(new - now) > STILL]
    return u, edge


def solved(
    profiles: Profiles, good: Array, u: Array, known: Array | None, surface: Surface, sliced: bool, why: list[str],
    given: Array | None = None,
) -> Fits:  # fmt: skip
    """Work out the fit, its errors and its goodness at the ln s that were found."""
    count = len(good)
    part_of = profiles.only(good)
    w, free = part_of.used.astype(float), known is None
    y = np.where(part_of.used, part_of.content, 0.0)
    base = np.zeros(len(w)) if known is None else known[good]
    part, slope = shape(surface, np.exp(u)[:, None], part_of.upper, part_of.lower, sliced)
    rise, r, _, _ = linear(part, slope, y - base[:, None], w, free, given)
    points = w.sum(1)
    if free:
        base = ((w * y).sum(1) - rise * (w * part).sum(1)) / points
    unknown = 3 - (not free) - (given is not None)
    freedom = points - unknown
    rss = (r**2).sum(1)
    mean = (w * y).sum(1) / points
    spread = (w * (y - mean[:, None]) ** 2).sum(1)
    J = np.stack([w, w * part, w * rise[:, None] * slope][3 - unknown :], -1)
    variance = rss / np.maximum(freedom, 1)
    inverse = (
        inverse_of(np.swapaxes(J, 1, 2) @ J) * variance[:, None, None] if len(w) else np.empty((0, unknown, unknown))
    )
    covariance = np.zeros((count, 3, 3))
    if len(w):
        covariance[good, 3 - inverse.shape[1] :, 3 - inverse.shape[1] :] = inverse

    def all_of(values: Array) -> Array:
        out = np.full(count, np.nan)
        out[good] = values
        return out

    age = np.broadcast_to(np.asarray(profiles.age, float), (count,))
    return Fits(
        all_of(np.exp(2 * u) / (4 * age[good])), all_of(base + rise), all_of(base), covariance, all_of(rss),
        all_of(1 - rss / spread), all_of(np.sqrt(variance)), profiles.used.sum(1), profiles.used.sum(1) - unknown,
        why, np.zeros(count, bool), surface, sliced, age,
    )  # fmt: skip


def inverse_of(normal: Array) -> Array:
    """Return the inverse of many small matrices; infinite where there is none."""
    try:
        return np.linalg.inv(normal)
    except np.linalg.LinAlgError:
        good = np.linalg.matrix_rank(normal) == normal.shape[-1]
        out = np.full_like(normal, np.inf)
        out[good] = np.linalg.inv(normal[good])
        return out


ARRAYS = ("D", "C_s", "C_0", "covariance", "rss", "r2", "rms")


def blanked(fits: Fits, bad: Array, why: list[str]) -> Fits:
    """Take away the numbers of profiles that are refused."""
    new = {name: getattr(fits, name).copy() for name in ARRAYS}
    for values in new.values():
        values[bad] = np.nan
    return replace(fits, why=why, **new)


def merged(fits: Fits, again: Fits, where: Array) -> Fits:
    """Put in what was fitted again with the background held at zero."""
    new = {name: getattr(fits, name).copy() for name in (*ARRAYS, "freedom", "held")}
    for name in (*ARRAYS, "freedom"):
        new[name][where] = getattr(again, name)
    new["held"][where] = True
    why = list(fits.why)
    for place, text in zip(np.flatnonzero(where), again.why, strict=True):
        why[place] = text
    return replace(fits, why=why, **new)
