"""Nothing of the user's is replaced: what is made stands whole beside its place first, and only own files give way.

A place is written in a holder, a hidden folder beside it with a lock that ends with its process. What a process that was
killed left behind is found by the next one: the former content goes back where it stood, and the holder goes.

A package may be replaced where every file in it is listed in its manifest with the hash it still has, and the manifest is
as it was written. Anything else (a signed copy, a letter, a job, a changed file) is the user's and stays.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from deckcalc.base.errors import PackageError
from deckcalc.core.units import InputError

HOLDER = ".deckcalc-"
LOCK = "deckcalc.lock"
AWAY = "former"
GOING = "going"
MANIFEST = "manifest.json"
NAMED = 6
OTHER = "another process is at work there; it was left as it is: try again when that one has ended"


def as_json(data: Any) -> bytes:
    """Return data as readable JSON."""
    return (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode()


def sealed(contents: dict[str, Any]) -> bytes:
    """Return a manifest that tells whether it was edited: its last entry is the hash of all others."""
    return as_json({**contents, "manifest": hashlib.sha256(as_json(contents)).hexdigest()})


def hashes(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file of a folder, by name."""
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(folder.iterdir())}


def listed(folder: Path) -> dict[str, str]:
    """Return the files that a folder's manifest lists, with their hashes; none if it is missing or was edited."""
    try:
        text = (folder / MANIFEST).read_bytes()
        data = json.loads(text)
        files = data["files"]
        del data["manifest"]
        if text != sealed(data):
            return {}
        return {**files, MANIFEST: hashlib.sha256(text).hexdigest()}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return {}


def strangers(place: Path) -> list[str]:
    """Name what may not be replaced at a place; nothing where it is free, empty, or an unchanged package."""
    while True:
        before = _identity(place)
        try:
            found = _look(place) if before else []
        except FileNotFoundError:
            continue
        if _identity(place) == before:  # otherwise another build has put its package there meanwhile
            return found


def _identity(place: Path) -> tuple[int, int] | None:
    try:
        found = os.lstat(place)
    except (FileNotFoundError, NotADirectoryError):
        return None
    return found.st_dev, found.st_ino


def _look(place: Path) -> list[str]:
    if not place.is_dir():
        return ["it is a file"]
    known, found = listed(place), []
    for path in sorted(place.iterdir()):
        if path.name not in known:
            found.append(
                f"{path.name} ({'changed or incomplete' if path.name == MANIFEST else 'not made by deckcalc'})"
            )
        elif path.is_symlink() or not path.is_file() or _hash(path) != known[path.name]:
            found.append(f"{path.name} (changed since it was made)")
    return found


