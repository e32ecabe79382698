"""Choices of a field, written with other case, hyphens or blanks than the known words, or as in the US."""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping
from contextvars import ContextVar
from functools import cache
from typing import Any, Literal, get_args, get_origin

from deckcalc.core.words import worded

#: What was read as a known choice although it is written otherwise, kept while a job is read: what was found, and the choice.
FOLDED: ContextVar[dict[str, str] | None] = ContextVar("FOLDED", default=None)


@cache
def choices(annotation: Hashable) -> dict[str, str]:
    """Return the choices of a field by their letters alone, in US words as well; none where the field takes other texts as well."""
    parts, found = list[Any]([annotation]), list[str]()
    while parts:
        part = parts.pop()
        if part is str:
            return {}
        if get_origin(part) is Literal:
            found += [one for one in get_args(part) if isinstance(one, str)]
        else:
            parts += get_args(part)
    alike = [letters(one) for one in found]
    known = {key: one for key, one in zip(alike, found, strict=True) if key and alike.count(key) == 1}
    return {letters(worded(one, "US")): one for one in known.values()} | known


def letters(text: str) -> str:
    """Return a text without case, hyphens and blanks."""
    return re.sub(r"[\s\u2010-\u2015_-]+", "", text).casefold()


def chosen(value: Any, known: Mapping[str, str]) -> Any:
    """Return the known choice from which a text differs in case, hyphens or blanks alone, or the value as it is.

    Examples
    --------
    >>> chosen("Top Main", choices(Literal["top main", "bottom main"])), chosen("top", choices(Literal["top main"]))
    ('top main', 'top')
    """
    if isinstance(value, list):
        return [chosen(one, known) for one in value]
    found = known.get(letters(value), value) if isinstance(value, str) else value
    if found != value and (folded := FOLDED.get()) is not None:
        folded[value] = found
    return found
