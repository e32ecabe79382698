"""Safety of the crew: dust, vibration of the hands, lifting; what has a number, with its number."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar, NamedTuple

from deckcalc import safety
from deckcalc.base.context import Context
from deckcalc.base.subject import Subject, joined
from deckcalc.closure.design import ClosurePlan
from deckcalc.core import tables, units
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Quantity, quantity
from deckcalc.patch.design import Patches
from deckcalc.safety.formulas.exposure import ToolVibration
from deckcalc.safety.formulas.lifting import Index
from deckcalc.safety.inputs import HandTool, Inputs

__all__ = ["Bag", "CrewSafety", "ToolUse", "compute", "respirator"]

RULES = [
    Cite("osha-1926-501", "(b)(1): 1.8 m (6 ft)"), Cite("osha-1926-501", "(b)(4): holes", "memory"),
    Cite("osha-1926-502", "(b)(1): top rail; (i): covers, as reproduced in a NIOSH alert"),
    Cite("osha-1926-252", "barricade below: 1.07 m (42 in) high, 1.8 m (6 ft) back"),
    Cite("osha-1926-703", "(a), (b), (e)"), Cite("osha-1926-52"), Cite("osha-1926-1153", "Table 1"),
    Cite("eu-2002-44"), Cite("cement-skin", "pH 12 to 13"),
]  # fmt: skip


@dataclass(frozen=True)
class ToolUse:
    """How one tool is used, and what it asks for.

    Attributes
    ----------
    tool : HandTool
    method : str
        Of the table of dust.
    hours : Quantity
        In the shift.
    factor : Quantity
        Assigned protection factor of the respirator, 0 for none.
    seen : str
        Whether the row of the table was read or recalled.
    vibration : ToolVibration or None
        Result of `safety.tool_vibration`.
    """

    tool: HandTool
    method: str
    hours: Quantity
    factor: Quantity
    seen: str
    vibration: ToolVibration | None = None


class Bag(NamedTuple):
    """Mass of a bag, and the result of `safety.lifting_index`."""

    mass: Quantity
    lifting: Index


@dataclass
class CrewSafety(Subject[Inputs]):
    """Safety of the crew as worked out.

    Attributes
    ----------
    patches : Patches
    closure : ClosurePlan or None
        None where no tool runs for as long as a step of it takes.
    tools : list of ToolUse
    shift_vibration : Quantity or None
        Vibration of the hands of one worker who uses all tools.
    bags : dict of Bag
        By what the bag is called.
    weight_limit : Quantity or None
        Mass that one person may lift.
    """

    key: ClassVar = "safety"
    title: ClassVar = "Safety"
    patches: Patches = field(kw_only=True)
    closure: ClosurePlan | None = field(kw_only=True)
    tools: list[ToolUse] = field(default_factory=list)
    shift_vibration: Quantity | None = None
    bags: dict[str, Bag] = field(default_factory=dict)
    weight_limit: Quantity | None = None

    @property
    def holes(self) -> list[str]:
        """Patches that go through."""
        return [one.name for one in self.patches if one.full]


def compute(context: Context[Inputs], patches: Patches, closure: ClosurePlan | None) -> CrewSafety:
    """Work out what has a number; the closure is wanted where a tool runs for as long as one of its steps takes."""
    crew, want = CrewSafety(context, patches=patches, closure=closure), context.inputs.safety
    if want is None:
        return crew
    for one in want.tools:
        crew.tools.append(use(crew, one))
    vibration(crew)
    lifting(crew)
    crew.notes += [
        "The local safety code, the employer's safety plan and a competent person on site decide; this sheet reminds. Rules quoted are United States "
        "federal rules, with the European directive for vibration: where the work is done elsewhere, its own rules hold.",
        "Times are likely times of one worker who stays at the tool through the whole closure; taking turns lowers dose and vibration of each.",
        "The lifting equation is for one person alone; two people on a bag are taken as halves, which is the least that each lifts.",
        "Dust of blasting, of dry mixing and of sweeping is not in the table of tools: measure it, or wet it, and wear what the plan says.",
    ]
    crew.cites += RULES
    return crew


def hours_of(crew: CrewSafety, one: HandTool) -> Quantity:
    """Return the time that a tool runs in the shift: as stated, or that of its step in the closure."""
    if one.hours is not None:
        return one.hours
    assert crew.closure and one.step
    return quantity(max((night.spent(one.step) for night in crew.closure.planned), default=0.0) / 60, "h")


def use(crew: CrewSafety, one: HandTool) -> ToolUse:
    """Work out respirator and vibration of one tool."""
    hours, item = hours_of(crew, one), f"{one.tool}, {one.step or one.place}"
    factor = crew.run(safety.silica_respirator, item, t=hours, tool=one.tool, place=one.place)
    vibrates = None
    if one.vibration is not None:
        vibrates = crew.run(
            safety.tool_vibration, item, a=one.vibration, t=hours * float(one.trigger.m_as("")),
            a_a=crew.limit("vibration_action").value, a_l=crew.limit("vibration_limit").value,
        )  # fmt: skip
    row = tables.load("silica_methods").row("tool", one.tool)
    crew.decisions[item] = f"{row['method']}; {respirator(factor)}"
    return ToolUse(one, row["method"], hours, factor, row["seen"], vibrates)


def respirator(factor: Quantity) -> str:
    """Say which respirator is asked for."""
    least = int(factor.magnitude)
    return f"respirator with a protection factor of {least} or more" if least else "no respirator by the table"


def vibration(crew: CrewSafety) -> None:
    """Check the vibration of the shift against action and limit value."""
    each = [one.vibration.A_8 for one in crew.tools if one.vibration is not None]
    if not each:
        return
    item = "hands in the shift"
    crew.shift_vibration = shift = crew.run(safety.shift_vibration, item, A=joined(each)).A_d
    for key, title, why in (
        ("vibration_action", "vibration against the action value", "take turns at the breaker, a damped tool, warm dry gloves, health checks"),
        ("vibration_limit", "vibration against the limit value", "stop: nobody holds the tools as long as this in one shift"),
    ):  # fmt: skip
        crew.checks.append(Check(item, title, shift, crew.limit(key), "at most", why))


def lifting(crew: CrewSafety) -> None:
    """Check every bag of the job against what one person may lift."""
    want = crew.inputs.safety.lifting if crew.inputs.safety else None
    if want is None:
        return
    equation = safety.lifting_limit.form(crew.system)
    found = crew.run(
        equation, "bags", H=want.reach, V=want.height, D=want.travel, A=quantity(want.twist), F=want.rate, t=want.hours,
        grip=want.grip,
    )  # fmt: skip
    crew.weight_limit = found.RWL
    bags, mortar = {"bag of cement": crew.inputs.mix.bag}, crew.inputs.mix.mortar
    if mortar:
        bags["bag of repair mortar"] = mortar.bag
    for name, mass in bags.items():
        made = crew.run(safety.lifting_index, name, m=mass, n=quantity(want.people), RWL=found.RWL)
        crew.bags[name] = Bag(mass, made)
        check_bag(crew, name, want.people)


def check_bag(crew: CrewSafety, name: str, people: int) -> None:
    """Check one bag, and say whether it may be lifted."""
    mass, made = crew.bags[name]
    limit = Limit("lifting_index", "lifting index for nearly all healthy workers", quantity(1.0), units.kind_of(units.Ratio),
                  Cite("niosh-94-110", "lifting index"))  # fmt: skip
    found = Check(
        name, f"lifting index, lifted by {people}", made.LI, limit, "at most",
        "hoist or slide it, raise the pallet, or open it where it lies and carry less",
    )  # fmt: skip
    crew.checks.append(found)
    word = (
        "may be lifted so"
        if found.verdict == SATISFIED
        else "not to be lifted so: hoist, slide, or carry less at a time"
    )
    crew.decisions[name] = (
        f"{crew.show(mass, units.Mass)}, by {people}: {crew.show(made.m_1, units.Mass)} each against "
        f"{crew.show(crew.weight_limit, units.Mass)}, lifting index {crew.show(made.LI, units.Ratio)}; {word}"
    )
