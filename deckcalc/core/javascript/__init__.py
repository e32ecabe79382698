"""Calculations as JavaScript, from the one declaration: for pages that work without a server.

A body is of a language so small that every sign of it has its like in JavaScript, in the same order of operations; look-ups
are translated by `rules`. What has no translation is named with its reason (`untranslated`), never written by hand.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from importlib.resources import files

from pint.errors import PintError

from deckcalc.core import tables, units
from deckcalc.core.boundary import constant
from deckcalc.core.calculation import REGISTER, Calculation, Line
from deckcalc.core.javascript import reading
from deckcalc.core.javascript.rules import Rules, TranslationError, literal

__all__ = ["Rules", "TranslationError", "functions", "lines", "reading", "runtime", "untranslated"]

SIGNS: dict[type[ast.operator], str] = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/", ast.Pow: "**"}
TEXT = re.compile(r'"(?:[^"\\]|\\.)*"')
#: The functions of a body, by those of the page; `exp` and `sqrt` are the language's own.
FUNCTIONS = {
    "larger": "Math.max", "smaller": "Math.min", "round_up": "$.roundUp", "sqrt": "Math.sqrt", "exp": "Math.exp", "ln": "$.ln",
    "log10": "$.log10", "erf": "$.erf", "erfc": "$.erfc", "Phi": "$.Phi",
}  # fmt: skip


def runtime(*names: str) -> str:
    """Return scripts that travel with this package: what bodies and look-ups call, how values are read and printed."""
    return "\n".join((files(__package__) / f"{name}.js").read_text(encoding="utf-8") for name in names)


def expression(node: ast.AST) -> str:
    """Return an expression of a body, each operation in brackets.

    Examples
    --------
    >>> expression(ast.parse("-a ** 2 + round_up(b) * pi", mode="eval").body)
    '((-((v.a ** 2))) + ($.roundUp(v.b) * Math.PI))'
    """
    if isinstance(node, ast.BinOp):
        return f"({expression(node.left)} {SIGNS[type(node.op)]} {expression(node.right)})"
    if isinstance(node, ast.UnaryOp):
        return f"(-({expression(node.operand)}))"
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        return f"{FUNCTIONS[node.func.id]}({', '.join(map(expression, node.args))})"
    if isinstance(node, ast.Name):
        return "Math.PI" if node.id == "pi" else f"v.{node.id}"
    if isinstance(node, ast.Constant):
        return literal(node.value)
    raise TranslationError(f"{ast.unparse(node)} is not of the language of bodies")


def line(owner: Calculation, one: Line, rules: Rules) -> str:
    """Return a line of a body as a function of the values that stand before it, in the plain numbers of the body."""
    if one.helper:
        fixed = owner.constants
        given = [literal(fixed[name]) if name in fixed else f"v.{name}" for name in one.arguments]
        return f"(v) => {rules.name(one.helper)}({', '.join(given)})"
    if one.constant:
        return f"(v) => {literal(owner.constants[one.constant])}"
    lists = {name for name, param in owner.params.items() if param.several}
    if listed := lists & {*one.operands}:
        raise TranslationError(f"{one.name} works on each reading of {', '.join(sorted(listed))}")
    return f"(v) => {expression(ast.parse(one.expression, mode='eval').body)}"


def lines(calculation: Calculation, rules: Rules) -> dict[str, str]:
    """Return the lines of a calculation as JavaScript, by the name that each gives.

    Parameters
    ----------
    calculation : Calculation
    rules : Rules
        Takes up the look-ups that it calls.

    Raises
    ------
    TranslationError
        With the reason.

    Examples
    --------
    >>> from deckcalc.steel import strip_area
    >>> lines(strip_area, Rules())
    {'n': '(v) => (v.b / v.s)', 'A_s': '(v) => (v.n * v.A_b)'}
    """
    return {one.name: line(calculation, one, rules) for one in calculation.lines}


def functions(rules: Rules) -> str:
    """Return the look-ups that were translated, and the tables, constants and units that they name, as JavaScript."""
    code = "\n".join(rules.code[name] for name in sorted(rules.code)) + "\n"
    texts = {json.loads(text) for text in TEXT.findall(code)}
    read = {
        name: {"title": tables.load(name).facts["title"], "rows": tables.load(name).rows}
        for name in tables.names()
        if name in rules.tables | texts or any(text.endswith("_") and name.startswith(text) for text in texts)
    }  # fmt: skip
    converting = "\n".join(text for text in rules.code.values() if "$.quantity(" in text)
    named = {json.loads(text) for text in TEXT.findall(converting)}
    data = {"tables": read, "constants": known(texts, constant), "factors": known(named - {""}, factor)}
    return "".join(f"Object.assign($.{name}, {compact(one)});\n" for name, one in data.items()) + code


def compact(data: object) -> str:
    """Return data as JSON without blanks."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def factor(text: str) -> float:
    """Return the factor of a unit to the coherent SI unit."""
    return float(units.quantity(1.0, units.unit(text)).to_base_units().magnitude)


def known(texts: Iterable[str], read: Callable[[str], float]) -> dict[str, float]:
    """Return what each text is, those that cannot be read left out."""
    found = {}
    for text in sorted(texts):
        with suppress(TypeError, ValueError, PintError):
            found[text] = read(text)
    return found


def untranslated(calculations: Iterable[Calculation] = ()) -> dict[str, str]:
    """Return the calculations that have no translation, by key, with the reason; of all that are declared if none are given."""
    found = {}
    for one in calculations or REGISTER.values():
        try:
            lines(one, Rules())
        except TranslationError as error:
            found[one.key] = str(error)
    return found
