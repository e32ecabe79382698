"""What decides, before the sheets: where each patch stands and what is done to it, the adopted plan, what is open."""

from __future__ import annotations

from deckcalc.base.subject import OpenItem
from deckcalc.core.text import plain
from deckcalc.core.units import Distance
from deckcalc.job import Job
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

NO_PLAN = "**No plan adopted.** The job has no placing of a patch in placements.csv: nothing below says when a patch is placed or opened.\n"
CLOCK = "%a %Y-%m-%d %H:%M"


def patches(job: Job) -> Text:
    """One row a patch: where it stands, what it is, when it is placed and opened, and which open items concern it."""
    if job.of("patch") is None:
        return Text("")
    rows = []
    for one in job.patch:
        sides, placing = one.limits, job.file.work.placing_of(one.name)
        numbers = [str(number) for number, item in numbered(job) if one.name in item.patches]
        rows.append([
            one.name, plain(one.location.words(job.system)),
            f"{job.show(sides.L, Distance)} × {job.show(sides.B, Distance)}", one.depth_class,
            plain(placing.closure) if placing else "**not planned**",
            placing.opening.strftime(CLOCK) if placing else "", ", ".join(numbers) or "none",
        ])  # fmt: skip
    heads = ["patch", "where on the deck", "along × across", "class", "closure", "opens", "open items"]
    return Text(pipe_table(heads, rows, "lllllll"))


def plan(job: Job) -> Text:
    """The adopted plan: closure by closure what is placed, in which order, and the hours."""
    work = job.file.work
    if not work.adopted:
        return Text(NO_PLAN)
    rows = [
        [
            plain(one.name), plain(row.placement), plain(", ".join(row.names)), one.closing.strftime(CLOCK),
            row.start.strftime(CLOCK), row.end.strftime(CLOCK), row.curing, one.opening.strftime(CLOCK),
        ] for one in work for row in one.placings
    ]  # fmt: skip
    heads = ["closure", "placing", "patches in order", "lane closed", "placed from", "to", "cured", "lane open"]
    return Text(pipe_table(heads, rows, "llllllll"))


def numbered(job: Job) -> list[tuple[int, OpenItem]]:
    """Return the open items with the numbers by which every page names them."""
    return list(enumerate(job.open_items, 1))


def open_items(job: Job) -> Text:
    """Every open item: what is open and why, what it stops, who decides and by when."""
    if not job.open_items:
        return Text("No item is open.\n")
    rows = [
        [
            str(number), plain(one.what), plain(one.why), ", ".join(one.patches), plain(one.stops),
            plain(f"{one.decides}, {one.by}"), plain(one.sheet),
        ] for number, one in numbered(job)
    ]  # fmt: skip
    heads = ["no.", "open", "why", "patches", "stops", "who decides, by when", "sheet"]
    lead = (
        f"{len(rows)} open item{'s' if len(rows) > 1 else ''}. A check that is not satisfied, or that no model here covers, is "
        "open until the person named decides it; nothing that it stops may go on before."
    )
    return block([lead, pipe_table(heads, rows, "lllllll")])


def rounds(job: Job) -> Text:
    """What was changed by the job itself because one sheet asked another for it."""
    made = job.rounds.grown if job.of("patch") is not None else []
    if not made:
        return Text("")
    said = []
    for number, grown in enumerate(made, 1):
        parts = [f"{name} longer {more.words(job.system)}" for name, more in grown.items()]
        said.append(f"- Round {number}: {plain('; '.join(parts))}, for the laps of its added bars.")
    return block(
        [f"The job was computed in {len(made) + 1} rounds, until no sheet asked another for a change:", "\n".join(said)]
    )
