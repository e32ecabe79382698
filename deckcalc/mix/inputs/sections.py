"""What the job folder says of the concrete: sections of job.toml and the rows of aggregates.csv."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag

from deckcalc.base.fields import FULL, NOT_GIVEN, PARTIAL, Id, InRange, OptionalId, Remark, Strict, Text
from deckcalc.core import units
from deckcalc.core.units import (
    BatchVolume,
    Content,
    Count,
    Density,
    InputError,
    Length,
    Mass,
    Quantity,
    Ratio,
    Share,
    Stress,
    System,
    Temperature,
)
from deckcalc.mix.formulas.grading import read_grading
from deckcalc.mix.formulas.makers_curve import read_makers_curve
from deckcalc.mix.formulas.ratio import Entrained, RatioTable, stated_ratio
from deckcalc.mix.formulas.strength import MarginRule
from deckcalc.mix.formulas.water import Shape
from deckcalc.mix.inputs.given import SMALL_DOSE, GivenConcrete, OfConcrete, Supplementary, Water

RelativeDensity = Annotated[Quantity, InRange(Ratio, "2.0", "3.5")]
Litres = Annotated[Quantity, InRange(BatchVolume, "0.1 L", "10000 L")]
WeighedMass = Annotated[Quantity, InRange(Mass, "0 kg", "20000 kg")]
MaterialTemperature = Annotated[Quantity, InRange(Temperature, "1 °C", "60 °C")]


def plain_number(value: object) -> float:
    """Read a price or an emission factor: a number without a unit."""
    try:
        number = float(str(value))
    except ValueError:
        raise InputError(f"found “{value}”, wanted a number") from None
    if not 0 <= number < 1e6:
        raise InputError(f"found “{value}”, wanted a number that is not negative")
    return number


def sieve_analysis(value: object) -> str:
    """Check that a text can be read as a sieve analysis."""
    read_grading(str(value))
    return str(value)


def makers_table(value: object) -> object:
    """Check that a text can be read as a manufacturer's table of strength by age."""
    if isinstance(value, str) and value:
        read_makers_curve(value)
    return value


class StrengthRecord(Strict):
    """Strength tests of the same concrete, where there is a record of them."""

    deviation: Annotated[Quantity, InRange(Stress, "0.5 MPa", "12 MPa")] = Field(
        description="sample standard deviation"
    )
    tests: Annotated[Quantity, InRange(Count, "15", "1000")] = Field(description="number of tests")


class Admixture(Strict):
    """A liquid admixture; `entrains_air` goes by its name and its dose."""

    name: Text = Field(description="what it is called; one that entrains air says “air-entraining”")
    dose: Annotated[Quantity, SMALL_DOSE] = Field(
        description="on the cementitious material, in mL/100 kg, fl oz/cwt or g/kg; a latex stands with the contents of a concrete that is given"
    )
    density: Annotated[Quantity, InRange(Density, "900 kg/m^3", "1500 kg/m^3")] = Field(
        description="density of the liquid as delivered"
    )
    solids: Annotated[Quantity, InRange(Share, "0 %", "70 %")] = Field(description="by mass")

    @property
    def entrains_air(self) -> bool:
        """Whether its name says that it entrains air, and it has a dose."""
        return self.dose.magnitude > 0 and re.search(r"air[\s-]*entrain", self.name, re.IGNORECASE) is not None


class Trial(Strict):
    """A trial batch, as weighed and as tested."""

    designed_volume: Litres = Field(description="concrete that the batch was to make")
    cementitious: WeighedMass = Field(description="all cementitious material, as weighed")
    coarse: WeighedMass = Field(description="moist as weighed")
    fine: WeighedMass = Field(description="moist as weighed")
    water: Water = Field(description="added, with that of the admixtures; weighed, or by volume")
    moisture_coarse: Annotated[Quantity, InRange(Share, "0 %", "20 %")] = Field(description="total, on the day")
    moisture_fine: Annotated[Quantity, InRange(Share, "0 %", "20 %")] = Field(description="total, on the day")
    measure_full: WeighedMass = Field(description="mass of the measure, full")
    measure_empty: WeighedMass = Field(description="mass of the measure, empty")
    measure_volume: Litres = Field(description="volume of the measure")
    slump: Annotated[Quantity, InRange(Length, "0 mm", "280 mm")] = Field(description="slump as tested")
    air: Annotated[Quantity, InRange(Share, "0 %", "20 %")] = Field(description="by the air meter")
    accepted: bool = Field(description="whether the batches follow the adjusted mix")


