"""What lies on fresh patches: wet fabric and curing compound, counted here alone, for every sheet that prints them."""

from __future__ import annotations

from collections.abc import Sequence

from deckcalc import curing
from deckcalc.base.subject import Material
from deckcalc.base.work import PlacementRow
from deckcalc.core import units
from deckcalc.core.units import Quantity, quantity
from deckcalc.curing.design.placings import Placings
from deckcalc.curing.inputs import Curing
from deckcalc.patch.design import PatchDesign, Patches


def fabric(patches: Sequence[PatchDesign]) -> Quantity:
    """Return the area of wet fabric that covers patches, laid over their edges."""
    return quantity(sum(float(one.wet_cover.A_c.m_as("m²")) for one in patches if one.wet_cover), "m²")


def sprayed(choices: Curing, patches: Patches, mine: Sequence[PatchDesign]) -> dict[str, Quantity]:
    """Return what is sprayed on patches, as `curing.curing_compound` takes it."""
    area = sum(float(one.limits.A.m_as("m²")) for one in mine)
    edges = sum(float(one.limits.P_cut.m_as("m")) for one in mine)
    return {
        "A": quantity(area, "m²"), "P": quantity(edges, "m"), "w": choices.edge_strip,
        "q": patches.limit("compound_coverage").value, "n": choices.coats, "q_w": patches.limit("waste").value,
    }  # fmt: skip


def cover(placings: Placings, row: PlacementRow) -> None:
    """List the wet fabric and the compound of a placing, by what the plan says of its curing."""
    mine = [placings.patches[name] for name in row.names]
    if not mine:
        return
    item, sheet = f"placing {row.placement}", "06 Curing and opening"
    if row.wet:
        area = placings.show(fabric(mine), units.Area, 1)
        placings.materials.append(
            Material(f"Wet fabric and sheet, {item}", area, "overlap beyond the edges included", sheet)
        )
    if row.sprayed:
        compound = placings.run(curing.curing_compound, item, **sprayed(placings.choices, placings.patches, mine))
        lost = placings.show(placings.limit("waste").value, units.Share, 0)
        placings.materials.append(
            Material(f"Curing compound, {item}", placings.show(compound.V, units.CompoundVolume),
                     f"{placings.choices.coats.m_as(''):.0f} coats, {lost} lost", sheet)
        )  # fmt: skip
