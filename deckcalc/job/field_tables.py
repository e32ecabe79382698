"""Decision tables for the crew: what a reading at the hole leads to, worked out beforehand by the job's own calculations.

No formula stands here: each row is the job's calculation done again with the reading in place of what the survey gave, and a reading
between two rows is looked up in the row on the safe side, never interpolated. What lies outside a table is for the engineer.
"""

from __future__ import annotations

import copy
import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from deckcalc.base.fields import FULL, JobError
from deckcalc.core import units
from deckcalc.core.bars import bar_diameter
from deckcalc.core.check import SATISFIED
from deckcalc.core.tables import TableError
from deckcalc.core.units import InputError, Quantity, System, quantity
from deckcalc.mix.design import BagDesign, MixDesign, Mixes
from deckcalc.mix.design.bags import NOTHING_ADDED, added, bag_loads
from deckcalc.mix.design.batch import loads
from deckcalc.mix.design.records import Portion
from deckcalc.patch import design as patch
from deckcalc.patch.design import PatchDesign
from deckcalc.patch.design.marking import Marked
from deckcalc.steel import design as steel
from deckcalc.steel import inputs as steel_inputs
from deckcalc.steel.design.results import TWO_BARS
from deckcalc.steel.inputs import BarRow

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: Steps of a table: of depths and covers, of the caliper, of the length of a loss.
DEPTH: dict[System, tuple[float, str]] = {"US": (0.25, "in"), "SI": (5.0, "mm")}
CALIPER: dict[System, tuple[float, str]] = {"US": (0.005, "in"), "SI": (0.1, "mm")}
LOSS_LENGTH: dict[System, tuple[float, str]] = {"US": (1.0, "in"), "SI": (20.0, "mm")}
#: A bar thinner than this share of its size is for the engineer, and so is a loss longer than so many steps.
THINNEST, LONGEST = 0.5, 40
#: Covers that a table reaches to, as a share of the slab.
COVERS = 0.4

Side = Literal["up", "down"]


class DepthRow(NamedTuple):
    """What a depth leads to: read as the deepest for the class, and as the mean of the hole for volume and bags."""

    depth: Quantity
    depth_class: str
    out: Quantity | None
    frees_bars: bool
    order: Quantity
    concrete: str
    batches: int
    bags: int

    @property
    def alike(self) -> tuple[Any, ...]:
        """What rows that are printed as one have in common."""
        return self.depth_class, self.frees_bars, self.concrete, self.batches, self.bags


class CoverRow(NamedTuple):
    """What a cover leads to: the least one for the saw, the greatest for the depth that frees the bars."""

    cover: Quantity
    saw: Quantity
    out: Quantity


class CaliperTable(NamedTuple):
    """What the thinnest reading of a bar leads to.

    Attributes
    ----------
    size : str
        Size of the bar that is read.
    main : bool
        Whether it runs across traffic.
    leave : Quantity
        Read as much or more, a bar stays as it is.
    leave_pair : Quantity
        Two bars side by side that both read less ask for bars beside both.
    call : Quantity
        Read less, the engineer is called: more than one bar would be added, or the table ends.
    added : str
        Size of the bar that is added.
    lap : Quantity or None
        Its lap on sound bar at each end.
    cuts : list of tuple of Quantity
        Length of the loss, and length to which the added bar is cut; a loss longer than the last one has no room in the patch.
    """

    size: str
    main: bool
    leave: Quantity
    leave_pair: Quantity
    call: Quantity
    added: str
    lap: Quantity | None
    cuts: list[tuple[Quantity, Quantity]]

    def verdict(self, reading: Quantity, neighbour: Quantity | None = None) -> str:
        """Return what is done with a bar: leave, add or call; a neighbour is the thinnest reading of the bar beside it."""
        if reading < self.call:
            return "call"
        both = neighbour is not None and max(reading, neighbour) < self.leave_pair
        return "add" if reading < self.leave or both else "leave"


class PatchTables(NamedTuple):
    """The tables of one patch; each may be empty or missing where the job does not reach."""

    depths: list[DepthRow]
    full_from: Quantity | None
    covers: list[CoverRow]
    calipers: list[CaliperTable]


def on_grid(value: Quantity, step: float, unit: str, side: Side) -> Quantity:
    """Return a value moved to the step of a table on one side.

    Examples
    --------
    >>> f"{on_grid(quantity(82.0, 'mm'), 5, 'mm', 'up'):~P}, {on_grid(quantity(0.544, 'in'), 0.005, 'in', 'down'):.3f~P}"
    '85 mm, 0.540 in'
    """
    count = float(value.m_as(unit)) / step
    return quantity(step * (math.ceil(count - 1e-9) if side == "up" else math.floor(count + 1e-9)), unit)


