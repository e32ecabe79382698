"""Safety of the crew: the section of job.toml."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from deckcalc import safety
from deckcalc.base.context import Context
from deckcalc.base.fields import Id, InRange, Strict, Text
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.base.telephone import Telephone, Told
from deckcalc.closure.inputs import Closure, RateRow
from deckcalc.core import tables, units
from deckcalc.core.units import Distance, ExposureHours, Minutes, Quantity
from deckcalc.mix.inputs import Mix
from deckcalc.patch.design import Marked
from deckcalc.safety.formulas.exposure import Place, Tool, VibrationRule
from deckcalc.safety.formulas.lifting import Grip


class Emergency(Strict):
    """What the crew needs to know when somebody is hurt."""

    care: Told = Field(description="nearest emergency care that is open at these hours, with its address")
    travel: Annotated[Quantity, InRange(Minutes, "1 min", "600 min")] = Field(description="time to get there by road")
    numbers: Annotated[dict[Id, Telephone], Field(min_length=1)] = Field(
        description="whom to call, by who it is: ambulance, fire, police, owner ..."
    )
    charge: Told = Field(description="who is in charge on site, and how to reach them")
    first_aid: Told = Field(description="who gives first aid in the shift, and where the kit is")
    access: Told = Field(description="where an ambulance gets to the work: side, station, gate")


class Timed(Strict):
    """Work that lasts as long as a step of the closure, or as stated."""

    step: Id | None = Field(None, description="step of rates.csv whose time in the closure it runs", examples=["saw"])
    hours: Annotated[Quantity | None, InRange(ExposureHours, "0 h", "16 h")] = Field(
        None, description="time in the shift, where it is not that of a step"
    )


class Blasting(Timed):
    """Abrasive blasting of concrete or bars; it is not in the table of tools."""

    abrasive: Text = Field(description="what is blasted with")
    silica: Annotated[Quantity, InRange(units.Share, "0 %", "100 %")] = Field(
        description="crystalline silica in the abrasive, by mass, from its data sheet"
    )
    level: Annotated[Quantity | None, InRange.of(safety.blasting_dust, "C")] = Field(
        None, description="respirable crystalline silica measured in the air at the worker"
    )
    respirator: Text = Field(description="what the blaster wears")
    distance: Annotated[Quantity, InRange(Distance, "1 m", "200 m")] = Field(
        description="to which others are kept away, by the employer's plan"
    )
    shield: Text = Field(description="what stands between the blast, traffic and what lies below")


class OverWater(Strict):
    """Work at an edge or hole over water in which somebody can drown."""

    length: Annotated[Quantity, InRange.of(safety.ring_buoys, "L")] = Field(description="of the edge over water")
    buoys: Annotated[int, Field(ge=0, le=100)] = Field(description="ring buoys that are laid out")
    line: Annotated[Quantity, InRange(Distance, "1 m", "200 m")] = Field(description="on each ring buoy")
    boat: Told = Field(description="rescue boat: where it lies, and who goes")


class SlurryRow(Timed):
    """Wet work that makes slurry."""

    work: Text = Field(description="wet sawing, hydrodemolition ...")
    flow: Annotated[Quantity, InRange.of(safety.slurry, "q")] = Field(description="water fed to blade or jet")
    solids: Annotated[Quantity, InRange.of(safety.slurry, "V_c")] = Field(
        description="concrete cut or taken off as slurry"
    )
    vacuum: Annotated[Quantity, InRange.of(safety.slurry, "r")] = Field(description="share taken up at once")
    tank: Annotated[Quantity, InRange.of(safety.slurry, "V_1")] = Field(description="what one tank holds")
    tanks: Annotated[int, Field(ge=1, le=100)] = Field(description="tanks on site, emptied before the shift")
    ph: Annotated[float | None, Field(ge=0, le=14)] = Field(None, description="pH measured of the settled slurry")
    goes: Text = Field(description="where it is taken")


class HandTool(Timed):
    """A tool that makes dust, held by one worker."""

    tool: Tool = Field(description="tool of the table of dust")
    place: Place = Field(description="outdoors, or enclosed such as under a tent or inside a box girder")
    vibration: Annotated[Quantity | None, InRange.of(safety.tool_vibration, "a")] = Field(
        None, description="vibration total value at the hand, for tools that are held"
    )
    trigger: Annotated[Quantity, InRange(units.Share, "1 %", "100 %")] = Field(
        "100 %", validate_default=True, description="share of the time with the finger on the trigger"
    )


class Lifting(Strict):
    """How bags are lifted."""

    people: Annotated[int, Field(ge=1, le=4)] = Field(description="people who lift a bag together")
    reach: Annotated[Quantity, InRange(units.Length, "10 cm", "63 cm")] = Field(description="hands ahead of the ankles")
    height: Annotated[Quantity, InRange(units.Length, "0 cm", "175 cm")] = Field(
        description="of the hands at the start"
    )
    travel: Annotated[Quantity, InRange(units.Length, "0 cm", "175 cm")] = Field(description="height lifted through")
    twist: Annotated[float, Field(ge=0, le=135)] = Field(0.0, description="of the body, in degrees")
    rate: Annotated[Quantity, InRange.of(safety.lifting_limit.form("SI"), "F")] = Field(description="lifts in a minute")
    hours: Annotated[Quantity, InRange.of(safety.lifting_limit.form("SI"), "t")] = Field(description="of lifting")
    grip: Grip = Field(description="a bag that sags in the middle is poor")


class Safety(Strict):
    """What the safety sheet needs to know of this job."""

    plan: Text = Field(description="the employer's own safety plan, which decides")
    drop: Annotated[Quantity, InRange(Distance, "0 m", "200 m")] = Field(description="from the deck to what lies below")
    water: Text = Field(description="where clean water for eyes and skin stands")
    vibration_rule: VibrationRule = Field(
        "Directive 2002/44/EC", description="rule of the job's country for the hand-arm vibration"
    )
    tools: list[HandTool] = Field(default_factory=list, description="tools that make dust, one entry for each")
    lifting: Lifting | None = None
    emergency: Emergency | None = None
    blasting: Blasting | None = None
    over_water: OverWater | None = None
    slurry: list[SlurryRow] = Field(default_factory=list, description="wet work that makes slurry, one entry for each")
    source: Text = Field(description="where times, vibration and lifting come from")

    @property
    def by_steps(self) -> bool:
        """Whether some work lasts as long as a step of the closure takes."""
        return any(one.hours is None for _, one in self.timed)

    @property
    def timed(self) -> list[tuple[str, Timed]]:
        """Everything that lasts as long as a step or as stated, with its place in job.toml."""
        found: list[tuple[str, Timed]] = [
            (f"safety.tools, number {number} ({one.tool})", one) for number, one in enumerate(self.tools, 1)
        ]
        if self.blasting:
            found.append(("safety.blasting", self.blasting))
        return found + [
            (f"safety.slurry, number {number} ({one.work})", one) for number, one in enumerate(self.slurry, 1)
        ]


SECTIONS = {"safety": Safety}
ROWS: dict[str, type[Strict]] = {}
NEEDS = Needs("safety", ("safety",), (), "safety sheet")
START = Start()


@dataclass(frozen=True)
class Inputs:
    """What the safety of the crew is worked out from: its own section, and those of closure and mix that it counts by."""

    safety: Safety | None
    closure: Closure | None
    rates: list[RateRow]
    mix: Mix | None


def check(context: Context[Inputs], marked: Marked, faults: list[str]) -> None:
    """Check the tools against the steps of the closure and the table of dust, and the bags against lifting by hand."""
    inputs, want = context.inputs, context.inputs.safety
    if want is None:
        return
    steps = {row.step for row in inputs.rates} if inputs.closure else set()
    if inputs.closure and not inputs.rates and want.by_steps:
        faults.append("rates.csv: missing; the tools of the section [safety] run for as long as its steps take")
        return
    for place, one in want.timed:
        where = f"job.toml: {place}"
        if (one.step is None) == (one.hours is None):
            faults.append(f"{where}: wanted either step, a step of rates.csv, or hours")
        elif one.step is not None and inputs.closure is None:
            faults.append(f"{where}.step: the job has no section [closure]; give hours")
        elif one.step is not None and one.step not in steps:
            faults.append(f"{where}.step: rates.csv has no step “{one.step}”")
        if isinstance(one, HandTool) and not tables.load("silica_methods").row("tool", one.tool)[f"{one.place} to 4 h"]:
            faults.append(f"{where}.place: the table of dust has this tool outdoors only")
    for name, product in inputs.mix.prepackaged.items() if inputs.mix else ():
        if want.lifting and float(product.bag.m_as("kg")) > 100:
            faults.append(
                f"job.toml: mix.concretes.{name}.bag: {product.bag:.4g~P} is not lifted by hand; delete safety.lifting"
            )
