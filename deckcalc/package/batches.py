"""The batches of one patch as a table: by the scale, by bags, and as a pail or a cup shows them."""

from __future__ import annotations

from deckcalc.core import units
from deckcalc.core.units import Mass, Quantity
from deckcalc.job import Job
from deckcalc.mix.design import BagLoads, MixerLoads, Mixes
from deckcalc.mix.sheet.cards import in_bags, in_cup, in_pail, places, scale, water_mass
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain

Row = list[str]
HEADS = ["into each batch", "by scale", "by bag, pail or cup"]


def batches(job: Job, name: str) -> Text:
    """Return what goes into each batch of a patch; of concrete that is delivered, how much."""
    loads, bags = job.mix.loads.get(name), job.mix.bag_loads.get(name)
    if bags:
        return bagged(job.mix, bags)
    if loads:
        return mixed(job.mix, loads)
    made = job.mix.for_patch(name)
    order = job.show(job.patch[name].volume.V_order, units.OrderVolume)
    return Text(f"**Batch.** {plain(made.item)}, {made.kind}: {order}, by its ticket; no batch is worked out here.\n")


def water_row(mixes: Mixes, words: str, mass: Quantity, most: Quantity) -> Row:
    """Return a row of water, rounded down; in an SI job a kilogram is a litre."""
    pail = in_pail(mass, mixes.system) or f"{scale(mass, 'SI', decimals=1)} L"
    return [f"**water, {words}**", f"**{water_mass(mixes, mass, most)}**", pail]


def bagged(mixes: Mixes, loads: BagLoads) -> Text:
    """Return the batches of a prepackaged concrete: whole bags, aggregate and water for them."""
    product, made, parts = loads.design.concrete, loads.found, []
    unit = units.kind_of(Mass).symbol(mixes.system)
    for count in dict.fromkeys(loads.bags):
        bags = f"{count} bag{'s' if count > 1 else ''}"
        rows = [
            [
                f"**{plain(product.product)}**",
                f"{mixes.show(count * product.bag, Mass)}",
                f"**{bags}** of {mixes.show(product.bag, Mass)}, whole",
            ]
        ]
        if loads.extended:
            rows.append(
                [
                    f"{plain(product.aggregate)}, saturated surface-dry",
                    f"{scale(count * made.m_ag, mixes.system)} {unit}",
                    "",
                ]
            )
        rows.append(water_row(mixes, "never more", count * product.water, count * product.water))
        parts.append((loads.bags.count(count), bags, pipe_table(HEADS, rows, "lrl")))
    total = sum(loads.bags)
    said = f"**Batch.** {plain(loads.design.item)}, **{loads.count} batch{'es' if loads.count > 1 else ''}**, {total} bag{'s' if total > 1 else ''} in all"
    lines = [
        said
        + (
            f": {parts[0][0]} of {parts[0][1]}, then {parts[1][0]} of {parts[1][1]}."
            if len(parts) > 1
            else f", each of {parts[0][1]}."
        )
    ]
    return block(
        [
            *lines,
            *(table for _, _, table in parts),
            "No part of a bag. Water on the aggregate counts: dry it off, or take it off.",
        ]
    )


def mixed(mixes: Mixes, loads: MixerLoads) -> Text:
    """Return the batches of a concrete that is proportioned here, all alike."""
    unit, rows = units.kind_of(Mass).symbol(mixes.system), []
    for one in loads.weights:
        if one.mass is None or one.low is None or one.high is None:
            continue
        decimals = places(one, mixes.system)
        mass = mixes.show(one.mass, Mass, decimals).partition(" ")[0]
        low, high = (scale(end, mixes.system, up, decimals) for end, up in ((one.low, True), (one.high, False)))
        bag = in_bags(mass, mixes.inputs.mix.bag, mixes.system) if one.material.startswith("cement") else ""
        rows.append([plain(one.material), f"**{mass}** ({low} to {high}) {unit}", bag])
    water = loads.water
    rows += [
        water_row(mixes, words, mass, water.m_most)
        for words, mass in (("first", water.m_first), ("held back", water.m_held), ("never more in all", water.m_most))
    ]
    doses = [
        (plain(one.material), *in_cup(one.volume, mixes.system)) for one in loads.weights if one.volume is not None
    ]
    for material, dose, ounces in doses:
        rows.append([material, "", f"**{ounces or dose}**" + (f" ({dose})" if ounces else "")])
    wanted = f"slump {units.magnitude(loads.mix.slump, units.kind_of(units.Length), mixes.system):g} {units.kind_of(units.Length).symbol(mixes.system)}"
    if mixes.inputs.mix.entrained == "air-entrained":
        wanted += f", air {loads.mix.air.m_as('percent'):.1f} %"
    lead = (
        f"**Batch.** {plain(loads.mix.item)}, **{loads.count} batch{'es' if loads.count > 1 else ''}** of {mixes.show(loads.volume, units.BatchVolume)}, in this "
        f"order; {loads.opened} bag{'s' if loads.opened > 1 else ''} of cement opened in all. {wanted[0].upper()}{wanted[1:]}."
    )
    apart = (
        "Admixtures never touch one another: the air-entraining one with the sand, every other with part of the water (common practice)."
        if doses
        else ""
    )
    return block([lead, pipe_table(HEADS, rows, "lrl"), apart])
