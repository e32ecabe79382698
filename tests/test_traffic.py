"""Check traffic past the closed lane: rules held against one another, the layout of the demo jobs, and what is refused."""

import itertools
import math
import shutil

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples import DEMO, demo

from deckcalc import Q, traffic
from deckcalc.base.fields import JobError
from deckcalc.core.units import InputError
from deckcalc.job import Job
from deckcalc.job.file import read_job
from deckcalc.show import sections
from deckcalc.show.written import HandCalculations
from deckcalc.traffic import sheet
from deckcalc.traffic.sheet import drawings, places

MPH = st.integers(4, 15).map(lambda n: 5 * n)  # 20 to 75 mph
KMH = st.integers(3, 11).map(lambda n: 10 * n)


#: A road by the metric rules.
ROAD = """[traffic]
road = "rural"
tables = "SI"
speed = "90 km/h"
lane_width = "3.6576 m"
grade = "-2 %"
downstream_taper = "15.24 m"
room = "24.384 m"
available = "609.6 m"
roll_ahead = "45.72 m"
vehicle_length = "7.62 m"
vehicle_mass = "11000 kg"
impact_mass = "6803.8856 kg"
friction = 0.5
device = "cone"
# lanes = 2
# opposing = 1
# control = "flaggers"  # or "signals"
# speed_through = "40 km/h"
# edition = "2003"
# night = true
authority = "roads board (invented)"
source = "roads board (invented)"

"""


@pytest.fixture
def copy(tmp_path):
    """A copy of the US demo job with that road."""
    place = tmp_path / "job"
    shutil.copytree(DEMO["US"], place)
    text = (place / "job.toml").read_text(encoding="utf-8")
    text = text[: text.index("[traffic]")] + ROAD + text[text.index("[closure]") :]
    (place / "job.toml").write_text(text, encoding="utf-8")
    return place


def changed(place, old, new):
    """Return what job.toml says once a line is another."""
    path = place / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return place


def refused(place):
    with pytest.raises(JobError) as caught:
        Job(read_job(place)).traffic  # noqa: B018
    return str(caught.value)


# --- the rules against one another


@given(MPH, MPH)
def test_faster_traffic_never_has_a_shorter_taper_or_buffer(a, b):
    slow, fast = sorted((a, b))
    width = Q(12, "ft")
    assert traffic.taper(width, Q(slow, "mph"), form="US").L <= traffic.taper(width, Q(fast, "mph"), form="US").L
    assert traffic.stopping(Q(slow, "mph"), form="US").d_d <= traffic.stopping(Q(fast, "mph"), form="US").d_d
    assert (
        traffic.device_spacing(Q(slow, "mph"), form="US").s_t <= traffic.device_spacing(Q(fast, "mph"), form="US").s_t
    )


@given(KMH)
def test_metric_rules_stay_within_five_per_cent_of_the_us_formulas(speed):
    """The hard-metric divisors 155 and 1.6 against 60 and 1 of the US formulas, at the same speed and width."""
    width, S = Q(3.6, "m"), Q(speed, "km/h")
    metric = traffic.taper(width, S, form="SI").L.m_as("ft")
    mph, feet = S.m_as("mph"), width.m_as("ft")
    us = feet * mph**2 / 60 if speed <= 60 else feet * mph
    assert metric == pytest.approx(us, rel=0.05)


def test_the_step_between_the_two_formulas_is_real():
    below, above = (traffic.taper(Q(12, "ft"), Q(S, "mph"), form="US").L for S in (40, 45))
    assert above / below > 1.5


@given(st.floats(1, 3000), st.floats(1, 60))
def test_devices_stand_no_further_apart_than_allowed_and_none_is_spared(length, spacing):
    made = traffic.devices(Q(length, "m"), Q(spacing, "m"))
    assert made.s.m_as("m") <= spacing * (1 + 1e-6)
    assert float(made.n.m_as("")) == float(made.n_1.m_as("")) + 1
    if made.n_1.m_as("") > 1:  # with one device less they would stand too far apart
        assert length / (float(made.n_1.m_as("")) - 1) > spacing * (1 - 1e-6)


