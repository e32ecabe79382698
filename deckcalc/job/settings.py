"""What job.toml and the tables of a job hold, subject by subject, as each room declares it."""

from __future__ import annotations

from typing import Any

from pydantic import Field, model_validator

from deckcalc.base.comments import CommentRow
from deckcalc.base.fields import (
    Bridge,
    Decision,
    Deck,
    LimitChoice,
    Package,
    People,
    Revision,
    Strict,
)
from deckcalc.base.work import PlacementRow
from deckcalc.chloride import inputs as chloride
from deckcalc.chloride.inputs import Chloride
from deckcalc.closure import inputs as closure_inputs
from deckcalc.core.units import System
from deckcalc.curing import inputs as curing
from deckcalc.curing.inputs import Curing
from deckcalc.formwork import inputs as formwork
from deckcalc.formwork.inputs import Formwork
from deckcalc.job import record_rows
from deckcalc.job.record_rows import Payment
from deckcalc.mix import inputs as mix
from deckcalc.mix.inputs import Mix
from deckcalc.patch import inputs as patch
from deckcalc.safety import inputs as safety
from deckcalc.safety.inputs import Safety
from deckcalc.steel import inputs as steel
from deckcalc.traffic import inputs as traffic
from deckcalc.traffic.inputs import Traffic

INPUTS = (patch, steel, chloride, mix, formwork, curing, traffic, closure_inputs, safety)
#: The inputs of every subject by its key, in the order of the work.
SUBJECTS = dict(
    zip(
        ("patch", "steel", "chloride", "mix", "formwork", "curing", "traffic", "closure", "safety"), INPUTS, strict=True
    )
)
#: What people call each subject.
WORDS = {key: module.NEEDS.about for key, module in SUBJECTS.items()}
#: All tables by name; none is in every job.
ROWS: dict[str, type[Strict]] = {
    "placements": PlacementRow, "comments": CommentRow, **{name: model for module in INPUTS for name, model in module.ROWS.items()},
    **record_rows.ROWS,
}  # fmt: skip


#: Sections whose tables are in print in two unit systems.
PRINTED_TWICE = ("mix", "formwork", "traffic")


class JobSettings(Strict):
    """The file job.toml."""

    units: System = Field(description="unit system in which the package is printed")
    confirmed: list[str] = Field(
        default_factory=list, description="fields that were asked about and are so, such as aggregates.sand.moisture"
    )
    decisions: list[Decision] = Field(default_factory=list, description="what was decided on open items")
    package: Package
    revisions: list[Revision] = Field(default_factory=list)
    people: People
    bridge: Bridge
    deck: Deck = Field(default_factory=lambda: Deck.model_validate({}))
    plan: patch.Plan | None = None
    survey: patch.Survey = Field(default_factory=lambda: patch.Survey.model_validate({}))
    marking: patch.Marking = Field(default_factory=lambda: patch.Marking.model_validate({}))
    removal: patch.Removal | None = None
    haulage: patch.Haulage | None = None
    sensitivity: patch.Sensitivity | None = None
    mix: Mix | None = None
    chloride: Chloride | None = None
    reinforcement: steel.Reinforcement | None = None
    deck_strip: steel.DeckStrip | None = None
    formwork: Formwork | None = None
    curing: Curing | None = None
    traffic: Traffic | None = None
    closure: closure_inputs.Closure | None = None
    safety: Safety | None = None
    payment: Payment | None = None
    limits: dict[str, LimitChoice] = Field(
        default_factory=dict,
        description="limits in place of built-in ones; “deckcalc list limits” names all of them with their sources",
    )

    @model_validator(mode="before")
    @classmethod
    def tables_of_the_system(cls, data: Any) -> Any:
        """Take tables in print in two unit systems in that of the job, where a section names none."""
        if isinstance(data, dict) and isinstance(data.get("units"), str):
            named = {name: one for name in PRINTED_TWICE if isinstance(one := data.get(name), dict)}
            data = {**data, **{name: {"tables": data["units"], **one} for name, one in named.items()}}
        return data

    @model_validator(mode="after")
    def issued(self) -> JobSettings:
        """Ask for a date: of the first issue, or of every revision."""
        if not self.revisions and self.package.date is None:
            raise ValueError("package.date: missing, wanted the date of the first issue; or a list of revisions")
        return self

    @property
    def revision(self) -> Revision:
        """The present revision; the first issue, where the job lists none."""
        if self.revisions:
            return self.revisions[-1]
        assert self.package.date  # asked for where there is no list
        return Revision(revision="0", date=self.package.date, by=self.people.originator, note="first issue")

    @property
    def paper(self) -> str:
        """Paper of the package: what the job says, or what is usual where its units are."""
        return self.package.paper or ("us-letter" if self.units == "US" else "a4")
