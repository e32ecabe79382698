"""Check the safety of the crew: lifting, vibration, dust; the sheet for the tool-box talk; bad input by name."""

import re
import shutil
import tomllib
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from samples import SYSTEMS, demo, planned, twins

from deckcalc import InputError, Q, safety
from deckcalc.base.fields import JobError
from deckcalc.base.telephone import telephone, told
from deckcalc.core import tables, units
from deckcalc.core.sources import folder, short
from deckcalc.job import Job, compute
from deckcalc.job.file import read_job
from deckcalc.safety import design, sheet
from deckcalc.safety.inputs import Inputs, Safety
from deckcalc.safety.sheet import exposure
from deckcalc.show.sections import plain


def lift(H=30, V=75, D=30, A=0, F=0.5, t=1, grip="poor"):
    """Return the metric limit in kilograms."""
    cm = lambda x: Q(x, "cm")  # noqa: E731
    return float(safety.lifting_limit(cm(H), cm(V), cm(D), A, Q(F, "1/min"), Q(t, "h"), grip, form="SI").RWL.m_as("kg"))


@pytest.fixture
def copy(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(folder("notebooks") / "demo_us", place)
    return place


# --- lifting


@settings(max_examples=40)
@given(st.floats(25, 60), st.floats(0, 175), st.floats(25, 170), st.floats(0, 130), st.sampled_from([0.2, 1, 4, 8]))
def test_a_harder_lift_never_allows_more(H, V, D, A, F):
    base = lift(H, V, D, A, F)
    assert base <= 23
    assert lift(H + 3, V, D, A, F) < base
    assert lift(H, V, D + 5, A, F) < base
    assert lift(H, V, D, A + 5, F) < base
    assert lift(H, V, D, A, F + 0.9) < base
    assert lift(H, V, D, A, F, t=2) < base
    assert lift(H, V, D, A, F, grip="good") > base


@settings(max_examples=40)
@given(st.floats(10, 24), st.floats(0, 70), st.floats(10, 70), st.floats(0, 135))
def test_the_two_forms_stay_within_four_per_cent_of_one_another(H, V, D, A):
    # rounded apart by the source: 23 kg and 51 lb 0.6 %, 25 cm and 10 in 1.6 % of reach and 0.3 % of travel, 0.003/cm from 75 cm and
    # 0.0075/in from 30 in 1.2 %: 3.7 % together at the most
    given_ = (Q(H, "in"), Q(V, "in"), Q(min(D, 68.8), "in"), A, Q(1, "1/min"), Q(1, "h"), "good")
    us = safety.lifting_limit(*given_[:1], Q(min(V, 68.8), "in"), *given_[2:], form="US").RWL.m_as("kg")
    si = safety.lifting_limit(*given_[:1], Q(min(V, 68.8), "in"), *given_[2:], form="SI").RWL.m_as("kg")
    assert float(si) == pytest.approx(float(us), rel=0.04)


def test_low_hands_are_those_below_the_height_of_the_source():
    # coupling of a fair grip: 0.95 below 75 cm, 1.00 from there on (NIOSH 94-110, table 7, from memory)
    assert lift(V=75, grip="fair") / lift(V=75, grip="good") == pytest.approx(1.0)
    assert lift(V=74, grip="fair") / lift(V=74, grip="good") == pytest.approx(0.95)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"F": 9, "V": 70, "t": 8}, "allows no load"),
        ({"F": 16}, "from 0 1/min to 15 1/min"),
        ({"H": 70}, "63 cm"),
        ({"t": 9}, "8 h"),
        ({"A": 140}, "135"),
        ({"grip": "firm"}, "good"),
    ],
)
def test_a_lift_outside_the_tables_is_refused(change, words):
    with pytest.raises(InputError) as caught:
        lift(**change)
    assert words in str(caught.value)


# --- vibration


