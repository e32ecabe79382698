"""Other proportions that satisfy what a mix must: what they cost, and the carbon embodied in them."""

from __future__ import annotations

from deckcalc.core.units import InputError
from deckcalc.mix.design.assessments import Alternatives
from deckcalc.mix.design.records import MixDesign, Mixes
from deckcalc.mix.design.uncertainty import number
from deckcalc.mix.formulas import solver

#: Ratios of water to cementitious material that are tried, from 0.8 of the maximum to the maximum.
RATIOS = 9
#: How far the coarse aggregate may be lowered for work with small tools.
COARSE_LEAST = 0.90


def alternatives_of(mixes: Mixes, design: MixDesign) -> Alternatives | None:
    """Find the cheapest proportions and those of minimum embodied carbon; None without factors, or if there are none."""
    want = mixes.inputs.mix
    if not want.factors:
        return None
    price: dict[str, float] = {one.material: one.price / number(one.per, "kg") for one in want.factors}
    carbon: dict[str, float] = {one.material: one.carbon for one in want.factors}
    demand = demand_of(mixes, design, price)
    ratios = [demand.w_cm * (0.8 + 0.2 * i / (RATIOS - 1)) for i in range(RATIOS)]
    try:
        cheapest = solver.best_by_ratio(demand, price, carbon, ratios, 0)
        least_carbon = solver.best_by_ratio(demand, price, carbon, ratios, 1)
        front = [solver.solve(demand, price, carbon, i / 8) for i in range(9)]
    except InputError as error:
        mixes.decisions[design.alternatives_item] = f"not covered: {error}"
        return None
    made = design.proportions
    share = {name: design.masses[name] / design.cementitious for name in solver.CEMENTITIOUS}
    masses = {name: part * made.C for name, part in share.items()} | {"coarse": made.M_ca, "fine": made.M_fa}
    floats = {name: number(mass, "kg/m^3") for name, mass in masses.items()}
    total = [
        sum(factors.get(name, 0.0) * mass for name, mass in {**floats, "water": demand.water}.items())
        for factors in (price, carbon)
    ]
    return Alternatives(cheapest, least_carbon, front, solver.Solved(floats, number(design.w_cm), *total))


def demand_of(mixes: Mixes, design: MixDesign, price: dict[str, float]) -> solver.Demand:
    """Return what the proportions must satisfy; a supplementary material counts where it has a price."""
    want, made = mixes.inputs.mix, design.proportions
    extra, water = design.concrete.supplementary, number(want.water_density, "kg/m^3")
    densities = {
        "cement": want.cement_density, "fly ash": extra.fly_ash_density, "slag cement": extra.slag_density,
        "silica fume": extra.silica_fume_density, "coarse": design.dry_density["coarse"],
        "fine": design.dry_density["fine"],
    }  # fmt: skip
    shares = {"fly ash": "fly_ash_share", "slag cement": "slag_share", "silica fume": "silica_fume_share"}
    coarse = number(made.M_ca, "kg/m^3")
    return solver.Demand(
        number(made.V_w) * water, number(made.V_a), number(design.w_cm_most),
        number(mixes.limit("least_cementitious").value, "kg/m^3"), (COARSE_LEAST * coarse, coarse),
        {name: number(mixes.limit(key).value) for name, key in shares.items() if name in price},
        number(mixes.limit("supplementary_share").value), number(mixes.limit("ash_and_fume_share").value),
        {name: number(value) * water for name, value in densities.items()}, water,
    )  # fmt: skip
