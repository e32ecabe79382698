"""One form as designed, with what it takes from stock, and all forms of a job."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar, NamedTuple, get_args

from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.check import Check
from deckcalc.core.units import Quantity, quantity
from deckcalc.formwork.formulas import layout
from deckcalc.formwork.formulas.hangers import FormOil
from deckcalc.formwork.formulas.loads import FormLoad
from deckcalc.formwork.inputs import Formwork, HangerRow, Hole, Inputs, LumberRow, PanelRow, TakenOff
from deckcalc.mix.design import Mixes
from deckcalc.patch.design import Patches

if TYPE_CHECKING:
    from deckcalc.formwork.design.plates import PlateDesign

TAIL = 0.15  # m, wire or rod beyond the plate at each end: common practice


class Piece(NamedTuple):
    """Pieces of lumber that are cut alike: what part they are, from what, how many, and their length in metres."""

    part: str
    row: LumberRow
    number: int
    length: float

    @property
    def stock(self) -> int:
        """How many lengths in stock they are cut from."""
        return math.ceil(self.number / math.floor(si(self.row.length, "m") / self.length + 1e-9))


@dataclass
class FormDesign:
    """The form of one hole; lengths in metres.

    Attributes
    ----------
    name : str
        Number of the patch.
    hole : Hole
        How the form is held, and what lies below it.
    load : FormLoad
        Result of the calculation of this name.
    a, b : float
        Sides of the hole, along the joists and across them.
    t : float
        Thickness of the slab.
    found : Found
        Numbers of bays, places in stock, mass.
    s_b, s_a, s_p : float
        Spacing of joists, of strongbacks or stringers, of shores.
    o_b, o_a, o_p : float
        From the edge of the hole to the first of each.
    panel, joist, carrier : PanelRow, LumberRow, LumberRow
        From stock; the carrier is the strongback or the stringer.
    hanger : HangerRow or None
        Where the form is suspended.
    shore : LumberRow or None
        Where it is shored.
    rules : Rules
        What the job asks of a layout.
    thickness : Quantity
        Of the panel.
    oil : FormOil or None
        Result of the calculation of this name.
    checks : list of Check
    braces : str
        What braces are for, in words; empty where the form is suspended.
    shore_length : float
        To which shores are cut; 0 where the form is suspended.
    strips : int
        Strips of the soffit that go down between the bars; 1 where it is put together from below.
    strip_width : float
        Their width.
    keep_off : str
        How far wheels keep off, and why, in words.
    """

    name: str
    hole: Hole
    load: FormLoad
    a: float
    b: float
    t: float
    found: layout.Found
    s_b: float
    o_b: float
    s_a: float
    o_a: float
    s_p: float
    o_p: float
    panel: PanelRow
    joist: LumberRow
    carrier: LumberRow
    hanger: HangerRow | None
    shore: LumberRow | None
    rules: layout.Rules
    thickness: Quantity
    oil: FormOil | None = None
    checks: list[Check] = field(default_factory=list)
    braces: str = ""
    shore_length: float = 0.0
    strips: int = 1
    strip_width: float = 0.0
    keep_off: str = ""

    @property
    def item(self) -> str:
        """What its runs are called."""
        return f"hole {self.name}"

    @property
    def reach(self) -> tuple[float, float]:
        """Sides of the soffit, along the joists and across them, laps included."""
        return self.a + 2 * self.rules.lap, self.b + 2 * self.rules.lap

    @property
    def panel_thickness(self) -> float:
        """Thickness of the panel."""
        return si(self.thickness, "m")

    @property
    def carrier_part(self) -> str:
        """What the carrier is called."""
        return "strongback" if self.hanger is not None else "stringer"

    @property
    def carrier_length(self) -> float:
        """Length of a strongback or stringer."""
        rules = self.rules
        return self.b + (2 * (rules.clear + rules.bearing) if self.hanger is not None else 2 * rules.lap)

    @property
    def pieces(self) -> list[Piece]:
        """All of its lumber."""
        found = self.found
        parts = [
            Piece("joist", self.joist, found.n_b + 1, self.reach[0]),
            Piece(self.carrier_part, self.carrier, found.n_a + 1, self.carrier_length),
        ]
        if self.shore is not None:
            parts.append(Piece("shore", self.shore, self.shores, self.shore_length))
        return parts

    def pieces_from(self, part: str) -> int:
        """Lengths of stock that the pieces of one part are cut from."""
        return next(piece.stock for piece in self.pieces if piece.part == part)

    @property
    def stock(self) -> dict[str, int]:
        """Lengths in stock that its lumber is cut from, by their name there."""
        found: dict[str, int] = {}
        for piece in self.pieces:
            found[piece.row.lumber] = found.get(piece.row.lumber, 0) + piece.stock
        return found

    @property
    def shores(self) -> int:
        """Number of shores, where it is shored."""
        return (self.found.n_a + 1) * (self.found.n_p + 1)

    @property
    def hangers(self) -> int:
        """Number of hangers, where it is suspended."""
        return (self.found.n_a + 1) * (self.found.n_b + 1)

    @property
    def blocks(self) -> int:
        """Number of blocks under strongbacks."""
        return 2 * (self.found.n_a + 1)

    @property
    def take_off(self) -> tuple[str, ...]:
        """What comes off it, in order."""
        return get_args(TakenOff) if self.hanger is not None else ("form",)

    @property
    def hanger_length(self) -> float:
        """Wire or rod of one hanger: through joist, panel, slab, blocks' height and strongback, and its tails."""
        assert self.hanger
        through = (
            self.t
            + self.panel_thickness
            + si(self.joist.depth, "m")
            + si(self.carrier.depth, "m")
            + 2 * TAIL
            + self.rules.block
        )
        return through * (si(self.hanger.strands, "") if self.hanger.kind == "wire" else 1)

    @property
    def sheets(self) -> int:
        """Full sheets that the soffit takes."""
        long, wide = si(self.panel.length, "m"), si(self.panel.width, "m")
        span, joists = (long, wide) if self.panel.grain == "across" else (wide, long)
        along, across = self.reach
        return math.ceil(across / span - 1e-9) * math.ceil(along / joists - 1e-9)

    @property
    def seal(self) -> float:
        """Form seal tape round the hole."""
        return 2 * (self.a + self.b)


