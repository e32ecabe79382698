"""Every line of every item: one table a calculation, its formulas once, what each line comes to for each item beside them.

Each line of each item is set, read back and worked out again from its printed numbers, as in a hand calculation, though the
table prints the formula alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

from deckcalc.base.subject import Run
from deckcalc.core.calculation import Line
from deckcalc.core.text import plain
from deckcalc.show.hand import HandCalculation, agree_on_digits, pipe_table
from deckcalc.show.typeset import symbol, typeset

#: Items whose values stand beside the formulas; more stand in a table below them.
BESIDE = 3
#: Characters of a row of values, and what a cell takes beside its text.
ROW, GAP = 66, 3


def every_line(calculations: Sequence[HandCalculation], number: str = "") -> str:
    """Print one calculation for all of its items, each printed line proved.

    Parameters
    ----------
    calculations : sequence of HandCalculation
        All of the same calculation, in filing order.
    number : str
        Number of the calculation, by which others cite it.

    Raises
    ------
    ReadBackError
        If a line does not come to what is printed.
    """
    group = [unread(one) for one in calculations]
    agree_on_digits(group)
    first = group[0]
    proved = sum(len(one.lines) for one in group)  # setting a line proves it
    names = [*first.calculation.params, *(line.name for line in first.calculation.lines)]
    beside = len(group) <= BESIDE and all(
        sum(len(one.text(name, unit=False)) + GAP for one in group) <= ROW // 3 for name in names
    )  # fmt: skip
    parts = [f"### {' '.join(filter(None, (number, first.calculation.title)))}"]
    parts.append(formulas(group if beside else group[:0], first, names, number))
    if not beside:
        parts += values(group, names)
    if first.calculation.empirical:
        parts.append(first.plain_units())
    parts.append(f"{first.remarks()} *{len(group)} item{'s' * (len(group) > 1)}, {proved} lines proved.*")
    return "\n\n".join(parts)


def unread(one: HandCalculation) -> HandCalculation:
    """Return a copy whose decimals may change, with nothing printed yet."""
    made = copy(one)
    made.__dict__.pop("lines", None)
    return made


def formulas(beside: Sequence[HandCalculation], first: HandCalculation, names: Sequence[str], number: str) -> str:
    """Return the table of symbols and formulas, the values of a few items beside them."""
    lines = {line.name: (place, line) for place, line in enumerate(first.calculation.lines, 1)}
    rows = []
    for name in names:
        if name in lines:
            place, line = lines[name]
            said = [
                f"{number}.{place}" if number else str(place),
                formula(first, line),
                unit(first, name),
                meaning(first, line),
            ]
        else:
            shown = f"${symbol(name)}$" if first.kinds[name] else ""
            said = ["", shown, unit(first, name), first.calculation.params[name].meaning]
        rows.append([*said, *(plain(one.text(name, unit=False)) for one in beside)])
    heads = ["no.", "symbol, formula", "unit", "meaning", *(plain(one.item or "value") for one in beside)]
    return pipe_table(heads, rows, "llll" + "r" * len(beside))


def formula(one: HandCalculation, line: Line) -> str:
    """Return a line as it stands for every item: its symbol, and its formula where it has one."""
    if line.helper or line.constant:
        return f"${symbol(line.name)}$"
    left, shown, _ = typeset(line.name, line.expression, {name: one.tex(name) for name in line.operands})
    return f"${left} = {shown}$"


def meaning(one: HandCalculation, line: Line) -> str:
    """Return what a line is, with the rule that a look-up or a constant follows."""
    if line.helper:
        said = {name: f"${symbol(name)}$" if one.kinds[name] else "the choice" for name in line.operands}
        said |= {name: plain(str(value)) for name, value in one.calculation.written_constants.items()}
        sentence = line.helper.sentence(
            dict(zip(line.helper.params, map(said.__getitem__, line.arguments), strict=True))
        )
        return ", ".join(filter(None, (line.comment, sentence, *map(str, line.helper.source))))
    if line.constant:
        written = one.calculation.written_constants[line.constant]
        return f"{line.comment}, {written} by the form {one.calculation.form_name}"
    return line.comment


def unit(one: HandCalculation, name: str) -> str:
    """Return the unit in which a name is printed; empty where it has none."""
    return one.unit_text(name) if one.kinds[name] else ""


def longest(group: Sequence[HandCalculation], name: str) -> int:
    """Return how wide the column of a name is."""
    head = len(name) + len(unit(group[0], name)) + 3
    return min(max(head // 2, *(len(one.text(name, unit=False)) for one in group)), 24) + GAP


def values(group: Sequence[HandCalculation], names: Sequence[str]) -> list[str]:
    """Return tables of the values, an item a row, as many columns in each as fit on a page."""
    first = max(len(one.item) for one in group) + GAP
    tables: list[list[str]] = [[]]
    room = ROW - first
    for name in names:
        wide = longest(group, name)
        if wide > room and tables[-1]:
            tables.append([])
            room = ROW - first
        tables[-1].append(name)
        room -= wide
    return [
        pipe_table(
            ["item", *(head(group[0], name) for name in some)],
            [[plain(one.item), *(plain(one.text(name, unit=False)) for name in some)] for one in group],
        )
        for some in tables
    ]


def head(one: HandCalculation, name: str) -> str:
    """Return the head of a column of values."""
    shown = f"${symbol(name)}$" if one.kinds[name] else one.calculation.params[name].meaning
    return f"{shown} [{unit(one, name)}]" if unit(one, name) else shown


def proved_in(runs: Sequence[Run]) -> int:
    """Return how many printed lines the runs have, each proved."""
    return sum(len(run.calculation.lines) for run in runs)
