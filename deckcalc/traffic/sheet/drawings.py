"""Drawings of traffic: the symbols of the closure, and the plan that it is set out by."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import matplotlib
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from deckcalc.core import units
from deckcalc.core.units import RoadLength, quantity
from deckcalc.show.figures import STYLE, WIDTH, Picture, axes
from deckcalc.show.sections import Text
from deckcalc.traffic.design import Layout, Mark
from deckcalc.traffic.sheet.places import ahead, device, in_order, one_by_one, station, vehicle

#: Symbols of the stretches in `closure_length`; the vehicle and the roll-ahead share one.
SYMBOLS = ("L", "L_b", "L_r", "L_r", "L_w", "L_d")
SLOT = 2.2  # width of a stretch in the sketch, lanes being 1 wide
SIZE = 8.5


def sketch(layout: Layout) -> Picture | Text:
    """Draw the closure with the symbols of its lengths, to no scale."""
    if layout.inputs.traffic is None:
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(WIDTH, 1.45)
        ends = [SLOT * i for i in range(len(layout.parts) + 1)]
        for y, look in ((0.0, "-"), (1.0, "--"), (2.0, "-")):
            drawing.plot([-0.6, ends[-1] + 0.6], [y, y], look, color="black", linewidth=0.8)
        drawing.plot([ends[0], ends[1]], [0, 1], "k:", linewidth=1.2)
        drawing.plot([ends[1], ends[5]], [1, 1], "k:", linewidth=1.2)
        drawing.plot([ends[5], ends[6]], [1, 0], "k:", linewidth=1.2)
        drawing.add_patch(Rectangle((ends[2] + 0.5, 0.25), SLOT - 1, 0.5, facecolor="black"))
        drawing.add_patch(Rectangle((ends[4], 0.05), SLOT, 0.9, facecolor="none", hatch="////", edgecolor="0.45"))
        arrow(drawing, (-0.4, 1.5), (1.2, 1.5))
        for i, name in enumerate(layout.parts):
            drawing.text(ends[i] + SLOT / 2, -1.55, name.replace(", ", ",\n"), ha="center", va="top", fontsize=SIZE)
        spans = [(0, 1), (1, 2), (2, 4), (4, 5), (5, 6)]
        for (a, b), symbol in zip(spans, dict.fromkeys(SYMBOLS), strict=True):
            dimension(drawing, ends[a], ends[b], -0.75, symbol)
        dimension(drawing, ends[0], ends[6], 2.7, "L_all")
        bare(drawing, (-0.7, ends[-1] + 0.7), (-3.2, 3.2))
    return Picture(
        figure,
        f"Symbols of the closure, in the direction of traffic and not to scale. Dotted: devices; black: {vehicle(layout)}; "
        "hatched: work space.",
    )


def bare(drawing: Axes, x: Sequence[float], y: Sequence[float]) -> None:
    """Leave nothing but what is drawn."""
    drawing.set_xlim(min(x), max(x))
    drawing.set_ylim(min(y), max(y))
    drawing.axis("off")


def arrow(drawing: Axes, begin: tuple[float, float], end: tuple[float, float]) -> None:
    """Draw the direction of traffic."""
    drawing.annotate("", end, begin, arrowprops={"arrowstyle": "-|>", "color": "black", "linewidth": 1.0})


def dimension(drawing: Axes, a: float, b: float, y: float, text: str) -> None:
    """Draw a dimension line with its ticks and its text above the line."""
    drawing.plot([a, b], [y, y], color="black", linewidth=0.6)
    drawing.plot([a, b], [y, y], "|", color="black", markersize=6, markeredgewidth=0.8)
    drawing.text((a + b) / 2, y, text, ha="center", va="bottom", fontsize=SIZE)


def plan(layout: Layout) -> Picture | Text:
    """Draw the traffic plan: lengths to scale by stations, devices numbered as in the list, distances dimensioned."""
    if layout.inputs.traffic is None:
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, _ = axes(WIDTH, 4.75)
        figure.clear()
        upper, lower = figure.subplots(2, 1, height_ratios=(1.0, 1.35))
        approach(layout, upper)
        closure(layout, lower)
    unit = "m" if layout.system == "SI" else "ft"
    return Picture(
        figure,
        f"Traffic plan, lengths to scale in {unit}, stations ahead to the right; widths not to scale. Above: signs, flaggers and signals; below: "
        f"the closure. Numbers in circles are those of the list; dots: {device(layout)}s; black: {vehicle(layout)}; hatched: work space.",
    )


class Road:
    """The road of a layout as it is drawn: stations in the job's unit, one lane high each, the closed lane from 0 to its side."""

    def __init__(self, layout: Layout) -> None:
        self.layout, road = layout, layout.inputs.road
        self.way, self.others = ahead(layout), road.lanes - 1 + road.opposing
        # The side of the closed lane, seen with its traffic, is below where traffic runs to the right.
        self.down = (road.side == "right") == (self.way == 1)
        self.out = -1 if self.down else 1  # towards the edge of the road at the closed lane

    def x(self, distance: float) -> float:
        """Return the station of a distance from the head of the taper, in the unit of the drawing."""
        return length(self.layout, station(self.layout, distance))

    def y(self, across: float) -> float:
        """Return the height of a place across the road: 0 at the edge of the closed lane, 1 at its line to the lane beside it."""
        return -self.out * across

    def edges(self, drawing: Axes, begin: float, end: float) -> None:
        """Draw the edges of the road, and the lines between its lanes."""
        lanes = self.others + 1
        for i in range(lanes + 1):
            look = "-" if i in (0, lanes) else "--"
            drawing.plot([begin, end], [self.y(i), self.y(i)], look, color="black", linewidth=0.8)

    def traffic(self, drawing: Axes, at: float, long: float) -> None:
        """Draw which way each open lane runs."""
        road = self.layout.inputs.road
        ways = [self.way] * (road.lanes - 1) + [-self.way] * road.opposing
        if road.alternating:
            ways = [0]
        for i, way in enumerate(ways):
            y = self.y(1.5 + i)
            for one in (way,) if way else (1, -1):
                arrow(drawing, (at - one * long / 2, y), (at + one * long / 2, y))


