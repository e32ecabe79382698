"""Two jobs side by side, or one with changed inputs: what changed, which verdicts flipped, what moved."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED
from deckcalc.job import review_tables
from deckcalc.job.changes import Changes, option
from deckcalc.job.file import read_folder
from deckcalc.job.folder import Contents
from deckcalc.job.given import NONE, differing, value_of
from deckcalc.job.open_items import concerned, named
from deckcalc.job.order import ORDER, Job, compute
from deckcalc.job.settings import ROWS, SUBJECTS

#: In the place of the sheet, of an input that was not set and that its neighbours' changes left without its place.
LEFT_OUT = "left out"
#: Share of the smaller of two patches that they have in common, from which they are one patch of two surveys.
SAME_PLACE = 0.5

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Moved:
    """An input or a result that moved, as it is printed; `percent` is empty where the old value is zero or missing.

    `sheet` is the title of the subject of a result; empty for an input, and `LEFT_OUT` for one that no longer fits.
    """

    where: str
    old: str
    new: str
    percent: str
    sheet: str = ""


@dataclass(frozen=True)
class Review:
    """Outcome of a review.

    Attributes
    ----------
    changed : list of Moved
        Inputs that were set, or that differ between two jobs; then those that no longer fit, with what was done about each.
    moved : list of Moved
        Results that moved, appeared or went, by sheet; those of a patch or a sheet that is new or gone in one line.
    flipped : list of Moved
        Checks with another verdict, those that flipped first, then those not covered, new or gone; then instructions,
        open items and decisions that read otherwise.
    """

    changed: list[Moved]
    moved: list[Moved]
    flipped: list[Moved]

    def frames(self) -> dict[str, pd.DataFrame]:
        """Return inputs ``changed``, verdicts ``flipped`` and results ``moved`` as DataFrames."""
        return review_tables.frames(self)

    def frame(self) -> pd.DataFrame:
        """Return all of it as one DataFrame, with the part of each row."""
        return review_tables.frame(self)

    def _repr_html_(self) -> str:
        """Show verdicts that flipped and the first results that moved, a few of each sheet."""
        return review_tables.html(self)

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        """Print the review in a line where a notebook shows plain text."""
        printer.text(self.counted)

    @property
    def counted(self) -> str:
        """The review in a line."""
        left = sum(one.sheet == LEFT_OUT for one in self.changed)
        sheets = len({one.sheet for one in self.moved if one.sheet})
        verdicts = sum({one.old, one.new} == {SATISFIED, NOT_SATISFIED} for one in self.flipped)
        inputs = f"{many(len(self.changed) - left, 'input')} changed"
        inputs += f", {left} left out, taken otherwise or to be looked at" if left else ""
        where = f" on {many(sheets, 'sheet')}" if sheets else ""
        return f"{inputs}; {many(verdicts, 'verdict')} flipped; {many(sum(map(results_in, self.moved)), 'result')} moved{where}"

    def by_sheet(self) -> dict[str, list[Moved]]:
        """Return the results that moved by sheet."""
        return {sheet: [*rows] for sheet, rows in groupby(self.moved, key=lambda one: one.sheet)}


def results_in(one: Moved) -> int:
    """Return how many results a line stands for."""
    counts = re.findall(r"(?<!\S)(\d+) results?$", f"{one.old}\n{one.new}", re.MULTILINE)
    return sum(map(int, counts)) or 1


def many(number: int, what: str) -> str:
    """Return a number of things in words."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def changes_of(pairs: Iterable[tuple[str, str | None]]) -> dict[str, str | None]:
    """Return changes by key.

    Raises
    ------
    JobError
        If a key appears twice: which of the values is meant cannot be told.
    """
    changes: dict[str, str | None] = {}
    faults = []
    for key, value in pairs:
        if key in changes:
            words = [f"to “{one}”" if one is not None else "taken out" for one in (changes[key], value)]
            faults.append(f"--set {key}: set twice, {words[0]} and {words[1]}; leave one of them out")
        changes[key] = value
    faults += [
        f"{option(key)}: set, and {other} is taken out; leave one of them out"
        for key in changes for other, value in changes.items() if value is None and key.startswith(f"{other}.")
    ]  # fmt: skip
    if faults:
        raise JobError(faults)
    return changes


