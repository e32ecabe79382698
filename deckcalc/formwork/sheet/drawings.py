"""Drawings of the forms: plan and section of each, its pieces under the numbers of the cutting list."""

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
from deckcalc.formwork.sheet.pieces import Mark, marks, pieces, size
from deckcalc.show.figures import STYLE, WIDTH, Picture
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

    def finish(self, title: str, room: float) -> None:
        """Set scale and title, and keep room at the right for numbers and words, in widths of the drawing."""
        self.drawing.set_aspect("equal")
        self.drawing.autoscale_view()
        low, high = self.drawing.get_ylim()
        self.drawing.set_ylim(low - 0.12 * (high - low), high + 0.12 * (high - low))  # room for the texts of the chains
        left, right = self.drawing.get_xlim()
        self.drawing.set_xlim(left, right + room * (right - left))
        self.drawing.axis("off")
        self.drawing.set_title(title, fontsize=8.5, loc="left")


def point_out(drawing: Axes, pieces: Sequence[tuple[Mark, tuple[float, float]]], named: bool, x: float = 1.06) -> None:
    """Point at pieces with their numbers in a column beside the drawing, top down; with what they are and their cut, where asked for."""
    left, right = drawing.get_ylim()
    order = sorted(pieces, key=lambda one: (one[1][1] - left) / (right - left), reverse=True)
    step = 0.94 / max(len(order) - 1, 1)
    for row, (mark, at) in enumerate(order):
        place = (x, 0.97 - step * row)
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
                f"{mark.pieces + ' × ' if mark.pieces.isdigit() else ''}{mark.part}{cut + mark.cut if mark.cut else ''}"
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
    upright = form.found.turned
    shapes = [on_deck(forms, form.name, shapely.Point(*((-away, p) if upright else (p, -away)))) for p in spots]
    drawing.plot(
        [one.x * k for one in shapes], [one.y * k for one in shapes], "_-" if upright else "|-", color="black", linewidth=0.6, markersize=5
    )  # fmt: skip
    turned: dict[str, Any] = (
        {"ha": "right", "va": "center", "rotation": 90} if upright else {"ha": "center", "va": "bottom"}
    )
    middle = (shapes[0].x + shapes[-1].x) / 2 * k, (shapes[0].y + shapes[-1].y) / 2 * k
    text = chain_text(forms, form.o_a, form.s_a, form.found.n_a)
    drawing.annotate(text, middle, xytext=(-4, 0) if upright else (0, 4), textcoords="offset points", **turned)


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
    room = 0.8 if named else 0.12
    frame.finish("Section across the joists", room)
    seen = [
        (mark, (spots[mark.part][0] * frame.k, spots[mark.part][1] * frame.k))
        for mark in marks(forms, form)
        if mark.part in spots
    ]
    point_out(drawing, seen, named, 1.03 / (1 + room) if named else 0.97)


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
    said = f"{size(frame.forms, rules.bearing)} + {size(frame.forms, rules.clear)}"
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


def where(forms: Forms, name: str) -> str:
    """Say how far a hole is from the joint or deck end, from the kerb and from the edge of the slab."""
    one = forms.patches[name].location
    far = [
        f"{forms.show(quantity(metres, 'm'), units.Distance)} from {what}"
        for metres, what in ((one.joint, "the nearest joint or deck end"), (one.kerb, "the face of the nearest kerb"), (one.edge, "the edge of the slab"))
        if math.isfinite(metres)
    ]  # fmt: skip
    return f"The hole is {', '.join(far)}." if far else ""


def drawn(forms: Forms, name: str, field: bool = False) -> Picture:
    """Plan and section of the form of one hole; the plan alone where none is laid out. In the field they are large, one above the other."""
    form = forms.each.get(name)
    with matplotlib.rc_context(STYLE):
        if form is None:
            figure = Figure(figsize=(WIDTH, 2.6), layout="constrained")
            plan(forms, name, figure.subplots())
        elif field:
            figure = Figure(figsize=(WIDTH, 6.4), layout="constrained")
            upper, lower = figure.subplots(2, 1)
            plan(forms, name, upper, named=True)
            upper.set_anchor("W")
            section(forms, form, lower, named=True)
        else:
            figure = Figure(figsize=(WIDTH, 2.7), layout="constrained")
            left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.15))
            plan(forms, name, left)
            section(forms, form, right)
    seen = "Plan: stations ahead to the right, seen from above. Heavy outline: the hole; grey bands with chain lines: girders with flanges; dotted: soffit"
    if form is None:
        return Picture(
            figure, f"Hole {name}, to scale: no form is laid out here. {where(forms, name)} {seen} as it would lap."
        )
    what = (
        "grey: strongbacks above the deck; dots: hangers"
        if form.hanger is not None
        else "chain lines: stringers; squares: shores, cut short in the section"
    )
    return Picture(
        figure,
        f"Form of {form.item}, to scale; numbers as in the list of its pieces. {where(forms, name)} {seen}; dashed: joists below; {what}.",
    )


def every_form(forms: Forms, field: bool = False) -> list[Picture | Text]:
    """Drawing and cutting list of each form."""
    return [part for form in forms for part in (drawn(forms, form.name, field), pieces(forms, form))]


def without_form(forms: Forms) -> list[Picture]:
    """Plan of each hole for which no form is laid out."""
    return [drawn(forms, name) for name in forms.uncovered]
