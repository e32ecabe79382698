"""Check the review: what a changed input moves, and what it flips."""

import re
import shutil

import pytest
from samples import DEMO, SYSTEMS, demo

from deckcalc import package, review
from deckcalc.job import carry
from deckcalc.jobfile import JobError


def numbers(text):
    """Return the printed numbers of a text."""
    return [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", text)]


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_same_input_again_moves_nothing(system):
    filed = {"SI": "203.2 mm", "US": "8 in"}[system]
    outcome = review.rerun(DEMO[system], {"deck.slab_thickness": filed})
    assert (outcome.moved, outcome.flipped) == ([], [])
    assert [one.where for one in outcome.changed] == ["deck.slab_thickness"]


def test_the_same_thing_in_another_unit_moves_nothing():
    outcome = review.rerun(
        DEMO["SI"], {"deck.slab_thickness": "8 in", "limits.margin": "2 1/2 in", "patches.P1.length": "3 ft"}
    )
    assert (outcome.moved, outcome.flipped) == ([], [])


@pytest.mark.parametrize("system", SYSTEMS)
def test_more_waste_moves_orders_and_batches_and_nothing_else(system):
    outcome = review.rerun(DEMO[system], {"limits.waste": "21 %"})
    assert [(one.old, one.new) for one in outcome.changed] == [("10.0 %", "21 %")]
    assert outcome.flipped == []
    assert {one.where.partition(",")[0] for one in outcome.moved} == {"Patches", "Mix and batch"}
    for one in outcome.moved:
        if one.where.endswith("n_bags"):
            assert numbers(one.new)[0] > numbers(one.old)[0]
        else:
            assert one.percent == "+10.0 %"  # 1.21 / 1.10
    wheres = [one.where for one in outcome.moved]
    assert sum("V_order" in where for where in wheres) == 4 and sum("V_total" in where for where in wheres) == 1
    assert not any("V_net" in where or "one mixer load" in where for where in wheres)


def test_what_is_listed_is_what_differs_between_the_two_jobs():
    changes = {"patches.P1.length": "1.2 m", "deck.unit_weight": "2400 kg/m^3"}
    outcome = review.rerun(DEMO["SI"], changes)
    old, new = package.results(demo("SI")), package.results(carry(DEMO["SI"], changes))
    differ = {key for key in old if float(old[key].split()[0]) != pytest.approx(float(new[key].split()[0]), rel=1e-9)}
    assert len(differ) > 20
    assert len(outcome.moved) == len(differ)
    for one in outcome.moved:
        assert one.old != one.new
        assert re.fullmatch(r"[-+]\d+\.\d %", one.percent)
        # what the print says of the direction is so
        a, b = numbers(one.old)[0], numbers(one.new)[0]
        assert (b > a) == one.percent.startswith("+")


@pytest.mark.parametrize(
    ("change", "where", "old", "new"),
    [
        ({"limits.bar_loss_single": "40 %"}, "bar B6: section loss of one bar (at most)", "not satisfied", "satisfied"),
        ({"limits.bar_loss_single": "40 %"}, "Reinforcement, bar B6", "supplement with 1 bar(s) #5, for its own loss",
         "clean; no supplement by these limits"),
        ({"patches.P3.depths": "50.8 mm; 140 mm"}, "Patches, patch P3", "partial depth: the deepest reading 76 mm", "full depth: the deepest reading 140 mm"),
        ({"cores.C2.bar_depth": "25.4 mm"}, "core C2: chloride at the bar, above background (less than)", "satisfied", "not satisfied"),
        ({"cores.C2.bar_depth": "120 mm"}, "core C2: chloride at the bar (less than)", "(none)", "outside the method"),
        ({"limits.saw_depth": "45 mm"}, "patch P2: planned saw cut (at most)", "satisfied", "not satisfied"),
        ({"mix.strength": "30 MPa"}, "mix: specified strength (at least)", "satisfied", "not satisfied"),
    ],
)  # fmt: skip
def test_a_verdict_that_flips_is_listed(change, where, old, new):
    outcome = review.rerun(DEMO["SI"], change)
    found = {one.where: one for one in outcome.flipped}
    assert where in found
    assert found[where].old.startswith(old) and found[where].new.startswith(new)


def test_a_result_that_goes_or_comes_is_listed():
    outcome = review.rerun(DEMO["SI"], {"patches.P3.depths": "50.8 mm; 140 mm"})
    gone = [one for one in outcome.moved if one.new == "(none)"]
    assert gone and all("patch P3: depth of removal" in one.where and one.percent == "" for one in gone)
    outcome = review.rerun(DEMO["SI"], {"patches.P4.depths": "50.8 mm; 60 mm"})
    assert any(one.old == "(none)" and "patch P4: depth of removal" in one.where for one in outcome.moved)


@pytest.mark.parametrize(
    ("key", "value", "old"),
    [
        ("deck.slab_thickness", "190 mm", "203.2 mm"), ("patches.P1.length", "1.2 m", "0.9144 m"), ("patches.P1.depths", "60 mm; 70 mm", "63.5 mm; 76.2 mm"),
        ("bars.B6.size", "#6", "#5"), ("chloride.threshold", "fdot-less-conservative", "fdot-conservative"), ("limits.waste", "5 %", "10.0 %"),
        ("people.checker", "Q. Reed", ""), ("mix.record.tests", "30", "20"),
    ],
)  # fmt: skip
def test_the_old_value_is_shown_as_filed(key, value, old):
    (changed,) = review.rerun(DEMO["SI"], {key: value}).changed
    assert changed.where == key and changed.new == value and changed.old.startswith(old)


def test_a_value_without_its_unit_takes_that_of_the_column():
    outcome = review.rerun(DEMO["SI"], {"patches.P1.length": "1.2", "patches.P1.depths": "60; 70"})
    same = review.rerun(DEMO["SI"], {"patches.P1.length": "1.2 m", "patches.P1.depths": "60 mm; 70 mm"})
    assert outcome.moved == same.moved != []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"deck.slab": "190 mm"}, "--set deck.slab: no such input"), ({"slab_thickness": "190 mm"}, "--set slab_thickness: no such input"),
        ({"patches.P9.length": "1 m"}, "--set patches.P9.length: no such input"), ({"patches.P1.girth": "1 m"}, "--set patches.P1.girth: no such input"),
        ({"patches.length": "1 m"}, "--set patches.length: no such input"), ({"deck.slab_thickness": "190"}, "job.toml: deck.slab_thickness: .*without a unit"),
        ({"patches.P1.length": "1 kg"}, "patches.csv, row 2, column length"), ({"limits.wast": "5 %"}, "limits.wast: unknown"),
        ({"deck.slab_thickness": "150 mm"}, "patches.csv, patch P4: a depth of 177.8 mm is more than the slab 150 mm"),
        ({"patches.P1.patch": "P2"}, "stands already|no such input|there is no patch"),
    ],
)  # fmt: skip
def test_a_change_that_cannot_be_made_is_named(change, words):
    with pytest.raises(JobError, match=words):
        review.rerun(DEMO["SI"], change)


def test_all_faults_of_the_changes_come_at_once():
    with pytest.raises(JobError) as caught:
        review.rerun(DEMO["SI"], {"deck.slab": "1 mm", "mix.slump": "2 kg", "patches.P1.width": "wide"})
    assert len(caught.value.faults) == 3


def test_the_job_folder_is_not_touched(tmp_path):
    job = tmp_path / "job"
    shutil.copytree(DEMO["SI"], job, ignore=shutil.ignore_patterns("package", "kernel-*"))
    before = {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in job.iterdir()}
    review.rerun(job, {"limits.waste": "5 %"})
    assert {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in job.iterdir()} == before


def test_a_changed_job_says_so_on_its_title_sheet():
    from deckcalc import sections

    changed = carry(DEMO["SI"], {"limits.waste": "5 %"})
    assert "Inputs changed for review: limits.waste = 5 %." in sections.title_sheet(changed)
    assert "Inputs changed" not in sections.title_sheet(demo("SI"))
