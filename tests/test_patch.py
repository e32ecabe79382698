"""Check the patch: repair limits, depth, clear space, saw cut, volume, order; and the limits that a job may replace."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from deckcalc import InputError, Q
from deckcalc.core import units
from deckcalc.core.sources import PROVENANCES, Cite
from deckcalc.core.tables import load
from deckcalc.patch import (
    bars_in_hole,
    bond_area,
    bonding_grout,
    bottom_mat,
    box_or_split,
    clear_space,
    curing_area,
    debris,
    distress_share,
    neat_volume,
    order_total,
    overlay_volume,
    panel_depth,
    patch_cover,
    patch_depth,
    patch_limits,
    patch_volume,
    remaining_slab,
    removal_depth,
    saw_cut,
    through_part,
    undercut_volume,
    whole_number,
)
from deckcalc.show.hand import HandCalculation

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
    return removal_depth(m(readings), m(c), m(c), m(d_1), m(d_2), m(s_c))


def limits(L_u, B_u, margin, **other):
    """Return repair limits of a rectangle of unsound concrete, lengths in metres."""
    given = {"e_L": m(0.0), "e_B": m(0.0), "A_n": Q(0, "m²"), "P_n": m(0.0), "A_u": L_u * B_u, "m": margin} | other
    return patch_limits(L_u=L_u, B_u=B_u, **given)


def order(A, h, over, waste):
    """Return the volumes of a patch without undercut and growth."""
    return patch_volume(A, h, Q(0, "m³"), Q(0, "%"), over, waste)


def close(a, b, unit):
    """Hold two quantities to 1e-12."""
    assert a.m_as(unit) == pytest.approx(b.m_as(unit), rel=1e-12, abs=1e-12)


# --- repair limits


@given(sides, sides, margins)
def test_the_marked_area_holds_the_unsound_area(L_u, B_u, margin):
    marked = limits(m(L_u), m(B_u), m(margin))
    unsound = L_u * B_u
    assert marked.A.m_as("m²") >= unsound * (1 - 1e-12)
    ring = 2 * margin * (L_u + B_u) + 4 * margin**2  # the frame of sound concrete, counted by itself
    assert marked.A_sound.m_as("m²") == pytest.approx(ring, rel=1e-9, abs=1e-12)
    assert marked.P_cut.m_as("m") == pytest.approx(2 * (L_u + B_u) + 8 * margin, rel=1e-12)


@given(sides, sides, margins)
def test_length_and_width_may_change_places(L_u, B_u, margin):
    one, other = limits(m(L_u), m(B_u), m(margin)), limits(m(B_u), m(L_u), m(margin))
    assert one.L == other.B and one.B == other.L
    for name in ("A", "P_cut", "A_sound"):
        assert getattr(one, name).magnitude == pytest.approx(getattr(other, name).magnitude, rel=1e-9, abs=1e-12)


@given(sides, sides, margins, st.floats(0.001, 0.1))
def test_a_wider_margin_takes_out_more(L_u, B_u, margin, more):
    narrow, wide = limits(m(L_u), m(B_u), m(margin)), limits(m(L_u), m(B_u), m(margin + more))
    for name in wide._fields:
        assert getattr(wide, name) > getattr(narrow, name)


@given(sides, sides, margins)
def test_limits_do_not_depend_on_the_units(L_u, B_u, margin):
    si = limits(m(L_u), m(B_u), m(margin))
    us = limits(m(L_u).to("ft"), m(B_u).to("ft"), m(margin).to("inch"))
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
    si = removal_depth(m([h]), m(c), m(c), m(d), m(d), m(s_c))
    us = removal_depth(m([h]).to("inch"), *(m(x).to("inch") for x in (c, c, d, d, s_c)))
    if abs(h - c) > 1e-8:
        close(si.h, us.h, "m")
    close(si.h_bars, us.h_bars, "m")


def test_a_reading_equal_to_the_cover_does_not_reach_the_bars():
    mat = [Q(x, "in") for x in (2, 2, 0.625, 0.625, 1)]
    assert removal_depth(Q([1, 2], "in"), *mat).n_r.m_as("") == 0
    deeper = removal_depth(Q([1, 2.001], "in"), *mat)
    assert deeper.n_r.m_as("") == 1 and deeper.h.m_as("inch") == pytest.approx(4.25, rel=1e-12)


def test_the_least_cover_decides_whether_bars_are_reached_and_the_greatest_how_deep():
    mat = {"d_1": Q(0.625, "in"), "d_2": Q(0.625, "in"), "s_c": Q(0.75, "in")}
    for h, reached in (
        (1.7501, 1),
        (1.75, 0),
        (1.7499, 0),
    ):  # past the minimum cover of 1.75 in, not yet the maximum of 2 in
        made = removal_depth(Q([h], "in"), Q(1.75, "in"), Q(2.0, "in"), **mat)
        assert made.n_r.m_as("") == reached
        assert made.h_bars.m_as("inch") == pytest.approx(
            4.0
        )  # with the minimum cover the deepest bar had 0.50 in below it
    with pytest.raises(InputError, match="minimum cover c_min of 50.8 mm is more than the maximum c_max of 44.4 mm"):
        removal_depth(Q([3.0], "in"), Q(2.0, "in"), Q(1.75, "in"), **mat)


@given(st.lists(covers, min_size=1, max_size=8))
def test_cover_is_least_mean_and_greatest_in_any_order(readings):
    found, turned = (patch_cover(m(some)) for some in (readings, readings[::-1]))
    assert found.least == turned.least and found.greatest == turned.greatest
    assert found.least.m_as("m") == pytest.approx(min(readings), rel=1e-12)
    assert found.greatest.m_as("m") == pytest.approx(max(readings), rel=1e-12)
    assert min(readings) - 1e-12 <= found.mean.m_as("m") <= max(readings) + 1e-12


def test_removal_works_on_arrays():
    found = removal_depth(Q([[35.0, 45.0], [40.0, 70.0]], "mm"), *(Q(x, "mm") for x in (50, 50, 16, 16, 25)))
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
    one = order(Q(A, "m²"), m(h), Q(over), Q(waste))
    for other in (
        order(Q(A * factor, "m²"), m(h), Q(over), Q(waste)),
        order(Q(A, "m²"), m(h * factor), Q(over), Q(waste)),
    ):
        for name in one._fields:
            assert getattr(other, name).m_as("m³") == pytest.approx(factor * getattr(one, name).m_as("m³"), rel=1e-12)
    assert one.V_net <= one.V_placed <= one.V_order


@given(st.floats(0.01, 50.0), depths, shares, shares)
def test_volumes_do_not_depend_on_the_units(A, h, over, waste):
    si = order(Q(A, "m²"), m(h), Q(over), Q(waste))
    us = order(Q(A, "m²").to("ft²"), m(h).to("inch"), Q(100 * over, "%"), Q(100 * waste, "%"))
    for name in si._fields:
        close(getattr(si, name), getattr(us, name), "m³")


def test_a_cubic_yard_is_27_cubic_feet():
    assert order(Q(27, "ft²"), Q(12, "in"), Q(0, "%"), Q(0, "%")).V_order.m_as("yd³") == pytest.approx(1.0)


@given(st.lists(st.floats(0.0, 20.0), min_size=1, max_size=20))
def test_the_order_is_the_sum_of_the_patches(volumes):
    total = order_total(Q(volumes, "m³")).V_total
    assert total.m_as("m³") == pytest.approx(sum(volumes), rel=1e-12, abs=1e-12)
    close(total, order_total(Q(volumes, "m³").to("yd³")[::-1]).V_total, "m³")


@given(st.floats(0.01, 50.0), depths, st.floats(0.0, 0.01), shares, shares, shares)
def test_undercut_and_growth_come_before_overbreak_and_waste(A, h, under, grow, over, waste):
    found = patch_volume(Q(A, "m²"), m(h), Q(under, "m³"), Q(grow), Q(over), Q(waste))
    assert found.V_hole.m_as("m³") == pytest.approx((A * h + under) * (1 + grow), rel=1e-12)
    assert found.V_order.m_as("m³") == pytest.approx((A * h + under) * (1 + grow) * (1 + over) * (1 + waste), rel=1e-12)


@given(sides, sides, depths)
def test_bond_covers_floor_and_sides(L, B, h):
    bond = bond_area(m(L) * m(B), 2 * (m(L) + m(B)), m(h))
    assert bond.A_b.m_as("m²") == pytest.approx(L * B + 2 * L * h + 2 * B * h, rel=1e-12)
    grout = bonding_grout(bond.A_b, Q(2, "mm"))
    assert grout.m_as("L") == pytest.approx(2 * bond.A_b.m_as("m²"), rel=1e-12)
    close(grout, bonding_grout(bond.A_b.to("ft²"), m(0.002).to("inch")), "m³")


@given(depths, st.floats(0.0, 0.19))
def test_removal_and_remainder_make_the_slab(h, bars):
    found = remaining_slab(m(h), m(bars), m(0.2))
    assert (found.h_d + found.t_r).m_as("m") == pytest.approx(0.2, rel=1e-12)
    assert found.h_d.m_as("m") == pytest.approx(max(h, bars), rel=1e-12)


@given(st.floats(0.001, 40.0), st.floats(0.01, 5.0))
def test_whole_batches_are_just_enough(V, batch):
    found = whole_number(Q(V, "m³"), Q(batch, "m³"))
    assert -1e-8 * batch <= found.V_left.m_as("m³") < batch
    assert found.n.m_as("") == int(found.n.m_as(""))


@given(sides, depths, st.floats(0.0, 0.05), st.floats(0.0, 0.05))
def test_the_wedge_lies_below_the_saw_cut(P, h, saw, u):
    found = undercut_volume(m(P), m(h), m(saw), m(u)).V_u.m_as("m³")
    assert found == pytest.approx(P * u * max(h - saw, 0) / 2, rel=1e-9, abs=1e-15)


# --- bad input


GOOD = {
    patch_limits: {
        "L_u": Q(1.2, "m"), "B_u": Q(0.8, "m"), "A_u": Q(0.9, "m²"), "m": Q(60, "mm"), "e_L": Q(30, "mm"),
        "e_B": Q(-20, "mm"), "A_n": Q(0.02, "m²"), "P_n": Q(0.4, "m"),
    },
    box_or_split: {
        "A_1": Q(2, "m²"), "P_1": Q(5.6, "m"), "A_s": Q(1.3, "m²"), "P_s": Q(6.2, "m"), "n_s": Q(2),
        "k_A": Q(400, "1/m²"), "k_P": Q(20, "1/m"), "k_1": Q(150),
    },
    distress_share: {"A_u": Q(4, "m²"), "L_s": Q(18, "m"), "W_s": Q(4.2, "m")},
    patch_depth: {"h": Q([62, 48], "mm"), "t": Q(200, "mm")},
    clear_space: {"s_min": Q(20, "mm"), "D_max": Q(20, "mm"), "e": Q(6, "mm")},
    patch_cover: {"c": Q([46, 49, 51], "mm")},
    removal_depth: {
        "h_i": Q([48, 62], "mm"), "c_min": Q(46, "mm"), "c_max": Q(51, "mm"), "d_1": Q(16, "mm"), "d_2": Q(12, "mm"),
        "s_c": Q(26, "mm"),
    },
    saw_cut: {"c_min": Q(38, "mm"), "m_saw": Q(6, "mm")},
    remaining_slab: {"h_max": Q(80, "mm"), "h_r": Q(105, "mm"), "t": Q(200, "mm")},
    bottom_mat: {"t": Q(200, "mm"), "c_b": Q(25, "mm"), "d_b1": Q(16, "mm"), "d_b2": Q(12, "mm")},
    panel_depth: {"t": Q(200, "mm"), "t_p": Q(90, "mm")},
    overlay_volume: {"A": Q(0.8, "m²"), "t_o": Q(40, "mm")},
    neat_volume: {"A": Q(0.8, "m²"), "h_m": Q(100, "mm"), "V_t": Q(0.083, "m³")},
    through_part: {"V_all": Q(0.2, "m³"), "V_f": Q(0.05, "m³"), "A_f": Q(0.4, "m²"), "t": Q(200, "mm")},
    undercut_volume: {"P_e": Q(4, "m"), "h": Q(105, "mm"), "d_saw": Q(25, "mm"), "u": Q(10, "mm")},
    patch_volume: {
        "A": Q(1.1, "m²"), "h": Q(109, "mm"), "V_u": Q(0.002, "m³"), "q_grow": Q(5, "%"), "q_over": Q(5, "%"),
        "q_waste": Q(10, "%"),
    },
    order_total: {"V": Q([0.1, 0.25], "m³")},
    bond_area: {"A_f": Q(0.8, "m²"), "P": Q(3.6, "m"), "h": Q(100, "mm")},
    bonding_grout: {"A_b": Q(1.16, "m²"), "t_g": Q(2, "mm")},
    curing_area: {"L": Q(1.2, "m"), "B": Q(0.8, "m"), "o": Q(300, "mm")},
    bars_in_hole: {
        "A": Q(1, "m²"), "A_b1": Q(200, "mm²"), "A_b2": Q(130, "mm²"), "s": Q(150, "mm"), "V_net": Q(0.1, "m³"),
    },
    debris: {
        "V": Q(0.6, "m³"), "rho": Q(2320, "kg/m³"), "q_b": Q(50, "%"), "m_1": Q(1800, "kg"), "V_1": Q(1.5, "m³"),
    },
    whole_number: {"V": Q(0.66, "m³"), "V_1": Q(0.15, "m³")},
}  # fmt: skip
SIGNED = {(patch_limits, "e_L"), (patch_limits, "e_B")}  # a side may lose as well as gain
FIELDS = [(calculation, name) for calculation, values in GOOD.items() for name in values]


@pytest.mark.parametrize(("calculation", "name"), FIELDS, ids=[f"{c.name}-{n}" for c, n in FIELDS])
@pytest.mark.parametrize("bad", ["nan", "infinite", "negative", "too large", "wrong kind", "no unit"])
def test_bad_input_is_named(calculation, name, bad):
    good = GOOD[calculation][name]
    if bad == "negative" and (calculation, name) in SIGNED:
        good = 1e6 * good
    wrong = {
        "nan": good * float("nan"), "infinite": good * float("inf"), "negative": -1 * good, "too large": good * 1e12, "wrong kind": Q(20, "K"), "no unit": "thick",
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
    assert (
        "the deepest reading, 62 mm, against the minimum cover, 46 mm, which is not more than the maximum, 51 mm"
        in text
    )
    assert "the mean of the readings 48, 62 mm, each taken as 105 mm where it is less" in text


# --- limits that a job may replace

LIMITS = load("limits").rows
KEYS = {
    "margin", "margin_least", "margin_most", "least_side", "partial_depth_ratio", "least_patch_depth", "clear_space",
    "clear_over_aggregate", "aggregate_size", "saw_depth", "saw_margin", "bar_loss_single", "bar_loss_adjacent",
    "waste", "merge_distance", "sounding_spacing", "distress_share", "hammer", "hammer_near_bars", "cure_overlap",
}  # fmt: skip


def test_the_limits_are_complete():
    found = [row["key"] for row in LIMITS]
    assert set(found) >= KEYS and len(found) == len(set(found))
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
        assert us.m_as(base) == pytest.approx(si.m_as(base), rel=0.1)  # hard values, not conversions: 25 kg and 50 lb
        assert si.m_as(base) > 0


def test_the_margin_lies_between_its_own_limits():
    by_key = {row["key"]: row for row in LIMITS}
    for system in ("SI", "US"):
        least, margin, most = (
            units.read(by_key[key][system], units.Length) for key in ("margin_least", "margin", "margin_most")
        )
        assert least <= margin <= most
