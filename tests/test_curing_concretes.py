"""Each concrete has a strength-maturity curve of its own; and the limits that go with the concrete and the weather."""

import csv
import datetime
import shutil

import numpy as np
import pytest
from samples import DEMO, demo, refusal

from deckcalc import Q, curing, mix
from deckcalc.core.check import NOT_COVERED
from deckcalc.core.units import InputError
from deckcalc.curing.design.strength import NO_CURVE
from deckcalc.curing.formulas.placing import is_cold_weather
from deckcalc.curing.formulas.regression import NoCurve
from deckcalc.curing.sheet import cylinder_schedule, detail
from deckcalc.curing.sheet import drawings as drawn
from deckcalc.job.file import read_job
from deckcalc.job.order import Job


@pytest.fixture
def copy(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(DEMO["SI"], place)
    return place


def with_cells(place, table, column, cells):
    """Write cells of a column of a table of a job folder, by the number of the row."""
    path = place / f"{table}.csv"
    rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
    for number, cell in cells.items():
        rows[number - 1][rows[0].index(column)] = cell
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)


def without_cylinders(place, concrete):
    """Take the cylinders of a concrete out of a job folder."""
    path = place / "cylinders.csv"
    rows = path.read_text(encoding="utf-8").splitlines()
    kept = [row for row in rows if not row.endswith(f",{concrete}")]
    assert len(kept) < len(rows)
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")


def with_twice(place):
    """Give C5, in place of its own cylinders, some that are twice as strong as those of C3 at every age."""
    without_cylinders(place, "C5")
    path = place / "cylinders.csv"
    more = []
    for row in path.read_text(encoding="utf-8").splitlines()[1:]:
        name, age, bath, strengths, concrete = row.split(",")
        if concrete == "C3":
            more.append(
                f"Z{name},{age},{bath}," + "; ".join(str(2 * float(one)) for one in strengths.split(";")) + ",C5"
            )
    path.write_text(path.read_text(encoding="utf-8") + "\n".join(more) + "\n", encoding="utf-8")
    return Job(read_job(place)).curing


def opening_check(placings, name):
    """Return the check of the strength at opening of a placing."""
    return next(c for c in placings.checks if c.item == f"placing {name}" and c.title.startswith("strength at opening"))


def test_each_concrete_is_fitted_by_its_own_cylinders(copy):
    found, alone = with_twice(copy), demo("SI").curing
    ages, one = np.array([12.0, 40.0, 160.0]), alone.curves["C3"].fit
    assert found.curves["C3"].fit.strength(ages) == pytest.approx(one.strength(ages), rel=1e-9)
    assert found.curves["C5"].fit.strength(ages) == pytest.approx(2 * one.strength(ages), rel=1e-5)
    assert {made.name: made.curve.concrete for made in found} == {
        "T1": "C3", "N1": "R1", "N2": "R1", "N3": "R1", "W1": "C5",
    }  # fmt: skip
    # the placing of the concrete with other cylinders opens by its own curve, the others as before
    assert found["W1"].computed and opening_check(found, "W1").verdict == "satisfied"
    assert found["W1"].opens.sure < alone["W1"].opens.sure
    for name in ("T1", "N1", "N2", "N3"):
        assert found[name].opens == alone[name].opens
    said = detail.curves(found)
    assert "**Curve of C3**" in said and "**Curve of C5**" in said
    assert drawn.cylinders(found).png[:4] == b"\x89PNG"


def test_a_concrete_without_cylinders_has_an_estimate_that_opens_no_lane(copy):
    without_cylinders(copy, "C5")
    found = Job(read_job(copy)).curing
    assert demo("SI").curing["W1"].computed and not found["W1"].computed
    assert found["W1"].curve.estimated and found["W1"].curve.fit.f_28 == found["W1"].design.strength.m_as("MPa")
    check = opening_check(found, "W1")
    assert check.demand is None and check.verdict == NOT_COVERED
    assert "a first estimate opens no lane (its type of cement, an estimate from print)" in check.why
    said = found.decisions["placing W1: form of patch P4"]
    assert "an estimate opens no lane and strips no form" in said
    assert "first estimate" in detail.curves(found) and "C5: its type of cement" in found.notes[1]


