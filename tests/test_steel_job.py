"""Check the reinforcement of a job: rules, verdicts, laps that need patch, strength state by state, bad input."""

import re
import shutil
from collections import Counter

import pytest
from samples import DEMO, demo, refusal

from deckcalc import Q
from deckcalc.core import tables
from deckcalc.core.check import NOT_SATISFIED, SATISFIED
from deckcalc.core.sources import folder
from deckcalc.job import Job, JobError, compute
from deckcalc.job.file import read_job
from deckcalc.steel import flexure, sheet
from deckcalc.steel.design import Growth
from deckcalc.steel.sheet import appendix, drawings

#: The US demo job, and the same converted to SI.
DEMOS = {"demo_si": "SI", "demo_us": "US"}
#: A fifth girder, so that G4 is an inner one and the patches beside it are judged over it.
FIFTH = ('"10.5 ft"]', '"10.5 ft", "13.5 ft"]')


@pytest.fixture(scope="module")
def jobs():
    return {name: demo(system) for name, system in DEMOS.items()}


def changed(tmp_path, name="demo_us", **files):
    """Copy a demo job with text replaced in its files: ``bars=("old", "new")``."""
    place = tmp_path / name
    shutil.copytree(DEMO[DEMOS[name]], place)
    for key, pairs in files.items():
        path = place / ("job.toml" if key == "job" else f"{key}.csv")
        text = path.read_text(encoding="utf-8")
        for old, new in pairs:
            assert old in text, old
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
    return place


def refused(place):
    with pytest.raises(JobError) as caught:
        compute(place).steel  # noqa: B018  either the folder is refused, or the reinforcement cannot be computed
    return str(caught.value)


# --- the demo jobs


@pytest.mark.parametrize("name", DEMOS)
def test_of_many_bars_two_fail_and_two_patches_grow(jobs, name):
    job = jobs[name]
    assert len(job.file.rows["bars"]) >= 24
    assert sorted(job.steel.flagged) == ["B3", "B6"]
    (grown,) = job.rounds.grown  # one round settles it: a lap does not change with its patch
    assert "P3" in grown and set(grown) <= {"P1", "P3"} and not job.steel.growth and not job.rounds.refused


@pytest.mark.parametrize("name", DEMOS)
def test_the_caution_stands_once(jobs, name):
    assert "licensed engineer's decision" in jobs[name].steel.notes[0]
    text = (folder("notebooks") / "02_reinforcement.ipynb").read_text(encoding="utf-8")
    assert text.count("sections.cautions(job.steel)") == 1


@pytest.fixture(scope="module")
def fifth(tmp_path_factory):
    return compute(changed(tmp_path_factory.mktemp("fifth"), job=[FIFTH]))


def test_strength_is_less_as_found_and_back_when_repaired(fifth):
    states = {(one.where, one.state): one.strength.m_as("kN") for one in fifth.steel.states if "girder" in one.moment}
    built, found, repaired = (
        states[key] for key in (("deck strip", "as built"), ("patch P1", "as found"), ("patch P1", "repaired"))
    )
    assert found < repaired and found < built and repaired == pytest.approx(built, rel=0.03)


@pytest.mark.parametrize("name", DEMOS)
def test_nothing_is_rated_over_an_outer_girder(jobs, name):
    over = {one.where for one in jobs[name].steel.states if "girder" in one.moment}
    assert over == {"deck strip", "patch P3"}
    assert "outer girder" in jobs[name].steel.decisions["strip at patch P1"]


def test_si_and_us_jobs_give_the_same_answer(jobs):
    si, us = (jobs[name].steel for name in DEMOS)
    assert list(si.each) == list(us.each)
    for bar, other in zip(si, us, strict=True):
        assert bar.loss.m_as("") == pytest.approx(other.loss.m_as(""), abs=1e-5)
    for one, other in zip(si.states, us.states, strict=True):
        assert one.rated.RF.m_as("") == pytest.approx(other.rated.RF.m_as(""), rel=1e-4)
    # 20.7 MPa for 3000 psi, and 1/1.1 for the US coefficient: the metric lap is up to 0.7 % longer
    for bar, length in si.bar_lengths.items():
        assert length.m_as("in") == pytest.approx(us.bar_lengths[bar].m_as("in"), rel=0.007)
    verdicts = [Counter((c.item, c.title, c.verdict) for c in one.checks) for one in (si, us)]
    assert verdicts[0] == verdicts[1]