def rerun(place: str | Path | Contents, changes: Changes, other: str | Path | Contents | None = None) -> Review:
    """Carry a job through as filed and with changed inputs, both from one reading; or hold another job against it.

    Parameters
    ----------
    place : path or Contents
        Job folder, which is not touched; or what was read of one.
    changes : dict
        ``{"deck.slab_thickness": "190 mm", "depths.D3.depth": "80 mm", "limits.waste": "5 %"}``. A list is its values apart
        by semicolons, and an entry of a list is named by its number or its first field (``plan.lanes.2.to_offset``). None
        takes out a field, an entry, a section, a row (``depths.D3``) or a table. A key that ends in ``.+1``, ``.+2`` ... is a
        new row, entry or section: ``{"depths.+1": "reading = D30, station = 28 m, ..."}``. A table is replaced by the text of
        a CSV file, a section by TOML, each of several lines.
    other : path or Contents, optional
        Job that is held against the first one; changes are then of it.

    Returns
    -------
    Review

    Raises
    ------
    JobError
        If the job, or a changed input, is faulty. A subject that cannot be computed is a line of `flipped`.
    """
    before = compute(place if isinstance(place, Contents) else read_folder(place))
    if other is not None:
        return compare(before, compute(other, dict(changes)))
    after = compute(before, dict(changes))
    return Review([*inputs_set(before, after, changes), *left_out(before, after)], *results(before, after))


def compare(before: Job, after: Job) -> Review:
    """Hold two jobs against one another: their inputs, verdicts and results.

    Parameters
    ----------
    before, after : Job

    Returns
    -------
    Review
    """
    names = renamed(before, after)
    changed = [Moved("name of a patch", old, new, "") for old, new in names.items()]
    changed += [Moved(*one, "") for one in differing(before.file, after.file)]
    return Review([*changed, *left_out(before, after)], *results(before, after))


def inputs_set(before: Job, after: Job, changes: Changes) -> Iterator[Moved]:
    """Give the inputs that were set: fields with what was typed, rows, tables and sections by what differs in them."""
    seen: set[str] = set()
    for key, value in changes.items():
        name = key.partition(".+")[0]
        single = name == key and value is not None and "\n" not in value and key not in ROWS
        if single and isinstance(value, str):
            yield Moved(key, value_of(before.file, key), value, "")
            continue
        found = [
            one for one in differing(before.file, after.file)
            if (one[0] == name or one[0].startswith(f"{name}.")) and one[0] not in {*seen, *({*changes} - {key}), *after.file.fitted}
        ]  # fmt: skip
        seen |= {one[0] for one in found}
        yield from (Moved(*one, "") for one in found)
        if value is None and not found:
            old = value_of(before.file, key)
            yield Moved(key, old if old != NONE or key.split(".")[0] not in ROWS else "as filed", NONE, "")


def left_out(before: Job, after: Job) -> Iterator[Moved]:
    """Give the inputs that no longer fit, and what was done about each."""
    for key, one in after.file.fitted.items():
        if one.how == "changed":
            old = value_of(before.file, key)
            yield Moved(key, old if old != NONE else "as filed", said(one.value, one.said), "", LEFT_OUT)
        elif one.how == "stays":
            yield Moved(key, "as filed", one.said, "", LEFT_OUT)


def said(value: str | None, why: str) -> str:
    """Return how an input is taken, and why."""
    return f"{value}; {why}" if value else why


class Result(NamedTuple):
    """A result: its value, sheet, and the patches that it is of."""

    value: units.Quantity
    kind: units.Kind
    sheet: str
    patches: tuple[str, ...]


