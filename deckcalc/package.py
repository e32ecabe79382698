"""Sheets bound into one filed document: notebooks run on a job, PDF, HTML and DOCX made of what they show."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import platform
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.metadata import version
from pathlib import Path
from typing import Any

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError
from tqdm import tqdm

from deckcalc import __version__, units
from deckcalc.binder import Imprint, PackageError, bind
from deckcalc.job import Job, carry
from deckcalc.sources import folder
from deckcalc.text import fenced, plain

SHEET = re.compile(r"\d\d_\w+\.ipynb")
LIBRARIES = ("numpy", "pint", "handcalcs", "matplotlib", "typst", "pypandoc_binary")


def build(job_folder: str | Path, out: str | Path | None = None, quiet: bool = False, only: str | None = None) -> Path:
    """Build the calculation package of a job: package.pdf, package.html, package.docx and manifest.json.

    Parameters
    ----------
    job_folder : path
        A job folder. Notebooks in it named like ``01_patches.ipynb`` are used instead of, or beside, the built-in ones.
    out : path, optional
        Folder of the package; by default ``package`` in the job folder. An earlier package there is replaced when the
        new one is complete, and left as it was if the build fails.
    quiet : bool
        Without a progress bar.
    only : str, optional
        Name of one sheet, such as ``crew_sheets``: it is printed alone, by default in a folder of that name.

    Returns
    -------
    Path
        The folder of the package.

    Raises
    ------
    JobError
        If the job folder is faulty; nothing is written.
    PackageError
        If a notebook fails or a document cannot be made; nothing is written.
    """
    job = carry(job_folder)
    sheets = notebooks(Path(job_folder), only)
    out = Path(out) if out else Path(job_folder) / (only or "package")
    with replacing(out) as work, tempfile.TemporaryDirectory() as scratch:
        figures = Path(scratch)
        markdown = run_notebooks(Path(job_folder), figures, quiet, sheets)
        contents = manifest(job)
        attached = {**job.file.verbatim, "manifest.json": as_json(contents)}
        head, now = job.head, job.file.revision
        imprint = Imprint(
            head.package.number, head.bridge.name, now.revision, now.date, head.people.firm, head.package.subject,
            draft=not (head.people.checker and head.people.engineer), version=__version__, paper=head.package.paper,
        )  # fmt: skip
        bind(markdown, imprint, figures, work, attached)
        files = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(work.glob("package.*"))}
        (work / "manifest.json").write_bytes(as_json({**contents, "files": files}))
    return out


@contextmanager
def replacing(out: Path) -> Iterator[Path]:
    """Give a folder to write into; put it in place of `out` only when all went well."""
    if out.exists() and (not out.is_dir() or (any(out.iterdir()) and not (out / "manifest.json").is_file())):
        raise PackageError(f"{out} exists and is not a package; name another folder with --out")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        holder = Path(tempfile.mkdtemp(prefix=".deckcalc-", dir=out.parent))
    except OSError as error:
        raise PackageError(f"{out} cannot be written: {error.strerror}") from None
    try:
        work, old = holder / "new", holder / "old"
        work.mkdir()
        yield work
        if out.exists():
            os.replace(out, old)
        try:
            os.replace(work, out)
        except OSError:
            if old.exists():
                os.replace(old, out)
            raise
    finally:
        shutil.rmtree(holder, ignore_errors=True)


def notebooks(job_folder: Path, only: str | None = None) -> list[Path]:
    """Return the notebooks of the package in filing order, the job's own copies before the built-in ones; or one of them.

    Raises
    ------
    PackageError
        If there is no sheet of that name; the message lists those that there are.
    """
    found = {path.name: path for place in (folder("notebooks"), job_folder) for path in place.glob("*.ipynb")}
    sheets = [found[name] for name in sorted(found) if SHEET.fullmatch(name)]
    if only is None:
        return sheets
    chosen = [path for path in sheets if path.stem[3:] == only]
    if not chosen:
        raise PackageError(f"there is no sheet “{only}”; there are {', '.join(path.stem[3:] for path in sheets)}")
    return chosen


def run_notebooks(job_folder: Path, figures: Path, quiet: bool = False, sheets: list[Path] | None = None) -> str:
    """Run the notebooks on a job in one kernel and return what they show, as Markdown.

    Parameters
    ----------
    job_folder : Path
    figures : Path
        Folder for the pictures.
    quiet : bool
    sheets : list of Path, optional
        Which notebooks; by default all of the package.

    Returns
    -------
    str

    Raises
    ------
    PackageError
        If a cell fails: the message names notebook and cell.
    """
    joined = nbformat.v4.new_notebook()
    where: list[str] = []
    for path in notebooks(job_folder) if sheets is None else sheets:
        try:
            cells = nbformat.read(path, as_version=4).cells
        except (ValueError, KeyError, AttributeError) as error:
            raise PackageError(f"{path.name} cannot be read as a notebook: {error}") from None
        for cell in cells:
            if "parameters" in cell.metadata.get("tags", []):
                cell = nbformat.v4.new_code_cell(f"JOB = {str(job_folder.resolve())!r}")
            cell.pop("id", None)
            joined.cells.append(cell)
            where.append(path.name)
    bar = tqdm(total=len(joined.cells), desc="sheets", unit="cell", disable=quiet, leave=False)
    client = NotebookClient(
        joined, kernel_name="python3", timeout=600, extra_arguments=["--IPKernelApp.log_level=40"],
        on_cell_complete=lambda cell, cell_index: bar.update(),
    )  # fmt: skip
    try:
        client.execute(cwd=str(job_folder.resolve()))
    except CellExecutionError as error:
        place = next(
            i for i, cell in enumerate(joined.cells) if any(o.output_type == "error" for o in cell.get("outputs", []))
        )
        first = where.index(where[place])
        raise PackageError(f"{where[place]}, cell {place - first + 1}: {error.ename}: {error.evalue}") from None
    except (RuntimeError, TimeoutError) as error:  # the kernel did not start, stopped, or took too long
        raise PackageError(f"the notebooks could not be run to their end: {error}") from None
    finally:
        bar.close()
    parts: list[str] = []
    for number, cell in enumerate(joined.cells):
        if cell.cell_type == "markdown":
            parts.append(cell.source)
        elif cell.cell_type == "code":
            parts += [shown(output, figures, f"{number:03d}-{i}") for i, output in enumerate(cell.outputs)]
    return "\n\n".join(part for part in parts if part) + "\n"


def shown(output: Any, figures: Path, name: str) -> str:
    """Return one output of a cell as Markdown; a picture is saved beside."""
    if output.output_type == "stream":
        return fenced(output.text.rstrip())
    data = output.get("data", {})
    if "text/markdown" in data:
        return str(data["text/markdown"])
    if "image/png" in data:
        (figures / f"{name}.png").write_bytes(base64.b64decode(data["image/png"]))
        caption = plain(data.get("text/plain", ""))
        return f"![{caption}]({name}.png){{width=100%}}"
    return fenced(data["text/plain"]) if "text/plain" in data else ""


def manifest(job: Job) -> dict[str, Any]:
    """Return what the package was made from and what it found: hashes of inputs, versions, results, verdicts."""
    return {
        "package": job.head.package.number,
        "revision": job.file.revision.revision,
        "date": job.file.revision.date.isoformat(),
        "made with": {
            "deckcalc": __version__,
            "python": platform.python_version(),
            **{name: version(name) for name in LIBRARIES},
        },
        "inputs": {name: hashlib.sha256(data).hexdigest() for name, data in job.file.verbatim.items()},
        "results": results(job),
        "checks": [
            {"item": one.item, "check": one.title, "utilisation": one.utilisation, "verdict": one.verdict}
            for one in job.checks
        ],
    }


def results(job: Job) -> dict[str, str]:
    """Return every result of every run in the job's units, in full."""
    found: dict[str, str] = {}
    for subject in job.subjects:
        for run in subject.runs:
            for name, value in run.results().items():
                kind = run.calculation.kinds[name]
                number = float(units.magnitude(value, kind, job.system))
                key = f"{subject.key} / {run.item} / {run.calculation.name} / {name}"
                found[key] = f"{number:.12g} {kind.symbol(job.system)}".strip()
    return found


def as_json(data: Any) -> bytes:
    """Return data as readable JSON."""
    return (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode()
