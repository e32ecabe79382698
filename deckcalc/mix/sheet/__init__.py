"""Sheet of mix and batch: its tables."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.core import tables, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.digits import grouped
from deckcalc.core.sources import Cite
from deckcalc.core.units import quantity
from deckcalc.mix.design import BagDesign, Mixes
from deckcalc.mix.design.alternatives import COARSE_LEAST
from deckcalc.mix.design.early_strength import AGES
from deckcalc.mix.formulas.aggregate import NominalSize
from deckcalc.mix.formulas.contents import LoadVolume
from deckcalc.mix.formulas.solver import MATERIALS
from deckcalc.show import sections
from deckcalc.show.hand import pipe_table, table
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations

NAMES = {"coarse": "coarse aggregate", "fine": "fine aggregate"}


def concretes(mixes: Mixes) -> Text:
    """What each concrete is asked for, how it is made, and for which patches."""
    rows = []
    for one in mixes:
        ordered = mixes.show(one.order_volume, units.OrderVolume) if one.order_volume is not None else "none"
        rows.append([
            one.name, one.kind, ", ".join(one.patches) or "none", ordered, mixes.show(one.strength, units.Stress),
            mixes.show(one.slump, units.Length) if one.slump is not None else "", f"type {one.heat.cement}" if one.heat else "not stated",
            mixes.show(one.nominal_size, units.Length), mixes.show(one.density, units.Density),
            mixes.show(one.temperature, units.Temperature) if one.temperature is not None else "not stated",
        ])  # fmt: skip
    heads = [
        "concrete", "made", "patches", "to order", "strength at 28 days", "slump", "cement", "stone to", "density, fresh", "as mixed",
    ]  # fmt: skip
    asked = [
        [one.name, mixes.show(one.air, units.Share), mixes.show(one.concrete.water_reduction, units.Share),
         f"{one.coarse.aggregate}, {one.fine.aggregate}"]
        for one in mixes.designed
    ]  # fmt: skip
    parts = [pipe_table(heads, rows, "lllrrrlrrr")]
    if asked:
        parts.append(
            pipe_table(["proportioned here", "air", "water saved by the admixture", "aggregates"], asked, "lrrl")
        )
    return block(parts)


def aggregates(mixes: Mixes) -> Text:
    """The aggregates on site, one a column."""
    found = mixes.inputs.aggregates
    if not found:
        return Text("")
    share = lambda q: "" if q is None else f"{q.m_as('percent'):g} %"  # noqa: E731
    density = lambda q: "" if q is None else mixes.show(q, units.Density)  # noqa: E731
    read = lambda text, kind: mixes.show(units.read(text, kind), kind) if text else ""  # noqa: E731
    rows = [
        ["use", *(row.use for row in found)],
        ["nominal maximum size", *(read(row.nominal_size, NominalSize) for row in found)],
        ["shape", *(row.shape for row in found)],
        ["relative density", *(f"{row.relative_density.m_as(''):g}" for row in found)],
        ["reported for", *(row.density_basis for row in found)],
        ["absorption, on oven-dry mass", *(share(row.absorption) for row in found)],
        ["moisture", *(f"{share(row.moisture)}, {row.moisture_basis}" for row in found)],
        ["dry-rodded density", *(read(row.dry_rodded_density, units.Density) for row in found)],
        ["fineness modulus", *(plain(row.fineness_modulus) for row in found)],
        ["loose density, dry", *(density(row.loose_density) for row in found)],
        ["bulking at that moisture", *(share(row.bulking) for row in found)],
    ]
    rows = [row for row in rows if any(row[1:])]
    return Text(pipe_table(["", *(row.aggregate for row in found)], rows, "l" * (len(found) + 1)))


def result(mixes: Mixes) -> Text:
    """Contents of each concrete that is proportioned here: designed, and as the batches are made."""
    if not mixes.designed:
        return Text("")
    heads, columns = [""], []
    order = ("water", "cement", "fly ash", "slag cement", "silica fume", "coarse", "fine")
    used = [name for name in order if any(one.masses[name].magnitude > 0 for one in mixes.designed)]
    for one in mixes.designed:
        dry = [mixes.show(one.masses[name], units.Content) for name in used]
        moist = [mixes.show(one.moist.get(name, one.masses[name]), units.Content) for name in used]
        columns += [dry, moist]
        heads += [f"{one.item}, aggregate oven-dry", f"{one.item}, as batched"]
    rows = [[NAMES.get(name, name), *cells] for name, cells in zip(used, zip(*columns, strict=True), strict=True)]
    ratios = [cell for one in mixes.designed for cell in (f"{one.w_cm.m_as(''):.3f}", "")]
    totals = [cell for one in mixes.designed for cell in ("", mixes.show(one.density, units.Density))]
    rows += [["**w/cm**", *ratios], ["density of the fresh concrete", *totals]]
    adjusted = [one.item for one in mixes.designed if one.adjusted]
    said = f"The {' and the '.join(adjusted)} stands as adjusted after its trial batch. " if adjusted else ""
    return block([
        pipe_table(heads, rows),
        f"{said}Water oven-dry is the mixing water, without what the aggregate absorbs; water as batched is what is "
        "added at the mixer, the water of the aggregate and of the admixtures taken off.",
    ])  # fmt: skip


def loads(mixes: Mixes) -> Text:
    """Mixer loads of every patch and of all patches together; masses as fine as on the batch cards."""
    rows = []
    for one in mixes.loads.values():
        masses = (one.batch.m_ca, one.batch.m_fa, one.batch.m_w)
        rows.append([
            one.patch, one.mix.name, str(one.count), mixes.show(one.volume, units.BatchVolume), f"{one.bags:.2f}",
            *(mixes.show(mass, units.Mass, 1) for mass in masses),
        ])  # fmt: skip
    for bags in mixes.bag_loads.values():
        each, product = max(bags.bags), bags.design.concrete
        rows.append([
            bags.patch, bags.design.name, str(bags.count), mixes.show(each * bags.found.V_bag, units.BatchVolume), f"{each} of {mixes.show(product.bag, units.Mass)}",
            mixes.show(each * bags.found.m_ag, units.Mass, 1), "", mixes.show(each * product.water, units.Mass, 1),
        ])  # fmt: skip
    rows.append(["**all**", "", f"**{mixes.load_count}**", "", "", "", "", ""])
    heads = ["patch", "concrete", "loads", "each load", "bags a load", "coarse", "fine", "water to add"]
    delivered = [f"{one.name} ({one.kind}): {', '.join(one.patches)}" for one in mixes.given if one.patches]
    said = [f"Delivered, without a load here: {'; '.join(delivered)}."] if delivered else []
    return block([pipe_table(heads, rows, "llrrrrrr"), *said])


def all_items(mixes: Mixes, written: HandCalculations, calculation: Calculation, *columns: str) -> Text:
    """Write a calculation out for its first item, and print it for all as a table."""
    runs = [written.by_run[run] for run in mixes.runs_of(calculation)]
    if not runs:
        return Text("")
    first = runs[0].markdown()
    if len(runs) == 1:
        return Text(first)
    return block([first, f"### {calculation.title}, all items", table(runs, columns)])


def proportions(mixes: Mixes, written: HandCalculations) -> Text:
    """Write the proportions of every mix out by hand, with the materials that they rest on."""
    items: list[str] = []
    for one in mixes.designed:
        items += [one.material_item(row.aggregate) for row in (one.coarse, one.fine)]
        if one.fine.aggregate in mixes.gradings:
            items.append(mixes.gradings[one.fine.aggregate].item)
        items += [one.item, one.ratio_item]
    return written.by_hand(mixes, *dict.fromkeys(items)) if items else Text("")


def after_trial(mixes: Mixes, written: HandCalculations) -> Text:
    """Write the trial batch out."""
    items = [item for one in mixes.designed if one.concrete.trial for item in (one.trial_item, one.adjusted_item)]
    return written.by_hand(mixes, *items) if items else Text("")


def batching(mixes: Mixes, written: HandCalculations) -> Text:
    """Write admixture water and moist masses of each mix out."""
    items = [one.material_item(admixture.name) for one in mixes.designed for admixture in one.concrete.admixture]
    items += [one.batch_item for one in mixes.designed]
    return written.by_hand(mixes, *items) if items else Text("")


def temperatures(mixes: Mixes, written: HandCalculations) -> Text:
    """Write the temperature of the fresh concrete out."""
    if mixes.inputs.mix.temperature is None or not mixes.designed:
        return Text("")
    return written.by_hand(mixes, *(one.temperature_item for one in mixes.designed))


def early_strength(mixes: Mixes) -> Text:
    """Strength at early ages by published curves."""
    if not mixes.designed:
        return Text("")
    rows = []
    for one in mixes.designed:
        ages = one.early_strength
        rows.append([one.item, f"type {one.cement_type}, curve", *(mixes.show(at.curve, units.Stress) for at in ages)])
        ratio = [mixes.show(at.by_type_i, units.Stress) for at in ages if at.by_type_i is not None]
        if ratio:
            rows.append([one.item, "type I curve and ratio of type III", *ratio])
    heads = ["mix", "by", *(f"{age} d" for age in AGES)]
    return block([
        "What the specified strength at 28 days would mean at early ages, moist cured near 21 °C (70 °F). The two ways for "
        "type III cement disagree most at one day; neither opens a lane.",
        pipe_table(heads, rows, "ll" + "r" * len(AGES)),
    ])  # fmt: skip


def starting_points(mixes: Mixes) -> Text:
    """Published agency mixes beside those of the job, and what packaged rapid materials must reach."""
    if not mixes.designed:
        return Text("")
    unit, pressure = ("kg/m³", "MPa") if mixes.system == "SI" else ("lb/yd³", "psi")
    rows = [
        [row["mix"], row["cement"], row[f"cementitious [{unit}]"], row["w/cm"], row["air [%]"], row["opening"],
         str(Cite(row["source"], row["where"]))]
        for row in tables.load("agency_mixes").rows
    ]  # fmt: skip
    for one in mixes.designed:
        content = mixes.show(one.cementitious, units.Content).partition(" ")[0]
        air = f"{one.air.m_as('percent'):.1f}"
        rows.append([f"**{one.item}**", one.cement_type, content, f"{one.w_cm.m_as(''):.2f}", air, "", "this job"])
    heads = ["concrete", "cement", f"cementitious [{unit}]", "w/cm", "air [%]", "opening", "source"]
    rapid = [
        [row["material"], *(row[f"{age} [{pressure}]"] for age in ("3 h", "1 d", "7 d")), row["remark"],
         str(Cite(row["source"], row["where"]))]
        for row in tables.load("rapid_materials").rows
    ]  # fmt: skip
    return block([
        "Patch and early-opening concretes as published, to begin from; blank where the copy seen has no value.",
        pipe_table(heads, rows, "lllrrll"), "Least strength of packaged rapid-hardening materials:",
        pipe_table(["material", *(f"{age} [{pressure}]" for age in ("3 h", "1 d", "7 d")), "remark", "source"], rapid,
                   "lrrrll"),
    ])  # fmt: skip


def bags(mixes: Mixes, written: HandCalculations) -> Text:
    """Prepackaged concretes: what a bag makes, the bags of the patches that take them, strength by the maker."""
    parts: list[str] = []
    for design in mixes.prepackaged:
        product = design.concrete
        decided = [
            [one.item, plain(mixes.decisions[one.item])] for one in mixes.bag_loads.values() if one.design is design
        ]
        parts += [
            f"### {design.item[0].upper()}{design.item[1:]}", f"Product: {plain(product.product)}; {plain(product.source)}.",
            written.by_hand(mixes, design.item), *([pipe_table(["item", "what follows"], decided, "ll")] if decided else ["No patch takes it."] if mixes.patches.each else []),
            *makers_strength(mixes, design, written),
        ]  # fmt: skip
    if not parts:
        return Text("")
    parts.append(all_items(mixes, written, mix.extended_mortar, "V", "q_ext", "V_bag", "n", "m_water", "m_aggregate"))
    parts.append(all_items(mixes, written, mix.bags_in_load, "n", "V_bag", "V_mixer", "n_each", "V_load"))
    return block([part for part in parts if part])


def makers_strength(mixes: Mixes, design: BagDesign, written: HandCalculations) -> list[str]:
    """The maker's strength by age, and what is read from it."""
    if design.curve is None:
        return ["The maker's strength by age is not given."]
    rows = [[mixes.show(t, units.Hours), mixes.show(S, units.Stress)] for t, S in design.curve.rows]
    said = mixes.decisions[design.makers_item]
    return [
        "**Strength by the maker's data**", pipe_table(["age", "strength"], rows, "rr"),
        f"{said[0].upper()}{said[1:]}.", *([written.by_hand(mixes, design.makers_item)] if design.time is not None else []),
    ]  # fmt: skip


