"""Punching of a wheel through a slab, beside a hole or not: ACI 318-11 with its three terms, and AASHTO LRFD."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

from deckcalc.core.calculation import Range, calculation, larger, lookup, smaller, sqrt
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import Area, Force, Length, Ratio, Stress
from deckcalc.steel.formulas.bars import plain
from deckcalc.steel.formulas.laps_aci import METRIC, Strength, root_of_strength

Edge = Literal["no hole near", "hole at one side", "hole at a corner"]
Wheel = Annotated[Force, Range("5 kN", "500 kN")]
WheelFactor = Annotated[Ratio, Range("0.5", "4")]
WheelSide = Annotated[Length, Range("50 mm", "1 m")]
SlabDepth = Annotated[Length, Range("10 mm", "1 m")]
ShearFactor = Annotated[Ratio, Range("0.5", "1")]
ACI_PUNCHING = Cite("mccormac", "section 12.6 and example 16.3 (ACI 318-11, 11.11.2.1, equations 11-33 to 11-35)")
ACI_PUNCHING_SI = Cite("aci318m-19", "table 22.6.5.2: 0.33, 0.17 and 0.083, as given in public code")
LRFD_PUNCHING = Cite("aashto-lrfd", "5.12.8.6.3, as given in public code")
MOMENT_NOTE = (
    "Moment that goes with the shear at an edge is left out: beside a hole the true strength is lower. A partly removed slab has the "
    "depth that is left below."
)
#: Alpha s of ACI 318-11 by the sides of the critical section, and the resistance factor for shear of each code.
POSITION = {"no hole near": 40, "hole at one side": 30, "hole at a corner": 20}
SHEAR_FACTOR = {"ACI 318-11": 0.75, "AASHTO LRFD": 0.90}


@lookup(
    "round the wheel {w_1} × {w_2} at half the depth {d} from it: four sides; three with a hole at one side; two with a hole at a corner. "
    "Here: {edge}",
    source=Cite("mccormac", "section 16.4 (ACI 318-11, 11.11.1.2)"),
)
def punching_perimeter(w_1: Length, w_2: Length, d: Length, edge: Edge) -> Length:
    """Return the length of the critical section for punching."""
    if edge == "no hole near":
        return 2 * (w_1 + d) + 2 * (w_2 + d)
    if edge == "hole at one side":
        return 2 * (w_1 + d / 2) + (w_2 + d)
    return (w_1 + d / 2) + (w_2 + d / 2)


@lookup(
    "{k[no hole near]} where the critical section has four sides, {k[hole at one side]} with three, {k[hole at a corner]} with two; "
    "here: {edge}",
    k=POSITION, source=ACI_PUNCHING,
)  # fmt: skip
def position_factor(edge: Edge) -> Ratio:
    """Return alpha s by the sides of the critical section."""
    return plain(POSITION[edge])


class Punching(NamedTuple):
    """Result of `punching`."""

    b_o: Length
    l_w: Length
    s_w: Length
    beta: Ratio
    alpha_s: Ratio
    r_c: Stress
    k_1: Ratio
    k_2: Ratio
    k_3: Ratio
    k_12: Ratio
    k_v: Ratio
    A_v: Area
    V_c: Force
    V_r: Force
    V_u: Force
    r_v: Ratio


@calculation_by_form(
    title="Punching shear under a wheel, remaining slab, ACI 318",
    source=ACI_PUNCHING,
    notes=("Normal weight concrete.", MOMENT_NOTE),
    forms={
        "US": Form({"c_1": 2, "c_2": 1, "c_3": "4"}),
        "SI": Form(
            {"c_1": 0.17, "c_2": 0.083, "c_3": "0.33"}, source=(ACI_PUNCHING, ACI_PUNCHING_SI), unchecked=METRIC
        ),
    },
)
def punching(
    P: Wheel, k_P: WheelFactor, w_1: WheelSide, w_2: WheelSide, d: SlabDepth, f_c: Strength, edge: Edge, phi: ShearFactor,
    *, c_1: Ratio, c_2: Ratio, c_3: Ratio, form: str,
) -> Punching:  # fmt: skip
    r"""Strength of a slab against punching by a wheel over the factored wheel load, by ACI 318-11: the minimum of three terms.

    .. math:: k_v = \min\left(c_1\left(1 + \frac{2}{\beta}\right),\ c_2\left(\frac{\alpha_s d}{b_o} + 2\right),\ c_3\right),\quad
        V_r = \phi\,k_v\sqrt{f'_c}\,b_o d

    Parameters
    ----------
    P : quantity of force
        wheel load
    k_P : quantity without dimension
        product of load factor, impact and multiple presence
    w_1 : quantity of length
        side of the wheel square to the edge of the hole
    w_2 : quantity of length
        side of the wheel along the edge of the hole
    d : quantity of length
        depth from the compression face to the bars of the slab that is left
    f_c : quantity of stress
        strength of the concrete
    edge : {"no hole near", "hole at one side", "hole at a corner"}
        how near a hole is
    phi : quantity without dimension
        resistance factor for shear
    form : {"US", "SI"}
        form of the equation

    Returns
    -------
    Punching
        `b_o` critical perimeter, `l_w`, `s_w` longer and shorter side of the wheel, `beta` their ratio, `alpha_s` factor for the sides
        of the section, `r_c` root of the strength, `k_1` factor by the shape, `k_2` by the perimeter, `k_3` maximum, `k_12` the
        smaller of the first two, `k_v` factor that governs, `A_v` area, `V_c` nominal and `V_r` strength, `V_u` factored wheel,
        `r_v` capacity to demand.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11, 11.11.2.1. The term of the perimeter governs on thin slabs.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = punching(Q(82.47, "kip"), Q(1), Q(16, "in"), Q(12, "in"), Q(6.25, "in"), Q(3, "ksi"), "no hole near", Q(0.75), form="US")
    >>> f"{found.V_r.to('kip'):.2f~P}"
    '83.19 kip'
    """
    b_o = punching_perimeter(w_1, w_2, d, edge)  # critical perimeter
    l_w = larger(w_1, w_2)  # longer side of the wheel
    s_w = smaller(w_1, w_2)  # shorter side of the wheel
    beta = l_w / s_w  # ratio of the sides
    alpha_s = position_factor(edge)  # factor for the sides of the section
    r_c = root_of_strength(f_c, form)  # root of the concrete strength
    k_1 = c_1 * (1 + 2 / beta)  # factor by the shape of the wheel
    k_2 = c_2 * (alpha_s * d / b_o + 2)  # factor by the perimeter
    k_3 = c_3  # maximum factor
    k_12 = smaller(k_1, k_2)  # smaller of shape and perimeter
    k_v = smaller(k_12, k_3)  # factor that governs
    A_v = b_o * d  # area in shear
    V_c = k_v * r_c * A_v  # nominal strength
    V_r = phi * V_c  # strength
    V_u = k_P * P  # factored wheel load
    r_v = V_r / V_u  # capacity to demand
    return Punching(b_o, l_w, s_w, beta, alpha_s, r_c, k_1, k_2, k_3, k_12, k_v, A_v, V_c, V_r, V_u, r_v)


class PunchingLrfd(NamedTuple):
    """Result of `punching_aashto`."""

    d_v: Length
    b_o: Length
    l_w: Length
    s_w: Length
    beta: Ratio
    k_1: Ratio
    k_v: Ratio
    V_n: Force
    V_r: Force
    V_u: Force
    r_v: Ratio


@calculation(
    title="Punching shear under a wheel, remaining slab, AASHTO LRFD",
    source=LRFD_PUNCHING,
    units=dict.fromkeys(("w_1", "w_2", "d", "d_v", "b_o", "l_w", "s_w"), "in")
    | dict.fromkeys(("k_P", "phi", "beta", "k_1", "k_v", "r_v"), "")
    | dict.fromkeys(("P", "V_n", "V_r", "V_u"), "kip")
    | {"f_c": "ksi"},
    notes=(
        "Normal weight concrete. The effective depth in shear is taken at 0.9 of the depth to the bars, the minimum that the "
        "specification has; its other bound, 0.72 of the thickness, is above the depth to the bars of a thin slab.",
        MOMENT_NOTE,
    ),
)  # fmt: skip
def punching_aashto(
    P: Wheel,
    k_P: WheelFactor,
    w_1: WheelSide,
    w_2: WheelSide,
    d: SlabDepth,
    f_c: Strength,
    edge: Edge,
    phi: ShearFactor,
) -> PunchingLrfd:
    r"""Strength of a slab against punching by a wheel over the factored wheel load, by AASHTO LRFD.

    .. math:: V_n = \left(0.063 + \frac{0.126}{\beta}\right)\sqrt{f'_c}\,b_o d_v \le 0.126\sqrt{f'_c}\,b_o d_v

    Parameters
    ----------
    P : quantity of force
        wheel load
    k_P : quantity without dimension
        product of load factor, impact and multiple presence
    w_1 : quantity of length
        side of the wheel square to the edge of the hole
    w_2 : quantity of length
        side of the wheel along the edge of the hole
    d : quantity of length
        depth from the compression face to the bars of the slab that is left
    f_c : quantity of stress
        strength of the concrete
    edge : {"no hole near", "hole at one side", "hole at a corner"}
        how near a hole is
    phi : quantity without dimension
        resistance factor for shear

    Returns
    -------
    PunchingLrfd
        `d_v` effective depth in shear, `b_o` critical perimeter, `l_w`, `s_w` longer and shorter side of the wheel, `beta` their
        ratio, `k_1` factor by the shape, `k_v` factor that governs, `V_n` nominal and `V_r` strength, `V_u` factored wheel, `r_v`
        capacity to demand.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO LRFD, 5.12.8.6.3. It has no term of the perimeter over the depth.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = punching_aashto(Q(16, "kip"), Q(2.3275), Q(20, "in"), Q(10, "in"), Q(3, "in"), Q(4, "ksi"), "no hole near", Q(0.9))
    >>> f"{found.k_v:.3f~P}, {found.V_r.to('kip'):.1f~P}"
    '0.126, 43.4 kip'
    """
    d_v = 0.9 * d  # effective depth in shear
    b_o = punching_perimeter(w_1, w_2, d_v, edge)  # critical perimeter
    l_w = larger(w_1, w_2)  # longer side of the wheel
    s_w = smaller(w_1, w_2)  # shorter side of the wheel
    beta = l_w / s_w  # ratio of the sides
    k_1 = 0.063 + 0.126 / beta  # factor by the shape of the wheel
    k_v = smaller(k_1, 0.126)  # factor that governs
    V_n = k_v * sqrt(f_c) * b_o * d_v  # nominal strength
    V_r = phi * V_n  # strength
    V_u = k_P * P  # factored wheel load
    r_v = V_r / V_u  # capacity to demand
    return PunchingLrfd(d_v, b_o, l_w, s_w, beta, k_1, k_v, V_n, V_r, V_u, r_v)
