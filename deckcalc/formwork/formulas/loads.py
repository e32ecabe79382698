"""Loads on a form under fresh concrete, and what wind and traffic do to it."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from deckcalc.core import tables, units
from deckcalc.core.calculation import Range, calculation, larger, lookup
from deckcalc.core.forms import BOTH, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Area, Length, Mass, MemberForce, Pressure, Share, UnitWeight

LoadSet = Literal["aci347", "title8", "quebec", "caltrans", "permanent"]
Placing = Literal["no carts", "hand carts", "motorised carts"]
Tables = Literal["SI", "US"]
FormWeight = Annotated[Pressure, Range("0 kPa", "3 kPa")]
SidePressure = Annotated[Pressure, Range("0 kPa", "5 kPa")]
GRAVITY = 9.80665

MINIMUM_LOADS = (
    Cite("aci347", "minimum live and combined vertical loads, as restated by Hanna, Concrete Formwork Systems"),
    Cite("title8-1717", "1717(a)"),
    Cite("quebec-s21-r4", "6.4.1"),
    Cite("permanent-metal-forms", "design criteria"),
    Cite("caltrans-falsework", "48-2.02B", "memory", only=("caltrans",)),
)


def load_row(load_set: str, placing: str) -> dict[str, str]:
    """Return the row of a load set for a way of placing.

    Raises
    ------
    TableError
        If the set says nothing of that way.
    """
    rows = [row for row in tables.load("form_loads").rows if row["load_set"] == load_set]
    for row in rows:
        said = row["placing"]
        if said in ("any", placing) or (said == "no motorised carts" and placing != "motorised carts"):
            return row
    raise TableError(
        f"load set “{load_set}” says nothing of “{placing}”; it has {', '.join(r['placing'] for r in rows)}"
    )


def printed_load(row: dict[str, str], column: str, system: str) -> Any:
    """Return a load of the table in Pa: in the system wanted if it is printed there, else in the other."""
    other = "US" if system == "SI" else "SI"
    for choice in (system, other):
        unit = "kPa" if choice == "SI" else "psf"
        if text := row[f"{column} [{unit}]"]:
            return float(units.registry().Quantity(float(text), units.unit(unit)).m_as("Pa"))
    raise TableError(f"load set “{row['load_set']}” has no {column} load")


@lookup("load set {load_set}, {placing}, {form} values, the form itself being {g_f}")
def live_load(load_set: LoadSet, placing: Placing, form: Tables, g_f: FormWeight) -> Pressure:
    """Return the minimum load of workers, equipment and impact; less the form where the set counts the form in."""
    row = load_row(load_set, placing)
    least = printed_load(row, "live", form)
    return larger(least - g_f, 0.0) if row["form counted in"] == "yes" else least


@lookup("load set {load_set}, {placing}, {form} values")
def combined_load(load_set: LoadSet, placing: Placing, form: Tables) -> Pressure:
    """Return the minimum total vertical load."""
    return printed_load(load_row(load_set, placing), "combined", form)


class FormLoad(NamedTuple):
    """Result of `form_load`."""

    q: Pressure
    p_min: Pressure
    p_c: Pressure
    p_i: Pressure
    p_sum: Pressure
    p: Pressure


@calculation_by_form(
    title="Load on the form",
    source=MINIMUM_LOADS,
    notes=(
        "Sets differ: 50 psf (2.4 kPa) of live load in one, 20 psf with the form counted in in another; the job chooses. The "
        "minimum live load counts usual impact of placing in; what is dropped or dumped from a height is added through $i_c$.",
        "All members, and their deflection, are worked with the full load, which is on the safe side of working deflection "
        "with the concrete alone.",
    ),
    forms=BOTH,
)
def form_load(
    h: Annotated[Length, Range("25 mm", "1500 mm")], w_c: Annotated[UnitWeight, Range("12 kN/m³", "35 kN/m³")],
    g_f: FormWeight, load_set: LoadSet, placing: Placing,
    i_c: Annotated[Share, Range("0 %", "100 %")], q_s: SidePressure, *, form: str
) -> FormLoad:  # fmt: skip
    r"""Vertical load on the form of a full-depth hole.

    .. math:: p = \max(w_c h + i_c w_c h + g_f + q + q_s,\ p_{min})

    Parameters
    ----------
    h : quantity of length, shape (...,)
        thickness of fresh concrete
    w_c : quantity of force per volume
        unit weight of fresh concrete with its bars
    g_f : quantity of pressure
        weight of the form itself, allowed for
    load_set : str
        set of minimum loads
    placing : str
        how the concrete comes to the hole
    form : str
        values as printed in SI or in US customary units
    i_c : quantity without dimension
        impact of placing, as a share of the concrete
    q_s : quantity of pressure
        downward suction of wind or of traffic passing below

    Returns
    -------
    FormLoad
        `q` minimum live load, `p_min` minimum total, `p_c` concrete, `p_i` impact, `p_sum` sum, `p` load to design for.

    Raises
    ------
    InputError
        If a value lies outside its range, or the set says nothing of that way of placing.

    Notes
    -----
    A downward load over the whole form. Source: the minimum loads named with it.

    Examples
    --------
    >>> from deckcalc import Q
    >>> none = Q(0, "psf")
    >>> w = form_load(Q(6, "in"), Q(150, "lbf/ft³"), Q(5, "psf"), "aci347", "no carts", Q(0, "%"), none, form="US")
    >>> f"{w.p_c.to('psf').magnitude:.0f}, {w.p.to('psf').magnitude:.0f}"
    '75, 130'
    """
    q = live_load(load_set, placing, form, g_f)  # workers and equipment
    p_min = combined_load(load_set, placing, form)  # minimum total load
    p_c = w_c * h  # fresh concrete
    p_i = i_c * p_c  # impact of placing
    p_sum = p_c + p_i + g_f + q + q_s  # sum of the loads
    p = larger(p_sum, p_min)  # load to design for
    return FormLoad(q, p_min, p_c, p_i, p_sum, p)


@calculation(
    title="Uplift of the empty form",
    source=Cite("", "weight against uplift", "common practice"),
    notes=(
        "Wind and the air that traffic pushes up act on the empty form; its weight is counted only once and the live load not "
        "at all. A negative result means that its weight holds the form down.",
    ),
)
def net_uplift(p_up: SidePressure, g_e: FormWeight) -> Pressure:
    r"""Uplift left after the weight of the empty form.

    .. math:: p_{net} = p_{up} - g_e

    Parameters
    ----------
    p_up : quantity of pressure, shape (...,)
        uplift by wind or traffic
    g_e : quantity of pressure, shape (...,)
        weight of the empty form as laid out

    Returns
    -------
    Pressure
        `p_net` uplift that the form must be held down against.

    Raises
    ------
    InputError
        If a pressure is negative or far beyond what wind brings.

    Notes
    -----
    The pressure itself is the engineer's input. Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{net_uplift(Q(0.5, 'kPa'), Q(0.3, 'kPa')):.2f~P}"
    '0.20 kPa'
    """
    p_net = p_up - g_e  # uplift left
    return p_net


class FormSelfWeight(NamedTuple):
    """Result of `form_weight`."""

    m: Mass
    g_e: Pressure


@calculation(
    title="Weight of the form as laid out",
    source=Cite("", "sum of the parts over the area of the hole; 9.80665 m/s² is 1 lbf per lb", "common practice"),
    notes=("Nails, plates and wire are not weighed; strongbacks are, though they bear on the deck.",),
    unchecked="a sum of three masses; the plain sum is in the tests",
)
def form_weight(
    m_p: Annotated[Mass, Range("0 kg", "2000 kg")], m_j: Annotated[Mass, Range("0 kg", "2000 kg")],
    m_s: Annotated[Mass, Range("0 kg", "2000 kg")], A: Annotated[Area, Range("0.01 m²", "200 m²")],
    g: Annotated[units.Quantity, units.Kind("weight of a mass", "N/kg", "lbf/lb", 5, 3), Range("9.5 N/kg", "10 N/kg")],
) -> FormSelfWeight:  # fmt: skip
    r"""Weight of panel, joists and strongbacks or stringers over the area of the hole.

    .. math:: m = m_p + m_j + m_s,\quad g_e = m g / A

    Parameters
    ----------
    m_p : quantity of mass
        mass of the soffit panel
    m_j : quantity of mass
        mass of the joists
    m_s : quantity of mass
        mass of the strongbacks or stringers
    A : quantity of area
        area of the hole
    g : quantity of force per mass
        weight of a unit of mass

    Returns
    -------
    FormSelfWeight
        `m` mass of the form, `g_e` its weight over the area of the hole.

    Raises
    ------
    InputError
        If a mass is negative or the area none that a hole has.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> light = form_weight(Q(10, "kg"), Q(12, "kg"), Q(8, "kg"), Q(0.6, "m²"), Q(9.80665, "N/kg"))
    >>> f"{light.g_e.to('kPa'):.2f~P}"
    '0.49 kPa'
    """
    m = m_p + m_j + m_s  # mass of the form
    g_e = m * g / A  # its weight over the area of the hole
    return FormSelfWeight(m, g_e)


class LateralForce(NamedTuple):
    """Result of `lateral_force`."""

    H_e: MemberForce
    H_d: MemberForce
    H: MemberForce


@calculation(
    title="Lateral force on the shores",
    source=Cite("title8-1717", "1717(a): the greater of a load along the edge and 2 % of the dead load"),
    notes=(
        "To be taken by braces in both directions, or by ties to the bridge; the braces are for the engineer to detail.",
    ),
)
def lateral_force(
    H_0: Annotated[units.LineLoad, Range("0 kN/m", "20 kN/m")], r_H: Annotated[Share, Range("0 %", "20 %")],
    p_d: Annotated[Pressure, Range("0 kPa", "100 kPa")], L: Annotated[units.Distance, Range("0.05 m", "50 m")],
    B: Annotated[units.Distance, Range("0.05 m", "50 m")],
) -> LateralForce:  # fmt: skip
    r"""Minimum lateral force that shores are braced for.

    .. math:: H = \max(H_0 L,\ r_H p_d L B)

    Parameters
    ----------
    H_0 : quantity of force per length
        minimum lateral load along the edge
    r_H : quantity without dimension
        minimum share of the dead load
    p_d : quantity of pressure
        dead load: concrete and form
    L : quantity of length
        longer side of the form
    B : quantity of length
        other side of the form

    Returns
    -------
    LateralForce
        `H_e` by the edge, `H_d` by the dead load, `H` the greater.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Title 8, section 1717(a): 100 plf or 2 %.

    Examples
    --------
    >>> from deckcalc import Q
    >>> side = Q(3, "ft"), Q(2, "ft")
    >>> f"{lateral_force(Q(100, 'plf'), Q(2, '%'), Q(110, 'psf'), *side).H.to('lbf'):.0f~P}"
    '300 lbf'
    """
    H_e = H_0 * L  # by the load along the edge
    H_d = r_H * p_d * L * B  # by the share of the dead load
    H = larger(H_e, H_d)  # lateral force
    return LateralForce(H_e, H_d, H)
