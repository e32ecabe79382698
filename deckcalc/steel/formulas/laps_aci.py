"""Development and lap of bars by ACI 318, and the length of patch that a lap asks for."""

from __future__ import annotations

import math
from typing import Annotated, Literal, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, above, below, calculation, constant, larger, lookup, smaller
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BarArea, Count, Diameter, Length, Quantity, Ratio, Stress
from deckcalc.steel.formulas.bars import MPA, PSI, BarDiameter, each, of_form, plain, thickest

FormName = Literal["US", "SI", "SI 9/10", "SI 1/1.1"]
Coating = Literal["uncoated", "epoxy"]
Case = Literal["cover and spacing met", "other"]
LapClass = Literal["A", "B"]
Yield = Annotated[Stress, Range("150 MPa", "700 MPa")]
Strength = Annotated[Stress, Range("10 MPa", "100 MPa")]
Cover = Annotated[Length, Range("5 mm", "300 mm")]
Development = Annotated[Length, Range("10 mm", "10 m")]
MET = {"cover": 1, "space": 2}  # diameters of the bar from which the case of the simplified equations is met
GENERAL = Cite("mccormac", "ACI 318-11, equation 12-1, as reproduced in section 7.4")
SIMPLE = Cite("mccormac", "table 7.2 (ACI 318-11, 12.2.2)")
METRIC = "no example with the metric constants was found in print; the tests hold it against the US form"
FORM_NOTE = (
    "The US form and the metric ones are rounded apart: the metric length with 9/10 is 0.4 % shorter and that with 1/1.1 "
    "(from memory: 318M-11 and later) 0.7 % longer than the US one for the same bar and concrete."
)


#: Constants of the forms: one of US customary units, and metric ones.
MOST_ROOT = {"US": "100 psi", "SI": "25/3 MPa"}
MUCH_BELOW = {"US": "12 in", "SI": "300 mm"}
LEAST_LENGTH = {"US": "12 in", "SI": "300 mm"}
COATED = {"close": 1.5, "other": 1.2, "none": 1.0, "cover": 3, "space": 6}
SMALL, LAPPED = ("#6", "M19"), ("#11", "M36")  # thickest bars with a factor below 1, and that may be lapped
SIMPLE_DIVISORS = {"US": ("25", "20", "50/3", "40/3"), "SI": ("2.1", "1.7", "1.4", "1.1")}


@lookup(
    "the square root of {f_c} in the unit of the form {form} (US: psi, SI: MPa), not above {most[US]} or {most[SI]}",
    most=MOST_ROOT, source=GENERAL,
)  # fmt: skip
def root_of_strength(f_c: Stress, form: FormName) -> Stress:
    """Return the square root of the concrete strength, taken as a stress in the unit of the form."""
    unit, most = PSI if form == "US" else MPA, of_form(MOST_ROOT, form)
    return each(lambda f: min(math.sqrt(f / unit) * unit, most), f_c)


@lookup(
    "{top} where more than {much[US]} (US) or {much[SI]} (SI) of fresh concrete lie below, else {other}; here {h_below} and the "
    "form {form}",
    top=1.3, other=1.0, much=MUCH_BELOW, source=GENERAL,
)  # fmt: skip
def top_factor(h_below: Length, form: FormName) -> Ratio:
    """Return the factor for bars with much fresh concrete below."""
    data = top_factor.data
    return each(lambda h: data["top"] if above(h, of_form(MUCH_BELOW, form)) else data["other"], h_below)


@lookup(
    "{k[none]} for an uncoated bar; {k[close]} for epoxy with cover below {k[cover]} or clear spacing below {k[space]} diameters, "
    "else {k[other]}; here {coating}, cover {c_c}, clear spacing {c_s}, diameter {d_b}",
    k=COATED, source=GENERAL,
)  # fmt: skip
def coating_factor(coating: Coating, c_c: Length, c_s: Length, d_b: Diameter) -> Ratio:
    """Return the factor for coated bars."""
    if coating == "uncoated":
        return plain(COATED["none"])

    def one(cover: float, space: float, d: float) -> float:
        return COATED["close" if below(cover, COATED["cover"] * d) or below(space, COATED["space"] * d) else "other"]

    return each(one, c_c, c_s, d_b)


