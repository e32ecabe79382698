"""From the loss of protection to a cracked cover: rate of corrosion, penetration that cracks, time."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.chloride.formulas.initiation import Cover
from deckcalc.core.calculation import Range, above, below, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import (
    ChargePerMole,
    CurrentDensity,
    Length,
    MolarMass,
    Penetration,
    PenetrationRate,
    Ratio,
    SteelDensity,
    Years,
)


@calculation(
    title="Rate of corrosion from its current",
    source=(
        Cite("rilem-154", "0.0116 mm/yr for 1 µA/cm², as reproduced by a glossary"),
        Cite("", "law of Faraday", "common practice"),
    ),
    notes=("Even loss round the bar; pits go four to eight times deeper where chloride attacks.",),
)
def corrosion_rate(
    i_corr: Annotated[CurrentDensity, Range("0.001 µA/cm²", "100 µA/cm²")],
    M: Annotated[MolarMass, Range("50 g/mol", "60 g/mol")],
    n_e: Annotated[Ratio, Range("1", "3")],
    F: Annotated[ChargePerMole, Range("96000 C/mol", "97000 C/mol")],
    rho_s: Annotated[SteelDensity, Range("7 g/cm³", "8.5 g/cm³")],
) -> PenetrationRate:
    r"""Depth of steel that a corrosion current takes away in a year.

    .. math:: v = \frac{M i_{corr}}{n_e F \rho_s}

    Parameters
    ----------
    i_corr : quantity of current per area, shape (...,)
        corrosion current density
    M : quantity of mass per amount
        molar mass of iron
    n_e : quantity without dimension
        electrons given up by an atom
    F : quantity of charge per amount
        constant of Faraday
    rho_s : quantity of mass per volume
        density of steel

    Returns
    -------
    PenetrationRate
        `v`, depth lost in a unit of time; the diameter loses twice as much.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Source: law of Faraday; RILEM TC 154 gives 0.0116 mm/yr for 1 µA/cm².

    Examples
    --------
    >>> from deckcalc import Q
    >>> v = corrosion_rate(Q(1, "µA/cm²"), Q(55.845, "g/mol"), 2, Q(96485.3, "C/mol"), Q(7.87, "g/cm³"))
    >>> f"{v.to('µm/yr').magnitude:.3f}"
    '11.604'
    """
    v = M * i_corr / (n_e * F * rho_s)  # depth of steel lost in a unit of time
    return v


TESTED = (1, 7)  # cover over bar diameter in the tests


@lookup("{c} divided by {d_b}; the tests reach from {tests[0]} to {tests[1]}", tests=TESTED)
def cover_over_bar(c: Cover, d_b: Length) -> Ratio:
    """Return cover over bar diameter, refusing what was not tested."""
    r: Any = np.divide(c, d_b)
    low, high = TESTED
    if np.any(below(r, low)) or np.any(above(r, high)):
        raise TableError(f"cover over bar diameter is {float(np.max(r)):.2f}; the tests reach from {low} to {high}")
    return r


class CrackingPenetration(NamedTuple):
    """Result of `penetration_to_crack`."""

    r_c: Ratio
    x_cr: Penetration


@calculation(
    title="Penetration that cracks the cover",
    source=Cite("fdot-ba502", "Eqs. (3) and (4), p. 25-26"),
    units={"c": "mm", "d_b": "mm", "r_L": "", "r_c": "", "x_cr": "µm"},
    notes=(
        f"From tests with cover over bar diameter {TESTED[0]} to {TESTED[1]} and cover over length of the corroding part 0 to 3.",
        "The exponent 1.8 is that of the report with errata; the journal version is remembered with 1.98.",
    ),
)
def penetration_to_crack(
    c: Cover, d_b: Annotated[Length, Range("5 mm", "60 mm")], r_L: Annotated[Ratio, Range("0", "3")]
) -> CrackingPenetration:
    r"""Depth of steel whose rust cracks the cover.

    .. math:: x_{cr} = 11 \frac{c}{d_b} (r_L + 1)^{1.8}

    Parameters
    ----------
    c : quantity of length, shape (...,)
        cover of the bar
    d_b : quantity of length, shape (...,)
        bar diameter
    r_L : quantity without dimension, shape (...,)
        cover over length of the corroding part of the bar, 0 if it corrodes evenly

    Returns
    -------
    CrackingPenetration
        `r_c` cover over diameter, `x_cr` depth of steel lost when the cover cracks.

    Raises
    ------
    InputError
        If cover over diameter was not tested, or a value is out of range.

    Notes
    -----
    Source: Florida DOT BA502, Eqs. (3) and (4): 0.011 mm c/d_b (c/L + 1)^1.8.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{penetration_to_crack(Q(50, 'mm'), Q(10, 'mm'), 0).x_cr:.1f~P}"
    '55.0 µm'
    """
    r_c = cover_over_bar(c, d_b)  # cover over bar diameter
    x_cr = 11 * r_c * (r_L + 1) ** 1.8  # penetration that cracks the cover
    return CrackingPenetration(r_c, x_cr)


class CrackingTime(NamedTuple):
    """Result of `time_to_cracking`."""

    t_p: Years
    t_cr: Years


@calculation(
    title="Time to cracking of the cover",
    source=(Cite("fdot-ba502", "p. 25-26: penetration over rate of corrosion"),),
    notes=("The rate of corrosion stays as it is; it is seldom known better than to a factor of two.",),
)
def time_to_cracking(
    t_i: Annotated[Years, Range("0 yr", "1e9 yr")],
    x_cr: Annotated[Penetration, Range("0.1 µm", "5000 µm")],
    v: Annotated[PenetrationRate, Range("0.001 µm/yr", "2000 µm/yr")],
) -> CrackingTime:
    r"""Age at which the cover cracks: initiation and then corrosion until the rust breaks it.

    .. math:: t_p = \frac{x_{cr}}{v}, \quad t_{cr} = t_i + t_p

    Parameters
    ----------
    t_i : quantity of time, shape (...,)
        time to initiation
    x_cr : quantity of length, shape (...,)
        penetration that cracks the cover
    v : quantity of speed, shape (...,)
        rate of penetration

    Returns
    -------
    CrackingTime
        `t_p` time from initiation to cracking, `t_cr` age at cracking.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Source: Florida DOT BA502, p. 25-26.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{time_to_cracking(Q(30, 'yr'), Q(55, 'µm'), Q(10, 'µm/yr')).t_cr:.1f~P}"
    '35.5 a'
    """
    t_p = x_cr / v  # time from initiation to cracking
    t_cr = t_i + t_p  # age at cracking
    return CrackingTime(t_p, t_cr)