@dataclass
class Forms(Subject[Inputs]):
    """Forms of the full-depth holes, found by the numbers of their patches.

    Attributes
    ----------
    patches : Patches
    mixes : Mixes
        The concrete of each hole: its weight, and its strength to strip the form.
    each : dict of FormDesign
        Of the holes for which a form was found.
    loads : dict of FormLoad
        Of all holes.
    missing : dict of str
        Why there is no form for a hole, and what would work.
    uncovered : dict of str
        Why the place of a hole is none for a form of the kind that is laid out here: the engineer assesses it.
    outcome : dict of str
        What follows for a hole: its form in words, or why it has none.
    plates : dict of PlateDesign
        Plate over each full-depth hole, where the job has plates.
    """

    key: ClassVar = "formwork"
    title: ClassVar = "Formwork"
    patches: Patches = field(kw_only=True)
    mixes: Mixes = field(kw_only=True)
    each: dict[str, FormDesign] = field(default_factory=dict)
    loads: dict[str, FormLoad] = field(default_factory=dict)
    missing: dict[str, str] = field(default_factory=dict)
    uncovered: dict[str, str] = field(default_factory=dict)
    outcome: dict[str, str] = field(default_factory=dict)
    plates: dict[str, PlateDesign] = field(default_factory=dict)

    def __getitem__(self, name: str) -> FormDesign:
        """Return the form of a hole."""
        return self.each[name]

    def __iter__(self) -> Iterator[FormDesign]:
        """Give the forms in order."""
        return iter(self.each.values())

    def __contains__(self, name: object) -> bool:
        """Whether there is a form for a hole."""
        return name in self.each

    @property
    def choices(self) -> Formwork:
        """The section [formwork], of a job that has one."""
        assert self.inputs.formwork
        return self.inputs.formwork

    def closable(self, name: str) -> bool:
        """Whether the open hole may be closed with a plate: one is designed, and every check of it is satisfied."""
        return name in self.plates and self.plates[name].holds

    def strip_strength(self, name: str) -> str:
        """Print the strength that the concrete of a hole needs before its form is stripped."""
        if name in self.mixes.stripping:
            return self.show(self.mixes.stripping[name], units.Stress)
        return f"{self.show(self.limit('stripping_share').value, units.Share, 0)} of its specified strength"

    def take_off(self, name: str) -> tuple[str, ...]:
        """Return what comes off the form of a full-depth hole, in order."""
        return self.each[name].take_off if name in self.each else ("form",)

    @property
    def deflection(self) -> dict[str, Quantity]:
        """Rules of deflection, as the calculations take them; a ratio of 1 and 1000 mm where there is no limit."""
        if self.choices.deflection == "no limit":
            return {"r_d": quantity(1.0), "d_max": quantity(1000.0, "mm")}
        return {"r_d": self.limit("form_deflection_ratio").value, "d_max": self.limit("form_deflection_cap").value}

    @property
    def shear_depths(self) -> float:
        """Distance from the support at which the shear of joists is taken, in depths of the joist."""
        return 1.0 if self.choices.shear == "a depth away" else 0.0

    def decide(self, name: str, words: str) -> None:
        """Keep what follows for a hole."""
        self.outcome[name] = self.decisions[f"hole {name}"] = words

    def length(self, metres: float) -> Quantity:
        """Return a length in the job's small unit, free of the noise of binary numbers."""
        unit = "mm" if self.system == "SI" else "in"
        return quantity(round(metres / (0.001 if unit == "mm" else 0.0254), 9), unit)


def si(value: Quantity, unit: str) -> float:
    """Return a quantity as a plain number."""
    return float(value.m_as(unit))
