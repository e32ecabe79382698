"""Places of the bars: each in the patch that it names, apart from its neighbours, and in the order in which they lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from deckcalc.base.context import Context
from deckcalc.base.fields import Faults
from deckcalc.core.bars import bar_diameter
from deckcalc.core.units import System
from deckcalc.patch.design.marking import Marked, Reading, assigned, same_places
from deckcalc.patch.design.survey import where
from deckcalc.steel.inputs import BarRow, Inputs

NOISE = 2e-6  # metres


@dataclass(frozen=True)
class Placed:
    """A bar whose place is given, in metres."""

    row: BarRow
    station: float
    offset: float

    def words(self, system: System) -> str:
        """Return where it lies, in words."""
        return where(system, self.station, self.offset)


def check_bars(context: Context[Inputs], marked: Marked, faults: Faults) -> None:
    """Check bars against the patches that they name, as depth readings are, and against their neighbours."""
    patches, system = marked.patches, context.system
    known = {patch.patch for patch in patches}
    placed = []
    for row in context.inputs.bars:
        if not row.patch:
            faults.append(
                f"bars.csv, bar {row.bar}, column patch: empty; the job has patches {', '.join(sorted(known))}: say in which it lies"
            )
        elif row.patch not in known:
            faults.append(f"bars.csv, bar {row.bar}: the survey gives no patch “{row.patch}”")
        if row.station is not None and row.offset is not None:
            placed.append(Placed(row, float(row.station), float(row.offset)))
        elif row.station is not None or row.offset is not None:
            faults.append(f"bars.csv, bar {row.bar}: station and offset go together; one of them is empty")
    points = [Reading(bar.row.bar, bar.station, bar.offset, None, None) for bar in placed]
    owned, _ = assigned(points, [patch.piece.outline for patch in patches], marked.within)
    inside = {patch.patch: {point.name for point in mine} for patch, mine in zip(patches, owned, strict=True)}
    for bar in placed:
        name, patch = bar.row.bar, bar.row.patch
        if patch in inside and name not in inside[patch]:
            there = next((f"patch {other}" for other, names in inside.items() if name in names), "no patch")
            faults.append(
                f"bars.csv, bar {name}: {bar.words(system)} lies in {there}, not in {patch}; correct patch or place"
            )
    layers: dict[tuple[str, str], list[Placed]] = {}
    for bar in placed:
        layers.setdefault((bar.row.patch, bar.row.layer), []).append(bar)
    for bars in layers.values():
        check_order(bars, system, faults)


def check_order(bars: list[Placed], system: System, faults: Faults) -> None:
    """Check that the bars of one layer of a patch lie apart and in order: neighbours are judged together."""
    for i, j in same_places(np.array([(bar.station, bar.offset) for bar in bars])):
        faults.append(
            f"bars.csv, bars {bars[i].row.bar} and {bars[j].row.bar}: two bars of one layer at one place, "
            f"{bars[i].words(system)}; delete one, or correct its place"
        )
    along = [
        bar.station if bar.row.layer.endswith("main") else bar.offset for bar in bars
    ]  # main bars run across traffic
    direction = math.copysign(1.0, along[-1] - along[0])
    for before, bar, step in zip(bars, bars[1:], np.diff(along), strict=False):
        name = bar.row.bar
        if direction * step < -NOISE:
            faults.append(
                f"bars.csv, bar {name}: it does not lie beyond {before.row.bar}; give the bars of a layer in the order in which "
                "they lie, since neighbours are judged together"
            )
        elif direction * step < float(bar_diameter(bar.row.size).m_as("m")):
            faults.ask(
                f"bars.{name}.place",
                f"bars.csv, bar {name}",
                f"it lies less than a bar diameter from {before.row.bar}, as if one bar were measured at two places",
            )