@pytest.mark.parametrize("name", DEMOS)
def test_the_sheet_says_rule_number_and_action(jobs, name):
    job = jobs[name]
    text = sheet.rules(job.steel)
    assert "25.0 %" in text and "replace or supplement the bar" in text and "UFGS 03931" in text
    first = str(sheet.bars(job.steel, job.written)).splitlines()[2]
    assert first.startswith("| B6 |") and "**supplement**" in first
    done = str(sheet.actions(job.steel, job.written))
    assert "B6 (P3)" in done and ("36 1/2 in" in done or "3 ft 0 1/2 in" in done or "930 mm" in done)
    table = str(appendix.strength(job.steel))
    assert all(word in table for word in ("as built", "as found", "repaired", "open", "**short**"))


@pytest.mark.parametrize("name", DEMOS)
def test_every_drawing_and_table_is_made(jobs, name):
    job = jobs[name]
    (bars,) = drawings.bar_maps(job.steel)
    pictures = [bars, drawings.sketch(job.steel), drawings.along(job.steel)]
    assert all(len(one.png) > 10_000 for one in pictures)
    texts = [str(one) for one in sheet.further(job.steel)]
    assert [part.splitlines()[0] for part in texts if part.startswith("###")] == [
        "### Measured bars", "### Strength of the strip", "### Steel required over the girder"]  # fmt: skip
    assert all(f"| {bar.name} | {bar.row.patch} |" in texts[0] for bar in job.steel)


@pytest.mark.parametrize("name", DEMOS)
def test_the_governing_case_is_the_worst_of_all(jobs, name):
    job = jobs[name]
    bar, strip = sheet.governing_bar(job.steel), sheet.governing_strip(job.steel)
    assert bar.item == "bar B6" and all(
        bar.utilisation >= sheet.check_of(job.steel, one).utilisation for one in job.steel
    )
    others = [one for one in job.steel.checks if one.title.startswith(("capacity to demand", "punching"))]
    assert strip.verdict == NOT_SATISFIED and len(others) > 10
    assert all(strip.utilisation >= one.utilisation for one in others if one.utilisation is not None)
    runs = sheet.leading(job.steel)
    assert runs == [run for run in job.steel.runs if run in runs] and 5 <= len(runs) <= 10
    assert len({run.calculation for run in runs}) == len(runs)  # one of a kind, of two readings alike
    said = str(sheet.by_hand(job.steel, job.written))
    assert all(f"#### {job.written.numbers[run]} " in said or job.written.numbers[run] in said for run in runs)
    assert "does not balance" not in said and "Development length" in said


@pytest.mark.parametrize("name", DEMOS)
def test_each_check_stands_once_on_the_sheet(jobs, name):
    job = jobs[name]
    table = str(sheet.results(job.steel, job.written))
    assert all(f"| {patch} |" in table for patch in job.patch.each)
    rest = str(sheet.checks(job.steel))
    held = [*sheet.in_table(job.steel), *(sheet.check_of(job.steel, bar) for bar in job.steel)]
    assert len(held) > 40 and not [one for one in held if f"| {one.item} | {one.title}" in rest]


# --- rules and choices


@pytest.mark.parametrize("rules", ["replace", "consult", "ten per cent", "any loss", "diameter"])
def test_the_rule_set_brings_number_and_action(tmp_path, rules):
    job = compute(changed(tmp_path, job=[('rules = "replace"', f'rules = "{rules}"')]))
    row = next(one for one in tables.load("loss_rules").rows if one["rules"] == rules and one["scope"] == "single")
    limit, action = job.steel.rules["single"]
    wanted = 27.75 if row["of"] == "diameter" else float(row["number"].split()[0])
    assert limit.value.m_as("percent") == pytest.approx(wanted) and action == row["action"]
    failing = [bar.name for bar in job.steel if bar.loss.m_as("percent") > wanted]
    assert set(failing) <= set(job.steel.flagged)


