"""What of a job is not settled: what its subjects leave open, checks that fail or that no model reaches, values from memory.

Each stands once, with the number by which every page names it. A decision of the job (``[[decisions]]``) names an open item word
for word: the item stays in the list with what was decided, and one that has changed since is open again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from deckcalc.base.subject import OpenItem, Subject
from deckcalc.core.check import SATISFIED, Check
from deckcalc.job.recalled import Recalled, memory_values
from deckcalc.job.settings import WORDS

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: By subject: what its open checks stop beside the signature, and by when they are decided.
STOPS = {
    "patch": ("removal", "before the removal begins"), "steel": ("removal", "before the removal begins"),
    "chloride": ("placing", "before a patch there is placed"), "mix": ("placing", "before it is placed"),
    "formwork": ("placing", "before the form is loaded"), "curing": ("opening", "before the lane opens"),
    "traffic": ("closing the lane", "before the lane is closed"), "closure": ("closing the lane", "before the lane is closed"),
    "safety": ("work on the deck", "before work begins"),
}  # fmt: skip


def open_items(job: Job) -> list[OpenItem]:
    """Return the open items of a job in filing order, numbered; its subjects hold theirs with the same numbers.

    A check that is not satisfied and not settled, or that is not covered, is an open item of its subject, unless another one
    speaks for it; those of one title and verdict and one reason stand together, with the items that they concern.
    """
    decided = decisions(job)
    number = 0

    def numbered(items: Iterable[OpenItem]) -> Iterator[OpenItem]:
        nonlocal number
        for one in items:
            number += 1
            yield replace(one, number=number, decision=decided.pop(one.what, one.decision))

    found = [*numbered([*of_the_plan(job), *of_the_scope(job)])]
    for subject in job.subjects:
        subject.left_open = subject.open_items
        subject.open_items = [*numbered([*subject.open_items, *of_checks(job, subject), *of_gaps(subject)])]
        found += subject.open_items
    found += numbered(from_memory(job))
    found += numbered(
        OpenItem(f"a decision on “{item}”", "no open item reads so: look at it again, correct it or take it out of job.toml")
        for item in list(decided)
    )  # fmt: skip
    return found


def decisions(job: Job) -> dict[str, str]:
    """Return what the job decides, by open item."""
    found: dict[str, str] = {}
    for one in job.settings.decisions:
        said = f"{one.decision} ({one.by}, {one.date.isoformat()})"
        found[one.item] = f"{found[one.item]}; {said}" if one.item in found else said
    return found


def of_the_plan(job: Job) -> Iterator[OpenItem]:
    """Give what the plan of the work leaves out."""
    planned = {"curing", "closure"} & {*job.file.ready, *job.file.lacking} or job.file.work.rows
    if "patch" not in job.file.ready or not planned:
        return
    if not job.file.work.adopted:
        yield OpenItem(
            "no plan of the work is adopted",
            "placements.csv has no placing of a patch: curing, opening, timetable and crew pages wait for it",
            stops="placing",
        )
    elif left := job.file.work.unplanned([one.patch for one in job.file.marked.patches]):
        yield OpenItem(
            f"{', '.join(left)}: not in the plan of the work",
            "placements.csv places no such patch: it has no night, no curing and no hour of opening",
            tuple(left),
            stops="placing",
        )


def of_the_scope(job: Job) -> Iterator[OpenItem]:
    """Give what the job asks for and lacks, and what no patch may be opened without, where the job says nothing of it."""
    for key, why in job.file.lacking.items():
        stops, by = STOPS[key]
        yield OpenItem(f"{WORDS[key]}: not worked out", why, stops=stops, by=by)
    names = tuple(one.patch for one in job.file.marked.patches)
    asked = {*job.file.ready, *job.file.lacking}
    if names and "steel" not in asked:
        yield OpenItem(
            "bars, and strength of the slab while a patch is open: not assessed",
            "the job has no bars.csv and no section [deck_strip]: measure the bars that are bared, and keep wheels off the open patch and "
            "off the slab beside it",
            names, STOPS["steel"][0], by=STOPS["steel"][1],
        )  # fmt: skip
    through = tuple(one.name for one in job.patch if one.full) if job.of("patch") else ()
    if through and "formwork" not in asked:
        yield OpenItem(
            f"{', '.join(through)}: full depth, and no form is designed",
            "the job has no section [formwork]: who designs and checks the form, and what holds wet concrete up, is not known here",
            through, STOPS["formwork"][0], by=STOPS["formwork"][1],
        )  # fmt: skip
    if names and "mix" not in asked:
        yield OpenItem(
            "concrete of the patches: not specified", "the job has no section [mix]: volumes are of concrete as placed, whatever it is",
            names, STOPS["mix"][0], by=STOPS["mix"][1],
        )  # fmt: skip


def of_checks(job: Job, subject: Subject) -> list[OpenItem]:
    """Return the open items that the checks of a subject are."""
    spoken = {id(check) for one in subject.open_items for check in one.checks}
    groups: dict[tuple[str, str, str], list[Check]] = {}
    for one in subject.checks:
        if one.verdict != SATISFIED and not one.settled and id(one) not in spoken:
            groups.setdefault((one.verdict, one.title, one.why), []).append(one)
    found, known = [], named(job, subject.key)
    stops, by = STOPS[subject.key]
    for (verdict, title, why), checks in groups.items():
        items = list(dict.fromkeys(one.item for one in checks))
        patches = concerned(items, known)
        found.append(
            OpenItem(
                f"{', '.join(items)}: {title}: {verdict}", why, patches, stops, by=by, sheet=subject.title,
                checks=tuple(checks),
            )
        )  # fmt: skip
    return found


def named(job: Job, key: str) -> dict[str, list[str]]:
    """Return the patches that a word in an item of a subject means: a patch, its bars or concrete, its placing, its closure."""
    found: dict[str, list[str]] = {}
    if key == "steel":
        for row in job.file.rows["bars"]:
            found.setdefault(row.bar, []).append(row.patch)
    if key in ("chloride", "mix") and job.of("mix"):
        found |= {one.name: list(one.patches) for one in job.mix}
    if key == "chloride":
        found = {name: patches for name, patches in found.items() if name not in job.chloride.cores}
    if key in ("curing", "closure"):
        found |= {row.placement: row.names for row in job.file.work.placings}
    if key in ("closure", "safety"):
        found |= {one.name: one.patches for one in job.file.work}
    return found | {one.patch: [one.patch] for one in job.file.marked.patches}


def concerned(items: Iterable[str], known: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """Return the patches that the words of items mean."""
    words = (word for item in items for word in re.findall(r"[\w/-]+", item))
    return tuple(dict.fromkeys(name for word in words for name in known.get(word, ())))


def of_gaps(subject: Subject) -> Iterator[OpenItem]:
    """Give what the crew should know and the job does not say."""
    missing: list[str] = getattr(subject, "missing", [])
    if missing and not any(one.why.startswith(NOT_SAID) for one in subject.open_items):
        stops, by = STOPS[subject.key]
        yield OpenItem("; ".join(missing), f"{NOT_SAID}; write it on the page", stops=stops, by=by, sheet=subject.title)


NOT_SAID = "the crew should know it, and the job does not say it"


def from_memory(job: Job) -> Iterator[OpenItem]:
    """Give one item a sheet for the values from memory that its verdicts rest on."""
    subjects = {subject.key: subject for subject in job.subjects}
    groups: dict[str, list[Recalled]] = {}
    for one in memory_values(job):
        key = one.ground.name.partition(".")[0] if one.ground.kind == "calculation" else ""
        if key not in subjects:
            key = next(
                key for key, subject in subjects.items() if any(check is one.checks[0] for check in subject.checks)
            )
        groups.setdefault(key, []).append(one)
    for key in subjects:
        if mine := groups.get(key):
            works = dict.fromkeys(str(one.ground.cite).partition(", ")[0].removeprefix("memory: ") for one in mine)
            parts = [
                "; ".join(dict.fromkeys(one.ground.what for one in mine if one.confirmed is known)) for known in (False, True)
            ]  # fmt: skip
            why = ". Published examples agree, the place is unseen: ".join(part for part in parts if part)
            if not parts[0]:
                why = f"published examples agree, the place is unseen: {why}"
            yield OpenItem(
                f"{len(mine)} value{'s' if mine[1:] else ''} from memory: {', '.join(works)}", f"verdicts rest on them, hold them against the print: {why}",
                decides="checker", sheet=subjects[key].title,
            )  # fmt: skip
