"""Inputs of a job that are changed for a review, before they are validated."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel

from deckcalc.base.fields import (
    LimitChoice,
)
from deckcalc.core.units import clipped
from deckcalc.job.bounded import LONGEST_CELL
from deckcalc.job.settings import ROWS, JobSettings


def check_changes(changes: Mapping[str, str], faults: list[str]) -> None:
    """Refuse changes that are no text that a sheet could print."""
    for key in [*changes]:
        if not re.fullmatch(r"[A-Za-z0-9_./-]{1,200}", key):
            faults.append(
                f"--set {clipped(key)}: wanted a key of letters, digits and points, such as deck.slab_thickness"
            )
        elif len(changes[key]) > LONGEST_CELL or not changes[key].isprintable():
            faults.append(
                f"--set {key}: found “{clipped(changes[key])}”, wanted up to {LONGEST_CELL} printable characters"
            )


def why_unknown(key: str, rows: Mapping[str, list[Any]]) -> str:
    """Return what is wrong with the key of a change."""
    name, *rest = key.split(".")
    if name not in ROWS or len(rest) != 2 or not rows[name]:
        lacks = f"{name}.csv gave no rows; " if name in ROWS and not rows[name] else ""
        return f"{lacks}write section.key, or table.id.column such as depths.D3.depth"
    fields = list(ROWS[name].model_fields)
    if rest[1] not in fields:
        return f"the columns of {name}.csv are {', '.join(fields)}"
    if any(getattr(row, fields[0]) == rest[0] for row in rows[name]):
        return f"{name}.csv has no column {rest[1].replace('_', ' ')} of that {fields[0]}"
    return f"{name}.csv has no {fields[0].replace('_', ' ')} “{rest[0]}”"


def apply_settings(data: dict[str, Any], changes: Mapping[str, str], used: set[str], faults: list[str]) -> None:
    """Change inputs of job.toml."""
    for key, value in changes.items():
        *path, last = key.split(".")
        if path and path[0] in ROWS:
            continue
        place: Any = data
        if path[:1] == ["limits"] and set_limit(data, key, changes, faults):
            used.add(key)
            continue
        if path == ["mix", "patches"] and isinstance(data.get("mix"), dict):
            data["mix"].setdefault("patches", {})
        if key == "confirmed":
            data[key] = [part.strip() for part in value.split(";")]
            used.add(key)
            continue
        section: Any = JobSettings
        for number, part in enumerate([*path, last], 1):
            known = section is not None and part in section.model_fields
            inner = place.get(part) if isinstance(place, dict) else None
            if isinstance(inner, list):
                faults.append(f"--set {key}: {'.'.join([*path, last][:number])} is a list; change it in job.toml")
                used.add(key)
                break
            if number <= len(path):
                place, section = inner, section_of(section.model_fields[part].annotation) if known else None
        else:  # a field that the file leaves to its default may be set as well
            if isinstance(inner, dict):
                faults.append(f"--set {key}: a section; name one of its fields, such as {key}.{next(iter(inner), 'x')}")
                used.add(key)
            elif isinstance(place, dict) and (
                last in place or known or path[:2] in (["mix", "patches"], ["mix", "concretes"])
            ):
                place[last] = value
                used.add(key)


def set_limit(data: dict[str, Any], key: str, changes: Mapping[str, str], faults: list[str]) -> bool:
    """Change a limit: its value by ``limits.NAME`` or ``limits.NAME.value``, its source by ``limits.NAME.source``."""
    _, name, *rest = key.split(".")
    field = rest[0] if rest else "value"
    limits = data.setdefault("limits", {})
    if not isinstance(limits, dict) or len(rest) > 1 or field not in LimitChoice.model_fields:
        return False
    if not rest and f"{key}.value" in changes:
        faults.append(f"--set {key}: set twice, as {key} and as {key}.value")
    stated = limits[name] if isinstance(limits.get(name), dict) else {}
    of_value = {"source": changes.get(f"limits.{name}.source", "changed for review")} if field == "value" else {}
    limits[name] = {**stated, field: changes[key], **of_value}
    return True


def section_of(annotation: Any) -> Any:
    """Return the section that an annotation such as ``Concrete | None`` names, or None."""
    classes = [one for one in (annotation, *get_args(annotation)) if isinstance(one, type)]
    return next((one for one in classes if issubclass(one, BaseModel)), None)
