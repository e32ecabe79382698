"""Notebooks that a job folder brings: run apart and only when asked for, and held against the job that was computed.

A job folder is data. Its notebooks are a stranger's code: they run in a process of their own that starts in an empty
folder, sees a copy of the inputs, and has nowhere to write to but what it shows. What it shows goes into the package only
if every verdict, table, equation and computed amount in it is one that the library itself prints for this job.
"""

from __future__ import annotations

import hashlib
import html
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, get_args, get_origin

from deckcalc.core import units
from deckcalc.job import Job
from deckcalc.package import front
from deckcalc.package.documents import PackageError
from deckcalc.package.notebook_run import Output, cells_of, run
from deckcalc.show import sections

#: Seconds that the notebooks of a job may take together.
TIME_LIMIT = 600.0
#: Starts this very copy of the library, whatever else is installed, and nothing from the working folder.
START = """
import importlib.util, sys
spec = importlib.util.spec_from_file_location("deckcalc", sys.argv[1])
sys.modules["deckcalc"] = module = importlib.util.module_from_spec(spec)
spec.loader.exec_module(module)
from deckcalc.package.own_notebooks import child
child(*sys.argv[2:])
"""


@dataclass(frozen=True)
class Own:
    """A notebook of the job folder, as it was read."""

    name: str
    data: bytes

    @property
    def digest(self) -> str:
        """Its SHA-256."""
        return hashlib.sha256(self.data).hexdigest()


def lying_in(folder: Path) -> list[Path]:
    """Return the notebooks that lie in a job folder."""
    return sorted(path for path in folder.glob("*.ipynb") if path.is_file())


def run_apart(own: Sequence[Own], inputs: Mapping[str, bytes], scratch: Path) -> dict[str, list[list[Output]]]:
    """Run notebooks in a process of their own and return what each cell showed, by notebook.

    Parameters
    ----------
    own : sequence of Own
    inputs : mapping of bytes
        The files of the job as they were read: the notebooks see a copy.
    scratch : Path
        Folder for what the process needs.

    Raises
    ------
    PackageError
        If a cell fails, takes too long or ends the process: the message names notebook and cell.
    """
    with tempfile.TemporaryDirectory(dir=scratch, ignore_cleanup_errors=True) as name:
        place = Path(name).resolve()
        for part, files in (("job", inputs), ("notebooks", {one.name: one.data for one in own}), ("empty", {})):
            (place / part).mkdir()
            for file, data in files.items():
                (place / part / file).write_bytes(data)
        library = Path(sys.modules["deckcalc"].__file__ or "").resolve()
        command = [sys.executable, "-I", "-c", START, library, place / "job", str(TIME_LIMIT)]
        process = subprocess.Popen(
            [*map(str, command), *(str(place / "notebooks" / one.name) for one in own)],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=place / "empty",
            start_new_session=True,
        )  # fmt: skip
        late = False
        try:
            said, _ = process.communicate(timeout=TIME_LIMIT)
        except subprocess.TimeoutExpired:
            late = True
            end(process)
            said, _ = process.communicate()
        finally:
            end(process)
    return understood(said, process.returncode, late)


def end(process: subprocess.Popen[bytes]) -> None:
    """End a process and those that it started."""
    with suppress(OSError):
        if os.name == "posix":
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()


def understood(said: bytes, status: int, late: bool) -> dict[str, list[list[Output]]]:
    """Read what the process sent: a line before each cell, and one after it."""
    found: dict[str, list[list[Output]]] = {}
    at = "the notebooks of the job"
    try:
        for line in said.splitlines():
            message = json.loads(line)
            if "fault" in message:
                raise PackageError(str(message["fault"]))
            if "done" in message:
                return found
            if "cell" in message:
                at = f"{message['notebook']}, cell {message['cell']}"
                found.setdefault(str(message["notebook"]), [])
            else:
                found[str(message["notebook"])].append(message["shown"])
    except (ValueError, KeyError, TypeError, AttributeError):
        raise PackageError(f"{at}: what the notebook sent cannot be read") from None
    why = f"took longer than {TIME_LIMIT:g} s" if late else f"ended its process (status {status})"
    raise PackageError(f"{at}: the cell {why}")


