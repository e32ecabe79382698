"""Inputs at random for calculations, and the script that a page would run of them."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterator
from functools import cache
from typing import Any
from unittest.mock import patch

import numpy as np

from deckcalc import published
from deckcalc.core import javascript, units
from deckcalc.core.boundary import Param
from deckcalc.core.calculation import Calculation
from deckcalc.live import declared, site

#: What has no translation today: least squares of scipy.
LEFT = {"chloride.fit_profile", "chloride.fit_profile_and_background", "chloride.fit_coefficient"}


#: Takes entries as people write them, and gives what is printed, what is wrong with them, or why there is no result.
HAND = """({key, rows}) => rows.map(([texts, system]) => {
  const { given, faults } = hand.entries(C[key], texts, system);
  if (Object.keys(faults).length) return { faults };
  try {
    const made = hand.written(C[key], given, system);
    return { texts: Object.fromEntries([...C[key].params, ...C[key].lines].map(({ name }) => [name, made.text(name)])), plain: made.plain };
  } catch (error) { if (!(error instanceof $.Refused)) throw error; return { refused: error.message }; }
})"""


@cache
def translated() -> dict[str, Calculation]:
    """Return the calculations that have a translation."""
    left = javascript.untranslated(published.register().values())
    return {key: one for key, one in published.register().items() if key not in left}


@cache
def code() -> str:
    """Return the script of all of them: what a page loads, and the calculations by key in `C`."""
    rules = javascript.Rules()
    with (
        patch.object(declared, "formulas", lambda *line: ("", "")),
        patch.object(declared, "inline", str),
    ):  # type is set slowly
        made = [f"{json.dumps(key)}: {declared.script(one, rules)}" for key, one in translated().items()]
    return "\n".join([site.engine(), javascript.functions(rules), f"const C = {{{', '.join(made)}}};"])


class Sample:
    """Inputs of one calculation, the same in every run: about its example, and all over its ranges."""

    def __init__(self, calculation: Calculation) -> None:
        self.calculation, self.random = calculation, random.Random(calculation.key)
        self.example: dict[str, float] = {}
        for name, text in published.example(calculation, "SI")[0].items():
            param = calculation.params[name]
            if not param.choices:
                plain = param.plain(published.read_argument(calculation, name, text), calculation.key)
                self.example[name] = float(np.ravel(plain)[0])
        listed = [param.several.least for param in calculation.params.values() if param.several]
        self.counts = (max(listed), 6) if listed else (1, 1)

    def one(self, param: Param) -> float:
        """Return a plain number in the range of an argument."""
        low, high = param.bounds if math.isfinite(param.bounds[0]) else (1.0, 100.0)
        known, chance = self.example.get(param.name), self.random.random()
        if known is not None and chance < 0.7:
            found = known if chance < 0.35 else min(max(known * self.random.uniform(0.8, 1.25), low), high)
        elif low > 0 and high / low > 100:
            found = math.exp(self.random.uniform(math.log(low), math.log(high)))
        else:
            found = self.random.uniform(low, high)
        return float(round(found)) if param.kind and param.kind.whole else found

    def several(self, param: Param, count: int) -> Any:
        """Return what an argument may be: a choice, a number, or readings."""
        if param.choices:
            return self.random.choice(param.choices)
        return [self.one(param) for _ in range(count)] if param.several else self.one(param)

    def numbers(self, count: int) -> Iterator[dict[str, Any]]:
        """Return plain inputs."""
        for _ in range(count):
            readings = self.random.randint(*self.counts)
            yield {name: self.several(param, readings) for name, param in self.calculation.params.items()}

    def texts(self, count: int, system: str) -> Iterator[dict[str, str]]:
        """Return inputs as people write them, in the units of a system."""
        for row in self.numbers(count):
            yield {name: self.written(self.calculation.params[name], value, system) for name, value in row.items()}

    def written(self, param: Param, value: Any, system: str) -> str:
        """Write a plain input with two to four digits."""
        if param.choices:
            return str(value)
        assert param.kind
        numbers = [
            units.magnitude(units.quantity(one, param.target), param.kind, system) for one in np.atleast_1d(value)
        ]
        short = [float(f"{one:.{self.random.choice([2, 3, 4])}g}") for one in numbers]
        return "; ".join(f"{one:.10g} {param.kind.symbol(system)}".strip() for one in short)
