"""Coefficients of beams of equal spans, by named set, and what comes on joists and on what carries them."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import Range, calculation, constant, larger, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, Length, LineLoad, MemberForce, Pressure, Ratio

Coefficients = Literal["even", "uneven", "handbook"]
Spans = Annotated[Count, Range("1", "40")]
Spacing = Annotated[Length, Range("25 mm", "10000 mm")]
Overhang = Annotated[Length, Range("0 mm", "3000 mm")]

SETS = (
    Cite("three-span-beam", "three equal spans"),
    Cite("civil-engineering-formulas", "table 2.1"),
    Cite("peurifoy-formwork", "eq. 5-34 to 5-37b (set “handbook”)"),
    Cite("", "elastic theory, worst loading of some spans (set “uneven”)", "common practice"),
)


@cache
def _columns(name: str) -> dict[str, np.ndarray[Any, Any]]:
    rows = [row for row in tables.load("beam_coefficients").rows if row["set"] == name]
    return {key: np.array([float(row[key]) for row in rows]) for key in ("c_M", "c_V", "c_R", "c_D")}


def whole(n: Any, what: str) -> np.ndarray[Any, Any]:
    """Return counts as they are, refusing those that are no whole numbers."""
    counts = np.asarray(n, dtype=float)
    if np.any(counts % 1):
        raise tables.TableError(f"{counts[counts % 1 != 0].flat[0]:g} {what}: a whole number is wanted")
    return counts


def coefficient(name: str, coefficients: str, n: Any) -> Any:
    """Return a coefficient for `n` spans; the last row of a set serves for that number or more."""
    column = _columns(coefficients)[name]
    found = column[np.clip(whole(n, "spans").astype(int), 1, len(column)) - 1]
    return found if np.ndim(found) else float(found)


@lookup("set “{coefficients}”, number of spans {n}, by the table of coefficients")
def moment_coefficient(coefficients: Coefficients, n: Spans) -> Ratio:
    """Return M / (w l²)."""
    return coefficient("c_M", coefficients, n)


@lookup("set “{coefficients}”, number of spans {n}, by the table of coefficients")
def shear_coefficient(coefficients: Coefficients, n: Spans) -> Ratio:
    """Return V / (w l)."""
    return coefficient("c_V", coefficients, n)


@lookup("set “{coefficients}”, number of spans {n}, by the table of coefficients")
def reaction_coefficient(coefficients: Coefficients, n: Spans) -> Ratio:
    """Return the largest reaction over w l."""
    return coefficient("c_R", coefficients, n)


@lookup("set “{coefficients}”, number of spans {n}, by the table of coefficients")
def deflection_coefficient(coefficients: Coefficients, n: Spans) -> Ratio:
    """Return deflection over w l⁴ / (E I)."""
    return coefficient("c_D", coefficients, n)


INNER, OUTER = "1", "1/2"  # shares of a span that the plain tributary rule gives to a support


@lookup(
    "number of spans {n}: {inner} where a support has a span on either side, else {outer}", inner=INNER, outer=OUTER
)
def inner_share(n: Spans) -> Ratio:
    """Return the share of a span that the plain tributary rule gives to the most heavily loaded support."""
    share: Any = np.where(np.asarray(n) > 1, constant(INNER), constant(OUTER))
    return share[()]


CARRIED = (
    "An inner support gets the reaction of the continuous strip, up to a quarter more than half the spans beside it; an outer "
    "one gets its overhang by the lever on a single span, as if the concrete lay on one side only. The greater is used for all."
)
PLAIN = "Plain handbooks give a support half the span on either side of it; that is printed beside it and not used."


class JoistLoad(NamedTuple):
    """Result of `joist_load`."""

    c_R: Ratio
    b_i: Length
    b_e: Length
    b_t: Length
    w: LineLoad
    k_n: Ratio
    b_h: Length
    w_h: LineLoad


@calculation(title="Load on a joist", source=SETS, notes=(CARRIED, PLAIN))
def joist_load(
    p: Annotated[Pressure, Range("0 kPa", "100 kPa")], s: Spacing, o: Overhang, n: Spans, coefficients: Coefficients
) -> JoistLoad:
    r"""Load per length on the most heavily loaded joist.

    .. math:: w = p \max\left(c_R s,\ \frac{s}{2} + o + \frac{o^2}{2s}\right)

    Parameters
    ----------
    p : quantity of pressure, shape (...,)
        load on the form
    s : quantity of length, shape (...,)
        joist spacing, centre to centre
    o : quantity of length, shape (...,)
        overhang of the panel beyond the outer joist
    n : quantity without dimension
        number of spans of the panel
    coefficients : str
        named set of beam coefficients

    Returns
    -------
    JoistLoad
        `c_R` reaction coefficient, `b_i` width on an inner joist, `b_e` on an outer one, `b_t` the greater, `w` load;
        `k_n`, `b_h`, `w_h` share, width and load by the plain tributary rule.

    Raises
    ------
    InputError
        If spacing or overhang is no length that a form has.

    Notes
    -----
    Source: statics; reaction coefficients as named.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = joist_load(Q(8, "kPa"), Q(400, "mm"), Q(50, "mm"), 2, "even")
    >>> f"{found.b_t.to('mm'):.0f~P}, {found.w.to('kN/m'):.1f~P}"
    '500 mm, 4.0 kN/m'
    """
    c_R = reaction_coefficient(coefficients, n)  # reaction coefficient
    b_i = c_R * s  # width on an inner joist
    b_e = s / 2 + o + o**2 / (2 * s)  # width on an outer joist
    b_t = larger(b_i, b_e)  # width on the most heavily loaded joist
    w = p * b_t  # load on it
    k_n = inner_share(n)  # share of a spacing by the tributary rule
    b_h = larger(k_n * s, s / 2 + o)  # width by the tributary rule, beside it
    w_h = p * b_h  # load by that rule
    return JoistLoad(c_R, b_i, b_e, b_t, w, k_n, b_h, w_h)


class SupportForce(NamedTuple):
    """Result of `support_force`."""

    c_R: Ratio
    l_i: Length
    l_e: Length
    l_t: Length
    P: MemberForce
    k_n: Ratio
    l_h: Length
    P_h: MemberForce


@calculation(title="Reaction of a joist on its support", source=SETS, notes=(CARRIED, PLAIN))
def support_force(
    w: Annotated[LineLoad, Range("0 kN/m", "200 kN/m")], l: Spacing, o: Overhang, n: Spans, coefficients: Coefficients
) -> SupportForce:
    r"""Force of a joist on the most heavily loaded hanger or stringer.

    .. math:: P = w \max\left(c_R l,\ \frac{l}{2} + o + \frac{o^2}{2l}\right)

    Parameters
    ----------
    w : quantity of force per length, shape (...,)
        load on the joist
    l : quantity of length, shape (...,)
        span of the joist
    o : quantity of length, shape (...,)
        overhang of the joist beyond its outer support, to the edge of the hole
    n : quantity without dimension
        number of spans of the joist
    coefficients : str
        named set of beam coefficients

    Returns
    -------
    SupportForce
        `c_R` reaction coefficient, `l_i` length on an inner support, `l_e` on an outer one, `l_t` the greater, `P` force;
        `k_n`, `l_h`, `P_h` share, length and force by the plain tributary rule.

    Raises
    ------
    InputError
        If span or overhang is no length that a form has.

    Notes
    -----
    Source: statics; reaction coefficients as named.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{support_force(Q(4, 'kN/m'), Q(800, 'mm'), Q(50, 'mm'), 1, 'even').P.to('kN'):.2f~P}"
    '1.81 kN'
    """
    c_R = reaction_coefficient(coefficients, n)  # reaction coefficient
    l_i = c_R * l  # length on an inner support
    l_e = l / 2 + o + o**2 / (2 * l)  # length on an outer support
    l_t = larger(l_i, l_e)  # length on the most heavily loaded support
    P = w * l_t  # force on it
    k_n = inner_share(n)  # share of a span by the tributary rule
    l_h = larger(k_n * l, l / 2 + o)  # length by the tributary rule, beside it
    P_h = w * l_h  # force by that rule
    return SupportForce(c_R, l_i, l_e, l_t, P, k_n, l_h, P_h)
