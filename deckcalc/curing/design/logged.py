"""Strength by the temperatures that a logger read in a patch: the equivalent age of its record, and what it does not hold."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np

from deckcalc.core.units import Quantity
from deckcalc.curing.design.placings import Placing, Placings, Reached
from deckcalc.curing.formulas import opening
from deckcalc.curing.formulas.maturity import accumulated
from deckcalc.curing.formulas.regression import NoCurve
from deckcalc.curing.inputs.rows import celsius

#: A step so many times the usual one is a pause of the logger.
PAUSE = 1.5


class Reading(Protocol):
    """A temperature at a moment."""

    @property
    def time(self) -> datetime.datetime:
        """Local date and time."""

    @property
    def temperature(self) -> Quantity:
        """Temperature in the patch."""


@dataclass(frozen=True)
class Logged:
    """What the record of a logger comes to.

    Attributes
    ----------
    end : datetime
        End of placing, from which hours count.
    band : Band
        Equivalent age and strength at every reading.
    opens : Reached
        When the strength that opening requires is reached, by the record; None where it is not, within it.
    first, last : datetime
        Of its readings.
    pauses : list of tuple
        Readings between which it stood still.
    computed : bool
        Whether the concrete has a curve by its own cylinders.
    """

    end: datetime.datetime
    band: opening.Band
    opens: Reached
    first: datetime.datetime
    last: datetime.datetime
    pauses: list[tuple[datetime.datetime, datetime.datetime]]
    computed: bool

    def moment(self, hour: float) -> datetime.datetime:
        """Return the local time of an hour, to the minute above."""
        return self.end + datetime.timedelta(minutes=float(np.ceil(hour * 60 - 1e-6)))


def band_of(
    placings: Placings, fit: opening.StrengthCurve, end: datetime.datetime, readings: Sequence[Reading]
) -> tuple[opening.Band, list[tuple[datetime.datetime, datetime.datetime]]]:
    """Return strength by readings of temperature, and the pauses between them, in which nothing counts as age.

    Parameters
    ----------
    placings : Placings
        Whose rate of equivalent age it is.
    fit : StrengthCurve
        Of the concrete.
    end : datetime
        End of placing: nothing counts before it.
    readings : sequence
        In order of time.
    """
    since = np.array([(reading.time - end).total_seconds() / 3600 for reading in readings])
    rate = placings.rate(np.array([celsius(reading.temperature) for reading in readings]))
    steps = np.diff(since)
    usual = float(np.median(steps)) if len(steps) else 1.0
    paused = steps > PAUSE * usual
    gained = np.where(paused, 0.0, np.diff(accumulated(since, rate)))
    age = np.concatenate([[0.0], np.cumsum(gained)])
    age = np.maximum(age - np.interp(0.0, since, age), 0.0)
    pauses = [(a.time, b.time) for (a, b), still in zip(pairwise(readings), paused, strict=True) if still]
    return opening.band(fit, since, age), pauses


def logged(placings: Placings, one: Placing, end: datetime.datetime, readings: Sequence[Reading]) -> Logged:
    """Return what the record of a logger in one patch of a placing comes to."""
    band, pauses = band_of(placings, one.curve.fit if one.curve else NoCurve(), end, readings)
    opens = Reached.by(band, placings.required)
    return Logged(end, band, opens, readings[0].time, readings[-1].time, pauses, one.computed)
