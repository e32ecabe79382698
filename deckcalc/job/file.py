"""A job folder, read and validated: ``job.toml`` and the CSV tables of what was measured.

Everything is read before anything is computed. An error names file, row and field, what was found and what was
wanted; all errors come at once.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, Field, model_validator

from deckcalc.base.choices import FOLDED
from deckcalc.base.context import Context, Inputs, Limits
from deckcalc.base.fields import (
    Bridge,
    Decision,
    Deck,
    Faults,
    JobError,
    LimitChoice,
    Package,
    People,
    Revision,
    Strict,
)
from deckcalc.base.needs import Given
from deckcalc.base.replacing import holding
from deckcalc.base.work import PlacementRow, WorkPlan, check_plan
from deckcalc.chloride import inputs as chloride
from deckcalc.chloride.inputs import Chloride
from deckcalc.closure import inputs as closure_inputs
from deckcalc.core import tables, units
from deckcalc.core.check import Limit
from deckcalc.core.sources import Cite
from deckcalc.core.text import printable_faults
from deckcalc.core.units import InputError, System, clipped
from deckcalc.curing import inputs as curing
from deckcalc.curing.inputs import Curing
from deckcalc.formwork import inputs as formwork
from deckcalc.formwork.inputs import Formwork
from deckcalc.job import contradictions
from deckcalc.job.bounded import LONGEST_CELL, text_of, toml_of
from deckcalc.job.folder import RULE, Contents, read_contents
from deckcalc.job.read_tables import Tables, read_tables, told
from deckcalc.job.rows import read_rows, validated
from deckcalc.job.table import grouped
from deckcalc.mix import inputs as mix
from deckcalc.mix.inputs import Mix
from deckcalc.patch import inputs as patch
from deckcalc.patch.design import Marked, survey
from deckcalc.safety import inputs as safety
from deckcalc.safety.inputs import Safety
from deckcalc.steel import inputs as steel
from deckcalc.steel.design import check_bars
from deckcalc.traffic import inputs as traffic
from deckcalc.traffic.inputs import Traffic

INPUTS = (patch, steel, chloride, mix, formwork, curing, traffic, closure_inputs, safety)
#: The inputs of every subject by its key, in the order of the work.
SUBJECTS = dict(
    zip(
        ("patch", "steel", "chloride", "mix", "formwork", "curing", "traffic", "closure", "safety"), INPUTS, strict=True
    )
)
#: What people call each subject.
WORDS = {key: module.NEEDS.about for key, module in SUBJECTS.items()}
#: All tables by name; none is in every job.
ROWS: dict[str, type[Strict]] = {
    "placements": PlacementRow, **{name: model for module in INPUTS for name, model in module.ROWS.items()},
}  # fmt: skip


#: Sections whose tables are in print in two unit systems.
PRINTED_TWICE = ("mix", "formwork", "traffic")
#: A limit further from the built-in one than by this factor is a slip of the pen.
FAR = 20


class JobSettings(Strict):
    """The file job.toml."""

    units: System = Field(description="unit system in which the package is printed")
    confirmed: list[str] = Field(
        default_factory=list, description="fields that were asked about and are so, such as aggregates.sand.moisture"
    )
    decisions: list[Decision] = Field(default_factory=list, description="what was decided on open items")
    package: Package
    revisions: list[Revision] = Field(default_factory=list)
    people: People
    bridge: Bridge
    deck: Deck = Field(default_factory=lambda: Deck.model_validate({}))
    plan: patch.Plan | None = None
    survey: patch.Survey = Field(default_factory=lambda: patch.Survey.model_validate({}))
    marking: patch.Marking = Field(default_factory=lambda: patch.Marking.model_validate({}))
    removal: patch.Removal | None = None
    haulage: patch.Haulage | None = None
    sensitivity: patch.Sensitivity | None = None
    mix: Mix | None = None
    chloride: Chloride | None = None
    reinforcement: steel.Reinforcement | None = None
    deck_strip: steel.DeckStrip | None = None
    formwork: Formwork | None = None
    curing: Curing | None = None
    traffic: Traffic | None = None
    closure: closure_inputs.Closure | None = None
    safety: Safety | None = None
    limits: dict[str, LimitChoice] = Field(
        default_factory=dict,
        description="limits in place of built-in ones; “deckcalc list limits” names all of them with their sources",
    )

    @model_validator(mode="before")
    @classmethod
    def tables_of_the_system(cls, data: Any) -> Any:
        """Take tables in print in two unit systems in that of the job, where a section names none."""
        if isinstance(data, dict) and isinstance(data.get("units"), str):
            named = {name: one for name in PRINTED_TWICE if isinstance(one := data.get(name), dict)}
            data = {**data, **{name: {"tables": data["units"], **one} for name, one in named.items()}}
        return data

    @model_validator(mode="after")
    def issued(self) -> JobSettings:
        """Ask for a date: of the first issue, or of every revision."""
        if not self.revisions and self.package.date is None:
            raise ValueError("package.date: missing, wanted the date of the first issue; or a list of revisions")
        return self

    @property
    def revision(self) -> Revision:
        """The present revision; the first issue, where the job lists none."""
        if self.revisions:
            return self.revisions[-1]
        assert self.package.date  # asked for where there is no list
        return Revision(revision="0", date=self.package.date, by=self.people.originator, note="first issue")


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
    try:
        return read_found(contents, found, changes, faults, folded)
    except JobError as error:
        raise JobError([told(fault, found.found, contents.handed_over) for fault in error.faults]) from None
    finally:
        FOLDED.reset(token)


def read_found(
    contents: Contents, tables: Tables, changes: dict[str, str], faults: Faults, folded: Mapping[str, str]
) -> JobFile:
    """Validate what a job folder holds."""
    used: set[str] = set()
    settings = None
    if (text := text_in(contents, "job.toml", faults)) is not None:
        try:
            data = toml_of(text)
        except InputError as error:
            faults += [f"job.toml: {line}" for line in str(error).splitlines()]
        else:
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


def check_changes(changes: Mapping[str, str], faults: list[str]) -> None:
    """Refuse changes that are no text that a sheet could print."""
    for key in [*changes]:
        if not re.fullmatch(r"[A-Za-z0-9_./-]{1,200}", key):
            faults.append(
                f"--set {clipped(key)}: wanted a key of letters, digits and points, such as deck.slab_thickness"
            )
        elif len(changes[key]) > LONGEST_CELL or not changes[key].isprintable():
            faults.append(
                f"--set {key}: found “{clipped(changes[key])}”, wanted up to {LONGEST_CELL} printable characters"
            )


def why_unknown(key: str, rows: Mapping[str, list[Any]]) -> str:
    """Return what is wrong with the key of a change."""
    name, *rest = key.split(".")
    if name not in ROWS or len(rest) != 2 or not rows[name]:
        lacks = f"{name}.csv gave no rows; " if name in ROWS and not rows[name] else ""
        return f"{lacks}write section.key, or table.id.column such as depths.D3.depth"
    fields = list(ROWS[name].model_fields)
    if rest[1] not in fields:
        return f"the columns of {name}.csv are {', '.join(fields)}"
    if any(getattr(row, fields[0]) == rest[0] for row in rows[name]):
        return f"{name}.csv has no column {rest[1].replace('_', ' ')} of that {fields[0]}"
    return f"{name}.csv has no {fields[0].replace('_', ' ')} “{rest[0]}”"


def apply_settings(data: dict[str, Any], changes: Mapping[str, str], used: set[str], faults: list[str]) -> None:
    """Change inputs of job.toml."""
    for key, value in changes.items():
        *path, last = key.split(".")
        if path and path[0] in ROWS:
            continue
        place: Any = data
        if path[:1] == ["limits"] and set_limit(data, key, changes, faults):
            used.add(key)
            continue
        if path == ["mix", "patches"] and isinstance(data.get("mix"), dict):
            data["mix"].setdefault("patches", {})
        if key == "confirmed":
            data[key] = [part.strip() for part in value.split(";")]
            used.add(key)
            continue
        section: Any = JobSettings
        for number, part in enumerate([*path, last], 1):
            known = section is not None and part in section.model_fields
            inner = place.get(part) if isinstance(place, dict) else None
            if isinstance(inner, list):
                faults.append(f"--set {key}: {'.'.join([*path, last][:number])} is a list; change it in job.toml")
                used.add(key)
                break
            if number <= len(path):
                place, section = inner, section_of(section.model_fields[part].annotation) if known else None
        else:  # a field that the file leaves to its default may be set as well
            if isinstance(inner, dict):
                faults.append(f"--set {key}: a section; name one of its fields, such as {key}.{next(iter(inner), 'x')}")
                used.add(key)
            elif isinstance(place, dict) and (
                last in place or known or path[:2] in (["mix", "patches"], ["mix", "concretes"])
            ):
                place[last] = value
                used.add(key)


def set_limit(data: dict[str, Any], key: str, changes: Mapping[str, str], faults: list[str]) -> bool:
    """Change a limit: its value by ``limits.NAME`` or ``limits.NAME.value``, its source by ``limits.NAME.source``."""
    _, name, *rest = key.split(".")
    field = rest[0] if rest else "value"
    limits = data.setdefault("limits", {})
    if not isinstance(limits, dict) or len(rest) > 1 or field not in LimitChoice.model_fields:
        return False
    if not rest and f"{key}.value" in changes:
        faults.append(f"--set {key}: set twice, as {key} and as {key}.value")
    stated = limits[name] if isinstance(limits.get(name), dict) else {}
    of_value = {"source": changes.get(f"limits.{name}.source", "changed for review")} if field == "value" else {}
    limits[name] = {**stated, field: changes[key], **of_value}
    return True


def section_of(annotation: Any) -> Any:
    """Return the section that an annotation such as ``Concrete | None`` names, or None."""
    classes = [one for one in (annotation, *get_args(annotation)) if isinstance(one, type)]
    return next((one for one in classes if issubclass(one, BaseModel)), None)


def read_limits(settings: JobSettings, faults: list[str]) -> Limits:
    """Return all limits, the job's own in place of built-in ones."""
    limits = Limits()
    rows = {row["key"]: row for row in tables.load("limits").rows}
    for key in settings.limits:
        if key not in rows:
            faults.append(f"job.toml: limits.{key}: unknown; known are {', '.join(rows)}")
    for key, row in rows.items():
        kind = units.kind_of(getattr(units, row["kind"]))
        written = row[settings.units]
        if key in settings.limits:
            choice = settings.limits[key]
            try:
                value = units.read(choice.value, kind)
                if value.magnitude < 0:
                    raise InputError(f"found “{choice.value}”, wanted {kind.a_name} that is not negative")
                require_near(choice.value, value, written, kind)
                limits[key] = Limit(key, row["meaning"], value, kind, choice.source, "engineer")
            except InputError as error:
                faults.append(f"job.toml: limits.{key}.value: {error}")
        elif written:
            cite = Cite(row["source"], row["where"], row["provenance"])  # type: ignore[arg-type]
            limits[key] = Limit(key, row["meaning"], units.read(written, kind), kind, cite)
    return limits


def require_near(found: Any, value: Any, written: str, kind: units.Kind) -> None:
    """Refuse a limit that is so far from the built-in one that its unit or its decimal point must be wrong."""
    if not written or kind.is_temperature or not value.magnitude:
        return
    usual = units.read(written, kind)
    times = float(value.m_as(kind.base)) / float(usual.m_as(kind.base)) if usual.magnitude else 1.0
    if not 1 / FAR <= times <= FAR:
        raise InputError(
            f"found “{found}”, which is {times:.3g} times the usual {written}; wanted a limit nearer to it"
        )
