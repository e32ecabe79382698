"""Mix design by absolute volumes: from specified strength to what goes into the mixer.

The order of the work: `size_limits`, an average strength (`average_strength_no_record`, `average_strength_si` or
`average_strength_us`), `exposure_limit`, `water_cement_ratio`, `mixing_water`, `coarse_volume`, `proportions`,
`batch_masses` (or `batch_masses_ssd`) and `batch_for_volume`.
"""

from deckcalc.mix.aggregate import coarse_volume, mixing_water, size_limits
from deckcalc.mix.batching import batch_for_volume, batch_masses, batch_masses_ssd
from deckcalc.mix.strength import (
    ExposureLimit,
    average_strength_no_record,
    average_strength_si,
    average_strength_us,
    exposure_limit,
    water_cement_ratio,
)
from deckcalc.mix.volumes import proportions

__all__ = [
    "ExposureLimit", "average_strength_no_record", "average_strength_si", "average_strength_us", "batch_for_volume",
    "batch_masses", "batch_masses_ssd", "coarse_volume", "exposure_limit", "mixing_water", "proportions", "size_limits",
    "water_cement_ratio",
]  # fmt: skip
