"""What the foreman holds for one closure of the plan: its clock, its patches and loads, its safety sheet, its tables, its patch sheets."""

from __future__ import annotations

from deckcalc.base.work import Closure
from deckcalc.closure.design.results import Timetable
from deckcalc.closure.sheet.loads import night_cell
from deckcalc.core import units
from deckcalc.core.units import Distance, OrderVolume, Temperature
from deckcalc.job import Job
from deckcalc.package import crew, readings
from deckcalc.safety import sheet as safety
from deckcalc.show.figures import Picture
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain

BOX, LINE = crew.BOX, crew.LINE


def sheets(job: Job) -> list[Text | Picture]:
    """Return the sheets of every closure of the plan in the order of the work; of a job without a plan, its safety sheet."""
    why = crew.why_none(job)
    if why:
        return [block(["# Safety sheet for the tool-box talk", str(talk(job)), why])]
    found: list[Text | Picture] = []
    for closure in job.file.work:
        found += [
            night(job, closure),
            block(
                [
                    f"# Closure {plain(closure.name)}: safety sheet for the tool-box talk",
                    str(talk(job, closure.patches)),
                ]
            ),
        ]
        for name in closure.patches:
            found += crew.sheet(job, name)
    return found


def talk(job: Job, names: list[str] | None = None) -> Text:
    """Return the safety sheet, of some patches or of all."""
    return safety.talk(job.safety, job.steel, job.formwork, job.traffic, job.closure, names)


def night(job: Job, closure: Closure) -> Text:
    """Return the sheet of a closure: go or no-go, the clock, the patches, what is loaded, whom to call."""
    made = job.closure.closure_of(closure.patches[0]) if job.of("closure") is not None else None
    return block([
        f"# Closure {plain(closure.name)}: night sheet", crew.bound(heading(job, closure)), "## Go or no-go, before the lane is closed", *go(job, closure),
        "## The clock", clock(job, closure, made), "## Patches, in this order", patches(job, closure, made), *loads(job, made), crew.whom(job), str(readings.tables(job, closure)),
    ])  # fmt: skip


def heading(job: Job, closure: Closure) -> str:
    """Say when the lane is closed and open, and what is placed."""
    work = job.file.work
    placed = "; ".join(
        f"{row.placement} ({', '.join(row.names)}) from {crew.short(work.in_words(row.start))} to {work.hour(row.end)}"
        for row in closure.placings
    )
    return f"Lane closed **{work.in_words(closure.closing)}**, open **{work.in_words(closure.opening)}**; foreman {LINE * 16} Concrete: {plain(placed)}."


def go(job: Job, closure: Closure) -> list[str]:
    """Return what must be so before the lane is closed."""
    show = lambda value: job.show(value, Temperature, 0)  # noqa: E731
    said = [
        "every item of “What stops the work” that names these patches is decided in writing",
        f"air {show(job.limit('air_least').value)} or more while placing by the forecast, hole {show(job.limit('contact_least').value)} or more, no rain before the cover is on",
        "all of “Load” below is on the trucks; a second generator and a spare blade are there; mixer and scale have run",
        "every blank telephone number is filled in; the safety sheet was talked through",
    ]  # fmt: skip
    return [f"{BOX} {one[0].upper()}{one[1:]}." for one in said]


def clock(job: Job, closure: Closure, made: Timetable | None) -> str:
    """Return the hours that decide: closing, each latest start with what is done if it is missed, opening."""
    work = job.file.work
    rows = [[crew.short(work.in_words(closure.closing)), "", "**lane closed**", ""]]
    if made is not None:
        found = {(one.step.name): one for one in made.latest_starts}
        for i, step in enumerate(made.network.steps):
            row = job.closure.rates[step.activity]
            if step.name not in found and row.per != "mixer":
                continue
            then = plain(found[step.name].fallback) if step.name in found else "ask the engineer"
            planned, latest = (
                crew.moment(made, minutes) for minutes in (float(made.times.start[i]), made.last_start[i])
            )
            rows.append(
                [
                    planned,
                    f"**{latest}**",
                    f"{plain(row.work)} {plain(step.group)}".strip(),
                    then,
                    str(made.last_start[i]),
                ]
            )
        rows[1:] = [row[:4] for row in sorted(rows[1:], key=lambda row: float(row[4]))]
    rows.append(
        [crew.short(work.in_words(closure.opening)), "", "**lane open**, strength shown; else it stays closed", ""]
    )
    share = job.show(job.limit("open_in_time").value, units.Probability, 0) if made else ""
    lead = (
        f"Begun after *latest*, the probability of opening as planned is less than {share}: do what stands under *then*."
        if made
        else ""
    )
    return "\n\n".join(
        filter(None, [pipe_table(["planned", "latest", "begins", "if it has not begun: then"], rows, "llll"), lead])
    )


def patches(job: Job, closure: Closure, made: Timetable | None) -> str:
    """Return the patches in the order of the work, each with its batches and the last hour at which placing may begin."""
    rows = []
    for name in closure.patches:
        one, loads, bags = job.patch[name], job.mix.loads.get(name), job.mix.bag_loads.get(name)
        size = f"{job.show(one.limits.L, Distance)} × {job.show(one.limits.B, Distance)}"
        if bags:
            mixed = f"{bags.count} of {' + '.join(map(str, dict.fromkeys(bags.bags)))} bags"
        elif loads:
            mixed = f"{loads.count} of {job.show(loads.volume, units.BatchVolume)}"
        else:
            mixed = "by ticket"
        by = ""
        if made is not None:
            last = [
                made.last_start[i]
                for i, step in enumerate(made.network.steps)
                if step.group == name and job.closure.rates[step.activity].per == "mixer"
            ]
            by = f"**{crew.moment(made, min(last))}**" if last else ""
        rows.append(
            [
                f"**{name}**",
                one.depth_class,
                size,
                job.show(one.volume.V_order, OrderVolume),
                plain(job.mix.for_patch(name).name),
                mixed,
                by,
            ]
        )
    return pipe_table(
        ["patch", "class", "along × across", "to mix", "concrete", "batches", "placing begins by"], rows, "lllrllr"
    )


def loads(job: Job, made: Timetable | None) -> list[str]:
    """Return what is loaded for a closure, and how many trucks it takes."""
    plan = job.closure if job.of("closure") is not None else None
    if plan is None or made is None or not plan.stock:
        return []
    mine = plan.loads_of(made)
    cells = [
        f"{plain(line.material)} {night_cell(plan, line, made.name, mine)}{f' × {plain(line.container)}' if line.container and made.name in line.by_night else ''}"
        for line in plan.stock
        if line.material in mine
    ]
    trucks = [
        f"{plain(one.item.rpartition(', ')[2])} {one.loads.n.m_as(''):.0f}"
        for one in plan.trucks
        if made.name in one.item
    ]
    said = f"Truck loads: {'; '.join(trucks)}." if trucks else ""
    return ["## Load", "; ".join(cells) + ".", said]