@settings(max_examples=40)
@given(st.floats(0.5, 40), st.floats(0.05, 12))
def test_the_times_are_those_at_which_the_values_are_reached(a, t):
    limits = (Q(2.5, "m/s²"), Q(5, "m/s²"))
    made = safety.tool_vibration(Q(a, "m/s²"), Q(t, "h"), *limits)
    # points by the definition of the ready reckoner: 2 a² for each hour
    assert float(made.n_p.magnitude) == pytest.approx(2 * a**2 * t, rel=1e-9)
    assert made.t_l / made.t_a == pytest.approx(4)
    if made.t_l.m_as("h") <= 12:
        again = safety.tool_vibration(Q(a, "m/s²"), made.t_l, *limits)
        assert float(again.A_8.m_as("m/s²")) == pytest.approx(5)


def test_tools_add_up_by_squares_as_if_they_were_one_longer_use():
    limits = (Q(2.5, "m/s²"), Q(5, "m/s²"))
    part = [float(safety.tool_vibration(Q(9, "m/s²"), Q(h, "h"), *limits).A_8.m_as("m/s²")) for h in (0.5, 1.5, 2)]
    both = safety.shift_vibration(Q(part[:2], "m/s²")).A_d
    assert float(both.m_as("m/s²")) == pytest.approx(part[2])


# --- dust


def test_every_row_of_the_table_of_dust_can_be_asked_for():
    for row in tables.load("silica_methods").rows:
        assert row["seen"] in ("published", "memory") and row["method"]
        for place in ("outdoors", "enclosed"):
            for hours, column in ((4, "to"), (4.01, "over")):
                printed = row[f"{place} {column} 4 h"]
                if printed:
                    assert float(safety.silica_respirator(Q(hours, "h"), row["tool"], place).m) == float(printed)
    with pytest.raises(InputError, match="enclosed place"):
        safety.silica_respirator(Q(1, "h"), "drivable saw", "enclosed")


# --- the job


def test_both_jobs_say_the_same_of_dust_and_vibration():
    si, us = twins()["SI"].safety, twins()["US"].safety
    assert float(us.shift_vibration.m_as("m/s²")) == pytest.approx(float(si.shift_vibration.m_as("m/s²")), rel=1e-6)
    for one, other in zip(si.tools, us.tools, strict=True):
        assert float(other.hours.m_as("h")) == pytest.approx(float(one.hours.m_as("h")), rel=1e-6)
        assert one.factor.magnitude == other.factor.magnitude
    assert si.holes == us.holes == [n for n, c in twins()["SI"].patch.depth_class.items() if c == "full depth"]
    for name, (mass, made) in si.bags.items():
        assert float(us.bags[name][0].m_as("kg")) == pytest.approx(float(mass.m_as("kg")), rel=0.002)
        assert float(us.bags[name][1].LI.m) == pytest.approx(float(made.LI.m), rel=0.03)


def test_hours_of_a_tool_are_those_of_its_step_in_the_closure():
    job = planned("SI")
    for one in job.safety.tools:
        spent = [
            sum(s.likely for s in made.network.steps if s.activity == one.tool.step) for made in job.closure.closures
        ]
        assert len(spent) > 1 and float(one.hours.m_as("min")) == pytest.approx(max(spent))  # of the longest shift


def talk(job):
    """Return the page of the tool-box talk."""
    return sheet.talk(job.safety, job.steel, job.formwork, job.traffic, job.closure)


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_talk_begins_with_who_decides_and_carries_the_numbers_of_the_job(system):
    job = demo(system)
    text = talk(job)
    assert text.startswith('<div class="caution">') and job.safety.inputs.safety.plan in text
    wanted = [
        units.show_at_least(job.safety.shift_vibration, units.HandVibration, system), units.show_at_most(job.safety.weight_limit, units.Mass, system),
        job.show(job.settings.mix.bag, units.Mass), units.show_at_least(max(run.result.D for run in job.closure.runs_of(safety.noise_dose)), units.Share, system, 0),
        job.show(job.settings.traffic.vehicle_mass, units.Mass, 0), job.show(job.safety.inputs.safety.drop, units.Distance),
        job.show(job.limit("fall_height").value, units.Distance), *(f"{name}" for name in job.safety.holes),
    ]  # fmt: skip
    for one in job.safety.tools:
        if one.vibration:
            wanted += [
                units.show_at_most(time.to("min"), units.Minutes, system)
                for time in (one.vibration.t_a, one.vibration.t_l)
            ]
    for number in wanted:
        assert number in text, number
    for rule in ("1926.1153", "1926.52]", "1926.501", "1926.502", "1926.252", "1926.703", "ANSI S2.70", "94-110"):
        assert rule in text
    assert "from memory" in text  # the paragraph on holes was recalled
    assert len(text) < 6500 and text.count("\n# ") == 0  # one page


