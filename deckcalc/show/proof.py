"""The proof that a printed line is true: read it back as a checker would and work it out from the printed numbers.

Nothing here knows how the line was made. The reader understands the TeX that a sheet prints (fractions, brackets,
powers, roots, elementary functions, max, min, ceilings, numbers with units) and gives back what the printed numbers come to.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from typing import Any

from pint.errors import PintError

from deckcalc.core import units

TOKEN = re.compile(
    r"\s*(?:(?P<number>\d+(?:\.\d+)?)(?:\\\s\\text\{(?P<unit>[^}]*)\})?"
    r"|\\(?P<function>operatorname\{\w+\}|exp|ln|log_\{10\}|Phi)(?!\w)"
    r"|(?P<open>\\left\s*(?:\(|\\lceil)|\()|(?P<close>\\right\s*(?:\)|\\rceil)|\))"
    r"|(?P<word>\\frac|\\sqrt|\\pi|\\cdot|\\times)|(?P<comma>,(?:\\\s)?)|(?P<sign>[-+^{}]))"
)

#: Functions as they are printed, what a checker would take for them, and how many arguments they have.
FUNCTIONS: dict[str, tuple[Callable[..., Any], int]] = {
    "operatorname{max}": (max, 2), "operatorname{min}": (min, 2), "exp": (math.exp, 1), "ln": (math.log, 1),
    "log_{10}": (math.log10, 1), "operatorname{erf}": (math.erf, 1), "operatorname{erfc}": (math.erfc, 1),
    "Phi": (lambda x: math.erfc(-x / math.sqrt(2)) / 2, 1),
}  # fmt: skip


class ReadBackError(ValueError):
    """A printed line that cannot be read, or does not come to what it says."""


class Reader:
    """Reads one printed expression.

    Parameters
    ----------
    text : str
        TeX as printed.
    symbols : dict, optional
        Values of printed symbols, to read the formula itself instead of the line with numbers.
    """

    def __init__(self, text: str, symbols: Mapping[str, Any] | None = None) -> None:
        self.text, self.position = text, 0
        self.symbols = dict(sorted((symbols or {}).items(), key=lambda item: -len(item[0])))
        self.kind, self.value, self.unit = "", "", ""
        self.advance()

    def advance(self) -> None:
        """Move to the next token."""
        rest = self.text[self.position :].lstrip()
        self.position = len(self.text) - len(rest)
        if not rest:
            self.kind, self.value = "end", ""
            return
        for symbol in self.symbols:
            if rest.startswith(symbol) and not re.match(r"[\w']|_\{", rest[len(symbol) :]):
                self.kind, self.value = "symbol", symbol
                self.position += len(symbol)
                return
        match = TOKEN.match(rest)
        if not match:
            raise ReadBackError(f"cannot read “{rest[:40]}”")
        self.kind = next(name for name in match.groupdict() if name != "unit" and match[name] is not None)
        self.value, self.unit = match[self.kind], (match["unit"] or "").replace("\\%", "%")
        self.position += match.end()

    def take(self, kind: str, value: str | None = None) -> None:
        """Step over a token that must stand here."""
        if self.kind != kind or (value is not None and self.value != value):
            raise ReadBackError(f"expected {value or kind}, found “{self.value}” in “{self.text}”")
        self.advance()

    def whole(self) -> Any:
        """Read everything."""
        value = self.sum()
        self.take("end")
        return value

    def sum(self) -> Any:
        """Terms joined by plus and minus."""
        value = self.product()
        while self.kind == "sign" and self.value in "+-":
            plus = self.value == "+"
            self.advance()
            term = self.product()
            value = value + term if plus else value - term
        return value

    def product(self) -> Any:
        """Factors joined by the multiplication dot."""
        value = self.power()
        while self.kind == "word" and self.value in (r"\cdot", r"\times"):
            self.advance()
            value = value * self.power()
        return value

    def power(self) -> Any:
        """A value, perhaps with a sign before it and an exponent after it."""
        if self.kind == "sign" and self.value == "-":
            self.advance()
            return -self.power()
        value = self.single()
        if self.kind == "sign" and self.value == "^":
            self.advance()
            exponent = self.braced()
            value = value ** (exponent.m_as("") if isinstance(exponent, units.Quantity) else exponent)
        return value

    def braced(self) -> Any:
        """An expression in braces."""
        self.take("sign", "{")
        value = self.sum()
        self.take("sign", "}")
        return value

    def single(self) -> Any:
        """A number with its unit, a symbol, a fraction, a root, a bracket or a function."""
        kind, text, unit = self.kind, self.value, self.unit
        self.advance()
        if kind == "number":
            return units.registry().Quantity(float(text), units.unit(unit)) if unit else float(text)
        if kind == "symbol":
            return self.symbols[text]
        if kind == "word" and text == r"\pi":
            return math.pi
        if kind == "word" and text == r"\frac":
            over = self.braced()
            return over / self.braced()
        if kind == "word" and text == r"\sqrt":
            return self.braced() ** 0.5
        if kind == "open":
            value = self.sum()
            self.take("close")
            return math.ceil(round(pure(value), 9)) if "ceil" in text else value
        if kind == "function":
            return self.function(text)
        raise ReadBackError(f"cannot read “{text}” in “{self.text}”")

    def function(self, name: str) -> Any:
        """A function of what stands in the brackets after it."""
        if name not in FUNCTIONS:
            raise ReadBackError(f"cannot read “{name}” in “{self.text}”")
        work, count = FUNCTIONS[name]
        self.take("open")
        given = [self.sum()]
        for _ in range(count - 1):
            self.take("comma")
            given.append(self.sum())
        self.take("close")
        try:
            return work(*(given if count > 1 else map(pure, given)))
        except (ValueError, OverflowError) as error:
            raise ReadBackError(f"{name} cannot be taken in “{self.text}”: {error}") from None


def pure(value: Any) -> float:
    """Return a value without dimension as a number."""
    return float(value.m_as("")) if isinstance(value, units.Quantity) else float(value)


def check_line(formula: str, numbers: str, result: str, symbols: Mapping[str, Any]) -> float:
    """Work a printed line out from its printed numbers, and the formula from the printed values of its symbols.

    Parameters
    ----------
    formula, numbers, result : str
        The three parts of the printed line, as TeX.
    symbols : dict
        Printed value of each symbol of the formula.

    Returns
    -------
    float
        Largest difference, in units of half the last printed digit of the result.

    Raises
    ------
    ReadBackError
        If the line cannot be read, or comes to something else than it prints.
    """
    printed = Reader(result).whole()
    last = re.search(r"\d+(?:\.(\d+))?", result)
    assert last
    half = 0.5 * 10.0 ** -len(last[1] or "")
    worst = 0.0
    for text, known in ((numbers, {}), (formula, symbols)):
        try:
            value = Reader(text, known).whole()
            if isinstance(printed, units.Quantity):
                quantity = value if isinstance(value, units.Quantity) else units.registry().Quantity(value, "")
                difference = quantity.m_as(printed.units) - printed.magnitude
            else:
                difference = pure(value) - printed
        except PintError as error:
            raise ReadBackError(f"“{text}” does not come to “{result}”: {error}") from None
        worst = max(worst, abs(difference) / half)
    if not worst <= 1 + 1e-6:
        raise ReadBackError(f"“{numbers}” does not come to “{result}”")
    return worst
