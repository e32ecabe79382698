"""Look-ups as JavaScript: their Python, as far as it is branches, comparisons, arithmetic, table rows and messages.

What a look-up reads that does not depend on its arguments (constants, tables, mappings) is worked out once by Python and
written as data; what depends on them is translated sign by sign. Anything else is refused with the reason.
"""

from __future__ import annotations

import ast
import builtins
import inspect
import itertools
import json
import math
import textwrap
from collections.abc import Callable, Hashable, Mapping
from typing import Any

import numpy as np

from deckcalc.core import elementary, tables, units
from deckcalc.core.boundary import Lookup, Param, above, below, constant
from deckcalc.core.calculation import larger, round_up, smaller, sqrt
from deckcalc.core.tables import Table, TableError
from deckcalc.core.units import InputError


class TranslationError(Exception):
    """What has no translation, and why."""


#: Functions of Python and numpy, by what does the same in the page, for a number or a list of numbers.
LIBRARY: dict[Any, str] = {
    above: "above", below: "below", constant: "constant", tables.load: "table", units.unit: "same", tables.interpolate: "interpolate", larger: "larger", smaller: "smaller",
    round_up: "roundUp", sqrt: "sqrt", elementary.exp: "exp", elementary.ln: "ln", elementary.log10: "log10",
    elementary.erf: "erf", elementary.erfc: "erfc", elementary.Phi: "Phi",
    float: "number", int: "int", str: "str", bool: "truth", len: "len", abs: "abs", round: "round", enumerate: "enumerate",
    zip: "zip", range: "range", tuple: "same", list: "same", sorted: "sorted", next: "next", sum: "sum", max: "max", min: "min", any: "any", all: "all",
    math.sqrt: "sqrt", math.isclose: "isclose", math.floor: "floor", math.exp: "exp", math.log: "ln",
    np.asarray: "same", np.float64: "same", np.atleast_1d: "listed", np.any: "any", np.all: "all", np.abs: "abs", np.sum: "sum",
    np.mean: "mean", np.min: "min", np.max: "max", np.minimum: "smaller", np.maximum: "larger", np.clip: "clip", np.where: "where",
    np.sqrt: "sqrt", np.floor: "floor", np.rint: "round", np.mod: "mod", np.multiply: "mul", np.divide: "div",
    np.subtract: "sub", np.greater: "gt", np.less: "lt", np.log10: "log10", np.exp: "exp", np.log: "ln", np.arcsin: "asin",
    np.interp: "interp", np.array: "same", np.searchsorted: "searchsorted", np.ndim: "ndim", np.expand_dims: "same", np.vectorize: "same",
}  # fmt: skip
METHODS = {
    "join",
    "strip",
    "rstrip",
    "lower",
    "isdigit",
    "row",
    "column",
    "split",
    "startswith",
    "endswith",
    "get",
    "items",
    "keys",
    "values",
    "partition",
    "mean",
    "sum",
}
OPERATORS: dict[type[ast.AST], str] = {
    ast.Add: "add", ast.Sub: "sub", ast.Mult: "mul", ast.Div: "div", ast.Pow: "pow", ast.Mod: "mod", ast.FloorDiv: "floordiv",
    ast.BitAnd: "and", ast.BitOr: "or", ast.Lt: "lt", ast.LtE: "le", ast.Gt: "gt", ast.GtE: "ge", ast.Eq: "eq", ast.NotEq: "ne",
    ast.In: "in", ast.NotIn: "notIn", ast.Is: "is", ast.IsNot: "isNot",
}  # fmt: skip
#: Counts in the range of an argument, up to which a look-up is written as all of its answers.
MOST_COUNTS = 64
#: Functions that a look-up imports when it is called.
IMPORTED = {"erfinv", "erfcinv"}
#: Names that JavaScript keeps to itself.
RESERVED = {
    "case",
    "function",
    "new",
    "var",
    "let",
    "const",
    "this",
    "typeof",
    "void",
    "switch",
    "default",
    "delete",
    "do",
}


def simple(value: Any) -> bool:
    """Whether a value is plain data: numbers, texts, lists and mappings of such."""
    if isinstance(value, Mapping):
        return all(map(simple, value.values())) and all(map(simple, value))
    if isinstance(value, list | tuple) and not hasattr(value, "_fields"):
        return all(map(simple, value))
    return value is None or isinstance(value, bool | int | float | str)


