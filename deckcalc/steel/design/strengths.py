"""What the old deck is made of: strengths that were measured or given, and defaults by its year."""

from __future__ import annotations

from dataclasses import dataclass

from deckcalc.core import tables
from deckcalc.core.sources import Cite
from deckcalc.core.units import Quantity, quantity
from deckcalc.steel.design.results import Steel
from deckcalc.steel.inputs import DeckStrip


def old_yield(steel: Steel) -> Quantity:
    """Return the yield strength of the existing bars: given, or by year and grade; that of the added bars without a strip."""
    strip, how = steel.inputs.deck_strip, steel.inputs.reinforcement
    if strip is None:
        assert how
        return how.added_yield
    return strip.steel_yield if strip.steel_yield is not None else default_strengths(strip, steel.deck.year_built).f_y


@dataclass(frozen=True)
class Defaults:
    """Yield and concrete strength of an old deck by its year and the grade of its steel, each with its source in words."""

    f_y: Quantity
    steel: str
    f_c: Quantity
    concrete: str


def default_strengths(strip: DeckStrip, year: int | None) -> Defaults:
    """Return what an old deck is taken to be made of where nothing was tested."""
    row: str = strip.steel_grade
    year = 0 if year is None else year  # asked for where a default is taken, when the job was read
    if row == "unknown":
        row = "unknown before 1954" if year < 1954 else "unknown from 1954"
    concrete = "unknown before 1959" if year < 1959 else "unknown from 1959"
    return Defaults(
        *in_table("old_steel", "steel", row, "f_y [psi]"), *in_table("old_concrete", "concrete", concrete, "f_c [psi]")
    )


def in_table(table: str, column: str, key: str, name: str) -> tuple[Quantity, str]:
    """Return a strength of a table of old materials, and its source in words."""
    row = tables.load(table).row(column, key)
    cite = Cite(row["source"], row["where"], row["provenance"])  # type: ignore[arg-type]
    return quantity(float(row[name]), "psi"), f"“{key}”, {cite}"
