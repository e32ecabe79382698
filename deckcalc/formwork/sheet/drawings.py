"""Drawings of the forms: plan and section of each, its pieces under the numbers of the cutting list; and the symbols of the formulas."""

from __future__ import annotations

import math
from collections.abc import Sequence
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
from deckcalc.formwork.sheet import Mark, marks, pieces, size
from deckcalc.show.figures import STYLE, SYMBOL, WIDTH, Picture, measure
from deckcalc.show.sections import Text


class Frame:
    """Scales a drawing of one form to the unit of the job, and draws dimensions."""

    def __init__(self, forms: Forms, drawing: Axes) -> None:
        self.drawing, self.forms = drawing, forms
        self.k = 1000.0 if forms.system == "SI" else 1 / 0.0254

    def box(self, x: float, y: float, w: float, h: float, **look: Any) -> None:
        """Draw a rectangle, metres."""
        k = self.k
        look = {"facecolor": "none", "edgecolor": "black", **look}
        self.drawing.add_patch(Rectangle((x * k, y * k), w * k, h * k, **look))

    def chain(self, places: Sequence[float], y: float, text: str, side: int = 1) -> None:
        """Draw a chain of dimensions through places along the drawing, with one text above it (1) or below it (-1)."""
        k = self.k
        self.drawing.plot(
            [x * k for x in places], [y * k] * len(places), "|-", color="black", linewidth=0.6, markersize=5
        )
        self.drawing.annotate(
            text, ((places[0] + places[-1]) / 2 * k, y * k), xytext=(0, 4 * side), textcoords="offset points", ha="center",
            va="bottom" if side > 0 else "top",
        )  # fmt: skip

    def depth(self, x: float, y_1: float, y_2: float, text: str) -> None:
        """Draw an upright dimension with its text to the left, metres."""
        k = self.k
        self.drawing.plot([x * k, x * k], [y_1 * k, y_2 * k], "_-", color="black", linewidth=0.6, markersize=5)
        self.drawing.annotate(
            text, (x * k, (y_1 + y_2) / 2 * k), xytext=(-4, 0), textcoords="offset points", ha="right", va="center"
        )

    def finish(self, title: str) -> None:
        """Set scale and title."""
        self.drawing.set_aspect("equal")
        self.drawing.autoscale_view()
        self.drawing.axis("off")
        self.drawing.set_title(title, fontsize=8.5, loc="left")


def point_out(drawing: Axes, pieces: Sequence[tuple[Mark, tuple[float, float]]], named: bool) -> None:
    """Point at pieces with their numbers in a column beside the drawing, top down; with what they are and their cut, where asked for."""
    left, right = drawing.get_ylim()
    order = sorted(pieces, key=lambda one: (one[1][1] - left) / (right - left), reverse=True)
    step = 0.94 / max(len(order) - 1, 1)
    for row, (mark, at) in enumerate(order):
        place = (1.06, 0.97 - step * row)
        drawing.annotate(
            str(mark.number), at, xytext=place, textcoords="axes fraction", ha="center", va="center", annotation_clip=False,
            arrowprops={"arrowstyle": "-", "linewidth": 0.5}, bbox={"boxstyle": "circle,pad=0.25", "facecolor": "white", "linewidth": 0.7},
        )  # fmt: skip
        if named:
            cut = (
                ", cut to "
                if mark.number == 1 or mark.part in ("joist", "strongback", "stringer", "shore", "hanger")
                else ", "
            )
            said = (
                f"{mark.count + ' × ' if mark.count.isdigit() else ''}{mark.part}{cut + mark.cut if mark.cut else ''}"
            )
            drawing.annotate(said, place, xytext=(12, 0), xycoords="axes fraction", textcoords="offset points", va="center", annotation_clip=False)  # fmt: skip


def chain_text(forms: Forms, o: float, s: float, n: int) -> str:
    """Say a chain of dimensions: from the edge to the first, the spacings, from the last to the edge."""
    return f"{size(forms, o)} + {n} × {size(forms, s)} + {size(forms, o)}"


