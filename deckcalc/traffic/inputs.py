"""Traffic: the section of job.toml, and the authority's own lengths in road_rules.csv."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field

from deckcalc import traffic
from deckcalc.base.context import Context
from deckcalc.base.fields import NOT_GIVEN, InRange, Remark, Strict, Text
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.core.units import Grade, InputError, Length, Quantity, RoadLength, RoadSpeed
from deckcalc.patch.inputs import Plan
from deckcalc.traffic.road import WIDTH, Road, by_plan, check_lanes

LengthIn = Annotated[Quantity, InRange(RoadLength, "0 m", "3000 m")]


class Traffic(Strict):
    """One closed lane: what road it is, and what the authority asks for."""

    road: Literal["urban, low speed", "urban, high speed", "rural", "expressway"] = Field(description="kind of road")
    tables: Literal["SI", "US"] = Field(
        NOT_GIVEN, description="rules as printed in US units, or their metric form; left out, by the units of the job"
    )
    speed: Annotated[Quantity, InRange(RoadSpeed, "20 mph", "75 mph")] = Field(
        description="speed of traffic before the work: the maximum of limit, 85th percentile, expected"
    )
    closed_lane: Remark = Field("", description="name of the closed lane, one of plan.lanes where the plan has them")
    lane_width: Annotated[Quantity | None, WIDTH] = Field(
        None, description="width of the closed lane, where the plan has no lanes"
    )
    grade: Annotated[Quantity, InRange(Grade, "-12 %", "12 %")] = Field(
        description="grade towards the work, negative downhill"
    )
    downstream_taper: LengthIn = Field(description="length of the downstream taper, 15 to 30 m (50 to 100 ft)")
    room: LengthIn = Field(description="for truck, mixer and crew, before and behind the patches together")
    work_length: LengthIn | None = Field(
        None,
        description="length of the work, in a job without patches; with patches it is theirs",
        examples=["20 m", "60 ft"],
    )
    available: Annotated[Quantity, InRange.of(traffic.closure_length, "L_av")] = Field(
        description="length before the next ramp, crossing or joint that must stay open"
    )
    roll_ahead: LengthIn | None = Field(
        None, description="roll-ahead distance by the authority; left out: the maximum of the table roll_ahead"
    )
    vehicle_length: LengthIn = Field(description="length of the shadow vehicle")
    vehicle_mass: Annotated[Quantity, InRange.of(traffic.roll_ahead_bound, "m_2")] = Field(
        description="mass of the shadow vehicle with its ballast"
    )
    impact_mass: Annotated[Quantity, InRange.of(traffic.roll_ahead_bound, "m_1")] = Field(
        description="mass of the vehicle that may run into it"
    )
    friction: Annotated[Quantity, InRange.of(traffic.roll_ahead_bound, "mu")] = Field(
        description="friction of locked wheels; a wet road has less"
    )
    device: Text = Field("cone", description="channelizing device")
    device_height: Annotated[Quantity | None, InRange(Length, "200 mm", "2 m")] = Field(
        None, description="height of the devices; left out, the minimum is printed"
    )
    night: bool = Field(True, description="whether devices stand in the dark")
    edition: Literal["2023", "2009", "2003"] | None = Field(
        None, description="edition of the national manual; left out: 2023, and 2003 for the metric form"
    )
    lanes: Annotated[int | None, Field(ge=1, le=6)] = Field(
        None, description="lanes in the direction of the closed lane, where the plan has no lanes; left out: 2"
    )
    opposing: Annotated[int | None, Field(ge=0, le=6)] = Field(
        None, description="lanes of the other direction on the same carriageway, likewise; left out: none"
    )
    control: Literal["none", "flaggers", "signals"] = Field(
        "none", description="who controls traffic where one lane serves both directions"
    )
    short_taper: Annotated[Quantity | None, InRange(RoadLength, "5 m", "100 m")] = Field(
        None, description="taper of one lane for both directions; left out: the longest allowed"
    )
    speed_through: Annotated[Quantity | None, InRange.of(traffic.clear_time, "V_w")] = Field(
        None, description="speed through the work, where one lane serves both directions"
    )
    side: Literal["right", "left"] | None = Field(
        None, description="side of the closed lane, where the plan has no lanes; left out: right"
    )
    attenuator: Literal["none", "on the truck", "on a trailer"] = Field(
        "none", description="attenuator of the shadow vehicle"
    )
    authority: Text = Field(description="who approves the plan for traffic, and its number")
    source: Text = Field(description="where speed, roll-ahead and available length come from")

    @property
    def by_edition(self) -> str:
        """Edition of the national manual."""
        return self.edition or ("2003" if self.tables == "SI" else "2023")

    @property
    def roll_ahead_distance(self) -> Quantity:
        """Roll-ahead distance of the authority, or else the maximum in print."""
        return self.roll_ahead if self.roll_ahead is not None else traffic.roll_ahead_table(S=self.speed).R_2


class RoadRule(Strict):
    """road_rules.csv: a length by the authority's own rules, in place of the one worked out; signs from the taper upstream."""

    item: Literal[
        "merging taper", "short taper", "buffer space", "spacing in tapers", "spacing along the lane", "first sign", "second sign", "third sign"
    ] = Field(description="what the rule is for")  # fmt: skip
    value: Annotated[Quantity, InRange(RoadLength, "1 m", "3000 m")] = Field(description="length by the rule")
    source: Text = Field(description="where the rule stands", examples=["the authority's own standard"])


