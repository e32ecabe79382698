"""Sheet of the closure: what is loaded, tools with their limits, cost, alternatives, carbon."""

from __future__ import annotations

from typing import Any

from deckcalc import closure
from deckcalc.closure.design import containers as load_stock
from deckcalc.closure.design import loads as load_list
from deckcalc.closure.design.containers import Line
from deckcalc.closure.design.cost import THIS, Way
from deckcalc.closure.design.loads import Amount, shown
from deckcalc.closure.sheet import where_present
from deckcalc.core import units
from deckcalc.job import Job
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain

COLUMNS = 8  # patches side by side


def symbol(job: Job, unit: str) -> str:
    """Return the unit in which an amount is printed."""
    return units.kind_of(load_list.KINDS[unit]).symbol(job.system)


def number(job: Job, loads: dict[str, Amount], material: str) -> str:
    """Print an amount without its unit; a dash where there is none."""
    if material not in loads:
        return "–"
    amount, unit = loads[material]
    return shown(job, amount, unit).removesuffix(symbol(job, unit)).strip()


def named(job: Job, line: Line) -> str:
    """Return a material with the unit of its row."""
    unit = symbol(job, line.unit)
    return plain(f"{line.material}, {unit}" if unit else line.material)


@where_present
def by_patch(job: Job) -> Text:
    """What every patch takes, without spare."""
    plan, names, parts = job.closure, list(job.closure.loads), []
    per_closure = load_stock.of_closure(job, plan)
    for start in range(0, len(names), COLUMNS):
        some = names[start : start + COLUMNS]
        rows = []
        for line in plan.stock:
            cells = [number(job, plan.loads[name], line.material) for name in some]
            if set(cells) != {"–"}:
                rows.append([named(job, line), *cells])
        parts.append(pipe_table(["material", *some], rows))
    bags = {name: load_list.mortar(job, name) for name in names}
    if any(bags.values()):
        said = ", ".join(f"{name} {count}" for name, count in bags.items() if count)
        parts.append(f"Or, in place of the concrete of partial-depth patches, bags of prepackaged mortar: {said}.")
    said = "; ".join(f"{material} {shown(job, *amount)}" for material, amount in per_closure.items() if amount[0])
    if said:
        parts.append(f"Beside the patches every closure takes: {plain(said)}.")
    lead = (
        "Amounts without spare, waste of the concrete included; each comes from the sheet that worked it out. Forms are counted for "
        "every hole by itself; what is used again is brought once. Curing water stands on the sheet of curing."
    )
    return block([lead, *parts])


@where_present
def by_night(job: Job) -> Text:
    """What is loaded for each night, spare included, and in how many containers."""
    plan, want = job.closure, job.closure.choice
    assert want
    nights = load_stock.nights(plan)
    loads = [load_stock.of_night(job, plan, night) for night in nights]
    extra = 1 + float(want.spare.m_as(""))
    rows = []
    for line in plan.stock:
        cells = []
        for found in loads:
            if line.material not in found:
                cells.append("–")
                continue
            amount, unit = found[line.material]
            more = 1.0 if line.material in load_list.NOT_CARRIED or not unit else extra
            text = shown(job, amount * more, unit).removesuffix(symbol(job, unit)).strip()
            if line.container:
                much, share, each = load_stock.contained(job, line.material, amount, unit)
                whole = closure.containers(much, share, each).n
                text = f"{text}: **{whole.m_as(''):.0f}**"
            cells.append(text)
        rows.append([named(job, line), *cells, plain(line.container)])
    heads = ["material", *(f"{night.name}: {', '.join(night.patches)}" for night in nights), "in whole"]
    spare = job.show(want.spare, units.Share, 0)
    lead = (
        f"Spare of {spare} is in every amount but old concrete, concrete to mix and pieces; heavy: whole containers to load, "
        "rounded up night by night."
    )
    return block([lead, pipe_table(heads, rows, "l" + "r" * len(nights) + "l")])


