"""The rounds of a job: where the reinforcement asks for a longer patch, the job is carried again with it."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from deckcalc.base.context import Context
from deckcalc.base.fields import Faults
from deckcalc.core.tables import TableError
from deckcalc.core.units import InputError, Quantity
from deckcalc.patch import design as patch
from deckcalc.patch.design.marking import mark
from deckcalc.patch.inputs.sections import Longer
from deckcalc.steel import design as steel
from deckcalc.steel.design.laps import cut_length
from deckcalc.steel.design.results import Growth

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: Rounds after which a demand that is still there is left open: a lap does not change with the patch, so two settle it.
MOST_ROUNDS = 4
LAPS = "laps of the added bars"
OPEN = "its edges are cut"


@dataclass
class Rounds:
    """What came of the rounds.

    Attributes
    ----------
    context : Context
        Inputs of the patches, with what was added.
    patches : Patches
        As marked in the last round.
    grown : list of dict of Growth
        By round, then by patch: what was added.
    refused : dict of str
        By patch that cannot grow as its laps ask: why.
    reinforcement : Steel or None
        Of the last round; None where it could not be computed.
    """

    context: Context[patch.Inputs]
    patches: patch.Patches
    grown: list[dict[str, Growth]] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)
    reinforcement: steel.Steel | None = None

    def steel(self, job: Job) -> steel.Steel:
        """Return the reinforcement of the last round; where it failed, it is computed again so that its fault is named."""
        return self.reinforcement or reinforcement(job, self.patches)


def reinforcement(job: Job, patches: patch.Patches) -> steel.Steel:
    """Compute the reinforcement of one round."""
    return steel.compute(job.context(steel.Inputs), patches, job.concrete.specified)


def carried(job: Job) -> Rounds:
    """Compute patches and reinforcement until no patch must grow.

    Raises
    ------
    InputError, TableError
        If the patches cannot be computed.
    """
    context, marked = job.context(patch.Inputs), job.file.marked
    made = Rounds(context, patch.compute(context, marked, job.concrete.specified))
    for _ in range(MOST_ROUNDS if "steel" in job.file.ready else 0):
        try:
            found = made.reinforcement = reinforcement(job, made.patches)
        except (InputError, TableError):
            made.reinforcement = None
            break
        wanted = {name: rounded(growth, found) for name, growth in found.growth.items() if name not in made.refused}
        if not wanted:
            break
        grow(job, made, wanted)
    finish(made)
    return made


def rounded(growth: Growth, found: steel.Steel) -> Growth:
    """Return a growth rounded up to what a saw cut is set out to."""
    up = lambda length: None if length is None else cut_length(length, found.system)  # noqa: E731
    return Growth(up(growth.along), up(growth.across))


def grow(job: Job, made: Rounds, wanted: Mapping[str, Growth]) -> None:
    """Mark the patches again, each longer by what its laps ask for; one that cannot be is left as it was."""
    done: dict[str, Growth] = {}
    for name, more in wanted.items():
        if job.file.marked.fixed:
            made.refused[name] = OPEN
            continue
        context, faults = lengthened(made.context, name, more), Faults()
        marked = mark(context, made.patches.marked.found, job.file.marked.readings, faults)
        if faults:
            made.refused[name] = "; ".join(fault.removeprefix(f"job.toml: marking.longer.{name}: ") for fault in faults)
            continue
        made.context, done[name] = context, more
        made.patches = patch.compute(context, marked, job.concrete.specified)
    if done:
        made.grown.append(done)


def lengthened(context: Context[patch.Inputs], name: str, more: Growth) -> Context[patch.Inputs]:
    """Return the inputs of the patches with one of them longer."""
    marking = context.inputs.marking
    before = marking.longer.get(name)
    along, across = (total(getattr(before, side, None), getattr(more, side)) for side in ("along", "across"))
    why = LAPS if before is None else before.why if LAPS in before.why else f"{before.why}; {LAPS}"
    longer = {**marking.longer, name: Longer.model_construct(why=why, along=along, across=across)}
    inputs = dataclasses.replace(context.inputs, marking=marking.model_copy(update={"longer": longer}))
    return dataclasses.replace(context, inputs=inputs)


def total(before: Quantity | None, more: Quantity | None) -> Quantity | None:
    """Return the sum of two lengths, either of which may be missing."""
    return more if before is None else before if more is None else before + more


def finish(made: Rounds) -> None:
    """Say on the sheet what the rounds added, and leave open what they could not."""
    patches, found = made.patches, made.reinforcement
    for number, grown in enumerate(made.grown, 1):
        said = "; ".join(f"{name} {more.words(patches.system)}" for name, more in grown.items())
        patches.notes.append(
            f"Round {number}: made longer for the {LAPS}, half at either end: {said}. Limits, volumes and all that follows are "
            "of the longer patches."
        )
    if found is None:
        return
    for name, growth in found.growth.items():
        why = made.refused.get(name, f"still asked for after {MOST_ROUNDS} rounds")
        found.leave_open(
            f"patch {name} must grow {growth.words(found.system)} for the {LAPS}, and cannot: {why}",
            "couplers or welds in place of laps, or two patches marked as one", name, stops="placing",
            by="before the bars are cut",
        )  # fmt: skip
