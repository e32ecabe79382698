"""One row a patch: what it is, what goes into it, what it carries, and which check governs."""

from __future__ import annotations

import math

from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, Check
from deckcalc.core.text import plain
from deckcalc.core.units import Area, Distance, Length, OrderVolume, Stress
from deckcalc.job import Job
from deckcalc.job.instructions import bars, demands
from deckcalc.job.open_items import concerned, named
from deckcalc.package.decisions import OF_NO_PATCH, concrete, has_patches, used
from deckcalc.patch.design import PatchDesign
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

#: The sheet of each subject: its number and the identifier of its heading.
SHEETS = {
    "patch": ("01", "patches"), "steel": ("02", "reinforcement"), "chloride": ("03", "chlorides"), "mix": ("04", "mix-and-batch"),
    "formwork": ("05", "formwork-of-full-depth-holes"), "curing": ("06", "curing-and-opening"), "traffic": ("07", "closure"), "closure": ("07", "closure"),
    "safety": ("08", "safety"),
}  # fmt: skip
STATES = ("as found", "open", "repaired")


def sheet(key: str) -> str:
    """Return a link to the sheet of a subject."""
    number, name = SHEETS[key]
    return f"[sheet {number}](#{name})"


def rows(job: Job) -> Text:
    """Return the schedule: what each patch is and is filled with, then what it carries and what governs."""
    if not has_patches(job):
        return Text("")
    return block([str(what_it_is(job)), str(what_it_carries(job))])


def what_it_is(job: Job) -> Text:
    """Type, place, size, depth, concrete and bars of each patch."""
    found = [
        [one.name, one.depth_class.removesuffix(" depth"), place(job, one), size(job, one), depth(job, one),
         ordered(job, one), added(job, one)]
        for one in job.patch
    ]  # fmt: skip
    heads = ["patch", "type", "location", "repair limits", "depth", "to order, of", "bars to add"]
    return table(heads, found)


def what_it_carries(job: Job) -> Text:
    """Ratios of demand to capacity, chlorides, strength to strip and to open, and the governing check of each patch."""
    found = [
        [
            one.name,
            *(ratio(job, one, state) for state in STATES),
            chlorides(job, one),
            strengths(job, one),
            governing(job, one.name),
        ]
        for one in job.patch
    ]
    heads = [
        "patch",
        "D/C as found",
        "D/C open",
        "D/C repaired",
        "chlorides",
        "to strip, to open",
        "governing check",
    ]
    if all(row[1:6] == [""] * 5 for row in found):
        found, heads = [[row[0], row[6]] for row in found], [heads[0], heads[6]]
    note = "*D/C* is the demand over the capacity of the deck strip in bending, the larger of over the girder and in the span; "
    said = note + "1.00 or less is satisfied; rounded up." if "steel" in job.file.ready else ""
    return block([said, str(table(heads, found))])


def table(heads: list[str], found: list[list[str]]) -> Text:
    """Return a table without the columns that hold nothing."""
    kept = [i for i in range(len(heads)) if any(row[i] for row in found)]
    return Text(pipe_table([heads[i] for i in kept], [[row[i] for i in kept] for row in found], "l" * len(kept)))


def place(job: Job, one: PatchDesign) -> str:
    """Say where a patch stands: what it lies over, and the station and offset of its middle."""
    middle = one.marked.piece.outline.centroid
    station, offset = (job.show(units.quantity(value, "m"), Distance) for value in (middle.x, middle.y))
    return plain(f"{one.location.kind}; station {station}, offset {offset}")


def size(job: Job, one: PatchDesign) -> str:
    """Return length by width, and area, of the repair limits."""
    limits = one.limits
    return f"{job.show(limits.L, Distance)} × {job.show(limits.B, Distance)}, {job.show(limits.A, Area)}"


def depth(job: Job, one: PatchDesign) -> str:
    """Return the deepest removal, or that the hole goes through."""
    return "through the slab" if one.left is None else job.show(one.left.h_d, Length)


def ordered(job: Job, one: PatchDesign) -> str:
    """Return the volume to order and the concrete."""
    name = concrete(job, one.name)
    return f"{job.show(one.volume.V_order, OrderVolume)}{', ' + plain(name) if name else ''}"


def added(job: Job, one: PatchDesign) -> str:
    """Say which bars are added."""
    if "steel" not in job.file.ready or job.of("steel") is None:
        return "not assessed"
    said = bars(job, one, job.steel)
    return "none" if said.startswith("add no") or said.endswith("add none") else plain(said.removeprefix("add "))


def ratio(job: Job, one: PatchDesign, state: str) -> str:
    """Return the ratio of demand to capacity of a patch in a state; “not covered” where no model reaches it."""
    if "steel" not in job.file.ready or job.of("steel") is None:
        return ""
    mine = [check for check in job.steel.checks if check.item == f"patch {one.name}"]
    found = [check for check in mine if check.title.startswith("capacity to demand") and check.title.endswith(state)]
    if any(check.verdict == NOT_COVERED for check in found) or (
        not found and any(check.verdict == NOT_COVERED and state in check.title for check in mine)
    ):
        return "**not covered**"
    if not found:
        return "—"
    worst = max(found, key=used)
    said = f"{math.ceil(used(worst) * 100 - 1e-9) / 100:.2f}"
    return said if worst.verdict == SATISFIED else f"**{said} {worst.words}**"


def chlorides(job: Job, one: PatchDesign) -> str:
    """Say what the chlorides ask for at a patch."""
    if "chloride" not in job.file.ready or job.of("chloride") is None:
        return "not assessed"
    asked = dict.fromkeys(f"{found.demand} {found.item}" for found in demands(job, one) if not found.met)
    return plain("; ".join(asked)) or "patching is enough"


def strengths(job: Job, one: PatchDesign) -> str:
    """Return the strength at which the form may be stripped and the lane opened."""
    opening = job.show(job.limit("opening_strength").value, Stress)
    mixes = job.mix if "mix" in job.file.ready and job.of("mix") is not None else None
    found = mixes.stripping.get(one.name) if mixes is not None else None
    return f"{job.show(found, Stress)}, {opening}" if found is not None else opening


def governing(job: Job, name: str) -> str:
    """Return the check that governs a patch, with its sheet: the one that fails by most and one that is not covered, else the one used most."""
    found: dict[str, list[tuple[Check, str]]] = {NOT_SATISFIED: [], NOT_COVERED: [], SATISFIED: []}
    for subject in job.subjects:
        if subject.key not in OF_NO_PATCH:
            known = named(job, subject.key)
            for one in subject.checks:
                if not one.settled and name in concerned([one.item], known):
                    found[one.verdict].append((one, subject.key))
    worst = [max(ones, key=lambda pair: used(pair[0])) for ones in found.values() if ones]
    kept = [pair for pair in worst if pair[0].verdict != SATISFIED] or worst
    return "; ".join(
        f"{plain(one.title)}: {one.verdict}" + (f", {100 * used(one):.0f} %" if used(one) else "") + f", {sheet(key)}"
        for one, key in kept
    )
