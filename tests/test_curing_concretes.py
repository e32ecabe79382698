"""Each concrete has a strength-maturity curve of its own; and the limits that go with the concrete and the weather."""

import datetime
import shutil

import numpy as np
import pytest
from samples import DEMO, demo, refusal

from deckcalc import Q, curing
from deckcalc.core.units import InputError
from deckcalc.curing import sheet
from deckcalc.curing.design.curves import ONLY
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


def two_concretes(place, placed=("normal", "rapid")):
    """Give the job a second concrete that is twice as strong as the first at every age."""
    rows = (place / "cylinders.csv").read_text(encoding="utf-8").splitlines()
    double = []
    for row in rows[1:]:
        name, age, bath, strengths = row.split(",")
        double.append(f"R{name},{age},{bath}," + "; ".join(str(2 * float(one)) for one in strengths.split(";")))
    (place / "cylinders.csv").write_text("\n".join([*rows, *double]) + "\n", encoding="utf-8")
    with_column(place, "cylinders", "concrete", ["normal"] * (len(rows) - 1) + ["rapid"] * len(double))
    with_column(place, "placements", "concrete", placed)
    return Job(read_job(place)).curing


def test_each_concrete_is_fitted_by_its_own_cylinders(copy):
    found, alone = two_concretes(copy), demo("SI").curing
    assert list(found.curves) == ["normal", "rapid"] and list(alone.curves) == [ONLY]
    ages = np.array([12.0, 40.0, 160.0])
    assert found.curves["normal"].fit.strength(ages) == pytest.approx(alone.curves[ONLY].fit.strength(ages), rel=1e-9)
    assert found.curves["rapid"].fit.strength(ages) == pytest.approx(
        2 * alone.curves[ONLY].fit.strength(ages), rel=1e-5
    )
    assert found["T1"].curve is found.curves["normal"] and found["N1"].curve is found.curves["rapid"]
    # the placing of the second concrete opens by its own curve, the other as before
    assert found["N1"].opens.sure < alone["N1"].opens.sure
    assert found["T1"].opens.sure == pytest.approx(alone["T1"].opens.sure, rel=1e-9)
    said = sheet.curves(found)
    assert "### Curve of normal" in said and "### Curve of rapid" in said
    assert drawn.cylinders(found).png[:4] == b"\x89PNG"


def test_the_only_concrete_needs_no_name(copy):
    count = len((copy / "cylinders.csv").read_text(encoding="utf-8").splitlines()) - 1
    with_column(copy, "cylinders", "concrete", ["rapid"] * count)
    found = Job(read_job(copy)).curing
    assert found["N1"].opens == demo("SI").curing["N1"].opens and list(found.curves) == ["rapid"]


def test_a_concrete_without_a_curve_gets_no_time_to_open(copy):
    found = two_concretes(copy, ("normal", "magnesia"))
    one, other = found["N1"], found["T1"]
    assert one.curve is None and one.opens.expected is None and one.opens.sure is None
    check = next(c for c in found.checks if c.item == one.item and c.title.startswith("strength at opening"))
    assert check.verdict == "outside the method" and "no strength-maturity curve" in check.why
    said = found.decisions["placing N1: opening"]
    assert "no hour is computed" in said and "magnesia" in said
    assert "not within the record: keep the form in place" in found.decisions["placing N1: form of patch P4"]
    assert "cylinders cured with it" in found.decisions["placing N1: frost"]
    assert not any("nan" in word for word in found.decisions.values())
    table = sheet.opening_table(found)
    assert (
        NO_CURVE in table
        and "nan" not in table
        and "nan" not in sheet.each_item(found) + sheet.cylinder_schedule(found)
    )
    assert drawn.strength(found).png[:4] == b"\x89PNG"
    # the heat model and the other placing stand as before
    assert one.temperatures.mean == pytest.approx(demo("SI").curing["N1"].temperatures.mean)
    assert other.opens == demo("SI").curing["T1"].opens


def test_a_named_concrete_does_not_take_the_curve_of_an_unnamed_one(copy):
    with_column(copy, "placements", "concrete", ("", "rapid"))
    found = Job(read_job(copy)).curing
    assert found["T1"].curve is found.curves[ONLY] and found["N1"].curve is None


def test_no_curve_knows_no_strength_at_any_age():
    none = NoCurve()
    assert np.isnan(none.strength(np.array([1.0, 100.0]))).all() and np.isnan(none.low(5.0))


def test_cubes_of_two_concretes_stand_apart(copy):
    count = len((copy / "cubes.csv").read_text(encoding="utf-8").splitlines()) - 1
    with_column(copy, "cubes", "concrete", ["normal"] * count)
    found = Job(read_job(copy)).curing
    assert found.cubes["normal"].energy == demo("SI").curing.cubes[ONLY].energy
    assert "### Cubes of normal" in sheet.cubes(found)


@pytest.mark.parametrize(
    ("cells", "placed", "says"),
    [
        (["", "a", "a", "a", "a"], None, "cylinders.csv, row 2, column concrete: empty"),
        (["a", "a", "a", "b", "b"], ("a", ""), "placements.csv, row 3, column concrete: empty; cylinders.csv has curves of a, b"),
        (["a", "a", "a", "a", "b"], ("a", "a"), "2 strengths of b, wanted at least five"),
        (["a b!", "a", "a", "a", "a"], None, "column concrete: found “a b!”"),
    ],
)  # fmt: skip
def test_a_table_that_leaves_a_concrete_open_is_named(copy, cells, placed, says):
    with_column(copy, "cylinders", "concrete", cells)
    if placed:
        with_column(copy, "placements", "concrete", placed)
    assert says in refusal(copy)


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
    assert "bleeds little" in sheet.drying(found) and "bleeds as usual" in sheet.drying(demo("SI").curing)


def test_silica_fume_makes_a_concrete_bleed_little(copy):
    found = edited(copy, '# silica_fume = "7 %"', 'silica_fume = "7 %"')
    assert found.little_bleeding and not demo("SI").curing.little_bleeding


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
    assert found.curing["N1"].concrete == found.mix["partial depth"].temperature


def test_the_heat_of_hydration_warms_the_concrete_by_its_own_density():
    for system in ("SI", "US"):
        job = demo(system)
        run = next(run for run in job.curing.runs if run.calculation is curing.adiabatic_rise)
        assert run.arguments["rho"] == job.mix["partial depth"].density


def test_a_restraint_that_is_none_is_refused():
    with pytest.raises(InputError, match="h_o"):
        curing.restraint(Q(50, "mm"), Q(0, "mm"), 1)
