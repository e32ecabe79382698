"""Published tables as CSV files, each with its source in the header, and their look-up.

A file starts with ``# key: value`` lines (title, source, where, provenance, notes); then follows plain CSV with the
unit in the column header. Values stand as printed; nothing here converts a unit.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from deckcalc.core.sources import Cite


class TableError(LookupError):
    """A value that a table does not hold, with what it does hold."""


@dataclass(frozen=True)
class Table:
    """A published table as printed.

    Attributes
    ----------
    name : str
        File name without its ending.
    facts : dict of str
        The header: title, source (a key of the bibliography), where, provenance, notes.
    rows : list of dict of str
        One a line; every value is text as printed, empty where the table has no value.
    """

    name: str
    facts: dict[str, str]
    rows: list[dict[str, str]]

    def column(self, name: str) -> list[float]:
        """Return a column as numbers."""
        return [float(row[name]) for row in self.rows]

    @property
    def cites(self) -> list[Cite]:
        """Where the table stands, or each of its rows that names its own source."""
        facts = self.facts
        own = {"source": facts["source"], "where": facts.get("where", ""), "provenance": facts["provenance"]}
        rows = [{**own, **{key: row[key] for key in own if row.get(key) is not None}} for row in self.rows]
        return list(dict.fromkeys(Cite(row["source"], row["where"], row["provenance"]) for row in rows))  # type: ignore[arg-type]

    def row(self, column: str, value: str) -> dict[str, str]:
        """Return the row whose `column` holds `value`.

        Raises
        ------
        TableError
            If there is none; the message lists what there is.
        """
        for row in self.rows:
            if row[column] == value:
                return row
        known = ", ".join(dict.fromkeys(row[column] for row in self.rows))
        raise TableError(f"{self.facts['title']} has no {column} “{value}”; it has {known}")


@cache
def load(name: str) -> Table:
    """Read a table of this folder.

    Parameters
    ----------
    name : str
        File name without ``.csv``.

    Returns
    -------
    Table

    Raises
    ------
    TableError
        If there is no such table.

    Examples
    --------
    >>> load("bars").row("size", "#5")["A [in²]"]
    '0.31'
    """
    path = files(__package__) / f"{name}.csv"
    if not path.is_file():
        raise TableError(f"there is no table “{name}”")
    lines = path.read_text(encoding="utf-8").splitlines()
    head = [line[1:] for line in lines if line.startswith("#")]
    facts = {key.strip(): value.strip() for key, _, value in (line.partition(":") for line in head)}
    rows = list(csv.DictReader(line for line in lines if line and not line.startswith("#")))
    return Table(name, facts, rows)


def names() -> list[str]:
    """Return the names of all tables."""
    return sorted(item.name.removesuffix(".csv") for item in files(__package__).iterdir() if item.name.endswith(".csv"))


def bar(size: str) -> dict[str, str]:
    """Return the row of a bar size such as ``#5`` (US inch-pound), ``M16`` (US soft metric) or ``16`` (ISO).

    Raises
    ------
    TableError
        If no bar table has the size.

    Examples
    --------
    >>> bar("#5")["d [in]"]
    '0.625'
    """
    return load("bars").row("size", size)


def interpolate(x: float, xs: Sequence[float], ys: Sequence[float], what: str) -> float:
    """Interpolate linearly between tabulated points, never beyond them.

    Parameters
    ----------
    x : float
        Where a value is wanted.
    xs, ys : sequence of float, shape (n,)
        Points of the table, `xs` rising.
    what : str
        Named in the error.

    Returns
    -------
    float

    Raises
    ------
    TableError
        If `x` lies outside the table.

    Examples
    --------
    >>> round(interpolate(2.7, [2.6, 2.8], [0.64, 0.62], "fineness modulus"), 4)
    0.63
    """
    slack = 1e-9 * max(abs(xs[0]), abs(xs[-1]))
    if not xs[0] - slack <= x <= xs[-1] + slack:
        raise TableError(f"{what} {x:g} lies outside the table, which runs from {xs[0]:g} to {xs[-1]:g}")
    for i in range(len(xs) - 1):
        if x <= xs[i + 1] or i == len(xs) - 2:
            return ys[i] + (ys[i + 1] - ys[i]) * (x - xs[i]) / (xs[i + 1] - xs[i])
    return ys[0]
