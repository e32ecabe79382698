"""Tables of what was found and built, of the photographs, and of what is paid; and what the tables of the record must agree in.

They are read like any table of a job and take no part in its plan: what was planned stands as it was beside them.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field

from deckcalc.base.fields import Faults, Id, InRange, OptionalId, Remark, Strict, Text, size_of_bar
from deckcalc.base.work import Moment, OptionalMoment
from deckcalc.core import units
from deckcalc.core.units import Count, Diameter, Length, Price, Share, Stress, Temperature, Volume
from deckcalc.curing.inputs.rows import JUMP, celsius, clock
from deckcalc.patch.inputs.survey import place
from deckcalc.steel.inputs import BarRow, Layer, check_readings

if TYPE_CHECKING:
    from deckcalc.job.settings import JobSettings
    from deckcalc.patch.design import Marked


#: When work stops, in the order of the work.
When = Literal["after removal", "after tying", "before placing", "before opening"]
WHEN: tuple[When, ...] = get_args(When)
AFTER_REMOVAL, AFTER_TYING, BEFORE_PLACING, BEFORE_OPENING = WHEN


@dataclass(frozen=True)
class MayBeEmpty(InRange):
    """A field that holds a quantity, or nothing where it was not read."""

    def read(self, value: object) -> Any:
        """Read the field."""
        return None if value is None or not str(value).strip() else super().read(value)


def size_or_none(value: object) -> str:
    """Return a bar size as the bar tables spell it; it may be empty."""
    return size_of_bar(value) if str(value).strip() else ""


def names_of(text: str) -> list[str]:
    """Return the patches that a cell names.

    Examples
    --------
    >>> names_of("P1; P2")
    ['P1', 'P2']
    """
    return [name.strip() for name in text.split(";") if name.strip()]


Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$", min_length=64, max_length=64, examples=["0" * 64])]
Patches = Annotated[str, Field(min_length=1, max_length=300, examples=["P1; P2"])]
Taken = Annotated[Any, MayBeEmpty(Temperature, "-30 °C", "60 °C")]


class AsFoundRow(Strict):
    """as_found.csv: one patch a row, as it was once the concrete was out; where nothing was measured it stays as planned."""

    patch: Id = Field(description="patch of the plan", examples=["P1"])
    depths: Annotated[units.Quantity, InRange(Length, "5 mm", "600 mm", least=1)] = Field(
        description="depths read in the hole, the deepest among them; from the same surface as in depths.csv"
    )
    length: Annotated[float | None, place("20 mm", "100 m", empty=True)] = Field(
        None, description="length of the hole along the deck; empty: as planned"
    )
    width: Annotated[float | None, place("20 mm", "50 m", empty=True)] = Field(
        None, description="width of the hole across the deck; empty: as planned"
    )
    covers: Annotated[Any, MayBeEmpty(Length, "1 mm", "400 mm", least=1)] = Field(
        None, description="cover of the bars now bare; empty: as planned"
    )
    station: Annotated[float | None, place("-100 km", "100 km", empty=True)] = Field(
        None, description="station of the middle of the hole; empty: as planned"
    )
    offset: Annotated[float | None, place("-100 m", "100 m", empty=True)] = Field(
        None, description="offset of the middle of the hole; empty: as planned"
    )
    time: OptionalMoment = Field(None, description="local date and time at which it was measured")
    by: Remark = Field("", description="who measured it")


class AsFoundBarRow(Strict):
    """as_found_bars.csv: one bar a row, read once it was bare; one that bars.csv has needs nothing but its readings."""

    bar: Id = Field(description="name of the bar: that of bars.csv, or a new one", examples=["B3"])
    readings: Annotated[units.Quantity, InRange(Diameter, "1 mm", "85 mm", least=1)] = Field(
        description="diameters read with the caliper, without ribs"
    )
    patch: OptionalId = Field("", description="patch in which it lies; wanted of a new bar")
    size: Annotated[str, BeforeValidator(size_or_none)] = Field("", description="size; wanted of a new bar")
    layer: Layer | Literal[""] = Field("", description="layer in which it lies; top main where a new bar names none")
    station: Annotated[float | None, place("-100 km", "100 km", empty=True)] = Field(
        None, description="station of the worst place"
    )
    offset: Annotated[float | None, place("-100 m", "100 m", empty=True)] = Field(
        None, description="offset of the worst place"
    )
    loss_length: Annotated[Any, MayBeEmpty(Length, "0 mm", "20 m")] = Field(
        None, description="length over which section is lost"
    )


class AsBuiltRow(Strict):
    """as_built.csv: one batch or truck load a row, those of one patch in the order in which they were placed."""

    load: Id = Field(description="name or number of the load", examples=["1"])
    patches: Patches = Field(description="patches that it went into, separated by semicolons", examples=["P1; P2"])
    time: Moment = Field(description="local date and time at which it was in place")
    volume: Annotated[Any, MayBeEmpty(Volume, "0.5 L", "30 m^3")] = Field(
        None, description="volume of it that was placed; empty: by its bags, or one batch as planned"
    )
    bags: Annotated[Any, MayBeEmpty(Count, "1", "1000")] = Field(None, description="bags that it took")
    slump: Annotated[Any, MayBeEmpty(Length, "0 mm", "280 mm")] = Field(None, description="slump")
    air: Annotated[Any, MayBeEmpty(Share, "0.5 %", "20 %")] = Field(None, description="air by the meter")
    concrete_temperature: Taken = Field(None, description="temperature of the fresh concrete")
    air_temperature: Taken = Field(None, description="temperature of the air")
    slab_temperature: Taken = Field(None, description="temperature of the existing concrete")
    ticket: Remark = Field("", description="number of the delivery ticket")
    by: Remark = Field("", description="who wrote it down")


class CylinderBrokenRow(Strict):
    """as_built_cylinders.csv: the cylinders of one test a row, cast from the concrete placed."""

    test: Id = Field(description="name of the test", examples=["C1"])
    patches: Patches = Field(description="patches whose concrete it was, separated by semicolons", examples=["P1; P2"])
    time: Moment = Field(description="local date and time at which they were broken")
    strengths: Annotated[units.Quantity, InRange(Stress, "0.3 MPa", "150 MPa", least=1)] = Field(
        description="strengths of the cylinders"
    )
    cured: Literal["beside the patch", "standard"] = Field("beside the patch", description="where they were cured")


class LoggerRow(Strict):
    """logger.csv: one reading of a temperature logger in a patch a row."""

    reading: Id = Field(description="name of the reading", examples=["P1-1"])
    patch: Id = Field(description="patch in which the sensor is", examples=["P1"])
    time: Moment = Field(description="local date and time")
    temperature: Annotated[units.Quantity, InRange(Temperature, "-20 °C", "95 °C")] = Field(
        description="temperature in the patch"
    )


class PhotographRow(Strict):
    """photographs.csv: one photograph a row."""

    file: Text = Field(description="name of the file", examples=["P1-after-removal.jpg"])
    patch: Id = Field(description="patch that it shows", examples=["P1"])
    hold: When = Field(description="hold point at which it was taken")
    sha256: Hash = Field(description="SHA-256 of the file, 64 digits and letters a to f", examples=["0" * 64])


#: What an item of work is measured by.
Measure = Literal[
    "area of removal", "area of removal, partial depth", "area of removal, full depth", "volume of concrete", "saw cut",
    "bars added", "forms", "patches", "closures", "lump sum",
]  # fmt: skip


#: What is counted, and what of the others each is.
COUNTED = ("patches", "closures", "lump sum")
KINDS: dict[str, units.Kind] = {
    **dict.fromkeys(("area of removal", "area of removal, partial depth", "area of removal, full depth", "forms"), units.kind_of(units.Area)),
    "volume of concrete": units.kind_of(units.Volume), "saw cut": units.kind_of(units.Distance), "bars added": units.kind_of(units.Mass),
}  # fmt: skip


class PayItemRow(Strict):
    """pay_items.csv: one item of work a row, with its unit, its rule of measurement and its price."""

    item: Id = Field(description="number of the item", examples=["1"])
    description: Text = Field(description="the work, as the contract calls it", examples=["Remove concrete"])
    measure: Measure = Field(description="what it is measured by")
    unit: Annotated[str, Field(max_length=20)] = Field(
        description="unit of payment, such as m², yd², m³, m, kg, lb; empty where things are counted", examples=["m²"]
    )
    price: Annotated[units.Quantity, InRange(Price, "0", "100000000")] = Field(
        description="price of one unit", examples=["120.50"]
    )
    decimals: Annotated[int, Field(ge=0, le=4)] = Field(2, description="decimals to which a quantity is measured")
    overrun: Annotated[Any, MayBeEmpty(Share, "100 %", "1000 %")] = Field(
        None, description="share of the planned quantity above which the price no longer holds; empty: it always holds"
    )
    overrun_price: Annotated[Any, MayBeEmpty(Price, "0", "100000000")] = Field(
        None, description="price of one unit above that; empty: to be agreed"
    )


class Payment(Strict):
    """Who pays what to whom, for the sheet that both sign."""

    contract: Remark = Field("", description="number of the contract", examples=["C-12"])
    owner: Remark = Field("", description="who pays", examples=["Roads Department"])
    contractor: Remark = Field("", description="who is paid", examples=["Deck Repairs"])
    currency: Remark = Field(
        "", description="currency of the prices; left out, that of the closure", examples=["crowns"]
    )


#: Tables of the record by name, and that of the items of work.
RECORD: dict[str, type[Strict]] = {
    "as_found": AsFoundRow, "as_found_bars": AsFoundBarRow, "as_built": AsBuiltRow, "as_built_cylinders": CylinderBrokenRow,
    "logger": LoggerRow, "photographs": PhotographRow,
}  # fmt: skip
ROWS: dict[str, type[Strict]] = {**RECORD, "pay_items": PayItemRow}


def check(
    settings: JobSettings, rows: Mapping[str, list[Any]], marked: Marked, faults: Faults, least: int, over: float
) -> None:
    """Check the record against the patches, against its own order in time, and its bars against the bar tables.

    Parameters
    ----------
    settings, rows
        Of the job.
    marked : Marked
        Its patches.
    faults : Faults
        To which every fault is added.
    least, over
        Readings that a bar must have, and reading over nominal diameter that is still a bar of its size.
    """
    check_items(rows["pay_items"], faults)
    if not any(rows[name] for name in RECORD):
        return
    known = [one.patch for one in marked.patches]
    for name in RECORD:
        for number, row in enumerate(rows[name], 2):
            check_names(f"{name}.csv, row {number}", row, known, faults)
    thick = (
        settings.deck.slab_thickness + (settings.deck.overlay or 0 * settings.deck.slab_thickness) if known else None
    )
    for number, row in enumerate(rows["as_found"], 2):
        if thick is not None and max(row.depths) > thick * (1 + 1e-9):
            found, most = (units.show(value, Length, settings.units) for value in (max(row.depths), thick))
            faults.append(
                f"as_found.csv, row {number}, column depths: a depth of {found} is more than the slab {most}; measure both from the same surface"
            )
    rising("as_built.csv", rows["as_built"], lambda row: row.patches, faults)
    rising("logger.csv", rows["logger"], lambda row: row.patch, faults)
    check_order(rows, faults)
    check_bars(rows, least, over, faults)


def check_items(rows: Sequence[PayItemRow], faults: list[str]) -> None:
    """Check that an item of work is paid by a unit of what it is measured by, and that a price beyond an overrun has one."""
    for number, row in enumerate(rows, 2):
        where, kind = f"pay_items.csv, row {number}", KINDS.get(row.measure)
        if kind is None:
            if row.unit.strip().casefold() not in ("", "each", "ea", "ls", "lump sum", "no."):
                faults.append(f"{where}, column unit: found “{row.unit}”; {row.measure} are counted: leave it empty")
        else:
            try:
                units.read(f"1 {row.unit}", kind)
            except units.InputError as error:
                faults.append(f"{where}, column unit: {row.measure} wants a unit of {kind.name}: {error}")
        if row.overrun_price is not None and row.overrun is None:
            faults.append(
                f"{where}, column overrun: empty, and a price above it is given; say from which share of the plan it holds"
            )


def check_names(where: str, row: Any, known: Collection[str], faults: list[str]) -> None:
    """Name every patch that a row names and the survey does not give."""
    column = "patches" if hasattr(row, "patches") else "patch"
    for name in names_of(getattr(row, column)):
        if name not in known:
            there = f"there are {', '.join(known)}" if known else "the job has none"
            faults.append(f"{where}, column {column}: the survey gives no patch “{name}”; {there}")


def rising(file: str, rows: Sequence[Any], of: Callable[[Any], str], faults: list[str]) -> None:
    """Name every row whose time does not come after that of the row before it; of a logger, a jump of temperature as well."""
    groups: dict[str, list[tuple[int, Any]]] = {}
    for number, row in enumerate(rows, 2):
        groups.setdefault(of(row), []).append((number, row))
    for (_, before), (number, row) in (pair for group in groups.values() for pair in pairwise(group)):
        hours = (row.time - before.time).total_seconds() / 3600
        if hours < 0 or (hours == 0 and file == "logger.csv"):
            faults.append(
                f"{file}, row {number}, column time: {clock(row.time)} does not come after {clock(before.time)}; the rows of one patch stand in the order of time"
            )
        elif isinstance(row, LoggerRow) and abs(celsius(row.temperature) - celsius(before.temperature)) > JUMP * max(
            hours, 1
        ):
            faults.append(
                f"{file}, row {number}, column temperature: {celsius(row.temperature):.1f} °C follows {celsius(before.temperature):.1f} °C; "
                "is one of them in °F, or the sensor out of the concrete?"
            )


def check_order(rows: Mapping[str, list[Any]], faults: list[str]) -> None:
    """Name what was measured, logged or broken in the wrong order: a hole after its concrete, a cylinder before it."""
    placed = placed_by(rows["as_built"])
    for number, row in enumerate(rows["as_found"], 2):
        first = placed.get(row.patch, (None, None))[0]
        if row.time and first and row.time > first:
            faults.append(
                f"as_found.csv, row {number}, column time: {row.patch} was measured at {clock(row.time)}, after its concrete was in place at {clock(first)}"
            )
    for number, row in enumerate(rows["as_built_cylinders"], 2):
        for name in names_of(row.patches):
            last = placed.get(name, (None, None))[1]
            if last and row.time <= last:
                faults.append(
                    f"as_built_cylinders.csv, row {number}, column time: broken at {clock(row.time)}, before the concrete of {name} was in place at {clock(last)}"
                )


def placed_by(rows: Iterable[AsBuiltRow]) -> dict[str, tuple[datetime.datetime, datetime.datetime]]:
    """Return when the first and the last load of each patch was in place."""
    found: dict[str, tuple[datetime.datetime, datetime.datetime]] = {}
    for row in rows:
        for name in names_of(row.patches):
            first, last = found.get(name, (row.time, row.time))
            found[name] = min(first, row.time), max(last, row.time)
    return found


def check_bars(rows: Mapping[str, list[Any]], least: int, over: float, faults: Faults) -> None:
    """Check the bars that were read in the holes as those of bars.csv are checked."""
    before, planned = len(faults), {row.bar: row for row in rows["bars"]}
    for number, row in enumerate(rows["as_found_bars"], 2):
        where = f"as_found_bars.csv, row {number}, bar {row.bar}"
        known = planned.get(row.bar)
        if known is None and not (row.patch and row.size):
            faults.append(f"{where}: bars.csv has no bar “{row.bar}”; a new bar wants its patch and its size")
        elif known is not None and row.patch and known.patch and row.patch != known.patch:
            faults.append(
                f"{where}, column patch: found {row.patch}, and bars.csv has the bar in {known.patch}; is it another bar?"
            )
        else:
            check_readings(bar_of(row, known), least, over, faults)
    faults[before:] = [
        fault.replace("bars.csv, bar ", "as_found_bars.csv, bar ", 1) if fault.startswith("bars.csv, bar ") else fault
        for fault in faults[before:]
    ]


def bar_of(row: AsFoundBarRow, known: BarRow | None) -> BarRow:
    """Return a bar as it was found: the row of bars.csv with what was read in its place, or a new one."""
    names = ("readings", "patch", "size", "layer", "station", "offset", "loss_length")
    given = {
        name: value
        for name in names
        if (value := getattr(row, name)) is not None and not (isinstance(value, str) and not value)
    }
    if known is not None:
        return known.model_copy(update=given)
    return BarRow.model_construct(
        bar=row.bar, **{"layer": "top main", "station": None, "offset": None, "loss_length": None, **given}
    )
