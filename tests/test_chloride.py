"""Chloride: what must hold for any content, depth and basis, and what bad input gets."""

from __future__ import annotations

import csv
import math
import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from deckcalc import InputError, Q, read
from deckcalc.chloride import (
    Profiles,
    above_background,
    ageing_exponent,
    apparent_ageing,
    bracket,
    cement_share,
    concrete_share,
    content_at_depth,
    content_from_cement_share,
    content_from_concrete_share,
    content_linear_surface,
    content_root_surface,
    cores_wanted,
    corner_content,
    corrosion_rate,
    depth_at_content,
    face_content,
    fit_coefficient,
    fit_profile,
    fit_profile_and_background,
    fit_profiles,
    integrated_ageing,
    mid_depth,
    migration_coefficient,
    penetration_to_crack,
    potential_on_cse,
    resistivity,
    share_below_lognormal,
    share_below_normal,
    share_counted,
    temperature_factor,
    threshold,
    thresholds,
    time_to_cracking,
    time_to_initiation,
    time_to_initiation_corner,
)
from deckcalc.chloride.formulas.threshold import BASES, EXTRACTIONS
from deckcalc.core import tables
from deckcalc.core.calculation import REGISTER, Calculation
from deckcalc.core.sources import bibliography
from deckcalc.core.tables import TableError
from deckcalc.core.units import ChlorideContent, ChlorideShare, Quantity, kind_of
from deckcalc.show.hand import HandCalculation

EXACT = 1e-12
unit_weights = st.floats(1400, 2800)
cements = st.floats(100, 800)
contents = st.floats(0.01, 20)
depths = st.floats(0, 400)
places = st.floats(0, 1)


def close(a: float, b: float) -> bool:
    """Whether two numbers agree to rounding."""
    return math.isclose(a, b, rel_tol=EXACT, abs_tol=1e-14)


# --- bases ---


@given(st.floats(0.0001, 0.9), unit_weights)
def test_share_of_concrete_comes_back(p: float, rho: float) -> None:
    C = content_from_concrete_share(Q(p, "%"), Q(rho, "kg/m³"))
    assert close(concrete_share(C, Q(rho, "kg/m³")).m_as("percent"), p)


@given(st.floats(0.001, 7), cements)
def test_share_of_cement_comes_back(p: float, c: float) -> None:
    C = content_from_cement_share(Q(p, "%"), Q(c, "kg/m³"))
    assert close(cement_share(C, Q(c, "kg/m³")).m_as("percent"), p)


@given(st.floats(0.0001, 1), unit_weights, st.floats(0.5, 2))
def test_content_is_in_proportion_to_the_unit_weight(p: float, rho: float, k: float) -> None:
    assume(1400 <= k * rho <= 2800)
    one = content_from_concrete_share(Q(p, "%"), Q(rho, "kg/m³")).m_as("kg/m**3")
    assert close(content_from_concrete_share(Q(p, "%"), Q(k * rho, "kg/m³")).m_as("kg/m**3"), k * one)
    assert close(content_from_concrete_share(Q(p / 2, "%"), Q(rho, "kg/m³")).m_as("kg/m**3"), one / 2)


@given(contents, cements, unit_weights)
def test_shares_of_cement_and_concrete_are_as_the_masses(C: float, c: float, rho: float) -> None:
    by_cement = cement_share(Q(C, "kg/m³"), Q(c, "kg/m³")).m_as("percent")
    by_concrete = concrete_share(Q(C, "kg/m³"), Q(rho, "kg/m³")).m_as("percent")
    assert close(by_cement / by_concrete, rho / c)


@given(st.floats(1, 20_000), unit_weights)
def test_ppm_is_a_ten_thousandth_of_a_percent(ppm: float, rho: float) -> None:
    a = content_from_concrete_share(read(f"{ppm!r} ppm", ChlorideShare), Q(rho, "kg/m³"))
    b = content_from_concrete_share(Q(ppm / 1e4, "%"), Q(rho, "kg/m³"))
    assert close(a.m_as("kg/m**3"), b.m_as("kg/m**3"))


