"""Mixing water as the aggregate and the admixtures change it, and minimum cementitious material."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

from deckcalc.core import tables as published
from deckcalc.core.calculation import Range, calculation, larger, lookup
from deckcalc.core.forms import BOTH, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import AdmixtureContent, Content, Density, Dose, Ratio, Share
from deckcalc.mix.formulas.batching import WaterContent
from deckcalc.mix.formulas.contents import ANY_DOSE
from deckcalc.mix.formulas.table_units import KG_M3, LB_YD3, Tables, each

Shape = Literal["angular", "sub-angular", "gravel with crushed particles", "rounded gravel"]


@lookup("from the {form} column for {shape} coarse aggregate")
def water_for_shape(W_t: Content, shape: Shape, form: Tables) -> Content:
    """Return the water that the shape of the coarse aggregate saves."""
    row = published.load("shape_water").row("shape", shape)
    saved = float(row["kg/m³"]) * KG_M3 if form == "SI" else float(row["lb/yd³"]) * LB_YD3
    return each(lambda _: saved, W_t)


class AdjustedWater(NamedTuple):
    """Result of `adjusted_water`."""

    W_shape: Content
    W_1: Content
    W_red: Content
    W: Content


@calculation_by_form(
    title="Mixing water for the shape of the aggregate and a water-reducing admixture",
    source=Cite("pca-design-control", "notes to the table of mixing water", "memory"),
    notes=(
        "The tables of mixing water are for angular crushed stone. The share that an admixture saves is the manufacturer's or "
        "a trial batch's; ASTM C494 asks at least 5 % of types A, D and E and 12 % of types F and G (memory).",
    ),
    forms=BOTH,
)
def adjusted_water(
    W_t: WaterContent, shape: Shape, q_red: Annotated[Share, Range("0 %", "40 %")], *, form: str
) -> AdjustedWater:
    r"""Mixing water less what the shape of the aggregate and an admixture save.

    .. math:: W = (W_t - W_{shape}) (1 - q_{red})

    Parameters
    ----------
    W_t : quantity of mass per volume, shape (...,)
        mixing water of the table
    shape : {"angular", "sub-angular", "gravel with crushed particles", "rounded gravel"}
        shape of the coarse aggregate
    q_red : quantity without dimension, shape (...,)
        share of the water that a water-reducing admixture saves
    form : {"SI", "US"}
        which of the two hard rules is used

    Returns
    -------
    AdjustedWater
        `W_shape` saved by shape, `W_1` what is left, `W_red` saved by the admixture, `W` mixing water.

    Raises
    ------
    InputError
        If a value is implausible or the shape is unknown.

    Notes
    -----
    Source: PCA Design and Control, notes to the table of mixing water (memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = adjusted_water(Q(305, "lb/yd³"), "rounded gravel", Q(5, "%"), form="US")
    >>> f"{found.W.to('lb/yd³'):.0f~P}"
    '247 lb/yd³'
    """
    W_shape = water_for_shape(W_t, shape, form)  # water saved by the shape of the aggregate
    W_1 = W_t - W_shape  # water for this aggregate
    W_red = q_red * W_1  # water saved by the admixture
    W = W_1 - W_red  # mixing water
    return AdjustedWater(W_shape, W_1, W_red, W)


class Cementitious(NamedTuple):
    """Result of `cementitious_content`."""

    C_w: Content
    C_m: Content
    w_cm_made: Ratio


@calculation(
    title="Cementitious material",
    source=(
        Cite("navedtra-14070", "chapter 17, p. 17-6"),
        Cite("pca-design-control", "minimum cementitious contents", "memory"),
    ),
    notes=("Where the minimum content governs, the ratio falls below the one that strength and exposure admit.",),
)
def cementitious_content(
    W: WaterContent,
    w_cm: Annotated[Ratio, Range("0.20", "1.00")],
    C_least: Annotated[Content, Range("0 kg/m³", "700 kg/m³")],
) -> Cementitious:
    r"""Cementitious material by the water-cement ratio, and not less than the minimum content.

    .. math:: C_m = \max(W / (w/cm),\ C_{least})

    Parameters
    ----------
    W : quantity of mass per volume, shape (...,)
        mixing water
    w_cm : quantity without dimension, shape (...,)
        highest ratio that strength and exposure admit
    C_least : quantity of mass per volume
        minimum content of cementitious material

    Returns
    -------
    Cementitious
        `C_w` by the ratio, `C_m` cementitious material, `w_cm_made` the ratio that follows.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: the absolute-volume method of ACI 211.1-91.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = cementitious_content(Q(160, "kg/m³"), 0.50, Q(335, "kg/m³"))
    >>> f"{found.C_m.to('kg/m³'):.0f~P}, {found.w_cm_made.magnitude:.3f}"
    '335 kg/m³, 0.478'
    """
    C_w = W / w_cm  # by the ratio
    C_m = larger(C_w, C_least)  # cementitious material
    w_cm_made = W / C_m  # ratio of the mix
    return Cementitious(C_w, C_m, w_cm_made)


class AdmixtureWater(NamedTuple):
    """Result of `admixture_water`."""

    V_a: AdmixtureContent
    W_a: Content
    W_rest: Content


@calculation(
    title="Water in an admixture",
    source=Cite("", "the water of an admixture is part of the mixing water", "common practice"),
    notes=("Dose by the manufacturer's data sheet and the trial batch; measured by volume, never by eye.",),
)
def admixture_water(
    W: WaterContent,
    C_m: Annotated[Content, Range("100 kg/m³", "1000 kg/m³")],
    dose: Annotated[Dose, ANY_DOSE],
    rho_a: Annotated[Density, Range("900 kg/m³", "1500 kg/m³")],
    s_a: Annotated[Share, Range("0 %", "70 %")],
) -> AdmixtureWater:
    r"""Water that an admixture brings, and mixing water that is then left.

    .. math:: W_a = dose\, C_m\, \rho_a (1 - s_a),\quad W_{rest} = W - W_a

    Parameters
    ----------
    W : quantity of mass per volume, shape (...,)
        mixing water before this admixture
    C_m : quantity of mass per volume, shape (...,)
        cementitious material
    dose : quantity of volume per mass
        dose on the cementitious material
    rho_a : quantity of density
        density of the admixture
    s_a : quantity without dimension
        solids of the admixture, by mass

    Returns
    -------
    AdmixtureWater
        `V_a` admixture per volume of concrete, `W_a` water in it, `W_rest` mixing water that is left.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    The solids of the admixture are left out of the absolute volume; at usual doses they fill less than 0.2 % of it. Those of
    a latex fill several per cent: there take `contents_yield`.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = admixture_water(
    ...     Q(160, "kg/m³"), Q(400, "kg/m³"), Q(500, "mL/100 kg"), Q(1100, "kg/m³"), Q(40, "%"))
    >>> f"{found.W_a.to('kg/m³'):.2f~P}"
    '1.32 kg/m³'
    """
    V_a = dose * C_m  # admixture per volume of concrete
    W_a = V_a * rho_a * (1 - s_a)  # water in the admixture
    W_rest = W - W_a  # mixing water that is left
    return AdmixtureWater(V_a, W_a, W_rest)
