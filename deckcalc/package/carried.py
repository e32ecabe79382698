"""What a filed PDF carries: read back with care, unpacked as a job folder, and held against what it comes to today.

A PDF may come from anybody. It is opened in a process of its own, with bounds on memory and time; nothing in it is run, no
name in it is a path, and nothing of it is larger than a job folder may be.
"""

from __future__ import annotations

import base64
import hashlib
import io
import json
import os
import subprocess
import sys
import tempfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pikepdf

from deckcalc.base.errors import PackageError
from deckcalc.base.replacing import MANIFEST, as_json, holding
from deckcalc.core.units import InputError, clipped
from deckcalc.job import Job
from deckcalc.job.file import read_job
from deckcalc.job.folder import HEAD, MOST_HEAD, MOST_IN_ALL, MOST_TABLE, Contents, bytes_of
from deckcalc.job.settings import ROWS
from deckcalc.package import build, library_text

#: The largest PDF that is opened, the most files in one, and what the process that reads it may use.
MOST_PDF, MOST_FILES, MEMORY, SECONDS = 2**28, 200, 2**31, 60
#: Differences that are named one by one.
NAMED = 12
#: Where this is not in a PDF, it bears no signature.
SIGNED = b"/ByteRange"
START = "import sys; sys.path.insert(0, sys.argv[1]); from deckcalc.package import carried; carried.child()"


@dataclass(frozen=True)
class Carried:
    """What a filed PDF carries.

    Attributes
    ----------
    manifest : dict
        What was found when it was filed, and from what.
    inputs, notebooks : mapping of bytes
        The files of the job, and its own notebooks, by name.
    """

    manifest: dict[str, Any]
    inputs: Mapping[str, bytes]
    notebooks: Mapping[str, bytes]


# --- reading


def read_filed(path: str | Path) -> Carried:
    """Read what a filed PDF carries.

    Parameters
    ----------
    path : path

    Returns
    -------
    Carried

    Raises
    ------
    PackageError
        If the file cannot be read, is no PDF, is encrypted or damaged, or carries what no package of deckcalc does.
    """
    path = Path(path)
    files = attached(path, data_of(path))
    if missing := [name for name in (HEAD, MANIFEST) if name not in files]:
        raise PackageError(f"{path} is no package of deckcalc: it carries no {missing[0]}")
    try:
        manifest = json.loads(files.pop(MANIFEST))
        told = {
            **manifest["inputs"],
            **manifest.get("notebooks of the job", {}),
            **manifest["results"],
            **manifest.get(build.TEXT, {}),
        }
        whole = all(isinstance(value, str) for value in told.values()) and isinstance(manifest["made with"], dict)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        whole = False
    if not whole:
        raise PackageError(f"{path}: its {MANIFEST} cannot be read: it was not written by deckcalc, or was altered")
    own = {name: files.pop(name) for name in [*files] if name.endswith(".ipynb")}
    return Carried(manifest, files, own)


def data_of(path: Path, most: int = MOST_PDF) -> bytes:
    """Return the bytes of a plain file."""
    try:
        place = path.parent.resolve(strict=True)
        return bytes_of(place, path.name, most)
    except (OSError, RuntimeError, ValueError):
        raise PackageError(f"{clipped(path, 200)}: there is no such file") from None
    except InputError as error:
        raise PackageError(f"{path}: {error}") from None


def attached(path: Path, pdf: bytes) -> dict[str, bytes]:
    """Return the files that a PDF carries, read in a process of its own."""
    return {name: base64.b64decode(data) for name, data in apart(path, pdf, START).items()}


