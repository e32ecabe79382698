"""Coefficients of beams of equal spans, by named set, and the width or length of form that a member carries."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from deckcalc import tables
from deckcalc.calculation import Range, calculation, larger, lookup
from deckcalc.sources import Cite
from deckcalc.units import Count, Length, Ratio

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


def coefficient(name: str, coefficients: str, n: Any) -> Any:
    """Return a coefficient for `n` spans; the last row of a set serves for that number or more."""
    column = _columns(coefficients)[name]
    found = column[np.clip(np.asarray(n, dtype=int), 1, len(column)) - 1]
    return found if np.ndim(found) else float(found)


@lookup("set “{coefficients}” for {n} span(s)", source=SETS)
def moment_coefficient(coefficients: Coefficients, n: Spans) -> Ratio:
    """Return M / (w l²)."""
    return coefficient("c_M", coefficients, n)


@lookup("set “{coefficients}” for {n} span(s)", source=SETS)
def shear_coefficient(coefficients: Coefficients, n: Spans) -> Ratio:
    """Return V / (w l)."""
    return coefficient("c_V", coefficients, n)


@lookup("set “{coefficients}” for {n} span(s)", source=SETS)
def reaction_coefficient(coefficients: Coefficients, n: Spans) -> Ratio:
    """Return the largest reaction over w l."""
    return coefficient("c_R", coefficients, n)


@lookup("set “{coefficients}” for {n} span(s)", source=SETS)
def deflection_coefficient(coefficients: Coefficients, n: Spans) -> Ratio:
    """Return deflection over w l⁴ / (E I)."""
    return coefficient("c_D", coefficients, n)


class Tributary(NamedTuple):
    """Result of `tributary`."""

    c_R: Ratio
    b_i: Length
    b_e: Length
    b_t: Length


@calculation(
    title="Width of form that one support carries",
    source=SETS,
    notes=(
        "An inner support gets the reaction of the continuous strip, up to a quarter more than half the spans beside it; an outer "
        "one gets its overhang by the lever on a single span. The greater is used for every support.",
    ),
)
def tributary(s: Spacing, o: Overhang, n: Spans, coefficients: Coefficients) -> Tributary:
    r"""Width of load on the most heavily loaded of several equally spaced supports.

    .. math:: b_t = \max\left(c_R s,\ \frac{s}{2} + o + \frac{o^2}{2s}\right)

    Parameters
    ----------
    s : quantity of length, shape (...,)
        spacing of the supports
    o : quantity of length, shape (...,)
        overhang beyond the outer support
    n : quantity without dimension
        number of spans
    coefficients : str
        named set of beam coefficients

    Returns
    -------
    Tributary
        `c_R` reaction coefficient, `b_i` width on an inner support, `b_e` on an outer one, `b_t` the greater.

    Raises
    ------
    InputError
        If spacing or overhang is no length that a form has.

    Notes
    -----
    The outer support is that of a single span with one loaded overhang, the worst of uneven placing. Source: statics;
    reaction coefficients as named.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{tributary(Q(400, 'mm'), Q(50, 'mm'), Q(2), 'even').b_t:.0f~P}"
    '500 mm'
    """
    c_R = reaction_coefficient(coefficients, n)  # reaction coefficient, from
    b_i = c_R * s  # width on an inner support
    b_e = s / 2 + o + o**2 / (2 * s)  # width on an outer support
    b_t = larger(b_i, b_e)  # width on the most heavily loaded support
    return Tributary(c_R, b_i, b_e, b_t)
