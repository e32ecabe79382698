"""What there is: calculations by subject or word, limits, thresholds, exposures, sources."""

from __future__ import annotations

import argparse

from deckcalc.cli.printing import near, print_table
from deckcalc.cli.teaching import base, matches
from deckcalc.core.calculation import Calculation
from deckcalc.ends import plain

LISTS = ("calculations", "limits", "thresholds", "exposures", "sources")


def list_all(options: argparse.Namespace) -> None:
    """Print what there is of a kind, or the calculations of a subject or with a word."""
    from deckcalc import chloride, published
    from deckcalc.core import sources, tables

    if options.what == "calculations":
        print_calculations(published.register())
    elif options.what == "limits":
        limits = tables.load("limits").rows
        print_table(("key", "limit", options.units, "also in print"),
                    [(row["key"], row["meaning"], row[options.units], row["alternatives"]) for row in limits])  # fmt: skip
    elif options.what == "thresholds":
        print_table(("key", "value", "extraction", "meaning", "source"),
                    [(key, f"{one.printed} {'' if one.basis == 'volume' else 'of ' + one.basis}".strip(), one.extraction, one.meaning,
                      str(one.source)) for key, one in chloride.thresholds().items()])  # fmt: skip
    elif options.what == "exposures":
        exposures = tables.load("exposure_classes").rows
        print_table(("key", "exposure", "w/cm"), [(row["class"], row["exposure"], row["w/cm"]) for row in exposures])
    elif options.what == "sources":
        print_table(("cited as", "work"), [(f"[{work.short}]", str(work)) for work in sources.bibliography().values()])
    else:
        print_calculations(found(options))


def found(options: argparse.Namespace) -> dict[str, Calculation]:
    """Return the calculations of a subject, or with a word in name or title; a word that none has is a wrong command."""
    from deckcalc import published

    if options.what in published.SUBJECTS:
        return published.register(options.what)
    word = " ".join(options.what.split())
    register = published.register()
    named = {key: one for key, one in register.items() if word and matches(word, base(one), one.title)}
    if not named:
        known = (*LISTS, *published.SUBJECTS)
        options.parser.error(
            plain(f"argument what: found “{options.what}”{near(options.what, known)}; wanted one of {', '.join(known)}, "
                  "or a word that stands in the name or title of a calculation")
        )  # fmt: skip
    return named


def print_calculations(register: dict[str, Calculation]) -> None:
    """Print calculations with title and arguments."""
    rows = [(key, one.title, ", ".join(one.params)) for key, one in sorted(register.items())]
    print_table(("calculation", "title", "arguments"), rows)
