"""What a job's verdicts rest on and nobody has seen in print: limits, calculations and look-ups cited from memory."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from deckcalc import published
from deckcalc.base.subject import Run, Subject
from deckcalc.core import units
from deckcalc.core.check import Check
from deckcalc.core.sources import Cite

if TYPE_CHECKING:
    from deckcalc.job.order import Job


class Ground(NamedTuple):
    """A limit or a calculation that is cited from memory.

    Attributes
    ----------
    kind : {"limit", "calculation"}
    name : str
        Key of the limit, or of the calculation with the look-up that has the source.
    what : str
        Meaning of the limit with its value, or title of the calculation.
    cite : Cite
    """

    kind: str
    name: str
    what: str
    cite: Cite


@dataclass(frozen=True)
class Recalled:
    """One value from memory, and the checks whose verdicts rest on it.

    Attributes
    ----------
    ground : Ground
    checks : list of Check
    confirmed : bool
        Whether published examples agree with the calculation, so that only its source is unseen.
    """

    ground: Ground
    checks: list[Check] = field(default_factory=list)
    confirmed: bool = False

    def __str__(self) -> str:
        items = ", ".join(dict.fromkeys(f"{one.item}: {one.title}" for one in self.checks))
        return f"{self.ground.what}, {self.ground.cite}; {items}"


def memory_values(job: Job) -> list[Recalled]:
    """Return what the verdicts of a job rest on that is cited from memory, those with most checks first.

    A check rests on its limit, and on the calculations that its demand comes from: the one that gave it and those whose
    results were handed on to it. Where a demand was worked out beside the calculations, those of the same item count.

    Parameters
    ----------
    job : Job

    Returns
    -------
    list of Recalled
        Those that no published example confirms before the others.
    """
    examples = {case.calculation for case in published.cases() if case.provenance == "published"}
    made = {id(value): run for subject in job.subjects for run in subject.runs for value in run.results().values()}
    found: dict[Ground, list[Check]] = {}
    for subject in job.subjects:
        for one in subject.checks:
            limit = one.limit
            if isinstance(limit.source, Cite) and limit.source.provenance == "memory":
                what = f"{limit.meaning} {units.show(limit.value, limit.kind, job.system)}"
                found.setdefault(Ground("limit", limit.name, what, limit.source), []).append(one)
            for run in behind(one, subject, made):
                for ground in grounds(run):
                    found.setdefault(ground, []).append(one)
    listed = [
        Recalled(ground, list(dict.fromkeys(checks)), ground.name.partition(":")[0] in examples)
        for ground, checks in found.items()
    ]
    return sorted(listed, key=lambda one: (one.confirmed, -len(one.checks)))


def behind(one: Check, subject: Subject, made: dict[int, Run]) -> list[Run]:
    """Return the runs that the demand and the limit of a check come from."""
    first = [made[id(value)] for value in (one.demand, one.limit.value) if id(value) in made]
    todo = first or subject.of(one.item)
    known: dict[int, Run] = {}
    while todo:
        run = todo.pop()
        if id(run) not in known:
            known[id(run)] = run
            todo += [made[id(value)] for value in run.arguments.values() if id(value) in made]
    return list(known.values())


def grounds(run: Run) -> Iterator[Ground]:
    """Give what a run cites from memory, for the choices that it was made with: its formula, and its look-ups."""
    calculation = run.calculation
    chosen = {value for value in run.arguments.values() if isinstance(value, str)}

    def recalled(cites: Iterable[Cite]) -> Iterator[Cite]:
        return (one for one in cites if one.provenance == "memory" and (not one.only or chosen & set(one.only)))

    for cite in recalled(calculation.source):
        yield Ground("calculation", calculation.key, calculation.title, cite)
    for line in calculation.lines:
        for cite in recalled(line.helper.source if line.helper else ()):
            if cite not in calculation.source:
                name = f"{calculation.key}: {line.helper.name}" if line.helper else calculation.key
                yield Ground("calculation", name, f"{calculation.title}, {line.comment}", cite)
