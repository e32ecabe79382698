"""Prepackaged repair mortar, as an alternative to concrete in partial-depth patches."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Length
from deckcalc.mix.design.assessments import MortarBags
from deckcalc.mix.design.records import Mixes
from deckcalc.mix.formulas.makers_curve import read_makers_curve

#: What the runs and words on the strength by the maker are called.
MAKERS = "prepackaged mortar, strength by the maker"


def mortar_bags(mixes: Mixes) -> None:
    """Count the bags for each partial-depth patch, extended with aggregate where the maker admits it."""
    product = mixes.inputs.mix.mortar
    if product is None:
        return
    row = mixes.inputs.aggregate[product.aggregate]
    density = mixes.run(
        mix.relative_densities, f"{row.aggregate}, prepackaged mortar", RD=row.relative_density, A=row.absorption,
        basis=row.density_basis,
    ).RD_s  # fmt: skip
    most = Limit(
        "extension_most", f"most aggregate by the maker of {product.product}", product.extension_most,
        units.kind_of(units.Share), product.source, "engineer",
    )  # fmt: skip
    mixes.checks.append(
        Check("prepackaged mortar", "aggregate added to a bag", product.extension, most, why="less aggregate")
    )
    makers_strength(mixes)
    for patch in mixes.patches:
        if patch.full:
            continue
        item, extended = f"{patch.item}, prepackaged mortar", patch.h >= product.extend_from * (1 - 1e-9)
        found = mixes.run(
            mix.extended_mortar, item, V=patch.volume.V_order, m_bag=product.bag, V_neat=product.neat_yield,
            q_ext=product.extension if extended else 0 * product.extension, RD_ag=density, m_w=product.water,
            rho_w=mixes.inputs.mix.water_density,
        )  # fmt: skip
        mixes.mortar[patch.name] = MortarBags(patch.name, item, found)
        mixes.decisions[item] = (
            f"{found.n.magnitude:.0f} bags, {'extended' if extended else 'neat'}: {mixes.show(patch.h, Length)} deep, "
            f"{'not less' if extended else 'less'} than {mixes.show(product.extend_from, Length)}"
        )


def makers_strength(mixes: Mixes) -> None:
    """Read the age of the opening strength from the maker's table; it is no verdict on a patch."""
    product, limit = mixes.inputs.mix.mortar, mixes.limit("opening_strength")
    if product is None or not product.strengths:
        return
    mixes.makers_curve = read_makers_curve(product.strengths)
    between = mixes.makers_curve.between(limit.value)
    wanted = mixes.show(limit.value, units.Stress)
    if between is None:
        said = f"the maker's table does not hold {wanted}; it is not read outside its ages"
    else:
        mixes.makers_time = mixes.run(mix.time_to_strength, MAKERS, **between).t
        said = f"{wanted} at {mixes.show(mixes.makers_time, units.Hours)} by the maker's table, at the temperature of his tests"
    if product.extension.magnitude > 0 and product.strengths_of == "neat":
        said += "; the table is of neat mortar, and says nothing of extended"
    mixes.decisions[MAKERS] = said
    mixes.checks.append(
        Check(MAKERS, "opening strength", None, limit, "at least",
              f"{said}. The maker's data open no lane: break cylinders cured with the patch")
    )  # fmt: skip
