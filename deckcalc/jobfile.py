"""A job folder, read and validated: ``job.toml`` and the CSV tables of what was measured.

Everything is read before anything is computed. An error names file, row and field, what was found and what was
wanted; all errors come at once.
"""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ValidationError

from deckcalc import chloride, mix, steel, tables, units
from deckcalc.check import Limit
from deckcalc.inputs import ROWS, Chloride, Head, Revision, Strict, Written
from deckcalc.sources import Cite
from deckcalc.units import ChlorideContent, Density, InputError, Length, Quantity, Ratio


class JobError(InputError):
    """Everything that is wrong with a job folder, one fault a line."""

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = list(faults)


CHLORIDE = re.compile(r"(.+?)(?:\s+of\s+(concrete|cement))?$")


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
    """

    folder: Path
    head: Head
    rows: dict[str, list[Any]]
    limits: dict[str, Limit]
    verbatim: dict[str, bytes]
    changes: dict[str, str]

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
        Holds job.toml, patches.csv, bars.csv, cores.csv, chlorides.csv and aggregates.csv.
    changes : dict of str, optional
        Inputs to change before validation: ``{"deck.slab_thickness": "190 mm", "patches.P1.length": "1.2 m"}``.

    Returns
    -------
    JobFile

    Raises
    ------
    JobError
        With every fault found, each naming file, row and field.
    """
    folder, changes = Path(folder), dict(changes or {})
    faults: list[str] = []
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
    rows: dict[str, list[Any]] = {}
    for name, model in ROWS.items():
        if (text := text_of(f"{name}.csv")) is not None:
            rows[name] = read_rows(name, model, text, changes, used, faults)
    for key in changes:
        if key not in used:
            faults.append(
                f"--set {key}: no such input; write section.key, or table.id.column such as patches.P1.length"
            )
    limits = read_limits(head, faults) if head else {}
    if head and not faults:
        cross_check(head, rows, limits, faults)
    if faults or head is None:
        raise JobError(faults)
    return JobFile(folder, head, rows, limits, verbatim, changes)


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
        if path and path[0] in ROWS:
            continue
        place: Any = data
        if path[:1] == ["limits"] and len(path) == 1:
            data.setdefault("limits", {})[last] = {"value": value, "source": "changed for review"}
            used.add(key)
            continue
        for part in path:
            place = place.get(part) if isinstance(place, dict) else None
        section = Head
        for part in path:  # a field that the file leaves to its default may be set as well
            inner = section.model_fields.get(part) if isinstance(section, type) else None
            section = inner.annotation if inner else None  # type: ignore[assignment]
        known = isinstance(section, type) and issubclass(section, BaseModel) and last in section.model_fields
        if isinstance(place, dict) and (last in place or known):
            place[last] = value
            used.add(key)


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
    for missing in [field for field in fields if field not in [known for known, _ in plain.values()]]:
        faults.append(f"{name}.csv, row 1: column {missing.replace('_', ' ')} is missing")
    if len(plain) != len(header) or len(plain) != len(fields):
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
        for column in fields:
            key = f"{name}.{id_}.{column}"
            if key in changes:
                unit = next(unit for known, unit in plain.values() if known == column)
                data[column] = with_unit(changes[key], unit)
                used.add(key)
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
                    raise InputError(f"found “{choice.value}”, wanted a {kind.name} that is not negative")
                limits[key] = Limit(key, row["meaning"], value, kind, choice.source, "engineer")
            except InputError as error:
                faults.append(f"job.toml: limits.{key}.value: {error}")
        elif written:
            cite = Cite(row["source"], row["where"], row["provenance"])  # type: ignore[arg-type]
            limits[key] = Limit(key, row["meaning"], units.read(written, kind), kind, cite)
    return limits


@dataclass(frozen=True)
class ChlorideValue:
    """A chloride reading with its basis."""

    value: Quantity
    basis: Literal["concrete", "cement", "volume"]


def read_chloride(text: str) -> ChlorideValue:
    """Read “0.05 % of concrete”, “320 ppm of concrete”, “0.4 % of cement” or “1.2 kg/m3”.

    Raises
    ------
    InputError
        If the basis is not stated, or the unit does not fit it.
    """
    match = CHLORIDE.fullmatch(text.strip())
    basis = match[2] if match else None
    if basis:
        assert match
        return ChlorideValue(Written(units.ChlorideShare, "0 %", "10 %").one(match[1]), basis)  # type: ignore[arg-type]
    try:
        return ChlorideValue(Written(ChlorideContent, "0 kg/m^3", "60 kg/m^3").one(text), "volume")
    except InputError:
        raise InputError(
            f"found “{text}”, wanted a chloride content with its basis: % of concrete, ppm of concrete, % of cement, "
            "kg/m³ or lb/yd³"
        ) from None


