"""From the materials on site to the proportions of each concrete of the job."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.core.bars import bar_diameter
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Quantity, quantity
from deckcalc.mix.design.assessments import StrengthRatio
from deckcalc.mix.design.records import MixDesign, Mixes, Use
from deckcalc.mix.formulas.grading import MODULUS, passing
from deckcalc.mix.formulas.ratio import ExposureLimit
from deckcalc.mix.inputs import AggregateRow, section_of

USES: tuple[Use, Use] = ("coarse", "fine")


def proportion(mixes: Mixes, design: MixDesign) -> None:
    """Proportion one concrete of the job by absolute volumes."""
    want, concrete = mixes.inputs.mix, design.concrete
    item, d_max = design.item, design.coarse.size
    mixes.checks.append(
        Check(
            item, "nominal maximum size of the coarse aggregate", d_max, largest_stone(mixes, design), "at most", "finer stone"
        )
    )  # fmt: skip
    materials(mixes, design)
    table = mixes.run(mix.mixing_water, item, D_max=d_max, slump=design.slump, exposure=want.exposure, form=want.tables)
    water = mixes.run(
        mix.adjusted_water, item, W_t=table.W, shape=design.coarse.shape, q_red=concrete.water_reduction,
        form=want.tables,
    )  # fmt: skip
    design.air = table.air
    cementitious(mixes, design, water.W)
    b = mixes.run(mix.coarse_volume, item, D_max=d_max, FM=fineness_modulus(mixes, design.fine)).b
    density = stated(design) if want.bookkeeping == "as in handbooks" else design.dry_density
    rho_dr = units.read(design.coarse.dry_rodded_density, units.kind_of(units.Density))
    made = design.proportions = mixes.run(
        mix.proportions, item, W=water.W, w_cm=design.w_cm, air=design.air, b=b, rho_dr=rho_dr, RD_c=design.blend_density,
        RD_ca=density["coarse"], RD_fa=density["fine"], rho_w=want.water_density,
    )  # fmt: skip
    mixes.run(
        mix.mass_method, item, D_max=d_max, entrained=want.entrained, RD_ca=density["coarse"], RD_fa=density["fine"],
        air=design.air, C=made.C, RD_c=design.blend_density, W=water.W, M_ca=made.M_ca, rho_w=want.water_density,
        form=want.tables,
    )  # fmt: skip
    design.masses |= {"water": water.W, "coarse": made.M_ca, "fine": made.M_fa}
    design.volumes = {
        "water": made.V_w, "cementitious": made.V_c, "air": made.V_a, "coarse aggregate": made.V_ca,
        "fine aggregate": made.V_fa,
    }  # fmt: skip


def largest_stone(mixes: Mixes, design: MixDesign) -> Limit:
    """Return the largest nominal size: for patch work, and for depth and clear space of the patches where the job has any."""
    own = mixes.limit("aggregate_size")
    if not mixes.patches.each:
        return own
    limits = mixes.run(mix.size_limits, design.item, **depth_and_space(mixes, design), D_patch=own.value)
    return Limit(
        "size", "largest nominal size for depth, clear space and patch work", limits.D_allowed,
        units.kind_of(units.Length), Cite("aci211-1-91", "6.3.2"),
    )  # fmt: skip


def depth_and_space(mixes: Mixes, design: MixDesign) -> dict[str, Quantity]:
    """Return the minimum depth of the patches that a mix fills, and the minimum clear space in them."""
    deck = mixes.deck
    clear = deck.bar_spacing - bar_diameter(deck.top_bar_outer)
    mine = [mixes.patches[name] for name in design.patches]
    freed = [one.clear for one in mine if one.clear is not None]
    clear = min([clear, *freed])
    depths = [one.h for one in mine]
    return {"h": min(depths) if depths else deck.slab_thickness, "s": clear}


def materials(mixes: Mixes, design: MixDesign) -> None:
    """Bring moisture and density of both aggregates to one basis."""
    for use in USES:
        row = design.aggregate(use)
        item = design.material_item(row.aggregate)
        found = mixes.run(
            mix.relative_densities, item, RD=row.relative_density, A=row.absorption, basis=row.density_basis
        )
        design.dry_density[use], design.saturated_density[use] = found.RD_od, found.RD_s
        design.moisture[use] = row.moisture
        if row.moisture_basis != "total":
            design.moisture[use] = mixes.run(
                mix.total_moisture, item, A=row.absorption, f=row.moisture,
                basis=row.moisture_basis.removeprefix("surface on "),
            ).w  # fmt: skip


def stated(design: MixDesign) -> dict[str, Quantity]:
    """Return the relative densities as they were reported."""
    return {"coarse": design.coarse.relative_density, "fine": design.fine.relative_density}


def fineness_modulus(mixes: Mixes, row: AggregateRow) -> Quantity:
    """Return the fineness modulus: by the sieve analysis if there is one, else as stated."""
    tested = mixes.gradings.get(row.aggregate)
    if tested is None:
        return units.read(row.fineness_modulus, units.kind_of(units.Ratio))
    if tested.modulus is None:
        shares = [passing(tested.passing, sieve) * 100 for sieve in MODULUS]
        tested.modulus = mixes.run(mix.fineness_modulus, tested.item, P=quantity(shares, "percent"))
    return tested.modulus


def average_strength(mixes: Mixes, design: MixDesign) -> Quantity:
    """Return the average strength that a mix must reach, by the rule that applies to it."""
    want, f_c = mixes.inputs.mix, design.strength
    if want.record is None:
        return mixes.run(
            mix.average_strength_no_record, design.item, f_c=f_c, form=want.tables, rule=want.margin_rule
        ).f_cr
    by_record = mix.average_strength.form(want.tables)
    range_of_f_c = by_record.params["f_c"].range
    assert range_of_f_c  # the rule says up to which strength it is for
    record = {"f_c": f_c, "s_s": want.record.deviation, "n": want.record.tests}
    if f_c > units.read(range_of_f_c.high, units.kind_of(units.Stress)) * (1 + 1e-9):
        return mixes.run(mix.average_strength_high, design.item, **record).f_cr
    return mixes.run(by_record, design.item, **record).f_cr


def greatest_ratio(mixes: Mixes, design: MixDesign, w_cm_exposure: Quantity) -> Quantity:
    """Return the maximum ratio that strength and exposure admit: as the engineer states it, else by the table of strength."""
    want, item, own = mixes.inputs.mix, design.item, design.concrete
    f_cr = average_strength(mixes, design)
    if own.w_cm is not None:
        mixes.decisions[design.ratio_item] = (
            f"w/cm {mixes.show(own.w_cm, units.Ratio)} by {own.w_cm_source}, in place of the table of strength; it is for trial "
            f"batches to show the average strength of {mixes.show(f_cr, units.Stress)}"
        )
        stated: Quantity = mixes.run(mix.stated_ratio, item, w_cm_stated=own.w_cm, w_cm_exposure=w_cm_exposure)
        return stated
    try:
        found = mixes.run(
            mix.water_cement_ratio, item, f_cr=f_cr, air_entrained=want.entrained, w_cm_exposure=w_cm_exposure,
            form=want.tables, edition=want.strength_table,
        )  # fmt: skip
    except JobError as error:
        key = section_of(design.name)
        ways = (
            f"give a record of tests (mix.record), a table that reaches (mix.strength_table), or {key}.w_cm with {key}.w_cm_source "
            "from trial batches"
        )
        raise JobError([*error.faults[:-1], f"{error.faults[-1]}; {ways}"]) from None
    design.by_strength = StrengthRatio(f_cr, w_cm_exposure, found)
    return design.by_strength.found.w_cm


def cementitious(mixes: Mixes, design: MixDesign, water: Quantity) -> None:
    """Work out the ratio, the cementitious material, and the parts of it."""
    want, item, extra = mixes.inputs.mix, design.item, design.concrete.supplementary
    durability = mix.exposure_limit(want.durability, want.tables)
    assert durability.w_cm is not None  # checked when the job was read
    most = greatest_ratio(mixes, design, durability.w_cm)
    found = mixes.run(
        mix.cementitious_content, item, W=water, w_cm=most, C_least=mixes.limit("least_cementitious").value
    )
    design.w_cm = most if found.C_w == found.C_m else found.w_cm_made
    design.w_cm_most, design.w_cm_exposure, design.cementitious = most, durability.w_cm, found.C_m
    checks(mixes, design, durability)
    if not extra.used:
        none = 0 * found.C_m
        design.blend_density = want.cement_density
        design.masses |= {"cement": found.C_m, "fly ash": none, "slag cement": none, "silica fume": none}
        return
    densities = {
        "RD_c": want.cement_density, "RD_ash": extra.fly_ash_density, "RD_slag": extra.slag_density,
        "RD_fume": extra.silica_fume_density,
    }  # fmt: skip
    shares = {"q_ash": extra.fly_ash, "q_slag": extra.slag, "q_fume": extra.silica_fume}
    if extra.shares == "by volume":
        by_mass = mixes.run(
            mix.mass_shares, item, v_ash=extra.fly_ash, v_slag=extra.slag, v_fume=extra.silica_fume, **densities
        )
        shares = {key: getattr(by_mass, key) for key in shares}
    parts = mixes.run(mix.blend, item, C_m=found.C_m, **shares, **densities)
    design.blend_density = parts.RD_cm
    design.masses |= {
        "cement": parts.M_c, "fly ash": parts.M_ash, "slag cement": parts.M_slag, "silica fume": parts.M_fume,
    }  # fmt: skip
    check_shares(mixes, item, shares)


def check_shares(mixes: Mixes, item: str, shares: dict[str, Quantity]) -> None:
    """Check the shares of supplementary materials against their limits."""
    total = sum(shares.values(), 0 * shares["q_ash"])
    fine_powders = shares["q_ash"] + shares["q_fume"]
    for key, title, share in (
        ("fly_ash_share", "fly ash", shares["q_ash"]), ("slag_share", "slag cement", shares["q_slag"]),
        ("silica_fume_share", "silica fume", shares["q_fume"]), ("supplementary_share", "all supplementary", total),
        ("ash_and_fume_share", "fly ash and silica fume", fine_powders),
    ):  # fmt: skip
        if share.magnitude > 0:
            why = "less of it, or a record of the concrete in this exposure"
            mixes.checks.append(Check(item, f"{title} in the cementitious material", share, mixes.limit(key), why=why))


def checks(mixes: Mixes, design: MixDesign, durability: ExposureLimit) -> None:
    """Check ratio, strength, cementitious material and air against what the exposure demands."""
    assert durability.w_cm is not None  # checked when the job was read
    item, kind = design.item, units.kind_of(units.Ratio)
    mixes.checks += [
        Check(item, "water-cement ratio", design.w_cm,
              Limit("w_cm", f"durability: {durability.exposure}", durability.w_cm, kind, durability.source)),
        Check(item, "specified strength", design.strength,
              Limit("f_c", f"durability: {durability.exposure}", durability.f_c, units.kind_of(units.Stress),
                    durability.source), "at least"),
        *cementitious_checks(mixes, item, design.cementitious),
    ]  # fmt: skip
    if mixes.inputs.mix.entrained == "air-entrained":
        count = quantity(float(sum(one.entrains_air for one in design.concrete.admixture)))
        one = Limit("air_entrainer", f"something that entrains the air of {mixes.show(design.air, units.Share)}",
                    quantity(1.0), units.kind_of(units.Count),
                    Cite("", "entrained air comes from an air-entraining admixture", "common practice"))  # fmt: skip
        why = "no air-entraining admixture with a dose is among its admixtures: without it the concrete scales under frost and salt"
        mixes.checks.append(Check(item, "air-entraining admixture for the air wanted", count, one, "at least", why))


def cementitious_checks(mixes: Mixes, item: str, found: Quantity) -> list[Check]:
    """Return the checks of a content of cementitious material against its minimum and a usual maximum."""
    return [
        Check(item, "cementitious material", found, mixes.limit("least_cementitious"), "at least"),
        Check(item, "cementitious material against a usual maximum", found, mixes.limit("most_cementitious"),
              why="rich concrete heats, shrinks and cracks: less water, larger stone, or a record that admits more w/cm"),
    ]  # fmt: skip
