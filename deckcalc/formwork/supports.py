"""What carries the joists: strongbacks across the hole, stringers on shores, bearings and shores."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.calculation import Range, calculation, larger, lookup, smaller, sqrt
from deckcalc.formwork.beams import STATICS, Modulus, Stress
from deckcalc.formwork.coefficients import (
    Coefficients,
    Overhang,
    Spacing,
    Spans,
    deflection_coefficient,
    moment_coefficient,
    reaction_coefficient,
    shear_coefficient,
)  # fmt: skip
from deckcalc.formwork.lumber import Breadth, MemberDepth
from deckcalc.formwork.plywood import DeflectionCap, DeflectionRatio
from deckcalc.sources import Cite
from deckcalc.units import (
    BeamStiffness,
    Count,
    Deflection,
    Elasticity,
    Force,
    Length,
    LineLoad,
    Moment,
    Ratio,
    SectionModulus,
    SmallArea,
    WoodStress,
)  # fmt: skip

Point = Annotated[Force, Range("0.001 kN", "500 kN")]
Span = Annotated[Length, Range("25 mm", "12000 mm")]


@lookup("for {n_P} equal loads, evenly spaced about the middle")
def inner_arms(n_P: Annotated[Count, Range("1", "40")]) -> Ratio:
    """Return the sum of distances from midspan of the loads of one half, in spacings: n²/8, less 1/8 if n is odd."""
    n: Any = np.asarray(n_P, dtype=float)
    return (np.floor(n**2 / 4) / 2)[()]


class StrongbackCheck(NamedTuple):
    """Result of `strongback_check`."""

    k_P: Ratio
    l: Length
    R: Force
    M: Moment
    A: SmallArea
    S: SectionModulus
    EI: BeamStiffness
    delta: Deflection
    delta_a: Deflection
    M_a: Moment
    V_a: Force
    u_b: Ratio
    u_v: Ratio
    u_d: Ratio
    A_b: SmallArea
    f_p: WoodStress
    u_p: Ratio


@calculation(
    title="Strongback across the hole",
    source=(STATICS, Cite("nds", "bearing perpendicular to grain")),
    notes=(
        "Every hanger is given the force of the most heavily loaded one. Deflection is bounded by that of a beam with its greatest "
        "moment all along, 2 to 20 % above the true one.",
        "Whether the deck beside the hole carries the bearing forces is for the engineer in charge; the bearing lies clear of the "
        "saw cut on concrete found sound.",
    ),
)
def strongback_check(
    P: Point, n_P: Annotated[Count, Range("1", "40")], s: Spacing, l_h: Span,
    e_b: Annotated[Length, Range("0 mm", "2000 mm")], l_b: Annotated[Length, Range("20 mm", "1000 mm")], b: Breadth,
    d: MemberDepth, F_b: Stress, F_v: Stress, F_cp: Stress, E: Modulus, r_d: DeflectionRatio,
    d_max: DeflectionCap,
) -> StrongbackCheck:  # fmt: skip
    r"""Bending, shear, deflection and end bearing of a strongback that carries a row of hangers.

    .. math:: M = \frac{n P l}{4} - k_P P s,\quad R = \frac{n P}{2},\quad \delta \le \frac{M l^2}{8 E I}

    Parameters
    ----------
    P : quantity of force, shape (...,)
        force of one hanger
    n_P : quantity without dimension
        number of hangers on the strongback
    s : quantity of length, shape (...,)
        spacing of the hangers along it
    l_h : quantity of length, shape (...,)
        width of the hole that it spans
    e_b : quantity of length
        distance of the bearing from the edge of the hole
    l_b : quantity of length
        length of the bearing
    b : quantity of length
        breadth
    d : quantity of length
        depth
    F_b : quantity of stress
        design value in bending
    F_v : quantity of stress
        design value in shear
    F_cp : quantity of stress
        design value across the grain
    E : quantity of stress
        modulus of elasticity
    r_d : quantity without dimension
        span over greatest deflection
    d_max : quantity of length
        greatest deflection whatever the span

    Returns
    -------
    StrongbackCheck
        `k_P` sum of inner arms, `l` span, `R` reaction, `M` moment; `A`, `S`, `EI` section; `delta`, `delta_a` deflection and what is
        allowed; `M_a`, `V_a` moment and shear allowed; `u_b`, `u_v`, `u_d` utilisations; `A_b`, `f_p`, `u_p` bearing.

    Raises
    ------
    InputError
        If a value lies outside its range, such as a bearing length that is not positive.

    Notes
    -----
    Single span between the centres of the bearings. Source: statics.

    Examples
    --------
    >>> from deckcalc import Q
    >>> F = Q(1400, "psi"), Q(200, "psi"), Q(400, "psi"), Q(1.4e6, "psi")
    >>> at = Q(300, "lbf"), 3, Q(9, "in"), Q(29, "in"), Q(4, "in"), Q(4, "in")
    >>> f"{strongback_check(*at, Q(3.5, 'in'), Q(3.5, 'in'), *F, 360, Q(1/8, 'in')).M.to('lbf*in').magnitude:.0f}"
    '6525'
    """
    k_P = inner_arms(n_P)  # sum of the inner arms in spacings,
    l = l_h + 2 * e_b + l_b  # span between the centres of the bearings
    R = n_P * P / 2  # reaction at each end
    M = n_P * P * l / 4 - k_P * P * s  # moment at midspan
    A = b * d  # area
    S = b * d**2 / 6  # section modulus
    EI = E * b * d**3 / 12  # bending stiffness
    delta = M * l**2 / (8 * EI)  # deflection, upper bound
    delta_a = smaller(l / r_d, d_max)  # deflection allowed
    M_a = F_b * S  # moment allowed
    V_a = F_v * A / 1.5  # shear allowed
    u_b = M / M_a  # utilisation in bending
    u_v = R / V_a  # utilisation in shear
    u_d = delta / delta_a  # utilisation in deflection
    A_b = b * l_b  # bearing area at each end
    f_p = R / A_b  # bearing stress
    u_p = f_p / F_cp  # utilisation in bearing
    return StrongbackCheck(k_P, l, R, M, A, S, EI, delta, delta_a, M_a, V_a, u_b, u_v, u_d, A_b, f_p, u_p)


class StringerCheck(NamedTuple):
    """Result of `stringer_check`."""

    c_M: Ratio
    c_V: Ratio
    c_R: Ratio
    c_D: Ratio
    w: LineLoad
    A: SmallArea
    S: SectionModulus
    EI: BeamStiffness
    M_l: Moment
    M_o: Moment
    M: Moment
    V: Force
    R: Force
    d_w: Deflection
    d_P: Deflection
    delta: Deflection
    delta_a: Deflection
    M_a: Moment
    V_a: Force
    u_b: Ratio
    u_v: Ratio
    u_d: Ratio


@calculation(
    title="Stringer over its shores",
    source=(Cite("peurifoy-formwork", "chapter 5: stringers under evenly spread joists"), STATICS),
    notes=(
        "Joists are spread to a uniform load; what single loads in their worst place add is taken on top ($P s/8$ of moment, half "
        "a load of shear, a full load on the overhang's tip and half a load of reaction), which exceeds every place that they can have.",
    ),
)
def stringer_check(
    P: Point, s: Spacing, l: Spacing, o: Overhang, n: Spans, b: Breadth, d: MemberDepth, F_b: Stress, F_v: Stress,
    E: Modulus, coefficients: Coefficients, r_d: DeflectionRatio, d_max: DeflectionCap,
) -> StringerCheck:  # fmt: skip
    r"""Bending, shear, deflection and reaction of a stringer that carries joists.

    .. math:: w = \frac{P}{s},\quad M = c_M w l^2 + \frac{P s}{8},\quad V = c_V w l + \frac{P}{2},\quad R = c_R w l + \frac{P}{2} + w o

    Parameters
    ----------
    P : quantity of force, shape (...,)
        force of one joist
    s : quantity of length, shape (...,)
        spacing of the joists
    l : quantity of length, shape (...,)
        span, centre to centre of shores
    o : quantity of length, shape (...,)
        overhang beyond the outer shore
    n : quantity without dimension
        number of spans
    b : quantity of length
        breadth
    d : quantity of length
        depth
    F_b : quantity of stress
        design value in bending
    F_v : quantity of stress
        design value in shear
    E : quantity of stress
        modulus of elasticity
    coefficients : str
        named set of beam coefficients
    r_d : quantity without dimension
        span over greatest deflection
    d_max : quantity of length
        greatest deflection whatever the span

    Returns
    -------
    StringerCheck
        Coefficients; `w` spread load; `A`, `S`, `EI` section; `M_l`, `M_o`, `M` moments; `V` shear, `R` reaction on a shore; `d_w`,
        `d_P`, `delta`, `delta_a` deflections; `M_a`, `V_a` moment and shear allowed; `u_b`, `u_v`, `u_d` utilisations.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: elastic theory; that the additions bound every place of the loads is shown in the tests.

    Examples
    --------
    >>> from deckcalc import Q
    >>> F = Q(1400, "psi"), Q(200, "psi"), Q(1.4e6, "psi")
    >>> at = Q(300, "lbf"), Q(9, "in"), Q(27, "in"), Q(0, "in"), 1
    >>> f"{stringer_check(*at, Q(3.5, 'in'), Q(3.5, 'in'), *F, 'even', 360, Q(1/16, 'in')).M.to('lbf*in').magnitude:.1f}"
    '3375.0'
    """
    c_M = moment_coefficient(coefficients, n)  # moment coefficient,
    c_V = shear_coefficient(coefficients, n)  # shear coefficient,
    c_R = reaction_coefficient(coefficients, n)  # reaction coefficient,
    c_D = deflection_coefficient(coefficients, n)  # deflection coefficient,
    w = P / s  # joists spread to a uniform load
    A = b * d  # area
    S = b * d**2 / 6  # section modulus
    EI = E * b * d**3 / 12  # bending stiffness
    M_l = c_M * w * l**2 + P * s / 8  # moment of the spans
    M_o = w * o**2 / 2 + P * o  # moment of the overhang
    M = larger(M_l, M_o)  # greatest moment
    V = larger(c_V * w * l + P / 2, w * o + P)  # shear at the shore
    R = c_R * w * l + P / 2 + w * o  # reaction on a shore
    d_w = c_D * w * l**4 / EI  # deflection under the spread load
    d_P = P * s * l**2 / (96 * EI)  # what single loads add
    delta = d_w + d_P  # deflection
    delta_a = smaller(l / r_d, d_max)  # deflection allowed
    M_a = F_b * S  # moment allowed
    V_a = F_v * A / 1.5  # shear allowed
    u_b = M / M_a  # utilisation in bending
    u_v = V / V_a  # utilisation in shear
    u_d = delta / delta_a  # utilisation in deflection
    return StringerCheck(
        c_M, c_V, c_R, c_D, w, A, S, EI, M_l, M_o, M, V, R, d_w, d_P, delta, delta_a, M_a, V_a, u_b, u_v, u_d,
    )  # fmt: skip


class BearingCheck(NamedTuple):
    """Result of `bearing_check`."""

    f_p: WoodStress
    P_a: Force
    u_p: Ratio


@calculation(
    title="Bearing across the grain",
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
        stress allowed

    Returns
    -------
    BearingCheck
        `f_p` stress, `P_a` force allowed, `u_p` utilisation.

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
    P_a = F_cp * A_b  # force allowed
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
    P_a: Force
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
    ),
)
def shore_check(
    P: Point, l_u: Annotated[Length, Range("100 mm", "12000 mm")], b: Breadth, d: MemberDepth, F_c: Stress,
    E_min: Annotated[Elasticity, Range("500 MPa", "20000 MPa")],
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
        design value along the grain, before stability
    E_min : quantity of stress
        modulus for stability

    Returns
    -------
    ShoreCheck
        `r` slenderness, `F_cE` buckling stress, `k` its ratio to `F_c`, `k_c` half sum, `C_P` stability factor, `A` area, `P_a` load
        allowed, `u` utilisation.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Slenderness is that of the lesser side. Source: NDS 3.7.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = shore_check(Q(1000, "lbf"), Q(8, "ft"), Q(3.5, "in"), Q(3.5, "in"), Q(1552.5, "psi"), Q(580000, "psi"))
    >>> f"{found.C_P:.3f~P}, {found.P_a.to('lbf').magnitude:.0f}"
    '0.366, 6960'
    """
    r = l_u / smaller(b, d)  # slenderness
    F_cE = 0.822 * E_min / r**2  # buckling stress
    k = F_cE / F_c  # its ratio to the design value
    k_c = (1 + k) / 1.6  # half sum
    C_P = k_c - sqrt(k_c**2 - k / 0.8)  # column stability factor
    A = b * d  # area
    P_a = F_c * C_P * A  # load allowed
    u = P / P_a  # utilisation
    return ShoreCheck(r, F_cE, k, k_c, C_P, A, P_a, u)
