"""Curing and opening: from the weather of the night to the hour at which the lane may open."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from deckcalc import patch
from deckcalc.base.fields import FULL, PARTIAL, JobError
from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.units import Quantity
from deckcalc.curing.design import checks as curing_checks
from deckcalc.curing.design import evaporation as curing_drying
from deckcalc.curing.formulas import heat, hydration, opening, regression, strength
from deckcalc.curing.formulas.maturity import accumulated
from deckcalc.curing.inputs.rows import (
    HOUR,
    PLACED,
    THICKNESS,
    Curing,
    PlacementRow,
    block_of,
    celsius,
    history_of,
    weather_of,
)

if TYPE_CHECKING:
    from deckcalc.job import Job

PER_HOUR = 4  # steps of the heat model in an hour


@dataclass
class Placing:
    """One placing: what it is, its air by the hour, temperatures and strength of each item.

    Attributes
    ----------
    row : PlacementRow
    items : list of str
        Patches, or the trial slab.
    thickness : array
        Of each item [m].
    total : array
        Of each item with the slab under it [m].
    full : list of bool
        Whether the item goes through the slab.
    concrete : Quantity
        Temperature as placed.
    air : list
        Rows of weather from the start on.
    hours : array
        Since the end of placing, grid of the heat model.
    temperatures : Temperatures
    bands : list of Band
        By the heat model, one an item.
    measured : Band or None
        By the measured history.
    history : list
        Its readings.
    """

    row: PlacementRow
    items: list[str]
    thickness: np.ndarray
    total: np.ndarray
    full: list[bool]
    concrete: Quantity
    air: list[Any]
    hours: np.ndarray
    temperatures: heat.Temperatures
    bands: list[opening.Band]
    measured: opening.Band | None
    history: list[Any]

    @property
    def name(self) -> str:
        """How checks and sheets call it."""
        return f"placing {self.row.placement}"

    @property
    def heading(self) -> str:
        """The same at the head of a table."""
        return f"Placing {self.row.placement}"

    def hour(self, moment: datetime.datetime) -> float:
        """Return hours since the end of placing."""
        return (moment - self.row.end).total_seconds() / 3600

    def moment(self, hour: float) -> datetime.datetime:
        """Return the local time of an hour, to the minute above."""
        return self.row.end + datetime.timedelta(minutes=float(np.ceil(hour * 60 - 1e-6)))

    @cached_property
    def slowest(self) -> int:
        """Place of the item that is last to gain strength."""
        at = self.hour(self.row.opening)
        return int(np.argmin([band.at(at)[0] for band in self.bands]))

    @property
    def trace(self) -> np.ndarray:
        """Temperature of the slowest point of the slowest item, by the heat model [°C]."""
        assert self.temperatures.field is not None
        cell = int(np.argmin(self.temperatures.ages[:, self.slowest]))
        return self.temperatures.field[:, cell, self.slowest]

    @property
    def governing(self) -> opening.Band:
        """The band that decides: the measured one, else that of the slowest item."""
        return self.measured or self.bands[self.slowest]


@dataclass
class CuringSubject(Subject):
    """Curing and opening, with what its sheet draws.

    Attributes
    ----------
    choice : Curing or None
        The section of the job file; None where the job has none.
    placings : list of Placing
    fits : dict of Fit
        By form of the curve; empty where there are no cylinders.
    fit : Fit or Estimate
        The one that is used.
    weather : list
        Hours of the record.
    tests : list
        Equivalent age [h] and strength [MPa] of each cylinder.
    rate : callable
        Rate of equivalent age by temperature [°C].
    cubes : FromCubes or None
    """

    key: ClassVar = "curing"
    title: ClassVar = "Curing and opening"
    choice: Curing | None = None
    placings: list[Placing] = field(default_factory=list)
    fits: dict[str, regression.Fit] = field(default_factory=dict)
    fit: Any = None
    tests: list[tuple[float, float]] = field(default_factory=list)
    weather: list[Any] = field(default_factory=list)
    rate: Callable[[Any], Any] | None = None
    cubes: Any = None
    source: Any = None


def carry(job: Job) -> CuringSubject:
    """Strength and limits of every placing."""
    subject = CuringSubject(job)
    subject.choice = choice = job.head.curing
    if choice is None:
        return subject
    concrete = concrete_for(job, PARTIAL)
    subject.source = hydration.heat_source(hydration.cement(choice.cement), concrete.cementitious, concrete.w_cm)
    energy, reference = float(choice.activation_energy.m_as("J/mol")), celsius(choice.reference)
    arrhenius = heat.arrhenius(energy, reference)
    subject.rate = (
        arrhenius if choice.maturity == "equivalent age" else heat.nurse_saul_rate(celsius(choice.datum), reference)
    )
    subject.weather = weather_of(job.file.rows)
    fit_cylinders(job, subject)
    for row in job.file.rows["placements"]:
        subject.placings.append(place(job, subject, row, arrhenius))
    for one in subject.placings:
        curing_drying.evaporate(job, subject, one)
        curing_checks.hold_temperatures(job, subject, one)
        curing_checks.open_lane(job, subject, one)
        curing_checks.strip_forms(job, subject, one)
        curing_checks.cure(job, subject, one)
    curing_checks.heat_given(job, subject, concrete.cementitious, concrete.w_cm)
    curing_checks.shrink(job, subject)
    subject.notes += curing_checks.notes(subject)
    return subject


def concrete_for(job: Job, depth_class: str) -> Any:
    """Return the concrete of a depth class, or the only one that there is."""
    return job.mix.for_depth(depth_class)


@dataclass(frozen=True)
class Estimate:
    """Strength by cement type from print, for a first estimate: the same answers as a fit."""

    a: float  # h
    b: float
    f_28: float  # MPa
    spread: float
    first: float = 24.0
    last: float = 28 * 24.0

    def strength(self, t: Any) -> np.ndarray:
        """Return the strength at equivalent ages in hours."""
        t = np.asarray(t, dtype=float)
        return t / (self.a + self.b * t) * self.f_28

    def low(self, t: Any) -> np.ndarray:
        """Return the lower edge of the stated spread."""
        return (1 - self.spread) * self.strength(t)

    def high(self, t: Any) -> np.ndarray:
        """Return the upper edge of the stated spread."""
        return (1 + self.spread) * self.strength(t)


def fit_cylinders(job: Job, subject: CuringSubject) -> None:
    """Fit all three curves to the cylinders, or take a first estimate from print."""
    choice = subject.choice
    assert choice
    if cubes := job.file.rows["cubes"]:
        from deckcalc.curing.formulas.maturity import from_cubes

        sets: dict[float, tuple[list[float], list[float]]] = {}
        for row in cubes:
            ages, found = sets.setdefault(celsius(row.bath), ([], []))
            for value in row.strengths.m_as("Pa"):
                ages.append(float(row.age.m_as("h")))
                found.append(float(value))
        try:
            subject.cubes = from_cubes(sets)
        except units.InputError as error:
            raise JobError([f"cubes.csv: {error}"]) from None
    rows = job.file.rows["cylinders"]
    if not rows:
        a, b = strength.cement_curve(choice.cement)
        subject.fit = Estimate(
            24 * a,
            b,
            min(float(one.strength.m_as("MPa")) for one in job.mix),
            float(choice.estimate_spread.m_as("")),
        )
        return
    for row in rows:
        age = curing_checks.age_run(subject, f"cylinders {row.test}", row.temperature, row.age)
        subject.tests += [(float(age.m_as("h")), float(value)) for value in row.strengths.m_as("MPa")]
    t, S = (np.array(column) for column in zip(*subject.tests, strict=True))
    share = float(choice.confidence.m_as(""))
    for name in regression.CURVES:
        try:
            subject.fits[name] = regression.fit(name, t, S, share)
        except units.InputError as error:
            if name == choice.curve:
                raise JobError([f"cylinders.csv: {error}; choose another curve"]) from None
    subject.fit = subject.fits[choice.curve]


def placed_temperature(job: Job, row: PlacementRow) -> Quantity:
    """Return the temperature as placed: that of the row, else what the mix gives."""
    if row.concrete_temperature:
        return PLACED.one(row.concrete_temperature)
    found = concrete_for(job, PARTIAL).temperature
    if found is None:
        raise JobError(
            [
                f"placements.csv, placement {row.placement}, column concrete temperature: empty, and the mix gives none; state it"
            ]
        )
    return found


def place(job: Job, subject: CuringSubject, row: PlacementRow, arrhenius: Callable[[Any], Any]) -> Placing:
    """Run the heat model for every item of a placing at once."""
    choice = subject.choice
    assert choice
    slab = float(job.head.deck.slab_thickness.m_as("m"))
    if row.names:
        items = [f"patch {name}" for name in row.names]
        depth = [
            float(
                next(run.arguments["h"] for run in job.patch.runs_of(patch.patch_volume) if run.item == item).m_as("m")
            )
            for item in items
        ]
        full = [job.patch.depth_class[name] == FULL for name in row.names]
    else:
        items, depth, full = ["trial slab"], [float(THICKNESS.one(row.thickness).m_as("m"))], [True]
    thickness = np.array(depth)
    total = np.maximum(slab, thickness) if row.names else thickness
    record = [hour for hour in block_of(subject.weather, row.start) if hour.time >= row.start - HOUR]
    times = np.array([(hour.time - row.end).total_seconds() / 3600 for hour in record])
    hours = np.arange(int(np.floor(times[-1] * PER_HOUR + 1e-9)) + 1) / PER_HOUR
    on_grid = lambda values: np.interp(hours, times, values)  # noqa: E731
    wind = on_grid([float(hour.wind.m_as("m/s")) for hour in record])
    absorbed = float(choice.heat.sun_absorbed.m_as(""))
    concrete = placed_temperature(job, row)
    ran = heat.temperatures(
        heat.Build(
            thickness, total, float(choice.heat.conductivity.m_as("W/m/K")),
            float((job.head.deck.unit_weight * choice.heat.specific_heat).m_as("J/m³/K")),
            float(choice.heat.cover.m_as("m²*K/W")),
            np.where(full, float(choice.heat.soffit.m_as("m²*K/W")), 0.0),
        ),
        heat.Air(
            on_grid([celsius(hour.air) for hour in record]), heat.exchange(wind), heat.exchange(0.5 * wind),
            absorbed * on_grid([float(hour.sun.m_as("W/m²")) for hour in record]),
        ),
        3600 / PER_HOUR, celsius(concrete), celsius(row.slab_temperature), subject.source, arrhenius,
        None if subject.rate is arrhenius else subject.rate,
        keep_field=True,
    )  # fmt: skip
    bands = [opening.band(subject.fit, hours, ran.age[:, i] / 3600) for i in range(len(items))]
    readings = history_of(job.file.rows["history"], row)
    measured = None
    if readings:
        assert subject.rate
        since = np.array([(reading.time - row.end).total_seconds() / 3600 for reading in readings])
        age = accumulated(since, subject.rate(np.array([celsius(reading.temperature) for reading in readings])))
        age = age - np.interp(0.0, since, age)  # nothing counts before the end of placing
        measured = opening.band(subject.fit, since, np.maximum(age, 0.0))
    return Placing(row, items, thickness, total, full, concrete, record, hours, ran, bands, measured, readings)
