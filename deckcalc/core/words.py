"""The trade's own words, from one file: those of a US job read American, and odd wordings are named with what replaces them."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

#: What is no prose: code, mathematics, addresses, attributes, file names; also words that only look like one of the trade.
ASIDE = (
    r"^(?P<fence>`{3,}|~{3,})[\s\S]*?(?:^(?P=fence)|\Z)",
    r"`[^`\n]*`",
    r"(?<![\\$])\$\$[^$]*\$\$",
    r"(?<![\\$])\$(?=[^\s$])(?:[^$\n]|\n(?!\n))*(?<=[^\s\\])\$(?!\d)",
    r"\b(?:https?|mailto):[^\s)>\]]+",
    r"(?<=\])\([^()\s]*\)",
    r"\{[#.][^{}\n]*\}",
    r"\b(?:class|id|href|src|style)=\"[^\"]*\"",
    r"(?<![\w./-])[\w./-]+\.(?:csv|toml|ipynb|html|pdf|docx|json|geojson|dxf|xlsx|ods|py|md|png|svg)\b",
    r"\b(?:current|probability) densit(?:y|ies)\b",
    r"\bmolar mass(?:es)?\b|\bmass concrete\b|\bmass transit\b",
)


@dataclass(frozen=True)
class Term:
    """One term of the glossary.

    Attributes
    ----------
    term : str
        As an SI package writes it.
    us : str
        As a US package writes it.
    meaning : str
        For whoever learns the trade; empty where the term explains itself.
    instead_of : tuple of str
        Wordings that it replaces.
    """

    term: str
    us: str
    meaning: str
    instead_of: tuple[str, ...]


@cache
def glossary() -> tuple[Term, ...]:
    """Return the terms of the file glossary.csv, in its order."""
    lines = (files("deckcalc.core") / "glossary.csv").read_text(encoding="utf-8").splitlines()
    return tuple(
        Term(
            row["term"],
            row["US"] or row["term"],
            row["meaning"],
            tuple(filter(None, row["instead_of"].split(";"))),
        )
        for row in csv.DictReader(line for line in lines if not line.startswith("#"))
    )


def plural(word: str) -> str:
    """Return the plural of an English word.

    >>> [plural(word) for word in ("bar", "batch", "gallery", "bay", "OK")]
    ['bars', 'batches', 'galleries', 'bays', 'OKs']
    """
    if re.search(r"[^aeiou]y$", word):
        return word[:-1] + "ies"
    return word + ("es" if re.search(r"(?:s|x|z|ch|sh)$", word) else "s")


def how_many(count: int, word: str) -> str:
    """Return a number with its word.

    >>> how_many(1, "bar"), how_many(2, "batch")
    ('1 bar', '2 batches')
    """
    return f"{count} {word if count == 1 else plural(word)}"


@cache
def american() -> dict[str, str]:
    """Return the US form of every term that has one of its own, and of its plural."""
    own = {one.term: one.us for one in glossary() if one.us != one.term}
    return {plural(term): plural(us) for term, us in own.items()} | own


@cache
def us_names(known: tuple[str, ...]) -> dict[str, str]:
    """Return names of fields by their US spelling, where it differs: ``from_curb`` for ``from_kerb``."""
    spelled = {one: worded(one.replace("_", " "), "US").replace(" ", "_") for one in known}
    return {us: one for one, us in spelled.items() if us != one and us not in known}


@cache
def term() -> str:
    """Return the expression of a term to be replaced, the longer one first."""
    terms = "|".join(map(re.escape, sorted(american(), key=len, reverse=True)))
    return rf"(?<![\w-])(?P<term>(?i:{terms}))(?!\w)"


@lru_cache(16)
def pattern(keep: frozenset[str]) -> re.Pattern[str]:
    """Return the expression that finds what is kept, or a term to be replaced; of what is kept only that which holds a term."""
    touched = [one for one in keep if re.search(term(), one)]
    kept = [rf"(?<!\w){re.escape(one)}(?!\w)" for one in sorted(touched, key=len, reverse=True)]
    return re.compile(f"(?m:{'|'.join([*ASIDE, *kept])})|{term()}")


def worded(text: str, system: str, keep: Iterable[str] = ()) -> str:
    """Return a text in the words of the job's unit system: that of a US job reads American.

    Code, mathematics between dollar signs, addresses and file names stay as they are.

    Parameters
    ----------
    text : str
        Plain text or Markdown.
    system : str
        “SI”, which changes nothing, or “US”.
    keep : iterable of str
        What the user wrote: names of the bridge, people and items, sources. It stays as it is.

    Returns
    -------
    str

    Examples
    --------
    >>> worded("Kerbs and the second moment of area: not satisfied, see `kerb.csv`", "US")
    'Curbs and the moment of inertia: NG, see `kerb.csv`'
    >>> worded("Made by Kerb & Sons beside the kerb", "US", ["Kerb & Sons"])
    'Made by Kerb & Sons beside the curb'
    """
    if system != "US":
        return text
    terms = american()

    def american_of(found: re.Match[str]) -> str:
        one = found["term"]
        if one is None:
            return found[0]
        us = terms[one.lower()]
        if one.isupper():
            return us.upper()
        return us[0].upper() + us[1:] if one[0].isupper() else us

    return pattern(frozenset(keep)).sub(american_of, text)
