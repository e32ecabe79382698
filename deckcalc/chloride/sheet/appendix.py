"""Tables and drawings of the chlorides that stand in the appendix."""

from __future__ import annotations

from typing import Any

from deckcalc import chloride
from deckcalc.chloride.design import Chlorides
from deckcalc.chloride.formulas.fit import SCATTER
from deckcalc.chloride.formulas.probability import MEANINGS
from deckcalc.chloride.inputs.sections import Forecast
from deckcalc.chloride.sheet import drawings
from deckcalc.chloride.sheet.demanded import left_out
from deckcalc.core import tables, units
from deckcalc.core.text import plain
from deckcalc.core.units import quantity
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

NOTHING = Text("")
#: Kinds of the variables of a forecast.
VARIABLES: dict[str, Any] = {
    "x": units.Length, "C_s": units.ChlorideContent, "C_0": units.ChlorideContent, "C_T": units.ChlorideContent,
    "D": units.Diffusion, "m": units.Ratio, "b": units.TemperatureConstant,
}  # fmt: skip


def in_base(chlorides: Chlorides, value: float, kind: Any) -> str:
    """Print a number of the coherent SI unit of a kind."""
    return chlorides.show(quantity(value, units.kind_of(kind).base), kind)


def without_unit(chlorides: Chlorides, value: float, kind: Any) -> str:
    """Print a number of the coherent SI unit of a kind a decimal finer than usual, without naming the unit."""
    kind = units.kind_of(kind)
    decimals = kind.decimals(chlorides.system) + 1
    return chlorides.show(quantity(value, kind.base), kind, decimals).partition(" ")[0]


def fits(chlorides: Chlorides) -> Text:
    """What was fitted to every core, or why it was not."""
    found = chlorides.forecast
    if not found:
        return NOTHING
    profile, made = found.profile, found.fits["constant"]
    rows = []
    for i, name in enumerate(found.names):
        if made.why[i]:
            rows.append([name, str(int(made.points[i])), "not fitted: " + plain(made.why[i]), *[""] * 5])
            continue
        content = [
            without_unit(chlorides, v, units.ChlorideContent)
            for v in (made.C_s[i], made.se_C_s[i], made.C_0[i], made.rms[i], found.at_bars[name].C_x.m_as("kg/m**3"))
        ]
        D = [without_unit(chlorides, v, units.Diffusion) for v in (made.D[i], made.se_D[i])]
        held = " (held)" if made.held[i] else ""
        rows.append([name, str(int(made.points[i])), f"{D[0]} ± {D[1]}", f"{content[0]} ± {content[1]}", content[2] + held,
                     content[3], units.fixed(float(made.r2[i]), 4), content[4]])  # fmt: skip
    slices = "integrated over each slice" if profile.slices == "integrated" else "taken at the middle of each slice"
    fitted = "the surface content and D" if profile.background == "known" else "surface content, background and D"
    if profile.surface_content:
        fitted = f"D alone, the surface content being the engineer's, {plain(profile.surface_content)}"
    said = (
        f"Least squares on {fitted}, exposure {chlorides.show(profile.age, units.Years)}, {slices}; slices that begin above "
        f"{chlorides.show(profile.surface_layer, units.Length)} are left out. ± is one standard error. A profile is refused if it has too "
        f"few readings, stands on a crack, is flat, or has its highest reading inside (slices may be left out, see below); readings count as different if they differ by more than {100 * SCATTER:.0f} %, "
        "their scatter between operators and laboratories [Schoefs 2023]. 1 mm²/yr is 0.0317 × 10⁻¹² m²/s; 1 in²/yr is "
        "20.4 × 10⁻¹² m²/s."
    )
    unit_D, unit_C = (units.kind_of(kind).symbol(chlorides.system) for kind in (units.Diffusion, units.ChlorideContent))
    heads = ["core", "readings", f"$D$ [{unit_D}]", f"$C_s$ [{unit_C}]", f"$C_0$ [{unit_C}]", f"scatter [{unit_C}]", "R²",
             f"at the bar by the fit [{unit_C}]"]  # fmt: skip
    return block([said, pipe_table(heads, rows, "lrrrrrrr"), left_out(chlorides)])


