"""A calculation written out by hand: formula, numbers, result, line by line, as the body itself says it.

handcalcs sets the type, one line at a time; the values recorded as that line ran stand in it. Each printed line is read
back and worked out again from its printed numbers before it leaves this file; decimals are added until it holds.
"""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from decimal import InvalidOperation
from functools import cached_property
from typing import Any

import numpy as np

from deckcalc.core import units
from deckcalc.core.boundary import parts
from deckcalc.core.calculation import Calculation, Line
from deckcalc.core.forms import ByForm, chosen
from deckcalc.core.tables import TableError
from deckcalc.core.text import plain
from deckcalc.core.units import InputError, Kind, Quantity
from deckcalc.show import proof as readback
from deckcalc.show.typeset import WIDTH, folded, symbol, tex_value, typeset, width


@dataclass(frozen=True)
class Printed:
    """One printed line: a formula with numbers, or a sentence from a look-up."""

    name: str
    comment: str
    formula: str
    numbers: str
    result: str
    sentence: str

    @property
    def tex(self) -> str:
        """The equation, broken at its equals signs, and at a sum, where it would run off the page."""
        left = symbol(self.name)
        if self.sentence:
            return f"{left} = {self.result}"
        parts = [self.formula, self.numbers, self.result]
        if width(left + "".join(parts)) <= WIDTH:
            return f"{left} = " + " = ".join(parts)
        if width(left + self.numbers + self.result) <= WIDTH:
            parts = [self.formula, f"{self.numbers} = {self.result}"]
        return r"\begin{aligned} " + left + " &= " + r" \\ &= ".join(map(folded, parts)) + r" \end{aligned}"


