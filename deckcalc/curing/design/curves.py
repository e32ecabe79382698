"""Strength-maturity curves of the job: each concrete by its own cylinders, found by its name."""

from __future__ import annotations

from dataclasses import dataclass, field

from deckcalc.curing.formulas import regression


@dataclass
class ConcreteCurve:
    """The strength of one concrete by equivalent age.

    Attributes
    ----------
    concrete : str
        Its name.
    fits : dict of Fit
        By curve; empty where there are no cylinders.
    fit : Fit, Estimate or MakersEstimate
        The one that is used.
    tests : list
        Equivalent age [h] and strength [MPa] of each cylinder.
    """

    concrete: str
    fits: dict[str, regression.Fit] = field(default_factory=dict)
    fit: regression.Fit | regression.Estimate | regression.MakersEstimate = field(init=False)
    tests: list[tuple[float, float]] = field(default_factory=list)

    @property
    def estimated(self) -> bool:
        """Whether it rests on no cylinders."""
        return not self.fits

    @property
    def of(self) -> str:
        """The concrete that it is of, in words that may end a heading."""
        return f" of {self.concrete}"

    @property
    def rests_on(self) -> str:
        """What it rests on, in words."""
        if not self.estimated:
            return f"{len(self.tests)} cylinders"
        if isinstance(self.fit, regression.MakersEstimate):
            return "the manufacturer's table, an estimate"
        return "its type of cement, an estimate from print"

    def outside(self, age: float) -> bool:
        """Whether an equivalent age [h] lies outside the ages of the cylinders."""
        return age < self.fit.first * (1 - 1e-9) or age > self.fit.last * (1 + 1e-9)
