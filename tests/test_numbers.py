"""Numbers as people use them: what a tape, a scale and a pail show, no print that contradicts its verdict, the decimal comma.

How fine a tape, a scale or a dosing cup is read is common practice, with no source.
"""

import math
import re
from decimal import ROUND_CEILING, ROUND_FLOOR

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from samples import demo

from deckcalc import Q, steel
from deckcalc.core import digits, units
from deckcalc.core.check import NOT_SATISFIED, SATISFIED, Check, Limit
from deckcalc.core.units import read, show, show_at_least, show_at_most
from deckcalc.show import sections
from deckcalc.show.decimal import with_comma

#: Value and kind, and what an SI and a US job print.
PRINTED = [
    # a tape is read to 1/8 in, or to 1 mm
    ("5.59 ft", "Distance", "1.704 m", "5 ft 7 1/8 in"), ("35 ft", "Distance", "10.668 m", "35 ft 0 in"),
    ("2 m", "Distance", "2.00 m", "6 ft 6 3/4 in"), ("8.5 in", "Distance", "216 mm", "8 1/2 in"),
    ("12.34049 m", "Distance", "12.34 m", "40 ft 5 7/8 in"), ("0.3 in", "Distance", "8 mm", "0.30 in"),
    ("0 m", "Distance", "0.00 m", "0 ft"), ("-30 in", "Distance", "-762 mm", "-2 ft 6 in"),
    ("11.99 in", "Distance", "305 mm", "1 ft 0 in"),
    ("92.1 mm", "Length", "92 mm", "3 5/8 in"), ("0.75 in", "Length", "19 mm", "3/4 in"), ("0.3 in", "Length", "8 mm", "0.30 in"),
    ("1160 mm", "Length", "1160 mm", "45 5/8 in"),
    ("0.625 in", "Diameter", "15.9 mm", "0.625 in"), ("1.128 in", "Diameter", "28.7 mm", "1.128 in"),
    # a scale for bags is read to 1 lb, a small one to 0.1 lb
    ("184.4 lb", "Mass", "83.6 kg", "184 lb"), ("1485 lb", "Mass", "674 kg", "1485 lb"), ("9.96 lb", "Mass", "4.5 kg", "10 lb"),
    ("4.44 lb", "Mass", "2.0 kg", "4.4 lb"), ("0.457 lb", "Mass", "0.21 kg", "0.46 lb"),
    # a pail, a dosing cup
    ("3.256 gal", "Liquid", "12.3 L", "3.26 gal"), ("0.1 gal", "Liquid", "0.38 L", "12.8 fl oz"), ("50 mL", "Liquid", "50 mL", "1.7 fl oz"),
    ("312.6 mL", "LiquidVolume", "313 mL", "10.6 fl oz"),
    # what is ordered is printed up
    ("1.2341 m^3", "OrderVolume", "1.24 m³", "1.62 yd³"), ("0.1501 yd^3", "OrderVolume", "0.115 m³", "0.151 yd³"),
    # forces and strengths
    ("0.00884 kip", "Force", "39 N", "9 lbf"), ("16 kip", "Force", "71.2 kN", "16.0 kip"), ("0.02 kip*ft", "Moment", "0.027 kN·m", "20.0 lbf·ft"),
    ("17.0893 kip*ft", "Moment", "23.2 kN·m", "17.1 kip·ft"), ("4000 psi", "Stress", "27.6 MPa", "4000 psi"),
    ("29000 ksi", "Modulus", "200 GPa", "29000 ksi"), ("145 pcf", "Density", "2323 kg/m³", "145 pcf"),
    ("0.3104 in^2", "BarArea", "200 mm²", "0.31 in²"), ("134218021 mm^4", "SecondMoment", "134 × 10⁶ mm⁴", "322 in⁴"),
    # ratios, shares, and the noise of a computation
    ("0.45", "Ratio", "0.45", "0.45"), ("12.345", "Ratio", "12.3", "12.3"), ("4e-14 %", "Share", "0.0 %", "0.0 %"),
    ("4e-14 in", "Length", "0 mm", "0 in"), ("7", "Count", "7", "7"), ("12000000", "Price", "12000000.00", "12000000.00"),
    ("99.999 %", "Share", "100 %", "100 %"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "si", "us"), PRINTED)
def test_a_decision_value_is_printed_as_people_use_it(text, kind, si, us):
    kind = getattr(units, kind)
    assert (show(read(text, kind), kind, "SI"), show(read(text, kind), kind, "US")) == (si, us)


