"""Proportions by absolute volume: what the other materials leave of a unit of concrete is fine aggregate."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Content, Density, Ratio, Share, VolumeShare

AggregateDensity = Annotated[Ratio, Range("2.0", "3.5")]


class Proportions(NamedTuple):
    """Result of `proportions`."""

    C: Content
    M_ca: Content
    V_w: VolumeShare
    V_c: VolumeShare
    V_a: VolumeShare
    V_ca: VolumeShare
    V_sum: VolumeShare
    V_left: VolumeShare
    V_fa: VolumeShare
    M_fa: Content


@lookup("all that is left, {V_left}, which is more than zero")
def room_for_sand(V_left: VolumeShare) -> VolumeShare:
    """Return the volume that is left, if there is any."""
    if np.min(V_left) <= 0:
        raise TableError(
            f"water, cement, air and coarse aggregate take {100 * (1 - np.min(V_left)):.1f} % of the concrete and "
            "leave no room for fine aggregate; less water, cement, air or coarse aggregate is wanted"
        )
    return V_left


@calculation(
    title="Proportions by absolute volume",
    source=(
        Cite("navedtra-14070", "chapter 17, pp. 17-6 and 17-7, worked in this way"),
        Cite("aci211-1-91", "6.3.5 to 6.3.7", "memory"),
    ),
    notes=(
        (
            "The mass of coarse aggregate comes from its dry-rodded density and is oven-dry. Strictly it is divided by "
            "an oven-dry relative density, and the mass of fine aggregate is then oven-dry if its relative density is. "
            "Many published examples divide by saturated surface-dry ones: the fine aggregate then comes out about 1 "
            "to 2 % larger for each 1 % that the coarse aggregate absorbs."
        ),
        "First estimate, to be adjusted by a trial batch.",
    ),
)
def proportions(
    W: Annotated[Content, Range("50 kg/m³", "400 kg/m³")],
    w_cm: Annotated[Ratio, Range("0.20", "1.00")],
    air: Annotated[Share, Range("0 %", "15 %")],
    b: Annotated[Ratio, Range("0.20", "0.95")],
    rho_dr: Annotated[Density, Range("1000 kg/m³", "2200 kg/m³")],
    RD_c: Annotated[Ratio, Range("2.0", "3.5")],
    RD_ca: AggregateDensity,
    RD_fa: AggregateDensity,
    rho_w: Annotated[Density, Range("990 kg/m³", "1001 kg/m³")],
    V_u: Annotated[VolumeShare, Range("1 m³/m³", "1 m³/m³")] = 1,  # type: ignore[assignment]
) -> Proportions:
    r"""Contents of cement, coarse and fine aggregate by absolute volume.

    .. math::

        C = \frac{W}{w/cm},\quad M_{ca} = b V_u \rho_{dr},\quad
        M_{fa} = \left(V_u - \frac{W}{\rho_w} - \frac{C}{RD_c \rho_w} - air\,V_u - \frac{M_{ca}}{RD_{ca} \rho_w}\right)
        RD_{fa} \rho_w

    Parameters
    ----------
    W : quantity of mass per volume, shape (...,)
        mixing water
    w_cm : quantity without dimension, shape (...,)
        ratio of water to cementitious material, by mass
    air : quantity without dimension, shape (...,)
        air content, as a share of the volume of concrete
    b : quantity without dimension, shape (...,)
        bulk volume of dry-rodded coarse aggregate per volume of concrete
    rho_dr : quantity of density
        dry-rodded density of the coarse aggregate
    RD_c : quantity without dimension
        relative density of the cement
    RD_ca : quantity without dimension
        relative density of the coarse aggregate
    RD_fa : quantity without dimension
        relative density of the fine aggregate
    rho_w : quantity of density
        density of water
    V_u : quantity of volume per volume
        unit volume of concrete, 1 m³ in a m³ or 27 ft³ in a yd³

    Returns
    -------
    Proportions
        `C` cement, `M_ca` oven-dry coarse aggregate, absolute volumes `V_w` of water, `V_c` of cement, `V_a` of air,
        `V_ca` of coarse aggregate, `V_sum` of all four, `V_left` what is left, `V_fa` of fine aggregate,
        `M_fa` fine aggregate.

    Raises
    ------
    InputError
        If a value is implausible, or nothing is left for fine aggregate.

    Notes
    -----
    Source: ACI 211.1-91, absolute volume method. Normal-weight aggregate.

    Examples
    --------
    >>> from deckcalc import Q
    >>> mix = proportions(
    ...     W=Q(305, "lb/yd³"), w_cm=0.50, air=Q(5, "%"), b=0.63, rho_dr=Q(102, "lb/ft³"), RD_c=3.15, RD_ca=2.60,
    ...     RD_fa=2.65, rho_w=Q(62.4, "lb/ft³"),
    ... )
    >>> f"{mix.C.to('lb/yd³'):.0f~P}, {mix.M_ca.to('lb/yd³'):.0f~P}, {mix.M_fa.to('lb/yd³'):.0f~P}"
    '610 lb/yd³, 1735 lb/yd³, 1152 lb/yd³'
    """
    C = W / w_cm  # cement
    M_ca = b * V_u * rho_dr  # coarse aggregate, oven-dry
    V_w = W / rho_w  # absolute volume of water
    V_c = C / (RD_c * rho_w)  # absolute volume of cement
    V_a = air * V_u  # volume of air
    V_ca = M_ca / (RD_ca * rho_w)  # absolute volume of coarse aggregate
    V_sum = V_w + V_c + V_a + V_ca  # volume of all but fine aggregate
    V_left = V_u - V_sum  # volume that is left
    V_fa = room_for_sand(V_left)  # absolute volume of fine aggregate
    M_fa = V_fa * RD_fa * rho_w  # fine aggregate
    return Proportions(C, M_ca, V_w, V_c, V_a, V_ca, V_sum, V_left, V_fa, M_fa)
