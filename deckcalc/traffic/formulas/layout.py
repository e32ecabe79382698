"""Devices and signs: how far apart, and how many."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from deckcalc.core import tables
from deckcalc.core.calculation import Range, calculation, lookup, round_up
from deckcalc.core.forms import BOTH, Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, RoadLength, RoadSpeed, registry
from deckcalc.traffic.formulas.tapers import SPEED_SI, SPEED_US

Road = Literal["urban, low speed", "urban, high speed", "rural", "expressway"]
Edition = Literal["US", "SI"]


class Spacing(NamedTuple):
    """Result of `device_spacing`."""

    s_t: RoadLength
    s_g: RoadLength


@calculation_by_form(
    title="Maximum spacing of channelizing devices",
    notes=("One-lane two-way and downstream tapers: 6 m (20 ft).",),
    forms={
        "US": Form(
            {"k_t": 1.0, "k_g": 2.0}, units={"S": "mph", "s_t": "ft", "s_g": "ft"}, ranges={"S": SPEED_US},
            source=(Cite("maryland-spacing", "table 2"), Cite("mutcd-2023", "section 6K.01, as quoted in a public repository")),
        ),
        "SI": Form(
            {"k_t": 0.2, "k_g": 0.4}, units={"S": "km/h", "s_t": "m", "s_g": "m"}, ranges={"S": SPEED_SI},
            title="Maximum spacing of channelizing devices, metric rules",
            source=Cite("mutcd-2003", "metric: 0.2 m in tapers and 0.4 m along the lane for each km/h", "memory"),
        ),
    },
)  # fmt: skip
def device_spacing(S: RoadSpeed, *, k_t: float, k_g: float) -> Spacing:
    r"""Maximum spacing of cones or drums.

    .. math:: s_t = k_t S,\quad s_g = k_g S

    Parameters
    ----------
    S : quantity of speed
        speed of traffic
    form : {"US", "SI"}
        rules in US units or metric rules

    Returns
    -------
    Spacing
        `s_t` in tapers, `s_g` along the closed lane.

    Raises
    ------
    InputError
        If the speed lies outside 20 to 75 mph, or 30 to 110 km/h by the metric rules.

    Notes
    -----
    Source: MUTCD's rule as tabulated by Maryland; the metric rules from memory, 4 % more than the exact conversion.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{device_spacing(Q(55, 'mph'), form='US').s_g.to('ft'):.0f~P}"
    '110 ft'
    """
    s_t = k_t * S  # spacing in tapers
    s_g = k_g * S  # spacing along the closed lane
    return Spacing(s_t, s_g)


class Devices(NamedTuple):
    """Result of `devices`."""

    n_1: Count
    n: Count
    s: RoadLength


@calculation(
    title="Number of devices on a stretch",
    source=Cite("", "spaces rounded up, one device more than spaces", "common practice"),
    unchecked="a division rounded up; no rule for the count is in print",
)
def devices(
    L: Annotated[RoadLength, Range("1 m", "10000 m")], s_max: Annotated[RoadLength, Range("1 m", "100 m")]
) -> Devices:
    r"""Number and even spacing of devices on a stretch, both ends included.

    .. math:: n = \lceil L / s_{max} \rceil + 1

    Parameters
    ----------
    L : quantity of length
        length of the stretch
    s_max : quantity of length
        maximum spacing

    Returns
    -------
    Devices
        `n_1` spaces, `n` devices, `s` even spacing.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice; on the safe side.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{devices(Q(660, 'ft'), Q(55, 'ft')).n:.0f~P}"
    '13'
    """
    n_1 = round_up(L / s_max)  # spaces
    n = n_1 + 1  # devices, one at each end
    s = L / n_1  # even spacing
    return Devices(n_1, n, s)


def printed(road: str, edition: str, column: str) -> Any:
    """Return a spacing of the table in metres, as that edition prints it."""
    unit = "m" if edition == "SI" else "ft"
    row = tables.load("sign_spacing").row("road", road)
    return float(registry().Quantity(float(row[f"{column} [{unit}]"]), unit).m_as("m"))


@lookup("first sign, {road}, {form} values")
def sign_a(road: Road, form: Edition) -> RoadLength:
    """Return the distance of the nearest sign."""
    return printed(road, form, "A")


@lookup("first to second sign, {road}, {form} values")
def sign_b(road: Road, form: Edition) -> RoadLength:
    """Return the distance between the nearest and the middle sign."""
    return printed(road, form, "B")


@lookup("second to third sign, {road}, {form} values")
def sign_c(road: Road, form: Edition) -> RoadLength:
    """Return the distance between the middle and the farthest sign."""
    return printed(road, form, "C")


class Signs(NamedTuple):
    """Result of `sign_positions`."""

    A: RoadLength
    B: RoadLength
    C: RoadLength
    D_2: RoadLength
    D_3: RoadLength


@calculation_by_form(
    title="Advance warning signs",
    source=(
        Cite("mutcd-2023", "table 6B-1, p. 773: first distances as quoted in a public repository"),
        Cite("mutcd-2009", "table 6C-1 (6H-3), as reproduced by California"),
        Cite("mutcd-2003", "table 6H-3, metric columns"),
    ),
    notes=(
        "The metric distances are rounded, not converted: 100 m stands for 350 ft (106.7 m). Low and high speed: the authority says where they part.",
    ),
    forms=BOTH,
)
def sign_positions(road: Road, *, form: str) -> Signs:
    r"""Distances of the three warning signs ahead of the taper.

    .. math:: D_2 = A + B,\quad D_3 = A + B + C

    Parameters
    ----------
    road : str
        kind of road
    form : {"US", "SI"}
        which edition: US or metric

    Returns
    -------
    Signs
        `A`, `B`, `C` spacings from the taper upstream, `D_2`, `D_3` distances of the second and third sign.

    Raises
    ------
    InputError
        If the table has no such road.

    Notes
    -----
    Source: MUTCD.

    Examples
    --------
    >>> f"{sign_positions('rural', form='US').D_3.to('ft'):.0f~P}"
    '1500 ft'
    """
    A = sign_a(road, form)  # taper to the first sign
    B = sign_b(road, form)  # first to second sign
    C = sign_c(road, form)  # second to third sign
    D_2 = A + B  # taper to the second sign
    D_3 = D_2 + C  # taper to the third sign
    return Signs(A, B, C, D_2, D_3)
