"""Chlorides: the rows of the tables of cores, slices, zones and surveys."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

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

    core: Id = Field(description="name of the core")
    station: Station = Field(description="station where it was taken")
    offset: Offset = Field(description="offset where it was taken")
    bar_depth: Annotated[Quantity, InRange(Length, "5 mm", "300 mm")] = Field(description="depth of the top bar there")
    crack: Literal["yes", "no"] = Field(description="whether it was taken in a crack")
    surface_layer: Annotated[Quantity | None, IfGiven(Length, "0 mm", "100 mm")] = Field(
        None, description="depth above which its slices are left out of the fit; empty: that of chloride.profile"
    )
    surface_layer_reason: Remark = Field("", description="why this core has a surface layer of its own")


class SliceRow(Strict):
    """chlorides.csv: one slice of a core a row; a reading at a point begins and ends at the same depth.

    A slice may be left out of the fit: the column holds the reason, and is empty where the slice is fitted.
    """

    slice: Id = Field(description="name of the slice")
    core: Id = Field(description="core of cores.csv")
    upper: Annotated[Quantity, InRange(Length, "0 mm", "600 mm")] = Field(description="depth at which the slice begins")
    lower: Annotated[Quantity, InRange(Length, "0 mm", "600 mm")] = Field(description="depth at which it ends")
    chloride: str = Field(description="chloride content; its unit with the basis stands in the head or in the cell")
    left_out_of_fit: Remark = Field("", description="why the slice is left out of the fit; empty where it is fitted")


class ZoneRow(Strict):
    """zones.csv: a part of the deck that is judged as one."""

    zone: Id = Field(description="name of the zone")
    station_from: Station = Field(description="station at which it begins")
    station_to: Station = Field(description="station at which it ends")
    offset_from: Offset = Field(description="its left edge")
    offset_to: Offset = Field(description="its right edge")


class PotentialRow(Strict):
    """potentials.csv: one half-cell reading a row."""

    point: Id = Field(description="name of the point")
    station: Station = Field(description="station of the point")
    offset: Offset = Field(description="offset of the point")
    potential: Annotated[Quantity, InRange(Potential, "-1200 mV", "400 mV")] = Field(
        description="half-cell potential against the electrode of chloride.survey"
    )


class CoverRow(Strict):
    """covers.csv: one reading of the cover a row."""

    point: Id = Field(description="name of the point")
    station: Station = Field(description="station of the point")
    offset: Offset = Field(description="offset of the point")
    cover: Annotated[Quantity, InRange(Length, "2 mm", "300 mm")] = Field(description="cover read")


class ResistanceRow(Strict):
    """resistances.csv: one reading with four probes a row."""

    point: Id = Field(description="name of the point")
    station: Station = Field(description="station of the point")
    offset: Offset = Field(description="offset of the point")
    spacing: Annotated[Quantity, InRange(Length, "10 mm", "200 mm")] = Field(description="spacing of the four probes")
    resistance: Annotated[Quantity, InRange(Resistance, "0.001 kΩ", "1000 kΩ")] = Field(
        description="voltage over current, as read"
    )


class RuleRow(Strict):
    """rules.csv: what is done where; the first rule that fits is applied."""

    rule: Id = Field(description="name of the rule")
    chloride: Literal["reached", "below", "any"] = Field(description="whether the threshold is reached at the bars")
    potential: Literal["likely", "uncertain", "unlikely", "any"] = Field(description="class of the half-cell potential")
    sounding: Literal["unsound", "sound", "any"] = Field(description="how the concrete sounds")
    action: Text = Field(description="what is done there")
