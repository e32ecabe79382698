"""Sheet of the reinforcement: its tables and drawings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from deckcalc.core import units
from deckcalc.core.check import SATISFIED
from deckcalc.core.units import (
    BarArea,
    CorrosionRate,
    CurrentDensity,
    Diameter,
    Distance,
    Length,
    Moment,
    MomentPerWidth,
    Probability,
    Ratio,
    Share,
    Stress,
)
from deckcalc.patch.design import PatchDesign
from deckcalc.patch.design.marking import metres
from deckcalc.show import sections
from deckcalc.show.figures import STYLE, Picture, axes, pages
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations
from deckcalc.steel.design.results import MAIN, NOT_ASKED, BarDesign, Steel
from deckcalc.steel.design.strengths import old_yield
from deckcalc.steel.design.strip import built_over_girder, strength_by_bar, weakest, written_out
from deckcalc.steel.formulas.corrosion_rates import years_to_limit
from deckcalc.steel.formulas.development_changes import placement_aashto
from deckcalc.steel.formulas.flexure import flexure
from deckcalc.steel.formulas.loss import mass_loss, mat_loss, section_loss, uniform_loss
from deckcalc.steel.formulas.pits import pit_depth, pit_loss
from deckcalc.steel.formulas.punching import punching, punching_aashto
from deckcalc.steel.formulas.rating import rating
from deckcalc.steel.formulas.reliability import exceedance
from deckcalc.steel.formulas.serviceability import crack_spacing
from deckcalc.steel.formulas.steel_wanted import missing_steel, steel_for_moment
from deckcalc.steel.formulas.two_layers import flexure_layers

SCOPES = {
    "single": "one bar", "adjacent": "adjacent bars, the loss that both reach", "mat": "mean of a mat in a patch",
}  # fmt: skip
NO_STRENGTH = "No strength is computed: the job has no section deck_strip.\n"


def rules(steel: Steel) -> Text:
    """Rules by which bars are judged: number, consequence, source."""
    rows = [
        [SCOPES[scope], steel.show(rule.limit.value, Share), rule.action, plain(str(rule.limit.source))]
        for scope, rule in steel.rules.items()
    ]
    return Text(pipe_table(["rule for", "more than, of the area", "asks for", "source"], rows, "lrll"))


def codes(steel: Steel) -> Text:
    """The code of the sheet, once; a second one only where the engineer chose it."""
    lap = steel.inputs.lap_code
    if not steel.code:
        return Text(f"Laps by {plain(lap)}.\n")
    words = f"By {plain(steel.code)}: strength, least strength, crack control, punching"
    if lap == steel.code or (steel.code.startswith("ACI") and lap.startswith("ACI")):
        return Text(f"{words}, laps ({plain(lap)}).\n")
    return Text(
        f"{words}. **Laps by another code, {plain(lap)}, chosen by the engineer** (reinforcement.lap_code); its lengths are not mixed with "
        "factors of the first.\n"
    )


def rates_said(steel: Steel) -> str:
    """Say how fast the bars were found to corrode, and what these rates are not."""
    rates = steel.rates
    if rates is None:
        return ""
    worth = f"{steel.show(rates.greatest, CorrosionRate)} is worth an even corrosion current of {steel.show(rates.current, CurrentDensity)}"
    if rates.measured:
        return f"The rate of all bars is that of the measured current: {worth}."
    return (
        f"Rates found on the bars: {steel.show(rates.least, CorrosionRate)} to {steel.show(rates.greatest, CorrosionRate)}, in the mean "
        f"{steel.show(rates.mean, CorrosionRate)}; {worth}. They are of bars that were bared because they corrode, each at its thinnest "
        "reading, and hold for these bars. A forecast for bars that still lie in their concrete, as on the sheet of chlorides, takes an even "
        "current of its own, commonly a fraction of this: neither rate stands for the other."
    )


def bars(steel: Steel) -> Text:
    """Every measured bar, what needs action first at the top."""
    rows = []
    for bar in sorted(steel, key=lambda bar: (not bar.why, -bar.loss.m_as(""))):
        row, sure = bar.row, bar.exceedance
        rows.append([
            row.bar, row.patch, bar.location.kind if bar.location else "", row.layer, row.size,
            units.show(row.readings, Diameter, steel.system).rpartition(" ")[0],
            steel.show(bar.loss, Share).removesuffix(" %"), bar.governs,
            steel.show(sure.p, Probability, 1).removesuffix(" %") if sure else "", years(bar), follows_for(bar),
        ])  # fmt: skip
    unit = units.kind_of(Diameter).symbol(steel.system)
    heads = [
        "bar",
        "patch",
        "where",
        "layer",
        "size",
        f"readings [{unit}]",
        "loss [%]",
        "by",
        "p [%]",
        "years",
        "what follows",
    ]
    kept = [place for place in range(len(heads)) if any(row[place] for row in rows)]
    meanings = {
        "by": "*by* names the measurement that governs", "years": "*years* until that limit at the rate found so far",
        "p [%]": "*p* is the probability that the limit of one bar is exceeded, from the uncertainty of a reading alone",
    }  # fmt: skip
    said = [meanings[heads[place]] for place in kept if heads[place] in meanings]
    return block([
        pipe_table([heads[place] for place in kept], [[row[place] for place in kept] for row in rows],
                   "".join("llllllrlrrl"[place] for place in kept)),
        f"Loss of section is a share of the area; {'; '.join(said)}.",
        rates_said(steel),
    ])  # fmt: skip


def years(bar: BarDesign) -> str:
    """Print the years until the limit is reached."""
    if bar.over:
        return "reached"
    if bar.years is None:
        return ""
    left = bar.years.T.m_as("yr")
    return "over 100" if left > 100 else f"{left:.0f}"


def follows_for(bar: BarDesign) -> str:
    """Say what follows for a bar, in few words."""
    if bar.why:
        return "**add bars**"
    return "clean; near the limit, measure again" if bar.near else "clean"


def added(steel: Steel) -> Text:
    """Bars to add, their laps and the patch that they need."""
    rows = []
    for bar in steel:
        if bar.added is None or bar.supplement is None:
            continue
        lengths = bar.added.L_bar, bar.patch_length, bar.added.L_need, bar.added.L_grow
        specified = "outside the code" if bar.lap_specified is None else steel.show(bar.lap_specified, Length)
        rows.append([
            bar.name, f"{bar.supplement.n.m_as(''):.0f}", steel.show(bar.row.loss_length, Length), steel.show(bar.lap, Length),
            steel.show(bar.lap_strength, Stress), specified, *(steel.show(length, Length) for length in lengths),
        ])  # fmt: skip
    if not rows:
        return Text("No bar is to be added by these rules.\n")
    heads = [
        "for bar",
        "bars",
        "length of loss",
        "lap",
        "for concrete of",
        "lap at f'c",
        "bar length",
        "patch as marked",
        "patch needed",
        "patch must grow",
    ]
    return block([
        pipe_table(heads, rows, "lrrrrrrrrr"),
        "Laps are made for the least strength at which the lane may open (opening_strength), where that is below the specified one: the bar "
        "must carry from then on, and a lane that opens later has more. Single "
        "bars; no reduction for steel beyond what is needed, which the codes do not allow in a lap.",
    ])  # fmt: skip


def wanted(steel: Steel) -> Text:
    """Steel over the girder that the demand wants at each patch with measured bars, and what is missing."""
    if not steel.wanted:
        return Text("")
    rows = [
        [one.patch.item, steel.show(one.moment, Moment), steel.show(one.wanted, BarArea), steel.show(one.left, BarArea),
         steel.show(one.missing.A_more, BarArea), steel.show(one.missing.n, Ratio)]
        for one in steel.wanted
    ]  # fmt: skip
    how = steel.inputs.reinforcement
    size = how.added_bar if how else ""
    heads = ["patch", "moment of the strip", "steel wanted", "steel left", "to add", f"bars {size}"]
    width = "foot" if steel.system == "US" else "metre"
    return block([
        pipe_table(heads, rows, "lrrrrr"),
        f"In a strip of one {width}, over the girder, at the depth and yield strength of the old bars; bars to add are an average over the strip.",
    ])  # fmt: skip


def follows(steel: Steel) -> Text:
    """What follows for bars, patches and the strip; clean bars together."""
    clean = [bar for bar in steel if not bar.why]
    items = {bar.item for bar in clean}
    rows = [[plain(item), plain(what)] for item, what in steel.decisions.items() if item not in items]
    if clean:
        names = ", ".join(bar.name for bar in clean)
        rows.append([f"{len(clean)} other bars", f"clean; no bar to add by these rules: {names}"])
    return Text(pipe_table(["item", "what follows"], rows, "ll"))


def checks(steel: Steel) -> Text:
    """Checks, those of bars that are satisfied left to the summary."""
    kept = steel.checks_to_read
    left = len(steel.checks) - len(kept)
    note = f"{left} more checks of single and adjacent bars are satisfied; they stand in the summary of checks."
    shown = sections.verdicts(kept, steel.system, steel.open_items)
    return block([shown, note if left else "", sections.open_numbers(steel)])


def reach(steel: Steel) -> Text:
    """What is checked at each patch by where it stands, and where the verdict is not covered."""
    rows = [
        [
            patch.name, patch.location.kind,
            *(word if word in (SATISFIED, NOT_ASKED) else f"**{word}**" for word in (one.over, one.in_span, one.own_weight, one.beside)),
            plain(one.beyond),
        ] for patch in steel.patches if (one := steel.reach.get(patch.name))
    ]  # fmt: skip
    heads = [
        "patch",
        "where",
        "over the girder",
        "open, under wheels",
        "open, dead and construction load",
        "slab beside it",
        "why no strip reaches it",
    ]
    if not rows:
        return Text("")
    last = len(heads) if any(row[-1] for row in rows) else len(heads) - 1
    zone, end = steel.limit("girder_zone"), steel.limit("joint_zone")
    return block([
        pipe_table(heads[:last], [row[:last] for row in rows], "l" * last),
        f"*Over the girder* holds for patches nearer to an inner girder than {steel.show(zone.value, Ratio)} of the greatest spacing, with "
        "measured top main bars; it is not asked in mid-bay, and not covered at an outer girder beyond which slab projects. *Open, under wheels* "
        "(bending in the span, and punching) and *open, dead and construction load* hold for patches of partial depth between the outer girders, "
        "with what is left under the deepest reading; a full-depth hole carries nothing. *Slab beside it* is asked wherever the slab left under "
        f"the removal does not carry the wheel by itself, and no model here covers it. In an overhang, and within {steel.show(end.value, Length)} of "
        "a joint or deck end, none of them holds: not covered, engineer to assess.",
    ])  # fmt: skip


def strength(steel: Steel) -> Text:
    """Strength of the strip before loss, as found, open and repaired."""
    if not steel.states:
        return Text(NO_STRENGTH if steel.patches.each else "")
    rows = []
    for state in steel.states:
        rows.append([
            state.where, state.state, state.moment, steel.show(state.strength, MomentPerWidth), steel.show(state.rated.m_u, MomentPerWidth),
            steel.show(state.rated.r_cd, Ratio), steel.show(state.rated.RF, Ratio),
            "sufficient" if state.sufficient else "**short**",
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
    return block([
        pipe_table(heads, rows, "lllrrrrl"),
        f"Old bars {steel.show(old_yield(steel), Stress)}; load factors, condition factor and live load (by "
        f"{steel.live_load}) as in the job file. Forms of the equations: "
        f"{'US units' if steel.form == 'US' else 'hard metric, coefficient 1/1.1'}.",
    ])  # fmt: skip


def hand(steel: Steel, written: HandCalculations) -> Text:
    """The bar with the greatest loss and its laps, by hand."""
    return written.by_hand(steel, *steel.worst.items)


def hand_strip(steel: Steel, written: HandCalculations) -> Text:
    """The demand, the strip as built, and the patch with the least strength, by hand."""
    patch = weakest(steel)
    return written.by_hand(steel, *written_out(patch)) if patch else Text("")


def others(steel: Steel, written: HandCalculations) -> Text:
    """What is written out for one item, as tables for all items."""
    shown = (
        (section_loss, ("A_0", "d", "d_mean", "d_r", "A_r", "A_lost", "loss")), (pit_loss, ("d", "p", "A_1", "A_2", "A_pit", "A_res", "loss_p")),
        (mass_loss, ("m_0", "M_cut", "L_cut", "m_r", "loss_m")), (mat_loss, ("A_l", "A_n", "loss_mat")),
        (uniform_loss, ("d_0", "d", "x", "loss_d", "loss_A")), (pit_depth, ("d_0", "L", "x", "R", "p_max")),
        (exceedance, ("loss", "d_r", "u_loss", "z", "p")), (years_to_limit, ("d_0", "d_r", "d_lim", "v", "T")),
        (flexure, ("A_s", "f_y", "d", "a", "c", "epsilon_t", "phi", "m_r")),
        (flexure_layers, ("c", "A_1", "A_2", "T_1", "T_2", "C_c", "r_eq", "phi", "m_r")),
        (rating, ("m_r", "m_D", "m_LL", "m_u", "r_cd", "RF")), (steel_for_moment, ("M_u", "d", "R_n", "rho", "A_s", "epsilon_t")),
        (missing_steel, ("A_s", "A_l", "A_more", "n")), (punching, ("d", "b_o", "k_1", "k_2", "k_v", "V_r", "V_u", "r_v")),
        (punching_aashto, ("d", "d_v", "b_o", "k_v", "V_r", "V_u", "r_v")), (placement_aashto, ("h_below", "k_t", "k_e", "k_te")),
        (crack_spacing, ("f_s", "c_c", "s_max")),
    )  # fmt: skip
    return block(
        [
            written.tabulated(steel, calculation, *columns)
            for calculation, columns in shown
            if steel.runs_of(calculation)
        ]
    )


def bar_maps(steel: Steel) -> list[Picture | Text]:
    """Every measured bar on the plan of the deck, with its loss, a page at a time; only patches with measured bars."""
    placed = [bar for bar in steel if bar.row.station is not None and bar.row.offset is not None]
    if not placed:
        return [Text("")]
    measured = [patch for patch in steel.patches if any(bar.row.patch == patch.name for bar in placed)]
    return [bar_map(steel, shown, placed) for shown in pages(measured, 6)]


def bar_map(steel: Steel, patches: Sequence[PatchDesign], placed: Sequence[BarDesign]) -> Picture:
    """The measured bars of some patches."""
    size = lambda q: float(units.magnitude(q, units.kind_of(Distance), steel.system))  # noqa: E731
    unit = units.kind_of(Distance).symbol(steel.system)
    with matplotlib.rc_context(STYLE):
        high = (len(patches) + 1) // 2
        figure = Figure(figsize=(7.0, 1.0 + 2.3 * high), layout="constrained")
        grid = figure.add_gridspec(high + 1, 2, height_ratios=[0.45, *[1.0] * high])
        key = figure.add_subplot(grid[0, :])
        for index, patch in enumerate(patches):
            x, y = size(patch.marked.station), size(patch.marked.offset)
            L, B = size(patch.limits.L), size(patch.limits.B)
            outline(key, x, y, L, B)
            key.annotate(patch.name, (x, y - B / 2), xytext=(0, 2), textcoords="offset points", ha="center", fontsize=7)
            panel = figure.add_subplot(grid[1 + index // 2, index % 2])
            outline(panel, x, y, L, B)
            for bar in [bar for bar in placed if bar.row.patch == patch.name]:
                draw_bar(panel, bar, size(metres(bar.row.station)), size(metres(bar.row.offset)), (x, y, L, B))
            panel.set_title(patch.item, fontsize=8, loc="left")
            panel.set_xlim(x - 0.58 * L, x + 0.58 * L)
            panel.set_ylim(y + 0.62 * B, y - 0.72 * B)  # the right-hand side lies below, as on the plan of the deck
            panel.tick_params(labelsize=6)
        key.set_aspect("equal")
        key.margins(0.05, 0.4)
        key.autoscale_view()
        key.invert_yaxis()
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


def draw_bar(drawing: Any, bar: BarDesign, x: float, y: float, limits: tuple[float, float, float, float]) -> None:
    """Draw one bar across its patch, with its loss."""
    px, py, L, B = limits
    look = {"color": "black", "linewidth": 3.0 if bar.why else 0.9, "solid_capstyle": "butt"}
    loss = f"{bar.loss.m_as('percent'):.1f}"
    weight = "bold" if bar.why else "normal"
    if bar.main:
        drawing.plot([x, x], [py - B / 2, py + B / 2], **look)
        drawing.text(
            x, py - 0.53 * B, f"{bar.name}\n{loss}", ha="center", va="bottom", fontsize=6, fontweight=weight
        )  # fmt: skip
    else:
        drawing.plot([px - L / 2, px + L / 2], [y, y], **look)
        drawing.text(
            px - L / 2, y, f"{bar.name}  {loss}", ha="left", va="center", fontsize=6,
            fontweight=weight, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
        )  # fmt: skip


def along(steel: Steel) -> Picture | Text:
    """Strength over the girder along the strip, bar by bar."""
    built = built_over_girder(steel)
    if built is None:
        return Text("")
    main = [bar for bar in steel if bar.row.layer == MAIN]
    show = lambda q: np.asarray(units.magnitude(q, units.kind_of(MomentPerWidth), steel.system))  # noqa: E731
    with matplotlib.rc_context(STYLE):
        figure, drawing = axes(7.0, 2.7)
        place = np.arange(len(main))
        drawing.bar(
            place, show(strength_by_bar(steel)), color="white", edgecolor="black", linewidth=0.7,
            label="with the loss of each bar alone",
        )  # fmt: skip
        for state, look in (("as found", "-"), ("repaired", ":")):
            for index, one in enumerate(s for s in steel.states if s.state == state):
                here = [i for i, bar in enumerate(main) if one.patch and bar.row.patch == one.patch.name]
                drawing.plot([here[0] - 0.5, here[-1] + 0.5], [float(show(one.strength))] * 2, color="black", linestyle=look,
                             linewidth=1.8, label=f"{state}, mean of the patch" if index == 0 else None)  # fmt: skip
        drawing.axhline(float(show(built.strength)), color="black", linestyle="-.", linewidth=0.8, label="as built")
        drawing.axhline(
            float(show(built.rated.m_u)), color="black", linestyle="--", linewidth=0.8, label="factored demand"
        )
        drawing.set_xticks(place, [f"{bar.name}\n{bar.row.patch}" for bar in main], fontsize=6)
        drawing.set_ylabel(f"strength [{units.kind_of(MomentPerWidth).symbol(steel.system)}]")
        drawing.set_ylim(0, float(show(built.strength)) * 1.5)
        drawing.legend(loc="upper center", ncols=3, fontsize=7)
    return Picture(
        figure,
        "Strength of the deck strip over the girder along the deck: bars, if all of the steel had lost what the one bar has; full and dotted "
        "lines, with the mean loss of the patch, as found and repaired.",
    )


def further(steel: Steel) -> list[Text]:
    """Return the tables that stand in the appendix."""
    return [sections.cautions(steel)]
