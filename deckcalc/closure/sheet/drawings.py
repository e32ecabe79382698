"""Figures of the closure: the timetable as bars, what is carried by night, what the alternatives cost."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from deckcalc.closure.design import ClosurePlan, Timetable
from deckcalc.closure.design.stock import masses_by_night
from deckcalc.core import units
from deckcalc.core.units import Probability, quantity
from deckcalc.show.figures import HATCHES, STYLE, Picture
from deckcalc.show.sections import Text

ROWS = 39  # bars on one figure, which fits on a page with its caption


def ticks(night: Timetable, drawing: Any, last: float) -> None:
    """Mark clock hours along the time."""
    every = next(step for step in (60, 120, 240, 360, 720, 1440, 2880, 5760, 20000) if last / step <= 13)
    marks = np.arange(0, last + 1, every)
    drawing.set_xticks(
        marks, [night.hour(value) for value in marks], fontsize=7, rotation=0 if night.length <= 1440 else 30
    )


def bars(plan: ClosurePlan, number: int = 0, last: bool = False) -> Picture | Text:
    """Draw one part of the timetables, counted over all closures; the last one that is asked for says what it leaves undrawn."""
    parts = [
        (night, night.in_order[first : first + ROWS])
        for night in plan.planned
        for first in range(0, len(night.network.steps), ROWS)
    ]
    if last and len(parts) > number + 1:
        return Text(
            f"{len(parts) - number} more parts of the timetables are not drawn; the tables below hold every step.\n"
        )
    return drawn(plan, *parts[number]) if number < len(parts) else Text("")


def drawn(plan: ClosurePlan, one: Timetable, order: list[int]) -> Picture:
    """Draw some steps of a timetable."""
    share = plan.share_wanted
    kept = one.spread.quantile(plan.share_kept)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(6.9, 1.1 + 0.185 * len(order)), layout="constrained")
        drawing = figure.add_subplot()
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
            drawing.text(times.start[i] - 4, y, step.name, fontsize=6.5, ha="right", va="center")
        low, high = -0.7, len(order) - 0.3
        for x, look, words in ((one.length, "-", "opening"), (kept, "--", f"{100 * share:.0f} % ready")):
            drawing.plot([x, x], [low, high], look, color="black", linewidth=1.0)
            drawing.text(x, low - 0.15, words, fontsize=6.5, ha="center", va="bottom")
        drawing.set_ylim(high, low - 1.2)
        drawing.set_yticks([])
        drawing.spines["left"].set_visible(False)
        drawing.grid(axis="x", color="0.85", linewidth=0.4)
        drawing.set_axisbelow(True)
        ticks(one, drawing, max(one.length, kept, one.times.end))
        drawing.set_xlim(-0.14 * one.length, 1.05 * max(one.length, kept, one.times.end))
    what = "" if len(order) == len(one.network.steps) else ", in part"
    return Picture(
        figure,
        f"Timetable of {one.name} by likely times{what}. Grey with hatching and heavy outline: critical; dotted: slack to the "
        f"opening; broken line: ready with a chance of {plan.show(plan.limit('open_in_time').value, Probability, 0)}.",
    )


def by_night(plan: ClosurePlan) -> Picture | Text:
    """Draw the mass that is carried on each night, material by material."""
    if not plan.planned:
        return Text("")
    kind, nights = units.kind_of(units.Mass), plan.planned
    factor = float(units.magnitude(quantity(1.0, "kg"), kind, plan.system))
    masses, debris = masses_by_night(plan)
    groups = {name: [value * factor for value in values] for name, values in masses.items()}
    out = [value * factor for value in debris]
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(6.7, 0.9 + 0.62 * len(nights)), layout="constrained")
        drawing = figure.add_subplot()
        left = np.zeros(len(nights))
        shades = ("0.35", "white", "0.75", "white", "0.9", "white", "0.6")
        for number, (name, values) in enumerate(groups.items()):
            look: Any = {"facecolor": shades[number % len(shades)], "hatch": HATCHES[number % len(HATCHES)]}
            drawing.barh(
                np.arange(len(nights)) - 0.19,
                values,
                left=left,
                height=0.34,
                edgecolor="black",
                linewidth=0.7,
                label=name,
                **look,
            )
            left += np.array(values)
        drawing.barh(np.arange(len(nights)) + 0.19, out, height=0.26, facecolor="white", edgecolor="black", linestyle="--",
                     linewidth=0.8, label="old concrete, away")  # fmt: skip
        drawing.set_yticks(
            range(len(nights)), [f"{night.name}\n{', '.join(night.patches)}" for night in nights], fontsize=7
        )
        drawing.invert_yaxis()
        drawing.set_xlabel(f"mass [{kind.symbol(plan.system)}], whole containers", fontsize=7)
        drawing.legend(fontsize=6.5, ncols=4, loc="lower center", bbox_to_anchor=(0.45, 1.0))
        drawing.tick_params(axis="x", labelsize=7)
    return Picture(figure, "What is carried to the bridge for each closure, and below it what is carried away.")


def alternatives(plan: ClosurePlan) -> Picture | Text:
    """Draw what the alternatives cost: direct, delay, and between what nine of ten samples lie."""
    found = [one for one in plan.alternatives if one.cost]
    if len(found) < 2:
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(6.4, 0.8 + 0.42 * len(found)), layout="constrained")
        drawing = figure.add_subplot()
        y = np.arange(len(found))
        direct, delay = (
            np.array([float(getattr(one.cost, name).m_as("")) for one in found]) for name in ("K_d", "K_u")
        )
        drawing.barh(y, direct, height=0.5, facecolor="0.75", edgecolor="black", linewidth=0.7, label="direct")
        drawing.barh(y, delay, left=direct, height=0.5, facecolor="white", hatch="////", edgecolor="black", linewidth=0.7,
                     label="delay of road users")  # fmt: skip
        for i, one in enumerate(found):
            drawing.plot([one.low, one.high], [i, i], color="black", linewidth=1.6, marker="|", markersize=9)
        drawing.set_yticks(y, [one.alternative.name for one in found])
        drawing.invert_yaxis()
        drawing.set_xlabel(plan.section.currency, fontsize=7)
        drawing.tick_params(axis="x", labelsize=7)
        drawing.legend(fontsize=7, ncols=2, loc="lower center", bbox_to_anchor=(0.45, 1.0))
    return Picture(
        figure,
        "Cost of the same patches by likely prices; heavy line: between what nine of ten samples of the prices lie.",
    )


__all__ = ["alternatives", "bars", "by_night"]
