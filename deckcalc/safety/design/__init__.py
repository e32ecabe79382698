"""Safety of the crew: dust, hand-arm vibration, lifting, blasting, water below, slurry; what has a number, with its number."""

from __future__ import annotations

from dataclasses import replace

from deckcalc import safety
from deckcalc.base.context import Context
from deckcalc.base.subject import joined
from deckcalc.closure.design import ClosurePlan
from deckcalc.core import tables, units
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import HandVibration, Quantity, quantity
from deckcalc.patch.design import Patches
from deckcalc.safety.design.results import Bag, Blast, CrewSafety, Held, ToolUse
from deckcalc.safety.design.surroundings import surroundings
from deckcalc.safety.formulas.exposure import VibrationRule
from deckcalc.safety.inputs import HandTool, Inputs

__all__ = ["Bag", "Blast", "CrewSafety", "Held", "ToolUse", "compute", "respirator"]

RULES = [
    Cite("osha-1926-501", "(b)(1): 1.8 m (6 ft)"), Cite("osha-1926-501", "(b)(4): holes", "memory"),
    Cite("osha-1926-502", "(b)(1): top rail; (i): covers, as reproduced in a NIOSH alert"),
    Cite("osha-1926-252", "barricade below: 1.07 m (42 in) high, 1.8 m (6 ft) back"),
    Cite("osha-1926-703", "(a), (b), (e)"), Cite("osha-1926-52"), Cite("osha-1926-1153", "Table 1"),
    Cite("cement-skin", "pH 12 to 13"),
]  # fmt: skip
BLASTING = [Cite("niosh-silica-advice", "2: abrasives"), Cite("wac-296-818", "table 1: respirator, eyes, gloves")]
OVER_WATER = [
    Cite("osha-1926-106", "(a), (c), (d)"),
    Cite("osha-over-water-1999", "life jackets, and falls of 6 ft and more"),
]
SLURRY = [Cite("epa-40-261-22", "(a)(1)"), Cite("hydro-wastewater", "containment and collection")]
EMERGENCY = [Cite("osha-1926-50", "(b), (c), (f), as reproduced and quoted")]


def compute(context: Context[Inputs], patches: Patches, closure: ClosurePlan | None) -> CrewSafety:
    """Work out what has a number; the closure is wanted where a tool runs for as long as one of its steps takes."""
    crew, want = CrewSafety(context, patches=patches, closure=closure), context.inputs.safety
    if want is None:
        return crew
    crew.guarded_from = crew.limit("fall_height").value
    crew.values = vibration_values(crew, want.vibration_rule)
    for one in want.tools:
        crew.tools.append(use(crew, one))
    vibration(crew)
    lifting(crew)
    surroundings(crew)
    row = tables.load("vibration_rules").row("rule", want.vibration_rule)
    crew.notes += [
        "The local safety code, the employer's safety plan and a competent person on site decide; this sheet reminds. Rules quoted are United States "
        "federal rules, for the hand-arm vibration "
        f"those of {want.vibration_rule} ({row['standing']}): where the work is done elsewhere, its own rules hold.",
        "Times are likely times of one worker who stays at the tool through the whole closure; taking turns lowers dose and vibration of each.",
        "The lifting equation is for one person alone; two people on a bag are taken as halves, which is the minimum that each lifts.",
        "Dust of blasting, of dry mixing and of sweeping is not in the table of tools: measure it, or wet it, and wear what the plan says.",
        "On the page for the talk, what is allowed is rounded down and what is borne or wanted is rounded up.",
    ]
    crew.notes += [f"The job does not say: {gap}. Write it on the page before work begins." for gap in crew.missing]
    crew.cites += [*RULES, Cite(row["source"], row["where"])]
    crew.cites += [cite for cites, there in (
        (BLASTING, want.blasting), (OVER_WATER, want.over_water), (SLURRY, want.slurry), (EMERGENCY, want.emergency),
    ) if there for cite in cites]  # fmt: skip
    return crew


def vibration_values(crew: CrewSafety, rule: VibrationRule) -> tuple[Limit, Limit]:
    """Return action and limit value by the rule of the job's country, or as the engineer replaced them."""
    row = tables.load("vibration_rules").row("rule", rule)
    found = []
    for word in ("action", "limit"):
        own = crew.limit(f"vibration_{word}")
        value = units.read(f"{row[f'{word} value [m/s^2]']} m/s^2", HandVibration)
        seen = row["seen"] if word == "action" else "published"
        cite = Cite(row["source"], row["where"], seen)  # type: ignore[arg-type]
        found.append(own if own.origin == "engineer" else replace(own, value=value, source=cite))
    return found[0], found[1]


def use(crew: CrewSafety, one: HandTool) -> ToolUse:
    """Work out respirator and vibration of one tool."""
    hours, item = crew.hours_of(one), f"{one.tool}, {one.step or one.place}"
    factor = crew.run(safety.silica_respirator, item, t=hours, tool=one.tool, place=one.place)
    vibrates = None
    if one.vibration is not None:
        vibrates = crew.run(
            safety.tool_vibration, item, a=one.vibration, t=hours * float(one.trigger.m_as("")),
            **dict(zip(("a_a", "a_l"), (limit.value for limit in crew.values or ()), strict=True)),
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
    item = "hand-arm vibration in the shift"
    crew.shift_vibration = shift = crew.run(safety.shift_vibration, item, A=joined(each)).A_d
    assert crew.values
    for limit, title, why in zip(
        crew.values,
        ("vibration against the action value", "vibration against the limit value"),
        (
            "take turns at the breaker, a damped tool, warm dry gloves, health checks",
            "stop: nobody holds the tools as long as this in one shift",
        ),
        strict=True,
    ):
        crew.checks.append(Check(item, title, shift, limit, "at most", why))


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
    concretes = crew.inputs.mix
    bags = {"bag of cement": concretes.bag} if concretes and concretes.site_mixed else {}
    bags |= {f"bag of {name}": one.bag for name, one in concretes.prepackaged.items()} if concretes else {}
    for name, mass in bags.items():
        made = crew.run(safety.lifting_index, name, m=mass, n=quantity(want.people), RWL=found.RWL)
        crew.bags[name] = Bag(mass, made)
        check_bag(crew, name, want.people)


def check_bag(crew: CrewSafety, name: str, people: int) -> None:
    """Check one bag, and say whether it may be lifted."""
    mass, made = crew.bags[name]
    assert crew.weight_limit is not None
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
        f"{crew.show(mass, units.Mass)}, by {people}: {crew.at_least(made.m_1, units.Mass)} each against "
        f"{crew.at_most(crew.weight_limit, units.Mass)}, lifting index {crew.at_least(made.LI, units.Ratio)}; {word}"
    )
