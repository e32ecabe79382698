"""What depends on what in a job: the calculations and inputs behind a result, and what moves when an input moves."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from deckcalc.base.fields import JobError
from deckcalc.base.subject import Run, Subject
from deckcalc.core import units
from deckcalc.core.units import InputError, Kind, Quantity
from deckcalc.job.order import Job, compute
from deckcalc.job.register import Input, register
from deckcalc.job.trials import named, sections_of, stand

#: Results of no fewer digits than these are told apart by their value where they are handed on as a copy.
TELLING = 3
#: First steps, each 1 % of a value, that an input is moved by as well, so that what rounds up or has a threshold is seen to move.
FURTHER = 10


@dataclass(frozen=True)
class Result:
    """A result of a run: where it stands, and its value."""

    subject: Subject[Any]
    run: Run
    name: str
    value: Quantity

    @property
    def printed(self) -> str:
        """The name by which the review calls it."""
        return f"{self.subject.title}, {self.run.item}: {self.run.calculation.title.lower()}, {self.name}"

    @property
    def filed(self) -> str:
        """The name by which the manifest calls it."""
        return f"{self.subject.key} / {self.run.item} / {self.run.calculation.name} / {self.name}"


@dataclass(frozen=True)
class Link:
    """One step of the chain behind a result.

    Attributes
    ----------
    text : str
        What it is, with its value.
    origin : str
        Where it comes from: the sheet and item of a calculation, an input, or the design of a subject.
    key : str
        Of an input.
    design : str
        The subject whose design hands it on, where it is neither a result nor an input by itself.
    behind : list of Link
    """

    text: str
    origin: str
    key: str = ""
    design: str = ""
    behind: list[Link] = field(default_factory=list)

    def lines(self, depth: int = 0) -> Iterator[str]:
        """Give the chain as a tree, each step under what it leads to."""
        yield f"{'  ' * depth}{self.text}{'  <- ' if self.origin else ''}{self.origin}"
        for one in self.behind:
            yield from one.lines(depth + 1)

    def all(self) -> Iterator[Link]:
        """Give this and every step behind it."""
        yield self
        for one in self.behind:
            yield from one.all()

    @property
    def keys(self) -> set[str]:
        """Keys of the inputs that are named behind it."""
        return {one.key for one in self.all() if one.key}

    @property
    def designs(self) -> set[str]:
        """Subjects whose design takes part."""
        return {one.design for one in self.all() if one.design}

    def holds(self, key: str) -> bool:
        """Say whether an input is behind it: by name, or in a section or table from which one of the designs is made."""
        return key in self.keys or any(key.partition(".")[0] in sections_of(one) for one in self.designs)


def results_of(job: Job) -> list[Result]:
    """Return every result of a job, in filing order."""
    return [
        Result(subject, run, name, value)
        for subject in job.subjects for run in subject.runs for name, value in run.results().items()
    ]  # fmt: skip


class Chains:
    """The chains of a job, followed by the identity of values from a calculation to those that it was given.

    Where a value is neither a result nor an input itself, it is followed by its digits if one result or input of the same item
    has them; else it came through the design of its subject, which is said.
    """

    def __init__(self, job: Job) -> None:
        self.job = job
        self.inputs = register(job)
        self.results = results_of(job)
        self.checks = named(job.checks)
        self.subject_of = {name: subject for subject in job.subjects for name in named(subject.checks)}
        self.made = {id(one.value): one for one in self.results}
        self.held = {id(one.value): one for one in self.inputs.values() if one.kind}
        self._keys: dict[str, set[str]] = {}
        self.alike: dict[tuple[str, str], list[Result | Input]] = {}
        quantities: list[Result | Input] = [*self.results, *(one for one in self.inputs.values() if one.kind)]
        for one in quantities:
            for digits in digits_of(one.value):
                self.alike.setdefault(digits, []).append(one)

    def names(self) -> list[str]:
        """Return every name that a result or a check may be asked for by."""
        return [*self.checks, *(one.printed for one in self.results)]

    def find(self, words: str) -> str | Result:
        """Return the check or the result of a name, or the only one that holds all words of it.

        Raises
        ------
        InputError
            If there is none, with the nearest names; or if there are several.
        """
        by_name: dict[str, str | Result] = {one.filed: one for one in self.results}
        by_name |= {one.printed: one for one in self.results} | {name: name for name in self.checks}
        if words in by_name:
            return by_name[words]
        parts = words.casefold().split()
        found = [name for name in by_name if parts and all(part in name.casefold() for part in parts)]
        spoken = [name for name in found if " / " not in name] or found
        if len(spoken) == 1:
            return by_name[spoken[0]]
        said = spoken or difflib.get_close_matches(words, by_name, 5, 0.3)
        what = f"names {len(spoken)} results" if spoken else "names no result"
        raise InputError(
            "\n".join([f"“{units.clipped(words)}” {what}; wanted one, such as", *(f"  {one}" for one in said[:8])])
        )

    def why(self, words: str) -> Link:
        """Return the chain behind a result or a check."""
        found = self.find(words)
        if isinstance(found, Result):
            return self.of_result(found, set())
        check, subject = self.checks[found], self.subject_of[found]
        behind, kind = list[Link](), check.limit.kind
        for word, value in (("value", check.demand), ("limit", check.limit.value)):
            if value is not None:
                behind.append(
                    self.of_value(word, value, kind, subject, check.item, set(), check.limit.name * (word == "limit"))
                )
        if len(behind) < 2:  # of a check that is not covered
            behind.append(self.design(subject, "which of its values is held against which limit"))
        return Link(f"{found}: {check.words}", f"{subject.title}, {check.item}", behind=behind)

    def keys_of(self, name: str) -> set[str]:
        """Return the keys of the inputs that the chain behind a check names."""
        if name not in self._keys:
            self._keys[name] = self.why(name).keys
        return self._keys[name]

    def of_result(self, one: Result, above: set[int]) -> Link:
        """Return the chain behind a result of a run; what already stands further up is named alone."""
        kind = one.run.calculation.kinds[one.name]
        text = f"{one.name} = {units.show(one.value, kind, self.job.system)}"
        origin = f"{one.subject.title}, {one.run.item}: {one.run.calculation.title.lower()}"
        if id(one.run) in above:
            return Link(text, f"{origin} (see above)")
        above.add(id(one.run))
        behind = []
        for name, value in one.run.arguments.items():
            param = one.run.calculation.params[name]
            behind.append(self.of_value(name, value, param.kind, one.subject, one.run.item, above))
        return Link(text, origin, behind=behind)

    def of_value(
        self,
        name: str,
        value: Any,
        kind: Kind | None,
        subject: Subject[Any],
        item: str,
        above: set[int],
        limit: str = "",
    ) -> Link:
        """Return the chain behind a value that a calculation, or a check, was given."""
        found: Result | Input | None = (
            self.made.get(id(value)) or self.held.get(id(value)) or self.inputs.get(f"limits.{limit}")
        )
        copied = ""
        if found is None and kind is not None:
            found, copied = self.by_digits(value, item, of_check=not above), ", by its digits"
        if isinstance(found, Result):
            inside = self.of_result(found, above)
            return Link(f"{name}: {inside.text}", inside.origin + copied, behind=inside.behind)
        text = f"{name} = {shown(value, kind, self.job.system)}"
        if found is not None:
            return Link(text, f"input {found.key}{copied}", key=found.key)
        return Link(text, f"through the design of {subject.title}", design=subject.key)

    def by_digits(self, value: Any, item: str, of_check: bool) -> Result | Input | None:
        """Return the one result or input of the same item with the digits of a value; another item may have them by chance.

        Of several results a check is held to take the last, into which the former went.
        """
        digits = digits_of(value)
        if len(digits) != 1:
            return None
        alike = self.alike.get(digits[0], [])
        own = [one for one in alike if of_item(one, item)]
        if not own and of_check:
            own = [one for one in alike if isinstance(one, Result) and one.run.item.startswith(f"{item}, ")]
        made = [one for one in own if isinstance(one, Result)]
        return own[0] if len(own) == 1 else made[-1] if made and of_check else None

    def design(self, subject: Subject[Any], what: str) -> Link:
        """Return the step that the design of a subject takes."""
        return Link(what, f"through the design of {subject.title}", design=subject.key)


def of_item(one: Result | Input, item: str) -> bool:
    """Say whether a result or an input is of an item, such as “bar B6”."""
    return one.run.item == item if isinstance(one, Result) else item.split(" ")[-1] in one.key.split(".")


def digits_of(value: Any) -> list[tuple[str, str]]:
    """Return dimension and digits of a quantity with enough of them to be told by; of readings none."""
    if not isinstance(value, Quantity) or np.ndim(value.magnitude):
        return []
    base = value.to_base_units()
    number = f"{float(base.magnitude):.11e}"
    given = f"{float(value.magnitude):.11e}".partition("e")[0].replace(".", "").rstrip("0")
    return [(str(base.units), number)] if len(given) >= TELLING else []


def shown(value: Any, kind: Kind | None, system: units.System) -> str:
    """Return a value as printed, readings separated by semicolons."""
    if kind is None or not isinstance(value, Quantity):
        return str(value)
    if np.ndim(value.magnitude):
        return "; ".join(units.show(one, kind, system) for one in value)
    return units.show(value, kind, system)


@dataclass(frozen=True)
class Affected:
    """What moves when one input moves, by trial.

    Attributes
    ----------
    key, filed : str
        The input and its value.
    tried : dict of str
        By value tried: empty, or why the job is faulty with it.
    sheets : dict of dict
        By sheet, then by item: how many results move.
    margins : list of tuple of str
        Check, how it stands as filed, and how with each value tried.
    results : set of str
        Names of all results that move.
    """

    key: str
    filed: str
    tried: dict[str, str]
    sheets: dict[str, dict[str, int]]
    margins: list[tuple[str, ...]]
    results: set[str]


def affects(job: Job, key: str, inputs: Mapping[str, Input] | None = None) -> Affected:
    """Compute a job with an input moved in both directions by 1 % and 10 %, a temperature by 1 and 10 degrees, or each other choice, and return what moves.

    Raises
    ------
    InputError
        If there is no such input, with the nearest keys.
    """
    known = register(job) if inputs is None else inputs
    if key not in known:
        raise InputError(unknown(key, known))
    one = known[key]
    old, checks = {each.printed: each for each in results_of(job)}, named(job.checks)
    tried: dict[str, str] = {}
    sheets: dict[str, dict[str, int]] = {}
    stands: dict[str, list[str]] = {}
    names = set[str]()
    for text in dict.fromkeys([*one.near(), *one.near(FURTHER)]):
        try:
            after = compute(job, {key: text})
        except (JobError, InputError) as error:
            tried[text] = str(error).split("\n")[0]
            continue
        at = sum(not fault for fault in tried.values())
        tried[text] = ""
        new = {each.printed: each for each in results_of(after)}
        names |= {name for name in {*old, *new} if name not in old or name not in new or differs(old[name], new[name])}
        then = named(after.checks)
        for name in dict.fromkeys([*checks, *then]):
            if name not in checks or name not in then or stand(checks[name]).moved(stand(then[name])):
                row = stands.setdefault(name, [standing(checks.get(name), job.system)])
                row += ["as filed"] * (at + 1 - len(row)) + [standing(then.get(name), job.system)]
    for name in sorted(names):
        sheet, _, rest = name.partition(", ")
        items = sheets.setdefault(sheet, {})
        item = rest.partition(": ")[0]
        items[item] = items.get(item, 0) + 1
    count = sum(not fault for fault in tried.values())
    margins = [(name, *row, *["as filed"] * (count + 1 - len(row))) for name, row in stands.items()]
    return Affected(key, one.printed, tried, sheets, margins, names)


def differs(old: Result, new: Result) -> bool:
    """Say whether a result moved by more than noise."""
    a, b = (float(one.value.to_base_units().magnitude) for one in (old, new))
    return abs(a - b) > 1e-9 * max(abs(a), abs(b))


def standing(check: Any, system: str) -> str:
    """Return how a check stands, in words."""
    if check is None:
        return "not there"
    demand, limit = check.printed(system)
    return f"{demand} {check.sense} {limit}: {check.words}"


def unknown(key: str, known: Collection[str]) -> str:
    """Return what to say of a key that is no input, with the nearest that are."""
    found = difflib.get_close_matches(key, known, 5, 0.5)
    return f"“{units.clipped(key)}”: no such input of this job" + (f"; there are {', '.join(found)}" if found else "")
