"""Chlorides: from slices of cores to a verdict at the bars."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from deckcalc import chloride, tables, units
from deckcalc.check import Check, Limit
from deckcalc.course.base import Subject
from deckcalc.inputs import Id, JobError, Strict, Text, Written
from deckcalc.sources import Cite
from deckcalc.units import ChlorideContent, Distance, InputError, Length, Quantity

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.jobfile import Head

CHLORIDE = re.compile(r"(.+?)(?:\s+of\s+(concrete|cement))?$")


class OwnThreshold(Strict):
    """A threshold of the engineer's own."""

    value: Text = Field(description="with its basis, for instance “1.2 lb/yd3” or “0.4 % of cement”")
    extraction: Literal["acid-soluble", "water-soluble"]
    source: Text


class Chloride(Strict):
    """How the samples were analysed, and the threshold that the engineer chooses."""

    extraction: Literal["acid-soluble", "water-soluble"] = Field(description="how chloride was extracted")
    threshold: Text | OwnThreshold = Field(
        description="a key of the table chloride_thresholds, or value, extraction and source"
    )
    background: str = Field(
        description="chloride cast into the concrete, with unit and basis, e.g. “0.005 % of concrete”"
    )
    background_source: Text


class CoreRow(Strict):
    """cores.csv: one core a row."""

    core: Id
    station: Annotated[Quantity, Written(Distance, "0 m", "100 km")]
    offset: Annotated[Quantity, Written(Distance, "0 m", "100 m")]
    bar_depth: Annotated[Quantity, Written(Length, "5 mm", "300 mm")]


class SliceRow(Strict):
    """chlorides.csv: one slice of a core a row."""

    slice: Id
    core: Id
    upper: Annotated[Quantity, Written(Length, "0 mm", "600 mm")]
    lower: Annotated[Quantity, Written(Length, "1 mm", "600 mm")]
    chloride: str


SECTIONS = {"chloride": Chloride}
ROWS = {"cores": CoreRow, "chlorides": SliceRow}


@dataclass(frozen=True)
class ChlorideValue:
    """A chloride reading with its basis."""

    value: Quantity
    basis: Literal["concrete", "cement", "volume"]


def read_chloride(text: str) -> ChlorideValue:
    """Read “0.05 % of concrete”, “320 ppm of concrete”, “0.4 % of cement” or “1.2 kg/m3”.

    Raises
    ------
    InputError
        If the basis is not stated, or the unit does not fit it.
    """
    match = CHLORIDE.fullmatch(text.strip())
    basis = match[2] if match else None
    if basis:
        assert match
        return ChlorideValue(Written(units.ChlorideShare, "0 %", "10 %").one(match[1]), basis)  # type: ignore[arg-type]
    try:
        return ChlorideValue(Written(ChlorideContent, "0 kg/m^3", "60 kg/m^3").one(text), "volume")
    except InputError:
        raise InputError(
            f"found “{text}”, wanted a chloride content with its basis: % of concrete, ppm of concrete, % of cement, "
            "kg/m³ or lb/yd³"
        ) from None