def steps(low: Quantity, high: Quantity, step: float, unit: str) -> Iterator[Quantity]:
    """Give the steps from one value to another, both moved inwards."""
    first = round(float(on_grid(low, step, unit, "up").m_as(unit)) / step)
    last = round(float(on_grid(high, step, unit, "down").m_as(unit)) / step)
    for count in range(first, last + 1):
        yield quantity(round(count * step, 6), unit)


def looked_up(rows: Iterable[Any], reading: Quantity, side: Side, key: Callable[[Any], Quantity]) -> Any:
    """Return the row for a reading: the next one up or down; None outside the table, where the engineer is called.

    Examples
    --------
    >>> rows = [quantity(value, "mm") for value in (40, 45, 50)]
    >>> [str(looked_up(rows, quantity(value, "mm"), "up", lambda row: row)) for value in (41, 45, 51)]
    ['45 millimeter', '45 millimeter', 'None']
    """
    found = sorted(rows, key=key)
    if not found or reading < key(found[0]) * (1 - 1e-9) or reading > key(found[-1]) * (1 + 1e-9):
        return None
    if side == "up":
        return next(row for row in found if key(row) >= reading * (1 - 1e-9))
    return [row for row in found if key(row) <= reading * (1 + 1e-9)][-1]


def patch_tables(job: Job, name: str) -> PatchTables:
    """Return the tables of one patch: depths, covers, caliper readings.

    Parameters
    ----------
    job : Job
        With its patches computed.
    name : str
        Name of the patch.

    Raises
    ------
    JobError
        If the job has no such patch.
    """
    depths = list(depth_rows(job, name))
    full = next((row.depth for row in depths if row.depth_class == FULL), None)
    return PatchTables(depths, full, list(cover_rows(job, name)), list(calipers(job, name)))


def with_readings(job: Job, name: str, **read: Quantity) -> PatchDesign:
    """Return a patch worked out with the same reading in all places: its depth, its cover, or both.

    Raises
    ------
    InputError, TableError, JobError
        If it cannot be worked out with such a reading.
    """
    one = job.patch[name].marked
    depth, cover = (float(read[key].m_as("m")) if key in read else None for key in ("depth", "cover"))
    readings = [
        dataclasses.replace(
            r,
            depth=r.depth if depth is None or r.depth is None else depth,
            cover=r.cover if cover is None or r.cover is None else cover,
        )
        for r in one.readings
    ]
    whole = job.patch.marked
    marked = Marked(
        whole.found,
        [dataclasses.replace(one, readings=readings)],
        whole.unsound,
        [],
        whole.within,
        whole.plan,
        readings,
    )
    return patch.compute(job.rounds.context, marked, job.concrete.specified)[name]


def depth_rows(job: Job, name: str) -> Iterator[DepthRow]:
    """Give a row for each depth from the minimum of a patch to the slab."""
    least, slab = job.limit("least_patch_depth").value, job.patch.deck.slab_thickness
    step = DEPTH[job.system]
    depths = list(steps(least, slab, *step))
    for depth in depths:
        try:
            made = with_readings(job, name, depth=depth)
        except (InputError, TableError, JobError):
            continue  # no row: the engineer is called
        concrete, batches, bags = batched(job, made)
        out = None if made.removal is None else max(depth, made.removal.h_r)
        freed = made.removal is not None and bool(float(made.removal.n_r.m_as("")))
        yield DepthRow(depth, made.depth_class, out, freed, made.volume.V_order, concrete, batches, bags)


def batched(job: Job, one: PatchDesign) -> tuple[str, int, int]:
    """Return the concrete that a patch takes by its class, its batches, and its bags; nil where it is delivered."""
    specified = job.concrete.specified
    if not specified.each or job.of("mix") is None:
        return "", 0, 0
    name = specified.name_of(one.name, one.depth_class)
    design, portion = job.mix.each.get(name), Portion(one.name, one.item, one.h, one.volume.V_order)
    apart: Mixes = copy.copy(job.mix)  # its sheet is not to show what is worked out here
    apart.runs, apart.checks, apart.decisions = [], [], {}
    if isinstance(design, BagDesign):
        stone = added(apart, design) if design.concrete.aggregate else NOTHING_ADDED
        made = bag_loads(apart, design, portion, stone)
        return name, made.count, sum(made.bags)
    if isinstance(design, MixDesign):
        mixed = loads(apart, design, portion)
        return name, mixed.count, mixed.opened
    return name, 0, 0


