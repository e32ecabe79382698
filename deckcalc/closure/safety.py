"""What a bag may weigh, how long a hand may hold a breaker, which respirator a tool asks for."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from deckcalc import tables
from deckcalc.calculation import Range, Several, calculation, larger, lookup
from deckcalc.sources import Cite
from deckcalc.units import Count, ExposureHours, HandVibration, Length, LiftRate, Mass, Ratio, Twist

Grip = Literal["good", "fair", "poor"]
Tool = Literal[
    "walk-behind saw", "hand-held power saw", "drivable saw", "breaker or chipping hammer",
    "hand-held or stand-mounted drill", "rig-mounted core drill", "hand-held grinder",
]  # fmt: skip
Place = Literal["outdoors", "enclosed"]

NIOSH = Cite("niosh-94-110", "tables 1 to 5, as reproduced on lifting analysis worksheets")
GRIPS = Cite("niosh-94-110", "table 7: coupling", "memory")
LIFTING = (
    "For two hands on one load, standing, on a firm floor, lifting alone: not for lifts by two, for carrying, pushing or shovelling. "
    "One closer than the least reach or travel counts as that.",
    "A bag that sags in the middle is a poor grip. Between two rows of the frequency table the row of more lifts is taken.",
)
MINUTE, HOUR = 60.0, 3600.0


def _frequency(F: Any, t: Any, low: Any) -> Any:
    """Return the frequency multiplier, lifts in a minute and hours."""
    column = ("1 h" if t <= 1 + 1e-9 else "2 h" if t <= 2 + 1e-9 else "8 h") + (" low" if low else "")
    for row in tables.load("lift_frequency").rows:
        if float(row["lifts in a minute"]) * (1 + 1e-9) >= F:
            found = float(row[column])
            if found == 0:
                raise tables.TableError(
                    f"{F:g} lifts in a minute for {t:g} h: the table allows no load; lift less often or for a shorter time"
                )
            return found
    raise tables.TableError(f"{F:g} lifts in a minute lie outside the table, which ends at 15")


@lookup("frequency multiplier of {F} for {t}, hands at {V}; below 75 cm counts as low", source=NIOSH, units={"F": "1/min", "t": "h", "V": "cm", "": ""})  # fmt: skip
def by_frequency_si(F: LiftRate, t: ExposureHours, V: Length) -> Ratio:
    """Return the frequency multiplier of the metric equation."""
    return np.vectorize(_frequency)(F, t, np.asarray(V) < 75 * (1 - 1e-9))


@lookup("frequency multiplier of {F} for {t}, hands at {V}; below 30 in counts as low", source=NIOSH, units={"F": "1/min", "t": "h", "V": "in", "": ""})  # fmt: skip
def by_frequency_us(F: LiftRate, t: ExposureHours, V: Length) -> Ratio:
    """Return the frequency multiplier of the US equation."""
    return np.vectorize(_frequency)(F, t, np.asarray(V) < 30 * (1 - 1e-9))


def _grip(grip: str, low: Any) -> Any:
    """Return the coupling multiplier."""
    return {"good": 1.0, "fair": np.where(low, 0.95, 1.0), "poor": 0.9}[grip]


@lookup("coupling multiplier of a {grip} grip, hands at {V}; fair is 0.95 below 75 cm", source=GRIPS, units={"V": "cm", "": ""})  # fmt: skip
def by_grip_si(grip: Grip, V: Length) -> Ratio:
    """Return the coupling multiplier of the metric equation."""
    return _grip(grip, np.asarray(V) < 75 * (1 - 1e-9))


@lookup("coupling multiplier of a {grip} grip, hands at {V}; fair is 0.95 below 30 in", source=GRIPS, units={"V": "in", "": ""})  # fmt: skip
def by_grip_us(grip: Grip, V: Length) -> Ratio:
    """Return the coupling multiplier of the US equation."""
    return _grip(grip, np.asarray(V) < 30 * (1 - 1e-9))


class Lift(NamedTuple):
    """Result of `lifting_limit_si` and `lifting_limit_us`."""

    HM: Ratio
    VM: Ratio
    DM: Ratio
    AM: Ratio
    FM: Ratio
    CM: Ratio
    RWL: Mass


Often = Annotated[LiftRate, Range("0 1/min", "15 1/min")]
Lasting = Annotated[ExposureHours, Range("0 h", "8 h", above=True)]
Angle = Annotated[Twist, Range("0", "135")]


@calculation(
    title="Mass that may be lifted by hand, metric form",
    source=(NIOSH, GRIPS, Cite("ccohs-lifting", "equation and factors")),
    notes=LIFTING,
    units={"H": "cm", "V": "cm", "D": "cm", "A": "", "F": "1/min", "t": "h", "HM": "", "VM": "", "DM": "", "AM": "", "FM": "", "CM": "", "RWL": "kg"},
)  # fmt: skip
def lifting_limit_si(
    H: Annotated[Length, Range("0 cm", "63 cm")],
    V: Annotated[Length, Range("0 cm", "175 cm")],
    D: Annotated[Length, Range("0 cm", "175 cm")],
    A: Angle,
    F: Often,
    t: Lasting,
    grip: Grip,
) -> Lift:
    r"""Recommended weight limit of a lift by hand, metric form.

    .. math:: RWL = 23 \cdot \frac{25}{H} (1 - 0.003 |V - 75|) (0.82 + \frac{4.5}{D}) (1 - 0.0032 A) FM \cdot CM

    Parameters
    ----------
    H : quantity of length
        reach: hands ahead of the ankles
    V : quantity of length
        height of the hands at the start
    D : quantity of length
        height lifted through
    A : quantity without dimension
        twist of the body in degrees
    F : quantity of rate
        lifts in a minute
    t : quantity of time
        hours of lifting
    grip : str
        grip on the load

    Returns
    -------
    Lift
        Multipliers `HM` reach, `VM` height, `DM` travel, `AM` twist, `FM` frequency, `CM` grip; `RWL` mass for one person.

    Raises
    ------
    InputError
        If a value lies outside its range, or the table allows no load at that frequency.

    Notes
    -----
    Source: the revised NIOSH lifting equation.

    Examples
    --------
    >>> from deckcalc import Q
    >>> cm = lambda x: Q(x, "cm")
    >>> f"{lifting_limit_si(cm(50), cm(75), cm(40), 0, Q(0.2, '1/min'), Q(1, 'h'), 'fair').RWL:.1f~P}"
    '10.7 kg'
    """
    HM = 25 / larger(H, 25)  # reach
    VM = 1 - 0.003 * larger(V - 75, 75 - V)  # height of the hands
    DM = 0.82 + 4.5 / larger(D, 25)  # height lifted through
    AM = 1 - 0.0032 * A  # twist
    FM = by_frequency_si(F, t, V)  # how often, how long
    CM = by_grip_si(grip, V)  # grip
    RWL = 23 * HM * VM * DM * AM * FM * CM  # mass for one person
    return Lift(HM, VM, DM, AM, FM, CM, RWL)


@calculation(
    title="Weight that may be lifted by hand, US form",
    source=(NIOSH, GRIPS),
    notes=LIFTING,
    units={"H": "in", "V": "in", "D": "in", "A": "", "F": "1/min", "t": "h", "HM": "", "VM": "", "DM": "", "AM": "", "FM": "", "CM": "", "RWL": "lb"},
)  # fmt: skip
def lifting_limit_us(
    H: Annotated[Length, Range("0 in", "25 in")],
    V: Annotated[Length, Range("0 in", "70 in")],
    D: Annotated[Length, Range("0 in", "70 in")],
    A: Angle,
    F: Often,
    t: Lasting,
    grip: Grip,
) -> Lift:
    r"""Recommended weight limit of a lift by hand, US form.

    .. math:: RWL = 51 \cdot \frac{10}{H} (1 - 0.0075 |V - 30|) (0.82 + \frac{1.8}{D}) (1 - 0.0032 A) FM \cdot CM

    Parameters
    ----------
    H : quantity of length
        reach: hands ahead of the ankles
    V : quantity of length
        height of the hands at the start
    D : quantity of length
        height lifted through
    A : quantity without dimension
        twist of the body in degrees
    F : quantity of rate
        lifts in a minute
    t : quantity of time
        hours of lifting
    grip : str
        grip on the load

    Returns
    -------
    Lift
        Multipliers `HM` reach, `VM` height, `DM` travel, `AM` twist, `FM` frequency, `CM` grip; `RWL` weight for one person.

    Raises
    ------
    InputError
        If a value lies outside its range, or the table allows no load at that frequency.

    Notes
    -----
    Source: the revised NIOSH lifting equation.

    Examples
    --------
    >>> from deckcalc import Q
    >>> inch = lambda x: Q(x, "in")
    >>> f"{lifting_limit_us(inch(20), inch(6), inch(16), 0, Q(0.2, '1/min'), Q(1, 'h'), 'fair').RWL.to('lb'):.1f~P}"
    '18.5 lb'
    """
    HM = 10 / larger(H, 10)  # reach
    VM = 1 - 0.0075 * larger(V - 30, 30 - V)  # height of the hands
    DM = 0.82 + 1.8 / larger(D, 10)  # height lifted through
    AM = 1 - 0.0032 * A  # twist
    FM = by_frequency_us(F, t, V)  # how often, how long
    CM = by_grip_us(grip, V)  # grip
    RWL = 51 * HM * VM * DM * AM * FM * CM  # weight for one person
    return Lift(HM, VM, DM, AM, FM, CM, RWL)


class Index(NamedTuple):
    """Result of `lifting_index`."""

    m_1: Mass
    LI: Ratio


@calculation(
    title="Bag against what may be lifted",
    source=(
        Cite("niosh-94-110", "lifting index"),
        Cite("", "a bag between two people taken as halves", "common practice"),
    ),
    notes=(
        "Up to 1 for nearly all healthy workers; above 1 change the lift; above 3 not by hand. Two people never share a bag evenly: the half is the least "
        "that each lifts.",
    ),
)
def lifting_index(
    m: Annotated[Mass, Range("1 kg", "100 kg")],
    n: Annotated[Count, Range("1", "4")],
    RWL: Annotated[Mass, Range("0.1 kg", "24 kg")],
) -> Index:
    r"""Share of a bag for one person against the recommended limit.

    .. math:: LI = \frac{m / n}{RWL}

    Parameters
    ----------
    m : quantity of mass
        mass of the bag
    n : quantity of count
        people who lift it together
    RWL : quantity of mass
        recommended limit for one person

    Returns
    -------
    Index
        `m_1` share of one person, `LI` lifting index.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: the revised NIOSH lifting equation, which is for one person.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{lifting_index(Q(12, 'kg'), 1, Q(15.72, 'kg')).LI.m:.2f}"
    '0.76'
    """
    m_1 = m / n  # share of one person
    LI = m_1 / RWL  # lifting index
    return Index(m_1, LI)


class ToolVibration(NamedTuple):
    """Result of `tool_vibration`."""

    A_8: HandVibration
    t_a: ExposureHours
    t_l: ExposureHours
    n_p: Count


@calculation(
    title="Vibration of the hands from one tool",
    source=(Cite("eu-2002-44", "action value, limit value, A(8)"), Cite("hse-hav", "100 points at the action value")),
    notes=(
        "Time with the finger on the trigger, of one worker. The maker's declared value is often below what breaking concrete gives.",
    ),
    units={"a": "m/s²", "t": "h", "a_a": "m/s²", "a_l": "m/s²", "A_8": "m/s²", "t_a": "h", "t_l": "h", "n_p": ""},
)
def tool_vibration(
    a: Annotated[HandVibration, Range("0.1 m/s^2", "60 m/s^2")],
    t: Annotated[ExposureHours, Range("0 h", "12 h")],
    a_a: Annotated[HandVibration, Range("1 m/s^2", "10 m/s^2")],
    a_l: Annotated[HandVibration, Range("1 m/s^2", "10 m/s^2")],
) -> ToolVibration:
    r"""Daily exposure of the hands to the vibration of one tool, and the times to the action and the limit value.

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
def root_of_squares(A: Annotated[HandVibration, Range("0 m/s^2", "60 m/s^2"), Several()]) -> HandVibration:
    """Return the exposure of several tools."""
    return np.sqrt(np.sum(np.asarray(A) ** 2, axis=-1))


