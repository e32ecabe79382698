"""Patches spread over nights: minimum nights first, then minimum hire; each night's timetable is proved to fit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from deckcalc.core.units import InputError


def spread_over_nights(
    names: Sequence[str], load: np.ndarray, window: np.ndarray, fits: Callable[[tuple[str, ...]], float],
    end: float, worth: np.ndarray, prices: np.ndarray, wants: np.ndarray,
) -> list[tuple[str, ...]]:  # fmt: skip
    """Return the patches of each night.

    Integer programming proposes nights by what loads each crew at the least; the timetable of each proposal is worked, and
    a set that ends too late is forbidden in every night, until all proposals fit. A set that ends too late is taken not to
    end in time with more patches in it.

    Parameters
    ----------
    names : sequence of str, length n
        Patches.
    load : array, shape (k, n)
        Minimum time that each patch takes on each crew [min].
    window : array, shape (k,)
        Time that each crew has in a night [min].
    fits : callable
        Returns when the timetable of a set of patches ends [min].
    end : float
        When it must end [min].
    worth : array, shape (n,)
        Patches with more go first where nights and hire are equal (such as the area unsound).
    prices : array, shape (h,)
        Of what is hired by the night, only on nights when a patch wants it.
    wants : array of bool, shape (h, n)
        Which patches want it.

    Returns
    -------
    list of tuple of str
        No night is empty.

    Raises
    ------
    InputError
        If a patch does not fit into a night by itself.
    """
    alone = [name for name in names if fits((name,)) > end + 1e-6]
    if alone:
        raise InputError(f"no night is long enough for {', '.join(alone)} by itself")
    forbidden: list[tuple[int, ...]] = []
    least = max(1, int(np.ceil((load.sum(axis=1) / window).max() - 1e-9)))
    for m in range(least, len(names) + 1):
        while True:
            chosen = proposed(m, load, window, forbidden, worth, prices, wants)
            if chosen is None:
                break
            sets = [tuple(int(i) for i in np.flatnonzero(chosen[:, night])) for night in range(m)]
            late = [s for s in sets if s and fits(tuple(names[i] for i in s)) > end + 1e-6]
            if not late:
                return [tuple(names[i] for i in s) for s in sets if s]
            forbidden += [smallest(s, names, fits, end) for s in late]
    raise InputError("no spread over nights was found")


def proposed(
    m: int, load: np.ndarray, window: np.ndarray, forbidden: Sequence[tuple[int, ...]], worth: np.ndarray,
    prices: np.ndarray, wants: np.ndarray,
) -> np.ndarray | None:  # fmt: skip
    """Return which patches are done in which of m nights: minimum hire, then most worth early; None if there is no way."""
    n, h = load.shape[1], len(prices)
    size, rows, low, high = (n + h) * m, [], [], []

    def add(cells: dict[int, float], least: float, most: float) -> None:
        row = np.zeros(size)
        for cell, value in cells.items():
            row[cell] = value
        rows.append(row)
        low.append(least)
        high.append(most)

    for j in range(n):
        add({j * m + night: 1.0 for night in range(m)}, 1, 1)
    for night in range(m):
        for k in range(len(window)):
            add({j * m + night: load[k, j] for j in range(n)}, -np.inf, float(window[k]))
        for group in forbidden:
            add({j * m + night: 1.0 for j in group}, -np.inf, len(group) - 1.0)
        for i in range(h):
            for j in np.flatnonzero(wants[i]).tolist():
                add({j * m + night: 1.0, (n + i) * m + night: -1.0}, -np.inf, 0)
    early = np.zeros(size)
    early[: n * m] = (np.arange(m)[None, :] * worth[:, None]).ravel()
    if h:
        hire = np.zeros(size)
        hire[n * m :] = np.repeat(prices, m)
        found = solved(hire, rows, low, high)
        if found is None:
            return None
        add({cell: float(price) for cell, price in enumerate(hire) if price}, -np.inf, float(hire @ found) + 1e-6)
    found = solved(early, rows, low, high)
    return None if found is None else found[: n * m].reshape(n, m).astype(bool)


def solved(aim: np.ndarray, rows: list[Any], low: list[float], high: list[float]) -> np.ndarray | None:
    """Return the whole numbers, 0 or 1, with the minimum aim; None if there are none."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    found = milp(
        aim, constraints=LinearConstraint(np.array(rows), low, high), bounds=Bounds(0, 1), integrality=np.ones(len(aim)),
        options={"time_limit": 60},
    )  # fmt: skip
    if found.status == 1:
        raise InputError("the spread over nights was not settled within a minute; divide the patches by hand")
    return None if found.x is None else np.round(found.x)


def smallest(
    late: tuple[int, ...], names: Sequence[str], fits: Callable[[tuple[str, ...]], float], end: float
) -> tuple[int, ...]:
    """Return a part of a set that is late by itself, so that the cut says as much as it can."""
    kept = list(late)
    for i in late:
        rest = [j for j in kept if j != i]
        if rest and fits(tuple(names[j] for j in rest)) > end + 1e-6:
            kept = rest
    return tuple(kept)
