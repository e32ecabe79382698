"""How far w/cm and yield of a batch may lie from the design: loads drawn with the errors of scale, moistures and air."""

from __future__ import annotations

import numpy as np

from deckcalc.core.check import Check
from deckcalc.core.units import Quantity, quantity
from deckcalc.mix.design.assessments import BatchUncertainty, SingleError
from deckcalc.mix.design.records import MixDesign, Mixes
from deckcalc.mix.formulas import uncertainty


def number(value: Quantity, unit: str = "") -> float:
    """Return the number of a quantity in a unit."""
    return float(value.m_as(unit))


def batch_uncertainty(mixes: Mixes, design: MixDesign) -> BatchUncertainty | None:
    """Draw loads of a mix; None where the job does not state the accuracy of moistures and air."""
    accuracy = mixes.inputs.mix.doubt
    if accuracy is None:
        return None
    load = load_of(mixes, design)
    scale = {key: number(mixes.limit(f"tolerance_{key}").value) for key in ("cement", "aggregate", "water")}
    errors = uncertainty.Errors(
        scale["cement"], scale["aggregate"], scale["water"], number(accuracy.moisture_coarse),
        number(accuracy.moisture_fine), number(accuracy.air),
    )  # fmt: skip
    base, drawn = uncertainty.outcome(load), uncertainty.sample(load, errors)
    causes = [
        ("scale, cementitious material", errors.cement, {"e_c": -errors.cement}),
        ("scale, coarse aggregate", errors.aggregate, {"e_ca": errors.aggregate}),
        ("scale, fine aggregate", errors.aggregate, {"e_fa": errors.aggregate}),
        ("scale, water", errors.water, {"e_w": errors.water}),
        ("moisture of the coarse aggregate", errors.moisture_coarse, {"d_ca": errors.moisture_coarse}),
        ("moisture of the fine aggregate", errors.moisture_fine, {"d_fa": errors.moisture_fine}),
        ("air", errors.air, {"d_air": errors.air}),
    ]
    single = []
    for cause, size, change in causes:
        sign = "less" if next(iter(change.values())) < 0 else "more"
        alone = uncertainty.outcome(load, **change)
        relative = float(alone.volume) / float(base.volume)
        single.append(SingleError(cause, f"{100 * size:.2g} % {sign}", float(alone.w_cm), relative))
    found = BatchUncertainty(
        uncertainty.band(drawn.w_cm), uncertainty.band(drawn.volume / float(base.volume)), single, len(drawn.w_cm),
        uncertainty.chance_above(drawn.w_cm, number(design.w_cm_exposure)),
        uncertainty.chance_above(drawn.w_cm, number(design.w_cm_most)),
    )  # fmt: skip
    check_chance(mixes, design, found, drawn)
    return found


def check_chance(mixes: Mixes, design: MixDesign, found: BatchUncertainty, drawn: uncertainty.Outcome) -> None:
    """Check the probability that a batch has more water than the exposure admits, and say that of the ratio by strength."""
    limit, most = mixes.limit("w_cm_chance"), design.w_cm_exposure
    aim = uncertainty.to_aim_for(drawn.w_cm, number(most), number(limit.value))
    mixes.checks.append(
        Check(f"batch, {design.item}", f"probability that a batch is above the w/cm of {number(most):.2f} by exposure",
              quantity(found.above_exposure), limit,
              why=f"aim for a ratio of {np.floor(aim * 1000) / 1000:.3f}, or weigh and measure moisture more accurately")
    )  # fmt: skip
    if number(design.w_cm_most) < number(most) * (1 - 1e-9):
        mixes.decisions[f"{design.item}: w/cm by strength"] = (
            f"{100 * found.above_most:.0f} of 100 batches are above the ratio of {number(design.w_cm_most):.3f} by strength, as a mix made "
            "at its mean has to be: the average strength asked for is above the specified one for that reason"
        )


def load_of(mixes: Mixes, design: MixDesign) -> uncertainty.Load:
    """Return a cubic metre of a mix as it goes into the mixer."""
    water = number(mixes.inputs.mix.water_density, "kg/m^3")
    content = {key: number(value, "kg/m^3") for key, value in design.moist.items()}
    saturated = {key: number(value) * water for key, value in design.saturated_density.items()}
    absorbed = number(design.coarse.absorption), number(design.fine.absorption)
    moisture = number(design.moisture["coarse"]), number(design.moisture["fine"])
    # the water of the admixtures goes in with the water added
    added = number(design.masses["water"], "kg/m^3") - sum(
        content[key] * (w - a) / (1 + w) for key, w, a in zip(("coarse", "fine"), moisture, absorbed, strict=True)
    )
    return uncertainty.Load(
        number(design.cementitious, "kg/m^3"), content["coarse"], content["fine"], added, *moisture, *absorbed,
        number(design.blend_density) * water, saturated["coarse"], saturated["fine"], water, number(design.air),
    )  # fmt: skip
