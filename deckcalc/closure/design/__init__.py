"""The closures of the adopted plan, each planned backwards from its opening: timetable, latest starts, spread, loads, cost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from deckcalc import closure
from deckcalc.base.context import Context
from deckcalc.base.work import PlacementRow
from deckcalc.closure.design.cost import estimates
from deckcalc.closure.design.results import ESTIMATE, ClosurePlan, LatestStart, Timetable, Trades
from deckcalc.closure.design.steps import placing, taken_off
from deckcalc.closure.design.stock import containers, load_list
from deckcalc.closure.design.timetable import opened_in_time, propose, timetable_of
from deckcalc.closure.formulas.durations import InTime, said
from deckcalc.closure.inputs import Inputs
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.digits import grouped
from deckcalc.core.units import Minutes, Probability, Quantity, quantity

__all__ = ["ClosurePlan", "LatestStart", "Timetable", "Trades", "compute", "placed_between"]


def compute(context: Context[Inputs], trades: Trades | None, without: Sequence[str] = ()) -> ClosurePlan:
    """Work out the closures of the adopted plan, or propose one without some patches; `trades` is None where there is no section."""
    plan = ClosurePlan(context, given=trades)
    if context.inputs.closure is None or trades is None:
        return plan
    plan.rates = {row.step: row for row in context.inputs.rates}
    planned = [name for one in plan.work for name in one.patches]
    names = [*planned, *plan.work.unplanned([one.name for one in trades.patches if one.name not in without])]
    for name in names:
        placing(plan, name)
    for one in plan.work:
        minutes = plan.work.minutes(one.closing, one.opening)
        plan.closures.append(timetable_of(plan, f"closure {one.name}", one.patches, one.closing, minutes))
    for made in plan.closures:
        checks(plan, made)
    for row in plan.work.placings:
        trades.mix.of_placing(row)  # of one concrete, or it is refused
        window(plan, row)
    taken_off(plan, names)
    if not plan.work.adopted:
        propose(plan, names)
    load_list(plan, names)
    containers(plan)
    estimates(plan, names)
    notes(plan)
    return plan


def checks(plan: ClosurePlan, night: Timetable) -> None:
    """Check the critical path against the hours of a closure, and the probability of opening on time."""
    want, item, length = plan.section, night.name, quantity(float(night.length), "min")
    end, wanted = night.times.end, plan.limit("open_in_time")
    found = plan.run(closure.window, item, t_c=length, t_p=quantity(float(end), "min"))
    hours = Limit("window", "hours from closing to opening", length, units.kind_of(Minutes), want.source)
    chance = plan.run(closure.share_in_time, item, **opened_in_time(plan, night.spread))
    plan.checks += [
        Check(item, "critical path with the wait for strength", quantity(float(end), "min"), hours, "at most",
              "fewer patches, more crews, a faster mix, or a longer closure"),
        Check(item, "probability of opening on time, lower end of its interval", lower_end(chance), wanted, "at least",
              "fewer patches in the closure, or begin earlier"),
    ]  # fmt: skip
    guessed = [name for name in night.patches if plan.evidence.get(name) == ESTIMATE]
    if guessed:
        plan.not_covered(
            item, "wait for strength shown by a curve of the concrete", plan.limit("opening_strength"),
            f"the wait of {', '.join(guessed)} is the estimate of rates.csv until cylinders, pull-out or maturity confirm it", "at least",
        )  # fmt: skip
    labour(plan, night)
    at = np.ceil(night.spread.quantile(plan.share_kept))
    plan.decisions[item] = (
        f"{', '.join(night.patches)}: ready on {night.in_words(end)} by likely times, on {night.in_words(at)} with a probability of "
        f"{plan.show(wanted.value, Probability, 0)}; slack {plan.show(found.t_s, Minutes)}; probability of opening on time "
        f"{said(night.in_time)} ({grouped(want.samples)} samples)"
    )


def window(plan: ClosurePlan, row: PlacementRow) -> None:
    """Check start and end of a placing, as planned, against the timetable by likely times."""
    made = next(one for one in plan.closures if one.name == f"closure {row.closure}")
    found = placed_between(plan, made, row.names)
    for which, planned, likely in zip(("start", "end"), (row.start, row.end), found or (), strict=False):
        apart = abs(plan.work.minutes(made.closing, planned) - likely)
        plan.checks.append(
            Check(f"placing {row.placement}", f"{which} of placing, plan against timetable", quantity(float(apart), "min"),
                  plan.limit("plan_within"), "at most", f"the timetable comes to {made.in_words(likely)}: adopt the plan again")
        )  # fmt: skip


def placed_between(plan: ClosurePlan, made: Timetable, names: Sequence[str]) -> tuple[float, float] | None:
    """Return when the first concrete of some patches is placed and the last is finished, by likely times [min]."""
    begins = [
        made.times.start[i] for i, step in enumerate(made.network.steps)
        if step.group in names and plan.rates[step.activity].per == "mixer"
    ]  # fmt: skip
    ends = [
        made.times.start[i] for i, step in enumerate(made.network.steps)
        if step.group in names and plan.rates[step.activity].per == "wait"
    ]  # fmt: skip
    return (float(min(begins)), float(max(ends))) if begins and ends else None


def lower_end(chance: InTime) -> Quantity:
    """Return the lower end of a chance, rounded down as it is printed, so that it never stands as certain."""
    return quantity(float(np.floor(1000 * chance.p_l.m_as("") + 1e-9)) / 10, "%")


def labour(plan: ClosurePlan, night: Timetable) -> None:
    """Work out the man-days of a closure; one longer than a shift has no single figure."""
    want = plan.section
    there = {crew: count for crew, count in want.people.items() if night.busy(crew)}
    hours = sum(night.busy(crew) * count for crew, count in there.items()) / 60
    if hours and 1 <= night.length / 60 <= 16:
        plan.run(
            closure.labour, night.name, H=quantity(float(hours), "h"), n=quantity(float(sum(there.values()))),
            k_a=want.at_work, t_s=quantity(night.length / 60, "h"),
        )  # fmt: skip


def notes(plan: ClosurePlan) -> None:
    """Add simplifications and cautions."""
    want = plan.section
    plan.notes += [
        "No rate of work is published with authority: each is the job's, with its date and source in rates.csv. The timetable is no "
        "better than they are; compare it with what the first closure took.",
        "Each step is drawn from a triangle between its three times, and the steps of a night together: a slow night is slow "
        f"throughout. What they have in common is {plan.show(want.common, units.Share, 0)} (correlation of their normal scores), an "
        "estimate of the engineer: no measured value is published. The chance is also given for steps that have nothing and "
        "everything in common; what breaks the night off (a storm, an accident) is in none of them.",
        "The wait for strength of a patch is that of the sheet of curing where a strength-maturity curve of its concrete stands "
        "there, else the row of rates.csv, an estimate: the lane opens on strength shown, never on the clock alone.",
        "A crew or tool goes from patch to patch in a fixed order; walking between patches is in the rates.",
    ]
