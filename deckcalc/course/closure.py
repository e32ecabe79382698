"""The closure planned backwards from the hour of opening: timetable, latest starts, spread, nights, noise."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from deckcalc import closure, patch, units
from deckcalc.check import Check, Limit
from deckcalc.closure import network, nights
from deckcalc.closure.network import Network, Spread, Step, Times
from deckcalc.course.base import Subject, joined
from deckcalc.course.closure_inputs import Closure, RateRow
from deckcalc.course.patch import FULL
from deckcalc.inputs import JobError
from deckcalc.units import InputError, Minutes, Probability, Quantity

if TYPE_CHECKING:
    from deckcalc.job import Job


@dataclass(frozen=True)
class Gate:
    """The last hour at which a step may begin, and what is done if it cannot.

    Attributes
    ----------
    step : Step
    work : str
    latest : datetime
        Latest start for the opening, by likely durations.
    sure : datetime
        Latest start with which the share of samples wanted still opens in time.
    fallback : str
    """

    step: Step
    work: str
    latest: datetime.datetime
    sure: datetime.datetime
    fallback: str


@dataclass
class Plan(Subject):
    """The closure as planned.

    Attributes
    ----------
    choice : Closure or None
    rates : dict of RateRow
    network, times, spread
        Of tonight's patches; times in minutes from the closing.
    gates : list of Gate
    nights : list of tuple of str
        All patches of the job spread over nights of the same length.
    ends : list of float
        End of each night's timetable that the share of samples wanted keeps [min].
    """

    choice: Closure | None = None
    rates: dict[str, RateRow] = field(default_factory=dict)
    network: Network | None = None
    times: Times | None = None
    spread: Spread | None = None
    gates: list[Gate] = field(default_factory=list)
    nights: list[tuple[str, ...]] = field(default_factory=list)
    ends: list[float] = field(default_factory=list)
    length: float = 0.0

    def moment(self, minutes: float) -> datetime.datetime:
        """Return the hour of so many minutes after the closing, to the minute below (a limit is kept)."""
        assert self.choice
        return self.choice.closing + datetime.timedelta(minutes=int(np.floor(minutes + 1e-6)))


def minutes(value: float) -> Quantity:
    """Return minutes as a quantity."""
    return units.registry().Quantity(float(value), "min")


def carry(job: Job) -> Plan:
    """Plan the closure."""
    subject = Plan("closure", "Closure")
    subject.choice = want = job.head.closure
    if want is None:
        return subject
    subject.rates = {row.step: row for row in job.file.rows["rates"]}
    subject.length = (want.opening - want.closing).total_seconds() / 60
    every = list(dict.fromkeys([*want.tonight, *(row.patch for row in job.file.rows["patches"])]))
    for name in every:
        place(job, subject, name)
    try:
        subject.network = network.plan(steps_of(job, subject, want.tonight), want.crews)
    except InputError as error:
        raise JobError([f"rates.csv: {error}"]) from None
    subject.times = network.times(subject.network, subject.length)
    subject.spread = network.spread(subject.network, subject.length, want.samples, want.seed)
    subject.gates = gates(job, subject)
    hold(job, subject)
    over_nights(job, subject, every)
    noise(job, subject)
    notes(job, subject)
    return subject


def amounts(job: Job, name: str) -> dict[str, float]:
    """Return what the rates of a patch count: cut [m], area [m²], volume broken out [m³]."""
    item = f"patch {name}"
    sides = next(run.result for run in job.patch.runs_of(patch.patch_limits) if run.item == item)
    volume = next(run.result for run in job.patch.runs_of(patch.patch_volume) if run.item == item)
    return {
        "m of cut": float(sides.P_cut.m_as("m")), "area": float(sides.A.m_as("m²")),
        "volume out": float(volume.V_placed.m_as("m³")), "order": float(volume.V_order.m_as("m³")),
    }  # fmt: skip


def place(job: Job, subject: Plan, name: str) -> None:
    """Hold the mixer's cycle against the rate of placing."""
    want = subject.choice
    assert want
    loads = [one for one in job.mix.loads if one.patch == name]
    count = sum(one.count for one in loads) or 1
    q = units.registry().Quantity
    found = subject.run(
        closure.placing_time, f"patch {name}", V=q(amounts(job, name)["order"], "m³"), n=q(float(count), ""),
        t_c=want.mixer_cycle, r=want.placing_rate,
    )  # fmt: skip
    if count > 1 and name in want.tonight:
        joint = Limit("workable", "longest gap between two loads", want.workable, units.kind_of(Minutes), want.source)
        subject.checks.append(
            Check(
                f"patch {name}",
                "gap between two loads",
                found.t_g,
                joint,
                "at most",
                "a second mixer, or smaller areas",
            )
        )