class HandCalculation:
    """A calculation run on quantities in the job's units, every line recorded as it ran.

    Parameters
    ----------
    calculation : Calculation
    system : {"SI", "US"}
    arguments : dict
        As for a call.
    item : str
        What it was done for, for instance “patch P1”.
    result : optional
        What the call gave, if it was made before.

    Raises
    ------
    InputError
        As a call does.
    readback.ReadBackError
        If the run on quantities does not agree with the run on plain numbers: a body that is not homogeneous.
    """

    def __init__(
        self, calculation: Calculation | ByForm, system: str, arguments: Mapping[str, Any], item: str = "",
        result: Any = None,
    ) -> None:  # fmt: skip
        calculation, arguments = chosen(calculation, arguments)
        self.calculation, self.system, self.item = calculation, system, item
        self.arguments = calculation.bind((), arguments)
        self.result = calculation(**self.arguments) if result is None else result
        self.kinds: dict[str, Kind | None] = {name: param.kind for name, param in calculation.params.items()}
        self.kinds |= calculation.kinds
        self.factors: dict[str, tuple[float, float]] = {}
        self.values = self.run()
        self.decimals = {name: self.first_decimals(name) for name, kind in self.kinds.items() if kind}
        agree_on_digits([self])

    def unit(self, name: str) -> units.Unit:
        """Return the unit in which a name is printed."""
        kind = self.kinds[name]
        assert kind
        declared = self.calculation.unit_of.get(name)
        return units.unit(declared) if declared is not None else kind.unit(self.system)

    def unit_text(self, name: str) -> str:
        """Return that unit as printed."""
        kind = self.kinds[name]
        assert kind
        return self.calculation.unit_of.get(name, kind.symbol(self.system))

    def carried(self, name: str, number: Any) -> Any:
        """Return a number as the body takes it: a quantity, or plain in an empirical formula."""
        return number if self.calculation.empirical else units.registry().Quantity(number, self.unit(name))

    def bare(self, name: str, value: Any) -> Any:
        """Return the number in the printed unit."""
        if self.calculation.empirical and not isinstance(value, Quantity):
            return value
        quantity = value if isinstance(value, Quantity) else units.registry().Quantity(value, "")
        return quantity.m_as(self.unit(name))

    def run(self) -> dict[str, Any]:
        """Run the body line by line on the job's units; every value as the printed number."""
        values: dict[str, Any] = {}
        for name, given in self.arguments.items():
            quantity = (
                given if not self.kinds[name] or isinstance(given, Quantity) else units.registry().Quantity(given, "")
            )
            values[name] = given if not self.kinds[name] else self.without_noise(quantity.m_as(self.unit(name)))
        for line in self.calculation.lines:
            values[line.name] = self.without_noise(self.work(line, values))
        results = self.result if self.calculation.record else (self.result,)
        for name, given in zip(self.calculation.kinds, results, strict=True):
            if not np.allclose(self.bare(name, given), values[name], rtol=1e-9, atol=1e-12):
                raise readback.ReadBackError(f"{self.calculation.name}: {name} depends on the units it is worked in")
        return values

    @staticmethod
    def without_noise(number: Any) -> Any:
        """Return a printed-unit number, nil where it is no more than the noise of a difference or of a conversion."""
        if np.ndim(number):
            return number
        return 0.0 if abs(number) < 1e-12 else number

    def work(self, line: Line, numbers: Mapping[str, Any]) -> Any:
        """Work one line out from printed-unit numbers."""
        scope = self.calculation.function.__globals__
        given = {
            name: self.carried(name, numbers[name]) if self.kinds[name] else numbers[name] for name in line.operands
        }
        answer = eval(line.code, scope, {**self.calculation.given_constants, **given})
        if line.helper and not self.calculation.empirical and not isinstance(answer, Quantity):
            answer = line.helper.wrap(answer)  # a look-up by choices alone was given no quantity to answer with
        return self.bare(line.name, answer)

    def plain_work(self, line: Line, numbers: Mapping[str, Any]) -> Any:
        """Work one line out as `work` does, but on the plain numbers of the body: for the many trials of `settle`."""
        given = self.calculation.constants | {name: self.to_plain(name, numbers[name]) for name in line.operands}
        scale, zero = self.factor(line.name)
        return (eval(line.code, self.calculation.function.__globals__, given) - zero) / scale

    def to_plain(self, name: str, number: Any) -> Any:
        """Return a printed-unit number as the plain number that the body takes."""
        if not self.kinds[name]:
            return number
        scale, zero = self.factor(name)
        return number * scale + zero

    def factor(self, name: str) -> tuple[float, float]:
        """Return factor and offset from the printed unit to the plain number of the body."""
        kind = self.kinds[name]
        assert kind
        if self.calculation.empirical:
            return 1.0, 0.0
        known = self.factors.get(name)
        if known is None:
            known = self.factors[name] = kind.scale(self.unit(name))
        return known

    def first_decimals(self, name: str) -> int:
        """Decimals to begin with: all that an input or a tabulated value has, the trade's for a result."""
        kind = self.kinds[name]
        assert kind
        number = np.atleast_1d(self.values[name])
        looked_up = any(line.name == name and (line.helper or line.constant) for line in self.calculation.lines)
        if name in self.calculation.params or looked_up:
            exact = [units.exact_decimals(float(x), 3) for x in number]
            if None not in exact:
                return max(x for x in exact if x is not None)
        declared = self.calculation.unit_of.get(name)
        system = "SI" if declared == kind.si else "US" if declared == kind.us else self.system
        return max(units.trade_decimals(float(x), kind, system) for x in number)

    def read_again(self, name: str) -> Any:
        """Return the number as the reader of the sheet sees it."""
        if not self.kinds[name]:
            return self.values[name]
        shown = [float(units.fixed(float(x), self.decimals[name])) for x in np.atleast_1d(self.values[name])]
        return np.array(shown) if np.ndim(self.values[name]) else shown[0]

    def holds(self, line: Line) -> bool:
        """Whether the printed result follows from the printed operands, to half its last digit."""
        try:
            again = self.plain_work(line, {name: self.read_again(name) for name in line.operands})
        except (InputError, TableError):  # a look-up refuses a value that was only rounded out of its range
            return False
        return bool(abs(again - self.read_again(line.name)) <= 0.5 * 10.0 ** -self.decimals[line.name] * (1 + 1e-7))

    def rounding(self, line: Line, name: str) -> float:
        """How far the print of one operand alone moves the result of a line."""
        try:
            again = self.plain_work(line, {**self.values, name: self.read_again(name)})
        except (InputError, TableError):
            return math.inf
        return float(np.max(np.abs(again - self.values[line.name])))

    def text(self, name: str, unit: bool = True) -> str:
        """Return a value as printed, for instance “12.5 mm”."""
        if not self.kinds[name]:
            return str(self.values[name])
        numbers = ", ".join(units.fixed(float(x), self.decimals[name]) for x in np.atleast_1d(self.values[name]))
        return f"{numbers} {self.unit_text(name)}".strip() if unit else numbers

    def tex(self, name: str) -> str:
        """Return a value as it stands in a formula."""
        return tex_value(self.text(name, unit=not self.calculation.empirical))

    @cached_property
    def lines(self) -> list[Printed]:
        """The printed lines, each read back and found true."""
        return [self.print_line(line) for line in self.calculation.lines]

    def print_line(self, line: Line) -> Printed:
        """Set one line, and prove it."""
        result = tex_value(self.text(line.name))
        if line.helper:
            fixed = self.calculation.written_constants
            said = {name: self.text(name) if self.kinds[name] else plain(self.text(name)) for name in line.operands}
            said |= {name: plain(str(value)) for name, value in fixed.items()}
            sentence = line.helper.sentence(
                dict(zip(line.helper.params, map(said.__getitem__, line.arguments), strict=True))
            )
            cites = "; ".join(str(cite) for cite in line.helper.source)
            return Printed(line.name, line.comment, "", "", result, sentence + (f" {cites}" if cites else ""))
        if line.constant:
            return self.print_constant(line)
        texts = {name: self.tex(name) for name in line.operands}
        _, formula, numbers = typeset(line.name, line.expression, texts)
        symbols = {symbol(name): self.carried(name, self.read_again(name)) for name in line.operands}
        proof = result if not self.calculation.empirical else tex_value(self.text(line.name, unit=False))
        readback.check_line(formula, numbers, proof, symbols)
        comment = line.comment + self.governing(line)
        return Printed(line.name, comment, formula, numbers, result, "")

    def print_constant(self, line: Line) -> Printed:
        """State a constant of the form as it is written, and prove that the printed value is the same."""
        written = str(self.calculation.written_constants[line.constant])
        top, bottom, unit = parts(written)
        shown = tex_value(top if self.calculation.empirical or not unit else f"{top} {unit}")
        shown = rf"\frac{{{shown}}}{{{bottom}}}" if bottom else shown
        proof = tex_value(self.text(line.name, unit=not self.calculation.empirical))
        readback.check_line(shown, shown, proof, {})
        said = f"{written} by the form {self.calculation.form_name}"
        return Printed(line.name, line.comment, "", "", tex_value(self.text(line.name)), said)

    def governing(self, line: Line) -> str:
        """Name the operand that governs where a line is the larger or the smaller of two values."""
        call = ast.parse(line.expression, mode="eval").body
        if not (
            isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in ("larger", "smaller")
        ):
            return ""
        names = [arg.id for arg in call.args if isinstance(arg, ast.Name)]
        if len(names) != 2:
            return ""
        a, b = (self.work(line, {**self.values}) - self.values[name] for name in names)
        which = [
            name for name, off in zip(names, (a, b), strict=True) if abs(off) < 1e-12 * (1 + abs(self.values[name]))
        ]
        return "; both are equal" if len(which) == 2 else f"; ${symbol(which[0])}$ governs"

    def _repr_markdown_(self) -> str:
        return self.markdown()

    def _repr_latex_(self) -> str:
        return r"$$\begin{gathered} " + r" \\ ".join(line.tex for line in self.lines) + r" \end{gathered}$$"

    def __str__(self) -> str:
        return self.markdown()

    def __repr__(self) -> str:
        return f"<{self.calculation.title} by hand{': ' if self.item else ''}{self.item}, {self.system} units>"

    def markdown(self, remarks: bool = True, number: str = "") -> str:
        """Return the sheet as Markdown, with or without source and remarks at its end.

        Parameters
        ----------
        remarks : bool
        number : str
            Number of the calculation, by which others cite it; its lines are numbered after it.
        """
        title = " ".join(filter(None, (number, self.calculation.title)))
        parts = [f"### {title}" + (f": {plain(self.item)}" if self.item else "")]
        given = [
            [f"${symbol(name)}$", self.text(name), param.meaning] if self.kinds[name] else ["", plain(self.text(name)), param.meaning]
            for name, param in self.calculation.params.items()
        ]  # fmt: skip
        if "form" in self.calculation.written_constants:
            given.append(["", self.calculation.form_name, self.calculation.meaning_of_form])
        parts.append(in_two(["symbol", "value", "meaning"], given))
        if self.calculation.empirical:
            parts.append(self.plain_units())
        for row, line in enumerate(self.lines, 1):
            lead = line.comment[0].upper() + line.comment[1:]
            cited = f" *({number}.{row})*" if number else ""
            parts.append(f"{lead}{', ' + line.sentence if line.sentence else ''}:{cited}")
            parts.append(f"$${line.tex}$$")
        if remarks:
            parts.append(self.remarks())
        return "\n\n".join(parts) + "\n"

    def plain_units(self) -> str:
        """Say in which units an empirical formula takes its plain numbers."""
        shown = [f"${symbol(n)}$ {'in ' + u if u else 'without unit'}" for n, u in self.calculation.unit_of.items()]
        return "Empirical: the formula takes plain numbers, where " + ", ".join(shown) + "."

    def remarks(self) -> str:
        """Return the source, and what the calculation says of itself."""
        cites = "; ".join(str(cite) for cite in self.calculation.source)
        return " ".join([f"Source: {cites}.", *self.calculation.notes])


