"""Sheet of mix and batch: what stands in the appendix."""

from __future__ import annotations

from typing import Any

from deckcalc.core import tables, units
from deckcalc.core.digits import grouped
from deckcalc.core.sources import Cite
from deckcalc.core.units import quantity
from deckcalc.mix.design import BagDesign, Mixes
from deckcalc.mix.design.alternatives import COARSE_LEAST
from deckcalc.mix.design.early_strength import AGES
from deckcalc.mix.formulas.aggregate import NominalSize
from deckcalc.mix.formulas.contents import LoadVolume
from deckcalc.mix.formulas.solver import MATERIALS
from deckcalc.mix.sheet import drawings
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain


def further(mixes: Mixes) -> list[Any]:
    """Return tables and drawings of materials and concretes, each after its heading, where there is anything."""
    if mixes.inputs.mix is None:
        return []
    parts: dict[str, list[Any]] = {
        "Aggregates on site": [aggregates(mixes), drawings.grading_curves(mixes)],
        "Ratio by strength": [drawings.ratio_curve(mixes)],
        "Strength at early ages": [early_strength(mixes)],
        "Concretes by their contents": [given(mixes)],
        "Prepackaged concretes": [bags(mixes)],
        "Spread of ratio and yield": [uncertainty(mixes)],
        "Alternative proportions": [alternatives(mixes), drawings.cost_and_carbon(mixes)],
        "Published starting points": [starting_points(mixes)],
    }
    found: list[Any] = []
    for heading, shown in parts.items():
        if kept := [one for one in shown if one]:
            found += [Text(f"## {heading}\n"), *kept]
    return found


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
        pipe_table(heads, rows, "lllrrll"), "Minimum strength of packaged rapid-hardening materials:",
        pipe_table(["material", *(f"{age} [{pressure}]" for age in ("3 h", "1 d", "7 d")), "remark", "source"], rapid,
                   "lrrrll"),
    ])  # fmt: skip


def bags(mixes: Mixes) -> Text:
    """Prepackaged concretes: product, how the bags of each patch are shared, strength by the maker."""
    parts: list[str] = []
    for design in mixes.prepackaged:
        product = design.concrete
        shared = [one for one in mixes.bag_loads.values() if one.design is design]
        depth = lambda patch: "" if not patch else mixes.show(mixes.patches[patch].h, units.Length)  # noqa: E731
        rows = [
            [one.patch or design.name, depth(one.patch), "extended" if one.extended else "neat", ", ".join(map(str, one.bags))]
            for one in shared
        ]  # fmt: skip
        none = ["No patch takes it."] if mixes.patches.each else []
        parts += [
            f"**{design.item[0].upper()}{design.item[1:]}.** {plain(product.product)}; {plain(product.source)}.",
            *([pipe_table(["patch", "depth", "mixed", "bags of each batch"], rows, "lrll")] if rows else none),
            *makers_strength(mixes, design),
        ]  # fmt: skip
    return block(parts) if parts else Text("")


def makers_strength(mixes: Mixes, design: BagDesign) -> list[str]:
    """The manufacturer's strength by age, and what is read from it."""
    if design.curve is None:
        return ["The manufacturer's strength by age is not given."]
    rows = [[mixes.show(t, units.Hours), mixes.show(S, units.Stress)] for t, S in design.curve.rows]
    said = mixes.decisions[design.makers_item]
    return [
        "Strength by the manufacturer's data:",
        pipe_table(["age", "strength"], rows, "rr"),
        f"{said[0].upper()}{said[1:]}.",
    ]


def given(mixes: Mixes) -> Text:
    """Concretes given by their contents: ticket, and what it makes."""
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
    heads = ["concrete", "from", "stated", "yield", "relative yield", "w/cm", "cementitious", "density"]
    return Text(pipe_table(heads, rows, "llrrrrrr"))


def uncertainty(mixes: Mixes) -> Text:
    """How far ratio and yield may lie from the design: the band of simulated batches, and each cause by itself."""
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
        heads = ["", "5th percentile", "median", "95th percentile", "maximum"]
        single = [[plain(e.cause), e.size, f"{e.w_cm:.4f}", f"{e.relative_yield:.4f}"] for e in found.errors]
        parts += [
            f"**{one.item[0].upper()}{one.item[1:]}**", pipe_table(heads, band),
            f"Above the ratio by exposure ({one.w_cm_exposure.m_as(''):.2f}): {100 * found.above_exposure:.1f} of 100 batches; above the maximum "
            f"by strength and exposure ({one.w_cm_most.m_as(''):.3f}): {100 * found.above_most:.1f} of 100.",
            f"Simulated {grouped(found.drawn)} times. Each error by itself (w/cm is {one.w_cm.m_as(''):.4f} and the relative yield 1 without any):",
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
        parts.append(f"**{design.item[0].upper()}{design.item[1:]}**")
        found = design.alternatives
        if found is None:
            parts.append(plain(f"Other proportions are {mixes.decisions[design.alternatives_item]}."))
            continue
        rows = []
        for word, solved in (
            ("as designed", found.designed), ("cheapest", found.front[0]), *(("between", s) for s in found.between),
            ("minimum carbon", found.front[-1]),
        ):  # fmt: skip
            cells = [content(solved.masses[key]) for key in names]
            rows.append([word, f"{solved.w_cm:.3f}", *cells, f"{solved.price * volume:.1f}", content(solved.carbon)])
        heads = ["mix", "w/cm", *names, f"price a {per}", f"CO2e [{unit}]"]
        parts.append(pipe_table(heads, rows))
    return block([
        *parts[:1],
        "The mixing water is that of slump and size, so that every condition is linear in the masses and the best mix is found "
        "exactly (linear programme): maximum ratio, minimum cementitious material, limits of supplementary materials, "
        f"coarse aggregate from {COARSE_LEAST:.2f} to 1.00 of the table, absolute volumes that fill the concrete. Masses are "
        f"oven-dry, in {unit}. The table of strength is for portland cement: more supplementary material gains strength "
        "later, which a patch seldom can wait for. As designed is before any trial batch.", *parts[1:],
    ])  # fmt: skip
