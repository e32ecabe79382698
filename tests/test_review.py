"""Check the review: what a changed input moves, and what it flips."""

import re
import shutil
from importlib import import_module

import pytest
from samples import DEMO, SYSTEMS, demo

from deckcalc.job import Job, compute, order, review
from deckcalc.job.file import JobError, read_job
from deckcalc.package import build as package
from deckcalc.package import front


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
        DEMO["SI"], {"deck.slab_thickness": "8 in", "limits.margin": "2 1/2 in", "rectangles.F1.length": "4 ft"}
    )
    assert (outcome.moved, outcome.flipped) == ([], [])


@pytest.mark.parametrize("system", SYSTEMS)
def test_more_waste_moves_orders_and_batches_and_nothing_else(system):
    outcome = review.rerun(DEMO[system], {"limits.waste": "21 %"})
    assert [(one.old, one.new) for one in outcome.changed] == [("10.0 %", "21 %")]
    assert all(
        ", R1" in one.where or one.where.startswith("Closure,") for one in outcome.flipped
    )  # whole bags, minutes
    assert {one.where.partition(",")[0] for one in outcome.moved} == {
        "Patches", "Mix and batch", "Curing and opening", "Closure",
    }  # fmt: skip
    orders = [
        one
        for one in outcome.moved
        if re.search(r"V_order|V_total|order, .*, m_\w+$|curing compound to bring, V$", one.where)
    ]
    assert len(orders) > 15 and {one.percent for one in orders} == {"+10.0 %"}  # 1.21 / 1.10
    whole = [one for one in outcome.moved if re.search(r"patch P\d, R1: prepackaged mortar.*, n$", one.where)]
    assert whole and all(numbers(one.new)[0] > numbers(one.old)[0] for one in whole)
    wheres = [one.where for one in outcome.moved]
    assert sum("V_order" in where for where in wheres) == 8 and sum("V_total" in where for where in wheres) == 1
    assert not any("V_net" in where or "batch, concrete C3" in where for where in wheres)


def test_what_is_listed_is_what_differs_between_the_two_jobs():
    changes = {"rectangles.F1.length": "1.2 m", "deck.unit_weight": "2400 kg/m^3"}
    outcome = review.rerun(DEMO["SI"], changes)
    old, new = package.results(demo("SI")), package.results(compute(DEMO["SI"], changes))
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
        ({"limits.bar_loss_single": "40 %"}, "Reinforcement, bar B6", "replace or supplement the bar: add 1 bar #4",
         "clean; no bar to add by these rules"),
        ({"depths.D12.depth": "140 mm"}, "Patches, patch P3", "partial depth: the deepest reading 76 mm", "full depth: the deepest reading 140 mm"),
        ({"cores.C2.bar_depth": "25.4 mm"}, "core C2: chloride at the bar, all chloride (less than)", "satisfied", "not satisfied"),
        ({"cores.C2.bar_depth": "120 mm", "confirmed": "cores.C2.bar_depth"}, "core C2: chloride at the bar, all chloride (less than)", "satisfied", "not covered"),
        ({"limits.saw_depth": "45 mm"}, "patch P2: planned saw cut (at most)", "satisfied", "not satisfied"),
        ({"mix.concretes.C3.strength": "30 MPa"}, "concrete C3: specified strength (at least)", "satisfied", "not satisfied"),
    ],
)  # fmt: skip
def test_a_verdict_that_flips_is_listed(change, where, old, new):
    outcome = review.rerun(DEMO["SI"], change)
    found = {one.where: one for one in outcome.flipped}
    assert where in found
    assert found[where].old.startswith(old) and found[where].new.startswith(new)


def test_a_result_that_goes_or_comes_is_listed():
    outcome = review.rerun(DEMO["SI"], {"depths.D12.depth": "140 mm"})
    gone = [one for one in outcome.moved if one.new == "(none)"]
    # it takes another concrete then, and its placing holds patches of two, which is refused
    later = ("Curing and opening", "Closure", "Safety")
    assert gone and all(("patch P3" in one.where or one.where.startswith(later)) and one.percent == "" for one in gone)
    assert any("P3 takes C5, P6 takes R1; a placing is of one concrete" in one.new for one in outcome.flipped)
    assert any("patch P3: depth of removal" in one.where for one in gone)
    outcome = review.rerun(DEMO["SI"], {f"depths.D{i}.depth": "60 mm" for i in (14, 15, 16, 17)})
    assert any(one.old == "(none)" and "patch P4: depth of removal" in one.where for one in outcome.moved)


