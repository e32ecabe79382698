"""Mix and batch: from the materials on site to what goes into the mixer, for each depth class of patch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from deckcalc import mix
from deckcalc.base.fields import Faults, JobError, Written
from deckcalc.base.subject import Material, Subject, joined
from deckcalc.core import tables, units
from deckcalc.core.check import Limit
from deckcalc.core.units import Density, InputError, Length, Ratio, Share
from deckcalc.mix.design import assurance as mix_after
from deckcalc.mix.design import batch as mix_batch
from deckcalc.mix.design import proportions as mix_design
from deckcalc.mix.design.assurance import Spread, TradeOff
from deckcalc.mix.design.batch import LoadPlan
from deckcalc.mix.design.proportions import MixFact
from deckcalc.mix.formulas.grading import MODULUS, limits, passing, read_grading
from deckcalc.mix.inputs import AggregateRow, Mix

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.job.file import Head

__all__ = ["ROWS", "SECTIONS", "Mix", "MixFact", "Mixes", "carry", "check"]

SECTIONS = {"mix": Mix}
#: Outside these, nil apart, a share is asked about: per cent may have been typed as a fraction. Common practice.
USUAL = {"moisture": ("0.1 %", "15 %"), "absorption": ("0.1 %", "10 %"), "bulking": ("1 %", "45 %")}
ROWS = {"aggregates": AggregateRow}


def check(head: Head, rows: Mapping[str, list[Any]], limits_: Mapping[str, Limit], faults: Faults) -> None:
    """Hold the mixes against their tables and the aggregates on site."""
    want = head.mix
    try:
        if mix.exposure_limit(want.durability, want.tables).w_cm is None:
            faults.append(f"job.toml: mix.durability: “{want.durability}” limits no w/cm; choose a row that does")
    except tables.TableError as error:
        faults.append(f"job.toml: mix.durability: {error}")
    if not want.concretes:
        faults.append("job.toml: mix: wanted a section mix.partial_depth or mix.full_depth, or both")
    known = {row.aggregate: row for row in rows["aggregates"]}
    for name, concrete in want.concretes.items():
        for use in ("coarse", "fine"):
            wanted = getattr(concrete, use)
            if wanted not in known or known[wanted].use != use:
                have = ", ".join(row.aggregate for row in known.values() if row.use == use) or "none"
                faults.append(
                    f"job.toml: mix.{name.replace(' ', '_')}.{use}: “{wanted}” is no {use} aggregate of "
                    f"aggregates.csv, which has {have}"
                )
    if want.mortar and want.mortar.aggregate not in known:
        faults.append(f"job.toml: mix.mortar.aggregate: aggregates.csv has no “{want.mortar.aggregate}”")
    if want.trial and want.trial.of not in want.concretes:
        faults.append(f"job.toml: mix.trial.of: there is no mix for {want.trial.of}")
    for row in rows["aggregates"]:
        columns(row, faults)
    gradings(head, known, faults)
    unusual(want, faults)


def columns(row: AggregateRow, faults: Faults) -> None:
    """Hold the columns that only coarse or only fine aggregate needs."""
    where = f"aggregates.csv, aggregate {row.aggregate}"
    wanted = {"coarse": ("nominal_size", "dry_rodded_density"), "fine": ("fineness_modulus",)}
    kinds: dict[str, tuple[Any, str, str]] = {
        "nominal_size": (Length, "4 mm", "80 mm"), "dry_rodded_density": (Density, "1000 kg/m^3", "2200 kg/m^3"),
        "fineness_modulus": (Ratio, "1.5", "4"),
    }  # fmt: skip
    for name in wanted[row.use]:
        try:
            Written(*kinds[name]).one(getattr(row, name))
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


def unusual(want: Mix, faults: Faults) -> None:
    """Ask about shares of the mixes that look like fractions typed as per cent, and about air that nothing entrains."""
    ask = lambda field, share: faults.ask_unless(  # noqa: E731
        field, f"job.toml: {field}", share, units.kind_of(Share), "1 %", "40 %"
    )
    for name, concrete in want.concretes.items():
        key = f"mix.{name.replace(' ', '_')}"
        ask(f"{key}.water_reduction", concrete.water_reduction)
        if concrete.w_cm is not None and not concrete.w_cm_source:
            faults.append(f"job.toml: {key}.w_cm_source: missing; say which record or trial batches give the ratio")
    if want.exposure == "not air-entrained" and any(mix_design.entrains(one) for one in want.admixture):
        faults.ask(
            "mix.exposure", "job.toml: mix.exposure", "found “not air-entrained” beside an air-entraining admixture"
        )


def gradings(head: Head, known: Mapping[str, AggregateRow], faults: list[str]) -> None:
    """Hold the sieve analyses against the aggregates and the table of limits."""
    for name, one in head.mix.grading.items():
        where = f"job.toml: mix.grading.{name}"
        if name not in known:
            faults.append(f"{where}: aggregates.csv has no such aggregate")
            continue
        try:
            limits(one.size)
        except tables.TableError as error:
            faults.append(f"{where}.size: {error}")
        row = known[name]
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


@dataclass
class Mixes(Subject):
    """The concretes of the job and their batches.

    Attributes
    ----------
    mixes : dict of MixFact
        By name, which is the depth class.
    of_patch : dict of str
        Name of the mix of each patch.
    loads : list of LoadPlan
        What goes into the mixer, patch by patch.
    spread : dict of Spread
    trade : dict of TradeOff
    """

    key: ClassVar = "mix"
    title: ClassVar = "Mix and batch"
    mixes: dict[str, MixFact] = field(default_factory=dict)
    of_patch: dict[str, str] = field(default_factory=dict)
    loads: list[LoadPlan] = field(default_factory=list)
    spread: dict[str, Spread] = field(default_factory=dict)
    trade: dict[str, TradeOff] = field(default_factory=dict)


def carry(job: Job) -> Mixes:
    """Proportions, moisture, trial batch, temperature, mixer loads and what stands beside them."""
    subject, want = Mixes(job), job.head.mix
    volumes = mix_after.patches(job)
    for patch in volumes:
        name = job.patch.depth_class[patch]
        if name not in want.concretes:
            key = name.replace(" ", "_")
            raise JobError([f"job.toml: mix.{key}: missing; patch {patch} is {name} and wants a mix of its own"])
        subject.of_patch[patch] = name
    for name, concrete in want.concretes.items():
        fact = subject.mixes[name] = mix_design.design(job, subject, name, concrete)
        mix_batch.trial(job, subject, fact)
        mix_batch.moist(job, subject, fact)
        mix_batch.temperature(job, subject, fact)
        mix_after.early(subject, fact)
        mine = [patch for patch in volumes if subject.of_patch[patch] == name]
        for patch in mine:
            subject.loads.append(mix_batch.plan(job, subject, fact, patch, volumes[patch][0]))
        if mine:
            fact.order_volume = joined(volumes[patch][0] for patch in mine).sum()
            order(job, subject, fact)
        if (found := mix_after.spread(job, fact)) is not None:
            subject.spread[name] = found
        if (better := mix_after.trade(job, subject, fact)) is not None:
            subject.trade[name] = better
    mix_after.mortar(job, subject)
    notes(job, subject)
    return subject


def order(job: Job, subject: Mixes, fact: MixFact) -> None:
    """Materials of one mix for all its patches."""
    whole = subject.run(
        mix.batch_for_volume, f"order, {fact.item}", V=fact.order_volume, C=fact.masses["cement"],
        B_ca=fact.moist["coarse"], B_fa=fact.moist["fine"], W_add=fact.moist["water"], m_bag=job.head.mix.bag,
    )  # fmt: skip
    binder = mix_batch.cementitious(subject, fact, f"order, {fact.item}", fact.order_volume, whole.m_c)
    waste = f"waste {job.show(job.limit('waste').value, units.Share)} included"
    mass = lambda value: job.show(value, units.Mass)  # noqa: E731
    bag = mass(job.head.mix.bag)
    lines = [(f"Cement type {fact.cement_type}, bags of {bag}", f"{int(whole.n_bags.magnitude)} bags", "rounded up")]
    lines += [(name[0].upper() + name[1:], mass(value), waste) for name, value in binder.items() if name != "all"]
    lines += [
        (f"Coarse aggregate {fact.coarse.aggregate}, moist as on site", mass(whole.m_ca), waste),
        (f"Fine aggregate {fact.fine.aggregate}, moist as on site", mass(whole.m_fa), waste),
        ("Water to add at the mixer", mass(whole.m_w), waste),
    ]
    for one in job.head.mix.admixture:
        dose = subject.run(mix.admixture_for_load, f"order, {one.name}, {fact.item}", m_cm=binder["all"], dose=one.dose)
        lines.append((one.name[0].upper() + one.name[1:], job.show(dose, units.LiquidVolume), waste))
    for name, quantity, spare in lines:
        subject.materials.append(Material(f"{name} ({fact.item})", quantity, spare, "04 Mix and batch"))


def notes(job: Job, subject: Mixes) -> None:
    """Simplifications and cautions."""
    want = job.head.mix
    system = "hard metric (SI)" if want.tables == "SI" else "US customary"
    basis = {
        "strict": "Masses of aggregate are oven-dry and divided by oven-dry relative densities.",
        "as in handbooks": "Oven-dry masses of aggregate are divided by the relative densities as reported, as many "
        "handbooks do: the fine aggregate comes out about 1 to 2 % larger for each 1 % that the coarse one absorbs.",
    }[want.bookkeeping]
    subject.notes += [
        f"Tables of the standard: {system}. The two sets are rounded apart: the same materials give masses that differ "
        "by up to about 2 %.",
        f"{basis} Moisture and absorption are shares of the oven-dry mass; the ratio of water to cementitious material "
        "leaves out what the aggregate absorbs and counts the water of the admixtures.",
        "Proportions are a starting point for a trial batch, not a substitute for one. Whether a patch may be opened to "
        "traffic is for strength measured on it, not for a curve.",
        "No chloride accelerator beside reinforcement, whatever a pavement mix may prescribe.",
        "Fresh concrete burns skin and eyes: waterproof gloves, boots and goggles. Lift bags by two or with a hoist. Cement "
        "and silica fume are dust: open bags low and upwind. Keep hands and clothes out of a running drum.",
    ]
    if want.batch_by == "whole bags":
        subject.notes.append("Loads hold whole bags: the last load of a patch makes more than the patch takes.")
