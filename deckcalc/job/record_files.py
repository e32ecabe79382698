"""Files of a record taken into the tables of a job: tables, spreadsheets, loggers, photographs, and the file of a page for the field.

The file of the page is JSON, one object::

    {"package": "PB-27-C-03", "revision": "A", "closure": "weekend-1", "saved": "2027-05-08 02:10",
     "entries": [{"table": "as_found", "row": {"patch": "P1", "depths": "93 mm; 90 mm", "time": "2027-05-07 22:40"}}]}

`package` and `revision` are those of the plan that the page shows; `closure`, `saved` and `holds`, the hold points that were ticked
(`{"patch": "P1", "hold": "after removal", "what": "...", "by": "..."}`: said, and written into no table), may be left out. Each entry names a table of
the record and its cells by column, all of them texts as people write them, quantities with their unit, several readings between
semicolons. Nothing is taken of a file of another package, and of one of another revision only where that revision is named.
"""

from __future__ import annotations

import csv
import dataclasses
import datetime
import hashlib
import io
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import Field, ValidationError

from deckcalc.base.fields import JobError, Strict
from deckcalc.base.replacing import put_files
from deckcalc.core.text import printable_faults
from deckcalc.core.units import InputError, clipped
from deckcalc.job import loggers
from deckcalc.job.bounded import most_rows, text_of
from deckcalc.job.dialect import read_csv
from deckcalc.job.file import JobFile, read_folder, read_job
from deckcalc.job.folder import MEGABYTE, MOST_TABLE, Contents, bytes_of
from deckcalc.job.read_tables import Tables, read_sheets, read_tables
from deckcalc.job.record_rows import RECORD, WHEN, When
from deckcalc.job.rows import columns_of, validated, with_unit
from deckcalc.job.table import Table, head_of, taken

PICTURES = (".jpg", ".jpeg", ".png", ".heic", ".tif", ".tiff", ".webp")
MOST_PICTURE = 64 * MEGABYTE
SHEETS = (".xlsx", ".ods")
MOST_ENTRIES = 5000
#: Faults that are named one by one: a file of a logger may disagree in thousands of readings.
NAMED = 20
#: Folder of a job in which its photographs are looked for, beside the job folder itself.
ALBUM = "photographs"


class Entry(Strict):
    """One row of a table, as a page for the field gives it out."""

    table: str = Field(description="table of the record")
    row: dict[str, str] = Field(description="cells by column")


class Ticked(Strict):
    """A hold point that was ticked on a page for the field."""

    patch: str = Field(description="patch", max_length=40)
    hold: When = Field(description="hold point")
    what: str = Field(description="what was looked at", max_length=400)
    by: str = Field("", description="who ticked it", max_length=200)


class FieldFile(Strict):
    """The file of a page for the field."""

    package: str = Field(description="number of the package that the page shows")
    revision: str = Field(description="its revision")
    entries: list[Entry] = Field(description="rows, in the order in which they were entered", max_length=MOST_ENTRIES)
    closure: str = Field("", description="closure that the page is of")
    saved: str = Field("", description="when it was given out")
    holds: list[Ticked] = Field([], description="hold points that were ticked", max_length=MOST_ENTRIES)


@dataclass(frozen=True)
class Row:
    """A row that a file gives: its table, its cells by field with their units, and where it comes from."""

    table: str
    cells: Mapping[str, str]
    source: str

    @property
    def id(self) -> str:
        """By what a table knows it."""
        return self.cells.get(next(iter(RECORD[self.table].model_fields)), "").strip()


@dataclass
class Taking:
    """What files give to the record of a job.

    Attributes
    ----------
    file : JobFile
        The job as it stands.
    rows : list of Row
        New rows.
    there : list of str
        Rows that stand there already, and where they come from.
    understood : list of str
    faults : list of str
        Why it cannot be written.
    tables : dict of str
        By table that changes: its text as it would be.
    after : Contents or None
        What the job folder would hold; None while something is at fault.
    """

    file: JobFile
    rows: list[Row] = field(default_factory=list)
    there: list[str] = field(default_factory=list)
    understood: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    tables: dict[str, str] = field(default_factory=dict)
    after: Contents | None = None


@dataclass(frozen=True)
class Choice:
    """What the user says of files that do not say it: the patch and the unit of a logger, a former revision that is accepted."""

    patch: str = ""
    unit: str = ""
    revision: str = ""