#: How the parts are drawn in plan.
LOOKS: dict[str, dict[str, Any]] = {
    "soffit": {"linestyle": ":", "linewidth": 0.7}, "joist": {"linestyle": "--", "linewidth": 0.7},
    "strongback": {"facecolor": "0.85", "linewidth": 0.8}, "stringer": {"linestyle": "-.", "linewidth": 0.8},
}  # fmt: skip


def plan(forms: Forms, name: str, drawing: Axes, named: bool = False) -> None:
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
            drawing.annotate(f"{flange.girder}", (left * k, y), xytext=(3, 2), textcoords="offset points")
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
    drawing.set_xlim(left * k, right * k)
    drawing.set_ylim(high * k, low * k)  # stations run to the right, so the right-hand side lies below
    drawing.set_aspect("equal")
    sides(forms, name, drawing, k)
    if form is not None:
        spaced(forms, form, drawing, k)
        point_out(drawing, in_plan(forms, form, made, k), named)
    unit = units.kind_of(units.Distance).symbol(forms.system)
    x_1, y_1, x_2, y_2 = hole.bounds
    for axis, edges in ((drawing.xaxis, (x_1, x_2)), (drawing.yaxis, (y_1, y_2))):
        axis.set_ticks(
            [edge * k for edge in edges], [forms.show(quantity(edge, "m"), units.Distance).split()[0] for edge in edges]
        )
    drawing.set_xlabel(f"station of the edges [{unit}]")
    drawing.set_ylabel(f"offset of the edges [{unit}]")
    said = forms.choices.holes[name].carried if form else "no form laid out, engineer to assess"
    drawing.set_title(f"Plan of hole {name}: {said}", fontsize=8.5, loc="left")


def sides(forms: Forms, name: str, drawing: Axes, k: float) -> None:
    """Write the sides of a hole inside it."""
    hole, limits = outline(forms, name), forms.patches[name].limits
    said = " × ".join(forms.show(side, units.Length) for side in (limits.L, limits.B))
    drawing.annotate(
        f"hole {said}", (hole.centroid.x * k, hole.centroid.y * k), ha="center", va="center",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
    )  # fmt: skip


def spaced(forms: Forms, form: FormDesign, drawing: Axes, k: float) -> None:
    """Draw where strongbacks or stringers stand along the hole, beside it."""
    end = form.carrier_length / 2 - form.b / 2
    away = end + 0.06 * max(form.a, form.b)
    spots = [0.0, *places(form.s_a, form.o_a, form.found.n_a), form.a]
    points = [(form.b + away, p) if form.found.turned else (p, -away) for p in spots]
    shapes = [on_deck(forms, form.name, shapely.Point(*point)) for point in points]
    drawing.plot([one.x * k for one in shapes], [one.y * k for one in shapes], "_-" if form.found.turned else "|-", color="black", linewidth=0.6, markersize=5)  # fmt: skip
    middle = (shapes[0].x + shapes[-1].x) / 2 * k, (shapes[0].y + shapes[-1].y) / 2 * k
    drawing.annotate(
        chain_text(forms, form.o_a, form.s_a, form.found.n_a), middle, xytext=(4, 0) if form.found.turned else (0, 4), textcoords="offset points",
        ha="left" if form.found.turned else "center", va="center" if form.found.turned else "bottom", rotation=90 if form.found.turned else 0,
    )  # fmt: skip


def in_plan(
    forms: Forms, form: FormDesign, made: Sequence[tuple[Part, Any]], k: float
) -> list[tuple[Mark, tuple[float, float]]]:
    """Return the pieces that are seen in plan, each with a point on its outermost one."""
    found = []
    for mark in marks(forms, form):
        boxes = [shape.bounds for part, shape in made if part.kind == mark.part]
        if boxes:
            last = 1 if mark.part in ("hanger", "shore") else -1  # hangers and shores are pointed at from above
            at = max(boxes, key=lambda one: (round(one[2], 3), last * one[1]))
            y = at[3] if mark.part == "soffit" else 0.8 * at[1] + 0.2 * at[3]
            found.append((mark, (at[2] * k, y * k)))
    return found


