"""What of a job stays as it was when some of its inputs are changed: those subjects are not computed again."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from deckcalc.base.subject import Subject
from deckcalc.job.file import JobFile
from deckcalc.job.fitting import values
from deckcalc.job.settings import SUBJECTS

#: Results of other subjects that each is made with.
READS: Mapping[str, tuple[str, ...]] = {
    "patch": (), "steel": ("patch",), "chloride": ("patch", "steel", "mix"), "mix": ("patch",), "formwork": ("patch", "mix"),
    "curing": ("patch", "mix"), "traffic": ("patch",), "closure": ("patch", "steel", "mix", "formwork", "curing"),
    "safety": ("patch", "closure"),
}  # fmt: skip
#: Inputs of others that each reads: bars are exposed for the stone of a concrete, and patches grow for the laps of bars.
ALSO: Mapping[str, tuple[str, ...]] = {"patch": ("steel", "mix"), "steel": ("mix",)}


def unchanged(before: JobFile, after: JobFile) -> list[str]:
    """Return the subjects whose inputs are the same, and those of all that they are made with, in the order of the work."""
    same: list[str] = []
    for key in (*(key for key in SUBJECTS if key != "chloride"), "chloride"):  # the chlorides read the mix
        names = {one.name for room in (key, *ALSO.get(key, ())) for one in fields(SUBJECTS[room].Inputs)}
        alike = all(said(before, name) == said(after, name) for name in names)
        if alike and common(before, key) == common(after, key) and set(READS[key]) <= {*same}:
            same.append(key)
    return [key for key in SUBJECTS if key in same]


def common(file: JobFile, key: str) -> tuple[Any, ...]:
    """Return what any subject may know of its job: units, deck, limits, plan of the work, and whether it is worked out."""
    bridge = file.settings.bridge
    return (
        file.settings.units, repr(file.settings.deck), repr(dict(file.limits)), said(file, "placements"), bridge.time_zone, bridge.clock,
        key in file.ready, file.lacking.get(key),
    )  # fmt: skip


def said(file: JobFile, name: str) -> object:
    """Return what a job says in a section or a table, such that it can be compared."""
    if name not in file.rows:
        return repr(getattr(file.settings, name))
    changes = {**file.changes, **values(file.fitted)}
    mine = [(key, value) for key, value in changes.items() if key.split(".")[0] == name]
    return file.verbatim.get(f"{name}.csv"), repr(sorted(mine, key=repr))


def kept(subject: Subject[Any]) -> Subject[Any]:
    """Return a subject for another job, without the numbers of its open items."""
    found = copy.copy(subject)
    found.open_items = list(subject.left_open)
    return found
