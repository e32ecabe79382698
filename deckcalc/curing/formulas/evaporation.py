"""The air over a fresh surface: vapour pressure, and the evaporation that dries the surface before it sets.

Two formulas of evaporation are in print, each in SI and in US units. They are empirical: coefficients carry hidden
units, the SI forms are rounded conversions of the US ones, and the whole approach is good to about 40 %.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from deckcalc.core.calculation import Range, calculation, exp
from deckcalc.core.sources import Cite
from deckcalc.core.units import Evaporation, Quantity, Ratio, Share, Temperature, VapourPressure, WindSpeed

AirTemperature = Annotated[Temperature, Range("-40 °C", "60 °C")]
SurfaceTemperature = Annotated[Temperature, Range("0 °C", "60 °C")]
Humidity = Annotated[Share, Range("2 %", "100 %")]
Wind = Annotated[WindSpeed, Range("0 km/h", "120 km/h")]
BUCK = Cite("buck-1996", "saturation vapour pressure over water", "memory")
SPREAD = "The whole approach is good to about 40 % either way [Hover 2006]: a guide to precautions, not a measurement."
AT_SURFACE = (
    "Wind is that at 0.5 m (20 in) above the surface, air and humidity those 1.2 to 1.8 m (4 to 6 ft) above it and upwind; "
    "valid while bleed water covers the surface. A wind reported from a mast at 10 m (33 ft) is higher and gives more."
)
HOVER = Cite("hover-2006", "spread of the estimate, as given in the abstract")
Method = Literal["Menzel", "Uno"]


def saturation(T: Any) -> Any:
    """Return the saturation vapour pressure over water in kPa at a temperature in °C, by Buck's formula of 1996."""
    return vapour_pressure.function(T, 100.0).e_s


class Vapour(NamedTuple):
    """Result of `vapour_pressure`."""

    e_s: VapourPressure
    e_a: VapourPressure


@calculation(
    title="Vapour pressure of the air",
    source=BUCK,
    units={"T": "°C", "RH": "%", "e_s": "kPa", "e_a": "kPa"},
    notes=("The formula follows the handbook table from 0 to 50 °C within 0.05 %.",),
)
def vapour_pressure(T: AirTemperature, RH: Humidity) -> Vapour:
    r"""Saturation vapour pressure over water, and the pressure of the vapour in the air.

    .. math:: e_s = 0.61121 \exp\frac{(18.678 - T/234.5) T}{257.14 + T}, \quad e_a = RH \, e_s

    Parameters
    ----------
    T : quantity of temperature, shape (...,)
        temperature of the air
    RH : quantity of share, shape (...,)
        relative humidity

    Returns
    -------
    Vapour
        `e_s` saturation pressure, `e_a` pressure of the vapour in the air.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Buck 1996, from memory; held in the tests against a handbook table and a library of moist air.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{vapour_pressure(Q(20, '°C'), Q(50, '%')).e_s:.3f~P}"
    '2.338 kPa'
    """
    e_s = 0.61121 * exp((18.678 - T / 234.5) * T / (257.14 + T))  # saturation pressure
    e_a = RH / 100 * e_s  # pressure of the vapour in the air
    return Vapour(e_s, e_a)


class Menzel(NamedTuple):
    """Result of `evaporation_menzel_si`."""

    e_0: VapourPressure
    e_sa: VapourPressure
    E: Evaporation


@calculation(
    title="Evaporation from the fresh surface (Menzel, SI form)",
    source=(Cite("menzel-1954", "evaporation equation, SI form as in ACI 305R", "memory"), HOVER),
    units={"T_c": "°C", "T_a": "°C", "RH": "%", "V": "km/h", "e_0": "kPa", "e_sa": "kPa", "E": "kg/m²/h"},
    notes=(SPREAD, AT_SURFACE, "The rounded SI form gives 1 to 2 % more than the US form."),
)
def evaporation_menzel_si(T_c: SurfaceTemperature, T_a: AirTemperature, RH: Humidity, V: Wind) -> Menzel:
    r"""Rate of evaporation of bleed water by Menzel's equation, SI form.

    .. math:: E = 0.315 (e_0 - RH \, e_{sa}) (0.253 + 0.060 V)

    Parameters
    ----------
    T_c : quantity of temperature, shape (...,)
        temperature of the concrete at its surface
    T_a : quantity of temperature, shape (...,)
        temperature of the air
    RH : quantity of share, shape (...,)
        relative humidity of the air
    V : quantity of speed, shape (...,)
        wind speed 0.5 m above the surface

    Returns
    -------
    Menzel
        `e_0` saturation pressure at the concrete, `e_sa` at the air, `E` rate of evaporation (below zero: dew).

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Menzel 1954 in the form of ACI 305R, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{evaporation_menzel_si(Q(30, '°C'), Q(30, '°C'), Q(50, '%'), Q(20, 'km/h')).E.m_as('kg/m²/h'):.2f}"
    '0.97'
    """
    e_0 = 0.61121 * exp((18.678 - T_c / 234.5) * T_c / (257.14 + T_c))  # saturation pressure at the concrete
    e_sa = 0.61121 * exp((18.678 - T_a / 234.5) * T_a / (257.14 + T_a))  # saturation pressure in the air
    E = 0.315 * (e_0 - RH / 100 * e_sa) * (0.253 + 0.060 * V)  # rate of evaporation
    return Menzel(e_0, e_sa, E)


