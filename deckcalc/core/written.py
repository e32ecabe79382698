"""Values as people give them: text with a unit, lists of such, arrays, columns of a table; read into quantities."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, Protocol, TypeAlias, runtime_checkable

import numpy as np
import numpy.typing as npt

from deckcalc.core import units
from deckcalc.core.units import InputError, Kind, Quantity


@runtime_checkable
class Column(Protocol):
    """A column of a table, such as a pandas Series: values, a name, and facts beside them."""

    @property
    def name(self) -> Any:
        """Its head, for instance ``d [in]``."""

    @property
    def attrs(self) -> Mapping[Any, Any]:
        """Facts about it, for instance ``{"units": "in"}``."""

    def to_numpy(self) -> npt.NDArray[Any]:
        """Return its values."""


#: What a call takes for an argument.
Given: TypeAlias = "Quantity[Any] | float | str | Sequence[Any] | npt.NDArray[Any] | Column | None"


class Unread(str):
    """Why a value could not be read: stands in its place until all arguments are checked."""


def read(value: Given, kind: Kind, several: bool = False) -> Any:
    """Read a value as people give it.

    Parameters
    ----------
    value : str, sequence, array, column or quantity
        Text such as ``"0.31 in^2"`` or ``"#5"``; a list of such (or of quantities); a column with its unit in the name
        (``d [in]``), in ``attrs["units"]`` or in its type.
    kind : Kind
        What is expected.
    several : bool
        Whether one text may hold a list of readings, separated by commas or semicolons.

    Returns
    -------
    Quantity, or the value itself
        Itself where there is nothing to read: a quantity, a number, an array of numbers.

    Raises
    ------
    InputError
        With what was found and what is wanted.
    """
    if isinstance(value, str):
        if several and kind.dimensionless and re.search(r"\d,\d", value) and not isinstance(value, Unread):
            raise InputError(
                f"found “{units.clipped(value)}”, where a comma may stand within a number or between two; "
                "write a point within a number, and “;” between two"
            )
        between = r"\s*(?:;|(?<!\d),|,(?!\d))\s*"  # 12,5 mm is one item
        parts = [part for part in re.split(between, value.strip()) if part] if several else []
        return value if isinstance(value, Unread) else _listed(parts, kind) if parts else units.read(value, kind)
    if isinstance(value, np.ndarray):
        return _listed(value.tolist(), kind) if value.dtype.kind in "OUS" and value.ndim else value
    if isinstance(value, list | tuple):
        return _listed(value, kind)
    if not isinstance(value, Quantity) and isinstance(value, Column):
        return _column(value, kind)
    return value


def _listed(values: Sequence[Any], kind: Kind) -> Any:
    """Read every item of a list; return one array, in the unit of the first."""
    if _bare(values):
        return (
            units.registry().Quantity(_array(values), "") if kind.dimensionless else values
        )  # without a unit: the call says what is wanted
    made = [_listed(item, kind) if isinstance(item, list | tuple) else _one(item, kind) for item in values]
    first = made[0].units
    return units.registry().Quantity(_array([item.m_as(first) for item in made]), first)


def _bare(values: Any) -> bool:
    """Whether a list, or a list of lists, holds numbers alone."""
    if isinstance(values, list | tuple):
        return all(map(_bare, values))
    return isinstance(values, float | int | np.number) and not isinstance(values, bool)


def _array(values: Sequence[Any]) -> npt.NDArray[Any]:
    try:
        return np.array(values, dtype=float)
    except ValueError:
        raise InputError("the lists of readings have different lengths") from None


def _one(item: Any, kind: Kind) -> Quantity:
    """Read one item of a list."""
    if not isinstance(item, Quantity):
        return units.read(item, kind)
    own = units.ours(item.units)
    try:
        kind.scale(own)
    except InputError:
        raise InputError(f"found {units.text(item)}, which is no {kind.name}") from None
    return units.registry().Quantity(item.magnitude, own)


def head(text: object) -> tuple[str, str | None]:
    """Return name and unit of a column's head; None where it has no brackets.

    Examples
    --------
    >>> head("d [in]"), head("w_cm"), head("d [in].1")
    (('d', 'in'), ('w_cm', None), ('d', 'in'))
    """
    match = re.fullmatch(r"\s*(.*?)\s*(?:\[([^\]]*)\](?:\.\d+)?)?\s*", str(text), re.S)
    assert match
    return match[1], match[2] if match[2] is None else match[2].strip(" -")


def _column(column: Column, kind: Kind) -> Any:
    """Read a column of a table: its unit stands in its type, beside it, or in its name."""
    named = head(column.name)[1]
    stated = [getattr(getattr(column, "dtype", None), "units", ""), column.attrs.get("units", ""), named]
    found = list(dict.fromkeys(units.unit(str(text)) for text in stated if text not in ("", None)))
    if len(found) > 1:
        raise InputError(f"its column “{column.name}” has two units: {' and '.join(map(units.pretty, found))}")
    values = column.to_numpy()
    if missing := [str(row) for row, item in enumerate(values, 1) if is_missing(item)]:
        raise InputError(f"its column “{column.name}” has no value in row {', '.join(missing[:5])}")
    if not found and any(isinstance(item, str) for item in values):
        return _listed(list(values), kind)
    if not found and not kind.dimensionless:
        name = column.name or "name"
        raise InputError(
            f"its column “{column.name}” has no unit, wanted {kind.a_name}; write the unit in its name, for instance "
            f"“{name} [{kind.si}]”, or beside it, attrs['units'] = '{kind.si}'"
        )
    try:
        numbers = np.array([getattr(item, "magnitude", item) for item in values], dtype=float)
    except (TypeError, ValueError):
        raise InputError(f"its column “{column.name}” holds something that is no number") from None
    return units.registry().Quantity(numbers, found[0] if found else units.unit(""))


def is_missing(item: Any) -> bool:
    """Whether a cell is empty: None, what is not equal to itself, or what cannot say whether it is."""
    number = getattr(item, "magnitude", item)
    try:
        return number is None or bool(number != number)
    except TypeError:  # the mark of pandas for a missing value
        return True
