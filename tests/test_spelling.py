"""Check how the trade spells lengths, numbers, stations, bars, dates and times: one reading is taken, two are refused with both."""

import datetime
import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from deckcalc.core import dates, spelling, tables, units
from deckcalc.core.bars import bar_diameter
from deckcalc.core.units import (  # fmt: skip
    Area,
    Content,
    Diameter,
    Distance,
    InputError,
    Length,
    LiquidVolume,
    Mass,
    Potential,
    Ratio,
    Stress,
    Volume,
    read,
)  # fmt: skip
from deckcalc.core.written import read as read_several
from deckcalc.job.rows import with_unit
from deckcalc.patch.inputs import survey


def refusal(call, *given):
    """Return the words with which something is refused; empty if it is taken."""
    try:
        call(*given)
    except (InputError, tables.TableError) as error:
        return str(error)
    return ""


# --- quantities: common practice of the trade


@pytest.mark.parametrize(
    ("written", "kind", "value", "unit"),
    [
        ("2'-6\"", Length, 30, "in"), ("2' 6\"", Length, 30, "in"), ("2'6\"", Length, 30, "in"), ("2 ft 6 in", Length, 30, "in"),
        ("2 ft. 6 in.", Length, 30, "in"), ("2ft6in", Length, 30, "in"), ("2 FT 6 IN", Length, 30, "in"), ("2 feet 6 inches", Length, 30, "in"),
        ("2′-6″", Length, 30, "in"), ("2’ 6”", Length, 30, "in"), ("2'-6''", Length, 30, "in"), ("2' – 6\"", Length, 30, "in"),
        ("2'-6 1/2\"", Length, 30.5, "in"), ("2'-6-1/2\"", Length, 30.5, "in"), ("2'-6½\"", Length, 30.5, "in"), ("2' 6.5\"", Length, 30.5, "in"),
        ("2'-1/2\"", Length, 24.5, "in"), ("2'-0\"", Length, 24, "in"), ("-2'-6\"", Length, -30, "in"), ("−2'-6\"", Length, -30, "in"),
        ("12'-6\"", Distance, 12.5, "ft"), ("0'-11\"", Length, 11, "in"), ("2 ft 3 in", Length, 27, "in"),
        ("8 1/2\"", Length, 8.5, "in"), ("3/8\"", Length, 0.375, "in"), ("6\"", Length, 6, "in"), ("6'", Distance, 6, "ft"), ("2 1/2'", Distance, 2.5, "ft"),
        ("2½ in", Length, 2.5, "in"), ("2 ½ in", Length, 2.5, "in"), ("2½\"", Length, 2.5, "in"), ("½ in", Length, 0.5, "in"), ("-2¾ in", Length, -2.75, "in"),
        ("1⁄2 in", Length, 0.5, "in"), ("⅜\"", Length, 0.375, "in"), ("2-½ in", Length, 2.5, "in"),
        ("220 MM", Length, 220, "mm"), ("8 IN", Length, 8, "in"), ("2 FT", Distance, 2, "ft"), ("2 M", Distance, 2, "m"), ("30 MPA", Stress, 30, "MPa"),
        ("30 Mpa", Stress, 30, "MPa"), ("4000 PSI", Stress, 4000, "psi"), ("4 KSI", Stress, 4, "ksi"), ("94 LB", Mass, 94, "lb"), ("94 LBS", Mass, 94, "lb"),
        ("600 LB/YD^3", Content, 600, "lb/yd³"), ("350 KG/M3", Content, 350, "kg/m³"), ("2 Mg", Mass, 2000, "kg"), ("5 ml", LiquidVolume, 5, "mL"),
        ("−5 mm", Length, -5, "mm"), ("65\u00a0mm", Length, 65, "mm"), ("65\u2009mm", Length, 65, "mm"), ("65\u202fmm", Length, 65, "mm"),
        ("#5", Diameter, 0.625, "in"), ("No. 5", Diameter, 0.625, "in"), ("no 5", Diameter, 0.625, "in"), ("Ø16", Diameter, 16, "mm"), ("ø16", Length, 16, "mm"),
        ("Ø 16 mm", Diameter, 16, "mm"), ("Ø 5/8 in", Diameter, 0.625, "in"), ("⌀12", Diameter, 12, "mm"), ("D16", Diameter, 16, "mm"),
        ("4 cu ft", Volume, 4, "ft³"), ("4 cu. ft.", Volume, 4, "ft³"), ("2 cu yd", Volume, 2, "yd³"), ("2 cubic yards", Volume, 2, "yd³"), ("2 CU YD", Volume, 2, "yd³"),
        ("3 sq ft", Area, 3, "ft²"), ("5 sq m", Area, 5, "m²"), ("600 lb/cu yd", Content, 600, "lb/yd³"), ("600 lb per cu yd", Content, 600, "lb/yd³"),
        ("0,5 m", Distance, 0.5, "m"), ("0,500 m", Distance, 0.5, "m"), ("12,5 mm", Length, 12.5, "mm"), ("12,50 mm", Length, 12.5, "mm"), (",5 m", Distance, 0.5, "m"),
        ("1,2345 m", Distance, 1.2345, "m"), ("1250,500 mm", Length, 1250.5, "mm"), ("0,42", Ratio, 0.42, ""),
        ("1,250,000 mm", Length, 1.25e6, "mm"), ("1,250.5 mm", Length, 1250.5, "mm"), ("1.250,5 mm", Length, 1250.5, "mm"), ("1.250,500 mm", Length, 1250.5, "mm"),
        ("1.250.000 mm", Length, 1.25e6, "mm"), ("1 250 mm", Length, 1250, "mm"), ("1\u2009250 mm", Length, 1250, "mm"), ("1\u00a0250\u00a0000 mm", Length, 1.25e6, "mm"),
        ("1 250,5 mm", Length, 1250.5, "mm"), ("1.250 m", Distance, 1.25, "m"), ("2 125/1000 in", Length, 2.125, "in"), ("-1,5 mm", Length, -1.5, "mm"),
        ("12+60 ft", Distance, 1260, "ft"), ("12+34.5 ft", Distance, 1234.5, "ft"), ("sta 12+34.5 ft", Distance, 1234.5, "ft"), ("STA. 12+34.5 FT", Distance, 1234.5, "ft"),
        ("Station 12+60'", Distance, 1260, "ft"), ("sta12+60 m", Distance, 1260, "m"), ("12+34,5 m", Distance, 1234.5, "m"), ("1+234.5 m", Distance, 1234.5, "m"),
        ("-0+15 ft", Distance, -15, "ft"), ("−0+15 m", Distance, -15, "m"), ("0+00 ft", Distance, 0, "ft"), ("sta 123.5 ft", Distance, 123.5, "ft"),
    ],
)  # fmt: skip
def test_every_usual_spelling_is_read_exactly(written, kind, value, unit):
    found = read(written, kind)
    assert float(found.m_as(units.unit(unit))) == pytest.approx(value, rel=1e-15, abs=0)


