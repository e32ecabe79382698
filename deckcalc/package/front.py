"""What stands at the two ends of a package: title, basis, summary, materials, sources, inputs, sign-off."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

from deckcalc import __version__
from deckcalc.base.fields import DRAFT
from deckcalc.base.limit_twins import TWIN, pairs
from deckcalc.core import units
from deckcalc.core.sources import bibliography
from deckcalc.core.text import plain
from deckcalc.job import Job
from deckcalc.job.changes import in_words
from deckcalc.job.report import tally
from deckcalc.job.settings import WORDS
from deckcalc.package import works
from deckcalc.package.decisions import numbers
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, caution, verdicts

#: What an open item stops that stops no work.
SIGNATURE = "the signature"
NOT_FOR_WORK = "NOT FOR WORK"
BLANK = "\\_" * 8
UNSIGNED = "DRAFT: this package is a draft until it is checked, and signed by the engineer of record."


def standing(job: Job) -> str:
    """Say whether the package may be signed, and what stands in the way."""
    if not job.draft:
        answered = " and every comment answered" if job.comments else ""
        return f"Checked by {plain(job.settings.people.checker)}; every open item is decided{answered}, see the conclusions."
    left = [
        counted(len(job.undecided), "open item", "among the conclusions", "undecided"),
        counted(len(job.unanswered), "comment", "of the checker", "open"),
    ]
    if not any(left):
        return UNSIGNED
    return f"{UNSIGNED} **It is not to be signed as it stands:** {', '.join(filter(None, left))}."


def counted(count: int, what: str, where: str, how: str) -> str:
    """Say how many of something there are; nothing where there is none."""
    return f"{count} {what}{'s' if count > 1 else ''} {where} {'are' if count > 1 else 'is'} {how}" if count else ""


def incomplete(
    job: Job, then: str = "What stands here is a part of the package; nothing that needs it is given."
) -> Text:
    """Say which subjects could not be computed, and why; empty if there is none."""
    lines = [plain(line) for line in job.not_computed]
    return caution("This package is incomplete.", *lines, then) if lines else Text("")


def cover(job: Job) -> Text:
    """Cover: what the package is, of which bridge, by whom, and its standing."""
    head, now = job.settings, job.file.revision
    facts = [
        ("Calculation package", f"{head.package.number}, revision {now.revision}, {now.date.isoformat()}"), ("Subject", head.package.subject),
        ("Bridge", ", ".join(filter(None, (head.bridge.name, head.bridge.location)))), ("Route, owner", "; ".join(filter(None, (head.bridge.route, head.bridge.owner)))),
        ("Firm", head.people.firm), ("In it", in_it(job)),
        ("Units, program", f"{'SI' if job.system == 'SI' else 'US customary'}; worked with deckcalc {__version__}"),
    ]  # fmt: skip
    changed = [plain(in_words(key, value)) for key, value in job.file.changes.items()]
    changed += [plain(f"{key}: {one.said}") for key, one in job.file.fitted.items()]
    lines = [plain(line.strip()) for line in head.package.letterhead.split(";") if line.strip()]
    return block(
        [
            "\\\n".join([f"**{plain(head.people.firm)}**", *lines]) if lines else "",
            pipe_table(["", ""], [[f"**{a}**", plain(b)] for a, b in facts if b], "ll"),
            caution(*filter(None, (standing(job), plain(head.package.scenario)))),
            incomplete(job),
            f"Inputs changed for review: {'; '.join(changed)}." if changed else "",
            unread(job),
        ]
    )


def in_it(job: Job) -> str:
    """Say which subjects the package holds, and which it does not: those are settled elsewhere."""
    held = [WORDS[key] for key in job.file.ready if key not in job.faults]
    left = [word for key, word in WORDS.items() if key not in job.file.ready and key not in job.file.lacking]
    return ", ".join(held) + (f"; not in it: {', '.join(left)}" if left else "")


def unread(job: Job) -> str:
    """List what stands in the job folder and was not read or not used."""
    said, *items = map(plain, job.file.not_read("\n").split("\n"))
    return "\n".join([said, "", *(f"- {item}" for item in items)]).strip()


def notebooks_of_the_job(run: Mapping[str, str], left: Sequence[str]) -> Text:
    """Say which notebooks of the job folder were run, with their SHA-256, and which were not.

    Parameters
    ----------
    run : mapping of str
        Digests by name.
    left : sequence of str
        Names of those that were not run.
    """
    parts = []
    if run:
        parts.append(
            "**Sheets of the job’s own.** These notebooks of the job folder were run and stand in this package; their text "
            "and pictures are not the library’s: "
            + "; ".join(f"{plain(name)} (SHA-256 {digest})" for name, digest in run.items())
            + "."
        )
    if left:
        names = ", ".join(map(plain, left))
        parts.append(f"**Not run.** Notebooks in the job folder were not run and are not in this package: {names}.")
    return block(parts)


def own_sheet(name: str) -> Text:
    """Mark a sheet that a notebook of the job folder shows."""
    return caution(
        f"This sheet is the job’s own: it comes from {plain(name)} in the job folder, not from the library. Its verdicts, tables and "
        "equations were held against the job; its words and pictures were not."
    )


def mark(job: Job, part: str) -> str:
    """Return the standing of a document in words: a draft, or a field set that nobody may work by."""
    if part == "field" and not_for_work(job):
        return NOT_FOR_WORK
    return DRAFT if job.draft else ""


def not_for_work(job: Job) -> str:
    """Say why nobody may work by the field set; empty if it may be worked by."""
    stops = [one for one in job.undecided if one.stops != SIGNATURE]
    parts = [] if job.file.work.adopted else ["no plan of the work is adopted"]
    if stops:
        parts.append(
            f"open item{'s' if len(stops) > 1 else ''} {numbers(stops)} stop{'' if len(stops) > 1 else 's'} the work"
        )
    return " and ".join(parts)


def revisions(job: Job) -> Text:
    """Revision block: by whom each was made, checked and approved."""
    rows = [
        [
            r.revision,
            r.date.isoformat(),
            plain(r.note),
            plain(r.by),
            plain(r.checked) or BLANK,
            plain(r.approved) or BLANK,
        ]
        for r in job.settings.revisions or [job.file.revision]
    ]
    return Text(pipe_table(["revision", "date", "what changed", "by", "checked", "approved"], rows, "llllll"))


def contents() -> Text:
    """Place of the table of contents."""
    return Text('<div class="contents">\n\n</div>\n')


def limits(job: Job, only_own: bool = False) -> Text:
    """Limits that the job rests on or sets itself, with who set each and its source; or only those that it sets."""
    rows = []
    for key, limit in job.file.limits.items():
        if limit.origin == "default" and (only_own or key not in job.rests_on):
            continue
        value = units.show_given(limit.value, limit.kind, job.system)
        rows.append(
            [
                limit.meaning,
                value,
                "built-in" if limit.origin == "default" else "the engineer",
                plain(limit.source) if isinstance(limit.source, str) else str(limit.source),
            ]
        )
    return Text(pipe_table(["limit", "value", "set by", "source"], rows, "lrll")) if rows else Text("")


def rounded_apart(job: Job) -> Text:
    """Say which built-in limits of the job are the same in both systems, and how far the others lie apart."""
    mine = {key for key, one in job.file.limits.items() if one.origin == "default"} & job.rests_on
    used = [one for one in pairs() if one.key in mine]
    if not used:
        return Text("")
    apart = [f"{one.meaning} ({one.si}, {one.us}: {one.difference})" for one in used if not one.twin]
    others = f" The others are two roundings, as they stand in print; US over SI: {'; '.join(apart)}." if apart else ""
    return Text(
        f"Of the {len(used)} built-in limits, {len(used) - len(apart)} are one value in both systems, conversions rounded by no "
        f"more than {100 * TWIN:g} %.{others}\n"
    )


def inputs_that_carry(job: Job) -> list[list[str]]:
    """Return the measures and allowances on which results rest, with their source."""
    deck, removal, file = job.settings.deck, job.settings.removal, "job file"
    bars = None if deck.top_bar_outer is None else f"{deck.top_bar_outer} and {deck.top_bar_inner}"
    weight = file if "unit_weight" in deck.model_fields_set else "built-in: normal-weight concrete, common practice"
    rows: list[tuple[str, Any, Any, str]] = [
        ("slab thickness", deck.slab_thickness, units.Length, file), ("top bars, outer and inner layer", bars, None, file),
        ("minimum spacing of the top bars", deck.bar_spacing, units.Length, file),
        ("cover of the top bars by the drawings", deck.top_cover, units.Length, file),
        ("unit weight of the existing concrete", deck.unit_weight if {"patch", "steel", "chloride"} & set(job.file.ready) else None, units.Density, weight),
        ("cement content of the existing concrete", deck.cement_content, units.Content, deck.cement_content_basis or file),
    ]  # fmt: skip
    if removal is not None:
        rows.append(("over-break", removal.overbreak, units.Share, removal.overbreak_source))
    return [
        [what, value if kind is None else job.show(value, kind), plain(where)]
        for what, value, kind, where in rows
        if value is not None
    ]


def confirmed(job: Job) -> list[str]:
    """What was asked about and the job confirms."""
    rows = [[plain(field), plain(doubt)] for field, doubt in job.file.confirmed.items()]
    return (
        ["### Unusual inputs, confirmed by the job", pipe_table(["input", "what was asked"], rows, "ll")]
        if rows
        else []
    )


def summary(job: Job) -> Text:
    """Summary of all checks, with what the job itself settled."""
    settled = [
        f"- **{plain(one.item)}, {plain(one.title)}**: {one.verdict}; settled: {plain(one.settled)}."
        for one in job.checks
        if one.settled
    ]
    return block(
        [
            incomplete(job, "No check of these subjects stands below; what is not said is not satisfied."),
            f"{tally(job)}. What follows from each that is not satisfied or not covered stands among the open items, by its number.",
            "\n".join(settled),
            *(
                f"### {subject.title}\n\n{verdicts(subject.checks, job.system, subject.open_items)}"
                for subject in job.subjects
                if subject.checks
            ),
        ]
    )


def materials(job: Job) -> Text:
    """Materials list."""
    rows = [[plain(m.material), m.quantity, plain(m.spare), plain(m.source)] for m in job.materials]
    if not rows:
        return Text("")
    listed = pipe_table(["material", "quantity", "allowance", "from sheet"], rows, "lrll")
    return (
        block([incomplete(job, "Their materials are missing from this list."), listed]) if job.faults else Text(listed)
    )


def cited(job: Job, printed: str = "") -> Text:
    """Works that the package cites; the place in a work stands where it is cited.

    Parameters
    ----------
    job : Job
    printed : str
        The text of all other sheets; see `works.cited`.
    """
    known, parts = bibliography(), []
    for key, cites in works.cited(job, printed).items():
        recalled = {cite.provenance == "memory" for cite in cites}
        how = {(): "", (False,): "", (True,): " *From memory, to be verified.*"}
        said = f"**\\[{known[key].short}\\]** {known[key]}"
        said += how.get(tuple(recalled), " *In part from memory, to be verified.*")
        parts.append(f'<div id="{works.anchor(key)}">\n\n{said}\n\n</div>')
    return Text('<div class="two">\n\n' + "\n\n".join(parts) + "\n\n</div>\n" if parts else "")


def inputs(job: Job) -> Text:
    """Every input file of the job, attached to the filed document as it stood: its size and SHA-256."""
    rows = [[plain(name), f"{len(data)}", hashlib.sha256(data).hexdigest()] for name, data in job.file.verbatim.items()]
    lead = (
        "These files are attached to the PDF of the filed document as they stood, with the manifest of all results; saved from there "
        "into a folder, they are the job, and “deckcalc package” makes the same package of them."
    )
    return block([lead, pipe_table(["file", "bytes", "SHA-256"], rows, "lrl")])


def sign_off(job: Job) -> Text:
    """Originator, checker and engineer of record; rows of a fixed height once it may be signed, see `signing.place_of`."""
    people, blank = job.settings.people, ("\\_" * 24, "\\_" * 12)
    if waits := [
        *(["every open item is decided"] if job.undecided else []),
        *(["every comment is answered"] if job.unanswered else []),
    ]:
        blank = (f"not before {' and '.join(waits)}", "")
    rows = [
        ["Originator", plain(people.originator), *blank],
        ["Checker (every number checked)", plain(people.checker), *blank],
        [
            "Engineer of record" + (f", licence {plain(people.licence)}" if people.licence else ""),
            plain(people.engineer),
            *blank,
        ],
    ]
    if job.draft:
        return Text(pipe_table(["", "name", "signature", "date"], rows, "llll"))
    rows = [[role, name, " ".join(blank)] for role, name, *_ in rows]
    return Text(f'<div class="signs">\n\n{pipe_table(["", "name", "signature and date"], rows, "lll")}\n\n</div>\n')
