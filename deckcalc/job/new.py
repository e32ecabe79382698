"""A job folder that is begun: only the sections and tables of what the job is about, with examples to be replaced."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from deckcalc.base.fields import Faults, JobError, Strict
from deckcalc.base.replacing import holding
from deckcalc.core.units import SYSTEMS, InputError, System
from deckcalc.job import declared
from deckcalc.job.bounded import toml_of
from deckcalc.job.file import read_folder, text_in
from deckcalc.job.folder import Contents
from deckcalc.job.reference import NAME, csv_text, example_rows, fits, reference
from deckcalc.job.rows import validated
from deckcalc.job.settings import ROWS, SUBJECTS, WORDS, JobSettings

MARK = "EXAMPLE VALUES: replace every value in this folder, then this line"
HEAD = f"""\
# Every value is an example: replace it. Any unit may be used. {NAME} explains every other field and table.
"""
TAKEN = "# Taken from {number}: look at every value. {name} explains every other field and table.\n"
#: What every new job says beside what it has to.
ALWAYS: dict[str, Mapping[str, Any] | None] = {
    "package.date": None, "package.scenario": {"SI": MARK, "US": MARK},
}  # fmt: skip
#: Who signs, what was decided and what was confirmed: never taken over, as nobody did so for the new job.
OF_ONE_JOB = (
    "confirmed", "decisions", "comments", "people.checker", "people.engineer", "people.licence", "people.engineer_telephone",
)  # fmt: skip


@dataclass
class Begun:
    """What a new job folder is to hold.

    Attributes
    ----------
    system : {"SI", "US"}
    files : dict of bytes
        By name.
    tables : dict of list
        Example rows of each table, its head first.
    said : list of str
        What a person has to know of it.
    """

    system: System
    files: dict[str, bytes]
    tables: dict[str, list[list[str]]]
    said: list[str] = field(default_factory=list)


def begin(system: System | None, about: Collection[str], neighbour: str | Path | None = None) -> Begun:
    """Return what a new job folder holds.

    Parameters
    ----------
    system : {"SI", "US"}, optional
        Left out: that of the neighbour, or SI.
    about : collection of str
        Subjects, as `WORDS` has them, those that they need besides; empty: those of the neighbour, or patches.
    neighbour : path, optional
        A job whose bridge, deck, limits, people and choices are taken over, but nothing that was measured or decided there.

    Raises
    ------
    JobError
        If the neighbour cannot be read.
    """
    keys, said = with_needed(about or (["patches"] if neighbour is None else []))
    if neighbour is not None:
        return taken_over(system, keys, neighbour, said)
    system = system or "SI"
    data = least(JobSettings, {**declared.demo(system), "units": system}, system, wanted(keys, system), sections(keys))
    return Begun(system, {"job.toml": (HEAD + toml_text(data)).encode()}, tables_of(keys, system), said)


def tables_of(keys: Sequence[str], system: System, left: Collection[str] = ()) -> dict[str, list[list[str]]]:
    """Return head and rows of the tables with which a job about some subjects begins."""
    rows = {name: one for key in keys for name, one in SUBJECTS[key].START.rows.items() if name not in left}
    return {name: example_rows(name, ROWS[name], system, one, wanted(keys, system)) for name, one in rows.items()}


def with_needed(about: Collection[str]) -> tuple[list[str], list[str]]:
    """Return the subjects of a job in the order of the work, with those that they need; and what is to be said of that.

    Raises
    ------
    InputError
        If something is no subject.
    """
    for word in about:
        if word not in WORDS.values():
            raise InputError(f"about: found “{word}”, wanted {', '.join(WORDS.values())}, or several of them")
    keys = [key for key, word in WORDS.items() if word in about]
    said = []
    for key in reversed(SUBJECTS):
        for group in SUBJECTS[key].NEEDS.wants if key in keys else ():
            if group[0] in SUBJECTS and len(group) == 1 and group[0] not in keys:
                keys.append(group[0])
                said.append(f"Begun as well: {WORDS[group[0]]}, which {WORDS[key]} cannot do without")
    return [key for key in SUBJECTS if key in keys], said


def sections(keys: Collection[str]) -> set[str]:
    """Return the sections with which a job about some subjects begins: what asks for each, and what it wants."""
    fields = JobSettings.model_fields
    needs = [SUBJECTS[key].NEEDS for key in keys]
    wants = {group[0] for one in needs for group in one.wants if len(group) == 1}
    asking = {one.asked_by[0] for one in needs if len(one.asked_by) == 1}
    return {name.partition(".")[0] for name in wants | asking if name.partition(".")[0] in fields}


def wanted(keys: Sequence[str], system: System) -> dict[str, Any]:
    """Return the fields and columns that may be left out by themselves and that a job about some subjects wants, with examples."""
    found = dict(ALWAYS)
    for key in keys:
        for group in SUBJECTS[key].NEEDS.wants:
            if not any(name in keys for name in group):
                found |= dict.fromkeys([one for one in group if "." in one][:1])
        found |= SUBJECTS[key].START.fields
    return {place: own and own[system] for place, own in found.items() if own is None or system in own}


def least(
    model: type[Strict],
    data: Mapping[str, Any],
    system: System,
    fields: Mapping[str, Any],
    chosen: Collection[str] = (),
    path: str = "",
) -> dict[str, Any]:
    """Return the fields that a section has to have, and those that are wanted besides, with examples.

    Parameters
    ----------
    data : dict
        Examples.
    fields : dict
        Fields that are wanted besides, each with an example or None.
    chosen : collection of str
        Sections that are wanted, in job.toml itself.
    path : str
        Place of the section, with a point behind it.
    """
    made: dict[str, Any] = {}
    for name, info in model.model_fields.items():
        place = f"{path}{name}"
        asked = place in fields or (path and any(one.startswith(f"{place}.") for one in fields))
        if not (info.is_required() or asked or name in chosen):
            continue
        models, given, form = declared.sections(info), data.get(name), declared.shape(info)
        if (own := fields.get(place)) is not None:
            made[name] = own
        elif declared.holds_value(info):
            made[name] = declared.example(info, system, given)
        elif form == "list":
            made[name] = [least(models[0], first(given), system, fields, path=f"{place}.")]
        elif form == "dict":
            entries = {key: one for key, one in (given or {}).items() if fits(models[0], one)} or {"P1": {}}
            key, entry = next(iter(entries.items()))
            made[name] = {key: least(models[0], entry, system, fields, path=f"{place}.")}
        else:
            made[name] = least(models[0], given or {}, system, fields, path=f"{place}.")
    return made


def first(given: Any) -> dict[str, Any]:
    """Return the first entry of a list of sections; nothing where there is none."""
    return given[0] if given else {}


# --- a neighbour job


def taken_over(system: System | None, keys: Sequence[str], neighbour: str | Path, said: list[str]) -> Begun:
    """Return what a new job takes over from another, and say what was left there."""
    contents, data = read_neighbour(neighbour)
    system, number, of_subjects = system or data["units"], data["package"]["number"], SUBJECTS.values()
    begun = [key for key, module in SUBJECTS.items() if set(module.SECTIONS) & set(data)]
    keys = keys or begun
    not_asked = {name for key in SUBJECTS if key not in keys for name in (*SUBJECTS[key].SECTIONS, *SUBJECTS[key].ROWS)}
    own = [*OF_ONE_JOB, *(place for module in of_subjects for place in module.START.own), *not_asked]
    left = [place for place in own if take_out(data, place)]
    if revisions := data.get("revisions", [])[1:]:
        left.append(f"revisions after {data['revisions'][0]['revision']}")
        del data["revisions"][-len(revisions) :]
    data["package"] |= {
        "scenario": f"STARTED FROM {number}: give this job its own number, look at every value, then take this line out"
    }
    missing = [key for key in keys if key not in begun]
    data = {
        **least(JobSettings, declared.demo(system), system, wanted(missing, system), sections(missing)),
        **data,
        "units": system,
    }
    there = [name for name in ROWS if f"{name}.csv" in contents.files]
    handed = [f"{name}.csv" for name in there if name not in {*own, "placements"}]
    left += [f"{name}.csv" for name in there if f"{name}.csv" not in handed]
    files = {"job.toml": (TAKEN.format(number=number, name=NAME) + toml_text(data)).encode()}
    files |= {name: contents.files[name] for name in handed}
    said += [
        f"Taken from {neighbour}: {', '.join([*(name for name in data if name != 'units'), *handed])}",
        f"Left there, since it was measured, decided or signed for that job, or is not asked for: {', '.join(left) or 'nothing'}",
    ]
    return Begun(system, files, tables_of(missing, system, [*own, *there]), said)


def read_neighbour(place: str | Path) -> tuple[Contents, dict[str, Any]]:
    """Return what the folder of a neighbour job holds, and the data of its job.toml.

    Raises
    ------
    JobError
        With all faults of its job.toml; those of its tables do not matter here.
    """
    contents, faults, data = read_folder(place), Faults(), dict[str, Any]()
    text = text_in(contents, "job.toml", faults)
    try:
        data = toml_of(text) if text is not None else {}
    except InputError as error:
        faults += [f"job.toml: {line}" for line in str(error).splitlines()]
    if not faults:
        validated(JobSettings, data, "job.toml", faults)
    if faults:
        raise JobError([f"{place}: {fault}" for fault in faults])
    return contents, data


def take_out(data: dict[str, Any], place: str) -> bool:
    """Take a field out of the data of a job, wherever its section is a table; return whether it was there."""
    *path, last = place.split(".")
    for part in path:
        data = data.get(part, {})
    return data.pop(last, None) not in (None, "")


# --- text


def toml_text(data: Mapping[str, Any]) -> str:
    """Return job.toml: what every job has, then its sections, the shortest first; each field with its meaning."""
    of_subjects = {name for module in SUBJECTS.values() for name in module.SECTIONS}
    always = [name for name in JobSettings.model_fields if name not in of_subjects]
    plain = [line_of(JobSettings, name, value) for name, value in data.items() if is_plain(JobSettings, name)]
    blocks = {
        name: list(section_lines(name, JobSettings.model_fields[name], value))
        for name, value in data.items()
        if not is_plain(JobSettings, name)
    }
    order = [name for name in always if name in blocks]
    order += sorted((name for name in blocks if name in of_subjects), key=lambda name: len(blocks[name]))
    return "\n".join([*plain, *(line for name in order for line in ("", *blocks[name]))]) + "\n"


def is_plain(model: type[Strict], name: str) -> bool:
    """Return whether a field is written in one line."""
    return declared.holds_value(model.model_fields[name])


def line_of(model: type[Strict], name: str, value: Any) -> str:
    """Return the line of a field: its name, its value, its meaning."""
    info = model.model_fields[name]
    known = declared.choices(info)[1:] and declared.choices(info)
    meaning = "; ".join(part for part in (info.description or "", declared.in_quotes(known) if known else "") if part)
    return f"{name} = {declared.toml(value)}  # {meaning}"


def section_lines(path: str, info: Any, value: Any) -> Iterator[str]:
    """Yield the lines of a section, or of all sections of a list or of names."""
    form, models = declared.shape(info), declared.sections(info)
    entries = (
        [(f"[[{path}]]", path, one) for one in value] if form == "list"
        else [(f"[{path}.{declared.key_of(name)}]", f"{path}.{declared.key_of(name)}", one) for name, one in value.items()]
        if form == "dict" else [(f"[{path}]", path, value)]
    )  # fmt: skip
    for head, place, entry in entries:
        model = next(one for one in models if fits(one, entry))
        yield head
        names = sorted(entry, key=lambda name: not is_plain(model, name))
        for name in names:
            if is_plain(model, name):
                yield line_of(model, name, entry[name])
            else:
                yield from section_lines(f"{place}.{name}", model.model_fields[name], entry[name])


# --- questions


def answers(say: Callable[[str], None]) -> tuple[System, list[str]]:
    """Ask for the unit system and for what the job is about; an empty answer takes what stands in brackets."""
    system = ask(say, "Units: SI or US? [SI]", SYSTEMS, ["SI"])[0]
    question = f"About: {', '.join(WORDS.values())}? One or several. [patches]"
    return "US" if system == "US" else "SI", ask(say, question, list(WORDS.values()), ["patches"])


def ask(say: Callable[[str], None], question: str, known: Sequence[str], default: list[str]) -> list[str]:
    """Ask until the answer is known."""
    by_letters = {word.casefold(): word for word in known}
    while True:
        say(question)
        words = [word for word in re.split(r"[,;\s]+", sys.stdin.readline()) if word]
        unknown = [word for word in words if word.casefold() not in by_letters]
        if not unknown:
            return [by_letters[word.casefold()] for word in words] or default
        say(f"found “{', '.join(unknown)}”, wanted {', '.join(known)}")


# --- files


def require_free(folder: Path) -> None:
    """Refuse a folder that is there already.

    Raises
    ------
    InputError
        With its name.
    """
    if os.path.lexists(folder):
        raise InputError(f"{folder} exists already; name a folder that does not")


def write(made: Begun, folder: Path, spreadsheet: bool = False) -> None:
    """Write a new job folder, whole or not at all.

    Raises
    ------
    InputError
        If the folder is there already, or spreadsheets cannot be written.
    """
    require_free(folder)
    with holding(Path(os.path.realpath(folder))) as holder:
        place = holder / "new"
        place.mkdir()
        for name, data in made.files.items():
            (place / name).write_bytes(data)
        (place / NAME).write_text(reference(made.system), encoding="utf-8")
        if spreadsheet:
            write_spreadsheet(made, place / "tables.xlsx")
        else:
            for name, rows in made.tables.items():
                (place / f"{name}.csv").write_text(csv_text(rows), encoding="utf-8")
        os.rename(place, folder)


def write_spreadsheet(made: Begun, path: Path) -> None:
    """Write the tables of a new job as one spreadsheet.

    Raises
    ------
    InputError
        If what writes it is not installed.
    """
    from deckcalc.job.spreadsheet import template

    template(list(made.tables), made.system, path, made.tables)
