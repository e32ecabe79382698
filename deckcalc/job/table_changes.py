"""Rows and cells of the tables of a job that are changed for a review, before they are validated."""

from __future__ import annotations

import re
from dataclasses import replace

from deckcalc.base.fields import Strict
from deckcalc.core.units import InputError
from deckcalc.job.bounded import most_rows
from deckcalc.job.changes import WRITE, Changes, UnknownKeyError, near, option, ordered, pairs_of
from deckcalc.job.dialect import read_csv
from deckcalc.job.settings import ROWS
from deckcalc.job.table import WORDS, Table, field_of, head_of, taken


def apply_tables(
    tables: dict[str, Table], changes: Changes, used: set[str], faults: list[str], places: dict[str, str]
) -> dict[str, Table]:
    """Return the tables with their changes; `places` gets the key of each change by the place that faults name."""
    found = dict(tables)
    for key, value in ordered(changes):
        name, _, rest = key.partition(".")
        if name not in ROWS:
            continue
        used.add(key)
        try:
            made = whole(name, value, found) if not rest else changed(found.get(name), name, rest, value, key, places)
        except UnknownKeyError as error:
            faults.append(f"{option(key)}: no such input; {error}")
            continue
        except InputError as error:
            faults.append(f"{option(key)}: {error}")
            continue
        found.pop(name, None)
        if made is not None:
            found[name] = made
    return found


def whole(name: str, value: str | None, found: dict[str, Table]) -> Table | None:
    """Return a table that is replaced, or None for one that is taken out."""
    if value is None:
        if name not in found:
            raise InputError(f"the job has no {name}.csv, so it cannot be taken out")
        return None
    if "\n" not in value:
        raise InputError(
            f"a table; write {name}.id.column such as depths.D3.depth, or give it whole with {name}=@file.csv"
        )
    return taken(read_csv(name, value.encode(), ROWS[name], most_rows(name)), ROWS[name])


def changed(
    table: Table | None, name: str, rest: str, value: str | None, key: str, places: dict[str, str]
) -> Table | None:
    """Return a table with one row or cell changed; None where no row is left."""
    model = ROWS[name]
    first = next(iter(model.model_fields))
    if rest.startswith("+"):
        return with_row(table, name, pairs_of(value or ""), key, places)
    if table is None or not table.rows:
        raise UnknownKeyError(f"{name}.csv gave no rows; a new one comes with --add {name}")
    place = place_of(table, first, model)
    ids = [row[place] if place is not None and place < len(row) else "" for row in table.rows]
    if value is None and rest in ids:
        kept = [number for number, one in enumerate(ids) if one != rest]
        rows, numbers = tuple(table.rows[i] for i in kept), tuple(table.numbers[i] for i in kept)
        return replace(table, rows=rows, numbers=numbers, data=b"") if kept else None
    id_, _, column = rest.rpartition(".")
    if id_ not in ids:
        if not id_ and value is not None:
            raise UnknownKeyError(f"{WRITE}; {near(rest, ids)}")
        wanted = rest if value is None else id_
        raise UnknownKeyError(f"{name}.csv has no {first.replace('_', ' ')} “{wanted}”; {near(wanted, ids)}")
    field = field_of(column, model)
    if not field:
        raise UnknownKeyError(
            f"the columns of {name}.csv are {', '.join(model.model_fields)}; {near(column, model.model_fields)}"
        )
    table = with_column(table, field, model)
    at, row = place_of(table, field, model), ids.index(id_)
    assert at is not None
    places[table.at(table.numbers[row], at, table.header[at])] = key
    cells = list(table.rows[row])
    if at >= len(cells):
        raise InputError(f"{table.at(table.numbers[row])}: {len(cells)} cells, the header has {len(table.header)}")
    cells[at] = (value or "").strip()
    return replace(table, rows=(*table.rows[:row], tuple(cells), *table.rows[row + 1 :]), data=b"")


def with_row(table: Table | None, name: str, pairs: dict[str, str], key: str, places: dict[str, str]) -> Table:
    """Return a table with a new row at its end."""
    model = ROWS[name]
    given: dict[str, str] = {}
    for column, cell in pairs.items():
        if not (field := field_of(column, model)):
            raise InputError(f"unknown column “{column}”; {near(column, model.model_fields)}")
        given[field] = cell
    made = table or Table(name, f"{name}.csv", (), (), ())
    required = [field for field, info in model.model_fields.items() if info.is_required()]
    for field in (*([] if table else required), *given):
        made = with_column(made, field, model)
    cells = [""] * len(made.header)
    for field, cell in given.items():
        at = place_of(made, field, model)
        assert at is not None
        cells[at] = cell
    last = re.match(r"\d+", made.numbers[-1] if made.numbers else "")
    number = f"{int(last[0]) + 1 if last else len(made.rows) + 2} (new)"
    places[made.at(number)] = key
    return replace(made, rows=(*made.rows, tuple(cells)), numbers=(*made.numbers, number), data=b"")


def with_column(table: Table, field: str, model: type[Strict]) -> Table:
    """Return a table that has a column of a field."""
    if place_of(table, field, model) is not None:
        return table
    head = {one: word for word, one in WORDS.items()}.get(field, field.replace("_", " "))
    width = len(table.header)
    rows = tuple((*row, "") if len(row) == width else row for row in table.rows)
    letters = (*table.letters, "new") if table.letters else ()
    return replace(table, header=(*table.header, head), rows=rows, letters=letters, data=b"")


def place_of(table: Table, field: str, model: type[Strict]) -> int | None:
    """Return where the column of a field stands; None where there is none."""
    for place, cell in enumerate(table.header):
        try:
            found = head_of(cell, model)
        except InputError:
            continue
        if found and found[0] == field:
            return place
    return None
