"""Maturity: what a temperature history is worth in age, by the conventions in print, each under its own name."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, exp, larger, smaller
from deckcalc.core.sources import Cite
from deckcalc.core.units import (
    AbsoluteTemperature,
    ActivationEnergy,
    Hours,
    InputError,
    Maturity,
    Quantity,
    Ratio,
    Temperature,
    TemperatureDifference,
    registry,
)
from deckcalc.core.words import how_many

ConcreteTemperature = Annotated[Temperature, Range("-30 °C", "95 °C")]
Datum = Annotated[Temperature, Range("-15 °C", "10 °C")]
Reference = Annotated[Temperature, Range("15 °C", "30 °C")]
Interval = Annotated[Hours, Range("0 h", "20000 h")]
C1074 = "astm-c1074"
DATUMS = "Datums of -11.7, -11, -10, 0 and 2.5 °C are all in print: state the one used, and use the same for cylinders and patch."


class NurseSaul(NamedTuple):
    """Result of `nurse_saul`."""

    Delta_T: TemperatureDifference
    Delta_m: TemperatureDifference
    M: Maturity
    t_e: Hours


@calculation(
    title="Temperature-time factor of an interval (Nurse-Saul)",
    source=(Cite(C1074, "Eq. 1, as given in lecture notes"), Cite(C1074, "age at the reference temperature", "memory")),
    notes=(DATUMS, "Intervals below the datum count as zero."),
)
def nurse_saul(T: ConcreteTemperature, T_0: Datum, T_r: Reference, t: Interval) -> NurseSaul:
    r"""Temperature-time factor of an interval at one mean temperature, and the age it is worth at the reference.

    .. math:: M = \max(T - T_0, 0)\, t, \quad t_e = \frac{M}{T_r - T_0}

    Parameters
    ----------
    T : quantity of temperature, shape (...,)
        mean temperature of the concrete over the interval
    T_0 : quantity of temperature
        datum temperature, at which nothing matures
    T_r : quantity of temperature
        reference temperature of the equivalent age
    t : quantity of time, shape (...,)
        length of the interval

    Returns
    -------
    NurseSaul
        `Delta_T` temperature above the datum, `Delta_m` the part that counts, `M` temperature-time factor, `t_e` equivalent age.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ASTM C1074, equation 1. Linear in temperature: too little at high temperature, too much at low.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{nurse_saul(Q(15, '°C'), Q(-11, '°C'), Q(20, '°C'), Q(28, 'd')).M.m_as('Δ°C·d'):.0f}"
    '728'
    """
    Delta_T = T - T_0  # temperature above the datum
    Delta_m = T - smaller(T, T_0)  # the part that matures, nothing below the datum
    M = Delta_m * t  # temperature-time factor of the interval
    t_e = M / (T_r - T_0)  # equivalent age at the reference temperature
    return NurseSaul(Delta_T, Delta_m, M, t_e)


class Equivalent(NamedTuple):
    """Result of `equivalent_age`."""

    T_k: AbsoluteTemperature
    T_rk: AbsoluteTemperature
    x: Ratio
    k: Ratio
    t_e: Hours


@calculation(
    title="Equivalent age of an interval (Arrhenius)",
    source=Cite(C1074, "Eq. 2, after Freiesleben Hansen and Pedersen", "memory"),
    units={"T": "°C", "E_a": "J/mol", "T_r": "°C", "t": "h", "T_k": "K", "T_rk": "K", "x": "", "k": "", "t_e": "h"},
    notes=("Gas constant 8.314 J/(mol K); absolute temperature is that in °C and 273.15.",),
)
def equivalent_age(
    T: ConcreteTemperature,
    E_a: Annotated[ActivationEnergy, Range("20 kJ/mol", "80 kJ/mol")],
    T_r: Reference,
    t: Interval,
) -> Equivalent:
    r"""Age at the reference temperature that an interval at another temperature is worth.

    .. math:: t_e = t \exp\left(\frac{E_a}{R} \left(\frac{1}{T_r} - \frac{1}{T}\right)\right)

    Parameters
    ----------
    T : quantity of temperature, shape (...,)
        mean temperature of the concrete over the interval
    E_a : quantity of energy per amount
        apparent activation energy
    T_r : quantity of temperature
        reference temperature
    t : quantity of time, shape (...,)
        length of the interval

    Returns
    -------
    Equivalent
        `T_k` and `T_rk` absolute temperatures, `x` exponent, `k` rate against that at the reference, `t_e` equivalent age.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ASTM C1074, equation 2, from memory. 40 to 45 kJ/mol for Type I cement without admixtures (memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{equivalent_age(Q(10, '°C'), Q(40, 'kJ/mol'), Q(20, '°C'), Q(10, 'h')).t_e:.2f~P}"
    '5.60 h'
    """
    T_k = T + 273.15  # absolute temperature of the concrete
    T_rk = T_r + 273.15  # absolute reference temperature
    x = E_a / 8.314 * (1 / T_rk - 1 / T_k)  # exponent
    k = exp(x)  # rate against that at the reference temperature
    t_e = k * t  # equivalent age at the reference temperature
    return Equivalent(T_k, T_rk, x, k, t_e)


class Adjusted(NamedTuple):
    """Result of `model_code_age`."""

    x: Ratio
    k: Ratio
    t_e: Hours


@calculation(
    title="Temperature-adjusted age of an interval (Model Code 1990)",
    source=(Cite("ceb-fip-mc90", "2.1.8", "memory"), Cite("en-1992-1-1", "expression (B.10)", "memory")),
    units={"T": "°C", "t": "h", "x": "", "k": "", "t_e": "h"},
    notes=("The printed constant 13.65 gives 0.998 at 20 °C, not 1.",),
)
def model_code_age(T: Annotated[Temperature, Range("0 °C", "80 °C")], t: Interval) -> Adjusted:
    r"""Age at 20 °C that an interval is worth by the European codes.

    .. math:: t_e = t \exp\left(13.65 - \frac{4000}{273 + T}\right)

    Parameters
    ----------
    T : quantity of temperature, shape (...,)
        mean temperature of the concrete over the interval
    t : quantity of time, shape (...,)
        length of the interval

    Returns
    -------
    Adjusted
        `x` exponent, `k` rate against that at 20 °C, `t_e` adjusted age.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: CEB-FIP Model Code 1990, 2.1.8; EN 1992-1-1, (B.10); both from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{model_code_age(Q(10, '°C'), Q(10, 'h')).t_e:.2f~P}"
    '6.16 h'
    """
    x = 13.65 - 4000 / (273 + T)  # exponent
    k = exp(x)  # rate against that at 20 °C
    t_e = k * t  # adjusted age
    return Adjusted(x, k, t_e)


class FhpAge(NamedTuple):
    """Result of `equivalent_age_fhp`."""

    E_T: ActivationEnergy
    T_k: AbsoluteTemperature
    x: Ratio
    k: Ratio
    t_e: Hours


@calculation(
    title="Equivalent age of an interval (Freiesleben Hansen and Pedersen)",
    source=Cite("freiesleben-1977", "apparent activation energy by temperature", "memory"),
    units={"T": "°C", "t": "h", "E_T": "J/mol", "T_k": "K", "x": "", "k": "", "t_e": "h"},
    notes=("Gas constant 8.314 J/(mol K); reference temperature 20 °C.",),
)
def equivalent_age_fhp(T: ConcreteTemperature, t: Interval) -> FhpAge:
    r"""Age at 20 °C with an activation energy that rises in the cold.

    .. math:: t_e = t \exp\left(\frac{E_T}{R}\left(\frac{1}{293.15} - \frac{1}{T}\right)\right)

    Parameters
    ----------
    T : quantity of temperature, shape (...,)
        mean temperature of the concrete over the interval
    t : quantity of time, shape (...,)
        length of the interval

    Returns
    -------
    FhpAge
        `E_T` activation energy at the temperature, `T_k` absolute temperature, `x` exponent, `k` rate, `t_e` equivalent age.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Freiesleben Hansen and Pedersen 1977, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{equivalent_age_fhp(Q(25, '°C'), Q(10, 'h')).t_e:.2f~P}"
    '12.59 h'
    """
    E_T = 33500 + 1470 * larger(20 - T, 0)  # activation energy at the temperature, more in the cold
    T_k = T + 273.15  # absolute temperature of the concrete
    x = E_T / 8.314 * (1 / 293.15 - 1 / T_k)  # exponent
    k = exp(x)  # rate against that at 20 °C
    t_e = k * t  # equivalent age at 20 °C
    return FhpAge(E_T, T_k, x, k, t_e)


def accumulated(time: np.ndarray, rate: np.ndarray) -> np.ndarray:
    """Return the running sum of a rate over time, by trapezia: equivalent age or temperature-time factor.

    Parameters
    ----------
    time : array, shape (n,)
        Rising.
    rate : array, shape (n,) or (n, histories)
        At those times.

    Returns
    -------
    array, same shape as `rate`
        Zero at the first time.

    Examples
    --------
    >>> accumulated(np.array([0.0, 1.0, 3.0]), np.array([10.0, 20.0, 20.0])).tolist()
    [0.0, 15.0, 55.0]
    """
    rate = np.asarray(rate, dtype=float)
    steps = np.diff(np.asarray(time, dtype=float)).reshape(-1, *([1] * (rate.ndim - 1)))
    total = np.cumsum(0.5 * steps * (rate[1:] + rate[:-1]), axis=0)
    return np.concatenate([np.zeros((1, *rate.shape[1:])), total])


class FromCubes(NamedTuple):
    """Datum and activation energy from mortar cubes, with the steps.

    Attributes
    ----------
    temperatures : list of float
        Curing temperatures [°C].
    constants : list of float
        Rate constant at each [1/h].
    limits : list of float
        Limiting strength at each [Pa].
    datum : Quantity
        Where the straight line of rate constant against temperature meets zero.
    energy : Quantity
        From the slope of the logarithm of the rate constant against the inverse absolute temperature.
    fit : float
        Coefficient of determination of that last line.
    """

    temperatures: list[float]
    constants: list[float]
    limits: list[float]
    datum: Quantity
    energy: Quantity
    fit: float


def from_cubes(sets: dict[float, tuple[list[float], list[float]]]) -> FromCubes:
    """Return datum temperature and activation energy from mortar cubes by the procedure of ASTM C1074, annex.

    Cubes are cured in baths at three temperatures or more. At each, a hyperbola is fitted to strength against age; its
    rate constants against temperature give the datum, their logarithms against inverse absolute temperature the
    activation energy.

    Parameters
    ----------
    sets : dict
        By curing temperature [°C]: ages [h] and strengths [Pa].

    Raises
    ------
    InputError
        If there are fewer than three temperatures, or the rate constant does not rise with temperature.

    Notes
    -----
    Source: ASTM C1074, annex A1, from memory.
    """
    from deckcalc.curing.formulas.regression import fit

    if len(sets) < 3:
        raise InputError(
            f"cubes at {how_many(len(sets), 'temperature')}; three are wanted, spanning those expected on site"
        )
    warm = sorted(sets)
    fits = [fit("hyperbolic", np.array(sets[T][0]), np.array(sets[T][1]), 0.90) for T in warm]
    constants = [one.values[1] for one in fits]
    if not all(a < b for a, b in pairwise(constants)):
        raise InputError("the rate constant of the cubes does not rise with temperature; check ages and temperatures")
    slope, level = np.polyfit(warm, constants, 1)
    inverse = 1.0 / (np.array(warm) + 273.15)
    line = np.polyfit(inverse, np.log(constants), 1)
    residual = np.log(constants) - np.polyval(line, inverse)
    spread = np.log(constants) - np.mean(np.log(constants))
    q = registry().Quantity
    return FromCubes(
        warm, [float(k) for k in constants], [one.values[0] for one in fits], q(float(-level / slope), "degC"),
        q(float(-line[0] * 8.314), "J/mol"), 1.0 - float(residual @ residual) / float(spread @ spread),
    )  # fmt: skip
