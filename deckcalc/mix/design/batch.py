"""The batch on the day: moist masses, admixtures, the trial batch, mixer loads for every patch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from deckcalc import mix
from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Quantity
from deckcalc.mix.design.proportions import MixFact

if TYPE_CHECKING:
    from deckcalc.job import Job


@dataclass(frozen=True)
class Weight:
    """One line of a batch card.

    Attributes
    ----------
    material : str
    mass, low, high : Quantity or None
        Wanted, least and greatest reading of the scale.
    boxes : Quantity or None
        Level gauge boxes, where there is no scale.
    volume : Quantity or None
        Of a liquid that is measured by volume.
    """

    material: str
    mass: Any = None
    low: Any = None
    high: Any = None
    boxes: Any = None
    volume: Any = None


@dataclass(frozen=True)
class LoadPlan:
    """The loads of one patch, all alike.

    Attributes
    ----------
    patch : str
    fact : MixFact
    count : int
    volume : Quantity
        Of each load.
    weights : list of Weight
        In the order of charging: coarse, cementitious, fine, admixtures; the water stands by itself.
    water : object
        Result of `mix.mixer_water`.
    water_limits : tuple of Quantity
        Least and greatest reading for all of the water.
    ice : Quantity
        Ice, part of the water.
    """

    patch: str
    fact: MixFact
    count: int
    volume: Quantity
    weights: list[Weight]
    water: Any
    water_limits: tuple[Any, Any]
    ice: Any


def trial(job: Job, subject: Subject, fact: MixFact) -> None:
    """Work a trial batch of this concrete out, and take the adjusted mix over if it was accepted."""
    want = job.head.mix
    made = want.trial
    if made is None or made.of != fact.name:
        return
    item = f"trial batch, {fact.item}"
    absorbed = {"A_ca": fact.coarse.absorption, "A_fa": fact.fine.absorption}
    density = {
        "RD_c": fact.blend_density, "RD_ca": fact.saturated_density["coarse"],
        "RD_fa": fact.saturated_density["fine"], "rho_w": want.water_density,
    }  # fmt: skip
    used = subject.run(
        mix.unbatched, item, m_c=made.cementitious, m_ca=made.coarse, m_fa=made.fine, m_w=made.water,
        w_ca=made.moisture_coarse, w_fa=made.moisture_fine, **absorbed,
    )  # fmt: skip
    D = subject.run(
        mix.fresh_density, item, m_full=made.measure_full, m_empty=made.measure_empty, V_m=made.measure_volume
    ).D
    solid = subject.run(
        mix.absolute_volumes, item, m_c=made.cementitious, S_ca=used.S_ca, S_fa=used.S_fa, m_net=used.m_net, **density
    )
    found = subject.run(
        mix.measured_yield, item, m_total=used.m_total, D=D, V_d=made.designed_volume, m_c=made.cementitious,
        V_solid=solid.V_solid,
    )  # fmt: skip
    new = subject.run(
        mix.adjusted_mix, item, m_net=used.m_net, M_ca=used.M_ca, Y=found.Y, D=D, slump_m=made.slump,
        slump_w=fact.slump, air_m=made.air, air_w=fact.air, w_cm=fact.w_cm, **absorbed, **density, form=want.tables,
    )  # fmt: skip
    most = Limit(
        "w_cm", "greatest ratio by strength and exposure", fact.w_cm_most, units.kind_of(units.Ratio),
        "the proportions of this sheet",
    )  # fmt: skip
    subject.checks.append(
        Check(item, "water-cement ratio as batched", used.w_cm_used, most, why="try again with less water")
    )
    off, apart = abs(found.R_y - 1), abs(found.A - made.air)
    subject.checks += [
        Check(item, "relative yield away from one", off, job.limit("yield_within"), why="re-proportion, and try again"),
        Check(item, "air by mass away from the air meter", apart, job.limit("air_within"),
              why="weigh and measure again; a density, a moisture or the air meter is wrong"),
        Check(item, "air by the air meter, away from the design", abs(made.air - fact.air), job.limit("air_tolerance"),
              why="change the dose of the air-entraining admixture, and try again"),
    ]  # fmt: skip
    subject.decisions[item] = (
        "the batches follow the adjusted mix" if made.accepted
        else "the batches follow the mix as designed; the adjusted mix awaits the engineer"
    )  # fmt: skip
    if not made.accepted:
        return
    extra, share = fact.concrete.supplementary, {}
    for key, name in (("q_ash", "fly ash"), ("q_slag", "slag cement"), ("q_fume", "silica fume")):
        share[key] = fact.masses[name] / fact.cementitious
    fact.cementitious = new.C_n
    fact.masses |= {"water": new.W_n, "cement": new.C_n, "coarse": new.M_ca_n, "fine": new.M_fa_n}
    if any(value.magnitude for value in share.values()):
        parts = subject.run(
            mix.blend, f"adjusted {fact.item}", C_m=new.C_n, **share, RD_c=want.cement_density,
            RD_ash=extra.fly_ash_density, RD_slag=extra.slag_density, RD_fume=extra.silica_fume_density,
        )  # fmt: skip
        fact.masses |= {
            "cement": parts.M_c, "fly ash": parts.M_ash, "slag cement": parts.M_slag, "silica fume": parts.M_fume,
        }  # fmt: skip


def moist(job: Job, subject: Subject, fact: MixFact) -> None:
    """Masses as the aggregates lie, the water of the admixtures counted."""
    water = fact.masses["water"]
    for one in job.head.mix.admixture:
        water = subject.run(
            mix.admixture_water, f"{one.name}, {fact.item}", W=water, C_m=fact.cementitious, dose=one.dose,
            rho_a=one.density, s_a=one.solids,
        ).W_rest  # fmt: skip
    batch = subject.run(
        mix.batch_masses, f"batch, {fact.item}", W=water, M_ca=fact.masses["coarse"], M_fa=fact.masses["fine"],
        A_ca=fact.coarse.absorption, A_fa=fact.fine.absorption, w_ca=fact.moisture["coarse"],
        w_fa=fact.moisture["fine"],
    )  # fmt: skip
    fact.moist = {"water": batch.W_add, "coarse": batch.B_ca, "fine": batch.B_fa}
    fact.density = (batch.B_ca + batch.B_fa + batch.W_add + fact.masses["water"] - water + fact.cementitious).to(
        "kg/m³"
    )


def temperature(job: Job, subject: Subject, fact: MixFact) -> None:
    """Temperature of the fresh concrete, and the ice or water that brings it to what is wanted."""
    on_site = job.head.mix.temperature
    if on_site is None:
        return
    given = {
        "T_a": on_site.aggregate, "T_c": on_site.cement, "T_w": on_site.water, "M_ca": fact.masses["coarse"],
        "M_fa": fact.masses["fine"], "B_ca": fact.moist["coarse"], "B_fa": fact.moist["fine"],
        "W_c": fact.cementitious, "W_w": fact.moist["water"],
    }  # fmt: skip
    item = f"temperature, {fact.item}"
    need = subject.run(mix.wanted_temperature.form(job.system), item, T_want=on_site.wanted, **given)
    found = subject.run(mix.fresh_temperature.form(job.system), item, **given, W_i=on_site.ice)
    fact.temperature = found.T
    subject.checks += [
        Check(item, "fresh concrete not too warm", found.T, job.limit("concrete_hot"), why="ice, or cooler materials"),
        Check(item, "fresh concrete not too cold", found.T, job.limit("concrete_cold"), "at least", "warmer water"),
        Check(item, "ice as a share of the water added", on_site.ice / fact.moist["water"], job.limit("ice_share"),
              why="cool the aggregate instead"),
    ]  # fmt: skip
    ice = job.show(need.W_ice, units.Content)
    share = job.show(need.q_ice, units.Share)
    cooler = need.W_ice.magnitude > 0
    subject.decisions[item] = (
        f"without ice {job.show(need.T_0, units.Temperature)}; for {job.show(on_site.wanted, units.Temperature)} "
        + (f"{ice} of ice ({share} of the water added), or water at " if cooler else "water at ")
        + job.show(need.T_need, units.Temperature)
        + (" (not to be had: ice)" if need.T_need.m_as("degC") < 1 else "")
        + f"; with the ice of the job {job.show(found.T, units.Temperature)}"
    )


def cementitious(subject: Subject, fact: MixFact, item: str, volume: Any, cement: Any) -> dict[str, Any]:
    """Return the masses of the supplementary materials of a volume, and that of all cementitious material."""
    if fact.masses["cement"] is fact.cementitious:
        return {"all": cement}
    found = subject.run(
        mix.cementitious_for_load, item, V=volume, C_m=fact.cementitious, M_ash=fact.masses["fly ash"],
        M_slag=fact.masses["slag cement"], M_fume=fact.masses["silica fume"],
    )  # fmt: skip
    parts = {"fly ash": found.m_ash, "slag cement": found.m_slag, "silica fume": found.m_fume}
    return {"all": found.m_cm, **{name: mass for name, mass in parts.items() if mass.magnitude > 0}}


def plan(job: Job, subject: Subject, fact: MixFact, patch: str, volume: Quantity) -> LoadPlan:
    """Loads of one patch and what goes into each."""
    want, item = job.head.mix, f"patch {patch}, {fact.name}"
    mixer = want.load
    if want.batch_by == "whole bags":
        bags = subject.run(mix.whole_bag_load, item, V_mixer=want.load, C=fact.masses["cement"], m_bag=want.bag)
        mixer = bags.V_b
    loads = subject.run(mix.mixer_loads, item, V=volume, V_mixer=mixer)
    each = mixer if want.batch_by == "whole bags" else loads.V_load
    batch = subject.run(
        mix.batch_for_volume, item, V=each, C=fact.masses["cement"], B_ca=fact.moist["coarse"],
        B_fa=fact.moist["fine"], W_add=fact.moist["water"], m_bag=want.bag,
    )  # fmt: skip
    binder = cementitious(subject, fact, item, each, batch.m_c)
    water = subject.run(
        mix.mixer_water, item, m_w=batch.m_w, m_cm=binder["all"], w_cm=fact.w_cm, w_cm_max=fact.w_cm_most,
        q_held=want.held_back,
    )  # fmt: skip
    weights = []
    cement = [(f"cement, type {fact.cement_type}", batch.m_c)]
    cement += [(name, mass) for name, mass in binder.items() if name != "all"]
    lines: list[tuple[str, Any, str, Any, str]] = [
        (fact.coarse.aggregate, batch.m_ca, "tolerance_aggregate", fact.coarse, "coarse")
    ]
    lines += [(name, mass, "tolerance_cement", None, "") for name, mass in cement if mass.magnitude > 0]
    lines += [(fact.fine.aggregate, batch.m_fa, "tolerance_aggregate", fact.fine, "fine")]
    for name, mass, tolerance, row, use in lines:
        line = f"{item}, {name}"
        limits = subject.run(mix.scale_limits, line, m=mass, q_tol=job.limit(tolerance).value)
        boxes = None
        if row is not None and want.gauge_box is not None:
            boxes = subject.run(
                mix.gauge_boxes, line, m=mass, w=fact.moisture[use], rho_l=row.loose_density, q_bulk=row.bulking,
                V_box=want.gauge_box,
            ).n_box  # fmt: skip
        weights.append(Weight(name, mass, limits.m_low, limits.m_high, boxes))
    for one in want.admixture:
        dose = subject.run(mix.admixture_for_load, f"{item}, {one.name}", m_cm=binder["all"], dose=one.dose)
        weights.append(Weight(one.name, volume=dose))
    ends = subject.run(mix.scale_limits, f"{item}, water", m=batch.m_w, q_tol=job.limit("tolerance_water").value)
    ice = (want.temperature.ice if want.temperature else 0 * fact.moist["water"]) * each
    most = min(ends.m_high, max(water.m_most, batch.m_w))
    return LoadPlan(patch, fact, int(loads.n.magnitude), each, weights, water, (ends.m_low, most), ice)
