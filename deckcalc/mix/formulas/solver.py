"""Admissible proportions and what they cost: a linear programme over the masses in a unit of concrete.

With the mixing water fixed by slump and size, every demand is linear in the masses: the ratio of water to cementitious
material, the minimum content, the shares of supplementary materials, the band of coarse aggregate, and that the absolute
volumes fill the concrete. So the cheapest, or the minimum emitting, mix is found exactly, not by search.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from deckcalc.core.remembered import remembered
from deckcalc.core.units import InputError

MATERIALS = ("cement", "fly ash", "slag cement", "silica fume", "coarse", "fine")
CEMENTITIOUS = MATERIALS[:4]


@dataclass(frozen=True)
class Demand:
    """What a mix must satisfy, in kg, m³ and ratios.

    Parameters
    ----------
    water : float
        Mixing water, kg/m³.
    air : float
        Air content, share of the volume.
    w_cm : float
        Maximum ratio of water to cementitious material.
    least : float
        Minimum cementitious material, kg/m³.
    coarse : tuple of float
        Minimum and maximum mass of coarse aggregate, kg/m³.
    shares : dict of float
        Maximum share of each supplementary material in the cementitious material; 0 or absent where there is none.
    total, ash_and_fume : float
        Maximum share of all of them, and of fly ash and silica fume together.
    densities : dict of float
        Density of each material, kg/m³; that of aggregates on the basis on which their masses are counted.
    water_density : float
        kg/m³.
    """

    water: float
    air: float
    w_cm: float
    least: float
    coarse: tuple[float, float]
    shares: Mapping[str, float]
    total: float
    ash_and_fume: float
    densities: Mapping[str, float]
    water_density: float


@dataclass(frozen=True)
class Solved:
    """An admissible mix: masses in kg/m³, its ratio, and the two costs of a cubic metre."""

    masses: dict[str, float]
    w_cm: float
    price: float
    carbon: float


def solve(demand: Demand, price: Mapping[str, float], carbon: Mapping[str, float], weight: float) -> Solved:
    """Return the admissible mix of minimum cost.

    Parameters
    ----------
    demand : Demand
    price, carbon : dict of float
        Of a kilogram of each material, water included where it has any.
    weight : float
        0 for the minimum price, 1 for the minimum carbon; between, both, each by its size for the minimum-price mix.

    Returns
    -------
    Solved

    Raises
    ------
    InputError
        If no proportions satisfy the demands.

    Examples
    --------
    >>> demand = Demand(
    ...     160, 0.06, 0.40, 335, (900, 1000), {"fly ash": 0.25}, 0.5, 0.35,
    ...     {"cement": 3150, "fly ash": 2400, "slag cement": 2900, "silica fume": 2200, "coarse": 2650, "fine": 2600},
    ...     1000,
    ... )
    >>> price = {"cement": 0.15, "fly ash": 0.08, "coarse": 0.02, "fine": 0.02}
    >>> found = solve(demand, price, {"cement": 0.9}, 0)
    >>> f"{found.masses['cement']:.0f} {found.masses['fly ash']:.0f} {found.w_cm:.2f}"
    '300 100 0.40'
    """
    cost = np.array([price.get(name, 0.0) for name in MATERIALS])
    if weight > 0:
        emit = np.array([carbon.get(name, 0.0) for name in MATERIALS])
        if weight < 1:
            base = solve(demand, price, carbon, 0)
            cost = (1 - weight) * cost / max(base.price, 1e-9) + weight * emit / max(base.carbon, 1e-9)
        else:
            cost = emit + 1e-9 * cost
    x = _programme(demand, cost)
    masses = dict(zip(MATERIALS, (float(v) for v in x), strict=True))
    total = sum(masses[name] for name in CEMENTITIOUS)
    full = {**masses, "water": demand.water}
    return Solved(
        masses, demand.water / total, sum(price.get(name, 0.0) * mass for name, mass in full.items()),
        sum(carbon.get(name, 0.0) * mass for name, mass in full.items()),
    )  # fmt: skip


@remembered(most=512)
def _programme(demand: Demand, cost: np.ndarray) -> np.ndarray:
    """Solve the linear programme."""
    from scipy.optimize import linprog

    binder = np.array([name in CEMENTITIOUS for name in MATERIALS], dtype=float)

    def one(*names: str) -> np.ndarray:
        return np.array([name in names for name in MATERIALS], dtype=float)

    least = max(demand.least, demand.water / demand.w_cm)
    above = [-binder]
    bound = [-least]
    for name in CEMENTITIOUS[1:]:
        above.append(one(name) - demand.shares.get(name, 0.0) * binder)
        bound.append(0.0)
    above += [one(*CEMENTITIOUS[1:]) - demand.total * binder]
    above += [one("fly ash", "silica fume") - demand.ash_and_fume * binder]
    bound += [0.0, 0.0]
    volumes = np.array([1 / demand.densities[name] for name in MATERIALS])
    room = 1 - demand.air - demand.water / demand.water_density
    limits = [(0, None)] * 4 + [demand.coarse, (0, None)]
    found = linprog(cost, np.array(above), bound, volumes[None, :], [room], bounds=limits)
    if not found.success:
        raise InputError(
            f"no proportions satisfy the demands: {demand.water:.0f} kg/m³ of water at a ratio of at most {demand.w_cm:.2f} "
            f"asks for {least:.0f} kg/m³ of cementitious material, and with {demand.coarse[0]:.0f} kg/m³ of coarse "
            "aggregate and the air nothing is left for fine aggregate; less water, or a higher ratio, is wanted"
        )
    return np.asarray(found.x)


def best_by_ratio(
    demand: Demand, price: Mapping[str, float], carbon: Mapping[str, float], ratios: Sequence[float], weight: float
) -> list[Solved]:
    """Return the best mix at each ratio of water to cementitious material, the ratio reached exactly or undercut.

    Ratios above the maximum admitted are left out.
    """
    from dataclasses import replace

    return [solve(replace(demand, w_cm=r), price, carbon, weight) for r in ratios if r <= demand.w_cm * (1 + 1e-9)]
