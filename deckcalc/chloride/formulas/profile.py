"""Readings down a core: depth of a slice, content at a depth between two readings, content above the background."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.chloride.formulas.contents import Measured
from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import ChlorideContent, InputError, Length, Quantity, Ratio, kind_of
from deckcalc.core.words import how_many

Depth = Annotated[Length, Range("0 mm", "1500 mm")]


def both_units(metres: float) -> str:
    """Return a length for a message, in both systems: a look-up does not know which one the job has."""
    return f"{metres * 1000:.1f} mm ({metres / 0.0254:.2f} in)"


def in_metres(depth: Quantity) -> float:
    """Return a depth as a plain number of metres, refusing what is no length."""
    if not isinstance(depth, Quantity):
        raise InputError(f"depth {depth!r} has no unit; wanted a length, for instance Q(50, “mm”)")
    return float(depth.magnitude) * kind_of(Length).scale(depth.units)[0]


def bracket(x: Quantity, depths: Sequence[Quantity]) -> tuple[int, int]:
    """Find the two neighbouring readings between which a depth lies.

    Parameters
    ----------
    x : quantity of length
        Depth wanted.
    depths : sequence of quantity of length, shape (n,)
        Depths of the readings of one core, rising.

    Returns
    -------
    tuple of int
        Places of the upper and of the lower reading in `depths`, counted from zero. At the depth of a reading it is
        the upper of the two, at that of the last reading the lower.

    Raises
    ------
    TableError
        If the depth lies outside the profile, if there are fewer than two readings, or if they do not get deeper.
    InputError
        If a depth is no length.

    Examples
    --------
    >>> from deckcalc import Q
    >>> bracket(Q(2.0, "in"), [Q(0.5, "in"), Q(1.5, "in"), Q(2.5, "in")])
    (1, 2)
    """
    wanted, metres = in_metres(x), [in_metres(depth) for depth in depths]
    if len(metres) < 2:
        raise TableError(f"the profile has {how_many(len(metres), 'reading')}; two are wanted to read between")
    for upper, lower in pairwise(metres):
        if not upper < lower:
            raise TableError(f"the profile has {both_units(lower)} after {both_units(upper)}; depths must increase")
    slack = 1e-9 * metres[-1]
    if not metres[0] - slack <= wanted <= metres[-1] + slack:
        raise TableError(
            f"depth {both_units(wanted)} lies outside the profile, which was read from {both_units(metres[0])} to "
            f"{both_units(metres[-1])}; nothing is read beyond it"
        )
    lower = next((i for i in range(1, len(metres)) if wanted < metres[i] - slack), len(metres) - 1)
    return lower - 1, lower


@lookup("{a} divided by {s}, from 0 at the upper reading to 1 at the lower")
def place_between(a: Length, s: Length) -> Ratio:
    """Return where a depth lies between two readings, refusing what does not lie between them."""
    slack = 1e-9 * np.abs(s)
    if np.any(s <= 0):
        raise TableError("x_2 must be deeper than x_1: the two readings stand the wrong way round, or at one depth")
    if np.any(a < -slack):
        raise TableError(f"x lies {both_units(float(-np.min(a)))} above x_1; nothing is read beyond the two readings")
    if np.any(a > s + slack):
        beyond = both_units(float(np.max(np.subtract(a, s))))
        raise TableError(f"x lies {beyond} below x_2; nothing is read beyond the two readings")
    return np.minimum(np.maximum(a, 0.0), s) / s  # within rounding of an end it is that end


@calculation(
    title="Depth that a slice of a core stands for",
    source=(Cite("", "a slice is taken at its middle", "common practice"), Cite("brown-2018", "depth increments")),
    notes=("Powder from the whole slice is taken to be well mixed.",),
)
def mid_depth(x_from: Depth, x_to: Depth) -> Length:
    r"""Middle of a slice or of a drilled lift.

    .. math:: x = \frac{x_{from} + x_{to}}{2}

    Parameters
    ----------
    x_from : quantity of length, shape (...,)
        depth at which the slice begins
    x_to : quantity of length, shape (...,)
        depth at which it ends

    Returns
    -------
    Length
        `x`, depth that the result of the slice stands for.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice; nominal depths of lifts in Brown 2018. Where the content falls steeply, the middle of a
    thick slice is not the depth at which the mean content occurs.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{mid_depth(Q(1, 'in'), Q(2, 'in')).to('in'):.1f~P}"
    '1.5 in'
    """
    x = (x_from + x_to) / 2  # middle of the slice
    return x


class ContentAtDepth(NamedTuple):
    """Result of `content_at_depth`."""

    s: Length
    a: Length
    r: Ratio
    C_x: ChlorideContent


@calculation(
    title="Chloride content at a depth between two readings",
    source=Cite("", "straight line between the two readings on either side", "common practice"),
    notes=(
        "The content is taken to change along a straight line between two readings. A true profile is curved.",
        "Where it falls ever more slowly with depth, the straight line gives more than is there: on the safe side.",
        "Near the surface, where the content may rise before it falls, it can give less.",
        "Nothing is read above the first reading or below the last.",
    ),
)
def content_at_depth(x: Depth, x_1: Depth, C_1: Measured, x_2: Depth, C_2: Measured) -> ContentAtDepth:
    r"""Chloride content at a depth, on a straight line between the readings on either side of it.

    .. math:: C_x = C_1 + \frac{x - x_1}{x_2 - x_1} (C_2 - C_1)

    Parameters
    ----------
    x : quantity of length, shape (...,)
        depth wanted, for instance that of the top of the bars
    x_1 : quantity of length, shape (...,)
        depth of the reading above it
    C_1 : quantity of mass per volume, shape (...,)
        chloride content read there
    x_2 : quantity of length, shape (...,)
        depth of the reading below it
    C_2 : quantity of mass per volume, shape (...,)
        chloride content read there

    Returns
    -------
    ContentAtDepth
        `s` distance between the readings, `a` distance of the depth from the upper one, `r` their quotient, `C_x`
        chloride content at the depth.

    Raises
    ------
    InputError
        If `x` does not lie between `x_1` and `x_2`, if `x_2` is not the deeper of the two, or if a value is negative.

    Notes
    -----
    Source: common practice. Valid between the readings only.

    Examples
    --------
    >>> from deckcalc import Q
    >>> at = content_at_depth(Q(2, "in"), Q(1.5, "in"), Q(1.87, "lb/yd³"), Q(2.5, "in"), Q(0.55, "lb/yd³"))
    >>> f"{at.C_x.to('lb/yd³'):.2f~P}"
    '1.21 lb/yd³'
    """
    s = x_2 - x_1  # distance between the two readings
    a = x - x_1  # distance of the depth from the upper reading
    r = place_between(a, s)  # place between the readings
    C_x = C_1 + r * (C_2 - C_1)  # chloride content at the depth
    return ContentAtDepth(s, a, r, C_x)


@calculation(
    title="Chloride content above the background",
    source=(Cite("fdot-ba502", "p. 13 and p. 22"), Cite("brown-2018", "content used is measured less background")),
    notes=(
        "The background is chloride that came with the constituents.",
        "It is known only from sound concrete so deep that none can have come in; else nothing is taken off.",
        "A threshold that counts all chloride is held against the content itself, not against what is left here.",
        "A negative result says that the background was overestimated, and is not to be used.",
    ),
)
def above_background(C: Measured, C_b: Measured) -> ChlorideContent:
    r"""Chloride that has come in, without what was in the concrete from the start.

    .. math:: C_{net} = C - C_b

    Parameters
    ----------
    C : quantity of mass per volume, shape (...,)
        chloride content measured
    C_b : quantity of mass per volume
        background content, from sound concrete out of reach of the salt

    Returns
    -------
    ChlorideContent
        `C_net`, content above the background; negative if the background is the larger.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Both contents have the same extraction. A threshold loses the background as well if it is to be held against
    `C_net`. Source: Florida DOT BA502, p. 13 and p. 22; Brown 2018.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{above_background(Q(8.89, 'lb/yd³'), Q(1.57, 'lb/yd³')).to('lb/yd³'):.2f~P}"
    '7.32 lb/yd³'
    """
    C_net = C - C_b  # content above the background
    return C_net
