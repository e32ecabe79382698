"""A review as data: plain, for JSON, as DataFrames, and as the short tables that a notebook shows."""

from __future__ import annotations

from itertools import chain, takewhile, zip_longest
from typing import TYPE_CHECKING, Any

from deckcalc.show.display import html_table

if TYPE_CHECKING:
    import pandas as pd

    from deckcalc.job.review import Moved, Review

#: The parts of a review in the order in which a reviewer reads them.
PARTS = ("changed", "flipped", "moved")
#: Rows of one table in a notebook, and the words that stand around those that differ.
MOST_ROWS, AROUND = 12, 4


def sheet_of(one: Moved) -> str:
    """Return the title of the sheet that a result that moved stands on; it begins the words of its place where nothing else says so."""
    return getattr(one, "sheet", "") or one.where.partition(", ")[0]


def data(review: Review) -> dict[str, list[dict[str, str]]]:
    """Return inputs changed, verdicts flipped and results moved, as plain data."""
    return {
        part: [
            {"where": one.where, "old": one.old, "new": one.new}
            | ({"change": one.percent, "sheet": sheet_of(one)} if part == "moved" else {})
            for one in getattr(review, part)
        ]
        for part in PARTS
    }


def frames(review: Review) -> dict[str, pd.DataFrame]:
    """Return the parts of a review as DataFrames by name: ``changed``, ``flipped``, ``moved``."""
    import pandas as pd

    heads = ["where", "old", "new"]
    more = {"moved": ["change", "sheet"]}
    return {part: pd.DataFrame(rows, columns=heads + more.get(part, [])) for part, rows in data(review).items()}


def frame(review: Review) -> pd.DataFrame:
    """Return a review as one DataFrame, the part of each row in its first column."""
    import pandas as pd

    parts: list[Any] = [one.assign(part=part) for part, one in frames(review).items() if len(one)]
    columns = ["part", "where", "old", "new", "change", "sheet"]
    return (
        pd.concat(parts, ignore_index=True).reindex(columns=columns).fillna("")
        if parts
        else pd.DataFrame(columns=columns)
    )


def html(review: Review) -> str:
    """Return what a notebook shows of a review: inputs, what flipped, and of each sheet the first results of a kind."""
    kinds: dict[str, dict[str, Moved]] = {}
    for one in review.moved:
        kinds.setdefault(sheet_of(one), {}).setdefault(one.where.rpartition(": ")[2], one)
    some = [one for one in chain.from_iterable(zip_longest(*(found.values() for found in kinds.values()))) if one]
    shown = sorted(some[:MOST_ROWS], key=review.moved.index)
    heads = ["", "as filed", "changed"]
    tables = [html_table(f"{review.counted}.", heads, ([one.where, one.old, one.new] for one in review.changed))]
    if review.flipped:
        what = f"Verdicts, instructions and decisions that read otherwise, those that flipped first{rest(review.flipped, MOST_ROWS)}."
        rows = ([one.where, *apart(one.old, one.new)] for one in review.flipped[:MOST_ROWS])
        tables.append(html_table(what, heads, rows))
    if shown:
        what = f"Results that moved{rest(review.moved, len(shown))}."
        rows = ([one.where, one.old, one.new, one.percent] for one in shown)
        tables.append(html_table(what, [*heads, "change"], rows))
    return "".join(tables)


def rest(rows: list[Moved], shown: int) -> str:
    """Return how many of how many rows are shown, where some are not."""
    return f": {shown} of {len(rows)}, all in frame()" if len(rows) > shown else ""


def apart(old: str, new: str) -> tuple[str, str]:
    """Return two long texts without the words that they begin and end with alike.

    Examples
    --------
    >>> apart("take out all of it, 3 in at least, then wet it for a day", "take out all of it, 4 in at least, then wet it for a day")
    ('… out all of it, 3 in at least, then …', '… out all of it, 4 in at least, then …')
    """
    a, b = old.split(), new.split()
    first = max(0, alike(a, b) - AROUND)
    last = max(0, min(alike(a[::-1], b[::-1]), min(len(a), len(b)) - first - AROUND) - AROUND)
    return cut(a, first, len(a) - last), cut(b, first, len(b) - last)


def alike(a: list[str], b: list[str]) -> int:
    """Return with how many words two texts begin alike."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(a, b, strict=False)))


def cut(words: list[str], first: int, last: int) -> str:
    """Return some of the words, with a sign where others stood."""
    return " ".join(["…"] * (first > 0) + words[first:last] + ["…"] * (last < len(words)))
