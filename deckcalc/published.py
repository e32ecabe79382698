"""Check cases: what others have published, run through the calculation that it concerns.

A case is a record in ``references/cases/*.toml``; adding one needs no code.
"""

from __future__ import annotations

import importlib
import re
import tomllib
from dataclasses import dataclass, field
from typing import Any

from deckcalc.core import units
from deckcalc.core.calculation import REGISTER, Calculation
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
        For instance ``mix.proportions``.
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


def register() -> dict[str, Calculation]:
    """Return every declared calculation by its key, all subjects loaded."""
    for subject in SUBJECTS:
        importlib.import_module(f"deckcalc.{subject}")
    return REGISTER


def find(key: str) -> Calculation | None:
    """Return the calculation of a key such as ``steel.section_loss``, with its own subject loaded alone; None if there is none."""
    subject = key.partition(".")[0]
    if subject in SUBJECTS:
        importlib.import_module(f"deckcalc.{subject}")
    return REGISTER.get(key)


def cases() -> list[Case]:
    """Read every check case.

    Raises
    ------
    InputError
        If a record is not well-formed: the message names file and id.
    """
    found: list[Case] = []
    for path in sorted((folder("references") / "cases").glob("*.toml")):
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
    return found


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
