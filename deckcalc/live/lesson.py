"""A lesson in a notebook: one student, the tasks that are theirs, their answers, hints and solutions.

Answers are written into the notebook as text, ``lesson.answer("loss-of-area", "23.4 %")``, so that a teacher can mark it
without running it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from deckcalc import published
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.core.text import plain
from deckcalc.core.units import InputError, clipped
from deckcalc.live.exercises import Task
from deckcalc.live.questions import EXERCISES
from deckcalc.show.hand import HandCalculation, pipe_table
from deckcalc.show.sections import Text, block
from deckcalc.show.typeset import symbol


class Lesson:
    """The exercises of one student.

    Parameters
    ----------
    student : str
        Name or number; the numbers of the tasks are drawn by it.
    system : {"SI", "US"}

    Examples
    --------
    >>> lesson = Lesson("student 7")
    >>> print(lesson.answer("loss-of-area", "14 mm"))
    **Not yet.** found “14 mm”, which is no share; wanted a share.
    """

    def __init__(self, student: str, system: units.System = "SI") -> None:
        if not str(student).strip():
            raise InputError("write your name or number between the quotation marks: your numbers are drawn by it")
        if system not in units.SYSTEMS:
            raise InputError(f"found “{clipped(system)}”, wanted {' or '.join(units.SYSTEMS)}")
        self.student, self.system = str(student).strip(), system
        self._hints: dict[str, int] = {}

    def task(self, key: str) -> Task:
        """Return the task of an exercise.

        Raises
        ------
        InputError
            If there is no exercise of that name.
        """
        return task(key, self.student, self.system)

    def ask(self, key: str) -> Text:
        """Return the question, with the student's numbers."""
        return Text(plain(self.task(key).question))

    def answer(self, key: str, text: str) -> Text:
        """Return what is to be said of an answer."""
        found = self.task(key).mark(str(text))
        word = "**Right.** " if found.right else "**Not yet.** " if found.kind != "no answer" else ""
        return Text(word + plain(found.words.removeprefix("Right: ").removeprefix("Not yet. ")))

    def hint(self, key: str) -> Text:
        """Return the next hint; each call leads a step further."""
        self._hints[key] = self._hints.get(key, 0) + 1
        return Text(plain(self.task(key).hint(self._hints[key])))

    def solution(self, key: str) -> Any:
        """Return the full solution, worked by hand with the student's numbers."""
        return self.task(key).solution()


def task(key: str, student: str, system: units.System) -> Task:
    """Return the task of an exercise for a student."""
    if key not in EXERCISES:
        raise InputError(f"there is no exercise “{clipped(key)}”; there are {', '.join(EXERCISES)}")
    return EXERCISES[key].task(student, system)


def demo(system: units.System = "US") -> Path:
    """Return the folder of a demo job, an invented bridge, for tasks on a whole job."""
    return folder("notebooks") / f"demo_{system.lower()}"


def worked(case: str, system: units.System = "SI") -> Text:
    """Return a published example, worked step by step, with the published answer beside ours.

    Parameters
    ----------
    case : str
        Name of a check case, as in the table of comparisons.
    system : {"SI", "US"}

    Raises
    ------
    InputError
        If there is no published case of that name.

    Examples
    --------
    >>> print(worked("noise-dose-three-levels").splitlines()[0])
    ### Noise dose in a shift
    """
    found = next((one for one in published.cases() if one.id == case and one.provenance == "published"), None)
    if found is None:
        raise InputError(f"there is no published case “{clipped(case)}”")
    calculation = published.register()[found.calculation]
    given = {name: published.read_argument(calculation, name, value) for name, value in found.given.items()}
    rows = [[f"${symbol(one.name)}$", one.published, one.ours] for one in published.compare(found)]
    return block(
        [
            HandCalculation(calculation, system, given)._repr_markdown_(),
            pipe_table(["result", "published", "worked here"], rows, "lrr"),
            f"Published: {found.cite}.",
        ]
    )
