"""A job folder, read and validated: ``job.toml`` and the CSV tables of what was measured.

Everything is read before anything is computed. An error names file, row and field, what was found and what was
wanted; all errors come at once.
"""

from __future__ import annotations

import os
import pickle
import unicodedata
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from deckcalc.base.choices import FOLDED
from deckcalc.base.context import Context, Inputs, Limits
from deckcalc.base.fields import (
    Faults,
    JobError,
    Revision,
    Strict,
)
from deckcalc.base.needs import Given
from deckcalc.base.replacing import holding
from deckcalc.base.work import WorkPlan, check_plan
from deckcalc.core import units
from deckcalc.core.check import Limit
from deckcalc.core.ranges import speaking
from deckcalc.core.text import printable_faults
from deckcalc.core.units import InputError, System, clipped
from deckcalc.job import comments, contradictions, record_rows
from deckcalc.job.bounded import text_of, toml_of
from deckcalc.job.changes import Changes, apply_settings, check_changes, option
from deckcalc.job.fitting import Fitted, fit, values
from deckcalc.job.folder import RULE, Contents, read_contents
from deckcalc.job.limits import read_limits
from deckcalc.job.read_tables import Tables, read_tables, told
from deckcalc.job.rows import read_rows, validated
from deckcalc.job.settings import INPUTS, ROWS, SUBJECTS, WORDS, JobSettings
from deckcalc.job.table import Table, grouped
from deckcalc.job.table_changes import apply_tables
from deckcalc.patch import inputs as patch
from deckcalc.patch.design import Marked, survey
from deckcalc.patch.design.marking import Patch
from deckcalc.steel.design import check_bars

#: Inputs that are left out, or taken otherwise, for one review.
MOST_FITTED = 500


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
        Inputs that were changed for a review; None for what was taken out.
    fitted : dict of Fitted
        Inputs that these changes left without their place: what was left out, or taken otherwise, and what is said of it.
    data, tables : dict
        job.toml and the tables as they were typed, with the changes.
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
    changes: dict[str, str | None]
    unread: list[str]
    contents: Contents
    confirmed: dict[str, str]
    marked: Marked
    understood: list[str]
    ready: tuple[str, ...] = ()
    lacking: dict[str, str] = field(default_factory=dict)
    fitted: dict[str, Fitted] = field(default_factory=dict)
    data: dict[str, Any] = field(default_factory=dict)
    tables: dict[str, Table] = field(default_factory=dict)

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


def read_job(place: str | Path | Contents, changes: Changes | None = None) -> JobFile:
    """Validate a job folder, reading it once.

    Parameters
    ----------
    place : path or Contents
        A folder that holds job.toml and any tables of `ROWS`; or what was read of one.
    changes : dict of str, optional
        Inputs to change before validation: ``{"deck.slab_thickness": "190 mm", "depths.D3.depth": "80 mm"}``, or None
        for what is taken out; see `deckcalc.job.review.rerun`.

    Returns
    -------
    JobFile

    Raises
    ------
    JobError
        With every fault found, each naming file, row and field.
    """
    contents = place if isinstance(place, Contents) else read_folder(place)
    changes, found = dict(changes or {}), tables_of(contents)
    fitted: dict[str, Fitted] = {}
    while True:
        try:
            return read_with(contents, found, changes, fitted)
        except JobError as error:
            filed = as_filed(contents) if changes else None
            more = dict(fit(error.faults, filed, changes, fitted)) if filed and len(fitted) < MOST_FITTED else {}
            if not more:
                raise JobError([told(fault, found.found, contents.handed_over) for fault in error.faults]) from None
            fitted = {**fitted, **more}


@lru_cache(maxsize=2)
def tables_of(contents: Contents) -> Tables:
    """Return the tables of a job as text, read once for all that is tried on it."""
    return read_tables(contents, ROWS)


