"""The parts of a sheet that are not calculations: title, basis, checks, tables of what was measured, sign-off.

Each function returns text in Markdown that a notebook shows and the package binds.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from deckcalc import __version__
from deckcalc.base.fields import Written
from deckcalc.core import check, tables, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.sources import Cite, bibliography
from deckcalc.job import file as jobfile
from deckcalc.job.order import Job, Run, Subject
from deckcalc.published import Comparison
from deckcalc.show.hand import HandCalculation, chain, pipe_table, table

UNSIGNED = "DRAFT: this package is a draft until it is checked, and signed by the engineer of record."


class Text(str):
    """Markdown that a notebook shows as text."""

    def _repr_markdown_(self) -> str:
        return str(self)


def plain(text: str) -> str:
    """Return text of a job file so that it prints as it was written."""
    return re.sub(r"([\\`*_~^$|\[\]#<>])", r"\\\1", text)


def block(parts: Iterable[str]) -> Text:
    """Join paragraphs."""
    return Text("\n\n".join(part.strip("\n") for part in parts if part.strip()) + "\n")


def caution(*lines: str) -> Text:
    """Frame words of caution."""
    body = "\n\n".join(lines)
    return Text(f'<div class="caution">\n\n**Caution.** {body}\n\n</div>\n')


def title_sheet(job: Job) -> Text:
    """Title sheet: what the package is, of which bridge, by whom."""
    head, now = job.head, job.file.revision
    facts = [
        ("Calculation package", head.package.number), ("Subject", head.package.subject), ("Bridge", head.bridge.name),
        ("Location", head.bridge.location), ("Route", head.bridge.route), ("Owner", head.bridge.owner),
        ("Firm", head.people.firm), ("Revision", f"{now.revision}, {now.date.isoformat()}"),
        ("Units", "SI" if job.system == "SI" else "US customary"), ("Worked with", f"deckcalc {__version__}"),
    ]  # fmt: skip
    changed = [plain(f"{key} = {value}") for key, value in job.file.changes.items()]
    return block(
        [
            pipe_table(["Deck patch repair", "calculation package"], [[f"**{a}**", plain(b)] for a, b in facts], "ll"),
            caution(UNSIGNED, plain(head.package.scenario)) if head.package.scenario else caution(UNSIGNED),
            f"Inputs changed for review: {'; '.join(changed)}." if changed else "",
        ]
    )


def revisions(job: Job) -> Text:
    """Revision record."""
    rows = [[r.revision, r.date.isoformat(), plain(r.by), plain(r.note)] for r in job.head.revisions]
    return Text(pipe_table(["revision", "date", "by", "what changed"], rows, "llll"))


def contents() -> Text:
    """Place of the table of contents."""
    return Text('<div class="contents">\n\n</div>\n')


def limits(job: Job) -> Text:
    """Limits, with who set each and its source."""
    rows = []
    for limit in job.file.limits.values():
        value = units.show(limit.value, limit.kind, job.system, _decimals(limit.value, limit.kind, job.system))
        rows.append(
            [
                limit.meaning,
                value,
                "built-in" if limit.origin == "default" else "the engineer",
                plain(limit.source) if isinstance(limit.source, str) else str(limit.source),
            ]
        )
    return Text(pipe_table(["limit", "value", "set by", "source"], rows, "lrll"))


def _decimals(value: Any, kind: units.Kind, system: str) -> int:
    exact = units.exact_decimals(float(units.magnitude(value, kind, system)), 4)
    return max(kind.decimals(system) if exact is None else exact, 0)


def basis(job: Job) -> Text:
    """Codes, inputs that carry the result, assumptions and simplifications."""
    deck, removal = job.head.deck, job.head.removal
    facts = [
        ["slab thickness", job.show(deck.slab_thickness, units.Length), "job file"],
        ["top bars, outer and inner layer", f"{deck.top_bar_outer} and {deck.top_bar_inner}", "job file"],
        ["least spacing of the top bars", job.show(deck.bar_spacing, units.Length), "job file"],
        ["unit weight of the old concrete", job.show(deck.unit_weight, units.Density), "job file"],
        [
            "cement content of the old concrete",
            job.show(deck.cement_content, units.Content),
            plain(deck.cement_content_basis),
        ],
        ["over-break", job.show(removal.overbreak, units.Share), plain(removal.overbreak_source)],
    ]
    notes = [f"- {note}" for subject in job.subjects for note in subject.notes]
    return block(
        [
            "Numbers are carried in full and rounded only where they are printed; each printed line was read back and worked "
            "out again from its printed numbers to half its last digit. US customary and SI jobs give the same result "
            "except where a standard has separate hard-metric tables, which is said where it happens.",
            "### Inputs that carry the result",
            pipe_table(["input", "value", "where from"], facts, "lrl"),
            "### Limits",
            limits(job),
            "### Simplifications and cautions",
            "\n".join(notes),
        ]
    )


def verdicts(checks: Sequence[check.Check], system: str) -> Text:
    """Table of checks: demand, limit, utilisation, verdict in words."""
    rows = []
    for one in checks:
        demand, limit = one.printed(system)
        used = "" if one.utilisation is None else f"{100 * one.utilisation:.0f} %"
        verdict = one.verdict if one.verdict == check.SATISFIED else f"**{one.verdict}**"
        rows.append([one.item, one.title, demand, f"{one.sense} {limit}", used, verdict])
    return Text(pipe_table(["item", "check", "demand", "limit", "utilised", "verdict"], rows, "llrrrl"))


def summary(job: Job) -> Text:
    """Summary of all checks, with what follows from those that are not satisfied."""
    counts = {
        word: sum(one.verdict == word for one in job.checks)
        for word in (check.SATISFIED, check.NOT_SATISFIED, check.OUTSIDE)
    }
    worst = [
        f"- **{one.item}, {one.title}**: {one.verdict}; {one.why}."
        for one in job.checks
        if one.verdict != check.SATISFIED
    ]
    return block(
        [
            f"{len(job.checks)} checks: " + ", ".join(f"{count} {word}" for word, count in counts.items()) + ".",
            "\n".join(worst),
            *(
                f"### {subject.title}\n\n{verdicts(subject.checks, job.system)}"
                for subject in job.subjects
                if subject.checks
            ),
        ]
    )


def checks(job: Job, subject: Subject) -> Text:
    """Checks of one subject."""
    return verdicts(subject.checks, job.system)


def measured(job: Job, name: str) -> Text:
    """Print a table of what was measured, in the job's units."""
    model = (jobfile.ROWS | jobfile.OPTIONAL_ROWS)[name]
    heads, columns = [], []
    for field, info in model.model_fields.items():
        written = next((mark for mark in info.metadata if isinstance(mark, Written)), None)
        kind = (
            (written.kind if isinstance(written.kind, units.Kind) else units.kind_of(written.kind)) if written else None
        )
        head = {"upper": "from", "lower": "to"}.get(field, field).replace("_", " ")
        values = [getattr(row, field) for row in job.file.rows[name]]
        if kind is None:
            columns.append([str(value) for value in values])
            heads.append(head)
            continue
        every = [float(x) for value in values for x in units.np.atleast_1d(units.magnitude(value, kind, job.system))]
        exact = [units.exact_decimals(x, 4) for x in every]
        decimals = max(kind.decimals(job.system) if x is None else x for x in exact)
        columns.append(
            [
                units.show(value, kind, job.system, decimals).removesuffix(kind.symbol(job.system)).strip()
                for value in values
            ]
        )
        heads.append(f"{head} [{kind.symbol(job.system)}]" if kind.symbol(job.system) else head)
    return Text(pipe_table(heads, list(zip(*columns, strict=True)), "l" * len(heads)))


