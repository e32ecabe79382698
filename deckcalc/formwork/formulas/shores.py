"""Bearing of one member on another, and shores as columns."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, larger, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import Elasticity, Length, MemberForce, Ratio, SmallArea, WoodStress
from deckcalc.formwork.formulas.beams import Stress
from deckcalc.formwork.formulas.lumber import Breadth, MemberDepth
from deckcalc.formwork.formulas.strongbacks import Point


class BearingCheck(NamedTuple):
    """Result of `bearing_check`."""

    f_p: WoodStress
    P_a: MemberForce
    u_p: Ratio


@calculation(
    title="Bearing perpendicular to grain",
    source=(Cite("allen-temporary-structures", "slab forms: bearing"), Cite("nds", "bearing perpendicular to grain")),
    notes=("The allowance for short bearings is not taken; the duration factor does not apply.",),
)
def bearing_check(
    P: Point, A_b: Annotated[SmallArea, Range("100 mm²", "1000000 mm²")], F_cp: Annotated[WoodStress, Range("0.02 MPa", "80 MPa")]
) -> BearingCheck:  # fmt: skip
    r"""Stress where one member bears on another.

    .. math:: f_p = \frac{P}{A_b},\quad P_a = F_{cp} A_b

    Parameters
    ----------
    P : quantity of force, shape (...,)
        force
    A_b : quantity of area, shape (...,)
        bearing area
    F_cp : quantity of stress
        allowable stress

    Returns
    -------
    BearingCheck
        `f_p` stress, `P_a` allowable force, `u_p` utilisation.

    Raises
    ------
    InputError
        If force or area is not positive.

    Notes
    -----
    Serves also for the ground under the sill of a shore, with the pressure that the engineer allows there. Source: statics.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = bearing_check(Q(962.67, "lbf"), Q(12.25, "in²"), Q(271.35, "psi"))
    >>> f"{found.f_p.to('psi').magnitude:.2f}, {found.P_a.to('lbf').magnitude:.0f}"
    '78.59, 3324'
    """
    f_p = P / A_b  # bearing stress
    P_a = F_cp * A_b  # allowable force
    u_p = f_p / F_cp  # utilisation in bearing
    return BearingCheck(f_p, P_a, u_p)


class ShoreCheck(NamedTuple):
    """Result of `shore_check`."""

    r: Ratio
    F_cE: WoodStress
    k: Ratio
    k_c: Ratio
    C_P: Ratio
    A: SmallArea
    P_a: MemberForce
    u_P: Ratio
    u_r: Ratio
    u: Ratio


@calculation(
    title="Shore as a column",
    source=(
        Cite("nds", "3.7.1, column stability factor, c = 0.8 for sawn lumber"),
        Cite("navy-14045", "overhead slab forms, step 8: slenderness at most 50"),
    ),
    notes=(
        "Pinned at both ends and unbraced between them over its whole length; the load stands on its axis, so cut the ends "
        "square and wedge them. Braces stop it from leaning and are not counted as supports.",
        "A shore more slender than $r_{max}$ may not be used, whatever its load: the utilisation is the greater of load and slenderness, "
        "and above 1 in either the shore fails.",
    ),
)
def shore_check(
    P: Point, l_u: Annotated[Length, Range("100 mm", "12000 mm")], b: Breadth, d: MemberDepth, F_c: Stress,
    E_min: Annotated[Elasticity, Range("500 MPa", "20000 MPa")], r_max: Annotated[Ratio, Range("10", "50")],
) -> ShoreCheck:  # fmt: skip
    r"""Load that a rectangular shore carries as a slender column.

    .. math:: F_{cE} = \frac{0.822 E_{min}}{r^2},\quad C_P = \frac{1 + k}{1.6} - \sqrt{\left(\frac{1 + k}{1.6}\right)^2 - \frac{k}{0.8}}

    Parameters
    ----------
    P : quantity of force, shape (...,)
        load
    l_u : quantity of length, shape (...,)
        unbraced length
    b : quantity of length
        one side
    d : quantity of length
        other side
    F_c : quantity of stress
        design value parallel to grain, before stability
    E_min : quantity of stress
        modulus for stability
    r_max : quantity without dimension
        maximum slenderness allowed

    Returns
    -------
    ShoreCheck
        `r` slenderness, `F_cE` buckling stress, `k` its ratio to `F_c`, `k_c` half sum, `C_P` stability factor, `A` area, `P_a` load
        allowed, `u_P` and `u_r` utilisation in load and in slenderness, `u` the greater.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Slenderness is that of the shorter side. Source: NDS 3.7.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = shore_check(Q(1000, "lbf"), Q(8, "ft"), Q(3.5, "in"), Q(3.5, "in"), Q(1552.5, "psi"), Q(580000, "psi"), 50)
    >>> f"{found.C_P:.3f~P}, {found.P_a.to('lbf').magnitude:.0f}"
    '0.366, 6960'
    """
    r = l_u / smaller(b, d)  # slenderness
    F_cE = 0.822 * E_min / r**2  # buckling stress
    k = F_cE / F_c  # its ratio to the design value
    k_c = (1 + k) / 1.6  # half sum
    C_P = k_c - sqrt(k_c**2 - k / 0.8)  # column stability factor
    A = b * d  # area
    P_a = F_c * C_P * A  # allowable load
    u_P = P / P_a  # utilisation in load
    u_r = r / r_max  # utilisation in slenderness
    u = larger(u_P, u_r)  # utilisation; above 1 the shore may not be used
    return ShoreCheck(r, F_cE, k, k_c, C_P, A, P_a, u_P, u_r, u)
