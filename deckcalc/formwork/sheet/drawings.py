"""Drawings of the forms: plan and section of each."""

from __future__ import annotations

from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.formwork.design import FormDesign, Forms
from deckcalc.formwork.design.forms import si
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


def places(s: float, o: float, n: int) -> list[float]:
    """Return positions of supports across a width."""
    return [o + i * s for i in range(n + 1)]


def plan(forms: Forms, form: FormDesign, drawing: Axes) -> None:
    """Plan: hole, soffit, joists below (dashed), strongbacks above (full) or stringers, hangers or shores."""
    frame, rules = Frame(forms, drawing), form.rules
    across, along = places(form.s_b, form.o_b, form.found.n_b), places(form.s_a, form.o_a, form.found.n_a)
    lap, wide, carrier = rules.lap, si(form.joist.breadth, "m"), si(form.carrier.breadth, "m")
    frame.box(-lap, -lap, form.a + 2 * lap, form.b + 2 * lap, linestyle=":", linewidth=0.7)
    frame.box(0, 0, form.a, form.b, linewidth=1.6)
    for y in across:
        frame.box(-lap, y - wide / 2, form.a + 2 * lap, wide, linestyle="--", linewidth=0.7)
    end = rules.clear + rules.bearing if form.hanger is not None else lap
    for x in along:
        look = (
            {"facecolor": "0.85", "linewidth": 0.8}
            if form.hanger is not None
            else {"linestyle": "-.", "linewidth": 0.8}
        )
        frame.box(x - carrier / 2, -end, carrier, form.b + 2 * end, **look)
    k = frame.k
    points = across if form.hanger is not None else places(form.s_p, form.o_p, form.found.n_p)
    mark = "o" if form.hanger is not None else "s"
    for x in along:
        drawing.plot([x * k] * len(points), [y * k for y in points], mark, color="black", markersize=3.5)
    right, top = form.a + end, form.b + end
    gap = 0.1 * max(form.a, form.b)
    frame.dimension(along[0], top + gap / 2, along[1], top + gap / 2, size(forms, form.s_a))
    frame.dimension(0, top + 1.6 * gap, form.a, top + 1.6 * gap, f"hole {size(forms, form.a)}")
    frame.dimension(-end - gap, across[0], -end - gap, across[1], size(forms, form.s_b), (-3, 0))
    frame.dimension(-end - 3.2 * gap, 0, -end - 3.2 * gap, form.b, f"hole {size(forms, form.b)}", (-3, 0))
    column = right + gap
    hang = "hangers" if form.hanger is not None else "shores"
    kind = form.hanger.hanger if form.hanger is not None else form.shore.lumber if form.shore else ""
    frame.note(
        along[-1] + carrier / 2,
        form.b + 0.6 * end,
        f"{form.found.n_a + 1} {form.carrier_part}s {form.carrier.lumber}",
        (column, form.b + 0.6 * end),
    )
    frame.note(
        form.a + 0.5 * lap,
        across[-1],
        f"{len(across)} joists {form.joist.lumber} below",
        (column, across[-1] - 0.2 * gap),
    )
    frame.note(
        along[-1],
        points[len(points) // 2],
        f"{len(along) * len(points)} {hang} {kind}",
        (column, form.b / 2 - 0.6 * gap),
    )
    frame.note(form.a + lap, 0.0, f"soffit {form.panel.panel}, lap {size(forms, lap)}", (column, -0.4 * gap))
    frame.finish(f"Plan of {form.item}: {form.hole.carried}")


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


def drawn(forms: Forms, form: FormDesign) -> Picture:
    """Plan and section of one form."""
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 6.6), layout="constrained")
        upper, lower = figure.subplots(2, 1, height_ratios=(1.25, 1.0))
        plan(forms, form, upper)
        section(forms, form, lower)
    what = "dots: hangers" if form.hanger is not None else "squares: shores"
    return Picture(
        figure,
        f"Form of {form.item}, each drawing to its own scale. Heavy outline: the hole; dotted: edge of the soffit; dashed: joists "
        f"below; {'grey: strongbacks above the deck' if form.hanger is not None else 'dash-dotted: stringers'}; {what}.",
    )


def form(forms: Forms, number: int) -> Picture | Text:
    """Drawing of one form, or a word that there is none."""
    every = list(forms)
    return drawn(forms, every[number]) if number < len(every) else Text("")