class Concrete(OfConcrete):
    """A concrete that is proportioned here and mixed on site."""

    kind: Literal["site-mixed"] = Field(description="how it is made")
    strength: Annotated[Quantity, InRange(Stress, "15 MPa", "60 MPa")] = Field(
        description="specified strength f'c at 28 days"
    )
    slump: Annotated[Quantity, InRange(Length, "25 mm", "175 mm")] = Field(description="slump at placing")
    coarse: Id = Field(description="coarse aggregate, a row of aggregates.csv")
    fine: Id = Field(description="fine aggregate, a row of aggregates.csv")
    cement: Literal["I", "III"] = Field("I", description="type of the cement; III is high-early-strength")
    water_reduction: Annotated[Quantity, InRange(Share, "0 %", "40 %")] = Field(
        "0 %", validate_default=True, description="share of the water that a water-reducing admixture saves"
    )
    w_cm: Annotated[Quantity | None, InRange.of(stated_ratio, "w_cm_stated")] = Field(
        None, description="ratio by a record or trial batches, in place of the table of strength"
    )
    w_cm_source: str = Field("", description="where that ratio comes from")
    supplementary: Supplementary = Field(default_factory=lambda: Supplementary.model_validate({}))
    admixture: list[Admixture] = Field(default_factory=list, description="liquid admixtures, one entry for each")
    trial: Trial | None = None


class Temperatures(Strict):
    """Temperatures of the materials on the day."""

    aggregate: MaterialTemperature = Field(description="temperature of the aggregates")
    cement: Annotated[Quantity, InRange(Temperature, "-10 °C", "90 °C")] = Field(
        description="temperature of the cement"
    )
    water: Annotated[Quantity, InRange(Temperature, "0 °C", "85 °C")] = Field(description="temperature of the water")
    wanted: Annotated[Quantity, InRange(Temperature, "3 °C", "40 °C")] = Field(description="temperature wanted")
    ice: Annotated[Quantity, InRange(Content, "0 kg/m^3", "400 kg/m^3")] = Field(
        "0 kg/m^3", validate_default=True, description="ice, part of the water added"
    )


class Prepackaged(OfConcrete):
    """A prepackaged mortar or concrete, extended with aggregate where its manufacturer admits it."""

    kind: Literal["prepackaged"] = Field(description="how it is made")
    product: Text = Field(description="what it is")
    strength: Annotated[Quantity, InRange(Stress, "15 MPa", "100 MPa")] = Field(
        description="strength at 28 days that is counted on, by the manufacturer"
    )
    temperature: Annotated[Quantity | None, InRange(Temperature, "1 °C", "45 °C")] = Field(
        None, description="of the fresh concrete as mixed"
    )
    bag: Annotated[Quantity, InRange(Mass, "5 kg", "1500 kg")] = Field(description="mass of a bag")
    water: Annotated[Quantity, InRange(Mass, "0.1 kg", "200 kg")] = Field(description="for a bag, by the manufacturer")
    neat_yield: Litres = Field(description="of a bag without aggregate, by the manufacturer")
    size: Annotated[Quantity | None, InRange(Length, "1 mm", "40 mm")] = Field(
        None, description="nominal maximum size of what is in the bag; wanted where no aggregate is added"
    )
    aggregate: OptionalId = Field(
        "", description="aggregate of the extension, a row of aggregates.csv; left out, none is added"
    )
    extension: Annotated[Quantity, InRange(Share, "0 %", "150 %")] = Field(
        "0 %", validate_default=True, description="aggregate added, share of the dry bag"
    )
    extension_most: Annotated[Quantity, InRange(Share, "0 %", "150 %")] = Field(
        "0 %", validate_default=True, description="maximum that the manufacturer admits"
    )
    extend_from: Annotated[Quantity, InRange(Length, "5 mm", "300 mm")] = Field(
        "5 mm", validate_default=True, description="depth from which the manufacturer admits aggregate"
    )
    source: Text = Field(description="where these figures come from")
    strengths: Annotated[str, BeforeValidator(makers_table)] = Field(
        "",
        description="by the manufacturer, age and strength, such as “3 h 21 MPa; 24 h 35 MPa”; leave out if none are stated",
    )
    strengths_of: Literal["neat", "neat and extended"] = Field(
        "neat", description="mortar that the manufacturer tested"
    )