def test_every_exposure_stands_in_the_table_with_its_verdict_and_calculation():
    job = demo("SI")
    text = exposure.results(job.safety, job.closure, job.written)
    for check in (*exposure.noise_checks(job.closure), *job.safety.checks):
        (line,) = [one for one in text.splitlines() if one.startswith(f"| {plain(check.item)}: {plain(check.title)} |")]
        assert check.words in line and re.search(r"\| 0[78]-\d\d \|", line)
    assert {"bag of cement", "hand-arm vibration in the shift"} <= {check.item for check in job.safety.checks}


@pytest.mark.parametrize("system", SYSTEMS)
def test_what_is_worked_out_by_hand_is_the_exposure_nearest_to_its_limit(system):
    job = demo(system)
    runs = exposure.governing_runs(job.safety, job.closure)
    loudest = max(exposure.noise_checks(job.closure), key=lambda one: one.utilisation)
    bad = [one for one in job.safety.checks if one.verdict == "not satisfied"] or job.safety.checks
    most = max((one for one in bad if one.utilisation is not None), key=lambda one: one.utilisation)
    assert {loudest.item, most.item} <= {run.item for run in runs} and len(runs) <= 10
    text = exposure.by_hand(job.safety, job.closure, job.written)
    assert all(f"{job.written.numbers[run]} " in text for run in runs)


# --- rounding to the safe side


@settings(max_examples=60)
@given(
    st.floats(0.01, 5000),
    st.sampled_from(
        [units.kind_of(kind) for kind in (units.Minutes, units.Length, units.Distance, units.Mass, units.Share)]
        + [units.kind_of(units.HandVibration)]
    ),
    st.sampled_from(SYSTEMS),
)
def test_what_is_allowed_is_never_printed_above_its_value_and_what_is_wanted_never_below(value, kind, system):
    unit = kind.symbol(system)
    low, near, high = (
        units.read(show(Q(value, unit), kind, system), kind).m_as(kind.unit(system))
        for show in (units.show_at_most, units.show, units.show_at_least)
    )
    assert low <= value * (1 + 1e-12) and high >= value * (1 - 1e-12) and near in (low, high)


@pytest.mark.parametrize(
    ("minutes", "at_most", "at_least"),
    [(20.8, "20 min", "21 min"), (20.999, "20 min", "21 min"), (21.0, "21 min", "21 min"), (21.001, "21 min", "22 min"), (20.5, "20 min", "21 min")],
)  # fmt: skip
def test_rounding_moves_at_the_whole_number_and_not_by_the_noise_of_a_conversion(minutes, at_most, at_least):
    for value in (Q(minutes, "min"), Q(minutes / 60, "h"), Q(minutes * 60, "s")):
        assert units.show_at_most(value, units.Minutes, "SI") == at_most
        assert units.show_at_least(value, units.Minutes, "SI") == at_least


def test_the_page_prints_times_that_keep_the_exposure_within_its_value():
    job = demo("SI")
    made = next(one.vibration for one in job.safety.tools if one.vibration)
    assert 20.8 < made.t_a.m_as("min") < 21
    text = talk(job)
    assert "trigger time 20 min to the action value, 83 min to the limit value" in text and "21 min" not in text


# --- vibration by country


