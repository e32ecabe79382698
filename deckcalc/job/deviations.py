"""What differs between a job as planned and as found and built, the worst first, each with who acts on it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from deckcalc.core import units
from deckcalc.core.check import SATISFIED, Check
from deckcalc.core.units import Length, OrderVolume, Share, Stress, Temperature
from deckcalc.curing.design.placings import Placing
from deckcalc.job.holds import ENGINEER, FOREMAN, INSPECTOR, hold_points
from deckcalc.job.order import Job, if_computed
from deckcalc.job.record import Record, delivered
from deckcalc.job.record_rows import AFTER_REMOVAL, WHEN, names_of
from deckcalc.patch.design import PatchDesign

#: How bad a deviation is: it stops the work or the opening; somebody decides; somebody acts; it is noted.
STOPS, DECIDE, ACT, NOTED = range(4)
WORDS = ("stops", "to decide", "to act on", "noted")
#: A check of the plan itself, which says nothing of what was built.
OF_THE_PLAN = "plan_within"
#: What differs by less than this share is the same.
SAME = 1e-9


class Deviation(NamedTuple):
    """One thing that is not as planned.

    Parameters
    ----------
    rank : int
        Place in `WORDS`.
    patches : tuple of str
        Which it concerns; none where it concerns the job.
    what : str
        What is not as planned.
    planned, found, difference : str
        In the units of the job; empty where there is none.
    who : str
        Who acts on it, and what is done.
    """

    rank: int
    patches: tuple[str, ...]
    what: str
    planned: str
    found: str
    difference: str
    who: str

    @property
    def words(self) -> str:
        """How bad it is, in words."""
        return WORDS[self.rank]


def deviations(record: Record) -> list[Deviation]:
    """Return what is not as planned, the worst first, then in the order of the patches."""
    parts = (not_computed, classes, openings, concrete_short, cylinders, verdicts, added_bars, fresh, volumes, times, loggers, missing, sizes, later)
    found = [one for part in parts for one in part(record)]
    order = {one.patch: k for k, one in enumerate(record.planned.file.marked.patches)}
    return sorted(found, key=lambda one: (one.rank, order[one.patches[0]] if one.patches else len(order)))


def change(before: Any, after: Any, kind: Any, job: Job) -> tuple[str, str, str]:
    """Return two quantities and their difference as printed, the sign before it."""
    more = after - before
    sign = "+" if float(more.magnitude) >= 0 else "−"
    return job.show(before, kind), job.show(after, kind), f"{sign}{job.show(abs(more), kind)}"


def differ(before: Any, after: Any) -> bool:
    """Whether two quantities differ by more than noise."""
    a, b = float(before.magnitude), float(after.m_as(before.units))
    return abs(a - b) > SAME * max(abs(a), abs(b))


def measured(record: Record) -> list[tuple[PatchDesign, PatchDesign]]:
    """Return the patches that were measured, as planned and as found."""
    return [(record.planned.patch[row.patch], record.found.patch[row.patch]) for row in record.rows("as_found")]


def not_computed(record: Record) -> Iterator[Deviation]:
    """Name the subjects that can no longer be worked out."""
    for key, fault in record.found.faults.items():
        if key not in record.planned.faults:
            yield Deviation(STOPS, (), f"{key} cannot be worked out", "computed", "; ".join(fault.why), "", f"{ENGINEER}: give what is missing")


def classes(record: Record) -> Iterator[Deviation]:
    """Name the patches that are of another class, and the concrete that the new class would take."""
    for before, after in measured(record):
        if before.depth_class == after.depth_class:
            continue
        who = f"{ENGINEER}: form, bars and concrete of the new class" if after.full else f"{ENGINEER}: may the form and the concrete stay"
        yield Deviation(STOPS if after.full else DECIDE, (after.name,), "depth class", before.depth_class, after.depth_class, "", who)
        concretes = record.planned.concrete.specified
        usual = concretes.by_depth.get(after.depth_class, "")
        mixes = if_computed(lambda: record.found.mix)
        if mixes is not None and usual and usual != mixes.for_patch(after.name).name and after.name not in concretes.by_patch:
            yield Deviation(
                DECIDE, (after.name,), f"concrete, where {after.depth_class} takes {usual}", usual, mixes.for_patch(after.name).name, "",
                f"{ENGINEER}: accept the concrete at hand or not",
            )  # fmt: skip


def openings(record: Record) -> Iterator[Deviation]:
    """Hold the hour of opening by the logger, or by the curve with what was built, against that of the plan."""
    curing, before = (if_computed(lambda job=job: job.curing) for job in (record.found, record.planned))  # type: ignore[misc]
    if curing is None or before is None:
        return
    for name in record.patches:
        one, was = curing.of_patch(name), before.of_patch(name)
        if one is None or was is None:
            continue
        log, work = record.logs.get(name), record.found.file.work
        if log is None and not any(name in names_of(row.patches) for row in record.rows("as_built")):
            continue
        how = "by its logger" if log else "by the curve, placed as built"
        sure = log.opens.sure if log else one.opens.sure
        opens = None if sure is None else (log.moment(sure) if log else one.moment(sure))
        planned = planned_hour(was, record)
        what = f"opening strength reached, {how}"
        if opens is None:
            ends = f"not within the record, which ends {work.in_words(log.last)}" if log else "not within the record of the weather"
            yield Deviation(STOPS, (name,), what, planned, ends, "", f"{ENGINEER}: the lane stays closed until the strength is shown")
        elif opens > one.row.opening:
            late = hours((opens - one.row.opening).total_seconds())
            yield Deviation(STOPS, (name,), what, planned, work.in_words(opens), f"{late} after the lane was to open", f"{ENGINEER}: the lane opens later")
        elif was.opens.sure is not None:
            late = (opens - was.moment(was.opens.sure)).total_seconds()
            if abs(late) >= 60:
                yield Deviation(NOTED, (name,), what, planned, work.in_words(opens), f"{hours(abs(late))} {'later' if late > 0 else 'earlier'}", f"{ENGINEER}: the lane opens as planned")


def planned_hour(was: Placing, record: Record) -> str:
    """Return the hour at which the strength was to be reached by the plan."""
    return "no hour computed" if was.opens.sure is None else record.planned.file.work.in_words(was.moment(was.opens.sure))


def hours(seconds: float) -> str:
    """Return a time in hours and minutes.

    Examples
    --------
    >>> hours(3600), hours(5400), hours(300)
    ('1 h', '1 h 30 min', '5 min')
    """
    whole, minutes = divmod(round(seconds / 60), 60)
    return " ".join(part for part in (f"{whole} h" if whole else "", f"{minutes} min" if minutes or not whole else "") if part)


def concrete_short(record: Record) -> Iterator[Deviation]:
    """Name the holes that got less concrete than they take."""
    for names, wanted, came, loads in delivered(record):
        if float(came.m_as("m³")) >= float(wanted.m_as("m³")) * (1 - SAME):
            continue
        planned, found, less = change(wanted, came, OrderVolume, record.found)
        count = f"{len(loads)} load{'' if len(loads) == 1 else 's'}"
        more = batches_missing(record, names, float((wanted - came).m_as("m³")))
        yield Deviation(
            STOPS, tuple(names), f"concrete in place, {count}{more}", planned, found, less,
            f"{ENGINEER}: a cold joint or an unfilled hole; {FOREMAN}: keep the lane closed over it",
        )  # fmt: skip


def batches_missing(record: Record, names: list[str], less: float) -> str:
    """Say how many batches of the plan the concrete that is missing comes to; empty where no batch is planned."""
    mixes = if_computed(lambda: record.planned.mix)
    loads = [mixes.loads[name].volume for name in names if name in mixes.loads] if mixes is not None else []
    if not loads:
        return ""
    count = -(-less // float(max(loads).m_as("m³")) + 0)
    short = int(count) if less > 0 else 0
    return f", {short} batch{'' if short == 1 else 'es'} short"


def cylinders(record: Record) -> Iterator[Deviation]:
    """Name the cylinders below the strength that opening requires, the weakest of a test deciding."""
    limit = record.planned.limit("opening_strength").value
    for row in record.rows("as_built_cylinders"):
        if row.cured == "standard":
            continue
        weakest = min(row.strengths)
        if float(weakest.m_as("MPa")) < float(limit.m_as("MPa")) * (1 - SAME):
            planned, found, less = change(limit, weakest, Stress, record.found)
            when = record.found.file.work.in_words(row.time)
            yield Deviation(DECIDE, tuple(names_of(row.patches)), f"cylinders {row.test}, {when}", planned, found, less, f"{ENGINEER}: the lane stays closed; break the next ones")


def verdicts(record: Record) -> Iterator[Deviation]:
    """Name the checks whose verdict turned, and those that only what was found asks for and that fail."""
    before = {key_of(one): one for one in record.planned.checks}
    names = [one.patch for one in record.planned.file.marked.patches]
    for one in record.found.checks:
        old = before.get(key_of(one))
        if one.limit.name == OF_THE_PLAN or one.settled or (old is not None and old.verdict == one.verdict):
            continue
        if old is None and one.verdict == SATISFIED:
            continue
        good = one.verdict == SATISFIED
        demands = [shown.printed(record.found.system)[0] for shown in (old, one) if shown is not None]
        planned = f"{demands[0]}, {old.verdict}" if old is not None else "no such check"
        who = f"{ENGINEER}: {one.why or 'assess'}" if not good else f"{ENGINEER}: none, it holds now"
        concerned = tuple(name for name in names if name in one.item.replace(",", " ").split())
        yield Deviation(
            NOTED if good else DECIDE, concerned, f"{one.item}: {one.title} ({one.sense} {one.printed(record.found.system)[1]})", planned,
            f"{demands[-1]}, {one.verdict}", "", who,
        )  # fmt: skip


def key_of(one: Check) -> tuple[str, str, str]:
    """Return by what a check is known in both jobs."""
    return one.item, one.title, one.sense


def added_bars(record: Record) -> Iterator[Deviation]:
    """Name the bars that were read in the hole: what they lost, and what is added for it."""
    found, before = (if_computed(lambda job=job: job.steel) for job in (record.found, record.planned))  # type: ignore[misc]
    if found is None or before is None:
        return
    planned = {bar.name: bar for bar in before}
    for row in record.rows("as_found_bars"):
        now, was = found[row.bar], planned.get(row.bar)
        patches = (now.row.patch,) if now.row.patch else ()
        adds = now.supplement is not None
        had = was is not None and was.supplement is not None
        words = [added_words(bar, record) for bar in (was, now)]
        if words[0] != words[1]:
            who = f"{ENGINEER}: agree to it before concrete; {FOREMAN}: add it" if adds else f"{ENGINEER}: may the planned bar be left out"
            yield Deviation(DECIDE, patches, f"bar to add beside {row.bar}", words[0], words[1], "", who)
        if was is None or differ(was.loss, now.loss):
            values = change(was.loss, now.loss, Share, record.found) if was else ("not read", record.found.show(now.loss, Share), "")
            yield Deviation(NOTED if adds == had and not now.over else ACT, patches, f"loss of section of {row.bar}", *values, f"{INSPECTOR}: sign the readings")


def added_words(bar: Any, record: Record) -> str:
    """Say what is added beside a bar."""
    if bar is None or bar.supplement is None:
        return "none"
    count = int(bar.supplement.n.magnitude)
    return bar.added_words(record.found.system) if bar.cut is not None else f"{count} bar{'' if count == 1 else 's'} {bar.size}"


def fresh(record: Record) -> Iterator[Deviation]:
    """Hold what was read of the loads against the limits of the job."""
    job = record.found
    mixes = if_computed(lambda: job.mix) if "mix" in job.file.ready else None
    for row in record.rows("as_built"):
        names = tuple(names_of(row.patches))
        what = f"load {row.load}: "
        for field, key in (("air_temperature", "air_least"), ("slab_temperature", "contact_least")):
            value, limit = getattr(row, field), job.file.limits[key].value
            if value is not None and float(value.m_as("degC")) < float(limit.m_as("degC")) - SAME:
                yield Deviation(DECIDE, names, what + field.replace("_", " "), f"at least {job.show(limit, Temperature)}", job.show(value, Temperature), "", f"{ENGINEER}: assess; {FOREMAN}: protect it")
        if mixes is None:
            continue
        made = mixes.for_patch(names[0])
        cold, hot = (limit.value for limit in mixes.placing_limits(made))
        value = row.concrete_temperature
        if value is not None and not float(cold.m_as("degC")) - SAME <= float(value.m_as("degC")) <= float(hot.m_as("degC")) + SAME:
            wanted = f"{job.show(cold, Temperature)} to {job.show(hot, Temperature)}"
            yield Deviation(DECIDE, names, what + "temperature of the concrete", wanted, job.show(value, Temperature), "", f"{ENGINEER}: assess")
        loads = mixes.loads.get(names[0])
        within = job.file.limits["air_tolerance"].value
        if loads is None:
            continue
        entrained = mixes.inputs.mix.entrained == "air-entrained"
        if entrained and row.air is not None and abs(float((row.air - loads.mix.air).m_as("percent"))) > float(within.m_as("percent")) + SAME:
            yield Deviation(DECIDE, names, what + f"air (± {job.show(within, Share)})", *change(loads.mix.air, row.air, Share, job), f"{ENGINEER}: assess frost resistance and strength")
        if row.slump is not None and differ(loads.mix.slump, row.slump):
            yield Deviation(NOTED, names, what + "slump", *change(loads.mix.slump, row.slump, Length, job), f"{FOREMAN}: no water beyond the card")


def volumes(record: Record) -> Iterator[Deviation]:
    """Name the holes that take another volume, and how many batches that is."""
    plan, now = (if_computed(lambda job=job: job.mix) for job in (record.planned, record.found))  # type: ignore[misc]
    for before, after in measured(record):
        name = after.name
        if not differ(before.volume.V_order, after.volume.V_order):
            continue
        more = after.volume.V_order > before.volume.V_order
        who = f"{FOREMAN}: {'batch more' if more else 'batch less'}"
        yield Deviation(ACT if more else NOTED, (name,), "concrete to order", *change(before.volume.V_order, after.volume.V_order, OrderVolume, record.found), who)
        counts = [batches(mixes, name) for mixes in (plan, now)]
        if None not in counts and counts[0] != counts[1]:
            yield Deviation(ACT if more else NOTED, (name,), "batches", str(counts[0]), str(counts[1]), f"{counts[1] - counts[0]:+d}".replace("-", "−"), who)  # type: ignore[operator]


def batches(mixes: Any, name: str) -> int | None:
    """Return the batches of a patch; None where none are worked out."""
    found = None if mixes is None else mixes.loads.get(name) or mixes.bag_loads.get(name)
    return None if found is None else int(found.count)


def times(record: Record) -> Iterator[Deviation]:
    """Name the placings that began or ended at another hour."""
    work = record.planned.file.work
    for before, after in zip(record.planned.file.rows["placements"], record.found.file.rows["placements"], strict=True):
        for word in ("start", "end"):
            was, now = getattr(before, word), getattr(after, word)
            late = (now - was).total_seconds()
            if abs(late) >= 60:
                yield Deviation(
                    ACT if late > 0 else NOTED, tuple(before.names), f"{word} of placing {before.placement}", work.in_words(was), work.in_words(now),
                    f"{hours(abs(late))} {'late' if late > 0 else 'early'}", f"{FOREMAN}: hold the later steps against their latest starts",
                )  # fmt: skip


def loggers(record: Record) -> Iterator[Deviation]:
    """Name the loggers that began late, stood still, or stopped before the strength was reached."""
    work = record.found.file.work
    for name, log in record.logs.items():
        for a, b in log.pauses:
            yield Deviation(ACT, (name,), "logger stood still; the pause counts as no age", "readings without a pause", f"{work.in_words(a)} to {work.in_words(b)}", hours((b - a).total_seconds()), f"{FOREMAN}: read the logger again")
        if (late := (log.first - log.end).total_seconds()) > 3600:
            yield Deviation(ACT, (name,), "logger began; nothing counts before", work.in_words(log.end), work.in_words(log.first), f"{hours(late)} after the end of placing", f"{FOREMAN}: start it when concrete is in")
        if log.opens.sure is None and log.computed:
            yield Deviation(ACT, (name,), "logger stopped before the strength was reached", "until the strength is reached", work.in_words(log.last), "", f"{FOREMAN}: read it again or break cylinders")
    placed = record.found.file.work
    for name in dict.fromkeys(row.patch for row in record.rows("logger")):
        if name not in record.logs:
            why = "no placing of it is computed" if placed.placing_of(name) else "it is not in the plan of the work"
            yield Deviation(ACT, (name,), "logger without a strength", "read by the curve of its concrete", why, "", f"{ENGINEER}: show the strength by cylinders")


def missing(record: Record) -> Iterator[Deviation]:
    """Name what the hold points ask for and the record does not hold, of patches whose concrete is in place."""
    placed = {name for row in record.rows("as_built") for name in names_of(row.patches)}
    have = {(row.patch, row.hold) for row in record.rows("photographs")}
    read = {row.patch for row in record.rows("as_found")}
    bars = {bar.row.patch for row in record.rows("as_found_bars") for bar in record.found.steel if bar.name == row.bar}
    for name in (one for one in record.patches if one in placed):
        holds = hold_points(record.found, name)
        lacks = [when for when in WHEN if any(one.when == when and one.record.startswith("photographs") and one.what.startswith("photograph") for one in holds) and (name, when) not in have]
        if lacks:
            yield Deviation(NOTED, (name,), "no photograph", f"at {len(lacks) + sum(key[0] == name for key in have)} holds", f"missing {', '.join(lacks)}", "", f"{FOREMAN}: find it, or say that there is none")
        if name not in read:
            yield Deviation(ACT, (name,), "hole not measured", AFTER_REMOVAL, "no row in as_found", "", f"{INSPECTOR}: say what is known of it")
        if any(one.record.startswith("as_found_bars") for one in holds) and name not in bars:
            yield Deviation(ACT, (name,), "bars not read in the hole", AFTER_REMOVAL, "no row in as_found_bars", "", f"{INSPECTOR}: say what is known of them")


def sizes(record: Record) -> Iterator[Deviation]:
    """Name the sides and depths that were found otherwise."""
    for before, after in measured(record):
        for what, was, now, kind in (
            ("length of the hole", before.limits.L, after.limits.L, units.Distance), ("width of the hole", before.limits.B, after.limits.B, units.Distance),
            ("mean depth against that of removal", before.h, after.h, Length), ("deepest reading", before.depth.h_max, after.depth.h_max, Length),
            ("minimum cover", before.cover.least, after.cover.least, Length),
        ):  # fmt: skip
            if differ(was, now):
                yield Deviation(NOTED, (after.name,), what, *change(was, now, kind, record.found), f"{INSPECTOR}: sign the measurements")


def later(record: Record) -> Iterator[Deviation]:
    """Say that the record is later than the revision of the package that it is printed with."""
    revision, latest = record.planned.file.revision, record.latest
    if latest is not None and latest.date() > revision.date:
        yield Deviation(
            NOTED, (), "record later than the revision of the package", f"revision {revision.revision} of {revision.date.isoformat()}", latest.date().isoformat(), "",
            f"{ENGINEER}: add a revision to job.toml and build the package again",
        )  # fmt: skip


def tally(found: list[Deviation]) -> str:
    """Count deviations in words.

    Examples
    --------
    >>> tally([])
    'nothing differs from the plan'
    """
    counts = [(word, sum(one.words == word for one in found)) for word in WORDS]
    said = ", ".join(f"{count} {word}" for word, count in counts if count)
    return f"{len(found)} deviation{'' if len(found) == 1 else 's'}: {said}" if found else "nothing differs from the plan"


