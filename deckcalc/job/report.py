"""What a job comes to, in plain text and as data: its open items, its checks by verdict, and how many there are of each."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel

from deckcalc.base.choices import choices
from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, Check
from deckcalc.core.units import Quantity
from deckcalc.core.words import american
from deckcalc.job.order import Job

HEADS = ("item", "check", "value", "limit", "utilised", "verdict", "required action")
#: More items than these in one row are counted.
MOST_NAMED = 6
#: Where a fault lies: a file, a row or an item of it, a column; or a file and a field of it.
PLACE = re.compile(
    r"(?P<file>[^\s:,]+\.(?:toml|csv))(?:, (?P<row>(?!column )[^:,]+))?(?:, column (?P<column>[^:]+))?: "
    r"(?:(?<=\.toml: )(?P<field>[\w.-]+): )?(?P<fault>.*)",
    re.S,
)


def own_words(job: Job) -> set[str]:
    """Return what the user wrote in their own words: names, sources and remarks, which no wording changes."""
    return {one for one in texts([job.settings, *job.file.rows.values()]) if one.lower() not in american()}


def texts(value: Any) -> Iterator[str]:
    """Give every free text in sections and rows, and the names of entries; a choice of a field is none."""
    if isinstance(value, BaseModel):
        for name, info in type(value).model_fields.items():
            yield from () if choices(info.annotation) else texts(getattr(value, name))  # type: ignore[arg-type]
    elif isinstance(value, Mapping):
        yield from value
        yield from texts(list(value.values()))
    elif isinstance(value, list | tuple):
        for one in value:
            yield from texts(one)
    elif isinstance(value, str):
        yield value


def tally(job: Job) -> str:
    """Count the checks by verdict, and the open items."""
    counts = ", ".join(f"{count} {word}" for word, count in job.verdicts.items())
    items, left, said = len(job.open_items), len(job.undecided), len(job.comments)
    marks = f"; {said} comment{'' if said == 1 else 's'} of the checker, {len(job.unanswered)} open" if said else ""
    return f"{len(job.checks)} checks: {counts}; {items} open item{'' if items == 1 else 's'}, {left} undecided{marks}"


def status(job: Job) -> int:
    """Return 0 if every check is satisfied or settled and nothing is open, 3 if one is not satisfied, 4 if something is open."""
    if any(one.verdict == NOT_SATISFIED and not one.settled for one in job.checks):
        return 3
    return 4 if job.undecided or job.unanswered or any(one.verdict == NOT_COVERED for one in job.checks) else 0


def open_lines(job: Job) -> Iterator[tuple[str, str]]:
    """Give every open item in three lines, the first with its number: what is open, why, what it stops and who decides."""
    for one in job.open_items:
        after = [f"stops {one.stops}", ", ".join(one.patches), f"{one.decides}, {one.by}", one.sheet]
        yield str(one.number), one.what
        yield "", one.why
        yield "", "; ".join(part for part in (*after, one.decision and f"decided: {one.decision}") if part)
    if not job.open_items:
        yield "", "none"


def comment_lines(job: Job) -> Iterator[tuple[str, str]]:
    """Give every open comment in two lines or three, the first with its number: what it is about, what it says, what was answered."""
    for row in (one.row for one in job.unanswered):
        yield row.number, f"{row.at}; {row.by}, {row.date}, revision {row.revision}"
        yield "", row.comment
        if row.answer:
            yield "", f"answer of {row.answered_by}, not accepted yet: {row.answer}"


def check_rows(job: Job, verdict: str, every: bool = True) -> list[tuple[str, ...]]:
    """Return the checks of one verdict as rows; what is not satisfied with its open item and what follows.

    Unless every check is wanted, those of one title and one consequence stand in one row, with the numbers of the worst.
    """
    numbers = opened(job)
    groups: dict[object, list[Check]] = {}
    for place, one in enumerate(one for one in job.checks if one.verdict == verdict):
        like = one.title, one.sense, "" if verdict == SATISFIED else follows(one, numbers)
        groups.setdefault(place if every else like, []).append(one)
    rows: list[tuple[str, ...]] = []
    for checks in groups.values():
        one = worst(checks)
        demand, limit = one.printed(job.system)
        items = together([check.item for check in checks], "" if verdict == NOT_COVERED else one.item)
        row = items, one.title, demand, f"{one.sense} {limit}", one.percent, one.words
        rows.append(row if verdict == SATISFIED else (*row, follows(one, numbers)))
    return rows


def opened(job: Job) -> dict[int, int]:
    """Return the number of the open item that speaks for a check, by the check."""
    return {id(check): one.number for one in job.open_items for check in one.checks}


def follows(one: Check, numbers: Mapping[int, int]) -> str:
    """Return what follows from a check that is not satisfied or not covered."""
    if one.settled:
        return f"settled: {one.settled}"
    return (f"open item {numbers[id(one)]}: " if id(one) in numbers else "") + one.why


def worst(checks: Sequence[Check]) -> Check:
    """Return the check that is nearest to its limit, or furthest beyond it; the first of those that no model reaches."""

    def near(one: Check) -> float:
        if one.demand is None:
            return 0.0
        demand, limit = one.numbers
        gap = limit - demand if one.sense == "at least" else demand - limit
        return gap if one.utilisation is None else one.utilisation

    return max(checks, key=near)


def together(items: Sequence[str], governs: str = "") -> str:
    """Return items in one cell: the words that several begin with once; of very many the one that governs, and how many more.

    Examples
    --------
    >>> together(["patch P1", "patch P3", "patch P1"]), together(["core C1", "zone Z2", "core C2"])
    ('patch P1, P3', 'core C1, C2; zone Z2')
    >>> together(["patch P1", "patch P3"], "patch P3"), together([f"bar B{n}" for n in range(1, 31)], "bar B4")
    ('patch P1, P3 (P3 governs)', 'bar B4 (governs) and 29 more')
    """
    found = list(dict.fromkeys(items))
    if len(found) == 1:
        return found[0]
    if len(found) > MOST_NAMED:
        return f"{governs or found[0]}{' (governs)' if governs else ''} and {len(found) - 1} more"
    groups: dict[str, list[str]] = {}
    for one in found:
        head, blank, last = one.rpartition(" ")
        groups.setdefault(head + blank, []).append(last)
    named = "; ".join(head + ", ".join(lasts) for head, lasts in groups.items())
    said = governs.rpartition(" ")[2] if len(groups) == 1 else governs
    return named + (f" ({said} governs)" if governs else "")


def data(job: Job) -> dict[str, Any]:
    """Return open items and checks as plain data, numbers in the units of the job."""
    numbers = opened(job)
    return {
        "units": job.system,
        "tally": dict(job.verdicts),
        "items": [
            {
                "number": one.number, "what": one.what, "why": one.why, "stops": one.stops, "patches": list(one.patches),
                "decides": one.decides, "by": one.by, "sheet": one.sheet, "decision": one.decision,
            }
            for one in job.open_items
        ],
        "comments": [
            {**one.row.model_dump(mode="json"), "sheet": one.sheet, "of_this_revision": one.present}
            for one in job.comments
        ],
        "checks": [
            {
                "item": one.item, "title": one.title, "verdict": one.verdict, "at_limit": one.at_limit,
                "value": number(one.demand, one, job.system), "sense": one.sense, "limit": number(one.limit.value, one, job.system),
                "unit": one.limit.kind.symbol(job.system), "utilisation": one.utilisation, "why": one.why, "settled": one.settled,
                "open_item": numbers.get(id(one)),
            }
            for one in job.checks
        ],
        "not_computed": list(job.not_computed),
        "unread": list(job.file.unread),
        "faults": [],
    }  # fmt: skip


def number(value: Quantity | None, one: Check, system: str) -> float | None:
    """Return the number of a demand or limit; None where there is none."""
    return None if value is None else float(units.magnitude(value, one.limit.kind, system))


def faulty(faults: Sequence[str]) -> dict[str, Any]:
    """Return the faults of a job that could not be read, with the keys of `data`."""
    empty: dict[str, Any] = {
        "units": None,
        "tally": {},
        "items": [],
        "comments": [],
        "checks": [],
        "not_computed": [],
        "unread": [],
    }
    return empty | {"faults": [placed(fault) for fault in faults]}


def placed(fault: str) -> dict[str, str | None]:
    """Return a fault with file, row (or item) and field; None for what it does not name.

    Examples
    --------
    >>> placed("bars.csv, row 4, column size: found “#12”")
    {'file': 'bars.csv', 'row': 'row 4', 'field': 'size', 'fault': 'found “#12”'}
    >>> placed("job.toml: deck.width: missing")
    {'file': 'job.toml', 'row': None, 'field': 'deck.width', 'fault': 'missing'}
    """
    found = PLACE.fullmatch(fault)
    if not found:
        return {"file": None, "row": None, "field": None, "fault": fault}
    return {
        "file": found["file"],
        "row": found["row"],
        "field": found["column"] or found["field"],
        "fault": found["fault"],
    }
