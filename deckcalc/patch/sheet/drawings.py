"""Drawings of the patches: deck plan, setting-out of each patch, sections."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import matplotlib
import numpy as np
import shapely
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon, Rectangle
from matplotlib.transforms import offset_copy

from deckcalc.core import units
from deckcalc.core.bars import bar_diameter
from deckcalc.core.units import Distance, Length
from deckcalc.patch.design import Patches
from deckcalc.patch.design.location import girder_names
from deckcalc.patch.design.marking import metres
from deckcalc.patch.sheet import chalked, corners_of
from deckcalc.show.figures import STYLE, WIDTH, Picture, pages


def scale(patches: Patches) -> float:
    """Return the printed units of distance in a metre."""
    return float(units.magnitude(metres(1), units.kind_of(Distance), patches.system))


def drawn(drawing: Any, shape: Any, k: float, **look: Any) -> None:
    """Draw a shape of the plan."""
    for part in shapely.get_parts(shape):
        drawing.add_patch(Polygon(np.asarray(part.exterior.coords) * k, **look))
        for ring in part.interiors:
            drawing.add_patch(Polygon(np.asarray(ring.coords) * k, facecolor="white", edgecolor="black", linewidth=0.5))


def regions_of(patches: Patches, span: int) -> list[Any]:
    """Return the unsound regions of a span."""
    return patches.marked.found.regions[span - patches.inputs.plan.first_span]


def deck_plan(patches: Patches) -> Picture:
    """Plan of every span with patches, to scale: what the deck is, soundings, unsound regions, repair limits and numbers."""
    k, plan, marked = scale(patches), patches.inputs.plan, patches.marked
    spans = sorted({one.span for one in marked.patches})[:5]
    extent = [marked.found.panels[span - plan.first_span].bounds for span in spans]
    wide = np.ptp([*edges_of(patches), plan.left, plan.right])
    tall = [7.0 * wide / (b[2] - b[0]) + 0.9 for b in extent]
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, min(sum(tall), 8.8)), layout="constrained")
        rows = figure.subplots(len(spans), 1, squeeze=False, height_ratios=tall)[:, 0]
        for drawing, span in zip(rows, spans, strict=True):
            panel = marked.found.panels[span - plan.first_span]
            drawn(drawing, panel, k, fill=False, linewidth=1.2)
            deck_drawn(patches, drawing, span, k)
            inside = (
                shapely.covers(panel, shapely.points(marked.found.xy)) if len(marked.found.xy) else np.empty(0, bool)
            )
            for hollow, look in ((False, {"s": 1.0, "color": "0.45"}), (True, {"s": 7.0, "color": "black"})):
                points = marked.found.xy[inside & (marked.found.hollow == hollow)] * k
                drawing.scatter(points[:, 0], points[:, 1], linewidths=0, **look)
            for region in regions_of(patches, span):
                drawn(drawing, region, k, facecolor="none", edgecolor="black", linewidth=0.5, hatch="//////")
            for one in (one for one in marked.patches if one.span == span):
                drawn(drawing, one.piece.outline, k, fill=False, linewidth=1.3)
                x_1, y_1, x_2, _ = one.piece.outline.bounds
                drawing.annotate(one.patch, ((x_1 + x_2) / 2 * k, y_1 * k), xytext=(0, 2), textcoords="offset points",
                                 ha="center", va="bottom", fontsize=8.5, fontweight="bold",
                                 bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6})  # fmt: skip
            unit = units.kind_of(Distance).symbol(patches.system)
            drawing.set_aspect("equal")
            drawing.autoscale_view()
            drawing.invert_yaxis()  # stations run to the right, so the right-hand side lies below
            drawing.set_ylabel(f"offset [{unit}]")
            drawing.set_title(f"span {span}", loc="left", fontsize=8.5)
        rows[-1].set_xlabel(f"station [{unit}]")
        if plan.north is not None:
            north_arrow(rows[0], plan.north)
    more = (
        ""
        if len(spans) == len({one.span for one in marked.patches})
        else " The first five spans with patches are drawn."
    )
    return Picture(
        figure,
        "Deck plan to scale, seen from above, stations ahead to the right. Heavy line: repair limits; hatched: unsound concrete; "
        f"dots: soundings, the large ones delaminated; grey bands with a chain line: girders with their flanges; heavy ends: joints or deck ends; "
        f"outer lines: edges of the slab; dotted: what lies below, by area; arrows: way of the traffic.{more}",
    )


def edges_of(patches: Patches) -> tuple[float, float]:
    """Return the offsets of the edges of the slab."""
    plan = patches.inputs.plan
    return (
        plan.left if plan.left_edge is None else plan.left_edge,
        plan.right if plan.right_edge is None else plan.right_edge,
    )


def deck_drawn(patches: Patches, drawing: Any, span: int, k: float) -> None:
    """Draw what a span is: girders with flanges and names, edges with what stands on them, joints, lanes, what is below."""
    plan = patches.inputs.plan
    a, b = plan.joints[span - plan.first_span : span - plan.first_span + 2]
    lean, half = math.tan(math.radians(plan.skew)), (plan.flange_width or 0.0) / 2
    edges = edges_of(patches)
    end = lambda joint, y: (joint + y * lean) * k  # noqa: E731
    said: dict[str, Any] = {"fontsize": 6, "color": "0.3", "va": "center"}
    for name, y in zip(girder_names(plan), sorted(plan.girders), strict=True):
        corners = [
            (end(joint, side), side * k) for joint, side in ((a, y - half), (b, y - half), (b, y + half), (a, y + half))
        ]
        drawing.add_patch(Polygon(corners, facecolor="0.92", edgecolor="none", zorder=0))
        drawing.plot([end(a, y), end(b, y)], [y * k] * 2, color="0.55", linewidth=0.5, linestyle=(0, (8, 3, 1, 3)))
        drawing.annotate(
            name, (end(b, y), y * k), xytext=(4, 0), textcoords="offset points", annotation_clip=False, **said
        )
    for y, kerb, stands in zip(edges, (plan.left, plan.right), (plan.left_stands, plan.right_stands), strict=True):
        drawing.plot([end(a, y), end(b, y)], [y * k] * 2, color="black", linewidth=0.8)
        if stands:
            drawing.annotate(stands, (end((a + b) / 2, y), (y + kerb) / 2 * k), ha="center", **said)
    for joint in (a, b):
        drawing.plot([end(joint, y) for y in edges], [y * k for y in edges], color="black", linewidth=2.0)
    for lane in plan.lanes:
        middle, way = (lane.from_offset + lane.to_offset) / 2, 1 if lane.direction == "ahead" else -1
        for y in (lane.from_offset, lane.to_offset):
            drawing.plot([end(a, y), end(b, y)], [y * k] * 2, color="0.45", linewidth=0.5, linestyle=(0, (6, 6)))
        x = (0.12 if way > 0 else 0.88) * (b - a) + a
        drawing.annotate("", (end(x + way * 0.08 * (b - a), middle), middle * k), (end(x, middle), middle * k),
                         arrowprops={"arrowstyle": "-|>", "linewidth": 0.8, "color": "0.3"})  # fmt: skip
        drawing.annotate(lane.name, (end(x, middle), middle * k), xytext=(-3 * way, 0), textcoords="offset points",
                         ha="right" if way > 0 else "left", **said)  # fmt: skip
    for one in plan.below:
        from_x, to_x = max(one.from_station, a), min(one.to_station, b)
        if from_x >= to_x:
            continue
        top, low = (edge if y is None else y for y, edge in zip((one.from_offset, one.to_offset), edges, strict=True))
        drawing.add_patch(
            Rectangle(
                (from_x * k, top * k), (to_x - from_x) * k, (low - top) * k, fill=False, linewidth=0.5, linestyle=":"
            )
        )
        drawing.annotate(f"{one.what} below", ((from_x + to_x) / 2 * k, low * k), xytext=(0, -6), textcoords="offset points", ha="center",
                         annotation_clip=False, **said)  # fmt: skip


def north_arrow(drawing: Any, bearing: float) -> None:
    """Draw an arrow to the north above a plan; `bearing` is that of the way ahead, which lies to the right on the plan."""
    x, y = math.cos(math.radians(bearing)), math.sin(math.radians(bearing))
    at = lambda share: offset_copy(  # noqa: E731
        drawing.transAxes, drawing.figure, -20 + share * x, 22 + share * y, units="points"
    )
    drawing.annotate("", (1, 1), (1, 1), xycoords=at(9), textcoords=at(-9), annotation_clip=False,
                     arrowprops={"arrowstyle": "-|>", "linewidth": 0.9, "color": "black", "shrinkA": 0, "shrinkB": 0})  # fmt: skip
    drawing.annotate("N", (1, 1), xycoords=at(15), ha="center", va="center", fontsize=8.5, annotation_clip=False)


def patch_plans(patches: Patches) -> list[Picture]:
    """Plans of all patches with dimensions, corners and depth readings, a page at a time."""
    return [patch_plan(patches, shown) for shown in pages(patches.marked.patches, 12)]


def patch_plan(patches: Patches, shown: Sequence[Any]) -> Picture:
    """Plan of some patches."""
    k, across = scale(patches), 3 if len(shown) < 7 else 4
    down = math.ceil(len(shown) / across)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 1.9 * down), layout="constrained")
        cells = figure.subplots(down, across, squeeze=False).ravel()
        for drawing in cells[len(shown) :]:
            drawing.set_axis_off()
        for drawing, one in zip(cells, shown, strict=False):
            drawn(drawing, one.piece.unsound, k, facecolor="none", edgecolor="0.35", linewidth=0.5, hatch="////")
            drawn(drawing, one.piece.outline, k, fill=False, linewidth=1.4)
            if patches[one.patch].through is not None:
                drawn(
                    drawing,
                    patches[one.patch].through,
                    k,
                    facecolor="none",
                    edgecolor="black",
                    linewidth=0.8,
                    hatch="xxxx",
                )
            dimensions(patches, drawing, one, k)
            for reading in one.deep:
                drawing.plot(
                    [reading.station * k], [reading.offset * k], "+", color="black", markersize=5, markeredgewidth=1
                )
                depth = units.fixed(float(units.magnitude(metres(reading.depth), units.kind_of(Length), patches.system)),
                                    units.kind_of(Length).decimals(patches.system))  # fmt: skip
                drawing.annotate(depth, (reading.station * k, reading.offset * k), xytext=(3, 2), textcoords="offset points", bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3})  # fmt: skip
            drawing.set_aspect("equal")
            drawing.autoscale_view()
            drawing.margins(0.22)
            drawing.invert_yaxis()
            drawing.set_axis_off()
            drawing.set_title(f"{one.patch}, {patches[one.patch].depth_class}", fontsize=8.5)
    length = units.kind_of(Length).symbol(patches.system)
    return Picture(
        figure,
        "Each patch in plan, to a scale of its own, stations ahead to the right. Heavy line: repair limits with their sides and "
        f"corners; hatched: unsound concrete; crosses: depth readings [{length}]."
        + (" Crossed: the part that goes through." if any(one.through is not None for one in patches) else ""),
    )


def dimensions(patches: Patches, drawing: Any, one: Any, k: float) -> None:
    """Write length and width beside the sides, and the letters of the corners as in the set-out table."""
    corners = corners_of(one)
    middle = corners.mean(axis=0)
    for letter, corner in zip("abcdefgh", corners, strict=False):
        away = (corner - middle) / np.hypot(*(corner - middle))
        drawing.annotate(letter, corner * k, xytext=(away[0] * 6, -away[1] * 6), textcoords="offset points",
                         ha="center", va="center", style="italic")  # fmt: skip
    for i in range(min(len(corners), 4)):
        a, b = corners[i], corners[(i + 1) % len(corners)]
        flat = abs(b[0] - a[0]) >= abs(b[1] - a[1])
        half = (a + b) / 2
        if (flat and half[1] < middle[1]) or (not flat and half[0] > middle[0]):
            continue  # one side of each pair
        text = chalked(patches, float(np.hypot(*(b - a))), unit=True)
        out = (half - middle) / np.hypot(*(half - middle))
        drawing.annotate(text, half * k, xytext=(out[0] * 9, -out[1] * 9), textcoords="offset points", ha="center",
                         va="center", rotation=0 if flat else 90)  # fmt: skip


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
