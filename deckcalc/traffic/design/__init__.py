"""Traffic past the closed lane: the closure laid out from the speed, and held against the room that there is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar

from deckcalc import traffic
from deckcalc.base.context import Context
from deckcalc.base.subject import Subject
from deckcalc.core import tables, units
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, Length, RoadLength, quantity
from deckcalc.patch.design import Patches
from deckcalc.traffic.inputs import Inputs, RoadRule, Traffic
from deckcalc.traffic.road import NEAR, Road


@dataclass(frozen=True)
class Mark:
    """One thing to set out: what, how many, where; metres upstream of the work are negative.

    A sign has its legend; what faces traffic of the other direction is marked as opposing.
    """

    what: str
    number: int
    start: float
    end: float
    spacing: float = 0.0
    legend: str = ""
    opposing: bool = False


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
    road : Road or None
        The closed lane among the others.
    first, extent : float
        Station of the first patch, and from there to the end of the last [m].
    """

    key: ClassVar = "traffic"
    title: ClassVar = "Traffic"
    marks: list[Mark] = field(default_factory=list)
    parts: dict[str, tuple[float, float]] = field(default_factory=dict)
    own: dict[str, RoadRule] = field(default_factory=dict)
    road: Road | None = None
    first: float = 0.0
    extent: float = 0.0

    @property
    def taper(self) -> str:
        """Name of the first stretch."""
        return next(iter(self.parts))


def m(value: Any) -> float:
    """Return a length in metres."""
    return float(value.m_as("m"))


def compute(context: Context[Inputs], patches: Patches) -> Layout:
    """Lay the closure out."""
    subject = Layout(context)
    want = subject.inputs.traffic
    if want is None:
        return subject
    si, road = want.tables == "SI", subject.inputs.road
    subject.road = road
    subject.own = {row.item: row for row in subject.inputs.road_rules}
    by = lambda item, ours: subject.own[item].value if item in subject.own else ours  # noqa: E731
    tapers = traffic.taper(form=want.tables, W=road.width, S=want.speed)
    if not road.alternating:
        tapers = subject.run(traffic.taper.form(want.tables), "closed lane", W=road.width, S=want.speed)
    level = subject.run(traffic.stopping.form(want.tables), "buffer", V=want.speed).d_d
    q = units.registry().Quantity
    sloped = subject.run(
        traffic.stopping_on_grade, "buffer", V=want.speed, t=q(2.5, "s"), a=q(3.4, "m/s²") if si else q(11.2, "ft/s²"),
        G=want.grade,
    ).d  # fmt: skip
    short = None
    if road.alternating:
        short = subject.run(traffic.short_taper.form(want.tables), "closed lane", L=short_length(want))
    name = "merging taper" if short is None else "short taper"
    taper, buffer = by(name, tapers.L if short is None else short_length(want)), by("buffer space", max(level, sloped))
    spacing = subject.run(traffic.device_spacing.form(want.tables), "devices", S=want.speed)
    signs = subject.run(traffic.sign_positions, "signs", road=want.road, form=want.tables)
    spans = [(float(x[0]), float(x[1])) for x in (one.piece.outline.bounds[::2] for one in patches.marked.patches)]
    if spans:
        subject.first = min(a for a, _ in spans)
        subject.extent = max(b for _, b in spans) - subject.first
    else:
        assert want.work_length is not None  # asked for in a job without patches
        subject.extent = m(want.work_length)
    whole = subject.run(
        traffic.closure_length, "closed lane", L=taper, L_b=buffer, L_r=want.roll_ahead_distance + want.vehicle_length,
        L_p=q(subject.extent, "m"), L_e=want.room, L_d=want.downstream_taper, L_av=want.available,
    )  # fmt: skip
    bound = subject.run(
        traffic.roll_ahead_bound, "shadow vehicle", m_1=want.impact_mass, m_2=want.vehicle_mass, V=want.speed,
        mu=want.friction,
    )  # fmt: skip
    x = 0.0
    for part, length in (
        (name, taper), ("buffer, empty", buffer), ("shadow vehicle", want.vehicle_length),
        ("roll-ahead, empty", want.roll_ahead_distance), ("work space", whole.L_w), ("downstream taper", want.downstream_taper),
    ):  # fmt: skip
        subject.parts[part] = (x, x + m(length))
        x += m(length)
    at = {"third sign": signs.D_3, "second sign": signs.D_2, "first sign": signs.A}
    at = {name: by(name, distance) for name, distance in at.items()}
    in_taper = spacing.s_t if short is None else short.s
    set_out(subject, want, at, by("spacing in tapers", in_taper), by("spacing along the lane", spacing.s_g))
    if short is not None:
        stopped(subject, want, at, short, whole)
    checks(subject, want, whole, bound)
    within(subject, road, patches)
    total = sum(mark.number for mark in subject.marks if mark.what == want.device)
    passing = "" if short is None else f"one lane for both directions in turn, by {want.control}; "
    named = f"{road.name}: " if road.name else ""
    subject.decisions["closed lane"] = (
        f"{named}{passing}{total} {want.device}s, {subject.show(whole.L_all, RoadLength)} from the head of the taper to the end; first sign "
        f"{subject.show(at['third sign'], RoadLength)} ahead of the taper"
    )
    subject.notes += [
        "The plan of the local authority and a qualified person decide; this sheet only works the rules out for one closed lane of "
        f"a straight road, by the national manual of {want.by_edition}. Approval: {want.authority}.",
        "Roll-ahead distances in print are those of one state's standard sheets; the authority's own go before them. The bound by "
        "momentum is a floor from mechanics, not a design value.",
        "Lanes that shift, ramps and crossings inside the closure, pedestrians and cyclists, signal timing, pilot cars and lighting "
        "are for the authority's plan.",
    ]
    subject.cites.append(
        Cite("nysdot-619", "sheet 619-023: attenuator from 35 mph where a lane is closed and workers are on foot")
    )
    subject.cites.append(Cite(f"mutcd-{want.by_edition}", "edition in use; signs, and heights of devices"))
    return subject


