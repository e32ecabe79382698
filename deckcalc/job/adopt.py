"""A plan of the work proposed from the rates of the job, and written into its folder when the engineer adopts it."""

from __future__ import annotations

import csv
import dataclasses
import datetime
import hashlib
import io
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from deckcalc.base.fields import JobError
from deckcalc.base.replacing import holding
from deckcalc.base.work import PlacementRow
from deckcalc.closure import design as closure
from deckcalc.closure.design import Timetable, placed_between
from deckcalc.closure.inputs import Inputs
from deckcalc.core.units import InputError
from deckcalc.job.folder import Contents
from deckcalc.job.order import Job

TABLE = "placements.csv"
STEP = 5  # minutes to which the hours of a plan are set
HEADS = (
    "placement", "closure", "patches", "thickness", "closing", "start", "end", "opening", "concrete temperature",
    "slab temperature", "curing", "concrete",
)  # fmt: skip


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
    """

    nights: list[Timetable]
    rows: list[tuple[str, ...]]
    dropped: list[PlacementRow]


def propose(job: Job) -> Proposal:
    """Return a plan for all patches of the job, whatever plan stands.

    Raises
    ------
    JobError
        If the job plans no closure, or its patches do not fit into the nights that it names.
    """
    want = job.settings.closure
    if want is None:
        raise JobError(["job.toml: closure: missing; a plan is proposed from the hours, crews and rates of the work"])
    if want.slab_temperature is None:
        raise JobError(
            ["job.toml: closure.slab_temperature: missing; a plan wants the temperature of the old concrete at placing"]
        )
    trials = tuple(row for row in job.file.work.rows if not row.names)
    context = job.context(Inputs)
    context = dataclasses.replace(context, work=dataclasses.replace(context.work, rows=trials))
    plan = closure.compute(context, job.trades(None))
    if not plan.proposal:
        raise JobError([plan.decisions.get("proposal", "no plan is proposed")])
    rows = [written(row) for row in trials]
    for number, night in enumerate(plan.proposal, 1):
        groups: dict[str, list[str]] = {}
        for name in night.patches:
            groups.setdefault(job.mix.for_patch(name).name, []).append(name)
        for place, names in enumerate(groups.values(), 1):
            placement = f"N{number}" if len(groups) == 1 else f"N{number}-{place}"
            found = placed_between(plan, night, names)
            if found is None:
                raise JobError(
                    ["rates.csv: no step “mixer” or no step “wait”: a plan wants to know when concrete is placed"]
                )
            begin, end = night.moment(STEP * (found[0] // STEP)), night.moment(STEP * -(-found[1] // STEP))
            rows.append((
                placement, f"night-{number}", "; ".join(names), "", moment(night.closing), moment(begin), moment(end),
                moment(night.moment(night.length)), "", f"{want.slab_temperature:~P}", "wet fabric", "",
            ))  # fmt: skip
    return Proposal(plan.proposal, rows, job.file.work.placings)


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
        If the table is no longer the one that was read.
    """
    place = Path(os.path.realpath(contents.folder)) / TABLE
    read = contents.files.get(TABLE)
    with holding(place) as holder:
        (holder / "new").write_text(text_of(made.rows), encoding="utf-8")
        there = place.read_bytes() if place.exists() else None
        if there != read:
            now = hashlib.sha256(there or b"").hexdigest()[:12]
            raise InputError(
                f"{place} was changed since it was read (SHA-256 {now} now); read it again: nothing was written"
            )
        os.replace(holder / "new", place)
    return place