@given(st.floats(0.0001, 1), unit_weights, cements)
def test_us_and_si_agree_on_every_basis(p: float, rho: float, c: float) -> None:
    si, us = Q(rho, "kg/m³"), Q(Q(rho, "kg/m³").m_as("lb/yd**3"), "lb/yd³")
    C_si, C_us = content_from_concrete_share(Q(p, "%"), si), content_from_concrete_share(Q(p, "%"), us)
    assert close(C_si.m_as("lb/yd**3"), C_us.m_as("lb/yd**3"))
    pounds = Q(C_si.m_as("lb/yd**3"), "lb/yd³")
    assert close(concrete_share(C_si, si).m_as(""), concrete_share(pounds, us).m_as(""))
    bags = Q(Q(c, "kg/m³").m_as("lb/yd**3"), "lb/yd³")
    assert close(cement_share(C_si, Q(c, "kg/m³")).m_as(""), cement_share(pounds, bags).m_as(""))
    by_cement = content_from_cement_share(Q(p, "%"), Q(c, "kg/m³")).m_as("kg/m**3")
    assert close(by_cement, content_from_cement_share(Q(p, "%"), bags).m_as("kg/m**3"))


@given(contents, st.floats(0, 10), st.floats(0, 10))
def test_background_shifts_the_content(C: float, C_b: float, more: float) -> None:
    net = above_background(Q(C + more, "kg/m³"), Q(C_b, "kg/m³")).m_as("kg/m**3")
    base = above_background(Q(C, "kg/m³"), Q(C_b, "kg/m³")).m_as("kg/m**3")
    assert math.isclose(net - base, more, rel_tol=EXACT, abs_tol=1e-13)
    assert math.isclose(base + C_b, C, rel_tol=EXACT, abs_tol=1e-13)
    both = above_background(Q(C + more, "kg/m³"), Q(C_b + more, "kg/m³")).m_as("kg/m**3")
    assert math.isclose(both, base, rel_tol=EXACT, abs_tol=1e-13)
    pounds = [Q(Q(v, "kg/m³").m_as("lb/yd**3"), "lb/yd³") for v in (C, C_b)]
    assert math.isclose(above_background(*pounds).m_as("kg/m**3"), base, rel_tol=EXACT, abs_tol=1e-13)


def test_a_background_above_the_content_is_refused_by_the_next_step() -> None:
    net = above_background(Q(0.5, "kg/m³"), Q(0.75, "kg/m³"))
    assert net.m_as("kg/m**3") == -0.25
    with pytest.raises(InputError, match="C .chloride per volume of concrete. is -0.25 "):
        cement_share(net, Q(350, "kg/m³"))


# --- depth ---


def at(x: float, x_1: float, C_1: float, x_2: float, C_2: float) -> float:
    """Content in kg/m³ at a depth in mm."""
    made = content_at_depth(Q(x, "mm"), Q(x_1, "mm"), Q(C_1, "kg/m³"), Q(x_2, "mm"), Q(C_2, "kg/m³"))
    return float(made.C_x.m_as("kg/m**3"))


@given(depths, st.floats(1, 100), contents, contents, places, places)
def test_content_lies_between_its_ends_and_runs_one_way(
    x_1: float, s: float, C_1: float, C_2: float, u: float, v: float
) -> None:
    x_2 = x_1 + s
    u, v = sorted((u, v))
    a, b = (at(min(x_1 + w * s, x_2), x_1, C_1, x_2, C_2) for w in (u, v))
    low, high = sorted((C_1, C_2))
    slack = 1e-12 * high
    assert low - slack <= a <= high + slack
    assert (b - a) * (C_2 - C_1) >= -slack * high
    assert close(at(x_1, x_1, C_1, x_2, C_2), C_1)
    assert close(at(x_2, x_1, C_1, x_2, C_2), C_2)


@given(depths, st.floats(1, 100), contents, contents, places)
def test_depth_in_inches_agrees(x_1: float, s: float, C_1: float, C_2: float, u: float) -> None:
    x, x_2 = min(x_1 + u * s, x_1 + s), x_1 + s
    inches = [Q(v / 25.4, "in") for v in (x, x_1, x_2)]
    pounds = [Q(Q(v, "kg/m³").m_as("lb/yd**3"), "lb/yd³") for v in (C_1, C_2)]
    made = content_at_depth(x=inches[0], x_1=inches[1], C_1=pounds[0], x_2=inches[2], C_2=pounds[1])
    # the place between the readings is a difference of depths: its rounding is that of the depths over their distance
    noise = 1e-15 * (x_2 / s) * abs(C_2 - C_1)
    assert abs(made.C_x.m_as("kg/m**3") - at(x, x_1, C_1, x_2, C_2)) <= EXACT * max(C_1, C_2) + noise


