"""What follows from the hole: faces to bond and to cure, bars in it, debris, whole batches."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, larger, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.units import Area, BarArea, Count, Density, Distance, Length, Mass, Share, Volume

MarkedSide = Annotated[Distance, Range("0.02 m", "100 m")]
MarkedArea = Annotated[Area, Range("0.0004 m²", "10000 m²")]
FloorArea = Annotated[Area, Range("0 m²", "10000 m²")]
Edge = Annotated[Distance, Range("0 m", "1000 m")]
Depth = Annotated[Length, Range("1 mm", "1500 mm")]
Overlap = Annotated[Length, Range("0 mm", "3 m")]
GroutThickness = Annotated[Length, Range("0.2 mm", "10 mm")]
OneBar = Annotated[BarArea, Range("0 mm²", "5000 mm²")]
Spacing = Annotated[Length, Range("40 mm", "1000 mm")]
SomeVolume = Annotated[Volume, Range("0.000001 m³", "10000 m³")]
OldConcrete = Annotated[Density, Range("1000 kg/m³", "3500 kg/m³")]
Bulking = Annotated[Share, Range("0 %", "200 %")]
LoadMass = Annotated[Mass, Range("10 kg", "50000 kg")]
OneVolume = Annotated[Volume, Range("0.0005 m³", "50 m³")]


class BondArea(NamedTuple):
    """Result of `bond_area`."""

    A_s: Area
    A_b: Area


@calculation(
    title="Bond area",
    source=Cite("", "floor and sides of the hole", "common practice"),
    notes=(
        "The surface of exposed bars is not added, nor what a rough floor takes beyond its plan area. A full-depth hole has no "
        "floor; its sides are counted over the whole depth.",
    ),
)
def bond_area(A_f: FloorArea, P: Edge, h: Depth) -> BondArea:
    r"""Area of existing concrete that the repair concrete is placed against.

    .. math:: A_b = A_f + P h

    Parameters
    ----------
    A_f : quantity of area, shape (...,)
        area of the floor, nothing where the hole goes through
    P : quantity of length, shape (...,)
        length of the edges against existing concrete
    h : quantity of length, shape (...,)
        depth of removal

    Returns
    -------
    BondArea
        `A_s` area of the sides, `A_b` bond area.

    Raises
    ------
    InputError
        If an area or length lies outside what a patch can have.

    Notes
    -----
    Source: plane geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{bond_area(Q(0.8, 'm²'), Q(3.6, 'm'), Q(100, 'mm')).A_b.to('m²'):.2f~P}"
    '1.16 m²'
    """
    A_s = P * h  # area of the sides
    A_b = A_f + A_s  # bond area
    return BondArea(A_s, A_b)


@calculation(
    title="Bonding grout",
    source=Cite("ufc-3-270-04", "5.8: a layer of about 2 mm (1/16 in)"),
    notes=("What is brushed out and thrown away is not added.",),
)
def bonding_grout(A_b: MarkedArea, t_g: GroutThickness) -> Volume:
    r"""Grout that a thin layer takes.

    .. math:: V_g = A_b t_g

    Parameters
    ----------
    A_b : quantity of area, shape (...,)
        bond area
    t_g : quantity of length
        thickness of the layer of grout

    Returns
    -------
    Volume
        `V_g`, volume of grout.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    The two printed thicknesses are not equal: 2 mm is 26 % more than 1/16 in. Source: UFC 3-270-04, 5.8.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{bonding_grout(Q(1.16, 'm²'), Q(2, 'mm')).to('L'):.2f~P}"
    '2.32 l'
    """
    V_g = A_b * t_g  # volume of grout
    return V_g


class CuringArea(NamedTuple):
    """Result of `curing_area`."""

    L_c: Distance
    B_c: Distance
    A_c: Area


@calculation(
    title="Area of wet cover",
    source=Cite("ufc-3-270-03", "16.6: wet cover reaches 12 in past every edge"),
    notes=("Laps between sheets, and what a kerb turns up, are not added.",),
)
def curing_area(L: MarkedSide, B: MarkedSide, o: Overlap) -> CuringArea:
    r"""Area of wet cover over a patch, past its edges.

    .. math:: A_c = (L + 2 o)(B + 2 o)

    Parameters
    ----------
    L : quantity of length, shape (...,)
        marked length
    B : quantity of length, shape (...,)
        marked width
    o : quantity of length
        how far the cover reaches past every edge

    Returns
    -------
    CuringArea
        `L_c` and `B_c` sides of the cover, `A_c` its area.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: UFC 3-270-03, 16.6.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{curing_area(Q(3, 'ft'), Q(2, 'ft'), Q(12, 'in')).A_c.to('ft²'):.1f~P}"
    '20.0 ft²'
    """
    L_c = L + 2 * o  # length of the cover
    B_c = B + 2 * o  # width of the cover
    A_c = L_c * B_c  # area of wet cover
    return CuringArea(L_c, B_c, A_c)


class BarsInHole(NamedTuple):
    """Result of `bars_in_hole`."""

    V_bars: Volume
    q_bars: Share


@calculation(
    title="Volume of the bars, not deducted",
    source=Cite("", "area of one bar over its spacing, for each layer", "common practice"),
    notes=(
        "Both layers are taken at the minimum spacing of the top bars, which gives the most that the bars can take.",
    ),
    unchecked="a product of areas; shown to tell how little is neglected",
)
def bars_in_hole(A: MarkedArea, A_b1: OneBar, A_b2: OneBar, s: Spacing, V_net: SomeVolume) -> BarsInHole:
    r"""Volume of the exposed bars of the top mat, and their share of the net volume.

    .. math:: V_{bars} = A \frac{A_{b1} + A_{b2}}{s}

    Parameters
    ----------
    A : quantity of area
        marked area
    A_b1 : quantity of area
        area of one bar of the upper layer
    A_b2 : quantity of area
        area of one bar of the lower layer
    s : quantity of length
        spacing of the bars
    V_net : quantity of volume
        net volume of the patch

    Returns
    -------
    BarsInHole
        `V_bars` volume of the bars, `q_bars` share of the net volume.

    Raises
    ------
    InputError
        If an area, the spacing or the volume lies outside what a patch can have.

    Notes
    -----
    Source: plane geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> bars = bars_in_hole(Q(1, "m²"), Q(200, "mm²"), Q(130, "mm²"), Q(150, "mm"), Q(0.1, "m³"))
    >>> f"{bars.q_bars.to('%'):.1f~P}"
    '2.2 %'
    """
    V_bars = A * (A_b1 + A_b2) / s  # volume of the exposed bars
    q_bars = V_bars / V_net  # share of the net volume
    return BarsInHole(V_bars, q_bars)


class Debris(NamedTuple):
    """Result of `debris`."""

    m_d: Mass
    V_loose: Volume
    n_m: Count
    n_V: Count
    n: Count


@calculation(
    title="Debris",
    source=Cite("", "mass from the unit weight, loose volume by bulking", "common practice"),
    notes=(
        "Broken concrete lies looser than it stood; the share is the engineer's. Loads are whole, by mass or by volume, "
        "whichever asks for more; what one trip can take on the day is for the haulier.",
    ),
)
def debris(V: SomeVolume, rho: OldConcrete, q_b: Bulking, m_1: LoadMass, V_1: OneVolume) -> Debris:
    r"""Mass and loose volume of what is broken out, and truck loads.

    .. math:: m_d = V \rho,\quad V_{loose} = V (1 + q_b)

    Parameters
    ----------
    V : quantity of volume
        volume of the holes, with over-break
    rho : quantity of density
        unit weight of the existing concrete
    q_b : quantity without dimension
        bulking, as a share of the volume in place
    m_1 : quantity of mass
        mass that one truck may carry
    V_1 : quantity of volume
        volume that one truck holds

    Returns
    -------
    Debris
        `m_d` mass, `V_loose` loose volume, `n_m` and `n_V` whole loads by mass and by volume, `n` loads.

    Raises
    ------
    InputError
        If a volume, the unit weight or a share lies outside what debris can have.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> out = debris(Q(1, "m³"), Q(2400, "kg/m³"), Q(50, "%"), Q(2000, "kg"), Q(3, "m³"))
    >>> f"{out.m_d:.0f~P}, {out.n.magnitude:.0f}"
    '2400 kg, 2'
    """
    m_d = V * rho  # mass of the debris
    V_loose = V * (1 + q_b)  # loose volume
    n_m = round_up(m_d / m_1)  # whole loads by mass
    n_V = round_up(V_loose / V_1)  # whole loads by volume
    n = larger(n_m, n_V)  # loads
    return Debris(m_d, V_loose, n_m, n_V, n)


class WholeNumber(NamedTuple):
    """Result of `whole_number`."""

    n: Count
    V_made: Volume
    V_left: Volume


@calculation(
    title="Whole batches or bags",
    source=Cite("", "a part of a batch or bag is made up whole", "common practice"),
    notes=("The yield of a bag is that of its data sheet; the mass of a bag alone does not give it.",),
)
def whole_number(V: SomeVolume, V_1: OneVolume) -> WholeNumber:
    r"""Whole number of batches or bags for a volume.

    .. math:: n = \left\lceil \frac{V}{V_1} \right\rceil

    Parameters
    ----------
    V : quantity of volume
        volume to order
    V_1 : quantity of volume
        volume of one batch, or yield of one bag

    Returns
    -------
    WholeNumber
        `n` whole number, `V_made` volume that it gives, `V_left` what is left over.

    Raises
    ------
    InputError
        If a volume lies outside what is ordered for patches.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{whole_number(Q(1, 'yd³'), Q(0.60, 'ft³')).n.magnitude:.0f}"
    '45'
    """
    n = round_up(V / V_1)  # whole number
    V_made = n * V_1  # volume that it gives
    V_left = V_made - V  # left over
    return WholeNumber(n, V_made, V_left)
