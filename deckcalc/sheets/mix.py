"""Sheet of mix and batch: its tables and drawings."""

from __future__ import annotations

import matplotlib

from deckcalc import mix, units
from deckcalc.figures import HATCHES, STYLE, Picture, axes
from deckcalc.job import Job
from deckcalc.sections import Text
from deckcalc.sheet import pipe_table


def result(job: Job) -> Text:
    """Proportions, moist batch masses, one mixer load and the whole order, side by side."""
    runs = {(run.calculation.name, run.item): run.result for run in job.mix.runs}
    made, moist = runs["proportions", "mix"], runs["batch_masses", "mix"]
    load, whole = runs["batch_for_volume", "one mixer load"], runs["batch_for_volume", "whole order"]
    water = next(run.result for run in job.mix.runs if run.calculation.name == "mixing_water")
    content, mass = (lambda q: job.show(q, units.Content)), (lambda q: job.show(q, units.Mass))
    rows = [
        ["water", content(water.W), content(moist.W_add), mass(load.m_w), mass(whole.m_w)],
        ["cement", content(made.C), content(made.C), mass(load.m_c), mass(whole.m_c)],
        ["coarse aggregate", content(made.M_ca), content(moist.B_ca), mass(load.m_ca), mass(whole.m_ca)],
        ["fine aggregate", content(made.M_fa), content(moist.B_fa), mass(load.m_fa), mass(whole.m_fa)],
        ["bags of cement", "", "", f"{load.n_bags.magnitude:.0f}", f"{whole.n_bags.magnitude:.0f}"],
    ]
    volumes = [job.show(job.head.mix.load, units.OrderVolume), job.show(job.patch.order_volume, units.OrderVolume)]
    heads = [
        "",
        "aggregates oven-dry",
        "aggregates as they lie",
        f"one load of {volumes[0]}",
        f"whole order of {volumes[1]}",
    ]
    return Text(pipe_table(heads, rows))


def volumes(job: Job) -> Picture:
    """What the concrete is made of, by absolute volume."""
    made = job.mix.runs_of(mix.proportions)[0].result
    parts = {
        "water": made.V_w,
        "cement": made.V_c,
        "air": made.V_a,
        "coarse aggregate": made.V_ca,
        "fine aggregate": made.V_fa,
    }
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 1.2)
        start = 0.0
        for index, (name, share) in enumerate(parts.items()):
            value = 100 * float(share.m_as(""))
            drawing.barh(
                [0], [value], left=start, color="white", edgecolor="black", hatch=HATCHES[index], linewidth=0.7
            )
            drawing.annotate(f"{name}\n{value:.1f} %", (start + value / 2, 0.42), ha="center", va="bottom", fontsize=7)
            start += value
        drawing.set_xlim(0, 100)
        drawing.set_ylim(-0.45, 1.0)
        drawing.set_yticks([])
        drawing.set_xlabel("share of the volume of concrete [%]")
        drawing.spines["left"].set_visible(False)
    return Picture(figure, "Absolute volumes of the designed mix.")
