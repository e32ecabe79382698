"""The parts of a sheet that all subjects share: checks, tables of what was measured, decisions, cautions.

Each function returns text in Markdown that a notebook shows and the package binds.
"""

from __future__ import annotations

import datetime
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from deckcalc.base.fields import InRange
from deckcalc.base.subject import OpenItem, Subject
from deckcalc.core import check, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.text import plain
from deckcalc.published import Comparison
from deckcalc.show.display import html_table
from deckcalc.show.hand import pipe_table


class Text(str):
    """Markdown that a notebook shows as text."""

    def _repr_markdown_(self) -> str:
        return str(self)


def block(parts: Iterable[str]) -> Text:
    """Join paragraphs."""
    return Text("\n\n".join(part.strip("\n") for part in parts if part.strip()) + "\n")


def caution(*lines: str) -> Text:
    """Frame words of caution."""
    body = "\n\n".join(lines)
    return Text(f'<div class="caution">\n\n**Caution.** {body}\n\n</div>\n')


def verdicts(checks: Sequence[check.Check], system: str, left_open: Iterable[OpenItem] = ()) -> Text:
    """Table of checks: demand, limit, utilisation, verdict in words, and the number of the open item that speaks for it."""
    numbers = {id(check): str(one.number) for one in left_open if one.number for check in one.checks}
    rows = []
    for one in checks:
        demand, limit = one.printed(system)
        verdict = one.words if one.verdict == check.SATISFIED else f"**{one.words}**"
        number = numbers.get(id(one), "settled" if one.settled else "")
        rows.append([plain(one.item), plain(one.title), demand, f"{one.sense} {limit}", one.percent, verdict, number])
    heads = ["item", "check", "value", "limit", "utilised", "verdict", "open item"]
    last = len(heads) if any(row[-1] for row in rows) else len(heads) - 1
    return Text(pipe_table(heads[:last], [row[:last] for row in rows], "llrrrlr"[:last]))


#: Share of its limit from which a check that is satisfied is shown on its sheet.
NEAR = 0.9


def checks(subject: Subject[Any], *, above: Sequence[check.Check] = (), elsewhere: Container[str] = ()) -> Text:
    """Checks of one subject that are not satisfied, not covered or near their limit, and the numbers of its open items.

    Checks of the items named stand `elsewhere`; those that stand `above` on the sheet are not printed again.
    """
    if not subject.checks:
        return block([open_numbers(subject)])
    mine = [one for one in subject.checks if one.item not in elsewhere]
    near = [one for one in mine if one.verdict != check.SATISFIED or (one.utilisation or 0.0) >= NEAR]
    shown = [one for one in near if not any(one is other for other in above)]
    good = sum(one.verdict == check.SATISFIED for one in mine)
    of_them = "of the others " if len(shown) < len(near) else ""
    below = (
        f"below: those {of_them}that are not satisfied, not covered or use"
        if shown
        else f"{of_them}none is not satisfied, not covered or uses"
    )
    return block([
        f"{len(mine)} checks, {good} satisfied; all stand in the appendix, {below} {100 * NEAR:.0f} % of their limit or more.",
        str(verdicts(shown, subject.system, subject.open_items)) if shown else "", open_numbers(subject),
    ])  # fmt: skip


def open_numbers(subject: Subject[Any]) -> str:
    """Name the open items of a subject by their numbers; empty where it has none."""
    numbers = [str(one.number) for one in subject.open_items if one.number]
    return f"Open items of this sheet, numbered as among the conclusions: {', '.join(numbers)}." if numbers else ""


