"""Narrow strips of sound concrete between patches and the joints, deck ends and kerbs."""

from __future__ import annotations

from typing import Any, NamedTuple

from deckcalc.base.subject import Subject
from deckcalc.core.units import Quantity
from deckcalc.patch.design.marking import Patch, metres
from deckcalc.patch.formulas.outlines import edge_strips
from deckcalc.patch.inputs import Inputs

TO_EDGE = "take it out with the patch, or the engineer says why it may stay"
#: Edges of a span, in the order of the corners of `Plan.panels`.
EDGES = "left kerb", "joint or deck end ahead", "right kerb", "joint or deck end behind"


class EdgeStrip(NamedTuple):
    """A strip of sound concrete beside a patch that is narrower than the distance at which patches are joined.

    Attributes
    ----------
    edge : str
        What it runs to, one of `EDGES`.
    width : Quantity
    """

    edge: str
    width: Quantity


def strips_beside(patches: Subject[Inputs], panels: list[Any], one: Patch) -> list[EdgeStrip]:
    """Return the narrow strips between a patch and the joints, deck ends and kerbs of its span."""
    panel = panels[one.span - patches.inputs.plan.first_span]
    widths = edge_strips(one.piece.outline, panel, float(patches.limit("merge_distance").value.m_as("m")))
    return [EdgeStrip(edge, metres(width)) for edge, width in zip(EDGES, widths, strict=True) if width]
