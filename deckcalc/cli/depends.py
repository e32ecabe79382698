"""What the command line prints of what depends on what: the chain behind a result, what an input moves, and flip points."""

from __future__ import annotations

import argparse
from collections.abc import Collection
from typing import TYPE_CHECKING

from deckcalc.cli.printing import print_table, say_data
from deckcalc.core.units import InputError
from deckcalc.ends import say

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: Without words the checks nearest to their limit are searched, so many of them.
NEAREST_CHECKS = 10


def print_why(job: Job, words: str) -> None:
    """Print the calculations and inputs behind a result."""
    from deckcalc.job.depends import Chains

    for line in Chains(job).why(words).lines():
        say(f"  {line}")


def print_affected(job: Job, key: str) -> None:
    """Print what moves when an input moves."""
    from deckcalc.job.depends import affects

    found = affects(job, key)
    say(f"{found.key}, {found.filed} as filed, tried by computing the job again")
    print_table(("value", "result"), [(text, fault or "computed") for text, fault in found.tried.items()])
    say("", "Results that move")
    print_table(("sheet", "results", "items"), [
        (sheet, str(sum(items.values())), ", ".join(items)) for sheet, items in found.sheets.items()
    ])  # fmt: skip
    say("", "Checks whose margin moves")
    heads = ("check", "as filed", *(text for text, fault in found.tried.items() if not fault))
    print_table(heads, found.margins)


def print_flips(job: Job, options: argparse.Namespace) -> None:
    """Print the flip points of checks."""
    from deckcalc.job import flips
    from deckcalc.job.trials import cores, named

    known = named(job.checks)
    names = asked(known, options.check) if options.check else flips.closest(known)[:NEAREST_CHECKS]
    found = flips.flips(job, names, options.most, processes=cores())
    if options.json:
        say_data(found.data())
        return
    say(f"Single inputs that would turn a verdict, of {len(names)} of {len(known)} checks; "
        f"each set by itself, as “deckcalc rerun --set” sets it")  # fmt: skip
    print_table(flips.HEADS, [one.row for one in found.found])
    say("", "No single input of those looked at turns")
    print_table(("check", "where the search ended"), [
        (name, "; ".join(f"{where.removeprefix(f'{name}: ')} {why}" for where, why in found.ended.items() if where.startswith(f"{name}: ")))
        for name in found.firm
    ])  # fmt: skip


def asked(known: Collection[str], words: str) -> list[str]:
    """Return the checks that hold every word; none is a fault that names the command that lists them."""
    parts = words.casefold().split()
    found = [name for name in known if all(part in name.casefold() for part in parts)]
    if not found:
        raise InputError(f"no check has the words “{words}”; “deckcalc check --all” lists them")
    return found