def zones(chlorides: Chlorides) -> Text:
    """Cores and potentials of every zone, counted."""
    rows = []
    for name, made in chlorides.counts.items():
        if made.cores is None or made.interval is None:
            continue
        low, high = made.interval
        rows.append([
            name, f"{made.reached} of {made.judged}", chlorides.show(made.cores, units.Share), f"{100 * low:.0f} to {100 * high:.0f} %",
            "" if made.cores_wanted is None else f"{made.cores_wanted.m_as(''):.0f}, there are {made.off_cracks}",
            "" if made.potentials is None else chlorides.show(made.potentials, units.Share),
        ])  # fmt: skip
    heads = [
        "zone",
        "cores reached",
        "share",
        "95 % interval of it",
        "number of cores required, off cracks",
        "potentials likely",
    ]
    limits = chlorides.inputs.chloride.zone_limits
    within = (
        f" within {chlorides.show(limits.content_error, units.ChlorideContent)} with 95 % confidence; where there are fewer, their share is not called satisfied"
        if limits
        else ""
    )
    return block([
        pipe_table(heads, rows, "lrrrrr"),
        f"The interval is the exact one [Clopper and Pearson]. Number of cores required: to know the mean content at the bars{within}. Few "
        "cores prove little: read the interval, not the share.",
    ])  # fmt: skip


def actions(chlorides: Chlorides) -> Text:
    """What follows at each core by the rules of the job."""
    found = chlorides.survey.actions
    if not found:
        return NOTHING
    rules = [[r.rule, r.chloride, r.potential, r.sounding, plain(r.action)] for r in chlorides.inputs.rules]
    return block([
        "Rules of the job; the first one that fits holds:",
        pipe_table(["rule", "chloride at the bar", "corrosion by potential", "sounding", "required action"], rules, "lllll"),
        "At the cores, with the potential nearest to each:",
        pipe_table(["core", "chloride at the bar", "corrosion by potential", "sounding", "rule", "required action"],
                   [[one.core, one.chloride, one.potential, one.sounding, one.rule, plain(one.action)] for one in found],
                   "llllll"),
    ])  # fmt: skip


def years(value: float | None) -> str:
    """Print a time to initiation; one that no deck has lived to see is not printed to the year."""
    if value is None:
        return ""
    return "over 200 yr" if value > 200 else f"{units.fixed(value, 1)} yr"


def forecasts(chlorides: Chlorides) -> Text:
    """Time and probability, zone by zone and for the patches."""
    found = chlorides.forecast
    if not found or not found.settings:
        return NOTHING
    settings, times, chances = found.settings, [], []
    for one in found.places:
        times.append([one.where, years(one.initiation), *(years(one.t_i.get(key)) for key in ("minimum cover", "linear", "root", "edge")),
                      years(one.cracking), years(one.cracking_as_found), plain(one.why)])  # fmt: skip
        if one.sampled is None:
            continue
        share, error, order = one.sampled.share[-1], one.sampled.error[-1], one.order
        chances.append([
            one.where, f"{one.ages[-1]:.0f} yr", "" if one.by_now is None else f"{100 * one.by_now:.1f} %",
            f"{100 * share:.2f} ± {100 * error:.2f} %", f"{units.fixed(order.beta, 2)}" if order else "not found",
            f"{100 * order.share:.2f} %" if order else "", f"{units.fixed(order.mean_value, 2)}" if order else "",
        ])  # fmt: skip
    heads = [
        "where",
        "initiation, mean cover",
        "minimum cover",
        "surface grew with t",
        "with √t",
        "bar in the edge",
        "cover cracks",
        "cracks, at the rate found on bars",
        "remark",
    ]
    filled = [i for i in range(len(heads)) if i < 7 or any(row[i] for row in times)]
    heads, times = [heads[i] for i in filled], [[row[i] for i in filled] for row in times]
    age, horizon = (chlorides.show(value, units.Years) for value in (found.profile.age, settings.horizon))
    return block([
        f"The deck is {age} old; the horizon is {horizon} from now. "
        "Times count from the first exposure (for patches from placing), at mean values; about half of the bars are sooner, and the bar "
        "at the minimum cover found is the soonest that is known. Growing "
        "surfaces are fitted anew with their own closed form.",
        pipe_table(heads, times, "l" + "r" * 6 + "".join("rl"[i - 7] for i in filled[7:])),
        rates_said(chlorides, settings),
        f"Probability that protection is lost, {settings.samples} samples, seed {settings.seed}; ± is the standard error of "
        "sampling alone. Beside it the index of first order [Hasofer and Lind] at the same age, its probability, and the index by "
        "the slope at the means, which misleads where laws are skew.",
        pipe_table(["where", "age", "by now", "by that age", "index β", "Φ(−β)", "β at the means"], chances, "lrrrrrr"),
    ])  # fmt: skip


