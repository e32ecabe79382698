"""The declaration of a calculation as a page takes it: arguments, printed units, lines with their formulas as templates."""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Mapping
from functools import cache
from typing import Any, get_args

from deckcalc import published
from deckcalc.core import javascript, units
from deckcalc.core.boundary import Param
from deckcalc.core.calculation import Calculation, Line
from deckcalc.core.javascript import Rules
from deckcalc.core.javascript.reading import kind as kind_read
from deckcalc.core.javascript.rules import literal
from deckcalc.core.ranges import speaking
from deckcalc.core.units import SYSTEMS, Kind
from deckcalc.core.words import worded
from deckcalc.show.mathml import mathml
from deckcalc.show.typeset import mark, symbol, typeset


def script(calculation: Calculation, rules: Rules) -> str:
    """Return the declaration of a calculation as a JavaScript object, its lines as functions.

    Parameters
    ----------
    calculation : Calculation
    rules : Rules
        Takes up the look-ups that it calls.

    Raises
    ------
    TranslationError
        If it has no translation.
    """
    work = javascript.lines(calculation, rules)
    made = {
        "key": calculation.key,
        "name": calculation.name,
        "params": [argument(calculation, one) for one in calculation.params.values()],
    }
    lines = [
        f"{{run: {work[one.name]}, ...{literal(declared_line(calculation, one))}}}" for one in calculation.lines
    ]  # fmt: skip
    return f"{{...{literal(made)}, lines: [{', '.join(lines)}]}}"


def printed(owner: Calculation, name: str, kind: Kind) -> dict[str, dict[str, Any]]:
    """Return how a name is printed in each system: its unit, factor and offset to the plain number, and the trade's decimals."""
    found = {}
    for system in SYSTEMS:
        text = owner.unit_of.get(name, kind.symbol(system))
        scale, zero = (1.0, 0.0) if owner.empirical else kind.scale(units.unit(text))
        at_home = "SI" if owner.unit_of.get(name) == kind.si else "US" if owner.unit_of.get(name) == kind.us else system
        own, zero_own = kind.scale(units.unit(text))
        found[system] = {
            "unit": text, "scale": scale, "zero": zero, "decimals": kind.decimals(at_home), "own": [own, zero_own],
        }  # fmt: skip
    return found


def argument(owner: Calculation, param: Param) -> dict[str, Any]:
    """Return one argument: what it may be, and how it is read and printed."""
    made: dict[str, Any] = {"name": param.name, "meaning": param.meaning, "required": param.required}
    made["wanted"] = {system: wanted(param, system) for system in SYSTEMS}
    if not param.required:
        made["default"] = param.plain(param.default, owner.name)
    if param.kind is None or param.choices:
        return made | {"choices": list(param.choices)}
    kind = param.kind
    low, high = param.bounds
    edge = max(abs(low), abs(high)) if kind.is_temperature else abs(low)
    made["target"] = list(kind.scale(param.target))
    return made | {
        "kind": kind_read(kind), "several": param.several.least if param.several else 0, "low": low, "high": high,
        "slack": 1e-9 * edge if math.isfinite(edge) else 0.0, "above": bool(param.range and param.range.above),
        "whole": kind.whole, "printed": printed(owner, param.name, kind), **exceptions(kind),
    }  # fmt: skip


def exceptions(kind: Kind) -> dict[str, bool]:
    """Return whether digits follow a rule of their own, as those of counts, probabilities and temperatures do."""
    rules = {
        "count": kind.name == "count",
        "probability": kind.name == "probability",
        "degrees": dict(kind.dimensionality) == {"[temperature]": 1},
    }
    return {name: True for name, holds in rules.items() if holds}


def wanted(param: Param, system: str) -> str:
    """Return what an argument may be, in the words of a system."""
    with speaking(system):
        return worded(param.wanted, system)


def declared_line(owner: Calculation, line: Line) -> dict[str, Any]:
    """Return one line: what it says, its numbers as a template, and how its result is printed."""
    kind = owner.kinds[line.name]
    made: dict[str, Any] = {
        "name": line.name, "operands": list(line.operands), "exact": bool(line.helper or line.constant),
        "printed": printed(owner, line.name, kind), **exceptions(kind),
    }  # fmt: skip
    if line.helper:
        made["sentence"] = {system: worded(sentence(owner, line), system) for system in SYSTEMS}
    elif not line.constant:
        made["bare"] = owner.empirical
        made["numbers"] = formulas(line.name, line.expression, line.operands)[1]
        if rivals := governing(line):
            made["rivals"] = rivals
    return made


def sentence(owner: Calculation, line: Line) -> str:
    """Return the sentence of a look-up, with a mark in the place of every value."""
    assert line.helper
    said = {name: mark(place) for place, name in enumerate(line.operands)}
    said |= {name: str(value) for name, value in owner.written_constants.items()}
    return line.helper.sentence(dict(zip(line.helper.params, map(said.__getitem__, line.arguments), strict=True)))


def governing(line: Line) -> list[list[str]]:
    """Return the two names of which a line takes the larger or the smaller, each with its symbol; none if it takes none."""
    call = ast.parse(line.expression, mode="eval").body
    if not (isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in ("larger", "smaller")):
        return []
    names = [arg.id for arg in call.args if isinstance(arg, ast.Name)]
    return [[name, inline(symbol(name))] for name in names] if len(names) == 2 else []


@cache
def formulas(name: str, expression: str, operands: tuple[str, ...]) -> tuple[str, str]:
    """Return a line as MathML: the formula, and its numbers with a mark in the place of every value."""
    texts = {operand: rf"\text{{{mark(place)}}}" for place, operand in enumerate(operands)}
    left, formula, numbers = typeset(name, expression, texts)
    return inline(f"{left} = {formula}"), inline(f"= {numbers}")


def inline(tex: str) -> str:
    """Return TeX as MathML in a line of its own making, its fractions full size, without what a page does not need."""
    made = mathml(tex).replace(' xmlns="http://www.w3.org/1998/Math/MathML"', "").replace(' display="block"', "")
    made = re.sub(r' (?:stretchy|fence)="true"| form="(?:prefix|postfix)"', "", made)
    made = re.sub(
        r"&#x0*([0-9A-F]+);",
        lambda one: chr(int(one[1], 16)) if int(one[1], 16) > 126 else f"&#{int(one[1], 16)};",
        made,
    )
    return made.replace("<math>", '<math class="shown">')


def start(calculation: Calculation) -> Mapping[str, dict[str, str]]:
    """Return the values that a form begins with in each system, as people write them."""
    found = {}
    for system in get_args(units.System):
        others = {name: initial(param, system) for name, param in calculation.params.items()}
        found[system] = others | published.example(calculation, system)[0]
    return found


def initial(param: Param, system: str) -> str:
    """Return the default of an argument, or else its first choice or the middle of its range."""
    if not param.choices:
        return published.middle(param, system)
    return param.choices[0] if param.required else str(param.default)
