"""Temperature of a patch in a slab: one-dimensional heat flow by implicit finite volumes, many histories at once.

Layers from the top: what covers the surface (a resistance), the patch with its heat of hydration, the slab under it if
any, a soffit form if any (a resistance), air on both sides. Each history (a patch, a start, a variant) is a column of the
arrays, so that one run carries one night or ten thousand. All numbers here are plain SI: m, s, K or °C, W, J.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from deckcalc.curing.hydration import HeatSource

CELLS = 24
GAS_CONSTANT = 8.314  # J/(mol K), as the standards round it


@dataclass(frozen=True)
class Build:
    """The patch in its slab; every field a number or an array over the histories.

    Attributes
    ----------
    patch : float or array
        Thickness of the patch [m].
    total : float or array
        Thickness of patch and slab together [m].
    conductivity : float
        [W/(m K)], the same in patch and slab.
    capacity : float
        Heat capacity per volume [J/(m³ K)].
    cover : float or array
        Thermal resistance of what covers the surface [m² K/W].
    soffit : float or array
        Thermal resistance of the soffit form [m² K/W]; 0 where the soffit is bare.
    """

    patch: Any
    total: Any
    conductivity: float
    capacity: float
    cover: Any = 0.0
    soffit: Any = 0.0


@dataclass(frozen=True)
class Air:
    """Air on both sides over time; arrays of shape (steps + 1,) or (steps + 1, histories).

    Attributes
    ----------
    temperature : array
        [°C].
    exchange_top, exchange_bottom : array
        Surface exchange [W/(m² K)].
    sun : array
        Radiation that the surface takes up [W/m²].
    """

    temperature: np.ndarray
    exchange_top: np.ndarray
    exchange_bottom: np.ndarray
    sun: np.ndarray


@dataclass(frozen=True)
class Temperatures:
    """Result of a run; arrays of shape (steps + 1, histories) unless said otherwise.

    Attributes
    ----------
    time : array, shape (steps + 1,)
        [s].
    surface, mean, hottest, coldest : array
        Of the patch [°C]; `surface` is the middle of its uppermost cell.
    age : array
        Equivalent age of the slowest point of the patch [s].
    cells : array, shape (cells, histories)
        At the end, all cells from the top [°C].
    field : array, shape (steps + 1, cells, histories), or None
        Every cell at every step, where it was asked for.
    ages : array, shape (cells, histories)
        Equivalent age of every cell at the end [s]; infinite outside the patch.
    imbalance : float
        Greatest difference between heat stored, heat given off and heat through the faces, as a share of all heat
        that moved.
    """

    time: np.ndarray
    surface: np.ndarray
    mean: np.ndarray
    hottest: np.ndarray
    coldest: np.ndarray
    age: np.ndarray
    cells: np.ndarray
    field: np.ndarray | None
    ages: np.ndarray
    imbalance: float


def exchange(wind: Any) -> Any:
    """Return the surface exchange by wind, W/(m² K) for m/s, radiation to surroundings at air temperature included.

    Notes
    -----
    Jürges' measurements in McAdams' form: 5.7 + 3.8 v up to 5 m/s, 6.47 v^0.78 beyond; from memory.

    Examples
    --------
    >>> float(exchange(2.0))
    13.3
    """
    wind = np.asarray(wind, dtype=float)
    return np.where(wind <= 5.0, 5.7 + 3.8 * wind, 6.47 * np.maximum(wind, 1e-9) ** 0.78)


def arrhenius(energy: float, reference: float) -> Callable[[np.ndarray], np.ndarray]:
    """Return the rate of equivalent age by activation energy [J/mol] and reference temperature [°C]."""
    b, inverse = energy / GAS_CONSTANT, 1.0 / (reference + 273.15)
    return lambda T: np.exp(b * (inverse - 1.0 / (T + 273.15)))


def nurse_saul_rate(datum: float, reference: float) -> Callable[[np.ndarray], np.ndarray]:
    """Return the rate of equivalent age by datum and reference temperature [°C]; nothing below the datum counts."""
    return lambda T: np.maximum(T - datum, 0.0) / (reference - datum)


def solve_rows(off: np.ndarray, diagonal: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Solve one symmetric tridiagonal system per history, all histories at once.

    Parameters
    ----------
    off : array, shape (cells - 1, histories)
        Off-diagonal.
    diagonal, right : array, shape (cells, histories)
        Overwritten.

    Returns
    -------
    array, shape (cells, histories)
    """
    count = len(diagonal)
    for i in range(1, count):
        factor = off[i - 1] / diagonal[i - 1]
        diagonal[i] -= factor * off[i - 1]
        right[i] -= factor * right[i - 1]
    right[-1] /= diagonal[-1]
    for i in range(count - 2, -1, -1):
        right[i] -= off[i] * right[i + 1]
        right[i] /= diagonal[i]
    return right


