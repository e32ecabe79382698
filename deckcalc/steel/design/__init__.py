"""Reinforcement: from readings on bars to a verdict on every bar, the bars to add and what they need of the patch."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from shapely import Point

from deckcalc.base.concrete import Concretes
from deckcalc.base.context import Context
from deckcalc.base.subject import joined
from deckcalc.core import tables, units
from deckcalc.core.bars import bar_diameter, bar_mass, is_square
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Quantity, quantity
from deckcalc.patch.design import Patches
from deckcalc.patch.design.location import Location, locate
from deckcalc.steel.design import at_patches, laps
from deckcalc.steel.design.places import check_bars
from deckcalc.steel.design.results import (
    ONE_BAR,
    TWO_BARS,
    BarDesign,
    Growth,
    RatesFound,
    Rule,
    State,
    Steel,
    mat_item,
)
from deckcalc.steel.formulas.corrosion_rates import corrosion_current, corrosion_rate, rate_by_age, years_to_limit
from deckcalc.steel.formulas.loss import (
    adjacent_loss,
    mass_loss,
    mat_loss,
    section_loss,
    section_loss_square,
    uniform_loss,
)
from deckcalc.steel.formulas.pits import pit_depth, pit_loss
from deckcalc.steel.formulas.reliability import exceedance
from deckcalc.steel.inputs import BarRow, Inputs, Reinforcement

__all__ = ["BarDesign", "Growth", "Rule", "State", "Steel", "check_bars", "compute"]

CAUTION = (
    "Whether the deck carries traffic while bars are bare and concrete is out, and after the loss found, is the licensed "
    "engineer's decision. The strengths here inform it; they do not make it. Keep wheels off the strip until that decision is made."
)


def compute(
    context: Context[Inputs],
    patches: Patches,
    concretes: Concretes,
    opening: Mapping[str, Quantity] | None = None,
) -> Steel:
    """Loss of every bar, verdicts by the rules, bars to add, laps and patches for them, strength of the strip.

    `opening` is, by patch, the strength of its concrete when the lane opens; without it, the job's limit is taken.
    """
    steel = Steel(context, patches=patches, concretes=concretes, opening=opening or {})
    how = steel.inputs.reinforcement
    steel.notes.append(CAUTION)
    astray = [row.bar for row in steel.inputs.bars if row.station is None and patches.each]
    if astray:
        steel.notes.append(
            f"Not checked against the repair limits, since bars.csv gives no place: {', '.join(astray)}."
        )
    steel.rules = rules_of(steel)
    losses(steel)
    judge(steel)
    if how:
        reliability(steel, how)
        steel.rates = rates_found(steel, how)
    for bar in steel:
        if bar.why:
            laps.add_bars(steel, bar)
        else:
            steel.decisions[bar.item] = "clean; no bar to add by these rules"
    laps.grow(steel)
    settle(steel)
    if steel.inputs.deck_strip:
        at_patches.rate_strip(steel)
    else:
        at_patches.no_strip(steel)
    steel.notes += [
        f"Rules for lost section: the set “{rule_set(steel)}” of the table of rules for lost section, unless the job's own limits replace a number. Areas of "
        f"sound bars: {'the area of the diameter' if how and how.area_basis == 'diameter' else 'nominal areas of the bar table'}.",
        "Main bars run across traffic (along the offset), distribution bars along it: a lap needs patch in that direction.",
        "Bare bars are hard on hands and eyes: cap ends, and blast or wire-brush them with eye and breathing protection.",
    ]
    return steel


def rule_set(steel: Steel) -> str:
    """Return which set of rules the job chooses."""
    how = steel.inputs.reinforcement
    return how.rules if how else "replace"


def rules_of(steel: Steel) -> dict[str, Rule]:
    """Return the rules for a bar, for adjacent bars and for a mat."""
    found = {}
    for row in tables.load("loss_rules").rows:
        if row["rules"] != rule_set(steel):
            continue
        limit = steel.limit(f"bar_loss_{row['scope']}")
        if limit.origin == "default":
            share = units.read(row["number"], units.Share)
            area = 1 - (1 - share.m_as("")) ** 2 if row["of"] == "diameter" else share.m_as("")
            words = f" ({row['number']} of the diameter)" if row["of"] == "diameter" else ""
            limit = Limit(
                limit.name, f"loss of section, {row['scope']}{words}", quantity(100 * area, "percent"),
                limit.kind, Cite(row["source"], row["where"], row["provenance"]),  # type: ignore[arg-type]
            )  # fmt: skip
        found[row["scope"]] = Rule(limit, row["action"])
    return found


def losses(steel: Steel) -> None:
    """Loss of every bar by caliper, pit and mass; the maximum governs."""
    pits = {row.bar: row.depth for row in steel.inputs.pits}
    cuts = {row.bar: row for row in steel.inputs.cut_lengths}
    for row in steel.inputs.bars:
        item, A_0 = f"bar {row.bar}", steel.sound_area(row.size)
        calculation = section_loss_square if is_square(row.size) else section_loss
        found = steel.run(calculation, item, A_0=A_0, d=row.readings)
        loss = {"caliper": found.loss}
        if row.bar in pits:
            loss["pit"] = steel.run(pit_loss, item, A_0=A_0, d=found.d_r, p=pits[row.bar]).loss_p
        if row.bar in cuts:
            cut = cuts[row.bar]
            loss["mass of a cut length"] = steel.run(
                mass_loss, item, m_0=bar_mass(row.size), M_cut=cut.mass, L_cut=cut.length
            ).loss_m
        governs = max(loss, key=lambda name: loss[name])
        steel.each[row.bar] = BarDesign(row, found, loss[governs], governs, items=[item], location=placed(steel, row))


def placed(steel: Steel, row: BarRow) -> Location | None:
    """Return where on the deck a bar was measured."""
    if row.station is None or row.offset is None or not steel.patches.each:
        return None
    return locate(steel.patches.inputs.plan, Point(row.station, row.offset), steel.deck.kind)


def judge(steel: Steel) -> None:
    """Check every bar, every pair and every mat by the rules."""
    single, pair, mat = (steel.rules[scope] for scope in ("single", "adjacent", "mat"))
    for bar in steel:
        check = Check(bar.item, ONE_BAR, bar.loss, single.limit, "at most", single.action)
        steel.checks.append(check)
        if check.verdict != SATISFIED:
            bar.over, bar.why = True, "its own loss"
    for first, second in pairwise(steel):
        if (first.row.patch, first.row.layer) != (second.row.patch, second.row.layer):
            continue
        item = f"bars {first.name} and {second.name}"
        shared = steel.run(adjacent_loss, item, loss_1=first.loss, loss_2=second.loss)
        check = Check(item, TWO_BARS, shared, pair.limit, "at most", pair.action)
        steel.checks.append(check)
        if check.verdict != SATISFIED:
            for bar in (first, second):
                bar.why = bar.why or "the loss it shares with its neighbour"
    groups: dict[tuple[str, str], list[BarDesign]] = {}
    for bar in steel:
        groups.setdefault((bar.row.patch, bar.row.layer), []).append(bar)
    for (patch, layer), members in groups.items():
        item = mat_item(patch, layer)
        areas = joined(steel.sound_area(bar.row.size) for bar in members)
        lost = joined(bar.loss * steel.sound_area(bar.row.size) for bar in members)
        found = steel.run(mat_loss, item, A_lost=lost, A_0=areas)
        steel.mat[patch, layer] = found.loss_mat
        steel.checks.append(Check(item, "mean loss of the mat", found.loss_mat, mat.limit, "at most", mat.action))


def settle(steel: Steel) -> None:
    """Settle the checks of single and adjacent bars whose bars are supplemented, with laps that their patch has room for."""
    for check in list(steel.checks):
        names = check.item.removeprefix("bars ").removeprefix("bar ").split(" and ")
        if check.title not in (ONE_BAR, TWO_BARS) or check.verdict == SATISFIED:
            continue
        bars = [steel[name] for name in names]
        if all(bar.added is not None and bar.row.patch not in steel.growth for bar in bars):
            steel.settle(check, "; ".join(bar.added_words(steel.system) for bar in bars))


def reliability(steel: Steel, how: Reinforcement) -> None:
    """Probability that the limit of one bar is exceeded, and years until it is."""
    limit = steel.rules["single"].limit.value
    for bar in steel:
        size, d_r = bar.row.size, bar.section.d_r
        bar.exceedance = steel.run(
            exceedance, bar.item, loss=bar.loss, A_0=steel.sound_area(size), d_r=d_r, u_d=how.reading_uncertainty,
            loss_lim=limit,
        )  # fmt: skip
        nominal = bar_diameter(size)
        if bar.why:
            uniform = steel.run(uniform_loss, bar.item, d_0=nominal, d=bar.section.d_mean)
            expected_pit(steel, bar, nominal, uniform.x)
        if d_r >= nominal or (how.corrosion_current is None and how.corrosion_age is None):
            continue
        if how.corrosion_current is not None:
            bar.rate = steel.run(corrosion_rate, bar.item, i_corr=how.corrosion_current)
        else:
            bar.rate = steel.run(rate_by_age, bar.item, d_0=nominal, d_r=d_r, T_c=how.corrosion_age)
        bar.years = steel.run(
            years_to_limit, bar.item, d_0=nominal, d_r=d_r, loss_lim=limit, v=bar.rate, K=how.local_factor
        )


def rates_found(steel: Steel, how: Reinforcement) -> RatesFound | None:
    """Range of the rates of corrosion of the bars, and the even current that the maximum is worth."""
    rated = [bar for bar in steel if bar.rate is not None]
    if not rated:
        return None
    rates = joined(bar.rate for bar in rated if bar.rate is not None)
    fastest = rated[int(rates.argmax())]
    current = steel.run(corrosion_current, fastest.item, v=rates.max())
    return RatesFound(rates.min(), rates.mean(), rates.max(), current, how.corrosion_current is not None)


def expected_pit(steel: Steel, bar: BarDesign, nominal: Quantity, x: Quantity) -> None:
    """Depth of pit to expect over the length of loss, where the parameters reach and none was measured."""
    length = bar.row.loss_length
    if length is None or bar.governs == "pit" or x.magnitude <= 0:
        return
    if 10 <= nominal.m_as("mm") <= 27 and length.m_as("mm") >= 50:
        steel.run(pit_depth, bar.item, x=x, d_0=nominal, L=length)
