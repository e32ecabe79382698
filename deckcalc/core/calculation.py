"""What a calculation is: a plain function, declared once, from which number, array, sheet and form all come.

The body is straight-line: one assignment a line, each with a comment that the reader of the sheet sees, then one
return of every name. It is read as a syntax tree when it is declared; what cannot be printed truly is refused at
import. Called with quantities, a calculation checks dimensions and ranges, converts once, runs the body on plain
floats (or arrays) in coherent SI and hands quantities back.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import io
import math
import textwrap
import tokenize
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from types import CodeType
from typing import Any, Generic, Literal, ParamSpec, TypeVar, overload

import numpy as np

from deckcalc.core import looks, units
from deckcalc.core.boundary import (
    Declared,
    Form,
    Given,
    ListOf,
    Lookup,
    Range,
    above,
    below,
    constant,
    documented,
    lookup,
    parts,
)
from deckcalc.core.elementary import Phi, erf, erfc, exp, ln, log10
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import InputError, Quantity
from deckcalc.core.words import how_many

__all__ = ["REGISTER", "Calculation", "Line", "Lookup", "Phi", "Range", "ListOf", "above", "below", "calculation", "constant", "erf", "erfc",
           "exp", "larger", "ln", "log10", "lookup", "pi", "round_up", "smaller", "sqrt"]  # fmt: skip

pi = math.pi
BLOCK = 32_768  # elements a pass: conversion, range check and body stay in the processor's cache


def larger(a: Any, b: Any) -> Any:
    """Return the larger of two values, element by element; printed as max."""
    return np.maximum(a, b)


def smaller(a: Any, b: Any) -> Any:
    """Return the smaller of two values, element by element; printed as min."""
    return np.minimum(a, b)


def round_up(x: Any) -> Any:
    """Return the next whole number, forgiving noise of 1e-9; printed with ceiling brackets."""
    return np.ceil((x.m_as("") if isinstance(x, Quantity) else x) - 1e-9)


def sqrt(x: Any) -> Any:
    """Return the square root."""
    return np.sqrt(x)


FUNCTIONS: dict[str, tuple[Callable[..., Any], int, str]] = {
    "larger": (larger, 2, "max"), "smaller": (smaller, 2, "min"), "round_up": (round_up, 1, "ceil"),
    "sqrt": (sqrt, 1, "sqrt"), "exp": (exp, 1, "exp"), "ln": (ln, 1, "ln"), "log10": (log10, 1, "log10"),
    "erf": (erf, 1, "erf"), "erfc": (erfc, 1, "erfc"), "Phi": (Phi, 1, "Phi"),
}  # fmt: skip
OPERATORS = (ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow)
P = ParamSpec("P")
R = TypeVar("R", covariant=True)
REGISTER: dict[str, Calculation] = {}


@dataclass(frozen=True)
class Line:
    """One line of a body: ``name = expression  # comment``."""

    name: str
    expression: str
    comment: str
    code: CodeType
    helper: Lookup | None
    operands: tuple[str, ...]
    arguments: tuple[str, ...] = ()  # of a look-up, constants of the form included
    constant: str = ""  # the constant of the form that the line states