def set_out(subject: Layout, want: Traffic, at: dict[str, Any], in_taper: Any, along: Any) -> None:
    """List signs and devices with their places."""
    subject.marks = [Mark(name, 1, -m(d), -m(d), legend=legend(subject.inputs, name)) for name, d in at.items()]
    parts = subject.parts
    six = 6.0 if want.tables == "SI" else 6.096
    stretches = (
        (subject.taper, parts[subject.taper], in_taper),
        ("along the closed lane", (parts["buffer, empty"][0], parts["work space"][1]), along),
        ("downstream taper", parts["downstream taper"], units.registry().Quantity(six, "m")),
    )
    for number, (name, (a, b), most) in enumerate(stretches):
        found = subject.run(traffic.devices, name, L=units.registry().Quantity(b - a, "m"), s_max=most)
        shared = 1 if number else 0  # the device at a common end is counted once
        subject.marks.append(Mark(want.device, int(found.n.magnitude) - shared, a, b, m(found.s)))
    a, b = parts["shadow vehicle"]
    carried = "" if want.attenuator == "none" else f", attenuator {want.attenuator}"
    if not subject.inputs.road.alternating:
        subject.marks.append(Mark("arrow board, at the head of the taper on the closed side", 1, 0.0, 0.0))
    last = parts["downstream taper"][1] + m(at["first sign"])
    subject.marks += [
        Mark("barricade across the lane, before the shadow vehicle", 1, a, a),
        Mark(f"shadow vehicle{carried}", 1, a, b),
        Mark("end sign", 1, last, last, legend=legend(subject.inputs, "end sign")),
    ]


def legend(inputs: Inputs, place: str) -> str:
    """Return code and legend of a sign."""
    working, closed = "end" if place == "end sign" else inputs.working, inputs.road.side
    row = next(row for row in tables.load("sign_legends").rows if (row["working"], row["place"]) == (working, place))
    side = {"W20-5": closed[0].upper(), "W4-2": closed[0].upper()}.get(row["code"], "")
    return f"{row['legend'].replace('SIDE', closed.upper())} ({row['code']}{side})"


def short_length(want: Traffic) -> Any:
    """Return the short taper of one lane for both directions: that of the job, or the longest allowed."""
    longest = units.registry().Quantity(30, "m") if want.tables == "SI" else units.registry().Quantity(100, "ft")
    return longest if want.short_taper is None else want.short_taper


