"""Loss of section: from caliper, scale or pit gauge to a share of the nominal area, and how sure it is."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core.calculation import ListOf, Range, calculation, lookup, pi, smaller
from deckcalc.core.sources import Cite
from deckcalc.core.units import BarArea, Diameter, Length, Mass, MassPerLength, Share
from deckcalc.steel.formulas.bars import BarDiameter, OneBarArea

Readings = Annotated[Diameter, Range("1 mm", "85 mm"), ListOf()]
AREA_NOTE = "Loss is a share of the nominal area, never of the diameter: 13.4 % of the diameter is 25 % of the area."


@lookup("the minimum of the readings {d}")
def least_reading(d: Readings) -> Diameter:
    """Return the minimum reading of a bar."""
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
        "The remaining area is that of a circle of the minimum reading: a pit beside it, or a rib under the jaws of the "
        "caliper, is not seen.",
        "A sound ribbed bar may measure up to 7 % less than nominal between its ribs, which shows as up to 13.5 % loss; and "
        "the circle of the nominal diameter is itself up to 1.8 % off the tabulated area.",
        AREA_NOTE,
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
        `d_mean` mean and `d_r` minimum reading, `A_r` remaining area, `A_lost` area lost, `loss` its share of `A_0`.
        A negative loss means that the bar measures more than nominal.

    Raises
    ------
    InputError
        If a value lies outside its range.

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
    d_r = least_reading(d)  # minimum diameter, taken as the remaining one
    A_r = pi * d_r**2 / 4  # remaining area
    A_lost = A_0 - A_r  # area lost
    loss = A_lost / A_0  # section loss, as a share of the nominal area
    return SectionLoss(d_mean, d_r, A_r, A_lost, loss)


@calculation(
    title="Loss of section of an old square bar",
    source=Cite("mccormac", "section 1.14: square bars are named by their side"),
    notes=("The remaining area is that of a square of the minimum reading across the flats.", AREA_NOTE),
)
def section_loss_square(A_0: OneBarArea, d: Readings) -> SectionLoss:
    r"""Area that corrosion has taken from a square bar, from caliper readings across its flats.

    .. math:: loss = 1 - \frac{d_r^2}{A_0}

    Parameters
    ----------
    A_0 : quantity of area, shape (...,)
        nominal area of the bar
    d : quantity of length, shape (..., n)
        measured sides of one bar, in two directions and at several places

    Returns
    -------
    SectionLoss
        `d_mean` mean and `d_r` minimum side, `A_r` remaining area, `A_lost` area lost, `loss` its share, as for `section_loss`.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: plane geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{section_loss_square(Q(1, 'in²'), Q([1.0, 0.9], 'in')).loss:.1f~P}"
    '19.0 %'
    """
    d_mean = mean_reading(d)  # mean side
    d_r = least_reading(d)  # minimum side, taken as the remaining one
    A_r = d_r**2  # remaining area
    A_lost = A_0 - A_r  # area lost
    loss = A_lost / A_0  # section loss, as a share of the nominal area
    return SectionLoss(d_mean, d_r, A_r, A_lost, loss)


class MassLoss(NamedTuple):
    """Result of `mass_loss`."""

    m_r: MassPerLength
    loss_m: Share


@calculation(
    title="Loss of section by the mass of a cut length",
    source=Cite("", "mass per length in proportion to area", "common practice"),
    notes=(
        "It is the mean over the length that was cut: it says nothing of the deepest place. All rust is cleaned off "
        "before the length is weighed.",
    ),
)
def mass_loss(
    m_0: Annotated[MassPerLength, Range("0.05 kg/m", "30 kg/m")],
    M_cut: Annotated[Mass, Range("0.005 kg", "50 kg")],
    L_cut: Annotated[Length, Range("50 mm", "3 m")],
) -> MassLoss:
    r"""Mean loss of section over a cut and cleaned length of bar.

    .. math:: loss_m = 1 - \frac{M_{cut}}{m_0 L_{cut}}

    Parameters
    ----------
    m_0 : quantity of mass per length
        nominal mass of the bar
    M_cut : quantity of mass
        mass of the cleaned length
    L_cut : quantity of length
        length that was cut

    Returns
    -------
    MassLoss
        `m_r` mass per length that remains, `loss_m` mean loss of section.

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
    >>> f"{mass_loss(Q(1.552, 'kg/m'), Q(0.400, 'kg'), Q(300, 'mm')).loss_m:.1f~P}"
    '14.1 %'
    """
    m_r = M_cut / L_cut  # mass per length that remains
    loss_m = 1 - m_r / m_0  # mean loss of section over the cut length
    return MassLoss(m_r, loss_m)


class UniformLoss(NamedTuple):
    """Result of `uniform_loss`."""

    x: Length
    loss_x: Share
    loss_d: Share
    loss_A: Share


@calculation(
    title="Uniform loss: of radius, of diameter and of area",
    source=Cite("", "plane geometry", "common practice"),
    notes=(
        "The penetration is a loss of radius: it is taken off twice. A share of the diameter is not a share of the area.",
    ),
)
def uniform_loss(d_0: BarDiameter, d: BarDiameter) -> UniformLoss:
    r"""Penetration, and the shares of diameter and area that it takes.

    .. math:: x = (d_0 - d)/2,\quad loss_d = 1 - d/d_0,\quad loss_A = 1 - (d/d_0)^2

    Parameters
    ----------
    d_0 : quantity of length
        nominal diameter
    d : quantity of length
        diameter that is left, the mean of the readings

    Returns
    -------
    UniformLoss
        `x` penetration, `loss_x` its share of the radius, `loss_d` loss of diameter and `loss_A` of area, each as a share.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: plane geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{uniform_loss(Q(20, 'mm'), Q(18, 'mm')).loss_A:.1f~P}"
    '19.0 %'
    """
    x = (d_0 - d) / 2  # penetration, the loss of radius
    loss_x = x / (d_0 / 2)  # loss of radius
    loss_d = 1 - d / d_0  # loss of diameter, the same share
    loss_A = 1 - (d / d_0) ** 2  # loss of area
    return UniformLoss(x, loss_x, loss_d, loss_A)


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
        If a value lies outside its range.

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


LostAreas = Annotated[BarArea, Range("-3000 mm²", "5000 mm²"), ListOf()]
Areas = Annotated[BarArea, Range("5 mm²", "5000 mm²"), ListOf()]


@lookup("the sum of the areas {A_lost}")
def sum_lost(A_lost: LostAreas) -> BarArea:
    """Return the sum of areas lost."""
    return np.sum(A_lost, axis=-1)


@lookup("the sum of the areas {A_0}")
def sum_areas(A_0: Areas) -> BarArea:
    """Return the sum of nominal areas."""
    return np.sum(A_0, axis=-1)


class MatLoss(NamedTuple):
    """Result of `mat_loss`."""

    A_l: BarArea
    A_n: BarArea
    loss_mat: Share


@calculation(
    title="Mean loss of section of a mat within a patch",
    source=Cite("", "area lost over nominal area, bar by bar", "common practice"),
    notes=("Only bars that were measured are in it; they stand for their neighbours.",),
)
def mat_loss(A_lost: LostAreas, A_0: Areas) -> MatLoss:
    r"""Mean loss of the bars of one mat.

    .. math:: loss_{mat} = \frac{\sum A_{lost}}{\sum A_0}

    Parameters
    ----------
    A_lost : quantity of area, shape (..., n)
        area lost of each bar
    A_0 : quantity of area, shape (..., n)
        nominal area of each bar

    Returns
    -------
    MatLoss
        `A_l` area lost, `A_n` nominal area, `loss_mat` mean loss.

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
    >>> f"{mat_loss(Q([20, 60], 'mm²'), Q([200, 200], 'mm²')).loss_mat:.0f~P}"
    '20 %'
    """
    A_l = sum_lost(A_lost)  # area lost of all bars
    A_n = sum_areas(A_0)  # nominal area of all bars
    loss_mat = A_l / A_n  # mean loss of section
    return MatLoss(A_l, A_n, loss_mat)