@where_present
def of_job(job: Job) -> Text:
    """The list of the job: amounts, containers, where they come from."""
    plan, want = job.closure, job.closure.choice
    assert want
    extra = 1 + float(want.spare.m_as(""))
    rows = []
    for line in plan.stock:
        spare = 1.0 if line.material in load_list.NOT_CARRIED or not line.unit else extra
        contents = contents_of(job, line)
        rows.append([
            plain(line.material), shown(job, line.amount, line.unit), shown(job, line.amount * spare, line.unit),
            f"**{line.number}** {plain(line.container)}" if line.number else "loose" if line.unit else "pieces", contents,
            plain(line.source),
        ])  # fmt: skip
    heads = ["material", "without spare", "with spare", "containers", "of", "from"]
    return Text(pipe_table(heads, rows, "lrrlrl"))


def contents_of(job: Job, line: Line) -> str:
    """Print what a container holds."""
    if line.contents is None:
        return ""
    unit = next(unit for unit in load_list.KINDS if line.contents.is_compatible_with(unit) and unit != "mL")
    return job.show(line.contents, load_list.KINDS[unit])


@where_present
def trucks(job: Job) -> Text:
    """Mass that is carried to and from the bridge."""
    plan, want = job.closure, job.closure.choice
    assert want
    if want.payload is None:
        return Text("No payload of a truck is given (closure.payload): masses are not held against the trucks.\n")
    rows = []
    for run in plan.runs_of(closure.truck_loads):
        mass, made = run.arguments["m"], run.result
        rows.append(
            [plain(run.item), job.show(mass, units.Mass, 0), f"{made.n.m_as(''):.0f}", job.show(made.u, units.Share, 0)]
        )
    lead = (
        f"{want.trucks} truck(s) with a payload of {job.show(want.payload, units.Mass, 0)}. Counted are cement, aggregate, water, "
        "admixtures, what is weighed in the stock list and bars, spare included; not tools, lumber, fuel, curing water and people."
    )
    return block([lead, pipe_table(["what", "mass", "truck loads", "of their payload"], rows)])


@where_present
def equipment(job: Job) -> Text:
    """Tools and machines with the limits that matter."""
    rows = []
    for tool in job.closure.tools:
        row = tool.row
        value = limit = ""
        if tool.limit:
            value = job.show(units.read(row.value, tool.limit.kind), tool.limit.kind)
            limit = f"{tool.limit.meaning}: {job.show(tool.limit.value, tool.limit.kind)}"
        hours = f"{tool.hours:.1f} h" if tool.hours else ""
        fuel = f"{row.fuel}, {job.show(tool.fuel, units.Liquid, 1)}" if tool.fuel is not None else ""
        rows.append([str(row.number), plain(row.work), value, limit, hours, plain(fuel)])
    if not rows:
        return Text("There is no equipment.csv: no list of tools.\n")
    heads = ["number", "tool or machine", "this one", "limit", "at work this closure", "fuel"]
    dated = sorted({f"{tool.row.source}, {tool.row.date.isoformat()}" for tool in job.closure.tools})
    last = "Hours are those of the crew or plant in the timetable. A breaker heavier than its limit cracks sound concrete and bruises bars."
    return block([pipe_table(heads, rows, "rlrlrl"), f"{last} From {plain('; '.join(dated))}."])


def printed(amount: float, price: float, cost: float) -> tuple[str, str]:
    """Return amount and price with the decimals with which their product comes to the cost as printed."""
    exact = units.exact_decimals(price, 2) is not None
    for places in range(2, 8):
        pair = units.fixed(amount, places), units.fixed(price, 2 if exact else places)
        if abs(float(pair[0]) * float(pair[1]) - float(units.fixed(cost, 2))) <= 0.005:
            break
    return pair


def by_unit(job: Job, value: Any, kind: Any) -> str:
    """Print a price of a unit of area or volume."""
    unit = units.kind_of(kind).symbol(job.system)
    return f"{job.show(value, kind, 0).removesuffix(unit).strip()} per {unit.removeprefix('1/')}"


def money(job: Job, value: float) -> str:
    """Print a sum of money in whole units of the currency."""
    return f"{units.fixed(float(value), 0)}"