@pytest.mark.parametrize(
    ("written", "kind", "words"),
    [
        ("22,000 mm", Length, "found “22,000 mm”, which may be 22 mm or 22000 mm; write one of them"),
        ("1,250 psi", Stress, "found “1,250 psi”, which may be 1.25 psi or 1250 psi; write one of them"),
        ("-1,250 mm", Length, "which may be -1.25 mm or -1250 mm"), ("1,250", Ratio, "which may be 1.25 or 1250"),
        ("12+60", Distance, r"found “12\+60”, which may be 1260 ft or 1260 m; write one of them"), ("sta 12+34.5", Distance, "1234.5 ft or 1234.5 m"),
        ("-0+15", Distance, "-15 ft or -15 m"),
        ("1+234.5", Distance, "three digits after the plus is in metres.*write 1.234.5 m; wanted a distance"), ("1+234 ft", Distance, "1.234 m"),
        ("12+6 ft", Distance, "two digits after the plus, 12.06 or 12.60"), ("12+60 yd", Distance, "a station is in ft or m"), ("12+6000 ft", Distance, "two digits"),
        ("12+60 ft", Length, "not a unit"),
        ("2'-6", Length, "found “2'-6”: its inches have no mark; write 2'-6\" or 2 ft 6 in"), ("2 ft 6", Length, "no mark"),
        ("6' 14\"", Length, "inches beside feet are less than 12"), ("6' 12\"", Length, "less than 12"), ("2.5' 6\"", Length, "not a unit"),
        ("220 Mm", Length, "“Mm” is a unit as well as “mm”; write mm if that is meant"), ("30 mPa", Stress, "“mPa” is a unit as well as “MPa”"),
        ("5 ML", LiquidVolume, "“ML” is a unit as well as “mL”"), ("-200 MV", Potential, "“MV” is a unit as well as “mV”"),
        ("#16", Diameter, r"found “#16”, which may be the bar M16 \(US soft metric\) or 16 \(ISO\); write one of them"), ("No. 99", Length, "no size"),
        ("T16", Diameter, "found “T16”, wanted a diameter"), ("Ø15", Diameter, "no size “Ø15”"), ("Ø15.5", Diameter, "without a unit"), ("#5", Stress, "wanted a strength"),
        ("5, mm", Length, "decimal point"), ("5,5,5 mm", Length, "decimal point"), ("1,25,000 mm", Length, "decimal point"), ("0,250,000 mm", Length, "decimal point"),
        ("1 25 mm", Length, "not a unit"), ("1 2500 mm", Length, "not a unit"), ("1'250 mm", Length, "not a unit"), ("1 250 00 mm", Length, "not a unit"),
        ("2½½ in", Length, "not a unit"), ("½2 in", Length, "not a unit"), ("٣ mm", Length, "write numbers with 0 to 9"), ("2² mm", Length, "not a unit"),
        ("1/0\"", Length, "wanted a length"), ("2'-1/0\"", Length, "wanted a length"), ("2.5 1/2 in", Length, "not a unit"),
        ("1e-999 mm", Length, "too small"), ("5 sq lb ft", Area, "no area"),
    ],
)  # fmt: skip
def test_what_has_two_readings_or_none_is_refused(written, kind, words):
    with pytest.raises(InputError, match=words):
        read(written, kind)


