"""Drawings of the patches: deck plan and sections; plans of single patches stand in `plans`."""

from __future__ import annotations

import math
from typing import Any

import matplotlib
import numpy as np
import shapely
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from deckcalc.core import units
from deckcalc.core.bars import bar_diameter
from deckcalc.core.units import Length
from deckcalc.patch.design import Patches
from deckcalc.patch.sheet.deck import OVER, UNDER, SpanPlan, scale
from deckcalc.patch.sheet.plan_lines import spans_of, width
from deckcalc.patch.sheet.plans import patch_plans
from deckcalc.show.drafting import HEAVY, TALL, THIN, WIDE, Sheet, Spot
from deckcalc.show.figures import STYLE, WIDTH, Picture

__all__ = ["deck_plan", "patch_plans", "sections_drawn"]


#: Most spans on the plan of the soundings.
MOST_SPANS = 5


def deck_plan(patches: Patches) -> Picture:
    """Plan of the spans with patches: soundings, unsound concrete, repair limits and their numbers."""
    every = spans_of(patches)
    spans = every[:MOST_SPANS]
    with matplotlib.rc_context(STYLE):
        k, left = scale(patches, spans, TALL)
        height = OVER + UNDER + width(patches) * k
        sheet = Sheet(WIDE, height * len(spans))
        for number, span in enumerate(spans):
            SoundedSpan(patches, sheet, span, k, number * height, left).sounded()
    more = "" if spans == every else f" The first {len(spans)} spans with patches are drawn."
    return Picture(
        sheet.figure,
        "Soundings and unsound concrete, to scale, seen from above, stations ahead to the right. Heavy line: repair limits; hatched: "
        f"unsound concrete; dots: soundings, the large ones delaminated; grey bands: girders with their flanges.{more}",
    )


class SoundedSpan(SpanPlan):
    """The plan of a span with what was found by sounding."""

    def sounded(self) -> None:
        """Draw what was found: soundings, unsound concrete, and the repair limits round it."""
        found = self.patches.marked.found
        self.deck()
        self.titles()
        self.ticks()
        panel = found.panels[self.span - self.plan.first_span]
        inside = shapely.covers(panel, shapely.points(found.xy)) if len(found.xy) else found.hollow
        looks: tuple[tuple[bool, dict[str, Any]], ...] = (
            (False, {"s": 1.0, "color": "0.45"}), (True, {"s": 7.0, "color": "black"}),
        )  # fmt: skip
        for hollow, look in looks:
            places = [self.at(*xy) for xy in found.xy[inside & (found.hollow == hollow)]]
            if places:
                self.sheet.axes.scatter(*zip(*places, strict=True), linewidths=0, zorder=2, **look)
        for region in found.regions[self.span - self.plan.first_span]:
            for part in shapely.get_parts(region):
                self.sheet.area([self.at(*xy) for xy in part.exterior.coords], linewidth=THIN, hatch="//////")
                for ring in part.interiors:
                    self.sheet.area([self.at(*xy) for xy in ring.coords], linewidth=THIN, facecolor="white")
        for shape in self.shapes:
            self.sheet.area(shape.exterior.coords, linewidth=HEAVY, zorder=3)
        self.numbers()
        self.names()

    def ticks(self) -> None:
        """Draw a scale of stations under the plan and one of offsets beside it."""
        unit, name = (1.0, "m") if self.patches.system == "SI" else (0.3048, "ft")
        step = next((step for step in (1, 2, 5, 10, 20, 50, 100) if step * unit * self.k >= 16), 200)
        ends_of = (self.a, self.b), self.edges
        for (low, high), along in zip(ends_of, (True, False), strict=True):
            for number in range(math.ceil(low / unit / step), math.floor(high / unit / step) + 1):
                value = number * step
                x, y = self.end(value * unit, self.edges[1]) if along else self.at(self.first, value * unit)
                self.sheet.line([(x, y + 0.5), (x, y + 2)] if along else [(x - 2, y), (x - 0.5, y)])
                spot = Spot(x, y + 2.4, va="top") if along else Spot(x - 2.4, y, "right")
                self.sheet.put(f"{value} {name}".replace("-", "\u2212"), [spot])


