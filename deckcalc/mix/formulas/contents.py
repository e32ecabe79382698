"""A concrete that is given by its contents, as on a delivery ticket: yield with air, density, and ratio of water.

Moist masses become saturated surface-dry ones by `unbatched`, and volumes by `absolute_volumes`.
"""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation
from deckcalc.core.sources import Cite
from deckcalc.core.units import BatchVolume, Content, Density, Dose, Kind, Mass, Quantity, Ratio, Share
from deckcalc.mix.formulas.moisture import Batched

LoadVolume = Annotated[Quantity, Kind("volume of a load", "L", "yd³", 1, 3)]
WaterVolume = Annotated[Quantity, Kind("water by volume", "L", "gal", 1, 1)]
WaterByVolume = Annotated[Quantity, Kind("water by volume in concrete", "L/m³", "gal/yd³", 1, 1)]
DoseByMass = Annotated[Quantity, Kind("dose by mass", "g/kg", "%", 2, 2)]
WaterDensity = Annotated[Density, Range("990 kg/m³", "1001 kg/m³")]
LiquidDensity = Annotated[Density, Range("900 kg/m³", "1500 kg/m³")]
Solids = Annotated[Share, Range("0 %", "70 %")]
#: Up to the dose of a latex, about 30 L in 100 kg.
ANY_DOSE = Range("0 mL/100 kg", "45000 mL/100 kg")
TICKET = Cite("", "masses over densities, the air on top", "common practice")
#: Volumes of a load, from a trial batch to a truck.
Load = Annotated[BatchVolume, Range("0.0001 m³", "20 m³")]


class ContentsYield(NamedTuple):
    """Result of `contents_yield`."""

    V_all: BatchVolume
    Y: BatchVolume
    R_y: Ratio
    m_water: Mass
    w_cm: Ratio
    m_all: Mass
    D: Density
    C_y: Content
    W_y: Content
    S_ca_y: Content
    S_fa_y: Content


@calculation(
    title="Concrete from its given contents",
    source=(TICKET, Cite("navedtra-14070", "chapter 17, pp. 17-6 and 17-7, the same sum the other way round")),
    notes=(
        "Contents are per volume that the load really makes, not per volume on the ticket. What the ticket calls water is the "
        "water that was weighed; water added on the way or at the site is not in it.",
    ),
)
def contents_yield(
    m_c: Annotated[Mass, Range("0 kg", "100000 kg", above=True)], S_ca: Batched, S_fa: Batched, m_net: Batched, V_solid: Load,
    air: Annotated[Share, Range("0 %", "15 %")], V_d: Load, m_l: Batched, s_l: Solids,
    V_l: Annotated[BatchVolume, Range("0 m³", "2 m³")],
) -> ContentsYield:  # fmt: skip
    r"""Yield, density, ratio of water to cementitious material and contents of a concrete of known masses.

    .. math:: Y = \frac{V_{solid} + V_l}{1 - air},\quad R_y = Y / V_d,\quad D = m_{all} / Y,\quad
        w/cm = \frac{m_{net} + m_l (1 - s_l)}{m_c}

    Parameters
    ----------
    m_c : quantity of mass, shape (...,)
        cementitious material
    S_ca : quantity of mass, shape (...,)
        coarse aggregate, saturated surface-dry
    S_fa : quantity of mass, shape (...,)
        fine aggregate, saturated surface-dry
    m_net : quantity of mass, shape (...,)
        mixing water, without that of a latex
    V_solid : quantity of volume, shape (...,)
        absolute volume of these without air
    air : quantity without dimension, shape (...,)
        air content, as a share of the volume of concrete
    V_d : quantity of volume, shape (...,)
        volume that the load is said to make
    m_l : quantity of mass, shape (...,)
        latex; nil where there is none
    s_l : quantity without dimension, shape (...,)
        solids of the latex, by mass; nil where there is none
    V_l : quantity of volume, shape (...,)
        volume of the latex with its water; nil where there is none

    Returns
    -------
    ContentsYield
        `V_all` volume without air, `Y` yield, `R_y` relative yield, `m_water` all mixing water, `w_cm` ratio of water to
        cementitious material, `m_all` mass of the load, `D` density, `C_y`, `W_y`, `S_ca_y` and `S_fa_y` contents of
        cementitious material, water, coarse and fine aggregate.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    The solids of a latex are no cementitious material; its water is mixing water.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = contents_yield(
    ...     Q(610, "lb"), Q(1735, "lb"), Q(1152, "lb"), Q(305, "lb"), Q(25.65, "ft³"), Q(5, "%"), Q(1, "yd³"),
    ...     Q(0, "lb"), Q(0, "%"), Q(0, "gal"),
    ... )
    >>> f"{found.Y.to('ft³'):.1f~P}, {found.D.to('lb/ft³'):.1f~P}, {found.w_cm.magnitude:.2f}"
    '27.0 ft³, 140.8 lb/ft³, 0.50'
    """
    V_all = V_solid + V_l  # volume without air
    Y = V_all / (1 - air)  # yield
    R_y = Y / V_d  # relative yield
    m_water = m_net + m_l * (1 - s_l)  # mixing water, with that of the latex
    w_cm = m_water / m_c  # ratio of water to cementitious material
    m_all = m_c + S_ca + S_fa + m_net + m_l  # mass of the load
    D = m_all / Y  # density of the fresh concrete
    C_y = m_c / Y  # cementitious material in the concrete
    W_y = m_water / Y  # mixing water in the concrete
    S_ca_y = S_ca / Y  # coarse aggregate in the concrete, saturated surface-dry
    S_fa_y = S_fa / Y  # fine aggregate in the concrete, saturated surface-dry
    return ContentsYield(V_all, Y, R_y, m_water, w_cm, m_all, D, C_y, W_y, S_ca_y, S_fa_y)


