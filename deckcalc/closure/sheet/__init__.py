"""Sheet of the closure: the night, its timetable, go or no go, placing, chance, nights."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from deckcalc import closure, safety
from deckcalc.closure.design import Plan
from deckcalc.closure.design.nights import Gate, Night
from deckcalc.closure.design.steps import row_of
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.units import Minutes, Probability, registry
from deckcalc.job import Job
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, caution, hand_calculations, plain, tabulated

ABSENT = "This job has no section [closure]: nothing is said here of the night, its loads and its cost.\n"
DAY = 24 * 60


def where_present(function: Callable[[Job], Text]) -> Callable[[Job], Text]:
    """Let a part of the sheet be empty where the job has no such section."""

    @wraps(function)
    def part(job: Job) -> Text:
        return function(job) if job.closure.choice else Text("")

    return part


def hour(plan: Plan, minutes: float) -> str:
    """Print so many minutes after the closing as a clock hour, with the date where the closure is longer than a day."""
    return plan.moment(minutes).strftime("%H:%M" if plan.length <= DAY else "%m-%d %H:%M")


def at(plan: Plan, minutes: float) -> str:
    """Print an end, to the minute above."""
    return hour(plan, -(-(minutes - 1e-6) // 1))


def duration(job: Job, minutes: float) -> str:
    """Print minutes."""
    return job.show(registry().Quantity(float(minutes), "min"), Minutes, 0)


def first_line(job: Job) -> Text:
    """Say what the timetable rests on, before anything else."""
    if not job.closure.choice:
        return Text(ABSENT)
    return caution(*map(plain, job.closure.notes))


@where_present
def night(job: Job) -> Text:
    """What the night is: hours, patches, mix, people and plant."""
    plan, want = job.closure, job.closure.choice
    assert want and plan.tonight
    people = ", ".join(f"{crew} {want.crews[crew]} × {count}" for crew, count in want.people.items())
    plant = ", ".join(f"{name} {count}" for name, count in want.crews.items() if name not in want.people)
    facts = [
        ("closing", want.closing.strftime("%Y-%m-%d %H:%M")), ("opening", want.opening.strftime("%Y-%m-%d %H:%M")),
        ("hours of the closure", f"{plan.length / 60:g} h"), ("patches of this closure", ", ".join(want.tonight)),
        ("what is placed", plain(want.mix)),
        ("wait for strength", "by the row of rates.csv" if want.wait == "rates" else "by the sheet of curing and opening"),
        ("crews × people in each", plain(people)), ("plant", plain(plant)), ("from", plain(want.source)),
    ]  # fmt: skip
    return block(
        [
            pipe_table(["this closure", ""], [[a, b] for a, b in facts], "ll"),
            f"**{plain(plan.decisions['this closure'][0].upper() + plan.decisions['this closure'][1:])}.**",
        ]
    )


@where_present
def timetable(job: Job) -> Text:
    """Timetable of this closure, step by step."""
    plan, one = job.closure, job.closure.tonight
    assert one
    rows = []
    for i in sorted(range(len(one.network.steps)), key=lambda i: (one.times.start[i], one.network.steps[i].rank)):
        step, times = one.network.steps[i], one.times
        row = row_of(plan, step)
        rows.append([
            hour(plan, times.start[i]), hour(plan, times.finish[i]), plain(row.work), step.group,
            plain(", ".join(step.uses)), f"{step.likely:.0f}", hour(plan, times.latest_start[i]), f"{times.slack[i]:.0f}",
            "**critical**" if times.critical[i] else "",
        ])  # fmt: skip
    heads = ["begins", "ends", "step", "patch", "crew and plant", "min", "begins at the latest", "slack [min]", ""]
    lead = (
        "Likely times, in whole minutes. A step begins when what it follows is done and its crew and plant are free. Slack "
        f"runs to the opening: no step has less than {one.times.slack.min():.0f} min, and those that have no more are critical."
    )
    return block([lead, pipe_table(heads, rows, "rrlllrrrl")])


def gate_rows(plan: Plan, gates: list[Gate]) -> list[list[str]]:
    """Return rows of a table of latest starts."""
    form = "%H:%M" if plan.length <= DAY else "%m-%d %H:%M"
    rows = []
    for gate in gates:
        first = min(gate.latest, gate.sure)
        rows.append([
            plain(gate.work), gate.step.group, gate.planned.strftime(form), f"**{first.strftime(form)}**",
            gate.latest.strftime(form), plain(gate.fallback),
        ])  # fmt: skip
    return rows


GATES = ["if this has not begun", "patch", "planned", "by", "at the very latest", "then"]


@where_present
def gates(job: Job) -> Text:
    """Hours by which a step must have begun, and what is done if it has not."""
    plan = job.closure
    share = job.show(job.limit("open_in_time").value, Probability, 0)
    lead = (
        f"**By**: begun later, fewer than {share} of the samples open in time, so do what stands under **then**. At the very "
        "latest: begun later, it does not open in time even by likely times. Hours are rounded down."
    )
    return block([lead, pipe_table(GATES, gate_rows(plan, plan.gates), "llrrrl")])


@where_present
def other_gates(job: Job) -> Text:
    """Hours of the nights over which all patches are spread."""
    plan, parts = job.closure, []
    for one in plan.each:
        if plan.tonight and one.patches == plan.tonight.patches:
            continue
        parts += [f"### {one.name[0].upper()}{one.name[1:]}: {', '.join(one.patches)}",
                  pipe_table(GATES, gate_rows(plan, one.gates), "llrrrl")]  # fmt: skip
    return block(parts)


@where_present
def placing(job: Job) -> Text:
    """The mixer's cycle against the rate of placing, patch by patch."""
    plan, want = job.closure, job.closure.choice
    assert want
    rows = []
    for run in plan.runs_of(closure.placing_time):
        made, count = run.result, round(float(run.arguments["n"].m_as("")))
        slower = "mixer" if made.t_m > made.t_p else "crew"
        gap = made.t_g <= want.workable * (1 + 1e-9)
        verdict = "one load" if count == 1 else "no cold joint" if gap else "**cold joint**"
        rows.append([
            run.item.removeprefix("patch "), str(count), *(job.show(t, Minutes, 1) for t in (made.t_m, made.t_p, made.t)), slower,
            job.show(made.t_g, Minutes, 1) if count > 1 else "", verdict,
        ])  # fmt: skip
    heads = ["patch", "loads", "by the mixer", "by the crew", "longer", "governs", "between loads", "verdict"]
    lead = f"A load may follow the one before it by at most {job.show(want.workable, Minutes)} without a cold joint."
    return block([lead, pipe_table(heads, rows, "lrrrrlrl")])


