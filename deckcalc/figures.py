"""Drawings of the job, legible in black and white: deck plan, sections, losses, chloride profiles, mix."""

from __future__ import annotations

import base64
import io
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc import chloride, mix, patch, steel, units
from deckcalc.job import FULL, Job

STYLE: Any = {
    "font.family": "DejaVu Sans", "font.size": 8, "axes.linewidth": 0.6, "lines.linewidth": 0.9, "hatch.linewidth": 0.5,
    "axes.spines.top": False, "axes.spines.right": False, "legend.frameon": False, "svg.hashsalt": "deckcalc",
}  # fmt: skip
HATCHES = ("", "////", "....", "xxxx", "----")
MARKS = ("o", "s", "^", "D", "v", "P")


class Picture:
    """A figure with its caption; a notebook shows it, the package binds it."""

    def __init__(self, figure: Figure, caption: str) -> None:
        self.figure, self.caption = figure, caption

    @property
    def png(self) -> bytes:
        """The figure as PNG, the same bytes for the same job."""
        with matplotlib.rc_context(STYLE), io.BytesIO() as file:
            FigureCanvasAgg(self.figure)
            self.figure.savefig(file, format="png", dpi=200, metadata={"Software": None})
            return file.getvalue()

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, str]:
        return {"text/plain": self.caption, "image/png": base64.b64encode(self.png).decode()}


def _axes(width: float, height: float) -> tuple[Figure, Axes]:
    figure = Figure(figsize=(width, height), layout="constrained")
    return figure, figure.add_subplot()


def deck_plan(job: Job) -> Picture:
    """Plan of the patches: unsound concrete and marked limits, to scale."""
    with matplotlib.rc_context(STYLE):
        figure, axes = _axes(7.0, 2.6)
        unit = units.kind_of(units.Distance).symbol(job.system)
        size = lambda q: float(units.magnitude(q, units.kind_of(units.Distance), job.system))  # noqa: E731
        limits = [run.result for run in job.patch.runs_of(patch.patch_limits)]
        for row, marked in zip(job.file.rows["patches"], limits, strict=True):
            x, y = size(row.station), size(row.offset)
            for length, width, look in (
                (size(marked.L), size(marked.B), {"fill": False, "linewidth": 1.0}),
                (
                    size(row.length),
                    size(row.width),
                    {"fill": False, "linewidth": 0.5, "linestyle": "--", "hatch": "////"},
                ),
            ):
                axes.add_patch(Rectangle((x - length / 2, y - width / 2), length, width, **look))
            axes.annotate(
                f"{row.patch}: {units.show(marked.L, units.Distance, job.system)} × {units.show(marked.B, units.Distance, job.system)}",
                (x, y + size(marked.B) / 2), xytext=(0, 3), textcoords="offset points", ha="center", va="bottom",
            )  # fmt: skip
        axes.set_aspect("equal")
        axes.autoscale_view()
        axes.margins(0.08, 0.25)
        axes.set_xlabel(f"station [{unit}]")
        axes.set_ylabel(f"offset [{unit}]")
        kinds = ", ".join(f"{name} {kind}" for name, kind in job.depth_class.items())
    return Picture(
        figure, f"Deck plan to scale. Full line: marked limits; hatched: unsound concrete as surveyed. {kinds}."
    )


