"""From the materials on site to the proportions of each concrete of the job."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from deckcalc import mix, steel
from deckcalc.base.fields import PARTIAL, JobError
from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Quantity
from deckcalc.mix.formulas.grading import MODULUS, passing, read_grading
from deckcalc.mix.inputs import Admixture, AggregateRow, Concrete

if TYPE_CHECKING:
    from deckcalc.job import Job


@dataclass
class MixFact:
    """What other subjects, and the batches, need to know of one concrete.

    Attributes
    ----------
    name : str
        Its depth class.
    concrete : Concrete
        As the job asks for it.
    coarse, fine : AggregateRow
    strength, slump : Quantity
        Specified strength at 28 days, slump at placing.
    cement_type : str
        I or III.
    order_volume : Quantity
        Concrete to order of this mix, waste included; None if no patch takes it.
    w_cm, w_cm_most : Quantity
        Ratio of the mix, and the greatest that strength and exposure admit.
    air : Quantity
    masses : dict of Quantity
        Per volume of concrete: water (mixing water), cement, fly ash, slag cement, silica fume, coarse and fine
        (oven-dry).
    volumes : dict of Quantity
        Absolute volumes, shares of the concrete.
    cementitious : Quantity
        All cementitious material per volume of concrete.
    moist : dict of Quantity
        Per volume of concrete as batched: water (to add), coarse and fine.
    moisture, dry_density, saturated_density : dict of Quantity
        Total moisture and relative densities of coarse and fine.
    blend_density : Quantity
        Relative density of the cementitious material.
    temperature : Quantity or None
        Of the fresh concrete.
    density : Quantity
        Of the fresh concrete, by its materials.
    """

    name: str
    concrete: Concrete
    coarse: AggregateRow
    fine: AggregateRow
    strength: Quantity
    slump: Quantity
    cement_type: str
    order_volume: Any = None
    w_cm: Any = None
    w_cm_most: Any = None
    air: Any = None
    masses: dict[str, Any] = field(default_factory=dict)
    volumes: dict[str, Any] = field(default_factory=dict)
    cementitious: Any = None
    moist: dict[str, Any] = field(default_factory=dict)
    moisture: dict[str, Any] = field(default_factory=dict)
    dry_density: dict[str, Any] = field(default_factory=dict)
    saturated_density: dict[str, Any] = field(default_factory=dict)
    blend_density: Any = None
    temperature: Any = None
    density: Any = None

    @property
    def item(self) -> str:
        """How the sheet calls it."""
        return f"{self.name} mix"

    @property
    def cement_content(self) -> Any:
        """Portland cement per volume of concrete."""
        return self.masses["cement"]


def size_of(row: AggregateRow) -> Quantity:
    """Return the nominal maximum size of a coarse aggregate."""
    return units.read(row.nominal_size, units.kind_of(units.Length))


def design(job: Job, subject: Subject, name: str, concrete: Concrete) -> MixFact:
    """Proportion one concrete of the job; its checks go to the subject."""
    want, rows = job.head.mix, {row.aggregate: row for row in job.file.rows["aggregates"]}
    fact = MixFact(
        name, concrete, rows[concrete.coarse], rows[concrete.fine], concrete.strength, concrete.slump, concrete.cement
    )
    item, d_max = fact.item, size_of(fact.coarse)
    limits = subject.run(mix.size_limits, item, **room(job, name), D_patch=job.limit("aggregate_size").value)
    allowed = Limit(
        "size", "greatest nominal size for depth, clear space and patch work", limits.D_allowed,
        units.kind_of(units.Length), Cite("aci211-1-91", "6.3.2"),
    )  # fmt: skip
    subject.checks.append(
        Check(item, "nominal maximum size of the coarse aggregate", d_max, allowed, "at most", "finer stone")
    )
    materials(subject, fact)
    table = subject.run(mix.mixing_water, item, D_max=d_max, slump=fact.slump, exposure=want.exposure, form=want.tables)
    water = subject.run(
        mix.adjusted_water, item, W_t=table.W, shape=fact.coarse.shape, q_red=concrete.water_reduction,
        form=want.tables,
    )  # fmt: skip
    fact.air = table.air
    binder(job, subject, fact, water.W)
    b = subject.run(mix.coarse_volume, item, D_max=d_max, FM=modulus(job, subject, fact.fine)).b
    density = stated(fact) if want.bookkeeping == "as in handbooks" else fact.dry_density
    rho_dr = units.read(fact.coarse.dry_rodded_density, units.kind_of(units.Density))
    made = subject.run(
        mix.proportions, item, W=water.W, w_cm=fact.w_cm, air=fact.air, b=b, rho_dr=rho_dr, RD_c=fact.blend_density,
        RD_ca=density["coarse"], RD_fa=density["fine"], rho_w=want.water_density,
    )  # fmt: skip
    subject.run(
        mix.mass_method, item, D_max=d_max, entrained=entrained(job), RD_ca=density["coarse"], RD_fa=density["fine"],
        air=fact.air, C=made.C, RD_c=fact.blend_density, W=water.W, M_ca=made.M_ca, rho_w=want.water_density,
        form=want.tables,
    )  # fmt: skip
    fact.masses |= {"water": water.W, "coarse": made.M_ca, "fine": made.M_fa}
    fact.volumes = {
        "water": made.V_w, "cementitious": made.V_c, "air": made.V_a, "coarse aggregate": made.V_ca,
        "fine aggregate": made.V_fa,
    }  # fmt: skip
    return fact


def room(job: Job, name: str) -> dict[str, Quantity]:
    """Return the least depth of the patches that a mix fills, and the least clear space in them."""
    deck = job.head.deck
    depths = [
        run.arguments["h"]
        for run in job.patch.runs
        if run.calculation.name == "patch_volume" and job.patch.depth_class[run.item.removeprefix("patch ")] == name
    ]
    clear = deck.bar_spacing - steel.bar_diameter(deck.top_bar_outer)
    if name == PARTIAL:
        behind = [run.result.s_c for run in job.patch.runs if run.calculation.name == "clear_space"]
        clear = min([clear, *behind])
    return {"h": min(depths) if depths else deck.slab_thickness, "s": clear}


def materials(subject: Subject, fact: MixFact) -> None:
    """Bring moisture and density of both aggregates to one basis."""
    for use, row in (("coarse", fact.coarse), ("fine", fact.fine)):
        item = f"{row.aggregate}, {fact.item}"
        found = subject.run(
            mix.relative_densities, item, RD=row.relative_density, A=row.absorption, basis=row.density_basis
        )
        fact.dry_density[use], fact.saturated_density[use] = found.RD_od, found.RD_s
        fact.moisture[use] = row.moisture
        if row.moisture_basis != "total":
            fact.moisture[use] = subject.run(
                mix.total_moisture, item, A=row.absorption, f=row.moisture,
                basis=row.moisture_basis.removeprefix("surface on "),
            ).w  # fmt: skip


def stated(fact: MixFact) -> dict[str, Any]:
    """Return the relative densities as they were reported."""
    return {"coarse": fact.coarse.relative_density, "fine": fact.fine.relative_density}


def entrained(job: Job) -> str:
    """Return whether the concretes of the job are air-entrained."""
    return "not air-entrained" if job.head.mix.exposure == "not air-entrained" else "air-entrained"


def modulus(job: Job, subject: Subject, row: AggregateRow) -> Any:
    """Return the fineness modulus: of the grading if there is one, else as stated."""
    if row.aggregate not in job.head.mix.grading:
        return units.read(row.fineness_modulus, units.kind_of(units.Ratio))
    item = f"{row.aggregate}, grading"
    known = next((run.result for run in subject.runs_of(mix.fineness_modulus) if run.item == item), None)
    if known is not None:
        return known
    grading = read_grading(job.head.mix.grading[row.aggregate].passing)
    shares = [passing(grading, sieve) * 100 for sieve in MODULUS]
    return subject.run(mix.fineness_modulus, item, P=units.registry().Quantity(shares, "percent"))


def average_strength(job: Job, subject: Subject, fact: MixFact) -> Any:
    """Return the average strength that a mix must reach, by the rule that applies to it."""
    want, f_c = job.head.mix, fact.strength
    if want.record is None:
        return subject.run(
            mix.average_strength_no_record, fact.item, f_c=f_c, form=want.tables, rule=want.margin_rule
        ).f_cr
    edge = units.read("35 MPa" if want.tables == "SI" else "5000 psi", units.kind_of(units.Stress))
    record = {"f_c": f_c, "s_s": want.record.deviation, "n": want.record.tests}
    if f_c > edge * (1 + 1e-9):
        return subject.run(mix.average_strength_high, fact.item, **record).f_cr
    return subject.run(mix.average_strength.form(want.tables), fact.item, **record).f_cr


def ratio_of(job: Job, subject: Subject, fact: MixFact, w_cm_exposure: Quantity) -> Any:
    """Return the greatest ratio that strength and exposure admit: by a record of the engineer, else by the table."""
    want, item, own = job.head.mix, fact.item, fact.concrete
    f_cr = average_strength(job, subject, fact)
    if own.w_cm is not None:
        subject.decisions[f"ratio, {item}"] = (
            f"w/cm {job.show(own.w_cm, units.Ratio)} by {own.w_cm_source}, in place of the table of strength; it is for trial "
            f"batches to show the average strength of {job.show(f_cr, units.Stress)}"
        )
        return subject.run(mix.stated_ratio, item, w_cm_stated=own.w_cm, w_cm_exposure=w_cm_exposure)
    try:
        return subject.run(
            mix.water_cement_ratio, item, f_cr=f_cr, air_entrained=entrained(job), w_cm_exposure=w_cm_exposure,
            form=want.tables, edition=want.strength_table,
        ).w_cm  # fmt: skip
    except JobError as error:
        key = f"mix.{fact.name.replace(' ', '_')}"
        ways = (
            f"give a record of tests (mix.record), a table that reaches (mix.strength_table), or {key}.w_cm with {key}.w_cm_source "
            "from trial batches"
        )
        raise JobError([*error.faults[:-1], f"{error.faults[-1]}; {ways}"]) from None


def binder(job: Job, subject: Subject, fact: MixFact, water: Any) -> None:
    """Ratio, cementitious material, and its parts."""
    want, item, extra = job.head.mix, fact.item, fact.concrete.supplementary
    durability = mix.exposure_limit(want.durability, want.tables)
    assert durability.w_cm is not None  # held when the job was read
    most = ratio_of(job, subject, fact, durability.w_cm)
    found = subject.run(
        mix.cementitious_content, item, W=water, w_cm=most, C_least=job.limit("least_cementitious").value
    )
    fact.w_cm = most if found.C_w == found.C_m else found.w_cm_made
    fact.w_cm_most, fact.cementitious = most, found.C_m
    checks(job, subject, fact, durability)
    if not any(part.magnitude for part in (extra.fly_ash, extra.slag, extra.silica_fume)):
        none = 0 * found.C_m
        fact.blend_density = want.cement_density
        fact.masses |= {"cement": found.C_m, "fly ash": none, "slag cement": none, "silica fume": none}
        return
    densities = {
        "RD_c": want.cement_density, "RD_ash": extra.fly_ash_density, "RD_slag": extra.slag_density,
        "RD_fume": extra.silica_fume_density,
    }  # fmt: skip
    shares = {"q_ash": extra.fly_ash, "q_slag": extra.slag, "q_fume": extra.silica_fume}
    if extra.shares == "by volume":
        by_mass = subject.run(
            mix.mass_shares, item, v_ash=extra.fly_ash, v_slag=extra.slag, v_fume=extra.silica_fume, **densities
        )
        shares = {key: getattr(by_mass, key) for key in shares}
    parts = subject.run(mix.blend, item, C_m=found.C_m, **shares, **densities)
    fact.blend_density = parts.RD_cm
    fact.masses |= {
        "cement": parts.M_c, "fly ash": parts.M_ash, "slag cement": parts.M_slag, "silica fume": parts.M_fume,
    }  # fmt: skip
    total = sum((value for value in shares.values()), 0 * extra.fly_ash)
    fine_powders = shares["q_ash"] + shares["q_fume"]
    for key, title, share in (
        ("fly_ash_share", "fly ash", shares["q_ash"]), ("slag_share", "slag cement", shares["q_slag"]),
        ("silica_fume_share", "silica fume", shares["q_fume"]), ("supplementary_share", "all supplementary", total),
        ("ash_and_fume_share", "fly ash and silica fume", fine_powders),
    ):  # fmt: skip
        if share.magnitude > 0:
            why = "less of it, or a record of the concrete in this exposure"
            subject.checks.append(Check(item, f"{title} in the cementitious material", share, job.limit(key), why=why))


def checks(job: Job, subject: Subject, fact: MixFact, durability: Any) -> None:
    """Hold ratio, strength and cementitious material against what the exposure demands."""
    item, kind = fact.item, units.kind_of(units.Ratio)
    subject.checks += [
        Check(item, "water-cement ratio", fact.w_cm,
              Limit("w_cm", f"durability: {durability.exposure}", durability.w_cm, kind, durability.source)),
        Check(item, "specified strength", fact.strength,
              Limit("f_c", f"durability: {durability.exposure}", durability.f_c, units.kind_of(units.Stress),
                    durability.source), "at least"),
        Check(item, "cementitious material", fact.cementitious, job.limit("least_cementitious"), "at least"),
        Check(item, "cementitious material against a usual maximum", fact.cementitious, job.limit("most_cementitious"),
              why="rich concrete heats, shrinks and cracks: less water, larger stone, or a record that admits more w/cm"),
    ]  # fmt: skip
    if entrained(job) == "air-entrained":
        count = units.registry().Quantity(float(sum(entrains(one) for one in job.head.mix.admixture)), "")
        one = Limit("air_entrainer", f"something that entrains the air of {job.show(fact.air, units.Share)}",
                    units.registry().Quantity(1.0, ""), units.kind_of(units.Count),
                    Cite("", "entrained air comes from an air-entraining admixture", "common practice"))  # fmt: skip
        why = "no air-entraining admixture with a dose is among mix.admixture: without it the concrete scales under frost and salt"
        subject.checks.append(Check(item, "air-entraining admixture for the air wanted", count, one, "at least", why))


def entrains(one: Admixture) -> bool:
    """Return whether an admixture entrains air, by its name, and has a dose."""
    return one.dose.magnitude > 0 and re.search(r"air[\s-]*entrain", one.name, re.IGNORECASE) is not None
