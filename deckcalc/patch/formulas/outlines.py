"""Repair limits: from unsound regions to the rectangles that are laid out and sawn. Plain numbers in metres."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely import affinity

Box = tuple[float, float, float, float]
NOISE = 1e-7  # metres
GRAIN = 1e-6  # metres, of outlines


@dataclass(frozen=True)
class Rules:
    """How limits are marked.

    Attributes
    ----------
    margin : float
        sound concrete taken in beyond the unsound
    merge : float
        repair limits that are closer than this are joined
    least_side : float
        minimum side of a patch
    turn : float
        direction of the sides against the centreline, in radians
    removal_price, cut_price, piece_price : float
        price of an area removed and replaced, of a length of saw cut, and of every rectangle by itself
    most_pieces : int
        rectangles that a region is split into at most
    to_edges : bool
        whether a patch nearer than `merge` to a joint, a deck end or a kerb is taken to it
    """

    margin: float
    merge: float
    least_side: float
    turn: float = 0.0
    removal_price: float = 0.0
    cut_price: float = 0.0
    piece_price: float = 0.0
    most_pieces: int = 4
    to_edges: bool = False


@dataclass(frozen=True, eq=False)
class Piece:
    """One marked rectangle.

    Attributes
    ----------
    outline : shapely.Polygon
        repair limits, in station and offset
    unsound : shapely geometry
        unsound concrete inside it
    extent : tuple of float
        length and width of the unsound concrete, in the directions of the sides
    sides : tuple of float
        length and width of the marked rectangle
    cut : float
        length of saw cut that is its own: not along a kerb, a joint, or the cut of a neighbour with a smaller number
    """

    outline: Any
    unsound: Any
    extent: tuple[float, float]
    sides: tuple[float, float]
    cut: float


@dataclass(frozen=True, eq=False)
class Marking:
    """A region with its marked rectangles; `boxed` and `split` are area, length of cut (and number) of the two ways, where both exist."""

    region: Any
    pieces: list[Piece]
    boxed: tuple[float, float]
    split: tuple[float, float, int] | None


def mark(regions: Sequence[Any], panel: Any, rules: Rules) -> list[Marking]:
    """Mark rectangles round the unsound regions of one span.

    Parameters
    ----------
    regions : sequence of shapely.Polygon
        unsound concrete within the panel, in station and offset
    panel : shapely.Polygon
        the deck between two joints and the kerbs; no limit reaches beyond it
    rules : Rules

    Returns
    -------
    list of Marking
        In no particular order; the same for any order of the regions.

    Examples
    --------
    >>> rules = Rules(margin=0.06, merge=0.3, least_side=0.15)
    >>> made = mark([shapely.box(5, 1, 6, 1.6), shapely.box(6.3, 1, 6.6, 1.2)], shapely.box(0, 0, 20, 8), rules)
    >>> len(made), [round(side, 3) for side in made[0].pieces[0].sides]
    (1, [1.72, 0.72])
    """
    if not len(regions):
        return []
    pivot = panel.bounds[0], panel.bounds[1]
    turned = affinity.rotate(panel, -rules.turn, origin=pivot, use_radians=True)
    parts = [affinity.rotate(region, -rules.turn, origin=pivot, use_radians=True) for region in regions]
    groups = merge([clipped(part, turned) for part in parts], turned, rules)
    return [_marking(group, turned, rules, pivot) for group in groups]


def clipped(part: Any, panel: Any) -> Any:
    """Return what lies within the panel."""
    return part if panel.covers(part) else part.intersection(panel)


def merge(regions: Sequence[Any], panel: Any, rules: Rules) -> list[Any]:
    """Join regions whose repair limits overlap, or are closer than the merge distance, until none are."""
    groups = list(regions)
    while len(groups) > 1:
        boxes = np.array([limits(group, panel, rules) for group in groups], dtype=object)
        i, j = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=max(rules.merge, NOISE))
        i, j = i[i < j], j[i < j]
        apart = shapely.distance(boxes[i], boxes[j])
        close = (apart < rules.merge - NOISE) | (shapely.area(shapely.intersection(boxes[i], boxes[j])) > NOISE**2)
        i, j = i[close], j[close]
        if not len(i):
            break
        links = coo_array((np.ones(len(i)), (i, j)), shape=(len(groups), len(groups)))
        count, label = connected_components(links, directed=False)
        order = np.argsort(label, kind="stable")
        cuts = np.searchsorted(label[order], np.arange(1, count))
        groups = [
            groups[some[0]] if len(some) == 1 else shapely.union_all([groups[k] for k in some])
            for some in np.split(order, cuts)
        ]
    return groups


def limits(region: Any, panel: Any, rules: Rules) -> Any:
    """Return the rectangle round a region: margin on all sides, minimum side, nothing beyond the panel."""
    x_1, y_1, x_2, y_2 = region.bounds
    m = rules.margin
    x_1, x_2 = widened(x_1 - m, x_2 + m, rules.least_side, panel.bounds[0], panel.bounds[2])
    y_1, y_2 = widened(y_1 - m, y_2 + m, rules.least_side, panel.bounds[1], panel.bounds[3])
    return to_edges(clipped(shapely.box(x_1, y_1, x_2, y_2), panel), panel, rules)


def edge_strips(outline: Any, panel: Any, merge: float) -> list[float]:
    """Return the width of the sound strip between a patch and each edge of the panel, 0 where there is none or it is wide enough.

    The edges are those between the corners of the panel, in their order; a patch that lies at an edge leaves no strip there.

    Examples
    --------
    >>> edge_strips(shapely.box(5.0, 1.0, 9.9, 2.0), shapely.box(0, 0, 10, 8), 0.3)  # right, upper, left, lower side
    [0.1, 0.0, 0.0, 0.0]
    """
    corners = shapely.get_coordinates(panel.exterior)
    apart = [float(outline.distance(shapely.LineString(edge))) for edge in pairwise(corners)]
    return [round(d, 9) if GRAIN < d < merge - GRAIN else 0.0 for d in apart]


def to_edges(outline: Any, panel: Any, rules: Rules, others: Sequence[Any] = ()) -> Any:
    """Take a patch to each edge of the panel that it is nearer to than the merge distance, where no other piece lies between.

    Of the sides that may be moved to do so, the one that adds the smallest area is moved.

    Examples
    --------
    >>> rules = Rules(margin=0.06, merge=0.3, least_side=0.15, to_edges=True)
    >>> to_edges(shapely.box(5.0, 1.0, 9.9, 2.0), shapely.box(0, 0, 10, 8), rules).bounds
    (5.0, 1.0, 10.0, 2.0)
    """
    count = lambda shape: sum(map(bool, edge_strips(shape, panel, rules.merge)))  # noqa: E731
    while rules.to_edges and count(outline):
        better = []
        for side in range(4):
            sides = list(outline.bounds)
            sides[side] = panel.bounds[side]
            grown = clipped(shapely.box(*sides), panel)
            blocked = any(shapely.area(grown.intersection(other)) > NOISE for other in others)
            if count(grown) < count(outline) and not blocked:
                better.append(grown)
        if not better:
            return outline
        outline = min(better, key=shapely.area)
    return outline


def widened(low: float, high: float, least: float, start: float, end: float) -> tuple[float, float]:
    """Clip an interval to the panel, and widen it about its middle to the minimum side, shifted to stay within."""
    low, high = max(low, start), min(high, end)
    if high - low >= least - NOISE:
        return low, high
    middle = (low + high) / 2
    low = min(max(middle - least / 2, start), max(end - least, start))
    return low, min(low + least, end)


def _marking(region: Any, panel: Any, rules: Rules, pivot: tuple[float, float]) -> Marking:
    one = [limits(region, panel, rules)]
    boxed = one[0].area, own_cuts(one, panel)[0]
    outlines, parted = one, None
    if rules.removal_price or rules.cut_price:
        boxes = split(region, panel, rules)
        if boxes:
            several = [clipped(shapely.box(*box), panel) for box in boxes]
            for k, piece in enumerate(several):
                several[k] = to_edges(piece, panel, rules, several[:k] + several[k + 1 :])
            parted = sum(piece.area for piece in several), sum(own_cuts(several, panel)), len(several)
            if priced(*parted, rules) < priced(*boxed, 1, rules) - NOISE:
                outlines = several
    outlines = sorted(outlines, key=lambda outline: [round(value, 6) for value in (*outline.centroid.coords[0],)])
    cuts = own_cuts(outlines, panel)
    pieces = []
    for outline, cut in zip(outlines, cuts, strict=True):
        part = region if len(outlines) == 1 else region.intersection(outline)
        u, o = part.bounds, outline.bounds
        back = [affinity.rotate(shape, rules.turn, origin=pivot, use_radians=True) for shape in (outline, part)]
        pieces.append(Piece(back[0], back[1], (u[2] - u[0], u[3] - u[1]), (o[2] - o[0], o[3] - o[1]), cut))
    return Marking(affinity.rotate(region, rules.turn, origin=pivot, use_radians=True), pieces, boxed, parted)


def lengthened(one: Marking, place: int, along: float, across: float, panel: Any, rules: Rules) -> Piece:
    """Return a piece of a marking with longer sides, half at either end, shifted to stay within the panel.

    Parameters
    ----------
    one : Marking
    place : int
        which of its pieces
    along, across : float
        added to length and width, in the directions of the sides
    panel : shapely.Polygon
    rules : Rules

    Returns
    -------
    Piece

    Raises
    ------
    ValueError
        If the panel has not that much room.
    """
    pivot = panel.bounds[0], panel.bounds[1]
    turned = affinity.rotate(panel, -rules.turn, origin=pivot, use_radians=True)
    outlines = [affinity.rotate(piece.outline, -rules.turn, origin=pivot, use_radians=True) for piece in one.pieces]
    x_1, y_1, x_2, y_2 = outlines[place].bounds
    least = x_2 - x_1 + along, y_2 - y_1 + across
    x_1, x_2 = widened(x_1, x_2, least[0], turned.bounds[0], turned.bounds[2])
    y_1, y_2 = widened(y_1, y_2, least[1], turned.bounds[1], turned.bounds[3])
    if min(x_2 - x_1 - least[0], y_2 - y_1 - least[1]) < -NOISE:
        raise ValueError("the deck between kerbs and joints has no room for it")
    others = outlines[:place] + outlines[place + 1 :]
    outlines[place] = to_edges(clipped(shapely.box(x_1, y_1, x_2, y_2), turned), turned, rules, others)
    x_1, y_1, x_2, y_2 = outlines[place].bounds
    old, cut = one.pieces[place], own_cuts(outlines, turned)[place]
    back = affinity.rotate(outlines[place], rules.turn, origin=pivot, use_radians=True)
    return Piece(back, old.unsound, old.extent, (x_2 - x_1, y_2 - y_1), cut)


def priced(area: float, cut: float, count: int, rules: Rules) -> float:
    """Return the price of an area removed, a length cut and a number of rectangles."""
    return area * rules.removal_price + cut * rules.cut_price + count * rules.piece_price


def own_cuts(outlines: Sequence[Any], panel: Any) -> list[float]:
    """Return the saw cut of each outline: not along kerbs and joints, an edge in common counted with the first."""
    done = panel.exterior.buffer(NOISE, cap_style="flat")
    found = []
    for outline in outlines:
        rest = outline.exterior.difference(done)
        found.append(rest.length)
        if len(outlines) > 1:
            done = done.union(outline.exterior.buffer(NOISE, cap_style="flat"))
    return found


def split(region: Any, panel: Any, rules: Rules) -> list[Box]:
    """Return the cheapest rectangles found by successive straight cuts through a region with its margin, or none.

    Every piece keeps the minimum side; pieces abut, or stand apart by the merge distance at least, so that no thin strip
    of sound concrete is left between them.
    """
    grown = clipped(region.buffer(rules.margin, quad_segs=16), panel)
    depth = math.ceil(math.log2(max(rules.most_pieces, 1)))
    made = _parts(grown, grown.bounds, region, rules, depth)
    return made if len(made) > 1 else []


def _parts(shape: Any, whole: Box, region: Any, rules: Rules, depth: int) -> list[Box]:
    """Return the cheapest boxes for a shape that fills the box `whole`, by at most `depth` rounds of cuts."""
    best, least = [whole], _price([whole], rules)
    spare = (shapely.box(*whole).area - shape.area) * rules.removal_price
    if depth == 0 or spare <= 2 * rules.margin * rules.cut_price + rules.piece_price + NOISE:
        return best
    for axis in (0, 1):
        for c in _candidates(region, whole, axis, rules):
            low, high = _halves(shape, whole, axis, c)
            if low.is_empty or high.is_empty:
                continue
            if low.bounds[axis + 2] < c - 2 * GRAIN or high.bounds[axis] > c + 2 * GRAIN:
                continue  # the cut runs through sound concrete: the pieces would not abut
            found = [
                *_parts(low, _edged(low.bounds, whole, axis + 2, c), region, rules, depth - 1),
                *_parts(high, _edged(high.bounds, whole, axis, c), region, rules, depth - 1),
            ]
            if len(found) <= rules.most_pieces and _fits(found, rules):
                price = _price(found, rules)
                if price < least - 1e-9:
                    best, least = found, price
    return best


def _edged(box: Box, whole: Box, place: int, c: float) -> Box:
    """Return the box of one side of a cut: one edge at the cut, the others at those of the whole where they reach it."""
    reached = [b if abs(a - b) <= 2 * GRAIN else a for a, b in zip(box, whole, strict=True)]
    reached[place] = c
    return tuple(reached)  # type: ignore[return-value]


def _candidates(region: Any, whole: Box, axis: int, rules: Rules) -> list[float]:
    """Return where a cut may run: a margin either side of a vertex, the minimum side away from the ends."""
    corner = shapely.get_coordinates(region)[:, axis]
    places = np.unique(np.round(np.concatenate([corner - rules.margin, corner + rules.margin]), 8))
    room = rules.least_side - NOISE
    return [float(c) for c in places if whole[axis] + room <= c <= whole[axis + 2] - room]


def _halves(shape: Any, whole: Box, axis: int, c: float) -> tuple[Any, Any]:
    """Return the shape on either side of a cut, without slivers along it that are noise."""
    x_1, y_1, x_2, y_2 = whole[0] - 1, whole[1] - 1, whole[2] + 1, whole[3] + 1
    a, b = c - GRAIN, c + GRAIN
    if axis == 0:
        return shapely.clip_by_rect(shape, x_1, y_1, a, y_2), shapely.clip_by_rect(shape, b, y_1, x_2, y_2)
    return shapely.clip_by_rect(shape, x_1, y_1, x_2, a), shapely.clip_by_rect(shape, x_1, b, x_2, y_2)


def _fits(boxes: Sequence[Box], rules: Rules) -> bool:
    """Whether pieces have the minimum side, and no thin strip stands between two of them."""
    if any(min(b[2] - b[0], b[3] - b[1]) < rules.least_side - NOISE for b in boxes):
        return False
    for a, b in combinations(boxes, 2):
        apart = math.hypot(max(a[0] - b[2], b[0] - a[2], 0.0), max(a[1] - b[3], b[1] - a[3], 0.0))
        if NOISE < apart < rules.merge - NOISE:
            return False
    return True


def _price(boxes: Sequence[Box], rules: Rules) -> float:
    """Return the price of boxes that do not overlap, edges in common cut once."""
    area = sum((b[2] - b[0]) * (b[3] - b[1]) for b in boxes)
    length = sum(2 * (b[2] - b[0] + b[3] - b[1]) for b in boxes)
    for a, b in combinations(boxes, 2):
        for i, j in ((0, 1), (1, 0)):
            if abs(a[i + 2] - b[i]) < NOISE or abs(b[i + 2] - a[i]) < NOISE:
                length -= max(0.0, min(a[j + 2], b[j + 2]) - max(a[j], b[j]))
    return priced(area, length, len(boxes), rules)
