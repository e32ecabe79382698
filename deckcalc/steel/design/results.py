"""What is worked out for the reinforcement: bar by bar, mat by mat, patch by patch, and for the deck strip."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, NamedTuple

from deckcalc.base.concrete import Concretes
from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.bars import bar_area
from deckcalc.core.check import NOT_COVERED, Limit
from deckcalc.core.units import Length, Quantity
from deckcalc.patch.design import PatchDesign, Patches
from deckcalc.patch.design.location import Location
from deckcalc.steel.formulas.bars import Supplement
from deckcalc.steel.formulas.corrosion_rates import Remaining
from deckcalc.steel.formulas.rating import Rated
from deckcalc.steel.formulas.reliability import Exceedance
from deckcalc.steel.formulas.splices import AddedBar
from deckcalc.steel.formulas.steel_wanted import Missing
from deckcalc.steel.inputs import BarRow, Inputs

ONE_BAR, TWO_BARS = "section loss of one bar", "section loss of two adjacent bars"
MAIN = "top main"
#: What the strip as built is called.
BUILT = "deck strip"
MOMENTS = {"negative": "over the girder", "positive": "in the span"}
#: A bar within the limits is near them where the loss found lies less than so many standard uncertainties below.
NEAR = 2
#: What is said of a check that a place does not ask for.
NOT_ASKED = "not asked"


def mat_item(patch: str, layer: str) -> str:
    """Return what the runs of one layer of a patch are called."""
    return f"{layer} bars of patch {patch}" if patch else f"{layer} bars"


class Rule(NamedTuple):
    """A limit of lost section, and the action that its source asks for."""

    limit: Limit
    action: str


@dataclass
class BarDesign:
    """What is worked out for one measured bar.

    Attributes
    ----------
    row : BarRow
        The bar as measured.
    section : SectionLoss
        Loss by the readings.
    loss : Quantity
        The loss that governs.
    governs : str
        How that loss was measured.
    over : bool
        Whether its own loss is above the limit of one bar.
    why : str
        Why it is supplemented; empty if it is not.
    exceedance : Exceedance or None
        Probability that the limit is exceeded.
    years : Remaining or None
        Years until the limit is reached.
    size : str
        Size of the bars that are added beside it.
    supplement : Supplement or None
        How many bars are added, and their area.
    lap : Quantity or None
        Lap of an added bar at each end, in concrete of `lap_strength`.
    lap_strength : Quantity or None
        Strength of the concrete for which the lap is made: that at which the lane opens, or the specified one if lower.
    lap_specified : Quantity or None
        Lap at the specified strength, for comparison.
    rate : Quantity or None
        Rate of corrosion that the years are calculated with.
    patch_length : Quantity or None
        Length of the marked patch along the bar.
    added : AddedBar or None
        Length of an added bar and what it needs of the patch, where the length of the loss was measured.
    cut : Quantity or None
        Length to which an added bar is cut.
    items : list of str
        What its runs are called.
    location : Location or None
        Where on the deck it was measured; None where bars.csv gives no place.
    """

    row: BarRow
    section: Any
    loss: Quantity
    governs: str
    over: bool = False
    why: str = ""
    exceedance: Exceedance | None = None
    years: Remaining | None = None
    size: str = ""
    supplement: Supplement | None = None
    lap: Quantity | None = None
    lap_strength: Quantity | None = None
    lap_specified: Quantity | None = None
    rate: Quantity | None = None
    patch_length: Quantity | None = None
    added: AddedBar | None = None
    cut: Quantity | None = None
    items: list[str] = field(default_factory=list)
    location: Location | None = None

    @property
    def name(self) -> str:
        """Its name in bars.csv."""
        return self.row.bar

    @property
    def item(self) -> str:
        """What its own runs are called."""
        return f"bar {self.name}"

    @property
    def main(self) -> bool:
        """Whether it runs across traffic."""
        return self.row.layer.endswith("main")

    def added_words(self, system: units.System) -> str:
        """Say what is added beside it: “1 bar #4 beside B3, cut to 930 mm”."""
        assert self.supplement is not None and self.cut is not None
        count = int(self.supplement.n.magnitude)
        return f"{count} bar{'' if count == 1 else 's'} {self.size} beside {self.name}, cut to {units.show(self.cut, Length, system)}"

    @property
    def near(self) -> bool:
        """Whether the limit of one bar is near, seen by the uncertainty of a reading."""
        return self.exceedance is not None and float(self.exceedance.z.m_as("")) > -NEAR


@dataclass(frozen=True)
class Growth:
    """By how much a patch must grow over what is marked for the laps of added bars, in all.

    Attributes
    ----------
    along, across : Quantity or None
        In the direction of traffic and across it; None where the laps have room.
    """

    along: Quantity | None = None
    across: Quantity | None = None

    def with_lap(self, main: bool, length: Quantity) -> Growth:
        """Return the growth that one more bar asks for: main bars lie across traffic, distribution bars along it."""
        known = self.across if main else self.along
        most = length if known is None else max(known, length)
        return replace(self, across=most) if main else replace(self, along=most)

    def words(self, system: str) -> str:
        """Say it, rounded up: “along traffic by 90 mm and across traffic by 241 mm”."""
        sides = ("along traffic", self.along), ("across traffic", self.across)
        return " and ".join(
            f"{side} by {units.show_at_least(length, Length, system)}" for side, length in sides if length is not None
        )


