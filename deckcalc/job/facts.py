"""The register of facts: each quantity that more than one calculation or sheet holds, and every place that holds it.

``facts.csv`` names them. A place is a field of job.toml (``job.deck.unit_weight``), an argument or a result of a
calculation (``steel.dead_moments.rho``), or what a reader in `deckcalc.job.read_facts` finds (``read.density_of_mix``).
The column `only` narrows a calculation to the items whose name has that word; the scope says what the fact is of: the deck,
a patch, a bar, a core, a concrete or a placing.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

from deckcalc.base.subject import Run
from deckcalc.core import units
from deckcalc.core.units import Quantity

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: Two values that are nearer than this share of each other are one: noise of conversions.
NOISE = 1e-6
DECK = "deck"


@dataclass(frozen=True)
class Place:
    """A place that holds a fact: a row of facts.csv.

    Attributes
    ----------
    fact, scope, place, only : str
    """

    fact: str
    scope: str
    place: str
    only: str


@dataclass(frozen=True)
class Found:
    """A value of a fact, where it stands.

    Attributes
    ----------
    fact, item : str
        Which fact, of what: the deck, or the name of a patch, bar, core, concrete or placing.
    value : float or str
        In coherent SI, or the words.
    shown : str
        As people write it.
    where : str
        The place, with the item of the calculation.
    half : float
        Half of the last digit, where the value was read from print.
    """

    fact: str
    item: str
    value: float | str
    shown: str
    where: str
    half: float = 0.0

    def agrees(self, other: Found) -> bool:
        """Whether another value is the same one, to the digits that are printed."""
        if isinstance(self.value, str) or isinstance(other.value, str):
            return self.value == other.value
        near = NOISE * max(abs(self.value), abs(other.value))
        return abs(self.value - other.value) <= near + self.half + other.half


#: A reader gives, of a job, items with their values: a quantity, the words, or a quantity with half of its last digit.
Reader = Callable[["Job"], Iterable[tuple[str, Any]]]


@cache
def register() -> tuple[Place, ...]:
    """Return every place of every fact."""
    text = files("deckcalc.job").joinpath("facts.csv").read_text(encoding="utf-8")
    return tuple(Place(**row) for row in csv.DictReader(text.splitlines()))


def facts(job: Job, readers: Mapping[str, Reader], keys: Iterable[str]) -> list[Found]:
    """Return every value of every fact of a job.

    Parameters
    ----------
    job : Job
    readers : dict of callable
        By name: what `read` places ask; places whose reader is not given are left out.
    keys : iterable of str
        Subjects that are looked at; none is carried for it but these.

    Returns
    -------
    list of Found
    """
    wanted, found = tuple(keys), list[Found]()
    named, runs = names(job), by_calculation(job, wanted)
    for place in register():
        room, _, rest = place.place.partition(".")
        if room == "job":
            found += in_settings(job, place, rest)
        elif room == "read":
            if rest in readers:
                found += [one for item, value in readers[rest](job) for one in told(place, item, value, "")]
        else:
            calculation, _, name = place.place.rpartition(".")
            for run in runs.get(calculation, ()):
                if place.only in run.item and (item := item_of(place.scope, run, named)):
                    found += told(place, item, held(run, name), run.item)
    return found


def by_calculation(job: Job, keys: Iterable[str]) -> dict[str, list[Run]]:
    """Return the runs of some subjects by the key of their calculation, whatever its form."""
    found: dict[str, list[Run]] = {}
    for key in keys:
        subject = job.of(key)
        for run in subject.runs if subject else ():
            found.setdefault(run.calculation.key.partition(" (")[0], []).append(run)
    return found


def held(run: Run, name: str) -> Any:
    """Return an argument or a result of a run, None where it has none of that name."""
    if name in run.arguments:
        return run.arguments[name]
    return run.results().get(name) if name in run.calculation.kinds else None


def names(job: Job) -> dict[str, set[str]]:
    """Return what a job gives names to, by scope."""
    rows = job.file.rows
    return {
        "patch": {one.patch for one in job.file.marked.patches},
        "bar": {row.bar for row in rows["bars"]},
        "core": {row.core for row in rows["cores"]},
        "placing": {row.placement for row in rows["placements"]},
    }


def item_of(scope: str, run: Run, named: Mapping[str, set[str]]) -> str:
    """Return of what an item of a calculation speaks; nothing where it names none, or several."""
    if scope == DECK:
        return DECK
    if scope == "concrete":
        match = re.search(r"(\w[\w /-]*?) mix\b|, ((?:partial|full) depth)\b", run.item)
        return (match[1] or match[2]).rpartition(", ")[2] if match else ""
    mine = {word for word in re.findall(r"[\w/-]+", run.item) if word in named[scope]}
    return mine.pop() if len(mine) == 1 else ""


def in_settings(job: Job, place: Place, path: str) -> Iterator[Found]:
    """Give a field of job.toml, where it is set."""
    value: Any = job.settings
    for part in path.split("."):
        value = getattr(value, part, None)
    yield from told(place, DECK, value, "")


def told(place: Place, item: str, value: Any, run: str) -> Iterator[Found]:
    """Give a value with its place, if there is one; of several readings there is no one value."""
    half = 0.0
    if isinstance(value, tuple):
        value, last = value
        half = float(last.to(value.units).m * abs(units.quantity(1.0, value.units).to_base_units().m))
    if value is None or (isinstance(value, Quantity) and np.ndim(value.magnitude)):
        return
    where = f"{place.place}{f' ({run})' if run else ''}"
    if isinstance(value, Quantity):
        yield Found(place.fact, item, float(value.to_base_units().m), units.text(value, ".6g"), where, half)
    elif isinstance(value, int | float):
        yield Found(place.fact, item, float(value), f"{value:g}", where)
    else:
        yield Found(place.fact, item, str(value), str(value), where)


def contradictions(found: Iterable[Found]) -> dict[tuple[str, str], list[Found]]:
    """Return the facts of an item that stand with more than one value: one place for each of the values.

    Parameters
    ----------
    found : iterable of Found

    Returns
    -------
    dict
        By fact and item: values that differ, the first place of each.
    """
    by: dict[tuple[str, str], list[Found]] = {}
    for one in found:
        apart = by.setdefault((one.fact, one.item), [])
        if not any(one.agrees(other) for other in apart):
            apart.append(one)
    return {key: values for key, values in by.items() if len(values) > 1}