@given(st.floats(30, 120), st.floats(-8, 8))
def test_stopping_on_a_grade_is_the_work_of_brake_and_slope(speed, grade):
    """Energy: half of v squared over g times the sum of friction and grade (mechanics)."""
    v, a = speed / 3.6, 3.4
    made = traffic.stopping_on_grade(Q(speed, "km/h"), Q(2.5, "s"), Q(a, "m/s²"), Q(grade, "%"))
    wanted = v * 2.5 + v**2 / 2 / (a + 9.80665 * grade / 100)
    assert made.d.m_as("m") == pytest.approx(wanted, rel=1e-9)


@given(st.floats(1000, 30000), st.floats(3000, 30000), st.floats(30, 120))
def test_momentum_is_kept_in_the_bound_of_the_roll_ahead(m_1, m_2, speed):
    made = traffic.roll_ahead_bound(Q(m_1, "kg"), Q(m_2, "kg"), Q(speed, "km/h"), 0.5)
    v = made.v.m_as("m/s")
    assert (m_1 + m_2) * v == pytest.approx(m_1 * speed / 3.6, rel=1e-9)
    assert made.d.m_as("m") == pytest.approx(v**2 / (2 * 0.5 * 9.80665), rel=1e-9)


# --- the demo jobs


@pytest.mark.parametrize("system", ["SI", "US"])
def test_the_stretches_lie_end_to_end_and_add_up(system):
    layout = demo(system).traffic
    parts = list(layout.parts.values())
    assert all(a[1] == pytest.approx(b[0]) for a, b in itertools.pairwise(parts))
    whole = layout.runs_of(traffic.closure_length)[0].result
    assert parts[-1][1] - parts[0][0] == pytest.approx(whole.L_all.m_as("m"))
    assert sum(b - a for a, b in parts) == pytest.approx(whole.L_all.m_as("m"))


@pytest.mark.parametrize("system", ["SI", "US"])
def test_the_device_list_counts_what_the_drawing_sets_out(system):
    job = demo(system)
    want = job.settings.traffic
    marks = [mark for mark in job.traffic.marks if mark.what == want.device]
    drawn = {
        round(mark.start + i * mark.spacing, 3)
        for mark in marks
        for i in range(round((mark.end - mark.start) / mark.spacing) + 1)
    }
    assert len(drawn) == sum(mark.number for mark in marks)
    assert f"**{len(drawn)}**" in sheet.device_list(job.traffic)
    assert drawings.plan(job.traffic).png[:4] == b"\x89PNG"


def test_both_jobs_lay_out_the_same_road_by_their_own_rules():
    si, us = demo("SI").traffic, demo("US").traffic
    for name, (a, b) in si.parts.items():
        c, d = us.parts[name]
        assert d - c == pytest.approx(b - a, rel=0.07), name  # the rules are rounded apart, the road is the same
    same = ("shadow vehicle", "roll-ahead, empty", "work space", "downstream taper")
    for name in same:
        assert np.ptp(us.parts[name]) == pytest.approx(np.ptp(si.parts[name]), rel=1e-6)


def test_the_sheet_defers_to_the_authority_in_its_first_line():
    text = sections.cautions(demo("SI").traffic)
    first = next(line for line in text.splitlines() if "Caution" in line)
    assert "local authority" in first and "qualified person" in first


