"""Dose of noise of a closure."""

from __future__ import annotations

from deckcalc import safety
from deckcalc.base.subject import joined
from deckcalc.closure.design import ClosurePlan
from deckcalc.core.check import Check
from deckcalc.core.units import quantity

SHIFT = "noise of the shift"


def noise_items(plan: ClosurePlan) -> list[str]:
    """Return what the runs of the noise are called, in order, those of the steps first."""
    runs = [*plan.runs_of(safety.noise_hours), *plan.runs_of(safety.noise_dose)]
    return list(dict.fromkeys(run.item for run in runs))


def noise(plan: ClosurePlan) -> ClosurePlan:
    """Work out the dose of one worker who stays at each noisy step of a closure; its runs and checks stand with the closure."""
    want = plan.inputs.closure
    if want is None or not want.noise:
        return plan
    allowed = [
        plan.run(safety.noise_hours, f"noise of {one.step}", L=one.level, rule=want.noise_rule).T for one in want.noise
    ]
    for night in plan.planned:
        spent = [quantity(night.spent(one.step) / 60, "h") for one in want.noise]
        dose = plan.run(safety.noise_dose, f"{SHIFT}, {night.name}", t=joined(spent), T=joined(allowed)).D
        plan.noise_dose = dose if plan.noise_dose is None else max(plan.noise_dose, dose)
        plan.checks.append(
            Check(f"{SHIFT}, {night.name}", "dose without protection", dose, plan.limit("noise_dose"), "at most",
                  "hearing protection for all near the tools, and take turns")
        )  # fmt: skip
    return plan
