"""Beside the batches: early strength, prepackaged mortar, how sure the batch is, and what other proportions would cost."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from deckcalc import mix
from deckcalc.base.fields import PARTIAL
from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import InputError, Quantity
from deckcalc.mix.design.proportions import MixFact
from deckcalc.mix.formulas import solver
from deckcalc.mix.formulas import uncertainty as sampling

if TYPE_CHECKING:
    from deckcalc.job import Job

AGES = (1, 3, 7, 28)
STEPS = 9
#: How far the coarse aggregate may be lowered for work with small tools.
COARSE_LEAST = 0.90


@dataclass(frozen=True)
class Spread:
    """What scale and moisture leave open of a mix.

    Attributes
    ----------
    w_cm, yield_ : tuple of float
        Values below which 5, 50 and 95 of 100 drawn loads lie; the yield relative to the design.
    single : list of tuple
        Cause, size of the error in words, and ratio and relative yield with that error alone.
    drawn : int
    """

    w_cm: tuple[float, float, float]
    yield_: tuple[float, float, float]
    single: list[tuple[str, str, float, float]] = field(default_factory=list)
    drawn: int = 0


@dataclass(frozen=True)
class TradeOff:
    """Admissible mixes by ratio: the cheapest and the least emitting, and between both at the greatest ratio.

    Attributes
    ----------
    cheapest, leanest : list of Solved
        One for each ratio of water to cementitious material.
    front : list of Solved
        At the greatest ratio, from the cheapest to the least emitting.
    present : Solved
        The mix as designed, before its trial batch.
    """

    cheapest: list[solver.Solved]
    leanest: list[solver.Solved]
    front: list[solver.Solved]
    present: solver.Solved


def early(subject: Subject, fact: MixFact) -> None:
    """Strength at early ages by the type of cement, as published curves have it."""
    for age in AGES:
        t, item = units.registry().Quantity(age, "day"), f"{fact.name}, {age} d"
        found = subject.run(mix.strength_at_age, item, f_28=fact.strength, t=t, cement="I")
        if fact.cement_type == "III":
            subject.run(mix.type_iii_strength, item, f_i=found.f_t, t=t)
            subject.run(mix.strength_at_age, f"{item}, curve of type III", f_28=fact.strength, t=t, cement="III")


def mortar(job: Job, subject: Subject) -> None:
    """Bags of prepackaged mortar for each partial-depth patch, extended where the maker admits it."""
    product = job.head.mix.mortar
    if product is None:
        return
    rows = {row.aggregate: row for row in job.file.rows["aggregates"]}
    row = rows[product.aggregate]
    density = subject.run(
        mix.relative_densities, f"{row.aggregate}, prepackaged mortar", RD=row.relative_density, A=row.absorption,
        basis=row.density_basis,
    ).RD_s  # fmt: skip
    most = Limit(
        "extension_most", f"most aggregate by the maker of {product.product}", product.extension_most,
        units.kind_of(units.Share), product.source, "engineer",
    )  # fmt: skip
    subject.checks.append(
        Check("prepackaged mortar", "aggregate added to a bag", product.extension, most, why="less aggregate")
    )
    for patch, (volume, depth) in patches(job).items():
        if job.patch.depth_class[patch] != PARTIAL:
            continue
        item, extended = f"patch {patch}, prepackaged mortar", depth >= product.extend_from * (1 - 1e-9)
        found = subject.run(
            mix.extended_mortar, item, V=volume, m_bag=product.bag, V_neat=product.neat_yield,
            q_ext=product.extension if extended else 0 * product.extension, RD_ag=density, m_w=product.water,
            rho_w=job.head.mix.water_density,
        )  # fmt: skip
        shown = job.show(depth, units.Length), job.show(product.extend_from, units.Length)
        subject.decisions[item] = (
            f"{found.n.magnitude:.0f} bags, {'extended' if extended else 'neat'}: {shown[0]} deep, "
            f"{'not less' if extended else 'less'} than {shown[1]}"
        )


def patches(job: Job) -> dict[str, tuple[Quantity, Quantity]]:
    """Return the volume to order and the depth of every patch."""
    return {
        run.item.removeprefix("patch "): (run.result.V_order, run.arguments["h"])
        for run in job.patch.runs
        if run.calculation.name == "patch_volume"
    }


def number(quantity: Any, unit: str = "") -> float:
    """Return the number of a quantity in a unit."""
    return float(quantity.m_as(unit)) if isinstance(quantity, Quantity) else float(quantity)


def spread(job: Job, fact: MixFact) -> Spread | None:
    """Draw loads with the errors of the scale and of the moistures."""
    doubt = job.head.mix.doubt
    if doubt is None:
        return None
    water = number(job.head.mix.water_density, "kg/m^3")
    content = {key: number(value, "kg/m^3") for key, value in fact.moist.items()}
    saturated = {key: number(value) * water for key, value in fact.saturated_density.items()}
    absorbed = number(fact.coarse.absorption), number(fact.fine.absorption)
    moisture = number(fact.moisture["coarse"]), number(fact.moisture["fine"])
    net = number(fact.masses["water"], "kg/m^3")
    cement = number(fact.cementitious, "kg/m^3")
    # the water of the admixtures goes in with the water added
    added = net - sum(
        content[key] * (w - a) / (1 + w) for key, w, a in zip(("coarse", "fine"), moisture, absorbed, strict=True)
    )
    load = sampling.Load(
        cement, content["coarse"], content["fine"], added, *moisture, *absorbed,
        number(fact.blend_density) * water, saturated["coarse"], saturated["fine"], water, number(fact.air),
    )  # fmt: skip
    scale = {key: number(job.limit(f"tolerance_{key}").value) for key in ("cement", "aggregate", "water")}
    errors = sampling.Errors(
        scale["cement"], scale["aggregate"], scale["water"], number(doubt.moisture_coarse), number(doubt.moisture_fine),
        number(doubt.air),
    )  # fmt: skip
    base, drawn = sampling.outcome(load), sampling.sample(load, errors)
    causes = [
        ("scale, cementitious material", errors.cement, {"e_c": -errors.cement}),
        ("scale, coarse aggregate", errors.aggregate, {"e_ca": errors.aggregate}),
        ("scale, fine aggregate", errors.aggregate, {"e_fa": errors.aggregate}),
        ("scale, water", errors.water, {"e_w": errors.water}),
        ("moisture of the coarse aggregate", errors.moisture_coarse, {"d_ca": errors.moisture_coarse}),
        ("moisture of the fine aggregate", errors.moisture_fine, {"d_fa": errors.moisture_fine}),
        ("air", errors.air, {"d_air": errors.air}),
    ]
    single = []
    for name, size, change in causes:
        sign = "less" if next(iter(change.values())) < 0 else "more"
        alone = sampling.outcome(load, **change)
        single.append((name, f"{100 * size:.2g} % {sign}", float(alone.w_cm), float(alone.volume) / float(base.volume)))
    return Spread(sampling.band(drawn.w_cm), sampling.band(drawn.volume / float(base.volume)), single, len(drawn.w_cm))


def trade(job: Job, subject: Subject, fact: MixFact) -> TradeOff | None:
    """Find the cheapest and the least emitting proportions that satisfy what this mix must."""
    want = job.head.mix
    if not want.factors:
        return None
    price: dict[str, float] = {one.material: one.price / number(one.per, "kg") for one in want.factors}
    carbon: dict[str, float] = {one.material: one.carbon for one in want.factors}
    made = next(run.result for run in subject.runs_of(mix.proportions) if run.item == fact.item)
    extra, water = fact.concrete.supplementary, number(want.water_density, "kg/m^3")
    densities = {
        "cement": want.cement_density, "fly ash": extra.fly_ash_density, "slag cement": extra.slag_density,
        "silica fume": extra.silica_fume_density, "coarse": fact.dry_density["coarse"],
        "fine": fact.dry_density["fine"],
    }  # fmt: skip
    shares = {"fly ash": "fly_ash_share", "slag cement": "slag_share", "silica fume": "silica_fume_share"}
    coarse = number(made.M_ca, "kg/m^3")
    demand = solver.Demand(
        number(made.V_w) * water, number(made.V_a), number(fact.w_cm_most),
        number(job.limit("least_cementitious").value, "kg/m^3"), (COARSE_LEAST * coarse, coarse),
        {name: number(job.limit(key).value) for name, key in shares.items() if name in price},
        number(job.limit("supplementary_share").value), number(job.limit("ash_and_fume_share").value),
        {name: number(value) * water for name, value in densities.items()}, water,
    )  # fmt: skip
    ratios = [demand.w_cm * (0.8 + 0.2 * i / (STEPS - 1)) for i in range(STEPS)]
    try:
        cheapest = solver.trade_off(demand, price, carbon, ratios, 0)
        leanest = solver.trade_off(demand, price, carbon, ratios, 1)
        front = [solver.solve(demand, price, carbon, i / 8) for i in range(9)]
    except InputError as error:
        subject.decisions[f"other proportions, {fact.item}"] = f"outside the method: {error}"
        return None
    share = {name: fact.masses[name] / fact.cementitious for name in solver.CEMENTITIOUS}
    masses = {name: part * made.C for name, part in share.items()} | {"coarse": made.M_ca, "fine": made.M_fa}
    floats = {name: number(mass, "kg/m^3") for name, mass in masses.items()}
    total = [
        sum(factors.get(name, 0.0) * mass for name, mass in {**floats, "water": demand.water}.items())
        for factors in (price, carbon)
    ]
    return TradeOff(cheapest, leanest, front, solver.Solved(floats, number(fact.w_cm), *total))
