"""Sheet of the patches: its tables and drawings."""

from __future__ import annotations

import matplotlib
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc import patch, steel, units
from deckcalc.course.patch import FULL
from deckcalc.figures import STYLE, Picture, axes
from deckcalc.job import Job
from deckcalc.sections import Text
from deckcalc.sheet import pipe_table


def schedule(job: Job) -> Text:
    """Schedule of patches: class, marked limits, depth, saw cut, order."""
    rows = []
    for row in job.file.rows["patches"]:
        item = f"patch {row.patch}"
        found = {run.calculation.name: run.result for run in job.patch.of(item)}
        limits, volume = found["patch_limits"], found["patch_volume"]
        depth = next(run.arguments["h"] for run in job.patch.of(item) if run.calculation.name == "patch_volume")
        rows.append([
            row.patch, job.patch.depth_class[row.patch], job.show(limits.L, units.Distance), job.show(limits.B, units.Distance),
            job.show(depth, units.Length), job.show(limits.A, units.Area), job.show(limits.P_cut, units.Distance),
            job.show(volume.V_order, units.OrderVolume),
        ])  # fmt: skip
    total = job.show(job.patch.order_volume, units.OrderVolume)
    rows.append(["**all**", "", "", "", "", "", "", f"**{total}**"])
    heads = ["patch", "class", "marked length", "marked width", "removal depth", "area", "saw cut", "order volume"]
    return Text(pipe_table(heads, rows, "llrrrrrr"))


def deck_plan(job: Job) -> Picture:
    """Plan of the patches: unsound concrete and marked limits, to scale."""
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.6)
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
                drawing.add_patch(Rectangle((x - length / 2, y - width / 2), length, width, **look))
            drawing.annotate(
                f"{row.patch}: {units.show(marked.L, units.Distance, job.system)} × {units.show(marked.B, units.Distance, job.system)}",
                (x, y + size(marked.B) / 2), xytext=(0, 3), textcoords="offset points", ha="center", va="bottom",
            )  # fmt: skip
        drawing.set_aspect("equal")
        drawing.autoscale_view()
        drawing.margins(0.08, 0.25)
        drawing.set_xlabel(f"station [{unit}]")
        drawing.set_ylabel(f"offset [{unit}]")
        kinds = ", ".join(f"{name} {kind}" for name, kind in job.patch.depth_class.items())
    return Picture(
        figure, f"Deck plan to scale. Full line: marked limits; hatched: unsound concrete as surveyed. {kinds}."
    )


def sections_drawn(job: Job) -> Picture:
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
            drawing = figure.add_subplot((len(rows) + 1) // 2, 2, index + 1)
            h, width = removed.get(f"patch {row.patch}", t), 3.0 * t
            left, right = 0.5 * t, width - 0.5 * t
            drawing.add_patch(Rectangle((0, 0), width, t, facecolor="0.85", edgecolor="black", linewidth=0.6))
            drawing.add_patch(
                Rectangle((left, 0), right - left, h, facecolor="white", edgecolor="black", hatch="...", linewidth=0.8)
            )
            for x in (left, right):
                drawing.plot([x, x], [0, saw], color="black", linewidth=2.0)
            cover = size(row.least_cover)
            for k in range(1, 9):
                drawing.add_patch(matplotlib.patches.Circle((k * width / 9, cover + d_1 / 2), d_1 / 2, color="black"))
            drawing.add_patch(Rectangle((0, cover + d_1), width, d_2, facecolor="0.3", edgecolor="none"))
            drawing.annotate(
                "", (right + 0.15 * t, 0), (right + 0.15 * t, h), arrowprops={"arrowstyle": "<->", "linewidth": 0.6}
            )
            drawing.text(
                right + 0.2 * t, h / 2, f"{h:.{2 if job.system == 'US' else 0}f} {unit}", va="center", fontsize=7
            )
            drawing.set_title(f"{row.patch}, {job.patch.depth_class[row.patch]}", fontsize=8, loc="left")
            drawing.set_xlim(0, width)
            drawing.set_ylim(t * 1.02, -0.02 * t)
            drawing.set_ylabel(f"depth [{unit}]")
            drawing.set_xticks([])
    full = " A full-depth hole is shown open through the slab." if FULL in job.patch.depth_class.values() else ""
    return Picture(
        figure,
        "Sections through the patches, vertical to scale, horizontal not. Dotted: concrete removed; heavy lines at its sides: "
        f"saw cuts; dots and dark band: the two layers of the top mat at the least measured cover.{full}",
    )