@pytest.mark.parametrize("of", ["neat", "neat and extended"])
def test_a_makers_table_is_an_estimate_of_the_concrete_that_he_tested(copy, of):
    """Neat mortar says nothing of the extended one, which then has no strength at any age."""
    text = (copy / "job.toml").read_text(encoding="utf-8")
    assert 'strengths_of = "neat and extended"' in text
    (copy / "job.toml").write_text(text.replace('"neat and extended"', f'"{of}"'), encoding="utf-8")
    without_cylinders(copy, "R1")
    found = Job(read_job(copy)).curing
    one, check = found["N1"], opening_check(found, "N1")
    assert one.design.name == "R1" and check.verdict == NOT_COVERED
    peak = next(c for c in found.checks if c.item == one.item and c.title.startswith("highest temperature"))
    assert peak.verdict == NOT_COVERED and "nobody states the heat of R1" in peak.why
    if of == "neat":
        assert one.curve is None and one.opens.sure is None
        assert "no hour is computed: R1 has no cylinders of its own" in found.decisions["placing N1: opening"]
        table = detail.opening_table(found)
        assert NO_CURVE in table and "nan" not in table + detail.each_item(found) + cylinder_schedule(found)
        assert drawn.strength(found).png[:4] == b"\x89PNG"
    else:
        assert one.curve.estimated and one.opens.sure is not None
        assert one.curve.fit.strength(np.array([1.9, 2, 3, 24, 100])) == pytest.approx(
            [0, 17.24, 24.13, 37.92, 37.92], abs=0.01
        )
        assert "the manufacturer's table, an estimate (R1)" in found.decisions["placing N1: opening"]


def test_the_opening_by_a_makers_table_is_written_out(copy):
    """Where the opening lies within the ages of the table, its strength stands on the sheet by a declared calculation."""
    without_cylinders(copy, "R1")
    job = Job(read_job(copy))
    run = next(run for run in job.curing.runs if run.calculation is mix.strength_at_time and "N1" in run.item)
    at = job.curing["N1"].governing.at(job.curing["N1"].opening_hour)
    assert run.result.S.m_as("MPa") == pytest.approx(at[2], rel=1e-3)
    assert "manufacturer's table" in job.written.by_hand(job.curing, run.item)


@pytest.mark.parametrize(
    ("table", "cells", "says"),
    [
        ("cylinders", {2: ""}, "cylinders.csv, row 2, column concrete: empty; the job has concretes C3, C5, ready-mix, R1"),
        ("cylinders", {15: "ready-mix"}, "2 strengths of ready-mix, wanted at least five"),
        ("cylinders", {2: "a b!"}, "column concrete: found “a b!”"),
        ("cylinders", {6: "C9"}, "row 6, column concrete: there is no concrete “C9”"),
        ("placements", {2: ""}, "placements.csv, row 2, placement T1, column concrete: empty; say of which concrete the trial slab is"),
        ("placements", {2: "C9"}, "there is no concrete “C9”; the concretes of the job are C3, C5, ready-mix, R1"),
        ("placements", {2: "C3", 3: "C5"}, "placement N1, column concrete: found “C5”, and its patches take R1"),
    ],
)  # fmt: skip
def test_a_table_that_leaves_a_concrete_open_is_named(copy, table, cells, says):
    with_cells(copy, table, "concrete", cells)
    assert says in refusal(copy)


def test_a_placing_of_two_concretes_is_refused(copy):
    with_cells(copy, "placements", "patches", {6: "P4; P7"})
    said = refusal(copy)
    assert "placement W1, column patches: P4 takes C5, P7 takes R1; a placing is of one concrete" in said
    one = Job(read_job(copy, {"mix.patches.P4": "R1"}))
    assert one.curing["W1"].design.name == "R1"


def test_no_curve_knows_no_strength_at_any_age():
    none = NoCurve()
    assert np.isnan(none.strength(np.array([1.0, 100.0]))).all() and np.isnan(none.low(5.0))


def test_cubes_stand_by_the_name_of_their_concrete():
    found = demo("SI").curing
    assert list(found.cubes) == ["C3"] and "**Cubes of C3**" in detail.cubes(found)


def edited(place, old, new, changes=None):
    """Return curing of a copy of the job with a line changed, and inputs changed beside it."""
    path = place / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")
    return Job(read_job(place, changes)).curing


def test_a_concrete_that_bleeds_little_is_held_to_half_the_evaporation(copy):
    warm = {"mix.concretes.R1.temperature": "26 °C"}
    title = "evaporation at its worst hour of placing, 23:00"
    usual = next(c for c in Job(read_job(copy, warm)).curing.checks if (c.item, c.title) == ("placing N1", title))
    found = edited(copy, 'evaporation = "Menzel"', 'bleeding = "little"\nevaporation = "Menzel"', warm)
    little = next(c for c in found.checks if (c.item, c.title) == ("placing N1", title))
    assert little.demand == usual.demand
    assert (usual.verdict, little.verdict) == ("satisfied", "not satisfied")
    assert little.limit.value.m_as("kg/m²/h") == pytest.approx(usual.limit.value.m_as("kg/m²/h") / 2)
    assert "R1 bleeds little" in detail.drying(found) and "R1 bleeds as usual" in detail.drying(demo("SI").curing)


