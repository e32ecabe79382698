"""What carries the joists: strongbacks across the hole, stringers on shores."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, larger, lookup, smaller
from deckcalc.core.sources import Cite
from deckcalc.core.units import (  # fmt: skip
    BeamStiffness,
    Count,
    Deflection,
    Length,
    LineLoad,
    MemberForce,
    MemberMoment,
    Ratio,
    SectionModulus,
    SmallArea,
    WoodStress,
)
from deckcalc.formwork.formulas.beams import STATICS, Modulus, Stress
from deckcalc.formwork.formulas.coefficients import (  # fmt: skip
    Coefficients,
    Overhang,
    Spacing,
    Spans,
    deflection_coefficient,
    inner_share,
    moment_coefficient,
    reaction_coefficient,
    shear_coefficient,
    whole,
)
from deckcalc.formwork.formulas.lumber import Breadth, MemberDepth
from deckcalc.formwork.formulas.plywood import DeflectionCap, DeflectionRatio

Point = Annotated[MemberForce, Range("0.001 kN", "500 kN")]
Span = Annotated[Length, Range("25 mm", "12000 mm")]


@lookup("for {n_P} equal loads, evenly spaced about the middle")
def inner_arms(n_P: Annotated[Count, Range("1", "40")]) -> Ratio:
    """Return the sum of distances from midspan of the loads of one half, in spacings: n²/8, less 1/8 if n is odd."""
    n: Any = whole(n_P, "loads")
    return (np.floor(n**2 / 4) / 2)[()]


class StrongbackCheck(NamedTuple):
    """Result of `strongback_check`."""

    k_P: Ratio
    l: Length
    R: MemberForce
    M: MemberMoment
    A: SmallArea
    S: SectionModulus
    EI: BeamStiffness
    delta: Deflection
    delta_a: Deflection
    M_a: MemberMoment
    V_a: MemberForce
    u_b: Ratio
    u_v: Ratio
    u_d: Ratio
    A_b: SmallArea
    f_p: WoodStress
    u_p: Ratio
    f_b: WoodStress
    f_v: WoodStress


@calculation(
    title="Strongback across the hole",
    source=(STATICS, Cite("nds", "bearing perpendicular to grain")),
    notes=(
        "Every hanger is given the force of the most heavily loaded one. Deflection is bounded by that of a beam with its maximum "
        "moment all along, above the true one by half for a single hanger and by about a fifth for many.",
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
        design value perpendicular to grain
    E : quantity of stress
        modulus of elasticity
    r_d : quantity without dimension
        span over maximum deflection; 1 for no limit
    d_max : quantity of length
        maximum deflection whatever the span; 1000 mm for no limit

    Returns
    -------
    StrongbackCheck
        `k_P` sum of inner arms, `l` span, `R` reaction, `M` moment; `A`, `S`, `EI` section; `delta`, `delta_a` deflection and what is
        allowed; `M_a`, `V_a` moment and shear allowed; `u_b`, `u_v`, `u_d` utilisations; `A_b`, `f_p`, `u_p` bearing; `f_b`, `f_v` stresses in
        bending and shear.

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
    k_P = inner_arms(n_P)  # sum of the inner arms in spacings
    l = l_h + 2 * e_b + l_b  # span between the centres of the bearings
    R = n_P * P / 2  # reaction at each end
    M = n_P * P * l / 4 - k_P * P * s  # moment at midspan
    A = b * d  # area
    S = b * d**2 / 6  # section modulus
    EI = E * b * d**3 / 12  # bending stiffness
    delta = M * l**2 / (8 * EI)  # deflection, upper bound
    delta_a = smaller(l / r_d, d_max)  # allowable deflection
    M_a = F_b * S  # allowable moment
    V_a = F_v * A / 1.5  # allowable shear
    u_b = M / M_a  # utilisation in bending
    u_v = R / V_a  # utilisation in shear
    u_d = delta / delta_a  # utilisation in deflection
    A_b = b * l_b  # bearing area at each end
    f_p = R / A_b  # bearing stress
    u_p = f_p / F_cp  # utilisation in bearing
    f_b = M / S  # stress in bending
    f_v = 1.5 * R / A  # stress in shear
    return StrongbackCheck(k_P, l, R, M, A, S, EI, delta, delta_a, M_a, V_a, u_b, u_v, u_d, A_b, f_p, u_p, f_b, f_v)


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
    M_l: MemberMoment
    M_o: MemberMoment
    M: MemberMoment
    P_1: MemberForce
    V: MemberForce
    R: MemberForce
    d_w: Deflection
    d_P: Deflection
    delta: Deflection
    delta_a: Deflection
    M_a: MemberMoment
    V_a: MemberForce
    u_b: Ratio
    u_v: Ratio
    u_d: Ratio
    f_b: WoodStress
    f_v: WoodStress
    k_n: Ratio
    R_h: MemberForce


@calculation(
    title="Stringer over its shores",
    source=(Cite("peurifoy-formwork", "chapter 5: stringers under evenly spread joists"), STATICS),
    notes=(
        "Joists are spread to a uniform load; what single loads in their worst place add is taken on top ($P s/8$ of moment, half "
        "a load of shear and reaction and a little more, a full load on the tip of the overhang), which exceeds every place that they can have. Shear is taken at the shore, since a joist may stand right beside it.",
        "Plain handbooks give a shore half the span on either side of it; that is printed beside the reaction of the continuous stringer.",
    ),
)
def stringer_check(
    P: Point, s: Spacing, l: Spacing, o: Overhang, n: Spans, b: Breadth, d: MemberDepth, F_b: Stress, F_v: Stress,
    E: Modulus, coefficients: Coefficients, r_d: DeflectionRatio, d_max: DeflectionCap,
) -> StringerCheck:  # fmt: skip
    r"""Bending, shear, deflection and reaction of a stringer that carries joists.

    .. math:: w = \frac{P}{s},\quad M = c_M w l^2 + \frac{P s}{8},\quad V = c_V w l + P_1,\quad R = c_R w l + P_1 + w o,\quad
              P_1 = \frac{P}{2} + \frac{P s}{8 l}

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
        span over maximum deflection; 1 for no limit
    d_max : quantity of length
        maximum deflection whatever the span; 1000 mm for no limit

    Returns
    -------
    StringerCheck
        `c_M`, `c_V`, `c_R`, `c_D` coefficients of moment, shear, reaction and deflection;
        `w` spread load; `A`, `S`, `EI` section; `M_l`, `M_o`, `M` moments; `P_1` what single loads add, `V` shear, `R` reaction on a shore; `d_w`,
        `d_P`, `delta`, `delta_a` deflections; `M_a`, `V_a` allowable moment and shear; `u_b`, `u_v`, `u_d` utilisations;
        `f_b`, `f_v` stresses in bending and shear; `k_n`, `R_h` share and reaction by tributary length.

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
    c_M = moment_coefficient(coefficients, n)  # moment coefficient
    c_V = shear_coefficient(coefficients, n)  # shear coefficient
    c_R = reaction_coefficient(coefficients, n)  # reaction coefficient
    c_D = deflection_coefficient(coefficients, n)  # deflection coefficient
    w = P / s  # joists spread to a uniform load
    A = b * d  # area
    S = b * d**2 / 6  # section modulus
    EI = E * b * d**3 / 12  # bending stiffness
    M_l = c_M * w * l**2 + P * s / 8  # moment of the spans
    M_o = w * o**2 / 2 + P * o  # moment of the overhang
    M = larger(M_l, M_o)  # maximum moment
    P_1 = P / 2 + P * s / (8 * l)  # what single loads add to shear and reaction
    V = larger(c_V * w * l + P_1, w * o + P)  # shear at the shore
    R = c_R * w * l + P_1 + w * o  # reaction on a shore
    d_w = c_D * w * l**4 / EI  # deflection under the spread load
    d_P = P * s * l**2 / (96 * EI)  # what single loads add
    delta = d_w + d_P  # deflection
    delta_a = smaller(l / r_d, d_max)  # allowable deflection
    M_a = F_b * S  # allowable moment
    V_a = F_v * A / 1.5  # allowable shear
    u_b = M / M_a  # utilisation in bending
    u_v = V / V_a  # utilisation in shear
    u_d = delta / delta_a  # utilisation in deflection
    f_b = M / S  # stress in bending
    f_v = 1.5 * V / A  # stress in shear
    k_n = inner_share(n)  # share of a span by the tributary rule
    R_h = w * larger(k_n * l, l / 2 + o)  # reaction by tributary length, beside it
    return StringerCheck(
        c_M, c_V, c_R, c_D, w, A, S, EI, M_l, M_o, M, P_1, V, R, d_w, d_P, delta, delta_a, M_a, V_a, u_b, u_v, u_d, f_b, f_v, k_n, R_h,
    )  # fmt: skip
