"""Conventions made one: surface moisture to total moisture, saturated to oven-dry density, and a batch unmade."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Mass, Ratio, Share
from deckcalc.mix.formulas.batching import Absorption, FreeMoisture, Moisture

SurfaceBasis = Literal["oven-dry", "saturated surface-dry"]
Batched = Annotated[Mass, Range("0 kg", "100000 kg")]


@lookup("as the surface moisture is stated on {basis} aggregate that absorbs {A}")
def mass_of_basis(A: Share, basis: SurfaceBasis) -> Ratio:
    """Return the mass that surface moisture is a share of, per mass of oven-dry aggregate."""
    return 1 + A if basis == "saturated surface-dry" else A * 0 + 1.0


class TotalMoisture(NamedTuple):
    """Result of `total_moisture`."""

    r: Ratio
    w: Share


@calculation(
    title="Total moisture from surface moisture",
    source=(
        Cite("astm-c566", "definitions as used in ACI 211.1", "memory"),
        Cite("lecture-mix-5000", "surface moisture added to absorption"),
    ),
)
def total_moisture(A: Absorption, f: FreeMoisture, basis: SurfaceBasis) -> TotalMoisture:
    r"""Total moisture on oven-dry mass, from absorption and surface moisture.

    .. math:: w = A + r f

    Parameters
    ----------
    A : quantity without dimension, shape (...,)
        absorption, share of the oven-dry mass
    f : quantity without dimension, shape (...,)
        surface moisture
    basis : {"oven-dry", "saturated surface-dry"}
        what the surface moisture is a share of

    Returns
    -------
    TotalMoisture
        `r` mass of that basis per oven-dry mass, `w` total moisture, share of the oven-dry mass.

    Raises
    ------
    InputError
        If a value is implausible (a percentage given as a bare number).

    Notes
    -----
    Both conventions are in use; they part by the product of the two shares.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{total_moisture(Q(1.3, '%'), Q(3, '%'), 'oven-dry').w:.1f~P}"
    '4.3 %'
    """
    r = mass_of_basis(A, basis)  # mass of the basis over the oven-dry mass
    w = A + r * f  # total moisture
    return TotalMoisture(r, w)


@lookup("as the density is stated for {basis} aggregate that absorbs {A}")
def density_factor(A: Share, basis: SurfaceBasis) -> Ratio:
    """Return the stated relative density over the oven-dry one."""
    return 1 + A if basis == "saturated surface-dry" else A * 0 + 1.0


class RelativeDensities(NamedTuple):
    """Result of `relative_densities`."""

    r: Ratio
    RD_od: Ratio
    RD_s: Ratio


@calculation(
    title="Relative densities of aggregate, oven-dry and saturated surface-dry",
    source=Cite("astm-c127", "one volume, the mass of dry or of saturated aggregate, as explained in a course handout"),
)
def relative_densities(
    RD: Annotated[Ratio, Range("2.0", "3.5")], A: Absorption, basis: SurfaceBasis
) -> RelativeDensities:
    r"""Relative density of an aggregate oven-dry and saturated surface-dry, from either.

    .. math:: RD_s = RD_{od} (1 + A)

    Parameters
    ----------
    RD : quantity without dimension, shape (...,)
        relative density as reported
    A : quantity without dimension, shape (...,)
        absorption, share of the oven-dry mass
    basis : {"oven-dry", "saturated surface-dry"}
        what the density is reported for

    Returns
    -------
    RelativeDensities
        `r` reported over oven-dry density, `RD_od` oven-dry, `RD_s` saturated surface-dry.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: definitions of ASTM C127, as explained in a course handout.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{relative_densities(2.70, Q(1, '%'), 'saturated surface-dry').RD_od.magnitude:.3f}"
    '2.673'
    """
    r = density_factor(A, basis)  # reported density over the oven-dry one
    RD_od = RD / r  # relative density, oven-dry
    RD_s = RD_od * (1 + A)  # relative density, saturated surface-dry
    return RelativeDensities(r, RD_od, RD_s)


class Unbatched(NamedTuple):
    """Result of `unbatched`."""

    M_ca: Mass
    M_fa: Mass
    S_ca: Mass
    S_fa: Mass
    m_net: Mass
    m_total: Mass
    w_cm_used: Ratio


@calculation(
    title="As-batched masses: dry and saturated aggregate, net mixing water",
    source=Cite("aci211-1-91", "7.2, trial batch", "memory"),
)
def unbatched(
    m_c: Annotated[Mass, Range("0 kg", "100000 kg", above=True)], m_ca: Batched, m_fa: Batched, m_w: Batched,
    w_ca: Moisture, w_fa: Moisture, A_ca: Absorption, A_fa: Absorption,
) -> Unbatched:  # fmt: skip
    r"""Dry and saturated surface-dry aggregate and net mixing water of a batch that was weighed moist.

    .. math:: M = m / (1 + w),\quad S = M (1 + A),\quad m_{net} = m_w + M_{ca} (w_{ca} - A_{ca}) + M_{fa} (w_{fa} - A_{fa})

    Parameters
    ----------
    m_c : quantity of mass, shape (...,)
        cementitious material weighed
    m_ca : quantity of mass, shape (...,)
        coarse aggregate weighed as it lay
    m_fa : quantity of mass, shape (...,)
        fine aggregate weighed as it lay
    m_w : quantity of mass, shape (...,)
        water added at the mixer, with that of the admixtures
    w_ca : quantity without dimension, shape (...,)
        total moisture of the coarse aggregate
    w_fa : quantity without dimension, shape (...,)
        total moisture of the fine aggregate
    A_ca : quantity without dimension, shape (...,)
        absorption of the coarse aggregate
    A_fa : quantity without dimension, shape (...,)
        absorption of the fine aggregate

    Returns
    -------
    Unbatched
        `M_ca` and `M_fa` oven-dry, `S_ca` and `S_fa` saturated surface-dry, `m_net` mixing water, `m_total` mass of
        the batch, `w_cm_used` its ratio of water to cementitious material.

    Raises
    ------
    InputError
        If a value is negative or implausible.

    Notes
    -----
    Source: the trial batch of ACI 211.1-91, 7.2 (memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = unbatched(
    ...     Q(14.52, "lb"), Q(58.65, "lb"), Q(43.53, "lb"), Q(7.0, "lb"), Q(2, "%"), Q(6, "%"), Q(0.5, "%"), Q(0.7, "%")
    ... )
    >>> f"{found.m_net.to('lb'):.2f~P}, {found.m_total.to('lb'):.1f~P}"
    '10.04 lb, 123.7 lb'
    """
    M_ca = m_ca / (1 + w_ca)  # coarse aggregate, oven-dry
    M_fa = m_fa / (1 + w_fa)  # fine aggregate, oven-dry
    S_ca = M_ca * (1 + A_ca)  # coarse aggregate, saturated surface-dry
    S_fa = M_fa * (1 + A_fa)  # fine aggregate, saturated surface-dry
    m_net = m_w + M_ca * (w_ca - A_ca) + M_fa * (w_fa - A_fa)  # mixing water in the batch
    m_total = m_c + m_ca + m_fa + m_w  # mass of the batch
    w_cm_used = m_net / m_c  # ratio of water to cementitious material
    return Unbatched(M_ca, M_fa, S_ca, S_fa, m_net, m_total, w_cm_used)
