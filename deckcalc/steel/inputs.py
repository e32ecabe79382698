"""What the job folder says of the reinforcement: sections of job.toml, and the bars with what was measured on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal, cast

from pydantic import Field

from deckcalc.base.context import Context
from deckcalc.base.fields import USUAL_SPACING, BarSize, Faults, Id, InRange, OptionalId, Strict
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.core import units
from deckcalc.core.bars import AreaBasis, bar_diameter
from deckcalc.core.units import (
    CurrentDensity,
    Diameter,
    Distance,
    Duration,
    Force,
    InputError,
    Length,
    LoadPerArea,
    Mass,
    MomentPerWidth,
    Quantity,
    Ratio,
    Stress,
    quantity,
)
from deckcalc.core.words import how_many
from deckcalc.patch.design.marking import Marked
from deckcalc.patch.inputs.survey import place

Layer = Literal["top main", "top distribution", "bottom main", "bottom distribution"]
Rules = Literal["replace", "consult", "ten per cent", "any loss", "diameter"]
LapCode = Literal[
    "ACI 318 general", "ACI 318 simplified", "AASHTO LRFD 7th", "AASHTO LRFD 8th and 9th", "AASHTO LRFD 10th", "EN 1992-1-1"
]  # fmt: skip
Edition = Literal["7th", "8th and 9th", "10th"]
OldSteel = Literal["unknown", "structural grade", "intermediate grade", "hard grade or rail steel", "grade 60"]
#: Readings of one bar that differ by more than this share, and a mean below this share of the diameter, are asked about:
#: common practice.
ALIKE, LEFT = 0.5, 0.6


class Reinforcement(Strict):
    """How bars are judged and what is added."""

    rules: Rules = Field("replace", description="set of rules for lost section")
    readings: int = Field(2, ge=1, le=20, description="readings that each bar must have")
    area_basis: AreaBasis = Field("nominal", description='sound area: "nominal" of the bar table, or of the "diameter"')
    reading_uncertainty: Annotated[Quantity, InRange(Length, "0.005 mm", "2 mm")] = Field(
        description="standard uncertainty of one reading"
    )
    corrosion_age: Annotated[Any, InRange(Duration, "0.5 yr", "150 yr")] = Field(
        None, description="years since corrosion began"
    )
    corrosion_current: Annotated[Any, InRange(CurrentDensity, "0.01 µA/cm²", "50 µA/cm²")] = Field(
        None, description="corrosion current measured; replaces the rate by age"
    )
    local_factor: Annotated[Quantity, InRange(Ratio, "1", "10")] = Field(
        description="worst place over the mean, for the years that are left"
    )
    lap_code: LapCode | None = Field(
        None, description="whose development and lap lengths; left out: by the code of the deck strip"
    )
    lap_class: Literal["A", "B"] = Field("B", description="class of the laps")
    added_bar: BarSize = Field(description="size of the added bars")
    added_yield: Annotated[Quantity, InRange(Stress, "150 MPa", "700 MPa")] = Field(
        description="yield strength of the added bars"
    )
    added_coating: Literal["uncoated", "epoxy"] = Field("uncoated", description="coating of the added bars")
    added_cover: Annotated[Quantity, InRange(Length, "5 mm", "300 mm")] = Field(
        description="clear cover of the added bars from the top of the slab"
    )
    end_cover: Annotated[Quantity, InRange(Length, "0 mm", "200 mm")] = Field(
        description="clear distance from the end of an added bar to the edge of the patch"
    )
    alpha_6: Annotated[Quantity, InRange(Ratio, "1", "1.5")] = Field(
        default_factory=lambda: quantity(1.5),
        description="EN 1992-1-1 only: factor for the share of bars lapped",
    )


class DeckStrip(Strict):
    """The strip of deck whose strength is followed; main bars across traffic, on three or more girders."""

    section_offset: Annotated[Quantity, InRange(Length, "0 mm", "609.6 mm")] = Field(
        description="from the girder centre line to the design section for negative moment"
    )
    top_cover: Annotated[Quantity, InRange(Length, "10 mm", "300 mm")] = Field(description="cover of the top main bars")
    bottom_cover: Annotated[Quantity, InRange(Length, "10 mm", "300 mm")] = Field(
        description="cover of the bottom main bars"
    )
    bottom_bar: BarSize = Field(description="bottom main bars")
    bottom_spacing: Annotated[Quantity, InRange(Length, "50 mm", "600 mm")] = Field(
        description="spacing of the bottom main bars"
    )
    concrete_strength: Annotated[Any, InRange(Stress, "10 MPa", "70 MPa")] = Field(
        None, description="strength f'c of the existing concrete; left out, a default by year"
    )
    steel_yield: Annotated[Any, InRange(Stress, "150 MPa", "600 MPa")] = Field(
        None, description="yield strength of the existing bars; left out, a default by year and grade"
    )
    steel_grade: OldSteel = Field(
        "unknown", description="grade of the existing bars where the yield strength is left out"
    )
    steel_modulus: Annotated[Quantity, InRange(units.Modulus, "180 GPa", "220 GPa")] = Field(
        description="modulus of elasticity of the bars"
    )
    modular_ratio: Annotated[Quantity, InRange(Ratio, "5", "15")] = Field(description="modulus of steel over concrete")
    overlay: Annotated[Quantity, InRange(LoadPerArea, "0 kN/m²", "10 kN/m²")] = Field(
        description="weight of overlay and later layers"
    )
    moment_coefficient: Annotated[Quantity, InRange(Ratio, "7", "16")] = Field(
        description="dead-load moment is weight times span squared over this"
    )
    live_load: Literal["table A4-1", "older specifications"] = Field(
        "table A4-1", description="where the live-load moment comes from, unless the engineer gives one"
    )
    positive_moment: Annotated[Any, InRange(MomentPerWidth, "0.1 kN·m/m", "500 kN·m/m")] = Field(
        None, description="the engineer's own live-load moment in the span; replaces the table"
    )
    negative_moment: Annotated[Any, InRange(MomentPerWidth, "0.1 kN·m/m", "500 kN·m/m")] = Field(
        None, description="the engineer's own live-load moment over the girder; replaces the table"
    )
    code: Literal["ACI 318-11", "AASHTO LRFD"] = Field(
        "AASHTO LRFD",
        description="code of strength, minimum reinforcement, crack control, punching, and of laps unless reinforcement.lap_code",
    )
    edition: Edition = Field("8th and 9th", description="edition of AASHTO LRFD")
    gamma_slab: Annotated[Quantity, InRange(Ratio, "0.8", "2")] = Field(description="load factor of the slab")
    gamma_overlay: Annotated[Quantity, InRange(Ratio, "0.6", "2")] = Field(description="load factor of the overlay")
    gamma_live: Annotated[Quantity, InRange(Ratio, "1", "2.5")] = Field(description="load factor of the live load")
    condition: Annotated[Quantity, InRange(Ratio, "0.7", "1")] = Field(
        description="product of condition and system factors"
    )
    reduced_yield: bool = Field(False, description="reduce the yield strength of corroded bars as well as their area")
    exposure_factor: Annotated[Quantity, InRange(Ratio, "0.5", "1")] = Field(
        description="crack control: 1.00 for class 1, 0.75 for class 2"
    )
    wheel: Annotated[Quantity, InRange(Force, "10 kN", "300 kN")] = Field(description="wheel load for punching")
    wheel_factor: Annotated[Quantity, InRange(Ratio, "1", "4")] = Field(
        description="load factor, impact and multiple presence of the wheel"
    )
    wheel_width: Annotated[Quantity, InRange(Length, "100 mm", "1 m")] = Field(description="wheel across traffic")
    wheel_length: Annotated[Quantity, InRange(Length, "100 mm", "1 m")] = Field(description="wheel along traffic")
    shear_factor: Annotated[Any, InRange(Ratio, "0.5", "1")] = Field(
        None, description="resistance factor for shear; left out, that of the code"
    )


class BarRow(Strict):
    """bars.csv: one exposed bar a row, neighbours in the order in which they lie."""

    bar: Id = Field(description="name of the bar")
    size: BarSize = Field(description="size, such as #5 (US), M16 (US soft metric), 15M (CSA) or 16 (ISO)")
    readings: Annotated[Quantity, InRange(Diameter, "1 mm", "85 mm", least=1)] = Field(
        description="diameters read with the caliper, without ribs"
    )
    patch: OptionalId = Field("", description="patch in which it is exposed")
    layer: Layer = Field("top main", description="layer in which it lies")
    station: Annotated[float | None, place("-100 km", "100 km", empty=True)] = Field(
        None, description="station of the worst place; empty where it was not taken"
    )
    offset: Annotated[float | None, place("-100 m", "100 m", empty=True)] = Field(
        None, description="offset of the worst place; empty where it was not taken"
    )
    loss_length: Annotated[Any, InRange(Length, "0 mm", "20 m")] = Field(
        None, description="length over which section is lost"
    )


class PitRow(Strict):
    """pits.csv: the deepest pit of a bar."""

    bar: Id = Field(description="bar of bars.csv")
    depth: Annotated[Quantity, InRange(Length, "0.05 mm", "60 mm")] = Field(description="depth of its deepest pit")


class CutRow(Strict):
    """cut_lengths.csv: a length of bar that was cut out, cleaned and weighed."""

    bar: Id = Field(description="bar of bars.csv")
    length: Annotated[Quantity, InRange(Length, "50 mm", "3 m")] = Field(description="length cut out")
    mass: Annotated[Quantity, InRange(Mass, "0.005 kg", "50 kg")] = Field(description="its mass, cleaned")


SECTIONS: dict[str, type[Strict]] = {"reinforcement": Reinforcement, "deck_strip": DeckStrip}
ROWS: dict[str, type[Strict]] = {"bars": BarRow, "pits": PitRow, "cut_lengths": CutRow}
NEEDS = Needs(
    "bars", ("bars", "reinforcement", "deck_strip"), (("bars", "deck_strip"),),
    "loss of the bars, bars to add, and strength of the slab",
    {"deck_strip": ("patch", "plan", "reinforcement", "deck.slab_thickness", "deck.top_bar_outer", "deck.bar_spacing")},
)  # fmt: skip
START = Start(rows={"bars": "B1 B2"}, own=("bars", "pits", "cut_lengths"))


@dataclass(frozen=True)
class Inputs:
    """What the reinforcement is worked out from."""

    reinforcement: Reinforcement | None
    deck_strip: DeckStrip | None
    bars: list[BarRow]
    pits: list[PitRow]
    cut_lengths: list[CutRow]

    @property
    def lap_code(self) -> LapCode:
        """Whose laps: the engineer's choice, else by the code of the deck strip."""
        how, strip = self.reinforcement, self.deck_strip
        if how and how.lap_code:
            return how.lap_code
        if strip and strip.code == "AASHTO LRFD":
            return cast("LapCode", f"AASHTO LRFD {strip.edition}")
        return "ACI 318 general"


