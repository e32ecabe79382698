"""Average strength that the mix must reach, and the water-cement ratio that reaches it."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

import numpy as np

from deckcalc.core import tables as published
from deckcalc.core.calculation import Range, calculation, larger, lookup
from deckcalc.core.forms import BOTH, Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Count, Ratio, Stress
from deckcalc.mix.formulas.table_units import MPA, PSI, Tables, along, each

MarginRule = Literal["ACI 318-05", "older"]
Tests = Annotated[Count, Range("1", "10000")]

NO_RECORD = (
    Cite("aci318-05", "Table 5.3.2.2, rows 21 to 35 MPa and 3000 to 5000 psi, as used by a textbook"),
    Cite("aci318-05", "Table 5.3.2.2, other rows", "memory"),
)
WITH_RECORD = Cite("aci318-05", "5.3.2.1, as reproduced by a textbook and a trade article")
FACTOR = Cite("aci318-05", "Table 5.3.1.2, as reproduced by a trade article")


def margin_row(f_c: float, tables: str, rule: str) -> tuple[dict[str, str], float]:
    """Return the row of the margins for a specified strength in Pa, and the factor of its unit."""
    unit = MPA if tables == "SI" else PSI
    rows = [row for row in published.load("margin_no_record").rows if (row["rule"], row["tables"]) == (rule, tables)]
    low, high = float(rows[1]["f_c from"]) * unit, float(rows[1]["f_c to"]) * unit  # both belong to the middle row
    return rows[int(f_c >= low * (1 - 1e-9)) + int(f_c > high * (1 + 1e-9))], unit


@lookup("from the {form} row of the rule {rule} for f'c = {f_c}")
def constant_margin(f_c: Stress, form: Tables, rule: MarginRule) -> Stress:
    """Return the constant part of the margin."""

    def one(strength: float) -> float:
        row, unit = margin_row(strength, form, rule)
        return float(row["constant"]) * unit

    return each(one, f_c)


@lookup("from the same row of the {form} rows, for f'c = {f_c}")
def share_margin(f_c: Stress, form: Tables, rule: MarginRule) -> Ratio:
    """Return the part of the margin that grows with the specified strength."""
    return each(lambda strength: float(margin_row(strength, form, rule)[0]["share of f_c"]), f_c)


class AverageStrength(NamedTuple):
    """Result of `average_strength_no_record`."""

    m_0: Stress
    m_1: Ratio
    margin: Stress
    f_cr: Stress


@calculation_by_form(
    title="Average strength without a record of tests",
    source=NO_RECORD,
    notes=(
        (
            "For a mix without a record of tests. The older rule, still quoted in guide specifications, differs above "
            "35 MPa (5000 psi): a constant 9.7 MPa (1400 psi)."
        ),
    ),
    forms=BOTH,
)
def average_strength_no_record(
    f_c: Annotated[Stress, Range("10 MPa", "85 MPa")], rule: MarginRule = "ACI 318-05", *, form: str
) -> AverageStrength:
    r"""Average strength that the mix must reach where no record of tests exists.

    .. math:: f'_{cr} = f'_c + margin,\quad margin = m_0 + m_1 f'_c

    Parameters
    ----------
    f_c : quantity of stress, shape (...,)
        specified compressive strength
    form : {"SI", "US"}
        which of the two hard rules is used
    rule : {"ACI 318-05", "older"}
        edition of the rule

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
    >>> f"{average_strength_no_record(Q(31, 'MPa'), form='SI').f_cr.to('MPa'):.1f~P}"
    '39.3 MPa'
    """
    m_0 = constant_margin(f_c, form, rule)  # constant part of the margin
    m_1 = share_margin(f_c, form, rule)  # part of the margin that grows with the strength
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
    """Result of `average_strength`."""

    k: Ratio
    f_cr1: Stress
    f_cr2: Stress
    f_cr: Stress


@calculation_by_form(
    title="Average strength from a record of tests",
    source=(WITH_RECORD, FACTOR),
    forms={
        "SI": Form(
            {"m": "3.45 MPa"},
            units={"f_c": "MPa", "s_s": "MPa", "n": "", "k": "", "f_cr1": "MPa", "f_cr2": "MPa", "f_cr": "MPa"},
            ranges={"f_c": Range("10 MPa", "35 MPa"), "s_s": Range("0.5 MPa", "10 MPa")},
            notes=(
                "For specified strengths up to 35 MPa. The constant 3.45 MPa is 500 psi, as seen; the metric edition "
                "of the code is recalled (memory) as having 3.5 MPa.",
                "The record is of 15 tests or more on similar materials.",
            ),
        ),
        "US": Form(
            {"m": "500 psi"},
            units={"f_c": "psi", "s_s": "psi", "n": "", "k": "", "f_cr1": "psi", "f_cr2": "psi", "f_cr": "psi"},
            ranges={"f_c": Range("1500 psi", "5000 psi"), "s_s": Range("70 psi", "1500 psi")},
            notes=(
                "For specified strengths up to 5000 psi.",
                "The record is of 15 tests or more on similar materials.",
            ),
        ),
    },
)
def average_strength(f_c: Stress, s_s: Stress, n: Tests, *, m: float) -> AverageFromRecord:
    r"""Average strength that the mix must reach, from a standard deviation.

    .. math:: f'_{cr} = \max(f'_c + 1.34 k s_s,\ f'_c + 2.33 k s_s - m)

    Parameters
    ----------
    f_c : quantity of stress, shape (...,)
        specified compressive strength
    s_s : quantity of stress, shape (...,)
        standard deviation of the record
    n : quantity without dimension
        number of tests in the record
    form : {"SI", "US"}
        unit system of the margin below which one test seldom falls

    Returns
    -------
    AverageFromRecord
        `k` factor for the number of tests, `f_cr1` and `f_cr2` by the two conditions, `f_cr` the larger.

    Raises
    ------
    InputError
        If the strength is over 35 MPa (5000 psi), the record has fewer than 15 tests, or a value is implausible.

    Notes
    -----
    Source: ACI 318-05, 5.3.2.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{average_strength(Q(31, 'MPa'), Q(3.8, 'MPa'), 30, form='SI').f_cr.to('MPa'):.1f~P}"
    '36.4 MPa'
    """
    k = k_tests(n)  # factor for the number of tests
    f_cr1 = f_c + 1.34 * k * s_s  # so that the mean of three tests seldom falls below f'c
    f_cr2 = f_c + 2.33 * k * s_s - m  # so that one test seldom falls {m} below f'c
    f_cr = larger(f_cr1, f_cr2)  # required average strength
    return AverageFromRecord(k, f_cr1, f_cr2, f_cr)


class AverageHigh(NamedTuple):
    """Result of `average_strength_high`."""

    k: Ratio
    f_cr1: Stress
    f_cr2: Stress
    f_cr: Stress


@calculation(
    title="Average strength from a record of tests, above 35 MPa (5000 psi)",
    source=(
        Cite("aci318-05", "5.3.2.1, specified strength above 35 MPa (5000 psi)", "memory"),
        FACTOR,
    ),
    notes=("The record is of 15 tests or more on similar materials.",),
)
def average_strength_high(
    f_c: Annotated[Stress, Range("34 MPa", "85 MPa")], s_s: Annotated[Stress, Range("0.5 MPa", "12 MPa")], n: Tests
) -> AverageHigh:
    r"""Average strength that the mix must reach where more than 35 MPa (5000 psi) is specified.

    .. math:: f'_{cr} = \max(f'_c + 1.34 k s_s,\ 0.90 f'_c + 2.33 k s_s)

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
    AverageHigh
        `k` factor for the number of tests, `f_cr1` and `f_cr2` by the two conditions, `f_cr` the larger.

    Raises
    ------
    InputError
        If the strength is below 34 MPa, the record has fewer than 15 tests, or a value is implausible.

    Notes
    -----
    The same in both unit systems. Source: ACI 318-05, 5.3.2.1 (memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{average_strength_high(Q(40, 'MPa'), Q(4, 'MPa'), 30).f_cr.to('MPa'):.1f~P}"
    '45.4 MPa'
    """
    k = k_tests(n)  # factor for the number of tests
    f_cr1 = f_c + 1.34 * k * s_s  # so that the mean of three tests seldom falls below f'c
    f_cr2 = 0.90 * f_c + 2.33 * k * s_s  # so that one test seldom falls below nine tenths of f'c
    f_cr = larger(f_cr1, f_cr2)  # required average strength
    return AverageHigh(k, f_cr1, f_cr2, f_cr)
