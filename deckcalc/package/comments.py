"""The checker's comments in print: where the signature waits for one, the mark on its sheet, and the sheet of all of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from deckcalc.base.comments import WITHDRAWN
from deckcalc.core.text import plain
from deckcalc.job import Job
from deckcalc.job.comments import Comment
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

#: Lines to write an answer on, and how many signs each is long.
LINES, LONG = 3, 96


def waiting(job: Job) -> str:
    """Name the comments for which the signature waits; empty where there is none."""
    found = job.unanswered
    if not found:
        return ""
    return f"The signature waits for the answer to {named(found)} of the checker (appendix, Review comments)."


def named(found: Iterable[Comment]) -> str:
    """Name comments by their numbers."""
    numbers = [one.row.number for one in found]
    return f"comment{'s' if numbers[1:] else ''} {', '.join(numbers)}"


def with_marks(job: Job, shown: Mapping[str, str]) -> dict[str, str]:
    """Name, below the heading of each sheet, the open comments on it.

    Parameters
    ----------
    job : Job
    shown : mapping of str
        What each sheet shows, as Markdown by the name of the sheet.
    """
    by_sheet: dict[str, list[Comment]] = {}
    for one in job.unanswered:
        by_sheet.setdefault(one.sheet, []).append(one)
    made = dict(shown)
    for sheet, found in by_sheet.items():
        said = "; ".join(f"comment {one.row.number} ({plain(one.row.at)})" for one in found)
        title = rf"{sheet} [^:\n]*" if sheet.isdigit() else re.escape(sheet)
        head = re.compile(f"^# {title}$", re.MULTILINE)
        for name, text in made.items():
            if sheet and (place := head.search(text)):
                made[name] = f"{text[: place.end()]}\n\n*Open on this sheet: {said}.*{text[place.end() :]}"
                break
    return made


def filed(job: Job) -> list[dict[str, Any]]:
    """Return what a manifest holds of the comments; their words stand in the table that is attached."""
    return [
        {"number": one.row.number, "revision": one.row.revision, "at": one.row.at, "status": one.row.status}
        for one in job.comments
    ]


def sheet(job: Job) -> Text:
    """Every comment with its answer, or with lines to write one on; those of former revisions after the present one's."""
    revisions = dict.fromkeys(one.row.revision for one in reversed(job.comments) if not one.present)
    groups = [("", [one for one in job.comments if one.present])]
    groups += [
        (f"## Comments on revision {name}", [one for one in job.comments if one.row.revision == name])
        for name in sorted(revisions, key=[one.revision for one in job.settings.revisions].index, reverse=True)
    ]
    return block([part for head, found in groups if found for part in (head, *of_revision(found))])


def of_revision(found: list[Comment]) -> list[str]:
    """Return the comments on one revision: those that are open, then a table of the others."""
    rows = [
        [one.row.number, where(one), said(one.row.comment, one.row.by, one.row.date), answered(one)]
        for one in found
        if not one.row.open
    ]
    table = pipe_table(["no.", "on", "comment", "answer"], rows, "llll") if rows else ""
    return [*(to_answer(one) for one in found if one.row.open), table]


def where(one: Comment) -> str:
    """Return what a comment is about, and whether this package still has it."""
    return plain(one.row.at) + ("" if one.sheet else " (not in this package)")


def said(text: str, by: str, date: Any) -> str:
    """Return words with who said them and when."""
    return f"{plain(text)} *{', '.join(filter(None, (plain(by), str(date or ''))))}*"


def answered(one: Comment) -> str:
    """Return the answer to a comment that is no longer open."""
    words = said(one.row.answer, one.row.answered_by, one.row.answered_on) if one.row.answer else ""
    return " ".join(filter(None, ["withdrawn" if one.row.status == WITHDRAWN else "", words]))


def to_answer(one: Comment) -> str:
    """Return an open comment, with the answer that is not accepted yet, or lines to write one on."""
    line = "\\_" * LONG
    level = "##" if one.present else "###"
    head = f"{level} Comment {plain(one.row.number)}, open: {where(one)}\n\n{said(one.row.comment, one.row.by, one.row.date)}"
    if one.row.answer:
        return f"{head}\n\nAnswer, not accepted yet: {said(one.row.answer, one.row.answered_by, one.row.answered_on)}\n\nAccepted by, date: {line}"
    return "\n\n".join([head, "Answer:", *[line] * LINES, f"By, date: {line}"])
