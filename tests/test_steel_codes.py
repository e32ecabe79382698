"""Check what the codes allow: punching, minimum strain, bundles, places of bars, steel for a moment, laps at the opening strength."""

import shutil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from samples import refusal

from deckcalc import InputError, Q, steel
from deckcalc.core import units
from deckcalc.core.check import NOT_SATISFIED, SATISFIED
from deckcalc.core.sources import folder
from deckcalc.job import Job
from deckcalc.job.file import read_job
from deckcalc.steel import sheet
from deckcalc.steel.design import compute
from deckcalc.steel.sheet import appendix

WHEEL = {"P": Q(16, "kip"), "k_P": Q(2), "w_1": Q(20, "in"), "w_2": Q(10, "in"), "f_c": Q(4, "ksi"), "phi": Q(0.75)}
EDGES = {"no hole near": 40, "hole at one side": 30, "hole at a corner": 20}
SECTION = {"b": Q(12, "in"), "d": Q(6, "in"), "f_c": Q(4, "ksi"), "f_y": Q(60, "ksi")}
US = folder("notebooks") / "demo_us"


def changed_job(*changes, deck=US):
    """Return a demo job with values replaced."""
    return Job(read_job(deck, dict(changes)))


@pytest.fixture(scope="module")
def job():
    return changed_job()


@pytest.fixture(scope="module")
def by_aci():
    return changed_job(("deck_strip.code", "ACI 318-11"))


# --- punching


@given(st.floats(0.5, 14), st.sampled_from(sorted(EDGES)), st.floats(4, 39), st.floats(4, 39))
@settings(max_examples=60, deadline=None)
def test_punching_is_the_least_of_the_three_terms(d, edge, w_1, w_2):
    found = steel.punching(**{**WHEEL, "w_1": Q(w_1, "in"), "w_2": Q(w_2, "in")}, d=Q(d, "in"), edge=edge, form="US")
    b_o, beta = found.b_o.m_as("in"), max(w_1, w_2) / min(w_1, w_2)
    terms = 4, 2 + 4 / beta, EDGES[edge] * d / b_o + 2
    strength = 0.75 * min(terms) * 4000**0.5 * b_o * d / 1000
    assert found.V_r.m_as("kip") == pytest.approx(strength, rel=1e-9)


@pytest.mark.parametrize("edge", EDGES)
def test_the_perimeter_governs_on_a_thin_slab_and_not_on_a_thick_one(edge):
    thin, thick = (steel.punching(**WHEEL, d=Q(d, "in"), edge=edge, form="US") for d in (2, 12))
    assert thin.k_v == thin.k_2 < 4 and thick.k_v.m_as("") == 4


@given(st.floats(0.5, 14), st.sampled_from(sorted(EDGES)))
@settings(max_examples=30, deadline=None)
def test_metric_punching_is_within_rounding_of_the_us_form(d, edge):
    us, si = (steel.punching(**WHEEL, d=Q(d, "in"), edge=edge, form=form).V_r.m_as("kip") for form in ("US", "SI"))
    assert si == pytest.approx(us, rel=0.025)


def test_the_code_of_the_strip_decides_how_punching_is_checked(job, by_aci):
    ratio = {
        code: next(one for one in found.steel.checks if one.item == "patch P1" and "punching" in one.title)
        for code, found in (("AASHTO", job), ("ACI", by_aci))
    }
    strip, f_c = job.steel.inputs.deck_strip, 3500.0
    d = 8 - job.patch["P1"].left.h_d.m_as("in") - 1 - 0.625 / 2  # slab, deepest removal, cover and half of a #5
    w_1, w_2 = (side.m_as("in") for side in (strip.wheel_width, strip.wheel_length))
    b_o, factored = 2 * (w_1 + w_2) + 4 * d, (strip.wheel * strip.wheel_factor).m_as("lbf")
    terms = 4, 2 + 4 * min(w_1, w_2) / max(w_1, w_2), 40 * d / b_o + 2
    by_hand = strip.shear_factor.m_as("") * min(terms) * f_c**0.5 * b_o * d / factored
    assert ratio["ACI"].demand.m_as("") == pytest.approx(by_hand, rel=1e-4)
    assert ratio["AASHTO"].demand < ratio["ACI"].demand
    assert {one.verdict for one in ratio.values()} == {NOT_SATISFIED}


