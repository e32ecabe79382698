"""How sure a loss is: the probability that a limit is exceeded."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Phi, Range, calculation, pi
from deckcalc.core.sources import Cite
from deckcalc.core.units import Length, Probability, Ratio, Share
from deckcalc.steel.formulas.bars import BarDiameter, OneBarArea


class Exceedance(NamedTuple):
    """Result of `exceedance`."""

    u_loss: Share
    z: Ratio
    p: Probability


@calculation(
    title="Probability that a limit of loss is exceeded",
    source=Cite("", "propagation of the standard uncertainty of one reading to first order", "common practice"),
    notes=(
        "Only the reading is taken as uncertain, with a normal distribution; that the thinnest place of the bar was "
        "found and cleaned is taken for granted.",
    ),
)
def exceedance(
    loss: Annotated[Share, Range("-50 %", "100 %")],
    A_0: OneBarArea,
    d_r: BarDiameter,
    u_d: Annotated[Length, Range("0.001 mm", "3 mm")],
    loss_lim: Annotated[Share, Range("0 %", "100 %")],
) -> Exceedance:
    r"""Probability that the true loss exceeds a limit, from the uncertainty of the reading.

    .. math:: u_{loss} = \frac{\pi d_r}{2 A_0} u_d,\quad p = \Phi\!\left(\frac{loss - loss_{lim}}{u_{loss}}\right)

    Parameters
    ----------
    loss : quantity without dimension, shape (...,)
        loss of section as measured
    A_0 : quantity of area
        nominal area of the bar
    d_r : quantity of length
        reading that decides
    u_d : quantity of length
        standard uncertainty of one reading
    loss_lim : quantity without dimension
        limit of the loss

    Returns
    -------
    Exceedance
        `u_loss` standard uncertainty of the loss, `z` its distance from the limit in those, `p` probability that the limit is
        exceeded.

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
    >>> f"{exceedance(Q(25, '%'), Q(200, 'mm²'), Q(13.8, 'mm'), Q(0.2, 'mm'), Q(25, '%')).p:.0f~P}"
    '50 %'
    """
    u_loss = pi * d_r / (2 * A_0) * u_d  # standard uncertainty of the loss
    z = (loss - loss_lim) / u_loss  # distance of the loss from the limit
    p = Phi(z)  # probability that the limit is exceeded
    return Exceedance(u_loss, z, p)