@dataclass(frozen=True)
class State:
    """Strength of the strip in one state.

    Attributes
    ----------
    patch : PatchDesign or None
        The patch that it is at; None for the strip as built.
    state : str
        As built, as found, open or repaired.
    sign : str
        Negative: over the girder; positive: in the span.
    section : dict
        The section whose strength it is.
    strength : Quantity
        Its moment per width.
    rated : Rated
        Against the demand.
    sufficient : bool
        Whether the strength reaches the limit of capacity to demand.
    """

    patch: PatchDesign | None
    state: str
    sign: str
    section: Mapping[str, Any]
    strength: Quantity
    rated: Rated
    sufficient: bool

    @property
    def where(self) -> str:
        """The deck strip or a patch, in words."""
        return self.patch.item if self.patch else BUILT

    @property
    def moment(self) -> str:
        """Over the girder or in the span."""
        return MOMENTS[self.sign]


@dataclass(frozen=True)
class Reach:
    """How far the strip reaches at a patch, and what came of it; each verdict in words.

    Attributes
    ----------
    beyond : str
        Why no strip reaches it; empty where one does.
    over, in_span, own_weight, beside : str
        Verdict over the girder as repaired, or as found where nothing is added; of the open patch under wheels, and under dead and
        construction load alone; of the slab beside it.
    bars_help : bool
        Whether the strength over the girder is short as found and enough with the added bars.
    """

    beyond: str = ""
    over: str = NOT_COVERED
    in_span: str = NOT_COVERED
    own_weight: str = NOT_COVERED
    beside: str = NOT_COVERED
    bars_help: bool = False


@dataclass(frozen=True)
class SteelWanted:
    """Steel over the girder that the demand wants at a patch, against what is left."""

    patch: PatchDesign
    moment: Quantity
    wanted: Quantity
    left: Quantity
    missing: Missing


@dataclass(frozen=True)
class RatesFound:
    """Rates at which the bars were found to have lost their radius: minimum, mean, maximum, and the current that it is worth."""

    least: Quantity
    mean: Quantity
    greatest: Quantity
    current: Quantity
    measured: bool


@dataclass
class Steel(Subject[Inputs]):
    """Reinforcement; bars are found by their names.

    Attributes
    ----------
    patches : Patches
        The patches in which bars lie.
    concretes : Concretes
        Which concrete each patch takes.
    opening : dict of Quantity
        By patch: strength of its concrete when the lane opens; the limit of the job where a patch has none.
    rules : dict of Rule
        By scope (single, adjacent, mat).
    each : dict of BarDesign
        By bar.
    mat : dict of Quantity
        By patch and layer: mean loss.
    growth : dict of Growth
        By patch that must grow.
    states : list of State
        Strength of the deck strip, state by state.
    reach : dict of Reach
        By patch: how far the strip reaches, and what came of it.
    live_load : str
        Where its live-load moments come from.
    wanted : list of SteelWanted
        By patch with measured main bars: steel over the girder for the demand.
    rates : RatesFound or None
        Rates of corrosion of the bars, where one is known.
    """

    key: ClassVar = "steel"
    title: ClassVar = "Reinforcement"
    patches: Patches = field(kw_only=True)
    concretes: Concretes = field(kw_only=True)
    opening: Mapping[str, Quantity] = field(kw_only=True, default_factory=dict)
    rules: dict[str, Rule] = field(default_factory=dict)
    each: dict[str, BarDesign] = field(default_factory=dict)
    mat: dict[tuple[str, str], Quantity] = field(default_factory=dict)
    growth: dict[str, Growth] = field(default_factory=dict)
    states: list[State] = field(default_factory=list)
    reach: dict[str, Reach] = field(default_factory=dict)
    live_load: str = ""
    wanted: list[SteelWanted] = field(default_factory=list)
    rates: RatesFound | None = None

    def __getitem__(self, name: str) -> BarDesign:
        """Return a bar by its name."""
        return self.each[name]

    def __iter__(self) -> Iterator[BarDesign]:
        """Give the bars in the order in which they were measured."""
        return iter(self.each.values())

    def bars_in(self, patch: str) -> list[BarDesign]:
        """Return the measured bars of a patch."""
        return [bar for bar in self if bar.row.patch == patch]

    @property
    def flagged(self) -> dict[str, str]:
        """By bar that is supplemented: why."""
        return {bar.name: bar.why for bar in self if bar.why}

    @property
    def bar_lengths(self) -> dict[str, Quantity]:
        """By bar: length of each bar that is added beside it."""
        return {bar.name: bar.added.L_bar for bar in self if bar.added is not None}

    @property
    def worst(self) -> BarDesign:
        """The bar with the maximum loss."""
        return max(self, key=lambda bar: bar.loss)

    def opening_strength(self, patch: str) -> Quantity:
        """Return the strength of the concrete of a patch when the lane opens."""
        found = self.opening.get(patch)
        return self.limit("opening_strength").value if found is None else found

    @property
    def code(self) -> str:
        """The code of the strip with its edition; empty where there is no strip."""
        strip = self.inputs.deck_strip
        if strip is None:
            return ""
        return f"AASHTO LRFD {strip.edition}" if strip.code == "AASHTO LRFD" else strip.code

    @property
    def form(self) -> str:
        """The form of the standard's equations: hard metric in an SI job."""
        return "US" if self.system == "US" else "SI 1/1.1"

    def sound_area(self, size: str) -> Quantity:
        """Return the sound area of a bar by the job's choice."""
        how = self.inputs.reinforcement
        return bar_area(size, how.area_basis if how else "nominal")
