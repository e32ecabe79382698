"""The chlorides of a job: both unit systems, what follows for zones and patches, surveys, and bad input by row."""

from __future__ import annotations

import shutil
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from samples import DEMO, REGISTER
from scipy import stats

from deckcalc import InputError, Q
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
from deckcalc.chloride.inputs.ages import age_faults
from deckcalc.chloride.sheet import appendix, drawings
from deckcalc.core.units import CorrosionRate
from deckcalc.job import JobError, compute

WRITTEN = ("results", "cores", "by_hand")
DRAWN = ("sketch", "profiles", "fits_drawn", "likelihood", "potential_map", "potentials_ranked", "cover_drawn")
OPTIONAL = ("zones", "potentials", "covers", "resistances", "rules")


def part(name: str, job):
    """Return a part of the sheet: a table, one with hand calculations, or a drawing."""
    if name in DRAWN:
        return getattr(drawings, name)(job.chloride)
    room = sheet if name in sheet.__all__ else appendix
    return getattr(room, name)(job.chloride, *([job.written] if name in WRITTEN else []))


@pytest.fixture(scope="module")
def jobs():
    return {system: compute(path) for system, path in ((name, DEMO[name]) for name in ("SI", "US"))}


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
    assert not_enough == ["zone Z1", "zone Z3"]
    assert "cores with the threshold reached" in job.chloride.decisions["zone Z3"]


def test_both_unit_systems_tell_the_same(jobs):
    one, two = (jobs[system].chloride for system in ("SI", "US"))
    pairs = zip(
        *([run for run in each.runs if not run.item.startswith("patches of")] for each in (one, two)), strict=True
    )
    for a, b in pairs:  # the patches of the two jobs are of other concretes
        assert (a.item, a.calculation) == (b.item, b.calculation)
        for name, value in a.results().items():
            unit = a.calculation.kinds[name].unit("SI")
            # the unit weight of the SI job is the rounded conversion of that of its twin; differences carry it on
            other = b.results()[name].m_as(unit)
            assert value.m_as(unit) == pytest.approx(other, rel=1e-3, abs=1e-6), f"{a.item} {name}"
    verdicts = [[c.verdict for c in each.checks if not c.item.startswith("patches of")] for each in (one, two)]
    assert verdicts[0] == verdicts[1]
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
    assert found.patches
    for patch in found.patches:
        assert patch.at_horizon < max(zone.at_horizon for zone in found.zones.values())
        assert patch.t_i["apparent"] > patch.t_i["time-integrated"]


@pytest.mark.parametrize("system", ["SI", "US"])
def test_every_part_of_the_sheet_prints(jobs, system):
    for name in (*sheet.__all__, *DRAWN):
        made = part(name, jobs[system])
        assert getattr(made, "caption", made)
        if hasattr(made, "png"):
            assert made.png.startswith(b"\x89PNG")


def test_what_the_sheet_leaves_out_stands_in_the_appendix(jobs):
    found = sheet.further(jobs["US"].chloride)
    heads = [str(one).strip("# \n") for one in found if str(one).startswith("###")]
    assert len(heads) == 11 and {"Slices of the cores", "Profiles fitted", "Distributions"} <= set(heads)
    said = "\n".join(str(one) for one in found)
    slices = [one.row.slice for core in jobs["US"].chloride.cores.values() for one in core.slices]
    assert len(slices) > 50 and all(f"| {name} |" in said for name in slices)
    cover = [line for line in str(appendix.covers(jobs["US"].chloride)).splitlines() if line.startswith("| Z")]
    assert len(cover) == 3 and not [line for line in cover if "-" in line]  # shares alone, no other result of the law
    assert not [a for a, b in pairwise(found) if str(a).startswith("###") and str(b).startswith("###")]