def durations(job: Job, subject: Plan, row: RateRow, name: str) -> tuple[float, float, float]:
    """Return least, likely and greatest time of a step at a patch [min]."""
    if row.per == "wait" and subject.choice and subject.choice.wait == "curing":
        return wait_of(job, name)
    if row.per == "mixer":
        run = next(r for r in subject.runs_of(closure.placing_time) if r.item == f"patch {name}")
        each = float(run.result.t.m_as("min"))
        return tuple(each * float(row.time(c).m_as("")) for c in ("least", "likely", "most"))  # type: ignore[return-value]
    base = {"m of cut": "min/m", "area": "min/m²", "volume out": "min/m³"}.get(row.per)
    if base is None:
        return tuple(float(row.time(c).m_as("min")) for c in ("least", "likely", "most"))  # type: ignore[return-value]
    unit, much = units.unit(base), amounts(job, name)[row.per]
    return tuple(float(row.time(c).m_as(unit)) * much for c in ("least", "likely", "most"))  # type: ignore[return-value]


def wait_of(job: Job, name: str) -> tuple[float, float, float]:
    """Return the wait for strength by the sheet of curing: expected value, and lower edge of its band [min]."""
    from deckcalc.curing.opening import reached

    for one in job.curing.placings:
        if f"patch {name}" not in one.items:
            continue
        band, required = one.governing, float(job.limit("opening_strength").value.m_as("MPa"))
        likely, sure = (reached(band.hours, values, required) for values in (band.mid, band.low))
        if likely is None or sure is None:
            raise JobError(
                [
                    f"job.toml: closure.wait: placing {one.row.placement} does not reach the strength in its weather record"
                ]
            )
        return 60 * likely, 60 * sure, 60 * sure
    raise JobError([f"job.toml: closure.wait: placements.csv places no patch {name}; the wait cannot come from curing"])


def steps_of(job: Job, subject: Plan, names: list[str] | tuple[str, ...]) -> list[Step]:
    """Return the steps of a closure over some patches: those of the closure once, those of a patch for each."""
    full = {name for name in names if job.patch.depth_class[name] == FULL}
    rows = list(subject.rates.values())

    def holds(row: RateRow, name: str) -> bool:
        return row.per != "closure" and (row.per != "hole" or name in full)

    def follows(row: RateRow, name: str, seen: frozenset[str] = frozenset()) -> set[str]:
        found: set[str] = set()
        for other in row.names("after"):
            before = subject.rates[other]
            if before.per == "closure":
                found.add(other)
            elif name and holds(before, name):
                found.add(f"{other} {name}")
            elif name:
                found |= follows(before, name)  # a step that this patch has not: what it follows counts
            else:
                for one in names:
                    found |= {f"{other} {one}"} if holds(before, one) else follows(before, one)
        return found

    steps = []
    for rank, row in enumerate(rows):
        for name in [""] if row.per == "closure" else [one for one in names if holds(row, one)]:
            least, likely, most = durations(job, subject, row, name)
            steps.append(
                Step(
                    f"{row.step} {name}".strip(),
                    tuple(sorted(follows(row, name))),
                    row.names("uses"),
                    likely,
                    least,
                    most,
                    name,
                    rank,
                )
            )
    return steps


def gates(job: Job, subject: Plan) -> list[Gate]:
    """Return the latest start of every step that has a fallback, by likely durations and by the samples."""
    assert subject.network and subject.times and subject.choice
    share = float(job.limit("open_in_time").value.m_as(""))
    made = network.triangular(subject.network, subject.choice.samples, subject.choice.seed)
    remaining = network.remaining(subject.network, made)
    found = []
    for i, step in enumerate(subject.network.steps):
        row = subject.rates[step.name.split(" ")[0]]
        if row.fallback:
            sure = subject.length - float(np.quantile(remaining[:, i], share))
            found.append(
                Gate(step, row.work, subject.moment(subject.times.latest_start[i]), subject.moment(sure), row.fallback)
            )
    return sorted(found, key=lambda gate: gate.latest)


