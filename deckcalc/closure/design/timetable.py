"""The timetable of one closure, and a proposal that spreads patches over nights."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from deckcalc import closure
from deckcalc.base.fields import JobError
from deckcalc.closure.design.loads import measured
from deckcalc.closure.design.results import ClosurePlan, LatestStart, Timetable
from deckcalc.closure.design.steps import steps_of
from deckcalc.closure.formulas import critical_path
from deckcalc.closure.formulas.assignment import spread_over_nights
from deckcalc.closure.formulas.critical_path import Spread, Step
from deckcalc.core.units import InputError, Quantity, quantity
from deckcalc.core.words import how_many


def timetable_of(
    plan: ClosurePlan, name: str, patches: Sequence[str], closing: datetime.datetime, length: float
) -> Timetable:
    """Return the timetable of a closure, its spread and its latest starts."""
    want = plan.section
    try:
        network = critical_path.plan(steps_of(plan, patches), want.crews)
    except InputError as error:
        raise error if isinstance(error, JobError) else JobError([f"rates.csv: {error}"]) from None
    times = critical_path.times(network, length)
    spread = critical_path.spread(network, length, want.samples, want.seed, plan.common)
    in_time = closure.share_in_time(**opened_in_time(plan, spread))
    apart, together = (
        closure.share_in_time(
            k=quantity(float(critical_path.in_time(network, length, want.samples, want.seed, common))),
            n=quantity(float(want.samples)),
        ) for common in (0.0, 1.0)
    )  # fmt: skip
    end = max(spread.quantile(plan.share_kept), times.end)
    made = Timetable(
        name, tuple(patches), closing, length, plan.work, network, times, spread, in_time, apart, together, [], (), end
    )
    made = replace(made, last_start=tuple(last_start(plan, made, i) for i in range(len(network.steps))))
    return replace(made, latest_starts=latest_starts(plan, made))


def opened_in_time(plan: ClosurePlan, spread: Spread) -> dict[str, Quantity]:
    """Return how many samples open in time, and of how many, as `closure.share_in_time` takes them."""
    samples = plan.section.samples
    return {"k": quantity(float(round(spread.in_time * samples))), "n": quantity(float(samples))}


def last_start(plan: ClosurePlan, made: Timetable, step: int) -> float:
    """Return the last start of a step with which it opens in time by likely times, and with the chance that is wanted."""
    by_samples = made.length - critical_path.kept(made.spread.remaining[step], plan.share_kept)
    return float(min(made.times.latest_start[step], by_samples))


def latest_starts(plan: ClosurePlan, made: Timetable) -> list[LatestStart]:
    """Return the latest starts of the steps for which the job says what is done if they are missed."""
    found = []
    for i, step in enumerate(made.network.steps):
        row = plan.rates[step.activity]
        if row.fallback:
            latest = made.times.latest_start[i]
            planned, by_likely, decisive = (made.moment(x) for x in (made.times.start[i], latest, made.last_start[i]))
            found.append((latest, LatestStart(step, row.work, planned, by_likely, fallback_of(plan, step), decisive)))
    return [one for _, one in sorted(found, key=lambda pair: pair[0])]


def fallback_of(plan: ClosurePlan, step: Step) -> str:
    """Return what is done if a step cannot begin: with a plate over the hole only where one may close it."""
    row, forms = plan.rates[step.activity], plan.trades.formwork
    closable = forms is not None and forms.closable(step.group)
    return row.with_plates if row.with_plates and closable else row.fallback


def hired(plan: ClosurePlan, steps: Sequence[Step], names: Sequence[str]) -> tuple[np.ndarray, np.ndarray]:
    """Return what crews and plant cost by the night in use, and which patches want them, of those that not all want."""
    prices, wants = [], []
    for row in plan.inputs.prices:
        if row.per == "night in use" and row.counts(plan.planned_alternative):
            users = {step.group for step in steps if row.price in step.uses and step.group}
            if users:
                prices.append(row.likely)
                wants.append([name in users for name in names])
    return np.array(prices), np.array(wants, dtype=bool).reshape(len(prices), len(names))


def night_of(plan: ClosurePlan, number: int) -> tuple[datetime.datetime, float]:
    """Return closing and length of a night that is proposed, counted from nought."""
    want = plan.section
    assert want.first_night is not None
    day = want.first_night + datetime.timedelta(days=number)
    closing = datetime.datetime.combine(day, want.closes)
    opening = datetime.datetime.combine(day, want.opens)
    if opening <= closing:
        opening += datetime.timedelta(days=1)
    return closing, plan.work.minutes(closing, opening)


def propose(plan: ClosurePlan, names: Sequence[str]) -> None:
    """Spread patches over nights of the hours that the job names; what comes of it is a proposal until it is adopted."""
    want = plan.section
    if want.first_night is None:
        plan.decisions["proposal"] = "no plan is proposed: job.toml gives no closure.first_night"
        return
    length = night_of(plan, 0)[1]
    known: dict[tuple[str, ...], float] = {}
    steps = steps_of(plan, names)

    def ends(chosen: tuple[str, ...]) -> float:
        if chosen not in known:
            made = critical_path.plan(steps_of(plan, chosen), want.crews)
            likely = float(made.finishes(made.likely()).max())
            late = likely > length + 1e-6
            known[chosen] = (
                likely if late else critical_path.end_kept(made, plan.share_kept, want.samples, want.seed, plan.common)
            )
        return known[chosen]

    crews = list(want.crews)
    load, fixed = np.zeros((len(crews), len(names))), np.zeros(len(crews))
    for step in steps:
        for crew in step.uses:
            each = step.likely / want.crews[crew]
            if step.group:
                load[crews.index(crew), names.index(step.group)] += each
            else:
                fixed[crews.index(crew)] += each
    worth = np.array([measured(plan, name)["area"] for name in names])
    prices, wants = hired(plan, steps, names)
    try:
        found = spread_over_nights(names, load, np.maximum(length - fixed, 1.0), ends, length, worth, prices, wants)
    except InputError as error:
        plan.decisions["proposal"] = str(error)
        return
    for i, night in enumerate(found):
        plan.proposal.append(timetable_of(plan, f"proposed night {i + 1}", night, *night_of(plan, i)))
    said = "; ".join(f"{night.name}: {', '.join(night.patches)}" for night in plan.proposal)
    plan.decisions["proposal"] = f"{how_many(len(plan.proposal), 'night')}, not adopted: {said}"