@pytest.mark.parametrize(
    ("cell", "unit", "whole"),
    [
        ("12+60", "ft", "12+60 ft"), ("sta 12+60", "ft", "sta 12+60 ft"), ("sta12+60", "m", "sta12+60 m"), ("2½", "in", "2½ in"), ("0,5", "m", "0,5 m"),
        ("1e3", "mm", "1e3 mm"), ("−5", "mm", "−5 mm"), ("2'-6\"", "in", "2'-6\""), ("2′-6″", "ft", "2′-6″"), ("6”", "mm", "6”"), ("#5", "in", "#5"),
        ("5 %", "%", "5 %"), ("65 mm; 70", "in", "65 mm; 70 in"), ("Ø16", "mm", "Ø16"), ("", "mm", ""), ("3 µm", "mm", "3 µm"),
    ],
)  # fmt: skip
def test_a_head_gives_its_unit_to_cells_without_one(cell, unit, whole):
    assert with_unit(cell, unit) == whole


def test_a_comma_in_a_list_of_quantities_is_a_decimal_comma_between_digits():
    assert list(read_several("12,5 mm, 13 mm; 14,25 mm,15 mm", units.kind_of(Length), several=True).m_as("mm")) == [
        12.5,
        13,
        14.25,
        15,
    ]
    assert list(read_several("#5,#6", units.kind_of(Diameter), several=True).m_as("in")) == [0.625, 0.75]


@pytest.mark.parametrize("written", ["12,5", "22,000", "1,2,3", "12,5; 3", "1,250.5, 3"])
def test_a_comma_between_digits_of_bare_numbers_is_refused_with_what_would_be_right(written):
    with pytest.raises(
        InputError, match=f"found “{written}”, where a comma may .* write a point within a number, and “;”"
    ):
        read_several(written, units.kind_of(Ratio), several=True)
    assert list(read_several("12.5, 3;4 , 5", units.kind_of(Ratio), several=True).m_as("")) == [12.5, 3, 4, 5]


FEET = st.integers(0, 400)
PARTS = st.sampled_from((1, 2, 4, 8, 16, 32)).flatmap(
    lambda under: st.tuples(st.integers(0, under - 1), st.just(under))
)


@given(FEET, st.integers(0, 11), PARTS, st.booleans())
def test_feet_and_inches_in_any_form_are_the_same_length(feet, inches, part, negative):
    over, under = part
    fraction = f" {over}/{under}" if over else ""
    sign = "-" if negative else ""
    total = (12 * feet + inches + Fraction(over, under)) * (-1 if negative else 1)
    for form in (
        "{}'-{}{}\"", "{}' {}{}\"", "{}′-{}{}″", "{}’ {}{}”", "{} ft {}{} in", "{} FT. {}{} IN.", "{}feet {}{}inches", "{}'-{}{} ''",
    ):  # fmt: skip
        text = sign + form.format(feet, inches, fraction)
        assert [(one.number, one.unit) for one in spelling.readings(text)] == [(total, "in")]
        assert read(text, Length).magnitude == float(total)


