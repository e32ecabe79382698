"""Mix and batch: from the materials on site to what goes into the mixer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from deckcalc import mix, patch, steel, tables, units
from deckcalc.check import Check, Limit
from deckcalc.course.base import Material, Subject
from deckcalc.inputs import Id, Strict, Text, Written
from deckcalc.sources import Cite
from deckcalc.units import Count, Density, InputError, Length, Mass, Quantity, Ratio, Share, Stress, System, Volume

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.jobfile import Head


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


SECTIONS = {"mix": Mix}
ROWS = {"aggregates": AggregateRow}


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold the mix against its tables and the aggregates on site."""
    try:
        if mix.exposure_limit(head.mix.durability, head.mix.tables).w_cm is None:
            faults.append(f"job.toml: mix.durability: “{head.mix.durability}” limits no w/cm; choose a row that does")
    except tables.TableError as error:
        faults.append(f"job.toml: mix.durability: {error}")
    for use in ("coarse", "fine"):
        count = sum(row.use == use for row in rows["aggregates"])
        if count != 1:
            faults.append(f"aggregates.csv: {count} rows with use “{use}”, wanted one")
    wanted = {"coarse": ("nominal_size", "dry_rodded_density"), "fine": ("fineness_modulus",)}
    kinds: dict[str, tuple[Any, str, str]] = {
        "nominal_size": (Length, "4 mm", "80 mm"), "dry_rodded_density": (Density, "1000 kg/m^3", "2200 kg/m^3"),
        "fineness_modulus": (Ratio, "1.5", "4"),
    }  # fmt: skip
    for row in rows["aggregates"]:
        for field in wanted[row.use]:
            try:
                Written(*kinds[field]).one(getattr(row, field))
            except InputError as error:
                faults.append(f"aggregates.csv, aggregate {row.aggregate}, column {field.replace('_', ' ')}: {error}")


def carry(job: Job) -> Subject:
    """Proportions, moisture, one mixer load and the whole order."""
    subject = Subject("mix", "Mix and batch")
    want, item = job.head.mix, "mix"
    rows = {row.use: row for row in job.file.rows["aggregates"]}
    coarse, fine = rows["coarse"], rows["fine"]
    d_max = units.read(coarse.nominal_size, units.Length)
    depths = [run.result.h for run in job.patch.runs_of(patch.removal_depth)]
    deck = job.head.deck
    depth = min(depths) if depths else deck.slab_thickness
    clear = min(
        deck.bar_spacing - steel.bar_diameter(deck.top_bar_outer),
        job.patch.runs_of(patch.clear_space)[0].result.s_c,
    )
    limits = subject.run(mix.size_limits, item, h=depth, s=clear, D_patch=job.limit("aggregate_size").value)
    allowed = Limit(
        "size", "greatest nominal size for depth, clear space and patch work", limits.D_allowed,
        units.kind_of(units.Length), Cite("aci211-1-91", "6.3.2"),
    )  # fmt: skip
    subject.checks.append(
        Check(item, "nominal maximum size of the coarse aggregate", d_max, allowed, "at most", "finer stone")
    )
    durability = mix.exposure_limit(want.durability, want.tables)
    assert durability.w_cm is not None  # held when the job was read
    if want.record is None:
        strength = subject.run(mix.average_strength_no_record, item, f_c=want.strength, tables=want.tables)
    else:
        by_record = mix.average_strength_si if want.tables == "SI" else mix.average_strength_us
        strength = subject.run(by_record, item, f_c=want.strength, s_s=want.record.deviation, n=want.record.tests)
    water = subject.run(
        mix.mixing_water, item, D_max=d_max, slump=want.slump, exposure=want.exposure, tables=want.tables
    )
    air = "not air-entrained" if want.exposure == "not air-entrained" else "air-entrained"
    ratio = subject.run(
        mix.water_cement_ratio, item, f_cr=strength.f_cr, air_entrained=air, w_cm_exposure=durability.w_cm,
        tables=want.tables,
    )  # fmt: skip
    b = subject.run(mix.coarse_volume, item, D_max=d_max, FM=units.read(fine.fineness_modulus, units.Ratio)).b
    made = subject.run(
        mix.proportions, item, W=water.W, w_cm=ratio.w_cm, air=water.air, b=b,
        rho_dr=units.read(coarse.dry_rodded_density, units.Density), RD_c=want.cement_density,
        RD_ca=coarse.relative_density, RD_fa=fine.relative_density, rho_w=want.water_density,
    )  # fmt: skip
    batch = subject.run(
        mix.batch_masses, item, W=water.W, M_ca=made.M_ca, M_fa=made.M_fa, A_ca=coarse.absorption, A_fa=fine.absorption,
        w_ca=coarse.moisture, w_fa=fine.moisture,
    )  # fmt: skip
    for name, volume in (("one mixer load", want.load), ("whole order", job.patch.order_volume)):
        subject.run(
            mix.batch_for_volume, name, V=volume, C=made.C, B_ca=batch.B_ca, B_fa=batch.B_fa, W_add=batch.W_add,
            m_bag=want.bag,
        )  # fmt: skip
    subject.checks += [
        Check(item, "water-cement ratio", ratio.w_cm,
              Limit("w_cm", f"durability: {durability.exposure}", durability.w_cm, units.kind_of(units.Ratio), durability.source)),
        Check(item, "specified strength", want.strength,
              Limit("f_c", f"durability: {durability.exposure}", durability.f_c, units.kind_of(units.Stress),
                    durability.source), "at least"),
    ]  # fmt: skip
    whole = next(run for run in subject.runs if run.item == "whole order").result
    waste = f"waste {job.show(job.limit('waste').value, units.Share)} included"
    bag = job.show(want.bag, units.Mass)
    for name, quantity, spare in (
        (f"Cement, bags of {bag}", f"{int(whole.n_bags.magnitude)} bags", "rounded up"),
        ("Coarse aggregate, moist as on site", job.show(whole.m_ca, units.Mass), waste),
        ("Fine aggregate, moist as on site", job.show(whole.m_fa, units.Mass), waste),
        ("Water to add at the mixer", job.show(whole.m_w, units.Mass), waste),
    ):
        subject.materials.append(Material(name, quantity, spare, "04 Mix and batch"))
    subject.notes += [
        f"Tables of the standard: {'hard metric (SI)' if want.tables == 'SI' else 'US customary'}. The two sets are rounded "
        "apart: the same materials give masses that differ by up to about 2 %.",
        "Proportions are a starting point for a trial batch, not a substitute for one.",
        "Fresh concrete burns skin and eyes; lift bags by two or with a hoist.",
    ]
    return subject
