"""Temperature of a patch in a slab: one-dimensional heat flow by implicit finite volumes, many histories at once.

Layers from the top: what covers the surface (a resistance), the patch with its heat of hydration, the slab under it if
any, a soffit form if any (a resistance), air on both sides. Each history (a patch, a start, a variant) is a column of the
arrays, so that one run carries one night or ten thousand. All numbers here are plain SI: m, s, K or °C, W, J.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from deckcalc.core.remembered import remembered
from deckcalc.curing.formulas.hydration import HeatSource

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
        Maximum difference between heat stored, heat given off and heat through the faces, as a share of all heat
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
    return partial(_arrhenius, energy / GAS_CONSTANT, 1.0 / (reference + 273.15))


def _arrhenius(b: float, inverse: float, T: np.ndarray) -> np.ndarray:
    return np.exp(b * (inverse - 1.0 / (T + 273.15)))


def nurse_saul_rate(datum: float, reference: float) -> Callable[[np.ndarray], np.ndarray]:
    """Return the rate of equivalent age by datum and reference temperature [°C]; nothing below the datum counts."""
    return partial(_nurse_saul, datum, reference)


def _nurse_saul(datum: float, reference: float, T: np.ndarray) -> np.ndarray:
    return np.maximum(T - datum, 0.0) / (reference - datum)


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


@remembered(most=64)
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
    outside, top, bottom = _faces(air, build, cells)
    steps, width = len(outside[0]) - 1, max(_width(build, start_patch, start_slab), outside[0].shape[1])
    grid = _Grid(build, cells, width, step)
    T = grid.fresh_share * np.asarray(start_patch, dtype=float) + (1 - grid.fresh_share) * np.asarray(
        start_slab, dtype=float
    )
    kept = _Kept(steps, grid, keep_field)
    age = np.zeros((grid.rows, width))  # drives the heat
    slow = age  # drives the strength
    given = np.zeros((grid.rows, width))
    began, through, moved = T, np.zeros(width), np.zeros(width)
    now = rate(T[: grid.rows])
    now_slow = strength_rate(T[: grid.rows]) if strength_rate else now
    kept.keep(0, T, slow)
    for k in range(1, steps + 1):
        if source is None:
            heat = np.zeros_like(given)
        else:
            heat = np.maximum(source.released(age + now * step) * grid.fresh - given, 0.0)
        T, flow = grid.advance(T, heat, [face[k] for face in outside], top[k], bottom[k])
        through += flow.sum(axis=0)
        moved += np.abs(flow).sum(axis=0) + heat.sum(axis=0) * grid.dz
        given = given + heat
        later = rate(T[: grid.rows])
        age = age + 0.5 * step * (now + later)
        now, slow = later, age if strength_rate is None else slow
        if strength_rate:
            later = strength_rate(T[: grid.rows])
            slow = slow + 0.5 * step * (now_slow + later)
            now_slow = later
        kept.keep(k, T, slow)
    stored = build.capacity * grid.dz * (T - began).sum(axis=0)
    gap = np.abs(stored - through - given.sum(axis=0) * grid.dz)
    imbalance = float((gap / np.maximum(moved, 1e-12)).max()) if moved.any() else float(gap.max())
    ages = np.where(grid.inside, slow, np.inf)
    return Temperatures(
        step * np.arange(steps + 1), cells=T, field=kept.field, ages=ages, imbalance=imbalance, **kept.series
    )


def _columns(values: Any) -> np.ndarray:
    """Return values over time with a second axis for histories."""
    values = np.asarray(values, dtype=float)
    return values if values.ndim == 2 else values[:, None]


def _width(build: Build, *more: Any) -> int:
    """Return how many histories the build and the starts state."""
    return max(np.size(x) for x in (build.patch, build.total, build.cover, build.soffit, *more))


def _faces(air: Air, build: Build, cells: int) -> tuple[list[np.ndarray], np.ndarray, np.ndarray]:
    """Return what the two faces see over time [°C], and their conductances to the middle of the outer cells."""
    T, h_top, h_bottom, sun = (_columns(x) for x in (air.temperature, air.exchange_top, air.exchange_bottom, air.sun))
    half = np.asarray(build.total, dtype=float) / cells / (2 * build.conductivity)
    top = 1.0 / (1.0 / h_top + np.asarray(build.cover, dtype=float) + half)
    bottom = 1.0 / (1.0 / h_bottom + np.asarray(build.soffit, dtype=float) + half)
    warmed = T + sun / h_top  # sun raises the air that the surface sees
    return [warmed, T], top, bottom


class _Grid:
    """Cells of all histories, and one step of the implicit scheme."""

    def __init__(self, build: Build, cells: int, width: int, step: float) -> None:
        self.step, self.cells, self.width = step, cells, width
        self.dz = np.broadcast_to(np.asarray(build.total, dtype=float) / cells, (width,))
        patch = np.broadcast_to(np.asarray(build.patch, dtype=float), (width,))
        self.fresh_share = np.clip((patch - np.arange(cells)[:, None] * self.dz) / self.dz, 0.0, 1.0)
        self.rows = max(int((self.fresh_share > 0).any(axis=1).sum()), 1)  # rows below hold no fresh concrete
        self.fresh = self.fresh_share[: self.rows]
        self.inside = self.fresh >= np.minimum(0.5, self.fresh[:1])
        weight = np.where(self.inside, self.fresh, 0.0)
        self.weight = weight / weight.sum(axis=0)
        self.store = build.capacity * self.dz / step
        self.between = build.conductivity / self.dz
        self.off = np.broadcast_to(-self.between, (cells - 1, width))

    def advance(
        self, T: np.ndarray, heat: np.ndarray, outside: list[np.ndarray], top: np.ndarray, bottom: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Return temperatures a step later, and the heat that came in through top and bottom [J/m²]."""
        diagonal = np.empty((self.cells, self.width))
        diagonal[:] = self.store + 2 * self.between
        diagonal[0] += top - self.between
        diagonal[-1] += bottom - self.between
        right = self.store * T
        right[: self.rows] += heat * (self.dz / self.step)
        right[0] += top * outside[0]
        right[-1] += bottom * outside[1]
        T = solve_rows(self.off, diagonal, right)
        return T, self.step * np.array([top * (outside[0] - T[0]), bottom * (outside[1] - T[-1])])


class _Kept:
    """What is kept of every step."""

    def __init__(self, steps: int, grid: _Grid, field: bool) -> None:
        self.grid, self.all_inside = grid, bool(grid.inside.all())
        self.series = {
            name: np.empty((steps + 1, grid.width)) for name in ("surface", "mean", "hottest", "coldest", "age")
        }
        self.field = np.empty((steps + 1, grid.cells, grid.width)) if field else None

    def keep(self, k: int, T: np.ndarray, age: np.ndarray) -> None:
        """Keep a step."""
        if self.field is not None:
            self.field[k] = T
        part, inside = T[: self.grid.rows], self.grid.inside
        most, least, young = (
            (part, part, age) if self.all_inside
            else (np.where(inside, part, -np.inf), np.where(inside, part, np.inf), np.where(inside, age, np.inf))
        )  # fmt: skip
        self.series["surface"][k] = T[0]
        self.series["mean"][k] = (self.grid.weight * part).sum(axis=0)
        self.series["hottest"][k] = most.max(axis=0)
        self.series["coldest"][k] = least.min(axis=0)
        self.series["age"][k] = young.min(axis=0)


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
