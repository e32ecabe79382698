"""Flip points: which single input would turn the verdict of a check, and by how much it would have to change."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, floor, isfinite, log10
from typing import TYPE_CHECKING, Any

from deckcalc.core.check import NOT_COVERED, SATISFIED, Check
from deckcalc.job.depends import Chains, of_item
from deckcalc.job.order import Job
from deckcalc.job.register import Input
from deckcalc.job.trials import Moves, Stand, Trials, screen, sections_of, shared, stand

if TYPE_CHECKING:
    import pandas as pd

HEADS = ("check", "verdict", "input", "as filed", "turns at", "change", "how")
#: How often a search doubles its step away from the value as filed, and halves it back into where the job is valid.
DOUBLED, HALVED = 8, 5
#: Digits of the change that a flip point is stated with.
DIGITS = 2


@dataclass(frozen=True)
class Flip:
    """One input that turns one check.

    Attributes
    ----------
    check, verdict, becomes : str
        The check, how it stands, and how with the input changed.
    key, filed : str
        The input and its value as filed.
    at : str
        The first value, as printed, with which the verdict is the other one: setting it turns the verdict.
    before : str
        The value a last digit nearer to the one as filed, with which it still stands.
    change : float
        From the value as filed, as a share of it, or of its range where it is nil or a temperature; a choice counts as nil.
    jump : bool
        Whether the margin jumps there, as at a step of a table.
    """

    check: str
    verdict: str
    becomes: str
    key: str
    filed: str
    at: str
    before: str = ""
    change: float = 0.0
    jump: bool = False

    @property
    def row(self) -> tuple[str, ...]:
        """The line of a table."""
        how = "another choice" if not self.before else f"between {self.before} and {self.at}" if self.jump else ""
        change = f"{100 * self.change:+.3g} %" if self.before else ""
        return self.check, f"{self.verdict} → {self.becomes}", self.key, self.filed, self.at, change, how


@dataclass(frozen=True)
class Flips:
    """Outcome of a search.

    Attributes
    ----------
    found : list of Flip
        Those that turn “satisfied” first, of each check the nearest first.
    firm : list of str
        Checks that no single input turns within its range and where the job is valid.
    ended : dict of str
        By check and input: where the search ended because the job is faulty beyond.
    trials : int
        How often the job was computed in part or in whole.
    """

    found: list[Flip]
    firm: list[str]
    ended: dict[str, str] = field(default_factory=dict)
    trials: int = 0

    def data(self) -> dict[str, Any]:
        """Return all of it for JSON."""
        return {
            "flips": [vars(one) for one in self.found], "no single input turns": self.firm, "ended": self.ended,
        }  # fmt: skip

    def frame(self) -> pd.DataFrame:
        """Return the flip points as a pandas DataFrame."""
        import pandas as pd

        return pd.DataFrame([vars(one) for one in self.found], columns=list(Flip.__dataclass_fields__))


def flips(
    job: Job, names: Sequence[str] | None = None, most: int = 3, inputs: Iterable[str] | None = None, processes: int = 1
) -> Flips:
    """Search the flip points of checks.

    Parameters
    ----------
    job : Job
        Computed.
    names : sequence of str, optional
        Checks by name, see `deckcalc.job.trials.named`; left out, all that have a verdict.
    most : int
        Inputs of each check, the nearest first.
    inputs : iterable of str, optional
        Keys of the inputs to look at; left out, those that the chain behind each check names, and those of its item.
    processes : int
        Over how many the trials are spread.

    Returns
    -------
    Flips

    Notes
    -----
    An input that moves no check by its first step is not searched, so that what only jumps further away, as a count of readings
    beyond a threshold, is not found. Neither is one that reaches a check through the design of a subject alone, unless it is named.
    """
    trials, chains = Trials(job), Chains(job)
    wanted = [name for name in (trials.checks if names is None else names) if trials.now[name].margin is not None]
    chosen = {name: [*candidates(chains, name)] if inputs is None else [*inputs] for name in wanted}
    moves: list[Moves] = []
    for subject in dict.fromkeys(trials.subject_of[name] for name in wanted):
        mine = [name for name in wanted if trials.subject_of[name] == subject]
        keys, known = dict.fromkeys(key for name in mine for key in chosen[name]), sections_of(subject)
        looked_at = [trials.inputs[key] for key in keys if key.partition(".")[0] in known]
        moves += screen(trials, mine, looked_at, processes)
    tasks = [(name, move) for name in wanted for move in nearest(trials, name, moves)[: 2 * most]]
    answers = dict(zip(tasks_of(tasks), shared(_searched, trials, tasks, processes), strict=True))
    found: list[Flip] = []
    firm: list[str] = []
    ended: dict[str, str] = {}
    for name in wanted:
        mine_found = [one for (check, _), one in answers.items() if check == name and isinstance(one, Flip)]
        found += sorted(mine_found, key=lambda one: abs(one.change))[:most]
        firm += [] if mine_found else [name]
        ended |= {
            f"{name}: {key}": one
            for (check, key), one in answers.items()
            if check == name and isinstance(one, str) and one
        }
    found.sort(key=lambda one: (one.verdict != SATISFIED, wanted.index(one.check)))
    return Flips(found, firm, ended, trials.made)


def closest(checks: Mapping[str, Check]) -> list[str]:
    """Return checks by how near they are to their limit, those satisfied first; without those that have no verdict."""
    known = {name: one for name, one in checks.items() if one.demand is not None}

    def away(name: str) -> tuple[bool, float]:
        there = stand(known[name])
        return there.verdict != SATISFIED, abs(there.margin or 0.0) / (there.size or 1.0)

    return sorted(known, key=away)


def candidates(chains: Chains, name: str) -> list[str]:
    """Return the inputs that the chain behind a check names, and those of the rows of its item."""
    item = chains.checks[name].item
    return [key for key, one in chains.inputs.items() if key in chains.keys_of(name) or of_item(one, item)]


def tasks_of(tasks: Iterable[tuple[str, Moves]]) -> list[tuple[str, str]]:
    """Return check and input of each task."""
    return [(name, move.key) for name, move in tasks]


def nearest(trials: Trials, name: str, moves: Iterable[Moves]) -> list[Moves]:
    """Return the inputs that move a check, those first that would turn it soonest if it went on as it began."""
    ahead = [(distance(trials, name, move), at, move) for at, move in enumerate(moves) if name in move.stands]
    return [move for _, _, move in sorted(ahead, key=lambda one: one[:2])]


def distance(trials: Trials, name: str, move: Moves) -> float:
    """Return how far an input would have to go, as a share of its value; 0 for a choice."""
    one, now, then = trials.inputs[move.key], trials.now[name].margin, move.stands[name].margin
    if one.discrete or now is None or then is None:
        return 0.0
    return abs(relative(one, one.number + one.least_step) * now / ((then - now) or 1e-300))


def relative(one: Input, number: float) -> float:
    """Return a change as a share of the value as filed, or of the range where that is nil or a temperature."""
    low, high = one.span
    by_range = not one.number or (one.kind and one.kind.is_temperature)
    room = (high - low if isfinite(high - low) else 1.0) if by_range else abs(one.number)
    return (number - one.number) / room


def _searched(trials: Trials, task: tuple[str, Moves]) -> Flip | str:
    """Search one check along one input; where it does not turn, say why the search ended, or nothing at the end of the range."""
    name, move = task
    return Search(trials, name, move).flip()


class Search:
    """The search of one check along one input."""

    def __init__(self, trials: Trials, name: str, move: Moves) -> None:
        self.trials, self.name, self.one = trials, name, trials.inputs[move.key]
        self.now, self.first = trials.now[name], move.stands[name]
        self.first_text = move.text
        self.subjects = (trials.subject_of[name],)
        self.fault = ""

    def at(self, text: str) -> Stand | None:
        """Return how the check stands with a value; None where the job is faulty or has no such check."""
        found = self.trials.tried({self.one.key: text}, self.subjects)
        if isinstance(found, str):
            self.fault = f"{text}: {found}"
            return None
        there = found.get(self.name)
        if there is None or there.verdict == NOT_COVERED:
            self.fault = f"{text}: the check is {'not there' if there is None else NOT_COVERED}"
            return None
        return there

    def turned(self, there: Stand | None) -> bool:
        """Say whether the verdict is the other one."""
        return there is not None and there.verdict != self.now.verdict

    def flip(self) -> Flip | str:
        """Return the flip point, or why there is none."""
        one = self.one
        if one.discrete:
            for text in one.options:
                if self.turned(there := self.at(text)):
                    assert there
                    return Flip(self.name, self.now.verdict, there.verdict, one.key, one.printed, text)
            return ""
        bracket = self.bracket()
        return self.refined(*bracket) if bracket else self.fault and f"ended at {self.fault}"

    def bracket(self) -> tuple[float, float] | None:
        """Return a value on either side of the flip, the first still as it stands; None where it does not turn."""
        one, now, then = self.one, self.now.margin, self.first.margin
        up = 1 if one.text(one.number + one.least_step) == self.first_text else -1
        if now is None or then is None or then == now:
            return None
        turns = (now - then) * (1 if self.now.verdict == SATISFIED else -1)
        way = up if turns > 0 else -up
        low, high = one.span
        end = high if way > 0 else low
        step = max(1.05 * one.least_step * abs(now / (then - now)), one.least_step * 0.02)
        near = one.number
        for _ in range(DOUBLED):
            far = one.number + way * step
            far = min(far, end) if way > 0 else max(far, end)
            if one.whole:
                far = ceil(far) if way > 0 else floor(far)
            there = self.at(one.text(far))
            if there is None:
                return self.back(near, far)
            if self.turned(there):
                return near, far
            if far == end:
                self.fault = ""
                return None
            near, step = far, 2 * step
        return None

    def back(self, near: float, far: float) -> tuple[float, float] | None:
        """Look between a value where the job is valid and one where it is not."""
        for _ in range(HALVED):
            middle = (near + far) / 2
            if self.one.whole and (middle := float(round(middle))) in (near, far):
                return None
            there = self.at(self.one.text(middle))
            if there is None:
                far = middle
            elif self.turned(there):
                return near, middle
            else:
                near = middle
        return None

    def refined(self, near: float, far: float) -> Flip | str:
        """Close in on the flip, and return the first printed value beyond it."""
        from scipy.optimize import toms748

        one = self.one
        step = (
            1.0
            if one.whole
            else 10.0 ** (floor(log10(max(abs(far - one.number), 1e-3 * abs(one.number), 1e-9))) - DIGITS)
        )

        def margin(number: float) -> float:
            there = self.at(one.text(number))
            if there is None or there.margin is None:
                raise OutOfReachError
            size = max(abs(there.margin), 1e-300)
            return size if there.verdict == SATISFIED else -size

        try:
            root = toms748(margin, min(near, far), max(near, far), xtol=step / 4, rtol=1e-12, maxiter=60)
        except OutOfReachError:
            return f"ended at {self.fault}"
        way = 1 if far > near else -1
        place = (ceil if way > 0 else floor)(root / step)
        low, high = one.span
        number = lambda at: min(max(at * step, low), high)  # noqa: E731
        while not self.turned(there := self.at(one.text(number(place)))):
            if there is None or (number(place) - far) * way > step:
                return f"ended at {self.fault}" if self.fault else ""
            place += way
        while (number(place - way) - one.number) * way > 0 and self.turned(self.at(one.text(number(place - way)))):
            place -= way
        last, beyond = self.at(one.text(number(place - way))), self.at(one.text(number(place)))
        if last is None or beyond is None or last.margin is None or beyond.margin is None:
            return f"ended at {self.fault}"
        steady = abs((self.now.margin or 0.0) - last.margin) / max(abs(number(place - way) - one.number), step)
        jump = not one.whole and abs(beyond.margin - last.margin) > 20 * steady * step + NOISE_OF_JUMP * beyond.size
        return Flip(
            self.name, self.now.verdict, beyond.verdict, one.key, one.printed, one.text(number(place)),
            one.text(number(place - way)), relative(one, number(place)), jump,
        )  # fmt: skip


class OutOfReachError(Exception):
    """The job is faulty between two values where it is not."""


#: A margin that moves by more between two printed values, as a share of demand and limit, and more than its slope says, jumps.
NOISE_OF_JUMP = 1e-4
