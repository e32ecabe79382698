"""Strength at early ages by the type of cement, by published curves."""

from __future__ import annotations

from deckcalc import mix
from deckcalc.core.units import quantity
from deckcalc.mix.design.assessments import EarlyStrength
from deckcalc.mix.design.records import MixDesign, Mixes

#: Ages in days.
AGES = (1, 3, 7, 28)


def strength_by_age(mixes: Mixes, design: MixDesign) -> None:
    """Work out what the specified strength at 28 days means at each age; for type III cement in two ways."""
    for age in AGES:
        t, item = quantity(age, "day"), f"{design.item}, {age} d"
        found = mixes.run(mix.strength_at_age, item, f_28=design.strength, t=t, cement="I")
        if design.cement_type == "III":
            ratio = mixes.run(mix.type_iii_strength, item, f_i=found.f_t, t=t)
            curve = mixes.run(
                mix.strength_at_age, f"{item}, curve of type III", f_28=design.strength, t=t, cement="III"
            )
            design.early_strength.append(EarlyStrength(age, curve.f_t, ratio.f_iii))
        else:
            design.early_strength.append(EarlyStrength(age, found.f_t))
