"""How deep and how widespread: removal until what is left is under a limit, shares of cores, cores wanted."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.chloride.formulas.contents import Measured
from deckcalc.chloride.formulas.profile import Depth
from deckcalc.core.calculation import Range, calculation, lookup, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import ChlorideContent, Count, InputError, Length, Ratio, Share

Number = Annotated[Count, Range("1", "10000000")]


@lookup("{a} divided by {d}, from 0 at the upper reading to 1 at the lower")
def part_of_fall(a: ChlorideContent, d: ChlorideContent) -> Ratio:
    """Return which part of the fall between two readings is used up, refusing what does not lie between them."""
    if np.any(np.asarray(d) <= 0):
        raise TableError("the content does not fall from the upper reading to the lower one")
    slack = 1e-9 * np.asarray(d)
    if np.any(np.asarray(a) < -slack) or np.any(np.asarray(a) > d + slack):
        raise TableError("the limit does not lie between the two readings; nothing is read beyond them")
    return np.clip(a, 0.0, d) / d


class DepthOfContent(NamedTuple):
    """Result of `depth_at_content`."""

    a: ChlorideContent
    d: ChlorideContent
    r: Ratio
    x_L: Length


@calculation(
    title="Depth of concrete above a chloride limit",
    source=Cite("", "straight line between the two readings on either side", "common practice"),
    notes=(
        "Concrete is removed at least to this depth if what is left is to be under the limit; bars within reach of it are "
        "freed as for any removal.",
        "Nothing is read above the first reading or below the last.",
    ),
)
def depth_at_content(x_1: Depth, C_1: Measured, x_2: Depth, C_2: Measured, C_L: Measured) -> DepthOfContent:
    r"""Depth at which the content falls to a limit, on a straight line between two readings.

    .. math:: x_L = x_1 + \frac{C_1 - C_L}{C_1 - C_2} (x_2 - x_1)

    Parameters
    ----------
    x_1 : quantity of length, shape (...,)
        depth of the last reading above the limit
    C_1 : quantity of mass per volume, shape (...,)
        chloride content read there
    x_2 : quantity of length, shape (...,)
        depth of the reading below it
    C_2 : quantity of mass per volume, shape (...,)
        chloride content read there
    C_L : quantity of mass per volume, shape (...,)
        limit for what is left

    Returns
    -------
    DepthOfContent
        `a` upper content above the limit, `d` fall between the readings, `r` their quotient, `x_L` depth.

    Raises
    ------
    InputError
        If the limit does not lie between the contents.

    Notes
    -----
    Straight line between the two readings; the limit must lie between them. Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = depth_at_content(Q(1.5, "in"), Q(1.87, "lb/yd³"), Q(2.5, "in"), Q(0.55, "lb/yd³"), Q(1.2, "lb/yd³"))
    >>> f"{made.x_L.to('in'):.2f~P}"
    '2.01 in'
    """
    a = C_1 - C_L  # content of the upper reading above the limit
    d = C_1 - C_2  # fall of the content between the readings
    r = part_of_fall(a, d)  # part of the fall down to the limit
    x_L = x_1 + r * (x_2 - x_1)  # depth at which the content is at the limit
    return DepthOfContent(a, d, r, x_L)


@calculation(title="Share counted", source=Cite("", "a share is a count over the whole count", "common practice"))
def share_counted(n_a: Annotated[Count, Range("0", "10000000")], n: Number) -> Share:
    r"""Share of cores, readings or points that meet a condition.

    .. math:: p = n_a / n

    Parameters
    ----------
    n_a : quantity without dimension, shape (...,)
        how many meet the condition
    n : quantity without dimension, shape (...,)
        how many there are

    Returns
    -------
    Share
        `p`, the share.

    Raises
    ------
    InputError
        If a count is negative, or there is none at all.

    Notes
    -----
    A plain share; its sampling error is stated beside it. Source: common practice.

    Examples
    --------
    >>> f"{share_counted(3, 4).m_as('percent'):.0f} %"
    '75 %'
    """
    p = n_a / n  # share
    return p


@calculation(
    title="Number of cores required",
    source=Cite("", "sample size for a mean", "memory"),
    notes=(
        "The contents of the zone are taken to scatter normally, and the scatter to be known from the cores at hand.",
    ),
)
def cores_wanted(
    z_c: Annotated[Ratio, Range("0.5", "4")],
    s: Measured,
    E: Annotated[ChlorideContent, Range("0.001 kg/m³", "20 kg/m³")],
) -> Count:
    r"""How many cores fix the mean content of a zone within an error.

    .. math:: n = \left\lceil \left( \frac{z_c s}{E} \right)^2 \right\rceil

    Parameters
    ----------
    z_c : quantity without dimension, shape (...,)
        standard deviations for the confidence asked for, 1.96 for 95 %
    s : quantity of mass per volume, shape (...,)
        standard deviation of the content between cores
    E : quantity of mass per volume, shape (...,)
        error allowed in the mean

    Returns
    -------
    Count
        `n`, number of cores.

    Raises
    ------
    InputError
        If the error is zero, or a value is out of range.

    Notes
    -----
    For readings that scatter normally and are taken at random. Source: statistics, common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{cores_wanted(1.96, Q(1, 'lb/yd³'), Q(0.5, 'lb/yd³')).magnitude:.0f}"
    '16'
    """
    n = round_up((z_c * s / E) ** 2)  # number of cores
    return n


def share_interval(n_a: int, n: int, confidence: float = 0.95) -> tuple[float, float]:
    """Return the exact interval of a share that was counted on few.

    Parameters
    ----------
    n_a, n : int
        How many meet the condition, of how many.
    confidence : float

    Returns
    -------
    low, high : float

    Raises
    ------
    InputError
        If the counts do not make a share.

    Notes
    -----
    Clopper and Pearson 1934: each end leaves half of what the confidence does not cover.

    Examples
    --------
    >>> [round(end, 3) for end in share_interval(3, 4)]
    [0.194, 0.994]
    """
    from scipy.special import betaincinv

    if not 0 <= n_a <= n or n < 1 or not 0 < confidence < 1:
        raise InputError(f"{n_a} of {n} is no share")
    tail = (1 - confidence) / 2
    low = 0.0 if n_a == 0 else float(betaincinv(n_a, n - n_a + 1, tail))
    return low, 1.0 if n_a == n else float(betaincinv(n_a + 1, n - n_a, 1 - tail))


def removal_place(contents: Any, limit: float) -> tuple[str, int]:
    """Find the last reading above a limit, from the bottom up.

    Parameters
    ----------
    contents : array, shape (n,)
        Readings from the top down.
    limit : float

    Returns
    -------
    tuple of str and int
        “none” if no reading is above the limit; “beyond” if the last one is; “between” with the place of the last
        reading above it.

    Examples
    --------
    >>> removal_place([3.0, 2.0, 0.5], 1.0)
    ('between', 1)
    """
    above = np.flatnonzero(np.asarray(contents) > limit)
    if not len(above):
        return "none", -1
    return ("beyond" if above[-1] == len(contents) - 1 else "between"), int(above[-1])
