"""The closure planned backwards from the hour of opening: timetable, latest starts, spread, nights, loads, cost."""

from __future__ import annotations

import datetime

import numpy as np

from deckcalc import closure
from deckcalc.base.context import Context
from deckcalc.closure.design.cost import estimates
from deckcalc.closure.design.results import ClosurePlan, LatestStart, Timetable, Trades
from deckcalc.closure.design.steps import placing
from deckcalc.closure.design.stock import containers, load_list
from deckcalc.closure.design.timetable import opened_in_time, spread_patches, timetable_of
from deckcalc.closure.inputs import Inputs
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Minutes, Probability, quantity

__all__ = ["ClosurePlan", "LatestStart", "Timetable", "Trades", "compute"]


def compute(context: Context[Inputs], trades: Trades | None) -> ClosurePlan:
    """Plan the closure; `trades` is None where the job has no section of this name."""
    plan = ClosurePlan(context, given=trades)
    want = context.inputs.closure
    if want is None or trades is None:
        return plan
    plan.rates = {row.step: row for row in context.inputs.rates}
    plan.length = (want.opening - want.closing).total_seconds() / 60
    names = list(dict.fromkeys([*want.tonight, *(one.name for one in trades.patches)]))
    for name in names:
        placing(plan, name)
    plan.timetable = timetable_of(plan, "this closure", want.tonight)
    checks(plan)
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
        Check(item, "probability of opening in time", chance.p, wanted, "at least",
              "fewer patches in this closure, or begin earlier"),
    ]  # fmt: skip
    labour(plan)
    at = plan.moment(np.ceil(night.spread.quantile(plan.share_wanted)))
    plan.decisions[item] = (
        f"{', '.join(want.tonight)}: ready at {clock(plan.moment(end))} by likely times, at {clock(at)} in "
        f"{plan.show(wanted.value, Probability, 0)} of {want.samples:,} samples; slack {plan.show(found.t_s, Minutes)}; opened "
        f"in time in {plan.show(chance.p, Probability)} of them"
    )


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


def clock(moment: datetime.datetime) -> str:
    """Return a local date and time as printed."""
    return moment.strftime("%Y-%m-%d %H:%M")


def notes(plan: ClosurePlan) -> None:
    """Add simplifications and cautions."""
    want = plan.section
    plan.notes += [
        "No rate of work is published with authority: each is the job's, with its date and source in rates.csv. The timetable is no "
        "better than they are; compare it with what the first night took.",
        "Steps are taken as independent of one another in the sampling, each in a triangle between its three times; a night on which "
        "everything is slow (rain, a broken compressor) is not in it.",
        f"What is placed: {want.mix}. The wait for strength is "
        + (
            "that of the sheet of curing."
            if want.wait == "curing"
            else "the row of rates.csv, to be shown by cylinders or maturity of this mix: "
            "the lane opens on strength shown, never on the clock alone."
        ),
        "A crew or tool goes from patch to patch in a fixed order; walking between patches is in the rates.",
    ]
