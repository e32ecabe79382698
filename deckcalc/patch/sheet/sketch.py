"""Sketch of a patch in plan and section, with the symbols of its formulas."""

from __future__ import annotations

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon, Rectangle

from deckcalc.patch.design import Patches
from deckcalc.show.figures import STYLE, WIDTH, Picture, measure
from deckcalc.show.sections import Text


def sketch(patches: Patches) -> Picture | Text:
    """Plan and section of a patch of the kind that the job has, not to scale; nothing where it has no patch."""
    if not patches.each:
        return Text("")
    partial = any(one.removal is not None for one in patches)
    with matplotlib.rc_context({**STYLE, "font.size": 11.0}):
        figure = Figure(figsize=(WIDTH, 1.6), layout="constrained")
        left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.5))
        plan(left)
        section(right, partial)
        for drawing in (left, right):
            drawing.set_aspect("equal")
            drawing.set_axis_off()
    under = ", with the removal under the bars" if partial else ""
    return Picture(
        figure,
        f"Symbols, not to scale. Left: plan, stations ahead to the right; hatched: unsound concrete. Right: section{under}; white: concrete "
        "removed; circles and dark band: the two layers of the top mat; heavy lines: saw cuts.",
    )


def plan(drawing: Axes) -> None:
    """Draw the repair limits round the unsound concrete."""
    drawing.add_patch(Rectangle((0, 0), 10, 7, fill=False, linewidth=1.4))
    unsound = [(1.2, 3.0), (2.6, 1.2), (6.5, 1.4), (8.8, 3.6), (7.4, 5.8), (3.0, 5.4)]
    drawing.add_patch(Polygon(unsound, facecolor="none", edgecolor="0.35", linewidth=0.6, hatch="////"))
    for x in (1.2, 8.8):
        drawing.plot([x, x], [-1.9, 3.4], color="0.6", linewidth=0.4)
    for y in (1.2, 5.8):
        drawing.plot([-1.9, 4.0], [y, y], color="0.6", linewidth=0.4)
    measure(drawing, (0, 8.1), (10, 8.1), "L", (0, 7))
    measure(drawing, (11.2, 0), (11.2, 7), "B", (7, 0))
    measure(drawing, (1.2, -1.4), (8.8, -1.4), "L_u", (0, -9))
    measure(drawing, (0, -1.4), (1.2, -1.4), "m", (-4, -9))
    measure(drawing, (-1.4, 1.2), (-1.4, 5.8), "B_u", (-11, 0))
    drawing.set_xlim(-4.2, 13.2)
    drawing.set_ylim(-3.4, 9.8)


def section(drawing: Axes, partial: bool) -> None:
    """Draw slab, bars, saw cuts and removal, depths downward."""
    t, cover, d, depth = 8.0, 1.8, 0.6, 5.2 if partial else 8.0
    wide, left, right = 26.0, 5.0, 20.0
    drawing.add_patch(Rectangle((0, -t), wide, t, facecolor="0.87", edgecolor="black", linewidth=0.7))
    drawing.add_patch(
        Rectangle((left, -depth), right - left, depth, facecolor="white", edgecolor="black", linewidth=0.9)
    )
    drawing.add_patch(Rectangle((0, -cover - 2 * d), wide, d, facecolor="0.35", edgecolor="none"))
    for x in (1.6, 6.6, 11.6, 16.6, 21.6):
        drawing.add_patch(Circle((x, -cover - d / 2), d / 2, facecolor="white", edgecolor="black", linewidth=0.8))
    for x in (left, right):
        drawing.plot([x, x], [0, -1.3], color="black", linewidth=2.6)
    drawing.plot([left, left - 6.4], [-1.3, -1.3], color="0.6", linewidth=0.4)
    measure(drawing, (-0.9, 0), (-0.9, -1.3), "d_{saw}", (-17, 0))
    measure(drawing, (wide + 1.0, 0), (wide + 1.0, -t), "t", (7, 0))
    measure(drawing, (11.6, 0), (11.6, -cover), "c", (7, 0))
    if not partial:
        return
    measure(drawing, (14.2, -cover - 2 * d), (14.2, -depth), "s_c", (9, 0))
    measure(drawing, (18.3, 0), (18.3, -depth), "h_d", (-9, -14))
    measure(drawing, (12.0, -depth), (12.0, -t), "t_r", (8, 0))