@pytest.mark.parametrize("system", ["SI", "US"])
def test_the_governing_core_and_time_are_the_worst(jobs, system):
    found, written = jobs[system].chloride, jobs[system].written
    core, age = sheet.governing_core(found), sheet.governing_time(found)
    at_bars = {one.name: one.at_bar for one in found.cores.values() if one.at_bar is not None}
    assert core.item == f"core {max(at_bars, key=at_bars.get)}"
    soonest = min((t, zone) for zone, one in found.forecast.zones.items() for t in one.t_i.values())
    assert age.item == f"zone {soonest[1]}" and "minimum cover" in age.title
    runs = sheet.leading(found)
    assert 5 <= len(runs) <= 10 and len({run.calculation for run in runs}) == len(runs)
    said = str(sheet.by_hand(found, written))
    assert all(written.numbers[run] in said for run in runs) and core.item in said and age.item in said
    assert found.cores[core.item.removeprefix("core ")].at_depth in [run.result for run in runs]


@pytest.mark.parametrize("system", ["SI", "US"])
def test_each_check_stands_once(jobs, system):
    found, written = jobs[system].chloride, jobs[system].written
    rest = str(sheet.checks(found))
    tables = str(sheet.results(found, written)) + str(sheet.cores(found, written))
    for one in sheet.in_tables(found):
        assert f"| {one.item} | {one.title}" not in rest
        assert f"| {one.item.removeprefix('core ')}" in tables
    failing = [one for one in found.checks if one.verdict == "not satisfied" and one not in sheet.in_tables(found)]
    assert failing and all(f"| {one.item} | {one.title}" in rest for one in failing)


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
    shown = {name for name in (*sheet.__all__, *DRAWN) if part(name, job)}
    assert {"lead", "inputs", "cores", "required", "by_hand", "sketch", "profiles"} <= shown and not {
        "results",
        "survey",
        "likelihood",
        "potential_map",
    } & shown


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
    assert "corrosion is not initiated" in appendix.forecasts(job.chloride)


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
        (("covers.csv", "K1,122,1.5,2", "K1,122,1.5,8"), r"covers.csv, point K1: 8 in to the bar is not less than the slab, 8 in"),
        (("cores.csv", "C1,123,7,2,", "C1,123,7,8.1,"), r"cores.csv, core C1: 8 1/8 in to the bar is not less than the slab"),
        (("resistances.csv", "1.45", "-1"), r"resistances.csv, row 2, column resistance"),
        (("job.toml", 'background = "0.005 % of concrete"', 'background = "0.4 % of concrete"'), r"chloride.background: .* is more than every slice"),
        (("job.toml", 'sd = "0.25 lb/yd^3"', 'sd = "0.25 lb/yd^3"\nlow = "0.1 % of cement"'), r"forecast.critical: mean, sd, low and high are on one basis"),
        (("job.toml", 'sd = "0.25', 'mean = "1.5 lb/yd^3"\nsd = "0.25'), r"critical: mean is 1.5 .* the threshold of the job is 0.7119 .*one threshold"),
        (("job.toml", 'ageing = "0"', ''), r"chloride.forecast: wants either ageing or ageing_tests"),
        (("job.toml", 'slices = "integrated"', 'slices = "integrated"\nsurface_content = "5 kg/m^3"'), r"wants surface_content_source beside it"),
        (("job.toml", 'slices = "integrated"', 'slices = "integrated"\nsurface_content_source = "E"\nsurface_content = "0.001 % of concrete"'), r"does not exceed the background"),
        (("job.toml", 'slices = "integrated"', 'slices = "integrated"\nexposed_since = 1970\nsampled = 2024'), r"the exposure of 24 yr does not reach from 1970 to 2024"),
        (("job.toml", 'law = "lognormal"', 'law = "beta"'), r"forecast.critical: a beta law wants low and high"),
        (("job.toml", 'bars = "bare"', 'bars = "galvanised"'), r"potentials.csv: the classes hold for bare bars"),
        (("job.toml", 'cover_sd = "', 'w_c = "0.42"\ncover_sd = "'), r"patch_concrete.w_c: unknown"),
        (("job.toml", 'convention = "apparent"', 'convention = "some"'), r"patch_concrete.convention"),
        (("job.toml", 'obstruction = "0.85"', 'obstruction = "85"'), r"forecast.obstruction: found “85”"),
        (("job.toml", 'extraction = "acid-soluble"', 'extraction = "water-soluble"'), r"not comparable"),
    ],
    ids=lambda value: value[1][:20] if isinstance(value, tuple) else None,
)  # fmt: skip
def test_bad_input_is_named_by_row(copied, change, says):
    with pytest.raises(JobError, match=says):
        compute(copied(change))


