"""A job folder, read and validated: ``job.toml`` and the CSV tables of what was measured.

Everything is read before anything is computed. An error names file, row and field, what was found and what was
wanted; all errors come at once.
"""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, get_args

from pydantic import BaseModel, Field, ValidationError

from deckcalc import tables, units
from deckcalc.check import Limit
from deckcalc.course import (
    chloride,
    closure_inputs,
    curing_inputs,
    curing_rows,
    formwork,
    mix,
    patch,
    safety,
    steel,
    traffic,
)
from deckcalc.course.formwork import Formwork
from deckcalc.course.safety import Safety
from deckcalc.course.traffic import Traffic
from deckcalc.inputs import Bridge, Deck, Faults, JobError, LimitChoice, Package, People, Revision, Strict
from deckcalc.sources import Cite
from deckcalc.units import InputError, System

COURSE = (patch, steel, chloride, mix, formwork, curing_inputs, traffic, closure_inputs, safety)
ROWS: dict[str, type[Strict]] = {name: model for module in COURSE for name, model in module.ROWS.items()}
OPTIONAL_ROWS: dict[str, type[Strict]] = {
    name: model for module in COURSE for name, model in getattr(module, "OPTIONAL_ROWS", {}).items()
}


#: A limit further from the built-in one than by this factor is a slip of the pen.
FAR = 20


class Head(Strict):
    """The file job.toml."""

    units: System
    confirmed: list[str] = Field(
        default_factory=list, description="fields that were asked about and are so, such as aggregates.sand.moisture"
    )
    package: Package
    revisions: Annotated[list[Revision], Field(min_length=1)]
    people: People
    bridge: Bridge
    deck: Deck
    plan: patch.Plan
    survey: patch.Survey
    marking: patch.Marking = Field(default_factory=lambda: patch.Marking.model_validate({}))
    removal: patch.Removal
    haulage: patch.Haulage | None = None
    sensitivity: patch.Sensitivity | None = None
    mix: mix.Mix
    chloride: chloride.Chloride
    reinforcement: steel.Reinforcement | None = None
    deck_strip: steel.DeckStrip | None = None
    formwork: Formwork | None = None
    curing: curing_rows.Curing | None = None
    traffic: Traffic | None = None
    closure: closure_inputs.Closure | None = None
    safety: Safety | None = None
    limits: dict[str, LimitChoice] = Field(default_factory=dict)


@dataclass(frozen=True)
class JobFile:
    """A job folder that was read without a fault.

    Attributes
    ----------
    folder : Path
    head : Head
        ``job.toml``.
    rows : dict of list
        The CSV tables, by file name without ending.
    limits : dict of Limit
        Built-in limits, replaced where the job says so.
    verbatim : dict of bytes
        Every input file as it stood.
    changes : dict of str
        Inputs that were changed for a review.
    confirmed : dict of str
        By field that was asked about and that the job confirms: what seemed wrong.
    """

    folder: Path
    head: Head
    rows: dict[str, list[Any]]
    limits: dict[str, Limit]
    verbatim: dict[str, bytes]
    changes: dict[str, str]
    confirmed: dict[str, str]

    @property
    def system(self) -> str:
        """Unit system in which the job is printed."""
        return self.head.units

    @property
    def revision(self) -> Revision:
        """The present revision."""
        return self.head.revisions[-1]


def read_job(folder: str | Path, changes: Mapping[str, str] | None = None) -> JobFile:
    """Read and validate a job folder.

    Parameters
    ----------
    folder : path
        Holds job.toml, the tables of `ROWS` and any of `OPTIONAL_ROWS`.
    changes : dict of str, optional
        Inputs to change before validation: ``{"deck.slab_thickness": "190 mm", "depths.D3.depth": "80 mm"}``.

    Returns
    -------
    JobFile

    Raises
    ------
    JobError
        With every fault found, each naming file, row and field.
    """
    folder, changes = Path(folder), dict(changes or {})
    faults = Faults()
    verbatim: dict[str, bytes] = {}

    def text_of(name: str) -> str | None:
        path = folder / name
        if not path.is_file():
            faults.append(f"{name}: missing; a job folder holds job.toml and {', '.join(f'{key}.csv' for key in ROWS)}")
            return None
        verbatim[name] = path.read_bytes()
        try:
            text = verbatim[name].decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = verbatim[name][: error.start].count(b"\n") + 1
            faults.append(f"{name}, row {line}: not UTF-8 text; save the file with the encoding UTF-8")
            return None
        if not text.strip():
            faults.append(f"{name}: the file is empty")
            return None
        return text

    if not folder.is_dir():
        raise JobError([f"{folder}: there is no such folder; start one with “deckcalc new {folder}”"])
    used: set[str] = set()
    head = None
    if (text := text_of("job.toml")) is not None:
        try:
            data = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            faults.append(f"job.toml: {error}")
        else:
            apply_head(data, changes, used, faults)
            head = validated(Head, data, "job.toml", faults)
    rows: dict[str, list[Any]] = {name: [] for name in OPTIONAL_ROWS}
    there = {name: model for name, model in OPTIONAL_ROWS.items() if (folder / f"{name}.csv").is_file()}
    for name, model in (ROWS | there).items():
        if (text := text_of(f"{name}.csv")) is not None:
            rows[name] = read_rows(name, model, text, changes, used, faults)
    for key in changes:
        if key not in used:
            faults.append(f"--set {key}: no such input; write section.key, or table.id.column such as depths.D3.depth")
    limits = read_limits(head, faults) if head else {}
    if head and not faults:
        faults.confirmed = head.confirmed
        for module in COURSE:
            module.check(head, rows, limits, faults)
            if faults and module is patch:
                break  # without patches the other tables have nothing to be held against
        if not faults:
            faults.hold_confirmed()
    if faults or head is None:
        raise JobError(faults)
    return JobFile(folder, head, rows, limits, verbatim, changes, faults.asked)