class LatexInLoad(NamedTuple):
    """Result of `latex_in_load`."""

    V_l: BatchVolume
    m_l: Mass
    m_lw: Mass


@calculation(
    title="Latex in a load",
    source=(
        Cite("penndot-1042", "1042.2(f): 3.5 gal of latex emulsion for a bag of cement, 7 bags in a cubic yard"),
        Cite("", "the water of the emulsion is mixing water", "common practice"),
    ),
    notes=(
        "Unlike the solids of other admixtures those of a latex take several per cent of the volume of the concrete.",
    ),
)
def latex_in_load(
    m_c: Annotated[Mass, Range("0 kg", "100000 kg", above=True)], dose: Annotated[Dose, ANY_DOSE], rho_l: LiquidDensity,
    s_l: Solids,
) -> LatexInLoad:  # fmt: skip
    r"""Volume, mass and water of a latex that is dosed on the cement.

    .. math:: V_l = dose\, m_c,\quad m_l = V_l \rho_l,\quad m_{lw} = m_l (1 - s_l)

    Parameters
    ----------
    m_c : quantity of mass, shape (...,)
        cementitious material
    dose : quantity of volume per mass, shape (...,)
        latex emulsion on the cementitious material
    rho_l : quantity of density
        density of the emulsion
    s_l : quantity without dimension
        solids of the emulsion, by mass

    Returns
    -------
    LatexInLoad
        `V_l` volume of the emulsion, `m_l` its mass, `m_lw` water in it.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: PennDOT Publication 408, section 1042, for the dose; the rest is common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = latex_in_load(Q(658, "lb"), Q(3.5, "gal") / Q(94, "lb"), Q(8.5, "lb/gal"), Q(48, "%"))
    >>> f"{found.V_l.to('gal'):.1f~P}, {found.m_lw.to('lb'):.0f~P}"
    '24.5 gal, 108 lb'
    """
    V_l = dose * m_c  # latex emulsion
    m_l = V_l * rho_l  # its mass
    m_lw = m_l * (1 - s_l)  # water in it
    return LatexInLoad(V_l, m_l, m_lw)


@calculation(title="Mass of water given by volume", source=Cite("", "mass is volume times density", "common practice"))
def water_mass(V_w: Annotated[WaterVolume, Range("0 L", "20000 L")], rho_w: WaterDensity) -> Mass:
    r"""Mass of water that is given in litres or gallons.

    .. math:: m_w = V_w \rho_w

    Parameters
    ----------
    V_w : quantity of volume, shape (...,)
        water, measured by volume
    rho_w : quantity of density
        density of water

    Returns
    -------
    quantity
        Mass of the water.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{water_mass(Q(38.6, 'gal'), Q(62.4, 'lb/ft³')).to('lb'):.0f~P}"
    '322 lb'
    """
    m_w = V_w * rho_w  # water
    return m_w


@calculation(title="Water content given by volume", source=Cite("", "mass is volume times density", "common practice"))
def water_content(q_w: Annotated[WaterByVolume, Range("50 L/m³", "400 L/m³")], rho_w: WaterDensity) -> Content:
    r"""Mixing water in kg/m³ or lb/yd³ that is given in L/m³ or gal/yd³.

    .. math:: W = q_w \rho_w

    Parameters
    ----------
    q_w : quantity of volume per volume, shape (...,)
        water by volume in a unit of concrete
    rho_w : quantity of density
        density of water

    Returns
    -------
    quantity
        Mixing water.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{water_content(Q(36.6, 'gal/yd³'), Q(62.4, 'lb/ft³')).to('lb/yd³'):.0f~P}"
    '305 lb/yd³'
    """
    W = q_w * rho_w  # mixing water
    return W


@calculation(
    title="Dose by volume of an admixture that is dosed by mass",
    source=Cite("", "volume is mass over density", "common practice"),
)
def dose_by_volume(q_a: Annotated[DoseByMass, Range("0 g/kg", "450 g/kg")], rho_a: LiquidDensity) -> Dose:
    r"""Dose in mL/100 kg or fl oz/cwt of an admixture whose dose is stated in g/kg or per cent of the cementitious material.

    .. math:: dose = q_a / \rho_a

    Parameters
    ----------
    q_a : quantity without dimension, shape (...,)
        admixture by mass, on the mass of cementitious material
    rho_a : quantity of density
        density of the admixture

    Returns
    -------
    quantity
        Dose by volume.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{dose_by_volume(Q(10, 'g/kg'), Q(1100, 'kg/m³')).to('mL/hkg').magnitude:.0f}"
    '909'
    """
    dose = q_a / rho_a  # dose by volume
    return dose
