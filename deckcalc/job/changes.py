"""Inputs of a job that are changed for a review, before they are validated: fields, entries, sections of job.toml.

A change is a key with its new value, or with None for what is taken out; `deckcalc.job.table_changes` makes those of tables.
"""

from __future__ import annotations

import difflib
import re
import types
from collections.abc import Collection, Iterator, Mapping
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel

from deckcalc.base.fields import LimitChoice
from deckcalc.core.units import InputError, clipped
from deckcalc.core.words import us_names
from deckcalc.job.bounded import LONGEST_CELL, toml_of
from deckcalc.job.settings import ROWS, JobSettings

#: New values by key: ``deck.slab_thickness``, ``depths.D3.depth``; ``depths.+1`` is a new row, ``depths`` the whole table.
Changes = Mapping[str, str | None]
#: The longest text of a table or section that is given whole.
LONGEST_WHOLE = 2**20
#: What a key looks like.
WRITE = "write section.key, or table.id.column such as depths.D3.depth"
KEY = r"[A-Za-z0-9_./:+ -]{1,200}"


class UnknownKeyError(InputError):
    """A key that names no input; in words that follow it."""


class SectionError(InputError):
    """A section in the place of a value: one of its fields."""


def check_changes(changes: Changes, faults: list[str]) -> None:
    """Refuse changes that are no text that a sheet could print."""
    for key, value in changes.items():
        if not re.fullmatch(KEY, key):
            faults.append(
                f"--set {clipped(key)}: wanted a key of letters, digits and points, such as deck.slab_thickness"
            )
        elif value is None or ("\n" in value and len(value) <= LONGEST_WHOLE):
            continue
        elif len(value) > LONGEST_CELL or not value.isprintable():
            faults.append(f"--set {key}: found “{clipped(value)}”, wanted up to {LONGEST_CELL} printable characters")


def in_words(key: str, value: str | None) -> str:
    """Return a change in a few words.

    Examples
    --------
    >>> in_words("limits.waste", "5 %"), in_words("depths.D3", None), in_words("depths.+1", "reading = D30, depth = 80 mm")
    ('limits.waste = 5 %', 'depths.D3 taken out', 'new in depths: reading = D30, depth = 80 mm')
    """
    if value is None:
        return f"{key} taken out"
    text = clipped(" ".join(value.split()), 200)
    return f"{key} = {text}" if "+" not in key else f"new in {key.rpartition('.+')[0]}: {text}"


def option(key: str) -> str:
    """Return a key behind the option that gives such a change on the command line."""
    return f"--add {key.rpartition('.+')[0]}" if ".+" in key else f"--set {key}"


def ordered(changes: Changes) -> list[tuple[str, str | None]]:
    """Return changes in the order in which they are made: fields, new entries, and from the end what is taken out."""
    parts = {key: [(part.isdecimal(), part.zfill(9)) for part in key.split(".")] for key in changes}
    out = sorted((key for key in changes if changes[key] is None), key=parts.__getitem__, reverse=True)
    wanted = sorted((key for key in changes if changes[key] is not None), key=lambda key: ".+" in key)
    return [(key, changes[key]) for key in (*wanted, *out)]


def near(name: str, known: Collection[str]) -> str:
    """Say which of the known names may be meant, or all of them where they are few."""
    found = difflib.get_close_matches(name, list(known), n=3, cutoff=0.6)
    listed = found or ([*known] if len(known) <= 40 else [*known][:40])
    return f"{'did you mean' if found else 'there are'} {', '.join(listed)}{'?' if found else ''}" if listed else ""


