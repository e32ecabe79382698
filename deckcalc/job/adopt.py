"""A plan of the work proposed from the rates of the job, and written into its folder when the engineer adopts it."""

from __future__ import annotations

import csv
import dataclasses
import datetime
import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from deckcalc.base.fields import JobError
from deckcalc.base.replacing import put_table
from deckcalc.base.work import PlacementRow
from deckcalc.closure import design as closure
from deckcalc.closure.design import ClosurePlan, Timetable, placed_between
from deckcalc.closure.design.timetable import timetable_of
from deckcalc.closure.inputs import Inputs
from deckcalc.core.check import SATISFIED, Check
from deckcalc.core.units import InputError
from deckcalc.job.bounded import most_rows
from deckcalc.job.dialect import read_csv
from deckcalc.job.file import read_job
from deckcalc.job.folder import Contents
from deckcalc.job.order import Job
from deckcalc.job.read_tables import read_tables

TABLE = "placements.csv"
STEP = 5  # minutes to which the hours of a plan are set
HEADS = (
    "placement", "closure", "patches", "thickness", "closing", "start", "end", "opening", "concrete temperature",
    "slab temperature", "curing", "concrete",
)  # fmt: skip
#: How often the hours of placing are set again, where the waits by the curves move them.
ROUNDS = 4


@dataclass(frozen=True)
class Proposal:
    """A plan that is proposed.

    Attributes
    ----------
    nights : list of Timetable
    rows : list of tuple of str
        Rows of placements.csv, trial slabs of the job among them.
    dropped : list of PlacementRow
        Placings of the plan that stands, which the proposal replaces.
    left_out : list of str
        Patches that the engineer leaves out.
    checks : list of Check
        Of the closures and placings, as they would stand: those that are not satisfied, or not covered.
    """

    nights: list[Timetable]
    rows: list[tuple[str, ...]]
    dropped: list[PlacementRow]
    left_out: list[str]
    checks: list[Check]


def propose(job: Job, without: Sequence[str] = ()) -> Proposal:
    """Return a plan for the patches of the job, whatever plan stands.

    Parameters
    ----------
    job : Job
    without : sequence of str
        Patches to leave out.

    Raises
    ------
    JobError
        If the job plans no closure, its patches do not fit into the nights that it names, or the plan could not be read back.
    """
    wanted(job, without)
    trials = [row for row in job.file.work.rows if not row.names]
    context = job.context(Inputs)
    context = dataclasses.replace(context, work=dataclasses.replace(context.work, rows=tuple(trials)))
    plan = closure.compute(context, job.trades(None), without)
    if not plan.proposal:
        raise JobError(
            [f"job.toml: closure.closes, closure.opens: {plan.decisions.get('proposal', 'no plan is proposed')}"]
        )
    nights = [grouped(job, plan, night) for night in plan.proposal]
    rows = proposed_rows(job, plan, nights, trials)
    for _ in range(ROUNDS):
        then = Job(read_job(with_table(job.file.contents, rows), job.file.changes)).closure
        again = proposed_rows(job, then, then.closures, trials)
        if again == rows:
            break
        rows = again
    else:
        then = Job(read_job(with_table(job.file.contents, rows), job.file.changes)).closure
    failing = [one for one in then.checks if one.verdict != SATISFIED and one.item.startswith(("closure ", "placing "))]
    return Proposal(nights, rows, job.file.work.placings, list(without), failing)


def wanted(job: Job, without: Sequence[str]) -> None:
    """Refuse a job that does not say what a plan wants, and patches to leave out that it has not.

    Raises
    ------
    JobError
        Naming every field.
    """
    want = job.settings.closure
    if want is None:
        raise JobError(["job.toml: closure: missing; a plan is proposed from the hours, crews and rates of the work"])
    faults = []
    if want.first_night is None:
        faults.append(
            "job.toml: closure.first_night: missing; a plan wants the first date on which the lane may be taken"
        )
    if want.slab_temperature is None:
        faults.append(
            "job.toml: closure.slab_temperature: missing; a plan wants the temperature of the existing concrete at placing"
        )
    counted = {row.per for row in job.file.rows["rates"]}
    faults += [
        f"rates.csv, column per: no step counted by “{per}”; a plan wants to know when concrete is placed"
        for per in ("mixer", "wait") if per not in counted
    ]  # fmt: skip
    names = [one.name for one in job.patch]
    faults += [
        f"--without {name}: there is no patch “{name}”; there are {', '.join(names)}"
        for name in without
        if name not in names
    ]
    if not faults and set(names) <= set(without):
        faults.append("--without: every patch is left out; nothing is planned")
    if faults:
        raise JobError(faults)


