"""The lines of the deck that its drawings share."""

from __future__ import annotations

import math

from deckcalc.patch.design import Patches
from deckcalc.patch.design.location import girder_names
from deckcalc.show import drafting


def edges_of(patches: Patches) -> tuple[float, float]:
    """Return the offsets of the edges of the slab."""
    plan = patches.inputs.plan
    return (
        plan.left if plan.left_edge is None else plan.left_edge,
        plan.right if plan.right_edge is None else plan.right_edge,
    )


def spans_of(patches: Patches) -> list[int]:
    """Return the spans with patches."""
    return sorted({one.span for one in patches.marked.patches})


def width(patches: Patches) -> float:
    """Return the width of the slab in metres."""
    low, high = edges_of(patches)
    return high - low


def lean(patches: Patches) -> float:
    """Return how far a joint runs ahead for each metre to the right."""
    return math.tan(math.radians(patches.inputs.plan.skew))


def ends(patches: Patches, span: int) -> tuple[float, float]:
    """Return the stations of the joints of a span."""
    plan = patches.inputs.plan
    first, last = plan.joints[span - plan.first_span : span - plan.first_span + 2]
    return first, last


def lines_named(patches: Patches) -> list[tuple[float, str]]:
    """Return the lines along the deck with their names, from left to right."""
    plan, kerb = patches.inputs.plan, drafting.words_for(patches.system)["kerb"]
    words = [(y, name) for name, y in zip(girder_names(plan), sorted(plan.girders), strict=True)]
    for edge, face, stands in zip(
        edges_of(patches), (plan.left, plan.right), (plan.left_stands, plan.right_stands), strict=True
    ):
        words.append((face, f"{kerb} face"))
        if edge != face:
            words += [(edge, "edge of slab"), *([((edge + face) / 2, stands)] if stands else [])]
    return sorted(words)
