"""From unsound regions to numbered patches, each with the depth readings that belong to it."""

from __future__ import annotations

import itertools
import math
import operator
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
import shapely

from deckcalc.base.context import Context
from deckcalc.base.fields import Faults
from deckcalc.core import units
from deckcalc.core.units import Length, Quantity
from deckcalc.patch.design.doubts import usual
from deckcalc.patch.design.location import Location, locate
from deckcalc.patch.design.survey import BY_TAPE, Found, find, tape_corner, where
from deckcalc.patch.formulas import outlines as marking
from deckcalc.patch.formulas.unsound import same_places
from deckcalc.patch.inputs import Inputs, Plan, ReadingRow

NOISE = 2e-6  # metres
#: A cover of top bars below this, in metres, and a depth below this share of the deepest of its patch, are asked about:
#: common practice.
LEAST_COVER, SHALLOW = 0.010, 1 / 6


@dataclass(frozen=True, eq=False)
class Reading:
    """A depth reading or a cover reading, from the top of the slab; plain metres, None where it was not read."""

    name: str
    station: float
    offset: float
    depth: float | None
    cover: float | None


@dataclass(frozen=True, eq=False)
class Patch:
    """A marked patch.

    Attributes
    ----------
    patch : str
        Its number, P1, P2, ... in order of station, then offset.
    span : int
        number of the span
    piece : deckcalc.patch.formulas.outlines.Piece
    marking : deckcalc.patch.formulas.outlines.Marking
        the region that it belongs to, with its other pieces
    forms : list of str
        where the unsound area comes from
    readings : list of Reading
    location : Location
        where it stands on the deck
    broken_out : bool
        whether it is a hole that was measured: nothing is added for growth and over-break
    """

    patch: str
    span: int
    piece: Any
    marking: Any
    forms: list[str]
    readings: list[Reading]
    location: Location
    broken_out: bool = False

    @property
    def station(self) -> Quantity:
        """Station of the middle of the repair limits."""
        return metres(self.piece.outline.centroid.x)

    @property
    def offset(self) -> Quantity:
        """Offset of the middle of the repair limits."""
        return metres(self.piece.outline.centroid.y)

    @property
    def length(self) -> Quantity:
        """Length of the unsound concrete."""
        return metres(self.piece.extent[0])

    @property
    def width(self) -> Quantity:
        """Width of the unsound concrete."""
        return metres(self.piece.extent[1])

    @property
    def deep(self) -> list[Reading]:
        """The readings of depth."""
        return [reading for reading in self.readings if reading.depth is not None]

    @property
    def places(self) -> Any:
        """Station and offset of the readings of depth, in metres."""
        return np.array([(reading.station, reading.offset) for reading in self.deep])

    @property
    def depths(self) -> Quantity:
        """The depths read."""
        return metres([reading.depth for reading in self.deep])

    @property
    def least_cover(self) -> Quantity:
        """The minimum cover read."""
        return metres(min(self.covers.m_as("m")))

    @property
    def covers(self) -> Quantity:
        """The covers read."""
        return metres([reading.cover for reading in self.readings if reading.cover is not None])


@dataclass(eq=False)
class Marked:
    """A survey with its patches; without any, of a job that has none.

    Attributes
    ----------
    found : Found
    patches : list of Patch
    unsound : list of float
        unsound area of each span, in square metres
    apart : list of Reading
        cover readings that belong to no patch
    within : float
        so far outside the repair limits a reading still belongs to the patch, in metres
    plan : Plan
        the deck in plan
    readings : list of Reading
        all readings
    fixed : bool
        whether holes are open: no limits are marked again
    """

    found: Found = field(default_factory=Found)
    patches: list[Patch] = field(default_factory=list)
    unsound: list[float] = field(default_factory=list)
    apart: list[Reading] = field(default_factory=list)
    within: float = 0.0
    plan: Plan = None  # type: ignore[assignment]  # of a job without patches
    readings: list[Reading] = field(default_factory=list)
    fixed: bool = False

    @property
    def girder_spacing(self) -> Quantity | None:
        """Maximum spacing of the girders, centre to centre; None where there are fewer than two."""
        steps = [b - a for a, b in itertools.pairwise(self.plan.girders)] if self.plan else []
        return metres(max(steps)) if steps else None

    @property
    def clear_span(self) -> Quantity | None:
        """Maximum clear span between the flanges of two girders; None where there are fewer than two."""
        steps = (
            [b - a - (self.plan.flange_width or 0.0) for a, b in itertools.pairwise(self.plan.girders)]
            if self.plan
            else []
        )
        return metres(max(steps)) if steps else None


