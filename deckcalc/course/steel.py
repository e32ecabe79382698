"""Reinforcement: from caliper readings to bars that are supplemented."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any

from deckcalc import steel
from deckcalc.check import Check, Limit
from deckcalc.course.base import Material, Subject
from deckcalc.inputs import BarSize, Id, Strict, Written
from deckcalc.units import Diameter, Quantity

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.jobfile import Head


class BarRow(Strict):
    """bars.csv: one exposed bar a row, neighbours in the order in which they lie."""

    bar: Id
    patch: Id
    size: BarSize
    readings: Annotated[Quantity, Written(Diameter, "1 mm", "85 mm", least=2)]


SECTIONS: dict[str, type[Strict]] = {}
ROWS = {"bars": BarRow}


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold bars against patches and bar tables."""
    patches = {row.patch for row in rows["patches"]}
    for row in rows["bars"]:
        if row.patch not in patches:
            faults.append(f"bars.csv, bar {row.bar}: the survey gives no patch “{row.patch}”")
        nominal = steel.bar_diameter(row.size)
        if max(row.readings) > 1.15 * nominal:
            faults.append(
                f"bars.csv, bar {row.bar}: a reading of {max(row.readings):.4g~P} is far more than the {nominal:.4g~P} of "
                f"size {row.size}; is size or unit wrong?"
            )


def carry(job: Job) -> Subject:
    """Loss of every measured bar, neighbours together, and bars to be supplemented."""
    subject = Subject("steel", "Reinforcement")
    single, pair = job.limit("bar_loss_single"), job.limit("bar_loss_adjacent")
    rows = job.file.rows["bars"]
    results = {
        row.bar: subject.run(steel.section_loss, f"bar {row.bar}", A_0=steel.bar_area(row.size), d=row.readings)
        for row in rows
    }
    flagged: dict[str, str] = {}
    for row in rows:
        check = Check(
            f"bar {row.bar}", "section loss of one bar", results[row.bar].loss, single, "at most", "supplement"
        )
        subject.checks.append(check)
        if check.verdict != "satisfied":
            flagged[row.bar] = "its own loss"
    for first, second in pairwise(rows):
        if first.patch != second.patch:
            continue
        item = f"bars {first.bar} and {second.bar}"
        shared = subject.run(steel.adjacent_loss, item, loss_1=results[first.bar].loss, loss_2=results[second.bar].loss)
        check = Check(item, "section loss of two adjacent bars", shared, pair, "at most", "supplement both")
        subject.checks.append(check)
        if check.verdict != "satisfied":
            for bar in (first.bar, second.bar):
                flagged.setdefault(bar, "the loss it shares with its neighbour")
    added_bars: dict[str, int] = {}
    for row in rows:
        item = f"bar {row.bar}"
        if row.bar not in flagged:
            subject.decisions[item] = "clean; no supplement by these limits"
            continue
        added = subject.run(steel.supplement, item, A_lost=results[row.bar].A_lost, A_b=steel.bar_area(row.size))
        count = int(added.n.magnitude)
        added_bars[row.size] = added_bars.get(row.size, 0) + count
        subject.decisions[item] = f"supplement with {count} bar(s) {row.size}, for {flagged[row.bar]}"
    for size, count in added_bars.items():
        subject.materials.append(
            Material(
                f"Supplementary bars {size}", f"{count} pieces", "length with laps by the engineer", "02 Reinforcement"
            )
        )
    subject.notes += [
        "Whether the deck carries load while bars are bare, and after the loss found, is the licensed engineer's "
        "decision; no strength is computed here.",
        "The laps of supplementary bars, and whether the patch is long enough for them, are not checked here.",
    ]
    return subject
