"""Safety of the crew: the section of job.toml."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from deckcalc import safety
from deckcalc.base.context import Context
from deckcalc.base.fields import Id, InRange, Strict, Text
from deckcalc.closure.inputs import Closure, RateRow
from deckcalc.core import tables, units
from deckcalc.core.units import Distance, ExposureHours, Quantity
from deckcalc.mix.inputs import Mix
from deckcalc.patch.design import Marked
from deckcalc.safety.formulas.exposure import Place, Tool
from deckcalc.safety.formulas.lifting import Grip


class HandTool(Strict):
    """A tool that makes dust, held by one worker."""

    tool: Tool = Field(description="tool of the table of dust")
    place: Place = Field(description="outdoors, or enclosed such as under a tent or inside a box girder")
    step: Id | None = Field(None, description="step of rates.csv whose time in the closure it runs")
    hours: Annotated[Quantity | None, InRange(ExposureHours, "0 h", "16 h")] = Field(
        None, description="time in the shift, where it is not that of a step"
    )
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
    below: Text = Field(description="what lies below: water, road, ground")
    water: Text = Field(description="where clean water for eyes and skin stands")
    tools: list[HandTool] = Field(default_factory=list)
    lifting: Lifting | None = None
    source: Text = Field(description="where times, vibration and lifting come from")

    @property
    def by_steps(self) -> bool:
        """Whether a tool runs for as long as a step of the closure takes."""
        return any(one.hours is None for one in self.tools)


SECTIONS = {"safety": Safety}
ROWS: dict[str, type[Strict]] = {}


@dataclass(frozen=True)
class Inputs:
    """What the safety of the crew is worked out from: its own section, and those of closure and mix that it counts by."""

    safety: Safety | None
    closure: Closure | None
    rates: list[RateRow]
    mix: Mix


def check(context: Context[Inputs], marked: Marked, faults: list[str]) -> None:
    """Check the tools against the steps of the closure and the table of dust, and the bags against lifting by hand."""
    inputs, want = context.inputs, context.inputs.safety
    if want is None:
        return
    steps = {row.step for row in inputs.rates} if inputs.closure else set()
    for number, one in enumerate(want.tools, 1):
        where = f"job.toml: safety.tools, number {number} ({one.tool})"
        if (one.step is None) == (one.hours is None):
            faults.append(f"{where}: wanted either step, a step of rates.csv, or hours")
        elif one.step is not None and inputs.closure is None:
            faults.append(f"{where}.step: the job has no section [closure]; give hours")
        elif one.step is not None and one.step not in steps:
            faults.append(f"{where}.step: rates.csv has no step “{one.step}”")
        if not tables.load("silica_methods").row("tool", one.tool)[f"{one.place} to 4 h"]:
            faults.append(f"{where}.place: the table of dust has this tool outdoors only")
    mortar = inputs.mix.mortar
    if mortar and want.lifting and float(mortar.bag.m_as("kg")) > 100:
        faults.append(f"job.toml: mix.mortar.bag: {mortar.bag:.4g~P} is not lifted by hand; delete safety.lifting")
