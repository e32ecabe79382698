"""One thing that is not as planned: how bad it is, planned and found beside one another, and who acts on it."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Any, NamedTuple

from deckcalc.core import units
from deckcalc.job.order import Job
from deckcalc.job.record import Record
from deckcalc.patch.design import PatchDesign

#: How bad a deviation is: it stops the work or the opening; somebody decides; somebody acts; it is noted.
STOPS, DECIDE, ACT, NOTED = range(4)
WORDS = ("stops", "to decide", "to act on", "noted")
#: What differs by less than this share is the same.
SAME = 1e-9


class Deviation(NamedTuple):
    """One thing that is not as planned.

    Parameters
    ----------
    rank : int
        Place in `WORDS`.
    patches : tuple of str
        Which it concerns; none where it concerns the job.
    what : str
        What is not as planned.
    planned, found, difference : str
        In the units of the job; empty where there is none.
    who : str
        Who acts on it, and what is done.
    """

    rank: int
    patches: tuple[str, ...]
    what: str
    planned: str
    found: str
    difference: str
    who: str

    @property
    def words(self) -> str:
        """How bad it is, in words."""
        return WORDS[self.rank]


def change(before: Any, after: Any, kind: Any, job: Job) -> tuple[str, str, str]:
    """Return two quantities and their difference as printed: the difference is that of what is printed, its sign before it."""
    kind = units.kind_of(kind)
    rounding = ROUND_CEILING if kind.up else ROUND_HALF_UP
    plain = (float(units.magnitude(value, kind, job.system)) for value in (before, after))
    was, now = (Decimal(units.fixed(value, kind.decimals(job.system), rounding)) for value in plain)
    if job.system == "US" and kind.tape:
        more = after - before
        return job.show(before, kind), job.show(after, kind), f"{'−' if now < was else '+'}{job.show(abs(more), kind)}"
    said = [f"{value} {kind.symbol(job.system)}".strip() for value in (was, now, abs(now - was))]
    return said[0], said[1], f"{'−' if now < was else '+'}{said[2]}"


def differ(before: Any, after: Any) -> bool:
    """Whether two quantities differ by more than noise."""
    a, b = float(before.magnitude), float(after.m_as(before.units))
    return abs(a - b) > SAME * max(abs(a), abs(b))


def measured(record: Record) -> list[tuple[PatchDesign, PatchDesign]]:
    """Return the patches that were measured, as planned and as found."""
    return [(record.planned.patch[row.patch], record.found.patch[row.patch]) for row in record.rows("as_found")]


def hours(seconds: float) -> str:
    """Return a time in hours and minutes.

    Examples
    --------
    >>> hours(3600), hours(5400), hours(300)
    ('1 h', '1 h 30 min', '5 min')
    """
    whole, minutes = divmod(round(seconds / 60), 60)
    return " ".join(
        part for part in (f"{whole} h" if whole else "", f"{minutes} min" if minutes or not whole else "") if part
    )
