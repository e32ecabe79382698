"""What a job comes to, in lines of plain text: its open items, its checks by verdict, and how many there are of each."""

from __future__ import annotations

from collections.abc import Iterator

from deckcalc.core.check import SATISFIED
from deckcalc.job.order import Job

HEADS = ("item", "check", "demand", "limit", "utilised", "verdict", "what follows")


def tally(job: Job) -> str:
    """Count the checks by verdict, and the open items."""
    counts = ", ".join(f"{count} {word}" for word, count in job.verdicts.items())
    items, left = len(job.open_items), len(job.undecided)
    return f"{len(job.checks)} checks: {counts}; {items} open item{'' if items == 1 else 's'}, {left} undecided"


def open_lines(job: Job) -> Iterator[tuple[str, str]]:
    """Give every open item in three lines, the first with its number: what is open, why, what it stops and who decides."""
    for one in job.open_items:
        after = [f"stops {one.stops}", ", ".join(one.patches), f"{one.decides}, {one.by}", one.sheet]
        yield str(one.number), one.what
        yield "", one.why
        yield "", "; ".join(part for part in (*after, one.decision and f"decided: {one.decision}") if part)
    if not job.open_items:
        yield "", "none"


def check_rows(job: Job, verdict: str) -> list[tuple[str, ...]]:
    """Return the checks of one verdict as rows; what is not satisfied with its open item and what follows."""
    numbers = {id(check): f"open item {one.number}: " for one in job.open_items for check in one.checks}
    rows: list[tuple[str, ...]] = []
    for one in (one for one in job.checks if one.verdict == verdict):
        demand, limit = one.printed(job.system)
        used = "" if one.utilisation is None else f"{100 * one.utilisation:.0f} %"
        row = one.item, one.title, demand, f"{one.sense} {limit}", used, one.words
        then = f"settled: {one.settled}" if one.settled else numbers.get(id(one), "") + one.why
        rows.append(row if verdict == SATISFIED else (*row, then))
    return rows
