"""What all forms take from stock: checked against what is in stock, and listed."""

from __future__ import annotations

from deckcalc.base.subject import Material
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import quantity
from deckcalc.core.words import how_many
from deckcalc.formwork.design.forms import Forms, si
from deckcalc.formwork.inputs import LumberRow

SHEET = "05 Formwork"


def order(forms: Forms) -> None:
    """Add up what all forms take from stock, check it against what is in stock, and list it."""
    needed: dict[str, tuple[LumberRow, int]] = {}
    for piece in (piece for form in forms for piece in form.pieces):
        _, count = needed.get(piece.row.lumber, (piece.row, 0))
        needed[piece.row.lumber] = piece.row, count + piece.stock
    for name, (row, count) in needed.items():
        limit = Limit("yard", "pieces in stock", row.pieces, units.kind_of(units.Count), "lumber.csv")
        forms.checks.append(
            Check("all holes", f"lumber {name}, pieces for all forms", quantity(float(count)), limit, "at most", "order more")
        )  # fmt: skip
        cut = f"{forms.show(row.breadth, units.Length)} × {forms.show(row.depth, units.Length)}, {forms.show(row.length, units.Distance)} long"
        forms.materials.append(
            Material(f"Lumber {name}, {row.grade}, {cut}", f"{count} pieces", "cut to the lists", SHEET)
        )
    for form in forms:
        panel = f"Panel {form.panel.panel}, {form.panel.type}, {form.item}"
        forms.materials.append(Material(panel, how_many(form.sheets, "sheet"), "whole sheets", SHEET))
        if form.hanger is not None:
            length = units.show_at_least(quantity(form.hangers * form.hanger_length, "m"), units.Distance, forms.system)
            forms.materials.append(
                Material(f"Hangers {form.hanger.hanger}, {form.hanger.size}, {form.item}", f"{form.hangers}, {length} in all",
                         f"{2 * form.hangers} plates", SHEET)
            )  # fmt: skip
    oil = sum(si(form.oil.V, "L") for form in forms if form.oil)
    if oil:
        forms.materials.append(
            Material(
                f"Form oil: {forms.choices.oil}",
                units.show_at_least(quantity(oil, "L"), units.Liquid, forms.system),
                "no spare",
                SHEET,
            )
        )
    seal = units.show_at_least(quantity(sum(form.seal for form in forms), "m"), units.Distance, forms.system)
    forms.materials.append(Material("Form seal tape at the edges", seal, "no spare", SHEET))
