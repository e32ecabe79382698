"""What of a job is not settled: what its subjects leave open, checks that fail, and checks that no model reaches."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from deckcalc.base.subject import OpenItem, Subject
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, Check

if TYPE_CHECKING:
    from deckcalc.job.order import Job


def open_items(job: Job) -> list[OpenItem]:
    """Return the open items of a job in filing order.

    A check that is not satisfied and not settled, or that is not covered, is an open item of its subject; those of one title and verdict and
    one reason stand together, with the items that they concern.
    """
    found: list[OpenItem] = []
    left = job.file.work.unplanned([one.name for one in job.patch]) if job.of("patch") is not None else []
    if not job.file.work.adopted:
        found.append(
            OpenItem(
                "no plan of the work is adopted",
                "placements.csv has no placing of a patch: curing, opening, timetable and crew pages wait for it",
                stops="placing",
            )
        )
    elif left:
        found.append(
            OpenItem(
                f"{', '.join(left)}: not in the plan of the work",
                "placements.csv places no such patch: it has no night, no curing and no hour of opening",
                tuple(left),
                stops="placing",
            )
        )
    for subject in job.subjects:
        found += subject.open_items
        found += of_checks(subject)
    return found


def of_checks(subject: Subject) -> list[OpenItem]:
    """Return the open items that the checks of a subject are."""
    groups: dict[tuple[str, str, str], list[Check]] = {}
    for one in subject.checks:
        if one.verdict in (NOT_SATISFIED, NOT_COVERED) and not one.settled:
            groups.setdefault((one.verdict, one.title, one.why), []).append(one)
    found = []
    for (verdict, title, why), checks in groups.items():
        items = list(dict.fromkeys(one.item for one in checks))
        patches = tuple(dict.fromkeys(name for item in items for name in re.findall(r"\bP\d+\b", item)))
        found.append(OpenItem(f"{', '.join(items)}: {title}: {verdict}", why, patches, sheet=subject.title))
    return found
