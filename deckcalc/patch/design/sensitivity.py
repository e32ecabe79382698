"""Sensitivity of the quantity: the patches worked out again with one thing changed at a time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from deckcalc.base.context import Context
from deckcalc.core.check import Limit
from deckcalc.core.units import Length, Quantity, Share
from deckcalc.patch.design import Patches, compute
from deckcalc.patch.design.marking import mark
from deckcalc.patch.inputs import Inputs


def sensitivity(patches: Patches) -> list[tuple[str, tuple[str, str], tuple[Quantity, Quantity]]]:
    """Return what was changed, its two values as printed, and the two order volumes, the widest first."""
    context, want, marked = patches.context, patches.inputs.sensitivity, patches.marked
    if want is None:
        return []
    thick = float(patches.deck.slab_thickness.m_as("m"))

    def order(inputs: Inputs, limits: Mapping[str, Limit], deeper: float = 0.0) -> Quantity:
        readings = {reading.name: reading for one in marked.patches for reading in one.readings}
        shifted = [
            r if r.depth is None else replace(r, depth=min(max(r.depth + deeper, 0.005), thick))
            for r in readings.values()
        ]
        varied: Context[Inputs] = replace(context, limits=limits, inputs=inputs)
        again = mark(varied, marked.found, shifted)
        return compute(varied, again, patches.concretes).order_volume

    def with_limit(key: str, value: Quantity) -> Quantity:
        return order(context.inputs, {**context.limits, key: replace(context.limits[key], value=value)})

    def with_overbreak(value: Quantity) -> Quantity:
        removal = context.inputs.removal.model_copy(update={"overbreak": value})
        return order(replace(context.inputs, removal=removal), context.limits)

    delta = float(want.depth.m_as("m"))
    tried = [
        ("margin", [patches.show(v, Length) for v in want.margin], [with_limit("margin", v) for v in want.margin]),
        ("depth of every reading", [f"{sign}{patches.show(want.depth, Length)}" for sign in ("−", "+")],
         [order(context.inputs, context.limits, sign * delta) for sign in (-1, 1)]),
        ("over-break", [patches.show(v, Share) for v in want.overbreak], [with_overbreak(v) for v in want.overbreak]),
        ("waste", [patches.show(v, Share) for v in want.waste], [with_limit("waste", v) for v in want.waste]),
    ]  # fmt: skip
    found = [(name, (a[0], a[1]), (v[0], v[1])) for name, a, v in tried]
    return sorted(found, key=lambda one: -abs(float((one[2][1] - one[2][0]).m_as("m³"))))
