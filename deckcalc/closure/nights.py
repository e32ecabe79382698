"""Patches spread over nights: least nights first, then least cost; each night's timetable is proved to fit."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from deckcalc.units import InputError


def spread_over_nights(
    names: Sequence[str], load: np.ndarray, window: np.ndarray, fits: Callable[[tuple[str, ...]], float],
    end: float, worth: np.ndarray | None = None,
) -> list[tuple[str, ...]]:  # fmt: skip
    """Return the patches of each night.

    Integer programming proposes nights by what loads each crew at the least; the timetable of each proposal is worked, and
    a set that ends too late is forbidden in every night, until all proposals fit. A set that does not fit is not made to
    fit by more patches, so nothing is lost by forbidding it.

    Parameters
    ----------
    names : sequence of str, length n
        Patches.
    load : array, shape (k, n)
        Least time that each patch takes on each crew [min].
    window : array, shape (k,)
        Time that each crew has in a night [min].
    fits : callable
        Returns when the timetable of a set of patches ends [min].
    end : float
        When it must end [min].
    worth : array, shape (n,), optional
        Patches with more go first where nights are equal (such as the area unsound).

    Returns
    -------
    list of tuple of str

    Raises
    ------
    InputError
        If a patch does not fit into a night by itself.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    n = len(names)
    alone = [name for name in names if fits((name,)) > end + 1e-6]
    if alone:
        raise InputError(f"no night is long enough for {', '.join(alone)} by itself")
    forbidden: list[tuple[int, ...]] = []
    least = max(1, int(np.ceil((load.sum(axis=1) / window).max() - 1e-9)))
    for m in range(least, n + 1):
        while True:
            rows, high, low = [], [], []
            for j in range(n):
                row = np.zeros((n, m))
                row[j] = 1
                rows.append(row.ravel())
                low.append(1.0)
                high.append(1.0)
            for night in range(m):
                for k in range(len(window)):
                    row = np.zeros((n, m))
                    row[:, night] = load[k]
                    rows.append(row.ravel())
                    low.append(-np.inf)
                    high.append(float(window[k]))
                for group in forbidden:
                    row = np.zeros((n, m))
                    row[list(group), night] = 1
                    rows.append(row.ravel())
                    low.append(-np.inf)
                    high.append(len(group) - 1.0)
            first = np.arange(m)[None, :] * (np.ones(n) if worth is None else worth)[:, None]
            found = milp(
                first.ravel(), constraints=LinearConstraint(np.array(rows), low, high), bounds=Bounds(0, 1),
                integrality=np.ones(n * m), options={"time_limit": 60},
            )  # fmt: skip
            if found.x is None:
                break
            chosen = np.round(found.x.reshape(n, m)).astype(bool)
            sets = [tuple(int(i) for i in np.flatnonzero(chosen[:, night])) for night in range(m)]
            late = [s for s in sets if s and fits(tuple(names[i] for i in s)) > end + 1e-6]
            if not late:
                return [tuple(names[i] for i in s) for s in sets if s]
            forbidden += [smallest(s, names, fits, end) for s in late]
    raise InputError("no spread over nights was found")


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