@given(st.integers(0, 10**9), st.integers(0, 10**4), st.integers(1, 4), st.sampled_from((" ", "\u2009", "\u00a0", "")))
def test_a_number_in_any_form_is_the_same_number_or_refused_with_it(whole, over, digits, blank):
    decimals = f"{over % 10**digits:0{digits}d}"
    wanted = float(Decimal(f"{whole}.{decimals}"))
    by_three = f"{whole:,}"
    for text in (
        f"{whole}.{decimals}", f"{whole},{decimals}", f"{by_three}.{decimals}", by_three.replace(",", ".") + f",{decimals}",
        by_three.replace(",", blank or " ") + f".{decimals}", by_three.replace(",", blank or " ") + f",{decimals}",
    ):  # fmt: skip
        numbers = [float(one.number) for one in spelling.readings(f"{text} mm")]
        several = "," in text and "." not in text and digits == 3 and 0 < whole < 1000
        assert wanted in numbers and len(numbers) == (2 if several else 1), text


@given(st.integers(0, 999), st.integers(0, 99), st.integers(0, 99))
def test_a_station_is_its_distance(before, after, over):
    text = f"{before}+{after:02d}.{over:02d}"
    wanted = float(Decimal(f"{before}{after:02d}.{over:02d}"))
    assert read(f"sta {text} ft", Distance).magnitude == read(with_unit(text, "ft"), Distance).magnitude == wanted
    assert [str(one).split()[1] for one in spelling.readings(text, along=True)] == ["ft", "m"]


SIGNS = st.text(st.sampled_from(list("0123456789.,+-−'\"′″’”/ ½¾⁄\u2009\u00a0ftinmMPaØD#²No.eE%°°()*^·")), max_size=24)


@given(st.one_of(SIGNS, st.text(max_size=80)), st.sampled_from((Length, Distance, Ratio, Stress, Volume)))
def test_any_text_is_read_or_refused_in_words(text, kind):
    assert 0 < len(refusal(read, text, kind) or "read") < 900
    assert spelling.lacks_unit(text) in (True, False) and isinstance(spelling.right(text, along=True), str)


@pytest.mark.parametrize(
    ("written", "degrees"), [("45 deg", 45), ("−45°", -45), ("22,5 deg", 22.5), ("7½°", 7.5), ("360°", 360)]
)
def test_a_bearing_is_read_in_degrees(written, degrees):
    assert survey.bearing(written) == degrees


@pytest.mark.parametrize("written", ["45", "361 deg", "1,000 deg", "45 rad", "", "north", "1e400 deg", "nan deg", 45])
def test_a_bearing_that_is_none_is_refused(written):
    with pytest.raises(InputError, match="wanted degrees with their unit"):
        survey.bearing(written)


# --- bars


@pytest.mark.parametrize(
    ("written", "size"),
    [
        ("#5", "#5"), ("# 5", "#5"), ("No. 5", "#5"), ("No.5", "#5"), ("no 5", "#5"), ("NO 5", "#5"), ("number 5", "#5"), ("#10", "#10"),
        ("16", "16"), ("16 mm", "16"), ("16mm", "16"), ("Ø16", "16"), ("ø16", "16"), ("Ø 16 mm", "16"), ("⌀16", "16"), ("D16", "16"),
        ("M16", "M16"), ("m16", "M16"), ("M 16", "M16"), ("15M", "15M"), ("15 M", "15M"), ("#19", "M19"), ("#57", "M57"),
        ("square 3/4 in", "square 3/4 in"), ("3/4\" square", "square 3/4 in"), ("Square ¾″", "square 3/4 in"), ("1 1/8 in square", "square 1 1/8 in"),
        ("round 1/2\"", "round 1/2 in"), ("½ in round", "round 1/2 in"),
    ],
)  # fmt: skip
def test_a_bar_is_found_by_every_usual_name(written, size):
    assert tables.bar(written)["size"] == size
    assert bar_diameter(written) == bar_diameter(size)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("#16", r"found “#16”, which may be the bar M16 \(US soft metric\) or 16 \(ISO\); write one of them"), ("No. 25", r"M25 .*or 25"),
        ("5/8 in", r"which may be the bar #5 \(US inch-pound\) or square 5/8 in \(old square\) or round 5/8 in"), ("1\"", "#8 .* square 1 in .* round 1 in"),
        ("T16", "found “T16”, where the letter is not usual everywhere; write the bar as #5"), ("Y16", "not usual everywhere"),
        ("#12", "no size “#12”; it has #2"), ("Ø15", "no size"), ("16 in", "no size"), ("", "no size"), ("M16 mm", "no size"), ("#5 mm", "no size"),
        ("square 1/0 in", "no size"), ("1/0 in", "no size"), ("٥", "no size"), ("square 3/4 in round", "no size"), ("5" * 200, "no size"),
    ],
)  # fmt: skip
def test_a_bar_of_two_tables_or_none_is_refused(written, words):
    with pytest.raises(tables.TableError, match=words):
        tables.bar(written)