@pytest.mark.parametrize(("code", "phi"), [("ACI 318-11", 0.75), ("AASHTO LRFD", 0.90)])
def test_the_factor_in_shear_is_that_of_the_code_where_the_engineer_gives_none(tmp_path, code, phi):
    place = tmp_path / "job"
    shutil.copytree(US, place)
    text = (place / "job.toml").read_text(encoding="utf-8").replace('shear_factor = "0.75"', "# none given")
    (place / "job.toml").write_text(text.replace('code = "AASHTO LRFD"', f'code = "{code}"'), encoding="utf-8")
    found = Job(read_job(place)).steel
    run = next(run for run in found.runs if run.calculation.name.startswith("punching"))
    assert run.arguments["phi"].m_as("") == phi
    assert not any("Resistance factor for shear" in note for note in found.notes)


# --- minimum strain, steel for a moment


@pytest.mark.parametrize(("A_s", "allowed"), [(2.05, True), (2.08, False)])  # McCormac and Brown, table A.7: 0.0206
def test_a_single_run_says_whether_aci_allows_the_section(A_s, allowed):
    given = {"A_s": Q(A_s, "in²"), "f_y": Q(60, "ksi"), "f_c": Q(4, "ksi"), "b": Q(10, "in"), "d": Q(10, "in")}
    by = {
        code: steel.flexure(**given, E_s=Q(29000, "ksi"), code=code, form="US")
        for code in ("ACI 318-11", "AASHTO LRFD")
    }
    assert (by["ACI 318-11"].epsilon_over.m_as("") >= 0) == allowed
    assert by["AASHTO LRFD"].epsilon_over == by["AASHTO LRFD"].epsilon_t


def test_two_layers_say_it_as_well():
    two = {"A_1": Q(1.2, "in²"), "f_y1": Q(60, "ksi"), "d_1": Q(10, "in"), "A_2": Q(1.2, "in²"), "f_y2": Q(60, "ksi"),
           "d_2": Q(9, "in"), "f_c": Q(4, "ksi"), "b": Q(10, "in"), "E_s": Q(29000, "ksi"), "code": "ACI 318-11"}  # fmt: skip
    found = steel.flexure_layers(c=steel.balanced_depth(**two, form="US"), **two, form="US")
    assert found.epsilon_over.m_as("") == pytest.approx(found.epsilon_t.m_as("") - 0.004)


@given(st.floats(0.05, 1.0), st.sampled_from(["US", "SI"]))
@settings(max_examples=40, deadline=None)
def test_the_steel_for_the_strength_of_a_section_is_its_own(A_s, form):
    strength = steel.flexure(
        A_s=Q(A_s, "in²"), **SECTION, E_s=Q(29000, "ksi"), code="AASHTO LRFD", form=form
    )  # fmt: skip
    found = steel.steel_for_moment(M_u=strength.M_r, **SECTION, form=form)
    assert found.A_s.m_as("in²") == pytest.approx(A_s, rel=1e-6)


@pytest.mark.parametrize(("moment", "words"), [(30, "resistance factor 0.90 does not hold"), (60, "no area of steel")])
def test_a_section_too_shallow_for_a_moment_is_refused(moment, words):
    with pytest.raises(InputError, match=words):
        steel.steel_for_moment(M_u=Q(moment, "kip*ft"), **SECTION, form="US")


def test_the_strip_says_how_much_steel_its_demand_wants(job):
    found = {one.patch.name: one for one in job.steel.wanted}
    states = {one.patch.name: one for one in job.steel.states if one.state == "as found"}
    assert found and all((one.missing.A_more.magnitude > 0) != states[name].sufficient for name, one in found.items())
    assert "patch P3" in appendix.wanted(job.steel)


@pytest.mark.parametrize(("f_y", "gamma"), [(60, 0.67), (60.01, 0.75)])
def test_the_least_strength_moves_with_the_grade(f_y, gamma):
    found = steel.least_moment_aashto(Q(10, "kip*ft"), Q(4, "ksi"), Q(f_y, "ksi"), Q(12, "in"), Q(8, "in"))
    assert found.gamma_3.m_as("") == gamma


# --- development


