"""The patch itself: survey, repair limits, how deep the concrete comes out, and how much goes back in.

The geometry (`survey`, `marking`, `floor`) is imported by those who need it: it brings in shapely and scipy.
"""

from __future__ import annotations

from deckcalc.patch.formulas.depth import (
    ClearSpace,
    PatchCover,
    PatchDepth,
    RemovalDepth,
    clear_space,
    patch_cover,
    patch_depth,
    removal_depth,
    saw_cut,
)
from deckcalc.patch.formulas.limits import PatchLimits, box_or_split, distress_share, patch_limits
from deckcalc.patch.formulas.slab import bottom_mat, overlay_volume, panel_depth, remaining_slab
from deckcalc.patch.formulas.surfaces import bars_in_hole, bond_area, bonding_grout, curing_area, debris, whole_number
from deckcalc.patch.formulas.volume import (
    OrderTotal,
    PatchVolume,
    neat_volume,
    order_total,
    patch_volume,
    through_part,
    undercut_volume,
)

__all__ = [
    "ClearSpace", "OrderTotal", "PatchCover", "PatchDepth", "PatchLimits", "PatchVolume", "RemovalDepth", "bars_in_hole", "bond_area",
    "bonding_grout", "bottom_mat", "box_or_split", "clear_space", "curing_area", "debris", "distress_share", "neat_volume",
    "order_total", "overlay_volume", "panel_depth", "patch_cover", "patch_depth", "patch_limits", "patch_volume", "remaining_slab",
    "removal_depth", "saw_cut", "through_part", "undercut_volume", "whole_number",
]  # fmt: skip
