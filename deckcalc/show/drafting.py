"""A drawing set out in millimetres of the printed page: lines, dimensions, and texts that never lie on one another."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import groupby, pairwise
from typing import Any, NamedTuple

import shapely
import shapely.ops
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

#: Greatest width and height of a drawing on the page, in millimetres.
WIDE, TALL = 165.0, 215.0
#: Size of all texts as printed, in points: nothing smaller survives a photocopier.
POINTS = 8.5
#: Millimetres from line to line of text.
ROW = 4.0
#: Line weights in points: patches and joints, edges, all that explains.
HEAVY, MEDIUM, THIN = 1.6, 0.9, 0.5
#: Dashes of our own: hidden or not to scale, lines of girders, lanes, and the surveys in their order.
BROKEN, AXIS, LANE = (0, (4, 2.5)), (0, (9, 2.5, 1.5, 2.5)), (0, (7, 7))
SURVEYS: tuple[Any, ...] = (
    (0, (1, 1.6)),
    (0, (5, 1.5, 1, 1.5, 1, 1.5)),
    (0, (10, 3)),
    (0, (2.5, 2.5)),
    (0, (12, 2, 2, 2)),
)
#: Metres in an eighth of an inch.
EIGHTH = 0.0254 / 8

Point = tuple[float, float]


class Spot(NamedTuple):
    """Where a text may stand: its anchor, and which side of the text that is."""

    x: float
    y: float
    ha: str = "center"
    va: str = "center"


def feet_inches(metres: float, rounded: Any = round) -> str:
    r"""Write a length in feet and inches to an eighth of an inch.

    Parameters
    ----------
    metres : float
        The length.
    rounded : callable
        How the eighths are rounded: `round`, or `math.floor` and `math.ceil` where one side is safe.

    Returns
    -------
    str

    Examples
    --------
    >>> feet_inches(0.9271), feet_inches(0.0254), feet_inches(3.048), feet_inches(-0.009525)
    ('3\'-0 1/2"', '1"', '10\'-0"', '-3/8"')
    """
    eighths = int(rounded(round(abs(metres) / EIGHTH, 6)))
    feet, inches = divmod(Fraction(eighths, 8), 12)
    whole, part = divmod(inches, 1)
    said = " ".join([str(whole)] * bool(whole or not part or feet) + [str(part)] * bool(part))
    return f"{'-' if metres < 0 and eighths else ''}" + (f"{feet}'-" if feet else "") + f'{said}"'


def metric(metres: float, unit: str = "m") -> str:
    """Write a length in metres, to the millimetre and with no more decimals than it has.

    Examples
    --------
    >>> metric(24.0), metric(1.4), metric(0.6004), metric(-0.00001)
    ('24.0 m', '1.4 m', '0.6 m', '0.0 m')
    """
    text = f"{round(metres, 3) + 0.0:.3f}".rstrip("0").replace("-", "\u2212")
    return f"{text}0 {unit}" if text.endswith(".") else f"{text} {unit}"


def length(metres: float, system: str) -> str:
    """Write a length as it is measured: metres, or feet and inches."""
    return metric(metres) if system == "SI" else feet_inches(metres)


def measured(metres: float, system: str, rounded: Any = round) -> str:
    r"""Write a length that a crew measures: whole millimetres without their unit, or feet and inches.

    Examples
    --------
    >>> measured(0.9271, "SI"), measured(0.9271, "SI", math.ceil), measured(0.9271, "US")
    ('927', '928', '3\'-0 1/2"')
    """
    return f"{int(rounded(round(metres * 1000, 4)))}" if system == "SI" else feet_inches(metres, rounded)


def station(metres: float, system: str) -> str:
    """Write a station or offset as the tables have them, with no more decimals than it has."""
    return metric(metres) if system == "SI" else metric(round(metres / 0.3048, 2), "ft")


class Sheet:
    """A drawing of a given size, in millimetres from its upper left corner.

    Every text goes through `put`, which takes the first of some places where it lies on no other text and in the drawing.
    """

    def __init__(self, width: float, height: float, points: float = POINTS) -> None:
        self.width, self.height, self.points = width, height, points
        self.figure = Figure(figsize=(width / 25.4, height / 25.4))
        self.axes = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.axes.set_xlim(0, width)
        self.axes.set_ylim(height, 0)
        self.axes.set_axis_off()
        self.renderer = FigureCanvasAgg(self.figure).get_renderer()
        self.taken: list[Any] = []

    def size(self, text: str, **look: Any) -> Point:
        """Return width and height of a text."""
        made = self.axes.text(0, 0, text, fontsize=self.points, **look)
        box, mm = made.get_window_extent(self.renderer), 25.4 / self.figure.dpi
        made.remove()
        return box.width * mm, box.height * mm

    def put(self, text: str, spots: Iterable[Spot], clear: Sequence[Any] = (), leader: Any = None, **look: Any) -> Spot:
        """Write a text at the first free spot.

        Parameters
        ----------
        text : str
            What is written.
        spots : iterable of Spot
            Where it may stand, the best first; where none is free of shapes, the first that is free of texts.
        clear : sequence of shapely geometries
            Shapes that it keeps off, if it can.
        leader : shapely geometry or None
            What a thin line from the text points at, unless the text stands beside it.
        **look
            How it is written.

        Returns
        -------
        Spot
            Where it stands.
        """
        w, h = self.size(text, **look)
        shapes, page = shapely.union_all(list(clear)), shapely.box(0, 0, self.width, self.height)
        best: tuple[tuple[bool, float], Spot, Any] | None = None
        for spot in spots:
            x = spot.x - {"left": 0.0, "center": w / 2, "right": w}[spot.ha]
            y = spot.y - {"top": 0.0, "center": h / 2, "bottom": h}[spot.va]
            x = min(max(x, 0.3), self.width - w - 0.3)
            box = shapely.box(x - 0.3, y - 0.2, x + w + 0.3, y + h + 0.2)
            hit = sum(box.intersection(other).area for other in self.taken) + box.difference(page).area
            worth = hit > 1e-9, hit + (1e-3 * box.intersection(shapes).area if clear else 0.0)
            if best is None or worth < best[0]:
                best = worth, spot, box
            if worth == (False, 0.0):
                break
        if best is None:
            raise ValueError(f"no spot for {text}")
        _, spot, box = best
        self.taken.append(box)
        middle = box.centroid
        ground = {"facecolor": "white", "edgecolor": "none", "pad": 0.5}
        self.axes.text(
            middle.x,
            middle.y,
            text,
            fontsize=self.points,
            ha="center",
            va="center",
            zorder=5,
            **({"bbox": ground} | look),
        )
        if leader is not None and box.distance(leader) > 3:
            start, end = shapely.ops.nearest_points(box, leader)
            self.line([(start.x, start.y), (end.x, end.y)])
        return spot

    def wrapped(self, text: str, width: float) -> list[str]:
        """Return a text in lines that are not wider than so many millimetres."""
        lines: list[str] = []
        for word in text.split(" "):
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and self.size(longer)[0] <= width:
                lines[-1] = longer
            else:
                lines.append(word)
        return lines

    def line(self, points: Sequence[Point], weight: float = THIN, **look: Any) -> None:
        """Draw a line."""
        style: dict[str, Any] = {"color": "black", "linewidth": weight, "solid_capstyle": "butt", **look}
        self.axes.plot(*zip(*points, strict=True), **style)

    def area(self, corners: Any, **look: Any) -> None:
        """Draw an area."""
        style: dict[str, Any] = {"facecolor": "none", "edgecolor": "black", "linewidth": MEDIUM, **look}
        self.axes.add_patch(Polygon([tuple(corner[:2]) for corner in corners], **style))

    def arrow(self, start: Point, end: Point, weight: float = MEDIUM) -> None:
        """Draw an arrow."""
        self.axes.annotate("", end, start, arrowprops={"arrowstyle": "-|>", "linewidth": weight, "color": "black", "shrinkA": 0, "shrinkB": 0,
                                                       "mutation_scale": 8})  # fmt: skip

    def dimension(self, start: Point, end: Point, text: str, broken: bool = False, at: Sequence[Spot] = ()) -> None:
        """Draw a dimension along or across the page, a stroke at each end, its words where they may stand; broken where it is not to scale."""
        self.line([start, end])
        self.dimension_marks(start, end)
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        upright = abs(end[0] - start[0]) < 1e-6
        if broken:
            for way in (-0.5, 0.5):
                along, across = way * (not upright), way * upright
                self.line([(x - 1 + along, y + 1 + across), (x + 1 + along, y - 1 + across)])
        if not text:
            return
        w, h = self.size(text)
        if upright:
            fits = not at and abs(end[1] - start[1]) >= w + 1
            spots = [Spot(x - 0.6, y, "right")] if fits else []
            beside = [Spot(x + side * (0.8 + off), y + down, "left" if side > 0 else "right")
                      for side in (-1, 1) for off in (0, 3, 6) for down in (0, 1.5, -1.5, 3, -3, 4.5, -4.5)]  # fmt: skip
            turned: dict[str, Any] = {"rotation": 90} if fits else {}
            self.put(text, [*at, *(spots or beside)], **turned)
            return
        low, high = sorted((start[0], end[0]))
        spots = [Spot(x, y - 0.4, va="bottom")] if high - low >= w else []
        spots += [Spot(x + over, y + down, va=va) for down, va in ((-0.4, "bottom"), (0.4, "top"), (-h - 1, "bottom"), (h + 1, "top"))
                  for over in (0, *(way * (w + high - low) / 2 for way in (-1, 1)))]  # fmt: skip
        self.put(text, [*at, *spots])

    def chain(
        self, places: Sequence[float], at: float, words: Any, sizes: Sequence[float], upright: bool = False
    ) -> None:
        """Draw a chain of dimensions; like ones that are too narrow for their words are one, with their number."""
        steps = [(a, b, words(real)) for (a, b), real in zip(pairwise(places), sizes, strict=True) if b - a > 1e-6]
        point = (lambda v: (at, v)) if upright else (lambda v: (v, at))
        for text, run in groupby(steps, key=lambda step: step[2]):
            group = list(run)
            if len(group) > 2 and group[0][1] - group[0][0] < self.size(text)[0] + 1:
                for a, b, _ in group:
                    self.dimension_marks(point(a), point(b))
                self.dimension(point(group[0][0]), point(group[-1][1]), f"{len(group)} × {text}")
            else:
                for a, b, _ in group:
                    self.dimension(point(a), point(b), text)

    def dimension_marks(self, *points: Point) -> None:
        """Draw the strokes of a dimension without a text of its own."""
        for x, y in points:
            self.line([(x - 0.8, y + 0.8), (x + 0.8, y - 0.8)], MEDIUM)

    def column(self, x: float, words: Sequence[tuple[float, str]], low: float, high: float) -> None:
        """Write names beside the ends of lines, from the page's left to right, each as near to its line as the others let it."""
        words = sorted(words)
        if not words:
            return
        step = min(ROW, (high - low) / max(len(words) - 1, 1))
        places = [max(low, y) for y, _ in words]
        for _ in range(200):  # pushed apart until none moves
            for i in range(len(places) - 1):
                lack = step - (places[i + 1] - places[i])
                if lack > 1e-6:
                    places[i] -= lack / 2
                    places[i + 1] += lack / 2
            places = [
                min(max(place, low + i * step), high - (len(places) - 1 - i) * step) for i, place in enumerate(places)
            ]
        for (y, text), place in zip(words, places, strict=True):
            if abs(place - y) > 0.5:
                self.line([(x, y), (x + 2, place)])
            self.put(text, [Spot(x + 2.4, place, "left")])


def around(x: float, y: float, reach: float = 40.0, start: float = 2.0, more: float = 2.5) -> Iterator[Spot]:
    """Give spots round a point, the nearest first."""
    away = start
    while away <= reach:
        for turn in (-90, 0, 180, 90, -45, -135, 45, 135, -65, -115, 65, 115, -20, 20, 160, -160):
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            ha = "left" if c > 0.3 else "right" if c < -0.3 else "center"
            va = "top" if s > 0.3 else "bottom" if s < -0.3 else "center"
            yield Spot(x + away * c, y + away * s, ha, va)
        away += more


def hull(points: Iterable[Point]) -> tuple[Point, ...]:
    """Return the corners of the outline round some points."""
    return tuple(
        (float(x), float(y))
        for x, y in dict.fromkeys(map(tuple, shapely.get_coordinates(shapely.MultiPoint(list(points)).convex_hull)))
    )


def words_for(system: str) -> Mapping[str, str]:
    """Return the words that differ between the two forms of English."""
    return {"kerb": "kerb" if system == "SI" else "curb"}
