"""Built-in limits of the two unit systems side by side: which are one value, and which were rounded apart."""

from __future__ import annotations

from dataclasses import dataclass

from deckcalc.core import tables, units
from deckcalc.core.units import Kind

#: Two values that differ by no more than this share are conversions of each other, rounded.
TWIN = 0.002


@dataclass(frozen=True)
class Pair:
    """A built-in limit in both systems.

    Attributes
    ----------
    key, meaning, si, us : str
        As written in the table of limits.
    apart : float
        US value over SI value less one; for a temperature the difference in kelvin.
    kind : Kind
    """

    key: str
    meaning: str
    si: str
    us: str
    apart: float
    kind: Kind

    @property
    def twin(self) -> bool:
        """Whether the two values are one."""
        return abs(self.apart) <= (1e-9 if self.kind.is_temperature else TWIN)

    @property
    def difference(self) -> str:
        """How far the US value lies from the SI value, in words."""
        return f"{self.apart:+.1f} °C" if self.kind.is_temperature else f"{100 * self.apart:+.1f} %"


def pairs() -> list[Pair]:
    """Return every built-in limit that has a value in both systems.

    Examples
    --------
    >>> next(f"{one.si}, {one.us}: {one.difference}" for one in pairs() if one.key == "margin")
    '60 mm, 2 1/2 in: +5.8 %'
    """
    found = []
    for row in tables.load("limits").rows:
        if row["SI"] and row["US"]:
            kind = units.kind_of(getattr(units, row["kind"]))
            si, us = (float(units.read(row[system], kind).m_as(kind.base)) for system in ("SI", "US"))
            apart = us - si if kind.is_temperature else us / si - 1 if si else us
            found.append(Pair(row["key"], row["meaning"], row["SI"], row["US"], apart, kind))
    return found
