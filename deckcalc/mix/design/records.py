"""Records of the concretes: a design for each mix, the mixer loads of each patch, and the subject made of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import ClassVar, Literal

from deckcalc.base.subject import Subject
from deckcalc.core.units import Quantity
from deckcalc.mix.design.assessments import (
    Alternatives,
    BatchUncertainty,
    EarlyStrength,
    MortarBags,
    SieveAnalysis,
    StrengthRatio,
)
from deckcalc.mix.formulas.batching import Batch
from deckcalc.mix.formulas.contents import ContentsYield
from deckcalc.mix.formulas.makers_curve import MakersCurve
from deckcalc.mix.formulas.mixer import MixerWater
from deckcalc.mix.formulas.volumes import Proportions
from deckcalc.mix.inputs import AggregateRow, Concrete, GivenConcrete, Inputs
from deckcalc.patch.design import Patches

Use = Literal["coarse", "fine"]


@dataclass
class MixDesign:
    """One concrete of the job: its proportions, and the masses as batched.

    Attributes
    ----------
    name : str
        The depth class of the patches that take it.
    concrete : Concrete
        As the job asks for it.
    coarse, fine : AggregateRow
    patches : list of str
        Numbers of the patches that take it.
    order_volume : Quantity or None
        Concrete to order of this mix, waste included; None if no patch takes it.
    w_cm, w_cm_most, w_cm_exposure : Quantity
        Ratio of the mix, the greatest that strength and exposure admit, and that by exposure alone.
    by_strength : StrengthRatio or None
        Its place in the table of strength; None where the engineer states the ratio.
    air : Quantity
    proportions : Proportions
        Result of `mix.proportions`: the mix as designed.
    masses : dict of Quantity
        Per volume of concrete: water (mixing water), cement, fly ash, slag cement, silica fume, coarse and fine
        (oven-dry).
    volumes : dict of Quantity
        Absolute volumes, shares of the concrete.
    cementitious : Quantity
        All cementitious material per volume of concrete.
    adjusted : bool
        Whether the masses are those of the adjusted mix after its trial batch.
    moist : dict of Quantity
        Per volume of concrete as batched: water (to add), coarse and fine.
    doses : dict of Quantity
        Of the admixtures, by volume.
    moisture, dry_density, saturated_density : dict of Quantity
        Total moisture and relative densities of coarse and fine.
    blend_density : Quantity
        Relative density of the cementitious material.
    density : Quantity
        Of the fresh concrete, by its materials.
    temperature : Quantity or None
        Of the fresh concrete.
    early_strength : list of EarlyStrength
    uncertainty : BatchUncertainty or None
        None where the job does not state the accuracy of moistures and air.
    alternatives : Alternatives or None
        None where the job gives no prices and emission factors, or no proportions satisfy the demands.
    """

    name: str
    concrete: Concrete
    coarse: AggregateRow
    fine: AggregateRow
    patches: list[str]
    order_volume: Quantity | None = None
    w_cm: Quantity = field(init=False)
    w_cm_most: Quantity = field(init=False)
    w_cm_exposure: Quantity = field(init=False)
    by_strength: StrengthRatio | None = None
    air: Quantity = field(init=False)
    proportions: Proportions = field(init=False)
    masses: dict[str, Quantity] = field(default_factory=dict)
    volumes: dict[str, Quantity] = field(default_factory=dict)
    cementitious: Quantity = field(init=False)
    adjusted: bool = False
    moist: dict[str, Quantity] = field(default_factory=dict)
    doses: dict[str, Quantity] = field(default_factory=dict)
    moisture: dict[str, Quantity] = field(default_factory=dict)
    dry_density: dict[str, Quantity] = field(default_factory=dict)
    saturated_density: dict[str, Quantity] = field(default_factory=dict)
    blend_density: Quantity = field(init=False)
    density: Quantity = field(init=False)
    temperature: Quantity | None = None
    early_strength: list[EarlyStrength] = field(default_factory=list)
    uncertainty: BatchUncertainty | None = None
    alternatives: Alternatives | None = None

    @property
    def strength(self) -> Quantity:
        """Specified strength at 28 days."""
        return self.concrete.strength

    @property
    def slump(self) -> Quantity:
        """Slump at placing."""
        return self.concrete.slump

    @property
    def cement_type(self) -> str:
        """I or III."""
        return self.concrete.cement

    def aggregate(self, use: Use) -> AggregateRow:
        """Return its coarse or its fine aggregate."""
        return self.coarse if use == "coarse" else self.fine

    # what its runs are called
    @property
    def item(self) -> str:
        """The proportions."""
        return f"{self.name} mix"

    @property
    def ratio_item(self) -> str:
        """A ratio that the engineer states."""
        return f"ratio, {self.item}"

    @property
    def trial_item(self) -> str:
        """The trial batch."""
        return f"trial batch, {self.item}"

    @property
    def adjusted_item(self) -> str:
        """The cementitious material after the trial batch."""
        return f"adjusted {self.item}"

    @property
    def batch_item(self) -> str:
        """The masses as batched."""
        return f"batch, {self.item}"

    @property
    def temperature_item(self) -> str:
        """The temperature of the fresh concrete."""
        return f"temperature, {self.item}"

    @property
    def order_item(self) -> str:
        """What is ordered for all of its patches."""
        return f"order, {self.item}"

    @property
    def alternatives_item(self) -> str:
        """Other proportions."""
        return f"other proportions, {self.item}"

    def material_item(self, name: str) -> str:
        """An aggregate or an admixture in this mix."""
        return f"{name}, {self.item}"


@dataclass(frozen=True)
class Weight:
    """One line of a batch card.

    Attributes
    ----------
    material : str
    mass, low, high : Quantity or None
        Wanted, least and greatest reading of the scale; None of a liquid that is measured by volume.
    boxes : Quantity or None
        Level gauge boxes, where there is no scale.
    volume : Quantity or None
        Of a liquid that is measured by volume.
    """

    material: str
    mass: Quantity | None = None
    low: Quantity | None = None
    high: Quantity | None = None
    boxes: Quantity | None = None
    volume: Quantity | None = None


@dataclass(frozen=True)
class MixerLoads:
    """The mixer loads of one patch, all alike.

    Attributes
    ----------
    patch : str
    mix : MixDesign
    count : int
    volume : Quantity
        Of each load.
    batch : Batch
        Result of `mix.batch_for_volume` for a load.
    bags : float
        Bags of cement that a load takes, not rounded.
    weights : list of Weight
        In the order of charging: coarse, cementitious, fine, admixtures; the water stands by itself.
    water : MixerWater
        Result of `mix.mixer_water`.
    water_limits : tuple of Quantity
        Least and greatest reading for all of the water.
    ice : Quantity
        Ice, part of the water.
    """

    patch: str
    mix: MixDesign
    count: int
    volume: Quantity
    batch: Batch
    bags: float
    weights: list[Weight]
    water: MixerWater
    water_limits: tuple[Quantity, Quantity]
    ice: Quantity


@dataclass(frozen=True)
class GivenDesign:
    """A concrete that the job gives by its contents.

    Attributes
    ----------
    name : str
        As the job calls it.
    item : str
        What its runs and checks are called.
    given : GivenConcrete
        As the job gives it.
    found : ContentsYield
        Result of `mix.contents_yield`.
    """

    name: str
    item: str
    given: GivenConcrete
    found: ContentsYield


@dataclass
class Mixes(Subject[Inputs]):
    """The concretes of the job, found by depth class, and their batches.

    Attributes
    ----------
    patches : Patches
    each : dict of MixDesign
        By depth class.
    gradings : dict of SieveAnalysis
        By aggregate.
    loads : dict of MixerLoads
        What goes into the mixer, by patch.
    mortar : dict of MortarBags
        The prepackaged alternative, by patch.
    makers_curve : MakersCurve or None
        Strength of the mortar by age, by its maker; None where he states none.
    makers_time : Quantity or None
        Age at which it has the opening strength by that table; None where the table does not hold it.
    given : dict of GivenDesign
        Concretes that are given by their contents, by name.
    """

    key: ClassVar = "mix"
    title: ClassVar = "Mix and batch"
    patches: Patches = field(kw_only=True)
    each: dict[str, MixDesign] = field(default_factory=dict)
    gradings: dict[str, SieveAnalysis] = field(default_factory=dict)
    loads: dict[str, MixerLoads] = field(default_factory=dict)
    mortar: dict[str, MortarBags] = field(default_factory=dict)
    makers_curve: MakersCurve | None = None
    makers_time: Quantity | None = None
    given: dict[str, GivenDesign] = field(default_factory=dict)

    def __getitem__(self, depth_class: str) -> MixDesign:
        """Return the mix of a depth class."""
        return self.each[depth_class]

    def __iter__(self) -> Iterator[MixDesign]:
        """Give the mixes in order."""
        return iter(self.each.values())

    def for_depth(self, depth_class: str) -> MixDesign:
        """Return the mix of a depth class, or the only one that there is."""
        return self.each.get(depth_class) or next(iter(self))

    @property
    def load_count(self) -> int:
        """Mixer loads of all patches together."""
        return sum(one.count for one in self.loads.values())

    @property
    def alternatives(self) -> Sequence[tuple[MixDesign, Alternatives]]:
        """The mixes that have admissible alternatives."""
        return [(one, one.alternatives) for one in self if one.alternatives]
