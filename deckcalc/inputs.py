"""What a job folder holds: the sections of ``job.toml`` and the rows of its tables, each field with its range."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import core_schema

from deckcalc import tables, units
from deckcalc.calculation import Calculation
from deckcalc.units import (
    Content,
    Count,
    Density,
    Diameter,
    Distance,
    InputError,
    Length,
    Mass,
    Quantity,
    Ratio,
    Share,
    Stress,
    System,
    Volume,
)  # fmt: skip


@dataclass(frozen=True)
class Written:
    """A field that holds a quantity as people write it; with `least`, a list of readings separated by semicolons.

    Parameters
    ----------
    kind : type
        What the quantity is.
    low, high : str
        Between what it lies.
    least : int
        Least number of readings; 0 for a single quantity.
    """

    kind: Any
    low: str
    high: str
    least: int = 0

    @classmethod
    def argument(cls, calculation: Calculation, name: str, least: int = 0) -> Written:
        """Return the field that an argument of a calculation asks for: its kind and its range."""
        param = calculation.params[name]
        assert param.range
        return cls(
            param.kind, param.range.low, param.range.high, least or (param.several.least if param.several else 0)
        )

    def one(self, value: object) -> Quantity:
        """Read one quantity."""
        kind = self.kind if isinstance(self.kind, units.Kind) else units.kind_of(self.kind)
        quantity = units.read(value, kind)
        least, most = (units.read(text, kind).m_as(kind.base) for text in (self.low, self.high))
        found = quantity.m_as(kind.base)
        if not least * (1 - 1e-9) <= found <= most * (1 + 1e-9):
            raise InputError(f"found “{value}”, wanted a {kind.name} from {self.low} to {self.high}")
        return quantity

    def read(self, value: object) -> Quantity:
        """Read the field."""
        if not self.least:
            return self.one(value)
        cells = [cell.strip() for cell in str(value).split(";") if cell.strip()]
        if len(cells) < self.least:
            raise InputError(f"found “{value}”, wanted at least {self.least} reading(s) separated by semicolons")
        read = [self.one(cell) for cell in cells]
        return units.registry().Quantity([float(q.m_as(read[0].units)) for q in read], read[0].units)

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Let pydantic read the field with `read`."""
        return core_schema.no_info_plain_validator_function(self.read)


def size_of_bar(value: object) -> str:
    """Check a bar size against the bar tables."""
    try:
        tables.bar(str(value))
    except tables.TableError as error:
        raise InputError(str(error)) from None
    return str(value)


Text = Annotated[str, Field(min_length=1, max_length=300)]
Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_/-]{0,19}$")]
BarSize = Annotated[str, BeforeValidator(size_of_bar)]


class Strict(BaseModel):
    """A section or row in which an unknown name is an error."""

    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True, frozen=True)


class Package(Strict):
    """What the package is called."""

    number: Text = Field(description="number of the calculation package")
    subject: Text = Field(description="what the package is about, one line")
    paper: Literal["a4", "us-letter"] = Field("a4", description="paper of the filed document")
    scenario: str = Field("", description="printed on the title sheet; say here if the job is invented")


class Revision(Strict):
    """One line of the revision record; the last one is the present revision."""

    revision: Id
    date: datetime.date
    by: Text
    note: Text


class People(Strict):
    """Who answers for the package; leave a name empty until it is known."""

    firm: Text
    originator: Text
    checker: str = ""
    engineer: str = Field("", description="engineer of record")
    licence: str = Field("", description="licence number of the engineer of record")


class Bridge(Strict):
    """Which bridge."""

    name: Text
    location: Text
    route: Text
    owner: Text


class Deck(Strict):
    """The deck as built or as measured."""

    slab_thickness: Annotated[Quantity, Written(Length, "100 mm", "600 mm")] = Field(
        description="thickness of the structural slab"
    )
    top_bar_outer: BarSize = Field(description="outer layer of the top mat, for instance #5")
    top_bar_inner: BarSize = Field(description="inner layer of the top mat")
    bar_spacing: Annotated[Quantity, Written(Length, "50 mm", "600 mm")] = Field(
        description="least spacing of the top bars, centre to centre"
    )
    unit_weight: Annotated[Quantity, Written(Density, "1600 kg/m^3", "2700 kg/m^3")] = Field(
        description="unit weight of the old concrete"
    )
    cement_content: Annotated[Quantity, Written(Content, "150 kg/m^3", "600 kg/m^3")] = Field(
        description="cement content of the old concrete"
    )
    cement_content_basis: Text = Field(description="where the cement content comes from")


