"""What tables of results on the sheets share: numbers of calculations, open items, verdicts in words."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from deckcalc.base.subject import Run, Subject
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, Check
from deckcalc.show.governing import run_of
from deckcalc.show.written import HandCalculations


def once(runs: Iterable[Run]) -> list[Run]:
    """Return runs with the first of each calculation alone."""
    return list({run.calculation: run for run in reversed(list(runs))}.values())[::-1]


def number(subject: Subject[Any], written: HandCalculations, *checks: Check) -> str:
    """Return the numbers of the calculations that give the values of checks."""
    runs = (run_of(subject, one.demand) for one in checks)
    return ", ".join(sorted({written.numbers[run] for run in runs if run is not None}))


def open_item(subject: Subject[Any], checks: Iterable[Check]) -> str:
    """Return the numbers of the open items that speak for checks, in brackets; empty where there are none."""
    mine = {id(one) for one in checks}
    found = [
        str(one.number) for one in subject.open_items if one.number and any(id(check) in mine for check in one.checks)
    ]
    return f" (item{'s' * (len(found) > 1)} {', '.join(found)})" if found else ""


def worst_words(checks: Iterable[Check], settled: str) -> str:
    """Return the worst verdict of checks: not satisfied unless settled, then not covered, then settled in the words given, then satisfied."""
    found = {(settled if one.settled else one.verdict) for one in checks}
    word = next((word for word in (NOT_SATISFIED, NOT_COVERED, settled) if word in found), SATISFIED)
    return f"**{word}**" if word in (NOT_SATISFIED, NOT_COVERED) else word
