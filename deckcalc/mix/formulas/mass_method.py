"""The mass method beside the absolute volumes: what the concrete should weigh, and the sand that follows."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core import tables as published
from deckcalc.core.calculation import Range, lookup
from deckcalc.core.forms import BOTH, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import Content, Density, Ratio, Share
from deckcalc.mix.formulas.aggregate import NominalSize, nominal_size, size_row
from deckcalc.mix.formulas.batching import AggregateContent, WaterContent
from deckcalc.mix.formulas.ratio import Entrained
from deckcalc.mix.formulas.table_units import KG_M3, LB_YD3, Tables, each


@lookup("from the {form} table of first estimates for {D_n} aggregate, {entrained}")
def mass_of_table(D_n: NominalSize, entrained: Entrained, form: Tables) -> Content:
    """Return the first estimate of the mass of fresh concrete."""
    rows = published.load("first_estimate").rows
    unit, scale = ("kg/m³", KG_M3) if form == "SI" else ("lb/yd³", LB_YD3)
    return each(lambda size: float(rows[size_row(size)[0]][f"{entrained} [{unit}]"]) * scale, D_n)


class MassMethod(NamedTuple):
    """Result of `mass_method`."""

    D_n: NominalSize
    G_a: Ratio
    U_t: Content
    U_e: Content
    M_fa_t: Content
    M_fa_e: Content


@calculation_by_form(
    title="Fine aggregate by the mass method, as a cross-check",
    source=Cite("aci211-1-91", "6.3.7.1, Table 6.3.7.1 and Equation 6-1", "memory"),
    notes=(
        "The table is for 330 kg/m³ (550 lb/yd³) of cement and aggregate of relative density 2.7; the equation takes "
        "the materials of the mix. The absolute volumes are what the batch is made by; a difference of more than a "
        "few per cent of the mass of the concrete asks for a second look at densities.",
    ),
    forms=BOTH,
)
def mass_method(
    D_max: NominalSize,
    entrained: Entrained,
    RD_ca: Annotated[Ratio, Range("2.0", "3.5")],
    RD_fa: Annotated[Ratio, Range("2.0", "3.5")],
    air: Annotated[Share, Range("0 %", "15 %")],
    C: Annotated[Content, Range("100 kg/m³", "1000 kg/m³")],
    RD_c: Annotated[Ratio, Range("2.0", "3.5")],
    W: WaterContent,
    M_ca: AggregateContent,
    rho_w: Annotated[Density, Range("990 kg/m³", "1001 kg/m³")],
    *,
    form: str,
) -> MassMethod:
    r"""Mass of fresh concrete by table and by equation, and the fine aggregate that each leaves.

    .. math:: U_e = G_a \rho_w (1 - air) + C (1 - G_a / RD_c) - W (G_a - 1),\quad M_{fa} = U - W - C - M_{ca}

    Parameters
    ----------
    D_max : quantity of length
        nominal maximum size of the aggregate
    entrained : {"air-entrained", "not air-entrained"}
        whether the concrete is air-entrained
    RD_ca : quantity without dimension
        relative density of the coarse aggregate
    RD_fa : quantity without dimension
        relative density of the fine aggregate
    air : quantity without dimension
        air content
    C : quantity of mass per volume
        cementitious material
    RD_c : quantity without dimension
        relative density of the cementitious material
    W : quantity of mass per volume
        mixing water
    M_ca : quantity of mass per volume
        coarse aggregate
    rho_w : quantity of density
        density of water
    form : {"SI", "US"}
        which of the two hard tables is used

    Returns
    -------
    MassMethod
        `D_n` nominal size of the table, `G_a` mean relative density of the aggregate, `U_t` mass by table, `U_e` by equation, `M_fa_t` and `M_fa_e` fine aggregate.

    Raises
    ------
    InputError
        If the size is none of the table's or a value is implausible.

    Notes
    -----
    Source: ACI 211.1-91, 6.3.7.1 (memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = mass_method(
    ...     Q(37.5, "mm"), "not air-entrained", 2.68, 2.64, Q(1, "%"), Q(292, "kg/m³"), 3.15, Q(181, "kg/m³"),
    ...     Q(1136, "kg/m³"), Q(1000, "kg/m³"), form="SI",
    ... )
    >>> f"{found.M_fa_t.to('kg/m³'):.0f~P}, {found.M_fa_e.to('kg/m³'):.0f~P}"
    '801 kg/m³, 769 kg/m³'
    """
    D_n = nominal_size(D_max)  # nominal size of the aggregate
    G_a = (RD_ca + RD_fa) / 2  # mean relative density of the aggregate
    U_t = mass_of_table(D_n, entrained, form)  # mass of the concrete
    U_e = G_a * rho_w * (1 - air) + C * (1 - G_a / RD_c) - W * (G_a - 1)  # mass of this concrete
    M_fa_t = U_t - W - C - M_ca  # fine aggregate, mass by table
    M_fa_e = U_e - W - C - M_ca  # fine aggregate, mass by equation
    return MassMethod(D_n, G_a, U_t, U_e, M_fa_t, M_fa_e)