class Calculation(Declared, looks.Shown, Generic[P, R]):
    """A declared calculation. Call it with quantities, or with values as people write them; see `calculation`.

    Examples
    --------
    >>> from deckcalc.steel import section_loss
    >>> loss = section_loss("0.31 in^2", ["0.60 in", "0.55 in"])
    >>> f"{loss.loss:.1f~P}"
    '23.4 %'
    """

    def __init__(
        self, function: Callable[P, R], title: str, source: tuple[Cite, ...], unit_of: Mapping[str, str],
        notes: tuple[str, ...], unchecked: str, form: Form | None = None, form_name: str = "",
    ) -> None:  # fmt: skip
        super().__init__(function, source, unit_of)
        self.title, self.notes, self.unchecked = title, notes, unchecked
        form, self.form_name = form or Form(), form_name
        self.meaning_of_form = documented(function.__doc__ or "", "Parameters").get("form", "")
        self.written_constants = dict(form.constants)
        if "form" in self.constant_names:
            self.written_constants["form"] = form_name
        if form_name:
            self.name = f"{self.name} ({form_name})"
        if unlike := set(self.constant_names) ^ set(self.written_constants):
            raise TypeError(
                f"{self.name}: {', '.join(sorted(unlike))} is no keyword-only name with a constant of the form"
            )
        for name, allowed in form.ranges.items():
            self.params[name] = replace(self.params[name], range=allowed)
        self.__signature__ = self.worded()
        self.subject = function.__module__.split(".")[1] if "." in function.__module__ else function.__module__
        self.key = f"{self.subject}.{self.name}"
        self.lines = read_body(self)
        for name in [*self.params, *self.kinds]:
            if unit_of and name and name not in unit_of and not (name in self.params and self.params[name].choices):
                raise TypeError(f"{self.name}: the unit of {name} is not declared")
        if self.record:
            looks.show_record(self.record)

    def __reduce__(self) -> tuple[Callable[[str, str], Calculation], tuple[str, str]]:
        """Pickle and copy as what it is: the one declaration of its key."""
        return declared, (self.key, self.__module__)

    def by_hand(self, *args: Given, system: units.System = "SI", **arguments: Given) -> looks.Hand:
        r"""Write the calculation out by hand: formula, numbers and result, line by line.

        Parameters
        ----------
        *args, **arguments
            As for a call.
        system : {"SI", "US"}
            Units that it is printed in.

        Returns
        -------
        deckcalc.show.hand.HandCalculation
            A notebook shows it as mathematics; ``print`` gives its Markdown, `lines` its printed lines.

        Raises
        ------
        InputError
            As a call does, or if `system` is no system of units.

        Examples
        --------
        >>> from deckcalc.steel import section_loss
        >>> sheet = section_loss.by_hand("0.31 in^2", "0.60 in, 0.55 in", system="US")
        >>> sheet.lines[3].comment, sheet.lines[3].result
        ('area lost', '0.0724\\ \\text{in²}')
        """
        hand: looks.Hand = looks.shown().by_hand(self, self.bind(args, arguments), system)
        return hand

    def table(self, frame: Any, system: units.System = "SI", **same: Given) -> Any:
        """Calculate every row of a pandas DataFrame.

        Parameters
        ----------
        frame : pandas.DataFrame
            A column for each argument, its unit in its head: ``A_0 [in^2]``. Readings stand in columns of the same
            head, ``d [in]``, as many as there are; a row may have fewer. Other columns are left alone.
        system : {"SI", "US"}
            Units of the results.
        **same
            Arguments that are the same for all rows, as for a call.

        Returns
        -------
        pandas.DataFrame
            The results in rows of the same index, a column each, its unit in its head.

        Raises
        ------
        InputError
            With the rows that cannot be calculated.

        Examples
        --------
        >>> import pandas as pd
        >>> from deckcalc.steel import section_loss
        >>> bars = pd.DataFrame([[0.31, 0.60, 0.55], [0.31, 0.61, None]], index=["B1", "B2"])
        >>> bars.columns = ["A_0 [in^2]", "d [in]", "d [in]"]
        >>> section_loss.table(bars, "US")["loss [%]"].round(1).to_dict()
        {'B1': 23.4, 'B2': 5.7}
        """
        return looks.shown().table(self, frame, system, same)

    @overload
    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R: ...
    @overload
    def __call__(self, *args: Given, **kwargs: Given) -> R: ...
    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        """Calculate with quantities, scalars or arrays, or with values as people write them."""
        values = self.bind(args, kwargs)
        shapes = [
            np.shape(value.magnitude if isinstance(value, Quantity) else value)
            for name, value in values.items() if not self.params[name].choices
        ]  # fmt: skip
        nothing: Literal["raise"] | None = None if any(shapes) else "raise"
        try:
            if math.prod(max(shapes, key=math.prod, default=())) > 2 * BLOCK and not self.takes_lists:
                return self._blocks(values, np.broadcast_shapes(*shapes))
            with np.errstate(divide=nothing, invalid=nothing):
                return self.wrap(self.function(**self.plain(values)))
        except (ZeroDivisionError, FloatingPointError):
            raise InputError(
                f"{self.name}: these values do not go together: a division by nothing, or a root or logarithm of what has none"
            ) from None
        except TableError as error:
            raise InputError(f"{self.name}: {error}") from None
        except (ValueError, TypeError) as error:
            if isinstance(error, InputError) or not any(shapes):
                raise
            unlike = list(dict.fromkeys(shape for shape in shapes if shape))
            if len(unlike) == 1:
                raise InputError(f"{self.name}: takes one value at a time, not arrays") from None
            named = ", ".join(str(shape) for shape in unlike)
            raise InputError(f"{self.name}: arrays of the shapes {named} do not go together") from None

    @cached_property
    def constants(self) -> dict[str, Any]:
        """Constants of the form as the body takes them: plain numbers, look-ups, the name of the form."""
        given = self.given_constants
        return {n: float(v.to_base_units().magnitude) if isinstance(v, Quantity) else v for n, v in given.items()}

    @cached_property
    def given_constants(self) -> dict[str, Any]:
        """Constants of the form as a run on quantities takes them."""
        return {name: self._constant(name, value) for name, value in self.written_constants.items()}

    def _constant(self, name: str, value: Any) -> Any:
        """Return one constant as a run on quantities takes it."""
        if not isinstance(value, str) or name == "form":
            return value
        number, unit = number_of(value), parts(value)[2]
        return number if self.empirical else units.registry().Quantity(number, units.unit(unit))

    def plain(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Take all values to plain numbers, and add the constants of the form."""
        return {**super().plain(values), **self.constants}

    @property
    def takes_lists(self) -> bool:
        """Whether an argument is a list of readings."""
        return any(param.several for param in self.params.values())

    def _blocks(self, values: dict[str, Any], shape: tuple[int, ...]) -> Any:
        """Run large arrays block by block, so that no pass leaves the processor's cache."""
        q = units.registry().Quantity
        steady, flat = {}, {}
        for name, value in values.items():
            raw = value.magnitude if isinstance(value, Quantity) else value
            if np.ndim(raw) == 0:
                steady[name] = value
            else:
                flat[name] = np.broadcast_to(raw, shape).reshape(-1), getattr(value, "units", "")
        size = math.prod(shape)
        numbers: dict[str, Any] = {}
        out: list[Any] = []
        for start in range(0, size, BLOCK):
            part = slice(start, start + BLOCK)
            block = {name: q(raw[part], unit) for name, (raw, unit) in flat.items()}
            numbers |= self.plain(block if start else {**steady, **block})  # what holds for all is read once
            answer = self.function(**numbers)
            columns = answer if self.record else (answer,)
            out = out or [np.empty(size if np.ndim(column) else 1) for column in columns]
            for store, column, (_, scale, zero) in zip(out, columns, self.outlets, strict=True):
                place = store[part] if np.ndim(column) else store
                np.multiply(column, scale, out=place)
                if zero:
                    place += zero
        shaped = [store.reshape(shape) if store.size == size else float(store[0]) for store in out]
        wrapped = [q(number, unit) for number, (unit, _, _) in zip(shaped, self.outlets, strict=True)]
        return self.record(*wrapped) if self.record else wrapped[0]


def declared(key: str, module: str) -> Calculation:
    """Return the calculation of a key, its module imported.

    Raises
    ------
    InputError
        If there is none, for instance because it was declared in a session that has ended.
    """
    if key not in REGISTER:
        try:
            importlib.import_module(module)
        except ImportError as error:
            raise InputError(f"calculation {key}: its module {module} cannot be imported ({error})") from None
    if key not in REGISTER:
        raise InputError(f"there is no calculation {key}; {module} does not declare it")
    return REGISTER[key]


def calculation(
    *, title: str, source: Cite | tuple[Cite, ...], units: Mapping[str, str] | None = None, notes: tuple[str, ...] = (),
    unchecked: str = "",
) -> Callable[[Callable[P, R]], Calculation[P, R]]:  # fmt: skip
    """Declare a calculation.

    Parameters
    ----------
    title : str
        Heading on the sheet.
    source : Cite or tuple of Cite
        Where the formula stands.
    units : dict of str, optional
        Only for an empirical formula: the unit of each symbol, arguments and results. Without it the body must hold
        in any coherent unit system.
    notes : tuple of str
        Simplifications and limits of validity, printed with it.
    unchecked : str
        Why no outside case exists for it; empty if one does.

    Returns
    -------
    decorator

    Raises
    ------
    TypeError
        At import, if the body is not straight-line: the message names the line.
    """

    def declare(function: Callable[P, R]) -> Calculation[P, R]:
        cites = source if isinstance(source, tuple) else (source,)
        made = Calculation(function, title, cites, units or {}, notes, unchecked)
        REGISTER[made.key] = made
        return made

    return declare


def read_body(owner: Calculation) -> list[Line]:
    """Read a body line by line, refusing whatever could print falsely."""
    text = textwrap.dedent(inspect.getsource(owner.function))
    comments = {
        token.start[0]: token.string.lstrip("# ").strip()
        for token in tokenize.generate_tokens(io.StringIO(text).readline) if token.type == tokenize.COMMENT
    }  # fmt: skip
    tree = ast.parse(text).body[0]
    assert isinstance(tree, ast.FunctionDef)
    body = tree.body[1:] if ast.get_docstring(tree) else tree.body
    known, lines, at = set(owner.params), [], 0
    constants = owner.written_constants
    for name in sorted({*known, *constants} & set(FUNCTIONS)):
        raise TypeError(f"{owner.name}: an argument cannot be called {name}, which is the name of a function")
    scope = {**owner.function.__globals__, **constants}
    steady = {name for name, value in constants.items() if not isinstance(value, Lookup)}

    def refuse(node: ast.AST, why: str) -> TypeError:
        number = getattr(node, "lineno", 0)
        return TypeError(f"{owner.name}, line {number} “{text.splitlines()[number - 1].strip()}”: {why}")

    for statement in body[:-1]:
        if not isinstance(statement, ast.Assign) or len(statement.targets) != 1:
            raise refuse(statement, "a body is plain assignments, one a line, then one return")
        target = statement.targets[0]
        if not isinstance(target, ast.Name) or statement.lineno != statement.end_lineno:
            raise refuse(statement, "one plain name gets one expression on one line")
        if statement.lineno == at:
            raise refuse(statement, "each line holds one assignment")
        at = statement.lineno
        if target.id in known or target.id in constants:
            raise refuse(statement, f"{target.id} already has a value; a name is given once")
        if target.id in FUNCTIONS:
            raise refuse(statement, f"{target.id} is the name of a function")
        if statement.lineno not in comments:
            raise refuse(statement, "each line ends with a comment that says what it gives")
        helper = read_expression(statement.value, known | steady, scope, refuse)
        used = tuple(dict.fromkeys(n.id for n in ast.walk(statement.value) if isinstance(n, ast.Name)))
        stated = used[0] if isinstance(statement.value, ast.Name) and used[0] in steady else ""
        arguments = tuple(getattr(arg, "id", "") for arg in getattr(statement.value, "args", ())) if helper else ()
        worded = any(isinstance(constants.get(name), str) for name in used) and not owner.empirical
        if worded and not helper and not stated:
            raise refuse(statement, "a constant that is written as a text has a line of its own")
        value = statement.value if helper or stated else Filled(constants).visit(statement.value)
        lines.append(
            Line(
                target.id,
                ast.unparse(value),
                spoken(comments[statement.lineno], constants),
                compile(ast.unparse(value), f"<{owner.name}>", "eval"),
                helper,
                tuple(n for n in used if n in known),
                arguments,
                stated,
            )
        )
        known.add(target.id)
    names = [line.name for line in lines]
    end = body[-1]
    value = end.value if isinstance(end, ast.Return) else None
    made = isinstance(value, ast.Call) and scope.get(getattr(value.func, "id", "")) is owner.record is not None
    returned = value.args if isinstance(value, ast.Call) and made else [value]
    if [getattr(item, "id", None) for item in returned] != names or not names:
        raise refuse(end, "the last line returns every name in the order of the lines")
    if owner.record is None:
        owner.kinds = {names[0]: owner.kinds[""]}
        if owner.empirical and names[0] not in owner.unit_of:
            raise refuse(end, f"the unit of {names[0]} is not declared")
    elif tuple(names) != owner.record._fields:
        raise refuse(end, f"the result has the fields {', '.join(owner.record._fields)}")
    return lines


def number_of(value: Any) -> float | int | None:
    """Return the number of a constant of a form as it is written; None for a look-up."""
    if isinstance(value, str):
        top, bottom, _ = parts(value)
        return float(top) / float(bottom) if bottom else int(top) if top.isdigit() else float(top)
    return None if isinstance(value, Lookup) else value


def spoken(comment: str, constants: Mapping[str, Any]) -> str:
    """Put the constants of a form, with their units, into a comment."""
    try:
        return comment.format(**constants) if constants else comment
    except KeyError as unknown:
        raise TypeError(f"the comment “{comment}” names {unknown}, which is no constant of the form") from None


class Filled(ast.NodeTransformer):
    """Puts the numbers of a form in the place of its constants; what changes nothing (a whole 1 or 0) falls away."""

    def __init__(self, constants: Mapping[str, Any]) -> None:
        self.constants = constants

    def visit_Name(self, node: ast.Name) -> ast.expr:
        """Replace one name."""
        return ast.Constant(number_of(self.constants[node.id])) if node.id in self.constants else node

    def visit_BinOp(self, node: ast.BinOp) -> ast.expr:
        """Replace in one operation, or drop it."""
        dropped = {ast.Add: 0, ast.Sub: 0, ast.Mult: 1, ast.Div: 1}.get(type(node.op))
        for side, other in ((node.right, node.left), (node.left, node.right)):
            value = self.constants.get(side.id) if isinstance(side, ast.Name) else None
            droppable = side is node.right or isinstance(node.op, (ast.Add, ast.Mult))
            if type(value) is int and value == dropped and droppable:
                found: ast.expr = self.visit(other)
                return found
        self.generic_visit(node)
        return node


def read_expression(
    node: ast.AST, known: set[str], scope: Mapping[str, object], refuse: Callable[[ast.AST, str], TypeError]
) -> Lookup | None:
    """Hold an expression to the allow-list; return the look-up if it is a call of one."""
    if (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and isinstance(found := scope.get(node.func.id), Lookup)
    ):
        if node.keywords or not all(isinstance(arg, ast.Name) and arg.id in known for arg in node.args):
            raise refuse(node, "a look-up takes names that already have a value")
        return found

    def visit(item: ast.AST) -> None:
        if isinstance(item, ast.BinOp) and isinstance(item.op, OPERATORS):
            visit(item.left)
            visit(item.right)
        elif isinstance(item, ast.UnaryOp) and isinstance(item.op, ast.USub) and isinstance(item.operand, ast.Name):
            visit(item.operand)
        elif isinstance(item, ast.Call) and isinstance(item.func, ast.Name) and item.func.id in FUNCTIONS:
            function, count, _ = FUNCTIONS[item.func.id]
            if item.keywords or len(item.args) != count or scope.get(item.func.id) is not function:
                raise refuse(item, f"{item.func.id} takes {how_many(count, 'plain argument')}")
            for arg in item.args:
                visit(arg)
        elif isinstance(item, ast.Name):
            if item.id not in known and not (item.id == "pi" and scope.get("pi") is pi):
                raise refuse(item, f"{item.id} has no value here")
        elif not (isinstance(item, ast.Constant) and type(item.value) in (int, float)):
            raise refuse(item, "only names, numbers, + - * / **, " + ", ".join(FUNCTIONS) + " and look-ups")

    visit(node)
    return None