def length(layout: Layout, metres: float) -> float:
    """Return a length in the unit of the drawing."""
    return float(units.magnitude(quantity(metres, "m"), units.kind_of(RoadLength), layout.system))


def told(layout: Layout, metres: float) -> str:
    """Print a length without its unit, as the list prints it."""
    return layout.show(quantity(metres, "m"), RoadLength).rpartition(" ")[0]


def circled(drawing: Axes, number: int, x: float, y: float) -> None:
    """Write a number of the list in a circle."""
    look = {"boxstyle": "circle,pad=0.18", "facecolor": "white", "edgecolor": "black", "linewidth": 0.7}
    drawing.text(x, y, f"{number}", ha="center", va="center", fontsize=SIZE, bbox=look)


def outside(mark: Mark, layout: Layout) -> bool:
    """Whether a mark stands before the closure or beyond it."""
    end = max(b for _, b in layout.parts.values())
    return mark.end < -1e-6 or mark.start > end + 1e-6


def approach(layout: Layout, drawing: Axes) -> None:
    """Draw the whole length, from the first sign to the last, with what stands outside the closure."""
    road, marks = Road(layout), in_order(layout)
    last = max(b for _, b in layout.parts.values())
    low, high = min(one.start for one in marks), max(last, *(one.end for one in marks))
    spare = 0.03 * (high - low)
    road.edges(drawing, *sorted((road.x(low - spare), road.x(high + spare))))
    road.traffic(drawing, road.x(low + 5 * spare), 3 * length(layout, spare))
    taper, (_, down) = layout.parts[layout.taper], layout.parts["work space"]
    drawing.fill(
        [road.x(0), road.x(taper[1]), road.x(down), road.x(last)], [road.y(0), road.y(1), road.y(1), road.y(0)],
        facecolor="0.85", edgecolor="black", linewidth=0.8,
    )  # fmt: skip
    for number, mark in enumerate(marks, 1):
        if outside(mark, layout):
            far = road.y(road.others + 2.1) if mark.opposing else road.y(-1.1)
            edge = road.y(road.others + 1) if mark.opposing else road.y(0)
            drawing.plot([road.x(mark.start)] * 2, [edge, far], color="black", linewidth=0.6)
            circled(drawing, number, road.x(mark.start), far)
    for opposing, start, across in ((False, 0.0, -2.9), (True, last, road.others + 3.1)):
        mine = [one.start for one in marks if one.opposing == opposing and one.what.endswith("sign")]
        chain = sorted({*mine, start, *((last,) if not opposing else ())})
        if mine:
            for a, b in pairwise(chain):
                dimension(drawing, road.x(a), road.x(b), road.y(across), told(layout, b - a))
    bare(drawing, (road.x(low - spare), road.x(high + spare)), (road.y(-4.0), road.y(road.others + 4.6)))


