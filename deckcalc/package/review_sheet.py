"""A review as a short document to be signed: what was changed, which verdicts flipped, what moved; and the same as data."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Sequence
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from deckcalc import __version__
from deckcalc.base.errors import PackageError
from deckcalc.base.replacing import as_json, holding
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED
from deckcalc.core.text import plain
from deckcalc.core.units import clipped
from deckcalc.job import Job
from deckcalc.job.review import Moved, Review
from deckcalc.job.review_tables import data, sheet_of
from deckcalc.package.build import reading_of
from deckcalc.package.documents import Document, Imprint, bind
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

NAME = "review"
MARK = "REVIEW - changed inputs, not for work"
#: Rows that are printed of inputs, of what flipped, and of the results of one sheet; the others stand in the JSON.
MOST_CHANGED, MOST_FLIPPED, MOST_MOVED = 40, 40, 12
#: Letters of a value that are printed.
LONGEST = 220
#: Words before and after a difference of two texts that are printed.
CONTEXT = 5
#: Lines to write on, and how many signs each is long.
LINES, LONG = 3, 84
#: How a verdict reads, the one that a reviewer asks of first.
VERDICTS = (NOT_SATISFIED, NOT_COVERED, SATISFIED)


def head(job: Job) -> dict[str, str]:
    """Return of what a review is: the package, and its inputs as they were filed, by their hash."""
    now = job.file.revision
    inputs = hashlib.sha256(b"".join(hashlib.sha256(one).digest() for _, one in sorted(job.file.verbatim.items())))
    return {
        "package": job.settings.package.number, "bridge": job.settings.bridge.name, "revision": now.revision,
        "date": now.date.isoformat(), "inputs as filed": inputs.hexdigest()[:16],
    }  # fmt: skip


def as_data(review: Review, job: Job) -> dict[str, Any]:
    """Return a review with its head as plain data."""
    return {**head(job), **data(review)}


def markdown(review: Review, job: Job) -> Text:
    """Return the review sheet.

    Parameters
    ----------
    review : Review
    job : Job
        As it was filed.
    """
    return block([
        f"# Review of package {plain(job.settings.package.number)}", facts(review, job),
        "## Inputs changed", cut(["input", "as filed", "changed"], [row(one) for one in review.changed], MOST_CHANGED),
        *flipped(review.flipped),
        "## Results that moved", *moved(review.moved), "## Review", signature(job),
    ])  # fmt: skip


def facts(review: Review, job: Job) -> str:
    """Say what is held against what, and what it comes to."""
    said, people = head(job), job.settings.people
    verdicts = len(of_verdicts(review.flipped))
    rows = [
        ("Bridge", said["bridge"]), ("As filed", f"revision {said['revision']}, {said['date']}; SHA-256 of its inputs {said['inputs as filed']}"),
        ("Changed", f"inputs as below: {len(review.changed)}; the filed package itself is as it was"),
        ("Worked out by", people.originator), ("Checked by", people.checker), ("Program", f"deckcalc {__version__}"),
        ("It comes to", f"verdicts flipped, new or gone: {verdicts}; decisions that read otherwise: {len(review.flipped) - verdicts}; results moved: {len(review.moved)}"),
    ]  # fmt: skip
    return pipe_table(["", ""], [[f"**{name}**", plain(text)] for name, text in rows if text], "ll")


def row(one: Moved) -> list[str]:
    """Return what moved as the cells of a row."""
    return [plain(one.where), plain(clipped(one.old, LONGEST)), plain(clipped(one.new, LONGEST))]


def cut(heads: Sequence[str], rows: Sequence[Sequence[str]], most: int, align: str = "lll") -> str:
    """Return a table of so many rows at most, and how many there are beside."""
    if not rows:
        return "None."
    left = len(rows) - most
    return "\n\n".join([
        pipe_table(list(heads), [list(one) for one in rows[:most]], align), *([f"And {left} more in {NAME}.json."] if left > 0 else []),
    ])  # fmt: skip


def of_verdicts(found: Sequence[Moved]) -> list[Moved]:
    """Return the checks among what flipped, those first that read worst now; then those that came or went."""
    mine = [one for one in found if {one.old, one.new} & {*VERDICTS}]
    return sorted(mine, key=lambda one: VERDICTS.index(one.new) if one.new in VERDICTS else len(VERDICTS))


def flipped(found: Sequence[Moved]) -> list[str]:
    """Return verdicts that flipped, and decisions that read otherwise, each from where it does."""
    checks = of_verdicts(found)
    bad, heads = {NOT_SATISFIED, NOT_COVERED}, ["as filed", "changed"]
    verdicts = [
        [plain(one.where), plain(one.old), f"**{one.new}**" if one.new in bad else plain(one.new)] for one in checks
    ]
    words = [[plain(one.where), *map(plain, apart(one.old, one.new))] for one in found if one not in checks]
    return [
        "## Verdicts that flipped", cut(["check", *heads], verdicts, MOST_FLIPPED),
        "## Decisions that read otherwise", cut(["of", *heads], words, MOST_FLIPPED),
    ]  # fmt: skip


def apart(old: str, new: str) -> tuple[str, str]:
    """Return two texts from a few words before they differ to a few words after, cut off where they are long.

    Examples
    --------
    >>> apart("open when it has 3000 psi, that is at 2 h", "open when it has 3000 psi, that is at 3 h")
    ('... 3000 psi, that is at 2 h', '... 3000 psi, that is at 3 h')
    >>> apart("add 1 bar", "no bar to add")
    ('add 1 bar', 'no bar to add')
    """
    words = old.split(), new.split()
    differ = [one[1:] for one in SequenceMatcher(None, *words, autojunk=False).get_opcodes() if one[0] != "equal"]
    said = []
    for one, first, last in zip(words, (0, 2), (1, 3), strict=True) if differ else ():
        start, end = differ[0][first] - CONTEXT, differ[-1][last] + CONTEXT
        cut = ["..."] * (start > 1) + one[start if start > 1 else 0 : end] + ["..."] * (end < len(one))
        said.append(clipped(" ".join(cut), LONGEST))
    return (said[0], said[1]) if said else (old, new)


def moved(found: Sequence[Moved]) -> list[str]:
    """Return the results that moved, a table for each sheet, the largest change first."""
    sheets: dict[str, list[Moved]] = {}
    for one in found:
        sheets.setdefault(sheet_of(one), []).append(one)
    parts = []
    for sheet, mine in sheets.items():
        rows = [
            [plain(one.where.removeprefix(f"{sheet}, ")), plain(one.old), plain(one.new), plain(one.percent)]
            for one in sorted(mine, key=lambda one: -share(one))
        ]
        table = cut(["result", "as filed", "changed", "change"], rows, MOST_MOVED, "lrrr")
        parts += [f"### {plain(sheet)}: {len(mine)}", table]
    return parts or ["None."]


def share(one: Moved) -> float:
    """Return the change of a result; one that came or went counts as the least."""
    found = re.search(r"[\d.]+", one.percent)
    return float(found[0]) if found else -1.0


def signature(job: Job) -> str:
    """Return the place for the reviewer to sign."""
    blank = ["\\_" * 28, "\\_" * 28, "\\_" * 14]
    engineer = plain(job.settings.people.engineer)
    said = "The reviewer states what was looked at and what follows from it; this sheet decides nothing and is no revision of the package."
    table = pipe_table(
        ["", "name", "signature", "date"],
        [["Reviewer", *blank], ["Seen by the engineer of record", engineer or blank[0], *blank[1:]]],
        "llll",
    )
    return "\n\n".join([said, *["\\_" * LONG] * LINES, table])


def require_free(out: Path) -> None:
    """Refuse a place that holds anything.

    Raises
    ------
    PackageError
    """
    if os.path.lexists(out) and (not out.is_dir() or any(out.iterdir())):
        raise PackageError(f"{out} holds something already; name a folder that is new or empty")


def write(review: Review, job: Job, out: str | Path) -> Path:
    """Write the review sheet as PDF and HTML, and the review as JSON, whole or not at all.

    Parameters
    ----------
    review : Review
    job : Job
        As it was filed; the sheet bears the date of its revision.
    out : path
        A folder that does not stand yet, or is empty.

    Returns
    -------
    Path

    Raises
    ------
    PackageError
        If the folder holds anything or cannot be written, or the sheet cannot be made.
    """
    out = Path(out)
    require_free(out)
    place, settings, now = Path(os.path.realpath(out)), job.settings, job.file.revision
    imprint = Imprint(
        settings.package.number, settings.bridge.name, now.revision, now.date, settings.people.firm, settings.package.subject,
        version=__version__, paper=settings.paper, font=settings.package.font, prepared=settings.people.originator,
    )  # fmt: skip
    text = reading_of(job)(markdown(review, job))
    with holding(place) as holder:
        (work := holder / "new").mkdir()
        bind([Document(NAME, "Review sheet", text, mark=MARK)], imprint, holder, work)
        (work / f"{NAME}.json").write_bytes(as_json(as_data(review, job)))
        if place.exists():
            place.rmdir()
        os.replace(work, place)
    return out
