"""Sheet of the chlorides: its tables; the drawings stand in `deckcalc.chloride.sheet.drawings`."""

from __future__ import annotations

from typing import Any

from deckcalc import chloride
from deckcalc.chloride.design.forecast import YEAR, ZoneForecast, kinds
from deckcalc.chloride.formulas.probability import MEANINGS
from deckcalc.chloride.formulas.survey import LIKELY, UNCERTAIN, UNLIKELY
from deckcalc.chloride.sheet.drawings import (
    cover_drawn,
    fits_drawn,
    likelihood,
    potential_map,
    potentials_ranked,
    profiles,
)
from deckcalc.core import units
from deckcalc.core.units import registry
from deckcalc.job import Job
from deckcalc.show.hand import pipe_table, table
from deckcalc.show.sections import Text, block, by_hand, hand_calculations, plain

__all__ = ["actions", "beside_patches", "by_hand_cores", "by_hand_times", "cores", "cover_drawn", "covers",
           "decisions", "fits", "fits_drawn",
           "forecasts", "importance", "laws", "likelihood", "potential_map", "potentials", "potentials_ranked", "profiles",
           "readings", "resistivities", "zones"]  # fmt: skip

NOTHING = Text("The job states nothing for this part.\n")


def q(value: float, unit: str) -> Any:
    """Return a quantity."""
    return registry().Quantity(value, unit)


def bare(job: Job, value: float, base: str, kind: Any) -> str:
    """Print a plain number of a base unit in the unit of the job, without naming it."""
    return job.show(q(value, base), kind, units.kind_of(kind).decimals(job.system) + 1).partition(" ")[0]


def decisions(job: Job) -> Text:
    """What follows for zones and cores, in words."""
    found = job.chloride.decisions
    rows = [[item, plain(found[item])] for word in ("zone", "core") for item in found if item.startswith(word)]
    return Text(pipe_table(["item", "what follows"], rows, "ll"))


def readings(job: Job) -> Text:
    """Slices of all cores as analysed and above background."""
    written = hand_calculations(job)
    rows = []
    for row in job.file.rows["chlorides"]:
        runs = {run.calculation.name: written[run] for run in job.chloride.of(f"slice {row.slice}")}
        net = runs["above_background"]
        span = f"{job.show(row.upper, units.Length)} to {job.show(row.lower, units.Length)}"
        cells = (runs["mid_depth"].text("x"), plain(row.chloride), *(net.text(name) for name in ("C", "C_b", "C_net")))
        rows.append([row.slice, span, *cells])
    heads = ["slice", "from, to", "middle", "as analysed", "content", "background", "above background"]
    return Text(pipe_table(heads, rows))


def cores(job: Job) -> Text:
    """Every core: content at the bar, threshold, and depth to which concrete above it reaches."""
    level = job.show(job.chloride.threshold_content, units.ChlorideContent)
    rows = []
    for name, core in job.chloride.cores.items():
        deep = {
            "none": "none above it", "beyond": f"deeper than {job.show(core.depths[-1], units.Length)}",
            "between": job.show(core.removal, units.Length) if core.removal is not None else "",
        }[core.removal_word]  # fmt: skip
        at = "not determined" if core.at_bar is None else job.show(core.at_bar, units.ChlorideContent)
        word = "not determined" if core.reached is None else "reached" if core.reached else "below"
        rows.append([name, core.zone, core.row.crack, job.show(core.row.bar_depth, units.Length), at, word, deep])
    heads = ["core", "zone", "on a crack", "bar depth", "content at the bar", f"threshold {level}", "above it down to"]
    return Text(pipe_table(heads, rows, "lllrrlr"))


