"""Hangers of wire or threaded rod, and the oil on the soffit."""

from __future__ import annotations

import math
import re
from typing import Annotated, Any, NamedTuple

from deckcalc.core import tables, units
from deckcalc.core.calculation import Range, calculation, pi
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Area, Count, Coverage, InputError, Liquid, MemberForce, Ratio, SmallArea, WoodStress
from deckcalc.formwork.formulas.strongbacks import Point

GAUGES = {"swg": "SWG [in]", "awg": "AWG [in]", "steel wire gauge": "steel wire gauge [in]"}


def wire_diameter(size: str) -> Any:
    """Return the diameter of a wire from “steel wire gauge 9”, “SWG 8”, “AWG 6”, “4 mm” or “0.16 in”.

    Parameters
    ----------
    size : str
        A diameter with its unit, or a gauge number with its system: three systems share their numbers.

    Returns
    -------
    Quantity

    Raises
    ------
    InputError
        If a gauge is named without its system, or is not in the table; the message gives the three diameters.

    Examples
    --------
    >>> f"{wire_diameter('steel wire gauge 9'):~P}"
    '0.1483 in'
    """
    text = size.strip()
    rows = tables.load("wire_gauges").rows
    bare = re.fullmatch(r"(?:no\.?\s*|#|gauge\s*)?(\d+)(?:\s*(?:gauge|ga\.?))?", text, re.IGNORECASE)
    if bare:
        row = next((row for row in rows if row["gauge"] == bare[1]), None)
        three = "; ".join(f"{key} {bare[1]} is {row[col]} in" for key, col in GAUGES.items()) if row else ""
        raise InputError(
            f"found “{size}”: a gauge number without its system is no diameter; write the diameter, or “SWG”, “AWG” or “steel wire "
            f"gauge” before the number{': ' + three if three else ''}"
        )
    match = re.fullmatch(r"(swg|awg|steel wire gauge)\s*(?:no\.?\s*)?(\d+)", text, re.IGNORECASE)
    if match:
        try:
            row = tables.load("wire_gauges").row("gauge", match[2])
        except TableError as error:
            raise InputError(str(error)) from None
        return units.registry().Quantity(float(row[GAUGES[match[1].lower()]]), "in")
    return units.read(text, units.Diameter)


def steel_area(kind: str, size: str) -> Any:
    """Return the steel area of one strand of wire, or the stress area of one threaded rod.

    Raises
    ------
    InputError
        If the size of a wire cannot be read, or the table has no such rod.

    Examples
    --------
    >>> f"{steel_area('rod', 'M10'):~P}, {steel_area('wire', '4 mm'):.2f~P}"
    '58.0 mm², 12.57 mm²'
    """
    if kind == "rod":
        try:
            row = tables.load("threaded_rods").row("rod", size.strip())
        except TableError as error:
            raise InputError(str(error)) from None
        column = "A [mm²]" if row["A [mm²]"] else "A [in²]"
        return units.registry().Quantity(float(row[column]), units.unit(column[3:-1]))
    d = wire_diameter(size)
    return math.pi * d**2 / 4


class HangerCheck(NamedTuple):
    """Result of `hanger_check`."""

    T_b: MemberForce
    T_a: MemberForce
    u: Ratio


