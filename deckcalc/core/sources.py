"""The sources a calculation, a limit, a table or a check case may cite.

The bibliography is one file, ``references/bibliography.toml``; what is cited here is a key of it and the place in
the work. Where a value was recalled and not seen, its provenance says `memory`.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Literal, get_args

Provenance = Literal["published", "common practice", "memory"]
PROVENANCES: tuple[str, ...] = get_args(Provenance)


@dataclass(frozen=True)
class Cite:
    """A place in a source.

    Parameters
    ----------
    key : str
        Key of the bibliography; empty for common practice.
    where : str
        Section, table, equation or page.
    provenance : {"published", "common practice", "memory"}
        `memory` means recalled, not seen.
    only : tuple of str
        Choices of an argument for which alone it is cited; empty for all.
    """

    key: str
    where: str = ""
    provenance: Provenance = "published"
    only: tuple[str, ...] = ()

    def __str__(self) -> str:
        if not self.key:
            return self.provenance + (f": {self.where}" if self.where else "")
        place = f", {self.where}" if self.where else ""
        recalled = " (from memory, to be verified)" if self.provenance == "memory" else ""
        return f"[{short(self.key)}]{place}{recalled}"


@dataclass(frozen=True)
class Work:
    """An entry of the bibliography."""

    key: str
    short: str
    title: str
    edition: str
    publisher: str
    year: str

    def __str__(self) -> str:
        parts = [self.title, self.edition, self.publisher, self.year]
        return ", ".join(part for part in parts if part) + "."


def folder(name: str) -> Path:
    """Return a folder that travels with the project: ``references`` or ``notebooks``.

    In a checkout it stands beside the package; in an installed wheel inside it.
    """
    inside = Path(str(files("deckcalc"))) / f"_{name}"
    return inside if inside.is_dir() else Path(str(files("deckcalc"))).parent / name


@cache
def bibliography() -> dict[str, Work]:
    """Return all works by key."""
    with (folder("references") / "bibliography.toml").open("rb") as file:
        entries = tomllib.load(file)
    blank = {"edition": "", "publisher": "", "year": ""}
    return {key: Work(key, **{**blank, **entry}) for key, entry in entries.items()}


def short(key: str) -> str:
    """Return the short name that stands in brackets beside what is cited."""
    work = bibliography().get(key)
    if work is None:
        raise LookupError(f"the bibliography has no “{key}”")
    return work.short