@given(depths, st.floats(0, 100))
def test_middle_of_a_slice_is_as_far_from_both_ends(x_from: float, thickness: float) -> None:
    x = mid_depth(Q(x_from, "mm"), Q(x_from + thickness, "mm")).m_as("mm")
    assert math.isclose(x - x_from, x_from + thickness - x, rel_tol=1e-9, abs_tol=1e-10)
    assert close(mid_depth(Q(x_from / 25.4, "in"), Q((x_from + thickness) / 25.4, "in")).m_as("mm"), x)


@given(st.floats(5, 60), st.floats(5, 40), st.floats(0.05, 0.95), st.floats(100, 3000))
def test_straight_line_errs_on_the_safe_side_of_a_falling_convex_profile(
    x_1: float, s: float, u: float, four_dt: float
) -> None:
    def true(x: float) -> float:
        return 12 * math.erfc(x / math.sqrt(four_dt))

    x = x_1 + u * s
    assert at(x, x_1, true(x_1), x_1 + s, true(x_1 + s)) >= true(x) * (1 - 1e-9)


@given(st.lists(st.floats(0, 300), min_size=2, max_size=8, unique=True), places)
def test_bracket_finds_the_readings_on_either_side(found: list[float], u: float) -> None:
    found = sorted(found)
    assume(all(b - a > 0.01 for a, b in pairwise(found)))
    x = min(found[0] + u * (found[-1] - found[0]), found[-1])
    i, j = bracket(Q(x, "mm"), [Q(d, "mm") for d in found])
    assert j == i + 1
    assert found[i] - 1e-6 <= x <= found[j] + 1e-6
    content_at_depth(Q(x, "mm"), Q(found[i], "mm"), Q(3, "kg/m³"), Q(found[j], "mm"), Q(1, "kg/m³"))


def test_bracket_at_the_readings_themselves() -> None:
    profile = [Q(0.5, "in"), Q(38.1, "mm"), Q(2.5, "in")]
    assert bracket(Q(12.7, "mm"), profile) == (0, 1)
    assert bracket(Q(1.5, "in"), profile) == (1, 2)
    assert bracket(Q(63.5, "mm"), profile) == (1, 2)


@pytest.mark.parametrize(
    ("x", "profile", "says"),
    [
        (Q(10, "mm"), [Q(12, "mm"), Q(50, "mm")], r"10.0 mm \(0.39 in\) lies outside the profile, .* from 12.0 mm"),
        (Q(51, "mm"), [Q(12, "mm"), Q(50, "mm")], r"to 50.0 mm \(1.97 in\); nothing is read beyond it"),
        (Q(math.nan, "mm"), [Q(12, "mm"), Q(50, "mm")], "outside the profile"),
        (Q(20, "mm"), [Q(12, "mm")], "has 1 reading; two are wanted"),
        (Q(20, "mm"), [], "has 0 readings; two are wanted"),
        (Q(20, "mm"), [Q(50, "mm"), Q(12, "mm")], "12.0 mm .* after 50.0 mm .*; depths must increase"),
        (Q(20, "mm"), [Q(12, "mm"), Q(12, "mm")], "depths must increase"),
    ],
)
def test_bracket_refuses(x: object, profile: list[object], says: str) -> None:
    with pytest.raises(TableError, match=says):
        bracket(x, profile)  # type: ignore[arg-type]


@pytest.mark.parametrize("x", [20, Q(20, "kg"), "20 mm"])
def test_bracket_wants_a_length(x: object) -> None:
    with pytest.raises(InputError, match="length"):
        bracket(x, [Q(12, "mm"), Q(50, "mm")])  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("x", "x_1", "x_2", "says"),
    [
        (5, 10, 30, r"x lies 5.0 mm \(0.20 in\) above x_1; nothing is read beyond"),
        (32, 10, 30, r"x lies 2.0 mm \(0.08 in\) below x_2; nothing is read beyond"),
        (20, 30, 10, "x_2 must be deeper than x_1"),
        (10, 10, 10, "x_2 must be deeper than x_1"),
        (-1, 0, 10, "x .depth wanted.* is -1 mm, wanted a length from 0 mm to 1500 mm"),
        (math.inf, 0, 10, "x .depth wanted"),
    ],
)
def test_content_at_depth_refuses(x: float, x_1: float, x_2: float, says: str) -> None:
    with pytest.raises(InputError, match=says):
        at(x, x_1, 3.0, x_2, 1.0)