@lookup(
    "{small} for {bar[0]} ({bar[1]}) and smaller, {large} for larger bars; here {d_b}",
    small=0.8, large=1.0, bar=SMALL, source=GENERAL,
)  # fmt: skip
def size_factor(d_b: Diameter) -> Ratio:
    """Return the factor for small bars."""
    return each(lambda d: size_factor.data["large" if above(d, thickest(*SMALL)) else "small"], d_b)


class Developed(NamedTuple):
    """Result of `development_aci`."""

    k: Ratio
    r_c: Stress
    psi_t: Ratio
    psi_e: Ratio
    psi_s: Ratio
    psi_te: Ratio
    K_tr: Length
    k_b: Ratio
    k_c: Ratio
    n_d: Ratio
    l_calc: Length
    l_min: Length
    l_d: Length


@calculation_by_form(
    title="Development length in tension, ACI 318, general equation",
    source=GENERAL,
    notes=(
        FORM_NOTE,
        "The index of bars across has 42 beside 9/10 (an example in print) and 40 beside 1/1.1 (from memory).",
        "Single bars; for a bundle see the calculation of bars in a bundle.",
        "Bars of Grade 60 (420 MPa) or less: the factor for stronger steel of the 2019 code is not in it.",
    ),
    forms={
        "US": Form({"c": "3/40", "c_tr": 40, "l_0": LEAST_LENGTH["US"]}),
        "SI 9/10": Form({"c": "9/10", "c_tr": 42, "l_0": LEAST_LENGTH["SI"]}),
        "SI 1/1.1": Form({"c": "1/1.1", "c_tr": 40, "l_0": LEAST_LENGTH["SI"]}, unchecked=METRIC),
    },
)
def development_aci(
    d_b: BarDiameter,
    f_y: Yield,
    f_c: Strength,
    c_b: Cover,
    A_tr: Annotated[BarArea, Range("0 mm²", "5000 mm²")],
    s_tr: Annotated[Length, Range("25 mm", "1 m")],
    n_b: Annotated[Count, Range("1", "50")],
    h_below: Annotated[Length, Range("0 mm", "5 m")],
    coating: Coating,
    c_c: Cover,
    c_s: Cover,
    lamb: Annotated[Ratio, Range("0.75", "1")],
    *,
    c: Ratio,
    c_tr: Ratio,
    l_0: Length,
    form: str,
) -> Developed:
    r"""Development length of a straight bar in tension by the general equation of ACI 318.

    .. math:: \ell_d = k\,\frac{f_y}{\lambda\sqrt{f'_c}}\frac{\psi_t\psi_e\psi_s}{(c_b + K_{tr})/d_b} d_b

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
    A_tr : quantity of area
        area of bars across the plane of splitting; 0 is allowed and on the safe side
    s_tr : quantity of length
        spacing of those bars
    n_b : quantity without dimension
        bars developed in that plane
    h_below : quantity of length
        fresh concrete below the bar
    coating : {"uncoated", "epoxy"}
        coating of the bar
    c_c : quantity of length
        clear cover of the bar
    c_s : quantity of length
        clear spacing of the bars
    lamb : quantity without dimension
        1 for normal weight concrete, 0.75 for lightweight
    form : {"US", "SI 9/10", "SI 1/1.1"}
        form of the equation

    Returns
    -------
    Developed
        `k` coefficient, `r_c` root of the strength, `psi_t`, `psi_e`, `psi_s`, `psi_te` factors, `K_tr` index of bars
        across, `k_b`, `k_c` confinement before and after its limit, `n_d` length in diameters, `l_calc` length, `l_min` minimum length,
        `l_d` development length.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11, equation 12-1.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = development_aci(
    ...     Q(1, "in"), Q(60, "ksi"), Q(3, "ksi"), Q(1.5, "in"), Q(0.22, "in²"), Q(8, "in"), Q(3), Q(2, "in"), "uncoated",
    ...     Q(1, "in"), Q(2, "in"), Q(1), form="US")
    >>> f"{found.n_d:.0f~P}"
    '44'
    """
    k = c  # coefficient of the equation
    r_c = root_of_strength(f_c, form)  # root of the concrete strength
    psi_t = top_factor(h_below, form)  # factor for the position of the bar
    psi_e = coating_factor(coating, c_c, c_s, d_b)  # factor for coating
    psi_s = size_factor(d_b)  # factor for the size of the bar
    psi_te = smaller(psi_t * psi_e, 1.7)  # position and coating together, at most 1.7
    K_tr = c_tr * A_tr / (s_tr * n_b)  # index of bars across the plane of splitting
    k_b = (c_b + K_tr) / d_b  # confinement
    k_c = smaller(k_b, 2.5)  # confinement, at most 2.5
    n_d = k * f_y / (lamb * r_c) * (psi_te * psi_s / k_c)  # length in diameters
    l_calc = n_d * d_b  # length by the equation
    l_min = l_0  # minimum length
    l_d = larger(l_calc, l_min)  # development length
    return Developed(k, r_c, psi_t, psi_e, psi_s, psi_te, K_tr, k_b, k_c, n_d, l_calc, l_min, l_d)


