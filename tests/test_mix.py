"""Mix design: what must hold for every mix, and what bad input gets."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from deckcalc import InputError, Q, mix
from deckcalc.core import tables
from deckcalc.core.tables import TableError
from deckcalc.core.units import Length, Quantity, read, registry
from deckcalc.mix.formulas import table_units as plain
from deckcalc.show.hand import HandCalculation

SIZES = ["9.5 mm", "12.5 mm", "19 mm", "25 mm", "37.5 mm", "3/8 in", "1/2 in", "3/4 in", "1 in", "1 1/2 in"]
MIX = {
    "W": Q(175, "kg/m³"), "w_cm": 0.40, "air": Q(6, "%"), "b": 0.62, "rho_dr": Q(1600, "kg/m³"), "RD_c": 3.15,
    "RD_ca": 2.68, "RD_fa": 2.64, "rho_w": Q(1000, "kg/m³"),
}  # fmt: skip
BATCH = {
    "W": Q(175, "kg/m³"), "M_ca": Q(992, "kg/m³"), "M_fa": Q(760, "kg/m³"), "A_ca": Q(0.5, "%"), "A_fa": Q(0.7, "%"),
    "w_ca": Q(1, "%"), "w_fa": Q(5, "%"),
}  # fmt: skip
EXAMPLES = [
    (mix.size_limits, {"h": Q(2.5, "in"), "s": Q(38, "mm"), "D_patch": Q(20, "mm")}),
    (mix.average_strength_no_record, {"f_c": Q(35, "MPa"), "form": "SI"}),
    (mix.average_strength_no_record, {"f_c": Q(6000, "psi"), "form": "US"}),
    (mix.average_strength, {"form": "SI", "f_c": Q(30, "MPa"), "s_s": Q(3.3, "MPa"), "n": 17}),
    (mix.average_strength, {"form": "US", "f_c": Q(4500, "psi"), "s_s": Q(433, "psi"), "n": 22}),
    (mix.mixing_water, {"D_max": Q(9.5, "mm"), "slump": Q(60, "mm"), "exposure": "severe", "form": "SI"}),
    (mix.mixing_water, {"D_max": Q(0.75, "in"), "slump": Q(3, "in"), "exposure": "not air-entrained", "form": "US"}),
    (
        mix.water_cement_ratio,
        {"f_cr": Q(38.7, "MPa"), "air_entrained": "air-entrained", "w_cm_exposure": 0.40, "form": "SI"},
    ),
    (
        mix.water_cement_ratio,
        {"f_cr": Q(5430, "psi"), "air_entrained": "air-entrained", "w_cm_exposure": 0.40, "form": "US"},
    ),
    (mix.coarse_volume, {"D_max": Q(0.5, "in"), "FM": 2.73}),
    (mix.proportions, MIX),
    (mix.batch_masses, BATCH),
    (
        mix.batch_masses_ssd,
        {k: BATCH[k] for k in ("W", "M_ca", "M_fa")} | {"f_ca": Q(-0.2, "%"), "f_fa": Q(4, "%")},
    ),
    (
        mix.batch_for_volume,
        {
            "V": Q(0.386, "m³"), "C": Q(437, "kg/m³"), "B_ca": Q(1002, "kg/m³"), "B_fa": Q(798, "kg/m³"),
            "W_add": Q(137, "kg/m³"),
        },
    ),
]  # fmt: skip


def kg(content: Quantity) -> float:
    """Return a content in kg/m³."""
    return float(content.m_as("kg/m³"))


@st.composite
def mixes(draw: st.DrawFn) -> dict:
    """Draw a mix that leaves room for fine aggregate."""

    def real(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    return {
        "W": Q(real(120, 220), "kg/m³"), "w_cm": real(0.35, 0.70), "air": Q(real(1, 8), "%"), "b": real(0.45, 0.60),
        "rho_dr": Q(real(1400, 1600), "kg/m³"), "RD_c": real(3.0, 3.2), "RD_ca": real(2.5, 2.8),
        "RD_fa": real(2.5, 2.8), "rho_w": Q(real(997, 1000), "kg/m³"),
    }  # fmt: skip


@settings(deadline=None)
@given(mixes())
def test_volumes_fill_the_unit_of_concrete(given_mix: dict) -> None:
    found = mix.proportions(**given_mix)
    total = sum(v.m_as("") for v in (found.V_w, found.V_c, found.V_a, found.V_ca, found.V_fa))
    assert total == pytest.approx(1, abs=1e-12)
    assert found.V_fa.m_as("") > 0
    mass = found.V_fa * given_mix["RD_fa"] * given_mix["rho_w"]
    assert found.M_fa.m_as("kg/m³") == pytest.approx(mass.m_as("kg/m³"), rel=1e-12)


@settings(deadline=None)
@given(mixes())
def test_both_unit_systems_give_the_same_mix(given_mix: dict) -> None:
    us = dict(given_mix)
    us["W"] = given_mix["W"].to("lb/yd**3")
    us["rho_dr"], us["rho_w"] = given_mix["rho_dr"].to("lb/ft**3"), given_mix["rho_w"].to("lb/ft**3")
    us["V_u"] = Q(27, "ft³/yd³")
    for name, si, other in zip(mix.proportions.kinds, mix.proportions(**given_mix), mix.proportions(**us), strict=True):
        unit = mix.proportions.kinds[name].unit("SI")
        # what is left is a difference: its rounding is that of the whole volume
        assert other.m_as(unit) == pytest.approx(si.m_as(unit), rel=1e-12, abs=1e-12 * (1 if name[0] == "V" else 1000))


@settings(deadline=None)
@given(mixes(), st.floats(1.001, 1.2))
def test_more_water_at_the_same_ratio_means_more_cement_and_less_sand(given_mix: dict, more: float) -> None:
    wet = mix.proportions(**{**given_mix, "W": given_mix["W"] * more})
    dry = mix.proportions(**given_mix)
    assert wet.C > dry.C
    assert wet.C.m_as("kg/m³") == pytest.approx(dry.C.m_as("kg/m³") * more, rel=1e-12)
    assert wet.V_fa < dry.V_fa


@settings(deadline=None)
@given(st.sampled_from(SIZES), st.floats(2.4, 3.0), st.floats(2.4, 3.0))
def test_finer_sand_means_more_coarse_aggregate(size: str, one: float, other: float) -> None:
    fine, coarse = sorted((one, other))
    b_fine, b_coarse = (mix.coarse_volume(read(size, Length), FM).b.m_as("") for FM in (fine, coarse))
    assert b_fine >= b_coarse
    assert b_fine - b_coarse == pytest.approx(0.1 * (coarse - fine), abs=1e-9)


share = st.floats(0, 8)


@settings(deadline=None)
@given(share, share, st.floats(0, 3), st.floats(0, 3))
def test_moisture_correction_keeps_solids_and_total_water(w_ca: float, w_fa: float, A_ca: float, A_fa: float) -> None:
    values = {**BATCH, "w_ca": Q(w_ca, "%"), "w_fa": Q(w_fa, "%"), "A_ca": Q(A_ca, "%"), "A_fa": Q(A_fa, "%")}
    got = mix.batch_masses(**values)
    solids = kg(BATCH["M_ca"]) + kg(BATCH["M_fa"])
    absorbed = kg(BATCH["M_ca"]) * A_ca / 100 + kg(BATCH["M_fa"]) * A_fa / 100
    delivered = kg(got.B_ca) + kg(got.B_fa) + kg(got.W_add)
    assert delivered == pytest.approx(solids + absorbed + kg(BATCH["W"]), rel=1e-12)


@settings(deadline=None)
@given(share, share)
def test_both_moisture_conventions_agree_where_nothing_is_absorbed(w_ca: float, w_fa: float) -> None:
    zero = Q(0, "%")
    dry = mix.batch_masses(**{**BATCH, "A_ca": zero, "A_fa": zero, "w_ca": Q(w_ca, "%"), "w_fa": Q(w_fa, "%")})
    ssd = mix.batch_masses_ssd(BATCH["W"], BATCH["M_ca"], BATCH["M_fa"], Q(w_ca, "%"), Q(w_fa, "%"))
    for one, other in zip(dry, ssd, strict=True):
        assert one.m_as("kg/m³") == pytest.approx(other.m_as("kg/m³"), rel=1e-12, abs=1e-9)


@settings(deadline=None)
@given(st.floats(15, 45), st.floats(15, 45), st.sampled_from(["air-entrained", "not air-entrained"]))
def test_more_strength_never_allows_more_water(one: float, other: float, concrete: str) -> None:
    weak, strong = sorted((one, other))
    high, low = (mix.water_cement_ratio(Q(f_cr, "MPa"), concrete, 0.50, form="SI") for f_cr in (weak, strong))
    assert low.w_cm_strength <= high.w_cm_strength
    assert low.w_cm <= high.w_cm
    assert high.w_cm.m_as("") <= 0.50


@settings(deadline=None)
@given(st.floats(10, 35), st.floats(0.5, 10), st.integers(15, 60))
def test_average_strength_is_the_larger_and_falls_with_more_tests(f_c: float, s_s: float, n: int) -> None:
    found = mix.average_strength(Q(f_c, "MPa"), Q(s_s, "MPa"), n, form="SI")
    more = mix.average_strength(Q(f_c, "MPa"), Q(s_s, "MPa"), n + 1, form="SI")
    assert found.f_cr == max(found.f_cr1, found.f_cr2)
    assert more.f_cr <= found.f_cr
    assert 1 <= found.k.m_as("") <= 1.16


@settings(deadline=None)
@given(st.floats(0.01, 50), st.floats(150, 700))
def test_bags_are_the_fewest_that_hold_the_cement(V: float, C: float) -> None:
    cement = Q(V, "m³") * Q(C, "kg/m³")
    got = mix.bags_opened(cement, Q(42.6, "kg"), Q(3, ""))
    bags = got.n_bags.m_as("")
    assert bags == int(bags) and got.n_all.m_as("") == 3 * bags
    assert (bags - 1) * 42.6 < cement.m_as("kg") * (1 + 1e-9)
    assert bags * 42.6 >= cement.m_as("kg") * (1 - 1e-9) - 1e-6


@pytest.mark.parametrize("system", ["SI", "US"])
@pytest.mark.parametrize(("calculation", "arguments"), EXAMPLES, ids=lambda x: getattr(x, "name", ""))
def test_every_sheet_prints_and_holds(calculation, arguments, system) -> None:
    sheet = HandCalculation(calculation, system, arguments)
    text = sheet._repr_markdown_()
    assert len(sheet.lines) == len(sheet.calculation.lines)
    for name in arguments:
        assert name == "form" or sheet.calculation.params[name].meaning, name
    assert "dimensionless" not in text
    assert "nan" not in text


@settings(max_examples=25, deadline=None)
@given(mixes())
def test_drawn_mixes_print_true_in_both_systems(given_mix: dict) -> None:
    for system in ("SI", "US"):
        assert len(HandCalculation(mix.proportions, system, given_mix).lines) == 10


@pytest.mark.parametrize("A", [0.005, 0.01, 0.02])
def test_saturated_densities_make_the_sand_larger_as_the_note_says(A: float) -> None:
    strict = mix.proportions(**MIX).M_fa.m_as("kg/m³")
    usual = mix.proportions(**{**MIX, "RD_ca": MIX["RD_ca"] * (1 + A)}).M_fa.m_as("kg/m³")
    assert 1 < (usual / strict - 1) / A < 2


def test_arrays_go_through_look_ups_element_by_element() -> None:
    FM = np.array([2.4, 2.7, 3.0])
    assert mix.coarse_volume(Q(19, "mm"), FM).b.magnitude == pytest.approx([0.66, 0.63, 0.60])
    found = mix.water_cement_ratio(Q(np.array([30.0, 37.5]), "MPa"), "air-entrained", 0.40, form="SI")
    assert found.w_cm.magnitude == pytest.approx([0.40, 0.365])
    water = mix.mixing_water(Q(np.array([9.5, 25.0]), "mm"), Q(90, "mm"), "severe", form="SI")
    assert water.W.m_as("kg/m³") == pytest.approx([202, 175])
    assert water.air.m_as("%") == pytest.approx([7.5, 6.0])


@pytest.mark.parametrize(
    ("size", "nominal"),
    [("10 mm", "0.375 in"), ("9.5 mm", "9.5 mm"), ("12 mm", "12.5 mm"), ("19 mm", "19 mm"), ("0.75 in", "0.75 in"),
     ("1 1/2 in", "1.5 in"), ("38 mm", "1.5 in")],
)  # fmt: skip
def test_nominal_size_that_was_taken(size: str, nominal: str) -> None:
    taken = mix.mixing_water(read(size, Length), Q(3, "in"), "severe", form="US").D_n
    assert taken.m_as("mm") == pytest.approx(read(nominal, Length).m_as("mm"), rel=1e-12)
    assert mix.coarse_volume(read(size, Length), 2.8).D_n == taken


@pytest.mark.parametrize(
    ("slump", "system", "end"),
    [("25 mm", "SI", "50 mm"), ("2 in", "SI", "50 mm"), ("50 mm", "US", "2 in"), ("60 mm", "SI", "100 mm"),
     ("2 1/2 in", "US", "4 in"), ("4 in", "SI", "100 mm"), ("120 mm", "SI", "175 mm"), ("5 in", "US", "7 in"),
     ("175 mm", "US", "7 in"), ("7 in", "SI", "175 mm"), ("1 in", "SI", "50 mm"), ("25 mm", "US", "2 in")],
)  # fmt: skip
def test_slump_range_that_was_taken(slump: str, system: str, end: str) -> None:
    found = mix.mixing_water(Q(19, "mm"), read(slump, Length), "severe", form=system)
    assert found.slump_to.m_as("mm") == pytest.approx(read(end, Length).m_as("mm"), rel=1e-12)


def test_margins_at_the_edges_of_their_rows() -> None:
    def margin(f_c: float, unit: str, tables: str) -> float:
        return mix.average_strength_no_record(Q(f_c, unit), form=tables).margin.m_as(unit)

    assert [margin(f, "MPa", "SI") for f in (20.9, 21, 35, 35.1)] == pytest.approx([7.0, 8.3, 8.3, 8.51])
    assert [margin(f, "psi", "US") for f in (2999, 3000, 5000, 5001)] == pytest.approx([1000, 1200, 1200, 1200.1])


def test_the_table_of_air_entrained_ratios_ends_where_it_says() -> None:
    ratio = mix.water_cement_ratio(Q(6000, "psi"), "air-entrained", 0.40, form="US")
    assert ratio.w_cm_strength.m_as("") == pytest.approx(0.32)
    with pytest.raises(InputError, match=r"air-entrained concrete.*6200 lies outside the table.*2000 to 6000"):
        mix.water_cement_ratio(Q(6200, "psi"), "air-entrained", 0.40, form="US")
    assert mix.water_cement_ratio(Q(6200, "psi"), "not air-entrained", 0.40, form="US").w_cm.m_as("") == pytest.approx(
        0.394
    )
    with pytest.raises(InputError, match=r"50 lies outside the table.*15 to 45"):
        mix.water_cement_ratio(Q(50, "MPa"), "not air-entrained", 0.40, form="SI")


@pytest.mark.parametrize(
    ("calculation", "good", "bad", "says"),
    [
        (mix.batch_masses, BATCH, {"A_ca": 0.5}, "A_ca.*absorption.*from 0 % to 15 %"),
        (mix.batch_masses, BATCH, {"w_fa": Q(-1, "%")}, "w_fa.*from 0 % to 20 %"),
        (mix.batch_masses, BATCH, {"w_fa": 5}, "w_fa.*from 0 % to 20 %"),
        (mix.batch_masses, BATCH, {"w_fa": Q(20, "%"), "w_ca": Q(10, "%")}, "more free water than the mix may have"),
        (mix.batch_masses, BATCH, {"M_ca": 992}, "M_ca.*without a unit"),
        (mix.batch_masses, BATCH, {"M_ca": Q(992, "kg")}, "M_ca.*content of concrete"),
        (mix.proportions, MIX, {"RD_ca": 26.5}, "RD_ca.*relative density.*from 2.0 to 3.5"),
        (mix.proportions, MIX, {"V_u": 27}, "V_u.*unit volume"),
        (mix.proportions, MIX, {"air": 6}, "air.*from 0 % to 15 %"),
        (mix.proportions, MIX, {"W": Q(float("nan"), "kg/m³")}, "W "),
        (mix.proportions, MIX, {"w_cm": 0}, "w_cm.*from 0.20 to 1.00"),
        (mix.proportions, MIX, {"rho_w": Q(62.4, "kg/m³")}, "rho_w.*990"),
        (mix.proportions, MIX, {"W": Q(300, "kg/m³"), "w_cm": 0.25}, "no room for fine aggregate"),
        (mix.coarse_volume, {"D_max": Q(19, "mm"), "FM": 2.7}, {"FM": 3.2}, "fineness modulus 3.2.*2.4 to 3"),
        (mix.coarse_volume, {"D_max": Q(19, "mm"), "FM": 2.7}, {"FM": 2.3}, "fineness modulus 2.3.*2.4 to 3"),
        (
            mix.coarse_volume,
            {"D_max": Q(19, "mm"), "FM": 2.7},
            {"D_max": Q(20, "mm")},
            "20 mm.*is not in the tables.*19",
        ),
        (mix.size_limits, EXAMPLES[0][1], {"h": Q(-65, "mm")}, "h .*minimum depth"),
    ],
)
def test_bad_input_is_refused_by_name(calculation, good, bad, says) -> None:
    calculation(**good)
    with pytest.raises(InputError, match=says):
        calculation(**{**good, **bad})


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        ({"D_max": Q(16, "mm")}, "nominal maximum size of 16 mm.*not in the tables"),
        ({"slump": Q(15, "mm")}, "slump of 15 mm lies outside the table.*25 to 175 mm"),
        ({"slump": Q(200, "mm")}, "slump of 200 mm lies outside"),
        ({"D_max": Q(150, "mm"), "slump": Q(160, "mm")}, "no mixing water at a slump of 150 to 175 mm for 150 mm"),
        ({"exposure": "harsh"}, "exposure is “harsh”.*mild, moderate, severe"),
        ({"form": "metric"}, "form is “metric”.*SI, US"),
    ],
)
def test_water_outside_the_table_is_refused(bad: dict, says: str) -> None:
    good = {"D_max": Q(19, "mm"), "slump": Q(90, "mm"), "exposure": "severe", "form": "SI"}
    with pytest.raises(InputError, match=says):
        mix.mixing_water(**{**good, **bad})


@pytest.mark.parametrize(
    ("n", "says"),
    [
        (1, r"a record of .* tests.*from 15 up"), (14, r"a record of .* tests.*from 15 up"),
        (17.5, "n .* is 17.5, wanted a whole number: a count from 1 to"),
    ],
)  # fmt: skip
def test_a_record_of_too_few_tests_or_of_half_a_test_is_refused(n: float, says: str) -> None:
    with pytest.raises(InputError, match=says):
        mix.average_strength(Q(4000, "psi"), Q(500, "psi"), n, form="US")


def test_records_serve_up_to_their_strength_only() -> None:
    mix.average_strength(Q(5000, "psi"), Q(500, "psi"), 30, form="US")
    with pytest.raises(InputError, match=r"f_c.*to 5000 psi"):
        mix.average_strength(Q(5001, "psi"), Q(500, "psi"), 30, form="US")
    with pytest.raises(InputError, match=r"f_c.*to 35 MPa"):
        mix.average_strength(Q(36, "MPa"), Q(3.5, "MPa"), 30, form="SI")


def test_exposure_limits() -> None:
    for system, unit, strength in (("SI", "MPa", 35), ("US", "psi", 5000)):
        for name, provenance in (("chlorides", "published"), ("C2", "published" if system == "US" else "memory")):
            limit = mix.exposure_limit(name, system)
            assert (limit.w_cm.m_as(""), limit.f_c.m_as(unit)) == pytest.approx((0.40, strength))
            assert limit.source.provenance == provenance
    assert mix.exposure_limit("F0", "US").w_cm is None
    assert mix.exposure_limit("F3", "US").source.provenance == "memory"
    with pytest.raises(TableError, match=r"no class “C9”; it has F0"):
        mix.exposure_limit("C9", "SI")
    with pytest.raises(InputError, match=r"tables is “metric”"):
        mix.exposure_limit("C2", "metric")


def test_factors_are_those_of_the_registry() -> None:
    q = registry().Quantity
    assert q(1, "psi").m_as("Pa") == pytest.approx(plain.PSI, rel=1e-13)
    assert q(1, "lb/yd**3").m_as("kg/m**3") == pytest.approx(plain.LB_YD3, rel=1e-13)


def test_si_and_us_tables_agree_to_their_rounding() -> None:
    si, us = tables.load("mixing_water_si").rows, tables.load("mixing_water_us").rows
    for a, b in zip(si, us, strict=True):
        assert a["concrete"] == b["concrete"]
        columns = zip([c for c in a if "kg/m³" in c], [c for c in b if "lb/yd³" in c], strict=True)
        for one, other in columns:
            assert bool(a[one]) == bool(b[other])
            if a[one]:
                assert float(a[one]) == pytest.approx(float(b[other]) * plain.LB_YD3, abs=4.2), (one, a[one], b[other])