def chosen_threshold(choice: Chloride) -> chloride.Threshold:
    """Return the threshold that the job chooses: one of the table, or its own.

    Raises
    ------
    TableError, InputError
        If the table has no such key, or the value states no basis.
    """
    own = choice.threshold
    if isinstance(own, str):
        return chloride.threshold(own)
    reading = read_chloride(own.value)
    cite = Cite("", own.source, "common practice")
    return chloride.Threshold("own", reading.value, own.value, "", reading.basis, own.extraction, own.source, "", cite)


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold cores, slices, background and threshold against each other."""
    try:
        background = read_chloride(head.chloride.background)
        if background.basis == "cement" and background.value.m_as("") > 0.05:
            raise InputError("more than 5 % of cement")
    except InputError as error:
        faults.append(f"job.toml: chloride.background: {error}")
    try:
        threshold = chosen_threshold(head.chloride)
        if threshold.extraction != head.chloride.extraction:
            raise InputError(
                f"“{threshold.key}” is for {threshold.extraction} chloride, the samples are {head.chloride.extraction}; "
                "the two are not comparable: choose another, or state your own with value, extraction and source"
            )
    except (InputError, tables.TableError) as error:
        faults.append(f"job.toml: chloride.threshold: {error}")
    cores = {row.core: row for row in rows["cores"]}
    slices: dict[str, list[Any]] = {name: [] for name in cores}
    for row in rows["chlorides"]:
        where = f"chlorides.csv, slice {row.slice}"
        if row.core not in cores:
            faults.append(f"{where}: there is no core “{row.core}” in cores.csv")
            continue
        if row.lower <= row.upper:
            faults.append(f"{where}: the slice ends at {row.lower:.4g~P}, not below its start {row.upper:.4g~P}")
        elif slices[row.core] and row.upper < slices[row.core][-1].lower * (1 - 1e-9):
            faults.append(
                f"{where}: overlaps slice {slices[row.core][-1].slice} above it; list slices from the top down"
            )
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


@dataclass
class Chlorides(Subject):
    """Chlorides, with the threshold that they are held against."""

    threshold: Any = None


def carry(job: Job) -> Chlorides:
    """Chloride at the bars of every core, above background, against the threshold."""
    subject = Chlorides("chloride", "Chlorides")
    choice = job.head.chloride
    subject.threshold = threshold = chosen_threshold(choice)
    limit = Limit("threshold", threshold.meaning, threshold.value, threshold.kind, threshold.source, "engineer")
    background = content_of(job, subject, "background", choice.background)
    for core in job.file.rows["cores"]:
        item = f"core {core.core}"
        depths, nets = [], []
        for row in (row for row in job.file.rows["chlorides"] if row.core == core.core):
            place = f"slice {row.slice}"
            depths.append(subject.run(chloride.mid_depth, place, x_from=row.upper, x_to=row.lower))
            content = content_of(job, subject, place, row.chloride)
            if content < background:
                found = job.show(content, units.ChlorideContent), job.show(background, units.ChlorideContent)
                raise JobError([f"chlorides.csv, slice {row.slice}: {found[0]} is less than the background {found[1]}"])
            nets.append(subject.run(chloride.above_background, place, C=content, C_b=background))
        try:
            upper, lower = chloride.bracket(core.bar_depth, depths)
        except tables.TableError as error:
            subject.decisions[item] = f"outside the method: {error}"
            subject.checks.append(Check(item, "chloride at the bar", None, limit, "less than", str(error)))
            continue
        at_bar = subject.run(
            chloride.content_at_depth, item, x=core.bar_depth, x_1=depths[upper], C_1=nets[upper], x_2=depths[lower],
            C_2=nets[lower],
        ).C_x  # fmt: skip
        demand: Any = at_bar
        if threshold.basis in ("cement", "cementitious"):
            demand = subject.run(chloride.cement_share, item, C=at_bar, c=job.head.deck.cement_content)
        elif threshold.basis == "concrete":
            demand = subject.run(chloride.concrete_share, item, C=at_bar, rho=job.head.deck.unit_weight)
        check = Check(
            item, "chloride at the bar, above background", demand, limit, "less than", "remove to below the bars"
        )
        subject.checks.append(check)
        subject.decisions[item] = (
            "below the threshold at the bar" if check.verdict == "satisfied"
            else "threshold reached at the bar: concrete left in place round this bar can corrode it; remove it or protect the bar"
        )  # fmt: skip
    subject.notes += [
        f"Chloride is {choice.extraction}; the threshold is stated on the basis of {threshold.basis} "
        f"({threshold.extraction}). Where a basis had to be changed the cement content or unit weight above was used, "
        "and the result is no better than that input.",
        "A patch in concrete that stays contaminated moves corrosion to the concrete beside it; chloride at the cores "
        "says nothing of the deck between them.",
    ]
    return subject


def content_of(job: Job, subject: Subject, item: str, text: str) -> Quantity:
    """Bring a reading to mass per volume of concrete, by a calculation where its basis asks for one."""
    reading = read_chloride(text)
    if reading.basis == "concrete":
        return subject.run(chloride.content_from_concrete_share, item, p=reading.value, rho=job.head.deck.unit_weight)
    if reading.basis == "cement":
        return subject.run(chloride.content_from_cement_share, item, p=reading.value, c=job.head.deck.cement_content)
    return reading.value