def apart(path: Path, given: bytes, start: str) -> dict[str, Any]:
    """Return what a process of its own, in bounds, finds in a PDF.

    Parameters
    ----------
    path : Path
        What it is called.
    given : bytes
        What the process is given on standard input.
    start : str
        What it runs; it is given the folder of the library, and prints JSON, with ``fault`` what is wrong with the PDF.

    Raises
    ------
    PackageError
        If it finds a fault, or does not end in bounds.
    """
    library = Path(__file__).resolve().parents[2]
    command = [sys.executable, "-I", "-c", start, str(library)]
    try:
        ran = subprocess.run(command, input=given, capture_output=True, timeout=2 * SECONDS, check=False)
        answer: dict[str, Any] = json.loads(ran.stdout)
    except (subprocess.TimeoutExpired, ValueError):
        why = "it takes more time or memory to open than any package does, or ends what opens it"
        raise PackageError(f"{path} was not read: {why}") from None
    if "fault" in answer:
        raise PackageError(f"{path} {answer['fault']}")
    return answer


def bound() -> None:
    """Bound what this process may use."""
    try:
        import resource
    except ImportError:  # no such bounds on this system
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def child() -> None:
    """Read a PDF from standard input, in bounds, and print what it carries."""
    bound()
    try:
        found = {name: base64.b64encode(data).decode() for name, data in opened(sys.stdin.buffer.read()).items()}
    except PackageError as error:
        found = {"fault": str(error)}
    sys.stdout.write(json.dumps(found))


def opened(pdf: bytes) -> dict[str, bytes]:
    """Return the files that a PDF carries, by name.

    Raises
    ------
    PackageError
        In words that follow the name of the file.
    """
    if b"%PDF-" not in pdf[:1024]:
        raise PackageError("is no PDF")
    try:
        with pikepdf.open(io.BytesIO(pdf), attempt_recovery=False, suppress_warnings=True) as document:
            return dict(files_of(document))
    except pikepdf.PasswordError:
        raise PackageError("is encrypted; a package of deckcalc is not: ask for the file as it was filed") from None
    except (pikepdf.PdfError, ValueError, TypeError, KeyError, AttributeError, zlib.error) as error:
        why = clipped(" ".join(str(error).split()), 120)
        raise PackageError(f"is damaged or was cut off, and cannot be read: {why}") from None


def files_of(document: pikepdf.Pdf) -> Iterator[tuple[str, bytes]]:
    """Give the files of an opened PDF, each in bounds and under a name that a package has."""
    if runs := [name for name in ("/OpenAction", "/AA") if name in document.Root]:
        raise PackageError(
            f"does something when it is opened ({runs[0]}), which no package of deckcalc does; it was not run"
        )
    if "/JavaScript" in document.Root.get("/Names", {}):
        raise PackageError("carries scripts, which no package of deckcalc does; they were not run")
    names, known, left = [*document.attachments], {HEAD, MANIFEST, *(f"{name}.csv" for name in ROWS)}, MOST_IN_ALL
    if len(names) > MOST_FILES:
        raise PackageError(f"carries {len(names)} files, more than any job has")
    for name in names:
        if name not in known and not build.SHEET.fullmatch(name):
            raise PackageError(f"carries a file under a name that no job has: {clipped(ascii(name), 80)}")
        stream = document.attachments[name].get_file().obj
        most = min(left, MOST_IN_ALL if name == MANIFEST else MOST_HEAD if name == HEAD else MOST_TABLE)
        data = unpacked(stream, most)
        if data is None:
            raise PackageError(
                f"carries {name}, which is larger than a job may be, or packed as deckcalc packs nothing"
            )
        left -= len(data)
        yield name, data


def unpacked(stream: pikepdf.Object, most: int) -> bytes | None:
    """Return the bytes of a stream, None where they are more than that or packed otherwise than by Flate alone."""
    packed, filters = stream.read_raw_bytes(), stream.get("/Filter")
    if filters is None:
        return packed if len(packed) <= most else None
    if filters not in (pikepdf.Name.FlateDecode, pikepdf.Array([pikepdf.Name.FlateDecode])) or "/DecodeParms" in stream:
        return None
    inflate = zlib.decompressobj()
    data = inflate.decompress(packed, most + 1)
    return data if len(data) <= most and inflate.eof else None


# --- unpacking


