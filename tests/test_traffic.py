"""Check traffic past the closed lane: rules held against one another, the layout of the demo jobs, and what is refused."""

import itertools
import shutil

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples import demo

from deckcalc import Q, traffic
from deckcalc.base.fields import JobError
from deckcalc.core.sources import folder
from deckcalc.job import Job
from deckcalc.job.file import read_job
from deckcalc.traffic import sheet

MPH = st.integers(4, 15).map(lambda n: 5 * n)  # 20 to 75 mph
KMH = st.integers(3, 11).map(lambda n: 10 * n)


@pytest.fixture
def copy(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(folder("notebooks") / "demo_si", place)
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
    assert sheet.strip(job.traffic).png[:4] == b"\x89PNG"


def test_both_jobs_lay_out_the_same_road_by_their_own_rules():
    si, us = demo("SI").traffic, demo("US").traffic
    for name, (a, b) in si.parts.items():
        c, d = us.parts[name]
        assert d - c == pytest.approx(b - a, rel=0.07), name  # the rules are rounded apart, the road is the same
    same = ("protection vehicle", "roll-ahead, empty", "work space", "downstream taper")
    for name in same:
        assert np.ptp(us.parts[name]) == pytest.approx(np.ptp(si.parts[name]), rel=1e-6)


def test_the_sheet_defers_to_the_authority_in_its_first_line():
    text = sheet.first_line(demo("SI").traffic)
    first = next(line for line in text.splitlines() if "Caution" in line)
    assert "local authority" in first and "qualified person" in first


# --- what is refused


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
    job = Job(read_job(changed(copy, 'vehicle_mass = "10886.2169 kg"', 'vehicle_mass = "8000 kg"')))
    check = next(one for one in job.traffic.checks if one.title == "mass of the protection vehicle")
    assert check.verdict == "not satisfied" and "ballast" in check.why


def test_the_authority_may_set_its_own_lengths(copy):
    table = "item,value,source\nmerging taper,180 m,road rules (invented)\nthird sign,700 m,road rules (invented)\n"
    (copy / "road_rules.csv").write_text(table, encoding="utf-8")
    job = Job(read_job(copy))
    layout = job.traffic
    assert layout.parts["merging taper"] == (0.0, 180.0)
    assert next(mark.start for mark in layout.marks if mark.what == "third sign") == -700
    assert next(mark.start for mark in layout.marks if mark.what == "first sign") == -150
    assert "merging taper 180.0 m (road rules (invented))" in sheet.stretches(job.traffic)
    (copy / "road_rules.csv").write_text(table.replace("third sign", "fourth sign"), encoding="utf-8")
    assert "road_rules.csv, row 3, column item: found “fourth sign”" in refused(copy)
