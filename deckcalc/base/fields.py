"""What every job folder holds, and how its fields are read: quantities as people write them, each with its range."""

from __future__ import annotations

import datetime
import unicodedata
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, field_validator, model_validator
from pydantic_core import core_schema

from deckcalc.base.choices import choices, chosen, letters
from deckcalc.base.telephone import OptionalTelephone
from deckcalc.core import tables, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.clock import Clock, zone
from deckcalc.core.dates import read_date
from deckcalc.core.ranges import Range
from deckcalc.core.text import printable_faults, visible
from deckcalc.core.units import Content, Density, InputError, Length, Quantity  # fmt: skip
from deckcalc.core.words import how_many, us_names


@cache
def bounds(kind: units.Kind, low: str, high: str) -> tuple[float, float]:
    """Return what a quantity lies between, in coherent SI."""
    return float(units.read(low, kind).m_as(kind.base)), float(units.read(high, kind).m_as(kind.base))


@dataclass(frozen=True)
class InRange:
    """A field that holds a quantity as people write it; with `least`, a list of readings separated by semicolons.

    Parameters
    ----------
    kind : type
        What the quantity is.
    low, high : str
        Between what it lies.
    least : int
        Minimum number of readings; 0 for a single quantity.
    """

    kind: Any
    low: str
    high: str
    least: int = 0

    @classmethod
    def of(cls, calculation: Calculation, name: str, least: int = 0) -> InRange:
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
        least, most = bounds(kind, self.low, self.high)
        factor, zero = kind.scale(quantity.units)
        found = quantity.magnitude * factor + zero
        if not least - 1e-9 * abs(least) <= found <= most + 1e-9 * abs(most):
            raise InputError(f"found “{value}”, wanted {kind.a_name} {Range(self.low, self.high).spoken(kind)}")
        if kind.whole and abs(found - round(found)) > 1e-9 * max(abs(found), 1.0):
            raise InputError(f"found “{value}”, wanted a whole number from {self.low} to {self.high}")
        return quantity

    def read(self, value: object) -> Quantity:
        """Read the field."""
        if not self.least:
            return self.one(value)
        cells = [cell.strip() for cell in str(value).split(";") if cell.strip()]
        if len(cells) < self.least:
            raise InputError(
                f"found “{value}”, wanted at least {how_many(self.least, 'reading')} separated by semicolons"
            )
        read = [self.one(cell) for cell in cells]
        return units.registry().Quantity([float(q.m_as(read[0].units)) for q in read], read[0].units)

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Let pydantic read the field with `read`."""
        return core_schema.no_info_plain_validator_function(self.read)


def size_of_bar(value: object) -> str:
    """Return a bar size as the bar tables spell it."""
    try:
        return tables.bar(str(value))["size"]
    except tables.TableError as error:
        raise InputError(str(error)) from None


def named_zone(value: object) -> str:
    """Check the name of a time zone; it may be empty."""
    text = written_text(value)
    return zone(text).key if text else ""


def read_day(value: object) -> datetime.date | None:
    """Read a date; nothing stays nothing."""
    return None if value is None else read_date(value)


#: Free text, on one line; `Strict` has looked at its characters. A field that may be empty is a `Remark`.
Text = Annotated[str, Field(min_length=1, max_length=300)]
Remark = Annotated[str, Field(max_length=300)]
#: Text that stands in the head or the foot of every page.
PageHead = Annotated[str, Field(min_length=1, max_length=100)]
#: A name that stands in tables, headings, drawings and lists of names as it is: letters and digits, joined by single signs.
Id = Annotated[str, Field(max_length=20, pattern=r"^[A-Za-z0-9]+([_/-][A-Za-z0-9]+)*$")]
#: The same, or nothing.
OptionalId = Annotated[str, Field(max_length=20, pattern=r"^([A-Za-z0-9]+([_/-][A-Za-z0-9]+)*)?$")]
BarSize = Annotated[str, BeforeValidator(size_of_bar)]
Day = Annotated[datetime.date, BeforeValidator(read_date)]
OptionalDay = Annotated[datetime.date | None, BeforeValidator(read_day)]


def written_text(value: object) -> str:
    """Return a text that a field holds; a number is refused."""
    if not isinstance(value, str):
        raise InputError(f"found “{value}”, wanted text in quotation marks")
    return value.strip()


#: Kinds of deck that the sheets reach, and those that they do not.
GIRDERS, SLAB_SPAN = "slab on girders", "slab span"
NOT_HERE = ("prestressed", "post-tensioned", "box girder")


def kind_of_deck(value: object) -> str:
    """Check the kind of deck; one in which cutting touches stressed steel or a box is refused."""
    text = written_text(value)
    text = chosen(text, {letters(one): one for one in (*NOT_HERE, GIRDERS, SLAB_SPAN)})
    if text in NOT_HERE:
        raise InputError(
            f"found “{text}”: cutting there touches stressed steel or the walls of a box and needs its own design by the "
            "engineer of record; nothing is computed for such a deck"
        )
    if text not in (GIRDERS, SLAB_SPAN):
        raise InputError(f"found “{text}”, wanted “{GIRDERS}” or “{SLAB_SPAN}”")
    return text


#: A field of the deck that only some subjects want: `Needs` of a room names those without which it is not worked out.
NOT_GIVEN: Any = None
#: Depth classes of a patch: one that goes through in a part of its area is full depth.
PARTIAL, FULL = "partial depth", "full depth"
#: Usual spacing of deck bars and thickness of a deck slab by unit system: common practice.
USUAL_SPACING = {"SI": ("75 mm", "460 mm"), "US": ("3 in", "18 in")}
USUAL_SLAB = {"SI": ("140 mm", "350 mm"), "US": ("5.5 in", "14 in")}
#: Faults that are named in one reading.
MOST_FAULTS = 500


class JobError(InputError):
    """Everything that is wrong with a job folder, one fault a line."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = [visible(fault) for fault in faults]
        super().__init__("\n".join(self.faults))