def pairs_of(text: str) -> dict[str, str]:
    """Return what ``name = value, name = value`` gives; a comma before no name belongs to the value.

    Examples
    --------
    >>> pairs_of('item = P5, P6: not placed, by = B. Checker, date = 2027-04-20')
    {'item': 'P5, P6: not placed', 'by': 'B. Checker', 'date': '2027-04-20'}
    """
    found: dict[str, str] = {}
    for part in re.split(r",\s*(?=[A-Za-z][\w -]*=)", text.strip().removeprefix("{").removesuffix("}")):
        name, equals, value = (one.strip() for one in part.partition("="))
        if not equals or not name:
            raise InputError(f"found “{clipped(text)}”, wanted “name = value, name = value”")
        if name in found:
            raise InputError(f"{name} is given twice")
        found[name] = value[1:-1] if len(value) > 1 and value[0] == value[-1] == '"' else value
    return found


# --- job.toml


def apply_settings(data: dict[str, Any], changes: Changes, used: set[str], faults: list[str]) -> None:
    """Change inputs of job.toml."""
    root = {"job": data}
    for key, value in ordered(changes):
        if key.split(".")[0] in ROWS:
            continue
        used.add(key)
        if value is not None and key.startswith("limits.") and set_limit(data, key, value, changes, faults):
            continue
        try:
            put(root, "job", JobSettings, key.split("."), value)
        except UnknownKeyError as error:
            faults.append(f"{option(key)}: no such input; {error}")
        except SectionError as error:
            faults.append(f"{option(key)}: a section; name one of its fields, such as {key}.{error}")
        except InputError as error:
            faults.append(f"{option(key)}: {error}")


def set_limit(data: dict[str, Any], key: str, value: str, changes: Changes, faults: list[str]) -> bool:
    """Change a limit: its value by ``limits.NAME`` or ``limits.NAME.value``, its source by ``limits.NAME.source``."""
    _, name, *rest = key.split(".")
    field = rest[0] if rest else "value"
    data.setdefault("limits", {})
    limits = data["limits"]  # job.toml with its comments holds a copy of what is put into it
    if not isinstance(limits, dict) or len(rest) > 1 or field not in LimitChoice.model_fields:
        return False
    if not rest and f"{key}.value" in changes:
        faults.append(f"--set {key}: set twice, as {key} and as {key}.value")
    if not isinstance(limits.get(name), dict):
        limits[name] = {}
    stated = limits[name]
    stated[field] = value
    if field == "value":
        stated["source"] = changes.get(f"limits.{name}.source", "changed for review")
    return True


def options(annotation: Any) -> Iterator[Any]:
    """Give what an annotation admits, one by one."""
    if get_origin(annotation) is Annotated:
        yield from options(get_args(annotation)[0])
    elif get_origin(annotation) in (Union, types.UnionType):
        for one in get_args(annotation):
            yield from options(one)
    else:
        yield annotation


class Shape:
    """What stands in a place of job.toml: a section of some models, entries by name, a list, or a single value."""

    def __init__(self, annotation: Any) -> None:
        found = [*options(annotation)]
        self.models = [one for one in found if isinstance(one, type) and issubclass(one, BaseModel)]
        self.plain = any(one is str for one in found)
        self.named = next((get_args(one)[1] for one in found if get_origin(one) is dict), None)
        self.listed = next((get_args(one)[0] for one in found if get_origin(one) in (list, tuple)), None)

    @property
    def whole(self) -> bool:
        """Whether it holds more than one value."""
        return bool(self.models) or self.named is not None

    @property
    def fields(self) -> dict[str, Any]:
        """Fields of the section, of all its models."""
        return {name: info.annotation for model in reversed(self.models) for name, info in model.model_fields.items()}


