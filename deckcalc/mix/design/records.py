"""Records of the concretes: a design for each, the mixer batches of each patch, and the subject made of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import ClassVar, Literal, NamedTuple

from deckcalc.base.concrete import PlacedConcrete
from deckcalc.base.fields import JobError
from deckcalc.base.subject import Subject
from deckcalc.base.work import PlacementRow
from deckcalc.core.check import Limit
from deckcalc.core.units import Quantity
from deckcalc.mix.design.assessments import (
    Alternatives,
    BatchUncertainty,
    EarlyStrength,
    SieveAnalysis,
    StrengthRatio,
)
from deckcalc.mix.formulas.batching import BagsOpened, Batch
from deckcalc.mix.formulas.contents import ContentsYield
from deckcalc.mix.formulas.makers_curve import MakersCurve
from deckcalc.mix.formulas.mixer import MixerWater
from deckcalc.mix.formulas.mortar import Mortar
from deckcalc.mix.formulas.volumes import Proportions
from deckcalc.mix.inputs import AggregateRow, AnyConcrete, Concrete, GivenConcrete, Inputs, Prepackaged
from deckcalc.patch.design import Patches

Use = Literal["coarse", "fine"]


class Heat(NamedTuple):
    """What the heat of a concrete follows from: type of cement, cementitious material per volume, ratio."""

    cement: str
    content: Quantity
    w_cm: Quantity


@dataclass
class Design:
    """One concrete of the job, however it is made.

    Attributes
    ----------
    name : str
        As the job calls it.
    concrete : AnyConcrete
        As the job asks for it.
    nominal_size : Quantity
        Of its coarse aggregate.
    patches : list of str
        Numbers of the patches that take it.
    order_volume : Quantity or None
        Concrete to order of it, waste included; None if no patch takes it.
    density : Quantity
        Of the fresh concrete, by its materials.
    temperature : Quantity or None
        Of the fresh concrete as mixed.
    """

    name: str
    concrete: AnyConcrete
    nominal_size: Quantity
    patches: list[str]
    order_volume: Quantity | None = field(default=None, init=False)
    density: Quantity = field(init=False)
    temperature: Quantity | None = field(default=None, init=False)

    @property
    def kind(self) -> str:
        """How it is made."""
        return self.concrete.kind

    @property
    def strength(self) -> Quantity:
        """Specified strength at 28 days."""
        return self.concrete.strength

    @property
    def slump(self) -> Quantity | None:
        """Slump at placing, where one is stated."""
        return None

    @property
    def heat(self) -> Heat | None:
        """What its heat follows from; None where nobody says."""
        return None

    @property
    def placed(self) -> PlacedConcrete:
        """What other subjects may know of it: nothing but its name here."""
        return PlacedConcrete(self.name, tuple(self.patches), None, {}, False)

    @property
    def makers_curve(self) -> MakersCurve | None:
        """Strength by age by its manufacturer."""
        return None

    @property
    def bleeds_little(self) -> bool:
        """Whether it bleeds so little that its surface dries sooner."""
        return False

    @property
    def item(self) -> str:
        """What the runs of its proportions are called."""
        return f"concrete {self.name}"

    @property
    def temperature_item(self) -> str:
        """The temperature of the fresh concrete."""
        return f"temperature, {self.item}"

    @property
    def order_item(self) -> str:
        """What is ordered for all of its patches."""
        return f"order, {self.item}"


@dataclass
class MixDesign(Design):
    """A concrete that is proportioned here: its proportions, and the masses as batched.

    Attributes
    ----------
    coarse, fine : AggregateRow
    w_cm, w_cm_most, w_cm_exposure : Quantity
        Ratio of the mix, the maximum that strength and exposure admit, and that by exposure alone.
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
    early_strength : list of EarlyStrength
    uncertainty : BatchUncertainty or None
        None where the job does not state the accuracy of moistures and air.
    alternatives : Alternatives or None
        None where the job gives no prices and emission factors, or no proportions satisfy the demands.
    """

    concrete: Concrete
    coarse: AggregateRow = field(kw_only=True)
    fine: AggregateRow = field(kw_only=True)
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
    early_strength: list[EarlyStrength] = field(default_factory=list)
    uncertainty: BatchUncertainty | None = None
    alternatives: Alternatives | None = None

    @property
    def slump(self) -> Quantity:
        """Slump at placing."""
        return self.concrete.slump

    @property
    def heat(self) -> Heat:
        """What its heat follows from."""
        return Heat(self.cement_type, self.cementitious, self.w_cm)

    @property
    def placed(self) -> PlacedConcrete:
        """Its ratio and its binder."""
        names = ("fly ash", "slag cement", "silica fume")
        shares = {name: float((self.masses[name] / self.cementitious).m_as("")) for name in names}
        return PlacedConcrete(self.name, tuple(self.patches), self.w_cm, shares, True)

    @property
    def bleeds_little(self) -> bool:
        """Whether it has silica fume."""
        return bool(self.masses["silica fume"].magnitude > 0)

    @property
    def cement_type(self) -> str:
        """I or III."""
        return self.concrete.cement

    def aggregate(self, use: Use) -> AggregateRow:
        """Return its coarse or its fine aggregate."""
        return self.coarse if use == "coarse" else self.fine

    # what its runs are called
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
    def alternatives_item(self) -> str:
        """Other proportions."""
        return f"other proportions, {self.item}"

    def material_item(self, name: str) -> str:
        """An aggregate or an admixture in this mix."""
        return f"{name}, {self.item}"


class Portion(NamedTuple):
    """Concrete that is mixed for one place: a patch, or what is wanted in a job without patches.

    Attributes
    ----------
    name : str
        Number of the patch; empty where there is none.
    item : str
        What its runs are called.
    depth : Quantity or None
        How deep it is placed; None where nobody says.
    volume : Quantity
        To be mixed.
    """

    name: str
    item: str
    depth: Quantity | None
    volume: Quantity


@dataclass(frozen=True)
class Weight:
    """One line of a batch card.

    Attributes
    ----------
    material : str
    mass, low, high : Quantity or None
        Wanted, minimum and maximum scale reading; None of a liquid that is measured by volume. What comes in whole bags has no
        reading.
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
    """The mixer batches of one patch, all alike.

    Attributes
    ----------
    patch : str
        Empty in a job without patches.
    item : str
        What its runs are called.
    mix : MixDesign
    count : int
    volume : Quantity
        Of each load.
    batch : Batch
        Result of `mix.batch_for_volume` for a load.
    bags : float
        Bags of cement that a load takes, not rounded.
    whole : BagsOpened
        Result of `mix.bags_opened`.
    weights : list of Weight
        In the order of charging: coarse, cementitious, fine, admixtures; the water stands by itself.
    water : MixerWater
        Result of `mix.mixer_water`.
    water_limits : tuple of Quantity
        Minimum and maximum reading for all of the water.
    ice : Quantity
        Ice, part of the water.
    """

    patch: str
    item: str
    mix: MixDesign
    count: int
    volume: Quantity
    batch: Batch
    bags: float
    whole: BagsOpened
    weights: list[Weight]
    water: MixerWater
    water_limits: tuple[Quantity, Quantity]
    ice: Quantity

    @property
    def opened(self) -> int:
        """Bags of cement opened for the patch, batch by batch and whole."""
        return int(self.whole.n_all.magnitude)


