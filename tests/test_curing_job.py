"""Check curing in the job: both demo jobs, what the sheet says, and every fault of the folder named by row."""

import datetime
import shutil

import numpy as np
import pytest
from samples import DEMO, demo

from deckcalc.base import work
from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.curing import inputs as curing_inputs
from deckcalc.curing import sheet
from deckcalc.curing.design import year as curing_year
from deckcalc.curing.design.strength import OUTSIDE, at_hour
from deckcalc.curing.formulas import opening
from deckcalc.curing.inputs import rows as curing_rows
from deckcalc.curing.sheet import detail
from deckcalc.curing.sheet import drawings as drawn
from deckcalc.job import compute
from deckcalc.show.governing import governing, leading_to

TABLES = ("placements", "weather", "history", "cylinders", "cubes", "climate")


@pytest.fixture(scope="module")
def jobs():
    return {name: demo(name) for name in ("SI", "US")}


@pytest.fixture
def copy(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(DEMO["SI"], place)
    return place


def edit(place, name, old, new, count=1):
    """Replace text of a file that must hold it."""
    path = place / name
    text = path.read_text(encoding="utf-8")
    assert old in text, (name, old)
    path.write_text(text.replace(old, new, count), encoding="utf-8")


def fault(place):
    """Return what the job folder is refused with."""
    with pytest.raises(JobError) as caught:
        compute(place)
    return str(caught.value)


# --- the two jobs


def test_the_trial_slab_of_both_jobs_is_the_same_afternoon(jobs):
    si, us = jobs["SI"].curing, jobs["US"].curing
    one, other = si["T1"], us["T1"]
    # mixes differ by the two sets of proportioning tables, and with them the heat of hydration
    assert other.temperatures.mean == pytest.approx(one.temperatures.mean, abs=0.5)
    assert other.thickness == pytest.approx(one.thickness, rel=1e-9)
    assert us.curves["C3"].fit.values == pytest.approx(si.curves["C3"].fit.values, rel=1e-4)
    assert other.measured.age[-1] == pytest.approx(one.measured.age[-1], rel=1e-6)


def test_hot_afternoon_dries_and_cool_night_does_not(jobs):
    for job in jobs.values():
        said = job.curing.decisions
        assert (
            "): open. The required" in said["placing T1: opening"] and "measured history" in said["placing T1: opening"]
        )
        # a rapid-hardening concrete in that night
        assert "): open. The required" in said["placing N1: opening"] and "heat model" in said["placing N1: opening"]
        verdicts = {(check.item, check.title): check.verdict for check in job.curing.checks}
        assert verdicts["placing T1", "evaporation at its worst hour of placing, 14:00"] == "not satisfied"
        night = [
            kind for (item, title), kind in verdicts.items() if item == "placing N1" and title.startswith("evaporation")
        ]
        assert night == ["satisfied"]


def test_each_line_is_proved(jobs):
    for job in jobs.values():
        written = job.written.by_run
        for run in job.curing.runs:
            assert written[run].markdown()


def test_table_of_ages_ends_at_the_age_that_is_used(jobs):
    for job in jobs.values():
        for line in detail.age_by_intervals(job.curing).splitlines():
            if "The sum of the table is" in line:
                total, used = (
                    float(part.split(" h")[0]) for part in (line.split("table is ")[1], line.split("read at ")[1])
                )
                assert total == pytest.approx(used, abs=0.011)


def test_opening_table_marks_the_hour_and_follows_the_band(jobs):
    job = jobs["SI"]
    text = detail.opening_table(job.curing)
    one = job.curing["N1"]
    rows = {"**2026-04-15 06:00**, as planned": (one.opening_hour, "open"), "2026-04-15 03:00": (3.5, "wait")}
    for start, (hour, decision) in rows.items():
        row = next(line for line in text.splitlines() if line.startswith(f"| {start} |"))
        age, low, mid, high = one.governing.at(hour)
        for value in (low, mid, high):
            assert job.show(units.registry().Quantity(value, "MPa"), units.Stress) in row
        assert f"{age:.1f} h" in row and row.rstrip(" |").endswith(decision)


def test_an_opening_before_the_ages_of_the_cylinders_says_wait_everywhere(copy):
    edit(copy, "placements.csv", "2025-08-18 05:00", "2025-08-16 17:00")
    placings = compute(copy).curing
    one = placings["T1"]
    assert at_hour(placings, one, one.opening_hour).age < one.curve.fit.first
    assert f"): {OUTSIDE}. The required" in placings.decisions["placing T1: opening"]
    row = next(
        line for line in detail.opening_table(placings).splitlines() if "**2025-08-16 17:00**, as planned" in line
    )
    assert row.rstrip(" |").endswith(OUTSIDE)
    strength = next(c for c in placings.checks if c.item == one.item and c.title.startswith("strength at opening"))
    assert strength.verdict == "not covered"


def test_hours_of_strength_stand_once(jobs):
    for job in jobs.values():
        required = float(job.limit("opening_strength").value.m_as("MPa"))
        for one in job.curing:
            band = one.governing
            times = [opening.reached(band.hours, edge, required) for edge in (band.mid, band.low)]
            assert [None if t is None else pytest.approx(t, abs=1e-6) for t in times] == [
                one.opens.expected,
                one.opens.sure,
            ]
            assert one.opens.sure is None or one.opens.expected <= one.opens.sure
            for name in one.row.names:
                assert job.curing.of_patch(name) is one
    assert jobs["SI"].curing.of_patch("P0") is None


def test_every_part_of_the_sheet_has_content(jobs):
    for job in jobs.values():
        for part in (
            sheet.schedule,
            detail.drying,
            detail.measures,
            detail.curves,
            detail.cubes,
            detail.each_item,
            sheet.cylinder_schedule,
        ):
            assert len(part(job.curing)) > 100
        for picture in (drawn.drying, drawn.temperatures, drawn.cylinders, drawn.strength):
            assert picture(job.curing).png[:4] == b"\x89PNG"


def test_the_governing_placing_is_the_worst_and_stands_with_what_governs_the_sheet(jobs):
    for job in jobs.values():
        strength = {c.item: c.utilisation for c in job.curing.checks if c.title.startswith("strength at opening")}
        one = sheet.governing_placing(job.curing)
        assert strength[one.item] == max(strength.values())
        worst = governing(job.curing.checks)
        said = sheet.by_hand(job.curing, job.written)
        assert f"Opening of {one.item}:" in said and f"Then {worst.item}: {worst.title}." in said
        for run in (*sheet.opening_runs(job.curing, one), *leading_to(job.curing, worst.demand, worst.limit.value)):
            assert job.written.numbers[run] in said
        rows = [line for line in sheet.results(job.curing, job.written).splitlines() if line.startswith("|")][2:]
        assert len(rows) == len(job.curing)
        assert f"({job.written.numbers[sheet.opening_runs(job.curing, one)[-1]]})" in rows[[*job.curing].index(one)]
        assert sum(part.startswith("## ") for part in sheet.further(job.curing) if isinstance(part, str)) == 8


def test_what_is_required_alike_of_placings_stands_once(jobs):
    text = sheet.required_action(jobs["SI"].curing)
    assert text.count("no measure is needed by the estimate") == 1 and "| N1, N2, N3, W1 |" in text
    shown = {said for item, said in jobs["SI"].curing.decisions.items() if not item.endswith(": opening")}
    assert all(said in text for said in shown)


def test_measures_help_or_change_nothing(jobs):
    for job in jobs.values():
        for one in job.curing:
            assert one.drying.worst.rate == max(hour.rate for hour in one.drying.hours)
            for measure in one.drying.measures:
                if measure.rate is not None:
                    assert measure.rate <= one.drying.worst.rate * (1 + 1e-9), measure.name


def test_nurse_saul_and_other_curves_can_be_chosen(copy):
    edit(copy, "job.toml", 'maturity = "equivalent age"', 'maturity = "Nurse-Saul"')
    edit(copy, "job.toml", 'curve = "hyperbolic"', 'curve = "logarithmic"')
    job = compute(copy)
    assert job.curing.curves["C3"].fit.curve == "logarithmic"
    assert any(run.calculation.name == "nurse_saul" for run in job.curing.runs)


def test_without_cylinders_the_estimate_is_said_to_be_one(copy):
    for name in ("cylinders", "cubes", "history", "climate"):
        (copy / f"{name}.csv").unlink()
    job = compute(copy)
    assert any("first estimate" in note for note in job.curing.notes)
    assert any(run.calculation.name == "strength_aci209" for run in job.curing.runs)
    assert "heat model" in job.curing.decisions["placing T1: opening"]
    opened = [check for check in job.curing.checks if check.title.startswith("strength at opening")]
    assert opened and all(check.verdict == "not covered" and "estimate" in check.why for check in opened)
    assert not any("): open. The required" in said for said in job.curing.decisions.values())
    assert drawn.calendar(job.curing).picture == "" and "No cylinders" in detail.curves(job.curing)


def test_a_job_without_the_section_still_carries(copy):
    text = (copy / "job.toml").read_text(encoding="utf-8")
    first, last = text.index("[curing]"), text.index("# Limits that replace")
    (copy / "job.toml").write_text(text[:first] + text[last:], encoding="utf-8")
    for name in TABLES:
        (copy / f"{name}.csv").unlink()
    job = compute(copy)
    assert job.curing.inputs.curing is None and job.curing not in job.subjects
    assert sheet.schedule(job.curing) == detail.measures(job.curing) == ""
    assert drawn.calendar(job.curing).picture == "" and not drawn.calendar(job.curing).why


def test_changes_for_review_reach_the_tables(copy):
    def placed(changes=None):
        return compute(copy, changes).curing["N1"]

    plain = placed()
    before = plain.governing.at(6.5)[2]
    warmer = placed({"mix.concretes.R1.temperature": "24 °C"}).governing.at(6.5)[2]
    assert placed({"placements.N1.slab_temperature": "14 °C"}).governing.at(6.5)[2] > before
    insulated = placed({"curing.heat.cover": "1.0 m^2*K/W"}).temperatures.coldest.min()
    assert warmer > before
    assert insulated > plain.temperatures.coldest.min() + 0.5


def test_daily_lows_and_highs_stand_in_for_hours(copy):
    lines = (copy / "weather.csv").read_text(encoding="utf-8").splitlines()
    (copy / "weather.csv").write_text(
        "\n".join(line for line in lines if not line.startswith("2026-04")), encoding="utf-8"
    )
    days = ["date,low [°C],high [°C],morning humidity [%],afternoon humidity [%],wind [km/h],noon sun [W/m^2]"]
    days += [f"2026-04-{day},4.5,14.5,66,42,18,600" for day in range(14, 22)]
    (copy / "days.csv").write_text("\n".join(days), encoding="utf-8")
    one = compute(copy).curing["N1"]
    lows = [curing_rows.celsius(hour.air) for hour in one.air if hour.time.hour == 5]
    highs = [curing_rows.celsius(hour.air) for hour in one.air if hour.time.hour == 15]
    assert lows == pytest.approx([4.5] * 7) and highs == pytest.approx([14.5] * 7)
    (copy / "days.csv").write_text("\n".join([days[0], days[1].replace("14.5", "3.5")]), encoding="utf-8")
    assert "days.csv, row 2: the high is below the low" in fault(copy)


# --- the year


def test_share_of_nights_that_work(jobs):
    job = jobs["SI"]
    one = job.curing["N1"]
    starts = np.arange(0, 8760, 24) + 21
    year = curing_year.run_starts(job.curing, one, starts)
    by_month = year.shares(year.works, np.array([21]))[:, 0]
    # July and January of the invented place
    assert by_month[6] == 1.0 and by_month[0] == by_month.min() < 0.1
    assert (year.works <= year.strong).all()
    warmer = curing_year.run_starts(job.curing, one, starts, concrete=28.0)
    assert warmer.strong.sum() >= year.strong.sum()


# --- faults


def test_a_gap_in_the_history_is_refused_and_repaired(copy):
    lines = (copy / "history.csv").read_text(encoding="utf-8").splitlines()
    cut = next(i for i, line in enumerate(lines) if line.startswith("2025-08-17 03:00"))
    broken = lines[:cut] + lines[cut + 2 :]
    (copy / "history.csv").write_text("\n".join(broken) + "\n", encoding="utf-8")
    assert "history.csv, row" in (said := fault(copy))
    assert f"row {cut + 1}: a gap of 3 h between 2025-08-17 02:00 and 2025-08-17 05:00" in said
    (copy / "history.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert compute(copy).curing["T1"].measured is not None


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        ("weather.csv", "2026-04-15 02:00,", "2026-04-15 02:30,", "weather.csv, row"),
        (
            "weather.csv",
            "2026-04-15 02:00,",
            "2026-04-15 01:00,",
            "weather.csv, row 61: time “2026-04-15 01:00” is already in row 60",
        ),
        (
            "history.csv",
            "2025-08-17 03:00,",
            "2025-08-17 02:00,",
            "history.csv, row 15: time “2025-08-17 02:00” is already in row 14",
        ),
        ("placements.csv", "night-1,P1; P2", "night-1,P1; P9", "the survey gives no patch “P9”"),
        ("placements.csv", "night-1,P1; P2,,", "night-1,P1; P2,100,", "not both or neither"),
        (
            "placements.csv",
            "2026-04-14 23:30,2026-04-15 06:00",
            "2026-04-14 23:30,2026-04-14 22:00",
            "do not follow one another",
        ),
        ("placements.csv", "2026-04-14 22:30", "14.4.2026 22 h", "wanted a local date and time"),
        ("placements.csv", "2026-04-15 06:00,,", "2026-04-15 06:00,180,", "wanted a temperature from 0 °C to 60 °C"),
        ("job.toml", 'time_zone = "America/Chicago"', 'time_zone = "Nowhere/At all"', "is no time zone"),
        ("job.toml", 'time_zone = "America/Chicago"', 'time_zone = "Etc/GMT+6"', "is an offset or a short name"),
        ("job.toml", 'cement = "III"  # type', 'cement = "IX"  # type', "wanted 'I' or 'III'"),
        ("job.toml", 'curve = "hyperbolic"', 'curve = "cubic"', "wanted 'hyperbolic'"),
        ("cylinders.csv", "Y3,48,23,", "Y3,20,23,", "does not come after"),
        ("climate.csv", "July,18,", "July,31,", "climate.csv, row 8"),
    ],
)
def test_faults_are_named(copy, name, old, new, words):
    edit(copy, name, old, new)
    assert words in fault(copy)


