"""A job folder, read and validated: ``job.toml`` and the CSV tables of what was measured.

Everything is read before anything is computed. An error names file, row and field, what was found and what was
wanted; all errors come at once.
"""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from deckcalc.base.choices import FOLDED
from deckcalc.base.context import Context, Inputs, Limits
from deckcalc.base.fields import (
    Faults,
    JobError,
    Revision,
)
from deckcalc.base.needs import Given
from deckcalc.base.replacing import holding
from deckcalc.base.work import WorkPlan, check_plan
from deckcalc.core.check import Limit
from deckcalc.core.ranges import speaking
from deckcalc.core.text import printable_faults
from deckcalc.core.units import InputError, System, clipped
from deckcalc.job import contradictions, record_rows
from deckcalc.job.bounded import text_of, toml_of
from deckcalc.job.changes import apply_settings, check_changes, why_unknown
from deckcalc.job.folder import RULE, Contents, read_contents
from deckcalc.job.limits import read_limits
from deckcalc.job.read_tables import Tables, read_tables, told
from deckcalc.job.rows import read_rows, validated
from deckcalc.job.settings import INPUTS, ROWS, SUBJECTS, WORDS, JobSettings
from deckcalc.job.table import grouped
from deckcalc.patch import inputs as patch
from deckcalc.patch.design import Marked, survey
from deckcalc.steel.design import check_bars


@dataclass(frozen=True, eq=False)
class JobFile:
    """A job folder that was read without a fault.

    Attributes
    ----------
    folder : Path
    settings : JobSettings
        ``job.toml``.
    rows : dict of list
        The CSV tables, by file name without ending.
    limits : dict of Limit
        Built-in limits, replaced where the job says so.
    verbatim : dict of bytes
        Every input as it is filed: ``job.toml`` and plain CSV tables exactly the bytes that were read, other tables
        written as plain CSV. These files alone are a job folder of the same job.
    changes : dict of str
        Inputs that were changed for a review.
    unread : list of str
        Files of the folder that were not read or not used, and why: one sentence each.
    contents : Contents
        What the folder held when it was read, with its hashes.
    confirmed : dict of str
        By field that was asked about and that the job confirms: what seemed wrong.
    marked : Marked
        The survey with its patches; empty where the job has none.
    ready : tuple of str
        Subjects that are part of the job and can be worked out, in the order of the work.
    lacking : dict of str
        By subject that is part of the job and cannot be worked out: what is missing, and what stays undone for it.
    understood : list of str
        What departs from the plain form of a job folder, and how it was taken: one sentence each.
    """

    folder: Path
    settings: JobSettings
    rows: dict[str, list[Any]]
    limits: Limits
    verbatim: dict[str, bytes]
    changes: dict[str, str]
    unread: list[str]
    contents: Contents
    confirmed: dict[str, str]
    marked: Marked
    understood: list[str]
    ready: tuple[str, ...] = ()
    lacking: dict[str, str] = field(default_factory=dict)

    @property
    def system(self) -> System:
        """Unit system in which the job is printed."""
        return self.settings.units

    @property
    def work(self) -> WorkPlan:
        """The adopted plan of the work."""
        return work_of(self.settings, self.rows)

    @property
    def revision(self) -> Revision:
        """The present revision."""
        return self.settings.revision

    def write(self, folder: str | Path) -> Path:
        """Write the job as a job folder: job.toml, and its tables as plain CSV. It stands there whole or not at all.

        Raises
        ------
        InputError
            If there is something at that place, inputs were changed for a review, or the folder cannot be written.
        """
        place = Path(os.path.realpath(folder))
        if os.path.lexists(place):
            raise InputError(f"{folder} exists already; name a folder that does not")
        if self.changes:
            raise InputError(
                f"the job was read with changed inputs ({', '.join(self.changes)}), which stand in no file"
            )
        with holding(place) as holder:
            (made := holder / "new").mkdir()
            for name, data in self.verbatim.items():
                (made / name).write_bytes(data)
            os.rename(made, place)
        return place

    def not_read(self, between: str) -> str:
        """What of the folder these results do not rest on, for a person to look at; empty where there is nothing."""
        said = f"In the job folder, and in none of these results ({RULE}):"
        return between.join([said, *self.unread]) if self.unread else ""


