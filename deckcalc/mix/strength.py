"""Average strength that the mix must reach, and the water-cement ratio that reaches it."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple, get_args

import numpy as np

from deckcalc import tables as published
from deckcalc.calculation import Range, calculation, larger, lookup, smaller
from deckcalc.mix.plain import MPA, PSI, Tables, along, each
from deckcalc.sources import Cite
from deckcalc.tables import TableError
from deckcalc.units import Count, InputError, Quantity, Ratio, Stress, registry

Entrained = Literal["air-entrained", "not air-entrained"]
Tests = Annotated[Count, Range("1", "10000")]

NO_RECORD = (
    Cite("aci318-05", "Table 5.3.2.2, rows 21 to 35 MPa and 3000 to 5000 psi, as used by a textbook"),
    Cite("aci318-05", "Table 5.3.2.2, other rows", "memory"),
)
WITH_RECORD = Cite("aci318-05", "5.3.2.1, as reproduced by a textbook and a trade article")
FACTOR = Cite("aci318-05", "Table 5.3.1.2, as reproduced by a trade article")
RATIO = (
    Cite("aci211-1-91", "Table 6.3.4(a) (US), as reproduced by course copies"),
    Cite("pca-design-control", "Table 9-3 (SI), as reproduced by a course copy"),
)


def margin_row(f_c: float, tables: str) -> tuple[dict[str, str], float]:
    """Return the row of the margins for a specified strength in Pa, and the factor of its unit."""
    unit = MPA if tables == "SI" else PSI
    rows = [row for row in published.load("margin_no_record").rows if row["tables"] == tables]
    low, high = float(rows[1]["f_c from"]) * unit, float(rows[1]["f_c to"]) * unit  # both belong to the middle row
    return rows[int(f_c >= low * (1 - 1e-9)) + int(f_c > high * (1 + 1e-9))], unit


@lookup("from the {tables} row for f'c = {f_c}")
def constant_margin(f_c: Stress, tables: Tables) -> Stress:
    """Return the constant part of the margin."""

    def one(strength: float) -> float:
        row, unit = margin_row(strength, tables)
        return float(row["constant"]) * unit

    return each(one, f_c)


@lookup("from the same row of the {tables} rows, for f'c = {f_c}")
def share_margin(f_c: Stress, tables: Tables) -> Ratio:
    """Return the part of the margin that grows with the specified strength."""
    return each(lambda strength: float(margin_row(strength, tables)[0]["share of f_c"]), f_c)


class AverageStrength(NamedTuple):
    """Result of `average_strength_no_record`."""

    m_0: Stress
    m_1: Ratio
    margin: Stress
    f_cr: Stress


@calculation(
    title="Average strength without a record of tests",
    source=NO_RECORD,
    notes=(
        (
            "For a mix without a record of tests. An older edition, still quoted in guide specifications, has 9.7 MPa "
            "(1400 psi) above 35 MPa (5000 psi)."
        ),
    ),
)
def average_strength_no_record(f_c: Annotated[Stress, Range("10 MPa", "85 MPa")], tables: Tables) -> AverageStrength:
    r"""Average strength that the mix must reach where no record of tests exists.

    .. math:: f'_{cr} = f'_c + margin,\quad margin = m_0 + m_1 f'_c

    Parameters
    ----------
    f_c : quantity of stress, shape (...,)
        specified compressive strength
    tables : {"SI", "US"}
        which of the two hard rules is used

    Returns
    -------
    AverageStrength
        `m_0` constant and `m_1` growing part of the `margin` over the specified strength, `f_cr` required average
        strength.

    Raises
    ------
    InputError
        If the strength is implausible.

    Notes
    -----
    SI: 7.0 MPa below 21 MPa, 8.3 MPa to 35 MPa, then 5.0 MPa + 0.10 f'c. US: 1000 psi below 3000 psi, 1200 psi to
    5000 psi, then 700 psi + 0.10 f'c. Source: ACI 318-05, Table 5.3.2.2; only the middle SI row and the two lower US
    rows were seen, the others are recalled.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{average_strength_no_record(Q(31, 'MPa'), 'SI').f_cr.to('MPa'):.1f~P}"
    '39.3 MPa'
    """
    m_0 = constant_margin(f_c, tables)  # constant part of the margin
    m_1 = share_margin(f_c, tables)  # part of the margin that grows with the strength
    margin = m_0 + m_1 * f_c  # margin over the specified strength
    f_cr = f_c + margin  # required average strength
    return AverageStrength(m_0, m_1, margin, f_cr)


@lookup("from the table for {n} tests, linear between its rows")
def k_tests(n: Count) -> Ratio:
    """Return the factor on the standard deviation."""
    table = published.load("k_tests")
    counts, factors = table.column("n"), table.column("k")
    wrong = np.atleast_1d(n)[(np.atleast_1d(n) < counts[0]) | (np.mod(np.atleast_1d(n), 1) != 0)]
    if wrong.size:
        raise TableError(
            f"a record of {wrong[0]:g} tests: a whole number from {counts[0]:g} up is wanted; with fewer, use the "
            "margins for a mix without a record"
        )
    return along(np.minimum(n, counts[-1]), counts, factors, "number of tests")


class AverageFromRecord(NamedTuple):
    """Result of `average_strength_si` and `average_strength_us`."""

    k: Ratio
    f_cr1: Stress
    f_cr2: Stress
    f_cr: Stress


@calculation(
    title="Average strength from a record of tests",
    source=(WITH_RECORD, FACTOR),
    units={"f_c": "MPa", "s_s": "MPa", "n": "", "k": "", "f_cr1": "MPa", "f_cr2": "MPa", "f_cr": "MPa"},
    notes=(
        (
            "For specified strengths up to 35 MPa. The constant 3.45 MPa is 500 psi, as seen; the metric edition "
            "of the code is recalled (memory) as having 3.5 MPa."
        ),
        "The record is of 15 tests or more on similar materials.",
    ),
)
def average_strength_si(
    f_c: Annotated[Stress, Range("10 MPa", "35 MPa")], s_s: Annotated[Stress, Range("0.5 MPa", "10 MPa")], n: Tests
) -> AverageFromRecord:
    r"""Average strength that the mix must reach, from a standard deviation in MPa.

    .. math:: f'_{cr} = \max(f'_c + 1.34 k s_s,\ f'_c + 2.33 k s_s - 3.45)

    Parameters
    ----------
    f_c : quantity of stress, shape (...,)
        specified compressive strength
    s_s : quantity of stress, shape (...,)
        standard deviation of the record
    n : quantity without dimension
        number of tests in the record

    Returns
    -------
    AverageFromRecord
        `k` factor for the number of tests, `f_cr1` and `f_cr2` by the two conditions, `f_cr` the larger.

    Raises
    ------
    InputError
        If the strength is over 35 MPa, the record has fewer than 15 tests, or a value is implausible.

    Notes
    -----
    Source: ACI 318-05, 5.3.2.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{average_strength_si(Q(31, 'MPa'), Q(3.8, 'MPa'), 30).f_cr.to('MPa'):.1f~P}"
    '36.4 MPa'
    """
    k = k_tests(n)  # factor for the number of tests
    f_cr1 = f_c + 1.34 * k * s_s  # so that the mean of three tests seldom falls below f'c
    f_cr2 = f_c + 2.33 * k * s_s - 3.45  # so that one test seldom falls 3.45 MPa below f'c
    f_cr = larger(f_cr1, f_cr2)  # required average strength
    return AverageFromRecord(k, f_cr1, f_cr2, f_cr)


@calculation(
    title="Average strength from a record of tests",
    source=(WITH_RECORD, FACTOR),
    units={"f_c": "psi", "s_s": "psi", "n": "", "k": "", "f_cr1": "psi", "f_cr2": "psi", "f_cr": "psi"},
    notes=("For specified strengths up to 5000 psi.", "The record is of 15 tests or more on similar materials."),
)
def average_strength_us(
    f_c: Annotated[Stress, Range("1500 psi", "5000 psi")], s_s: Annotated[Stress, Range("70 psi", "1500 psi")], n: Tests
) -> AverageFromRecord:
    r"""Average strength that the mix must reach, from a standard deviation in psi.

    .. math:: f'_{cr} = \max(f'_c + 1.34 k s_s,\ f'_c + 2.33 k s_s - 500)

    Parameters
    ----------
    f_c : quantity of stress, shape (...,)
        specified compressive strength
    s_s : quantity of stress, shape (...,)
        standard deviation of the record
    n : quantity without dimension
        number of tests in the record

    Returns
    -------
    AverageFromRecord
        `k` factor for the number of tests, `f_cr1` and `f_cr2` by the two conditions, `f_cr` the larger.

    Raises
    ------
    InputError
        If the strength is over 5000 psi, the record has fewer than 15 tests, or a value is implausible.

    Notes
    -----
    Source: ACI 318-05, 5.3.2.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{average_strength_us(Q(4500, 'psi'), Q(350, 'psi'), 30).f_cr.to('psi'):.0f~P}"
    '4969 psi'
    """
    k = k_tests(n)  # factor for the number of tests
    f_cr1 = f_c + 1.34 * k * s_s  # so that the mean of three tests seldom falls below f'c
    f_cr2 = f_c + 2.33 * k * s_s - 500  # so that one test seldom falls 500 psi below f'c
    f_cr = larger(f_cr1, f_cr2)  # required average strength
    return AverageFromRecord(k, f_cr1, f_cr2, f_cr)


@lookup("from the {tables} table for an average of {f_cr}, {air_entrained}, in proportion between its rows")
def w_cm_of_table(f_cr: Stress, air_entrained: Entrained, tables: Tables) -> Ratio:
    """Return the ratio of water to cement that gives an average strength, interpolated linearly."""
    unit, written = (MPA, "MPa") if tables == "SI" else (PSI, "psi")
    rows = [row for row in published.load(f"wcm_strength_{tables.lower()}").rows if row[air_entrained]]
    strengths = [float(row[f"f_cr [{written}]"]) for row in rows]
    ratios = [float(row[air_entrained]) for row in rows]
    what = f"the required average strength of {air_entrained} concrete, in {written},"
    return along(f_cr / unit, strengths, ratios, what)


class WaterCementRatio(NamedTuple):
    """Result of `water_cement_ratio`."""

    w_cm_strength: Ratio
    w_cm: Ratio


@calculation(
    title="Ratio of water to cementitious material",
    source=RATIO,
    notes=(
        (
            "Portland cement, cylinders at 28 days; a record or trial batches with the materials of the job take "
            "precedence. Beyond the last row of the table trial batches are the only way."
        ),
    ),
)
def water_cement_ratio(
    f_cr: Annotated[Stress, Range("5 MPa", "120 MPa")],
    air_entrained: Entrained,
    w_cm_exposure: Annotated[Ratio, Range("0.25", "1.00")],
    tables: Tables,
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
    tables : {"SI", "US"}
        which of the two hard tables is used

    Returns
    -------
    WaterCementRatio
        `w_cm_strength` by strength, `w_cm` the smaller of both.

    Raises
    ------
    InputError
        If the strength lies outside the table (15 to 45 MPa; 2000 to 7000 psi, 6000 psi if air-entrained).

    Notes
    -----
    Source: ACI 211.1-91, Table 6.3.4(a) in US units; the SI table is that of PCA Design and Control.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = water_cement_ratio(Q(3600, "psi"), "air-entrained", 0.45, "US")
    >>> f"{found.w_cm_strength.magnitude:.3f}, {found.w_cm.magnitude:.2f}"
    '0.524, 0.45'
    """
    w_cm_strength = w_cm_of_table(f_cr, air_entrained, tables)  # ratio by strength
    w_cm = smaller(w_cm_strength, w_cm_exposure)  # ratio of water to cementitious material
    return WaterCementRatio(w_cm_strength, w_cm)


class ExposureLimit(NamedTuple):
    """What an exposure demands of the mix; `w_cm` is None where it demands nothing."""

    exposure: str
    w_cm: Quantity | None
    f_c: Quantity
    source: Cite


def exposure_limit(name: str, tables: Tables) -> ExposureLimit:
    """Return the highest w/cm and the least specified strength of an exposure.

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
