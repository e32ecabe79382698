"""The load list in whole containers, per patch, per night and for the job; tools with their limits; mass against trucks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from deckcalc import closure
from deckcalc.base.fields import JobError
from deckcalc.closure.design import loads as load_list
from deckcalc.closure.design.loads import Amount
from deckcalc.closure.design.nights import Night
from deckcalc.closure.design.steps import amounts, q, steps_of
from deckcalc.closure.formulas.critical_path import Step
from deckcalc.closure.inputs import WHOLE, StockRow, ToolRow
from deckcalc.core import units
from deckcalc.core.check import Check, Limit, Sense
from deckcalc.core.units import FuelRate, Quantity, registry

if TYPE_CHECKING:
    from deckcalc.closure.design import Plan
    from deckcalc.job import Job


@dataclass(frozen=True)
class Line:
    """One material of the job.

    Attributes
    ----------
    material, unit : str
    amount : float
        Without spare.
    container : str
        What it comes in; empty if it is loose.
    contents : Quantity or None
    number : int
        Containers of the job, spare included; 0 if it is loose.
    source : str
    """

    material: str
    unit: str
    amount: float
    container: str = ""
    contents: Any = None
    number: int = 0
    source: str = ""


@dataclass(frozen=True)
class Tool:
    """One line of the equipment list: the row, its limit if it has one, and hours and fuel of this closure."""

    row: ToolRow
    limit: Limit | None
    hours: float = 0.0
    fuel: Any = None


def gather(job: Job, subject: Plan, names: Sequence[str]) -> None:
    """Gather what every patch takes, fuel and what is reckoned by area included."""
    steps = steps_of(job, subject, names)
    for name in names:
        extra: list[dict[str, Amount]] = []
        for row in job.file.rows["equipment"]:
            if row.burns and row.uses != WHOLE:
                extra.append({row.fuel: (burnt(row, hours_of(steps, row.uses, name)), "L")})
        for row in job.file.rows["stock"]:
            if row.per == "area of patch":
                mass = row.by_area() * registry().Quantity(amounts(job, name)["area"], "m²")
                extra.append({row.material: (float(mass.m_as("kg")), "kg")})
        subject.loads[name] = load_list.summed([load_list.of_patch(job, name), *extra])


def hours_of(steps: Sequence[Step], crew: str, group: str) -> float:
    """Return the hours that a crew or plant is at work for a patch, or, with an empty group, for the closure itself."""
    return sum(step.likely for step in steps if crew in step.uses and step.group == group) / 60


def burnt(row: ToolRow, hours: float) -> float:
    """Return fuel for so many hours [L]."""
    return float(closure.fuel(q(hours, "h"), units.read(row.burns, FuelRate)).m_as("L"))


def of_closure(job: Job, subject: Plan) -> dict[str, Amount]:
    """Return what a closure takes whatever its patches: fuel for as long as it lasts, and for steps that are no patch's."""
    assert subject.tonight
    parts: list[dict[str, Amount]] = []
    for row in job.file.rows["equipment"]:
        if row.burns:
            hours = subject.length / 60 if row.uses == WHOLE else hours_of(subject.tonight.network.steps, row.uses, "")
            parts.append({row.fuel: (burnt(row, hours), "L")})
    return load_list.summed(parts)


def of_night(job: Job, subject: Plan, night: Night) -> dict[str, Amount]:
    """Return what one night takes."""
    return load_list.summed([*(subject.loads[name] for name in night.patches), of_closure(job, subject)])


def of_job(job: Job, subject: Plan) -> dict[str, Amount]:
    """Return what all nights take, what is weighed first; tonight alone where no spread over nights was found."""
    found = load_list.summed(of_night(job, subject, night) for night in nights(subject))
    order = list(load_list.KINDS)
    last = len(order)
    return dict(
        sorted(found.items(), key=lambda item: last if item[0] in load_list.NOT_CARRIED else order.index(item[1][1]))
    )


