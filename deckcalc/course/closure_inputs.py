"""The closure: hours, crews and plant of job.toml; rates.csv and prices.csv, each row with its date and source."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from deckcalc import closure, units
from deckcalc.check import Limit
from deckcalc.closure.network import Step, sorted_steps
from deckcalc.course.curing_rows import Moment, read_date
from deckcalc.inputs import Id, Strict, Text, Written
from deckcalc.units import (
    InputError,
    Minutes,
    Quantity,
    Share,
    TimePerArea,
    TimePerLength,
    TimePerVolume,
)  # fmt: skip

if TYPE_CHECKING:
    from deckcalc.jobfile import Head

#: What a rate counts, and the kind in which its times are written.
PER: dict[str, Any] = {
    "closure": Minutes, "patch": Minutes, "hole": Minutes, "m of cut": TimePerLength, "area": TimePerArea,
    "volume out": TimePerVolume, "mixer": Share, "wait": Minutes,
}  # fmt: skip
Per = Literal["closure", "patch", "hole", "m of cut", "area", "volume out", "mixer", "wait"]
Minute = Written(Minutes, "0 min", "20000 min")
Positive = Annotated[float, Field(gt=0, le=1e9)]


class Noise(Strict):
    """Noise at the ear of one worker in the shift."""

    level: Annotated[Quantity, Written.argument(closure.noise_hours, "L")] = Field(description="dBA at the ear")
    step: Id = Field(description="step of rates.csv that makes it")


class Closure(Strict):
    """The closure that is planned, and who works in it."""

    closing: Moment = Field(description="when the lane may be taken, local time")
    opening: Moment = Field(description="when the lane must be open again")
    tonight: Annotated[list[str], Field(min_length=1)] = Field(
        description="patches of this closure, in the order of the work"
    )
    mix: Text = Field(description="what is placed, in words")
    wait: Literal["rates", "curing"] = Field(
        description="wait for strength: the row of rates.csv, or the hour of the sheet of curing"
    )
    mixer_cycle: Annotated[Quantity, Written.argument(closure.placing_time, "t_c")] = Field(
        description="of one load: charge, mix, discharge"
    )
    placing_rate: Annotated[Quantity, Written.argument(closure.placing_time, "r")] = Field(
        description="at which the crew places"
    )
    workable: Annotated[Quantity, Written(Minutes, "3 min", "180 min")] = Field(
        description="longest gap between two loads without a cold joint"
    )
    crews: dict[str, Annotated[int, Field(ge=1, le=20)]] = Field(
        description="how many of each crew and plant there are"
    )
    people: dict[str, Annotated[int, Field(ge=1, le=30)]] = Field(description="people in each crew")
    samples: Annotated[int, Field(ge=200, le=200000)] = Field(20000, description="samples of the timetable")
    seed: int = Field(1, description="of the samples")
    noise_rule: Literal["5 dB from 90 dBA", "3 dB from 87 dBA", "3 dB from 85 dBA"] = Field(
        description="rule for noise"
    )
    noise: list[Noise] = Field(default_factory=list)
    currency: str = Field("", description="of prices.csv")
    delay_price: Annotated[float, Field(ge=0)] = Field(0, description="delay of road users, for an hour of closure")
    spare: Annotated[Quantity, Written(Share, "0 %", "50 %")] = Field(
        description="of materials, beyond their own allowances"
    )
    source: Text = Field(description="where hours, crews and wait come from")


def read_rate(value: object) -> str:
    """Keep a time as written; it is read by what the rate counts."""
    if not str(value).strip():
        raise InputError("empty, wanted a time such as “12 min” or “3 min/m”; every step needs a rate")
    return str(value)


Rate = Annotated[str, BeforeValidator(read_rate)]
Date = Annotated[datetime.date, BeforeValidator(read_date)]


class RateRow(Strict):
    """rates.csv: one step of the work a row."""

    step: Id
    work: Text
    per: Per
    after: str
    uses: str
    least: Rate
    likely: Rate
    most: Rate
    fallback: str
    date: Date
    source: Text

    def names(self, column: str) -> tuple[str, ...]:
        """Return the names of a cell that separates them by semicolons."""
        return tuple(part.strip() for part in getattr(self, column).split(";") if part.strip())

    def time(self, column: str) -> Quantity:
        """Return a rate as a quantity."""
        return units.read(getattr(self, column), PER[self.per])


class PriceRow(Strict):
    """prices.csv: one price a row; without a date or a currency it is no price."""

    price: Id
    work: Text
    per: Literal["closure", "hour", "patch", "m of cut", "m² of patch", "m³ placed"]
    plan: Literal["this", "other", "both", "overlay"]
    least: Positive
    likely: Positive
    most: Positive
    currency: Text
    date: Date
    source: Text


SECTIONS = {"closure": Closure}
ROWS: dict[str, type[Strict]] = {}
OPTIONAL_ROWS: dict[str, type[Strict]] = {"rates": RateRow, "prices": PriceRow}


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold steps, crews, patches and hours against one another."""
    want = head.closure
    if want is None:
        return
    if want.opening <= want.closing:
        faults.append("job.toml: closure.opening: not after closure.closing; write the date of the morning")
    if want.wait == "curing" and head.curing is None:
        faults.append("job.toml: closure.wait: “curing” wants a section [curing]")
    patches = {row.patch for row in rows["patches"]}
    for name in want.tonight:
        if name not in patches:
            faults.append(
                f"job.toml: closure.tonight: there is no patch “{name}”; the survey gave {', '.join(sorted(patches))}"
            )
    if not rows["rates"]:
        faults.append(
            "rates.csv: missing; the section [closure] wants a rate, with its date and source, for every step"
        )
        return
    steps = {row.step: row for row in rows["rates"]}
    for row in rows["rates"]:
        rate(row, faults)
        for crew in row.names("uses"):
            if crew not in want.crews:
                faults.append(f"rates.csv, step {row.step}, column uses: job.toml has no closure.crews.{crew}")
    for crew in want.people:
        if crew not in want.crews:
            faults.append(f"job.toml: closure.people.{crew}: there is no such crew in closure.crews")
    for one in want.noise:
        if one.step not in steps:
            faults.append(f"job.toml: closure.noise: rates.csv has no step “{one.step}”")
    try:
        sorted_steps([Step(row.step, row.names("after"), (), 0, 0, 0) for row in rows["rates"]])
    except InputError as error:
        faults.append(f"rates.csv, column after: {error}")
    for row in rows["prices"]:
        if not row.least <= row.likely <= row.most:
            faults.append(f"prices.csv, price {row.price}: wanted least ≤ likely ≤ most")
        if row.currency != want.currency:
            faults.append(
                f"prices.csv, price {row.price}, column currency: “{row.currency}”; closure.currency is “{want.currency}”"
            )


def rate(row: RateRow, faults: list[str]) -> None:
    """Read the three rates of a row, and hold them in order."""
    found = []
    for column in ("least", "likely", "most"):
        try:
            found.append(float(row.time(column).to_base_units().magnitude))
        except InputError as error:
            faults.append(f"rates.csv, step {row.step}, column {column}: {error}")
    if len(found) == 3 and not 0 <= found[0] <= found[1] <= found[2]:
        faults.append(f"rates.csv, step {row.step}: wanted least ≤ likely ≤ most, none negative")
