"""Hold points of a patch: when work stops, what is looked at, by which limit of the job, who signs, and where it is written down."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from deckcalc.base.fields import FULL
from deckcalc.core import units
from deckcalc.core.check import Limit
from deckcalc.core.units import Length, Quantity, Share, Stress, Temperature
from deckcalc.core.words import how_many
from deckcalc.curing.sheet import evaporation
from deckcalc.job.record_rows import AFTER_REMOVAL, AFTER_TYING, BEFORE_OPENING, BEFORE_PLACING, WHEN

if TYPE_CHECKING:
    from deckcalc.job.order import Job
    from deckcalc.patch.design import PatchDesign

__all__ = ["WHEN", "Hold", "hold_points"]

FOREMAN, INSPECTOR, ENGINEER = "foreman", "inspector", "engineer"


class Hold(NamedTuple):
    """One thing that is looked at before work goes on.

    Parameters
    ----------
    when : str
        One of `WHEN`.
    what : str
        What is looked at or measured.
    rule : str
        What it must be, in the units of the job.
    who : str
        Who signs for it.
    record : str
        Table of the job folder and its columns in which it is written down.
    source : str
        Where the limit in the rule comes from; empty where the rule is that of the drawings or of the work itself.
    """

    when: str
    what: str
    rule: str
    who: str
    record: str
    source: str = ""


def hold_points(job: Job, patch: str) -> list[Hold]:
    """Return the hold points of a patch in the order of the work; every list of them is this one.

    Parameters
    ----------
    job : Job
        With its patches computed.
    patch : str
        Name of the patch.

    Returns
    -------
    list of Hold
        What the job says nothing of is left out: no temperature of concrete without a concrete, no bars where none are reached.

    Raises
    ------
    JobError
        If the job has no such patch.
    """
    one = job.patch[patch]
    return [*after_removal(job, one), *after_tying(job, one), *before_placing(job, one), *before_opening(job, one)]


def sourced(job: Job, key: str) -> str:
    """Return where a limit comes from, in the words of the package."""
    return str(job.limit(key).source)


def rule_of(job: Job, scope: str) -> Limit:
    """Return the loss that a bar, or bars side by side, may have by the rules of the job."""
    rules = job.steel.rules if job.of("steel") is not None else {}
    return rules[scope].limit if scope in rules else job.limit(f"bar_loss_{scope}")


def photograph(when: str, what: str) -> Hold:
    """Return the photograph of a hold point."""
    return Hold(
        when, f"photograph: {what}", "patch, date and a scale in the picture", FOREMAN, "photographs: file, hash"
    )


def after_removal(job: Job, one: PatchDesign) -> list[Hold]:
    """Return what is looked at once the concrete is out."""
    margin = job.show(job.limit("margin_least").value, Length)
    found = [
        Hold(AFTER_REMOVAL, "sound the hole and its edges again", f"sound all over and {margin} past what was unsound; else move the line, measure again",
             INSPECTOR, "as_found: length, width", sourced(job, "margin_least")),
    ]  # fmt: skip
    if one.removal is not None:
        deep, word = job.patch.deep, "at most" if job.patch.deep.name == "panel" else "less than"
        deepest = units.show_at_most(job.patch.through_from, Length, job.system)
        found.append(
            Hold(AFTER_REMOVAL, "read the depth at five places and where it is deepest", f"{word} {deepest} everywhere; else full depth: call the engineer",
                 INSPECTOR, "as_found: depths", str(deep.source))
        )  # fmt: skip
    if one.clear is not None and one.removal is not None and any_of(one.removal.n_r):
        clear = units.show_at_least(one.clear, Length, job.system)
        found.append(
            Hold(AFTER_REMOVAL, "gauge the space below and around the exposed bars", f"{clear} at least", INSPECTOR, "as_found: covers, depths", sourced(job, "clear_space"))
        )  # fmt: skip
    if one.depth_class == FULL or any_of(one.removal.n_r):
        single, adjacent = (rule_of(job, scope) for scope in ("single", "adjacent"))
        loss, near = (job.show(limit.value, Share) for limit in (single, adjacent))
        times = how_many(job.settings.reinforcement.readings if job.settings.reinforcement else 2, "reading")
        found.append(
            Hold(AFTER_REMOVAL, f"clean the bars and read each where it is thinnest, {times} by caliper", f"loss of section at most {loss}, of bars side by side {near}; else by the table for readings: add a bar, or call the engineer",
                 INSPECTOR, "as_found_bars: readings", str(single.source))
        )  # fmt: skip
    return [*found, photograph(AFTER_REMOVAL, "hole, bars and depth gauge")]


def after_tying(job: Job, one: PatchDesign) -> list[Hold]:
    """Return what is looked at once bars are tied and the form hangs; nothing where no bar is reached."""
    if one.removal is not None and not any_of(one.removal.n_r):
        return []
    found = []
    added = [bar for bar in job.steel.bars_in(one.name) if bar.supplement is not None] if job.of("steel") else []
    if added:
        clear = job.show(job.limit("bar_clear").value, Length)
        found.append(
            Hold(AFTER_TYING, "added bars: size, length, laps", f"{'; '.join(bar.added_words(job.system) for bar in added if bar.cut is not None) or 'as the engineer says'}; {clear} clear between bars",
                 INSPECTOR, "photographs: file, hash", sourced(job, "bar_clear"))
        )  # fmt: skip
    if one.depth_class == FULL:
        found.append(Hold(AFTER_TYING, "form, its hangers or shores, keep-off, space below", "as drawn, tight, nobody below", INSPECTOR, "photographs: file, hash"))  # fmt: skip
    return [*found, photograph(AFTER_TYING, "bars tied" + (", form closed" if one.depth_class == FULL else ""))]


def before_placing(job: Job, one: PatchDesign) -> list[Hold]:
    """Return what is looked at before concrete goes in."""
    found = [
        Hold(BEFORE_PLACING, "faces of the hole", "clean, saturated surface-dry, no standing water", INSPECTOR, "as_found: time"),
        *(
            Hold(BEFORE_PLACING, what, f"{job.show(job.limit(key).value, Temperature)} or more", INSPECTOR, f"as_built: {column}", sourced(job, key))
            for key, what, column in (("air_least", "temperature of the air", "air temperature"), ("contact_least", "temperature of the existing concrete and bars", "slab temperature"))
        ),
    ]  # fmt: skip
    if job.of("mix") is None or "mix" not in job.file.ready:
        return found
    made = job.mix.for_patch(one.name)
    cold, hot = job.mix.placing_limits(made)
    show = lambda value: job.show(value, Temperature)  # noqa: E731
    found.append(
        Hold(BEFORE_PLACING, "temperature of the fresh concrete", f"{show(cold.value)} to {show(hot.value)}", INSPECTOR, "as_built: concrete temperature", f"{cold.source}; {hot.source}")
    )  # fmt: skip
    loads = job.mix.loads.get(one.name)
    if loads:
        found.append(Hold(BEFORE_PLACING, "slump of the first batch", f"{job.show(loads.mix.slump, Length)} as designed; no water beyond the card", INSPECTOR, "as_built: slump"))  # fmt: skip
        if job.mix.inputs.mix.entrained == "air-entrained":
            within = job.show(job.limit("air_tolerance").value, Share)
            found.append(Hold(BEFORE_PLACING, "air of the first batch", f"{job.show(loads.mix.air, Share)} ± {within}", INSPECTOR, "as_built: air", sourced(job, "air_tolerance")))  # fmt: skip
    placed = job.curing.of_patch(one.name) if job.of("curing") is not None else None
    if placed is not None:
        limit = job.curing.evaporation_limit(placed.design)
        found.append(Hold(BEFORE_PLACING, "evaporation by air, humidity, wind and concrete", f"at most {evaporation(job.curing, limit.value)}; else shade, wind break or fog first", INSPECTOR, "as_built: air temperature", str(limit.source)))  # fmt: skip
    return found


def before_opening(job: Job, one: PatchDesign) -> list[Hold]:
    """Return what is looked at before traffic goes over it."""
    limit = job.limit("opening_strength")
    return [
        Hold(BEFORE_OPENING, "strength by cylinders cured beside the patch, or by its logged temperature", f"{units.show_at_least(limit.value, Stress, job.system)} at least; else the lane stays closed",
             ENGINEER, "as_built_cylinders: strength; logger: time, temperature", str(limit.source)),
        photograph(BEFORE_OPENING, "finished surface"),
    ]  # fmt: skip


def any_of(value: Quantity) -> bool:
    """Whether a count is more than nil."""
    return bool(float(value.m_as("")))