def test_a_placing_that_opens_after_the_record_of_the_weather_is_not_covered(copy):
    edit(copy, "placements.csv", "2026-04-20 06:00", "2026-04-24 06:00")
    found = compute(copy).curing
    assert [one.name for one in found] == ["T1", "N1", "N2", "N3"] and list(found.unrecorded) == ["W1"]
    check = next(one for one in found.checks if one.item == "placing W1")
    assert check.verdict == "not covered" and "it ends 2026-04-23 08:00, before 2026-04-24 06:00" in check.why


def test_a_history_that_ends_before_the_opening_is_refused(copy):
    lines = (copy / "history.csv").read_text(encoding="utf-8").splitlines()
    (copy / "history.csv").write_text("\n".join(lines[:-4]) + "\n", encoding="utf-8")
    assert (
        "history.csv: ends 2025-08-18 02:00, before the opening of T1 that is asked about (2025-08-18 05:00)"
        in fault(copy)
    )


def test_humidity_as_a_ratio_is_refused(copy):
    lines = (copy / "weather.csv").read_text(encoding="utf-8").splitlines()
    cells = lines[10].split(",")
    cells[2] = "0.6"
    lines[10] = ",".join(cells)
    (copy / "weather.csv").write_text("\n".join(lines), encoding="utf-8")
    assert "weather.csv, row 11, column humidity [%]: found “0.6 %”, wanted a share from 2 % to 100 %" in fault(copy)


