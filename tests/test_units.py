"""Check the units: the trade's own against their published values, reading as people write, printing and back."""

import math

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deckcalc import InputError, Q
from deckcalc.core import units
from deckcalc.core.units import (  # fmt: skip
    SYSTEMS,
    Area,
    BarArea,
    ChlorideContent,
    ChlorideShare,
    Content,
    Count,
    Density,
    Diameter,
    Distance,
    Length,
    Mass,
    OrderVolume,
    Ratio,
    Share,
    Stress,
    Temperature,
    TemperatureDifference,
    Volume,
    VolumeShare,
    fixed,
    kind_of,
    read,
    show,
)

KINDS = (
    Area, BarArea, ChlorideContent, ChlorideShare, Content, Count, Density, Diameter, Distance, Length, Mass,
    OrderVolume, Ratio, Share, Stress, Temperature, TemperatureDifference, Volume, VolumeShare,
)  # fmt: skip
NAMES = [kind_of(kind).name for kind in KINDS]
BY_NAME = dict(zip(NAMES, KINDS, strict=True))

# --- the units of the trade against the conversion factors that a national standards body prints (seven digits)


@pytest.mark.parametrize(
    ("unit", "si", "printed"),
    [
        ("pcf", "kg/m^3", "16.01846"), ("lb/ft³", "kg/m^3", "16.01846"), ("lb/yd³", "kg/m^3", "0.5932764"),
        ("psf", "Pa", "47.88026"), ("plf", "N/m", "14.59390"), ("klf", "kN/m", "14.59390"), ("psi", "kPa", "6.894757"),
        ("ksi", "MPa", "6.894757"), ("kip", "kN", "4.448222"), ("thou", "um", "25.4"), ("in", "mm", "25.4"),
        ("ft", "m", "0.3048"), ("yd", "m", "0.9144"), ("in²", "mm²", "645.16"), ("ft³", "m³", "0.02831685"),
        ("yd³", "m³", "0.7645549"), ("lb", "kg", "0.4535924"), ("bag94", "kg", "42.63768"), ("bag94", "lb", "94"),
        ("bag42_6", "kg", "42.6"), ("bag50", "kg", "50"), ("hkg", "kg", "100"), ("%", "", "0.01"), ("ppm", "", "0.000001"),
        ("Δ°F", "K", "0.5555556"),
    ],
)  # fmt: skip
def test_each_unit_has_its_published_value(unit, si, printed):
    last = 10.0 ** -len(printed.partition(".")[2])
    assert float(Q(1, unit).m_as(units.unit(si))) == pytest.approx(float(printed), abs=0.5000001 * last)


def test_every_defined_unit_is_held_to_a_published_value_above():
    short = {line.split("=")[-1].strip() for line in units.DEFINITIONS}
    marks = test_each_unit_has_its_published_value.pytestmark[0].args[1]
    assert short <= {row[0] for row in marks}


def test_fixed_points_of_the_temperature_scales():
    assert read("32 °F", Temperature).m_as("degC") == pytest.approx(0, abs=1e-9)
    assert read("212 °F", Temperature).m_as("degC") == pytest.approx(100)
    assert read("-40 °F", Temperature).m_as("degC") == pytest.approx(-40)


# --- reading as people write


