"""Changed inputs written back into the job folder: the difference first, then the files, with their comments and their order.

Only what a change names is written anew: a value or entry of job.toml, the line of a row. What the files then hold is read as any job
is, and must be the job that was looked at; a file that changed meanwhile is left.
"""

from __future__ import annotations

import csv
import dataclasses
import difflib
import hashlib
import io
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

import tomlkit
from tomlkit.exceptions import TOMLKitError

from deckcalc.base.fields import JobError
from deckcalc.base.replacing import put_files
from deckcalc.core.units import InputError, clipped
from deckcalc.job.bounded import most_rows
from deckcalc.job.changes import Changes, apply_settings, option, ordered, pairs_of
from deckcalc.job.dialect import decoded, read_csv, separator_of
from deckcalc.job.file import JobFile, read_job, tables_of
from deckcalc.job.fitting import values
from deckcalc.job.folder import HEAD, Contents
from deckcalc.job.settings import ROWS
from deckcalc.job.table import Table, field_of, head_of
from deckcalc.job.table_changes import apply_tables, with_column

UNIT = re.compile(r"(?P<number>[-+]?[\d./ -]*\d\.?)\s+(?P<unit>\S.*)")


@dataclass(frozen=True)
class Proposal:
    """Files of a job folder as they would be written.

    Attributes
    ----------
    contents : Contents
        What the folder held when it was read.
    files : mapping of bytes
        Those that change, by name.
    """

    contents: Contents
    files: Mapping[str, bytes]

    @property
    def difference(self) -> str:
        """The lines that go and those that come, file by file."""
        found: list[str] = []
        for name, data in self.files.items():
            before, after = (decoded(one)[0].splitlines() for one in (self.contents.files.get(name, b""), data))
            found += difflib.unified_diff(before, after, name, f"{name}, as it would be", n=0, lineterm="")
        return "\n".join(found)

    def write(self) -> list[Path]:
        """Write the files into the job folder, all or none.

        Raises
        ------
        InputError
            If a file is no longer the one that was read.
        """
        for name, data in self.contents.files.items():  # the review rests on those too that are not written
            if (now := self.contents.place / name).is_file() and name not in self.files and now.read_bytes() != data:
                raise InputError(f"{now} was changed since it was read; read it again: nothing was written")
        read = {name: self.contents.files.get(name) for name in self.files}
        return put_files(self.contents.place, self.files, read)


def propose(contents: Contents, changes: Changes) -> Proposal:
    """Return the files of a job folder with changed inputs in them.

    Parameters
    ----------
    contents : Contents
        What was read of the folder.
    changes : dict
        As `deckcalc.job.file.read_job` takes them.

    Returns
    -------
    Proposal

    Raises
    ------
    JobError
        If a change is faulty, or stands where a program cannot change it without loss: a filed document, a spreadsheet, a
        table in another form than plain CSV, a comment that would go. Every such change is named.
    """
    wanted = read_job(contents, changes)
    if contents.handed_over:
        raise JobError(["this job was handed over in Python and stands in no folder: nothing can be written back"])
    if not contents.place.is_dir():
        raise JobError(
            [f"{contents.folder}: a filed document is not changed; take the job out of it first: deckcalc unpack"]
        )
    faults: list[str] = []
    files: dict[str, bytes] = {}
    by_table: dict[str, dict[str, str | None]] = {}
    made = {**changes, **values(wanted.fitted)}
    head = {key: value for key, value in made.items() if key.split(".")[0] not in ROWS}
    for key, value in made.items():
        if key not in head:
            by_table.setdefault(key.split(".")[0], {})[key] = value
    if head:
        files[HEAD] = with_values(contents.files[HEAD], head, faults)
    for name, cells in by_table.items():
        files[f"{name}.csv"] = with_rows(name, contents, cells, faults)
    if faults:
        raise JobError(faults)
    new = {name: data for name, data in files.items() if data != contents.files.get(name)}
    try:
        same = not differ(read_job(with_files(contents, new)), wanted)
    except JobError as error:
        raise JobError(
            [f"as the files would be written: {fault}; nothing was written" for fault in error.faults]
        ) from None
    if not same:
        raise JobError(
            [
                "the files as they would be written do not give the job that was looked at: change them by hand; nothing was written"
            ]
        )
    return Proposal(contents, MappingProxyType(new))