def chosen_threshold(choice: Chloride) -> chloride.Threshold:
    """Return the threshold that the job chooses: one of the table, or its own.

    Raises
    ------
    TableError, InputError
        If the table has no such key, or the value states no basis.
    """
    own = choice.threshold
    if isinstance(own, str):
        return chloride.threshold(own)
    reading = read_chloride(own.value)
    cite = Cite("", own.source, "common practice")
    return chloride.Threshold("own", reading.value, own.value, "", reading.basis, own.extraction, own.source, "", cite)


def cross_check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold the inputs against each other."""
    patches = {row.patch for row in rows["patches"]}
    t = head.deck.slab_thickness
    for row in rows["patches"]:
        if max(row.depths) > t * (1 + 1e-9):
            faults.append(
                f"patches.csv, patch {row.patch}: a depth of {max(row.depths):.4g~P} is more than the slab {t:.4g~P}"
            )
        if row.least_cover >= t:
            faults.append(f"patches.csv, patch {row.patch}: the cover is not less than the slab thickness {t:.4g~P}")
    for row in rows["bars"]:
        if row.patch not in patches:
            faults.append(f"bars.csv, bar {row.bar}: there is no patch “{row.patch}” in patches.csv")
        nominal = steel.bar_diameter(row.size)
        if max(row.readings) > 1.15 * nominal:
            faults.append(
                f"bars.csv, bar {row.bar}: a reading of {max(row.readings):.4g~P} is far more than the {nominal:.4g~P} of "
                f"size {row.size}; is size or unit wrong?"
            )
    check_cores(head, rows, faults)
    try:
        if mix.exposure_limit(head.mix.durability, head.mix.tables).w_cm is None:
            faults.append(f"job.toml: mix.durability: “{head.mix.durability}” limits no w/cm; choose a row that does")
    except tables.TableError as error:
        faults.append(f"job.toml: mix.durability: {error}")
    for use in ("coarse", "fine"):
        count = sum(row.use == use for row in rows["aggregates"])
        if count != 1:
            faults.append(f"aggregates.csv: {count} rows with use “{use}”, wanted one")
    wanted = {"coarse": ("nominal_size", "dry_rodded_density"), "fine": ("fineness_modulus",)}
    kinds: dict[str, tuple[Any, str, str]] = {
        "nominal_size": (Length, "4 mm", "80 mm"), "dry_rodded_density": (Density, "1000 kg/m^3", "2200 kg/m^3"),
        "fineness_modulus": (Ratio, "1.5", "4"),
    }  # fmt: skip
    for row in rows["aggregates"]:
        for field in wanted[row.use]:
            try:
                Written(*kinds[field]).one(getattr(row, field))
            except InputError as error:
                faults.append(f"aggregates.csv, aggregate {row.aggregate}, column {field.replace('_', ' ')}: {error}")


def check_cores(head: Head, rows: Mapping[str, list[Any]], faults: list[str]) -> None:
    """Hold cores, slices, background and threshold against each other."""
    try:
        background = read_chloride(head.chloride.background)
        if background.basis == "cement" and background.value.m_as("") > 0.05:
            raise InputError("more than 5 % of cement")
    except InputError as error:
        faults.append(f"job.toml: chloride.background: {error}")
    try:
        threshold = chosen_threshold(head.chloride)
        if threshold.extraction != head.chloride.extraction:
            raise InputError(
                f"“{threshold.key}” is for {threshold.extraction} chloride, the samples are {head.chloride.extraction}; "
                "the two are not comparable: choose another, or state your own with value, extraction and source"
            )
    except (InputError, tables.TableError) as error:
        faults.append(f"job.toml: chloride.threshold: {error}")
    cores = {row.core: row for row in rows["cores"]}
    slices: dict[str, list[Any]] = {name: [] for name in cores}
    for row in rows["chlorides"]:
        where = f"chlorides.csv, slice {row.slice}"
        if row.core not in cores:
            faults.append(f"{where}: there is no core “{row.core}” in cores.csv")
            continue
        if row.lower <= row.upper:
            faults.append(f"{where}: the slice ends at {row.lower:.4g~P}, not below its start {row.upper:.4g~P}")
        elif slices[row.core] and row.upper < slices[row.core][-1].lower * (1 - 1e-9):
            faults.append(
                f"{where}: overlaps slice {slices[row.core][-1].slice} above it; list slices from the top down"
            )
        slices[row.core].append(row)
        try:
            read_chloride(row.chloride)
        except InputError as error:
            faults.append(f"{where}, column chloride: {error}")
    for name in cores:
        if len(slices[name]) < 2:
            faults.append(f"cores.csv, core {name}: {len(slices[name])} slices in chlorides.csv, wanted at least two")
    bases = {read_chloride(row.chloride).basis for row in rows["chlorides"]} if not faults else set()
    if len(bases) > 1:
        faults.append(f"chlorides.csv, column chloride: bases are mixed ({', '.join(sorted(bases))}); one basis a job")
