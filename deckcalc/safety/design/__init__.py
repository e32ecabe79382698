"""Safety of the crew: dust, noise, vibration of the hands, lifting, edges; what has a number, with its number."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import Field

from deckcalc import safety
from deckcalc.base.fields import Id, Strict, Text, Written
from deckcalc.base.subject import Subject, joined
from deckcalc.core import tables, units
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Distance, ExposureHours, Quantity
from deckcalc.safety.formulas.exposure import Place, Tool
from deckcalc.safety.formulas.lifting import Grip

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.job.file import Head

__all__ = ["ROWS", "SECTIONS", "Safe", "Safety", "carry", "check"]


class HandTool(Strict):
    """A tool that makes dust, held by one worker."""

    tool: Tool = Field(description="tool of the table of dust")
    place: Place = Field(description="outdoors, or enclosed such as under a tent or inside a box girder")
    step: Id | None = Field(None, description="step of rates.csv whose time in the closure it runs")
    hours: Annotated[Quantity | None, Written(ExposureHours, "0 h", "16 h")] = Field(
        None, description="time in the shift, where it is not that of a step"
    )
    vibration: Annotated[Quantity | None, Written.argument(safety.tool_vibration, "a")] = Field(
        None, description="vibration total value at the hand, for tools that are held"
    )
    trigger: Annotated[Quantity, Written(units.Share, "1 %", "100 %")] = Field(
        "100 %", validate_default=True, description="share of the time with the finger on the trigger"
    )


class Lifting(Strict):
    """How bags are lifted."""

    people: Annotated[int, Field(ge=1, le=4)] = Field(description="people who lift a bag together")
    reach: Annotated[Quantity, Written(units.Length, "10 cm", "63 cm")] = Field(description="hands ahead of the ankles")
    height: Annotated[Quantity, Written(units.Length, "0 cm", "175 cm")] = Field(
        description="of the hands at the start"
    )
    travel: Annotated[Quantity, Written(units.Length, "0 cm", "175 cm")] = Field(description="height lifted through")
    twist: Annotated[float, Field(ge=0, le=135)] = Field(0.0, description="of the body, in degrees")
    rate: Annotated[Quantity, Written.argument(safety.lifting_limit.form("SI"), "F")] = Field(
        description="lifts in a minute"
    )
    hours: Annotated[Quantity, Written.argument(safety.lifting_limit.form("SI"), "t")] = Field(description="of lifting")
    grip: Grip = Field(description="a bag that sags in the middle is poor")


class Safety(Strict):
    """What the safety sheet needs to know of this job."""

    plan: Text = Field(description="the employer's own safety plan, which decides")
    drop: Annotated[Quantity, Written(Distance, "0 m", "200 m")] = Field(description="from the deck to what lies below")
    below: Text = Field(description="what lies below: water, road, ground")
    water: Text = Field(description="where clean water for eyes and skin stands")
    tools: list[HandTool] = Field(default_factory=list)
    lifting: Lifting | None = None
    source: Text = Field(description="where times, vibration and lifting come from")


SECTIONS = {"safety": Safety}
ROWS: dict[str, type[Strict]] = {}


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold the tools against the steps of the closure and the table of dust."""
    want = head.safety
    if want is None:
        return
    steps = {row.step for row in rows["rates"]} if head.closure else set()
    for number, one in enumerate(want.tools, 1):
        where = f"job.toml: safety.tools, number {number} ({one.tool})"
        if (one.step is None) == (one.hours is None):
            faults.append(f"{where}: wanted either step, a step of rates.csv, or hours")
        elif one.step is not None and head.closure is None:
            faults.append(f"{where}.step: the job has no section [closure]; give hours")
        elif one.step is not None and one.step not in steps:
            faults.append(f"{where}.step: rates.csv has no step “{one.step}”")
        if not tables.load("silica_methods").row("tool", one.tool)[f"{one.place} to 4 h"]:
            faults.append(f"{where}.place: the table of dust has this tool outdoors only")
    if head.mix.mortar and want.lifting and float(head.mix.mortar.bag.m_as("kg")) > 100:
        faults.append(
            f"job.toml: mix.mortar.bag: {head.mix.mortar.bag:.4g~P} is not lifted by hand; delete safety.lifting"
        )


@dataclass(frozen=True)
class Dust:
    """One tool: how it is used and what it asks for.

    Attributes
    ----------
    tool : HandTool
    method : str
        Of the table.
    hours : Quantity
    factor : Quantity
        Assigned protection factor of the respirator, 0 for none.
    seen : str
        Whether the row was read or recalled.
    vibration : object or None
        Result of `safety.tool_vibration`.
    """

    tool: HandTool
    method: str
    hours: Quantity
    factor: Quantity
    seen: str
    vibration: Any = None


@dataclass
class Safe(Subject):
    """Safety as worked out.

    Attributes
    ----------
    choice : Safety or None
    dust : list of Dust
    shift : Quantity or None
        Vibration of the hands of one worker who holds all tools.
    bags : dict of tuple
        By bag: its mass, and the result of `safety.lifting_index`.
    limit : Quantity or None
        Mass that one person may lift.
    holes : list of str
        Patches that go through.
    """

    key: ClassVar = "safety"
    title: ClassVar = "Safety"
    choice: Safety | None = None
    dust: list[Dust] = field(default_factory=list)
    shift: Quantity | None = None
    bags: dict[str, tuple[Quantity, Any]] = field(default_factory=dict)
    limit: Quantity | None = None
    holes: list[str] = field(default_factory=list)


