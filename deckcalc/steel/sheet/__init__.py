"""Sheet of the reinforcement: its tables. The drawings stand in `deckcalc.steel.sheet.drawings`."""

from __future__ import annotations

from collections.abc import Iterable

from deckcalc.base.subject import Run
from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, SATISFIED, Check
from deckcalc.core.units import Force, Length, Ratio, Share, Stress
from deckcalc.show import sections
from deckcalc.show.governing import governing, leading_to, run_of
from deckcalc.show.hand import in_two, pipe_table
from deckcalc.show.results import number, once, open_item, worst_words
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations
from deckcalc.steel.design.at_patches import BESIDE, WHOLE, shear_factor
from deckcalc.steel.design.laps import no_lap
from deckcalc.steel.design.results import BUILT, MOMENTS, ONE_BAR, BarDesign, Steel
from deckcalc.steel.design.strengths import old_yield
from deckcalc.steel.formulas.splices import coupler_force
from deckcalc.steel.sheet.appendix import further

__all__ = ["actions", "bars", "by_hand", "checks", "further", "inputs", "lead", "results", "rules"]

SCOPES = {
    "single": "one bar", "adjacent": "adjacent bars, the loss that both reach", "mat": "mean of a mat in a patch",
}  # fmt: skip
#: Measured bars up to which the sheet prints all of them; of more it prints those that are supplemented or near their limit.
FEW = 12
#: Verdict where bars are added.
ADDED = "satisfied, bars added"
MAT = "mean loss of the mat"
OVER, SPAN = (f"capacity to demand {MOMENTS[sign]}" for sign in ("negative", "positive"))
LIGHT = "open, under dead and construction load alone"
#: Columns of the results: head, and what the titles of its checks begin with.
COLUMNS = {
    "mat loss": (MAT,), "over girder": (f"{OVER}, as built", f"{OVER}, as found", f"{OVER}, repaired"),
    "in span": (f"{SPAN}, as built", f"{SPAN}, open"), "own weight": (LIGHT,), "punching": ("punching",),
}  # fmt: skip
#: Columns of the strip.
STRIP = ("over girder", "in span", "own weight", "punching")


def lead(steel: Steel) -> Text:
    """Say what the sheet decides, on what model, by which codes."""
    decides = "Decides which bars are supplemented"
    if any(bar.lap is not None for bar in steel):
        decides += " and how long their laps are"
    if not steel.states:
        return block([f"{decides}." if steel.each else "", codes(steel)])
    width = "1 ft" if steel.system == "US" else "1 m"
    return block([
        f"{decides}, and whether the deck carries its loads as built, as found, with a patch open and as repaired: a strip {width} wide across "
        "traffic, continuous over the girders, cracked section in bending, wheel in punching.", codes(steel),
    ])  # fmt: skip


def codes(steel: Steel) -> str:
    """Name the code of the sheet, once; a second one only where the engineer chose it."""
    lap = steel.inputs.lap_code
    if not steel.code:
        return f"Laps by {plain(lap)}." if any(bar.lap is not None for bar in steel) else ""
    words = f"By {plain(steel.code)}: strength, minimum strength, crack control, punching"
    if lap == steel.code or (steel.code.startswith("ACI") and lap.startswith("ACI")):
        return f"{words}, laps ({plain(lap)})."
    return (
        f"{words}. **Laps by another code, {plain(lap)}, chosen by the engineer**; its lengths are not mixed with "
        "factors of the first."
    )


