"""The files of a job folder, read once into memory: all that follows works from these bytes.

A job folder is data. What is no plain file, is too large, leads out of the folder or changes while it is read is a
fault. What was not read is said: a name near that of a table is a fault, anything else a note.
"""

from __future__ import annotations

import hashlib
import os
import stat
import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from itertools import islice
from pathlib import Path
from types import MappingProxyType
from typing import Any

from deckcalc.base.fields import JobError
from deckcalc.core.units import InputError, clipped
from deckcalc.job.table import Table

HEAD = "job.toml"
#: A spreadsheet with a sheet per table.
SPREADSHEETS = ("tables.ods", "tables.xlsx")
#: In the place of the folder of a job that was handed over in Python.
HANDED_OVER = Path("job from Python")
MEGABYTE = 2**20
#: The longest files that are read: a job of a long bridge has less than a tenth of it, and the sheets print every row.
MOST_HEAD, MOST_TABLE, MOST_IN_ALL = MEGABYTE, 16 * MEGABYTE, 64 * MEGABYTE
#: Entries of a folder that are looked at.
MOST_ENTRIES = 1000
#: Strangers of one ending that are named one by one.
NAMED = 5
#: Share of letters in common from which a name is near another one.
NEAR = 0.75
#: Endings of files that hold no table, whatever they are called.
PAPERS = (
    ".pdf", ".jpg", ".jpeg", ".png", ".gif", ".svg", ".tif", ".tiff", ".heic", ".mp4", ".mov", ".dwg", ".dxf", ".doc", ".docx",
    ".odt", ".rtf", ".md", ".html", ".htm", ".msg", ".eml", ".zip", ".ipynb", ".py", ".json",
)  # fmt: skip
BACKUPS = ("~", ".bak", ".backup", ".old", ".orig", ".save", ".swp", ".tmp")
#: What a note leaves out.
RULE = "hidden files and folders of earlier packages are left out here"


@dataclass(frozen=True)
class Contents:
    """What a job folder held when it was read.

    Attributes
    ----------
    folder : Path
        As it was named.
    place : Path
        Where it is.
    sha256 : tuple of tuple
        Name and hash of every file that was read.
    unread : tuple of str
        What was not read, and why: one sentence each.
    faults : tuple of str
        Files that cannot be read, and names that are near those of tables.
    files : dict of bytes
        By name; not compared, as the hashes are.
    tables : dict of Table
        Tables that were handed over and stand in no file, by name; not compared, as their hashes are.
    """

    folder: Path
    place: Path
    sha256: tuple[tuple[str, str], ...]
    unread: tuple[str, ...]
    faults: tuple[str, ...]
    files: Mapping[str, bytes] = field(compare=False, repr=False)
    tables: Mapping[str, Table] = field(default_factory=dict, compare=False, repr=False)

    @property
    def handed_over(self) -> bool:
        """Whether it was handed over in Python and stands in no folder."""
        return self.folder == HANDED_OVER

    def __getstate__(self) -> dict[str, Any]:
        return {**vars(self), "files": dict(self.files)}

    def __setstate__(self, state: dict[str, Any]) -> None:
        vars(self).update(state, files=MappingProxyType(state["files"]))


def read_contents(folder: str | Path, tables: Sequence[str]) -> Contents:
    """Read the files of a job folder.

    Parameters
    ----------
    folder : path
    tables : sequence of str
        Names of the tables that are known, without ending.

    Returns
    -------
    Contents

    Raises
    ------
    JobError
        If the folder cannot be listed. Faults of single files stand in the result, to be named with all others.
    """
    folder = Path(folder)
    try:
        place = folder.resolve(strict=True)
        with os.scandir(place) as listing:
            entries = sorted(islice(listing, MOST_ENTRIES + 1), key=lambda entry: entry.name)
    except (FileNotFoundError, NotADirectoryError):
        shown = clipped(folder, 200)
        here = "; the folder that this runs in is a job: write “.” to name it" if Path(HEAD).is_file() else ""
        raise JobError([f"{shown}: there is no such folder; start one with “deckcalc new {shown}”{here}"]) from None
    except (OSError, RuntimeError, ValueError) as error:
        why = getattr(error, "strerror", None) or "it is no name of a folder, or a link that leads to itself"
        raise JobError([f"{clipped(folder, 200)}: the folder cannot be read: {why}"]) from None
    if len(entries) > MOST_ENTRIES:
        raise JobError(
            [
                f"{folder}: more than {MOST_ENTRIES} files; a job folder holds one job: keep the others in a folder below it"
            ]
        )
    known = [HEAD, *(f"{name}.csv" for name in tables), *SPREADSHEETS]
    names = {entry.name for entry in entries}
    files: dict[str, bytes] = {}
    faults: list[str] = []
    for name in (name for name in known if name in names):
        try:
            files[name] = bytes_of(place, name, MOST_HEAD if name == HEAD else MOST_TABLE)
        except InputError as error:
            faults.append(f"{name}: {error}")
        if sum(map(len, files.values())) > MOST_IN_ALL:
            raise JobError([f"{folder}: its tables are larger than {MOST_IN_ALL // MEGABYTE} MB together"])
    linked = {(place / name).resolve() for name in files}
    strangers = [entry for entry in entries if entry.name not in known and place / entry.name not in linked]
    unread = notes(strangers, known, names & set(known), faults)
    hashes = tuple((name, hashlib.sha256(data).hexdigest()) for name, data in files.items())
    return Contents(folder, place, hashes, tuple(unread), tuple(faults), MappingProxyType(files))