def typed(value: Any) -> Any:
    """Return what was typed, accents joined to their letters; a text with a character that cannot be printed is refused."""
    if isinstance(value, str):
        value = unicodedata.normalize("NFC", value).strip()
        if fault := printable_faults(value):
            raise InputError(fault)
    return [typed(one) for one in value] if isinstance(value, list) else value


class Faults(list[str]):
    """The faults of a job folder, and what was asked about: a probable slip is a fault unless the job confirms it.

    Attributes
    ----------
    confirmed : sequence of str
        Fields that the job confirms, as in ``confirmed = ["aggregates.river-sand.moisture"]``.
    asked : dict of str
        By field: what seemed wrong.
    """

    def __init__(self, confirmed: Sequence[str] = ()) -> None:
        super().__init__()
        self.confirmed, self.asked = confirmed, dict[str, str]()

    def append(self, fault: str) -> None:
        """Add a fault; beyond so many the reading stops, since something is wrong with the whole.

        Raises
        ------
        JobError
            With all faults so far, if there are too many.
        """
        super().append(units.clipped(fault, 2000))
        if len(self) >= MOST_FAULTS:
            raise JobError([*self, "there are more faults than these; they are named when these are gone"])

    def ask(self, field: str, where: str, doubt: str) -> None:
        """Ask about a field: what is unusual of it, and what is usual."""
        self.asked[field] = doubt
        if field not in self.confirmed:
            self.append(
                f"{where}: {doubt}; correct it, or if it is so, add “{field}” to the list confirmed of job.toml"
            )

    def ask_unless(self, field: str, where: str, value: Quantity, kind: units.Kind, low: str, high: str) -> None:
        """Ask about a quantity that lies outside its usual range; nil and nothing are no doubt."""
        found = abs(float(value.m_as(kind.base)))
        least, most = bounds(kind, low, high)
        if found and not least * (1 - 1e-9) <= found <= most * (1 + 1e-9):
            self.ask(field, where, f"found {value:.4g~P}, usual is {low} to {high}")

    def require_doubts(self) -> None:
        """Name what the job confirms though nothing is asked about it."""
        for field in self.confirmed:
            if field not in self.asked:
                self.append(f"job.toml: confirmed: nothing is asked about “{field}”; take it out")


