"""Sheet of traffic: what is set out, where, and the strip drawing."""

from __future__ import annotations

import matplotlib
from matplotlib.figure import Figure

from deckcalc import traffic
from deckcalc.core import tables, units
from deckcalc.core.units import Distance, Length, RoadLength, RoadSpeed, Seconds, registry
from deckcalc.show import sections
from deckcalc.show.figures import STYLE, Picture
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, caution, plain
from deckcalc.show.written import HandCalculations
from deckcalc.traffic.design import Layout, Mark, least_height


def along(layout: Layout, metres: float) -> str:
    """Print a length along the road."""
    return layout.show(registry().Quantity(metres, "m"), RoadLength)


def at_most(layout: Layout, metres: float) -> str:
    """Print a spacing along the road that is not exceeded."""
    return units.show_at_most(registry().Quantity(metres, "m"), RoadLength, layout.system)


def first_line(layout: Layout) -> Text:
    """Say who decides, before anything else."""
    if layout.inputs.traffic is None:
        return Text("")
    return caution(*map(plain, layout.notes))


def stretches(layout: Layout) -> Text:
    """Table of the stretches of the closure, in the direction of travel."""
    if layout.inputs.traffic is None:
        return Text("")
    rows = [[name, along(layout, a), along(layout, b), along(layout, b - a)] for name, (a, b) in layout.parts.items()]
    own = "; ".join(f"{row.item} {layout.show(row.value, RoadLength)} ({row.source})" for row in layout.own.values())
    return block(
        [
            f"**By the authority's own rules, in place of what is worked out below:** {plain(own)}." if own else "",
            lanes(layout),
            f"Distances run with the traffic from the head of the {layout.taper}; signs stand ahead of it.",
            pipe_table(["stretch", "from", "to", "length"], rows, "lrrr"),
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
    """Table of everything to set out, in the order of setting out."""
    if layout.inputs.traffic is None:
        return Text("")
    rows = []
    for mark in sorted(layout.marks, key=lambda one: (one.start, one.end)):
        where = (
            along(layout, mark.start)
            if mark.end == mark.start
            else f"{along(layout, mark.start)} to {along(layout, mark.end)}"
        )
        rows.append(
            [
                str(mark.number),
                plain(named(mark)),
                where,
                f"every {at_most(layout, mark.spacing)}" if mark.spacing else "",
            ]
        )
    device = layout.inputs.traffic.device
    total = sum(mark.number for mark in layout.marks if mark.what == device)
    rows.append([f"**{total}**", f"**{plain(device)}s in all, without spares**", "", ""])
    return block(
        [
            pipe_table(["number", "what", "place", "spacing"], rows, "rlrr"),
            "Set out with the traffic, from the first sign met; take up against it, the signs last. Nobody walks in the buffer or "
            "in the roll-ahead. The device where two stretches meet is counted once.",
            " ".join([devices_say(layout), passing(layout)]).strip(),
            editions(layout),
        ]
    )


def devices_say(layout: Layout) -> str:
    """Say how tall the devices must be, and what the protection vehicle carries."""
    want = layout.inputs.traffic
    assert want
    height, speed = least_height(want), layout.show(want.speed, RoadSpeed)
    when = "in the dark" if want.night else "by day"
    tall = (
        f"A {want.device} for {speed} {when} is {layout.show(height, Length)} tall at least" if height is not None
        else f"No least height of a {want.device} is in the table: the authority says"
    )  # fmt: skip
    bands = ", with retroreflective bands" if want.night else ""
    carried = (
        " The protection vehicle has no attenuator: New York's standard sheets want one for workers on foot from 35 mph; ask the authority."
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


def editions(layout: Layout) -> str:
    """Say where the rules stand in the edition of the job."""
    want = layout.inputs.traffic
    assert want
    said = "; ".join(f"{row['rule']} {row[want.by_edition]}" for row in tables.load("traffic_editions").rows)
    return f"In the national manual of {want.by_edition}: {said}. Which edition is in force, and with what supplement, the authority says."


def ends(layout: Layout) -> Text:
    """Where the closure lies on the stations of the job."""
    if layout.inputs.traffic is None:
        return Text("")
    room = float(layout.inputs.traffic.room.m_as("m")) / 2
    a, _ = layout.parts["work space"]
    back = layout.inputs.road.direction == "back"
    nearest = layout.first + layout.extent if back else layout.first  # the first patch that traffic comes to
    zero = nearest + room + a if back else nearest - room - a
    way = {
        "ahead": "Traffic runs with rising stations: the head", "back": "Traffic runs against the stations: the head",
        "": "If traffic runs with rising stations, the head",
    }[layout.inputs.road.direction]  # fmt: skip
    return Text(
        f"{way} of the taper lies at station {'−' if zero < 0 else ''}{along(layout, abs(zero))}; half of the room for truck, "
        f"mixer and crew ({along(layout, room)}) lies before the first patch at station {along(layout, nearest)}.\n"
    )


def strip(layout: Layout) -> Picture | Text:
    """Draw the closure along the road, lengths to scale, widths four times enlarged or more."""
    want = layout.inputs.traffic
    if want is None:
        return Text("")
    unit = "m" if layout.system == "SI" else "ft"
    k = 1.0 if unit == "m" else 1 / 0.3048
    parts = {name: (a * k, b * k) for name, (a, b) in layout.parts.items()}
    first = min(mark.start for mark in layout.marks) * k
    last = parts["downstream taper"][1]
    furthest = max(last, *(mark.end * k for mark in layout.marks))
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(6.7, 4.6), layout="constrained")
        upper, lower = figure.subplots(2, 1)
        for drawing, (left, right) in ((upper, (first, furthest)), (lower, (-0.05 * last, last))):
            for edge, look in ((0, "-"), (1, "--"), (2, "-")):
                drawing.plot(
                    [left - 0.02 * last, right + 0.03 * last], [edge, edge], look, color="black", linewidth=0.8
                )
            taper, down = parts[layout.taper], parts["downstream taper"]
            for mark in layout.marks:
                if mark.what == want.device and mark.spacing:
                    count = round((mark.end - mark.start) / mark.spacing) + 1
                    for i in range(count):
                        x = (mark.start + i * mark.spacing) * k
                        y = 1.0
                        if x < taper[1]:
                            y = x / taper[1]
                        elif x > down[0]:
                            y = 1 - (x - down[0]) / (down[1] - down[0])
                        drawing.plot(x, y, "^", color="black", markersize=2.5)
                elif mark.what.startswith(("flagger", "signal")) and left <= mark.start * k <= right:
                    drawing.plot(mark.start * k, 2.15 if mark.opposing else -0.15, "s", color="black", markersize=4)
                elif mark.what.endswith("sign") and left <= mark.start * k <= right:
                    y = 2.35 if mark.opposing else -0.35
                    drawing.plot(mark.start * k, y, "D", color="black", markersize=4)
                    if drawing is upper and not mark.opposing:
                        drawing.annotate(mark.what, (mark.start * k, -0.55), fontsize=6.5, ha="center", va="top")
            a, b = parts["work space"]
            drawing.fill_between([a, b], 0.05, 0.95, facecolor="none", hatch="////", edgecolor="0.45", linewidth=0.6)
            a, b = parts["shadow vehicle"]
            drawing.fill_between([a, b], 0.2, 0.8, color="black")
            drawing.set_yticks([])
            drawing.spines[["left", "bottom"]].set_visible(False)
            drawing.tick_params(labelsize=7)
        upper.annotate(
            "traffic",
            (first, 1.5),
            (first + 0.12 * last, 1.5),
            arrowprops={"arrowstyle": "<-"},
            fontsize=7,
            va="center",
        )
        upper.set_ylim(-1.3, 2.6)
        upper.set_title(f"With the signs; {unit} from the head of the taper", fontsize=8, loc="left")
        lower.set_ylim(-3.6, 2.6)
        for number, (name, (a, b)) in enumerate(parts.items()):
            y = -0.5 - 0.5 * number
            lower.plot([a, b], [y, y], color="black", linewidth=2.2, solid_capstyle="butt")
            text, side = f"{name}, {units.fixed(b - a, 1)} {unit}", (b + 0.01 * last, "left")
            if b > 0.6 * last:
                side = (a - 0.01 * last, "right")
            lower.text(side[0], y, text, fontsize=7, va="center", ha=side[1])
        lower.set_title("The closure; black block: protection vehicle; hatched: work space", fontsize=8, loc="left")
    return Picture(
        figure, "Strip drawing of the closure: lengths to scale, widths enlarged; not for other directions of traffic."
    )


def hand(layout: Layout, written: HandCalculations) -> Text:
    """Write every calculation out by hand."""
    return written.by_hand(layout) if layout.inputs.traffic else Text("")


def further(layout: Layout) -> list[Text]:
    """Return the tables that stand in the appendix."""
    return [sections.cautions(layout)]
