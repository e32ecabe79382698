"""The register of inputs of a job: every quantity, number, choice and date that a review may change, by the key that sets it."""

from __future__ import annotations

import copy
import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import inf, isfinite
from typing import Any, get_args

import numpy as np
from pydantic import BeforeValidator
from pydantic.fields import FieldInfo

from deckcalc.base.fields import Faults, InRange, Strict, bounds, size_of_bar
from deckcalc.core import tables, units
from deckcalc.core.units import Kind, Quantity, System
from deckcalc.job import declared
from deckcalc.job.changes import apply_settings
from deckcalc.job.file import head
from deckcalc.job.limits import FAR
from deckcalc.job.order import Job
from deckcalc.job.settings import ROWS
from deckcalc.patch.inputs.survey import Metres, bearing

#: Sections that say what the job is called and who answers for it: nothing is worked out from them.
IDENTITY = ("units", "confirmed", "decisions", "package", "revisions", "people", "bridge", "limits")
#: Sizes of bars that are tried in place of one: the next of the same system on either side.
NEXT_SIZES = 2
#: Days by which a date is moved.
DAYS = (1, 2, 4, 7)
#: The share of a value, or of its range where it is nil, that a first trial changes it by; degrees of a temperature.
STEP, DEGREES = 0.01, 1.0


@dataclass(frozen=True, eq=False)
class Input:
    """One input of a job.

    Attributes
    ----------
    key : str
        As ``rerun --set`` takes it: ``deck.slab_thickness``, ``depths.D3.depth``, ``limits.waste``.
    value : Quantity, number, str or date
        Readings are an array.
    kind : Kind or None
        Of a quantity.
    span : tuple of float
        Between what it lies, in the unit of its value.
    options : tuple of str
        Other values of a choice, a size of bar or a date, as they are set.
    unit : str
        What stands behind a plain number.
    """

    key: str
    value: Any
    kind: Kind | None = None
    span: tuple[float, float] = (-inf, inf)
    options: tuple[str, ...] = ()
    unit: str = ""

    @property
    def discrete(self) -> bool:
        """Whether its other values are counted up."""
        return bool(self.options)

    @property
    def whole(self) -> bool:
        """Whether it is a whole number."""
        return isinstance(self.value, int) or bool(self.kind and self.kind.whole)

    @cached_property
    def number(self) -> float:
        """Its number in its own unit; of readings the mean."""
        return float(np.mean(self.value.magnitude if self.kind else self.value))

    @property
    def section(self) -> str:
        """The section of job.toml or the table that it stands in."""
        return self.key.partition(".")[0]

    @property
    def printed(self) -> str:
        """The value as filed."""
        return self.text(self.number) if not self.discrete else said(self.value)

    def text(self, number: float) -> str:
        """Return a value as it is set; readings are moved together."""
        if self.kind is None:
            return plain_number(number) + self.unit
        made = np.atleast_1d(self.value.magnitude + (number - self.number))
        if self.kind.is_temperature:
            made = np.round(made, 9)  # nil is not told from the noise of a conversion otherwise
        unit = units.text(units.quantity(1.0, self.value.units), "g").partition(" ")[2]
        return "; ".join(f"{plain_number(float(one))} {unit}".strip() for one in made)

    @cached_property
    def least_step(self) -> float:
        """The first change that is tried."""
        if self.whole:
            return 1.0
        if self.kind and self.kind.is_temperature:
            return DEGREES
        low, high = self.span
        room = high - low if isfinite(high - low) else 1.0
        return STEP * abs(self.number) or STEP * room / 10

    def near(self, steps: float = 1) -> list[str]:
        """Return the values so many first steps from the one that is filed, in both directions; of a choice all others."""
        if self.discrete:
            return list(self.options)
        low, high = self.span
        tried = [self.number + way * steps * self.least_step for way in (1, -1)]
        inside = [one for one in tried if low - 1e-12 * abs(low) <= one <= high + 1e-12 * abs(high)]
        return [self.text(one) for one in inside]


def plain_number(number: float) -> str:
    """Return a number in twelve digits without a power of ten.

    Examples
    --------
    >>> plain_number(1.5e-7), plain_number(203.2)
    ('0.00000015', '203.2')
    """
    return str(np.format_float_positional(float(f"{number:.12g}"), trim="-"))


