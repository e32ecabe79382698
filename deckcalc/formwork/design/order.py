"""What the forms take from the yard: pieces, hangers, sheets, oil."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from deckcalc import formwork
from deckcalc.base.subject import Material
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Quantity
from deckcalc.formwork.design import Forms, Layout, si

if TYPE_CHECKING:
    from deckcalc.job import Job

SHEET = "05 Formwork"


def Q(value: float, unit: str) -> Quantity:
    """Return a quantity."""
    return units.registry().Quantity(float(value), unit)


def carrier_length(form: Layout) -> float:
    """Return the length of a strongback or stringer in metres."""
    rules = form.rules
    return form.b + (2 * (rules.clear + rules.bearing) if form.hanger is not None else 2 * rules.lap)


def pieces(form: Layout) -> list[tuple[str, str, int, float]]:
    """Return part, name in the yard, number and length in metres of every piece of lumber of a form."""
    found, rules = form.found, form.rules
    parts = [("joist", form.joist.lumber, found.n_b + 1, form.a + 2 * rules.lap)]
    name = "strongback" if form.hanger is not None else "stringer"
    parts.append((name, form.carrier.lumber, found.n_a + 1, carrier_length(form)))
    if form.shore is not None and form.hole.height is not None:
        t = si(units.registry().Quantity(float(formwork.panel_row(form.panel.type)["t [in]"]), "in"), "m")
        stack = t + si(form.joist.depth, "m") + si(form.carrier.depth, "m")
        parts.append(("shore", form.shore.lumber, (found.n_a + 1) * (found.n_p + 1), si(form.hole.height, "m") - stack))
    return parts


def hanger_length(form: Layout) -> float:
    """Return wire or rod of one hanger in metres: through joist, panel, slab and strongback, and 150 mm at each end."""
    assert form.hanger
    t = si(units.registry().Quantity(float(formwork.panel_row(form.panel.type)["t [in]"]), "in"), "m")
    through = form.t + t + si(form.joist.depth, "m") + si(form.carrier.depth, "m") + 0.3
    return through * (si(form.hanger.strands, "") if form.hanger.kind == "wire" else 1)


def order(job: Job, subject: Forms) -> None:
    """Add up what all forms take from the yard, hold it against what lies there, and list it."""
    needed: dict[str, int] = {}
    for form in subject.layouts:
        for _, name, count, size in pieces(form):
            row = next(row for row in job.file.rows["lumber"] if row.lumber == name)
            needed[name] = needed.get(name, 0) + math.ceil(count / math.floor(si(row.length, "m") / size + 1e-9))
    count_kind = units.kind_of(units.Count)
    for name, count in needed.items():
        row = next(row for row in job.file.rows["lumber"] if row.lumber == name)
        limit = Limit("yard", "pieces in the yard", row.pieces, count_kind, "lumber.csv")
        subject.checks.append(
            Check("all holes", f"lumber {name}, pieces for all forms", Q(count, ""), limit, "at most", "order more")
        )
        cut = f"{job.show(row.breadth, units.Length)} × {job.show(row.depth, units.Length)}, {job.show(row.length, units.Distance)} long"
        subject.materials.append(
            Material(f"Lumber {name}, {row.grade}, {cut}", f"{count} pieces", "cut to the lists", SHEET)
        )
    for form in subject.layouts:
        sheets = panel_sheets(form)
        subject.materials.append(
            Material(
                f"Panel {form.panel.panel}, {form.panel.type}, {form.item}", f"{sheets} sheet(s)", "whole sheets", SHEET
            )
        )
        if form.hanger is not None:
            number = (form.found.n_a + 1) * (form.found.n_b + 1)
            run = job.show(Q(number * hanger_length(form), "m"), units.Distance)
            subject.materials.append(
                Material(f"Hangers {form.hanger.hanger}, {form.hanger.size}, {form.item}", f"{number}, {run} in all",
                         f"{2 * number} plates", SHEET)
            )  # fmt: skip
    oil = sum(si(run.result.V, "L") for run in subject.runs_of(formwork.form_oil))
    want = job.head.formwork
    assert want
    subject.materials.append(Material(f"Form oil: {want.oil}", job.show(Q(oil, "L"), units.Liquid), "no spare", SHEET))
    seal = sum(2 * (form.a + form.b) for form in subject.layouts)
    subject.materials.append(
        Material("Sealing strip at the edges", job.show(Q(seal, "m"), units.Distance), "no spare", SHEET)
    )


def panel_sheets(form: Layout) -> int:
    """Return whole sheets that the soffit takes."""
    rules, long, wide = form.rules, si(form.panel.length, "m"), si(form.panel.width, "m")
    span, joists = (long, wide) if form.panel.grain == "across" else (wide, long)
    return math.ceil((form.b + 2 * rules.lap) / span - 1e-9) * math.ceil((form.a + 2 * rules.lap) / joists - 1e-9)
