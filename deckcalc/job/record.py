"""The record of a job: the job carried again with what was found and built in place of what was planned, and what differs.

What was planned stays untouched beside it. A hole is carried as it was measured: its sides about the middle that was planned, unless
another was taken, a level floor at the mean of its readings, and nothing added for growth and over-break.
"""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import shapely
from shapely import affinity

from deckcalc.base.context import Limits
from deckcalc.base.fields import JobError
from deckcalc.base.work import PlacementRow
from deckcalc.core import units
from deckcalc.core.units import Quantity, quantity
from deckcalc.curing.design.logged import Logged, logged
from deckcalc.job.file import JobFile, asked
from deckcalc.job.order import Job, finished, if_computed
from deckcalc.job.record_rows import RECORD, AsBuiltRow, AsFoundRow, bar_of, names_of, placed_by
from deckcalc.mix.design import Mixes
from deckcalc.patch.design.location import locate
from deckcalc.patch.design.marking import Marked, Patch, Reading, rules_of
from deckcalc.patch.formulas.outlines import Piece
from deckcalc.patch.inputs import Inputs

NOISE = 2e-6  # metres


@dataclass(frozen=True, eq=False)
class Record:
    """A job as planned, and as found and built.

    Attributes
    ----------
    planned, found : Job
        Both computed.
    logs : dict of Logged
        By patch with a logger and a placing: what its record comes to.
    """

    planned: Job
    found: Job
    logs: dict[str, Logged]

    def rows(self, table: str) -> Sequence[Any]:
        """Return the rows of a table of the record."""
        rows: Sequence[Any] = self.planned.file.rows[table]
        return rows

    @property
    def latest(self) -> datetime.datetime | None:
        """The last moment that the record holds; None where it holds none."""
        moments = [row.time for name in RECORD for row in self.rows(name) if getattr(row, "time", None)]
        return max(moments, default=None)

    @property
    def bars(self) -> dict[str, str]:
        """Patch of each bar that was read in a hole; empty where nobody says."""
        return {
            row.bar: row.patch
            for row in self.found.file.rows["bars"]
            if row.bar in {one.bar for one in self.rows("as_found_bars")}
        }

    @property
    def patches(self) -> list[str]:
        """The patches of which something was found or built, in the order of the survey."""
        named = {row.patch for row in (*self.rows("as_found"), *self.rows("logger"), *self.rows("photographs"))}
        named |= {
            name
            for table in ("as_built", "as_built_cylinders")
            for row in self.rows(table)
            for name in names_of(row.patches)
        }
        named |= {
            bar.row.patch for row in self.rows("as_found_bars") for bar in self.found.steel if bar.name == row.bar
        }
        return [one.patch for one in self.planned.file.marked.patches if one.patch in named]


def recorded(job: Job) -> bool:
    """Whether a job holds anything of what was found or built."""
    return any(job.file.rows[name] for name in RECORD)


@lru_cache(maxsize=2)
def record_of(job: Job) -> Record:
    """Carry a job again with what was found and built.

    Parameters
    ----------
    job : Job
        As planned, computed.

    Raises
    ------
    JobError
        If what was found cannot be: a hole that leaves the deck, a job without patches.
    """
    found = finished(Job(found_file(job)))
    return Record(job, found, logs_of(found))


def found_file(job: Job) -> JobFile:
    """Return the inputs of a job with what was found and built in their place."""
    file, rows = job.file, dict(job.file.rows)
    planned = {row.bar: row for row in rows["bars"]}
    read = {row.bar: bar_of(row, planned.get(row.bar)) for row in rows["as_found_bars"]}
    rows["bars"] = [read.pop(row.bar, row) for row in rows["bars"]] + list(read.values())
    rows["placements"] = [as_placed(row, rows["as_built"]) for row in rows["placements"]]
    settings, mixes = file.settings, if_computed(lambda: job.mix) if "mix" in file.ready else None
    if (
        settings.mix is not None and mixes is not None
    ):  # the concrete that was made for a patch goes into it, whatever its class is now
        made = {row.patch: mixes.for_patch(row.patch).name for row in rows["as_found"]}
        settings = settings.model_copy(
            update={"mix": settings.mix.model_copy(update={"patches": {**settings.mix.patches, **made}})}
        )
    ready, lacking = asked(settings, rows)  # bars that were read may be the first of the job
    return dataclasses.replace(
        file, settings=settings, rows=rows, marked=found_marked(job), limits=Limits(file.limits), ready=tuple(ready), lacking=lacking,
    )  # fmt: skip


def as_placed(row: PlacementRow, loads: Sequence[AsBuiltRow]) -> PlacementRow:
    """Return a placing with the hours and temperatures of its loads; where one load is all, it took as long as planned."""
    mine = [load for load in loads if set(names_of(load.patches)) & set(row.names)]
    if not mine:
        return row
    start, end = (moment(load.time for load in mine) for moment in (min, max))
    if start >= end:
        start = end - (row.end - row.start)
    given: dict[str, Any] = {"start": start, "end": end}
    if end >= row.opening:  # the lane stays closed: for the curve it opens as long after as was planned
        given["opening"] = end + (row.opening - row.end)
    for field in ("concrete_temperature", "slab_temperature"):
        read = [float(value.m_as("degC")) for load in mine if (value := getattr(load, field)) is not None]
        if read and field == "slab_temperature":
            given[field] = quantity(min(read), "degC")
        elif read:
            given[field] = units.text(quantity(sum(read) / len(read), "degC"))
    return row.model_copy(update=given)


