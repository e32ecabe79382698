"""The ice, or the temperature of the water, that brings the fresh concrete to a wanted temperature."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.units import Content, Share, Temperature
from deckcalc.mix.formulas.temperature import (
    LEFT_OUT,
    MELTING_SI,
    MELTING_US,
    SOURCE,
    UNITS_SI,
    UNITS_US,
    Added,
    Aggregate,
    Cement,
    Hot,
    Material,
    Water,
)

Wanted = Annotated[Temperature, Range("3 °C", "40 °C")]


class WantedTemperature(NamedTuple):
    """Result of `wanted_temperature`."""

    W_a: Content
    W_wa: Content
    H: Content
    T_0: Temperature
    T_need: Temperature
    W_ice: Content
    q_ice: Share


@calculation_by_form(
    title="Ice, or water temperature, for a target concrete temperature",
    source=SOURCE,
    notes=(
        LEFT_OUT,
        "Ice replaces its own mass of the water added; a negative amount means that none is wanted. Water can be had "
        "neither below freezing nor, for flash set, much above 60 °C (140 °F): outside that, ice or warm aggregate.",
    ),
    forms={
        "SI": Form(
            {"L": MELTING_SI},
            units={
                **UNITS_SI,
                "T_want": "°C",
                "H": "kg/m³",
                "T_0": "°C",
                "T_need": "°C",
                "W_ice": "kg/m³",
                "q_ice": "",
            },
        ),
        "US": Form(
            {"L": MELTING_US},
            units={
                **UNITS_US,
                "T_want": "°F",
                "H": "lb/yd³",
                "T_0": "°F",
                "T_need": "°F",
                "W_ice": "lb/yd³",
                "q_ice": "",
            },
        ),
    },
)
def wanted_temperature(
    T_want: Wanted,
    T_a: Material,
    T_c: Hot,
    T_w: Water,
    M_ca: Aggregate,
    M_fa: Aggregate,
    B_ca: Aggregate,
    B_fa: Aggregate,
    W_c: Cement,
    W_w: Added,
    *,
    L: float,
) -> WantedTemperature:
    r"""How cold (or warm) the water must be, or how much of it must be ice.

    .. math:: W_{ice} = \frac{(T_0 - T_{want}) H}{L + T_w}

    Parameters
    ----------
    T_want : quantity of temperature, shape (...,)
        wanted temperature of the concrete
    T_a : quantity of temperature, shape (...,)
        temperature of the aggregate and of the water on it
    T_c : quantity of temperature, shape (...,)
        temperature of the cement
    T_w : quantity of temperature, shape (...,)
        temperature of the water at hand
    M_ca : quantity of mass per volume, shape (...,)
        oven-dry coarse aggregate
    M_fa : quantity of mass per volume, shape (...,)
        oven-dry fine aggregate
    B_ca : quantity of mass per volume, shape (...,)
        coarse aggregate as it lies
    B_fa : quantity of mass per volume, shape (...,)
        fine aggregate as it lies
    W_c : quantity of mass per volume, shape (...,)
        cementitious material
    W_w : quantity of mass per volume, shape (...,)
        water added, ice included
    form : {"SI", "US"}
        degrees in which melting is counted

    Returns
    -------
    WantedTemperature
        `W_a` dry aggregate, `W_wa` water in and on it, `H` heat capacity in terms of water, `T_0` temperature without
        ice, `T_need` temperature of the water that gives the target, `W_ice` ice that gives it, `q_ice` its share of the water added.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: ACI 305R, the same balance solved for the ice and for the water.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = wanted_temperature(
    ...     Q(24, "degC"), Q(27, "degC"), Q(66, "degC"), Q(27, "degC"),
    ...     Q(1100, "kg/m³"), Q(739, "kg/m³"), Q(1100, "kg/m³"), Q(739, "kg/m³"), Q(335, "kg/m³"),
    ...     Q(123, "kg/m³"), form="SI",
    ... )
    >>> f"{found.W_ice.m_as('kg/m³'):.0f}"
    '44'
    """
    W_a = M_ca + M_fa  # dry aggregate
    W_wa = B_ca + B_fa - W_a  # water in and on the aggregate
    H = 0.22 * (W_a + W_c) + W_w + W_wa  # heat capacity in terms of water
    T_0 = (0.22 * (T_a * W_a + T_c * W_c) + T_w * W_w + T_a * W_wa) / H  # temperature without ice
    T_need = T_w - (T_0 - T_want) * H / W_w  # temperature of the water that gives the target
    W_ice = (T_0 - T_want) * H / (L + T_w)  # ice that gives the target temperature
    q_ice = W_ice / W_w  # ice as a share of the water added
    return WantedTemperature(W_a, W_wa, H, T_0, T_need, W_ice, q_ice)
