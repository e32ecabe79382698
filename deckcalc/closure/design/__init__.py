"""The closure planned backwards from the hour of opening: timetable, latest starts, spread, nights, loads, cost."""

from __future__ import annotations

import numpy as np

from deckcalc import closure
from deckcalc.base.context import Context
from deckcalc.closure.design.cost import estimates
from deckcalc.closure.design.results import ClosurePlan, LatestStart, Timetable, Trades
from deckcalc.closure.design.steps import placing, taken_off
from deckcalc.closure.design.stock import containers, load_list
from deckcalc.closure.design.timetable import opened_in_time, spread_patches, timetable_of
from deckcalc.closure.formulas.durations import InTime, said
from deckcalc.closure.inputs import Inputs
from deckcalc.core import clock, units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Minutes, Probability, Quantity, quantity

__all__ = ["ClosurePlan", "LatestStart", "Timetable", "Trades", "compute"]


def compute(context: Context[Inputs], trades: Trades | None) -> ClosurePlan:
    """Plan the closure; `trades` is None where the job has no section of this name."""
    plan = ClosurePlan(context, given=trades)
    want = context.inputs.closure
    if want is None or trades is None:
        return plan
    plan.rates = {row.step: row for row in context.inputs.rates}
    plan.length = clock.minutes_between(want.closing, want.opening, plan.inputs.zone)
    names = list(dict.fromkeys([*want.tonight, *(one.name for one in trades.patches)]))
    for name in names:
        placing(plan, name)
    plan.timetable = timetable_of(plan, "this closure", want.tonight)
    checks(plan)
    taken_off(plan, names)
    spread_patches(plan, names)
    load_list(plan, names)
    containers(plan)
    estimates(plan, names)
    notes(plan)
    return plan


def checks(plan: ClosurePlan) -> None:
    """Check the critical path against the hours of the closure, and the chance of opening in time."""
    night, want, item, length = plan.this, plan.section, "this closure", quantity(float(plan.length), "min")
    end, wanted = night.times.end, plan.limit("open_in_time")
    found = plan.run(closure.window, item, t_c=length, t_p=quantity(float(end), "min"))
    hours = Limit("window", "hours from closing to opening", length, units.kind_of(Minutes), want.source)
    chance = plan.run(closure.share_in_time, item, **opened_in_time(plan, night.spread))
    plan.checks += [
        Check(item, "critical path with the wait for strength", quantity(float(end), "min"), hours, "at most",
              "fewer patches, more crews, a faster mix, or a longer closure"),
        Check(item, "probability of opening in time, lower end of its interval", lower_end(chance), wanted, "at least",
              "fewer patches in this closure, or begin earlier"),
    ]  # fmt: skip
    labour(plan)
    at = np.ceil(night.spread.quantile(plan.share_kept))
    plan.decisions[item] = (
        f"{', '.join(want.tonight)}: ready on {plan.in_words(end)} by likely times, on {plan.in_words(at)} with a chance of "
        f"{plan.show(wanted.value, Probability, 0)}; slack {plan.show(found.t_s, Minutes)}; chance of opening in time "
        f"{said(night.in_time)} ({want.samples:,} samples)"
    )


def lower_end(chance: InTime) -> Quantity:
    """Return the lower end of a chance, rounded down as it is printed, so that it never stands as certain."""
    return quantity(float(np.floor(1000 * chance.p_l.m_as("") + 1e-9)) / 10, "%")


def labour(plan: ClosurePlan) -> None:
    """Work out the man-days of this closure; one longer than a shift has no single figure."""
    night, want = plan.this, plan.section
    there = {crew: count for crew, count in want.people.items() if night.busy(crew)}
    hours = sum(night.busy(crew) * count for crew, count in there.items()) / 60
    if hours and 1 <= plan.length / 60 <= 16:
        plan.run(
            closure.labour, "this closure", H=quantity(float(hours), "h"), n=quantity(float(sum(there.values()))),
            k_a=want.at_work, t_s=quantity(plan.length / 60, "h"),
        )  # fmt: skip


def notes(plan: ClosurePlan) -> None:
    """Add simplifications and cautions."""
    want = plan.section
    plan.notes += [
        "No rate of work is published with authority: each is the job's, with its date and source in rates.csv. The timetable is no "
        "better than they are; compare it with what the first night took.",
        "Each step is drawn from a triangle between its three times, and the steps of a night together: a slow night is slow "
        f"throughout. What they have in common is {plan.show(want.common, units.Share, 0)} (correlation of their normal scores), an "
        "estimate of the engineer: no measured value is published. The chance is also given for steps that have nothing and "
        "everything in common; what breaks the night off (a storm, an accident) is in none of them.",
        f"What is placed: {want.mix}. The wait for strength is "
        + (
            "that of the sheet of curing."
            if want.wait == "curing"
            else "the row of rates.csv, to be shown by cylinders or maturity of this mix: "
            "the lane opens on strength shown, never on the clock alone."
        ),
        "A crew or tool goes from patch to patch in a fixed order; walking between patches is in the rates.",
    ]
