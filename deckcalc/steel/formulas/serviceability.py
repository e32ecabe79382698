"""Stress of the bars in service, and spacing for crack control."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, smaller, sqrt
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import Length, Moment, Ratio, SecondMoment, Stress
from deckcalc.steel.formulas.flexure import Bars, Depth, Width

ServiceStress = Annotated[Stress, Range("5 MPa", "500 MPa")]


class Cracked(NamedTuple):
    """Result of `cracked_section`."""

    q_n: Length
    x: Length
    I_cr: SecondMoment
    f_cs: Stress
    f_ss: Stress


@calculation(
    title="Stresses of the cracked strip in service",
    source=Cite("mccormac", "examples 2.3 and 2.4"),
    notes=("Elastic, concrete in tension left out, one layer of bars.",),
)
def cracked_section(
    M: Annotated[Moment, Range("0.1 kN·m", "5000 kN·m")],
    A_s: Bars,
    b: Width,
    d: Depth,
    n: Annotated[Ratio, Range("4", "20")],
) -> Cracked:
    r"""Stresses of a cracked rectangular section under a service moment.

    .. math:: \frac{b x^2}{2} = n A_s (d - x),\quad f_{ss} = \frac{n M (d - x)}{I_{cr}}

    Parameters
    ----------
    M : quantity of moment
        moment of the strip in service
    A_s : quantity of area
        area of the bars in the strip
    b : quantity of length
        width of the strip
    d : quantity of length
        depth from the compression face to the bars
    n : quantity without dimension
        ratio of the moduli of steel and concrete

    Returns
    -------
    Cracked
        `q_n` transformed area over width, `x` depth of the neutral axis, `I_cr` second moment of area, `f_cs` stress of the concrete,
        `f_ss` of the bars.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: McCormac and Brown, section 2.3.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = cracked_section(Q(70, "kip*ft"), Q(3, "in²"), Q(12, "in"), Q(17, "in"), Q(9))
    >>> f"{found.x.to('in'):.2f~P}, {found.I_cr.to('in⁴').magnitude:.0f}"
    '6.78 in, 4067'
    """
    q_n = n * A_s / b  # transformed area over the width
    x = sqrt(q_n**2 + 2 * q_n * d) - q_n  # depth of the neutral axis
    I_cr = b * x**3 / 3 + n * A_s * (d - x) ** 2  # second moment of area of the cracked section
    f_cs = M * x / I_cr  # stress of the concrete
    f_ss = n * M * (d - x) / I_cr  # stress of the bars
    return Cracked(q_n, x, I_cr, f_cs, f_ss)


class CrackAci(NamedTuple):
    """Result of `crack_spacing`."""

    s_0: Length
    f_0: Stress
    s_1: Length
    s_c: Length
    s_cap: Length
    s_max: Length


ACI_CRACK = Cite("mccormac", "section 6.11, example 6.4 (ACI 318-11, 10.6.4)")


@calculation_by_form(
    title="Maximum spacing of bars for crack control, ACI 318",
    source=ACI_CRACK,
    notes=("Not meant for surfaces under deicing salt: there the rule of the bridge specification stands beside it.",),
    forms={
        "US": Form({"s_a": "15 in", "s_b": "12 in", "f_a": "40 ksi"}),
        "SI": Form({"s_a": "380 mm", "s_b": "300 mm", "f_a": "280 MPa"}),
    },
)
def crack_spacing(
    f_s: ServiceStress, c_c: Annotated[Length, Range("5 mm", "200 mm")], *, s_a: Length, s_b: Length, f_a: Stress
) -> CrackAci:
    r"""Maximum spacing of bars by ACI 318.

    .. math:: s = s_0\,\frac{f_0}{f_s} - 2.5 c_c \le s_c\,\frac{f_0}{f_s}

    Parameters
    ----------
    f_s : quantity of stress
        stress of the bars in service
    c_c : quantity of length
        clear cover of the bars
    form : {"US", "SI"}
        form of the equation

    Returns
    -------
    CrackAci
        `s_0` length and `f_0` stress of reference, `s_1` spacing, `s_c` and `s_cap` its cap, `s_max` maximum spacing.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11, 10.6.4.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{crack_spacing(Q(40, 'ksi'), Q(2, 'in'), form='US').s_max.to('in'):.1f~P}"
    '10.0 in'
    """
    s_0 = s_a  # length of reference
    f_0 = f_a  # stress of reference
    s_1 = s_0 * f_0 / f_s - 2.5 * c_c  # spacing by the cover
    s_c = s_b  # length of the cap
    s_cap = s_c * f_0 / f_s  # cap of the spacing
    s_max = smaller(s_1, s_cap)  # maximum spacing
    return CrackAci(s_0, f_0, s_1, s_c, s_cap, s_max)


class CrackLrfd(NamedTuple):
    """Result of `crack_spacing_aashto`."""

    beta_s: Ratio
    f_k: Stress
    s_max: Length


@calculation(
    title="Maximum spacing of bars for crack control, AASHTO LRFD",
    source=Cite("aashto-lrfd", "5.6.7", "memory"),
    units={
        "f_ss": "ksi",
        "f_y": "ksi",
        "f_k": "ksi",
        "d_c": "in",
        "h": "in",
        "gamma_e": "",
        "beta_s": "",
        "s_max": "in",
    },
    notes=(
        "Recalled, not seen with numbers. Exposure factor 1.00 for class 1 and 0.75 for class 2, to which decks under deicing salt "
        "commonly belong. The stress is not taken above 60 % of the yield strength.",
    ),
)
def crack_spacing_aashto(
    f_ss: ServiceStress,
    f_y: Annotated[Stress, Range("150 MPa", "700 MPa")],
    d_c: Annotated[Length, Range("5 mm", "200 mm")],
    h: Annotated[Length, Range("50 mm", "2 m")],
    gamma_e: Annotated[Ratio, Range("0.5", "1")],
) -> CrackLrfd:
    r"""Maximum spacing of bars by AASHTO LRFD.

    .. math:: s \le \frac{700\gamma_e}{\beta_s f_{ss}} - 2 d_c,\quad \beta_s = 1 + \frac{d_c}{0.7(h - d_c)}

    Parameters
    ----------
    f_ss : quantity of stress
        stress of the bars in service
    f_y : quantity of stress
        yield strength of the bars
    d_c : quantity of length
        cover to the centre of the bars
    h : quantity of length
        thickness of the slab
    gamma_e : quantity without dimension
        exposure factor

    Returns
    -------
    CrackLrfd
        `beta_s` ratio of strains, `f_k` stress counted, `s_max` maximum spacing.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO LRFD 5.6.7, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{crack_spacing_aashto(Q(30, 'ksi'), Q(60, 'ksi'), Q(1.3125, 'in'), Q(7.5, 'in'), Q(0.75)).s_max.to('in'):.1f~P}"
    '10.8 in'
    """
    beta_s = 1 + d_c / (0.7 * (h - d_c))  # ratio of strains at face and bars
    f_k = smaller(f_ss, 0.6 * f_y)  # stress of the bars, at most 60 % of the yield strength
    s_max = 700 * gamma_e / (beta_s * f_k) - 2 * d_c  # maximum spacing
    return CrackLrfd(beta_s, f_k, s_max)
