"""The elementary functions that a body may use: of numbers, of arrays, and of quantities without dimension."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from deckcalc.core.tables import TableError
from deckcalc.core.units import InputError, Quantity

__all__ = ["Phi", "erf", "erfc", "exp", "ln", "log10"]


def number(x: Any, function: str) -> Any:
    """Return the plain number of an argument; a quantity with a dimension is refused."""
    if not isinstance(x, Quantity):
        return x
    if not x.dimensionless:
        raise InputError(f"{function} wants a number without dimension, found one in {x.units:~P}")
    return x.m_as("")


def exp(x: Any) -> Any:
    """Return e to the power of x.

    Examples
    --------
    >>> f"{exp(-1.0):.4f}"
    '0.3679'
    """
    return np.exp(number(x, "exp"))


def ln(x: Any) -> Any:
    """Return the natural logarithm of a positive number."""
    return np.log(positive(number(x, "ln")))


def log10(x: Any) -> Any:
    """Return the decimal logarithm of a positive number."""
    return np.log10(positive(number(x, "log10")))


def positive(x: Any) -> Any:
    """Return what a logarithm can be taken of."""
    if np.any(np.asarray(x) <= 0):
        raise TableError("a logarithm wants a positive number")
    return x


def erf(x: Any) -> Any:
    """Return the error function."""
    return special(x, "erf", math.erf)


def erfc(x: Any) -> Any:
    """Return the complementary error function, 1 − erf(x), which keeps its digits where erf is close to 1."""
    return special(x, "erfc", math.erfc)


def Phi(x: Any) -> Any:
    """Return the normal integral: the share of a normal distribution below x standard deviations from its mean.

    Examples
    --------
    >>> f"{Phi(1.0):.5f}"
    '0.84134'
    """
    return special(x, "Phi", lambda z: math.erfc(-z / math.sqrt(2)) / 2)


def special(x: Any, name: str, of_one: Callable[[float], float]) -> Any:
    """Return a function that numpy lacks: of one number by the language itself, of an array by scipy."""
    plain = number(x, name)
    if np.ndim(plain) == 0:
        return of_one(float(plain))
    from scipy import special

    return {"erf": special.erf, "erfc": special.erfc, "Phi": special.ndtr}[name](plain)