@where_present
def chance(job: Job) -> Text:
    """Probability of opening in time, what it rests on, and which steps decide."""
    plan, want = job.closure, job.closure.choice
    assert want
    rows = []
    for one in [plan.tonight, *plan.each]:
        assert one
        count = round(one.spread.in_time * want.samples)
        made = closure.share_in_time(registry().Quantity(count, ""), registry().Quantity(want.samples, ""))
        rows.append([
            one.name, ", ".join(one.patches), at(plan, one.times.end), *(at(plan, one.spread.quantile(p)) for p in (0.5, 0.9, 0.99)),
            job.show(made.p, Probability, 2), f"{job.show(made.p_l, Probability, 2)} to {job.show(made.p_u, Probability, 2)}",
        ])  # fmt: skip
    heads = [
        "closure",
        "patches",
        "done by likely times",
        "50 of 100",
        "90 of 100",
        "99 of 100",
        "in time",
        "95 % interval",
    ]
    lead = (
        f"{want.samples:,} samples, each step drawn from a triangle between its three times. The interval is the error of the "
        "sampling alone: rates that are wrong move it further than any number of samples mends."
    )
    return block([lead, pipe_table(heads, rows, "llrrrrrr"), often(plan)])


def often(plan: Plan) -> str:
    """Say which steps are most often critical."""
    one = plan.tonight
    assert one
    found = sorted(zip(one.spread.critical, one.network.steps, strict=True), key=lambda pair: (-pair[0], pair[1].rank))
    named = [f"{row_of(plan, step).work} {step.group}".strip() + f" ({100 * share:.0f} %)" for share, step in found[:8]]
    return f"Most often critical in the samples of this closure: {plain('; '.join(named))}."


