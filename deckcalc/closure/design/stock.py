"""The load list per patch, per night and for the job, in containers as they are sold; tools with their limits; trucks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from deckcalc import closure
from deckcalc.base.fields import JobError
from deckcalc.base.subject import Material
from deckcalc.closure.design.loads import KINDS, bags_of_patch, is_cement, mass_of, measured, of_patch
from deckcalc.closure.design.results import (
    DEBRIS,
    NOT_CARRIED,
    Amount,
    ClosurePlan,
    Loads,
    StockLine,
    Timetable,
    ToolDesign,
    TruckDesign,
    summed,
)
from deckcalc.closure.design.steps import steps_of
from deckcalc.closure.formulas.critical_path import Step
from deckcalc.closure.inputs import THROUGHOUT, ToolRow
from deckcalc.core import units
from deckcalc.core.check import Check, Limit, Sense
from deckcalc.core.units import FuelRate, Quantity, quantity


def load_list(plan: ClosurePlan, names: Sequence[str]) -> None:
    """List what every patch takes, and what every closure takes beside its patches."""
    steps = steps_of(plan, names)
    for name in names:
        extra: list[Loads] = []
        for tool in plan.inputs.equipment:
            if tool.burns and tool.uses != THROUGHOUT:
                extra.append({tool.fuel: burnt(tool, hours_of(steps, tool.uses, name))})
        for row in plan.inputs.stock:
            if row.per == "area of patch":
                mass = row.by_area() * quantity(measured(plan, name)["area"], "m²")
                extra.append({row.material: Amount(float(mass.m_as("kg")), "kg")})
        plan.loads[name] = summed([of_patch(plan, name), *extra])
    plan.of_closure = {night.name: of_closure(plan, night) for night in plan.planned}


def hours_of(steps: Sequence[Step], crew: str, group: str) -> float:
    """Return the hours that a crew or plant is at work for a patch, or, with an empty group, for the closure itself."""
    return sum(step.likely for step in steps if crew in step.uses and step.group == group) / 60


def burnt(row: ToolRow, hours: float) -> Amount:
    """Return the fuel for so many hours."""
    fuel = closure.fuel(quantity(float(hours), "h"), units.read(row.burns, FuelRate))
    return Amount(float(fuel.m_as("L")), "L")


def of_closure(plan: ClosurePlan, night: Timetable) -> Loads:
    """Return the fuel for as long as a closure lasts, and for steps that belong to no patch."""
    parts: list[Loads] = []
    for row in plan.inputs.equipment:
        if row.burns:
            hours = night.length / 60 if row.uses == THROUGHOUT else hours_of(night.network.steps, row.uses, "")
            parts.append({row.fuel: burnt(row, hours)})
    return summed(parts)


def of_job(plan: ClosurePlan) -> Loads:
    """Return what all nights take, what is weighed first."""
    found, order = summed(plan.loads_of(night) for night in plan.planned), list(KINDS)
    last = len(order)
    return dict(sorted(found.items(), key=lambda item: last if item[0] in NOT_CARRIED else order.index(item[1].unit)))


def stocked(plan: ClosurePlan, material: str) -> tuple[str, Any, str, bool]:
    """Return container, contents and source of a material, and whether it keeps; an empty container if it is loose."""
    row = next((row for row in plan.inputs.stock if row.material == material), None)
    if row is not None:
        return row.container, row.contents, f"{row.source}, {row.date.isoformat()}", row.keeps == "yes"
    for one in plan.trades.mix.prepackaged:
        if material == one.bag_item:
            return "bag", one.concrete.bag, "job file", True
    return ("bag", plan.trades.mix.inputs.mix.bag, "job file", False) if is_cement(material) else ("", None, "", True)


def contained(plan: ClosurePlan, material: str, amount: Amount) -> dict[str, Quantity]:
    """Return amount, spare and contents of one container, as `closure.containers` takes them, in the unit of the contents.

    Raises
    ------
    JobError
        If the contents are not of the kind of the amount.
    """
    _, contents, _, _ = stocked(plan, material)
    try:
        number = quantity(*amount).m_as(contents.units)
    except Exception:
        raise JobError(
            [f"stock.csv, material {material}, column contents: found “{contents:~P}”, the load list counts it in "
             f"{amount.unit or 'pieces'}"]
        ) from None  # fmt: skip
    return {"q": quantity(float(number)), "s": plan.section.spare, "c": quantity(float(contents.magnitude))}


def containers(plan: ClosurePlan) -> None:
    """Put the materials of each night into whole containers, then check tools and trucks.

    What does not keep once it is opened is not counted on for the next night: the job takes the sum of the nights'.
    """
    packaged = {design.bag_item for design in plan.trades.mix.prepackaged}
    nights = {night.name: plan.loads_of(night) for night in plan.planned}
    for material, amount in of_job(plan).items():
        container, contents, source, keeps = stocked(plan, material)
        number, by_night = 0, {}
        if container and material not in NOT_CARRIED:
            for name, loads in nights.items():
                if material in loads:
                    made = plan.run(
                        closure.containers, f"{material}, {name}", **contained(plan, material, loads[material])
                    )
                    by_night[name] = max(round(made.n.m_as("")), bags_of_night(plan, material, name))
            number = sum(by_night.values())
            if keeps:
                made = plan.run(closure.containers, f"{material}, the job", **contained(plan, material, amount))
                number = round(made.n.m_as(""))
        line = StockLine(material, amount, container, contents, number, by_night, source, keeps)
        plan.stock.append(line)
        if is_cement(material) and container:
            spare = (
                f"opened batch by batch, whole; more only where that leaves less than the spare of "
                f"{plan.show(plan.section.spare, units.Share, 0)} in a closure"
            )
            plan.materials.append(
                Material(f"Of it, {material} to load", f"{line.number} {container}s", spare, "07 Closure")
            )
        elif container and material in packaged:
            spare = f"with the spare of {plan.show(plan.section.spare, units.Share, 0)}, closure by closure"
            plan.materials.append(
                Material(f"To load by the plan: {material}", f"{line.number} {container}s", spare, "07 Closure")
            )
    known = [line.material for line in plan.stock]
    idle = [row.material for row in plan.inputs.stock if row.material not in known]
    if idle:
        plan.notes.append(f"stock.csv names what this job does not take: {', '.join(idle)}.")
    for row in plan.inputs.equipment:
        plan.tools.append(tool(plan, row))
    trucks(plan)


def bags_of_night(plan: ClosurePlan, material: str, name: str) -> int:
    """Return the bags of a cement that the patches of a night open, batch by batch; 0 for all else."""
    night = next(one for one in plan.planned if one.name == name)
    return sum(bags_of_patch(plan, patch, material) for patch in night.patches) if is_cement(material) else 0


def loaded(plan: ClosurePlan, night: str) -> Loads:
    """Return what is loaded for a night, spare included: in whole containers what comes in them."""
    found: Loads = {}
    loads = next(plan.loads_of(one) for one in plan.planned if one.name == night)
    for line in plan.stock:
        if line.material not in loads:
            continue
        amount = loads[line.material]
        number = plan.with_spare(line.material, amount)
        if line.contents is not None and line.by_night.get(night):
            number = line.by_night[night] * float(line.contents.m_as(amount.unit))
        found[line.material] = Amount(number, amount.unit)
    return found


def tool(plan: ClosurePlan, row: ToolRow) -> ToolDesign:
    """Check a tool against its limit, and work out its fuel."""
    limit, value = plan.limit(row.limit) if row.limit else None, None
    if limit is not None:
        sense: Sense = "at least" if limit.meaning.startswith("minimum") else "at most"
        value = units.read(row.value, limit.kind)
        plan.checks.append(Check(f"tool {row.tool}", row.work, value, limit, sense, "take another tool"))
    if not row.uses:
        return ToolDesign(row, limit, value)
    hours = sum(one.length if row.uses == THROUGHOUT else one.busy(row.uses) for one in plan.planned) / 60
    if not row.burns:
        return ToolDesign(row, limit, value, hours)
    rate = units.read(row.burns, FuelRate)
    fuel = plan.run(closure.fuel, f"{row.tool}, all closures", t=quantity(float(hours), "h"), r=rate)
    return ToolDesign(row, limit, value, hours, fuel)


def trucks(plan: ClosurePlan) -> None:
    """Check what is carried to the bridge against the trucks, and count the loads of concrete debris."""
    want = plan.section
    if want.payload is None:
        return
    there = Limit("trucks", "trucks", quantity(float(want.trucks)), units.kind_of(units.Count), want.source)
    for night in plan.planned:
        loads = loaded(plan, night.name)
        carried = sum(mass_of(plan, material, amount) for material, amount in loads.items())
        parts = {"materials": carried, "concrete debris": loads[DEBRIS].number}
        for what, number in parts.items():
            item, mass = f"{night.name}, {what}", quantity(float(number), "kg")
            found = plan.run(closure.truck_loads, item, m=mass, m_1=want.payload)
            plan.trucks.append(TruckDesign(item, mass, found))
            if what == "materials":
                plan.checks.append(
                    Check(night.name, "truck loads of materials, whole containers", found.n, there, "at most",
                          "another truck, a second run, or less in one night")
                )  # fmt: skip
