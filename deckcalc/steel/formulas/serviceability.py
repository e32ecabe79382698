"""Stress of the bars in service, spacing for crack control, punching of a wheel beside a hole."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

from deckcalc.core.calculation import Range, calculation, lookup, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import Area, Force, Length, Moment, Ratio, SecondMoment, Stress
from deckcalc.steel.formulas.bars import of_form, plain
from deckcalc.steel.formulas.flexure import Bars, Depth, Width
from deckcalc.steel.formulas.laps_aci import Form, Strength, root_of_strength

Edge = Literal["no hole near", "hole at one side", "hole at a corner"]
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


CRACK_LENGTH = {"US": "15 in", "SI": "380 mm"}
CRACK_CAP = {"US": "12 in", "SI": "300 mm"}
CRACK_STRESS = {"US": "40 000 psi", "SI": "280 MPa"}
PUNCHING = {"US": "4", "SI": "1/3"}


@lookup(
    "{x[US]} (US) or {x[SI]} (SI), here the form {form}, whatever the cover, here {c_c}",
    x=CRACK_LENGTH,
    source=ACI_CRACK,
)
def crack_length(form: Form, c_c: Length) -> Length:
    """Return the length in the spacing of ACI."""
    return of_form(CRACK_LENGTH, form) + 0 * c_c


@lookup(
    "{x[US]} (US) or {x[SI]} (SI), here the form {form}, whatever the cover, here {c_c}", x=CRACK_CAP, source=ACI_CRACK
)
def crack_cap(form: Form, c_c: Length) -> Length:
    """Return the length in the greatest spacing of ACI."""
    return of_form(CRACK_CAP, form) + 0 * c_c


@lookup(
    "{x[US]} (US) or {x[SI]} (SI), here the form {form}, whatever the stress, here {f_s}",
    x=CRACK_STRESS,
    source=ACI_CRACK,
)
def crack_stress(form: Form, f_s: Stress) -> Stress:
    """Return the stress of reference in the spacing of ACI."""
    return of_form(CRACK_STRESS, form) + 0 * f_s


@calculation(
    title="Greatest spacing of bars for crack control, ACI 318",
    source=ACI_CRACK,
    notes=("Not meant for surfaces under deicing salt: there the rule of the bridge specification stands beside it.",),
)
def crack_spacing(f_s: ServiceStress, c_c: Annotated[Length, Range("5 mm", "200 mm")], form: Form) -> CrackAci:
    r"""Greatest spacing of bars by ACI 318.

    .. math:: s = 15\,\frac{40\,000}{f_s} - 2.5 c_c \le 12\,\frac{40\,000}{f_s}

    Parameters
    ----------
    f_s : quantity of stress
        stress of the bars in service
    c_c : quantity of length
        clear cover of the bars
    form : {"US", "SI 9/10", "SI 1/1.1"}
        form of the equation

    Returns
    -------
    CrackAci
        `s_0` length and `f_0` stress of reference, `s_1` spacing, `s_c` and `s_cap` its cap, `s_max` greatest spacing.

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
    >>> f"{crack_spacing(Q(40, 'ksi'), Q(2, 'in'), 'US').s_max.to('in'):.1f~P}"
    '10.0 in'
    """
    s_0 = crack_length(form, c_c)  # length of reference
    f_0 = crack_stress(form, f_s)  # stress of reference
    s_1 = s_0 * f_0 / f_s - 2.5 * c_c  # spacing by the cover
    s_c = crack_cap(form, c_c)  # length of the cap
    s_cap = s_c * f_0 / f_s  # cap of the spacing
    s_max = smaller(s_1, s_cap)  # greatest spacing
    return CrackAci(s_0, f_0, s_1, s_c, s_cap, s_max)


class CrackLrfd(NamedTuple):
    """Result of `crack_spacing_aashto`."""

    beta_s: Ratio
    f_k: Stress
    s_max: Length


@calculation(
    title="Greatest spacing of bars for crack control, AASHTO LRFD",
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
    r"""Greatest spacing of bars by AASHTO LRFD.

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
        `beta_s` ratio of strains, `f_k` stress counted, `s_max` greatest spacing.

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
    s_max = 700 * gamma_e / (beta_s * f_k) - 2 * d_c  # greatest spacing
    return CrackLrfd(beta_s, f_k, s_max)


