"""Drawings of mix and batch: volumes, strength against ratio, gradings, cost and carbon."""

from __future__ import annotations

from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.mix.design import Mixes
from deckcalc.mix.formulas.grading import NAMES, combined, limits
from deckcalc.mix.formulas.ratio import points_of_table
from deckcalc.show.figures import HATCHES, MARKS, STYLE, WIDTH, Picture, axes

LINES = ("-", "--", "-.", ":")


#: Absolute volumes as the proportions have them: the subscript of each, and its short name.
PARTS = {
    "water": ("w", "water"),
    "air": ("a", "air"),
    "coarse aggregate": ("ca", "coarse aggregate"),
    "fine aggregate": ("fa", "fine aggregate"),
}
BINDER = ("c", "binder")


def symbol(drawing: Axes, x: float, y: float, base: str, sub: str = "", **look: Any) -> None:
    """Write a symbol with its subscript, centred at a point unless said otherwise."""
    given: dict[str, Any] = {"ha": "center", "va": "center", "style": "italic", "fontsize": 10} | look
    written = drawing.text(x, y, base, **given)
    if sub:
        drawing.annotate(
            sub,
            (1, 0),
            xycoords=written,
            xytext=(0.5, 0),
            textcoords="offset points",
            fontsize=8.5,
            ha="left",
            va="center",
        )


def volumes(mixes: Mixes) -> Picture | None:
    """What each concrete in use is made of, by absolute volume, with the symbols of the proportions."""
    designs = [one for one in mixes.designed if one in mixes.in_use]
    if not designs:
        return None
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(WIDTH, 0.22 + 0.52 * len(designs))
        for place, design in enumerate(reversed(designs)):
            start = 0.0
            for index, (name, share) in enumerate(design.volumes.items()):
                value = 100 * float(share.m_as(""))
                drawing.barh(
                    [place], [value], 0.42, left=start, color="white", edgecolor="black", hatch=HATCHES[index % len(HATCHES)],
                    linewidth=0.7,
                )  # fmt: skip
                middle, (sub, words) = start + value / 2, PARTS.get(name, BINDER)
                drawing.add_patch(
                    Rectangle((middle - 2, place - 0.15), 4.6, 0.3, facecolor="white", edgecolor="none", zorder=2)
                )
                symbol(drawing, middle - 0.4, place, "V", sub)
                if place == len(designs) - 1:
                    drawing.text(middle, place + 0.34, words, ha="center", va="center")
                drawing.text(middle, place - 0.36, f"{value:.1f} %", ha="center", va="center")
                start += value
        drawing.set_xlim(0, 100)
        drawing.set_ylim(-0.48, len(designs) - 0.55)
        drawing.set_yticks(range(len(designs)), [design.name for design in reversed(designs)])
        drawing.tick_params(axis="y", length=0)
        drawing.set_xticks([])
        for side in ("left", "bottom"):
            drawing.spines[side].set_visible(False)
    return Picture(
        figure,
        "Absolute volumes as designed, shares of the unit volume of concrete; binder: all cementitious material.",
    )


def ratio_curve(mixes: Mixes) -> Picture | None:
    """Strength against ratio by the table, with the point of each mix."""
    want = mixes.inputs.mix
    if not mixes.designed:
        return None
    column = want.entrained
    strengths, ratios, unit = points_of_table(want.tables, want.strength_table, column)
    points = list(zip(ratios, strengths, strict=True))
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(WIDTH, 2.8)
        drawing.plot(*zip(*points, strict=True), color="black", marker="o", markersize=3, label=f"table, {column}")
        for index, (point, names) in enumerate(points_of(mixes, unit).items()):
            wanted, strength, made, most = point
            who = " and ".join(names)
            look: dict[str, Any] = {"markersize": 8, "markerfacecolor": "none", "color": "black", "linestyle": "none"}
            drawing.plot(
                [wanted], [strength], marker=MARKS[index + 1], label=f"{who}: required average strength", **look
            )
            drawing.plot(
                [made, made], [points[0][1], strength], color="black", linewidth=0.6, linestyle=LINES[1 + index],
                label=f"{who}: ratio of the mix {made:.3f}",
            )  # fmt: skip
            drawing.axvline(
                most, color="black", linewidth=1.4, label="" if index else f"maximum by exposure {most:.2f}"
            )
        drawing.set_xlabel("ratio of water to cementitious material")
        drawing.set_ylabel(f"average strength at 28 days [{unit}]")
        drawing.legend(loc="upper right")
    return Picture(
        figure, f"Ratio by strength, {want.strength_table} table ({want.tables}), and the points of the mixes."
    )


def points_of(mixes: Mixes, unit: str) -> dict[tuple[float, float, float, float], list[str]]:
    """Return ratio by strength, average strength, ratio made and ratio by exposure, with the mixes that share them."""
    found: dict[tuple[float, float, float, float], list[str]] = {}
    for design in mixes.designed:
        place = design.by_strength
        if place is None:  # the engineer states the ratio
            continue
        values = (place.found.w_cm_strength, place.f_cr, design.w_cm, place.w_cm_exposure)
        wanted, strength, made, most = (
            round(float(v.m_as(u)), 4) for v, u in zip(values, ("", unit, "", ""), strict=True)
        )
        found.setdefault((wanted, strength, made, most), []).append(design.name)
    return found


