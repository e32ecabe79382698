"""Crew pages: a sheet of two sides for each patch of the plan: sketch, steps with their hours, hold points, batches, blanks, whom to call.

Every number is one that another sheet of the package worked out, printed as it stands there.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterator

import segno

from deckcalc.base.fields import FULL
from deckcalc.base.replacing import as_json
from deckcalc.closure.design.results import NOT_IN_TIME, Timetable
from deckcalc.core import units
from deckcalc.core.units import Area, Distance, Length, OrderVolume, Temperature
from deckcalc.curing.design.strength import times_of_tests
from deckcalc.job import Job
from deckcalc.job.holds import AFTER_REMOVAL, AFTER_TYING, BEFORE_OPENING, BEFORE_PLACING, Hold, hold_points
from deckcalc.job.settings import WORDS
from deckcalc.package import crew_steps as say
from deckcalc.package.batches import batches
from deckcalc.package.decisions import stopped
from deckcalc.patch.sheet.hole import Hole, hole, sketch
from deckcalc.show.figures import Picture
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain
from deckcalc.steel.sheet.bar_lines import bar_lines

BOX = "□"
LINE = "\\_"  # one stroke of a line to write on
BLANK = "\u00a0" * 8  # room for a time and initials
NO_NUMBER = f"{LINE * 16} **(fill in before work begins)**"
#: Hexadecimal digits of the hash of the inputs that a page is marked with.
MARK = 16
#: A step of the crew, or a hold point: its time is that of the step of rates.csv of this name, where there is one.
ORDER: tuple[tuple[str, Callable[[Job, str, Hole], say.Step | None] | str], ...] = (
    ("mark", lambda job, name, _: say.mark(job, name)),
    ("saw", lambda job, name, _: say.saw(job, name)),
    ("break", lambda job, name, _: say.remove(job, name)),
    ("clean", lambda job, name, _: say.expose(job, name)),
    ("inspect", AFTER_REMOVAL),
    ("tie", say.add_bars),
    ("form", lambda job, name, _: say.form(job, name)),
    ("", AFTER_TYING),
    ("wet", lambda job, name, _: say.wet(job, name)),
    ("", BEFORE_PLACING),
    ("place", lambda job, name, _: say.place(job, name)),
    ("finish", lambda job, name, _: say.cure(job, name)),
    ("strength", lambda job, name, _: tests(job, name)),
    ("strip", lambda job, name, _: say.strip(job, name)),
    ("", BEFORE_OPENING),
    ("", lambda job, name, _: say.reopen(job, name)),
)


def why_none(job: Job) -> Text:
    """Say why there is no page for the crew; empty where there are some."""
    missing = [WORDS[key] for key in ("patch", "mix") if key not in job.file.ready]
    if missing:
        return Text(f"No page for the crew: the job has no {', no '.join(missing)}.\n")
    if not job.file.work.adopted:
        return Text("No plan of the work is adopted: there is no page for the crew.\n")
    return Text("")


def left_out(job: Job) -> list[str]:
    """Return the patches of the job that have no place in the adopted plan."""
    work = job.file.work
    return work.unplanned([one.name for one in job.patch]) if work.adopted and "patch" in job.file.ready else []


def names(job: Job) -> list[str]:
    """Return the patches of the plan in the order of the work."""
    return [name for closure in job.file.work for name in closure.patches]


def sheet(job: Job, name: str) -> list[Text | Picture]:
    """Return the sheet of one patch; its heading begins a new page."""
    return [front(job, name), sketch(hole_of(job, name), code(job, name)), rest(job, name)]


def page(job: Job, name: str) -> Text:
    """Return all that is written on the sheet of one patch."""
    return block([front(job, name), rest(job, name)])


def hole_of(job: Job, name: str) -> Hole:
    """Return a patch as it is set out, with its bars."""
    steel = job.steel if "steel" in job.file.ready and job.of("steel") is not None else None
    return hole(job.patch, job.patch[name], bar_lines(steel) if steel is not None else ())


def inputs_hash(job: Job) -> str:
    """Return the hash of the inputs of a package: of the table of hashes in its manifest, as it stands there."""
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in job.file.verbatim.items()}
    return hashlib.sha256(as_json(digests)).hexdigest()


def code(job: Job, name: str) -> list[list[int]]:
    """Return the squares of the code of a page: package, revision, patch and hash of the inputs."""
    head = job.settings.package.number, job.file.revision.revision
    said = f"package={head[0]};revision={head[1]};patch={name};inputs={inputs_hash(job)[:MARK]}"
    return [list(row) for row in segno.make(said, error="m", micro=False).matrix_iter(scale=1, border=2)]


def bound(text: str) -> str:
    """Return text in which a number and its unit stay on one line, and no full stop stands twice."""
    text = text.replace(".m..", ".m.")
    return re.sub(r"(?<=\d) (?=[A-Za-z%°µ²³]|\d+/\d)", "\u00a0", text)


def front(job: Job, name: str) -> Text:
    """Return what stands over the sketch."""
    return block([f"# Crew page: patch {name}", bound(facts(job, name)), not_before(job, name)])


def facts(job: Job, name: str) -> str:
    """Which patch it is, where it stands, and its place in the plan."""
    patches, work = job.patch, job.file.work
    one, mine, placing = patches[name], work.closure_of(name), work.placing_of(name)
    assert mine and placing  # only patches of the plan have a page
    show, sides = patches.show, one.limits
    word = one.depth_class + (" in part" if one.through is not None else "")
    return (
        f"**{word[0].upper()}{word[1:]}**, span {one.marked.span}, {show(sides.L, Distance)} along by {show(sides.B, Distance)} across "
        f"traffic, {show(sides.A, Area)}; {plain(one.location.kind)}; concrete to mix {show(one.volume.V_order, OrderVolume)}. "
        f"**Closure {plain(mine.name)}**, patch {mine.patches.index(name) + 1} of {len(mine.patches)}: lane closed {work.in_words(mine.closing)}, "
        f"concrete {short(work.in_words(placing.start))} to {work.hour(placing.end)}, lane open {short(work.in_words(mine.opening))}."
    )


def not_before(job: Job, name: str) -> str:
    """What the open items of this patch stop, by their numbers; empty where none is undecided."""
    said = stopped(job.open_at(name))
    return f"**Open, and not before the engineer has decided:** {said}." if said else ""


def rest(job: Job, name: str) -> Text:
    """Return what stands under the sketch and on the other side."""
    found = hole_of(job, name)
    return block([
        corners(job, found), steps_of(job, name, found), str(batches(job, name)), as_built(job, name), call(job, name)
    ])  # fmt: skip


def corners(job: Job, found: Hole) -> str:
    """Return where each corner lies, and the diagonals."""
    places, across = found.places(), found.diagonals()
    rows = [
        [f"from joint {found.joint_number}", *(f"**{x}**" for _, x, _ in places)],
        [f"from the {found.kerb}", *(f"**{y}**" for _, _, y in places)],
    ]
    heads = ["corner" + (" [mm]" if job.system == "SI" else ""), *(letter for letter, _, _ in places)]
    if across:
        heads.append("diagonals")
        rows = [
            [*row, f"{letters} **{length}**"] for row, letters, length in zip(rows, ("a–c", "b–d"), across, strict=True)
        ]
    return pipe_table(heads, rows, "l" + "r" * (len(heads) - 1))


def steps_of(job: Job, name: str, found: Hole) -> str:
    """Return the steps in the order of the work, each with its planned hour, its latest one and what is done if it is late."""
    night = job.closure.closure_of(name) if job.of("closure") is not None else None
    holds = hold_points(job, name)
    timed = {step.activity: i for i, step in enumerate(night.network.steps) if step.group == name} if night else {}
    rows: list[tuple[float, str, say.Step]] = []
    rank = 0.0
    for activity, written in ORDER:
        if activity in timed and night:
            rank = float(night.network.steps[timed[activity]].rank)
        step = held(holds, written) if isinstance(written, str) else written(job, name, found)
        rank += 0.01
        if step is not None:
            rows.append((rank, activity, step))
    known = {activity for activity, _ in ORDER}
    if night:
        own = [
            (step.rank, step.activity)
            for step in night.network.steps
            if step.group == name and step.activity not in known
        ]
        rows += [
            (float(rank), activity, say.own_step(job, name, job.closure.rates[activity])) for rank, activity in own
        ]
    cells, number = [], 0
    for _, activity, (title, text) in sorted(rows, key=lambda row: row[0]):
        hold = title.startswith("HOLD")
        number += not hold
        head = f"**{title}**" if hold else f"**{number}. {title[0].upper()}{title[1:]}**"
        late, planned, by = "", "", ""
        if night and activity in timed:
            planned, by, late = hours(night, timed[activity])
        cells.append([BOX, bound(f"{head}{planned} {text}{late}").strip(), f"**{by}**" if by else "", BLANK])
    share = job.show(job.limit("open_in_time").value, units.Probability, 0) if night else ""
    lead = (
        f"**Latest**: begun later, under {share} chance to open as planned. Do what stands under *late*; nothing there: call."
        if night
        else ""
    )
    return "\n\n".join(
        filter(None, [lead, pipe_table(["", "step, planned start", "latest", "initials"], cells, "lllr")])
    )


def hours(night: Timetable, i: int) -> tuple[str, str, str]:
    """Return when a step is planned to begin, when it must have begun, and what is done if it has not."""
    fallback = {start.step.name: start.fallback for start in night.latest_starts}.get(night.network.steps[i].name, "")
    planned = f", {moment(night, float(night.times.start[i]))}:"
    return planned, moment(night, night.last_start[i]), f" *Late: {plain(fallback)}.*" if fallback else ""


def moment(night: Timetable, minutes: float) -> str:
    """Return a moment of a closure by weekday and hour, to the minute below; before the closing it is not to be kept."""
    return NOT_IN_TIME if minutes < -1e-6 else short(night.in_words(minutes))


def held(holds: list[Hold], when: str) -> say.Step | None:
    """Return a hold point as a step: what is looked at, what it must be, who signs."""
    mine = [one for one in holds if one.when == when]
    if not mine:
        return None
    by_whom: dict[str, list[Hold]] = {}
    for one in mine:
        by_whom.setdefault(one.who, []).append(one)
    return f"HOLD {when}", " ".join(
        f"{' '.join(f'{BOX} {plain(one.what)}: {plain(one.rule)}.' for one in ones)} **{who[0].upper()}{who[1:]}** {LINE * 10}"
        for who, ones in by_whom.items()
    )


def tests(job: Job, name: str) -> say.Step:
    """Return the cylinders to cast, when to break them, and the maturity that is waited for."""
    one = job.curing.of_patch(name) if job.of("curing") is not None else None
    if one is None or not one.computed:
        return (
            "Wait for strength",
            "Cast three sets of two cylinders or more, cure them beside the patch under its cover. They open the lane.",
        )
    work, breaks = job.file.work, []
    for words, time in zip(
        ("first", "second", "last, before opening"), times_of_tests(job.curing, one).values(), strict=True
    ):
        if time is not None:
            breaks.append(f"{words} {short(work.in_words(one.moment(time)))}")
    target = ""
    if one.opens.sure is not None:
        age = job.show(units.quantity(one.governing.at(one.opens.sure)[0], "h"), units.Hours)
        target = f" Maturity target: {age} of equivalent age at {job.show(job.curing.choices.reference, Temperature, 0)}, by the lower edge of its curve."
    return (
        "Wait for strength",
        f"Three sets of two cylinders or more, cured beside the patch under its cover; break {'; '.join(breaks)}.{target}",
    )


def short(words: str) -> str:
    """Return a moment by weekday and hour, on one line.

    Examples
    --------
    >>> short("Friday 10 April 2026, 8:00 p.m.").replace("\u00a0", " ")
    'Fri 8:00 p.m.'
    """
    day, _, hour = words.rpartition(", ")
    return f"{day[:3]} {hour}".replace(" ", "\u00a0")


def as_built(job: Job, name: str) -> str:
    """Return blanks for what was found and built."""
    line = lambda count: LINE * (count + 2)  # noqa: E731
    bags = "bags used" if name in job.mix.bag_loads else "batches, bags of cement"
    unit = "°F" if job.system == "US" else "°C"
    bars = f" bars read {line(24)}" if say.reaches_bars(job, name) else ""
    return "\n\n".join([
        f"**As found, as built.** Size along {line(7)} across {line(7)} diagonals {line(7)} {line(7)} photographs, numbers {line(12)}",
        f"Depths {' '.join([line(5)] * 5)} deepest {line(5)} cover, minimum {line(5)} maximum {line(5)}", f"{bars} {bags} {line(6)} cylinders {line(9)}".strip().capitalize(),
        f"Slump {line(5)} air {line(5)} {unit}: air {line(5)} hole {line(5)} concrete {line(5)} placed from {line(7)} to {line(7)}",
    ])  # fmt: skip


def call(job: Job, name: str) -> str:
    """Return when work stops and who is called."""
    return "\n\n".join([bound(f"**STOP and call the engineer:** {'; '.join(stops(job, name))}."), whom(job)])


def stops(job: Job, name: str) -> Iterator[str]:
    """Give what stops the work at a patch."""
    one = job.patch[name]
    if one.removal is not None:
        deepest = units.show_at_most(job.patch.through_from, Length, job.system)
        yield f"{deepest} deep or more, or daylight; deeper than {job.show(one.left.h_d, Length)}: table for readings first"
    if say.reaches_bars(job, name):
        yield "a bar broken, loose or thinner than its table; no room for a lap"
    else:
        yield "a bar seen"
    if one.depth_class == FULL:
        yield "form moves, leaks or is not as drawn; anybody below"
    yield "sound concrete ends beyond the line; a crack in beam or slab; a temperature, slump or hour outside its limits; a step past its latest start"


def whom(job: Job) -> str:
    """Return the engineer, the owner's desk and the emergency numbers; lines to fill in where the job does not say."""
    people, bridge = job.settings.people, job.settings.bridge
    emergency = job.settings.safety.emergency if job.settings.safety else None
    who = plain(people.engineer) or LINE * 12
    said = [
        f"Engineer in charge {who} {telephone(people.engineer_telephone)}", f"Owner's desk{f', {plain(bridge.owner)}' if bridge.owner else ''}: {telephone(bridge.owner_telephone)}",
    ]  # fmt: skip
    if emergency is None:
        said.append(f"Ambulance {NO_NUMBER}. Nearest emergency care {LINE * 24}")
    else:
        numbers = ", ".join(f"{plain(key)} **{plain(number)}**" for key, number in emergency.numbers.items())
        said.append(f"{numbers[0].upper()}{numbers[1:]}. Nearest emergency care: {plain(emergency.care)}")
    return ". ".join(said) + ". Hazards and how they are met: safety sheet of this closure. Anyone may stop the work."


def telephone(number: str) -> str:
    """Return a number, or a line to write it on that must be filled."""
    return f"**{plain(number)}**" if number else NO_NUMBER