def metres(value: Any, power: int = 1) -> Quantity:
    """Return plain metres as a quantity, or square or cubic ones, without the noise of their way through the plan."""
    rounded = np.round(value, {1: 9, 2: 9, 3: 12}[power])
    return units.registry().Quantity(float(rounded) if np.ndim(rounded) == 0 else rounded, ("m", "m²", "m³")[power - 1])


def rules_of(context: Context[Inputs]) -> marking.Rules:
    """Return how the job marks its limits."""
    plain = lambda key: float(context.limits[key].value.m_as("m"))  # noqa: E731
    want = context.inputs.marking
    return marking.Rules(
        plain("margin"), plain("merge_distance"), plain("least_side"),
        math.radians(context.inputs.plan.skew) if want.direction == "skew" else 0.0,
        float(want.removal_price.m_as("1/m²")) if want.removal_price is not None else 0.0,
        float(want.cut_price.m_as("1/m")) if want.cut_price is not None else 0.0,
        float(want.piece_price.m_as("")) if want.piece_price is not None else 0.0,
        to_edges=want.narrow_strip == "take out",
    )  # fmt: skip


def mark(context: Context[Inputs], found: Found, readings: list[Reading], faults: list[str] | None = None) -> Marked:
    """Mark the patches of every span, number them, lengthen those that are to be longer, and give each its readings."""
    rules = rules_of(context)
    drawn = []
    for number, (panel, regions) in enumerate(
        zip(found.panels, found.regions, strict=True), context.inputs.plan.first_span
    ):
        for one in marking.mark(regions, panel, rules):
            drawn += [(number, one, piece) for piece in one.pieces]
    drawn.sort(key=lambda item: [round(value, 3) for value in item[2].outline.centroid.coords[0]])
    names = names_of(found, [piece.outline for _, _, piece in drawn])
    drawn = lengthen(context, found, drawn, names, rules, faults if faults is not None else [])
    outlines = [piece.outline for _, _, piece in drawn]
    within = context.inputs.survey.readings_within
    owned, apart = assigned(readings, outlines, within)
    forms = forms_of(found, outlines)
    patches = [
        Patch(
            names[k],
            span,
            piece,
            one,
            forms[k],
            owned[k],
            locate(context.inputs.plan, piece.outline, context.deck.kind),
        )
        for k, (span, one, piece) in enumerate(drawn)
    ]
    return Marked(
        found,
        patches,
        [sum(region.area for region in regions) for regions in found.regions],
        apart,
        within,
        context.inputs.plan,
        readings,
    )


def names_of(found: Found, outlines: list[Any]) -> list[str]:
    """Return the names of the patches: those of patches.csv where every one comes of one row there, else P1, P2, ...

    Where patches are known, one in the same place keeps its name, so that what names it still means it.
    """
    taken = [
        [one.name for one in found.outlines if one.form == BY_TAPE and one.shape.intersects(outline)]
        for outline in outlines
    ]
    own = [names[0] for names in taken if len(names) == 1]
    if len(own) == len(outlines) == len(set(own)) and not len(found.xy):
        return own
    shared = [
        (outline.intersection(before).area, k, name)
        for k, outline in enumerate(outlines) for name, before in found.known if outline.intersects(before)
    ]  # fmt: skip
    kept: dict[int, str] = {}
    for _, k, name in sorted(shared, key=lambda one: -one[0]):
        if k not in kept and name not in kept.values():
            kept[k] = name
    taken_names = {name for name, _ in found.known}
    free = (name for k in itertools.count(1) if (name := f"P{k}") not in taken_names)
    return [kept[k] if k in kept else next(free) for k in range(len(outlines))]


