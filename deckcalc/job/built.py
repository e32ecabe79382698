"""What was built otherwise than planned: hours, concrete in place and its readings, strengths, loggers, and what the record lacks."""

from __future__ import annotations

import math
from collections.abc import Iterator

from deckcalc.core.units import Length, Share, Stress, Temperature, Volume
from deckcalc.curing.design.placings import Placing
from deckcalc.job.deviation import ACT, DECIDE, NOTED, SAME, STOPS, Deviation, change, differ, hours
from deckcalc.job.holds import ENGINEER, FOREMAN, INSPECTOR, hold_points
from deckcalc.job.order import if_computed
from deckcalc.job.record import Record, batch_volume, delivered
from deckcalc.job.record_rows import AFTER_REMOVAL, WHEN, names_of

#: What is done where no strength is shown.
CLOSED = f"{ENGINEER}: the lane stays closed until the strength is shown"


def openings(record: Record) -> Iterator[Deviation]:
    """Hold the hour of opening by the logger, or by the curve with what was built, against that of the plan."""
    curing, before = (if_computed(lambda job=job: job.curing) for job in (record.found, record.planned))  # type: ignore[misc]
    if curing is None or before is None:
        return
    for name in record.patches:
        one, was = curing.of_patch(name), before.of_patch(name)
        log, work = record.logs.get(name), record.found.file.work
        if was is None or (log is None and not any(name in names_of(row.patches) for row in record.rows("as_built"))):
            continue
        if one is None:
            why = "not computed: the record of the weather does not reach its hours"
            yield Deviation(
                STOPS, (name,), "opening strength reached, placed as built", planned_hour(was, record), why, "", CLOSED
            )
            continue
        how = "by its logger" if log else "by the curve, placed as built"
        sure = log.opens.sure if log else one.opens.sure
        opens = None if sure is None else (log.moment(sure) if log else one.moment(sure))
        planned = planned_hour(was, record)
        what = f"opening strength reached, {how}"
        if opens is None:
            ends = (
                f"not within the record, which ends {work.in_words(log.last)}"
                if log
                else "not within the record of the weather"
            )
            yield Deviation(
                STOPS,
                (name,),
                what,
                planned,
                ends,
                "",
                CLOSED,
            )
        elif opens > was.row.opening:
            late = hours((opens - was.row.opening).total_seconds())
            yield Deviation(
                STOPS,
                (name,),
                what,
                planned,
                work.in_words(opens),
                f"{late} after the lane was to open",
                f"{ENGINEER}: the lane opens later",
            )
        elif was.opens.sure is not None:
            late = (opens - was.moment(was.opens.sure)).total_seconds()
            if abs(late) >= 60:
                yield Deviation(
                    NOTED,
                    (name,),
                    what,
                    planned,
                    work.in_words(opens),
                    f"{hours(abs(late))} {'later' if late > 0 else 'earlier'}",
                    f"{ENGINEER}: the hour by strength alone",
                )


def planned_hour(was: Placing, record: Record) -> str:
    """Return the hour at which the strength was to be reached by the plan."""
    return (
        "no hour computed" if was.opens.sure is None else record.planned.file.work.in_words(was.moment(was.opens.sure))
    )


def concrete_short(record: Record) -> Iterator[Deviation]:
    """Name the holes that got less concrete than they take, by more than a yield may be off."""
    within = record.planned.file.limits["yield_within"].value
    for names, wanted, came, loads in delivered(record):
        if float(came.m_as("m³")) >= float(wanted.m_as("m³")) * (1 - float(within.m_as("")) - SAME):
            continue
        planned, found, less = change(wanted, came, Volume, record.found)
        count = f"{len(loads)} load{'' if len(loads) == 1 else 's'}"
        more = batches_missing(record, names, float((wanted - came).m_as("m³")))
        yield Deviation(
            STOPS, tuple(names), f"concrete in place, against what the hole takes: {count}{more}", planned, found, less,
            f"{ENGINEER}: a cold joint or an unfilled hole; {FOREMAN}: keep the lane closed over it",
        )  # fmt: skip


def batches_missing(record: Record, names: list[str], less: float) -> str:
    """Say how many batches of the plan the concrete that is missing comes to; empty where no batch is planned."""
    mixes = if_computed(lambda: record.planned.mix)
    loads = [one for name in names if (one := batch_volume(mixes, name)) is not None] if mixes is not None else []
    if not loads:
        return ""
    short = math.ceil(less / float(max(loads).m_as("m³")) - SAME)
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
            yield Deviation(
                DECIDE,
                tuple(names_of(row.patches)),
                f"cylinders {row.test}, {when}",
                planned,
                found,
                less,
                f"{ENGINEER}: the lane stays closed; break the next ones",
            )


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
                yield Deviation(
                    DECIDE,
                    names,
                    what + field.replace("_", " "),
                    f"at least {job.show(limit, Temperature)}",
                    job.show(value, Temperature),
                    "",
                    f"{ENGINEER}: assess; {FOREMAN}: protect it",
                )
        if mixes is None:
            continue
        made = mixes.for_patch(names[0])
        cold, hot = (limit.value for limit in mixes.placing_limits(made))
        value = row.concrete_temperature
        if (
            value is not None
            and not float(cold.m_as("degC")) - SAME <= float(value.m_as("degC")) <= float(hot.m_as("degC")) + SAME
        ):
            wanted = f"{job.show(cold, Temperature)} to {job.show(hot, Temperature)}"
            yield Deviation(
                DECIDE,
                names,
                what + "temperature of the concrete",
                wanted,
                job.show(value, Temperature),
                "",
                f"{ENGINEER}: assess",
            )
        loads = mixes.loads.get(names[0])
        within = job.file.limits["air_tolerance"].value
        if loads is None:
            continue
        entrained = mixes.inputs.mix.entrained == "air-entrained"
        if (
            entrained
            and row.air is not None
            and abs(float((row.air - loads.mix.air).m_as("percent"))) > float(within.m_as("percent")) + SAME
        ):
            yield Deviation(
                DECIDE,
                names,
                what + f"air (± {job.show(within, Share)})",
                *change(loads.mix.air, row.air, Share, job),
                f"{ENGINEER}: assess frost resistance and strength",
            )
        if row.slump is not None and differ(loads.mix.slump, row.slump):
            yield Deviation(
                NOTED,
                names,
                what + "slump",
                *change(loads.mix.slump, row.slump, Length, job),
                f"{FOREMAN}: no water beyond the card",
            )