def hold(job: Job, subject: Plan) -> None:
    """Hold the critical path against the window, and the chance against what is wanted."""
    assert subject.times and subject.spread and subject.choice
    found = subject.run(closure.window, "this closure", t_c=minutes(subject.length), t_p=minutes(subject.times.end))
    whole = Limit(
        "window",
        "hours from closing to opening",
        minutes(subject.length),
        units.kind_of(Minutes),
        subject.choice.source,
    )
    q = units.registry().Quantity
    subject.checks += [
        Check("this closure", "critical path with the wait for strength", minutes(subject.times.end), whole, "at most",
              "fewer patches, more crews, a faster mix, or a longer closure"),
        Check("this closure", "probability of opening in time", q(100 * subject.spread.in_time, "%"), job.limit("open_in_time"),
              "at least", "fewer patches in this closure, or begin earlier"),
    ]  # fmt: skip
    wanted = float(job.limit("open_in_time").value.m_as(""))
    at = subject.moment(np.ceil(subject.spread.quantile(wanted)))
    subject.decisions["this closure"] = (
        f"{', '.join(subject.choice.tonight)}: ready at {clock(subject.moment(np.ceil(subject.times.end)))} by likely times, "
        f"at {clock(at)} in {job.show(job.limit('open_in_time').value, Probability, 0)} of {subject.choice.samples:,} samples; "
        f"slack {job.show(found.t_s, Minutes)}; opened in time in "
        f"{job.show(q(100 * subject.spread.in_time, '%'), Probability)} of them"
    )


def clock(moment: datetime.datetime) -> str:
    """Return a local date and time as printed."""
    return moment.strftime("%Y-%m-%d %H:%M")


def over_nights(job: Job, subject: Plan, names: list[str]) -> None:
    """Spread all patches of the job over nights like this one."""
    want = subject.choice
    assert want
    if want.wait == "curing":
        return
    known: dict[tuple[str, ...], float] = {}
    share = float(job.limit("open_in_time").value.m_as(""))

    def ends(chosen: tuple[str, ...]) -> float:
        if chosen not in known:
            made = network.plan(steps_of(job, subject, chosen), want.crews)
            known[chosen] = network.spread(made, subject.length, 2000, want.seed).quantile(share)
        return known[chosen]

    crews = list(want.crews)
    load, fixed = np.zeros((len(crews), len(names))), np.zeros(len(crews))
    for step in steps_of(job, subject, tuple(names)):
        for crew in step.uses:
            each = step.likely / want.crews[crew]
            if step.group:
                load[crews.index(crew), names.index(step.group)] += each
            else:
                fixed[crews.index(crew)] += each
    worth = np.array([amounts(job, name)["area"] for name in names])
    try:
        subject.nights = nights.spread_over_nights(
            names, load, np.maximum(subject.length - fixed, 1.0), ends, subject.length, worth
        )
    except InputError as error:
        subject.decisions["all patches"] = str(error)
        return
    subject.ends = [ends(night) for night in subject.nights]
    said = "; ".join(f"night {i}: {', '.join(night)}" for i, night in enumerate(subject.nights, 1))
    subject.decisions["all patches"] = f"{len(subject.nights)} night(s) of these hours: {said}"


def noise(job: Job, subject: Plan) -> None:
    """Dose of noise of one worker who stays at each noisy step."""
    want = subject.choice
    assert want and subject.network
    if not want.noise:
        return
    spent, allowed = [], []
    for one in want.noise:
        total = sum(step.likely for step in subject.network.steps if step.name.split(" ")[0] == one.step)
        spent.append(minutes(total).to("h"))
        allowed.append(subject.run(closure.noise_hours, f"noise of {one.step}", L=one.level, rule=want.noise_rule))
    dose = subject.run(closure.noise_dose, "noise of the shift", t=joined(spent), T=joined(allowed)).D
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