def check(context: Context[Inputs], marked: Marked, faults: Faults) -> None:
    """Check readings against the bar tables, pits and cut lengths against the bars, and the strip against the slab.

    Where the bars lie among the patches is checked by `deckcalc.steel.design.places`.
    """
    inputs = context.inputs
    least = inputs.reinforcement.readings if inputs.reinforcement else 2
    over = 1 + float(context.limit("bar_oversize").value.m_as(""))
    for row in inputs.bars:
        check_readings(row, least, over, faults)
    bars = {row.bar: row for row in inputs.bars}
    for pit in inputs.pits:
        if pit.bar not in bars:
            faults.append(no_bar("pits", pit.bar))
        elif pit.depth > min(bars[pit.bar].readings):
            faults.append(f"pits.csv, bar {pit.bar}: a pit of {pit.depth:.4g~P} is deeper than the bar is thick")
    faults += [no_bar("cut_lengths", cut.bar) for cut in inputs.cut_lengths if cut.bar not in bars]
    if inputs.deck_strip:
        check_strip(inputs.deck_strip, context, marked, faults)
        ask_usual(inputs.deck_strip, context, faults)


def no_bar(table: str, bar: str) -> str:
    """Say that a table names a bar that was not measured."""
    return f"{table}.csv, bar {bar}: there is no bar “{bar}” in bars.csv"


