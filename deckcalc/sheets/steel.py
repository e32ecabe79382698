"""Sheet of the reinforcement: its tables and drawings."""

from __future__ import annotations

import matplotlib

from deckcalc import steel
from deckcalc.figures import STYLE, Picture, axes
from deckcalc.job import Job
from deckcalc.sections import Text, block, hand_calculations
from deckcalc.sheet import table


def supplements(job: Job) -> Text:
    """Supplementary bars, written out."""
    written = hand_calculations(job)
    made = [run for run in job.steel.runs if run.calculation is steel.supplement]
    if not made:
        return Text("No bar is to be supplemented by these limits.\n")
    first = written[made[0]]._repr_markdown_()
    if len(made) == 1:
        return Text(first)
    rows = table([written[run] for run in made], ["A_lost", "A_b", "n", "A_added"])
    return block([first, f"### {steel.supplement.title}, all items", rows])


def losses(job: Job) -> Picture:
    """Section loss of every measured bar against the limits."""
    runs = job.steel.runs_of(steel.section_loss)
    names, losses = (
        [run.item.removeprefix("bar ") for run in runs],
        [float(run.result.loss.m_as("percent")) for run in runs],
    )
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.4)
        over = [job.steel.decisions[run.item].startswith("supplement") for run in runs]
        bars = drawing.bar(names, losses, color="white", edgecolor="black", linewidth=0.7)
        for drawn, flag, loss in zip(bars, over, losses, strict=True):
            drawn.set_hatch("////" if flag else "")
            drawing.annotate(f"{loss:.1f}", (drawn.get_x() + drawn.get_width() / 2, max(loss, 0)), xytext=(0, 2),
                          textcoords="offset points", ha="center", fontsize=7)  # fmt: skip
        for key, style in (("bar_loss_single", "-"), ("bar_loss_adjacent", "--")):
            value = float(job.limit(key).value.m_as("percent"))
            drawing.axhline(
                value, color="black", linestyle=style, linewidth=0.8, label=f"{job.limit(key).meaning}: {value:g} %"
            )
        drawing.set_ylabel("loss of section [%]")
        drawing.set_ylim(min(0, *losses) - 1, max(*losses, 30) * 1.25)
        drawing.legend(loc="upper right", fontsize=7)
    return Picture(
        figure, "Loss of section of each measured bar, share of its nominal area. Hatched: to be supplemented."
    )
