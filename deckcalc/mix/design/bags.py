"""Prepackaged concretes: bags, aggregate and water for the patches that take them, and what the manufacturer says of the strength."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Length, Quantity, quantity
from deckcalc.core.words import how_many
from deckcalc.mix.design.records import BagDesign, BagLoads, Mixes, Portion
from deckcalc.mix.formulas.makers_curve import read_makers_curve

#: Relative density that stands in the lines of a bag to which nothing is added: its share is zero, and it has no effect.
NOTHING_ADDED = quantity(2.65)


def prepackaged(mixes: Mixes, design: BagDesign) -> BagDesign:
    """Work out what a bag makes, the bags of each patch, and the age of the opening strength by the manufacturer."""
    product = design.concrete
    mixes.each[design.name] = design
    aggregate = added(mixes, design) if product.aggregate else NOTHING_ADDED
    design.density = mixes.run(
        mix.bag_density, design.item, m_bag=product.bag, m_w=product.water, V_neat=product.neat_yield,
        q_ext=product.extension, RD_ag=aggregate, rho_w=mixes.inputs.mix.water_density,
    ).D  # fmt: skip
    design.temperature = product.temperature
    makers_strength(mixes, design)
    for name, portion in mixes.portions(design).items():
        mixes.bag_loads[name] = bag_loads(mixes, design, portion, aggregate)
    return design


def added(mixes: Mixes, design: BagDesign) -> Quantity:
    """Return the relative density of the aggregate that is added, and hold its share against the manufacturer's limit."""
    product, row = design.concrete, mixes.inputs.aggregate[design.concrete.aggregate]
    found = mixes.run(
        mix.relative_densities, f"{row.aggregate}, {design.item}", RD=row.relative_density, A=row.absorption,
        basis=row.density_basis,
    ).RD_s  # fmt: skip
    most = Limit(
        "extension_most", f"maximum aggregate by the manufacturer of {product.product}", product.extension_most,
        units.kind_of(units.Share), product.source, "engineer",
    )  # fmt: skip
    mixes.checks.append(Check(design.item, "aggregate added to a bag", product.extension, most, why="less aggregate"))
    return found


def bag_loads(mixes: Mixes, design: BagDesign, portion: Portion, aggregate: Quantity) -> BagLoads:
    """Return the bags of one patch, extended where the manufacturer admits it, and how they are shared among the mixer batches."""
    product, item = design.concrete, f"{portion.item}, {design.name}"
    deep = portion.depth is None or bool(portion.depth >= product.extend_from * (1 - 1e-9))
    extended = deep and product.extension.magnitude > 0
    found = mixes.run(
        mix.extended_mortar, item, V=portion.volume, m_bag=product.bag, V_neat=product.neat_yield,
        q_ext=product.extension if extended else 0 * product.extension, RD_ag=aggregate, m_w=product.water,
        rho_w=mixes.inputs.mix.water_density,
    )  # fmt: skip
    each = mixes.run(mix.bags_in_load, item, n=found.n, V_bag=found.V_bag, V_mixer=mixes.inputs.mix.load)
    bags, most = int(found.n.magnitude), int(each.n_each.magnitude)
    count = -(-bags // most)
    shared = [bags // count + (place < bags % count) for place in range(count)]
    mixes.decisions[item] = (
        f"{how_many(bags, 'bag')} in {how_many(count, 'batch')}, {'extended' if extended else 'neat'}: "
        + (f"{mixes.show(portion.depth, Length)} deep, " if portion.depth is not None else "where the depth is ")
        + f"{'not less' if deep else 'less'} than {mixes.show(product.extend_from, Length)}"
    )
    return BagLoads(portion.name, item, design, found, extended, shared)


def makers_strength(mixes: Mixes, design: BagDesign) -> None:
    """Read the age of the opening strength from the manufacturer's table; it is no verdict on a patch."""
    product, limit = design.concrete, mixes.limit("opening_strength")
    if not product.strengths:
        return
    curve = design.curve = read_makers_curve(product.strengths)
    between, wanted = curve.between(limit.value), mixes.show(limit.value, units.Stress)
    if between is None:
        said = f"the manufacturer's table does not hold {wanted}; it is not read outside its ages"
    else:
        design.time = mixes.run(mix.time_to_strength, design.makers_item, **between).t
        said = f"{wanted} at {mixes.show(design.time, units.Hours)} by the manufacturer's table, at the temperature of the tests"
    if design.makers_curve is None:
        said += "; the table is of neat mortar, and says nothing of extended"
    mixes.decisions[design.makers_item] = (
        f"{said}. The manufacturer's data open no lane: break cylinders cured with the patch"
    )
