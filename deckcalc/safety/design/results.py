"""What is worked out for the safety of the crew."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar, NamedTuple

from deckcalc.base.subject import Subject
from deckcalc.closure.design import ClosurePlan
from deckcalc.core import units
from deckcalc.core.check import Limit
from deckcalc.core.units import Quantity, quantity
from deckcalc.patch.design import Patches
from deckcalc.safety.formulas.exposure import BlastingDust, ToolVibration
from deckcalc.safety.formulas.lifting import Index
from deckcalc.safety.formulas.water import Slurry
from deckcalc.safety.inputs import Blasting, HandTool, Inputs, SlurryRow, Timed


@dataclass(frozen=True)
class ToolUse:
    """How one tool is used, and what it asks for.

    Attributes
    ----------
    tool : HandTool
    method : str
        Of the table of dust.
    hours : Quantity
        In the shift.
    factor : Quantity
        Assigned protection factor of the respirator, 0 for none.
    seen : str
        Whether the row of the table was read or recalled.
    vibration : ToolVibration or None
        Result of `safety.tool_vibration`.
    """

    tool: HandTool
    method: str
    hours: Quantity
    factor: Quantity
    seen: str
    vibration: ToolVibration | None = None


class Bag(NamedTuple):
    """Mass of a bag, and the result of `safety.lifting_index`."""

    mass: Quantity
    lifting: Index


@dataclass(frozen=True)
class Blast:
    """Time of blasting in the shift, and the silica in the air against the limit, where it was measured."""

    want: Blasting
    hours: Quantity
    dust: BlastingDust | None


@dataclass(frozen=True)
class Held:
    """Slurry of one kind of wet work, and the tanks that hold it."""

    want: SlurryRow
    hours: Quantity
    made: Slurry


@dataclass
class CrewSafety(Subject[Inputs]):
    """Safety of the crew as worked out.

    Attributes
    ----------
    patches : Patches
    closure : ClosurePlan or None
        None where no tool runs for as long as a step of it takes.
    guarded_from : Quantity or None
        Height from which an edge or hole is guarded.
    tools : list of ToolUse
    shift_vibration : Quantity or None
        Hand-arm vibration of one worker who uses all tools.
    bags : dict of Bag
        By what the bag is called.
    weight_limit : Quantity or None
        Mass that one person may lift.
    values : tuple of Limit or None
        Action and limit value of the hand-arm vibration, by the rule of the job's country.
    blast : Blast or None
    buoys : Quantity or None
        Ring buoys that are wanted over water.
    slurry : list of Held
    missing : list of str
        What the crew should know and the job does not say.
    """

    key: ClassVar = "safety"
    title: ClassVar = "Safety"
    patches: Patches = field(kw_only=True)
    closure: ClosurePlan | None = field(kw_only=True)
    guarded_from: Quantity | None = None
    tools: list[ToolUse] = field(default_factory=list)
    shift_vibration: Quantity | None = None
    bags: dict[str, Bag] = field(default_factory=dict)
    weight_limit: Quantity | None = None
    values: tuple[Limit, Limit] | None = None
    blast: Blast | None = None
    buoys: Quantity | None = None
    slurry: list[Held] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    @property
    def holes(self) -> list[str]:
        """Patches that go through."""
        return [one.name for one in self.patches if one.full]

    @property
    def below(self) -> dict[str, list[str]]:
        """What lies or passes below, with the patches over it."""
        found: dict[str, list[str]] = {}
        for one in self.patches:
            for what in one.location.below:
                found.setdefault(what, []).append(one.name)
        return found

    def hours_of(self, one: Timed) -> Quantity:
        """Return the time of some work in the shift: as stated, or that of its step in the closure."""
        if one.hours is not None:
            return one.hours
        assert self.closure and one.step
        return quantity(max((night.spent(one.step) for night in self.closure.planned), default=0.0) / 60, "h")

    def at_most(self, value: Quantity, kind: Any, decimals: int | None = None) -> str:
        """Print what is allowed, rounded down."""
        return units.show_at_most(value, kind, self.system, decimals)

    def at_least(self, value: Quantity, kind: Any, decimals: int | None = None) -> str:
        """Print what is borne or wanted, rounded up."""
        return units.show_at_least(value, kind, self.system, decimals)
