"""All calculations of a job written out by hand, each once; a value handed on is printed the same at both ends."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from deckcalc.base.subject import Run, Subject
from deckcalc.core.calculation import Calculation
from deckcalc.core.text import plain
from deckcalc.show.every import every_line
from deckcalc.show.hand import HandCalculation, chain
from deckcalc.show.sections import Text, block


class HandCalculations:
    """The hand calculations of a job.

    Parameters
    ----------
    subjects : iterable of Subject
        In filing order.
    system : {"SI", "US"}
    """

    def __init__(self, subjects: Iterable[Subject], system: str) -> None:
        subjects = list(subjects)
        runs = [run for subject in subjects for run in subject.runs]
        self.by_run: dict[Run, HandCalculation] = {
            run: HandCalculation(run.calculation, system, run.arguments, run.item, run.result) for run in runs
        }
        chain(list(self.by_run.values()))
        self.numbers = numbered(subjects)

    def by_hand(self, subject: Subject, *items: str) -> Text:
        """Write out every calculation of the items named; source and remarks stand where it comes first."""
        parts = [str(self.worked(run for item in items or subject.items for run in subject.of(item)))]
        decided = [
            f"**{plain(item[0].upper() + item[1:])}:** {plain(subject.decisions[item])}."
            for item in items
            if item in subject.decisions
        ]
        return block([*parts, *decided])

    def worked(self, runs: Iterable[Run]) -> Text:
        """Write out the runs given, each calculation under its number; source and remarks stand where it comes first."""
        parts, said = [], set()
        for run in runs:
            parts.append(self.by_run[run].markdown(run.calculation not in said, self.numbers[run]))
            said.add(run.calculation)
        return block(['<div class="worked">', *parts, "</div>"]) if parts else Text("")

    def every_line(self, subject: Subject[Any]) -> Text:
        """Print every calculation of a subject for all of its items: each formula once, and what every line comes to."""
        if not subject.runs:
            return Text("")
        groups: dict[Calculation[..., Any], list[Run]] = {}
        for run in subject.runs:
            groups.setdefault(run.calculation, []).append(run)
        every = (every_line([self.by_run[run] for run in runs], self.numbers[runs[0]]) for runs in groups.values())
        return block(['<div class="lines">', *every, "</div>"])


#: What the numbers of the calculations of a subject begin with: its sheet, and a letter where two subjects share one.
SHEET_OF = {
    "patch": "01", "steel": "02", "chloride": "03", "mix": "04", "formwork": "05", "curing": "06", "traffic": "07T", "closure": "07",
    "safety": "08",
}  # fmt: skip


def numbered(subjects: Iterable[Subject]) -> dict[Run, str]:
    """Number the calculations of each subject in the order in which the job comes to them, such as “02-07”."""
    found: dict[Run, str] = {}
    for subject in subjects:
        places: dict[Calculation[..., Any], int] = {}
        for run in subject.runs:
            place = places.setdefault(run.calculation, len(places) + 1)
            found[run] = f"{SHEET_OF[subject.key]}-{place:02d}"
    return found
