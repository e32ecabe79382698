"""Chloride: contents on one basis, profiles and their fit, time and probability of corrosion, surveys of the surface."""

from __future__ import annotations

from deckcalc.chloride.bases import cement_share, concrete_share, content_from_cement_share, content_from_concrete_share
from deckcalc.chloride.diffusion import content_linear_surface, content_root_surface, corner_content, face_content
from deckcalc.chloride.fit import Fits, Profiles, fit_profiles
from deckcalc.chloride.initiation import (
    apparent_ageing,
    growing_time,
    integrated_ageing,
    temperature_factor,
    time_to_initiation,
    time_to_initiation_corner,
)
from deckcalc.chloride.laws import Law
from deckcalc.chloride.patch_concrete import ageing_law, migration_coefficient
from deckcalc.chloride.probability import Exposure, FirstOrder, Sampled, first_order, sample
from deckcalc.chloride.profile import ContentAtDepth, above_background, bracket, content_at_depth, mid_depth
from deckcalc.chloride.propagation import corrosion_rate, penetration_to_crack, time_to_cracking
from deckcalc.chloride.removal import cores_wanted, depth_at_content, removal_place, share_counted, share_interval
from deckcalc.chloride.survey import (
    cover_statistics,
    electrodes,
    potential_classes,
    potential_on_cse,
    resistivity,
    resistivity_class,
    share_below_lognormal,
    share_below_normal,
)
from deckcalc.chloride.threshold import Threshold, threshold, thresholds

__all__ = ["ContentAtDepth", "Exposure", "FirstOrder", "Fits", "Law", "Profiles", "Sampled", "Threshold",
           "above_background", "ageing_law", "apparent_ageing", "bracket", "cement_share", "concrete_share",
           "content_at_depth", "content_from_cement_share", "content_from_concrete_share", "content_linear_surface",
           "content_root_surface", "cores_wanted", "corner_content", "corrosion_rate", "cover_statistics",
           "depth_at_content", "electrodes", "face_content", "first_order", "fit_profiles", "growing_time", "integrated_ageing",
           "mid_depth", "migration_coefficient", "penetration_to_crack", "potential_classes", "potential_on_cse",
           "removal_place", "resistivity", "resistivity_class", "sample", "share_below_lognormal",
           "share_below_normal", "share_counted", "share_interval", "temperature_factor", "threshold", "thresholds",
           "time_to_cracking", "time_to_initiation", "time_to_initiation_corner"]  # fmt: skip