def by_hand_cores(job: Job) -> Text:
    """The conversion of one slice and one core, written out; the other cores as a table by the same lines."""
    written = hand_calculations(job)
    first = f"slice {job.file.rows['chlorides'][0].slice}"
    done = job.chloride.runs_of(chloride.content_at_depth)
    between = [run for run in done if run.result.r > 1e-6] or done
    core = between[0].item if between else f"core {next(iter(job.chloride.cores))}"
    parts: list[str] = [
        by_hand(job, job.chloride, name) for name in ("background", "threshold") if job.chloride.of(name)
    ]
    parts += ["One slice and one core are written out; the others follow by the same lines.",
              by_hand(job, job.chloride, first), by_hand(job, job.chloride, core)]  # fmt: skip
    for calculation, columns in (
        (chloride.content_at_depth, ["x", "x_1", "C_1", "x_2", "C_2", "r", "C_x"]),
        (chloride.depth_at_content, ["x_1", "C_1", "x_2", "C_2", "C_L", "r", "x_L"]),
    ):
        runs = [written[run] for run in job.chloride.runs_of(calculation)]
        if runs:
            parts.append(f"### {calculation.title}, all cores\n\n{table(runs, columns)}")
    return block(parts)


def fits(job: Job) -> Text:
    """What was fitted to every core, or why it was not."""
    found = job.chloride.forecast
    if not found:
        return NOTHING
    setting, made = job.head.chloride.profile, found.fits["constant"]
    runs = {run.item: run for run in job.chloride.runs_of(chloride.face_content)}
    rows = []
    for i, name in enumerate(found.names):
        if made.why[i]:
            rows.append([name, str(int(made.points[i])), "not fitted: " + plain(made.why[i]), *[""] * 5])
            continue
        content = [
            bare(job, v, "kg/m**3", units.ChlorideContent)
            for v in (made.C_s[i], made.se_C_s[i], made.C_0[i], made.rms[i])
        ]
        D = [bare(job, v, "m**2/s", units.Diffusion) for v in (made.D[i], made.se_D[i])]
        at = bare(job, runs[f"fit of core {name}"].result.C_x.m_as("kg/m**3"), "kg/m**3", units.ChlorideContent)
        held = " (held)" if made.held[i] else ""
        rows.append([name, str(int(made.points[i])), f"{D[0]} ± {D[1]}", f"{content[0]} ± {content[1]}", content[2] + held,
                     content[3], units.fixed(float(made.r2[i]), 4), at])  # fmt: skip
    assert setting
    slices = "integrated over each slice" if setting.slices == "integrated" else "taken at the middle of each slice"
    said = (
        f"Least squares on {'the surface content and D' if setting.background == 'known' else 'surface content, background and D'}, "
        f"exposure {job.show(setting.age, units.Years)}, {slices}; slices that begin above "
        f"{job.show(setting.surface_layer, units.Length)} are left out. ± is one standard error. A profile is refused if it has too "
        "few readings, stands on a crack, is flat, or has its highest reading inside; readings count as different if they differ by more than 15 %, "
        "their scatter between operators and laboratories [Schoefs 2023]. 1 mm²/yr is 0.0317e-12 m²/s; 1 in²/yr is "
        "20.4e-12 m²/s."
    )
    unit_D, unit_C = (units.kind_of(kind).symbol(job.system) for kind in (units.Diffusion, units.ChlorideContent))
    heads = ["core", "readings", f"$D$ [{unit_D}]", f"$C_s$ [{unit_C}]", f"$C_0$ [{unit_C}]", f"scatter [{unit_C}]", "R²",
             f"at the bar by the fit [{unit_C}]"]  # fmt: skip
    return block([said, pipe_table(heads, rows, "lrrrrrrr")])


def zones(job: Job) -> Text:
    """Cores and potentials of every zone, counted."""
    found, rows = job.chloride.survey, []
    wanted = {run.item: run for run in job.chloride.runs_of(chloride.cores_wanted)}
    for one in job.chloride.zones:
        mine = found.shares[one.name]
        if "cores" not in mine:
            continue
        low, high = mine["interval"]
        reached, count = mine["count"]
        run = wanted.get(f"zone {one.name}, cores")
        rows.append([
            one.name, f"{reached} of {count}", job.show(mine["cores"], units.Share), f"{100 * low:.0f} to {100 * high:.0f} %",
            f"{run.result.m_as(''):.0f}" if run else "", job.show(mine["potentials"], units.Share) if "potentials" in mine else "",
        ])  # fmt: skip
    heads = ["zone", "cores reached", "share", "95 % interval of it", "cores wanted", "potentials likely"]
    limits = job.head.chloride.zone_limits
    within = f" within {job.show(limits.content_error, units.ChlorideContent)} with 95 % confidence" if limits else ""
    return block([
        pipe_table(heads, rows, "lrrrrr"),
        f"The interval is the exact one (Clopper and Pearson). Cores wanted: to know the mean content at the bars{within}. Few "
        "cores prove little: read the interval, not the share.",
    ])  # fmt: skip