def cover_rows(job: Job, name: str) -> Iterator[CoverRow]:
    """Give a row for each cover that a patch of partial depth may have."""
    if job.patch[name].removal is None:
        return
    slab = job.patch.deck.slab_thickness
    for cover in steps(job.limit("saw_margin").value, COVERS * slab, *DEPTH[job.system]):
        try:
            made = with_readings(job, name, cover=cover)
        except (InputError, TableError, JobError):
            continue
        if made.removal is not None and made.saw.magnitude > 0:
            yield CoverRow(cover, made.saw, made.removal.h_bars)


def calipers(job: Job, name: str) -> Iterator[CaliperTable]:
    """Give a table for each size of bar in the top mat of a patch that its removal reaches."""
    one = job.patch[name]
    reached = one.removal is None or bool(float(one.removal.n_r.m_as("")))
    if not reached or "steel" not in job.file.ready or job.of("steel") is None:
        return
    measured = {(bar.row.size, bar.row.layer) for bar in job.steel.bars_in(name)}
    deck = job.patch.deck
    sizes = measured or {(deck.top_bar_outer, "top main")}
    for size, layer in sorted(sizes):
        if found := caliper(job, name, size, layer):
            yield found


def judged(job: Job, rows: list[BarRow]) -> steel.Steel:
    """Return the reinforcement worked out for some bars alone, without the strip."""
    context = job.context(steel_inputs.Inputs)
    how = context.inputs.reinforcement
    if how is not None:  # the code of the laps may be that of the strip
        how = how.model_copy(update={"lap_code": context.inputs.lap_code})
    inputs = dataclasses.replace(context.inputs, reinforcement=how, bars=rows, pits=[], cut_lengths=[], deck_strip=None)
    return steel.compute(
        dataclasses.replace(context, inputs=inputs), job.patch, job.concrete.specified, job.steel.opening
    )


def bar_row(name: str, patch: str, size: str, layer: str, reading: Quantity, length: Quantity | None = None) -> BarRow:
    """Return a bar as if it had been read."""
    readings: Any = units.registry().Quantity([float(reading.magnitude)], reading.units)
    return BarRow.model_construct(
        bar=name, size=size, readings=readings, patch=patch, layer=layer, station=None, offset=None, loss_length=length
    )


def caliper(job: Job, name: str, size: str, layer: str) -> CaliperTable | None:
    """Return the table of one size of bar; None where no reading of it asks for a bar."""
    step, unit = CALIPER[job.system]
    whole = bar_diameter(size)
    readings = list(steps(THINNEST * whole, on_grid(whole, step, unit, "up"), step, unit))
    rows = [bar_row(f"{side}{k}", name, size, layer, one) for k, one in enumerate(readings) for side in "ab"]
    made = judged(job, rows)
    pairs = {check.item: check.verdict for check in made.checks if check.title == TWO_BARS}
    alone = [made[f"a{k}"].over for k in range(len(readings))]
    paired = [pairs[f"bars a{k} and b{k}"] != SATISFIED for k in range(len(readings))]
    several = [bar.supplement is not None and int(bar.supplement.n.magnitude) > 1 for bar in (made[f"a{k}"] for k in range(len(readings)))]  # fmt: skip
    leave, leave_pair, call = (readings[first_without(found)] for found in (alone, paired, several))
    how = job.steel.inputs.reinforcement
    added = how.added_bar if how else size
    thin = [bar_row(f"c{k}", name, size, layer, call, length) for k, length in enumerate(losses(job.system))]
    cut = judged(job, thin)
    cuts = [(bar.row.loss_length, bar.cut) for bar in cut if bar.added is not None and bar.cut is not None and bar.added.L_grow.magnitude <= 0]  # fmt: skip
    return CaliperTable(size, layer.endswith("main"), leave, leave_pair, call, added, next(iter(cut)).lap, cuts)


def losses(system: System) -> list[Quantity]:
    """Return the lengths of loss of a table."""
    step, unit = LOSS_LENGTH[system]
    return [quantity(step * count, unit) for count in range(1, LONGEST + 1)]


def first_without(found: list[bool]) -> int:
    """Return the first place from which on it is not so, to the end; the last place where it is so there.

    Examples
    --------
    >>> first_without([True, False, True, False, False]), first_without([False, False]), first_without([True])
    (3, 0, 0)
    """
    last = max((place for place, one in enumerate(found) if one), default=-1)
    return min(last + 1, len(found) - 1)