def carry(job: Job) -> Safe:
    """Work out what has a number."""
    subject = Safe(job)
    subject.choice = want = job.head.safety
    subject.holes = [one.name for one in job.patch if one.full]
    if want is None:
        return subject
    for one in want.tools:
        use(job, subject, one)
    vibration(job, subject)
    lift(job, subject)
    subject.notes += [
        "The local safety code, the employer's safety plan and a competent person on site decide; this sheet reminds. Rules quoted are United States "
        "federal rules, with the European directive for vibration: where the work is done elsewhere, its own rules hold.",
        "Times are likely times of one worker who stays at the tool through the whole closure; taking turns lowers dose and vibration of each.",
        "The lifting equation is for one person alone; two people on a bag are taken as halves, which is the least that each lifts.",
        "Dust of blasting, of dry mixing and of sweeping is not in the table of tools: measure it, or wet it, and wear what the plan says.",
    ]
    subject.cites += RULES
    return subject


RULES = [
    Cite("osha-1926-501", "(b)(1): 1.8 m (6 ft)"), Cite("osha-1926-501", "(b)(4): holes", "memory"),
    Cite("osha-1926-502", "(b)(1): top rail; (i): covers, as reproduced in a NIOSH alert"),
    Cite("osha-1926-252", "barricade below: 1.07 m (42 in) high, 1.8 m (6 ft) back"),
    Cite("osha-1926-703", "(a), (b), (e)"), Cite("osha-1926-52"), Cite("osha-1926-1153", "Table 1"),
    Cite("eu-2002-44"), Cite("cement-skin", "pH 12 to 13"),
]  # fmt: skip


def hours_of(job: Job, one: HandTool) -> Quantity:
    """Return the time that a tool runs in the shift: as stated, or that of its step in the closure."""
    if one.hours is not None:
        return one.hours
    assert job.closure.network
    total = sum(step.likely for step in job.closure.network.steps if step.name.split(" ")[0] == one.step)
    return units.registry().Quantity(total / 60, "h")


def use(job: Job, subject: Safe, one: HandTool) -> None:
    """Respirator and vibration of one tool."""
    hours, item = hours_of(job, one), f"{one.tool}, {one.step or one.place}"
    factor = subject.run(safety.silica_respirator, item, t=hours, tool=one.tool, place=one.place)
    shaken = None
    if one.vibration is not None:
        shaken = subject.run(
            safety.tool_vibration, item, a=one.vibration, t=hours * float(one.trigger.m_as("")),
            a_a=job.limit("vibration_action").value, a_l=job.limit("vibration_limit").value,
        )  # fmt: skip
    row = tables.load("silica_methods").row("tool", one.tool)
    subject.dust.append(Dust(one, row["method"], hours, factor, row["seen"], shaken))
    subject.decisions[item] = f"{row['method']}; {mask(factor)}"


def mask(factor: Quantity) -> str:
    """Say which respirator is asked for."""
    least = int(factor.magnitude)
    return f"respirator with a protection factor of {least} or more" if least else "no respirator by the table"


def vibration(job: Job, subject: Safe) -> None:
    """Hold the vibration of the shift against action and limit value."""
    held = [one.vibration.A_8 for one in subject.dust if one.vibration is not None]
    if not held:
        return
    subject.shift = subject.run(safety.shift_vibration, "hands in the shift", A=joined(held)).A_d
    for key, title, why in (
        ("vibration_action", "vibration against the action value", "take turns at the breaker, a damped tool, warm dry gloves, health checks"),
        ("vibration_limit", "vibration against the limit value", "stop: nobody holds the tools as long as this in one shift"),
    ):  # fmt: skip
        subject.checks.append(Check("hands in the shift", title, subject.shift, job.limit(key), "at most", why))


def lift(job: Job, subject: Safe) -> None:
    """Hold every bag of the job against what one person may lift."""
    want = subject.choice.lifting if subject.choice else None
    if want is None:
        return
    one = safety.lifting_limit.form(job.system)
    q = units.registry().Quantity
    found = subject.run(
        one, "bags", H=want.reach, V=want.height, D=want.travel, A=q(want.twist, ""), F=want.rate, t=want.hours,
        grip=want.grip,
    )  # fmt: skip
    subject.limit = found.RWL
    limit = Limit("lifting_index", "lifting index for nearly all healthy workers", q(1.0, ""), units.kind_of(units.Ratio),
                  Cite("niosh-94-110", "lifting index"))  # fmt: skip
    bags = {"bag of cement": job.head.mix.bag}
    if job.head.mix.mortar:
        bags["bag of repair mortar"] = job.head.mix.mortar.bag
    for name, mass in bags.items():
        made = subject.run(safety.lifting_index, name, m=mass, n=q(want.people, ""), RWL=found.RWL)
        subject.bags[name] = (mass, made)
        held = Check(
            name, f"lifting index, lifted by {want.people}", made.LI, limit, "at most",
            "hoist or slide it, raise the pallet, or open it where it lies and carry less",
        )  # fmt: skip
        subject.checks.append(held)
        word = (
            "may be lifted so"
            if held.verdict == SATISFIED
            else "not to be lifted so: hoist, slide, or carry less at a time"
        )
        subject.decisions[name] = (
            f"{job.show(mass, units.Mass)}, by {want.people}: {job.show(made.m_1, units.Mass)} each against "
            f"{job.show(found.RWL, units.Mass)}, lifting index {job.show(made.LI, units.Ratio)}; {word}"
        )