def take(job: Path, files: Sequence[Path], choice: Choice = Choice()) -> Taking:
    """Read files and set out what they add to the record of a job; nothing is written.

    Parameters
    ----------
    job : Path
        A job folder without a fault.
    files : sequence of Path
        CSV, spreadsheets, photographs, JSON.
    choice : Choice

    Raises
    ------
    JobError
        If the job itself is at fault. Faults of the files stand in the result.
    """
    made = Taking(read_job(read_folder(job)))
    for path in files:
        try:
            rows_of(path, made, choice)
        except InputError as error:
            said = getattr(error, "faults", str(error).split("\n"))
            made.faults += [
                one if one.startswith(path.name) else f"{path.name}{'' if one[:1] in ':,' else ': '}{one}"
                for one in said
            ]
    merge(made)
    return made


def rows_of(path: Path, made: Taking, choice: Choice) -> None:
    """Add the rows of one file, by what it is."""
    place, ending = path.resolve(), path.suffix.lower()
    if not place.is_file():
        raise InputError(": there is no such file")
    data = bytes_of(place.parent, place.name, MOST_PICTURE if ending in PICTURES else MOST_TABLE)
    if ending in PICTURES:
        made.rows.append(photograph(path.name, data, made.file))
    elif ending == ".json":
        made.rows += entries_of(path.name, data, made, choice)
    elif ending in SHEETS:
        found = Tables()
        read_sheets(path.name, data, RECORD, found, {})
        made.faults += found.faults
        made.understood += found.unread
        if not found.found and not found.faults:
            raise InputError(f": no sheet of it is a table of the record; wanted {', '.join(RECORD)}")
        for name, table in found.found.items():
            made.rows += rows_in(taken(table, RECORD[name]), path.name, made)
    else:
        made.rows += of_text(path, data, made, choice)


def of_text(path: Path, data: bytes, made: Taking, choice: Choice) -> list[Row]:
    """Return the rows of a text file: a table of the record by its name or its heads, else the readings of a logger."""
    stem = re.sub(r"[\s-]+", "_", path.stem.casefold())
    name = max((one for one in RECORD if stem.startswith(one)), key=len, default="")
    if name != "logger" or fits(path, data, "logger"):
        name = name or next((one for one in RECORD if fits(path, data, one)), "")
        if name:
            return rows_in(taken(read_csv(name, data, RECORD[name], most_rows(name)), RECORD[name]), path.name, made)
    found = loggers.read(path.name, data, placed(made.file), choice.patch, choice.unit)
    made.understood += [f"{path.name}: {said}" for said in found.understood]
    return [
        Row("logger", {"patch": log.patch, "time": f"{time:%Y-%m-%d %H:%M}", "temperature": text}, path.name)
        for log in found.logs for time, text in log.readings
    ]  # fmt: skip


def placed(file: JobFile) -> dict[str, datetime.datetime | None]:
    """Return when each patch is placed by the plan; None where it is not in it."""
    rows = {one.patch: file.work.placing_of(one.patch) for one in file.marked.patches}
    return {name: row.end if row else None for name, row in rows.items()}


def fits(path: Path, data: bytes, name: str) -> bool:
    """Whether the heads of a file are those of a table, all that it wants among them."""
    model = RECORD[name]
    try:
        table = read_csv(name, data, model, most_rows(name))
        heads = {found[0] for cell in table.header if (found := head_of(cell, model))}
    except InputError:
        return False
    return bool(heads) and all(field in heads for field, info in model.model_fields.items() if info.is_required())


def rows_in(table: Table, source: str, made: Taking) -> list[Row]:
    """Return the rows of a table, units in their cells."""
    model, faults = RECORD[table.name], list(table.faults)
    if table.stopped:
        faults.append(f"{table.file}{table.stopped}")
    plain = columns_of(table, model, faults)
    if faults:
        raise JobError([fault.replace(f"{table.name}.csv", source, 1) for fault in faults])
    made.understood += [f"{source}: {said}" for said in table.understood]
    found = []
    for number, cells in zip(table.numbers, table.rows, strict=True):
        if len(cells) != len(table.header):
            raise InputError(f", row {number}: {len(cells)} cells, the header has {len(table.header)}")
        found.append(
            Row(
                table.name,
                {known: with_unit(cells[place], unit) for place, (known, unit) in plain.items()},
                f"{source}, row {number}",
            )
        )
    return found


def photograph(name: str, data: bytes, file: JobFile) -> Row:
    """Return the row of a photograph whose name says patch and hold point."""
    known = {one.patch: None for one in file.marked.patches}
    patches = loggers.named_in(Path(name).stem, known)
    words = re.sub(r"[^a-z]+", " ", Path(name).stem.casefold())
    holds = [when for when in WHEN if when in words]
    if len(patches) != 1 or len(holds) != 1:
        raise InputError(
            f": a photograph is taken by its name, such as P1-after-removal.jpg: wanted one patch ({', '.join(known)}) and one hold point ({', '.join(WHEN)}) "
            "in it; or a row of photographs.csv"
        )
    return Row(
        "photographs",
        {"file": name, "patch": patches[0], "hold": holds[0], "sha256": hashlib.sha256(data).hexdigest()},
        name,
    )


