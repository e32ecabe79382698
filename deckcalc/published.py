"""Check cases: what others have published, run through the calculation that it concerns.

A case is a record in ``references/cases/*.toml``; adding one needs no code.
"""

from __future__ import annotations

import importlib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from deckcalc.core import units
from deckcalc.core.boundary import Param
from deckcalc.core.calculation import REGISTER, Calculation
from deckcalc.core.ranges import in_system
from deckcalc.core.sources import PROVENANCES, Cite, folder
from deckcalc.core.units import InputError, Quantity

SUBJECTS = ("patch", "mix", "steel", "chloride", "formwork", "curing", "traffic", "closure", "safety")
KEYS = {"id", "calculation", "source", "where", "provenance", "given", "expected", "within", "because", "differs"}


@dataclass(frozen=True)
class Case:
    """A published example.

    Attributes
    ----------
    id : str
    calculation : str
        For instance ``mix.proportions``, or ``mix.mixing_water (US)`` where the record gives a `form`.
    source, where, provenance : str
        Key of the bibliography (empty for common practice), place in it, and how the value is known.
    given : dict
        Arguments as people write them.
    expected : dict of str
        Printed results; the digits printed are the precision asked for.
    within : dict of str
        A wider tolerance for a result, only with `because`.
    differs : dict of str
        Printed results that cannot be reproduced, only with `because`.
    because : str
        Why a tolerance is wider, or a result differs.
    """

    id: str
    calculation: str
    source: str
    where: str
    provenance: str
    given: dict[str, Any]
    expected: dict[str, str]
    within: dict[str, str] = field(default_factory=dict)
    differs: dict[str, str] = field(default_factory=dict)
    because: str = ""

    @property
    def cite(self) -> Cite:
        """Where it stands."""
        return Cite(self.source, self.where, self.provenance)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Comparison:
    """One published number beside ours."""

    case: Case
    name: str
    published: str
    ours: str
    difference: float  # in the unit printed
    tolerance: float
    reproduces: bool  # False for a number that is known to differ

    @property
    def agrees(self) -> bool:
        """Whether ours is within the printed precision (or, if known to differ, is not)."""
        return (abs(self.difference) <= self.tolerance * (1 + 1e-9)) == self.reproduces


def register(*subjects: str) -> dict[str, Calculation]:
    """Return every declared calculation by its key, all subjects loaded; or those of some subjects, loaded alone."""
    for subject in subjects or SUBJECTS:
        importlib.import_module(f"deckcalc.{subject}")
    return {key: one for key, one in REGISTER.items() if one.subject in subjects} if subjects else REGISTER


def find(name: str, form: str = "") -> Calculation | None:
    """Return a calculation by its key, such as ``steel.section_loss``, in the form wanted; None if there is none.

    Its own subject is loaded alone.
    """
    subject = name.partition(".")[0]
    if subject in SUBJECTS:
        importlib.import_module(f"deckcalc.{subject}")
    return REGISTER.get(f"{name} ({form})" if form else name)


def cases() -> list[Case]:
    """Read every check case.

    Raises
    ------
    InputError
        If a record is not well-formed: the message names file and id.
    """
    return list(_read(folder("references") / "cases"))


@cache
def _read(place: Path) -> tuple[Case, ...]:
    """Read the check cases of a folder, once."""
    found: list[Case] = []
    for path in sorted(place.glob("*.toml")):
        with path.open("rb") as file:
            data = tomllib.load(file)
        for entry in data.get("case", []):
            found.append(_case(path.name, entry))
        for block in data.get("rows", []):
            columns, rows = block.pop("columns"), block.pop("rows")
            for number, row in enumerate(rows, 1):
                values = dict(zip(columns, row, strict=True))
                given = {name: v for name, v in values.items() if not name.startswith("=")}
                expected = {name[1:]: v for name, v in values.items() if name.startswith("=") and v}
                entry = {**block, "id": f"{block['id']}-{number}", "given": {**block.get("given", {}), **given}}
                found.append(_case(path.name, {**entry, "expected": expected}))
    return tuple(found)


def _case(file: str, entry: dict[str, Any]) -> Case:
    name = f"{file}: {entry.get('id', 'a record without id')}"
    if strange := set(entry) - KEYS:
        raise InputError(f"{name}: unknown key {', '.join(sorted(strange))}; known are {', '.join(sorted(KEYS))}")
    if missing := {"id", "calculation", "given"} - set(entry):
        raise InputError(f"{name}: missing {', '.join(sorted(missing))}")
    if entry.get("provenance") not in PROVENANCES:
        raise InputError(f"{name}: provenance is one of {', '.join(PROVENANCES)}")
    if (entry.get("within") or entry.get("differs")) and not entry.get("because"):
        raise InputError(f"{name}: a wider tolerance or a difference needs a reason (because)")
    given = {name: value for name, value in entry["given"].items() if name != "form"}
    if "form" in entry["given"]:
        entry = {**entry, "given": given, "calculation": f"{entry['calculation']} ({entry['given']['form']})"}
    return Case(**{"where": "", "source": "", "expected": {}, **entry})


