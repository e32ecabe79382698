"""Changed inputs written back into the job folder: the difference first, then the files, with their comments and their order.

Only what a change names is written anew: a value of job.toml, the line of a row. What the files then hold is read as any job
is, and must be the job that was looked at; a file that changed meanwhile is left.
"""

from __future__ import annotations

import csv
import dataclasses
import difflib
import hashlib
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from deckcalc.base.fields import JobError
from deckcalc.base.replacing import put_files
from deckcalc.core.units import clipped
from deckcalc.job.dialect import decoded, read_csv, separator_of
from deckcalc.job.file import JobFile, read_job
from deckcalc.job.folder import HEAD, Contents
from deckcalc.job.read_tables import most_rows
from deckcalc.job.settings import ROWS
from deckcalc.job.table import field_of, head_of

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
        read = {name: self.contents.files.get(name) for name in self.files}
        return put_files(self.contents.place, self.files, read)


def propose(contents: Contents, changes: Mapping[str, str]) -> Proposal:
    """Return the files of a job folder with changed inputs in them.

    Parameters
    ----------
    contents : Contents
        What was read of the folder.
    changes : mapping of str
        As `deckcalc.job.file.read_job` takes them.

    Returns
    -------
    Proposal

    Raises
    ------
    JobError
        If a change is faulty, or stands in a file that cannot be changed by a program without loss: a spreadsheet, or a
        table in another form than plain CSV. Every such change is named.
    """
    wanted = read_job(contents, changes)
    if contents.handed_over:
        raise JobError(["this job was handed over in Python and stands in no folder: nothing can be written back"])
    faults: list[str] = []
    files: dict[str, bytes] = {}
    by_table: dict[str, dict[str, str]] = {}
    head = {key: value for key, value in changes.items() if key.split(".")[0] not in ROWS}
    for key, value in changes.items():
        if key not in head:
            by_table.setdefault(key.split(".")[0], {})[key] = value
    if head:
        files[HEAD] = with_values(contents.files[HEAD], head, faults)
    for name, cells in by_table.items():
        files[f"{name}.csv"] = with_cells(name, contents, cells, faults)
    if faults:
        raise JobError(faults)
    if differ(read_job(with_files(contents, files)), wanted):
        raise JobError(
            [
                "the files as they would be written do not give the job that was looked at: change them by hand; nothing was written"
            ]
        )
    new = {name: data for name, data in files.items() if data != contents.files.get(name)}
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


def with_values(data: bytes, changes: Mapping[str, str], faults: list[str]) -> bytes:
    """Return job.toml with other values; comments, order and spacing stay."""
    try:
        head: Any = tomlkit.parse(data.decode("utf-8-sig"))
    except (TOMLKitError, UnicodeDecodeError) as error:
        faults.append(f"{HEAD}: cannot be changed by a program: {clipped(error)}; change it by hand")
        return data
    for key, value in changes.items():
        section, *path, last = key.split(".") if "." in key else ("", key)
        if section == "limits" and not path:  # a limit by its name alone is its value
            path, last = [last], "value"
            if f"limits.{path[0]}.source" not in changes:
                faults.append(
                    f"--set {key}: a limit that is written into a job has its source: set {key}.source as well"
                )
        place = head
        for part in filter(None, (section, *path)):
            if part not in place:
                place[part] = tomlkit.table(is_super_table=part == "limits")
            place = place[part]
        place[last] = as_before(place.get(last), value)
    return tomlkit.dumps(head).encode()


def as_before(there: Any, text: str) -> Any:
    """Return a value in the form of the one that it replaces."""
    if isinstance(there, list):
        return [part.strip() for part in text.split(";") if part.strip()]
    if isinstance(there, bool) and text in ("true", "false"):
        return text == "true"
    if isinstance(there, int | float) and re.fullmatch(r"[-+]?\d+(\.\d+)?", text):
        return float(text) if "." in text else int(text)
    return text


def with_cells(name: str, contents: Contents, changes: Mapping[str, str], faults: list[str]) -> bytes:
    """Return a table with other cells; every line that no change names stays as it is."""
    file = f"{name}.csv"
    data = contents.files.get(file, b"")
    if not data:
        faults.append(f"{name}: this table stands in a spreadsheet, which is not written; change it there")
        return data
    text, encoding = decoded(data)
    table = read_csv(name, data, ROWS[name], most_rows(name))
    if encoding or "decimal comma" in table.understood:
        faults.append(f"{file}: only UTF-8 text with decimal points is written; change it by hand, or save it so")
        return data
    separator, head, _ = separator_of(text)
    lines = text.splitlines(keepends=True)
    heads = cells_of(lines[head - 1], separator)
    columns = {found[0]: place for place, cell in enumerate(heads) if (found := head_of(cell, ROWS[name]))}
    units = {found[0]: found[1] for cell in heads if (found := head_of(cell, ROWS[name]))}
    first = columns[next(iter(ROWS[name].model_fields))]
    for key, value in changes.items():
        _, row, column = key.split(".")
        places = [
            number
            for number, line in enumerate(lines[head:], head)
            if line.strip() and cells_of(line, separator)[first].strip() == row
        ]
        if len(places) != 1 or field_of(column, ROWS[name]) not in columns:
            faults.append(f"--set {key}: cannot be found in {file} as it stands; change it by hand")
            continue
        cells = cells_of(lines[places[0]], separator)
        cells[columns[column]] = without_unit(value, units[column])
        ending = lines[places[0]][len(lines[places[0]].rstrip("\r\n")) :]
        lines[places[0]] = line_of(cells, separator) + ending
    mark = "\ufeff" if data.startswith(b"\xef\xbb\xbf") else ""
    return (mark + "".join(lines)).encode()


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
