"""What files of outlines hold, GeoJSON and lists of points from a phone's GPS; `outline_drawings` reads DXF.

A file is data of somebody else: it is read within bounds, nothing in it is run, and what is no outline is named. What comes
from here is as the file has it, in its own coordinates; `known_points` places it on the deck.
"""

from __future__ import annotations

import dataclasses
import importlib
import json
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator

from deckcalc.base.fields import Id, JobError, OptionalId, Strict
from deckcalc.core.units import InputError, clipped
from deckcalc.job.bounded import MOST_WRITTEN, text_of
from deckcalc.job.dialect import read_csv
from deckcalc.job.rows import read_rows, validated
from deckcalc.patch.inputs.survey import Offset, Station, place

Floats = NDArray[np.float64]
#: What is read of one file: parts of a drawing or features, and points of one line.
MOST_PARTS, MOST_POINTS = 20_000, 2_000
#: Outlines of three vertices, as many as a table holds rows.
MOST_LINES = MOST_WRITTEN // 3
#: A line of which the ends are nearer than this share of its length was meant to be closed.
NEARLY = 0.1


@dataclass(frozen=True, eq=False)
class Line:
    """An outline as the file has it, the last point not repeated; without a name it is given one later.

    Where `fault` says what is wrong with it, it was meant to be an outline and is none.
    """

    what: str
    xy: Floats
    name: str = ""
    layer: str = ""
    holes: int = 0
    fault: str = ""


@dataclass(frozen=True, eq=False)
class Known:
    """A point of which station and offset are known: its coordinates in the file, and in metres on the deck."""

    name: str
    xy: tuple[float, float]
    at: tuple[float, float]


