"""The measured bars with what is added beside them, for the plans of the patches."""

from __future__ import annotations

from deckcalc.patch.sheet.plans import BarLine
from deckcalc.steel.design.results import Steel


def bar_lines(steel: Steel) -> list[BarLine]:
    """Return every measured bar whose place is known."""
    return [
        BarLine(
            bar.row.patch, bar.name, not bar.main, float(bar.row.station), float(bar.row.offset),
            int(bar.supplement.n.magnitude) if bar.supplement is not None else 0, bar.size,
            float(bar.cut.m_as("m")) if bar.cut is not None else None,
        )
        for bar in steel if bar.row.station is not None and bar.row.offset is not None
    ]  # fmt: skip