def potentials(job: Job) -> Text:
    """Half-cell potentials by zone and class, and one reading corrected by hand."""
    found = job.chloride.survey
    if found.potential is None:
        return NOTHING
    rows = []
    for one in job.chloride.zones:
        inside = one.inside(found.station, found.offset)
        mine, words = found.potential[inside], found.classes[inside]
        if len(mine):
            rows.append([one.name, str(len(mine)), f"{mine.max():.0f}", f"{units.np.median(mine):.0f}", f"{mine.min():.0f}",
                         *(str(int((words == name).sum())) for name in (UNLIKELY, UNCERTAIN, LIKELY))])  # fmt: skip
    heads = ["zone", "points", "highest [mV]", "median [mV]", "lowest [mV]", "unlikely", "uncertain", "likely"]
    run = job.chloride.runs_of(chloride.potential_on_cse)[0]
    return block([
        "Corrosion by ASTM C876, against copper-copper sulfate: unlikely above −200 mV, likely below −350 mV, uncertain from the "
        "one to the other, both limits included. Each is a probability of over 90 % of the standard, for bare bars.",
        pipe_table(heads, rows, "lrrrrrrr"), by_hand(job, job.chloride, run.item),
    ])  # fmt: skip


def covers(job: Job) -> Text:
    """Cover by zone, and the share below what was asked for."""
    found = job.chloride.survey.covers
    if not found:
        return NOTHING
    rows, written, shown = [], hand_calculations(job), []
    for name, one in found.items():
        runs = {run.calculation.name: written[run] for run in job.chloride.of(f"cover, zone {name}")}
        below = next(runs[key] for key in ("share_below_normal", "share_below_lognormal") if key in runs)
        shown.append((below.calculation, f"cover, zone {name}"))
        sizes = [job.show(q(v, "m"), units.Length) for v in (one.mean, one.sd, one.least, one.most)]
        rows.append([name, str(one.count), *sizes, f"{one.normal:.3f}", f"{one.lognormal:.3f}", one.better,
                     runs["share_counted"].text("p"), below.text("p")])  # fmt: skip
    survey = job.head.chloride.survey
    assert survey
    asked = job.show(survey.least_cover, units.Length)
    heads = ["zone", "readings", "mean", "deviation", "least", "most", "distance, normal", "distance, lognormal", "closer law",
             f"counted below {asked}", "by the law"]  # fmt: skip
    first = dict(reversed(shown))
    return block([
        pipe_table(heads, rows, "l" + "r" * 7 + "lrr"),
        "Distance: the greatest between the cumulative share of the readings and that of the law.",
        *(by_hand(job, job.chloride, item) for item in first.values()),
    ])  # fmt: skip


def resistivities(job: Job) -> Text:
    """Resistivity at every point on both scales."""
    found = job.chloride.survey.resistivities
    if not found:
        return NOTHING
    rows = [
        [row.point, *(job.show(getattr(row, name), units.Distance) for name in ("station", "offset")),
         job.show(row.resistance, units.Resistance), job.show(rho, units.Resistivity), likely, rate]
        for row, rho, likely, rate in found
    ]  # fmt: skip
    heads = ["point", "station", "offset", "read", "resistivity", "corrosion likely", "rate once it has begun"]
    return block([pipe_table(heads, rows, "lrrrrll"), by_hand(job, job.chloride, f"probe {found[0][0].point}")])


def actions(job: Job) -> Text:
    """What follows at each core by the rules of the job."""
    found = job.chloride.survey.actions
    if not found:
        return NOTHING
    rules = [[r.rule, r.chloride, r.potential, r.sounding, plain(r.action)] for r in job.file.rows["rules"]]
    return block([
        "Rules of the job; the first one that fits holds:",
        pipe_table(["rule", "chloride at the bar", "corrosion by potential", "sounding", "what is done"], rules, "lllll"),
        "At the cores, with the potential nearest to each:",
        pipe_table(["core", "chloride at the bar", "corrosion by potential", "sounding", "rule", "what is done"],
                   [[plain(cell) for cell in row] for row in found], "llllll"),
    ])  # fmt: skip


