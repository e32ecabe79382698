"""Prepackaged repair mortar, as an alternative to concrete in partial-depth patches."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Length
from deckcalc.mix.design.assessments import MortarBags
from deckcalc.mix.design.records import Mixes


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