def agree_on_digits(group: Sequence[HandCalculation]) -> None:
    """Add decimals, the same for all of a group, until every printed line of every member holds."""
    first = group[0]
    decimals = {name: max(one.decimals[name] for one in group) for name in first.decimals}
    for one in group:
        one.decimals = decimals
    for _ in range(400):
        try:
            broken = next(
                ((one, line) for one in group for line in first.calculation.lines if not one.holds(line)), None
            )
        except InvalidOperation:  # more digits than a number has
            break
        if broken is None:
            return
        one, line = broken
        rounded = {name: one.rounding(line, name) for name in line.operands if first.kinds[name]}
        worst = max(rounded, key=lambda name: rounded[name], default=line.name)
        decimals[worst if rounded.get(worst) else line.name] += 1
    raise readback.ReadBackError(f"{first.calculation.name}: no number of decimals makes the print hold")


def chain(calculations: Sequence[HandCalculation]) -> None:
    """Print a value that one calculation hands to another with the same decimals in both, and settle all again."""
    made = {
        id(value): (one, name)
        for one in calculations
        for name, value in zip(
            one.calculation.kinds, one.result if one.calculation.record else (one.result,), strict=True
        )
    }
    handed = [
        (*made[id(value)], one, name) for one in calculations for name, value in one.arguments.items()
        if id(value) in made and made[id(value)][0].unit_text(made[id(value)][1]) == one.unit_text(name)
    ]  # fmt: skip
    changed = set(calculations)
    while changed:
        changed = set()
        for giver, result, taker, argument in handed:
            most = max(giver.decimals[result], taker.decimals[argument])
            for one, name in ((giver, result), (taker, argument)):
                if one.decimals[name] < most:
                    one.decimals[name] = most
                    changed.add(one)
        for one in changed:
            agree_on_digits([one])


