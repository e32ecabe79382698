"""Stopping sight distance, by which the buffer space is set out."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, round_up
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import Deceleration, Grade, RoadLength, RoadSpeed, Seconds

BUFFER = "The buffer space takes this distance; nothing and nobody stands in it. MUTCD leaves a buffer to choice; here it is kept."


class Stopping(NamedTuple):
    """Result of `stopping`."""

    d_r: RoadLength
    d_b: RoadLength
    d: RoadLength
    d_d: RoadLength


@calculation_by_form(
    title="Stopping sight distance on the level",
    forms={
        "US": Form(
            {"c_r": 1.47, "c_b": 1.075, "a": 11.2, "d_0": "5 ft"},
            units={"V": "mph", "d_r": "ft", "d_b": "ft", "d": "ft", "d_d": "ft"},
            ranges={"V": Range("15 mph", "80 mph")},
            source=(
                Cite("txdot-roadway", "4.11.1"),
                Cite("mutcd-2023", "table 6B-2, buffer space: 200, 360, 570 and 730 ft quoted in a public repository"),
            ),
            notes=(BUFFER, "Driver's reaction 2.5 s, deceleration 11.2 ft/s²; rounded up to 5 ft."),
        ),
        "SI": Form(
            {"c_r": 0.278, "c_b": 0.039, "a": 3.4, "d_0": "5 m"},
            units={"V": "km/h", "d_r": "m", "d_b": "m", "d": "m", "d_d": "m"},
            ranges={"V": Range("20 km/h", "130 km/h")},
            title="Stopping sight distance on the level, metric rules",
            source=Cite("aashto-green-book", "metric form: 0.278 V t + 0.039 V²/a", "memory"),
            notes=(BUFFER, "Driver's reaction 2.5 s, deceleration 3.4 m/s²; rounded up to 5 m."),
        ),
    },
)
def stopping(V: RoadSpeed, *, c_r: float, c_b: float, a: float, d_0: float) -> Stopping:
    r"""Stopping sight distance on the level.

    .. math:: d = c_r \cdot 2.5 V + \frac{c_b V^2}{a}

    Parameters
    ----------
    V : quantity of speed
        speed of traffic
    form : {"US", "SI"}
        rules in US units or metric rules

    Returns
    -------
    Stopping
        `d_r` in the time of reaction, `d_b` braking, `d` sum, `d_d` rounded up to 5 ft or 5 m.

    Raises
    ------
    InputError
        If the speed lies outside 15 to 80 mph, or 20 to 130 km/h by the metric rules.

    Notes
    -----
    Source: AASHTO's equation as in the TxDOT Roadway Design Manual; its metric form from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{stopping(Q(55, 'mph'), form='US').d_d.to('ft'):.0f~P}, {stopping(Q(90, 'km/h'), form='SI').d_d.to('m'):.0f~P}"
    '495 ft, 160 m'
    """
    d_r = c_r * V * 2.5  # run during 2.5 s of reaction
    d_b = c_b * V**2 / a  # braking
    d = d_r + d_b  # stopping sight distance
    d_d = d_0 * round_up(d / d_0)  # rounded up to {d_0}
    return Stopping(d_r, d_b, d, d_d)


class OnGrade(NamedTuple):
    """Result of `stopping_on_grade`."""

    d_r: RoadLength
    d_b: RoadLength
    d: RoadLength


@calculation(
    title="Stopping sight distance on a grade",
    source=(
        Cite("", "mechanics of braking on a slope", "common practice"),
        Cite("txdot-roadway", "4.11.1, grade form"),
    ),
    units={"V": "m/s", "t": "s", "a": "m/s²", "G": "", "d_r": "m", "d_b": "m", "d": "m"},
    notes=("Downhill is negative and lengthens the distance. The buffer takes the longer of this and the level's.",),
)
def stopping_on_grade(
    V: Annotated[RoadSpeed, Range("15 mph", "130 km/h")], t: Annotated[Seconds, Range("0.5 s", "5 s")],
    a: Annotated[Deceleration, Range("1 m/s²", "8 m/s²")], G: Annotated[Grade, Range("-12 %", "12 %")],
) -> OnGrade:  # fmt: skip
    r"""Stopping sight distance on a grade.

    .. math:: d = V t + \frac{V^2}{2 \cdot 9.80665 (a/9.80665 + G)}

    Parameters
    ----------
    V : quantity of speed
        speed of traffic
    t : quantity of time
        driver's reaction
    a : quantity of acceleration
        deceleration on the level
    G : quantity without dimension
        grade, negative downhill

    Returns
    -------
    OnGrade
        `d_r` in the time of reaction, `d_b` braking, `d` sum.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: mechanics.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{stopping_on_grade(Q(60, 'mph'), Q(2.5, 's'), Q(11.2, 'ft/s²'), Q(-6, '%')).d.to('ft'):.0f~P}"
    '638 ft'
    """
    d_r = V * t  # run during the reaction
    d_b = V**2 / (2 * (a + 9.80665 * G))  # braking, helped or hindered by the grade
    d = d_r + d_b  # stopping sight distance
    return OnGrade(d_r, d_b, d)