@cache
def hand_calculations(job: Job) -> dict[Run, HandCalculation]:
    """Return every run of the job written out by hand; a value handed on is printed the same at both ends."""
    runs = [run for subject in job.subjects for run in subject.runs]
    written = {run: HandCalculation(run.calculation, job.system, run.arguments, run.item, run.result) for run in runs}
    chain(list(written.values()))
    return written


def by_hand(job: Job, subject: Subject, *items: str) -> Text:
    """Write out every calculation of the items named, by hand; source and remarks stand where it comes first."""
    written = hand_calculations(job)
    parts, said = [], set()
    for run in (run for item in items or subject.items for run in subject.of(item)):
        parts.append(written[run].markdown(remarks=run.calculation not in said))
        said.add(run.calculation)
    decided = [
        f"**{item[0].upper() + item[1:]}:** {subject.decisions[item]}." for item in items if item in subject.decisions
    ]
    return block([*parts, *decided])


def tabulated(job: Job, subject: Subject, calculation: Calculation, *columns: str) -> Text:
    """Print one calculation for all of its items as a table, by the formulas written out beside it."""
    written = hand_calculations(job)
    return Text(
        f"### {calculation.title}, all items\n\n{table([written[run] for run in subject.runs_of(calculation)], columns)}"
    )


def decisions(subject: Subject) -> Text:
    """What follows for each item, in words."""
    return Text(pipe_table(["item", "what follows"], [[item, what] for item, what in subject.decisions.items()], "ll"))


def cautions(subject: Subject) -> Text:
    """Simplifications and cautions of a subject."""
    return caution(*subject.notes)