class NotComputed(JobError):  # noqa: N818  it says what was not done, as the sheet does
    """A subject that could not be computed; what needs it cannot be computed either.

    Parameters
    ----------
    key : str
        The subject.
    faults : sequence of str
        Why.
    root : NotComputed, optional
        The subject that it needs and that could not be computed, where the fault lies there.

    Attributes
    ----------
    why : list of str
        What is at fault in this subject itself.
    """

    def __init__(self, key: str, faults: Sequence[str], root: NotComputed | None = None) -> None:
        self.key, self.root = key, root or self
        self.why = [f"needs {root.key}, which could not be computed"] if root else list(faults)
        said = [(key, line) for line in self.why] + ([(root.key, line) for line in root.why] if root else [])
        super().__init__([f"not computed: {name}: {line}" for name, line in said])

    @property
    def markdown(self) -> str:
        """The words of caution that stand in the place of the sheet."""
        return f'<div class="caution">\n\n**Caution.** {"; ".join(self.faults)}.\n\n</div>\n'


class Strict(BaseModel):
    """A section or row in which an unknown name is an error, and every text can be printed."""

    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True, frozen=True)

    @model_validator(mode="before")
    @classmethod
    def names_can_be_printed(cls, data: Any) -> Any:
        """Look at the names of entries, which may be printed as well; those of fields may be spelled as in the US."""
        if not isinstance(data, dict):
            return data
        for name in data:
            typed(name)
        spelled = {us: own for us, own in us_names(tuple(cls.model_fields)).items() if own not in data}
        return {spelled.get(name, name): value for name, value in data.items()}

    @field_validator("*", mode="before")
    @classmethod
    def texts_can_be_printed(cls, value: Any, info: ValidationInfo) -> Any:
        """Look at every text of every field; a choice may be written with other case, hyphens or blanks."""
        if isinstance(value, dict):
            for name in value:
                typed(name)
            return value
        value = typed(value)
        annotation: Any = cls.model_fields[info.field_name].annotation if info.field_name else None
        known = choices(annotation)
        return chosen(value, known) if known else value


class Package(Strict):
    """What the package is called."""

    number: PageHead = Field(description="number of the calculation package")
    subject: Text = Field("Concrete deck patches", description="what the package is about, one line")
    date: OptionalDay = Field(None, description="date of the first issue, in a job without a list of revisions")
    paper: Literal["a4", "us-letter"] | None = Field(
        None, description="paper of the package; left out: A4, and US letter where the job is in US units"
    )
    font: Literal["Libertinus Serif", "New Computer Modern"] = Field("Libertinus Serif", description="fount of the PDF")
    decimal: Literal["point", "comma"] = Field("point", description="decimal sign of the numbers in the filed document")
    letterhead: Annotated[str, Field(max_length=300)] = Field(
        "",
        description="address of the firm at the head of the cover, its lines apart by semicolons",
        examples=["1 Example Street; Example Town"],
    )
    scenario: Annotated[str, Field(max_length=1000)] = Field(
        "", description="printed on the title sheet; say here if the job is invented"
    )


class Revision(Strict):
    """One line of the revision record; the last one is the present revision."""

    revision: Id = Field(description="letter or number of the revision")
    date: Day = Field(description="date of the revision; every date in the package comes from here")
    by: Text = Field(description="who made it")
    note: Text = Field(description="what changed")
    checked: Remark = Field(
        default="", description="who checked it; left out until somebody has", examples=["B. Checker"]
    )
    approved: Remark = Field(
        default="", description="who approved it; left out until somebody has", examples=["C. Engineer"]
    )


class Decision(Strict):
    """What was decided on an open item of the package."""

    item: Text = Field(description="the open item, word for word as the package and “deckcalc check” print it")
    decision: Text = Field(description="what was decided, and on what grounds")
    by: Text = Field(description="who decided")
    date: Day = Field(description="date of the decision")


#: What stands on every page until checker and engineer of record are named and every open item is decided.
DRAFT = "DRAFT - not signed"


class People(Strict):
    """Who answers for the package; leave a name empty until it is known."""

    firm: Annotated[str, Field(max_length=100)] = Field("", description="who makes the package")
    originator: Text = Field(description="who worked it out")
    checker: Remark = Field("", description="who checks every number")
    engineer: Remark = Field("", description="engineer of record")
    licence: Remark = Field("", description="licence number of the engineer of record")
    engineer_telephone: OptionalTelephone = Field(
        "", description="number at which the engineer in charge is called at night", examples=["(555) 555-0142"]
    )

    @property
    def signed(self) -> bool:
        """Whether checker and engineer of record are named."""
        return bool(self.checker and self.engineer)


