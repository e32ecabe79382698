"""Panels in metric thicknesses by characteristic values, and the engineer's own values of lumber and panels."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from deckcalc.core import tables, units
from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import (  # fmt: skip
    Elasticity,
    Length,
    Ratio,
    StripModulus,
    StripSecondMoment,
    StripShear,
    StripStiffness,
    WoodStress,
)
from deckcalc.formwork.formulas.lumber import ReferenceStress
from deckcalc.formwork.formulas.panels import Grain

MetricPanel = Literal["Birch 9 mm", "Birch 12 mm", "Birch 15 mm", "Birch 18 mm", "Birch 21 mm"]
Factor = Annotated[Ratio, Range("0.05", "3")]
Modulus = Annotated[Elasticity, Range("500 MPa", "30000 MPa")]


def _of(panel: str, column: str) -> Any:
    unit = column.partition("[")[2].rstrip("]")
    value = float(tables.load("plywood_mm").row("panel", panel)[column])
    return float(units.registry().Quantity(value, units.unit(unit)).to_base_units().magnitude)


@lookup("of {panel}, face grain {grain} the supports")
def plywood_bending(panel: MetricPanel, grain: Grain) -> WoodStress:
    """Return the characteristic bending strength."""
    return _of(panel, f"f_m {grain} [MPa]")


@lookup("of {panel}, face grain {grain} the supports")
def plywood_elasticity(panel: MetricPanel, grain: Grain) -> Elasticity:
    """Return the mean modulus."""
    return _of(panel, f"E {grain} [MPa]")


@lookup("of {panel}, face grain {grain} the supports")
def plywood_stiffness(panel: MetricPanel, grain: Grain) -> StripStiffness:
    """Return the bending stiffness per width."""
    return _of(panel, f"EI {grain} [kN·m²/m]")


@lookup("of {panel}", source=(Cite("finnish-plywood", "a lower bound of rolling shear", "memory"),))
def plywood_shear(panel: MetricPanel) -> WoodStress:
    """Return a lower bound of the characteristic rolling shear strength."""
    return _of(panel, "f_r [MPa]")


@lookup("of {panel}")
def plywood_thickness(panel: MetricPanel) -> Length:
    """Return the nominal thickness."""
    return _of(panel, "t [mm]")


class PlywoodValues(NamedTuple):
    """Result of `plywood_values`."""

    f_m: WoodStress
    f_r: WoodStress
    E: Elasticity
    EI: StripStiffness
    t: Length
    gamma: Ratio
    F_b: WoodStress
    F_s: WoodStress
    I: StripSecondMoment
    S: StripModulus
    Q: StripShear


@calculation(
    title="Working stresses of a panel in metric thickness",
    source=(
        Cite("finnish-plywood", "birch plywood, as restated in a data sheet"),
        Cite("en1995", "design values with k_mod and gamma_M", "memory"),
    ),
    notes=(
        "Characteristic strengths are taken to working stresses, the factor on the loads under the line, as for lumber by strength "
        "class, and with the same factors. Section modulus from the nominal thickness, which is on the safe side of the mean one.",
    ),
)
def plywood_values(
    panel: MetricPanel, grain: Grain, k_mod: Annotated[Ratio, Range("0.4", "1.1")],
    gamma_M: Annotated[Ratio, Range("1", "2")], gamma_F: Annotated[Ratio, Range("1", "2")],
) -> PlywoodValues:  # fmt: skip
    r"""Working stresses and section of a panel from its characteristic values.

    .. math:: F = \frac{k_{mod}}{\gamma_M \gamma_F} f_k,\quad I = \frac{EI}{E},\quad S = \frac{2 I}{t},\quad Q = \frac{2 t}{3}

    Parameters
    ----------
    panel : str
        kind of panel
    grain : str
        how the face grain lies to the supports
    k_mod : quantity without dimension
        factor for duration and moisture
    gamma_M : quantity without dimension
        partial factor of the material
    gamma_F : quantity without dimension
        partial factor on the loads

    Returns
    -------
    PlywoodValues
        Characteristic `f_m`, `f_r`, `E`, `EI`; `t` thickness; `gamma` both factors; working stresses `F_b`, `F_s`; section `I`, `S`
        and `Q`, by which a shear force over the stress is shared.

    Raises
    ------
    InputError
        If the panel is not in the table or a factor is not one that the method has.

    Notes
    -----
    Source: table of characteristic values.

    Examples
    --------
    >>> v = plywood_values("Birch 18 mm", "across", 0.7, 1.3, 1.5)
    >>> f"{v.F_b.to('MPa'):.2f~P}, {v.I.to('mm⁴/m').magnitude:.0f}"
    '14.43 MPa, 453822'
    """
    f_m = plywood_bending(panel, grain)  # bending strength
    f_r = plywood_shear(panel)  # rolling shear strength, a lower bound
    E = plywood_elasticity(panel, grain)  # mean modulus
    EI = plywood_stiffness(panel, grain)  # bending stiffness per width
    t = plywood_thickness(panel)  # thickness
    gamma = gamma_M * gamma_F  # factors of material and loads
    F_b = k_mod * f_m / gamma  # working stress in bending
    F_s = k_mod * f_r / gamma  # working stress in rolling shear
    I = EI / E  # second moment of area per width
    S = 2 * I / t  # section modulus per width
    Q = 2 * t / 3  # rolling shear constant per width
    return PlywoodValues(f_m, f_r, E, EI, t, gamma, F_b, F_s, I, S, Q)


class OwnLumber(NamedTuple):
    """Result of `own_lumber`."""

    F_b: WoodStress
    F_v: WoodStress
    F_cp: WoodStress
    F_c: WoodStress
    E: Elasticity
    E_min: Elasticity


OWN = Cite(
    "", "reference values and factors as the engineer gives them, with his source in the job file", "common practice"
)


@calculation(
    title="Design values of lumber by the engineer's own reference values",
    source=OWN,
    notes=("Each factor is the product of all that the engineer's code asks for: duration, moisture, size, safety.",),
    unchecked="a product; limits are in the tests",
)
def own_lumber(
    F_b0: ReferenceStress, F_v0: ReferenceStress, F_cp0: ReferenceStress, F_c0: ReferenceStress, E_0: Modulus, E_min0: Modulus,
    K_b: Factor, K_v: Factor, K_p: Factor, K_c: Factor, K_E: Factor,
) -> OwnLumber:  # fmt: skip
    r"""Design values of lumber from reference values and factors that the engineer gives.

    .. math:: F_b = K_b F_{b0},\quad F_v = K_v F_{v0},\quad F_{cp} = K_p F_{cp0},\quad F_c = K_c F_{c0},\quad E = K_E E_0

    Parameters
    ----------
    F_b0 : quantity of stress
        reference value in bending
    F_v0 : quantity of stress
        reference value in shear
    F_cp0 : quantity of stress
        reference value perpendicular to grain
    F_c0 : quantity of stress
        reference value parallel to grain
    E_0 : quantity of stress
        reference modulus
    E_min0 : quantity of stress
        reference modulus for stability
    K_b : quantity without dimension
        factor in bending
    K_v : quantity without dimension
        factor in shear
    K_p : quantity without dimension
        factor perpendicular to grain
    K_c : quantity without dimension
        factor parallel to grain
    K_E : quantity without dimension
        factor of both moduli

    Returns
    -------
    OwnLumber
        Design values `F_b`, `F_v`, `F_cp`, `F_c`, `E`, `E_min`.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: the engineer.

    Examples
    --------
    >>> from deckcalc import Q
    >>> F = [Q(x, "psi") for x in (875, 150, 425, 1150, 1.4e6, 510e3)]
    >>> f"{own_lumber(*F, 1.25, 1.25, 0.67, 1.0, 0.9).F_b.to('psi').magnitude:.0f}"
    '1094'
    """
    F_b = K_b * F_b0  # design value in bending
    F_v = K_v * F_v0  # design value in shear
    F_cp = K_p * F_cp0  # design value perpendicular to grain
    F_c = K_c * F_c0  # design value parallel to grain, before stability
    E = K_E * E_0  # modulus
    E_min = K_E * E_min0  # modulus for stability
    return OwnLumber(F_b, F_v, F_cp, F_c, E, E_min)


class OwnPanel(NamedTuple):
    """Result of `own_panel`."""

    F_b: WoodStress
    F_s: WoodStress


@calculation(
    title="Design stresses of a panel by the engineer's own reference values",
    source=OWN,
    notes=(
        "Modulus and section properties are taken as the engineer gives them, for the way in which the panel is laid.",
    ),
    unchecked="a product; limits are in the tests",
)
def own_panel(F_b0: ReferenceStress, F_s0: ReferenceStress, K_b: Factor, K_s: Factor) -> OwnPanel:
    r"""Design stresses of a panel from reference values and factors that the engineer gives.

    .. math:: F_b = K_b F_{b0},\quad F_s = K_s F_{s0}

    Parameters
    ----------
    F_b0 : quantity of stress
        reference value in bending
    F_s0 : quantity of stress
        reference value in rolling shear
    K_b : quantity without dimension
        factor in bending
    K_s : quantity without dimension
        factor in rolling shear

    Returns
    -------
    OwnPanel
        Design stresses `F_b`, `F_s`.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: the engineer.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{own_panel(Q(30, 'MPa'), Q(2, 'MPa'), 0.5, 0.5).F_s.to('MPa'):.1f~P}"
    '1.0 MPa'
    """
    F_b = K_b * F_b0  # design stress in bending
    F_s = K_s * F_s0  # design stress in rolling shear
    return OwnPanel(F_b, F_s)
