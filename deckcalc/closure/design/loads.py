"""What the other trades say of each patch: what it takes, how much there is to do, how long its strength takes.

No other module of this room reads their results.
"""

from __future__ import annotations

from collections.abc import Sequence

from deckcalc import curing
from deckcalc.base.fields import JobError
from deckcalc.closure.design.results import CONCRETE, DEBRIS, NOT_CARRIED, Amount, ClosurePlan, Loads, summed
from deckcalc.core import units
from deckcalc.core.bars import bar_mass
from deckcalc.core.units import Quantity, quantity
from deckcalc.curing.design.covers import fabric, sprayed
from deckcalc.mix.design import BagLoads

#: Kind in which an amount is printed, by the unit of its sum.
KINDS = {
    "kg": units.Mass, "mL": units.LiquidVolume, "L": units.Liquid, "m": units.RoadLength, "m²": units.Area,
    "m³": units.OrderVolume, "": units.Count,
}  # fmt: skip
CUT = "saw blade, cut of one pass"
WATER = "water to add at the mixer"


def measured(plan: ClosurePlan, name: str) -> dict[str, float]:
    """Return what the rates of a patch count: cut [m], area [m²], volume broken out and to mix [m³].

    Raises
    ------
    JobError
        If the survey gave the patch no volume.
    """
    one = plan.trades.patches[name]
    if one.volume is None:
        raise JobError([f"patch {name} has no volume; its outline and depths give none"])
    return {
        "m of cut": float(one.limits.P_cut.m_as("m")), "area": float(one.limits.A.m_as("m²")),
        "volume out": float(one.volume.V_placed.m_as("m³")), "order": float(one.volume.V_order.m_as("m³")),
    }  # fmt: skip


def is_cement(material: str) -> bool:
    """Whether a material of the load list is cement of a concrete that is mixed on site."""
    return material.startswith("cement, type ")


def bags_of_patch(plan: ClosurePlan, name: str, material: str = "") -> int:
    """Return the bags of cement, or of one cement, that are opened for a patch: batch by batch, whole."""
    loads = plan.trades.mix.loads.get(name)
    cement = [weight.material for weight in loads.weights if is_cement(weight.material)] if loads else []
    return loads.opened if loads and cement and material in ("", *cement) else 0


def mixer_loads(plan: ClosurePlan, name: str) -> int:
    """Return how many loads of the mixer a patch takes, at least one."""
    return plan.trades.mix.count(name) or 1


def wait(plan: ClosurePlan, name: str) -> tuple[float, float] | None:
    """Return the wait for strength by a curve of the concrete: by the expected strength, and by the lower edge [min].

    None where the sheet of curing has no curve, or no placing, for the patch; where the strength is not reached within the
    record of the weather, the record is as long as the wait at the least.
    """
    one = plan.trades.curing.of_patch(name) if plan.trades.curing else None
    if one is None or not one.computed:
        return None
    last = float(one.hours[-1])
    expected, sure = (last if hour is None else hour for hour in (one.opens.expected, one.opens.sure))
    return 60 * expected, 60 * sure


def of_patch(plan: ClosurePlan, name: str) -> Loads:
    """Return what a patch takes, by the sheets that worked it out."""
    return summed([concrete(plan, name), surface(plan, name), bars(plan, name), form(plan, name)])


def concrete(plan: ClosurePlan, name: str) -> Loads:
    """Return what goes into the mixer for a patch, or the concrete that is delivered for it."""
    bags, loads = plan.trades.mix.bag_loads.get(name), plan.trades.mix.loads.get(name)
    if bags is not None:
        return bagged(bags)
    if loads is None:
        made = plan.trades.mix.for_patch(name)
        return {f"{made.item}, {made.kind}": Amount(float(plan.trades.patches[name].volume.V_order.m_as("m³")), "m³")}
    found: list[Loads] = []
    for weight in loads.weights:
        if weight.mass is not None:
            found.append({weight.material: Amount(loads.count * float(weight.mass.m_as("kg")), "kg")})
        elif weight.volume is not None:
            found.append({weight.material: Amount(loads.count * float(weight.volume.m_as("mL")), "mL")})
    found.append({WATER: Amount(loads.count * float(loads.batch.m_w.m_as("kg")), "kg")})
    return summed(found)


def bagged(loads: BagLoads) -> Loads:
    """Return the bags, the aggregate and the water of a prepackaged concrete for a patch."""
    made, product = loads.found, loads.design.concrete
    found = {
        loads.design.bag_item: Amount(float((made.n * product.bag).m_as("kg")), "kg"),
        WATER: Amount(float(made.m_water.m_as("kg")), "kg"),
    }
    if loads.extended:
        found[product.aggregate] = Amount(float(made.m_aggregate.m_as("kg")), "kg")
    return found


