"""Opens workbooks: copies beside a job, in JupyterLab or as plain pages, on this machine alone."""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

from deckcalc.core.sources import folder
from deckcalc.core.units import InputError
from deckcalc.core.words import how_many
from deckcalc.ends import say

#: Workbooks that are copied; the review of a job and the sheets that it has go with them.
WORKBOOKS, REVIEW = ("explore_*.ipynb", "learn_*.ipynb"), "review_a_job.ipynb"
PROGRAMS = {"open": "jupyterlab", "serve": "voila"}
#: Kernels of plain pages at one time; one without a reader ends after so many seconds.
MOST_KERNELS, IDLE = 8, 600
LAB = (
    "--ServerApp.ip=127.0.0.1",
    "--LabApp.news_url=None",
    "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    "--LabApp.extension_manager=readonly",
)
PAGES = (
    "--Voila.ip=127.0.0.1",
    "--token",
    "--strip_sources=True",
    "--show_tracebacks=False",
    "--VoilaExecutor.cell_error_instruction=The cell cannot be worked out. “deckcalc open” shows it with its reason.",
    "--VoilaConfiguration.multi_kernel_manager_class=deckcalc.cli.pages.FewKernels",
    f"--FewKernels.most={MOST_KERNELS}",
    f"--MappingKernelManager.cull_idle_timeout={IDLE}",
    "--MappingKernelManager.cull_interval=60",
)  # fmt: skip


def books(job: Path | None, here: Path | None = None) -> tuple[Path, list[str]]:
    """Return the folder of the workbooks of a job, or of none, and what was copied into it now.

    It stands beside the job folder, which holds inputs alone. What is there already stays: somebody may have changed it.
    """
    here = here or Path.cwd()
    if job is not None:
        job = job.resolve()
    place = job.with_name(f"{job.name}_workbooks") if job is not None else here / "workbooks"
    place.mkdir(exist_ok=True)
    found = sorted(path for pattern in WORKBOOKS for path in folder("notebooks").glob(pattern))
    if job is not None:
        found += [folder("notebooks") / REVIEW, *sheets(job)]
    copied = []
    for path in found:
        target = place / path.name
        try:
            with target.open("x", encoding="utf-8") as file:
                file.write(of_job(path.read_text(encoding="utf-8"), job))
            copied.append(path.name)
        except FileExistsError:
            continue
    return place, copied


def sheets(job: Path) -> list[Path]:
    """Return the sheets of the subjects that a job has; none while it cannot be read."""
    from deckcalc.job.file import read_job
    from deckcalc.package.build import SUBJECTS_OF, built_in

    try:
        ready = read_job(job).ready
    except InputError:
        return []
    mine = (
        one for one in built_in() if one.name.startswith("0") and set(SUBJECTS_OF.get(one.name[:2], ())) & set(ready)
    )
    return [one.path for one in mine if one.path is not None]


def of_job(text: str, job: Path | None) -> str:
    """Return a notebook without outputs, its parameters naming the job folder as it lies from the workbooks."""
    book = json.loads(text)
    for cell in book["cells"]:
        if cell["cell_type"] == "code":
            cell |= {"outputs": [], "execution_count": None}
        if job is not None and "parameters" in cell["metadata"].get("tags", ()):
            cell["source"] = [f"JOB = {json.dumps(f'../{job.name}', ensure_ascii=False)}  # folder of the job"]
    return json.dumps(book, ensure_ascii=False, indent=1) + "\n"


def needed(what: str) -> None:
    """Refuse to begin where what a command needs is not installed; the message names the extra."""
    lacking = [name for name in (PROGRAMS[what], "anywidget") if importlib.util.find_spec(name) is None]
    if lacking:
        raise InputError(
            f"deckcalc {what} needs {' and '.join(lacking)}, not installed here; the extra “workbooks” brings it: "
            'pip install "deckcalc[workbooks]"'
        )


def command(what: str, place: Path, browser: bool = True) -> list[str]:
    """Return the command that shows a folder of workbooks.

    Parameters
    ----------
    what : {"open", "serve"}
        In JupyterLab, or as plain pages.
    place : Path
    browser : bool
        Whether a browser is opened.

    """
    more = [] if browser else ["--no-browser"]
    if what == "open":
        if getattr(os, "geteuid", lambda: 1)() == 0:
            more.append("--allow-root")
        return [sys.executable, "-m", PROGRAMS[what], *LAB, f"--ServerApp.root_dir={place}", *more]
    return [sys.executable, "-m", "deckcalc.cli.pages", str(place), *PAGES, *more]


def shown(what: str, options: argparse.Namespace) -> int:
    """Copy the workbooks beside the job, and show them until somebody ends it; return the status of what shows them."""
    job = options.job
    if job is not None and not (job / "job.toml").is_file():
        raise InputError(
            f"{job}: there is no job.toml in it; name a job folder, or start one with “deckcalc new {job}”"
        )
    needed(what)
    place, copied = books(job)
    kept = "; those that were there stay as they are" if len(copied) < len(list(place.glob("*.ipynb"))) else ""
    say(f"{place}: {how_many(len(copied), 'workbook')} copied{kept}. Ctrl-C ends.")
    with suppress(KeyboardInterrupt):
        return subprocess.call(command(what, place, not options.no_browser), cwd=place)
    return 0


def open_books(options: argparse.Namespace) -> int:
    """Start JupyterLab on the workbooks."""
    return shown("open", options)


def serve(options: argparse.Namespace) -> int:
    """Show the workbooks as plain pages."""
    return shown("serve", options)