@pytest.mark.parametrize(
    ("key", "value", "old"),
    [
        ("deck.slab_thickness", "210 mm", "203.2 mm"), ("rectangles.F1.length", "1.2 m", "1.2192 m"), ("bars.B6.readings", "12 mm; 13 mm; 13.5 mm", "12.7 mm; 13.335 mm"),
        ("bars.B6.size", "#6", "#5"), ("chloride.threshold", "fdot-less-conservative", "fdot-conservative"), ("limits.waste", "5 %", "10.0 %"),
        ("people.checker", "Q. Reed", ""), ("mix.record.tests", "30", "20"),
    ],
)  # fmt: skip
def test_the_old_value_is_shown_as_filed(key, value, old):
    (changed,) = review.rerun(DEMO["SI"], {key: value}).changed
    assert changed.where == key and changed.new == value and changed.old.startswith(old)


def test_a_value_without_its_unit_takes_that_of_the_column():
    outcome = review.rerun(DEMO["SI"], {"rectangles.F1.length": "1.2", "bars.B6.readings": "12; 13; 13.5"})
    same = review.rerun(DEMO["SI"], {"rectangles.F1.length": "1.2 m", "bars.B6.readings": "12 mm; 13 mm; 13.5 mm"})
    assert outcome.moved == same.moved != []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"deck.slab": "190 mm"}, "--set deck.slab: no such input"), ({"slab_thickness": "190 mm"}, "--set slab_thickness: no such input"),
        ({"rectangles.F9.length": "1 m"}, "--set rectangles.F9.length: no such input"), ({"rectangles.F1.girth": "1 m"}, "--set rectangles.F1.girth: no such input"),
        ({"rectangles.length": "1 m"}, "--set rectangles.length: no such input"), ({"deck.slab_thickness": "190"}, "job.toml: deck.slab_thickness: .*without a unit"),
        ({"rectangles.F1.length": "1 kg"}, r"rectangles.csv, row 2, column length.*--set rectangles.F1.length"), ({"limits.wast": "5 %"}, "limits.wast: unknown"),
        ({"depths.D17.depth": "210 mm"}, "depths.csv, reading D17: a depth of 210.0 mm is more than the slab 203.2 mm"),
        ({"rectangles.F1.area": "F2"}, "rectangles.csv, row 3: area “F2” is already in row 2"),
    ],
)  # fmt: skip
def test_a_change_that_cannot_be_made_is_named(change, words):
    with pytest.raises(JobError, match=words):
        review.rerun(DEMO["SI"], change)


def test_all_faults_of_the_changes_come_at_once():
    with pytest.raises(JobError) as caught:
        review.rerun(DEMO["SI"], {"deck.slab": "1 mm", "mix.load": "2 kg", "rectangles.F1.width": "wide"})
    assert len(caught.value.faults) == 3


def test_the_job_folder_is_not_touched(tmp_path):
    job = tmp_path / "job"
    shutil.copytree(DEMO["SI"], job, ignore=shutil.ignore_patterns("package", "kernel-*"))
    before = {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in job.iterdir()}
    review.rerun(job, {"limits.waste": "5 %"})
    assert {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in job.iterdir()} == before


def test_a_changed_job_says_so_on_its_title_sheet():

    changed = compute(DEMO["SI"], {"limits.waste": "5 %"})
    assert "Inputs changed for review: limits.waste = 5 %." in front.cover(changed)
    assert "Inputs changed" not in front.cover(demo("SI"))


# --- a patch that turns full depth, and a subject that falls out


