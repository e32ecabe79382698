"""The decision tables of the crew in print: what a reading leads to, where each table ends, and when the engineer is called."""

from __future__ import annotations

from itertools import groupby

from deckcalc.base.work import Closure
from deckcalc.core import units
from deckcalc.core.units import Distance, Length, OrderVolume, Quantity, Temperature
from deckcalc.job import Job
from deckcalc.job.field_opening import opening_table
from deckcalc.job.field_tables import CaliperTable, DepthRow, PatchTables, patch_tables
from deckcalc.package.crew import short
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain


def tables(job: Job, closure: Closure) -> Text:
    """Return the tables of the patches and placings of one closure."""
    found = [(name, patch_tables(job, name)) for name in closure.patches]
    opening = [opening_of(job, row.placement) for row in closure.placings]
    return block([
        "## Tables for readings",
        "Take the row on the safe side, as each table says; do not read between rows. **Outside a table: stop, call the engineer.** "
        "Worked out beforehand by the calculations of the filed document, with the reading in place of what the survey gave.",
        *(of_patch(job, name, made) for name, made in found), cover_text(job, found), caliper_text(job, found), *opening,
    ])  # fmt: skip


def of_patch(job: Job, name: str, tables: PatchTables) -> str:
    """Return the table of depth of one patch."""
    if job.patch[name].removal is None:
        return f"**Patch {name}.** Full depth as planned, whatever depth is read. Less of it unsound: the engineer may keep it, the crew does not."
    rows = [depth_cells(job, group) for group in groups(tables.depths)]
    heads = ["depth to", "class by the deepest reading", "break out", "concrete by the mean depth", "batches"]
    lead = (
        f"**Patch {name}, depth.** Class: by the deepest reading. Volume{' and bags' if any(r.bags for r in tables.depths) else ''}: by the mean of five readings. Between rows: the deeper row. "
        f"Holds for {job.show(job.patch[name].limits.L, Distance)} by {job.show(job.patch[name].limits.B, Distance)} as marked."
    )
    return "\n\n".join([lead, pipe_table(heads, rows, "rlrrl")])


def groups(rows: list[DepthRow]) -> list[list[DepthRow]]:
    """Return the rows of a table, those with one outcome together; all that goes through is one."""
    return [list(group) for _, group in groupby(rows, lambda row: row.depth_class if row.out is None else row.alike)]


def depth_cells(job: Job, group: list[DepthRow]) -> list[str]:
    """Print rows with one outcome as one row, with the depth and the volume of the deepest of them."""
    first, last = group[0], group[-1]
    if last.out is None:
        return [
            f"**from {job.show(first.depth, Length)}**",
            "**full depth: stop, call**",
            "through",
            job.show(last.order, OrderVolume),
            plain(last.concrete),
        ]
    how = "bars freed" if last.frees_bars else "bars not reached"
    out = "as read"
    if first.out is not None and first.out > first.depth:  # the bars ask for more than is read
        deeper = last.out > first.out * (1 + 1e-9)
        out = units.show_at_least(first.out, Length, job.system) + (", or as read" if deeper else "")
    bags = f", {last.bags} bags" if last.bags else ""
    return [
        job.show(last.depth, Length), f"{last.depth_class}, {how}", out, units.show_at_least(last.order, OrderVolume, job.system),
        f"{last.batches}{bags}" if last.batches else plain(last.concrete),
    ]  # fmt: skip


#: Columns of the table of covers that stand side by side.
ACROSS = 4