def rates_said(chlorides: Chlorides, settings: Forecast) -> str:
    """Say which rate of corrosion the cracking of the cover rests on, and which were found on bars."""
    runs = chlorides.runs_of(chloride.corrosion_rate)
    if not runs:
        return ""
    show, kind = chlorides.show, units.CorrosionRate
    said = (
        f"The cover cracks at {show(runs[0].result, kind)}, the even rate of the current of "
        f"{show(settings.current, units.CurrentDensity)} that the job states for bars in their concrete."
    )
    if rates := chlorides.rates:
        said += (
            f" Exposed bars had lost {show(rates.least, kind)} to {show(rates.greatest, kind)}, in the mean "
            f"{show(rates.mean, kind)} ([sheet 02](#reinforcement)): exposed because they corrode, each read at its thinnest place. Bars that "
            "go as these did crack their cover at the age in the last column of years; neither rate stands for the other."
        )
    return said


def distributions(chlorides: Chlorides) -> Text:
    """The distributions that the probabilities rest on."""
    found, rows = chlorides.forecast, []
    if not found or not found.settings:
        return NOTHING
    for one in found.places:
        for name, law in (one.exposure.laws if one.exposure else {}).items():
            if law.name == "fixed" and (name in ("m", "b") and not law.mean):
                continue
            low, high, mean, sd = (
                in_base(chlorides, v, VARIABLES[name]) for v in (law.low, law.high, law.mean, law.sd)
            )  # fmt: skip
            bounds = f"{low} to {high}" if law.name == "beta" else ""
            rows.append([one.name, MEANINGS[name], law.name, mean, sd if law.sd else "", bounds])
    if not rows:
        return NOTHING
    settings, counted = found.settings, chlorides.inputs.chloride.counts
    level = chlorides.show(chlorides.threshold_content, units.ChlorideContent)
    return block([
        pipe_table(["where", "variable", "law", "mean", "deviation", "bounds"], rows, "lllrrr"),
        f"Cover: the readings of the zone. Surface content and D: mean and scatter of the cores fitted there. Threshold: its "
        f"mean is the one of the job, {plain(chlorides.threshold.printed)} ({level} per volume of concrete, counted as {counted}); "
        f"{plain(settings.critical.source)}. Other: {plain(settings.source)}.",
    ])  # fmt: skip


def importance(chlorides: Chlorides) -> Text:
    """Which variable drives the probability, and the most likely point of failure."""
    rows = []
    for one in chlorides.forecast.places if chlorides.forecast else []:
        if one.order is None:
            continue
        for name, part in sorted(one.order.importance.items(), key=lambda item: -item[1]):
            value = in_base(chlorides, one.order.point[name], VARIABLES[name])
            rows.append([one.name, MEANINGS[name], f"{100 * part:.0f} %", value])
    if not rows:
        return NOTHING
    return block([
        pipe_table(["where", "variable", "part in the scatter", "value at the most likely failure"], rows, "llrr"),
        "Measure first what stands on top: more readings of it narrow the answer most. The values of the last column put into the "
        "closed form give the threshold back at the age of the table above.",
    ])  # fmt: skip


def further(chlorides: Chlorides) -> list[Any]:
    """Return what stands in the appendix: slices, zones counted, surveys, rules, fits, times, laws, sensitivity."""
    found: list[Any] = []
    for title, *parts in (
        ("Slices of the cores", readings(chlorides)), ("Cores and potentials by zone", zones(chlorides)),
        ("Half-cell potentials", potentials(chlorides), drawings.potentials_ranked(chlorides)),
        ("Cover", covers(chlorides), drawings.cover_drawn(chlorides)), ("Resistivity", resistivities(chlorides)),
        ("Rules at the cores", actions(chlorides)), ("Concrete next to the patches", beside_patches(chlorides)),
        ("Profiles fitted", fits(chlorides), drawings.fits_drawn(chlorides)), ("Service-life estimate", forecasts(chlorides)),
        ("Variables that drive the probability", importance(chlorides)), ("Distributions", distributions(chlorides)),
    ):  # fmt: skip
        shown = [one for one in parts if one]
        if shown:
            found += [Text(f"### {title}\n"), *shown]
    return found


