"""Demand on the deck strip by table or by hand, capacity to demand, rating factor."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

from deckcalc.core import tables
from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Density, Force, Length, LoadPerArea, MomentPerWidth, Ratio
from deckcalc.steel.formulas.bars import FT, IN, KSI, each

Sign = Literal["positive", "negative"]
A41 = Cite("aashto-lrfd", "appendix A4, table A4-1, as reproduced in a public copy")
LRFR = Cite("aashto-mbe", "equations 6A.4.2.1-1 to -3, as reproduced in a bridge text")
GirderSpacing = Annotated[Length, Range("1.0 m", "6 m")]
PerWidth = Annotated[MomentPerWidth, Range("0 kN·m/m", "1000 kN·m/m")]
LoadFactor = Annotated[Ratio, Range("0.5", "3")]
KIP = KSI * IN**2  # N


@lookup(
    "from table A4-1, {sign} moment, girders {S} apart, design section {x} from the girder centre line (no matter for positive "
    "moment), linear between rows and columns",
    source=A41,
)
def table_moment(S: Length, x: Length, sign: Sign) -> MomentPerWidth:
    """Return the live-load moment of table A4-1, which includes multiple presence and 33 % impact."""
    return each(lambda s, o: _table_moment(s / FT, o / IN, sign), S, x)


def _table_moment(S: float, x: float, sign: str) -> float:
    table = tables.load("deck_moments")
    spans = table.column("S [ft]")
    if sign == "positive":
        return tables.interpolate(S, spans, table.column("positive"), "girder spacing in ft") * KIP
    places = [0.0, 3.0, 6.0, 9.0, 12.0, 18.0, 24.0]
    row = [tables.interpolate(S, spans, table.column(f"neg {place:g} in"), "girder spacing in ft") for place in places]
    return tables.interpolate(x, places, row, "distance of the design section in in") * KIP


@calculation(
    title="Live-load moment of the deck by table",
    source=A41,
    notes=(
        "HL-93 with multiple presence and 33 % impact in the table: neither is multiplied again. Three or more girders, at least "
        "4.3 m (14 ft) between the outer ones, interior bays only. The table is in US units and is converted exactly.",
    ),
)
def deck_moment(S: GirderSpacing, x: Annotated[Length, Range("0 mm", "700 mm")], sign: Sign) -> MomentPerWidth:
    r"""Live-load moment per width of a deck on girders.

    .. math:: m_{LL} = \text{table A4-1}(S, x)

    Parameters
    ----------
    S : quantity of length
        spacing of the girders
    x : quantity of length
        distance of the design section from the centre line of the girder
    sign : {"positive", "negative"}
        moment in the span or over the girder

    Returns
    -------
    MomentPerWidth
        `m_LL` live-load moment with impact.

    Raises
    ------
    InputError
        If the spacing or the section lies outside the table; nothing is extrapolated.

    Notes
    -----
    Source: AASHTO LRFD, table A4-1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{deck_moment(Q(8, 'ft'), Q(0, 'in'), 'positive').to('kip*ft/ft').magnitude:.2f}"
    '5.69'
    """
    m_LL = table_moment(S, x, sign)  # live-load moment with impact
    return m_LL


class StripWidths(NamedTuple):
    """Result of `strip_widths`."""

    E_p: Length
    E_n: Length


@calculation(
    title="Width of the equivalent strip",
    source=Cite("aashto-lrfd", "table 4.6.2.1.3-1, as given in public code"),
    units={"S": "ft", "E_p": "in", "E_n": "in"},
    notes=("Cast-in-place deck with main bars across traffic. The table of moments has these widths in it.",),
)
def strip_widths(S: GirderSpacing) -> StripWidths:
    r"""Width of deck that carries one axle.

    .. math:: E_p = 26.0 + 6.6 S,\quad E_n = 48.0 + 3.0 S

    Parameters
    ----------
    S : quantity of length
        spacing of the girders

    Returns
    -------
    StripWidths
        `E_p` for positive and `E_n` for negative moment.

    Raises
    ------
    InputError
        If the spacing lies outside its range.

    Notes
    -----
    Source: AASHTO LRFD, table 4.6.2.1.3-1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strip_widths(Q(8, 'ft')).E_p.to('in'):.1f~P}"
    '78.8 in'
    """
    E_p = 26.0 + 6.6 * S  # width for positive moment
    E_n = 48.0 + 3.0 * S  # width for negative moment
    return StripWidths(E_p, E_n)


@lookup("the weight of {rho} under standard gravity over the thickness {h}")
def weight_of(rho: Density, h: Length) -> LoadPerArea:
    """Return the weight per area of a slab."""
    return rho * 9.80665 * h


class DeadMoments(NamedTuple):
    """Result of `dead_moments`."""

    w_DC: LoadPerArea
    m_DC: MomentPerWidth
    m_DW: MomentPerWidth


@calculation(
    title="Dead-load moments of the deck",
    source=Cite("deck-lfd-sheet", "moment of a continuous slab, w S²/10"),
    notes=("The coefficient of moment is the engineer's: 10 for a continuous slab over three or more supports.",),
)
def dead_moments(
    rho: Annotated[Density, Range("1600 kg/m³", "2700 kg/m³")],
    h: Annotated[Length, Range("50 mm", "600 mm")],
    w_DW: Annotated[LoadPerArea, Range("0 kN/m²", "10 kN/m²")],
    S: GirderSpacing,
    k_m: Annotated[Ratio, Range("7", "16")],
) -> DeadMoments:
    r"""Moments of the deck's own weight and of its overlay, per width.

    .. math:: m = w S^2 / k_m

    Parameters
    ----------
    rho : quantity of density
        unit weight of the concrete
    h : quantity of length
        thickness of the slab
    w_DW : quantity of load per area
        weight of overlay and later layers
    S : quantity of length
        span of the strip
    k_m : quantity without dimension
        coefficient of moment

    Returns
    -------
    DeadMoments
        `w_DC` weight of the slab, `m_DC` its moment, `m_DW` moment of the overlay.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: public worked sheet of a deck slab.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = dead_moments(Q(150, "lb/ft³"), Q(8, "in"), Q(25, "psf"), Q(8, "ft"), Q(10))
    >>> f"{found.m_DC.to('kip*ft/ft').magnitude:.2f}, {found.m_DW.to('kip*ft/ft').magnitude:.2f}"
    '0.64, 0.16'
    """
    w_DC = weight_of(rho, h)  # weight of the slab
    m_DC = w_DC * S**2 / k_m  # moment of the slab
    m_DW = w_DW * S**2 / k_m  # moment of the overlay
    return DeadMoments(w_DC, m_DC, m_DW)


class OldMoment(NamedTuple):
    """Result of `deck_moment_old`."""

    m_L: MomentPerWidth
    m_LI: MomentPerWidth


@calculation(
    title="Live-load moment of the deck by the older specifications",
    source=Cite("aashto-standard", "3.24.3.1"),
    units={"S_c": "ft", "P": "kip", "k_c": "", "k_i": "", "m_L": "kip·ft/ft", "m_LI": "kip·ft/ft"},
    notes=("Main bars across traffic; the span is the clear (effective) one.",),
)
def deck_moment_old(
    S_c: Annotated[Length, Range("0.6 m", "7.3 m")],
    P: Annotated[Force, Range("10 kN", "200 kN")],
    k_c: Annotated[Ratio, Range("0.5", "1")],
    k_i: Annotated[Ratio, Range("1", "1.4")],
) -> OldMoment:
    r"""Live-load moment per width by the standard specifications.

    .. math:: m_L = k_c\,\frac{S_c + 2}{32} P

    Parameters
    ----------
    S_c : quantity of length
        clear span between girders
    P : quantity of force
        wheel load
    k_c : quantity without dimension
        0.8 for a slab continuous over three or more supports, else 1
    k_i : quantity without dimension
        1 and the share of impact

    Returns
    -------
    OldMoment
        `m_L` live-load moment, `m_LI` with impact.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO Standard Specifications, 3.24.3.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{deck_moment_old(Q(8, 'ft'), Q(16, 'kip'), Q(1), Q(1.3)).m_L.to('kip*ft/ft').magnitude:.2f}"
    '5.00'
    """
    m_L = k_c * (S_c + 2) / 32 * P  # live-load moment
    m_LI = m_L * k_i  # with impact
    return OldMoment(m_L, m_LI)


class Rated(NamedTuple):
    """Result of `rating`."""

    m_D: MomentPerWidth
    m_u: MomentPerWidth
    r_cd: Ratio
    RF: Ratio


@calculation(
    title="Capacity to demand, and rating factor, of a strip",
    source=LRFR,
    notes=(
        "Load and system factors are inputs of the job; the live-load moment has impact in it. A rating of a strip is not a rating of "
        "the bridge.",
    ),
)
def rating(
    m_r: PerWidth,
    phi_cs: Annotated[Ratio, Range("0.7", "1")],
    m_DC: PerWidth,
    m_DW: PerWidth,
    m_LL: PerWidth,
    gamma_DC: LoadFactor,
    gamma_DW: LoadFactor,
    gamma_LL: LoadFactor,
) -> Rated:
    r"""Strength over factored demand, and the share of the live load that the strip carries.

    .. math:: RF = \frac{\phi_{cs} m_r - \gamma_{DC} m_{DC} - \gamma_{DW} m_{DW}}{\gamma_{LL} m_{LL}}

    Parameters
    ----------
    m_r : quantity of moment per width
        strength of the strip
    phi_cs : quantity without dimension
        product of the condition and system factors
    m_DC : quantity of moment per width
        moment of the slab
    m_DW : quantity of moment per width
        moment of the overlay
    m_LL : quantity of moment per width
        live-load moment with impact
    gamma_DC : quantity without dimension
        load factor of the slab
    gamma_DW : quantity without dimension
        load factor of the overlay
    gamma_LL : quantity without dimension
        load factor of the live load

    Returns
    -------
    Rated
        `m_D` factored dead load, `m_u` factored demand, `r_cd` capacity to demand, `RF` rating factor.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO Manual for Bridge Evaluation.

    Examples
    --------
    >>> from deckcalc import Q
    >>> m = lambda x: Q(x, "kip*ft/ft")
    >>> f"{rating(m(13.862), Q(1), m(0.64), m(0.16), m(5.69), Q(1.25), Q(1.5), Q(1.75)).RF:.3f~P}"
    '1.288'
    """
    m_D = gamma_DC * m_DC + gamma_DW * m_DW  # factored dead load
    m_u = m_D + gamma_LL * m_LL  # factored demand
    r_cd = phi_cs * m_r / m_u  # capacity to demand
    RF = (phi_cs * m_r - m_D) / (gamma_LL * m_LL)  # rating factor
    return Rated(m_D, m_u, r_cd, RF)
