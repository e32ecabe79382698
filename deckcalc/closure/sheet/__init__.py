"""Sheet of the closure: the night, its timetable, latest starts, placing, chance, nights."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from deckcalc import closure
from deckcalc.closure.design import ClosurePlan, LatestStart, Timetable
from deckcalc.closure.formulas.durations import said
from deckcalc.core import clock, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.units import Minutes, Probability, quantity
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, caution, plain
from deckcalc.show.written import HandCalculations

ABSENT = "This job has no section [closure]: nothing is said here of the night, its loads and its cost.\n"


def where_present(function: Callable[[ClosurePlan], Text]) -> Callable[[ClosurePlan], Text]:
    """Let a part of the sheet be empty where the job plans no closure."""

    @wraps(function)
    def part(plan: ClosurePlan) -> Text:
        return function(plan) if plan.inputs.closure else Text("")

    return part


def at(plan: ClosurePlan, minutes: float) -> str:
    """Print an end, to the minute above."""
    return plan.hour(-(-(minutes - 1e-6) // 1))


def first_line(plan: ClosurePlan) -> Text:
    """Say what the timetable rests on, before anything else."""
    return caution(*map(plain, plan.notes)) if plan.inputs.closure else Text(ABSENT)


@where_present
def night(plan: ClosurePlan) -> Text:
    """What the night is: hours, patches, mix, people and plant."""
    want = plan.section
    people = ", ".join(f"{crew} {want.crews[crew]} × {count}" for crew, count in want.people.items())
    plant = ", ".join(f"{name} {count}" for name, count in want.crews.items() if name not in want.people)
    facts = [
        ("closing", plan.in_words(0)), ("opening", plan.in_words(plan.length)),
        ("hours of the closure", f"{plan.length / 60:g} h{changed(plan)}"), ("patches of this closure", ", ".join(want.tonight)),
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


def changed(plan: ClosurePlan) -> str:
    """Say that the clocks change during the closure; nothing where they do not."""
    want, place = plan.section, plan.inputs.zone
    minutes = clock.changes(want.closing, want.opening, place).total_seconds() / 60
    if not minutes or place is None:
        return ""
    return f"; the clocks of {plain(place.key)} are set {'forward' if minutes > 0 else 'back'} by {abs(minutes):g} min in them"


@where_present
def timetable(plan: ClosurePlan) -> Text:
    """Timetable of this closure, step by step."""
    one, rows = plan.this, []
    for i in one.in_order:
        step, times = one.network.steps[i], one.times
        row = plan.rates[step.activity]
        rows.append([
            plan.hour(times.start[i]), plan.hour(times.finish[i]), plain(row.work), step.group,
            plain(", ".join(step.uses)), f"{step.likely:.0f}", plan.hour(times.latest_start[i]), f"{times.slack[i]:.0f}",
            "**critical**" if times.critical[i] else "",
        ])  # fmt: skip
    heads = ["begins", "ends", "step", "patch", "crew and plant", "min", "begins at the latest", "slack [min]", ""]
    lead = (
        "Likely times, in whole minutes. A step begins when what it follows is done and its crew and plant are free. Slack "
        f"runs to the opening: no step has less than {one.times.slack.min():.0f} min, and those that have no more are critical."
    )
    return block([lead, pipe_table(heads, rows, "rrlllrrrl")])


def start_rows(plan: ClosurePlan, starts: list[LatestStart]) -> list[list[str]]:
    """Return rows of a table of latest starts."""
    return [
        [
            plain(one.work), one.step.group, plan.printed(one.planned), f"**{plan.printed(one.decisive)}**",
            plan.printed(one.by_likely), plain(one.fallback),
        ] for one in starts
    ]  # fmt: skip


STARTS = ["if this has not begun", "patch", "planned", "by", "at the very latest", "then"]


@where_present
def latest_starts(plan: ClosurePlan) -> Text:
    """Hours by which a step must have begun, and what is done if it has not."""
    share = plan.show(plan.limit("open_in_time").value, Probability, 0)
    lead = (
        f"**By**: begun later, the chance of opening in time is less than {share}, so do what stands under **then**. At the very "
        "latest: begun later, it does not open in time even by likely times. Hours are rounded down."
    )
    return block([lead, pipe_table(STARTS, start_rows(plan, plan.this.latest_starts), "llrrrl")])


@where_present
def latest_starts_of_nights(plan: ClosurePlan) -> Text:
    """Hours of the nights over which all patches are spread."""
    parts = []
    for one in plan.nights:
        if one.patches == plan.this.patches:
            continue
        parts += [f"### {one.name[0].upper()}{one.name[1:]}: {', '.join(one.patches)}",
                  pipe_table(STARTS, start_rows(plan, one.latest_starts), "llrrrl")]  # fmt: skip
    return block(parts)


@where_present
def placing(plan: ClosurePlan) -> Text:
    """The mixer's cycle against the rate of placing, patch by patch."""
    rows = []
    for one in plan.placing.values():
        made, several = one.times, one.loads > 1
        verdict = "**cold joint**" if one.cold_joint else "no cold joint" if several else "one load"
        rows.append([
            one.patch, str(one.loads), *(plan.show(t, Minutes, 1) for t in (made.t_m, made.t_p, made.t)), one.governs,
            plan.show(made.t_g, Minutes, 1) if several else "", verdict,
        ])  # fmt: skip
    heads = ["patch", "loads", "by the mixer", "by the crew", "longer", "governs", "between loads", "verdict"]
    lead = f"A load may follow the one before it by at most {plan.show(plan.section.workable, Minutes)} without a cold joint."
    return block([lead, pipe_table(heads, rows, "lrrrrlrl")])


