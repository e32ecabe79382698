"""Unit weight of the fresh concrete of one hole with its bars."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core import units
from deckcalc.core.calculation import Range, calculation, larger, pi
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, Density, Diameter, Length, Share, UnitWeight

BarDiameter = Annotated[Diameter, Range("6 mm", "60 mm")]


class ConcreteWeight(NamedTuple):
    """Result of `concrete_weight`."""

    v_b: Share
    w_b: UnitWeight
    w_m: UnitWeight
    w_c: UnitWeight


@calculation(
    title="Unit weight of the fresh concrete with its bars",
    source=Cite("", "the greater of two is safe for a form; steel 7850 kg/m³", "common practice"),
    notes=(
        "The bars are counted at the minimum spacing of the top bars in both directions of every mat, which is on the safe side.",
    ),
    unchecked="a sum and the greater of two; both sides are in the tests",
)
def concrete_weight(
    rho_c: Annotated[Density, Range("1200 kg/m³", "3000 kg/m³")], d_1: BarDiameter, d_2: BarDiameter,
    s_b: Annotated[Length, Range("50 mm", "600 mm")], n_m: Annotated[Count, Range("1", "2")],
    h: Annotated[Length, Range("25 mm", "1500 mm")], rho_s: Annotated[Density, Range("7700 kg/m³", "8000 kg/m³")],
    g: Annotated[units.Quantity, units.Kind("weight of a mass", "N/kg", "lbf/lb", 5, 3), Range("9.5 N/kg", "10 N/kg")],
    w_s: Annotated[UnitWeight, Range("12 kN/m³", "35 kN/m³")],
) -> ConcreteWeight:  # fmt: skip
    r"""Unit weight of the concrete of one hole by its materials with its bars, and the greater of that and the one stated.

    .. math:: v_b = \frac{n_m \pi (d_1^2 + d_2^2)}{4 s_b h},\quad w_m = g \rho_c (1 - v_b) + g \rho_s v_b,\quad w_c = \max(w_m, w_s)

    Parameters
    ----------
    rho_c : quantity of density, shape (...,)
        fresh concrete by its materials
    d_1 : quantity of length
        thicker bars along one direction
    d_2 : quantity of length
        thicker bars along the other direction
    s_b : quantity of length
        spacing of the bars
    n_m : quantity without dimension
        mats of bars
    h : quantity of length
        thickness of the slab
    rho_s : quantity of density
        density of steel
    g : quantity of force per mass
        weight of a unit of mass
    w_s : quantity of force per volume
        unit weight stated in the job, with bars

    Returns
    -------
    ConcreteWeight
        `v_b` share of the bars in the volume, `w_b` their weight in it, `w_m` unit weight by the materials, `w_c` unit weight
        for the form.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> slab = Q(16, "mm"), Q(13, "mm"), Q(150, "mm"), 2, Q(200, "mm"), Q(7850, "kg/m³"), Q(9.80665, "N/kg")
    >>> made = concrete_weight(Q(2350, "kg/m³"), *slab, Q(23.5, "kN/m³"))
    >>> f"{made.w_m.to('kN/m³').magnitude:.2f}, {made.w_c.to('kN/m³').magnitude:.2f}"
    '24.25, 24.25'
    """
    v_b = n_m * pi * (d_1**2 + d_2**2) / (4 * s_b * h)  # share of the bars in the volume
    w_b = g * rho_s * v_b  # weight of the bars in the volume
    w_m = g * rho_c * (1 - v_b) + w_b  # unit weight by the materials
    w_c = larger(w_m, w_s)  # unit weight for the form
    return ConcreteWeight(v_b, w_b, w_m, w_c)