def with_columns(path, name, **columns):
    """Set columns of a table of a job anew: by the head of the column, values by the first cell of the row."""
    rows = [row.split(",") for row in (path / f"{name}.csv").read_text(encoding="utf-8").splitlines()]
    for head, values in columns.items():
        if head not in rows[0]:
            rows = [[*row, ""] for row in rows]
            rows[0][-1] = head
        for row in rows[1:]:
            row[rows[0].index(head)] = values.get(row[0], "")
    (path / f"{name}.csv").write_text("\n".join(",".join(row) for row in rows) + "\n", encoding="utf-8")
    return path


def swapped(path, core, one, two):
    """Let two slices of a core change their readings."""
    text = (path / "chlorides.csv").read_text(encoding="utf-8")
    rows = {row.split(",")[0]: row for row in text.splitlines()}
    values = [rows[f"{core}-{k}"].split(",")[4] for k in (one, two)]
    for k, value in zip((two, one), values, strict=True):
        row = rows[f"{core}-{k}"]
        text = text.replace(row, ",".join([*row.split(",")[:4], value, *row.split(",")[5:]]))
    (path / "chlorides.csv").write_text(text, encoding="utf-8")
    return path


def test_a_core_left_out_is_named_on_the_sheet_and_in_the_checks(copied):
    job = compute(swapped(copied(), "C2", 2, 4))
    found = job.chloride
    assert "inside maximum" in found.forecast.left_out["C2"]
    one = next(c for c in found.checks if c.item == "zone Z2" and "forecast rests on" in c.title)
    assert one.verdict == "not satisfied" and one.numbers == (2, 3)
    assert "C2 (inside maximum" in one.why and "comes out low" in one.why
    assert any("Cores left out of the forecast: C2" in note for note in found.notes)
    shown = appendix.fits(found)
    assert "the whole core, also out of the forecast" in shown and "surface layer" in shown
    assert [c.demand for c in found.consequences if c.item == "core C2"] == ["sample again"]


def test_slices_and_surface_layers_are_left_out_with_their_reason(copied):
    path = with_columns(
        swapped(copied(), "C2", 2, 4), "chlorides", **{"left out of fit": {"C2-2": "label torn", "C2-4": "spilt"}}
    )
    with_columns(
        path,
        "cores",
        **{"surface layer [in]": {"C4": "0.75"}, "surface layer reason": {"C4": "washed by a leaking joint"}},
    )
    found = compute(path).chloride
    names = found.forecast.names
    assert "C2" not in found.forecast.left_out and "C2" in found.forecast.zones["Z2"].cores
    assert found.forecast.fits["constant"].points[names.index("C2")] == 3
    assert found.forecast.fits["constant"].points[names.index("C4")] == 4
    shown = appendix.fits(found)
    for words in (
        "slice C2-2",
        "label torn",
        "slice C2-4",
        "spilt",
        "slices that begin above 3/4 in",
        "leaking joint",
    ):
        assert words in shown


@pytest.mark.parametrize("column", ["surface layer [in]", "surface layer reason"])
def test_a_surface_layer_without_its_reason_is_refused(copied, column):
    with pytest.raises(JobError, match="core C4: a surface layer of its own wants a surface layer reason"):
        compute(with_columns(copied(), "cores", **{column: {"C4": "0.75"}}))


