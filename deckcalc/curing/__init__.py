"""Weather, placing, curing, strength and the hour of opening."""

from deckcalc.curing.air import (
    evaporation_menzel_si,
    evaporation_menzel_us,
    evaporation_uno_si,
    evaporation_uno_us,
    vapour_pressure,
)
from deckcalc.curing.cover import curing_compound, curing_duration, wet_cure_water
from deckcalc.curing.hydration import adiabatic_rise, degree_of_hydration
from deckcalc.curing.maturity import equivalent_age, equivalent_age_fhp, model_code_age, nurse_saul
from deckcalc.curing.placing import least_placing_temperature
from deckcalc.curing.shrinkage import (
    free_shrinkage,
    modulus_si,
    modulus_us,
    restrained_stress,
    tensile_strength_si,
    tensile_strength_us,
)
from deckcalc.curing.strength import (
    strength_aci209,
    strength_ec2,
    strength_exponential,
    strength_hyperbolic,
    strength_logarithmic,
)

__all__ = [
    "adiabatic_rise", "curing_compound", "curing_duration", "degree_of_hydration", "equivalent_age", "equivalent_age_fhp",
    "evaporation_menzel_si", "evaporation_menzel_us", "evaporation_uno_si", "evaporation_uno_us", "free_shrinkage",
    "least_placing_temperature", "model_code_age", "modulus_si", "modulus_us", "nurse_saul", "restrained_stress",
    "strength_aci209", "strength_ec2", "strength_exponential", "strength_hyperbolic", "strength_logarithmic",
    "tensile_strength_si", "tensile_strength_us", "vapour_pressure", "wet_cure_water",
]  # fmt: skip
