"""Time until the chloride at a bar reaches the threshold."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

import numpy as np

from deckcalc.chloride.formulas.contents import Measured
from deckcalc.chloride.formulas.diffusion import FICK_NOTES, Coefficient, Elapsed
from deckcalc.chloride.formulas.special import z_in_a_corner, z_on_a_face
from deckcalc.core.calculation import Range, calculation, exp
from deckcalc.core.sources import Cite
from deckcalc.core.units import (
    ChlorideContent,
    Diffusion,
    InputError,
    Length,
    Ratio,
    Temperature,
    TemperatureConstant,
    Years,
)

Cover = Annotated[Length, Range("1 mm", "500 mm")]
Factor = Annotated[Ratio, Range("0.1", "100")]
Ageing = Annotated[Ratio, Range("0", "0.95")]
Warmth = Annotated[Temperature, Range("-20 °C", "60 °C")]


class InitiationTime(NamedTuple):
    """Result of `time_to_initiation`."""

    C_Tn: ChlorideContent
    C_sn: ChlorideContent
    z: Ratio
    D_e: Diffusion
    t_1: Years


@calculation(
    title="Time to initiation below a face",
    source=(Cite("fdot-ba502", "Table 8, p. 70, flat wall; bar obstruction: Appendix 4"),),
    notes=(
        *FICK_NOTES,
        "A bar stands in the way of the chloride and gathers it before itself: the factor on the time is 0.85 in typical "
        "cases of the source, less for thick bars under thin cover.",
        "The crack factor is the engineer's: how many times faster chloride moves in the cracked concrete.",
    ),
)
def time_to_initiation(
    x: Cover, D: Coefficient, C_s: Measured, C_0: Measured, C_T: Measured,
    k_T: Factor = 1,  # type: ignore[assignment]
    k_cr: Factor = 1,  # type: ignore[assignment]
    k_b: Annotated[Ratio, Range("0.3", "1")] = 1,  # type: ignore[assignment]
) -> InitiationTime:  # fmt: skip
    r"""Time until the content at a bar reaches the threshold, with a steady surface and a steady coefficient.

    .. math:: t_1 = k_b \frac{x^2}{4 k_T k_{cr} D z^2}, \quad \operatorname{erfc} z = \frac{C_T - C_0}{C_s - C_0}

    Parameters
    ----------
    x : quantity of length, shape (...,)
        cover of the bar
    D : quantity of area per time, shape (...,)
        apparent diffusion coefficient
    C_s : quantity of mass per volume, shape (...,)
        content of the surface
    C_0 : quantity of mass per volume, shape (...,)
        content of the concrete as cast
    C_T : quantity of mass per volume, shape (...,)
        threshold, counted like the other contents
    k_T : quantity without dimension, shape (...,)
        factor of temperature on the coefficient
    k_cr : quantity without dimension, shape (...,)
        factor of cracks on the coefficient
    k_b : quantity without dimension, shape (...,)
        factor of the bar's own obstruction on the time

    Returns
    -------
    InitiationTime
        `C_Tn` and `C_sn` threshold and surface content above the background, `z` depth in units of 2 √(D t), `D_e`
        effective coefficient, `t_1` time to initiation.

    Raises
    ------
    InputError
        If the surface content does not exceed the threshold (no initiation at any time), if the background reaches it
        (no time is left), or if a value is out of range.

    Notes
    -----
    Source: Florida DOT BA502, Table 8.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = time_to_initiation(
    ...     Q(3, "in"), Q(0.01, "in²/yr"), Q(40, "lb/yd³"), Q(0, "lb/yd³"), Q(3.76, "lb/yd³"), k_b=0.85)
    >>> f"{made.t_1:.1f~P}"
    '136.4 a'
    """
    C_Tn = C_T - C_0  # threshold above the background
    C_sn = C_s - C_0  # surface content above the background
    z = z_on_a_face(C_Tn, C_sn)  # depth of the threshold in units of the diffusion length
    D_e = k_T * k_cr * D  # effective diffusion coefficient
    t_1 = k_b * x**2 / (4 * D_e * z**2)  # time to initiation
    return InitiationTime(C_Tn, C_sn, z, D_e, t_1)


class CornerTime(NamedTuple):
    """Result of `time_to_initiation_corner`."""

    C_Tn: ChlorideContent
    C_sn: ChlorideContent
    z: Ratio
    t_1: Years


@calculation(
    title="Time to initiation in an edge of the deck",
    source=(Cite("fdot-ba502", "Table 8, p. 70, corner"),),
    notes=(
        *FICK_NOTES,
        "The bar lies as deep below the top as behind the side face; no factor for obstruction is used.",
    ),
)
def time_to_initiation_corner(x: Cover, D: Coefficient, C_s: Measured, C_0: Measured, C_T: Measured) -> CornerTime:
    r"""Time until the content at a bar in an edge reaches the threshold, chloride coming from two faces.

    .. math:: t_1 = \frac{x^2}{4 D z^2}, \quad 1 - \operatorname{erf}^2 z = \frac{C_T - C_0}{C_s - C_0}

    Parameters
    ----------
    x : quantity of length, shape (...,)
        cover of the bar below both faces
    D : quantity of area per time, shape (...,)
        apparent diffusion coefficient
    C_s : quantity of mass per volume, shape (...,)
        content of both surfaces
    C_0 : quantity of mass per volume, shape (...,)
        content of the concrete as cast
    C_T : quantity of mass per volume, shape (...,)
        threshold, counted like the other contents

    Returns
    -------
    CornerTime
        `C_Tn` and `C_sn` threshold and surface content above the background, `z` depth in units of 2 √(D t), `t_1`
        time to initiation.

    Raises
    ------
    InputError
        If the surface content does not exceed the threshold, if the background reaches it, or if a value is out of range.

    Notes
    -----
    Source: Florida DOT BA502, Table 8.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = time_to_initiation_corner(
    ...     Q(3, "in"), Q(0.01, "in²/yr"), Q(40, "lb/yd³"), Q(0, "lb/yd³"), Q(3.76, "lb/yd³"))
    >>> f"{made.t_1:.1f~P}"
    '115.3 a'
    """
    C_Tn = C_T - C_0  # threshold above the background
    C_sn = C_s - C_0  # surface content above the background
    z = z_in_a_corner(C_Tn, C_sn)  # depth of the threshold in units of the diffusion length
    t_1 = x**2 / (4 * D * z**2)  # time to initiation
    return CornerTime(C_Tn, C_sn, z, t_1)


class AgedTime(NamedTuple):
    """Result of `apparent_ageing` and `integrated_ageing`."""

    q: Ratio
    t_i: Years


AGEING_NOTE = (
    "Two conventions are in use, and an ageing exponent belongs to the one that it was found by. At m = 0.6 they differ tenfold "
    "in time."
)


@calculation(
    title="Time to initiation with ageing, apparent coefficient",
    source=(Cite("fib-34", "Annex B2, apparent coefficient", "memory"),),
    notes=(AGEING_NOTE, "Here the coefficient that stands for the whole time since placing falls with that time."),
)
def apparent_ageing(t_1: Elapsed, t_r: Elapsed, m: Ageing) -> AgedTime:
    r"""Time to initiation where the apparent coefficient falls with age.

    .. math:: t_i = t_r \left(\frac{t_1}{t_r}\right)^{1/(1-m)}, \quad D_a(t) = D_r (t_r / t)^m

    Parameters
    ----------
    t_1 : quantity of time, shape (...,)
        time to initiation as if the coefficient stayed at its reference value
    t_r : quantity of time, shape (...,)
        age at which the coefficient was found
    m : quantity without dimension, shape (...,)
        ageing exponent

    Returns
    -------
    AgedTime
        `q` exponent, `t_i` time to initiation.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    `D_r` is the apparent coefficient at `t_r`: the value that a profile of that age gives. Source: fib Bulletin 34, Annex
    B2, recalled.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{apparent_ageing(Q(3.0927, 'yr'), Q(28, 'day'), 0.3).t_i:.2f~P}"
    '15.08 a'
    """
    q = 1 / (1 - m)  # exponent
    t_i = t_r * (t_1 / t_r) ** q  # time to initiation
    return AgedTime(q, t_i)


@calculation(
    title="Time to initiation with ageing, instantaneous coefficient",
    source=(Cite("crank", "diffusion coefficient that depends on time", "memory"),),
    notes=(AGEING_NOTE, "Here the instantaneous coefficient falls with age and is summed over time."),
)
def integrated_ageing(t_1: Elapsed, t_r: Elapsed, m: Ageing) -> AgedTime:
    r"""Time to initiation where the instantaneous coefficient falls with age, summed over time.

    .. math:: t_i = t_r \left((1 - m) \frac{t_1}{t_r}\right)^{1/(1-m)}, \quad D(t) = D_r (t_r / t)^m

    Parameters
    ----------
    t_1 : quantity of time, shape (...,)
        time to initiation as if the coefficient stayed at its reference value
    t_r : quantity of time, shape (...,)
        age at which the coefficient was found
    m : quantity without dimension, shape (...,)
        ageing exponent

    Returns
    -------
    AgedTime
        `q` exponent, `t_i` time to initiation.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    `D_r` is the instantaneous coefficient at `t_r`: the value that a short test at that age gives. Source: the integral
    of D over time stands for D t, Crank, recalled.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{integrated_ageing(Q(3.0927, 'yr'), Q(28, 'day'), 0.3).t_i:.2f~P}"
    '9.06 a'
    """
    q = 1 / (1 - m)  # exponent
    t_i = t_r * ((1 - m) * t_1 / t_r) ** q  # time to initiation
    return AgedTime(q, t_i)


class TemperatureFactor(NamedTuple):
    """Result of `temperature_factor`."""

    y: Ratio
    k_T: Ratio


@calculation(
    title="Factor of temperature on diffusion",
    source=Cite("fib-34", "Annex B2", "memory"),
    units={"T": "K", "T_r": "K", "b": "K", "y": "", "k_T": ""},
    notes=(
        "The mean temperature of the year stands for all of it; warm months count for more than cold ones take away.",
    ),
)
def temperature_factor(
    T: Warmth, T_r: Warmth, b: Annotated[TemperatureConstant, Range("1000 K", "10000 K")]
) -> TemperatureFactor:
    r"""Factor by which diffusion at the temperature of the deck differs from that at the temperature of the test.

    .. math:: k_T = \exp\left(b \left(\frac{1}{T_r} - \frac{1}{T}\right)\right)

    Parameters
    ----------
    T : quantity of temperature, shape (...,)
        mean temperature of the deck
    T_r : quantity of temperature, shape (...,)
        temperature at which the coefficient was found
    b : quantity of temperature, shape (...,)
        constant of the law

    Returns
    -------
    TemperatureFactor
        `y` exponent, `k_T` factor on the diffusion coefficient.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    The constant has mean 4800 K and standard deviation 700 K in fib Bulletin 34, recalled; an activation energy U in
    J/mol gives U / 8.314.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{temperature_factor(Q(283, 'K'), Q(293, 'K'), Q(4800, 'K')).k_T:.4f~P}"
    '0.5605'
    """
    y = b * (1 / T_r - 1 / T)  # exponent
    k_T = exp(y)  # factor of temperature
    return TemperatureFactor(y, k_T)


def growing_time(
    x: float, D: float, C_a: float, t_a: float, C_0: float, C_T: float, surface: Literal["linear", "root"]
) -> float:
    """Return the time at which the content at a depth reaches the threshold below a growing surface.

    Parameters
    ----------
    x, D, C_a, t_a, C_0, C_T : float
        As in `content_linear_surface` and `content_root_surface`, in coherent SI.
    surface : {"linear", "root"}
        How the surface content grows.

    Returns
    -------
    float
        Seconds; the closed form gives the threshold back at this time.

    Raises
    ------
    InputError
        If the background reaches the threshold.

    Notes
    -----
    The surface content grows without end, so that the threshold is always reached.
    """
    from scipy.optimize import brentq

    from deckcalc.chloride.formulas.diffusion import content_linear_surface, content_root_surface

    if C_T <= C_0 or C_a <= C_0:
        raise InputError("the threshold and the surface content are more than the background")
    content = {"linear": content_linear_surface, "root": content_root_surface}[surface].function

    def above(log_t: float) -> float:
        return float(content(x, np.exp(log_t), D, C_a, t_a, C_0)[-1]) - C_T

    start = np.log(x**2 / (4 * D))
    low, high = start - 8.0, start + 1.0
    while above(high) < 0:
        high += 2.0
    while above(low) > 0:
        low -= 2.0
    return float(np.exp(brentq(above, low, high, xtol=1e-14, rtol=1e-14)))
