"""Marked limits: the rectangle that is sawn around the unsound concrete."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.calculation import Range, calculation
from deckcalc.sources import Cite
from deckcalc.units import Area, Distance, Length

Side = Annotated[Distance, Range("0.02 m", "100 m")]
Margin = Annotated[Length, Range("0 mm", "600 mm")]


class PatchLimits(NamedTuple):
    """Result of `patch_limits`."""

    L: Distance
    B: Distance
    A: Area
    P_cut: Distance
    A_sound: Area


@calculation(
    title="Marked limits of a patch",
    source=(
        Cite("fhwa-partial-depth", "4.1 and 4.2: square or rectangular limits past the unsound concrete"),
        Cite("ufc-3-270-03", "3.3 and 15.3: the cut stands 2 to 3 in outside the damage"),
    ),
    notes=(
        (
            "The unsound area is enclosed in a rectangle first: unsound concrete of any other outline is taken as the "
            "rectangle that holds it, and what is sound inside that rectangle is not counted as such."
        ),
        "The saw stops at the corners; overrun cuts are not part of the length of cut.",
    ),
)
def patch_limits(L_u: Side, B_u: Side, m: Margin) -> PatchLimits:
    r"""Rectangle to be marked around unsound concrete.

    .. math:: L = L_u + 2m,\quad B = B_u + 2m,\quad A = L B

    Parameters
    ----------
    L_u : quantity of length, shape (...,)
        length of the rectangle that encloses the unsound concrete
    B_u : quantity of length, shape (...,)
        width of that rectangle
    m : quantity of length, shape (...,)
        margin of sound concrete taken in on each side

    Returns
    -------
    PatchLimits
        `L` and `B` marked length and width, `A` marked area, `P_cut` length of saw cut, `A_sound` sound concrete that
        is taken out with the unsound.

    Raises
    ------
    InputError
        If a side is no length between 20 mm and 100 m, or the margin is not between 0 and 600 mm.

    Notes
    -----
    Exact for a rectangle. A small patch grows by more than a large one: a square of 0.3 m more than doubles with a
    margin of 75 mm. Source: plane geometry; rectangular limits: FHWA,
    partial-depth repairs, 4.1; margin outside the damage: UFC 3-270-03, 3.3.

    Examples
    --------
    >>> from deckcalc import Q
    >>> marked = patch_limits(Q(3, "ft"), Q(2, "ft"), Q(3, "in"))
    >>> f"{marked.A.to('ft²'):.2f~P}, {marked.P_cut.to('ft'):.1f~P}, {marked.A_sound.to('ft²'):.2f~P}"
    '8.75 ft², 12.0 ft, 2.75 ft²'
    """
    L = L_u + 2 * m  # marked length
    B = B_u + 2 * m  # marked width
    A = L * B  # marked area
    P_cut = 2 * (L + B)  # length of saw cut, corners not overrun
    A_sound = A - L_u * B_u  # sound concrete taken out with the unsound
    return PatchLimits(L, B, A, P_cut, A_sound)
