"""What a new job about a subject begins with; each room declares its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

Rows = str | Mapping[str, str | tuple[str, ...]]


@dataclass(frozen=True)
class Start:
    """Stands as `START` in the inputs of a subject: what it begins with beside what its `NEEDS` ask for.

    Parameters
    ----------
    fields : dict
        Fields and columns that may be left out by themselves, and that such a job wants: by their place, as
        ``"plan.girders"``; None, or for each unit system in which it is wanted its example, or None for that of the demo
        job. Those of a section or table that the job does not have are passed over.
    rows : dict
        Tables with which it begins, and of each the rows: names of rows of the demo job, or ``"*"`` for all; or such
        names, or the rows themselves, for each unit system.
    own : tuple of str
        Tables and fields that no other job takes over: what was measured, and what goes by patches.
    """

    fields: Mapping[str, Mapping[str, Any] | None] = field(default_factory=dict)
    rows: Mapping[str, Rows] = field(default_factory=dict)
    own: tuple[str, ...] = ()