def unpack(path: str | Path, out: str | Path) -> Path:
    """Write the job folder that a filed PDF carries.

    Parameters
    ----------
    path : path
        The PDF.
    out : path
        A folder that does not stand yet, or is empty.

    Returns
    -------
    Path

    Raises
    ------
    PackageError
        If the PDF cannot be read, what it carries was altered, or the folder holds anything; nothing is written.
    """
    filed, out = read_filed(path), Path(out)
    if altered := [*strange_files(filed)]:
        raise PackageError("\n".join(f"{path}: {said}; nothing was unpacked" for said in altered))
    place = Path(os.path.realpath(out))
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        raise PackageError(f"{out} holds something already; name a folder that is new or empty")
    with holding(place) as holder:
        new = holder / "new"
        new.mkdir()
        for name, data in {**filed.inputs, **filed.notebooks}.items():
            (new / name).write_bytes(data)
        if place.exists():
            place.rmdir()
        os.replace(new, place)
    return out


def strange_files(filed: Carried) -> Iterator[str]:
    """Say which files are not those whose hashes the manifest holds."""
    wanted = {**filed.manifest["inputs"], **filed.manifest.get("notebooks of the job", {})}
    carried = {**filed.inputs, **filed.notebooks}
    for name in sorted({*wanted, *carried}):
        if name not in carried:
            yield f"{name} is not in it any more, though the manifest names it"
        elif name not in wanted:
            yield f"{name} was put into it after it was filed: the manifest does not name it"
        elif hashlib.sha256(carried[name]).hexdigest() != wanted[name]:
            yield f"{name} was altered after it was filed: its hash is not that of the manifest"


def contents(path: str | Path) -> Contents:
    """Return the inputs that a filed PDF carries, as if its job folder had been read.

    Raises
    ------
    PackageError
        If the PDF cannot be read, or what it carries was altered.
    """
    filed = read_filed(path)
    if altered := [*strange_files(filed)]:
        raise PackageError("\n".join(f"{path}: {said}" for said in altered))
    return contents_of(filed, Path(path))


def contents_of(filed: Carried, folder: Path) -> Contents:
    """Return what a PDF carries as what was read of a job folder, with what lay beside it when it was filed."""
    hashes = tuple((name, hashlib.sha256(data).hexdigest()) for name, data in filed.inputs.items())
    unread = tuple(one for one in filed.manifest.get("not read", ()) if isinstance(one, str))
    return Contents(folder, folder, hashes, unread, (), MappingProxyType(dict(filed.inputs)))


# --- verifying


def verify(path: str | Path, signed: int = 0) -> list[str]:
    """Compute a filed package again and say what is not as it was filed.

    Parameters
    ----------
    path : path
        The PDF.
    signed : int
        Bytes of the document beneath its signatures, where nothing but whole signatures follows; see `signatures.read`.

    Returns
    -------
    list of str
        A difference each; empty where the PDF is, byte for byte, what its inputs give.

    Raises
    ------
    PackageError
        If the PDF cannot be read.
    """
    path = Path(path)
    filed, pdf = read_filed(path), data_of(path)
    if altered := [*strange_files(filed)]:
        return altered
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        for one in not_run(filed.manifest):
            (folder / one).touch()
        job = Job(read_job(contents_of(filed, folder)))
        found = [*moved(filed.manifest, build.manifest(job, left=not_run(filed.manifest)))]
        own = [build.Own(name, data) for name, data in filed.notebooks.items()]
        texts = [*library_text.others(filed.manifest.get(build.TEXT, {}), build.text_of(build.chosen(own, None, job)))]
        versions = [*other_versions(filed.manifest), *texts]
        if filed.notebooks:
            return [
                *versions,
                *found,
                "its pages were not made again: the job has notebooks of its own, which are programs",
            ]
        if found or versions != texts:
            return [*versions, *found]
        out = build.build(job, folder / "out", quiet=True, parts=["package"])
        return [*texts, *other_pages(pdf[: signed or None], (out / "package.pdf").read_bytes(), bool(texts))]


