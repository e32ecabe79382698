"""Sheet of the chlorides: its tables; the drawings stand in `deckcalc.chloride.sheet.drawings`."""

from __future__ import annotations

from deckcalc import chloride
from deckcalc.base.subject import Run
from deckcalc.chloride.design import Chlorides, Consequence
from deckcalc.chloride.design.forecast import AGEING
from deckcalc.chloride.design.forecast_results import BarForecast
from deckcalc.chloride.sheet.appendix import NOTHING, further, years
from deckcalc.chloride.sheet.demanded import where
from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, SATISFIED, Check
from deckcalc.core.text import plain
from deckcalc.core.units import quantity
from deckcalc.show import sections
from deckcalc.show.governing import cited, governing, leading_to
from deckcalc.show.hand import in_two, pipe_table
from deckcalc.show.results import once, open_item, worst_words
from deckcalc.show.sections import Text, block
from deckcalc.show.written import HandCalculations

__all__ = ["beside", "by_hand", "checks", "cores", "further", "inputs", "lead", "required", "results", "survey"]

#: What the titles of checks begin with: at the cores, and of the zones and the patches.
AT_BAR, REACHED, LIKELY, LOST, CHANCE = (
    "chloride at the bar", "cores with the threshold reached", "potentials in the class likely",
    ("age when protection is lost", "time until protection is lost"), "probability that protection is lost",
)  # fmt: skip
#: Title of a check that uses all of its limit where it is satisfied.
WHOLE = "cores off cracks that the forecast rests on"
#: Verdict of a core whose concrete above the threshold is taken out with a patch.
REMOVED = "satisfied, removed with the patch"
ACTIONS = {
    "remove": "remove, or protect the bar", "treat": "treat the whole zone", "protect": "protect the bar", "sample again": "sample again",
}  # fmt: skip
OUTLOOKS = ("to be expected", "possible", "not indicated")


def lead(chlorides: Chlorides) -> Text:
    """Say what the sheet decides, and on what model."""
    said = ["Decides where concrete is removed, treated or protected because of chloride"]
    if chlorides.cores:
        said.append(
            "chloride at the bars of the cores, linear between slices, is held against the threshold that the job chooses"
        )
    if chlorides.forecast:
        said.append(
            "the time to corrosion follows from diffusion below a constant surface content (Fick's second law, error function) fitted to the cores"
        )
    if any(one.sampled for one in chlorides.forecast.places) if chlorides.forecast else False:
        said.append("its probability by simulation over the scatter of cover, contents and diffusion")
    return Text(f"{said[0]}{': ' if len(said) > 1 else ''}{'; '.join(said[1:])}.\n")


def inputs(chlorides: Chlorides) -> Text:
    """The inputs that the verdicts rest on."""
    choice, show, level = chlorides.inputs.chloride, chlorides.show, chlorides.threshold
    rows = [
        ["$C_T$", show(chlorides.threshold_content, units.ChlorideContent), "threshold"],
        ["$C_b$", show(chlorides.background, units.ChlorideContent), "background"],
    ]
    if choice.profile:
        rows += [["$t$", show(choice.profile.age, units.Years), "exposure when cored"],
                 ["", show(choice.profile.surface_layer, units.Length), "surface layer left out"]]  # fmt: skip
    if settings := choice.forecast:
        rows += [["", show(settings.horizon, units.Years), "horizon, from now"]]
        if settings.ageing is not None:
            rows += [["$m$", show(settings.ageing, units.Ratio), "ageing exponent"]]
        rows += [["$k_{cr}$", show(settings.cracks, units.Ratio), "factor of cracks"],
                 ["$i_{corr}$", show(settings.current, units.CurrentDensity), "corrosion current"]]  # fmt: skip
    if patch := choice.patch_concrete:
        rows += [["$x$", show(patch.cover, units.Length), "cover in the patches"]]
    if limits := choice.zone_limits:
        rows += [["", show(limits.content_error, units.ChlorideContent), "error of a mean content"]]
    source = f"Threshold {plain(level.printed)} by {plain(str(level.source))}, counted as {plain(choice.counts)}: {plain(level.meaning)}."
    limits_by = f" Limits of the zones: {plain(choice.zone_limits.source)}." if choice.zone_limits else ""
    return block([in_two(["symbol", "value", "meaning"], rows), source + limits_by])


