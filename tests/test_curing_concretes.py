"""Each concrete has a strength-maturity curve of its own; and the limits that go with the concrete and the weather."""

import datetime
import shutil

import numpy as np
import pytest
from samples import DEMO, demo, refusal

from deckcalc import Q, curing, mix
from deckcalc.core.check import NOT_COVERED
from deckcalc.core.units import InputError
from deckcalc.curing import sheet
from deckcalc.curing.design.strength import NO_CURVE
from deckcalc.curing.formulas.placing import is_cold_weather
from deckcalc.curing.formulas.regression import NoCurve
from deckcalc.curing.sheet import drawings as drawn
from deckcalc.job.file import read_job
from deckcalc.job.order import Job


@pytest.fixture
def copy(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(DEMO["SI"], place)
    return place


def with_column(place, table, column, cells):
    """Add a column to a table of a job folder."""
    path = place / f"{table}.csv"
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    path.write_text(
        "\n".join([f"{head},{column}", *(f"{row},{cell}" for row, cell in zip(rows, cells, strict=True))]) + "\n",
        encoding="utf-8",
    )


def without_column(place, table, column):
    """Take a column out of a table of a job folder."""
    path = place / f"{table}.csv"
    head, *rows = [line.rsplit(",", 1) for line in path.read_text(encoding="utf-8").splitlines()]
    assert head[1] == column
    path.write_text("\n".join(row[0] for row in [head, *rows]) + "\n", encoding="utf-8")


def with_second(place, concrete="C5", factor=2):
    """Give a second concrete of the job cylinders that are so much stronger than those of the first at every age."""
    path = place / "cylinders.csv"
    more = []
    for row in path.read_text(encoding="utf-8").splitlines()[1:]:
        name, age, bath, strengths, _ = row.split(",")
        more.append(
            f"R{name},{age},{bath},"
            + "; ".join(str(factor * float(one)) for one in strengths.split(";"))
            + f",{concrete}"
        )
    path.write_text(path.read_text(encoding="utf-8") + "\n".join(more) + "\n", encoding="utf-8")
    return Job(read_job(place)).curing


def opening_check(placings, name):
    """Return the check of the strength at opening of a placing."""
    return next(c for c in placings.checks if c.item == f"placing {name}" and c.title.startswith("strength at opening"))


def test_each_concrete_is_fitted_by_its_own_cylinders(copy):
    found, alone = with_second(copy), demo("SI").curing
    ages, one = np.array([12.0, 40.0, 160.0]), alone.curves["C3"].fit
    assert found.curves["C3"].fit.strength(ages) == pytest.approx(one.strength(ages), rel=1e-9)
    assert found.curves["C5"].fit.strength(ages) == pytest.approx(2 * one.strength(ages), rel=1e-5)
    assert found["T1"].curve is found["N1"].curve is found.curves["C3"] and found["N2"].curve is found.curves["C5"]
    # the placing of the second concrete opens by its own curve, the others as before
    assert found["N2"].computed and not alone["N2"].computed
    assert opening_check(found, "N2").verdict == "satisfied" and opening_check(alone, "N2").verdict == NOT_COVERED
    for name in ("T1", "N1"):
        assert found[name].opens == alone[name].opens
    said = sheet.curves(found)
    assert "### Curve of C3" in said and "### Curve of C5" in said
    assert drawn.cylinders(found).png[:4] == b"\x89PNG"


def test_a_concrete_without_cylinders_has_an_estimate_that_opens_no_lane():
    found = demo("SI").curing
    assert found["N2"].curve.estimated and found["N2"].curve.fit.f_28 == found["N2"].design.strength.m_as("MPa")
    check = opening_check(found, "N2")
    assert check.demand is None and check.verdict == NOT_COVERED
    assert "a first estimate opens no lane (its type of cement, an estimate from print)" in check.why
    said = found.decisions["placing N2: form of patch P4"]
    assert "an estimate opens and strikes nothing" in said
    assert "first estimate" in sheet.curves(found) and "C5: its type of cement" in found.notes[1]


@pytest.mark.parametrize("of", ["neat", "neat and extended"])
def test_a_makers_table_is_an_estimate_of_the_concrete_that_he_tested(copy, of):
    """Neat mortar says nothing of the extended one, which then has no strength at any age."""
    text = (copy / "job.toml").read_text(encoding="utf-8")
    text = text.replace('partial_depth = "C3"', 'partial_depth = "R1"').replace(
        'strengths_of = "neat"', f'strengths_of = "{of}"'
    )
    (copy / "job.toml").write_text(text, encoding="utf-8")
    found = Job(read_job(copy)).curing
    one, check = found["N1"], opening_check(found, "N1")
    assert one.design.name == "R1" and check.verdict == NOT_COVERED
    peak = next(c for c in found.checks if c.item == one.item and c.title.startswith("highest temperature"))
    assert peak.verdict == NOT_COVERED and "nobody states the heat of R1" in peak.why
    if of == "neat":
        assert one.curve is None and one.opens.sure is None
        assert "no hour is computed: R1 has no cylinders of its own" in found.decisions["placing N1: opening"]
        table = sheet.opening_table(found)
        assert NO_CURVE in table and "nan" not in table + sheet.each_item(found) + sheet.cylinder_schedule(found)
        assert drawn.strength(found).png[:4] == b"\x89PNG"
    else:
        assert one.curve.estimated and one.opens.sure is not None
        assert one.curve.fit.strength(np.array([1.9, 2, 4, 24, 100])) == pytest.approx(
            [0, 17.24, 24.13, 37.92, 37.92], abs=0.01
        )
        assert "the maker's table, an estimate (R1)" in found.decisions["placing N1: opening"]


def test_the_opening_by_a_makers_table_is_written_out(copy):
    """Where the opening lies within the ages of the table, its strength stands on the sheet by a declared calculation."""
    text = (copy / "job.toml").read_text(encoding="utf-8")
    text = text.replace('partial_depth = "C3"', 'partial_depth = "R1"').replace(
        'strengths_of = "neat"', 'strengths_of = "neat and extended"'
    )
    (copy / "job.toml").write_text(text.replace("24 h 37.9212 MPa", "96 h 42 MPa"), encoding="utf-8")
    job = Job(read_job(copy))
    run = next(run for run in job.curing.runs if run.calculation is mix.strength_at_time and "N1" in run.item)
    at = job.curing["N1"].governing.at(job.curing["N1"].opening_hour)
    assert run.result.S.m_as("MPa") == pytest.approx(at[2], rel=1e-3)
    assert "maker's table" in job.written.by_hand(job.curing, run.item)


@pytest.mark.parametrize(
    ("table", "cells", "says"),
    [
        ("cylinders", ["", "C3", "C3", "C3", "C3"], "cylinders.csv, row 2, column concrete: empty; the job has concretes C3, C5"),
        ("cylinders", ["C3", "C3", "C3", "C3", "C5"], "2 strengths of C5, wanted at least five"),
        ("cylinders", ["a b!", "C3", "C3", "C3", "C3"], "column concrete: found “a b!”"),
        ("cylinders", ["C3", "C3", "C3", "C3", "C9"], "row 6, column concrete: there is no concrete “C9”"),
        ("placements", ["", "", ""], "placements.csv, row 2, placement T1, column concrete: empty; say of which concrete the trial slab is"),
        ("placements", ["C9", "", ""], "there is no concrete “C9”; the concretes of the job are C3, C5"),
        ("placements", ["C3", "C5", ""], "placement N1, column concrete: found “C5”, and its patches take C3"),
    ],
)  # fmt: skip
def test_a_table_that_leaves_a_concrete_open_is_named(copy, table, cells, says):
    without_column(copy, table, "concrete")
    with_column(copy, table, "concrete", cells)
    assert says in refusal(copy)


def test_a_placing_of_two_concretes_is_refused(copy):
    path = copy / "placements.csv"
    path.write_text(
        path.read_text(encoding="utf-8").replace("P1; P2; P3", "P1; P2; P3; P5").replace(",P4,", ",P4; P6,"),
        encoding="utf-8",
    )
    said = refusal(copy)
    assert "placement N2, column patches: P4 takes C5, P6 takes C3; a placing is of one concrete" in said
    one = Job(read_job(copy, {"mix.patches.P4": "C3"}))
    assert one.curing["N2"].design.name == "C3"


def test_no_curve_knows_no_strength_at_any_age():
    none = NoCurve()
    assert np.isnan(none.strength(np.array([1.0, 100.0]))).all() and np.isnan(none.low(5.0))


def test_cubes_stand_by_the_name_of_their_concrete():
    found = demo("SI").curing
    assert list(found.cubes) == ["C3"] and "### Cubes of C3" in sheet.cubes(found)


def edited(place, old, new):
    """Return curing of a copy of the job with a line changed."""
    path = place / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")
    return Job(read_job(place)).curing


def test_a_concrete_that_bleeds_little_is_held_to_half_the_evaporation(copy):
    found = edited(copy, 'evaporation = "Menzel"', 'bleeding = "little"\nevaporation = "Menzel"')
    drying = {c.item: c for c in found.checks if c.title.startswith("evaporation at")}
    assert drying["placing N1"].verdict == "not satisfied"  # 0.71 kg/m²/h, satisfied at the usual limit
    assert drying["placing N1"].limit.value.m_as("kg/m²/h") == pytest.approx(0.5)
    assert "C3 bleeds little" in sheet.drying(found) and "C3 bleeds as usual" in sheet.drying(demo("SI").curing)


def test_silica_fume_makes_a_concrete_bleed_little(copy):
    found = edited(copy, '# silica_fume = "7 %"', 'silica_fume = "7 %"')
    assert found.little_bleeding(found.concretes["C5"]) and not found.little_bleeding(found.concretes["C3"])
    limits = {c.item: c.limit.name for c in found.checks if c.title.startswith("evaporation at")}
    assert limits == {"placing T1": "evaporation", "placing N1": "evaporation", "placing N2": "evaporation_low_bleed"}
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


def test_a_temperature_as_placed_is_compared_with_that_as_mixed(copy):
    title = "temperature as placed away from that as mixed"
    assert next(c for c in demo("SI").curing.checks if c.title == title).verdict == "not satisfied"
    table = copy / "placements.csv"
    table.write_text(table.read_text(encoding="utf-8").replace(",18,9.5", ",,9.5"), encoding="utf-8")
    found = Job(read_job(copy))
    assert not [c for c in found.curing.checks if c.title == title]
    assert found.curing["N1"].concrete == found.mix["C3"].temperature


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
