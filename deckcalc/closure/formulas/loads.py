"""What is loaded: containers, fuel, truck loads."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, ExposureHours, FuelRate, Liquid, Mass, Ratio, Share

Number = Annotated[Ratio, Range("0", "100000000")]


class Containers(NamedTuple):
    """Result of `containers`."""

    a: Ratio
    n: Count


@calculation(
    title="Containers with spare",
    source=Cite("", "amount with spare over contents, rounded up", "common practice"),
    unchecked="a division rounded up; no published example of such a list was found",
)
def containers(
    q: Number, s: Annotated[Share, Range("0 %", "100 %")], c: Annotated[Ratio, Range("0", "10000000", above=True)]
) -> Containers:
    r"""Whole containers of a material, spare included.

    .. math:: n = \left\lceil \frac{q (1 + s)}{c} \right\rceil

    Parameters
    ----------
    q : quantity without dimension
        amount, in the unit of the contents
    s : quantity of share
        spare
    c : quantity without dimension
        contents of one container

    Returns
    -------
    Containers
        `a` amount with spare, `n` containers.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{containers(111.7, Q(10, '%'), 42.6).n:.0f~P}"
    '3'
    """
    a = q * (1 + s)  # amount with spare
    n = round_up(a / c)  # containers
    return Containers(a, n)


@calculation(
    title="Fuel by hours",
    source=Cite("", "hours at work times what the manufacturer states", "common practice"),
    unchecked="a product at the rates of the job",
)
def fuel(
    t: Annotated[ExposureHours, Range("0 h", "1000 h")], r: Annotated[FuelRate, Range("0 L/h", "200 L/h")]
) -> Liquid:
    r"""Fuel that a machine burns.

    .. math:: V = t\, r

    Parameters
    ----------
    t : quantity of time
        hours at work
    r : quantity of volume per time
        fuel for an hour

    Returns
    -------
    V : quantity of volume
        Fuel, without spare.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{fuel(Q(2.5, 'h'), Q(8, 'L/h')).to('L'):.0f~P}"
    '20 l'
    """
    V = t * r  # fuel
    return V


class TruckLoads(NamedTuple):
    """Result of `truck_loads`."""

    n: Count
    u: Share


@calculation(
    title="Mass against the trucks",
    source=Cite("", "mass over payload, rounded up", "common practice"),
    unchecked="a division rounded up; no published example of such a list was found",
)
def truck_loads(
    m: Annotated[Mass, Range("0 kg", "10000000 kg", above=True)], m_1: Annotated[Mass, Range("100 kg", "40000 kg")]
) -> TruckLoads:
    r"""Truck loads of what is carried to the bridge.

    .. math:: n = \left\lceil \frac{m}{m_1} \right\rceil,\quad u = \frac{m}{n m_1}

    Parameters
    ----------
    m : quantity of mass
        mass to be carried, spare included
    m_1 : quantity of mass
        payload of one truck

    Returns
    -------
    TruckLoads
        `n` loads, `u` share of their payload that is used.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice. People, tools and water for curing ride beside it.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{truck_loads(Q(1900, 'kg'), Q(1800, 'kg')).n:.0f~P}"
    '2'
    """
    n = round_up(m / m_1)  # loads
    u = m / (n * m_1)  # share of the payload used
    return TruckLoads(n, u)