def differ(one: JobFile, other: JobFile) -> bool:
    """Whether two jobs differ in any input; the order of limits is none."""
    return said(one) != said(other)


def said(file: JobFile) -> str:
    """Return all inputs of a job as text that can be compared."""
    settings = file.settings.model_copy(update={"limits": dict(sorted(file.settings.limits.items()))})
    return f"{settings!r}\n{file.rows!r}"


def with_files(contents: Contents, files: Mapping[str, bytes]) -> Contents:
    """Return what the folder would hold with other files in it."""
    now = {**contents.files, **files}
    hashes = tuple((name, hashlib.sha256(data).hexdigest()) for name, data in now.items())
    return dataclasses.replace(contents, files=MappingProxyType(now), sha256=hashes)


def with_values(data: bytes, changes: Changes, faults: list[str]) -> bytes:
    """Return job.toml with other values; comments, order and spacing stay."""
    try:
        text = data.decode("utf-8-sig")
        head = tomlkit.parse(text)
    except (TOMLKitError, UnicodeDecodeError) as error:
        faults.append(f"{HEAD}: cannot be changed by a program: {clipped(error)}; change it by hand")
        return data
    for key, value in changes.items():
        if re.fullmatch(r"limits\.\w+(\.value)?", key) and value is not None:
            source = f"limits.{key.split('.')[1]}.source"
            if source not in changes:
                faults.append(f"--set {key}: a limit that is written into a job has its source: set {source} as well")
    apply_settings(head, changes, set(), faults)
    made = tomlkit.dumps(head)
    if lost := comments(text) - comments(made):
        faults.append(
            f"{HEAD}: the comment “{clipped(next(iter(lost)))}” would go with what is changed; change it by hand"
        )
    return made.encode()


def comments(text: str) -> Counter[str]:
    r"""Return the comments of a TOML text.

    Examples
    --------
    >>> comments("# of the deck\nsize = '#5'  # of the bars")
    Counter({'# of the deck': 1, '# of the bars': 1})
    """
    bare = re.sub(r'"""[\s\S]*?"""|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', "", text)
    return Counter(re.findall(r"#.*", bare))


def with_rows(name: str, contents: Contents, changes: Changes, faults: list[str]) -> bytes:
    """Return a table with other cells and rows; every line that no change names stays as it is."""
    file = f"{name}.csv"
    data = contents.files.get(file, b"")
    if changes.get(name, ""):
        return str(changes[name]).encode()
    if name in changes:
        faults.append(f"--remove {name}: a whole table is not taken away by a program; take {file} out of the folder")
        return data
    if not data and name in tables_of(contents).found:
        faults.append(f"{name}: this table stands in a spreadsheet, which is not written; change it there")
        return data
    if not data:
        made = apply_tables({}, changes, set(), faults, {})
        return made[name].filed(ROWS[name]) if name in made else data
    text, encoding = decoded(data)
    if encoding or "decimal comma" in read_csv(name, data, ROWS[name], most_rows(name)).understood:
        faults.append(f"{file}: only UTF-8 text with decimal points is written; change it by hand, or save it so")
        return data
    lines = Lines(text, name)
    for key, value in ordered(changes):
        try:
            lines.change(key.partition(".")[2], value)
        except InputError as error:
            faults.append(f"{option(key)}: cannot be written into {file} as it stands: {error}; change it by hand")
    mark = "\ufeff" if data.startswith(b"\xef\xbb\xbf") else ""
    return (mark + "".join(lines.all)).encode()