def sections_drawn(patches: Patches) -> Picture:
    """Section through each patch: slab, top bars, saw cut, clear space, removal."""
    shown = patches.marked.patches[:12]
    down = (len(shown) + 1) // 2
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 1.35 * down), layout="constrained")
        cells = figure.subplots(down, 2, squeeze=False).ravel()
        for drawing in cells[len(shown) :]:
            drawing.set_axis_off()
        for drawing, one in zip(cells, shown, strict=False):
            section(patches, drawing, one)
    full = " A full-depth hole is open through the slab." if any(one.full for one in patches) else ""
    return Picture(
        figure,
        "Sections through the patches, to scale but cut short in length. White: concrete removed at its deepest, grey: slab that "
        "stays; heavy lines at the sides: saw cuts; circles and dark band: the two layers of the top mat at the minimum measured "
        f"cover.{full}",
    )


def section(patches: Patches, drawing: Any, one: Any) -> None:
    """Draw the section through one patch."""
    deck = patches.deck
    size = lambda q: float(units.magnitude(q, units.kind_of(Length), patches.system))  # noqa: E731
    text = lambda q: patches.show(q, Length)  # noqa: E731
    t, saw, cover = (
        size(deck.slab_thickness),
        size(patches.limit("saw_depth").value),
        size(patches[one.patch].cover.least),
    )
    d_1, d_2 = (size(bar_diameter(name)) for name in (deck.top_bar_outer, deck.top_bar_inner))
    found = patches[one.patch]
    partial = found.left is not None
    h_q = found.left.h_d if partial else deck.slab_thickness
    h, width = size(h_q), 4.0 * t
    left, right = 0.6 * t, width - 0.6 * t
    drawing.add_patch(Rectangle((0, 0), width, t, facecolor="0.87", edgecolor="black", linewidth=0.6))
    drawing.add_patch(Rectangle((left, 0), right - left, h, facecolor="white", edgecolor="black", linewidth=0.8))
    drawing.add_patch(Rectangle((0, cover + d_1), width, d_2, facecolor="0.35", edgecolor="none"))
    spacing = size(deck.bar_spacing)
    for x in np.arange(width / 2 % spacing, width, spacing):
        drawing.add_patch(Circle((x, cover + d_1 / 2), d_1 / 2, facecolor="white", edgecolor="black", linewidth=0.7))
    for x in (left, right):
        drawing.plot([x, x], [0, saw], color="black", linewidth=2.4)
    marks: list[tuple[float, float, float, str, int]] = [
        (width + 0.15 * t, 0, h, text(h_q), 1),
        (-0.15 * t, 0, saw, text(patches.limit("saw_depth").value), -1),
    ]
    if partial:
        marks.append((width + 0.15 * t, h, t, text(found.left.t_r), 1))
        bars = found.removal
        if float(bars.n_r.magnitude):
            under = found.left.h_d - bars.h_bars + found.clear
            drawing.annotate(f"{text(under)} clear under the deepest bar", (width / 2, h), xytext=(0, -2), textcoords="offset points",
                             ha="center", va="top", fontsize=8.5)  # fmt: skip
    for x, a, b, words, side in marks:
        drawing.annotate("", (x, a), (x, b), arrowprops={"arrowstyle": "<->", "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0,
                                                         "mutation_scale": 7})  # fmt: skip
        drawing.annotate(words, (x, (a + b) / 2), xytext=(3 * side, 0), textcoords="offset points", va="center", fontsize=8.5,
                         ha="left" if side > 0 else "right")  # fmt: skip
    part = ", full depth in part" if patches[one.patch].through is not None else ""
    word = "partial depth" if partial else patches[one.patch].depth_class
    drawing.set_title(
        f"{one.patch}, {word}{part}; cover {text(found.cover.least)} to {text(found.cover.greatest)}",
        fontsize=8.5,
        loc="left",
    )
    drawing.set_xlim(-0.75 * t, width + 0.85 * t)
    drawing.set_ylim(t * 1.02, -0.02 * t)
    drawing.set_aspect("equal")
    drawing.set_axis_off()
