"""What every subject of a job is made of: runs in order, checks, decisions, notes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, ClassVar, Generic

from deckcalc.base.context import Context, Inputs
from deckcalc.base.fields import Deck, JobError
from deckcalc.base.work import WorkPlan
from deckcalc.core import looks, units
from deckcalc.core.calculation import Calculation, R
from deckcalc.core.check import ASSESS, Check, Limit, Sense
from deckcalc.core.forms import ByForm, chosen
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError, Quantity


@dataclass(frozen=True, eq=False)
class Run(looks.Shown, Generic[R]):
    """One calculation done for one item of the job."""

    calculation: Calculation[..., R]
    arguments: dict[str, Any]
    item: str

    @cached_property
    def result(self) -> R:
        """What the calculation gives."""
        return self.calculation(**self.arguments)

    def results(self) -> dict[str, Quantity]:
        """Results by name."""
        values: Any = self.result if self.calculation.record else (self.result,)
        return dict(zip(self.calculation.kinds, values, strict=True))


@dataclass(frozen=True)
class Material:
    """One line of the materials list."""

    material: str
    quantity: str
    spare: str
    source: str


@dataclass(frozen=True)
class OpenItem:
    """What is not settled, and what may not go on until it is.

    Parameters
    ----------
    what : str
        What is open, in words.
    why : str
        Which result asks for it.
    patches : tuple of str
        Numbers of the patches that it concerns; none where it concerns the job.
    stops : str
        What may not proceed: "the signature", "placing", "opening", "removal".
    decides : str
        Who decides.
    by : str
        By when.
    sheet : str
        Title of the sheet that raises it.
    checks : tuple of Check
        Checks that it speaks for: they are no open items of their own.
    number : int
        By which every page names it; given once the job is whole.
    decision : str
        What was decided, by whom and when; empty while it is undecided.
    """

    what: str
    why: str
    patches: tuple[str, ...] = ()
    stops: str = "the signature"
    decides: str = "engineer of record"
    by: str = "before the package is signed"
    sheet: str = ""
    checks: tuple[Check, ...] = field(default=(), compare=False)
    number: int = 0
    decision: str = ""


@dataclass
class Subject(looks.Shown, Generic[Inputs]):
    """One subject of the job: its runs in order, its checks, what was decided, what was simplified.

    A subject states its `key` and `title`; results of other subjects that it needs are fields that it is made with.

    Attributes
    ----------
    context : Context
        What it knows of the job.
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
    open_items : list of OpenItem
        What it demands and cannot settle itself.
    left_open : list of OpenItem
        The same before they were numbered, and its checks added.
    """

    key: ClassVar[str]
    title: ClassVar[str]
    context: Context[Inputs]
    runs: list[Run] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    decisions: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    materials: list[Material] = field(default_factory=list)
    cites: list[Cite] = field(default_factory=list)
    open_items: list[OpenItem] = field(default_factory=list)
    left_open: list[OpenItem] = field(default_factory=list)

    def leave_open(self, what: str, why: str, *patches: str, **how: Any) -> None:
        """Add an open item of this subject; the keywords are those of `OpenItem`."""
        self.open_items.append(OpenItem(what, why, patches, sheet=self.title, **how))

    def not_covered(self, item: str, title: str, limit: Limit, why: str, sense: Sense | None = None) -> None:
        """Add a check that the model does not reach; its sense is that of the limit, where it is not stated."""
        sense = sense or ("at least" if limit.meaning.startswith("minimum") else "at most")
        self.checks.append(Check(item, title, None, limit, sense, f"{why}: {ASSESS}"))

    def settle(self, check: Check, words: str) -> None:
        """Say what the job itself did about a check that is not satisfied, so that it is no open item."""
        place = next(i for i, one in enumerate(self.checks) if one is check)
        self.checks[place] = replace(check, settled=words)

    @property
    def inputs(self) -> Inputs:
        """The subject's own sections and tables."""
        return self.context.inputs

    @property
    def deck(self) -> Deck:
        """The deck as built or as measured."""
        return self.context.deck

    @property
    def work(self) -> WorkPlan:
        """The adopted plan of the work."""
        return self.context.work

    @property
    def system(self) -> units.System:
        """Unit system in which the job is printed."""
        return self.context.system

    def limit(self, key: str) -> Limit:
        """Return a limit by its key."""
        return self.context.limit(key)

    def show(self, value: Any, kind: Any, decimals: int | None = None) -> str:
        """Print a quantity in the job's units."""
        return self.context.show(value, kind, decimals)

    def run(self, calculation: Calculation[..., R] | ByForm[R], item: str, **arguments: Any) -> R:
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

    def runs_of(self, calculation: Calculation[..., R] | ByForm[R]) -> list[Run[R]]:
        """Return the runs of one calculation, in whatever form."""
        wanted = tuple(calculation) if isinstance(calculation, ByForm) else (calculation,)
        found: list[Run[R]] = [run for run in self.runs if run.calculation in wanted]
        return found

    @property
    def items(self) -> list[str]:
        """Items in order of appearance."""
        return list(dict.fromkeys(run.item for run in self.runs))


def joined(values: Iterable[Quantity]) -> Quantity:
    """Return scalar quantities as one array, in the unit of the first."""
    found = list(values)
    unit = found[0].units
    return units.registry().Quantity([float(value.m_as(unit)) for value in found], unit)
