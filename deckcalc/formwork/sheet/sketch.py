"""Sketch of a form and its members with the symbols of their formulas."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.formwork.design import Forms
from deckcalc.show.figures import STYLE, SYMBOL, WIDTH, Picture, measure
from deckcalc.show.sections import Text

ARROW: dict[str, Any] = {
    "arrowstyle": "-|>",
    "linewidth": 0.8,
    "shrinkA": 0,
    "shrinkB": 0,
    "mutation_scale": 7,
    "color": "black",
}


def sketch(forms: Forms) -> Picture | Text:
    """Form section and its members over their supports, with the symbols of the formulas, not to scale; nothing where there is no form."""
    if not forms.each:
        return Text("")
    hung = any(form.hanger is not None for form in forms)
    with matplotlib.rc_context({**STYLE, "font.size": 11.0}):
        figure = Figure(figsize=(WIDTH, 1.5), layout="constrained")
        one, two, three = figure.subplots(1, 3)
        panel_strip(one)
        member(two)
        carrier(three, hung)
        for drawing, title in zip(
            (one, two, three), ("panel", "joist", "strongback" if hung else "stringer and shore"), strict=True
        ):
            drawing.set_title(title, fontsize=8.5, loc="left")
            drawing.set_aspect("equal")
            drawing.set_axis_off()
    return Picture(
        figure,
        f"Symbols, not to scale. Left: section across the joists, the panel under the fresh concrete h; middle: a joist on its supports; right: "
        f"{'a strongback on its blocks, the hangers below it' if hung else 'a stringer under the joists, on its shores'}.",
    )


def uniform(drawing: Axes, start: float, end: float, y: float) -> None:
    """Draw a uniform load above a member."""
    for x in np.linspace(start, end, 9):
        drawing.annotate("", (x, y), (x, y + 1.6), arrowprops=ARROW)
    drawing.plot([start, end], [y + 1.6, y + 1.6], color="black", linewidth=0.6)


def panel_strip(drawing: Axes) -> None:
    """Draw the panel over the joists under the fresh concrete."""
    drawing.add_patch(Rectangle((0, 0.4), 12, 2.4, hatch="...", facecolor="none", linewidth=0.7))
    for x in (-2.2, 12):
        drawing.add_patch(Rectangle((x, 0.4), 2.2, 2.4, facecolor="0.85", edgecolor="black", linewidth=0.7))
    drawing.add_patch(Rectangle((-1.2, 0), 14.4, 0.4, facecolor="0.5", edgecolor="black", linewidth=0.6))
    for x in (1.5, 4.5, 7.5, 10.5):
        drawing.add_patch(
            Rectangle((x - 0.3, -1.6), 0.6, 1.6, facecolor="none", edgecolor="black", hatch="xx", linewidth=0.7)
        )
    uniform(drawing, 0.4, 11.6, 2.9)
    drawing.annotate("$p$", (12.6, 3.8), ha="center", va="center", gid=SYMBOL)
    measure(drawing, (-0.7, 0.4), (-0.7, 2.8), "h", (-6, 0))
    measure(drawing, (4.5, -2.3), (7.5, -2.3), "s", (0, -7))
    measure(drawing, (0, -2.3), (1.5, -2.3), "o", (0, -7))
    drawing.set_xlim(-2.6, 14.4)
    drawing.set_ylim(-4.4, 5.2)


def member(drawing: Axes) -> None:
    """Draw a joist over its supports under its uniform load."""
    drawing.add_patch(Rectangle((0, 0), 13, 0.9, facecolor="none", edgecolor="black", linewidth=0.9))
    for x in (2.0, 6.5, 11.0):
        drawing.annotate("", (x, 0), (x, -2.0), arrowprops=ARROW)
    uniform(drawing, 0.2, 12.8, 1.0)
    drawing.annotate("$w$", (13.7, 2.0), ha="center", va="center", gid=SYMBOL)
    drawing.annotate("$P$", (7.4, -1.2), ha="center", va="center", gid=SYMBOL)
    measure(drawing, (2.0, -2.4), (6.5, -2.4), "l", (0, -7))
    measure(drawing, (0, -2.4), (2.0, -2.4), "o", (0, -7))
    drawing.set_xlim(-0.6, 14.6)
    drawing.set_ylim(-4.4, 5.2)


def carrier(drawing: Axes, hung: bool) -> None:
    """Draw a strongback on its blocks under the pull of the hangers, or a stringer on its shores under the joists."""
    drawing.add_patch(Rectangle((0, 0.6), 13, 1.2, facecolor="none", edgecolor="black", linewidth=0.9))
    for x in (3.5, 6.5, 9.5):
        start, end = (0.6, -1.6) if hung else (3.6, 1.8)
        drawing.annotate("", (x, end), (x, start), arrowprops=ARROW)
    if hung:
        for x in (0.2, 11.6):
            drawing.add_patch(Rectangle((x, -0.2), 1.2, 0.8, facecolor="0.7", edgecolor="black", linewidth=0.7))
        drawing.annotate("$P$", (10.3, -1.0), ha="center", va="center", gid=SYMBOL)
        measure(drawing, (0.8, 2.6), (12.2, 2.6), "l", (0, 7))
        measure(drawing, (3.5, -2.2), (6.5, -2.2), "s", (0, -7))
    else:
        for x in (2.0, 11.0):
            drawing.add_patch(Rectangle((x - 0.4, -2.4), 0.8, 3.0, facecolor="none", edgecolor="black", linewidth=0.9))
        drawing.annotate("$P$", (10.3, 3.0), ha="center", va="center", gid=SYMBOL)
        measure(drawing, (3.5, 4.0), (6.5, 4.0), "s", (0, 7))
        measure(drawing, (2.0, -2.9), (11.0, -2.9), "l", (0, -7))
        measure(drawing, (0, -2.9), (2.0, -2.9), "o", (0, -7))
        measure(drawing, (12.2, -2.4), (12.2, 0.6), "l_u", (8, 0))
    drawing.set_xlim(-0.6, 14.6)
    drawing.set_ylim(-4.4, 5.2)