def read_job(place: str | Path | Contents, changes: Mapping[str, str] | None = None) -> JobFile:
    """Validate a job folder, reading it once.

    Parameters
    ----------
    place : path or Contents
        A folder that holds job.toml and any tables of `ROWS`; or what was read of one.
    changes : dict of str, optional
        Inputs to change before validation: ``{"deck.slab_thickness": "190 mm", "depths.D3.depth": "80 mm"}``.

    Returns
    -------
    JobFile

    Raises
    ------
    JobError
        With every fault found, each naming file, row and field.
    """
    contents = place if isinstance(place, Contents) else read_folder(place)
    changes, faults = dict(changes or {}), Faults()
    faults += contents.faults
    check_changes(changes, faults)
    found = read_tables(contents, ROWS)
    folded: dict[str, str] = {}
    token = FOLDED.set(folded)
    data = head(contents, faults)
    try:
        with speaking("US" if data and data.get("units") == "US" else ""):
            return read_found(contents, data, found, changes, faults, folded)
    except JobError as error:
        raise JobError([told(fault, found.found, contents.handed_over) for fault in error.faults]) from None
    finally:
        FOLDED.reset(token)


def head(contents: Contents, faults: Faults) -> dict[str, Any] | None:
    """Return the data of job.toml; None where it cannot be read."""
    text = text_in(contents, "job.toml", faults)
    try:
        return None if text is None else toml_of(text)
    except InputError as error:
        faults += [f"job.toml: {line}" for line in str(error).splitlines()]
        return None


def read_found(
    contents: Contents, data: dict[str, Any] | None, tables: Tables, changes: dict[str, str], faults: Faults,
    folded: Mapping[str, str],
) -> JobFile:  # fmt: skip
    """Validate what a job folder holds."""
    used: set[str] = set()
    settings = None
    if data is not None:
        apply_settings(data, changes, used, faults)
        settings = validated(JobSettings, data, "job.toml", faults)
    faults += tables.faults
    rows: dict[str, list[Any]] = {name: [] for name in ROWS}
    there = {name: model for name, model in ROWS.items() if name in tables.found}
    for name, model in there.items():
        rows[name] = read_rows(tables.found[name], model, changes, used, faults)
    for key in changes:
        if key not in used:
            faults.append(f"--set {key}: no such input; {why_unknown(key, rows)}")
    limits = read_limits(settings, faults) if settings else Limits()
    ready: list[str] = []
    lacking: dict[str, str] = {}
    marked = Marked()
    if settings and not faults:
        faults.confirmed = settings.confirmed
        ready, lacking = asked(settings, rows)
        own = context(patch.Inputs, settings, rows, limits)
        if "patch" in ready:
            patch.check(own, faults)
            marked = survey(own, faults)
        if not faults:
            check_plan(own.work, [one.patch for one in marked.patches] if "patch" in ready else None, faults)
        for key in ready if not faults else ():  # the other tables are checked against the patches
            if key != "patch":
                given = context(SUBJECTS[key].Inputs, settings, rows, limits)
                SUBJECTS[key].check(given, marked, faults)
                if key == "steel" and marked.patches:
                    check_bars(given, marked, faults)
        if not faults:
            contradictions.check(settings, rows, limits, marked, faults)
            bars = settings.reinforcement.readings if settings.reinforcement else 2
            over = 1 + float(limits.get("bar_oversize").value.m_as(""))  # type: ignore[union-attr]  # read here, not rested on
            record_rows.check(settings, rows, marked, faults, bars, over)
        if not faults:
            faults.require_doubts()
    filed = {"job.toml": contents.files.get("job.toml", b"")}
    filed |= {f"{name}.csv": tables.found[name].filed(model) for name, model in there.items() if name in tables.found}
    if not faults:  # what no field holds is printed as well: comments
        faults += unprinted(filed)
    if faults or settings is None:
        raise JobError([clipped(fault, 2000) for fault in faults])
    unread = [*contents.unread, *tables.unread, *unused(settings, there)]
    understood = grouped({one.file: one.understood for one in tables.found.values()})
    understood += [f"“{clipped(found)}” read as “{choice}”" for found, choice in folded.items()]
    return JobFile(
        contents.folder, settings, rows, limits, filed, changes, unread, contents, faults.asked, marked, understood,
        tuple(ready), lacking,
    )  # fmt: skip


