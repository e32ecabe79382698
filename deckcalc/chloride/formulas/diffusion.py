"""Chloride that has diffused in: content at a depth and a time, for a steady surface, a growing one, and a corner."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.chloride.formulas.contents import Measured
from deckcalc.chloride.formulas.profile import Depth
from deckcalc.core.calculation import Range, calculation, erf, erfc, exp, pi, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import ChlorideContent, Diffusion, Length, Ratio, Years

Coefficient = Annotated[Diffusion, Range("0.001 mm²/yr", "10000 mm²/yr")]
Elapsed = Annotated[Years, Range("0 yr", "500 yr", above=True)]

FICK_NOTES = (
    "Fick's second law in a half space: D is an apparent coefficient, the same at every depth, and holds what is bound "
    "as well as what moves.",
    "Cracks, wetting and drying near the surface, and the far face of the slab are not in it.",
)


class FaceContent(NamedTuple):
    """Result of `face_content`."""

    s: Length
    z: Ratio
    e: Ratio
    C_x: ChlorideContent


@calculation(
    title="Chloride ingress from a face",
    source=(Cite("fdot-ba502", "Eq. (1), p. 10"), Cite("astm-c1556", "equation of the profile", "memory")),
    notes=FICK_NOTES,
)
def face_content(x: Depth, t: Elapsed, D: Coefficient, C_s: Measured, C_0: Measured) -> FaceContent:
    r"""Chloride content at a depth, where the content of the surface has been the same all the time.

    .. math:: C_x = C_0 + (C_s - C_0) \operatorname{erfc} \frac{x}{2 \sqrt{D t}}

    Parameters
    ----------
    x : quantity of length, shape (...,)
        depth below the surface
    t : quantity of time, shape (...,)
        age of exposure
    D : quantity of area per time, shape (...,)
        apparent diffusion coefficient
    C_s : quantity of mass per volume, shape (...,)
        content of the surface
    C_0 : quantity of mass per volume, shape (...,)
        content of the concrete as cast

    Returns
    -------
    FaceContent
        `s` 2 √(D t), `z` depth in that unit, `e` part of the surface content, `C_x` content at the depth.

    Raises
    ------
    InputError
        If a value is negative or out of range.

    Notes
    -----
    Source: Florida DOT BA502, Eq. (1). ASTM C1556 and NT BUILD 443 fit the same equation to profiles.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = face_content(Q(2, "in"), Q(20, "yr"), Q(0.05, "in²/yr"), Q(10, "lb/yd³"), Q(0, "lb/yd³"))
    >>> f"{made.z:.3f~P}, {made.C_x.to('lb/yd³'):.2f~P}"
    '1.000, 1.57 lb/yd³'
    """
    s = 2 * sqrt(D * t)  # diffusion length
    z = x / s  # depth as a part of it
    e = erfc(z)  # part of the surface content that has come so far
    C_x = C_0 + e * (C_s - C_0)  # chloride content at the depth
    return FaceContent(s, z, e, C_x)


class CornerContent(NamedTuple):
    """Result of `corner_content`."""

    s: Length
    z_x: Ratio
    z_y: Ratio
    e_x: Ratio
    e_y: Ratio
    C_x: ChlorideContent


@calculation(
    title="Chloride ingress from two faces of an edge",
    source=(Cite("fdot-ba502", "Table 8, p. 70, corner"), Cite("crank", "product solutions", "memory")),
    notes=(*FICK_NOTES, "Both faces have the same surface content and stand at right angles."),
)
def corner_content(x: Depth, y: Depth, t: Elapsed, D: Coefficient, C_s: Measured, C_0: Measured) -> CornerContent:
    r"""Chloride content near an edge of the deck, where salt comes in from two faces.

    .. math:: C_x = C_0 + (C_s - C_0) \left(1 - \operatorname{erf}\frac{x}{2\sqrt{Dt}}\operatorname{erf}\frac{y}{2\sqrt{Dt}}\right)

    Parameters
    ----------
    x : quantity of length, shape (...,)
        depth below the top
    y : quantity of length, shape (...,)
        distance from the side face
    t : quantity of time, shape (...,)
        age of exposure
    D : quantity of area per time, shape (...,)
        apparent diffusion coefficient
    C_s : quantity of mass per volume, shape (...,)
        content of both surfaces
    C_0 : quantity of mass per volume, shape (...,)
        content of the concrete as cast

    Returns
    -------
    CornerContent
        `s` 2 √(D t), `z_x` and `z_y` both depths in that unit, `e_x` and `e_y` their error functions, `C_x` content.

    Raises
    ------
    InputError
        If a value is negative or out of range.

    Notes
    -----
    Source: product of two one-dimensional solutions; used for the corners of Florida DOT BA502, Table 8.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = corner_content(Q(50, "mm"), Q(50, "mm"), Q(25, "yr"), Q(25, "mm²/yr"), Q(6, "kg/m³"), Q(0, "kg/m³"))
    >>> f"{made.C_x:.2f~P}"
    '1.74 kg/m³'
    """
    s = 2 * sqrt(D * t)  # diffusion length
    z_x = x / s  # depth below the top as a part of it
    z_y = y / s  # distance from the side face as a part of it
    e_x = erf(z_x)  # error function of the one
    e_y = erf(z_y)  # error function of the other
    C_x = C_0 + (1 - e_x * e_y) * (C_s - C_0)  # chloride content
    return CornerContent(s, z_x, z_y, e_x, e_y, C_x)


class GrowingContent(NamedTuple):
    """Result of `content_linear_surface` and `content_root_surface`."""

    q: Ratio
    s: Length
    z: Ratio
    y: Ratio
    e: Ratio
    g: Ratio
    f: Ratio
    C_x: ChlorideContent


GROWING_NOTE = (
    "The surface content starts from the background and is known at one age; its growth beyond that age is assumed."
)


@calculation(
    title="Chloride below a surface whose content grows in proportion to time",
    source=Cite("crank", "chapter 3, surface concentration k t", "memory"),
    notes=(*FICK_NOTES, GROWING_NOTE),
)
def content_linear_surface(
    x: Depth, t: Elapsed, D: Coefficient, C_a: Measured, t_a: Elapsed, C_0: Measured
) -> GrowingContent:
    r"""Chloride content at a depth, where the surface content grows in proportion to time.

    .. math:: C_x = C_0 + (C_a - C_0) \frac{t}{t_a}
        \left[(1 + 2 z^2) \operatorname{erfc} z - \frac{2}{\sqrt\pi} z e^{-z^2}\right], \quad z = \frac{x}{2 \sqrt{D t}}

    Parameters
    ----------
    x : quantity of length, shape (...,)
        depth below the surface
    t : quantity of time, shape (...,)
        age of exposure
    D : quantity of area per time, shape (...,)
        apparent diffusion coefficient
    C_a : quantity of mass per volume, shape (...,)
        content of the surface at a known age
    t_a : quantity of time, shape (...,)
        that age
    C_0 : quantity of mass per volume, shape (...,)
        content of the concrete as cast

    Returns
    -------
    GrowingContent
        `q` growth of the surface, `s` 2 √(D t), `z` depth in that unit, `y` −z², `e` erfc z, `g` exp y, `f` part of
        the surface content, `C_x` content at the depth.

    Raises
    ------
    InputError
        If a value is negative or out of range.

    Notes
    -----
    Source: Crank, chapter 3, recalled; held against a finite-difference solution in the tests.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = content_linear_surface(
    ...     Q(25, "mm"), Q(20, "yr"), Q(30, "mm²/yr"), Q(4, "kg/m³"), Q(20, "yr"), Q(0, "kg/m³"))
    >>> f"{made.C_x:.4f~P}"
    '1.0869 kg/m³'
    """
    q = t / t_a  # growth of the surface content since it was known
    s = 2 * sqrt(D * t)  # diffusion length
    z = x / s  # depth as a part of it
    y = -z * z  # exponent
    e = erfc(z)  # complementary error function
    g = exp(y)  # exponential function
    f = (1 + 2 * z**2) * e - 2 * z * g / sqrt(pi)  # part of the surface content that has come so far
    C_x = C_0 + q * f * (C_a - C_0)  # chloride content at the depth
    return GrowingContent(q, s, z, y, e, g, f, C_x)


@calculation(
    title="Chloride below a surface whose content grows with the root of time",
    source=Cite("crank", "chapter 3, surface concentration k √t", "memory"),
    notes=(*FICK_NOTES, GROWING_NOTE),
)
def content_root_surface(
    x: Depth, t: Elapsed, D: Coefficient, C_a: Measured, t_a: Elapsed, C_0: Measured
) -> GrowingContent:
    r"""Chloride content at a depth, where the surface content grows with the square root of time.

    .. math:: C_x = C_0 + (C_a - C_0) \sqrt{\frac{t}{t_a}}
        \left[e^{-z^2} - \sqrt\pi z \operatorname{erfc} z\right], \quad z = \frac{x}{2 \sqrt{D t}}

    Parameters
    ----------
    x : quantity of length, shape (...,)
        depth below the surface
    t : quantity of time, shape (...,)
        age of exposure
    D : quantity of area per time, shape (...,)
        apparent diffusion coefficient
    C_a : quantity of mass per volume, shape (...,)
        content of the surface at a known age
    t_a : quantity of time, shape (...,)
        that age
    C_0 : quantity of mass per volume, shape (...,)
        content of the concrete as cast

    Returns
    -------
    GrowingContent
        `q` growth of the surface, `s` 2 √(D t), `z` depth in that unit, `y` −z², `e` erfc z, `g` exp y, `f` part of
        the surface content, `C_x` content at the depth.

    Raises
    ------
    InputError
        If a value is negative or out of range.

    Notes
    -----
    Source: Crank, chapter 3, recalled; held against a finite-difference solution in the tests.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = content_root_surface(
    ...     Q(25, "mm"), Q(20, "yr"), Q(30, "mm²/yr"), Q(4, "kg/m³"), Q(20, "yr"), Q(0, "kg/m³"))
    >>> f"{made.C_x:.4f~P}"
    '1.3807 kg/m³'
    """
    q = sqrt(t / t_a)  # growth of the surface content since it was known
    s = 2 * sqrt(D * t)  # diffusion length
    z = x / s  # depth as a part of it
    y = -z * z  # exponent
    e = erfc(z)  # complementary error function
    g = exp(y)  # exponential function
    f = g - sqrt(pi) * z * e  # part of the surface content that has come so far
    C_x = C_0 + q * f * (C_a - C_0)  # chloride content at the depth
    return GrowingContent(q, s, z, y, e, g, f, C_x)
