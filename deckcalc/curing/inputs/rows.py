"""Curing and opening: the section and the tables of the job folder."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal, TypeVar

import numpy as np
from pydantic import Field

from deckcalc.base.fields import Day, Id, InRange, OptionalId, Strict
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.base.work import Moment, PlacementRow
from deckcalc.core.units import (
    ActivationEnergy,
    Conductivity,
    Count,
    Distance,
    ExpansionCoefficient,
    Hours,
    Irradiance,
    Microstrain,
    Quantity,
    Ratio,
    Share,
    SpecificHeat,
    Stress,
    Temperature,
    TemperatureDifference,
    ThermalResistance,
    WindSpeed,
    number,
    quantity,
)
from deckcalc.curing.formulas import climate
from deckcalc.curing.formulas.regression import Curve

Timed = TypeVar("Timed", "WeatherRow | AirHour", "HistoryRow")

HOUR = datetime.timedelta(hours=1)
JUMP = 15.0  # K in an hour: more is a wrong unit or a wrong reading


class Heat(Strict):
    """What the heat model of patch and slab needs."""

    conductivity: Annotated[Quantity, InRange(Conductivity, "0.8 W/m/K", "4 W/m/K")] = Field(
        description="thermal conductivity of patch and slab"
    )
    specific_heat: Annotated[Quantity, InRange(SpecificHeat, "0.7 kJ/kg/K", "1.3 kJ/kg/K")] = Field(
        description="specific heat of patch and slab"
    )
    cover: Annotated[Quantity, InRange(ThermalResistance, "0 m^2*K/W", "5 m^2*K/W")] = Field(
        description="thermal resistance of curing cover or blanket"
    )
    soffit: Annotated[Quantity, InRange(ThermalResistance, "0 m^2*K/W", "5 m^2*K/W")] = Field(
        description="thermal resistance of the soffit form of a full-depth hole"
    )
    sun_absorbed: Annotated[Quantity, InRange(Share, "0 %", "100 %")] = Field(
        description="share of the sun's radiation that the surface takes up"
    )


class Measures(Strict):
    """Measures against evaporation from the fresh surface, each worked out in the sheet."""

    shade: Annotated[Quantity, InRange(TemperatureDifference, "0 Δ°C", "20 Δ°C")] = Field(
        description="by how much shade keeps concrete and air at the surface cooler"
    )
    wind_left: Annotated[Quantity, InRange(Share, "0 %", "100 %")] = Field(
        description="share of the wind that a wind break lets through"
    )
    fog_humidity: Annotated[Quantity, InRange(Share, "50 %", "100 %")] = Field(
        description="relative humidity over the surface under fogging"
    )


class Shrinkage(Strict):
    """Assumptions of the estimate of shrinkage and restraint."""

    ultimate: Annotated[Quantity, InRange(Microstrain, "100 µm/m", "1500 µm/m")] = Field(
        description="ultimate drying shrinkage"
    )
    humidity: Annotated[Quantity, InRange(Share, "40 %", "100 %")] = Field(
        description="mean relative humidity of the place"
    )
    restraint: Annotated[Quantity | None, InRange(Ratio, "0", "1")] = Field(
        None, description="degree of restraint by the existing concrete; leave out to take that of its stiffness"
    )
    creep: Annotated[Quantity, InRange(Ratio, "0", "5")] = Field(
        description="creep coefficient that stands for relaxation"
    )
    expansion: Annotated[Quantity, InRange(ExpansionCoefficient, "4 µm/m/K", "16 µm/m/K")] = Field(
        description="coefficient of thermal expansion"
    )


class Curing(Strict):
    """Choices for placing, curing and opening."""

    evaporation: Literal["Menzel", "Uno"] = Field(description="whose equation of evaporation")
    maturity: Literal["equivalent age", "Nurse-Saul"] = Field(description="how temperature counts as age")
    activation_energy: Annotated[Quantity, InRange(ActivationEnergy, "20 kJ/mol", "80 kJ/mol")] = Field(
        description="apparent activation energy"
    )
    datum: Annotated[Quantity, InRange(Temperature, "-15 °C", "10 °C")] = Field(
        description="datum temperature of the temperature-time factor"
    )
    reference: Annotated[Quantity, InRange(Temperature, "15 °C", "30 °C")] = Field(
        description="reference temperature of the equivalent age"
    )
    curve: Curve = Field(description="form of the strength-age curve: hyperbolic, exponential or logarithmic")
    bleeding: Literal["by the mix", "usual", "little"] = Field(
        "by the mix", description="how much the concrete bleeds; by the mix: little where it has silica fume"
    )
    cold_weather: Literal["ACI 306R-16", "ACI 306.1-90"] = Field(
        "ACI 306R-16", description="whose definition of cold weather"
    )
    confidence: Annotated[Quantity, InRange(Share, "50 %", "99 %")] = Field(
        description="two-sided confidence of the band of strength"
    )
    estimate_spread: Annotated[Quantity, InRange(Share, "5 %", "60 %")] = Field(
        description="half width of the band where there are no cylinders"
    )
    edge_strip: Annotated[Quantity, InRange(Distance, "0 m", "1 m")] = Field(
        description="strip beyond the edge that is cured as well"
    )
    coats: Annotated[Quantity, InRange(Count, "1", "4")] = Field(description="coats of curing compound")
    heat: Heat
    measures: Measures
    shrinkage: Shrinkage


class WeatherRow(Strict):
    """weather.csv: one hour a row."""

    time: Moment = Field(description="local date and full hour")
    air: Annotated[Quantity, InRange(Temperature, "-40 °C", "55 °C")] = Field(description="temperature of the air")
    humidity: Annotated[Quantity, InRange(Share, "2 %", "100 %")] = Field(description="relative humidity")
    wind: Annotated[Quantity, InRange(WindSpeed, "0 km/h", "120 km/h")] = Field(description="speed of the wind")
    sun: Annotated[Quantity, InRange(Irradiance, "0 W/m^2", "1300 W/m^2")] = Field(
        description="radiation of the sun on a level surface"
    )


class DayRow(Strict):
    """days.csv: one day a row, where there are no hourly readings."""

    date: Day = Field(description="date")
    low: Annotated[Quantity, InRange(Temperature, "-40 °C", "50 °C")] = Field(
        description="lowest temperature of the air"
    )
    high: Annotated[Quantity, InRange(Temperature, "-38 °C", "55 °C")] = Field(
        description="highest temperature of the air"
    )
    morning_humidity: Annotated[Quantity, InRange(Share, "2 %", "100 %")] = Field(
        description="relative humidity at the lowest temperature"
    )
    afternoon_humidity: Annotated[Quantity, InRange(Share, "2 %", "100 %")] = Field(
        description="relative humidity at the highest temperature"
    )
    wind: Annotated[Quantity, InRange(WindSpeed, "0 km/h", "120 km/h")] = Field(description="speed of the wind")
    noon_sun: Annotated[Quantity, InRange(Irradiance, "0 W/m^2", "1300 W/m^2")] = Field(
        description="radiation of the sun on a level surface at noon"
    )


class HistoryRow(Strict):
    """history.csv: one reading of the temperature in the patch a row."""

    time: Moment = Field(description="local date and time")
    temperature: Annotated[Quantity, InRange(Temperature, "-20 °C", "95 °C")] = Field(
        description="temperature in the patch"
    )


class CylinderRow(Strict):
    """cylinders.csv: the cylinders of one age a row."""

    test: Id = Field(description="name of the test")
    age: Annotated[Quantity, InRange(Hours, "1 h", "20000 h")] = Field(description="age at the test")
    temperature: Annotated[Quantity, InRange(Temperature, "1 °C", "80 °C")] = Field(
        description="temperature at which they were cured"
    )
    strengths: Annotated[Quantity, InRange(Stress, "0.3 MPa", "150 MPa", least=1)] = Field(
        description="strengths of the cylinders"
    )
    concrete: OptionalId = Field("", description="concrete that was tested; may be empty where the job has one")


class CubeRow(Strict):
    """cubes.csv: the mortar cubes of one age in one bath a row."""

    test: Id = Field(description="name of the test")
    bath: Annotated[Quantity, InRange(Temperature, "1 °C", "60 °C")] = Field(description="temperature of the bath")
    age: Annotated[Quantity, InRange(Hours, "0.5 h", "20000 h")] = Field(description="age at the test")
    strengths: Annotated[Quantity, InRange(Stress, "0.1 MPa", "150 MPa", least=1)] = Field(
        description="strengths of the cubes"
    )
    concrete: OptionalId = Field("", description="concrete whose mortar was tested; may be empty where the job has one")


class ClimateRow(Strict):
    """climate.csv: means of one month a row, January to December."""

    month: Id = Field(description="name of the month")
    low: Annotated[Quantity, InRange(Temperature, "-50 °C", "45 °C")] = Field(
        description="mean of the daily lowest temperatures"
    )
    high: Annotated[Quantity, InRange(Temperature, "-45 °C", "55 °C")] = Field(
        description="mean of the daily highest temperatures"
    )
    morning_humidity: Annotated[Quantity, InRange(Share, "2 %", "100 %")] = Field(
        description="mean relative humidity in the morning"
    )
    afternoon_humidity: Annotated[Quantity, InRange(Share, "2 %", "100 %")] = Field(
        description="mean relative humidity in the afternoon"
    )
    wind: Annotated[Quantity, InRange(WindSpeed, "0 km/h", "80 km/h")] = Field(description="mean speed of the wind")
    noon_sun: Annotated[Quantity, InRange(Irradiance, "0 W/m^2", "1300 W/m^2")] = Field(
        description="mean radiation of the sun on a level surface at noon"
    )
    spread: Annotated[Quantity, InRange(TemperatureDifference, "0 Δ°C", "15 Δ°C")] = Field(
        description="standard deviation of a day's temperature about these means"
    )


SECTIONS = {"curing": Curing}
ROWS: dict[str, type[Strict]] = {
    "weather": WeatherRow, "days": DayRow, "history": HistoryRow, "cylinders": CylinderRow, "cubes": CubeRow,
    "climate": ClimateRow,
}  # fmt: skip
NEEDS = Needs("curing", ("curing",), (("mix",), ("deck.slab_thickness",)), "placing, curing and the hour of opening")
START = Start(own=("weather", "days", "history", "cylinders", "cubes"))


def clock(moment: datetime.datetime) -> str:
    """Return a local date and time as printed."""
    return moment.strftime("%Y-%m-%d %H:%M")


def celsius(temperature: Quantity) -> float:
    """Return a temperature as a plain number of °C."""
    return number(temperature, "degC")


def unbroken(rows: Sequence[Timed]) -> list[list[Timed]]:
    """Return rows in unbroken records; a pause of a day or more parts one record from the next."""
    found: list[list[Timed]] = []
    for row in rows:
        if not found or row.time - found[-1][-1].time >= 24 * HOUR:
            found.append([])
        found[-1].append(row)
    return found


@dataclass(frozen=True)
class AirHour:
    """Air at an hour, as a row of weather.csv has it."""

    time: datetime.datetime
    air: Quantity
    humidity: Quantity
    wind: Quantity
    sun: Quantity


Hour = WeatherRow | AirHour


def weather_of(weather: Sequence[WeatherRow], days: Sequence[DayRow]) -> list[Hour]:
    """Return the hours of weather.csv, with those of days.csv where it has none.

    A day's temperature runs on half cosines between its low at 05:00 and its high at 15:00, humidity with it; wind is the
    same all day and the sun a half sine from 06:00 to 18:00.
    """
    known = {row.time.date() for row in weather}
    found: list[Hour] = list(weather)
    for day in days:
        if day.date in known:
            continue
        for hour in range(24):
            place, sun = float(climate.day_shape(np.array(hour))), float(climate.sun_shape(np.array(hour)))
            low, high = celsius(day.low), celsius(day.high)
            damp, dry = float(day.morning_humidity.m_as("percent")), float(day.afternoon_humidity.m_as("percent"))
            found.append(
                AirHour(
                    datetime.datetime.combine(day.date, datetime.time(hour)),
                    quantity(low + (high - low) * place, "degC"),
                    quantity(damp + (dry - damp) * place, "percent"), day.wind, day.noon_sun * sun,
                )
            )  # fmt: skip
    return sorted(found, key=lambda row: row.time)


def block_of(rows: Sequence[Hour], moment: datetime.datetime) -> list[Hour]:
    """Return the unbroken run of hourly rows round a moment; empty if there is none."""
    return next((run for run in unbroken(rows) if run[0].time <= moment <= run[-1].time), [])


def history_of(rows: Sequence[HistoryRow], placement: PlacementRow) -> list[HistoryRow]:
    """Return the measured history of a placing: the run that begins between its start and its opening."""
    return next((run for run in unbroken(rows) if placement.start <= run[0].time < placement.opening), [])
