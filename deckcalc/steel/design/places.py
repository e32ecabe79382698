"""Places of the bars: each in the patch that it names, apart from its neighbours, and in the order in which they lie."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from deckcalc.base.fields import Faults
from deckcalc.patch.design.marking import Marked, Reading, assigned
from deckcalc.patch.design.survey import where
from deckcalc.patch.formulas.unsound import same_places
from deckcalc.steel import bar_diameter

NOISE = 2e-6  # metres


def check_places(bars: Sequence[Any], marked: Marked, system: str, faults: Faults) -> None:
    """Check bars against the patches that they name, as depth readings are, and against their neighbours."""
    patches = marked.patches
    placed = []
    for row in bars:
        if (row.station is None) != (row.offset is None):
            faults.append(f"bars.csv, bar {row.bar}: station and offset go together; one of them is empty")
        elif row.station is not None:
            placed.append(row)
    points = [Reading(row.bar, float(row.station), float(row.offset), None, None) for row in placed]
    owned, _ = assigned(points, [patch.piece.outline for patch in patches], marked.within)
    held = {patch.patch: {point.name for point in mine} for patch, mine in zip(patches, owned, strict=True)}
    for row in placed:
        if row.patch in held and row.bar not in held[row.patch]:
            there = [name for name, bars in held.items() if row.bar in bars]
            faults.append(
                f"bars.csv, bar {row.bar}: {where(system, row.station, row.offset)} lies in "
                f"{f'patch {there[0]}' if there else 'no patch'}, not in {row.patch}; correct patch or place"
            )
    for name, layer in dict.fromkeys((row.patch, row.layer) for row in placed):
        check_order([row for row in placed if (row.patch, row.layer) == (name, layer)], system, faults)


def check_order(bars: list[Any], system: str, faults: Faults) -> None:
    """Check that the bars of one layer of a patch lie apart and in order: neighbours are judged together."""
    for i, j in same_places(np.array([(row.station, row.offset) for row in bars])):
        faults.append(
            f"bars.csv, bars {bars[i].bar} and {bars[j].bar}: two bars of one layer at one place, "
            f"{where(system, bars[i].station, bars[i].offset)}; delete one, or correct its place"
        )
    along = [row.station if row.layer.endswith("main") else row.offset for row in bars]  # main bars run across traffic
    way = math.copysign(1.0, along[-1] - along[0])
    for before, row, step in zip(bars, bars[1:], np.diff(along), strict=False):
        if way * step < -NOISE:
            faults.append(
                f"bars.csv, bar {row.bar}: it does not lie beyond {before.bar}; give the bars of a layer in the order in which "
                "they lie, since neighbours are judged together"
            )
        elif way * step < float(bar_diameter(row.size).m_as("m")):
            faults.ask(
                f"bars.{row.bar}.place",
                f"bars.csv, bar {row.bar}",
                f"it lies less than a bar diameter from {before.bar}, as if one bar were measured at two places",
            )