@pytest.mark.parametrize(
    ("written", "kind", "value", "unit"),
    [
        ("2 1/2 in", Length, 2.5, "in"), ("2-1/2 in", Length, 2.5, "in"), ("1/2 in", Length, 0.5, "in"),
        ("3 / 4 in", Length, 0.75, "in"), ("-1/2 in", Length, -0.5, "in"), ("-2 1/2 in", Length, -2.5, "in"),
        ("65 mm", Length, 65, "mm"), ("65mm", Length, 65, "mm"), ("  65   mm ", Length, 65, "mm"),
        (".5 in", Length, 0.5, "in"), ("5. mm", Length, 5, "mm"), ("1e3 mm", Length, 1000, "mm"),
        ("1.2 m", Length, 1200, "mm"), ("250 thou", Diameter, 0.25, "in"), ("3 ft", Distance, 1, "yd"),
        ("#5", Diameter, 0.625, "in"), ("#18", Diameter, 2.257, "in"), ("#4", Length, 0.5, "in"),
        ("5.5 %", Share, 0.055, ""), ("5.5%", Share, 0.055, ""), ("0.055", Share, 0.055, ""), (0.42, Ratio, 0.42, ""),
        (20, Count, 20, ""), ("320 ppm", ChlorideShare, 0.032, "%"),
        ("0.025 lb/yd^3", ChlorideContent, 0.025, "lb/yd^3"), ("0.025 lb/yd³", ChlorideContent, 0.025, "lb/yd^3"),
        ("0.025 lb/yd3", ChlorideContent, 0.025, "lb/yd^3"), ("1.2 kg/m3", ChlorideContent, 1.2, "kg/m^3"),
        ("4 ksi", Stress, 4000, "psi"), ("30 N/mm²", Stress, 30, "MPa"), ("30 N/mm^2", Stress, 30, "MPa"),
        ("145 pcf", Density, 145, "lb/ft^3"), ("5.3 ft³", Volume, 5.3, "ft^3"), ("2 bag94", Mass, 188, "lb"),
        ("1 bag42_6", Mass, 42.6, "kg"), ("200 mm²", BarArea, 200, "mm^2"), ("200 mm2", BarArea, 200, "mm^2"),
        ("10 Δ°C", TemperatureDifference, 10, "K"), ("18 Δ°F", TemperatureDifference, 10, "K"),
        ("5 K", TemperatureDifference, 5, "K"), ("15 °C", Temperature, 15, "°C"), ("15°C", Temperature, 15, "°C"),
        ("59 °F", Temperature, 15, "°C"),
    ],
)  # fmt: skip
def test_reading(written, kind, value, unit):
    assert float(read(written, kind).m_as(units.unit(unit))) == pytest.approx(value, rel=1e-12)


def test_a_quantity_stays_in_the_unit_that_was_written():
    assert f"{read('2 1/2 in', Length):~P}" == "2.5 in"