def section(forms: Forms, form: FormDesign, drawing: Axes, named: bool = False) -> None:
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
    spots = {"joist": (across[-1] + b_j / 2, -t - 0.7 * d_j), "soffit": (form.b + lap, -t / 2)}
    held = suspended if form.hanger is not None else shored
    spots |= held(frame, form, across)
    frame.chain([0, *across, form.b], -t - d_j - (0.6 * gap if form.hanger is not None else d_c + 0.6 * gap), chain_text(forms, form.o_b, form.s_b, form.found.n_b), -1)  # fmt: skip
    frame.depth(-reach - 0.4 * gap, 0, form.t, size(forms, form.t))
    frame.finish("Section across the joists")
    pieces = [
        (mark, (spots[mark.part][0] * frame.k, spots[mark.part][1] * frame.k))
        for mark in marks(forms, form)
        if mark.part in spots
    ]
    point_out(drawing, pieces, named)


def suspended(frame: Frame, form: FormDesign, across: Sequence[float]) -> dict[str, tuple[float, float]]:
    """Draw strongback, blocks and hangers; return a point on each."""
    assert form.hanger is not None
    rules, k = form.rules, frame.k
    d_c, half, low = (
        si(form.carrier.depth, "m"),
        si(form.hanger.plate, "m") / 2,
        -form.panel_thickness - si(form.joist.depth, "m"),
    )
    end, foot = rules.clear + rules.bearing, form.t + rules.block
    frame.box(-end, foot, form.b + 2 * end, d_c, linewidth=0.9)
    for x in (-end, form.b + rules.clear):
        frame.box(x, form.t, rules.bearing, rules.block, facecolor="0.7", linewidth=0.7)
    for y in across:
        frame.drawing.plot([y * k, y * k], [low * k, (foot + d_c) * k], color="black", linewidth=1.1)
        for z in (low, foot + d_c):
            frame.drawing.plot([(y - half) * k, (y + half) * k], [z * k, z * k], color="black", linewidth=2.2)
    said = f"{size(frame.forms, rules.bearing)} bearing, {size(frame.forms, rules.clear)} clear"
    frame.chain([-end, -rules.clear, 0], foot + d_c + 0.06 * max(form.a, form.b), said)
    return {
        "strongback": (form.b + 0.8 * end, foot + 0.7 * d_c), "block": (form.b + end, form.t + rules.block / 2),
        "hanger": (across[-1], form.t * 0.6), "plate": (across[-1] + half, foot + d_c),
    }  # fmt: skip


def shored(frame: Frame, form: FormDesign, across: Sequence[float]) -> dict[str, tuple[float, float]]:
    """Draw stringer and shores, cut short, on sills and wedges; return a point on each."""
    assert form.shore is not None
    k, lap, gap, d_c, b_s = (
        frame.k,
        form.rules.lap,
        0.1 * max(form.a, form.b),
        si(form.carrier.depth, "m"),
        si(form.shore.breadth, "m"),
    )
    top = -form.panel_thickness - si(form.joist.depth, "m") - d_c
    tall = 5 * gap
    frame.box(-lap, top, form.b + 2 * lap, d_c, linewidth=0.9)
    shores = places(form.s_p, form.o_p, form.found.n_p)
    for x in shores:
        frame.box(x - b_s / 2, top - tall, b_s, tall, linewidth=0.9)
        frame.box(x - b_s, top - tall - 0.4 * gap, 2 * b_s, 0.4 * gap, hatch="\\\\", linewidth=0.7)
        frame.box(x - 1.5 * b_s, top - tall - 0.9 * gap, 3 * b_s, 0.5 * gap, facecolor="0.85", linewidth=0.7)
        for y in (0.5, 0.6):  # where it is cut short
            frame.drawing.plot([(x - b_s) * k, (x + b_s) * k], [(top - y * tall) * k, (top - (y - 0.06) * tall) * k], color="black", linewidth=0.8)  # fmt: skip
    frame.chain(
        [0, *shores, form.b], top - tall - 1.4 * gap, chain_text(frame.forms, form.o_p, form.s_p, form.found.n_p), -1
    )
    last = shores[-1]
    return {
        "stringer": (form.b + 0.5 * lap, top + d_c / 2), "shore": (last + b_s / 2, top - 0.8 * tall),
        "wedges": (last + b_s, top - tall - 0.2 * gap), "sill": (last + 1.5 * b_s, top - tall - 0.65 * gap),
    }  # fmt: skip