@where_present
def all_nights(job: Job) -> Text:
    """All patches of the job spread over nights."""
    plan = job.closure
    if not plan.each:
        why = plan.decisions.get(
            "all patches", "the wait for strength comes from the sheet of curing, which times each placing"
        )
        return Text(f"The patches are not spread over nights: {plain(why)}.\n")
    rows = [night_row(job, plan, one) for one in plan.each]
    heads = ["night", "patches", "done by likely times", "done, to be kept", "left to the opening", "in time"]
    share = job.show(job.limit("open_in_time").value, Probability, 0)
    lead = (
        f"Least nights first, then least hire of what is only wanted on some nights, then more unsound area early. A night "
        f"holds when its timetable, worked as above, is done by likely times and in {share} of the samples."
    )
    tonight = plan.tonight.patches if plan.tonight else ()
    others = f"This closure ({', '.join(tonight)}) is none of these nights: it holds fewer patches, or other ones."
    others = "" if tonight in plan.nights else others
    return block([lead, pipe_table(heads, rows, "llrrrr"), others])


def night_row(job: Job, plan: Plan, one: Night) -> list[str]:
    """Return the row of one night."""
    q = registry().Quantity
    return [
        one.name, ", ".join(one.patches), at(plan, one.times.end), at(plan, one.end),
        duration(job, int(plan.length - one.end + 1e-6)), job.show(q(100 * one.spread.in_time, "%"), Probability),
    ]  # fmt: skip


#: What is written out for its first item, all items following in a table; the others are written out for every item.
TABLED: dict[Calculation, tuple[str, ...]] = {
    closure.step_time: ("q", "r", "t_1", "t"), closure.placing_time: ("V", "n", "t_m", "t_p", "t", "t_g"),
    closure.containers: ("q", "s", "c", "a", "n"), closure.fuel: ("t", "r", "V"), closure.truck_loads: ("m", "m_1", "n", "u"),
    closure.unit_cost: ("K", "n", "A", "V", "K_n", "K_A", "K_V"),
}  # fmt: skip
ONCE = (safety.noise_hours, safety.noise_dose)  # the sheet of safety


def hand(job: Job) -> Text:
    """Hand calculations; where many items follow by the same lines, the first alone, and a table."""
    plan = job.closure
    if not plan.choice:
        return Text("")
    written, parts = hand_calculations(job), []
    for calculation in dict.fromkeys(run.calculation for run in plan.runs):
        runs = plan.runs_of(calculation)
        if calculation in ONCE:
            continue
        shown = runs[:1] if calculation in TABLED else runs
        parts += [written[run].markdown(remarks=run is runs[0]) for run in shown]
        if calculation in TABLED and len(runs) > 1:
            parts.append(tabulated(job, plan, calculation, *TABLED[calculation]))
        if calculation is closure.step_time:
            parts.append(counted(job))
    return block(parts)


def counted(job: Job) -> str:
    """Say in what the amounts of the steps are counted."""
    length, area, volume = (
        units.kind_of(kind).symbol(job.system) for kind in (units.Distance, units.Area, units.Volume)
    )
    return (
        f"The amount is counted in {length} of cut, {area} of patch or {volume} broken out, by what the rate counts; it is 1 where "
        "the rate is a time, and for placing it is the share of the time that mixer and crew take."
    )


__all__ = ["all_nights", "chance", "first_line", "gates", "hand", "night", "other_gates", "placing", "timetable"]
