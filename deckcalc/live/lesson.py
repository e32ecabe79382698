"""A lesson in a notebook: one student, the tasks that are theirs, their answers, hints and solutions.

Answers are written into the notebook as text, ``lesson.answer("loss-of-area", "23.4 %")``, so that a teacher can mark it
without running it.
"""

from __future__ import annotations

from typing import Any

from deckcalc.core import units
from deckcalc.core.text import plain
from deckcalc.core.units import InputError, clipped
from deckcalc.live.exercises import Task
from deckcalc.live.questions import EXERCISES
from deckcalc.show.sections import Text


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
        return Text(f"**{'Right.' if found.right else 'Not yet.'}** {plain(found.words.removeprefix('Right: '))}")

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