@pytest.mark.parametrize(("form", "c_tr"), [("US", 40), ("SI 9/10", 42), ("SI 1/1.1", 40)])
def test_the_index_of_bars_across_goes_with_its_form(form, c_tr):
    given = {"d_b": Q(1, "in"), "f_y": Q(60, "ksi"), "f_c": Q(4, "ksi"), "c_b": Q(1, "in"), "A_tr": Q(0.1, "in²"),
             "s_tr": Q(10, "in"), "n_b": Q(2), "h_below": Q(2, "in"), "coating": "uncoated", "c_c": Q(2, "in"),
             "c_s": Q(2, "in"), "lamb": Q(1)}  # fmt: skip
    assert steel.development_aci(**given, form=form).K_tr.m_as("in") == pytest.approx(c_tr * 0.1 / 20)
    with pytest.raises(InputError, match="n_b .* is 2.9, wanted a whole number: a count from 1 to 50"):
        steel.development_aci(**{**given, "n_b": Q(2.9)}, form=form)


@pytest.mark.parametrize(("n", "factor"), [(1, 1), (2, 1), (3, 1.2), (4, 1.33)])
def test_a_bundle_confines_its_bars_as_one_bar_of_its_area(n, factor):
    found = steel.bundled_bars(Q(1, "in"), Q(n), Q(3, "in"))
    assert found.k_n.m_as("") == factor
    assert found.d_e.m_as("in") ** 2 == pytest.approx(n) and found.c_e.m_as("in") == pytest.approx(3 / n**0.5)


@pytest.mark.parametrize("n", [0, 2.5, 5])
def test_a_bundle_of_no_whole_number_or_of_five_is_refused(n):
    with pytest.raises(InputError, match=r"n \(bars in the bundle\) .* wanted (a whole number: )?a count from 1 to 4"):
        steel.bundled_bars(Q(1, "in"), Q(n), Q(3, "in"))


PURPOSES = ["lap", "support of positive steel", "shrinkage and temperature steel", "earthquake region"]


@pytest.mark.parametrize("purpose", PURPOSES)
def test_no_length_is_reduced_where_the_code_forbids_it(purpose):
    given = {"l_calc": Q(30, "in"), "A_req": Q(1, "in²"), "A_prov": Q(2, "in²"), "l_min": Q(12, "in")}
    assert steel.development_excess(**given, purpose="anchorage").l_d.m_as("in") == pytest.approx(15)
    with pytest.raises(InputError, match=f"may not be reduced .*{purpose}"):
        steel.development_excess(**given, purpose=purpose)


def test_a_reduced_length_keeps_its_least_and_never_grows():
    given = {"l_calc": Q(20, "in"), "purpose": "anchorage", "l_min": Q(12, "in"), "A_prov": Q(1, "in²")}
    assert steel.development_excess(**given, A_req=Q(0.1, "in²")).l_d.m_as("in") == pytest.approx(12)
    assert steel.development_excess(**given, A_req=Q(3, "in²")).l_d.m_as("in") == pytest.approx(20)


@pytest.mark.parametrize(
    ("edition", "top", "strong"), [("7th", 1.4, 1.0), ("8th and 9th", 1.3, 1.3), ("10th", 1.3, 1.3)]
)
def test_the_place_of_a_bar_moves_across_its_limits(edition, top, strong):
    def k_t(height, f_c):
        given = {"coating": "uncoated", "c_c": Q(2, "in"), "c_s": Q(5, "in"), "d_b": Q(0.5, "in"), "edition": edition}
        return steel.placement_aashto(h_below=height, f_c=f_c, **given).k_t.m_as("")

    assert k_t(Q(12, "in"), Q(5, "ksi")) == k_t(Q(304.8, "mm"), Q(5, "ksi")) == 1
    assert k_t(Q(12.01, "in"), Q(5, "ksi")) == top
    assert k_t(Q(8, "in"), Q(10, "ksi")) == 1 and k_t(Q(8, "in"), Q(10.01, "ksi")) == strong


# --- laps of a job


@pytest.mark.parametrize(("thickness", "factor"), [("12 in", 1.0), ("13 in", 1.3)])
def test_laps_by_aashto_take_the_fresh_concrete_below_from_the_slab(thickness, factor):
    found = changed_job(("reinforcement.lap_code", "AASHTO LRFD 8th and 9th"), ("deck.slab_thickness", thickness)).steel
    runs = found.runs_of(steel.placement_aashto)
    assert runs and all(run.result.k_t.m_as("") == factor for run in runs)