def said(value: Any) -> str:
    """Return a choice or a date as it is set."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime.datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    return str(value)


def register(job: Job) -> dict[str, Input]:
    """Return every input of a job that a review may change, by its key.

    Names, people, dates of revisions and lists are none; neither are rows of tables whose first cell no key can name.
    """
    found = {key: one for key, one in _all(job) if one is not None and re.fullmatch(r"[A-Za-z0-9_./-]{1,200}", key)}
    tables_of_job = {key for key in found if key.partition(".")[0] in job.file.rows or key.startswith("limits.")}
    used: set[str] = set()
    data = head(job.file.contents, Faults()) or {}
    others = {key: one.printed for key, one in found.items() if key not in tables_of_job}
    apply_settings(copy.deepcopy(data), others, used, Faults())
    return {key: one for key, one in found.items() if key in tables_of_job or key in used}


def declaration(job: Job, key: str) -> FieldInfo | None:
    """Return the declaration of the field that a key names; None for a limit, which has its meaning in its table."""
    name, *path = key.split(".")
    if name in job.file.rows:
        return ROWS[name].model_fields.get(path[-1])
    place: Any = job.settings
    info = None
    for part in (name, *path):
        if isinstance(place, Mapping):
            place = place.get(part)
        elif isinstance(place, Strict):
            info, place = type(place).model_fields.get(part), getattr(place, part, None)
    return info if name != "limits" else None


def _all(job: Job) -> Iterator[tuple[str, Input | None]]:
    """Give every field with a value, section by section, then the tables, then the limits."""
    for name, info in type(job.settings).model_fields.items():
        if name not in IDENTITY:
            yield from _field(name, getattr(job.settings, name), info, job.system)
    for name, rows in job.file.rows.items():
        for row in rows:
            names = list(type(row).model_fields)
            for column in names[1:]:
                key = f"{name}.{getattr(row, names[0])}.{column}"
                if column in row.model_fields_set:
                    yield from _field(key, getattr(row, column), type(row).model_fields[column], job.system)
    for name, limit in job.file.limits.items():
        if name in job.rests_on:
            yield f"limits.{name}", _limit(f"limits.{name}", limit.value, limit.kind)


def _limit(key: str, value: Quantity, kind: Kind) -> Input:
    """Return a limit as an input: it may lie so far from what is usual as the job file lets it."""
    number = float(value.magnitude)
    span = (-100.0, 200.0) if kind.is_temperature else (number / FAR, number * FAR) if number else (0.0, 1.0)
    return Input(key, value, kind, span)


def _field(key: str, value: Any, info: FieldInfo, system: System) -> Iterator[tuple[str, Input | None]]:
    """Give what a field holds: itself, or the fields inside it."""
    if isinstance(value, Strict):
        for name, inner in type(value).model_fields.items():
            yield from _field(f"{key}.{name}", getattr(value, name), inner, system)
    elif isinstance(value, Mapping):
        inside = FieldInfo.from_annotation(get_args(info.annotation)[-1]) if get_args(info.annotation) else info
        for name, one in value.items():
            yield from _field(f"{key}.{name}", one, inside, system)
    elif isinstance(value, Quantity):
        yield key, _quantity(key, value, declared.ranges(info))
    elif isinstance(value, datetime.date):
        days = [value + way * datetime.timedelta(days=one) for one in DAYS for way in (1, -1)]
        yield key, Input(key, value, options=tuple(map(said, days)))
    elif isinstance(value, Metres):
        (one,) = declared.ranges(info)
        shown = units.quantity(float(value), "m").to(declared.kind_of(one).unit(system))
        yield key, _quantity(key, shown, [one])
    elif isinstance(value, bool):
        yield key, Input(key, value, options=(said(not value),))
    elif isinstance(value, int | float) and any(getattr(one, "func", None) is bearing for one in declared.parts(info)):
        yield key, Input(key, float(value), span=(-360.0, 360.0), unit=" deg")
    elif isinstance(value, int | float):
        least, most = ({getattr(one, name) for one in declared.parts(info) for name in names if hasattr(one, name)}
                       for names in (("ge", "gt"), ("le", "lt")))  # fmt: skip
        yield key, Input(key, value, span=(min(least, default=-inf), max(most, default=inf)))
    elif isinstance(value, str) and value:
        yield key, _choice(key, value, info)


def _quantity(key: str, value: Quantity, ranges: list[InRange]) -> Input | None:
    """Return a quantity with the range of its kind in its own unit."""
    for one in ranges:
        kind = declared.kind_of(one)
        if value.check(kind.base):
            factor, zero = kind.scale(value.units)
            low, high = ((bound - zero) / factor for bound in bounds(kind, one.low, one.high))
            if one.least:  # readings move together, none of them out of the range
                numbers = value.magnitude
                mean = float(np.mean(numbers))
                low, high = low + mean - float(numbers.min()), high + mean - float(numbers.max())
            return Input(key, value, kind, (low, high))
    return None


def _choice(key: str, value: str, info: FieldInfo) -> Input | None:
    """Return a choice with the others; None for a text that is none."""
    if any(isinstance(one, BeforeValidator) and one.func is size_of_bar for one in declared.parts(info)):
        options = next_sizes(value)
    else:
        options = (
            tuple(one for one in declared.choices(info) if one != value) if value in declared.choices(info) else ()
        )
    return Input(key, value, options=options) if options else None


def next_sizes(size: str) -> tuple[str, ...]:
    """Return the sizes of bar next to one, of its own table.

    Examples
    --------
    >>> next_sizes("#5")
    ('#3', '#4', '#6', '#7')
    """
    system = tables.bar(size)["system"]
    known = [row["size"] for row in tables.load("bars").rows if row["system"] == system]
    at = known.index(size)
    return (*known[max(at - NEXT_SIZES, 0) : at], *known[at + 1 : at + 1 + NEXT_SIZES])
