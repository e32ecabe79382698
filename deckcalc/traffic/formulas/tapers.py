"""Tapers by the speed of traffic, in US units and by the published metric rules."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import LaneWidth, RoadLength, RoadSpeed

Width = Annotated[LaneWidth, Range("0.5 m", "8 m")]
SpeedUS = Annotated[RoadSpeed, Range("20 mph", "75 mph")]
SpeedMetric = Annotated[RoadSpeed, Range("30 km/h", "110 km/h")]
TaperLength = Annotated[RoadLength, Range("1 m", "2000 m")]

FORMULAS_US = Cite("mutcd-2009", "tables 6C-3 and 6C-4, as reproduced in California's edition, table 6H-4(CA)")
FORMULAS_METRIC = Cite(
    "mutcd-2003", "table 6H-4, metric columns (the divisor 155 is hardly legible there; it is recalled)", "memory"
)
SHARES = Cite("mutcd-2009", "table 6C-3: shifting taper at least half, shoulder taper at least a third")
NOTES = (
    "The speed is the posted limit, the off-peak 85th percentile before the work, or the speed expected of traffic, whichever "
    "the authority names; the greater is on the safe side.",
    "The step between the two formulas is real: a lane of 3.6 m (12 ft) needs more than half as much again just above it.",
)


def by_speed(S: Any, last: float, first: float, unit: str, low: Any, high: Any) -> Any:
    """Choose between the two formulas; between their speeds there is none."""
    speeds = np.asarray(S)
    between = speeds[(speeds > last * (1 + 1e-9)) & (speeds < first * (1 - 1e-9))]
    if between.size:
        raise TableError(
            f"the speed {float(between.flat[0]):g} {unit} lies between the two formulas, which run to {last:g} {unit} and from "
            f"{first:g} {unit}; take the next speed above"
        )
    return np.where(speeds <= last * (1 + 1e-9), low, high)[()]


MPH, KM_H = (40, 45), (60, 70)  # the first formula up to the one speed, the second from the other


@lookup(
    "the first up to {s[0]} mph, the second from {s[1]} mph, at {S}", s=MPH,
    units={"S": "mph", "L_1": "ft", "L_2": "ft", "": "ft"},
)  # fmt: skip
def taper_by_speed_us(S: SpeedUS, L_1: TaperLength, L_2: TaperLength) -> RoadLength:
    """Return the taper by the formula of the speed."""
    return by_speed(S, *MPH, "mph", L_1, L_2)


@lookup(
    "the first up to {s[0]} km/h, the second from {s[1]} km/h, at {S}", s=KM_H,
    units={"S": "km/h", "L_1": "m", "L_2": "m", "": "m"},
)  # fmt: skip
def taper_by_speed_metric(S: SpeedMetric, L_1: TaperLength, L_2: TaperLength) -> RoadLength:
    """Return the taper by the formula of the speed."""
    return by_speed(S, *KM_H, "km/h", L_1, L_2)


class Tapers(NamedTuple):
    """Result of `taper_us` and `taper_metric`."""

    L_1: RoadLength
    L_2: RoadLength
    L: RoadLength
    L_s: RoadLength
    L_sh: RoadLength


@calculation(
    title="Tapers by the speed of traffic",
    source=(FORMULAS_US, SHARES),
    notes=NOTES,
    units={"W": "ft", "S": "mph", "L_1": "ft", "L_2": "ft", "L": "ft", "L_s": "ft", "L_sh": "ft"},
)
def taper_us(W: Width, S: SpeedUS) -> Tapers:
    r"""Least lengths of merging, shifting and shoulder taper, US units.

    .. math:: L = \frac{W S^2}{60}\ (S \le 40),\quad L = W S\ (S \ge 45),\quad L_s = L/2,\quad L_{sh} = L/3

    Parameters
    ----------
    W : quantity of length
        width by which traffic is moved over
    S : quantity of speed
        speed of traffic before the work

    Returns
    -------
    Tapers
        `L_1`, `L_2` by the two formulas, `L` merging, `L_s` shifting, `L_sh` shoulder taper.

    Raises
    ------
    InputError
        If the speed lies outside 20 to 75 mph, or between 40 and 45 mph.

    Notes
    -----
    Source: MUTCD 2009.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{taper_us(Q(12, 'ft'), Q(55, 'mph')).L.to('ft'):.0f~P}"
    '660 ft'
    """
    L_1 = W * S**2 / 60  # merging taper by the formula of low speeds
    L_2 = W * S  # merging taper by the formula of high speeds
    L = taper_by_speed_us(S, L_1, L_2)  # least merging taper
    L_s = L / 2  # least shifting taper
    L_sh = L / 3  # least shoulder taper
    return Tapers(L_1, L_2, L, L_s, L_sh)


@calculation(
    title="Tapers by the speed of traffic, metric rules",
    source=(FORMULAS_METRIC, SHARES),
    notes=NOTES,
    units={"W": "m", "S": "km/h", "L_1": "m", "L_2": "m", "L": "m", "L_s": "m", "L_sh": "m"},
)
def taper_metric(W: Width, S: SpeedMetric) -> Tapers:
    r"""Least lengths of merging, shifting and shoulder taper, metric rules.

    .. math:: L = \frac{W S^2}{155}\ (S \le 60),\quad L = \frac{W S}{1.6}\ (S \ge 70),\quad L_s = L/2,\quad L_{sh} = L/3

    Parameters
    ----------
    W : quantity of length
        width by which traffic is moved over
    S : quantity of speed
        speed of traffic before the work

    Returns
    -------
    Tapers
        `L_1`, `L_2` by the two formulas, `L` merging, `L_s` shifting, `L_sh` shoulder taper.

    Raises
    ------
    InputError
        If the speed lies outside 30 to 110 km/h, or between 60 and 70 km/h.

    Notes
    -----
    Source: MUTCD 2003, metric columns; the divisor 155 is recalled. It is within 0.3 % of the exact conversion.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{taper_metric(Q(3.6, 'm'), Q(90, 'km/h')).L.to('m'):.1f~P}"
    '202.5 m'
    """
    L_1 = W * S**2 / 155  # merging taper by the formula of low speeds
    L_2 = W * S / 1.6  # merging taper by the formula of high speeds
    L = taper_by_speed_metric(S, L_1, L_2)  # least merging taper
    L_s = L / 2  # least shifting taper
    L_sh = L / 3  # least shoulder taper
    return Tapers(L_1, L_2, L, L_s, L_sh)