def found_marked(job: Job) -> Marked:
    """Return the patches as last marked, those that were measured with their own sides and depths.

    Raises
    ------
    JobError
        Naming the row.
    """
    marked = job.patch.marked if "patch" in job.file.ready else job.file.marked
    rows = {row.patch: row for row in job.file.rows["as_found"]}
    if not rows:
        return marked
    faults: list[str] = []
    patches = [broken_out(job, one, rows[one.patch], faults) if one.patch in rows else one for one in marked.patches]
    for k, one in enumerate(patches):
        for other in patches[:k]:
            if {one.patch, other.patch} & set(rows) and one.piece.outline.intersection(
                other.piece.outline
            ).area > NOISE:
                faults.append(
                    f"as_found.csv, patch {one.patch if one.patch in rows else other.patch}: as measured it reaches into patch "
                    f"{other.patch if one.patch in rows else one.patch}; give the middle of the hole, or measure again"
                )
    if faults:
        raise JobError(faults)
    return dataclasses.replace(marked, patches=patches, fixed=True)


def broken_out(job: Job, one: Patch, row: AsFoundRow, faults: list[str]) -> Patch:
    """Return a patch as it was measured in the hole."""
    context = job.context(Inputs)
    turn, old = rules_of(context).turn, one.piece
    middle = old.outline.centroid
    level = affinity.rotate(old.outline, -turn, origin=middle, use_radians=True)
    sides = tuple(
        side if now is None else float(now) for side, now in zip(old.sides, (row.length, row.width), strict=True)
    )
    level = affinity.scale(level, sides[0] / old.sides[0], sides[1] / old.sides[1], origin=middle)
    shift = [0.0 if now is None else float(now) - was for now, was in ((row.station, middle.x), (row.offset, middle.y))]
    outline = affinity.translate(affinity.rotate(level, turn, origin=middle, use_radians=True), *shift)
    panel = job.file.marked.found.panels[one.span - context.inputs.plan.first_span]
    if not panel.buffer(NOISE).covers(outline):
        faults.append(
            f"as_found.csv, patch {row.patch}: as measured it reaches past a joint, a kerb or the end of the deck; give the middle of the hole, or "
            "measure again"
        )
    cut = old.cut + 2 * sum(now - was for now, was in zip(sides, old.sides, strict=True))
    unsound = shapely.intersection(affinity.translate(old.unsound, *shift), outline)
    extent = min(old.extent[0], sides[0]), min(old.extent[1], sides[1])
    piece = Piece(outline, unsound, extent, (sides[0], sides[1]), cut)
    over = float(job.settings.deck.overlay.m_as("m")) if job.settings.deck.overlay is not None else 0.0
    centre = outline.centroid
    read = lambda value: [float(depth) - over for depth in value.m_as("m")]  # noqa: E731
    deep = [Reading(f"{one.patch}-{k}", centre.x, centre.y, depth, None) for k, depth in enumerate(read(row.depths), 1)]
    if row.covers is None:
        covers = [dataclasses.replace(reading, depth=None) for reading in one.readings if reading.cover is not None]
    else:
        covers = [
            Reading(f"{one.patch}-c{k}", centre.x, centre.y, None, cover) for k, cover in enumerate(read(row.covers), 1)
        ]
    return dataclasses.replace(
        one, piece=piece, readings=[*deep, *covers], location=locate(context.inputs.plan, outline, job.settings.deck.kind), broken_out=True,
    )  # fmt: skip


def logs_of(found: Job) -> dict[str, Logged]:
    """Return what the loggers of the patches that are placed come to."""
    curing = if_computed(lambda: found.curing)
    placed = placed_by(found.file.rows["as_built"])
    made: dict[str, Logged] = {}
    for name in dict.fromkeys(row.patch for row in found.file.rows["logger"]) if curing is not None else ():
        one = curing.of_patch(name) if curing else None
        if one is not None and curing is not None:
            end = placed[name][1] if name in placed else one.row.end
            made[name] = logged(curing, one, end, [row for row in found.file.rows["logger"] if row.patch == name])
    return made


def delivered(record: Record) -> list[tuple[list[str], Quantity, Quantity, list[AsBuiltRow]]]:
    """Return by group of patches that shared loads: what the holes take, what came, and its loads."""
    groups: list[set[str]] = []
    for row in record.rows("as_built"):
        mine = set(names_of(row.patches))
        touched = [group for group in groups if group & mine]
        groups = [group for group in groups if not group & mine] + [mine.union(*touched)]
    found = []
    for group in groups:
        loads = [row for row in record.rows("as_built") if set(names_of(row.patches)) <= group]
        names = [one.name for one in record.found.patch if one.name in group]
        wanted = sum((record.found.patch[name].volume.V_placed for name in names), quantity(0.0, "m³"))
        found.append((names, wanted, sum((load_volume(record, row) for row in loads), quantity(0.0, "m³")), loads))
    return sorted(found, key=lambda one: record.patches.index(one[0][0]))


def load_volume(record: Record, row: AsBuiltRow) -> Quantity:
    """Return the volume of a load: as written, by its bags, or that of one batch as planned; nothing where neither is known."""
    if row.volume is not None:
        return row.volume
    mixes = if_computed(lambda: record.planned.mix)
    for name in names_of(row.patches) if mixes is not None else ():
        assert mixes is not None
        if row.bags is not None and name in mixes.bag_loads:
            return row.bags * mixes.bag_loads[name].found.V_bag
        if (one := batch_volume(mixes, name)) is not None:
            return one
    return quantity(0.0, "m³")


def batch_volume(mixes: Mixes, patch: str) -> Quantity | None:
    """Return the volume of the largest batch that is planned for a patch; None where none is."""
    if patch in mixes.bag_loads:
        each = mixes.bag_loads[patch]
        return max(each.bags) * each.found.V_bag
    return mixes.loads[patch].volume if patch in mixes.loads else None