def key(value: Any) -> str:
    """Return the key of a mapping as the page writes it."""
    if isinstance(value, tuple):
        return ",".join(map(key, value))
    return str(int(value)) if isinstance(value, float) and value.is_integer() else str(value)


def literal(value: Any) -> str:
    """Return plain data as JavaScript.

    Examples
    --------
    >>> literal({1.0: (2.5, None)}), literal(float("inf"))
    ('{"1":[2.5,null]}', 'Infinity')
    """
    if isinstance(value, Mapping):
        return "{" + ",".join(f"{json.dumps(key(k), ensure_ascii=False)}:{literal(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return f"[{','.join(map(literal, value))}]"
    if isinstance(value, float) and not math.isfinite(value):
        return "NaN" if math.isnan(value) else "Infinity" if value > 0 else "(-Infinity)"
    text = json.dumps(value, ensure_ascii=False)
    return f"({text})" if text.startswith("-") else text


class Rules:
    """The look-ups of a page, each translated once with all that it calls.

    Attributes
    ----------
    code : dict of str
        JavaScript of each function, by its name in the page.
    tables : set of str
        Tables that they read.
    """

    def __init__(self) -> None:
        self.code: dict[str, str] = {}
        self.tables: set[str] = set()
        self.refused: dict[str, str] = {}

    def name(self, thing: Any) -> str:
        """Return the name of a function in the page, translated with what it calls.

        Raises
        ------
        TranslationError
            With the reason.
        """
        function = thing.function if isinstance(thing, Lookup) else inspect.unwrap(thing)
        module = str(function.__module__)
        foreign = not isinstance(thing, Lookup) and module.partition(".")[0] != "deckcalc"
        if foreign or not inspect.isfunction(function):
            raise TranslationError(f"it calls {getattr(function, '__name__', function)} of {module.partition('.')[0]}")
        name = f"{module.rpartition('.')[2]}_{function.__name__}"
        if name in self.refused:
            raise TranslationError(self.refused[name])
        if name not in self.code:
            self.code[name] = ""  # a function that calls itself is found
            try:
                listed = tabulated(thing) if isinstance(thing, Lookup) else ""
                self.code[name] = f"function {name}{listed}" if listed else Function(self, function).translated(name)
            except TranslationError as error:
                del self.code[name]
                self.refused[name] = str(error)
                raise
        return name


def domain(param: Param) -> list[Any] | None:
    """Return all values of an argument that has few: choices, or counts in a range."""
    if param.choices:
        return list(param.choices)
    low, high = param.bounds
    if param.kind and param.kind.whole and not param.several and high - low < MOST_COUNTS:
        return list(range(math.ceil(low), math.floor(high) + 1))
    return None


def tabulated(one: Lookup) -> str:
    """Return a look-up of choices and counts alone as all of its answers, worked out by Python; empty where it has others."""
    domains = [domain(param) for param in one.params.values()]
    if not domains or None in domains:
        return ""
    answers: dict[str, Any] = {}
    for given in itertools.product(*domains):  # type: ignore[arg-type]
        try:
            answers[key(given)] = float(one.function(*given))
        except TableError as error:
            answers[key(given)] = str(error)
    names = ", ".join(map(Function.safe, one.params))
    return f"({names}) {{ return $.answer({literal(answers)}, [{names}]); }}"


class Function:
    """One function on its way into JavaScript."""

    def __init__(self, rules: Rules, function: Callable[..., Any]) -> None:
        self.rules, self.function = rules, function
        self.scope: dict[str, Any] = {**vars(builtins), **function.__globals__}
        tree = ast.parse(textwrap.dedent(inspect.getsource(function))).body[0]
        assert isinstance(tree, ast.FunctionDef)
        self.tree = tree
        self.local: set[str] = {
            *(one.arg for one in ast.walk(tree) if isinstance(one, ast.arg)),
            *(one.id for one in ast.walk(tree) if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store)),
            *(one.name for one in ast.walk(tree) if isinstance(one, ast.FunctionDef | ast.alias) and one is not tree),
        }

    def refuse(self, what: str) -> TranslationError:
        """Say what has no translation, and where it stands."""
        return TranslationError(f"{self.function.__name__} {what}")

    def translated(self, name: str) -> str:
        """Return the function as JavaScript."""
        return f"function {name}{self.made(self.tree)}"

    def made(self, tree: ast.FunctionDef) -> str:
        """Return arguments and body of a function."""
        given = tree.args
        if given.kwonlyargs or given.kwarg:
            raise self.refuse("takes arguments by keyword")
        names = [one.arg for one in given.args]
        first = len(names) - len(given.defaults)
        shown = [
            one + (f" = {self.expression(given.defaults[at - first])}" if at >= first else "")
            for at, one in enumerate(map(self.safe, names))
        ]
        shown += [f"...{given.vararg.arg}"] if given.vararg else []
        mine = {
            *(n.id for s in tree.body for n in self.own(s) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Store))
        } - {*names}
        body = tree.body[1:] if ast.get_docstring(tree) else tree.body
        kept = f"let {', '.join(sorted(map(self.safe, mine)))};\n" if mine else ""
        return f"({', '.join(shown)}) {{\n{kept}{''.join(map(self.statement, body))}}}"

    def own(self, node: ast.AST) -> list[ast.AST]:
        """Return the nodes of a statement but those of functions and comprehensions within it."""
        found = [node]
        if not isinstance(node, ast.FunctionDef | ast.Lambda | ast.ListComp | ast.GeneratorExp | ast.SetComp):
            for child in ast.iter_child_nodes(node):
                found += self.own(child)
        return found

    @staticmethod
    def safe(name: str) -> str:
        """Return a name that JavaScript takes."""
        return f"{name}_" if name in RESERVED else name

    # ---- statements

    def statement(self, node: ast.stmt) -> str:
        """Return one statement."""
        if isinstance(node, ast.Return):
            return f"return {self.expression(node.value) if node.value else 'null'};\n"
        if isinstance(node, ast.Assign) and len(node.targets) == 1:
            return f"{self.target(node.targets[0])} = {self.expression(node.value)};\n"
        if isinstance(node, ast.AnnAssign) and node.value:
            return f"{self.target(node.target)} = {self.expression(node.value)};\n"
        if isinstance(node, ast.If):
            other = f" else {{\n{''.join(map(self.statement, node.orelse))}}}" if node.orelse else ""
            return f"if ({self.test(node.test)}) {{\n{''.join(map(self.statement, node.body))}}}{other}\n"
        if isinstance(node, ast.For) and not node.orelse:
            body = "".join(map(self.statement, node.body))
            return f"for ({self.target(node.target)} of {self.expression(node.iter)}) {{\n{body}}}\n"
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            kind = self.static(node.exc.func)
            if kind in (TableError, InputError) and len(node.exc.args) == 1:
                return f"throw new $.Refused({self.expression(node.exc.args[0])});\n"
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
            return f"{self.expression(node.value)};\n"
        if isinstance(node, ast.ImportFrom) and {one.name for one in node.names} <= IMPORTED:
            return "".join(f"const {one.name} = $.{one.name};\n" for one in node.names)
        if isinstance(node, ast.FunctionDef):
            return f"const {self.safe(node.name)} = {self.arrow(node)};\n"
        raise self.refuse(f"has a statement that is not of the small language: {said(node)}")

    def arrow(self, node: ast.FunctionDef) -> str:
        """Return a function within a function."""
        head, _, body = self.made(node).partition(" {")
        return f"{head} => {{{body}"

    def target(self, node: ast.expr) -> str:
        """Return what a value is given to."""
        if isinstance(node, ast.Name):
            return self.safe(node.id)
        if isinstance(node, ast.Tuple):
            return f"[{', '.join(map(self.target, node.elts))}]"
        raise self.refuse(f"gives a value to {said(node)}")

    # ---- expressions

    def static(self, node: ast.expr) -> Any:
        """Return what an expression without local names comes to; `TranslationError` itself where it has some."""
        if any(isinstance(one, ast.Name) and one.id in self.local for one in ast.walk(node)):
            return TranslationError
        if any(isinstance(one, ast.ListComp | ast.GeneratorExp | ast.SetComp | ast.Lambda) for one in ast.walk(node)):
            return TranslationError
        try:
            return eval(compile(ast.Expression(node), "<look-up>", "eval"), self.scope)
        except Exception as error:  # whatever it is, it is no constant
            raise self.refuse(f"has no constant {said(node)}: {error}") from None

    def expression(self, node: ast.expr) -> str:
        """Return one expression."""
        found = self.static(node)
        if found is not TranslationError and (known := self.constant(found)):
            return known
        made = getattr(self, f"on_{type(node).__name__}", None)
        if made is None:
            raise self.refuse(f"has {said(node)}")
        text: str = made(node)
        return text

    def constant(self, found: Any) -> str:
        """Return what does not depend on the arguments: data, a table, a function; empty if it is none of these."""
        if isinstance(found, np.generic):
            found = found.item()
        if isinstance(found, Table):
            self.rules.tables.add(found.name)
            return f"$.table({json.dumps(found.name)})"
        if simple(found):
            return literal(found)
        if isinstance(found, Hashable) and found in LIBRARY:
            return f"$.{LIBRARY[found]}"
        if isinstance(found, Lookup) or inspect.isroutine(found) or hasattr(found, "__wrapped__"):
            return self.rules.name(found)
        return ""

    def on_Name(self, node: ast.Name) -> str:
        """A local name."""
        if node.id not in self.local:
            raise self.refuse(f"reads {node.id}, which is no number, text, table or function")
        return self.safe(node.id)

    def on_NamedExpr(self, node: ast.NamedExpr) -> str:
        """A value that is named where it is used."""
        return f"({self.target(node.target)} = {self.expression(node.value)})"

    def on_BinOp(self, node: ast.BinOp) -> str:
        """Arithmetic, of numbers or of lists."""
        if type(node.op) not in OPERATORS:
            raise self.refuse(f"has {said(node)}")
        return f"$.{OPERATORS[type(node.op)]}({self.expression(node.left)}, {self.expression(node.right)})"

    def on_UnaryOp(self, node: ast.UnaryOp) -> str:
        """A sign or a negation."""
        if isinstance(node.op, ast.Not):
            return f"!{self.test(node.operand)}"
        if isinstance(node.op, ast.USub):
            return f"$.sub(0, {self.expression(node.operand)})"
        raise self.refuse(f"has {said(node)}")

    def test(self, node: ast.expr) -> str:
        """Return a condition as Python takes it: what is empty, nought or nothing is false."""
        return f"$.truth({self.expression(node)})"

    def on_BoolOp(self, node: ast.BoolOp) -> str:
        """Conditions joined."""
        sign = " && " if isinstance(node.op, ast.And) else " || "
        return f"({sign.join(map(self.test, node.values))})"

    def on_Compare(self, node: ast.Compare) -> str:
        """A comparison, or a chain of them."""
        sides = [self.expression(one) for one in (node.left, *node.comparators)]
        made = [f"$.{OPERATORS[type(op)]}({sides[at]}, {sides[at + 1]})" for at, op in enumerate(node.ops)]
        return made[0] if len(made) == 1 else f"({' && '.join(f'$.truth({one})' for one in made)})"

    def on_IfExp(self, node: ast.IfExp) -> str:
        """One of two values."""
        return f"({self.test(node.test)} ? {self.expression(node.body)} : {self.expression(node.orelse)})"

    def converted(self, node: ast.expr) -> str:
        """Return ``Quantity(number, unit)`` taken to a coherent SI unit; empty if an expression is none."""
        if isinstance(node, ast.Attribute) and node.attr == "magnitude":
            call = node.value
            to = "to_base_units"
        else:
            call, to = node, "m_as"
        if not (isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute) and call.func.attr == to):
            return ""
        made = call.func.value
        if not isinstance(made, ast.Call) or not isinstance(quantity := self.static(made.func), type):
            return ""
        if not issubclass(quantity, units.Quantity):
            return ""
        if call.args and units.quantity(1.0, self.static(call.args[0])).to_base_units().magnitude != 1:
            raise self.refuse(f"takes {said(made)} to a unit that is not coherent SI")
        given = [self.expression(one) for one in made.args]
        return f"$.constant({given[0]})" if len(given) == 1 else f"$.quantity({given[0]}, {given[1]})"

    def on_Call(self, node: ast.Call) -> str:
        """A call of a known function, of a method of a table row, or of a function of the project."""
        if quantity := self.converted(node):
            return quantity
        given = [
            f"...{self.expression(one.value)}" if isinstance(one, ast.Starred) else self.expression(one)
            for one in node.args
        ]
        named = {one.arg: one.value for one in node.keywords}
        for ignored in ("axis", "otypes", "dtype"):
            named.pop(ignored, None)  # lists of numbers have one axis
        options = "".join(f", {name}: {self.expression(value)}" for name, value in named.items())
        if isinstance(node.func, ast.Attribute) and self.static(node.func.value) is TranslationError:
            if node.func.attr not in METHODS or named:
                raise self.refuse(f"calls {said(node)}")
            return f"$.{node.func.attr}({', '.join([self.expression(node.func.value), *given])})"
        if isinstance(node.func, ast.Attribute) and isinstance(owner := self.static(node.func.value), Table | str):
            if node.func.attr not in METHODS:
                raise self.refuse(f"calls {said(node)}")
            return f"$.{node.func.attr}({', '.join([self.constant(owner), *given])})"
        called = self.static(node.func)
        if called is np.asarray or called is np.expand_dims:
            given = given[:1]
        if options and called not in (math.isclose,):
            raise self.refuse(f"calls {said(node)}")
        given += [f"{{{options[2:]}}}"] if options else []
        return f"{self.expression(node.func)}({', '.join(given)})"

    def on_Attribute(self, node: ast.Attribute) -> str:
        """Rows of a table, or the size of a list."""
        if quantity := self.converted(node):
            return quantity
        if node.attr == "size":
            return f"$.len({self.expression(node.value)})"
        if node.attr in ("rows", "flat"):
            return f"$.{node.attr}({self.expression(node.value)})"
        raise self.refuse(f"reads {said(node)}")

    def on_Subscript(self, node: ast.Subscript) -> str:
        """An item, a part, or the value itself."""
        if isinstance(node.slice, ast.Tuple) and not node.slice.elts:
            return self.expression(node.value)
        if isinstance(node.slice, ast.Slice):
            ends = [self.expression(one) if one else "null" for one in (node.slice.lower, node.slice.upper)]
            return f"$.part({self.expression(node.value)}, {', '.join(ends)})"
        return f"$.at({self.expression(node.value)}, {self.expression(node.slice)})"

    def on_Tuple(self, node: ast.Tuple | ast.List) -> str:
        """Several values."""
        return f"[{', '.join(map(self.expression, node.elts))}]"

    on_List = on_Tuple

    def on_Lambda(self, node: ast.Lambda) -> str:
        """A function without a name."""
        names = ", ".join(self.safe(one.arg) for one in node.args.args)
        return f"({names}) => {self.expression(node.body)}"

    def on_ListComp(self, node: ast.ListComp | ast.GeneratorExp) -> str:
        """A list made from another."""
        if len(node.generators) != 1:
            raise self.refuse(f"has {said(node)}")
        loop = node.generators[0]
        target = self.target(loop.target)
        kept = "".join(f".filter(({target}) => {self.test(one)})" for one in loop.ifs)
        return f"$.listed({self.expression(loop.iter)}){kept}.map(({target}) => {self.expression(node.elt)})"

    on_GeneratorExp = on_SetComp = on_ListComp

    def on_JoinedStr(self, node: ast.JoinedStr) -> str:
        """A message with values in it."""
        parts = []
        for one in node.values:
            if isinstance(one, ast.Constant):
                parts.append(json.dumps(one.value, ensure_ascii=False))
                continue
            assert isinstance(one, ast.FormattedValue)
            form = ast.literal_eval(ast.unparse(one.format_spec).removeprefix("f")) if one.format_spec else ""
            parts.append(f"$.format({self.expression(one.value)}, {json.dumps(form)})")
        return f"({' + '.join(parts)})"


def said(node: ast.AST) -> str:
    """Return a piece of Python in short."""
    text = " ".join(ast.unparse(node).split())
    return f"“{text[:60]}{'…' * (len(text) > 60)}”"
