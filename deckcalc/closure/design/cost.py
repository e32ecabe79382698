"""Cost of this closure and of all patches, by the alternatives of the job, with spread; embodied carbon where factors are given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from deckcalc import closure
from deckcalc.base.subject import joined
from deckcalc.closure.design.steps import amounts, q, steps_of
from deckcalc.closure.formulas.cost import sampled
from deckcalc.closure.inputs import PRICED, Alternative, PriceRow
from deckcalc.core.units import registry

if TYPE_CHECKING:
    from deckcalc.closure.design import Plan
    from deckcalc.job import Job

THIS = "this closure"


@dataclass(frozen=True)
class Way:
    """One alternative for all patches, or this closure alone.

    Attributes
    ----------
    item : str
    choice : Alternative
    closures : int
    hours : float
        All closures together.
    rows : list of PriceRow
        Prices that count.
    amounts : list of float
        Each in the unit of its price.
    cost, unit_cost : record
    low, high : float
        Between what nine of ten samples of the prices lie.
    cheapest : float
        Share of the samples in which it is the cheapest of the alternatives.
    """

    item: str
    choice: Alternative
    closures: int
    hours: float
    rows: list[PriceRow]
    amounts: list[float]
    cost: Any
    unit_cost: Any
    low: float = 0.0
    high: float = 0.0
    cheapest: float = 0.0


def carry(job: Job, subject: Plan, names: Sequence[str]) -> None:
    """Work out this closure, then all patches by every alternative."""
    want = subject.choice
    assert want
    if subject.prices:
        ways = want.alternatives or [Alternative.model_validate({"name": "planned", "what": want.mix})]
        subject.ways.append(way(job, subject, THIS, ways[0], list(want.tonight), 1, subject.length / 60))
        for one in ways:
            closures = one.closures or len(subject.each)
            if closures:
                each = float(one.hours.m_as("h")) if one.hours is not None else subject.length / 60
                item = f"{one.name}, all patches"
                subject.ways.append(way(job, subject, item, one, list(names), closures, closures * each))
        spread(subject)
    if job.head.mix.factors:
        carbon(job, subject, names)


def way(
    job: Job, subject: Plan, item: str, choice: Alternative, names: list[str], closures: int, hours: float
) -> Way:  # fmt: skip
    """Return an alternative with its cost at the likely prices."""
    want = subject.choice
    assert want
    measured = [amounts(job, name) for name in names]
    total = {key: sum(one[key] for one in measured) for key in measured[0]}
    total |= {"closures": closures, "hours": hours, "patches": len(names)}
    total["deck"] = float(choice.area.m_as("m²")) if choice.area is not None else total["area"]
    base = {"m of cut": "m", "area": "m²", "order": "m³", "deck": "m²"}
    rows, found = [], []
    for row in subject.prices:
        if not row.counts("all" if choice.name == "planned" else choice.name):
            continue
        key, unit = PRICED[row.per]
        if row.per == "night in use":
            much = float(in_use(job, subject, item, row.price, names, closures if choice.closures else 0))
        else:
            much = float(total[key])
            much = float(registry().Quantity(much, base[key]).m_as(unit)) if unit else much
        if much:
            rows.append(row)
            found.append(much)
    if not rows:
        return Way(item, choice, closures, hours, [], [], None, None)
    k_u = want.delay_price if choice.delay_price is None else choice.delay_price
    cost = subject.run(
        closure.cost, item, q=registry().Quantity(found, ""), p=registry().Quantity([row.likely for row in rows], ""),
        t=q(hours, "h"), k_u=q(k_u, "1/h"),
    )  # fmt: skip
    each = subject.run(
        closure.unit_cost, item, K=cost.K, n=q(len(names)), A=q(total["area"], "m²"), V=q(total["order"], "m³")
    )
    return Way(item, choice, closures, hours, rows, found, cost, each)


def in_use(job: Job, subject: Plan, item: str, crew: str, names: list[str], closures: int) -> int:
    """Return the nights on which a crew or plant is in use."""
    if closures or item == THIS:
        return (closures or 1) * any(crew in step.uses for step in steps_of(job, subject, names))
    return sum(any(crew in step.uses for step in night.network.steps) for night in subject.each)


def spread(subject: Plan) -> None:
    """Draw all prices, and set beside each way what nine of ten samples lie between."""
    want = subject.choice
    assert want
    done = [one for one in subject.ways if one.rows]
    if not done:
        return
    prices = {row.price: row for row in subject.prices}
    table = np.zeros((len(done), len(prices)))
    for i, one in enumerate(done):
        for row, amount in zip(one.rows, one.amounts, strict=True):
            table[i, list(prices).index(row.price)] = amount
    triples = [(row.least, row.likely, row.most) for row in prices.values()]
    extra = np.array([float(one.cost.K_u.m_as("")) for one in done])
    drawn = sampled(table, triples, extra, want.samples, want.seed)
    whole = [i for i, one in enumerate(done) if one.item != THIS]
    best = drawn[whole].min(axis=0) if whole else None
    low, high = np.quantile(drawn, [0.05, 0.95], axis=1)
    made = {
        one.item: replace(
            one, low=float(low[i]), high=float(high[i]),
            cheapest=float(np.mean(drawn[i] <= best)) if best is not None and i in whole else 0.0,
        ) for i, one in enumerate(done)
    }  # fmt: skip
    subject.ways = [made.get(one.item, one) for one in subject.ways]


def carbon(job: Job, subject: Plan, names: Sequence[str]) -> None:
    """Carbon embodied in the concrete of all patches."""
    factors = {one.material: one.carbon for one in job.head.mix.factors}
    masses, known = [], []
    for plan in (one for name, one in job.mix.loads.items() if name in names):
        kinds = {plan.mix.coarse.aggregate: "coarse", plan.mix.fine.aggregate: "fine"}
        for weight in plan.weights:
            kind = "cement" if weight.material.startswith("cement") else kinds.get(weight.material, weight.material)
            if weight.mass is not None and kind in factors:
                masses.append(plan.count * weight.mass)
                known.append(factors[kind])
    if masses:
        volume = sum(amounts(job, name)["order"] for name in names)
        subject.run(
            closure.embodied_carbon,
            "all patches",
            m=joined(masses),
            f=registry().Quantity(known, ""),
            V=q(volume, "m³"),
        )
