"""Chlorides: from slices of cores to a verdict at the bars, a depth of removal, and what the deck and its patches last."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from deckcalc import chloride
from deckcalc.base.fields import JobError
from deckcalc.base.subject import Subject, joined
from deckcalc.chloride.design import forecast as chloride_forecast
from deckcalc.chloride.design import survey as chloride_survey
from deckcalc.chloride.design.survey import Zone, zones_of
from deckcalc.chloride.inputs import (
    Chloride,
    CoreRow,
    CoverRow,
    PotentialRow,
    ResistanceRow,
    RuleRow,
    SliceRow,
    ZoneRow,
    chosen_threshold,
    critical_law,
    read_chloride,
)
from deckcalc.core import tables, units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import InputError, Quantity

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.job.file import Head

__all__ = ["OPTIONAL_ROWS", "ROWS", "SECTIONS", "Chloride", "Chlorides", "carry", "check", "read_chloride"]

SECTIONS = {"chloride": Chloride}
ROWS = {"cores": CoreRow, "chlorides": SliceRow}
OPTIONAL_ROWS = {
    "zones": ZoneRow, "potentials": PotentialRow, "covers": CoverRow, "resistances": ResistanceRow, "rules": RuleRow,
}  # fmt: skip


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold cores, slices, background, threshold and surveys against each other."""
    check_head(head, faults)
    cores = {row.core: row for row in rows["cores"]}
    slices: dict[str, list[Any]] = {name: [] for name in cores}
    for row in rows["chlorides"]:
        where = f"chlorides.csv, slice {row.slice}"
        if row.core not in cores:
            faults.append(f"{where}: there is no core “{row.core}” in cores.csv")
            continue
        before = slices[row.core][-1] if slices[row.core] else None
        if row.lower < row.upper:
            faults.append(f"{where}: the slice ends at {row.lower:.4g~P}, not below its start {row.upper:.4g~P}")
        elif before and (row.upper < before.lower * (1 - 1e-9) or row.lower <= before.lower):
            faults.append(f"{where}: overlaps slice {before.slice} above it; list slices from the top down")
        slices[row.core].append(row)
        try:
            read_chloride(row.chloride)
        except InputError as error:
            faults.append(f"{where}, column chloride: {error}")
    for name in cores:
        if len(slices[name]) < 2:
            faults.append(f"cores.csv, core {name}: {len(slices[name])} slices in chlorides.csv, wanted at least two")
    bases = {read_chloride(row.chloride).basis for row in rows["chlorides"]} if not faults else set()
    if len(bases) > 1:
        faults.append(f"chlorides.csv, column chloride: bases are mixed ({', '.join(sorted(bases))}); one basis a job")
    chloride_survey.check(head.chloride, rows, faults)


def check_head(head: Head, faults: list[str]) -> None:
    """Hold background, threshold and the law of the threshold against each other."""
    choice = head.chloride
    try:
        background = read_chloride(choice.background)
        if background.basis == "cement" and background.value.m_as("") > 0.05:
            raise InputError("more than 5 % of cement")
    except InputError as error:
        faults.append(f"job.toml: chloride.background: {error}")
    try:
        threshold = chosen_threshold(choice)
        if threshold.extraction != choice.extraction:
            raise InputError(
                f"“{threshold.key}” is for {threshold.extraction} chloride, the samples are {choice.extraction}; "
                "the two are not comparable: choose another, or state your own with value, extraction and source"
            )
    except (InputError, tables.TableError) as error:
        faults.append(f"job.toml: chloride.threshold: {error}")
    if choice.forecast:
        if not choice.profile:
            faults.append("job.toml: chloride.forecast: wants chloride.profile, which says how old the profiles are")
        try:
            critical_law(choice.forecast.critical, head.deck)
        except InputError as error:
            faults.append(f"job.toml: chloride.forecast.critical: {error}")
    if choice.patch_concrete and not choice.forecast:
        faults.append("job.toml: chloride.patch_concrete: wants chloride.forecast, which says for how long")