def in_tables(chlorides: Chlorides) -> list[Check]:
    """Return the checks that the tables of results hold: of the cores, the zones and the patches."""
    starts = (AT_BAR, REACHED, LIKELY, *LOST, CHANCE)
    return [one for one in chlorides.checks if one.title.startswith(starts)]


def results(chlorides: Chlorides, written: HandCalculations) -> Text:
    """Each zone and the patches of each concrete against the limits: value, verdict, open item."""
    checks = [one for one in in_tables(chlorides) if not one.title.startswith(AT_BAR)]
    if not checks:
        return NOTHING
    forecast = {one.where: one for one in chlorides.forecast.places} if chlorides.forecast else {}
    columns = {
        "cores reached": (REACHED,), "potentials likely": (LIKELY,), "corrosion begins": LOST, "cover cracks": (), "probability": (CHANCE,),
    }  # fmt: skip
    held = {head: [one for one in checks if one.title.startswith(starts)] if starts else [] for head, starts in columns.items()}  # fmt: skip
    kept = [head for head in columns if held[head] or (head == "cover cracks" and forecast)]
    counted = cited(chlorides, written, chloride.share_counted)
    numbers = {
        "corrosion begins": cited(chlorides, written, chloride.apparent_ageing),
        "cover cracks": cited(chlorides, written, chloride.time_to_cracking), "cores reached": counted, "potentials likely": counted,
        "probability": "simulation",
    }  # fmt: skip
    limits = [
        f"{held[head][0].sense} {held[head][0].printed(chlorides.system)[1]}" if held[head] else "" for head in kept
    ]
    rows = [["*limit*", *limits, ""], ["*calculation*", *(numbers[head] for head in kept), ""]]
    for item in dict.fromkeys(one.item for one in checks):
        mine = [one for one in checks if one.item == item]
        place = forecast.get(item)
        cells = [cracks(place) if head == "cover cracks" else cell(chlorides, item, place, [one for one in mine if one in held[head]])
                 for head in kept]  # fmt: skip
        rows.append([item, *cells, worst_words(mine, REMOVED) + open_item(chlorides, mine)])
    whys = {one.where: one.why for one in forecast.values() if one.why}
    said = ["n.c.: not covered, as the open item says."] if any(one.verdict == NOT_COVERED for one in checks) else []
    if forecast and chlorides.forecast and chlorides.forecast.settings:
        said.append(
            "Corrosion begins: age of the deck at the mean cover, then at the minimum cover found; for patches, years from placing. Cover cracks: at "
            f"the mean cover and the corrosion current above. Probability that protection is lost at the horizon, "
            f"{chlorides.forecast.settings.samples} samples."
        )
    said += [f"{place}: {plain(why)}." for place, why in whys.items()]
    return block([pipe_table(["zone", *kept, "verdict"], rows, "l" + "r" * len(kept) + "l"), " ".join(said)])


def cell(chlorides: Chlorides, item: str, place: BarForecast | None, checks: list[Check]) -> str:
    """Print the values of checks in a cell; in bold what is not satisfied, and cores as a count."""
    if not checks:
        return years(place.initiation) if place and place.name not in chlorides.counts and place.initiation else "–"
    shown = []
    for one in checks:
        made = chlorides.counts.get(item.removeprefix("zone "))
        value = "n.c." if one.verdict == NOT_COVERED else one.printed(chlorides.system)[0]
        if one.title.startswith(REACHED) and made:
            value = f"{made.reached} of {made.judged}{', n.c.' if one.verdict == NOT_COVERED else ''}"
        shown.append(value if one.verdict in (SATISFIED, NOT_COVERED) else f"**{value}**")
    return "; ".join(shown)


def cracks(place: BarForecast | None) -> str:
    """Print the age at which the cover cracks."""
    return (years(place.cracking) if place else "") or "–"


