"""What a calculation takes and gives, in words, with an example; and which one may be meant, or reaches further."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from deckcalc.cli.printing import print_table, say_wrapped
from deckcalc.core import units
from deckcalc.core.boundary import Param
from deckcalc.core.calculation import Calculation
from deckcalc.core.units import InputError
from deckcalc.ends import plain, say

#: So many calculations are named where the one that was asked for is not there.
NEAREST = 5


def explain(calculation: Calculation, system: units.System) -> None:
    """Print what a calculation works out, each argument, its results, its sources and an example that runs."""
    from deckcalc import published

    say_wrapped(f"{calculation.key}: {calculation.title}")
    say_wrapped(summary(calculation), 2)
    if calculation.form_name:
        say_wrapped(f"form: {calculation.meaning_of_form or 'the edition of the rule'}; form= with one of "
                    f"{', '.join(forms_of(base(calculation)))} (this is {calculation.form_name})", 2)  # fmt: skip
    say("", f"Arguments, in {system} units; any unit of the same kind is read")
    heads = ("argument", "unit", "wanted", "default", "meaning")
    rows = [
        (name, param.kind.symbol(system) if param.kind else "", wanted(param), default(param, system), param.meaning)
        for name, param in calculation.params.items()
    ]
    kept = [at for at in range(len(heads)) if any(row[at] for row in rows)]
    print_table([heads[at] for at in kept], [[row[at] for at in kept] for row in rows])
    say_wrapped("Several values with “;” between them give one row each"
                f"{'; “,” stands between the readings of one item' if calculation.takes_lists else ''}.", 2)  # fmt: skip
    say("", "Results")
    print_table(("result", "unit", "meaning"), [
        (line.name, calculation.kinds[line.name].symbol(system), line.comment) for line in calculation.lines
    ])  # fmt: skip
    say("", "Source")
    for cite in calculation.source:
        say_wrapped(str(cite), 2)
    if calculation.notes:
        say("", "Simplifications and limits")
        for note in calculation.notes:
            say_wrapped(note, 2)
    texts, origin = published.example(calculation, system)
    say("", f"Example ({origin})", f"  {command(calculation, texts, system)}")


def summary(calculation: Calculation) -> str:
    """Return the first paragraph of a docstring as plain text."""
    first = (calculation.__doc__ or "").strip().partition("\n\n")[0]
    return " ".join(first.replace("`", "").split())


def wanted(param: Param) -> str:
    """Return what an argument may be, without its kind."""
    if param.choices or param.kind is None or param.range is None:
        return param.wanted
    readings = f"{param.several.least} or more readings, each " if param.several else ""
    return f"{readings}{param.range.spoken(param.kind)}{', whole' if param.kind.whole else ''}"


def default(param: Param, system: str) -> str:
    """Return the value that is taken where none is given."""
    from deckcalc import published

    if param.required:
        return ""
    return (
        published.written(units.magnitude(param.default, param.kind, system), param.kind, system)
        if param.kind
        else str(param.default)
    )


def command(calculation: Calculation, texts: Mapping[str, str], system: str) -> str:
    """Return the command that runs a calculation, as a shell takes it."""
    form = {"form": calculation.form_name} if calculation.form_name else {}
    words = [
        f"{key}={text}" if text.replace(".", "").isalnum() else f'{key}="{text}"'
        for key, text in {**texts, **form}.items()
    ]
    return " ".join(["deckcalc run", base(calculation), *words, f"--units {system}"])


def base(calculation: Calculation) -> str:
    """Return the key of a calculation without its form."""
    return calculation.key.removesuffix(f" ({calculation.form_name})") if calculation.form_name else calculation.key


def forms_of(name: str) -> list[str]:
    """Return the forms that a calculation has."""
    return [one.form_name for one in rooms(name).values() if one.form_name and base(one) == name]


def taking_form(calculation: Calculation) -> str:
    """Return the words that name the form among the arguments."""
    return ", and form" if calculation.form_name else ""


def rooms(name: str) -> dict[str, Calculation]:
    """Return the calculations among which one of a name is looked for: those of its subject, else all."""
    from deckcalc import published

    subject = name.partition(".")[0]
    return published.register(*([subject] if subject in published.SUBJECTS else []))


def in_a_form(name: str, system: str) -> Calculation:
    """Return the form of a calculation that is explained where none is given: that of the unit system if there is one.

    Raises
    ------
    InputError
        If there is no calculation of that name.
    """
    found = {one.form_name: one for one in rooms(name).values() if one.form_name and base(one) == name}
    if not found:
        raise InputError(unknown(name, ""))
    return found.get(system) or next(iter(found.values()))


def unknown(name: str, form: str) -> str:
    """Return what to say where there is no calculation of a name, or none in a form of it."""
    from deckcalc import published

    if forms := forms_of(name):
        found = f"form is “{form}”" if form else "no form is given"
        return f"{name}: {found}, wanted form= with one of {', '.join(forms)}"
    titles = {base(one): one.title for one in rooms(name).values()}
    close = nearest(name, titles)
    if not close:  # it may stand in another subject
        titles = {base(one): one.title for one in published.register().values()}
        close = nearest(name, titles)
    word = name.rpartition(".")[2] or name.rpartition(".")[0]
    listed = [key for key in titles if word and matches(word, key, titles[key])]
    more = (
        f"“deckcalc list {word}” names all {len(listed)}" if len(listed) > len(close) else "“deckcalc list” names all"
    )
    if not close:
        return f"there is no calculation “{name}”; {more}"
    lines = [f"there is no calculation “{name}”; near it:", *(f"  {key}: {titles[key]}" for key in close), more]
    return "\n".join(lines)


def nearest(name: str, titles: Mapping[str, str]) -> list[str]:
    """Return the calculations that may be meant, the likeliest first."""
    word = name.rpartition(".")[2].lower()
    ranked = []
    for key, title in titles.items():
        last = key.rpartition(".")[2].lower()
        alike = max(difflib.SequenceMatcher(None, word, part).ratio() for part in (last, *last.split("_")))
        signs = (word == last, last.startswith(word), word in last, matches(word, key, title), alike >= 0.75)
        if word and any(signs):
            ranked.append((signs.index(True), -alike, key))
    return [key for _, _, key in sorted(ranked)[:NEAREST]]


def matches(word: str, key: str, title: str) -> bool:
    """Whether a word is the subject of a calculation, or stands in its name or title."""
    low = word.lower()
    return key.lower().startswith(f"{low}.") or low in key.rpartition(".")[2].lower() or low in title.lower()


def reaching(calculation: Calculation, given: Mapping[str, Sequence[Any]], beyond: Collection[str]) -> Iterator[str]:
    """Give the calculations of the same subject and result that take what lies beyond the range of this one.

    They have the same results by name and kind, and the argument with the same name, kind and meaning; every value that is
    given for it lies in their range.
    """
    for other in rooms(calculation.key).values():
        same = [name for name in given if name in other.params and alike(other.params[name], calculation.params[name])]
        if other is calculation or other.kinds != calculation.kinds or not set(beyond) <= set(same):
            continue
        if all(taken(other.params[name], value) for name in same for value in given[name]):
            says = ", ".join(f"{name} {wanted(other.params[name])}" for name in given if name in beyond)
            form = f" with form={other.form_name}" if other.form_name else ""
            yield plain(f"{base(other)}{form} ({other.title}) takes {says}")


def alike(one: Param, other: Param) -> bool:
    """Whether two arguments are the same thing, whatever their ranges."""
    return (one.kind, one.meaning) == (other.kind, other.meaning)


def taken(param: Param, value: Any) -> bool:
    """Whether an argument takes a value."""
    try:
        param.plain(value, "")
    except InputError:
        return False
    return True
