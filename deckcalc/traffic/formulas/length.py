"""The length that a closure takes, and a bound for the vehicle that protects it."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation
from deckcalc.core.sources import Cite
from deckcalc.core.units import Mass, Ratio, RoadLength, RoadSpeed

Stretch = Annotated[RoadLength, Range("0 m", "3000 m")]


class ClosureLength(NamedTuple):
    """Result of `closure_length`."""

    L_w: RoadLength
    L_up: RoadLength
    L_all: RoadLength
    u: Ratio


@calculation(
    title="Length that the closure takes",
    source=Cite("", "the parts of the closure laid end to end", "common practice"),
    unchecked="a sum of lengths; its parts are held against print",
)
def closure_length(
    L: Stretch, L_b: Stretch, L_r: Stretch, L_p: Stretch, L_e: Stretch, L_d: Stretch,
    L_av: Annotated[RoadLength, Range("10 m", "20000 m")],
) -> ClosureLength:  # fmt: skip
    r"""Length of a lane closure from the head of its taper to the end of the downstream taper.

    .. math:: L_{all} = L + L_b + L_r + L_w + L_d

    Parameters
    ----------
    L : quantity of length
        merging taper
    L_b : quantity of length
        buffer space, empty
    L_r : quantity of length
        shadow vehicle with its roll-ahead distance, empty
    L_p : quantity of length
        from the first to the last patch
    L_e : quantity of length
        room for truck, mixer and crew before and behind the patches
    L_d : quantity of length
        downstream taper
    L_av : quantity of length
        length that the road allows

    Returns
    -------
    ClosureLength
        `L_w` work space, `L_up` from the head of the taper to the work space, `L_all` whole closure, `u` share of what there is.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice. The signs stand ahead of this length.

    Examples
    --------
    >>> from deckcalc import Q
    >>> parts = [Q(x, "ft") for x in (660, 495, 172, 60, 80, 50, 2000)]
    >>> f"{closure_length(*parts).L_all.to('ft'):.0f~P}"
    '1517 ft'
    """
    L_w = L_p + L_e  # work space
    L_up = L + L_b + L_r  # from the head of the taper to the work space
    L_all = L_up + L_w + L_d  # whole closure
    u = L_all / L_av  # share of the length that the road allows
    return ClosureLength(L_w, L_up, L_all, u)


class RollAhead(NamedTuple):
    """Result of `roll_ahead_bound`."""

    v: RoadSpeed
    d: RoadLength


@calculation(
    title="Minimum roll-ahead by momentum",
    units={"m_1": "kg", "m_2": "kg", "V": "m/s", "mu": "", "v": "m/s", "d": "m"},
    source=Cite("", "conservation of momentum, then sliding friction", "common practice"),
    notes=(
        "A lower bound from mechanics and no design value: what agencies print is several times longer, and no public table was "
        "found. The roll-ahead distance is an input of the authority.",
    ),
)
def roll_ahead_bound(
    m_1: Annotated[Mass, Range("500 kg", "40000 kg")], m_2: Annotated[Mass, Range("2000 kg", "40000 kg")],
    V: Annotated[RoadSpeed, Range("15 mph", "130 km/h")], mu: Annotated[Ratio, Range("0.1", "1")],
) -> RollAhead:  # fmt: skip
    r"""Distance that a parked vehicle slides when it is run into, both going on together.

    .. math:: v = \frac{m_1 V}{m_1 + m_2},\quad d = \frac{v^2}{2 \mu g}

    Parameters
    ----------
    m_1 : quantity of mass
        vehicle that runs in
    m_2 : quantity of mass
        shadow vehicle
    V : quantity of speed
        speed of the vehicle that runs in
    mu : quantity without dimension
        friction of locked wheels on the road

    Returns
    -------
    RollAhead
        `v` speed after the impact, `d` distance slid.

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
    >>> f"{roll_ahead_bound(Q(15000, 'lb'), Q(24000, 'lb'), Q(60, 'mph'), 0.7).d.to('ft'):.1f~P}"
    '25.4 ft'
    """
    v = m_1 * V / (m_1 + m_2)  # speed of both after the impact
    d = v**2 / (2 * mu * 9.80665)  # distance slid
    return RollAhead(v, d)
