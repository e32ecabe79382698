"""Mix design by absolute volumes: from specified strength to what goes into the mixer.

The order of the work: `size_limits`, an average strength (`average_strength_no_record`, `average_strength` or
`average_strength_high`), `exposure_limit`, `water_cement_ratio`, `mixing_water`,
`adjusted_water`, `cementitious_content`, `blend`, `coarse_volume`, `proportions` with `mass_method` beside it, water in
admixtures, `batch_masses` (or `batch_masses_ssd`), or `contents_yield` of a concrete whose contents are given; then the loads on the day, the trial batch, and the temperature.
Gradings, the search for other proportions and the drawing of errors are functions on plain numbers in `formulas.grading`,
`formulas.solver` and `formulas.uncertainty`.
"""

from deckcalc.mix.formulas.aggregate import coarse_volume, mixing_water, size_limits
from deckcalc.mix.formulas.bags import bag_density, bags_in_load
from deckcalc.mix.formulas.batching import bags_opened, batch_for_volume, batch_masses, batch_masses_ssd
from deckcalc.mix.formulas.cementitious import blend, mass_shares
from deckcalc.mix.formulas.contents import contents_yield, dose_by_volume, latex_in_load, water_content, water_mass
from deckcalc.mix.formulas.cooling import wanted_temperature
from deckcalc.mix.formulas.early_strength import strength_at_age, type_iii_strength
from deckcalc.mix.formulas.grading import fineness_modulus
from deckcalc.mix.formulas.makers_curve import strength_at_time, time_to_strength
from deckcalc.mix.formulas.mass_method import mass_method
from deckcalc.mix.formulas.mixer import (
    admixture_for_load,
    cementitious_for_load,
    mixer_loads,
    mixer_water,
    whole_bag_load,
)
from deckcalc.mix.formulas.moisture import relative_densities, total_moisture, unbatched
from deckcalc.mix.formulas.mortar import extended_mortar
from deckcalc.mix.formulas.ratio import ExposureLimit, exposure_limit, stated_ratio, water_cement_ratio
from deckcalc.mix.formulas.scales import gauge_boxes, scale_limits
from deckcalc.mix.formulas.strength import (
    average_strength,
    average_strength_high,
    average_strength_no_record,
)
from deckcalc.mix.formulas.stripping import stripping_strength
from deckcalc.mix.formulas.temperature import fresh_temperature
from deckcalc.mix.formulas.trial import absolute_volumes, adjusted_mix, air_by_mass, fresh_density, measured_yield
from deckcalc.mix.formulas.volumes import proportions
from deckcalc.mix.formulas.water import adjusted_water, admixture_water, cementitious_content

__all__ = [
    "ExposureLimit", "absolute_volumes", "adjusted_mix", "adjusted_water", "admixture_for_load", "admixture_water", "air_by_mass",
    "average_strength_high", "average_strength_no_record", "average_strength", "bag_density", "bags_in_load",
    "bags_opened", "batch_for_volume", "batch_masses", "batch_masses_ssd", "blend", "cementitious_content", "cementitious_for_load", "coarse_volume",
    "contents_yield", "dose_by_volume",
    "exposure_limit", "extended_mortar", "fineness_modulus", "fresh_density", "fresh_temperature",
    "gauge_boxes", "latex_in_load", "mass_method", "mass_shares", "measured_yield", "mixer_loads",
    "mixer_water", "mixing_water", "proportions", "relative_densities", "scale_limits", "size_limits", "stated_ratio", "strength_at_age", "strength_at_time", "stripping_strength",
    "time_to_strength",
    "total_moisture", "type_iii_strength", "unbatched", "wanted_temperature", "water_content", "water_mass",
    "water_cement_ratio", "whole_bag_load",
]  # fmt: skip
