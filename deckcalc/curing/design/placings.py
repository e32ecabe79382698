"""Placings of a job: what is placed when, how warm it is, how it dries, and when it is strong enough."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, ClassVar

import numpy as np

from deckcalc.base.subject import Subject
from deckcalc.base.work import PlacementRow
from deckcalc.core.check import Limit
from deckcalc.core.units import Quantity
from deckcalc.curing.design.curves import ConcreteCurve
from deckcalc.curing.formulas import heat, hydration, maturity, opening
from deckcalc.curing.inputs import Curing, Hour, Inputs
from deckcalc.curing.inputs.rows import HistoryRow
from deckcalc.mix.design import Design, Mixes
from deckcalc.patch.design import PatchDesign, Patches


@dataclass(frozen=True)
class DryingHour:
    """Evaporation at one hour of placing, with the spread of the estimate, and the verdict against the limit."""

    air: Hour
    rate: Quantity
    low: Quantity
    high: Quantity
    verdict: str


@dataclass(frozen=True)
class Measure:
    """A measure against drying at the worst hour: what it changes, and the evaporation left (None: not to be had)."""

    name: str
    change: str
    rate: Quantity | None
    verdict: str


@dataclass(frozen=True)
class Drying:
    """Evaporation from the fresh surface while placing.

    Attributes
    ----------
    hours : list of DryingHour
        From start to end of placing.
    worst : DryingHour
    rate : Quantity
        At the worst hour, as written out by hand.
    measures : list of Measure
        Each by itself.
    words : str
        What follows.
    """

    hours: list[DryingHour]
    worst: DryingHour
    rate: Quantity
    measures: list[Measure]
    words: str


@dataclass(frozen=True)
class Reached:
    """When a strength is reached, in hours since the end of placing; None where it is not within the record.

    Attributes
    ----------
    expected, sure : float or None
        By the curve, and by the lower edge of its band, which decides.
    """

    expected: float | None
    sure: float | None

    @classmethod
    def by(cls, band: opening.Band, required: float) -> Reached:
        """Return when a band reaches a strength, in the unit of the band."""
        return cls(*(opening.reached(band.hours, edge, required) for edge in (band.mid, band.low)))


@dataclass
class Placing:
    """One placing: its air by the hour, temperatures and strength of each item, and what follows.

    Attributes
    ----------
    row : PlacementRow
    patches : list of PatchDesign
        In the order of the row; empty where a trial slab is placed.
    thickness : array
        Of each item [m].
    total : array
        Of each item with the slab under it [m].
    full : list of bool
        Whether the item goes through the slab.
    concrete : Quantity
        Temperature as placed.
    air : list
        Hours of weather from the start on.
    hours : array
        Since the end of placing, grid of the heat model.
    temperatures : Temperatures
    bands : list of Band
        By the heat model, one an item.
    measured : Band or None
        By the measured history.
    history : list of HistoryRow
        Its readings.
    drying : Drying
    opens : Reached
        When the strength that opening requires is reached.
    curve : ConcreteCurve or None
        Strength of its concrete; None where it has no cylinders and nobody states an estimate.
    design : Design
        Its concrete.
    moist : Quantity or None
        How long it is kept wet; None for a trial slab.
    """

    row: PlacementRow
    patches: list[PatchDesign]
    thickness: np.ndarray
    total: np.ndarray
    full: list[bool]
    concrete: Quantity
    air: list[Hour]
    hours: np.ndarray
    temperatures: heat.Temperatures
    bands: list[opening.Band]
    measured: opening.Band | None
    history: list[HistoryRow]
    curve: ConcreteCurve | None
    design: Design
    drying: Drying = field(init=False)
    opens: Reached = field(init=False)
    moist: Quantity | None = None

    @property
    def name(self) -> str:
        """Its name in placements.csv."""
        return self.row.placement

    @property
    def item(self) -> str:
        """What its runs and checks are called."""
        return f"placing {self.name}"

    @property
    def heading(self) -> str:
        """The same at the head of a table."""
        return f"Placing {self.name}"

    @property
    def names(self) -> list[str]:
        """Numbers of its patches, or the trial slab."""
        return [one.name for one in self.patches] or ["trial slab"]

    @property
    def items(self) -> list[str]:
        """What its patches are called, or the trial slab."""
        return [one.item for one in self.patches] or ["trial slab"]

    def hour(self, moment: datetime.datetime) -> float:
        """Return hours since the end of placing."""
        return (moment - self.row.end).total_seconds() / 3600

    def moment(self, hour: float) -> datetime.datetime:
        """Return the local time of an hour, to the minute above."""
        return self.row.end + datetime.timedelta(minutes=float(np.ceil(hour * 60 - 1e-6)))

    @property
    def opening_hour(self) -> float:
        """The hour at which the lane is to open."""
        return self.hour(self.row.opening)

    @cached_property
    def slowest(self) -> int:
        """Place of the item that is last to gain strength."""
        return int(np.argmin([band.at(self.opening_hour)[0] for band in self.bands]))

    @property
    def slowest_item(self) -> str:
        """What that item is called."""
        return self.items[self.slowest]

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

    @property
    def source(self) -> str:
        """Where that band comes from."""
        return "measured history" if self.measured else "heat model"

    @property
    def computed(self) -> bool:
        """Whether its time to open rests on cylinders of its concrete."""
        return self.curve is not None and not self.curve.estimated

    @property
    def window(self) -> list[Hour]:
        """Hours of weather from the start to the end of placing, both ends included."""
        return [hour for hour in self.air if self.row.start <= hour.time <= self.row.end] or self.air[:1]


@dataclass(frozen=True)
class Calendar:
    """Which starts of placing work through the year.

    Attributes
    ----------
    placing : Placing
        What is placed.
    hours : int
        From the end of placing to the opening.
    starts : int
        How many were tried.
    shares : array, shape (12, hours of the day)
        Share of starts that work.
    nights : array, shape (12, 4)
        Share of starts at night that work, that are strong enough, that dry slowly enough, that are warm enough.
    """

    placing: Placing
    hours: int
    starts: int
    shares: np.ndarray
    nights: np.ndarray


@dataclass
class Placings(Subject[Inputs]):
    """Placings, found by their names, and the strength that all of them are read from.

    Attributes
    ----------
    patches : Patches
    concretes : Mixes
    each : dict of Placing
        By name.
    curves : dict of ConcreteCurve
        By the name of the concrete.
    unrecorded : dict of PlacementRow
        Placings of the plan that the record of the weather does not reach, by name: nothing is computed of them.
    weather : list
        Hours of the record.
    rate : callable
        Rate of equivalent age by temperature [°C].
    cubes : dict of FromCubes
        By the name of the concrete.
    calendar : Calendar or None
        Kept here when it is first asked for.
    """

    key: ClassVar = "curing"
    title: ClassVar = "Curing and opening"
    patches: Patches = field(kw_only=True)
    concretes: Mixes = field(kw_only=True)
    each: dict[str, Placing] = field(default_factory=dict)
    curves: dict[str, ConcreteCurve] = field(default_factory=dict)
    unrecorded: dict[str, PlacementRow] = field(default_factory=dict)
    weather: list[Hour] = field(default_factory=list)
    rate: Callable[[Any], Any] = field(init=False)
    cubes: dict[str, maturity.FromCubes] = field(default_factory=dict)
    calendar: Calendar | None = None

    def __getitem__(self, name: str) -> Placing:
        """Return a placing by its name."""
        return self.each[name]

    def __iter__(self) -> Iterator[Placing]:
        """Give the placings in order."""
        return iter(self.each.values())

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.each)

    def of_patch(self, name: str) -> Placing | None:
        """Return the placing of a patch, None where there is none."""
        return next((one for one in self if name in one.row.names), None)

    @property
    def choices(self) -> Curing:
        """The section [curing], of a job that has one."""
        assert self.inputs.curing
        return self.inputs.curing

    @property
    def required(self) -> float:
        """Strength that opening requires [MPa]."""
        return float(self.limit("opening_strength").value.m_as("MPa"))

    def heat_source(self, design: Design) -> hydration.HeatSource:
        """Return the heat of hydration of a concrete; none where nobody states it, which keeps the patch cool and its strength low."""
        if design.heat is None:
            return hydration.HeatSource(0.0, 3600.0, 1.0)
        return hydration.heat_source(hydration.cement(design.heat.cement), design.heat.content, design.heat.w_cm)

    def capacity(self, design: Design) -> float:
        """Return the heat capacity of patch and slab per volume, by the fresh concrete of the patch [J/(m³ K)]."""
        return float((design.density * self.choices.heat.specific_heat).m_as("J/m³/K"))

    def little_bleeding(self, design: Design) -> bool:
        """Whether a concrete bleeds so little that its surface dries sooner: by choice, or by silica fume in it."""
        if self.choices.bleeding != "by the mix":
            return self.choices.bleeding == "little"
        return design.bleeds_little

    def evaporation_limit(self, design: Design) -> Limit:
        """Return the limit of evaporation for a concrete that bleeds like this one."""
        return self.limit("evaporation_low_bleed" if self.little_bleeding(design) else "evaporation")
