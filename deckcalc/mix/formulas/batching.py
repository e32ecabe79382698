"""From the mix to the mixer: aggregate as it lies in the stockpile, and masses for the volume ordered."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, lookup, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Content, Count, Mass, OrderVolume, Share
from deckcalc.mix.formulas.table_units import LB_YD3

WaterContent = Annotated[Content, Range("50 kg/m³", "400 kg/m³")]
AggregateContent = Annotated[Content, Range("50 kg/m³", "2500 kg/m³")]
Absorption = Annotated[Share, Range("0 %", "15 %")]
Moisture = Annotated[Share, Range("0 %", "20 %")]
FreeMoisture = Annotated[Share, Range("-5 %", "20 %")]


@lookup("all that is still wanted, {W_left}, which is not negative")
def water_at_mixer(W_left: Content) -> Content:
    """Return the water still wanted, if the aggregate does not bring too much."""
    if np.min(W_left) < 0:
        raise TableError(
            f"the aggregate brings {-np.min(W_left):.1f} kg/m³ ({-np.min(W_left) / LB_YD3:.1f} lb/yd³) more free water "
            "than the mix may have; drier aggregate is wanted"
        )
    return W_left


class BatchMasses(NamedTuple):
    """Result of `batch_masses`."""

    B_ca: Content
    B_fa: Content
    F_ca: Content
    F_fa: Content
    W_left: Content
    W_add: Content


@calculation(
    title="Batch masses for moist aggregate, from oven-dry masses",
    source=(
        Cite("lecture-mix-5000", "worked in this way"),
        Cite("aci211-1-91", "6.3.8", "memory"),
    ),
    notes=(
        (
            "Total moisture and absorption are shares of the oven-dry mass. Free water is total moisture less "
            "absorption; where it is negative the aggregate takes mixing water up."
        ),
        "Water in admixtures is not taken off here.",
    ),
)
def batch_masses(
    W: WaterContent, M_ca: AggregateContent, M_fa: AggregateContent, A_ca: Absorption, A_fa: Absorption, w_ca: Moisture,
    w_fa: Moisture,
) -> BatchMasses:  # fmt: skip
    r"""Masses of aggregate as it lies, and water to add, from oven-dry masses.

    .. math:: B = M (1 + w),\quad F = M (w - A),\quad W_{add} = W - F_{ca} - F_{fa}

    Parameters
    ----------
    W : quantity of mass per volume, shape (...,)
        mixing water, without what the aggregate absorbs
    M_ca : quantity of mass per volume, shape (...,)
        oven-dry coarse aggregate
    M_fa : quantity of mass per volume, shape (...,)
        oven-dry fine aggregate
    A_ca : quantity without dimension
        absorption of the coarse aggregate
    A_fa : quantity without dimension
        absorption of the fine aggregate
    w_ca : quantity without dimension, shape (...,)
        total moisture of the coarse aggregate
    w_fa : quantity without dimension, shape (...,)
        total moisture of the fine aggregate

    Returns
    -------
    BatchMasses
        `B_ca` and `B_fa` moist aggregate, `F_ca` and `F_fa` free water that it brings, `W_left` water still wanted,
        `W_add` water to add at the mixer.

    Raises
    ------
    InputError
        If a moisture or absorption is implausible (a percentage given as a bare number), or the aggregate brings more
        water than the mix may have.

    Notes
    -----
    Source: ACI 211.1-91, adjustment for moisture.

    Examples
    --------
    >>> from deckcalc import Q
    >>> batch = batch_masses(
    ...     W=Q(300, "lb/yd³"), M_ca=Q(1917, "lb/yd³"), M_fa=Q(1369, "lb/yd³"), A_ca=Q(0.5, "%"), A_fa=Q(0.7, "%"),
    ...     w_ca=Q(2, "%"), w_fa=Q(6, "%"),
    ... )
    >>> f"{batch.B_ca.to('lb/yd³'):.0f~P}, {batch.B_fa.to('lb/yd³'):.0f~P}, {batch.W_add.to('lb/yd³'):.0f~P}"
    '1955 lb/yd³, 1451 lb/yd³, 199 lb/yd³'
    """
    B_ca = M_ca * (1 + w_ca)  # coarse aggregate as it lies
    B_fa = M_fa * (1 + w_fa)  # fine aggregate as it lies
    F_ca = M_ca * (w_ca - A_ca)  # free water in the coarse aggregate
    F_fa = M_fa * (w_fa - A_fa)  # free water in the fine aggregate
    W_left = W - F_ca - F_fa  # water still wanted
    W_add = water_at_mixer(W_left)  # water to add at the mixer
    return BatchMasses(B_ca, B_fa, F_ca, F_fa, W_left, W_add)


@calculation(
    title="Batch masses for moist aggregate, from saturated surface-dry masses",
    source=Cite("navedtra-14070", "chapter 17, p. 17-9"),
    notes=(
        "Free surface moisture is a share of the saturated surface-dry mass, not of the oven-dry one.",
        "Water in admixtures is not taken off here.",
    ),
)
def batch_masses_ssd(
    W: WaterContent, M_ca: AggregateContent, M_fa: AggregateContent, f_ca: FreeMoisture, f_fa: FreeMoisture
) -> BatchMasses:
    r"""Masses of aggregate as it lies, and water to add, from saturated surface-dry masses.

    .. math:: B = M (1 + f),\quad F = M f,\quad W_{add} = W - F_{ca} - F_{fa}

    Parameters
    ----------
    W : quantity of mass per volume, shape (...,)
        mixing water
    M_ca : quantity of mass per volume, shape (...,)
        saturated surface-dry coarse aggregate
    M_fa : quantity of mass per volume, shape (...,)
        saturated surface-dry fine aggregate
    f_ca : quantity without dimension, shape (...,)
        free surface moisture of the coarse aggregate
    f_fa : quantity without dimension, shape (...,)
        free surface moisture of the fine aggregate

    Returns
    -------
    BatchMasses
        `B_ca` and `B_fa` moist aggregate, `F_ca` and `F_fa` free water that it brings, `W_left` water still wanted,
        `W_add` water to add at the mixer.

    Raises
    ------
    InputError
        If a moisture is implausible, or the aggregate brings more water than the mix may have.

    Notes
    -----
    Source: NAVEDTRA 14070, chapter 17, p. 17-9.

    Examples
    --------
    >>> from deckcalc import Q
    >>> batch = batch_masses_ssd(
    ...     W=Q(305, "lb/yd³"), M_ca=Q(1735, "lb/yd³"), M_fa=Q(1153, "lb/yd³"), f_ca=Q(2, "%"), f_fa=Q(6, "%")
    ... )
    >>> f"{batch.B_ca.to('lb/yd³'):.0f~P}, {batch.B_fa.to('lb/yd³'):.0f~P}"
    '1770 lb/yd³, 1222 lb/yd³'
    """
    B_ca = M_ca * (1 + f_ca)  # coarse aggregate as it lies
    B_fa = M_fa * (1 + f_fa)  # fine aggregate as it lies
    F_ca = M_ca * f_ca  # free water in the coarse aggregate
    F_fa = M_fa * f_fa  # free water in the fine aggregate
    W_left = W - F_ca - F_fa  # water still wanted
    W_add = water_at_mixer(W_left)  # water to add at the mixer
    return BatchMasses(B_ca, B_fa, F_ca, F_fa, W_left, W_add)


class Batch(NamedTuple):
    """Result of `batch_for_volume`."""

    m_c: Mass
    m_ca: Mass
    m_fa: Mass
    m_w: Mass


@calculation(
    title="Materials for the volume ordered",
    source=Cite("navedtra-14070", "chapter 17, p. 17-10"),
    notes=("Waste is part of the volume ordered.",),
)
def batch_for_volume(
    V: Annotated[OrderVolume, Range("0 m³", "1000 m³", above=True)],
    C: Annotated[Content, Range("100 kg/m³", "1000 kg/m³")],
    B_ca: AggregateContent,
    B_fa: AggregateContent,
    W_add: Annotated[Content, Range("0 kg/m³", "400 kg/m³")],
) -> Batch:
    r"""Masses for a volume of concrete.

    .. math:: m = V C

    Parameters
    ----------
    V : quantity of volume, shape (...,)
        volume of concrete, with waste
    C : quantity of mass per volume
        cement
    B_ca : quantity of mass per volume
        coarse aggregate as it lies
    B_fa : quantity of mass per volume
        fine aggregate as it lies
    W_add : quantity of mass per volume
        water to add at the mixer

    Returns
    -------
    Batch
        `m_c` cement, `m_ca` coarse and `m_fa` fine aggregate, `m_w` water.

    Raises
    ------
    InputError
        If a volume or mass is negative or implausible.

    Notes
    -----
    Source: NAVEDTRA 14070, chapter 17, p. 17-10.

    Examples
    --------
    >>> from deckcalc import Q
    >>> order = batch_for_volume(
    ...     V=Q(70.07, "yd³"), C=Q(610, "lb/yd³"), B_ca=Q(1735, "lb/yd³"), B_fa=Q(1153, "lb/yd³"),
    ...     W_add=Q(305, "lb/yd³"),
    ... )
    >>> f"{order.m_fa.m_as('short_ton'):.1f}"
    '40.4'
    """
    m_c = V * C  # cement
    m_ca = V * B_ca  # coarse aggregate
    m_fa = V * B_fa  # fine aggregate
    m_w = V * W_add  # water
    return Batch(m_c, m_ca, m_fa, m_w)


class BagsOpened(NamedTuple):
    """Result of `bags_opened`."""

    n_bags: Count
    n_all: Count


@calculation(
    title="Bags of cement that are opened",
    source=Cite("navedtra-14070", "chapter 17, p. 17-10"),
    notes=("Opened batch by batch, whole: what is left in a bag is not counted on for the next batch.",),
)
def bags_opened(
    m_c: Annotated[Mass, Range("0 kg", "1000000 kg")],
    m_bag: Annotated[Mass, Range("5 kg", "1500 kg")],
    n: Annotated[Count, Range("1", "10000")],
) -> BagsOpened:
    r"""Bags of cement for equal batches, each opened whole.

    .. math:: n_{bags} = \lceil m_c / m_{bag} \rceil,\quad n_{all} = n\, n_{bags}

    Parameters
    ----------
    m_c : quantity of mass
        cement of one load
    m_bag : quantity of mass
        cement in a bag
    n : quantity of count
        loads

    Returns
    -------
    BagsOpened
        `n_bags` bags for one load, `n_all` for all loads.

    Raises
    ------
    InputError
        If a mass or number is outside its range.

    Notes
    -----
    Source: NAVEDTRA 14070, chapter 17, p. 17-10.

    Examples
    --------
    >>> from deckcalc import Q
    >>> float(bags_opened(Q(42747, "lb"), Q(94, "lb"), Q(1, "")).n_bags.magnitude)
    455.0
    """
    n_bags = round_up(m_c / m_bag)  # bags opened for one batch
    n_all = n * n_bags  # bags opened for all batches
    return BagsOpened(n_bags, n_all)
