"""Form panels: design stresses, allowable spans, and the check of a soffit over its joists."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, above, calculation, constant, larger, lookup, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import (  # fmt: skip
    Deflection,
    Elasticity,
    Length,
    Pressure,
    Ratio,
    StripModulus,
    StripMoment,
    StripSecondMoment,
    StripShear,
    StripStiffness,
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

FormPressure = Annotated[Pressure, Range("0.5 kPa", "100 kPa")]
PanelStress = Annotated[WoodStress, Range("0.05 MPa", "80 MPa")]
PanelE = Annotated[Elasticity, Range("1000 MPa", "20000 MPa")]
PanelS = Annotated[StripModulus, Range("500 mm³/m", "500000 mm³/m")]
PanelI = Annotated[StripSecondMoment, Range("5000 mm⁴/m", "10000000 mm⁴/m")]
PanelQ = Annotated[StripShear, Range("1000 mm²/m", "100000 mm²/m")]
#: A ratio of 1 and a maximum deflection of 1000 mm say that there is no limit.
DeflectionRatio = Annotated[Ratio, Range("1", "1000")]
DeflectionCap = Annotated[Deflection, Range("0.3 mm", "1000 mm")]

SPANS = (
    Cite("peurifoy-formwork", "eq. 10-7 to 10-10"),
    Cite("allen-temporary-structures", "span lengths derived"),
)


class PanelSpans(NamedTuple):
    """Result of `panel_spans`."""

    c_M: Ratio
    c_V: Ratio
    c_D: Ratio
    l_b: Length
    l_s: Length
    l_r: Length
    l_d: Length
    l_f: Length
    l_e: Length
    l_all: Length


@calculation(
    title="Allowable spans of a form panel",
    source=SPANS,
    notes=("For all criteria the span is that between the centres of the joists; shear deflection is left out.",),
)
def panel_spans(
    p: FormPressure, n: Spans, F_b: PanelStress, F_s: PanelStress, E: PanelE, S: PanelS, I: PanelI, Q: PanelQ,
    coefficients: Coefficients, r_d: DeflectionRatio, d_max: DeflectionCap,
) -> PanelSpans:  # fmt: skip
    r"""Longest joist spacing by bending, rolling shear and deflection.

    .. math:: l_b = \sqrt{\frac{F_b S}{c_M p}},\quad l_s = \frac{F_s Q}{c_V p},\quad
              l_r = \left(\frac{E I}{r_d c_D p}\right)^{1/3},\quad l_d = \left(\frac{d_{max} E I}{c_D p}\right)^{1/4}

    Parameters
    ----------
    p : quantity of pressure, shape (...,)
        load on the form
    n : quantity without dimension
        number of spans
    F_b : quantity of stress
        design stress in bending
    F_s : quantity of stress
        design stress in rolling shear
    E : quantity of stress
        modulus of elasticity
    S : quantity of section modulus per width
        effective section modulus
    I : quantity of second moment per width
        second moment of area
    Q : quantity of area per width
        rolling shear constant Ib/Q
    coefficients : str
        named set of beam coefficients
    r_d : quantity without dimension
        span over maximum deflection; 1 for no limit
    d_max : quantity of length
        maximum deflection whatever the span; 1000 mm for no limit

    Returns
    -------
    PanelSpans
        `c_M`, `c_V`, `c_D` coefficients of moment, shear and deflection;
        `l_b`, `l_s`, `l_r`, `l_d` spans by bending, shear and the two deflection rules, `l_f` by
        strength, `l_e` by deflection, `l_all` the minimum.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Peurifoy and Oberlender, eq. 10-7 to 10-10, in coherent units.

    Examples
    --------
    >>> from deckcalc import Q as q
    >>> F = q(1930, "psi"), q(72, "psi"), q(1.65e6, "psi")
    >>> section = q(0.455, "in³/ft"), q(0.199, "in⁴/ft"), q(7.187, "in²/ft")
    >>> f"{panel_spans(q(713, 'psf'), 3, *F, *section, 'handbook', 360, q(1/16, 'in')).l_b.to('in'):.2f~P}"
    '12.16 in'
    """
    c_M = moment_coefficient(coefficients, n)  # moment coefficient
    c_V = shear_coefficient(coefficients, n)  # shear coefficient
    c_D = deflection_coefficient(coefficients, n)  # deflection coefficient
    l_b = sqrt(F_b * S / (c_M * p))  # span by bending
    l_s = F_s * Q / (c_V * p)  # span by rolling shear
    l_r = (E * I / (r_d * c_D * p)) ** (1 / 3)  # span by deflection as a share of the span
    l_d = (d_max * E * I / (c_D * p)) ** (1 / 4)  # span by the maximum deflection
    l_f = smaller(l_b, l_s)  # span by strength
    l_e = smaller(l_r, l_d)  # span by deflection
    l_all = smaller(l_f, l_e)  # longest allowable span
    return PanelSpans(c_M, c_V, c_D, l_b, l_s, l_r, l_d, l_f, l_e, l_all)


NARROW = "2 in"
ADDED = {"narrow": "1/4 in", "wide": "5/8 in"}


@lookup(
    "for supports {b_s} wide: {e[narrow]} up to {narrow} nominal, {e[wide]} for wider ones, also between the sizes that the notes name",
    narrow=NARROW, e=ADDED, source=(Cite("peurifoy-formwork", "table 11-2, notes"),),
)  # fmt: skip
def deflection_addition(b_s: Annotated[Length, Range("15 mm", "300 mm")]) -> Length:
    """Return what is added to the clear span for deflection."""
    added: Any = np.where(above(b_s, constant(NARROW)), constant(ADDED["wide"]), constant(ADDED["narrow"]))
    return added[()]


class PanelCheck(NamedTuple):
    """Result of `panel_check`."""

    c_M: Ratio
    c_V: Ratio
    c_D: Ratio
    e: Length
    s_c: Length
    s_d: Length
    p_b: Pressure
    p_s: Pressure
    EI: StripStiffness
    d_b: Deflection
    d_s: Deflection
    delta: Deflection
    delta_a: Deflection
    p_d: Pressure
    M_o: StripMoment
    M_a: StripMoment
    a_o: Length
    delta_o: Deflection
    u_b: Ratio
    u_s: Ratio
    u_d: Ratio
    u_ob: Ratio
    r_o: Ratio
    u_od: Ratio


@calculation(
    title="Soffit panel over its joists",
    source=(
        Cite("peurifoy-formwork", "table 11-2 and its notes: bending on the spacing, shear on the clear span, deflection on the "
             "clear span and an addition, with shear deflection"),
        Cite("", "overhang: statics, the span behind it unloaded", "common practice"),
    ),
    notes=(
        "The overhang is the strip between the outer joist and the edge of the hole; its tip may sink twice the share of the "
        "span that a span may, and never more than the maximum deflection: a wider gap at the edge leaks.",
        "The face of the panel, bolts through it and old holes in it are not considered.",
    ),
)  # fmt: skip
def panel_check(
    p: FormPressure, s: Spacing, o: Overhang, n: Spans, b_s: Annotated[Length, Range("15 mm", "300 mm")],
    F_b: PanelStress, F_s: PanelStress, E: PanelE, E_s: PanelE, S: PanelS, I: PanelI, Q: PanelQ,
    t: Annotated[Length, Range("6 mm", "60 mm")], C_s: Annotated[Ratio, Range("60", "120")],
    coefficients: Coefficients, r_d: DeflectionRatio, d_max: DeflectionCap,
) -> PanelCheck:  # fmt: skip
    r"""Bending, rolling shear and deflection of a panel over equally spaced joists, and of its overhang.

    .. math:: p_b = \frac{F_b S}{c_M s^2},\quad p_s = \frac{F_s Q}{c_V s_c},\quad
              \delta = \frac{c_D p s_d^4}{E I} + \frac{C_s p t^2 s_c^2}{105.83 E_s I}

    Parameters
    ----------
    p : quantity of pressure, shape (...,)
        load on the form
    s : quantity of length, shape (...,)
        joist spacing, centre to centre
    o : quantity of length, shape (...,)
        overhang beyond the outer joist
    n : quantity without dimension
        number of spans
    b_s : quantity of length, shape (...,)
        breadth of a joist
    F_b : quantity of stress
        design stress in bending
    F_s : quantity of stress
        design stress in rolling shear
    E : quantity of stress
        modulus of elasticity
    E_s : quantity of stress
        modulus for shear deflection
    S : quantity of section modulus per width
        effective section modulus
    I : quantity of second moment per width
        second moment of area
    Q : quantity of area per width
        rolling shear constant Ib/Q
    t : quantity of length
        thickness of the panel
    C_s : quantity without dimension, shape (...,)
        constant of shear deflection: 120 with the face grain across the supports, 60 along them
    coefficients : str
        named set of beam coefficients
    r_d : quantity without dimension
        span over maximum deflection; 1 for no limit
    d_max : quantity of length
        maximum deflection whatever the span; 1000 mm for no limit

    Returns
    -------
    PanelCheck
        `c_M`, `c_V`, `c_D` coefficients of moment, shear and deflection;
        `e`, `s_c`, `s_d` addition, clear span and span for deflection; `p_b`, `p_s`, `p_d` pressures allowed
        by bending, shear and deflection; `EI` stiffness; `d_b`, `d_s`, `delta`, `delta_a` deflection by bending, by shear, in all and allowed; `M_o`, `M_a`, `a_o`, `delta_o` moment,
        allowable moment, lever and deflection of the overhang; `r_o` that deflection over its share; `u_b`, `u_s`, `u_d`, `u_ob`, `u_od` utilisations.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    With three spans of the set "even" the pressures are those of the published pressure table. Source: Peurifoy and Oberlender, table 11-2.

    Examples
    --------
    >>> from deckcalc import Q as q
    >>> F = q(1930, "psi"), q(71.5, "psi"), q(1.65e6, "psi"), q(1.5e6, "psi")
    >>> section = q(0.455, "in³/ft"), q(0.199, "in⁴/ft"), q(7.187, "in²/ft"), q(0.75, "in"), 120
    >>> at = q(158, "psf"), q(16, "in"), q(0, "in"), 3, q(1.5, "in")
    >>> found = panel_check(*at, *F, *section, "even", 360, q(1/16, "in"))
    >>> f"{found.p_d.to('psf').magnitude:.0f}, {found.u_d:.2f~P}"
    '370, 0.43'
    """
    c_M = moment_coefficient(coefficients, n)  # moment coefficient
    c_V = shear_coefficient(coefficients, n)  # shear coefficient
    c_D = deflection_coefficient(coefficients, n)  # deflection coefficient
    e = deflection_addition(b_s)  # addition to the clear span
    s_c = s - b_s  # clear span
    s_d = s_c + e  # span for deflection
    p_b = F_b * S / (c_M * s**2)  # allowable pressure by bending
    p_s = F_s * Q / (c_V * s_c)  # allowable pressure by rolling shear
    EI = E * I  # bending stiffness per width
    d_b = c_D * p * s_d**4 / EI  # deflection by bending
    d_s = C_s * p * t**2 * s_c**2 / (105.83 * E_s * I)  # deflection by shear
    delta = d_b + d_s  # deflection
    delta_a = smaller(s / r_d, d_max)  # allowable deflection
    p_d = p * delta_a / delta  # allowable pressure by deflection
    M_o = p * o**2 / 2  # moment of the overhang, per width
    M_a = F_b * S  # allowable moment, per width
    a_o = 4 * s + 3 * o  # lever of the overhang
    delta_o = p * o**3 * a_o / (24 * EI)  # deflection of the tip of the overhang
    u_b = p / p_b  # utilisation in bending
    u_s = p / p_s  # utilisation in rolling shear
    u_d = p / p_d  # utilisation in deflection
    u_ob = M_o / M_a  # utilisation of the overhang in bending
    r_o = p * o**2 * a_o * r_d / (48 * EI)  # that deflection over twice the overhang's share
    u_od = larger(r_o, delta_o / d_max)  # utilisation of the overhang in deflection
    return PanelCheck(
        c_M, c_V, c_D, e, s_c, s_d, p_b, p_s, EI, d_b, d_s, delta, delta_a, p_d, M_o, M_a, a_o, delta_o, u_b, u_s, u_d, u_ob, r_o,
        u_od,
    )  # fmt: skip
