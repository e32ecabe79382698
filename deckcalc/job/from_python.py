"""A job handed over in Python: settings as a dict, tables as DataFrames, lists of dicts or dicts of lists.

It goes through the same reading as a folder, with the same faults. Where a folder's fault names ``job.toml``, its fault says
``job``; where one names ``bars.csv``, it says ``table bars``, rows counted from 1, or by the index of a DataFrame.
"""

from __future__ import annotations

import datetime
import hashlib
import math
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

import numpy as np

from deckcalc.base.fields import JobError, Strict
from deckcalc.core import units
from deckcalc.core.units import InputError, Quantity, clipped
from deckcalc.core.written import is_missing
from deckcalc.job.bounded import LONGEST_CELL, MOST_COLUMNS, most_rows
from deckcalc.job.folder import HANDED_OVER, HEAD, Contents
from deckcalc.job.settings import ROWS
from deckcalc.job.table import Table, head_of, is_moment, plain_head, written

#: How deep settings may be nested before they are looked at as a file is.
DEEPEST = 20


def contents_of(settings: Mapping[str, Any], tables: Mapping[str, Any]) -> Contents:
    """Return settings and tables as a job folder would hold them.

    Raises
    ------
    JobError
        With what cannot stand in a job at all; every other fault is found when it is read.
    """
    faults: list[str] = []
    if not isinstance(settings, Mapping):
        raise JobError([f"job: found {type(settings).__name__}, wanted a dict of sections"])
    models = ROWS
    made: dict[str, Table] = {}
    for name, data in tables.items():
        if name not in models:
            close = get_close_matches(str(name), models, n=1)
            also = f"is it {close[0]}? " if close else ""
            faults.append(f"table {clipped(name)}: unknown; {also}known are {', '.join(models)}")
            continue
        try:
            made[name] = table_of(name, data, models[name])
        except InputError as error:
            faults += str(error).splitlines()
    head = toml_text(settings, faults)
    if faults:
        raise JobError(faults)
    filed = {HEAD: head, **{f"{name}.csv": table.filed(models[name]) for name, table in made.items()}}
    hashes = tuple((name, hashlib.sha256(data).hexdigest()) for name, data in filed.items())
    return Contents(HANDED_OVER, HANDED_OVER, hashes, (), (), MappingProxyType({HEAD: head}), made)


# ---- settings


def toml_text(settings: Mapping[str, Any], faults: list[str]) -> bytes:
    """Return settings as job.toml has them."""
    try:
        import tomli_w
    except ImportError:
        raise InputError(
            "a job made in Python wants the library tomli-w; install it with: pip install “deckcalc[job]”"
        ) from None
    data = plain(settings, "", faults)
    if faults:
        return b""
    try:
        return tomli_w.dumps(data).encode()
    except UnicodeEncodeError:
        faults.append("job: holds a character that cannot be written as UTF-8")
        return b""


def plain(value: Any, place: str, faults: list[str], depth: int = 0) -> Any:
    """Return a setting as TOML has it: quantities as text, what is empty left out."""
    if depth > DEEPEST:
        faults.append(f"job: {clipped(place, 200)}: nested too deep")
        return None
    if isinstance(value, Mapping):
        inner = {str(key): plain(one, f"{place}.{key}".lstrip("."), faults, depth + 1) for key, one in value.items()}
        return {key: one for key, one in inner.items() if one is not None}
    if isinstance(value, Quantity) and np.ndim(value.magnitude):
        return [text_of(one) for one in value]
    if isinstance(value, list | tuple | np.ndarray):
        return [plain(one, f"{place}.{number}", faults, depth + 1) for number, one in enumerate(value)]
    if is_missing(value):
        return None
    if isinstance(value, Quantity):
        return text_of(value)
    value = value.item() if isinstance(value, np.generic) else value
    if isinstance(value, datetime.datetime):
        if value.tzinfo is not None:
            faults.append(f"job: {place}: found {value.isoformat()}, wanted a local time without a zone")
        midnight = value.time() == datetime.time()
        return value.date() if midnight else datetime.datetime(*value.timetuple()[:6])
    if isinstance(value, str | bool | int | float | datetime.date | datetime.time):
        return str(value) if isinstance(value, str) else value
    faults.append(
        f"job: {clipped(place, 200)}: found {type(value).__name__}, wanted text, a number, a quantity, a date, or a list or dict of such"
    )
    return None


def text_of(value: Quantity) -> str:
    """Return a quantity as people write it, every digit kept."""
    return f"{written(number_of(value.magnitude))} {unit_text(value)}".strip()


def unit_text(value: Quantity) -> str:
    """Return the unit of a quantity as people write it; nothing for a bare number."""
    own = units.ours(value.units)
    return "" if own == units.unit("") else units.pretty(own)


def number_of(value: Any) -> Any:
    """Return a number as Python has it."""
    return value.item() if isinstance(value, np.generic | np.ndarray) else value


# ---- tables


