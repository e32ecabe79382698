"""The appendix of a package: what a checker goes through line by line, and the decisions do not need."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from deckcalc.job import Job
from deckcalc.package import front
from deckcalc.show.every import proved_in
from deckcalc.show.sections import Text, block


def lead(job: Job) -> Text:
    """Say what the appendix holds and how many of its lines were proved."""
    counts = [proved_in(subject.runs) for subject in job.subjects]
    return Text(
        f"Every calculation of the job stands here once, with what each of its lines comes to for each item: {len(job.written.by_run)} "
        f"calculations, {sum(counts)} lines. Each line was set as a hand calculation, read back from its print and worked out again from its "
        "printed numbers to half the last digit; one that does not hold stops the package. Calculations are cited by number, such as 02-07, "
        "and their lines by the number of the calculation and of the line, such as 02-07.3; the sheets of the filed document use the same numbers.\n"
    )


def checks(job: Job) -> Text:
    """Every check of the job."""
    return front.summary(job)


def limits(job: Job) -> Text:
    """Limits of the job, and what is rounded apart in the two systems."""
    return block([str(front.limits(job)), str(front.rounded_apart(job))])


def further(job: Job, key: str) -> list[Any]:
    """Return the tables and drawings of a subject that stand in the appendix; none where the job has no such subject."""
    if key not in job.file.ready or job.of(key) is None:
        return []
    room = import_module(f"deckcalc.{key}.sheet")
    found: list[Any] = room.further(job.of(key))
    return found


def inputs(job: Job) -> Text:
    """The inputs as they were filed."""
    return front.inputs(job)
