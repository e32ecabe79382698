"""The batch on the day: masses as moist as the aggregates are, temperature, mixer batches for every patch."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.core import units
from deckcalc.core.check import Check
from deckcalc.core.units import Quantity
from deckcalc.mix.design.given import volume_dose
from deckcalc.mix.design.records import MixDesign, MixerLoads, Mixes, Portion, Weight
from deckcalc.mix.formulas.batching import Batch
from deckcalc.mix.inputs import AggregateRow


def moist(mixes: Mixes, design: MixDesign) -> None:
    """Work out the masses with the aggregates as moist as they are, the water of the admixtures counted."""
    water = design.masses["water"]
    for one in design.concrete.admixture:
        item = design.material_item(one.name)
        dose = design.doses[one.name] = volume_dose(mixes, item, one.dose, one.density)
        water = mixes.run(
            mix.admixture_water, item, W=water, C_m=design.cementitious, dose=dose,
            rho_a=one.density, s_a=one.solids,
        ).W_rest  # fmt: skip
    batch = mixes.run(
        mix.batch_masses, design.batch_item, W=water, M_ca=design.masses["coarse"], M_fa=design.masses["fine"],
        A_ca=design.coarse.absorption, A_fa=design.fine.absorption, w_ca=design.moisture["coarse"],
        w_fa=design.moisture["fine"],
    )  # fmt: skip
    design.moist = {"water": batch.W_add, "coarse": batch.B_ca, "fine": batch.B_fa}
    design.density = (batch.B_ca + batch.B_fa + batch.W_add + design.masses["water"] - water + design.cementitious).to(
        "kg/m³"
    )


def temperature(mixes: Mixes, design: MixDesign) -> None:
    """Temperature of the fresh concrete, and the ice or water that brings it to what is wanted."""
    on_site = mixes.inputs.mix.temperature
    if on_site is None:
        return
    given = {
        "T_a": on_site.aggregate, "T_c": on_site.cement, "T_w": on_site.water, "M_ca": design.masses["coarse"],
        "M_fa": design.masses["fine"], "B_ca": design.moist["coarse"], "B_fa": design.moist["fine"],
        "W_c": design.cementitious, "W_w": design.moist["water"],
    }  # fmt: skip
    item = design.temperature_item
    need = mixes.run(mix.wanted_temperature.form(mixes.system), item, T_want=on_site.wanted, **given)
    found = mixes.run(mix.fresh_temperature.form(mixes.system), item, **given, W_i=on_site.ice)
    design.temperature = found.T
    least, most = mixes.placing_limits(design)
    mixes.checks += [
        Check(item, "fresh concrete not too warm", found.T, most, why="ice, or cooler materials"),
        Check(item, "fresh concrete not too cold", found.T, least, "at least", "warmer water"),
        Check(item, "ice as a share of the water added", on_site.ice / design.moist["water"], mixes.limit("ice_share"),
              why="cool the aggregate instead"),
    ]  # fmt: skip
    ice = mixes.show(need.W_ice, units.Content)
    share = mixes.show(need.q_ice, units.Share)
    cooler = need.W_ice.magnitude > 0
    mixes.decisions[item] = (
        f"without ice {mixes.show(need.T_0, units.Temperature)}; for {mixes.show(on_site.wanted, units.Temperature)} "
        + (f"{ice} of ice ({share} of the water added), or water at " if cooler else "water at ")
        + mixes.show(need.T_need, units.Temperature)
        + (" (not to be had: ice)" if need.T_need.m_as("degC") < 1 else "")
        + f"; with the ice of the job {mixes.show(found.T, units.Temperature)}"
    )


def cementitious_of(
    mixes: Mixes, design: MixDesign, item: str, volume: Quantity, cement: Quantity
) -> dict[str, Quantity]:
    """Return the masses of the supplementary materials of a volume, and that of all cementitious material."""
    if not design.concrete.supplementary.used:
        return {"all": cement}
    found = mixes.run(
        mix.cementitious_for_load, item, V=volume, C_m=design.cementitious, M_ash=design.masses["fly ash"],
        M_slag=design.masses["slag cement"], M_fume=design.masses["silica fume"],
    )  # fmt: skip
    parts = {"fly ash": found.m_ash, "slag cement": found.m_slag, "silica fume": found.m_fume}
    return {"all": found.m_cm, **{name: mass for name, mass in parts.items() if mass.magnitude > 0}}


def loads(mixes: Mixes, design: MixDesign, portion: Portion) -> MixerLoads:
    """Return the mixer batches of one patch, or of the volume that is wanted, and what goes into each."""
    want, item = mixes.inputs.mix, f"{portion.item}, {design.name}"
    mixer = want.load
    if want.batch_by == "whole bags":
        mixer = mixes.run(mix.whole_bag_load, item, V_mixer=want.load, C=design.masses["cement"], m_bag=want.bag).V_b
    found = mixes.run(mix.mixer_loads, item, V=portion.volume, V_mixer=mixer)
    each = mixer if want.batch_by == "whole bags" else found.V_load
    batch: Batch = mixes.run(
        mix.batch_for_volume, item, V=each, C=design.masses["cement"], B_ca=design.moist["coarse"],
        B_fa=design.moist["fine"], W_add=design.moist["water"],
    )  # fmt: skip
    binder = cementitious_of(mixes, design, item, each, batch.m_c)
    water = mixes.run(
        mix.mixer_water, item, m_w=batch.m_w, m_cm=binder["all"], w_cm=design.w_cm, w_cm_max=design.w_cm_most,
        q_held=want.held_back,
    )  # fmt: skip
    weights = weighed(mixes, design, item, batch, binder)
    for one in design.concrete.admixture:
        dose = mixes.run(mix.admixture_for_load, f"{item}, {one.name}", m_cm=binder["all"], dose=design.doses[one.name])
        weights.append(Weight(one.name, volume=dose))
    ends = mixes.run(mix.scale_limits, f"{item}, water", m=batch.m_w, q_tol=mixes.limit("tolerance_water").value)
    ice = (want.temperature.ice if want.temperature else 0 * design.moist["water"]) * each
    most = min(ends.m_high, max(water.m_most, batch.m_w))
    bags = mixes.run(mix.bags_opened, item, m_c=batch.m_c, m_bag=want.bag, n=found.n)
    return MixerLoads(
        portion.name, item, design, int(found.n.magnitude), each, batch, float(batch.m_c.m_as("kg") / want.bag.m_as("kg")), bags,
        weights, water, (ends.m_low, most), ice,
    )  # fmt: skip


def weighed(mixes: Mixes, design: MixDesign, item: str, batch: Batch, binder: dict[str, Quantity]) -> list[Weight]:
    """Return what is weighed for a load, in the order of charging: coarse, cementitious, fine."""
    cement = [(f"cement, type {design.cement_type}", batch.m_c)]
    cement += [(name, mass) for name, mass in binder.items() if name != "all"]
    lines: list[tuple[str, Quantity, AggregateRow | None, Quantity | None]] = [
        (design.coarse.aggregate, batch.m_ca, design.coarse, design.moisture["coarse"])
    ]
    lines += [(name, mass, None, None) for name, mass in cement if mass.magnitude > 0]
    lines += [(design.fine.aggregate, batch.m_fa, design.fine, design.moisture["fine"])]
    weights, box = [], mixes.inputs.mix.gauge_box
    for name, mass, row, moisture in lines:
        line = f"{item}, {name}"
        tolerance = mixes.limit("tolerance_aggregate" if row else "tolerance_cement").value
        limits = mixes.run(mix.scale_limits, line, m=mass, q_tol=tolerance)
        boxes = None
        if row is not None and box is not None:
            boxes = mixes.run(
                mix.gauge_boxes, line, m=mass, w=moisture, rho_l=row.loose_density, q_bulk=row.bulking, V_box=box
            ).n_box
        weights.append(Weight(name, mass, limits.m_low, limits.m_high, boxes))
    return weights
