"""Formwork: for each full-depth hole, the lightest form from stock that passes every check."""

from __future__ import annotations

from deckcalc.base.context import Context
from deckcalc.core import tables, units
from deckcalc.core.check import ASSESS, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Ratio, quantity
from deckcalc.formwork.design import search
from deckcalc.formwork.design.forms import FormDesign, Forms, Piece
from deckcalc.formwork.design.plates import PlateDesign, design_plates
from deckcalc.formwork.design.standing import not_here
from deckcalc.formwork.design.yard import yard_of
from deckcalc.formwork.inputs import Inputs
from deckcalc.mix.design import Mixes
from deckcalc.patch.design import Patches

__all__ = ["FormDesign", "Forms", "Piece", "PlateDesign", "compute"]

#: Limits that the sheet prints among what its forms are designed for, whatever form comes of them.
ON_THE_BASIS = ("form_duration", "hanger_safety", "form_deflection_cap", "form_deflection_ratio")


def compute(context: Context[Inputs], patches: Patches, mixes: Mixes) -> Forms:
    """Design a form for every full-depth hole of which the job says how its form is held, and whose place is clear of girders.

    Parameters
    ----------
    context : Context
    patches : Patches
    mixes : Mixes
        The concretes of the patches: their density by their materials, and the strength to strip a form.

    Returns
    -------
    Forms
    """
    forms = Forms(context, patches=patches, mixes=mixes)
    want = forms.inputs.formwork
    full = [one.name for one in patches if one.full]
    assert want  # there is no subject without the section
    printed = [forms.limit(key).source for key in ON_THE_BASIS]
    forms.cites += [one for one in printed if isinstance(one, Cite) and one.key]
    for name in full:
        if name not in want.holes:
            forms.missing[name] = (
                f"patch {name} is full depth, and no form is given for it: add formwork.holes.{name} to job.toml and say how it is carried"
            )
    for name in want.holes:
        if name not in full:
            forms.decide(name, "the patch is not full depth: no form")
    holes = [name for name in full if name in want.holes]
    forms.uncovered = {name: why for name in holes if (why := not_here(forms, name)) is not None}
    holes = [name for name in holes if name not in forms.uncovered]
    if holes:
        search.design(forms, holes, yard_of(forms))
        forms.cites += tables.load("beam_coefficients").cites
    design_plates(forms, full)
    one = Limit("form", "a form from stock", quantity(1.0), units.kind_of(Ratio), "geometry")
    for name, why in forms.missing.items():
        forms.checks.append(Check(f"hole {name}", "form designed", None, one, "at most", why))
        forms.decide(name, f"no layout: {why}")
    for name, why in forms.uncovered.items():
        forms.not_covered(f"hole {name}", "form designed", one, why)
        forms.decide(name, f"no layout, {ASSESS}: {why}")
    over = [name for name in full if {"road", "railway"} & set(patches[name].location.below)]
    if over:
        forms.notes.append(
            f"Traffic passes below {', '.join(over)}: it is stopped or kept clear, with its authority, while the form is put up, while "
            "concrete is placed and until the form is away; no form is laid out here for a clear height above a road."
        )
    share = forms.limit("stripping_share")
    strip = (
        ", ".join(f"{forms.strip_strength(name)} in {name}" for name in full) or "its share of the specified strength"
    )
    forms.notes += [
        "Every member and its deflection is worked with the full load, live load included; shear of joists "
        f"{want.shear}, of what carries them at the support; spans to centres.",
        "Joists, strongbacks and stringers stand on edge: block or cleat them against tipping, and nail the panel to every joist. Wires "
        "pass through the panel close beside the joist, one strand on each side, and are made tight over a plate.",
        "No camber: the soffit is drawn up tight under the slab, and what it sinks is "
        + ("printed below" if want.deflection == "no limit" else "held to the deflection limit")
        + ". Seal the gap at the "
        "edge all round; a chamfer is not needed under a deck.",
        f"Strip the form only on the engineer's instruction, and not before the concrete in place has {strip} "
        f"({forms.show(share.value, units.Share, 0)} of the specified strength of its concrete: {share.source}), shown by cylinders cured beside it, by maturity or by pull-out.",
        "Place in even layers from both sides; do not dump on one side. Nobody stands under the form while concrete is placed; watch "
        "it before, during and after placing. No traffic beside an unsupported edge of the hole.",
    ]
    if want.deflection == "no limit":
        forms.notes.append("The engineer sets no limit on the deflection of the forms: it is printed and not checked.")
    return forms