def entries_of(name: str, data: bytes, made: Taking, choice: Choice) -> list[Row]:
    """Return the rows of the file of a page for the field.

    Raises
    ------
    InputError
        If it is no such file, or of another package or revision.
    """
    try:
        found = FieldFile.model_validate(json.loads(text_of(data)))
    except ValidationError as error:
        raise JobError(
            [
                f"{name}: {'.'.join(map(str, one['loc']))}: {one['msg'].removeprefix('Value error, ')}"
                for one in error.errors()[:20]
            ]
        ) from None
    except (ValueError, RecursionError) as error:
        raise InputError(f": no file of a page for the field: {clipped(error)}") from None
    number, revision = made.file.settings.package.number, made.file.revision.revision
    if found.package != number:
        raise InputError(
            f": written for the package {clipped(found.package)}, and this job is {number}; nothing of it was taken"
        )
    if found.revision not in (revision, choice.revision):
        raise InputError(
            f": written for revision {clipped(found.revision)}, and this job is at revision {revision}; nothing of it was taken: see what changed since, and name "
            f"it with --revision {clipped(found.revision)} to take it all the same"
        )
    made.understood += [
        f"{name}: {one.patch}, {one.hold}, ticked by {one.by.strip() or 'nobody named'}: {one.what}"
        for one in found.holds
    ]
    rows = []
    for place, entry in enumerate(found.entries, 1):
        model = RECORD.get(entry.table)
        unknown = [key for key in entry.row if model is None or key not in model.model_fields]
        if model is None or unknown:
            what = (
                f"table “{clipped(entry.table)}”, wanted one of {', '.join(RECORD)}"
                if model is None
                else f"{entry.table}: unknown column “{clipped(unknown[0])}”"
            )
            raise InputError(f", entry {place}: {what}")
        rows.append(Row(entry.table, entry.row, f"{name}, entry {place}"))
    return rows


def merge(made: Taking) -> None:
    """Set the new rows into their tables, and validate the job as it would be.

    A row that stands there already is said; another one of the same name is a fault, and both stay where they are.
    """
    contents = made.file.contents
    found = read_tables(contents, RECORD).found
    new: dict[str, list[Row]] = {}
    seen: dict[tuple[str, ...], Row] = {}
    for row in made.rows:
        kept, faults = dict(seen), list[str]()
        model = RECORD[row.table]
        cells = {"reading": "x", **row.cells} if row.table == "logger" else row.cells
        if (read := validated(model, dict(cells), row.source, faults)) is None:
            made.faults += faults
            continue
        key = (row.table, str(row.cells.get("patch")), str(read.time)) if row.table == "logger" else (row.table, row.id)
        old = standing(made.file, row.table, key)
        same = old is not None and alike(old, read)
        if same or (key in kept and dict(kept[key].cells) == dict(row.cells)):
            made.there.append(f"{row.source}: {' '.join(key[1:])} of {row.table} is there already")
        elif old is not None or key in kept:
            other = f"{row.table}.csv" if old is not None else kept[key].source
            made.faults.append(
                f"{row.source}: a second record of {' '.join(key[1:])} in {row.table}, and not as in {other}; both were left as they are: say which one holds, and take the other out"
            )
        else:
            seen[key] = row
            new.setdefault(row.table, []).append(row)
    made.rows = [row for rows in new.values() for row in rows]
    if len(made.faults) > NAMED:
        made.faults = [*made.faults[:NAMED], f"and {len(made.faults) - NAMED} more faults"]
    if made.faults or not new:
        return
    for name, rows in new.items():
        table = found.get(name)
        if contents.handed_over or (table and table.file != f"{name}.csv"):
            made.faults.append(
                f"{name}: the table stands in {table.file if table else 'no folder'}, and only {name}.csv is written; add the rows there"
            )
            continue
        made.tables[name] = text_with(name, table, rows)
    if not made.faults:
        after = with_tables(contents, made.tables)
        try:
            read_job(after)
        except JobError as error:
            made.faults += [f"as it would be: {fault}" for fault in error.faults]
        else:
            made.after = after


