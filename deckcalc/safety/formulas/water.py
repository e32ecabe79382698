"""Work over water, and the slurry of wet work that may not reach it."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, Distance, ExposureHours, Share, SlurryVolume, WaterFlow

Volume = Annotated[SlurryVolume, Range("0 L", "100000 L")]


class RingBuoys(NamedTuple):
    """Result of `ring_buoys`."""

    n: Count


@calculation(
    title="Ring buoys over water",
    source=Cite("osha-1926-106", "(c): distance between ring buoys"),
    notes=(
        "One at either end of the edge over water and the others between; each with its line, where a hand reaches it at once.",
    ),
)
def ring_buoys(
    L: Annotated[Distance, Range("1 m", "2000 m")], s: Annotated[Distance, Range("5 m", "100 m")]
) -> RingBuoys:
    r"""Number of ring buoys along an edge over water.

    .. math:: n = \lceil L / s \rceil + 1

    Parameters
    ----------
    L : quantity of length
        length of the edge over water
    s : quantity of length
        maximum distance between two

    Returns
    -------
    RingBuoys
        `n` minimum number.

    Raises
    ------
    InputError
        If a length lies outside its range.

    Notes
    -----
    Source: 29 CFR 1926.106(c); one at either end is common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> [f"{ring_buoys(Q(L, 'ft'), Q(200, 'ft')).n.m:.0f}" for L in (60, 200, 201)]
    ['2', '2', '3']
    """
    n = round_up(L / s) + 1  # ring buoys, one at either end
    return RingBuoys(n)


class Slurry(NamedTuple):
    """Result of `slurry`."""

    V_w: SlurryVolume
    V: SlurryVolume
    V_e: SlurryVolume
    V_h: SlurryVolume
    n: Count


@calculation(
    title="Slurry of wet work",
    source=(
        Cite("", "all water that is fed, and the concrete cut or taken off with it, becomes slurry", "common practice"),
        Cite("hydro-wastewater", "collection by vacuum or behind dams, drains plugged; pH 11 to 12.5"),
    ),
    notes=(
        "No water is counted as dried, soaked in or sprayed away: what is held is the most that there can be, without rain.",
        "Slurry is kept from drains, joints, holes and water below until it is hauled away; what is left of it is washed up before it dries.",
    ),
)
def slurry(
    q: Annotated[WaterFlow, Range("0.1 L/min", "500 L/min")],
    t: Annotated[ExposureHours, Range("0 h", "24 h")],
    V_c: Volume,
    r: Annotated[Share, Range("0 %", "100 %")],
    f: Annotated[Share, Range("0 %", "100 %")],
    V_1: Annotated[SlurryVolume, Range("5 L", "100000 L")],
) -> Slurry:
    r"""Quantity of slurry, what escapes the vacuum, and what has to be held.

    .. math:: V = q t + V_c, \quad V_e = (1 - r) V, \quad V_h = (1 + f) V

    Parameters
    ----------
    q : quantity of volume per time
        water fed to blade or jet
    t : quantity of time
        time for which it is fed
    V_c : quantity of volume
        concrete cut or taken off as slurry
    r : quantity without dimension
        share taken up at once by vacuum
    f : quantity without dimension
        room kept free in what holds it
    V_1 : quantity of volume
        what one tank holds

    Returns
    -------
    Slurry
        `V_w` water, `V` slurry, `V_e` left on the deck for the dams, `V_h` to be held, `n` fills of the tank.

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
    >>> made = slurry(Q(4, "L/min"), Q(1, "h"), Q(10, "L"), Q(90, "%"), Q(20, "%"), Q(200, "L"))
    >>> f"{made.V.to('L'):.0f~P}, {made.V_e.to('L'):.0f~P}, {made.V_h.to('L'):.0f~P}, {made.n.m:.0f}"
    '250 l, 25 l, 300 l, 2'
    """
    V_w = q * t  # water
    V = V_w + V_c  # slurry
    V_e = (1 - r) * V  # left on the deck for the dams
    V_h = (1 + f) * V  # to be held, with room kept free
    n = round_up(V_h / V_1)  # fills of the tank
    return Slurry(V_w, V, V_e, V_h, n)
