"""What of a job no longer fits its changed inputs, and is left out for the review: each with what is said of it.

Only what the changes did not touch is left out, and only of a job that is without fault as filed. A fault of what was
changed stays a fault.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from deckcalc.job.changes import Changes
from deckcalc.job.settings import SUBJECTS

if TYPE_CHECKING:
    from deckcalc.job.file import JobFile


class Fitted(NamedTuple):
    """An input as it is taken for a review, None where it is left out; and what is said of it.

    Where it `stays`, value is its fault, which is then only said; where it is a `subject`, that is not worked out.
    """

    value: str | None
    said: str
    how: Literal["changed", "stays", "subject"] = "changed"


#: Gives key and value for a fault, with the inputs as filed and as changed so far.
Rule = Callable[[re.Match[str], "JobFile", Changes], tuple[str, Fitted]]


def row(match: re.Match[str], filed: JobFile, now: Changes) -> tuple[str, Fitted]:
    """Leave out a row."""
    return f"{match['table']}.{match['id']}", Fitted(None, f"left out: {match['why']}")


def field(match: re.Match[str], filed: JobFile, now: Changes) -> tuple[str, Fitted]:
    """Leave out a field, a section or an entry of job.toml."""
    key = re.sub(r"\.(\d+)\.", lambda one: f".{int(one[1]) + 1}.", match["key"])
    return key, Fitted(None, f"left out: {match['why']}")


def placing(match: re.Match[str], filed: JobFile, now: Changes) -> tuple[str, Fitted]:
    """Leave a patch out of its placing; a placing without patches altogether."""
    name, key = match["id"], f"placements.{match['id']}.patches"
    rows = [one for one in filed.rows["placements"] if one.placement == name]
    text = now.get(key) or (rows[0].patches if rows else "")
    left = [one.strip() for one in text.split(";") if one.strip() not in ("", match["patch"])]
    why = f"left out: the survey gives no patch “{match['patch']}”"
    return (key, Fitted("; ".join(left), why)) if left else (f"placements.{name}", Fitted(None, why))


def through(match: re.Match[str], filed: JobFile, now: Changes) -> tuple[str, Fitted]:
    """Take a reading that is deeper than the slab as one through the whole slab, which is the safe side."""
    said = f"taken as through the whole slab: {match['why']}"
    return f"{match['table']}.{match['id']}.depth", Fitted(match["slab"], said)


def not_asked(match: re.Match[str], filed: JobFile, now: Changes) -> tuple[str, Fitted]:
    """Take back what is confirmed and no longer asked about."""
    return confirmed(
        filed, now, lambda names: [one for one in names if one != match["field"]], f"left out: {match['why']}"
    )


def doubtful(match: re.Match[str], filed: JobFile, now: Changes) -> tuple[str, Fitted]:
    """Take a field as it is that is asked about because of the changes."""
    return confirmed(filed, now, lambda names: [*names, match["field"]], f"to be looked at: {match['why']}")


def contradicting(match: re.Match[str], filed: JobFile, now: Changes) -> tuple[str, Fitted]:
    """Take two inputs as they are that contradict one another because of a third one."""
    return f"{match['one']} and {match['other']}", Fitted(match[0], f"to be looked at: {match['why']}", "stays")


def confirmed(
    filed: JobFile, now: Changes, made: Callable[[Sequence[str]], list[str]], said: str
) -> tuple[str, Fitted]:
    """Return another list of what is confirmed."""
    text = now.get("confirmed")
    names = filed.settings.confirmed if text is None else [one.strip() for one in text.split(";") if one.strip()]
    return "confirmed", Fitted("; ".join(made(names)), said)


#: Faults by what they say, and what is done about each.
RULES: tuple[tuple[str, Rule], ...] = (
    (r"placements\.csv, row .*?, placement (?P<id>\S+), column patches: the survey gives no patch “(?P<patch>.+?)”", placing),
    (r"(?P<table>bars)\.csv, bar (?P<id>\S+): (?P<why>the survey gives no patch .+)", row),
    (r"(?P<table>bars)\.csv, bar (?P<id>\S+): (?P<why>.+ lies in .+, not in .+); correct patch or place", row),
    (r"(?P<table>pits|cut_lengths)\.csv, bar (?P<id>\S+): (?P<why>there is no bar .+)", row),
    (r"(?P<table>depths)\.csv, reading (?P<id>\S+): (?P<why>.+ lies in no patch);.*", row),
    (r"(?P<table>depths|patches)\.csv, (?:reading|patch) (?P<id>\S+): (?P<why>a depth of .+ is more than the slab (?P<slab>.+))", through),
    (r"(?P<table>chlorides)\.csv, slice (?P<id>\S+?)(?:, column core)?: (?P<why>there is no core .+)", row),
    (r"job\.toml: (?P<key>(?:marking\.longer|mix\.patches|formwork\.holes)\.[^.:]+): (?P<why>the survey gives no patch .+)", field),
    (r"job\.toml: (?P<key>marking\.longer\.[^.:]+): (?P<why>.+)", field),
    (r"job\.toml: (?P<key>closure\.alternatives\.0\.(?:closures|hours)): (?P<why>.+); the first way .*", field),
    (r"job\.toml: confirmed: (?P<why>nothing is asked about “(?P<field>.+?)”);.*", not_asked),
    (r"(?P<why>.+); correct it, or if it is so, add “(?P<field>.+?)” to the list confirmed of job\.toml", doubtful),
    (r"(?:job\.toml: )?(?P<one>.+?) and (?:job\.toml: )?(?P<other>.+?): (?P<why>.+); one of the two is wrong", contradicting),
)  # fmt: skip


def fit(
    faults: Sequence[str], filed: JobFile, changes: Changes, fitted: Mapping[str, Fitted]
) -> Iterator[tuple[str, Fitted]]:
    """Give what is left out, or taken otherwise, so that a job with changes has a result; nothing where a fault is of a change."""
    now = {**changes, **values(fitted)}
    for fault in faults:
        for pattern, rule in RULES:
            if match := re.fullmatch(pattern, fault):
                key, made = rule(match, filed, now)
                of = (
                    [match["field"], *(["confirmed"] if rule is not_asked else [])]
                    if key == "confirmed"
                    else [match["one"], match["other"]]
                    if made.how == "stays"
                    else [key]
                )
                if not any(touched(path_of(one), changes) for one in of) and now.get(key, "") != made.value:
                    before = fitted.get(key)
                    if before and before.said not in made.said:
                        made = made._replace(said=f"{before.said}; {made.said}")
                    now[key] = made.value
                    yield key, made
                break
        else:
            key = subject_of(fault, changes)
            if key and key not in now and not (key == "mix" and any(map(OF_ALL.search, faults))):
                now[key] = None
                yield key, Fitted(None, fault, "subject")


#: A concrete whose stone nobody knows: patches and bars are worked out with it too.
OF_ALL = re.compile(r"mix\.concretes\..* aggregate of aggregates\.csv")


def subject_of(fault: str, changes: Changes) -> str:
    """Return the subject of a fault, which cannot be worked out for it; empty where it is of a change, or all rests on it."""
    match = re.match(r"job\.toml: (\w+)|(\w+)\.csv", fault)
    root = (match[1] or match[2]) if match else ""
    if any(key.split(".")[0] == root for key in changes):
        return ""
    return next((key for key, room in SUBJECTS.items() if root in {*room.SECTIONS, *room.ROWS} and key != "patch"), "")


def values(fitted: Mapping[str, Fitted]) -> dict[str, str | None]:
    """Return what is taken otherwise than it is filed, as changes."""
    return {key: one.value for key, one in fitted.items() if one.how == "changed"}


def path_of(field: str) -> str:
    """Return the key of a field that is named in words.

    Examples
    --------
    >>> path_of("placements.csv, placement W1, column concrete temperature"), path_of("rates.csv, column date")
    ('placements.W1.concrete_temperature', 'rates')
    """
    if match := re.fullmatch(r"(\w+)\.csv, \w+ (\S+), column (.+)", field):
        return f"{match[1]}.{match[2]}.{match[3].replace(' ', '_')}"
    return field.partition(".csv")[0]


def touched(key: str, changes: Changes) -> bool:
    """Whether a change is of this input, of a part of it, or of what it is a part of; a new row is known by its first column."""
    for one, value in changes.items():
        if ".+" in one:
            table, _, given = one.partition(".+")[0], "", value or ""
            first = given.partition(",")[0].partition("=")[2].strip().strip('"')
            one = f"{table}.{first}" if first else table
        if key == one or key.startswith(f"{one}.") or one.startswith(f"{key}."):
            return True
    return False