def surface(plan: ClosurePlan, name: str) -> Loads:
    """Return what a patch takes beside concrete and steel: cut, cover, compound, grout; and what comes out of it."""
    one = plan.trades.patches[name]
    found = {
        CONCRETE: Amount(float(one.volume.V_order.m_as("m³")), "m³"),
        DEBRIS: Amount(float((one.volume.V_placed * plan.deck.unit_weight).m_as("kg")), "kg"),
        CUT: Amount(float(one.limits.P_cut.m_as("m")), "m"),
    }
    placing = plan.work.placing_of(name)
    if one.wet_cover and (placing is None or placing.wet):
        found["wet fabric and sheet"] = Amount(float(fabric([one]).m_as("m²")), "m²")
    if one.grout is not None:
        found["bonding grout"] = Amount(float(one.grout.m_as("L")), "L")
    want = plan.inputs.curing
    if want and placing is not None and placing.sprayed:
        spray = curing.curing_compound(**sprayed(want, plan.trades.patches, [one]))
        found["curing compound"] = Amount(float(spray.V.m_as("L")), "L")
    return found


def added_bar(plan: ClosurePlan) -> str:
    """Return what the bars that are added are called; empty where none are."""
    how = plan.trades.steel.inputs.reinforcement if plan.trades.steel else None
    return f"bar {how.added_bar}, {how.added_coating}" if how else ""


def bars(plan: ClosurePlan, name: str) -> Loads:
    """Return the bars that are added in a patch, as they are cut."""
    material, steel = added_bar(plan), plan.trades.steel
    return summed(
        {material: Amount(float(one.supplement.n.m_as("")) * float(one.cut.m_as("m")), "m")}
        for one in (steel.bars_in(name) if steel else ())
        if one.supplement is not None and one.cut is not None
    )


def form(plan: ClosurePlan, name: str) -> Loads:
    """Return what the form of a full-depth hole takes from stock."""
    forms = plan.trades.formwork
    if forms is None or name not in forms:
        return {}
    one = forms[name]
    found = {f"lumber {lumber}": Amount(float(number), "") for lumber, number in one.stock.items()}
    found[f"panel {one.panel.panel}"] = Amount(float(one.sheets), "")
    if one.hanger is not None:
        found[f"hanger {one.hanger.kind} {one.hanger.hanger}"] = Amount(one.hangers * one.hanger_length, "m")
        found["hanger plates"] = Amount(2.0 * one.hangers, "")
    found["form seal tape"] = Amount(one.seal, "m")
    if one.oil:
        found[f"form oil, {forms.choices.oil}"] = Amount(float(one.oil.V.m_as("L")), "L")
    return found


def mass_of(plan: ClosurePlan, material: str, amount: Amount) -> float:
    """Return the mass of an amount that goes to the bridge [kg]: what is weighed, admixtures and bars; 0 of all else."""
    number, unit = amount
    if material in NOT_CARRIED:
        return 0.0
    if unit == "kg":
        return number
    liquid = {
        one.name: float(one.density.m_as("kg/mL"))
        for concrete in plan.trades.mix.designed for one in concrete.concrete.admixture
    }  # fmt: skip
    if material in liquid:
        return number * liquid[material]
    steel = plan.trades.steel
    if material == added_bar(plan) and steel and steel.inputs.reinforcement:
        return number * float(bar_mass(steel.inputs.reinforcement.added_bar).m_as("kg/m"))
    return 0.0


def masses_with_factor(plan: ClosurePlan, names: Sequence[str]) -> tuple[list[Quantity], list[float]]:
    """Return masses of the concrete of patches, and the embodied carbon of each as a share of it, where it is known."""
    factors = {one.material: one.carbon for one in plan.trades.mix.inputs.mix.factors}
    masses, known = [], []
    for loads in (one for name, one in plan.trades.mix.loads.items() if name in names):
        kinds = {loads.mix.coarse.aggregate: "coarse", loads.mix.fine.aggregate: "fine"}
        for weight in loads.weights:
            kind = "cement" if weight.material.startswith("cement") else kinds.get(weight.material, weight.material)
            if weight.mass is not None and kind in factors:
                masses.append(loads.count * weight.mass)
                known.append(factors[kind])
    return masses, known


def shown(plan: ClosurePlan, number: float, unit: str) -> str:
    """Print an amount."""
    return plan.show(quantity(number, unit), KINDS[unit])
