"""Pits, and the strength of corroded bars."""

from __future__ import annotations

import math
from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import Range, calculation, constant, larger, ln, lookup, pi, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BarArea, Diameter, Length, Ratio, Share, Stress
from deckcalc.steel.formulas.bars import BarDiameter, OneBarArea, each, plain

VAL = Cite("val-melchers-1997", "pit of circular profile on a round bar")
PitFactor = Annotated[Ratio, Range("1", "15")]
MEET = math.sqrt(0.5)  # depth over diameter where the two branches of a pit meet
BETWEEN = Annotated[Ratio, Range("0", "1")]


@lookup("the depth {p} over the diameter {d}, at most 1")
def pit_ratio(p: Length, d: Diameter) -> Ratio:
    """Return depth over diameter; a pit deeper than the bar is refused."""
    if np.any(np.asarray(p) > np.asarray(d) * (1 + 1e-9)):
        raise TableError("the pit is deeper than the bar is thick; is the depth or the unit wrong?")
    return np.minimum(p / d, 1.0)


@lookup("twice the angle whose sine is {sine}, in radians")
def chord_angle(sine: BETWEEN) -> Ratio:
    """Return the angle that a chord spans at the centre of its circle."""
    return plain(2 * np.arcsin(np.minimum(sine, 1.0)))


@lookup(
    "by the case of the depth {p}: up to {meet:.4f} of the diameter {d} the two segments together, deeper than that the bar "
    "less one segment with the other, and the whole bar where the pit is as deep as the bar; the segments are {A_1} and {A_2}",
    meet=MEET, source=VAL,
)  # fmt: skip
def pit_branch(p: Length, d: Diameter, A_d: BarArea, A_1: BarArea, A_2: BarArea) -> BarArea:
    """Return the area of a pit by the branch that its depth falls in."""
    deep = np.where(p < d, A_d - A_1 + A_2, A_d)
    return plain(np.where(p <= MEET * d, A_1 + A_2, deep)[()])


class Pit(NamedTuple):
    """Result of `pit_loss`."""

    q: Ratio
    w: Length
    q_2: Ratio
    q_1: Ratio
    theta_1: Ratio
    theta_2: Ratio
    A_d: BarArea
    h_0: Length
    h_1: Length
    A_1: BarArea
    A_2: BarArea
    A_pit: BarArea
    A_res: BarArea
    loss_p: Share


@calculation(
    title="Area lost to a pit",
    source=VAL,
    notes=(
        "The pit is a circle about a point of the perimeter of the bar: its depth is also its radius. Uniform loss is "
        "counted by taking the diameter measured beside the pit; that the two are added is a choice of the model.",
        "A pit in the bar is deducted once: do not also reduce the yield strength for it.",
    ),
)
def pit_loss(A_0: OneBarArea, d: BarDiameter, p: Annotated[Length, Range("0 mm", "80 mm", above=True)]) -> Pit:
    r"""Area of a round bar that is left at a pit.

    .. math:: A_{pit} = A_1 + A_2 \text{ for } p \le d/\sqrt2,\quad A_0 - A_1 + A_2 \text{ up to } p = d

    Parameters
    ----------
    A_0 : quantity of area, shape (...,)
        nominal area of the bar
    d : quantity of length
        diameter of the bar beside the pit
    p : quantity of length
        depth of the pit

    Returns
    -------
    Pit
        `q` depth over diameter, `w` width of the mouth, `q_2`, `q_1` sines of its half angles in pit and bar, `theta_1`,
        `theta_2` those angles, `A_d` area of the bar beside the pit, `h_0`, `h_1` distance of the mouth from its centre, `A_1`, `A_2` segments, `A_pit` area of the pit,
        `A_res` area left, `loss_p` share of the nominal area lost.

    Raises
    ------
    InputError
        If the pit has no depth or is deeper than the bar.

    Notes
    -----
    The closed form equals the overlap of two circles on both branches. Source: Val and Melchers 1997.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{pit_loss(Q(201.06, 'mm²'), Q(16, 'mm'), Q(4, 'mm')).A_pit:.3f~P}"
    '22.449 mm²'
    """
    q = pit_ratio(p, d)  # depth over diameter
    w = 2 * p * sqrt(1 - q**2)  # width of the mouth of the pit
    q_2 = w / (2 * p)  # sine of half the angle that the mouth spans in the pit
    q_1 = w / d  # sine of half the angle that the mouth spans in the bar
    theta_1 = chord_angle(q_1)  # angle of the mouth in the bar
    theta_2 = chord_angle(q_2)  # angle of the mouth in the pit
    A_d = pi * d**2 / 4  # area of the bar beside the pit
    h_0 = d / 2 - p**2 / d  # distance of the mouth from the centre of the bar, negative beyond it
    h_1 = larger(h_0, -h_0)  # the same without its sign
    A_1 = (theta_1 * (d / 2) ** 2 - w * h_1) / 2  # segment of the bar
    A_2 = (theta_2 * p**2 - w * p**2 / d) / 2  # segment of the pit
    A_pit = pit_branch(p, d, A_d, A_1, A_2)  # area of the pit
    A_res = A_d - A_pit  # area left
    loss_p = 1 - A_res / A_0  # section loss, as a share of the nominal area
    return Pit(q, w, q_2, q_1, theta_1, theta_2, A_d, h_0, h_1, A_1, A_2, A_pit, A_res, loss_p)


