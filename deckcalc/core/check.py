"""A demand held against a limit: verdict in words, utilisation, source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from deckcalc.core import looks, units
from deckcalc.core.sources import Cite
from deckcalc.core.units import Kind, Quantity

SATISFIED, NOT_SATISFIED, NOT_COVERED = VERDICTS = ("satisfied", "not satisfied", "not covered")
#: What stands beside a verdict that the model does not reach.
ASSESS = "engineer to assess"
#: A demand so near to its limit, as a share of it, is said to be at the limit, on whichever side it lies.
AT_LIMIT = 0.001
Sense = Literal["at most", "at least", "less than"]


@dataclass(frozen=True)
class Limit:
    """A value that a demand is held against, and who set it.

    Parameters
    ----------
    name : str
        Its key in the job file.
    meaning : str
        In words.
    value : Quantity
    kind : Kind
    source : Cite
    origin : {"default", "engineer"}
        Whether the job file replaced the built-in value.
    """

    name: str
    meaning: str
    value: Quantity
    kind: Kind
    source: Cite | str
    origin: str = "default"


@dataclass(frozen=True)
class Check(looks.Shown):
    """One line of the summary of checks.

    Parameters
    ----------
    item : str
        What is checked: a patch, a bar, a core.
    title : str
        The question, in words.
    demand : Quantity or None
        None where the model does not reach, as in an overhang: the verdict is `not covered`, and `why` says why.
    limit : Limit
    sense : {"at most", "at least", "less than"}
        How the demand must stand to the limit.
    why : str
        What follows from a verdict, or why there is none.
    settled : str
        What the job itself did about a verdict that is not satisfied, as bars added for the steel that is lost; empty where
        nothing was done, so that it stands as an open item.
    """

    item: str
    title: str
    demand: Quantity | None
    limit: Limit
    sense: Sense = "at most"
    why: str = ""
    settled: str = ""

    @property
    def numbers(self) -> tuple[float, float]:
        """Demand and limit in the same unit."""
        assert self.demand is not None
        unit = self.limit.kind.unit("SI")
        return float(self.demand.m_as(unit)), float(self.limit.value.m_as(unit))

    @property
    def verdict(self) -> str:
        """`satisfied`, `not satisfied` or `not covered`; equality within 1e-9 counts as reached."""
        if self.demand is None:
            return NOT_COVERED
        return SATISFIED if self.holds(*self.numbers) else NOT_SATISFIED

    def holds(self, demand: float, limit: float) -> bool:
        """Whether a demand keeps to a limit, both in one unit; equality within 1e-9 counts as reached."""
        slack = 1e-9 * max(abs(limit), 1e-12)
        if self.sense == "at least":
            return demand >= limit - slack
        return demand <= limit + slack if self.sense == "at most" else demand < limit - slack

    @property
    def utilisation(self) -> float | None:
        """Demand over limit (limit over demand where it is a minimum); None where there is none, as for temperatures."""
        if self.demand is None or self.limit.kind.is_temperature:
            return None
        over, under = self.numbers if self.sense != "at least" else self.numbers[::-1]
        return over / under if under > 0 else None

    @property
    def at_limit(self) -> bool:
        """Whether the demand lies within `AT_LIMIT` of its limit, on either side."""
        used = self.utilisation
        return used is not None and abs(used - 1) <= AT_LIMIT + 1e-9

    @property
    def words(self) -> str:
        """The verdict as it is printed: “satisfied”, or “satisfied, at the limit”."""
        return self.verdict + (", at the limit" if self.at_limit else "")

    @property
    def percent(self) -> str:
        """The utilisation as it is printed, with enough digits that it stands on its side of 100 %; empty where there is none."""
        used = self.utilisation
        if used is None:
            return ""
        good = (lambda share: share < 1) if self.sense == "less than" else (lambda share: share <= 1)
        for decimals in range(12):
            text = units.fixed(100 * used, decimals)
            if good(float(text) / 100) == (self.verdict == SATISFIED):
                break
        return f"{text} %"

    def printed(self, system: str) -> tuple[str, str]:
        """Return demand and limit with enough digits that the print shows the verdict."""
        kind: Kind = self.limit.kind
        if self.demand is None:
            return "not determined", units.show(self.limit.value, kind, system)
        return units.show_beside(self.demand, self.limit.value, kind, system, self.holds)
