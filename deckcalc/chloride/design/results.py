"""What is worked out of the chlorides: cores, surveys and zones, each found by its object."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from deckcalc.base.subject import Subject
from deckcalc.chloride.design.forecast_results import Forecasts
from deckcalc.chloride.formulas.profile import ContentAtDepth
from deckcalc.chloride.formulas.survey import CoverStatistics
from deckcalc.chloride.formulas.threshold import Threshold
from deckcalc.chloride.inputs import Inputs
from deckcalc.chloride.inputs.rows import CoreRow, ResistanceRow, SliceRow
from deckcalc.chloride.inputs.zones import Floats, Placed, Zone, xy
from deckcalc.core.calculation import Calculation
from deckcalc.core.units import Quantity
from deckcalc.patch.design import Marked, Patches
from deckcalc.steel.design.results import RatesFound, Steel


@dataclass(frozen=True)
class SliceResult:
    """What a slice says.

    Attributes
    ----------
    row : SliceRow
    item : str
        What its runs are called.
    depth : Quantity
        Middle of the slice.
    content, net, counted : Quantity
        Content, content above background, and the one of both that the threshold counts.
    """

    row: SliceRow
    item: str
    depth: Quantity
    content: Quantity
    net: Quantity
    counted: Quantity


@dataclass
class CoreResult:
    """What a core says.

    Attributes
    ----------
    row : CoreRow
    zone : Zone
    slices : list of SliceResult
        From the top down.
    at_depth : ContentAtDepth or None
        Content at the bar, counted as the threshold counts; None outside the profile.
    reached : bool or None
        Whether the threshold is reached at the bar; None if it cannot be said.
    removal_case : str
        “none” if no slice is above the threshold, “beyond” if the deepest one is, else “between”.
    removal : Quantity or None
        Depth to which concrete above the threshold reaches, in the case “between”.
    """

    row: CoreRow
    zone: Zone
    slices: list[SliceResult] = field(default_factory=list)
    at_depth: ContentAtDepth | None = None
    reached: bool | None = None
    removal_case: str = ""
    removal: Quantity | None = None

    @property
    def name(self) -> str:
        """Its name in cores.csv."""
        return self.row.core

    @property
    def item(self) -> str:
        """What its runs, checks and decisions are called."""
        return f"core {self.name}"

    @property
    def fit_item(self) -> str:
        """What the run of its fit is called."""
        return f"fit of core {self.name}"

    @property
    def at_bar(self) -> Quantity | None:
        """Content at the bar, counted as the threshold counts."""
        return None if self.at_depth is None else self.at_depth.C_x

    @property
    def depths(self) -> list[Quantity]:
        """Middle of each slice."""
        return [one.depth for one in self.slices]

    @property
    def contents(self) -> list[Quantity]:
        """Content of each slice."""
        return [one.content for one in self.slices]

    @property
    def counted(self) -> list[Quantity]:
        """Content of each slice as the threshold counts it."""
        return [one.counted for one in self.slices]


@dataclass(frozen=True, eq=False)
class Potentials:
    """Half-cell potentials.

    Attributes
    ----------
    station, offset : array
        Points, in metres.
    values : array
        Corrected potentials in mV against copper-copper sulfate.
    classes : array of str
    unlikely_above, likely_below : float
        Limits of the classes in mV.
    item : str
        What the run of the most negative reading is called.
    """

    station: Floats
    offset: Floats
    values: Floats
    classes: NDArray[np.str_]
    unlikely_above: float
    likely_below: float
    item: str

    def __len__(self) -> int:
        """Count the points."""
        return len(self.values)

    def inside(self, zone: Zone) -> NDArray[np.bool_]:
        """Say which points lie in a zone."""
        return zone.inside(self.station, self.offset)

    def class_near(self, place: Placed) -> str:
        """Return the class of the potential nearest to a row with station and offset."""
        x, y = xy(place)
        return str(self.classes[int(np.argmin(np.hypot(self.station - x, self.offset - y)))])


@dataclass(frozen=True, eq=False)
class ZoneCover:
    """Cover in a zone.

    Attributes
    ----------
    zone : Zone
    readings : array
        In metres.
    statistics : CoverStatistics
    below : Calculation
        Share below what was asked for, by the distribution that is closer.
    """

    zone: Zone
    readings: Floats
    statistics: CoverStatistics
    below: Calculation

    @property
    def item(self) -> str:
        """What its runs are called."""
        return f"cover, zone {self.zone.name}"


@dataclass(frozen=True)
class ProbeResult:
    """Resistivity at one point, with its class on both scales; `item` is what its run is called."""

    row: ResistanceRow
    item: str
    rho: Quantity
    likelihood: str
    rate: str


@dataclass(frozen=True)
class CoreAction:
    """What is done at a core, by the first rule that fits."""

    core: str
    chloride: str
    potential: str
    sounding: str
    rule: str
    action: str


@dataclass
class SurfaceSurvey:
    """What was surveyed from the surface.

    Attributes
    ----------
    potentials : Potentials or None
    covers : dict of ZoneCover
        By zone.
    probes : list of ProbeResult
    actions : list of CoreAction
        What is done at each core.
    """

    potentials: Potentials | None = None
    covers: dict[str, ZoneCover] = field(default_factory=dict)
    probes: list[ProbeResult] = field(default_factory=list)
    actions: list[CoreAction] = field(default_factory=list)


@dataclass(frozen=True)
class PotentialSummary:
    """Potentials of a zone in mV, and how many lie in each class."""

    count: int
    highest: float
    median: float
    lowest: float
    classes: dict[str, int]


@dataclass(frozen=True)
class Consequence:
    """What a core, a reading or a zone demands of the work.

    Attributes
    ----------
    demand : {"remove", "treat", "protect", "sample again"}
        Remove the concrete round the bar; treat the whole zone, since patching alone is not enough; protect a bar that loses its
        protection within the horizon; take more or deeper samples, since what there is does not tell.
    item : str
        “core C3”, “zone Z3”, “reading K84”.
    zone : Zone
        Where it lies, or what is to be treated.
    why : str
    place : Placed or None
        Row with station and offset; None where it is the whole zone.
    depth : Quantity or None
        Minimum depth of removal, as far as it is known.
    number : int or None
        Samples to take beside those that there are.
    patches : tuple of str
        Patches in the zone, or in or near which the place lies.
    met : str
        Which removal meets it; empty while it is open.
    """

    demand: Literal["remove", "treat", "protect", "sample again"]
    item: str
    zone: Zone
    why: str
    place: Placed | None = None
    depth: Quantity | None = None
    number: int | None = None
    patches: tuple[str, ...] = ()
    met: str = ""


@dataclass
class ZoneCounts:
    """Cores and potentials of a zone, counted.

    Attributes
    ----------
    cores : Quantity or None
        Share of cores with the threshold reached at the bar.
    reached, judged : int
        Cores with the threshold reached, of those of which it can be said.
    interval : tuple of float or None
        Interval of that share.
    off_cracks : int
        Cores off cracks with a content at the bar: those that the mean is of.
    cores_wanted : Quantity or None
        Cores for the mean content at the bars as closely as the job asks.
    cores_to_show : int or None
        Cores in all from which, with no more reached, the interval would stay within the limit of the job; None where it does, or where
        no number shows it.
    few, unsure : str
        Why there are too few cores to judge the zone by them; why their share is not shown to be within the limit.
    over : list of str
        Limits of the job that the zone exceeds, in words: patching alone is not enough.
    potentials : Quantity or None
        Share of potentials in the class likely.
    summary : PotentialSummary or None
    """

    cores: Quantity | None = None
    reached: int = 0
    judged: int = 0
    interval: tuple[float, float] | None = None
    off_cracks: int = 0
    cores_wanted: Quantity | None = None
    cores_to_show: int | None = None
    few: str = ""
    unsure: str = ""
    over: list[str] = field(default_factory=list)
    potentials: Quantity | None = None
    summary: PotentialSummary | None = None

    @property
    def missing(self) -> int:
        """Cores wanted beside those that there are: for the mean content, and for the share of them."""
        mean = 0 if self.cores_wanted is None else round(self.cores_wanted.m_as("")) - self.off_cracks
        share = 0 if self.cores_to_show is None else self.cores_to_show - self.judged
        return max(0, mean, share)


@dataclass(frozen=True)
class BesidePatch:
    """Whether new corrosion is to be expected beside a patch, and what is known of the concrete there."""

    patch: str
    outlook: str
    known: str


@dataclass
class Chlorides(Subject[Inputs]):
    """Chlorides, with all that their sheet shows.

    Attributes
    ----------
    marked : Marked
        The patches as marked.
    patches : Patches or None
        Depths of removal of the patches; None where they could not be computed.
    steel : Steel or None
        Rates found on the bars that were bared; None where they could not be computed.
    threshold : Threshold
    zones : list of Zone
    threshold_content : Quantity
        The threshold per volume of concrete, counted as it counts.
    background : Quantity
    cores : dict of CoreResult
    survey : SurfaceSurvey
    counts : dict of ZoneCounts
        By zone.
    forecast : Forecasts or None
    beside_patches : list of BesidePatch
    consequences : list of Consequence
        What cores, readings and zones demand of the work.
    """

    key: ClassVar = "chloride"
    title: ClassVar = "Chlorides"
    marked: Marked = field(kw_only=True)
    patches: Patches | None = field(kw_only=True, default=None)
    steel: Steel | None = field(kw_only=True, default=None)
    threshold: Threshold = field(init=False)
    zones: list[Zone] = field(default_factory=list)
    threshold_content: Quantity = field(init=False)
    background: Quantity = field(init=False)
    cores: dict[str, CoreResult] = field(default_factory=dict)
    survey: SurfaceSurvey = field(default_factory=SurfaceSurvey)
    counts: dict[str, ZoneCounts] = field(default_factory=dict)
    forecast: Forecasts | None = None
    beside_patches: list[BesidePatch] = field(default_factory=list)
    consequences: list[Consequence] = field(default_factory=list)

    @property
    def rates(self) -> RatesFound | None:
        """Rates found on the bars that were bared; None where none was, or all have the measured current."""
        found = self.steel.rates if self.steel else None
        return found if found and not found.measured else None

    @property
    def all_chloride(self) -> bool:
        """Whether the threshold counts all chloride, background included."""
        return self.inputs.chloride.counts == "all chloride"

    def in_zone(self, zone: Zone) -> list[CoreResult]:
        """Return the cores of a zone."""
        return [core for core in self.cores.values() if core.zone is zone]

    def unsound_areas(self) -> dict[str, tuple[float, float, float, float]]:
        """Return the bounds of the unsound concrete of every patch, in metres: from station, offset, to station, offset."""
        return {one.patch: one.piece.unsound.bounds for one in self.marked.patches}
