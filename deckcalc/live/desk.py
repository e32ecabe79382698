"""A job on the desk: inputs changed and taken back, what they move and why, and the values written into the job folder.

It asks the review of the library and keeps what a page needs between two askings; the page itself is `review_page`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from deckcalc.base.errors import PackageError
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, VERDICTS
from deckcalc.core.units import InputError
from deckcalc.job import declared, depends, review
from deckcalc.job.file import read_folder
from deckcalc.job.flips import HEADS, flips
from deckcalc.job.folder import Contents
from deckcalc.job.order import Job, changed, compute
from deckcalc.job.register import declaration, register
from deckcalc.job.settings import SUBJECTS
from deckcalc.job.trials import cores
from deckcalc.job.write_back import Proposal, propose

#: Before a line of the review that is neither a check nor a decision.
OPEN = "open item: "


def contents_of(place: str | Path) -> Contents:
    """Return what a job folder, or the filed PDF of a job, holds."""
    place = Path(place)
    if place.suffix.lower() == ".pdf" and not place.is_dir():
        from deckcalc.package import carried

        return carried.contents(place)
    return read_folder(place)


class Desk:
    """A job with inputs changed for a trial.

    Parameters
    ----------
    place : path
        Job folder, or filed document.

    Attributes
    ----------
    filed, now : Job
        As read, and with the changes that were reviewed last.
    proposal : Proposal or None
        What would be written, once it was shown.
    """

    def __init__(self, place: str | Path) -> None:
        self.place = Path(place).resolve()
        self.contents = contents_of(place)
        self.filed = self.now = compute(self.contents)
        self.inputs = register(self.filed)
        self.proposal: Proposal | None = None
        self.changes: dict[str, str] = {}
        self.outcome = review.compare(self.filed, self.filed)
        self._chains: depends.Chains | None = None

    def review(self, changes: Mapping[str, str]) -> review.Review:
        """Compute the job with other inputs, those subjects that depend on them, and return what moved.

        Raises
        ------
        InputError
            If a change is faulty; what was reviewed last stays.
        """
        wanted = {key: text.strip() for key, text in changes.items() if text.strip()}
        self.proposal = None
        before = self.now if {*self.now.file.changes} <= {*wanted} else self.filed
        now = changed(before, wanted) if wanted else self.filed
        outcome = review.compare(self.filed, now)
        self.now, self.changes, self.outcome, self._chains = now, wanted, outcome, None
        return outcome

    @property
    def chains(self) -> depends.Chains:
        """What depends on what in the job as it is now."""
        if self._chains is None:
            self._chains = depends.Chains(self.now)
        return self._chains

    def propose(self) -> Proposal:
        """Return the files of the job folder with the changes that were reviewed."""
        if not self.changes:
            raise InputError("no input is changed: there is nothing to write")
        self.proposal = propose(self.contents, self.changes)
        return self.proposal

    def write(self) -> list[Path]:
        """Write what was proposed, and read the job again.

        Raises
        ------
        InputError
            If nothing was proposed for these values, or a file was changed meanwhile.
        """
        if self.proposal is None:
            raise InputError("show the difference first: nothing was written")
        written = self.proposal.write()
        self.__init__(self.place)  # type: ignore[misc]  # the job is another one now
        return written

    # --- for the page

    def declared(self, only: str = "") -> dict[str, Any]:
        """Return the inputs and what else of the job stays while values are typed."""
        package, known = self.filed.settings.package, dict[int, str]()
        inputs = [
            [key, *self.described(key, known), one.printed]
            for key, one in self.inputs.items() if inside(self.filed, only, key)
        ]  # fmt: skip
        return {
            "title": f"{package.number}, {package.subject}; {self.filed.settings.bridge.name}",
            "inputs": inputs, "checks": [*self.chains.checks], "writes": self.contents.place.is_dir(),
        }  # fmt: skip

    def described(self, key: str, known: dict[int, str]) -> tuple[str, str, list[str]]:
        """Return meaning, range and choices of an input."""
        info = declaration(self.filed, key)
        if info is None:
            limit = self.filed.file.limits.get(key.partition(".")[2])
            return (limit.meaning if limit else ""), "", []
        if id(info) not in known:
            known[id(info)] = declared.wanted(info, self.filed.system)
        one = self.inputs[key]
        choices = [str(one.value).lower() if isinstance(one.value, bool) else str(one.value), *one.options]
        plain = isinstance(one.value, bool) or (isinstance(one.value, str) and declared.choices(info))
        return info.description or "", known[id(info)], choices if plain else []

    def answer(self, only: str = "") -> dict[str, Any]:
        """Return the review as a page shows it."""
        first = self.filed.of(only) if only in SUBJECTS else None
        sheets = self.outcome.by_sheet()
        order = sorted(sheets, key=lambda sheet: first is None or sheet != first.title)
        counts = self.now.verdicts
        return {
            "counted": f"{self.outcome.counted}.",
            "stand": f"{sum(counts.values())} checks: " + ", ".join(f"{counts[word]} {word}" for word in VERDICTS),
            "flipped": [*lines(self.outcome)],
            "left": [[one.where, one.old, one.new] for one in self.outcome.changed if one.sheet == review.LEFT_OUT],
            "moved": [
                [sheet, [[one.where.removeprefix(f"{sheet}, "), one.old, one.new, one.percent, one.where] for one in sheets[sheet]]]
                for sheet in order
            ],
        }  # fmt: skip

    def asked(self, what: str, of: str) -> dict[str, Any]:
        """Return the answer to a question: why, affects, turns, difference, write."""
        return {
            "why": self.why,
            "affects": self.affects,
            "turns": self.turns,
            "difference": self.difference,
            "write": self.written,
        }[what](of)

    def why(self, of: str) -> dict[str, Any]:
        """Return the chain behind a check or a result."""
        return {"title": f"Behind {of}", "chain": [*stepped(self.chains.why(of))]}

    def affects(self, of: str) -> dict[str, Any]:
        """Return what moves with an input."""
        found = depends.affects(self.now, of)
        heads = ["check", "now", *(text for text, fault in found.tried.items() if not fault)]
        return {
            "title": f"What moves with {of}, now {found.filed}",
            "tables": [
                ["Tried by computing the job again", ["value", "outcome"], [[text, fault or "computed"] for text, fault in found.tried.items()]],
                ["Checks whose margin moves", heads, [[*row] for row in found.margins]],
                ["Results that move", ["sheet", "results", "items"], [
                    [sheet, str(sum(items.values())), ", ".join(items)] for sheet, items in found.sheets.items()
                ]],
            ],
        }  # fmt: skip

    def turns(self, of: str) -> dict[str, Any]:
        """Return which single input would turn a check."""
        name = self.chains.find(of)
        if not isinstance(name, str):
            raise InputError(f"“{of}” is a result; wanted a check")
        found = flips(self.now, [name], processes=cores())
        said = "" if found.found else "; ".join(["No single input of those looked at turns it", *found.ended.values()])
        return {
            "title": f"What would turn {name}",
            "text": said or "Each set by itself, with all other values as they are now.",
            "tables": [["", [*HEADS[1:]], [[*one.row[1:]] for one in found.found]]] if found.found else [],
        }

    def difference(self, of: str = "") -> dict[str, Any]:
        """Return what writing would change."""
        proposal = self.propose()
        said = "Nothing is written yet." if proposal.files else "The files hold these values already."
        return {
            "title": "What would change in the job folder",
            "text": said,
            "difference": proposal.difference,
            "write": bool(proposal.files),
        }

    def written(self, of: str = "") -> dict[str, Any]:
        """Write what was shown."""
        return {"title": "Written", "text": ", ".join(map(str, self.write()))}


def inside(job: Job, only: str, key: str) -> bool:
    """Say whether an input is one of a part of the job: of a subject, what it alone is given and its limits; of a section, all of it."""
    if only not in SUBJECTS:
        return key.startswith(only)
    name, _, rest = key.partition(".")
    return name in {one.name for one in fields(SUBJECTS[only].Inputs)} or (
        name == "limits" and rest in job.limits_of[only]
    )


def lines(outcome: review.Review) -> Iterator[list[str]]:
    """Give what reads otherwise, with its sort."""
    for one in outcome.flipped:
        yield [sort_of(one), one.where.removeprefix(OPEN), one.old, one.new]


def sort_of(one: review.Moved) -> str:
    """Return whether a line is of a verdict that is worse or better now, of another check, of an open item or of something else."""
    if one.where.startswith(OPEN):
        return "open"
    if not {one.old, one.new} & {*VERDICTS}:
        return "other"
    if one.new == NOT_SATISFIED or (one.old, one.new) == (SATISFIED, NOT_COVERED):
        return "worse"
    return "better" if one.new == SATISFIED and one.old in VERDICTS else "check"


def stepped(link: depends.Link, depth: int = 0) -> Iterator[list[Any]]:
    """Give a chain line by line: depth, text, where it comes from, and the key of an input."""
    yield [depth, link.text, link.origin, link.key]
    for one in link.behind:
        yield from stepped(one, depth + 1)


def by_input(error: InputError | PackageError, changes: Mapping[str, str]) -> tuple[dict[str, str], list[str]]:
    """Return the faults of an error by the input that they name, and the others."""
    found: dict[str, str] = {}
    others = []
    for fault in getattr(error, "faults", None) or str(error).splitlines():
        keys = [key for key in changes if re.search(rf"(?<![\w.]){re.escape(key)}(?![\w-])", fault)]
        if not keys:
            others.append(fault)
        for key in keys:
            said = re.sub(rf"^(--set |job\.toml: ){re.escape(key)}(\.value)?: | \(--set {re.escape(key)}\)$", "", fault)
            found[key] = f"{found[key]}; {said}" if key in found else said
    return found, others
