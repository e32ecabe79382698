"""Sheet of the closure: what is loaded, tools with their limits, cost, alternatives, carbon."""

from __future__ import annotations

from typing import Any

from deckcalc.closure.design import ClosurePlan
from deckcalc.closure.design.cost import PLAN, priced_patches
from deckcalc.closure.design.loads import KINDS, bags_of_patch, shown
from deckcalc.closure.design.results import NOT_CARRIED, CostEstimate, Loads, StockLine
from deckcalc.closure.sheet.present import where_present
from deckcalc.core import units
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain

COLUMNS = 8  # patches side by side
NIGHTS = 4  # closures side by side


def symbol(plan: ClosurePlan, unit: str) -> str:
    """Return the unit in which an amount is printed."""
    return units.kind_of(KINDS[unit]).symbol(plan.system)


def bare(plan: ClosurePlan, number: float, unit: str) -> str:
    """Print an amount without its unit."""
    return units.cell(units.quantity(number, unit), KINDS[unit], plan.system)


def cell(plan: ClosurePlan, loads: Loads, material: str) -> str:
    """Print an amount of a list without its unit; a dash where there is none."""
    return bare(plan, *loads[material]) if material in loads else "–"


def named(plan: ClosurePlan, line: StockLine) -> str:
    """Return a material with the unit of its row."""
    unit = symbol(plan, line.amount.unit)
    return plain(f"{line.material}, {unit}" if unit else line.material)


@where_present
def by_patch(plan: ClosurePlan) -> Text:
    """What every patch takes, without spare."""
    names, parts = list(plan.loads), []
    for start in range(0, len(names), COLUMNS):
        some = names[start : start + COLUMNS]
        rows = []
        for line in plan.stock:
            cells = [cell(plan, plan.loads[name], line.material) for name in some]
            if set(cells) != {"–"}:
                rows.append([named(plan, line), *cells])
        parts.append(pipe_table(["material", *some], rows))
    bags = {name: bags_of_patch(plan, name) for name in names}
    if any(bags.values()):
        said = ", ".join(f"{name} {count}" for name, count in bags.items() if count)
        parts.append(f"Bags of cement, opened batch by batch and whole: {said}.")
    for night in plan.planned:
        said = "; ".join(
            f"{material} {shown(plan, *amount)}"
            for material, amount in plan.of_closure[night.name].items()
            if amount.number
        )
        if said:
            parts.append(f"Beside its patches {plain(night.name)} takes: {plain(said)}.")
    lead = (
        "Amounts without spare, waste of the concrete included; each comes from the sheet that worked it out. Forms are counted for "
        "every hole by itself; what is used again is brought once. Curing water stands on the sheet of curing."
    )
    return block([lead, *parts])


@where_present
def to_order(plan: ClosurePlan) -> Text:
    """What is ordered for the closures of the plan, and what of it is loaded for each, spare included."""
    if not plan.stock:
        return Text("")
    parts = []
    for start in range(0, len(plan.planned), NIGHTS):
        nights = plan.planned[start : start + NIGHTS]
        rows = []
        for line in plan.stock:
            cells = [night_cell(plan, line, night.name, plan.loads_of(night)) for night in nights]
            amount = shown(plan, plan.with_spare(line.material, line.amount), line.amount.unit)
            rows.append([plain(line.material), amount, ordered(plan, line), *cells])
        heads = ["material", "amount", "to order", *(f"{night.name}: {', '.join(night.patches)}" for night in nights)]
        parts.append(pipe_table(heads, rows, "lrl" + "r" * len(nights)))
    spare = plan.show(plan.section.spare, units.Share, 0)
    lead = (
        f"For patches {', '.join(plan.loads)}. A spare of {spare} is in every amount but debris, concrete to mix and pieces. Under each "
        "closure stand the containers to load, or the amount where there are none. *Not kept*: what is opened in one closure is not used "
        "in the next. Each batch of concrete opens whole bags of cement."
    )
    from_where = sorted({line.source for line in plan.stock if line.source})
    return block([lead, *parts, f"Containers by {plain('; '.join(from_where))}." if from_where else ""])


def ordered(plan: ClosurePlan, line: StockLine) -> str:
    """Print what is ordered of a material: whole containers, or loose."""
    if not line.number:
        return "–" if line.material in NOT_CARRIED else "loose" if line.amount.unit else "pieces"
    held = contents_of(plan, line)
    return f"**{line.number}** × {plain(line.container)}{f' of {held}' if held else ''}{'' if line.keeps else ', not kept'}"