def validated(
    model: type[Strict], data: Any, where: str, faults: list[str], names: Mapping[str, str] | None = None
) -> Any:
    """Validate, or note every fault with its place."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        for item in error.errors():
            place = ".".join(str(part) for part in item["loc"])
            message = {
                "missing": "missing", "extra_forbidden": "unknown; is it misspelt?",
                "string_type": "wanted text in quotation marks", "string_too_short": "empty, wanted text",
                "string_pattern_mismatch": f"found “{item['input']}”, wanted up to 20 letters, digits, - or _",
            }.get(item["type"], item["msg"].removeprefix("Value error, "))  # fmt: skip
            if item["type"] == "literal_error":
                message = f"found “{item['input']}”, wanted {item['ctx']['expected']}"
            shown = (names or {}).get(place, place)
            faults.append(f"{where}: {shown}: {message}" if not names else f"{where}, column {shown}: {message}")
        return None


def apply_head(data: dict[str, Any], changes: Mapping[str, str], used: set[str], faults: list[str]) -> None:
    """Change inputs of job.toml."""
    for key, value in changes.items():
        *path, last = key.split(".")
        if path and path[0] in ROWS | OPTIONAL_ROWS:
            continue
        place: Any = data
        if path[:1] == ["limits"] and len(path) == 1:
            data.setdefault("limits", {})[last] = {"value": value, "source": "changed for review"}
            used.add(key)
            continue
        for part in path:
            place = place.get(part) if isinstance(place, dict) else None
        section: Any = Head
        for part in path:  # a field that the file leaves to its default may be set as well
            inner = section.model_fields.get(part) if section else None
            section = (
                next((one for one in parts_of(inner.annotation) if issubclass(one, BaseModel)), None) if inner else None
            )
        known = section is not None and last in section.model_fields
        if isinstance(place, dict) and (last in place or known):
            place[last] = [part.strip() for part in value.split(";")] if key == "confirmed" else value
            used.add(key)


def parts_of(annotation: Any) -> list[Any]:
    """Return the classes that an annotation such as ``Concrete | None`` names."""
    return [one for one in (annotation, *get_args(annotation)) if isinstance(one, type)]


def read_rows(
    name: str, model: type[Strict], text: str, changes: Mapping[str, str], used: set[str], faults: list[str]
) -> list[Any]:
    """Read one CSV table, units taken from its header."""
    table = list(csv.reader(io.StringIO(text)))
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
            faults.append(f"{name}.csv, row 1: unknown column “{cell}”; wanted {', '.join(fields)}")
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
    if len(table) < 2 or not any("".join(row).strip() for row in table[1:]):
        faults.append(f"{name}.csv: has a header but no rows")
        return []
    names = {column: header[place] for place, (column, _) in plain.items()}
    found: list[Any] = []
    seen: dict[str, int] = {}
    for number, cells in enumerate(table[1:], 2):
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
    return found


def with_unit(cell: str, unit: str) -> str:
    """Add the unit of the header to every number of a cell that has none of its own."""
    if not unit:
        return cell
    return "; ".join(
        part if re.search(r"[A-Za-z%#°]", part) else f"{part.strip()} {unit}"
        for part in cell.split(";")
        if part.strip()
    )


def read_limits(head: Head, faults: list[str]) -> dict[str, Limit]:
    """Return all limits, the job's own in place of built-in ones."""
    limits: dict[str, Limit] = {}
    rows = {row["key"]: row for row in tables.load("limits").rows}
    for key in head.limits:
        if key not in rows:
            faults.append(f"job.toml: limits.{key}: unknown; known are {', '.join(rows)}")
    for key, row in rows.items():
        kind = units.kind_of(getattr(units, row["kind"]))
        written = row[head.units]
        if key in head.limits:
            choice = head.limits[key]
            try:
                value = units.read(choice.value, kind)
                if value.magnitude < 0:
                    raise InputError(f"found “{choice.value}”, wanted {kind.a_name} that is not negative")
                hold_near(choice.value, value, written, kind)
                limits[key] = Limit(key, row["meaning"], value, kind, choice.source, "engineer")
            except InputError as error:
                faults.append(f"job.toml: limits.{key}.value: {error}")
        elif written:
            cite = Cite(row["source"], row["where"], row["provenance"])  # type: ignore[arg-type]
            limits[key] = Limit(key, row["meaning"], units.read(written, kind), kind, cite)
    return limits


def hold_near(found: Any, value: Any, written: str, kind: units.Kind) -> None:
    """Refuse a limit that is so far from the built-in one that its unit or its decimal point must be wrong."""
    if not written or kind.is_temperature or not value.magnitude:
        return
    usual = units.read(written, kind)
    times = float(value.m_as(kind.base)) / float(usual.m_as(kind.base)) if usual.magnitude else 1.0
    if not 1 / FAR <= times <= FAR:
        raise InputError(
            f"found “{found}”, which is {times:.3g} times the usual {written}; wanted a limit nearer to it"
        )