def readings(chlorides: Chlorides) -> Text:
    """Slices of all cores as analysed and above background."""
    rows = []
    for core in chlorides.cores.values():
        for one in core.slices:
            span = " to ".join(chlorides.show(value, units.Length) for value in (one.row.upper, one.row.lower))
            contents = (chlorides.show(value, units.ChlorideContent) for value in (one.content, one.net))
            rows.append(
                [one.row.slice, span, chlorides.show(one.depth, units.Length), plain(one.row.chloride), *contents]
            )
    if not rows:
        return NOTHING
    heads = ["slice", "from, to", "middle", "as analysed", "content", "above background"]
    return block([
        pipe_table(heads, rows, "lrrrrr"), f"Background {chlorides.show(chlorides.background, units.ChlorideContent)}.",
    ])  # fmt: skip


def potentials(chlorides: Chlorides) -> Text:
    """Half-cell potentials by zone and class."""
    found = chlorides.survey.potentials
    if found is None:
        return NOTHING
    rows = []
    for name, made in chlorides.counts.items():
        if made.summary is not None:
            one = made.summary
            sizes = (f"{value:.0f}" for value in (one.highest, one.median, one.lowest))
            rows.append([name, str(one.count), *sizes, *map(str, one.classes.values())])
    heads = ["zone", "points", "highest [mV]", "median [mV]", "lowest [mV]", "unlikely", "uncertain", "likely"]
    return Text(pipe_table(heads, rows, "lrrrrrrr"))


def covers(chlorides: Chlorides) -> Text:
    """Cover by zone, and the share below the specified one."""
    found, survey = chlorides.survey.covers, chlorides.inputs.chloride.survey
    if not found or survey is None:
        return NOTHING
    rows = []
    for name, one in found.items():
        made = one.statistics
        sizes = [in_base(chlorides, v, units.Length) for v in (made.mean, made.sd, made.least, made.most)]
        shares = [shared(chlorides, one.item, calculation) for calculation in (chloride.share_counted, one.below)]
        rows.append(
            [name, str(made.count), *sizes, f"{made.normal:.3f}; {made.lognormal:.3f}", made.better, "; ".join(shares)]
        )
    asked = chlorides.show(survey.least_cover, units.Length)
    heads = ["zone", "readings", "mean", "deviation", "minimum", "maximum", "distance, normal; lognormal", "closer law",
             f"below {asked}, counted; by the law"]  # fmt: skip
    return block([
        pipe_table(heads, rows, "l" + "r" * 6 + "lr"),
        "Distance: the maximum between the cumulative share of the readings and that of the law.",
    ])  # fmt: skip


def shared(chlorides: Chlorides, item: str, calculation: Any) -> str:
    """Print the share that a calculation gave for an item."""
    run = next(run for run in chlorides.of(item) if run.calculation is calculation)
    return chlorides.show(run.results()["p"], units.Share)


def resistivities(chlorides: Chlorides) -> Text:
    """Resistivity at every point on both scales."""
    found = chlorides.survey.probes
    if not found:
        return NOTHING
    rows = [
        [one.row.point, chlorides.show(one.row.station, units.Distance), chlorides.show(one.row.offset, units.Distance),
         chlorides.show(one.row.resistance, units.Resistance), chlorides.show(one.rho, units.Resistivity), one.likelihood, one.rate]
        for one in found
    ]  # fmt: skip
    heads = ["point", "station", "offset", "read", "resistivity", "corrosion likely", "rate once it has begun"]
    by = "; ".join(map(str, tables.load("resistivity_classes").cites))
    return block([pipe_table(heads, rows, "lrrrrll"), f"Classes by {by}."])


def beside_patches(chlorides: Chlorides) -> Text:
    """What is known of the concrete that stays beside each patch."""
    rows = [[f"patch {one.patch}", one.outlook, plain(one.known)] for one in chlorides.beside_patches]
    return (
        Text(pipe_table(["patch", "ring-anode corrosion next to it", "what is known"], rows, "lll"))
        if rows
        else NOTHING
    )
