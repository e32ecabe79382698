"""A job computed with inputs changed for a trial: the margins of its checks, and which inputs move them."""

from __future__ import annotations

import multiprocessing
import os
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, fields
from typing import Any, TypeVar

from deckcalc.base.fields import JobError
from deckcalc.core.check import Check
from deckcalc.core.ranges import speaking
from deckcalc.core.units import InputError
from deckcalc.job.file import read_job
from deckcalc.job.order import ORDER, Job
from deckcalc.job.register import Input, register
from deckcalc.job.settings import ROWS, SUBJECTS
from deckcalc.job.unchanged import ALSO, READS

#: Sections and tables that every subject may read, and those by which the patches are found.
COMMON = ("deck", "placements", "limits")
#: A margin that moves by less, as a share of demand and limit, has not moved.
NOISE = 1e-9
T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True)
class Stand:
    """How a check stands: `margin` is positive while it is satisfied; None where no model reaches."""

    verdict: str
    margin: float | None
    size: float = 0.0

    def moved(self, other: Stand | None) -> bool:
        """Say whether another stand of the same check differs by more than noise."""
        if other is None or self.verdict != other.verdict or (self.margin is None) != (other.margin is None):
            return True
        if self.margin is None or other.margin is None:
            return False
        return abs(self.margin - other.margin) > NOISE * max(self.size, other.size)


def stand(check: Check) -> Stand:
    """Return how a check stands."""
    if check.demand is None:
        return Stand(check.verdict, None)
    demand, limit = check.numbers
    margin = demand - limit if check.sense == "at least" else limit - demand
    return Stand(check.verdict, margin, max(abs(demand), abs(limit)))


def named(checks: Iterable[Check]) -> dict[str, Check]:
    """Return checks by what the review calls them; of several alike each later one with its number."""
    count: Counter[str] = Counter()
    found = {}
    for one in checks:
        name = f"{one.item}: {one.title} ({one.sense})"
        count[name] += 1
        found[f"{name}, no. {count[name]}" if count[name] > 1 else name] = one
    return found


def upstream(key: str) -> list[str]:
    """Return the subjects that one is worked out from, itself among them, in the order of the work."""
    found, ahead = set[str](), [key]
    while ahead:
        one = ahead.pop()
        if one not in found:
            found.add(one)
            ahead += [*READS[one], *ALSO.get(one, ())]
    return [one for one in ORDER if one in found]


def sections_of(key: str) -> set[str]:
    """Return the sections and tables that a subject may rest on, those of the subjects before it included."""
    return {*COMMON, *(one.name for room in upstream(key) for one in fields(SUBJECTS[room].Inputs))}


class Trials:
    """Trials of a job.

    Parameters
    ----------
    job : Job
        Computed.

    Attributes
    ----------
    inputs : dict of Input
    checks : dict of Check
        As filed, by name.
    made : int
        How many trials were computed.
    """

    def __init__(self, job: Job) -> None:
        self.job = job
        self.inputs = register(job)
        self.subject_of = {name: one.key for one in job.subjects for name in named(one.checks)}
        self.checks = named(job.checks)
        self.now = {name: stand(check) for name, check in self.checks.items()}
        self.made = 0
        self._known: dict[tuple[tuple[tuple[str, str], ...], tuple[str, ...]], dict[str, Stand] | str] = {}

    def tried(self, changes: Mapping[str, str], subjects: Sequence[str] = ORDER) -> dict[str, Stand] | str:
        """Return how the checks of subjects stand with inputs changed; or why the job is faulty with them."""
        key = tuple(changes.items()), tuple(subjects)
        if key not in self._known:
            self.made += 1
            self._known[key] = self._compute(changes, subjects)
        return self._known[key]

    def _compute(self, changes: Mapping[str, str], subjects: Sequence[str]) -> dict[str, Stand] | str:
        before = self.job
        try:
            file = read_job(before.file.contents, {**before.file.changes, **changes})
            with speaking("US" if file.system == "US" else ""):
                job = Job(file, before)
                found = [job.of(key) for key in file.ready if key in subjects]
        except (JobError, InputError) as error:
            return str(error).split("\n")[0]
        return {name: stand(one) for name, one in named(one for part in found if part for one in part.checks).items()}


