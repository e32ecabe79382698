"""The lanes of the roadway as a closure finds them: by the plan of the deck where it has lanes, by [traffic] where it has none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from deckcalc import traffic
from deckcalc.base.fields import InRange
from deckcalc.core.units import InputError, Quantity, quantity
from deckcalc.patch.inputs.survey import Lane, Plan

Side = Literal["right", "left"]
WIDTH = InRange.of(traffic.taper.form("US"), "W")
#: Lines of two lanes that are nearer than this, in metres, are one.
NEAR = 1e-3


@dataclass(frozen=True)
class Road:
    """The closed lane among the others.

    Attributes
    ----------
    name : str
        Of the closed lane; empty where the job has none.
    width : Quantity
        Of the closed lane.
    lanes : int
        In its direction.
    opposing : int
        In the other direction, on the same carriageway.
    side : {"right", "left"}
        Side of the closed lane, seen with its traffic.
    direction : {"ahead", "back", ""}
        Way of its traffic by the stations; empty where the job does not say.
    left, right : float or None
        Offsets between which the closure lies, to the kerb where no other lane is beside it [m].
    """

    name: str
    width: Quantity
    lanes: int
    opposing: int
    side: Side
    direction: str = ""
    left: float | None = None
    right: float | None = None

    @property
    def alternating(self) -> bool:
        """Whether the lane that is left serves both directions in turn."""
        return self.lanes == 1


def closed(plan: Plan, name: str) -> Lane | None:
    """Return the lane of a name."""
    return next((one for one in plan.lanes if one.name == name), None)


def side_of(lane: Lane, plan: Plan) -> Side | None:
    """Return on which side of its direction a lane lies, seen with its traffic; None where it lies between two others."""
    line = lambda one: one.from_offset  # noqa: E731
    same = sorted((one for one in plan.lanes if one.direction == lane.direction), key=line)
    greatest = lane == same[-1]
    if len(same) == 1:  # the side away from the other direction
        greatest = all(one.from_offset < lane.from_offset for one in plan.lanes if one.direction != lane.direction)
    elif not greatest and lane != same[0]:
        return None
    return "right" if greatest == (lane.direction == "ahead") else "left"


def by_plan(plan: Plan, name: str) -> Road:
    """Return the road of a closed lane of the plan."""
    lane = closed(plan, name)
    assert lane
    left, right = lane.from_offset, lane.to_offset
    others = [one for one in plan.lanes if one != lane]
    if not any(one.to_offset <= left + NEAR for one in others):
        left = min(left, plan.left)
    if not any(one.from_offset >= right - NEAR for one in others):
        right = max(right, plan.right)
    same = sum(one.direction == lane.direction for one in plan.lanes)
    width = quantity(round(lane.to_offset - lane.from_offset, 9), "m")
    side = side_of(lane, plan)
    assert side
    return Road(lane.name, width, same, len(plan.lanes) - same, side, lane.direction, float(left), float(right))


def check_lanes(plan: Plan, name: str, faults: list[str]) -> None:
    """Check the lanes of the plan, and which of them is closed."""
    names = [one.name for one in plan.lanes]
    for again in dict.fromkeys(one for one in names if names.count(one) > 1):
        faults.append(f"job.toml: plan.lanes: “{again}” appears twice; give every lane a name of its own")
    ordered: Sequence[Lane] = sorted(plan.lanes, key=lambda one: one.from_offset)
    for one, other in pairwise(ordered):
        if other.from_offset < one.to_offset - NEAR:
            faults.append(f"job.toml: plan.lanes: “{one.name}” and “{other.name}” lie over one another")
    for one in ordered:
        if one.from_offset < plan.left - NEAR or one.to_offset > plan.right + NEAR:
            faults.append(f"job.toml: plan.lanes: “{one.name}” reaches beyond a kerb")
    lane = closed(plan, name)
    if lane is None:
        faults.append(f"job.toml: traffic.closed_lane: found “{name}”, wanted a lane of plan.lanes: {', '.join(names)}")
        return
    if side_of(lane, plan) is None:
        faults.append(
            f"job.toml: traffic.closed_lane: “{name}” has lanes of its direction on both sides; closing a lane in the middle is for the "
            "authority's plan"
        )
    try:
        WIDTH.one(quantity(lane.to_offset - lane.from_offset, "m"))
    except InputError as error:
        faults.append(f"job.toml: plan.lanes: “{name}”: {error}")