@pytest.mark.parametrize("system", ["SI", "US"])
def test_what_is_worked_out_by_hand_leads_to_the_length_and_to_the_governing_check(system):
    job = demo(system)
    runs = sheet.governing_runs(job.traffic)
    assert job.traffic.runs_of(traffic.closure_length)[0] in runs and len(runs) == len(set(runs)) <= 6
    made = {id(value) for run in job.traffic.runs for value in run.results().values()}
    held = [
        one
        for one in job.traffic.checks
        if one.utilisation is not None and {id(one.demand), id(one.limit.value)} & made
    ]
    most = max(held, key=lambda one: one.utilisation)
    assert any(id(value) in (id(most.demand), id(most.limit.value)) for run in runs for value in run.results().values())
    text = sheet.by_hand(job.traffic, job.written)
    assert all(f"{job.written.numbers[run]} " in text for run in runs)


@pytest.mark.parametrize("system", ["SI", "US"])
def test_stations_of_the_list_are_those_of_the_plan(system):
    layout = demo(system).traffic
    begins, ends = layout.parts["work space"]
    near, far = (places.station(layout, one) for one in (begins, ends))
    assert min(near, far) <= layout.first and max(near, far) >= layout.first + layout.extent
    assert f"| {sheet.signed(layout, places.station(layout, 0.0))}" in sheet.device_list(layout)


# --- one lane for both directions, devices, editions

ALTERNATING = {
    "# lanes = 2": "lanes = 1", "# opposing = 1": "opposing = 1", "# control =": "control =", "# speed_through": "speed_through",
}  # fmt: skip


def alternating(place):
    for old, new in ALTERNATING.items():
        changed(place, old, new)
    return place


def test_one_lane_for_both_directions_has_a_short_taper_and_no_arrow_board(copy):
    before = Job(read_job(copy)).traffic
    layout = Job(read_job(alternating(copy))).traffic
    assert layout.parts["short taper"] == (0.0, 30.0) and "merging taper" not in layout.parts
    assert [mark for mark in before.marks if "arrow" in mark.what] and not [
        m for m in layout.marks if "arrow" in m.what
    ]
    stops = [mark for mark in layout.marks if mark.what.startswith("flagger")]
    end = layout.parts["downstream taper"][1]
    assert [(mark.start, mark.opposing) for mark in stops] == [(-30.0, False), (end + 30.0, True)]
    for opposing in (False, True):
        legends = [mark.legend for mark in layout.marks if mark.what.endswith("sign") and mark.opposing == opposing]
        assert len(legends) == 4 and any("ONE LANE ROAD AHEAD (W20-4)" in text for text in legends)
    taper = next(mark for mark in layout.marks if mark.what == "cone" and mark.end == 30.0)
    assert taper.spacing <= 6.0 and taper.number == 6
    assert not layout.runs_of(traffic.taper.form("SI")) and layout.runs_of(traffic.clear_time)
    for part in ("buffer, empty", "work space", "roll-ahead, empty"):  # what the other direction does not change
        assert np.ptp(layout.parts[part]) == pytest.approx(np.ptp(before.parts[part]))
    text = sheet.device_list(layout)
    assert "No arrow board" in text and "by flaggers" in text and drawings.plan(layout).png[:4] == b"\x89PNG"


def test_signals_have_their_own_first_sign(copy):
    changed(alternating(copy), 'control = "flaggers"  # or "signals"', 'control = "signals"  # or "signals"')
    layout = Job(read_job(copy)).traffic
    assert next(mark for mark in layout.marks if mark.what == "first sign").legend == "symbol: signal ahead (W3-3)"


@given(st.floats(5, 100))
def test_the_short_taper_lies_between_its_two_limits(length):
    inside = 50 <= Q(length, "m").m_as("ft") <= 100
    if inside:
        assert traffic.short_taper(Q(length, "m"), form="US").n_1.m_as("") == math.ceil(length / 6.096 - 1e-9)
    else:
        with pytest.raises(InputError, match="50 ft to 100 ft"):
            traffic.short_taper(Q(length, "m"), form="US")


@pytest.mark.parametrize(("L", "good"), [("50 ft", True), ("49.99 ft", False), ("100 ft", True), ("100.01 ft", False)])
def test_the_limits_of_the_short_taper_hold_from_both_sides(L, good):
    if good:
        assert traffic.short_taper(L, form="US")
    else:
        with pytest.raises(InputError):
            traffic.short_taper(L, form="US")


