"""What a job is given, as it was typed, and what differs between the inputs of two jobs: field by field and row by row."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np

from deckcalc.core import units
from deckcalc.core.units import InputError, clipped
from deckcalc.job.changes import number_in
from deckcalc.job.file import JobFile
from deckcalc.job.rows import columns_of, with_unit
from deckcalc.job.settings import ROWS
from deckcalc.job.table import Table

NONE = "(none)"


class Differs(NamedTuple):
    """An input that differs: where it stands, and what was typed in either job."""

    where: str
    old: str
    new: str


def typed(value: Any) -> str:
    """Return an input as it was typed, on one line.

    Examples
    --------
    >>> typed(["24 m", "48 m"]), typed({"a": 1, "b": True}), typed(None)
    ('24 m; 48 m', 'a = 1, b = yes', '(none)')
    """
    if value is None:
        return NONE
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, units.Quantity):
        return "; ".join(map(units.text, value)) if np.ndim(value.magnitude) else units.text(value)
    if isinstance(value, dict):
        return ", ".join(f"{name} = {typed(one)}" for name, one in value.items())
    if isinstance(value, list | tuple):
        return "; ".join(map(typed, value))
    return value.isoformat() if isinstance(value, datetime.date) else str(value)


def alike(value: Any) -> Any:
    """Return what is the same for inputs that mean the same."""
    if isinstance(value, units.Quantity):
        base = value.to_base_units()
        return str(base.units), [f"{one:.9g}" for one in np.atleast_1d(np.round(base.magnitude, 12))]
    if isinstance(value, float):
        return f"{round(value, 12):.9g}"
    return [alike(one) for one in value] if isinstance(value, list | tuple) else repr(value)


def step(place: Any, part: str) -> Any:
    """Return what stands under a name or number of a section, an entry or a list; None where nothing does."""
    if isinstance(place, list | tuple):
        try:
            return place[number_in([*place], part)]
        except InputError:
            return None
    return place.get(part) if isinstance(place, Mapping) else getattr(place, part, None)


def found_at(place: Any, path: list[str]) -> Any:
    """Return what stands at a path; None where nothing does."""
    for part in path:
        place = step(place, part)
    return place


def value_of(file: JobFile, key: str) -> str:
    """Return the input of a key as it was typed; its default, or the limit that is built in, where the job says nothing."""
    root, *path = key.split(".")
    if root in ROWS:
        id_, _, column = ".".join(path).rpartition(".")
        return cells_of(file, root).get(id_, {}).get(column.replace(" ", "_"), NONE)
    if root == "limits" and (path[1:] or ["value"]) == ["value"]:
        limit = file.limits.get(path[0])
        return units.text(limit.value) if limit else NONE
    value = found_at(file.data, [root, *path])
    value = found_at(file.settings, [root, *path]) if value is None else value
    return typed(value)


def cells_of(file: JobFile, name: str) -> dict[str, dict[str, str]]:
    """Return the cells of a table by row and column, those that are not empty, each with its unit."""
    table: Table | None = file.tables.get(name)
    if table is None:
        return {}
    first, plain = next(iter(ROWS[name].model_fields)), columns_of(table, ROWS[name], [])
    found = {}
    for row in table.rows:
        cells = {column: with_unit(row[place], unit) for place, (column, unit) in plain.items() if row[place]}
        found[cells.get(first, "")] = cells
    return found


def differing(before: JobFile, after: JobFile) -> Iterator[Differs]:
    """Give every input that differs between two jobs: where it stands, and what was typed in either."""
    names = dict.fromkeys([*before.data, *after.data])
    for name in (name for name in names if name != "limits"):
        yield from sections(name, before, after, before.data.get(name), after.data.get(name))
    limits = dict.fromkeys([*before.settings.limits, *after.settings.limits])
    for name in limits:
        key = f"limits.{name}"
        if alike(before.limits[name].value) != alike(after.limits[name].value):
            yield Differs(key, value_of(before, key), value_of(after, key))
        sources = [str(file.limits[name].source) for file in (before, after)]
        if sources[0] != sources[1]:
            yield Differs(f"{key}.source", *sources)
    for name in ROWS:
        yield from rows(name, before, after)


def sections(path: str, before: JobFile, after: JobFile, old: Any, new: Any) -> Iterator[Differs]:
    """Give what differs in a part of job.toml."""
    if isinstance(old, dict) and isinstance(new, dict):
        for name in dict.fromkeys([*old, *new]):
            yield from sections(f"{path}.{name}", before, after, old.get(name), new.get(name))
    elif any(isinstance(one, list) and one and isinstance(one[0], dict) for one in (old, new)):
        old, new = old or [], new or []
        for number in range(max(len(old), len(new))):
            both = (one[number] if number < len(one) else None for one in (old, new))
            yield from sections(f"{path}.{number + 1}", before, after, *both)
    elif old != new:
        keys = path.split(".")
        values = [found_at(file.settings, keys) for file in (before, after)]
        if None in (values[0], values[1]) or alike(values[0]) != alike(values[1]):
            either = (value if typed_ is None else typed_ for value, typed_ in zip(values, (old, new), strict=True))
            yield Differs(path, *(clipped(typed(one), 300) for one in either))


def rows(name: str, before: JobFile, after: JobFile) -> Iterator[Differs]:
    """Give what differs in a table: cells of rows that are in both, rows that are new or gone; a table that is new or gone at once."""
    old, new = cells_of(before, name), cells_of(after, name)
    if bool(old) != bool(new):
        yield Differs(name, *(f"{len(one)} rows" if one else NONE for one in (old, new)))
        return
    first = next(iter(ROWS[name].model_fields))
    read = [dict(zip(cells, file.rows[name], strict=False)) for cells, file in ((old, before), (new, after))]
    for id_ in dict.fromkeys([*old, *new]):
        if id_ not in old or id_ not in new:
            both = (
                ", ".join(f"{column.replace('_', ' ')} {cell}" for column, cell in one[id_].items() if column != first)
                if id_ in one else NONE for one in (old, new)
            )  # fmt: skip
            yield Differs(f"{name}.{id_}", *both)
            continue
        for column in dict.fromkeys([*old[id_], *new[id_]]):
            cells = [one[id_].get(column, NONE) for one in (old, new)]
            if cells[0] != cells[1] and len({str(alike(getattr(one[id_], column))) for one in read}) > 1:
                yield Differs(f"{name}.{id_}.{column}", *cells)
