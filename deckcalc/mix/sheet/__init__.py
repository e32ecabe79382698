"""Sheet of mix and batch: its tables."""

from __future__ import annotations

from typing import Any

from deckcalc import mix
from deckcalc.base.subject import Run
from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, Check
from deckcalc.mix.design import BagDesign, Design, GivenDesign, MixDesign, Mixes
from deckcalc.mix.formulas.aggregate import NominalSize
from deckcalc.mix.sheet import detail
from deckcalc.mix.sheet.cards import in_bags
from deckcalc.mix.sheet.drawings import outside
from deckcalc.show.governing import governing, leading_to
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations

#: What a site-mixed concrete is proportioned by, as designed and until it is batched.
DESIGNED: tuple[Any, ...] = (mix.adjusted_water, mix.cementitious_content, mix.blend, mix.proportions)
PROPORTIONED: tuple[Any, ...] = (
    mix.mixing_water, mix.average_strength, mix.average_strength_high, mix.average_strength_no_record, mix.stated_ratio,
    mix.water_cement_ratio, mix.unbatched, mix.fresh_density, mix.measured_yield, mix.adjusted_mix, mix.batch_masses,
)  # fmt: skip
#: What is decided by each kind of concrete: the calculation that gives it.
DECIDED: dict[type, Any] = {
    MixDesign: mix.cementitious_content,
    GivenDesign: mix.contents_yield,
    BagDesign: mix.bag_density,
}
MATERIALS = {
    "fly ash": "fly ash",
    "slag cement": "slag",
    "silica fume": "silica fume",
    "coarse": "coarse agg.",
    "fine": "fine agg.",
}


def filled(heads: list[str], rows: list[list[str]], align: str) -> str:
    """Return a table without the columns in which nothing stands; nothing where there is no row."""
    kept = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    pick = lambda row: [row[i] for i in kept]  # noqa: E731
    return pipe_table(pick(heads), [pick(row) for row in rows], "".join(pick(list(align)))) if rows else ""


def concretes(mixes: Mixes) -> Text:
    """What each concrete is asked for, how it is made, and for which patches."""
    rows = []
    for one in mixes.in_use:
        cement = f", cement type {one.heat.cement}" if one.heat else ""
        stone = f"{one.coarse.aggregate}, {one.fine.aggregate}" if isinstance(one, MixDesign) else "as supplied"
        rows.append([
            one.name, f"{one.kind}{cement}", ", ".join(one.patches), mixes.show(one.strength, units.Stress),
            mixes.show(one.slump, units.Length) if one.slump is not None else "",
            mixes.show(one.air, units.Share) if isinstance(one, MixDesign) else "", stone,
        ])  # fmt: skip
    spare = [one.name for one in mixes if one not in mixes.in_use]
    said = f"Not used by any patch, worked out in the appendix: {plain(', '.join(spare))}." if spare else ""
    heads = ["concrete", "made", "patches", "f'c at 28 d", "slump", "air", "aggregates"]
    return block([filled(heads, rows, "lllrrrl"), said])


def aggregates(mixes: Mixes) -> Text:
    """The aggregates that the concretes of the job are proportioned with."""
    rows = []
    for row in dict.fromkeys(row for one in proportioned(mixes) for row in (one.coarse, one.fine)):
        size = mixes.show(units.read(row.nominal_size, NominalSize), NominalSize) if row.nominal_size else row.use
        dense = (
            mixes.show(units.read(row.dry_rodded_density, units.Density), units.Density)
            if row.dry_rodded_density
            else ""
        )
        wet = f"{row.moisture.m_as('percent'):g} %, {row.moisture_basis}"
        rows.append([
            row.aggregate, size, f"{row.relative_density.m_as(''):g}, {row.density_basis}", f"{row.absorption.m_as('percent'):g} %", wet,
            dense, plain(row.fineness_modulus),
        ])  # fmt: skip
    heads = ["aggregate", "size", "relative density", "absorption", "moisture", "dry-rodded", "FM"]
    return Text(filled(heads, rows, "lllrlrr"))


def proportioned(mixes: Mixes) -> list[MixDesign]:
    """Return the concretes in use that are proportioned here."""
    return [one for one in mixes.in_use if isinstance(one, MixDesign)]


