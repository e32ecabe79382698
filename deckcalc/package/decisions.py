"""What decides, before the sheets: what is done at each patch and on what evidence, the adopted plan, what is open."""

from __future__ import annotations

from collections.abc import Iterable

from deckcalc.base.subject import OpenItem
from deckcalc.chloride.sheet.extents import extents
from deckcalc.core import units
from deckcalc.core.check import Check
from deckcalc.core.text import plain
from deckcalc.core.units import Area, OrderVolume
from deckcalc.job import Job
from deckcalc.job.report import tally
from deckcalc.package import comments
from deckcalc.patch.sheet.deck import deck_pages
from deckcalc.show.figures import Picture
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

NO_PLAN = "**No plan adopted.** The job has no placing of a patch in placements.csv: nothing below says when a patch is placed or opened.\n"
#: What a wait for strength rests on, in words; nothing is known of a patch that is in no plan.
EVIDENCE = {True: "curve of its concrete", False: "**estimate**", None: ""}


def scope(job: Job) -> Text:
    """Say in three lines what the package is about and what it comes to."""
    parts = []
    if has_patches(job):
        sizes = [one.depth_class.removesuffix(" depth") for one in job.patch]
        kinds = ", ".join(f"{sizes.count(kind)} {kind} depth" for kind in dict.fromkeys(sizes))
        spans = sorted({one.marked.span for one in job.patch})
        where = f"span{'s' if len(spans) > 1 else ''} {', '.join(map(str, spans))}"
        area = sum(float(one.limits.A.m_as("m^2")) for one in job.patch)
        parts.append(
            f"{len(sizes)} patch{'es' if len(sizes) > 1 else ''} in {where} ({kinds}), repair limits "
            f"{job.show(units.quantity(area, 'm^2'), Area)}, concrete to order {job.show(job.patch.order_volume, OrderVolume)} in all."
        )
    work = job.file.work
    if work.adopted:
        left = [one.name for one in job.patch if work.closure_of(one.name) is None] if has_patches(job) else []
        many = len(list(work))
        parts.append(
            f"{many} closure{'s' if many > 1 else ''} planned"
            + (f"; not in the plan: {', '.join(left)}" if left else "")
            + "."
        )
    parts.append(f"{tally(job)}; open items by their numbers on [Basis](#basis).")
    return block([" ".join(parts)])


def has_patches(job: Job) -> bool:
    """Whether the job has patches that could be computed."""
    return "patch" in job.file.ready and job.of("patch") is not None


def patches(job: Job) -> Text:
    """One row a patch: verdict, when it opens and on what evidence; then what is done."""
    if not has_patches(job):
        return block([of_no_patch(job)])
    rows, said = [], []
    unplanned = "**not planned**" if job.file.work.adopted or {"curing", "closure"} & set(job.file.ready) else ""
    for one in job.patch:
        closure = job.file.work.closure_of(one.name)
        opens = f"{plain(closure.name)}: {job.file.work.in_words(closure.opening)}" if closure else unplanned
        stops = stopped(job.open_at(one.name))
        rows.append([
            one.name, plain(one.location.kind), one.depth_class.removesuffix(" depth"), f"**hold**, {stops}" if stops else "proceed", opens,
            EVIDENCE[computed(job, one.name)],
        ])  # fmt: skip
        said.append(f"- **{one.name}.** {plain(instruction(job, one.name))}")
    heads = ["patch", "where", "depth", "verdict, open items", "opens", "on what evidence"]
    kept = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    table = pipe_table([heads[i] for i in kept], [[row[i] for i in kept] for row in rows], "l" * len(kept))
    return block([table, "\n".join(said)])


def stops(job: Job) -> Text:
    """What may not proceed, until which open items are decided, by whom and by when."""
    found: dict[tuple[str, str], list[OpenItem]] = {}
    for one in job.undecided:
        found.setdefault((one.stops, one.by), []).append(one)
    rows = []
    for (what, when), items in found.items():
        names = ", ".join(dict.fromkeys(name for one in items for name in one.patches)) or "all"
        decide = ", ".join(dict.fromkeys(one.decides for one in items))
        rows.append(
            [
                f"**{plain(what)}** may not proceed",
                names,
                numbers(items),
                plain(decide),
                plain(when.removeprefix("before ")),
            ]
        )
    table = pipe_table(["what stops", "patches", "until decided", "owner", "decided before"], rows, "lllll")
    none = "Nothing stops the work: no open item is undecided."
    return block([table if rows else none, comments.waiting(job)])