def table(calculations: Sequence[HandCalculation], columns: Sequence[str], head: str = "item") -> str:
    """Print one calculation done for many items as a table, formulas above it.

    Parameters
    ----------
    calculations : sequence of HandCalculation
        All of the same calculation.
    columns : sequence of str
        Names to print.
    head : str
        Heading of the first column.

    Returns
    -------
    str
        Markdown. Decimals of a column are the most that one of its rows needs.
    """
    if not calculations:
        raise InputError("a table wants at least one calculation")
    calculations = [copy(one) for one in calculations]
    agree_on_digits(calculations)
    first = calculations[0]
    heads = [f"${symbol(name)}$" + (f" [{first.unit_text(name)}]" if first.kinds[name] and first.unit_text(name) else "")
             for name in columns]  # fmt: skip
    rows = [[plain(one.item), *(one.text(name, unit=False) for name in columns)] for one in calculations]
    return pipe_table([head, *heads], rows)


def pipe_table(heads: Sequence[str], rows: Sequence[Sequence[str]], align: str = "") -> str:
    """Return a Markdown table, its column widths in proportion to what they hold.

    Parameters
    ----------
    heads : sequence of str
    rows : sequence of sequence of str
    align : str
        One letter a column, l or r; by default the first is left and the others right.
    """
    align = align or "l" + "r" * (len(heads) - 1)
    cells = [[str(cell).replace("|", "\\|").replace("\n", " ") for cell in row] for row in [heads, *rows]]
    # a column is as wide as its longest cell, within reason, so that long words wrap where there is room
    sizes = [
        min(max(len(re.sub(r"\\mathrm|\\(?=\W)|[${}_]", "", row[i])) for row in cells), 48) + 3
        for i in range(len(heads))
    ]
    rule = "|".join(
        "-" * (size - 1) + ":" if a == "r" else ":" + "-" * (size - 1) for a, size in zip(align, sizes, strict=True)
    )
    body = "\n".join("| " + " | ".join(row) + " |" for row in cells[1:])
    return f"| {' | '.join(cells[0])} |\n|{rule}|\n{body}\n"


#: Rows from which a table of symbols is printed in two columns, and the longest meaning that they leave room for.
ROWS_IN_TWO, MEANING_IN_TWO = 4, 62


def in_two(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table of symbols, in two columns side by side where it is long and its meanings are short."""
    if len(rows) < ROWS_IN_TWO or any(len(row[-1]) > MEANING_IN_TWO or len(row[1]) > 24 for row in rows):
        return pipe_table(heads, rows, "l" * len(heads))
    half = (len(rows) + 1) // 2
    right = [*rows[half:], *([[""] * len(heads)] * (2 * half - len(rows)))]
    both = [[*a, *b] for a, b in zip(rows[:half], right, strict=True)]
    return pipe_table([*heads, *heads], both, "l" * 2 * len(heads))
