"""Where what is set out stands on the stations of the job, in the order of setting out."""

from __future__ import annotations

from deckcalc.traffic.design import Layout, Mark


def first_patch(layout: Layout) -> float:
    """Return the station of the patch that traffic comes to first [m]."""
    return layout.first + layout.extent if layout.inputs.road.direction == "back" else layout.first


def half_room(layout: Layout) -> float:
    """Return how far the work space begins before that patch [m]."""
    assert layout.inputs.traffic
    return float(layout.inputs.traffic.room.m_as("m")) / 2


def ahead(layout: Layout) -> int:
    """Return 1 where traffic runs with rising stations, or the job does not say, and -1 where it runs against them."""
    return -1 if layout.inputs.road.direction == "back" else 1


def station(layout: Layout, distance: float) -> float:
    """Return the station of a distance along the road from the head of the taper, in the direction of traffic [m]."""
    begins, _ = layout.parts["work space"]
    return first_patch(layout) + ahead(layout) * (distance - begins - half_room(layout))


def in_order(layout: Layout) -> list[Mark]:
    """Return what is set out in the order in which it is set out; its place there is its number on drawing and list."""
    return sorted(layout.marks, key=lambda one: (one.start, one.end))


def vehicle(layout: Layout) -> str:
    """Return the name of the stretch in which the vehicle stands that shields the crew."""
    return next(name for name in layout.parts if "vehicle" in name)


def device(layout: Layout) -> str:
    """Return what the taper is set out with."""
    return layout.inputs.traffic.device if layout.inputs.traffic else ""


def one_by_one(layout: Layout, mark: Mark) -> list[float]:
    """Return the places of each device of a row, along the road from the head of the taper [m]; the device where two rows meet is of the first."""
    spaces = round((mark.end - mark.start) / mark.spacing)
    return [mark.start + i * mark.spacing for i in range(spaces + 1 - mark.number, spaces + 1)]