#: What stands for the beginning and the end of a placing.
LOADS = {"start": "first load in place, against the start", "end": "last load in place, against the end"}


def times(record: Record) -> Iterator[Deviation]:
    """Name the placings that began or ended at another hour."""
    work = record.planned.file.work
    for before, after in zip(record.planned.file.rows["placements"], record.found.file.rows["placements"], strict=True):
        for word in ("start", "end"):
            was, now = getattr(before, word), getattr(after, word)
            late = (now - was).total_seconds()
            if abs(late) >= 60:
                yield Deviation(
                    ACT if late > 0 else NOTED, tuple(before.names), f"{LOADS[word]} of placing {before.placement}", work.in_words(was), work.in_words(now),
                    f"{hours(abs(late))} {'late' if late > 0 else 'early'}", f"{FOREMAN}: hold the later steps against their latest starts",
                )  # fmt: skip


def loggers(record: Record) -> Iterator[Deviation]:
    """Name the loggers that began late, stood still, or stopped before the strength was reached."""
    work = record.found.file.work
    for name, log in record.logs.items():
        for a, b in log.pauses:
            yield Deviation(
                ACT,
                (name,),
                "logger stood still; the pause counts as no age",
                "readings without a pause",
                f"{work.in_words(a)} to {work.in_words(b)}",
                hours((b - a).total_seconds()),
                f"{FOREMAN}: read the logger again",
            )
        if (late := (log.first - log.end).total_seconds()) > 3600:
            yield Deviation(
                ACT,
                (name,),
                "logger began; nothing counts before",
                work.in_words(log.end),
                work.in_words(log.first),
                f"{hours(late)} after the end of placing",
                f"{FOREMAN}: start it when concrete is in",
            )
        if log.opens.sure is None and log.computed:
            yield Deviation(
                ACT,
                (name,),
                "logger stopped before the strength was reached",
                "until the strength is reached",
                work.in_words(log.last),
                "",
                f"{FOREMAN}: read it again or break cylinders",
            )
    placed = record.found.file.work
    for name in dict.fromkeys(row.patch for row in record.rows("logger")):
        if name not in record.logs:
            why = "no placing of it is computed" if placed.placing_of(name) else "it is not in the plan of the work"
            yield Deviation(
                ACT,
                (name,),
                "logger without a strength",
                "read by the curve of its concrete",
                why,
                "",
                f"{ENGINEER}: show the strength by cylinders",
            )


def missing(record: Record) -> Iterator[Deviation]:
    """Name what the hold points ask for and the record does not hold, of patches whose concrete is in place."""
    placed = {name for row in record.rows("as_built") for name in names_of(row.patches)}
    have = {(row.patch, row.hold) for row in record.rows("photographs")}
    read = {row.patch for row in record.rows("as_found")}
    bars = set(record.bars.values())
    for name in (one for one in record.patches if one in placed):
        holds = hold_points(record.found, name)
        lacks = [
            when
            for when in WHEN
            if any(
                one.when == when and one.record.startswith("photographs") and one.what.startswith("photograph")
                for one in holds
            )
            and (name, when) not in have
        ]
        if lacks:
            yield Deviation(
                NOTED,
                (name,),
                "no photograph",
                f"at {len(lacks) + sum(key[0] == name for key in have)} holds",
                f"missing {', '.join(lacks)}",
                "",
                f"{FOREMAN}: find it, or say that there is none",
            )
        if name not in read:
            yield Deviation(
                ACT,
                (name,),
                "hole not measured",
                AFTER_REMOVAL,
                "no row in as_found",
                "",
                f"{INSPECTOR}: say what is known of it",
            )
        if any(one.record.startswith("as_found_bars") for one in holds) and name not in bars:
            yield Deviation(
                ACT,
                (name,),
                "bars not read in the hole",
                AFTER_REMOVAL,
                "no row in as_found_bars",
                "",
                f"{INSPECTOR}: say what is known of them",
            )


def later(record: Record) -> Iterator[Deviation]:
    """Say that the record is later than the revision of the package that it is printed with."""
    revision, latest = record.planned.file.revision, record.latest
    if latest is not None and latest.date() > revision.date:
        yield Deviation(
            NOTED, (), "record later than the revision of the package", f"revision {revision.revision} of {revision.date.isoformat()}", latest.date().isoformat(), "",
            f"{ENGINEER}: add a revision to job.toml and build the package again",
        )  # fmt: skip


#: In the order in which they are named among those as bad.
PARTS = (openings, concrete_short, cylinders, fresh, times, loggers, missing, later)