def again(*pairs, without=()):
    """Work the safety of the crew out with words of its section replaced, on what the demo job holds besides."""
    job, text = demo("SI"), (folder("notebooks") / "demo_us" / "job.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    section = {key: value for key, value in tomllib.loads(text)["safety"].items() if key not in without}
    context = job.context(Inputs)
    context = replace(context, inputs=replace(context.inputs, safety=Safety.model_validate(section)))
    return design.compute(context, job.patch, job.closure)


def page(crew):
    """Return the page of the tool-box talk of such a crew."""
    job = demo("metric")
    return sheet.talk(crew, job.steel, job.formwork, job.traffic, job.closure)


@pytest.mark.parametrize("row", tables.load("vibration_rules").rows, ids=lambda row: row["rule"])
def test_the_rule_of_the_country_is_used_and_cited(row):
    crew = again(('vibration_rule = "ANSI S2.70"', f'vibration_rule = "{row["rule"]}"'))
    action, limit = crew.values
    assert action.value.m_as("m/s²") == float(row["action value [m/s^2]"]) and limit.value.m_as("m/s²") == float(
        row["limit value [m/s^2]"]
    )
    assert action.source.key == limit.source.key == row["source"]
    checks = [check for check in crew.checks if check.item == "hand-arm vibration in the shift"]
    assert [check.limit for check in checks] == [action, limit]
    text = page(crew)
    assert short(row["source"]) in text and ("action value from memory" in text) == (row["seen"] == "memory")
    assert row["rule"] in crew.notes[0]
    assert row["source"] in {cite.key for cite in crew.cites}


def test_the_built_in_limits_are_those_of_the_default_rule():
    row = tables.load("vibration_rules").rows[0]
    job = demo("SI")
    for word in ("action", "limit"):
        assert job.limit(f"vibration_{word}").value.m_as("m/s²") == float(row[f"{word} value [m/s^2]"])


def test_values_of_the_engineer_stand_above_the_rule(copy):
    path = copy / "job.toml"
    path.write_text(
        path.read_text(encoding="utf-8") + '\n[limits.vibration_action]\nvalue = "2 m/s^2"\nsource = "owner"\n',
        encoding="utf-8",
    )
    action, limit = Job(read_job(copy)).safety.values
    assert action.value.m_as("m/s²") == 2 and action.origin == "engineer" and limit.value.m_as("m/s²") == 5


# --- blasting, water, slurry, emergency


BLASTING = """
[safety.blasting]
abrasive = "crushed slag"
silica = "{silica}"
{level}
hours = "2 h"
respirator = "hood with supplied air"
distance = "15 m"
shield = "screen"

"""


def blasting(silica="0.4 %", level='level = "400 µg/m^3"'):
    """Work the safety of a crew out that blasts."""
    section = BLASTING.format(silica=silica, level=level)
    return again(("# [safety.blasting]", f"{section}# [safety.blasting]"))


@pytest.mark.parametrize(
    ("silica", "verdict"), [("0.99 %", "satisfied"), ("1 %", "satisfied"), ("1.01 %", "not satisfied")]
)
def test_an_abrasive_with_more_than_one_per_cent_silica_is_refused(silica, verdict):
    crew = blasting(silica)
    assert next(check.verdict for check in crew.checks if "abrasive" in check.title) == verdict


def test_blasting_is_on_the_page_with_its_numbers():
    crew = blasting()
    made = crew.blast.dust  # 400 µg/m³ for 2 h of 8 is 100, twice the limit of 50
    assert made.C_8.m_as("µg/m³") == pytest.approx(100) and made.F.m == pytest.approx(2)
    text = page(crew)
    for word in (
        "**Blasting**",
        "crushed slag",
        "0.40 %",
        "120 min",
        "2.0 times the limit",
        "15.00 m away or more",
        "hood with supplied air",
    ):
        assert word in text, word
    assert "**Blasting**" not in talk(demo("SI"))


def test_dust_that_was_not_measured_has_no_verdict():
    crew = blasting(level="")
    check = next(check for check in crew.checks if "silica in the air" in check.title)
    assert check.demand is None and check.verdict == "not covered" and "not measured" in page(crew)


@pytest.mark.parametrize(
    ("length", "count"), [("199.9 ft", 2), ("200 ft", 2), ("200.1 ft", 3), ("1 m", 2), ("401 ft", 4)]
)
def test_ring_buoys_stand_no_further_apart_than_the_rule(length, count):
    crew = again(('length = "30 ft"', f'length = "{length}"'))
    assert crew.limit("buoy_spacing").value.m_as("ft") == pytest.approx(200)  # of the US job, converted
    assert crew.buoys.m == count
    check = next(check for check in crew.checks if check.title == "ring buoys laid out")
    assert (check.verdict == "satisfied") == (count <= 2)


@pytest.mark.parametrize(
    ("ph", "verdict"), [("12.4", "satisfied"), ("12.5", "not satisfied"), ("12.6", "not satisfied")]
)
def test_slurry_from_the_ph_of_the_rule_on_is_hazardous(ph, verdict):
    crew = again(("ph = 12.1", f"ph = {ph}"))
    check = next(check for check in crew.checks if check.title == "pH of the slurry")
    assert check.verdict == verdict


def test_slurry_lasts_as_long_as_its_step_and_has_to_fit_the_tanks():
    job = demo("SI")
    held = job.safety.slurry[0]
    saw = next(one for one in job.safety.tools if one.tool.step == "saw")
    assert held.hours == saw.hours
    want = held.want.flow.m_as("L/min") * saw.hours.m_as("min") + held.want.solids.m_as("L")
    assert held.made.V.m_as("L") == pytest.approx(want) and held.made.V_e.m_as("L") == pytest.approx(0.1 * want)
    for tanks, verdict, words in ((2, "satisfied", ": they fit"), (1, "not satisfied", "do not fit")):
        few = again(("tanks = 2", f"tanks = {tanks}"), ('tank = "50 gal"', 'tank = "20 gal"'))
        check = next(check for check in few.checks if "slurry to be held" in check.title)
        assert check.verdict == verdict and words in few.decisions["slurry of wet sawing"]


def test_the_page_says_whom_to_call():
    text = talk(demo("SI"))
    start = text.index("In an emergency")
    assert start < text.index("| hazard")
    for word in (
        "ambulance **911**",
        "Fenwick Vale General",
        "14 min by road",
        "In charge: night foreman",
        "First aid",
        "gets here by",
    ):
        assert word in text, word
    crew = again(without=("emergency", "over_water"))
    assert len(crew.missing) == 2 and "write it in before work begins" in page(crew)
    assert "Not in the job: rescue from the water" in page(crew)
    assert sum("The job does not say" in note for note in crew.notes) == 2


@pytest.mark.parametrize(
    "text",
    [
        "TBD",
        "tba",
        "xxx",
        "n/a",
        "N.A.",
        "to be confirmed by the owner",
        "hospital ???",
        "____",
        "...",
        "<name>",
        "-",
        "None",
        "unknown",
    ],
)
def test_what_stands_for_an_answer_is_no_answer(text):
    with pytest.raises(InputError, match="placeholder"):
        told(text)


@pytest.mark.parametrize("text", ["St Tabard hospital, 12 Nan Street", "Tobar clinic", "gate 3, by the toad pond"])
def test_an_answer_is_taken(text):
    assert told(text) == text


@pytest.mark.parametrize(
    ("number", "good"),
    [
        ("112", True),
        ("000", True),
        ("+1 (555) 555-0142", True),
        ("01632 960 114", True),
        ("1111111", False),
        ("12", False),
        ("12345678", False),
        ("987654", False),
        ("0000", False),
        ("", False),
    ],
)
def test_telephone_numbers(number, good):
    if good:
        assert telephone(number) == number
    else:
        with pytest.raises(InputError):
            telephone(number)


# --- bad input


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('step = "saw"  # step of rates.csv whose', 'step = "sow"  # step of rates.csv whose', ["safety.tools, number 1", "rates.csv has no step “sow”"]),
        ('# hours = "3 h"  # time in', 'hours = "3 h"  # time in', ["safety.tools, number 1", "either step"]),
        ('step = "saw"  # step of rates.csv whose', '# step = "saw"  # step of rates.csv whose', ["safety.tools, number 1", "either step"]),
        ('tool = "walk-behind saw"  # a row of the table silica_methods\nplace = "outdoors"', 'tool = "drivable saw"\nplace = "enclosed"', ["number 1 (drivable saw).place", "outdoors only"]),
        ('tool = "walk-behind saw"', 'tool = "chainsaw"', ["safety.tools.0.tool", "walk-behind saw"]),
        ('vibration = "12 m/s^2"', 'vibration = "12 mm"', ["safety.tools.1.vibration", "hand-arm vibration"]),
        ('trigger = "60 %"', 'trigger = "160 %"', ["safety.tools.1.trigger", "1 % to 100 %"]),
        ('reach = "12 in"', 'reach = "90 cm"', ["safety.lifting.reach", "3.94 in to 24.80 in"]),
        ("people = 2  # who", "people = 0  # who", ["safety.lifting.people"]),
        ('rate = "0.5 1/min"', 'rate = "20 1/min"', ["safety.lifting.rate", "15 1/min"]),
        ('rate = "0.5 1/min"  # lifts in a minute\nhours = "1 h"', 'rate = "11 1/min"  # lifts in a minute\nhours = "8 h"', ["Safety, bags", "allows no load"]),
        ('grip = "poor"', 'grip = "firm"', ["safety.lifting.grip", "good"]),
        ('vibration_rule = "ANSI S2.70"', 'vibration_rule = "OSHA"', ["safety.vibration_rule", "United Kingdom 2005"]),
        ('care = "Fenwick Vale General', 'care = "TBD; Fenwick Vale General', ["safety.emergency.care", "found “TBD”, which is a placeholder"]),
        ('ambulance = "911"', 'ambulance = "000 0000"', ["safety.emergency.numbers.ambulance", "placeholder and no telephone number"]),
        ('ambulance = "911"', 'ambulance = "ask the foreman"', ["safety.emergency.numbers.ambulance", "wanted a telephone number"]),
        ('ambulance = "911"', "ambulance = 911", ["safety.emergency.numbers.ambulance", "in quotes"]),
        ('charge = "night foreman of Quillon Works, site radio channel 2 (invented)"', 'charge = "_____"', ["safety.emergency.charge", "placeholder"]),
        ('travel = "14 min"', 'travel = "14 km"', ["safety.emergency.travel", "duration in minutes"]),
        ('step = "saw"  # step of rates.csv whose time it runs\nflow', 'step = "sow"\nflow', ["safety.slurry, number 1 (wet sawing)", "rates.csv has no step “sow”"]),
        ('step = "saw"  # step of rates.csv whose time it runs\nflow', "flow", ["safety.slurry, number 1 (wet sawing)", "either step"]),
        ("ph = 12.1", "ph = 15", ["safety.slurry.0.ph"]),
        ('vacuum = "90 %"', 'vacuum = "0.9 m"', ["safety.slurry.0.vacuum", "share"]),
        ("buoys = 2", "buoys = -1", ["safety.over_water.buoys"]),
        ('boat = "rowing', 'boat = "to be confirmed, rowing', ["safety.over_water.boat", "placeholder"]),
        ("drop = ", "dorp = ", ["safety.dorp", "misspelt"]),
        ('plan = "Quillon', 'plan = ""\nqlan = "Quillon', ["safety.plan", "empty"]),
    ],
)  # fmt: skip
def test_a_fault_of_the_section_is_named(copy, old, new, words):
    path = copy / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        compute(copy).safety  # noqa: B018
    for word in words:
        assert word in str(caught.value)


def test_a_job_without_the_section_still_has_its_talk(copy):
    path = copy / "job.toml"
    parts = re.split(r"(?m)^(?=\[\[?[a-z])", path.read_text(encoding="utf-8"))
    path.write_text("".join(part for part in parts if not part.startswith(("[safety", "[[safety"))), encoding="utf-8")
    job = compute(copy)
    assert job.safety not in job.subjects and not job.safety.runs
    assert "not in the job: write it in before work begins" in talk(job)
    assert "Noise dose in a shift" in exposure.by_hand(job.safety, job.closure, job.written)
    assert "Not worked out" in talk(job) and "no section [safety]" in exposure.lead(job.safety)
