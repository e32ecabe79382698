"""Steps of a closure and their times, by the rates of the job and what was measured of each patch."""

from __future__ import annotations

from collections.abc import Sequence

from deckcalc import closure
from deckcalc.base.fields import JobError
from deckcalc.closure.design.loads import measured, mixer_loads, wait
from deckcalc.closure.design.results import CURVE, ESTIMATE, ClosurePlan, PlacingDesign
from deckcalc.closure.formulas.critical_path import Step
from deckcalc.closure.inputs import RATE_KINDS, RateRow
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Minutes, Quantity, quantity

COLUMNS = ("least", "likely", "most")
#: Unit in which an amount is counted, in an SI job and in a US customary one; none where the rate is a time.
COUNTED = {"m of cut": ("m", "ft"), "area": ("m²", "ft²"), "volume out": ("m³", "ft³")}


def placing(plan: ClosurePlan, name: str) -> None:
    """Work out batching and placing of a patch, and check the gap between two batches."""
    want, item, count = plan.section, plan.trades.patches[name].item, mixer_loads(plan, name)
    found = plan.run(
        closure.placing_time, item, V=quantity(measured(plan, name)["order"], "m³"), n=quantity(float(count)),
        t_c=want.mixer_cycle, r=want.placing_rate,
    )  # fmt: skip
    late = not found.t_g <= want.workable * (1 + 1e-9)
    plan.placing[name] = PlacingDesign(name, count, found, count > 1 and late)
    if count > 1:
        joint = Limit("workable", "longest gap between two batches", want.workable, units.kind_of(Minutes), want.source)
        plan.checks.append(
            Check(item, "gap between two batches", found.t_g, joint, "at most", "a second mixer, or smaller areas")
        )


def rated(plan: ClosurePlan, row: RateRow, name: str, column: str) -> tuple[Quantity, Quantity]:
    """Return how much there is of what a rate counts, and the time for one unit of it."""
    if row.per == "mixer":
        return quantity(float(row.time(column).m_as(""))), plan.placing[name].times.t
    if row.per not in COUNTED:
        return quantity(1.0), row.time(column)
    kind = units.kind_of(RATE_KINDS[row.per])
    unit = COUNTED[row.per][plan.system == "US"]
    number = quantity(measured(plan, name)[row.per], COUNTED[row.per][0]).m_as(unit)
    return quantity(float(number)), quantity(float(row.time(column).m_as(kind.unit(plan.system))), "min")


def duration(plan: ClosurePlan, row: RateRow, name: str) -> tuple[float, float, float]:
    """Return minimum, likely and maximum time of a step at a patch, in whole minutes; the likely one is written out."""
    key = row.step, name
    if key in plan.durations:
        return plan.durations[key]
    computed = wait(plan, name) if row.per == "wait" else None
    if row.per == "wait":
        plan.evidence[name] = CURVE if computed else ESTIMATE
    if computed:
        likely, latest = computed
        pairs = [(quantity(1.0), quantity(value, "min")) for value in (likely, likely, latest)]
    else:
        pairs = [rated(plan, row, name, column) for column in COLUMNS]
    for (_, time), column in zip(pairs, COLUMNS, strict=True):
        if not 0 <= time.m_as("min") <= 20000:
            raise JobError(
                [f"rates.csv, step {row.step}, column {column}: {time.m_as('min'):.0f} min is no time for a step"]
            )
    item = f"{row.step}, {plan.trades.patches[name].item if name else 'the closure'}"
    made = plan.run(closure.step_time, item, q=pairs[1][0], r=pairs[1][1])
    least, most = (float(closure.step_time(*pairs[i]).t.m_as("min")) for i in (0, 2))
    plan.durations[key] = least, float(made.t.m_as("min")), most
    return plan.durations[key]


def to_take_off(plan: ClosurePlan, name: str) -> tuple[str, ...]:
    """Return what comes off the form of a patch: nothing of one that is not full depth."""
    if not plan.trades.patches[name].full:
        return ()
    return plan.trades.formwork.take_off(name) if plan.trades.formwork else ("form",)


def taken_off(plan: ClosurePlan, names: Sequence[str]) -> None:
    """Check that the steps which take the forms of full-depth holes off are in the plan."""
    there = {row.takes_off for row in plan.rates.values()}
    for name in names:
        wanted = to_take_off(plan, name)
        missing = [what for what in wanted if what not in there]
        if not wanted:
            continue
        limit = Limit(
            "taken_off", "steps that take it off", quantity(float(len(wanted))), units.kind_of(units.Count), "rates.csv"
        )
        plan.checks.append(
            Check(plan.trades.patches[name].item, "steps that take the form off, in rates.csv",
                  quantity(float(len(wanted) - len(missing))), limit, "at least",
                  f"missing: {', '.join(missing)}; the timetable leaves their time out. Declare them in rates.csv, column takes off")
        )  # fmt: skip


def steps_of(plan: ClosurePlan, names: Sequence[str]) -> list[Step]:
    """Return the steps of a closure over some patches: those of the closure once, those of a patch for each."""
    full = {name for name in names if plan.trades.patches[name].full}

    def applies(row: RateRow, name: str) -> bool:
        if row.takes_off and row.takes_off not in to_take_off(plan, name):
            return False
        return row.per != "closure" and (row.per != "hole" or name in full)

    def follows(row: RateRow, name: str) -> set[str]:
        found: set[str] = set()
        for other in row.names("after"):
            before = plan.rates[other]
            if before.per == "closure":
                found.add(other)
            elif name and applies(before, name):
                found.add(f"{other} {name}")
            elif name:
                found |= follows(before, name)  # a step that this patch has not: what it follows counts
            else:
                for one in names:
                    found |= {f"{other} {one}"} if applies(before, one) else follows(before, one)
        return found

    steps = []
    for rank, row in enumerate(plan.rates.values()):
        for name in [""] if row.per == "closure" else [one for one in names if applies(row, one)]:
            least, likely, most = duration(plan, row, name)
            after, uses = tuple(sorted(follows(row, name))), row.names("uses")
            label = f"{row.step} {name}".strip()
            steps.append(Step(label, after, uses, likely, least, most, name, rank, row.step))
    return steps