def stripping(mixes: Mixes, written: HandCalculations) -> Text:
    """Strength before which the form of each full-depth patch is struck."""
    if not mixes.stripping:
        return Text("")
    return all_items(mixes, written, mix.stripping_strength, "f_c", "q_s", "f_s")


def given(mixes: Mixes, written: HandCalculations) -> Text:
    """Concretes given by their contents: ticket, what it makes, and the lines by hand."""
    if not mixes.given:
        return Text("")
    rows = []
    for one in mixes.given:
        made, ticket = one.found, one.concrete
        rows.append([
            one.name, plain(ticket.source), mixes.show(ticket.volume, LoadVolume), mixes.show(made.Y, LoadVolume),
            f"{made.R_y.m_as(''):.3f}", f"{made.w_cm.m_as(''):.3f}", mixes.show(made.C_y, units.Content),
            mixes.show(made.D, units.Density),
        ])  # fmt: skip
    heads = ["concrete", "from", "volume stated", "volume made", "relative yield", "w/cm", "cementitious", "density"]
    return block([
        pipe_table(heads, rows, "llrrrrrr"), written.by_hand(mixes, *(one.item for one in mixes.given))
    ])  # fmt: skip


def uncertainty(mixes: Mixes) -> Text:
    """How far ratio and yield may lie from the design: the band of drawn loads, and each cause by itself."""
    stated = mixes.inputs.mix.doubt
    if stated is None:
        return Text("")
    parts = []
    for one in mixes.designed:
        found = one.uncertainty
        assert found is not None  # the accuracy is stated
        band = [
            ["ratio of water to cementitious material", *(f"{v:.3f}" for v in found.w_cm), f"{one.w_cm_most.m_as(''):.3f}"],
            ["yield over the volume designed", *(f"{v:.3f}" for v in found.relative_yield), ""],
        ]  # fmt: skip
        heads = ["", "5 of 100 below", "middle", "95 of 100 below", "most admitted"]
        single = [[plain(e.cause), e.size, f"{e.w_cm:.4f}", f"{e.relative_yield:.4f}"] for e in found.errors]
        parts += [
            f"### {one.item[0].upper()}{one.item[1:]}", pipe_table(heads, band),
            f"Above the ratio by exposure ({one.w_cm_exposure.m_as(''):.2f}): {100 * found.above_exposure:.1f} of 100 loads; above the greatest "
            f"by strength and exposure ({one.w_cm_most.m_as(''):.3f}): {100 * found.above_most:.1f} of 100.",
            f"Drawn {grouped(found.drawn)} times. Each error by itself, to be verified with a pocket calculator (w/cm is "
            f"{one.w_cm.m_as(''):.4f} and the relative yield 1 without any):".replace(",", " ", 1),
            pipe_table(["cause", "error", "w/cm", "relative yield"], single, "llrr"),
        ]  # fmt: skip
    source = plain(stated.source)
    return block([
        "Errors are normal and independent; the tolerance of the scale and the accuracy of each moisture are two "
        f"standard deviations. Moistures and air: {source}. Water is batched as designed, not corrected by slump.", *parts,
    ])  # fmt: skip


