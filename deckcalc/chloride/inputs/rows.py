"""Chlorides: the rows of the tables of cores, slices, zones and surveys."""

from __future__ import annotations

from typing import Annotated, Literal

from deckcalc.base.fields import Id, InRange, Remark, Strict, Text
from deckcalc.core.units import Distance, Length, Potential, Quantity, Resistance

Station = Annotated[Quantity, InRange(Distance, "0 m", "100 km")]
Offset = Annotated[Quantity, InRange(Distance, "-100 m", "100 m")]


class IfGiven(InRange):
    """A field that may be empty."""

    def read(self, value: object) -> Quantity | None:  # type: ignore[override]
        """Read the field; nothing where the cell is empty."""
        return None if value == "" else self.one(value)


class CoreRow(Strict):
    """cores.csv: one core a row; a surface layer of its own wants a reason."""

    core: Id
    station: Station
    offset: Offset
    bar_depth: Annotated[Quantity, InRange(Length, "5 mm", "300 mm")]
    crack: Literal["yes", "no"]
    surface_layer: Annotated[Quantity | None, IfGiven(Length, "0 mm", "100 mm")] = None
    surface_layer_reason: Remark = ""


class SliceRow(Strict):
    """chlorides.csv: one slice of a core a row; a reading at a point begins and ends at the same depth.

    A slice may be left out of the fit: the column holds the reason, and is empty where the slice is fitted.
    """

    slice: Id
    core: Id
    upper: Annotated[Quantity, InRange(Length, "0 mm", "600 mm")]
    lower: Annotated[Quantity, InRange(Length, "0 mm", "600 mm")]
    chloride: str
    left_out_of_fit: Remark = ""


class ZoneRow(Strict):
    """zones.csv: a part of the deck that is judged as one."""

    zone: Id
    station_from: Station
    station_to: Station
    offset_from: Offset
    offset_to: Offset


class PotentialRow(Strict):
    """potentials.csv: one half-cell reading a row."""

    point: Id
    station: Station
    offset: Offset
    potential: Annotated[Quantity, InRange(Potential, "-1200 mV", "400 mV")]


class CoverRow(Strict):
    """covers.csv: one reading of the cover a row."""

    point: Id
    station: Station
    offset: Offset
    cover: Annotated[Quantity, InRange(Length, "2 mm", "300 mm")]


class ResistanceRow(Strict):
    """resistances.csv: one reading with four probes a row."""

    point: Id
    station: Station
    offset: Offset
    spacing: Annotated[Quantity, InRange(Length, "10 mm", "200 mm")]
    resistance: Annotated[Quantity, InRange(Resistance, "0.001 kΩ", "1000 kΩ")]


class RuleRow(Strict):
    """rules.csv: what is done where; the first rule that fits is applied."""

    rule: Id
    chloride: Literal["reached", "below", "any"]
    potential: Literal["likely", "uncertain", "unlikely", "any"]
    sounding: Literal["unsound", "sound", "any"]
    action: Text
