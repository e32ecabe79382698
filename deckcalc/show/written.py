"""All calculations of a job written out by hand, each once; a value handed on is printed the same at both ends."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from deckcalc.base.subject import Run, Subject
from deckcalc.core.calculation import Calculation
from deckcalc.core.forms import ByForm
from deckcalc.core.text import plain
from deckcalc.show.hand import HandCalculation, chain, table
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
        runs = [run for subject in subjects for run in subject.runs]
        self.by_run: dict[Run, HandCalculation] = {
            run: HandCalculation(run.calculation, system, run.arguments, run.item, run.result) for run in runs
        }
        chain(list(self.by_run.values()))

    def by_hand(self, subject: Subject, *items: str) -> Text:
        """Write out every calculation of the items named; source and remarks stand where it comes first."""
        parts, said = [], set()
        for run in (run for item in items or subject.items for run in subject.of(item)):
            parts.append(self.by_run[run].markdown(remarks=run.calculation not in said))
            said.add(run.calculation)
        decided = [
            f"**{plain(item[0].upper() + item[1:])}:** {plain(subject.decisions[item])}."
            for item in items
            if item in subject.decisions
        ]
        return block([*parts, *decided])

    def tabulated(self, subject: Subject[Any], calculation: Calculation[..., Any] | ByForm, *columns: str) -> Text:
        """Print one calculation for all of its items as a table, by the formulas written out beside it."""
        runs = [self.by_run[run] for run in subject.runs_of(calculation)]
        cites = "; ".join(str(cite) for cite in runs[0].calculation.source)
        return Text(f"### {runs[0].calculation.title}, all items\n\n{table(runs, columns)}\n\nSource: {cites}.")
