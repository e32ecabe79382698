"""Steps of a closure and their times, by the rates of the job and what was measured of each patch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from deckcalc import closure, patch
from deckcalc.base.fields import FULL, JobError
from deckcalc.closure.formulas.critical_path import Step
from deckcalc.closure.inputs import PER, RateRow
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import InputError, Minutes, Quantity

if TYPE_CHECKING:
    from deckcalc.closure.design import Plan
    from deckcalc.job import Job

COLUMNS = ("least", "likely", "most")
#: Unit in which an amount is counted, in an SI job and in a US customary one; none where the rate is a time.
COUNTED = {"m of cut": ("m", "ft"), "area": ("m²", "ft²"), "volume out": ("m³", "ft³")}


def q(value: float, unit: str = "") -> Quantity:
    """Return a quantity."""
    return units.registry().Quantity(float(value), unit)


def amounts(job: Job, name: str) -> dict[str, float]:
    """Return what the rates of a patch count: cut [m], area [m²], volume broken out and to mix [m³].

    Raises
    ------
    JobError
        If the survey gave the patch no volume.
    """
    item = f"patch {name}"
    sides = next((run.result for run in job.patch.runs_of(patch.patch_limits) if run.item == item), None)
    volume = next((run.result for run in job.patch.runs_of(patch.patch_volume) if run.item == item), None)
    if sides is None or volume is None:
        raise JobError([f"job.toml: closure.tonight: patch {name} has no volume; its outline and depths give none"])
    return {
        "m of cut": float(sides.P_cut.m_as("m")), "area": float(sides.A.m_as("m²")),
        "volume out": float(volume.V_placed.m_as("m³")), "order": float(volume.V_order.m_as("m³")),
    }  # fmt: skip


def place(job: Job, subject: Plan, name: str) -> None:
    """Hold the mixer's cycle against the rate of placing."""
    want = subject.choice
    assert want
    count = job.mix.loads[name].count if name in job.mix.loads else 1
    found = subject.run(
        closure.placing_time, f"patch {name}", V=q(amounts(job, name)["order"], "m³"), n=q(count), t_c=want.mixer_cycle,
        r=want.placing_rate,
    )  # fmt: skip
    if count > 1:
        joint = Limit("workable", "longest gap between two loads", want.workable, units.kind_of(Minutes), want.source)
        subject.checks.append(
            Check(f"patch {name}", "gap between two loads", found.t_g, joint, "at most",
                  "a second mixer, or smaller areas")
        )  # fmt: skip


def rated(job: Job, subject: Plan, row: RateRow, name: str, column: str) -> tuple[Quantity, Quantity]:
    """Return how much there is of what a rate counts, and the time for one unit of it."""
    if row.per == "mixer":
        run = next(run for run in subject.runs_of(closure.placing_time) if run.item == f"patch {name}")
        return q(row.time(column).m_as("")), run.result.t
    if row.per not in COUNTED:
        return q(1), row.time(column)
    kind = units.kind_of(PER[row.per])
    unit = COUNTED[row.per][job.system == "US"]
    much = units.registry().Quantity(amounts(job, name)[row.per], COUNTED[row.per][0]).m_as(unit)
    return q(much), q(row.time(column).m_as(kind.unit(job.system)), "min")


def durations(job: Job, subject: Plan, row: RateRow, name: str) -> tuple[float, float, float]:
    """Return least, likely and greatest time of a step at a patch, in whole minutes; the likely one is written out."""
    key = f"{row.step} {name}".strip()
    if key in subject.durations:
        return subject.durations[key]
    if row.per == "wait" and subject.choice and subject.choice.wait == "curing":
        likely, sure = wait_of(job, name)
        pairs = [(q(1), q(value, "min")) for value in (likely, likely, sure)]
    else:
        pairs = [rated(job, subject, row, name, column) for column in COLUMNS]
    for (_, time), column in zip(pairs, COLUMNS, strict=True):
        if not 0 <= time.m_as("min") <= 20000:
            raise JobError(
                [f"rates.csv, step {row.step}, column {column}: {time.m_as('min'):.0f} min is no time for a step"]
            )
    item = f"{row.step}, {'patch ' + name if name else 'the closure'}"
    made = subject.run(closure.step_time, item, q=pairs[1][0], r=pairs[1][1])
    least, most = (float(closure.step_time(*pairs[i]).t.m_as("min")) for i in (0, 2))
    subject.durations[key] = least, float(made.t.m_as("min")), most
    return subject.durations[key]


def wait_of(job: Job, name: str) -> tuple[float, float]:
    """Return the wait for strength by the sheet of curing: by the expected strength, and by the lower edge of its band [min]."""
    if (one := job.curing.of_patch(name)) is not None:
        likely, sure = one.opens.expected, one.opens.sure
        if likely is None or sure is None:
            why = f"placing {one.name} does not reach the strength in its weather record"
            raise JobError([f"job.toml: closure.wait: {why}"])
        return 60 * likely, 60 * sure
    raise JobError([f"job.toml: closure.wait: placements.csv places no patch {name}; the wait cannot come from curing"])


def steps_of(job: Job, subject: Plan, names: Sequence[str]) -> list[Step]:
    """Return the steps of a closure over some patches: those of the closure once, those of a patch for each."""
    full = {name for name in names if job.patch.depth_class[name] == FULL}

    def holds(row: RateRow, name: str) -> bool:
        return row.per != "closure" and (row.per != "hole" or name in full)

    def follows(row: RateRow, name: str) -> set[str]:
        found: set[str] = set()
        for other in row.names("after"):
            before = subject.rates[other]
            if before.per == "closure":
                found.add(other)
            elif name and holds(before, name):
                found.add(f"{other} {name}")
            elif name:
                found |= follows(before, name)  # a step that this patch has not: what it follows counts
            else:
                for one in names:
                    found |= {f"{other} {one}"} if holds(before, one) else follows(before, one)
        return found

    steps = []
    for rank, row in enumerate(subject.rates.values()):
        for name in [""] if row.per == "closure" else [one for one in names if holds(row, one)]:
            least, likely, most = durations(job, subject, row, name)
            after = tuple(sorted(follows(row, name)))
            steps.append(Step(f"{row.step} {name}".strip(), after, row.names("uses"), likely, least, most, name, rank))
    return steps


def row_of(subject: Plan, step: Step) -> RateRow:
    """Return the row of rates.csv that a step comes from."""
    return subject.rates[step.name.split(" ")[0]]


__all__ = ["InputError", "amounts", "durations", "place", "row_of", "steps_of"]