def bytes_of(place: Path, name: str, most: int) -> bytes:
    """Return the bytes of one plain file, at most so many.

    Raises
    ------
    InputError
        If it is no plain file, lies outside the folder, is too large, cannot be read, or changes meanwhile.
    """
    try:
        target = (place / name).resolve(strict=True)
        if not target.is_relative_to(place):
            raise InputError(f"a link that leads out of the job folder, to {target}; put the file itself there")
        require_plain(target.stat(), most)
        flags = (getattr(os, flag, 0) for flag in ("O_CLOEXEC", "O_NONBLOCK", "O_NOFOLLOW", "O_BINARY"))
        with open(os.open(target, os.O_RDONLY | sum(flags)), "rb") as file:
            before = os.fstat(file.fileno())
            require_plain(before, most)
            data = file.read(most + 1)
            after = os.fstat(file.fileno())
    except RuntimeError:
        raise InputError("a link that leads to itself; put the file itself there") from None
    except FileNotFoundError:
        raise InputError("a link that leads nowhere, or a file that has just gone; put the file itself there") from None
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}") from None
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns) or len(data) != after.st_size:
        raise InputError("changed while it was read; run again when it is saved")
    return data


def require_plain(status: os.stat_result, most: int) -> None:
    """Refuse what is no plain file, or too large."""
    if stat.S_ISDIR(status.st_mode):
        raise InputError("a folder, wanted a file")
    if not stat.S_ISREG(status.st_mode):
        raise InputError("a pipe, a socket or a device, wanted a file")
    if status.st_size > most:
        raise InputError(
            f"{status.st_size / MEGABYTE:.1f} MB; at most {most // MEGABYTE} MB are read, as every row is printed in the package"
        )


def notes(
    entries: Sequence[os.DirEntry[str]], known: Sequence[str], there: set[str], faults: list[str]
) -> list[str]:  # fmt: skip
    """Return a sentence for all that was not read; a name near that of a table is a fault."""
    found: list[tuple[str, str, str]] = []
    for entry in entries:
        name, shown = entry.name, clipped(entry.name, 60)
        what = kind_of(entry)
        if what == "folder" and not name.startswith("."):
            found.append((shown, "/", "a folder; what is in it is not read"))
        if what != "file":
            continue
        meant, sure = near(name, known)
        if meant and (not_meant := beside(name, meant, sure, there)):
            found.append((shown, Path(name).suffix, not_meant))
        elif meant:
            faults.append(
                f"{shown}: not read; is it {meant}{', which stands beside it' if meant in there else ''}? "
                f"Give it that name and format{' or take one of the two away' if meant in there else ''}; "
                "if it is something else, put it in a folder below"
            )
        elif not name.startswith("."):
            found.append((shown, Path(name).suffix, "no input of a job; not read"))
    many = Counter(ending for _, ending, _ in found)
    single = [f"{name}: {why}" for name, ending, why in found if many[ending] <= NAMED]
    return single + [
        f"{next(name for name, end, _ in found if end == ending)} and {count - 1} more "
        f"{'folders' if ending == '/' else f'files “{ending}”' if ending else 'files'}: not read"
        for ending, count in many.items() if count > NAMED
    ]  # fmt: skip


def kind_of(entry: os.DirEntry[str]) -> str:
    """Return "file" or "folder", or nothing for what a job may hold: packages, and sockets, from which nothing is read."""
    try:
        if stat.S_ISSOCK(entry.stat(follow_symlinks=False).st_mode):
            return ""
        if not entry.is_dir():
            return "file"
    except OSError:  # it has gone, or is a link that leads to itself
        return "file"
    try:
        return "" if (Path(entry) / "manifest.json").is_file() else "folder"
    except OSError:
        return "folder"


def plain(name: str) -> str:
    """Return a name in small letters, without the signs that editors put before and behind it."""
    return unicodedata.normalize("NFKC", name).casefold().lstrip("._~$# ").rstrip("~# ")


def near(name: str, known: Sequence[str]) -> tuple[str | None, bool]:
    """Return the input that a name may mean, and whether the whole name is near it, not just a word of it.

    Examples
    --------
    >>> near("Pit.csv", ["job.toml", "pits.csv"]), near("pits of span 2.csv", ["job.toml", "pits.csv"])
    (('pits.csv', True), ('pits.csv', False))
    >>> near("letter.txt", ["job.toml", "pits.csv"]), near("pits.jpg", ["job.toml", "pits.csv"])
    ((None, False), (None, False))
    """
    written = plain(name)
    if written.endswith(PAPERS):
        return None, False
    if written in SPREADSHEETS:
        return written, True
    if name.startswith("."):  # a hidden file is a slip only if nothing but the dot is wrong
        return (written, True) if written in known else (None, False)
    stems = {squeezed(one.partition(".")[0]): one for one in known}
    close = get_close_matches(squeezed(written.partition(".")[0])[:60], stems, n=1, cutoff=NEAR)
    if close:
        return stems[close[0]], True
    words = "".join(sign if sign.isalpha() else " " for sign in written).split()
    for one in known:
        mine = one.partition(".")[0].split("_")
        if one != HEAD and any(words[i : i + len(mine)] == mine for i in range(len(words))):
            return one, False
    return None, False


def squeezed(text: str) -> str:
    """Return letters and digits alone."""
    return "".join(sign for sign in text if sign.isalnum())


def beside(name: str, meant: str, sure: bool, there: set[str]) -> str:
    """Return why a near name does no harm beside the table that it is near to, or nothing if it may."""
    if meant not in there:
        return ""
    written, ending = plain(name), Path(meant).suffix
    if name.endswith(BACKUPS) or name.startswith(("#", "~")):
        return f"a copy that an editor keeps; {meant} was read"
    if not sure or (ending not in written and "." in written):
        return f"not read; {meant} was"
    return ""
