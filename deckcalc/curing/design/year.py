"""When in the year can this be done: the share of starts that work, by month and hour of the start."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from deckcalc.curing.design.evaporation import kelvins
from deckcalc.curing.design.placings import Calendar, Placing, Placings
from deckcalc.curing.formulas import climate, heat, opening
from deckcalc.curing.formulas.regression import NoCurve
from deckcalc.curing.inputs.rows import celsius

STEP_HOURS = 0.5
BLOCK = 500  # histories at once: their arrays stay in the processor's cache


@dataclass(frozen=True)
class Year:
    """Which starts of a synthetic year work.

    Attributes
    ----------
    starts : array of int
        Hour of the year.
    hours : int
        From the end of placing to the opening.
    strong, dry, warm : array of bool
        Lower edge of the band has the required strength at the opening; evaporation within its limit while placing; air not
        below its limit while placing and the patch never below freezing.
    """

    starts: np.ndarray
    hours: int
    strong: np.ndarray
    dry: np.ndarray
    warm: np.ndarray

    @property
    def works(self) -> np.ndarray:
        """Whether all three hold."""
        return self.strong & self.dry & self.warm

    def shares(self, what: np.ndarray, hours: np.ndarray) -> np.ndarray:
        """Return the share of starts for which something holds, by month and hour of the day.

        Parameters
        ----------
        what : array of bool
        hours : array of int
            Hours of the day at which the starts lie.
        """
        month, hour = climate.month_of(self.starts), self.starts % 24
        return np.array([[what[(month == m) & (hour == h)].mean() for h in hours] for m in range(12)])


def months(placings: Placings) -> list[climate.Month]:
    """Return the twelve months of the job in plain numbers."""
    return [
        climate.Month(
            celsius(row.low), celsius(row.high), float(row.morning_humidity.m_as("")), float(row.afternoon_humidity.m_as("")),
            float(row.wind.m_as("m/s")), float(row.noon_sun.m_as("W/m²")), kelvins(row.spread),
        )
        for row in placings.inputs.climate
    ]  # fmt: skip


def run_starts(placings: Placings, one: Placing, starts: np.ndarray, concrete: float | None = None) -> Year:
    """Run the heat model of the slowest item of a placing for many starts of a synthetic year.

    The concrete is placed at its stated temperature, the existing concrete is as warm as the air has been over the day before.

    Parameters
    ----------
    placings : Placings
    one : Placing
        Gives patch, duration of placing and hours to the opening.
    starts : array of int
        Hours of the year at which placing starts.
    concrete : float, optional
        Temperature as placed [°C] instead of that of the placing.
    """
    choices = placings.choices
    span = max(round((one.row.end - one.row.start).total_seconds() / 3600), 1)
    hours = int(np.ceil(one.opening_hour - 1e-9))
    year = climate.synthetic_year(months(placings), extra_days=2 + (span + hours) // 24)
    T_c = celsius(one.concrete) if concrete is None else concrete
    required, limit = placings.required, float(placings.evaporation_limit(one.design).value.m_as("kg/m²/h"))
    enough = opening.reached(
        np.arange(0.0, 5000.0, 0.1),
        opening.band(one.curve.fit if one.curve else NoCurve(), *[np.arange(0.0, 5000.0, 0.1)] * 2).low,
        required,
    )
    energy = heat.arrhenius(float(choices.activation_energy.m_as("J/mol")), celsius(choices.reference))
    other = placings.rate if choices.maturity != "equivalent age" else None
    build = heat.Build(
        float(one.thickness[one.slowest]), float(one.total[one.slowest]), float(choices.heat.conductivity.m_as("W/m/K")),
        placings.capacity(one.design), float(choices.heat.cover.m_as("m²*K/W")),
        float(choices.heat.soffit.m_as("m²*K/W")) if one.full[one.slowest] else 0.0,
    )  # fmt: skip
    absorbed = float(choices.heat.sun_absorbed.m_as(""))
    least = celsius(placings.limit("air_least").value)
    found: dict[str, list[np.ndarray]] = {"strong": [], "dry": [], "warm": []}
    fine = round(1 / STEP_HOURS)
    for part in np.array_split(starts, max(1, -(-len(starts) // BLOCK))):
        placing = {
            name: climate.windows(getattr(year, name), part, span) for name in ("temperature", "humidity", "wind")
        }
        after = {
            name: climate.windows(getattr(year, name), part + span, hours) for name in ("temperature", "wind", "sun")
        }
        before = climate.windows(year.temperature, np.maximum(part - 24, 0), 24).mean(axis=0)
        wind = heat.between_hours(after["wind"], fine)
        ran = heat.temperatures(
            build,
            heat.Air(heat.between_hours(after["temperature"], fine), heat.exchange(wind), heat.exchange(0.5 * wind),
                     absorbed * heat.between_hours(after["sun"], fine)),
            3600 * STEP_HOURS, T_c, np.minimum(before, 40.0), placings.heat_source(one.design), energy, other, cells=12,
        )  # fmt: skip
        age = ran.age[-1] / 3600
        found["strong"].append(np.full(len(part), False) if enough is None else age >= enough)
        rates = climate.menzel(np.array(T_c), placing["temperature"], placing["humidity"], placing["wind"])
        found["dry"].append(rates.max(axis=0) <= limit)
        found["warm"].append((placing["temperature"].min(axis=0) >= least) & (ran.coldest.min(axis=0) > 0.0))
    return Year(starts, hours, *(np.concatenate(found[name]) for name in ("strong", "dry", "warm")))


#: Hours of the day at which starts of placing are tried, and that from which a start is at night.
HOURS = np.array([7, 10, 13, 16, 19, 20, 21, 22, 23])
NIGHT = 19


def calendar(placings: Placings) -> Calendar | None:
    """Return which starts work for the last placing, kept once found; None where there is no climate or no placing."""
    if placings.inputs.climate and len(placings) and placings.calendar is None:
        one = list(placings)[-1]
        starts = np.array([24 * day + hour for day in range(365) for hour in HOURS])
        year = run_starts(placings, one, starts)
        night, month = starts % 24 >= NIGHT, climate.month_of(starts)
        nights = [
            [what[night & (month == m)].mean() for what in (year.works, year.strong, year.dry, year.warm)]
            for m in range(12)
        ]
        placings.calendar = Calendar(one, year.hours, len(starts), year.shares(year.works, HOURS), np.array(nights))
    return placings.calendar