def lengthen(
    context: Context[Inputs], found: Found, drawn: list[Any], called: list[str], rules: marking.Rules, faults: list[str]
) -> list[Any]:
    """Make those patches longer that the engineer wants longer; they may not reach into a neighbour."""
    names = {name: k for k, name in enumerate(called)}
    drawn = list(drawn)
    for name, want in context.inputs.marking.longer.items():
        place = f"job.toml: marking.longer.{name}"
        if name not in names:
            faults.append(f"{place}: the survey gives no patch “{name}”")
        elif want.along is None and want.across is None:
            faults.append(f"{place}: neither along nor across is given")
        else:
            span, one, piece = drawn[names[name]]
            along, across = (0.0 if value is None else float(value.m_as("m")) for value in (want.along, want.across))
            panel = found.panels[span - context.inputs.plan.first_span]
            try:
                made = marking.lengthened(one, one.pieces.index(piece), along, across, panel, rules)
            except ValueError as error:
                faults.append(f"{place}: {error}")
                continue
            for other, k in names.items():
                if other != name and made.outline.intersection(drawn[k][2].outline).area > NOISE:
                    faults.append(f"{place}: it would reach into patch {other}; mark the two as one")
            drawn[names[name]] = span, one, made
    return drawn


def survey(context: Context[Inputs], faults: Faults, known: Sequence[Patch] = ()) -> Marked:
    """Read the survey and mark its patches, those in the place of a known one under its name; every fault names its row."""
    usual(context, faults)
    readings = read_depths(context, faults)
    found = find(context, faults)
    found.known = [(one.patch, one.piece.outline) for one in known]
    if faults:
        return Marked(found, [], [], [], 0.0, context.inputs.plan)
    marked = mark(context, found, readings, faults)
    check_readings(context, marked, readings, faults)
    if not marked.patches:
        faults.append("the survey found no delamination: there is no patch to design")
    return marked


def assigned(readings: list[Reading], outlines: list[Any], within: float) -> tuple[list[list[Reading]], list[Reading]]:
    """Give each reading to the patch that it lies in, else to the nearest one within reach; both where two share an edge."""
    owned: list[list[Reading]] = [[] for _ in outlines]
    if not readings or not outlines:
        return owned, list(readings)
    points = shapely.points([(reading.station, reading.offset) for reading in readings])
    which, patch = shapely.STRtree(outlines).query_nearest(points, max_distance=within + NOISE, all_matches=True)
    for i, k in sorted(zip(which, patch, strict=True)):
        owned[k].append(readings[i])
    held = set(which.tolist())
    return owned, [reading for i, reading in enumerate(readings) if i not in held]


def forms_of(found: Found, outlines: list[Any]) -> list[list[str]]:
    """Return for each patch which parts of the survey it stands on."""
    forms: list[list[str]] = [[] for _ in outlines]
    if not outlines:
        return forms
    tree = shapely.STRtree(outlines)
    shapes = np.array([outline.shape for outline in found.outlines], dtype=object)
    for k, j in sorted(zip(*tree.query(shapes, predicate="intersects"), strict=True)):
        forms[j].append(f"{found.outlines[k].form} {found.outlines[k].name}")
    points = found.xy[found.hollow]
    if len(points):
        _, hit = tree.query(shapely.points(points), predicate="intersects")
        for j in np.unique(hit):
            forms[j].insert(0, f"{int((hit == j).sum())} delaminated readings")
    return forms


