"""What a checker says of a sheet or of a line of it, and what is answered: a row of comments.csv."""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from deckcalc.base.fields import Day, Id, Strict, Text, read_day

OPEN, ANSWERED, WITHDRAWN = "open", "answered", "withdrawn"


def read_day_or_none(value: object) -> datetime.date | None:
    """Read a date, None where the cell is empty."""
    return read_day(value if str(value).strip() else None)


Words = Annotated[str, Field(max_length=1000)]


class CommentRow(Strict):
    """comments.csv: one comment of a checker a row, on a sheet or a line of it, with its answer.

    No package is to be signed before each is answered or withdrawn; those of former revisions stay with them.
    """

    number: Id = Field(description="number of the comment, by which every page names it", examples=["1"])
    revision: Id = Field(description="revision of the package that it was made on", examples=["A"])
    at: Text = Field(
        description="what it is about, as printed: a sheet, an item, a check, a calculation or its line, a result, an open item, a part "
        "such as Conclusions",
        examples=["02 Reinforcement"],
    )
    by: Annotated[str, Field(min_length=1, max_length=100)] = Field(description="who made it", examples=["B. Checker"])
    date: Day = Field(description="date of the comment", examples=[datetime.date(2027, 5, 10)])
    comment: Annotated[Words, Field(min_length=1)] = Field(
        description="what the checker says or asks", examples=["Which drawing gives the cover of the top bars?"]
    )
    answer: Words = Field("", description="what is answered; empty until somebody has")
    answered_by: Annotated[str, Field(max_length=100)] = Field(
        "", description="who answered, which is never who made the comment"
    )
    answered_on: Annotated[datetime.date | None, BeforeValidator(read_day_or_none)] = Field(
        None, description="date of the answer"
    )
    status: Literal["open", "answered", "withdrawn"] = Field(
        "open", description="open until the checker accepts the answer, then answered; or withdrawn by the checker"
    )

    @property
    def open(self) -> bool:
        """Whether the signature waits for it."""
        return self.status == OPEN
