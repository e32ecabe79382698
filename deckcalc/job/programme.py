"""Nights and loads of many jobs in one run: one row a night; a job with a fault is named, and the others go on."""

from __future__ import annotations

import csv
import hashlib
import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tqdm import tqdm

from deckcalc.base.fields import JobError
from deckcalc.base.replacing import holding
from deckcalc.closure.design.loads import KINDS
from deckcalc.core import units
from deckcalc.core.units import InputError, quantity
from deckcalc.job.file import read_folder, read_job
from deckcalc.job.folder import Contents
from deckcalc.job.order import Job

HEADS = (
    "job", "package", "plan", "night", "patches", "done by likely times [min]", "done, to be kept [min]", "opening [min]", "in time",
)  # fmt: skip
DIGEST = "digest of the row"


@dataclass
class Programme:
    """What is planned, and what could not be.

    Attributes
    ----------
    rows : list of dict
        One a night; a material stands under its name and unit, spare included.
    faults : dict of list of str
        By job folder.
    jobs : int
        Jobs that were planned.
    """

    rows: list[dict[str, str]] = field(default_factory=list)
    faults: dict[str, list[str]] = field(default_factory=dict)
    jobs: int = 0


def plan(folders: Iterable[Path], system: str = "SI", quiet: bool = True) -> Programme:
    """Plan the nights of many jobs; of each only what the closure needs is worked out.

    Parameters
    ----------
    folders : iterable of Path
        Job folders.
    system : {"SI", "US"}
        Units of the table.
    quiet : bool
        Without a progress bar.

    Returns
    -------
    Programme
    """
    made = Programme()
    seen: dict[Path, Path] = {}
    for folder in tqdm(folders, desc="jobs", unit="job", disable=quiet, leave=False):
        try:
            contents = read_folder(folder)
            if contents.place in seen:
                raise JobError([f"the same folder as {seen[contents.place]}; a job is planned once"])
            seen[contents.place] = folder
            made.rows += nights_of(contents, system)
            made.jobs += 1
        except InputError as error:
            made.faults[str(folder)] = error.faults if isinstance(error, JobError) else str(error).splitlines()
    return made


def nights_of(contents: Contents, system: str) -> list[dict[str, str]]:
    """Return a row for every night of one job.

    Raises
    ------
    JobError
        If the job cannot be read, has no closure, or does not fit into nights.
    """
    job = Job(read_job(contents))
    plan, rows = job.closure, []
    if plan.inputs.closure is None:
        raise JobError(["job.toml: closure: missing; the programme wants the hours, crews and rates of the work"])
    if not plan.planned:
        raise JobError([f"all patches: {plan.decisions.get('proposal', 'no plan is adopted and none is proposed')}"])
    for number, night in enumerate(plan.planned, 1):
        row = {
            "job": str(contents.folder), "package": job.settings.package.number, "plan": "adopted" if plan.closures else "proposed, not adopted", "night": str(number),
            "patches": " ".join(night.patches), "in time": f"{night.spread.in_time:.4f}",
            "done by likely times [min]": f"{night.times.end:.0f}", "done, to be kept [min]": f"{night.end:.1f}",
            "opening [min]": f"{night.length:.0f}",
        }  # fmt: skip
        for material, amount in plan.loads_of(night).items():
            kind, spared = units.kind_of(KINDS[amount.unit]), plan.with_spare(material, amount)
            head = f"{material} [{kind.symbol(system)}]" if amount.unit else material
            row[head] = f"{float(units.magnitude(quantity(spared, amount.unit), kind, system)):.6g}"
        rows.append(row)
    return rows


def write(made: Programme, out: Path) -> None:
    """Write the rows as CSV; the file stands there whole or not at all.

    The last column is a digest of its row, so that a table which this function wrote is told from any other file, and
    from one that was edited since: only such a table is replaced, and only by one that holds a job.

    Raises
    ------
    InputError
        If no job could be planned, or the place holds another file.
    PackageError
        If it cannot be written.
    """
    if not made.jobs:
        faults = [f"{job}: {fault}" for job, found in made.faults.items() for fault in found]
        raise InputError("\n".join([*faults, f"no job could be planned; {out} was not written"]))
    heads = [*HEADS, *dict.fromkeys(head for row in made.rows for head in row if head not in HEADS), "fault", DIGEST]
    rows: list[dict[str, str]] = [*made.rows]
    rows += [{"job": folder, "fault": "; ".join(faults)} for folder, faults in made.faults.items()]
    place = Path(os.path.realpath(out))
    may_replace(place)
    with holding(place) as holder:
        with (holder / "new").open("w", encoding="utf-8", newline="") as file:
            table = csv.writer(file, lineterminator="\n")
            table.writerow(heads)
            for row in rows:
                cells = [row.get(head, "") for head in heads[:-1]]
                table.writerow([*cells, digest(heads, cells)])
        may_replace(place)
        os.replace(holder / "new", place)


def digest(heads: Sequence[str], cells: Sequence[str]) -> str:
    """Return the digest of a row under its heads."""
    return hashlib.sha256(json.dumps([*heads, *cells], ensure_ascii=False).encode()).hexdigest()[:12]


def may_replace(place: Path) -> None:
    """Refuse a place that holds anything but a table of `write`, as it was written.

    Raises
    ------
    InputError
        Saying what stands there.
    """
    if not os.path.lexists(place):
        return
    why = "is not a table of the programme"
    if place.is_file():
        try:
            with place.open(encoding="utf-8", newline="") as file:
                heads, *rows = list(csv.reader(file)) or [[]]
        except (OSError, ValueError, csv.Error):
            heads, rows = [], []
        if [*heads[: len(HEADS)], *heads[-1:]] == [*HEADS, DIGEST]:
            edited = [number for number, row in enumerate(rows, 2) if row[-1:] != [digest(heads, row[:-1])]]
            if not edited:
                return
            why = f"was edited (row {edited[0]})"
    raise InputError(f"{place} {why} and was left as it is; name another file with --out")