@calculation(
    title="Hanger",
    source=(
        Cite("aci347", "safety factor of form hangers, as reported by Concrete Construction"),
        Cite("army-en5151", "table 5: breaking loads of doubled steel wire, 41 ksi on the steel wire gauge"),
    ),
    notes=(
        "Breaking load is not working load. Twisting and kinking take strength away; how much is not published, so the share "
        "left is the engineer's. All strands are taken to share alike: twist them tight and even, and keep them plumb.",
        "Not for high-strength or heat-treated wire, which breaks when it is bent sharply.",
    ),
)
def hanger_check(
    P: Point, A_w: Annotated[SmallArea, Range("0.5 mm²", "1000 mm²")], n_w: Annotated[Count, Range("1", "8")],
    f_u: Annotated[WoodStress, Range("150 MPa", "1200 MPa")], k_t: Annotated[Ratio, Range("0.3", "1")],
    SF: Annotated[Ratio, Range("2", "6")],
) -> HangerCheck:  # fmt: skip
    r"""Force on a hanger against what it may carry.

    .. math:: T_b = n_w A_w f_u,\quad T_a = \frac{k_t T_b}{SF}

    Parameters
    ----------
    P : quantity of force, shape (...,)
        force on the hanger
    A_w : quantity of area
        steel area of one strand or rod
    n_w : quantity without dimension
        strands that share the force
    f_u : quantity of stress
        tensile strength
    k_t : quantity without dimension
        share of strength left after twisting; 1 for a rod
    SF : quantity without dimension
        safety factor on the breaking load

    Returns
    -------
    HangerCheck
        `T_b` breaking load, `T_a` allowable load, `u` utilisation.

    Raises
    ------
    InputError
        If a value lies outside its range, for instance too small a safety factor.

    Notes
    -----
    Source: statics; safety factor: ACI 347.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = hanger_check(Q(300, "lbf"), Q(0.01727, "in²"), 2, Q(41, "ksi"), 0.75, 2)
    >>> f"{found.T_b.to('lbf').magnitude:.0f}, {found.u:.2f~P}"
    '1416, 0.56'
    """
    T_b = n_w * A_w * f_u  # breaking load
    T_a = k_t * T_b / SF  # allowable load
    u = P / T_a  # utilisation
    return HangerCheck(T_b, T_a, u)


class BarSupport(NamedTuple):
    """Result of `bar_support`."""

    M: units.MemberMoment
    M_a: units.MemberMoment
    u: Ratio


@calculation(
    title="Bar of the deck as support of a hanger",
    source=Cite("", "a round bar as a single span with one load in the middle", "common practice"),
    notes=(
        "For the engineer who is asked to let hangers be tied to bars: bond and the concrete at the edges are not checked, and a bar "
        "that bends under the wet concrete leaves less cover. Bars with loss of section are not for this.",
    ),
    unchecked="elementary statics; limits are in the tests",
)
def bar_support(
    P: Point, l: Annotated[units.Length, Range("50 mm", "6000 mm")], d_b: Annotated[units.Diameter, Range("5 mm", "60 mm")],
    f_a: Annotated[WoodStress, Range("50 MPa", "500 MPa")],
) -> BarSupport:  # fmt: skip
    r"""Bending of a sound bar that a hanger is tied to.

    .. math:: M = \frac{P l}{4},\quad M_a = \frac{\pi d_b^3}{32} f_a

    Parameters
    ----------
    P : quantity of force, shape (...,)
        force of the hanger
    l : quantity of length, shape (...,)
        free length of the bar across the hole
    d_b : quantity of length
        diameter of the bar
    f_a : quantity of stress
        allowable stress in the bar

    Returns
    -------
    BarSupport
        `M` moment, `M_a` allowable moment, `u` utilisation.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: statics.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{bar_support(Q(300, 'lbf'), Q(29, 'in'), Q(0.625, 'in'), Q(36, 'ksi')).u:.2f~P}"
    '2.52'
    """
    M = P * l / 4  # moment in the middle
    M_a = pi * d_b**3 * f_a / 32  # allowable moment
    u = M / M_a  # utilisation
    return BarSupport(M, M_a, u)


class FormOil(NamedTuple):
    """Result of `form_oil`."""

    V: Liquid


@calculation(
    title="Form oil",
    source=Cite(
        "", "area over coverage, by the manufacturer's data; linseed oil is the old practice", "common practice"
    ),
    notes=(
        "New plywood drinks the first coat: give it two. Oil the soffit before it is set, and keep oil off the bars and off the "
        "existing concrete, where it spoils the bond.",
    ),
)
def form_oil(
    A: Annotated[Area, Range("0.01 m²", "1000 m²")], n_c: Annotated[Count, Range("1", "4")],
    c_o: Annotated[Coverage, Range("1 m²/L", "60 m²/L")],
) -> FormOil:  # fmt: skip
    r"""Oil for a soffit.

    .. math:: V = \frac{n_c A}{c_o}

    Parameters
    ----------
    A : quantity of area, shape (...,)
        area of the soffit
    n_c : quantity without dimension
        number of coats
    c_o : quantity of area per volume
        coverage of the oil

    Returns
    -------
    FormOil
        `V` volume of oil.

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
    >>> f"{form_oil(Q(0.8, 'm²'), 2, Q(10, 'm²/L')).V.to('L').magnitude:.2f}"
    '0.16'
    """
    V = n_c * A / c_o  # volume of oil
    return FormOil(V)