@lookup(
    "divisor for the case “{case}” and the form {form}, bars of {d_b}: {q[US][0]}, {q[US][1]}, {q[US][2]} and {q[US][3]} (US) or, from "
    "memory, {q[SI][0]}, {q[SI][1]}, {q[SI][2]} and {q[SI][3]} (SI), the first of each pair up to {bar[0]} ({bar[1]}), the second pair "
    "for other cases",
    q=SIMPLE_DIVISORS, bar=SMALL, source=SIMPLE,
)  # fmt: skip
def simple_divisor(case: Case, d_b: Diameter, form: FormName) -> Ratio:
    """Return the divisor of the simplified equations."""
    of_all = [constant(text) for text in SIMPLE_DIVISORS["US" if form == "US" else "SI"]]
    small, large = of_all[:2] if case == "cover and spacing met" else of_all[2:]
    return each(lambda d: large if above(d, thickest(*SMALL)) else small, d_b)


class Simple(NamedTuple):
    """Result of `development_aci_simple`."""

    q_d: Ratio
    r_c: Stress
    psi_t: Ratio
    psi_e: Ratio
    psi_te: Ratio
    n_d: Ratio
    l_calc: Length
    l_min: Length
    l_d: Length


@calculation_by_form(
    title="Development length in tension, ACI 318, simplified equations",
    source=SIMPLE,
    notes=(
        f"The case is met with a cover of {MET['cover']} diameter and a clear spacing of {MET['space']}.",
        "The metric divisors are from memory; they give lengths up to 2 % off the US form.",
    ),
    forms={"US": Form({"l_0": LEAST_LENGTH["US"]}), "SI": Form({"l_0": LEAST_LENGTH["SI"]}, unchecked=METRIC)},
)
def development_aci_simple(
    d_b: BarDiameter,
    f_y: Yield,
    f_c: Strength,
    case: Case,
    h_below: Annotated[Length, Range("0 mm", "5 m")],
    coating: Coating,
    c_c: Cover,
    c_s: Cover,
    lamb: Annotated[Ratio, Range("0.75", "1")],
    *,
    l_0: Length,
    form: str,
) -> Simple:
    r"""Development length of a straight bar in tension by the simplified equations of ACI 318.

    .. math:: \ell_d = \frac{f_y\,\psi_t\psi_e}{q_d\,\lambda\sqrt{f'_c}} d_b

    Parameters
    ----------
    d_b : quantity of length
        diameter of the bar
    f_y : quantity of stress
        yield strength of the bar
    f_c : quantity of stress
        strength of the concrete about the bar
    case : {"cover and spacing met", "other"}
        case of the equations
    h_below : quantity of length
        fresh concrete below the bar
    coating : {"uncoated", "epoxy"}
        coating of the bar
    c_c : quantity of length
        clear cover of the bar
    c_s : quantity of length
        clear spacing of the bars
    lamb : quantity without dimension
        1 for normal weight concrete, 0.75 for lightweight
    form : {"US", "SI"}
        form of the equations

    Returns
    -------
    Simple
        `q_d` divisor, `r_c` root of the strength, `psi_t`, `psi_e`, `psi_te` factors, `n_d` length in diameters, `l_calc` length by
        the equation, `l_min` minimum length, `l_d` development length.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11, 12.2.2.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = development_aci_simple(
    ...     Q(0.625, "in"), Q(60, "ksi"), Q(4, "ksi"), "cover and spacing met", Q(2, "in"), "uncoated", Q(2, "in"), Q(5, "in"),
    ...     Q(1), form="US")
    >>> f"{1.3 * found.l_d.to('in'):.1f~P}"
    '30.8 in'
    """
    q_d = simple_divisor(case, d_b, form)  # divisor of the case
    r_c = root_of_strength(f_c, form)  # root of the concrete strength
    psi_t = top_factor(h_below, form)  # factor for the position of the bar
    psi_e = coating_factor(coating, c_c, c_s, d_b)  # factor for coating
    psi_te = smaller(psi_t * psi_e, 1.7)  # position and coating together, at most 1.7
    n_d = f_y * psi_te / (q_d * lamb * r_c)  # length in diameters
    l_calc = n_d * d_b  # length by the equation
    l_min = l_0  # minimum length
    l_d = larger(l_calc, l_min)  # development length
    return Simple(q_d, r_c, psi_t, psi_e, psi_te, n_d, l_calc, l_min, l_d)