AnyConcrete = Concrete | GivenConcrete | Prepackaged
#: The model of a concrete by its kind.
MODELS: dict[str, str] = {"site-mixed": "proportioned", "prepackaged": "bags"} | dict.fromkeys(
    ("given contents", "ready-mixed", "volumetric"), "given"
)


def model_of(value: Any) -> str | None:
    """Return which model a concrete is read by; None where its kind is missing or unknown."""
    kind = value.get("kind") if isinstance(value, dict) else getattr(value, "kind", None)
    return MODELS.get(kind) if isinstance(kind, str) else None


ByKind = Annotated[
    Annotated[Concrete, Tag("proportioned")] | Annotated[GivenConcrete, Tag("given")] | Annotated[Prepackaged, Tag("bags")],
    Discriminator(
        model_of, custom_error_type="kind",
        custom_error_message=f"missing or unknown, wanted {', '.join(f'“{kind}”' for kind in MODELS)}",
    ),
]  # fmt: skip


class Factor(Strict):
    """Price and embodied carbon of a material; both are the job's."""

    material: Literal["cement", "fly ash", "slag cement", "silica fume", "coarse", "fine", "water"] = Field(
        description="material of the mix"
    )
    price: Annotated[float, BeforeValidator(plain_number)] = Field(description="for `per`, in the job's currency")
    per: Annotated[Quantity, InRange(Mass, "1 kg", "10000 kg")] = Field(
        "1000 kg", validate_default=True, description="mass that the price is for"
    )
    carbon: Annotated[float, BeforeValidator(plain_number)] = Field(description="mass of CO2e per mass of material")
    source: Text = Field(description="where price and carbon come from")


class Grading(Strict):
    """Sieve analysis of an aggregate."""

    size: str = Field(description="row of the table grading_limits: fine, 57, 67, 7, 8 or 89")
    passing: Annotated[str, BeforeValidator(sieve_analysis)] = Field(
        description="“9.5 mm 92; 4.75 mm 22; ...” in per cent"
    )


class Accuracy(Strict):
    """How accurately moistures and air are known: half-widths within which 95 of 100 errors lie."""

    moisture_coarse: Annotated[Quantity, InRange(Share, "0 %", "5 %")] = Field(
        description="of the moisture of the coarse aggregate, either way"
    )
    moisture_fine: Annotated[Quantity, InRange(Share, "0 %", "5 %")] = Field(
        description="of the moisture of the fine aggregate, either way"
    )
    air: Annotated[Quantity, InRange(Share, "0 %", "5 %")] = Field(description="of the air content, either way")
    source: Text = Field(description="where these come from")


