"""The same job with changed inputs, side by side: what changed, what moved, which verdicts flipped."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.job import review_tables
from deckcalc.job.file import read_folder
from deckcalc.job.folder import Contents
from deckcalc.job.order import Job, compute

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Moved:
    """A result that moved, printed in the job's units; `percent` is empty where the old value is zero or missing."""

    where: str
    old: str
    new: str
    percent: str


@dataclass(frozen=True)
class Review:
    """Outcome of a review.

    Attributes
    ----------
    changed : list of Moved
        Inputs that were set.
    moved : list of Moved
        Results that moved, appeared or went.
    flipped : list of Moved
        Checks with another verdict, and decisions that read otherwise.
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


def changes_of(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return changes by key.

    Raises
    ------
    JobError
        If a key appears twice: which of the values is meant cannot be told.
    """
    changes: dict[str, str] = {}
    faults = []
    for key, value in pairs:
        if key in changes:
            faults.append(f"--set {key}: set twice, to “{changes[key]}” and to “{value}”; leave one of them out")
        changes[key] = value
    if faults:
        raise JobError(faults)
    return changes


def rerun(place: str | Path | Contents, changes: Mapping[str, str]) -> Review:
    """Carry a job through as filed and with changed inputs, both from one reading.

    Parameters
    ----------
    place : path or Contents
        Job folder, which is not touched; or what was read of one.
    changes : dict of str
        ``{"deck.slab_thickness": "190 mm", "depths.D3.depth": "80 mm", "limits.waste": "5 %"}``.

    Returns
    -------
    Review

    Raises
    ------
    JobError
        If the job, or a changed input, is faulty. A subject that cannot be computed is a line of `flipped`.
    """
    before = compute(place if isinstance(place, Contents) else read_folder(place))
    after = compute(before, dict(changes))
    changed = [Moved(key, before_value(before, key), value, "") for key, value in changes.items()]
    return Review(changed, moved(before, after), flipped(before, after))


def before_value(job: Job, key: str) -> str:
    """Return an input as filed, printed."""
    section, *rest = key.split(".")
    if section in job.file.rows and len(rest) == 2:
        row = next(row for row in job.file.rows[section] if str(next(iter(dict(row).values()))) == rest[0])
        value = getattr(row, rest[1])
    elif section == "limits":
        limit = job.file.limits.get(rest[0])
        value = limit.value if limit else "(none)"
    else:
        value = job.settings
        for part in (section, *rest):
            value = getattr(value, part, "(not set)")
    if isinstance(value, units.Quantity):
        value = units.text(value) if not units.np.ndim(value.magnitude) else "; ".join(map(units.text, value))
    return str(value)


def numbers(job: Job) -> dict[str, tuple[units.Quantity, units.Kind]]:
    """Return every result of a job by the place where it stands."""
    return {
        f"{subject.title}, {run.item}: {run.calculation.title.lower()}, {name}": (value, run.calculation.kinds[name])
        for subject in job.subjects for run in subject.runs for name, value in run.results().items()
    }  # fmt: skip


def moved(before: Job, after: Job) -> list[Moved]:
    """Return the results that differ by more than noise."""
    old, new = numbers(before), numbers(after)
    found = []
    for where in dict.fromkeys([*old, *new]):
        if where not in old or where not in new:
            (value, kind), there = (old.get(where) or new[where]), where in old
            text = units.show(value, kind, after.system)
            found.append(Moved(where, text if there else "(none)", "(none)" if there else text, ""))
            continue
        (was, kind), (now, _) = old[where], new[where]
        a, b = (float(units.magnitude(value, kind, after.system)) for value in (was, now))
        if abs(a - b) > 1e-9 * max(abs(a), abs(b)):
            texts = [units.show(value, kind, after.system) for value in (was, now)]
            places = units.trade_decimals(min(abs(a), abs(b)) or a, kind, after.system)
            while texts[0] == texts[1]:
                texts = [units.show(value, kind, after.system, places) for value in (was, now)]
                places += 1
            percent = f"{100 * (b - a) / abs(a):+.1f} %" if a else ""
            found.append(Moved(where, texts[0], texts[1], percent))
    return found


def flipped(before: Job, after: Job) -> list[Moved]:
    """Return checks and decisions that read otherwise."""
    found = []
    verdicts = [
        {f"{one.item}: {one.title} ({one.sense})": one.verdict for one in job.checks} for job in (before, after)
    ]
    words = [
        {f"{subject.title}, {item}": text for subject in job.subjects for item, text in subject.decisions.items()}
        for job in (before, after)
    ]
    missing = [
        {f"{key}, as a whole": "; ".join(fault.why) for key, fault in job.faults.items()} for job in (before, after)
    ]
    for old, new in (missing, verdicts, words):
        none = "computed" if old is missing[0] else "(none)"
        for where in dict.fromkeys([*old, *new]):
            if old.get(where) != new.get(where):
                found.append(Moved(where, old.get(where, none), new.get(where, none), ""))
    return found