def test_one_depth_outside_refuses_the_whole_list() -> None:
    x = Q([12.0, 29.0, 31.0], "mm")
    with pytest.raises(InputError, match="1.0 mm .* below x_2"):
        content_at_depth(x, Q(10, "mm"), Q(3, "kg/m³"), Q(30, "mm"), Q(1, "kg/m³"))


def test_lists_give_what_single_values_give() -> None:
    x, C_1 = np.array([10.0, 12.5, 30.0]), np.array([3.0, 2.0, 9.0])
    made = content_at_depth(Q(x, "mm"), Q(10, "mm"), Q(C_1, "kg/m³"), Q(30, "mm"), Q(1, "kg/m³")).C_x.m_as("kg/m**3")
    assert made == pytest.approx([at(a, 10, b, 30, 1) for a, b in zip(x, C_1, strict=True)], rel=EXACT)


@pytest.mark.parametrize("system", ["SI", "US"])
def test_sheet_prints_where_two_depths_are_almost_one(system: str) -> None:
    sheet = HandCalculation(
        content_at_depth, system,
        {"x": Q(10.037, "mm"), "x_1": Q(0.395, "in"), "C_1": Q(3.21, "lb/yd³"), "x_2": Q(0.3954, "in"), "C_2": Q(0, "kg/m³")},
    )  # fmt: skip
    assert "divided by" in sheet._repr_markdown_()


# --- bad input, every calculation ---

POINTS = Q([5.0, 15.0, 25.0, 35.0], "mm")
PROFILE = {"x_from": POINTS, "x_to": POINTS, "C": Q([4.4, 2.0, 0.7, 0.3], "kg/m³"), "t": Q(20, "yr")}
GOOD: dict[Calculation, dict[str, object]] = {
    fit_profile: {**PROFILE, "C_0": Q(0.1, "kg/m³")},
    fit_profile_and_background: PROFILE,
    fit_coefficient: {**PROFILE, "C_0": Q(0.1, "kg/m³"), "C_s": Q(6, "kg/m³")},
    ageing_exponent: {"D_1": Q(280, "mm²/yr"), "t_1": Q(28, "day"), "D_2": Q(130, "mm²/yr"), "t_2": Q(1, "yr")},
    content_from_concrete_share: {"p": Q(0.1, "%"), "rho": Q(145, "lb/ft³")},
    content_from_cement_share: {"p": Q(0.5, "%"), "c": Q(658, "lb/yd³")},
    cement_share: {"C": Q(1.2, "lb/yd³"), "c": Q(350, "kg/m³")},
    concrete_share: {"C": Q(1.2, "lb/yd³"), "rho": Q(3900, "lb/yd³")},
    above_background: {"C": Q(1.2, "lb/yd³"), "C_b": Q(0.1, "lb/yd³")},
    mid_depth: {"x_from": Q(1, "in"), "x_to": Q(2, "in")},
    content_at_depth: {
        "x": Q(2, "in"), "x_1": Q(1.5, "in"), "C_1": Q(1.87, "lb/yd³"), "x_2": Q(2.5, "in"), "C_2": Q(0.55, "lb/yd³"),
    },
    face_content: {"x": Q(2, "in"), "t": Q(20, "yr"), "D": Q(0.05, "in²/yr"), "C_s": Q(10, "lb/yd³"), "C_0": Q(0.2, "lb/yd³")},
    corner_content: {
        "x": Q(2, "in"), "y": Q(2.5, "in"), "t": Q(20, "yr"), "D": Q(0.05, "in²/yr"), "C_s": Q(10, "lb/yd³"),
        "C_0": Q(0.2, "lb/yd³"),
    },
    content_linear_surface: {
        "x": Q(2, "in"), "t": Q(30, "yr"), "D": Q(0.05, "in²/yr"), "C_a": Q(10, "lb/yd³"), "t_a": Q(24, "yr"),
        "C_0": Q(0.2, "lb/yd³"),
    },
    content_root_surface: {
        "x": Q(2, "in"), "t": Q(30, "yr"), "D": Q(0.05, "in²/yr"), "C_a": Q(10, "lb/yd³"), "t_a": Q(24, "yr"),
        "C_0": Q(0.2, "lb/yd³"),
    },
    time_to_initiation: {
        "x": Q(2, "in"), "D": Q(0.05, "in²/yr"), "C_s": Q(10, "lb/yd³"), "C_0": Q(0.2, "lb/yd³"), "C_T": Q(1.2, "lb/yd³"),
        "k_T": Q(1.1, ""), "k_cr": Q(1.5, ""), "k_b": Q(0.85, ""),
    },
    time_to_initiation_corner: {
        "x": Q(2, "in"), "D": Q(0.05, "in²/yr"), "C_s": Q(10, "lb/yd³"), "C_0": Q(0.2, "lb/yd³"), "C_T": Q(1.2, "lb/yd³"),
    },
    apparent_ageing: {"t_1": Q(12, "yr"), "t_r": Q(28, "day"), "m": Q(0.3, "")},
    integrated_ageing: {"t_1": Q(12, "yr"), "t_r": Q(28, "day"), "m": Q(0.3, "")},
    temperature_factor: {"T": Q(283, "K"), "T_r": Q(293, "K"), "b": Q(4800, "K")},
    corrosion_rate: {
        "i_corr": Q(0.5, "µA/cm²"), "M": Q(55.845, "g/mol"), "n_e": Q(2, ""), "F": Q(96485.3, "C/mol"), "rho_s": Q(7.87, "g/cm³"),
    },
    penetration_to_crack: {"c": Q(2, "in"), "d_b": Q(0.625, "in"), "r_L": Q(0.5, "")},
    time_to_cracking: {"t_i": Q(31, "yr"), "x_cr": Q(55, "µm"), "v": Q(5.8, "µm/yr")},
    depth_at_content: {
        "x_1": Q(1.5, "in"), "C_1": Q(1.87, "lb/yd³"), "x_2": Q(2.5, "in"), "C_2": Q(0.55, "lb/yd³"), "C_L": Q(1.2, "lb/yd³"),
    },
    share_counted: {"n_a": Q(3, ""), "n": Q(4, "")},
    cores_wanted: {"z_c": Q(1.96, ""), "s": Q(1, "lb/yd³"), "E": Q(0.5, "lb/yd³")},
    potential_on_cse: {
        "E": Q(-309, "mV"), "E_r": Q(316, "mV"), "E_cse": Q(316, "mV"), "k_E": Q(0.5, "mV/delta_degF"), "T": Q(285, "K"),
        "T_0": Q(295.35, "K"),
    },
    resistivity: {"a": Q(50, "mm"), "R": Q(0.8, "kΩ")},
    share_below_normal: {"c_L": Q(1.5, "in"), "c_m": Q(2.03, "in"), "s_c": Q(0.3, "in")},
    share_below_lognormal: {"c_L": Q(1.5, "in"), "c_m": Q(2.03, "in"), "s_c": Q(0.3, "in")},
    migration_coefficient: {"binder": "CEM I", "w_cm": Q(0.45, "")},
}  # fmt: skip


