"""The batch on the day: loads for the mixer, whole bags, water to hold back, admixtures."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, lookup, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BatchVolume, Content, Count, Dose, LiquidVolume, Mass, OrderVolume, Ratio, Share
from deckcalc.mix.formulas.contents import ANY_DOSE
from deckcalc.mix.formulas.table_units import each

SmallMass = Annotated[Mass, Range("0 kg", "20000 kg")]
Part = Annotated[Content, Range("0 kg/m³", "500 kg/m³")]


class Loads(NamedTuple):
    """Result of `mixer_loads`."""

    n: Count
    V_load: BatchVolume


@calculation(
    title="Mixer batches",
    source=Cite("", "batches of equal size, none larger than the mixer takes", "common practice"),
    notes=("What the mixer takes is the volume of concrete that it mixes well, not the volume of its drum.",),
)
def mixer_loads(
    V: Annotated[OrderVolume, Range("0 m³", "100 m³", above=True)],
    V_mixer: Annotated[BatchVolume, Range("0.01 m³", "10 m³")],
) -> Loads:
    r"""Number of equal mixer batches for a volume of concrete.

    .. math:: n = \lceil V / V_{mixer} \rceil,\quad V_{load} = V / n

    Parameters
    ----------
    V : quantity of volume, shape (...,)
        concrete wanted, with waste
    V_mixer : quantity of volume
        largest batch of concrete for the mixer

    Returns
    -------
    Loads
        `n` loads, `V_load` volume of each.

    Raises
    ------
    InputError
        If a volume is nothing, negative or implausible.

    Notes
    -----
    Common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> loads = mixer_loads(Q(0.4, "m³"), Q(0.15, "m³"))
    >>> f"{loads.n.magnitude:.0f} loads of {loads.V_load.to('L'):.0f~P}"
    '3 loads of 133 l'
    """
    n = round_up(V / V_mixer)  # mixer batches
    V_load = V / n  # volume of each batch
    return Loads(n, V_load)


@lookup("the most whole bags that a batch of {V_mixer} takes")
def most_bags(V_mixer: BatchVolume, C: Content, m_bag: Mass) -> Count:
    """Return the most whole bags in a batch."""

    def one(volume: float, content: float, bag: float) -> float:
        bags = np.floor(volume * content / bag + 1e-9)
        if bags < 1:
            raise TableError(
                f"a load of {volume * 1000:.0f} L ({volume / 0.3048**3:.2f} ft³) takes less than one bag of cement; "
                "weigh the cement, or use a larger mixer"
            )
        return float(bags)

    return each(one, V_mixer, C, m_bag)


class WholeBags(NamedTuple):
    """Result of `whole_bag_load`."""

    n_b: Count
    V_b: BatchVolume


@calculation(
    title="Batch of whole bags",
    source=Cite("", "a batch holds whole bags, so that cement need not be weighed", "common practice"),
)
def whole_bag_load(
    V_mixer: Annotated[BatchVolume, Range("0.01 m³", "10 m³")],
    C: Annotated[Content, Range("100 kg/m³", "1000 kg/m³")],
    m_bag: Annotated[Mass, Range("5 kg", "60 kg")],
) -> WholeBags:
    r"""Largest batch that holds whole bags of cement.

    .. math:: V_b = n_b m_{bag} / C

    Parameters
    ----------
    V_mixer : quantity of volume
        largest batch of concrete for the mixer
    C : quantity of mass per volume
        cement
    m_bag : quantity of mass
        cement in a bag

    Returns
    -------
    WholeBags
        `n_b` bags in a batch, `V_b` volume of concrete that they make.

    Raises
    ------
    InputError
        If the mixer does not take a whole bag, or a value is implausible.

    Notes
    -----
    Common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{whole_bag_load(Q(0.15, 'm³'), Q(426, 'kg/m³'), Q(42.6, 'kg')).V_b.to('L'):.0f~P}"
    '100 l'
    """
    n_b = most_bags(V_mixer, C, m_bag)  # bags in a batch
    V_b = n_b * m_bag / C  # volume of the batch
    return WholeBags(n_b, V_b)


class Binder(NamedTuple):
    """Result of `cementitious_for_load`."""

    m_ash: Mass
    m_slag: Mass
    m_fume: Mass
    m_cm: Mass


@calculation(title="Cementitious material for a batch", source=Cite("", "masses for the volume", "common practice"))
def cementitious_for_load(
    V: Annotated[BatchVolume, Range("0 L", "1000000 L", above=True)],
    C_m: Annotated[Content, Range("100 kg/m³", "1000 kg/m³")],
    M_ash: Part,
    M_slag: Part,
    M_fume: Part,
) -> Binder:
    r"""Masses of supplementary materials, and of all cementitious material, in a load.

    .. math:: m_i = V M_i

    Parameters
    ----------
    V : quantity of volume, shape (...,)
        volume of the batch
    C_m : quantity of mass per volume
        all cementitious material
    M_ash : quantity of mass per volume
        fly ash
    M_slag : quantity of mass per volume
        slag cement
    M_fume : quantity of mass per volume
        silica fume

    Returns
    -------
    Binder
        `m_ash`, `m_slag`, `m_fume`, and `m_cm` all cementitious material.

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
    >>> zero = Q(0, "kg/m³")
    >>> f"{cementitious_for_load(Q(100, 'L'), Q(400, 'kg/m³'), Q(60, 'kg/m³'), zero, zero).m_cm.to('kg'):.0f~P}"
    '40 kg'
    """
    m_ash = V * M_ash  # fly ash
    m_slag = V * M_slag  # slag cement
    m_fume = V * M_fume  # silica fume
    m_cm = V * C_m  # all cementitious material
    return Binder(m_ash, m_slag, m_fume, m_cm)


class MixerWater(NamedTuple):
    """Result of `mixer_water`."""

    m_held: Mass
    m_first: Mass
    m_spare: Mass
    m_most: Mass


@calculation(
    title="Water at the mixer: first, held back, and the most that may go in",
    source=Cite("", "part of the water is held back until the slump is seen", "common practice"),
    notes=(
        "Slump is no licence for water: beyond the most water named here the concrete is weaker and less durable than "
        "specified. Wash water left in the drum counts.",
    ),
)
def mixer_water(
    m_w: SmallMass,
    m_cm: SmallMass,
    w_cm: Annotated[Ratio, Range("0.20", "1.00")],
    w_cm_max: Annotated[Ratio, Range("0.20", "1.00")],
    q_held: Annotated[Share, Range("0 %", "50 %")],
) -> MixerWater:
    r"""Water to add at first, to hold back, and the most before the ratio is exceeded.

    .. math:: m_{most} = m_w + (w/cm_{max} - w/cm)\, m_{cm}

    Parameters
    ----------
    m_w : quantity of mass, shape (...,)
        water to add to the load
    m_cm : quantity of mass, shape (...,)
        cementitious material of the load
    w_cm : quantity without dimension
        ratio of the mix as designed
    w_cm_max : quantity without dimension
        highest ratio that strength and exposure admit
    q_held : quantity without dimension
        share of the water to hold back

    Returns
    -------
    MixerWater
        `m_held` held back, `m_first` added first, `m_spare` beyond the design, `m_most` in all.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Common practice; the last line is the definition of the ratio.

    Examples
    --------
    >>> from deckcalc import Q
    >>> water = mixer_water(Q(14, "kg"), Q(40, "kg"), 0.38, 0.40, Q(10, "%"))
    >>> f"{water.m_first.to('kg'):.1f~P}, {water.m_most.to('kg'):.1f~P}"
    '12.6 kg, 14.8 kg'
    """
    m_held = q_held * m_w  # water held back
    m_first = m_w - m_held  # water to add first
    m_spare = (w_cm_max - w_cm) * m_cm  # water beyond the design that the highest ratio admits
    m_most = m_w + m_spare  # maximum water to add
    return MixerWater(m_held, m_first, m_spare, m_most)


@calculation(
    title="Admixture for a batch",
    source=Cite("", "dose on the cementitious material", "common practice"),
)
def admixture_for_load(m_cm: SmallMass, dose: Annotated[Dose, ANY_DOSE]) -> LiquidVolume:
    r"""Volume of an admixture for a batch.

    .. math:: V_{dose} = dose\, m_{cm}

    Parameters
    ----------
    m_cm : quantity of mass, shape (...,)
        cementitious material of the load
    dose : quantity of volume per mass
        dose on the cementitious material

    Returns
    -------
    quantity of volume
        Admixture to measure out.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Doses are written in mL per 100 kg, or in fl oz per 100 lb (cwt). Common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{admixture_for_load(Q(85.2, 'kg'), Q(50, 'mL/hkg')).to('mL'):.1f~P}"
    '42.6 ml'
    """
    V_dose = dose * m_cm  # admixture to measure out
    return V_dose
