"""What was surveyed for the chlorides, for the plan of the deck."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from deckcalc.chloride.design import Chlorides
from deckcalc.chloride.inputs.zones import Placed, xy
from deckcalc.show.drafting import Point, hull


def extents(chlorides: Chlorides) -> Mapping[str, tuple[Point, ...]]:
    """Return each survey of the surface and the cores, with the corners round its points: station and offset in metres."""
    inputs = chlorides.inputs
    surveys: dict[str, Sequence[Placed]] = {
        "cover": inputs.covers, "half-cell potential": inputs.potentials, "resistivity": inputs.resistances, "cores": inputs.cores,
    }  # fmt: skip
    return {name: hull(map(xy, rows)) for name, rows in surveys.items() if rows}