def cover_text(job: Job, found: list[tuple[str, PatchTables]]) -> str:
    """Return what a cover leads to, patches with one table together, its rows side by side."""
    parts: dict[tuple[tuple[str, ...], ...], list[str]] = {}
    for name, tables in found:
        cells: tuple[tuple[str, ...], ...] = tuple(
            (
                job.show(row.cover, Length),
                units.show_at_most(row.saw, Length, job.system),
                "**call**"
                if row.out >= job.patch.through_from * (1 - 1e-9)
                else units.show_at_least(row.out, Length, job.system),
            )
            for row in tables.covers
        )
        if cells:
            parts.setdefault(cells, []).append(name)
    said = []
    for cells, names in parts.items():
        deep = -(-len(cells) // ACROSS)
        empty = ("", "", "")
        rows = [
            [cell for k in range(ACROSS) for cell in (cells[i + k * deep] if i + k * deep < len(cells) else empty)]
            for i in range(deep)
        ]
        said.append(
            f"**{', '.join(names)}, cover.** Saw no deeper than the row of the minimum cover read (between rows: the smaller). Bars that are reached: out to the "
            "row of the maximum (between rows: the larger); **call**: as deep as full depth, the engineer decides before it is broken out.\n\n"
            + pipe_table(["cover", "saw", "out"] * ACROSS, rows, "r" * 3 * ACROSS)
        )
    return "\n\n".join(said)


def caliper_text(job: Job, found: list[tuple[str, PatchTables]]) -> str:
    """Return what a reading of the caliper leads to, patches with one outcome together."""
    rows, mine = [], [(name, one) for name, tables in found for one in tables.calipers]
    for one in dict.fromkeys((table.size, table.main, *map(str, table[2:5])) for _, table in mine):
        like = [(name, table) for name, table in mine if (table.size, table.main, *map(str, table[2:5])) == one]
        rows += [caliper_cells(job, ", ".join(name for name, _ in like), like)]
    if not rows:
        return ""
    heads = ["patches, bar", "leave at", "both of two side by side: add below", "alone: add below", "call below"]
    lead = "**Caliper**, thinnest of three readings on clean steel, no ribs. Every bar that is added and was not planned is told to the engineer before it is tied."
    return "\n\n".join([lead, pipe_table(heads, [row[:5] for row in rows], "lrrrr"), *(row[5] for row in rows)])


def caliper_cells(job: Job, names: str, like: list[tuple[str, CaliperTable]]) -> list[str]:
    """Print the table of one size of bar, and what is added beside it in each patch."""
    one = like[0][1]
    read = lambda value: f"{value.magnitude:.3f} in" if job.system == "US" else f"{value.magnitude:.1f} mm"  # noqa: E731
    said = []
    for name, table in like:
        text = f"**{name}, {table.size} {'across' if table.main else 'along'} traffic**: add 1 × {table.added}"
        if not table.cuts:
            said.append(f"**{name}, {table.size}**: the patch has no room for laps. Any bar to add: call the engineer.")
            continue
        (loss, cut), (longest, most) = table.cuts[0], table.cuts[-1]
        said.append(
            f"{text}, {job.show(cut - loss, Length)} longer than the loss, lap {units.show_at_least(table.lap, Length, job.system)} each end on sound bar. "
            f"Loss longer than {job.show(longest, Length)} (bar {job.show(most, Length)}): call."
        )
    return [
        f"{names}: {one.size}",
        f"{read(one.leave_pair)} or more",
        read(one.leave_pair),
        read(one.leave),
        read(one.call),
        " ".join(said),
    ]


def opening_of(job: Job, placing: str) -> str:
    """Return when a placing opens, by the temperatures of concrete and air."""
    row = next(row for row in job.file.work.placings if row.placement == placing)
    table = opening_table(job, row)
    head = f"**Placing {plain(placing)} ({', '.join(row.names)}), temperatures.**"
    if table is None:
        return f"{head} Nothing is computed of it: cylinders cured beside the patch open the lane."
    if not table.rows:
        return f"{head} {plain(table.concrete)}: no hour by a curve; cylinders cured beside the patch, or its logged temperature, open the lane."
    work = job.file.work
    said = lambda moment: "no" if moment is None else short(work.in_words(moment))  # noqa: E731
    show = lambda value: job.show(value, Temperature, 0)  # noqa: E731
    airs = list(dict.fromkeys(str(one.air) for one in table.rows))
    cells: dict[str, list[Quantity | str]] = {}
    for one in table.rows:
        cells.setdefault(show(one.concrete), []).extend([said(one.opens), f"**{said(one.start_by)}**"])
    warm = {str(one.air): show(one.air) for one in table.rows}
    heads = ["concrete as placed", *(head for air in airs for head in (f"air {warm[air]} or more: strong", "start by"))]
    lead = (
        f"By the curve of {plain(table.concrete)} ({plain(table.curve)}), lower edge, hole at {show(table.slab)} or more. Colder than a row: the colder row. Strong: if placed as planned; "
        "start by: the last start of placing for the planned opening, by strength alone; the clock above holds where it is earlier. Tests decide."
    )
    return "\n\n".join(
        [
            f"{head} {lead}",
            pipe_table(heads, [[warm_, *map(str, row_)] for warm_, row_ in cells.items()], "r" * len(heads)),
        ]
    )
