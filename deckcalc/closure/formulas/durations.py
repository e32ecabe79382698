"""Times of the steps, placing against the mixer, labour, window of time and the chance of keeping it."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, larger, lookup, round_up, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Chance, Count, ExposureHours, FineMinutes, Minutes, OrderVolume, PlacingRate, Ratio

Some = Annotated[Minutes, Range("0 min", "10000 min")]


class PlacingTime(NamedTuple):
    """Result of `placing_time`."""

    t_m: Minutes
    t_p: Minutes
    t: Minutes
    t_g: Minutes


@calculation(
    title="Time to batch and place a patch",
    source=Cite("", "the slower of mixer and crew governs; equal batches, one after the other", "common practice"),
    notes=("A gap longer than the concrete stays workable makes a cold joint: then a second mixer, or smaller areas.",),
    unchecked="a comparison of two times; the batches are those of the mix",
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
        mixer batches
    t_c : quantity of time
        cycle of the mixer: charge, mix, discharge
    r : quantity of volume per time
        rate at which the crew places

    Returns
    -------
    PlacingTime
        `t_m` by the mixer, `t_p` by the crew, `t` the longer, `t_g` between one batch and the next.

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
    t_p = t_c + V / r  # by the crew, which waits for the first batch
    t = larger(t_m, t_p)  # the longer
    t_g = larger(t_c, V / (n * r))  # between one batch and the next
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
    title="Work time against the closure",
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


class StepTime(NamedTuple):
    """Result of `step_time`."""

    t_1: FineMinutes
    t: Minutes


@calculation(
    title="Time of a step",
    units={"q": "", "r": "min", "t_1": "min", "t": "min"},
    source=Cite("", "rate of the job times amount, rounded up to whole minutes", "common practice"),
    notes=("Whole minutes, so that the timetable adds up as it is printed.",),
    unchecked="a product at the rates of the job",
)
def step_time(q: Annotated[Ratio, Range("0", "1000000")], r: Some) -> StepTime:
    r"""Time that a step of the work takes.

    .. math:: t = \lceil q\, r - 0.01 \rceil

    Parameters
    ----------
    q : quantity without dimension
        amount, in the unit of the rate
    r : quantity of time
        time for one unit

    Returns
    -------
    StepTime
        `t_1` product, `t` in whole minutes.

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
    >>> f"{step_time(12.1, Q(1.2, 'min')).t.to('min'):.0f~P}"
    '15 min'
    """
    t_1 = q * r  # amount times rate
    t = round_up(q * r - 0.01)  # up to whole minutes, a hundredth forgiven
    return StepTime(t_1, t)


@lookup("the others of {n}, {k} being on time")
def others_of(k: Annotated[Count, Range("0", "10000000")], n: Annotated[Count, Range("1", "10000000")]) -> Count:
    """Return how many are left, of a part that is no more than the whole."""
    if np.any(np.asarray(k) > np.asarray(n)):
        raise TableError("more samples on time than there are samples")
    found: Any = np.asarray(n) - np.asarray(k)
    return found


class InTime(NamedTuple):
    """Result of `share_in_time`."""

    m: Count
    p_m: Chance
    v: Ratio
    s: Ratio
    w: Chance
    p_l: Chance
    p_u: Chance


@calculation(
    title="Probability of opening on time, with its error of sampling",
    source=Cite("wilson-1927", "score interval, 1.96 for 95 of 100", "memory"),
    notes=(
        "The share of the samples by itself is no chance: where all samples are on time, the chance is still less than one. The "
        "interval is the error of the sampling alone and says nothing of rates that are wrong.",
    ),
)
def share_in_time(k: Annotated[Count, Range("0", "10000000")], n: Annotated[Count, Range("1", "10000000")]) -> InTime:
    r"""Between what the probability of opening on time lies in 95 of 100 such samplings.

    .. math:: p_{l,u} = \frac{k + z^2/2 \mp z \sqrt{k m/n + z^2/4}}{n + z^2},\quad m = n - k,\quad z = 1.96

    Parameters
    ----------
    k : quantity without dimension
        samples that open in time
    n : quantity without dimension
        samples

    Returns
    -------
    InTime
        `m` samples that open late, `p_m` middle of the interval, `v` and `s` variance and its root, `w` half the width, `p_l` and
        `p_u` its ends.

    Raises
    ------
    InputError
        If a value lies outside its range, or more samples are on time than there are.

    Notes
    -----
    Source: Wilson's interval (memory), which keeps its sense where all samples are on time.

    Examples
    --------
    >>> f"{share_in_time(81, 263).p_l.to('%'):.2f~P}"
    '25.53 %'
    """
    m = others_of(k, n)  # samples that open late
    p_m = (k + 1.96**2 / 2) / (n + 1.96**2)  # middle of the interval
    v = k * m / n + 1.96**2 / 4  # variance of the count, with a quarter of 1.96 squared
    s = sqrt(v)  # its root
    w = 1.96 * s / (n + 1.96**2)  # half of the width
    p_l = p_m - w  # not less than, in 95 of 100
    p_u = p_m + w  # not more than, in 95 of 100
    return InTime(m, p_m, v, s, w, p_l, p_u)


def share_to_keep(wanted: float, samples: int) -> float:
    """Return the share of the samples that must be in time so that the lower end of `share_in_time` reaches a chance.

    The score interval holds a chance p when the share of the samples lies within 1.96 standard errors, worked with p, of it.

    Examples
    --------
    >>> round(share_to_keep(0.9, 20000), 5)
    0.90416
    >>> share_to_keep(0.999, 200)
    1.0
    """
    return min(1.0, wanted + 1.96 * float(np.sqrt(wanted * (1 - wanted) / samples)))


def said(chance: InTime) -> str:
    """Print a chance with its interval."""
    return in_a_hundred(float(chance.p_l.m_as("")), float(chance.p_u.m_as("")))


def in_a_hundred(low: float, high: float) -> str:
    """Print a chance as a range, rounded outwards, and neither as certain nor as nothing.

    Examples
    --------
    >>> in_a_hundred(0.9512, 0.9571)
    '95.1 to 95.8 in 100'
    >>> in_a_hundred(0.99981, 1.0)
    'more than 99.9 in 100'
    >>> in_a_hundred(0.0, 0.0002)
    'less than 0.1 in 100'
    """
    least, most = np.floor(1000 * low + 1e-9) / 10, np.ceil(1000 * high - 1e-9) / 10
    if most >= 100:
        return f"more than {least:.1f} in 100"
    return f"less than {most:.1f} in 100" if least <= 0 else f"{least:.1f} to {most:.1f} in 100"
