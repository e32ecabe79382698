"""The plan of the work: which patches are placed when, in which closure, cured how, opened when. Every sheet reads it here."""

from __future__ import annotations

import datetime
import math
import zoneinfo
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from deckcalc.base.fields import Id, InRange, OptionalId, Strict
from deckcalc.core import clock
from deckcalc.core.clock import Clock, checked
from deckcalc.core.dates import read_moment
from deckcalc.core.units import InputError, Length, Quantity, Temperature

THICKNESS = InRange(Length, "10 mm", "600 mm")
PLACED = InRange(Temperature, "0 °C", "60 °C")
#: How a placing is cured until the lane opens, and after.
Cure = Literal["wet fabric", "curing compound", "wet fabric, then compound"]


def read_moment_or_none(value: object) -> datetime.datetime | None:
    """Read a local date and time, None where the cell is empty."""
    return None if value is None or not str(value).strip() else read_moment(value)


Moment = Annotated[datetime.datetime, BeforeValidator(read_moment)]
OptionalMoment = Annotated[datetime.datetime | None, BeforeValidator(read_moment_or_none)]


class PlacementRow(Strict):
    """placements.csv: one placing a row, of one concrete; patches separated by semicolons in the order of the work.

    A row without a closure is a trial slab: it has a thickness and no patches.
    """

    placement: Id = Field(description="name of the placing")
    closure: OptionalId = Field("", description="closure in which it is placed; empty for a trial slab")
    patches: str = Field(
        description="patches in the order of the work, separated by semicolons; empty for a trial slab"
    )
    thickness: str = Field(
        description=f"thickness of a trial slab, {THICKNESS.low} to {THICKNESS.high}; empty for patches"
    )
    closing: OptionalMoment = Field(None, description="local date and time at which the lane may be taken")
    start: Moment = Field(description="local date and time at which placing begins")
    end: Moment = Field(description="local date and time at which placing ends")
    opening: Moment = Field(description="local date and time at which the lane must be open again")
    concrete_temperature: str = Field(
        description=f"temperature of the concrete as placed, {PLACED.low} to {PLACED.high}; empty: by its materials"
    )
    slab_temperature: Annotated[Quantity, InRange(Temperature, "-20 °C", "60 °C")] = Field(
        description="temperature of the existing concrete at placing"
    )
    curing: Cure = Field("wet fabric", description="how it is cured until the lane opens, and after")
    concrete: OptionalId = Field("", description="name of the concrete; empty: that of its patches")

    @property
    def names(self) -> list[str]:
        """The patches that are placed, in the order of the work."""
        return [name.strip() for name in self.patches.split(";") if name.strip()]

    @property
    def wet(self) -> bool:
        """Whether it is cured under wet fabric."""
        return "wet fabric" in self.curing

    @property
    def sprayed(self) -> bool:
        """Whether it is cured with a compound."""
        return "compound" in self.curing


@dataclass(frozen=True)
class Closure:
    """One closure of the lane: its placings, its patches in the order of the work, its hours.

    Attributes
    ----------
    name : str
    placings : tuple of PlacementRow
    closing, opening : datetime
        Local times: when the lane may be taken, and when it must be open again.
    """

    name: str
    placings: tuple[PlacementRow, ...]
    closing: datetime.datetime
    opening: datetime.datetime

    @property
    def patches(self) -> list[str]:
        """Its patches in the order of the work."""
        return [name for row in self.placings for name in row.names]


