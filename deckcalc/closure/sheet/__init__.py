"""Sheet of the closures: their hours, latest starts, placing, probability of opening on time."""

from __future__ import annotations

import datetime
from string import ascii_lowercase

from deckcalc import closure
from deckcalc.base.subject import Run
from deckcalc.closure.design import ClosurePlan, Timetable
from deckcalc.closure.design.results import NOT_IN_TIME
from deckcalc.closure.formulas.durations import said
from deckcalc.closure.sheet import drawings, loads
from deckcalc.closure.sheet.present import where_present
from deckcalc.core import clock, units
from deckcalc.core.check import SATISFIED
from deckcalc.core.units import Minutes, Probability
from deckcalc.show.figures import Picture
from deckcalc.show.governing import cited, governing, leading_to
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations


def at(night: Timetable, minutes: float) -> str:
    """Print an end, to the minute above."""
    return night.hour(-(-(minutes - 1e-6) // 1))


@where_present
def lead(plan: ClosurePlan) -> Text:
    """Say what is decided here, and on what model."""
    want = plan.section
    return Text(
        "Hours of each closure and the probability of opening on time: longest path of the steps of rates.csv in their order, crews and "
        f"plant shared; {want.samples:,} samples, each step drawn from a triangle between its three times, the steps of a closure with "
        f"{plan.show(want.common, units.Share, 0)} in common (engineer's estimate).\n"
    )


@where_present
def results(plan: ClosurePlan, written: HandCalculations) -> Text:
    """The closures as adopted, or as proposed: their hours, what they are ready by, and the verdict."""
    rows = []
    for one in plan.planned:
        fails = [check.verdict for check in plan.checks if check.item == one.name and check.verdict != SATISFIED]
        verdict = f"**{max(fails)}**" if fails else SATISFIED
        rows.append([
            f"**{plain(one.name.removeprefix('closure '))}**: {', '.join(one.patches)}", f"{one.in_words(0)}{changed(one)}", at(one, one.length),
            at(one, one.times.end), at(one, one.spread.quantile(plan.share_kept)), said(one.in_time),
            verdict,
        ])  # fmt: skip
    wanted = plan.show(plan.limit("open_in_time").value, Probability, 0)
    numbers = ", ".join(filter(None, (cited(plan, written, one) for one in (closure.window, closure.share_in_time))))
    heads = [
        "closure", "lane closed", "lane open", "ready, likely times", f"ready, {wanted} of samples", f"opens on time (min {wanted})",
        f"verdict ({numbers})",
    ]  # fmt: skip
    return block(
        [
            "" if plan.work.adopted else f"**No plan adopted.** {plain(proposed(plan))}",
            pipe_table(heads, rows, "lllllll") if rows else "",
            resources(plan),
        ]
    )


def elsewhere(plan: ClosurePlan, *others: str) -> set[str]:
    """Return the items whose checks are not printed again: closures that pass, which stand in their table, and those of other sheets."""
    failing = {check.item for check in plan.checks if check.verdict != SATISFIED}
    return {*others, *({one.name for one in plan.planned} - failing)}


def resources(plan: ClosurePlan) -> str:
    """Say who and what works, and on what each wait for strength rests."""
    want = plan.section
    people = ", ".join(f"{crew} {want.crews[crew]} × {count}" for crew, count in want.people.items())
    plant = ", ".join(f"{name} {count}" for name, count in want.crews.items() if name not in want.people)
    waits: dict[str, list[str]] = {}
    for name, by in plan.evidence.items():
        waits.setdefault(by, []).append(name)
    said = "; ".join(f"{', '.join(names)} by {by}" for by, names in waits.items())
    parts = [f"Crews and people in each: {plain(people)}." if people else "", f"Plant: {plain(plant)}." if plant else "",
             f"Wait for strength: {plain(said)}." if said else ""]  # fmt: skip
    return " ".join(filter(None, parts))


def proposed(plan: ClosurePlan) -> str:
    """Say what is proposed, and how it is adopted."""
    words = plan.decisions.get("proposal", "no plan is proposed")
    then = " “deckcalc adopt” writes it into placements.csv; until then nothing is planned." if plan.proposal else ""
    return f"{words[0].upper()}{words[1:]}.{then}"


def changed(night: Timetable) -> str:
    """Say where the clocks change in a closure."""
    minutes = clock.changes(night.closing, night.moment(night.length), night.work.zone).total_seconds() / 60
    return f" (the clocks are set {'forward' if minutes > 0 else 'back'} by {abs(minutes):.0f} min)" if minutes else ""


def timetable(plan: ClosurePlan) -> Text:
    """Timetable of each closure, step by step."""
    lead = (
        "Likely times, in whole minutes. A step begins when what it follows is done and its crew and plant are free. Slack "
        "runs to the opening; the steps with the minimum slack of their closure are critical."
    )
    return block([lead, *(steps_of(plan, one) for one in plan.planned)])


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
    return block([headed(one), pipe_table(heads, rows, "rrlllrrrl")])


def headed(one: Timetable) -> str:
    """Return the heading of a part about one closure."""
    return f"### {plain(one.name[0].upper() + one.name[1:])}: {', '.join(one.patches)}"


def begin_by(night: Timetable, moment: datetime.datetime) -> str:
    """Print by when a step must have begun."""
    return NOT_IN_TIME if moment < night.closing else night.printed(moment)


@where_present
def latest_starts(plan: ClosurePlan) -> Text:
    """Hours of each closure by which a step must have begun, and what is done if it has not."""
    share = plan.show(plan.limit("open_in_time").value, Probability, 0)
    texts = dict.fromkeys(start.fallback for one in plan.planned for start in one.latest_starts)
    then = dict(zip(texts, ascii_lowercase, strict=False))
    rows = [
        [
            plain(night.name.removeprefix("closure ")), plain(one.work), one.step.group, night.printed(one.planned),
            f"**{begin_by(night, one.decisive)}**", begin_by(night, one.by_likely), then[one.fallback],
        ] for night in plan.planned for one in night.latest_starts
    ]  # fmt: skip
    lead = (
        f"**By**: begun later, the probability of opening on time is less than {share}, so do what stands under **then**. At the very "
        "latest: begun later, it does not open on time even by likely times. Hours are rounded down."
    )
    said = "; ".join(f"**{letter}** {plain(text)}" for text, letter in then.items())
    heads = ["closure", "if this has not begun", "patch", "planned", "by", "at the very latest", "then"]
    return block([lead, pipe_table(heads, rows, "lllrrrl"), f"Then: {said}."]) if rows else Text("")


@where_present
def placing(plan: ClosurePlan, written: HandCalculations) -> Text:
    """The mixer's cycle against the rate of placing, for each patch of more than one batch."""
    rows = []
    several = [one for one in plan.placing.values() if one.loads > 1]
    for one in several:
        made = one.times
        rows.append([
            one.patch, str(one.loads), *(plan.show(t, Minutes, 1) for t in (made.t_m, made.t_p)), one.governs,
            plan.show(made.t_g, Minutes, 1), "**cold joint**" if one.cold_joint else "no cold joint",
        ])  # fmt: skip
    number = cited(plan, written, closure.placing_time)
    heads = ["patch", "batches", "by the mixer", "by the crew", "governs", "between batches", f"verdict ({number})"]
    single = ", ".join(one.patch for one in plan.placing.values() if one.loads == 1)
    lead = f"A batch may follow the one before it by at most {plan.show(plan.section.workable, Minutes)} without a cold joint."
    alone = f"In one batch: {single}." if single else ""
    return block([f"{lead} {alone}".strip() if rows else alone, pipe_table(heads, rows, "lrrrlrl") if rows else ""])


def chance(plan: ClosurePlan) -> Text:
    """Probability of opening on time: what it rests on, and which steps decide."""
    rows = []
    for one in plan.planned:
        rows.append([
            one.name, at(one, one.times.end), *(at(one, one.spread.quantile(p)) for p in (0.5, 0.9, 0.99)),
            said(one.in_time), said(one.apart), said(one.together),
        ])  # fmt: skip
    heads = [
        "closure", "done by likely times", "50 of 100", "90 of 100", "99 of 100", "opens on time", "nothing in common", "all in common",
    ]  # fmt: skip
    lead = (
        "The ranges hold in 95 of 100 such samplings: they are the error of the sampling alone, and rates that are wrong move them "
        "further than any number of samples mends. The last two columns bound what the estimate of the common share does."
    )
    return block([lead, pipe_table(heads, rows, "llrrrlll"), often(plan)])


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


def by_hand(plan: ClosurePlan, written: HandCalculations) -> Text:
    """Write out what leads to the verdicts: the closure nearest to its limit, and the patch nearest to a cold joint."""
    return written.worked(governing_runs(plan)) if plan.inputs.closure else Text("")


def governing_runs(plan: ClosurePlan) -> list[Run]:
    """Return the runs that are written out."""
    placed = set(plan.runs_of(closure.placing_time))
    gap = governing(one for one in plan.checks if placed & set(leading_to(plan, one.demand)))
    nights = [one.name for one in plan.planned]
    held = governing(one for one in plan.checks if one.item in nights)
    timed = {*plan.runs_of(closure.window), *plan.runs_of(closure.share_in_time)}
    runs = [run for run in plan.runs if held and run in timed and run.item == held.item]
    return [*(leading_to(plan, gap.demand) if gap else []), *runs]


def further(plan: ClosurePlan) -> list[Text | Picture]:
    """Return the tables and drawings that stand in the appendix."""
    if not plan.inputs.closure:
        return []
    return [
        Text("## Timetables\n"), *drawings.bars(plan), timetable(plan), Text("## Probability of opening on time\n"), chance(plan),
        Text("## Materials of each patch\n"), loads.by_patch(plan), loads.trucks(plan), Text("## Cost of the plan\n"), loads.cost(plan),
    ]  # fmt: skip