class Lines:
    """The lines of a table in a file."""

    def __init__(self, text: str, name: str) -> None:
        self.model = ROWS[name]
        self.separator, self.head, _ = separator_of(text)
        self.all = text.splitlines(keepends=True)
        self.first = next(iter(self.model.model_fields))

    @property
    def columns(self) -> dict[str, tuple[int, str]]:
        """Place and unit of the column of each field."""
        heads = cells_of(self.all[self.head - 1], self.separator)
        found = [(place, head_of(cell, self.model)) for place, cell in enumerate(heads)]
        return {head[0]: (place, head[1]) for place, head in found if head}

    def change(self, rest: str, value: str | None) -> None:
        """Change a cell, add a row or take one out."""
        if rest.startswith("+"):
            self.add(pairs_of(value or ""))
            return
        if value is None and (rows := self.rows(rest)):
            self.all = [line for number, line in enumerate(self.all) if number not in rows]
            return
        id_, _, column = rest.rpartition(".")
        if len(rows := self.rows(id_)) != 1:
            raise InputError("its row cannot be found")
        place, unit = self.column(field_of(column, self.model))
        cells = cells_of(self.all[rows[0]], self.separator)
        cells[place] = without_unit((value or "").strip(), unit)
        self.put(rows[0], cells)

    def rows(self, id_: str) -> list[int]:
        """Return the numbers of the lines of a row."""
        first = self.columns[self.first][0]
        cells = {number: cells_of(self.all[number], self.separator) for number in self.full}
        return [number for number, row in cells.items() if first < len(row) and row[first].strip() == id_]

    @property
    def full(self) -> list[int]:
        """Numbers of the lines below the heads that hold something."""
        return [number for number in range(self.head, len(self.all)) if self.all[number].strip()]

    def column(self, field: str) -> tuple[int, str]:
        """Return place and unit of a column, which is made where there is none."""
        if field not in self.columns:
            table = with_column(
                Table("", "", tuple(cells_of(self.all[self.head - 1], self.separator)), (), ()), field, self.model
            )
            self.put(self.head - 1, [*table.header])
            for number in self.full:
                self.put(number, [*cells_of(self.all[number], self.separator), ""])
        return self.columns[field]

    def add(self, pairs: dict[str, str]) -> None:
        """Add a row at the end."""
        places = {column: self.column(field_of(column, self.model)) for column in pairs}
        cells = [""] * len(cells_of(self.all[self.head - 1], self.separator))
        for column, (place, unit) in places.items():
            cells[place] = without_unit(pairs[column], unit)
        at = max(self.full, default=self.head - 1)
        if not ending_of(self.all[at]):
            self.all[at] += ending_of(self.all[self.head - 1]) or "\n"
        self.all.insert(at + 1, line_of(cells, self.separator) + ending_of(self.all[at]))

    def put(self, number: int, cells: list[str]) -> None:
        """Put cells in the place of those of a line."""
        self.all[number] = line_of(cells, self.separator) + ending_of(self.all[number])


def ending_of(line: str) -> str:
    """Return what ends a line."""
    return line[len(line.rstrip("\r\n")) :]


def cells_of(line: str, separator: str) -> list[str]:
    """Return the cells of a line."""
    return next(csv.reader([line], delimiter=separator), [])


def line_of(cells: list[str], separator: str) -> str:
    """Return a line of cells, without its end."""
    with io.StringIO() as text:
        csv.writer(text, delimiter=separator, lineterminator="").writerow(cells)
        return text.getvalue()


def without_unit(value: str, unit: str) -> str:
    """Return a value as a cell under a head with a unit has it.

    Examples
    --------
    >>> without_unit("80 mm", "mm"), without_unit("8 cm", "mm"), without_unit("15.2 mm; 14.9 mm", "mm")
    ('80', '8 cm', '15.2; 14.9')
    """
    parts = [part.strip() for part in value.split(";")] if unit else [value]
    found = [UNIT.fullmatch(part) for part in parts]
    return "; ".join(
        match["number"] if match and match["unit"] == unit else part for part, match in zip(parts, found, strict=True)
    )
