"""Check the sentences of look-ups: no number is typed in them, and every threshold is where its sentence says."""

import ast
import re
from string import Formatter

import pytest
from samples import REGISTER

from deckcalc import InputError, Q
from deckcalc.chloride.formulas.propagation import cover_over_bar
from deckcalc.core import units
from deckcalc.core.boundary import above, below, constant
from deckcalc.core.sources import folder
from deckcalc.curing.formulas.moist_curing import cold_factor
from deckcalc.formwork.formulas.lumber import wet_bending, wet_compression
from deckcalc.formwork.formulas.plywood import deflection_addition
from deckcalc.safety.formulas.lifting import by_grip, lifting_limit
from deckcalc.steel.formulas import bars, laps_aashto_ec2, laps_aci
from deckcalc.steel.formulas.flexure import resistance_factor, stress_block
from deckcalc.steel.formulas.serviceability import crack_spacing
from deckcalc.traffic.formulas.tapers import taper, taper_by_speed

#: Digits that a sentence may type, and why.
NAMES = {
    "table A4-1": "the name of a table",
    "(ACI 318)": "the name of a code",
    "1 − erf²(z)": "the equation that the look-up solves",
    "1 if it goes past the minimum cover, 0 if not": "the two values of the count n_r, as printed below it",
    "from 0 at the upper reading to 1 at the lower": "the values of the part between two readings, as printed below it",
    "at most 1": "the maximum value of the ratio of pit to bar, as printed below it",
}
ROOT = folder("notebooks").parent / "deckcalc"


