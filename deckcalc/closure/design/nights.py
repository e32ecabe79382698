"""One night worked out, and all patches of the job spread over nights like it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from deckcalc.base.fields import JobError
from deckcalc.closure.design.steps import amounts, row_of, steps_of
from deckcalc.closure.formulas import assignment as nights
from deckcalc.closure.formulas import critical_path as network
from deckcalc.closure.formulas.critical_path import Network, Spread, Step, Times
from deckcalc.core.units import InputError

if TYPE_CHECKING:
    from deckcalc.closure.design import Plan
    from deckcalc.job import Job


@dataclass(frozen=True)
class Gate:
    """The last hour at which a step may begin, and what is done if it cannot.

    Attributes
    ----------
    step : Step
    work : str
    planned : datetime
        Earliest start by the timetable.
    latest : datetime
        Latest start for the opening, by likely durations.
    sure : datetime
        Latest start with which the share of samples wanted still opens in time.
    fallback : str
    """

    step: Step
    work: str
    planned: datetime.datetime
    latest: datetime.datetime
    sure: datetime.datetime
    fallback: str


@dataclass(frozen=True)
class Night:
    """A closure over some patches; times in minutes from the closing.

    Attributes
    ----------
    name : str
    patches : tuple of str
    network, times, spread
    gates : list of Gate
    end : float
        End that the share of samples wanted keeps.
    """

    name: str
    patches: tuple[str, ...]
    network: Network
    times: Times
    spread: Spread
    gates: list[Gate] = field(default_factory=list)
    end: float = 0.0

    def busy(self, crew: str) -> float:
        """Return how long a crew or plant is at work [min]."""
        return sum(step.likely for step in self.network.steps if crew in step.uses)


def share_wanted(job: Job) -> float:
    """Return the least probability of opening in time."""
    return float(job.limit("open_in_time").value.m_as(""))


def worked(job: Job, subject: Plan, name: str, patches: Sequence[str]) -> Night:
    """Return the timetable of a night, its spread and its latest starts."""
    want = subject.choice
    assert want
    try:
        made = network.plan(steps_of(job, subject, patches), want.crews)
    except InputError as error:
        raise error if isinstance(error, JobError) else JobError([f"rates.csv: {error}"]) from None
    times = network.times(made, subject.length)
    spread = network.spread(made, subject.length, want.samples, want.seed)
    share, gates = share_wanted(job), []
    for i, step in enumerate(made.steps):
        row = row_of(subject, step)
        if row.fallback:
            sure = subject.length - network.kept(spread.remaining[i], share)
            planned, latest, at = (subject.moment(value) for value in (times.start[i], times.latest_start[i], sure))
            gates.append(Gate(step, row.work, planned, latest, at, row.fallback))
    gates.sort(key=lambda gate: gate.latest)
    return Night(name, tuple(patches), made, times, spread, gates, max(spread.quantile(share), times.end))


def hired(subject: Plan, steps: Sequence[Step], names: Sequence[str]) -> tuple[np.ndarray, np.ndarray]:
    """Return what crews and plant cost by the night in use, and which patches want them, of those that not all want."""
    prices, wants = [], []
    for row in subject.prices:
        if row.per == "night in use" and row.counts(subject.planned):
            users = {step.group for step in steps if row.price in step.uses and step.group}
            if users:
                prices.append(row.likely)
                wants.append([name in users for name in names])
    return np.array(prices), np.array(wants, dtype=bool).reshape(len(prices), len(names))


def over_nights(job: Job, subject: Plan, names: list[str]) -> None:
    """Spread all patches of the job over nights like this one."""
    want = subject.choice
    assert want
    if want.wait == "curing":
        return
    known: dict[tuple[str, ...], float] = {}
    share, steps = share_wanted(job), steps_of(job, subject, names)

    def ends(chosen: tuple[str, ...]) -> float:
        if chosen not in known:
            made = network.plan(steps_of(job, subject, chosen), want.crews)
            likely = float(made.finishes(made.likely()).max())
            late = likely > subject.length + 1e-6
            known[chosen] = likely if late else network.end_kept(made, share, want.samples, want.seed)
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
    worth = np.array([amounts(job, name)["area"] for name in names])
    prices, wants = hired(subject, steps, names)
    try:
        found = nights.spread_over_nights(
            names, load, np.maximum(subject.length - fixed, 1.0), ends, subject.length, worth, prices, wants
        )
    except InputError as error:
        subject.decisions["all patches"] = str(error)
        return
    subject.each = [worked(job, subject, f"night {i}", night) for i, night in enumerate(found, 1)]
    said = "; ".join(f"{night.name}: {', '.join(night.patches)}" for night in subject.each)
    subject.decisions["all patches"] = f"{len(subject.each)} night(s) of these hours: {said}"


__all__ = ["Gate", "Night", "over_nights", "worked"]
