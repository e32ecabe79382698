"""Traffic: the section of job.toml, and the authority's own lengths in road_rules.csv."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field

from deckcalc import traffic
from deckcalc.base.context import Context
from deckcalc.base.fields import InRange, Strict, Text
from deckcalc.core.units import Grade, Quantity, RoadLength, RoadSpeed

LengthIn = Annotated[Quantity, InRange(RoadLength, "0 m", "3000 m")]


class Traffic(Strict):
    """One closed lane: what road it is, and what the authority asks for."""

    road: Literal["urban, low speed", "urban, high speed", "rural", "expressway"] = Field(description="kind of road")
    tables: Literal["SI", "US"] = Field(description="rules as printed in US units, or their metric form")
    speed: Annotated[Quantity, InRange(RoadSpeed, "20 mph", "75 mph")] = Field(
        description="speed of traffic before the work: the greatest of limit, 85th percentile, expected"
    )
    lane_width: Annotated[Quantity, InRange.of(traffic.taper.form("US"), "W")] = Field(description="width of the lane")
    grade: Annotated[Quantity, InRange(Grade, "-12 %", "12 %")] = Field(
        description="grade towards the work, negative downhill"
    )
    downstream_taper: LengthIn = Field(description="length of the downstream taper, 15 to 30 m (50 to 100 ft)")
    room: LengthIn = Field(description="for truck, mixer and crew, before and behind the patches together")
    available: Annotated[Quantity, InRange.of(traffic.closure_length, "L_av")] = Field(
        description="length before the next ramp, crossing or joint that must stay open"
    )
    roll_ahead: LengthIn = Field(description="roll-ahead distance by the authority; none is published with authority")
    vehicle_length: LengthIn = Field(description="length of the protection vehicle")
    vehicle_mass: Annotated[Quantity, InRange.of(traffic.roll_ahead_bound, "m_2")] = Field(
        description="mass of the protection vehicle with its ballast"
    )
    impact_mass: Annotated[Quantity, InRange.of(traffic.roll_ahead_bound, "m_1")] = Field(
        description="mass of the vehicle that may run into it"
    )
    friction: Annotated[Quantity, InRange.of(traffic.roll_ahead_bound, "mu")] = Field(
        description="friction of locked wheels; a wet road has less"
    )
    device: Text = Field("cone", description="channelizing device")
    authority: Text = Field(description="who approves the plan for traffic, and its number")
    source: Text = Field(description="where speed, roll-ahead and available length come from")


class RoadRule(Strict):
    """road_rules.csv: a length by the authority's own rules, in place of the one worked out; signs from the taper upstream."""

    item: Literal[
        "merging taper", "buffer space", "spacing in tapers", "spacing along the lane", "first sign", "second sign", "third sign"
    ]  # fmt: skip
    value: Annotated[Quantity, InRange(RoadLength, "1 m", "3000 m")]
    source: Text


SECTIONS = {"traffic": Traffic}
ROWS: dict[str, type[Strict]] = {}
OPTIONAL_ROWS: dict[str, type[Strict]] = {"road_rules": RoadRule}


@dataclass(frozen=True)
class Inputs:
    """What traffic is worked out from."""

    traffic: Traffic | None
    road_rules: list[RoadRule]


def check(context: Context[Inputs], marked: Any, faults: list[str]) -> None:
    """Check the speed against the rules in use, and the downstream taper against its ends."""
    want = context.inputs.traffic
    if want is None:
        return
    low, high, last, first, unit = (30, 110, 60, 70, "km/h") if want.tables == "SI" else (20, 75, 40, 45, "mph")
    S = float(want.speed.m_as(unit))
    if not low * (1 - 1e-9) <= S <= high * (1 + 1e-9):
        faults.append(
            f"job.toml: traffic.speed: {S:g} {unit} lies outside the {want.tables} rules, {low} to {high} {unit}"
        )
    elif last * (1 + 1e-9) < S < first * (1 - 1e-9):
        faults.append(
            f"job.toml: traffic.speed: {S:g} {unit} lies between the two formulas of the {want.tables} rules; take {first} {unit}"
        )
    d = float(want.downstream_taper.m_as("m"))
    if not 15 <= d <= 30.5:
        faults.append("job.toml: traffic.downstream_taper: wanted 15 m to 30 m (50 ft to 100 ft)")
