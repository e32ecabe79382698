"""Sketches that explain symbols: not to scale, a panel for each matter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from deckcalc.show.figures import WIDTH

THIN, MIDDLE, HEAVY = 0.6, 1.0, 1.8
#: Sizes of a symbol, of its subscript and of words, in points.
SYMBOL, WORDS = 10, 8.5


def panels(
    height: float, *titles: str, width: float = WIDTH, ratios: Sequence[float] | None = None
) -> tuple[Figure, list[Axes]]:
    """Return a figure with panels side by side, titles above, no axes; each panel runs from 0 to 10 both ways."""
    figure = Figure(figsize=(width, height), layout="constrained")
    drawings = figure.subplots(1, len(titles), squeeze=False, width_ratios=ratios)[0]
    for drawing, title in zip(drawings, titles, strict=True):
        drawing.set_axis_off()
        drawing.set_xlim(0, 10)
        drawing.set_ylim(0, 10)
        drawing.set_title(title, fontsize=WORDS, loc="left")
    return figure, list(drawings)


def symbol(drawing: Axes, x: float, y: float, base: str, sub: str = "", **look: Any) -> None:
    """Write a symbol with its subscript, centred at a point unless said otherwise."""
    given: dict[str, Any] = {"ha": "center", "va": "center", "style": "italic", "fontsize": SYMBOL, **look}
    written = drawing.text(x, y, base, **given)
    if sub:
        drawing.annotate(sub, (1, 0), xycoords=written, xytext=(0, -2.5), textcoords="offset points", fontsize=WORDS,
                         ha="left", va="baseline")  # fmt: skip


def words(drawing: Axes, x: float, y: float, text: str, **look: Any) -> None:
    """Write words."""
    given: dict[str, Any] = {"ha": "center", "va": "center", "fontsize": WORDS, **look}
    drawing.text(x, y, text, **given)


def dimension(
    drawing: Axes, start: tuple[float, float], end: tuple[float, float], base: str, sub: str = "", beside: float = 0.75
) -> None:
    """Draw a dimension line with its symbol; the symbol stands above a line, or to its right, by so much."""
    drawing.annotate("", end, start, arrowprops={"arrowstyle": "<|-|>", "linewidth": THIN, "shrinkA": 0, "shrinkB": 0,
                                                 "mutation_scale": 6, "color": "black"})  # fmt: skip
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    across = start[1] == end[1]
    symbol(drawing, x if across else x + beside, y + beside if across else y, base, sub)


def line(drawing: Axes, *points: tuple[float, float], width: float = MIDDLE, style: str = "-") -> None:
    """Draw a line through points."""
    drawing.plot(*zip(*points, strict=True), color="black", linewidth=width, linestyle=style, solid_capstyle="butt")


def box(
    drawing: Axes,
    x: float,
    y: float,
    wide: float,
    high: float,
    hatch: str = "",
    width: float = MIDDLE,
    style: str = "-",
) -> None:
    """Draw a rectangle from its lower left corner."""
    drawing.add_patch(Rectangle((x, y), wide, high, fill=False, hatch=hatch, linewidth=width, linestyle=style))


def force(drawing: Axes, x: float, y: float, length: float = 1.8) -> None:
    """Draw a force that points down at a point."""
    drawing.annotate("", (x, y), (x, y + length), arrowprops={"arrowstyle": "-|>", "linewidth": MIDDLE, "shrinkA": 0, "shrinkB": 0,
                                                              "color": "black"})  # fmt: skip


def girder(drawing: Axes, x: float, top: float) -> None:
    """Draw the upper part of a girder whose flange bears the slab at a point."""
    shape = [(-0.9, 0), (0.9, 0), (0.9, -0.35), (0.18, -0.6), (0.18, -2.6), (-0.18, -2.6), (-0.18, -0.6), (-0.9, -0.35)]
    drawing.add_patch(Polygon([(x + a, top + b) for a, b in shape], fill=False, linewidth=MIDDLE))