@pytest.mark.parametrize(
    ("written", "kind", "words"),
    [
        ("5, mm", Length, "decimal point"), ("1,234 mm", Length, "may be 1.234 mm or 1234 mm"),
        ("65", Length, "without a unit.*for instance “10 mm”"), (65, Length, "without a unit"),
        ("5 mil", Length, "mil.*thou"), ("5 mils", Length, "mil.*thou"), ("thick", Length, "found “thick”, wanted a length"),
        ("5 grains of", Length, "“grains of” is not a unit"), ("5 5 mm", Length, "not a unit"), ("5 mm/0", Length, "not a unit"),
        ("12.5.3 mm", Length, "not a unit"), ("5 __import__", Length, "not a unit"),
        ("2 1/0 in", Length, "found “2 1/0 in”"), ("1/0 in", Length, "found “1/0 in”"), ("5e mm", Length, "no length"),
        ("5 kg", Length, "no length; wanted a length"), ("5 m²", Length, "no length"), ("5 mm", BarArea, "no area"),
        ("5 lb", Content, "no content of concrete"), ("5 mm", Ratio, "no ratio"), ("45°", Ratio, "no ratio"), ("1 rad", Share, "no share"),
        ("#5", Ratio, "wanted a ratio"),
        ("#99", Length, "#99.*it has #2, #3"), ("#", Length, "no size"), ("nan mm", Length, "wanted a length"),
        ("inf mm", Length, "wanted a length"), ("1e400 mm", Length, "no finite number"), ("", Length, "found “”"),
        ("   ", Length, "found “”"), (True, Length, "found “True”"), (True, Ratio, "found “True”"),
        (False, Count, "found “False”"), (None, Length, "found “None”"), (["5 mm"], Length, "wanted a length"),
        ("- 2 in", Length, "wanted a length"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_in_words(written, kind, words):
    with pytest.raises(InputError, match=words):
        read(written, kind)


@pytest.mark.parametrize("written", ["10 °C", "50 °F"])
def test_a_temperature_is_never_taken_for_a_difference(written):
    with pytest.raises(InputError, match="no difference of temperature; wanted .*Δ°C"):
        read(written, TemperatureDifference)


@pytest.mark.parametrize("written", ["10 Δ°C", "18 Δ°F", "10 delta_degC"])
def test_a_difference_is_never_taken_for_a_temperature(written):
    with pytest.raises(InputError, match="no temperature; wanted a temperature, for instance “10 °C”"):
        read(written, Temperature)


def test_offset_temperatures_are_not_converted_silently():
    assert units.registry().autoconvert_offset_to_baseunit is False
    with pytest.raises(pint.OffsetUnitCalculusError):
        Q(20, "°C") * Q(2, "kg")


# --- printing


@pytest.mark.parametrize(
    ("quantity", "kind", "si", "us"),
    [
        (Q(63.5, "mm"), Length, "64 mm", "2 1/2 in"), (Q(0.625, "in"), Diameter, "15.9 mm", "0.625 in"),
        (Q(0.31, "in²"), BarArea, "200 mm²", "0.31 in²"), (Q(305, "lb/yd³"), Content, "181 kg/m³", "305 lb/yd³"),
        (Q(1.2, "lb/yd³"), ChlorideContent, "0.71 kg/m³", "1.20 lb/yd³"), (Q(4000, "psi"), Stress, "27.6 MPa", "4000 psi"),
        (Q(0.125), Share, "12.5 %", "12.5 %"), (Q(145, "pcf"), Density, "2323 kg/m³", "145 pcf"),
        (Q(15, "°C"), Temperature, "15 °C", "59 °F"), (Q(10, "Δ°C"), TemperatureDifference, "10 Δ°C", "18 Δ°F"),
        (Q([10.0, 12.7], "mm"), Length, "10, 13 mm", "0.39, 0.50 in"), (Q(-1e-9, "mm"), Length, "0 mm", None),
        (Q(7), Count, "7", "7"),
    ],
)  # fmt: skip
def test_printing_as_the_trade_writes(quantity, kind, si, us):
    if us is None:  # a negative zero is printed as a zero
        assert fixed(-1e-9, 2) == "0.00"
        return
    assert show(quantity, kind, "SI") == si
    assert show(quantity, kind, "US") == us


@pytest.mark.parametrize("kind", KINDS, ids=NAMES)
def test_no_printed_unit_is_the_word_dimensionless(kind):
    for system in SYSTEMS:
        text = show(Q(1.5, kind_of(kind).symbol(system)), kind, system)
        assert "dimensionless" not in text and "**" not in text and "^" not in text
        taped = system == "US" and kind_of(kind).tape
        assert text.endswith("in" if taped else kind_of(kind).symbol(system))
        assert float(read(text, kind).m_as(kind_of(kind).unit(system))) == pytest.approx(1.5, abs=0.5)


@given(st.sampled_from(NAMES), st.sampled_from(SYSTEMS), st.floats(-1e6, 1e6), st.integers(0, 9))
def test_what_is_printed_is_read_back_to_its_last_digit(name, system, value, decimals):
    kind = BY_NAME[name]
    unit = kind_of(kind).unit(system)
    text = show(units.registry().Quantity(value, unit), kind, system, decimals)
    back = read(text, kind)
    assert back.units == unit or kind_of(kind).dimensionless
    half = 0.5 * 10.0**-decimals + 1e-12 * max(abs(value), 1)  # a tie is half a digit off, with the noise of binary
    assert float(back.m_as(unit)) == pytest.approx(value, abs=half)


@given(st.sampled_from(NAMES), st.floats(1e-3, 1e6))
def test_a_value_printed_in_one_system_is_the_same_thing_in_the_other(name, value):
    kind = BY_NAME[name]
    quantity = units.registry().Quantity(value, kind_of(kind).unit("SI"))
    decimals = 12
    si, us = (read(show(quantity, kind, system, decimals), kind) for system in SYSTEMS)
    base = kind_of(kind).base
    last = sum(kind_of(kind).scale(kind_of(kind).unit(system))[0] for system in SYSTEMS) * 0.5 * 10.0**-decimals
    assert float(si.m_as(base)) == pytest.approx(float(us.m_as(base)), rel=1e-12, abs=1.01 * last)


@given(st.integers(0, 40), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_inches_and_fractions_add_up(whole, over, under):
    for text in (f"{whole} {over}/{under} in", f"{whole}-{over}/{under} in"):
        assert read(text, Length).m_as("in") == pytest.approx(whole + over / under, rel=1e-12, abs=1e-15)


@given(st.floats(-1e9, 1e9), st.integers(0, 6))
def test_fixed_decimals_are_within_half_the_last_digit(value, decimals):
    text = fixed(value, decimals)
    assert abs(float(text) - value) <= 0.5 * 10.0**-decimals * (1 + 1e-9) + 1e-9 * abs(value)
    assert not (text.startswith("-") and float(text) == 0)
    assert len(text.partition(".")[2]) == decimals


@given(st.integers(-(10**6), 10**6), st.integers(0, 4))
def test_exact_decimals_are_enough_and_not_more(number, decimals):
    value = number / 10**decimals
    found = units.exact_decimals(value)
    assert found <= decimals and float(fixed(value, found)) == pytest.approx(value, rel=1e-12, abs=1e-15)
    assert found == 0 or not math.isclose(float(fixed(value, found - 1)), value, rel_tol=1e-12, abs_tol=1e-15)


def test_a_third_has_no_exact_decimals():
    assert units.exact_decimals(1 / 3) is None


def test_small_values_keep_two_digits():
    assert show(Q(0.0123, "in"), Length, "US") == "0.012 in"
    assert show(Q(0.000456), Share, "SI") == "0.046 %"


# --- the registry


def test_every_kind_has_one_dimension_in_both_systems():
    for kind in map(kind_of, KINDS):
        assert kind.unit("SI").dimensionality == kind.unit("US").dimensionality


def test_quantities_of_the_engineers_own_registry_are_accepted():
    from deckcalc.mix import average_strength
    from deckcalc.patch import patch_volume

    foreign = pint.UnitRegistry()
    given = patch_volume(
        A=foreign.Quantity(6.0, "ft**2"),
        h=foreign.Quantity(3.5, "inch"),
        V_u=foreign.Quantity(0.1, "ft**3"),
        q_grow=0.0,
        q_over=foreign.Quantity(8, "percent"),
        q_waste=0.1,
    )
    own = patch_volume(A=Q(6.0, "ft²"), h=Q(3.5, "in"), V_u=Q(0.1, "ft³"), q_grow=0.0, q_over=Q(8, "%"), q_waste=0.1)
    assert given == own
    strength = average_strength(form="US", f_c=foreign.Quantity(4, "ksi"), s_s=foreign.Quantity(2.5, "MPa"), n=20)
    assert strength.f_cr == average_strength(form="US", f_c=Q(4000, "psi"), s_s=Q(2.5, "MPa"), n=20).f_cr
    with pytest.raises(InputError, match="patch_volume: h is 3 kg"):
        patch_volume(A=Q(6, "ft²"), h=foreign.Quantity(3, "kg"), V_u=Q(0, "ft³"), q_grow=0, q_over=0.1, q_waste=0.1)


def test_arrays_of_a_foreign_registry_are_accepted():
    from deckcalc.chloride import mid_depth

    foreign = pint.UnitRegistry()
    found = mid_depth(foreign.Quantity(np.array([0.0, 0.5]), "inch"), foreign.Quantity(np.array([0.5, 1.0]), "inch"))
    assert list(found.m_as("inch")) == pytest.approx([0.25, 0.75])


def test_importing_the_library_pulls_in_numpy_and_pint_alone():
    import subprocess
    import sys

    code = (
        "import sys, numpy, pint; before = {name.partition('.')[0] for name in sys.modules}; import deckcalc; "
        "print(*{name.partition('.')[0] for name in sys.modules} - before - set(sys.stdlib_module_names))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["deckcalc"]
