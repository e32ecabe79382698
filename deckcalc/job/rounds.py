"""The rounds of a job: where the reinforcement asks for a longer patch, the job is carried again with it."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from deckcalc.base.context import Context
from deckcalc.base.fields import Faults
from deckcalc.core import units
from deckcalc.core.tables import TableError
from deckcalc.core.units import Length, Quantity
from deckcalc.patch import design as patch
from deckcalc.patch.design.marking import mark
from deckcalc.patch.inputs.sections import Longer
from deckcalc.steel import design as steel
from deckcalc.steel.design.laps import cut_length

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: Rounds after which a demand that is still there is left open: a lap does not change with the patch, so two settle it.
MOST_ROUNDS = 4
LAPS = "laps of the added bars"


@dataclass(frozen=True)
class Growing:
    """By how much a patch was made longer in a round, along traffic and across it."""

    along: Quantity
    across: Quantity


@dataclass
class Rounds:
    """What came of the rounds.

    Attributes
    ----------
    context : Context
        Inputs of the patches, with what was added.
    patches : Patches
        As marked in the last round.
    grown : list of dict of Growing
        By round, then by patch: what was added.
    refused : dict of str
        By patch that cannot grow as its laps ask: why.
    reinforcement : Steel or None
        Of the last round; None where it could not be computed.
    """

    context: Context[patch.Inputs]
    patches: patch.Patches
    grown: list[dict[str, Growing]] = field(default_factory=list)
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
    made = Rounds(context, patch.compute(context, marked, job.concrete.stone, job.concrete.mix.load))
    for _ in range(MOST_ROUNDS):
        try:
            found = made.reinforcement = reinforcement(job, made.patches)
        except (units.InputError, TableError):
            made.reinforcement = None
            break
        wanted = demands(found, made.refused)
        if not wanted:
            break
        grow(job, made, wanted)
    finish(made)
    return made


def demands(found: steel.Steel, refused: Mapping[str, str]) -> dict[str, Growing]:
    """Return by patch how much longer the laps of its bars ask it to be."""
    none = units.quantity(0.0, "mm")
    wanted: dict[str, Growing] = {}
    for name, growth in found.growth.items():
        if name not in refused:
            more = cut_length(growth.length, found.system)  # up to what a saw cut is set out to
            along = more if growth.along == "along traffic" else none
            across = more if growth.along == "across traffic" else none
            wanted[name] = Growing(along, across)
    return wanted


def grow(job: Job, made: Rounds, wanted: Mapping[str, Growing]) -> None:
    """Mark the patches again, each longer by what its laps ask for; one that cannot be is left as it was."""
    done: dict[str, Growing] = {}
    for name, more in wanted.items():
        context = lengthened(made.context, name, more)
        faults = Faults()
        marked = mark(context, made.patches.marked.found, job.file.marked.readings, faults)
        if faults:
            made.refused[name] = "; ".join(fault.partition(": ")[2].partition(": ")[2] or fault for fault in faults)
            continue
        made.context, done[name] = context, more
        made.patches = patch.compute(context, marked, job.concrete.stone, job.concrete.mix.load)
    if done:
        made.grown.append(done)


def lengthened(context: Context[patch.Inputs], name: str, more: Growing) -> Context[patch.Inputs]:
    """Return the inputs of the patches with one of them longer."""
    marking = context.inputs.marking
    before = marking.longer.get(name)
    sides = {}
    for side in ("along", "across"):
        was, added = getattr(before, side, None), getattr(more, side)
        total = added if was is None else was + added
        sides[side] = total if total.magnitude > 0 else None
    why = f"{before.why}; {LAPS}" if before and LAPS not in before.why else LAPS
    longer = Longer.model_construct(why=why, **sides)
    inputs = dataclasses.replace(
        context.inputs, marking=marking.model_copy(update={"longer": {**marking.longer, name: longer}})
    )
    return dataclasses.replace(context, inputs=inputs)


def finish(made: Rounds) -> None:
    """Say on the sheet what the rounds added, and leave open what they could not."""
    patches = made.patches
    for number, round_ in enumerate(made.grown, 1):
        said = []
        for name, more in round_.items():
            parts = [
                f"{patches.show(value, Length)} {way}"
                for value, way in ((more.along, "along traffic"), (more.across, "across traffic"))
                if value.magnitude > 0
            ]
            said.append(f"{name} by {' and '.join(parts)}")
        patches.notes.append(
            f"Round {number}: made longer for the {LAPS}, half at either end: {'; '.join(said)}. Limits, volumes and all that "
            "follows are of the longer patches."
        )
    found = made.reinforcement
    for name, growth in (found.growth if found else {}).items():
        why = made.refused.get(name, f"still asked for after {MOST_ROUNDS} rounds")
        assert found
        found.leave_open(
            f"patch {name} must be {found.show(growth.length, Length)} longer {growth.along} for the {LAPS}, and cannot: {why}",
            "couplers or welds in place of laps, or two patches marked as one",
            name,
            stops="placing",
            by="before the bars are cut",
        )
