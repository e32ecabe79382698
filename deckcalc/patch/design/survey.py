"""What the survey found: its tables set out on the deck, and the unsound regions that follow from them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

import numpy as np
import shapely
from scipy.spatial import cKDTree

from deckcalc.base.context import Context
from deckcalc.base.fields import Faults
from deckcalc.core import units
from deckcalc.core.units import Distance, InputError
from deckcalc.patch.design import doubts
from deckcalc.patch.formulas import unsound as plan
from deckcalc.patch.inputs import Inputs, Plan
from deckcalc.patch.inputs.survey import FORMS, PatchRow

NEAR = 1e-6  # metres
#: Soundings nearer than their spacing to another one: two surveys over each other give a few.
CROWD = 24

#: How a rectangle of patches.csv is called.
BY_TAPE: Literal["tape measure"] = "tape measure"
#: What the places of a rectangle are those of.
MEASURED = {
    "rectangle": "station and offset are those of its middle, not of a corner",
    BY_TAPE: "from joint and from kerb are the distances to its nearest edges, not to its middle",
}
Form = Literal["soundings", "radius survey", "traced outline", "rectangle", "tape measure"]


@dataclass(frozen=True, eq=False)
class Outline:
    """An unsound area with its name and the way it was found."""

    name: str
    form: Form
    shape: Any


@dataclass(eq=False)
class Found:
    """What the survey found.

    Attributes
    ----------
    xy : array, shape (n, 2)
        every sounding
    hollow : array of bool, shape (n,)
    outlines : list of Outline
        measured, traced or taken as rectangles
    panels : list of shapely.Polygon
        deck of each span
    regions : list of list
        unsound regions by span
    known : sequence of tuple
        Patches whose names are kept where one lies in the same place: name and outline
    """

    xy: Any = field(default_factory=lambda: np.empty((0, 2)))
    hollow: Any = field(default_factory=lambda: np.empty(0, dtype=bool))
    outlines: list[Outline] = field(default_factory=list)
    panels: list[Any] = field(default_factory=list)
    regions: list[list[Any]] = field(default_factory=list)
    known: Sequence[tuple[str, Any]] = ()


def find(context: Context[Inputs], faults: Faults) -> Found:
    """Read the survey to unsound regions; every fault names its row."""
    found = Found()
    inputs, deck = context.inputs, context.inputs.plan
    if list(deck.joints) != sorted(set(deck.joints)):
        faults.append("job.toml: plan.joints: stations do not rise from joint to joint")
    if deck.left >= deck.right:
        faults.append("job.toml: plan.left: the left kerb is not to the left of the right one")
    if abs(deck.skew) > 75:
        faults.append(f"job.toml: plan.skew: found {deck.skew:g} deg, wanted at most 75 deg either way")
    if not any(getattr(inputs, name) for name in FORMS):
        faults.append(f"no survey: the folder holds none of {', '.join(f'{name}.csv' for name in FORMS)}")
    if faults:
        return found
    found.panels = deck.panels()
    strip = strip_of(inputs)
    whole = shapely.union_all(found.panels, grid_size=plan.GRAIN).buffer(NEAR)
    at = lambda x, y: where(context.system, x, y)  # noqa: E731

    def on_deck(xy: Any, names: list[str]) -> None:
        """Name every point that is off the deck or out of the strip surveyed."""
        points = shapely.points(xy)
        off = ~shapely.covers(whole, points)
        out = (xy[:, 1] < strip[0] - NEAR) | (xy[:, 1] > strip[1] + NEAR)
        for k in np.flatnonzero(off | out):
            what = "off the deck" if off[k] else "outside the strip surveyed"
            faults.append(f"{names[k]}: {at(*xy[k])} is {what}")

    names = soundings(inputs, found, faults)
    if len(found.xy):
        on_deck(found.xy, names)
        crowded(inputs, found, names, faults)
        for i, j in plan.same_places(found.xy):
            same = found.hollow[i] == found.hollow[j]
            word = "sounded twice; delete one" if same else "delaminated in one and sound in the other; sound it again"
            faults.append(f"{names[i]} and {names[j].removeprefix('soundings.csv, ')}: {at(*found.xy[i])} is {word}")
    for file, form, column, build in (
        ("radii", "radius survey", "hole", radius_survey), ("traces", "traced outline", "outline", traced),
        ("rectangles", "rectangle", "area", rectangle), ("patches", BY_TAPE, "patch", partial(taped, deck)),
    ):  # fmt: skip
        for name, group in grouped(getattr(inputs, file), column).items():
            try:
                shape, points, labels = build(name, group)
            except InputError as error:
                faults.append(f"{file}.csv, {column} {name}: {error}")
                continue
            field, place = f"{file}.{name}", f"{file}.csv, {column} {name}"
            means = MEASURED.get(form)
            if means is None or not doubts.sticks_out(field, place, means, shape, whole, faults):
                on_deck(points, labels)
            doubts.long(field, place, shape, context.system, faults)
            found.outlines.append(Outline(name, form, shape))  # type: ignore[arg-type]
    for k, one in enumerate(found.outlines):
        for other in found.outlines[:k]:
            if one.shape.symmetric_difference(other.shape).area < 0.01 * one.shape.area:
                faults.append(f"{other.form} {other.name} and {one.form} {one.name}: the same area twice; delete one")
    contradictions(found, names, at, faults)
    if not faults:
        regions_by_span(inputs, found)
    return found


def crowded(inputs: Inputs, found: Found, names: list[str], faults: Faults) -> None:
    """Name the sounding among the most that are nearer than the spacing: a spacing, a length or a unit is wrong."""
    along, across = inputs.survey.spacing_along, inputs.survey.spacing_across
    if along is None or across is None:
        return
    points = found.xy / np.array((along, across))
    near = cKDTree(points).query_ball_point(points, 1 - 1e-6, p=np.inf, return_length=True) - 1
    if near.max() > CROWD:
        k = int(near.argmax())
        faults.append(
            f"{names[k]}: {near[k]} other soundings lie nearer to it than survey.spacing_along and spacing_across say; "
            "correct the spacing, or the ends of the line"
        )


def strip_of(inputs: Inputs) -> tuple[float, float]:
    """Return the edges of the strip surveyed."""
    survey, deck = inputs.survey, inputs.plan
    return (
        deck.left if survey.from_offset is None else survey.from_offset,
        deck.right if survey.to_offset is None else survey.to_offset,
    )


def where(system: str, x: float, y: float) -> str:
    """Return station and offset as text."""
    q = units.registry().Quantity
    return f"station {units.show(q(x, 'm'), Distance, system)}, offset {units.show(q(y, 'm'), Distance, system)}"


def grouped(rows: list[Any], column: str) -> dict[str, list[Any]]:
    """Return rows by the value of a column, in order of appearance."""
    groups: dict[str, list[Any]] = {}
    for row in rows:
        groups.setdefault(getattr(row, column), []).append(row)
    return groups


def soundings(inputs: Inputs, found: Found, faults: list[str]) -> list[str]:
    """Set every sounding out along its line; return what each is called."""
    table = inputs.soundings
    if table and (inputs.survey.spacing_along is None or inputs.survey.spacing_across is None):
        faults.append("job.toml: survey: soundings.csv wants spacing_along and spacing_across")
    xy, hollow, names = [], [], []
    for row in table:
        label = f"soundings.csv, line {row.line}"
        marks = row.marks.replace(" ", "")
        if not marks or set(marks) - set(".hn"):
            faults.append(
                f"{label}: found marks “{row.marks}”, wanted h for delaminated (it sounds hollow), . for sound, n for not sounded"
            )
            continue
        ends = row.end_station, row.end_offset
        if len(marks) > 1 and None in ends:
            faults.append(f"{label}: {len(marks)} marks, but end station or end offset is empty")
            continue
        start = np.array([row.station, row.offset])
        end = np.array([start[k] if value is None else value for k, value in enumerate(ends)])
        if len(marks) == 1 and np.hypot(*(end - start)) > NEAR:
            faults.append(f"{label}: one mark, but the line ends elsewhere than it starts; a mark is missing")
            continue
        share = np.linspace(0, 1, len(marks))[:, None] if len(marks) > 1 else np.zeros((1, 1))
        for k, (point, mark) in enumerate(zip(start + share * (end - start), marks, strict=True), 1):
            if mark != "n":
                xy.append(point)
                hollow.append(mark == "h")
                names.append(f"{label}, mark {k}")
    if xy:
        found.xy, found.hollow = np.array(xy), np.array(hollow)
    return names


def radius_survey(name: str, group: list[Any]) -> tuple[Any, Any, list[str]]:
    """Return the outline of a radius survey, the ends of its radii and what they are called."""
    first = group[0]
    for row in group:
        if math.hypot(row.station - first.station, row.offset - first.offset) > NEAR:
            raise InputError(f"radius {row.radius} starts at another place than {first.radius}")
    bearings, reaches = [row.bearing for row in group], [row.reach for row in group]
    shape = plan.radius_outline(first.station, first.offset, bearings, reaches)
    ends = [
        (
            r.station + r.reach * math.cos(math.radians(r.bearing)),
            r.offset + r.reach * math.sin(math.radians(r.bearing)),
        )
        for r in group
    ]
    return shape, np.array(ends), [f"radii.csv, radius {row.radius}" for row in group]


def traced(name: str, group: list[Any]) -> tuple[Any, Any, list[str]]:
    """Return a traced outline, its vertices and what they are called."""
    vertices = np.array([(row.station, row.offset) for row in group])
    return plan.traced_outline(vertices), vertices, [f"traces.csv, vertex {row.vertex}" for row in group]


def rectangle(name: str, group: list[Any]) -> tuple[Any, Any, list[str]]:
    """Return a rectangle, its corners and what they are called."""
    row = group[0]
    shape = plan.field_rectangle(row.middle_station, row.middle_offset, row.length, row.width)
    return shape, shapely.get_coordinates(shape)[:-1], [f"rectangles.csv, area {name}, a corner"] * 4


def tape_corner(deck: Plan, row: PatchRow) -> tuple[float, float]:
    """Return station and offset of the corner of a row of patches.csv that is nearest to the start, at the left."""
    y = deck.left + row.from_kerb if row.kerb == "left" else deck.right - row.from_kerb - row.width
    middle = y + row.width / 2
    return deck.joints[row.joint - 1] + middle * math.tan(math.radians(deck.skew)) + row.from_joint, y


def taped(deck: Plan, name: str, group: list[Any]) -> tuple[Any, Any, list[str]]:
    """Return a rectangle by tape measure, its corners and what they are called."""
    row = group[0]
    if row.joint > len(deck.joints):
        raise InputError(f"joint {row.joint}: the plan has {len(deck.joints)} joints")
    x, y = tape_corner(deck, row)
    shape = plan.field_rectangle(x + row.length / 2, y + row.width / 2, row.length, row.width)
    return shape, shapely.get_coordinates(shape)[:-1], [f"patches.csv, patch {name}, a corner"] * 4


def contradictions(found: Found, names: list[str], at: Any, faults: list[str]) -> None:
    """Name every sounding that is sound inside an area that was measured as unsound."""
    sound = np.flatnonzero(~found.hollow)
    if not len(sound) or not found.outlines:
        return
    tree = shapely.STRtree(shapely.points(found.xy[sound]))
    inner = [outline.shape.buffer(-0.01) for outline in found.outlines]
    for k, j in zip(*tree.query(inner, predicate="contains"), strict=True):
        i = sound[j]
        outline = found.outlines[k]
        faults.append(
            f"{names[i]}: {at(*found.xy[i])} sounds sound, but lies inside the {outline.form} {outline.name}; sound it again"
        )


def regions_by_span(inputs: Inputs, found: Found) -> None:
    """Join cells and outlines to regions, and part them at the joints."""
    cells: Any = np.empty(0, dtype=object)
    if found.hollow.any():
        along, across = inputs.survey.spacing_along, inputs.survey.spacing_across
        assert along is not None and across is not None  # checked with the soundings
        cells = plan.hollow_cells(found.xy, found.hollow, along, across)
    shapes = [outline.shape for outline in found.outlines]
    regions = plan.unsound_regions(cells, found.xy[found.hollow], shapes)
    found.regions = [[] for _ in found.panels]
    spans, which = shapely.STRtree(regions).query(found.panels, predicate="intersects")
    for span, k in sorted(zip(spans, which, strict=True)):
        part = regions[k] if found.panels[span].covers(regions[k]) else regions[k].intersection(found.panels[span])
        found.regions[span] += [one for one in shapely.get_parts(part) if one.area > 1e-6]