@lru_cache(maxsize=128)
def rows_of(
    table: Table, model: type[Strict], system: str
) -> tuple[tuple[Any, ...], tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Return the rows of a table, its faults in the words of a unit system, and the choices that were read in another spelling.

    A table that no change touches is the same object, and is validated once.
    """
    faults, folded = Faults(), dict[str, str]()
    token = FOLDED.set(folded)
    try:
        found = read_rows(table, model, faults)
    finally:
        FOLDED.reset(token)
    return tuple(found), tuple(faults), tuple(folded.items())


@lru_cache(maxsize=2)
def as_filed(contents: Contents) -> JobFile | None:
    """Return a job without changes; None where it has faults."""
    try:
        return read_job(contents)
    except JobError:
        return None


def read_with(contents: Contents, found: Tables, changes: Changes, fitted: Mapping[str, Fitted]) -> JobFile:
    """Validate a job with changes, and with what they leave without its place taken otherwise."""
    faults, used, places = Faults(), set[str](), dict[str, str]()
    faults += contents.faults
    check_changes(changes, faults)
    folded: dict[str, str] = {}
    token = FOLDED.set(folded)
    data = head(contents, faults)
    made = {**changes, **values(fitted)}
    try:
        with speaking("US" if data and data.get("units") == "US" else ""):
            if data is not None:
                apply_settings(data, made, used, faults)
            tables = replace(found, found=apply_tables(found.found, made, used, faults, places))
            file = read_found(contents, data, tables, changes, faults, folded, fitted)
            return replace(file, verbatim=verbatim(contents, found))
    except JobError as error:
        raise JobError([with_key(fault, places) for fault in error.faults]) from None
    finally:
        FOLDED.reset(token)


def with_key(fault: str, places: Mapping[str, str]) -> str:
    """Return a fault with the change that it is of."""
    keys = [key for place, key in places.items() if fault.startswith((f"{place}:", f"{place},"))]
    return f"{fault} ({option(keys[0])})" if keys else fault


def verbatim(contents: Contents, tables: Tables) -> dict[str, bytes]:
    """Return the inputs of a job as they are filed."""
    filed = {"job.toml": contents.files.get("job.toml", b"")}
    return filed | {f"{name}.csv": table.filed(ROWS[name]) for name, table in tables.found.items()}


def head(contents: Contents, faults: Faults) -> dict[str, Any] | None:
    """Return the data of job.toml; None where it cannot be read."""
    text = text_in(contents, "job.toml", faults)
    try:
        return None if text is None else pickle.loads(pickled(text))
    except InputError as error:
        faults += [f"job.toml: {line}" for line in str(error).splitlines()]
        return None


@lru_cache(maxsize=2)
def pickled(text: str) -> bytes:
    """Return the data of a TOML text such that each reader gets its own."""
    return pickle.dumps(toml_of(text))


def once(
    of: tuple[object, ...], faults: Faults, limits: Limits, look: Callable[[Faults, Limits], Marked | None]
) -> Marked | None:
    """Look at inputs once for all that is tried on a job: the same inputs give the same faults, doubts and reading of limits."""
    if of not in SEEN:
        own, read = Faults(faults.confirmed), Limits(limits)
        SEEN[of] = look(own, read), own, read.used
        if len(SEEN) > MOST_SEEN:
            SEEN.popitem(last=False)
    SEEN.move_to_end(of)
    found, said, used = SEEN[of]
    faults += said
    faults.asked |= said.asked
    limits.used |= used
    return found


#: What was found in inputs that were looked at last.
SEEN: OrderedDict[tuple[object, ...], tuple[Marked | None, Faults, set[str]]] = OrderedDict()
MOST_SEEN = 128


def read_found(
    contents: Contents, data: dict[str, Any] | None, tables: Tables, changes: Changes, faults: Faults,
    folded: dict[str, str], fitted: Mapping[str, Fitted],
) -> JobFile:  # fmt: skip
    """Validate what a job folder holds."""
    settings = None if data is None else validated(JobSettings, data, "job.toml", faults)
    faults += tables.faults
    rows: dict[str, list[Any]] = {name: [] for name in ROWS}
    there = {name: model for name, model in ROWS.items() if name in tables.found}
    for name, model in there.items():
        found, said, spelled = rows_of(tables.found[name], model, units.SPOKEN.get())
        rows[name] = [*found]
        faults += said
        folded.update(spelled)
    limits = read_limits(settings, faults) if settings else Limits()
    ready: list[str] = []
    lacking: dict[str, str] = {}
    marked = Marked()
    if settings and not faults:
        faults.confirmed = settings.confirmed
        ready, lacking = asked(settings, rows, {key: one.said for key, one in fitted.items() if one.how == "subject"})
        own = context(patch.Inputs, settings, rows, limits)
        typed = typed_of(data or {}, tables)
        if "patch" in ready:
            known = known_patches(contents, changes)

            def surveyed(faults: Faults, limits: Limits) -> Marked:
                given = context(patch.Inputs, settings, rows, limits)
                patch.check(given, faults)
                return survey(given, faults, known)

            marked = once(("patch", typed(patch.Inputs), *map(Same, known)), faults, limits, surveyed) or marked
        if not faults:
            check_plan(own.work, [one.patch for one in marked.patches] if "patch" in ready else None, faults)
        for key in ready if not faults else ():  # the other tables are checked against the patches
            if key != "patch":

                def look(faults: Faults, limits: Limits, key: str = key) -> None:
                    given = context(SUBJECTS[key].Inputs, settings, rows, limits)
                    SUBJECTS[key].check(given, marked, faults)
                    if key == "steel" and marked.patches:
                        check_bars(given, marked, faults)

                once((key, typed(SUBJECTS[key].Inputs), Same(marked)), faults, limits, look)
        if not faults:
            contradictions.check(settings, rows, limits, marked, faults)
            comments.check(settings, rows["comments"], faults)
            bars = settings.reinforcement.readings if settings.reinforcement else 2
            over = 1 + float(limits.get("bar_oversize").value.m_as(""))  # type: ignore[union-attr]  # read here, not rested on
            record_rows.check(settings, rows, marked, faults, bars, over)
            stay = [one.value for one in fitted.values() if one.how == "stays"]
            faults[:] = [fault for fault in faults if fault not in stay]
        if not faults:
            faults.require_doubts()
    filed = verbatim(contents, tables)
    if not faults:  # what no field holds is printed as well: comments
        faults += unprinted(filed)
    if faults or settings is None:
        raise JobError([clipped(fault, 2000) for fault in faults])
    unread = [*contents.unread, *tables.unread, *unused(settings, there)]
    understood = grouped({one.file: one.understood for one in tables.found.values()})
    understood += [f"“{clipped(found)}” read as “{choice}”" for found, choice in folded.items()]
    return JobFile(
        contents.folder, settings, rows, limits, filed, dict(changes), unread, contents, faults.asked, marked, understood,
        tuple(ready), lacking, dict(fitted), data or {}, dict(tables.found),
    )  # fmt: skip


@dataclass(frozen=True)
class Same:
    """An object that is compared by being the same one, and kept for it."""

    it: object

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.it is other.it


#: Sections and tables that every look at inputs may read beside its own.
COMMON = ("units", "confirmed", "deck", "limits", "bridge", "placements")


def typed_of(data: Mapping[str, Any], tables: Tables) -> Callable[[type], tuple[object, ...]]:
    """Return what gives the sections and tables of inputs as they were typed."""

    def typed(inputs: type) -> tuple[object, ...]:
        names = [*COMMON, *(one.name for one in fields(inputs))]
        return units.SPOKEN.get(), *((name, tables.found.get(name), repr(data.get(name))) for name in names)

    return typed


def known_patches(contents: Contents, changes: Changes) -> Sequence[Patch]:
    """Return the patches of a job as filed where a change may move them: those in the same place keep their names."""
    surveyed = {"limits", "deck", *(one.name for one in fields(patch.Inputs))} - {"depths"}
    filed = as_filed(contents) if surveyed & {key.split(".")[0] for key in changes} else None
    return filed.marked.patches if filed else ()


def asked(
    settings: JobSettings, rows: Mapping[str, list[Any]], without: Mapping[str, str] = MappingProxyType({})
) -> tuple[list[str], dict[str, str]]:
    """Return the subjects that can be worked out, in the order of the work; and what those lack that cannot, though they are asked for.

    `without` names those that are not to be worked out, and why.
    """
    ready: list[str] = []
    lacking: dict[str, str] = {}
    for key, module in SUBJECTS.items():
        given = Given(settings, rows, tuple(ready), WORDS)
        if not any(map(given.has, module.NEEDS.asked_by)):
            continue
        missing = module.NEEDS.missing(given)
        missing += [" or ".join(map(given.words, group)) for group in module.NEEDS.wants if {*group} <= {*without}]
        if key in without:
            lacking[key] = without[key]
        elif missing:
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