def renamed(before: Job, after: Job) -> dict[str, str]:
    """Return the patches that have another name in the second job, by their first one: those that share most of their area."""
    new = {one.patch: one.piece.outline for one in after.file.marked.patches}
    found = {}
    for one in before.file.marked.patches:
        mine = one.piece.outline
        shares = {name: mine.intersection(at).area / min(mine.area, at.area) for name, at in new.items()}
        best = max(shares, key=shares.__getitem__, default="")
        if best and shares[best] > SAME_PLACE and shares.get(one.patch, 0.0) < shares[best]:
            found[one.patch] = best
    return found if len(set(found.values())) == len(found) else {}


def renaming(names: Mapping[str, str]) -> Callable[[str], str]:
    """Return what puts the second names of patches in the place of their first ones."""
    if not names:
        return lambda text: text
    pattern = re.compile(rf"(?<![\w/-])({'|'.join(map(re.escape, names))})(?![\w/-])")
    return lambda text: pattern.sub(lambda match: names[match[0]], text)


def numbers(job: Job, own: Callable[[str], str] = str) -> dict[str, Result]:
    """Return every result of a job by the place where it stands."""
    known = {key: named(job, key) for key in SUBJECTS}
    names = {one.patch for one in job.file.marked.patches}

    def patches(item: str, key: str) -> tuple[str, ...]:
        said = [word for word in re.findall(r"[\w/-]+", item) if word in names]
        return tuple(map(own, said or concerned([item], known[key])))

    return {
        own(f"{subject.title}, {run.item}: {run.calculation.title.lower()}, {name}"): Result(
            value, run.calculation.kinds[name], subject.title, patches(run.item, subject.key)
        )
        for subject in job.subjects for run in subject.runs for name, value in run.results().items()
    }  # fmt: skip


def results(before: Job, after: Job) -> tuple[list[Moved], list[Moved]]:
    """Return the results that moved, and the verdicts and decisions that flipped."""
    own = renaming(renamed(before, after))
    patches = [{own(one.patch) for one in before.file.marked.patches}, {one.patch for one in after.file.marked.patches}]
    other = patches[0] ^ patches[1]
    bars = [{row.bar for row in job.file.rows["bars"]} for job in (before, after)]
    of_other = {row.bar for job in (before, after) for row in job.file.rows["bars"] if row.patch in other}
    found = [job.of(key) for key in ORDER for job in (before, after)]
    order = [*dict.fromkeys(subject.title for subject in found if subject)]
    return [*moved(numbers(before, own), numbers(after), after, other, order)], flipped(
        before, after, own, other | (of_other & (bars[0] ^ bars[1]))
    )


def moved(
    old: Mapping[str, Result], new: Mapping[str, Result], after: Job, other: set[str], order: Sequence[str]
) -> Iterator[Moved]:
    """Give the results that differ by more than noise; those of a patch or sheet that only one job has are counted."""
    sheets = [{one.sheet for one in found.values()} for found in (old, new)]
    counts: dict[tuple[str, str], list[int]] = {}
    rows: dict[str, list[Moved]] = {sheet: [] for sheet in order}
    for where in dict.fromkeys([*old, *new]):
        one = old.get(where) or new[where]
        if where in old and where in new:
            if made := difference(where, old[where], new[where], after.system):
                rows[one.sheet].append(made)
            continue
        whole = one.sheet in sheets[0] ^ sheets[1]
        if whole or (one.patches and {*one.patches} <= other):
            key = (one.sheet, f"{one.sheet}, as a whole" if whole else f"patch {', '.join(one.patches)}")
            counts.setdefault(key, [0, 0])[where in new] += 1
            continue
        text = units.show(one.value, one.kind, after.system)
        was, now = (text, NONE) if where in old else (NONE, text)
        rows[one.sheet].append(Moved(where, was, now, "", one.sheet))
    by_patch: dict[str, list[int]] = {}
    for (sheet, what), (gone, came) in counts.items():
        if what.endswith("as a whole"):
            was, now = (many(count, "result") if count else NONE for count in (gone, came))
            rows[sheet].insert(0, Moved(what, was, now, "", sheet))
        else:
            total = by_patch.setdefault(what, [0, 0])
            total[0], total[1] = total[0] + gone, total[1] + came
    for what, (gone, came) in by_patch.items():
        texts = (f"gone, {many(gone, 'result')}" if gone else NONE, f"new, {many(came, 'result')}" if came else NONE)
        yield Moved(what, *texts, "", order[0] if order else "")
    for sheet in order:
        yield from rows[sheet]


