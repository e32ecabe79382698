"""The limits of a job: its own in place of built-in ones."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from deckcalc.base.context import Limits
from deckcalc.core import tables, units
from deckcalc.core.check import Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError
from deckcalc.job.settings import JobSettings

#: A limit further from the built-in one than by this factor is a slip of the pen.
FAR = 20


def read_limits(settings: JobSettings, faults: list[str]) -> Limits:
    """Return all limits, the job's own in place of built-in ones."""
    limits = Limits()
    rows = {row["key"]: row for row in tables.load("limits").rows}
    for key in settings.limits:
        if key not in rows:
            faults.append(f"job.toml: limits.{key}: unknown; known are {', '.join(rows)}")
    for key, row in rows.items():
        kind = units.kind_of(getattr(units, row["kind"]))
        written = row[settings.units]
        if key in settings.limits:
            choice = settings.limits[key]
            try:
                value = units.read(choice.value, kind)
                if value.magnitude < 0:
                    raise InputError(f"found “{choice.value}”, wanted {kind.a_name} that is not negative")
                require_near(choice.value, value, written, kind)
                limits[key] = Limit(key, row["meaning"], value, kind, choice.source, "engineer")
            except InputError as error:
                faults.append(f"job.toml: limits.{key}.value: {error}")
        elif written:
            limits[key] = built_in(row, settings.units)
    return limits


def built_in(row: Mapping[str, str], system: str) -> Limit:
    """Return a built-in limit from its row of the table."""
    kind = units.kind_of(getattr(units, row["kind"]))
    cite = Cite(row["source"], row["where"], row["provenance"])  # type: ignore[arg-type]
    return Limit(row["key"], row["meaning"], units.read(row[system], kind), kind, cite)


def require_near(found: Any, value: Any, written: str, kind: units.Kind) -> None:
    """Refuse a limit that is so far from the built-in one that its unit or its decimal point must be wrong."""
    if not written or kind.is_temperature or not value.magnitude:
        return
    usual = units.read(written, kind)
    times = float(value.m_as(kind.base)) / float(usual.m_as(kind.base)) if usual.magnitude else 1.0
    if not 1 / FAR <= times <= FAR:
        raise InputError(
            f"found “{found}”, which is {times:.3g} times the usual {written}; wanted a limit nearer to it"
        )
