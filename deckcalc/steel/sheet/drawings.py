"""Drawings of the reinforcement: the sketch that explains its symbols, the measured bars with what is added, strength bar by bar."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.core import units
from deckcalc.core.units import Distance, Length, MomentPerWidth
from deckcalc.patch.design import PatchDesign
from deckcalc.patch.design.marking import metres
from deckcalc.show.figures import STYLE, WIDTH, Picture, axes, pages
from deckcalc.show.sections import Text
from deckcalc.show.sketch import HEAVY, box, dimension, force, girder, line, panels, symbol, words
from deckcalc.steel.design.results import MAIN, BarDesign, Steel
from deckcalc.steel.design.strip import built_over_girder, strength_by_bar

#: Patches on one drawing of measured bars.
PATCHES = 6


def sketch(steel: Steel) -> Picture | Text:
    """Sketch of the strip over the girders, of a lap, and of the punching perimeter, as far as the sheet uses them."""
    strip, lap = bool(steel.states), any(bar.lap is not None for bar in steel)
    parts = [(strip, "Strip across traffic", draw_strip), (lap, "Added bar and its laps, plan", draw_lap),
             (strip, "Punching, plan", draw_punching)]  # fmt: skip
    shown = [(title, draw) for wanted, title, draw in parts if wanted]
    if not shown:
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, drawings = panels(2.0, *(title for title, _ in shown), width=WIDTH if strip else WIDTH / 2)
        for drawing, (_, draw) in zip(drawings, shown, strict=True):
            draw(drawing)
    return Picture(figure, "Symbols of the calculations, not to scale.")


def draw_strip(drawing: Axes) -> None:
    """Draw the strip over two girders, one patch open from the top."""
    top, low, under = 7.4, 4.6, 6.2
    x = [0, 4.2, 4.2, 7.2, 7.2, 10, 10, 0, 0]
    y = [top, top, under, under, top, top, low, low, top]
    drawing.plot(x, y, color="black", linewidth=1.0)
    for at in (1.6, 8.4):
        girder(drawing, at, low)
        line(drawing, (at, 1.9), (at, 0.9), width=0.6)
    line(drawing, (0, 6.9), (4.2, 6.9), width=HEAVY)
    line(drawing, (7.2, 6.9), (10, 6.9), width=HEAVY)
    line(drawing, (0, 5.1), (10, 5.1), width=HEAVY)
    force(drawing, 6.3, under + 0.05, 2.3)
    symbol(drawing, 6.8, 8.3, "P")
    dimension(drawing, (1.6, 1.3), (8.4, 1.3), "S", beside=0.6)
    dimension(drawing, (0.5, low), (0.5, top), "h", beside=0.5)
    dimension(drawing, (3.6, low), (3.6, 6.9), "d", beside=-0.5)
    dimension(drawing, (5.6, 5.1), (5.6, under), "d", beside=-0.5)
    dimension(drawing, (5.6, under), (5.6, top), "h", "r", beside=-0.8)
    line(drawing, (2.5, top + 0.5), (2.5, 4.0), width=0.6, style="--")
    dimension(drawing, (1.6, 7.9), (2.5, 7.9), "x", beside=0.6)
    words(drawing, 8.6, 7.9, "top bars")
    words(drawing, 5, 3.7, "bottom bars")


def draw_lap(drawing: Axes) -> None:
    """Draw the added bar beside the bar that has lost section, between the edges of the patch."""
    box(drawing, 0.4, 2.4, 9.2, 4.9, style="--")
    line(drawing, (0, 4.6), (10, 4.6), width=HEAVY)
    drawing.add_patch(
        Rectangle((4.1, 4.35), 1.8, 0.5, facecolor="white", edgecolor="black", hatch="xxxx", linewidth=0.6)
    )
    line(drawing, (1.3, 5.3), (8.7, 5.3), width=HEAVY)
    dimension(drawing, (4.1, 3.9), (5.9, 3.9), "L", "loss", beside=-0.7)
    dimension(drawing, (1.3, 5.9), (4.1, 5.9), "l", "lap", beside=0.7)
    dimension(drawing, (5.9, 5.9), (8.7, 5.9), "l", "lap", beside=0.7)
    dimension(drawing, (1.3, 8.1), (8.7, 8.1), "L", "bar", beside=0.7)
    dimension(drawing, (0.4, 1.6), (9.6, 1.6), "L", "patch", beside=-0.7)
    dimension(drawing, (0.4, 3.9), (1.3, 3.9), "c", "end", beside=-0.7)
    for x in (1.3, 8.7):
        line(drawing, (x, 3.7 if x < 5 else 5.4), (x, 8.4), width=0.6)


def draw_punching(drawing: Axes) -> None:
    """Draw the wheel, and the perimeter at half the effective depth from it."""
    box(drawing, 2.6, 3.8, 4.8, 2.6, hatch="....")
    drawing.add_patch(Rectangle((3.9, 4.7), 2.2, 0.8, facecolor="white", edgecolor="none"))
    words(drawing, 5, 5.1, "wheel P")
    box(drawing, 1.6, 2.8, 6.8, 4.6, style="--")
    dimension(drawing, (2.6, 8.1), (7.4, 8.1), "w", "1", beside=0.7)
    dimension(drawing, (9.0, 3.8), (9.0, 6.4), "w", "2", beside=0.5)
    dimension(drawing, (1.6, 1.9), (2.6, 1.9), "d/2", beside=-0.75)
    for x, low, high in ((2.6, 1.6, 3.6), (1.6, 1.6, 2.6)):
        line(drawing, (x, low), (x, high), width=0.6)
    symbol(drawing, 5, 2.1, "b", "o")
    words(drawing, 5, 0.4, "a side at a hole does not count")


def bar_maps(steel: Steel) -> list[Picture | Text]:
    """Every measured bar in its patch, with its loss and the bars to add, a page at a time; only patches with measured bars."""
    placed = [bar for bar in steel if bar.row.station is not None and bar.row.offset is not None]
    measured = [patch for patch in steel.patches if any(bar.row.patch == patch.name for bar in placed)]
    return [bar_map(steel, shown, placed) for shown in pages(measured, PATCHES)] or [Text("")]


def bar_map(steel: Steel, patches: Sequence[PatchDesign], placed: Sequence[BarDesign]) -> Picture:
    """The measured bars of some patches."""
    columns = min(2, len(patches))
    high = -(-len(patches) // columns)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 2.05 * high), layout="constrained")
        panels_ = figure.subplots(high, columns, squeeze=False).ravel()
        for panel, patch in zip(panels_, patches, strict=False):
            draw_patch(panel, steel, patch, [bar for bar in placed if bar.row.patch == patch.name])
        for panel in panels_[len(patches) :]:
            panel.set_axis_off()
    return Picture(
        figure,
        f"Measured bars in their repair limits, plan, stations ahead to the right, offsets to the right of the line below "
        f"[{units.kind_of(Distance).symbol(steel.system)}]; each bar with its loss of section in per cent. Heavy: bars to be supplemented; "
        "dashed: bar to add, in the middle of the patch.",
    )


def draw_patch(panel: Axes, steel: Steel, patch: PatchDesign, bars: Sequence[BarDesign]) -> None:
    """Draw one patch: its limits with their stations and offsets, its bars, and what is added."""
    size = lambda q: float(units.magnitude(q, units.kind_of(Distance), steel.system))  # noqa: E731
    x, y, L, B = size(patch.marked.station), size(patch.marked.offset), size(patch.limits.L), size(patch.limits.B)
    panel.add_patch(Rectangle((x - L / 2, y - B / 2), L, B, fill=False, linewidth=0.8, linestyle="-."))
    main = sorted((bar for bar in bars if bar.main), key=lambda bar: bar.row.station or 0.0)
    level = {bar.name: place % 2 for place, bar in enumerate(main)}  # names of neighbours stand at two heights
    for bar in bars:
        at = size(metres(bar.row.station)), size(metres(bar.row.offset))
        draw_bar(panel, bar, at, (x, y, L, B), level.get(bar.name, 0))
        if bar.cut is not None:
            draw_added(panel, steel, bar, at, (x, y, L, B), size(bar.cut))
    panel.set_title(patch.item, fontsize=8.5, loc="left", pad=3)
    panel.set_xlim(x - 0.6 * L, x + 0.6 * L)
    panel.set_ylim(y + 0.6 * B, y - (1.05 if main else 0.6) * B)  # offsets to the right of the line lie below
    panel.set_xticks([x - L / 2, x + L / 2], [f"{at:.2f}" for at in (x - L / 2, x + L / 2)])
    panel.set_yticks([y - B / 2, y + B / 2], [f"{at:.2f}" for at in (y - B / 2, y + B / 2)])
    panel.tick_params(length=3)
    for side in ("left", "bottom"):
        panel.spines[side].set_visible(False)


def draw_bar(
    panel: Axes, bar: BarDesign, at: tuple[float, float], limits: tuple[float, float, float, float], level: int
) -> None:
    """Draw one bar across its patch, with its loss."""
    (x, y), (px, py, L, B) = at, limits
    look: Any = {"color": "black", "linewidth": 3.0 if bar.why else 0.9, "solid_capstyle": "butt"}
    loss = f"{bar.loss.m_as('percent'):.1f}"
    weight = "bold" if bar.why else "normal"
    if bar.main:
        panel.plot([x, x], [py - B / 2, py + B / 2], **look)
        panel.text(
            x,
            py - (0.53 + 0.26 * level) * B,
            f"{bar.name}\n{loss}",
            ha="center",
            va="bottom",
            weight=weight,
            linespacing=0.95,
        )
        if level:
            panel.plot([x, x], [py - 0.5 * B, py - 0.78 * B], color="0.5", linewidth=0.5)
        return
    panel.plot([px - L / 2, px + L / 2], [y, y], **look)
    panel.text(px - L / 2, y, f"{bar.name}  {loss}", ha="left", va="center", weight=weight,
               bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8})  # fmt: skip


def draw_added(
    panel: Axes, steel: Steel, bar: BarDesign, at: tuple[float, float], limits: tuple[float, float, float, float], cut: float
) -> None:  # fmt: skip
    """Draw the bar that is added beside one, in the middle of the patch, with its cut length."""
    (x, y), (px, py, L, B) = at, limits
    look: Any = {
        "color": "black",
        "linewidth": 1.6,
        "linestyle": (0, (4, 1.5)),
        "marker": "|" if not bar.main else "_",
        "markersize": 6,
    }
    assert bar.supplement is not None and bar.cut is not None
    count = int(bar.supplement.n.m_as(""))
    text = f"add {count} × {bar.size}\n{steel.show(bar.cut, Length)}"
    white = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}
    if bar.main:
        aside = x + 0.035 * L
        panel.plot([aside, aside], [py - cut / 2, py + cut / 2], **look)
        left = x > px
        panel.text(
            x - 0.03 * L if left else aside + 0.03 * L,
            py + 0.2 * B,
            text,
            ha="right" if left else "left",
            va="center",
            bbox=white,
        )
        return
    aside = y + 0.05 * B
    panel.plot([px - cut / 2, px + cut / 2], [aside, aside], **look)
    panel.text(px, aside + 0.08 * B, text.replace("\n", ", "), ha="center", va="top", bbox=white)


def along(steel: Steel) -> Picture | Text:
    """Strength over the girder along the strip, bar by bar."""
    built = built_over_girder(steel)
    if built is None:
        return Text("")
    main = [bar for bar in steel if bar.row.layer == MAIN]
    if not main:
        return Text("")
    show = lambda q: np.asarray(units.magnitude(q, units.kind_of(MomentPerWidth), steel.system))  # noqa: E731
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(WIDTH, 2.8)
        place = np.arange(len(main))
        drawing.bar(
            place, show(strength_by_bar(steel)), color="white", edgecolor="black", linewidth=0.7,
            label="with the loss of each bar alone",
        )  # fmt: skip
        for state, look in (("as found", "-"), ("repaired", ":")):
            for index, one in enumerate(s for s in steel.states if s.state == state):
                here = [i for i, bar in enumerate(main) if one.patch and bar.row.patch == one.patch.name]
                drawing.plot([here[0] - 0.5, here[-1] + 0.5], [float(show(one.strength))] * 2, color="black", linestyle=look,
                             linewidth=1.8, label=f"{state}, mean of the patch" if index == 0 else None)  # fmt: skip
        drawing.axhline(float(show(built.strength)), color="black", linestyle="-.", linewidth=0.8, label="as built")
        drawing.axhline(
            float(show(built.rated.m_u)), color="black", linestyle="--", linewidth=0.8, label="factored demand"
        )
        drawing.set_xticks(place, [f"{bar.name}, {bar.row.patch}" for bar in main], rotation=90)
        drawing.set_ylabel(f"strength [{units.kind_of(MomentPerWidth).symbol(steel.system)}]")
        drawing.set_ylim(0, float(show(built.strength)) * 1.5)
        drawing.legend(loc="upper center", ncols=3)
    return Picture(
        figure,
        "Strength of the deck strip over the girder along the deck: bars, if all of the steel had lost what the one bar has; full and dotted "
        "lines, with the mean loss of the patch, as found and repaired.",
    )
