"""Calculations alive: forms that work out as somebody types, several on one page, in Jupyter or as plain pages."""

from deckcalc.live.chains import CHAINS, chain
from deckcalc.live.widget import Workbook, workbook

__all__ = ["CHAINS", "Workbook", "chain", "workbook"]
