"""Plan and section of the deck: where everything is, on one page."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import matplotlib
import shapely

from deckcalc.patch.design import Patches
from deckcalc.patch.sheet.deck_section import section
from deckcalc.patch.sheet.plan_lines import edges_of, ends, lean, lines_named, spans_of, width
from deckcalc.show import drafting
from deckcalc.show.drafting import (
    AXIS,
    HEAVY,
    LANE,
    MEDIUM,
    ROW,
    SURVEYS,
    TALL,
    THIN,
    WIDE,
    Sheet,
    Spot,
    around,
)
from deckcalc.show.figures import STYLE, Picture
from deckcalc.show.sections import Text

Extents = Mapping[str, tuple[drafting.Point, ...]]

#: Millimetres beside the plan: dimensions on the left; on the right the leaders of the names.
LEFT, RIGHT = 15.0, 10.0
#: Millimetres above and below the plan of a span: its title and joints; its length; what is below it.
OVER, UNDER, BELOW = 13.0, 7.0, 9.0
#: Least height of the plan of a span on the page: so many spans go on one.
LEAST_PLAN = 30.0
SECTION = 52.0


def deck_pages(patches: Patches, extents: Extents | None = None) -> list[Picture | Text]:
    """Plan and section of all spans with patches: as many pages as their plans need to be read."""
    spans, most = spans_of(patches), most_spans(patches, extents or {})
    groups = [spans[start : start + most] for start in range(0, len(spans), most)]
    return [plan_and_section(patches, extents, group) for group in groups]


def plan_and_section(patches: Patches, extents: Extents | None = None, spans: Sequence[int] = ()) -> Picture | Text:
    """Plan of the spans with patches, and the section of the deck below it, on one page.

    Parameters
    ----------
    patches : Patches
        The patches of the job.
    extents : mapping of str to tuple of corners
        What else was surveyed, and the corners round it, station and offset in metres; the soundings are known.
    spans : sequence of int
        The spans that are drawn; left out, those with patches, as many as can be read on one page.

    Returns
    -------
    Picture or Text
        Nothing where the job has no patches.
    """
    surveyed = merged({**soundings(patches), **(extents or {})})
    every = spans_of(patches)
    spans = spans or every[: most_spans(patches, surveyed)]
    if not spans:
        return Text("")
    under_it = key_height(surveyed) + (SECTION if spans[0] == every[0] else 0.0)
    with matplotlib.rc_context(STYLE):
        k, left = scale(patches, spans, TALL - under_it)
        heights = [OVER + UNDER + below_height(patches, span) + width(patches) * k for span in spans]
        sheet, top = Sheet(WIDE, sum(heights) + under_it), 0.0
        for span, height in zip(spans, heights, strict=True):
            SpanPlan(patches, sheet, span, k, top, left).draw(surveyed)
            top += height
        key(patches, sheet, surveyed, top, k)
        if spans[0] == every[0]:
            section(patches, sheet, top + key_height(surveyed))
    others = [f"{span}" for span in every if span not in spans]
    more = f" Spans with patches on other pages: {', '.join(others)}." if others else ""
    return Picture(sheet.figure, f"Plan and section of the deck, with the patches and what was surveyed.{more}")


def scale(patches: Patches, spans: Sequence[int], tall: float) -> tuple[float, float]:
    """Return the millimetres of the page in a metre of the plans, in so many of height, and where the plans begin on the left."""
    paper, tilt = Sheet(1, 1), abs(lean(patches)) * width(patches)
    long = max(ends(patches, span)[1] - ends(patches, span)[0] for span in spans) + tilt
    high = tall - sum(OVER + UNDER + below_height(patches, span) for span in spans)
    wide = WIDE - LEFT - RIGHT - max(paper.size(text)[0] for _, text in lines_named(patches))
    k = min(wide / long, high / len(spans) / width(patches))
    return k, LEFT + (wide - k * long) / 2


def most_spans(patches: Patches, extents: Extents) -> int:
    """Return how many spans go on one page."""
    return max(int((TALL - SECTION - key_height(extents)) / (OVER + UNDER + BELOW + LEAST_PLAN)), 1)


def soundings(patches: Patches) -> Extents:
    """Return the outline of what was sounded."""
    xy = patches.marked.found.xy
    return {"soundings": drafting.hull(xy)} if len(xy) else {}


def merged(extents: Extents) -> Extents:
    """Return the surveys, those of one outline together."""
    same: dict[Any, list[str]] = {}
    for name, corners in extents.items():
        same.setdefault(frozenset((round(x, 3), round(y, 3)) for x, y in corners), []).append(name)
    return {", ".join(names): extents[names[0]] for names in same.values()}


def under(patches: Patches, span: int) -> list[Any]:
    """Return what lies below a span."""
    a, b = ends(patches, span)
    return [one for one in patches.inputs.plan.below if max(one.from_station, a) < min(one.to_station, b)]


def below_height(patches: Patches, span: int) -> float:
    """Return the millimetres that the words of what is below a span take."""
    return BELOW if under(patches, span) else 0.0


class SpanPlan:
    """The plan of a span, its upper left corner at a place of the sheet."""

    def __init__(self, patches: Patches, sheet: Sheet, span: int, k: float, top: float, left: float = LEFT) -> None:
        self.patches, self.sheet, self.span, self.k, self.top, self.left = patches, sheet, span, k, top, left
        self.plan, self.edges = patches.inputs.plan, edges_of(patches)
        self.a, self.b = ends(patches, span)
        self.lean = lean(patches)
        self.first = self.a + min(self.lean * y for y in self.edges)
        self.low, self.high = top + OVER, top + OVER + width(patches) * k
        self.marked = [one for one in patches.marked.patches if one.span == span]
        self.shapes = [
            shapely.Polygon([self.at(*xy) for xy in one.piece.outline.exterior.coords]) for one in self.marked
        ]
        across = [*self.plan.girders, self.plan.left, self.plan.right, *self.edges]
        self.lines = [
            shapely.LineString([self.end(joint, y) for joint in (self.a, self.b)]).buffer(0.2) for y in across
        ]
        self.lines += [
            shapely.LineString([self.end(joint, y) for y in self.edges]).buffer(0.5) for joint in (self.a, self.b)
        ]

    def at(self, x: float, y: float) -> drafting.Point:
        """Return the place of a station and an offset on the sheet."""
        return self.left + (x - self.first) * self.k, self.low + (y - self.edges[0]) * self.k

    def end(self, joint: float, y: float) -> drafting.Point:
        """Return where a joint meets an offset."""
        return self.at(joint + self.lean * y, y)

    def draw(self, surveyed: Extents) -> None:
        """Draw the span: the patches keep their places first, then what can stand elsewhere."""
        self.deck()
        for one, shape in zip(self.marked, self.shapes, strict=True):
            full = one.patch in self.patches and self.patches[one.patch].full
            look: dict[str, Any] = {"facecolor": "0.35"} if full else {"facecolor": "white", "hatch": "//////"}
            self.sheet.area(shape.exterior.coords, linewidth=HEAVY, zorder=3, **look)
        self.numbers()
        self.titles()
        self.dimensions()
        self.names()
        for number, (name, corners) in enumerate(surveyed.items()):
            self.survey(name, corners, SURVEYS[number % len(SURVEYS)])
        self.lanes()
        self.below()

    def numbers(self) -> None:
        """Write the numbers of the patches."""
        for one, shape in zip(self.marked, self.shapes, strict=True):
            x_1, y_1, x_2, y_2 = shape.bounds
            beside = [Spot((x_1 + x_2) / 2, y_1 - 0.8, va="bottom"), Spot((x_1 + x_2) / 2, y_2 + 0.8, va="top"),
                      Spot(x_2 + 0.8, (y_1 + y_2) / 2, "left"), Spot(x_1 - 0.8, (y_1 + y_2) / 2, "right")]  # fmt: skip
            far = around(shape.centroid.x, shape.centroid.y, start=4)
            self.sheet.put(one.patch, [*beside, *far], self.shapes, shape, fontweight="bold")

    def deck(self) -> None:
        """Draw girders, edges, kerbs and joints."""
        half = (self.plan.flange_width or 0.0) / 2
        for y in sorted(self.plan.girders):
            band = [
                self.end(joint, side)
                for joint, side in ((self.a, y - half), (self.b, y - half), (self.b, y + half), (self.a, y + half))
            ]
            self.sheet.area(band, facecolor="0.9", edgecolor="none", zorder=0)
            self.sheet.line([self.end(self.a, y), self.end(self.b, y)], THIN, linestyle=AXIS, color="0.35", zorder=1)
        for y, weight in ((self.plan.left, THIN), (self.plan.right, THIN), *((edge, MEDIUM) for edge in self.edges)):
            self.sheet.line([self.end(self.a, y), self.end(self.b, y)], weight)
        for joint in (self.a, self.b):
            self.sheet.line([self.end(joint, y) for y in self.edges], 2.2)

    def titles(self) -> None:
        """Write what span it is, its joints with their stations, and the way to the north."""
        number = self.span - self.plan.first_span + 1
        left, right = (self.end(joint, self.edges[0])[0] for joint in (self.a, self.b))
        for joint, name, x, ha in ((self.a, number, left, "left"), (self.b, number + 1, right, "right")):
            text = f"joint {name}, station {drafting.station(joint, self.patches.system)}"
            if self.sheet.size(text)[0] > right - left:  # it would reach into the names beside the plan
                x, ha = right, "right"
            self.sheet.put(text, [Spot(x, self.low - 1 - down, ha, "bottom") for down in (0, ROW)])
        middle = (self.end(self.a, 0)[0] + self.end(self.b, 0)[0]) / 2
        skew = f", skew {abs(self.plan.skew):g}°" if self.plan.skew else ""
        title = f"Span {self.span}{skew}, stations ahead"
        ahead = self.sheet.put(title, [Spot(middle, self.top + 2)], fontweight="bold")
        half = self.sheet.size(title, fontweight="bold")[0] / 2
        self.sheet.arrow((ahead.x + half + 1.5, ahead.y), (ahead.x + half + 9, ahead.y))
        if self.plan.north is not None:
            x, y = 7.0, self.top + 6.5
            c, s = math.cos(math.radians(self.plan.north)), -math.sin(math.radians(self.plan.north))
            self.sheet.arrow((x - 3 * c, y - 3 * s), (x + 3 * c, y + 3 * s))
            self.sheet.put("N", [Spot(x + 4.6 * c, y + 4.6 * s)], fontweight="bold")

    def dimensions(self) -> None:
        """Draw the overall sizes: length of the span along the centreline, widths."""
        said = lambda value: drafting.length(value, self.patches.system)  # noqa: E731
        y = self.high + UNDER - 1.5
        mid = (self.edges[0] + self.edges[1]) / 2
        if self.lean:
            a, b = (self.end(joint, self.edges[1])[0] for joint in (self.a, self.b))
        else:
            a, b = (self.end(joint, mid)[0] for joint in (self.a, self.b))
        for x in (a, b):
            self.sheet.line([(x, self.high + 0.8), (x, y + 1)])
        self.sheet.dimension((a, y), (b, y), said(self.b - self.a))
        x = min(self.end(self.a, edge)[0] for edge in self.edges)
        kerbs = [self.edges[0], self.plan.left, self.plan.right, self.edges[1]]
        places = [self.at(0, edge)[1] for edge in kerbs]
        for place, edge in zip(places, kerbs, strict=True):
            self.sheet.line([(x - 11.5, place), (self.end(self.a, edge)[0] - 0.8, place)])
        self.sheet.dimension((x - 10.5, places[0]), (x - 10.5, places[-1]), said(width(self.patches)))
        if self.edges != (self.plan.left, self.plan.right):
            inner = said(self.plan.right - self.plan.left)
            self.sheet.dimension((x - 4.5, places[1]), (x - 4.5, places[2]), inner)
            for one, other in ((0, 1), (2, 3)):
                self.sheet.dimension_marks((x - 4.5, places[one]), (x - 4.5, places[other]))

    def names(self) -> None:
        """Write the names of all lines along the deck beside their ends."""
        words = lines_named(self.patches)
        room = self.high - self.low + 2 * ROW
        if room / ROW < len(words):  # the middle girders are named by the outer ones
            names = [word for word in words if word[1].startswith("G") and word[1][1:].isdigit()]
            words = [word for word in words if word not in names[1:-1]]
        ends_of = max(self.end(self.b, y)[0] for y in self.edges)
        for y, _ in words:
            x, level = self.end(self.b, y)
            self.sheet.line([(x + 0.8, level), (ends_of + 1.5, level)])
        self.sheet.column(
            ends_of + 1.5, [(self.at(0, y)[1], text) for y, text in words], self.low - ROW / 2, self.high + ROW / 2
        )

    def survey(self, name: str, corners: Sequence[drafting.Point], dashes: Any) -> None:
        """Outline what was surveyed, as far as it lies in the span, with its name on the line."""
        whole = shapely.MultiPoint(list(corners)).convex_hull
        deck = shapely.Polygon(
            [
                (joint + self.lean * y, y)
                for joint, y in zip(
                    (self.a, self.b, self.b, self.a),
                    (self.edges[0], self.edges[0], self.edges[1], self.edges[1]),
                    strict=True,
                )
            ]
        )
        part = whole.intersection(deck.buffer(1e-6))
        if part.is_empty:
            return
        points = [self.at(*xy) for xy in shapely.get_coordinates(part)]
        self.sheet.line(points, 1.1, linestyle=dashes, zorder=2)
        if len(points) == 1:
            self.sheet.axes.plot(*points[0], "s", color="black", markersize=3)
        spots = []
        for (x_1, y_1), (x_2, y_2) in sorted(pairwise(points), key=lambda side: -abs(side[1][0] - side[0][0])):
            spots += [
                Spot(x_1 + (x_2 - x_1) * share, y_1 + (y_2 - y_1) * share)
                for share in (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6)
            ]
        x, y = points[0]
        self.sheet.put(name, [*spots, *around(x, y)], self.shapes, style="italic")

    def lanes(self) -> None:
        """Draw the lanes, with the way of their traffic beside their names."""
        for lane in self.plan.lanes:
            for y in (lane.from_offset, lane.to_offset):
                self.sheet.line(
                    [self.end(self.a, y), self.end(self.b, y)], THIN, linestyle=LANE, color="0.35", zorder=1
                )
            arrow = f"{lane.name}   " + ("→" if lane.direction == "ahead" else "←")
            spots = [
                Spot(*self.end(self.a + share * (self.b - self.a), lane.from_offset + part * (lane.to_offset - lane.from_offset)))
                for part in (0.5, 0.3, 0.7, 0.2, 0.8) for share in (0.15, 0.85, 0.3, 0.7, 0.5, 0.1, 0.9, 0.4, 0.6)
            ]  # fmt: skip
            self.sheet.put(arrow, spots, [*self.shapes, *self.lines])

    def below(self) -> None:
        """Show what is underneath: brackets under the plan, and the outline of what is not below the whole width."""
        found, y = under(self.patches, self.span), self.high + UNDER + 1.5
        for one in found:
            a, b = max(one.from_station, self.a), min(one.to_station, self.b)
            x_1, x_2 = self.at(a, 0)[0], self.at(b, 0)[0]
            self.sheet.line([(x_1, y - 1), (x_1, y), (x_2, y), (x_2, y - 1)])
            middle = (x_1 + x_2) / 2
            spots = [
                Spot(middle + over, y + 0.6 + down, va="top")
                for down in (0, 3.4)
                for over in (0, 4, -4, 8, -8, 12, -12)
            ]
            self.sheet.put(f"{one.what} below", spots)
            top, low = (
                edge if side is None else side
                for side, edge in zip((one.from_offset, one.to_offset), self.edges, strict=True)
            )
            if (top, low) != self.edges:
                self.sheet.area(
                    [self.at(a, top), self.at(b, top), self.at(b, low), self.at(a, low)], linestyle=":", linewidth=THIN
                )


def key_height(surveyed: Extents) -> float:
    """Return the millimetres of the key."""
    return ROW * (2 + len(surveyed)) + 2


def key(patches: Patches, sheet: Sheet, surveyed: Extents, top: float, k: float) -> None:
    """Explain hatches and lines, with what each survey covers, and draw the scale."""
    y = top + ROW / 2
    kinds = {one.full for one in patches}
    x = LEFT
    for full, hatch, face, words in (
        (False, "//////", "white", "partial-depth patch"),
        (True, "", "0.35", "full-depth patch"),
    ):
        if full in kinds:
            sheet.area(
                [(x, y - 1.3), (x + 7, y - 1.3), (x + 7, y + 1.3), (x, y + 1.3)],
                hatch=hatch,
                facecolor=face,
                linewidth=HEAVY,
            )
            sheet.put(words, [Spot(x + 9, y, "left")])
            x += 12 + sheet.size(words)[0]
    if patches.inputs.plan.girders:
        sheet.area([(x, y - 1), (x + 7, y - 1), (x + 7, y + 1), (x, y + 1)], facecolor="0.9", edgecolor="none")
        sheet.line([(x, y), (x + 7, y)], linestyle=AXIS, color="0.35")
        sheet.put("girder, top flange", [Spot(x + 9, y, "left")])
    y += ROW
    metres = max(step for step in ((1, 2, 5, 10, 20, 50) if patches.system == "SI" else [0.3048 * f for f in (5, 10, 20, 50, 100)])
                 if step * k <= 45 or step < 1.6)  # fmt: skip
    sheet.line([(LEFT, y), (LEFT + metres * k, y)], 2.2)
    for place in (0, metres / 2, metres):
        sheet.line([(LEFT + place * k, y - 1), (LEFT + place * k, y + 1)])
    sheet.put(f"{drafting.length(metres, patches.system)} in plan", [Spot(LEFT + metres * k + 2, y, "left")])
    x = LEFT + metres * k + 12 + sheet.size(f"{drafting.length(metres, patches.system)} in plan")[0]
    sheet.line([(x, y - 1.5), (x, y + 1.5)], 2.2)
    sheet.put("joint or deck end", [Spot(x + 2, y, "left")])
    for number, (name, corners) in enumerate(surveyed.items()):
        y += ROW
        sheet.line([(LEFT, y), (LEFT + 14, y)], 1.1, linestyle=SURVEYS[number % len(SURVEYS)])
        sheet.put(f"{name}: {reach(patches, corners)}", [Spot(LEFT + 16, y, "left")])


def reach(patches: Patches, corners: Sequence[drafting.Point]) -> str:
    """Say between which stations and offsets a survey lies."""
    said = lambda value: drafting.station(value, patches.system)  # noqa: E731
    x, y = zip(*corners, strict=True)
    return f"stations {said(min(x))} to {said(max(x))}, offsets {said(min(y))} to {said(max(y))}"
