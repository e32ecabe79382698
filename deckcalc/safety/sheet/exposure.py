"""Sheet of safety: each exposure of the job against its limit, and the one that governs written out."""

from __future__ import annotations

import numpy as np

from deckcalc import safety
from deckcalc.base.subject import Run
from deckcalc.closure.design import ClosurePlan
from deckcalc.core.check import SATISFIED, Check
from deckcalc.core.units import Minutes, quantity
from deckcalc.safety.design import CrewSafety, respirator
from deckcalc.safety.design.noise import noise_items
from deckcalc.show.governing import governing, leading_to
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, open_numbers, plain
from deckcalc.show.written import HandCalculations


def lead(crew: CrewSafety) -> Text:
    """Say what is decided here."""
    if crew.inputs.safety is None:
        return Text("This job has no section [safety]: dust, vibration and lifting are not worked out.\n")
    return Text(
        "What can hurt the crew and has a number: noise, silica dust, hand-arm vibration, lifting, water below, slurry. Times are those of "
        "the closures ([sheet 07](#closure)); what is done about each stands on the sheet for the tool-box talk, in the field set.\n"
    )


def noise_checks(plan: ClosurePlan) -> list[Check]:
    """Return the checks of the noise, which are made with the closure."""
    items = noise_items(plan)
    return [one for one in plan.checks if one.item in items]


def results(crew: CrewSafety, plan: ClosurePlan, written: HandCalculations) -> Text:
    """Every exposure against its limit, with the calculation that gives it and its open item."""
    runs = [*crew.runs, *plan.runs]
    numbers = {
        id(one): str(item.number) for item in (*crew.open_items, *plan.open_items) if item.number for one in item.checks
    }
    rows = []
    for one in (*noise_checks(plan), *crew.checks):
        value, limit = one.printed(crew.system)
        by = next((written.numbers[run] for run in runs if run.item == one.item), "")
        used = "" if one.utilisation is None else f"{100 * one.utilisation:.0f} %"
        rows.append([
            f"{plain(one.item)}: {plain(one.title)}", value, f"{one.sense} {limit}", used, by, numbers.get(id(one), ""),
            one.words if one.verdict == SATISFIED else f"**{one.words}**",
        ])  # fmt: skip
    heads = ["exposure", "value", "limit", "utilised", "calculation", "open item", "verdict"]
    kept = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    if not rows:
        return Text("")
    table = pipe_table(
        [heads[i] for i in kept], [[row[i] for i in kept] for row in rows], "".join("lrrrlrl"[i] for i in kept)
    )
    return block([table, open_numbers(crew)])


def tools(crew: CrewSafety, written: HandCalculations) -> Text:
    """Each tool: time in the shift, respirator, and how long until the values of the vibration are reached."""
    if not crew.tools:
        return Text("")
    minutes = lambda time: crew.at_most(time.to("min"), Minutes)  # noqa: E731
    by: dict[str, list[str]] = {}
    for run in (*crew.runs_of(safety.silica_respirator), *crew.runs_of(safety.tool_vibration)):
        by.setdefault(run.item, []).append(written.numbers[run])
    rows = []
    for one in crew.tools:
        item, shaken = f"{one.tool.tool}, {one.tool.step or one.tool.place}", one.vibration
        rows.append([
            plain(item), crew.at_least(one.hours.to("min"), Minutes), respirator(one.factor), *(
                (minutes(shaken.t_a), minutes(shaken.t_l)) if shaken else ("–", "–")
            ), ", ".join(by.get(item, [])),
        ])  # fmt: skip
    heads = [
        "tool, step",
        "in the shift",
        "silica dust",
        "trigger time to the action value",
        "to the limit value",
        "calculation",
    ]
    return Text(pipe_table(heads, rows, "lrlrrl"))


def noise(plan: ClosurePlan, written: HandCalculations) -> Text:
    """Each noisy step: its level, and how long it may last."""
    runs = plan.runs_of(safety.noise_hours)
    if not runs or plan.inputs.closure is None:
        return Text("")
    rows = [
        [plain(one.step), f"{one.level.magnitude:.0f} dBA", plan.show(run.result.T.to("min"), Minutes),
         plan.show(quantity(max(night.spent(one.step) for night in plan.planned), "min"), Minutes), written.numbers[run]]
        for one, run in zip(plan.inputs.closure.noise, runs, strict=True)
    ]  # fmt: skip
    return Text(pipe_table(["noisy step", "level", "may last", "longest in a closure", "calculation"], rows, "lrrrl"))


def by_hand(crew: CrewSafety, plan: ClosurePlan, written: HandCalculations) -> Text:
    """Write out the noise of the worst closure, and the exposure of the tools, bags, water and slurry nearest to its limit or beyond it."""
    return written.worked(governing_runs(crew, plan))


def governing_runs(crew: CrewSafety, plan: ClosurePlan) -> list[Run]:
    """Return the runs that are written out, those that go into others before them."""
    found: list[Run] = []
    heard = governing(noise_checks(plan))
    for run in plan.runs_of(safety.noise_dose):
        if heard and run.item == heard.item:
            shares = np.atleast_1d(run.arguments["t"].m_as("h")) / np.atleast_1d(run.arguments["T"].m_as("h"))
            found += [plan.runs_of(safety.noise_hours)[int(shares.argmax())], run]
    one = governing(crew.checks)
    led = (leading_to(crew, one.demand, one.limit.value) or crew.of(one.item)) if one else []
    shaken = crew.runs_of(safety.tool_vibration) if set(led) & set(crew.runs_of(safety.shift_vibration)) else []
    return [*found, *shaken, *led]