def temperatures(
    build: Build, air: Air, step: float, start_patch: Any, start_slab: Any, source: HeatSource | None,
    rate: Callable[[np.ndarray], np.ndarray], strength_rate: Callable[[np.ndarray], np.ndarray] | None = None,
    cells: int = CELLS, keep_field: bool = False,
) -> Temperatures:  # fmt: skip
    """Run the heat model.

    Parameters
    ----------
    build : Build
    air : Air
    step : float
        Time step [s]; the air is taken at the end of each step (backward Euler, stable for any step).
    start_patch, start_slab : float or array over histories
        Temperatures at the start [°C].
    source : HeatSource or None
        None: no heat of hydration.
    rate : callable
        Rate of equivalent age that drives the heat of hydration, by temperature in °C.
    strength_rate : callable, optional
        Rate of equivalent age for strength, if it is another one.
    cells : int
        Cells over the whole thickness.
    keep_field : bool
        Whether to return every cell at every step.

    Returns
    -------
    Temperatures
    """
    air_T, h_top, h_bottom, sun = (
        np.atleast_2d(np.asarray(x, dtype=float).T).T
        for x in (air.temperature, air.exchange_top, air.exchange_bottom, air.sun)
    )
    steps = len(air_T) - 1
    patch, total, cover, soffit, T_p, T_s = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(x, dtype=float)) for x in (build.patch, build.total, build.cover, build.soffit, start_patch, start_slab))
    )  # fmt: skip
    width = max(patch.size, air_T.shape[1], h_top.shape[1], sun.shape[1])
    dz = total / cells
    fresh = np.clip((patch - np.arange(cells)[:, None] * dz) / dz, 0.0, 1.0)
    fresh = np.broadcast_to(fresh, (cells, width))
    inside = fresh >= 0.5
    weight = np.where(inside, fresh, 0.0)
    weight = weight / weight.sum(axis=0)
    store = np.broadcast_to(build.capacity * dz / step, (width,))
    between = np.broadcast_to(build.conductivity / dz, (width,))
    half = dz / (2 * build.conductivity)
    off = np.broadcast_to(-between, (cells - 1, width))
    T = fresh * T_p + (1 - fresh) * T_s
    age = np.zeros((cells, width))  # drives the heat
    slow = np.zeros((cells, width)) if strength_rate else age  # drives the strength
    given = np.zeros((cells, width))
    out = {name: np.empty((steps + 1, width)) for name in ("surface", "mean", "hottest", "coldest", "age")}

    field = np.empty((steps + 1, cells, width)) if keep_field else None

    def keep(k: int) -> None:
        if field is not None:
            field[k] = T
        out["surface"][k] = T[0]
        out["mean"][k] = (weight * T).sum(axis=0)
        out["hottest"][k] = np.where(inside, T, -np.inf).max(axis=0)
        out["coldest"][k] = np.where(inside, T, np.inf).min(axis=0)
        out["age"][k] = np.where(inside, slow, np.inf).min(axis=0)

    keep(0)
    began = T.copy()
    through = np.zeros(width)
    moved = np.zeros(width)
    now = rate(T)
    now_slow = strength_rate(T) if strength_rate else now
    for k in range(1, steps + 1):
        top = 1.0 / (1.0 / h_top[k] + cover + half)
        bottom = 1.0 / (1.0 / h_bottom[k] + soffit + half)
        outside = air_T[k] + sun[k] / h_top[k]  # sun raises the air that the surface sees
        if source is not None:
            heat = np.maximum(source.released(age + now * step) * fresh - given, 0.0)
        else:
            heat = np.zeros((cells, width))
        diagonal = np.empty((cells, width))
        diagonal[:] = store + 2 * between
        diagonal[0] += top - between
        diagonal[-1] += bottom - between
        right = store * T + heat * (dz / step)
        right[0] += top * outside
        right[-1] += bottom * air_T[k]
        T = solve_rows(off, diagonal, right)
        flow_top, flow_bottom = top * (outside - T[0]) * step, bottom * (air_T[k] - T[-1]) * step
        through += flow_top + flow_bottom
        moved += np.abs(flow_top) + np.abs(flow_bottom) + heat.sum(axis=0) * dz
        given = given + heat
        later = rate(T)
        age = age + 0.5 * step * (now + later)
        now = later
        if strength_rate:
            later = strength_rate(T)
            slow = slow + 0.5 * step * (now_slow + later)
            now_slow = later
        else:
            slow = age
        keep(k)
    stored = build.capacity * dz * (T - began).sum(axis=0)
    gap = np.abs(stored - through - given.sum(axis=0) * dz)
    imbalance = float((gap / np.maximum(moved, 1e-12)).max()) if moved.any() else float(gap.max())
    ages = np.where(inside, slow, np.inf)
    return Temperatures(step * np.arange(steps + 1), cells=T, field=field, ages=ages, imbalance=imbalance, **out)


def between_hours(hourly: Any, steps_per_hour: int) -> np.ndarray:
    """Return hourly readings on a finer grid, on straight lines between them.

    Parameters
    ----------
    hourly : array, shape (hours + 1,) or (hours + 1, histories)
    steps_per_hour : int

    Examples
    --------
    >>> between_hours([10.0, 12.0], 2).tolist()
    [10.0, 11.0, 12.0]
    """
    hourly = np.asarray(hourly, dtype=float)
    place = np.arange((len(hourly) - 1) * steps_per_hour + 1) / steps_per_hour
    lower = np.minimum(place.astype(int), len(hourly) - 2)
    part = (place - lower).reshape(-1, *([1] * (hourly.ndim - 1)))
    return hourly[lower] * (1 - part) + hourly[lower + 1] * part