def compare(case: Case) -> list[Comparison]:
    """Run a case through its calculation and hold each result to the printed precision."""
    calculation = register()[case.calculation]
    answer = calculation(**{name: read_argument(calculation, name, value) for name, value in case.given.items()})
    rows = []
    for printed, reproduces in ((case.expected, True), (case.differs, False)):
        for name, text in printed.items():
            kind = calculation.kinds[name]
            value: Quantity = getattr(answer, name) if calculation.record else answer
            wanted = units.read(text, kind)
            ours = float(value.m_as(wanted.units))
            tolerance = precision(text)
            if name in case.within and reproduces:
                tolerance = float(units.read(case.within[name], kind).m_as(wanted.units))
            decimals = len(re.search(r"\d+(?:\.(\d+))?", text)[1] or "") + 1  # type: ignore[index]
            rows.append(
                Comparison(
                    case, name, text, f"{units.fixed(ours, decimals)} {text.partition(' ')[2]}".strip(),
                    ours - float(wanted.magnitude), tolerance, reproduces,
                )
            )  # fmt: skip
    return rows


def precision(text: str) -> float:
    """Return half a unit of the last digit printed.

    Examples
    --------
    >>> precision("3.10 ft³/yd³"), precision("610 lb/yd³")
    (0.005, 0.5)
    """
    match = re.search(r"\d+(?:\.(\d+))?(?:[eE]([-+]?\d+))?", text)
    assert match
    return 0.5 * 10.0 ** (int(match[2] or 0) - len(match[1] or ""))


def read_argument(calculation: Calculation, name: str, value: Any) -> Any:
    """Read one argument as people write it; a list where the calculation takes readings."""
    if name not in calculation.params:
        raise InputError(f"{calculation.key} has no argument “{name}”; it takes {', '.join(calculation.params)}")
    param = calculation.params[name]
    return param.read(value if isinstance(value, list) else str(value))


def written(number: Any, kind: units.Kind, system: str) -> str:
    """Write a value, or readings, as in a job file: short, but without loss that matters."""
    return ", ".join(f"{float(x):.10g} {kind.symbol(system)}".strip() for x in units.np.atleast_1d(number))


def middle(param: Param, system: str) -> str:
    """Return a value to begin with: the default, else the geometric middle of the range."""
    assert param.kind
    if not param.required:
        return written(units.magnitude(param.default, param.kind, system), param.kind, system)
    if param.range is None:
        return units.example(param.kind)
    low, high = (
        units.magnitude(units.read(text, param.kind), param.kind, system)
        for text in (param.range.low, param.range.high)
    )
    centre = (low * high) ** 0.5 if low > 0 else low + (high - low) / 8
    if param.kind.whole:
        centre = round(centre)
    text = f"{float(f'{centre:.2g}'):g} {param.kind.symbol(system)}".strip()
    return ", ".join([text] * param.several.least) if param.several else text


def example(calculation: Calculation, system: units.System) -> tuple[dict[str, str], str]:
    """Return arguments that the calculation takes, as people write them, and where they come from.

    They are those of a check case, at best one in the units of the system, else of another form, else the middle of each range.

    Examples
    --------
    >>> from deckcalc.steel import strip_area
    >>> example(strip_area, "SI")[0]["b"]
    '1000 mm'
    """
    name = calculation.key.partition(" (")[0]
    found: list[tuple[bool, bool, int, dict[str, str], str]] = []
    for case in _cases_by_name().get(name, ()):
        texts = {key: restated(calculation.params[key], value, system) for key, value in case.given.items()}
        converted = any(texts[key] != str(value) for key, value in case.given.items() if isinstance(value, str))
        found.append((case.calculation != calculation.key, converted, len(found), texts, case.id))
    for _, _, _, texts, where in sorted(found, key=lambda one: one[:3]):
        if _taken(calculation, texts):
            return texts, f"check case {where}"
    required = {key: param for key, param in calculation.params.items() if param.required}
    middles = {key: one.choices[0] if one.choices else middle(one, system) for key, one in required.items()}
    return middles, "from the middle of each range"


@cache
def _cases_by_name() -> dict[str, list[Case]]:
    """Return the check cases of each calculation, of all its forms; read once, for they come with the program."""
    found: dict[str, list[Case]] = {}
    for case in cases():
        found.setdefault(case.calculation.partition(" (")[0], []).append(case)
    return found


def restated(param: Param, value: Any, system: str, digits: int = 4) -> str:
    """Return an argument as people write it in the units of a system; a bar size stays where it is at home."""
    if param.kind is None:
        return str(value)
    listed = re.split(r"\s*[,;]\s*", value) if param.several and isinstance(value, str) else value
    texts = [str(one) for one in (listed if isinstance(listed, list) else [listed])]
    kept = system == "US" and all(text.startswith("#") for text in texts)
    return ", ".join(texts if kept else (in_system(text, param.kind, system, digits=digits) for text in texts))


def _taken(calculation: Calculation, texts: Mapping[str, str]) -> bool:
    try:
        calculation(**{name: read_argument(calculation, name, text) for name, text in texts.items()})
    except InputError:
        return False
    return True
