"""After the trial batch: density, yield and air as measured, and the mix adjusted to what it showed."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import BatchVolume as Litres
from deckcalc.core.units import Content, Density, Length, Mass, Ratio, Share, WaterPerSlump
from deckcalc.mix.formulas.batching import Absorption
from deckcalc.mix.formulas.moisture import Batched

C138 = Cite("astm-c138", "section 8, as reproduced by course notes")
METRIC = "no trial batch adjusted by the metric rules was found in print; the tests hold them against the US form"
RULES = Cite("aci211-1-91", "6.3.9 and 7.2", "memory")
SaturatedDensity = Annotated[Ratio, Range("2.0", "3.5")]
WaterDensity = Annotated[Density, Range("990 kg/m³", "1001 kg/m³")]
Batch = Annotated[Litres, Range("0.0001 m³", "20 m³")]
FreshDensity = Annotated[Density, Range("1700 kg/m³", "2700 kg/m³")]
Slump = Annotated[Length, Range("0 mm", "280 mm")]
Air = Annotated[Share, Range("0 %", "20 %")]


class MeasuredDensity(NamedTuple):
    """Result of `fresh_density`."""

    m_conc: Mass
    D: Density


@calculation(title="Density of the fresh concrete", source=C138)
def fresh_density(
    m_full: Annotated[Mass, Range("1 kg", "300 kg")], m_empty: Annotated[Mass, Range("0.1 kg", "100 kg")],
    V_m: Annotated[Litres, Range("0.0005 m³", "0.1 m³")],
) -> MeasuredDensity:  # fmt: skip
    r"""Density of fresh concrete in a measure.

    .. math:: D = (m_{full} - m_{empty}) / V_m

    Parameters
    ----------
    m_full : quantity of mass
        measure filled with concrete
    m_empty : quantity of mass
        empty measure
    V_m : quantity of volume
        volume of the measure

    Returns
    -------
    MeasuredDensity
        `m_conc` concrete in the measure, `D` its density.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: ASTM C138.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{fresh_density(Q(54.1, 'lb'), Q(18.6, 'lb'), Q(0.25, 'ft³')).D.to('lb/ft³'):.1f~P}"
    '142.0 lb/ft³'
    """
    m_conc = m_full - m_empty  # concrete in the measure
    D = m_conc / V_m  # density of the concrete
    return MeasuredDensity(m_conc, D)


class AbsoluteVolumes(NamedTuple):
    """Result of `absolute_volumes`."""

    V_c: Litres
    V_ca: Litres
    V_fa: Litres
    V_w: Litres
    V_solid: Litres


@calculation(
    title="Absolute volumes of the batch",
    source=C138,
    notes=(
        "Saturated surface-dry masses with saturated surface-dry densities. The solids of admixtures are left out.",
    ),
)
def absolute_volumes(
    m_c: Batched, S_ca: Batched, S_fa: Batched, m_net: Batched, RD_c: SaturatedDensity, RD_ca: SaturatedDensity,
    RD_fa: SaturatedDensity, rho_w: WaterDensity,
) -> AbsoluteVolumes:  # fmt: skip
    r"""Volume of all materials of a batch without air.

    .. math:: V = \sum m_i / (RD_i \rho_w)

    Parameters
    ----------
    m_c : quantity of mass
        cementitious material
    S_ca : quantity of mass
        coarse aggregate, saturated surface-dry
    S_fa : quantity of mass
        fine aggregate, saturated surface-dry
    m_net : quantity of mass
        mixing water
    RD_c : quantity without dimension
        relative density of the cementitious material
    RD_ca : quantity without dimension
        relative density of the coarse aggregate, saturated surface-dry
    RD_fa : quantity without dimension
        relative density of the fine aggregate, saturated surface-dry
    rho_w : quantity of density
        density of water

    Returns
    -------
    AbsoluteVolumes
        `V_c`, `V_ca`, `V_fa`, `V_w` and their sum `V_solid`.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: ASTM C138.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = absolute_volumes(
    ...     Q(315, "kg"), Q(0, "kg"), Q(0, "kg"), Q(100, "kg"), 3.15, 2.65, 2.65, Q(1000, "kg/m³")
    ... )
    >>> f"{found.V_solid.to('L'):.0f~P}"
    '200 l'
    """
    V_c = m_c / (RD_c * rho_w)  # cementitious material
    V_ca = S_ca / (RD_ca * rho_w)  # coarse aggregate
    V_fa = S_fa / (RD_fa * rho_w)  # fine aggregate
    V_w = m_net / rho_w  # mixing water
    V_solid = V_c + V_ca + V_fa + V_w  # all without air
    return AbsoluteVolumes(V_c, V_ca, V_fa, V_w, V_solid)


class MeasuredYield(NamedTuple):
    """Result of `measured_yield`."""

    Y: Litres
    R_y: Ratio
    C_y: Content


@calculation(title="Yield, relative yield and cement content", source=C138)
def measured_yield(m_total: Batched, D: FreshDensity, V_d: Batch, m_c: Batched) -> MeasuredYield:
    r"""What a batch made, by its measured density.

    .. math:: Y = m / D,\quad R_y = Y / Y_d,\quad C_y = m_c / Y

    Parameters
    ----------
    m_total : quantity of mass
        mass of all materials of the batch
    D : quantity of density
        measured density
    V_d : quantity of volume
        volume that the batch was designed for
    m_c : quantity of mass
        cementitious material of the batch

    Returns
    -------
    MeasuredYield
        `Y` yield, `R_y` relative yield, `C_y` cementitious content.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: ASTM C138.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = measured_yield(Q(123.7, "lb"), Q(149, "lb/ft³"), Q(0.81, "ft³"), Q(14.52, "lb"))
    >>> f"{found.Y.to('ft³'):.3f~P}, {found.R_y.magnitude:.3f}"
    '0.830 ft³, 1.025'
    """
    Y = m_total / D  # yield
    R_y = Y / V_d  # relative yield
    C_y = m_c / Y  # cementitious content
    return MeasuredYield(Y, R_y, C_y)


class AirByMass(NamedTuple):
    """Result of `air_by_mass`."""

    T: Density
    A: Share


@calculation(title="Air by mass", source=C138)
def air_by_mass(m_total: Batched, D: FreshDensity, V_solid: Batch) -> AirByMass:
    r"""Air content of a batch, by its measured density and the volume of its materials.

    .. math:: T = m / V,\quad A = (T - D) / T

    Parameters
    ----------
    m_total : quantity of mass
        mass of all materials of the batch
    D : quantity of density
        measured density
    V_solid : quantity of volume
        absolute volume of its materials, without air

    Returns
    -------
    AirByMass
        `T` density without air, `A` air by mass.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: ASTM C138.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{air_by_mass(Q(4000, 'lb'), Q(148.148, 'lb/ft³'), Q(26.73, 'ft³')).A.to('percent').magnitude:.1f}"
    '1.0'
    """
    T = m_total / V_solid  # density without air
    A = (T - D) / T  # air content by mass
    return AirByMass(T, A)


class AdjustedMix(NamedTuple):
    """Result of `adjusted_mix`."""

    W_used: Content
    k_s: WaterPerSlump
    k_a: Content
    Delta_s: Content
    Delta_a: Content
    W_n: Content
    C_n: Content
    M_ca_n: Content
    S_ca_n: Content
    S_fa_n: Content
    M_fa_n: Content
    q_fa: Share
    M_fa_v: Content


@calculation_by_form(
    title="Mix adjusted after the trial batch",
    source=RULES,
    notes=(
        "The coarse aggregate of the trial is kept if it worked well. The mass of the adjusted concrete is taken as "
        "measured; the fine aggregate by absolute volume stands beside it. Trial batches are repeated until slump, air "
        "and yield are right.",
    ),
    forms={
        "SI": Form({"c_s": "0.2 kg/m³/mm", "c_a": "3 kg/m³"}, unchecked=METRIC),
        "US": Form({"c_s": "10 lb/yd³/in", "c_a": "5 lb/yd³"}),
    },
)
def adjusted_mix(
    m_net: Batched, M_ca: Batched, Y: Batch, D: FreshDensity, slump_m: Slump, slump_w: Slump, air_m: Air,
    air_w: Air, w_cm: Annotated[Ratio, Range("0.20", "1.00")], A_ca: Absorption, A_fa: Absorption,
    RD_c: SaturatedDensity, RD_ca: SaturatedDensity, RD_fa: SaturatedDensity, rho_w: WaterDensity, *, c_s: WaterPerSlump, c_a: Content
) -> AdjustedMix:  # fmt: skip
    r"""Contents of the mix after a trial batch, the ratio of water to cementitious material kept.

    .. math::

        W_n = \frac{m_{net}}{Y} + k_s (slump_w - slump_m) - k_a \frac{air_w - air_m}{0.01},\quad C_n = \frac{W_n}{w/cm},
        \quad S_{fa} = D - W_n - C_n - S_{ca}

    Parameters
    ----------
    m_net : quantity of mass
        mixing water of the trial batch
    M_ca : quantity of mass
        oven-dry coarse aggregate of the trial batch
    Y : quantity of volume
        its yield
    D : quantity of density
        measured density of the fresh concrete
    slump_m : quantity of length
        slump measured
    slump_w : quantity of length
        slump wanted
    air_m : quantity without dimension
        air measured
    air_w : quantity without dimension
        air wanted
    w_cm : quantity without dimension
        ratio of water to cementitious material to be kept
    A_ca : quantity without dimension
        absorption of the coarse aggregate
    A_fa : quantity without dimension
        absorption of the fine aggregate
    RD_c : quantity without dimension
        relative density of the cementitious material
    RD_ca : quantity without dimension
        relative density of the coarse aggregate, saturated surface-dry
    RD_fa : quantity without dimension
        relative density of the fine aggregate, saturated surface-dry
    rho_w : quantity of density
        density of water
    form : {"SI", "US"}
        which of the two hard rules is used

    Returns
    -------
    AdjustedMix
        `W_used` water that the trial used, `k_s` and `k_a` the rules, `Delta_s` and `Delta_a` water for slump and for air,
        `W_n` water, `C_n` cementitious material, `M_ca_n` and `S_ca_n` coarse aggregate oven-dry and saturated,
        `S_fa_n` and `M_fa_n` fine aggregate by mass, `q_fa` its volume by absolute volume, `M_fa_v` its oven-dry mass
        by absolute volume.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: ACI 211.1-91, 6.3.9 and the example of 7.2 (memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = adjusted_mix(
    ...     Q(10.04, "lb"), Q(57.5, "lb"), Q(0.8302, "ft³"), Q(149, "lb/ft³"), Q(2, "in"), Q(2.8, "in"), Q(1, "%"),
    ...     Q(1, "%"), 0.62, Q(0.5, "%"), Q(0.7, "%"), 3.15, 2.68, 2.64, Q(62.4, "lb/ft³"), form="US",
    ... )
    >>> f"{found.W_n.to('lb/yd³'):.0f~P}, {found.C_n.to('lb/yd³'):.0f~P}"
    '335 lb/yd³, 540 lb/yd³'
    """
    W_used = m_net / Y  # water that the trial used
    k_s = c_s  # water for a unit of slump
    k_a = c_a  # water that 1 % of air saves
    Delta_s = k_s * (slump_w - slump_m)  # water for slump
    Delta_a = k_a * (air_w - air_m) / 0.01  # water that the change of air saves
    W_n = W_used + Delta_s - Delta_a  # mixing water
    C_n = W_n / w_cm  # cementitious material
    M_ca_n = M_ca / Y  # coarse aggregate, oven-dry
    S_ca_n = M_ca_n * (1 + A_ca)  # coarse aggregate, saturated surface-dry
    S_fa_n = D - W_n - C_n - S_ca_n  # fine aggregate by mass, saturated surface-dry
    M_fa_n = S_fa_n / (1 + A_fa)  # fine aggregate by mass, oven-dry
    q_fa = 1 - air_w - W_n / rho_w - C_n / (RD_c * rho_w) - S_ca_n / (RD_ca * rho_w)  # volume left for fine aggregate
    M_fa_v = q_fa * RD_fa * rho_w / (1 + A_fa)  # fine aggregate by absolute volume, oven-dry
    return AdjustedMix(W_used, k_s, k_a, Delta_s, Delta_a, W_n, C_n, M_ca_n, S_ca_n, S_fa_n, M_fa_n, q_fa, M_fa_v)
