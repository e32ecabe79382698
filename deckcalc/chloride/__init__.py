"""Chloride: contents on one basis, profiles and their fit, time and probability of corrosion, surveys of the surface."""

from __future__ import annotations

from deckcalc.chloride.formulas.ageing import ageing_exponent
from deckcalc.chloride.formulas.contents import (
    cement_share,
    concrete_share,
    content_from_cement_share,
    content_from_concrete_share,
)
from deckcalc.chloride.formulas.diffusion import (
    content_linear_surface,
    content_root_surface,
    corner_content,
    face_content,
)
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.fit import Fits, Profiles, fit_profiles
from deckcalc.chloride.formulas.fitted import fit_coefficient, fit_profile, fit_profile_and_background
from deckcalc.chloride.formulas.initiation import (
    apparent_ageing,
    growing_time,
    integrated_ageing,
    temperature_factor,
    time_to_initiation,
    time_to_initiation_corner,
)
from deckcalc.chloride.formulas.patch_concrete import ageing_law, migration_coefficient
from deckcalc.chloride.formulas.probability import Exposure, FirstOrder, Sampled, first_order, sample
from deckcalc.chloride.formulas.profile import ContentAtDepth, above_background, bracket, content_at_depth, mid_depth
from deckcalc.chloride.formulas.propagation import corrosion_rate, penetration_to_crack, time_to_cracking
from deckcalc.chloride.formulas.removal import (
    cores_wanted,
    depth_at_content,
    removal_place,
    share_counted,
    share_interval,
)
from deckcalc.chloride.formulas.survey import (
    cover_statistics,
    electrodes,
    potential_classes,
    potential_on_cse,
    resistivity,
    resistivity_class,
    share_below_lognormal,
    share_below_normal,
)
from deckcalc.chloride.formulas.threshold import Threshold, threshold, thresholds

__all__ = ["ContentAtDepth", "Exposure", "FirstOrder", "Fits", "Law", "Profiles", "Sampled", "Threshold",
           "above_background", "ageing_exponent", "ageing_law", "apparent_ageing", "bracket", "cement_share", "concrete_share",
           "content_at_depth", "content_from_cement_share", "content_from_concrete_share", "content_linear_surface",
           "content_root_surface", "cores_wanted", "corner_content", "corrosion_rate", "cover_statistics",
           "depth_at_content", "electrodes", "face_content", "first_order", "fit_coefficient", "fit_profile",
           "fit_profile_and_background", "fit_profiles", "growing_time", "integrated_ageing",
           "mid_depth", "migration_coefficient", "penetration_to_crack", "potential_classes", "potential_on_cse",
           "removal_place", "resistivity", "resistivity_class", "sample", "share_below_lognormal",
           "share_below_normal", "share_counted", "share_interval", "temperature_factor", "threshold", "thresholds",
           "time_to_cracking", "time_to_initiation", "time_to_initiation_corner"]  # fmt: skip
