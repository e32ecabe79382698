"""A concrete before it is proportioned: what other subjects may know of it without waiting for the mix design."""

from __future__ import annotations

from dataclasses import dataclass

from deckcalc.core.units import Quantity


@dataclass(frozen=True)
class SpecifiedConcrete:
    """What is specified of the concrete of a depth class.

    Attributes
    ----------
    strength : Quantity
        Specified strength f'c at 28 days.
    nominal_size : Quantity
        Nominal maximum size of its coarse aggregate.
    """

    strength: Quantity
    nominal_size: Quantity