@given(st.one_of(SIGNS, st.text(max_size=80)))
def test_any_text_is_a_bar_or_refused_in_words(text):
    assert re.search("^$|it has #2|write", refusal(bar_diameter, text))


# --- dates and times

NOVEMBER = datetime.date(2026, 11, 27)


@pytest.mark.parametrize(
    ("written", "day"),
    [
        *((text, NOVEMBER) for text in (
            "2026-11-27", "2026/11/27", "27.11.2026", "27. 11. 2026", "27/11/2026", "11/27/2026", "27-11-2026", "27 Nov 2026", "27 November 2026",
            "27. November 2026", "27-Nov-2026", "27Nov2026", "Nov 27, 2026", "Nov. 27 2026", "November 27, 2026", "November 27th, 2026", "NOV 27, 2026",
            "Fri 27 Nov 2026", "Friday, November 27, 2026", " 2026-11-27 ", "2026-11-27 00:00:00", datetime.datetime(2026, 11, 27), NOVEMBER,
        )),
        ("3.4.2026", datetime.date(2026, 4, 3)), ("05/05/2026", datetime.date(2026, 5, 5)), ("13/4/2026", datetime.date(2026, 4, 13)),
        ("4/13/2026", datetime.date(2026, 4, 13)), ("Sept 3, 2026", datetime.date(2026, 9, 3)), ("29.2.2028", datetime.date(2028, 2, 29)),
    ],
)  # fmt: skip
def test_every_usual_date_is_read(written, day):
    found = dates.read_date(written)
    assert found == day and type(found) is datetime.date


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("03/04/2026", "which may be 3 April 2026 or 4 March 2026; write 2026-04-03 or 2026-03-04"), ("3-4-2026", "3 April 2026 or 4 March 2026"),
        ("27/11/26", "four digits"), ("3.4.26", "four digits"), ("27 Nov 26", "four digits"), ("Nov 27, 26", "four digits"),
        ("31.2.2026", "no such day"), ("32/13/2026", "no such day"), ("29.2.2026", "no such day"), ("2026-13-01", "no such day"), ("0000-01-01", "no such day"),
        ("11.27.2026", "no such day, with its day before its month"), ("Mon 27 Nov 2026", "27 November 2026 is a Friday"),
        ("20261127", "wanted a date such as"), ("1790000000", "wanted a date such as"), (46353, "found “46353”, wanted a date"), (True, "wanted a date"),
        (None, "wanted a date"), ("", "found “”, wanted a date"), ("soon", "wanted a date"), ("Ju 3, 2026", "wanted a date"), ("Foo 3, 2026", "no such day"),
        ("2026-11-27 09:00", "with nothing beside it"), (datetime.datetime(2026, 11, 27, 9), "with nothing beside it"), ("٢٠٢٦-١١-٢٧", "wanted a date"),
        ("2026-11-27" * 9, "wanted a date"), ("27/11-2026", "wanted a date"),
    ],
)  # fmt: skip
def test_a_date_of_two_readings_or_none_is_refused(written, words):
    with pytest.raises(InputError, match=words):
        dates.read_date(written)


@pytest.mark.parametrize(
    ("written", "hour"),
    [
        *((text, (21, 0)) for text in ("21:00", "9:00 pm", "9 PM", "9:00 p.m.", "9pm", "9 P.M.", "09:00PM", "21:00:00", datetime.time(21))),
        ("9:05 a.m.", (9, 5)), ("12:00 pm", (12, 0)), ("12 pm", (12, 0)), ("12 noon", (12, 0)), ("noon", (12, 0)), ("12:30 am", (0, 30)), ("0:05", (0, 5)),
        ("12:00 am", (0, 0)), ("midnight", (0, 0)), ("12 midnight", (0, 0)),
    ],
)  # fmt: skip
def test_every_usual_time_is_read(written, hour):
    assert dates.read_time(written) == datetime.time(*hour)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("2100", "write the hour as 21:00"), ("900", "write the hour as 9:00"), ("21.00", "write the hour as 21:00"), ("21h00", "write the hour as 21:00"),
        ("21", "wanted an hour"), ("13:00 pm", "no such hour"), ("0:30 am", "no such hour"), ("25:00", "found “25:00”, wanted an hour"), ("9:75", "wanted an hour"),
        ("24:00", "write 00:00 of the day after"), ("21:00:30", "whole minutes"), ("21:00Z", "leave out the time zone"), ("21:00 UTC", "leave out the time zone"),
        ("21:00+02:00", "leave out the time zone, the clock is that of the bridge"), ("9:00 pm CST", "leave out the time zone"), ("11 noon", "no such hour"),
        ("", "wanted an hour"), (21, "wanted an hour"), (None, "wanted an hour"), ("late", "wanted an hour"), ("٢١:00", "wanted an hour"),
    ],
)  # fmt: skip
def test_a_time_that_cannot_be_told_is_refused(written, words):
    with pytest.raises(InputError, match=words):
        dates.read_time(written)


