"""What is loaded for each patch and each night, gathered from the sheets that worked it out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from deckcalc import patch, units
from deckcalc.units import registry

if TYPE_CHECKING:
    from deckcalc.job import Job

#: Material, unit of the sum, and the kind in which it is printed.
KINDS = {"kg": units.Mass, "mL": units.LiquidVolume, "m": units.RoadLength, "m²": units.Area, "m³": units.OrderVolume}


def of_patch(job: Job, name: str) -> dict[str, tuple[float, str]]:
    """Return what a patch takes: amount and unit of each material."""
    item = f"patch {name}"
    found: dict[str, tuple[float, str]] = {}

    def add(material: str, amount: float, unit: str) -> None:
        found[material] = (found.get(material, (0.0, unit))[0] + amount, unit)

    run = lambda calculation: next((r for r in job.patch.runs_of(calculation) if r.item == item), None)  # noqa: E731
    sides, volume, cure = run(patch.patch_limits), run(patch.patch_volume), run(patch.curing_area)
    if sides and volume and cure:
        add("concrete to mix, waste included", float(volume.result.V_order.m_as("m³")), "m³")
        add("saw blade, cut of one pass", float(sides.result.P_cut.m_as("m")), "m")
        add("wet fabric and sheet", float(cure.result.A_c.m_as("m²")), "m²")
        add("old concrete to carry off", float((volume.result.V_placed * job.head.deck.unit_weight).m_as("kg")), "kg")
    grout = run(patch.bonding_grout)
    if grout:
        add("bonding grout", float(grout.results()[next(iter(grout.results()))].m_as("m³")), "m³")
    for plan in (one for one in job.mix.loads if one.patch == name):
        for weight in plan.weights:
            if weight.mass is not None:
                add(weight.material, plan.count * float(weight.mass.m_as("kg")), "kg")
            elif weight.volume is not None:
                add(weight.material, plan.count * float(weight.volume.m_as("mL")), "mL")
        add("water to add at the mixer", plan.count * float(plan.water_limits[1].m_as("kg")), "kg")
    return found


def total(job: Job, names: Sequence[str]) -> dict[str, tuple[float, str]]:
    """Return the sum over patches."""
    found: dict[str, tuple[float, str]] = {}
    for name in names:
        for material, (amount, unit) in of_patch(job, name).items():
            found[material] = (found.get(material, (0.0, unit))[0] + amount, unit)
    return found


def shown(job: Job, amount: float, unit: str) -> str:
    """Print an amount."""
    return job.show(registry().Quantity(amount, unit), KINDS[unit])


def bags(job: Job, material: str, amount: float, spare: float) -> str:
    """Return how many bags of cement are loaded, spare included, rounded up; empty for what comes in bulk."""
    if not material.startswith("cement"):
        return ""
    return str(math.ceil(amount * (1 + spare) / float(job.head.mix.bag.m_as("kg")) - 1e-9))


def carried(job: Job, names: Sequence[str], spare: float) -> float:
    """Return the mass that goes to the bridge for some patches, spare included [kg]."""
    found = total(job, names)
    return sum(
        amount * (1 + spare) for key, (amount, unit) in found.items() if unit == "kg" and not key.startswith("old")
    )
