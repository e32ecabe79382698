"""From what the crew recorded to unsound regions in plan: soundings, radii from a hole, traced outlines, rectangles.

Lengths are plain numbers in metres. Stations run along the centreline, offsets across it, positive to the right when
looking ahead; bearings turn clockwise from ahead, as seen from above.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from deckcalc.core.units import InputError

Floats = NDArray[np.float64]
GRAIN = 1e-6  # metres: outlines are snapped to a thousandth of a millimetre, so that neighbouring edges meet
CROWD = 9  # points at one place of which every pair is named


def same_places(xy: Floats, within: float = 0.01) -> list[tuple[int, int]]:
    """Return pairs of points that stand at the same place.

    Parameters
    ----------
    xy : array, shape (n, 2)
        station and offset
    within : float
        how near is the same place

    Returns
    -------
    list of tuple of int
        Pairs of row numbers, the smaller first; where more than `CROWD` stand at one place, each with the nearest ones.

    Examples
    --------
    >>> same_places(np.array([[1.0, 1.0], [2.0, 1.0], [1.0, 1.004]]))
    [(0, 2)]
    """
    if len(xy) < 2:
        return []
    near = cKDTree(xy).query(xy, k=min(len(xy), CROWD), distance_upper_bound=np.nextafter(within, 1))[1]
    first = np.repeat(np.arange(len(xy)), near.shape[1])
    pairs = np.sort(np.column_stack([first, near.ravel()])[near.ravel() < len(xy)], axis=1)
    return [(int(i), int(j)) for i, j in np.unique(pairs[pairs[:, 0] < pairs[:, 1]], axis=0)]


def hollow_cells(xy: Floats, hollow: NDArray[np.bool_], along: float, across: float) -> Any:
    """Return the concrete that each delaminated reading stands for.

    It is a rectangle of the spacing of the soundings round the point, cut half-way to every sound sounding that
    stands nearer than the next point of the grid.

    Parameters
    ----------
    xy : array, shape (n, 2)
        station and offset of every sounding
    hollow : array of bool, shape (n,)
        which of them sound hollow
    along, across : float
        spacing of the soundings along and across the centreline

    Returns
    -------
    array of shapely.Polygon
        One for each delaminated reading, in order.

    Examples
    --------
    >>> grid = np.array([[0.0, 0.0], [1.0, 0.0], [1.5, 0.0]])
    >>> [float(cell.area) for cell in hollow_cells(grid, np.array([False, True, False]), 1.0, 0.5)]
    [0.375]
    """
    points = xy[hollow]
    half = np.array([along, across]) / 2
    found = shapely.box(points[:, 0] - half[0], points[:, 1] - half[1], points[:, 0] + half[0], points[:, 1] + half[1])
    sound = xy[~hollow]
    if not len(points) or not len(sound):
        return found
    scale = np.array([along, across])
    near = cKDTree(sound / scale).query_ball_point(points / scale, 1 - 1e-6, p=np.inf)
    for k in (k for k, others in enumerate(near) if others):
        for other in sound[near[k]]:
            found[k] = found[k].intersection(_nearer(points[k], other, 2 * max(along, across)))
    return found


def _nearer(point: Floats, other: Floats, reach: float) -> Any:
    """Return the half of the plane that is nearer to a point than to another, out to a reach."""
    towards = (other - point) / np.hypot(*(other - point))
    side = np.array([-towards[1], towards[0]])
    middle = (point + other) / 2
    corners = [middle + reach * side, middle - reach * side]
    return shapely.Polygon([*corners, *(corner - 2 * reach * towards for corner in corners[::-1])])


def radius_outline(station: float, offset: float, bearings: Sequence[float], reaches: Sequence[float]) -> Any:
    """Return the outline that soundings along radii from a hole give: straight between the ends of neighbouring radii.

    Parameters
    ----------
    station, offset : float
        place of the hole
    bearings : sequence of float
        degrees, clockwise from ahead
    reaches : sequence of float
        distance from the hole at which the concrete stops sounding hollow

    Returns
    -------
    shapely.Polygon

    Raises
    ------
    InputError
        If there are fewer than three radii, two on one bearing, or neighbours 180 degrees or more apart, so that they do
        not enclose the hole.

    Examples
    --------
    >>> float(round(radius_outline(10.0, 2.0, [0, 90, 180, 270], [0.5, 0.3, 0.5, 0.3]).area, 6))
    0.3
    """
    order = np.argsort(np.mod(bearings, 360.0), kind="stable")
    turned = np.mod(bearings, 360.0)[order]
    if len(turned) < 3:
        raise InputError(f"{len(turned)} radii, wanted at least three")
    gaps = np.diff([*turned, turned[0] + 360.0])
    if np.min(gaps) < 0.5:
        raise InputError(f"two radii on the bearing {turned[int(np.argmin(gaps))]:g} deg; keep one of them")
    if np.max(gaps) >= 180.0 - 1e-9:
        start = turned[int(np.argmax(gaps))]
        raise InputError(
            f"no radius between the bearings {start:g} and {(start + np.max(gaps)) % 360:g} deg; sound at least one between"
        )
    angle, reach = np.radians(turned), np.asarray(reaches, dtype=float)[order]
    return shapely.Polygon(np.column_stack([station + reach * np.cos(angle), offset + reach * np.sin(angle)]))


def traced_outline(vertices: Floats) -> Any:
    """Return a traced outline, from its vertices in the order in which they were walked.

    Parameters
    ----------
    vertices : array, shape (n, 2)
        station and offset; the last need not repeat the first

    Returns
    -------
    shapely.Polygon

    Raises
    ------
    InputError
        If there are fewer than three vertices, the outline crosses itself, or it encloses nothing.

    Examples
    --------
    >>> float(traced_outline(np.array([[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]])).area)
    3.0
    """
    vertices = np.asarray(vertices, dtype=float)
    if len(vertices) > 1 and np.allclose(vertices[0], vertices[-1], rtol=0, atol=1e-9):
        vertices = vertices[:-1]
    if len(vertices) < 3:
        raise InputError(f"{len(vertices)} vertices, wanted at least three")
    for k, (one, other) in enumerate(pairwise([*vertices, vertices[0]]), 1):
        if np.hypot(*(other - one)) < 1e-6:
            raise InputError(f"vertices {k} and {k % len(vertices) + 1} stand at the same place")
    made = shapely.Polygon(vertices)
    if not made.is_valid:
        place = shapely.is_valid_reason(made).partition("[")[2].rstrip("]").split()
        where = f" near station {float(place[0]):.2f} m, offset {float(place[1]):.2f} m" if len(place) == 2 else ""
        raise InputError(f"the outline crosses or touches itself{where}; list the vertices in the order walked")
    if made.area < 1e-4:
        raise InputError("the outline encloses no area")
    return made


def field_rectangle(station: float, offset: float, length: float, width: float) -> Any:
    """Return a rectangle by its middle, its length along and its width across the centreline.

    Examples
    --------
    >>> field_rectangle(10.0, 2.0, 1.5, 0.5).bounds
    (9.25, 1.75, 10.75, 2.25)
    """
    return shapely.box(station - length / 2, offset - width / 2, station + length / 2, offset + width / 2)


def unsound_regions(cells: Any, points: Floats, outlines: Sequence[Any]) -> list[Any]:
    """Join soundings and outlines to unsound regions that do not touch one another.

    Where an outline was traced, measured along radii or taken as a rectangle, it stands instead of the cells of the
    delaminated readings inside it: it is the finer measurement.

    Parameters
    ----------
    cells : array of shapely.Polygon, shape (n,)
        from `hollow_cells`
    points : array, shape (n, 2)
        the delaminated readings themselves
    outlines : sequence of shapely.Polygon

    Returns
    -------
    list of shapely.Polygon

    Examples
    --------
    >>> cells = hollow_cells(np.array([[0.0, 0.0], [1.0, 0.0], [5.0, 0.0]]), np.array([True] * 3), 1.0, 1.0)
    >>> [float(one.area) for one in unsound_regions(cells, np.array([[0.0, 0], [1, 0], [5, 0]]), [])]
    [2.0, 1.0]
    """
    cells = np.asarray(cells, dtype=object)
    if len(outlines) and len(cells):
        inside = shapely.STRtree(shapely.points(points)).query(
            [one.buffer(GRAIN) for one in outlines], predicate="covers"
        )[1]
        cells = np.delete(cells, np.unique(inside))
    joined = shapely.union_all([*cells, *outlines], grid_size=GRAIN)
    parts = [part for part in shapely.get_parts(joined) if part.area > 1e-8]
    return sorted(parts, key=lambda part: part.bounds)
