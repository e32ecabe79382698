"""Check the patch: marked limits, depth, clear space, saw cut, volume, order; and the limits that a job may replace."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from deckcalc import InputError, Q, units
from deckcalc.patch import (
    bonding_grout,
    clear_space,
    order_total,
    patch_depth,
    patch_limits,
    patch_volume,
    removal_depth,
    saw_cut,
)
from deckcalc.sheet import HandCalculation
from deckcalc.sources import PROVENANCES, Cite
from deckcalc.tables import load

sides = st.floats(0.1, 10.0)
margins = st.floats(0.0, 0.3)
depths = st.floats(0.005, 0.2)
covers = st.floats(0.0, 0.15)
diameters = st.floats(0.0, 0.04)
spaces = st.floats(0.0, 0.05)
shares = st.floats(0.0, 1.0)


def m(value):
    """Return a length in metres."""
    return Q(value, "m")


def removal(readings, c, d_1=0.016, d_2=0.016, s_c=0.025):
    """Return the depth of removal for lengths in metres."""
    return removal_depth(m(readings), m(c), m(d_1), m(d_2), m(s_c))


def close(a, b, unit):
    """Hold two quantities to 1e-12."""
    assert a.m_as(unit) == pytest.approx(b.m_as(unit), rel=1e-12, abs=1e-12)


# --- marked limits


@given(sides, sides, margins)
def test_the_marked_area_holds_the_unsound_area(L_u, B_u, margin):
    marked = patch_limits(m(L_u), m(B_u), m(margin))
    unsound = L_u * B_u
    assert marked.A.m_as("m²") >= unsound * (1 - 1e-12)
    ring = 2 * margin * (L_u + B_u) + 4 * margin**2  # the frame of sound concrete, counted by itself
    assert marked.A_sound.m_as("m²") == pytest.approx(ring, rel=1e-9, abs=1e-12)
    assert marked.P_cut.m_as("m") == pytest.approx(2 * (L_u + B_u) + 8 * margin, rel=1e-12)


@given(sides, sides, margins)
def test_length_and_width_may_change_places(L_u, B_u, margin):
    one, other = patch_limits(m(L_u), m(B_u), m(margin)), patch_limits(m(B_u), m(L_u), m(margin))
    assert one.L == other.B and one.B == other.L
    for name in ("A", "P_cut", "A_sound"):
        assert getattr(one, name).magnitude == pytest.approx(getattr(other, name).magnitude, rel=1e-9, abs=1e-12)


@given(sides, sides, margins, st.floats(0.001, 0.1))
def test_a_wider_margin_takes_out_more(L_u, B_u, margin, more):
    narrow, wide = patch_limits(m(L_u), m(B_u), m(margin)), patch_limits(m(L_u), m(B_u), m(margin + more))
    for name in wide._fields:
        assert getattr(wide, name) > getattr(narrow, name)


@given(sides, sides, margins)
def test_limits_do_not_depend_on_the_units(L_u, B_u, margin):
    si = patch_limits(m(L_u), m(B_u), m(margin))
    us = patch_limits(m(L_u).to("ft"), m(B_u).to("ft"), m(margin).to("inch"))
    close(si.A, us.A, "m²")
    close(si.P_cut, us.P_cut, "m")
    close(si.A_sound, us.A_sound, "m²")


# --- depth


@given(st.lists(depths, min_size=1, max_size=12), st.randoms(use_true_random=False))
def test_the_order_of_readings_does_not_matter(readings, random):
    shuffled = list(readings)
    random.shuffle(shuffled)
    one, other = patch_depth(m(readings), m(0.2)), patch_depth(m(shuffled), m(0.2))
    close(one.h_mean, other.h_mean, "m")
    assert one.h_max == other.h_max and one.r_h == other.r_h


@given(st.lists(depths, min_size=1, max_size=12))
def test_the_mean_lies_between_the_readings(readings):
    found = patch_depth(m(readings), m(0.25))
    assert min(readings) * (1 - 1e-12) <= found.h_mean.m_as("m") <= max(readings) * (1 + 1e-12)
    assert found.h_max.m_as("m") == pytest.approx(max(readings), rel=1e-12)
    assert 0 < found.r_h.m_as("") <= 1
    us = patch_depth(m(readings).to("inch"), m(0.25).to("inch"))
    close(found.r_h, us.r_h, "")
    close(found.h_mean, us.h_mean, "m")


def test_many_patches_at_once_keep_their_own_readings():
    found = patch_depth(Q([[40.0, 60.0], [30.0, 35.0]], "mm"), Q(200, "mm"))
    assert list(found.h_mean.m_as("mm")) == pytest.approx([50.0, 32.5])
    assert list(found.h_max.m_as("mm")) == pytest.approx([60.0, 35.0])


def test_a_reading_deeper_than_the_slab_is_refused_in_both_units():
    with pytest.raises(InputError, match=r"h holds a reading of 210 mm \(8\.27 in\).*slab thickness t of 200 mm"):
        patch_depth(Q([60, 210], "mm"), Q(200, "mm"))
    assert patch_depth(Q([8], "in"), Q(8, "in")).r_h.m_as("") == pytest.approx(1.0)


# --- clear space, removal and saw cut


@given(spaces, st.floats(0.005, 0.05), spaces)
def test_clear_space_is_the_larger_need(s_min, D_max, e):
    found = clear_space(m(s_min), m(D_max), m(e)).s_c.m_as("m")
    assert found == pytest.approx(max(s_min, D_max + e), rel=1e-12)


@given(depths, depths, covers, diameters, diameters, spaces)
def test_bars_that_are_reached_come_free(a, b, c, d_1, d_2, s_c):
    found, deepest = removal([a, b], c, d_1, d_2, s_c), max(a, b)
    bottom = c + d_1 + d_2 + s_c
    assert found.h_max.m_as("m") == pytest.approx(deepest, rel=1e-12)
    assert found.h_bars.m_as("m") == pytest.approx(bottom, rel=1e-12, abs=1e-15)
    if deepest > c * (1 + 1e-6):
        taken = (max(a, bottom) + max(b, bottom)) / 2  # place by place
        assert found.h.m_as("m") == pytest.approx(taken, rel=1e-12)
    elif deepest < c * (1 - 1e-6):
        assert found.h.m_as("m") == pytest.approx((a + b) / 2, rel=1e-12)


@given(st.lists(depths, min_size=1, max_size=6), covers, st.floats(1.0, 2.0))
def test_deeper_readings_never_mean_less_removal(readings, c, factor):
    deeper = removal([x * factor for x in readings], c).h
    assert deeper >= removal(readings, c).h * (1 - 1e-12)


@given(depths, covers, diameters, spaces)
def test_removal_does_not_depend_on_the_units(h, c, d, s_c):
    si = removal_depth(m([h]), m(c), m(d), m(d), m(s_c))
    us = removal_depth(m([h]).to("inch"), *(m(x).to("inch") for x in (c, d, d, s_c)))
    if abs(h - c) > 1e-8:
        close(si.h, us.h, "m")
    close(si.h_bars, us.h_bars, "m")


def test_a_reading_equal_to_the_cover_does_not_reach_the_bars():
    mat = [Q(x, "in") for x in (2, 0.625, 0.625, 1)]
    assert removal_depth(Q([1, 2], "in"), *mat).n_r.m_as("") == 0
    deeper = removal_depth(Q([1, 2.001], "in"), *mat)
    assert deeper.n_r.m_as("") == 1 and deeper.h.m_as("inch") == pytest.approx(4.25, rel=1e-12)


def test_removal_works_on_arrays():
    found = removal_depth(Q([[35.0, 45.0], [40.0, 70.0]], "mm"), *(Q(x, "mm") for x in (50, 16, 16, 25)))
    assert list(found.h.m_as("mm")) == pytest.approx([40.0, 107.0])


@given(covers, spaces, st.floats(0.0, 0.02))
def test_the_saw_stays_clear_of_the_bars(c, margin, more):
    cut = saw_cut(m(c), m(margin))
    assert cut.m_as("m") == pytest.approx(c - margin, rel=1e-12, abs=1e-15)
    assert saw_cut(m(c), m(margin + more)) <= cut
    close(cut, saw_cut(m(c).to("inch"), m(margin).to("inch")), "m")


# --- volume


@given(st.floats(0.01, 50.0), depths, shares, shares, st.floats(1.0, 4.0))
def test_volumes_scale_with_area_and_depth(A, h, over, waste, factor):
    one = patch_volume(Q(A, "m²"), m(h), Q(over), Q(waste))
    for other in (
        patch_volume(Q(A * factor, "m²"), m(h), Q(over), Q(waste)),
        patch_volume(Q(A, "m²"), m(h * factor), Q(over), Q(waste)),
    ):
        for name in one._fields:
            assert getattr(other, name).m_as("m³") == pytest.approx(factor * getattr(one, name).m_as("m³"), rel=1e-12)
    assert one.V_net <= one.V_placed <= one.V_order


@given(st.floats(0.01, 50.0), depths, shares, shares)
def test_volumes_do_not_depend_on_the_units(A, h, over, waste):
    si = patch_volume(Q(A, "m²"), m(h), Q(over), Q(waste))
    us = patch_volume(Q(A, "m²").to("ft²"), m(h).to("inch"), Q(100 * over, "%"), Q(100 * waste, "%"))
    for name in si._fields:
        close(getattr(si, name), getattr(us, name), "m³")


def test_a_cubic_yard_is_27_cubic_feet():
    assert patch_volume(Q(27, "ft²"), Q(12, "in"), Q(0, "%"), Q(0, "%")).V_order.m_as("yd³") == pytest.approx(1.0)


@given(st.lists(st.floats(0.0, 20.0), min_size=1, max_size=20))
def test_the_order_is_the_sum_of_the_patches(volumes):
    total = order_total(Q(volumes, "m³")).V_total
    assert total.m_as("m³") == pytest.approx(sum(volumes), rel=1e-12, abs=1e-12)
    close(total, order_total(Q(volumes, "m³").to("yd³")[::-1]).V_total, "m³")


@given(sides, sides, depths)
def test_grout_covers_floor_and_sides(L, B, h):
    found = bonding_grout(m(L), m(B), m(h), Q(2, "mm"))
    assert found.A_b.m_as("m²") == pytest.approx(L * B + 2 * L * h + 2 * B * h, rel=1e-12)
    assert found.V_g.m_as("L") == pytest.approx(2 * found.A_b.m_as("m²"), rel=1e-12)
    close(found.V_g, bonding_grout(m(L).to("ft"), m(B).to("ft"), m(h).to("inch"), m(0.002).to("inch")).V_g, "m³")


# --- bad input


GOOD = {
    patch_limits: {"L_u": Q(1.2, "m"), "B_u": Q(0.8, "m"), "m": Q(60, "mm")},
    patch_depth: {"h": Q([62, 48], "mm"), "t": Q(200, "mm")},
    clear_space: {"s_min": Q(20, "mm"), "D_max": Q(20, "mm"), "e": Q(6, "mm")},
    removal_depth: {
        "h_i": Q([48, 62], "mm"), "c": Q(51, "mm"), "d_1": Q(16, "mm"), "d_2": Q(12, "mm"),
        "s_c": Q(26, "mm"),
    },
    saw_cut: {"c_min": Q(38, "mm"), "m_saw": Q(6, "mm")},
    patch_volume: {"A": Q(1.1, "m²"), "h": Q(109, "mm"), "q_over": Q(5, "%"), "q_waste": Q(10, "%")},
    order_total: {"V": Q([0.1, 0.25], "m³")},
    bonding_grout: {"L": Q(1.2, "m"), "B": Q(0.8, "m"), "h": Q(109, "mm"), "t_g": Q(2, "mm")},
}  # fmt: skip
FIELDS = [(calculation, name) for calculation, values in GOOD.items() for name in values]


@pytest.mark.parametrize(("calculation", "name"), FIELDS, ids=[f"{c.name}-{n}" for c, n in FIELDS])
@pytest.mark.parametrize("bad", ["nan", "infinite", "negative", "too large", "wrong kind", "no unit"])
def test_bad_input_is_named(calculation, name, bad):
    good = GOOD[calculation][name]
    wrong = {
        "nan": good * float("nan"), "infinite": good * float("inf"), "negative": -1 * good, "too large": good * 1e6,
        "wrong kind": Q(20, "kg"), "no unit": "thick",
    }[bad]  # fmt: skip
    with pytest.raises(InputError, match=rf"{calculation.name}: {name}\b"):
        calculation(**{**GOOD[calculation], name: wrong})


def test_a_missing_argument_and_an_empty_list_are_named():
    with pytest.raises(InputError, match="patch_limits.*m"):
        patch_limits(L_u=Q(1, "m"), B_u=Q(1, "m"))
    with pytest.raises(InputError, match="h wants at least 1 reading"):
        patch_depth(Q([], "mm"), Q(200, "mm"))


@pytest.mark.parametrize("system", ["SI", "US"])
@pytest.mark.parametrize("calculation", GOOD, ids=[c.name for c in GOOD])
def test_every_sheet_reads_back(calculation, system):
    sheet = HandCalculation(calculation, system, GOOD[calculation])
    text = sheet._repr_markdown_()
    for line in calculation.lines:
        assert line.comment[1:] in text
    for name in GOOD[calculation]:
        assert calculation.params[name].meaning in text


def test_the_sheet_says_whether_the_bars_are_reached():
    text = HandCalculation(removal_depth, "SI", GOOD[removal_depth])._repr_markdown_()
    assert "the deepest reading, 62 mm, against the least cover, 51 mm: 1 if it goes past the cover, 0 if not" in text
    assert "the mean of the readings 48, 62 mm, each taken as 105 mm where it is less" in text


# --- limits that a job may replace

LIMITS = load("limits").rows
KEYS = {
    "margin", "margin_least", "margin_most", "least_side", "partial_depth_ratio", "least_patch_depth", "clear_space",
    "clear_over_aggregate", "aggregate_size", "saw_depth", "saw_margin", "bar_loss_single", "bar_loss_adjacent",
    "waste",
}  # fmt: skip


def test_the_limits_are_complete():
    assert {row["key"] for row in LIMITS} >= KEYS and len(LIMITS) == len({row["key"] for row in LIMITS})
    assert [row["key"] for row in LIMITS if not row["SI"] or not row["US"]] == []


@pytest.mark.parametrize("row", LIMITS, ids=lambda row: row["key"])
def test_each_limit_reads_with_its_kind_and_names_its_source(row):
    assert None not in row and None not in row.values()  # no cell too many or too few
    kind = getattr(units, row["kind"])
    assert row["provenance"] in PROVENANCES and row["meaning"] and row["where"]
    assert bool(row["source"]) == (row["provenance"] != "common practice")
    assert str(Cite(row["source"], row["where"], row["provenance"]))
    if row["SI"]:
        si, us = (units.read(row[system], kind) for system in ("SI", "US"))
        base = units.kind_of(kind).base
        assert us.m_as(base) == pytest.approx(si.m_as(base), rel=0.09)  # hard values, not conversions
        assert si.m_as(base) > 0


def test_the_margin_lies_between_its_own_limits():
    by_key = {row["key"]: row for row in LIMITS}
    for system in ("SI", "US"):
        least, margin, most = (
            units.read(by_key[key][system], units.Length) for key in ("margin_least", "margin", "margin_most")
        )
        assert least <= margin <= most
