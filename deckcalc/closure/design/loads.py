"""What every patch takes, gathered from the sheets that worked it out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from deckcalc import curing, patch, steel
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.units import registry

if TYPE_CHECKING:
    from deckcalc.base.subject import Run
    from deckcalc.job import Job

#: Amount and unit of a material.
Amount = tuple[float, str]
#: Unit of a sum, and the kind in which it is printed.
KINDS = {
    "kg": units.Mass, "mL": units.LiquidVolume, "L": units.Liquid, "m": units.RoadLength, "m²": units.Area,
    "m³": units.OrderVolume, "": units.Count,
}  # fmt: skip
DEBRIS = "old concrete to carry off"
CUT = "saw blade, cut of one pass"
WATER = "water to add at the mixer"
CONCRETE = "concrete to mix, waste included"
#: What is made of other lines of the list, or goes the other way: no part of the mass to be carried to the bridge.
NOT_CARRIED = (DEBRIS, CONCRETE)


def summed(parts: Iterable[dict[str, Amount]]) -> dict[str, Amount]:
    """Return the sum of several lists."""
    found: dict[str, Amount] = {}
    for part in parts:
        for material, (amount, unit) in part.items():
            found[material] = (found.get(material, (0.0, unit))[0] + amount, unit)
    return found


def of_patch(job: Job, name: str) -> dict[str, Amount]:
    """Return what a patch takes: amount and unit of each material."""
    return summed([concrete(job, name), surface(job, name), bars(job, name), form(job, name)])


def run_of(runs: Sequence[Run], calculation: Calculation, item: str) -> Run | None:
    """Return the run of a calculation for an item."""
    return next((run for run in runs if run.calculation is calculation and run.item == item), None)


def concrete(job: Job, name: str) -> dict[str, Amount]:
    """Return what goes into the mixer for a patch."""
    found: list[dict[str, Amount]] = []
    loads = job.mix.loads.get(name)
    if loads is None:
        return {}
    for weight in loads.weights:
        if weight.mass is not None:
            found.append({weight.material: (loads.count * float(weight.mass.m_as("kg")), "kg")})
        elif weight.volume is not None:
            found.append({weight.material: (loads.count * float(weight.volume.m_as("mL")), "mL")})
    found.append({WATER: (loads.count * float(loads.batch.m_w.m_as("kg")), "kg")})
    return summed(found)


def surface(job: Job, name: str) -> dict[str, Amount]:
    """Return what a patch takes beside concrete and steel: cut, cover, compound, grout; and what comes out of it."""
    item, found = f"patch {name}", {}
    runs = job.patch.runs
    sides, volume = run_of(runs, patch.patch_limits, item), run_of(runs, patch.patch_volume, item)
    cover, grout = run_of(runs, patch.curing_area, item), run_of(runs, patch.bonding_grout, item)
    if volume:
        found[CONCRETE] = float(volume.result.V_order.m_as("m³")), "m³"
        found[DEBRIS] = float((volume.result.V_placed * job.head.deck.unit_weight).m_as("kg")), "kg"
    if sides:
        found[CUT] = float(sides.result.P_cut.m_as("m")), "m"
    if cover:
        found["wet fabric and sheet"] = float(cover.result.A_c.m_as("m²")), "m²"
    if grout:
        found["bonding grout"] = float(next(iter(grout.results().values())).m_as("L")), "L"
    choice = job.head.curing
    if sides and choice:
        spray = curing.curing_compound(
            A=sides.result.A, P=sides.result.P_cut, w=choice.edge_strip, q=job.limit("compound_coverage").value, n=choice.coats,
            q_w=job.limit("waste").value,
        )  # fmt: skip
        found["curing compound"] = float(spray.V.m_as("L")), "L"
    return found


def bars(job: Job, name: str) -> dict[str, Amount]:
    """Return the bars that are added in a patch."""
    found: list[dict[str, Amount]] = []
    how = job.head.reinforcement
    for row in job.file.rows["bars"]:
        length = job.steel.bar_lengths.get(row.bar)
        added = run_of(job.steel.runs, steel.supplement, f"bar {row.bar}")
        if row.patch == name and how and added and length is not None:
            step, unit = (
                (0.5, "in") if job.system == "US" else (10.0, "mm")
            )  # as it is cut, see the sheet of reinforcement
            cut = registry().Quantity(step * math.ceil(length.m_as(unit) / step - 1e-9), unit)
            count = float(added.result.n.m_as(""))
            found.append({f"bar {how.added_bar}, {how.added_coating}": (count * float(cut.m_as("m")), "m")})
    return summed(found)


def form(job: Job, name: str) -> dict[str, Amount]:
    """Return what the form of a full-depth hole takes from the yard."""
    found: list[dict[str, Amount]] = []
    want = job.head.formwork
    if want and name in job.formwork:
        one = job.formwork[name]
        found += [{f"lumber {lumber}": (float(number), "")} for lumber, number in one.stock.items()]
        found.append({f"panel {one.panel.panel}": (float(one.sheets), "")})
        if one.hanger is not None:
            kind = f"hanger {one.hanger.kind} {one.hanger.hanger}"
            found.append({kind: (one.hangers * one.hanger_length, "m"), "hanger plates": (2.0 * one.hangers, "")})
        found.append({"sealing strip": (one.seal, "m")})
        if one.oil:
            found.append({f"form oil, {want.oil}": (float(one.oil.V.m_as("L")), "L")})
    return summed(found)


def shown(job: Job, amount: float, unit: str) -> str:
    """Print an amount."""
    return job.show(registry().Quantity(amount, unit), KINDS[unit])


def carried(job: Job, loads: dict[str, Amount], spare: float) -> float:
    """Return the mass that goes to the bridge, spare included [kg]: what is weighed, admixtures and bars."""
    liquid = {one.name: float(one.density.m_as("kg/mL")) for one in job.head.mix.admixture}
    how = job.head.reinforcement
    total = 0.0
    for material, (amount, unit) in loads.items():
        if unit == "kg" and material not in NOT_CARRIED:
            total += amount
        elif material in liquid:
            total += amount * liquid[material]
        elif how and material.startswith(f"bar {how.added_bar}"):
            total += amount * float(steel.bar_mass(how.added_bar).m_as("kg/m"))
    return total * (1 + spare)


def mortar(job: Job, name: str) -> int:
    """Return the bags of prepackaged mortar that a patch would take instead of concrete; 0 where it may not."""
    bags = job.mix.mortar.get(name)
    return int(bags.found.n.m_as("")) if bags else 0