@pytest.mark.parametrize(
    ("counts", "background", "fault"),
    [("all chloride", "known", False), ("chloride above background", "fitted", False), ("chloride above background", "known", True)],
)  # fmt: skip
def test_a_slice_under_the_background_is_a_note_where_that_does_no_harm(copied, counts, background, fault):
    path = copied(
        ("job.toml", 'counts = "all chloride"', f'counts = "{counts}"'),
        ("job.toml", 'background = "known"', f'background = "{background}"'),
        ("chlorides.csv", "C1-6,C1,2.25,2.75,0.008", "C1-6,C1,2.25,2.75,0.003"),
    )
    if fault:
        with pytest.raises(
            JobError, match="slice C1-6: .* is less than the background .* let the background be fitted"
        ):
            compute(path)
        return
    found = compute(path).chloride
    assert any("Slices under the background" in note and "C1-6" in note for note in found.notes)
    assert found.cores["C1"].slices[-1].counted >= 0 * found.background


def test_the_surface_content_may_be_the_engineers(copied):
    more = (
        'slices = "integrated"\nsurface_content = "0.35 % of concrete"\nsurface_content_source = "record of the salt"'
    )
    job = compute(copied(("job.toml", 'slices = "integrated"', more)))
    found = job.chloride.forecast
    assert found.zones["Z2"].C_s.name == "fixed"
    assert found.zones["Z2"].C_s.mean == pytest.approx(0.0035 * job.settings.deck.unit_weight.m_as("kg/m^3"))
    assert "D alone, the surface content being the engineer's, 0.35 % of concrete" in appendix.fits(job.chloride)
    assert any("record of the salt" in note for note in job.chloride.notes)
    assert part("by_hand", job)


def test_the_ageing_exponent_may_come_from_two_tests(copied):
    tests = (
        '\n[chloride.forecast.ageing_tests]\nD_1 = "280 mm²/yr"\nt_1 = "28 day"\nD_2 = "{}"\nt_2 = "1 yr"\nsource = "laboratory"\n'
        "\n[chloride.forecast.critical]"
    )
    gone = ("job.toml", 'ageing = "0"  # ageing exponent of the existing concrete, 0 for none', "")
    job = compute(copied(gone, ("job.toml", "\n[chloride.forecast.critical]", tests.format("130 mm²/yr"))))
    law = job.chloride.forecast.zones["Z1"].exposure.m
    assert law.mean == pytest.approx(np.log(280 / 130) / np.log(365.25 / 28), rel=1e-9)
    assert "Ageing exponent from two tests" in part("by_hand", job)
    with pytest.raises(JobError, match="ageing_tests: give an exponent of -0.1"):
        compute(copied(gone, ("job.toml", "\n[chloride.forecast.critical]", tests.format("400 mm²/yr"))))


# --- one threshold, honest verdicts, what is demanded


def test_one_threshold_holds_for_cores_times_and_probabilities(jobs):
    for job in jobs.values():
        found = job.chloride
        level = found.threshold_content.m_as("kg/m^3")
        for one in found.forecast.places:
            assert one.exposure.C_T.mean == pytest.approx(level, rel=1e-12)
            assert one.face is None or one.face.C_Tn.m_as("kg/m^3") == pytest.approx(level - one.exposure.C_0.mean)
        assert "mean is the one of the job, 1.2 lb/yd³" in appendix.distributions(found)


def test_a_mean_that_is_the_threshold_once_more_is_no_contradiction(copied):
    one = compute(copied(("job.toml", 'sd = "0.25', 'mean = "0.712 kg/m^3"\nsd = "0.25'))).chloride
    assert one.forecast.zones["Z1"].exposure.C_T.mean == one.threshold_content.m_as("kg/m^3")


