"""The closure planned backwards from the hour of opening: timetable, latest starts, spread, nights, loads, cost, noise."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from deckcalc import closure, safety
from deckcalc.base.subject import Subject, joined
from deckcalc.closure.design import containers as load_stock
from deckcalc.closure.design import cost as closure_cost
from deckcalc.closure.design import loads as load_list
from deckcalc.closure.design.nights import Gate, Night, over_nights, worked
from deckcalc.closure.design.steps import amounts, durations, place, steps_of
from deckcalc.closure.formulas.critical_path import Network, Spread, Times
from deckcalc.closure.inputs import Closure, PriceRow, RateRow
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Minutes, Probability, Quantity

if TYPE_CHECKING:
    from deckcalc.job import Job


@dataclass
class Plan(Subject):
    """The closure as planned.

    Attributes
    ----------
    choice : Closure or None
    rates : dict of RateRow
    prices : list of PriceRow
    durations : dict of tuple of float
        Least, likely and greatest minutes of every step at every patch.
    tonight : Night or None
        The patches of this closure.
    each : list of Night
        All patches of the job spread over nights of the same length.
    length : float
        From closing to opening [min].
    loads : dict of dict
        By patch: amount and unit of every material.
    stock : list of load_stock.Line
        Every material of the job in whole containers.
    ways : list of closure_cost.Way
        The alternatives with their costs.
    """

    key: ClassVar = "closure"
    title: ClassVar = "Closure"
    choice: Closure | None = None
    rates: dict[str, RateRow] = field(default_factory=dict)
    prices: list[PriceRow] = field(default_factory=list)
    durations: dict[str, tuple[float, float, float]] = field(default_factory=dict)
    tonight: Night | None = None
    each: list[Night] = field(default_factory=list)
    length: float = 0.0
    loads: dict[str, dict[str, load_list.Amount]] = field(default_factory=dict)
    stock: list[load_stock.Line] = field(default_factory=list)
    tools: list[load_stock.Tool] = field(default_factory=list)
    ways: list[closure_cost.Way] = field(default_factory=list)

    @property
    def network(self) -> Network | None:
        """Steps of this closure."""
        return self.tonight.network if self.tonight else None

    @property
    def times(self) -> Times | None:
        """Timetable of this closure."""
        return self.tonight.times if self.tonight else None

    @property
    def spread(self) -> Spread | None:
        """What sampling finds of this closure."""
        return self.tonight.spread if self.tonight else None

    @property
    def gates(self) -> list[Gate]:
        """Latest starts of this closure."""
        return self.tonight.gates if self.tonight else []

    @property
    def nights(self) -> list[tuple[str, ...]]:
        """Patches of every night."""
        return [night.patches for night in self.each]

    @property
    def ends(self) -> list[float]:
        """End of every night that the share of samples wanted keeps [min]."""
        return [night.end for night in self.each]

    @property
    def planned(self) -> str:
        """Name of the alternative that is planned."""
        return self.choice.alternatives[0].name if self.choice and self.choice.alternatives else "all"

    def moment(self, minutes: float) -> datetime.datetime:
        """Return the hour of so many minutes after the closing, to the minute below (a limit is kept)."""
        assert self.choice
        return self.choice.closing + datetime.timedelta(minutes=int(np.floor(minutes + 1e-6)))


def q(value: float, unit: str = "") -> Quantity:
    """Return a quantity."""
    return units.registry().Quantity(float(value), unit)


def carry(job: Job) -> Plan:
    """Plan the closure."""
    subject = Plan(job)
    subject.choice = want = job.head.closure
    if want is None:
        return subject
    subject.rates = {row.step: row for row in job.file.rows["rates"]}
    subject.prices = job.file.rows["prices"]
    subject.length = (want.opening - want.closing).total_seconds() / 60
    every = list(dict.fromkeys([*want.tonight, *(row.patch for row in job.file.rows["patches"])]))
    for name in every:
        place(job, subject, name)
    subject.tonight = worked(job, subject, "this closure", want.tonight)
    hold(job, subject)
    over_nights(job, subject, every)
    load_stock.gather(job, subject, every)
    load_stock.carry(job, subject)
    closure_cost.carry(job, subject, every)
    noise(job, subject)
    notes(job, subject)
    return subject


def hold(job: Job, subject: Plan) -> None:
    """Hold the critical path against the window, and the chance against what is wanted."""
    night, want = subject.tonight, subject.choice
    assert night and want
    item, end, wanted = "this closure", night.times.end, job.limit("open_in_time")
    found = subject.run(closure.window, item, t_c=q(subject.length, "min"), t_p=q(end, "min"))
    whole = Limit(
        "window", "hours from closing to opening", q(subject.length, "min"), units.kind_of(Minutes), want.source
    )
    count = round(night.spread.in_time * want.samples)
    chance = subject.run(closure.share_in_time, item, k=q(count), n=q(want.samples))
    subject.checks += [
        Check(item, "critical path with the wait for strength", q(end, "min"), whole, "at most",
              "fewer patches, more crews, a faster mix, or a longer closure"),
        Check(item, "probability of opening in time", chance.p, wanted, "at least",
              "fewer patches in this closure, or begin earlier"),
    ]  # fmt: skip
    labour(subject)
    at = subject.moment(np.ceil(night.spread.quantile(float(wanted.value.m_as("")))))
    subject.decisions[item] = (
        f"{', '.join(want.tonight)}: ready at {clock(subject.moment(end))} by likely times, at {clock(at)} in "
        f"{job.show(wanted.value, Probability, 0)} of {want.samples:,} samples; slack {job.show(found.t_s, Minutes)}; opened "
        f"in time in {job.show(chance.p, Probability)} of them"
    )


def labour(subject: Plan) -> None:
    """Man-days of this closure; a closure longer than a shift has no single one."""
    night, want = subject.tonight, subject.choice
    assert night and want
    there = {crew: count for crew, count in want.people.items() if night.busy(crew)}
    hours = sum(night.busy(crew) * count for crew, count in there.items()) / 60
    if hours and 1 <= subject.length / 60 <= 16:
        subject.run(
            closure.labour, "this closure", H=q(hours, "h"), n=q(sum(there.values())), k_a=want.at_work,
            t_s=q(subject.length / 60, "h"),
        )  # fmt: skip


def clock(moment: datetime.datetime) -> str:
    """Return a local date and time as printed."""
    return moment.strftime("%Y-%m-%d %H:%M")


def noise(job: Job, subject: Plan) -> None:
    """Dose of noise of one worker who stays at each noisy step."""
    want = subject.choice
    assert want and subject.network
    if not want.noise:
        return
    spent, allowed = [], []
    for one in want.noise:
        total = sum(step.likely for step in subject.network.steps if step.name.split(" ")[0] == one.step)
        spent.append(q(total / 60, "h"))
        allowed.append(subject.run(safety.noise_hours, f"noise of {one.step}", L=one.level, rule=want.noise_rule).T)
    dose = subject.run(safety.noise_dose, "noise of the shift", t=joined(spent), T=joined(allowed)).D
    subject.checks.append(
        Check("noise of the shift", "dose without protection", dose, job.limit("noise_dose"), "at most",
              "ear protection for all near the tools, and take turns")
    )  # fmt: skip


def notes(job: Job, subject: Plan) -> None:
    """Simplifications and cautions."""
    want = subject.choice
    assert want
    subject.notes += [
        "No rate of work is published with authority: each is the job's, with its date and source in rates.csv. The timetable is no "
        "better than they are; compare it with what the first night took.",
        "Steps are taken as independent of one another in the sampling, each in a triangle between its three times; a night on which "
        "everything is slow (rain, a broken compressor) is not in it.",
        f"What is placed: {want.mix}. The wait for strength is "
        + (
            "that of the sheet of curing."
            if want.wait == "curing"
            else "the row of rates.csv, to be shown by cylinders or maturity of this mix: "
        )
        + ("" if want.wait == "curing" else "the lane opens on strength shown, never on the clock alone."),
        "A crew or tool goes from patch to patch in a fixed order; walking between patches is in the rates.",
    ]


__all__ = ["Gate", "Plan", "amounts", "carry", "clock", "durations", "steps_of"]
