"""Concretes that are given by their contents: what they yield, their ratio, and what the exposure asks of them."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Quantity, quantity
from deckcalc.mix.design.proportions import cementitious_checks
from deckcalc.mix.design.records import GivenDesign, Mixes
from deckcalc.mix.formulas.aggregate import air_of_table, nominal_size


def given_concrete(mixes: Mixes, design: GivenDesign) -> GivenDesign:
    """Work out yield, density, ratio and contents of one concrete, and check them."""
    mixes.each[design.name] = design
    one, item, rho_w = design.concrete, design.item, mixes.inputs.mix.water_density
    water = one.water
    if not water.check("[mass]"):
        water = mixes.run(mix.water_mass, item, V_w=water, rho_w=rho_w)
    moist = {
        "w_ca": one.absorption_coarse if one.moisture_coarse is None else one.moisture_coarse,
        "w_fa": one.absorption_fine if one.moisture_fine is None else one.moisture_fine,
    }
    used = mixes.run(
        mix.unbatched, item, m_c=one.cementitious, m_ca=one.coarse, m_fa=one.fine, m_w=water,
        A_ca=one.absorption_coarse, A_fa=one.absorption_fine, **moist,
    )  # fmt: skip
    if used.m_net.magnitude < 0:
        raise JobError(
            [f"job.toml: mix.concretes.{design.name}: the aggregate takes up more than all the water; check moistures"]
        )
    solid = mixes.run(
        mix.absolute_volumes, item, m_c=one.cementitious, S_ca=used.S_ca, S_fa=used.S_fa, m_net=used.m_net,
        RD_c=one.cementitious_density, RD_ca=one.coarse_density, RD_fa=one.fine_density, rho_w=rho_w,
    )  # fmt: skip
    latex = {"m_l": quantity(0.0, "kg"), "s_l": quantity(0.0), "V_l": quantity(0.0, "L")}
    if one.latex:
        dose = volume_dose(mixes, item, one.latex.dose, one.latex.density)
        found = mixes.run(
            mix.latex_in_load, item, m_c=one.cementitious, dose=dose, rho_l=one.latex.density, s_l=one.latex.solids
        )
        latex = {"m_l": found.m_l, "s_l": one.latex.solids, "V_l": found.V_l}
    made = design.found = mixes.run(
        mix.contents_yield, item, m_c=one.cementitious, S_ca=used.S_ca, S_fa=used.S_fa, m_net=used.m_net,
        V_solid=solid.V_solid, air=one.air, V_d=one.volume, **latex,
    )  # fmt: skip
    design.density, design.temperature = made.D, one.temperature
    check_given(mixes, design)
    return design


def volume_dose(mixes: Mixes, item: str, dose: Quantity, density: Quantity) -> Quantity:
    """Return a dose by volume; one that is stated by mass is converted on the sheet."""
    if not dose.check("[]"):
        return dose
    converted: Quantity = mixes.run(mix.dose_by_volume, item, q_a=dose, rho_a=density)
    return converted


def check_given(mixes: Mixes, design: GivenDesign) -> None:
    """Check ratio, strength, cementitious material, air and yield against what the exposure and the ticket say."""
    want, one, made = mixes.inputs.mix, design.concrete, design.found
    durability = mix.exposure_limit(want.durability, want.tables)
    assert durability.w_cm is not None  # checked when the job was read
    ratio, stress = units.kind_of(units.Ratio), units.kind_of(units.Stress)
    exposure = f"durability: {durability.exposure}"
    mixes.checks += [
        Check(design.item, "water-cement ratio", made.w_cm, Limit("w_cm", exposure, durability.w_cm, ratio, durability.source),
              why="the load has too much water for this exposure: refuse it, or have less water batched"),
        Check(design.item, "specified strength", one.strength, Limit("f_c", exposure, durability.f_c, stress, durability.source),
              "at least"),
        *cementitious_checks(mixes, design.item, made.C_y),
        Check(design.item, "relative yield away from one", abs(made.R_y - 1), mixes.limit("yield_within"),
              why="the load does not make the volume on the ticket, or a density, the air or a moisture is wrong"),
    ]  # fmt: skip
    try:
        size = nominal_size(float(one.size.m_as("m")))
        wanted = quantity(float(air_of_table(size, want.exposure)))
    except TableError as error:
        raise JobError([f"job.toml: mix.concretes.{design.name}.size: {error}"]) from None
    tolerance = mixes.limit("air_tolerance")
    least = Limit(
        "air", f"air of the table for {want.exposure} exposure less the tolerance", wanted - tolerance.value,
        units.kind_of(units.Share), Cite("aci211-1-91", "Table 6.3.3", "memory"),
    )  # fmt: skip
    mixes.checks.append(Check(design.item, "air content", one.air, least, "at least", "more air-entraining admixture"))
