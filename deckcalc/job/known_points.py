"""Coordinates of a file placed on the deck by points of which station and offset are known.

The deck is taken as straight and plane. Fixes come to a plane about their middle (azimuthal equidistant, WGS 84), and the
plane is turned and shifted until the known points fit best, never stretched: the scale that would fit best is looked at,
since it tells a wrong point, a wrong unit or fixes that are too coarse.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from deckcalc.core import units
from deckcalc.core.units import Distance, InputError, System, clipped
from deckcalc.job.outline_files import Drawn, Floats, Known, library, on_deck_at
from deckcalc.patch.inputs.survey import place

#: How far the scale may be from one: of fixes, and of drawings, where a map grid makes it differ by less than 0.1 %.
SCALE_OF_FIXES, SCALE_OF_DRAWINGS = 0.02, 0.002
#: A known point of a drawing may miss its place by so much: metres. One of fixes: by so many times their accuracy.
MISS_OF_DRAWINGS, MISS_OF_FIXES = 0.1, 3.0
#: Points of one job lie within it: metres.
SPREAD = 10_000.0
#: What a fix of a phone under open sky is commonly good to; common practice, 3 m to 10 m.
PHONE = "5 m"


@dataclass(frozen=True, eq=False)
class Fit:
    """How coordinates become station and offset.

    Attributes
    ----------
    turn : array, shape (2, 2)
    middle, target : array, shape (2,)
        Middle of the known points, in the plane and on the deck.
    scale : float
        What would fit best; it is not applied.
    misses : array, shape (n,)
        By how much each known point misses its place.
    spread : float
        Sum of the squared distances of the known points from their middle.
    """

    turn: Floats
    middle: Floats
    target: Floats
    scale: float
    misses: Floats
    spread: float

    def __call__(self, plane: Floats) -> Floats:
        """Return station and offset of points of the plane."""
        return (plane - self.middle) @ self.turn + self.target

    def off_by(self, at: Floats, accuracy: float) -> float:
        """Return the error of place to be expected of a fix placed at `at`, as accurate as those of the known points.

        Its own error, that of the middle of the known points, and that of the direction, as root of the sum of squares.
        """
        from_middle = float(((at - self.target) ** 2).sum())
        return accuracy * math.sqrt(1 + 1 / len(self.misses) + from_middle / (2 * self.spread))

    def accuracy(self) -> float:
        """Return the accuracy of a fix that the misses speak for: 2 n readings less the three that the fit takes."""
        return math.sqrt(2 * float((self.misses**2).sum()) / (2 * len(self.misses) - 3))


def fit(plane: Floats, deck: Floats) -> Fit:
    """Turn and shift points of a plane until they fit points of the deck best, by least squares.

    Parameters
    ----------
    plane, deck : array, shape (n, 2)
        at least two points, both with the second axis to the right of the first as seen from above

    Examples
    --------
    >>> made = fit(np.array([[0.0, 0.0], [0.0, 10.0]]), np.array([[24.0, 5.0], [34.0, 5.0]]))
    >>> made(np.array([[1.0, 5.0]])).round(6).tolist(), round(made.scale, 6)
    ([[29.0, 4.0]], 1.0)
    """
    middle, target = plane.mean(axis=0), deck.mean(axis=0)
    a, b = plane - middle, deck - target
    across = a.T @ b
    straight, turned = across[0, 0] + across[1, 1], across[0, 1] - across[1, 0]
    size = math.hypot(straight, turned)
    if size < 1e-9:
        turn = np.eye(2)
    else:
        cos, sin = straight / size, turned / size
        turn = np.array([[cos, sin], [-sin, cos]])
    misses = np.hypot(*(a @ turn - b).T)
    return Fit(turn, middle, target, size / float((a**2).sum()), misses, float((a**2).sum()))


def known_of(drawn: Drawn, texts: Sequence[str]) -> list[Known]:
    """Return the known points: those of the file, and those told as “NAME = STATION, OFFSET” or “Y, X = STATION, OFFSET”."""
    found = {one.name: one for one in drawn.known}
    for text in texts:
        name, equals, where = text.rpartition("=")
        name, parts = name.strip(), where.split(",")
        if not equals or not name or len(parts) != 2:
            raise InputError(
                f": --known: found “{clipped(text)}”, wanted a point with its station and offset, such as “A = 24 m, -5 m”"
            )
        at = on_deck_at({"station": parts[0].strip(), "offset": parts[1].strip()}, f"--known {clipped(name)}")
        if name in found:
            raise InputError(f": --known: point “{clipped(name)}” is known twice; keep one of its places")
        found[name] = Known(name, coordinates_of(drawn, name), at)
    return list(found.values())


def coordinates_of(drawn: Drawn, name: str) -> tuple[float, float]:
    """Return the coordinates of a point of the file by its name, or those that stand in place of the name."""
    if name in drawn.points:
        return drawn.points[name]
    try:
        first, second = (float(part) for part in name.split(","))
    except ValueError:
        first = second = math.nan
    if not (math.isfinite(first) and math.isfinite(second)):
        there = f"there are {', '.join(map(clipped, drawn.points))}" if drawn.points else "it names none"
        pair = "latitude, longitude" if drawn.fixes else "x, y"
        raise InputError(f": --known: no point “{clipped(name)}” in the file; {there}; or write “{pair}”")
    if not drawn.fixes:
        return first, second
    if abs(first) > 90 or abs(second) > 180:
        raise InputError(f": --known: found “{clipped(name)}”, wanted latitude and longitude in decimal degrees")
    return second, first


def planes(drawn: Drawn, sets: Sequence[Floats]) -> list[Floats]:
    """Return coordinates in metres, the first axis ahead of the second as station is of offset: north and east, or y and x."""
    if not drawn.fixes:
        return [xy[:, ::-1] * drawn.metres for xy in sets]
    longitude, latitude = np.concatenate(sets).mean(axis=0)
    proj = library("pyproj").Proj(proj="aeqd", lon_0=longitude, lat_0=latitude, ellps="WGS84")
    found = [np.column_stack(proj(xy[:, 0], xy[:, 1])[::-1]) for xy in sets]
    far = max(float(np.max(np.hypot(*one.T))) for one in found)
    if not far <= SPREAD:
        raise InputError(
            f": its points and the known ones lie more than {SPREAD / 1000:g} km apart; "
            "are latitude and longitude in the wrong columns, or of another place?"
        )
    return found


def placed(drawn: Drawn, known: Sequence[Known], accuracy: str, system: System) -> tuple[list[Floats], Fit]:
    """Return every line in station and offset, and how it was placed.

    Raises
    ------
    InputError
        If the known points are too few, at one place, mirrored, or do not fit within what `accuracy` allows.
    """
    if len(known) < 2:
        raise InputError(
            f": known points: {len(known)}, wanted two or more, as far apart as can be, such as --known “A = 24 m, -5 m”"
            + ("" if drawn.fixes else "; or --deck-coordinates where x is station and y offset")
        )
    *lines, plane = planes(drawn, [*(line.xy for line in drawn.lines), np.array([one.xy for one in known])])
    deck = np.array([one.at for one in known])
    if min(np.ptp(plane, axis=0).max(), np.ptp(deck, axis=0).max()) < 0.5:
        raise InputError(": the known points stand at one place; take points far apart")
    made = fit(plane, deck)
    if len(known) > 2 and fit(plane * [1, -1], deck).misses.max() < made.misses.max() / 3 and made.misses.max() > 0.05:
        raise InputError(
            ": the known points fit as if seen in a mirror; stations run ahead, and offsets are positive to the right"
        )
    within = SCALE_OF_FIXES if drawn.fixes else SCALE_OF_DRAWINGS
    fixes = f"; a fix good to {accuracy} gives it where known points are near one another: take them further apart"
    if abs(made.scale - 1) > within:
        raise InputError(
            f": the scale between the known points is {made.scale:.4f}, wanted {1 - within:g} to {1 + within:g}; "
            f"a point, a station or a unit is wrong{fixes if drawn.fixes else ''}"
        )
    most = MISS_OF_FIXES * length_of(accuracy) if drawn.fixes else MISS_OF_DRAWINGS
    for one, miss in zip(known, made.misses, strict=True):
        if miss > most:
            lengths = units.quantity(float(miss), "m"), units.quantity(most, "m")
            by, at_most = units.show_beside(*lengths, Distance, system, operator.le)
            raise InputError(f": known point {clipped(one.name)} misses its place by {by}, wanted at most {at_most}")
    return [made(line) for line in lines], made


def length_of(text: str) -> float:
    """Read an accuracy to metres."""
    try:
        return float(place("1 mm", "100 m").read(text) or 0)
    except InputError as error:
        raise InputError(f": --accuracy: {error}") from None
