"""Figures of the closure: all closures patch by patch, and each timetable step by step."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from deckcalc.closure.design import ClosurePlan, Timetable
from deckcalc.core.units import Probability
from deckcalc.show.figures import STYLE, WIDTH, Picture, axes, pages
from deckcalc.show.sections import Text

SIZE = 8.5
ROWS = 24  # bars on one figure, which fits on a page in landscape with its caption
NIGHTS = 4  # closures on one figure
#: How the steps of a patch are drawn, by what their rate counts; all others are white.
LOOKS: dict[str, dict[str, Any]] = {"mixer": {"facecolor": "black"}, "wait": {"facecolor": "white", "hatch": "////"}}


def programme(plan: ClosurePlan) -> Picture | Text:
    """Draw the closures patch by patch: what is prepared, placed, waited for, and when the lane opens."""
    if not plan.inputs.closure or not plan.planned:
        return Text("")
    nights = plan.planned[:NIGHTS]
    rows = [len(one.patches) + 1 for one in nights]
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 0.25 + sum(0.46 + 0.19 * count for count in rows)), layout="constrained")
        for drawing, one in zip(
            figure.subplots(len(nights), 1, squeeze=False, height_ratios=[2.4 + n for n in rows])[:, 0],
            nights,
            strict=True,
        ):
            lanes(plan, one, drawing)
    left = f" {len(plan.planned) - NIGHTS} more closures stand in the appendix." if len(plan.planned) > NIGHTS else ""
    return Picture(
        figure,
        "Closures by likely times. White: removal, preparation, form, finishing; black: batching and placing; hatched: wait for strength; grey: lane "
        f"set out, cleaned up, opened; line: planned opening; broken line: ready with a probability of {wanted(plan)}.{left}",
    )


def wanted(plan: ClosurePlan) -> str:
    """Print the probability of opening on time that is wanted."""
    return plan.show(plan.limit("open_in_time").value, Probability, 0)


def lanes(plan: ClosurePlan, one: Timetable, drawing: Any) -> None:
    """Draw one closure, a line for the lane and one for each patch."""
    names = ["", *one.patches]
    for i, step in enumerate(one.network.steps):
        look = LOOKS.get(plan.rates[step.activity].per, {"facecolor": "white"}) if step.group else {"facecolor": "0.75"}
        drawing.barh(
            names.index(step.group),
            step.likely,
            left=one.times.start[i],
            height=0.7,
            edgecolor="black",
            linewidth=0.5,
            **look,
        )
    kept = one.spread.quantile(plan.share_kept)
    for x, style in ((one.length, "-"), (kept, "--")):
        drawing.axvline(x, linestyle=style, color="black", linewidth=1.2)
    drawing.set_yticks(range(len(names)), ["lane", *one.patches], fontsize=SIZE)
    drawing.set_ylim(len(names) - 0.4, -0.6)
    drawing.set_title(one.name, fontsize=SIZE, loc="left", pad=3)
    last = max(one.length, kept, one.times.end)
    ticks(one, drawing, last, 7)
    drawing.set_xlim(0, 1.02 * last)


def ticks(night: Timetable, drawing: Any, last: float, most: int = 9) -> None:
    """Mark clock hours along the time, on whole hours of the clock."""
    every = next(step for step in (60, 120, 240, 360, 720, 1440, 2880, 5760, 20000) if last / step <= most)
    marks = np.arange(0, last + 1, every)
    drawing.set_xticks(marks, [night.hour(value) for value in marks], fontsize=SIZE)


def bars(plan: ClosurePlan) -> list[Picture]:
    """Draw the timetables of all closures step by step, as many on one figure as a page holds."""
    return [drawn(plan, night, list(order)) for night in plan.planned for order in pages(night.in_order, ROWS)]


def drawn(plan: ClosurePlan, one: Timetable, order: list[int]) -> Picture:
    """Draw some steps of a timetable."""
    kept = one.spread.quantile(plan.share_kept)
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(WIDTH, 1.0 + 0.19 * len(order))
        for y, i in enumerate(order):
            step, times = one.network.steps[i], one.times
            critical = bool(times.critical[i])
            drawing.barh(
                y, step.likely, left=times.start[i], height=0.72, facecolor="0.85" if critical else "white", edgecolor="black",
                hatch="//////" if critical else "", linewidth=1.5 if critical else 0.7,
            )  # fmt: skip
            if times.slack[i] > 0:
                end = times.finish[i]
                drawing.plot([end, end + times.slack[i]], [y, y], color="0.35", linewidth=0.6, linestyle=":")
        low, high = -0.7, len(order) - 0.3
        for x, look, words in ((one.length, "-", "opening"), (kept, "--", f"{wanted(plan)} ready")):
            drawing.plot([x, x], [low, high], look, color="black", linewidth=1.0)
            drawing.text(x, low - 0.15, words, fontsize=SIZE, ha="center", va="bottom")
        drawing.set_ylim(high, low - 1.2)
        drawing.set_yticks(range(len(order)), [one.network.steps[i].name for i in order], fontsize=SIZE)
        drawing.tick_params(axis="y", length=0)
        drawing.grid(axis="x", color="0.85", linewidth=0.4)
        drawing.set_axisbelow(True)
        last = max(one.length, kept, one.times.end)
        ticks(one, drawing, last, 7)
        drawing.set_xlim(0, 1.05 * last)
    what = "" if len(order) == len(one.network.steps) else ", in part"
    return Picture(
        figure,
        f"Timetable of {one.name} by likely times{what}. Grey with hatching and heavy outline: critical; dotted: slack to the "
        f"opening; broken line: ready with a probability of {wanted(plan)}.",
    )


__all__ = ["bars", "programme"]