def cores(chlorides: Chlorides, written: HandCalculations) -> Text:
    """Every core: content at the bar against the threshold, and depth to which concrete above it reaches."""
    if not chlorides.cores:
        return NOTHING
    at_bar = {one.item: one for one in chlorides.checks if one.title.startswith(AT_BAR)}
    rows, limit = [], ""
    for core in chlorides.cores.values():
        deep = {
            "none": "none above it", "beyond": f"over {chlorides.show(core.depths[-1], units.Length)}",
            "between": units.show_at_least(core.removal, units.Length, chlorides.system) if core.removal is not None else "",
        }[core.removal_case]  # fmt: skip
        check = at_bar[core.item]
        value, limit = check.printed(chlorides.system)
        value = "n.c." if check.verdict == NOT_COVERED else value
        crack = ", on a crack" if core.row.crack == "yes" else ""
        rows.append([
            f"{core.name}{crack}", core.zone.name, chlorides.show(core.row.bar_depth, units.Length),
            value if check.verdict in (SATISFIED, NOT_COVERED) else f"**{value}**", deep,
            worst_words([check], REMOVED) + open_item(chlorides, [check]),
        ])  # fmt: skip
    depth, removal = (cited(chlorides, written, one) for one in (chloride.content_at_depth, chloride.depth_at_content))
    sense = next(iter(at_bar.values())).sense
    rows.insert(0, ["*limit*", "", "", f"{sense} {limit}", "", ""])
    rows.insert(1, ["*calculation*", "", "", depth, removal, ""])
    heads = ["core", "zone", "depth of bar", "chloride at the bar", "above the threshold down to", "verdict"]
    return Text(pipe_table(heads, rows, "llrrrl"))


def required(chlorides: Chlorides) -> Text:
    """What cores, readings and zones require of the work, an item a row."""
    rows = []
    for item in dict.fromkeys(one.item for one in chlorides.consequences):
        mine = [one for one in chlorides.consequences if one.item == item]
        depth = next((one.depth for one in mine if one.depth is not None), None)
        patches = dict.fromkeys(name for one in mine for name in one.patches)
        whole = mine[0].place is None
        rows.append([
            item if whole else f"{item} ({mine[0].zone.name})", "whole zone" if whole else where(chlorides, mine[0]), ", ".join(patches),
            "; ".join(dict.fromkeys(action(one) for one in mine)),
            "" if depth is None else units.show_at_least(depth, units.Length, chlorides.system),
            "; ".join(dict.fromkeys(reason(chlorides, one) for one in mine)),
        ])  # fmt: skip
    if not rows:
        return Text("Nothing is required by the cores, the surveys and the forecast.\n" if chlorides.cores else "")
    heads = ["item (zone)", "station / offset", "patches", "required action", "minimum depth", "reason"]
    return Text(pipe_table(heads, rows, "llllrl"))


def action(one: Consequence) -> str:
    """Return what is required, in the words of the table."""
    if one.demand == "sample again" and one.number:
        return f"{one.number} more core{'s' * (one.number > 1)}"
    return ACTIONS[one.demand]


def reason(chlorides: Chlorides, one: Consequence) -> str:
    """Return why in a few words, or what meets it; in full it stands with the open item of the zone."""
    if one.met:
        return f"met: {plain(one.met)}"
    if one.demand == "treat":
        return "over a limit of the zone"
    if one.number:
        return "too few to judge it"
    name = one.item.removeprefix("core ")
    if one.demand == "remove":
        rule = next((made for made in chlorides.survey.actions if made.core == name), None)
        return f"rule {rule.rule}: {plain(rule.action)}" if rule else "threshold reached"
    if one.demand == "protect" and chlorides.forecast:
        age = chlorides.forecast.bars.get(name, chlorides.forecast.zones[one.zone.name].t_i.get("minimum cover"))
        return f"protection lost at {years(age)}"
    return plain(one.why)


def beside(chlorides: Chlorides) -> Text:
    """Where new corrosion is to be expected next to the patches, and the usual means against it."""
    if not chlorides.beside_patches:
        return NOTHING
    said = []
    for outlook in OUTLOOKS:
        found = [one.patch for one in chlorides.beside_patches if one.outlook == outlook]
        if found:
            said.append(f"{outlook} at {', '.join(found)}")
    return block([
        f"**Ring-anode corrosion next to the patches** (the corroding bar in a patch protected its neighbours; repaired, it drives them): "
        f"{'; '.join(said)}. Usual means, most effective first (common practice): remove all concrete above the threshold, also where it "
        "sounds solid; impressed current; sacrificial anodes tied to the bars round the rim; an overlay or sealer, which slows but does not "
        "stop it. Coating the bars inside the patch alone does not help those next to it. No published formula gives the time.",
    ])  # fmt: skip