@dataclass
class GivenDesign(Design):
    """A concrete that the job gives by its contents.

    Attributes
    ----------
    found : ContentsYield
        Result of `mix.contents_yield`.
    """

    concrete: GivenConcrete
    found: ContentsYield = field(init=False)

    @property
    def slump(self) -> Quantity | None:
        """Slump by the submittal."""
        return self.concrete.slump

    @property
    def heat(self) -> Heat:
        """What its heat follows from."""
        return Heat(self.concrete.cement, self.found.C_y, self.found.w_cm)

    @property
    def placed(self) -> PlacedConcrete:
        """Its ratio and its binder; shares by volume are left to the engineer, and latex is no portland cement."""
        extra = self.concrete.supplementary
        parts = {"fly ash": extra.fly_ash, "slag cement": extra.slag, "silica fume": extra.silica_fume}
        shares = {name: float(part.m_as("")) for name, part in parts.items()}
        plain = self.concrete.latex is None and not (extra.used and extra.shares == "by volume")
        return PlacedConcrete(self.name, tuple(self.patches), self.found.w_cm, shares, plain)

    @property
    def bleeds_little(self) -> bool:
        """Whether it has silica fume."""
        return bool(self.concrete.supplementary.silica_fume.magnitude > 0)


@dataclass
class BagDesign(Design):
    """A prepackaged concrete: what its manufacturer says of it, and what a bag comes to.

    Attributes
    ----------
    curve : MakersCurve or None
        Strength by age, by its manufacturer; None where he states none.
    time : Quantity or None
        Age at which it has the opening strength by that table; None where the table does not hold it.
    """

    concrete: Prepackaged
    curve: MakersCurve | None = field(default=None, init=False)
    time: Quantity | None = field(default=None, init=False)

    @property
    def makers_curve(self) -> MakersCurve | None:
        """Strength by age by its manufacturer, where his table is of the concrete that is placed."""
        extended = self.concrete.extension.magnitude > 0 and self.concrete.strengths_of == "neat"
        return None if extended else self.curve

    @property
    def makers_item(self) -> str:
        """The strength by the manufacturer."""
        return f"{self.item}, strength by the manufacturer"

    @property
    def bag_item(self) -> str:
        """What the load list calls its bags."""
        return f"{self.name}, dry, in bags"


@dataclass(frozen=True)
class BagLoads:
    """What goes into the mixer of a prepackaged concrete for one patch: whole bags in every load.

    Attributes
    ----------
    patch : str
    item : str
        What its runs are called.
    design : BagDesign
    found : Mortar
        Result of `mix.extended_mortar`.
    extended : bool
        Whether aggregate is added.
    bags : list of int
        Bags of each load.
    """

    patch: str
    item: str
    design: BagDesign
    found: Mortar
    extended: bool
    bags: list[int]

    @property
    def count(self) -> int:
        """Mixer batches."""
        return len(self.bags)


