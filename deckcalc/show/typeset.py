"""One line of a calculation set as mathematics: handcalcs sets the type, the field's way of writing is ours."""

from __future__ import annotations

import ast
import re
from collections.abc import Mapping
from functools import cache

from deckcalc.core.calculation import FUNCTIONS
from deckcalc.show import proof as readback

#: Symbols that the field writes otherwise than a Python name can.
WRITTEN = (
    (r"\bw_\{cm\}", "w/cm"),
    (r"\bw_\{cm,", "w/cm_{"),
    (r"\bf_\{c(r?\d?)\}", r"f'_{c\1}"),
    (r"\\operatorname\{(ln|Phi)\}", r"\\\1"),
)
ALONE = re.compile(r"\\left\( \\left\((-[^()]*)\\right\) \\right\)")  # a negative number in two pairs of brackets
WIDTH = 74  # characters of an equation that fit on one line of the sheet
ROW = 90  # characters of one row of an equation that is broken at its equals signs


class Typeset:
    """Stands for a value while handcalcs sets a line: whatever it is asked, it answers with the printed text."""

    def __init__(self, text: str) -> None:
        self.text = text

    def __format__(self, spec: str) -> str:
        return self.text

    def _repr_latex_(self) -> str:
        return self.text

    __str__ = _repr_latex_


class Renamed(ast.NodeTransformer):
    """Gives functions of a body the names under which handcalcs knows them."""

    def visit_Call(self, node: ast.Call) -> ast.Call:
        """Rename one call."""
        self.generic_visit(node)
        assert isinstance(node.func, ast.Name)
        node.func = ast.Name(FUNCTIONS[node.func.id][2])
        return node


@cache
def pattern(name: str, expression: str, operands: tuple[str, ...]) -> tuple[str, str, str]:
    """Have handcalcs set one line, with a mark in the place of every value; return symbol, formula and numbers."""
    from handcalcs.handcalcs import LatexRenderer

    source = f"{name} = {ast.unparse(Renamed().visit(ast.parse(expression, mode='eval')))}"
    marks = {operand: Typeset(mark(i)) for i, operand in enumerate(operands)}
    values = marks | {name: Typeset("0"), "pi": Typeset(r"\pi")}
    made = LatexRenderer(source, values, {"precision": None, "sci_not": None, "override": ""}).render()
    inner = made.split(r"\begin{aligned}")[1].split(r"\end{aligned}")[0].strip()
    left, middle, *_ = inner.split("&=")
    parts = middle.split("  = ")
    if len(parts) != 2:
        raise readback.ReadBackError(f"“{source}” was not set as a formula with its numbers; write it in two lines")
    return tidy(left), tidy(parts[0]), tidy(parts[1])


def mark(index: int) -> str:
    """Return a mark that nothing else in a line can be taken for."""
    return f"\ue000{index}\ue001"


def typeset(name: str, expression: str, texts: Mapping[str, str]) -> tuple[str, str, str]:
    """Set one line with printed values; return symbol, formula and numbers."""
    left, formula, numbers = pattern(name, expression, tuple(texts))
    for i, text in enumerate(texts.values()):
        numbers = numbers.replace(mark(i), text)
    return left, formula, ALONE.sub(r"\\left( \1 \\right)", numbers)


def tidy(tex: str) -> str:
    """Write symbols as the field does: one level of subscripts, words upright."""
    while (flat := re.sub(r"_\{(\w+)_\{([\w,]+)\}\}", r"_{\1,\2}", tex)) != tex:
        tex = flat
    for pattern, new in WRITTEN:
        tex = re.sub(pattern, new, tex)
    tex = re.sub(r"_\{([^{}]*[a-zA-Z]{2}[^{}]*)\}", r"_{\\mathrm{\1}}", tex)
    tex = re.sub(r"\\mathrm\{(\w+)\}(?!\})", r"\\mathrm{\1}", tex)
    return " ".join(tex.split())


@cache
def symbol(name: str) -> str:
    """Return the TeX of a name, as it stands in the formulas."""
    return pattern(name, f"{name} * 1", (name,))[0]


def tex_value(text: str) -> str:
    """Return a printed value (“12.5 mm”) as TeX, in brackets if it is negative."""
    number, _, unit = text.partition(" ")
    tex = number + (rf"\ \text{{{unit.replace('%', chr(92) + '%')}}}" if unit else "")
    return rf"\left({tex}\right)" if number.startswith("-") else tex


def width(tex: str) -> int:
    """Estimate how many characters wide a formula prints: a fraction is as wide as its wider half."""
    while match := re.search(r"\\frac\{([^{}]*(?:\{[^{}]*\}[^{}]*)*)\}\s*\{([^{}]*(?:\{[^{}]*\}[^{}]*)*)\}", tex):
        tex = tex[: match.start()] + max(match[1], match[2], key=len) + tex[match.end() :]
    return len(re.sub(r"\\(?:text|mathrm|operatorname|left|right|cdot|lceil|rceil)|[{}_^\\]| (?= )", "", tex))


def folded(tex: str) -> str:
    """Break a side of an equation that is too wide for a row, at the sum or difference nearest to its middle."""
    if width(tex) <= ROW:
        return tex
    steps = [
        match.start() for match in re.finditer(r" [+-] ", tex)
        if tex.count("{", 0, match.start()) == tex.count("}", 0, match.start())
        and tex.count(r"\left", 0, match.start()) == tex.count(r"\right", 0, match.start())
    ]  # fmt: skip
    if not steps:
        return tex
    at = min(steps, key=lambda step: abs(width(tex[:step]) - width(tex[step:])))
    return rf"{tex[:at]} \\ &\quad {folded(tex[at:].strip())}"
