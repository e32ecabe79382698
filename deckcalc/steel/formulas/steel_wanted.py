"""Reinforcement for a required moment, what is missing of it, and the minimum moment of AASHTO LRFD."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, above, calculation, larger, lookup, smaller, sqrt
from deckcalc.core.forms import BOTH, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BarArea, Count, Length, Moment, MomentPerWidth, Ratio, SectionModulus, Strain, Stress
from deckcalc.steel.formulas.bars import OneBarArea, each
from deckcalc.steel.formulas.flexure import BETA, DUCTILE, MOST_PHI, Depth, Width, Yield, stress_block
from deckcalc.steel.formulas.laps_aci import Strength

WANTED = Cite("mccormac", "section 4.3, examples 4.5 and 4.6")
PerWidth = Annotated[MomentPerWidth, Range("0.01 kN·m/m", "1000 kN·m/m")]


@lookup(
    "one less {q_m}; where nothing is left, no steel makes the section strong enough", source=WANTED
)  # fmt: skip
def root_term(q_m: Ratio) -> Ratio:
    """Return what stands under the root; refuse a moment that the concrete cannot balance."""
    if np.any(np.asarray(q_m) >= 1):
        raise TableError("no area of steel gives this moment: the section is too shallow; make it deeper or stronger")
    return 1 - q_m


@lookup(
    "the strain {epsilon_t} is not below {ductile}, from which the resistance factor is {phi:.2f} in both codes",
    ductile=DUCTILE, phi=MOST_PHI, source=WANTED,
)  # fmt: skip
def tension_controlled(epsilon_t: Strain) -> Strain:
    """Return the strain if it allows the resistance factor that was taken."""
    if np.any(np.asarray(epsilon_t) < DUCTILE * (1 - 1e-9)):
        raise TableError(
            f"so much steel leaves the bars a strain below {DUCTILE}, and the resistance factor {MOST_PHI:.2f} does not hold: the section is "
            "too shallow for this moment"
        )
    return epsilon_t


class Wanted(NamedTuple):
    """Result of `steel_for_moment`."""

    R_n: Stress
    q_m: Ratio
    k_q: Ratio
    rho: Ratio
    A_s: BarArea
    beta_1: Ratio
    a: Length
    c: Length
    epsilon_c: Strain
    epsilon_t: Strain


@calculation_by_form(
    title="Reinforcement for a required moment, one layer of bars",
    source=WANTED,
    notes=(
        "Resistance factor 0.90; a section that would need a lower one is refused. The minimum reinforcement is checked apart.",
        BETA,
    ),
    forms=BOTH,
)
def steel_for_moment(
    M_u: Annotated[Moment, Range("0.1 kN·m", "5000 kN·m")], b: Width, d: Depth, f_c: Strength, f_y: Yield, *, form: str
) -> Wanted:
    r"""Area of steel that gives a rectangular section a required strength.

    .. math:: R_n = \frac{M_u}{0.90\,b d^2},\quad \rho = \frac{0.85 f'_c}{f_y}\left(1 - \sqrt{1 - \frac{2R_n}{0.85 f'_c}}\right)

    Parameters
    ----------
    M_u : quantity of moment
        factored moment that the strip must carry
    b : quantity of length
        width of the strip
    d : quantity of length
        depth from the compression face to the bars
    f_c : quantity of stress
        strength of the concrete
    f_y : quantity of stress
        yield strength of the bars
    form : {"US", "SI"}
        form of the stress block

    Returns
    -------
    Wanted
        `R_n` moment over width and depth squared, `q_m` share of the concrete used, `k_q` term under the root, `rho` ratio of steel,
        `A_s` its area, `beta_1` factor and `a` depth of the stress block, `c` depth of the neutral axis, `epsilon_c` strain of the
        bars, `epsilon_t` the same where the resistance factor holds.

    Raises
    ------
    InputError
        If no area of steel gives the moment, or a value lies outside its range.

    Notes
    -----
    Source: McCormac and Brown, section 4.3.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = steel_for_moment(Q(160, "kip*ft"), Q(16, "in"), Q(21, "in"), Q(3, "ksi"), Q(60, "ksi"), form="US")
    >>> f"{found.R_n.to('psi'):.1f~P}, {found.A_s.to('in²'):.2f~P}"
    '302.3 psi, 1.81 in²'
    """
    R_n = M_u / (0.90 * b * d**2)  # moment over width and depth squared
    q_m = 2 * R_n / (0.85 * f_c)  # share of the concrete used
    k_q = root_term(q_m)  # term under the root
    rho = 0.85 * f_c / f_y * (1 - sqrt(k_q))  # ratio of steel
    A_s = rho * b * d  # area of steel
    beta_1 = stress_block(f_c, form)  # factor of the stress block
    a = A_s * f_y / (0.85 * f_c * b)  # depth of the stress block
    c = a / beta_1  # depth of the neutral axis
    epsilon_c = 0.003 * (d - c) / c  # strain of the bars
    epsilon_t = tension_controlled(epsilon_c)  # strain that allows the resistance factor
    return Wanted(R_n, q_m, k_q, rho, A_s, beta_1, a, c, epsilon_c, epsilon_t)


@calculation(
    title="Moment of the strip for a demand per width", source=Cite("", "demand over the factors", "common practice")
)
def strip_moment(m_u: PerWidth, phi_cs: Annotated[Ratio, Range("0.7", "1")], b: Width) -> Moment:
    r"""Factored moment that the strip must be made for.

    .. math:: M_u = m_u\,b / \varphi_{cs}

    Parameters
    ----------
    m_u : quantity of moment per width
        factored demand
    phi_cs : quantity without dimension
        product of condition and system factors
    b : quantity of length
        width of the strip

    Returns
    -------
    Moment
        `M_u` moment.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strip_moment(Q(9.5, 'kip*ft/ft'), Q(0.95), Q(1, 'ft')).to('kip*ft'):.1f~P}"
    '10.0 ft·kip'
    """
    M_u = m_u * b / phi_cs  # moment that the strip is made for
    return M_u


class Missing(NamedTuple):
    """Result of `missing_steel`."""

    A_less: BarArea
    A_more: BarArea
    n: Count


@calculation(
    title="Reinforcement missing from a strip",
    source=Cite("", "steel required less the steel left", "common practice"),
    notes=("At the depth of the existing bars; added bars that lie deeper in the slab need more. The number of bars is an average over the strip.",),
)  # fmt: skip
def missing_steel(A_s: Annotated[BarArea, Range("0 mm²", "50000 mm²")], A_l: Annotated[BarArea, Range("0 mm²", "50000 mm²")], A_b: OneBarArea) -> Missing:  # fmt: skip
    r"""Area of steel to add to a strip so that it has its required moment.

    .. math:: A_{more} = \max(0, A_s - A_l)

    Parameters
    ----------
    A_s : quantity of area
        area of steel wanted
    A_l : quantity of area
        area of steel left
    A_b : quantity of area
        area of one bar to add

    Returns
    -------
    Missing
        `A_less` area required less the area left (negative: to spare), `A_more` area to add, `n` bars that it makes.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = missing_steel(Q(0.62, "in²"), Q(0.52, "in²"), Q(0.2, "in²"))
    >>> f"{found.A_more.to('in²'):.2f~P}, {found.n:.1f~P}"
    '0.10 in², 0.5'
    """
    A_less = A_s - A_l  # area required less the area left
    A_more = larger(A_less, 0 * A_l)  # area to add
    n = A_more / A_b  # bars to add in the strip, on average
    return Missing(A_less, A_more, n)


CRACK_GRADE, MILD = {"mild": 0.67, "strong": 0.75}, 60  # ksi


@lookup(
    "{k[mild]} for bars of up to {mild} ksi, {k[strong]} for stronger ones; here {f_y}",
    k=CRACK_GRADE, mild=MILD, source=Cite("aashto-lrfd", "table 5.6.3.3-1, as given in public code"), units={"f_y": "ksi", "": ""},
)  # fmt: skip
def grade_factor(f_y: Stress) -> Ratio:
    """Return the ratio of yield to ultimate strength of the grade of bars."""
    return each(lambda f: CRACK_GRADE["strong" if above(f, MILD) else "mild"], f_y)


class LeastMoment(NamedTuple):
    """Result of `least_moment_aashto`."""

    f_r: Stress
    S_c: SectionModulus
    gamma_3: Ratio
    M_cr: Moment
    M_133: Moment
    M_min: Moment


@calculation(
    title="Minimum strength of a strip, AASHTO LRFD",
    source=Cite("aashto-lrfd", "5.6.3.3, as given in public code"),
    units={
        "M_u": "kip·in", "f_c": "ksi", "f_y": "ksi", "b": "in", "h": "in", "f_r": "ksi", "S_c": "in³", "gamma_3": "",
        "M_cr": "kip·in", "M_133": "kip·in", "M_min": "kip·in",
    },
    notes=("Normal weight concrete; factor 1.6 for the scatter of cracking.",),
)  # fmt: skip
def least_moment_aashto(
    M_u: Annotated[Moment, Range("0.1 kN·m", "5000 kN·m")], f_c: Strength, f_y: Yield, b: Width, h: Depth
) -> LeastMoment:
    r"""Minimum factored strength of a rectangular section: its cracking moment, or 1.33 of the demand.

    .. math:: M_{min} = \min(\gamma_3\,1.6\,f_r S_c,\ 1.33 M_u),\quad f_r = 0.24\sqrt{f'_c}

    Parameters
    ----------
    M_u : quantity of moment
        factored moment
    f_c : quantity of stress
        strength of the concrete
    f_y : quantity of stress
        yield strength of the bars
    b : quantity of length
        width of the strip
    h : quantity of length
        thickness of the slab

    Returns
    -------
    LeastMoment
        `f_r` modulus of rupture, `S_c` section modulus, `gamma_3` factor of the grade, `M_cr` cracking moment, `M_133` 1.33 of the
        demand, `M_min` minimum strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO LRFD, 5.6.3.3.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = least_moment_aashto(Q(10, "kip*ft"), Q(4, "ksi"), Q(60, "ksi"), Q(12, "in"), Q(8, "in"))
    >>> f"{found.M_cr.to('kip*ft'):.2f~P}, {found.M_min.to('kip*ft'):.2f~P}"
    '5.49 ft·kip, 5.49 ft·kip'
    """
    f_r = 0.24 * sqrt(f_c)  # modulus of rupture
    S_c = b * h**2 / 6  # section modulus
    gamma_3 = grade_factor(f_y)  # factor of the grade
    M_cr = gamma_3 * 1.6 * f_r * S_c  # cracking moment with its scatter
    M_133 = 1.33 * M_u  # 1.33 of the demand
    M_min = smaller(M_cr, M_133)  # minimum strength
    return LeastMoment(f_r, S_c, gamma_3, M_cr, M_133, M_min)
