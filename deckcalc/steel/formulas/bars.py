"""Bars: area in a strip of slab, clear space between bars, bars that put lost area back."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.bars import bar_diameter
from deckcalc.core.calculation import Range, calculation, constant, larger, round_up, smaller
from deckcalc.core.sources import Cite
from deckcalc.core.units import BarArea, Count, Diameter, Length

BarDiameter = Annotated[Diameter, Range("2 mm", "80 mm")]
OneBarArea = Annotated[BarArea, Range("5 mm²", "5000 mm²")]
StripWidth = Annotated[Length, Range("100 mm", "3 m")]
Spacing = Annotated[Length, Range("30 mm", "1 m")]
MM, IN, FT = 0.001, 0.0254, 0.3048  # m
MPA, PSI = 1e6, 0.45359237 * 9.80665 / 0.0254**2  # Pa
KSI = 1000 * PSI


def each(function: Any, *values: Any) -> Any:
    """Look up each element where values are arrays; a single number gives a single number."""
    if all(np.ndim(value) == 0 for value in values):
        return function(*values)
    return np.vectorize(function, otypes=[float])(*values)


def plain(value: Any) -> Any:
    """Hand a plain number of a look-up back, which stands for a quantity inside a body."""
    return value


def of_form(values: Mapping[str, str], form: str) -> float:
    """Return the constant that a form of the code has, as a plain number: its own, or that of all metric forms."""
    return constant(values[form] if form in values else values["SI"])


@cache
def thickest(*sizes: str) -> float:
    """Return the largest nominal diameter of bar sizes in m: one bar, rounded apart in its tables."""
    return max(float(bar_diameter(size).m_as("m")) for size in sizes)


class Strip(NamedTuple):
    """Result of `strip_area`."""

    n: Count
    A_s: BarArea


@calculation(
    title="Area of evenly spaced bars in a strip of slab",
    source=Cite("mccormac", "tables A.6 and B.6"),
    notes=("The number of bars in the strip is not a whole number: it is the average over the slab.",),
)
def strip_area(A_b: OneBarArea, s: Spacing, b: StripWidth) -> Strip:
    r"""Area of evenly spaced bars in a strip of slab.

    .. math:: A_s = A_b\, b / s

    Parameters
    ----------
    A_b : quantity of area
        area of one bar
    s : quantity of length
        spacing of the bars, centre to centre
    b : quantity of length
        width of the strip

    Returns
    -------
    Strip
        `n` bars in the strip, `A_s` their area.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: McCormac and Brown, tables A.6 and B.6.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strip_area(Q(0.31, 'in²'), Q(6, 'in'), Q(12, 'in')).A_s.to('in²'):.2f~P}"
    '0.62 in²'
    """
    n = b / s  # bars in the strip, on average
    A_s = n * A_b  # area of reinforcement in the strip
    return Strip(n, A_s)


class Clearance(NamedTuple):
    """Result of `clear_spacing`."""

    c_bars: Length
    c_aggregate: Length
    c_size: Length
    c_least: Length


@calculation(
    title="Clear space between an added bar and its neighbours",
    source=Cite("cc-bar-spacing", "answer: one diameter, 1 in, aggregate of at most three fourths of the clear space"),
    notes=("A bar that is lapped in contact is exempt from the clear space to the bar that it is lapped to.",),
)
def clear_spacing(
    s: Spacing,
    d_old: BarDiameter,
    d_b: BarDiameter,
    D_max: Annotated[Length, Range("4 mm", "75 mm")],
    c_code: Annotated[Length, Range("10 mm", "60 mm")],
) -> Clearance:
    r"""Clear space left by an added bar in contact with an existing one, and the minimum that is wanted.

    .. math:: c_{bars} = s - d_{old} - d_b,\quad c_{least} = \max(c_{code}, d_b, \tfrac43 D_{max})

    Parameters
    ----------
    s : quantity of length
        spacing of the existing bars, centre to centre
    d_old : quantity of length
        diameter of the existing bars
    d_b : quantity of length
        diameter of the added bar
    D_max : quantity of length
        nominal maximum size of the aggregate
    c_code : quantity of length
        minimum clear space between bars whatever their size

    Returns
    -------
    Clearance
        `c_bars` space left between the added bar and the next old one, `c_aggregate` what the aggregate wants, `c_size` the larger
        of it and the bar, `c_least` the minimum clear space.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Concrete Construction, “How far apart must rebars be spaced”; the same rule stands in ACI 318-11, 7.6.1 and 3.3.2.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = clear_spacing(Q(6, "in"), Q(0.625, "in"), Q(0.5, "in"), Q(0.375, "in"), Q(1, "in"))
    >>> f"{found.c_bars.to('in'):.3f~P}, {found.c_least.to('in'):.2f~P}"
    '4.875 in, 1.00 in'
    """
    c_bars = s - d_old - d_b  # clear space left beside the added bar
    c_aggregate = 4 / 3 * D_max  # clear space for the aggregate
    c_size = larger(d_b, c_aggregate)  # clear space for bar and aggregate
    c_least = larger(c_size, c_code)  # minimum clear space
    return Clearance(c_bars, c_aggregate, c_size, c_least)


class Confined(NamedTuple):
    """Result of `confinement`."""

    c_1: Length
    c_2: Length
    c_b: Length


@calculation(
    title="Cover or half spacing that confines a bar",
    source=Cite("mccormac", "ACI 318-11, 12.2.3, as reproduced in section 7.4"),
)
def confinement(c_c: Annotated[Length, Range("5 mm", "300 mm")], d_b: BarDiameter, s: Spacing) -> Confined:
    r"""Smaller of the cover to the bar centre and half the spacing of the bars.

    .. math:: c_b = \min(c_c + d_b/2, s/2)

    Parameters
    ----------
    c_c : quantity of length
        clear cover of the bar
    d_b : quantity of length
        diameter of the bar
    s : quantity of length
        spacing of the bars, centre to centre

    Returns
    -------
    Confined
        `c_1` cover to the centre, `c_2` half spacing, `c_b` the smaller.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11, 12.2.3.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{confinement(Q(2, 'in'), Q(0.5, 'in'), Q(6, 'in')).c_b.to('in'):.2f~P}"
    '2.25 in'
    """
    c_1 = c_c + d_b / 2  # cover to the centre of the bar
    c_2 = s / 2  # half the spacing
    c_b = smaller(c_1, c_2)  # the smaller
    return Confined(c_1, c_2, c_b)


class Supplement(NamedTuple):
    """Result of `supplement`."""

    n: Count
    A_added: BarArea


@calculation(
    title="Supplementary bars",
    source=Cite("", "the area lost is put back beside the corroded bar", "common practice"),
    notes=("Area for area: where the added bar is of a stronger steel, the difference is not used here.",),
)
def supplement(A_lost: Annotated[BarArea, Range("0 mm²", "100000 mm²")], A_b: OneBarArea) -> Supplement:
    r"""Number of bars that put lost area back.

    .. math:: n = \lceil A_{lost} / A_b \rceil

    Parameters
    ----------
    A_lost : quantity of area, shape (...,)
        area lost from the bars that are to be supplemented
    A_b : quantity of area
        nominal area of one supplementary bar

    Returns
    -------
    Supplement
        `n` number of bars, `A_added` area that they bring.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    The yield strength of the added bar is taken as not less than that of the existing one. Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{supplement(Q(0.40, 'in²'), Q(0.31, 'in²')).n:.0f~P}"
    '2'
    """
    n = round_up(A_lost / A_b)  # number of supplementary bars
    A_added = n * A_b  # area that they bring
    return Supplement(n, A_added)
