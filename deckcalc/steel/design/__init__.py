"""Reinforcement: from readings on bars to a verdict on every bar, the bars to add and what they need of the patch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

from pydantic import Field

from deckcalc import steel
from deckcalc.base.fields import BarSize, Faults, Id, Strict, Written
from deckcalc.base.subject import Subject, joined
from deckcalc.core import tables, units
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import CurrentDensity, Diameter, Duration, Length, Mass, Quantity, Ratio, Stress  # fmt: skip
from deckcalc.patch.inputs.survey import place
from deckcalc.steel.design import laps, strip
from deckcalc.steel.design.places import check_places
from deckcalc.steel.design.strip import DeckStrip

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.job.file import Head

Layer = Literal["top main", "top distribution", "bottom main", "bottom distribution"]
Rules = Literal["replace", "consult", "ten per cent", "any loss", "diameter"]
LapCode = Literal[
    "ACI 318 general", "ACI 318 simplified", "AASHTO LRFD 7th", "AASHTO LRFD 8th and 9th", "AASHTO LRFD 10th", "EN 1992-1-1"
]  # fmt: skip
CAUTION = (
    "Whether the deck carries traffic while bars are bare and concrete is out, and after the loss found, is the licensed "
    "engineer's decision. The strengths here inform it; they do not make it. Keep wheels off the strip until that decision is made."
)


#: Readings of one bar that differ by more than this share, and a mean below this share of the diameter, are asked about:
#: common practice.
ALIKE, LEFT = 0.5, 0.6


class Reinforcement(Strict):
    """How bars are judged and what is added."""

    rules: Rules = Field("replace", description="rules for lost section, a set of the table loss_rules")
    readings: int = Field(2, ge=1, le=20, description="readings that each bar must have")
    area_basis: steel.AreaBasis = Field(
        "nominal", description='sound area: "nominal" of the bar table, or of the "diameter"'
    )
    reading_uncertainty: Annotated[Quantity, Written(Length, "0.005 mm", "2 mm")] = Field(
        description="standard uncertainty of one reading"
    )
    corrosion_age: Annotated[Any, Written(Duration, "0.5 yr", "150 yr")] = Field(
        None, description="years since corrosion began"
    )
    corrosion_current: Annotated[Any, Written(CurrentDensity, "0.01 µA/cm²", "50 µA/cm²")] = Field(
        None, description="corrosion current measured; replaces the rate by age"
    )
    local_factor: Annotated[Quantity, Written(Ratio, "1", "10")] = Field(
        description="worst place over the mean, for the years that are left"
    )
    lap_code: LapCode = Field(description="whose development and lap lengths")
    lap_class: Literal["A", "B"] = Field("B", description="class of the laps")
    added_bar: BarSize = Field(description="size of the added bars")
    added_yield: Annotated[Quantity, Written(Stress, "150 MPa", "700 MPa")] = Field(
        description="yield strength of the added bars"
    )
    added_coating: Literal["uncoated", "epoxy"] = Field("uncoated", description="coating of the added bars")
    added_cover: Annotated[Quantity, Written(Length, "5 mm", "300 mm")] = Field(
        description="clear cover of the added bars from the top of the slab"
    )
    end_cover: Annotated[Quantity, Written(Length, "0 mm", "200 mm")] = Field(
        description="clear distance from the end of an added bar to the edge of the patch"
    )
    alpha_6: Annotated[Quantity, Written(Ratio, "1", "1.5")] = Field(
        default_factory=lambda: units.registry().Quantity(1.5, ""),
        description="EN 1992-1-1 only: factor for the share of bars lapped",
    )


class BarRow(Strict):
    """bars.csv: one exposed bar a row, neighbours in the order in which they lie."""

    bar: Id
    patch: Id
    size: BarSize
    readings: Annotated[Quantity, Written(Diameter, "1 mm", "85 mm", least=1)]
    layer: Layer = "top main"
    station: Annotated[float | None, place("-100 km", "100 km", empty=True)] = None
    offset: Annotated[float | None, place("-100 m", "100 m", empty=True)] = None
    loss_length: Annotated[Any, Written(Length, "0 mm", "20 m")] = None


class PitRow(Strict):
    """pits.csv: the deepest pit of a bar."""

    bar: Id
    depth: Annotated[Quantity, Written(Length, "0.05 mm", "60 mm")]


class CutRow(Strict):
    """cut_lengths.csv: a length of bar that was cut out, cleaned and weighed."""

    bar: Id
    length: Annotated[Quantity, Written(Length, "50 mm", "3 m")]
    mass: Annotated[Quantity, Written(Mass, "0.005 kg", "50 kg")]


SECTIONS: dict[str, type[Strict]] = {"reinforcement": Reinforcement, "deck_strip": DeckStrip}
ROWS = {"bars": BarRow}
OPTIONAL_ROWS: dict[str, type[Strict]] = {"pits": PitRow, "cut_lengths": CutRow}


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: Faults) -> None:
    """Hold bars against patches, bar tables and the slab."""
    known = {row.patch for row in rows["patches"]}
    least = head.reinforcement.readings if head.reinforcement else 2
    over = 1 + float(limits["bar_oversize"].value.m_as(""))
    for row in rows["bars"]:
        if row.patch not in known:
            faults.append(f"bars.csv, bar {row.bar}: the survey gives no patch “{row.patch}”")
        if len(row.readings) < least:
            faults.append(
                f"bars.csv, bar {row.bar}: {len(row.readings)} reading(s); the job wants at least {least} a bar, in two "
                "directions and at several places"
            )
        nominal = steel.bar_diameter(row.size)
        if max(row.readings) > over * nominal:
            faults.append(
                f"bars.csv, bar {row.bar}: a reading of {units.text(max(row.readings), '.4g')} is above the nominal {units.text(nominal, '.4g')} of size "
                f"{row.size} by more than the rolling tolerance of {100 * (over - 1):.0f} %; is size or unit wrong, or was a rib "
                "under the jaws?"
            )
        readings_alike(row, nominal, faults)
    check_places(rows["bars"], rows["marked"][0], head.units, faults)
    bars = {row.bar: row for row in rows["bars"]}
    for name in ("pits", "cut_lengths"):
        for row in rows[name]:
            if row.bar not in bars:
                faults.append(f"{name}.csv, bar {row.bar}: there is no bar “{row.bar}” in bars.csv")
            elif name == "pits" and row.depth > min(bars[row.bar].readings):
                faults.append(
                    f"pits.csv, bar {row.bar}: a pit of {units.text(row.depth, '.4g')} is deeper than the bar is thick"
                )
    if head.deck_strip:
        strip.check(head, faults)


def readings_alike(row: BarRow, nominal: Quantity, faults: Faults) -> None:
    """Ask about readings of one bar that belong to two bars, or to a bar of another size."""
    read, field, where = (
        row.readings.to(nominal.units).magnitude,
        f"bars.{row.bar}.readings",
        f"bars.csv, bar {row.bar}",
    )
    share = float(read.mean() / nominal.magnitude)
    if min(read) < ALIKE * max(read):
        faults.ask(
            field,
            where,
            f"its least reading is {100 * min(read) / max(read):.0f} % of its greatest; is a decimal point or a unit wrong",
        )
    elif share < LEFT:
        faults.ask(
            field,
            where,
            f"the readings are {100 * share:.0f} % of the diameter of size {row.size} in the mean; is the "
            "size that of another bar",
        )


@dataclass
class Steel(Subject):
    """Reinforcement, with what the sheet and other subjects need of it.

    Attributes
    ----------
    rules : dict
        By scope (single, adjacent, mat): the limit, and the action that its source asks for.
    loss : dict of Quantity
        By bar: the loss that governs.
    governs : dict of str
        By bar: how that loss was measured.
    flagged : dict of str
        By bar: why it is to be supplemented.
    mat : dict of Quantity
        By patch and layer: mean loss.
    bar_lengths : dict of Quantity
        By bar: length of each added bar.
    added : dict of Quantity
        By bar: area of the added bars.
    growth : dict of Quantity
        By patch: length by which it must grow along the bars, over what is marked.
    growth_along : dict of str
        By patch: in which direction.
    states : list of strip.State
        Strength of the deck strip, state by state.
    """

    key: ClassVar = "steel"
    title: ClassVar = "Reinforcement"
    rules: dict[str, tuple[Limit, str]] = field(default_factory=dict)
    loss: dict[str, Any] = field(default_factory=dict)
    governs: dict[str, str] = field(default_factory=dict)
    flagged: dict[str, str] = field(default_factory=dict)
    mat: dict[tuple[str, str], Any] = field(default_factory=dict)
    bar_lengths: dict[str, Any] = field(default_factory=dict)
    added: dict[str, Any] = field(default_factory=dict)
    growth: dict[str, Any] = field(default_factory=dict)
    growth_along: dict[str, str] = field(default_factory=dict)
    states: list[Any] = field(default_factory=list)


def carry(job: Job) -> Steel:
    """Loss of every bar, verdicts by the rules, bars to add, laps and patches for them, strength of the strip."""
    subject = Steel(job)
    subject.notes += [CAUTION]
    astray = [row.bar for row in job.file.rows["bars"] if row.station is None]
    if astray:
        subject.notes.append(f"Not held against the marked limits, since bars.csv gives no place: {', '.join(astray)}.")
    subject.rules = rules_of(job)
    measure(job, subject)
    judge(job, subject)
    how = job.head.reinforcement
    if how:
        certainty(job, subject)
    for row in job.file.rows["bars"]:
        if row.bar in subject.flagged:
            laps.add_bars(job, subject, row)
        else:
            subject.decisions[f"bar {row.bar}"] = "clean; no bar to add by these rules"
    laps.grow(job, subject)
    if job.head.deck_strip:
        strip.carry(job, subject)
    else:
        subject.notes.append("No strength is computed: the job has no section deck_strip.")
    name = how.rules if how else "replace"
    subject.notes += [
        f"Rules for lost section: the set “{name}” of the table loss_rules, unless the job's own limits replace a number. Areas of "
        f"sound bars: {'the area of the diameter' if how and how.area_basis == 'diameter' else 'nominal areas of the bar table'}.",
        "Main bars run across traffic (along the offset), distribution bars along it: a lap needs patch in that direction.",
        "Bare bars are hard on hands and eyes: cap ends, and blast or wire-brush them with eye and breathing protection.",
    ]
    return subject


def rules_of(job: Job) -> dict[str, tuple[Limit, str]]:
    """Return limit and action for a bar, for adjacent bars and for a mat."""
    chosen = job.head.reinforcement.rules if job.head.reinforcement else "replace"
    found = {}
    for row in tables.load("loss_rules").rows:
        if row["rules"] != chosen:
            continue
        limit = job.limit(f"bar_loss_{row['scope']}")
        if limit.origin == "default":
            share = units.read(row["number"], units.Share)
            area = 1 - (1 - share.m_as("")) ** 2 if row["of"] == "diameter" else share.m_as("")
            words = f" ({row['number']} of the diameter)" if row["of"] == "diameter" else ""
            limit = Limit(
                limit.name, f"loss of section, {row['scope']}{words}", units.registry().Quantity(100 * area, "percent"),
                limit.kind, Cite(row["source"], row["where"], row["provenance"]),  # type: ignore[arg-type]
            )  # fmt: skip
        found[row["scope"]] = (limit, row["action"])
    return found


def measure(job: Job, subject: Steel) -> None:
    """Loss of every bar by caliper, pit and mass; the greatest governs."""
    pits = {row.bar: row.depth for row in job.file.rows["pits"]}
    cuts = {row.bar: row for row in job.file.rows["cut_lengths"]}
    for row in job.file.rows["bars"]:
        item, A_0 = f"bar {row.bar}", laps.area_of(job, row.size)
        calculation = steel.section_loss_square if steel.is_square(row.size) else steel.section_loss
        found = subject.run(calculation, item, A_0=A_0, d=row.readings)
        losses = {"caliper": found.loss}
        if row.bar in pits:
            losses["pit"] = subject.run(steel.pit_loss, item, A_0=A_0, d=found.d_r, p=pits[row.bar]).loss_p
        if row.bar in cuts:
            cut = cuts[row.bar]
            losses["mass of a cut length"] = subject.run(
                steel.mass_loss, item, m_0=steel.bar_mass(row.size), M_cut=cut.mass, L_cut=cut.length
            ).loss_m
        subject.governs[row.bar] = max(losses, key=lambda name: losses[name])
        subject.loss[row.bar] = losses[subject.governs[row.bar]]


def judge(job: Job, subject: Steel) -> None:
    """Hold every bar, every pair and every mat against the rules."""
    rows = job.file.rows["bars"]
    (single, action), (pair, action_2), (mat, action_3) = (subject.rules[k] for k in ("single", "adjacent", "mat"))
    for row in rows:
        check = Check(f"bar {row.bar}", "section loss of one bar", subject.loss[row.bar], single, "at most", action)
        subject.checks.append(check)
        if check.verdict != SATISFIED:
            subject.flagged[row.bar] = "its own loss"
    for first, second in pairwise(rows):
        if (first.patch, first.layer) != (second.patch, second.layer):
            continue
        item = f"bars {first.bar} and {second.bar}"
        shared = subject.run(steel.adjacent_loss, item, loss_1=subject.loss[first.bar], loss_2=subject.loss[second.bar])
        check = Check(item, "section loss of two adjacent bars", shared, pair, "at most", action_2)
        subject.checks.append(check)
        if check.verdict != SATISFIED:
            for bar in (first.bar, second.bar):
                subject.flagged.setdefault(bar, "the loss it shares with its neighbour")
    groups: dict[tuple[str, str], list[Any]] = {}
    for row in rows:
        groups.setdefault((row.patch, row.layer), []).append(row)
    for (patch, layer), members in groups.items():
        item = f"{layer} bars of patch {patch}"
        areas = joined(laps.area_of(job, row.size) for row in members)
        lost = joined(subject.loss[row.bar] * laps.area_of(job, row.size) for row in members)
        found = subject.run(steel.mat_loss, item, A_lost=lost, A_0=areas)
        subject.mat[patch, layer] = found.loss_mat
        subject.checks.append(Check(item, "mean loss of the mat", found.loss_mat, mat, "at most", action_3))


def certainty(job: Job, subject: Steel) -> None:
    """Probability that the limit of one bar is exceeded, and years until it is."""
    how, limit = job.head.reinforcement, subject.rules["single"][0].value
    assert how
    for row in job.file.rows["bars"]:
        item = f"bar {row.bar}"
        found = subject.of(item)[0].result
        subject.run(
            steel.exceedance, item, loss=subject.loss[row.bar], A_0=laps.area_of(job, row.size), d_r=found.d_r,
            u_d=how.reading_uncertainty, loss_lim=limit,
        )  # fmt: skip
        nominal = steel.bar_diameter(row.size)
        if row.bar in subject.flagged:
            uniform = subject.run(steel.uniform_loss, item, d_0=nominal, d=found.d_mean)
            expected_pit(subject, row, item, nominal, uniform.x)
        if found.d_r >= nominal or (how.corrosion_current is None and how.corrosion_age is None):
            continue
        if how.corrosion_current is not None:
            rate = subject.run(steel.corrosion_rate, item, i_corr=how.corrosion_current)
        else:
            rate = subject.run(steel.rate_by_age, item, d_0=nominal, d_r=found.d_r, T_c=how.corrosion_age)
        subject.run(steel.years_to_limit, item, d_0=nominal, d_r=found.d_r, loss_lim=limit, v=rate, K=how.local_factor)


def expected_pit(subject: Steel, row: BarRow, item: str, nominal: Any, x: Any) -> None:
    """Depth of pit to expect over the length of loss, where the parameters reach and none was measured."""
    if row.loss_length is None or subject.governs[row.bar] == "pit" or x.magnitude <= 0:
        return
    if 10 <= nominal.m_as("mm") <= 27 and row.loss_length.m_as("mm") >= 50:
        subject.run(steel.pit_depth, item, x=x, d_0=nominal, L=row.loss_length)