def not_run(manifest: Mapping[str, Any]) -> list[str]:
    """Return the notebooks that lay in the job folder and were not run."""
    names = manifest.get("notebooks not run", [])
    plain = isinstance(names, list) and len(names) <= MOST_FILES and all(isinstance(name, str) for name in names)
    return [name for name in names if Path(name).name == name and name.endswith(".ipynb")] if plain else []


def other_versions(filed: Mapping[str, Any]) -> Iterator[str]:
    """Name what computes and prints in another version than when it was filed."""
    now = build.made_with()
    for name in sorted({*now, *filed["made with"]}):
        was = filed["made with"].get(name, "none")
        if name != "python" and was != now.get(name, "none"):
            yield f"filed with {name} {clipped(was, 40)}, here {now.get(name, 'none')}: pages are not compared"


def moved(filed: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    """Name the results that are not those of the manifest, and its other entries that are not."""
    was, results = filed["results"], now["results"]
    keys = [key for key in {**was, **results} if was.get(key) != results.get(key)]
    for key in keys[:NAMED]:
        yield f"{clipped(key, 160)}: filed {clipped(was.get(key, 'nothing'), 60)}, comes to {results.get(key, 'nothing')}"
    if len(keys) > NAMED:
        made = sorted({key.split(" / ")[-2] for key in keys if key.count(" / ") >= 2})
        yield f"{len(keys)} results in all are not as filed, of: {clipped(', '.join(made), 400)}"
    for key in [key for key in {**filed, **now} if key not in ("results", "made with", build.TEXT)]:
        if as_json(filed.get(key)) != as_json(now.get(key)):
            yield f"the manifest was altered, or comes out otherwise: {clipped(key, 60)}"


def other_pages(filed: bytes, now: bytes, explained: bool = False) -> Iterator[str]:
    """Say where a PDF is not the one that its inputs give; unless it is `explained`, also that something beside its pages is not."""
    if filed == now:
        return
    if filed.startswith(now):
        yield f"the filed document is whole; {len(filed) - len(now)} bytes were added after it, as a signature or a mark is"
        return
    pages = [*map(page_hashes, (filed, now))]
    if len(pages[0]) != len(pages[1]):
        yield f"it has {len(pages[0])} pages, and its inputs give {len(pages[1])}"
    others = [str(number) for number, (a, b) in enumerate(zip(*pages, strict=False), 1) if a != b]
    if others:
        yield f"not as its inputs give them: page{'s' * (len(others) > 1)} {', '.join(others)}"
    elif len(pages[0]) == len(pages[1]) and not explained:
        yield "its pages are those that its inputs give; something beside them was altered"


def page_hashes(pdf: bytes) -> list[str]:
    """Return for each page a hash of its size, of what it draws, its pictures included, and of its marks."""
    found = []
    with pikepdf.open(io.BytesIO(pdf), suppress_warnings=True) as document:
        for page in document.pages:
            digest = hashlib.sha256(str([float(edge) for edge in page.mediabox]).encode())
            for stream in streams_of(page.obj, set()):
                digest.update(stream.read_raw_bytes())
            for mark in page.obj.get("/Annots", []):
                digest.update(f"{mark.get('/Subtype')} {mark.get('/Rect')}".encode())
            found.append(digest.hexdigest())
    return found


def streams_of(drawn: pikepdf.Object, seen: set[tuple[int, int]]) -> Iterator[pikepdf.Object]:
    """Give the streams that a page or a form draws: its own, and those of its pictures and forms."""
    own = drawn.get("/Contents")
    if own is not None:
        yield from own if isinstance(own, pikepdf.Array) else [own]
    resources: Any = drawn.get("/Resources", {})
    for one in dict(resources.get("/XObject", {})).values():
        if one.objgen not in seen:
            seen.add(one.objgen)
            yield one
            yield from streams_of(one, seen)
