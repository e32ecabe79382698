"""The boundary of a calculation: what its arguments may be, and the passage from quantities to plain numbers and back."""

from __future__ import annotations

import inspect
import math
import re
import textwrap
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from string import Formatter
from typing import Any, Literal, get_args, get_origin, get_type_hints

import numpy as np
from pint.util import UnitsContainer

from deckcalc.core import units, written
from deckcalc.core.ranges import Range
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import InputError, Kind, Quantity
from deckcalc.core.words import how_many
from deckcalc.core.written import Given, Unread

QUICK = (Quantity, float, int)  # given as it is worked with: nothing to read


@dataclass(frozen=True)
class ListOf:
    """Marks an argument that is a list of readings (last axis of an array)."""

    least: int = 1


@dataclass(frozen=True)
class Form:
    """What one form of a calculation has of its own, where a rule is in print in two unit systems, rounded apart.

    Parameters
    ----------
    constants : dict
        Value of each keyword-only name of the body: a number, printed in the formula; a text such as ``"3/40"`` or
        ``"380 mm"``; or a look-up. A whole 1 as a factor or divisor and a whole 0 as a term are not printed. In a
        homogeneous body a constant that is written as a text has a line of its own. The name `form` needs no entry: it
        stands for the name of the form, as look-ups take it.
    units : dict of str
        Unit of each symbol of an empirical formula.
    ranges : dict of Range
        Ranges that differ from those of the signature.
    title, source, notes, unchecked
        In place of those that all forms share.
    """

    constants: Mapping[str, Any] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    ranges: Mapping[str, Range] = field(default_factory=dict)
    title: str = ""
    source: Cite | tuple[Cite, ...] = ()
    notes: tuple[str, ...] = ()
    unchecked: str = ""


