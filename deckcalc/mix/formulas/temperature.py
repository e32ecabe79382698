"""Temperature of the fresh concrete from its ingredients, with ice."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import Content, Temperature

Material = Annotated[Temperature, Range("1 °C", "60 °C")]
Hot = Annotated[Temperature, Range("-10 °C", "90 °C")]
Water = Annotated[Temperature, Range("0 °C", "85 °C")]
Aggregate = Annotated[Content, Range("0 kg/m³", "2400 kg/m³")]
Cement = Annotated[Content, Range("100 kg/m³", "1000 kg/m³")]
Free = Annotated[Content, Range("0 kg/m³", "400 kg/m³")]
Added = Annotated[Content, Range("1 kg/m³", "400 kg/m³")]

SOURCE = (
    Cite("aci305r", "temperature of fresh concrete, as reproduced by course notes"),
    Cite("aci305r", "0.22 with 112 in °F", "memory"),
)
LEFT_OUT = (
    "Specific heat of cement and aggregate 0.22 of that of water. Heat of hydration, of the mixer and of the way to the "
    "patch is left out: the concrete in the patch is usually warmer in summer and colder in winter. Aggregate holds no "
    "frozen water."
)
CONTENTS = ("M_ca", "M_fa", "B_ca", "B_fa", "W_a", "W_c", "W_w", "W_wa")
UNITS_SI = {"T_a": "°C", "T_c": "°C", "T_w": "°C", **dict.fromkeys(CONTENTS, "kg/m³")}
UNITS_US = {"T_a": "°F", "T_c": "°F", "T_w": "°F", **dict.fromkeys(CONTENTS, "lb/yd³")}
MELTING_SI, MELTING_US = 80, 112  # heat that ice takes, in degrees of water


class FreshTemperature(NamedTuple):
    """Result of `fresh_temperature`."""

    W_a: Content
    W_wa: Content
    W_liq: Content
    H: Content
    T: Temperature


@calculation_by_form(
    title="Temperature of the fresh concrete",
    source=SOURCE,
    notes=(LEFT_OUT,),
    forms={
        "SI": Form(
            {"L": MELTING_SI}, units={**UNITS_SI, "W_i": "kg/m³", "W_liq": "kg/m³", "H": "kg/m³", "T": "°C"}
        ),
        "US": Form(
            {"L": MELTING_US}, units={**UNITS_US, "W_i": "lb/yd³", "W_liq": "lb/yd³", "H": "lb/yd³", "T": "°F"}
        ),
    },
)  # fmt: skip
def fresh_temperature(
    T_a: Material,
    T_c: Hot,
    T_w: Water,
    M_ca: Aggregate,
    M_fa: Aggregate,
    B_ca: Aggregate,
    B_fa: Aggregate,
    W_c: Cement,
    W_w: Added,
    W_i: Free,
    *,
    L: float,
) -> FreshTemperature:
    r"""Temperature of fresh concrete from its ingredients.

    .. math::

        T = \frac{0.22 (T_a W_a + T_c W_c) + T_w (W_w - W_i) + T_a W_{wa} - L W_i}{0.22 (W_a + W_c) + W_w + W_{wa}}

    Parameters
    ----------
    T_a : quantity of temperature, shape (...,)
        temperature of the aggregate and of the water on it
    T_c : quantity of temperature, shape (...,)
        temperature of the cement
    T_w : quantity of temperature, shape (...,)
        temperature of the water added
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
    W_i : quantity of mass per volume, shape (...,)
        ice, part of the water added
    form : {"SI", "US"}
        degrees in which melting is counted

    Returns
    -------
    FreshTemperature
        `W_a` dry aggregate, `W_wa` water in and on it, `W_liq` water that is not ice, `H` heat capacity in terms of
        water, `T` temperature of the concrete.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: ACI 305R, as reproduced by course notes; melting takes 80 °C or 112 °F (from memory) of water.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = fresh_temperature(
    ...     Q(27, "degC"), Q(66, "degC"), Q(27, "degC"),
    ...     Q(1100, "kg/m³"), Q(739, "kg/m³"), Q(1100, "kg/m³"), Q(739, "kg/m³"), Q(335, "kg/m³"),
    ...     Q(123, "kg/m³"), Q(44, "kg/m³"), form="SI",
    ... )
    >>> f"{found.T.m_as('degC'):.1f}"
    '24.0'
    """
    W_a = M_ca + M_fa  # dry aggregate
    W_wa = B_ca + B_fa - W_a  # water in and on the aggregate
    W_liq = W_w - W_i  # water that is not ice
    H = 0.22 * (W_a + W_c) + W_w + W_wa  # heat capacity in terms of water
    T = (0.22 * (T_a * W_a + T_c * W_c) + T_w * W_liq + T_a * W_wa - L * W_i) / H  # temperature of the concrete
    return FreshTemperature(W_a, W_wa, W_liq, H, T)
