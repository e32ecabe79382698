"""What decides, before the sheets: what is done at each patch and on what evidence, the adopted plan, what is open."""

from __future__ import annotations

from collections.abc import Iterable

from deckcalc.base.subject import OpenItem
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, Check
from deckcalc.core.text import plain
from deckcalc.job import Job
from deckcalc.job.open_items import concerned, named
from deckcalc.job.report import tally
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

NO_PLAN = "**No plan adopted.** The job has no placing of a patch in placements.csv: nothing below says when a patch is placed or opened.\n"
#: What a wait for strength rests on, in words; nothing is known of a patch that is in no plan.
EVIDENCE = {True: "curve of its concrete", False: "**estimate**", None: ""}


def patches(job: Job) -> Text:
    """One row a patch: where it stands, its concrete, its hours and their evidence, what is open; then what is done and what governs."""
    if "patch" not in job.file.ready or job.of("patch") is None:
        return block(
            [
                f"{tally(job)}. Open items are numbered as in the list below; the sheets name them by the same numbers.",
                of_no_patch(job),
            ]
        )
    rows, said = [], []
    unplanned = "**not planned**" if job.file.work.adopted or {"curing", "closure"} & set(job.file.ready) else ""
    for one in job.patch:
        closure = job.file.work.closure_of(one.name)
        opens = f"{plain(closure.name)}: {job.file.work.in_words(closure.opening)}" if closure else unplanned
        rows.append([
            one.name, plain(one.location.kind), one.depth_class.removesuffix(" depth"), plain(concrete(job, one.name)), opens,
            EVIDENCE[computed(job, one.name)], stopped(job.open_at(one.name)) or "none",
        ])  # fmt: skip
        parts = [plain(instruction(job, one.name)), f"*Governs:* {plain(governing(job, one.name))}."]
        said.append(f"- **{one.name}.** {' '.join(part for part in parts if part)}")
    heads = ["patch", "where", "depth", "concrete", "opens", "on what evidence", "waits for open items"]
    kept = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    table = pipe_table([heads[i] for i in kept], [[row[i] for i in kept] for row in rows], "l" * len(kept))
    lead = f"{tally(job)}. Open items are numbered as in the list below; the sheets name them by the same numbers."
    return block([lead, table, "\n".join(said)])


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


def governing(job: Job, name: str) -> str:
    """Return the check that governs a patch: the one that fails by most and one that is not covered, else the one used most."""
    found: dict[str, list[Check]] = {NOT_SATISFIED: [], NOT_COVERED: [], SATISFIED: []}
    for subject in job.subjects:
        if subject.key not in OF_NO_PATCH:
            known = named(job, subject.key)
            for one in subject.checks:
                if not one.settled and name in concerned([one.item], known):
                    found[one.verdict].append(one)
    worst = [max(ones, key=used) for ones in found.values() if ones]
    kept = [one for one in worst if one.verdict != SATISFIED] or worst
    return "; ".join(
        f"{one.title}: {one.verdict}" + (f", {100 * used(one):.0f} %" if used(one) else "") for one in kept
    )


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


def open_items(job: Job) -> Text:
    """Every open item: what is open and why, what it stops, who decides and by when, and what was decided."""
    found = job.open_items
    if not found:
        return Text("No item is open.\n")
    rows = []
    for one in found:
        said = f"**{plain(one.what)}**: {plain(one.why)}. *Stops {plain(one.stops)}; {plain(one.decides)}, {plain(one.by)}.*"
        said += f" **Decided:** {plain(one.decision)}." if one.decision else ""
        rows.append([str(one.number), ", ".join(one.patches), said])
    lead = (
        f"{len(rows)} open item{'s' if len(rows) > 1 else ''}, {len(job.undecided)} undecided. A check that is not satisfied, or that no "
        "model here covers, is open until the person named decides it; nothing that it stops may go on before, and nobody signs before "
        "all are decided. A decision is written into job.toml as an entry of the list decisions, with the words of the item."
    )
    return block(
        [lead, pipe_table(["no.", "patches", "what is open and why; what it stops, who decides, by when"], rows, "lll")]
    )


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
