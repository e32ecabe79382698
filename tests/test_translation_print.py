"""What a page prints of a calculation, digit by digit, is what the library prints, in either unit system."""

from __future__ import annotations

import re
from typing import Any

from in_browser import engine
from translated import HAND, Sample, code, translated

from deckcalc import published
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.units import InputError
from deckcalc.show.hand import HandCalculation
from deckcalc.show.proof import ReadBackError

#: Inputs of each calculation in each unit system.
PRINTED = 25


def by_hand(one: Calculation[..., Any], texts: dict[str, str], system: str) -> dict[str, str] | str | None:
    """Return what the library prints of entries, by name; a text where it refuses them, None where it proves no print.

    A difference of two numbers that are alike to their last digits is noise, and differs from one unit to the next.
    """
    try:
        given = {name: published.read_argument(one, name, text) for name, text in texts.items()}
        made = HandCalculation(one, system, given)
    except InputError as error:
        return str(error)
    except ReadBackError:
        return None
    return {name: made.text(name) for name in made.kinds}


def test_printed_digits_are_those_of_the_library() -> None:
    unproved = 0
    with engine(code()) as call:
        for key, one in translated().items():
            sample = Sample(one)
            rows = [(texts, system) for system in units.SYSTEMS for texts in sample.texts(PRINTED, system)]
            for (texts, system), theirs in zip(rows, call(HAND, {"key": key, "rows": rows}), strict=True):
                mine = by_hand(one, texts, system)
                if mine is None:
                    unproved += 1
                elif isinstance(mine, dict):
                    assert mine == theirs.get("texts"), (key, texts, system, theirs)
                else:
                    assert theirs.keys() <= {"faults", "refused"}, (key, texts, mine, theirs)
                    for name in theirs.get("faults", {}):
                        assert re.search(rf"\b{name}\b", mine), (key, texts, mine, theirs)
    assert unproved < 10