@lookup(
    "round the wheel {w_1} × {w_2} at half the depth {d} from it: four sides; three with a hole at one side; two with a hole at a corner. "
    "Here: {edge}",
    source=Cite("mccormac", "section 16.4 (ACI 318-11, 11.11.1.2)"),
)
def punching_perimeter(w_1: Length, w_2: Length, d: Length, edge: Edge) -> Length:
    """Return the length of the critical section for punching."""
    if edge == "no hole near":
        return 2 * (w_1 + d) + 2 * (w_2 + d)
    if edge == "hole at one side":
        return 2 * (w_1 + d / 2) + (w_2 + d)
    return (w_1 + d / 2) + (w_2 + d / 2)


@lookup(
    "{k[US]} (US) or {k[SI]} (SI), here the form {form}", k=PUNCHING,
    source=Cite("mccormac", "example 16.3 (ACI 318-11, 11.11.2.1)"),
)  # fmt: skip
def punching_root(form: Form) -> Ratio:
    """Return the factor of the root of the strength in punching."""
    return plain(of_form(PUNCHING, form))


class Punching(NamedTuple):
    """Result of `punching`."""

    b_o: Length
    r_c: Stress
    k_v: Ratio
    A_v: Area
    V_c: Force
    V_r: Force
    V_u: Force
    r_v: Ratio


@calculation(
    title="Punching of a wheel through the remaining slab",
    source=Cite("mccormac", "example 16.3 (ACI 318-11, 11.11.2.1)"),
    notes=(
        "Normal weight concrete; the wheel is not longer than twice its width. Moment that goes with the shear at an edge is left out: "
        "beside a hole the true strength is lower. A partly removed slab has the depth that is left below.",
    ),
)
def punching(
    P: Annotated[Force, Range("5 kN", "500 kN")],
    k_P: Annotated[Ratio, Range("0.5", "4")],
    w_1: Annotated[Length, Range("50 mm", "1 m")],
    w_2: Annotated[Length, Range("50 mm", "1 m")],
    d: Annotated[Length, Range("10 mm", "1 m")],
    f_c: Strength,
    edge: Edge,
    phi: Annotated[Ratio, Range("0.5", "1")],
    form: Form,
) -> Punching:
    r"""Strength of a slab against punching by a wheel, over the factored wheel load.

    .. math:: V_r = \phi\,4\sqrt{f'_c}\,b_o d

    Parameters
    ----------
    P : quantity of force
        wheel load
    k_P : quantity without dimension
        product of load factor, impact and multiple presence
    w_1 : quantity of length
        side of the wheel square to the edge of the hole
    w_2 : quantity of length
        side of the wheel along the edge of the hole
    d : quantity of length
        depth from the compression face to the bars of the slab that is left
    f_c : quantity of stress
        strength of the concrete
    edge : {"no hole near", "hole at one side", "hole at a corner"}
        how near a hole is
    phi : quantity without dimension
        factor of resistance in shear
    form : {"US", "SI 9/10", "SI 1/1.1"}
        form of the equation

    Returns
    -------
    Punching
        `b_o` critical perimeter, `r_c` root of the strength, `k_v` factor, `A_v` area, `V_c` nominal and `V_r` strength, `V_u` factored
        wheel, `r_v` capacity to demand.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11, 11.11.2.1. AASHTO's 0.126 with roots in ksi is the same number.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = punching(Q(82.47, "kip"), Q(1), Q(16, "in"), Q(12, "in"), Q(6.25, "in"), Q(3, "ksi"), "no hole near", Q(0.75), "US")
    >>> f"{found.V_r.to('kip'):.2f~P}"
    '83.19 kip'
    """
    b_o = punching_perimeter(w_1, w_2, d, edge)  # critical perimeter
    r_c = root_of_strength(f_c, form)  # root of the concrete strength
    k_v = punching_root(form)  # factor of the root
    A_v = b_o * d  # area in shear
    V_c = k_v * r_c * A_v  # nominal strength
    V_r = phi * V_c  # strength
    V_u = k_P * P  # factored wheel load
    r_v = V_r / V_u  # capacity to demand
    return Punching(b_o, r_c, k_v, A_v, V_c, V_r, V_u, r_v)
