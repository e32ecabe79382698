"""Cost of a closure at the prices of the job, with its spread; carbon embodied in what is placed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.closure.formulas.critical_path import triangle
from deckcalc.core.calculation import ListOf, Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import (  # fmt: skip
    Area,
    AreaPrice,
    Content,
    Count,
    ExposureHours,
    HourPrice,
    Mass,
    OrderVolume,
    Price,
    Ratio,
    Share,
    VolumePrice,
)

Amounts = Annotated[Ratio, Range("0", "10000000"), ListOf()]
Prices = Annotated[Price, Range("0", "10000000"), ListOf()]
Masses = Annotated[Mass, Range("0 kg", "10000000 kg"), ListOf()]
Factors = Annotated[Ratio, Range("0", "100"), ListOf()]


@lookup("the amounts times their prices, added up")
def summed(q: Amounts, p: Prices) -> Price:
    """Return the sum of products."""
    return np.sum(np.asarray(q) * np.asarray(p), axis=-1)


class Cost(NamedTuple):
    """Result of `cost`."""

    K_d: Price
    K_u: Price
    K: Price
    q_u: Share


@calculation(
    title="Cost with the delay of road users",
    source=Cite("", "amounts times dated prices of the job, and the delay of road users", "common practice"),
    notes=("Prices are the job's, in its currency, each with its date. No price is built in.",),
    unchecked="a sum of products at the prices of the job",
)
def cost(
    q: Amounts, p: Prices, t: Annotated[ExposureHours, Range("0 h", "100000 h")],
    k_u: Annotated[HourPrice, Range("0 1/h", "10000000 1/h")],
) -> Cost:  # fmt: skip
    r"""Direct cost and cost of delay.

    .. math:: K = \sum q_i p_i + t k_u

    Parameters
    ----------
    q : quantity without dimension, shape (n,)
        amounts, each in the unit of its price
    p : quantity without dimension, shape (n,)
        prices
    t : quantity of time
        hours of closure
    k_u : quantity of price per time
        delay of road users by the hour

    Returns
    -------
    Cost
        `K_d` direct, `K_u` of delay, `K` both, `q_u` share of the delay.

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
    >>> f"{cost(Q([2, 3], ''), Q([100, 50], ''), Q(10, 'h'), Q(20, '1/h')).K:.0f~P}"
    '550'
    """
    K_d = summed(q, p)  # direct
    K_u = t * k_u  # delay of road users
    K = K_d + K_u  # both
    q_u = K_u / K  # share of the delay
    return Cost(K_d, K_u, K, q_u)


class UnitCost(NamedTuple):
    """Result of `unit_cost`."""

    K_n: Price
    K_A: AreaPrice
    K_V: VolumePrice


@calculation(
    title="Cost by patch, area and volume",
    source=Cite("", "cost over number, area and volume", "common practice"),
    unchecked="three divisions of a cost at the prices of the job",
)
def unit_cost(
    K: Annotated[Price, Range("0", "1000000000")], n: Annotated[Count, Range("1", "10000")],
    A: Annotated[Area, Range("0.0001 m²", "100000 m²")], V: Annotated[OrderVolume, Range("0.0001 m³", "10000 m³")],
) -> UnitCost:  # fmt: skip
    r"""Cost of one patch, of a unit of area and of a unit of volume.

    .. math:: K_n = K / n,\quad K_A = K / A,\quad K_V = K / V

    Parameters
    ----------
    K : quantity without dimension
        cost
    n : quantity without dimension
        patches
    A : quantity of area
        area of the patches
    V : quantity of volume
        concrete to mix, waste included

    Returns
    -------
    UnitCost
        `K_n` of a patch, `K_A` of a unit of area, `K_V` of a unit of volume.

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
    >>> f"{unit_cost(6000, 3, Q(2.5, 'm²'), Q(0.25, 'm³')).K_A.to('1/m²'):.0f~P}"
    '2400 1/m²'
    """
    K_n = K / n  # of one patch
    K_A = K / A  # of a unit of area
    K_V = K / V  # of a unit of volume
    return UnitCost(K_n, K_A, K_V)


@lookup("each mass times its factor, added up")
def embodied(m: Masses, f: Factors) -> Mass:
    """Return the sum of products."""
    return np.sum(np.asarray(m) * np.asarray(f), axis=-1)


class Carbon(NamedTuple):
    """Result of `embodied_carbon`."""

    M: Mass
    M_V: Content


@calculation(
    title="Embodied carbon of the concrete",
    source=Cite("", "mass times declared mass of CO2e per mass of material", "common practice"),
    notes=("Materials of the concrete alone: no transport, plant, existing concrete, delay or formwork.",),
    unchecked="a sum of products at the factors of the job",
)
def embodied_carbon(m: Masses, f: Factors, V: Annotated[OrderVolume, Range("0.0001 m³", "10000 m³")]) -> Carbon:
    r"""Mass of CO2e of the materials of the concrete.

    .. math:: M = \sum m_i f_i,\quad M_V = M / V

    Parameters
    ----------
    m : quantity of mass, shape (n,)
        materials
    f : quantity without dimension, shape (n,)
        mass of CO2e for a mass of each
    V : quantity of volume
        concrete to mix, waste included

    Returns
    -------
    Carbon
        `M` mass of CO2e, `M_V` for a volume of concrete.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice; factors are those that suppliers declare.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{embodied_carbon(Q([100, 200], 'kg'), Q([0.9, 0.005], ''), Q(0.25, 'm³')).M.to('kg'):.0f~P}"
    '91 kg'
    """
    M = embodied(m, f)  # mass of CO2e
    M_V = M / V  # for a volume of concrete
    return Carbon(M, M_V)


def sampled(
    amounts: np.ndarray, prices: Sequence[tuple[float, float, float]], extra: np.ndarray, samples: int, seed: int
) -> np.ndarray:
    """Return costs of several alternatives by prices drawn from triangles; a price that two share is drawn once for both.

    Parameters
    ----------
    amounts : array, shape (k, n)
        Of every price in every alternative.
    prices : sequence of tuple of float, length n
        Minimum, likely and most.
    extra : array, shape (k,)
        What has no spread, such as the delay.
    samples, seed : int

    Returns
    -------
    array, shape (k, samples)

    Examples
    --------
    >>> sampled(np.array([[2.0]]), [(10.0, 10.0, 10.0)], np.array([5.0]), 3, 1).tolist()
    [[25.0, 25.0, 25.0]]
    """
    rng = np.random.default_rng(seed)
    drawn = np.stack([triangle(rng.random(samples), *price) for price in prices])
    return np.asarray(amounts @ drawn + extra[:, None])