@dataclass(frozen=True)
class Param:
    """One argument: everything that a call, a form, a job file and a document need to know of it."""

    name: str
    meaning: str
    kind: Kind | None
    range: Range | None
    choices: tuple[str, ...]
    several: ListOf | None
    default: Any
    unit: str | None  # of a plain number in an empirical body; None: coherent SI
    factors: dict[UnitsContainer, tuple[float, float]] = field(default_factory=dict, compare=False)

    @property
    def required(self) -> bool:
        """Whether a call must give it."""
        return self.default is inspect.Parameter.empty

    @property
    def target(self) -> units.Unit:
        """The unit of the plain number that the body works with."""
        assert self.kind
        return units.unit(self.unit) if self.unit is not None else self.kind.base

    @cached_property
    def bounds(self) -> tuple[float, float]:
        """The range as plain numbers."""
        if self.range is None or self.kind is None:
            return -math.inf, math.inf
        low, high = (units.read(text, self.kind) for text in (self.range.low, self.range.high))
        return float(low.m_as(self.target)), float(high.m_as(self.target))

    def factor(self, unit: units.Unit) -> tuple[float, float]:
        """Return factor and offset from `unit` to the plain number, remembered per unit."""
        assert self.kind
        self.kind.scale(unit)
        q = units.registry().Quantity
        zero = q(0.0, unit).m_as(self.target)
        return q(1.0, unit).m_as(self.target) - zero, zero

    def plain(self, value: Any, owner: str) -> Any:
        """Take a quantity to the plain number (or array) that the body works with, checking it on the way."""
        if self.choices:
            if value not in self.choices:
                raise InputError(f"{owner}: {self.name} is “{value}”, wanted one of {', '.join(self.choices)}")
            return value
        assert self.kind
        if isinstance(value, Quantity):
            magnitude, unit = value.magnitude, value._units
            known = self.factors.get(unit)
            if known is None:
                try:
                    known = self.factor(units.ours(value.units))
                except InputError:
                    raise InputError(f"{owner}: {self.name} is {units.text(value)}, wanted {self.wanted}") from None
                self.factors[unit] = known
        elif isinstance(value, Unread):
            wanted = "" if "wanted" in value else f"; wanted {self.wanted}"
            raise InputError(f"{owner}: {self.name} cannot be read: {value}{wanted}")
        elif self.kind.dimensionless and not isinstance(value, str | bool | None.__class__):
            magnitude, known = value, (1.0 if self.unit is None else self.factor(units.unit(""))[0], 0.0)
        else:
            raise InputError(
                f"{owner}: {self.name} is {value!r} without a unit, wanted {self.wanted}; attach the unit, "
                f"for instance Q(10, “{self.kind.si}”)"
            )
        scale, offset = known
        if isinstance(magnitude, float | int):
            number: Any = magnitude * scale + offset
            self.check(number, number, owner, value)
            if self.kind.whole and number != round(number):
                self.counted(np.array([number]), owner)
            return number
        try:
            number = np.asarray(magnitude, dtype=float)
        except (TypeError, ValueError):
            raise InputError(f"{owner}: {self.name} is {value!r}, which is no number; wanted {self.wanted}") from None
        if self.several and (number.ndim == 0 or number.shape[-1] < self.several.least):
            raise InputError(f"{owner}: {self.name} wants at least {how_many(self.several.least, 'reading')}")
        if scale != 1.0 or offset:
            number = number * scale + offset if offset else number * scale
        if number.size == 0:
            raise InputError(f"{owner}: {self.name} is empty, wanted {self.wanted}")
        self.check(float(number.min()), float(number.max()), owner, value)
        if self.kind.whole:
            self.counted(np.atleast_1d(number), owner)
        return number

    def read(self, value: Given) -> Any:
        """Read a value as people write it: ``"0.31 in^2"``, ``"#5"``, a list of such, a pandas Series.

        Returns
        -------
        Quantity, or the value itself
            Itself where it is a choice, a quantity, or a number (or an array of numbers) without a unit.

        Raises
        ------
        InputError
            With what was found and what is wanted, but not the name of the argument.
        """
        return value if self.kind is None else written.read(value, self.kind, self.several is not None)

    def check(self, low: float, high: float, owner: str, value: Any) -> None:
        """Refuse what is not finite or out of range."""
        least, most = self.bounds
        edge = max(abs(least), abs(most)) if self.kind and self.kind.is_temperature else abs(least)
        slack = 1e-9 * edge if math.isfinite(edge) else 0.0
        ok = (low > least if self.range and self.range.above else low >= least - slack) and high <= most * (1 + 1e-9)
        if not (ok and math.isfinite(low) and math.isfinite(high)):
            found = units.text(value) if isinstance(value, Quantity) and np.ndim(value.magnitude) == 0 else None
            found = found or (f"{value}" if np.ndim(value) == 0 else f"between {low:g} and {high:g}")
            raise InputError(f"{owner}: {self.name} ({self.meaning}) is {found}, wanted {self.wanted}")

    def counted(self, number: Any, owner: str) -> None:
        """Refuse a count with a fraction: half a span is no span."""
        odd = number[np.abs(number - np.rint(number)) > 1e-9 * np.maximum(np.abs(number), 1.0)]
        if odd.size:
            raise InputError(
                f"{owner}: {self.name} ({self.meaning}) is {odd[0]:g}, wanted a whole number: {self.wanted}"
            )

    @property
    def says(self) -> Words:
        """What the argument is, in the words of a signature: kind, range, units."""
        if self.choices or self.kind is None:
            return Words(self.wanted)
        listed = "a list of readings, each " if self.several else ""
        own = f", a number in {self.unit}" if self.unit else ""
        return Words(f"{listed}{self.wanted}{own}")

    @property
    def wanted(self) -> str:
        """What would be right, in words."""
        if self.choices:
            return "one of " + ", ".join(self.choices)
        assert self.kind
        if self.range:
            return f"{self.kind.a_name} {self.range.spoken(self.kind)}"
        return self.kind.a_name + (f" such as {units.example(self.kind)}" if self.kind.si else "")


class Words(str):
    """Words of a signature, printed without quotes."""

    def __repr__(self) -> str:
        return str(self)


