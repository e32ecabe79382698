"""Sheet of traffic: what is set out, where, and by which calculation."""

from __future__ import annotations

from deckcalc import traffic
from deckcalc.base.subject import Run
from deckcalc.core import tables, units
from deckcalc.core.units import Distance, Length, RoadLength, RoadSpeed, Seconds, registry
from deckcalc.show.governing import governing, leading_to
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations
from deckcalc.traffic.design import Layout, Mark, least_height
from deckcalc.traffic.sheet.drawings import SYMBOLS
from deckcalc.traffic.sheet.places import device, first_patch, half_room, in_order, station


def along(layout: Layout, metres: float) -> str:
    """Print a length along the road."""
    return layout.show(registry().Quantity(metres, "m"), RoadLength)


def at_most(layout: Layout, metres: float) -> str:
    """Print a spacing along the road that is not exceeded."""
    return units.show_at_most(registry().Quantity(metres, "m"), RoadLength, layout.system)


def lead(layout: Layout) -> Text:
    """Say what is decided here, and by what."""
    want = layout.inputs.traffic
    if want is None:
        return Text("")
    return block([
        f"Length of the closure, buffer and devices for one closed lane of a straight road at {layout.show(want.speed, RoadSpeed)}, by the "
        f"national manual of {want.by_edition}; the traffic plan with the list of devices stands in the field set. {lanes(layout)}"
    ])  # fmt: skip


def stretches(layout: Layout, written: HandCalculations) -> Text:
    """Lengths of the closure in the direction of travel, with the calculation that gives each, and the devices."""
    if layout.inputs.traffic is None:
        return Text("")
    first, *_ = layout.runs_of(traffic.closure_length)
    tapers = [*layout.runs_of(traffic.short_taper), *layout.runs_of(traffic.taper)]
    buffers = [*layout.runs_of(traffic.stopping), *layout.runs_of(traffic.stopping_on_grade)]
    runs: list[list[Run]] = [tapers[:1], buffers, [], [], [first], []]
    rows = []
    for (name, (a, b)), symbol, by in zip(layout.parts.items(), SYMBOLS, runs, strict=True):
        numbers = ", ".join(written.numbers[run] for run in by)
        rows.append([name, symbol, along(layout, a), along(layout, b), along(layout, b - a), numbers or "job"])
    whole = layout.show(first.result.L_all, RoadLength)
    rows.append(["**whole closure**", "L_all", "", "", f"**{whole}**", written.numbers[first]])
    own = "; ".join(f"{row.item} {layout.show(row.value, RoadLength)} ({row.source})" for row in layout.own.values())
    return block(
        [
            f"**By the authority's own rules, in place of what is worked out below:** {plain(own)}." if own else "",
            pipe_table(["stretch", "symbol", "from", "to", "length", "calculation"], rows, "llrrrl"),
            f"{total(layout)} {plain(device(layout))}s, spaced by {', '.join(written.numbers[run] for run in layout.runs_of(traffic.device_spacing))}; "
            f"first sign {along(layout, -min(one.start for one in layout.marks))} ahead of the {layout.taper}. {str(ends(layout)).strip()}",
        ]
    )


def lanes(layout: Layout) -> str:
    """Say which lane is closed, and what lanes there are."""
    road = layout.inputs.road
    way = {"ahead": ", its traffic with rising stations", "back": ", its traffic against the stations", "": ""}[
        road.direction
    ]
    others = f", {road.opposing} of the other direction beside them" if road.opposing else ""
    many = (
        "the only lane of its direction"
        if road.lanes == 1
        else f"the {road.side} one of {road.lanes} lanes of its direction"
    )
    name = f"“{plain(road.name)}”" if road.name else "not named in the job"
    return f"**Closed lane:** {name}, {layout.show(road.width, Distance)} wide, {many}{others}{way}."


def named(mark: Mark) -> str:
    """Return what is set out, with the legend of a sign and which traffic it faces."""
    text = f"{mark.what}: {mark.legend}" if mark.legend else mark.what
    return f"{text}; facing the other direction" if mark.opposing else text