def check_readings(row: BarRow, least: int, over: float, faults: Faults) -> None:
    """Check the readings of one bar: as many as are wanted, none above the bar with its rolling tolerance, all alike."""
    if len(row.readings) < least:
        faults.append(
            f"bars.csv, bar {row.bar}: {how_many(len(row.readings), 'reading')}; the job wants at least {least} a bar, in two "
            "directions and at several places"
        )
    nominal = bar_diameter(row.size)
    if max(row.readings) > over * nominal:
        faults.append(
            f"bars.csv, bar {row.bar}: a reading of {max(row.readings):.4g~P} is above the nominal {nominal:.4g~P} of size "
            f"{row.size} by more than the rolling tolerance of {100 * (over - 1):.0f} %; is size or unit wrong, or was a rib "
            "under the jaws?"
        )
    check_alike(row, nominal, faults)


def check_alike(row: BarRow, nominal: Quantity, faults: Faults) -> None:
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
            f"its minimum reading is {100 * min(read) / max(read):.0f} % of its maximum; is a decimal point or a unit wrong",
        )
    elif share < LEFT:
        faults.ask(
            field,
            where,
            f"the readings are {100 * share:.0f} % of the diameter of size {row.size} in the mean; is the "
            "size that of another bar",
        )


def ask_usual(strip: DeckStrip, context: Context[Inputs], faults: Faults) -> None:
    """Ask about a spacing of bars that is far from usual, and a cover over half the slab. Common practice."""
    field = "deck_strip.bottom_spacing"
    length, t = units.kind_of(Length), context.deck.slab_thickness
    faults.ask_unless(field, f"job.toml: {field}", strip.bottom_spacing, length, *USUAL_SPACING[context.system])
    for field, cover in (("deck_strip.top_cover", strip.top_cover), ("deck_strip.bottom_cover", strip.bottom_cover)):
        if t / 2 < cover < t:
            faults.ask(
                field,
                f"job.toml: {field}",
                f"found {cover:.4g~P}, usual is at most half the slab, {context.show(t / 2, Length)}",
            )


