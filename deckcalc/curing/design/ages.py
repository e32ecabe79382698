"""Equivalent age of a placing summed in intervals that a checker can follow, and what each of its items comes to."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from deckcalc.curing.design.placings import Placing, Placings, Reached
from deckcalc.curing.inputs.rows import celsius


@dataclass(frozen=True)
class Interval:
    """Equivalent age gained in an interval: hours since the end of placing, mean temperature [°C], ages [h]."""

    start: float
    end: float
    mean: float
    gained: float
    total: float

    @property
    def length(self) -> float:
        """Length of the interval [h]."""
        return self.end - self.start

    @property
    def rate(self) -> float:
        """Mean rate of equivalent age."""
        return self.gained / self.length


def intervals(placings: Placings, one: Placing) -> list[Interval]:
    """Return the equivalent age of the governing history up to the opening, in about twelve intervals."""
    at = one.opening_hour
    grid = np.append(np.arange(0.0, at, max(1.0, np.ceil(at / 12))), at)
    hours, values = one.hours, one.trace
    if one.measured:
        hours = np.array([one.hour(reading.time) for reading in one.history])
        values = np.array([celsius(reading.temperature) for reading in one.history])
    found, total = [], 0.0
    for a, b in pairwise(grid):
        inside = np.unique(np.concatenate([[a, b], hours[(hours > a) & (hours < b)]]))
        T = np.interp(inside, hours, values)
        gained = float(np.trapezoid(placings.rate(T), inside))
        total += gained
        found.append(Interval(float(a), float(b), float(np.trapezoid(T, inside) / (b - a)), gained, total))
    return found


@dataclass(frozen=True)
class ItemResult:
    """What the heat model gives for one item: temperatures [°C], equivalent age at the opening [h], hours of strength."""

    item: str
    thickness: float
    hottest: float
    coldest: float
    age: float
    reached: Reached


def each_item(placings: Placings, one: Placing) -> list[ItemResult]:
    """Return what the heat model gives for every item of a placing."""
    ran = one.temperatures
    return [
        ItemResult(
            item, float(one.thickness[i]), float(ran.hottest[:, i].max()), float(ran.coldest[:, i].min()),
            band.at(one.opening_hour)[0], Reached.by(band, placings.required),
        )
        for i, (item, band) in enumerate(zip(one.items, one.bands, strict=True))
    ]  # fmt: skip
