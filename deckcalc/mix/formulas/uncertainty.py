"""Uncertainty of the ratio and the yield of a batch, by the accuracy of the scale and of what is known of moisture and air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np


@dataclass(frozen=True)
class Load:
    """One load as designed: oven-dry aggregate and what goes into the mixer, in kg; densities in kg/m³.

    Parameters
    ----------
    cement, coarse, fine, water : float
        Masses weighed: cementitious material, aggregate as it lies, water added (with that of admixtures).
    w_ca, w_fa, A_ca, A_fa : float
        Total moisture and absorption, ratios on oven-dry mass.
    rho_cm, rho_ca, rho_fa, rho_w : float
        Densities; of the aggregates saturated surface-dry.
    air : float
        Air content.
    """

    cement: float
    coarse: float
    fine: float
    water: float
    w_ca: float
    w_fa: float
    A_ca: float
    A_fa: float
    rho_cm: float
    rho_ca: float
    rho_fa: float
    rho_w: float
    air: float


class Outcome(NamedTuple):
    """What a load turned out to be."""

    w_cm: np.ndarray
    volume: np.ndarray


@dataclass(frozen=True)
class Errors:
    """Half-widths within which about 95 of 100 errors lie: two standard deviations of a normal error.

    Parameters
    ----------
    cement, aggregate, water : float
        Of the scale, shares of the mass.
    moisture_coarse, moisture_fine : float
        Of the total moisture, ratios on oven-dry mass.
    air : float
        Of the air content.
    """

    cement: float
    aggregate: float
    water: float
    moisture_coarse: float
    moisture_fine: float
    air: float


def outcome(load: Load, e_c=0.0, e_ca=0.0, e_fa=0.0, e_w=0.0, d_ca=0.0, d_fa=0.0, d_air=0.0) -> Outcome:
    """Return ratio and volume of a load where masses and moistures differ from what was meant.

    Parameters
    ----------
    load : Load
    e_c, e_ca, e_fa, e_w : float or array
        Relative errors of the masses.
    d_ca, d_fa : float or array
        True moisture less the moisture taken.
    d_air : float or array
        True air less the air of the design.

    Returns
    -------
    Outcome
        `w_cm` ratio of water to cementitious material, `volume` of concrete in m³.
    """
    cement, coarse, fine = load.cement * (1 + e_c), load.coarse * (1 + e_ca), load.fine * (1 + e_fa)
    S_ca = coarse / (1 + load.w_ca + d_ca) * (1 + load.A_ca)
    S_fa = fine / (1 + load.w_fa + d_fa) * (1 + load.A_fa)
    water = load.water * (1 + e_w) + coarse - S_ca + fine - S_fa
    solid = cement / load.rho_cm + S_ca / load.rho_ca + S_fa / load.rho_fa + water / load.rho_w
    return Outcome(water / cement, solid / (1 - load.air - d_air))


def sample(load: Load, errors: Errors, count: int = 100_000, seed: int = 1) -> Outcome:
    """Draw loads with independent normal errors; the same seed gives the same loads.

    Examples
    --------
    >>> load = Load(40, 95, 62, 12, 0.015, 0.045, 0.008, 0.011, 3150, 2650, 2600, 1000, 0.06)
    >>> none = Errors(0, 0, 0, 0, 0, 0)
    >>> drawn = sample(load, none, 10)
    >>> bool(np.allclose(drawn.w_cm, outcome(load).w_cm))
    True
    """
    draw = np.random.default_rng(seed)
    e = lambda half: draw.normal(0.0, half / 2, count)  # noqa: E731
    return outcome(
        load, e_c=e(errors.cement), e_ca=e(errors.aggregate), e_fa=e(errors.aggregate), e_w=e(errors.water),
        d_ca=e(errors.moisture_coarse), d_fa=e(errors.moisture_fine), d_air=e(errors.air),
    )  # fmt: skip


def band(values: np.ndarray) -> tuple[float, float, float]:
    """Return the values below which 5, 50 and 95 of 100 lie."""
    low, middle, high = np.quantile(values, (0.05, 0.5, 0.95))
    return float(low), float(middle), float(high)


def chance_above(values: np.ndarray, limit: float) -> float:
    """Return the share of drawn values above a limit; what lies at the limit is not above it.

    Examples
    --------
    >>> chance_above(np.array([0.38, 0.39, 0.40, 0.41]), 0.40)
    0.25
    """
    return float(np.mean(values > limit * (1 + 1e-9)))


def to_aim_for(values: np.ndarray, limit: float, chance: float) -> float:
    """Return the ratio to design for, so that drawn values like these lie above a limit with a chance at most.

    Examples
    --------
    >>> round(to_aim_for(np.array([0.38, 0.39, 0.40, 0.41, 0.42]), 0.40, 0.25), 3)
    0.39
    """
    return limit - float(np.quantile(values, 1 - chance) - np.median(values))
