"""Sheet of the reinforcement: its tables and drawings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from deckcalc import patch as patches
from deckcalc import steel
from deckcalc.core import tables, units
from deckcalc.core.check import SATISFIED
from deckcalc.core.units import Diameter, Distance, Length, MomentPerWidth, Probability, Ratio, Share
from deckcalc.job import Job
from deckcalc.patch.design.marking import metres
from deckcalc.show import sections
from deckcalc.show.figures import STYLE, Picture, axes, pages
from deckcalc.show.hand import pipe_table, table
from deckcalc.show.sections import Text, block, hand_calculations, plain
from deckcalc.steel.design.strip import MAIN, form, old_yield


def result(job: Job, item: str, calculation: Any) -> Any:
    """Return what a calculation gave for an item, or None."""
    return next((run.result for run in job.steel.of(item) if run.calculation is calculation), None)


def rules(job: Job) -> Text:
    """Rules by which bars are judged: number, consequence, source."""
    rows = []
    for scope, (limit, action) in job.steel.rules.items():
        words = {
            "single": "one bar",
            "adjacent": "adjacent bars, the loss that both reach",
            "mat": "mean of a mat in a patch",
        }
        source = limit.source if isinstance(limit.source, str) else str(limit.source)
        rows.append([words[scope], job.show(limit.value, Share), action, plain(source)])
    return Text(pipe_table(["rule for", "more than, of the area", "asks for", "source"], rows, "lrll"))


def rule_sets() -> Text:
    """Every set of rules that a job may choose, with the consequence that its source gives the number."""
    rows = [
        [row["rules"], row["scope"], row["number"], row["of"], row["action"], str(tables_cite(row))]
        for row in tables.load("loss_rules").rows
    ]
    return Text(pipe_table(["set", "for", "number", "of the", "asks for", "source"], rows, "llrlll"))


def tables_cite(row: dict[str, str]) -> sections.Cite:
    """Return the source of a row of a table."""
    return sections.Cite(row["source"], row["where"], row["provenance"])  # type: ignore[arg-type]


def bars(job: Job) -> Text:
    """Every measured bar, what needs action first at the top."""
    limit = job.steel.rules["single"][0].value
    rows = []
    order = sorted(
        job.file.rows["bars"], key=lambda row: (row.bar not in job.steel.flagged, -job.steel.loss[row.bar].m_as(""))
    )
    for row in order:
        item = f"bar {row.bar}"
        sure, years = result(job, item, steel.exceedance), result(job, item, steel.years_to_limit)
        over = job.steel.loss[row.bar] > limit
        rows.append([
            row.bar, row.patch, row.layer, row.size,
            units.show(row.readings, Diameter, job.system).rpartition(" ")[0],
            job.show(job.steel.loss[row.bar], Share).removesuffix(" %"), job.steel.governs[row.bar],
            job.show(sure.p, Probability, 1).removesuffix(" %") if sure else "",
            "reached" if over else "over 100" if years and years.T.m_as("yr") > 100 else f"{years.T.m_as('yr'):.0f}" if years else "",
            "**add bars**" if row.bar in job.steel.flagged else close(sure),
        ])  # fmt: skip
    unit = units.kind_of(Diameter).symbol(job.system)
    heads = ["bar", "patch", "layer", "size", f"readings [{unit}]", "loss [%]", "by", "p [%]", "years", "what follows"]
    return block([
        pipe_table(heads, rows, "lllllrlrrl"),
        "Loss of section is a share of the area; *by* names the measurement that governs; *p* is the probability that the limit of one "
        "bar is exceeded, from the uncertainty of a reading alone; *years* until that limit at the rate found so far.",
    ])  # fmt: skip


def close(sure: Any) -> str:
    """Say what follows for a bar within the limits, by how far it is from them."""
    near = sure is not None and float(sure.z.m_as("")) > -2
    return "clean; near the limit, measure again" if near else "clean"


def added(job: Job) -> Text:
    """Bars to add, their laps and the patch that they need."""
    rows = []
    for run in job.steel.runs_of(steel.added_bar):
        found, given = run.result, run.arguments
        n = result(job, run.item.removesuffix(", lap"), steel.supplement).n
        rows.append([
            run.item.removeprefix("bar ").removesuffix(", lap"), f"{n.m_as(''):.0f}", *(job.show(q, Length) for q in (
                given["L_loss"], given["l_lap"], found.L_bar, given["L_patch"], found.L_need, found.L_grow)),
        ])  # fmt: skip
    if not rows:
        return Text("No bar is to be added by these rules.\n")
    heads = [
        "for bar",
        "bars",
        "length of loss",
        "lap",
        "bar length",
        "patch as marked",
        "patch needed",
        "patch must grow",
    ]
    return Text(pipe_table(heads, rows, "lrrrrrrr"))


def follows(job: Job) -> Text:
    """What follows for bars, patches and the strip; clean bars together."""
    said = job.steel.decisions
    clean = [item for item, what in said.items() if item.startswith("bar ") and what.startswith("clean")]
    rows = [[plain(item), plain(what)] for item, what in said.items() if item not in clean]
    if clean:
        rows.append(
            [
                f"{len(clean)} other bars",
                f"clean; no bar to add by these rules: {', '.join(item.removeprefix('bar ') for item in clean)}",
            ]
        )
    return Text(pipe_table(["item", "what follows"], rows, "ll"))


def checks(job: Job) -> Text:
    """Checks, those of bars that are satisfied left to the summary."""
    bars_only = ("section loss of one bar", "section loss of two adjacent bars")
    kept = [one for one in job.steel.checks if one.title not in bars_only or one.verdict != SATISFIED]
    left = len(job.steel.checks) - len(kept)
    note = f"{left} more checks of single and adjacent bars are satisfied; they stand in the summary of checks."
    return block([sections.verdicts(kept, job.system), note if left else ""])


def strength(job: Job) -> Text:
    """Strength of the strip before loss, as found, open and repaired."""
    if not job.steel.states:
        return Text("No strength is computed: the job has no section deck_strip.\n")
    rows = []
    for state in job.steel.states:
        rows.append([
            state.where, state.state, state.moment, job.show(state.strength, MomentPerWidth), job.show(state.rated.m_u, MomentPerWidth),
            job.show(state.rated.r_cd, Ratio), job.show(state.rated.RF, Ratio),
            "sufficient" if state.rated.r_cd >= job.limit("capacity_ratio").value * (1 - 1e-9) else "**short**",
        ])  # fmt: skip
    heads = [
        "where",
        "state",
        "moment",
        "strength",
        "factored demand",
        "capacity to demand",
        "rating factor",
        "in words",
    ]
    live = {run.arguments["sign"]: run.result for run in job.steel.runs_of(steel.deck_moment)}
    return block([
        pipe_table(heads, rows, "lllrrrrl"),
        f"Old bars {job.show(old_yield(job), units.Stress)}; load factors, condition factor and live load (by "
        f"{'table A4-1' if live else 'the engineer'}) as in the job file. Forms of the equations: "
        f"{'US units' if form(job) == 'US' else 'hard metric, coefficient 1/1.1'}.",
    ])  # fmt: skip


def hand(job: Job) -> Text:
    """The bar with the greatest loss and its laps, by hand."""
    worst = "bar " + max(job.steel.loss, key=lambda bar: job.steel.loss[bar])
    items = [item for item in job.steel.items if item == worst or item.startswith(f"{worst},")]
    return sections.by_hand(job, job.steel, *items)


def hand_strip(job: Job) -> Text:
    """The demand, the strip as built, and the patch with the least strength, by hand."""
    found = [state for state in job.steel.states if state.where.startswith("patch")]
    if not found:
        return Text("")
    least = min(found, key=lambda state: (state.state == "open", state.rated.r_cd.m_as(""))).where
    items = [item for item in job.steel.items if item.startswith("deck strip") and "positive" not in item]
    items += [item for item in job.steel.items if item.startswith((f"{least} ", f"{MAIN} bars of {least}"))]
    return sections.by_hand(job, job.steel, *dict.fromkeys(items))


def others(job: Job) -> Text:
    """What is written out for one item, as tables for all items."""
    written = hand_calculations(job)
    shown = (
        (steel.section_loss, ("A_0", "d", "d_mean", "d_r", "A_r", "A_lost", "loss")), (steel.pit_loss, ("d", "p", "A_1", "A_2", "A_pit", "A_res", "loss_p")),
        (steel.mass_loss, ("m_0", "M_cut", "L_cut", "m_r", "loss_m")), (steel.mat_loss, ("A_l", "A_n", "loss_mat")),
        (steel.uniform_loss, ("d_0", "d", "x", "loss_d", "loss_A")), (steel.pit_depth, ("d_0", "L", "x", "R", "p_max")),
        (steel.exceedance, ("loss", "d_r", "u_loss", "z", "p")), (steel.years_to_limit, ("d_0", "d_r", "d_lim", "v", "T")),
        (steel.flexure, ("A_s", "f_y", "d", "a", "c", "epsilon_t", "phi", "m_r")),
        (steel.flexure_layers, ("c", "A_1", "A_2", "T_1", "T_2", "C_c", "r_eq", "phi", "m_r")),
        (steel.rating, ("m_r", "m_D", "m_LL", "m_u", "r_cd", "RF")), (steel.punching, ("d", "b_o", "V_r", "V_u", "r_v")),
        (steel.crack_spacing, ("f_s", "c_c", "s_max")),
    )  # fmt: skip
    parts = []
    for calculation, columns in shown:
        if runs := job.steel.runs_of(calculation):
            parts.append(
                f"### {runs[0].calculation.title}, all items\n\n{table([written[run] for run in runs], columns)}"
            )
    return block(parts)


def bar_maps(job: Job) -> list[Picture | Text]:
    """Every measured bar on the plan of the deck, with its loss, a page at a time; only patches with measured bars."""
    placed = [row for row in job.file.rows["bars"] if row.station is not None and row.offset is not None]
    if not placed:
        return [Text("The table bars.csv has no station and offset: no map is drawn.\n")]
    rows = [row for row in job.file.rows["patches"] if any(bar.patch == row.patch for bar in placed)]
    return [bar_map(job, shown, placed) for shown in pages(rows, 6)]


def bar_map(job: Job, rows: Sequence[Any], placed: Sequence[Any]) -> Picture:
    """The measured bars of some patches."""
    size = lambda q: float(units.magnitude(q, units.kind_of(Distance), job.system))  # noqa: E731
    unit = units.kind_of(Distance).symbol(job.system)
    limits = {run.item: run.result for run in job.patch.runs_of(patches.patch_limits)}
    with matplotlib.rc_context(STYLE):
        high = (len(rows) + 1) // 2
        figure = Figure(figsize=(7.0, 1.0 + 2.3 * high), layout="constrained")
        grid = figure.add_gridspec(high + 1, 2, height_ratios=[0.45, *[1.0] * high])
        key = figure.add_subplot(grid[0, :])
        for index, row in enumerate(rows):
            marked, x, y = limits[f"patch {row.patch}"], size(row.station), size(row.offset)
            L, B = size(marked.L), size(marked.B)
            outline(key, x, y, L, B)
            key.annotate(row.patch, (x, y + B / 2), xytext=(0, 2), textcoords="offset points", ha="center", fontsize=7)
            panel = figure.add_subplot(grid[1 + index // 2, index % 2])
            outline(panel, x, y, L, B)
            for bar in [bar for bar in placed if bar.patch == row.patch]:
                draw_bar(job, panel, bar, size(metres(bar.station)), size(metres(bar.offset)), (x, y, L, B))
            panel.set_title(f"patch {row.patch}", fontsize=8, loc="left")
            panel.set_xlim(x - 0.58 * L, x + 0.58 * L)
            panel.set_ylim(y - 0.62 * B, y + 0.72 * B)
            panel.tick_params(labelsize=6)
        key.set_aspect("equal")
        key.margins(0.05, 0.4)
        key.autoscale_view()
        key.set_ylabel(f"offset [{unit}]", fontsize=7)
        key.set_xlabel(f"station [{unit}]", fontsize=7)
        key.tick_params(labelsize=6)
    return Picture(
        figure,
        "Deck plan: above, where the patches lie, to scale; below, every measured bar within the marked limits at its station and offset "
        "(not to scale), with its name and its loss of section in per cent. Heavy lines: bars to be supplemented. Bars drawn upright are main bars.",
    )


def outline(drawing: Any, x: float, y: float, L: float, B: float) -> None:
    """Draw the marked limits of a patch."""
    drawing.add_patch(
        matplotlib.patches.Rectangle((x - L / 2, y - B / 2), L, B, fill=False, linewidth=0.8, linestyle="--")
    )


def draw_bar(job: Job, drawing: Any, bar: Any, x: float, y: float, limits: tuple[float, float, float, float]) -> None:
    """Draw one bar across its patch, with its loss."""
    px, py, L, B = limits
    heavy = bar.bar in job.steel.flagged
    look = {"color": "black", "linewidth": 3.0 if heavy else 0.9, "solid_capstyle": "butt"}
    words = f"{bar.bar}\n{job.steel.loss[bar.bar].m_as('percent'):.1f}"
    weight = "bold" if heavy else "normal"
    if bar.layer.endswith("main"):
        drawing.plot([x, x], [py - B / 2, py + B / 2], **look)
        drawing.text(x, py + 0.53 * B, words, ha="center", va="bottom", fontsize=6, fontweight=weight)
    else:
        drawing.plot([px - L / 2, px + L / 2], [y, y], **look)
        drawing.text(
            px - L / 2, y, f"{bar.bar}  {job.steel.loss[bar.bar].m_as('percent'):.1f}", ha="left", va="center", fontsize=6,
            fontweight=weight, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
        )  # fmt: skip


def along(job: Job) -> Picture | Text:
    """Strength over the girder along the strip, bar by bar."""
    built = next((s for s in job.steel.states if s.state == "as built" and s.moment == "over the girder"), None)
    if built is None:
        return Text("")
    run = next(run for run in job.steel.runs_of(steel.flexure) if run.item == built.item)
    names = [row for row in job.file.rows["bars"] if row.layer == MAIN]
    area = run.arguments["A_s"] * np.array([1 - job.steel.loss[row.bar].m_as("") for row in names])
    show = lambda q: np.asarray(units.magnitude(q, units.kind_of(MomentPerWidth), job.system))  # noqa: E731
    bar_by_bar = show(run.calculation(**{**run.arguments, "A_s": area}).m_r)
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.7)
        place = np.arange(len(names))
        drawing.bar(
            place, bar_by_bar, color="white", edgecolor="black", linewidth=0.7, label="with the loss of each bar alone"
        )
        for state, look in (("as found", "-"), ("repaired", ":")):
            for index, one in enumerate(s for s in job.steel.states if s.state == state):
                here = [i for i, row in enumerate(names) if f"patch {row.patch}" == one.where]
                drawing.plot([here[0] - 0.5, here[-1] + 0.5], [float(show(one.strength))] * 2, color="black", linestyle=look,
                             linewidth=1.8, label=f"{state}, mean of the patch" if index == 0 else None)  # fmt: skip
        drawing.axhline(float(show(built.strength)), color="black", linestyle="-.", linewidth=0.8, label="as built")
        drawing.axhline(
            float(show(built.rated.m_u)), color="black", linestyle="--", linewidth=0.8, label="factored demand"
        )
        drawing.set_xticks(place, [f"{row.bar}\n{row.patch}" for row in names], fontsize=6)
        drawing.set_ylabel(f"strength [{units.kind_of(MomentPerWidth).symbol(job.system)}]")
        drawing.set_ylim(0, float(show(built.strength)) * 1.5)
        drawing.legend(loc="upper center", ncols=3, fontsize=7)
    return Picture(
        figure,
        "Strength of the deck strip over the girder along the deck: bars, if all of the steel had lost what the one bar has; full and dotted "
        "lines, with the mean loss of the patch, as found and repaired.",
    )