@dataclass
class CoreFound:
    """What a core says.

    Attributes
    ----------
    row : CoreRow
    zone : str
    slices : list
    depths, contents, nets : list of Quantity
        Middle of each slice, content, content above background.
    at_bar : Quantity or None
        Content at the bar, counted as the threshold counts; None outside the profile.
    reached : bool or None
        Whether the threshold is reached at the bar; None if it cannot be said.
    removal : Quantity or None
        Depth to which concrete above the threshold reaches.
    removal_word : str
    """

    row: Any
    zone: str
    slices: list[Any] = field(default_factory=list)
    depths: list[Any] = field(default_factory=list)
    contents: list[Any] = field(default_factory=list)
    nets: list[Any] = field(default_factory=list)
    at_bar: Any = None
    reached: bool | None = None
    removal: Any = None
    removal_word: str = ""


@dataclass
class Chlorides(Subject):
    """Chlorides, with all that their sheet shows.

    Attributes
    ----------
    threshold : Threshold
    threshold_content : Quantity
        The same per volume of concrete, counted as it counts.
    background : Quantity
    zones : list of Zone
    cores : dict of CoreFound
    survey, forecast : what was surveyed and foreseen; None where the job leaves it out
    """

    key: ClassVar = "chloride"
    title: ClassVar = "Chlorides"
    threshold: Any = None
    threshold_content: Any = None
    background: Any = None
    zones: list[Zone] = field(default_factory=list)
    cores: dict[str, CoreFound] = field(default_factory=dict)
    survey: Any = None
    forecast: Any = None

    def in_zone(self, zone: str) -> list[CoreFound]:
        """Return the cores of a zone."""
        return [core for core in self.cores.values() if core.zone == zone]


def carry(job: Job) -> Chlorides:
    """Chloride at the bars of every core against the threshold, depth of removal, surveys, and how long it lasts."""
    subject = Chlorides(job)
    choice = job.head.chloride
    subject.threshold = threshold = chosen_threshold(choice)
    subject.zones = zones_of(job)
    limit = Limit("threshold", threshold.meaning, threshold.value, threshold.kind, threshold.source, "engineer")
    subject.background = content_of(job, subject, "background", choice.background)
    subject.threshold_content = threshold_content(job, subject)
    for row in job.file.rows["cores"]:
        zone = next(zone.name for zone in subject.zones if zone.holds(row))
        subject.cores[row.core] = core = CoreFound(row, zone)
        read_core(job, subject, core)
        at_the_bar(job, subject, core, limit)
        removal(job, subject, core)
    subject.survey = chloride_survey.carry(job, subject)
    if choice.profile:
        subject.forecast = chloride_forecast.carry(job, subject)
    chloride_survey.judge(job, subject)
    subject.notes += notes(job, subject)
    return subject


def threshold_content(job: Job, subject: Chlorides) -> Quantity:
    """Return the threshold per volume of concrete, by a calculation where its basis asks for one."""
    one, deck = subject.threshold, job.head.deck
    if one.basis == "concrete":
        return subject.run(chloride.content_from_concrete_share, "threshold", p=one.value, rho=deck.unit_weight)
    if one.basis in ("cement", "cementitious"):
        return subject.run(chloride.content_from_cement_share, "threshold", p=one.value, c=deck.cement_content)
    return one.value


def read_core(job: Job, subject: Chlorides, core: CoreFound) -> None:
    """Bring the slices of a core to content, and to content above background."""
    for row in (row for row in job.file.rows["chlorides"] if row.core == core.row.core):
        place = f"slice {row.slice}"
        content = content_of(job, subject, place, row.chloride)
        if content < subject.background:
            found = (job.show(value, units.ChlorideContent) for value in (content, subject.background))
            raise JobError([f"chlorides.csv, slice {row.slice}: {' is less than the background '.join(found)}"])
        core.slices.append(row)
        core.depths.append(subject.run(chloride.mid_depth, place, x_from=row.upper, x_to=row.lower))
        core.contents.append(content)
        core.nets.append(subject.run(chloride.above_background, place, C=content, C_b=subject.background))


def counted(job: Job, core: CoreFound) -> list[Any]:
    """Return the contents of a core as the threshold counts them."""
    return core.contents if job.head.chloride.counts == "all chloride" else core.nets


