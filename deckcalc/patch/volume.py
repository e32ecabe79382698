"""Volume of a patch, what to order for it, and the bonding grout on its faces."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.calculation import Range, Several, calculation, lookup
from deckcalc.sources import Cite
from deckcalc.units import Area, Distance, Length, OrderVolume, Share, Volume

MarkedArea = Annotated[Area, Range("0.0004 m²", "10000 m²")]
MarkedSide = Annotated[Distance, Range("0.02 m", "100 m")]
VolumeDepth = Annotated[Length, Range("1 mm", "1500 mm")]
OverBreak = Annotated[Share, Range("0 %", "200 %")]
Waste = Annotated[Share, Range("0 %", "100 %")]
GroutThickness = Annotated[Length, Range("0.2 mm", "10 mm")]
Orders = Annotated[OrderVolume, Range("0 m³", "10000 m³"), Several()]


class PatchVolume(NamedTuple):
    """Result of `patch_volume`."""

    V_net: Volume
    V_placed: Volume
    V_order: OrderVolume


@calculation(
    title="Volume of a patch and concrete to order",
    source=(
        Cite("", "area times mean depth, with over-break", "common practice"),
        Cite("navedtra-14070", "take-off of figure 5-2: waste added to the volume placed"),
    ),
    notes=(
        (
            "Over-break is concrete that the hole takes beyond its marked limits and depth; waste is concrete that never "
            "reaches the hole. No published share of over-break was found: it is the engineer's."
        ),
        (
            "The volume of the bars is not taken off. A cubic yard is 27 cubic feet. Batches and loads are rounded up, "
            "not the volume here."
        ),
    ),
)
def patch_volume(A: MarkedArea, h: VolumeDepth, q_over: OverBreak, q_waste: Waste) -> PatchVolume:
    r"""Concrete that a patch takes, and that is ordered for it.

    .. math:: V_{net} = A h,\quad V_{placed} = V_{net} (1 + q_{over}),\quad V_{order} = V_{placed} (1 + q_{waste})

    Parameters
    ----------
    A : quantity of area, shape (...,)
        marked area of the patch
    h : quantity of length, shape (...,)
        depth of removal; the slab thickness where the patch goes through
    q_over : quantity without dimension
        over-break, as a share of the net volume
    q_waste : quantity without dimension
        waste, as a share of the volume placed

    Returns
    -------
    PatchVolume
        `V_net` net volume, `V_placed` volume placed with over-break, `V_order` volume to order with waste.

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
    >>> V = patch_volume(Q(8.75, "ft²"), Q(4, "in"), Q(5, "%"), Q(10, "%"))
    >>> f"{V.V_net.to('ft³'):.2f~P}, {V.V_order.to('yd³'):.3f~P}"
    '2.92 ft³, 0.125 yd³'
    """
    V_net = A * h  # net volume
    V_placed = V_net * (1 + q_over)  # volume placed, with over-break
    V_order = V_placed * (1 + q_waste)  # volume to order, with waste
    return PatchVolume(V_net, V_placed, V_order)


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
    notes=("The total before rounding up to batches or loads.",),
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
        If a volume is negative or more than 10 000 m³, or there is none.

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


class BondingGrout(NamedTuple):
    """Result of `bonding_grout`."""

    A_b: Area
    V_g: Volume


@calculation(
    title="Bonding grout",
    source=Cite("ufc-3-270-04", "5.8: a layer of about 2 mm (1/16 in)"),
    notes=(
        (
            "Floor and four upright sides are coated; the surface of freed bars is not added, nor what a rough floor "
            "takes beyond its plan area."
        ),
    ),
)
def bonding_grout(L: MarkedSide, B: MarkedSide, h: VolumeDepth, t_g: GroutThickness) -> BondingGrout:
    r"""Area to be bonded, and the grout that a thin layer on it takes.

    .. math:: A_b = L B + 2 (L + B) h,\quad V_g = A_b t_g

    Parameters
    ----------
    L : quantity of length, shape (...,)
        marked length
    B : quantity of length, shape (...,)
        marked width
    h : quantity of length, shape (...,)
        depth of removal
    t_g : quantity of length
        thickness of the layer of grout

    Returns
    -------
    BondingGrout
        `A_b` bonded area, floor and sides; `V_g` volume of grout.

    Raises
    ------
    InputError
        If a side is not between 20 mm and 100 m, the depth not between 1 mm and 1500 mm, or the layer not between
        0.2 mm and 10 mm.

    Notes
    -----
    The two printed thicknesses are not equal: 2 mm is 26 % more than 1/16 in. Source: UFC 3-270-04, 5.8.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{bonding_grout(Q(1, 'm'), Q(0.8, 'm'), Q(100, 'mm'), Q(2, 'mm')).V_g.to('L'):.2f~P}"
    '2.32 l'
    """
    A_b = L * B + 2 * (L + B) * h  # bonded area, floor and sides
    V_g = A_b * t_g  # volume of grout
    return BondingGrout(A_b, V_g)
