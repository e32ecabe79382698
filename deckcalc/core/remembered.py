"""Costly functions of plain numbers, remembered by what they were given, so that a changed job works out again only what changed."""

from __future__ import annotations

import pickle
from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


def remembered(most: int) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Return a decorator that keeps the results of the last calls, whose arguments are compared by their bytes.

    Unlike `functools.lru_cache` it takes arrays and mappings. What is returned is shared: callers do not write into it.

    Parameters
    ----------
    most : int
        How many results are kept.

    Examples
    --------
    >>> calls = []
    >>> @remembered(most=8)
    ... def total(values):
    ...     calls.append(values)
    ...     return sum(values)
    >>> total([1, 2]), total([1, 2]), total([1, 3]), len(calls)
    (3, 3, 4, 2)
    """

    def keep(function: Callable[P, R]) -> Callable[P, R]:
        kept: OrderedDict[bytes, Any] = OrderedDict()

        @wraps(function)
        def call(*given: P.args, **named: P.kwargs) -> R:
            key = pickle.dumps((given, named), protocol=pickle.HIGHEST_PROTOCOL)
            if key not in kept:
                kept[key] = function(*given, **named)
                if len(kept) > most:
                    kept.popitem(last=False)
            kept.move_to_end(key)
            found: R = kept[key]
            return found

        return call

    return keep
