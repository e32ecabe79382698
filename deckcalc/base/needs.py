"""What makes a subject part of a job, and what it needs to be worked out; each room declares its own."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Needs:
    """When a subject is part of a job, and when it can be worked out.

    A name is that of a section of job.toml (``formwork``), of a field (``deck.slab_thickness``), of a table (``bars``), or of
    another subject that comes before it (``patch``).

    Parameters
    ----------
    about : str
        How people call it: patches, bars, mix.
    asked_by : tuple of str
        Any of these in a job asks for it.
    wants : tuple of tuple
        Of each, one has to be there.
    blocks : str
        What is not worked out where one is missing.
    also : dict of tuple
        By section: what that section wants besides.
    """

    about: str
    asked_by: tuple[str, ...]
    wants: tuple[tuple[str, ...], ...]
    blocks: str
    also: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def missing(self, job: Given) -> list[str]:
        """Return what is missing, in words; empty where all is there."""
        groups = [*self.wants, *((name,) for section, names in self.also.items() if job.has(section) for name in names)]
        return list(dict.fromkeys(" or ".join(map(job.words, one)) for one in groups if not any(map(job.has, one))))


@dataclass(frozen=True)
class Given:
    """What stands in a job.

    Parameters
    ----------
    settings : Any
        ``job.toml``.
    rows : mapping
        Tables by name.
    ready : collection of str
        Keys of the subjects that can be worked out.
    subjects : mapping of str
        How people call each subject, by its key.
    """

    settings: Any
    rows: Mapping[str, list[Any]]
    ready: Collection[str]
    subjects: Mapping[str, str]

    def has(self, name: str) -> bool:
        """Whether a section, field, table or subject is there."""
        if name in self.rows:
            return bool(self.rows[name])
        if name in self.subjects and (name in self.ready or not hasattr(self.settings, name)):
            return name in self.ready
        place = self.settings
        for part in name.split("."):
            place = getattr(place, part, None)
        return place is not None

    def words(self, name: str) -> str:
        """Return a name as a person finds it in the job folder."""
        if name in self.rows:
            return f"{name}.csv"
        if hasattr(self.settings, name.partition(".")[0]):
            return name if "." in name else f"the section [{name}]"
        return f"the {self.subjects[name]}"