def night_cell(plan: ClosurePlan, line: StockLine, night: str, loads: Loads) -> str:
    """Print what is loaded of a material for a night: containers, or the amount; a dash where it takes none."""
    if line.material not in loads:
        return "–"
    amount = loads[line.material]
    if line.container and night in line.by_night:
        return f"**{line.by_night[night]}**"
    return shown(plan, plan.with_spare(line.material, amount), amount.unit)


def contents_of(plan: ClosurePlan, line: StockLine) -> str:
    """Print what a container holds."""
    if line.contents is None:
        return ""
    unit = next(unit for unit in KINDS if line.contents.is_compatible_with(unit) and unit != "mL")
    return plan.show(line.contents, KINDS[unit])


@where_present
def trucks(plan: ClosurePlan) -> Text:
    """Mass that is carried to and from the bridge."""
    want = plan.section
    if want.payload is None:
        return Text("")
    rows = [
        [
            plain(one.item), plan.show(one.mass, units.Mass, 0), f"{one.loads.n.m_as(''):.0f}",
            plan.show(one.loads.u, units.Share, 0),
        ] for one in plan.trucks
    ]  # fmt: skip
    lead = (
        f"{want.trucks} truck{'s' if want.trucks > 1 else ''} with a payload of {plan.show(want.payload, units.Mass, 0)}. Counted are cement, aggregate, water, "
        "admixtures, what is weighed in the stock list and bars, in whole containers with what they hold, spare included; not the "
        "containers themselves, tools, lumber, fuel, curing water and people."
    )
    return block([lead, pipe_table(["what", "mass", "truck loads", "of their payload"], rows)])


@where_present
def equipment(plan: ClosurePlan) -> Text:
    """Tools and machines with the limits that matter."""
    rows = []
    for tool in plan.tools:
        row = tool.row
        value = limit = ""
        if tool.limit:
            value = plan.show(tool.value, tool.limit.kind)
            limit = f"{tool.limit.meaning}: {plan.show(tool.limit.value, tool.limit.kind)}"
        hours = f"{tool.hours:.1f} h" if tool.hours else ""
        fuel = f"{row.fuel}, {plan.show(tool.fuel, units.Liquid, 1)}" if tool.fuel is not None else ""
        rows.append([str(row.number), plain(row.work), value, limit, hours, plain(fuel)])
    if not rows:
        return Text("")
    heads = ["no.", "tool or machine", "mass", "limit", "hours, all closures", "fuel"]
    dated = sorted({f"{tool.row.source}, {tool.row.date.isoformat()}" for tool in plan.tools})
    lead = f"A breaker heavier than its limit cracks sound concrete and damages bars. From {plain('; '.join(dated))}."
    return block([lead, pipe_table(heads, rows, "rlrlrl")])


def printed(amount: float, price: float, cost: float) -> tuple[str, str]:
    """Return amount and price with the decimals with which their product comes to the cost as printed."""
    exact = units.exact_decimals(price, 2) is not None
    for places in range(2, 8):
        pair = units.fixed(amount, places), units.fixed(price, 2 if exact else places)
        if abs(float(pair[0]) * float(pair[1]) - float(units.fixed(cost, 2))) <= 0.005:
            break
    return pair


def by_unit(plan: ClosurePlan, value: Any, kind: Any) -> str:
    """Print a price of a unit of area or volume."""
    unit = units.kind_of(kind).symbol(plan.system)
    return f"{plan.show(value, kind, 0).removesuffix(unit).strip()} per {unit.removeprefix('1/')}"


def money(value: float) -> str:
    """Print a sum of money in whole units of the currency."""
    return units.fixed(float(value), 0)


