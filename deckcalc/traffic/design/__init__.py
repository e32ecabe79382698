"""Traffic past the closed lane: the closure laid out from the speed, and held against the room that there is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from deckcalc import traffic
from deckcalc.base.fields import Strict, Text, Written
from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Grade, Quantity, RoadLength, RoadSpeed

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.job.file import Head

LengthIn = Annotated[Quantity, Written(RoadLength, "0 m", "3000 m")]


class Traffic(Strict):
    """One closed lane: what road it is, and what the authority asks for."""

    road: Literal["urban, low speed", "urban, high speed", "rural", "expressway"] = Field(description="kind of road")
    tables: Literal["SI", "US"] = Field(description="rules as printed in US units, or their metric form")
    speed: Annotated[Quantity, Written(RoadSpeed, "20 mph", "75 mph")] = Field(
        description="speed of traffic before the work: the greatest of limit, 85th percentile, expected"
    )
    lane_width: Annotated[Quantity, Written.argument(traffic.taper.form("US"), "W")] = Field(
        description="width of the lane"
    )
    grade: Annotated[Quantity, Written(Grade, "-12 %", "12 %")] = Field(
        description="grade towards the work, negative downhill"
    )
    downstream_taper: LengthIn = Field(description="length of the downstream taper, 15 to 30 m (50 to 100 ft)")
    room: LengthIn = Field(description="for truck, mixer and crew, before and behind the patches together")
    available: Annotated[Quantity, Written.argument(traffic.closure_length, "L_av")] = Field(
        description="length before the next ramp, crossing or joint that must stay open"
    )
    roll_ahead: LengthIn = Field(description="roll-ahead distance by the authority; none is published with authority")
    vehicle_length: LengthIn = Field(description="length of the protection vehicle")
    vehicle_mass: Annotated[Quantity, Written.argument(traffic.roll_ahead_bound, "m_2")] = Field(
        description="mass of the protection vehicle with its ballast"
    )
    impact_mass: Annotated[Quantity, Written.argument(traffic.roll_ahead_bound, "m_1")] = Field(
        description="mass of the vehicle that may run into it"
    )
    friction: Annotated[Quantity, Written.argument(traffic.roll_ahead_bound, "mu")] = Field(
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
    value: Annotated[Quantity, Written(RoadLength, "1 m", "3000 m")]
    source: Text


SECTIONS = {"traffic": Traffic}
ROWS: dict[str, type[Strict]] = {}
OPTIONAL_ROWS: dict[str, type[Strict]] = {"road_rules": RoadRule}


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold the speed against the rules in use, and the downstream taper against its ends."""
    want = head.traffic
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


@dataclass(frozen=True)
class Mark:
    """One thing to set out: what, how many, where; metres upstream of the work are negative."""

    what: str
    number: int
    start: float
    end: float
    spacing: float = 0.0


@dataclass
class Layout(Subject):
    """The closure as laid out.

    Attributes
    ----------
    choice : Traffic or None
    marks : list of Mark
        Along the road from the head of the taper [m], signs at negative distances.
    parts : dict of tuple
        Name of each stretch and where it begins and ends [m].
    own : dict of RoadRule
        Lengths by the authority's own rules.
    first, extent : float
        Station of the first patch, and from there to the end of the last [m].
    """

    choice: Traffic | None = None
    marks: list[Mark] = field(default_factory=list)
    parts: dict[str, tuple[float, float]] = field(default_factory=dict)
    own: dict[str, RoadRule] = field(default_factory=dict)
    first: float = 0.0
    extent: float = 0.0


def m(value: Any) -> float:
    """Return a length in metres."""
    return float(value.m_as("m"))


