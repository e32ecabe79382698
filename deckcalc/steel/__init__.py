"""Reinforcement: section loss from caliper readings, and the steel to put back."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc import tables, units
from deckcalc.calculation import Range, Several, calculation, lookup, pi, round_up, smaller
from deckcalc.sources import Cite
from deckcalc.units import BarArea, Count, Diameter, Quantity, Share

BarDiameter = Annotated[Diameter, Range("2 mm", "80 mm")]
Readings = Annotated[Diameter, Range("1 mm", "85 mm"), Several()]
OneBarArea = Annotated[BarArea, Range("5 mm²", "5000 mm²")]


@lookup("the least of the readings {d}")
def least_reading(d: Readings) -> Diameter:
    """Return the least reading of a bar."""
    return np.min(d, axis=-1)


@lookup("the mean of the readings {d}")
def mean_reading(d: Readings) -> Diameter:
    """Return the mean reading of a bar."""
    return np.mean(d, axis=-1)


class SectionLoss(NamedTuple):
    """Result of `section_loss`."""

    d_mean: Diameter
    d_r: Diameter
    A_r: BarArea
    A_lost: BarArea
    loss: Share


@calculation(
    title="Loss of section of a bar",
    source=(
        Cite("", "area of a circle", "common practice"),
        Cite("ufgs-03931", "3.3.1.4: loss is of cross section, not of diameter"),
        Cite("hk-housing-appraisal", "7.1.3: diameter of ribbed bars"),
    ),
    notes=(
        "The remaining area is that of a circle of the least reading: a pit beside it, or a rib under the jaws of the "
        "caliper, is not seen.",
        "A sound ribbed bar may measure up to 7 % less than nominal between its ribs, which shows as up to 13.5 % loss; and "
        "the circle of the nominal diameter is itself up to 1.8 % off the tabulated area.",
        "Loss is a share of the nominal area, never of the diameter: 13.4 % of the diameter is 25 % of the area.",
    ),
)
def section_loss(A_0: OneBarArea, d: Readings) -> SectionLoss:
    r"""Area that corrosion has taken from a round bar, from caliper readings of its diameter.

    .. math:: loss = 1 - \frac{A_r}{A_0},\quad A_r = \frac{\pi d_r^2}{4}

    Parameters
    ----------
    A_0 : quantity of area, shape (...,)
        nominal area of the bar, from the bar table
    d : quantity of length, shape (..., n)
        measured diameters of one bar, in two directions and at several places

    Returns
    -------
    SectionLoss
        `d_mean` mean and `d_r` least reading, `A_r` remaining area, `A_lost` area lost, `loss` its share of `A_0`.
        A negative loss means that the bar measures more than nominal.

    Raises
    ------
    InputError
        If a reading is no length between 1 mm and 85 mm, or the area lies outside 5 to 5000 mm².

    Notes
    -----
    Uniform loss of a round bar. Source: plane geometry; that limits are stated on area: UFGS 03931, 3.3.1.4.

    Examples
    --------
    >>> from deckcalc import Q
    >>> loss = section_loss(Q(0.31, "in²"), Q([0.60, 0.55], "in"))
    >>> f"{loss.A_r.to('in²'):.3f~P}, {loss.loss:.1f~P}"
    '0.238 in², 23.4 %'
    """
    d_mean = mean_reading(d)  # mean diameter
    d_r = least_reading(d)  # least diameter, taken as the remaining one
    A_r = pi * d_r**2 / 4  # remaining area
    A_lost = A_0 - A_r  # area lost
    loss = A_lost / A_0  # section loss, as a share of the nominal area
    return SectionLoss(d_mean, d_r, A_r, A_lost, loss)


@calculation(
    title="Loss of section shared by two adjacent bars",
    source=Cite("ufgs-03931", "3.3.1.4"),
    notes=("Adjacent bars are neighbours in the same mat; the pair is judged by the loss that both of them reach.",),
)
def adjacent_loss(
    loss_1: Annotated[Share, Range("-50 %", "100 %")], loss_2: Annotated[Share, Range("-50 %", "100 %")]
) -> Share:
    r"""Loss that two adjacent bars both reach.

    .. math:: loss_{pair} = \min(loss_1, loss_2)

    Parameters
    ----------
    loss_1 : quantity without dimension
        section loss of a bar
    loss_2 : quantity without dimension
        section loss of the next bar in the same mat

    Returns
    -------
    Share
        `loss_pair`, held against the limit for adjacent bars.

    Raises
    ------
    InputError
        If a loss is not between -50 % and 100 %.

    Notes
    -----
    Source: UFGS 03931, 3.3.1.4 (limit for adjacent bars).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{adjacent_loss(Q(24, '%'), Q(21, '%')):.0f~P}"
    '21 %'
    """
    loss_pair = smaller(loss_1, loss_2)  # loss that both bars reach
    return loss_pair


class Supplement(NamedTuple):
    """Result of `supplement`."""

    n: Count
    A_added: BarArea


@calculation(
    title="Supplementary bars",
    source=Cite("", "the area lost is put back beside the corroded bar", "common practice"),
    notes=("Splice length each side of the loss, and room for the bars, are not part of this calculation.",),
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
        If an area is negative or a bar outside 5 to 5000 mm².

    Notes
    -----
    The yield strength of the added bar is taken as not less than that of the old one. Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{supplement(Q(0.40, 'in²'), Q(0.31, 'in²')).n:.0f~P}"
    '2'
    """
    n = round_up(A_lost / A_b)  # number of supplementary bars
    A_added = n * A_b  # area that they bring
    return Supplement(n, A_added)


def bar_diameter(size: str) -> Quantity:
    """Return the nominal diameter of a bar size, in the unit of its own table.

    Parameters
    ----------
    size : str
        ``#5`` (US inch-pound), ``M16`` (US soft metric), ``15M`` (CSA) or ``16`` (ISO).

    Raises
    ------
    TableError
        If no bar table has the size.

    Examples
    --------
    >>> print(bar_diameter("#5"))
    0.625 in
    """
    return _nominal(size, "d [in]", "d [mm]")


def bar_area(size: str) -> Quantity:
    """Return the nominal area of a bar size, in the unit of its own table; see `bar_diameter`.

    Examples
    --------
    >>> print(bar_area("M16"))
    199.0 mm²
    """
    return _nominal(size, "A [in²]", "A [mm²]")


def _nominal(size: str, us: str, si: str) -> Quantity:
    row = tables.bar(size)
    column = us if row[us] else si
    return units.registry().Quantity(float(row[column]), units.unit(column.partition("[")[2].rstrip("]")))