class Removal(Strict):
    """Allowances for removal and placing; none is published with authority, so each is the engineer's."""

    overbreak: Annotated[Quantity, Written(Share, "0 %", "60 %")] = Field(
        description="concrete broken out beyond the measured volume"
    )
    overbreak_source: Text = Field(description="where the allowance comes from")


class StrengthRecord(Strict):
    """Tests of the same concrete, if there is a record."""

    deviation: Annotated[Quantity, Written(Stress, "0.5 MPa", "15 MPa")] = Field(
        description="sample standard deviation"
    )
    tests: Annotated[Quantity, Written(Count, "15", "1000")] = Field(description="number of tests")


class Mix(Strict):
    """The patch concrete."""

    tables: System = Field(description="which tables of the standard: SI (hard metric) or US")
    strength: Annotated[Quantity, Written(Stress, "15 MPa", "60 MPa")] = Field(
        description="specified strength f'c at 28 days"
    )
    slump: Annotated[Quantity, Written(Length, "25 mm", "175 mm")] = Field(description="slump at placing")
    exposure: Literal["not air-entrained", "mild", "moderate", "severe"] = Field(
        description="exposure, for the air content"
    )
    durability: Text = Field(description="exposure row that limits w/cm, a key of the table exposure_classes")
    cement_density: Annotated[Quantity, Written(Ratio, "2.5", "3.4")] = Field(
        description="relative density of the cement"
    )
    water_density: Annotated[Quantity, Written(Density, "990 kg/m^3", "1005 kg/m^3")] = Field(
        description="density of water"
    )
    bag: Annotated[Quantity, Written(Mass, "10 kg", "60 kg")] = Field(description="mass of a bag of cement")
    load: Annotated[Quantity, Written(Volume, "0.01 m^3", "10 m^3")] = Field(description="volume of one mixer load")
    record: StrengthRecord | None = None


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


class LimitChoice(Strict):
    """A limit that replaces a built-in one."""

    value: Any
    source: Text


class Head(Strict):
    """The file job.toml."""

    units: System
    package: Package
    revisions: Annotated[list[Revision], Field(min_length=1)]
    people: People
    bridge: Bridge
    deck: Deck
    removal: Removal
    mix: Mix
    chloride: Chloride
    limits: dict[str, LimitChoice] = {}


class PatchRow(Strict):
    """patches.csv: one unsound area a row."""

    patch: Id
    station: Annotated[Quantity, Written(Distance, "0 m", "100 km")]
    offset: Annotated[Quantity, Written(Distance, "0 m", "100 m")]
    length: Annotated[Quantity, Written(Distance, "20 mm", "100 m")]
    width: Annotated[Quantity, Written(Distance, "20 mm", "50 m")]
    least_cover: Annotated[Quantity, Written(Length, "1 mm", "200 mm")]
    depths: Annotated[Quantity, Written(Length, "5 mm", "600 mm", least=1)]


class BarRow(Strict):
    """bars.csv: one exposed bar a row, neighbours in the order in which they lie."""

    bar: Id
    patch: Id
    size: BarSize
    readings: Annotated[Quantity, Written(Diameter, "1 mm", "85 mm", least=2)]


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


class AggregateRow(Strict):
    """aggregates.csv: the coarse and the fine aggregate on site."""

    aggregate: Id
    use: Literal["coarse", "fine"]
    nominal_size: str
    relative_density: Annotated[Quantity, Written(Ratio, "2.0", "3.5")]
    absorption: Annotated[Quantity, Written(Share, "0 %", "15 %")]
    moisture: Annotated[Quantity, Written(Share, "0 %", "20 %")]
    dry_rodded_density: str
    fineness_modulus: str


ROWS: dict[str, type[Strict]] = {
    "patches": PatchRow, "bars": BarRow, "cores": CoreRow, "chlorides": SliceRow, "aggregates": AggregateRow,
}  # fmt: skip
