"""Sheet of the chlorides: its tables and drawings."""

from __future__ import annotations

import matplotlib

from deckcalc import chloride, units
from deckcalc.figures import MARKS, STYLE, Picture, axes
from deckcalc.job import Job
from deckcalc.sections import Text, block, by_hand, hand_calculations
from deckcalc.sheet import pipe_table


def readings(job: Job) -> Text:
    """Slices of all cores as analysed and above background."""
    written = hand_calculations(job)
    rows = []
    for row in job.file.rows["chlorides"]:
        runs = {run.calculation.name: written[run] for run in job.chloride.of(f"slice {row.slice}")}
        net = runs["above_background"]
        span = f"{job.show(row.upper, units.Length)} to {job.show(row.lower, units.Length)}"
        rows.append(
            [
                row.slice,
                span,
                runs["mid_depth"].text("x"),
                row.chloride,
                net.text("C"),
                net.text("C_b"),
                net.text("C_net"),
            ]
        )
    return Text(
        pipe_table(
            ["slice", "from, to", "middle", "as analysed", "content", "background", "above background"], rows, "lrrrrrr"
        )
    )


def by_hand_cores(job: Job) -> Text:
    """The conversion of one slice, then every core at the depth of its bars."""
    first = f"slice {job.file.rows['chlorides'][0].slice}"
    cores = [f"core {row.core}" for row in job.file.rows["cores"]]
    parts = [
        "One slice is written out; the others in the table above follow by the same lines.",
        by_hand(job, job.chloride, first),
    ]
    if job.chloride.of("background"):
        parts.insert(0, by_hand(job, job.chloride, "background"))
    return block([*parts, by_hand(job, job.chloride, *cores)])


def profiles(job: Job) -> Picture:
    """Chloride above background against depth, all cores."""
    kind, length = units.kind_of(units.ChlorideContent), units.kind_of(units.Length)
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 3.0)
        for index, core in enumerate(job.file.rows["cores"]):
            places = [f"slice {row.slice}" for row in job.file.rows["chlorides"] if row.core == core.core]
            depth = [float(units.magnitude(run.result, length, job.system))
                     for run in job.chloride.runs_of(chloride.mid_depth) if run.item in places]  # fmt: skip
            content = [float(units.magnitude(run.result, kind, job.system))
                       for run in job.chloride.runs_of(chloride.above_background) if run.item in places]  # fmt: skip
            drawing.plot(depth, content, color="black", marker=MARKS[index % len(MARKS)], markerfacecolor="white", linewidth=0.8,
                      linestyle=("-", "--", ":", "-.")[index % 4], label=f"core {core.core}")  # fmt: skip
            bar = float(units.magnitude(core.bar_depth, length, job.system))
            drawing.axvline(bar, color="0.5", linewidth=0.6, linestyle=":")
            drawing.annotate(f"bars at {core.core}", (bar, 1), xycoords=("data", "axes fraction"), rotation=90, va="top", ha="right",
                          fontsize=7, xytext=(-1 - 8 * index, 0), textcoords="offset points")  # fmt: skip
        if job.chloride.threshold.basis == "volume":
            level = float(units.magnitude(job.chloride.threshold.value, kind, job.system))
            drawing.axhline(level, color="black", linewidth=1.2, label="threshold")
        drawing.set_xlabel(f"depth below the surface [{length.symbol(job.system)}]")
        drawing.set_ylabel(f"chloride above background [{kind.symbol(job.system)}]")
        drawing.set_ylim(bottom=0)
        drawing.set_xlim(left=0)
        drawing.legend(loc="upper right", fontsize=7)
    return Picture(
        figure,
        "Chloride above background at the middle of each slice. Dotted verticals: depth of the bars at each core.",
    )