def carry(job: Job) -> Layout:
    """Lay the closure out."""
    subject = Layout("traffic", "Traffic")
    subject.choice = want = job.head.traffic
    if want is None:
        return subject
    si = want.tables == "SI"
    subject.own = {row.item: row for row in job.file.rows["road_rules"]}
    by = lambda item, ours: subject.own[item].value if item in subject.own else ours  # noqa: E731
    tapers = subject.run(traffic.taper.form(want.tables), "closed lane", W=want.lane_width, S=want.speed)
    level = subject.run(traffic.stopping.form(want.tables), "buffer", V=want.speed).d_d
    q = units.registry().Quantity
    sloped = subject.run(
        traffic.stopping_on_grade, "buffer", V=want.speed, t=q(2.5, "s"), a=q(3.4, "m/s²") if si else q(11.2, "ft/s²"),
        G=want.grade,
    ).d  # fmt: skip
    taper, buffer = by("merging taper", tapers.L), by("buffer space", max(level, sloped))
    spacing = subject.run(traffic.device_spacing.form(want.tables), "devices", S=want.speed)
    signs = subject.run(traffic.sign_positions, "signs", road=want.road, form=want.tables)
    spans = [(float(x[0]), float(x[1])) for x in (one.piece.outline.bounds[::2] for one in job.file.rows["patches"])]
    subject.first, last = min(a for a, _ in spans), max(b for _, b in spans)
    subject.extent = last - subject.first
    whole = subject.run(
        traffic.closure_length, "closed lane", L=taper, L_b=buffer, L_r=want.roll_ahead + want.vehicle_length,
        L_p=q(subject.extent, "m"), L_e=want.room, L_d=want.downstream_taper, L_av=want.available,
    )  # fmt: skip
    bound = subject.run(
        traffic.roll_ahead_bound, "protection vehicle", m_1=want.impact_mass, m_2=want.vehicle_mass, V=want.speed,
        mu=want.friction,
    )  # fmt: skip
    x = 0.0
    for name, length in (
        ("merging taper", taper), ("buffer, empty", buffer), ("protection vehicle", want.vehicle_length),
        ("roll-ahead, empty", want.roll_ahead), ("work space", whole.L_w), ("downstream taper", want.downstream_taper),
    ):  # fmt: skip
        subject.parts[name] = (x, x + m(length))
        x += m(length)
    at = {"third sign": signs.D_3, "second sign": signs.D_2, "first sign": signs.A}
    at = {name: by(name, distance) for name, distance in at.items()}
    set_out(subject, want, at, by("spacing in tapers", spacing.s_t), by("spacing along the lane", spacing.s_g))
    checks(job, subject, want, whole, bound)
    total = sum(mark.number for mark in subject.marks if mark.what == want.device)
    subject.decisions["closed lane"] = (
        f"{total} {want.device}s, {job.show(whole.L_all, RoadLength)} from the head of the taper to the end; first sign "
        f"{job.show(at['third sign'], RoadLength)} ahead of the taper"
    )
    subject.notes += [
        "The plan of the local authority and a qualified person decide; this sheet only works the rules out for one closed lane of "
        f"a straight road. Approval: {want.authority}.",
        "No public table of roll-ahead distances was found: the distance is an input of the authority. The bound by momentum is a "
        "floor from mechanics, not a design value.",
        "Lanes that shift, one-lane two-way control with flaggers, ramps and crossings inside the closure, pedestrians and "
        "cyclists, and lighting at night are for the authority's plan.",
    ]
    subject.cites.append(
        Cite("nysdot-protective-vehicle", "least mass of a barrier vehicle, nobody inside the roll-ahead")
    )
    return subject


def set_out(subject: Layout, want: Traffic, at: dict[str, Any], in_taper: Any, along: Any) -> None:
    """List signs and devices with their places."""
    subject.marks = [Mark(name, 1, -m(d), -m(d)) for name, d in at.items()]
    parts = subject.parts
    six = 6.0 if want.tables == "SI" else 6.096
    stretches = (
        ("merging taper", parts["merging taper"], in_taper),
        ("along the closed lane", (parts["buffer, empty"][0], parts["work space"][1]), along),
        ("downstream taper", parts["downstream taper"], units.registry().Quantity(six, "m")),
    )
    for number, (name, (a, b), most) in enumerate(stretches):
        found = subject.run(traffic.devices, name, L=units.registry().Quantity(b - a, "m"), s_max=most)
        shared = 1 if number else 0  # the device at a common end is counted once
        subject.marks.append(Mark(want.device, int(found.n.magnitude) - shared, a, b, m(found.s)))
    a, b = parts["protection vehicle"]
    subject.marks += [
        Mark("arrow board, at the head of the taper on the closed side", 1, 0.0, 0.0),
        Mark("barricade across the lane, before the protection vehicle", 1, a, a),
        Mark("protection vehicle", 1, a, b),
    ]


def checks(job: Job, subject: Layout, want: Traffic, whole: Any, bound: Any) -> None:
    """Hold the closure against the road, and the roll-ahead against mechanics."""
    road = Limit("available", "length that the road allows", want.available, units.kind_of(RoadLength), want.source)
    least = Limit("roll_ahead", "least roll-ahead by momentum", bound.d, units.kind_of(RoadLength), "mechanics")
    subject.checks += [
        Check("closed lane", "length of the closure", whole.L_all, road, "at most",
              "close further upstream with the authority, lower the speed, or work in parts"),
        Check("protection vehicle", "roll-ahead of the authority against momentum", want.roll_ahead, least, "at least",
              "ask the authority again: it is less than mechanics needs"),
        Check("protection vehicle", "mass of the protection vehicle", want.vehicle_mass, job.limit("barrier_vehicle"),
              "at least", "a heavier vehicle, or ballast"),
    ]  # fmt: skip


__all__ = ["Layout", "Traffic", "carry", "check"]
