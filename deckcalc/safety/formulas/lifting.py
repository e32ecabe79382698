"""Mass of a bag that may be lifted by hand."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import Range, below, calculation, larger, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, ExposureHours, Length, LiftRate, Mass, Ratio, Twist

Grip = Literal["good", "fair", "poor"]
NIOSH = Cite("niosh-94-110", "tables 1 to 5, as reproduced on lifting analysis worksheets")
GRIPS = Cite("niosh-94-110", "table 7: coupling", "memory")
LIFTING = (
    "For two hands on one load, standing, on a firm floor, lifting alone: not for lifts by two, for carrying, pushing or shovelling. "
    "One closer than the least reach or travel counts as that.",
    "A bag that sags in the middle is a poor grip. Between two rows of the frequency table the row of more lifts is taken.",
)


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


LOW = {"SI": 75, "US": 30}  # cm, in
GRIP = {"good": 1.0, "fair": 1.0, "fair and low": 0.95, "poor": 0.9}


@lookup("frequency multiplier of {F} for {t}, hands at {V}; below {low} cm counts as low", low=LOW["SI"], source=NIOSH, units={"F": "1/min", "t": "h", "V": "cm", "": ""})  # fmt: skip
def by_frequency_si(F: LiftRate, t: ExposureHours, V: Length) -> Ratio:
    """Return the frequency multiplier of the metric equation."""
    return np.vectorize(_frequency)(F, t, below(np.asarray(V), LOW["SI"]))


@lookup("frequency multiplier of {F} for {t}, hands at {V}; below {low} in counts as low", low=LOW["US"], source=NIOSH, units={"F": "1/min", "t": "h", "V": "in", "": ""})  # fmt: skip
def by_frequency_us(F: LiftRate, t: ExposureHours, V: Length) -> Ratio:
    """Return the frequency multiplier of the US equation."""
    return np.vectorize(_frequency)(F, t, below(np.asarray(V), LOW["US"]))


def _grip(grip: str, low: Any) -> Any:
    """Return the coupling multiplier."""
    return np.where(low, GRIP["fair and low"], GRIP["fair"]) if grip == "fair" else GRIP[grip]


@lookup("coupling multiplier of a {grip} grip, hands at {V}; fair is {k[fair and low]} below {low} cm", k=GRIP, low=LOW["SI"], source=GRIPS, units={"V": "cm", "": ""})  # fmt: skip
def by_grip_si(grip: Grip, V: Length) -> Ratio:
    """Return the coupling multiplier of the metric equation."""
    return _grip(grip, below(np.asarray(V), LOW["SI"]))


@lookup("coupling multiplier of a {grip} grip, hands at {V}; fair is {k[fair and low]} below {low} in", k=GRIP, low=LOW["US"], source=GRIPS, units={"V": "in", "": ""})  # fmt: skip
def by_grip_us(grip: Grip, V: Length) -> Ratio:
    """Return the coupling multiplier of the US equation."""
    return _grip(grip, below(np.asarray(V), LOW["US"]))


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
