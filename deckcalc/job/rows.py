"""A table of a job: its rows, units taken from the header, each held against the model of its row."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

from pydantic import ValidationError

from deckcalc.base.fields import Strict
from deckcalc.core.spelling import lacks_unit
from deckcalc.core.units import InputError, clipped
from deckcalc.job.bounded import YEARS
from deckcalc.job.table import Table, head_of, is_notes

#: Faults of one table that are named; after so many something is wrong with the whole of it.
MOST_FAULTS = 100


def validated(
    model: type[Strict], data: Any, where: str, faults: list[str], at: Callable[[str], str] | None = None
) -> Any:
    """Validate, or note every fault with its place; `at` says in words where a column of a row stands."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        for item in error.errors():
            place = place_of(item["loc"]) + (".kind" if item["type"] == "kind" else "")
            message = {
                "missing": "missing", "extra_forbidden": "unknown; is it misspelt?",
                "string_type": "wanted text in quotation marks", "string_too_short": "empty, wanted text",
                "string_too_long": f"wanted at most {item.get('ctx', {}).get('max_length')} characters",
                "string_pattern_mismatch": f"found “{clipped(item['input'])}”, wanted up to 20 letters, digits, - or _",
            }.get(item["type"], item["msg"].removeprefix("Value error, "))  # fmt: skip
            if item["type"] == "literal_error":
                message = f"found “{clipped(item['input'])}”, wanted {item['ctx']['expected']}"
            faults.append(f"{at(place)}: {message}" if at else f"{where}: {place}: {message}")
        return None


def place_of(parts: tuple[int | str, ...]) -> str:
    """Return the field that a fault is of; a concrete is read by a model of its kind, which is no part of the place.

    Examples
    --------
    >>> place_of(("mix", "concretes", "R1", "bags", "bag")), place_of(("deck", "slab_thickness"))
    ('mix.concretes.R1.bag', 'deck.slab_thickness')
    """
    if parts[:2] == ("mix", "concretes"):
        parts = parts[:3] + parts[4:]
    return ".".join(str(part) for part in parts)


def read_rows(table: Table, model: type[Strict], faults: list[str]) -> list[Any]:
    """Read the rows of a table, units taken from its header."""
    header, fields = table.header, list(model.model_fields)
    faults += table.faults
    if table.stopped:
        faults.append(f"{table.file}{table.stopped}")
    if not header:
        return []
    plain = columns_of(table, model, faults)
    given = [known for known, _ in plain.values()]
    wanted = [field for field, info in model.model_fields.items() if info.is_required() or field in given]
    for missing in [field for field in wanted if field not in given]:
        faults.append(f"{table.at_head}: column {missing.replace('_', ' ')} is missing")
    if len(plain) + sum(is_notes(cell, model) for cell in header) != len(header) or len(plain) != len(wanted):
        return []
    if table.stopped and not table.rows:
        return []
    if not table.rows:
        faults.append(f"{table.file}: has a header but no rows")
        return []
    places = {column: place for place, (column, _) in plain.items()}
    hollow = {  # a column that is empty throughout is as one that is left out
        column for column, place in places.items()
        if not model.model_fields[column].is_required() and not any("".join(row[place : place + 1]) for row in table.rows)
    }  # fmt: skip
    found: list[Any] = []
    seen: dict[str, str] = {}
    before, last = len(faults), ""
    for number, cells in zip(table.numbers, table.rows, strict=True):
        if len(faults) - before >= MOST_FAULTS:
            faults.append(f"{table.file}: more faults after row {last}; these first")
            break
        last = number
        if number in table.unread:
            continue
        if len(cells) != len(header):
            faults.append(f"{table.at(number)}: {len(cells)} cells, the header has {len(header)}")
            continue
        data = {
            column: with_unit(cells[place], unit) for place, (column, unit) in plain.items() if column not in hollow
        }
        id_ = data[fields[0]]
        if id_ in seen:
            faults.append(f"{table.at(number)}: {fields[0]} “{id_}” is already in row {seen[id_]}")
        seen[id_] = number

        def at(column: str, number: str = number) -> str:
            place = places.get(column)
            return table.at(number, place, column if place is None else header[place])

        if (row := validated(model, data, table.at(number), faults, at)) is not None:
            found.append(row)
            for column in given:
                if isinstance(when := getattr(row, column), datetime.date) and when.year not in YEARS:
                    faults.append(f"{at(column)}: found {when}, wanted a year from {YEARS[0]} to {YEARS[-1]}")
    return found


def columns_of(table: Table, model: type[Strict], faults: list[str]) -> dict[int, tuple[str, str]]:
    """Return field and unit of each column, by its place; what is no column of the table is a fault."""
    plain: dict[int, tuple[str, str]] = {}
    for place, cell in enumerate(table.header):
        where = table.at(table.head, place) if table.letters else table.at_head
        try:
            found = head_of(cell, model)
        except InputError as error:
            faults.append(f"{where}: {error}")
            continue
        if found is None:
            if not is_notes(cell, model):
                faults.append(f"{where}: unknown column “{clipped(cell)}”; wanted {', '.join(model.model_fields)}")
        elif found[0] in [known for known, _ in plain.values()]:
            faults.append(f"{where}: column “{cell}” appears twice")
        else:
            plain[place] = found
    return plain


def with_unit(cell: str, unit: str) -> str:
    """Add the unit of the header to every number of a cell that has none of its own."""
    if not unit:
        return cell
    return "; ".join(f"{part.strip()} {unit}" if lacks_unit(part) else part for part in cell.split(";") if part.strip())
