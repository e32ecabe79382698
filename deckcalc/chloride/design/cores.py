"""Chlorides at the bars of every core against the threshold, and how deep concrete above the threshold reaches."""

from __future__ import annotations

from deckcalc import chloride
from deckcalc.base.subject import joined
from deckcalc.chloride.design.results import Chlorides, CoreResult, SliceResult
from deckcalc.chloride.inputs import read_chloride
from deckcalc.chloride.inputs.rows import CoreRow, SliceRow
from deckcalc.core import units
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.tables import TableError
from deckcalc.core.units import Quantity

CEMENT = ("cement", "cementitious")


def content_of(chlorides: Chlorides, item: str, text: str) -> Quantity:
    """Bring a reading to mass per volume of concrete, by a calculation where its basis asks for one."""
    reading = read_chloride(text)
    return per_volume(chlorides, item, reading.value, reading.basis)


def threshold_content(chlorides: Chlorides) -> Quantity:
    """Return the threshold per volume of concrete, by a calculation where its basis asks for one."""
    return per_volume(chlorides, "threshold", chlorides.threshold.value, chlorides.threshold.basis)


def per_volume(chlorides: Chlorides, item: str, value: Quantity, basis: str) -> Quantity:
    """Return a value on any basis per volume of concrete."""
    found = value
    if basis == "concrete":
        found = chlorides.run(chloride.content_from_concrete_share, item, p=value, rho=chlorides.deck.unit_weight)
    elif basis in CEMENT:
        found = chlorides.run(chloride.content_from_cement_share, item, p=value, c=chlorides.deck.cement_content)
    return found


def design_core(chlorides: Chlorides, row: CoreRow, limit: Limit) -> None:
    """Work one core out, from its slices to what follows."""
    zone = next(zone for zone in chlorides.zones if zone.contains(row))
    core = chlorides.cores[row.core] = CoreResult(row, zone)
    core.slices = [read_slice(chlorides, one) for one in chlorides.inputs.chlorides if one.core == core.name]
    at_the_bar(chlorides, core, limit)
    removal(chlorides, core)


def read_slice(chlorides: Chlorides, row: SliceRow) -> SliceResult:
    """Bring a slice to content, and to content above background."""
    item = f"slice {row.slice}"
    content = content_of(chlorides, item, row.chloride)
    depth = chlorides.run(chloride.mid_depth, item, x_from=row.upper, x_to=row.lower)
    net = chlorides.run(chloride.above_background, item, C=content, C_b=chlorides.background)
    counted = content if chlorides.all_chloride else max(net, 0 * net)
    return SliceResult(row, item, depth, content, net, counted)


def at_the_bar(chlorides: Chlorides, core: CoreResult, limit: Limit) -> None:
    """Check the content at the bar of a core against the threshold."""
    title = f"chloride at the bar, {chlorides.inputs.chloride.counts.removeprefix('chloride ')}"
    try:
        upper, lower = (core.slices[k] for k in chloride.bracket(core.row.bar_depth, core.depths))
    except TableError as error:
        chlorides.decisions[core.item] = f"not covered: {error}"
        chlorides.checks.append(Check(core.item, title, None, limit, "less than", str(error)))
        return
    core.at_depth = chlorides.run(
        chloride.content_at_depth, core.item, x=core.row.bar_depth, x_1=upper.depth, C_1=upper.counted, x_2=lower.depth,
        C_2=lower.counted,
    )  # fmt: skip
    demand, deck = core.at_bar, chlorides.deck
    if chlorides.threshold.basis in CEMENT:
        demand = chlorides.run(chloride.cement_share, core.item, C=demand, c=deck.cement_content)
    elif chlorides.threshold.basis == "concrete":
        demand = chlorides.run(chloride.concrete_share, core.item, C=demand, rho=deck.unit_weight)
    one = Check(core.item, title, demand, limit, "less than", "remove to below the bars")
    core.reached = one.verdict != SATISFIED
    chlorides.checks.append(one)


def removal(chlorides: Chlorides, core: CoreResult) -> None:
    """Find how deep concrete above the threshold reaches, and say what follows for the core."""
    level = chlorides.threshold_content
    core.removal_case, place = chloride.removal_place(joined(core.counted).m_as("kg/m**3"), level.m_as("kg/m**3"))
    if core.removal_case == "between":
        above, below = core.slices[place], core.slices[place + 1]
        core.removal = chlorides.run(
            chloride.depth_at_content, core.item, x_1=above.depth, C_1=above.counted, x_2=below.depth, C_2=below.counted,
            C_L=level,
        ).x_L  # fmt: skip
        deep = f"concrete above the threshold reaches to {chlorides.show(core.removal, units.Length)}"
    elif core.removal_case == "none":
        deep = "no slice is above the threshold"
    else:
        last = chlorides.show(core.slices[-1].depth, units.Length)
        deep = f"the deepest slice, at {last}, is still above the threshold: take deeper samples"
    if core.reached is None:
        chlorides.decisions[core.item] += f"; {deep}"
        return
    at = "threshold reached at the bar: what is left round this bar can corrode it; remove it or protect the bar"
    chlorides.decisions[core.item] = f"{at if core.reached else 'below the threshold at the bar'}; {deep}"