@pytest.mark.parametrize(
    "written",
    [
        "2026-11-27 21:00", "2026-11-27T21:00", "2026-11-27T21:00:00", "27.11.2026, 21:00", "27.11.2026 21:00", "Nov 27, 2026 9:00 pm",
        "Nov 27, 2026, 9 PM", "11/27/2026 9:00 p.m.", "Friday 27 November 2026, 21:00", datetime.datetime(2026, 11, 27, 21),
    ],
)  # fmt: skip
def test_every_usual_moment_is_read(written):
    assert dates.read_moment(written) == datetime.datetime(2026, 11, 27, 21)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("03/04/2026 21:00", "3 April 2026 or 4 March 2026"), ("2026-11-27", "without a time, wanted a local date and time"),
        ("2026-11-27 2100", "write the hour as 21:00"), ("2026-11-27 21:00+02:00", "leave out the time zone"), ("2026-11-27T21:00Z", "leave out the time zone"),
        ("2026-11-27T21:00:00-0600", "leave out the time zone"), (datetime.datetime(2026, 11, 27, tzinfo=datetime.UTC), "leave out the time zone"),
        ("2026-11-27 12:00 am", "the midnight that begins the day or the one that ends it; write 2026-11-27 00:00, or 00:00 of the day after"),
        ("2026-11-27 midnight", "begins the day or the one that ends it"), ("2026-11-27 24:00", "00:00 of the day after"), ("9999-12-31 midnight", "the day after"),
        ("2026-11-2721:00", "wanted a local date and time"), ("27 Nov 26 21:00", "four digits"), ("soon", "wanted a local"), (5, "wanted a local"), (None, "wanted a local"),
    ],
)  # fmt: skip
def test_a_moment_of_two_readings_or_none_is_refused(written, words):
    with pytest.raises(InputError, match=words):
        dates.read_moment(written)


@given(st.dates(datetime.date(1900, 1, 1), datetime.date(2200, 12, 31)), st.times())
def test_a_moment_in_any_form_is_the_same_moment(day, time):
    time = time.replace(second=0, microsecond=0)
    month = dates.MONTHS[day.month - 1]
    for date in (
        day.isoformat(), f"{day.day}.{day.month}.{day.year}", f"{day.day} {month} {day.year}", f"{month[:3]} {day.day}, {day.year}",
        f"{dates.WEEKDAYS[day.weekday()]} {day.day} {month} {day.year}",
    ):  # fmt: skip
        assert dates.read_date(date) == day
        half = f"{(time.hour + 11) % 12 + 1}:{time.minute:02d} {'a.m.' if time.hour < 12 else 'p.m.'}"
        assert dates.read_moment(f"{date} {time:%H:%M}") == datetime.datetime.combine(day, time)
        if (time.hour, time.minute) != (0, 0):
            assert dates.read_moment(f"{date}, {half}") == datetime.datetime.combine(day, time)
    for stroke in (f"{day.day}/{day.month}/{day.year}", f"{day.month}/{day.day}/{day.year}"):
        if day.day > 12 or day.day == day.month:
            assert dates.read_date(stroke) == day
        else:
            with pytest.raises(InputError, match=f"{dates.written(day)}.*; write"):
                dates.read_date(stroke)


STROKES = st.text(st.sampled_from(list("0123456789./-: TNovaprpm,Z+")), max_size=24)


@given(st.one_of(STROKES, st.text(max_size=80)))
def test_any_text_is_a_date_or_refused_in_words(text):
    for reader in (dates.read_date, dates.read_time, dates.read_moment):
        assert re.search("^$|found “", refusal(reader, text))
