"""The batch on the day, the trial batch, temperatures, the solver and the sampling: what must hold, and bad input."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from deckcalc import InputError, Q, mix
from deckcalc.core.tables import TableError
from deckcalc.core.units import Dose, LiquidVolume, read, show
from deckcalc.mix.formulas import grading, solver, uncertainty
from deckcalc.show.hand import HandCalculation

KG = "kg/m³"
DENSITY = {"RD_c": 3.15, "RD_ca": 2.68, "RD_fa": 2.64, "rho_w": Q(62.4, "lb/ft³")}
BLEND = {"RD_c": 3.15, "RD_ash": 2.4, "RD_slag": 2.9, "RD_fume": 2.2}
TRIAL = {
    "m_net": Q(10.04, "lb"), "M_ca": Q(57.5, "lb"), "Y": Q(0.8302, "ft³"), "D": Q(149, "lb/ft³"),
    "slump_m": Q(2, "in"), "slump_w": Q(2.8, "in"), "air_m": Q(1, "%"), "air_w": Q(1.3, "%"), "w_cm": 0.62,
    "A_ca": Q(0.5, "%"), "A_fa": Q(0.7, "%"), **DENSITY, "form": "US",
}  # fmt: skip
WARM = {
    "T_a": Q(28, "degC"), "T_c": Q(45, "degC"), "T_w": Q(22, "degC"), "M_ca": Q(960, KG), "M_fa": Q(780, KG),
    "B_ca": Q(970, KG), "B_fa": Q(815, KG), "W_c": Q(420, KG), "W_w": Q(125, KG),
}  # fmt: skip
EXAMPLES = [
    (mix.average_strength_high, {"f_c": Q(40, "MPa"), "s_s": Q(3.1, "MPa"), "n": 22}),
    (mix.average_strength_no_record, {"f_c": Q(40, "MPa"), "form": "SI", "rule": "older"}),
    (mix.adjusted_water, {"W_t": Q(305, "lb/yd³"), "shape": "sub-angular", "q_red": Q(6, "%"), "form": "US"}),
    (mix.cementitious_content, {"W": Q(161, KG), "w_cm": 0.4, "C_least": Q(335, KG)}),
    (mix.mass_shares, {"v_ash": Q(20, "%"), "v_slag": Q(0, "%"), "v_fume": Q(5, "%"), **BLEND}),
    (mix.blend, {"C_m": Q(402, KG), "q_ash": Q(15, "%"), "q_slag": Q(0, "%"), "q_fume": Q(5, "%"), **BLEND}),
    (
        mix.admixture_water,
        {"W": Q(161, KG), "C_m": Q(402, KG), "dose": Q(390, "mL/hkg"), "rho_a": Q(1100, KG), "s_a": Q(38, "%")},
    ),
    (mix.total_moisture, {"A": Q(1.1, "%"), "f": Q(3.4, "%"), "basis": "saturated surface-dry"}),
    (mix.relative_densities, {"RD": 2.65, "A": Q(0.8, "%"), "basis": "saturated surface-dry"}),
    (mix.mixer_loads, {"V": Q(0.37, "m³"), "V_mixer": Q(0.15, "m³")}),
    (mix.whole_bag_load, {"V_mixer": Q(5.3, "ft³"), "C": Q(752, "lb/yd³"), "m_bag": Q(94, "lb")}),
    (
        mix.cementitious_for_load,
        {"V": Q(79, "L"), "C_m": Q(492, KG), "M_ash": Q(74, KG), "M_slag": Q(0, KG), "M_fume": Q(0, KG)},
    ),
    (
        mix.mixer_water,
        {"m_w": Q(31.2, "lb"), "m_cm": Q(94, "lb"), "w_cm": 0.384, "w_cm_max": 0.40, "q_held": Q(10, "%")},
    ),
    (mix.admixture_for_load, {"m_cm": Q(94, "lb"), "dose": Q(6, "floz/cwt")}),
    (mix.scale_limits, {"m": Q(94, "lb"), "q_tol": Q(1.5, "%")}),
    (
        mix.gauge_boxes,
        {"m": Q(71.3, "kg"), "w": Q(4.5, "%"), "rho_l": Q(1480, KG), "q_bulk": Q(22, "%"), "V_box": Q(20, "L")},
    ),
    (mix.fresh_density, {"m_full": Q(20.1, "kg"), "m_empty": Q(3.9, "kg"), "V_m": Q(7, "L")}),
    (mix.adjusted_mix, TRIAL),
    (mix.fresh_temperature, {"form": "SI", **WARM, "W_i": Q(20, KG)}),
    (mix.fresh_temperature, {"form": "US", **WARM, "W_i": Q(20, KG)}),
    (mix.wanted_temperature, {"form": "SI", **WARM, "T_want": Q(24, "degC")}),
    (mix.wanted_temperature, {"form": "US", **WARM, "T_want": Q(24, "degC")}),
    (
        mix.extended_mortar,
        {
            "V": Q(0.05, "m³"), "m_bag": Q(22.7, "kg"), "V_neat": Q(11.5, "L"), "q_ext": Q(50, "%"), "RD_ag": 2.65,
            "m_w": Q(2.4, "kg"), "rho_w": Q(1000, KG),
        },
    ),
    (mix.strength_at_age, {"f_28": Q(35, "MPa"), "t": Q(3, "day"), "cement": "III"}),
    (mix.type_iii_strength, {"f_i": Q(12, "MPa"), "t": Q(2, "day")}),
    (mix.fineness_modulus, {"P": Q([100, 98, 85, 65, 45, 21, 3], "%")}),
]  # fmt: skip


@pytest.mark.parametrize("system", ["SI", "US"])
@pytest.mark.parametrize(("calculation", "arguments"), EXAMPLES, ids=lambda x: getattr(x, "name", ""))
def test_every_sheet_prints_and_holds(calculation, arguments, system) -> None:
    sheet = HandCalculation(calculation, system, arguments)
    assert len(sheet.lines) == len(sheet.calculation.lines)
    assert "nan" not in sheet.markdown()
    for name in arguments:
        assert name == "form" or sheet.calculation.params[name].meaning, name


share = st.floats(0, 8)


@settings(deadline=None, max_examples=50)
@given(share, share, st.floats(0, 3), st.floats(0, 3), st.floats(0.005, 2))
def test_batching_then_unbatching_returns_the_mix(w_ca: float, w_fa: float, A_ca: float, A_fa: float, V: float) -> None:
    moist = {"A_ca": Q(A_ca, "%"), "A_fa": Q(A_fa, "%"), "w_ca": Q(w_ca, "%"), "w_fa": Q(w_fa, "%")}
    made = mix.batch_masses(W=Q(175, KG), M_ca=Q(990, KG), M_fa=Q(760, KG), **moist)
    load = mix.batch_for_volume(Q(V, "m³"), Q(430, KG), made.B_ca, made.B_fa, made.W_add)
    back = mix.unbatched(m_c=load.m_c, m_ca=load.m_ca, m_fa=load.m_fa, m_w=load.m_w, **moist)
    for found, content in ((back.M_ca, 990), (back.M_fa, 760), (back.m_net, 175)):
        assert found.m_as("kg") / V == pytest.approx(content, rel=1e-10)
    assert back.S_ca.m_as("kg") == pytest.approx(back.M_ca.m_as("kg") * (1 + A_ca / 100), rel=1e-12)


@settings(deadline=None, max_examples=50)
@given(st.floats(140, 190), st.floats(0.36, 0.55), st.floats(2, 8), st.floats(0, 2), st.floats(0, 2))
def test_the_yield_of_a_designed_mix_is_one_and_its_air_the_designed(
    W: float, w_cm: float, air: float, A_ca: float, A_fa: float
) -> None:
    rho, absorbed = Q(1000, KG), {"A_ca": Q(A_ca, "%"), "A_fa": Q(A_fa, "%")}
    stone = mix.relative_densities(2.68, absorbed["A_ca"], "saturated surface-dry")
    sand = mix.relative_densities(2.62, absorbed["A_fa"], "saturated surface-dry")
    made = mix.proportions(
        W=Q(W, KG), w_cm=w_cm, air=Q(air, "%"), b=0.5, rho_dr=Q(1560, KG), RD_c=3.15, RD_ca=stone.RD_od,
        RD_fa=sand.RD_od, rho_w=rho,
    )  # fmt: skip
    wet = {"w_ca": Q(1.5, "%"), "w_fa": Q(4.5, "%")}
    moist = mix.batch_masses(W=Q(W, KG), M_ca=made.M_ca, M_fa=made.M_fa, **absorbed, **wet)
    load = mix.batch_for_volume(Q(0.1, "m³"), made.C, moist.B_ca, moist.B_fa, moist.W_add)
    used = mix.unbatched(m_c=load.m_c, m_ca=load.m_ca, m_fa=load.m_fa, m_w=load.m_w, **absorbed, **wet)
    solid = mix.absolute_volumes(load.m_c, used.S_ca, used.S_fa, used.m_net, 3.15, stone.RD_s, sand.RD_s, rho)
    D = used.m_total / Q(0.1, "m³")
    found = mix.measured_yield(used.m_total, D, Q(100, "L"), load.m_c)
    assert found.R_y.m_as("") == pytest.approx(1, rel=1e-12)
    assert mix.air_by_mass(used.m_total, D, solid.V_solid).A.m_as("%") == pytest.approx(air, abs=1e-9)
    given = mix.contents_yield(
        load.m_c,
        used.S_ca,
        used.S_fa,
        used.m_net,
        solid.V_solid,
        Q(air, "%"),
        Q(0.1, "m³"),
        Q(0, "kg"),
        Q(0, "%"),
        Q(0, "L"),
    )
    assert given.R_y.m_as("") == pytest.approx(1, rel=1e-12) and given.D.m_as(KG) == pytest.approx(
        D.m_as(KG), rel=1e-12
    )
    assert given.w_cm.m_as("") == pytest.approx(w_cm, rel=1e-12)
    assert used.w_cm_used.m_as("") == pytest.approx(w_cm, rel=1e-12)
    again = mix.adjusted_mix(
        m_net=used.m_net, M_ca=used.M_ca, Y=found.Y, D=D, slump_m=Q(50, "mm"), slump_w=Q(50, "mm"),
        air_m=Q(air, "%"), air_w=Q(air, "%"), w_cm=w_cm, **absorbed, RD_c=3.15, RD_ca=stone.RD_s, RD_fa=sand.RD_s,
        rho_w=rho, form="SI",
    )  # fmt: skip
    assert again.C_n.m_as(KG) == pytest.approx(made.C.m_as(KG), rel=1e-10)
    assert again.M_fa_n.m_as(KG) == pytest.approx(made.M_fa.m_as(KG), rel=1e-9)
    assert again.M_fa_v.m_as(KG) == pytest.approx(made.M_fa.m_as(KG), rel=1e-9)


def test_strict_and_handbook_bookkeeping_differ_as_the_note_says() -> None:
    common = {
        "W": Q(160, KG), "w_cm": 0.40, "air": Q(6, "%"), "b": 0.62, "rho_dr": Q(1600, KG), "RD_c": 3.15,
        "rho_w": Q(1000, KG),
    }  # fmt: skip
    stone = mix.relative_densities(2.68, Q(1, "%"), "saturated surface-dry")
    handbook = mix.proportions(**common, RD_ca=2.68, RD_fa=2.60).M_fa
    strict = mix.proportions(**common, RD_ca=stone.RD_od, RD_fa=2.60).M_fa
    assert 1.01 < (handbook / strict).m_as("") < 1.02


@settings(deadline=None, max_examples=50)
@given(st.floats(0, 25), st.floats(0, 50), st.floats(0, 10))
def test_shares_by_volume_and_by_mass_give_the_same_blend(ash: float, slag: float, fume: float) -> None:
    by_volume = mix.mass_shares(Q(ash, "%"), Q(slag, "%"), Q(fume, "%"), **BLEND)
    made = mix.blend(Q(400, KG), by_volume.q_ash, by_volume.q_slag, by_volume.q_fume, **BLEND)
    assert made.RD_cm.m_as("") == pytest.approx(by_volume.RD_cm.m_as(""), rel=1e-12)
    total = sum(m.m_as(KG) for m in (made.M_ash, made.M_slag, made.M_fume, made.M_c))
    assert total == pytest.approx(400, rel=1e-12)
    volume = made.M_ash.m_as(KG) / 2.4 / (400 / made.RD_cm.m_as(""))
    assert volume == pytest.approx(ash / 100, abs=1e-12)


@settings(deadline=None, max_examples=50)
@given(st.floats(0, 60), st.floats(5, 40), st.floats(20, 60))
def test_both_forms_of_the_temperature_are_one_physics(ice: float, aggregate: float, cement: float) -> None:
    given_ = {**WARM, "T_a": Q(aggregate, "degC"), "T_c": Q(cement, "degC"), "W_i": Q(ice, KG)}
    si, us = (mix.fresh_temperature(**given_, form=form) for form in ("SI", "US"))
    assert si.T.m_as("degC") == pytest.approx(us.T.m_as("degC"), abs=1e-9)


@settings(deadline=None, max_examples=50)
@given(st.floats(12, 28))
def test_the_ice_or_water_found_gives_the_wanted_temperature(wanted: float) -> None:
    need = mix.wanted_temperature(T_want=Q(wanted, "degC"), **WARM, form="SI")
    if 0 <= need.W_ice.m_as(KG) <= 125:
        with_ice = mix.fresh_temperature(**WARM, W_i=need.W_ice, form="SI")
        assert with_ice.T.m_as("degC") == pytest.approx(wanted, abs=1e-9)
    if 0 <= need.T_need.m_as("degC") <= 85:
        with_water = mix.fresh_temperature(**{**WARM, "T_w": need.T_need}, W_i=Q(0, KG), form="SI")
        assert with_water.T.m_as("degC") == pytest.approx(wanted, abs=1e-9)


def test_a_heat_balance_in_joules_agrees_with_the_equation() -> None:
    """Independent balance: 0.22 · 4.184 kJ/kg·K for solids, 80 · 4.184 kJ/kg to melt."""
    solids, wet = 960 + 780 + 420, 970 + 815 - 960 - 780
    gained = 0.22 * 4.184 * ((960 + 780) * 28 + 420 * 45) + 4.184 * (105 * 22 + wet * 28) - 20 * 80 * 4.184
    heat = 0.22 * 4.184 * solids + 4.184 * (125 + wet)
    found = mix.fresh_temperature(**WARM, W_i=Q(20, KG), form="SI")
    assert found.T.m_as("degC") == pytest.approx(gained / heat, rel=1e-12)


@settings(deadline=None, max_examples=50)
@given(st.floats(0.005, 3), st.floats(0.03, 0.5))
def test_loads_are_the_fewest_that_fit(V: float, mixer: float) -> None:
    found = mix.mixer_loads(Q(V, "m³"), Q(mixer, "m³"))
    n = found.n.m_as("")
    assert found.V_load.m_as("m³") <= mixer * (1 + 1e-9)
    assert n * found.V_load.m_as("m³") == pytest.approx(V, rel=1e-12)
    assert (n - 1) * mixer < V


def test_water_that_is_added_to_the_most_reaches_the_greatest_ratio() -> None:
    w_cm, most, cement = 0.37, 0.40, 42.6
    found = mix.mixer_water(Q(12, "kg"), Q(cement, "kg"), w_cm, most, Q(15, "%"))
    assert (found.m_first + found.m_held).m_as("kg") == pytest.approx(12)
    assert w_cm + (found.m_most.m_as("kg") - 12) / cement == pytest.approx(most)


def test_doses_are_written_as_the_trade_writes_them() -> None:
    assert read("65 mL/100 kg", Dose).to("mL/kg").magnitude == pytest.approx(0.65)
    assert read("1 fl oz/cwt", Dose).to("mL/hkg").magnitude == pytest.approx(65.198, abs=1e-3)
    assert show(read("1 fl oz/cwt", Dose), Dose, "SI") == "65 mL/100 kg"
    assert show(read("4 fl oz", LiquidVolume), LiquidVolume, "SI") == "118 mL"


# Solver ------------------------------------------------------------------------------------------------------------
PRICE = {"cement": 0.19, "fly ash": 0.12, "slag cement": 0.23, "coarse": 0.032, "fine": 0.03}
CARBON = {"cement": 0.92, "fly ash": 0.03, "slag cement": 0.08, "coarse": 0.006, "fine": 0.005}
DEMAND = solver.Demand(
    172.0, 0.075, 0.40, 335.0, (650.0, 722.0), {"fly ash": 0.25, "slag cement": 0.5}, 0.5, 0.35,
    {"cement": 3150, "fly ash": 2400, "slag cement": 2900, "silica fume": 2200, "coarse": 2629, "fine": 2572}, 1000.0,
)  # fmt: skip


def volume(found: solver.Solved, demand: solver.Demand) -> float:
    """Return the absolute volume of a solution with water and air."""
    solids = sum(mass / demand.densities[name] for name, mass in found.masses.items())
    return solids + demand.water / demand.water_density + demand.air


@settings(deadline=None, max_examples=30)
@given(st.floats(0.33, 0.55), st.floats(0, 1))
def test_solved_mixes_are_admissible_and_none_drawn_is_better(w_cm: float, weight: float) -> None:
    from dataclasses import replace

    demand = replace(DEMAND, w_cm=w_cm)
    found = solver.solve(demand, PRICE, CARBON, weight)
    binder = sum(found.masses[name] for name in solver.CEMENTITIOUS)
    assert volume(found, demand) == pytest.approx(1, abs=1e-9)
    assert found.w_cm <= w_cm * (1 + 1e-9)
    assert binder >= 335 * (1 - 1e-9)
    assert found.masses["fly ash"] <= 0.25 * binder * (1 + 1e-9)
    assert 650 - 1e-6 <= found.masses["coarse"] <= 722 + 1e-6
    if weight == 0:
        draw = np.random.default_rng(2)
        for _ in range(50):
            ash, slag = draw.uniform(0, 0.25), draw.uniform(0, 0.25)
            stone, more = draw.uniform(650, 722), draw.uniform(1, 1.2)
            cement = binder * more * (1 - ash - slag)
            masses = {"cement": cement, "fly ash": binder * more * ash, "slag cement": binder * more * slag}
            room = 1 - 0.075 - 0.172 - sum(m / DEMAND.densities[k] for k, m in masses.items()) - stone / 2629
            price = sum(PRICE[k] * m for k, m in masses.items()) + 0.032 * stone + 0.03 * room * 2572
            assert price >= found.price - 1e-6


def test_the_alternatives_run_from_the_cheapest_to_the_least_carbon() -> None:
    cheap, lean = (solver.solve(DEMAND, PRICE, CARBON, weight) for weight in (0, 1))
    assert cheap.price < lean.price
    assert cheap.carbon > lean.carbon
    rows = solver.best_by_ratio(DEMAND, PRICE, CARBON, [0.32, 0.36, 0.40, 0.44], 0)
    assert [row.w_cm for row in rows] == pytest.approx([0.32, 0.36, 0.40])
    assert rows[0].price > rows[1].price > rows[2].price


def test_demands_that_no_cement_content_can_meet_are_refused() -> None:
    from dataclasses import replace

    with pytest.raises(InputError, match=r"no proportions satisfy.*0\.20 asks for 1000 kg/m³.*nothing is left"):
        solver.solve(replace(DEMAND, water=200, w_cm=0.20, coarse=(1100, 1200)), PRICE, CARBON, 0)


# Sampling ----------------------------------------------------------------------------------------------------------
LOAD = uncertainty.Load(40, 95, 62, 11.5, 0.015, 0.045, 0.008, 0.011, 3150, 2650, 2600, 1000, 0.06)


def test_the_spread_agrees_with_the_law_of_errors() -> None:
    """To first order the standard deviation of the ratio is the root of the summed squares of the single effects."""
    errors = uncertainty.Errors(0.01, 0.02, 0.015, 0.004, 0.008, 0.01)
    drawn = uncertainty.sample(LOAD, errors, 200_000)
    base = float(uncertainty.outcome(LOAD).w_cm)
    single = [
        float(uncertainty.outcome(LOAD, **{key: half / 2}).w_cm) - base
        for key, half in (
            ("e_c", 0.01),
            ("e_ca", 0.02),
            ("e_fa", 0.02),
            ("e_w", 0.015),
            ("d_ca", 0.004),
            ("d_fa", 0.008),
        )
    ]
    assert drawn.w_cm.std() == pytest.approx(np.sqrt(np.sum(np.square(single))), rel=0.02)
    low, middle, high = uncertainty.band(drawn.w_cm)
    assert middle == pytest.approx(base, rel=1e-3)
    assert high - low == pytest.approx(2 * 1.645 * drawn.w_cm.std(), rel=0.02)


def test_one_load_follows_the_declared_calculations() -> None:
    moist = {"w_ca": Q(1.5, "%"), "w_fa": Q(4.5, "%"), "A_ca": Q(0.8, "%"), "A_fa": Q(1.1, "%")}
    used = mix.unbatched(m_c=Q(40, "kg"), m_ca=Q(95, "kg"), m_fa=Q(62, "kg"), m_w=Q(11.5, "kg"), **moist)
    solid = mix.absolute_volumes(Q(40, "kg"), used.S_ca, used.S_fa, used.m_net, 3.15, 2.65, 2.60, Q(1000, KG))
    found = uncertainty.outcome(LOAD)
    assert float(found.w_cm) == pytest.approx(used.w_cm_used.m_as(""), rel=1e-12)
    assert float(found.volume) == pytest.approx(solid.V_solid.m_as("m³") / 0.94, rel=1e-12)


# Grading -----------------------------------------------------------------------------------------------------------
def test_the_combined_grading_lies_between_its_parts() -> None:
    stone = grading.read_grading("12.5 mm 100; 9.5 mm 92; 4.75 mm 21; 2.36 mm 4; 1.18 mm 1")
    sand = grading.read_grading("9.5 mm 100; 4.75 mm 98; 2.36 mm 86; 1.18 mm 68; 0.60 mm 47; 0.30 mm 20; 0.15 mm 4")
    both = grading.combined([stone, sand], [0.5, 0.5])
    assert both == sorted(both, reverse=True)
    for sieve, share_ in zip(grading.SIEVES, both, strict=True):
        ends = sorted((grading.passing(stone, sieve), grading.passing(sand, sieve)))
        assert ends[0] - 1e-12 <= share_ <= ends[1] + 1e-12
    with pytest.raises(TableError, match=r"no size “9”; it has fine, 57"):
        grading.limits("9")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("9.5 mm", "wanted a sieve and the per cent passing"),
        ("5/8 in 100", "wanted a sieve and the per cent passing"),
        ("9 mm 100", "found a sieve of “9 mm”, wanted one of 75"),
        ("9.5 mm 120", "found 120 % passing 9.5 mm"),
        ("4.75 mm 20; 9.5 mm 90", "largest down"),
        ("9.5 mm 50; 4.75 mm 60", "cannot rise"),
    ],
)
def test_a_faulty_grading_is_named(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        grading.read_grading(text)


@pytest.mark.parametrize(
    ("calculation", "bad", "says"),
    [
        (mix.blend, {"q_ash": Q(60, "%"), "q_slag": Q(50, "%")}, "leave no cement"),
        (mix.blend, {"q_ash": 15}, "q_ash.*fly ash.*from 0 % to 75 %"),
        (mix.adjusted_water, {"shape": "round"}, "shape is “round”.*rounded gravel"),
        (mix.cementitious_content, {"w_cm": 4}, "w_cm.*from 0.20 to 1.00"),
        (mix.total_moisture, {"A": 1.1}, "A .*absorption.*from 0 % to 15 %"),
        (mix.relative_densities, {"RD": 26.5}, "RD .*relative density.*from 2.0 to 3.5"),
        (mix.whole_bag_load, {"V_mixer": Q(40, "L")}, "takes less than one bag.*larger mixer"),
        (mix.mixer_loads, {"V": Q(0, "m³")}, "V .*more than 0 m³"),
        (mix.gauge_boxes, {"q_bulk": 22}, "q_bulk.*bulking.*to 45 %"),
        (mix.fresh_temperature, {"T_a": Q(28, "delta_degC")}, "T_a.*temperature"),
        (mix.wanted_temperature, {"T_want": Q(75, "degC")}, "T_want.*3 °C to 40 °C"),
        (mix.extended_mortar, {"q_ext": 50}, "q_ext.*from 0 % to 150 %"),
        (mix.strength_at_age, {"t": Q(3, "hour")}, "t .*age.*from 1 d"),
        (mix.type_iii_strength, {"t": Q(120, "day")}, "t .*age.*to 90 d"),
        (mix.fineness_modulus, {"P": Q([100, 90, 80], "%")}, "P wants at least 6"),
        (mix.adjusted_mix, {"D": Q(149, "kg/m³")}, "D .*measured density.*1700"),
        (mix.average_strength_high, {"f_c": Q(30, "MPa")}, "f_c.*from 34 MPa"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_by_name(calculation, bad, says) -> None:
    good = next(arguments for known, arguments in EXAMPLES if known is calculation)
    calculation(**good)
    with pytest.raises(InputError, match=says):
        calculation(**{**good, **bad})


def test_the_older_table_of_strength_has_no_us_form() -> None:
    with pytest.raises(InputError, match=r"older table of strength is recorded in SI only"):
        mix.water_cement_ratio(Q(4000, "psi"), "air-entrained", 0.5, "older", form="US")
    with pytest.raises(InputError, match=r"41 lies outside the table.*15 to 40"):
        mix.water_cement_ratio(Q(41, "MPa"), "not air-entrained", 0.5, "ACI 211.1-91", form="SI")


def test_the_table_of_first_estimates_follows_its_equation_to_its_rounding() -> None:
    """For 330 kg/m³ of cement, aggregate of 2.7 and medium slump (table, memory)."""
    for size, air in ((9.5, 3), (12.5, 2.5), (19, 2), (25, 1.5), (37.5, 1), (50, 0.5)):
        water = mix.mixing_water(Q(size, "mm"), Q(90, "mm"), "not air-entrained", form="SI").W
        found = mix.mass_method(
            Q(size, "mm"), "not air-entrained", 2.7, 2.7, Q(air, "%"), Q(330, KG), 3.15, water, Q(1000, KG),
            Q(1000, KG), form="SI",
        )  # fmt: skip
        assert found.U_e.m_as(KG) == pytest.approx(found.U_t.m_as(KG), abs=5)


def test_a_hundred_thousand_mixes_in_one_call() -> None:
    draw = np.random.default_rng(1)
    ratios = draw.uniform(0.35, 0.55, 100_000)
    made = mix.proportions(
        W=Q(draw.uniform(150, 180, 100_000), KG), w_cm=ratios, air=Q(6, "%"), b=0.6, rho_dr=Q(1560, KG), RD_c=3.15,
        RD_ca=2.65, RD_fa=2.6, rho_w=Q(1000, KG),
    )  # fmt: skip
    total = sum(v.m_as("") for v in (made.V_w, made.V_c, made.V_a, made.V_ca, made.V_fa))
    assert np.abs(total - 1).max() < 1e-12
    assert made.C.magnitude.shape == (100_000,)