class MenzelUS(NamedTuple):
    """Result of `evaporation_menzel_us`."""

    t_c: Temperature
    x_c: Ratio
    e_0: VapourPressure
    t_a: Temperature
    x_a: Ratio
    e_sa: VapourPressure
    E: Evaporation


@calculation(
    title="Evaporation from the fresh surface (Menzel, US form)",
    source=(Cite("menzel-1954", "evaporation equation, US form", "memory"), HOVER),
    units={
        "T_c": "°F",
        "T_a": "°F",
        "RH": "%",
        "V": "mph",
        "t_c": "°C",
        "x_c": "",
        "e_0": "psi",
        "t_a": "°C",
        "x_a": "",
        "e_sa": "psi",
        "E": "lb/ft²/h",
    },
    notes=(SPREAD, AT_SURFACE, "The formula of the saturation pressure takes °C and gives kPa; 1 psi is 6.894757 kPa."),
)
def evaporation_menzel_us(T_c: SurfaceTemperature, T_a: AirTemperature, RH: Humidity, V: Wind) -> MenzelUS:
    r"""Rate of evaporation of bleed water by Menzel's equation, US form.

    .. math:: E = 0.44 (e_0 - RH \, e_{sa}) (0.253 + 0.096 V)

    Parameters
    ----------
    T_c : quantity of temperature, shape (...,)
        temperature of the concrete at its surface
    T_a : quantity of temperature, shape (...,)
        temperature of the air
    RH : quantity of share, shape (...,)
        relative humidity of the air
    V : quantity of speed, shape (...,)
        wind speed 20 in above the surface

    Returns
    -------
    MenzelUS
        `t_c` and `t_a` temperatures in °C, `x_c` and `x_a` exponents,
        `e_0` saturation pressure at the concrete, `e_sa` at the air, `E` rate of evaporation (below zero: dew).

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Menzel 1954, from memory; Lerch's table of 1957 (from memory) follows within 0.01 lb/ft²/h.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{evaporation_menzel_us(Q(70, '°F'), Q(70, '°F'), Q(50, '%'), Q(10, 'mph')).E.m_as('lb/ft²/h'):.3f}"
    '0.097'
    """
    t_c = (T_c - 32) / 1.8  # temperature of the concrete in °C
    x_c = (18.678 - t_c / 234.5) * t_c / (257.14 + t_c)  # exponent of its saturation pressure
    e_0 = 0.61121 * exp(x_c) / 6.894757  # saturation pressure at the temperature of the concrete
    t_a = (T_a - 32) / 1.8  # temperature of the air in °C
    x_a = (18.678 - t_a / 234.5) * t_a / (257.14 + t_a)  # exponent of its saturation pressure
    e_sa = 0.61121 * exp(x_a) / 6.894757  # saturation pressure at the temperature of the air
    E = 0.44 * (e_0 - RH / 100 * e_sa) * (0.253 + 0.096 * V)  # rate of evaporation
    return MenzelUS(t_c, x_c, e_0, t_a, x_a, e_sa, E)


UNO = "uno-1998"


class Uno(NamedTuple):
    """Result of `evaporation_uno_si` and `evaporation_uno_us`."""

    u_c: Ratio
    u_a: Ratio
    E: Evaporation