def test_the_number_of_the_engineer_replaces_that_of_the_rules(tmp_path):
    place = changed(
        tmp_path,
        job=[("[limits.margin]", '[limits.bar_loss_single]\nvalue = "40 %"\nsource = "agency"\n\n[limits.margin]')],
    )
    job = compute(place)
    assert job.steel.rules["single"][0].value.m_as("percent") == 40 and "B6" not in job.steel.flagged


CODES = ["ACI 318 simplified", "AASHTO LRFD 7th", "AASHTO LRFD 8th and 9th", "AASHTO LRFD 10th", "EN 1992-1-1"]


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("name", DEMOS)
def test_every_lap_code_carries_a_job_through(tmp_path, code, name):
    job = compute(changed(tmp_path, name, job=[('lap_code = "ACI 318 general"', f'lap_code = "{code}"')]))
    lap = job.steel["B3"].lap
    assert 12 <= lap.m_as("in") <= 60
    assert job.written.by_run


def test_options_of_the_strip_carry_a_job_through(tmp_path):
    job = compute(
        changed(
            tmp_path,
            job=[
                (
                    "reduced_yield = false",
                    'reduced_yield = true\nlive_load = "older specifications"',
                ),
                ('concrete_strength = "3500 psi"  # strength', "# strength"),
                ('corrosion_age = "18 yr"', 'corrosion_current = "1.2 µA/cm^2"'),
            ],
        )
    )
    names = {run.calculation.name for run in job.steel.runs}
    assert {"deck_moment_old", "corroded_yield", "corrosion_rate"} <= names
    words = " ".join(job.steel.notes)
    assert "counted twice" in words and "from memory, to be verified" in words and "unknown from 1954" in words
    assert job.written.by_run


@pytest.mark.parametrize(("year", "f_y"), [(1940, 33), (2002, 40)])
def test_unknown_steel_is_taken_by_its_year(tmp_path, year, f_y):
    old = {1940: {"confirmed": "chloride.profile.age"}, 2002: {}}[year]  # exposed for a part of its life only
    job = compute(changed(tmp_path, job=[("year_built = 2002", f"year_built = {year}")]), old)
    run = next(run for run in job.steel.runs if run.calculation in flexure)
    assert run.arguments["f_y"].m_as("ksi") == pytest.approx(f_y)


def test_a_job_without_the_new_sections_and_columns_still_carries(tmp_path):
    place = changed(tmp_path)
    text = (place / "job.toml").read_text(encoding="utf-8")
    start, end = text.index("[reinforcement]"), text.index("[chloride.profile]")
    text = text[:start] + text[end:]
    for name in ("wheel", "tyre_width", "tyre_length", "concrete_strength"):  # else of [deck_strip]
        assert f"\n# {name} = " in text
        text = text.replace(f"\n# {name} = ", f"\n{name} = ")
    (place / "job.toml").write_text(text, encoding="utf-8")
    for name in ("pits", "cut_lengths"):
        (place / f"{name}.csv").unlink()
    (place / "bars.csv").write_text(
        "bar,patch,size,readings [in]\nB1,P1,#5,0.6; 0.6\nB2,P1,#5,0.5; 0.55\n", encoding="utf-8"
    )
    job = compute(place)
    assert list(job.steel.flagged) == ["B2"] and not job.steel.states
    assert drawings.bar_maps(job.steel) == [""] and drawings.sketch(job.steel) == ""
    assert "B2" in sheet.bars(job.steel, job.written)
    assert "beside it; laps not worked out" in sheet.actions(job.steel, job.written)
    for make in (sheet.lead, sheet.inputs, sheet.checks):
        assert isinstance(make(job.steel), str)
    for make in (sheet.results, sheet.by_hand):
        assert isinstance(make(job.steel, job.written), str)


def test_square_bars_are_judged_by_their_side(tmp_path):
    place = changed(tmp_path, bars=[("B15,P2,#5,", "B15,P2,square 5/8 in,")])
    job = compute(place)
    assert job.steel["B15"].loss.m_as("") == pytest.approx(1 - 0.62**2 / 0.3906, rel=1e-9)


def test_the_order_of_readings_does_not_matter(tmp_path, jobs):
    job = compute(changed(tmp_path, bars=[("0.55; 0.525; 0.575", "0.575; 0.55; 0.525")]))
    assert job.steel["B3"].loss == jobs["demo_us"].steel["B3"].loss


