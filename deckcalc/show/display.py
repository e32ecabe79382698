"""How calculations, records, checks and runs look in a notebook, and as tables of pandas.

Small plain tables that print in black and white: each has a caption and heads that a reader of the screen names.
`deckcalc.core.looks` is how the core finds this module; pandas is imported when a table of pandas is asked for.
"""

from __future__ import annotations

import html as escape
from collections.abc import Iterable, Mapping, Sequence
from functools import singledispatch
from typing import TYPE_CHECKING, Any, get_type_hints

import numpy as np

from deckcalc.base.subject import Run, Subject
from deckcalc.core import units, written
from deckcalc.core.calculation import REGISTER, Calculation
from deckcalc.core.check import Check
from deckcalc.core.units import SYSTEMS, InputError, Kind, Quantity
from deckcalc.show.hand import HandCalculation
from deckcalc.show.typeset import symbol, tex_value

if TYPE_CHECKING:
    import pandas as pd

MOST_FAULTS = 20  # rows of a table that an error names
MOST = 6  # values of an array that are printed; of more, how many and between what


def by_hand(calculation: Calculation, arguments: Mapping[str, Any], system: str) -> HandCalculation:
    """Return a calculation written out by hand, in one system of units."""
    return HandCalculation(calculation, known(system), arguments)


def known(system: str) -> str:
    """Return the system of units, if it is one."""
    if system not in SYSTEMS:
        raise InputError(f"system is “{system}”, wanted one of {', '.join(SYSTEMS)}")
    return system


# ---- in a notebook


