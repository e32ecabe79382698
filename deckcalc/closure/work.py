"""Placing against the mixer, labour, window of time, cost."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.calculation import Range, Several, calculation, larger, lookup, smaller
from deckcalc.sources import Cite
from deckcalc.units import Count, ExposureHours, Minutes, OrderVolume, PlacingRate, Price, Ratio, Share

Some = Annotated[Minutes, Range("0 min", "10000 min")]
Money = Annotated[Price, Range("0", "1000000000")]


class PlacingTime(NamedTuple):
    """Result of `placing_time`."""

    t_m: Minutes
    t_p: Minutes
    t: Minutes
    t_g: Minutes


@calculation(
    title="Time to batch and place a patch",
    source=Cite("", "the slower of mixer and crew governs; loads alike, one behind the other", "common practice"),
    notes=("A gap longer than the concrete stays workable makes a cold joint: then a second mixer, or smaller areas.",),
    unchecked="a comparison of two times; the loads are those of the mix",
)
def placing_time(
    V: Annotated[OrderVolume, Range("0.0001 m³", "100 m³")], n: Annotated[Count, Range("1", "1000")],
    t_c: Annotated[Minutes, Range("1 min", "60 min")], r: Annotated[PlacingRate, Range("0.01 m³/h", "50 m³/h")],
) -> PlacingTime:  # fmt: skip
    r"""Time from the first charge to the last of the concrete in place.

    .. math:: t = \max\left(n t_c,\ t_c + \frac{V}{r}\right),\quad t_g = \max\left(t_c, \frac{V}{n r}\right)

    Parameters
    ----------
    V : quantity of volume
        concrete to be placed
    n : quantity without dimension
        mixer loads
    t_c : quantity of time
        cycle of the mixer: charge, mix, discharge
    r : quantity of volume per time
        rate at which the crew places

    Returns
    -------
    PlacingTime
        `t_m` by the mixer, `t_p` by the crew, `t` the longer, `t_g` between one load and the next.

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
    >>> f"{placing_time(Q(0.27, 'm³'), 2, Q(8, 'min'), Q(1.5, 'm³/h')).t.to('min'):.1f~P}"
    '18.8 min'
    """
    t_m = n * t_c  # by the mixer
    t_p = t_c + V / r  # by the crew, which waits for the first load
    t = larger(t_m, t_p)  # the longer
    t_g = larger(t_c, V / (n * r))  # between one load and the next
    return PlacingTime(t_m, t_p, t, t_g)


class Labour(NamedTuple):
    """Result of `labour`."""

    MD: Ratio
    ME: Ratio
    d: Ratio


@calculation(
    title="Man-days and duration",
    units={"H": "h", "n": "", "k_a": "", "t_s": "h", "MD": "", "ME": "", "d": ""},
    source=Cite("navy-14045", "pp. 2-27 and 2-28"),
    notes=("A man-day is always 8 h, whatever the shift. The time of waiting for strength is not in it.",),
)
def labour(
    H: Annotated[ExposureHours, Range("0.01 h", "100000 h")], n: Annotated[Count, Range("1", "200")],
    k_a: Annotated[Ratio, Range("0.1", "1")], t_s: Annotated[ExposureHours, Range("1 h", "16 h")],
) -> Labour:  # fmt: skip
    r"""Man-days of the work, and shifts that a crew needs for it.

    .. math:: MD = \frac{H}{8},\quad ME = \frac{t_s}{8},\quad d = \frac{MD}{n k_a ME}

    Parameters
    ----------
    H : quantity of time
        man-hours
    n : quantity without dimension
        people
    k_a : quantity without dimension
        share of the shift that is spent on the work
    t_s : quantity of time
        length of the shift

    Returns
    -------
    Labour
        `MD` man-days, `ME` man-days in a shift, `d` shifts.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Navy training manual.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{labour(Q(528, 'h'), 5, 0.75, Q(9, 'h')).d:.1f~P}"
    '15.6'
    """
    MD = H / 8  # man-days of 8 h
    ME = t_s / 8  # man-days in a shift
    d = MD / (n * k_a * ME)  # shifts
    return Labour(MD, ME, d)


class Window(NamedTuple):
    """Result of `window`."""

    t_s: Minutes
    u: Ratio


@calculation(
    title="Work against the window",
    source=Cite("", "critical path of the timetable, held against the hours of the closure", "common practice"),
    unchecked="a difference and a ratio; the path is held against an independent computation",
)
def window(t_c: Annotated[Minutes, Range("1 min", "20000 min")], t_p: Some) -> Window:
    r"""Room between the end of the work and the opening.

    .. math:: t_s = t_c - t_p

    Parameters
    ----------
    t_c : quantity of time
        from closing to opening
    t_p : quantity of time
        critical path with the wait for strength

    Returns
    -------
    Window
        `t_s` slack (nothing where it does not fit), `u` share used.

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
    >>> f"{window(Q(10, 'h'), Q(9, 'h')).t_s.to('min'):.0f~P}"
    '60 min'
    """
    t_s = t_c - smaller(t_p, t_c)  # slack
    u = t_p / t_c  # share of the closure used
    return Window(t_s, u)


@lookup("the amounts times their prices, added up")
def summed(q: Annotated[Ratio, Range("0", "10000000"), Several()], p: Annotated[Price, Range("0", "10000000"), Several()]) -> Price:  # fmt: skip
    """Return the sum of products."""
    return np.sum(np.asarray(q) * np.asarray(p), axis=-1)


class Cost(NamedTuple):
    """Result of `cost`."""

    K_d: Price
    K_u: Price
    K: Price
    q_u: Share


@calculation(
    title="Cost of the closure",
    source=Cite("", "amounts times dated prices of the job, and the delay of road users", "common practice"),
    notes=("Prices are the job's, in its currency, each with its date. No price is built in.",),
    unchecked="a sum of products at the prices of the job",
)
def cost(
    q: Annotated[Ratio, Range("0", "10000000"), Several()], p: Annotated[Price, Range("0", "10000000"), Several()],
    t: Annotated[ExposureHours, Range("0 h", "10000 h")], k_u: Money,
) -> Cost:  # fmt: skip
    r"""Direct cost and cost of delay.

    .. math:: K = \sum q_i p_i + t k_u

    Parameters
    ----------
    q : quantity without dimension, shape (n,)
        amounts, each in the unit of its price
    p : quantity without dimension, shape (n,)
        prices
    t : quantity of time
        hours of closure
    k_u : quantity without dimension
        delay of road users by the hour

    Returns
    -------
    Cost
        `K_d` direct, `K_u` of delay, `K` both, `q_u` share of the delay.

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
    >>> f"{cost(Q([2, 3], ''), Q([100, 50], ''), Q(10, 'h'), 20).K:.0f~P}"
    '550'
    """
    K_d = summed(q, p)  # direct
    K_u = t / 3600 * k_u  # delay of road users
    K = K_d + K_u  # both
    q_u = K_u / K  # share of the delay
    return Cost(K_d, K_u, K, q_u)
