"""Heat of hydration: how much a cement gives, and how much of it by which equivalent age."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import Range, calculation, exp
from deckcalc.core.sources import Cite
from deckcalc.core.units import (
    Content,
    Density,
    HeatPerMass,
    Hours,
    Quantity,
    Ratio,
    SpecificHeat,
    TemperatureDifference,
)

SCHINDLER = Cite("schindler-2005", "general hydration model for cementitious materials", "memory")


class Hydration(NamedTuple):
    """Result of `degree_of_hydration`."""

    alpha_u: Ratio
    y: Ratio
    g: Ratio
    alpha: Ratio


@calculation(
    title="Degree of hydration at an equivalent age",
    source=(SCHINDLER, Cite("mills-1966", "ultimate degree of hydration", "memory")),
    notes=(
        "The parameters of a cement type are those of a typical composition; a cement at hand may differ by a quarter.",
    ),
)
def degree_of_hydration(
    t_e: Annotated[Hours, Range("0 h", "10000 h", above=True)],
    tau: Annotated[Hours, Range("1 h", "100 h")],
    beta: Annotated[Ratio, Range("0.2", "2")],
    w_cm: Annotated[Ratio, Range("0.2", "0.8")],
) -> Hydration:
    r"""Share of the cement that has hydrated by an equivalent age.

    .. math:: \alpha = \frac{1.031\,w/cm}{0.194 + w/cm} \exp\left(-(\tau/t_e)^\beta\right)

    Parameters
    ----------
    t_e : quantity of time, shape (...,)
        equivalent age at the reference temperature
    tau : quantity of time
        hydration time parameter of the cement
    beta : quantity of ratio
        hydration shape parameter of the cement
    w_cm : quantity of ratio
        ratio of water to cementitious material by mass

    Returns
    -------
    Hydration
        `alpha_u` the most that can hydrate, `y` and `g` steps of the exponential, `alpha` degree of hydration.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Schindler and Folliard 2005 with Mills 1966, from memory. The shape was fitted to adiabatic tests.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{degree_of_hydration(Q(24, 'h'), Q(12, 'h'), 0.9, 0.45).alpha.m_as(''):.3f}"
    '0.422'
    """
    alpha_u = 1.031 * w_cm / (0.194 + w_cm)  # the most of the cement that can hydrate
    y = (tau / t_e) ** beta  # exponent
    g = exp(-y)  # share of that reached by the equivalent age
    alpha = alpha_u * g  # degree of hydration
    return Hydration(alpha_u, y, g, alpha)


@calculation(
    title="Adiabatic rise of temperature",
    source=Cite("", "heat given off over heat capacity of the concrete", "common practice"),
    notes=("No heat is taken to leave; a thin patch loses most of it to the existing concrete and to the air.",),
)
def adiabatic_rise(
    C: Annotated[Content, Range("100 kg/m^3", "800 kg/m^3")],
    H_u: Annotated[HeatPerMass, Range("100 kJ/kg", "700 kJ/kg")],
    alpha: Annotated[Ratio, Range("0", "1.1")],
    rho: Annotated[Density, Range("1600 kg/m^3", "2700 kg/m^3")],
    c_p: Annotated[SpecificHeat, Range("0.6 kJ/kg/K", "1.6 kJ/kg/K")],
) -> TemperatureDifference:
    r"""Rise of temperature if no heat left the concrete.

    .. math:: \Delta T = \frac{C H_u \alpha}{\rho c_p}

    Parameters
    ----------
    C : quantity of mass per volume, shape (...,)
        cement per volume of concrete
    H_u : quantity of heat per mass
        heat of complete hydration of the cement
    alpha : quantity of ratio
        degree of hydration
    rho : quantity of mass per volume
        unit weight of the concrete
    c_p : quantity of specific heat
        specific heat of the concrete

    Returns
    -------
    TemperatureDifference
        `Delta_T`, adiabatic rise.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: conservation of heat. A rule of the trade gives 12 to 14 °C for each 100 kg/m³ of cement.

    Examples
    --------
    >>> from deckcalc import Q
    >>> rise = adiabatic_rise(Q(400, "kg/m³"), Q(450, "kJ/kg"), 0.7, Q(2400, "kg/m³"), Q(1, "kJ/kg/K"))
    >>> f"{rise:.1f~P}"
    '52.5 Δ°C'
    """
    Delta_T = C * H_u * alpha / (rho * c_p)  # adiabatic rise of temperature
    return Delta_T


@dataclass(frozen=True)
class Cement:
    """Heat of a cement type of typical composition, in plain SI (J/kg, s).

    Attributes
    ----------
    name : str
    heat : float
        Heat of complete hydration [J/kg].
    tau : float
        Hydration time parameter [s].
    beta : float
        Hydration shape parameter.
    """

    name: str
    heat: float
    tau: float
    beta: float


def cement(name: str) -> Cement:
    """Return the heat parameters of a cement type.

    Raises
    ------
    TableError
        If the table has no such type; the message lists what there is.

    Examples
    --------
    >>> cement("III").tau < cement("I").tau
    True
    """
    row = tables.load("hydration_heat").row("cement", name)
    return Cement(name, 1e3 * float(row["H_u [kJ/kg]"]), 3600 * float(row["tau [h]"]), float(row["beta"]))


def from_composition(
    c3s: float, c2s: float, c3a: float, c4af: float, so3: float, free_cao: float, mgo: float, blaine: float
) -> tuple[float, float, float]:
    """Return heat [J/kg], time parameter [h] and shape parameter of a portland cement from its composition.

    Parameters
    ----------
    c3s, c2s, c3a, c4af, so3, free_cao, mgo : float
        Shares by mass of the cement.
    blaine : float
        Fineness [m²/kg].

    Returns
    -------
    tuple of float

    Notes
    -----
    Source: Schindler and Folliard 2005: heat as seen in a public copy, the other two from memory.

    Examples
    --------
    >>> heat, tau, beta = from_composition(0.55, 0.18, 0.10, 0.08, 0.028, 0.01, 0.01, 370)
    >>> round(heat / 1e3), round(tau, 1), round(beta, 2)
    (480, 15.7, 0.65)
    """
    heat = 500 * c3s + 260 * c2s + 866 * c3a + 420 * c4af + 624 * so3 + 1186 * free_cao + 850 * mgo
    tau = 66.78 * c3a**-0.154 * c3s**-0.401 * blaine**-0.804 * so3**-0.758
    beta = 181.4 * c3a**0.146 * c3s**0.227 * blaine**-0.535 * so3**0.558
    return 1e3 * heat, tau, beta


@dataclass(frozen=True)
class HeatSource:
    """Hydration heat of a concrete, in plain SI.

    Attributes
    ----------
    per_volume : float
        Cement content times heat of complete hydration times ultimate degree of hydration [J/m³].
    tau, beta : float
        Parameters of the cement [s, -].
    """

    per_volume: float
    tau: float
    beta: float

    def released(self, t_e: np.ndarray) -> np.ndarray:
        """Return the heat given off by an equivalent age in seconds [J/m³]."""
        return self.per_volume * np.exp(-((self.tau / np.maximum(t_e, 1.0)) ** self.beta))


def heat_source(kind: Cement, content: Quantity, w_cm: Quantity) -> HeatSource:
    """Return the source of heat of a concrete.

    Parameters
    ----------
    kind : Cement
    content : quantity of mass per volume
    w_cm : quantity of ratio
    """
    ratio = float(w_cm.m_as("")) if isinstance(w_cm, Quantity) else float(w_cm)
    ultimate = 1.031 * ratio / (0.194 + ratio)
    return HeatSource(float(content.m_as("kg/m³")) * kind.heat * ultimate, kind.tau, kind.beta)
