"""The basis of a package: codes, loads and factors, material values, what is open, excluded or not verified."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from deckcalc.base.subject import OpenItem
from deckcalc.core.sources import bibliography
from deckcalc.core.text import plain
from deckcalc.core.units import Quantity
from deckcalc.job import Job
from deckcalc.job.settings import WORDS
from deckcalc.package import front
from deckcalc.package.schedule import sheet
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

#: Loads and factors of a job: its sections and the fields in them.
LOADS = (
    ("deck_strip", ("gamma_slab", "gamma_overlay", "gamma_live", "condition", "wheel", "wheel_factor", "positive_moment", "negative_moment")),
    ("formwork", ("load_set", "placing", "unit_weight", "self_weight", "impact", "suction", "uplift")),
    ("formwork.plates", ("wheel", "impact", "braking", "rebound")),
)  # fmt: skip

#: What open items on values from memory begin with.
REST = "verdicts rest on them, hold them against the print: "


def codes(job: Job) -> Text:
    """Works by which each subject is worked out, each linked to its entry with its edition."""
    known = bibliography()
    rows = []
    for subject in job.subjects:
        keys = dict.fromkeys(cite.key for run in subject.runs for cite in run.calculation.source if cite.key)
        if keys:
            rows.append([sheet(subject.key), plain(subject.title), "; ".join(f"[{known[key].short}]" for key in keys)])
    return Text(pipe_table(["sheet", "subject", "worked out by"], rows, "lll")) if rows else Text("")


def loads(job: Job) -> Text:
    """Loads and factors that the job states, and who set each."""
    rows = []
    for path, names in LOADS:
        section: Any = job.settings
        for part in path.split("."):
            section = getattr(section, part, None)
        for name in names if section is not None else ():
            value = getattr(section, name, None)
            if value is not None:
                described = str(type(section).model_fields[name].description).partition(";")[0]
                who = "the engineer" if name in section.model_fields_set else "built-in"
                rows.append([plain(described), printed(job, section, name, value), who])
    return Text(pipe_table(["load or factor", "value", "set by"], rows, "lrl")) if rows else Text("")


def printed(job: Job, section: Any, name: str, value: Any) -> str:
    """Return a value of a section in the units of the job."""
    if not isinstance(value, Quantity):
        return plain(str(value))
    kind = next((mark.kind for mark in type(section).model_fields[name].metadata if hasattr(mark, "kind")), None)
    return job.show(value, kind) if kind is not None else plain(f"{value:~P}")


def materials(job: Job) -> Text:
    """Measures, allowances and material values on which results rest, with their source."""
    rows = front.inputs_that_carry(job)
    return Text(pipe_table(["value", "taken as", "where from"], rows, "lrl")) if rows else Text("")


def set_by_the_engineer(job: Job) -> Text:
    """Limits that the engineer set in place of built-in ones."""
    return front.limits(job, only_own=True)


def open_items(job: Job) -> Text:
    """Every open item that stops work: what is open and why, what it stops, who decides and by when, and what was decided."""
    rows = list(listed(one for one in job.open_items if one.stops != front.SIGNATURE))
    if not rows:
        return Text("No open item stops the work.\n")
    lead = (
        "A check that is not satisfied, or that no model here covers, is open until the person named decides it; nothing that it stops may "
        "go on before, and nobody signs before all are decided. A decision is written into job.toml, with the words of the item."
    )
    return block(
        [lead, pipe_table(["no.", "patches", "what is open and why; what it stops, who decides, by when"], rows, "lll")]
    )


def unverified(job: Job) -> Text:
    """Sources that nobody has seen in print and verdicts rest on."""
    rows = [
        [row[0], row[2].replace(REST, "")]
        for row in listed(one for one in job.open_items if one.stops == front.SIGNATURE)
    ]
    lead = "Verdicts rest on these values and nobody has seen them in print; the checker holds them against it before anybody signs."
    return block([lead, pipe_table(["no.", "value from memory"], rows, "ll")]) if rows else Text("")


def listed(items: Any) -> Iterator[list[str]]:
    """Give open items as rows."""
    one: OpenItem
    for one in items:
        said = f"**{plain(one.what)}**: {plain(one.why)}."
        if one.stops != front.SIGNATURE:
            said += f" *Stops {plain(one.stops)}; {plain(one.decides)}, {plain(one.by)}.*"
        said += f" **Decided:** {plain(one.decision)}." if one.decision else ""
        yield [str(one.number), ", ".join(one.patches), said]


def exclusions(job: Job) -> Text:
    """Say what the package does not cover: subjects that it does not hold, and inputs that were confirmed though unusual."""
    left = [word for key, word in WORDS.items() if key not in job.file.ready and key not in job.file.lacking]
    parts = [f"Not in this package, and settled elsewhere: {', '.join(left)}."] if left else []
    deck = job.settings.deck
    parts.append(f"The deck is a {deck.kind}; prestressed, post-tensioned and box decks need their own design.")
    return block([" ".join(parts), *front.confirmed(job)])