@lookup(
    "{k[A]} for class A, {k[B]} for class B; here class {lap_class}. Bars above {bar[0]} ({bar[1]}) may not be lapped; here {d_b}",
    k={"A": 1.0, "B": 1.3}, bar=LAPPED,
    source=Cite("mccormac", "sections 7.12 and 7.13 (ACI 318-11, 12.14.2.1 and 12.15)"),
)  # fmt: skip
def lap_factor(lap_class: LapClass, d_b: Diameter) -> Ratio:
    """Return the factor of the class of lap."""
    if np.any(above(d_b, thickest(*LAPPED))):
        raise TableError(f"bars above {LAPPED[0]} ({LAPPED[1]}) may not be lapped in tension; use a coupler or a weld")
    return plain(lap_factor.data["k"][lap_class])


class Lap(NamedTuple):
    """Result of `lap_length`."""

    k_l: Ratio
    l_s: Length
    l_two: Length
    l_lap: Length


@calculation(
    title="Lap of an added bar on a sound existing bar",
    source=Cite("mccormac", "sections 7.12 and 7.13 (ACI 318-11, 12.15)"),
    notes=(
        "Class B, unless twice the area needed is there and at most half of the bars are lapped within a lap.",
        "The lap begins where the existing bar is sound again: a lap over corroded ribs counts for nothing.",
    ),
)
def lap_length(
    l_1: Development,
    l_2: Development,
    d_b: BarDiameter,
    lap_class: LapClass,
    l_min: Annotated[Length, Range("100 mm", "1 m")],
) -> Lap:
    r"""Lap of bars of two sizes.

    .. math:: \ell_{lap} = \max(1.3\,\ell_1, \ell_2, \ell_{min})

    Parameters
    ----------
    l_1 : quantity of length
        development length of the added bar, without its minimum
    l_2 : quantity of length
        development length of the existing bar
    d_b : quantity of length
        diameter of the larger bar
    lap_class : {"A", "B"}
        class of the lap
    l_min : quantity of length
        minimum lap

    Returns
    -------
    Lap
        `k_l` factor of the class, `l_s` lap of the added bar, `l_two` larger of it and the development of the existing bar, `l_lap` lap.

    Raises
    ------
    InputError
        If a bar is too large to be lapped.

    Notes
    -----
    Source: ACI 318-11, 12.15.1 and 12.15.3.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = lap_length(Q(10.2, "in"), Q(12, "in"), Q(0.625, "in"), "B", Q(12, "in"))
    >>> f"{found.l_lap.to('in'):.2f~P}"
    '13.26 in'
    """
    k_l = lap_factor(lap_class, d_b)  # factor of the class
    l_s = k_l * l_1  # lap of the added bar
    l_two = larger(l_s, l_2)  # larger of it and the development of the existing bar
    l_lap = larger(l_two, l_min)  # lap
    return Lap(k_l, l_s, l_two, l_lap)


def simple_case(c_c: Quantity, c_s: Quantity, d_b: Quantity) -> Case:
    """Return the case of the simplified equations by the cover and the clear spacing of the bars.

    Examples
    --------
    >>> from deckcalc import Q
    >>> simple_case(Q(2, "in"), Q(5, "in"), Q(1, "in")), simple_case(Q(2, "in"), Q(1.9, "in"), Q(1, "in"))
    ('cover and spacing met', 'other')
    """
    met = not below(c_c, MET["cover"] * d_b) and not below(c_s, MET["space"] * d_b)
    return "cover and spacing met" if met else "other"