@pytest.mark.parametrize(
    ("speed", "least"), [("45 mph", 80), ("50 mph", 80), ("50.01 mph", 120), ("55 mph", 120), ("75 mph", 120)]
)
def test_roll_ahead_takes_the_higher_band_between_two(speed, least):
    assert traffic.roll_ahead_table(speed).R_1.m_as("ft") == pytest.approx(least)


def test_a_printed_roll_ahead_is_longer_than_mechanics_needs():
    for mph in (45, 50, 55, 65, 75):
        bound = traffic.roll_ahead_bound(Q(15000, "lb"), Q(24000, "lb"), Q(mph, "mph"), 0.3).d
        assert bound < traffic.roll_ahead_table(Q(mph, "mph")).R_2


def test_without_a_roll_ahead_of_the_authority_the_greatest_in_print_is_kept(copy):
    layout = Job(read_job(changed(copy, 'roll_ahead = "45.72 m"', "# roll_ahead"))).traffic
    assert np.ptp(layout.parts["roll-ahead, empty"]) == pytest.approx(60.96)


def test_a_roll_ahead_shorter_than_print_is_not_satisfied(copy):
    job = Job(read_job(changed(copy, 'roll_ahead = "45.72 m"', 'roll_ahead = "30 m"')))
    check = next(one for one in job.traffic.checks if one.title == "roll-ahead against the printed table")
    assert check.verdict == "not satisfied" and "authority" in check.why


@pytest.mark.parametrize(
    ("night", "speed", "height", "verdict"),
    [
        ("true", "60 km/h", "700 mm", "satisfied"), ("true", "60 km/h", "690 mm", "not satisfied"),
        ("false", "60 km/h", "450 mm", "satisfied"), ("false", "70 km/h", "450 mm", "not satisfied"),
    ],
)  # fmt: skip
def test_devices_are_taller_in_the_dark_and_for_fast_traffic(copy, night, speed, height, verdict):
    changed(copy, "# night = true", f'device_height = "{height}"\nnight = {night}')
    changed(copy, 'speed = "90 km/h"', f'speed = "{speed}"')
    check = next(one for one in Job(read_job(copy)).traffic.checks if one.title == "height of the cones")
    assert check.verdict == verdict


def test_the_edition_names_its_own_places():
    assert "table 6B-4" in sheet.editions(demo("US").traffic) and "table 6C-4" in sheet.editions(demo("metric").traffic)


def test_the_left_lane_has_its_own_signs(copy):
    layout = Job(read_job(changed(copy, "# night = true", 'side = "left"\nnight = true'))).traffic
    legends = [mark.legend for mark in layout.marks if mark.legend]
    assert "LEFT LANE CLOSED AHEAD (W20-5L)" in legends and "symbol: lane ends (W4-2L)" in legends


# --- lanes of the plan

LANES = """[[plan.lanes]]
name = "back"
from_offset = "-12 ft"
to_offset = "0 ft"
direction = "back"

[[plan.lanes]]
name = "inner"
from_offset = "0 ft"
to_offset = "4 ft"
direction = "ahead"

[[plan.lanes]]
name = "outer"
from_offset = "4 ft"
to_offset = "14 ft"
direction = "ahead"

[survey]"""


def laned(place, closed, lanes=LANES, more=None):
    """Give the job lanes in the plan, and close one of them."""
    changed(place, "[survey]", lanes)
    said = "\n".join([f'closed_lane = "{closed}"', *(f"{name} = {value}" for name, value in (more or {}).items())])
    return changed(place, 'lane_width = "3.6576 m"', said)


