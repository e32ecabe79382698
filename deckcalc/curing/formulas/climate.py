"""A year of nights: hourly air from monthly means with a stated shape, and the share of starts that work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from deckcalc.curing.formulas.evaporation import saturation

LOW_HOUR, HIGH_HOUR = 5.0, 15.0
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
PERSISTENCE = 0.7  # of a day's deviation that is left on the next day
SEED = 20


@dataclass(frozen=True)
class Month:
    """Means of one month.

    Attributes
    ----------
    low, high : float
        Mean daily lowest and highest temperature [°C].
    damp, dry : float
        Relative humidity at the hour of the low and of the high, 0 to 1.
    wind : float
        Mean wind [m/s].
    sun : float
        Radiation on the level at noon on a mean day [W/m²].
    spread : float
        Standard deviation of daily means from day to day [K].
    """

    low: float
    high: float
    damp: float
    dry: float
    wind: float
    sun: float
    spread: float


@dataclass(frozen=True)
class Hourly:
    """Hourly air; arrays of shape (hours,). Temperature °C, humidity 0 to 1, wind m/s, sun W/m²."""

    temperature: np.ndarray
    humidity: np.ndarray
    wind: np.ndarray
    sun: np.ndarray


def day_shape(hour: np.ndarray) -> np.ndarray:
    """Return where in its daily range the temperature stands, 0 at the low and 1 at the high.

    Half cosines between the low at 05:00 and the high at 15:00, and back.

    Examples
    --------
    >>> day_shape(np.array([5.0, 10.0, 15.0, 22.0])).round(3).tolist()
    [0.0, 0.5, 1.0, 0.5]
    """
    since = np.mod(np.asarray(hour, dtype=float) - LOW_HOUR, 24.0)
    up = HIGH_HOUR - LOW_HOUR
    rising = 0.5 - 0.5 * np.cos(np.pi * since / up)
    falling = 0.5 + 0.5 * np.cos(np.pi * (since - up) / (24.0 - up))
    return np.where(since <= up, rising, falling)


def sun_shape(hour: np.ndarray) -> np.ndarray:
    """Return radiation against that at noon: a half sine from 06:00 to 18:00.

    Examples
    --------
    >>> sun_shape(np.array([0.0, 12.0])).tolist()
    [0.0, 1.0]
    """
    hour = np.mod(np.asarray(hour, dtype=float), 24.0)
    return np.where((hour > 6) & (hour < 18), np.sin(np.pi * (hour - 6) / 12), 0.0)


def synthetic_year(months: Sequence[Month], extra_days: int = 7, seed: int = SEED) -> Hourly:
    """Return a year of hourly air that has the means and the day-to-day spread of twelve months.

    Daily means deviate by a chain in which 0.7 of a deviation is left on the next day; wind deviates from day to day by
    a third of its mean and is not less than a tenth of it. The chain starts from a fixed number: the same months give
    the same year. It is a year like others, no forecast and no record.

    Parameters
    ----------
    months : sequence of Month, shape (12,)
    extra_days : int
        The first days of the year again at its end, so that a start in the last days has hours to run.
    seed : int

    Returns
    -------
    Hourly
        8760 hours and those of the extra days.
    """
    draw = np.random.default_rng(seed)
    middle = np.cumsum([0, *DAYS[:-1]]) + np.array(DAYS) / 2
    day = np.arange(365)
    around = np.concatenate([middle - 365, middle, middle + 365])

    def by_day(name: str) -> np.ndarray:
        return np.interp(day + 0.5, around, np.tile([getattr(month, name) for month in months], 3))

    deviation = np.empty(365)
    last = draw.standard_normal()
    for i, shock in enumerate(draw.standard_normal(365)):
        last = PERSISTENCE * last + np.sqrt(1 - PERSISTENCE**2) * shock
        deviation[i] = last
    deviation = (
        deviation - deviation.mean()
    ) / deviation.std()  # the year keeps the means and the spread of its months
    gust = np.maximum(1 + draw.standard_normal(365) / 3, 0.1)
    order = np.concatenate([day, np.arange(extra_days)])
    hour = np.tile(np.arange(24.0), len(order))
    pick = np.repeat(order, 24)
    place = day_shape(hour)
    low, high = by_day("low"), by_day("high")
    damp, dry = by_day("damp"), by_day("dry")
    temperature = low[pick] + (high - low)[pick] * place + (by_day("spread") * deviation)[pick]
    humidity = np.clip(damp[pick] + (dry - damp)[pick] * place, 0.02, 1.0)
    return Hourly(temperature, humidity, (by_day("wind") * gust)[pick], by_day("sun")[pick] * sun_shape(hour))


def menzel(T_c: np.ndarray, T_a: np.ndarray, humidity: np.ndarray, wind: np.ndarray) -> np.ndarray:
    """Return evaporation by Menzel's SI form on plain arrays [kg/(m² h)]; wind in m/s, humidity 0 to 1."""
    return 0.315 * (saturation(T_c) - humidity * saturation(T_a)) * (0.253 + 0.060 * 3.6 * wind)


def windows(series: np.ndarray, starts: np.ndarray, hours: int) -> np.ndarray:
    """Return the hours that follow each start.

    Parameters
    ----------
    series : array, shape (n,)
    starts : array of int, shape (m,)
    hours : int

    Returns
    -------
    array, shape (hours + 1, m)
    """
    return series[starts[None, :] + np.arange(hours + 1)[:, None]]


def month_of(start: np.ndarray) -> np.ndarray:
    """Return the month, 0 to 11, of an hour of the year."""
    return np.searchsorted(np.cumsum(DAYS) * 24, np.asarray(start) % 8760, side="right")