def look_ups():
    """Return place and sentence of every look-up in the source."""
    found = []
    for path in sorted(ROOT.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            for mark in getattr(node, "decorator_list", ()):
                if isinstance(mark, ast.Call) and getattr(mark.func, "id", "") == "lookup":
                    found.append((f"{path.relative_to(ROOT)}: {node.name}", mark.args[0]))
    return found


def typed(says):
    """Return what a sentence types itself, without names."""
    text = " … ".join(text for text, *_ in Formatter().parse(says))
    for name in NAMES:
        text = text.replace(name, "")
    return text


def test_no_sentence_types_a_number_that_stands_in_the_code():
    found = look_ups()
    assert len(found) > 100
    assert [place for place, says in found if not isinstance(says, ast.Constant)] == []
    assert [place for place, says in found if re.search(r"\d", typed(says.value))] == []


def test_the_names_with_digits_are_still_used():
    text = " ".join(says.value for _, says in look_ups())
    assert all(name in text for name in NAMES)
    assert re.search(r"\d", typed("more than 300 mm lie below; here {h}"))  # what it is there to find
    assert not re.search(r"\d", typed("more than {much} lie below; from {k[0]:.2f} up"))


def test_every_sentence_with_data_prints_it():
    helpers = {line.helper for one in REGISTER.values() for line in one.lines if line.helper and line.helper.data}
    assert len(helpers) > 20
    for helper in helpers:
        assert re.search(r"\d", helper.sentence(dict.fromkeys(helper.params, "x"))) or helper.name == "bond_factor"


@pytest.mark.parametrize(
    ("text", "plain"),
    [("300 mm", 0.3), ("12 in", 0.3048), ("40 000 psi", 275790291.7), ("5/8 in", 0.015875), ("1/1.1", 1 / 1.1), ("25/3 MPa", 25e6 / 3),
     ("10 lb/yd³", 5.93276), ("40 °F", 277.5944), ("0.62", 0.62)],
)  # fmt: skip
def test_a_constant_is_read_as_the_rule_writes_it(text, plain):
    assert constant(text) == pytest.approx(plain, rel=1e-6)


def test_above_and_below_forgive_the_noise_of_a_conversion():
    inch = float(Q(12, "in").m_as("mm")) / 1000
    assert not above(inch, 0.3048) and not below(inch, 0.3048)
    assert above(0.30481, 0.3048) and below(0.30479, 0.3048)
    assert below(-1.0, -0.5) and above(-0.5, -1.0) and not above(0.0, 0.0)


# --- each threshold from both sides: just below, at it, just above


def sides(text, kind, step=1e-4):
    """Return a quantity just below a value, at it as a user writes it, and just above."""
    at = units.read(text, kind)
    return at * (1 - step), at, at * (1 + step)


def of_all(work, text, kind=units.Length):
    """Return the answers on either side of a threshold and at it."""
    return [float(units.registry().Quantity(work(value)).m_as("")) for value in sides(text, kind)]


@pytest.mark.parametrize(
    ("form", "limit"),
    [("US", "12 in"), ("US", "304.8 mm"), ("SI 9/10", "300 mm"), ("SI 1/1.1", "300 mm"), ("SI 9/10", "0.3 m")],
)
def test_much_concrete_below_a_bar(form, limit):
    assert of_all(lambda h: laps_aci.top_factor(h, form), limit) == [1.0, 1.0, 1.3]


def test_a_bar_with_303_mm_below_takes_the_factor_of_the_metric_rule():
    assert laps_aci.top_factor(Q(303, "mm"), "SI 9/10") == 1.3
    assert laps_aci.top_factor(Q(303, "mm"), "US") == 1.0  # 11.93 in: not more than 12 in


@pytest.mark.parametrize("size", ["#3", "#4", "#5", "#6", "#8", "10", "12", "16", "20", "25", "M19", "15M", "20M"])
def test_an_epoxy_bar_at_exactly_three_and_six_diameters_takes_the_smaller_factor(size):
    d = bars.bar_diameter(size)
    for unit in ("mm", "in"):
        d_b, wide = d.to(unit), 20 * d
        assert laps_aci.coating_factor("epoxy", (3 * d_b).to("in"), wide, d_b) == 1.2
        assert laps_aci.coating_factor("epoxy", wide, (6 * d_b).to("mm"), d_b) == 1.2
        assert laps_aci.coating_factor("epoxy", 2.999 * d_b, wide, d_b) == 1.5
        assert laps_aci.coating_factor("epoxy", wide, 5.999 * d_b, d_b) == 1.5
        assert laps_aci.coating_factor("uncoated", d_b, d_b, d_b) == 1.0


@pytest.mark.parametrize(
    ("size", "factor"),
    [("#6", 0.8), ("M19", 0.8), ("16", 0.8), ("#7", 1.0), ("M22", 1.0), ("20", 1.0), ("20M", 1.0)],
)
def test_small_bars_are_those_up_to_number_six(size, factor):
    d = bars.bar_diameter(size)
    assert laps_aci.size_factor(d) == factor
    assert (laps_aci.simple_divisor("other", d, "US") > 15) == (factor == 0.8)


@pytest.mark.parametrize("size", ["#11", "M36", "35M", "32"])
def test_bars_up_to_number_eleven_may_be_lapped(size):
    assert laps_aci.lap_factor("B", bars.bar_diameter(size)) == 1.3


@pytest.mark.parametrize("size", ["#14", "M43", "45M", "40"])
def test_thicker_bars_may_not_be_lapped(size):
    with pytest.raises(InputError, match=r"bars above #11 \(M36\) may not be lapped"):
        laps_aci.lap_factor("B", bars.bar_diameter(size))


@pytest.mark.parametrize(("form", "start", "end"), [("US", "4000 psi", "8000 psi"), ("SI 9/10", "28 MPa", "56 MPa")])
def test_the_stress_block_keeps_its_factor_up_to_the_break_and_from_its_least(form, start, end):
    low, at, high = of_all(lambda f: stress_block(f, form), start, units.Stress)
    assert low == at == 0.85 and 0.8499 < high < 0.85
    low, at, high = of_all(lambda f: stress_block(f, form), end, units.Stress)
    assert 0.65 < low < 0.6501 and at == high == pytest.approx(0.65)


@pytest.mark.parametrize(("code", "least"), [("ACI 318-11", 0.65), ("AASHTO LRFD", 0.75)])
def test_the_resistance_factor_goes_from_yield_to_the_ductile_strain(code, least):
    found = of_all(lambda e: resistance_factor(e, Q(0.002), code), "0.005", units.Strain)
    assert found[0] < 0.9 and found[1:] == pytest.approx([0.9, 0.9])
    assert resistance_factor(Q(0.002), Q(0.002), code).m_as("") == pytest.approx(least)


@pytest.mark.parametrize(("form", "limit"), [("US", "10000 psi"), ("SI 9/10", "69.4444444444 MPa")])
def test_the_root_of_the_strength_stops_at_its_cap(form, limit):
    low, at, high = (laps_aci.root_of_strength(f, form).m_as("Pa") for f in sides(limit, units.Stress))
    assert low < at == pytest.approx(high, rel=1e-9)


def test_a_thick_bar_loses_bond_above_32_mm():
    low, at, high = of_all(laps_aashto_ec2.thick_bar_factor, "32 mm")
    assert low == at == 1.0 and high < 1.0
    assert laps_aashto_ec2.thick_bar_factor(Q(40, "mm")).m_as("") == pytest.approx((132 - 40) / 100)


@pytest.mark.parametrize("limit", ["40 °F", "277.59445 K"])
def test_curing_time_does_not_count_below_40_degrees_fahrenheit(limit):
    at = units.read(limit, units.Temperature).to("K")
    assert cold_factor(at).m_as("") == 1.5
    with pytest.raises(InputError, match=r"below 4.4 °C \(40 °F\) curing time does not count"):
        cold_factor(at - Q(0.01, "delta_degC"))


@pytest.mark.parametrize("limit", ["10 °C", "50 °F"])
def test_curing_takes_longer_below_10_degrees(limit):
    at = units.read(limit, units.Temperature).to("K")
    found = [float(cold_factor(at + Q(step, "delta_degC")).m_as("")) for step in (-0.01, 0.0, 0.01)]
    assert found == [1.5, 1.0, 1.0]


@pytest.mark.parametrize("limit", ["2 in", "50.8 mm"])
def test_a_support_wider_than_2_in_takes_the_greater_addition(limit):
    found = [deflection_addition(b).m_as("in") for b in sides(limit, units.Length)]
    assert found == pytest.approx([0.25, 0.25, 0.625])
    assert deflection_addition(Q(1.5, "in")).m_as("in") == pytest.approx(0.25)  # 2 in nominal, dressed
    assert deflection_addition(Q(3.5, "in")).m_as("in") == pytest.approx(0.625)  # 4 in nominal, dressed


@pytest.mark.parametrize(
    ("factor", "limit", "wet"), [(wet_bending, "1150 psi", 0.85), (wet_compression, "750 psi", 0.8)]
)
def test_weak_lumber_loses_nothing_to_wet_service(factor, limit, wet):
    assert of_all(lambda f: factor("wet", f, Q(1.0)), limit, units.WoodStress) == [1.0, 1.0, wet]


@pytest.mark.parametrize(("form", "limit"), [("SI", "75 cm"), ("US", "30 in")])
def test_a_fair_grip_counts_for_less_below_the_knuckles(form, limit):
    knuckles, unit = limit.split()
    assert lifting_limit.form(form).written_constants["V_0"] == limit
    found = [float(by_grip("fair", v.m_as(unit), float(knuckles))) for v in sides(limit, units.Length)]
    assert found == [0.95, 1.0, 1.0]


@pytest.mark.parametrize(("form", "limits", "unit"), [("US", (40, 45), "mph"), ("SI", (60, 70), "km/h")])
def test_each_formula_of_a_taper_holds_up_to_and_from_its_speed(form, limits, unit):
    own = taper.form(form).written_constants
    assert (own["S_1"], own["S_2"]) == tuple(f"{limit} {unit}" for limit in limits)
    speeds = (limits[0] - 1, *limits, limits[1] + 1)
    assert [float(taper_by_speed(speed, *limits, 1.0, 2.0)) for speed in speeds] == [1, 1, 2, 2]
    with pytest.raises(InputError, match=f"run to {limits[0]} and from {limits[1]} "):
        taper(Q(3.6, "m"), Q(sum(limits) / 2, unit), form=form)


def test_cover_over_bar_is_taken_as_far_as_it_was_tested():
    for cover in ("10 mm", "70 mm"):
        assert cover_over_bar(units.read(cover, units.Length), Q(10, "mm")).m_as("") == pytest.approx(
            float(cover[:2]) / 10
        )
    for cover in ("9.99 mm", "70.01 mm"):
        with pytest.raises(InputError, match="the tests reach from 1 to 7"):
            cover_over_bar(units.read(cover, units.Length), Q(10, "mm"))


@pytest.mark.parametrize(
    ("constants", "us", "si"),
    [(laps_aci.LEAST_LENGTH, "12 in", "300 mm"), (laps_aci.MUCH_BELOW, "12 in", "300 mm")],
)
def test_hard_metric_constants_stay_their_own(constants, us, si):
    assert bars.of_form(constants, "US") == constant(us)
    assert bars.of_form(constants, "SI 9/10") == bars.of_form(constants, "SI 1/1.1") == constant(si) != constant(us)


def test_hard_metric_constants_of_crack_control_stay_their_own():
    found = {form: crack_spacing("30 ksi", "2 in", form=form) for form in ("US", "SI")}
    assert [found["US"].s_0.m_as("in"), found["US"].s_c.m_as("in")] == pytest.approx([15, 12])
    assert [found["SI"].s_0.m_as("mm"), found["SI"].s_c.m_as("mm")] == pytest.approx([380, 300])
