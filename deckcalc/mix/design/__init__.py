"""Mix and batch: from the materials on site to what goes into the mixer, for each depth class of patch."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.base.context import Context
from deckcalc.base.fields import JobError
from deckcalc.base.subject import Material, joined
from deckcalc.core import tables, units
from deckcalc.core.units import Quantity
from deckcalc.mix.design.alternatives import alternatives_of
from deckcalc.mix.design.assessments import SieveAnalysis
from deckcalc.mix.design.batch import cementitious_of, loads, moist, temperature
from deckcalc.mix.design.early_strength import strength_by_age
from deckcalc.mix.design.given import given_concretes
from deckcalc.mix.design.mortar import mortar_bags
from deckcalc.mix.design.proportions import proportion
from deckcalc.mix.design.records import MixDesign, MixerLoads, Mixes, Weight
from deckcalc.mix.design.trial import trial_batch
from deckcalc.mix.design.uncertainty import batch_uncertainty
from deckcalc.mix.formulas.grading import read_grading
from deckcalc.mix.inputs import Inputs, section_of
from deckcalc.patch.design import Patches

__all__ = ["MixDesign", "MixerLoads", "Mixes", "Weight", "compute"]


def compute(context: Context[Inputs], patches: Patches) -> Mixes:
    """Work out proportions, trial batch, moisture, temperature, mixer loads and order of every concrete."""
    mixes = Mixes(context, patches=patches)
    mixes.cites += [cite for name in ("agency_mixes", "rapid_materials") for cite in tables.load(name).cites]
    want = mixes.inputs.mix
    for patch in patches:
        if patch.depth_class not in want.concretes:
            raise JobError(
                [
                    f"job.toml: {section_of(patch.depth_class)}: missing; patch {patch.name} is {patch.depth_class} and wants a mix of its own"
                ]
            )
    mixes.gradings = {
        name: SieveAnalysis(name, one.size, read_grading(one.passing)) for name, one in want.grading.items()
    }
    for depth_class, concrete in want.concretes.items():
        rows, mine = mixes.inputs.aggregate, [patch for patch in patches if patch.depth_class == depth_class]
        design = mixes.each[depth_class] = MixDesign(
            depth_class, concrete, rows[concrete.coarse], rows[concrete.fine], [patch.name for patch in mine]
        )
        proportion(mixes, design)
        trial_batch(mixes, design)
        moist(mixes, design)
        temperature(mixes, design)
        strength_by_age(mixes, design)
        for patch in mine:
            mixes.loads[patch.name] = loads(mixes, design, patch)
        if mine:
            design.order_volume = joined(patch.volume.V_order for patch in mine).sum()
            order(mixes, design, design.order_volume)
        design.uncertainty = batch_uncertainty(mixes, design)
        design.alternatives = alternatives_of(mixes, design)
    given_concretes(mixes)
    mortar_bags(mixes)
    notes(mixes)
    return mixes


def order(mixes: Mixes, design: MixDesign, volume: Quantity) -> None:
    """List what is ordered of the materials of one mix for all of its patches."""
    total = mixes.run(
        mix.batch_for_volume, design.order_item, V=volume, C=design.masses["cement"],
        B_ca=design.moist["coarse"], B_fa=design.moist["fine"], W_add=design.moist["water"], m_bag=mixes.inputs.mix.bag,
    )  # fmt: skip
    binder = cementitious_of(mixes, design, design.order_item, volume, total.m_c)
    waste = f"waste {mixes.show(mixes.limit('waste').value, units.Share)} included"
    mass = lambda value: mixes.show(value, units.Mass)  # noqa: E731
    bag = mass(mixes.inputs.mix.bag)
    lines = [(f"Cement type {design.cement_type}", mass(total.m_c), f"{waste}; whole bags of {bag} are loaded")]
    lines += [(name[0].upper() + name[1:], mass(value), waste) for name, value in binder.items() if name != "all"]
    lines += [
        (f"Coarse aggregate {design.coarse.aggregate}, moist as on site", mass(total.m_ca), waste),
        (f"Fine aggregate {design.fine.aggregate}, moist as on site", mass(total.m_fa), waste),
        ("Water to add at the mixer", mass(total.m_w), waste),
    ]
    for one in mixes.inputs.mix.admixture:
        volume_of = mixes.run(
            mix.admixture_for_load, f"order, {one.name}, {design.item}", m_cm=binder["all"], dose=design.doses[one.name]
        )
        lines.append((one.name[0].upper() + one.name[1:], mixes.show(volume_of, units.LiquidVolume), waste))
    for name, quantity, spare in lines:
        mixes.materials.append(Material(f"{name} ({design.item})", quantity, spare, "04 Mix and batch"))


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
    if want.batch_by == "whole bags":
        mixes.notes.append("Loads hold whole bags: the last load of a patch makes more than the patch takes.")