def asked(settings: JobSettings, rows: Mapping[str, list[Any]]) -> tuple[list[str], dict[str, str]]:
    """Return the subjects that can be worked out, in the order of the work; and what those lack that cannot, though they are asked for."""
    ready: list[str] = []
    lacking: dict[str, str] = {}
    for key, module in SUBJECTS.items():
        given = Given(settings, rows, tuple(ready), WORDS)
        if not any(map(given.has, module.NEEDS.asked_by)):
            continue
        missing = module.NEEDS.missing(given)
        if missing:
            lacking[key] = f"{', '.join(missing)} missing: no {module.NEEDS.blocks}"
        else:
            ready.append(key)
    return ready, lacking


def unprinted(files: Mapping[str, bytes]) -> list[str]:
    """Return what stands in the files and cannot be printed, by row."""
    return [
        f"{name}, row {number}: {fault}"
        for name, data in files.items()
        if printable_faults(text := data.decode("utf-8-sig"), "\n\r\t")
        for number, line in enumerate(text.split("\n"), 1)
        if (fault := printable_faults(unicodedata.normalize("NFC", line), "\r\t"))
    ]


def context(
    inputs: type[Inputs], settings: JobSettings, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit]
) -> Context[Inputs]:
    """Return what a subject may know of the job: the sections and tables that its inputs name."""
    names = [one.name for one in fields(inputs)]  # type: ignore[arg-type]
    found = {name: rows[name] if name in rows else getattr(settings, name) for name in names}
    return Context(settings.units, limits, settings.deck, inputs(**found), work_of(settings, rows))


def work_of(settings: JobSettings, rows: Mapping[str, list[Any]]) -> WorkPlan:
    """Return the adopted plan of the work, by the clock of the bridge."""
    return WorkPlan(tuple(rows["placements"]), settings.bridge.zone, settings.bridge.clock)


def read_folder(folder: str | Path) -> Contents:
    """Read the files of a job folder into memory, once: `read_job` and `deckcalc.job.order.compute` work from what it returns.

    Raises
    ------
    JobError
        If there is no such folder, or it cannot be listed.
    """
    return read_contents(folder, list(ROWS))


def text_in(contents: Contents, name: str, faults: list[str]) -> str | None:
    """Return the text of a file that was read."""
    if name not in contents.files:
        if not any(fault.startswith(f"{name}: ") for fault in contents.faults):
            faults.append(
                f"{name}: missing; a job folder holds job.toml, and the tables of what was measured beside it"
            )
        return None
    try:
        return text_of(contents.files[name])
    except InputError as error:
        faults.append(f"{name}{error}")
        return None


def unused(settings: JobSettings, there: Iterable[str]) -> list[str]:
    """Return a sentence for every table that was read although no section of the job asks for it."""
    found = []
    for module in INPUTS:
        if not any(getattr(settings, name, None) or name in there for name in module.NEEDS.asked_by):
            sections = ", ".join(f"[{section}]" for section in module.SECTIONS)
            mine = (name for name in module.ROWS if name in there)
            found += [f"{name}.csv: read and not used; job.toml has no section {sections}" for name in mine]
    return found
