"""The floor of a patch: its volume by triangles between depth readings, and what of it goes through. Plain numbers in metres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Delaunay

Floats = NDArray[np.float64]
NEAR = 1e-9  # metres
GRID = 1.4142e-6  # metres, no even part of a millimetre or an inch


@dataclass(frozen=True, eq=False)
class Floor:
    """A floor of plane triangles.

    Attributes
    ----------
    points : array, shape (n, 2)
        station and offset of readings and corners
    depth : array, shape (n,)
    of : array of int, shape (n,)
        which reading gives the depth
    corner : array of bool, shape (n,)
        whether it is a corner of the repair limits, which takes the depth of the nearest reading
    triangles : array of int, shape (m, 3)
    """

    points: Floats
    depth: Floats
    of: NDArray[np.int64]
    corner: NDArray[np.bool_]
    triangles: NDArray[np.int64]

    @property
    def areas(self) -> Floats:
        """Area of each triangle in plan."""
        a, b, c = (self.points[self.triangles[:, k]] for k in range(3))
        u, v = b - a, c - a
        return np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2

    @property
    def volumes(self) -> Floats:
        """Volume over each triangle: its area times the mean depth of its corners."""
        return self.areas * self.depth[self.triangles].mean(axis=1)

    @property
    def volume(self) -> float:
        """Volume over all triangles."""
        return float(self.volumes.sum())

    def deeper(self, than: float) -> Any:
        """Return the part of the plan where the floor is at least so deep."""
        parts = [self._deep_part(triangle, than) for triangle in self.triangles]
        return shapely.union_all([part for part in parts if part is not None])

    def _deep_part(self, triangle: NDArray[np.int64], than: float) -> Any:
        xy, h = self.points[triangle], self.depth[triangle] - than
        kept = []
        for k in range(3):
            a, b = k, (k + 1) % 3
            if h[a] >= 0:
                kept.append(xy[a])
            if (h[a] >= 0) != (h[b] >= 0):
                kept.append(xy[a] + (xy[b] - xy[a]) * h[a] / (h[a] - h[b]))
        return shapely.Polygon(kept) if len(kept) >= 3 else None

    def volume_within(self, shape: Any) -> float:
        """Return the volume over the part of the plan within a shape."""
        total = 0.0
        for triangle in self.triangles:
            xy, h = self.points[triangle], self.depth[triangle]
            part = shapely.Polygon(xy).intersection(shape)
            if part.area > 0:
                weights = np.linalg.solve(np.vstack([xy.T, np.ones(3)]), [*part.centroid.coords[0], 1.0])
                total += part.area * float(weights @ h)
        return total


def floor(outline: Any, xy: Floats, depth: Floats) -> Floor:
    """Return the floor of a patch: triangles between its depth readings and the corners of its limits.

    A corner takes the depth of the reading nearest to it, the deeper of two as near; a reading outside the limits is moved to the nearest point of
    their edge. Several readings of which nobody said where they were taken stand at one place: the floor is level at their mean.

    Parameters
    ----------
    outline : shapely.Polygon
        repair limits, convex
    xy : array, shape (n, 2)
        station and offset of the readings
    depth : array, shape (n,)
        depth of removal at each

    Returns
    -------
    Floor

    Examples
    --------
    >>> wedge = floor(shapely.box(0, 0, 2, 1), np.array([[0.0, 0.5], [2.0, 0.5]]), np.array([0.1, 0.2]))
    >>> round(wedge.volume, 6)
    0.3
    """
    xy = np.atleast_2d(np.asarray(xy, dtype=float))
    if len(xy) > 1 and float(np.ptp(xy, axis=0).max()) < NEAR:
        xy, depth = xy[:1], np.array([np.mean(depth)])
    outside = ~shapely.covers(outline, shapely.points(xy))
    if outside.any():
        edge = outline.exterior
        onto = shapely.line_interpolate_point(edge, shapely.line_locate_point(edge, shapely.points(xy[outside])))
        xy = xy.copy()
        xy[outside] = shapely.get_coordinates(onto)
    corners = shapely.get_coordinates(outline)[:-1]
    apart = np.hypot(*(corners[:, None, :] - xy[None, :, :]).transpose(2, 0, 1))
    least = apart.min(axis=1)
    near = np.where(apart <= least[:, None] + 1e-6, np.asarray(depth, dtype=float), -np.inf)
    nearest, free = near.argmax(axis=1), least > 1e-6
    points = np.vstack([xy, corners[free]])
    of = np.concatenate([np.arange(len(xy)), nearest[free]])
    corner = np.concatenate([np.zeros(len(xy), bool), np.ones(int(free.sum()), bool)])
    # points on an even grid have more than one triangulation: what is lost by rounding may not choose between them
    local = np.round((points - corners.min(axis=0)) / GRID) * GRID
    order = np.lexsort(local.T[::-1])
    found = Delaunay(local[order]).simplices
    triangles = np.sort(order[found], axis=1)
    triangles = triangles[np.lexsort(triangles.T[::-1])]
    return Floor(points, np.asarray(depth, dtype=float)[of], of, corner, triangles)