def alternatives(mixes: Mixes) -> Text:
    """Admissible proportions: cheapest and least emitting by ratio, with all masses to check a point by hand."""
    want, parts = mixes.inputs.mix, []
    if not want.factors:
        return Text("")
    factors = [
        [one.material, f"{one.price:g}", mixes.show(one.per, units.Mass, 0), f"{one.carbon:g}", plain(one.source)]
        for one in want.factors
    ]
    parts.append(
        pipe_table(["material", f"price [{plain(want.currency)}]", "per", "CO2e per mass", "source"], factors, "lrrrl")
    )
    content = lambda kg: mixes.show(quantity(kg, "kg/m³"), units.Content).partition(" ")[0]  # noqa: E731
    unit, volume = ("kg/m³", 1.0) if mixes.system == "SI" else ("lb/yd³", 0.9144**3)
    per = "m³" if mixes.system == "SI" else "yd³"
    every = [s for _, found in mixes.alternatives for s in (*found.front, found.designed)]
    names = [name for name in MATERIALS if any(s.masses[name] > 1e-6 for s in every)]
    for design in mixes.designed:
        parts.append(f"### {design.item[0].upper()}{design.item[1:]}")
        found = design.alternatives
        if found is None:
            parts.append(plain(f"Other proportions are {mixes.decisions[design.alternatives_item]}."))
            continue
        rows = []
        for word, solved in (
            ("as designed", found.designed), ("cheapest", found.front[0]), *(("between", s) for s in found.between),
            ("least carbon", found.front[-1]),
        ):  # fmt: skip
            cells = [content(solved.masses[key]) for key in names]
            rows.append([word, f"{solved.w_cm:.3f}", *cells, f"{solved.price * volume:.1f}", content(solved.carbon)])
        heads = ["mix", "w/cm", *names, f"price a {per}", f"CO2e [{unit}]"]
        parts.append(pipe_table(heads, rows))
    return block([
        *parts[:1],
        "The mixing water is that of slump and size, so that every demand is linear in the masses and the best mix is found "
        "exactly (linear programme): greatest ratio, least cementitious material, limits of supplementary materials, "
        f"coarse aggregate from {COARSE_LEAST:.2f} to 1.00 of the table, absolute volumes that fill the concrete. Masses are "
        f"oven-dry, in {unit}. The table of strength is for portland cement: more supplementary material gains strength "
        "later, which a patch seldom can wait for. As designed is before any trial batch.", *parts[1:],
    ])  # fmt: skip


def gauge_boxes(mixes: Mixes, written: HandCalculations) -> Text:
    """Gauge boxes for days without a scale."""
    if mixes.inputs.mix.gauge_box is None:
        return Text("")
    return all_items(mixes, written, mix.gauge_boxes, "m", "w", "rho_l", "q_bulk", "V_moist", "n_box")


def further(mixes: Mixes) -> list[Text]:
    """Return the tables that stand in the appendix."""
    return [sections.cautions(mixes)]
