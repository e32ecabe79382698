"""The patch itself: its marked limits, how deep the concrete comes out, and how much goes back in."""

from __future__ import annotations

from deckcalc.patch.depth import ClearSpace, PatchDepth, RemovalDepth, clear_space, patch_depth, removal_depth, saw_cut
from deckcalc.patch.limits import PatchLimits, patch_limits
from deckcalc.patch.volume import BondingGrout, OrderTotal, PatchVolume, bonding_grout, order_total, patch_volume

__all__ = [
    "BondingGrout", "ClearSpace", "OrderTotal", "PatchDepth", "PatchLimits", "PatchVolume", "RemovalDepth", "bonding_grout", "clear_space",
    "order_total", "patch_depth", "patch_limits", "patch_volume", "removal_depth", "saw_cut",
]  # fmt: skip
