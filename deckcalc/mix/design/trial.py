"""The trial batch: what it yields, how it differs from the design, and the mix adjusted by it."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.mix.design.proportions import cementitious_checks
from deckcalc.mix.design.records import MixDesign, Mixes
from deckcalc.mix.formulas.trial import AdjustedMix


def trial_batch(mixes: Mixes, design: MixDesign) -> None:
    """Work out a trial batch of this concrete, and take over the adjusted mix if it was accepted."""
    want = mixes.inputs.mix
    made = design.concrete.trial
    if made is None:
        return
    item = design.trial_item
    absorbed = {"A_ca": design.coarse.absorption, "A_fa": design.fine.absorption}
    density = {
        "RD_c": design.blend_density, "RD_ca": design.saturated_density["coarse"],
        "RD_fa": design.saturated_density["fine"], "rho_w": want.water_density,
    }  # fmt: skip
    water = made.water
    if not water.check("[mass]"):
        water = mixes.run(mix.water_mass, item, V_w=water, rho_w=want.water_density)
    used = mixes.run(
        mix.unbatched, item, m_c=made.cementitious, m_ca=made.coarse, m_fa=made.fine, m_w=water,
        w_ca=made.moisture_coarse, w_fa=made.moisture_fine, **absorbed,
    )  # fmt: skip
    D = mixes.run(
        mix.fresh_density, item, m_full=made.measure_full, m_empty=made.measure_empty, V_m=made.measure_volume
    ).D
    solid = mixes.run(
        mix.absolute_volumes, item, m_c=made.cementitious, S_ca=used.S_ca, S_fa=used.S_fa, m_net=used.m_net, **density
    )
    found = mixes.run(
        mix.measured_yield, item, m_total=used.m_total, D=D, V_d=made.designed_volume, m_c=made.cementitious
    )
    air = mixes.run(mix.air_by_mass, item, m_total=used.m_total, D=D, V_solid=solid.V_solid)
    new = mixes.run(
        mix.adjusted_mix, item, m_net=used.m_net, M_ca=used.M_ca, Y=found.Y, D=D, slump_m=made.slump,
        slump_w=design.slump, air_m=made.air, air_w=design.air, w_cm=design.w_cm, **absorbed, **density, form=want.tables,
    )  # fmt: skip
    most = Limit(
        "w_cm", "maximum ratio by strength and exposure", design.w_cm_most, units.kind_of(units.Ratio),
        "the proportions of this sheet",
    )  # fmt: skip
    mixes.checks.append(
        Check(item, "water-cement ratio as batched", used.w_cm_used, most, why="try again with less water")
    )
    off, apart = abs(found.R_y - 1), abs(air.A - made.air)
    mixes.checks += [
        Check(item, "relative yield away from one", off, mixes.limit("yield_within"), why="re-proportion, and try again"),
        Check(item, "air by mass away from the air meter", apart, mixes.limit("air_within"),
              why="weigh and measure again; a density, a moisture or the air meter is wrong"),
        Check(item, "air by the air meter, away from the design", abs(made.air - design.air), mixes.limit("air_tolerance"),
              why="change the dose of the air-entraining admixture, and try again"),
    ]  # fmt: skip
    mixes.decisions[item] = (
        "the batches follow the adjusted mix" if made.accepted
        else "the batches follow the mix as designed; the adjusted mix awaits the engineer"
    )  # fmt: skip
    if not made.accepted:
        return
    take_over(mixes, design, new)


def take_over(mixes: Mixes, design: MixDesign, new: AdjustedMix) -> None:
    """Let the batches follow the adjusted mix, its cementitious material in the parts of the design."""
    extra, share = design.concrete.supplementary, {}
    for key, name in (("q_ash", "fly ash"), ("q_slag", "slag cement"), ("q_fume", "silica fume")):
        share[key] = design.masses[name] / design.cementitious
    design.adjusted, design.cementitious = True, new.C_n
    mixes.checks += cementitious_checks(mixes, design.adjusted_item, new.C_n)
    design.masses |= {"water": new.W_n, "cement": new.C_n, "coarse": new.M_ca_n, "fine": new.M_fa_n}
    if extra.used:
        parts = mixes.run(
            mix.blend, design.adjusted_item, C_m=new.C_n, **share, RD_c=mixes.inputs.mix.cement_density,
            RD_ash=extra.fly_ash_density, RD_slag=extra.slag_density, RD_fume=extra.silica_fume_density,
        )  # fmt: skip
        design.masses |= {
            "cement": parts.M_c, "fly ash": parts.M_ash, "slag cement": parts.M_slag, "silica fume": parts.M_fume,
        }  # fmt: skip