def beside_patches(job: Job) -> Text:
    """What stays beside each patch, and the usual means against it."""
    rows = [
        [item.removeprefix("beside "), *map(plain, what.removeprefix("new corrosion beside the patch is ").split(": ", 1))]
        for item, what in job.chloride.decisions.items() if item.startswith("beside ")
    ]  # fmt: skip
    return block([
        "Before the repair the corroding bar in the hole protects the bars beside it, as an anode does. In the patch that bar "
        "becomes passive and drives the others: where concrete that stays is above the threshold they begin to corrode, often "
        "within a few years, and the patch comes loose at its rim. No published formula gives the time; the numbers below are "
        "what is known of the concrete beside each patch.",
        pipe_table(["patch", "new corrosion beside it", "what is known"], rows, "lll"),
        "Usual means, from the surest down (common practice): remove all concrete above the threshold, also where it sounds; "
        "protect the deck by impressed current; tie sacrificial anodes to the bars round the rim of the patch and renew them when "
        "spent; keep salt and water out by an overlay or a sealer, which slows what is in the concrete but does not stop it. "
        "Coating only the bars inside the patch makes nothing better beside it.",
    ])  # fmt: skip


def ahead(job: Job) -> list[ZoneForecast]:
    """Return the zones, then the patches, that have a forecast."""
    found = job.chloride.forecast
    return [] if not found else [*found.zones.values(), *([found.patch] if found.patch else [])]


def years(value: float | None) -> str:
    """Print a time to initiation; one that no deck has lived to see is not printed to the year."""
    if value is None:
        return ""
    return "over 200 yr" if value > 200 else f"{units.fixed(value, 1)} yr"


def forecasts(job: Job) -> Text:
    """Time and probability, zone by zone and for the patches."""
    made = ahead(job)
    if not made:
        return NOTHING
    setting, forecast = job.head.chloride.profile, job.head.chloride.forecast
    assert setting and forecast
    cracked = {run.item: run for run in job.chloride.runs_of(chloride.time_to_cracking)}
    times, chances = [], []
    for one in made:
        name = f"zone {one.name}" if one.name != "patch" else "patches"
        run = cracked.get(f"zone {one.name}")
        first = one.t_i.get("constant", one.t_i.get(job.head.chloride.patch_concrete.convention if one.name == "patch" and
                                                    job.head.chloride.patch_concrete else "", None))  # fmt: skip
        times.append([name, years(first), *(years(one.t_i.get(key)) for key in ("linear", "root", "edge")),
                      years(float(run.result.t_cr.m_as("yr"))) if run else "", plain(one.why)])  # fmt: skip
        if one.sampled is None:
            continue
        now = list(one.sampled.times).index(one.now * YEAR) if one.now else None
        share, error = one.sampled.share, one.sampled.error
        order = one.order
        chances.append([
            name, f"{one.sampled.times[-1] / YEAR:.0f} yr", f"{100 * share[now]:.1f} %" if now is not None else "",
            f"{100 * share[-1]:.2f} ± {100 * error[-1]:.2f} %", f"{units.fixed(order.beta, 2)}" if order else "not found",
            f"{100 * order.share:.2f} %" if order else "", f"{units.fixed(order.mean_value, 2)}" if order else "",
        ])  # fmt: skip
    heads = ["where", "initiation", "surface grew with t", "with √t", "bar in the edge", "cover cracks", "remark"]
    if not any(row[-1] for row in times):
        heads, times = heads[:-1], [row[:-1] for row in times]
    return block([
        f"The deck is {job.show(setting.age, units.Years)} old; the horizon is {job.show(forecast.horizon, units.Years)} from now. "
        "Times count from the first exposure (for patches from placing), at mean values; about half of the bars are sooner. Growing "
        "surfaces are fitted anew with their own closed form.",
        pipe_table(heads, times, "lrrrrrl"[: len(heads)]),
        f"Probability that protection is lost, {forecast.samples} samples, seed {forecast.seed}; ± is the standard error of "
        "sampling alone. Beside it the index of first order (Hasofer and Lind) at the same age, its probability, and the index by "
        "the slope at the means, which misleads where laws are skew.",
        pipe_table(["where", "age", "by now", "by that age", "index β", "Φ(−β)", "β at the means"], chances, "lrrrrrr"),
    ])  # fmt: skip