@dataclass(eq=False)
class Drawn:
    """What a file holds.

    Attributes
    ----------
    kind : str
    fixes : bool
        Whether coordinates are longitudes and latitudes; metres otherwise, or the unit that `metres` says.
    metres : float
        Metres in its unit of length.
    lines : list of Line
    points : dict of tuple
        Single points by name.
    known : list of Known
    left_out : list of tuple of str
        What is no outline, and why.
    notes : list of str
    """

    kind: str
    fixes: bool = False
    metres: float = 1.0
    lines: list[Line] = field(default_factory=list)
    points: dict[str, tuple[float, float]] = field(default_factory=dict)
    known: list[Known] = field(default_factory=list)
    left_out: list[tuple[str, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def take(self, line: Line, closed: bool) -> None:
        """Take a line if it is closed; one whose ends nearly meet was meant to be, and any other one is no outline."""
        ends = float(np.hypot(*(line.xy[-1] - line.xy[0])))
        length = float(np.hypot(*np.diff(line.xy, axis=0).T).sum())
        if closed or ends < NEARLY * length:
            fault = line.fault if closed else "its ends nearly meet, but it is open; close it"
            self.lines.append(dataclasses.replace(line, fault=fault))
            if len(self.lines) > MOST_LINES:
                raise InputError(
                    f": more than {MOST_LINES} closed outlines; export those of unsound concrete alone, on a layer"
                )
        else:
            self.left_out.append((line.name or line.what, "an open line, no outline"))


def library(name: str) -> Any:
    """Import what only this part of the work wants.

    Raises
    ------
    InputError
        If it is not installed.
    """
    try:
        return importlib.import_module(name)
    except ModuleNotFoundError:
        raise InputError(
            f": {name} is not installed; install it with: python -m pip install 'deckcalc[survey]'"
        ) from None


# --- GeoJSON (RFC 7946)


def no_number(text: str) -> float:
    """Refuse NaN and infinities, which are no JSON."""
    raise InputError(f": holds {text}, which is no number")


def geojson(data: bytes, on_deck: bool) -> Drawn:
    """Read polygons and closed lines of GeoJSON; `on_deck` if coordinates are station and offset by agreement."""
    try:
        root = json.loads(text_of(data), parse_constant=no_number)
    except RecursionError:
        raise InputError(": brackets are nested too deep") from None
    except ValueError as error:
        raise InputError(f": no JSON: {clipped(error, 120)}") from None
    found = Drawn("GeoJSON", fixes=not on_deck)
    if not on_deck and isinstance(root, dict) and root.get("crs") is not None:
        name = json.dumps(root["crs"])
        if not any(word in name for word in ("CRS84", "4326")):
            raise InputError(
                f": names the coordinate system {clipped(name, 80)}; wanted longitude and latitude of WGS 84 (RFC 7946)"
            )
    for count, (place_, feature, shape) in enumerate(shapes(root)):
        if count >= MOST_PARTS:
            raise InputError(f": more than {MOST_PARTS} features; export the outlines alone")
        one_shape(found, place_, feature, shape)
    return found


def shapes(root: Any) -> Iterator[tuple[str, dict[str, Any], Any]]:
    """Yield every geometry with its place and the feature it belongs to."""
    kind = root.get("type") if isinstance(root, dict) else None
    if kind == "FeatureCollection":
        features = root.get("features")
        if not isinstance(features, list):
            raise InputError(": features: wanted a list")
    elif kind == "Feature":
        features = [root]
    else:
        features = [{"type": "Feature", "geometry": root}]
    for number, feature in enumerate(features, 1):
        where = f"feature {number}"
        if not isinstance(feature, dict) or feature.get("type") != "Feature":
            raise InputError(f", {where}: wanted an object of the type Feature")
        shape = feature.get("geometry")
        parts = (
            shape.get("geometries") if isinstance(shape, dict) and shape.get("type") == "GeometryCollection" else None
        )
        for one in parts if isinstance(parts, list) else [shape]:
            yield where, feature, one


def one_shape(found: Drawn, where: str, feature: dict[str, Any], shape: Any) -> None:
    """Take one geometry: an outline, a known point, or something that is left out."""
    given = feature.get("properties")
    properties = given if isinstance(given, dict) else {}
    name = next((properties[key] for key in ("outline", "name") if properties.get(key)), feature.get("id") or "")
    name = str(name).strip() if isinstance(name, str | int) else ""
    kind = shape.get("type") if isinstance(shape, dict) else None
    parts = shape.get("coordinates") if isinstance(shape, dict) else None
    what = f"{where}, {kind}"
    if kind == "Point":
        xy = positions([parts], what, found.fixes)[0]
        point = (float(xy[0]), float(xy[1]))
        if not name:
            found.left_out.append((what, "a point without a name"))
        elif name in found.points:
            raise InputError(f", {what}: a second point “{clipped(name)}”")
        else:
            found.points[name] = point
            fixed(found, what, name, point, properties)
    elif kind in ("Polygon", "MultiPolygon"):
        several = listed(parts if kind == "MultiPolygon" else [parts], what)
        for number, rings in enumerate(several, 1):
            tail = f"-{number}" if len(several) > 1 else ""
            outer, *holes = listed(rings, what)
            xy = positions(outer, what, found.fixes)
            if len(xy) < 4 or not np.array_equal(xy[0], xy[-1]):
                raise InputError(f", {what}: its ring is not closed; the last position has to repeat the first one")
            found.take(Line(what + tail, xy[:-1], name and name + tail, holes=len(holes)), closed=True)
    elif kind == "LineString":
        xy = positions(parts, what, found.fixes)
        closed = len(xy) > 2 and np.array_equal(xy[0], xy[-1])
        found.take(Line(what, xy[:-1] if closed else xy, name), closed)
    else:
        found.left_out.append((name or where, f"a {clipped(kind)}, no outline" if kind else "no geometry"))


def fixed(found: Drawn, what: str, name: str, xy: tuple[float, float], properties: dict[str, Any]) -> None:
    """Note a point whose station and offset the file gives."""
    if "station" in properties or "offset" in properties:
        given = {key: properties.get(key, "") for key in ("station", "offset")}
        found.known.append(Known(name, xy, on_deck_at(given, what)))


def listed(value: Any, what: str) -> list[Any]:
    """Return a list that is not empty."""
    if not isinstance(value, list) or not value:
        raise InputError(f", {what}: coordinates: wanted a list that is not empty")
    return value


def positions(value: Any, what: str, fixes: bool) -> Floats:
    """Return positions as numbers, heights left out."""
    numbers = []
    for position in listed(value, what):
        pair = position[:2] if isinstance(position, list) else []
        if len(pair) != 2 or not all(isinstance(x, int | float) and not isinstance(x, bool) for x in pair):
            raise InputError(f", {what}: found “{clipped(position)}”, wanted a position of two numbers")
        if not all(abs(x) < 1e9 for x in pair):
            raise InputError(f", {what}: found “{clipped(position)}”, wanted finite numbers")
        if fixes and (abs(pair[0]) > 180 or abs(pair[1]) > 90):
            raise InputError(
                f", {what}: found “{clipped(position)}”, wanted longitude and latitude in degrees; "
                "where they are station and offset, say --deck-coordinates with --unit"
            )
        numbers.append(pair)
    return bounded(np.array(numbers, dtype=float), what)


def bounded(xy: Floats, what: str) -> Floats:
    """Refuse a line of too many points."""
    if len(xy) > MOST_POINTS:
        raise InputError(f", {what}: {len(xy)} points, wanted at most {MOST_POINTS}")
    return xy


class Place(Strict):
    """Where a known point is on the deck."""

    station: Station
    offset: Offset


def on_deck_at(given: dict[str, Any], what: str) -> tuple[float, float]:
    """Read station and offset with their units."""
    faults: list[str] = []
    read = validated(Place, given, what, faults)
    if read is None:
        raise JobError(faults)
    return float(read.station), float(read.offset)


# --- points of a phone


def degrees_to(most: float) -> Callable[[object], float]:
    """Return what reads decimal degrees between minus and plus so many."""

    def read(value: object) -> float:
        try:
            number = float(str(value).strip().removesuffix("deg").removesuffix("°"))
        except ValueError:
            number = math.nan
        if not abs(number) <= most:
            raise InputError(f"found “{clipped(value)}”, wanted decimal degrees from -{most:g} to {most:g}")
        return number

    return read


def whole_or_none(value: object) -> int | None:
    """Read a whole number, or nothing."""
    text = str(value).strip()
    if not text.isascii() or not (text.isdigit() or not text) or len(text) > 6:
        raise InputError(f"found “{clipped(text)}”, wanted a whole number")
    return int(text) if text else None


class PointRow(Strict):
    """A list of points: one fix a row, of an outline or of a point whose station and offset are known."""

    name: Id
    latitude: Annotated[float, BeforeValidator(degrees_to(90))]
    longitude: Annotated[float, BeforeValidator(degrees_to(180))]
    outline: OptionalId | None = None
    order: Annotated[int | None, BeforeValidator(whole_or_none)] = None
    station: Annotated[float | None, place("-100 km", "100 km", empty=True)] = None
    offset: Annotated[float | None, place("-100 m", "100 m", empty=True)] = None


def points(name: str, data: bytes, known: Iterable[str]) -> Drawn:
    """Read a list of points; those of `known` belong to no outline."""
    faults: list[str] = []
    rows = read_rows(read_csv(name, data, PointRow, MOST_WRITTEN), PointRow, faults)
    found, groups = Drawn("list of points", fixes=True), dict[str, list[PointRow]]()
    for row in rows:
        where, xy = f"{name}.csv, point {row.name}", (row.longitude, row.latitude)
        found.points[row.name] = xy
        if row.station is not None and row.offset is not None:
            found.known.append(Known(row.name, xy, (float(row.station), float(row.offset))))
        elif (row.station is None) != (row.offset is None):
            faults.append(f"{where}: wanted both station and offset, or neither")
        is_known = row.station is not None or row.name in known
        if row.outline or (row.outline is None and not is_known):
            groups.setdefault(row.outline or "", []).append(row)
        elif not is_known:
            found.left_out.append((f"point {row.name}", "belongs to no outline"))
    for outline, group in groups.items():
        ordered = [row.order for row in group if row.order is not None]
        if ordered and (len(ordered) != len(group) or len(set(ordered)) != len(ordered)):
            faults.append(
                f"{name}.csv, outline {outline or 'of all points'}: wanted an order for every point, each once"
            )
        elif ordered:
            group.sort(key=lambda row: row.order or 0)
        found.lines.append(Line("points", np.array([(row.longitude, row.latitude) for row in group]), outline))
    if faults:
        raise JobError(faults)
    return found