class ShiftVibration(NamedTuple):
    """Result of `shift_vibration`."""

    A_d: HandVibration


@calculation(
    title="Vibration of the hands in a shift",
    source=Cite("eu-2002-44", "A(8) of several tools"),
    notes=("Of one worker who holds each tool as long as stated.",),
)
def shift_vibration(A: Annotated[HandVibration, Range("0 m/s^2", "60 m/s^2"), Several()]) -> ShiftVibration:
    r"""Daily exposure of the hands to the vibration of several tools.

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


@lookup("from the table of dust by tool, {tool}, {place}, {t} in the shift", source=Cite("osha-1926-1153", "Table 1"))
def by_tool(t: ExposureHours, tool: Tool, place: Place) -> Count:
    """Return the least assigned protection factor of the respirator, 0 for none."""
    row = tables.load("silica_methods").row("tool", tool)

    def one(hours: float) -> float:
        cell = row[f"{place} {'to' if hours <= 4 * HOUR * (1 + 1e-9) else 'over'} 4 h"]
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
        "0: none where the method of the table is followed fully. Otherwise the least assigned protection factor. Dry sawing or breaking is not in the table.",
    ),
)
def silica_respirator(t: Annotated[ExposureHours, Range("0 h", "24 h")], tool: Tool, place: Place) -> Count:
    r"""Least assigned protection factor of the respirator for a tool used by the method of the table.

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
        Least assigned protection factor, 0 for none.

    Raises
    ------
    InputError
        If the table does not have the tool in that place, or the time lies outside 0 to 24 h.

    Notes
    -----
    Source: 29 CFR 1926.1153, Table 1; the core drill and the grinder from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{silica_respirator(Q(5, 'h'), 'breaker or chipping hammer', 'outdoors').m:.0f}"
    '10'
    """
    APF = by_tool(t, tool, place)  # least assigned protection factor, 0 for none
    return APF