def test_laps_are_made_for_the_strength_at_which_the_lane_opens(job):
    ours = job.steel
    bar = ours["B3"]
    assert bar.lap_strength.m_as("psi") == pytest.approx(3000)
    assert bar.lap > 1.25 * bar.lap_specified
    later = compute(ours.context, job.patch, job.concrete.specified, {"P1": Q(4000, "psi"), "P3": Q(9000, "psi")})
    assert bar.lap_specified < later["B3"].lap < bar.lap and later["B3"].lap_strength.m_as("psi") == pytest.approx(4000)
    assert later["B6"].row.patch == "P3" and later["B6"].lap == later["B6"].lap_specified
    said = str(sheet.actions(ours, job.written))
    row = next(line for line in said.splitlines() if line.startswith("| B3 "))
    assert units.show_at_least(bar.lap, units.Length, "US") in row and "for 3000 psi" in row


# --- one code, printed once


def test_a_second_code_is_said_to_be_the_engineers(job, by_aci):
    assert "Laps by another code" in sheet.codes(job.steel) and "AASHTO LRFD 8th and 9th" in sheet.codes(job.steel)
    assert "another" not in sheet.codes(by_aci.steel)


def test_without_a_choice_the_laps_follow_the_code_of_the_strip(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(US, place)
    text = (place / "job.toml").read_text(encoding="utf-8").replace("lap_code =", "# lap_code =")
    (place / "job.toml").write_text(text, encoding="utf-8")
    found = {
        code: changed_job(*pairs, deck=place).steel
        for code, pairs in {
            "AASHTO LRFD 10th": [("deck_strip.edition", "10th")],
            "ACI 318 general": [("deck_strip.code", "ACI 318-11")],
        }.items()
    }
    assert all(one.inputs.lap_code == code for code, one in found.items())
    assert not any("another" in sheet.codes(one) for one in found.values())
    assert found["AASHTO LRFD 10th"].runs_of(steel.development_aashto_10)


def test_checks_follow_the_code_of_the_strip(job, by_aci):
    lrfd, aci = job.steel, by_aci.steel
    assert lrfd.runs_of(steel.crack_spacing_aashto) and not lrfd.runs_of(steel.crack_spacing)
    assert aci.runs_of(steel.crack_spacing) and not aci.runs_of(steel.crack_spacing_aashto)
    least = {one.title: one.verdict for found in (lrfd, aci) for one in found.checks if "the minimum " in one.title}
    assert set(least.values()) == {SATISFIED} and len(least) == 4


def test_an_edition_beside_another_code_is_refused():
    words = refusal(US, {"deck_strip.code": "ACI 318-11", "deck_strip.edition": "10th"})
    assert "deck_strip.edition: of AASHTO LRFD, while deck_strip.code is ACI 318-11" in words


# --- rates of corrosion


def test_rates_of_bars_are_told_apart_from_a_current(job):
    rates, text = job.steel.rates, str(appendix.bars(job.steel))
    assert rates.least < rates.mean < rates.greatest
    assert rates.current.m_as("µA/cm²") == pytest.approx(rates.greatest.m_as("µm/yr") / 11.6)
    assert "neither rate stands for the other" in text
    measured = changed_job(("reinforcement.corrosion_current", "1.2 µA/cm^2")).steel
    assert measured.rates.current.m_as("µA/cm²") == pytest.approx(1.2)
    assert "that of the measured current" in appendix.bars(measured)


def test_a_slab_that_a_wheel_would_punch_is_kept_free_of_wheels_even_where_it_bends_enough():
    found = changed_job(("deck_strip.wheel_factor", "4"), ("deck_strip.positive_moment", "0.1 kN·m/m")).steel
    enough = {one.patch.name: one.sufficient for one in found.states if one.state == "open"}
    punched = {
        one.item.removeprefix("patch "): one.verdict == SATISFIED for one in found.checks if "punching" in one.title
    }
    free = [name for name, sufficient in enough.items() if sufficient and not punched[name]]
    assert free and all("no wheel on it" in found.decisions[f"strip at patch {name}"] for name in free)
