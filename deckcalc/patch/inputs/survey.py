"""The survey of a job: how the deck lies, how it was surveyed, and the tables of what was found, read to plain metres."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Annotated, Any, Literal

import shapely
from pydantic import BeforeValidator, Field

from deckcalc.base.fields import Id, InRange, Remark, Strict, Text
from deckcalc.core import spelling, units
from deckcalc.core.units import Distance, InputError, Length


class Metres(float):
    """A length in metres that says so when printed."""

    def __str__(self) -> str:
        return f"{float(self):.6g} m"


@lru_cache(maxsize=4096)
def factor(unit: str) -> float:
    """Return the metres in a unit of length."""
    kind = units.kind_of(Distance)
    return kind.scale(units.unit_of(unit, kind))[0]


@dataclass(frozen=True)
class Place(InRange):
    """A field that is read to plain metres, fast enough for long tables; with `empty`, it may be left empty."""

    empty: bool = False

    @cached_property
    def bounds(self) -> tuple[float, float]:
        """Between what it lies, in metres."""
        low, high = (float(units.read(text, self.kind).m_as("m")) for text in (self.low, self.high))
        return low, high

    def read(self, value: object) -> Metres | None:  # type: ignore[override]
        """Read the field."""
        text = str(value).strip()
        if not text and self.empty:
            return None
        match = re.fullmatch(r"([-+]?(?:\d+\.?\d*|\.\d+))\s*([a-zA-Z]+)", text, re.A)
        if match:
            try:
                found = float(match[1]) * factor(match[2])
            except InputError:
                return Metres(self.one(value).m_as("m"))  # says what is wrong
            low, high = self.bounds
            if low - 1e-9 <= found <= high + 1e-9:
                return Metres(found)
        return Metres(self.one(value).m_as("m"))


def place(low: str, high: str, kind: Any = Distance, empty: bool = False) -> Place:
    """Return a field for a length between two values."""
    return Place(kind, low, high, empty=empty)


Station = Annotated[float, place("-100 km", "100 km")]
Offset = Annotated[float, place("-100 m", "100 m")]


def bearing(value: object) -> float:
    """Read a bearing or a skew in degrees; the unit has to be written."""
    found = spelling.readings(str(value))
    if len(found) == 1 and found[0].unit in ("deg", "°") and abs(float(found[0].number)) <= 360:
        return float(found[0].number)
    raise InputError(f"found “{value}”, wanted degrees with their unit, for instance “45 deg”")


Degrees = Annotated[float, BeforeValidator(bearing)]


class Below(Strict):
    """What lies or passes below a part of the deck."""

    what: Literal["road", "railway", "water", "footpath", "ground"] = Field(description="what lies or passes below")
    from_station: Station = Field(description="from this station on")
    to_station: Station = Field(description="to this one")
    from_offset: Annotated[float | None, place("-100 m", "100 m")] = Field(
        None, description="from this offset on; the whole width if left out"
    )
    to_offset: Annotated[float | None, place("-100 m", "100 m")] = Field(None, description="to this one")


class Lane(Strict):
    """A lane of the deck."""

    name: Text = Field(description="what it is called", examples=["northbound"])
    from_offset: Offset = Field(description="its left line")
    to_offset: Offset = Field(description="its right line")
    direction: Literal["ahead", "back"] = Field(description="way of its traffic: with rising stations, or against them")


class Plan(Strict):
    """The deck in plan: offsets across the centreline, positive to the right looking ahead."""

    left: Offset = Field(description="offset of the left kerb face, negative to the left of the centreline")
    right: Offset = Field(description="offset of the right kerb face")
    joints: Annotated[list[Station], Field(min_length=2)] = Field(
        description="stations of joints and deck ends on the centreline, in order; spans lie between"
    )
    first_span: int = Field(1, ge=1, le=999, description="number of the first of these spans")
    north: Degrees | None = Field(
        None,
        description="bearing of the way ahead from north, clockwise, for the arrow on the drawing; none drawn if left out",
    )
    skew: Degrees = Field(0.0, description="skew of the joints; positive if the right end lies ahead")
    girders: list[Offset] = Field(
        default_factory=list, description="offsets of the girder lines, from left to right; none in a slab span"
    )
    girder_type: Literal["", "steel", "concrete", "precast concrete", "timber"] = Field(
        "", description="what the girders are"
    )
    flange_width: Annotated[float | None, place("50 mm", "3 m", Length)] = Field(
        None, description="width of the top flange, or of the stem of a cast girder"
    )
    left_edge: Annotated[float | None, place("-100 m", "100 m")] = Field(
        None, description="left edge of the slab; the kerb face if left out"
    )
    right_edge: Annotated[float | None, place("-100 m", "100 m")] = Field(None, description="right edge of the slab")
    left_stands: Remark = Field("", description="what stands on the left edge: kerb, parapet, footway")
    right_stands: Remark = Field("", description="what stands on the right edge")
    lanes: list[Lane] = Field(default_factory=list, description="lanes, from left to right")
    below: list[Below] = Field(default_factory=list, description="what lies or passes below, by area")

    def panels(self) -> list[Any]:
        """Return the deck of each span as a polygon."""
        lean = math.tan(math.radians(self.skew))
        corner = lambda joint, y: (joint + y * lean, y)  # noqa: E731
        return [
            shapely.Polygon([corner(a, self.left), corner(b, self.left), corner(b, self.right), corner(a, self.right)])
            for a, b in zip(self.joints, self.joints[1:], strict=False)
        ]


class Survey(Strict):
    """How the deck was surveyed."""

    spacing_along: Annotated[float | None, place("50 mm", "3 m", Length)] = Field(
        None, description="spacing of the soundings along the centreline, if there is soundings.csv"
    )
    spacing_across: Annotated[float | None, place("50 mm", "3 m", Length)] = Field(
        None, description="spacing of the soundings across the centreline"
    )
    from_offset: Annotated[float | None, place("-100 m", "100 m")] = Field(
        None, description="left edge of the strip surveyed; the kerb if left out"
    )
    to_offset: Annotated[float | None, place("-100 m", "100 m")] = Field(
        None, description="right edge of the strip surveyed; the kerb if left out"
    )
    readings_within: Annotated[float, place("0 mm", "1 m", Length)] = Field(
        "150 mm",
        validate_default=True,
        description="depth readings so far outside repair limits still belong to the patch",
    )


class SoundingRow(Strict):
    """soundings.csv: a line of soundings a row, evenly spaced from its first mark to its last."""

    line: Id = Field(description="name of the line")
    station: Station = Field(description="station of its first mark")
    offset: Offset = Field(description="offset of its first mark")
    end_station: Annotated[float | None, place("-100 km", "100 km", empty=True)] = Field(
        description="station of its last mark; empty where there is one mark"
    )
    end_offset: Annotated[float | None, place("-100 m", "100 m", empty=True)] = Field(
        description="offset of its last mark; empty where there is one mark"
    )
    marks: str = Field(
        description="one letter for each place sounded: h for delaminated (it sounds hollow), . for sound, n for not sounded"
    )


class RadiusRow(Strict):
    """radii.csv: one radius a row, from a hole to where the concrete stops sounding hollow."""

    radius: Id = Field(description="name of the radius")
    hole: Id = Field(description="hole that it belongs to")
    station: Station = Field(description="station of the hole")
    offset: Offset = Field(description="offset of the hole")
    bearing: Degrees = Field(description="direction of the radius, clockwise from the way ahead")
    reach: Annotated[float, place("5 mm", "30 m")] = Field(
        description="from the hole to where the concrete stops sounding hollow"
    )


class TraceRow(Strict):
    """traces.csv: one vertex of a traced outline a row, in the order walked."""

    vertex: Id = Field(description="name of the vertex")
    outline: Id = Field(description="outline that it belongs to")
    station: Station = Field(description="station of the vertex")
    offset: Offset = Field(description="offset of the vertex")


class RectangleRow(Strict):
    """rectangles.csv: one unsound rectangle a row, by its middle."""

    area: Id = Field(description="name of the area")
    middle_station: Station = Field(description="station of its middle")
    middle_offset: Offset = Field(description="offset of its middle")
    length: Annotated[float, place("20 mm", "100 m")] = Field(description="length along the centreline")
    width: Annotated[float, place("20 mm", "50 m")] = Field(description="width across it")


class PatchRow(Strict):
    """patches.csv: one unsound rectangle a row by tape measure, with its mean depth; its edges from a joint and from a kerb.

    Its name is that of the patch, as long as every patch comes from this table.
    """

    patch: Id = Field(description="name of the patch")
    from_joint: Annotated[float, place("0 m", "1 km")] = Field(
        description="from the joint, ahead along the deck, to the nearest edge"
    )
    from_kerb: Annotated[float, place("0 m", "100 m")] = Field(
        description="from the face of the kerb to the nearest edge"
    )
    length: Annotated[float, place("20 mm", "100 m")] = Field(description="along the deck")
    width: Annotated[float, place("20 mm", "50 m")] = Field(description="across the deck")
    depth: Annotated[float, place("5 mm", "600 mm", Length)] = Field(
        description="mean depth of the unsound concrete; single readings stand in depths.csv"
    )
    cover: Annotated[float | None, place("1 mm", "400 mm", Length, empty=True)] = Field(
        None, description="of the top bars, where it was measured; else deck.top_cover"
    )
    joint: Annotated[int, Field(ge=1, le=1000)] = Field(1, description="number of the joint, counted from the first")
    kerb: Literal["left", "right"] = Field("left", description="from which kerb, looking ahead")


class ReadingRow(Strict):
    """depths.csv: one place a row, with the depth of unsound concrete, the cover of the top bars, or both."""

    reading: Id = Field(description="name of the reading")
    station: Station = Field(description="station of the place")
    offset: Offset = Field(description="offset of the place")
    depth: Annotated[float | None, place("5 mm", "600 mm", Length, empty=True)] = Field(
        description="depth of unsound concrete; empty where it was not read"
    )
    cover: Annotated[float | None, place("1 mm", "400 mm", Length, empty=True)] = Field(
        description="cover of the top bars; empty where it was not read"
    )


FORMS: dict[str, type[Strict]] = {
    "soundings": SoundingRow, "radii": RadiusRow, "traces": TraceRow, "rectangles": RectangleRow,
    "patches": PatchRow,
}  # fmt: skip
