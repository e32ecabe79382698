"""What the job folder says of the concrete: sections of job.toml, the rows of aggregates.csv, and their checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from deckcalc import mix
from deckcalc.base.concrete import SpecifiedConcrete
from deckcalc.base.context import Context
from deckcalc.base.fields import FULL, PARTIAL, Faults, InRange, Strict
from deckcalc.core import tables, units
from deckcalc.core.units import Density, InputError, Length, Ratio, Share
from deckcalc.mix.formulas.grading import MODULUS, limits, passing, read_grading
from deckcalc.mix.inputs.given import GivenConcrete
from deckcalc.mix.inputs.sections import Admixture, AggregateRow, Concrete, Grading, Mix
from deckcalc.patch.design import Marked

__all__ = [
    "ROWS", "SECTIONS", "Admixture", "AggregateRow", "Concrete", "GivenConcrete", "Grading", "Inputs", "Mix", "check", "section_of",
]  # fmt: skip

SECTIONS: dict[str, type[Strict]] = {"mix": Mix}
ROWS: dict[str, type[Strict]] = {"aggregates": AggregateRow}
#: Outside these, nil apart, a share is asked about: per cent may have been typed as a fraction. Common practice.
USUAL = {"moisture": ("0.1 %", "15 %"), "absorption": ("0.1 %", "10 %"), "bulking": ("1 %", "45 %")}


@dataclass(frozen=True)
class Inputs:
    """What mixes and batches are worked out from."""

    mix: Mix
    aggregates: list[AggregateRow]

    @property
    def aggregate(self) -> dict[str, AggregateRow]:
        """The aggregates on site, by name."""
        return {row.aggregate: row for row in self.aggregates}

    @property
    def specified(self) -> dict[str, SpecifiedConcrete]:
        """What is specified of the concrete of each depth class; a job with one mix has it for both."""
        concretes = self.mix.concretes
        chosen = {
            depth_class: concretes.get(depth_class, next(iter(concretes.values()))) for depth_class in (PARTIAL, FULL)
        }
        return {
            depth_class: SpecifiedConcrete(one.strength, self.aggregate[one.coarse].size)
            for depth_class, one in chosen.items()
        }

    @property
    def stone(self) -> units.Quantity:
        """Nominal maximum size of the aggregate in the concrete of partial-depth patches, in which bars are freed."""
        return self.specified[PARTIAL].nominal_size


def check(context: Context[Inputs], marked: Marked, faults: Faults) -> None:
    """Check the mixes against their tables and against the aggregates on site."""
    inputs = context.inputs
    want, known = inputs.mix, inputs.aggregate
    try:
        if mix.exposure_limit(want.durability, want.tables).w_cm is None:
            faults.append(f"job.toml: mix.durability: “{want.durability}” limits no w/cm; choose a row that does")
    except tables.TableError as error:
        faults.append(f"job.toml: mix.durability: {error}")
    if not want.concretes:
        faults.append("job.toml: mix: wanted a section mix.partial_depth or mix.full_depth, or both")
    for depth_class, concrete in want.concretes.items():
        for use in ("coarse", "fine"):
            wanted = getattr(concrete, use)
            if wanted not in known or known[wanted].use != use:
                have = ", ".join(row.aggregate for row in known.values() if row.use == use) or "none"
                faults.append(
                    f"job.toml: {section_of(depth_class)}.{use}: “{wanted}” is no {use} aggregate of "
                    f"aggregates.csv, which has {have}"
                )
    if want.mortar and want.mortar.aggregate not in known:
        faults.append(f"job.toml: mix.mortar.aggregate: aggregates.csv has no “{want.mortar.aggregate}”")
    if want.trial and want.trial.of not in want.concretes:
        faults.append(f"job.toml: mix.trial.of: there is no mix for {want.trial.of}")
    for row in inputs.aggregates:
        check_aggregate(row, faults)
    check_gradings(inputs, faults)
    ask_unusual(want, faults)


def section_of(depth_class: str) -> str:
    """Return the section of job.toml with the concrete of a depth class."""
    return f"mix.{depth_class.replace(' ', '_')}"


def check_aggregate(row: AggregateRow, faults: Faults) -> None:
    """Check the columns that only coarse or only fine aggregate needs, and ask about unusual shares."""
    where = f"aggregates.csv, aggregate {row.aggregate}"
    wanted = {"coarse": ("nominal_size", "dry_rodded_density"), "fine": ("fineness_modulus",)}
    kinds: dict[str, tuple[Any, str, str]] = {
        "nominal_size": (Length, "4 mm", "80 mm"), "dry_rodded_density": (Density, "1000 kg/m^3", "2200 kg/m^3"),
        "fineness_modulus": (Ratio, "1.5", "4"),
    }  # fmt: skip
    for name in wanted[row.use]:
        try:
            InRange(*kinds[name]).one(getattr(row, name))
        except InputError as error:
            faults.append(f"{where}, column {name.replace('_', ' ')}: {error}")
    if row.use == "coarse" and not row.shape:
        faults.append(f"{where}, column shape: empty, wanted angular, sub-angular, rounded gravel, ...")
    if row.moisture_basis == "total" and row.moisture.magnitude < 0:
        faults.append(f"{where}, column moisture: total moisture is not negative; say “surface on oven-dry” if it is")
    for name, (low, high) in USUAL.items():
        faults.ask_unless(
            f"aggregates.{row.aggregate}.{name}",
            f"{where}, column {name}",
            getattr(row, name),
            units.kind_of(Share),
            low,
            high,
        )


def check_gradings(inputs: Inputs, faults: Faults) -> None:
    """Check the sieve analyses against the aggregates and the table of grading limits."""
    for name, one in inputs.mix.grading.items():
        where = f"job.toml: mix.grading.{name}"
        if name not in inputs.aggregate:
            faults.append(f"{where}: aggregates.csv has no such aggregate")
            continue
        try:
            limits(one.size)
        except tables.TableError as error:
            faults.append(f"{where}.size: {error}")
        row = inputs.aggregate[name]
        if row.use == "fine" and row.fineness_modulus:
            grading = read_grading(one.passing)
            found = sum(1 - passing(grading, sieve) for sieve in MODULUS)
            try:
                stated = float(row.fineness_modulus)
            except ValueError:
                continue  # named above
            if abs(found - stated) > 0.2 + 1e-9:
                faults.append(
                    f"{where}: the grading has a fineness modulus of {found:.2f}, aggregates.csv states {stated:.2f}; "
                    "they differ by more than 0.20: one of them is of another sand"
                )


def ask_unusual(want: Mix, faults: Faults) -> None:
    """Ask about shares that look like fractions typed as per cent, and about an air-entraining admixture without use."""
    for depth_class, concrete in want.concretes.items():
        key = section_of(depth_class)
        field = f"{key}.water_reduction"
        faults.ask_unless(
            field, f"job.toml: {field}", concrete.water_reduction, units.kind_of(Share), "1 %", "40 %"
        )  # fmt: skip
        if concrete.w_cm is not None and not concrete.w_cm_source:
            faults.append(f"job.toml: {key}.w_cm_source: missing; say which record or trial batches give the ratio")
    if want.exposure == "not air-entrained" and any(one.entrains_air for one in want.admixture):
        faults.ask(
            "mix.exposure", "job.toml: mix.exposure", "found “not air-entrained” beside an air-entraining admixture"
        )
