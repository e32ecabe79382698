"""Weather, placing, curing, strength and the hour of opening."""

from deckcalc.curing.formulas.evaporation import (
    evaporation_menzel,
    evaporation_uno,
    vapour_pressure,
)
from deckcalc.curing.formulas.hydration import adiabatic_rise, degree_of_hydration
from deckcalc.curing.formulas.maturity import equivalent_age, equivalent_age_fhp, model_code_age, nurse_saul
from deckcalc.curing.formulas.moist_curing import curing_compound, curing_duration, wet_cure_water
from deckcalc.curing.formulas.placing import least_placing_temperature
from deckcalc.curing.formulas.shrinkage import (
    free_shrinkage,
    modulus,
    restrained_stress,
    restraint,
    tensile_strength,
)
from deckcalc.curing.formulas.strength import (
    strength_aci209,
    strength_ec2,
    strength_exponential,
    strength_hyperbolic,
    strength_logarithmic,
)

__all__ = [
    "adiabatic_rise", "curing_compound", "curing_duration", "degree_of_hydration", "equivalent_age", "equivalent_age_fhp",
    "evaporation_menzel", "evaporation_uno", "free_shrinkage",
    "least_placing_temperature", "model_code_age", "modulus", "nurse_saul", "restrained_stress", "restraint",
    "strength_aci209", "strength_ec2", "strength_exponential", "strength_hyperbolic", "strength_logarithmic",
    "tensile_strength", "vapour_pressure", "wet_cure_water",
]  # fmt: skip
