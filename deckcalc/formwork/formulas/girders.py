"""Parts of a form against the girders of the deck: what would stand in a girder or hang through one.

Plain numbers in one unit. Places across the deck run from any zero, the same for hole, flanges and parts. The flanges are
the edges of what stands under the slab: of a steel girder its top flange, of a concrete girder its web or its flare.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple


class Flange(NamedTuple):
    """The strip under the slab that one girder takes: its name and both edges."""

    girder: str
    low: float
    high: float


class Clash(NamedTuple):
    """A part of the form against one girder.

    Attributes
    ----------
    part : str
    girder : str
    overlap : float
        By how much it stands in the flange; less than zero: in the clear space that it needs beside it.
    """

    part: str
    girder: str
    overlap: float


class Span(NamedTuple):
    """A part of the form across the deck: its name and both ends (of a post or hanger, both sides)."""

    part: str
    low: float
    high: float


def clashes(parts: Sequence[Span], flanges: Sequence[Flange], clear: float = 0.0) -> list[Clash]:
    """Return every part that stands in a flange or nearer to it than `clear`, with the girder.

    Examples
    --------
    >>> flange = Flange("G2", -0.2, 0.2)
    >>> [(one.part, round(one.overlap, 3)) for one in clashes([Span("joist 1", 0.1, 1.0), Span("shore", 0.5, 0.6)], [flange])]
    [('joist 1', 0.1)]
    """
    found = []
    for part in parts:
        low, high = sorted((part.low, part.high))
        for flange in flanges:
            overlap = min(high, flange.high) - max(low, flange.low)
            if overlap > -clear + 1e-9:
                found.append(Clash(part.part, flange.girder, overlap))
    return found


def free_strips(low: float, high: float, flanges: Sequence[Flange], clear: float = 0.0) -> list[tuple[float, float]]:
    """Return the strips of a hole, from `low` to `high` across the deck, under which no girder stands: each wants a form of its own.

    Examples
    --------
    >>> free_strips(-1.0, 1.0, [Flange("G2", -0.2, 0.2)], 0.05)
    [(-1.0, -0.25), (0.25, 1.0)]
    """
    strips = [(low, high)]
    for flange in flanges:
        left, right = flange.low - clear, flange.high + clear
        strips = [
            piece
            for start, stop in strips
            for piece in ((start, min(stop, left)), (max(start, right), stop))
            if piece[1] - piece[0] > 1e-9
        ]
    return strips
