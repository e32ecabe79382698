"""How fast a diffusion coefficient falls with age, from tests."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from deckcalc.chloride.formulas.diffusion import Coefficient, Elapsed
from deckcalc.core.calculation import above, calculation, ln, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Ratio


@lookup("{t_2} divided by {t_1}, the later age over the earlier one")
def ages_apart(t_1: Elapsed, t_2: Elapsed) -> Ratio:
    """Return the quotient of two ages, refusing what is not later."""
    if not np.all(above(t_2, t_1)):
        raise TableError("t_2 is not later than t_1; two tests at one age tell nothing of ageing")
    quotient: Any = t_2 / t_1
    return quotient


class AgeingExponent(NamedTuple):
    """Result of `ageing_exponent`."""

    r_D: Ratio
    r_t: Ratio
    m: Ratio


@calculation(
    title="Ageing exponent from two tests",
    source=(Cite("fdot-ba502", "Eq. (2), p. 15: age factor as a power of the age"),),
    notes=(
        "Two tests give an exponent without any measure of its error: each is uncertain by some tens of per cent, and the further "
        "apart their ages the less that tells.",
        "Both coefficients are of one concrete, one method and one exposure; those of profiles are apparent ones, and so is then "
        "the exponent.",
    ),
)
def ageing_exponent(D_1: Coefficient, t_1: Elapsed, D_2: Coefficient, t_2: Elapsed) -> AgeingExponent:
    r"""Exponent with which a diffusion coefficient falls with age, from tests at two ages.

    .. math:: m = \frac{\ln (D_1 / D_2)}{\ln (t_2 / t_1)}

    Parameters
    ----------
    D_1 : quantity of area per time, shape (...,)
        diffusion coefficient of the earlier test
    t_1 : quantity of time, shape (...,)
        age at the earlier test
    D_2 : quantity of area per time, shape (...,)
        diffusion coefficient of the later test
    t_2 : quantity of time, shape (...,)
        age at the later test

    Returns
    -------
    AgeingExponent
        `r_D` fall of the coefficient, `r_t` quotient of the ages, `m` ageing exponent.

    Raises
    ------
    InputError
        If the second age is not the later one, or a value is out of range.

    Notes
    -----
    The coefficient is taken as a power of the age; the exponent is negative where it has risen. Source: the age factor of Florida DOT BA502, Eq. (2).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{ageing_exponent(Q(8.9e-12, 'm²/s'), Q(28, 'day'), Q(4.2e-12, 'm²/s'), Q(1, 'yr')).m:.2f~P}"
    '0.29'
    """
    r_D = D_1 / D_2  # fall of the coefficient
    r_t = ages_apart(t_1, t_2)  # quotient of the ages
    m = ln(r_D) / ln(r_t)  # ageing exponent
    return AgeingExponent(r_D, r_t, m)
