"""Flip points: which single input would turn the verdict of a check, and by how much it would have to change."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, floor, isfinite, log10
from typing import TYPE_CHECKING, Any, TypeAlias, TypeVar

from deckcalc.core.check import NOT_COVERED, SATISFIED, Check
from deckcalc.job.depends import Chains, of_item
from deckcalc.job.order import Job
from deckcalc.job.register import Input
from deckcalc.job.trials import Answer, Ask, Asked, Moves, Stand, Trials, processes_of, screen, sections_of, stand

if TYPE_CHECKING:
    import pandas as pd

T = TypeVar("T")
#: Of a search: it gives a value to try, and is sent how the check stands with it.
Steps: TypeAlias = Generator[str, "Stand | None", T]
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
    reach: dict[tuple[str, str], set[str]] = {}
    for name in wanted:
        subject = trials.subject_of[name]
        for key in candidates(chains, name) if inputs is None else inputs:
            if key.partition(".")[0] in sections_of(subject):
                reach.setdefault((subject, key), set()).add(name)
    with processes_of(trials, processes) as pool:
        asked = Asked(trials, reach, pool)
        moves = screen(asked)
        outcome: dict[tuple[str, str], Flip | str] = {}
        for wave in range(2):  # the next nearest only where the nearest do not turn it
            searches = []
            for name in wanted:
                have = sum(isinstance(one, Flip) for (check, _), one in outcome.items() if check == name)
                if have < most:
                    searches += [
                        Search(trials, name, one)
                        for one in nearest(trials, name, moves)[wave * most : (wave + 1) * most]
                    ]
            outcome |= searched(asked, searches)
    found: list[Flip] = []
    firm: list[str] = []
    ended: dict[str, str] = {}
    for name in wanted:
        mine = {key: one for (check, key), one in outcome.items() if check == name}
        turned = sorted((one for one in mine.values() if isinstance(one, Flip)), key=lambda one: abs(one.change))
        found += turned[:most]
        firm += [] if turned else [name]
        ended |= {f"{name}: {key}": one for key, one in mine.items() if isinstance(one, str) and one}
    found.sort(key=lambda one: (one.verdict != SATISFIED, wanted.index(one.check)))
    return Flips(found, firm, ended, trials.made)


def searched(asked: Asked, searches: Iterable[Search]) -> dict[tuple[str, str], Flip | str]:
    """Carry searches side by side: what they ask next is tried together."""
    found: dict[tuple[str, str], Flip | str] = {}
    ahead = [(one, steps, next(steps, None)) for one in searches if (steps := one.flip(found))]
    while ahead := [(one, steps, text) for one, steps, text in ahead if text is not None]:
        asks = [Ask(one.subject, one.one.key, text) for one, _, text in ahead]
        asked.ask(asks)
        ahead = [
            (one, steps, proceed(steps, one.read(text, asked.answers[ask])))
            for (one, steps, text), ask in zip(ahead, asks, strict=True)
        ]  # fmt: skip
    return found


def proceed(steps: Steps[None], there: Stand | None) -> str | None:
    """Return the next value that a search asks for; None at its end."""
    try:
        return steps.send(there)
    except StopIteration:
        return None


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


class Search:
    """The search of one check along one input: each step gives a value to try, and is sent how the check stands with it."""

    def __init__(self, trials: Trials, name: str, move: Moves) -> None:
        self.name, self.one, self.subject = name, trials.inputs[move.key], move.subject
        self.now, self.first, self.first_text = trials.now[name], move.stands[name], move.text
        self.fault = ""

    def read(self, text: str, answer: Answer) -> Stand | None:
        """Return how the check stands by an answer; None where the job is faulty or has no such check."""
        if isinstance(answer, str):
            self.fault = f"{text}: {answer}"
            return None
        there = answer.get(self.name, self.now)
        if there is None or there.verdict == NOT_COVERED:
            self.fault = f"{text}: the check is {'not there' if there is None else NOT_COVERED}"
            return None
        return there

    def turned(self, there: Stand | None) -> bool:
        """Say whether the verdict is the other one."""
        return there is not None and there.verdict != self.now.verdict

    def flip(self, found: dict[tuple[str, str], Flip | str]) -> Steps[None]:
        """Find the flip point, or why there is none."""
        at = self.name, self.one.key
        found[at] = ""
        if self.one.discrete:
            for text in self.one.options:
                if self.turned(there := (yield text)):
                    assert there
                    found[at] = Flip(self.name, self.now.verdict, there.verdict, self.one.key, self.one.printed, text)
                    return
            return
        bracket = yield from self.bracket()
        found[at] = (yield from self.refined(*bracket)) if bracket else self.fault and f"ended at {self.fault}"

    def bracket(self) -> Steps[tuple[float, float] | None]:
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
            there = yield one.text(far)
            if there is None:
                return (yield from self.back(near, far))
            if self.turned(there):
                return near, far
            if far == end:
                self.fault = ""
                return None
            near, step = far, 2 * step
        return None

    def back(self, near: float, far: float) -> Steps[tuple[float, float] | None]:
        """Look between a value where the job is valid and one where it is not."""
        for _ in range(HALVED):
            middle = (near + far) / 2
            if self.one.whole and (middle := float(round(middle))) in (near, far):
                return None
            there = yield self.one.text(middle)
            if there is None:
                far = middle
            elif self.turned(there):
                return near, middle
            else:
                near = middle
        return None

    def refined(self, near: float, far: float) -> Steps[Flip | str]:
        """Close in on the flip among values of so many digits: by the line between its two sides, each third time by the middle."""
        one, way = self.one, 1 if far > near else -1
        size = max(abs(far - one.number), 1e-3 * abs(one.number), 1e-9)
        step = 1.0 if one.whole else 10.0 ** (floor(log10(size)) - DIGITS)
        low, high = one.span
        text = lambda place: one.text(min(max(way * place * step, low), high))  # noqa: E731
        left, right = floor(way * near / step + 1e-9), ceil(way * far / step - 1e-9)
        last, beyond = (yield text(left)), (yield text(right))
        turn = 0
        while last and beyond and last.margin is not None and beyond.margin is not None and right - left > 1:
            if self.turned(last) or not self.turned(beyond):
                break
            turn += 1
            share = abs(last.margin) / ((abs(last.margin) + abs(beyond.margin)) or 1.0) if turn % 3 else 0.5
            place = min(max(ceil(left + share * (right - left)), left + 1), right - 1)
            there = yield text(place)
            if there is None or self.turned(there):
                right, beyond = place, there
            else:
                left, last = place, there
        if last is None or beyond is None or last.margin is None or beyond.margin is None:
            return f"ended at {self.fault}"
        if self.turned(last) or not self.turned(beyond):
            return f"ended at {text(left)}: the verdict turns and turns back there"
        steady = abs((self.now.margin or 0.0) - last.margin) / max(abs(way * left * step - one.number), step)
        jump = not one.whole and abs(beyond.margin - last.margin) > 20 * steady * step + NOISE_OF_JUMP * beyond.size
        return Flip(
            self.name, self.now.verdict, beyond.verdict, one.key, one.printed, text(right), text(left),
            relative(one, way * right * step), jump,
        )  # fmt: skip


#: A margin that moves by more between two printed values, as a share of demand and limit, and more than its slope says, jumps.
NOISE_OF_JUMP = 1e-4
