"""Water-cement ratio that reaches the average strength, and what an exposure demands."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple, get_args

from deckcalc.core import tables as published
from deckcalc.core.calculation import Range, calculation, lookup, smaller
from deckcalc.core.forms import BOTH, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import InputError, Quantity, Ratio, Stress, registry
from deckcalc.mix.formulas.table_units import MPA, PSI, Tables, along

Entrained = Literal["air-entrained", "not air-entrained"]
RatioTable = Literal["PCA", "PCA metric", "ACI 211.1-91", "older"]

RATIO = (
    Cite("aci211-1-91", "Table 6.3.4(a) (US), as reproduced by course copies"),
    Cite("pca-design-control", "Table 9-3 (SI), as reproduced by a course copy"),
)
FILES = {
    ("PCA", "SI"): "wcm_strength_si", ("PCA", "US"): "wcm_strength_us", ("PCA metric", "SI"): "wcm_strength_si",
    ("PCA metric", "US"): "wcm_strength_si", ("ACI 211.1-91", "SI"): "wcm_aci91_si", ("ACI 211.1-91", "US"): "wcm_aci91_us",
    ("older", "SI"): "wcm_older_si",
}  # fmt: skip


def points_of_table(
    tables: Tables, edition: RatioTable, air_entrained: Entrained
) -> tuple[list[float], list[float], str]:
    """Return strengths, their ratios and the unit of a table, as printed."""
    if (edition, tables) not in FILES:
        raise TableError("the older table of strength is recorded in SI only; choose PCA or ACI 211.1-91")
    file = FILES[edition, tables]
    unit = "psi" if file.endswith("_us") else "MPa"
    rows = [row for row in published.load(file).rows if row[air_entrained]]
    return [float(row[f"f_cr [{unit}]"]) for row in rows], [float(row[air_entrained]) for row in rows], unit


@lookup("from the {edition} table ({form}) for an average of {f_cr}, {air_entrained}, in proportion between its rows")
def w_cm_of_table(f_cr: Stress, air_entrained: Entrained, form: Tables, edition: RatioTable) -> Ratio:
    """Return the ratio of water to cement that gives an average strength, interpolated linearly."""
    strengths, ratios, written = points_of_table(form, edition, air_entrained)
    unit = MPA if written == "MPa" else PSI
    what = f"the required average strength of {air_entrained} concrete, in {written},"
    return along(f_cr / unit, strengths, ratios, what)


class WaterCementRatio(NamedTuple):
    """Result of `water_cement_ratio`."""

    w_cm_strength: Ratio
    w_cm: Ratio


@calculation_by_form(
    title="Ratio of water to cementitious material",
    source=RATIO,
    notes=(
        (
            "Portland cement, cylinders at 28 days; a record or trial batches with the materials of the job take "
            "precedence. Beyond the last row of the table trial batches are the only way."
        ),
    ),
    forms=BOTH,
)
def water_cement_ratio(
    f_cr: Annotated[Stress, Range("5 MPa", "120 MPa")],
    air_entrained: Entrained,
    w_cm_exposure: Annotated[Ratio, Range("0.25", "1.00")],
    edition: RatioTable = "PCA",
    *,
    form: str,
) -> WaterCementRatio:
    r"""Ratio of water to cementitious material that satisfies strength and exposure.

    .. math:: w/cm = \min(w/cm_{strength},\ w/cm_{exposure})

    Parameters
    ----------
    f_cr : quantity of stress, shape (...,)
        required average strength
    air_entrained : {"air-entrained", "not air-entrained"}
        whether the concrete is air-entrained
    w_cm_exposure : quantity without dimension
        highest ratio that the exposure admits
    form : {"SI", "US"}
        which of the two hard tables is used
    edition : {"PCA", "PCA metric", "ACI 211.1-91", "older"}
        whose table of strength is used; "PCA metric" is the SI table whichever tables are used beside it

    Returns
    -------
    WaterCementRatio
        `w_cm_strength` by strength, `w_cm` the smaller of both.

    Raises
    ------
    InputError
        If the strength lies outside the table.

    Notes
    -----
    The PCA table goes on where that of ACI 211.1-91 ends (7000 psi; 45 MPa; air-entrained 6000 psi and 40 MPa; where
    the latter ends is recalled, memory). The older SI table has 0.01 more in most rows. They are not mixed.
    Source: ACI 211.1-91, Table 6.3.4(a) in US units; the SI table is that of PCA Design and Control.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = water_cement_ratio(Q(3600, "psi"), "air-entrained", 0.45, form="US")
    >>> f"{found.w_cm_strength.magnitude:.3f}, {found.w_cm.magnitude:.2f}"
    '0.524, 0.45'
    """
    w_cm_strength = w_cm_of_table(f_cr, air_entrained, form, edition)  # ratio by strength
    w_cm = smaller(w_cm_strength, w_cm_exposure)  # ratio of water to cementitious material
    return WaterCementRatio(w_cm_strength, w_cm)


@calculation(
    title="Ratio of water to cementitious material by record or trial batches",
    source=Cite(
        "", "what was made and tested with the materials of the job stands before any table", "common practice"
    ),
    notes=("The ratio is the engineer's; trial batches or the record named must show the average strength with it.",),
)
def stated_ratio(
    w_cm_stated: Annotated[Ratio, Range("0.25", "0.70")], w_cm_exposure: Annotated[Ratio, Range("0.25", "1.00")]
) -> Ratio:
    r"""Ratio of water to cementitious material that the engineer states, within what the exposure admits.

    .. math:: w/cm = \min(w/cm_{stated},\ w/cm_{exposure})

    Parameters
    ----------
    w_cm_stated : quantity without dimension
        ratio by a record or by trial batches
    w_cm_exposure : quantity without dimension
        highest ratio that the exposure admits

    Returns
    -------
    quantity
        Ratio of water to cementitious material.

    Raises
    ------
    InputError
        If a ratio is implausible.

    Notes
    -----
    Takes the place of a table of ratio by strength, beyond its end or before it. Common practice.

    Examples
    --------
    >>> f"{stated_ratio(0.33, 0.40).magnitude:.2f}"
    '0.33'
    """
    w_cm = smaller(w_cm_stated, w_cm_exposure)  # ratio of water to cementitious material
    return w_cm


class ExposureLimit(NamedTuple):
    """What an exposure demands of the mix; `w_cm` is None where it demands nothing."""

    exposure: str
    w_cm: Quantity | None
    f_c: Quantity
    source: Cite


def exposure_limit(name: str, tables: Tables) -> ExposureLimit:
    """Return the highest w/cm and the minimum specified strength of an exposure.

    Parameters
    ----------
    name : str
        A class of ACI 318-19 (F0 to F3, S1, S2, W2, C1, C2), or one of the plain rows water, deicers, chlorides.
    tables : {"SI", "US"}
        Strength in MPa or in psi, as the source has it in either.

    Returns
    -------
    ExposureLimit

    Raises
    ------
    TableError
        If there is no such exposure; the message lists what there is.
    InputError
        If `tables` is neither SI nor US.

    Examples
    --------
    >>> limit = exposure_limit("chlorides", "US")
    >>> f"{limit.w_cm.magnitude}, {limit.f_c:~P}, {limit.source}"
    '0.4, 5000.0 psi, [PCA Design and Control], Table 9-1, as reproduced by a course copy'
    """
    if tables not in get_args(Tables):
        raise InputError(f"exposure_limit: tables is “{tables}”, wanted one of {', '.join(get_args(Tables))}")
    row = published.load("exposure_classes").row("class", name)
    unit = "MPa" if tables == "SI" else "psi"
    q = registry().Quantity
    return ExposureLimit(
        row["exposure"],
        q(float(row["w/cm"]), "") if row["w/cm"] else None,
        q(float(row[f"f_c [{unit}]"]), unit),
        Cite(row["source"], row["where"], row[f"provenance [{unit}]"]),  # type: ignore[arg-type]
    )
