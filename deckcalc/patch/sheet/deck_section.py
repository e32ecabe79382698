"""The section of the deck below its plan."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from deckcalc.core.units import Length
from deckcalc.patch.design import Patches
from deckcalc.patch.design.location import girder_names
from deckcalc.patch.sheet.plan_lines import edges_of, width
from deckcalc.show import drafting
from deckcalc.show.drafting import AXIS, BROKEN, LANE, MEDIUM, ROW, THIN, WIDE, Sheet, Spot

#: Millimetres from the left to the words.
LEFT = 15.0


def section(patches: Patches, sheet: Sheet, top: float) -> None:
    """Draw the section of the deck at true proportion; what is not given is broken off."""
    plan, deck, edges = patches.inputs.plan, patches.deck, edges_of(patches)
    k = min((WIDE - 34) / width(patches), 22.0)
    start = (WIDE - 22 - width(patches) * k) / 2
    at = lambda y: start + (y - edges[0]) * k  # noqa: E731
    said = lambda value: drafting.length(value, patches.system)  # noqa: E731
    sheet.put(
        "Section looking ahead, at true proportion: its left is the top of the plan",
        [Spot(LEFT, top + 2, "left")],
        fontweight="bold",
    )
    t, over = (0.0 if q is None else float(q.m_as("m")) * k for q in (deck.slab_thickness, deck.overlay))
    y = top + 21
    sheet.area([(at(edges[0]), y), (at(edges[1]), y), (at(edges[1]), y + t), (at(edges[0]), y + t)], facecolor="0.85")
    if over:
        sheet.area(
            [(at(plan.left), y - over), (at(plan.right), y - over), (at(plan.right), y), (at(plan.left), y)],
            linewidth=THIN,
        )
    surface(patches, sheet, at, y - over, top)
    girders(patches, sheet, at, y + t)
    words = [
        f"slab {patches.show(deck.slab_thickness, Length)}"
        if patches.system == "SI"
        else f"slab {drafting.feet_inches(float(deck.slab_thickness.m_as('m')))}"
    ]
    for what, q in (("overlay", deck.overlay), ("panel in it", deck.panel)):
        if q is not None:
            words.append(
                f"{what} {patches.show(q, Length) if patches.system == 'SI' else drafting.feet_inches(float(q.m_as('m')))}"
            )
    x = at(edges[1])
    for number, text in enumerate(words):
        spot = Spot(x + 3.5, y + t / 2 + number * ROW, "left")
        sheet.put(text, [spot])
    sheet.line([(x + 0.3, y + t / 2), (x + 3, y + t / 2)])
    lines = [edges[0], *sorted(plan.girders), edges[1]]
    if plan.girders:
        low = y + t + 15
        for line in lines[1:-1]:
            sheet.line([(at(line), y + t + 9.5), (at(line), low + 1)], linestyle=AXIS, color="0.35")
        for edge in edges:
            sheet.line([(at(edge), y + t + 0.8), (at(edge), low + 7)])
        sheet.chain([at(v) for v in lines], low, said, [b - a for a, b in pairwise(lines)])
    else:
        low = y + t + 3
        for edge in edges:
            sheet.line([(at(edge), y + t + 0.8), (at(edge), low + 7)])
    sheet.dimension((at(edges[0]), low + 6), (at(edges[1]), low + 6), f"{said(width(patches))} from edge to edge")


def surface(patches: Patches, sheet: Sheet, at: Any, y: float, top: float) -> None:
    """Draw what is on the slab: kerbs, whose height is not given, and lanes."""
    plan, edges = patches.inputs.plan, edges_of(patches)
    kerb = drafting.words_for(patches.system)["kerb"]
    said = lambda value: drafting.length(value, patches.system)  # noqa: E731
    for edge, face, stands in zip(edges, (plan.left, plan.right), (plan.left_stands, plan.right_stands), strict=True):
        outside = edge if edge != face else face + (-1 if edge == edges[0] else 1) * 2 / max(at(1) - at(0), 1e-9)
        sheet.line([(at(outside), y), (at(outside), y - 5), (at(face), y - 5), (at(face), y)], MEDIUM, linestyle=BROKEN)
        side, ha = (1.5, "left") if edge == edges[0] else (-1.5, "right")
        sheet.put(stands or kerb, [Spot(at(face) + side, y - 2.6, ha)])
    low = top + 9
    places = sorted(
        {*edges, plan.left, plan.right, *(v for lane in plan.lanes for v in (lane.from_offset, lane.to_offset))}
    )
    for place in places:
        sheet.line([(at(place), low - 1), (at(place), y - 0.5)], color="0.35", linestyle=LANE)
    sheet.chain([at(v) for v in places], low, said, [b - a for a, b in pairwise(places)])
    for lane in plan.lanes:
        middle = at((lane.from_offset + lane.to_offset) / 2)
        sheet.put(
            lane.name, [Spot(middle + over, low + 3 + down) for down in (0, 3.5, 6) for over in (0, 3, -3, 6, -6)]
        )


def girders(patches: Patches, sheet: Sheet, at: Any, y: float) -> None:
    """Draw the girders: width of the flange as given, broken off below, since no depth is given."""
    plan = patches.inputs.plan
    half = (plan.flange_width or 0.0) / 2
    said = None
    for name, line in zip(girder_names(plan), sorted(plan.girders), strict=True):
        for side in (line - half, line + half):
            sheet.line([(at(side), y), (at(side), y + 5)], MEDIUM, linestyle=BROKEN)
        sheet.line(
            [
                (at(line - half) - 0.6, y + 5.6),
                (at(line) - 0.5, y + 4.6),
                (at(line) + 0.5, y + 5.6),
                (at(line + half) + 0.6, y + 4.6),
            ]
        )
        sheet.put(name, [Spot(at(line), y + 8)])
        said = said or (at(line + half), y)
    if said:
        note = "broken: height or depth not given, not to scale"
        sheet.put(note, [Spot(LEFT, y + 25.5, "left")])
    else:
        sheet.put("broken: height not given, not to scale", [Spot(LEFT, y + 14, "left")])