def checks_of(mixes: Mixes, design: Design) -> list[Check]:
    """Return the checks of a concrete, of its trial batch and of its batches."""
    return [one for one in mixes.checks if one.item == design.item or one.item.endswith((f", {design.item}", f"adjusted {design.item}"))]  # fmt: skip


def calculated(mixes: Mixes, design: Design) -> list[Check]:
    """Return the checks of a concrete that rest on a calculation, which may govern; all where there is none."""
    mine = checks_of(mixes, design)
    return [one for one in mine if leading_to(mixes, one.demand)] or mine


def worst(mixes: Mixes, design: Design) -> Check | None:
    """Return the check that governs a concrete: one that is merely stated or has no ratio where its verdict is worse."""
    ruling = governing(calculated(mixes, design))
    if ruling is not None and ruling.verdict == NOT_SATISFIED:
        return ruling
    mine = checks_of(mixes, design)
    return next((one for verdict in (NOT_SATISFIED, NOT_COVERED) for one in mine if one.verdict == verdict), ruling)


def governing_concrete(mixes: Mixes) -> Design | None:
    """Return the concrete in use that governs; the first where none has a check with a ratio."""
    check = governing(check for one in mixes.in_use for check in calculated(mixes, one))
    return next((one for one in mixes.in_use if check in checks_of(mixes, one)), next(iter(mixes.in_use), None))


def result(mixes: Mixes, written: HandCalculations) -> Text:
    """What each concrete comes to and the verdict on it, with the number of the calculation that gives it."""
    rows = []
    for one in mixes.in_use:
        mine = checks_of(mixes, one)
        ratio = next((check for check in mine if check.title == "water-cement ratio"), None)
        made, most = ratio.printed(mixes.system) if ratio else ("", "")
        if isinstance(one, MixDesign):
            made, most = (f"{q.m_as(''):.3f}" for q in (one.w_cm, one.w_cm_most))
        ruling = worst(mixes, one)
        number = next((written.numbers[run] for run in decided(mixes, one)), "")
        rows.append([
            f"{one.name} ({number})" if number else one.name, mixes.show(one.order_volume, units.OrderVolume) if one.order_volume is not None else "", made, most, *verdict_of(ruling),
        ])  # fmt: skip
    heads = ["concrete", "order", "w/cm", "maximum", "governing check", "utilised", "verdict"]
    beyond = "; ".join(map(plain, outside(mixes)))
    sieved = f"**Gradings outside their limits:** {beyond}." if beyond else "All gradings lie within their limits." if mixes.gradings else ""  # fmt: skip
    said = []
    for one in mixes.in_use:
        if words := [plain(mixes.decisions[key]) for key in keys_of(one) if key in mixes.decisions]:
            said.append(f"{plain(one.name)}: {'; '.join(words)}.")
    return block([filled(heads, rows, "lrrrlrl"), " ".join([*said, sieved])])


def verdict_of(check: Check | None) -> tuple[str, str, str]:
    """Return title, share of the limit and verdict of a check as a row prints them."""
    if check is None:
        return "", "", ""
    return check.title, check.percent, check.words if check.verdict == SATISFIED else f"**{check.words}**"


def decided(mixes: Mixes, design: Design) -> list[Run]:
    """Return the calculation that gives a concrete: after an accepted trial batch the mix adjusted by it."""
    if isinstance(design, MixDesign) and design.adjusted:
        return [run for run in mixes.runs_of(mix.adjusted_mix) if run.item == design.trial_item]
    return [run for run in mixes.runs_of(DECIDED[type(design)]) if run.item == design.item]


def keys_of(design: Design) -> tuple[str, ...]:
    """Return what is decided of a concrete beside its proportions."""
    if isinstance(design, MixDesign):
        return design.ratio_item, design.trial_item, design.temperature_item
    return (design.makers_item,) if isinstance(design, BagDesign) else ()


