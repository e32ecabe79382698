"""A job computed with inputs changed for a trial: the margins of its checks, and which inputs move them."""

from __future__ import annotations

import datetime
import multiprocessing
import os
import warnings
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, fields

import numpy as np

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

    def tried(self, changes: Mapping[str, str], subjects: Sequence[str] = ORDER) -> dict[str, Stand] | str:
        """Return how the checks of subjects stand with inputs changed; or why the job is faulty with them."""
        before = self.job
        try:
            file = read_job(before.file.contents, {**before.file.changes, **changes})
            with speaking("US" if file.system == "US" else ""), np.errstate(invalid="raise"):
                job = Job(file, before)
                found = [job.of(key) for key in file.ready if key in subjects]
        except (JobError, InputError) as error:
            return str(error).split("\n")[0]
        except FloatingPointError:
            return "the value has no result"
        return {name: stand(one) for name, one in named(one for part in found if part for one in part.checks).items()}

    def moved(self, changes: Mapping[str, str], subject: str) -> Answer:
        """Return how the checks of a subject stand that inputs move; or why the job is faulty with them."""
        self.made += 1
        found = self.tried(changes, (subject,))
        if isinstance(found, str):
            return found
        mine = [name for name in self.now if self.subject_of[name] == subject]
        return {
            name: found.get(name)
            for name in [*mine, *found]
            if name not in self.now or self.now[name].moved(found.get(name))
        }


@dataclass(frozen=True)
class Ask:
    """One value of one input, tried for the checks of one subject."""

    subject: str
    key: str
    text: str


#: Checks that moved, None for one that is no longer there; or why the job is faulty.
Answer = dict[str, Stand | None] | str


class Asked:
    """Trials asked for and their answers, each computed once and, where inputs reach different checks, several at a time.

    Parameters
    ----------
    trials : Trials
    reach : dict of set of str
        By subject and input: the checks that it is held to move. What is seen to move more is tried by itself, and remembered.
    pool : Executor, optional
        Over which the trials are spread.
    """

    def __init__(self, trials: Trials, reach: dict[tuple[str, str], set[str]], pool: Executor | None = None) -> None:
        self.trials, self.reach, self.pool = trials, reach, pool
        self.answers: dict[Ask, Answer] = {}

    def ask(self, asks: Iterable[Ask]) -> None:
        """Compute what was not yet asked."""
        packs = self.packed([one for one in dict.fromkeys(asks) if one not in self.answers])
        tasks = [(pack, [self.reach[one.subject, one.key] for one in pack]) for pack in packs]
        made = self.pool.map(_answered, tasks) if self.pool else (answered(self.trials, *task) for task in tasks)
        for pack, (answers, trials) in zip(packs, made, strict=True):
            self.trials.made += trials if self.pool else 0
            for one, answer in zip(pack, answers, strict=True):
                self.answers[one] = answer
                if not isinstance(answer, str):
                    self.reach[one.subject, one.key] |= answer.keys()

    def packed(self, asks: Sequence[Ask]) -> list[list[Ask]]:
        """Put together what reaches different checks of the same subject."""
        packs: list[tuple[list[Ask], set[str]]] = []
        for one in asks:
            reach = self.reach[one.subject, one.key]
            for pack, held in packs:
                if (
                    pack[0].subject == one.subject
                    and all(one.key != other.key for other in pack)
                    and held.isdisjoint(reach)
                ):
                    pack.append(one)
                    held |= reach
                    break
            else:
                packs.append(([one], {*reach}))
        return [pack for pack, _ in packs]


def answered(trials: Trials, pack: Sequence[Ask], reach: Sequence[set[str]]) -> tuple[list[Answer], int]:
    """Return the answer to each of a pack, and how many trials it took: parted in halves where more moves than was held to."""
    before = trials.made
    found = trials.moved({one.key: one.text for one in pack}, pack[0].subject)
    if len(pack) == 1:
        return [found], 1
    if isinstance(found, str) or not found.keys() <= set().union(*reach):
        half = len(pack) // 2
        parts = [answered(trials, pack[:half], reach[:half])[0], answered(trials, pack[half:], reach[half:])[0]]
        return [*parts[0], *parts[1]], trials.made - before
    return [{name: one for name, one in found.items() if name in mine} for mine in reach], 1


#: What the processes of a pool work on: set before they part from this one.
WORK: dict[str, Trials] = {}


@contextmanager
def processes_of(trials: Trials, processes: int) -> Iterator[Executor | None]:
    """Give a pool of processes that know the job, where more than one is wanted and the system can part from this one."""
    if processes < 2 or "fork" not in multiprocessing.get_all_start_methods():
        yield None
        return
    WORK["trials"] = trials
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        with ProcessPoolExecutor(processes, multiprocessing.get_context("fork")) as pool:
            yield pool


def _answered(task: tuple[list[Ask], list[set[str]]]) -> tuple[list[Answer], int]:
    return answered(WORK["trials"], *task)


def cores() -> int:
    """Return how many processors there are."""
    return os.cpu_count() or 1


#: Columns that say where a reading was taken: nobody asks how far a verdict is from turning by them.
PLACES = ("station", "offset", "middle_station", "station_from", "station_to", "offset_from", "offset_to", "bearing")


@dataclass(frozen=True)
class Moves:
    """What a first trial of one input came to: the value tried, and the checks of a subject that it moved."""

    subject: str
    key: str
    text: str
    stands: dict[str, Stand]


def screen(asked: Asked) -> list[Moves]:
    """Find the inputs that move checks: each changed by its least step, or to its first other choice that moves any."""
    inputs, found = asked.trials.inputs, list[Moves]()
    ahead = [one for one in asked.reach if not placed(inputs[one[1]])]
    for number in range(max((len(inputs[key].near()) for _, key in ahead), default=0)):
        asks = {one: Ask(*one, near[number]) for one in ahead if len(near := inputs[one[1]].near()) > number}
        asked.ask(asks.values())
        ahead = []
        for one, ask in asks.items():
            answer = asked.answers[ask]
            there = {} if isinstance(answer, str) else {name: stand for name, stand in answer.items() if stand}
            if there:
                found.append(Moves(*one, ask.text, there))
            elif isinstance(answer, str) or inputs[one[1]].discrete:
                ahead.append(one)
    return found


def placed(one: Input) -> bool:
    """Say whether an input is where a reading was taken, or a date, which moves with others alone."""
    return (one.section in ROWS and one.key.rpartition(".")[2] in PLACES) or isinstance(one.value, datetime.date)
