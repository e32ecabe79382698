"""What the job folder says of the concrete: sections of job.toml, the rows of aggregates.csv, and their checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from deckcalc import mix
from deckcalc.base.concrete import Concretes, SpecifiedConcrete
from deckcalc.base.context import Context
from deckcalc.base.fields import Faults, InRange, Strict
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.core import tables, units
from deckcalc.core.units import Density, InputError, Length, Ratio, Share
from deckcalc.mix.formulas.grading import MODULUS, limits, passing, read_grading
from deckcalc.mix.inputs.given import GivenConcrete
from deckcalc.mix.inputs.sections import Admixture, AggregateRow, AnyConcrete, Concrete, Grading, Mix, Prepackaged
from deckcalc.patch.design import Marked

__all__ = [
    "NEEDS", "ROWS", "SECTIONS", "START", "Admixture", "AggregateRow", "AnyConcrete", "Concrete", "GivenConcrete", "Grading", "Inputs", "Mix", "Prepackaged",
    "check", "section_of",
]  # fmt: skip

SECTIONS: dict[str, type[Strict]] = {"mix": Mix}
ROWS: dict[str, type[Strict]] = {"aggregates": AggregateRow}
NEEDS = Needs("mix", ("mix",), (), "proportions, batches and cards")
START = Start(
    dict.fromkeys([
        *(f"mix.{name}" for name in ("exposure", "durability", "bag", "load", "concretes.w_cm", "concretes.w_cm_source")),
        *(f"aggregates.{name}" for name in ("nominal_size", "shape", "moisture_basis", "dry_rodded_density", "fineness_modulus")),
    ]),
    {"aggregates": "stone-10 river-sand"},
    own=("mix.patches",),
)  # fmt: skip
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
    def specified(self) -> Concretes:
        """What is specified of each concrete, and which patch takes which; none in a job without a mix."""
        if not self.mix:
            return Concretes({}, {}, {})
        return Concretes(
            {name: SpecifiedConcrete(name, one.strength, self.size_of(one), cement_of(one)) for name, one in self.mix.concretes.items()},
            self.mix.by_depth, self.mix.patches,
        )  # fmt: skip

    def size_of(self, one: AnyConcrete) -> units.Quantity:
        """Nominal maximum size of the coarse aggregate of a concrete."""
        if isinstance(one, GivenConcrete):
            return one.size
        if isinstance(one, Prepackaged) and not one.aggregate:
            assert one.size is not None  # asked for when the job was read
            return one.size
        return self.aggregate[one.coarse if isinstance(one, Concrete) else one.aggregate].size


def cement_of(one: AnyConcrete) -> str:
    """Return the type of the cement of a concrete; empty where nobody says."""
    return "" if isinstance(one, Prepackaged) else one.cement


def check(context: Context[Inputs], marked: Marked, faults: Faults) -> None:
    """Check the mixes against their tables and against the aggregates on site."""
    inputs = context.inputs
    want, known = inputs.mix, inputs.aggregate
    check_there(want, faults)
    try:
        if want.durability and mix.exposure_limit(want.durability, want.tables).w_cm is None:
            faults.append(f"job.toml: mix.durability: “{want.durability}” limits no w/cm; choose a row that does")
    except tables.TableError as error:
        faults.append(f"job.toml: mix.durability: {error}")
    check_names(context, marked, faults)
    for name, concrete in want.site_mixed.items():
        for use in ("coarse", "fine"):
            wanted = getattr(concrete, use)
            if wanted not in known or known[wanted].use != use:
                have = ", ".join(row.aggregate for row in known.values() if row.use == use) or "none"
                faults.append(
                    f"job.toml: {section_of(name)}.{use}: “{wanted}” is no {use} aggregate of "
                    f"aggregates.csv, which has {have}"
                )
    for name, product in want.prepackaged.items():
        if not product.aggregate:
            for field, wrong in (("size", product.size is None), ("aggregate", product.extension.magnitude > 0)):
                if wrong:
                    faults.append(
                        f"job.toml: {section_of(name)}.{field}: missing; a bag without it says neither what is added nor its stone"
                    )
        elif product.aggregate not in known or known[product.aggregate].use != "coarse":
            faults.append(
                f"job.toml: {section_of(name)}.aggregate: “{product.aggregate}” is no coarse aggregate of aggregates.csv"
            )
    for row in inputs.aggregates:
        check_aggregate(row, faults)
        for column in ("loose_density", "bulking") if want.gauge_box is not None else ():
            if getattr(row, column) is None:
                faults.append(
                    f"aggregates.csv, aggregate {row.aggregate}, column {column.replace('_', ' ')}: missing; mix.gauge_box wants it"
                )
    check_gradings(inputs, faults)
    ask_unusual(want, faults)


#: By field: which kinds of concrete want it.
WANTED_BY = {
    "exposure": ("site-mixed",), "durability": ("site-mixed",), "bag": ("site-mixed",), "load": ("site-mixed", "prepackaged"),
}  # fmt: skip


def check_there(want: Mix, faults: Faults) -> None:
    """Check that what the concretes of the job want is there."""
    for name, kinds in WANTED_BY.items():
        mine = [key for key, one in want.concretes.items() if one.kind in kinds]
        if mine and getattr(want, name) is None:
            meaning = str(Mix.model_fields[name].description).partition(";")[0]
            faults.append(f"job.toml: mix.{name}: missing, {meaning}; {', '.join(mine)} wants it")


def check_names(context: Context[Inputs], marked: Marked, faults: Faults) -> None:
    """Check that every concrete that is named is one of the job's."""
    want = context.inputs.mix
    have = f"; the concretes of the job are {', '.join(want.concretes) or 'none'}"
    if not want.concretes:
        faults.append("job.toml: mix.concretes: empty; wanted a section for each concrete, such as [mix.concretes.C5]")
    if marked.patches and not (want.partial_depth or want.full_depth):
        faults.append(f"job.toml: mix.partial_depth: missing, and mix.full_depth with it; name what patches take{have}")
    named = {"mix.partial_depth": want.partial_depth, "mix.full_depth": want.full_depth}
    named |= {f"mix.patches.{patch}": name for patch, name in want.patches.items()}
    for field, name in named.items():
        if name and name not in want.concretes:
            faults.append(f"job.toml: {field}: there is no concrete “{name}”{have}")
    patches = [one.patch for one in marked.patches]
    for patch in want.patches if marked.patches else ():
        if patch not in patches:
            faults.append(f"job.toml: mix.patches.{patch}: the survey gives no patch “{patch}”")
    for number, row in enumerate(context.work.rows, 2):
        where = f"placements.csv, row {number}, placement {row.placement}, column concrete"
        if row.concrete and row.concrete not in want.concretes:
            faults.append(f"{where}: there is no concrete “{row.concrete}”{have}")
        if not row.names and not row.concrete and len(want.concretes) > 1:
            faults.append(f"{where}: empty; say of which concrete the trial slab is{have}")


def section_of(name: str) -> str:
    """Return the section of job.toml with a concrete."""
    return f"mix.concretes.{name}"


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
        if getattr(row, name) is None:
            continue
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
    for name, concrete in want.site_mixed.items():
        key = section_of(name)
        field = f"{key}.water_reduction"
        faults.ask_unless(
            field, f"job.toml: {field}", concrete.water_reduction, units.kind_of(Share), "1 %", "40 %"
        )  # fmt: skip
        if concrete.w_cm is not None and not concrete.w_cm_source:
            faults.append(f"job.toml: {key}.w_cm_source: missing; say which record or trial batches give the ratio")
    if want.exposure == "not air-entrained" and any(
        one.entrains_air for concrete in want.site_mixed.values() for one in concrete.admixture
    ):
        faults.ask(
            "mix.exposure", "job.toml: mix.exposure", "found “not air-entrained” beside an air-entraining admixture"
        )
