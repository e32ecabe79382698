"""What is asked about before a job is computed: dimensions and shares far from usual, areas that cannot be where they are.

The usual ranges are common practice; a job that is so confirms the field.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from deckcalc.base.context import Context
from deckcalc.base.fields import SLAB_SPAN, USUAL_SLAB, USUAL_SPACING, Faults
from deckcalc.core import units
from deckcalc.core.units import Distance, Length, quantity
from deckcalc.patch.inputs import Inputs

#: An unsound area longer than this is asked about: metres.
LONGEST = 15.0


def usual(context: Context[Inputs], faults: Faults) -> None:
    """Ask about dimensions and shares that are far from usual: a unit or a decimal point may be wrong. Common practice."""
    deck, inputs = context.deck, context.inputs
    length, share = units.kind_of(Length), units.kind_of(units.Share)
    for name, value, kind, low, high in (
        ("deck.bar_spacing", deck.bar_spacing, length, *USUAL_SPACING[context.system]),
        (
            "deck.slab_thickness",
            None if deck.kind == SLAB_SPAN else deck.slab_thickness,
            length,
            *USUAL_SLAB[context.system],
        ),
        ("deck.bottom_cover", deck.bottom_cover, length, "10 mm", "75 mm"),
        ("removal.overbreak", inputs.removal.overbreak, share, "1 %", "50 %"),
        ("removal.growth", inputs.removal.growth, share, "1 %", "100 %"),
        ("haulage.bulking", inputs.haulage.bulking if inputs.haulage else None, share, "10 %", "100 %"),
        (
            "plan.right",
            quantity(round(inputs.plan.right - inputs.plan.left, 9), "m"),
            units.kind_of(units.Distance),
            "2.5 m",
            "40 m",
        ),
    ):
        if value is not None:
            what = ", width of the deck between the kerbs" if name == "plan.right" else ""
            faults.ask_unless(name, f"job.toml: {name}{what}", value, kind, low, high)
    for a, b in pairwise(inputs.plan.joints):
        faults.ask_unless(
            "plan.joints",
            "job.toml: plan.joints, length of a span",
            quantity(round(b - a, 9), "m"),
            units.kind_of(units.Distance),
            "3 m",
            "100 m",
        )


def sticks_out(field: str, place: str, means: str, shape: Any, deck: Any, faults: Faults) -> bool:
    """Ask about a rectangle whose middle is on the deck but not all of its corners; what is confirmed ends at the deck."""
    if deck.covers(shape) or not deck.covers(shape.centroid):
        return False
    faults.ask(
        field, place, f"{100 * (1 - shape.intersection(deck).area / shape.area):.0f} % of it lies off the deck; {means}"
    )
    return True


def long(field: str, place: str, shape: Any, system: str, faults: Faults) -> None:
    """Ask about an area that is longer than patches are."""
    x_1, y_1, x_2, y_2 = shape.bounds
    longest = max(x_2 - x_1, y_2 - y_1)
    if longest > LONGEST + 1e-6:
        shown = (units.show(quantity(x, "m"), Distance, system) for x in (longest, LONGEST))
        faults.ask(f"{field}.size", place, "it is {} long, and patches seldom are longer than {}".format(*shown))