def grouped(job: Job, plan: ClosurePlan, night: Timetable) -> Timetable:
    """Return a night with the patches of one concrete one after the other, as they are placed."""
    concretes = list(dict.fromkeys(job.mix.for_patch(name).name for name in night.patches))
    order = sorted(night.patches, key=lambda name: concretes.index(job.mix.for_patch(name).name))
    return timetable_of(plan, night.name, order, night.closing, night.length)


def proposed_rows(
    job: Job, plan: ClosurePlan, nights: Sequence[Timetable], trials: Sequence[PlacementRow]
) -> list[tuple[str, ...]]:
    """Return the rows of a plan: trial slabs as they stand, and one row for each concrete of a night."""
    want, rows, taken = job.settings.closure, [written(row) for row in trials], {row.placement for row in trials}
    assert want and want.slab_temperature is not None
    for number, night in enumerate(nights, 1):
        groups: dict[str, list[str]] = {}
        for name in night.patches:
            groups.setdefault(job.mix.for_patch(name).name, []).append(name)
        for place, (concrete, names) in enumerate(groups.items(), 1):
            placement = f"N{number}" if len(groups) == 1 else f"N{number}-{place}"
            while placement in taken:
                placement += "a"
            found = placed_between(plan, night, names)
            assert found  # the job has a step of either kind
            begin, end = night.moment(STEP * (found[0] // STEP)), night.moment(STEP * -(-found[1] // STEP))
            rows.append((
                placement, f"night-{number}", "; ".join(names), "", moment(night.closing), moment(begin), moment(end),
                moment(night.moment(night.length)), "", f"{want.slab_temperature:~P}", "wet fabric", concrete,
            ))  # fmt: skip
    return rows


def with_table(contents: Contents, rows: Sequence[Sequence[str]]) -> Contents:
    """Return what the job folder would hold with another plan in it, wherever the plan stands."""
    data = text_of(rows).encode()
    name = Path(TABLE).stem
    tables = {**contents.tables, name: read_csv(name, data, PlacementRow, most_rows(name))}
    hashes = {**dict(contents.sha256), TABLE: hashlib.sha256(data).hexdigest()}
    return dataclasses.replace(contents, tables=tables, sha256=tuple(sorted(hashes.items())))


def moment(value: datetime.datetime | None) -> str:
    """Write a moment as the table has it."""
    return f"{value:%Y-%m-%d %H:%M}" if value else ""


def written(row: PlacementRow) -> tuple[str, ...]:
    """Write a row as the table has it, units in its cells."""
    return (
        row.placement, row.closure, row.patches, row.thickness, moment(row.closing), moment(row.start), moment(row.end),
        moment(row.opening), row.concrete_temperature, f"{row.slab_temperature:~P}", row.curing, row.concrete,
    )  # fmt: skip


def text_of(rows: Sequence[Sequence[str]]) -> str:
    """Return the table as it is written."""
    with io.StringIO() as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(HEADS)
        table.writerows(rows)
        return file.getvalue()


def write(made: Proposal, contents: Contents) -> Path:
    """Write a proposal into the job folder; the table stands there whole, and one that changed meanwhile is left.

    Raises
    ------
    InputError
        If the table is no longer the one that was read, or the plan stands in no file of its own.
    """
    plan = read_tables(contents, {Path(TABLE).stem: PlacementRow}).found.get(Path(TABLE).stem)
    if contents.handed_over or (plan and plan.file != TABLE):
        where = "this job stands in no folder" if contents.handed_over else f"the plan stands in {plan.file}"  # type: ignore[union-attr]
        raise InputError(
            f"{where}, and only {TABLE} is written; put the proposed rows there yourself: nothing was written"
        )
    return put_table(contents.folder / TABLE, text_of(made.rows), contents.files.get(TABLE))