def _hash(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return "cannot be read"


def named(found: list[str]) -> str:
    """Return a list in words, cut off where it is long."""
    return ", ".join(found[:NAMED]) + (f" and {len(found) - NAMED} more" if len(found) > NAMED else "")


def free_place(out: Path, beside: bool) -> Path:
    """Return where a package may be put; a link is followed.

    Parameters
    ----------
    out : Path
    beside : bool
        Whether another place is looked for, ``package-2`` and so on, where `out` holds what may not be replaced.

    Raises
    ------
    PackageError
        If `out` holds what may not be replaced, naming it.
    """
    place = Path(os.path.realpath(out))
    found = strangers(place)
    if not found:
        return place
    if not beside:
        raise PackageError(
            f"{out} is not a package that may be replaced: {named(found)}; nothing was touched; "
            "name another folder with --out"
        )
    return next(other for other in _numbered(place) if not other.is_symlink() and not strangers(other))


def _numbered(place: Path) -> Iterator[Path]:
    return (place.with_name(f"{place.name}-{number}") for number in count(2))


def put(new: Path, out: Path, beside: bool) -> Path:
    """Put a finished folder in its place, and return the place; `new` lies in a holder.

    The former package leaves only when the new one stands there. What became the user's while the new one was made
    is seen here.
    """
    away = new.parent / AWAY
    away.mkdir()
    while True:
        place = free_place(out, beside)
        old = away / place.name
        with suppress(FileNotFoundError):  # the place is free, or another build has just cleared it
            os.replace(place, old)
        if strangers(old):  # changed between the look and the move
            os.replace(old, place)
            continue
        try:
            os.replace(new, place)
        except OSError as error:  # the package of another build may be gone again by now
            taken = error.errno in (errno.EEXIST, errno.ENOTEMPTY)
            if not taken and (not place.is_dir() or not any(place.iterdir())):
                raise
            shutil.rmtree(old, ignore_errors=True)  # another build was faster
            continue
        return place


def put_table(place: Path, text: str, read: bytes | None) -> Path:
    """Put a table into a job folder, whole; one that changed since it was read is left.

    Parameters
    ----------
    place : Path
    text : str
    read : bytes or None
        What stood there when it was read; None if nothing did.

    Raises
    ------
    InputError
        If the folder is gone, or the table is no longer the one that was read.
    """
    return put_files(place.parent, {place.name: text.encode()}, {place.name: read})[0]


def put_files(folder: Path, files: Mapping[str, bytes], read: Mapping[str, bytes | None]) -> list[Path]:
    """Put files into a job folder, each whole; where one changed since it was read, none is put.

    All are written beside their places first, and what cannot be written leaves every former file where it stood.

    Parameters
    ----------
    folder : Path
    files : mapping of bytes
        By name.
    read : mapping of bytes or None
        What stood there when it was read; None if nothing did.

    Raises
    ------
    InputError
        If the folder is gone, or a file is no longer the one that was read.
    """
    folder = Path(os.path.realpath(folder))
    if not folder.is_dir():
        raise InputError(f"{folder}: the job folder is no longer there: nothing was written")
    places = [folder / name for name in files]
    with holding(folder / LOCK) as holder:
        for place in places:
            (holder / place.name).write_bytes(files[place.name])
        for place in places:
            there = place.read_bytes() if place.exists() else None
            if there != read[place.name]:
                now = hashlib.sha256(there or b"").hexdigest()[:12]
                raise InputError(
                    f"{place} was changed since it was read (SHA-256 {now} now); read it again: nothing was written"
                )
        done: list[Path] = []
        try:
            for place in places:
                os.replace(holder / place.name, place)
                done.append(place)
        except OSError:
            for place in done:
                before = read[place.name]
                place.unlink() if before is None else place.write_bytes(before)
            raise
    return places


@contextmanager
def holding(place: Path, alone: bool = False) -> Iterator[Path]:
    """Give an empty folder beside a place; it is gone afterwards, and what killed processes left there too.

    Parameters
    ----------
    place : Path
    alone : bool
        Whether no other process may hold the same place meanwhile that asks for it alone too.

    Raises
    ------
    PackageError
        If it cannot be written.
    """
    missing = [folder for folder in place.parents if not folder.exists()]
    holder = lock = None
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        tidy(place.parent)
        if alone:
            (named := place.with_name(f"{HOLDER}{place.name}")).mkdir(mode=0o700)
            holder = named
            lock = FileLock(holder / LOCK)
            lock.acquire(blocking=False)
        else:
            holder, lock = held(place.parent)
        yield holder
    except OSError as error:
        if alone and (isinstance(error, Timeout) or (isinstance(error, FileExistsError) and holder is None)):
            raise PackageError(f"{place}: {OTHER}") from None
        why = error.strerror or str(error)
        raise PackageError(f"{place} cannot be written: {why}; what stood there was left as it was") from None
    finally:
        if holder and lock and (lock.is_locked or not alone):  # otherwise it is that of another process
            with suppress(OSError):  # what could not be brought back stays in its holder
                restore(holder)
                clear(holder, lock)
            lock.release(force=True)
        for folder in missing:
            with suppress(OSError):
                folder.rmdir()  # only what was made here and stayed empty


def held(parent: Path) -> tuple[Path, FileLock]:
    """Make a holder and lock it; one that another process took for left behind before it was locked is made again."""
    while True:
        holder = Path(tempfile.mkdtemp(prefix=HOLDER, dir=parent))
        lock = FileLock(holder / LOCK)
        with suppress(FileNotFoundError, FileExistsError, Timeout):
            lock.acquire(blocking=False)
            if (holder / LOCK).is_file():
                return holder, lock
        lock.release(force=True)


def clear(holder: Path, lock: FileLock) -> None:
    """Remove a holder, its lock last: what is cut short is found again, but no package half removed is brought back."""
    with suppress(FileNotFoundError):
        os.replace(holder / AWAY, holder / GOING)
    for path in holder.iterdir():
        if path.name != LOCK:
            shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()
    if os.name == "nt":  # an open file cannot be removed there
        lock.release(force=True)
    (holder / LOCK).unlink(missing_ok=True)
    holder.rmdir()
    lock.release(force=True)


def tidy(parent: Path) -> None:
    """Bring back what killed processes had moved away in a folder, and remove what they left."""
    for holder in sorted(parent.glob(f"{HOLDER}*")):
        if holder.is_symlink() or not holder.is_dir():
            continue
        with suppress(OSError):
            if not (holder / LOCK).is_file():
                holder.rmdir()  # made a moment before its process ended; one that is not empty is not ours
                continue
            lock = FileLock(holder / LOCK)
            try:
                lock.acquire(blocking=False)
            except Timeout:
                continue  # its process is at work
            restore(holder)
            clear(holder, lock)


def restore(holder: Path) -> None:
    """Bring back what was moved into a holder, unless it is an unchanged package and a new one has its place."""
    away = holder / AWAY
    for old in sorted(away.iterdir()) if away.is_dir() else []:
        place = holder.with_name(old.name)
        if not os.path.lexists(place):
            os.replace(old, place)
        elif strangers(old):
            os.replace(old, next(other for other in _numbered(place) if not os.path.lexists(other)))
