"""What differs between a job as planned and as found and built, the worst first, each with who acts on it."""

from __future__ import annotations

from deckcalc.job import built, found
from deckcalc.job.deviation import WORDS, Deviation
from deckcalc.job.record import Record

__all__ = ["Deviation", "deviations", "tally"]


def deviations(record: Record) -> list[Deviation]:
    """Return what is not as planned, the worst first, then in the order of the patches."""
    made = [one for part in (*built.PARTS, *found.PARTS) for one in part(record)]
    order = {one.patch: k for k, one in enumerate(record.planned.file.marked.patches)}
    return sorted(made, key=lambda one: (one.rank, order[one.patches[0]] if one.patches else len(order)))


def tally(found: list[Deviation]) -> str:
    """Count deviations in words.

    Examples
    --------
    >>> tally([])
    'nothing differs from the plan'
    """
    counts = [(word, sum(one.words == word for one in found)) for word in WORDS]
    said = ", ".join(f"{count} {word}" for word, count in counts if count)
    return (
        f"{len(found)} deviation{'' if len(found) == 1 else 's'}: {said}" if found else "nothing differs from the plan"
    )