def html_table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a plain HTML table; the first cell of a row is its head."""
    text = [f"<caption>{escape.escape(caption)}</caption>", "<thead><tr>"]
    text += [f'<th scope="col">{escape.escape(head)}</th>' for head in heads]
    text.append("</tr></thead><tbody>")
    for first, *rest in rows:
        cells = "".join(f"<td>{escape.escape(cell)}</td>" for cell in rest)
        text.append(f'<tr><th scope="row">{escape.escape(first)}</th>{cells}</tr>')
    return "<table>" + "".join(text) + "</tbody></table>"


@singledispatch
def html(thing: Any) -> str:
    """Return what a notebook shows of a thing."""
    if hasattr(thing, "_fields"):
        return record_html(thing)
    return f"<pre>{escape.escape(repr(thing))}</pre>"


@html.register
def _(one: Calculation) -> str:
    rows = [
        [name, "given", param.meaning, str(param.says) + ("" if param.required else f"; {default(param.default)} by default")]
        for name, param in one.params.items()
    ]  # fmt: skip
    comments = {line.name: line.comment for line in one.lines}
    for name, kind in one.kinds.items():
        rows.append([name, "result", comments[name], " or ".join(dict.fromkeys([kind.si, kind.us])) or "a number"])
    cites = "; ".join(str(cite) for cite in one.source)
    return html_table(f"{one.title} ({one.key}). {cites}.", ["name", "", "meaning", "range and units"], rows)


@html.register
def _(one: Check) -> str:
    texts = {system: one.printed(system) for system in SYSTEMS}
    rows = [["value", *(texts[system][0] for system in SYSTEMS)]]
    rows.append([f"limit ({one.sense})", *(texts[system][1] for system in SYSTEMS)])
    why = f"; {one.why}" if one.why else ""
    return html_table(f"{one.item}, {one.title}: {one.verdict}{why}.", ["", *SYSTEMS], rows)


@html.register
def _(one: Run) -> str:
    found = one.calculation.bind((), one.arguments)
    rows = [
        [name, "given", *printed(found[name], param.kind)] for name, param in one.calculation.params.items()
    ] + [
        [name, "result", *printed(value, one.calculation.kinds[name])] for name, value in one.results().items()
    ]  # fmt: skip
    return html_table(f"{one.calculation.title}: {one.item}.", ["name", "", *SYSTEMS], rows)


@html.register
def _(one: Subject) -> str:
    rows = [[item, "; ".join(dict.fromkeys(run.calculation.title for run in one.of(item)))] for item in one.items]
    return html_table(f"{one.title}: {verdicts(one.checks)}.", ["item", "calculations"], rows)


def record_html(record: Any) -> str:
    """Return the table of a record of results."""
    owners = [one for one in REGISTER.values() if one.record is type(record)]
    comments = [{line.name: line.comment for line in one.lines} for one in owners]
    meaning = {name: said.pop() for name in record._fields if len(said := {one[name] for one in comments}) == 1}
    titles = {one.title for one in owners}
    caption = titles.pop() if len(titles) == 1 else type(record).__name__
    rows = [
        [name, meaning.get(name, ""), *printed(value, kind)]
        for (name, kind), value in zip(kinds_of(record).items(), record, strict=True)
    ]
    return html_table(f"{caption}.", ["name", "meaning", *SYSTEMS], rows)


def record_latex(record: Any) -> str:
    """Return a record of results as mathematics, a row each, in SI units."""
    kinds = kinds_of(record)
    rows = [
        rf"{symbol(name)} &= {tex_value(units.show(value, kinds[name], 'SI'))}"
        for name, value in zip(record._fields, record, strict=True)
        if kinds.get(name)
    ]
    return r"$$\begin{aligned} " + r" \\ ".join(rows) + r" \end{aligned}$$"


def kinds_of(record: Any) -> dict[str, Kind]:
    """Return the kind of each field of a record."""
    return {name: units.kind_of(hint) for name, hint in get_type_hints(type(record), include_extras=True).items()}


def printed(value: Any, kind: Kind | None) -> list[str]:
    """Return a value as printed in either system; of a large array its size and extremes."""
    if kind is None:
        return [str(value)] * len(SYSTEMS)
    texts = []
    for system in SYSTEMS:
        numbers = np.asarray(units.magnitude(value, kind, system), dtype=float)
        if numbers.size <= MOST and numbers.ndim < 2:
            texts.append(units.show(value, kind, system))
        else:
            least, most = (units.show(q(end, kind, system), kind, system) for end in (numbers.min(), numbers.max()))
            texts.append(f"{numbers.size} values, {least} to {most}")
    return texts


def q(number: float, kind: Kind, system: str) -> Quantity:
    """Return a number in the unit that its kind is printed in."""
    return units.registry().Quantity(float(number), kind.unit(system))


def default(value: Any) -> str:
    """Return a default value as text."""
    return units.text(value) if isinstance(value, Quantity) else str(value)


def verdicts(checks: Sequence[Check]) -> str:
    """Count verdicts in words."""
    found = [one.verdict for one in checks]
    counts = ", ".join(f"{found.count(word)} {word}" for word in dict.fromkeys(found))
    return f"{len(found)} check{'' if len(found) == 1 else 's'}" + (f", {counts}" if counts else "")


def checks_html(checks: Sequence[Check], system: str, caption: str) -> str:
    """Return a table of checks in one system of units."""
    rows = [[c.item, c.title, c.printed(system)[0], f"{c.sense} {c.printed(system)[1]}", c.words] for c in checks]
    return html_table(caption, ["item", "check", "value", "limit", "verdict"], rows)


# ---- as tables of pandas


def pandas() -> Any:
    """Import pandas.

    Raises
    ------
    InputError
        If it is not installed.
    """
    try:
        import pandas
    except ImportError:
        raise InputError("a table wants the library pandas, which is not installed") from None
    return pandas


def headed(name: str, kind: Kind | None, system: str) -> str:
    """Return the head of a column: name and unit."""
    unit = kind.symbol(system) if kind else ""
    return f"{name} [{unit}]" if unit else name


def frame(thing: Any, system: str = "SI") -> pd.DataFrame:
    """Return records, runs or checks as a pandas DataFrame; see `deckcalc.frame`."""
    if hasattr(thing, "checks") and hasattr(thing, "system"):
        return frame(thing.checks, thing.system)
    known(system)
    several = list(thing) if isinstance(thing, list | tuple) and not hasattr(thing, "_fields") else [thing]
    if several and all(isinstance(one, Check) for one in several):
        return _checks_frame(several, system)
    if several and all(isinstance(one, Run) for one in several):
        return _runs_frame(several, system)
    if len({type(one) for one in several}) == 1 and type(several[0]) in {one.record for one in REGISTER.values()}:
        return pandas().concat([_record_frame(one, system) for one in several], ignore_index=True)
    if isinstance(thing, list | tuple) and not several:
        return pandas().DataFrame()
    raise InputError(
        f"found {type(several[0]).__name__}, wanted a record of results, runs of a calculation, checks or a job"
    )


def _record_frame(record: Any, system: str) -> pd.DataFrame:
    columns = {
        headed(name, kind, system): np.asarray(units.magnitude(value, kind, system), dtype=float)
        for (name, kind), value in zip(kinds_of(record).items(), record, strict=True)
    }
    shaped = np.broadcast_arrays(*columns.values())
    made: pd.DataFrame = pandas().DataFrame(
        {head: array.reshape(-1) for head, array in zip(columns, shaped, strict=True)}
    )
    return made


def _runs_frame(runs: Sequence[Run], system: str) -> pd.DataFrame:
    calculation = runs[0].calculation
    if any(run.calculation is not calculation for run in runs):
        raise InputError("runs of one table are all of one calculation")
    rows = []
    for run in runs:
        row: dict[str, Any] = {"item": run.item}
        given = calculation.bind((), run.arguments)
        for name, param in calculation.params.items():
            value = given[name]
            row[headed(name, param.kind, system)] = units.magnitude(value, param.kind, system) if param.kind else value
        for name, value in run.results().items():
            row[headed(name, calculation.kinds[name], system)] = units.magnitude(value, calculation.kinds[name], system)
        rows.append(row)
    made: pd.DataFrame = pandas().DataFrame(rows)
    return made


def _checks_frame(checks: Sequence[Check], system: str) -> pd.DataFrame:
    rows = [
        {
            "item": one.item, "check": one.title,
            "demand": None if one.demand is None else float(units.magnitude(one.demand, one.limit.kind, system)),
            "sense": one.sense, "limit": float(units.magnitude(one.limit.value, one.limit.kind, system)),
            "unit": one.limit.kind.symbol(system), "utilisation": one.utilisation, "verdict": one.verdict,
            "why": one.why, "source": str(one.limit.source),
        } for one in checks
    ]  # fmt: skip
    made: pd.DataFrame = pandas().DataFrame(rows)
    return made


def table(calculation: Calculation, data: Any, system: str, same: Mapping[str, Any]) -> pd.DataFrame:
    """Calculate every row of a DataFrame; see `Calculation.table`."""
    pd = pandas()
    if not isinstance(data, pd.DataFrame):
        raise InputError(f"{calculation.name}: found {type(data).__name__}, wanted a pandas DataFrame")
    known(system)
    columns: dict[str, list[int]] = {}
    for place, head in enumerate(data.columns):
        name = written.head(head)[0]
        if name in calculation.params:
            columns.setdefault(name, []).append(place)
    for name, places in columns.items():
        if name in same:
            raise InputError(f"{calculation.name}: {name} is given twice, in the table and beside it")
        if len(places) > 1 and not calculation.params[name].several:
            raise InputError(f"{calculation.name}: {name} has {len(places)} columns, wanted one")
    heads = [headed(name or calculation.name, kind, system) for name, kind in calculation.kinds.items()]
    made = pd.DataFrame(np.nan, index=data.index, columns=heads)
    readings = [place for places in columns.values() if len(places) > 1 for place in places]
    choices = [places[0] for name, places in columns.items() if calculation.params[name].kind is None]
    alike: dict[tuple[Any, ...], list[int]] = {}  # rows with the same choices, and readings in the same columns
    for row in range(len(data)):
        key = *data.iloc[row, readings].notna(), *data.iloc[row, choices]
        alike.setdefault(key, []).append(row)
    faults: dict[int, str] = {}
    for rows in alike.values():
        try:
            made.iloc[rows] = _rows(calculation, data.iloc[rows], columns, system, same)
        except InputError:  # row by row, to name those that cannot be
            for row in rows:
                try:
                    _rows(calculation, data.iloc[[row]], columns, system, same)
                except InputError as error:
                    faults[row] = str(error)
    if faults:
        raise InputError(_said(faults, data.index))
    return made


def _said(faults: Mapping[int, str], index: Any) -> str:
    """Name the rows at fault, or the one fault of them all."""
    if len(faults) == len(index) and len(set(faults.values())) == 1:
        return faults[0]
    lines = [f"row {index[row]}: {faults[row]}" for row in sorted(faults)[:MOST_FAULTS]]
    return "\n".join(lines + [f"and {len(faults) - MOST_FAULTS} more rows"] * (len(faults) > MOST_FAULTS))


def _rows(
    calculation: Calculation,
    data: Any,
    columns: Mapping[str, list[int]],
    system: str,
    same: Mapping[str, Any],
) -> Any:
    """Calculate rows that are alike, all at once."""
    given = {name: _argument(calculation, name, data, places) for name, places in columns.items()}
    answer = calculation(**given, **same)
    results = answer if calculation.record else (answer,)
    numbers = [units.magnitude(v, kind, system) for v, kind in zip(results, calculation.kinds.values(), strict=True)]
    return np.column_stack([np.broadcast_to(column, len(data)) for column in numbers])


def _argument(calculation: Calculation, name: str, data: Any, places: Sequence[int]) -> Any:
    """Return what a table gives for one argument: a column, or columns of readings as the last axis."""
    param = calculation.params[name]
    if param.kind is None:
        return data.iloc[0, places[0]]
    try:
        read = [
            param.read(data.iloc[:, place]) for place in places if len(places) == 1 or data.iloc[:, place].notna().all()
        ]
        if not param.several:
            return read[0]
        if not read:
            raise InputError("no reading is given")
        first = read[0].units
        return units.registry().Quantity(np.stack([one.m_as(first) for one in read], axis=-1), first)
    except InputError as error:
        raise InputError(f"{calculation.name}: {name} cannot be read: {error}") from None
