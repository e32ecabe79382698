"""A steel plate over an open hole: thickness under a wheel, bearing at the edge, bolts, size and ramps."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import Range, calculation, larger, ln, lookup, pi, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import (  # fmt: skip
    Area,
    Count,
    Deflection,
    Density,
    Distance,
    Elasticity,
    Force,
    Length,
    Mass,
    Ratio,
    Share,
    SmallArea,
    Volume,
    WoodStress,
)

Wheel = Annotated[Force, Range("5 kN", "300 kN")]
Tyre = Annotated[Length, Range("100 mm", "1000 mm")]
HoleSide = Annotated[Distance, Range("0.05 m", "6 m")]
Bedding = Annotated[Length, Range("0 mm", "500 mm")]
Thickness = Annotated[Length, Range("6 mm", "80 mm")]
OVERLAP = Cite("caltrans-plates", "overlap of 12 in; edges feathered with asphalt; dowels, or recessed above 45 mph")


@lookup("the row of the first ratio of the table that is not less than {r}, beyond the last that of an endless strip")
def stress_coefficient(r: Ratio) -> Ratio:
    """Return the constant of the stress, on the safe side."""
    return _row(r, "beta")


@lookup("the row of the first ratio of the table that is not less than {r}, beyond the last that of an endless strip")
def deflection_constant(r: Ratio) -> Ratio:
    """Return the constant of the deflection, on the safe side."""
    return _row(r, "alpha")


def _row(r: Any, column: str) -> Any:
    rows = tables.load("plate_coefficients").rows
    ratios = [float(row["ratio"]) for row in rows[:-1]]
    found = np.array([float(row[column]) for row in rows])[np.searchsorted(ratios, np.asarray(r) - 1e-9)]
    return found[()] if np.ndim(found) else float(found)


class PlateBending(NamedTuple):
    """Result of `plate_bending`."""

    a: Distance
    b: Distance
    r: Ratio
    beta: Ratio
    alpha: Ratio
    P_i: Force
    r_0: Length
    k_r: Ratio
    c_s: Ratio
    f: WoodStress
    f_a: WoodStress
    t_req: Length
    u_b: Ratio
    delta: Deflection
    delta_a: Deflection
    u_d: Ratio


@calculation(
    title="Steel plate under a wheel",
    source=Cite("roark", "table 11.4, case 1b"),
    notes=(
        "The plate is bedded all round on concrete found sound, and bolted down, so that no edge is free: a plate that rests on "
        "two sides only, or rocks, is not covered. One wheel stands in the middle; a second wheel of the axle stands beside the hole.",
        "The tyre is taken as a circle of its area. Corners that lift, welds, old holes, and plates laid side by side are not covered.",
    ),
)
def plate_bending(
    P: Wheel, i: Annotated[Share, Range("0 %", "100 %")], w: Tyre, l_w: Tyre, L: HoleSide, B: HoleSide, e_s: Bedding,
    t: Thickness, f_y: Annotated[WoodStress, Range("200 MPa", "500 MPa")], k_y: Annotated[Ratio, Range("0.3", "0.9")],
    E: Annotated[Elasticity, Range("180000 MPa", "220000 MPa")], r_d: Annotated[Ratio, Range("100", "1000")],
) -> PlateBending:  # fmt: skip
    r"""Thickness, stress and deflection of a steel plate over an open hole, under one wheel.

    .. math:: f = \frac{3 P_i}{2 \pi t^2}\left[1.3 \ln\frac{2 b}{\pi r_0} + \beta\right],\quad
              t_{req} = \sqrt{\frac{3 P_i c_s}{2 \pi f_a}},\quad \delta = \frac{\alpha P_i b^2}{E t^3}

    Parameters
    ----------
    P : quantity of force, shape (...,)
        load of one wheel
    i : quantity without dimension
        impact, as a share of the wheel
    w : quantity of length
        width of the tyre's print
    l_w : quantity of length
        length of the tyre's print
    L : quantity of length, shape (...,)
        one side of the hole
    B : quantity of length, shape (...,)
        other side of the hole
    e_s : quantity of length
        from the edge of the hole to where the plate is bedded
    t : quantity of length
        thickness of the plate
    f_y : quantity of stress
        yield strength
    k_y : quantity without dimension
        share of it that is allowed
    E : quantity of stress
        modulus of elasticity
    r_d : quantity without dimension
        span over maximum deflection

    Returns
    -------
    PlateBending
        `a`, `b`, `r` long and short span and their ratio; `beta`, `alpha` constants; `P_i` wheel with impact; `r_0` radius of the
        print; `k_r` logarithm, `c_s` constant of the stress; `f`, `f_a` stress and allowable stress; `t_req` thickness required;
        `delta`, `delta_a` deflection and what is allowed; `u_b`, `u_d` utilisations.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Roark, with the constants of the next greater ratio of sides.

    Examples
    --------
    >>> from deckcalc import Q
    >>> at = Q(16, "kip"), Q(30, "%"), Q(20, "in"), Q(10, "in"), Q(36, "in"), Q(28, "in"), Q(2, "in")
    >>> made = plate_bending(*at, Q(1, "in"), Q(36, "ksi"), 0.55, Q(29000, "ksi"), 300)
    >>> f"{made.f.to('ksi').magnitude:.1f}, {made.t_req.to('in').magnitude:.2f}"
    '19.9, 1.00'
    """
    a = larger(L, B) + 2 * e_s  # long span
    b = smaller(L, B) + 2 * e_s  # short span
    r = a / b  # ratio of the spans
    beta = stress_coefficient(r)  # constant of the stress
    alpha = deflection_constant(r)  # constant of the deflection
    P_i = (1 + i) * P  # wheel with impact
    r_0 = sqrt(w * l_w / pi)  # radius of a circle as large as the print
    k_r = larger(ln(2 * b / (pi * r_0)), 0)  # how local the load is
    c_s = 1.3 * k_r + beta  # constant of the stress under the wheel
    f = 3 * P_i * c_s / (2 * pi * t**2)  # maximum stress
    f_a = k_y * f_y  # allowable stress
    t_req = sqrt(3 * P_i * c_s / (2 * pi * f_a))  # thickness required
    u_b = f / f_a  # utilisation in bending
    delta = alpha * P_i * b**2 / (E * t**3)  # deflection
    delta_a = b / r_d  # allowable deflection
    u_d = delta / delta_a  # utilisation in deflection
    return PlateBending(a, b, r, beta, alpha, P_i, r_0, k_r, c_s, f, f_a, t_req, u_b, delta, delta_a, u_d)


class PlateBearing(NamedTuple):
    """Result of `plate_bearing`."""

    A_b: SmallArea
    f_c: WoodStress
    f_ca: WoodStress
    u: Ratio


@calculation(
    title="Bearing of the plate at the edge of the hole",
    source=(
        Cite("aashto-standard", "8.15.2.1.3: bearing on concrete, 0.30 of its strength", "memory"),
        Cite("", "statics: the whole wheel on the bedding, not spread along the edge", "common practice"),
    ),
    notes=(
        "For the wheel that stands right at the edge. The bedding lies on concrete that was sounded and found sound, past the saw cut; "
        "what is loose or undermined is taken away first. That the slab beside the hole carries the wheel is another check.",
    ),
)
def plate_bearing(
    P_i: Annotated[Force, Range("5 kN", "600 kN")], l_b: Annotated[Length, Range("25 mm", "600 mm")], l_e: Tyre,
    f_c1: Annotated[WoodStress, Range("10 MPa", "80 MPa")], k_c: Annotated[Ratio, Range("0.1", "0.6")],
) -> PlateBearing:  # fmt: skip
    r"""Pressure of the plate on the concrete beside the hole.

    .. math:: f_c = \frac{P_i}{l_b l_e},\quad f_{ca} = k_c f'_c

    Parameters
    ----------
    P_i : quantity of force, shape (...,)
        wheel with impact
    l_b : quantity of length
        width of the bedding
    l_e : quantity of length
        length of the tyre's print along the edge
    f_c1 : quantity of stress
        strength of the existing concrete
    k_c : quantity without dimension
        share of it that is allowed in bearing

    Returns
    -------
    PlateBearing
        `A_b` area, `f_c` pressure, `f_ca` allowable pressure, `u` utilisation.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: statics; allowable stress as named.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = plate_bearing(Q(20.8, "kip"), Q(6, "in"), Q(10, "in"), Q(3500, "psi"), 0.3)
    >>> f"{made.f_c.to('psi').magnitude:.0f}, {made.u:.2f~P}"
    '347, 0.33'
    """
    A_b = l_b * l_e  # area that bears
    f_c = P_i / A_b  # pressure
    f_ca = k_c * f_c1  # allowable pressure
    u = f_c / f_ca  # utilisation
    return PlateBearing(A_b, f_c, f_ca, u)


class PlateBolts(NamedTuple):
    """Result of `plate_bolts`."""

    H: Force
    U: Force
    V: Force
    T: Force
    u: Ratio


@calculation(
    title="Bolts that hold the plate down",
    source=Cite(
        "", "statics: half of the bolts act, since holes have play; friction is not counted", "common practice"
    ),
    notes=(
        "What braking and rebound take is not published: both shares are the engineer's. Allowable loads are those of the manufacturer of the "
        "anchor for cracked concrete of the strength and edge distance found, with the manufacturer's safety factor. Heads are sunk or covered.",
    ),
    unchecked="elementary statics; limits are in the tests",
)
def plate_bolts(
    P: Wheel, k_h: Annotated[Ratio, Range("0.1", "1.5")], k_u: Annotated[Ratio, Range("0", "1")],
    n: Annotated[Count, Range("4", "40")], V_a: Annotated[Force, Range("1 kN", "200 kN")],
    T_a: Annotated[Force, Range("1 kN", "200 kN")],
) -> PlateBolts:  # fmt: skip
    r"""Shear and tension of the bolts of a plate against what they are allowed.

    .. math:: V = \frac{2 k_h P}{n},\quad T = \frac{2 k_u P}{n},\quad u = \frac{V}{V_a} + \frac{T}{T_a}

    Parameters
    ----------
    P : quantity of force, shape (...,)
        load of one wheel
    k_h : quantity without dimension
        share of the wheel that braking pushes with
    k_u : quantity without dimension
        share of the wheel with which the plate rebounds
    n : quantity without dimension
        number of bolts
    V_a : quantity of force
        allowable shear on one bolt
    T_a : quantity of force
        tension allowed on one bolt

    Returns
    -------
    PlateBolts
        `H` push, `U` uplift, `V` shear and `T` tension of a bolt, `u` utilisation of both together.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: statics.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{plate_bolts(Q(72, 'kN'), 0.7, 0.1, 8, Q(20, 'kN'), Q(10, 'kN')).u:.2f~P}"
    '0.81'
    """
    H = k_h * P  # push of braking
    U = k_u * P  # uplift as the plate rebounds
    V = 2 * H / n  # shear of one bolt
    T = 2 * U / n  # tension of one bolt
    u = V / V_a + T / T_a  # utilisation
    return PlateBolts(H, U, V, T, u)


class PlateSize(NamedTuple):
    """Result of `plate_size`."""

    L_p: Distance
    B_p: Distance
    A_p: Area
    m: Mass
    l_r: Distance
    V_r: Volume


@calculation(
    title="Size of the plate and its ramps",
    source=OVERLAP,
    notes=(
        "A ramp runs along all four edges, a triangle in section, of asphalt. The plate is lifted by machine, and its top is rough or "
        "coated. Above 45 mph (70 km/h) plates are set flush or the speed is held down.",
    ),
    unchecked="geometry; limits are in the tests",
)
def plate_size(
    L: HoleSide, B: HoleSide, o: Annotated[Length, Range("100 mm", "1500 mm")], t: Thickness,
    rho: Annotated[Density, Range("7700 kg/m³", "8000 kg/m³")], m_r: Annotated[Ratio, Range("8", "100")],
) -> PlateSize:  # fmt: skip
    r"""Sides and mass of a plate that laps over the edges of a hole, and its ramps.

    .. math:: L_p = L + 2 o,\quad m = \rho L_p B_p t,\quad l_r = m_r t,\quad V_r = t\,l_r (L_p + B_p + 2 l_r)

    Parameters
    ----------
    L : quantity of length, shape (...,)
        one side of the hole
    B : quantity of length, shape (...,)
        other side of the hole
    o : quantity of length
        overlap beyond every edge
    t : quantity of length
        thickness of the plate
    rho : quantity of density
        density of steel
    m_r : quantity without dimension
        run of the ramp over its rise

    Returns
    -------
    PlateSize
        `L_p`, `B_p` sides, `A_p` area, `m` mass, `l_r` length of a ramp, `V_r` volume of all ramps, their corners as full squares.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = plate_size(Q(0.9, "m"), Q(0.7, "m"), Q(300, "mm"), Q(25, "mm"), Q(7850, "kg/m³"), 24)
    >>> f"{made.m.to('kg').magnitude:.0f}, {made.l_r.to('m'):.2f~P}"
    '383, 0.60 m'
    """
    L_p = L + 2 * o  # one side of the plate
    B_p = B + 2 * o  # other side of the plate
    A_p = L_p * B_p  # area of the plate
    m = rho * A_p * t  # mass of the plate
    l_r = m_r * t  # length of a ramp
    V_r = t * l_r * (L_p + B_p + 2 * l_r)  # volume of the ramps, at most
    return PlateSize(L_p, B_p, A_p, m, l_r, V_r)
