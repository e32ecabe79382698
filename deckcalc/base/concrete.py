"""Concretes before they are proportioned: what other subjects may know of them without waiting for the mix design."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from deckcalc.base.fields import JobError
from deckcalc.core.units import Quantity


@dataclass(frozen=True)
class SpecifiedConcrete:
    """What is specified of one concrete of the job.

    Attributes
    ----------
    name : str
    strength : Quantity
        Specified strength f'c at 28 days.
    nominal_size : Quantity
        Nominal maximum size of its coarse aggregate.
    cement : str
        Type of its cement; empty where nobody says.
    """

    name: str
    strength: Quantity
    nominal_size: Quantity
    cement: str


@dataclass(frozen=True)
class PlacedConcrete:
    """What is known of a concrete that patches take, once it is proportioned.

    Attributes
    ----------
    name : str
    patches : tuple of str
        The patches that take it.
    w_cm : Quantity or None
        Ratio of water to cementitious material; None where its manufacturer does not state it.
    shares : dict of float
        Of fly ash, slag cement and silica fume in the cementitious material.
    portland : bool
        Whether the rest is portland cement, as far as the job says.
    """

    name: str
    patches: tuple[str, ...]
    w_cm: Quantity | None
    shares: Mapping[str, float]
    portland: bool


@dataclass(frozen=True)
class Concretes:
    """The concretes of a job, and which patch takes which.

    Attributes
    ----------
    each : dict of SpecifiedConcrete
        By name.
    by_depth : dict of str
        Name of the concrete that a depth class takes by default.
    by_patch : dict of str
        Name of the concrete that a patch takes instead.
    """

    each: Mapping[str, SpecifiedConcrete]
    by_depth: Mapping[str, str]
    by_patch: Mapping[str, str]

    def name_of(self, patch: str, depth_class: str) -> str:
        """Return the name of the concrete that a patch takes.

        Raises
        ------
        JobError
            If the job names none for it.
        """
        name = self.by_patch.get(patch) or self.by_depth.get(depth_class, "")
        if not name:
            field = f"mix.{depth_class.replace(' ', '_')}"
            raise JobError(
                [
                    f"job.toml: {field}: missing; patch {patch} is {depth_class} and no concrete is named for it (have {', '.join(self.each)}): "
                    f"name one there, or in mix.patches.{patch}"
                ]
            )
        return name

    def of(self, patch: str, depth_class: str) -> SpecifiedConcrete:
        """Return the concrete that a patch takes."""
        return self.each[self.name_of(patch, depth_class)]

    def __getitem__(self, name: str) -> SpecifiedConcrete:
        """Return a concrete by its name."""
        return self.each[name]