# --- bad input

BAD = [
    ({"bars": [("0.55; 0.525; 0.575", "0.55; 0.70; 0.575")]}, ["bars.csv, bar B3", "rolling tolerance of 8 %"]),
    ({"bars": [("B3,P1,#5,", "B3,P1,#12,")]}, ["bars.csv, row 4", "#12"]),
    ({"bars": [("0.55; 0.525; 0.575", "0.55; 0.525")]}, ["bar B3", "2 readings", "at least 3"]),
    ({"bars": [("B3,P1,#5,top main", "B3,P1,#5,upper")]}, ["row 4", "layer", "top main"]),
    ({"pits": [("B6,0.05", "B6,0.6")]}, ["pits.csv, bar B6", "deeper than the bar"]),
    ({"pits": [("B6,", "B99,")]}, ["pits.csv, bar B99", "no bar"]),
    ({"job": [('top_cover = "2 in"', 'top_cover = "9 in"')]}, ["deck_strip.top_cover", "not less than the slab thickness"]),
    ({"job": [('["-10.5 ft", "-3.5 ft", "3.5 ft", "10.5 ft"]', '["-3.5 ft", "3.5 ft"]')]}, ["deck_strip: wants three girders or more"]),
    ({"job": [('section_offset = "6 in"', 'section_offset = "30 in"')]}, ["deck_strip.section_offset", "from 0 in to 24 in"]),
    ({"job": [('rules = "replace"', 'rules = "mine"')]}, ["reinforcement.rules", "ten per cent"]),
    ({"job": [('flange_width = "12 in"', "")]}, ["plan.flange_width: missing"]),
    ({"job": [('added_bar = "#4"', 'added_bar = "#14"')]}, ["bar B3", "may not be lapped"]),
    ({"job": [('units = "US"', 'confirmed = ["deck_strip.bottom_spacing"]\nunits = "US"'), ('bottom_spacing = "6 in"', 'bottom_spacing = "2 in"'), ('bottom_bar = "#5"', 'bottom_bar = "#11"'), ('bottom_bar_outer = "#5"', 'bottom_bar_outer = "#11"')]}, ["over-reinforced"]),
]  # fmt: skip


@pytest.mark.parametrize(("files", "words"), BAD, ids=[" ".join(words)[:40] for _, words in BAD])
def test_bad_input_is_named_in_plain_words(tmp_path, files, words):
    message = refusal(changed(tmp_path, **files))
    assert all(word in message for word in words), message


def test_a_lap_longer_than_the_patch_makes_it_longer(jobs):
    job = jobs["demo_us"]
    bar, grown = job.steel["B3"], job.rounds.grown[0]["P1"].across
    before = next(one for one in job.file.marked.patches if one.patch == "P1").piece.sides[1]
    missing = bar.added.L_need.m_as("in") - before / 0.0254
    assert missing <= grown.m_as("in") < missing + 0.51  # rounded up to half an inch, never down
    assert bar.patch_length >= bar.added.L_need and bar.added.L_grow.m_as("m") == 0


def test_a_patch_grows_both_ways_where_bars_of_both_directions_need_it():
    mm = lambda x: Q(x, "mm")  # noqa: E731
    grown = (
        Growth().with_lap(True, mm(200.0)).with_lap(False, mm(90.2)).with_lap(True, mm(240.5)).with_lap(False, mm(40.0))
    )
    assert (grown.across, grown.along) == (mm(240.5), mm(90.2))
    assert grown.words("SI") == "along traffic by 91 mm and across traffic by 241 mm"  # never less than is needed
    assert Growth().with_lap(False, mm(90.0)).words("SI") == "along traffic by 90 mm"


def test_checks_hold_strength_and_clear_space(jobs):
    titles = {one.title: one.verdict for one in jobs["demo_us"].steel.checks if one.item in ("bar B3", "deck strip")}
    assert titles["clear space beside the added bar"] == SATISFIED
    assert titles["capacity to demand over the girder, as built"] == SATISFIED