def test_every_calculation_of_the_trade_is_listed() -> None:
    assert set(GOOD) == {made for key, made in REGISTER.items() if key.startswith("chloride.")}


@pytest.mark.parametrize("calculation", GOOD, ids=lambda c: c.name)
@pytest.mark.parametrize("system", ["SI", "US"])
def test_sheet_prints_and_holds(calculation: Calculation, system: str) -> None:
    assert calculation.title in HandCalculation(calculation, system, GOOD[calculation])._repr_markdown_()


@pytest.mark.parametrize(
    ("calculation", "name"),
    [(c, n) for c in GOOD for n in GOOD[c] if not isinstance(GOOD[c][n], str) and not c.params[n].several],
    ids=str,
)
def test_each_argument_refuses_what_it_is_not(calculation: Calculation, name: str) -> None:
    good, param = GOOD[calculation][name], calculation.params[name]
    assert isinstance(good, Quantity) and param.kind
    unit, kind = str(good.units), param.kind.a_name
    wanted = re.escape(f"wanted {param.wanted}")

    def refused(bad: object, words: str) -> None:
        with pytest.raises(InputError, match=rf"^{calculation.name}: {name} {words}"):
            calculation(**{**GOOD[calculation], name: bad})

    for number in (math.nan, -1e6, math.inf, 1e12):
        refused(Q(number, unit), rf"\({re.escape(param.meaning)}\) is .*, {wanted}$")
    for text in (f"-1e6 {unit}", f"1e12 {unit}"):
        refused(text, rf"\({re.escape(param.meaning)}\) is .*, {wanted}$")
    refused(Q(1, "MPa"), rf"is 1 MPa, {wanted}$")
    for text in ("1 MPa", "1.2 lb" if good.check("[mass]/[length]**3") else "1.2 lb/yd³"):
        refused(text, f"cannot be read: found “{text}”, which is no {param.kind.name}; wanted {kind}")
    for text in ("much", "nan", f"nan {unit}", ""):
        refused(text, f"cannot be read: found “{re.escape(text)}”, wanted {kind}")
    for none in (None, True):
        refused(none, f"is {none} without a unit, {wanted}; attach the unit")
    if param.kind.dimensionless:
        for thing in (object(), {}, 1j):
            refused(thing, rf"is {re.escape(repr(thing))}, which is no number; {wanted}$")
    else:
        refused(1.2, f"is 1.2 without a unit, {wanted}; attach the unit")
        refused("1.2", f"cannot be read: found “1.2” without a unit, wanted {kind}, for instance “")


