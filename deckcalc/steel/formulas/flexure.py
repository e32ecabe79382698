"""Strength of a strip of slab in bending: one layer in closed form, two layers by strain compatibility."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, lookup
from deckcalc.core.forms import BOTH, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BarArea, Length, Modulus, Moment, MomentPerWidth, Ratio, Strain, Stress
from deckcalc.steel.formulas.bars import each, of_form, plain
from deckcalc.steel.formulas.laps_aci import FormName, Strength

Code = Literal["ACI 318-11", "AASHTO LRFD"]
Yield = Annotated[Stress, Range("100 MPa", "700 MPa")]
Depth = Annotated[Length, Range("10 mm", "2 m")]
Width = Annotated[Length, Range("50 mm", "5 m")]
Bars = Annotated[BarArea, Range("1 mm²", "50000 mm²")]
Steel = Annotated[Modulus, Range("180 GPa", "220 GPa")]
ACI = Cite("mccormac", "sections 3.4 and 3.7 (ACI 318-11)")
LRFD = Cite("aashto-lrfd", "5.5.4.2 and 5.6.2", "memory", only=("AASHTO LRFD",))
BETA = (
    "The breakpoint of the stress block is 4000 psi in the US form and 28 MPa in the metric ones; the textbook's metric tables "
    "take 30 MPa and 0.008 for each MPa."
)


BLOCK = {"most": 0.85, "less": 0.05, "least": 0.65}
BLOCK_FROM = {"US": "4000 psi", "SI": "28 MPa"}
BLOCK_STEP = {"US": "1000 psi", "SI": "7 MPa"}
LEAST_PHI = {"ACI 318-11": 0.65, "AASHTO LRFD": 0.75}
MOST_PHI, DUCTILE = 0.90, 0.005  # factor from this strain of the bars up
LEAST_STRAIN = {"ACI 318-11": 0.004, "AASHTO LRFD": 0.0}
STRAIN_NOTE = (
    "A negative strain above the minimum means that ACI 318-11, 10.3.5, does not allow the section as a member in bending: the number is "
    "then the strength of what stands there, not a design. AASHTO LRFD allows it and lowers the resistance factor."
)


@lookup(
    "{k[most]} up to {start[US]} ({start[SI]}), less {k[less]} for each further {step[US]} ({step[SI]}), at least {k[least]}; here {f_c} "
    "and the form {form}",
    k=BLOCK, start=BLOCK_FROM, step=BLOCK_STEP, source=ACI,
)  # fmt: skip
def stress_block(f_c: Stress, form: FormName) -> Ratio:
    """Return the depth of the stress block over the depth of the neutral axis."""
    return each(lambda f: block_factor(f, form), f_c)


def block_factor(f_c: float, form: str) -> float:
    """Return beta 1 for a strength in Pa."""
    start, step = of_form(BLOCK_FROM, form), of_form(BLOCK_STEP, form)
    return min(BLOCK["most"], max(BLOCK["least"], BLOCK["most"] - BLOCK["less"] * (f_c - start) / step))


@lookup(
    "by {code}: {most:.2f} from a strain of {ductile} up; at the yield strain {epsilon_y} or less {least[ACI 318-11]} (ACI 318) or "
    "{least[AASHTO LRFD]} (AASHTO); in proportion between; here the strain is {epsilon_t}",
    most=MOST_PHI, ductile=DUCTILE, least=LEAST_PHI, source=(ACI, LRFD),
)  # fmt: skip
def resistance_factor(epsilon_t: Strain, epsilon_y: Strain, code: Code) -> Ratio:
    """Return the resistance factor by the strain of the outermost bars."""
    least = LEAST_PHI[code]
    share = np.clip((epsilon_t - epsilon_y) / (DUCTILE - epsilon_y), 0.0, 1.0)
    return least + (MOST_PHI - least) * share


@lookup(
    "{k[ACI 318-11]} for members in bending (ACI 318), {k[AASHTO LRFD]:.0f} for none by AASHTO LRFD; here {code}",
    k=LEAST_STRAIN, source=(Cite("mccormac", "section 3.7 (ACI 318-11, 10.3.5)"), LRFD),
)  # fmt: skip
def least_strain(code: Code) -> Strain:
    """Return the minimum strain of the outermost bars that the code allows."""
    return plain(LEAST_STRAIN[code])


@lookup("the yield strength {f_y}, as the strain {epsilon_t} is not below the yield strain {epsilon_y}", source=ACI)
def yielding(epsilon_t: Strain, epsilon_y: Strain, f_y: Stress) -> Stress:
    """Return the yield strength if the bars reach it."""
    if np.any(np.asarray(epsilon_t) < np.asarray(epsilon_y) * (1 - 1e-9)):
        raise TableError(
            "the section is over-reinforced: the concrete crushes before the bars yield. Take the calculation with two "
            "layers, which finds the stress of the bars; a deck strip should never be so"
        )
    return f_y


class Flexure(NamedTuple):
    """Result of `flexure`."""

    beta_1: Ratio
    a: Length
    c: Length
    epsilon_y: Strain
    epsilon_t: Strain
    f_s: Stress
    M_n: Moment
    phi: Ratio
    M_r: Moment
    m_r: MomentPerWidth
    epsilon_min: Strain
    epsilon_over: Strain


@calculation_by_form(
    title="Strength in bending, one layer of bars",
    source=(ACI, LRFD),
    notes=("Bars in the compression zone are left out. Both codes take the same stress block.", STRAIN_NOTE, BETA),
    forms=BOTH,
)
def flexure(A_s: Bars, f_y: Yield, f_c: Strength, b: Width, d: Depth, E_s: Steel, code: Code, *, form: str) -> Flexure:
    r"""Strength of a rectangular section with one layer of bars that yield.

    .. math:: a = \frac{A_s f_y}{0.85 f'_c b},\quad M_r = \phi A_s f_y (d - a/2)

    Parameters
    ----------
    A_s : quantity of area, shape (...,)
        area of the bars in the strip
    f_y : quantity of stress
        yield strength of the bars
    f_c : quantity of stress
        strength of the concrete
    b : quantity of length
        width of the strip
    d : quantity of length
        depth from the compression face to the bars
    E_s : quantity of modulus of elasticity
        modulus of elasticity of the bars
    code : {"ACI 318-11", "AASHTO LRFD"}
        whose resistance factor
    form : {"US", "SI"}
        form of the stress block

    Returns
    -------
    Flexure
        `beta_1` factor, `a` depth of the stress block, `c` of the neutral axis, `epsilon_y`, `epsilon_t` yield strain and strain
        of the bars, `f_s` their stress, `M_n` nominal moment, `phi` resistance factor, `M_r` strength, `m_r` per width,
        `epsilon_min` minimum strain that the code allows, `epsilon_over` strain above it: negative where the code does not allow the
        section.

    Raises
    ------
    InputError
        If the section is over-reinforced, or a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = flexure(Q(3, "in²"), Q(60, "ksi"), Q(3, "ksi"), Q(14, "in"), Q(21, "in"), Q(29000, "ksi"), "ACI 318-11", form="US")
    >>> f"{found.M_n.to('kip*ft'):.1f~P}"
    '277.2 ft·kip'
    """
    beta_1 = stress_block(f_c, form)  # factor of the stress block
    a = A_s * f_y / (0.85 * f_c * b)  # depth of the stress block
    c = a / beta_1  # depth of the neutral axis
    epsilon_y = f_y / E_s  # yield strain
    epsilon_t = 0.003 * (d - c) / c  # strain of the bars
    f_s = yielding(epsilon_t, epsilon_y, f_y)  # stress of the bars
    M_n = A_s * f_s * (d - a / 2)  # nominal moment
    phi = resistance_factor(epsilon_t, epsilon_y, code)  # resistance factor
    M_r = phi * M_n  # strength of the strip
    m_r = M_r / b  # strength per width
    epsilon_min = least_strain(code)  # minimum strain that the code allows
    epsilon_over = epsilon_t - epsilon_min  # strain above the minimum; negative: not allowed
    return Flexure(beta_1, a, c, epsilon_y, epsilon_t, f_s, M_n, phi, M_r, m_r, epsilon_min, epsilon_over)


def neutral_axis(
    layers: list[tuple[float, float, float]], f_c: float, b: float, beta_1: float, E_s: float, h: float
) -> float:
    """Find the depth of the neutral axis at which compression and tension are equal.

    Parameters
    ----------
    layers : list of (float, float, float)
        Area [m²], yield strength [Pa] and depth from the compression face [m] of each layer of bars.
    f_c, b, beta_1, E_s : float
        Strength of the concrete [Pa], width [m], factor of the stress block, modulus of the bars [Pa].
    h : float
        Depth of the section [m].

    Returns
    -------
    float
        Depth of the neutral axis [m].

    Raises
    ------
    ValueError
        If no depth within the section gives equilibrium.
    """

    def out_of_balance(c: float) -> float:
        steel = sum(A * min(f_y, max(-f_y, E_s * 0.003 * (d - c) / c)) for A, f_y, d in layers)
        return 0.85 * f_c * b * min(beta_1 * c, h) - steel

    low, high = 1e-6 * h, h / beta_1
    if out_of_balance(low) > 0 or out_of_balance(high) < 0:
        raise ValueError("no depth of the neutral axis within the section balances the forces; there is too much steel")
    while high - low > 1e-14 * h:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if out_of_balance(middle) < 0 else (low, middle)
    return (low + high) / 2
