"""Prepackaged mortar, neat or extended with aggregate: yield by solid volumes."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.units import BatchVolume, Count, Density, Mass, OrderVolume, Ratio, Share


class Mortar(NamedTuple):
    """Result of `extended_mortar`."""

    m_ag: Mass
    V_ag: BatchVolume
    V_bag: BatchVolume
    n: Count
    m_water: Mass
    m_aggregate: Mass


@calculation(
    title="Prepackaged mortar, extended with aggregate",
    source=(
        Cite("mortar-data-sheet", "extension as a share of the mass of the dry bag"),
        Cite("", "solid volumes add; the aggregate fills no more than its own solid volume", "common practice"),
    ),
    notes=(
        "Whether, from which depth and by how much a product may be extended, its water and its neat yield are the "
        "manufacturer's to say. The aggregate is saturated surface-dry, clean and not finer than the manufacturer asks; adding the "
        "bulk volume of the aggregate to the yield of the bag would overstate it by two thirds.",
    ),
)
def extended_mortar(
    V: Annotated[OrderVolume, Range("0 m³", "100 m³", above=True)],
    m_bag: Annotated[Mass, Range("5 kg", "1500 kg")],
    V_neat: Annotated[BatchVolume, Range("0.001 m³", "1 m³")],
    q_ext: Annotated[Share, Range("0 %", "150 %")],
    RD_ag: Annotated[Ratio, Range("2.0", "3.5")],
    m_w: Annotated[Mass, Range("0.1 kg", "200 kg")],
    rho_w: Annotated[Density, Range("990 kg/m³", "1001 kg/m³")],
) -> Mortar:
    r"""Bags, aggregate and water for a volume of prepackaged mortar extended with aggregate.

    .. math:: V_{bag} = V_{neat} + \frac{q_{ext} m_{bag}}{RD_{ag} \rho_w},\quad n = \lceil V / V_{bag} \rceil

    Parameters
    ----------
    V : quantity of volume, shape (...,)
        volume wanted, with waste
    m_bag : quantity of mass
        dry mortar in a bag
    V_neat : quantity of volume
        yield of a bag without aggregate, by the manufacturer
    q_ext : quantity without dimension
        aggregate added, share of the mass of the dry bag
    RD_ag : quantity without dimension
        relative density of the aggregate, saturated surface-dry
    m_w : quantity of mass
        water for a bag, by the manufacturer
    rho_w : quantity of density
        density of water

    Returns
    -------
    Mortar
        `m_ag` aggregate for a bag, `V_ag` its solid volume, `V_bag` yield of an extended bag, `n` bags, `m_water` and
        `m_aggregate` for all bags.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: common practice; one manufacturer's sheet admits half the mass of the dry bag from 2 in (50 mm) up.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = extended_mortar(
    ...     Q(2, "ft³"), Q(50, "lb"), Q(0.42, "ft³"), Q(50, "%"), 2.65, Q(5.2, "lb"), Q(62.4, "lb/ft³")
    ... )
    >>> f"{found.V_bag.to('ft³'):.3f~P}, {found.n.magnitude:.0f}"
    '0.571 ft³, 4'
    """
    m_ag = q_ext * m_bag  # aggregate for a bag
    V_ag = m_ag / (RD_ag * rho_w)  # its solid volume
    V_bag = V_neat + V_ag  # yield of an extended bag
    n = round_up(V / V_bag)  # bags
    m_water = n * m_w  # water for all bags
    m_aggregate = n * m_ag  # aggregate for all bags
    return Mortar(m_ag, V_ag, V_bag, n, m_water, m_aggregate)