def read_depths(context: Context[Inputs], faults: Faults) -> list[Reading]:
    """Return the depth readings, from the top of the slab."""
    deck, found = context.deck, []
    over = float(deck.overlay.m_as("m")) if deck.overlay is not None else 0.0
    thick = float(deck.slab_thickness.m_as("m"))
    show = lambda value: units.show(metres(value), Length, context.system)  # noqa: E731

    def beside(value: float, limit: float, holds: Callable[[float, float], bool]) -> tuple[str, str]:
        return units.show_beside(metres(value), metres(limit), Length, context.system, holds)

    rows: list[ReadingRow | Taped] = [*context.inputs.depths, *by_tape(context)]
    for row in rows:
        name = row.where if isinstance(row, Taped) else f"depths.csv, reading {row.reading}"
        if row.depth is None and row.cover is None:
            faults.append(f"{name}: neither depth nor cover is filled in")
            continue
        read = {"depth": row.depth, "cover": row.cover}
        for word, value in read.items():
            if value is None:
                continue
            if over and value <= over + NOISE:
                at, limit = beside(min(value, over), over, operator.gt)
                faults.append(f"{name}: the {word} {at} ends within the overlay of {limit}")
            elif word == "depth" and value - over > thick + NOISE:
                at, limit = beside(value, thick + over, operator.le)
                faults.append(f"{name}: a depth of {at} is more than the slab {limit}")
            elif word == "cover" and value - over >= thick:
                at, limit = beside(value, thick + over, operator.lt)
                faults.append(f"{name}: the cover {at} is not less than the slab {limit}")
        if row.cover is not None and not LEAST_COVER <= row.cover - over <= thick / 2:
            cover, half = row.cover - over, thick / 2
            at, least = beside(cover, LEAST_COVER, operator.ge)
            at, most = beside(cover, half, operator.le) if cover > half else (at, show(half))
            field_of = row.field if isinstance(row, Taped) else f"depths.{row.reading}.cover"
            faults.ask(field_of, name, f"found a cover of {at}, usual is {least} to half the slab, {most}")
        under = {word: None if value is None else float(value) - over for word, value in read.items()}
        found.append(Reading(row.reading, float(row.station), float(row.offset), under["depth"], under["cover"]))
    return found


class Taped(NamedTuple):
    """The mean depth and the cover of a row of patches.csv, as a reading in its middle."""

    reading: str
    station: float
    offset: float
    depth: float | None
    cover: float | None

    @property
    def where(self) -> str:
        """Where it stands in the job folder."""
        return f"patches.csv, patch {self.reading}"

    @property
    def field(self) -> str:
        """Its cover, as a field that may be confirmed."""
        return f"patches.{self.reading}.cover"


def by_tape(context: Context[Inputs]) -> list[Taped]:
    """Return what patches.csv says of depth and cover; the cover of the deck where none was measured."""
    deck, found = context.deck, []
    drawn = None if deck.top_cover is None else float((deck.top_cover + (deck.overlay or 0 * deck.top_cover)).m_as("m"))
    for row in context.inputs.patches:
        x, y = tape_corner(context.inputs.plan, row)
        cover = drawn if row.cover is None else row.cover
        found.append(Taped(row.patch, x + row.length / 2, y + row.width / 2, row.depth, cover))
    return found


def check_readings(context: Context[Inputs], marked: Marked, readings: list[Reading], faults: Faults) -> None:
    """Hold readings against patches: none missing, none astray, none at one place with another."""
    xy = np.array([(reading.station, reading.offset) for reading in readings]).reshape(-1, 2)
    for i, j in same_places(xy):
        for word in ("depth", "cover"):
            if getattr(readings[i], word) is not None and getattr(readings[j], word) is not None:
                faults.append(
                    f"depths.csv, readings {readings[i].name} and {readings[j].name}: two readings of {word} at one place; "
                    "delete one"
                )
    for reading in marked.apart:
        if reading.depth is not None:
            faults.append(
                f"depths.csv, reading {reading.name}: {where(context.system, reading.station, reading.offset)} lies in no patch; "
                "sound the deck round it, or correct its place"
            )
    for patch in marked.patches:
        middle = patch.piece.outline.centroid
        place = f"the patch at {where(context.system, middle.x, middle.y)} ({', '.join(patch.forms) or 'soundings'})"
        for reading in patch.deep:
            depth, deepest = reading.depth or 0.0, max(other.depth or 0.0 for other in patch.deep)
            if depth < SHALLOW * deepest:
                shown = (units.show(metres(value), Length, context.system) for value in (depth, deepest))
                faults.ask(
                    f"depths.{reading.name}.depth", f"depths.csv, reading {reading.name}",
                    "a depth of {} beside {} in one patch; is a decimal point or a unit wrong".format(*shown),
                )  # fmt: skip
        if not patch.deep:
            faults.append(f"depths.csv: {place} has no depth reading")
        if all(reading.cover is None for reading in patch.readings):
            faults.append(
                f"depths.csv: {place} has no reading of the cover"
                + ("; give the column cover of patches.csv, or deck.top_cover" if context.inputs.patches else "")
            )
