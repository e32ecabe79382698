"""The field set: what the crew is handed, and whether it may be worked by."""

from __future__ import annotations

from deckcalc.core.text import plain
from deckcalc.job import Job
from deckcalc.package import decisions, front
from deckcalc.show.sections import Text, block, caution


def cover(job: Job) -> Text:
    """Say what the set is, and whether anybody may work by it."""
    why = front.not_for_work(job)
    said = (
        f"**{front.NOT_FOR_WORK}**: {plain(why)}. The pages show what is intended; nobody works by them before the engineer issues them."
        if why
        else "Issued for work with the filed document of the same number and revision; what differs on site goes to the engineer first."
    )
    return block([str(caution(said)), str(front.contents())])


def plan(job: Job) -> Text:
    """The adopted plan of the work."""
    return decisions.plan(job)


def materials(job: Job) -> Text:
    """What is ordered and brought."""
    return front.materials(job)
