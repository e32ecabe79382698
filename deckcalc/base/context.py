"""What a subject is given of its job: the unit system, the limits, the deck, and its own inputs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from deckcalc.base.fields import Deck
from deckcalc.base.work import WorkPlan
from deckcalc.core import units
from deckcalc.core.check import Limit

Inputs = TypeVar("Inputs")


class Limits(dict[str, Limit]):
    """All limits of a job by key; those that were read are remembered, since the package prints no other.

    Examples
    --------
    >>> limits = Limits()
    >>> limits.used
    set()
    """

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.used = set[str]()

    def __getitem__(self, key: str) -> Limit:
        """Return a limit, and remember it."""
        self.used.add(key)
        return super().__getitem__(key)

    def for_one(self, used: set[str]) -> Limits:
        """Return the same limits for one subject, whose readings are remembered apart as well."""
        found = Limits(self)
        found.used = Both(self.used, used)
        return found


class Both(set[str]):
    """What is added to it is added to two other sets."""

    def __init__(self, *others: set[str]) -> None:
        super().__init__()
        self.others = others

    def add(self, key: str) -> None:
        """Add a key."""
        for other in self.others:
            other.add(key)


@dataclass(frozen=True)
class Context(Generic[Inputs]):
    """What a subject may know of its job.

    Attributes
    ----------
    system : {"SI", "US"}
        Unit system in which the job is printed.
    limits : dict of Limit
        All limits of the job by key.
    deck : Deck
        The deck as built or as measured.
    inputs : dataclass
        The subject's own sections of job.toml, and rows of its own tables; see `Inputs` in its room.
    work : WorkPlan
        The adopted plan of the work: what is placed when, and opened when.
    """

    system: units.System
    limits: Mapping[str, Limit]
    deck: Deck
    inputs: Inputs
    work: WorkPlan = field(default_factory=WorkPlan)

    def limit(self, key: str) -> Limit:
        """Return a limit by its key."""
        return self.limits[key]

    def show(self, value: Any, kind: Any, decimals: int | None = None) -> str:
        """Print a quantity in the job's units."""
        return units.show(value, kind, self.system, decimals)