def inputs(steel: Steel) -> Text:
    """The inputs that matter: the strip with its loads and factors, and the rules for lost section."""
    strip, how = steel.inputs.deck_strip, steel.inputs.reinforcement
    rows: list[list[str]] = []
    if strip and steel.states:
        show, deck = steel.show, steel.deck
        f_c = next(run for run in steel.runs if "f_c" in run.arguments and run.item.startswith(BUILT)).arguments["f_c"]
        factors = ", ".join(show(value, Ratio) for value in (strip.gamma_slab, strip.gamma_overlay, strip.gamma_live))
        rows = [
            ["$S$", show(steel.patches.marked.girder_spacing, Length), "girder spacing"],
            ["$x$", show(strip.section_offset, Length), "design section from girder"],
            ["$c$", show(strip.bottom_cover, Length), "cover, bottom bars"],
            ["", f"{strip.bottom_bar} at {show(strip.bottom_spacing, Length)}", "bottom main bars"],
            ["", f"{deck.top_bar_outer} at {show(deck.bar_spacing, Length)}", "top main bars"],
            ["$f'_c$", show(f_c, Stress), "existing concrete"],
            ["$f_y$", show(old_yield(steel), Stress), "existing bars"],
            [r"$\gamma$", factors, "load factors DC, DW, LL"],
            ["$P$", show(strip.wheel, Force), f"wheel, times {show(strip.wheel_factor, Ratio)}"],
            ["$w_1 × w_2$".replace("×", r"\times"), " × ".join(show(v, Length) for v in (strip.wheel_width, strip.wheel_length)), "wheel print"],
            [r"$\phi_v$", show(shear_factor(strip), Ratio), "resistance factor, shear"],
            ["", plain(steel.live_load), "live-load moments by"],
        ]  # fmt: skip
        if how:
            rows += [["", f"{how.added_bar}, {show(how.added_yield, Stress)}", "bars to add"],
                     ["$c_\\mathrm{end}$", show(how.end_cover, Length), "bar end to patch edge"]]  # fmt: skip
    return block([in_two(["symbol", "value", "meaning"], rows) if rows else "", rules(steel)])


def rules(steel: Steel) -> str:
    """Rules by which bars are judged: number, consequence, source."""
    rows = [
        [SCOPES[scope], steel.show(rule.limit.value, Share), rule.action, plain(str(rule.limit.source))]
        for scope, rule in steel.rules.items()
    ]
    return pipe_table(["loss of section, rule for", "limit", "above it", "source"], rows, "lrll") if rows else ""


def in_table(steel: Steel) -> list[Check]:
    """Return the checks that the table of results holds: strength of the strip and of the patches, and mats."""
    starts = (*(start for some in COLUMNS.values() for start in some), BESIDE, WHOLE)
    return [one for one in steel.checks if one.title.startswith(starts)]


def place_of(check: Check) -> str:
    """Return the patch of a check, or what else it is of."""
    return check.item.rpartition("patch ")[2] if "patch " in check.item else check.item


def value_of(steel: Steel, checks: Iterable[Check]) -> str:
    """Print the values of checks; in bold what is not satisfied, the worst layer of mats alone."""
    shown, mats = [], [one for one in checks if one.title == MAT]
    for one in [max(mats, key=lambda one: one.utilisation or 0.0)] if mats else checks:
        value = "n.c." if one.verdict == NOT_COVERED else one.printed(steel.system)[0]
        shown.append(value if one.verdict in (SATISFIED, NOT_COVERED) else f"**{value}**")
    return "; ".join(shown) or "–"


def results(steel: Steel, written: HandCalculations) -> Text:
    """Strength of the strip as built and at every patch, against the limits: value, verdict, open item."""
    checks = in_table(steel)
    places: dict[str, list[Check]] = {}
    for one in sorted(checks, key=lambda one: not one.item.startswith(BUILT)):
        places.setdefault(place_of(one), []).append(one)
    if not checks:
        return Text("")
    columns = {head: [one for one in checks if one.title.startswith(starts)] for head, starts in COLUMNS.items()}
    kept = {head: some for head, some in columns.items() if some}
    limits = [f"{some[0].sense} {some[0].printed(steel.system)[1]}" for some in kept.values()]
    rows = [["*limit*", *limits, ""], ["*calculation*", *(number(steel, written, *some) for some in kept.values()), ""]]
    for place, mine in places.items():
        unknown = any(one.title == WHOLE for one in mine)
        cells = [
            "n.c." if unknown and head in STRIP else value_of(steel, [one for one in mine if one in some])
            for head, some in kept.items()
        ]
        rows.append([place, *cells, f"{worst_words(mine, ADDED)}{open_item(steel, mine)}"])
    zone = steel.limit("girder_zone")
    said = "" if not steel.states else (
        "Mat: mean loss of section of the worst layer. Others: capacity to factored demand of the strip as built, and of a patch over the girder "
        "as found, then repaired; while open in the span, under own weight and construction load, and in punching, under the deepest reading. "
        f"–: not asked, as over the girder beyond {steel.show(zone.value, Ratio)} of the spacing from it. n.c.: not covered, as the open item says; "
        "so is the slab beside an open patch."
    )  # fmt: skip
    return block([pipe_table(["patch", *kept, "verdict"], rows, "l" + "r" * len(kept) + "l"), said])


