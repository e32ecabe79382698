"""Published tables as CSV files, each with its source in the header, and their look-up.

A file starts with ``# key: value`` lines (title, source, where, provenance, notes); then follows plain CSV with the
unit in the column header. Values stand as printed; nothing here converts a unit.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files

from deckcalc.core import spelling
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


#: A bar size in letters and digits: sign, number, end.
BAR = re.compile(r"(#|no\.?|number|[ØøΦφ⌀]|d|m|) ?(\d+)(?: ?(mm|m))?", re.A | re.I)
#: An existing bar, or a bar by its inches alone.
OLD = re.compile(r"(square|round)? ?((?:\d )?\d/\d|\d) ?(?:\"|in\.?)? ?(square|round)?", re.A | re.I)


@cache
def _sizes() -> dict[str, dict[str, str]]:
    return {row["size"]: row for row in load("bars").rows}


def bar(size: str) -> dict[str, str]:
    """Return the row of a bar size.

    Parameters
    ----------
    size : str
        ``#5`` or ``No. 5`` (US inch-pound), ``M16`` (US soft metric), ``15M`` (CSA), ``16``, ``16 mm``, ``Ø16`` or ``D16``
        (ISO), ``square 3/4 in`` or ``3/4" round`` (existing bars).

    Raises
    ------
    TableError
        If no bar table has the size, or the text names bars of more than one.

    Examples
    --------
    >>> bar("No. 5")["d [in]"], bar("Ø16")["size"]
    ('0.625', '16')
    """
    known = _sizes()
    if size in known:
        return known[size]
    found = list(dict.fromkeys(name for name in _meant(spelling.plain(size)) if name in known))
    if len(found) == 1:
        return known[found[0]]
    if found:
        named = " or ".join(f"{name} ({known[name]['system']})" for name in found)
        raise TableError(f"found “{size}”, which may be the bar {named}; write one of them")
    if re.fullmatch(r"[A-Za-z] ?\d+", size):
        raise TableError(
            f"found “{size}”, where the letter is not usual everywhere; write the bar as #5 (US), M16 (US soft metric), 15M (CSA) "
            "or 16 (diameter in mm)"
        )
    return load("bars").row("size", size)


def _meant(text: str) -> list[str]:
    """Return the names of the bars that a text can mean, as the table would spell them."""
    if len(text) > spelling.LONGEST:
        return []
    if match := BAR.fullmatch(text):
        sign, number, end = match[1].lower().rstrip("."), match[2], (match[3] or "").lower()
        if sign in ("#", "no", "number"):
            names = [f"#{number}"] if f"#{number}" in _sizes() else [f"M{number}", number]
            return names if names[0] in _sizes() and not end else []
        if "m" in (sign, end):
            return [] if sign and end else [f"M{number}"] if sign else [f"{number}M"]
        return [number]
    if (match := OLD.fullmatch(text)) and not (match[1] and match[3]):
        if shape := match[1] or match[3]:
            return [f"{shape.lower()} {match[2]} in"]
        inches = sum(Fraction(part) for part in match[2].split() if not part.endswith("/0"))
        return [name for name, row in _sizes().items() if row["d [in]"] and Fraction(row["d [in]"]) == inches]
    return []


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
