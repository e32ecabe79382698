"""A table of a job folder: CSV rows, units taken from the header, each held against the model of its row."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from deckcalc.base.fields import Strict
from deckcalc.core.spelling import lacks_unit
from deckcalc.core.units import clipped
from deckcalc.job.bounded import GRIDS, MOST_ROWS, MOST_WRITTEN, YEARS, csv_of

#: Faults of one table that are named; after so many something is wrong with the whole of it.
MOST_FAULTS = 100


def validated(
    model: type[Strict], data: Any, where: str, faults: list[str], names: Mapping[str, str] | None = None
) -> Any:
    """Validate, or note every fault with its place."""
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
            shown = (names or {}).get(place, place)
            faults.append(f"{where}: {shown}: {message}" if not names else f"{where}, column {shown}: {message}")
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


def read_rows(
    name: str, model: type[Strict], text: str, changes: Mapping[str, str], used: set[str], faults: list[str]
) -> list[Any]:
    """Read one CSV table, units taken from its header."""
    table, stopped = csv_of(text, MOST_ROWS if name in GRIDS else MOST_WRITTEN)
    if stopped:
        faults.append(f"{name}.csv{stopped}")
    if not table:
        return []
    header = [cell.strip() for cell in table[0]]
    fields = list(model.model_fields)
    if len(header) == 1 and (";" in header[0] or "\t" in header[0]):
        faults.append(f"{name}.csv, row 1: columns are separated by commas")
        return []
    plain: dict[int, tuple[str, str]] = {}
    for place, cell in enumerate(header):
        match = re.fullmatch(r"([^\[\]]+?)\s*(?:\[(.*)\])?", cell)
        column = match[1].strip().lower().replace(" ", "_").replace("-", "_") if match else cell
        column = {"from": "upper", "to": "lower"}.get(column, column)
        if column not in fields:
            faults.append(f"{name}.csv, row 1: unknown column “{clipped(cell)}”; wanted {', '.join(fields)}")
        elif column in [known for known, _ in plain.values()]:
            faults.append(f"{name}.csv, row 1: column “{cell}” stands twice")
        elif match:
            plain[place] = (column, match[2] or "")
    given = [known for known, _ in plain.values()]
    wanted = [field for field, info in model.model_fields.items() if info.is_required() or field in given]
    for missing in [field for field in wanted if field not in given]:
        faults.append(f"{name}.csv, row 1: column {missing.replace('_', ' ')} is missing")
    if len(plain) != len(header) or len(plain) != len(wanted):
        return []
    if stopped and len(table) < 2:
        return []
    if len(table) < 2 or not any("".join(row).strip() for row in table[1:]):
        faults.append(f"{name}.csv: has a header but no rows")
        return []
    names = {column: header[place] for place, (column, _) in plain.items()}
    found: list[Any] = []
    seen: dict[str, int] = {}
    before = len(faults)
    for number, cells in enumerate(table[1:], 2):
        if len(faults) - before >= MOST_FAULTS:
            faults.append(f"{name}.csv: more faults after row {number - 1}; these first")
            break
        if not "".join(cells).strip():
            continue
        if len(cells) != len(header):
            faults.append(f"{name}.csv, row {number}: {len(cells)} cells, the header has {len(header)}")
            continue
        data = {column: with_unit(cells[place].strip(), unit) for place, (column, unit) in plain.items()}
        id_ = data[fields[0]]
        for column in wanted:
            key = f"{name}.{id_}.{column}"
            if key in changes:
                unit = next(unit for known, unit in plain.values() if known == column)
                data[column] = with_unit(changes[key], unit)
                used.add(key)
        id_ = data[fields[0]]
        if id_ in seen:
            faults.append(f"{name}.csv, row {number}: {fields[0]} “{id_}” stands already in row {seen[id_]}")
        seen[id_] = number
        if (row := validated(model, data, f"{name}.csv, row {number}", faults, names)) is not None:
            found.append(row)
            for column in given:
                if isinstance(when := getattr(row, column), datetime.date) and when.year not in YEARS:
                    wanted_years = f"wanted a year from {YEARS[0]} to {YEARS[-1]}"
                    faults.append(f"{name}.csv, row {number}, column {names[column]}: found {when}, {wanted_years}")
    return found


def with_unit(cell: str, unit: str) -> str:
    """Add the unit of the header to every number of a cell that has none of its own."""
    if not unit:
        return cell
    return "; ".join(f"{part.strip()} {unit}" if lacks_unit(part) else part for part in cell.split(";") if part.strip())
