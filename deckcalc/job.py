"""A job carried through the trades in the order of the work.

This is the only file that knows all trades. It computes nothing itself: it hands measured inputs to calculations,
keeps every run, and holds results against limits.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any

from deckcalc import chloride, mix, patch, steel, tables, units
from deckcalc.calculation import Calculation
from deckcalc.check import Check, Limit, Sense
from deckcalc.jobfile import JobError, JobFile, chosen_threshold, read_chloride, read_job
from deckcalc.sources import Cite
from deckcalc.units import InputError, Quantity

PARTIAL, FULL = "partial depth", "full depth"


@dataclass(frozen=True, eq=False)
class Run:
    """One calculation done for one item of the job."""

    calculation: Calculation
    arguments: dict[str, Any]
    item: str

    @cached_property
    def result(self) -> Any:
        """What the calculation gives."""
        return self.calculation(**self.arguments)

    def results(self) -> dict[str, Quantity]:
        """Results by name."""
        values = self.result if self.calculation.record else (self.result,)
        return dict(zip(self.calculation.kinds, values, strict=True))


@dataclass
class Subject:
    """One subject of the job: its runs in order, its checks, what was decided, what was simplified.

    Attributes
    ----------
    key, title : str
    runs : list of Run
    checks : list of Check
    decisions : dict of str
        By item: what follows, in words.
    notes : list of str
        Simplifications and cautions of the subject as a whole.
    """

    key: str
    title: str
    runs: list[Run] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    decisions: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def run(self, calculation: Calculation, item: str, **arguments: Any) -> Any:
        """Run a calculation for an item, keep the run, return its result."""
        made = Run(calculation, arguments, item)
        try:
            result = made.result
        except InputError as error:
            raise JobError([f"{self.title}, {item}: {line}" for line in str(error).splitlines()]) from None
        self.runs.append(made)
        return result

    def of(self, item: str) -> list[Run]:
        """Return the runs of one item."""
        return [run for run in self.runs if run.item == item]

    def runs_of(self, calculation: Calculation) -> list[Run]:
        """Return the runs of one calculation."""
        return [run for run in self.runs if run.calculation is calculation]

    @property
    def items(self) -> list[str]:
        """Items in order of appearance."""
        return list(dict.fromkeys(run.item for run in self.runs))


@dataclass(frozen=True)
class Material:
    """One line of the materials list."""

    material: str
    quantity: str
    spare: str
    source: str


class Job:
    """A job folder read and carried through patches, mix, reinforcement and chlorides.

    Parameters
    ----------
    file : JobFile

    Raises
    ------
    JobError
        If an input that is valid by itself cannot be carried through a calculation.
    """

    def __init__(self, file: JobFile) -> None:
        self.file = file
        self.system = file.system
        self.head = file.head
        self.depth_class: dict[str, str] = {}
        self.patch = self._patches()
        self.steel = self._steel()
        self.chloride = self._chlorides()
        self.mix = self._mix()

    @property
    def subjects(self) -> list[Subject]:
        """The subjects in filing order."""
        return [self.patch, self.steel, self.chloride, self.mix]

    @property
    def checks(self) -> list[Check]:
        """All checks in filing order."""
        return [check for subject in self.subjects for check in subject.checks]

    def limit(self, key: str) -> Limit:
        """Return a limit by its key."""
        return self.file.limits[key]

    def show(self, value: Any, kind: Any, decimals: int | None = None) -> str:
        """Print a quantity in the job's units."""
        return units.show(value, kind, self.system, decimals)

    # the trades, in the order of the work

    def _patches(self) -> Subject:
        subject = Subject("patch", "Patches")
        deck, removal = self.head.deck, self.head.removal
        aggregate = next(row for row in self.file.rows["aggregates"] if row.use == "coarse")
        d_max = units.read(aggregate.nominal_size, units.Length)
        clear = subject.run(
            patch.clear_space, "all patches", s_min=self.limit("clear_space").value, D_max=d_max,
            e=self.limit("clear_over_aggregate").value,
        )  # fmt: skip
        d_1, d_2 = steel.bar_diameter(deck.top_bar_outer), steel.bar_diameter(deck.top_bar_inner)
        margin = self.limit("margin")
        orders = []
        for row in self.file.rows["patches"]:
            item = f"patch {row.patch}"
            sides = subject.run(patch.patch_limits, item, L_u=row.length, B_u=row.width, m=margin.value)
            depth = subject.run(patch.patch_depth, item, h=row.depths, t=deck.slab_thickness)
            ratio = self.limit("partial_depth_ratio")
            full = Check(item, "", depth.r_h, ratio, "less than").verdict != "satisfied"
            self.depth_class[row.patch] = FULL if full else PARTIAL
            shown = self.show(depth.h_max, units.Length), self.show(deck.slab_thickness, units.Length)
            subject.decisions[item] = (
                f"{self.depth_class[row.patch]}: the deepest reading {shown[0]} is {self.show(depth.r_h, units.Ratio)} of the "
                f"slab thickness {shown[1]}, {'not less' if full else 'less'} than {self.show(ratio.value, units.Ratio)}"
            )
            if full:
                h = deck.slab_thickness
            else:
                removed = subject.run(
                    patch.removal_depth, item, h_i=row.depths, c=row.least_cover, d_1=d_1, d_2=d_2, s_c=clear.s_c
                )
                h = removed.h
            saw = subject.run(patch.saw_cut, item, c_min=row.least_cover, m_saw=self.limit("saw_margin").value)
            volume = subject.run(
                patch.patch_volume, item, A=sides.A, h=h, q_over=removal.overbreak, q_waste=self.limit("waste").value
            )
            orders.append(volume.V_order)
            greatest = Limit(
                "saw_depth", "greatest saw cut that stays clear of the bars", saw, units.kind_of(units.Length),
                "least measured cover less the margin",
            )  # fmt: skip
            side = self.limit("least_side")
            subject.checks += [
                Check(
                    item,
                    "planned saw cut",
                    self.limit("saw_depth").value,
                    greatest,
                    "at most",
                    "cut shallower, or locate the bars",
                ),
                Check(
                    item,
                    "lesser side of the marked limits",
                    min(sides.L, sides.B),
                    side,
                    "at least",
                    "enlarge the limits",
                ),
            ]
            if not full:
                least = self.limit("least_patch_depth")
                subject.checks.append(
                    Check(
                        item,
                        "removal against the least depth of a patch",
                        h,
                        least,
                        "at least",
                        "remove to the least depth",
                    )
                )
                thickness = Limit(
                    "slab", "slab thickness, so that slab remains under the patch", deck.slab_thickness,
                    units.kind_of(units.Length), "geometry",
                )  # fmt: skip
                subject.checks.append(
                    Check(
                        item,
                        "removal leaves slab below it",
                        h,
                        thickness,
                        "less than",
                        "the removal goes through: treat as full depth",
                    )
                )
        senses: dict[str, Sense] = {"margin_least": "at least", "margin_most": "at most"}
        for key, sense in senses.items():
            subject.checks.append(
                Check("all patches", "margin beyond the unsound concrete", margin.value, self.limit(key), sense)
            )
        self.order_volume = subject.run(patch.order_total, "all patches", V=joined(orders)).V_total
        subject.notes += [
            "The slab that remains under an open partial-depth patch, and traffic on or beside it, is for the engineer in "
            "charge to judge; it is not checked here.",
            "Saw cuts are dry or wet work with silica dust: use water or extraction, and respirators as the local rules ask.",
            "A full-depth hole is a fall edge and opens above whatever passes below: barricade it, keep the ground below "
            "clear, and have the formwork designed by a licensed engineer.",
        ]
        return subject

    def _steel(self) -> Subject:
        subject = Subject("steel", "Reinforcement")
        single, pair = self.limit("bar_loss_single"), self.limit("bar_loss_adjacent")
        rows = self.file.rows["bars"]
        results = {
            row.bar: subject.run(steel.section_loss, f"bar {row.bar}", A_0=steel.bar_area(row.size), d=row.readings)
            for row in rows
        }
        flagged: dict[str, str] = {}
        for row in rows:
            check = Check(
                f"bar {row.bar}", "section loss of one bar", results[row.bar].loss, single, "at most", "supplement"
            )
            subject.checks.append(check)
            if check.verdict != "satisfied":
                flagged[row.bar] = "its own loss"
        for first, second in pairwise(rows):
            if first.patch != second.patch:
                continue
            item = f"bars {first.bar} and {second.bar}"
            shared = subject.run(
                steel.adjacent_loss, item, loss_1=results[first.bar].loss, loss_2=results[second.bar].loss
            )
            check = Check(item, "section loss of two adjacent bars", shared, pair, "at most", "supplement both")
            subject.checks.append(check)
            if check.verdict != "satisfied":
                for bar in (first.bar, second.bar):
                    flagged.setdefault(bar, "the loss it shares with its neighbour")
        self.added_bars: dict[str, int] = {}
        for row in rows:
            item = f"bar {row.bar}"
            if row.bar not in flagged:
                subject.decisions[item] = "clean; no supplement by these limits"
                continue
            added = subject.run(steel.supplement, item, A_lost=results[row.bar].A_lost, A_b=steel.bar_area(row.size))
            count = int(added.n.magnitude)
            self.added_bars[row.size] = self.added_bars.get(row.size, 0) + count
            subject.decisions[item] = f"supplement with {count} bar(s) {row.size}, for {flagged[row.bar]}"
        subject.notes += [
            "Whether the deck carries load while bars are bare, and after the loss found, is the licensed engineer's "
            "decision; no strength is computed here.",
            "The laps of supplementary bars, and whether the patch is long enough for them, are not checked here.",
        ]
        return subject

    def _chlorides(self) -> Subject:
        subject = Subject("chloride", "Chlorides")
        choice = self.head.chloride
        self.threshold = threshold = chosen_threshold(choice)
        background = self._content(subject, "background", choice.background)
        for core in self.file.rows["cores"]:
            item = f"core {core.core}"
            depths, nets = [], []
            for row in (row for row in self.file.rows["chlorides"] if row.core == core.core):
                place = f"slice {row.slice}"
                depths.append(subject.run(chloride.mid_depth, place, x_from=row.upper, x_to=row.lower))
                content = self._content(subject, place, row.chloride)
                if content < background:
                    found = self.show(content, units.ChlorideContent), self.show(background, units.ChlorideContent)
                    raise JobError(
                        [f"chlorides.csv, slice {row.slice}: {found[0]} is less than the background {found[1]}"]
                    )
                nets.append(subject.run(chloride.above_background, place, C=content, C_b=background))
            limit = self._threshold_limit(subject, item)
            try:
                upper, lower = chloride.bracket(core.bar_depth, depths)
            except tables.TableError as error:
                subject.decisions[item] = f"outside the method: {error}"
                subject.checks.append(Check(item, "chloride at the bar", None, limit, "less than", str(error)))
                continue
            at_bar = subject.run(
                chloride.content_at_depth, item, x=core.bar_depth, x_1=depths[upper], C_1=nets[upper], x_2=depths[lower],
                C_2=nets[lower],
            ).C_x  # fmt: skip
            demand: Any = at_bar
            if threshold.basis in ("cement", "cementitious"):
                demand = subject.run(chloride.cement_share, item, C=at_bar, c=self.head.deck.cement_content)
            elif threshold.basis == "concrete":
                demand = subject.run(chloride.concrete_share, item, C=at_bar, rho=self.head.deck.unit_weight)
            check = Check(
                item, "chloride at the bar, above background", demand, limit, "less than", "remove to below the bars"
            )
            subject.checks.append(check)
            subject.decisions[item] = (
                "below the threshold at the bar" if check.verdict == "satisfied"
                else "threshold reached at the bar: concrete left in place round this bar can corrode it; remove it or protect the bar"
            )  # fmt: skip
        subject.notes += [
            f"Chloride is {choice.extraction}; the threshold is stated on the basis of {threshold.basis} "
            f"({threshold.extraction}). Where a basis had to be changed the cement content or unit weight above was used, "
            "and the result is no better than that input.",
            "A patch in concrete that stays contaminated moves corrosion to the concrete beside it; chloride at the cores "
            "says nothing of the deck between them.",
        ]
        return subject

    def _content(self, subject: Subject, item: str, text: str) -> Quantity:
        reading = read_chloride(text)
        if reading.basis == "concrete":
            return subject.run(
                chloride.content_from_concrete_share, item, p=reading.value, rho=self.head.deck.unit_weight
            )
        if reading.basis == "cement":
            return subject.run(
                chloride.content_from_cement_share, item, p=reading.value, c=self.head.deck.cement_content
            )
        return reading.value

    def _threshold_limit(self, subject: Subject, item: str) -> Limit:
        threshold = self.threshold
        return Limit("threshold", threshold.meaning, threshold.value, threshold.kind, threshold.source, "engineer")

    def _mix(self) -> Subject:
        subject = Subject("mix", "Mix and batch")
        want, item = self.head.mix, "mix"
        rows = {row.use: row for row in self.file.rows["aggregates"]}
        coarse, fine = rows["coarse"], rows["fine"]
        d_max = units.read(coarse.nominal_size, units.Length)
        depths = [run.result.h for run in self.patch.runs_of(patch.removal_depth)]
        deck = self.head.deck
        depth = min(depths) if depths else deck.slab_thickness
        clear = min(
            deck.bar_spacing - steel.bar_diameter(deck.top_bar_outer),
            self.patch.runs_of(patch.clear_space)[0].result.s_c,
        )
        limits = subject.run(mix.size_limits, item, h=depth, s=clear, D_patch=self.limit("aggregate_size").value)
        allowed = Limit(
            "size", "greatest nominal size for depth, clear space and patch work", limits.D_allowed,
            units.kind_of(units.Length), Cite("aci211-1-91", "6.3.2"),
        )  # fmt: skip
        subject.checks.append(
            Check(item, "nominal maximum size of the coarse aggregate", d_max, allowed, "at most", "finer stone")
        )
        durability = mix.exposure_limit(want.durability, want.tables)
        assert durability.w_cm is not None  # held when the job was read
        if want.record is None:
            strength = subject.run(mix.average_strength_no_record, item, f_c=want.strength, tables=want.tables)
        else:
            by_record = mix.average_strength_si if want.tables == "SI" else mix.average_strength_us
            strength = subject.run(by_record, item, f_c=want.strength, s_s=want.record.deviation, n=want.record.tests)
        water = subject.run(
            mix.mixing_water, item, D_max=d_max, slump=want.slump, exposure=want.exposure, tables=want.tables
        )
        air = "not air-entrained" if want.exposure == "not air-entrained" else "air-entrained"
        ratio = subject.run(
            mix.water_cement_ratio, item, f_cr=strength.f_cr, air_entrained=air, w_cm_exposure=durability.w_cm,
            tables=want.tables,
        )  # fmt: skip
        b = subject.run(mix.coarse_volume, item, D_max=d_max, FM=units.read(fine.fineness_modulus, units.Ratio)).b
        made = subject.run(
            mix.proportions, item, W=water.W, w_cm=ratio.w_cm, air=water.air, b=b,
            rho_dr=units.read(coarse.dry_rodded_density, units.Density), RD_c=want.cement_density,
            RD_ca=coarse.relative_density, RD_fa=fine.relative_density, rho_w=want.water_density,
        )  # fmt: skip
        batch = subject.run(
            mix.batch_masses, item, W=water.W, M_ca=made.M_ca, M_fa=made.M_fa, A_ca=coarse.absorption, A_fa=fine.absorption,
            w_ca=coarse.moisture, w_fa=fine.moisture,
        )  # fmt: skip
        for name, volume in (("one mixer load", want.load), ("whole order", self.order_volume)):
            subject.run(
                mix.batch_for_volume, name, V=volume, C=made.C, B_ca=batch.B_ca, B_fa=batch.B_fa, W_add=batch.W_add,
                m_bag=want.bag,
            )  # fmt: skip
        subject.checks += [
            Check(item, "water-cement ratio", ratio.w_cm,
                  Limit("w_cm", f"durability: {durability.exposure}", durability.w_cm, units.kind_of(units.Ratio), durability.source)),
            Check(item, "specified strength", want.strength,
                  Limit("f_c", f"durability: {durability.exposure}", durability.f_c, units.kind_of(units.Stress),
                        durability.source), "at least"),
        ]  # fmt: skip
        subject.notes += [
            f"Tables of the standard: {'hard metric (SI)' if want.tables == 'SI' else 'US customary'}. The two sets are rounded "
            "apart: the same materials give masses that differ by up to about 2 %.",
            "Proportions are a starting point for a trial batch, not a substitute for one.",
            "Fresh concrete burns skin and eyes; lift bags by two or with a hoist.",
        ]
        return subject

    @property
    def materials(self) -> list[Material]:
        """Everything to be brought, from the runs above."""
        whole = next(run for run in self.mix.runs if run.item == "whole order").result
        waste = f"waste {self.show(self.limit('waste').value, units.Share)} included"
        bag = self.show(self.head.mix.bag, units.Mass)
        listed = [
            Material(
                "Concrete in place with waste", self.show(self.order_volume, units.OrderVolume), waste, "01 Patches"
            ),
            Material(f"Cement, bags of {bag}", f"{int(whole.n_bags.magnitude)} bags", "rounded up", "04 Mix and batch"),
            Material(
                "Coarse aggregate, moist as on site", self.show(whole.m_ca, units.Mass), waste, "04 Mix and batch"
            ),
            Material("Fine aggregate, moist as on site", self.show(whole.m_fa, units.Mass), waste, "04 Mix and batch"),
            Material("Water to add at the mixer", self.show(whole.m_w, units.Mass), waste, "04 Mix and batch"),
        ]
        for size, count in self.added_bars.items():
            listed.append(
                Material(
                    f"Supplementary bars {size}",
                    f"{count} pieces",
                    "length with laps by the engineer",
                    "02 Reinforcement",
                )
            )
        return listed


def joined(values: Iterable[Quantity]) -> Quantity:
    """Return scalar quantities as one array, in the unit of the first."""
    found = list(values)
    unit = found[0].units
    return units.registry().Quantity([float(value.m_as(unit)) for value in found], unit)


def carry(folder: str | Path, changes: dict[str, str] | None = None) -> Job:
    """Read a job folder and carry it through all trades.

    Parameters
    ----------
    folder : path
    changes : dict of str, optional
        Inputs to change, see `deckcalc.jobfile.read_job`.

    Returns
    -------
    Job

    Raises
    ------
    JobError
        With every fault found.
    """
    return Job(read_job(folder, changes))
