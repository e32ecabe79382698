"""One profile fitted with units, as a calculation: what `fit_profiles` finds for many at once, line by line."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.chloride.formulas.contents import Measured
from deckcalc.chloride.formulas.curves import shape
from deckcalc.chloride.formulas.diffusion import Elapsed
from deckcalc.chloride.formulas.fit import Fits, Profiles, fit_profiles
from deckcalc.core.calculation import ListOf, Range, above, below, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import ChlorideContent, Diffusion, Length

Depths = Annotated[Length, Range("0 mm", "1500 mm"), ListOf(2)]
Readings = Annotated[ChlorideContent, Range("0 kg/m³", "60 kg/m³"), ListOf(2)]
SOURCE = (
    Cite("fdot-ba502", "p. 10, least squares on profiles"),
    Cite("", "the curve is integrated over each slice", "common practice"),
)
NOTES = (
    "Diffusion into a thick slab from one face, with a surface content and a coefficient that stood still over the exposure: D is "
    "an apparent coefficient of that age.",
    "A reading at a point begins and ends at one depth; a slice enters with the mean of the curve over it.",
)


def fitted(x_from: Any, x_to: Any, C: Any, C_0: Any = None, C_s: Any = None) -> Fits:
    """Fit profiles on the last axis, of an exposure of one second; a profile that is refused is an error.

    Raises
    ------
    TableError
        With the reason why a profile cannot be fitted.
    """
    x_from, x_to, C = (np.atleast_2d(one) for one in np.broadcast_arrays(x_from, x_to, C))
    if np.any(below(x_to, x_from)) or np.any(np.diff(x_from) <= 0):
        raise TableError("each slice ends no higher than it begins, and slices stand from the top down")
    x_to = ends(x_from, x_to)
    upper, lower, content = (one.reshape(-1, one.shape[-1]) for one in (x_from, x_to, C))
    count = len(content)
    held = [None if one is None else np.broadcast_to(one, C.shape[:-1]).reshape(count) for one in (C_0, C_s)]
    profiles = Profiles(upper, lower, content, np.ones(content.shape, bool), np.ones(count))
    made = fit_profiles(profiles, held[0], "constant", bool(np.any(lower > upper)), C_s=held[1])
    for why in made.why:
        if why:
            raise TableError(why)
    return made


def ends(x_from: Any, x_to: Any) -> Any:
    """Return where slices end; a reading at a point ends where it begins, without the noise of a conversion of units."""
    return np.where(above(x_to, x_from), x_to, x_from)


def of_shape(values: Any, C: Any) -> Any:
    """Return one value a profile in the shape that the readings have without their last axis."""
    return np.reshape(values, np.shape(C)[:-1])


@lookup("that of the curve closest to {C} by least squares, held at zero if it would be negative")
def fitted_background(x_from: Depths, x_to: Depths, C: Readings) -> ChlorideContent:
    """Return the background of the best fit in which background, surface content and length are free."""
    return of_shape(fitted(x_from, x_to, C).C_0, C)


@lookup("that of the curve above {C_0} closest to {C} by least squares; twice the root of coefficient and exposure")
def fitted_length(x_from: Depths, x_to: Depths, C: Readings, C_0: ChlorideContent) -> Length:
    """Return the length of the best fit in which surface content and length are free."""
    return of_shape(2 * np.sqrt(fitted(x_from, x_to, C, C_0).D), C)


@lookup("that of the curve of the length {s} above {C_0} closest to {C} by linear least squares")
def fitted_surface(x_from: Depths, x_to: Depths, C: Readings, C_0: ChlorideContent, s: Length) -> ChlorideContent:
    """Return the surface content that goes with a diffusion length."""
    length, base = (np.expand_dims(np.asarray(one, float), -1) for one in (s, C_0))
    x_to = ends(x_from, x_to)
    part, _ = shape("constant", length, np.asarray(x_from), x_to, bool(np.any(x_to > x_from)))
    return base[..., 0] + (part * (C - base)).sum(-1) / (part**2).sum(-1)


@lookup(
    "that of the curve from {C_s} down to {C_0} closest to {C} by least squares; twice the root of coefficient and exposure"
)
def length_of_coefficient(
    x_from: Depths, x_to: Depths, C: Readings, C_0: ChlorideContent, C_s: ChlorideContent
) -> Length:
    """Return the length of the best fit in which it alone is free."""
    return of_shape(2 * np.sqrt(fitted(x_from, x_to, C, C_0, C_s).D), C)


class FittedProfile(NamedTuple):
    """Result of `fit_profile`."""

    s: Length
    D: Diffusion
    C_s: ChlorideContent


@calculation(title="Profile fitted, background known", source=SOURCE, notes=NOTES)
def fit_profile(x_from: Depths, x_to: Depths, C: Readings, t: Elapsed, C_0: Measured) -> FittedProfile:
    r"""Diffusion coefficient and surface content of one profile by least squares.

    .. math:: C(x) = C_0 + (C_s - C_0) \operatorname{erfc}\frac{x}{s}, \quad s = 2 \sqrt{D t}

    Parameters
    ----------
    x_from : quantity of length, shape (..., n)
        depths at which the slices begin, from the top down
    x_to : quantity of length, shape (..., n)
        depths at which they end; the same for readings at points
    C : quantity of mass per volume, shape (..., n)
        chloride contents of the slices
    t : quantity of time, shape (...,)
        exposure when the core was taken
    C_0 : quantity of mass per volume, shape (...,)
        background content

    Returns
    -------
    FittedProfile
        `s` diffusion length, `D` apparent diffusion coefficient, `C_s` surface content.

    Raises
    ------
    InputError
        If the readings are no profile that falls with depth, or do not fix the coefficient; the reason is said.

    Notes
    -----
    Least squares. Source: Florida DOT BA502, p. 10.

    Examples
    --------
    >>> made = fit_profile("5 mm, 15 mm, 25 mm, 35 mm", "5 mm, 15 mm, 25 mm, 35 mm",
    ...     "4.41 kg/m^3, 2.04 kg/m^3, 0.69 kg/m^3, 0.22 kg/m^3", "20 yr", "0.1 kg/m^3")
    >>> f"{made.D.to('mm²/yr'):.2f~P}, {made.C_s:.2f~P}"
    '5.96 mm²/a, 5.89 kg/m³'
    """
    s = fitted_length(x_from, x_to, C, C_0)  # diffusion length
    D = s**2 / (4 * t)  # apparent diffusion coefficient
    C_s = fitted_surface(x_from, x_to, C, C_0, s)  # surface content
    return FittedProfile(s, D, C_s)


class FittedWithBackground(NamedTuple):
    """Result of `fit_profile_and_background`."""

    C_0: ChlorideContent
    s: Length
    D: Diffusion
    C_s: ChlorideContent


@calculation(
    title="Profile fitted, background fitted too",
    source=SOURCE,
    notes=(
        *NOTES,
        "Where chloride reaches beyond the deepest slice the fit cannot tell it from background: D comes out low. A background that "
        "would be negative is held at zero.",
    ),
)
def fit_profile_and_background(x_from: Depths, x_to: Depths, C: Readings, t: Elapsed) -> FittedWithBackground:
    r"""Diffusion coefficient, surface content and background of one profile by least squares.

    .. math:: C(x) = C_0 + (C_s - C_0) \operatorname{erfc}\frac{x}{s}, \quad s = 2 \sqrt{D t}

    Parameters
    ----------
    x_from : quantity of length, shape (..., n)
        depths at which the slices begin, from the top down
    x_to : quantity of length, shape (..., n)
        depths at which they end; the same for readings at points
    C : quantity of mass per volume, shape (..., n)
        chloride contents of the slices
    t : quantity of time, shape (...,)
        exposure when the core was taken

    Returns
    -------
    FittedWithBackground
        `C_0` background, `s` diffusion length, `D` apparent diffusion coefficient, `C_s` surface content.

    Raises
    ------
    InputError
        If the readings are no profile that falls with depth, or do not fix the coefficient; the reason is said.

    Notes
    -----
    Least squares; at the best background, length and surface content are those of the fit with that background known.
    Source: Florida DOT BA502, p. 10.

    Examples
    --------
    >>> x = "0.19 in, 0.45 in, 0.70 in, 0.95 in, 1.33 in, 3.46 in"
    >>> made = fit_profile_and_background(
    ...     x, x, "17.22 lb/yd^3, 14.96 lb/yd^3, 13.41 lb/yd^3, 12.72 lb/yd^3, 8.89 lb/yd^3, 2.61 lb/yd^3", "10 yr")
    >>> f"{made.D.to('in²/yr'):.3f~P}, {made.C_s.to('lb/yd³'):.1f~P}, {made.C_0.to('lb/yd³'):.2f~P}"
    '0.163 in²/a, 18.6 lb/yd³, 1.64 lb/yd³'
    """
    C_0 = fitted_background(x_from, x_to, C)  # background
    s = fitted_length(x_from, x_to, C, C_0)  # diffusion length
    D = s**2 / (4 * t)  # apparent diffusion coefficient
    C_s = fitted_surface(x_from, x_to, C, C_0, s)  # surface content
    return FittedWithBackground(C_0, s, D, C_s)


class FittedCoefficient(NamedTuple):
    """Result of `fit_coefficient`."""

    s: Length
    D: Diffusion


@calculation(
    title="Profile fitted, surface content given",
    source=SOURCE,
    notes=(*NOTES, "The surface content is the engineer's, and D goes with it."),
)
def fit_coefficient(
    x_from: Depths, x_to: Depths, C: Readings, t: Elapsed, C_0: Measured, C_s: Measured
) -> FittedCoefficient:
    r"""Diffusion coefficient of one profile by least squares, with a surface content that is given.

    .. math:: C(x) = C_0 + (C_s - C_0) \operatorname{erfc}\frac{x}{s}, \quad s = 2 \sqrt{D t}

    Parameters
    ----------
    x_from : quantity of length, shape (..., n)
        depths at which the slices begin, from the top down
    x_to : quantity of length, shape (..., n)
        depths at which they end; the same for readings at points
    C : quantity of mass per volume, shape (..., n)
        chloride contents of the slices
    t : quantity of time, shape (...,)
        exposure when the core was taken
    C_0 : quantity of mass per volume, shape (...,)
        background content
    C_s : quantity of mass per volume, shape (...,)
        surface content

    Returns
    -------
    FittedCoefficient
        `s` diffusion length, `D` apparent diffusion coefficient.

    Raises
    ------
    InputError
        If the readings are no profile that falls with depth, do not fix the coefficient or lie above the surface content.

    Notes
    -----
    Least squares. Source: Florida DOT BA502, p. 10.

    Examples
    --------
    >>> x = "5 mm, 15 mm, 25 mm, 35 mm"
    >>> made = fit_coefficient(
    ...     x, x, "4.41 kg/m^3, 2.04 kg/m^3, 0.69 kg/m^3, 0.22 kg/m^3", "20 yr", "0.1 kg/m^3", "6 kg/m^3")
    >>> f"{made.D.to('mm²/yr'):.2f~P}"
    '5.76 mm²/a'
    """
    s = length_of_coefficient(x_from, x_to, C, C_0, C_s)  # diffusion length
    D = s**2 / (4 * t)  # apparent diffusion coefficient
    return FittedCoefficient(s, D)
