"""What is worked out of a closure: timetables, loads, containers, tools, trucks, cost."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import ClassVar, NamedTuple

from deckcalc.base.subject import Subject
from deckcalc.base.work import WorkPlan
from deckcalc.closure.formulas.cost import Carbon, Cost, UnitCost
from deckcalc.closure.formulas.critical_path import Network, Spread, Step, Times
from deckcalc.closure.formulas.durations import InTime, PlacingTime, share_to_keep
from deckcalc.closure.formulas.loads import TruckLoads
from deckcalc.closure.inputs import Alternative, Closure, Inputs, PriceRow, RateRow, ToolRow
from deckcalc.core.check import Limit
from deckcalc.core.clock import WEEKDAYS
from deckcalc.core.units import Quantity
from deckcalc.curing.design import Placings
from deckcalc.formwork.design import Forms
from deckcalc.mix.design import Mixes
from deckcalc.patch.design import Patches
from deckcalc.steel.design import Steel

DEBRIS = "concrete debris to haul away"
DAY = 24 * 60
CONCRETE = "concrete to mix, waste included"
#: What is printed of a step that would have to begin before the closing.
NOT_IN_TIME = "not on time"
#: What a wait for strength rests on: a strength-maturity curve of that concrete, or somebody's estimate.
CURVE, ESTIMATE = "curve", "estimate"
#: What is made of other lines of the list, or goes the other way: no part of the mass to be carried to the bridge.
NOT_CARRIED = (DEBRIS, CONCRETE)


class Amount(NamedTuple):
    """How much of a material, and in which unit."""

    number: float
    unit: str


#: Amounts by material.
Loads = dict[str, Amount]


def summed(parts: Iterable[Loads]) -> Loads:
    """Return the sum of several lists."""
    found: Loads = {}
    for part in parts:
        for material, (number, unit) in part.items():
            before = found[material].number if material in found else 0.0
            found[material] = Amount(before + number, unit)
    return found


@dataclass(frozen=True)
class Trades:
    """Results of the other trades that a closure is planned from.

    Attributes
    ----------
    patches : Patches
    mix : Mixes
    steel : Steel or None
        None where no bar was measured.
    formwork : Forms or None
        None where the job designs no form.
    curing : Placings or None
        None where the wait for strength does not come from it.
    """

    patches: Patches
    mix: Mixes
    steel: Steel | None
    formwork: Forms | None
    curing: Placings | None


@dataclass(frozen=True)
class LatestStart:
    """The last hour at which a step may begin, and what is done if it cannot.

    Attributes
    ----------
    step : Step
    work : str
    planned : datetime
        Earliest start by the timetable.
    by_likely : datetime
        Latest start for the opening, by likely durations.
    fallback : str
    decisive : datetime
        The earlier of that and the latest start with which it still opens in time with the chance that is wanted.
    """

    step: Step
    work: str
    planned: datetime.datetime
    by_likely: datetime.datetime
    fallback: str
    decisive: datetime.datetime


@dataclass(frozen=True)
class Timetable:
    """A closure over some patches; times in minutes from the closing.

    Attributes
    ----------
    name : str
    patches : tuple of str
    closing : datetime
        Local time.
    length : float
        From closing to opening [min].
    work : WorkPlan
        Whose clock it is printed by.
    network : Network
    times : Times
    spread : Spread
    in_time : InTime
        Probability of opening on time, with its error of sampling.
    apart, together : InTime
        The same for steps that have nothing in common, and everything.
    latest_starts : list of LatestStart
        Of the steps for which the job says what is done if they are missed.
    last_start : tuple of float
        Of every step: begun later, it does not open in time with the chance that is wanted [min].
    end : float
        End that is kept with the chance that is wanted.
    """

    name: str
    patches: tuple[str, ...]
    closing: datetime.datetime
    length: float
    work: WorkPlan
    network: Network
    times: Times
    spread: Spread
    in_time: InTime
    apart: InTime
    together: InTime
    latest_starts: list[LatestStart]
    last_start: tuple[float, ...]
    end: float

    def moment(self, minutes: float) -> datetime.datetime:
        """Return the hour of so many minutes after the closing, to the minute below (a limit is kept)."""
        return self.work.after(self.closing, minutes)

    def printed(self, moment: datetime.datetime) -> str:
        """Print a moment of this closure, with the date where it is longer than a day."""
        return (f"{moment:%m-%d} " if self.length > DAY else "") + self.work.hour(moment)

    def hour(self, minutes: float) -> str:
        """Print the hour of so many minutes after the closing."""
        return self.printed(self.moment(minutes))

    def in_words(self, minutes: float) -> str:
        """Print weekday, date and hour of so many minutes after the closing."""
        return self.work.in_words(self.moment(minutes))

    def begin_by(self, minutes: float) -> str:
        """Print by when a step must have begun, by weekday and hour where the closure is longer than a day; before it is too late."""
        if minutes < -1e-6:
            return NOT_IN_TIME
        if self.length <= DAY:
            return self.hour(minutes)
        moment = self.moment(minutes)
        return (
            f"{WEEKDAYS[moment.weekday()]} {self.work.hour(moment)}"
            if self.length < 6 * DAY
            else self.in_words(minutes)
        )

    def busy(self, crew: str) -> float:
        """Return how long a crew or plant is at work [min]."""
        return sum(step.likely for step in self.network.steps if crew in step.uses)

    def spent(self, activity: str) -> float:
        """Return the likely time of one activity at all patches [min]."""
        return sum(step.likely for step in self.network.steps if step.activity == activity)

    @property
    def in_order(self) -> list[int]:
        """Places of the steps in the order of their starts."""
        return sorted(range(len(self.network.steps)), key=lambda i: (self.times.start[i], self.network.steps[i].rank))

    @property
    def often_critical(self) -> list[tuple[float, Step]]:
        """Steps with the share of samples in which they are critical, the most often first."""
        pairs = zip(self.spread.critical, self.network.steps, strict=True)
        return sorted(pairs, key=lambda pair: (-pair[0], pair[1].rank))


@dataclass(frozen=True)
class PlacingDesign:
    """Batching and placing of one patch.

    Attributes
    ----------
    patch : str
    loads : int
        Of the mixer.
    times : PlacingTime
        Result of `closure.placing_time`.
    cold_joint : bool
        Whether a load follows the one before it too late.
    """

    patch: str
    loads: int
    times: PlacingTime
    cold_joint: bool

    @property
    def governs(self) -> str:
        """The slower of mixer and crew."""
        return "mixer" if self.times.t_m > self.times.t_p else "crew"


@dataclass(frozen=True)
class StockLine:
    """One material of the job.

    Attributes
    ----------
    material : str
    amount : Amount
        Without spare.
    container : str
        What it comes in; empty if it is loose.
    contents : Quantity or None
        Of one container.
    number : int
        Containers of the job, spare included; 0 if it is loose. Of what does not keep once opened, the sum of the nights'.
    by_night : dict of int
        Containers by name of the night, spare included.
    source : str
    keeps : bool
        Whether it keeps for the next night once it is opened.
    """

    material: str
    amount: Amount
    container: str = ""
    contents: Quantity | None = None
    number: int = 0
    by_night: dict[str, int] = field(default_factory=dict)
    source: str = ""
    keeps: bool = True


@dataclass(frozen=True)
class ToolDesign:
    """One line of the equipment list.

    Attributes
    ----------
    row : ToolRow
    limit, value : Limit, Quantity or None
        The limit that it must keep, and its own value.
    hours : float
        At work in all closures.
    fuel : Quantity or None
        Burnt in all closures.
    """

    row: ToolRow
    limit: Limit | None = None
    value: Quantity | None = None
    hours: float = 0.0
    fuel: Quantity | None = None


@dataclass(frozen=True)
class TruckDesign:
    """What trucks carry on one night, to the bridge or away: its item, its mass and the result of `closure.truck_loads`."""

    item: str
    mass: Quantity
    loads: TruckLoads


@dataclass(frozen=True)
class CostLine:
    """A price and the amount that it counts, in the unit of the price."""

    price: PriceRow
    amount: float

    @property
    def cost(self) -> tuple[float, float, float]:
        """Minimum, likely and maximum cost."""
        return self.amount * self.price.least, self.amount * self.price.likely, self.amount * self.price.most


@dataclass(frozen=True)
class CostEstimate:
    """Cost of one way to do the patches of the plan.

    Attributes
    ----------
    item : str
    alternative : Alternative
    closures : int
    hours : float
        All closures together.
    lines : list of CostLine
        Empty where no price counts; then there is no cost.
    cost, unit_cost : Cost, UnitCost or None
    low, high : float
        Between what nine of ten samples of the prices lie.
    cheapest : float
        Share of the samples in which it is the cheapest of the alternatives.
    """

    item: str
    alternative: Alternative
    closures: int
    hours: float
    lines: list[CostLine]
    cost: Cost | None = None
    unit_cost: UnitCost | None = None
    low: float = 0.0
    high: float = 0.0
    cheapest: float = 0.0


@dataclass
class ClosurePlan(Subject[Inputs]):
    """The closure as planned.

    Attributes
    ----------
    given : Trades or None
        What it is planned from; None where the job plans no closure.
    rates : dict of RateRow
        By step of the work.
    placing : dict of PlacingDesign
        By patch.
    durations : dict of tuple of float
        Minimum, likely and maximum minutes of every step of rates.csv at every patch.
    closures : list of Timetable
        Of the closures of the adopted plan.
    proposal : list of Timetable
        Where no plan is adopted: all patches of the job spread over nights.
    evidence : dict of str
        By patch: what its wait for strength rests on, `CURVE` or `ESTIMATE`.
    loads : dict of Loads
        By patch.
    of_closure : dict of Loads
        By closure: what it takes whatever its patches.
    stock : list of StockLine
        Every material of the job.
    tools : list of ToolDesign
    trucks : list of TruckDesign
    estimate : CostEstimate or None
        Of the plan.
    alternatives : list of CostEstimate
        Of the same patches; the first is that of the plan.
    carbon : Carbon or None
        Result of `closure.embodied_carbon`, where the job gives factors.
    noise_dose : Quantity or None
        Of one worker who stays at each noisy step; see `deckcalc.safety.design.noise`.
    """

    key: ClassVar = "closure"
    title: ClassVar = "Closure"
    given: Trades | None = field(default=None, kw_only=True)
    rates: dict[str, RateRow] = field(default_factory=dict)
    placing: dict[str, PlacingDesign] = field(default_factory=dict)
    durations: dict[tuple[str, str], tuple[float, float, float]] = field(default_factory=dict)
    closures: list[Timetable] = field(default_factory=list)
    proposal: list[Timetable] = field(default_factory=list)
    evidence: dict[str, str] = field(default_factory=dict)
    loads: dict[str, Loads] = field(default_factory=dict)
    of_closure: dict[str, Loads] = field(default_factory=dict)
    stock: list[StockLine] = field(default_factory=list)
    tools: list[ToolDesign] = field(default_factory=list)
    trucks: list[TruckDesign] = field(default_factory=list)
    estimate: CostEstimate | None = None
    alternatives: list[CostEstimate] = field(default_factory=list)
    carbon: Carbon | None = None
    noise_dose: Quantity | None = None

    @property
    def section(self) -> Closure:
        """What the job asks for; only where it plans a closure."""
        assert self.inputs.closure
        return self.inputs.closure

    @property
    def trades(self) -> Trades:
        """What it is planned from; only where the job plans a closure."""
        assert self.given
        return self.given

    @property
    def planned(self) -> list[Timetable]:
        """The closures of the adopted plan; where there is none, the nights that are proposed."""
        return self.closures or self.proposal

    def closure_of(self, patch: str) -> Timetable | None:
        """Return the closure of a patch, None where the plan has none."""
        return next((one for one in self.closures if patch in one.patches), None)

    @property
    def minutes(self) -> float:
        """Of all closures together."""
        return sum(one.length for one in self.planned)

    @property
    def planned_alternative(self) -> str:
        """Name of the alternative that is planned."""
        return self.section.alternatives[0].name if self.section.alternatives else "all"

    @property
    def share_wanted(self) -> float:
        """Minimum probability of opening on time."""
        return float(self.limit("open_in_time").value.m_as(""))

    @property
    def share_kept(self) -> float:
        """Share of the samples that must be in time, so that the chance is shown in spite of the error of sampling."""
        return share_to_keep(self.share_wanted, self.section.samples)

    @property
    def common(self) -> float:
        """What the steps of a night have in common."""
        return float(self.section.common.m_as(""))

    def with_spare(self, material: str, amount: Amount) -> float:
        """Return an amount with its spare; pieces, and what is not carried to the bridge, have none."""
        spared = bool(amount.unit) and material not in NOT_CARRIED
        return amount.number * (1 + float(self.section.spare.m_as(""))) if spared else amount.number

    def loads_of(self, night: Timetable) -> Loads:
        """Return what one night takes."""
        return summed([*(self.loads[name] for name in night.patches), self.of_closure[night.name]])
