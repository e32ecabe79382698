"""Where on the deck a patch, a hole or a loaded area lies: in a bay, over a girder, in an overhang, near a joint."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import shapely

from deckcalc.base.fields import GIRDERS
from deckcalc.core import units
from deckcalc.core.units import Distance, Length, Quantity, System, quantity
from deckcalc.patch.inputs.survey import Plan

#: Two edges that are nearer than this, in metres, are one.
NOISE = 2e-6


@dataclass(frozen=True)
class Bay:
    """A bay that an area reaches into: its girders, and the clear distance to either flange (metres).

    Attributes
    ----------
    left, right : str
        Names of the girders, in the order of the offsets.
    to_left, to_right : float
        From the area to the flange edges; nothing where it reaches them.
    """

    left: str
    right: str
    to_left: float
    to_right: float

    @property
    def name(self) -> str:
        """Its two girders."""
        return f"{self.left}-{self.right}"


@dataclass(frozen=True)
class Location:
    """Where an area lies on the deck; lengths in metres.

    Attributes
    ----------
    bays : tuple of Bay
        Bays that it reaches into.
    girders : tuple of str
        Girders over whose flanges it lies, wholly or in part.
    overhangs : tuple of str
        "left" or "right": overhangs that it reaches into.
    to_girder : float
        From the area to the nearest girder line; nothing where it reaches it. Infinite where there is no girder.
    to_outer : float
        From the area to the nearest outer girder line beyond which slab projects; infinite where none does.
    joint : float
        From the area to the nearest joint or deck end.
    joint_station : float
        Station of that joint on the centreline.
    edge : float
        From the area to the nearest edge of the slab.
    kerb : float
        From the area to the nearest kerb face.
    below : tuple of str
        What lies or passes under it, by the areas that the job names.
    girder_deck : bool
        Whether the plan has girders.
    no_lines : bool
        Whether the deck has girders, and the plan does not say where.
    """

    bays: tuple[Bay, ...]
    girders: tuple[str, ...]
    overhangs: tuple[str, ...]
    to_girder: float
    to_outer: float
    joint: float
    joint_station: float
    edge: float
    kerb: float
    below: tuple[str, ...] = ()
    girder_deck: bool = True
    no_lines: bool = False

    @property
    def in_bay(self) -> bool:
        """Whether it lies in one bay and nowhere else."""
        return len(self.bays) == 1 and not self.girders and not self.overhangs

    @property
    def in_overhang(self) -> bool:
        """Whether it reaches into an overhang."""
        return bool(self.overhangs)

    @property
    def over_girder(self) -> bool:
        """Whether it lies over a girder, wholly or in part."""
        return bool(self.girders)

    @property
    def kind(self) -> str:
        """The place in a few words."""
        parts = [f"in the {side} overhang" for side in self.overhangs]
        if self.girders:
            parts.append("over " + " and ".join(self.girders))
        if self.bays:
            parts.append("in " + " and ".join(f"bay {bay.name}" for bay in self.bays))
        return (
            ", ".join(parts)
            if parts
            else "not known: no girder lines in the plan"
            if self.no_lines
            else "in the slab span"
        )

    def near_joint(self, within: Quantity) -> bool:
        """Whether it lies nearer to a joint or deck end than a distance."""
        return self.joint < float(within.m_as("m")) - NOISE

    def words(self, system: System) -> str:
        """Where it lies, with its distances."""
        show = lambda value: units.show(quantity(round(value, 6), "m"), Length, system)  # noqa: E731
        said = self.kind
        if self.in_bay:
            bay = self.bays[0]
            said += (
                f", {show(bay.to_left)} from the flange of {bay.left} and {show(bay.to_right)} from that of {bay.right}"
            )
        station = units.show(quantity(self.joint_station, "m"), Distance, system)
        said += f"; {units.show(quantity(round(self.joint, 6), 'm'), Distance, system)} to the joint at {station}"
        if self.overhangs:
            said += f", {show(self.edge)} to the edge of the slab"
        return said + (f"; below: {', '.join(self.below)}" if self.below else "")


def girder_names(plan: Plan) -> list[str]:
    """Return the names of the girders in the order of their offsets: G1, G2, ..."""
    return [f"G{number}" for number in range(1, len(plan.girders) + 1)]


def locate(plan: Plan, shape: Any, kind: str = "") -> Location:
    """Return where an area lies.

    Parameters
    ----------
    plan : Plan
        The deck in plan.
    shape : shapely.Geometry
        The area, or a point, station and offset in metres.
    kind : str
        Kind of the deck, where that matters: one on girders without their lines in the plan is a place that is not known.

    Returns
    -------
    Location
    """
    low, high = spread(shape.bounds[1], shape.bounds[3])
    half = (plan.flange_width or 0.0) / 2
    lines = sorted(plan.girders)
    names = girder_names(plan)
    over = tuple(
        name for name, y in zip(names, lines, strict=True) if low < y + half - NOISE and high > y - half + NOISE
    )
    bays = []
    for (first, a), (second, b) in pairwise(zip(names, lines, strict=True)):
        left, right = a + half, b - half
        if low < right - NOISE and high > left + NOISE:
            bays.append(Bay(first, second, max(low - left, 0.0), max(right - high, 0.0)))
    edges = (
        plan.left if plan.left_edge is None else plan.left_edge,
        plan.right if plan.right_edge is None else plan.right_edge,
    )
    overhangs, outer = [], []
    if lines:
        if low < lines[0] - half - NOISE:
            overhangs.append("left")
        if high > lines[-1] + half + NOISE:
            overhangs.append("right")
        projects = edges[0] < lines[0] - half - NOISE, edges[1] > lines[-1] + half + NOISE
        outer = [y for y, slab in zip((lines[0], lines[-1]), projects, strict=True) if slab]
    joint, station = nearest_joint(plan, shape)
    return Location(
        tuple(bays), over, tuple(overhangs), nearest(low, high, lines), nearest(low, high, outer), joint, station,
        min(low - edges[0], edges[1] - high), min(low - plan.left, plan.right - high), what_is_below(plan, shape), bool(lines),
        kind == GIRDERS and not lines,
    )  # fmt: skip


def spread(low: float, high: float) -> tuple[float, float]:
    """Return two edges that are apart by more than noise, so that a point, or a bar, lies on either side of an edge that it is on."""
    return (low, high) if high - low > 4 * NOISE else (low - 2 * NOISE, high + 2 * NOISE)


def nearest(low: float, high: float, lines: Sequence[float]) -> float:
    """Return the distance from an area to the nearest of some lines along the deck; infinite where there is none."""
    return min((max(low - y, y - high, 0.0) for y in lines), default=math.inf)


def nearest_joint(plan: Plan, shape: Any) -> tuple[float, float]:
    """Return the distance to the nearest joint or deck end, at right angles to it, and its station on the centreline."""
    lean, corners = math.radians(plan.skew), shapely.get_coordinates(shape)
    found = []
    for joint in plan.joints:
        away = [float((x - joint - y * math.tan(lean)) * math.cos(lean)) for x, y in corners]
        found.append((0.0 if min(away) * max(away) < 0 else min(abs(min(away)), abs(max(away))), float(joint)))
    return min(found)


def what_is_below(plan: Plan, shape: Any) -> tuple[str, ...]:
    """Return what lies or passes under an area, in the order in which the job names it."""
    x_1, y_1, x_2, y_2 = shape.bounds
    (x_1, x_2), (y_1, y_2) = spread(x_1, x_2), spread(y_1, y_2)
    inside = [
        one.what
        for one in plan.below
        if x_1 < one.to_station - NOISE
        and x_2 > one.from_station + NOISE
        and y_1 < (math.inf if one.to_offset is None else one.to_offset) - NOISE
        and y_2 > (-math.inf if one.from_offset is None else one.from_offset) + NOISE
    ]
    return tuple(dict.fromkeys(inside))