def stopped(subject: Layout, want: Traffic, at: dict[str, Any], short: Any, whole: Any) -> None:
    """Add what one lane for both directions wants: stops at both ends, and the signs of the other direction."""
    end, back = subject.parts["downstream taper"][1], m(short.D_f)
    what = {"flaggers": "flagger with STOP and SLOW paddle", "signals": "signal with stop line"}[want.control]
    subject.marks += [Mark(what, 1, -back, -back), Mark(what, 1, end + back, end + back, opposing=True)]
    for name, distance in at.items():
        place = end + m(distance)
        subject.marks.append(Mark(name, 1, place, place, legend=legend(subject.inputs, name), opposing=True))
    first = -m(at["first sign"])
    subject.marks.append(Mark("end sign", 1, first, first, legend=legend(subject.inputs, "end sign"), opposing=True))
    if want.speed_through is not None:
        subject.run(traffic.clear_time, "closed lane", L_c=whole.L_all, D_f=short.D_f, V_w=want.speed_through)


def within(subject: Layout, road: Road, patches: Patches) -> None:
    """Check that no patch reaches beyond the closed lane, where the plan says how far it goes."""
    if road.left is None or road.right is None or not patches.each:
        return
    beyond = [
        one.patch for one in patches.marked.patches
        if one.piece.outline.bounds[1] < road.left - NEAR or one.piece.outline.bounds[3] > road.right + NEAR
    ]  # fmt: skip
    none = Limit("beyond_lane", "patches beyond the closed lane", quantity(0.0), units.kind_of(Count), "geometry")
    subject.checks.append(
        Check("closed lane", f"patches beyond the lane {road.name}", quantity(float(len(beyond))), none, "at most",
              f"{', '.join(beyond)}: close the lane in which they lie as well, by a closure of its own" if beyond else "")
    )  # fmt: skip


def checks(subject: Layout, want: Traffic, whole: Any, bound: Any) -> None:
    """Hold the closure against the road, and the roll-ahead against mechanics."""
    road = Limit("available", "length that the road allows", want.available, units.kind_of(RoadLength), want.source)
    rolling = want.roll_ahead_distance
    least = Limit("roll_ahead", "minimum roll-ahead by momentum", bound.d, units.kind_of(RoadLength), "mechanics")
    subject.checks += [
        Check("closed lane", "length of the closure", whole.L_all, road, "at most",
              "close further upstream with the authority, lower the speed, or work in parts"),
        Check("shadow vehicle", "roll-ahead of the authority against momentum", rolling, least, "at least",
              "ask the authority again: it is less than mechanics needs"),
        Check("shadow vehicle", "mass of the shadow vehicle", want.vehicle_mass, subject.limit("barrier_vehicle"),
              "at least", "a heavier vehicle, or ballast"),
    ]  # fmt: skip
    if want.speed.m_as("mph") >= 45 * (1 - 1e-9):
        found = subject.run(traffic.roll_ahead_table, "shadow vehicle", S=want.speed)
        printed = Limit("roll_ahead_printed", "minimum roll-ahead in print", found.R_1, units.kind_of(RoadLength),
                        Cite("nysdot-619", "table 302-05"))  # fmt: skip
        subject.checks.append(
            Check("shadow vehicle", "roll-ahead against the printed table", rolling, printed, "at least",
                  "ask the authority: it is less than a state's standard sheets allow")
        )  # fmt: skip
    height = least_height(want)
    if height is not None and want.device_height is not None:
        tall = Limit("device_height", f"minimum height of a {want.device}", height, units.kind_of(Length),
                     Cite("mutcd-2009", "sections 6F.64 to 6F.67", "memory"))  # fmt: skip
        subject.checks.append(
            Check(
                "closed lane", f"height of the {want.device}s", want.device_height, tall, "at least", "taller devices"
            )
        )


def least_height(want: Traffic) -> Any:
    """Return the minimum height of the devices by speed and night; None where the table has no such device."""
    row = next((row for row in tables.load("device_heights").rows if row["device"] == want.device), None)
    if row is None:
        return None
    fast = want.speed >= (
        units.registry().Quantity(70, "km/h") if want.tables == "SI" else units.registry().Quantity(45, "mph")
    )
    unit = "mm" if want.tables == "SI" else "in"
    column = "night or high speed" if want.night or fast else "day and low speed"
    return units.registry().Quantity(float(row[f"{column} [{unit}]"]), unit)