def grading_curves(mixes: Mixes) -> Picture | None:
    """Sieve analyses against the limits of their size, and the combined grading of each mix."""
    tested = mixes.gradings
    if not tested:
        return None
    both = [design for design in mixes.designed if {design.coarse.aggregate, design.fine.aggregate} <= set(tested)]
    shown = len(tested) + bool(both)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 2.3 * ((shown + 1) // 2) if shown else 1.0), layout="constrained")
        for index, one in enumerate(tested.values()):
            drawing = figure.add_subplot((shown + 1) // 2, 2, index + 1)
            bounds, grading = limits(one.size), one.passing
            sieves = sorted(bounds)
            for side, label in (
                (0, f"limits of size {one.size}" if one.size != "fine" else "limits, fine aggregate"),
                (1, None),
            ):
                drawing.plot(
                    sieves,
                    [100 * bounds[s][side] for s in sieves],
                    color="black",
                    linestyle="--",
                    linewidth=0.8,
                    label=label,
                )
            drawing.plot(
                sorted(grading), [100 * grading[s] for s in sorted(grading)], color="black", marker="o", markersize=3,
                label=one.aggregate,
            )  # fmt: skip
            finish(drawing, mixes.system)
        if both:
            drawing = figure.add_subplot((shown + 1) // 2, 2, shown)
            for index, design in enumerate(both):
                volume = [float(design.volumes[f"{use} aggregate"].m_as("")) for use in ("coarse", "fine")]
                pair = [tested[design.coarse.aggregate].passing, tested[design.fine.aggregate].passing]
                sieves = sorted({s for grading in pair for s in grading})
                drawing.plot(
                    sieves, [100 * p for p in combined(pair, volume, sieves)], color="black", linestyle=LINES[index],
                    marker=MARKS[index], markersize=3, label=f"combined, {design.name}",
                )  # fmt: skip
            finish(drawing, mixes.system)
    faults = outside(mixes)
    verdict = "All gradings tested lie within their limits." if not faults else "Outside: " + "; ".join(faults) + "."
    return Picture(
        figure,
        f"Share passing by sieve{' opening in mm' if mixes.system == 'SI' else ' (# for No., fractions in inches)'}. Limits of [ASTM C33] from memory, to be verified; the combined grading is by "
        f"absolute volume as designed. {verdict}",
    )


def outside(mixes: Mixes) -> list[str]:
    """Name every sieve on which a grading lies outside its limits."""
    return [
        f"{one.aggregate}, {100 * at.passing:.0f} % at {at.sieve:g} mm, limits {100 * at.low:.0f} to {100 * at.high:.0f} %"
        for one in mixes.gradings.values()
        for at in one.outside
    ]


def finish(drawing: Axes, system: str) -> None:
    """Give a grading its axes."""
    ticks = [0.15, 0.3, 0.6, 1.18, 2.36, 4.75, 9.5, 19, 37.5]
    us = {size: name.removesuffix(" in").replace("No. ", "#") for name, size in NAMES.items()}
    drawing.set_xscale("log")
    drawing.set_xlim(0.12, 45)
    drawing.set_xticks(ticks, [f"{t:g}" if system == "SI" else us[t] for t in ticks])
    drawing.set_xticks([], minor=True)
    drawing.set_ylim(0, 104)
    drawing.set_ylabel("passing [%]")
    drawing.legend(loc="upper left")


def cost_and_carbon(mixes: Mixes) -> Picture | None:
    """Price and embodied carbon of admissible mixes against the ratio."""
    if not mixes.alternatives:
        return None
    volume, per = (1.0, "m³") if mixes.system == "SI" else (0.9144**3, "yd³")
    mass, unit = (1.0, "kg") if mixes.system == "SI" else (1 / 0.45359237, "lb")
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 2.6), layout="constrained")
        left, right = figure.add_subplot(1, 2, 1), figure.add_subplot(1, 2, 2)
        for index, (design, found) in enumerate(mixes.alternatives):
            for style, word, rows in (("-", "cheapest", found.cheapest), ("--", "minimum carbon", found.least_carbon)):
                x = [row.w_cm for row in rows]
                look: dict[str, Any] = {"color": "black", "linestyle": style, "marker": MARKS[index], "markersize": 3}
                label = f"{design.name}, {word}"
                left.plot(x, [row.price * volume for row in rows], label=label, **look)
                right.plot(x, [row.carbon * volume * mass for row in rows], label=label, **look)
            made = found.designed
            ratio, price, carbon = made.w_cm, made.price, made.carbon
            look = {
                "marker": MARKS[index],
                "markersize": 8,
                "markerfacecolor": "none",
                "color": "black",
                "linestyle": "none",
            }
            left.plot([ratio], [price * volume], label=f"{design.name}, as designed", **look)
            right.plot([ratio], [carbon * volume * mass], **look)
        for drawing, label in (
            (left, f"price a {per} [{mixes.inputs.mix.currency}]"), (right, f"CO2e a {per} [{unit}]"),
        ):  # fmt: skip
            drawing.set_xlabel("ratio of water to cementitious material")
            drawing.set_ylabel(label)
            drawing.margins(y=0.12)
        figure.legend(*left.get_legend_handles_labels(), loc="outside lower center", ncols=2)
    return Picture(figure, "What admissible mixes cost and emit, by ratio, with the prices and factors of the job.")