GUMBEL = Cite("stewart-2004", "Gumbel parameters for a length of 100 mm, as used in a public thesis code")


TESTED = "100 mm"  # length of bar that the parameters belong to


@lookup("from the table of pits for a bar of {d}, in proportion between its rows", source=GUMBEL)
def gumbel_location(d: Diameter) -> Ratio:
    """Return the location of the extreme values over the length of the tests."""
    return each(lambda size: _of_bar(size, "mu_0"), d)


@lookup("from the same table for a bar of {d}", source=GUMBEL)
def gumbel_scale(d: Diameter) -> Ratio:
    """Return the scale of the extreme values."""
    return each(lambda size: _of_bar(size, "alpha_0"), d)


@lookup("{length}, to which the parameters belong", length=TESTED, source=GUMBEL)
def tested_length() -> Length:
    """Return the length of bar that the parameters belong to."""
    found: Any = constant(TESTED)
    return found


def _of_bar(d: float, column: str) -> float:
    table = tables.load("pit_factors")
    return tables.interpolate(1000 * d, table.column("d [mm]"), table.column(column), "diameter in mm")


class PitDepth(NamedTuple):
    """Result of `pit_depth`."""

    mu_0: Ratio
    alpha_0: Ratio
    L_0: Length
    R: Ratio
    p_max: Length


@calculation(
    title="Depth of pit to expect from the mean penetration",
    source=(GUMBEL, Cite("gonzalez-1995", "ratio of 4 to 8 in natural chloride attack")),
    notes=("A pit that was measured is better than one that is expected.",),
)
def pit_depth(
    x: Annotated[Length, Range("0 mm", "20 mm")],
    d_0: Annotated[Diameter, Range("10 mm", "27 mm")],
    L: Annotated[Length, Range("50 mm", "5 m")],
) -> PitDepth:
    r"""Depth of the deepest pit to expect over a length of bar.

    .. math:: p_{max} = R\,x,\quad R = \mu_0 + \frac{\ln(L/100\,mm) + 0.5772}{\alpha_0}

    Parameters
    ----------
    x : quantity of length
        mean penetration, as a loss of radius
    d_0 : quantity of length
        nominal diameter
    L : quantity of length
        length of bar

    Returns
    -------
    PitDepth
        `mu_0`, `alpha_0` parameters of the extreme values, `L_0` length they belong to, `R` mean pit factor, `p_max` depth of pit.

    Raises
    ------
    InputError
        If the diameter lies outside the table: the parameters are not extrapolated.

    Notes
    -----
    Between the tabulated diameters the parameters are interpolated. Source: Stewart 2004.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{pit_depth(Q(0.5, 'mm'), Q(16, 'mm'), Q(500, 'mm')).R:.2f~P}"
    '7.45'
    """
    mu_0 = gumbel_location(d_0)  # location of the extreme values
    alpha_0 = gumbel_scale(d_0)  # their scale
    L_0 = tested_length()  # length of the tests
    R = mu_0 + (ln(L / L_0) + 0.5772156649) / alpha_0  # ratio of the deepest pit to the mean penetration
    p_max = R * x  # depth of pit to expect
    return PitDepth(mu_0, alpha_0, L_0, R, p_max)


class CorrodedYield(NamedTuple):
    """Result of `corroded_yield`."""

    r_y: Ratio
    f_yc: Stress


@calculation(
    title="Yield strength of a corroded bar",
    source=Cite("du-2005", "equations 6 and 8"),
    notes=(
        "Empirical, on the mean residual area. Pits are what the reduction stands for: with a pit area deducted at the "
        "same place, the pit is counted twice.",
        "Another source treats the factor 0.005 as uncertain between 0 and 0.017.",
    ),
)
def corroded_yield(
    f_y: Annotated[Stress, Range("150 MPa", "800 MPa")], loss: Annotated[Share, Range("0 %", "80 %")]
) -> CorrodedYield:
    r"""Yield strength of a bar that has lost section, on its mean residual area.

    .. math:: f_{yc} = (1 - 0.005\,Q) f_y,\quad Q \text{ in per cent}

    Parameters
    ----------
    f_y : quantity of stress
        yield strength of the sound bar
    loss : quantity without dimension
        mean loss of section

    Returns
    -------
    CorrodedYield
        `r_y` factor of the yield strength, `f_yc` yield strength of the corroded bar.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    The loss enters as a ratio, so that 0.005 for each per cent is 0.5. Source: Du, Clark and Chan 2005.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{corroded_yield(Q(400, 'MPa'), Q(20, '%')).f_yc:.0f~P}"
    '360 MPa'
    """
    r_y = 1 - 0.5 * loss  # factor of the yield strength, 0.005 for each per cent lost
    f_yc = r_y * f_y  # yield strength of the corroded bar
    return CorrodedYield(r_y, f_yc)
