"""Pieces of a form under the numbers that its drawing and its cutting list give them."""

from __future__ import annotations

from typing import NamedTuple

from deckcalc.core import units
from deckcalc.core.units import quantity
from deckcalc.formwork.design import FormDesign, Forms
from deckcalc.formwork.design.forms import TAIL, si
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, plain


def size(forms: Forms, metres: float) -> str:
    """Print a length in the small unit."""
    return forms.show(forms.length(metres), units.Length)


class Mark(NamedTuple):
    """Pieces of a form that are cut alike, under the number that they have on its drawing; `cut` is empty for what is not cut."""

    number: int
    part: str
    stock: str
    section: str
    pieces: str
    cut: str
    remark: str


def marks(forms: Forms, form: FormDesign) -> list[Mark]:
    """Return the pieces of a form in the order of their numbers."""
    across_by_along = " × ".join(size(forms, side) for side in form.reach[::-1])
    grain = "across the joists" if form.panel.grain == "across" else "along the joists"
    count, cut = "1" if form.sheets == 1 else "in parts", across_by_along
    if form.strips > 1:
        count, cut = str(form.strips), f"{size(forms, form.reach[1])} × {size(forms, form.strip_width)}"
    found = [
        (
            "soffit",
            form.panel.panel,
            plain(form.panel.type),
            count,
            cut,
            f"face grain {grain}; {form.sheets} × full sheet",
        )
    ]
    for part, row, number, length in form.pieces:
        section = " × ".join(forms.show(side, units.Length) for side in (row.breadth, row.depth))
        remark = "square ends" if part == "shore" else f"on edge; from {form.pieces_from(part)} × stock length"
        found.append((part, row.lumber, section, str(number), size(forms, length), remark))
    if form.hanger is not None:
        plate, block_high = forms.show(form.hanger.plate, units.Length), size(forms, form.rules.block)
        kind = f"{form.hanger.kind} {form.hanger.size}, {si(form.hanger.strands, ''):.0f} × strand"
        tails = size(forms, TAIL)
        found += [
            ("hanger", form.hanger.hanger, kind, str(form.hangers), size(forms, form.hanger_length), f"tails of {tails} counted in"),
            ("block", "", f"{block_high} × {block_high}", str(form.blocks), size(forms, form.rules.bearing), "under strongback ends, cleated"),
            ("plate", "", f"{plate} square", str(2 * form.hangers), "", "one above and one below at each hanger"),
        ]  # fmt: skip
    else:
        sill = f"{forms.show(form.hole.sill, units.Length)} square" if form.hole.sill is not None else ""
        found += [
            ("sill", "", sill, str(form.shores), "", "under each shore"),
            ("wedges", "", "pairs", str(form.shores), "", "on each sill"),
        ]
    found.append(
        (
            "seal",
            "",
            "at the edge of the hole",
            "",
            units.show_at_least(quantity(form.seal, "m"), units.Distance, forms.system),
            "all round",
        )
    )
    return [Mark(number, *row) for number, row in enumerate(found, 1)]


def pieces(forms: Forms, form: FormDesign) -> Text:
    """Cutting list of one form, by the numbers of its drawing."""
    heads = ["no.", "part", "stock", "section", "pieces", "cut to", "remark"]
    rows = [[str(one.number), *one[1:]] for one in marks(forms, form)]
    return Text(pipe_table(heads, rows, "lllllrl"))
