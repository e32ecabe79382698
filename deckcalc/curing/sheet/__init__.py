"""Sheet of curing and opening: its tables. The drawings stand in `deckcalc.curing.sheet.drawings`."""

from __future__ import annotations

from typing import Any

import numpy as np

from deckcalc.base.subject import Run
from deckcalc.core import units
from deckcalc.core.check import Check
from deckcalc.core.units import quantity
from deckcalc.curing.design import Placing, Placings
from deckcalc.curing.design.strength import at_hour, times_of_tests
from deckcalc.curing.formulas.opening import OPEN
from deckcalc.curing.inputs.rows import clock
from deckcalc.curing.sheet import detail, drawings
from deckcalc.curing.sheet.detail import evaporation, strength, summed, where_present
from deckcalc.show.governing import governing, leading_to
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations

__all__ = ["by_hand", "cylinder_schedule", "evaporation", "further", "required_action", "results", "schedule"]


def schedule(placings: Placings) -> Text:
    """What is placed, when, and how warm it is."""
    if placings.inputs.curing is None:
        return Text("")
    rows = []
    for one in placings:
        thick = dict.fromkeys(placings.show(quantity(float(h) * 1e3, "mm"), units.Length) for h in (one.thickness.min(), one.thickness.max()))  # fmt: skip
        warm = [placings.show(T, units.Temperature, 1) for T in (one.concrete, one.row.slab_temperature)]
        rows.append([
            one.name, one.design.name, ", ".join(one.names), " to ".join(thick), f"{clock(one.row.start)} to {one.row.end:%H:%M}", " / ".join(warm),
            f"{len(one.history)} readings" if one.measured else "heat model",
        ])  # fmt: skip
    for row in placings.unrecorded.values():
        rows.append([
            row.placement, placings.concretes.of_placing(row).name, ", ".join(row.names) or "trial slab", "",
            f"{clock(row.start)} to {row.end:%H:%M}", f"– / {placings.show(row.slab_temperature, units.Temperature, 1)}",
            "**not covered: no weather record**",
        ])  # fmt: skip
    if not rows:
        return Text("**No plan adopted**, and no trial slab: nothing is placed.\n")
    heads = ["placing", "concrete", "patches", "thickness *h*", "placed", "concrete / existing slab", "temperatures by"]
    return Text(pipe_table(heads, rows, "lllllll"))


def opening_check(placings: Placings, one: Placing) -> Check:
    """Return the check of the strength at the opening of a placing."""
    return next(check for check in placings.checks if check.item == one.item and check.title.startswith("strength at opening"))  # fmt: skip


def opening_runs(placings: Placings, one: Placing) -> list[Run]:
    """Return the calculations of age and strength at the opening of a placing."""
    found = placings.of(f"{one.item}, the hour before opening")
    return found + [run for run in placings.of(f"{one.item} at {clock(one.row.opening)}") if "strength" in run.calculation.name]  # fmt: skip


@where_present
def results(placings: Placings, written: HandCalculations) -> Text:
    """Strength of every placing when the lane is to open, with the number of the calculation that gives it."""
    rows = []
    for one in placings:
        then = at_hour(placings, one, one.opening_hour)
        runs = opening_runs(placings, one) if one.curve else []
        number = f" ({written.numbers[runs[-1]]})" if runs else ""
        sure = clock(one.moment(one.opens.sure)) if one.opens.sure is not None else "not within the record"
        rows.append([
            one.name, clock(one.row.opening), strength(placings, then.mid) + number, strength(placings, then.low),
            opening_check(placings, one).percent, sure, then.decision if then.decision == OPEN else f"**{then.decision}**",
        ])  # fmt: skip
    limit = placings.limit("opening_strength")
    needed = placings.show(limit.value, units.Stress)
    heads = ["placing", "lane to open", "expected", "lower edge", "utilised", f"{needed} reached", "by strength"]
    said = (
        f"Required to open: {needed} ({limit.source}) at the lower edge of the band, in the slowest patch of each placing. “Reached” is by the lower "
        "edge."
    )
    return block([pipe_table(heads, rows, "llrrrll"), said])


def required_action(placings: Placings) -> Text:
    """What is to be done at each placing, beside what the table of results says; what is alike stands once."""
    alike: dict[str, list[str]] = {}
    for item, what in placings.decisions.items():
        name, _, matter = item.rpartition(": ")
        one = next((one for one in placings if one.item == name), None)
        if matter != "opening" or one is None or one.curve is None:
            alike.setdefault(f"{matter}|{what}", []).append(name.removeprefix("placing ") or item)
    rows = [[", ".join(names), *map(plain, said.split("|", 1))] for said, names in alike.items()]
    return Text(pipe_table(["placing", "matter", "action"], rows, "lll")) if rows else Text("")


@where_present
def cylinder_schedule(placings: Placings) -> Text:
    """When to break the cylinders that are cured with the patch."""
    rows = []
    for one in placings:
        if not one.patches:
            continue
        cells = []
        for time in times_of_tests(placings, one).values():
            if time is None:
                cells.append("not within the record")
                continue
            then = at_hour(placings, one, time)
            low, mid, high = (strength(placings, value) for value in (then.low, then.mid, then.high))
            cells.append(f"{clock(one.moment(time))}: {mid} ({low.split()[0]} to {high.split()[0]})")
        rows.append([one.name, *cells])
    heads = [
        "placing",
        *(f"{words}, expected (band)" for words in ("first set", "at the expected hour", "before opening")),
    ]
    text = "Two cylinders or more a set, beside the patch under the same cover. A set below its band: wait, and find out why before the next."
    return block([pipe_table(heads, rows, "llll"), text]) if rows else Text("")


def governing_placing(placings: Placings) -> Placing | None:
    """Return the placing whose opening is worst, the first where no strength is known; None where nothing is placed."""
    check = governing(opening_check(placings, one) for one in placings)
    return next((one for one in placings if check and check.item == one.item), next(iter(placings), None))


def governing_drawing(placings: Placings) -> Any:
    """Temperature and strength of the governing placing."""
    one = governing_placing(placings)
    return Text("") if one is None else drawings.case(placings, one)


def worked(placings: Placings) -> list[Run]:
    """Return the calculations of the governing opening, and those of the worst check of the sheet."""
    one = governing_placing(placings)
    if one is None:
        return []
    runs = opening_runs(placings, one)
    worst = governing(placings.checks)
    led = leading_to(placings, worst.demand, worst.limit.value) if worst else []
    return list(dict.fromkeys(runs + led))


@where_present
def by_hand(placings: Placings, written: HandCalculations) -> Text:
    """Write the governing opening and the worst check of the sheet out by hand."""
    one, worst = governing_placing(placings), governing(placings.checks)
    assert one and worst  # something is placed
    lead = f"Opening of {one.item}: equivalent age summed, its last hour and the strength written out."
    if worst is not opening_check(placings, one):
        lead += f" Then {plain(worst.item)}: {plain(worst.title)}."
    known = not np.isnan(one.governing.at(one.opening_hour)[0])
    return block([lead, *(summed(placings, one) if known else []), str(written.worked(worked(placings)))])


def further(placings: Placings) -> list[Any]:
    """Return the tables and drawings that stand in the appendix."""
    return detail.further(placings)
