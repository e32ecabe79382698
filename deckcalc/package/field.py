"""The field set: what the crew is handed, whether it may be worked by, and what is ordered and loaded."""

from __future__ import annotations

import re

from deckcalc.closure.sheet import loads
from deckcalc.core.text import plain
from deckcalc.job import Job
from deckcalc.package import crew, decisions, front
from deckcalc.patch.sheet.plans import patch_plans
from deckcalc.show.figures import Picture
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, caution
from deckcalc.steel.sheet.bar_lines import bar_lines

#: Rooms whose materials the load list of the closures counts altogether.
COUNTED = ("patch", "mix", "closure")


def cover(job: Job) -> Text:
    """Say what the set is, and whether anybody may work by it."""
    why = front.not_for_work(job)
    said = (
        f"**{front.NOT_FOR_WORK}**: {plain(why)}. The pages show what is intended; nobody works by them before the engineer issues them."
        if why
        else "Issued for work with the filed document of the same number and revision; what differs on site goes to the engineer first."
    )
    return block([str(caution(said)), str(front.contents())])


def stops(job: Job) -> Text:
    """The open items that stop the work: of which patches, what they stop, who decides and by when."""
    rows = [
        [str(one.number), ", ".join(one.patches), plain(one.what), plain(one.stops), plain(f"{one.decides}, {one.by}")]
        for one in job.undecided if one.stops != front.SIGNATURE
    ]  # fmt: skip
    return Text(pipe_table(["no.", "patches", "open", "stops", "who decides, by when"], rows, "rllll") if rows else "")


def plan(job: Job) -> Text:
    """The adopted plan of the work, and what is left out of it."""
    left = crew.left_out(job)
    said = f"Not in the plan, and without a crew page: {', '.join(left)}." if left else ""
    return block([str(decisions.plan(job)), said])


def patches(job: Job) -> list[Picture]:
    """Plan and section of each patch from joint and kerb, with the bars that are added."""
    if not decisions.has_patches(job):
        return []
    steel = job.steel if "steel" in job.file.ready and job.of("steel") is not None else None
    return patch_plans(job.patch, bar_lines(steel) if steel is not None else ())


def materials(job: Job) -> Text:
    """What is ordered, what of it is loaded for each closure, and what is cut or filled for the job beside."""
    if not job.settings.closure or not job.closure.stock:
        return front.materials(job)
    beside = others(job)
    return block([
        str(front.incomplete(job, "Their materials are missing from this list.")) if job.faults else "", str(loads.to_order(job.closure)),
        "### Cut, made or filled for this job" if beside else "",
        pipe_table(["item", "quantity", "allowance", "sheet"], beside, "lrll") if beside else "",
    ])  # fmt: skip


def others(job: Job) -> list[list[str]]:
    """Return the materials that the load list of the closures does not count: bars as cut, plates, curing water, rescue."""
    known = [re.split("[,:]", line.material)[0].casefold() for line in job.closure.stock]
    return [
        [plain(one.material), one.quantity, plain(one.spare), plain(one.source)]
        for subject in job.subjects if subject.key not in COUNTED
        for one in subject.materials if not any(one.material.casefold().startswith(name) for name in known)
    ]  # fmt: skip


def tools(job: Job) -> Text:
    """Tools and machines with their limits."""
    return loads.equipment(job.closure) if job.settings.closure else Text("")
