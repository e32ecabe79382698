"""Each patch in plan and section, with the lengths that a crew sets out, saws, removes and places by."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import matplotlib
import numpy as np
import shapely
from matplotlib.patches import Circle

from deckcalc.core.bars import bar_diameter
from deckcalc.patch.design import PatchDesign, Patches
from deckcalc.patch.sheet import corners_of
from deckcalc.patch.sheet.plan_lines import ends, lean
from deckcalc.show import drafting
from deckcalc.show.drafting import AXIS, HEAVY, MEDIUM, ROW, TALL, THIN, WIDE, Sheet, Spot, around
from deckcalc.show.figures import STYLE, Picture

#: Most patches on a page.
MOST = 6
LETTERS = "abcdefgh"


class BarLine(NamedTuple):
    """A bar that runs through a patch.

    Attributes
    ----------
    patch, label : str
        Number of the patch and name of the bar.
    along : bool
        Whether it runs along traffic; across it otherwise.
    station, offset : float
        A place on it, in metres.
    pieces : int
        How many bars are added beside it.
    size : str
        Size of an added bar.
    added : float or None
        Length of an added bar, centred at the place; None where it is not worked out.
    """

    patch: str
    label: str
    along: bool
    station: float
    offset: float
    pieces: int = 0
    size: str = ""
    added: float | None = None


def patch_plans(patches: Patches, bars: Sequence[BarLine] = ()) -> list[Picture]:
    """Plan and section of every patch, a page at a time.

    Parameters
    ----------
    patches : Patches
        The patches of the job.
    bars : sequence of BarLine
        The measured bars, with what is added beside them.

    Returns
    -------
    list of Picture
    """
    with matplotlib.rc_context(STYLE):
        paper = Sheet(1, 1)
        rows = [PatchRow(patches, one, [bar for bar in bars if bar.patch == one.name], paper) for one in patches]
        return [page(patches, shown) for shown in paged(rows)]


def paged(rows: Sequence[PatchRow]) -> Iterator[list[PatchRow]]:
    """Give the rows page by page."""
    shown: list[PatchRow] = []
    for row in rows:
        if shown and (len(shown) == MOST or sum(one.height for one in shown) + row.height + ROW > TALL):
            yield shown
            shown = []
        shown.append(row)
    if shown:
        yield shown


def page(patches: Patches, shown: Sequence[PatchRow]) -> Picture:
    """Draw some patches on a page."""
    sheet, top = Sheet(WIDE, sum(row.height for row in shown) + ROW), 0.0
    for row in shown:
        if top:
            sheet.line([(0, top - 0.6), (WIDE, top - 0.6)], color="0.6")
        row.draw(sheet, top)
        top += row.height
    unit = "Lengths in millimetres. " if patches.system == "SI" else ""
    sheet.put(
        f"{unit}Two strokes: not to scale. Each patch and each slab has its own scale.",
        [Spot(0.5, top + ROW / 2, "left")],
    )
    bars = (
        " Thin lines: bars as measured, heavy ones: bars to be added, as long as they are cut."
        if any(row.bars for row in shown)
        else ""
    )
    return Picture(
        sheet.figure,
        "Patches in plan, stations ahead to the right, and in section. Heavy line: limits of the saw cut; hatched: unsound concrete; crosses: "
        f"depth readings.{bars}",
    )


class PatchRow:
    """A patch with all that stands in its row of the page."""

    #: Where things stand in a row, in millimetres from the left: joint, dimensions across, patch, section with its dimensions.
    JOINT, ACROSS, PATCH, PATCH_END, SLAB, SLAB_END, NOTES = 4.0, 26.0, 31.0, 80.0, 108.0, 137.0, 88.0
    #: Heights in a row: patch, slab in section, everything over the notes, least height.
    PLAN_TALL, SLAB_TALL, OVER_NOTES, LEAST = 15.5, 8.0, 17.0, 34.8
    #: Room for a line of type, as a share of that of all drawings.
    ROOM = 1.0

    def __init__(self, patches: Patches, one: PatchDesign, bars: Sequence[BarLine], paper: Sheet) -> None:
        self.patches, self.one, self.bars, self.plan = patches, one, bars, patches.inputs.plan
        self.corners = corners_of(one.marked)
        x_1, y_1, x_2, y_2 = one.marked.piece.outline.bounds
        self.joint, _ = ends(patches, one.marked.span)
        self.left = y_1 - self.plan.left <= self.plan.right - y_2
        self.square = len(self.corners) == 4 and not self.plan.skew and np.isclose(self.corners[:, None], [(x_1, y_1), (x_2, y_2)], atol=1e-6).any(axis=1).all()  # fmt: skip
        self.k = min((self.PATCH_END - self.PATCH) / (x_2 - x_1), self.PLAN_TALL / (y_2 - y_1))
        self.notes = [line for note in self.said() for line in paper.wrapped(note, WIDE - self.NOTES)]
        self.height = max(self.LEAST, self.OVER_NOTES + ROW * len(self.notes) + 2)

    def length(self, metres: float, rounded: Any = round) -> str:
        """Write a length as it is measured."""
        return drafting.measured(metres, self.patches.system, rounded)

    def from_joint(self, x: float, y: float) -> float:
        """Return how far a place lies from the joint behind it, along the deck."""
        return x - self.joint - y * lean(self.patches)

    def from_kerb(self, y: float) -> float:
        """Return how far a place lies from the nearer kerb."""
        return y - self.plan.left if self.left else self.plan.right - y

    @property
    def kerb(self) -> str:
        """The kerb that is nearer."""
        return f"{'left' if self.left else 'right'} {drafting.words_for(self.patches.system)['kerb']}"

    def said(self) -> Iterator[str]:
        """Give the notes beside the plan."""
        one, size = self.one, lambda q: float(q.m_as("m"))
        saw, most = size(self.patches.limit("saw_depth").value), size(one.saw)
        if saw > most + 1e-6:
            yield f"saw no deeper than {self.length(most, math.floor)}: the planned {self.length(saw)} meets bars"
        else:
            yield f"saw {self.length(saw, math.floor)} deep, never over {self.length(most, math.floor)}"
        low, high = self.length(size(one.cover.least), math.floor), self.length(size(one.cover.greatest), math.ceil)
        freed = one.removal is not None and float(one.removal.n_r.m_as("")) > 0
        clear = f"; clear under exposed bars {self.length(size(one.clear), math.ceil)}" if freed else ""
        yield (f"cover {low}" if low == high else f"cover {low} to {high}") + clear
        if len(self.corners) == 4:
            first, second = (self.length(float(np.hypot(*(self.corners[i] - self.corners[i + 2])))) for i in (0, 1))
            yield f"diagonals a–c and b–d: {first}" if first == second else f"diagonals a–c {first}, b–d {second}"
        if not self.square:
            number = one.marked.span - self.plan.first_span + 1
            yield f"corners: along from joint {number}, across from {self.kerb}"
            for letter, (x, y) in zip(LETTERS, self.corners, strict=False):
                yield f"{letter}: {self.length(self.from_joint(x, y))}, {self.length(self.from_kerb(y))}"
        if one.through is not None:
            x_1, y_1, x_2, y_2 = one.through.bounds
            near = y_1 if self.left else y_2
            yield (f"crossed: full depth, {self.length(x_2 - x_1)} × {self.length(y_2 - y_1)}, from {self.length(self.from_joint(x_1, near))} off the "
                   f"joint and {self.length(self.from_kerb(near))} off the kerb")  # fmt: skip
        yield from self.added()

    def groups(self) -> dict[tuple[bool, int, str, float | None], list[BarLine]]:
        """Return the bars beside which bars are added, like ones together."""
        found: dict[tuple[bool, int, str, float | None], list[BarLine]] = {}
        for bar in self.bars:
            if bar.pieces:
                found.setdefault((bar.along, bar.pieces, bar.size, bar.added), []).append(bar)
        return found

    def added(self) -> Iterator[str]:
        """Say which bars are added."""
        for (_, count, size, added), bars in self.groups().items():
            cut = "length by the engineer" if added is None else self.length(added, math.ceil)
            beside = ", ".join(bar.label for bar in bars)
            yield f"add {count} bar{'' if count == 1 else 's'} {size} × {cut} beside {'each of ' if len(bars) > 1 else ''}{beside}"

    def at(self, x: float, y: float) -> drafting.Point:
        """Return the place of a station and an offset on the sheet."""
        x_1, y_1, _, _ = self.one.marked.piece.outline.bounds
        return self.PATCH + (x - x_1) * self.k, self.low + (y - y_1) * self.k

    def draw(self, sheet: Sheet, top: float) -> None:
        """Draw the row."""
        one, outline = self.one, self.one.marked.piece.outline
        self.sheet, self.top = sheet, top
        tall = (outline.bounds[3] - outline.bounds[1]) * self.k
        self.low = top + (15.5 if self.left else 7.5) * self.ROOM
        self.face = top + 7.5 * self.ROOM if self.left else self.low + tall + 8.0 * self.ROOM
        sheet.put(
            f"{one.name}, {one.depth_class}" + (" in part" if one.through is not None else ""),
            [Spot(0.5, top + 2.5, "left")],
            fontweight="bold",
        )
        for part in shapely.get_parts(one.marked.piece.unsound):
            sheet.area([self.at(*xy) for xy in part.exterior.coords], linewidth=THIN, edgecolor="0.5", hatch="////")
        if one.through is not None:
            sheet.area([self.at(*xy) for xy in one.through.exterior.coords], linewidth=MEDIUM, hatch="xxxx")
        sheet.area([self.at(*xy) for xy in self.corners], linewidth=HEAVY)
        if len(self.corners) == 4:
            for i in (0, 1):
                sheet.line(
                    [self.at(*self.corners[i]), self.at(*self.corners[i + 2])], THIN, linestyle=(0, (2, 3)), color="0.3"
                )
        self.edges()
        if self.square:
            self.chains()
        else:
            self.sides()
        self.letters()
        self.bars_drawn()
        places = [(r.depth or 0.0, *self.at(r.station, r.offset)) for r in one.marked.deep]
        for _, x, y in places:
            sheet.axes.plot([x], [y], "+", color="black", markersize=5, markeredgewidth=1, zorder=6)
            sheet.taken.append(shapely.box(x - 0.8, y - 0.8, x + 0.8, y + 0.8))
        for depth, x, y in places:
            sheet.put(self.length(depth), around(x, y, start=1.3, more=1.2))
        self.section()
        for number, line in enumerate(self.notes):
            sheet.put(line, [Spot(self.NOTES, top + self.OVER_NOTES + (number + 0.5) * ROW, "left")])

    def edges(self) -> None:
        """Draw joint and kerb, from which is measured."""
        low, high = min(self.low, self.face), max(self.low + self.PLAN_TALL, self.face)
        number = self.one.marked.span - self.plan.first_span + 1
        tilt = max(-6.0, min(6.0, lean(self.patches) * (high - low)))
        self.sheet.line([(self.JOINT - tilt / 2, low), (self.JOINT + tilt / 2, high)], 2.2)
        self.sheet.line([(self.JOINT, self.face), (self.PATCH_END + 4, self.face)], MEDIUM)
        inside = Spot(
            self.PATCH_END + 4, self.face + (0.6 if self.left else -0.6), "right", "top" if self.left else "bottom"
        )
        outside = Spot(
            self.PATCH_END + 4, self.face + (-0.6 if self.left else 0.6), "right", "bottom" if self.left else "top"
        )
        self.sheet.put(self.kerb, [inside, outside], [shapely.Polygon([self.at(*xy) for xy in self.corners])])
        self.sheet.put(
            f"joint {number}",
            [Spot(self.JOINT + 1.5 + abs(tilt) / 2, self.low + down, "left") for down in (8, 5, 11, 14, 17)],
        )

    def chains(self) -> None:
        """Draw the dimensions from the joint and from the kerb, and the sides."""
        x_1, y_1, x_2, y_2 = self.one.marked.piece.outline.bounds
        (left, upper), (right, lower) = self.at(x_1, y_1), self.at(x_2, y_2)
        near, line = (upper, upper - 3.0 * self.ROOM) if self.left else (lower, lower + 6.5 * self.ROOM)
        for x in (left, right):
            self.sheet.line([(x, near), (x, line)])
        for y in (upper, lower):
            self.sheet.line([(left, y), (self.ACROSS - 1, y)])
        if x_1 - self.joint > 1e-6:
            self.sheet.dimension((self.JOINT, line), (left, line), self.length(self.from_joint(x_1, y_1)), broken=True)
        self.sheet.dimension((left, line), (right, line), self.length(x_2 - x_1))
        if self.from_kerb(y_1 if self.left else y_2) > 1e-6:
            beside = [Spot(self.ACROSS - 0.8, near + (-1.0 if self.left else 1.0), "right")]
            self.sheet.dimension(
                (self.ACROSS, self.face),
                (self.ACROSS, near),
                self.length(self.from_kerb(y_1 if self.left else y_2)),
                True,
                beside,
            )
        self.sheet.dimension((self.ACROSS, upper), (self.ACROSS, lower), self.length(y_2 - y_1))

    def sides(self) -> None:
        """Write the length of each side beside it."""
        middle = self.corners.mean(axis=0)
        for a, b in zip(self.corners, np.roll(self.corners, -1, axis=0), strict=True):
            x, y = self.at(*((a + b) / 2))
            out = ((a + b) / 2 - middle) / np.hypot(*((a + b) / 2 - middle))
            ha = "left" if out[0] > 0.4 else "right" if out[0] < -0.4 else "center"
            va = "top" if out[1] > 0.4 else "bottom" if out[1] < -0.4 else "center"
            shape = shapely.Polygon([self.at(*xy) for xy in self.corners])
            self.sheet.put(
                self.length(float(np.hypot(*(b - a)))),
                [Spot(x + out[0], y + out[1], ha, va), *around(x, y, start=1)],
                [shape],
            )

    def letters(self) -> None:
        """Write the letters of the corners."""
        middle = self.corners.mean(axis=0)
        for letter, corner in zip(LETTERS, self.corners, strict=False):
            (x, y), out = self.at(*corner), np.sign(corner - middle)
            inside = [
                Spot(x + side * out[0], y + down * out[1])
                for side, down in ((1.6, 1.9), (-1.8, -2.2), (1.6, -2), (-1.8, 1.9))
            ]
            self.sheet.put(letter, [*inside, *around(x, y)], style="italic")

    def bars_drawn(self) -> None:
        """Draw the bars that run through, and those to be added beside them."""
        x_1, y_1, x_2, y_2 = self.one.marked.piece.outline.bounds
        over = 1.5 / self.k
        for bar in self.bars:
            start, end = (
                ((x_1 - over, bar.offset), (x_2 + over, bar.offset))
                if bar.along
                else ((bar.station, y_1 - over), (bar.station, y_2 + over))
            )
            self.sheet.line([self.at(*start), self.at(*end)], THIN, color="0.35")
            if bar.pieces and bar.added is not None:
                half, (x, y) = bar.added / 2 * self.k, self.at(bar.station, bar.offset)
                ends_at = (
                    [(x - half, y - 0.6), (x + half, y - 0.6)]
                    if bar.along
                    else [(x + 0.6, y - half), (x + 0.6, y + half)]
                )
                self.sheet.line(ends_at, 2.0)
        for (along, *_), bars in self.groups().items():
            bar = bars[len(bars) // 2]
            x, y = (
                self.at(x_2 + over, bar.offset)
                if along
                else self.at(bar.station, y_2 + over if self.left else y_1 - over)
            )
            name = bars[0].label if len(bars) == 1 else f"{bars[0].label} to {bars[-1].label}"
            self.sheet.put(name, around(x, y, start=0.6), leader=shapely.Point(x, y))

    def section(self) -> None:
        """Draw the section: slab, saw cuts, removal, top bars at the least cover."""
        deck, one, sheet = self.patches.deck, self.one, self.sheet
        size = lambda q: float(q.m_as("m"))  # noqa: E731
        t, y = size(deck.slab_thickness), self.top + 5.5 * self.ROOM
        k, cover = self.SLAB_TALL / t, size(one.cover.least)
        h = t if one.left is None else size(one.left.h_d)
        left, right = self.SLAB + 5, self.SLAB_END - 5

        def box(x_1: float, y_1: float, x_2: float, y_2: float) -> list[drafting.Point]:
            return [(x_1, y + y_1 * k), (x_2, y + y_1 * k), (x_2, y + y_2 * k), (x_1, y + y_2 * k)]

        sheet.area(box(self.SLAB, 0, self.SLAB_END, t), facecolor="0.87", linewidth=THIN)
        sheet.area(box(left, 0, right, h), facecolor="white", linewidth=MEDIUM)
        d_1, d_2 = (size(bar_diameter(name)) for name in (deck.top_bar_outer, deck.top_bar_inner))
        sheet.area(box(self.SLAB, cover + d_1, self.SLAB_END, cover + d_1 + d_2), facecolor="0.35", edgecolor="none")
        for x in np.arange(self.SLAB + 2, self.SLAB_END - 1, max(size(deck.bar_spacing) * k, 3.0)):
            sheet.axes.add_patch(
                Circle((x, y + (cover + d_1 / 2) * k), d_1 / 2 * k, facecolor="white", edgecolor="black", linewidth=0.7)
            )
        saw = size(self.patches.limit("saw_depth").value)
        for x in (left, right):
            sheet.line([(x, y), (x, y + saw * k)], 2.4)
        sheet.dimension((self.SLAB - 3, y), (self.SLAB - 3, y + t * k), f"slab {self.length(t)}")
        words = "through" if one.left is None else f"remove {self.length(h, math.ceil)}"
        sheet.dimension((self.SLAB_END + 2, y), (self.SLAB_END + 2, y + h * k), "")
        sheet.put(words, [Spot(self.SLAB_END + 3.5, y + min(h * k / 2, self.SLAB_TALL - 4 * self.ROOM), "left")])
        if one.left is not None:
            sheet.dimension((self.SLAB_END + 2, y + h * k), (self.SLAB_END + 2, y + t * k), "")
            sheet.put(
                f"leave {self.length(size(one.left.t_r), math.floor)}",
                [
                    Spot(
                        self.SLAB_END + 3.5,
                        y + max((h + t) / 2 * k, min(h * k / 2, self.SLAB_TALL - 4 * self.ROOM) + 4 * self.ROOM),
                        "left",
                    )
                ],
            )
        sheet.line([(left - 2, y - 1.2), (right + 2, y - 1.2)], THIN, linestyle=AXIS)
