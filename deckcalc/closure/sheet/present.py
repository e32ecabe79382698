"""Parts of the sheet that a job without closures does not have."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from deckcalc.closure.design import ClosurePlan
from deckcalc.show.sections import Text


def where_present(function: Callable[..., Text]) -> Callable[..., Text]:
    """Let a part of the sheet be empty where the job plans no closure."""

    @wraps(function)
    def part(plan: ClosurePlan, *others: Any) -> Text:
        return function(plan, *others) if plan.inputs.closure else Text("")

    return part
