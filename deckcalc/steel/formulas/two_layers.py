"""Strength of a strip with bars in two layers, each with its own steel, and the minimum reinforcement of a strip."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core import units
from deckcalc.core.calculation import Range, above, larger, lookup, smaller
from deckcalc.core.forms import Form, calculation_by_form, chosen
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BarArea, Force, Length, Moment, MomentPerWidth, Quantity, Ratio, Strain, Stress
from deckcalc.steel.formulas.flexure import (
    ACI,
    BETA,
    LRFD,
    STRAIN_NOTE,
    Bars,
    Code,
    Depth,
    Steel,
    Width,
    Yield,
    block_factor,
    least_strain,
    neutral_axis,
    resistance_factor,
    stress_block,
)
from deckcalc.steel.formulas.laps_aci import METRIC, Strength, root_of_strength

BEAMS = "The minimum reinforcement of beams is held against the strip; slabs may have less, as temperature steel."
LEAST = Cite("mccormac", "ACI 318-11, 10.5.1 and 9.5.2.3, as reproduced in sections 3.8 and 2.1")


BALANCED = 0.1  # %


@lookup(
    "compression {C_c} against tension {T}: they balance within {within} %, so the depth of the neutral axis is the right one",
    within=BALANCED,
)
def balance(C_c: Force, T: Force) -> Ratio:
    """Return compression over tension; refuse a depth of the neutral axis that does not balance them."""
    ratio = C_c / T
    if np.any(above(np.abs(ratio - 1), BALANCED / 100)):
        raise TableError(
            f"the depth c of the neutral axis does not balance the section: compression over tension is {float(np.max(ratio)):.4f}"
        )
    return ratio


class TwoLayers(NamedTuple):
    """Result of `flexure_layers`."""

    beta_1: Ratio
    a: Length
    epsilon_1: Strain
    epsilon_2: Strain
    f_e1: Stress
    f_e2: Stress
    f_t1: Stress
    f_t2: Stress
    f_s1: Stress
    f_s2: Stress
    T_1: Force
    T_2: Force
    T: Force
    C_c: Force
    r_eq: Ratio
    d_t: Length
    epsilon_t: Strain
    epsilon_y: Strain
    phi: Ratio
    M_n: Moment
    M_r: Moment
    m_r: MomentPerWidth
    epsilon_min: Strain
    epsilon_over: Strain


@calculation_by_form(
    title="Strength in bending, two layers of bars by strain compatibility",
    source=(ACI, LRFD),
    notes=(
        "The depth of the neutral axis was found by halving an interval until the forces balance; the line of compression "
        "over tension is the check that it is right. A layer in the compression zone has a negative force; the concrete that "
        "it displaces is not deducted.",
        "The resistance factor takes the yield strain of the first layer.",
        STRAIN_NOTE,
        BETA,
    ),
    forms={"US": Form(), "SI": Form(unchecked=METRIC)},
)
def flexure_layers(
    c: Annotated[Length, Range("0.5 mm", "2 m")],
    A_1: Bars,
    f_y1: Yield,
    d_1: Depth,
    A_2: Bars,
    f_y2: Yield,
    d_2: Depth,
    f_c: Strength,
    b: Width,
    E_s: Steel,
    code: Code,
    *,
    form: str,
) -> TwoLayers:
    r"""Strength of a rectangular section with bars in two layers, from the depth of the neutral axis that balances it.

    .. math:: \varepsilon_i = 0.003\frac{d_i - c}{c},\quad f_i = \min(f_{yi}, E_s\varepsilon_i),\quad 0.85 f'_c\,b\,a = \sum A_i f_i

    Parameters
    ----------
    c : quantity of length
        depth of the neutral axis that balances the forces
    A_1 : quantity of area
        area of the bars of the first layer
    f_y1 : quantity of stress
        yield strength of the first layer
    d_1 : quantity of length
        depth of the first layer from the compression face
    A_2 : quantity of area
        area of the bars of the second layer
    f_y2 : quantity of stress
        yield strength of the second layer
    d_2 : quantity of length
        depth of the second layer from the compression face
    f_c : quantity of stress
        strength of the concrete
    b : quantity of length
        width of the strip
    E_s : quantity of modulus of elasticity
        modulus of elasticity of the bars
    code : {"ACI 318-11", "AASHTO LRFD"}
        whose resistance factor
    form : {"US", "SI"}
        form of the stress block

    Returns
    -------
    TwoLayers
        `beta_1` factor and `a` depth of the stress block; of each layer its strain (`epsilon_1`, `epsilon_2`), elastic stress
        (`f_e1`, `f_e2`), stress limited in tension (`f_t1`, `f_t2`) and in compression as well (`f_s1`, `f_s2`), and force (`T_1`,
        `T_2`); then tension `T`, compression `C_c`, their ratio `r_eq`, depth `d_t` and strain `epsilon_t` of the outermost bars,
        yield strain `epsilon_y` of the first layer, factor `phi`, nominal moment `M_n`, strength `M_r` and per width `m_r`,
        minimum strain `epsilon_min` that the code allows and strain `epsilon_over` above it, negative where it is not allowed.

    Raises
    ------
    InputError
        If the depth of the neutral axis does not balance the forces.

    Notes
    -----
    See `balanced_depth` for the depth of the neutral axis. Source: ACI 318-11.

    Examples
    --------
    >>> from deckcalc import Q
    >>> section = dict(A_1=Q(2, "in²"), f_y1=Q(60, "ksi"), d_1=Q(21, "in"), A_2=Q(1, "in²"), f_y2=Q(60, "ksi"), d_2=Q(21, "in"),
    ...     f_c=Q(3, "ksi"), b=Q(14, "in"), E_s=Q(29000, "ksi"), code="ACI 318-11", form="US")
    >>> f"{flexure_layers(balanced_depth(**section), **section).M_n.to('kip*ft'):.1f~P}"
    '277.2 ft·kip'
    """
    beta_1 = stress_block(f_c, form)  # factor of the stress block
    a = beta_1 * c  # depth of the stress block
    epsilon_1 = 0.003 * (d_1 - c) / c  # strain of the first layer
    epsilon_2 = 0.003 * (d_2 - c) / c  # strain of the second layer
    f_e1 = E_s * epsilon_1  # elastic stress of the first layer
    f_e2 = E_s * epsilon_2  # elastic stress of the second layer
    f_t1 = smaller(f_e1, f_y1)  # first layer, not above yield
    f_t2 = smaller(f_e2, f_y2)  # second layer, not above yield
    f_s1 = larger(f_t1, -f_y1)  # stress of the first layer
    f_s2 = larger(f_t2, -f_y2)  # stress of the second layer
    T_1 = A_1 * f_s1  # force of the first layer
    T_2 = A_2 * f_s2  # force of the second layer
    T = T_1 + T_2  # tension
    C_c = 0.85 * f_c * b * a  # compression of the concrete
    r_eq = balance(C_c, T)  # compression over tension
    d_t = larger(d_1, d_2)  # depth of the outermost bars
    epsilon_t = 0.003 * (d_t - c) / c  # strain of the outermost bars
    epsilon_y = f_y1 / E_s  # yield strain of the first layer
    phi = resistance_factor(epsilon_t, epsilon_y, code)  # resistance factor
    M_n = T_1 * (d_1 - a / 2) + T_2 * (d_2 - a / 2)  # nominal moment
    M_r = phi * M_n  # strength of the strip
    m_r = M_r / b  # strength per width
    epsilon_min = least_strain(code)  # minimum strain that the code allows
    epsilon_over = epsilon_t - epsilon_min  # strain above the minimum; negative: not allowed
    return TwoLayers(
        beta_1, a, epsilon_1, epsilon_2, f_e1, f_e2, f_t1, f_t2, f_s1, f_s2, T_1, T_2, T, C_c, r_eq, d_t, epsilon_t,
        epsilon_y, phi, M_n, M_r, m_r, epsilon_min, epsilon_over,
    )  # fmt: skip


def balanced_depth(**section: Any) -> Quantity:
    """Return the depth of the neutral axis for the arguments of `flexure_layers`, all but `c`.

    Examples
    --------
    >>> from deckcalc import Q
    >>> section = dict(A_1=Q(2, "in²"), f_y1=Q(60, "ksi"), d_1=Q(21, "in"), A_2=Q(1, "in²"), f_y2=Q(60, "ksi"), d_2=Q(21, "in"),
    ...     f_c=Q(3, "ksi"), b=Q(14, "in"), E_s=Q(29000, "ksi"), code="ACI 318-11", form="US")
    >>> f"{balanced_depth(**section).to('in'):.2f~P}"
    '5.93 in'
    """
    calculation, section = chosen(flexure_layers, section)
    given = {name: calculation.params[name].plain(value, calculation.name) for name, value in section.items()}
    layers = [(given[f"A_{i}"], given[f"f_y{i}"], given[f"d_{i}"]) for i in (1, 2)]
    f_c, b, depth = given["f_c"], given["b"], max(given["d_1"], given["d_2"])
    try:
        c = neutral_axis(layers, f_c, b, block_factor(f_c, calculation.form_name), given["E_s"], depth)
    except ValueError as error:
        raise units.InputError(f"{calculation.name}: {error}") from None
    return units.registry().Quantity(c, "m")


class LeastSteel(NamedTuple):
    """Result of `least_steel`."""

    r_c: Stress
    k_1: Ratio
    f_1: Stress
    f_2: Stress
    rho_min: Ratio
    A_min: BarArea
    k_r: Ratio
    f_r: Stress
    M_cr: Moment


@calculation_by_form(
    title="Minimum reinforcement and cracking moment of a strip",
    source=LEAST,
    notes=(BEAMS,),
    forms={
        "US": Form({"c_1": "3", "f_a": "200 psi", "c_r": "7.5"}),
        "SI": Form({"c_1": "1/4", "f_a": "1.4 MPa", "c_r": "0.62"}, notes=(BEAMS, "0.62 is from memory.")),
    },
)
def least_steel(
    f_c: Strength, f_y: Yield, b: Width, h: Depth, d: Depth, *, c_1: Ratio, f_a: Stress, c_r: Ratio, form: str
) -> LeastSteel:
    r"""Minimum reinforcement of a rectangular section, and the moment at which it cracks.

    .. math:: A_{min} = \frac{\max(k_1\sqrt{f'_c}, f_2)}{f_y} b d,\quad M_{cr} = k_r\sqrt{f'_c}\,\frac{b h^2}{6}

    Parameters
    ----------
    f_c : quantity of stress
        strength of the concrete
    f_y : quantity of stress
        yield strength of the bars
    b : quantity of length
        width of the strip
    h : quantity of length
        thickness of the slab
    d : quantity of length
        depth from the compression face to the bars
    form : {"US", "SI"}
        form of the equations

    Returns
    -------
    LeastSteel
        `r_c` root of the strength, `k_1`, `f_1` and `f_2` the terms of the minimum reinforcement, `rho_min` its ratio, `A_min` its area, `k_r`,
        `f_r` modulus of rupture, `M_cr` cracking moment.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Normal weight concrete. Source: ACI 318-11.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = least_steel(Q(4, "ksi"), Q(60, "ksi"), Q(12, "in"), Q(18, "in"), Q(15, "in"), form="US")
    >>> f"{found.M_cr.to('kip*ft'):.1f~P}"
    '25.6 ft·kip'
    """
    r_c = root_of_strength(f_c, form)  # root of the concrete strength
    k_1 = c_1  # factor of the root
    f_1 = k_1 * r_c  # first term
    f_2 = f_a  # second term
    rho_min = larger(f_1, f_2) / f_y  # minimum ratio of steel
    A_min = rho_min * b * d  # minimum area of steel
    k_r = c_r  # factor of the root
    f_r = k_r * r_c  # modulus of rupture
    M_cr = f_r * b * h**2 / 6  # cracking moment
    return LeastSteel(r_c, k_1, f_1, f_2, rho_min, A_min, k_r, f_r, M_cr)