def test_lanes_beside_the_closed_one_follow_from_the_plan(copy):
    layout = Job(read_job(laned(copy, "outer"))).traffic
    road = layout.road
    assert (road.name, road.lanes, road.opposing, road.side, road.direction) == ("outer", 2, 1, "right", "ahead")
    assert road.width.m_as("ft") == pytest.approx(10) and not road.alternating
    assert (road.left, road.right) == (pytest.approx(4 * 0.3048), pytest.approx(14 * 0.3048))
    assert "“outer”" in sheet.lead(layout) and "rising stations" in sheet.lead(layout)
    assert sheet.ends(layout).startswith("Traffic runs with rising stations")
    taper = next(run for run in layout.runs if run.calculation is traffic.taper.form("SI"))
    assert taper.arguments["W"].m_as("ft") == pytest.approx(10)


def test_the_inner_lane_is_the_left_one(copy):
    wide = LANES.replace('to_offset = "4 ft"', 'to_offset = "10 ft"').replace(
        'from_offset = "4 ft"', 'from_offset = "10 ft"'
    )
    road = wide.replace('to_offset = "14 ft"', 'to_offset = "14 ft"')
    layout = Job(read_job(laned(copy, "inner", road))).traffic
    assert layout.road.side == "left" and any("LEFT LANE CLOSED" in mark.legend for mark in layout.marks)


def test_a_lane_alone_in_its_direction_alternates_and_runs_against_the_stations(copy):
    laned(copy, "back", more={"control": '"flaggers"'})
    assert "traffic.opposing" in refused(copy)  # two lanes of the other direction
    one = (
        LANES[: LANES.index('[[plan.lanes]]\nname = "inner"')] + LANES[LANES.index('[[plan.lanes]]\nname = "outer"') :]
    )
    text = (copy / "job.toml").read_text(encoding="utf-8").replace(LANES, one)
    (copy / "job.toml").write_text(text, encoding="utf-8")
    layout = Job(read_job(copy)).traffic
    assert layout.road.alternating and layout.inputs.working == "flaggers" and layout.road.side == "right"
    assert sheet.ends(layout).startswith("Traffic runs against the stations")
    head = layout.first + layout.extent + 24.384 / 2 + layout.parts["work space"][0]
    assert f"the head of the taper lies at station {head / 0.3048:.0f} ft;" in sheet.ends(layout)
    check = next(one for one in layout.checks if one.title.startswith("patches beyond the lane"))
    assert check.verdict == "not satisfied" and "P1" in check.why


def test_patches_beyond_the_closed_lane_are_counted(copy):
    layout = Job(read_job(laned(copy, "outer"))).traffic
    check = next(one for one in layout.checks if one.title.startswith("patches beyond the lane"))
    beyond = [one.patch for one in demo("US").patch.marked.patches if one.piece.outline.bounds[1] < 4 * 0.3048 - 1e-3]
    assert float(check.demand.m_as("")) == len(beyond) > 0 and all(name in check.why for name in beyond)


@pytest.mark.parametrize(
    ("lanes", "closed", "more", "words"),
    [
        (LANES, "middle", {}, "traffic.closed_lane: found “middle”, wanted a lane of plan.lanes: back, inner, outer"),
        (LANES, "outer", {"lanes": 2}, "traffic.lanes: plan.lanes says it"),
        (LANES, "outer", {"lane_width": '"12 ft"'}, "traffic.lane_width: plan.lanes says it"),
        (LANES, "outer", {"side": '"left"'}, "traffic.side: plan.lanes says it"),
        (LANES.replace('"inner"', '"outer"'), "outer", {}, "“outer” appears twice"),
        (LANES.replace('to_offset = "4 ft"', 'to_offset = "5 ft"'), "outer", {}, "lie over one another"),
        (LANES.replace('to_offset = "14 ft"', 'to_offset = "15 ft"'), "outer", {}, "“outer” reaches beyond a kerb"),
        (LANES.replace('"back"\n', '"ahead"\n'), "inner", {}, "lanes of its direction on both sides"),
    ],
)  # fmt: skip
def test_lanes_that_do_not_fit_are_named(copy, lanes, closed, more, words):
    assert words in refused(laned(copy, closed, lanes, more))


