"""Sheet of mix and batch: its tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from deckcalc import mix
from deckcalc.core import tables, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.sources import Cite
from deckcalc.job import Job
from deckcalc.mix.design.assurance import AGES
from deckcalc.mix.formulas.aggregate import NominalSize
from deckcalc.mix.formulas.solver import MATERIALS
from deckcalc.show.hand import pipe_table, table
from deckcalc.show.sections import Text, block, by_hand, hand_calculations, plain

NAMES = {"coarse": "coarse aggregate", "fine": "fine aggregate"}


def concretes(job: Job) -> Text:
    """What each mix is asked for, and for which patches."""
    facts = list(job.mix.mixes.values())
    rows = [
        ["patches", *(", ".join(p for p, name in job.mix.of_patch.items() if name == f.name) or "none" for f in facts)],
        ["concrete to order", *(job.show(f.order_volume, units.OrderVolume) if f.order_volume is not None else "none"
                                for f in facts)],
        ["specified strength at 28 days", *(job.show(f.strength, units.Stress) for f in facts)],
        ["slump at placing", *(job.show(f.slump, units.Length) for f in facts)],
        ["air", *(job.show(f.air, units.Share) for f in facts)],
        ["cement", *(f"type {f.cement_type}" for f in facts)],
        ["water saved by the admixture", *(job.show(f.concrete.water_reduction, units.Share) for f in facts)],
        ["aggregates", *(f"{f.coarse.aggregate}, {f.fine.aggregate}" for f in facts)],
    ]  # fmt: skip
    return Text(pipe_table(["", *(f.item for f in facts)], rows, "l" + "l" * len(facts)))


def aggregates(job: Job) -> Text:
    """The aggregates on site, one a column."""
    found = job.file.rows["aggregates"]
    share = lambda q: f"{q.m_as('percent'):g} %"  # noqa: E731
    density = lambda q: job.show(q, units.Density)  # noqa: E731
    read = lambda text, kind: job.show(units.read(text, kind), kind) if text else ""  # noqa: E731
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
    return Text(pipe_table(["", *(row.aggregate for row in found)], rows, "l" * (len(found) + 1)))


def result(job: Job) -> Text:
    """Contents of each mix: designed, and as the batches are made."""
    heads, columns = [""], []
    order = ("water", "cement", "fly ash", "slag cement", "silica fume", "coarse", "fine")
    facts = list(job.mix.mixes.values())
    used = [name for name in order if any(f.masses[name].magnitude > 0 for f in facts)]
    for fact in facts:
        dry = [job.show(fact.masses[name], units.Content) for name in used]
        moist = [job.show(fact.moist.get(name, fact.masses[name]), units.Content) for name in used]
        columns += [dry, moist]
        heads += [f"{fact.item}, aggregate oven-dry", f"{fact.item}, as batched"]
    rows = [[NAMES.get(name, name), *cells] for name, cells in zip(used, zip(*columns, strict=True), strict=True)]
    ratios = [cell for f in facts for cell in (f"{f.w_cm.m_as(''):.3f}", "")]
    totals = [cell for f in facts for cell in ("", job.show(f.density, units.Density))]
    rows += [["**w/cm**", *ratios], ["density of the fresh concrete", *totals]]
    made = job.head.mix.trial
    adjusted = [f.item for f in facts if made and made.accepted and made.of == f.name]
    said = f"The {' and the '.join(adjusted)} stands as adjusted after its trial batch. " if adjusted else ""
    return block([
        pipe_table(heads, rows),
        f"{said}Water oven-dry is the mixing water, without what the aggregate absorbs; water as batched is what is "
        "added at the mixer, the water of the aggregate and of the admixtures taken off.",
    ])  # fmt: skip


def loads(job: Job) -> Text:
    """Mixer loads of every patch and of the whole closure."""
    rows = []
    for one in job.mix.loads:
        batch = next(
            run.result
            for run in job.mix.runs_of(mix.batch_for_volume)
            if run.item == f"patch {one.patch}, {one.fact.name}"
        )
        mass = lambda q: job.show(q, units.Mass)  # noqa: E731
        bags = f"{batch.m_c.m_as('kg') / job.head.mix.bag.m_as('kg'):.2f}"
        rows.append([
            one.patch, one.fact.name, str(one.count), job.show(one.volume, units.BatchVolume), bags, mass(batch.m_ca),
            mass(batch.m_fa), mass(batch.m_w),
        ])  # fmt: skip
    rows.append(["**all**", "", f"**{sum(one.count for one in job.mix.loads)}**", "", "", "", "", ""])
    heads = ["patch", "mix", "loads", "each load", "cement, bags a load", "coarse", "fine", "water to add"]
    return Text(pipe_table(heads, rows, "llrrrrrr"))


def all_items(job: Job, calculation: Calculation, *columns: str) -> Text:
    """Write a calculation out for its first item, and print it for all as a table."""
    runs = job.mix.runs_of(calculation)
    if not runs:
        return Text("")
    written = hand_calculations(job)
    first = written[runs[0]].markdown()
    if len(runs) == 1:
        return Text(first)
    rows = table([written[run] for run in runs], columns)
    return block([first, f"### {calculation.title}, all items", rows])


def of_mixes(job: Job) -> Text:
    """Write the proportions of every mix out by hand, with the materials that they rest on."""
    items = []
    for fact in job.mix.mixes.values():
        items += [
            item for item in job.mix.items if item.endswith(f", {fact.item}") and not item.startswith(
                ("trial", "batch", "order", "temperature")) and item.split(",")[0] in (
                    fact.coarse.aggregate, fact.fine.aggregate)
        ]  # fmt: skip
        items += [item for item in job.mix.items if item == f"{fact.fine.aggregate}, grading"]
        items.append(fact.item)
    return by_hand(job, job.mix, *dict.fromkeys(items))


def after_trial(job: Job) -> Text:
    """Write the trial batch out."""
    items = [item for item in job.mix.items if item.startswith(("trial batch", "adjusted"))]
    return by_hand(job, job.mix, *items) if items else Text("No trial batch is on record.\n")


def batching(job: Job) -> Text:
    """Write admixture water and moist masses of each mix out."""
    items = [f"{one.name}, {fact.item}" for fact in job.mix.mixes.values() for one in job.head.mix.admixture]
    return by_hand(job, job.mix, *items, *(f"batch, {fact.item}" for fact in job.mix.mixes.values()))


def temperatures(job: Job) -> Text:
    """Write the temperature of the fresh concrete out."""
    items = [item for item in job.mix.items if item.startswith("temperature")]
    return by_hand(job, job.mix, *items) if items else Text("No temperatures of the materials are on record.\n")


def early(job: Job) -> Text:
    """Strength at early ages: by published curves, beside the least that packaged materials must reach."""
    strength = lambda q: job.show(q, units.Stress)  # noqa: E731
    runs = {(run.calculation.name, run.item): run.result for run in job.mix.runs}
    rows = []
    for fact in job.mix.mixes.values():
        curve, ratio = [fact.item, f"type {fact.cement_type}, curve"], [fact.item, "type I curve and ratio of type III"]
        for age in AGES:
            item = f"{fact.name}, {age} d"
            if fact.cement_type == "III":
                curve.append(strength(runs["strength_at_age", f"{item}, curve of type III"].f_t))
                ratio.append(strength(runs["type_iii_strength", item].f_iii))
            else:
                curve.append(strength(runs["strength_at_age", item].f_t))
        rows.append(curve)
        if fact.cement_type == "III":
            rows.append(ratio)
    heads = ["mix", "by", *(f"{age} d" for age in AGES)]
    return block([
        "What the specified strength at 28 days would mean at early ages, moist cured near 21 °C (70 °F). The two ways for "
        "type III cement disagree most at one day; neither opens a lane.",
        pipe_table(heads, rows, "ll" + "r" * len(AGES)),
    ])  # fmt: skip


def starting_points(job: Job) -> Text:
    """Published agency mixes beside those of the job, and what packaged rapid materials must reach."""
    unit, pressure = ("kg/m³", "MPa") if job.system == "SI" else ("lb/yd³", "psi")
    rows = [
        [row["mix"], row["cement"], row[f"cementitious [{unit}]"], row["w/cm"], row["air [%]"], row["opening"],
         str(Cite(row["source"], row["where"]))]
        for row in tables.load("agency_mixes").rows
    ]  # fmt: skip
    for fact in job.mix.mixes.values():
        content = job.show(fact.cementitious, units.Content).partition(" ")[0]
        air = f"{fact.air.m_as('percent'):.1f}"
        rows.append([f"**{fact.item}**", fact.cement_type, content, f"{fact.w_cm.m_as(''):.2f}", air, "", "this job"])
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


def mortar(job: Job) -> Text:
    """Prepackaged mortar for the partial-depth patches, as an alternative to the mix."""
    product = job.head.mix.mortar
    if product is None:
        return Text("No prepackaged mortar is on hand.\n")
    decided = [
        [plain(item.removesuffix(", prepackaged mortar")), plain(what)]
        for item, what in job.mix.decisions.items()
        if item.endswith(", prepackaged mortar")
    ]
    return block([
        f"Product: {plain(product.product)}; {plain(product.source)}.",
        all_items(job, mix.extended_mortar, "V", "q_ext", "V_bag", "n", "m_water", "m_aggregate"),
        pipe_table(["item", "what follows"], decided, "ll"),
    ])  # fmt: skip


def doubt(job: Job) -> Text:
    """How sure ratio and yield are: the band of drawn loads, and each cause by itself."""
    stated = job.head.mix.doubt
    if stated is None:
        return Text("The accuracy of moistures and air is not stated; no band is given.\n")
    parts = []
    for name, found in job.mix.spread.items():
        fact = job.mix.mixes[name]
        band = [
            ["ratio of water to cementitious material", *(f"{v:.3f}" for v in found.w_cm), f"{fact.w_cm_most.m_as(''):.3f}"],
            ["yield over the volume designed", *(f"{v:.3f}" for v in found.yield_), ""],
        ]  # fmt: skip
        heads = ["", "5 of 100 below", "middle", "95 of 100 below", "most admitted"]
        single = [[plain(cause), size, f"{ratio:.4f}", f"{volume:.4f}"] for cause, size, ratio, volume in found.single]
        parts += [
            f"### {fact.item[0].upper()}{fact.item[1:]}", pipe_table(heads, band),
            f"Drawn {found.drawn:,} times. Each error by itself, to be verified with a pocket calculator (w/cm is "
            f"{fact.w_cm.m_as(''):.4f} and the relative yield 1 without any):".replace(",", " ", 1),
            pipe_table(["cause", "error", "w/cm", "relative yield"], single, "llrr"),
        ]  # fmt: skip
    source = plain(stated.source)
    return block([
        "Errors are normal and independent; the tolerance of the scale and the accuracy of each moisture are two "
        f"standard deviations. Moistures and air: {source}. Water is batched as designed, not corrected by slump.", *parts,
    ])  # fmt: skip


def trade_off(job: Job) -> Text:
    """Admissible proportions: cheapest and least emitting by ratio, with all masses to check a point by hand."""
    if not job.mix.trade:
        return Text("No prices and emission factors are given; other proportions are not compared.\n")
    want, parts = job.head.mix, []
    factors = [
        [one.material, f"{one.price:g}", job.show(one.per, units.Mass, 0), f"{one.carbon:g}", plain(one.source)]
        for one in want.factors
    ]
    parts.append(
        pipe_table(["material", f"price [{plain(want.currency)}]", "per", "CO2e per mass", "source"], factors, "lrrrl")
    )
    content = lambda kg: job.show(units.registry().Quantity(kg, "kg/m³"), units.Content).partition(" ")[0]  # noqa: E731
    unit, volume = ("kg/m³", 1.0) if job.system == "SI" else ("lb/yd³", 0.9144**3)
    per = "m³" if job.system == "SI" else "yd³"
    every = [s for found in job.mix.trade.values() for s in (*found.front, found.present)]
    names = [name for name in MATERIALS if any(s.masses[name] > 1e-6 for s in every)]
    for name, found in job.mix.trade.items():
        rows = []
        for word, solved in (
            ("as designed", found.present), ("cheapest", found.front[0]), *(("between", s) for s in between(found.front)),
            ("least carbon", found.front[-1]),
        ):  # fmt: skip
            cells = [content(solved.masses[key]) for key in names]
            rows.append([word, f"{solved.w_cm:.3f}", *cells, f"{solved.price * volume:.1f}", content(solved.carbon)])
        heads = ["mix", "w/cm", *names, f"price a {per}", f"CO2e [{unit}]"]
        parts += [f"### {name[0].upper()}{name[1:]} mix", pipe_table(heads, rows)]
    return block([
        *parts[:1],
        "The mixing water is that of slump and size, so that every demand is linear in the masses and the best mix is found "
        "exactly (linear programme): greatest ratio, least cementitious material, limits of supplementary materials, "
        "coarse aggregate from 0.90 to 1.00 of the table, absolute volumes that fill the concrete. Masses are "
        f"oven-dry, in {unit}. The table of strength is for portland cement: more supplementary material gains strength "
        "later, which a patch seldom can wait for. As designed is before any trial batch.", *parts[1:],
    ])  # fmt: skip


def between(front: Sequence[Any]) -> list[Any]:
    """Return the mixes of the front that are neither the first nor the last, each once."""
    found: list[Any] = []
    for one in front[1:-1]:
        known = [front[0], front[-1], *found]
        if all(abs(one.price - other.price) > 1e-6 * max(1.0, other.price) for other in known):
            found.append(one)
    return found


def materials_by_box(job: Job) -> Text:
    """Gauge boxes for days without a scale."""
    if job.head.mix.gauge_box is None:
        return Text("No gauge box is on hand: aggregate is weighed.\n")
    return all_items(job, mix.gauge_boxes, "m", "w", "rho_l", "q_bulk", "V_moist", "n_box")
