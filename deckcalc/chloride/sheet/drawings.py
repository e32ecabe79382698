"""Drawings of the chlorides: profiles, fits, probability, maps and ranked readings, legible in black and white."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.chloride.design import Chlorides
from deckcalc.chloride.inputs.zones import xy
from deckcalc.core import units
from deckcalc.core.units import quantity
from deckcalc.show.figures import MARKS, STYLE, WIDTH, Picture, axes
from deckcalc.show.sections import Text
from deckcalc.show.sketch import HEAVY, THIN, dimension, line, panels, symbol, words

#: Ground of a name on a map.
WHITE = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}
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


def sketch(chlorides: Chlorides) -> Picture | Text:
    """Sketch of a profile with its symbols, and of the times of a service life as far as the job asks for them."""
    if not chlorides.cores:
        return nothing()
    life = bool(chlorides.forecast and chlorides.forecast.settings)
    titles = ["Chloride against depth below the surface", *(["Corrosion of a bar against age"] if life else [])]
    with matplotlib.rc_context(STYLE):
        figure, shown = panels(1.9, *titles, width=WIDTH if life else WIDTH / 2)
        draw_profile(shown[0])
        if life:
            draw_life(shown[1])
    return Picture(figure, "Symbols of the calculations, not to scale.")


def draw_profile(drawing: Axes) -> None:
    """Draw slices of a core, the curve fitted to them, the threshold, and the bar."""
    depth = np.linspace(0, 9.2, 60)

    def content(x: Any) -> Any:
        return 1.4 + 7.2 * np.exp(-((x / 4.6) ** 1.25))

    line(drawing, (0.6, 9.6), (0.6, 0.8), (9.9, 0.8), width=THIN)
    for left, right in ((1.3, 2.7), (2.7, 4.1), (4.1, 5.5), (5.5, 6.9), (6.9, 8.3)):
        top = content((left + right) / 2 - 0.6)
        line(drawing, (left, 0.8), (left, top), (right, top), (right, 0.8), width=THIN)
    drawing.plot(0.6 + depth, content(depth), color="black", linewidth=1.0)
    line(drawing, (0.6, 3.4), (9.6, 3.4), width=HEAVY, style="--")
    line(drawing, (0.6, 1.4), (9.6, 1.4), width=THIN, style=":")
    line(drawing, (5.2, 0.1), (5.2, 7.2), style="-.")
    words(drawing, 5.4, 7.2, "bar", ha="left")
    for base, sub, x, y in (("C", "s", 0.0, 8.7), ("C", "T", 9.0, 4.2), ("C", "b", 0.0, 1.5), ("C", "x", 5.7, 4.9)):
        symbol(drawing, x, y, base, sub)
    drawing.plot([5.2], [content(4.6)], "o", color="black", markersize=4)
    dimension(drawing, (0.6, 0.2), (5.2, 0.2), "x", beside=-0.6)


def draw_life(drawing: Axes) -> None:
    """Draw the time to the loss of protection, and from there to the crack in the cover."""
    line(drawing, (0.6, 9.6), (0.6, 2.6), (9.9, 2.6), width=THIN)
    line(drawing, (0.6, 2.6), (5.0, 2.6), (8.6, 7.4), width=HEAVY)
    line(drawing, (0.6, 7.4), (8.6, 7.4), width=THIN, style="--")
    line(drawing, (8.6, 7.4), (8.6, 1.0), width=THIN, style="--")
    line(drawing, (5.0, 2.6), (5.0, 1.0), width=THIN, style="--")
    words(drawing, 0.9, 8.2, "cover cracks", ha="left")
    words(drawing, 0.9, 3.3, "bar protected", ha="left")
    dimension(drawing, (0.6, 1.4), (5.0, 1.4), "t", "i", beside=-0.8)
    dimension(drawing, (5.0, 1.4), (8.6, 1.4), "t", "p", beside=-0.8)


def profiles(chlorides: Chlorides) -> Picture | Text:
    """Chloride against depth, all cores, a panel for each zone."""
    level = float(magnitude(chlorides, chlorides.threshold_content, CONTENT))
    if not chlorides.cores:
        return nothing()
    shown = [zone for zone in chlorides.zones if chlorides.in_zone(zone)]
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 2.3), layout="constrained")
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
            drawing.annotate("threshold", (0.02, level), xycoords=("axes fraction", "data"), ha="left", va="top")
            drawing.set_title(zone.item, loc="left")
            drawing.set_xlabel(f"depth [{LENGTH.symbol(chlorides.system)}]")
            drawing.legend(loc="upper right")
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
        figure = Figure(figsize=(WIDTH, 1.75 * rows), layout="constrained")
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
            drawing.set_title(f"{found.names[i]}, {core.zone.item}", loc="left")
        for drawing in drawings[len(good) :]:
            drawing.set_axis_off()
        drawings[0].set_ylim(bottom=0)
        drawings[0].set_xlim(left=0)
        figure.supxlabel(f"depth below the surface [{LENGTH.symbol(chlorides.system)}]")
        figure.supylabel(f"chloride [{CONTENT.symbol(chlorides.system)}]")
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
        figure, drawing = axes(WIDTH, 2.0)
        for index, (one, sampled) in enumerate(made):
            name = f"{one.where}, {'as found' if one.now else 'from placing'}"
            drawing.plot(one.ages, 100 * sampled.share, color="black", linestyle=LINES[index % 4], marker=MARKS[index % len(MARKS)], markevery=6,
                         markersize=4, markerfacecolor="white", label=name)  # fmt: skip
        now = max(one.now for one, _ in made)
        drawing.axvline(now, color="0.5", linewidth=0.8)
        drawing.annotate("now", (now, 1), xycoords=("data", "axes fraction"), ha="center", va="bottom")
        limits = chlorides.inputs.chloride.zone_limits
        if limits:
            most = float(limits.probability.m_as("percent"))
            drawing.axhline(most, color="0.5", linewidth=0.8, linestyle=(0, (6, 3)), label="limit of the job")
        drawing.set_xlabel("age [yr]")
        drawing.set_ylabel("protection lost [%]")
        drawing.set_ylim(0, 100)
        drawing.set_xlim(left=0)
        drawing.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0))
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
        figure, drawing = axes(WIDTH, 2.2)
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
            drawing.clabel(lines, [v for v in steps if v in limits], fmt="%d")
        for name, (left, bottom, right, top) in chlorides.unsound_areas().items():
            drawing.add_patch(
                Rectangle(
                    (at(left), at(bottom)), at(right - left), at(top - bottom), fill=False, hatch="////", linewidth=0.9
                )
            )
            drawing.annotate(name, (at(left), at(bottom)), va="bottom", weight="bold", bbox=WHITE)
        for core in chlorides.cores.values():
            where = tuple(at(value) for value in xy(core.row))
            drawing.plot(*where, "s", color="black", markersize=4, markerfacecolor="black" if core.reached else "white")
            drawing.annotate(core.name, where, xytext=(5, 0), textcoords="offset points", va="center", bbox=WHITE)
        for zone in chlorides.zones:
            if np.isfinite(zone.left):
                drawing.add_patch(Rectangle((at(zone.left), at(zone.low)), at(zone.right - zone.left), at(zone.high - zone.low),
                                            fill=False, linestyle="--", linewidth=0.8))  # fmt: skip
                drawing.annotate(zone.item, (at(zone.left), at(zone.low)), xytext=(2, 2), textcoords="offset points",
                                 va="bottom")  # fmt: skip
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
        figure, drawing = axes(WIDTH, 2.4)
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
            )
        drawing.set_xlabel("potential against copper-copper sulfate [mV]")
        drawing.set_ylabel("readings at or below [%]")
        drawing.set_ylim(0, 100)
        drawing.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0))
    return Picture(figure, "Cumulative frequency of the half-cell potentials. A bend tells of two states of the bars.")


def cover_drawn(chlorides: Chlorides) -> Picture | Text:
    """Cumulative frequency of the cover, with the law that is closer."""
    found, survey = chlorides.survey.covers, chlorides.inputs.chloride.survey
    if not found or survey is None:
        return nothing()
    from scipy.special import ndtr

    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(WIDTH, 2.4)
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
        drawing.annotate("specified", (least, 1), xycoords=("data", "axes fraction"), ha="center", va="bottom")
        drawing.set_xlabel(f"cover [{LENGTH.symbol(chlorides.system)}]")
        drawing.set_ylabel("readings at or below [%]")
        drawing.set_ylim(0, 100)
        drawing.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0))
    return Picture(figure, "Cumulative frequency of the cover, with the law that stays closer to the readings.")