@pytest.mark.parametrize("calculation", GOOD, ids=lambda c: c.name)
def test_text_with_a_unit_is_the_quantity(calculation: Calculation) -> None:
    def text(good: object) -> object:
        if not isinstance(good, Quantity):
            return good
        return ", ".join(f"{float(one)!r} {good.units}" for one in np.atleast_1d(good.magnitude))

    texts = {name: text(good) for name, good in GOOD[calculation].items()}
    assert calculation(**texts) == calculation(**GOOD[calculation])


def test_a_choice_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="binder is “slag”, wanted one of CEM I, "):
        migration_coefficient("slag", 0.40)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"C": "2 kg/m³, 4 kg/m³, 1 kg/m³, 0.5 kg/m³"}, "inside maximum: .* leave out the readings above the maximum"),
        (
            {"C": "4 kg/m³, -2 kg/m³, 1 kg/m³, 0.5 kg/m³"},
            r"C \(chloride contents of the slices\) is between -2 and 4, wanted",
        ),
        ({"C": "4 kg/m³, 2 kg/m³, 1 kg/m³"}, r"arrays of the shapes \(4,\), \(3,\) do not go together"),
        ({"C": "4 kg/m³"}, "wants at least 2 reading"),
        ({"C": "4, 2, 1, 0.5"}, "without a unit"),
        ({"x_from": "5 mm, 25 mm, 15 mm, 35 mm", "x_to": "5 mm, 25 mm, 15 mm, 35 mm"}, "from the top down"),
        ({"x_to": "5 mm, 10 mm, 25 mm, 35 mm"}, "ends no higher than it begins"),
        ({"t": "0 yr"}, "exposure when the core was taken"),
        ({"C_0": "9 kg/m³"}, "do not fix the diffusion coefficient"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_a_profile_that_cannot_be_fitted_says_why(change: dict[str, str], says: str) -> None:
    with pytest.raises(InputError, match=says):
        fit_profile(**{**GOOD[fit_profile], **change})  # type: ignore[arg-type]


def test_profiles_are_fitted_alike_one_by_one_and_together() -> None:
    C = np.array([[4.4, 2.0, 0.7, 0.3], [5.0, 3.0, 1.6, 0.8]])
    given = {"x_from": POINTS, "x_to": POINTS, "t": Q(20, "yr"), "C_0": Q(0.1, "kg/m³")}
    both = fit_profile(C=Q(C, "kg/m³"), **given)
    for i in range(2):
        one = fit_profile(C=Q(C[i], "kg/m³"), **given)
        assert close(one.D.m_as("mm²/yr"), both.D[i].m_as("mm²/yr")) and close(one.C_s.m, both.C_s[i].m)
    fits = fit_profiles(
        Profiles(*(np.tile(POINTS.m_as("m"), (2, 1)),) * 2, C, np.ones(C.shape, bool), np.full(2, 20 * 31557600.0)), 0.1
    )
    assert np.allclose(fits.D, both.D.m_as("m²/s"), rtol=1e-9) and np.allclose(fits.C_s, both.C_s.m_as("kg/m³"))


def test_an_exponent_wants_two_ages() -> None:
    with pytest.raises(InputError, match="ageing_exponent: t_2 is not later than t_1"):
        ageing_exponent("280 mm²/yr", "1 yr", "130 mm²/yr", "28 day")
    risen = ageing_exponent("130 mm²/yr", "28 day", "280 mm²/yr", "1 yr")
    fallen = ageing_exponent("280 mm²/yr", "28 day", "130 mm²/yr", "1 yr")
    assert close(risen.m.m_as(""), -fallen.m.m_as("")) and fallen.m > 0


def test_missing_argument_is_named() -> None:
    with pytest.raises(InputError, match="rho"):
        content_from_concrete_share(Q(0.1, "%"))


# --- thresholds ---


def test_thresholds_are_complete_and_cited() -> None:
    known = bibliography()
    for key, one in thresholds().items():
        assert one.key == key
        assert one.basis in BASES
        assert one.extraction in EXTRACTIONS
        assert one.meaning and one.applies_to and one.source.where
        assert one.source.key in known or (one.source.provenance == "memory" and not one.source.key)
        assert one.value.magnitude > 0
        assert read(one.printed, one.kind) == one.value


def test_keys_of_the_table_are_unique_and_every_cell_is_in_its_column() -> None:
    rows = tables.load("chloride_thresholds").rows
    assert len({row["key"] for row in rows}) == len(rows) == len(thresholds())
    assert all(None not in row and None not in row.values() for row in rows)


def test_no_value_stands_for_coated_bar() -> None:
    assert not [one for one in thresholds().values() if "epoxy" in (one.meaning + one.applies_to).lower()]


@pytest.mark.parametrize(
    ("key", "value", "basis", "extraction"),
    [
        ("fdot-conservative", "1.2 lb/yd³", "volume", "acid-soluble"),
        ("fdot-less-conservative", "0.5 %", "cement", "acid-soluble"),
        ("clear-1976", "0.2 %", "cement", "acid-soluble"),
        ("aci318-19-c2", "0.15 %", "cementitious", "water-soluble"),
        ("aci222-dry-water", "0.15 %", "cement", "water-soluble"),
        ("uk-medium-to-high", "1 %", "cement", "total"),
    ],
)
def test_threshold_values(key: str, value: str, basis: str, extraction: str) -> None:
    one = threshold(key)
    assert one.value == read(value, ChlorideContent if basis == "volume" else ChlorideShare)
    assert one.kind == kind_of(ChlorideContent if basis == "volume" else ChlorideShare)
    assert one.same_basis(basis, extraction)


def test_bases_and_extractions_are_not_mixed() -> None:
    for one in thresholds().values():
        for basis in BASES:
            for extraction in EXTRACTIONS:
                same = basis == one.basis and extraction == one.extraction != "not stated"
                assert one.same_basis(basis, extraction) == same
                assert bool(one.mismatch(basis, extraction)) != same


def test_mismatch_says_why() -> None:
    assert (
        threshold("kansas-low").mismatch("volume", "acid-soluble")
        == "the threshold does not say which chloride it counts"
    )
    both = threshold("aci318-19-c1").mismatch("cement", "acid-soluble")
    assert both == (
        "the threshold is stated per cementitious, the result per cement; "
        "the threshold counts water-soluble chloride, the result acid-soluble"
    )


def test_words_that_are_no_basis_or_threshold_are_refused() -> None:
    with pytest.raises(InputError, match="basis is “binder”, wanted one of volume"):
        threshold("kansas-low").same_basis("binder", "total")
    with pytest.raises(InputError, match="extraction is “acid”, wanted one of acid-soluble"):
        threshold("kansas-low").same_basis("volume", "acid")
    with pytest.raises(TableError, match="no chloride threshold “ecr”; there are fdot-conservative"):
        threshold("ecr")


@pytest.mark.parametrize("key", ["fdot-less-conservative", "clear-1976", "stainless-2304-cement"])
def test_a_threshold_by_cement_and_its_printed_content_are_one_value(key: str) -> None:
    cement = {
        "fdot-less-conservative": (752, 3.76, 0.005),
        "clear-1976": (658, 1.3, 0.05),
        "stainless-2304-cement": (467, 21.1, 0.05),
    }
    c, printed, half = cement[key]
    assert content_from_cement_share(threshold(key).value, Q(c, "lb/yd³")).m_as("lb/yd**3") == pytest.approx(
        printed, abs=half
    )


def test_table_reads_as_plain_csv() -> None:
    table = tables.load("chloride_thresholds")
    assert {"title", "source", "where", "provenance", "notes"} <= set(table.facts)
    assert list(table.rows[0]) == next(
        csv.reader(["key,value,unit,also,basis,extraction,meaning,applies to,source,where,provenance"])
    )
