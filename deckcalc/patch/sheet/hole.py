"""One patch in plan and section, large enough to be read at arm's length: sides, diagonals, corners from joint and kerb, bars to add."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import matplotlib
import shapely

from deckcalc.patch.design import PatchDesign, Patches
from deckcalc.patch.sheet.plans import LETTERS, BarLine, PatchRow
from deckcalc.show.drafting import WIDE, Sheet, Spot
from deckcalc.show.figures import STYLE, Picture

#: Size of all texts, in points, and the side of the square that is kept free at the lower right, in millimetres.
POINTS, SQUARE = 11.0, 24.0


class Hole(PatchRow):
    """A patch as it is set out by its crew, with nothing beside it but plan and section."""

    JOINT, ACROSS, PATCH, PATCH_END, SLAB, SLAB_END = 4.0, 31.0, 37.0, 84.0, 112.0, 134.0
    PLAN_TALL, SLAB_TALL, LEAST, ROOM = 26.0, 17.0, 50.0, 1.3

    def said(self) -> Iterator[str]:
        """Give no notes: they stand among the steps."""
        return iter(())

    def clear_words(self) -> str:
        """Say how much is cleared below bars that are reached."""
        removal = self.one.removal
        if removal is None or not float(removal.n_r.m_as("")):
            return ""
        return f"clear below bars {self.length(float(self.one.clear.m_as('m')), math.ceil)}"

    @property
    def joint_number(self) -> int:
        """Number of the joint behind it."""
        return self.one.marked.span - self.plan.first_span + 1

    def places(self) -> list[tuple[str, str, str]]:
        """Return the letter of each corner, how far it lies along from the joint, and how far across from the kerb."""
        return [
            (letter, self.length(self.from_joint(x, y)), self.length(self.from_kerb(y)))
            for letter, (x, y) in zip(LETTERS, self.corners, strict=False)
        ]

    def diagonals(self) -> tuple[str, str] | None:
        """Return its diagonals, of a patch with four corners."""
        if len(self.corners) != 4:
            return None
        first, second = (shapely.Point(self.corners[i]).distance(shapely.Point(self.corners[i + 2])) for i in (0, 1))
        return self.length(float(first)), self.length(float(second))


def hole(patches: Patches, one: PatchDesign, bars: Sequence[BarLine] = ()) -> Hole:
    """Return a patch as it is set out, with the bars that run through it."""
    with matplotlib.rc_context(STYLE):
        return Hole(patches, one, [bar for bar in bars if bar.patch == one.name], Sheet(1, 1, POINTS))


def sketch(found: Hole, squares: Sequence[Sequence[int]] = ()) -> Picture:
    """Draw it, and a code of squares at the lower right.

    Parameters
    ----------
    found : Hole
    squares : sequence of sequence of int
        Rows of the code, 1 where a square is dark.
    """
    with matplotlib.rc_context(STYLE):
        _, low, _, high = found.one.marked.piece.outline.bounds
        tall = max(found.LEAST, (15.5 + 8.0) * found.ROOM + (high - low) * found.k)
        sheet = Sheet(WIDE, tall, POINTS)
        if squares:
            side, left, top = SQUARE / len(squares), WIDE - SQUARE - 1, tall - SQUARE - 1
            sheet.taken.append(shapely.box(left, top, left + SQUARE, top + SQUARE))
            sheet.axes.imshow(
                [[1 - one for one in row] for row in squares], cmap="gray", vmin=0, vmax=1, interpolation="nearest",
                extent=(left, left + side * len(squares[0]), top + SQUARE, top), aspect="auto", zorder=7,
            )  # fmt: skip
            sheet.axes.set_xlim(0, sheet.width)
            sheet.axes.set_ylim(sheet.height, 0)
        found.draw(sheet, 0.0)
        under = found.clear_words()
        if under:
            sheet.put(under, [Spot(WIDE - SQUARE - 4, tall - SQUARE / 2 - 1, "right")])
        if found.patches.system == "SI":
            sheet.put("Lengths in millimetres.", [Spot(0.5, tall - 3, "left")])
    return Picture(
        sheet.figure,
        "Heavy line: saw cut. Hatched: unsound. Crosses: depths read. Thick bars: to be added. Two strokes: not to scale.",
    )
