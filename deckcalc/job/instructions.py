"""One instruction for each patch: what its class, its bars, the strip and the chlorides ask for, in one sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from deckcalc.chloride.design.results import Consequence
from deckcalc.chloride.inputs.zones import Zone, xy
from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED
from deckcalc.core.units import Length
from deckcalc.patch.design import PatchDesign
from deckcalc.steel.design.results import MAIN, Steel, mat_item

if TYPE_CHECKING:
    from deckcalc.job.order import Job


def instructions(job: Job) -> dict[str, str]:
    """Return by patch what is to be done with it; none where the patches could not be computed."""
    if job.of("patch") is None:
        return {}
    return {one.name: instruction(job, one) for one in job.patch}


def instruction(job: Job, patch: PatchDesign) -> str:
    """Return what is to be done with one patch: what the engineer decides first, then the work, then what holds while it is open."""
    steel = job.steel if "steel" in job.file.ready and job.of("steel") is not None else None
    first = [*before(patch, steel), *of_zones(demands(job, patch))]
    work = [removal(job, patch), bars(job, patch, steel)]
    said = "; ".join(part for part in [*work, open_state(patch, steel)] if part)
    if first:
        return f"Hold until the engineer has decided: {'; '.join(first)}. Then {said}."
    return f"{said[0].upper()}{said[1:]}."


def before(patch: PatchDesign, steel: Steel | None) -> list[str]:
    """Return what the engineer decides before the patch is opened."""
    if steel is None:
        return ["bars and strength of the slab are not assessed here"]
    one = steel.reach[patch.name]
    if one.beyond:
        return [f"no strip reaches it, {one.beyond.partition(';')[0].partition(':')[0]}"]
    asked = []
    if one.over == NOT_COVERED:
        asked.append("the strength over the girder is not covered")
    elif one.over == NOT_SATISFIED:
        asked.append("the strip stays short over the girder")
    mats = [mat_item(name, layer) for name, layer in steel.mat if name == patch.name]
    failing = [check.item for check in steel.checks if check.item in mats and check.verdict == NOT_SATISFIED]
    if failing:
        asked.append(f"mean loss of the {' and the '.join(item.partition(' of patch')[0] for item in failing)}")
    return asked


def demands(job: Job, patch: PatchDesign) -> list[Consequence]:
    """Return what the chlorides demand of a patch and of the zones in which it lies."""
    return [one for one in job.chloride.consequences if concerns(one, patch)] if job.of("chloride") is not None else []


def of_zones(found: list[Consequence]) -> list[str]:
    """Return what the chlorides demand of the zones in which a patch lies."""
    return [f"{one.item} is to be treated, patching alone is not enough" for one in found if one.demand == "treat"]


def deeper(job: Job, patch: PatchDesign) -> list[str]:
    """Say where the chlorides ask for more depth than the removal has, and how much."""
    if patch.left is None:
        return []
    found = [one for one in demands(job, patch) if one.demand == "remove" and one.place is not None]
    return [
        f"{units.show_at_least(one.depth, Length, job.system)} at {one.item}"
        for one in found
        if one.depth is not None and one.depth > patch.left.h_d
    ]


def removal(job: Job, patch: PatchDesign) -> str:
    """Say how deep the concrete comes out, and which cores ask for more."""
    if patch.removal is None or patch.left is None:
        return "take it out through the slab"
    parts = ["take the unsound concrete out"]
    if patch.left.h_d > patch.removal.h_bars or not float(patch.removal.n_r.m_as("")):
        parts.append(f"{job.show(patch.left.h_d, Length)} at its deepest")
    if float(patch.removal.n_r.m_as("")):
        least = units.show_at_least(patch.removal.h_bars, Length, job.system)
        parts.append(f"{least} at least, so that the bars are exposed all round")
    parts += deeper(job, patch)
    if patch.through is not None:
        parts.append("through the slab in the part marked")
    return ", ".join(parts)


def bars(job: Job, patch: PatchDesign, steel: Steel | None) -> str:
    """Say which bars are added, or that none was measured."""
    mine = steel.bars_in(patch.name) if steel is not None else []
    if not mine and patch.removal is not None and not float(patch.removal.n_r.m_as("")):
        return "its bars are not reached, add none"
    if not any(bar.row.layer == MAIN for bar in mine):
        return "measure its top bars once they are bare, before concrete is placed"
    added = [bar for bar in mine if bar.supplement is not None]
    if not added:
        return "add no bar"
    words = [bar.added_words(job.system) if bar.cut is not None else f"bars beside {bar.name}" for bar in added]
    return f"add {' and '.join(words)}"


def open_state(patch: PatchDesign, steel: Steel | None) -> str:
    """Say what holds while the patch is open."""
    one = steel.reach[patch.name] if steel is not None else None
    if one is None or one.beyond:
        return "nobody and no wheel on it or beside it before that"
    shore = "shore it before it is broken out; " if one.own_weight == NOT_SATISFIED else ""
    if patch.full or one.in_span != SATISFIED or one.beside == NOT_COVERED:
        return f"{shore}no wheel on it or beside it while it is open"
    return shore.removesuffix("; ")


def concerns(one: Consequence, patch: PatchDesign) -> bool:
    """Whether a demand of the chlorides is one on a patch: its place lies in the limits, or its zone reaches into them."""
    left, low, right, high = patch.marked.piece.outline.bounds
    limits = Zone(patch.name, left, right, low, high)
    if one.place is None:
        return one.zone.overlaps(limits)
    return bool(limits.inside(*xy(one.place)))