class Declared:
    """A function with declared arguments and results: the part that calculations and look-ups share."""

    def __init__(self, function: Callable[..., Any], source: tuple[Cite, ...], unit_of: Mapping[str, str]) -> None:
        self.function = function
        self.name = function.__name__
        self.__doc__ = function.__doc__
        self.__name__, self.__module__, self.__wrapped__ = self.name, function.__module__, function
        self.source = source
        self.empirical = bool(unit_of)
        hints = get_type_hints(function, include_extras=True)
        answer = hints.pop("return")
        self.signature, self.constant_names = signature_of(function)
        meanings = documented(function.__doc__ or "", "Parameters")
        self.params = {
            name: self._param(name, hints[name], parameter.default, meanings, unit_of)
            for name, parameter in self.signature.parameters.items()
        }
        self.record = answer if isinstance(answer, type) and hasattr(answer, "_fields") else None
        fields = get_type_hints(answer, include_extras=True) if self.record else {"": answer}
        self.kinds = {name: units.kind_of(hint) for name, hint in fields.items()}
        self.unit_of = dict(unit_of)
        self.__signature__ = self.worded()

    def worded(self) -> inspect.Signature:
        """Return the signature in words: what each argument is, what comes back."""
        shown = [
            parameter.replace(annotation=self.params[name].says)
            for name, parameter in self.signature.parameters.items()
        ]
        return self.signature.replace(parameters=shown, return_annotation=self.gives)

    def __repr__(self) -> str:
        return f"{self.__module__}.{self.name}"

    def __get__(self, instance: object, owner: type | None = None) -> Any:
        """Return itself: what has this is a routine, so that help() prints its signature."""
        return self

    @property
    def gives(self) -> Words:
        """What it gives, in the words of a signature: each result with its units in either system."""
        used = {name: " or ".join(dict.fromkeys([kind.si, kind.us])) for name, kind in self.kinds.items()}
        names = [f"{name} [{unit}]".strip() if unit else name or "a number" for name, unit in used.items()]
        return Words(f"{self.record.__name__}({', '.join(names)})" if self.record else names[0])

    def _param(self, name: str, hint: Any, default: Any, meanings: dict[str, str], unit_of: Mapping[str, str]) -> Param:
        marks = get_args(hint)
        literal = get_origin(hint) is Literal
        pick = lambda cls: next((m for m in marks if isinstance(m, cls)), None)  # noqa: E731
        unit = unit_of.get(name)
        if unit_of and not literal and unit is None:
            raise TypeError(f"{self.name}: an empirical formula declares the unit of every symbol; {name} has none")
        return Param(
            name,
            meanings.get(name, ""),
            pick(Kind),
            pick(Range),
            marks if literal else (),
            pick(ListOf),
            default,
            unit,
        )

    def bind(self, args: tuple[Any, ...], kwargs: Mapping[str, Any]) -> dict[str, Any]:
        """Match values to arguments, defaults filled in, and read what is given as people write it.

        What cannot be read stays, marked, until all arguments are checked: then one error names every one.
        """
        if not args and kwargs.keys() == self.params.keys():
            values = {name: kwargs[name] for name in self.params}
        else:
            try:
                bound = self.signature.bind(*args, **kwargs)
            except TypeError as error:
                raise InputError(f"{self.name}: {error}; it takes {', '.join(self.params)}") from None
            bound.apply_defaults()
            values = dict(bound.arguments)
        for name, value in values.items():
            if not (isinstance(value, QUICK) or (value.__class__ is np.ndarray and value.dtype.kind == "f")):
                try:
                    values[name] = self.params[name].read(value)
                except InputError as error:
                    values[name] = Unread(str(error))
        return values

    def plain(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Take all values to plain numbers; one error names every argument that is wrong."""
        floats, wrong = {}, []
        for name, value in values.items():
            try:
                floats[name] = self.params[name].plain(value, self.name)
            except InputError as error:
                wrong.append(str(error))
        if wrong:
            raise InputError("\n".join(wrong))
        return floats

    @cached_property
    def outlets(self) -> list[tuple[units.Unit, float, float]]:
        """Unit, factor and offset of each result: the SI unit that its kind is printed in."""
        q, found = units.registry().Quantity, []
        for name, kind in self.kinds.items():
            plain_unit = units.unit(self.unit_of[name]) if name in self.unit_of else kind.base
            printed = kind.unit("SI")
            zero = q(0.0, plain_unit).m_as(printed)
            found.append((printed, q(1.0, plain_unit).m_as(printed) - zero, zero))
        return found

    def wrap(self, answer: Any) -> Any:
        """Give plain results their units back."""
        q = units.registry().Quantity
        values = answer if self.record else (answer,)
        wrapped = [q(v * f + zero, unit) for v, (unit, f, zero) in zip(values, self.outlets, strict=True)]
        return self.record(*wrapped) if self.record else wrapped[0]


def parts(text: str) -> tuple[str, str, str]:
    """Return numerator, denominator and unit of a constant as the rule writes it; what it has not is empty.

    Examples
    --------
    >>> parts("40 000 psi"), parts("3/40")
    (('40000', '', 'psi'), ('3', '40', ''))
    """
    written = re.fullmatch(r"([\d.]+)(?:/([\d.]+))?(?: (.+))?", re.sub(r"(?<=\d) (?=\d{3}\b)", "", text))
    if written is None:
        raise TypeError(f"“{text}” is no constant as a rule writes it, such as 300 mm, 40 000 psi or 3/40")
    return written[1], written[2] or "", written[3] or ""


@cache
def constant(text: str) -> float:
    """Return the plain number of a constant as the rule writes it: ``300 mm``, ``40 000 psi``, ``5/8 in``, ``3/40``.

    Examples
    --------
    >>> constant("300 mm"), constant("3/40"), constant("0.85")
    (0.3, 0.075, 0.85)
    """
    top, bottom, unit = parts(text)
    number = float(top) / float(bottom or 1)
    return float(units.registry().Quantity(number, units.unit(unit)).to_base_units().magnitude) if unit else number


def above(value: Any, limit: Any) -> Any:
    """Whether a value lies above a limit, by more than the noise of a conversion of units."""
    return value > limit + 1e-9 * np.abs(limit)


def below(value: Any, limit: Any) -> Any:
    """Whether a value lies below a limit, by more than that noise."""
    return value < limit - 1e-9 * np.abs(limit)


class Lookup(Declared):
    """A table look-up or a choice that a sheet prints as a sentence instead of a formula."""

    def __init__(
        self, function: Callable[..., Any], says: str, source: tuple[Cite, ...], unit_of: Mapping[str, str],
        data: Mapping[str, Any],
    ) -> None:  # fmt: skip
        super().__init__(function, source, unit_of)
        self.says, self.data = says, data
        named = {re.split(r"[.[]", name)[0] for _, name, _, _ in Formatter().parse(says) if name}
        if named - {*self.params, *data} or set(data) - named or set(data) & set(self.params):
            raise TypeError(f"{self.name}: the sentence names {', '.join(sorted(named))}, not what it is given")

    def sentence(self, printed: Mapping[str, str]) -> str:
        """Return the sentence, with printed values of the arguments and the data that is looked up."""
        return self.says.format(**self.data, **printed)

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        """Look up with quantities, or with the plain numbers of a body."""
        values = self.bind(args, kwargs)
        quantities = any(isinstance(value, Quantity) for value in values.values())
        if not quantities or self.empirical:
            return self.function(**values)  # in a body: the calculation names itself if the table has no value
        try:
            return self.wrap(self.function(**self.plain(values)))
        except TableError as error:
            raise InputError(f"{self.name}: {error}") from None


def lookup(
    says: str, *, source: Cite | tuple[Cite, ...] = (), units: Mapping[str, str] | None = None, **data: Any
) -> Callable[[Callable[..., Any]], Lookup]:
    """Declare a look-up that a body may call.

    Parameters
    ----------
    says : str
        The sentence, with ``{argument}`` for printed values and ``{name}`` for the data of the look-up: no number is typed in it.
    source : Cite or tuple of Cite
        Where the table or the rule stands.
    units : dict of str, optional
        As in a calculation.
    **data
        What the function looks up, for the sentence: a constant as the rule writes it, a number, or a mapping of them, of which
        ``{name[key]}`` is one.
    """

    def declare(function: Callable[..., Any]) -> Lookup:
        return Lookup(function, says, source if isinstance(source, tuple) else (source,), units or {}, data)

    return declare


def signature_of(function: Callable[..., Any]) -> tuple[inspect.Signature, tuple[str, ...]]:
    """Return the signature for a caller, and the keyword-only names, to which a form of the calculation gives values."""
    whole = inspect.signature(function)
    names = tuple(name for name, one in whole.parameters.items() if one.kind is one.KEYWORD_ONLY)
    return whole.replace(parameters=[one for name, one in whole.parameters.items() if name not in names]), names


def documented(doc: str, section: str) -> dict[str, str]:
    """Return name and meaning of each entry in a section of a NumPy-style docstring."""
    match = re.search(rf"^\s*{section}\s*\n\s*-+\n(.*?)(?=\n\s*\n\s*\S+\n\s*-+\n|\Z)", doc, re.S | re.M)
    found: dict[str, str] = {}
    if match:
        text = textwrap.dedent(match[1])
        for entry in re.finditer(r"^(\w[\w, ]*?) : .*\n((?:[ ]+.*\n?|\n(?=[ ]))*)", text + "\n", re.M):
            for name in entry[1].split(","):
                found[name.strip()] = " ".join(entry[2].split()).rstrip(".")
    return found
