"""What the chlorides leave open: one open item a zone, with the patches in it, and what its cores and readings ask for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from deckcalc.chloride.design.demanded import in_zone
from deckcalc.chloride.design.results import Chlorides, Consequence
from deckcalc.core.check import SATISFIED

#: What is asked for at places, in the order in which it is said; more samples are counted beside.
AT_PLACES = ("remove", "protect")
ENOUGH = "it is not shown that patching alone is enough"


def left_open(chlorides: Chlorides) -> None:
    """Leave one item open for each zone that asks for something, and settle the checks of what a removal meets."""
    settled(chlorides)
    outside(chlorides)
    for zone in chlorides.zones:
        asked = [one for one in chlorides.consequences if one.zone is zone and not one.met]
        items = {zone.item, *(core.item for core in chlorides.in_zone(zone))}
        checks = tuple(
            one for one in chlorides.checks if one.item in items and one.verdict != SATISFIED and not one.settled
        )
        if not asked and not checks:
            continue
        treat = any(one.demand == "treat" for one in asked)
        patches = sorted({name for one in asked for name in one.patches}, key=lambda name: (len(name), name))
        counts = chlorides.counts[zone.name]
        said = [
            *(counts.over or [counts.few or counts.unsure]),
            *(places(asked, demand) for demand in AT_PLACES),
            samples(asked),
        ]
        chlorides.leave_open(
            f"{zone.item}: {what(asked, treat)}", "; ".join(part for part in said if part) or checks[0].why, *patches,
            stops="placing" if patches else "the signature", checks=checks,
            by="before a patch in it is placed" if patches else "before the package is signed",
        )  # fmt: skip


def outside(chlorides: Chlorides) -> None:
    """Leave open what lies in no zone: no core, reading or forecast speaks of it."""
    known = {name for zone in chlorides.zones for name in in_zone(chlorides, zone)}
    left = [one.patch for one in chlorides.marked.patches if one.patch not in known]
    if left:
        chlorides.leave_open(
            f"{', '.join(left)}: in no zone of the chlorides", "no core and no reading tells of the concrete there: survey it, or "
            "the engineer decides without", *left, stops="placing", by="before they are placed",
        )  # fmt: skip


def what(asked: list[Consequence], treat: bool) -> str:
    """Say in a few words what a zone is open for."""
    if treat:
        return "patching alone is not enough, treat the zone"
    found = dict.fromkeys(one.demand for one in asked if one.demand in AT_PLACES)
    return " and ".join(f"{demand} {places_of(asked, demand)}" for demand in found) or ENOUGH


def places_of(asked: Iterable[Consequence], demand: str) -> str:
    """Name the cores and readings of which something is asked."""
    return ", ".join(one.item for one in asked if one.demand == demand)


def places(asked: Iterable[Consequence], demand: str) -> str:
    """Name them, each with the patches in or near which it lies."""
    found = [
        one.item + (f" ({', '.join(one.patches)})" if one.patches else "") for one in asked if one.demand == demand
    ]
    return f"{demand} at {', '.join(found)}" if found else ""


def samples(asked: Iterable[Consequence]) -> str:
    """Say which samples are asked for."""
    found = [one for one in asked if one.demand == "sample again"]
    more = sum(one.number or 0 for one in found)
    again = list(dict.fromkeys(one.item for one in found if not one.number))
    parts = [f"take {more} more cores" if more else "", f"sample again at {', '.join(again)}" if again else ""]
    return "; ".join(part for part in parts if part)


def settled(chlorides: Chlorides) -> None:
    """Say of the checks at cores whose removal lies within that of a patch that it does."""
    met = {one.item: one.met for one in chlorides.consequences if one.demand == "remove" and one.met}
    chlorides.checks[:] = [
        replace(one, settled=met[one.item]) if one.verdict != SATISFIED and one.item in met else one
        for one in chlorides.checks
    ]
