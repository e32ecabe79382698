"""Cost of the plan, and of its patches by the alternatives of the job, with spread; embodied carbon where factors are given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from deckcalc import closure
from deckcalc.base.subject import joined
from deckcalc.closure.design.loads import masses_with_factor, measured
from deckcalc.closure.design.results import ClosurePlan, CostEstimate, CostLine
from deckcalc.closure.design.steps import steps_of
from deckcalc.closure.formulas.cost import sampled
from deckcalc.closure.inputs import PRICED, Alternative, PriceRow
from deckcalc.core.units import quantity

PLAN = "the plan"
#: Unit of a total, by what it counts.
BASE = {"m of cut": "m", "area": "m²", "order": "m³", "deck": "m²"}


def priced_patches(plan: ClosurePlan) -> list[str]:
    """Return the patches of the plan; where nothing is planned, all of the job."""
    return [name for night in plan.planned for name in night.patches] or list(plan.loads)


def estimates(plan: ClosurePlan, names: Sequence[str]) -> None:
    """Work out the plan, then its patches by every other alternative; the first is the plan itself."""
    want, mine = plan.section, priced_patches(plan)
    if plan.inputs.prices:
        choices = want.alternatives or [Alternative.model_validate({"name": "planned", "what": "the plan of this job"})]
        if plan.planned:
            plan.estimate = estimate(plan, PLAN, choices[0], mine, len(plan.planned), plan.minutes / 60, False)
            plan.alternatives.append(plan.estimate)
        for one in choices[1 if plan.planned else 0 :]:
            closures = one.closures or len(plan.planned)
            if closures:
                item, stated = f"{one.name}, the same patches", one.closures is not None
                each = float(one.hours.m_as("h")) if one.hours is not None else longest(plan)
                plan.alternatives.append(estimate(plan, item, one, mine, closures, closures * each, stated))
        spread(plan)
    masses, known = masses_with_factor(plan, names)
    if masses:
        volume = quantity(sum(measured(plan, name)["order"] for name in names), "m³")
        plan.carbon = plan.run(
            closure.embodied_carbon, "all patches", m=joined(masses), f=quantity(known), V=volume
        )  # fmt: skip


def longest(plan: ClosurePlan) -> float:
    """Return the hours of the longest closure of the plan."""
    return max((one.length for one in plan.planned), default=0.0) / 60


def estimate(
    plan: ClosurePlan, item: str, choice: Alternative, names: Sequence[str], closures: int, hours: float, stated: bool
) -> CostEstimate:
    """Return an alternative with its cost at the likely prices; where its closures are stated, all patches share them."""
    want, each = plan.section, [measured(plan, name) for name in names]
    total = {key: sum(one[key] for one in each) for key in each[0]}
    total |= {"closures": closures, "hours": hours, "patches": len(names)}
    total["deck"] = float(choice.area.m_as("m²")) if choice.area is not None else total["area"]
    name, lines = "all" if choice.name == "planned" else choice.name, []
    for row in plan.inputs.prices:
        if row.counts(name) and (number := counted(plan, row, total, names, closures if stated else 0)):
            lines.append(CostLine(row, number))
    if not lines:
        return CostEstimate(item, choice, closures, hours, [])
    k_u = want.delay_price if choice.delay_price is None else choice.delay_price
    found = plan.run(
        closure.cost, item, q=quantity([line.amount for line in lines]), p=quantity([line.price.likely for line in lines]),
        t=quantity(float(hours), "h"), k_u=quantity(float(k_u), "1/h"),
    )  # fmt: skip
    by_unit = plan.run(
        closure.unit_cost, item, K=found.K, n=quantity(float(len(names))), A=quantity(float(total["area"]), "m²"),
        V=quantity(float(total["order"]), "m³"),
    )  # fmt: skip
    return CostEstimate(item, choice, closures, hours, lines, found, by_unit)


def counted(plan: ClosurePlan, row: PriceRow, total: dict[str, float], names: Sequence[str], closures: int) -> float:
    """Return the amount that a price counts, in its unit."""
    if row.per == "night in use":
        return float(in_use(plan, row.price, names, closures))
    key, unit = PRICED[row.per]
    number = float(total[key])
    return float(quantity(number, BASE[key]).m_as(unit)) if unit else number


def in_use(plan: ClosurePlan, crew: str, names: Sequence[str], closures: int) -> int:
    """Return the closures in which a crew or plant is in use: all of those stated, or the nights that want it."""
    if closures:
        return closures * any(crew in step.uses for step in steps_of(plan, names))
    return sum(any(crew in step.uses for step in night.network.steps) for night in plan.planned)


def spread(plan: ClosurePlan) -> None:
    """Draw all prices, and set beside each estimate what nine of ten samples lie between."""
    priced = [one for one in plan.alternatives if one.lines]
    if not priced:
        return
    prices = {row.price: row for row in plan.inputs.prices}
    table = np.zeros((len(priced), len(prices)))
    for i, one in enumerate(priced):
        for line in one.lines:
            table[i, list(prices).index(line.price.price)] = line.amount
    triples = [(row.least, row.likely, row.most) for row in prices.values()]
    delay = np.array([float(one.cost.K_u.m_as("")) for one in priced if one.cost])
    drawn = sampled(table, triples, delay, plan.section.samples, plan.section.seed)
    low, high = np.quantile(drawn, [0.05, 0.95], axis=1)
    cheapest = np.mean(drawn <= drawn.min(axis=0), axis=1)
    made = iter(
        replace(one, low=float(a), high=float(b), cheapest=float(share))
        for one, a, b, share in zip(priced, low, high, cheapest, strict=True)
    )
    plan.alternatives = [next(made) if one.lines else one for one in plan.alternatives]
    if plan.estimate:
        plan.estimate = plan.alternatives[0]
