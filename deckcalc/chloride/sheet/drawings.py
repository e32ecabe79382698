"""Drawings of the chlorides: profiles, fits, probability, maps and ranked readings, legible in black and white."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.chloride.design import Chlorides
from deckcalc.chloride.inputs.zones import xy
from deckcalc.core import units
from deckcalc.core.units import quantity
from deckcalc.show.figures import MARKS, STYLE, Picture, axes
from deckcalc.show.sections import Text

LINES = ("-", "--", ":", "-.")
CONTENT, LENGTH, DISTANCE = (units.kind_of(one) for one in (units.ChlorideContent, units.Length, units.Distance))


def magnitude(chlorides: Chlorides, value: Any, kind: units.Kind) -> Any:
    """Return a quantity, or numbers of the coherent SI unit of a kind, in the unit that the job prints."""
    return units.magnitude(
        value if isinstance(value, units.Quantity) else quantity(value, kind.base), kind, chlorides.system
    )  # fmt: skip


def nothing() -> Text:
    """Say that there is nothing to draw."""
    return Text("")


def profiles(chlorides: Chlorides) -> Picture:
    """Chloride against depth, all cores, a panel for each zone."""
    level = float(magnitude(chlorides, chlorides.threshold_content, CONTENT))
    shown = [zone for zone in chlorides.zones if chlorides.in_zone(zone)]
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 2.9), layout="constrained")
        drawings = np.atleast_1d(figure.subplots(1, len(shown), sharey=True, sharex=True))
        for drawing, zone in zip(drawings, shown, strict=True):
            for index, core in enumerate(chlorides.in_zone(zone)):
                x = [float(magnitude(chlorides, v, LENGTH)) for v in core.depths]
                C = [float(magnitude(chlorides, v, CONTENT)) for v in core.counted]
                drawing.plot(x, C, color="black", marker=MARKS[index % len(MARKS)], markerfacecolor="white", markersize=4,
                             linewidth=0.8, linestyle=LINES[index % 4], label=core.name)  # fmt: skip
                bar = float(magnitude(chlorides, core.row.bar_depth, LENGTH))
                drawing.axvline(bar, color="0.5", linewidth=0.6, linestyle=":")
            drawing.axhline(level, color="black", linewidth=1.2)
            drawing.annotate(
                "threshold", (1, level), xycoords=("axes fraction", "data"), ha="right", va="bottom", fontsize=6
            )
            drawing.set_title(zone.item, fontsize=8, loc="left")
            drawing.set_xlabel(f"depth [{LENGTH.symbol(chlorides.system)}]")
            drawing.legend(loc="upper right", fontsize=6)
        drawings[0].set_ylabel(f"chloride [{CONTENT.symbol(chlorides.system)}]")
        drawings[0].set_ylim(bottom=0)
        drawings[0].set_xlim(left=0)
    return Picture(
        figure,
        f"Chloride ({chlorides.inputs.chloride.counts}) at the middle of each slice, by zone. Dotted verticals: depth of the bars at the "
        "cores; heavy line: threshold.",
    )


def fits_drawn(chlorides: Chlorides) -> Picture | Text:
    """Each fitted profile with its confidence band."""
    found = chlorides.forecast
    if not found:
        return nothing()
    fits, P = found.fits["constant"], found.profiles
    good = [i for i in range(len(found.names)) if not fits.why[i]]
    if not good:
        return nothing()
    deepest = float(P.lower[P.used].max())
    depth = np.linspace(0, deepest * 1.05, 120)
    level = float(magnitude(chlorides, chlorides.threshold_content, CONTENT))
    columns = 3
    rows = -(-len(good) // columns)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 1.75 * rows), layout="constrained")
        drawings = np.atleast_1d(figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)).ravel()
        for drawing, i in zip(drawings, good, strict=False):
            core = chlorides.cores[found.names[i]]
            content, half = fits.curve(i, depth)
            x = magnitude(chlorides, depth, LENGTH)
            C, low, high = (
                magnitude(chlorides, v, CONTENT) for v in (content, np.maximum(content - half, 0), content + half)
            )
            drawing.fill_between(x, low, high, color="0.85", linewidth=0)
            drawing.plot(x, C, color="black", linewidth=0.9)
            for used, face in ((True, "black"), (False, "white")):
                which = [j for j in range(len(core.slices)) if P.used[i, j] == used]
                a, b = (magnitude(chlorides, np.array([v[i, j] for j in which]), LENGTH) for v in (P.upper, P.lower))
                y = magnitude(chlorides, np.array([P.content[i, j] for j in which]), CONTENT)
                drawing.plot((a + b) / 2, y, "o", color="black", markerfacecolor=face, markersize=3.5)
            drawing.axhline(level, color="black", linewidth=0.8, linestyle="--")
            drawing.axvline(
                float(magnitude(chlorides, core.row.bar_depth, LENGTH)), color="0.4", linewidth=0.8, linestyle=":"
            )
            drawing.set_title(f"{found.names[i]}, {core.zone.item}", fontsize=8, loc="left")
        for drawing in drawings[len(good) :]:
            drawing.set_axis_off()
        drawings[0].set_ylim(bottom=0)
        drawings[0].set_xlim(left=0)
        figure.supxlabel(f"depth below the surface [{LENGTH.symbol(chlorides.system)}]", fontsize=8)
        figure.supylabel(f"chloride [{CONTENT.symbol(chlorides.system)}]", fontsize=8)
    return Picture(
        figure,
        "Profiles fitted. Full line and grey band: fit and 95 % confidence of its mean; black dots: slices used; open dots: slices "
        "left out; dashed: threshold; dotted: depth of the bars.",
    )


def likelihood(chlorides: Chlorides) -> Picture | Text:
    """Probability that protection is lost, against age."""
    places = chlorides.forecast.places if chlorides.forecast else []
    made = [(one, one.sampled) for one in places if one.sampled]
    if not made:
        return nothing()
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.8)
        for index, (one, sampled) in enumerate(made):
            name = f"{one.where}, {'as found' if one.now else 'from placing'}"
            drawing.plot(one.ages, 100 * sampled.share, color="black", linestyle=LINES[index % 4], marker=MARKS[index % len(MARKS)], markevery=6,
                         markersize=4, markerfacecolor="white", label=name)  # fmt: skip
        now = max(one.now for one, _ in made)
        drawing.axvline(now, color="0.5", linewidth=0.8)
        drawing.annotate("now", (now, 1), xycoords=("data", "axes fraction"), ha="center", va="bottom", fontsize=7)
        limits = chlorides.inputs.chloride.zone_limits
        if limits:
            drawing.axhline(
                float(limits.probability.m_as("percent")), color="0.5", linewidth=0.8, linestyle=(0, (6, 3))
            )
            drawing.annotate(
                "limit of the job", (0, float(limits.probability.m_as("percent"))), fontsize=7, va="bottom"
            )
        drawing.set_xlabel("age [yr]")
        drawing.set_ylabel("protection lost [%]")
        drawing.set_ylim(0, 100)
        drawing.set_xlim(left=0)
        drawing.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=7)
    return Picture(figure, "Probability that the bars have lost their protection, by age of exposure.")


def potential_map(chlorides: Chlorides) -> Picture | Text:
    """Half-cell potentials over the deck, with patches, cores and zones."""
    found = chlorides.survey.potentials
    if found is None or len(found) < 4:
        return nothing()

    def at(values: Any) -> Any:
        return magnitude(chlorides, np.asarray(values, float), DISTANCE)

    x, y = at(found.station), at(found.offset)
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.9)
        low, high = float(found.values.min()), float(found.values.max())
        limits = found.likely_below, found.unlikely_above
        levels = [min(low, limits[0]) - 1, *limits, max(high, limits[1]) + 1]
        drawing.tricontourf(x, y, found.values, levels=levels, colors=["0.72", "0.9", "white"])
        steps = [v for v in range(-600, 0, 50) if low < v < high]
        if steps:
            widths = [1.4 if v in limits else 0.5 for v in steps]
            lines = drawing.tricontour(
                x, y, found.values, levels=steps, colors="black", linewidths=widths, linestyles="-"
            )
            drawing.clabel(lines, fontsize=6, fmt="%d")
        for name, (left, bottom, right, top) in chlorides.unsound_areas().items():
            drawing.add_patch(
                Rectangle(
                    (at(left), at(bottom)), at(right - left), at(top - bottom), fill=False, hatch="////", linewidth=0.9
                )
            )
            drawing.annotate(name, (at(left), at(bottom)), fontsize=7, va="bottom", weight="bold")
        for core in chlorides.cores.values():
            where = tuple(at(value) for value in xy(core.row))
            drawing.plot(*where, "s", color="black", markersize=4, markerfacecolor="black" if core.reached else "white")
            drawing.annotate(core.name, where, xytext=(4, 2), textcoords="offset points", fontsize=6)
        for zone in chlorides.zones:
            if np.isfinite(zone.left):
                drawing.add_patch(Rectangle((at(zone.left), at(zone.low)), at(zone.right - zone.left), at(zone.high - zone.low),
                                            fill=False, linestyle="--", linewidth=0.8))  # fmt: skip
                drawing.annotate(zone.item, (at(zone.left), at(zone.low)), xytext=(2, -3), textcoords="offset points",
                                 va="top", fontsize=7)  # fmt: skip
        drawing.set_aspect("equal")
        drawing.margins(0.02, 0.1)
        drawing.invert_yaxis()  # the right-hand side lies below, as on the plan of the deck
        drawing.set_xlabel(f"station [{DISTANCE.symbol(chlorides.system)}]")
        drawing.set_ylabel(f"offset [{DISTANCE.symbol(chlorides.system)}]")
    below, above = (f"−{-value:.0f} mV" for value in limits)
    return Picture(
        figure,
        f"Half-cell potentials [mV] against copper-copper sulfate, {len(found)} points. Dark grey: below {below}, corrosion "
        f"likely; light grey: uncertain; white: above {above}. Hatched: unsound as surveyed. Squares: cores, black where the threshold "
        "is reached at the bar.",
    )


def potentials_ranked(chlorides: Chlorides) -> Picture | Text:
    """Cumulative frequency of the potentials, by zone."""
    found = chlorides.survey.potentials
    if found is None:
        return nothing()
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.6)
        for index, zone in enumerate(chlorides.zones):
            mine = np.sort(found.values[found.inside(zone)])
            if not len(mine):
                continue
            share = 100 * (np.arange(1, len(mine) + 1) - 0.5) / len(mine)
            drawing.plot(mine, share, color="black", linestyle=LINES[index % 4], marker=MARKS[index % len(MARKS)],
                         markevery=max(len(mine) // 10, 1), markersize=4, markerfacecolor="white", label=zone.item)  # fmt: skip
        for value, word in ((found.likely_below, "likely below"), (found.unlikely_above, "unlikely above")):
            drawing.axvline(value, color="0.4", linewidth=0.9, linestyle=(0, (6, 3)))
            drawing.annotate(
                f"{word} −{-value:.0f}",
                (value, 1),
                xycoords=("data", "axes fraction"),
                ha="center",
                va="bottom",
                fontsize=7,
            )
        drawing.set_xlabel("potential against copper-copper sulfate [mV]")
        drawing.set_ylabel("readings at or below [%]")
        drawing.set_ylim(0, 100)
        drawing.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=7)
    return Picture(figure, "Cumulative frequency of the half-cell potentials. A bend tells of two states of the bars.")


def cover_drawn(chlorides: Chlorides) -> Picture | Text:
    """Cumulative frequency of the cover, with the law that is closer."""
    found, survey = chlorides.survey.covers, chlorides.inputs.chloride.survey
    if not found or survey is None:
        return nothing()
    from scipy.special import ndtr

    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.6)
        for index, cover in enumerate(found.values()):
            mine, one = np.sort(cover.readings), cover.statistics
            share = 100 * (np.arange(1, len(mine) + 1) - 0.5) / len(mine)
            drawing.plot(magnitude(chlorides, mine, LENGTH), share, MARKS[index % len(MARKS)], color="black", markersize=3.5,
                         markerfacecolor="white", label=f"{cover.zone.item}, {one.better}")  # fmt: skip
            c = np.linspace(one.least * 0.85, one.most * 1.1, 100)
            law = one.law()
            u = (c - law.mean) / law.sd if law.name == "normal" else (np.log(c) - law.logs[0]) / law.logs[1]
            drawing.plot(
                magnitude(chlorides, c, LENGTH), 100 * ndtr(u), color="black", linewidth=0.8, linestyle=LINES[index % 4]
            )
        least = float(magnitude(chlorides, survey.least_cover, LENGTH))
        drawing.axvline(least, color="0.4", linewidth=0.9, linestyle=(0, (6, 3)))
        drawing.annotate(
            "asked for", (least, 1), xycoords=("data", "axes fraction"), ha="center", va="bottom", fontsize=7
        )
        drawing.set_xlabel(f"cover [{LENGTH.symbol(chlorides.system)}]")
        drawing.set_ylabel("readings at or below [%]")
        drawing.set_ylim(0, 100)
        drawing.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=7)
    return Picture(figure, "Cumulative frequency of the cover, with the law that stays closer to the readings.")
