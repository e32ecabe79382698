"""Which works a package cites: what it is worked out from, and every mark such as [ACI 318-11] in its text."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from deckcalc.core.sources import Cite, bibliography
from deckcalc.job import Job


def cited(job: Job, printed: str = "") -> dict[str, set[Cite]]:
    """Return the works that a package cites, by key in the order of their short names, with the places that are known.

    Parameters
    ----------
    job : Job
    printed : str
        The text of the sheets: what it marks is cited, and nothing else. Without it, the works that the job rests on
        and those that its own texts mark.

    Returns
    -------
    dict of set of Cite
        A work that only a text marks has no place.
    """
    places: dict[str, set[Cite]] = {}
    for cite in rests_on(job):
        places.setdefault(cite.key, set()).add(cite)
    keys = marks(printed) if printed else {*places, *(key for text in texts(job) for key in marks(text))}
    works = bibliography()
    return {key: places.get(key, set()) for key in sorted(keys, key=lambda key: works[key].short.lower())}


def rests_on(job: Job) -> Iterator[Cite]:
    """Give every place that the calculations, look-ups, tables, limits and checks of a job name."""
    for subject in job.subjects:
        for run in subject.runs:
            yield from (cite for cite in run.calculation.source if cite.key)
            yield from (
                cite for line in run.calculation.lines if line.helper for cite in line.helper.source if cite.key
            )
        yield from (cite for cite in subject.cites if cite.key)
        yield from (
            one.limit.source for one in subject.checks if isinstance(one.limit.source, Cite) and one.limit.source.key
        )
    yield from (
        one.source
        for key, one in job.file.limits.items()
        if key in job.rests_on and isinstance(one.source, Cite) and one.source.key
    )


def texts(job: Job) -> Iterator[str]:
    """Give the texts of a job in which a work may be marked: its files, and what its subjects say."""
    yield from (data.decode("utf-8-sig", "replace") for data in job.file.verbatim.values())
    for subject in job.subjects:
        yield from (*subject.notes, *subject.decisions.values(), *(one.why for one in subject.checks))
        yield from (material.source for material in subject.materials)
        yield from (note for run in subject.runs for note in run.calculation.notes)


@cache
def _marks() -> tuple[re.Pattern[str], dict[str, str]]:
    keys = {work.short: key for key, work in bibliography().items()}
    return re.compile(rf"\[({'|'.join(map(re.escape, keys))})\]"), keys


def marks(text: str) -> set[str]:
    r"""Return the keys of the works that a text marks by their short names, escaped as in Markdown or not.

    Examples
    --------
    >>> sorted(marks(r"as in [ACI 306R-88] and \[NAVEDTRA 14070\], 1 \[m\]"))
    ['aci306r-88', 'navedtra-14070']
    """
    pattern, keys = _marks()
    return {keys[found] for found in pattern.findall(re.sub(r"\\(.)", r"\1", text))}


def anchor(key: str) -> str:
    """Return the name of the entry of a work in the list of works, as a link calls it."""
    return "src-" + re.sub(r"[^a-z0-9-]", "-", key.lower())


def linked(text: str) -> str:
    """Return Markdown in which each mark of a work links to its entry; the list of works has the entries themselves."""
    pattern, keys = _marks()
    body, head, listed = text.partition("\n# Sources cited")
    known = set(re.findall(r'<div id="(src-[\w-]+)">', listed))

    def link(found: re.Match[str]) -> str:
        name = anchor(keys[found[1]])
        return f"[\\[{found[1]}\\]](#{name})" if name in known else found[0]

    return re.sub(rf"\\?\[({pattern.pattern[3:-3]})\\?\](?!\()", link, body) + head + listed
