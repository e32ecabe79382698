"""Traffic past the closed lane: the closure laid out from the speed, and held against the room that there is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar

from deckcalc import traffic
from deckcalc.base.context import Context
from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import RoadLength
from deckcalc.patch.design import Patches
from deckcalc.traffic.inputs import Inputs, RoadRule, Traffic


@dataclass(frozen=True)
class Mark:
    """One thing to set out: what, how many, where; metres upstream of the work are negative."""

    what: str
    number: int
    start: float
    end: float
    spacing: float = 0.0


@dataclass
class Layout(Subject[Inputs]):
    """The closure as laid out.

    Attributes
    ----------
    marks : list of Mark
        Along the road from the head of the taper [m], signs at negative distances.
    parts : dict of tuple
        Name of each stretch and where it begins and ends [m].
    own : dict of RoadRule
        Lengths by the authority's own rules.
    first, extent : float
        Station of the first patch, and from there to the end of the last [m].
    """

    key: ClassVar = "traffic"
    title: ClassVar = "Traffic"
    marks: list[Mark] = field(default_factory=list)
    parts: dict[str, tuple[float, float]] = field(default_factory=dict)
    own: dict[str, RoadRule] = field(default_factory=dict)
    first: float = 0.0
    extent: float = 0.0


def m(value: Any) -> float:
    """Return a length in metres."""
    return float(value.m_as("m"))


def compute(context: Context[Inputs], patches: Patches) -> Layout:
    """Lay the closure out."""
    subject = Layout(context)
    want = subject.inputs.traffic
    if want is None:
        return subject
    si = want.tables == "SI"
    subject.own = {row.item: row for row in subject.inputs.road_rules}
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
    spans = [(float(x[0]), float(x[1])) for x in (one.piece.outline.bounds[::2] for one in patches.marked.patches)]
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
    checks(subject, want, whole, bound)
    total = sum(mark.number for mark in subject.marks if mark.what == want.device)
    subject.decisions["closed lane"] = (
        f"{total} {want.device}s, {subject.show(whole.L_all, RoadLength)} from the head of the taper to the end; first sign "
        f"{subject.show(at['third sign'], RoadLength)} ahead of the taper"
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


def checks(subject: Layout, want: Traffic, whole: Any, bound: Any) -> None:
    """Hold the closure against the road, and the roll-ahead against mechanics."""
    road = Limit("available", "length that the road allows", want.available, units.kind_of(RoadLength), want.source)
    least = Limit("roll_ahead", "least roll-ahead by momentum", bound.d, units.kind_of(RoadLength), "mechanics")
    subject.checks += [
        Check("closed lane", "length of the closure", whole.L_all, road, "at most",
              "close further upstream with the authority, lower the speed, or work in parts"),
        Check("protection vehicle", "roll-ahead of the authority against momentum", want.roll_ahead, least, "at least",
              "ask the authority again: it is less than mechanics needs"),
        Check("protection vehicle", "mass of the protection vehicle", want.vehicle_mass, subject.limit("barrier_vehicle"),
              "at least", "a heavier vehicle, or ballast"),
    ]  # fmt: skip
