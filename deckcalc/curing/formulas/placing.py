"""Limits of temperature for placing, by thickness of the section and by rule."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Annotated, Any, Literal, NamedTuple

from deckcalc.core import tables
from deckcalc.core.calculation import Range, below, lookup
from deckcalc.core.forms import BOTH, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import Length, Temperature, TemperatureDifference

LEAST = Cite("aci306r-88", "Table 3.1, as reproduced on a public page; the first two rows also in UFGS 03301A, 3.3.4")
DROP = Cite("aci306r-88", "Table 5.5", "memory")
System = Literal["SI", "US"]


def _row(h: float, system: str) -> dict[str, str]:
    for row in tables.load("placing_temperature").rows:
        most = row["below [mm]"] if system == "SI" else row["below [in]"]
        if not most or below(h, float(most) * (1e-3 if system == "SI" else 0.0254)):
            return row
    raise tables.TableError("no row of the table holds the thickness")  # the last row has no upper end


@lookup("from the table of placing temperatures ({form} values) for a section of {h}", source=LEAST)
def least_by_thickness(h: Length, form: System) -> Temperature:
    """Return the minimum temperature [K] by thickness."""
    row = _row(float(h), form)
    found: Any = float(row["minimum [°C]"]) + 273.15 if form == "SI" else (float(row["minimum [°F]"]) + 459.67) / 1.8
    return found


@lookup("from the table of maximum temperature drops in a day ({form} values) for a section of {h}", source=DROP)
def drop_by_thickness(h: Length, form: System) -> TemperatureDifference:
    """Return the maximum gradual drop [K] by thickness."""
    row = _row(float(h), form)
    found: Any = float(row["drop [Δ°C]"]) if form == "SI" else float(row["drop [Δ°F]"]) / 1.8
    return found


class PlacingTemperature(NamedTuple):
    """Result of `least_placing_temperature`."""

    T_least: Temperature
    Delta_24: TemperatureDifference


@calculation_by_form(
    title="Minimum temperature as placed, and maximum drop after protection",
    source=(LEAST, DROP),
    notes=("For cold weather: air at or expected below 4 °C (40 °F) while the concrete is protected.",),
    forms=BOTH,
)
def least_placing_temperature(h: Annotated[Length, Range("10 mm", "5000 mm")], *, form: str) -> PlacingTemperature:
    r"""Minimum temperature of concrete as placed and kept, and its maximum gradual drop in the first 24 h after protection.

    .. math:: T_{least} = T(h), \quad \Delta T_{24} = \Delta T(h)

    Parameters
    ----------
    h : quantity of length
        minimum dimension of the section
    form : str
        which values of the table: SI or US

    Returns
    -------
    PlacingTemperature
        `T_least` minimum temperature, `Delta_24` maximum drop in 24 h.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 306R-88, table 3.1 as reproduced on a public page, and table 5.5 from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{least_placing_temperature(Q(8, 'in'), form='US').T_least.to('°F'):.0f~P}"
    '55 °F'
    """
    T_least = least_by_thickness(h, form)  # minimum temperature as placed and kept
    Delta_24 = drop_by_thickness(h, form)  # maximum drop in the first 24 h after protection
    return PlacingTemperature(T_least, Delta_24)


Definition = Literal["ACI 306R-16", "ACI 306.1-90"]
#: Days in a row, and the temperature that ends them, of the older definition.
DAYS, WARM_C = 3, 10.0


def is_cold_weather(hours: Sequence[tuple[datetime.datetime, float]], least: float, definition: Definition) -> bool:
    """Tell whether the air of hourly readings is cold weather.

    By the newer definition it is where the air falls to the minimum temperature, or below, at any hour. By the older one it is where the
    mean of the high and the low of each day is below it for more than three days in a row, none of them with more than twelve
    hours above 10 °C. A record of no more than three whole days cannot show that: the newer definition then holds, which is on
    the safe side.

    Parameters
    ----------
    hours : sequence of (datetime, float)
        Times and temperatures [°C], hour by hour.
    least : float
        Below which air is cold [°C].
    definition : {"ACI 306R-16", "ACI 306.1-90"}

    Examples
    --------
    >>> start = datetime.datetime(2026, 1, 1)
    >>> night = [(start + datetime.timedelta(hours=i), 3.0 if i % 24 < 6 else 9.0) for i in range(120)]
    >>> is_cold_weather(night, 5.0, "ACI 306R-16"), is_cold_weather(night, 5.0, "ACI 306.1-90")
    (True, False)
    """
    days: dict[datetime.date, list[float]] = {}
    for time, air in hours:
        days.setdefault(time.date(), []).append(air)
    whole = [values for values in days.values() if len(values) == 24]
    if definition == "ACI 306R-16" or len(whole) <= DAYS:
        return any(air <= least + 1e-6 for _, air in hours)
    run = 0
    for values in whole:
        mild = sum(value > WARM_C for value in values) > 12
        run = run + 1 if (max(values) + min(values)) / 2 < least - 1e-6 and not mild else 0
        if run > DAYS:
            return True
    return False