def device_list(layout: Layout) -> Text:
    """Table of everything to set out, in the order of setting out, numbered as on the drawing."""
    if layout.inputs.traffic is None:
        return Text("")
    rows = []
    for place, mark in enumerate(in_order(layout), 1):
        ends = list(dict.fromkeys((mark.start, mark.end)))
        rows.append([
            str(place), str(mark.number), plain(named(mark)), " to ".join(signed(layout, station(layout, one)) for one in ends),
            " to ".join(signed(layout, one) for one in ends), f"every {at_most(layout, mark.spacing)}" if mark.spacing else "",
        ])  # fmt: skip
    rows.append(["", f"**{total(layout)}**", f"**{plain(device(layout))}s in all, without spares**", "", "", ""])
    return block(
        [
            pipe_table(["no.", "number", "what", "station", "from the head of the taper", "spacing"], rows, "rrllll"),
            "Set out with the traffic, from the first sign met; take up against it, the signs last. Nobody walks in the buffer or "
            "in the roll-ahead. The device where two stretches meet is counted once.",
            " ".join([devices_say(layout), passing(layout)]).strip(),
        ]
    )


def total(layout: Layout) -> int:
    """Return the number of devices in all."""
    return sum(mark.number for mark in layout.marks if mark.what == device(layout))


def devices_say(layout: Layout) -> str:
    """Say how tall the devices must be, and what the protection vehicle carries."""
    want = layout.inputs.traffic
    assert want
    height, speed = least_height(want), layout.show(want.speed, RoadSpeed)
    when = "in the dark" if want.night else "by day"
    tall = (
        f"A {want.device} for {speed} {when} is at least {layout.show(height, Length)} tall" if height is not None
        else f"No minimum height of a {want.device} is in the table: the authority says"
    )  # fmt: skip
    bands = ", with retroreflective bands" if want.night else ""
    carried = (
        " The shadow vehicle has no attenuator: New York's standard sheets want one for workers on foot from 35 mph; ask the authority."
        if want.attenuator == "none" and want.speed.m_as("mph") >= 35 * (1 - 1e-9) else ""
    )  # fmt: skip
    return f"{plain(tall)}{bands}.{carried}"


def passing(layout: Layout) -> str:
    """Say how one lane serves both directions; nothing where a lane is left for each."""
    want = layout.inputs.traffic
    if want is None or not layout.inputs.road.alternating:
        return ""
    cleared = layout.runs_of(traffic.clear_time)
    time = (
        f" From stop to stop at {layout.show(want.speed_through, RoadSpeed)} takes {layout.show(cleared[0].result.t, Seconds)}: hold the "
        "other direction until the last vehicle is out."
        if cleared and want.speed_through is not None else ""
    )  # fmt: skip
    return f"One lane serves both directions in turn, by {want.control}. No arrow board: there is no lane to merge into.{time}"


def editions(layout: Layout) -> Text:
    """Say where the rules stand in the edition of the job."""
    want = layout.inputs.traffic
    assert want
    said = "; ".join(f"{row['rule']} {row[want.by_edition]}" for row in tables.load("traffic_editions").rows)
    return Text(
        f"In the national manual of {want.by_edition}: {said}. Which edition is in force, and with what supplement, the authority says."
    )


def ends(layout: Layout) -> Text:
    """Where the closure lies on the stations of the job."""
    if layout.inputs.traffic is None:
        return Text("")
    zero, room = station(layout, 0.0), half_room(layout)
    way = {
        "ahead": "Traffic runs with rising stations: the head", "back": "Traffic runs against the stations: the head",
        "": "If traffic runs with rising stations, the head",
    }[layout.inputs.road.direction]  # fmt: skip
    return Text(
        f"{way} of the taper lies at station {signed(layout, zero)}; half of the room for truck, "
        f"mixer and crew ({along(layout, room)}) lies before the first patch at station {along(layout, first_patch(layout))}.\n"
    )


def signed(layout: Layout, place: float) -> str:
    """Print a station, which may lie before the first."""
    return f"{'−' if place < 0 else ''}{along(layout, abs(place))}"


def by_hand(layout: Layout, written: HandCalculations) -> Text:
    """Write out what leads to the length of the closure, and to the governing check of what is worked out."""
    return written.worked(governing_runs(layout))


def governing_runs(layout: Layout) -> list[Run]:
    """Return the runs that are written out, in filing order."""
    found = governing(check for check in layout.checks if leading_to(layout, check.demand, check.limit.value))
    values = [run.result.L_all for run in layout.runs_of(traffic.closure_length)[:1]]
    return leading_to(layout, *values, *((found.demand, found.limit.value) if found else ()))


def further(layout: Layout) -> list[Text]:
    """Return what stands in the appendix: the rules by which it is set out, in the edition of the job."""
    return [editions(layout)] if layout.inputs.traffic else []