@dataclass(frozen=True)
class WorkPlan:
    """The adopted plan of the work: the rows of placements.csv.

    Attributes
    ----------
    rows : tuple of PlacementRow
        Placings of patches and trial slabs, in order.
    zone : ZoneInfo or None
        Time zone of the job; None where it names none, and then no change of the clocks is known.
    style : {"24 h", "12 h"}
        Clock by which hours are printed.
    """

    rows: tuple[PlacementRow, ...] = ()
    zone: zoneinfo.ZoneInfo | None = None
    style: Clock = "24 h"

    def minutes(self, first: datetime.datetime, last: datetime.datetime) -> float:
        """Return the minutes that pass from one local moment to another."""
        return clock.minutes_between(first, last, self.zone)

    def after(self, start: datetime.datetime, minutes: float) -> datetime.datetime:
        """Return the local moment so many minutes after another, to the minute below (a limit is kept)."""
        return clock.after(start, math.floor(minutes + 1e-6), self.zone)

    def in_words(self, moment: datetime.datetime) -> str:
        """Print weekday, date in words and hour."""
        return clock.in_words(moment, self.style, self.zone)

    def hour(self, moment: datetime.datetime) -> str:
        """Print the hour of a moment."""
        return clock.time_of_day(moment, self.style, self.zone)

    @property
    def placings(self) -> list[PlacementRow]:
        """The placings of patches."""
        return [row for row in self.rows if row.names]

    @property
    def adopted(self) -> bool:
        """Whether there is a plan."""
        return bool(self.placings)

    @property
    def closures(self) -> list[Closure]:
        """The closures in the order of their closing."""
        found: dict[str, list[PlacementRow]] = {}
        for row in self.placings:
            found.setdefault(row.closure, []).append(row)
        made = [
            Closure(name, tuple(rows), min(row.closing or row.start for row in rows), max(row.opening for row in rows))
            for name, rows in found.items()
        ]
        return sorted(made, key=lambda one: one.closing)

    def __iter__(self) -> Iterator[Closure]:
        """Give the closures in order."""
        return iter(self.closures)

    def placing_of(self, patch: str) -> PlacementRow | None:
        """Return the placing of a patch, None where the plan has none."""
        return next((row for row in self.placings if patch in row.names), None)

    def closure_of(self, patch: str) -> Closure | None:
        """Return the closure of a patch, None where the plan has none."""
        return next((one for one in self.closures if patch in one.patches), None)

    def unplanned(self, patches: Sequence[str]) -> list[str]:
        """Return the patches that the plan leaves out."""
        planned = {name for row in self.placings for name in row.names}
        return [name for name in patches if name not in planned]


def check_plan(plan: WorkPlan, patches: Sequence[str] | None, faults: list[str]) -> None:
    """Check the plan in itself and against the patches, where they are known: each patch once, the hours in order, closures apart."""
    seen: dict[str, str] = {}
    for number, row in enumerate(plan.rows, 2):
        where = f"placements.csv, row {number}, placement {row.placement}"
        for name in row.names:
            if patches is not None and name not in patches:
                faults.append(f"{where}, column patches: the survey gives no patch “{name}”")
            if name in seen:
                faults.append(
                    f"{where}, column patches: patch {name} is placed in {seen[name]} already; a patch is placed once"
                )
            seen[name] = row.placement
        if bool(row.names) == bool(row.thickness):
            faults.append(f"{where}: wanted either patches, or the thickness of a trial slab, not both or neither")
        if row.names and not row.closure:
            faults.append(f"{where}, column closure: empty; name the closure in which these patches are placed")
        if row.names and row.closing is None:
            faults.append(f"{where}, column closing: empty; say when the lane may be taken")
        for field, written in (("thickness", THICKNESS), ("concrete_temperature", PLACED)):
            try:
                if getattr(row, field):
                    written.one(getattr(row, field))
            except InputError as error:
                faults.append(f"{where}, column {field.replace('_', ' ')}: {error}")
        hours = [row.closing or row.start, row.start, row.end, row.opening]
        if not (hours[0] <= hours[1] < hours[2] < hours[3]):
            faults.append(
                f"{where}: closing, start, end and opening do not follow one another: "
                + ", ".join(f"{hour:%Y-%m-%d %H:%M}" for hour in hours)
            )
        for column in ("closing", "start", "end", "opening") if plan.zone else ():
            moment = getattr(row, column)
            try:
                if moment is not None and plan.zone:
                    checked(moment, plan.zone)
            except InputError as error:
                faults.append(f"{where}, column {column}: {error}")
    names = [row.placement for row in plan.rows]
    for name in dict.fromkeys(name for name in names if names.count(name) > 1):
        faults.append(f"placements.csv: placement {name} appears twice")
    if faults:
        return
    for one in plan.closures:
        for column in ("closing", "opening"):
            if len({getattr(row, column) for row in one.placings}) > 1:
                faults.append(
                    f"placements.csv, closure {one.name}: its rows give more than one {column}; a closure has one"
                )
    for before, after in zip(plan.closures, plan.closures[1:], strict=False):
        if after.closing < before.opening:
            faults.append(f"placements.csv: closure {after.name} begins before closure {before.name} has opened")