@where_present
def chance(plan: ClosurePlan) -> Text:
    """Chance of opening in time as a range, what it rests on, and which steps decide."""
    want, rows = plan.section, []
    for one in [plan.this, *plan.nights]:
        rows.append([
            one.name, ", ".join(one.patches), at(plan, one.times.end), *(at(plan, one.spread.quantile(p)) for p in (0.5, 0.9, 0.99)),
            said(one.in_time), said(one.apart), said(one.together),
        ])  # fmt: skip
    heads = [
        "closure",
        "patches",
        "done by likely times",
        "50 of 100",
        "90 of 100",
        "99 of 100",
        "chance of opening in time",
        "nothing in common",
        "all in common",
    ]
    lead = (
        f"{want.samples:,} samples, each step drawn from a triangle between its three times; the steps of a night have "
        f"{plan.show(want.common, units.Share, 0)} in common (engineer's estimate). The ranges hold in 95 of 100 such samplings: they "
        "are the error of the sampling alone, and rates that are wrong move them further than any number of samples mends. The last "
        "two columns bound what the estimate of the common share does."
    )
    return block([lead, pipe_table(heads, rows, "llrrrrlll"), often(plan)])


def often(plan: ClosurePlan) -> str:
    """Say which steps are most often critical."""
    named = [
        f"{plan.rates[step.activity].work} {step.group}".strip()
        + (f" ({100 * share:.0f} of 100 samples)" if share < 0.995 else " (in all samples)")
        for share, step in plan.this.often_critical[:8]
    ]
    return f"Most often critical in the samples of this closure: {plain('; '.join(named))}."


@where_present
def all_nights(plan: ClosurePlan) -> Text:
    """All patches of the job spread over nights."""
    if not plan.nights:
        why = plan.decisions.get(
            "all patches", "the wait for strength comes from the sheet of curing, which times each placing"
        )
        return Text(f"The patches are not spread over nights: {plain(why)}.\n")
    rows = [night_row(plan, one) for one in plan.nights]
    heads = ["night", "patches", "done by likely times", "done, to be kept", "left to the opening", "in time"]
    share = plan.show(plan.limit("open_in_time").value, Probability, 0)
    lead = (
        f"Least nights first, then least hire of what is only wanted on some nights, then more unsound area early. A night "
        f"holds when its timetable, worked as above, is done by likely times and with a chance of {share}."
    )
    these = plan.this.patches
    others = f"This closure ({', '.join(these)}) is none of these nights: it holds fewer patches, or other ones."
    others = "" if these in [night.patches for night in plan.nights] else others
    return block([lead, pipe_table(heads, rows, "llrrrr"), others])


def night_row(plan: ClosurePlan, one: Timetable) -> list[str]:
    """Return the row of one night."""
    left = quantity(float(int(plan.length - one.end + 1e-6)), "min")
    return [
        one.name, ", ".join(one.patches), at(plan, one.times.end), at(plan, one.end), plan.show(left, Minutes, 0),
        said(one.in_time),
    ]  # fmt: skip


#: What is written out for its first item, all items following in a table; the others are written out for every item.
TABLED: dict[Calculation, tuple[str, ...]] = {
    closure.step_time: ("q", "r", "t_1", "t"), closure.placing_time: ("V", "n", "t_m", "t_p", "t", "t_g"),
    closure.containers: ("q", "s", "c", "a", "n"), closure.fuel: ("t", "r", "V"), closure.truck_loads: ("m", "m_1", "n", "u"),
    closure.unit_cost: ("K", "n", "A", "V", "K_n", "K_A", "K_V"),
}  # fmt: skip


def hand(plan: ClosurePlan, written: HandCalculations) -> Text:
    """Hand calculations of this room; where many items follow by the same lines, the first alone, and a table."""
    parts = []
    for calculation in dict.fromkeys(run.calculation for run in plan.runs if run.calculation.subject == plan.key):
        runs = plan.runs_of(calculation)
        shown = runs[:1] if calculation in TABLED else runs
        parts += [written.by_run[run].markdown(remarks=run is runs[0]) for run in shown]
        if calculation in TABLED and len(runs) > 1:
            parts.append(written.tabulated(plan, calculation, *TABLED[calculation]))
        if calculation is closure.step_time:
            parts.append(counted(plan))
    return block(parts) if parts else Text("")


def counted(plan: ClosurePlan) -> str:
    """Say in what the amounts of the steps are counted."""
    length, area, volume = (
        units.kind_of(kind).symbol(plan.system) for kind in (units.Distance, units.Area, units.Volume)
    )
    return (
        f"The amount is counted in {length} of cut, {area} of patch or {volume} broken out, by what the rate counts; it is 1 where "
        "the rate is a time, and for placing it is the share of the time that mixer and crew take."
    )


__all__ = [
    "all_nights", "chance", "first_line", "hand", "latest_starts", "latest_starts_of_nights", "night", "placing", "timetable",
]  # fmt: skip