def laws(job: Job) -> Text:
    """The laws that the probabilities rest on."""
    rows, kind = [], kinds()
    for one in (one for one in ahead(job) if one.exposure):
        assert one.exposure
        for name, law in one.exposure.laws.items():
            if law.name == "fixed" and (name in ("m", "b") and not law.mean):
                continue
            base = {"x": "m", "D": "m**2/s", "m": "", "b": "K"}.get(name, "kg/m**3")
            cells = [job.show(q(v, base), kind[name]) for v in ((law.mean, law.sd) if law.sd else (law.mean,))]
            bounds = (
                f"{job.show(q(law.low, base), kind[name])} to {job.show(q(law.high, base), kind[name])}"
                if law.name == "beta"
                else ""
            )
            rows.append([one.name, MEANINGS[name], law.name, cells[0], cells[1] if law.sd else "", bounds])
    if not rows:
        return NOTHING
    critical = job.head.chloride.forecast
    assert critical
    return block([
        pipe_table(["where", "variable", "law", "mean", "deviation", "bounds"], rows, "lllrrr"),
        f"Cover: the readings of the zone. Surface content and D: mean and scatter of the cores fitted there. Threshold: "
        f"{plain(critical.critical.source)}. Other: {plain(critical.source)}.",
    ])  # fmt: skip


def importance(job: Job) -> Text:
    """Which variable drives the probability, and the most likely point of failure."""
    rows, kind = [], kinds()
    for one in (one for one in ahead(job) if one.order):
        assert one.order
        for name, part in sorted(one.order.importance.items(), key=lambda item: -item[1]):
            base = {"x": "m", "D": "m**2/s", "m": "", "b": "K"}.get(name, "kg/m**3")
            rows.append(
                [one.name, MEANINGS[name], f"{100 * part:.0f} %", job.show(q(one.order.point[name], base), kind[name])]
            )
    if not rows:
        return NOTHING
    return block([
        pipe_table(["where", "variable", "part in the scatter", "value at the most likely failure"], rows, "llrr"),
        "Measure first what stands on top: more readings of it narrow the answer most. The values of the last column put into the "
        "closed form give the threshold back at the age of the table above.",
    ])  # fmt: skip


def by_hand_times(job: Job) -> Text:
    """Initiation, ageing, corrosion and cracking of the zone that is worst, and the patches, written out; the rest as tables."""
    written = hand_calculations(job)
    runs = [run for run in job.chloride.runs_of(chloride.time_to_initiation) if run.item != "patch"]
    if not runs:
        return NOTHING
    worst = min(runs, key=lambda run: run.result.t_1).item
    fit = next(run.item for run in job.chloride.runs if run.calculation is chloride.face_content)
    parts: list[str] = [
        by_hand(job, job.chloride, fit),
        by_hand(job, job.chloride, worst, f"{worst}, edge", f"{worst}, growing surface"),
    ]
    patch = [item for item in ("patch", "patch, the other convention of ageing") if job.chloride.of(item)]
    parts += [by_hand(job, job.chloride, *patch)] if patch else []
    for calculation, columns in (
        (chloride.face_content, ["x", "t", "D", "C_s", "C_0", "z", "e", "C_x"]),
        (chloride.time_to_initiation, ["x", "D", "C_s", "C_0", "C_T", "k_b", "z", "t_1"]),
        (chloride.time_to_cracking, ["t_i", "x_cr", "v", "t_p", "t_cr"]),
    ):
        made = [written[run] for run in job.chloride.runs_of(calculation)]
        if made:
            parts.append(f"### {calculation.title}, all\n\n{table(made, columns)}")
    return block(parts)
