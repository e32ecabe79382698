"""Prepackaged concrete in the mixer: whole bags in a batch, and the density of what they make."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, lookup, smaller
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BatchVolume, Count, Density, Mass, Ratio, Share

BagYield = Annotated[BatchVolume, Range("0.001 m³", "2 m³")]


@lookup("the most whole bags of {V_bag} each that a batch of {V_mixer} takes")
def whole_bags(V_mixer: BatchVolume, V_bag: BatchVolume) -> Count:
    """Return the most whole bags of a batch, which the mixer must take one of at the least."""
    bags: Any = np.floor(np.asarray(V_mixer) / np.asarray(V_bag) + 1e-9)
    if np.any(bags < 1):
        raise TableError("a batch takes less than what one bag makes; use a larger mixer, or smaller bags")
    return bags if np.ndim(bags) else float(bags)  # type: ignore[return-value]


class BagsInLoad(NamedTuple):
    """Result of `bags_in_load`."""

    n_most: Count
    n_each: Count
    V_load: BatchVolume


@calculation(
    title="Whole bags in a mixer batch",
    source=Cite("", "a prepackaged concrete is mixed by whole bags, since a bag may have parted", "common practice"),
)
def bags_in_load(
    n: Annotated[Count, Range("1", "100000")], V_bag: BagYield, V_mixer: Annotated[BatchVolume, Range("0.005 m³", "10 m³")]
) -> BagsInLoad:  # fmt: skip
    r"""Most whole bags of a mixer batch of prepackaged concrete; the last batch of a patch holds what is left.

    .. math:: n_{each} = \lfloor V_{mixer} / V_{bag} \rfloor

    Parameters
    ----------
    n : quantity without dimension
        bags of the patch
    V_bag : quantity of volume
        what a bag makes
    V_mixer : quantity of volume
        largest batch of concrete for the mixer

    Returns
    -------
    BagsInLoad
        `n_most` bags that a batch takes, `n_each` bags of a batch, `V_load` volume that they make; never more than the bags of the patch.

    Raises
    ------
    InputError
        If the mixer does not take one bag, or a value is implausible.

    Notes
    -----
    Common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{bags_in_load(10, Q(0.5, 'ft³'), Q(1.75, 'ft³')).n_each.magnitude:.0f}"
    '3'
    """
    n_most = whole_bags(V_mixer, V_bag)  # maximum bags of a batch
    n_each = smaller(n_most, n)  # bags of a batch, no more than there are
    V_load = n_each * V_bag  # concrete of a batch
    return BagsInLoad(n_most, n_each, V_load)


class BagDensity(NamedTuple):
    """Result of `bag_density`."""

    m_all: Mass
    V_all: BatchVolume
    D: Density


@calculation(
    title="Density of fresh prepackaged concrete",
    source=Cite("", "mass over the volume that it makes", "common practice"),
    notes=(
        "With as much aggregate as the job adds; where a patch is too thin for aggregate, the concrete is as heavy as the bag alone makes it.",
    ),
)
def bag_density(
    m_bag: Annotated[Mass, Range("5 kg", "1500 kg")], m_w: Annotated[Mass, Range("0.1 kg", "200 kg")],
    V_neat: Annotated[BatchVolume, Range("0.001 m³", "1 m³")], q_ext: Annotated[Share, Range("0 %", "150 %")],
    RD_ag: Annotated[Ratio, Range("2.0", "3.5")], rho_w: Annotated[Density, Range("990 kg/m³", "1001 kg/m³")],
) -> BagDensity:  # fmt: skip
    r"""Density of a fresh prepackaged concrete, from its bag, its water and its aggregate.

    .. math:: D = \frac{m_{bag} + m_w + q_{ext} m_{bag}}{V_{neat} + q_{ext} m_{bag} / (RD_{ag} \rho_w)}

    Parameters
    ----------
    m_bag : quantity of mass
        dry material in a bag
    m_w : quantity of mass
        water for a bag, by the manufacturer
    V_neat : quantity of volume
        yield of a bag without aggregate, by the manufacturer
    q_ext : quantity without dimension
        aggregate added, share of the mass of the dry bag
    RD_ag : quantity without dimension
        relative density of the aggregate, saturated surface-dry
    rho_w : quantity of density
        density of water

    Returns
    -------
    BagDensity
        `m_all` mass that a bag comes to, `V_all` volume that it makes, `D` density.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = bag_density(Q(50, "lb"), Q(5, "lb"), Q(0.4, "ft³"), Q(0, "%"), 2.65, Q(62.4, "lb/ft³"))
    >>> f"{found.D.to('lb/ft³'):.1f~P}"
    '137.5 lb/ft³'
    """
    m_all = m_bag + m_w + q_ext * m_bag  # mass that a bag comes to
    V_all = V_neat + q_ext * m_bag / (RD_ag * rho_w)  # volume that it makes
    D = m_all / V_all  # density of the fresh concrete
    return BagDensity(m_all, V_all, D)
