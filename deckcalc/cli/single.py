"""A single calculation: its arguments read, all faults at once, and its results, one row an item where several are given."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping, Sequence
from typing import Any

from deckcalc.cli import teaching
from deckcalc.cli.printing import near, pair, print_table, say_data
from deckcalc.core import units
from deckcalc.core.boundary import Param
from deckcalc.core.calculation import Calculation
from deckcalc.core.ranges import speaking
from deckcalc.core.units import InputError
from deckcalc.ends import plain, say


def run(options: argparse.Namespace) -> None:
    """Run a single calculation and print its results, or say what it takes."""
    from deckcalc import published

    given = [text.partition("=") for text in options.values]
    form = next((value.strip() for key, _, value in given if key.strip() == "form"), "")
    calculation = published.find(options.name, form) or published.find(options.name)
    with speaking(options.units):
        if options.help:
            teaching.explain(calculation or teaching.in_a_form(options.name, options.units), options.units)
            return
        if calculation is None:
            raise InputError(teaching.unknown(options.name, form))
        items = items_of(calculation, options.values)
        results = [results_of(calculation, values) for values in calculated(calculation, items)]
    if options.json:
        say_data(as_data(calculation, results, options.units))
    elif len(results) == 1:
        print_table(("result", "value", "meaning"), [
            (name, units.show(value, calculation.kinds[name], options.units), line.comment)
            for (name, value), line in zip(results[0].items(), calculation.lines, strict=True)
        ])  # fmt: skip
    else:
        print_items(calculation, items, results, options.units)


Item = dict[str, tuple[str, Any]]


def items_of(calculation: Calculation, texts: Sequence[str]) -> list[Item]:
    """Read the arguments, by item the text and the value of each; every fault is named at once."""
    faults: list[str] = []
    found: dict[str, list[tuple[str, Any]]] = {}
    given, beyond = set(), set()
    for text in texts:
        try:
            key, value = pair(text)
        except InputError as error:
            faults.append(str(error))
            continue
        if key in given:
            faults.append(plain(f"{key}: given twice"))
            continue
        given.add(key)
        if key == "form" and calculation.form_name:
            continue  # it chose the calculation
        if key not in calculation.params:
            takes = ", ".join(calculation.params) + teaching.taking_form(calculation)
            faults.append(
                plain(
                    f"{key}: {calculation.key} has no argument “{key}”{near(key, calculation.params)}; it takes {takes}"
                )
            )
            continue
        param = calculation.params[key]
        try:
            found[key] = [(part, param.read(part)) for part in parts(param, value)]
        except InputError as error:
            faults.append(plain(f"{key}: {error}"))
            continue
        for _, one in found[key]:
            try:
                param.plain(one, calculation.name)
            except InputError as error:
                beyond.add(key)
                faults.append(plain(str(error)))
    for name, param in calculation.params.items():
        if param.required and name not in given:
            faults.append(f"{name}: missing, {param.meaning}; wanted {param.wanted}")
    if beyond:
        faults += teaching.reaching(
            calculation, {key: [one for _, one in items] for key, items in found.items()}, beyond
        )
    count = max(map(len, found.values()), default=1)
    if unlike := [f"{len(items)} of {key}" for key, items in found.items() if len(items) not in (1, count)]:
        faults.append(
            f"{', '.join(unlike)} beside {count} items; wanted one value for all, or as many as there are items"
        )
    if faults:
        raise InputError("\n".join(faults))
    return [{key: items[min(number, len(items) - 1)] for key, items in found.items()} for number in range(count)]


def parts(param: Param, text: str) -> list[str]:
    """Return the items that a text holds: between semicolons; where an argument is one value, between commas as well.

    Examples
    --------
    >>> from deckcalc.steel import section_loss
    >>> parts(section_loss.params["d"], "15 mm, 14 mm; 12 mm"), parts(section_loss.params["A_0"], "200 mm^2, 314 mm^2")
    (['15 mm, 14 mm', '12 mm'], ['200 mm^2', '314 mm^2'])
    """
    commas = param.several or any("," in choice for choice in param.choices)  # they stand within an item
    return re.split(r"\s*;\s*" if commas else r"\s*;\s*|\s*,\s+", text)


def calculated(calculation: Calculation, items: Sequence[Item]) -> list[Any]:
    """Run every item; those that cannot be calculated are named, with why."""
    answers, faults = [], []
    for number, item in enumerate(items, 1):
        try:
            answers.append(calculation(**{key: value for key, (_, value) in item.items()}))
        except InputError as error:
            faults += [f"item {number}: {line}" if len(items) > 1 else line for line in str(error).split("\n")]
    if faults:
        raise InputError("\n".join(map(plain, faults)))
    return answers


def results_of(calculation: Calculation, answer: Any) -> dict[str, Any]:
    """Return the results by name."""
    return dict(zip(calculation.kinds, answer if calculation.record else (answer,), strict=True))


def as_data(calculation: Calculation, results: Sequence[Mapping[str, Any]], system: str) -> dict[str, Any]:
    """Return value and unit of every result; of several items the value is a list."""
    data = {}
    for name, kind in calculation.kinds.items():
        values = [float(units.magnitude(one[name], kind, system)) for one in results]
        data[name] = {"value": values if len(values) > 1 else values[0], "unit": kind.symbol(system)}
    return data


def print_items(
    calculation: Calculation, items: Sequence[Item], results: Sequence[Mapping[str, Any]], system: str
) -> None:
    """Print a row for each item: what is its own, and its results; below, what the results are."""
    own = [key for key in items[0] if len({item[key][0] for item in items}) > 1]
    rows = [
        (str(number), *(item[key][0] for key in own),
         *(units.show(value, calculation.kinds[name], system) for name, value in one.items()))
        for number, (item, one) in enumerate(zip(items, results, strict=True), 1)
    ]  # fmt: skip
    print_table(("item", *own, *calculation.kinds), rows)
    say("")
    print_table(("result", "meaning"), [(line.name, line.comment) for line in calculation.lines])
