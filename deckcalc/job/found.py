"""What was found otherwise than planned: class, sides and depths, volume, bars, and the verdicts that turn with them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from deckcalc.core import units
from deckcalc.core.check import SATISFIED, Check
from deckcalc.core.units import Length, OrderVolume, Quantity, Share
from deckcalc.job.deviation import ACT, DECIDE, NOTED, STOPS, Deviation, change, differ, measured
from deckcalc.job.holds import ENGINEER, FOREMAN, INSPECTOR
from deckcalc.job.order import if_computed
from deckcalc.job.record import Record
from deckcalc.job.settings import WORDS
from deckcalc.patch.design import PatchDesign

#: A check of the plan itself, which says nothing of what was built.
OF_THE_PLAN = "plan_within"


def not_computed(record: Record) -> Iterator[Deviation]:
    """Name the subjects that can no longer be worked out."""
    for key, fault in record.found.faults.items():
        if key not in record.planned.faults:
            yield Deviation(
                STOPS,
                (),
                f"{WORDS[key]}: cannot be worked out",
                "computed",
                "; ".join(fault.why),
                "",
                f"{ENGINEER}: give what is missing",
            )


def classes(record: Record) -> Iterator[Deviation]:
    """Name the patches that are of another class, and the concrete that the new class would take."""
    for before, after in measured(record):
        if before.depth_class == after.depth_class:
            continue
        who = (
            f"{ENGINEER}: form, bars and concrete of the new class"
            if after.full
            else f"{ENGINEER}: may the form and the concrete stay"
        )
        yield Deviation(
            STOPS if after.full else DECIDE,
            (after.name,),
            "depth class",
            before.depth_class,
            after.depth_class,
            "",
            who,
        )
        concretes = record.planned.concrete.specified
        usual = concretes.by_depth.get(after.depth_class, "")
        mixes = if_computed(lambda: record.found.mix)
        if (
            mixes is not None
            and usual
            and usual != mixes.for_patch(after.name).name
            and after.name not in concretes.by_patch
        ):
            yield Deviation(
                DECIDE, (after.name,), f"concrete, where {after.depth_class} takes {usual}", usual, mixes.for_patch(after.name).name, "",
                f"{ENGINEER}: accept the concrete at hand or not",
            )  # fmt: skip


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
        concerned = tuple(name for name in names if name in one.item.replace(",", " ").split()) or of_bar(
            record, one.item
        )
        yield Deviation(
            NOTED if good else DECIDE, concerned, f"{one.item}: {one.title} ({one.sense} {one.printed(record.found.system)[1]})", planned,
            f"{demands[-1]}, {one.verdict}", "", who,
        )  # fmt: skip


def of_bar(record: Record, item: str) -> tuple[str, ...]:
    """Return the patch of the bar that an item is; nothing where it is none."""
    steel = if_computed(lambda: record.found.steel)
    return tuple(
        bar.row.patch for bar in (steel if steel is not None else ()) if item == f"bar {bar.name}" and bar.row.patch
    )


def key_of(one: Check) -> tuple[str, str, str]:
    """Return by what a check is known in both jobs."""
    return one.item, one.title, one.sense


def added_bars(record: Record) -> Iterator[Deviation]:
    """Name the bars that were read in the hole: what they lost, and what is added for it."""
    found, before = (if_computed(lambda job=job: job.steel) for job in (record.found, record.planned))  # type: ignore[misc]
    if found is None or before is None:
        return
    planned = {bar.name: bar for bar in before}
    for row in (row for row in record.rows("as_found_bars") if row.bar in found.each):
        now, was = found[row.bar], planned.get(row.bar)
        patches = (now.row.patch,) if now.row.patch else ()
        adds = now.supplement is not None
        had = was is not None and was.supplement is not None
        words = [added_words(bar, record) for bar in (was, now)]
        if words[0] != words[1]:
            who = (
                f"{ENGINEER}: agree to it before concrete; {FOREMAN}: add it"
                if adds
                else f"{ENGINEER}: may the planned bar be left out"
            )
            yield Deviation(DECIDE, patches, f"bar to add beside {row.bar}", words[0], words[1], "", who)
        if was is None or differ(was.loss, now.loss):
            values = (
                change(was.loss, now.loss, Share, record.found)
                if was
                else ("not read", record.found.show(now.loss, Share), "")
            )
            yield Deviation(
                NOTED if adds == had and not now.over else ACT,
                patches,
                f"loss of section of {row.bar}",
                *values,
                f"{INSPECTOR}: sign the readings",
            )


def added_words(bar: Any, record: Record) -> str:
    """Say what is added beside a bar."""
    if bar is None or bar.supplement is None:
        return "none"
    count = int(bar.supplement.n.magnitude)
    return (
        bar.added_words(record.found.system)
        if bar.cut is not None
        else f"{count} bar{'' if count == 1 else 's'} {bar.size}"
    )


def volumes(record: Record) -> Iterator[Deviation]:
    """Name the holes that take another volume, and how many batches that is."""
    plan, now = (if_computed(lambda job=job: job.mix) for job in (record.planned, record.found))  # type: ignore[misc]
    for before, after in measured(record):
        name = after.name
        if not differ(before.volume.V_order, after.volume.V_order):
            continue
        more = after.volume.V_order > before.volume.V_order
        who = f"{FOREMAN}: {'batch more' if more else 'batch less'}"
        yield Deviation(
            ACT if more else NOTED,
            (name,),
            "concrete to order",
            *change(before.volume.V_order, after.volume.V_order, OrderVolume, record.found),
            who,
        )
        was, goes = batches(plan, name), batches(now, name)
        if was is not None and goes is not None and was != goes:
            yield Deviation(
                ACT if more else NOTED,
                (name,),
                "batches",
                str(was),
                str(goes),
                f"{goes - was:+d}".replace("-", "−"),
                who,
            )


def batches(mixes: Any, name: str) -> int | None:
    """Return the batches of a patch; None where none are worked out."""
    found = None if mixes is None else mixes.loads.get(name) or mixes.bag_loads.get(name)
    return None if found is None else int(found.count)


def deepest(one: PatchDesign, thick: Quantity) -> Quantity:
    """Return the deepest removal of a patch; the slab where it goes through."""
    return thick if one.left is None or one.full else one.left.h_d


def sizes(record: Record) -> Iterator[Deviation]:
    """Name the sides and depths that were found otherwise."""
    thick = record.planned.settings.deck.slab_thickness
    for before, after in measured(record):
        for what, was, now, kind in (
            ("length of the hole", before.limits.L, after.limits.L, units.Distance), ("width of the hole", before.limits.B, after.limits.B, units.Distance),
            ("mean depth of removal", before.h, after.h, Length), ("deepest removal", deepest(before, thick), deepest(after, thick), Length),
            ("minimum cover", before.cover.least, after.cover.least, Length),
        ):  # fmt: skip
            if differ(was, now):
                yield Deviation(
                    NOTED,
                    (after.name,),
                    what,
                    *change(was, now, kind, record.found),
                    f"{INSPECTOR}: sign the measurements",
                )


#: In the order in which they are named among those as bad.
PARTS = (not_computed, classes, added_bars, verdicts, volumes, sizes)