def patch_sections(job: Job) -> Picture:
    """Section through each patch: slab, top bars, saw cut, removal."""
    deck, rows = job.head.deck, job.file.rows["patches"]
    size = lambda q: float(units.magnitude(q, units.kind_of(units.Length), job.system))  # noqa: E731
    unit = units.kind_of(units.Length).symbol(job.system)
    t, saw = size(deck.slab_thickness), size(job.limit("saw_depth").value)
    d_1, d_2 = (size(steel.bar_diameter(name)) for name in (deck.top_bar_outer, deck.top_bar_inner))
    removed = {run.item: size(run.result.h) for run in job.patch.runs_of(patch.removal_depth)}
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 1.9 * ((len(rows) + 1) // 2)), layout="constrained")
        for index, row in enumerate(rows):
            axes = figure.add_subplot((len(rows) + 1) // 2, 2, index + 1)
            h, width = removed.get(f"patch {row.patch}", t), 3.0 * t
            left, right = 0.5 * t, width - 0.5 * t
            axes.add_patch(Rectangle((0, 0), width, t, facecolor="0.85", edgecolor="black", linewidth=0.6))
            axes.add_patch(
                Rectangle((left, 0), right - left, h, facecolor="white", edgecolor="black", hatch="...", linewidth=0.8)
            )
            for x in (left, right):
                axes.plot([x, x], [0, saw], color="black", linewidth=2.0)
            cover = size(row.least_cover)
            for k in range(1, 9):
                axes.add_patch(matplotlib.patches.Circle((k * width / 9, cover + d_1 / 2), d_1 / 2, color="black"))
            axes.add_patch(Rectangle((0, cover + d_1), width, d_2, facecolor="0.3", edgecolor="none"))
            axes.annotate(
                "", (right + 0.15 * t, 0), (right + 0.15 * t, h), arrowprops={"arrowstyle": "<->", "linewidth": 0.6}
            )
            axes.text(right + 0.2 * t, h / 2, f"{h:.{2 if job.system == 'US' else 0}f} {unit}", va="center", fontsize=7)
            axes.set_title(f"{row.patch}, {job.depth_class[row.patch]}", fontsize=8, loc="left")
            axes.set_xlim(0, width)
            axes.set_ylim(t * 1.02, -0.02 * t)
            axes.set_ylabel(f"depth [{unit}]")
            axes.set_xticks([])
    full = " A full-depth hole is shown open through the slab." if FULL in job.depth_class.values() else ""
    return Picture(
        figure,
        "Sections through the patches, vertical to scale, horizontal not. Dotted: concrete removed; heavy lines at its sides: "
        f"saw cuts; dots and dark band: the two layers of the top mat at the least measured cover.{full}",
    )


def bar_losses(job: Job) -> Picture:
    """Section loss of every measured bar against the limits."""
    runs = job.steel.runs_of(steel.section_loss)
    names, losses = (
        [run.item.removeprefix("bar ") for run in runs],
        [float(run.result.loss.m_as("percent")) for run in runs],
    )
    with matplotlib.rc_context(STYLE):
        figure, axes = _axes(7.0, 2.4)
        over = [job.steel.decisions[run.item].startswith("supplement") for run in runs]
        bars = axes.bar(names, losses, color="white", edgecolor="black", linewidth=0.7)
        for drawn, flag, loss in zip(bars, over, losses, strict=True):
            drawn.set_hatch("////" if flag else "")
            axes.annotate(f"{loss:.1f}", (drawn.get_x() + drawn.get_width() / 2, max(loss, 0)), xytext=(0, 2),
                          textcoords="offset points", ha="center", fontsize=7)  # fmt: skip
        for key, style in (("bar_loss_single", "-"), ("bar_loss_adjacent", "--")):
            value = float(job.limit(key).value.m_as("percent"))
            axes.axhline(
                value, color="black", linestyle=style, linewidth=0.8, label=f"{job.limit(key).meaning}: {value:g} %"
            )
        axes.set_ylabel("loss of section [%]")
        axes.set_ylim(min(0, *losses) - 1, max(*losses, 30) * 1.25)
        axes.legend(loc="upper right", fontsize=7)
    return Picture(
        figure, "Loss of section of each measured bar, share of its nominal area. Hatched: to be supplemented."
    )


def chloride_profiles(job: Job) -> Picture:
    """Chloride above background against depth, all cores."""
    kind, length = units.kind_of(units.ChlorideContent), units.kind_of(units.Length)
    with matplotlib.rc_context(STYLE):
        figure, axes = _axes(7.0, 3.0)
        for index, core in enumerate(job.file.rows["cores"]):
            places = [f"slice {row.slice}" for row in job.file.rows["chlorides"] if row.core == core.core]
            depth = [float(units.magnitude(run.result, length, job.system))
                     for run in job.chloride.runs_of(chloride.mid_depth) if run.item in places]  # fmt: skip
            content = [float(units.magnitude(run.result, kind, job.system))
                       for run in job.chloride.runs_of(chloride.above_background) if run.item in places]  # fmt: skip
            axes.plot(depth, content, color="black", marker=MARKS[index % len(MARKS)], markerfacecolor="white", linewidth=0.8,
                      linestyle=("-", "--", ":", "-.")[index % 4], label=f"core {core.core}")  # fmt: skip
            bar = float(units.magnitude(core.bar_depth, length, job.system))
            axes.axvline(bar, color="0.5", linewidth=0.6, linestyle=":")
            axes.annotate(f"bars at {core.core}", (bar, 1), xycoords=("data", "axes fraction"), rotation=90, va="top", ha="right",
                          fontsize=7, xytext=(-1 - 8 * index, 0), textcoords="offset points")  # fmt: skip
        if job.threshold.basis == "volume":
            level = float(units.magnitude(job.threshold.value, kind, job.system))
            axes.axhline(level, color="black", linewidth=1.2, label="threshold")
        axes.set_xlabel(f"depth below the surface [{length.symbol(job.system)}]")
        axes.set_ylabel(f"chloride above background [{kind.symbol(job.system)}]")
        axes.set_ylim(bottom=0)
        axes.set_xlim(left=0)
        axes.legend(loc="upper right", fontsize=7)
    return Picture(
        figure,
        "Chloride above background at the middle of each slice. Dotted verticals: depth of the bars at each core.",
    )


def mix_volumes(job: Job) -> Picture:
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
        figure, axes = _axes(7.0, 1.2)
        start = 0.0
        for index, (name, share) in enumerate(parts.items()):
            value = 100 * float(share.m_as(""))
            axes.barh([0], [value], left=start, color="white", edgecolor="black", hatch=HATCHES[index], linewidth=0.7)
            axes.annotate(f"{name}\n{value:.1f} %", (start + value / 2, 0.42), ha="center", va="bottom", fontsize=7)
            start += value
        axes.set_xlim(0, 100)
        axes.set_ylim(-0.45, 1.0)
        axes.set_yticks([])
        axes.set_xlabel("share of the volume of concrete [%]")
        axes.spines["left"].set_visible(False)
    return Picture(figure, "Absolute volumes of the designed mix.")
