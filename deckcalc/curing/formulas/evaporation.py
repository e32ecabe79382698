"""The air over a fresh surface: vapour pressure, and the evaporation that dries the surface before it sets.

Two formulas of evaporation are in print, each in SI and in US units. They are empirical: coefficients carry hidden
units, the SI forms are rounded conversions of the US ones, and the whole approach is good to about 40 %.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from deckcalc.core.calculation import Range, calculation, exp
from deckcalc.core.forms import ByForm, Form, calculation_by_form
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


#: Units of the two equations.
SI = {"T_c": "°C", "T_a": "°C", "RH": "%", "V": "km/h"}
US = {"T_c": "°F", "T_a": "°F", "RH": "%", "V": "mph"}


class Menzel(NamedTuple):
    """Result of `evaporation_menzel`."""

    x_c: Ratio
    e_0: VapourPressure
    x_a: Ratio
    e_sa: VapourPressure
    E: Evaporation


@calculation_by_form(
    title="Evaporation from the fresh surface (Menzel)",
    notes=(SPREAD, AT_SURFACE),
    forms={
        "SI": Form(
            {"c": 0.315, "c_0": 0.253, "c_V": 0.060, "z": 0, "T_1": 234.5, "T_2": 257.14, "p": 1},
            units={**SI, "x_c": "", "e_0": "kPa", "x_a": "", "e_sa": "kPa", "E": "kg/m²/h"},
            title="Evaporation from the fresh surface (Menzel, SI form)",
            source=(Cite("menzel-1954", "evaporation equation, SI form as in ACI 305R", "memory"), HOVER),
            notes=(SPREAD, AT_SURFACE, "The rounded SI form gives 1 to 2 % more than the US form."),
        ),
        "US": Form(
            {"c": 0.44, "c_0": 0.253, "c_V": 0.096, "z": 32, "T_1": 422.1, "T_2": 430.852, "p": 6.894757},
            units={**US, "x_c": "", "e_0": "psi", "x_a": "", "e_sa": "psi", "E": "lb/ft²/h"},
            title="Evaporation from the fresh surface (Menzel, US form)",
            source=(Cite("menzel-1954", "evaporation equation, US form", "memory"), HOVER),
            notes=(
                SPREAD,
                AT_SURFACE,
                "The saturation pressure is Buck's formula in °C and kPa with its constants converted: "
                "1.8 × 234.5 = 422.1, 1.8 × 257.14 - 32 = 430.852, and 1 psi = 6.894757 kPa.",
            ),
        ),
    },
)
def evaporation_menzel(
    T_c: SurfaceTemperature, T_a: AirTemperature, RH: Humidity, V: Wind,
    *, c: float, c_0: float, c_V: float, z: float, T_1: float, T_2: float, p: float,
) -> Menzel:  # fmt: skip
    r"""Rate of evaporation of bleed water by Menzel's equation.

    .. math:: E = c (e_0 - RH \, e_{sa}) (c_0 + c_V V)

    Parameters
    ----------
    T_c : quantity of temperature, shape (...,)
        temperature of the concrete at its surface
    T_a : quantity of temperature, shape (...,)
        temperature of the air
    RH : quantity of share, shape (...,)
        relative humidity of the air
    V : quantity of speed, shape (...,)
        wind speed 0.5 m (20 in) above the surface
    form : {"SI", "US"}
        form of the equation

    Returns
    -------
    Menzel
        `e_0` saturation pressure at the concrete, `e_sa` at the air, `x_c` and `x_a` their exponents, `E` rate of evaporation
        (below zero: dew).

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Menzel 1954, in SI as in ACI 305R, from memory; Lerch's table of 1957 (from memory) follows the US form
    within 0.01 lb/ft²/h.

    Examples
    --------
    >>> from deckcalc import Q
    >>> E = evaporation_menzel(Q(30, '°C'), Q(30, '°C'), Q(50, '%'), Q(20, 'km/h'), form="SI").E
    >>> f"{E.m_as('kg/m²/h'):.2f}"
    '0.97'
    """
    x_c = (18.678 - (T_c - z) / T_1) * (T_c - z) / (T_2 + T_c)  # exponent at the concrete
    e_0 = 0.61121 * exp(x_c) / p  # saturation pressure at the concrete
    x_a = (18.678 - (T_a - z) / T_1) * (T_a - z) / (T_2 + T_a)  # exponent in the air
    e_sa = 0.61121 * exp(x_a) / p  # saturation pressure in the air
    E = c * (e_0 - RH / 100 * e_sa) * (c_0 + c_V * V)  # rate of evaporation
    return Menzel(x_c, e_0, x_a, e_sa, E)


UNO = "uno-1998"


class Uno(NamedTuple):
    """Result of `evaporation_uno`."""

    u_c: Ratio
    u_a: Ratio
    E: Evaporation


@calculation_by_form(
    title="Evaporation from the fresh surface (Uno)",
    notes=(SPREAD, AT_SURFACE),
    forms={
        "SI": Form(
            {"T_0": 18, "c": 5, "c_0": 4, "c_V": 1},
            units={**SI, "u_c": "", "u_a": "", "E": "kg/m²/h"},
            ranges={"T_a": Range("-15 °C", "60 °C")},
            title="Evaporation from the fresh surface (Uno, SI form)",
            source=(Cite(UNO, "evaporation equation, SI form, as quoted on a secondary page"), HOVER),
            notes=(SPREAD, AT_SURFACE, "The rounded SI form gives 4 to 5 % less than the US form."),
        ),
        "US": Form(
            {"T_0": 0, "c": 1, "c_0": 1, "c_V": 0.4},
            units={**US, "u_c": "", "u_a": "", "E": "lb/ft²/h"},
            ranges={"T_a": Range("0 °F", "140 °F")},
            title="Evaporation from the fresh surface (Uno, US form)",
            source=(Cite(UNO, "evaporation equation, US form, as given by a concrete supplier"), HOVER),
        ),
    },
)
def evaporation_uno(
    T_c: SurfaceTemperature, T_a: Temperature, RH: Humidity, V: Wind, *, T_0: float, c: float, c_0: float, c_V: float
) -> Uno:
    r"""Rate of evaporation of bleed water by Uno's equation.

    .. math:: E = c \left((T_c + T_0)^{2.5} - RH (T_a + T_0)^{2.5}\right) (c_V V + c_0) \cdot 10^{-6}

    Parameters
    ----------
    T_c : quantity of temperature, shape (...,)
        temperature of the concrete at its surface
    T_a : quantity of temperature, shape (...,)
        temperature of the air
    RH : quantity of share, shape (...,)
        relative humidity of the air
    V : quantity of speed, shape (...,)
        wind speed 0.5 m (20 in) above the surface
    form : {"SI", "US"}
        form of the equation

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
    Source: Uno 1998, both forms as quoted on secondary pages.

    Examples
    --------
    >>> from deckcalc import Q
    >>> E = evaporation_uno(Q(70, '°F'), Q(70, '°F'), Q(50, '%'), Q(10, 'mph'), form="US").E
    >>> f"{E.m_as('lb/ft²/h'):.3f}"
    '0.102'
    """
    u_c = (T_c + T_0) ** 2.5  # term of the concrete
    u_a = RH / 100 * (T_a + T_0) ** 2.5  # term of the air
    E = c * (u_c - u_a) * (c_V * V + c_0) / 1000000  # rate of evaporation
    return Uno(u_c, u_a, E)


EQUATIONS: dict[str, ByForm] = {"Menzel": evaporation_menzel, "Uno": evaporation_uno}


def rate(method: str, system: str, T_c: Quantity, T_a: Quantity, RH: Quantity, V: Quantity) -> Quantity:
    """Return the rate of evaporation alone, arrays as well."""
    found: Quantity = EQUATIONS[method](T_c=T_c, T_a=T_a, RH=RH, V=V, form=system).E
    return found


__all__ = ["EQUATIONS", "Menzel", "Method", "Uno", "Vapour", "evaporation_menzel", "evaporation_uno", "rate", "saturation",
           "vapour_pressure"]  # fmt: skip