def test_few_cores_satisfy_nothing(jobs):
    found = jobs["US"].chloride
    verdicts = {c.item: c for c in found.checks if c.title == "cores with the threshold reached at the bar"}
    assert {item: c.verdict for item, c in verdicts.items()} == {
        "zone Z1": "not covered", "zone Z2": "not covered", "zone Z3": "not satisfied",
    }  # fmt: skip
    assert (
        "1 of 3 cores reached" in verdicts["zone Z1"].why and "13 are wanted: take 10 more" in verdicts["zone Z1"].why
    )
    assert "the share may be up to 71 %" in verdicts["zone Z2"].why and "6 cores in all" in verdicts["zone Z2"].why
    assert share_interval(0, 6)[1] <= 0.5 < share_interval(0, 5)[1]
    assert {n: c.missing for n, c in found.counts.items()} == {"Z1": 10, "Z2": 3, "Z3": 11}
    enough = {c.item: c.verdict for c in found.checks if c.title.startswith("cores off cracks, for the mean")}
    assert enough == {"zone Z1": "not satisfied", "zone Z2": "satisfied", "zone Z3": "not satisfied"}


def test_a_zone_is_judged_at_its_mean_and_at_its_least_cover(jobs):
    found = jobs["SI"].chloride
    for name, one in found.forecast.zones.items():
        least = min(
            row.cover for row in found.inputs.covers if next(z for z in found.zones if z.name == name).contains(row)
        )
        assert one.least.cover == least
        assert one.t_i["minimum cover"] < one.t_i["constant"]
        titles = [c.title for c in found.checks if c.item == f"zone {name}" and c.title.startswith("age when")]
        assert len(titles) == 2 and "mean cover" in titles[0] and one.least.name in titles[1]


def test_each_thing_that_fails_has_a_consequence_with_its_place(jobs):
    found = jobs["US"].chloride
    demands = {(c.item, c.demand) for c in found.consequences}
    assert {core.item for core in found.cores.values() if core.reached} == {
        item for item, demand in demands if demand == "remove"
    }
    treated = [c for c in found.consequences if c.demand == "treat"]
    assert [c.zone.name for c in treated] == [n for n, made in found.counts.items() if made.over]
    now, horizon = found.forecast.profile.age, found.forecast.settings.horizon
    for name, age in found.forecast.bars.items():
        soon = not found.cores[name].reached and age <= (now + horizon).m_as("yr")
        assert ((f"core {name}", "protect") in demands) == soon
    for one in found.consequences:
        assert one.why and (one.place is not None or one.item == one.zone.item)
    assert ("core C10", "sample again") in demands
    shown = sheet.required(found)
    assert all(one.item in shown for one in found.consequences)


def test_ages_that_contradict_one_another_are_named():
    exposed = Q(24, "yr")
    assert age_faults(exposed, built=1968, exposed_since=2000, sampled=2024) == []
    assert age_faults(exposed, built=2000, sampled=2024) == [] == age_faults(exposed)
    assert "before the deck was built" in age_faults(exposed, built=1968, exposed_since=1960)[0]
    assert "longer than the age" in age_faults(exposed, built=2010, sampled=2024)[0]
    assert "longer than the exposure" in age_faults(exposed, corrosion_age=Q(30, "yr"))[0]
    assert age_faults(exposed, corrosion_age=Q(25, "yr")) == []


def test_mixed_bases_are_refused(copied):
    path = copied()
    rows = (path / "chlorides.csv").read_text().splitlines()
    cells = [row.split(",") for row in rows]
    cells[0][4] = "chloride"
    for number, row in enumerate(cells[1:], 1):
        row[4] = "2.1 lb/yd^3" if number == 3 else f"{row[4]} % of concrete"
    rows = [",".join(row) for row in cells]
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
        ",".join([*row.split(",")[:4], "0", ""]) if row.startswith("C4-") else row
        for row in (path / "chlorides.csv").read_text().splitlines()
    ]
    (path / "chlorides.csv").write_text("\n".join(rows) + "\n")
    assert "all readings are zero" in appendix.fits(compute(path).chloride)


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
        # Langford and Broomfield 1987, as quoted by an instrument manufacturer: two scales
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
    for name in ("fits", "fits_drawn", "forecasts", "importance", "distributions", "likelihood", "by_hand"):
        assert part(name, job)
    if "cores.C3.crack" in changes:
        assert job.chloride.forecast.zones["Z3"].why == "no core of the zone could be fitted"
        assert "no core of the zone could be fitted" in appendix.forecasts(job.chloride)


