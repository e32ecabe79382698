"""Drawings of the forms: plan and section of each."""

from __future__ import annotations

import math
from typing import Any

import matplotlib
import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from deckcalc.core import units
from deckcalc.core.units import quantity
from deckcalc.formwork.design import FormDesign, Forms
from deckcalc.formwork.design.forms import si
from deckcalc.formwork.design.standing import Part, flanges, on_deck, outline, parts, places
from deckcalc.formwork.sheet import size
from deckcalc.show.figures import STYLE, Picture
from deckcalc.show.sections import Text


class Frame:
    """Scales a drawing of one form to the unit of the job, and draws dimensions."""

    def __init__(self, forms: Forms, drawing: Axes) -> None:
        self.drawing = drawing
        self.k = 1000.0 if forms.system == "SI" else 1 / 0.0254

    def box(self, x: float, y: float, w: float, h: float, **look: Any) -> None:
        """Draw a rectangle, metres."""
        k = self.k
        look = {"facecolor": "none", "edgecolor": "black", **look}
        self.drawing.add_patch(Rectangle((x * k, y * k), w * k, h * k, **look))

    def dimension(
        self, x1: float, y1: float, x2: float, y2: float, text: str, side: tuple[float, float] = (0, 4)
    ) -> None:
        """Draw a dimension line with its text, metres."""
        k = self.k
        self.drawing.update_datalim([(x1 * k, y1 * k), (x2 * k, y2 * k)])
        self.drawing.annotate(
            "",
            (x1 * k, y1 * k),
            (x2 * k, y2 * k),
            arrowprops={"arrowstyle": "<->", "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0},
        )
        upright = abs(x1 - x2) < 1e-9
        self.drawing.annotate(
            text, ((x1 + x2) / 2 * k, (y1 + y2) / 2 * k), xytext=side, textcoords="offset points", fontsize=7,
            ha="right" if upright else "center", va="center" if upright else "bottom",
        )  # fmt: skip

    def note(self, x: float, y: float, text: str, at: tuple[float, float]) -> None:
        """Point at a part with a leader, metres."""
        k = self.k
        self.drawing.update_datalim([((at[0] + 0.012 * len(text)) * k, at[1] * k)])
        self.drawing.annotate(
            text, (x * k, y * k), xytext=(at[0] * k, at[1] * k), fontsize=7, va="center", ha="left",
            arrowprops={"arrowstyle": "-", "linewidth": 0.5},
        )  # fmt: skip

    def finish(self, title: str) -> None:
        """Set scale and title."""
        self.drawing.set_aspect("equal")
        self.drawing.autoscale_view()
        self.drawing.axis("off")
        self.drawing.set_title(title, fontsize=8, loc="left")


#: How the parts are drawn in plan.
LOOKS: dict[str, dict[str, Any]] = {
    "soffit": {"linestyle": ":", "linewidth": 0.7}, "joist": {"linestyle": "--", "linewidth": 0.7},
    "strongback": {"facecolor": "0.85", "linewidth": 0.8}, "stringer": {"linestyle": "-.", "linewidth": 0.8},
}  # fmt: skip


def plan(forms: Forms, name: str, drawing: Axes) -> None:
    """Plan as the deck plan has it: girders with flanges, joints, hole, and the form where there is one."""
    form = forms.each.get(name)
    k = float(units.magnitude(quantity(1.0, "m"), units.kind_of(units.Distance), forms.system))
    hole, lap = outline(forms, name), si(forms.limit("form_lap").value, "m")
    made = [(part, on_deck(forms, name, part.shape)) for part in (parts(form) if form else [])]
    box = shapely.union_all([hole.buffer(lap), *(shape for _, shape in made)]).bounds
    room = 0.25 * max(box[2] - box[0], box[3] - box[1])
    left, right, low, high = box[0] - room, box[2] + room, box[1] - room, box[3] + room
    for flange in flanges(forms):
        if flange.high > low and flange.low < high:
            band: dict[str, Any] = {"facecolor": "0.93", "edgecolor": "0.6", "linewidth": 0.5}
            drawing.add_patch(
                Rectangle((left * k, flange.low * k), (right - left) * k, (flange.high - flange.low) * k, **band)
            )
            y = (flange.low + flange.high) / 2 * k
            drawing.plot([left * k, right * k], [y, y], color="0.4", linewidth=0.6, linestyle=(0, (8, 3, 1, 3)))
            drawing.annotate(f"{flange.girder}", (left * k, y), xytext=(3, 2), textcoords="offset points", fontsize=7)
    lean = math.tan(math.radians(forms.patches.inputs.plan.skew))
    for joint in forms.patches.inputs.plan.joints:
        drawing.plot([(joint + y * lean) * k for y in (low, high)], [low * k, high * k], color="black", linewidth=0.9)
    ring = np.asarray(hole.exterior.coords) * k
    drawing.add_patch(Polygon(ring, fill=False, linewidth=1.6))
    if form is None:
        drawing.add_patch(
            Polygon(np.asarray(hole.buffer(lap, join_style="mitre").exterior.coords) * k, fill=False, **LOOKS["soffit"])
        )
    for part, shape in made:
        if part.kind in LOOKS:
            look = {"facecolor": "none", "edgecolor": "black", **LOOKS[part.kind]}
            drawing.add_patch(Polygon(np.asarray(shape.exterior.coords) * k, **look))
        elif part.kind in ("hanger", "shore"):
            mark = "o" if part.kind == "hanger" else "s"
            drawing.plot(shape.centroid.x * k, shape.centroid.y * k, mark, color="black", markersize=3.5)
    labels(forms, name, drawing, made, k)
    drawing.set_xlim(left * k, right * k)
    drawing.set_ylim(high * k, low * k)  # stations run to the right, so the right-hand side lies below
    drawing.set_aspect("equal")
    unit = units.kind_of(units.Distance).symbol(forms.system)
    drawing.set_xlabel(f"station [{unit}]")
    drawing.set_ylabel(f"offset [{unit}]")
    said = forms.choices.holes[name].carried if form else "no form laid out, engineer to assess"
    drawing.set_title(f"Plan of hole {name}: {said}", fontsize=8, loc="left")


def labels(forms: Forms, name: str, drawing: Axes, made: list[tuple[Part, Any]], k: float) -> None:
    """Write the sides of the hole, and what the parts are, in a column beside the plan."""
    hole, form, sides = outline(forms, name), forms.each.get(name), forms.patches[name].limits
    x_1, y_1, x_2, y_2 = hole.bounds
    wide, tall = forms.show(sides.L, units.Length), forms.show(sides.B, units.Length)
    white = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
    plain: dict[str, Any] = {"fontsize": 7, "textcoords": "offset points", "bbox": white}
    drawing.annotate(wide, ((x_1 + x_2) / 2 * k, y_1 * k), xytext=(0, 3), ha="center", va="bottom", **plain)
    drawing.annotate(tall, (x_1 * k, (y_1 + y_2) / 2 * k), xytext=(-3, 0), ha="right", va="center", **plain)
    if form is None:
        return
    hung = "hanger" if form.hanger is not None else "shore"
    kind = form.hanger.hanger if form.hanger is not None else form.shore.lumber if form.shore else ""
    also = f", {size(forms, form.s_p)} apart" if form.found.n_p else ""
    words = {
        form.carrier_part: f"{form.found.n_a + 1} {form.carrier_part}s {form.carrier.lumber}, {size(forms, form.s_a)} apart",
        "joist": f"{form.found.n_b + 1} joists {form.joist.lumber} below, {size(forms, form.s_b)} apart",
        hung: f"{form.hangers if form.hanger is not None else form.shores} {hung}s {kind}{also}",
        "soffit": f"soffit {form.panel.panel}, lap {size(forms, form.rules.lap)}",
    }
    for number, (part, text) in enumerate(words.items()):
        boxes = [shape.bounds for one, shape in made if one.kind == part]
        last = 1 if part == hung else -1  # of the outermost: hangers and shores are pointed at from below
        at = max(boxes, key=lambda one: (round(one[2], 3), last * one[1]))
        drawing.annotate(
            text, (at[2] * k, (0.8 * at[1] + 0.2 * at[3] if part != "soffit" else at[3]) * k), xytext=(1.03, 0.86 - 0.2 * number),
            textcoords="axes fraction", fontsize=7, va="center", ha="left", arrowprops={"arrowstyle": "-", "linewidth": 0.5},
            annotation_clip=False,
        )  # fmt: skip


def section(forms: Forms, form: FormDesign, drawing: Axes) -> None:
    """Section across the joists, in the plane of a strongback or stringer."""
    frame, rules = Frame(forms, drawing), form.rules
    t = form.panel_thickness
    d_j, b_j, d_c = (si(x, "m") for x in (form.joist.depth, form.joist.breadth, form.carrier.depth))
    across = places(form.s_b, form.o_b, form.found.n_b)
    lap, gap = rules.lap, 0.1 * max(form.a, form.b)
    reach = max(rules.clear + rules.bearing, lap) + 1.5 * gap
    for x, w in ((-reach, reach), (form.b, reach)):
        frame.box(x, 0, w, form.t, facecolor="0.85", linewidth=0.8)
    frame.box(0, 0, form.b, form.t, hatch="...", linewidth=0.8)
    frame.box(-lap, -t, form.b + 2 * lap, t, facecolor="0.6", linewidth=0.6)
    for y in across:
        frame.box(y - b_j / 2, -t - d_j, b_j, d_j, hatch="xx", linewidth=0.7)
    column, k = form.b + reach + 0.3 * gap, frame.k
    if form.hanger is not None:
        end = rules.clear + rules.bearing
        foot = form.t + rules.block
        frame.box(-end, foot, form.b + 2 * end, d_c, linewidth=0.9)
        for x in (-end, form.b + rules.clear):
            frame.box(x, form.t, rules.bearing, rules.block, facecolor="0.7", linewidth=0.7)
        for y in across:
            drawing.plot([y * k, y * k], [(-t - d_j) * k, (foot + d_c) * k], color="black", linewidth=1.1)
            half = si(form.hanger.plate, "m") / 2
            for z in (-t - d_j, foot + d_c):
                drawing.plot([(y - half) * k, (y + half) * k], [z * k, z * k], color="black", linewidth=2.2)
        frame.dimension(
            -end,
            foot + d_c + 0.6 * gap,
            -rules.clear,
            foot + d_c + 0.6 * gap,
            f"bearing {size(forms, rules.bearing)}",
        )
        frame.note(form.b + 0.8 * end, foot + d_c / 2, f"strongback {form.carrier.lumber}", (column, foot + d_c))
        frame.note(
            form.b + 0.8 * end, form.t + rules.block / 2, f"block {size(forms, rules.block)} high", (column, foot)
        )
        frame.note(across[-1], form.t * 0.7, f"hanger {form.hanger.hanger}", (column, form.t * 0.6))
    else:
        assert form.shore and form.hole.height is not None
        frame.box(-lap, -t - d_j - d_c, form.b + 2 * lap, d_c, linewidth=0.9)
        b_s = si(form.shore.breadth, "m")
        foot = -t - d_j - d_c - 4 * gap
        for x in places(form.s_p, form.o_p, form.found.n_p):
            frame.box(x - b_s / 2, foot, b_s, 4 * gap, linewidth=0.9)
            drawing.plot(
                [(x - b_s) * k, (x + b_s) * k],
                [(foot + gap * 0.3) * k, (foot + gap * 0.8) * k],
                color="black",
                linewidth=0.8,
            )
        frame.note(form.b + 0.5 * lap, -t - d_j - d_c / 2, f"stringer {form.carrier.lumber}", (column, -t - d_j - d_c))
        frame.note(
            form.b - form.o_p + b_s / 2,
            foot + 2 * gap,
            f"shore {form.shore.lumber} (drawn short)",
            (column, foot + 2 * gap),
        )
    frame.note(across[-1] + b_j / 2, -t - d_j / 2, f"joist {form.joist.lumber}", (column, -t - 0.6 * d_j))
    frame.note(form.b + lap, -t / 2, f"panel {form.panel.panel}", (column, 0.0))
    below = -t - d_j - (0.6 * gap if form.hanger is not None else d_c + 0.0 * gap) - 0.5 * gap
    if form.hanger is not None:
        frame.dimension(across[0], below, across[1], below, size(forms, form.s_b), (0, -11))
        frame.dimension(0, below, across[0], below, size(forms, form.o_b), (-12, -11))
    frame.dimension(-reach - 0.4 * gap, 0, -reach - 0.4 * gap, form.t, size(forms, form.t), (-3, 0))
    frame.finish("Section across the joists")


def drawn(forms: Forms, name: str) -> Picture:
    """Plan and section of the form of one hole; the plan alone where none is laid out."""
    form = forms.each.get(name)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 6.6 if form else 3.2), layout="constrained")
        if form is None:
            plan(forms, name, figure.subplots())
        else:
            upper, lower = figure.subplots(2, 1, height_ratios=(1.25, 1.0))
            plan(forms, name, upper)
            section(forms, form, lower)
    seen = (
        "Stations ahead to the right, seen from above. Heavy outline: the hole; grey bands with chain lines: girders and their flanges; dotted: "
        "edge of the soffit"
    )
    if form is None:
        return Picture(figure, f"Hole {name}, to scale: no form is laid out here. {seen} as it would lap.")
    what = "dots: hangers" if form.hanger is not None else "squares: shores"
    return Picture(
        figure,
        f"Form of {form.item}, each drawing to its own scale. {seen}; dashed: joists "
        f"below; {'grey: strongbacks above the deck' if form.hanger is not None else 'dash-dotted: stringers'}; {what}.",
    )


def form(forms: Forms, number: int) -> Picture | Text:
    """Drawing of one hole with its form, those that have one first; or nothing."""
    every = [*forms.each, *forms.uncovered]
    return drawn(forms, every[number]) if number < len(every) else Text("")
