"""The deck strip in its states: as built, as found, open, repaired."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BarArea, Count, Distance, Length, LoadPerArea, Moment, MomentPerWidth, Ratio, Share
from deckcalc.steel.formulas.bars import BarDiameter, Spacing, StripWidth
from deckcalc.steel.formulas.rating import PerWidth

GEOMETRY = Cite("", "geometry of the section", "common practice")
Thickness = Annotated[Length, Range("30 mm", "1 m")]
Removal = Annotated[Length, Range("5 mm", "1 m")]
Cover = Annotated[Length, Range("5 mm", "300 mm")]
AreaLoad = Annotated[LoadPerArea, Range("0 kN/m²", "25 kN/m²")]
StripArea = Annotated[BarArea, Range("1 mm²", "50000 mm²")]


@lookup("{h} less {d_c}, which must be less than the slab")
def inside(h: Length, d_c: Length) -> Length:
    """Return the depth that a cover leaves; refuse a cover that reaches through the slab."""
    depth = h - d_c
    if bool(depth <= 0):
        raise TableError(
            "the cover to the bar centre is not less than the thickness of the slab; is a cover or a unit wrong?"
        )
    return depth


class BarDepth(NamedTuple):
    """Result of `depth_to_bars`."""

    d_c: Length
    d: Length


@calculation(title="Depth to the bars", source=GEOMETRY)
def depth_to_bars(h: Thickness, c: Cover, d_b: BarDiameter) -> BarDepth:
    r"""Depth from the compression face to the centre of the bars.

    .. math:: d = h - c - d_b/2

    Parameters
    ----------
    h : quantity of length
        thickness of the slab
    c : quantity of length
        clear cover of the bars on the tension side
    d_b : quantity of length
        diameter of the bars

    Returns
    -------
    BarDepth
        `d_c` cover to the centre of the bars, `d` depth to it.

    Raises
    ------
    InputError
        If the cover reaches through the slab.

    Notes
    -----
    Source: geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{depth_to_bars(Q(8, 'in'), Q(2, 'in'), Q(0.625, 'in')).d.to('in'):.4f~P}"
    '5.6875 in'
    """
    d_c = c + d_b / 2  # cover to the centre of the bars
    d = inside(h, d_c)  # depth to the bars
    return BarDepth(d_c, d)


class OpenDepth(NamedTuple):
    """Result of `depth_under_removal`."""

    h_left: Length
    d_c: Length
    d: Length


@calculation(
    title="Slab that is left under an open patch, and the depth of its bottom bars",
    source=GEOMETRY,
    notes=("The removal is taken as deep over the whole strip; concrete beside the patch helps, and is not counted.",),
)
def depth_under_removal(h: Thickness, h_r: Removal, c: Cover, d_b: BarDiameter) -> OpenDepth:
    r"""Depth from the bottom of a removal to the bottom bars.

    .. math:: d = h - h_r - c - d_b/2

    Parameters
    ----------
    h : quantity of length
        thickness of the slab
    h_r : quantity of length
        depth of removal
    c : quantity of length
        clear cover of the bottom bars
    d_b : quantity of length
        diameter of the bottom bars

    Returns
    -------
    OpenDepth
        `h_left` slab that is left, `d_c` cover to the centre of the bars, `d` depth to it.

    Raises
    ------
    InputError
        If no slab is left above the bars.

    Notes
    -----
    Source: geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{depth_under_removal(Q(8, 'in'), Q(4, 'in'), Q(1, 'in'), Q(0.625, 'in')).d.to('in'):.4f~P}"
    '2.6875 in'
    """
    h_left = h - h_r  # slab that is left
    d_c = c + d_b / 2  # cover to the centre of the bottom bars
    d = inside(h_left, d_c)  # depth to the bottom bars
    return OpenDepth(h_left, d_c, d)


@calculation(
    title="Area of bars left in a strip",
    source=GEOMETRY,
    notes=(
        "The mean loss of the measured bars of the patch stands for the strip; the worst bar alone is on the drawing.",
    ),
)
def area_left(A_s: StripArea, loss: Annotated[Share, Range("-50 %", "99 %")]) -> BarArea:
    r"""Area of the bars in a strip after their mean loss.

    .. math:: A_l = A_s (1 - loss)

    Parameters
    ----------
    A_s : quantity of area
        nominal area of the bars in the strip
    loss : quantity without dimension
        mean loss of section

    Returns
    -------
    BarArea
        `A_l` area left.

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
    >>> f"{area_left(Q(0.62, 'in²'), Q(25, '%')).to('in²'):.3f~P}"
    '0.465 in²'
    """
    A_l = A_s * (1 - loss)  # area left in the strip
    return A_l


class Added(NamedTuple):
    """Result of `added_in_strip`."""

    w: Length
    A_2: BarArea


@calculation(
    title="Added bars in a strip",
    source=GEOMETRY,
    notes=("The added bars are spread over the measured bars of the patch.",),
)
def added_in_strip(A_added: StripArea, N: Annotated[Count, Range("1", "1000")], s: Spacing, b: StripWidth) -> Added:
    r"""Area of added bars in a strip.

    .. math:: A_2 = A_{added}\, b / (N s)

    Parameters
    ----------
    A_added : quantity of area
        area of all bars added in the patch
    N : quantity without dimension
        measured bars of the patch
    s : quantity of length
        spacing of those bars
    b : quantity of length
        width of the strip

    Returns
    -------
    Added
        `w` width over which the bars were measured, `A_2` area in the strip.

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
    >>> f"{added_in_strip(Q(0.2, 'in²'), Q(6), Q(6, 'in'), Q(12, 'in')).A_2.to('in²'):.3f~P}"
    '0.067 in²'
    """
    w = N * s  # width over which the bars were measured
    A_2 = A_added * b / w  # area of added bars in the strip
    return Added(w, A_2)


class OpenSlab(NamedTuple):
    """Result of `open_slab`."""

    w_u: LoadPerArea
    m_u: MomentPerWidth
    r_o: Ratio


@calculation(
    title="Open slab under dead and construction load",
    source=Cite(
        "", "statics: simple span over the bay, since the top bars over the girder are bare", "common practice"
    ),
    notes=(
        "No wheel stands on it. Overlay and slab are counted in full, as if the patch were not broken out; what the slab beside the "
        "patch carries is not counted.",
    ),
)
def open_slab(
    w_DC: AreaLoad, w_DW: AreaLoad, q_c: AreaLoad, gamma_DC: Annotated[Ratio, Range("0.8", "2")],
    gamma_DW: Annotated[Ratio, Range("0.6", "2")], gamma_c: Annotated[Ratio, Range("1", "2.5")],
    S: Annotated[Distance, Range("0.6 m", "7.3 m")], k_s: Annotated[Ratio, Range("7", "16")], m_r: PerWidth,
) -> OpenSlab:  # fmt: skip
    r"""Strength of the slab under an open patch against its own weight, its overlay and the construction load.

    .. math:: r_o = m_r k_s / (w_u S^2), \quad w_u = \gamma_{DC} w_{DC} + \gamma_{DW} w_{DW} + \gamma_c q_c

    Parameters
    ----------
    w_DC : quantity of load per area
        weight of the slab
    w_DW : quantity of load per area
        weight of overlay and later layers
    q_c : quantity of load per area
        construction load on the slab
    gamma_DC : quantity without dimension
        load factor of the slab
    gamma_DW : quantity without dimension
        load factor of the overlay
    gamma_c : quantity without dimension
        load factor of the construction load
    S : quantity of length
        spacing of the girders
    k_s : quantity without dimension
        coefficient of moment: 8 for a simple span
    m_r : quantity of moment per width
        strength of the slab left under the removal

    Returns
    -------
    OpenSlab
        `w_u` factored load, `m_u` its moment, `r_o` strength over that moment.

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
    >>> load, one = (lambda x: Q(x, "psf")), (lambda x: Q(x, ""))
    >>> found = open_slab(load(100), load(25), load(50), one(1.25), one(1.5), one(1.5), Q(8, "ft"), one(8), Q(6, "kip*ft/ft"))
    >>> f"{found.w_u.to('psf').magnitude:.1f}, {found.r_o.magnitude:.2f}"
    '237.5, 3.16'
    """
    w_u = gamma_DC * w_DC + gamma_DW * w_DW + gamma_c * q_c  # factored load
    m_u = w_u * S**2 / k_s  # moment of the span
    r_o = m_r / m_u  # strength over moment
    return OpenSlab(w_u, m_u, r_o)


@calculation(
    title="Moment of the strip in service",
    source=Cite("", "dead and live load without load factors", "common practice"),
)
def service_moment(m_DC: PerWidth, m_DW: PerWidth, m_LL: PerWidth, b: StripWidth) -> Moment:
    r"""Moment of the strip in service.

    .. math:: M = (m_{DC} + m_{DW} + m_{LL}) b

    Parameters
    ----------
    m_DC : quantity of moment per width
        moment of the slab
    m_DW : quantity of moment per width
        moment of the overlay
    m_LL : quantity of moment per width
        live-load moment with impact
    b : quantity of length
        width of the strip

    Returns
    -------
    Moment
        `M` moment of the strip.

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
    >>> m = lambda x: Q(x, "kip*ft/ft")
    >>> f"{service_moment(m(0.64), m(0.16), m(4.81), Q(1, 'ft')).to('kip*ft'):.2f~P}"
    '5.61 ft·kip'
    """
    M = (m_DC + m_DW + m_LL) * b  # moment of the strip in service
    return M
