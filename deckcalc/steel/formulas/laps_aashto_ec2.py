"""Development and lap of bars by AASHTO LRFD, edition by edition, and by EN 1992-1-1."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, constant, larger, lookup, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import Diameter, Length, Ratio, Stress
from deckcalc.steel.formulas.bars import BarDiameter, OneBarArea, plain
from deckcalc.steel.formulas.laps_aci import Cover, Strength, Yield

Factor = Annotated[Ratio, Range("1", "2")]
Bond = Literal["good", "poor"]
EIGHTH = Cite("aashto-lrfd", "5.10.8.2.1a to c, as given in public code")
TENTH = Cite("aashto-lrfd-10", "5.10.8.2.1, as given in public code")
SEVENTH = Cite("aashto-lrfd-7", "5.11.2.1", "memory")
EC2 = Cite("en-1992-1-1", "8.4.2, 8.4.3 and 8.7.3", "memory")
FACTOR_NOTE = "Factors for top bars (1.3) and epoxy (1.5 or 1.2), their product at most 1.7, are arguments."


class Seventh(NamedTuple):
    """Result of `development_aashto_7`."""

    l_1: Length
    l_2: Length
    l_b: Length
    l_calc: Length
    l_d: Length


@calculation(
    title="Development length in tension, AASHTO LRFD up to the 7th edition",
    source=SEVENTH,
    units=dict.fromkeys(("d_b", "l_1", "l_2", "l_b", "l_calc", "l_d"), "in")
    | {"A_b": "in²", "f_y": "ksi", "f_c": "ksi", "k_te": ""},
    notes=("Recalled, not seen: verify against the edition before use.", FACTOR_NOTE),
)
def development_aashto_7(d_b: BarDiameter, A_b: OneBarArea, f_y: Yield, f_c: Strength, k_te: Factor) -> Seventh:
    r"""Development length by the editions up to the 7th, bars up to #11.

    .. math:: \ell_{db} = \max\left(\frac{1.25 A_b f_y}{\sqrt{f'_c}},\ 0.4 d_b f_y\right)

    Parameters
    ----------
    d_b : quantity of length
        diameter of the bar
    A_b : quantity of area
        area of the bar
    f_y : quantity of stress
        yield strength of the bar
    f_c : quantity of stress
        strength of the concrete about the bar
    k_te : quantity without dimension
        product of the factors for position and coating

    Returns
    -------
    Seventh
        `l_1`, `l_2` the two basic lengths, `l_b` the larger, `l_calc` with factors, `l_d` development length.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO LRFD up to the 7th edition, 5.11.2.1, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{development_aashto_7(Q(0.625, 'in'), Q(0.31, 'in²'), Q(60, 'ksi'), Q(4, 'ksi'), Q(1)).l_d.to('in'):.1f~P}"
    '15.0 in'
    """
    l_1 = 1.25 * A_b * f_y / sqrt(f_c)  # basic length by the area
    l_2 = 0.4 * d_b * f_y  # basic length by the diameter
    l_b = larger(l_1, l_2)  # basic length
    l_calc = l_b * k_te  # with the factors
    l_d = larger(l_calc, 12)  # development length, at least 12 in
    return Seventh(l_1, l_2, l_b, l_calc, l_d)


class Eighth(NamedTuple):
    """Result of `development_aashto`."""

    l_b: Length
    k_1: Ratio
    k_rc: Ratio
    l_calc: Length
    l_d: Length


@calculation(
    title="Development length in tension, AASHTO LRFD 8th and 9th editions",
    source=EIGHTH,
    units=dict.fromkeys(("d_b", "c_b", "l_b", "l_calc", "l_d"), "in")
    | {"f_y": "ksi", "f_c": "ksi", "k_te": "", "lamb": "", "k_1": "", "k_rc": ""},
    notes=("Bars across the plane of splitting are left out, which is on the safe side.", FACTOR_NOTE),
)
def development_aashto(
    d_b: BarDiameter,
    f_y: Yield,
    f_c: Strength,
    c_b: Cover,
    k_te: Factor,
    lamb: Annotated[Ratio, Range("0.75", "1")],
) -> Eighth:
    r"""Development length by the 8th and 9th editions.

    .. math:: \ell_d = \frac{2.4 d_b f_y}{\sqrt{f'_c}}\frac{k_{te} k_{rc}}{\lambda},\quad 0.4 \le k_{rc} = d_b/c_b \le 1

    Parameters
    ----------
    d_b : quantity of length
        diameter of the bar
    f_y : quantity of stress
        yield strength of the bar
    f_c : quantity of stress
        strength of the concrete about the bar
    c_b : quantity of length
        smaller of cover to the bar centre and half the spacing of the bars
    k_te : quantity without dimension
        product of the factors for position and coating
    lamb : quantity without dimension
        1 for normal weight concrete

    Returns
    -------
    Eighth
        `l_b` basic length, `k_1` confinement without its lower limit, `k_rc` confinement, `l_calc` with factors, `l_d` development length.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO LRFD 8th and 9th editions, 5.10.8.2.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = development_aashto(Q(0.625, "in"), Q(60, "ksi"), Q(4, "ksi"), Q(1.3125, "in"), Q(1), Q(1))
    >>> f"{found.l_b.to('in'):.1f~P}, {found.l_d.to('in'):.1f~P}"
    '45.0 in, 21.4 in'
    """
    l_b = 2.4 * d_b * f_y / sqrt(f_c)  # basic length
    k_1 = smaller(d_b / c_b, 1)  # confinement, at most 1
    k_rc = larger(k_1, 0.4)  # confinement, at least 0.4
    l_calc = l_b * k_te * k_rc / lamb  # with the factors
    l_d = larger(l_calc, 12)  # development length, at least 12 in
    return Eighth(l_b, k_1, k_rc, l_calc, l_d)


@calculation(
    title="Development length in tension, AASHTO LRFD 10th edition",
    source=TENTH,
    units=dict.fromkeys(("d_b", "c_b", "l_b", "l_calc", "l_d"), "in")
    | {"f_y": "ksi", "f_c": "ksi", "k_te": "", "lamb": "", "k_1": "", "k_rc": ""},
    notes=(
        "From one public copy, the beginning of the equation from a second: read the specification before use.",
        FACTOR_NOTE,
    ),
)
def development_aashto_10(
    d_b: BarDiameter,
    f_y: Yield,
    f_c: Strength,
    c_b: Cover,
    k_te: Factor,
    lamb: Annotated[Ratio, Range("0.75", "1")],
) -> Eighth:
    r"""Development length of a straight bar by the 10th edition.

    .. math:: \ell_{db} = 0.17 d_b \left(\frac{f_y}{1.97\lambda f_c'^{0.25}}\right)^2,\quad 0.3 \le k_{rc} \le 1

    Parameters
    ----------
    d_b : quantity of length
        diameter of the bar
    f_y : quantity of stress
        yield strength of the bar
    f_c : quantity of stress
        strength of the concrete about the bar
    c_b : quantity of length
        smaller of cover to the bar centre and half the spacing of the bars
    k_te : quantity without dimension
        product of the factors for position and coating
    lamb : quantity without dimension
        1 for normal weight concrete

    Returns
    -------
    Eighth
        `l_b` basic length, `k_1` and `k_rc` factors, `l_calc` length by factors, `l_d` development length, as for
        `development_aashto`.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO LRFD 10th edition, 5.10.8.2.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = development_aashto_10(Q(0.625, "in"), Q(60, "ksi"), Q(4, "ksi"), Q(2, "in"), Q(1), Q(1))
    >>> f"{found.l_b.to('in'):.1f~P}"
    '49.3 in'
    """
    l_b = 0.17 * d_b * (f_y / (1.97 * lamb * f_c**0.25)) ** 2  # basic length
    k_1 = smaller(d_b / c_b, 1)  # confinement, at most 1
    k_rc = larger(k_1, 0.3)  # confinement, at least 0.3
    l_calc = l_b * k_te * k_rc  # with the factors
    l_d = larger(l_calc, 12)  # development length, at least 12 in
    return Eighth(l_b, k_1, k_rc, l_calc, l_d)


@calculation(
    title="Characteristic tensile strength of concrete, EN 1992-1-1",
    source=Cite("en-1992-1-1", "table 3.1, up to C50/60", "memory"),
    units={"f_ck": "MPa", "f_ctk": "MPa"},
    notes=("The cylinder strength is used as characteristic strength; bond is not counted above C60/75.",),
)
def tension_ec2(f_ck: Annotated[Stress, Range("12 MPa", "50 MPa")]) -> Stress:
    r"""Five per cent fractile of the tensile strength of concrete.

    .. math:: f_{ctk} = 0.7 \cdot 0.30 f_{ck}^{2/3}

    Parameters
    ----------
    f_ck : quantity of stress
        characteristic cylinder strength

    Returns
    -------
    Stress
        `f_ctk` tensile strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: EN 1992-1-1, table 3.1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{tension_ec2(Q(25, 'MPa')):.1f~P}"
    '1.8 MPa'
    """
    f_ctk = 0.7 * 0.30 * f_ck ** (2 / 3)  # tensile strength, 5 % fractile
    return f_ctk


BONDS = {"good": 1.0, "poor": 0.7}
THICK = 32  # mm
LEAST_LAP = "200 mm"


@lookup("{k[good]} in good bond conditions, {k[poor]} in others; here {bond}", k=BONDS, source=EC2)
def bond_factor(bond: Bond) -> Ratio:
    """Return the factor for the quality of bond."""
    return plain(BONDS[bond])


@lookup(
    "one up to {thick} mm, above it less by the hundredth part of each further mm; here {d_b}", thick=THICK, source=EC2
)
def thick_bar_factor(d_b: Diameter) -> Ratio:
    """Return the factor for thick bars: (132 - d_b) / 100 in the code, with d_b in mm."""
    return 1 - np.maximum(1000 * np.asarray(d_b) - THICK, 0.0)[()] / 100


class Anchored(NamedTuple):
    """Result of `lap_ec2`."""

    eta_1: Ratio
    eta_2: Ratio
    f_ctd: Stress
    f_bd: Stress
    l_b: Length
    l_calc: Length
    l_1: Length
    l_2: Length
    l_3: Length
    l_0: Length


@lookup("{least} for any bar, here of {d_b}", least=LEAST_LAP, source=EC2)
def least_lap_ec2(d_b: Diameter) -> Length:
    """Return the minimum lap of EN 1992-1-1 in whole."""
    return constant(LEAST_LAP) + 0 * d_b


@calculation(
    title="Anchorage and lap in tension, EN 1992-1-1",
    source=(EC2, Cite("ec2-anchorage-sheet", "anchorage and lap of 8 mm bars")),
    notes=(
        "Values of the clauses are from memory; the worked document beside them was seen. The national annex rules.",
    ),
)
def lap_ec2(
    d_b: BarDiameter,
    sigma_sd: Annotated[Stress, Range("50 MPa", "600 MPa")],
    f_ctk: Annotated[Stress, Range("0.8 MPa", "4 MPa")],
    gamma_c: Annotated[Ratio, Range("1", "1.8")],
    bond: Bond,
    alpha: Annotated[Ratio, Range("0.7", "1")],
    alpha_6: Annotated[Ratio, Range("1", "1.5")],
) -> Anchored:
    r"""Basic anchorage and lap length.

    .. math:: \ell_{b} = \frac{d_b}{4}\frac{\sigma_{sd}}{f_{bd}},\quad \ell_0 = \alpha\,\alpha_6 \ell_b \ge \max(0.3\alpha_6\ell_b, 15 d_b, 200\,mm)

    Parameters
    ----------
    d_b : quantity of length
        diameter of the bar
    sigma_sd : quantity of stress
        stress to anchor, the design yield strength in full
    f_ctk : quantity of stress
        tensile strength of the concrete, 5 % fractile
    gamma_c : quantity without dimension
        partial factor of concrete
    bond : {"good", "poor"}
        bond conditions
    alpha : quantity without dimension
        product of the factors for shape, cover and confinement
    alpha_6 : quantity without dimension
        factor for the share of bars lapped

    Returns
    -------
    Anchored
        `eta_1`, `eta_2` factors, `f_ctd`, `f_bd` design tensile and bond strength, `l_b` basic anchorage, `l_calc` lap by factors,
        `l_1`, `l_2`, `l_3` minima, `l_0` lap.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: EN 1992-1-1, 8.4 and 8.7, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = lap_ec2(Q(8, "mm"), Q(434.78, "MPa"), Q(1.8, "MPa"), Q(1.5), "good", Q(0.7), Q(1))
    >>> f"{found.l_b:.0f~P}, {found.l_0:.0f~P}"
    '322 mm, 225 mm'
    """
    eta_1 = bond_factor(bond)  # factor for the quality of bond
    eta_2 = thick_bar_factor(d_b)  # factor for thick bars
    f_ctd = f_ctk / gamma_c  # design tensile strength
    f_bd = 2.25 * eta_1 * eta_2 * f_ctd  # design bond strength
    l_b = d_b / 4 * sigma_sd / f_bd  # basic anchorage length
    l_calc = alpha * alpha_6 * l_b  # lap by the factors
    l_1 = larger(0.3 * alpha_6 * l_b, 15 * d_b)  # minimum lap by anchorage and diameter
    l_2 = least_lap_ec2(d_b)  # minimum lap in whole
    l_3 = larger(l_1, l_2)  # minimum lap
    l_0 = larger(l_calc, l_3)  # lap
    return Anchored(eta_1, eta_2, f_ctd, f_bd, l_b, l_calc, l_1, l_2, l_3, l_0)
