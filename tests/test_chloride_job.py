"""The chlorides of a job: both unit systems, what follows for zones and patches, surveys, and bad input by row."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from deckcalc import InputError
from deckcalc.chloride import (
    cover_statistics,
    electrodes,
    potential_classes,
    removal_place,
    resistivity_class,
    share_interval,
    sheet,
)
from deckcalc.chloride.inputs import read_chloride
from deckcalc.chloride.sheet import drawings
from deckcalc.core.sources import folder
from deckcalc.job import JobError, compute

DEMO = {system: folder("notebooks") / f"demo_{system.lower()}" for system in ("SI", "US")}
WRITTEN = ("readings", "by_hand_cores", "potentials", "covers", "resistivities", "by_hand_times")
DRAWN = ("profiles", "fits_drawn", "likelihood", "potential_map", "potentials_ranked", "cover_drawn")
OPTIONAL = ("zones", "potentials", "covers", "resistances", "rules")


def part(name: str, job):
    """Return a part of the sheet: a table, one with hand calculations, or a drawing."""
    if name in DRAWN:
        return getattr(drawings, name)(job.chloride)
    return getattr(sheet, name)(job.chloride, *([job.written] if name in WRITTEN else []))


@pytest.fixture(scope="module")
def jobs():
    return {system: compute(path) for system, path in DEMO.items()}


@pytest.fixture
def copied(tmp_path: Path):
    """Return a function that copies the demo job with lines changed: file, old text, new text."""

    def make(*changes, without=(), system="US"):
        target = tmp_path / "job"
        shutil.copytree(DEMO[system], target, dirs_exist_ok=True)
        for name in without:
            (target / f"{name}.csv").unlink()
        for name, old, new in changes:
            text = (target / name).read_text(encoding="utf-8")
            assert old in text, f"{name} has no {old!r}"
            (target / name).write_text(text.replace(old, new, 1), encoding="utf-8")
        return target

    return make


def section(name: str) -> str:
    """Return a section of the demo job file as it stands, to be taken out."""
    text = (DEMO["US"] / "job.toml").read_text(encoding="utf-8")
    start = text.index(f"[{name}]")
    return text[start : text.index("\n[", start + 1)]


# --- the demo job


def test_the_demo_job_shows_what_is_asked_of_it(jobs):
    job = jobs["US"]
    assert len(job.chloride.zones) == 3
    assert sum(len(core.slices) == 6 for core in job.chloride.cores.values()) >= 9
    assert len(job.file.rows["potentials"]) == 200
    assert len(job.file.rows["covers"]) == 100
    not_enough = [
        item for item, what in job.chloride.decisions.items() if what.startswith("patching alone is not enough")
    ]
    assert not_enough == ["zone Z3"]
    assert "cores with the threshold reached" in job.chloride.decisions["zone Z3"]


def test_both_unit_systems_tell_the_same(jobs):
    one, two = (jobs[system].chloride for system in ("SI", "US"))
    for a, b in zip(one.runs, two.runs, strict=True):
        assert (a.item, a.calculation) == (b.item, b.calculation)
        for name, value in a.results().items():
            unit = a.calculation.kinds[name].unit("SI")
            # the unit weight of the SI job is the rounded conversion of that of its twin; differences carry it on
            other = b.results()[name].m_as(unit)
            assert value.m_as(unit) == pytest.approx(other, rel=1e-3, abs=1e-6), f"{a.item} {name}"
    assert [c.verdict for c in one.checks] == [c.verdict for c in two.checks]
    for name, zone in one.forecast.zones.items():
        assert zone.at_horizon == pytest.approx(two.forecast.zones[name].at_horizon, abs=2e-4)


def test_a_core_on_a_crack_stays_out_of_the_fit_but_counts_for_removal(jobs):
    found = jobs["SI"].chloride
    assert found.forecast.fits["constant"].why[found.forecast.names.index("C10")] == "the core stands on a crack"
    assert found.cores["C10"].reached and found.cores["C10"].removal_case == "beyond"


def test_what_is_under_the_removal_is_under_the_threshold(jobs):
    found = jobs["SI"].chloride
    for core in found.cores.values():
        if core.removal is None:
            continue
        below = [c for x, c in zip(core.depths, core.contents, strict=True) if x > core.removal]
        assert below and all(c <= found.threshold_content * (1 + 1e-9) for c in below)


def test_fits_read_the_bar_as_the_readings_do(jobs):
    found = jobs["SI"].chloride
    assert list(found.forecast.at_bars) == [name for name in found.cores if name != "C10"]
    for name, fitted in found.forecast.at_bars.items():
        core = found.cores[name]
        scatter = 0.25 * core.at_bar.m_as("kg/m**3") + 0.02
        assert abs(fitted.C_x.m_as("kg/m**3") - core.at_bar.m_as("kg/m**3")) < scatter


def test_the_patch_lasts_longer_than_the_worst_zone(jobs):
    found = jobs["SI"].chloride.forecast
    assert found.patch.at_horizon < min(zone.at_horizon for zone in found.zones.values())
    assert found.patch.t_i["apparent"] > found.patch.t_i["time-integrated"]


@pytest.mark.parametrize("system", ["SI", "US"])
def test_every_part_of_the_sheet_prints(jobs, system):
    for name in (*sheet.__all__, *DRAWN):
        made = part(name, jobs[system])
        assert getattr(made, "caption", made)
        if hasattr(made, "png"):
            assert made.png.startswith(b"\x89PNG")


def test_rules_hold_in_their_order(jobs):
    rows = {r.rule: r for r in jobs["US"].file.rows["rules"]}
    found = jobs["US"].chloride.survey.actions
    assert [one.core for one in found] == list(jobs["US"].chloride.cores)
    for one in found:
        assert rows[one.rule].chloride in ("any", one.chloride), one.core
        assert rows[one.rule].potential in ("any", one.potential)
        assert rows[one.rule].sounding in ("any", one.sounding)


# --- a job that leaves parts out


def test_a_job_with_cores_alone_still_carries(copied):
    target = copied(without=OPTIONAL)
    text = (target / "job.toml").read_text(encoding="utf-8")
    start, end = text.index("[chloride.profile]"), text.index("\n# Limits that replace")
    (target / "job.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    job = compute(target)
    assert [zone.name for zone in job.chloride.zones] == ["deck"]
    assert job.chloride.forecast is None
    for name in (*sheet.__all__, *DRAWN):
        assert part(name, job)


def test_a_job_without_surveys_takes_the_cover_from_the_cores(copied):
    job = compute(copied(without=("potentials", "covers", "resistances", "rules")))
    assert job.chloride.forecast.zones["Z1"].exposure is not None
    assert job.chloride.counts["Z1"].potentials is None
    assert job.chloride.counts["Z1"].summary is None


def test_threshold_above_the_surface_content_is_said_plainly(copied):
    target = copied(("job.toml", 'threshold = "fdot-conservative"',
                     'threshold = { value = "30 lb/yd^3", extraction = "acid-soluble", source = "trial" }'))  # fmt: skip
    job = compute(target)
    assert "does not exceed the threshold" in job.chloride.forecast.zones["Z1"].why
    assert "no slice is above the threshold" in job.chloride.decisions["core C1"]
    assert "corrosion is not initiated" in sheet.forecasts(job.chloride)


def test_a_threshold_by_cement_is_carried_to_content_by_a_printed_line(copied):
    job = compute(copied(("job.toml", '"fdot-conservative"', '"fdot-less-conservative"')))
    run = job.chloride.of("threshold")[0]
    assert run.result.m_as("lb/yd**3") == pytest.approx(0.005 * 658)
    assert job.chloride.checks[0].limit.kind.name == "chloride share by mass"


def test_what_the_threshold_counts_shifts_the_content_by_the_background(copied):
    net = compute(copied(("job.toml", 'counts = "all chloride"', 'counts = "chloride above background"')))
    full = compute(DEMO["US"])
    for name, core in full.chloride.cores.items():
        off = core.at_bar - net.chloride.cores[name].at_bar
        assert off.m_as("lb/yd**3") == pytest.approx(full.chloride.background.m_as("lb/yd**3"))


def test_bars_that_are_not_bare_are_spoken_of(copied):
    job = compute(copied(("job.toml", 'bars = "bare"', 'bars = "epoxy-coated"'), without=("potentials", "rules")))
    assert any("epoxy-coated" in note for note in job.chloride.notes)


# --- bad input


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("chlorides.csv", "C1-2,C1,0.25", "C1-2,C1,0.1"), r"slice C1-2: overlaps slice C1-1"),
        (("chlorides.csv", "C1-3,C1,0.75,1.25,", "C1-3,C1,0.75,1.25,0.2 % of cement;"), r"slice C1-3, column chloride"),
        (("chlorides.csv", "C2-1,C2", "C2-1,C77"), r"slice C2-1: there is no core “C77”"),
        (("potentials.csv", ",1.5,-", ",1.5,"), r"point E1: \d+ mV is positive; steel in concrete reads negative"),
        (("job.toml", '"copper-copper sulfate"', '"silver"'), r"survey.electrode: found “silver”, wanted one of copper"),
        (("zones.csv", "Z2,132", "Z2,130"), r"zone Z2: overlaps zone Z1"),
        (("zones.csv", "Z3,146,160", "Z3,160,146"), r"zone Z3: ends before it begins"),
        (("cores.csv", "C1,123", "C1,12"), r"cores.csv, core C1: lies in no zone"),
        (("cores.csv", ",2,no", ",2,maybe"), r"row 2, column crack: found “maybe”, wanted 'yes' or 'no'"),
        (("rules.csv", "R1,reached", "R1,high"), r"rules.csv, row 2, column chloride: found “high”"),
        (("covers.csv", "122,1.5,", "122,1.5,-"), r"covers.csv, row 2, column cover"),
        (("resistances.csv", "1.45", "-1"), r"resistances.csv, row 2, column resistance"),
        (("job.toml", 'background = "0.005 % of concrete"', 'background = "0.4 % of concrete"'), r"is less than the background"),
        (("job.toml", 'sd = "0.25 lb/yd^3"', 'sd = "0.1 % of cement"'), r"forecast.critical: mean, sd, low and high are on one basis"),
        (("job.toml", 'law = "lognormal"', 'law = "beta"'), r"forecast.critical: a beta law wants low and high"),
        (("job.toml", 'bars = "bare"', 'bars = "galvanised"'), r"potentials.csv: the classes hold for bare bars"),
        (("job.toml", 'w_c = "0.40"', 'w_c = "0.42"'), r"patch_concrete.w_c: found “0.42”"),
        (("job.toml", 'obstruction = "0.85"', 'obstruction = "85"'), r"forecast.obstruction: found “85”"),
        (("job.toml", 'extraction = "acid-soluble"', 'extraction = "water-soluble"'), r"not comparable"),
    ],
    ids=lambda value: value[1][:20] if isinstance(value, tuple) else None,
)  # fmt: skip
def test_bad_input_is_named_by_row(copied, change, says):
    with pytest.raises(JobError, match=says):
        compute(copied(change))


def test_mixed_bases_are_refused(copied):
    path = copied()
    rows = (path / "chlorides.csv").read_text().splitlines()
    rows[3] = rows[3].rpartition(",")[0] + ",2.1 lb/yd^3"
    rows[0] = rows[0].replace(" [% of concrete]", "")
    rows[1:] = [row if "lb" in row else row + " % of concrete" for row in rows[1:]]
    (path / "chlorides.csv").write_text("\n".join(rows) + "\n")
    with pytest.raises(JobError, match=r"bases are mixed \(concrete, volume\); one basis a job"):
        compute(path)


def test_one_slice_is_not_a_profile(copied):
    path = copied()
    rows = [
        row
        for row in (path / "chlorides.csv").read_text().splitlines()
        if not row.startswith(tuple(f"C4-{k}" for k in "23456"))
    ]
    (path / "chlorides.csv").write_text("\n".join(rows) + "\n")
    with pytest.raises(JobError, match="core C4: 1 slices in chlorides.csv, wanted at least two"):
        compute(path)


def test_all_zeros_are_said_to_be_nil(copied):
    path = copied(("job.toml", 'background = "0.005 % of concrete"', 'background = "0 % of concrete"'))
    rows = [
        row.rpartition(",")[0] + ",0" if row.startswith("C4-") else row
        for row in (path / "chlorides.csv").read_text().splitlines()
    ]
    (path / "chlorides.csv").write_text("\n".join(rows) + "\n")
    assert "all readings are nil" in sheet.fits(compute(path).chloride)


def test_cover_beyond_the_profile_is_outside_the_method(copied):
    job = compute(copied(("cores.csv", "C2,136,9,2,", "C2,136,9,4,")))
    assert "lies outside the profile" in job.chloride.decisions["core C2"]
    assert next(c for c in job.checks if c.item == "core C2").verdict == "not covered"


def test_surveys_without_their_section_are_asked_for(copied):
    gone = section("chloride.survey")
    with pytest.raises(JobError, match="chloride.survey: missing; it names the electrode"):
        compute(copied(("job.toml", gone, "")))


def test_forecast_wants_a_profile(copied):
    with pytest.raises(JobError, match="chloride.forecast: wants chloride.profile"):
        compute(copied(("job.toml", section("chloride.profile"), "")))


@pytest.mark.parametrize("text", ["0.4 %", "12", "", "x % of concrete", "0.4 % of binder", "-1 lb/yd^3"])
def test_a_reading_without_its_basis_is_refused(text):
    with pytest.raises(InputError):
        read_chloride(text)


# --- surveys


def test_limits_of_the_potentials_are_strict():
    assert list(potential_classes([-199.99, -200.0, -200.01, -349.99, -350.0, -350.01])) == [
        "unlikely", "uncertain", "uncertain", "uncertain", "uncertain", "likely",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("rho", "likelihood", "rate"),
    [
        # Langford and Broomfield 1987, as quoted by an instrument maker: two scales
        (150, "negligible", "low"), (100, "negligible", "low"), (99, "low", "low"), (50, "low", "low"), (49, "moderate", "low"),
        (20.1, "moderate", "low"), (20, "moderate", "low to moderate"), (10, "high", "low to moderate"),
        (9.9, "high", "high"), (5, "high", "high"), (4.9, "high", "very high"),
    ],
)  # fmt: skip
def test_scales_of_resistivity(rho, likelihood, rate):
    assert resistivity_class(rho, "likelihood") == likelihood
    assert resistivity_class(rho, "rate") == rate
    with pytest.raises(InputError, match="no scale"):
        resistivity_class(rho, "other")  # type: ignore[arg-type]


def test_differences_of_electrodes():
    known = electrodes()
    cse = known["copper-copper sulfate"]
    # Int. J. Corrosion 2010, Table 2: the limits of ASTM C876 on other electrodes
    assert cse - known["calomel, saturated"] == 75
    assert cse - known["silver-silver chloride, saturated"] == 119


def test_interval_of_a_share_is_that_of_a_general_library():
    for k, n in ((0, 3), (1, 3), (4, 4), (7, 20)):
        low, high = share_interval(k, n)
        other = stats.binomtest(k, n).proportion_ci(0.95, "exact")
        assert (low, high) == pytest.approx((other.low, other.high), abs=1e-9)
    with pytest.raises(InputError, match="is no share"):
        share_interval(5, 4)


def test_statistics_of_cover_are_those_of_a_general_library():
    c = np.random.default_rng(1).lognormal(np.log(0.05), 0.15, 60)
    made = cover_statistics(c)
    assert made.normal == pytest.approx(stats.kstest(c, stats.norm(made.mean, made.sd).cdf).statistic)
    zeta = np.sqrt(np.log1p((made.sd / made.mean) ** 2))
    law = stats.lognorm(zeta, scale=made.mean * np.exp(-(zeta**2) / 2))
    assert made.lognormal == pytest.approx(stats.kstest(c, law.cdf).statistic)
    assert made.law().name == made.better
    for bad in ([0.05, 0.06], [0.05, 0.05, 0.05], [0.05, -0.01, 0.03], [0.05, float("nan"), 0.04]):
        with pytest.raises(InputError, match="at least three positive readings"):
            cover_statistics(bad)


def test_removal_is_sought_from_the_bottom_up():
    assert removal_place([3, 0.5, 2.0, 0.4], 1.0) == ("between", 2)
    assert removal_place([3, 2, 1.5], 1.0) == ("beyond", 2)
    assert removal_place([0.5, 0.2], 1.0) == ("none", -1)
    assert removal_place([1.0, 0.2], 1.0) == ("none", -1)


@pytest.mark.parametrize(
    "changes",
    [
        {"chloride.profile.background": "fitted", "chloride.profile.slices": "mid-depth"},
        {
            "chloride.patch_concrete.convention": "time-integrated",
            "chloride.patch_concrete.temperature_constant_sd": "0 K",
        },
        {"chloride.forecast.ageing": "0.3", "chloride.forecast.cracks": "2"},
        {"cores.C3.crack": "yes", "cores.C8.crack": "yes", "cores.C9.crack": "yes"},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_other_choices_carry_and_print(changes):
    job = compute(DEMO["SI"], changes)
    for name in ("fits", "fits_drawn", "forecasts", "importance", "distributions", "likelihood", "by_hand_times"):
        assert part(name, job)
    if "cores.C3.crack" in changes:
        assert job.chloride.forecast.zones["Z3"].why == "no core of the zone could be fitted"
        assert "no core of the zone could be fitted" in sheet.forecasts(job.chloride)