@where_present
def cost(job: Job) -> Text:
    """Cost of this closure, price by price."""
    one = next((way for way in job.closure.ways if way.item == THIS and way.rows), None)
    want = job.closure.choice
    assert want
    if one is None:
        return Text("There is no prices.csv: nothing is said of cost.\n")
    rows = []
    for row, amount in zip(one.rows, one.amounts, strict=True):
        low, likely, high = (amount * price for price in (row.least, row.likely, row.most))
        much, price = printed(amount, row.likely, likely)
        rows.append([
            plain(row.work), much, row.per, price, units.fixed(likely, 2),
            f"{money(job, low)} to {money(job, high)}", row.date.isoformat(),
        ])  # fmt: skip
    rows.append(["**direct cost**", "", "", "", f"**{units.fixed(float(one.cost.K_d.m_as('')), 2)}**", "", ""])
    rows.append(["delay of road users", units.fixed(one.hours, 2), "hour", units.fixed(want.delay_price, 2),
                 units.fixed(float(one.cost.K_u.m_as("")), 2), "", ""])  # fmt: skip
    rows.append(["**with delay**", "", "", "", f"**{units.fixed(float(one.cost.K.m_as('')), 2)}**", "", ""])
    heads = [
        "what",
        "amount",
        "per",
        f"price [{plain(want.currency)}]",
        f"cost [{plain(want.currency)}]",
        "least to most",
        "dated",
    ]
    each = one.unit_cost
    said = (
        f"With delay, {plain(want.currency)}: {job.show(each.K_n, units.Price, 0)} a patch, {by_unit(job, each.K_A, units.AreaPrice)}, "
        f"{by_unit(job, each.K_V, units.VolumePrice)} of concrete. Nine of ten samples of the prices lie between "
        f"{money(job, one.low)} and {money(job, one.high)}."
    )
    return block([pipe_table(heads, rows, "lrlrrrr"), said])


@where_present
def alternatives(job: Job) -> Text:
    """Ways to do all patches, side by side."""
    ways = [way for way in job.closure.ways if way.item != THIS]
    want = job.closure.choice
    assert want
    if len(ways) < 2:
        return Text("")
    rows = [alternative(job, way) for way in ways]
    heads = [
        "way",
        "closures, hours",
        "direct",
        "delay",
        "both",
        "nine of ten samples",
        "a patch",
        "area",
        "concrete",
        "cheapest",
    ]
    rows = [list(row) for row in zip(heads, *rows, strict=True)]
    unpriced = [way.choice.name for way in ways if not way.rows]
    lead = f"All patches of the job, in {plain(want.currency)}, at the likely prices of prices.csv; each way with the delay that its own hours cause."
    said = "\n".join(f"- **{way.choice.name}**: {plain(way.choice.what)}." for way in ways)
    last = (
        "The samples draw every price from the triangle between its three values; ways that share a price get the same draw. "
        "“Cheapest” is the share of samples in which a way costs least. Hours of closure are not drawn. Most triangles have their "
        "longer side above, so the samples lie above the sum of the likely prices."
    )
    none = f"Without prices in prices.csv: {', '.join(unpriced)}." if unpriced else ""
    table = pipe_table(rows[0], rows[1:], "l" + "r" * len(ways))
    return block([lead, said, table, last, none])


def alternative(job: Job, way: Way) -> list[str]:
    """Return one alternative as a column."""
    lead = [way.choice.name, f"{way.closures}, {way.hours:g} h"]
    if not way.rows:
        return [*lead, *["–"] * 8]
    made, each = way.cost, way.unit_cost
    return [
        *lead, *(money(job, value.m_as("")) for value in (made.K_d, made.K_u, made.K)),
        f"{money(job, way.low)} to {money(job, way.high)}", job.show(each.K_n, units.Price, 0),
        by_unit(job, each.K_A, units.AreaPrice), by_unit(job, each.K_V, units.VolumePrice), f"{100 * way.cheapest:.0f} %",
    ]  # fmt: skip


@where_present
def carbon(job: Job) -> Text:
    """Carbon embodied in the concrete of all patches, where the job gives factors."""
    run = next(iter(job.closure.runs_of(closure.embodied_carbon)), None)
    if run is None:
        return Text("The job gives no factors for embodied carbon (mix.factors): none is stated.\n")
    sources = ", ".join(sorted({one.source for one in job.head.mix.factors}))
    made = run.result
    return Text(
        f"Concrete of all patches: {job.show(made.M, units.Mass, 0)} of CO~2~e, {job.show(made.M_V, units.Content)} of concrete; factors by "
        f"{plain(sources)}. Admixtures, transport, plant, forms and delay are not in it.\n"
    )


__all__ = ["alternatives", "by_night", "by_patch", "carbon", "cost", "equipment", "of_job", "trucks"]
