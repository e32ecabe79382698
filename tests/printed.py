"""Readers of facts that stand in print: the crew pages, read back, each with half of its last digit."""

import re
from functools import lru_cache

from deckcalc.core import units
from deckcalc.package import crew

NUMBER = r"([\d.]+) ([^\s,;.:|*()]+)"
#: What a crew page says of a fact, by the words about it.
SAID = {
    "printed_area": rf"across traffic, {NUMBER}",
    "printed_order": rf"concrete to mix {NUMBER}",
    "printed_cut": rf"{NUMBER} of cut\.",
    "printed_cover": rf"least cover measured {NUMBER}",
    "printed_deepest": rf"deepest reading {NUMBER}",
    "printed_bars": rf"down to {NUMBER}",
    "printed_bond": rf"{NUMBER} of face",
}


def number(text, unit):
    """Return a printed number with half of its last digit."""
    digits = len(text.partition(".")[2])
    made = units.unit(unit)
    return units.quantity(float(text), made), units.quantity(0.5000001 * 10.0**-digits, made)


@lru_cache(maxsize=4)
def pages(job):
    """Return the crew page of every patch of the plan."""
    return {name: crew.page(job, name).replace("\u00a0", " ") for name in crew.names(job)}


def said(job, words):
    """Give what the crew pages say of a fact."""
    for name, text in pages(job).items():
        if match := re.search(words, text):
            yield name, number(match[1], match[2])


def wet(job):
    """Give the area of the wet cover, by its printed sides."""
    for name, text in pages(job).items():
        if match := re.search(rf"Wet fabric and sheet {NUMBER} by {NUMBER}", text):
            (a, da), (b, db) = number(match[1], match[2]), number(match[3], match[4])
            yield name, (a * b, a * db + b * da)


PRINTED = {name: lambda job, words=words: said(job, words) for name, words in SAID.items()} | {"printed_wet": wet}