def check_of(steel: Steel, bar: BarDesign) -> Check:
    """Return the check of the lost section of one bar."""
    return next(one for one in steel.checks if one.title == ONE_BAR and one.item == bar.item)


def bars(steel: Steel, written: HandCalculations) -> Text:
    """Bars that are supplemented or near their limit, or all where they are few; the others in a line."""
    if not steel.each:
        return Text("")
    ranked = sorted(steel, key=lambda bar: (not bar.why, -bar.loss.m_as("")))
    shown = [bar for bar in ranked if len(ranked) <= FEW or bar.why or bar.near]
    rows = []
    for bar in shown:
        check = check_of(steel, bar)
        rows.append([bar.name, bar.row.patch, f"{bar.row.layer}, {bar.row.size}", f"{check.printed(steel.system)[0]} ({bar.governs})",
                     number(steel, written, check), bar.why or ("near the limit" if bar.near else ""),
                     "**supplement**" if bar.why else "clean; measure again" if bar.near else "clean"])  # fmt: skip
    heads = ["bar", "patch", "layer, size", "loss (measured by)", "calculation", "for", "verdict"]
    kept = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    others = [bar for bar in ranked if bar not in shown]
    rest = (
        f"{len(others)} other bars: loss {steel.show(min(bar.loss for bar in others), Share)} to "
        f"{steel.show(max(bar.loss for bar in others), Share)}, clean; every bar stands in the appendix."
        if others
        else ""
    )
    if not rows:
        return block([rest])
    table = pipe_table(
        [heads[i] for i in kept], [[row[i] for i in kept] for row in rows], "".join("lllrlll"[i] for i in kept)
    )
    return block([table, rest])


def actions(steel: Steel, written: HandCalculations) -> Text:
    """What is done: bars to add with their laps, patches that must grow, wheels kept off."""
    rows, said, without = [], [], dict[str, list[BarDesign]]()
    for bar in steel:
        if bar.supplement is None:
            continue
        if bar.added is None or bar.cut is None or bar.lap is None:
            why = no_lap(steel, bar, steel.inputs.reinforcement)
            why = f"laps {why}" if why else "measure the length of the loss: the bar is that and two laps long"
            without.setdefault(f"add {bar.supplement.n.m_as(''):.0f} × {bar.size} beside {{}}; {why}", []).append(bar)
            continue
        made = run_of(steel, bar.added.L_bar)
        rows.append([
            f"{bar.name} ({bar.row.patch})", f"{bar.supplement.n.m_as(''):.0f} × {bar.size}", steel.show(bar.row.loss_length, Length),
            f"{units.show_at_least(bar.lap, Length, steel.system)}, for {steel.show(bar.lap_strength, Stress)}", steel.show(bar.cut, Length),
            coupler(steel, bar), written.numbers[made] if made else "",
        ])  # fmt: skip
    for words, some in without.items():
        said.append(
            f"- **{', '.join(bar.name for bar in some)}:** {plain(words.format('each' if len(some) > 1 else 'it'))}."
        )
    said += [f"- **{plain(item[0].upper() + item[1:])}** {plain(what)}." for item, what in steel.decisions.items() if item in
             {f"patch {name}" for name in steel.growth}]  # fmt: skip
    reach = {name: one for name, one in steel.reach.items() if steel.states}
    closed = [name for name, one in reach.items() if not one.beyond and one.beside == NOT_COVERED]
    clear = [name for name, one in reach.items() if not one.beyond and one.beside != NOT_COVERED]
    unknown = [name for name, one in reach.items() if one.beyond]
    short = [name for name, one in reach.items() if one.over == "not satisfied"]
    for names, words in (
        (short, "stop: the strip stays short over the girder with what is added; the engineer decides"),
        (closed, "no wheel on the patch or beside it while it is open"),
        (clear, "the slab left under the removal carries the wheel while the patch is open"),
        (unknown, "not covered; the engineer assesses it before it is opened"),
    ):
        if names:
            said.append(f"- **{', '.join(names)}:** {words}.")
    heads = [
        "bar (patch)",
        "add",
        "length of loss",
        "lap at each end, concrete",
        "cut to",
        "or coupler, weld for",
        "calculation",
    ]
    table = pipe_table(heads, rows, "llrrrrl") if rows else ""
    note = (
        "Laps on sound bar, for the minimum concrete strength at which the lane opens where that is below the specified one; single bars; no "
        "reduction for steel beyond what is needed."
    )
    nothing = "" if not steel.each or any(bar.supplement for bar in steel) else "No bar is to be added by these rules."
    return block([table, note if rows else "", "\n".join(said), nothing])