def materials(job: Job) -> Text:
    """Materials list."""
    rows = [[m.material, m.quantity, m.spare, m.source] for m in job.materials]
    return Text(pipe_table(["material", "quantity", "allowance", "from sheet"], rows, "lrll"))


def cited(job: Job) -> Text:
    """Sources that the calculations, limits and tables of this job cite."""
    cites: set[Cite] = {cite for subject in job.subjects for run in subject.runs for cite in run.calculation.source}
    for subject in job.subjects:
        for run in subject.runs:
            cites |= {cite for line in run.calculation.lines if line.helper for cite in line.helper.source}
        cites |= {one.limit.source for one in subject.checks if isinstance(one.limit.source, Cite)}
        cites |= set(subject.cites)
    cites |= {limit.source for limit in job.file.limits.values() if isinstance(limit.source, Cite)}
    works = bibliography()
    rows = []
    for key in sorted({cite.key for cite in cites if cite.key}, key=lambda key: works[key].short.lower()):
        places = sorted({cite.where for cite in cites if cite.key == key and cite.where})
        recalled = any(cite.provenance == "memory" for cite in cites if cite.key == key)
        rows.append(
            [
                f"[{works[key].short}]",
                str(works[key]),
                "; ".join(places),
                "memory, to be verified" if recalled else "published",
            ]
        )
    return Text(pipe_table(["cited as", "work", "places", "how known"], rows, "llll"))


def inputs(job: Job) -> Text:
    """Every input file as it stood, with its SHA-256."""
    parts = []
    for name, data in job.file.verbatim.items():
        parts.append(f"### {name}\n\nSHA-256 {hashlib.sha256(data).hexdigest()}")
        parts.append(f"~~~\n{data.decode('utf-8-sig').strip()}\n~~~")
    return block(parts)


def sign_off(job: Job) -> Text:
    """Originator, checker and engineer of record."""
    people, blank = job.head.people, ("\\_" * 24, "\\_" * 12)
    rows = [
        ["Originator", plain(people.originator), *blank],
        ["Checker (every number checked)", plain(people.checker), *blank],
        [
            "Engineer of record" + (f", licence {people.licence}" if people.licence else ""),
            plain(people.engineer),
            *blank,
        ],
    ]
    return block([UNSIGNED, pipe_table(["", "name", "signature", "date"], rows, "llll")])


def published(comparisons: Iterable[Comparison]) -> Text:
    """Table of published values beside ours."""
    rows = []
    for one in comparisons:
        word = "agrees" if one.agrees and one.reproduces else "differs, see reason" if one.agrees else "DISAGREES"
        rows.append([
            one.case.id, f"{one.case.calculation}, {one.name}", one.published, one.ours, f"{one.difference:+.3g}" if abs(one.difference) > 1e-6 * one.tolerance else "0", word,
            f"{one.case.cite}" + (f". {one.case.because}" if one.case.because and one.case.provenance else ""),
        ])  # fmt: skip
    return Text(
        pipe_table(
            ["case", "calculation, result", "published", "ours", "difference", "verdict", "source"], rows, "llrrrll"
        )
    )


def limit_table(system: str) -> Text:
    """Built-in limits with their sources and the other values in print."""
    rows = [
        [row["key"], row["meaning"], row[system] or "(job input)", str(Cite(row["source"], row["where"], row["provenance"])),  # type: ignore[arg-type]
         row["alternatives"]] for row in tables.load("limits").rows
    ]  # fmt: skip
    return Text(pipe_table(["key", "limit", "value", "source", "also in print"], rows, "llrll"))


def worst(subject: Subject, calculation: Calculation, name: str) -> str:
    """Return the item with the greatest value of a result."""
    return max(subject.runs_of(calculation), key=lambda run: run.results()[name]).item


def tally(comparisons: Sequence[Comparison]) -> Text:
    """Count of check cases by subject and provenance."""
    rows = []
    for subject in dict.fromkeys(one.case.calculation.partition(".")[0] for one in comparisons):
        mine = [one for one in comparisons if one.case.calculation.startswith(subject + ".")]
        counts = [
            str(len({one.case.id for one in mine if one.case.provenance == word}))
            for word in ("published", "common practice", "memory")
        ]
        agree = sum(one.agrees and one.reproduces for one in mine)
        differ = sum(one.agrees and not one.reproduces for one in mine)
        rows.append([subject, *counts, str(agree), str(differ), str(len(mine) - agree - differ)])
    heads = [
        "subject",
        "published cases",
        "common practice",
        "memory",
        "values that agree",
        "differ, with a reason",
        "disagree",
    ]
    return Text(pipe_table(heads, rows))
