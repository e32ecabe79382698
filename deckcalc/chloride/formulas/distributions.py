"""Laws of chance of a single value: drawn, and read at a number of standard deviations of the normal law."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np

from deckcalc.core.units import InputError

Array = Any
Name = Literal["fixed", "normal", "lognormal", "beta"]


@dataclass(frozen=True)
class Law:
    """A value that is not known exactly, as a plain number in coherent SI.

    Parameters
    ----------
    name : {"fixed", "normal", "lognormal", "beta"}
    mean, sd : float
        Mean and standard deviation; a fixed value has no deviation.
    low, high : float
        Bounds, of a beta law alone.

    Raises
    ------
    InputError
        If deviation or bounds do not fit the law.

    Examples
    --------
    >>> f"{Law('lognormal', 2.0, 0.9).at(0.0):.3f}"
    '1.824'
    """

    name: Name
    mean: float
    sd: float = 0.0
    low: float = 0.0
    high: float = 1.0

    def __post_init__(self) -> None:
        if not np.isfinite([self.mean, self.sd]).all() or (self.sd > 0) != (self.name != "fixed"):
            raise InputError(
                f"a {self.name} law wants a mean and a {'' if self.name == 'fixed' else 'positive '}deviation"
            )
        if self.name == "lognormal" and self.mean <= 0:
            raise InputError("a lognormal law wants a positive mean")
        if self.name == "beta":
            room = (self.mean - self.low) * (self.high - self.mean)
            if not self.low < self.mean < self.high or self.sd**2 >= room:
                raise InputError("a beta law wants its mean between the bounds, and a deviation that fits between them")

    @cached_property
    def logs(self) -> tuple[float, float]:
        """Mean and standard deviation of the logarithm."""
        zeta2 = np.log1p((self.sd / self.mean) ** 2)
        return float(np.log(self.mean) - zeta2 / 2), float(np.sqrt(zeta2))

    @cached_property
    def shapes(self) -> tuple[float, float]:
        """Both shapes of the beta law."""
        width = self.high - self.low
        mean, variance = (self.mean - self.low) / width, (self.sd / width) ** 2
        total = mean * (1 - mean) / variance - 1
        return mean * total, (1 - mean) * total

    def draw(self, rng: np.random.Generator, count: int) -> Array:
        """Draw values; a fixed one comes back as it is."""
        if self.name == "fixed":
            return self.mean
        if self.name == "beta":
            return self.low + (self.high - self.low) * rng.beta(*self.shapes, count)
        out = rng.standard_normal(count)
        mean, sd = self.logs if self.name == "lognormal" else (self.mean, self.sd)
        out *= sd
        out += mean
        return np.exp(out, out=out) if self.name == "lognormal" else out

    def at(self, u: Array) -> Array:
        """Return the value as likely to be undercut as `u` is by a standard normal one."""
        if self.name == "fixed":
            return self.mean + 0.0 * u
        if self.name == "normal":
            return self.mean + self.sd * u
        if self.name == "lognormal":
            return np.exp(self.logs[0] + self.logs[1] * u)
        from scipy.special import betaincinv, ndtr

        return self.low + (self.high - self.low) * betaincinv(*self.shapes, ndtr(u))
