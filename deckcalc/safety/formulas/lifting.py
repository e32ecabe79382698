"""Mass of a bag that may be lifted by hand."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import Range, above, below, calculation, larger, lookup
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, ExposureHours, Length, LiftRate, Mass, Ratio, Twist

Grip = Literal["good", "fair", "poor"]
NIOSH = Cite("niosh-94-110", "tables 1 to 5, as reproduced on lifting analysis worksheets")
GRIPS = Cite("niosh-94-110", "table 7: coupling", "memory")
LIFTING = (
    "For two hands on one load, standing, on a firm floor, lifting alone: not for lifts by two, for carrying, pushing or shovelling. "
    "One closer than the minimum reach or travel counts as that.",
    "A bag that sags in the middle is a poor grip. Between two rows of the frequency table the row of more lifts is taken.",
)


HOURS = (1, 2, 8)  # columns of the table of frequencies


def _frequency(F: Any, t: Any, low: Any) -> Any:
    """Return the frequency multiplier, lifts in a minute and hours."""
    hours = next((most for most in HOURS if not above(t, most)), None)
    if hours is None:
        raise tables.TableError(f"{t:g} h of lifting lie outside the table, which ends at {HOURS[-1]} h")
    column = f"{hours} h" + (" low" if low else "")
    for row in tables.load("lift_frequency").rows:
        if not above(F, float(row["lifts in a minute"])):
            found = float(row[column])
            if found == 0:
                raise tables.TableError(
                    f"{F:g} lifts in a minute for {t:g} h: the table allows no load; lift less often or for a shorter time"
                )
            return found
    raise tables.TableError(f"{F:g} lifts in a minute lie outside the table, which ends at 15")


GRIP = {"good": 1.0, "fair": 1.0, "fair and low": 0.95, "poor": 0.9}


@lookup("frequency multiplier of {F} for {t}, in the column up to {h[0]}, {h[1]} or {h[2]} h, hands at {V}; below {V_0} counts as low", h=HOURS, source=NIOSH, units={"F": "1/min", "t": "h", "V": "cm", "V_0": "cm", "": ""})  # fmt: skip
def by_frequency(F: LiftRate, t: ExposureHours, V: Length, V_0: Length) -> Ratio:
    """Return the frequency multiplier; both heights in one unit."""
    return np.vectorize(_frequency)(F, t, below(np.asarray(V), V_0))


@lookup("coupling multiplier of a {grip} grip, hands at {V}; fair is {k[fair and low]} below {V_0}", k=GRIP, source=GRIPS, units={"V": "cm", "V_0": "cm", "": ""})  # fmt: skip
def by_grip(grip: Grip, V: Length, V_0: Length) -> Ratio:
    """Return the coupling multiplier; both heights in one unit."""
    found: Any = (
        np.where(below(np.asarray(V), V_0), GRIP["fair and low"], GRIP["fair"]) if grip == "fair" else GRIP[grip]
    )
    return found


class Lift(NamedTuple):
    """Result of `lifting_limit`."""

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
COMMON = {"A": "", "F": "1/min", "t": "h", "HM": "", "VM": "", "DM": "", "AM": "", "FM": "", "CM": ""}


@calculation_by_form(
    title="Recommended mass limit for lifting by hand",
    source=(NIOSH, GRIPS),
    notes=LIFTING,
    forms={
        "SI": Form(
            {"LC": 23, "H_0": 25, "V_0": "75 cm", "k_V": 0.003, "k_D": 4.5, "D_0": 25},
            units={"H": "cm", "V": "cm", "D": "cm", **COMMON, "RWL": "kg"},
            ranges={"H": Range("0 cm", "63 cm"), "V": Range("0 cm", "175 cm"), "D": Range("0 cm", "175 cm")},
            title="Recommended mass limit for lifting by hand, metric form",
            source=(NIOSH, GRIPS, Cite("ccohs-lifting", "equation and factors")),
        ),
        "US": Form(
            {"LC": 51, "H_0": 10, "V_0": "30 in", "k_V": 0.0075, "k_D": 1.8, "D_0": 10},
            units={"H": "in", "V": "in", "D": "in", **COMMON, "RWL": "lb"},
            ranges={"H": Range("0 in", "25 in"), "V": Range("0 in", "70 in"), "D": Range("0 in", "70 in")},
            title="Recommended weight limit for lifting by hand, US form",
        ),
    },
)
def lifting_limit(
    H: Length, V: Length, D: Length, A: Angle, F: Often, t: Lasting, grip: Grip,
    *, LC: float, H_0: float, V_0: float, k_V: float, k_D: float, D_0: float,
) -> Lift:  # fmt: skip
    r"""Recommended weight limit of a lift by hand.

    .. math:: RWL = LC \frac{H_0}{H} (1 - k_V |V - V_0|) (0.82 + \frac{k_D}{D}) (1 - 0.0032 A) FM \cdot CM

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
    form : {"SI", "US"}
        form of the equation: metric or US

    Returns
    -------
    Lift
        Multipliers `HM` reach, `VM` height, `DM` travel, `AM` twist, `FM` frequency, `CM` grip; `RWL` recommended limit for one person.

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
    >>> f"{lifting_limit(cm(50), cm(75), cm(40), 0, Q(0.2, '1/min'), Q(1, 'h'), 'fair', form='SI').RWL:.1f~P}"
    '10.7 kg'
    """
    HM = H_0 / larger(H, H_0)  # reach
    VM = 1 - k_V * larger(V - V_0, V_0 - V)  # height of the hands
    DM = 0.82 + k_D / larger(D, D_0)  # height lifted through
    AM = 1 - 0.0032 * A  # twist
    FM = by_frequency(F, t, V, V_0)  # how often, how long
    CM = by_grip(grip, V, V_0)  # grip
    RWL = LC * HM * VM * DM * AM * FM * CM  # recommended limit for one person
    return Lift(HM, VM, DM, AM, FM, CM, RWL)


class Index(NamedTuple):
    """Result of `lifting_index`."""

    m_1: Mass
    LI: Ratio


@calculation(
    title="Bag against the recommended weight limit",
    source=(
        Cite("niosh-94-110", "lifting index"),
        Cite("", "a bag between two people taken as halves", "common practice"),
    ),
    notes=(
        "Up to 1 for nearly all healthy workers; above 1 change the lift; above 3 not by hand. Two people never share a bag evenly: the half is the minimum "
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