@dataclass
class Mixes(Subject[Inputs]):
    """The concretes of the job, found by their names or by the patches that take them, and their batches.

    Attributes
    ----------
    patches : Patches
    each : dict of Design
        By name.
    gradings : dict of SieveAnalysis
        By aggregate.
    loads : dict of MixerLoads
        What goes into the mixer of a concrete that is proportioned here, by patch; by concrete in a job without patches.
    bag_loads : dict of BagLoads
        The same of a prepackaged concrete.
    stripping : dict of Quantity
        Strength to strip the form, by full-depth patch.
    """

    key: ClassVar = "mix"
    title: ClassVar = "Mix and batch"
    patches: Patches = field(kw_only=True)
    each: dict[str, Design] = field(default_factory=dict)
    gradings: dict[str, SieveAnalysis] = field(default_factory=dict)
    loads: dict[str, MixerLoads] = field(default_factory=dict)
    bag_loads: dict[str, BagLoads] = field(default_factory=dict)
    stripping: dict[str, Quantity] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Design:
        """Return a concrete by its name."""
        return self.each[name]

    def __iter__(self) -> Iterator[Design]:
        """Give the concretes in order."""
        return iter(self.each.values())

    @property
    def designed(self) -> list[MixDesign]:
        """Those that are proportioned here."""
        return [one for one in self if isinstance(one, MixDesign)]

    @property
    def given(self) -> list[GivenDesign]:
        """Those that are given by their contents."""
        return [one for one in self if isinstance(one, GivenDesign)]

    @property
    def prepackaged(self) -> list[BagDesign]:
        """Those that come in bags."""
        return [one for one in self if isinstance(one, BagDesign)]

    @property
    def in_use(self) -> list[Design]:
        """Those that patches take; all of them in a job without patches."""
        return [one for one in self if one.patches or not self.patches.each]

    def portions(self, design: Design) -> dict[str, Portion]:
        """Return what is mixed of a concrete: by patch that takes it, by its own name in a job without patches."""
        if self.patches.each:
            mine = (self.patches[name] for name in design.patches)
            return {one.name: Portion(one.name, one.item, one.h, one.volume.V_order) for one in mine}
        want = self.inputs.mix
        volume = want.load if want.wanted is None else want.wanted
        return {} if volume is None else {design.name: Portion("", "volume wanted", None, volume)}

    def for_patch(self, patch: str) -> Design:
        """Return the concrete that a patch takes.

        Raises
        ------
        JobError
            If none is known to take it.
        """
        found = next((one for one in self if patch in one.patches), None)
        if found is None:
            raise JobError([f"the concrete of patch {patch} is not worked out"])
        return found

    def of_placing(self, row: PlacementRow) -> Design:
        """Return the concrete of a placing.

        Raises
        ------
        JobError
            If its patches take more than one, or another than the row states.
        """
        where = f"placements.csv, placement {row.placement}"
        if not row.names:
            return self.each[row.concrete] if row.concrete else next(iter(self))
        takes = {name: self.for_patch(name).name for name in row.names}
        names = list(dict.fromkeys(takes.values()))
        if len(names) > 1:
            said = ", ".join(f"{patch} takes {name}" for patch, name in takes.items())
            raise JobError(
                [
                    f"{where}, column patches: {said}; a placing is of one concrete: give the patches of each concrete a row of their own"
                ]
            )
        if row.concrete and row.concrete != names[0]:
            raise JobError(
                [
                    f"{where}, column concrete: found “{row.concrete}”, and its patches take {names[0]}; leave it empty, or change mix.patches"
                ]
            )
        return self.each[names[0]]

    def count(self, patch: str) -> int:
        """Return the mixer batches of a patch; none where its concrete is delivered."""
        loads = self.loads.get(patch) or self.bag_loads.get(patch)
        return loads.count if loads else 0

    @property
    def load_count(self) -> int:
        """Mixer batches of all patches together."""
        return sum(one.count for one in self.loads.values()) + sum(one.count for one in self.bag_loads.values())

    def placing_limits(self, design: Design) -> tuple[Limit, Limit]:
        """Return the minimum and the maximum temperature at which a concrete may be placed: its own, else those of the job."""
        one, limits = design.concrete, []
        for key, value, field_name in (
            ("concrete_cold", one.placed_least, "placed_least"), ("concrete_hot", one.placed_most, "placed_most")
        ):  # fmt: skip
            limit = self.limit(key)
            if value is not None:
                limit = Limit(
                    key,
                    f"{limit.meaning}, of {design.name}",
                    value,
                    limit.kind,
                    f"mix.concretes.{design.name}.{field_name}",
                    "engineer",
                )
            limits.append(limit)
        return limits[0], limits[1]

    @property
    def alternatives(self) -> Sequence[tuple[MixDesign, Alternatives]]:
        """The mixes that have admissible alternatives."""
        return [(one, one.alternatives) for one in self.designed if one.alternatives]