SECTIONS = {"traffic": Traffic}
ROWS: dict[str, type[Strict]] = {"road_rules": RoadRule}
NEEDS = Needs("traffic", ("traffic",), (("patch", "traffic.work_length"),), "layout of the closed lane")
START = Start({"traffic.lane_width": None, "traffic.roll_ahead": None})


@dataclass(frozen=True)
class Inputs:
    """What traffic is worked out from."""

    traffic: Traffic | None
    road_rules: list[RoadRule]
    plan: Plan | None

    @property
    def road(self) -> Road:
        """The closed lane among the others."""
        want = self.traffic
        assert want
        if self.plan and self.plan.lanes:
            return by_plan(self.plan, want.closed_lane)
        assert want.lane_width is not None  # asked for when the job was read
        return Road(want.closed_lane, want.lane_width, want.lanes or 2, want.opposing or 0, want.side or "right")

    @property
    def working(self) -> str:
        """How traffic passes, as the table sign_legends has it."""
        assert self.traffic
        return self.traffic.control if self.road.alternating else "merging"


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
    if want.work_length is not None and marked.patches:
        faults.append("job.toml: traffic.work_length: the patches of the job say it; take it out")
    before = len(faults)
    check_road(context.inputs, faults)
    if len(faults) == before:
        check_working(want, context.inputs.road, faults)
    if want.tables == "SI" and want.by_edition != "2003":
        faults.append(
            f"job.toml: traffic.edition: the edition of {want.edition} has no metric columns; wanted 2003, or traffic.tables = “US”"
        )
    if want.roll_ahead is None and want.speed.m_as("mph") < 45 * (1 - 1e-9):
        faults.append(
            "job.toml: traffic.roll_ahead: missing; the table roll_ahead begins at 45 mph, and the authority says how far"
        )
    d = float(want.downstream_taper.m_as("m"))
    if not 15 <= d <= 30.5:
        faults.append("job.toml: traffic.downstream_taper: wanted 15 m to 30 m (50 ft to 100 ft)")


#: What the plan says where it has lanes.
BY_PLAN = ("lane_width", "lanes", "opposing", "side")


def check_road(inputs: Inputs, faults: list[str]) -> None:
    """Check that lanes stand in one place: in the plan, or in [traffic] where the plan has none."""
    want = inputs.traffic
    assert want
    if inputs.plan is None or not inputs.plan.lanes:
        if want.lane_width is None:
            faults.append("job.toml: traffic.lane_width: missing; or give the lanes of the deck in [[plan.lanes]]")
        return
    for name in BY_PLAN:
        if getattr(want, name) is not None:
            faults.append(f"job.toml: traffic.{name}: plan.lanes says it; take it out here")
    check_lanes(inputs.plan, want.closed_lane, faults)


def check_working(want: Traffic, road: Road, faults: list[str]) -> None:
    """Check lanes and control against one another."""
    where = "job.toml: traffic"
    if not road.alternating:
        for name, given in (("control", want.control != "none"), ("short_taper", want.short_taper is not None)):
            if given:
                faults.append(
                    f"{where}.{name}: with {road.lanes} lanes in its direction one stays open there; wanted one lane"
                )
        return
    if road.opposing != 1:
        why = (
            "the only lane is closed: that is a detour, which the authority plans" if not road.opposing
            else "traffic is moved into one of several lanes of the other direction, which the authority plans"
        )  # fmt: skip
        faults.append(f"{where}.opposing: with one lane in each direction wanted 1, found {road.opposing}; {why}")
    if want.control == "none":
        faults.append(f"{where}.control: one lane serves both directions; wanted “flaggers” or “signals”")
    if want.short_taper is not None:
        try:
            traffic.short_taper(want.short_taper, form=want.tables)
        except InputError as error:
            faults.append(f"{where}.short_taper: {str(error).partition(': ')[2]}")
