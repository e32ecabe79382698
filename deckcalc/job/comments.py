"""The checker's comments of a job: held against its revisions when they are read, and against its sheets once it is computed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

from deckcalc.base.comments import ANSWERED, WITHDRAWN, CommentRow
from deckcalc.base.fields import Faults, JobError
from deckcalc.base.subject import Subject
from deckcalc.core.units import clipped
from deckcalc.job.read_tables import read_tables, told
from deckcalc.job.settings import ROWS, WORDS, JobSettings

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: Parts of a package that are of no subject, by what people call them: the headings under which they stand.
PARTS = {
    "cover": "Calculation package", "calculation package": "Calculation package", "sign-off": "Calculation package",
    "revisions": "Calculation package", "conclusions": "Conclusions", "verdict for each patch": "Conclusions",
    "what stops the work": "Conclusions", "plan of the work": "Conclusions",
    "plan and section of the deck": "Plan and section of the deck", "patch schedule": "Patch schedule", "basis": "Basis",
    "sources cited": "Sources cited", "appendix": "Appendix", "checks": "Checks", "limits": "Limits",
    "inputs as filed": "Inputs as filed", "field set": "Field set", "batch cards": "Batch cards",
}  # fmt: skip
#: Places that are named where none is meant.
NEAREST = 3


@dataclass(frozen=True)
class Comment:
    """A comment, with the heading of the sheet that it is about.

    Attributes
    ----------
    row : CommentRow
    sheet : str
        Heading, or the two digits with which it begins; empty where this package has no such place.
    present : bool
        Whether it was made on the present revision.
    """

    row: CommentRow
    sheet: str
    present: bool


# --- as they are read


def check(settings: JobSettings, rows: Sequence[CommentRow], faults: Faults) -> None:
    """Hold comments against the revisions of the job, and each answer against its comment."""
    dates = {one.revision: one.date for one in settings.revisions or [settings.revision]}
    for row in rows:
        where = f"comments.csv, comment {row.number}"
        for column, fault in wrong(row, dates):
            faults.append(f"{where}, column {column}: {fault}")
        if row.revision in dates and row.date < dates[row.revision]:
            faults.ask(
                f"comments.{row.number}.date", f"{where}, column date",
                f"found {row.date}, before revision {row.revision} of {dates[row.revision]}, on which it was made",
            )  # fmt: skip


def wrong(row: CommentRow, revisions: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """Give what is wrong with a comment, with its column."""
    if row.revision not in revisions:
        yield "revision", f"found “{row.revision}”, wanted a revision of the package: {', '.join(revisions)}"
    if row.answer and not row.answered_by:
        yield "answered by", "missing, wanted the name of who answered"
    if not row.answer and (row.answered_by or row.answered_on):
        yield "answer", "missing, wanted what was answered; or leave out by whom and when"
    if row.status == ANSWERED and not row.answer:
        yield "status", f"found “{ANSWERED}”, but there is no answer; wanted an answer, or open"
    if row.answered_by and same(row.answered_by) == same(row.by) and row.status != WITHDRAWN:
        yield "answered by", f"found “{row.answered_by}”, who made the comment; wanted somebody else"
    if row.answered_on and row.answered_on < row.date:
        yield "answered on", f"found {row.answered_on}, before the comment of {row.date}"


def same(text: str) -> str:
    """Return a text such that it equals itself in other case, spacing and signs."""
    return " ".join(re.findall(r"[\w.+-]+", text.casefold()))


# --- in the computed job


def comments(job: Job) -> list[Comment]:
    """Return the comments of a job with the sheets that they are about."""
    rows: list[CommentRow] = job.file.rows["comments"]
    known = {same(name): sheet for name, sheet in places(job)} if rows else {}
    return [Comment(row, known.get(same(row.at), ""), row.revision == job.file.revision.revision) for row in rows]


def require_places(job: Job) -> None:
    """Refuse an open comment of the present revision on what the package does not have.

    What an answer took out of the job is no fault of the comment, nor what a changed input did, nor what could not be computed.

    Raises
    ------
    JobError
        With the places that may be meant.
    """
    lost = [one.row for one in job.comments if one.row.open and one.present and not one.sheet]
    if not lost or job.file.changes or job.not_computed:
        return
    from deckcalc.show.written import SHEET_OF

    known = {same(name): name for name, _ in reversed([*places(job)])}
    sheets = ", ".join(f"{SHEET_OF[one.key][:2]} {one.title}" for one in job.subjects)
    faults = []
    for row in lost:
        near = [known[one] for one in get_close_matches(same(row.at), known, n=NEAREST, cutoff=0.6)]
        meant = f"is it {' or '.join(f'“{one}”' for one in near)}?" if near else f"its sheets are {sheets}"
        faults.append(
            f"comments.csv, comment {row.number}, column at: found “{clipped(row.at)}”, wanted a place as the package prints it; {meant}"
        )
    contents = job.file.contents
    tables = read_tables(contents, ROWS).found
    raise JobError([told(fault, tables, contents.handed_over) for fault in faults])


def places(job: Job) -> Iterator[tuple[str, str]]:
    """Give every place that a comment may name, with the heading of its sheet: the digits for the sheet of a subject."""
    from deckcalc.show.written import SHEET_OF, numbered

    yield from PARTS.items()
    for key in (*job.file.ready, *job.file.lacking):
        digits = SHEET_OF[key][:2]
        yield from ((name, digits) for name in (digits, f"sheet {digits}", WORDS[key], f"{digits} {WORDS[key]}"))
    for subject in job.subjects:
        yield from ((name, SHEET_OF[subject.key][:2]) for name in of_subject(subject))
    for run, number in numbered(job.subjects).items():
        lines = [number, *(f"{number}.{place}" for place, _ in enumerate(run.calculation.lines, 1))]
        yield from ((name, number[:2]) for name in lines)
    sheets = {one.title: SHEET_OF[one.key][:2] for one in job.subjects}
    for one in job.open_items:
        yield f"open item {one.number}", sheets.get(one.sheet, "Conclusions")
    for patch in job.file.marked.patches:
        yield patch.patch, SHEET_OF["patch"]
        yield f"crew page: patch {patch.patch}", f"Crew page: patch {patch.patch}"


def of_subject(subject: Subject) -> Iterator[str]:
    """Give the places of a subject: itself, its items, their checks, calculations and results."""
    from deckcalc.show.written import SHEET_OF

    yield from (subject.title, f"{SHEET_OF[subject.key][:2]} {subject.title}")
    yield from subject.decisions
    for check in subject.checks:
        yield from (check.item, f"{check.item}: {check.title}", f"{check.item}: {check.title} ({check.sense})")
    for run in subject.runs:
        title = run.calculation.title.lower()
        yield from (run.item, f"{run.item}: {title}", f"{subject.title}, {run.item}: {title}")
        for name in run.calculation.kinds:
            yield f"{run.item}: {title}, {name}"
            yield f"{subject.title}, {run.item}: {title}, {name}"
            yield f"{subject.key} / {run.item} / {run.calculation.name} / {name}"