class Bridge(Strict):
    """Which bridge."""

    name: PageHead = Field(description="name or number of the bridge")
    location: Remark = Field("", description="where it stands")
    route: Remark = Field("", description="what it carries")
    owner: Remark = Field("", description="whose it is")
    owner_telephone: OptionalTelephone = Field(
        "", description="number of the owner's desk, day and night", examples=["(555) 555-0114"]
    )
    time_zone: Annotated[str, BeforeValidator(named_zone)] = Field(
        "",
        description="clock of all times: area and city of the time zone database; left out, no change of the clocks is known",
    )
    clock: Clock = Field("24 h", description="clock by which hours are printed")

    @property
    def zone(self) -> zoneinfo.ZoneInfo | None:
        """Time zone of the job; None where it names none."""
        return zone(self.time_zone) if self.time_zone else None


class Deck(Strict):
    """The deck as built or as measured."""

    kind: Annotated[str, BeforeValidator(kind_of_deck)] = Field(
        GIRDERS, description="“slab on girders” or “slab span”; prestressed, post-tensioned and box decks are refused"
    )
    year_built: Annotated[int | None, Field(ge=1890, le=2100)] = Field(
        None, description="year in which the deck was cast"
    )
    slab_thickness: Annotated[Quantity, InRange(Length, "100 mm", "600 mm")] = Field(
        NOT_GIVEN, description="thickness of the structural slab; wanted by patches, forms and curing"
    )
    top_bar_outer: BarSize = Field(
        NOT_GIVEN, description="outer layer of the top mat, for instance #5; wanted by patches"
    )
    top_bar_inner: BarSize = Field(NOT_GIVEN, description="inner layer of the top mat; left out, as the outer one")
    bar_spacing: Annotated[Quantity, InRange(Length, "50 mm", "600 mm")] = Field(
        NOT_GIVEN, description="minimum spacing of the top bars, centre to centre; wanted by patches"
    )
    top_cover: Annotated[Quantity | None, InRange(Length, "5 mm", "150 mm")] = Field(
        None,
        description="cover of the top mat by the drawings, for patches at which none was read",
        examples=["50 mm", "2 in"],
    )
    unit_weight: Annotated[Quantity, InRange(Density, "1600 kg/m^3", "2700 kg/m^3")] = Field(
        "2400 kg/m^3", validate_default=True,
        description="unit weight of the existing concrete with its bars; left out, that of normal-weight concrete by common practice",
    )  # fmt: skip
    cement_content: Annotated[Quantity, InRange(Content, "150 kg/m^3", "600 kg/m^3")] = Field(
        NOT_GIVEN,
        description="cement content of the existing concrete; wanted where a chloride content is stated by cement",
    )
    cement_content_basis: Remark = Field("", description="where the cement content comes from")
    bottom_bar_outer: BarSize | None = Field(None, description="lower layer of the bottom mat")
    bottom_bar_inner: BarSize | None = Field(None, description="upper layer of the bottom mat")
    bottom_cover: Annotated[Quantity | None, InRange(Length, "5 mm", "150 mm")] = Field(
        None, description="cover of the bottom mat, from below"
    )
    overlay: Annotated[Quantity | None, InRange(Length, "5 mm", "200 mm")] = Field(
        None, description="thickness of the overlay on the slab, if there is one; depths are then read from its top"
    )
    panel: Annotated[Quantity | None, InRange(Length, "40 mm", "200 mm")] = Field(
        None, description="thickness of precast panels under the slab, included in the slab thickness"
    )

    @model_validator(mode="before")
    @classmethod
    def one_size_of_bar(cls, data: Any) -> Any:
        """Take the inner layer to be as the outer one, where it is left out."""
        if isinstance(data, dict) and "top_bar_outer" in data:
            data = {"top_bar_inner": data["top_bar_outer"], **data}
        return data


class LimitChoice(Strict):
    """A limit that replaces a built-in one."""

    value: Any = Field(description="value in place of the built-in one")
    source: Text = Field(description="who set it, or where it comes from")
