"""Mix and batch: from the materials on site to what goes into the mixer, for each concrete of the job."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.base.context import Context
from deckcalc.base.subject import Material, joined
from deckcalc.core import tables, units
from deckcalc.core.units import Quantity
from deckcalc.mix.design.alternatives import alternatives_of
from deckcalc.mix.design.assessments import SieveAnalysis
from deckcalc.mix.design.bags import prepackaged
from deckcalc.mix.design.batch import cementitious_of, loads, moist, temperature
from deckcalc.mix.design.early_strength import strength_by_age
from deckcalc.mix.design.given import given_concrete
from deckcalc.mix.design.proportions import proportion
from deckcalc.mix.design.records import BagDesign, BagLoads, Design, GivenDesign, MixDesign, MixerLoads, Mixes, Weight
from deckcalc.mix.design.trial import trial_batch
from deckcalc.mix.design.uncertainty import batch_uncertainty
from deckcalc.mix.formulas.grading import read_grading
from deckcalc.mix.inputs import GivenConcrete, Inputs, Prepackaged
from deckcalc.patch.design import Patches

__all__ = ["BagDesign", "BagLoads", "Design", "GivenDesign", "MixDesign", "MixerLoads", "Mixes", "Weight", "compute"]


def compute(context: Context[Inputs], patches: Patches) -> Mixes:
    """Work out proportions, trial batch, moisture, temperature, mixer batches and order of every concrete."""
    mixes = Mixes(context, patches=patches)
    mixes.cites += [cite for name in ("agency_mixes", "rapid_materials") for cite in tables.load(name).cites]
    if mixes.inputs.mix.grading:
        mixes.cites += tables.load("grading_limits").cites
    want = mixes.inputs.mix
    mixes.gradings = {
        name: SieveAnalysis(name, one.size, read_grading(one.passing)) for name, one in want.grading.items()
    }
    specified, takes = mixes.inputs.specified, {}
    for patch in patches:
        takes[patch.name] = specified.name_of(patch.name, patch.depth_class)
    for name in want.concretes:
        mine = [patch for patch in patches if takes[patch.name] == name]
        design = design_of(mixes, name, specified[name].nominal_size, [patch.name for patch in mine])
        if portions := mixes.portions(design).values():
            design.order_volume = joined(one.volume for one in portions).sum()
            order(mixes, design, design.order_volume)
    strip(mixes)
    notes(mixes)
    return mixes


def design_of(mixes: Mixes, name: str, size: Quantity, mine: list[str]) -> Design:
    """Work one concrete out, however it is made, and what goes into the mixer of it."""
    one, rows = mixes.inputs.mix.concretes[name], mixes.inputs.aggregate
    if isinstance(one, GivenConcrete):
        return given_concrete(mixes, GivenDesign(name, one, size, mine))
    if isinstance(one, Prepackaged):
        return prepackaged(mixes, BagDesign(name, one, size, mine))
    design = MixDesign(name, one, size, mine, coarse=rows[one.coarse], fine=rows[one.fine])
    mixes.each[name] = design
    proportion(mixes, design)
    trial_batch(mixes, design)
    moist(mixes, design)
    temperature(mixes, design)
    strength_by_age(mixes, design)
    for key, portion in mixes.portions(design).items():
        mixes.loads[key] = loads(mixes, design, portion)
    design.uncertainty = batch_uncertainty(mixes, design)
    design.alternatives = alternatives_of(mixes, design)
    return design


def strip(mixes: Mixes) -> None:
    """Work out the strength before which no form of a full-depth patch is stripped, by its own concrete."""
    share = mixes.limit("stripping_share").value
    for patch in mixes.patches:
        if patch.full:
            mixes.stripping[patch.name] = mixes.run(
                mix.stripping_strength, f"{patch.item}, form", f_c=mixes.for_patch(patch.name).strength, q_s=share
            )


def order(mixes: Mixes, design: Design, volume: Quantity) -> None:
    """List what is ordered of one concrete for all of its patches."""
    waste = f"waste {mixes.show(mixes.limit('waste').value, units.Share)} included"
    if not design.patches:
        waste = "without waste"
    mass = lambda value: units.show_at_least(value, units.Mass, mixes.system)  # noqa: E731
    if isinstance(design, MixDesign):
        lines = order_site_mixed(mixes, design, volume, waste)
    elif isinstance(design, BagDesign):
        mine = [mixes.bag_loads[key] for key in mixes.portions(design)]
        bags = sum(int(one.found.n.magnitude) for one in mine)
        lines = [
            (
                f"{design.concrete.product[0].upper()}{design.concrete.product[1:]}, bags of {mixes.show(design.concrete.bag, units.Mass)}",
                f"{bags} bags",
                f"{waste}; whole bags, {'patch by patch' if design.patches else 'batch by batch'}",
            )
        ]
        if any(one.extended for one in mine):
            aggregate = joined(one.found.m_aggregate for one in mine).sum()
            lines.append((f"Aggregate {design.concrete.aggregate}, saturated surface-dry", mass(aggregate), waste))
        lines.append(("Water to add at the mixer", mass(joined(one.found.m_water for one in mine).sum()), waste))
    else:
        lines = [(f"Concrete, {design.kind}", mixes.show(volume, units.OrderVolume), waste)]
    for name, quantity, spare in lines:
        mixes.materials.append(Material(f"{name} ({design.item})", quantity, spare, "04 Mix and batch"))


def order_site_mixed(mixes: Mixes, design: MixDesign, volume: Quantity, waste: str) -> list[tuple[str, str, str]]:
    """Return the materials of a concrete that is mixed on site, with their amounts and spare."""
    total = mixes.run(
        mix.batch_for_volume, design.order_item, V=volume, C=design.masses["cement"],
        B_ca=design.moist["coarse"], B_fa=design.moist["fine"], W_add=design.moist["water"],
    )  # fmt: skip
    binder = cementitious_of(mixes, design, design.order_item, volume, total.m_c)
    mass = lambda value: units.show_at_least(value, units.Mass, mixes.system)  # noqa: E731
    bag = mixes.show(mixes.inputs.mix.bag, units.Mass)
    lines = [
        (
            f"Cement type {design.cement_type}",
            mass(total.m_c),
            f"{waste}; whole bags of {bag} are opened, batch by batch",
        )
    ]
    lines += [(name[0].upper() + name[1:], mass(value), waste) for name, value in binder.items() if name != "all"]
    lines += [
        (f"Coarse aggregate {design.coarse.aggregate}, moist as on site", mass(total.m_ca), waste),
        (f"Fine aggregate {design.fine.aggregate}, moist as on site", mass(total.m_fa), waste),
        ("Water to add at the mixer", mass(total.m_w), waste),
    ]
    for one in design.concrete.admixture:
        volume_of = mixes.run(
            mix.admixture_for_load, f"order, {one.name}, {design.item}", m_cm=binder["all"], dose=design.doses[one.name]
        )
        lines.append((one.name[0].upper() + one.name[1:], mixes.show(volume_of, units.LiquidVolume), waste))
    return lines


def notes(mixes: Mixes) -> None:
    """State simplifications and cautions."""
    want = mixes.inputs.mix
    system = "hard metric (SI)" if want.tables == "SI" else "US customary"
    basis = {
        "strict": "Masses of aggregate are oven-dry and divided by oven-dry relative densities.",
        "as in handbooks": "Oven-dry masses of aggregate are divided by the relative densities as reported, as many "
        "handbooks do: the fine aggregate comes out about 1 to 2 % larger for each 1 % that the coarse one absorbs.",
    }[want.bookkeeping]
    mixes.notes += [
        f"Tables of the standard: {system}. The two sets are rounded apart: the same materials give masses that differ "
        "by up to about 2 %.",
        f"{basis} Moisture and absorption are shares of the oven-dry mass; the ratio of water to cementitious material "
        "leaves out what the aggregate absorbs and counts the water of the admixtures.",
        "Proportions are a starting point for a trial batch, not a substitute for one. Whether a patch may be opened to "
        "traffic is for strength measured on it, not for a curve.",
        "No chloride accelerator beside reinforcement, whatever a pavement mix may prescribe.",
        "Fresh concrete burns skin and eyes: waterproof gloves, boots and goggles. Lift bags by two or with a hoist. Cement "
        "and silica fume are dust: open bags low and upwind. Keep hands and clothes out of a running drum.",
    ]
    if not mixes.patches.each:
        mixes.notes.append(
            "The job has no patches: the stone is held against the limit for patch work alone, not against depth and bars of a patch, and "
            "the loads are for the volume that is wanted, without waste."
        )
    if want.batch_by == "whole bags":
        mixes.notes.append("Batches hold whole bags: the last batch of a patch makes more than the patch takes.")
