"""How fast a bar loses section, and the years until a limit is reached."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import CorrosionRate, CurrentDensity, Diameter, Duration, Ratio, Share
from deckcalc.steel.formulas.bars import BarDiameter


@calculation(
    title="Rate of corrosion from the corrosion current",
    source=Cite("rebar-loss-time", "factor 11.6; by Faraday's law 11.598 for iron to Fe²⁺ at 7874 kg/m³"),
    units={"i_corr": "µA/cm²", "v": "µm/yr"},
    notes=("One survey is one day: temperature and moisture move the current severalfold over a year.",),
)
def corrosion_rate(i_corr: Annotated[CurrentDensity, Range("0.01 µA/cm²", "50 µA/cm²")]) -> CorrosionRate:
    r"""Rate at which a corrosion current takes the radius of a bar.

    .. math:: v = 11.6\, i_{corr}

    Parameters
    ----------
    i_corr : quantity of current per area
        corrosion current

    Returns
    -------
    CorrosionRate
        `v` penetration a year.

    Raises
    ------
    InputError
        If the current lies outside its range.

    Notes
    -----
    Source: Faraday's law.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{corrosion_rate(Q(3.5, 'µA/cm²')):.1f~P}"
    '40.6 µm/a'
    """
    v = 11.6 * i_corr  # penetration a year
    return v


@calculation(
    title="Corrosion current that a rate of corrosion is worth",
    source=Cite("rebar-loss-time", "factor 11.6; by Faraday's law 11.598 for iron to Fe²⁺ at 7874 kg/m³"),
    units={"v": "µm/yr", "i_eq": "µA/cm²"},
    notes=("For comparison with a measured or an assumed current, which is even over the bar; a pit runs faster.",),
)
def corrosion_current(v: Annotated[CorrosionRate, Range("0.1 µm/yr", "1000 µm/yr")]) -> CurrentDensity:
    r"""Even corrosion current that takes the radius of a bar at a given rate.

    .. math:: i_{eq} = v / 11.6

    Parameters
    ----------
    v : quantity of rate of corrosion
        penetration a year

    Returns
    -------
    CurrentDensity
        `i_eq` corrosion current.

    Raises
    ------
    InputError
        If the rate lies outside its range.

    Notes
    -----
    Source: Faraday's law.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{corrosion_current(Q(88.2, 'µm/yr')):.1f~P}"
    '7.6 µA/cm²'
    """
    i_eq = v / 11.6  # corrosion current
    return i_eq


@calculation(
    title="Rate of corrosion from the age of the corrosion",
    source=Cite("", "loss of radius over the years that it took", "common practice"),
    notes=("A steady rate is taken from the beginning of corrosion; that date is a judgement.",),
)
def rate_by_age(
    d_0: BarDiameter, d_r: BarDiameter, T_c: Annotated[Duration, Range("0.5 yr", "150 yr")]
) -> CorrosionRate:
    r"""Mean rate at which a bar has lost its radius.

    .. math:: v = \frac{d_0 - d_r}{2 T_c}

    Parameters
    ----------
    d_0 : quantity of length
        nominal diameter
    d_r : quantity of length
        diameter that is left
    T_c : quantity of time
        years since corrosion began

    Returns
    -------
    CorrosionRate
        `v` penetration a year.

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
    >>> f"{rate_by_age(Q(16, 'mm'), Q(15, 'mm'), Q(20, 'yr')):.1f~P}"
    '25.0 µm/a'
    """
    v = (d_0 - d_r) / (2 * T_c)  # penetration a year
    return v


class Remaining(NamedTuple):
    """Result of `years_to_limit`."""

    d_lim: Diameter
    dd: Diameter
    T: Duration


@calculation(
    title="Years until a limit of loss is reached",
    source=Cite("rebar-loss-time", "loss of diameter by rate and local factor"),
    notes=("The rate is taken as steady; a patch that stops the attack, or an anode ring about it, is not in it.",),
)
def years_to_limit(
    d_0: BarDiameter,
    d_r: BarDiameter,
    loss_lim: Annotated[Share, Range("0 %", "100 %")],
    v: Annotated[CorrosionRate, Range("0.1 µm/yr", "1000 µm/yr")],
    K: Annotated[Ratio, Range("1", "10")],
) -> Remaining:
    r"""Years until a bar has lost a share of its area; negative where it has already.

    .. math:: T = \frac{d_r - d_0\sqrt{1 - loss_{lim}}}{2 K v}

    Parameters
    ----------
    d_0 : quantity of length
        nominal diameter
    d_r : quantity of length
        diameter that is left now
    loss_lim : quantity without dimension
        limit of the loss of area
    v : quantity of rate of corrosion
        penetration a year
    K : quantity without dimension
        factor for the worst place over the mean

    Returns
    -------
    Remaining
        `d_lim` diameter at the limit, `dd` diameter still to lose, `T` years.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: geometry with a steady rate.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{years_to_limit(Q(19, 'mm'), Q(19, 'mm'), Q(27.75, '%'), Q(40, 'µm/yr'), Q(2)).T:.2f~P}"
    '17.81 a'
    """
    d_lim = d_0 * sqrt(1 - loss_lim)  # diameter at the limit
    dd = d_r - d_lim  # diameter still to lose
    T = dd / (2 * K * v)  # years until the limit
    return Remaining(d_lim, dd, T)
