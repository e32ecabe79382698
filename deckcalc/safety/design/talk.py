"""What the tool-box talk says of the results of another room."""

from __future__ import annotations

from deckcalc.core.check import SATISFIED
from deckcalc.steel.design import Steel


def too_weak_open(steel: Steel) -> list[str]:
    """Return the patches that are too weak for a wheel while they are open."""
    weak = {check.item for check in steel.checks if "open" in check.title and check.verdict != SATISFIED}
    return [one.name for one in steel.patches if one.item in weak]