@pytest.mark.parametrize(
    ("reading", "patch"), [("D1", "P1"), ("D6", "P2"), ("D12", "P3"), ("D22", "P6"), ("D24", "P7")]
)
def test_a_patch_that_turns_full_depth_is_told_what_is_missing(reading, patch):
    under = review.rerun(DEMO["SI"], {f"depths.{reading}.depth": "101 mm"})
    assert not any(one.where.startswith(f"hole {patch}") for one in under.flipped)
    outcome = review.rerun(DEMO["SI"], {f"depths.{reading}.depth": "101.6 mm"})  # half of the slab
    found = {one.where: one.new for one in outcome.flipped}
    assert found[f"Formwork, hole {patch}"].startswith(
        f"no layout: patch {patch} is full depth, and no form is given for it: "
    )
    assert found[f"hole {patch}: form designed (at most)"] == "not covered"


@pytest.mark.parametrize("slab", ["203.2 mm", "203.3 mm", "250 mm", "401 mm", "410 mm", "599 mm"])
def test_any_slab_that_holds_its_readings_gives_a_result(slab):
    sure = {"confirmed": "deck.slab_thickness"} if float(slab.split()[0]) > 350 else {}
    assert review.rerun(DEMO["SI"], {"deck.slab_thickness": slab, **sure}).changed


def test_a_subject_that_falls_out_is_listed_with_its_reason():
    outcome = review.rerun(DEMO["SI"], {"mix.concretes.C3.strength": "55 MPa"})
    found = {one.where: (one.old, one.new) for one in outcome.flipped}
    assert found["mix, as a whole"][0] == "computed" and "lies outside the table" in found["mix, as a whole"][1]
    assert found["curing, as a whole"] == ("computed", "needs mix, which could not be computed")


@pytest.mark.parametrize(
    ("change", "kept"),
    [
        ({"deck.slab_thickness": "8.25 in"}, set()),
        ({"traffic.speed": "50 mph"}, {"patch", "steel", "chloride", "mix", "formwork", "curing", "closure", "safety"}),
        (
            {"chloride.background": "0.01 % of concrete"},
            {"patch", "steel", "mix", "formwork", "curing", "traffic", "closure", "safety"},
        ),
        ({"closure.spare": "8 %"}, {"patch", "steel", "chloride", "mix", "formwork", "curing", "traffic"}),
        ({"limits.waste": "12 %"}, set()),
    ],
)
def test_only_what_depends_on_a_changed_input_is_computed_again(change, kept, monkeypatch):
    """The subjects that are kept are not computed, and the job is the one that is computed afresh."""
    before = demo("US")
    afresh = Job(read_job(DEMO["US"], change))
    wanted = package.manifest(afresh)

    def refused(*given, **named):
        raise AssertionError("computed again")

    for key in kept:
        room = import_module(f"deckcalc.{key}.design")
        monkeypatch.setattr(room, "compute", refused)
    after = order.changed(before, change)
    assert set(after._kept) == kept
    made = package.manifest(after)
    assert made == wanted and made["results"] != package.manifest(before)["results"]


def test_a_notebook_shows_a_review_as_short_tables():
    outcome = review.rerun(DEMO["US"], {"limits.clear_space": "1 in", "bars.B1.readings": "0.55 in; 0.55 in; 0.53 in"})
    shown = outcome._repr_html_()
    tables = [re.findall("<tr>(.*?)</tr>", table)[1:] for table in shown.split("</table>")[:-1]]
    assert [len(rows) <= 12 for rows in tables] == [True] * 3
    assert "satisfied</td><td>not satisfied" in tables[1][0]  # what flipped comes first
    assert f"12 of {len(outcome.moved)}" in shown and outcome.counted in shown
    sheets = {one.sheet for one in outcome.moved}
    assert len(sheets) <= 12 and all(any(f">{sheet}, " in row for row in tables[2]) for sheet in sheets)
    assert review.Review([], [], [])._repr_html_().count("<table>") == 1


def test_what_a_name_holds_is_text_in_a_notebook():
    shown = review.Review([review.Moved("<b>x</b>", "1", "<i>2</i>", "")], [], [])._repr_html_()
    assert "<b>" not in shown and "<i>" not in shown and "&lt;i&gt;2" in shown
