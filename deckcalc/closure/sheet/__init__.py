"""Sheet of the closures: the plan, timetables, latest starts, placing, chance."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from functools import wraps

from deckcalc import closure
from deckcalc.closure.design import ClosurePlan, Timetable
from deckcalc.closure.design.results import NOT_IN_TIME
from deckcalc.closure.formulas.durations import said
from deckcalc.core import clock, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.digits import grouped
from deckcalc.core.units import Minutes, Probability
from deckcalc.show import sections
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, caution, plain
from deckcalc.show.written import HandCalculations


def where_present(function: Callable[[ClosurePlan], Text]) -> Callable[[ClosurePlan], Text]:
    """Let a part of the sheet be empty where the job plans no closure."""

    @wraps(function)
    def part(plan: ClosurePlan) -> Text:
        return function(plan) if plan.inputs.closure else Text("")

    return part


def at(night: Timetable, minutes: float) -> str:
    """Print an end, to the minute above."""
    return night.hour(-(-(minutes - 1e-6) // 1))


def first_line(plan: ClosurePlan) -> Text:
    """Say what the timetable rests on, before anything else."""
    return caution(*map(plain, plan.notes)) if plan.inputs.closure else Text("")


@where_present
def night(plan: ClosurePlan) -> Text:
    """The closures as adopted, people and plant; where no plan is adopted, what is proposed."""
    want = plan.section
    people = ", ".join(f"{crew} {want.crews[crew]} × {count}" for crew, count in want.people.items())
    plant = ", ".join(f"{name} {count}" for name, count in want.crews.items() if name not in want.people)
    facts = [("crews × people in each", plain(people)), ("plant", plain(plant)), ("from", plain(want.source))]
    rows = [
        [plain(one.name), ", ".join(one.patches), one.in_words(0), one.in_words(one.length), f"{one.length / 60:g} h{changed(one)}",
         plain(", ".join(sorted({plan.evidence[name] for name in one.patches if name in plan.evidence})))]
        for one in plan.planned
    ]  # fmt: skip
    heads = ["closure", "patches in order", "lane closed", "lane open", "hours", "wait for strength by"]
    said = [plan.decisions[one.name] for one in plan.closures]
    return block(
        [
            "" if plan.work.adopted else f"**No plan adopted.** {plain(proposed(plan))}",
            pipe_table(heads, rows, "llllrl") if rows else "",
            pipe_table(["all closures", ""], [[a, b] for a, b in facts], "ll"),
            "\n".join(
                f"- **{plain(one.name)}**: {plain(words)}." for one, words in zip(plan.closures, said, strict=True)
            ),
        ]
    )


def proposed(plan: ClosurePlan) -> str:
    """Say what is proposed, and how it is adopted."""
    words = plan.decisions.get("proposal", "no plan is proposed")
    then = " “deckcalc adopt” writes it into placements.csv; until then nothing is planned." if plan.proposal else ""
    return f"{words[0].upper()}{words[1:]}.{then}"


def changed(night: Timetable) -> str:
    """Say where the clocks change in a closure."""
    minutes = clock.changes(night.closing, night.moment(night.length), night.work.zone).total_seconds() / 60
    return f" (the clocks are set {'forward' if minutes > 0 else 'back'} by {abs(minutes):.0f} min)" if minutes else ""


@where_present
def timetable(plan: ClosurePlan) -> Text:
    """Timetable of each closure, step by step."""
    return block([steps_of(plan, one) for one in plan.planned])


def steps_of(plan: ClosurePlan, one: Timetable) -> Text:
    """Timetable of one closure."""
    rows = []
    for i in one.in_order:
        step, times = one.network.steps[i], one.times
        row = plan.rates[step.activity]
        rows.append([
            one.hour(times.start[i]), one.hour(times.finish[i]), plain(row.work), step.group,
            plain(", ".join(step.uses)), f"{step.likely:.0f}", one.hour(times.latest_start[i]), f"{times.slack[i]:.0f}",
            "**critical**" if times.critical[i] else "",
        ])  # fmt: skip
    heads = ["begins", "ends", "step", "patch", "crew and plant", "min", "begins at the latest", "slack [min]", ""]
    lead = (
        "Likely times, in whole minutes. A step begins when what it follows is done and its crew and plant are free. Slack "
        f"runs to the opening: no step has less than {one.times.slack.min():.0f} min, and those that have no more are critical."
    )
    return block([headed(one), lead, pipe_table(heads, rows, "rrlllrrrl")])


def headed(one: Timetable) -> str:
    """Return the heading of a part about one closure."""
    return f"### {plain(one.name[0].upper() + one.name[1:])}: {', '.join(one.patches)}"


def start_rows(night: Timetable) -> list[list[str]]:
    """Return rows of a table of latest starts."""
    return [
        [
            plain(one.work), one.step.group, night.printed(one.planned), f"**{begin_by(night, one.decisive)}**",
            begin_by(night, one.by_likely), plain(one.fallback),
        ] for one in night.latest_starts
    ]  # fmt: skip


def begin_by(night: Timetable, moment: datetime.datetime) -> str:
    """Print by when a step must have begun."""
    return NOT_IN_TIME if moment < night.closing else night.printed(moment)


STARTS = ["if this has not begun", "patch", "planned", "by", "at the very latest", "then"]


@where_present
def latest_starts(plan: ClosurePlan) -> Text:
    """Hours of each closure by which a step must have begun, and what is done if it has not."""
    share = plan.show(plan.limit("open_in_time").value, Probability, 0)
    lead = (
        f"**By**: begun later, the chance of opening in time is less than {share}, so do what stands under **then**. At the very "
        "latest: begun later, it does not open in time even by likely times. Hours are rounded down."
    )
    parts = [part for one in plan.planned for part in (headed(one), pipe_table(STARTS, start_rows(one), "llrrrl"))]
    return block([lead, *parts]) if parts else Text("")


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
    """Chance of opening in time, what it rests on, and which steps decide."""
    want, rows = plan.section, []
    for one in plan.planned:
        rows.append([
            one.name, ", ".join(one.patches), at(one, one.times.end), *(at(one, one.spread.quantile(p)) for p in (0.5, 0.9, 0.99)),
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
        f"{grouped(want.samples)} samples, each step drawn from a triangle between its three times; the steps of a night have "
        f"{plan.show(want.common, units.Share, 0)} in common (engineer's estimate). The ranges hold in 95 of 100 such samplings: they "
        "are the error of the sampling alone, and rates that are wrong move them further than any number of samples mends. The last "
        "two columns bound what the estimate of the common share does."
    )
    return block([lead, pipe_table(heads, rows, "llrrrrlll"), often(plan)])


def often(plan: ClosurePlan) -> str:
    """Say which steps are most often critical."""
    lines = []
    for night in plan.planned:
        named = [
            f"{plan.rates[step.activity].work} {step.group}".strip()
            + (f" ({100 * share:.0f} of 100 samples)" if share < 0.995 else " (in all samples)")
            for share, step in night.often_critical[:6]
        ]
        lines.append(f"- Most often critical, {plain(night.name)}: {plain('; '.join(named))}.")
    return "\n".join(lines)


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
    "chance", "first_line", "hand", "latest_starts", "night", "placing", "timetable",
]  # fmt: skip


def further(plan: ClosurePlan) -> list[Text]:
    """Return the tables that stand in the appendix."""
    return [sections.cautions(plan)]
