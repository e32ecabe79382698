"""Stopping sight distance, by which the buffer space is set out."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.units import Deceleration, Grade, RoadLength, RoadSpeed, Seconds

BUFFER = "The buffer space takes this distance; nothing and nobody stands in it. MUTCD leaves a buffer to choice; here it is kept."


class Stopping(NamedTuple):
    """Result of `stopping_us` and `stopping_si`."""

    d_r: RoadLength
    d_b: RoadLength
    d: RoadLength
    d_d: RoadLength


@calculation(
    title="Stopping sight distance on the level",
    source=(Cite("txdot-roadway", "4.11.1"), Cite("mutcd-2009", "table 6C-2, buffer space", "memory")),
    notes=(BUFFER, "Driver's reaction 2.5 s, deceleration 11.2 ft/s²; rounded up to 5 ft."),
    units={"V": "mph", "d_r": "ft", "d_b": "ft", "d": "ft", "d_d": "ft"},
)
def stopping_us(V: Annotated[RoadSpeed, Range("15 mph", "80 mph")]) -> Stopping:
    r"""Stopping sight distance on the level, US units.

    .. math:: d = 1.47 \cdot 2.5 V + \frac{1.075 V^2}{11.2}

    Parameters
    ----------
    V : quantity of speed
        speed of traffic

    Returns
    -------
    Stopping
        `d_r` in the time of reaction, `d_b` braking, `d` sum, `d_d` rounded up to 5 ft.

    Raises
    ------
    InputError
        If the speed lies outside 15 to 80 mph.

    Notes
    -----
    Source: AASHTO's equation as in the TxDOT Roadway Design Manual.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{stopping_us(Q(55, 'mph')).d_d.to('ft'):.0f~P}"
    '495 ft'
    """
    d_r = 1.47 * V * 2.5  # run during 2.5 s of reaction
    d_b = 1.075 * V**2 / 11.2  # braking
    d = d_r + d_b  # stopping sight distance
    d_d = 5 * round_up(d / 5)  # rounded up to 5 ft
    return Stopping(d_r, d_b, d, d_d)


@calculation(
    title="Stopping sight distance on the level, metric rules",
    source=Cite("aashto-green-book", "metric form: 0.278 V t + 0.039 V²/a", "memory"),
    notes=(BUFFER, "Driver's reaction 2.5 s, deceleration 3.4 m/s²; rounded up to 5 m."),
    units={"V": "km/h", "d_r": "m", "d_b": "m", "d": "m", "d_d": "m"},
)
def stopping_si(V: Annotated[RoadSpeed, Range("20 km/h", "130 km/h")]) -> Stopping:
    r"""Stopping sight distance on the level, metric rules.

    .. math:: d = 0.278 \cdot 2.5 V + \frac{0.039 V^2}{3.4}

    Parameters
    ----------
    V : quantity of speed
        speed of traffic

    Returns
    -------
    Stopping
        `d_r` in the time of reaction, `d_b` braking, `d` sum, `d_d` rounded up to 5 m.

    Raises
    ------
    InputError
        If the speed lies outside 20 to 130 km/h.

    Notes
    -----
    Source: AASHTO, metric form (memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{stopping_si(Q(90, 'km/h')).d_d.to('m'):.0f~P}"
    '160 m'
    """
    d_r = 0.278 * V * 2.5  # run during 2.5 s of reaction
    d_b = 0.039 * V**2 / 3.4  # braking
    d = d_r + d_b  # stopping sight distance
    d_d = 5 * round_up(d / 5)  # rounded up to 5 m
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
