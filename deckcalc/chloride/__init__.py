"""Chloride: contents on one basis, at the depth of the bars, and the thresholds to hold them against."""

from __future__ import annotations

from deckcalc.chloride.bases import cement_share, concrete_share, content_from_cement_share, content_from_concrete_share
from deckcalc.chloride.profile import ContentAtDepth, above_background, bracket, content_at_depth, mid_depth
from deckcalc.chloride.threshold import Threshold, threshold, thresholds

__all__ = ["ContentAtDepth", "Threshold", "above_background", "bracket", "cement_share", "concrete_share",
           "content_at_depth", "content_from_cement_share", "content_from_concrete_share", "mid_depth", "threshold",
           "thresholds"]  # fmt: skip