@pytest.mark.parametrize(("name", "row", "column"), [("weather.csv", 60, 1), ("history.csv", 20, 1)])
def test_fahrenheit_among_celsius_is_refused(copy, name, row, column):
    lines = (copy / name).read_text(encoding="utf-8").splitlines()
    cells = lines[row - 1].split(",")
    cells[column] = f"{float(cells[column]) * 1.8 + 32:.1f}"
    lines[row - 1] = ",".join(cells)
    (copy / name).write_text("\n".join(lines), encoding="utf-8")
    said = fault(copy)
    assert f"{name}, row {row}" in said and ("°F?" in said or "wanted a temperature" in said)


def test_a_missing_hour_of_weather_is_named(copy):
    lines = (copy / "weather.csv").read_text(encoding="utf-8").splitlines()
    place = next(i for i, line in enumerate(lines) if line.startswith("2026-04-15 02:00"))
    (copy / "weather.csv").write_text("\n".join(lines[:place] + lines[place + 1 :]), encoding="utf-8")
    assert f"weather.csv, row {place + 1}: 2026-04-15 03:00 follows 2026-04-15 01:00" in (said := fault(copy))
    assert "fill in 2026-04-15 02:00" in said


def test_cylinders_that_do_not_rise_are_refused(copy):
    lines = (copy / "cylinders.csv").read_text(encoding="utf-8").splitlines()
    cells = lines[3].split(",")
    lines[3] = ",".join([*cells[:3], "12.0; 12.5", *cells[4:]])
    (copy / "cylinders.csv").write_text("\n".join(lines), encoding="utf-8")
    assert "cylinders.csv, row 4: the mean" in fault(copy)


