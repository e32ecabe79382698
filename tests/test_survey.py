"""Check the geometry of a survey against plane geometry and general libraries, and its properties."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import ConvexHull
from shapely import affinity

from deckcalc import InputError
from deckcalc.patch.formulas.outlines import Rules, mark, merge
from deckcalc.patch.formulas.triangulation import floor
from deckcalc.patch.formulas.unsound import (
    field_rectangle,
    hollow_cells,
    radius_outline,
    same_places,
    traced_outline,
    unsound_regions,
)

PANEL = shapely.box(0, -5, 40, 5)
RULES = Rules(margin=0.06, merge=0.3, least_side=0.15, removal_price=400, cut_price=20, piece_price=50)
few = settings(max_examples=60, deadline=None)
boxes = st.lists(
    st.tuples(st.floats(0.5, 38), st.floats(-4.5, 4.2), st.floats(0.05, 1.2), st.floats(0.05, 0.6)),
    min_size=1,
    max_size=12,
).map(lambda found: [shapely.box(x, y, x + a, y + b) for x, y, a, b in found])
L_SHAPE = shapely.Polygon([(5, 0), (9, 0), (9, 1), (6, 1), (6, 3), (5, 3)])
U_SHAPE = shapely.Polygon([(5, -2), (9, -2), (9, 2), (8, 2), (8, -1), (6, -1), (6, 2), (5, 2)])


def regions(shapes):
    """Return regions that do not touch."""
    return unsound_regions(np.empty(0, dtype=object), np.empty((0, 2)), shapes)


def outlines(markings):
    """Return all marked outlines, in order of place."""
    return sorted((p.outline for m in markings for p in m.pieces), key=lambda o: np.round(o.bounds, 6).tolist())


def grid(nx, ny, dx, dy, hollow):
    """Return a grid of soundings."""
    xy = np.array([(i * dx, j * dy) for i in range(nx) for j in range(ny)])
    return xy, np.array([hollow(i, j) for i in range(nx) for j in range(ny)])


# --- soundings


@given(st.integers(2, 12), st.integers(2, 8), st.floats(0.1, 1.0), st.floats(0.1, 1.0), st.integers(0, 10**6))
@few
def test_a_grid_counts_its_cells(nx, ny, dx, dy, seed):
    rng = np.random.default_rng(seed)
    pattern = rng.random((nx, ny)) < 0.4
    xy, hollow = grid(nx, ny, dx, dy, lambda i, j: pattern[i, j])
    cells = hollow_cells(xy, hollow, dx, dy)
    area = sum(part.area for part in unsound_regions(cells, xy[hollow], []))
    assert area == pytest.approx(hollow.sum() * dx * dy, rel=1e-4, abs=1e-9)
    order = rng.permutation(len(xy))
    again = unsound_regions(hollow_cells(xy[order], hollow[order], dx, dy), xy[order][hollow[order]], [])
    whole = unsound_regions(cells, xy[hollow], [])
    assert [one.equals_exact(two, 1e-9, normalize=True) for one, two in zip(whole, again, strict=True)] == [True] * len(
        whole
    )


def test_a_cell_is_cut_half_way_to_a_nearer_sound_place():
    xy = np.array([[0.0, 0.0], [0.3, 0.4], [1.0, 0.0]])
    cell = hollow_cells(xy, np.array([True, False, False]), 1.0, 1.0)[0]
    # Voronoi: the part of the square that is nearer to the hollow place, by counting a fine raster
    ticks = (np.arange(800) + 0.5) / 800 - 0.5
    x, y = np.meshgrid(ticks, ticks)
    nearer = x**2 + y**2 < (x - 0.3) ** 2 + (y - 0.4) ** 2
    assert cell.area == pytest.approx(nearer.mean(), abs=2e-3)


def test_places_sounded_twice_are_found():
    assert same_places(np.array([[0, 0], [1, 1], [0.005, 0], [1, 1.0]])) == [(0, 2), (1, 3)]


def test_an_outline_stands_instead_of_the_soundings_inside_it():
    xy, hollow = grid(7, 7, 1.0, 1.0, lambda i, j: i == 3 and j == 3)
    traced = shapely.Point(3, 3).buffer(0.3)
    found = unsound_regions(hollow_cells(xy, hollow, 1.0, 1.0), xy[hollow], [traced])
    assert len(found) == 1 and found[0].area == pytest.approx(traced.area, rel=1e-4)


# --- radii, traces, rectangles


@given(st.lists(st.floats(0.1, 3.0), min_size=4, max_size=24), st.floats(-180, 180))
@few
def test_radii_make_the_area_of_their_triangles(reach, turn):
    n = len(reach)
    bearings = [turn + 360 * k / n for k in range(n)]
    area = radius_outline(100.0, -2.0, bearings, reach).area
    by_hand = sum(reach[k] * reach[(k + 1) % n] * math.sin(2 * math.pi / n) / 2 for k in range(n))
    assert area == pytest.approx(by_hand, rel=1e-9)


def test_equal_radii_come_to_a_circle():
    area = radius_outline(0, 0, list(range(0, 360, 2)), [1.0] * 180).area
    assert area == pytest.approx(math.pi, rel=3e-4)


def test_bearings_turn_clockwise_from_ahead():
    shape = radius_outline(10, 1, [0, 90, 180, 270], [4, 3, 2, 1])  # ahead, right, back, left
    assert shape.bounds == pytest.approx((8, 0, 14, 4))


@pytest.mark.parametrize(
    ("bearings", "words"),
    [([0, 90], "2 radii, wanted at least three"), ([0, 45, 90, 135], "no radius between the bearings 135 and 0"),
     ([0, 120, 120.1, 240], "two radii on the bearing 120")],
)  # fmt: skip
def test_radii_that_enclose_nothing_are_refused(bearings, words):
    with pytest.raises(InputError, match=words):
        radius_outline(0, 0, bearings, [1.0] * len(bearings))


@pytest.mark.parametrize(
    ("vertices", "words"),
    [([(0, 0), (1, 1), (1, 0), (0, 1)], "crosses or touches itself near station 0.50 m, offset 0.50 m"),
     ([(0, 0), (1, 1)], "2 vertices"), ([(0, 0), (1, 0), (1, 0), (0, 1)], "vertices 2 and 3 stand at the same place"),
     ([(0, 0), (1, 0), (1, 0.00001)], "encloses no area")],
)  # fmt: skip
def test_outlines_that_are_none_are_refused(vertices, words):
    with pytest.raises(InputError, match=words):
        traced_outline(np.array(vertices, dtype=float))


@given(st.lists(st.tuples(st.floats(0, 5), st.floats(0, 5)), min_size=5, max_size=20, unique=True))
@few
def test_a_traced_hull_has_the_area_of_the_hull(points):
    points = np.array(points)
    if np.linalg.matrix_rank(points - points[0], tol=1e-2) < 2:
        return
    hull = ConvexHull(points, qhull_options="QJ")
    try:
        found = traced_outline(points[hull.vertices])
    except InputError:
        return  # two vertices at one place
    assert found.area == pytest.approx(hull.volume, rel=1e-4, abs=1e-4)


# --- repair limits


@given(boxes)
@few
def test_limits_hold_the_unsound_concrete_and_its_margin(shapes):
    found = mark(regions(shapes), PANEL, RULES)
    drawn = shapely.union_all(outlines(found)).buffer(1e-6)
    unsound = shapely.union_all(shapes)
    assert drawn.covers(unsound.buffer(RULES.margin, quad_segs=4).intersection(PANEL))
    assert PANEL.buffer(1e-6).covers(drawn.buffer(-2e-6))


@given(boxes, st.integers(0, 10**6))
@few
def test_the_order_of_regions_does_not_matter(shapes, seed):
    order = np.random.default_rng(seed).permutation(len(shapes))
    one, other = (outlines(mark(regions(some), PANEL, RULES)) for some in (shapes, [shapes[k] for k in order]))
    assert len(one) == len(other)
    assert all(a.equals_exact(b, 1e-6, normalize=True) for a, b in zip(one, other, strict=True))


@given(boxes)
@few
def test_patches_do_not_overlap_and_keep_their_distance(shapes):
    found = mark(regions(shapes), PANEL, RULES)
    for a, one in enumerate(found):
        for other in found[a + 1 :]:
            gap = min(p.outline.distance(q.outline) for p in one.pieces for q in other.pieces)
            assert gap >= RULES.merge - 1e-6
    parts = outlines(found)
    assert sum(p.area for p in parts) == pytest.approx(shapely.union_all(parts).area, rel=1e-6)


@given(boxes)
@few
def test_splitting_never_removes_more_than_boxing(shapes):
    for one in mark(regions(shapes), PANEL, RULES):
        assert sum(piece.outline.area for piece in one.pieces) <= one.boxed[0] * (1 + 1e-9)
        if one.split:
            assert one.split[0] <= one.boxed[0] * (1 + 1e-9)


@given(boxes, st.floats(-3000, 3000), st.floats(-60, 60))
@few
def test_turning_and_shifting_the_deck_changes_no_area(shapes, shift, angle):
    still = mark(regions(shapes), PANEL, RULES)
    turn = math.radians(angle)
    moved = [
        affinity.translate(affinity.rotate(s, turn, origin=(0, 0), use_radians=True), shift, 3.0)
        for s in [*regions(shapes), PANEL]
    ]
    rules = Rules(0.06, 0.3, 0.15, turn, 400, 20, 50)
    other = mark(moved[:-1], moved[-1], rules)
    a, b = (sum(p.outline.area for m in found for p in m.pieces) for found in (still, other))
    assert a == pytest.approx(b, rel=1e-5, abs=1e-5)


@given(boxes)
@few
def test_merging_leaves_all_unsound_concrete(shapes):
    apart = regions(shapes)
    assert sum(s.area for s in merge(apart, PANEL, RULES)) == pytest.approx(sum(s.area for s in apart), rel=1e-9)


@pytest.mark.parametrize(("shape", "count"), [(L_SHAPE, 2), (U_SHAPE, 3)])
def test_a_bent_region_is_split_by_its_legs(shape, count):
    one = mark([shape], PANEL, Rules(0.05, 0.3, 0.15, 0.0, 400, 20, 50))[0]
    assert len(one.pieces) == count
    grown = sum(p.outline.area for p in one.pieces)
    assert grown == pytest.approx(shape.buffer(0.05, join_style="mitre").area, rel=1e-6)  # nothing sound but the margin
    x_1, y_1, x_2, y_2 = shape.buffer(0.05).bounds
    assert one.boxed == pytest.approx(((x_2 - x_1) * (y_2 - y_1), 2 * (x_2 - x_1 + y_2 - y_1)), rel=1e-6)
    shared = (one.split[1] - shape.buffer(0.05, join_style="mitre").length) / (count - 1)
    assert shared == pytest.approx(1.1, rel=1e-5)  # each cut in common runs across a leg of 1 m and its margins


def test_a_bent_region_stays_one_box_where_cuts_are_dear():
    dear = Rules(0.05, 0.3, 0.15, 0.0, 1.0, 1000.0, 0.0)
    one = mark([L_SHAPE], PANEL, dear)[0]
    assert len(one.pieces) == 1


def test_legs_closer_than_the_merge_distance_stay_together():
    narrow = shapely.Polygon([(5, -2), (7.2, -2), (7.2, 2), (6.2, 2), (6.2, -1), (6, -1), (6, 2), (5, 2)])
    assert len(mark([narrow], PANEL, Rules(0.05, 0.3, 0.15, 0.0, 400, 1, 0))[0].pieces) == 1


def test_limits_stop_at_kerb_and_joint_without_a_cut():
    piece = mark([shapely.box(39, 4, 40, 5)], PANEL, RULES)[0].pieces[0]
    assert piece.outline.bounds == pytest.approx((38.94, 3.94, 40, 5))
    assert piece.cut == pytest.approx(2 * 1.06, abs=1e-5)


def test_a_skew_joint_cuts_a_corner_off():
    panel = shapely.Polygon([(0, 0), (20, 0), (25, 5), (5, 5)])
    piece = mark([shapely.box(22.6, 3, 22.9, 3.4)], panel, RULES)[0].pieces[0]
    assert piece.outline.area < piece.sides[0] * piece.sides[1]
    skewed = mark([shapely.box(10, 2, 11, 3)], panel, Rules(0.06, 0.3, 0.15, math.pi / 4))[0].pieces[0]
    assert skewed.sides == pytest.approx(
        (math.sqrt(2) + 0.12, math.sqrt(2) + 0.12), rel=1e-9
    )  # the diagonal of the square


def test_a_small_region_is_widened_to_the_least_side():
    piece = mark([field_rectangle(10, 0, 0.02, 0.02)], PANEL, Rules(0.01, 0.3, 0.15))[0].pieces[0]
    assert piece.sides == pytest.approx((0.15, 0.15))
    edge = mark([field_rectangle(10, 4.98, 0.02, 0.02)], PANEL, Rules(0.01, 0.3, 0.15))[0].pieces[0]
    assert edge.outline.bounds == pytest.approx((9.925, 4.85, 10.075, 5.0))


# --- floors

readings = st.lists(st.tuples(st.floats(0.02, 0.98), st.floats(0.02, 0.48), st.floats(0.03, 0.2)), min_size=1, max_size=9,
                    unique_by=lambda r: (round(r[0], 2), round(r[1], 2)))  # fmt: skip
HOLE = shapely.box(0, 0, 1, 0.5)


@given(readings, st.integers(0, 10**6))
@few
def test_a_floor_covers_its_patch_whatever_the_order(found, seed):
    xy, h = np.array([r[:2] for r in found]), np.array([r[2] for r in found])
    made = floor(HOLE, xy, h)
    assert made.areas.sum() == pytest.approx(HOLE.area, rel=1e-6)
    assert h.min() * HOLE.area * (1 - 1e-6) <= made.volume <= h.max() * HOLE.area * (1 + 1e-6)
    order = np.random.default_rng(seed).permutation(len(h))
    assert floor(HOLE, xy[order], h[order]).volume == pytest.approx(made.volume, rel=1e-9)


@given(readings)
@few
def test_a_floor_agrees_with_interpolation_between_its_points(found):
    xy, h = np.array([r[:2] for r in found]), np.array([r[2] for r in found])
    made = floor(HOLE, xy, h)
    surface = LinearNDInterpolator(made.points, made.depth)
    x, y = np.meshgrid((np.arange(60) + 0.5) / 60, (np.arange(40) + 0.5) / 80)
    mean = float(np.nanmean(surface(x, y)))
    assert made.volume == pytest.approx(mean * HOLE.area, rel=0.03)  # a raster; triangulations of even grids may differ


def test_a_sloping_floor_has_the_volume_of_its_prismoid():
    xy = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 0.5], [0.0, 0.5]])
    plane = lambda x, y: 0.05 + 0.06 * x + 0.08 * y  # noqa: E731
    exact = dblquad(lambda y, x: plane(x, y), 0, 1, 0, 0.5)[0]
    made = floor(HOLE, xy, plane(*xy.T))
    assert made.volume == pytest.approx(exact, rel=1e-9)
    assert made.volume_within(shapely.box(0.2, 0.1, 0.6, 0.3)) == pytest.approx(
        dblquad(lambda y, x: plane(x, y), 0.2, 0.6, 0.1, 0.3)[0]
    )
    corner = [(1 / 3, 0.5), (1, 0), (1, 0.5)]  # 0.05 + 0.06 x + 0.08 y = 0.11 runs from (1, 0) to (1/3, 0.5)
    assert made.deeper(0.11).area == pytest.approx(shapely.Polygon(corner).area, rel=1e-9)


def test_a_corner_takes_the_deeper_of_two_readings_as_near():
    made = floor(shapely.box(0, 0, 2, 1), np.array([[0.0, 0.5], [2.0, 0.5], [1.0, 0.5]]), np.array([0.1, 0.2, 0.15]))
    assert made.volume == pytest.approx(0.3)
    even = floor(
        shapely.box(0, 0, 2, 2),
        np.array([[1.0, 0.0], [1.0, 2.0], [0.0, 1.0], [2.0, 1.0]]),
        np.array([0.1, 0.1, 0.2, 0.1]),
    )
    assert list(even.depth[even.corner]) == pytest.approx([0.1, 0.1, 0.2, 0.2])


def test_a_reading_outside_the_limits_moves_to_their_edge():
    made = floor(HOLE, np.array([[0.5, 0.25], [1.1, 0.25]]), np.array([0.1, 0.2]))
    assert made.points[1] == pytest.approx([1.0, 0.25])