def standing(file: JobFile, table: str, key: tuple[str, ...]) -> Strict | None:
    """Return the row of a job that a new one is of the same name as."""
    for row in file.rows[table]:
        own = (
            (row.patch, str(row.time))
            if table == "logger"
            else (str(getattr(row, next(iter(RECORD[table].model_fields)))),)
        )
        if own == key[1:]:
            found: Strict = row
            return found
    return None


def alike(old: Strict, new: Strict) -> bool:
    """Whether two rows say the same; the name of a reading is nobody's."""
    return all(
        str(getattr(old, name)) == str(getattr(new, name)) for name in type(old).model_fields if name != "reading"
    )


def text_with(name: str, table: Table | None, rows: Sequence[Row]) -> str:
    """Return a table as it would be: what stands there, and the new rows, in its columns; readings of a logger in order of time."""
    model = RECORD[name]
    given = {key for row in rows for key, cell in row.cells.items() if cell.strip()}
    heads = list(table.header) if table else []
    fields = [(head_of(cell, model) or ("", ""))[0] for cell in heads]
    more = [
        key
        for key, info in model.model_fields.items()
        if key not in fields and (key in given or (not table and info.is_required()))
    ]
    old = [[*cells, *([""] * len(more))] for cells in (table.rows if table else ())]
    fields, heads = fields + more, heads + [key.replace("_", " ") for key in more]
    new = [[row.cells.get(key, "").strip() for key in fields] for row in rows]
    if name == "logger":
        numbered(fields, old, new)
    with io.StringIO() as text:
        every = [*old, *new]
        csv.writer(text, lineterminator="\n").writerows(
            [heads, *(sorted_log(fields, every) if name == "logger" else every)]
        )
        return text.getvalue()


def numbered(fields: Sequence[str], old: Sequence[Sequence[str]], new: Sequence[list[str]]) -> None:
    """Name the new readings of a logger by their patch and a number that is free."""
    place, whose = fields.index("reading"), fields.index("patch")
    used, count = {row[place] for row in old}, dict[str, int]()
    for row in new:
        patch = row[whose]
        while (label := f"{patch}-{count.setdefault(patch, 0) + 1}") in used:
            count[patch] += 1
        row[place] = label
        used.add(label)


def sorted_log(fields: Sequence[str], rows: Sequence[Sequence[str]]) -> list[Sequence[str]]:
    """Return readings by patch, and in each in the order in which they came."""
    whose = fields.index("patch")
    patches = list(dict.fromkeys(row[whose] for row in rows))
    return sorted(rows, key=lambda row: patches.index(row[whose]))


def with_tables(contents: Contents, texts: Mapping[str, str]) -> Contents:
    """Return what the job folder would hold with these tables in it."""
    tables, hashes = dict(contents.tables), dict(contents.sha256)
    files = {**contents.files, **{f"{name}.csv": text.encode() for name, text in texts.items()}}
    hashes |= {f"{name}.csv": hashlib.sha256(text.encode()).hexdigest() for name, text in texts.items()}
    return dataclasses.replace(contents, tables=tables, files=files, sha256=tuple(sorted(hashes.items())))


def write(made: Taking) -> list[Path]:
    """Write the tables into the job folder, all of them or none; one that changed meanwhile is left, and so are the others.

    Raises
    ------
    JobError
        If something is at fault: nothing is written.
    """
    if made.faults:
        raise JobError([*made.faults, "nothing was written"])
    contents = made.file.contents
    texts = {f"{name}.csv": (text, contents.files.get(f"{name}.csv")) for name, text in made.tables.items()}
    files = {name: text.encode() for name, (text, _) in texts.items()}
    return put_files(contents.folder, files, {name: read for name, (_, read) in texts.items()})


def album_faults(file: JobFile) -> list[str]:
    """Return what is wrong with the photographs that the record names: not there, another file, or a name that leads away."""
    found, folder = [], file.contents.place
    for row in file.rows["photographs"] if not file.contents.handed_over else ():
        if Path(row.file).name != row.file or printable_faults(row.file):
            found.append(f"photographs.csv, {clipped(row.file)}: wanted the name of a file alone")
            continue
        place = next((one for one in (folder / ALBUM, folder) if (one / row.file).is_file()), None)
        if place is None:
            found.append(f"photographs.csv, {row.file}: there is no such file in the job folder or in {ALBUM}")
            continue
        try:
            digest = hashlib.sha256(bytes_of(place, row.file, MOST_PICTURE)).hexdigest()
        except InputError as error:
            found.append(f"photographs.csv, {row.file}: {error}")
            continue
        if digest != row.sha256:
            found.append(
                f"photographs.csv, {row.file}: another file than was recorded (SHA-256 {digest[:12]}, recorded {row.sha256[:12]})"
            )
    return found
