"""Which check governs, and the calculations that lead to it: what a sheet writes out by hand."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from deckcalc.base.subject import Run, Subject
from deckcalc.core.calculation import Calculation
from deckcalc.core.check import NOT_SATISFIED, Check
from deckcalc.core.forms import ByForm
from deckcalc.show.written import HandCalculations


def governing(checks: Iterable[Check]) -> Check | None:
    """Return the check with the worst verdict, and of these the one that uses the most of its limit; None where none is worked out."""
    known = [check for check in checks if check.utilisation is not None]
    return max(known, key=lambda one: (one.verdict == NOT_SATISFIED, one.utilisation), default=None)


def leading_to(subject: Subject[Any], *values: Any) -> list[Run]:
    """Return the calculations that the values given come from, back to the inputs, in filing order.

    Parameters
    ----------
    subject : Subject
    *values : Quantity
        The results themselves, as a check or a record holds them.
    """
    made = {id(value): run for run in subject.runs for value in run.results().values()}
    found: set[int] = set()
    ahead = [made[id(value)] for value in values if id(value) in made]
    while ahead:
        run = ahead.pop()
        if id(run) not in found:
            found.add(id(run))
            ahead += [made[id(value)] for value in run.arguments.values() if id(value) in made]
    return [run for run in subject.runs if id(run) in found]


def cited(subject: Subject[Any], written: HandCalculations, calculation: Calculation[..., Any] | ByForm[Any]) -> str:
    """Return the number under which a calculation of a subject is cited; empty where it was not done."""
    runs = subject.runs_of(calculation)
    return written.numbers[runs[0]] if runs else ""


def made_by(subject: Subject[Any], check: Check) -> Run | None:
    """Return the calculation that a check rests on, the last one where value and limit come from two; None where it rests on none."""
    return run_of(subject, check.demand, check.limit.value)


def run_of(subject: Subject[Any], *values: Any) -> Run | None:
    """Return the calculation that gave a value, the last one where several values come from several; None where none did."""
    held = {id(value) for value in values}
    runs = (run for run in reversed(subject.runs) if held & {id(value) for value in run.results().values()})
    return next(runs, None)