def nights(subject: Plan) -> list[Night]:
    """Return the nights that are planned."""
    return subject.each or ([subject.tonight] if subject.tonight else [])


def stocked(job: Job, material: str) -> tuple[str, Any, str]:
    """Return container, contents and source of a material; an empty container if it is loose."""
    row: StockRow | None = next((row for row in job.file.rows["stock"] if row.material == material), None)
    if row is not None:
        return row.container, row.contents, f"{row.source}, {row.date.isoformat()}"
    return ("bag", job.head.mix.bag, "job file") if material.startswith("cement") else ("", None, "")


def contained(job: Job, material: str, amount: float, unit: str) -> tuple[Quantity, Quantity, Quantity]:
    """Return amount, spare and contents of one container, as plain numbers in the unit of the contents.

    Raises
    ------
    JobError
        If the contents are not of the kind of the amount.
    """
    _, contents, _ = stocked(job, material)
    try:
        much = registry().Quantity(amount, unit).m_as(contents.units)
    except Exception:
        raise JobError(
            [f"stock.csv, material {material}, column contents: found “{contents:~P}”, the load list counts it in "
             f"{unit or 'pieces'}"]
        ) from None  # fmt: skip
    assert job.head.closure
    return q(much), job.head.closure.spare, q(contents.magnitude)


def carry(job: Job, subject: Plan) -> None:
    """Put the materials of the job into whole containers, hold tools against limits and mass against trucks."""
    for material, (amount, unit) in of_job(job, subject).items():
        container, contents, source = stocked(job, material)
        number = 0
        if container and material not in load_list.NOT_CARRIED:
            much, spare, each = contained(job, material, amount, unit)
            number = int(subject.run(closure.containers, f"{material}, the job", q=much, s=spare, c=each).n.m_as(""))
        subject.stock.append(Line(material, unit, amount, container, contents, number, source))
    known = [line.material for line in subject.stock]
    idle = [row.material for row in job.file.rows["stock"] if row.material not in known]
    if idle:
        subject.notes.append(f"stock.csv names what this job does not take: {', '.join(idle)}.")
    for row in job.file.rows["equipment"]:
        subject.tools.append(tool(job, subject, row))
    trucks(job, subject)


def tool(job: Job, subject: Plan, row: ToolRow) -> Tool:
    """Hold a tool against its limit, and reckon its fuel."""
    assert subject.tonight
    limit = job.limit(row.limit) if row.limit else None
    if limit is not None:
        sense: Sense = "at least" if limit.meaning.startswith("least") else "at most"
        value = units.read(row.value, limit.kind)
        subject.checks.append(Check(f"tool {row.tool}", row.work, value, limit, sense, "take another tool"))
    if not row.uses:
        return Tool(row, limit)
    hours = subject.length / 60 if row.uses == WHOLE else subject.tonight.busy(row.uses) / 60
    if not row.burns:
        return Tool(row, limit, hours)
    burns = units.read(row.burns, FuelRate)
    fuel = subject.run(closure.fuel, f"{row.tool}, this closure", t=q(hours, "h"), r=burns)
    return Tool(row, limit, hours, fuel)


def trucks(job: Job, subject: Plan) -> None:
    """Hold what is carried to and from the bridge against the trucks."""
    want = subject.choice
    assert want
    if want.payload is None:
        return
    there = Limit("trucks", "trucks", q(want.trucks), units.kind_of(units.Count), want.source)
    spare = float(want.spare.m_as(""))
    for night in nights(subject):
        loads = of_night(job, subject, night)
        parts = {"materials": load_list.carried(job, loads, spare), "old concrete": loads[load_list.DEBRIS][0]}
        for what, mass in parts.items():
            found = subject.run(closure.truck_loads, f"{night.name}, {what}", m=q(mass, "kg"), m_1=want.payload)
            if what == "materials":
                subject.checks.append(
                    Check(night.name, "truck loads of materials, spare included", found.n, there, "at most",
                          "another truck, a second run, or less in one night")
                )  # fmt: skip