def test_a_road_without_lanes_wants_the_width_of_the_closed_one(copy):
    assert "traffic.lane_width: missing" in refused(changed(copy, 'lane_width = "3.6576 m"', ""))


# --- what is refused


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("# opposing = 1", "# opposing", "traffic.opposing: with one lane in each direction wanted 1, found 0"),
        ("# opposing = 1", "opposing = 3", "wanted 1, found 3"),
        ("# control =", "# kontrol =", "traffic.control: one lane serves both directions"),
        ("# lanes = 2", "lanes = 2", "traffic.control: with 2 lanes in its direction one stays open there"),
        (
            "# night =",
            'short_taper = "45 m"\n# night =',
            "traffic.short_taper: ",
        ),
        ('# edition = "2003"', 'edition = "2023"', "traffic.edition: the edition of 2023 has no metric columns"),
    ],
)
def test_lanes_and_control_that_do_not_fit_are_named(copy, old, new, words):
    changed(copy, old, new)
    for a, b in ALTERNATING.items():
        if a in (copy / "job.toml").read_text(encoding="utf-8") and a != old:
            changed(copy, a, b)
    assert words in refused(copy)


def test_slow_traffic_wants_a_roll_ahead_of_the_authority(copy):
    changed(copy, 'roll_ahead = "45.72 m"', "# roll_ahead")
    assert "traffic.roll_ahead: missing" in refused(changed(copy, 'speed = "90 km/h"', 'speed = "60 km/h"'))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('speed = "90 km/h"', 'speed = "115 km/h"', "traffic.speed"),
        ('speed = "90 km/h"', 'speed = "64 km/h"', "between the two formulas"),
        ('speed = "90 km/h"', 'speed = "25 km/h"', "traffic.speed"),
        ('downstream_taper = "15.24 m"', 'downstream_taper = "60 m"', "traffic.downstream_taper"),
        ('road = "rural"', 'road = "motorway"', "traffic.road"),
        ('roll_ahead = "45.72 m"', 'roll_ahead = "45.72"', "without a unit"),
    ],
)
def test_what_lies_outside_the_rules_is_named(copy, old, new, words):
    assert words in refused(changed(copy, old, new))


def test_a_closure_longer_than_the_road_is_no_quiet_matter(copy):
    job = Job(read_job(changed(copy, 'available = "609.6 m"', 'available = "400 m"')))
    check = next(one for one in job.traffic.checks if one.title == "length of the closure")
    assert check.verdict == "not satisfied" and check.utilisation > 1 and "upstream" in check.why


def test_a_protection_vehicle_that_is_too_light_is_not_satisfied(copy):
    job = Job(read_job(changed(copy, 'vehicle_mass = "11000 kg"', 'vehicle_mass = "8000 kg"')))
    check = next(one for one in job.traffic.checks if one.title == "mass of the shadow vehicle")
    assert check.verdict == "not satisfied" and "ballast" in check.why


def test_the_authority_may_set_its_own_lengths(copy):
    table = "item,value,source\nmerging taper,180 m,road rules (invented)\nthird sign,700 m,road rules (invented)\n"
    (copy / "road_rules.csv").write_text(table, encoding="utf-8")
    job = Job(read_job(copy))
    layout = job.traffic
    assert layout.parts["merging taper"] == (0.0, 180.0)
    assert next(mark.start for mark in layout.marks if mark.what == "third sign") == -700
    assert next(mark.start for mark in layout.marks if mark.what == "first sign") == -150
    assert "merging taper 591 ft (road rules (invented))" in sheet.stretches(
        job.traffic, HandCalculations([job.traffic], "US")
    )
    (copy / "road_rules.csv").write_text(table.replace("third sign", "fourth sign"), encoding="utf-8")
    assert "road_rules.csv, row 3, column item: found “fourth sign”" in refused(copy)