@where_present
def cost(plan: ClosurePlan) -> Text:
    """Cost of the plan, price by price."""
    one, want = plan.estimate, plan.section
    if one is None or one.cost is None or one.unit_cost is None:
        return Text("")
    first = f"{closures(one.closures)}, {units.fixed(one.hours, 2)} h, {mine(plan)}."
    rows = []
    for line in one.lines:
        row, (low, likely, high) = line.price, line.cost
        number, price = printed(line.amount, row.likely, likely)
        rows.append([
            plain(row.work), number, row.per, price, units.fixed(likely, 2), f"{money(low)} to {money(high)}",
            row.date.isoformat(),
        ])  # fmt: skip
    direct, delay, both = (units.fixed(float(value.m_as("")), 2) for value in (one.cost.K_d, one.cost.K_u, one.cost.K))
    hours, rate = units.fixed(one.hours, 2), units.fixed(want.delay_price, 2)
    rows += [
        ["**direct cost**", "", "", "", f"**{direct}**", "", ""],
        ["delay of road users", hours, "hour", rate, delay, "", ""],
        ["**with delay**", "", "", "", f"**{both}**", "", ""],
    ]
    heads = [
        "what",
        "amount",
        "per",
        f"price [{plain(want.currency)}]",
        f"cost [{plain(want.currency)}]",
        "minimum to maximum",
        "dated",
    ]
    each = one.unit_cost
    said = (
        f"With delay, {plain(want.currency)}: {plan.show(each.K_n, units.Price, 0)} a patch, {by_unit(plan, each.K_A, units.AreaPrice)}, "
        f"{by_unit(plan, each.K_V, units.VolumePrice)} of concrete. Nine of ten samples of the prices lie between "
        f"{money(one.low)} and {money(one.high)}."
    )
    return block([first, pipe_table(heads, rows, "lrlrrrr"), said])


def mine(plan: ClosurePlan) -> str:
    """Say which patches are priced, and which are not."""
    priced = priced_patches(plan)
    left = [name for name in plan.loads if name not in priced]
    return f"patches {', '.join(priced)}" + (f" (not in the plan, and not priced: {', '.join(left)})" if left else "")


@where_present
def alternatives(plan: ClosurePlan) -> Text:
    """What the plan costs, and alternatives for the same patches."""
    every = plan.alternatives or ([plan.estimate] if plan.estimate and plan.estimate.cost else [])
    if not every:
        return Text("")
    lead = (
        f"{mine(plan)[0].upper()}{mine(plan)[1:]}, in {plain(plan.section.currency)}, at the likely prices of prices.csv; each with the delay that its "
        "own hours cause. The samples draw every price from the triangle between its three values; “cheapest” is the share of "
        "samples in which a way is the cheapest."
    )
    said = "\n".join(f"- **{one.alternative.name}**: {plain(words(plan, one))}." for one in every)
    unpriced = [one.alternative.name for one in every if not one.lines]
    none = f"Without prices in prices.csv: {', '.join(unpriced)}." if unpriced else ""
    heads = ["way", "closures, hours", "direct", "delay", "both", "nine of ten samples", "cheapest"]
    return block([lead, said, pipe_table(heads, [alternative(one) for one in every], "llrrrrr"), none, carbon(plan)])


def closures(number: int) -> str:
    """Print a number of closures."""
    return f"{number} closure{'s' if number != 1 else ''}"


def words(plan: ClosurePlan, one: CostEstimate) -> str:
    """Say what a way is; of the plan itself, what it is by placements.csv or by the proposal."""
    if one.item != PLAN:
        return one.alternative.what
    concretes = dict.fromkeys(plan.trades.mix.for_patch(name).name for name in priced_patches(plan))
    which = "the adopted plan" if plan.work.adopted else "the plan that is proposed, not adopted"
    return f"{which}, {closures(len(plan.planned))}, concrete {', '.join(concretes)}"


def alternative(one: CostEstimate) -> list[str]:
    """Return the row of an alternative."""
    lead = [one.alternative.name, f"{one.closures}, {one.hours:g} h"]
    if one.cost is None:
        return [*lead, *["–"] * 5]
    return [
        *lead, *(money(value.m_as("")) for value in (one.cost.K_d, one.cost.K_u, one.cost.K)),
        f"{money(one.low)} to {money(one.high)}", f"{100 * one.cheapest:.0f} %",
    ]  # fmt: skip


@where_present
def carbon(plan: ClosurePlan) -> Text:
    """Carbon embodied in the concrete of all patches, where the job gives factors."""
    made = plan.carbon
    if made is None:
        return Text("")
    sources = ", ".join(sorted({one.source for one in plan.trades.mix.inputs.mix.factors}))
    left = [one.name for one in plan.trades.mix.in_use if one not in plan.trades.mix.designed]
    without = f" {', '.join(left)}: no factor is known, and nothing counted." if left else ""
    return Text(
        f"Concrete of all patches: {plan.show(made.M, units.Mass, 0)} of CO~2~e, {plan.show(made.M_V, units.Content)} of concrete; factors by "
        f"{plain(sources)}. Admixtures, transport, plant, forms and delay are not in it.{without}\n"
    )


__all__ = ["alternatives", "by_patch", "carbon", "cost", "equipment", "to_order", "trucks"]
