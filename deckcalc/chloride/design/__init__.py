"""Chlorides: from slices of cores to a verdict at the bars, a depth of removal, and what the deck and its patches last."""

from __future__ import annotations

from collections.abc import Sequence

from deckcalc.base.concrete import PlacedConcrete
from deckcalc.base.context import Context
from deckcalc.chloride.design.cores import content_of, design_core, threshold_content
from deckcalc.chloride.design.demanded import demanded
from deckcalc.chloride.design.forecast import forecasts
from deckcalc.chloride.design.left_open import left_open
from deckcalc.chloride.design.results import Chlorides, Consequence
from deckcalc.chloride.design.survey import surface_survey
from deckcalc.chloride.design.zones import consequences
from deckcalc.chloride.inputs import Inputs
from deckcalc.chloride.inputs.contents import chosen_threshold
from deckcalc.chloride.inputs.zones import zones_of
from deckcalc.core import units
from deckcalc.core.check import Limit
from deckcalc.patch.design import Marked, Patches
from deckcalc.steel.design import Steel

__all__ = ["Chlorides", "Consequence", "compute"]

BARS = {
    "epoxy-coated": "No threshold for epoxy-coated bars is published that can be defended: the one for bare bars is used, on "
    "the safe side; a coating that is damaged or lifted protects nothing.",
    "galvanised": "No threshold for galvanised bars is held here that can be defended: the one for bare bars is used, on the "
    "safe side.",
    "stainless": "For stainless bars only a lower bound for one steel is published (2304: more than 12.5 kg/m³, 21 lb/yd³); "
    "state the threshold of the bars at hand as the job's own.",
}  # fmt: skip


def compute(
    context: Context[Inputs],
    marked: Marked,
    placed: Sequence[PlacedConcrete] | None = None,
    *,
    patches: Patches | None = None,
    steel: Steel | None = None,
) -> Chlorides:
    """Chloride at the bars of every core against the threshold, depth of removal, surveys, and the estimate of service life.

    Parameters
    ----------
    context : Context
    marked : Marked
        The patches as marked.
    placed : sequence of PlacedConcrete, optional
        The concretes that patches take, as far as their life follows from them.
    patches : Patches, optional
        Their depths of removal: what meets a demand to remove.
    steel : Steel, optional
        Rates found on bars that were bared, to stand beside the one of the forecast.
    """
    inputs = context.inputs
    threshold = chosen_threshold(inputs.chloride)
    chlorides = Chlorides(context, marked=marked, patches=patches, steel=steel, zones=zones_of(inputs.zones))
    chlorides.threshold = threshold
    limit = Limit("threshold", threshold.meaning, threshold.value, threshold.kind, threshold.source, "engineer")
    chlorides.background = content_of(chlorides, "background", inputs.chloride.background)
    chlorides.threshold_content = threshold_content(chlorides)
    for row in inputs.cores:
        design_core(chlorides, row, limit)
    surface_survey(chlorides)
    if inputs.chloride.profile and inputs.cores:
        chlorides.forecast = forecasts(chlorides, inputs.chloride.profile, placed)
    if not inputs.cores:
        left = " and service life" if inputs.chloride.forecast else ""
        chlorides.leave_open(
            f"chloride at the bars{left}: not assessed", "no cores: take cores, and give cores.csv and chlorides.csv"
        )
    consequences(chlorides)
    demanded(chlorides)
    left_open(chlorides)
    notes(chlorides)
    return chlorides


def notes(chlorides: Chlorides) -> None:
    """Simplifications and cautions."""
    choice, threshold = chlorides.inputs.chloride, chlorides.threshold
    chlorides.notes += [
        f"Chloride is {choice.extraction}; the threshold is stated on the basis of {threshold.basis} ({threshold.extraction}) "
        f"and is held against {choice.counts}. Where a basis had to be changed the cement content or unit weight above was "
        "used, and the result is no better than that input.",
        "A patch in concrete that stays contaminated moves corrosion to the concrete beside it; chloride at the cores "
        "says nothing of the deck between them.",
    ]
    below = [one.row.slice for core in chlorides.cores.values() for one in core.slices if one.net < 0 * one.net]
    if below:
        counted = "they count as measured" if chlorides.all_chloride else "above it they count as zero"
        chlorides.notes.append(
            f"Slices under the background of {chlorides.show(chlorides.background, units.ChlorideContent)}: {', '.join(below)}. "
            f"Analyses scatter that much; {counted}."
        )
    if choice.bars in BARS:
        chlorides.notes.append(BARS[choice.bars])
    if any(core.row.crack == "yes" for core in chlorides.cores.values()):
        chlorides.notes.append(
            "Cores on a crack tell of the crack: they count for removal there, and stay out of the fits."
        )