@pytest.mark.parametrize(
    ("start", "words"), [("2026-03-28 21:00", "change before"), ("2026-10-24 21:00", "change before")]
)
def test_a_clock_change_in_the_night_is_refused(start, words):
    # Central European time: clocks go forward on 29 March and back on 25 October 2026
    import zoneinfo

    first = work.read_moment(start)
    row = work.PlacementRow.model_validate(
        {"placement": "X", "patches": "", "thickness": "100 mm", "start": start, "end": first + datetime.timedelta(hours=1),
         "opening": first + datetime.timedelta(hours=9), "concrete_temperature": "20 °C", "slab_temperature": "10 °C"}
    )  # fmt: skip
    weather = [
        curing_rows.WeatherRow.model_validate(
            {
                "time": first + datetime.timedelta(hours=i),
                "air": "10 °C",
                "humidity": "60 %",
                "wind": "5 km/h",
                "sun": "0 W/m^2",
            }
        )
        for i in range(10)
    ]
    faults: list[str] = []
    curing_inputs._check_clock("placements.csv, row 2", row, weather, zoneinfo.ZoneInfo("Europe/Berlin"), faults)
    assert words in faults[0] and "Europe/Berlin" in faults[0]
    quiet: list[str] = []
    curing_inputs._check_clock("placements.csv, row 2", row, weather, zoneinfo.ZoneInfo("Etc/GMT+6"), quiet)
    assert not quiet