def table_of(name: str, data: Any, model: type[Strict]) -> Table:
    """Return a table that was handed over.

    Raises
    ------
    InputError
        If it is no table, or a cell holds what no table holds: with the place.
    """
    file = f"table {name}"
    header, columns, labels = columns_of(file, data)
    if not header:
        raise InputError(f"{file}: has no columns; wanted {', '.join(model.model_fields)}")
    if len(header) > MOST_COLUMNS:
        raise InputError(f"{file}: {len(header)} columns; at most {MOST_COLUMNS} are read")
    if len(labels) > most_rows(name):
        raise InputError(
            f"{file}: more than {most_rows(name)} rows; the package prints every one of them: split the job"
        )
    empty = Table(name, file, tuple(header), (), (), head="")
    made, faults = [], list[str]()
    for place, (cell, column) in enumerate(zip(header, columns, strict=True)):
        try:
            field, unit = head_of(cell, model) or ("", "")
        except InputError:
            field, unit = "", ""
        if field and not unit and (first := unit_of(column)):
            unit = first
            header[place] = f"{plain_head(cell, model)} [{unit}]"
        texts = []
        for label, value in zip(labels, column, strict=True):
            try:
                text = cell_text(value, unit, bool(field) and is_moment(field, model))
            except InputError as error:
                faults.append(f"{empty.at(label, column=cell)}: {error}")
                text = ""
            texts.append(text)
        made.append(texts)
    if faults:
        raise InputError("\n".join(faults[:100]))
    rows = tuple(zip(*made, strict=True)) if made else ()
    return Table(name, file, tuple(header), rows, tuple(labels), head="")


def columns_of(file: str, data: Any) -> tuple[list[str], list[list[Any]], list[str]]:
    """Return heads, columns and names of the rows of a DataFrame, a list of dicts or a dict of lists."""
    if hasattr(data, "iloc") and hasattr(data, "columns"):
        columns = [data.iloc[:, place].tolist() for place in range(len(data.columns))]
        return [str(one) for one in data.columns], columns, [clipped(one) for one in data.index]
    if isinstance(data, Mapping):
        columns = [
            list(column) if isinstance(column, list | tuple | np.ndarray | Quantity) else None
            for column in data.values()
        ]
        for head, column in zip(data, columns, strict=True):
            if column is None:
                raise InputError(f"{file}, column {clipped(head)}: found {type(data[head]).__name__}, wanted a list")
        lengths = {len(column) for column in columns if column is not None}
        if len(lengths) > 1:
            said = ", ".join(f"{clipped(head)} {len(column or ())}" for head, column in zip(data, columns, strict=True))
            raise InputError(f"{file}: columns of different lengths: {said}")
        rows = lengths.pop() if lengths else 0
        return [str(one) for one in data], [column or [] for column in columns], [str(row + 1) for row in range(rows)]
    if (
        isinstance(data, Sequence)
        and not isinstance(data, str | bytes)
        and all(isinstance(row, Mapping) for row in data)
    ):
        heads = list(dict.fromkeys(head for row in data for head in row))
        columns = [[row.get(head) for row in data] for head in heads]
        return [str(one) for one in heads], columns, [str(row + 1) for row in range(len(data))]
    raise InputError(f"{file}: found {type(data).__name__}, wanted a DataFrame, a list of dicts, or a dict of lists")


def unit_of(column: Sequence[Any]) -> str:
    """Return the unit of a column whose cells are quantities throughout: that of the first; nothing otherwise."""
    full = [value for value in column if not is_empty(value)]
    if not full or not all(isinstance(value, Quantity) for value in full):
        return ""
    first = units.ours(full[0].units)
    alike = all(units.ours(value.units).dimensionality == first.dimensionality for value in full)
    return unit_text(full[0]) if alike else ""


def is_empty(value: Any) -> bool:
    """Whether a cell holds nothing."""
    many = isinstance(value, list | tuple | np.ndarray) or (isinstance(value, Quantity) and np.ndim(value.magnitude))
    return not many and is_missing(value)


def cell_text(value: Any, unit: str, moment: bool) -> str:
    """Return what a cell holds as a table has it: numbers in the unit of the head, readings separated by semicolons."""
    if isinstance(value, list | tuple | np.ndarray) or (isinstance(value, Quantity) and np.ndim(value.magnitude)):
        text = "; ".join(cell_text(one, unit, moment) for one in value)
    elif is_empty(value):
        text = ""
    elif isinstance(value, Quantity):
        text = in_unit(value, unit)
    else:
        value = number_of(value)
        if isinstance(value, datetime.datetime) and value.tzinfo is not None:
            raise InputError(f"found {value.isoformat()}, wanted a local time without a zone")
        if not isinstance(value, str | bool | int | float | datetime.date | datetime.time):
            raise InputError(
                f"found {type(value).__name__}, wanted text, a number, a quantity, a date, or a list of such"
            )
        if isinstance(value, float) and math.isinf(value):
            raise InputError(f"found {value}, wanted a finite number")
        text = written(value, moment=moment)
    if len(text) > LONGEST_CELL:
        raise InputError(f"more than {LONGEST_CELL} characters")
    return text


def in_unit(value: Quantity, unit: str) -> str:
    """Return the number of a quantity in the unit of its head; with its own unit where it is of another kind."""
    if not unit:
        return text_of(value)
    own, wanted = units.ours(value.units), units.unit(unit)
    if own == wanted:
        return written(number_of(value.magnitude))
    try:
        return written(float(units.registry().Quantity(value.magnitude, own).m_as(wanted)))
    except Exception:  # of another dimension: its fault is found when the row is read
        return text_of(value)