@calculation(
    title="Evaporation from the fresh surface (Uno, SI form)",
    source=(Cite(UNO, "evaporation equation, SI form, as quoted on a secondary page"), HOVER),
    units={"T_c": "°C", "T_a": "°C", "RH": "%", "V": "km/h", "u_c": "", "u_a": "", "E": "kg/m²/h"},
    notes=(SPREAD, AT_SURFACE, "The rounded SI form gives 4 to 5 % less than the US form."),
)
def evaporation_uno_si(
    T_c: SurfaceTemperature, T_a: Annotated[Temperature, Range("-15 °C", "60 °C")], RH: Humidity, V: Wind
) -> Uno:
    r"""Rate of evaporation of bleed water by Uno's equation, SI form.

    .. math:: E = 5 \left((T_c + 18)^{2.5} - RH (T_a + 18)^{2.5}\right) (V + 4) \cdot 10^{-6}

    Parameters
    ----------
    T_c : quantity of temperature, shape (...,)
        temperature of the concrete at its surface
    T_a : quantity of temperature, shape (...,)
        temperature of the air
    RH : quantity of share, shape (...,)
        relative humidity of the air
    V : quantity of speed, shape (...,)
        wind speed 0.5 m above the surface

    Returns
    -------
    Uno
        `u_c` and `u_a` terms of concrete and air, `E` rate of evaporation (below zero: dew).

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Uno 1998, as quoted on a secondary page.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{evaporation_uno_si(Q(30, '°C'), Q(30, '°C'), Q(50, '%'), Q(20, 'km/h')).E.m_as('kg/m²/h'):.2f}"
    '0.96'
    """
    u_c = (T_c + 18) ** 2.5  # term of the concrete
    u_a = RH / 100 * (T_a + 18) ** 2.5  # term of the air
    E = 5 * (u_c - u_a) * (V + 4) / 1000000  # rate of evaporation
    return Uno(u_c, u_a, E)


@calculation(
    title="Evaporation from the fresh surface (Uno, US form)",
    source=(Cite(UNO, "evaporation equation, US form", "memory"), HOVER),
    units={"T_c": "°F", "T_a": "°F", "RH": "%", "V": "mph", "u_c": "", "u_a": "", "E": "lb/ft²/h"},
    notes=(SPREAD, AT_SURFACE),
)
def evaporation_uno_us(
    T_c: SurfaceTemperature, T_a: Annotated[Temperature, Range("0 °F", "140 °F")], RH: Humidity, V: Wind
) -> Uno:
    r"""Rate of evaporation of bleed water by Uno's equation, US form.

    .. math:: E = (T_c^{2.5} - RH \, T_a^{2.5}) (1 + 0.4 V) \cdot 10^{-6}

    Parameters
    ----------
    T_c : quantity of temperature, shape (...,)
        temperature of the concrete at its surface
    T_a : quantity of temperature, shape (...,)
        temperature of the air
    RH : quantity of share, shape (...,)
        relative humidity of the air
    V : quantity of speed, shape (...,)
        wind speed 20 in above the surface

    Returns
    -------
    Uno
        `u_c` and `u_a` terms of concrete and air, `E` rate of evaporation (below zero: dew).

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Uno 1998, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{evaporation_uno_us(Q(70, '°F'), Q(70, '°F'), Q(50, '%'), Q(10, 'mph')).E.m_as('lb/ft²/h'):.3f}"
    '0.102'
    """
    u_c = T_c**2.5  # term of the concrete
    u_a = RH / 100 * T_a**2.5  # term of the air
    E = (u_c - u_a) * (1 + 0.4 * V) / 1000000  # rate of evaporation
    return Uno(u_c, u_a, E)


def evaporation(method: str, system: str) -> Any:
    """Return the calculation of evaporation by its author and unit system."""
    return {
        ("Menzel", "SI"): evaporation_menzel_si, ("Menzel", "US"): evaporation_menzel_us,
        ("Uno", "SI"): evaporation_uno_si, ("Uno", "US"): evaporation_uno_us,
    }[method, system]  # fmt: skip


def rate(method: str, system: str, T_c: Quantity, T_a: Quantity, RH: Quantity, V: Quantity) -> Quantity:
    """Return the rate of evaporation alone, arrays as well."""
    return evaporation(method, system)(T_c=T_c, T_a=T_a, RH=RH, V=V).E


__all__ = ["Menzel", "MenzelUS", "Method", "Uno", "Vapour", "evaporation", "evaporation_menzel_si", "evaporation_menzel_us", "evaporation_uno_si",
           "evaporation_uno_us", "rate", "saturation", "vapour_pressure"]  # fmt: skip
