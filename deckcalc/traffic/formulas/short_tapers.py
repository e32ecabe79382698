"""One lane for both directions: its short taper, where traffic is stopped, and how long the lane takes to clear."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import Range, calculation, lookup, round_up
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Count, RoadLength, RoadSpeed, Seconds, registry

ONE_LANE = Cite("mutcd-2023", "section 6B.08, paragraph 14, and figure 6P-10, as quoted in a public repository")


class ShortTaper(NamedTuple):
    """Result of `short_taper`."""

    s: RoadLength
    n_1: Count
    L_2: RoadLength
    D_f: RoadLength


@calculation_by_form(
    title="Taper of one lane for both directions",
    notes=(
        "It is short, so that drivers take it for what it is and stop: a long one would let two directions meet in one lane. No "
        "arrow board: there is no lane to merge into.",
        "Traffic is stopped as far ahead of the taper as the taper is long at most; whoever stops it stands on the shoulder, seen "
        "from the stopping sight distance, lit at night.",
    ),
    forms={
        "US": Form(
            {"L_max": "100 ft", "s_20": "20 ft"},
            ranges={"L": Range("50 ft", "100 ft")},
            source=ONE_LANE,
        ),
        "SI": Form(
            {"L_max": "30 m", "s_20": "6 m"},
            ranges={"L": Range("15 m", "30 m")},
            title="Taper of one lane for both directions, metric rules",
            source=Cite("mutcd-2003", "metric columns: 30 m and 6 m; 15 m stands for the 50 ft of later editions", "memory"),
        ),
    },
)  # fmt: skip
def short_taper(L: Annotated[RoadLength, Range("5 m", "100 m")], *, L_max: Any, s_20: Any) -> ShortTaper:
    r"""Short taper into a lane that serves both directions in turn.

    .. math:: n_1 = \lceil L / s_{20} \rceil,\quad D_f = L_{max}

    Parameters
    ----------
    L : quantity of length
        length chosen for the short taper
    form : {"US", "SI"}
        rules in US units or metric rules

    Returns
    -------
    ShortTaper
        `s` spacing of the devices at most, `n_1` spaces between them at least, `L_2` downstream taper at most, `D_f` from where
        traffic is stopped to the taper at most.

    Raises
    ------
    InputError
        If the length lies outside 50 to 100 ft, or 15 to 30 m by the metric rules.

    Notes
    -----
    Source: MUTCD 2023, section 6B.08; the metric form from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{short_taper(Q(100, 'ft'), form='US').s.to('ft'):.0f~P}"
    '20 ft'
    """
    s = s_20  # spacing of devices in both tapers at most
    n_1 = round_up(L / s)  # spaces between devices of the taper at least
    L_2 = L_max  # downstream taper at most
    D_f = L_max  # from where traffic is stopped to the taper, at most
    return ShortTaper(s, n_1, L_2, D_f)


class ClearTime(NamedTuple):
    """Result of `clear_time`."""

    L_1: RoadLength
    t: Seconds


@calculation(
    title="Time in which one lane for both directions clears",
    source=Cite("", "length from stop to stop over the speed through the work", "common practice"),
    notes=(
        "The last vehicle let in must be out at the other end before the other direction is let in: a slow one takes longer.",
    ),
)
def clear_time(
    L_c: Annotated[RoadLength, Range("10 m", "5000 m")], D_f: Annotated[RoadLength, Range("1 m", "200 m")],
    V_w: Annotated[RoadSpeed, Range("5 mph", "60 mph")],
) -> ClearTime:  # fmt: skip
    r"""Time that the last vehicle takes from stop to stop.

    .. math:: t = \frac{L_c + 2 D_f}{V_w}

    Parameters
    ----------
    L_c : quantity of length
        whole closure, tapers included
    D_f : quantity of length
        from where traffic is stopped to the taper
    V_w : quantity of speed
        speed through the work

    Returns
    -------
    ClearTime
        `L_1` from stop to stop, `t` time.

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
    >>> f"{clear_time(Q(900, 'ft'), Q(100, 'ft'), Q(25, 'mph')).t.to('s'):.0f~P}"
    '30 s'
    """
    L_1 = L_c + 2 * D_f  # from stop to stop
    t = L_1 / V_w  # time
    return ClearTime(L_1, t)


class RollAheadRange(NamedTuple):
    """Result of `roll_ahead_table`."""

    R_1: RoadLength
    R_2: RoadLength


#: Upper end of the lower band of the table, and lower end of its range.
BAND_END, BAND_START = "50 mph", "45 mph"


def banded(S: Any, column: str) -> Any:
    """Return a column of the table roll_ahead by the speed [m/s]; between two bands the higher one."""
    rows = tables.load("roll_ahead")
    high, low = (
        float(registry().Quantity(float(rows.row("speed from [mph]", speed)[f"{column} [ft]"]), "ft").m_as("m"))
        for speed in ("55", "45")
    )
    end, start = (float(registry().Quantity(text).m_as("m/s")) for text in (BAND_END, BAND_START))
    speeds = np.asarray(S, dtype=float)
    if np.any(speeds < start * (1 - 1e-9)):
        raise TableError(f"the sheets' row for less than {BAND_START} was not seen: the distance is the authority's")
    return np.where(speeds <= end * (1 + 1e-9), low, high)[()]


@lookup("minimum at {S}; two bands from {start} up, the lower one up to {end}", start=BAND_START, end=BAND_END)
def least_roll_ahead(S: RoadSpeed) -> RoadLength:
    """Return the minimum roll-ahead distance of the table."""
    return banded(S, "minimum")


@lookup("maximum at {S}; two bands from {start} up, the lower one up to {end}", start=BAND_START, end=BAND_END)
def greatest_roll_ahead(S: RoadSpeed) -> RoadLength:
    """Return the maximum roll-ahead distance of the table."""
    return banded(S, "maximum")


@calculation(
    title="Roll-ahead distance in print",
    source=Cite("nysdot-619", "tables 302-05 and 316-02, stationary work, as transcribed in a public repository"),
    notes=(
        "One state's standard sheets; the authority of the road decides. For vehicles of the weight that these sheets ask for.",
    ),
)
def roll_ahead_table(S: Annotated[RoadSpeed, Range("45 mph", "75 mph")]) -> RollAheadRange:
    r"""Minimum and maximum roll-ahead distance by the speed of traffic.

    .. math:: R_1 \le R \le R_2

    Parameters
    ----------
    S : quantity of speed
        posted speed before the work

    Returns
    -------
    RollAheadRange
        `R_1` minimum, `R_2` maximum distance.

    Raises
    ------
    InputError
        If the speed lies outside 45 to 75 mph.

    Notes
    -----
    Source: NYSDOT standard sheets 619. A speed between two bands takes the higher one.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{roll_ahead_table(Q(55, 'mph')).R_1.to('ft'):.0f~P}, {roll_ahead_table(Q(50, 'mph')).R_2.to('ft'):.0f~P}"
    '120 ft, 160 ft'
    """
    R_1 = least_roll_ahead(S)  # minimum distance
    R_2 = greatest_roll_ahead(S)  # maximum distance
    return RollAheadRange(R_1, R_2)
