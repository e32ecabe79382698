"""Sheet of the chlorides: where an action is required, and what was left out of the fits."""

from __future__ import annotations

from deckcalc.chloride.design import Chlorides, Consequence
from deckcalc.chloride.design.fits import LEFT_OUT, ON_A_CRACK
from deckcalc.core import units
from deckcalc.core.text import plain
from deckcalc.core.units import quantity
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block


def where(chlorides: Chlorides, one: Consequence) -> str:
    """Print where an action is required: station and offset, or the borders of a zone."""

    def text(metres: float) -> str:
        return chlorides.show(quantity(metres, "m"), units.Distance)

    if one.place is not None:
        return " / ".join(chlorides.show(value, units.Distance) for value in (one.place.station, one.place.offset))
    zone = one.zone
    if zone.right - zone.left == float("inf"):
        return "whole deck"
    return f"{text(zone.left)} to {text(zone.right)} / {text(zone.low)} to {text(zone.high)}"


def left_out(chlorides: Chlorides) -> Text:
    """Slices and cores that the fits do not rest on, each with its reason."""
    found, rows = chlorides.forecast, []
    for core in chlorides.cores.values():
        if core.row.surface_layer is not None:
            layer = chlorides.show(core.row.surface_layer, units.Length)
            rows.append([core.item, f"slices that begin above {layer}", plain(core.row.surface_layer_reason)])
        rows += [[core.item, f"slice {one.row.slice}", plain(one.row.left_out_of_fit)] for one in core.slices
                 if one.row.left_out_of_fit]  # fmt: skip
        why = found.left_out.get(core.name) if found else None
        if why:
            rows.append([core.item, "the whole core, also out of the forecast", plain(why)])
    if not rows:
        return Text("No core was left out, and no slice but those of the surface layer.\n")
    biased = found is not None and any(why != ON_A_CRACK for why in found.left_out.values())
    return block([
        "Left out of the fits:", pipe_table(["core", "what", "why"], rows, "lll"), f"{LEFT_OUT}." if biased else "",
        "Slices above a maximum inside are left out by the column “surface layer” of cores.csv, single ones by “left out of fit” of "
        "chlorides.csv, with the reason; they still count for the content at the bar and for removal.",
    ])  # fmt: skip