def coupler(steel: Steel, bar: BarDesign) -> str:
    """Return the force of a coupler or weld in the place of a lap."""
    force = next((run.result for run in steel.runs_of(coupler_force) if run.item == f"{bar.item}, lap"), None)
    return "" if force is None else steel.show(force, Force)


def checks(steel: Steel) -> Text:
    """Checks that the tables of results do not hold and that are not satisfied, not covered or near their limit."""
    return sections.checks(steel, above=[*in_table(steel), *(one for one in steel.checks if one.title == ONE_BAR)])


def governing_bar(steel: Steel) -> Check | None:
    """Return the check of a bar that governs: the greatest use of the limit for lost section."""
    return governing(one for one in steel.checks if one.title == ONE_BAR)


def governing_strip(steel: Steel) -> Check | None:
    """Return the check of the strip that governs."""
    return governing(one for one in in_table(steel) if one.title != MAT)


def leading(steel: Steel) -> list[Run]:
    """Return the runs that lead to the governing verdicts, in filing order; of a bar its lap, or its loss where no bar settles it."""
    check, strip, runs = governing_bar(steel), governing_strip(steel), list[Run | None]()
    if strip is not None:
        runs += leading_to(steel, strip.demand)
    if check is not None:
        bar = steel[check.item.removeprefix("bar ")]
        lap = [*developed(steel, bar), run_of(steel, bar.lap), run_of(steel, bar.added and bar.added.L_bar)]
        runs += lap if check.settled else [*leading_to(steel, check.demand), *lap]
    wanted = once(run for run in runs if run is not None)
    return [run for run in steel.runs if any(run is one for one in wanted)]


def developed(steel: Steel, bar: BarDesign) -> list[Run]:
    """Return the run of the development length that governs a lap; none where its code has one calculation alone."""
    lap = run_of(steel, bar.lap)
    sides = [lap.arguments[name] for name in ("l_1", "l_2") if name in lap.arguments] if lap else []
    found = run_of(steel, max(sides)) if sides else None
    return [found] if found else []


def by_hand(steel: Steel, written: HandCalculations) -> Text:
    """The governing case: the calculations that lead to the worst verdict of a bar and of the strip."""
    bar, strip = governing_bar(steel), governing_strip(steel)
    said = [f"{strip.item}, {strip.title}"] if strip else []
    said += [f"{bar.item}, {'lap of the bar added beside it' if bar.settled else bar.title}"] if bar else []
    if not said:
        return Text("")
    return block([f"Worked out, as nearest to its limit: {'; '.join(said)}.", str(written.worked(leading(steel)))])