@pytest.mark.parametrize("name", DEMOS)
def test_each_patch_has_a_verdict_in_words(jobs, name):
    said = {key: what for key, what in jobs[name].steel.decisions.items() if key.startswith("strip at")}
    assert len(said) == len(jobs[name].patch.each)
    for patch, one in jobs[name].steel.reach.items():
        what = said[f"strip at patch {patch}"]
        assert what.startswith("not covered: ") is bool(one.beyond)
        assert one.beyond or "no wheel on it or beside it while it is open" in what
    done = str(sheet.actions(jobs[name].steel, jobs[name].written))
    assert all(re.search(rf"\b{patch}\b[^\n]*:\*\*", done) for patch in jobs[name].patch.each)


def test_a_strip_that_is_short_gets_its_bars_or_says_stop(tmp_path, fifth):
    assert "sufficient" in fifth.steel.decisions["strip at patch P1"]
    for factor, word in (("1.9", "add the bars"), ("2.4", "stop")):
        place = changed(tmp_path / word, job=[FIFTH, ('gamma_live = "1.75"', f'gamma_live = "{factor}"')])
        steel = compute(place).steel
        assert steel.decisions["strip at patch P1"].startswith(word)
        found = next(one for one in steel.checks if (one.item, one.title) == ("patch P1", AS_FOUND))
        assert bool(found.settled) is (word == "add the bars")


AS_FOUND = "capacity to demand over the girder, as found"

# --- bars against their patches and their neighbours

US = folder("notebooks") / "demo_us"
EDGE = 38.3159  # m, the end of patch P1 ahead; readings within 152.4 mm of it still belong to it


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bars.B5.patch": "P4"}, "bars.csv, bar B5: station 140 ft 3 in, offset 6 ft 0 in lies in patch P3, not in P4"),
        ({"bars.B5.station": "120 ft", "bars.B5.offset": "0 ft"}, "bar B5: station 120 ft 0 in, offset 0 ft lies in no patch, not in P3"),
        ({"bars.B14.station": f"{EDGE + 0.1525} m"}, "bar B14: .* lies in no patch, not in P1"),
        ({"bars.B14.offset": "-7.5 ft"}, "bar B14: station 125 ft 3 in, offset -7 ft 6 in lies in no patch"),
        ({"bars.B2.station": "122.75 ft"}, "bars B1 and B2: two bars of one layer at one place"),
        ({"bars.B2.station": "122.775 ft"}, "bars B1 and B2: two bars of one layer at one place"),
        ({"bars.B2.station": "122.79 ft"}, "bar B2: it lies less than a bar diameter from B1"),
        ({"bars.B2.station": "122.75 ft", "bars.B2.offset": "7 ft"}, "bar B2: it lies less than a bar diameter from B1"),
        ({"bars.B2.station": "124.5 ft"}, "bar B3: it does not lie beyond B2"),
        ({"bars.B11.offset": "9.6 ft"}, "bar B12: it does not lie beyond B11"),
        ({"bars.B2.bar": "B1"}, "row 3: bar “B1” is already in row 2"),
        ({"bars.B2.station": ""}, "bar B2: station and offset go together"),
        ({"bars.B3.readings": "0.55; 0.0525; 0.575"}, "bar B3: its minimum reading is 9 % of its maximum"),
        ({"bars.B4.size": "#9"}, "bar B4: the readings are 52 % of the diameter of size #9"),
    ],
)  # fmt: skip
def test_a_bar_that_cannot_be_where_it_is_said_to_be_is_named(change, words):
    assert re.search(words, refusal(US, change))


@pytest.mark.parametrize(
    "change",
    [
        {"bars.B14.station": f"{EDGE + 0.1523} m"},
        {"bars.B2.station": "122.81 ft"},
        {"bars.B2.station": "122.79 ft", "confirmed": "bars.B2.place"},
        {"bars.B4.size": "#7", "bars.B13.readings": "0.5; 0.26; 0.5"},
    ],
)
def test_a_bar_just_within_is_taken(change):
    assert read_job(US, change)


def test_bars_without_places_are_said_not_to_be_held(tmp_path, jobs):
    assert not any("Not checked against" in note for note in jobs["demo_us"].steel.notes)
    place = changed(tmp_path, bars=[("B5,P3,#5,top main,140.25,6,", "B5,P3,#5,top main,,,")])
    steel = Job(read_job(place)).steel
    assert any(
        note.startswith("Not checked against the repair limits") and note.endswith(": B5.") for note in steel.notes
    )
