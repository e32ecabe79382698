"""Zones of the deck: rectangles by station and offset, each judged as one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from deckcalc.chloride.inputs.rows import ZoneRow
from deckcalc.core.units import Quantity, number

#: Name of the one zone of a job that states none.
ALL = "deck"
SLACK = 1e-6  # metres, so that a point on the border of a zone lies in it
Floats = NDArray[np.float64]


class Placed(Protocol):
    """A row with station and offset."""

    @property
    def station(self) -> Quantity:
        """Station along the deck."""

    @property
    def offset(self) -> Quantity:
        """Offset across the deck."""


def xy(place: Placed) -> tuple[float, float]:
    """Return station and offset in metres."""
    return number(place.station, "m"), number(place.offset, "m")


@dataclass(frozen=True)
class Zone:
    """A rectangle of the deck, in metres; without borders it is all of the deck."""

    name: str
    left: float = -np.inf
    right: float = np.inf
    low: float = -np.inf
    high: float = np.inf

    @property
    def item(self) -> str:
        """What its checks and decisions are called."""
        return f"zone {self.name}"

    def inside(self, station: Floats | float, offset: Floats | float) -> NDArray[np.bool_]:
        """Say which points lie in it, its lower borders included."""
        x, y = np.asarray(station), np.asarray(offset)
        along = (x >= self.left - SLACK) & (x < self.right - SLACK)
        return np.asarray(along & (y >= self.low - SLACK) & (y < self.high - SLACK))

    def contains(self, place: Placed) -> bool:
        """Say whether a row with station and offset lies in it."""
        return bool(self.inside(*xy(place)))

    def overlaps(self, other: Zone) -> bool:
        """Say whether two zones share an area."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > SLACK
            and min(self.high, other.high) - max(self.low, other.low) > SLACK
        )


def zone(row: ZoneRow) -> Zone:
    """Return the zone of a row of zones.csv."""
    borders = (row.station_from, row.station_to, row.offset_from, row.offset_to)
    return Zone(row.zone, *(float(value.m_as("m")) for value in borders))


def zones_of(rows: Sequence[ZoneRow]) -> list[Zone]:
    """Return the zones of a job; the whole deck is one if it names none."""
    return [zone(row) for row in rows] or [Zone(ALL)]
