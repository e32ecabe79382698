"""Tapers by the speed of traffic, in US units and by the published metric rules."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, lookup
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import LaneWidth, RoadLength, RoadSpeed

Width = Annotated[LaneWidth, Range("0.5 m", "8 m")]
SPEED_US, SPEED_SI = Range("20 mph", "75 mph"), Range("30 km/h", "110 km/h")
TaperLength = Annotated[RoadLength, Range("1 m", "2000 m")]

FORMULAS_US = Cite("mutcd-2009", "tables 6C-3 and 6C-4, as reproduced in California's edition, table 6H-4(CA)")
FORMULAS_2023 = Cite(
    "mutcd-2023", "tables 6B-3 and 6B-4, p. 775: the same formulas and shares, as quoted in a public repository"
)
FORMULAS_METRIC = Cite(
    "mutcd-2003", "table 6H-4, metric columns (the divisor 155 is hardly legible there; it is recalled)", "memory"
)
SHARES = Cite("mutcd-2009", "table 6C-3: shifting taper at least half, shoulder taper at least a third")
NOTES = (
    "The speed is the posted limit, the off-peak 85th percentile before the work, or the speed expected of traffic, whichever "
    "the authority names; the greater is on the safe side.",
    "The step between the two formulas is real: a lane of 3.6 m (12 ft) needs more than half as much again just above it.",
)


@lookup(
    "the first up to {S_1}, the second from {S_2}, at {S}",
    units={"S": "mph", "S_1": "mph", "S_2": "mph", "L_1": "ft", "L_2": "ft", "": "ft"},
)
def taper_by_speed(S: RoadSpeed, S_1: RoadSpeed, S_2: RoadSpeed, L_1: TaperLength, L_2: TaperLength) -> RoadLength:
    """Return the taper by the formula of the speed, between whose speeds there is none; speeds and lengths in one unit each."""
    speeds, last, first = np.asarray(S), float(S_1), float(S_2)
    between = speeds[(speeds > last * (1 + 1e-9)) & (speeds < first * (1 - 1e-9))]
    if between.size:
        raise TableError(
            f"the speed {float(between.flat[0]):g} lies between the two formulas, which run to {last:g} and from {first:g} "
            "in the unit of this form; take the next speed above"
        )
    found: Any = np.where(speeds <= last * (1 + 1e-9), L_1, L_2)[()]
    return found


class Tapers(NamedTuple):
    """Result of `taper`."""

    L_1: RoadLength
    L_2: RoadLength
    L: RoadLength
    L_s: RoadLength
    L_sh: RoadLength


@calculation_by_form(
    title="Tapers by the speed of traffic",
    notes=NOTES,
    forms={
        "US": Form(
            {"c_1": 60, "c_2": 1, "S_1": "40 mph", "S_2": "45 mph"},
            units={"W": "ft", "S": "mph", "L_1": "ft", "L_2": "ft", "L": "ft", "L_s": "ft", "L_sh": "ft"},
            ranges={"S": SPEED_US},
            source=(FORMULAS_2023, FORMULAS_US, SHARES),
        ),
        "SI": Form(
            {"c_1": 155, "c_2": 1.6, "S_1": "60 km/h", "S_2": "70 km/h"},
            units={"W": "m", "S": "km/h", "L_1": "m", "L_2": "m", "L": "m", "L_s": "m", "L_sh": "m"},
            ranges={"S": SPEED_SI},
            title="Tapers by the speed of traffic, metric rules",
            source=(FORMULAS_METRIC, SHARES),
        ),
    },
)
def taper(W: Width, S: RoadSpeed, *, c_1: float, c_2: float, S_1: float, S_2: float) -> Tapers:
    r"""Minimum lengths of merging, shifting and shoulder taper.

    .. math:: L = \frac{W S^2}{c_1}\ (S \le S_1),\quad L = \frac{W S}{c_2}\ (S \ge S_2),\quad L_s = L/2,\quad L_{sh} = L/3

    Parameters
    ----------
    W : quantity of length
        width by which traffic is moved over
    S : quantity of speed
        speed of traffic before the work
    form : {"US", "SI"}
        rules in US units or metric rules

    Returns
    -------
    Tapers
        `L_1`, `L_2` by the two formulas, `L` merging, `L_s` shifting, `L_sh` shoulder taper.

    Raises
    ------
    InputError
        If the speed lies outside 20 to 75 mph or between 40 and 45 mph; by the metric rules outside 30 to 110 km/h or
        between 60 and 70 km/h.

    Notes
    -----
    Source: MUTCD 2009; MUTCD 2003, metric columns. The metric divisor 155 is recalled; it is within 0.3 % of the exact
    conversion.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{taper(Q(12, 'ft'), Q(55, 'mph'), form='US').L.to('ft'):.0f~P}"
    '660 ft'
    >>> f"{taper(Q(3.6, 'm'), Q(90, 'km/h'), form='SI').L.to('m'):.1f~P}"
    '202.5 m'
    """
    L_1 = W * S**2 / c_1  # merging taper by the formula of low speeds
    L_2 = W * S / c_2  # merging taper by the formula of high speeds
    L = taper_by_speed(S, S_1, S_2, L_1, L_2)  # minimum merging taper
    L_s = L / 2  # minimum shifting taper
    L_sh = L / 3  # minimum shoulder taper
    return Tapers(L_1, L_2, L, L_s, L_sh)