def drawn(forms: Forms, name: str, field: bool = False) -> Picture:
    """Plan and section of the form of one hole; the plan alone where none is laid out. In the field they are large, one above the other."""
    form = forms.each.get(name)
    with matplotlib.rc_context(STYLE):
        if form is None:
            figure = Figure(figsize=(WIDTH, 3.0), layout="constrained")
            plan(forms, name, figure.subplots())
        elif field:
            figure = Figure(figsize=(WIDTH, 6.4), layout="constrained")
            upper, lower = figure.subplots(2, 1)
            plan(forms, name, upper, named=True)
            section(forms, form, lower, named=True)
        else:
            figure = Figure(figsize=(WIDTH, 2.9), layout="constrained")
            left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.15))
            plan(forms, name, left)
            section(forms, form, right)
    seen = "Stations ahead to the right, seen from above. Heavy outline: the hole; grey bands with chain lines: girders with flanges; dotted: soffit"
    if form is None:
        return Picture(figure, f"Hole {name}, to scale: no form is laid out here. {seen} as it would lap.")
    what = (
        "grey: strongbacks above the deck; dots: hangers"
        if form.hanger is not None
        else "chain lines: stringers; squares: shores, cut short in the section"
    )
    return Picture(
        figure,
        f"Form of {form.item}, to scale; numbers as in the list of its pieces. {seen}; dashed: joists below; {what}.",
    )


def form(forms: Forms, number: int, field: bool = False) -> Picture | Text:
    """Drawing of one hole with its form, those that have one first; or nothing."""
    every = [*forms.each, *forms.uncovered]
    return drawn(forms, every[number], field) if number < len(every) else Text("")


def every_form(forms: Forms, field: bool = False) -> list[Picture | Text]:
    """Drawing and cutting list of each hole, those that have a form first."""
    found: list[Picture | Text] = []
    for number, name in enumerate([*forms.each, *forms.uncovered]):
        found.append(form(forms, number, field))
        if name in forms.each:
            found.append(pieces(forms, forms.each[name]))
    return found


def sketch(forms: Forms) -> Picture | Text:
    """Form section and its members over their supports, with the symbols of the formulas, not to scale; nothing where there is no form."""
    if not forms.each:
        return Text("")
    hung = any(form.hanger is not None for form in forms)
    with matplotlib.rc_context({**STYLE, "font.size": 11.0}):
        figure = Figure(figsize=(WIDTH, 1.7), layout="constrained")
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
        drawing.annotate("", (x, y), (x, y + 1.6), arrowprops={"arrowstyle": "-|>", "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 6, "color": "black"})  # fmt: skip
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
        drawing.annotate("", (x, 0), (x, -2.0), arrowprops={"arrowstyle": "-|>", "linewidth": 1.0, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 8, "color": "black"})  # fmt: skip
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
    arrow: dict[str, Any] = {
        "arrowstyle": "-|>",
        "linewidth": 1.0,
        "shrinkA": 0,
        "shrinkB": 0,
        "mutation_scale": 8,
        "color": "black",
    }
    for x in (3.5, 6.5, 9.5):
        start, end = (0.6, -1.6) if hung else (3.6, 1.8)
        drawing.annotate("", (x, end), (x, start), arrowprops=arrow)
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