# --- what is open


def test_a_zone_is_one_open_item_with_its_patches_cores_and_samples(jobs):
    for job in jobs.values():
        found = job.chloride
        zones = {one.what.partition(":")[0]: one for one in found.open_items if one.what.startswith("zone ")}
        assert set(zones) == {"zone Z1", "zone Z2", "zone Z3"}
        for zone in found.zones:
            one, mine = zones[zone.item], [each for each in found.consequences if each.zone is zone and not each.met]
            assert ("treat the zone" in one.what) == bool(found.counts[zone.name].over)
            assert set(one.patches) == {name for each in mine for name in each.patches}
            assert one.stops == ("placing" if one.patches else "the signature")
            for each in mine:
                assert each.demand == "treat" or each.item in one.why or each.item == zone.item
        spoken = [check for one in found.open_items for check in one.checks]
        failing = [check for check in found.checks if check.verdict != "satisfied" and not check.settled]
        assert len(spoken) == len(failing) and all(any(a is b for b in spoken) for a in failing)


def test_a_core_whose_concrete_a_patch_takes_out_asks_for_nothing_more(jobs):
    found = jobs["US"].chloride
    met = {one.item: one for one in found.consequences if one.met}
    assert {item: one.patches for item, one in met.items()} == {"core C9": ("P4",)}
    settled = [check for check in found.checks if check.item == "core C9" and check.verdict == "not satisfied"]
    assert settled and all(check.settled == "patch P4 goes through the slab there" for check in settled)
    assert not any("core C9" in one.why for one in found.open_items)


def test_a_core_beside_the_patch_stays_open(copied):
    job = compute(copied(("cores.csv", "C9,156,", "C9,153,")))  # core C9, out of patch P4
    one = next(one for one in job.chloride.consequences if one.item == "core C9" and one.demand == "remove")
    assert not one.met and any("core C9" in item.why for item in job.chloride.open_items)


def test_a_share_is_shown_only_by_an_interval_within_the_limit(jobs):
    made = jobs["US"].chloride.counts["Z2"]
    limit = jobs["US"].settings.chloride.zone_limits.cores.m_as("")
    assert made.reached == 0 and made.interval[1] > limit >= share_interval(0, made.cores_to_show)[1]
    assert share_interval(0, made.cores_to_show - 1)[1] > limit


def test_surveys_may_lie_left_of_the_centreline(copied):
    place = copied()
    for name in ("cores", "potentials", "covers", "resistances"):
        head, *rows = (place / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        at = next(place for place, column in enumerate(head.split(",")) if column.startswith("offset"))
        cells = [row.split(",") for row in rows]
        lines = [",".join([*row[:at], f"-{row[at]}", *row[at + 1 :]]) for row in cells]
        (place / f"{name}.csv").write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    (place / "zones.csv").unlink()
    job = compute(place)
    assert all(core.row.offset.m_as("m") < 0 for core in job.chloride.cores.values())


def test_the_sheet_gives_the_rates_of_bars_beside_its_own(jobs):
    job = jobs["US"]
    said, rates = appendix.forecasts(job.chloride), job.steel.rates
    for value in (
        rates.least,
        rates.mean,
        rates.greatest,
        job.chloride.runs_of(REGISTER["chloride.corrosion_rate"])[0].result,
    ):
        assert job.show(value, CorrosionRate) in said
    for zone in job.chloride.forecast.zones.values():
        if zone.cracking is not None:
            assert (zone.cracking_as_found < zone.cracking) == (
                rates.mean > job.chloride.runs_of(REGISTER["chloride.corrosion_rate"])[0].result
            )


def test_the_year_of_building_is_held_against_exposure(copied):
    place = copied(("job.toml", "slices = ", "sampled = 2024\nslices = "))
    with pytest.raises(JobError, match="is 2 years longer than the age of a deck built in 2002 and sampled in 2024"):
        compute(place)