def check_girders(marked: Marked, faults: list[str]) -> None:
    """Check that the deck has the girders between which a strip spans, in the range of the strip."""
    spacing = marked.girder_spacing
    if spacing is None or len(marked.plan.girders) < 3:
        faults.append(
            "job.toml: deck_strip: wants three girders or more in plan.girders; a strip spans between girders"
        )
        return
    try:
        InRange(Distance, "1.2 m", "4.6 m").one(spacing)
    except InputError as error:
        faults.append(f"job.toml: plan.girders: maximum spacing: {error}")


def check_strip(strip: DeckStrip, context: Context[Inputs], marked: Marked, faults: list[str]) -> None:
    """Check the deck strip against the slab, and that it has what its live load is worked out from."""
    t = context.deck.slab_thickness
    if context.inputs.reinforcement is None:
        faults.append("job.toml: deck_strip: wants a section reinforcement beside it")
    if strip.code != "AASHTO LRFD" and strip.edition != "8th and 9th":
        faults.append(
            f"job.toml: deck_strip.edition: of AASHTO LRFD, while deck_strip.code is {strip.code}; leave it out"
        )
    unknown = [name for name in ("steel_yield", "concrete_strength") if getattr(strip, name) is None]
    if unknown and context.deck.year_built is None:
        faults.append(
            f"job.toml: deck.year_built: missing; the default of deck_strip.{unknown[0]} goes by it, or state the strength itself"
        )
    check_girders(marked, faults)
    for name in ("top_cover", "bottom_cover"):
        if getattr(strip, name) >= t:
            faults.append(
                f"job.toml: deck_strip.{name}: {getattr(strip, name):.4g~P} is not less than the slab thickness {t:.4g~P}"
            )