@pytest.mark.parametrize(
    ("rounding", "under", "at", "over"),
    [(ROUND_FLOOR, "2 3/8 in", "2 1/2 in", "2 1/2 in"), (ROUND_CEILING, "2 1/2 in", "2 1/2 in", "2 5/8 in")],
)
def test_a_length_that_people_keep_to_goes_to_the_safe_mark(rounding, under, at, over):
    assert [digits.tape(2.5 + off, rounding=rounding) for off in (-0.001, 0.0, 0.001)] == [under, at, over]
    assert digits.tape(2.5 + 1e-12, rounding=rounding) == digits.tape(2.5 - 1e-12, rounding=rounding) == at


@given(st.floats(1, 5000), st.booleans())
def test_a_tape_is_within_half_a_mark_and_is_read_back(inches, feet):
    kind = units.Distance if feet else units.Length
    for said, least, most in (
        (show, -0.0625, 0.0625), (show_at_most, -0.125, 0), (show_at_least, 0, 0.125),
    ):  # fmt: skip
        text = said(Q(inches, "in"), kind, "US")
        assert least - 1e-6 <= read(text, kind).m_as("in") - inches <= most + 1e-6, text


@given(
    st.floats(1e-7, 1e9),
    st.sampled_from(["Ratio", "Mass", "Moment", "Stress", "Area", "Force"]),
    st.sampled_from(units.SYSTEMS),
)
def test_a_decision_value_keeps_two_digits_or_more(value, name, system):
    kind = units.kind_of(getattr(units, name))
    text = show(Q(value, kind.symbol(system)), kind, system)
    number, _, rest = text.partition(" ")
    power = (
        10.0 ** int(rest[4:].partition(" ")[0].translate(str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")))
        if "×" in rest
        else 1.0
    )
    unit = rest.rpartition(" ")[2] if "×" in rest and kind.symbol(system) else rest if "×" not in rest else ""
    back = float(Q(float(number) * power, unit).m_as(kind.unit(system)))
    whole = {"N": 0.5, "lbf": 0.5, "psi": 0.5}.get(rest, 0.0)  # parts of one are nothing that anybody decides by
    half = float(Q(whole, rest).m_as(kind.unit(system))) if whole else 0.0
    assert math.isclose(back, value, rel_tol=0.0501, abs_tol=1.001 * half), text


def check(demand, limit, unit, kind, sense):
    return Check(
        "patch P1", "cover", Q(demand, unit), Limit("x", "x", Q(limit, unit), units.kind_of(kind), "job file"), sense
    )


FACTOR = st.sampled_from([0.5, 0.9, 0.99, 0.999, 0.9999, 1 - 1e-6, 1.0, 1 + 1e-6, 1.0001, 1.001, 1.01, 1.1, 3.0])


@given(
    st.one_of(st.sampled_from([0.5, 1.0, 1.5, 2.0, 8.0, 35.0, 4000.0]), st.floats(0.01, 1e4)), FACTOR,
    st.sampled_from(["in Length", "mm Length", "ft Distance", "m Distance", "kip Force", "MPa Stress", "percent Share", " Ratio", "gal Liquid"]),
    st.sampled_from(["at most", "at least", "less than"]), st.sampled_from(units.SYSTEMS),
)  # fmt: skip
@example(2.0, 0.999, "in Length", "at least", "US")
@example(25.4, 1.001, "mm Length", "at most", "US")
@example(0.05, 1.0001, "kip Force", "at most", "US")
def test_the_print_of_a_check_never_contradicts_its_verdict(limit, factor, what, sense, system):
    unit, _, name = what.partition(" ")
    kind = getattr(units, name)
    one = check(limit * factor, limit, unit, kind, sense)
    texts = one.printed(system)
    a, b = (float(read(text, kind).to_base_units().magnitude) for text in texts)
    assert one.holds(a, b) == (one.verdict == SATISFIED), texts
    used = float(one.percent.removesuffix(" %"))
    assert (used < 100 or (used == 100 and sense != "less than")) == (one.verdict == SATISFIED), one.percent


def test_a_value_that_fails_by_a_thousandth_is_not_printed_equal_to_its_limit():
    one = check(1.998, 2.0, "in", units.Length, "at least")
    assert one.verdict == NOT_SATISFIED and one.printed("US") == ("1.998 in", "2.000 in") and one.percent == "100.1 %"
    assert check(2.55, 2.0, "in", units.Length, "at least").printed("US") == ("2 1/2 in", "2 in")
    assert check(50.0, 50.0, "mm", units.Length, "at least").printed("SI") == ("50 mm", "50 mm")
    assert check(50.0, 50.0, "mm", units.Length, "less than").percent == "100 %"


def test_a_limit_between_two_marks_is_not_moved_to_one():
    assert check(30.0, 25.0, "mm", units.Length, "at least").printed("US") == ("1.18 in", "0.98 in")


def test_what_was_measured_on_a_tape_is_listed_as_measured():
    text = str(sections.measured(demo("US").file.rows["bars"], "US"))
    heads = text.partition("\n")[0]
    assert "station [ft]" not in heads and " ft " in text
    assert not any(len(word.partition(".")[2]) > 4 for word in text.split())


# --- the decimal comma

COMMA = [
    ("0.5 m and -2.25 °C, 12.0 % more", "0,5 m and -2,25 °C, 12,0 % more"), ("It is 0.5.", "It is 0,5."), ("**1.5**|2.5|", "**1,5**|2,5|"),
    ("readings 2.00, 2.50 and 2.25, each 3.625", "readings 2,00; 2,50 and 2,25, each 3,625"), ("P1, 2, 3", "P1, 2, 3"),
    (r"$d = 2 \cdot 0.5\ \text{mm}$", r"$d = 2 \cdot 0{,}5\ \text{mm}$"), ("$$\nx = 1.5\n$$", "$$\nx = 1{,}5\n$$"),
    (r"$\max\left(0.5,\ 0.6\right)$", r"$\max\left(0{,}5;\ 0{,}6\right)$"), (r"$x = 1.5 \tag{2.1}$", r"$x = 1{,}5 \tag{2.1}$"),
    (r"costs \$5.50", r"costs \$5,50"), ("`0.5` and ``0.5 ` 1.5``", "`0.5` and ``0.5 ` 1.5``"), ("```csv\n0.5\n```\n1.5", "```csv\n0.5\n```\n1,5"),
    ("deckcalc 0.1.0; 0.1", "deckcalc 0.1.0; 0,1"), ("rates-1.5.csv, v2.5", "rates-1.5.csv, v2.5"), ("2026-04-16, 05:00", "2026-04-16, 05:00"),
    ("sha 3f2.5a9e", "sha 3f2.5a9e"), ("[ACI 318-11], 12.2.3", "[ACI 318-11], 12.2.3"), ("[UFC 3-270-03], 16.6: 0.5 m", "[UFC 3-270-03], 16.6: 0,5 m"),
    (r"\[ACI 211.1-91\], 6.3.9 and 7.2, 1.5 m", r"\[ACI 211.1-91\], 6.3.9 and 7.2, 1,5 m"), ("section 7.4 of 0.5 m", "section 7.4 of 0,5 m"),
    ("section 1.5 m long", "section 1,5 m long"), ("(ACI 318-11, 12.4)", "(ACI 318-11, 12.4)"), ("## 3.2 Patch of 0.5 m", "## 3.2 Patch of 0,5 m"),
    ("![plan 0.5](figures/003-1.5.svg){width=0.5}", "![plan 0,5](figures/003-1.5.svg){width=0.5}"), ('<td style="a:1.5">1.5</td>', '<td style="a:1.5">1,5</td>'),
    ("https://www.w3.org/1.5 and 1.5", "https://www.w3.org/1.5 and 1,5"), ("20\u202f000 samples", "20\u202f000 samples"),
]  # fmt: skip


@pytest.mark.parametrize(("point", "comma"), COMMA)
def test_a_decimal_comma_stands_in_values_alone(point, comma):
    assert with_comma(point) == comma
    assert with_comma(comma) == comma, "changing a text twice is changing it once"


def test_texts_of_the_user_keep_their_points():
    assert with_comma("Bridge 4.5, 4.5 m", keep=["Bridge 4.5"]) == "Bridge 4.5, 4,5 m"
    assert with_comma("grade 4.55", keep=["grade 4.5"]) == "grade 4,55"


@given(st.text(alphabet="0123456789.,$`[]()<>#\\ ab-\n", max_size=60))
def test_any_text_is_changed_in_its_points_and_separators_alone(text):
    changed = with_comma(text)
    strip = str.maketrans("", "", ".,;{}")
    assert changed.translate(strip) == text.translate(strip)
    assert with_comma(changed) == changed


def test_a_long_text_takes_time_in_proportion():
    for part in ("[A ", "`", "$", "1, ", "section ", "<a ", "1.", "ACI 3, ", "# 1."):
        assert isinstance(with_comma(part * 4000), str)


def test_every_printed_value_of_a_hand_calculation_gets_its_comma():
    text = with_comma(str(steel.section_loss.by_hand("200 mm^2", "14.25 mm", system="SI")))
    assert "{,}" in text
    assert not [part for part in text.split("$")[1::2] if re.search(r"\d\.\d", part)]
