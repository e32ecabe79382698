"""What every subject of a job is made of: runs in order, checks, decisions, notes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.check import Check
from deckcalc.core.forms import ByForm, chosen
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError, Quantity


@dataclass(frozen=True, eq=False)
class Run:
    """One calculation done for one item of the job."""

    calculation: Calculation
    arguments: dict[str, Any]
    item: str

    @cached_property
    def result(self) -> Any:
        """What the calculation gives."""
        return self.calculation(**self.arguments)

    def results(self) -> dict[str, Quantity]:
        """Results by name."""
        values = self.result if self.calculation.record else (self.result,)
        return dict(zip(self.calculation.kinds, values, strict=True))


@dataclass(frozen=True)
class Material:
    """One line of the materials list."""

    material: str
    quantity: str
    spare: str
    source: str


@dataclass
class Subject:
    """One subject of the job: its runs in order, its checks, what was decided, what was simplified.

    Attributes
    ----------
    key, title : str
    runs : list of Run
    checks : list of Check
    decisions : dict of str
        By item: what follows, in words.
    notes : list of str
        Simplifications and cautions of the subject as a whole.
    materials : list of Material
        What has to be brought for it.
    cites : list of Cite
        Sources that its words rest on, beside those of its calculations.
    """

    key: str
    title: str
    runs: list[Run] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    decisions: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    materials: list[Material] = field(default_factory=list)
    cites: list[Cite] = field(default_factory=list)

    def run(self, calculation: Calculation | ByForm, item: str, **arguments: Any) -> Any:
        """Run a calculation for an item, keep the run, return its result; one that has forms takes `form` as well."""
        made = Run(*chosen(calculation, arguments), item)
        try:
            result = made.result
        except InputError as error:
            raise JobError([f"{self.title}, {item}: {line}" for line in str(error).splitlines()]) from None
        self.runs.append(made)
        return result

    def of(self, item: str) -> list[Run]:
        """Return the runs of one item."""
        return [run for run in self.runs if run.item == item]

    def runs_of(self, calculation: Calculation | ByForm) -> list[Run]:
        """Return the runs of one calculation, in whatever form."""
        wanted = tuple(calculation) if isinstance(calculation, ByForm) else (calculation,)
        return [run for run in self.runs if run.calculation in wanted]

    @property
    def items(self) -> list[str]:
        """Items in order of appearance."""
        return list(dict.fromkeys(run.item for run in self.runs))


def joined(values: Iterable[Quantity]) -> Quantity:
    """Return scalar quantities as one array, in the unit of the first."""
    found = list(values)
    unit = found[0].units
    return units.registry().Quantity([float(value.m_as(unit)) for value in found], unit)