def measured(rows: Sequence[Any], system: str, *, filled: bool = False) -> Text:
    """Print a table of the job folder as it was measured, in the job's units; nothing if it has no rows.

    With `filled`, columns in which nothing was written down are left out.
    """
    if not rows:
        return Text("")
    model = type(rows[0])
    heads, columns = [], []
    for field, info in model.model_fields.items():
        if filled and all(is_empty(getattr(row, field)) for row in rows):
            continue
        written = next((mark for mark in info.metadata if isinstance(mark, InRange)), None)
        kind = (
            (written.kind if isinstance(written.kind, units.Kind) else units.kind_of(written.kind)) if written else None
        )
        head = {"upper": "from", "lower": "to"}.get(field, field).replace("_", " ")
        values = [getattr(row, field) for row in rows]
        if kind is None:
            columns.append([said(value) for value in values])
            heads.append(head)
            continue
        known = [in_unit(value, kind) for value in values if value is not None]
        every = [float(x) for value in known for x in units.np.atleast_1d(units.magnitude(value, kind, system))]
        exact = [units.exact_decimals(x, 4) for x in every]
        decimals = max((kind.decimals(system) if x is None else x for x in exact), default=0)
        taped = system == "US" and kind.tape and all(units.on_the_tape(x, kind) for x in every)
        unit = units.head(kind, system) if taped else kind.symbol(system)
        show = lambda one: (  # noqa: E731
            "; ".join(units.cell(part, kind, system) for part in units.np.atleast_1d(one))  # noqa: B023
            if taped  # noqa: B023
            else units.show(one, kind, system, decimals).removesuffix(kind.symbol(system)).strip()  # noqa: B023
        )
        columns.append(["" if value is None else show(in_unit(value, kind)) for value in values])
        heads.append(f"{head} [{unit}]" if unit else head)
    return Text(pipe_table(heads, list(zip(*columns, strict=True)), "l" * len(heads)))


def is_empty(value: Any) -> bool:
    """Whether nothing was written down."""
    return value is None or (isinstance(value, str) and not value)


def said(value: Any) -> str:
    """Return what a row holds as text: moments to the minute, nothing where there is nothing."""
    if isinstance(value, datetime.datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    return "" if value is None else plain(value)


def in_unit(value: Any, kind: units.Kind) -> units.Quantity:
    """Return what a row holds as a quantity; places on the deck are held as plain numbers in coherent SI."""
    return value if isinstance(value, units.Quantity) else units.quantity(value, kind.base)


def decisions(subject: Subject) -> Text:
    """What follows for each item, in words."""
    return Text(
        pipe_table(
            ["item", "what follows"], [[plain(item), plain(what)] for item, what in subject.decisions.items()], "ll"
        )
    )


def cautions(*subjects: Subject[Any]) -> Text:
    """Simplifications and cautions of subjects that share a sheet; empty where they have none."""
    notes = [plain(note) for subject in subjects for note in subject.notes]
    return caution(*notes) if notes else Text("")


#: Heads of the comparisons, and what opens the folded ones in print.
COMPARED = ("case and source", "result", "published", "ours")
UNFOLDED = "<style>@media print { details::details-content { content-visibility: visible; block-size: auto; } }</style>"


@dataclass(frozen=True)
class Comparisons:
    """Published values beside ours by subject: what differs with its reason; what agrees is folded where pages can fold."""

    rows: Sequence[Comparison]

    def parts(self) -> Iterator[tuple[str, bool, list[list[str]]]]:
        """Give each table: what it holds, whether it may be folded, its rows."""
        for subject in dict.fromkeys(map(subject_of, self.rows)):
            mine = [one for one in self.rows if subject_of(one) == subject]
            for agree in (False, True):
                if found := [one for one in mine if (one.agrees and one.reproduces) is agree]:
                    yield f"{subject}: {len(found)} {'agree' if agree else 'differ'}", agree, beside(found)

    def _repr_markdown_(self) -> str:
        return block(f"**{head}**\n\n{pipe_table(COMPARED, rows, 'llrr')}" for head, _, rows in self.parts())

    def _repr_html_(self) -> str:
        made = [UNFOLDED]
        for head, folded, rows in self.parts():
            table = html_table(head, COMPARED, rows)
            made.append(f"<details><summary>{head}</summary>{table}</details>" if folded else table)
        return "\n".join(made)

    def __repr__(self) -> str:
        return f"{len(self.rows)} published values beside ours"


def published(comparisons: Sequence[Comparison]) -> Comparisons:
    """Published values beside ours, for a notebook."""
    return Comparisons(comparisons)


def subject_of(one: Comparison) -> str:
    """Return the subject of a comparison."""
    return one.case.calculation.partition(".")[0]


def beside(comparisons: Iterable[Comparison]) -> list[list[str]]:
    """Return rows of published values beside ours; the first of a case names it, its source, and why a value differs."""
    rows = []
    for case, several in groupby(comparisons, key=lambda one: one.case):
        why = f". {case.because}" if case.because and case.provenance else ""
        first = f"{case.id.replace('-', ' ')}: {case.cite}{why}"
        for one in several:
            word = "" if one.agrees and one.reproduces else ", differs" if one.agrees else ", DISAGREES"
            rows.append([first, f"{case.calculation.partition('.')[2]}, {one.name}{word}", one.published, one.ours])
            first = "″"
    return rows


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
