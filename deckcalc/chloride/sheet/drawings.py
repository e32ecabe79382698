"""Drawings of the chlorides: profiles, fits, probability, maps and ranked readings, legible in black and white."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.chloride.design import counted
from deckcalc.chloride.design.forecast import YEAR
from deckcalc.chloride.design.survey import unsound_areas
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.core import units
from deckcalc.core.units import registry
from deckcalc.job import Job
from deckcalc.show.figures import MARKS, STYLE, Picture, axes
from deckcalc.show.sections import Text

LINES = ("-", "--", ":", "-.")
CONTENT, LENGTH, DISTANCE = (units.kind_of(one) for one in (units.ChlorideContent, units.Length, units.Distance))


def number(value: Any, kind: units.Kind, job: Job, base: str = "") -> Any:
    """Return a value, or plain numbers in a base unit, in the unit that the job prints."""
    quantity = registry().Quantity(value, base) if base else value
    return units.magnitude(quantity, kind, job.system)


def nothing() -> Text:
    """Say that there is nothing to draw."""
    return Text("The job states nothing to draw here.\n")


def profiles(job: Job) -> Picture:
    """Chloride against depth, all cores, a panel for each zone."""
    subject = job.chloride
    level = float(number(subject.threshold_content, CONTENT, job))
    shown = [zone for zone in subject.zones if subject.in_zone(zone.name)]
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 2.9), layout="constrained")
        drawings = np.atleast_1d(figure.subplots(1, len(shown), sharey=True, sharex=True))
        for drawing, zone in zip(drawings, shown, strict=True):
            for index, core in enumerate(subject.in_zone(zone.name)):
                x = [float(number(v, LENGTH, job)) for v in core.depths]
                C = [float(number(v, CONTENT, job)) for v in counted(job, core)]
                drawing.plot(x, C, color="black", marker=MARKS[index % len(MARKS)], markerfacecolor="white", markersize=4,
                             linewidth=0.8, linestyle=LINES[index % 4], label=core.row.core)  # fmt: skip
                bar = float(number(core.row.bar_depth, LENGTH, job))
                drawing.axvline(bar, color="0.5", linewidth=0.6, linestyle=":")
            drawing.axhline(level, color="black", linewidth=1.2)
            drawing.annotate(
                "threshold", (1, level), xycoords=("axes fraction", "data"), ha="right", va="bottom", fontsize=6
            )
            drawing.set_title(f"zone {zone.name}", fontsize=8, loc="left")
            drawing.set_xlabel(f"depth [{LENGTH.symbol(job.system)}]")
            drawing.legend(loc="upper right", fontsize=6)
        drawings[0].set_ylabel(f"chloride [{CONTENT.symbol(job.system)}]")
        drawings[0].set_ylim(bottom=0)
        drawings[0].set_xlim(left=0)
    return Picture(
        figure,
        f"Chloride ({job.head.chloride.counts}) at the middle of each slice, by zone. Dotted verticals: depth of the bars at the "
        "cores; heavy line: threshold.",
    )


def fits_drawn(job: Job) -> Picture | Text:
    """Each fitted profile with its confidence band."""
    found = job.chloride.forecast
    if not found:
        return nothing()
    fits, P = found.fits["constant"], found.profiles
    good = [i for i in range(len(found.names)) if not fits.why[i]]
    if not good:
        return nothing()
    deepest = float(P.lower[P.used].max())
    depth = np.linspace(0, deepest * 1.05, 120)
    level = float(number(job.chloride.threshold_content, CONTENT, job))
    columns = 3
    rows = -(-len(good) // columns)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 1.75 * rows), layout="constrained")
        drawings = np.atleast_1d(figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)).ravel()
        for drawing, i in zip(drawings, good, strict=False):
            core = job.chloride.cores[found.names[i]]
            content, half = fits.curve(i, depth)
            x = number(depth, LENGTH, job, "m")
            C, low, high = (
                number(v, CONTENT, job, "kg/m**3") for v in (content, np.maximum(content - half, 0), content + half)
            )
            drawing.fill_between(x, low, high, color="0.85", linewidth=0)
            drawing.plot(x, C, color="black", linewidth=0.9)
            for used, face in ((True, "black"), (False, "white")):
                which = [j for j in range(len(core.slices)) if P.used[i, j] == used]
                a, b = (number(np.array([v[i, j] for j in which]), LENGTH, job, "m") for v in (P.upper, P.lower))
                y = number(np.array([P.content[i, j] for j in which]), CONTENT, job, "kg/m**3")
                drawing.plot((a + b) / 2, y, "o", color="black", markerfacecolor=face, markersize=3.5)
            drawing.axhline(level, color="black", linewidth=0.8, linestyle="--")
            drawing.axvline(float(number(core.row.bar_depth, LENGTH, job)), color="0.4", linewidth=0.8, linestyle=":")
            drawing.set_title(f"{found.names[i]}, zone {core.zone}", fontsize=8, loc="left")
        for drawing in drawings[len(good) :]:
            drawing.set_axis_off()
        drawings[0].set_ylim(bottom=0)
        drawings[0].set_xlim(left=0)
        figure.supxlabel(f"depth below the surface [{LENGTH.symbol(job.system)}]", fontsize=8)
        figure.supylabel(f"chloride [{CONTENT.symbol(job.system)}]", fontsize=8)
    return Picture(
        figure,
        "Profiles fitted. Full line and grey band: fit and 95 % confidence of its mean; black dots: slices used; open dots: slices "
        "left out; dashed: threshold; dotted: depth of the bars.",
    )


def likelihood(job: Job) -> Picture | Text:
    """Probability that protection is lost, against age."""
    found = job.chloride.forecast
    made = [] if not found else [one for one in (*found.zones.values(), found.patch) if one and one.sampled]
    if not made:
        return nothing()
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.8)
        for index, one in enumerate(made):
            name = f"zone {one.name}, as found" if one.name != "patch" else "patches, from placing"
            t, p = one.sampled.times / YEAR, 100 * one.sampled.share
            drawing.plot(t, p, color="black", linestyle=LINES[index % 4], marker=MARKS[index % len(MARKS)], markevery=6,
                         markersize=4, markerfacecolor="white", label=name)  # fmt: skip
        now = max(one.now for one in made)
        drawing.axvline(now, color="0.5", linewidth=0.8)
        drawing.annotate("now", (now, 1), xycoords=("data", "axes fraction"), ha="center", va="bottom", fontsize=7)
        limits = job.head.chloride.zone_limits
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


def potential_map(job: Job) -> Picture | Text:
    """Half-cell potentials over the deck, with patches, cores and zones."""
    found = job.chloride.survey
    if found.potential is None or len(found.potential) < 4:
        return nothing()

    def at(values: Any) -> Any:
        return number(np.asarray(values, float), DISTANCE, job, "m")

    x, y = at(found.station), at(found.offset)
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.9)
        low, high = float(found.potential.min()), float(found.potential.max())
        levels = [min(low, -350.0) - 1, -350.0, -200.0, max(high, -200.0) + 1]
        drawing.tricontourf(x, y, found.potential, levels=levels, colors=["0.72", "0.9", "white"])
        steps = [v for v in range(-600, 0, 50) if low < v < high]
        if steps:
            widths = [1.4 if v in (-350, -200) else 0.5 for v in steps]
            lines = drawing.tricontour(
                x, y, found.potential, levels=steps, colors="black", linewidths=widths, linestyles="-"
            )
            drawing.clabel(lines, fontsize=6, fmt="%d")
        for name, left, bottom, length, width in unsound_areas(job):
            drawing.add_patch(
                Rectangle((at(left), at(bottom)), at(length), at(width), fill=False, hatch="////", linewidth=0.9)
            )
            drawing.annotate(name, (at(left), at(bottom + width)), fontsize=7, va="bottom", weight="bold")
        for core in job.chloride.cores.values():
            where = (at(core.row.station.m_as("m")), at(core.row.offset.m_as("m")))
            drawing.plot(*where, "s", color="black", markersize=4, markerfacecolor="black" if core.reached else "white")
            drawing.annotate(core.row.core, where, xytext=(4, 2), textcoords="offset points", fontsize=6)
        for zone in job.chloride.zones:
            if np.isfinite(zone.left):
                drawing.add_patch(Rectangle((at(zone.left), at(zone.low)), at(zone.right - zone.left), at(zone.high - zone.low),
                                            fill=False, linestyle="--", linewidth=0.8))  # fmt: skip
                drawing.annotate(f"zone {zone.name}", (at(zone.left), at(zone.low)), xytext=(2, -3), textcoords="offset points",
                                 va="top", fontsize=7)  # fmt: skip
        drawing.set_aspect("equal")
        drawing.margins(0.02, 0.1)
        drawing.set_xlabel(f"station [{DISTANCE.symbol(job.system)}]")
        drawing.set_ylabel(f"offset [{DISTANCE.symbol(job.system)}]")
    return Picture(
        figure,
        f"Half-cell potentials [mV] against copper-copper sulfate, {len(found.potential)} points. Dark grey: below −350 mV, corrosion "
        "likely; light grey: uncertain; white: above −200 mV. Hatched: unsound as surveyed. Squares: cores, black where the threshold "
        "is reached at the bar.",
    )


def potentials_ranked(job: Job) -> Picture | Text:
    """Cumulative frequency of the potentials, by zone."""
    found = job.chloride.survey
    if found.potential is None:
        return nothing()
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.6)
        for index, zone in enumerate(job.chloride.zones):
            mine = np.sort(found.potential[zone.inside(found.station, found.offset)])
            if not len(mine):
                continue
            share = 100 * (np.arange(1, len(mine) + 1) - 0.5) / len(mine)
            drawing.plot(mine, share, color="black", linestyle=LINES[index % 4], marker=MARKS[index % len(MARKS)],
                         markevery=max(len(mine) // 10, 1), markersize=4, markerfacecolor="white", label=f"zone {zone.name}")  # fmt: skip
        for value, word in ((-350, "likely below −350"), (-200, "unlikely above −200")):
            drawing.axvline(value, color="0.4", linewidth=0.9, linestyle=(0, (6, 3)))
            drawing.annotate(word, (value, 1), xycoords=("data", "axes fraction"), ha="center", va="bottom", fontsize=7)
        drawing.set_xlabel("potential against copper-copper sulfate [mV]")
        drawing.set_ylabel("readings at or below [%]")
        drawing.set_ylim(0, 100)
        drawing.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=7)
    return Picture(figure, "Cumulative frequency of the half-cell potentials. A bend tells of two states of the bars.")


def cover_drawn(job: Job) -> Picture | Text:
    """Cumulative frequency of the cover, with the law that is closer."""
    found = job.chloride.survey
    if not found.covers:
        return nothing()
    from scipy.special import ndtr

    station, offset, cover = found.cover_at
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.6)
        for index, zone in enumerate(zone for zone in job.chloride.zones if zone.name in found.covers):
            mine, one = np.sort(cover[zone.inside(station, offset)]), found.covers[zone.name]
            share = 100 * (np.arange(1, len(mine) + 1) - 0.5) / len(mine)
            drawing.plot(number(mine, LENGTH, job, "m"), share, MARKS[index % len(MARKS)], color="black", markersize=3.5,
                         markerfacecolor="white", label=f"zone {zone.name}, {one.better}")  # fmt: skip
            c = np.linspace(one.least * 0.85, one.most * 1.1, 100)
            mu, zeta = Law("lognormal", one.mean, one.sd).logs
            u = (c - one.mean) / one.sd if one.better == "normal" else (np.log(c) - mu) / zeta
            drawing.plot(
                number(c, LENGTH, job, "m"), 100 * ndtr(u), color="black", linewidth=0.8, linestyle=LINES[index % 4]
            )
        survey = job.head.chloride.survey
        assert survey
        least = float(number(survey.least_cover, LENGTH, job))
        drawing.axvline(least, color="0.4", linewidth=0.9, linestyle=(0, (6, 3)))
        drawing.annotate(
            "asked for", (least, 1), xycoords=("data", "axes fraction"), ha="center", va="bottom", fontsize=7
        )
        drawing.set_xlabel(f"cover [{LENGTH.symbol(job.system)}]")
        drawing.set_ylabel("readings at or below [%]")
        drawing.set_ylim(0, 100)
        drawing.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), fontsize=7)
    return Picture(figure, "Cumulative frequency of the cover, with the law that stays closer to the readings.")