def put(holder: Any, name: Any, annotation: Any, path: list[str], value: str | None) -> None:
    """Make one change: at a place of its holder, or further in.

    Raises
    ------
    UnknownKeyError
        If there is no such place.
    InputError
        If the value cannot stand there.
    """
    shape, there = Shape(annotation), name in holder if isinstance(holder, dict) else True
    current = holder[name] if there else None
    if not path:
        if value is None:
            if not there:
                raise InputError("stands in no input, so it cannot be taken out")
            del holder[name]
        elif isinstance(current, dict) or (shape.whole and not shape.plain):
            if "=" not in value:
                inside = next(iter(current or shape.fields), "x")
                raise SectionError(inside)
            holder[name] = entry(value)
        else:
            holder[name] = several(value, shape) if shape.listed or isinstance(current, list) else like(value, current)
        return
    part, *rest = path
    if part.startswith("+"):
        add(holder, name, shape, current, value or "")
    elif shape.listed is not None and isinstance(current, list):
        put(current, number_in(current, part), shape.listed, rest, value)
    elif shape.whole and (there or value is not None):
        if not isinstance(current, dict):
            holder[name] = {}
        inner = holder[name]
        if shape.models:
            us = us_names(tuple(shape.fields))
            own = us.get(part, part)
            if own not in shape.fields:
                known = {**shape.fields, **ROWS} if shape.models == [JobSettings] else shape.fields
                raise UnknownKeyError(
                    f"{WRITE}; {near(part, known)}" if shape.models == [JobSettings] else near(part, known)
                )
            part = next((one for one in inner if us.get(one, one) == own), own)
            put(inner, part, shape.fields[own], rest, value)
            return
        if part not in inner and Shape(shape.named).models and not (rest and rest[0].startswith("+")):
            raise UnknownKeyError(f"{near(part, inner)}; a new one comes with --add".removeprefix("; "))
        put(inner, part, shape.named, rest, value)
    else:
        raise UnknownKeyError("it is no section of this job" if shape.whole else "what it names has no fields")


def add(holder: Any, name: Any, shape: Shape, current: Any, value: str) -> None:
    """Add an entry to a list, or a section that the job has not."""
    if shape.listed is not None:
        new = entry(value) if Shape(shape.listed).models else like(value, None)
        if isinstance(current, list):
            current.append(new)
        else:
            holder[name] = [new]
    elif not shape.whole:
        raise InputError("takes one value; give it with --set")
    elif current:
        raise InputError("stands in the job already; change its fields with --set")
    else:
        holder[name] = entry(value)


def number_in(current: list[Any], part: str) -> int:
    """Return the place of an entry that is named by its number, counted from 1, or by the first of its fields."""
    names = [str(next(iter(one.values()), "")) if isinstance(one, dict) else str(one) for one in current]
    if part.isdecimal() and 1 <= int(part) <= len(current):
        return int(part) - 1
    if names.count(part) == 1:
        return names.index(part)
    raise UnknownKeyError(f"its entries are 1 to {len(current)}" if current else "it has no entries")


def entry(text: str) -> dict[str, Any]:
    """Return a section that is given whole: as TOML, or as ``name = value, name = value``."""
    if "\n" in text:
        return toml_of(text)
    try:
        return toml_of(f"x = {text}")["x"] if text.startswith("{") else pairs_of(text)
    except InputError:
        return pairs_of(text)


def several(text: str, shape: Shape) -> list[Any]:
    """Return a list that is given whole: as TOML, or its values apart by semicolons."""
    if text.startswith("["):
        try:
            found = toml_of(f"x = {text}")["x"]
        except InputError as error:
            raise InputError(f"found “{clipped(text)}”, wanted values apart by semicolons; {error}") from None
        return list(found)
    if shape.listed is not None and Shape(shape.listed).models:
        raise InputError("a list of entries; name one by its number, such as .1, or add one with --add")
    return [part.strip() for part in text.split(";") if part.strip()]


def like(text: str, current: Any) -> Any:
    """Return a value as the file has the one that it replaces: a number, a date or yes and no where that is one."""
    if current is None or isinstance(current, str):
        return text
    current = current.unwrap() if hasattr(current, "unwrap") else current  # of job.toml with its comments
    try:
        found = toml_of(f"x = {text}")["x"]
    except InputError:
        return text
    return found if type(found) is type(current) or {type(found), type(current)} == {int, float} else text
