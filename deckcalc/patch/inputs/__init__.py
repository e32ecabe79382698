"""What the job folder says of the patches: sections of job.toml, and the tables of the survey."""

from __future__ import annotations

from dataclasses import dataclass

from deckcalc.base.context import Context
from deckcalc.base.fields import Strict
from deckcalc.patch.inputs.sections import Haulage, Marking, Removal, Sensitivity
from deckcalc.patch.inputs.survey import FORMS, Plan, RadiusRow, ReadingRow, RectangleRow, SoundingRow, Survey, TraceRow

SECTIONS: dict[str, type[Strict]] = {
    "plan": Plan, "survey": Survey, "marking": Marking, "removal": Removal, "haulage": Haulage,
    "sensitivity": Sensitivity,
}  # fmt: skip
ROWS: dict[str, type[Strict]] = {"depths": ReadingRow}
OPTIONAL_ROWS = FORMS


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


def check(context: Context[Inputs], faults: list[str]) -> None:
    """Check the sections against each other and against the deck."""
    inputs, deck = context.inputs, context.deck
    want, marking = inputs.removal, inputs.marking
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
