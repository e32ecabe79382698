"""Members under uniform load: spans that they allow, and the check of a joist."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, larger, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import (  # fmt: skip
    BeamStiffness,
    Deflection,
    Elasticity,
    Length,
    LineLoad,
    MemberForce,
    MemberMoment,
    Ratio,
    SecondMoment,
    SectionModulus,
    SmallArea,
    WoodStress,
)
from deckcalc.formwork.formulas.coefficients import (  # fmt: skip
    Coefficients,
    Overhang,
    Spacing,
    Spans,
    deflection_coefficient,
    moment_coefficient,
    shear_coefficient,
)
from deckcalc.formwork.formulas.lumber import Breadth, MemberDepth
from deckcalc.formwork.formulas.plywood import DeflectionCap, DeflectionRatio

Load = Annotated[LineLoad, Range("0.0001 kN/m", "200 kN/m")]
Stress = Annotated[WoodStress, Range("0.1 MPa", "80 MPa")]
Modulus = Annotated[Elasticity, Range("1000 MPa", "30000 MPa")]
ShearDistance = Annotated[Length, Range("0 mm", "600 mm")]

STATICS = Cite("", "statics and elastic theory of beams", "common practice")


class BeamSpans(NamedTuple):
    """Result of `beam_spans`."""

    c_M: Ratio
    c_V: Ratio
    c_D: Ratio
    A: SmallArea
    S: SectionModulus
    I: SecondMoment
    l_b: Length
    l_v: Length
    l_r: Length
    l_d: Length
    l_f: Length
    l_e: Length
    l_all: Length


@calculation(
    title="Allowable spans of a member",
    source=(
        Cite("peurifoy-formwork", "eq. 5-34 to 5-37b; table 11-2"),
        Cite("allen-temporary-structures", "span lengths derived"),
    ),
    notes=(
        "Shear may be taken at a distance $d_v$ from the support: the depth of the member in some handbooks, 0 on the safe side.",
    ),
)
def beam_spans(
    w: Load, n: Spans, b: Breadth, d: MemberDepth, F_b: Stress, F_v: Stress, E: Modulus,
    d_v: ShearDistance, coefficients: Coefficients, r_d: DeflectionRatio,
    d_max: DeflectionCap,
) -> BeamSpans:  # fmt: skip
    r"""Longest span of a rectangular member under uniform load.

    .. math:: l_b = \sqrt{\frac{F_b S}{c_M w}},\quad l_v = \frac{F_v A}{1.5 c_V w} + 2 d_v,\quad
              l_r = \left(\frac{E I}{r_d c_D w}\right)^{1/3},\quad l_d = \left(\frac{d_{max} E I}{c_D w}\right)^{1/4}

    Parameters
    ----------
    w : quantity of force per length, shape (...,)
        load on the member
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
    d_v : quantity of length
        distance from the support at which shear is taken
    coefficients : str
        named set of beam coefficients
    r_d : quantity without dimension
        span over maximum deflection; 1 for no limit
    d_max : quantity of length
        maximum deflection whatever the span; 1000 mm for no limit

    Returns
    -------
    BeamSpans
        `c_M`, `c_V`, `c_D` coefficients of moment, shear and deflection;
        section `A`, `S`, `I`; spans `l_b` by bending, `l_v` by shear, `l_r`, `l_d` by the two deflection rules,
        `l_f` by strength, `l_e` by deflection, `l_all` the minimum.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Peurifoy and Oberlender, chapter 5, in coherent units.

    Examples
    --------
    >>> from deckcalc import Q
    >>> F = Q(1875, "psi"), Q(225, "psi"), Q(1.7e6, "psi")
    >>> side = Q(3.5, "in")
    >>> f"{beam_spans(Q(250, 'plf'), 1, side, side, *F, side, 'handbook', 360, Q(1/16, 'in')).l_d.to('in'):.1f~P}"
    '47.0 in'
    """
    c_M = moment_coefficient(coefficients, n)  # moment coefficient
    c_V = shear_coefficient(coefficients, n)  # shear coefficient
    c_D = deflection_coefficient(coefficients, n)  # deflection coefficient
    A = b * d  # area
    S = b * d**2 / 6  # section modulus
    I = b * d**3 / 12  # second moment of area
    l_b = sqrt(F_b * S / (c_M * w))  # span by bending
    l_v = F_v * A / (1.5 * c_V * w) + 2 * d_v  # span by shear
    l_r = (E * I / (r_d * c_D * w)) ** (1 / 3)  # span by deflection as a share of the span
    l_d = (d_max * E * I / (c_D * w)) ** (1 / 4)  # span by the maximum deflection
    l_f = smaller(l_b, l_v)  # span by strength
    l_e = smaller(l_r, l_d)  # span by deflection
    l_all = smaller(l_f, l_e)  # longest allowable span
    return BeamSpans(c_M, c_V, c_D, A, S, I, l_b, l_v, l_r, l_d, l_f, l_e, l_all)


class BeamCheck(NamedTuple):
    """Result of `beam_check`."""

    c_M: Ratio
    c_V: Ratio
    c_D: Ratio
    A: SmallArea
    S: SectionModulus
    EI: BeamStiffness
    M_l: MemberMoment
    M_o: MemberMoment
    M: MemberMoment
    V_s: MemberForce
    k_v: Ratio
    V: MemberForce
    f_b: WoodStress
    f_v: WoodStress
    delta: Deflection
    delta_a: Deflection
    a_o: Length
    delta_o: Deflection
    M_a: MemberMoment
    V_a: MemberForce
    u_b: Ratio
    u_v: Ratio
    u_d: Ratio
    r_o: Ratio
    u_o: Ratio


@calculation(
    title="Joist over its supports",
    source=(Cite("peurifoy-formwork", "chapter 5: members of forms under uniform load"), STATICS),
    notes=(
        "Shear is taken at the distance $d_v$ from the support, 0 on the safe side, by the job's choice; spans are those between "
        "centres of supports. Moments of the overhang and of the span are held apart; neither is set off against the other.",
        "Notches, knots at the edge and holes drilled in the field are not considered.",
    ),
)
def beam_check(
    w: Load, l: Spacing, o: Overhang, n: Spans, b: Breadth, d: MemberDepth, F_b: Stress, F_v: Stress, E: Modulus,
    coefficients: Coefficients, r_d: DeflectionRatio, d_max: DeflectionCap, d_v: ShearDistance,
) -> BeamCheck:  # fmt: skip
    r"""Bending, shear and deflection of a joist with equal spans and two overhangs.

    .. math:: M = \max\left(c_M w l^2,\ \frac{w o^2}{2}\right),\quad f_b = \frac{M}{S},\quad V = c_V w l - w d_v,\quad
              f_v = \frac{1.5 V}{A},\quad \delta = \frac{c_D w l^4}{E I}

    Parameters
    ----------
    w : quantity of force per length, shape (...,)
        load on the joist
    l : quantity of length, shape (...,)
        span, centre to centre of supports
    o : quantity of length, shape (...,)
        overhang beyond the outer support
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
    d_v : quantity of length
        distance from the support at which shear is taken: 0, or the depth

    Returns
    -------
    BeamCheck
        `c_M`, `c_V`, `c_D` coefficients of moment, shear and deflection;
        `A`, `S`, `EI` section; `M_l`, `M_o`, `M` moments of span, overhang and the greater; `V_s` shear at the support, `k_v` share of it left at
        the distance, `V` shear; `f_b`, `f_v` stresses in bending and shear; `delta`,
        `delta_a` deflection and what is allowed; `a_o`, `delta_o`, `r_o` lever, deflection and share of the overhang's tip; `M_a`, `V_a` moment and
        allowable shear; `u_b`,
        `u_v`, `u_d`, `u_o` utilisations in bending, shear, deflection, deflection of the overhang.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: elastic theory; coefficients as named.

    Examples
    --------
    >>> from deckcalc import Q
    >>> F = Q(1875, "psi"), Q(225, "psi"), Q(1.7e6, "psi")
    >>> at = Q(250, "plf"), Q(47, "in"), Q(0, "in"), 1
    >>> f"{beam_check(*at, Q(3.5, 'in'), Q(3.5, 'in'), *F, 'even', 360, Q(1/16, 'in'), Q(0, 'in')).u_d:.2f~P}"
    '1.00'
    """
    c_M = moment_coefficient(coefficients, n)  # moment coefficient
    c_V = shear_coefficient(coefficients, n)  # shear coefficient
    c_D = deflection_coefficient(coefficients, n)  # deflection coefficient
    A = b * d  # area
    S = b * d**2 / 6  # section modulus
    EI = E * b * d**3 / 12  # bending stiffness
    M_l = c_M * w * l**2  # moment of the spans
    M_o = w * o**2 / 2  # moment of the overhang
    M = larger(M_l, M_o)  # maximum moment
    V_s = larger(c_V * w * l, w * o)  # shear at the support
    k_v = larger(1 - w * d_v / V_s, 0)  # share of it at the distance where shear is taken
    V = k_v * V_s  # shear
    f_b = M / S  # stress in bending
    f_v = 1.5 * V / A  # stress in shear
    delta = c_D * w * l**4 / EI  # deflection
    delta_a = smaller(l / r_d, d_max)  # allowable deflection
    a_o = 4 * l + 3 * o  # lever of the overhang
    delta_o = w * o**3 * a_o / (24 * EI)  # deflection of the tip of the overhang, the span unloaded
    M_a = F_b * S  # allowable moment
    V_a = F_v * A / 1.5  # allowable shear
    u_b = M / M_a  # utilisation in bending
    u_v = V / V_a  # utilisation in shear
    u_d = delta / delta_a  # utilisation in deflection
    r_o = w * o**2 * a_o * r_d / (48 * EI)  # deflection of the tip over twice the overhang's share
    u_o = larger(r_o, delta_o / d_max)  # utilisation of the overhang in deflection
    return BeamCheck(
        c_M, c_V, c_D, A, S, EI, M_l, M_o, M, V_s, k_v, V, f_b, f_v, delta, delta_a, a_o, delta_o, M_a, V_a, u_b, u_v, u_d,
        r_o, u_o,
    )  # fmt: skip