class Mix(Strict):
    """The concretes of the job, and what is the same for all of them."""

    tables: System = Field(
        NOT_GIVEN, description="which tables of the standard: SI (hard metric) or US; left out, by the units of the job"
    )
    strength_table: RatioTable = Field("PCA", description="whose table of w/cm by strength")
    margin_rule: MarginRule = Field("ACI 318-05", description="edition of the margin where there is no record")
    exposure: Literal["not air-entrained", "mild", "moderate", "severe"] = Field(
        NOT_GIVEN, description="exposure, for the air content; wanted where concrete is mixed on site"
    )
    durability: Text = Field(
        NOT_GIVEN,
        description="exposure row that limits w/cm, a key of the table exposure_classes; wanted where concrete is mixed on site",
    )
    bookkeeping: Literal["strict", "as in handbooks"] = Field(
        "strict",
        description="strict: dry masses with dry densities; as in handbooks: dry masses with densities as reported",
    )
    cement_density: Annotated[Quantity, InRange(Ratio, "2.5", "3.4")] = Field(
        "3.15", validate_default=True,
        description="relative density of the cement; left out, that of portland cement by common practice",
    )  # fmt: skip
    water_density: Annotated[Quantity, InRange(Density, "990 kg/m^3", "1001 kg/m^3")] = Field(
        "1000 kg/m^3", validate_default=True, description="density of water"
    )
    bag: Annotated[Quantity, InRange(Mass, "10 kg", "60 kg")] = Field(
        NOT_GIVEN, description="mass of a bag of cement; wanted where concrete is mixed on site"
    )
    load: Annotated[Quantity, InRange(BatchVolume, "10 L", "10000 L")] = Field(
        NOT_GIVEN, description="largest batch of concrete for the mixer; wanted unless all concrete is delivered"
    )
    wanted: Annotated[Quantity | None, InRange(BatchVolume, "1 L", "100000 L")] = Field(
        None, description="volume of each concrete that is wanted, in a job without patches; left out, one batch"
    )
    batch_by: Literal["weighed cement", "whole bags"] = Field(
        "weighed cement", description="whether cement is weighed or taken in whole bags"
    )
    held_back: Annotated[Quantity, InRange(Share, "0 %", "50 %")] = Field(
        "10 %", validate_default=True, description="share of the water held back until the slump is seen"
    )
    gauge_box: Annotated[Quantity, InRange(BatchVolume, "1 L", "500 L")] | None = Field(
        None, description="box or bucket, struck level, for days without a scale"
    )
    record: StrengthRecord | None = None
    concretes: dict[Id, ByKind] = Field(description="the concretes of the job, by name")
    partial_depth: OptionalId = Field("", description="name of the concrete of partial-depth patches")
    full_depth: OptionalId = Field("", description="name of the concrete of full-depth patches")
    patches: dict[Id, Id] = Field(default_factory=dict, description="by patch: name of the concrete it takes instead")
    temperature: Temperatures | None = None
    grading: dict[str, Grading] = Field(
        default_factory=dict, description="sieve analyses, by the name of the aggregate"
    )
    doubt: Accuracy | None = None
    currency: Remark = Field("units of currency", description="currency of the prices in factors")
    factors: list[Factor] = Field(
        default_factory=list, description="price and embodied carbon, one entry for each material"
    )

    @property
    def entrained(self) -> Entrained:
        """Whether the concretes are air-entrained, as the tables of w/cm call it."""
        return "not air-entrained" if self.exposure == "not air-entrained" else "air-entrained"

    @property
    def site_mixed(self) -> dict[str, Concrete]:
        """The concretes that are proportioned here, by name."""
        return {name: one for name, one in self.concretes.items() if isinstance(one, Concrete)}

    @property
    def prepackaged(self) -> dict[str, Prepackaged]:
        """The concretes that come in bags, by name."""
        return {name: one for name, one in self.concretes.items() if isinstance(one, Prepackaged)}

    @property
    def by_depth(self) -> dict[str, str]:
        """Name of the concrete that a depth class takes, where one is named."""
        return {PARTIAL: self.partial_depth, FULL: self.full_depth}


class AggregateRow(Strict):
    """aggregates.csv: one aggregate on site a row."""

    aggregate: Id = Field(description="name of the aggregate")
    use: Literal["coarse", "fine"] = Field(description="coarse or fine")
    relative_density: RelativeDensity = Field(description="relative density, on the basis of the next column")
    density_basis: Literal["oven-dry", "saturated surface-dry"] = Field(
        description="condition for which the relative density holds"
    )
    absorption: Annotated[Quantity, InRange(Share, "0 %", "15 %")] = Field(
        description="water that it takes up, share of its dry mass"
    )
    moisture: Annotated[Quantity, InRange(Share, "-5 %", "20 %")] = Field(
        description="moisture on the day, on the basis of the next column"
    )
    moisture_basis: Literal["total", "surface on oven-dry", "surface on saturated surface-dry"] = Field(
        "total", description="what the moisture counts"
    )
    nominal_size: str = Field(
        "", description="nominal maximum size of a coarse aggregate, with its unit; empty for a fine one"
    )
    shape: Shape | Literal[""] = Field("", description="shape of a coarse aggregate; empty for a fine one")
    dry_rodded_density: str = Field("", description="dry-rodded density of a coarse aggregate; empty for a fine one")
    fineness_modulus: str = Field("", description="fineness modulus of a fine aggregate; empty for a coarse one")
    loose_density: Annotated[Quantity, InRange(Density, "900 kg/m^3", "2000 kg/m^3")] = Field(
        NOT_GIVEN, description="loose density, moist as it is measured by volume"
    )
    bulking: Annotated[Quantity, InRange(Share, "0 %", "45 %")] = Field(
        NOT_GIVEN, description="growth of its volume by moisture"
    )

    @property
    def size(self) -> Quantity:
        """Nominal maximum size, of a coarse aggregate."""
        return units.read(self.nominal_size, Length)
