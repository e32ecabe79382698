"""What the job folder says of the patches: sections of job.toml, and the tables of the survey."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from deckcalc.base.context import Context
from deckcalc.base.fields import SLAB_SPAN, Strict
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.patch.inputs.sections import Haulage, Marking, Removal, Sensitivity
from deckcalc.patch.inputs.survey import (
    FORMS,
    PatchRow,
    Plan,
    RadiusRow,
    ReadingRow,
    RectangleRow,
    SoundingRow,
    Survey,
    TraceRow,
)

SECTIONS: dict[str, type[Strict]] = {
    "plan": Plan, "survey": Survey, "marking": Marking, "removal": Removal, "haulage": Haulage,
    "sensitivity": Sensitivity,
}  # fmt: skip
ROWS: dict[str, type[Strict]] = {"depths": ReadingRow, **FORMS}
NEEDS = Needs(
    "patches", ("removal", "depths", *FORMS),
    (tuple(FORMS), ("depths", "patches"), ("plan",), ("removal",), ("deck.slab_thickness",), ("deck.top_bar_outer",), ("deck.bar_spacing",)),
    "limits, depth class, removal and volume of the patches",
)  # fmt: skip
START = Start(
    {"plan.girders": None, "plan.flange_width": None, "deck.top_cover": None, "mix.partial_depth": {"SI": "C35-10", "US": "C3"}, "bars.patch": None},
    {"patches": {"SI": ("P1,3.8,1.0,0.75,0.55,75", "P2,9.5,6.2,1.2,0.6,90"), "US": ("P1,12.5,3.25,2.5,1.75,3", "P2,31,20.5,4,2,3.5")}},
    own=("survey", "depths", *FORMS, "marking.longer"),
)  # fmt: skip


@dataclass(frozen=True)
class Inputs:
    """What patches are worked out from."""

    plan: Plan
    survey: Survey
    marking: Marking
    removal: Removal
    haulage: Haulage | None
    sensitivity: Sensitivity | None
    depths: list[ReadingRow]
    soundings: list[SoundingRow]
    radii: list[RadiusRow]
    traces: list[TraceRow]
    rectangles: list[RectangleRow]
    patches: list[PatchRow]


def check(context: Context[Inputs], faults: list[str]) -> None:
    """Check the sections against each other and against the deck."""
    inputs, deck = context.inputs, context.deck
    want, marking = inputs.removal, inputs.marking
    check_deck(context, faults)
    mat = deck.bottom_bar_outer, deck.bottom_bar_inner, deck.bottom_cover
    if want.full_depth_rule == "bottom mat" and None in mat:
        faults.append(
            "job.toml: removal.full_depth_rule: “bottom mat” wants deck.bottom_bar_outer, bottom_bar_inner and bottom_cover"
        )
    if deck.panel is not None and deck.panel >= deck.slab_thickness:
        faults.append("job.toml: deck.panel: the panel is not thinner than the slab that includes it")
    if want.growth is not None and not want.growth_source:
        faults.append("job.toml: removal.growth_source: missing; say where the growth comes from")
    prices = marking.removal_price, marking.cut_price, marking.piece_price
    if 0 < sum(price is None for price in prices) < 3:
        faults.append("job.toml: marking: removal_price, cut_price and piece_price go together")


def check_deck(context: Context[Inputs], faults: list[str]) -> None:
    """Check girders, edges, lanes and what lies below against one another and against the kind of deck."""
    plan, kind = context.inputs.plan, context.deck.kind
    if kind == SLAB_SPAN and plan.girders:
        faults.append(
            "job.toml: plan.girders: a slab span has none; take them out, or write deck.kind = “slab on girders”"
        )
    edges = [
        kerb if edge is None else edge for edge, kerb in ((plan.left_edge, plan.left), (plan.right_edge, plan.right))
    ]
    if any(not edges[0] <= y <= edges[1] for y in plan.girders):
        faults.append("job.toml: plan.girders: a girder line lies beyond the edge of the slab")
    if list(plan.girders) != sorted(set(plan.girders)):
        faults.append("job.toml: plan.girders: offsets do not rise from left to right")
    if plan.girders and plan.flange_width is None:
        faults.append(
            "job.toml: plan.flange_width: missing; with girders it says what lies over them and what in a bay"
        )
    half = (plan.flange_width or 0.0) / 2
    if any(b - a <= 2 * half for a, b in pairwise(plan.girders)):
        faults.append(
            "job.toml: plan.flange_width: the flanges of two girders meet; correct it, or the offsets of the girders"
        )
    for side, edge, kerb in (("left", plan.left_edge, plan.left), ("right", plan.right_edge, plan.right)):
        if edge is not None and (edge > kerb if side == "left" else edge < kerb):
            faults.append(f"job.toml: plan.{side}_edge: the edge of the slab lies inside the {side} kerb face")
    for number, lane in enumerate(plan.lanes, 1):
        if lane.from_offset >= lane.to_offset:
            faults.append(f"job.toml: plan.lanes, number {number}: from_offset is not to the left of to_offset")
    for number, one in enumerate(plan.below, 1):
        if one.from_station >= one.to_station:
            faults.append(f"job.toml: plan.below, number {number}: from_station is not before to_station")
        if one.from_offset is not None and one.to_offset is not None and one.from_offset >= one.to_offset:
            faults.append(f"job.toml: plan.below, number {number}: from_offset is not to the left of to_offset")