def difference(where: str, old: Result, new: Result, system: units.System) -> Moved | None:
    """Return a result that is in both jobs, if it moved."""
    a, b = (float(units.magnitude(one.value, one.kind, system)) for one in (old, new))
    if abs(a - b) <= 1e-9 * max(abs(a), abs(b)):
        return None
    texts = [units.show(one.value, one.kind, system) for one in (old, new)]
    places = units.trade_decimals(min(abs(a), abs(b)) or a, new.kind, system)
    while texts[0] == texts[1]:
        texts = [units.show(one.value, one.kind, system, places) for one in (old, new)]
        places += 1
    return Moved(where, texts[0], texts[1], f"{100 * (b - a) / abs(a):+.1f} %" if a else "", new.sheet)


# --- verdicts, instructions, open items, decisions


def flipped(before: Job, after: Job, own: Callable[[str], str], other: set[str]) -> list[Moved]:
    """Return checks, instructions, open items and decisions that read otherwise, those that flipped first."""
    jobs: tuple[tuple[Job, Callable[[str], str]], ...] = ((before, own), (after, str))
    sheets = [{one.title for one in job.subjects} for job, _ in jobs]
    found: list[tuple[int, Moved]] = []
    for rank, read, none in READ:
        old, new = (
            {named_(where): (sheet, named_(text)) for where, (sheet, text) in read(job).items()} for job, named_ in jobs
        )
        for where in dict.fromkeys([*old, *new]):
            sheet = (new.get(where) or old[where])[0]
            was, now = (one[where][1] if where in one else none for one in (old, new))
            alone = counted(where, other) or sheet in sheets[0] ^ sheets[1]
            if was != now and not (alone and ({was, now} <= {NONE, SATISFIED} or read is words)):
                of_check = 0 if {was, now} == {SATISFIED, NOT_SATISFIED} else 1 if NOT_COVERED in (was, now) else 2
                found.append((of_check if read is verdicts else rank, Moved(where, was, now, "", sheet)))
    return [one for _, one in sorted(found, key=lambda one: one[0])]


def counted(where: str, other: set[str]) -> bool:
    """Whether a line is of a patch that only one of two jobs has."""
    return bool(other & {*re.findall(r"[\w/-]+", where)})


Lines = dict[str, tuple[str, str]]


def missing(job: Job) -> Lines:
    """Return why subjects could not be computed."""
    return {f"{key}, as a whole": ("", "; ".join(fault.why)) for key, fault in job.faults.items()}


def verdicts(job: Job) -> Lines:
    """Return the verdicts of all checks."""
    return {
        f"{one.item}: {one.title} ({one.sense})": (subject.title, one.verdict)
        for subject in job.subjects for one in subject.checks
    }  # fmt: skip


def instructions(job: Job) -> Lines:
    """Return the instruction of each patch."""
    return {f"instruction for patch {patch}": ("", text) for patch, text in job.instructions.items()}


def open_items(job: Job) -> Lines:
    """Return the open items, open or as decided."""
    return {
        f"open item: {one.what}": (one.sheet, f"decided: {one.decision}" if one.decision else "open")
        for one in job.open_items
    }


def words(job: Job) -> Lines:
    """Return the decisions of all sheets."""
    return {
        f"{subject.title}, {item}": (subject.title, text)
        for subject in job.subjects for item, text in subject.decisions.items()
    }  # fmt: skip


#: What may read otherwise, with its place in the list (checks have the first three, by verdict), and what is said where one job does not have it.
READ: tuple[tuple[int, Callable[[Job], Lines], str], ...] = (
    (0, verdicts, NONE), (1, missing, "computed"), (3, instructions, NONE), (4, open_items, NONE), (5, words, NONE),
)  # fmt: skip