#: What the processes of a pool work on: set before they part from this one.
WORK: dict[str, Any] = {}


def shared(function: Callable[[Trials, T], R], trials: Trials, tasks: Sequence[T], processes: int) -> list[R]:
    """Return what a function gives for each task, over several processes where the system can part from this one."""
    if processes < 2 or len(tasks) < 4 or "fork" not in multiprocessing.get_all_start_methods():
        return [function(trials, task) for task in tasks]
    WORK.update(function=function, trials=trials)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        with ProcessPoolExecutor(processes, multiprocessing.get_context("fork")) as pool:
            found = list(pool.map(_one, tasks, chunksize=max(1, min(8, len(tasks) // (4 * processes)))))
    trials.made += sum(count for _, count in found)
    return [one for one, _ in found]


def _one(task: Any) -> tuple[Any, int]:
    trials: Trials = WORK["trials"]
    before = trials.made
    return WORK["function"](trials, task), trials.made - before


def cores() -> int:
    """Return how many processors there are."""
    return os.cpu_count() or 1


@dataclass(frozen=True)
class Moves:
    """What a first trial of one input came to: the value tried, and the checks that it moved."""

    key: str
    text: str
    stands: dict[str, Stand]


#: Columns that say where a reading was taken or when a price was asked: nobody asks how far a verdict is from turning by them.
PLACES = (
    "station",
    "offset",
    "middle_station",
    "station_from",
    "station_to",
    "offset_from",
    "offset_to",
    "bearing",
    "date",
)


def grouped(inputs: Iterable[Input]) -> list[list[Input]]:
    """Return inputs in groups: a column of a table, a section of job.toml."""
    found: dict[tuple[str, str], list[Input]] = {}
    for one in inputs:
        column = one.key.rpartition(".")[2] if one.section in ROWS else ""
        if column in PLACES:
            continue
        found.setdefault((one.section, column), []).append(one)
    return list(found.values())


def _screened(trials: Trials, task: tuple[list[Input], tuple[str, ...], tuple[str, ...]]) -> list[Moves] | None:
    """Return what one input moves; of a group None where it moves something or is faulty together, so that it is parted."""
    inputs, names, subjects = task
    alone = len(inputs) == 1
    for number in range(max(len(one.near()) for one in inputs)) if alone else (0, 1):
        near = {one.key: options[number] for one in inputs if len(options := one.near()) > number}
        found = trials.tried(near, subjects)
        if isinstance(found, str):
            continue
        moved = {name: found[name] for name in names if name in found and trials.now[name].moved(found[name])}
        if not alone:
            return None if moved or any(name not in found for name in names) else []
        if moved:
            return [Moves(inputs[0].key, near[inputs[0].key], moved)]
        if not inputs[0].discrete:
            break
    return [] if alone else None


def screen(trials: Trials, names: Sequence[str], inputs: Iterable[Input], processes: int = 1) -> list[Moves]:
    """Find the inputs that move checks: all of a column or section at once, parted in halves until each that moves one is alone.

    Parameters
    ----------
    trials : Trials
    names : sequence of str
        Of the checks.
    inputs : iterable of Input
        Each is changed by its least step, or to the first other choice.
    processes : int

    Returns
    -------
    list of Moves
    """
    subjects = tuple(sorted({trials.subject_of[name] for name in names}, key=ORDER.index))
    ahead, found = grouped(inputs), list[Moves]()
    while ahead:
        tasks = [(group, tuple(names), subjects) for group in ahead]
        answers = shared(_screened, trials, tasks, processes)
        parted: list[list[Input]] = []
        for group, answer in zip(ahead, answers, strict=True):
            if answer is None:
                parted += [group[: len(group) // 2], group[len(group) // 2 :]]
            else:
                found += answer
        ahead = parted
    return found
