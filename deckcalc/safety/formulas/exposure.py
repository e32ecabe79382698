"""How long a hand may hold a breaker, and which respirator a tool asks for."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import ListOf, Range, above, calculation, constant, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, DustLevel, ExposureHours, HandVibration, Ratio

Tool = Literal[
    "walk-behind saw", "hand-held power saw", "drivable saw", "breaker or chipping hammer",
    "hand-held or stand-mounted drill", "rig-mounted core drill", "hand-held grinder",
]  # fmt: skip
Place = Literal["outdoors", "enclosed"]
LONG = "4 h"  # over it the second column of the table of dust holds
VibrationRule = Literal["Directive 2002/44/EC", "United Kingdom 2005", "ANSI S2.70"]
HOUR = 3600.0


class ToolVibration(NamedTuple):
    """Result of `tool_vibration`."""

    A_8: HandVibration
    t_a: ExposureHours
    t_l: ExposureHours
    n_p: Count


@calculation(
    title="Hand-arm vibration from one tool",
    source=(Cite("eu-2002-44", "action value, limit value, A(8)"), Cite("hse-hav", "100 points at the action value")),
    notes=(
        "Time with the finger on the trigger, of one worker. The manufacturer's declared value is often below what breaking concrete gives.",
    ),
    units={"a": "m/s²", "t": "h", "a_a": "m/s²", "a_l": "m/s²", "A_8": "m/s²", "t_a": "h", "t_l": "h", "n_p": ""},
)
def tool_vibration(
    a: Annotated[HandVibration, Range("0.1 m/s^2", "60 m/s^2")],
    t: Annotated[ExposureHours, Range("0 h", "12 h")],
    a_a: Annotated[HandVibration, Range("1 m/s^2", "10 m/s^2")],
    a_l: Annotated[HandVibration, Range("1 m/s^2", "10 m/s^2")],
) -> ToolVibration:
    r"""Daily exposure to the hand-arm vibration of one tool, and the times to the action and the limit value.

    .. math:: A(8) = a \sqrt{\frac{t}{8\,h}}, \quad t_a = 8\,h \left(\frac{a_a}{a}\right)^2

    Parameters
    ----------
    a : quantity of acceleration
        vibration total value of the tool
    t : quantity of time
        trigger time of one worker in the shift
    a_a : quantity of acceleration
        action value, over eight hours
    a_l : quantity of acceleration
        limit value, over eight hours

    Returns
    -------
    ToolVibration
        `A_8` exposure over eight hours, `t_a` time to the action value, `t_l` to the limit value, `n_p` exposure points.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Directive 2002/44/EC; points as in the HSE ready reckoner.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{tool_vibration(Q(5, 'm/s²'), Q(3, 'h'), Q(2.5, 'm/s²'), Q(5, 'm/s²')).n_p.m:.0f}"
    '150'
    """
    A_8 = a * (t / 8) ** 0.5  # exposure over eight hours
    t_a = 8 * (a_a / a) ** 2  # trigger time to the action value
    t_l = 8 * (a_l / a) ** 2  # trigger time to the limit value
    n_p = 100 * (A_8 / a_a) ** 2  # exposure points
    return ToolVibration(A_8, t_a, t_l, n_p)


@lookup("root of the sum of the squares", source=Cite("eu-2002-44", "several tools in a day"))
def root_of_squares(A: Annotated[HandVibration, Range("0 m/s^2", "60 m/s^2"), ListOf()]) -> HandVibration:
    """Return the exposure of several tools."""
    return np.sqrt(np.sum(np.asarray(A) ** 2, axis=-1))


class ShiftVibration(NamedTuple):
    """Result of `shift_vibration`."""

    A_d: HandVibration


@calculation(
    title="Hand-arm vibration in a shift",
    source=Cite("eu-2002-44", "A(8) of several tools"),
    notes=("Of one worker who holds each tool as long as stated.",),
)
def shift_vibration(A: Annotated[HandVibration, Range("0 m/s^2", "60 m/s^2"), ListOf()]) -> ShiftVibration:
    r"""Daily exposure to the hand-arm vibration of several tools.

    .. math:: A_d = \sqrt{\sum A_i(8)^2}

    Parameters
    ----------
    A : quantity of acceleration, shape (..., n)
        exposure of each tool over eight hours

    Returns
    -------
    ShiftVibration
        `A_d` exposure of the shift.

    Raises
    ------
    InputError
        If an exposure lies outside its range.

    Notes
    -----
    Source: Directive 2002/44/EC.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{shift_vibration(Q([3, 4], 'm/s²')).A_d:.1f~P}"
    '5.0 m/s²'
    """
    A_d = root_of_squares(A)  # exposure of the shift
    return ShiftVibration(A_d)


@lookup(
    "from the table of dust by tool, {tool}, {place}, in its column up to {long} or over; here {t} in the shift",
    long=LONG, source=Cite("osha-1926-1153", "Table 1"),
)  # fmt: skip
def by_tool(t: ExposureHours, tool: Tool, place: Place) -> Count:
    """Return the minimum assigned protection factor of the respirator, 0 for none."""
    row = tables.load("silica_methods").row("tool", tool)

    def one(hours: float) -> float:
        cell = row[f"{place} {'over' if above(hours, constant(LONG)) else 'to'} {LONG}"]
        if not cell:
            raise tables.TableError(
                f"the table has no {tool} in an enclosed place: measure the dust, or work in the open"
            )
        return float(cell)

    return np.vectorize(one, otypes=[float])(t)


@calculation(
    title="Respirator against silica dust",
    source=Cite("osha-1926-1153", "Table 1, as in the identical table of California, Title 8, s. 1532.3"),
    notes=(
        "0: none where the method of the table is followed fully. Otherwise the minimum assigned protection factor. Dry sawing or breaking is not in the table.",
    ),
)
def silica_respirator(t: Annotated[ExposureHours, Range("0 h", "24 h")], tool: Tool, place: Place) -> Count:
    r"""Minimum assigned protection factor of the respirator for a tool used by the method of the table.

    .. math:: APF = f(tool, place, t)

    Parameters
    ----------
    t : quantity of time
        time of the task in the shift
    tool : str
        tool of the table
    place : str
        outdoors or enclosed

    Returns
    -------
    APF : quantity of count
        Minimum assigned protection factor, 0 for none.

    Raises
    ------
    InputError
        If the table does not have the tool in that place, or the time lies outside its range.

    Notes
    -----
    Source: 29 CFR 1926.1153, Table 1; the core drill and the grinder from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{silica_respirator(Q(5, 'h'), 'breaker or chipping hammer', 'outdoors').m:.0f}"
    '10'
    """
    APF = by_tool(t, tool, place)  # minimum assigned protection factor, 0 for none
    return APF


class BlastingDust(NamedTuple):
    """Result of `blasting_dust`."""

    C_8: DustLevel
    F: Ratio


@calculation(
    title="Silica dust of blasting",
    source=(
        Cite(
            "osha-1926-1153",
            "(d): exposure over eight hours against the permissible limit, for work that is not in Table 1",
        ),
    ),
    units={"C": "µg/m³", "t": "h", "C_L": "µg/m³", "C_8": "µg/m³", "F": ""},
    notes=(
        "Above 1 a respirator with at least that protection factor is worn, and others are kept away or wear the same. A blaster "
        "in the open wears an abrasive-blasting respirator with supplied air, whatever this gives.",
        "The level is measured at the worker, outside the hood, with this abrasive on this concrete; the concrete itself holds silica.",
    ),
)
def blasting_dust(
    C: Annotated[DustLevel, Range("1 µg/m^3", "1000000 µg/m^3")],
    t: Annotated[ExposureHours, Range("0 h", "16 h")],
    C_L: Annotated[DustLevel, Range("10 µg/m^3", "1000 µg/m^3")],
) -> BlastingDust:
    r"""Respirable silica in the air over eight hours, and how many times the limit it is.

    .. math:: C_8 = \frac{C\,t}{8\,h}, \quad F = \frac{C_8}{C_L}

    Parameters
    ----------
    C : quantity of mass per volume
        respirable crystalline silica in the air while blasting
    t : quantity of time
        time of blasting in the shift
    C_L : quantity of mass per volume
        limit over eight hours

    Returns
    -------
    BlastingDust
        `C_8` level over eight hours, `F` how many times the limit that is: the minimum protection factor.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: 29 CFR 1926.1153.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{blasting_dust(Q(75, 'µg/m³'), Q(8, 'h'), Q(50, 'µg/m³')).F.m:.2f}"
    '1.50'
    """
    C_8 = C * t / 8  # level over eight hours
    F = C_8 / C_L  # how many times the limit
    return BlastingDust(C_8, F)