def at_the_bar(job: Job, subject: Chlorides, core: CoreFound, limit: Limit) -> None:
    """Hold the content at the bar of a core against the threshold."""
    item, contents = f"core {core.row.core}", counted(job, core)
    title = f"chloride at the bar, {job.head.chloride.counts.removeprefix('chloride ')}"
    try:
        upper, lower = chloride.bracket(core.row.bar_depth, core.depths)
    except tables.TableError as error:
        subject.decisions[item] = f"outside the method: {error}"
        subject.checks.append(Check(item, title, None, limit, "less than", str(error)))
        return
    core.at_bar = subject.run(
        chloride.content_at_depth, item, x=core.row.bar_depth, x_1=core.depths[upper], C_1=contents[upper],
        x_2=core.depths[lower], C_2=contents[lower],
    ).C_x  # fmt: skip
    demand: Any = core.at_bar
    if subject.threshold.basis in ("cement", "cementitious"):
        demand = subject.run(chloride.cement_share, item, C=core.at_bar, c=job.head.deck.cement_content)
    elif subject.threshold.basis == "concrete":
        demand = subject.run(chloride.concrete_share, item, C=core.at_bar, rho=job.head.deck.unit_weight)
    one = Check(item, title, demand, limit, "less than", "remove to below the bars")
    core.reached = one.verdict != "satisfied"
    subject.checks.append(one)


def removal(job: Job, subject: Chlorides, core: CoreFound) -> None:
    """Find how deep concrete above the threshold reaches, and say what follows for the core."""
    item, contents, level = f"core {core.row.core}", counted(job, core), subject.threshold_content
    core.removal_word, place = chloride.removal_place(joined(contents).m_as("kg/m**3"), level.m_as("kg/m**3"))
    if core.removal_word == "between":
        core.removal = subject.run(
            chloride.depth_at_content, item, x_1=core.depths[place], C_1=contents[place], x_2=core.depths[place + 1],
            C_2=contents[place + 1], C_L=level,
        ).x_L  # fmt: skip
        deep = f"concrete above the threshold reaches to {job.show(core.removal, units.Length)}"
    elif core.removal_word == "none":
        deep = "no slice is above the threshold"
    else:
        deep = f"the deepest slice, at {job.show(core.depths[-1], units.Length)}, is still above the threshold: take deeper samples"
    if core.reached is None:
        subject.decisions[item] += f"; {deep}"
        return
    at = "threshold reached at the bar: what is left round this bar can corrode it; remove it or protect the bar"
    subject.decisions[item] = f"{at if core.reached else 'below the threshold at the bar'}; {deep}"


BARS = {
    "epoxy-coated": "No threshold for epoxy-coated bars is published that can be defended: the one for bare bars is used, on "
    "the safe side; a coating that is damaged or lifted protects nothing.",
    "galvanised": "No threshold for galvanised bars is held here that can be defended: the one for bare bars is used, on the "
    "safe side.",
    "stainless": "For stainless bars only a lower bound for one steel is published (2304: more than 12.5 kg/m³, 21 lb/yd³); "
    "state the threshold of the bars at hand as the job's own.",
}  # fmt: skip


def notes(job: Job, subject: Chlorides) -> list[str]:
    """Simplifications and cautions."""
    choice, threshold = job.head.chloride, subject.threshold
    said = [
        f"Chloride is {choice.extraction}; the threshold is stated on the basis of {threshold.basis} ({threshold.extraction}) "
        f"and is held against {choice.counts}. Where a basis had to be changed the cement content or unit weight above was "
        "used, and the result is no better than that input.",
        "A patch in concrete that stays contaminated moves corrosion to the concrete beside it; chloride at the cores "
        "says nothing of the deck between them.",
    ]
    if choice.bars in BARS:
        said.append(BARS[choice.bars])
    if any(core.row.crack == "yes" for core in subject.cores.values()):
        said.append("Cores on a crack tell of the crack: they count for removal there, and stay out of the fits.")
    return said


def content_of(job: Job, subject: Subject, item: str, text: str) -> Quantity:
    """Bring a reading to mass per volume of concrete, by a calculation where its basis asks for one."""
    reading = read_chloride(text)
    if reading.basis == "concrete":
        return subject.run(chloride.content_from_concrete_share, item, p=reading.value, rho=job.head.deck.unit_weight)
    if reading.basis == "cement":
        return subject.run(chloride.content_from_cement_share, item, p=reading.value, c=job.head.deck.cement_content)
    return reading.value
