"""What the tool-box talk says of other rooms' results.

No other module of this room reads their runs and checks.
"""

from __future__ import annotations

from deckcalc import formwork
from deckcalc.core.check import SATISFIED
from deckcalc.core.units import Quantity
from deckcalc.formwork.design import Forms
from deckcalc.steel.design import Steel


def form_loads(forms: Forms) -> dict[str, Quantity]:
    """Return the load on the form of each hole."""
    return {run.item.removesuffix(", load"): run.result.p for run in forms.runs_of(formwork.form_load)}


def too_weak_open(steel: Steel) -> list[str]:
    """Return the patches that are too weak for a wheel while they are open."""
    weak = {check.item for check in steel.checks if "open" in check.title and check.verdict != SATISFIED}
    return [one.name for one in steel.patches if one.item in weak]
