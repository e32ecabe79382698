"""Exercises with generated numbers: an answer is text with a unit, and what is said of it tells the kinds of slip apart.

An exercise asks for one result of one calculation. Its numbers are drawn by a seed, such as the name of a student, so that
each has another task and anyone can work it out again. The answer and the full solution come from the calculation; the
common mistakes are declared with it, each as the value that it leads to.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from deckcalc import published
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.forms import ByForm
from deckcalc.core.units import InputError, Quantity
from deckcalc.show.hand import HandCalculation

#: An answer so near to the result, as a share of it, is right: it is what a reader's calculator gives.
RIGHT = 0.005
#: One so near has the method right and was rounded on the way.
ROUNDED = 0.03
#: Draws of numbers that are tried until every common mistake leads far enough from the right answer.
MOST_DRAWS = 200
#: Factors between units that slip in or are left out, and what they are.
FACTORS = {
    12: "inches in a foot", 144: "square inches in a square foot", 1728: "cubic inches in a cubic foot", 27: "cubic feet in a cubic yard",
    9: "square feet in a square yard", 25.4: "millimetres in an inch", 2.2046: "pounds in a kilogram", 24: "hours in a day", 60: "minutes in an hour",
    7.4805: "gallons in a cubic foot", 1.8: "degrees Fahrenheit in a degree Celsius",
}  # fmt: skip

POWERS = {10: "Ten", 100: "A hundred", 1000: "A thousand", 1e6: "A million"}
#: What is said of an answer, here and on the pages of the lessons.
SAID = {
    "no answer": "Nothing is written yet.",
    "right": "Right: {printed}.",
    "rounding": "The way is right, but a value was rounded before the end: carry more digits.",
    "sign": "The number is right and its sign is not: what is taken from what?",
    "percentage": "The number is a percentage: write it with its sign, as in 23.4 %.",
    "power": "{factor} times too {much}: a power of ten slipped.",
    "factor": "Too {much} by a factor of {factor}: {what}.",
    "other": "Not yet. Take a hint, or write the formula down before the numbers.",
}


@dataclass(frozen=True)
class Mistake:
    """A common mistake.

    Attributes
    ----------
    leads_to : callable
        Given the drawn values by name, and the right results by name, the value that the mistake leads to.
    words : str
        What is said to somebody who made it.
    """

    leads_to: Callable[[Mapping[str, Any], Mapping[str, Any]], Quantity]
    words: str


@dataclass(frozen=True)
class Exercise:
    """A question whose numbers are drawn.

    Attributes
    ----------
    key : str
        By which it is called for.
    calculation : Calculation or ByForm
        What answers it; of one that has forms, the form of the unit system.
    asked : str
        Name of the result that is asked for.
    question : str
        In words, with the names of arguments in braces.
    draws : dict of tuple
        By argument: least and greatest value, and the step between, in the unit of each system: ``{"SI": ("12 mm", "15 mm", "0.1 mm")}``.
    given : dict of str
        By system: values that are not drawn.
    mistakes : tuple of Mistake
    hints : tuple of str
        One after the other, the last nearly the way.
    """

    key: str
    calculation: Calculation | ByForm
    asked: str
    question: str
    draws: Mapping[str, Mapping[str, tuple[str, str, str]]]
    given: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    mistakes: tuple[Mistake, ...] = ()
    hints: tuple[str, ...] = ()

    def task(self, seed: str, system: units.System = "SI") -> Task:
        """Return the exercise with its numbers.

        Parameters
        ----------
        seed : str
            The same seed gives the same numbers.
        system : {"SI", "US"}

        Raises
        ------
        InputError
            If no numbers are found in which right and wrong can be told apart: the exercise is at fault.
        """
        for number in range(MOST_DRAWS):
            chance = random.Random(f"{self.key} {system} {seed} {number}")
            drawn = {name: one_of(ends[system], chance) for name, ends in self.draws.items()}
            made = Task(self, system, {**self.given.get(system, {}), **drawn})
            if made.told_apart:
                return made
        raise InputError(f"exercise {self.key}: in {MOST_DRAWS} draws no numbers tell its mistakes from its answer")


def one_of(ends: tuple[str, str, str], chance: random.Random) -> str:
    """Return a value between two, on a step, as people write it."""
    (low, unit), (high, _), (step, _) = (one.partition(" ")[::2] for one in ends)
    places = len(step.partition(".")[2])
    number = float(low) + float(step) * chance.randint(0, round((float(high) - float(low)) / float(step)))
    return f"{number:.{places}f} {unit}".strip()


@dataclass(frozen=True)
class Feedback:
    """What is said of an answer: whether it is right, which kind of slip it is, and in words."""

    right: bool
    kind: str
    words: str


@dataclass(frozen=True)
class Task:
    """An exercise with its numbers.

    Attributes
    ----------
    exercise : Exercise
    system : {"SI", "US"}
    given : dict of str
        Every argument as people write it.
    """

    exercise: Exercise
    system: units.System
    given: Mapping[str, str]

    @property
    def calculation(self) -> Calculation:
        """What answers it."""
        found = self.exercise.calculation
        return found if isinstance(found, Calculation) else found.form(self.system)

    @property
    def question(self) -> str:
        """The question with its numbers."""
        return self.exercise.question.format(**self.given)

    @cached_property
    def values(self) -> dict[str, Any]:
        """The arguments as quantities."""
        return {name: published.read_argument(self.calculation, name, text) for name, text in self.given.items()}

    @cached_property
    def results(self) -> Mapping[str, Any]:
        """Every result by name."""
        found: Any = self.calculation(**self.values)
        return found._asdict() if isinstance(found, tuple) else {self.calculation.lines[-1].name: found}  # type: ignore[attr-defined]

    @property
    def kind(self) -> units.Kind:
        """The kind of quantity that is asked for."""
        return self.calculation.kinds[self.exercise.asked]

    @property
    def answer(self) -> Quantity:
        """The right answer."""
        found: Quantity = self.results[self.exercise.asked]
        return found

    def number(self, value: Quantity) -> float:
        """Return a value in the unit of the answer."""
        return float(units.magnitude(value, self.kind, self.system))

    @cached_property
    def wrong(self) -> list[tuple[float, str]]:
        """What each common mistake leads to, and what is said of it."""
        return [(self.number(one.leads_to(self.values, self.results)), one.words) for one in self.exercise.mistakes]

    @property
    def told_apart(self) -> bool:
        """Whether every mistake leads elsewhere than the right answer, rounding and the other mistakes."""
        right = self.number(self.answer)
        if not right:
            return False
        ends = [(right, ROUNDED)] + [(value, RIGHT) for value, _ in self.wrong]
        return not any(
            near(b, a, 2 * within) for place, (a, within) in enumerate(ends) for b, _ in ends[place + 1 :]
        )  # fmt: skip

    def mark(self, text: str) -> Feedback:
        """Say what an answer is.

        Parameters
        ----------
        text : str
            A number with its unit.
        """
        if not text.strip():
            return Feedback(False, "no answer", SAID["no answer"])
        try:
            number = self.number(units.read(text, self.kind))
        except InputError as error:
            return Feedback(False, "unit", f"{error}.")
        right = self.number(self.answer)
        if near(number, right, RIGHT) or near(number, self.number(units.read(self.printed, self.kind)), 1e-9):
            return Feedback(True, "right", SAID["right"].format(printed=self.printed))
        for value, words in self.wrong:
            if near(number, value, RIGHT):
                return Feedback(False, "common mistake", words)
        if near(number, right, ROUNDED):
            return Feedback(False, "rounding", SAID["rounding"])
        if near(number, -right, RIGHT):
            return Feedback(False, "sign", SAID["sign"])
        if self.kind.dimensionless and "%" not in text and near(number, 100 * right, RIGHT):
            return Feedback(False, "unit", SAID["percentage"])
        if (factor := slip(number, right)) is not None:
            return Feedback(False, "factor", factor)
        return Feedback(False, "other", SAID["other"])

    @property
    def printed(self) -> str:
        """The right answer as a sheet prints it."""
        return units.show(self.answer, self.kind, self.system)

    def hint(self, number: int) -> str:
        """Return one of the hints, counted from 1; the last one again where there are no more."""
        hints = self.exercise.hints
        return hints[min(max(number, 1), len(hints)) - 1] if hints else "There is no hint to this one."

    def solution(self) -> HandCalculation:
        """Return the full solution as a hand calculation."""
        return HandCalculation(self.calculation, self.system, self.values)


def near(a: float, b: float, within: float) -> bool:
    """Whether two numbers differ by no more than a share of the second."""
    return abs(a - b) <= within * abs(b)


def slip(number: float, right: float) -> str | None:
    """Return which factor an answer is off by, in words; None where it is none that slips.

    Examples
    --------
    >>> slip(234.0, 23.4), slip(1.95, 23.4), slip(20.0, 23.4)
    ('Ten times too much: a power of ten slipped.', 'Too little by a factor of 12: inches in a foot.', None)
    """
    ratio = number / right if right else 0.0
    if ratio <= 0:
        return None
    for power, words in POWERS.items():
        for times, much in ((power, "much"), (1 / power, "little")):
            if near(ratio, times, RIGHT):
                return SAID["power"].format(factor=words, much=much)
    for factor, what in FACTORS.items():
        for times, much in ((factor, "much"), (1 / factor, "little")):
            if near(ratio, times, RIGHT):
                return SAID["factor"].format(factor=f"{factor:g}", much=much, what=what)
    return None