def survey(chlorides: Chlorides) -> Text:
    """Half-cell potentials, cover and resistivity by zone."""
    found, covers = chlorides.survey, chlorides.survey.covers
    asked = chlorides.inputs.chloride.survey
    rows = []
    for zone in chlorides.zones:
        one, cover = chlorides.counts[zone.name].summary, covers.get(zone.name)
        probes = [probe.rho for probe in found.probes if zone.contains(probe.row)]
        ends = [chlorides.show(end(probes), units.Resistivity) for end in (min, max)] if probes else []
        ends = [ends[0].partition(" ")[0], ends[1]] if ends and ends[0] != ends[1] else ends[:1]
        below = None
        if cover:
            below = next(run.result for run in chlorides.of(cover.item) if run.calculation is chloride.share_counted)
        sizes = (
            [chlorides.show(quantity(v, "m"), units.Length) for v in (cover.statistics.mean, cover.statistics.least)]
            if cover
            else []
        )
        rows.append([
            zone.name, f"{one.median:.0f}; {one.lowest:.0f} mV" if one else "", " / ".join(map(str, one.classes.values())) if one else "",
            "; ".join(sizes), chlorides.show(below, units.Share) if below is not None else "",
            " to ".join(ends),
        ])  # fmt: skip
    cover_asked = chlorides.show(asked.least_cover, units.Length) if asked else ""
    heads = ["zone", "potential: median; minimum", "unlikely / uncertain / likely", "cover: mean; minimum", f"cover below {cover_asked}",
             "resistivity"]  # fmt: skip
    kept = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    if len(kept) < 2:
        return NOTHING
    classes = found.potentials
    said = "" if classes is None else (
        f"Potentials against copper-copper sulfate; corrosion by ASTM C876 unlikely above −{-classes.unlikely_above:.0f} mV, likely below "
        f"−{-classes.likely_below:.0f} mV, uncertain from the one to the other (over 90 % probability each, bare bars)."
    )  # fmt: skip
    return block([pipe_table([heads[i] for i in kept], [[row[i] for i in kept] for row in rows], "l" + "r" * (len(kept) - 1)), said])  # fmt: skip


def checks(chlorides: Chlorides) -> Text:
    """Checks that the tables of results do not hold and that are not satisfied, not covered or near their limit."""
    whole = [one for one in chlorides.checks if one.title == WHOLE and one.verdict == SATISFIED]
    return sections.checks(chlorides, above=[*in_tables(chlorides), *whole])


def governing_core(chlorides: Chlorides) -> Check | None:
    """Return the check of a core that governs."""
    return governing(one for one in chlorides.checks if one.title.startswith(AT_BAR))


def governing_time(chlorides: Chlorides) -> Check | None:
    """Return the check of the age at which protection is lost that governs."""
    return governing(one for one in chlorides.checks if one.title.startswith(LOST[0]))


def leading(chlorides: Chlorides) -> list[Run]:
    """Return the runs that lead to the governing verdicts, in filing order: of a core, and of a time to corrosion with one fit it rests on."""
    core, age, runs = governing_core(chlorides), governing_time(chlorides), list[Run]()
    if core is not None:
        runs += leading_to(chlorides, core.demand, core.limit.value)
        runs += [run for run in chlorides.of(core.item) if run.calculation is chloride.depth_at_content]
    if age is not None and chlorides.forecast:
        place = next(one for one in chlorides.forecast.places if one.where == age.item)
        fitted = [chlorides.cores[name].fit_item for name in place.cores]
        same = [item for item in fitted if core is not None and item == f"fit of {core.item}"]
        runs += [
            run
            for item in (same or fitted)[:1]
            for run in chlorides.of(item)
            if run.calculation is chloride.fit_profile
        ]
        runs += chlorides.of(AGEING)
        runs += chlorides.of(place.items[0 if "mean cover" in age.title else 3])
    wanted = [
        run for run in once(runs) if run.calculation is not chloride.mid_depth
    ]  # the depths stand with the slices
    return [run for run in chlorides.runs if any(run is one for one in wanted)]


def by_hand(chlorides: Chlorides, written: HandCalculations) -> Text:
    """The governing case: the calculations that lead to the worst verdict of a core and of a time."""
    found = [one for one in (governing_core(chlorides), governing_time(chlorides)) if one is not None]
    if not found:
        return NOTHING
    said = "; ".join(f"{one.item}, {plain(one.title)}" for one in found)
    return block([f"Worked out, as nearest to its limit: {said}.", str(written.worked(leading(chlorides)))])
