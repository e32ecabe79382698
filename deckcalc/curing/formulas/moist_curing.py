"""What keeps the moisture in: curing compound, wet fabric, and for how long."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, below, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import (
    Area,
    CompoundVolume,
    Count,
    Coverage,
    Days,
    Distance,
    Evaporation,
    Mass,
    Ratio,
    Share,
    Temperature,
)

PatchArea = Annotated[Area, Range("0.001 m^2", "10000 m^2")]


class Compound(NamedTuple):
    """Result of `curing_compound`."""

    A_e: Area
    V_coat: CompoundVolume
    V: CompoundVolume


@calculation(
    title="Curing compound to bring",
    source=(
        Cite("nchrp-curing", "App. C, p. 85: 200 ft²/gal by AASHTO M148; 100 by Virginia"),
        Cite("", "compound is carried past the edges of a patch", "common practice"),
    ),
    notes=(
        "Textured or grooved surfaces take more. A second coat goes on across the first.",
        "Re-spray what rain reaches within 3 h; no traffic on the film for 72 h by UFGS 03311, so it does not serve a lane "
        "opened sooner as its only cure.",
    ),
)
def curing_compound(
    A: PatchArea,
    P: Annotated[Distance, Range("0 m", "10000 m")],
    w: Annotated[Distance, Range("0 m", "1 m")],
    q: Annotated[Coverage, Range("1 m²/L", "12 m²/L")],
    n: Annotated[Count, Range("1", "4")],
    q_w: Annotated[Share, Range("0 %", "60 %")],
) -> Compound:
    r"""Volume of membrane-forming compound for a patch and a strip round it.

    .. math:: V = \frac{(A + P w)\, n}{q} (1 + q_w)

    Parameters
    ----------
    A : quantity of area, shape (...,)
        area of the patches
    P : quantity of length, shape (...,)
        length of their edges
    w : quantity of length
        width of the strip sprayed beyond the edge
    q : quantity of area per volume
        area that a volume covers in one coat
    n : quantity of count
        coats
    q_w : quantity of share
        lost to wind and left in the sprayer

    Returns
    -------
    Compound
        `A_e` area to spray, `V_coat` volume for one coat, `V` volume to bring.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: rates as collected in an NCHRP synthesis; geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{curing_compound(Q(200, 'ft²'), Q(0, 'ft'), Q(0, 'ft'), Q(200, 'ft²/gal'), 1, Q(0, '%')).V.to('gal'):.2f~P}"
    '1.00 gal'
    """
    A_e = A + P * w  # area to spray, edges included
    V_coat = A_e / q  # volume for one coat
    V = n * V_coat * (1 + q_w)  # volume to bring
    return Compound(A_e, V_coat, V)


class WetCure(NamedTuple):
    """Result of `wet_cure_water`."""

    m_e: Mass
    m: Mass


@calculation(
    title="Water to keep wet fabric wet",
    source=Cite("", "fabric loses at most what an open water surface loses", "common practice"),
    notes=(
        "Fabric under a sheet loses far less; the figure is for uncovered fabric, the most that is needed.",
        "Water not more than 11 °C (20 °F) colder than the concrete [UFGS 03311].",
    ),
    unchecked="a product of three inputs; nothing published to hold it against",
)
def wet_cure_water(
    A: PatchArea,
    E: Annotated[Evaporation, Range("0 kg/m^2/h", "5 kg/m^2/h")],
    t: Annotated[Days, Range("0 d", "60 d")],
    q_w: Annotated[Share, Range("0 %", "200 %")],
) -> WetCure:
    r"""Water that evaporates from wet fabric over the curing time.

    .. math:: m = A E t (1 + q_w)

    Parameters
    ----------
    A : quantity of area, shape (...,)
        area of fabric
    E : quantity of mass per area and time
        rate of evaporation
    t : quantity of time
        time that the fabric is to stay wet
    q_w : quantity of share
        run off and first soaking

    Returns
    -------
    WetCure
        `m_e` evaporated over that time, `m` water to bring.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{wet_cure_water(Q(2, 'm²'), Q(0.1, 'kg/m²/h'), Q(3, 'd'), Q(0, '%')).m:.1f~P}"
    '14.4 kg'
    """
    m_e = A * E * t  # evaporated over the curing time
    m = m_e * (1 + q_w)  # water to bring
    return WetCure(m_e, m)


COUNTS_F, LONGER_F = 40, 50  # °F: below the first curing time does not count, below the second it is longer


def kelvin(T_F: float) -> float:
    """Return an absolute temperature in K of one in °F."""
    return (T_F + 459.67) / 1.8


COLD = {"cold": 1.5, "other": 1.0}  # factor of the duration
COUNTS_C, LONGER_C = kelvin(COUNTS_F) - 273.15, kelvin(LONGER_F) - 273.15


@lookup(
    "{k[cold]} below {longer:.0f} °C ({longer_f} °F), else {k[other]}; does not count below {counts:.1f} °C ({counts_f} °F); here {T}",
    k=COLD, counts=COUNTS_C, longer=LONGER_C, counts_f=COUNTS_F, longer_f=LONGER_F, source=Cite("ufgs-03311", "p. 39"),
)  # fmt: skip
def cold_factor(T: Temperature) -> Ratio:
    """Return half as much again below the temperature of longer curing, else 1; refuse where curing time does not count."""
    if np.any(below(np.asarray(T), kelvin(COUNTS_F))):
        raise TableError(f"below {COUNTS_C:.1f} °C ({COUNTS_F} °F) curing time does not count; protect the concrete")
    found: Any = np.where(below(np.asarray(T), kelvin(LONGER_F)), COLD["cold"], COLD["other"])[()]
    return found


class Duration(NamedTuple):
    """Result of `curing_duration`."""

    f_T: Ratio
    t: Days


@calculation(
    title="Duration of moist curing",
    source=(Cite("ufgs-03311", "p. 39, +50 % between 4 and 10 °C (40 and 50 °F)"),),
    notes=("Rules differ: 7 d (UFGS 03311, Ohio 511.18), 72 h and at least 48 h for deck repair (TxDOT).",),
)
def curing_duration(
    t_c: Annotated[Days, Range("0.04 d", "60 d")], T: Annotated[Temperature, Range("0 °C", "60 °C")]
) -> Duration:
    r"""Duration of moist curing, longer in the cold.

    .. math:: t = f_T t_c

    Parameters
    ----------
    t_c : quantity of time
        duration that the rule asks for above 10 °C (50 °F)
    T : quantity of temperature, shape (...,)
        mean temperature of the air over that time

    Returns
    -------
    Duration
        `f_T` factor for the cold, `t` duration.

    Raises
    ------
    InputError
        If the temperature is below 4.4 °C (40 °F), where time does not count.

    Notes
    -----
    Source: UFGS 03311.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{curing_duration(Q(7, 'd'), Q(7, '°C')).t:.1f~P}"
    '10.5 d'
    """
    f_T = cold_factor(T)  # factor for the cold
    t = f_T * t_c  # duration of moist curing
    return Duration(f_T, t)


__all__ = ["cold_factor", "curing_compound", "curing_duration", "wet_cure_water"]
