"""Records of what is assessed of a mix beside its masses: gradings, strength, uncertainty, alternatives."""

from __future__ import annotations

from dataclasses import dataclass

from deckcalc.core.units import Quantity
from deckcalc.mix.formulas.grading import limits, passing
from deckcalc.mix.formulas.ratio import WaterCementRatio
from deckcalc.mix.formulas.solver import Solved


@dataclass(frozen=True)
class SieveOutside:
    """A sieve on which a grading lies outside its limits: opening in mm, and shares passing."""

    sieve: float
    passing: float
    low: float
    high: float


@dataclass
class SieveAnalysis:
    """The sieve analysis of an aggregate.

    Attributes
    ----------
    aggregate : str
    size : str
        Row of the table of grading limits.
    passing : dict of float
        Share passing by sieve opening in mm.
    modulus : Quantity or None
        Fineness modulus, of a fine aggregate that a mix takes.
    """

    aggregate: str
    size: str
    passing: dict[float, float]
    modulus: Quantity | None = None

    @property
    def item(self) -> str:
        """What its runs are called."""
        return f"{self.aggregate}, grading"

    @property
    def outside(self) -> list[SieveOutside]:
        """The sieves of the analysis on which it lies outside its limits."""
        found = []
        for sieve, (low, high) in limits(self.size).items():
            share = passing(self.passing, sieve)
            if min(self.passing) <= sieve and not low - 1e-9 <= share <= high + 1e-9:
                found.append(SieveOutside(sieve, share, low, high))
        return found


@dataclass(frozen=True)
class StrengthRatio:
    """Where a mix stands in the table of strength against w/cm.

    Attributes
    ----------
    f_cr : Quantity
        Average strength that the mix must reach.
    w_cm_exposure : Quantity
        Maximum ratio by exposure.
    found : WaterCementRatio
        Result of `mix.water_cement_ratio`.
    """

    f_cr: Quantity
    w_cm_exposure: Quantity
    found: WaterCementRatio


@dataclass(frozen=True)
class EarlyStrength:
    """What the specified strength at 28 days means at an age.

    Attributes
    ----------
    age : int
        In days.
    curve : Quantity
        By the curve for the mix's own type of cement.
    by_type_i : Quantity or None
        For type III cement: by the curve of type I and the ratio of type III to it.
    """

    age: int
    curve: Quantity
    by_type_i: Quantity | None = None


@dataclass(frozen=True)
class SingleError:
    """What one error alone does to a batch: its cause and size in words, w/cm and relative yield with it."""

    cause: str
    size: str
    w_cm: float
    relative_yield: float


@dataclass(frozen=True)
class BatchUncertainty:
    """How far w/cm and yield of a batch may lie from the design, by the accuracy of scale, moistures and air.

    Attributes
    ----------
    w_cm, relative_yield : tuple of float
        Values below which 5, 50 and 95 of 100 drawn loads lie; the yield is relative to the design.
    errors : list of SingleError
    drawn : int
        Loads drawn.
    above_exposure, above_most : float
        Share of them above the maximum ratio by exposure, and above the maximum by strength and exposure.
    """

    w_cm: tuple[float, float, float]
    relative_yield: tuple[float, float, float]
    errors: list[SingleError]
    drawn: int
    above_exposure: float
    above_most: float


@dataclass(frozen=True)
class Alternatives:
    """Admissible proportions by w/cm: the cheapest, those of minimum embodied carbon, and those between them.

    Attributes
    ----------
    cheapest, least_carbon : list of Solved
        One for each ratio of water to cementitious material.
    front : list of Solved
        At the maximum ratio, from the cheapest to that of minimum carbon.
    designed : Solved
        The mix as designed, before its trial batch.
    """

    cheapest: list[Solved]
    least_carbon: list[Solved]
    front: list[Solved]
    designed: Solved

    @property
    def between(self) -> list[Solved]:
        """The mixes of the front that are neither its first nor its last, each once."""
        found: list[Solved] = []
        for one in self.front[1:-1]:
            known = [self.front[0], self.front[-1], *found]
            if all(abs(one.price - other.price) > 1e-6 * max(1.0, other.price) for other in known):
                found.append(one)
        return found
