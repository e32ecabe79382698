"""Repair limits: the rectangle that is sawn around the unsound concrete."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import Area, AreaPrice, Count, CutPrice, Distance, Length, Price, Share

Side = Annotated[Distance, Range("0.02 m", "100 m")]
Margin = Annotated[Length, Range("0 mm", "600 mm")]
Change = Annotated[Length, Range("-100 m", "100 m")]
Unsound = Annotated[Area, Range("0.0001 m²", "5000 m²")]
UnsoundSum = Annotated[Area, Range("0 m²", "100000 m²")]
Less = Annotated[Area, Range("0 m²", "5000 m²")]
Free = Annotated[Distance, Range("0 m", "400 m")]
Whole = Annotated[Area, Range("0.0004 m²", "5000 m²")]
Length_ = Annotated[Distance, Range("0 m", "1000 m")]
AreaRate = Annotated[AreaPrice, Range("0 1/m²", "1000000000 1/m²")]
CutRate = Annotated[CutPrice, Range("0 1/m", "1000000000 1/m")]
PieceRate = Annotated[Price, Range("0", "1000000000")]
Pieces = Annotated[Count, Range("2", "20")]
Span = Annotated[Distance, Range("1 m", "1000 m")]
Strip = Annotated[Distance, Range("0.3 m", "100 m")]


class PatchLimits(NamedTuple):
    """Result of `patch_limits`."""

    L: Distance
    B: Distance
    A: Area
    P_cut: Distance
    A_sound: Area
    D: Distance


@calculation(
    title="Repair limits of a patch",
    source=(
        Cite("fhwa-partial-depth", "4.1 and 4.2: square or rectangular limits past the unsound concrete"),
        Cite("ufc-3-270-03", "3.3 and 15.3: the cut stands 2 to 3 in outside the damage"),
    ),
    notes=(
        "The saw stops at the corners; overrun cuts are not part of the length of cut.",
        (
            "The change of a side is what the minimum side, a narrow strip beside a joint or kerb, or the engineer adds, and what a kerb, a "
            "joint or the cut in common with a neighbour takes off the margin."
        ),
    ),
)
def patch_limits(
    L_u: Side, B_u: Side, A_u: Unsound, m: Margin, e_L: Change, e_B: Change, A_n: Less, P_n: Free
) -> PatchLimits:
    r"""Rectangle to be marked around unsound concrete.

    .. math:: L = L_u + 2m + e_L,\quad B = B_u + 2m + e_B,\quad A = L B - A_n

    Parameters
    ----------
    L_u : quantity of length, shape (...,)
        length of the unsound concrete
    B_u : quantity of length, shape (...,)
        width of the unsound concrete
    A_u : quantity of area, shape (...,)
        area of the unsound concrete
    m : quantity of length, shape (...,)
        margin of sound concrete taken in on each side
    e_L : quantity of length, shape (...,)
        change of the length, for the minimum side, a narrow strip, a kerb, a joint, a neighbour or laps
    e_B : quantity of length, shape (...,)
        change of the width, likewise
    A_n : quantity of area, shape (...,)
        corner that a joint or kerb cuts off on the skew
    P_n : quantity of length, shape (...,)
        edge without a cut of its own: at a kerb, a joint, or cut with a neighbour

    Returns
    -------
    PatchLimits
        `L` and `B` marked length and width, `A` marked area, `P_cut` length of saw cut, `A_sound` sound concrete that
        is taken out with the unsound, `D` diagonal.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Exact for a rectangle. A small patch grows by more than a large one: a square of 0.3 m more than doubles with a
    margin of 75 mm. Source: plane geometry; rectangular limits: FHWA,
    partial-depth repairs, 4.1; margin outside the damage: UFC 3-270-03, 3.3.

    Examples
    --------
    >>> from deckcalc import Q
    >>> none, nothing = Q(0, "mm"), Q(0, "ft²")
    >>> marked = patch_limits(Q(3, "ft"), Q(2, "ft"), Q(6, "ft²"), Q(3, "in"), none, none, nothing, none)
    >>> f"{marked.A.to('ft²'):.2f~P}, {marked.P_cut.to('ft'):.1f~P}, {marked.A_sound.to('ft²'):.2f~P}"
    '8.75 ft², 12.0 ft, 2.75 ft²'
    """
    L = L_u + 2 * m + e_L  # marked length
    B = B_u + 2 * m + e_B  # marked width
    A = L * B - A_n  # marked area
    P_cut = 2 * (L + B) - P_n  # length of saw cut, corners not overrun
    A_sound = A - A_u  # sound concrete taken out with the unsound
    D = sqrt(L**2 + B**2)  # diagonal of the rectangle, to check that its corners are square
    return PatchLimits(L, B, A, P_cut, A_sound, D)


class BoxOrSplit(NamedTuple):
    """Result of `box_or_split`."""

    A_less: Area
    P_more: Distance
    K_1: Price
    K_n: Price
    K_gain: Price


@calculation(
    title="One rectangle against several",
    source=Cite("", "area removed and length of cut, at the prices of the job", "common practice"),
    notes=(
        "Prices are in the currency of the job; nothing is gained where the last line is negative.",
        (
            "The several rectangles are the cheapest that successive straight cuts through the region give. Where two of them "
            "abut, the edge in common is sawn once and each is placed by itself, so that neither has a corner turned inwards."
        ),
    ),
    unchecked="a sum of products at the prices of the job; the areas and lengths are held against plane geometry",
)
def box_or_split(
    A_1: Whole, P_1: Length_, A_s: Whole, P_s: Length_, n_s: Pieces, k_A: AreaRate, k_P: CutRate, k_1: PieceRate
) -> BoxOrSplit:
    r"""Compare one rectangle round a region with several that leave the sound concrete between its legs.

    .. math:: K = A k_A + P k_P + n k_1

    Parameters
    ----------
    A_1 : quantity of area
        area of the one rectangle
    P_1 : quantity of length
        its length of saw cut
    A_s : quantity of area
        area of the several rectangles
    P_s : quantity of length
        their length of saw cut
    n_s : quantity without dimension
        number of the several rectangles
    k_A : quantity of one over area
        price of an area removed and replaced
    k_P : quantity of one over length
        price of a length of saw cut
    k_1 : quantity without dimension
        price of every rectangle by itself: setting up, edges, finishing

    Returns
    -------
    BoxOrSplit
        `A_less` area saved, `P_more` length of cut added, `K_1` and `K_n` price of one and of several, `K_gain` what
        several rectangles save.

    Raises
    ------
    InputError
        If an area, length or price lies outside what a patch can have; the message says which.

    Notes
    -----
    Source: common practice; no price is built in.

    Examples
    --------
    >>> from deckcalc import Q
    >>> prices = dict(k_A=Q(400, "1/m²"), k_P=Q(20, "1/m"), k_1=Q(150))
    >>> f"{box_or_split(Q(4, 'm²'), Q(8, 'm'), Q(3, 'm²'), Q(9, 'm'), Q(2), **prices).K_gain:.0f~P}"
    '230'
    """
    A_less = A_1 - A_s  # area that several rectangles save
    P_more = P_s - P_1  # length of cut that they add
    K_1 = A_1 * k_A + P_1 * k_P + k_1  # price of one rectangle
    K_n = A_s * k_A + P_s * k_P + n_s * k_1  # price of several
    K_gain = K_1 - K_n  # what several rectangles save
    return BoxOrSplit(A_less, P_more, K_1, K_n, K_gain)


class DistressShare(NamedTuple):
    """Result of `distress_share`."""

    A_d: Area
    q_u: Share


@calculation(
    title="Unsound share of the deck surveyed",
    source=Cite("", "unsound area over the area surveyed", "common practice"),
    notes=(
        "The area surveyed is that between two joints and the edges of the strip surveyed; a skew does not change it.",
        "Unsound concrete is counted as surveyed, without margin. Concrete that sounds sound may still hold so much chloride that it has to be removed.",
    ),
)
def distress_share(A_u: UnsoundSum, L_s: Span, W_s: Strip) -> DistressShare:
    r"""Share of the deck of one span that is unsound.

    .. math:: q_u = \frac{A_u}{L_s W_s}

    Parameters
    ----------
    A_u : quantity of area
        unsound area of the span
    L_s : quantity of length
        length of the span along the centreline
    W_s : quantity of length
        width of the strip surveyed

    Returns
    -------
    DistressShare
        `A_d` area surveyed, `q_u` share of it that is unsound.

    Raises
    ------
    InputError
        If a length lies outside what a deck can have.

    Notes
    -----
    Source: common practice; surveys by sounding report the delaminated area as a share of the deck (ASTM D4580, from
    memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{distress_share(Q(42, 'ft²'), Q(60, 'ft'), Q(14, 'ft')).q_u.to('%'):.1f~P}"
    '5.0 %'
    """
    A_d = L_s * W_s  # area surveyed
    q_u = A_u / A_d  # unsound share
    return DistressShare(A_d, q_u)