def closure(layout: Layout, drawing: Axes) -> None:
    """Draw the closure itself: devices one by one, and its stretches dimensioned."""
    road, marks = Road(layout), in_order(layout)
    last = max(b for _, b in layout.parts.values())
    begin, end = sorted((road.x(-0.05 * last), road.x(1.05 * last)))
    road.edges(drawing, begin, end)
    road.traffic(drawing, road.x(0.04 * last), length(layout, 0.06 * last))
    taper, down = layout.parts[layout.taper], layout.parts["downstream taper"]

    def across(place: float) -> float:
        """Return how far a row of devices stands from the edge of the road."""
        if place < taper[1]:
            return place / taper[1]
        return 1 - (place - down[0]) / (down[1] - down[0]) if place > down[0] else 1.0

    count = 0
    for number, mark in enumerate(marks, 1):
        if mark.spacing:
            places = one_by_one(layout, mark)
            drawing.plot(
                [road.x(p) for p in places], [road.y(across(p)) for p in places], "o", color="black", markersize=3
            )
            middle = (places[0] + places[-1]) / 2
            circled(drawing, number, road.x(middle), road.y(road.others + 2.0))
            drawing.text(road.x(middle), road.y(road.others + 3.2), f"{device(layout)}s {count + 1}–{count + len(places)}",
                         ha="center", va="center", fontsize=SIZE)  # fmt: skip
            count += len(places)
        elif not outside(mark, layout):
            beside = 0.0 if mark.end > mark.start else -road.way * length(layout, 0.02 * last)
            x = road.x(mark.end) + beside  # the vehicle by its front, what stands across the lane just before it
            drawing.plot([x, x], [road.y(0.1), road.y(-0.6)], color="black", linewidth=0.6)
            circled(drawing, number, x, road.y(-0.95))
    low, high = sorted((road.y(0.12), road.y(0.88)))
    for name, colour, hatch in (("work space", "none", "////"), (vehicle(layout), "black", "")):
        a, b = sorted(road.x(place) for place in layout.parts[name])
        drawing.add_patch(
            Rectangle((a, low), b - a, high - low, edgecolor="black", linewidth=0.6, facecolor=colour, hatch=hatch)
        )
    lowest = dimensions(layout, road, drawing)
    bottom, top = sorted((road.y(-1.8), road.y(road.others + 4.0)))
    bare(drawing, (begin, end), (min(bottom, lowest) - 1.6, max(top, road.y(0) + 1.5)))
    drawing.axis("on")
    drawing.set_yticks([])
    drawing.spines["left"].set_visible(False)
    unit = units.kind_of(RoadLength).symbol(layout.system)
    drawing.set_xlabel(f"station [{unit}]", fontsize=SIZE)
    drawing.tick_params(labelsize=SIZE)


def dimensions(layout: Layout, road: Road, drawing: Axes) -> float:
    """Draw the lengths of the stretches, each on a line of its own, and return the height of the lowest."""
    y = min(road.y(0), road.y(road.others + 1)) - (2.4 if road.down else 4.4)
    last = max(b for _, b in layout.parts.values())
    unit = units.kind_of(RoadLength).symbol(layout.system)
    for name, (a, b) in layout.parts.items():
        begin, end = sorted((road.x(a), road.x(b)))
        dimension(drawing, begin, end, y, "")
        left = (begin + end) / 2 > (road.x(0) + road.x(last)) / 2
        gap = length(layout, 0.012 * last)
        drawing.text(begin - gap if left else end + gap, y, f"{name}, {told(layout, b - a)} {unit}",
                     ha="right" if left else "left", va="center", fontsize=SIZE)  # fmt: skip
        y -= 1.05
    return y + 1.05