def child(job: str, limit: str, *paths: str) -> None:
    """Run notebooks and send what they show to the standard output that this process was started with."""
    watch = threading.Timer(float(limit) + 5, os._exit, (1,))  # also where nobody waits for it any more
    watch.daemon = True
    watch.start()
    with os.fdopen(os.dup(1), "w", encoding="utf-8") as channel:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)

        def send(**message: Any) -> None:
            channel.write(json.dumps(message) + "\n")
            channel.flush()

        try:
            for path in map(Path, paths):
                cells = cells_of(path.name, path.read_bytes())
                send(notebook=path.name, cell=1)
                for number, shown in enumerate(run(path.name, cells, job), 2):
                    send(notebook=path.name, shown=shown)
                    send(notebook=path.name, cell=number)
        except PackageError as error:
            send(fault=str(error))
        send(done=True)


# --- what was shown, held against the job

Line = tuple[str, str, str]

VERDICT = re.compile(
    r"satisf|not covered|adequate|\bo\.?k\b|\bpass(?:ed)?\b|\bfail(?:s|ed)?\b"
    r"|\b\d+\s*(?:of|out of|/)\s*\d+\b|\b\d+ checks\b|\bchecks?:",
)
RULE = re.compile(r"[\s|:+=-]*-{2,}[\s|:+=-]*")


def symbols() -> list[str]:
    """Return every unit that the library prints, as `plainly` gives it."""
    kinds = [
        mark for one in vars(units).values() if get_origin(one) is Annotated
        for mark in get_args(one) if isinstance(mark, units.Kind)
    ]  # fmt: skip
    found = {plainly(kind.symbol(system)) for kind in kinds for system in units.SYSTEMS} - {""}
    return sorted(found, key=len, reverse=True)


def read_lines(text: str) -> Iterator[Line]:
    """Give each line of Markdown with what it is and the head that it stands under: of its table, or its calculation."""
    head, calculation, display = "", "", False
    for line in text.splitlines():
        plain, here = plainly(line), line.count("$$") % 2
        if display or "$$" in line or re.search(r"\$[^$]*[=≈<>\\][^$]*\$", line) or r"\begin" in line:
            display = display != bool(here)
            head = ""
            yield "equation", calculation, line.strip()
        elif "|" in re.sub(r"\\\|", "", line):
            if RULE.fullmatch(line):
                continue
            head = head or plain
            yield "row", head, plain
        else:
            head = ""
            if line.startswith("#"):
                calculation = plain
            yield "table" if RULE.fullmatch(line) and " " in line.strip() else "line", "", plain


def plainly(line: str) -> str:
    """Return a line as it is read: without marks of emphasis, entities, and characters that do not show."""
    text = unicodedata.normalize("NFKC", html.unescape(line))
    text = "".join(
        " " if one.isspace() else one for one in text if unicodedata.category(one) not in ("Cf", "Cc") or one == "\t"
    )
    return " ".join(re.sub(r"[\\*_~`]|<[^>]*>", "", text).split())


def printed_by_the_library(job: Job, shown: Iterable[str]) -> set[Line]:
    """Return every line that the library prints for a job.

    Parameters
    ----------
    job : Job
    shown : iterable of str
        What the sheets of the library show, as Markdown.
    """
    every = [*shown, str(front.summary(job)), *(str(sections.checks(one)) for one in job.subjects)]
    every += [
        text for run, one in job.written.by_run.items() for text in (one.markdown(), str(job.written.worked([run])))
    ]
    every += [str(job.written.by_hand(one, item)) for one in job.subjects for item in one.decisions]
    return {line for text in every for line in read_lines(text)}


def hold(name: str, shown: Sequence[list[Output]], code: Sequence[bool], known: set[Line]) -> None:
    """Hold what a notebook showed against what the library prints.

    Parameters
    ----------
    name : str
    shown : sequence
        Of each cell.
    code : sequence of bool
        Whether each cell is code: what it computes is held amount by amount.
    known : set of Line

    Raises
    ------
    PackageError
        With notebook, cell and line, if a verdict, a row, an equation or a computed amount is not one of the job's.
    """
    amount = re.compile(r"\d\s?(?:" + "|".join(map(re.escape, symbols())) + r")(?![\w/])")
    for number, (outputs, computed) in enumerate(zip(shown, code, strict=True), 1):
        for output in outputs:
            data = output.get("data", {})
            for line in read_lines(str(output.get("text") or data.get("text/markdown") or data.get("text/plain", ""))):
                what, _, text = line
                matters = what != "line" or VERDICT.search(text.casefold()) or (computed and amount.search(text))
                if matters and line not in known:
                    raise PackageError(
                        f"{name}, cell {number}: “{text}” is not what the job comes to; a notebook of the job may show "
                        "verdicts, tables, equations and computed amounts only as the library prints them"
                    )