def proportions(mixes: Mixes) -> Text:
    """Contents of each concrete that is proportioned here: with oven-dry aggregate, and as the batches are made."""
    mine = proportioned(mixes)
    names = [name for name in ("water", "cement", *MATERIALS) if any(one.masses[name].magnitude > 0 for one in mine)]
    bare = lambda mass: mixes.show(mass, units.Content).partition(" ")[0] if mass.magnitude else ""  # noqa: E731
    rows = []
    for one in mine:
        rows.append([f"{one.name}, oven-dry", *(bare(one.masses[name]) for name in names)])
        rows.append([f"{one.name}, as batched", *(bare(one.moist.get(name, one.masses[name])) for name in names)])
    if not rows:
        return Text("")
    unit = units.kind_of(units.Content).symbol(mixes.system)
    fresh = ", ".join(f"{plain(one.name)} {mixes.show(one.density, units.Density)}" for one in mine)
    return block([
        pipe_table([f"masses in {unit}", *(MATERIALS.get(name, name) for name in names)], rows),
        f"Oven-dry: water is the mixing water, without what the aggregate absorbs. As batched: water added at the mixer, that of moist aggregate "
        f"and admixtures taken off. Density of the fresh concrete: {fresh}.",
    ])  # fmt: skip


def batches(mixes: Mixes) -> Text:
    """Batches of every patch and of all patches together."""
    rows, show = [], lambda mass: mixes.show(mass, units.Mass)
    for one in mixes.loads.values():
        cement = show(one.batch.m_c)
        bagged = in_bags(cement.partition(" ")[0], mixes.inputs.mix.bag, mixes.system)
        rows.append([
            one.patch, one.mix.name, f"{one.count} × {mixes.show(one.volume, units.BatchVolume)}", f"{cement}: {bagged}",
            show(one.batch.m_ca), show(one.batch.m_fa), show(one.batch.m_w),
        ])  # fmt: skip
    for bags in mixes.bag_loads.values():
        each, product = max(bags.bags), bags.design.concrete
        rows.append([
            bags.patch, bags.design.name, f"{bags.count} × {mixes.show(each * bags.found.V_bag, units.BatchVolume)}",
            f"{each} × {show(product.bag)}", show(each * bags.found.m_ag) if bags.extended else "", "", show(each * product.water),
        ])  # fmt: skip
    delivered = [f"{one.name} ({one.kind}): {', '.join(one.patches)}" for one in mixes.given if one.patches]
    said = f"Delivered, not batched here: {plain('; '.join(delivered))}. " if delivered else ""
    if rows:
        said += f"{mixes.load_count} batch{'es' * (mixes.load_count != 1)} in all. Supplementary materials, admixtures, water held back: batch cards."
    heads = ["patch", "concrete", "batches", "cement or bags, each batch", "coarse", "fine", "water to add"]
    return block([filled(heads, rows, "lllrrrr"), said])


def worked(mixes: Mixes) -> list[Run]:
    """Return the calculations of the governing concrete; of one that comes in bags, those of its largest batches too."""
    one = governing_concrete(mixes)
    if one is None:
        return []
    if isinstance(one, MixDesign):
        ruling = worst(mixes, one)
        led = leading_to(mixes, ruling.demand) if ruling else []
        tried = [one.trial_item, one.adjusted_item] if one.adjusted else []
        wanted = [(calculation, item) for calculation in PROPORTIONED for item in (one.item, one.batch_item, *tried)]
        wanted += [(calculation, one.adjusted_item if one.adjusted else one.item) for calculation in DESIGNED]
        made = [run for calculation, item in wanted for run in mixes.runs_of(calculation) if run.item == item]
        return [run for run in mixes.runs if run in led or run in made]
    sized = {bags.item: max(bags.bags) * bags.found.V_bag for bags in mixes.bag_loads.values() if bags.design is one}
    items = [one.item, *([max(sized, key=sized.__getitem__)] if sized else [])]
    return [run for item in items for run in mixes.of(item)]


def by_hand(mixes: Mixes, written: HandCalculations) -> Text:
    """Write the governing concrete out by hand."""
    one = governing_concrete(mixes)
    if one is None:
        return Text("")
    ruling = worst(mixes, one)
    reason = f", governed by its {plain(ruling.title)}" if ruling else ""
    tried = (
        " It is the mix adjusted by its trial batch, in place of the proportions as designed."
        if isinstance(one, MixDesign) and one.adjusted
        else ""
    )
    lead = f"The {plain(one.item)}{reason}.{tried} All other calculations stand in the appendix."
    return block([lead, str(written.worked(worked(mixes)))])


def further(mixes: Mixes) -> list[Any]:
    """Return the tables and drawings that stand in the appendix."""
    return detail.further(mixes)