def test_silica_fume_makes_a_concrete_bleed_little(copy):
    found = edited(copy, '# silica_fume = "7 %"', 'silica_fume = "7 %"')
    assert found.little_bleeding(found.concretes["C5"]) and not found.little_bleeding(found.concretes["C3"])
    limits = {c.item: c.limit.name for c in found.checks if c.title.startswith("evaporation at")}
    assert limits.pop("placing W1") == "evaporation_low_bleed"
    assert limits == dict.fromkeys(("placing T1", "placing N1", "placing N2", "placing N3"), "evaporation")
    assert not demo("SI").curing.little_bleeding(demo("SI").mix["C5"])


HOUR = datetime.timedelta(hours=1)


def week(*days):
    """Return hourly readings of days that are a low for six hours and a high for the rest."""
    start = datetime.datetime(2026, 1, 5)
    return [
        (start + (24 * day + hour) * HOUR, low if hour < 6 else high)
        for day, (low, high) in enumerate(days)
        for hour in range(24)
    ]


@pytest.mark.parametrize(
    ("days", "newer", "older"),
    [
        ([(5.1, 9)] * 5, False, False), ([(5.0, 9)] * 5, True, False),  # to 5 °C, and not quite
        ([(0, 9.9)] * 4, True, True), ([(0, 9.9)] * 3, True, True),  # three days cannot show it: the newer holds
        ([(0, 9.9)] * 3 + [(2, 9)] + [(0, 9.9)] * 3, True, False),  # a mean of 5.5 °C between
        ([(-1.5, 10.1)] * 5, True, False), ([(-1.5, 10.0)] * 5, True, True),  # more than half of the day above 10 °C
    ],
)  # fmt: skip
def test_cold_weather_by_both_definitions(days, newer, older):
    assert is_cold_weather(week(*days), 5.0, "ACI 306R-16") is newer
    assert is_cold_weather(week(*days), 5.0, "ACI 306.1-90") is older


def test_the_older_definition_may_be_chosen(copy):
    found = edited(copy, 'evaporation = "Menzel"', 'cold_weather = "ACI 306.1-90"\nevaporation = "Menzel"')
    assert found.choices.cold_weather == "ACI 306.1-90"


def test_restraint_has_one_value(copy):
    """Left out, it is that of the stiffness; stated below that, it is a failed check."""
    title = "degree of restraint as stated"
    of_slab = next(run.result for run in demo("SI").curing.runs if run.calculation is curing.restraint)
    used = next(run.arguments["R"] for run in demo("SI").curing.runs if run.calculation is curing.restrained_stress)
    assert used == of_slab and not [c for c in demo("SI").curing.checks if c.title == title]
    found = edited(copy, '# restraint = "0.8"', 'restraint = "0.6"')
    assert next(c for c in found.checks if c.title == title).verdict == "not satisfied"
    (copy / "job.toml").write_text(
        (copy / "job.toml").read_text(encoding="utf-8").replace('restraint = "0.6"', 'restraint = "0.95"'),
        encoding="utf-8",
    )
    found = Job(read_job(copy)).curing
    assert next(c for c in found.checks if c.title == title).verdict == "satisfied"


def test_a_temperature_as_placed_is_compared_with_that_as_mixed():
    title = "temperature as placed away from that as mixed"
    left_out = demo("SI")
    assert not [c for c in left_out.curing.checks if c.title == title]
    assert left_out.curing["N1"].concrete == left_out.mix["R1"].temperature == Q(20, "degC")
    for stated, verdict in (("16 °C", "not satisfied"), ("20 °C", "satisfied")):
        changes = {"mix.concretes.R1.temperature": "22 °C", "placements.N1.concrete_temperature": stated}
        found = Job(read_job(DEMO["SI"], changes)).curing
        assert [(c.item, c.verdict) for c in found.checks if c.title == title] == [("placing N1", verdict)]


def test_the_heat_of_hydration_warms_the_concrete_by_its_own_density():
    for system in ("SI", "US"):
        job = demo(system)
        runs = {run.item.split(" at ")[0]: run for run in job.curing.runs if run.calculation is curing.adiabatic_rise}
        assert {job.curing[item.split()[1]].design.name for item in runs} == {"C3", "C5"}
        for item, run in runs.items():
            design = job.curing[item.split()[1]].design
            assert run.arguments["rho"] == design.density and run.arguments["C"] == design.cementitious
            assert job.curing.capacity(design) == pytest.approx(
                (design.density * job.settings.curing.heat.specific_heat).m_as("J/m³/K")
            )


def test_a_restraint_that_is_none_is_refused():
    with pytest.raises(InputError, match="h_o"):
        curing.restraint(Q(50, "mm"), Q(0, "mm"), 1)
