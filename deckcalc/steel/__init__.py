"""Reinforcement: from caliper readings to the strength of the deck strip, and the steel to put back."""

from __future__ import annotations

from deckcalc.core.bars import AreaBasis, bar_area, bar_diameter, bar_mass, is_square
from deckcalc.steel.formulas.bars import clear_spacing, confinement, strip_area, supplement
from deckcalc.steel.formulas.corrosion_rates import corrosion_current, corrosion_rate, rate_by_age, years_to_limit
from deckcalc.steel.formulas.development_changes import bundled_bars, development_excess, placement_aashto
from deckcalc.steel.formulas.flexure import flexure, neutral_axis
from deckcalc.steel.formulas.laps_aashto_ec2 import (
    development_aashto,
    development_aashto_7,
    development_aashto_10,
    lap_ec2,
    tension_ec2,
)
from deckcalc.steel.formulas.laps_aci import development_aci, development_aci_simple, lap_length
from deckcalc.steel.formulas.loss import (
    adjacent_loss,
    mass_loss,
    mat_loss,
    section_loss,
    section_loss_square,
    uniform_loss,
)
from deckcalc.steel.formulas.pits import corroded_yield, pit_depth, pit_loss
from deckcalc.steel.formulas.punching import punching, punching_aashto
from deckcalc.steel.formulas.rating import dead_moments, deck_moment, deck_moment_old, rating, strip_widths
from deckcalc.steel.formulas.reliability import exceedance
from deckcalc.steel.formulas.serviceability import crack_spacing, crack_spacing_aashto, cracked_section
from deckcalc.steel.formulas.splices import added_bar, coupler_force
from deckcalc.steel.formulas.steel_wanted import (
    least_moment_aashto,
    missing_steel,
    steel_for_moment,
    strip_moment,
)
from deckcalc.steel.formulas.strip_states import (
    added_in_strip,
    area_left,
    depth_to_bars,
    depth_under_removal,
    open_slab,
    service_moment,
)
from deckcalc.steel.formulas.two_layers import balanced_depth, flexure_layers, least_steel

__all__ = [
    "AreaBasis", "added_bar", "added_in_strip", "adjacent_loss", "balanced_depth", "area_left", "bar_area", "bar_diameter", "bar_mass", "bundled_bars", "clear_spacing", "confinement",
    "corroded_yield", "corrosion_current", "corrosion_rate", "coupler_force", "crack_spacing", "crack_spacing_aashto", "cracked_section",
    "dead_moments", "deck_moment", "depth_to_bars", "depth_under_removal", "deck_moment_old", "development_aashto", "development_aashto_10", "development_aashto_7",
    "development_aci", "development_aci_simple", "development_excess", "exceedance", "flexure", "flexure_layers", "is_square", "lap_ec2",
    "lap_length", "least_moment_aashto", "least_steel", "mass_loss", "mat_loss", "missing_steel", "neutral_axis", "open_slab", "pit_depth", "pit_loss", "placement_aashto", "punching", "punching_aashto", "rate_by_age", "rating",
    "section_loss", "service_moment", "section_loss_square", "steel_for_moment", "strip_area", "strip_moment", "strip_widths", "supplement", "tension_ec2", "uniform_loss",
    "years_to_limit",
]  # fmt: skip
