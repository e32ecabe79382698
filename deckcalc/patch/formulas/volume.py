"""Volume of a patch, and what to order for it."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core.calculation import ListOf, Range, calculation, larger, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Area, Distance, Length, OrderVolume, Share, Volume

MarkedArea = Annotated[Area, Range("0.0004 m²", "10000 m²")]
Edge = Annotated[Distance, Range("0 m", "1000 m")]
Neat = Annotated[Volume, Range("0.000001 m³", "10000 m³")]
NeatPart = Annotated[Volume, Range("0 m³", "10000 m³")]
SawDepth = Annotated[Length, Range("0 mm", "500 mm")]
Undercut = Annotated[Length, Range("0 mm", "200 mm")]
Growth = Annotated[Share, Range("0 %", "200 %")]
VolumeDepth = Annotated[Length, Range("1 mm", "1500 mm")]
OverBreak = Annotated[Share, Range("0 %", "200 %")]
Waste = Annotated[Share, Range("0 %", "100 %")]
Orders = Annotated[OrderVolume, Range("0 m³", "10000 m³"), ListOf()]


class NeatVolume(NamedTuple):
    """Result of `neat_volume`."""

    V_m: Volume
    h_t: Length


@calculation(
    title="Neat volume by triangles and by mean depth",
    source=(
        Cite("", "triangles between depth readings", "common practice"),
        Cite("ufgs-03931", "measurement: volume between surfaces surveyed before and after removal"),
    ),
    notes=(
        (
            "The volume by triangles is the sum over plane triangles between the readings and the corners of the repair "
            "limits; a corner takes the depth of the reading nearest to it, the deeper of two as near. The triangles are listed in this sheet."
        ),
        "The volume by triangles is ordered by: it weighs each reading with the area that it stands for.",
    ),
)
def neat_volume(A: MarkedArea, h_m: VolumeDepth, V_t: Neat) -> NeatVolume:
    r"""Volume of a patch by triangles between the readings, beside the volume by their mean.

    .. math:: V_m = A h_m,\quad h_t = \frac{V_t}{A}

    Parameters
    ----------
    A : quantity of area
        marked area
    h_m : quantity of length
        mean depth of removal at the readings
    V_t : quantity of volume
        volume by triangles between the readings

    Returns
    -------
    NeatVolume
        `V_m` volume by the mean of the readings, `h_t` depth that gives the volume by triangles.

    Raises
    ------
    InputError
        If area, depth or volume lies outside what a patch can have.

    Notes
    -----
    Source: common practice; volumes between surveyed surfaces: UFGS 03931.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{neat_volume(Q(2, 'm²'), Q(100, 'mm'), Q(0.21, 'm³')).h_t.to('mm'):.0f~P}"
    '105 mm'
    """
    V_m = A * h_m  # volume by the mean of the readings
    h_t = V_t / A  # depth that gives the volume by triangles
    return NeatVolume(V_m, h_t)


class ThroughPart(NamedTuple):
    """Result of `through_part`."""

    V_out: Volume
    V_through: Volume
    V_t: Volume


@calculation(
    title="Full-depth area inside a partial-depth patch",
    source=Cite("", "the part that goes through is taken at the thickness of the slab", "common practice"),
    notes=(
        (
            "The part that goes through is the rectangle round all places where the floor between the readings lies deeper "
            "than the rule allows for partial depth."
        ),
    ),
    unchecked="a sum of volumes; the volumes themselves are held against solids of known volume",
)
def through_part(V_all: Neat, V_f: NeatPart, A_f: MarkedArea, t: VolumeDepth) -> ThroughPart:
    r"""Volume of a partial-depth patch of which a part goes through the slab.

    .. math:: V_t = V_{all} - V_f + A_f t

    Parameters
    ----------
    V_all : quantity of volume
        volume of the whole patch by triangles, as if it were of partial depth
    V_f : quantity of volume
        of that, the volume over the part that goes through
    A_f : quantity of area
        area of the part that goes through
    t : quantity of length
        thickness of the slab

    Returns
    -------
    ThroughPart
        `V_out` partial-depth volume, `V_through` volume of the part that goes through, `V_t` both together.

    Raises
    ------
    InputError
        If a volume, the area or the thickness lies outside what a patch can have.

    Notes
    -----
    Source: plane geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{through_part(Q(0.2, 'm³'), Q(0.05, 'm³'), Q(0.4, 'm²'), Q(200, 'mm')).V_t.to('m³'):.2f~P}"
    '0.23 m³'
    """
    V_out = V_all - V_f  # partial-depth volume beside the part that goes through
    V_through = A_f * t  # volume of the part that goes through
    V_t = V_out + V_through  # volume of both
    return ThroughPart(V_out, V_through, V_t)


class UndercutVolume(NamedTuple):
    """Result of `undercut_volume`."""

    h_under: Length
    V_u: Volume


@calculation(
    title="Undercut of the edges",
    source=(
        Cite("", "a wedge under the saw cut, all round", "common practice"),
        Cite("ohio-cms-519", "519.03: edges square or slightly undercut"),
    ),
    notes=(
        "The wedge widens from nothing at the foot of the saw cut to the undercut at the floor; its corners are not added.",
    ),
    unchecked="a wedge by plane geometry; no source prints its volume",
)
def undercut_volume(P_e: Edge, h: VolumeDepth, d_saw: SawDepth, u: Undercut) -> UndercutVolume:
    r"""Volume that is broken out under the edges of a patch.

    .. math:: V_u = \frac{P_e u (h - d_{saw})}{2}

    Parameters
    ----------
    P_e : quantity of length
        length of the edges, without kerbs and joints
    h : quantity of length
        depth of removal
    d_saw : quantity of length
        depth of the saw cut
    u : quantity of length
        undercut at the floor

    Returns
    -------
    UndercutVolume
        `h_under` height below the saw cut, `V_u` volume of the wedge.

    Raises
    ------
    InputError
        If a length lies outside what a patch can have.

    Notes
    -----
    Source: plane geometry; slightly undercut edges: Ohio CMS 519, 519.03.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{undercut_volume(Q(4, 'm'), Q(105, 'mm'), Q(25, 'mm'), Q(10, 'mm')).V_u.to('L'):.1f~P}"
    '1.6 l'
    """
    h_under = larger(h - d_saw, 0 * h)  # height below the saw cut
    V_u = P_e * u * h_under / 2  # volume of the wedge
    return UndercutVolume(h_under, V_u)


class PatchVolume(NamedTuple):
    """Result of `patch_volume`."""

    V_net: Volume
    V_hole: Volume
    V_placed: Volume
    V_order: OrderVolume


@calculation(
    title="Volume of a patch and concrete to order",
    source=(
        Cite("", "area times depth, with growth and over-break", "common practice"),
        Cite("navedtra-14070", "take-off of figure 5-2: waste added to the volume placed"),
    ),
    notes=(
        (
            "Growth is what becomes unsound, or is found to be, between survey and removal; over-break is concrete that the "
            "hole takes beyond its limits and depth; waste is concrete that never reaches the hole. No published share of "
            "growth or over-break was found: both are the engineer's."
        ),
        (
            "The volume of the bars is not deducted. A cubic yard is 27 cubic feet. Batches and truck loads are rounded up, "
            "not the volume here."
        ),
    ),
)
def patch_volume(
    A: MarkedArea, h: VolumeDepth, V_u: NeatPart, q_grow: Growth, q_over: OverBreak, q_waste: Waste
) -> PatchVolume:
    r"""Concrete that a patch takes, and that is ordered for it.

    .. math:: V_{hole} = (A h + V_u) (1 + q_{grow}),\quad V_{placed} = V_{hole} (1 + q_{over}),\quad
        V_{order} = V_{placed} (1 + q_{waste})

    Parameters
    ----------
    A : quantity of area, shape (...,)
        marked area of the patch
    h : quantity of length, shape (...,)
        depth of removal for the volume; the slab thickness where the patch goes through
    V_u : quantity of volume, shape (...,)
        volume under the edges
    q_grow : quantity without dimension
        growth between survey and removal, as a share of the net volume
    q_over : quantity without dimension
        over-break, as a share of the volume of the hole
    q_waste : quantity without dimension
        waste, as a share of the volume placed

    Returns
    -------
    PatchVolume
        `V_net` net volume, `V_hole` volume of the hole with undercut and growth, `V_placed` volume placed with
        over-break, `V_order` volume to order with waste.

    Raises
    ------
    InputError
        If area, depth or a share lies outside what a patch can have; the message says which.

    Notes
    -----
    Source: common practice; waste of 10 % on the volume placed: NAVEDTRA 14070, figure 5-2.

    Examples
    --------
    >>> from deckcalc import Q
    >>> V = patch_volume(Q(8.75, "ft²"), Q(4, "in"), Q(0, "ft³"), Q(0, "%"), Q(5, "%"), Q(10, "%"))
    >>> f"{V.V_net.to('ft³'):.2f~P}, {V.V_order.to('yd³'):.3f~P}"
    '2.92 ft³, 0.125 yd³'
    """
    V_net = A * h  # net volume
    V_hole = (V_net + V_u) * (1 + q_grow)  # volume of the hole, with undercut and growth
    V_placed = V_hole * (1 + q_over)  # volume placed, with over-break
    V_order = V_placed * (1 + q_waste)  # volume to order, with waste
    return PatchVolume(V_net, V_hole, V_placed, V_order)


@lookup("the sum of {V}")
def sum_of(V: Orders) -> OrderVolume:
    """Return the sum of the volumes."""
    return np.sum(V, axis=-1)


class OrderTotal(NamedTuple):
    """Result of `order_total`."""

    V_total: OrderVolume


@calculation(
    title="Concrete to order for all patches",
    source=Cite("navedtra-14070", "take-off of figure 5-2: the items are added up"),
    notes=("The total before rounding up to batches or truck loads.",),
)
def order_total(V: Orders) -> OrderTotal:
    r"""Sum of the volumes of several patches.

    .. math:: V_{total} = \sum V_i

    Parameters
    ----------
    V : quantity of volume, shape (..., n)
        volume to order for each patch

    Returns
    -------
    OrderTotal
        `V_total` sum of the volumes.

    Raises
    ------
    InputError
        If there is no volume, or a value lies outside its range.

    Notes
    -----
    Source: NAVEDTRA 14070, figure 5-2.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{order_total(Q([0.125, 0.350], 'yd³')).V_total.to('yd³'):.3f~P}"
    '0.475 yd³'
    """
    V_total = sum_of(V)  # total to order
    return OrderTotal(V_total)
