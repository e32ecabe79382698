"""A review as data: plain, for JSON, and as DataFrames."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from deckcalc.job.review import Moved, Review

#: The parts of a review in the order in which a reviewer reads them.
PARTS = ("changed", "flipped", "moved")


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