def of_no_patch(job: Job) -> str:
    """Say what follows, subject by subject, in a job without patches."""
    said = [
        f"- **{plain(item)}.** {plain(words)}"
        for subject in job.subjects if subject.key not in OF_NO_PATCH or len(job.subjects) == 1
        for item, words in subject.decisions.items()
    ]  # fmt: skip
    return "\n".join(said)


def concrete(job: Job, name: str) -> str:
    """Return the name of the concrete of a patch."""
    return job.mix.for_patch(name).name if "mix" in job.file.ready and job.of("mix") else ""


def computed(job: Job, name: str) -> bool | None:
    """Whether the hour of opening of a patch rests on a curve; None where it has none."""
    if job.file.work.placing_of(name) is None:
        return None
    one = job.curing.of_patch(name) if job.settings.curing and job.of("curing") else None
    return one is not None and one.computed


def instruction(job: Job, name: str) -> str:
    """Return the one instruction of a patch, where the job gives one."""
    found = getattr(job, "instructions", {})
    return str(found[name]) if name in found else ""


#: Subjects whose checks are of the closure or the crew, and of no patch by itself.
OF_NO_PATCH = ("traffic", "closure", "safety")


def used(one: Check) -> float:
    """Return how much of its limit a check uses, nil where that cannot be said."""
    return one.utilisation or 0.0


def stopped(items: Iterable[OpenItem]) -> str:
    """Say what waits for which open items that are not decided, by their numbers."""
    found: dict[str, list[OpenItem]] = {}
    for one in items:
        if not one.decision:
            found.setdefault(one.stops, []).append(one)
    return "; ".join(f"{stops}: {numbers(ones)}" for stops, ones in found.items())


def numbers(items: Iterable[OpenItem]) -> str:
    """Name open items by their numbers, runs of them as “4–8”."""
    runs: list[list[int]] = []
    for one in items:
        if runs and one.number == runs[-1][-1] + 1:
            runs[-1].append(one.number)
        else:
            runs.append([one.number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)


def plan(job: Job) -> Text:
    """The adopted plan: closure by closure what is placed, in which order, and the hours."""
    work = job.file.work
    if not work.adopted:
        return Text(NO_PLAN if {"curing", "closure"} & {*job.file.ready, *job.file.lacking} else "")
    rows = [
        [
            f"{plain(one.name)}, {plain(row.placement)}", ", ".join(row.names), work.in_words(one.closing),
            f"{work.in_words(row.start)} to {work.hour(row.end)}", row.curing, work.in_words(one.opening),
        ] for one in work for row in one.placings
    ]  # fmt: skip
    heads = ["closure, placing", "patches in order", "lane closed", "placed", "cured", "lane open"]
    return Text(pipe_table(heads, rows, "llllll"))


def rounds(job: Job) -> Text:
    """What was changed by the job itself because one sheet asked another for it."""
    made = job.rounds.grown if "patch" in job.file.ready and job.of("patch") is not None else []
    if not made:
        return Text("")
    said = []
    for number, grown in enumerate(made, 1):
        parts = [f"{name} longer {more.words(job.system)}" for name, more in grown.items()]
        said.append(f"- Round {number}: {plain('; '.join(parts))}, for the laps of its added bars.")
    return block(
        [f"The job was computed in {len(made) + 1} rounds, until no sheet asked another for a change:", "\n".join(said)]
    )


def deck(job: Job) -> list[Picture | Text]:
    """Plan and section of the deck, with the extent of each survey."""
    if not has_patches(job):
        return []
    surveyed = extents(job.chloride) if "chloride" in job.file.ready and job.chloride is not None else {}
    return deck_pages(job.patch, surveyed)
