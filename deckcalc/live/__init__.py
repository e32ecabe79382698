"""Calculations alive: forms that work out as somebody types, exercises, and pages that work without a server."""

from __future__ import annotations

from importlib import import_module
from typing import Any

PLACES = {
    "CHAINS": "chains",
    "chain": "chains",
    "Workbook": "widget",
    "workbook": "widget",
    "Lesson": "lesson",
    "demo": "lesson",
    "worked": "lesson",
    "ReviewPage": "reviewing",
    "review_page": "reviewing",
}
__all__ = [*PLACES]


def __getattr__(name: str) -> Any:
    """Import a part when it is first asked for: pages and marks need no Jupyter."""
    if name not in PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{PLACES[name]}"), name)
