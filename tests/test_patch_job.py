"""Check the patches of whole jobs: both demo jobs, variants of them, and survey tables with something wrong."""

import math
import random
import re
import shutil

import numpy as np
import pytest
import shapely
from converted import convert
from samples import demo, strict

from deckcalc import patch
from deckcalc.base.fields import FULL, PARTIAL, JobError
from deckcalc.core.bars import bar_diameter
from deckcalc.core.sources import folder
from deckcalc.core.units import OrderVolume
from deckcalc.job import Job, compute
from deckcalc.job.file import read_job
from deckcalc.patch import sheet
from deckcalc.patch.design.sensitivity import sensitivity
from deckcalc.patch.formulas import outlines
from deckcalc.patch.sheet import drawings, sketch
from deckcalc.show.governing import leading_to

DEMO = folder("notebooks") / "demo_us"


@pytest.fixture(scope="module")
def jobs():
    return {system: demo(system) for system in ("SI", "US")}


def copied(tmp_path, **changes):
    """Copy the demo job with files changed: a function of their text, or None to leave one out."""
    out = tmp_path / "job"
    shutil.copytree(DEMO, out)
    for name, change in changes.items():
        path = out / (name.replace("_toml", ".toml") if name.endswith("_toml") else f"{name}.csv")
        if change is None:
            path.unlink()
        else:
            path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")
    return out


def swap(*pairs):
    """Return a change that replaces text, which has to be there."""

    def change(text):
        for old, new in pairs:
            assert old in text, old
            text = text.replace(old, new)
        return text

    return change


def faults_of(job):
    with pytest.raises(JobError) as caught:
        compute(job)
    return caught.value.faults


# --- the demo jobs


def test_both_demo_jobs_carry_a_survey_of_real_size(jobs):
    for job in jobs.values():
        found = job.patch.marked.found
        forms = [outline.form for outline in found.outlines]
        assert len(found.xy) >= 400 and forms.count("radius survey") == 2 and forms.count("traced outline") == 1
        assert [one.patch for one in job.patch.marked.patches] == [f"P{k}" for k in range(1, 9)]
        stations = [float(one.station.m_as("m")) for one in job.patch.marked.patches]
        assert stations == sorted(stations)
        assert job.patch.depth_class == {
            **dict.fromkeys([f"P{k}" for k in range(1, 9)], PARTIAL),
            "P4": FULL,
            "P8": FULL,
        }


def test_si_and_us_are_the_same_job(tmp_path):
    room = (
        longer("P1", across="18 in"),
        longer("P3", across="4 in"),
    )  # for the laps: no patch grows, by steps of its own
    filed = copied(tmp_path, job_toml=lambda text: room[1](room[0](text)))
    us, si = (Job(read_job(place)) for place in (filed, convert(filed, tmp_path / "si")))
    assert not us.rounds.grown and not si.rounds.grown
    us, si = us.patch, si.patch
    assert [run.item for run in si.runs] == [run.item for run in us.runs]
    for one, other in zip(si.runs, us.runs, strict=True):
        for name, value in one.results().items():
            if name == "s_D" or one.calculation in (patch.curing_area, patch.whole_number, patch.debris):
                continue  # hard sizes: aggregate, cover past the edges, mixer batch; unit weight to five figures
            unit = value.units
            assert other.results()[name].m_as(unit) == pytest.approx(value.m_as(unit), rel=2e-8, abs=1e-9), (
                one.item,
                name,
            )


def test_what_the_hand_calculation_gives_is_what_the_geometry_drew(jobs):
    for one in jobs["SI"].patch.marked.patches:
        found = next(
            run.result for run in jobs["SI"].patch.of(f"patch {one.patch}") if run.calculation is patch.patch_limits
        )
        outline = one.piece.outline
        assert found.A.m_as("m²") == pytest.approx(outline.area, rel=1e-6)
        assert found.P_cut.m_as("m") == pytest.approx(one.piece.cut, abs=1e-5)
        assert found.L.m_as("m") == pytest.approx(outline.bounds[2] - outline.bounds[0], rel=1e-6)
        corners = shapely.get_coordinates(outline)
        assert found.D.m_as("m") == pytest.approx(
            max(shapely.Point(corners[0]).distance(shapely.Point(c)) for c in corners)
        )


def test_the_trace_is_taken_as_two_rectangles(jobs):
    found = next(run.result for run in jobs["US"].patch.runs if run.calculation is patch.box_or_split)
    # by hand: legs of 1.5 ft with margins of 2.5 in, box 3.5 ft by 5 ft
    m = 2.5 / 12
    box = (3.5 + 2 * m) * (5 + 2 * m)
    several = (1.5 + 2 * m) * (5 + 2 * m) + 2.0 * (1.5 + 2 * m)
    assert found.A_less.m_as("ft²") == pytest.approx(box - several, rel=1e-6)
    assert found.P_more.m_as("ft") == pytest.approx(1.5 + 2 * m, rel=1e-5)
    assert found.K_gain.m_as("") == pytest.approx(40 * (box - several) - 6 * (1.5 + 2 * m) - 150, rel=1e-5)


def test_a_patch_at_the_joint_has_no_cut_along_it(jobs):
    last = jobs["US"].patch.marked.patches[6]
    assert last.piece.outline.bounds[2] == pytest.approx(170 * 0.3048)
    assert last.piece.cut == pytest.approx((2 * (1.5 + 2 + 2.5 / 12) + (2 + 5 / 12)) * 0.3048, abs=1e-5)


def test_a_shuffled_survey_gives_the_same_job(tmp_path, jobs):
    def shuffled(text):
        head, *rows = text.strip().splitlines()
        random.Random(3).shuffle(rows)
        return "\n".join([head, *rows]) + "\n"

    again = compute(copied(tmp_path, soundings=shuffled, radii=shuffled, rectangles=shuffled, depths=shuffled))
    assert again.patch.order_volume.m_as("m³") == pytest.approx(jobs["US"].patch.order_volume.m_as("m³"), rel=1e-9)
    assert again.patch.decisions == jobs["US"].patch.decisions


def test_more_margin_depth_overbreak_and_waste_mean_more_concrete(jobs):
    base = jobs["US"].patch.order_volume
    rows = sensitivity(jobs["US"].patch)
    assert {name for name, _, _ in rows} == {"margin", "depth of every reading", "over-break", "waste"}
    for _, _, (low, high) in rows:
        assert low < base < high
    by_name = {name: orders for name, _, orders in rows}
    assert by_name["waste"][0].m_as("m³") == pytest.approx(base.m_as("m³") / 1.10, rel=1e-9)
    assert by_name["over-break"][1].m_as("m³") == pytest.approx(base.m_as("m³") * 1.20 / 1.08, rel=1e-9)


def test_the_sheet_has_one_row_a_patch_and_the_appendix_the_rest(jobs):
    for job in jobs.values():
        text = str(sheet.results(job.patch, job.written))
        for one in job.patch:
            row = next(line for line in text.splitlines() if line.startswith(f"| {one.name} "))
            assert one.depth_class in row and job.show(one.volume.V_order, OrderVolume) in row
            bad = [check for check in job.patch.checks if check.item == one.item and check.verdict == "not satisfied"]
            assert ("not satisfied" in row) == bool(bad)
        assert job.show(job.patch.order_volume, OrderVolume) in text and "None" not in text
        assert job.written.numbers[job.patch.runs_of(patch.patch_volume)[0]] in text
        further = sheet.further(job.patch)
        printed = "".join(map(str, further))
        heads = [str(part).strip("# \n") for part in further if str(part).startswith("### ")]
        assert heads == [
            "Location of the patches", "Outlines of the survey", "Readings of depth and cover", "Sections", "Volumes by triangles",
            "Sensitivity of quantity",
        ]  # fmt: skip
        assert all(one.name in printed for one in job.patch)
        assert not [make for make in (sheet.survey, sheet.basis, sheet.set_out) if str(make(job.patch)) in printed]
        for draw in (drawings.deck_plan, drawings.sections_drawn, sketch.sketch):
            assert draw(job.patch).png[:4] == b"\x89PNG"


def test_the_case_written_out_is_that_of_the_check_that_governs(jobs):
    for job in jobs.values():
        check, runs = sheet.governing_case(job.patch)
        names = {one.item for one in job.patch}
        rivals = [
            one for one in job.patch.checks
            if one.item in names and one.utilisation and leading_to(job.patch, one.demand, one.limit.value)
        ]  # fmt: skip
        assert len(rivals) > len(names) and check.utilisation == max(one.utilisation for one in rivals)
        assert {run.item for run in runs} == {check.item} and 4 <= len(runs) <= 10
        text = str(sheet.by_hand(job.patch, job.written))
        assert check.title in text and all(job.written.numbers[run] in text for run in runs)
        made = {id(value) for run in runs for value in run.results().values()}
        assert {id(check.demand), id(check.limit.value)} & made


def test_a_sheet_of_few_patches_prints_nothing_of_what_is_not_there():
    job = compute(folder("notebooks") / "small_patches")
    check, runs = sheet.governing_case(job.patch)
    assert {run.calculation for run in runs} <= {patch.removal_depth, patch.saw_cut}
    assert {run.item for run in runs} == {check.item}
    text = "".join(str(part) for part in sheet.further(job.patch))
    assert "Sensitivity" not in text and "Sections" in text
    assert "soundings" not in sheet.survey(job.patch) and "growth" not in sheet.basis(job.patch)


# --- variants


def alone(text):
    """Leave out the sections that name patches of the whole survey."""
    for start, end in (("[reinforcement]", "[chloride.profile]"), ("[curing]", "# Limits that replace")):
        text = text[: text.index(start)] + text[text.index(end) :]
    return text


def test_any_one_form_of_survey_is_enough(tmp_path):
    none = dict.fromkeys(("pits", "cut_lengths", "placements", "cylinders", "cubes", "history"))
    depths = lambda text: "\n".join([text.splitlines()[0], "D1,142,6,2.5,1.75", ""])  # noqa: E731
    bars = lambda text: "\n".join([*text.splitlines()[:2], ""])  # noqa: E731
    there = lambda text: bars(text).replace("122.75,7.5", "142,6")  # noqa: E731
    only = copied(tmp_path, job_toml=alone, **none, soundings=None, radii=None, traces=None, depths=depths, bars=there,
                  rectangles=lambda text: "\n".join(text.splitlines()[:2]) + "\n")  # fmt: skip
    job = compute(only)
    assert [one.forms for one in job.patch.marked.patches] == [["rectangle F1"]]
    assert not any(check.title == "spacing of the soundings" for check in job.checks)
    depths = lambda text: "\n".join(text.splitlines()[:5]) + "\n"  # noqa: E731
    kept = ("line", "L122", "L123", "L124", "L125")
    keep = lambda text: "\n".join(r for r in text.splitlines() if r[:4] in kept) + "\n"  # noqa: E731
    job = compute(
        copied(
            tmp_path / "b",
            job_toml=alone,
            **none,
            soundings=keep,
            radii=None,
            traces=None,
            rectangles=None,
            depths=depths,
            bars=bars,
        )
    )
    assert [one.forms for one in job.patch.marked.patches] == [["6 delaminated readings"]]


def test_one_deep_place_may_take_a_part_through(tmp_path):
    out = copied(tmp_path, job_toml=swap(('full_depth_area = "whole patch"', 'full_depth_area = "where deep"')),
                 depths=swap(("D20,161,8.25,3,", "D20,161,8.25,4.5,")))  # fmt: skip
    job = compute(out)
    assert job.patch.depth_class["P5"] == FULL and job.patch.depth_class["P4"] == FULL
    assert [one.name for one in job.patch if one.through is not None] == ["P5"]
    part, outline = job.patch["P5"].through, job.patch.marked.patches[4].piece.outline
    assert outline.buffer(1e-6).covers(part) and 0 < part.area < outline.area / 2
    runs = {run.calculation: run.result for run in job.patch.of("patch P5")}
    volume = job.patch["P5"].floor.volume - job.patch["P5"].floor.volume_within(part) + part.area * 8 * 0.0254
    assert runs[patch.patch_volume].V_net.m_as("m³") == pytest.approx(volume, rel=1e-6)
    whole = compute(out, {"removal.full_depth_area": "whole patch"})
    assert whole.patch.order_volume > job.patch.order_volume


def test_the_bottom_mat_may_decide(tmp_path):
    out = copied(tmp_path, job_toml=swap(('full_depth_rule = "share of the slab"', 'full_depth_rule = "bottom mat"')))
    job = compute(out)
    assert job.patch.runs_of(patch.bottom_mat)[0].result.m_as("inch") == pytest.approx(8 - 1 - 0.625 - 0.5)
    assert job.patch.depth_class["P4"] == FULL  # 7 in reaches 5 7/8 in
    assert "less than the depth of the bottom mat" in job.patch.decisions["patch P1"]
    faults = faults_of(copied(tmp_path / "b", job_toml=swap(('full_depth_rule = "share of the slab"', 'full_depth_rule = "bottom mat"'),
                                                            ('bottom_cover = "1 in"  # cover of the bottom mat', '# none'))))  # fmt: skip
    assert any("“bottom mat” wants deck.bottom_bar_outer" in fault for fault in faults)


def test_over_a_panel_concrete_is_removed_to_the_panel(tmp_path):
    out = copied(
        tmp_path,
        job_toml=swap(
            (
                'bottom_cover = "1 in"  # cover of the bottom mat',
                'bottom_cover = "1 in"\npanel = "4 in"  # cover of the bottom mat',
            )
        ),
    )
    job = compute(out)
    volume = next(run for run in job.patch.of("patch P1") if run.calculation is patch.patch_volume)
    assert volume.arguments["h"].m_as("inch") == pytest.approx(4.0, rel=1e-6)
    assert job.patch.depth_class["P4"] == FULL and "panel" in job.patch.decisions["patch P4"]


def test_readings_on_an_overlay_are_taken_from_the_slab(tmp_path, jobs):
    def deeper(text):
        head, *rows = text.strip().splitlines()
        cells = [row.split(",") for row in rows]
        return (
            "\n".join([head, *(",".join([*c[:3], *(str(float(v) + 1.5) if v else "" for v in c[3:])]) for c in cells)])
            + "\n"
        )

    out = copied(
        tmp_path,
        depths=deeper,
        job_toml=swap(
            ('bottom_cover = "1 in"  # cover of the bottom mat', 'bottom_cover = "1 in"\noverlay = "1.5 in"  # ')
        ),
    )
    job = compute(out)
    assert job.patch.order_volume.m_as("m³") == pytest.approx(jobs["US"].patch.order_volume.m_as("m³"), rel=1e-9)
    assert job.patch.runs_of(patch.overlay_volume)[0].result.m_as("ft³") == pytest.approx(
        job.patch["P1"].limits.A.m_as("ft²") * 1.5 / 12, rel=1e-9
    )
    assert "the overlay of 1 1/2 in is taken off" in sheet.readings(job.patch)


def test_a_skewed_deck_marked_on_the_skew(tmp_path):
    out = copied(tmp_path, job_toml=swap(('skew = "0 deg"', 'skew = "10 deg"'), ('direction = "centreline"', 'direction = "skew"')),
                 soundings=lambda text: "\n".join(r for r in text.splitlines() if r[:4] not in ("L111", "L112", "L113")) + "\n",
                 rectangles=swap(("F2,169.25", "F2,169.2")))  # fmt: skip
    job = compute(out)
    assert all(check.verdict for check in job.checks)
    one = job.patch.marked.patches[0]
    box = one.piece.outline.minimum_rotated_rectangle
    assert box.area == pytest.approx(one.piece.outline.area, rel=1e-6)
    sides = np.diff(shapely.get_coordinates(one.piece.outline), axis=0)
    turned = np.degrees(np.arctan2(sides[:, 1], sides[:, 0])) % 90
    assert turned == pytest.approx([10.0] * 4, abs=1e-4)
    assert one.piece.outline.covers(one.piece.unsound)
    assert "P1" in sheet.set_out(job.patch)


def test_a_large_share_asks_for_another_look(tmp_path):
    out = copied(
        tmp_path, job_toml=lambda text: text + '\n[limits.distress_share]\nvalue = "3 %"\nsource = "engineer"\n'
    )
    found = [check for check in compute(out).checks if check.title == "unsound share of the deck surveyed"]
    assert [(check.item, check.verdict) for check in found] == [("span 2", "not satisfied")]


def test_packaged_concrete_is_ordered_in_whole_bags(tmp_path):
    out = copied(tmp_path, job_toml=swap(("[haulage]", 'bag_yield = "0.60 ft^3"\n\n[haulage]')))
    job = compute(out)
    bags = next(run.result for run in job.patch.of("bags of repair concrete"))
    assert bags.n.m_as("") == -(-job.patch.order_volume.m_as("ft³") // 0.60)


# --- bad input: each named by its row

BAD = {
    "twice": ({"soundings": lambda t: t + "X1,124,7,,,h\n"}, r"line L124, mark 7 and line X1, mark 1: .*sounded twice"),
    "contradiction": ({"soundings": lambda t: t + "X1,124,7,,,.\n"}, "delaminated in one and sound in the other"),
    "sound in a trace": ({"traces": swap(("T1-1,T1,160,4", "T1-1,T1,155.9,1.4"))}, "sounds sound, but lies inside the traced outline T1"),
    "off the deck": ({"soundings": lambda t: t + "X1,171.5,7,,,h\n"}, r"line X1, mark 1: station 171 ft 6 in, offset 7 ft 0 in is off the deck"),
    "outside the strip": ({"soundings": lambda t: t + "X1,124,-3,,,.\n"}, "outside the strip surveyed"),
    "mark": ({"soundings": swap(("......hh.....", "......hx....."))}, "found marks “......hx.....”"),
    "no end": ({"soundings": lambda t: t + "X1,124,0.5,,,hh\n"}, "line X1: 2 marks, but end station or end offset is empty"),
    "one mark": ({"soundings": lambda t: t + "X1,124,0.5,125,0.5,h\n"}, "one mark, but the line ends elsewhere"),
    "no spacing": ({"job_toml": swap(('spacing_along = "1 ft"', "# none"))}, "soundings.csv wants spacing_along"),
    "no bearing": ({"radii": swap(("R1-2,R1,131.5,10,45,", "R1-2,R1,131.5,10,,"))}, r"radii.csv, row 3, column bearing \[deg\]: found “”"),
    "bearing without a unit": ({"radii": swap(("bearing [deg]", "bearing"))}, "wanted degrees with their unit"),
    "another hole": ({"radii": swap(("R1-2,R1,131.5,", "R1-2,R1,131.6,"))}, "hole R1: radius R1-2 starts at another place"),
    "few radii": ({"radii": lambda t: "\n".join(t.splitlines()[:3] + t.splitlines()[9:]) + "\n"}, "hole R1: 2 radii, wanted at least three"),
    "radius off the deck": ({"radii": swap(("R2-3,R2,155.5,9,90,1\n", "R2-3,R2,155.5,9,90,6\n"))}, "radius R2-3: .*off the deck"),
    "crossing outline": ({"traces": swap(("T1-2,T1,163.5,4", "T1-2,T1,163.5,8"))}, "traces.csv, outline T1: the outline crosses"),
    "two vertices": ({"traces": lambda t: "\n".join(t.splitlines()[:3]) + "\n"}, "outline T1: 2 vertices"),
    "zero area": ({"rectangles": swap(("F1,142,6,4,2.5", "F1,142,6,0,2.5"))}, r"rectangles.csv, row 2, column length \[ft\]"),
    "rectangle off the deck": ({"rectangles": swap(("F2,169.25,12,1.5,2", "F2,169.25,12,3,2"))}, "area F2: 25 % of it lies off the deck; station and offset are those of its middle.*“rectangles.F2”"),
    "too deep": ({"depths": swap(("D17,156.25,9.25,7,", "D17,156.25,9.25,9,"))}, "reading D17: a depth of 9 in is more than the slab 8 in"),
    "a little too deep": ({"depths": swap(("D17,156.25,9.25,7,", "D17,156.25,9.25,8.02,"))}, "reading D17: a depth of 8.02 in is more than the slab 8.00 in"),
    "cover near half the slab": ({"depths": swap(("D21,162.25,4.75,2,1.875", "D21,162.25,4.75,2,4.02"))}, "reading D21: found a cover of 4.02 in, usual is 0.39 in to half the slab, 4.00 in"),
    "no reading": ({"depths": lambda t: "\n".join(r for r in t.splitlines() if r[:3] not in ("D5,", "D6,", "D7,", "D8,")) + "\n"}, "the patch at station 131 ft 6 in, offset 10 ft 0 in .*radius survey R1.* has no depth reading"),
    "no cover": ({"depths": swap(("D21,162.25,4.75,2,1.875", "D21,162.25,4.75,2,"), ("D22,163,5,2.25,1.75", "D22,163,5,2.25,"))}, "has no reading of the cover"),
    "astray": ({"depths": lambda t: t + "X1,150,3,2,2\n"}, "reading X1: station 150 ft 0 in, offset 3 ft 0 in lies in no patch"),
    "empty": ({"depths": lambda t: t + "X1,150,3,,\n"}, "reading X1: neither depth nor cover"),
    "same place": ({"depths": lambda t: t + "X1,124.5,7.25,2,\n"}, "readings D2 and X1: two readings of depth at one place"),
    "in the overlay": ({"job_toml": swap(('bottom_cover = "1 in"  # cover of the bottom mat', 'bottom_cover = "1 in"\noverlay = "1.4 in"  # '))}, "reading D6: the depth 1.25 in ends within the overlay of 1.40 in"),
    "joints": ({"job_toml": swap(('joints = ["110 ft", "170 ft"]', 'joints = ["170 ft", "110 ft"]'))}, "plan.joints: stations do not rise"),
    "kerbs": ({"job_toml": swap(('left = "-14 ft"', 'left = "20 ft"'))}, "plan.left: the left kerb"),
    "one price": ({"job_toml": swap(('piece_price = "150"', "# none"))}, "removal_price, cut_price and piece_price go together"),
    "nothing hollow": ({"radii": None, "traces": None, "rectangles": None, "soundings": lambda t: t.replace("h", "."), "depths": lambda t: t.splitlines()[0] + "\nD1,150,6.5,,1.5\n"}, "lies in no patch|the survey found no delamination"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_named_by_row(tmp_path, name):
    changes, words = BAD[name]
    faults = faults_of(copied(tmp_path, **changes))
    assert any(re.search(words, fault) for fault in faults), faults
    assert not any("bars.csv" in fault for fault in faults)  # no fault that only follows from another


# --- patches made longer


def longer(name, **sides):
    """Return a change of job.toml that makes a patch longer."""
    lines = "".join(f'{side} = "{size}"\n' for side, size in sides.items())
    return lambda text: text.replace("[removal]", f'[marking.longer.{name}]\n{lines}why = "laps"\n\n[removal]', 1)


def test_a_patch_made_longer_for_its_laps_has_room_for_them(tmp_path, jobs):
    filed = jobs["US"]  # carried again until it has room
    grow = filed.rounds.grown[0]["P1"].across
    assert grow.m_as("in") > 5 and any("P1 across traffic by" in note for note in filed.patch.notes)
    job = Job(read_job(copied(tmp_path, job_toml=longer("P1", across=f"{grow.m_as('in'):.2f} in"))))
    assert "P1" not in job.rounds.grown[0] and "P1" not in job.steel.growth
    for name in ("L", "B", "A", "P_cut"):
        made, same = (getattr(one.patch["P1"].limits, name).m_as("m" if name != "A" else "m²") for one in (job, filed))
        assert made == pytest.approx(same, rel=1e-9)
    old, new = next(one for one in filed.file.marked.patches if one.patch == "P1"), job.patch["P1"].marked
    assert new.piece.sides[1] - old.piece.sides[1] == pytest.approx(grow.m_as("m"), abs=2e-4)
    assert new.piece.sides[0] == pytest.approx(old.piece.sides[0])
    assert "longer by" in job.patch.decisions["patch P1"] and "in width: laps" in job.patch.decisions["patch P1"]
    assert new.piece.outline.buffer(1e-6).contains(old.piece.outline)
    assert job.patch["P1"].limits.P_cut.m_as("m") == pytest.approx(new.piece.cut, abs=1e-5)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (longer("P99", across="10 in"), "marking.longer.P99: the survey gives no patch “P99”"),
        (longer("P1"), "marking.longer.P1: neither along nor across is given"),
        (longer("P5", along="9 ft"), "marking.longer.P5: it would reach into patch P"),
        (longer("P1", across="9 ft", along="9.8 ft"), "marking.longer.P1: it would reach into patch P2"),
        (longer("P7", along="40 ft"), "marking.longer.P7.along: .*wanted a length"),
    ],
)
def test_a_patch_that_cannot_be_made_longer_is_named(tmp_path, change, words):
    assert any(re.search(words, fault) for fault in faults_of(copied(tmp_path, job_toml=change)))


# --- covers, and narrow strips at joints and kerbs


def test_the_cover_that_is_safe_is_taken_for_each_use(jobs):
    for job in jobs.values():
        clear = job.limit("clear_space").value
        for one in job.patch:
            covers = [reading.cover for reading in one.marked.readings if reading.cover is not None]
            assert one.cover.least.m_as("m") == pytest.approx(min(covers)) == one.marked.least_cover.m_as("m")
            assert one.cover.mean.m_as("m") == pytest.approx(sum(covers) / len(covers))
            assert one.cover.greatest.m_as("m") == pytest.approx(max(covers))
            assert one.saw.m_as("m") == pytest.approx(min(covers) - job.limit("saw_margin").value.m_as("m"))
            if one.removal is not None and one.removal.n_r.m_as(""):
                bars = sum(
                    bar_diameter(name).m_as("m")
                    for name in (job.patch.deck.top_bar_outer, job.patch.deck.top_bar_inner)
                )
                under_deepest = one.left.h_d.m_as("m") - max(covers) - bars
                assert under_deepest >= clear.m_as("m") - 1e-9, one.name


def test_limits_that_people_keep_to_are_never_printed_past_their_value(jobs):
    job = jobs["SI"]
    row = next(line for line in sheet.results(job.patch, job.written).splitlines() if line.startswith("| P3"))
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    assert (
        cells[3] == "31 mm" and cells[4] == "93 mm"
    )  # 38.1 less 6.35 is 31.75; 44.45 and both bars and 19.05 are 92.075


@pytest.mark.parametrize(("distance", "named"), [("4.11 in", True), ("4.10 in", False), ("4.09 in", False)])
def test_a_strip_to_a_joint_is_named_below_the_distance_of_joining(tmp_path, distance, named):
    # the repair limits of the rectangle F3 end 4.10 in before the deck end at 170 ft: 168.2 ft and 1.25 ft and 2.5 in from it
    more = lambda text: f'{text}\n[limits.merge_distance]\nvalue = "{distance}"\nsource = "engineer of record"\n'  # noqa: E731
    job = Job(read_job(copied(tmp_path, job_toml=more)))
    one = next(p for p in job.patch if "rectangle F3" in p.marked.forms)
    found = [strip for strip in one.strips if "joint" in strip.edge]
    assert bool(found) == named
    failed = [c for c in job.patch.checks if c.item == one.item and "joint or deck end" in c.title]
    assert [c.verdict for c in failed] == ["not satisfied"] * named
    if named:
        assert found[0].width.m_as("in") == pytest.approx(4.10, abs=1e-4)
        assert "sound concrete is left to the joint" in job.patch.decisions[one.item]


def test_narrow_strips_are_taken_out_on_demand_and_everything_follows(tmp_path, jobs):
    filed = jobs["US"].patch
    assert {one.name for one in filed if one.strips} == {"P7", "P8"}
    job = Job(read_job(copied(tmp_path, job_toml=swap(('narrow_strip = "leave"', 'narrow_strip = "take out"')))))
    made = job.patch
    assert not any(one.strips for one in made) and not any(
        "sound concrete left" in check.title for check in made.checks
    )
    for name in ("P7", "P8"):
        assert made[name].marked.piece.outline.buffer(1e-6).contains(filed[name].marked.piece.outline)
        assert made[name].volume.V_order > filed[name].volume.V_order
        assert made[name].limits.A.m_as("m²") == pytest.approx(made[name].marked.piece.outline.area, rel=1e-6)
    grown = made["P8"].limits.L - filed["P8"].limits.L
    assert grown.m_as("mm") == pytest.approx(filed["P8"].strips[0].width.m_as("mm"), abs=1e-3)
    assert made["P8"].limits.P_cut.m_as("m") == pytest.approx(made["P8"].marked.piece.cut, abs=1e-5)
    for name in ("P1", "P2", "P3", "P4", "P5", "P6"):
        assert made[name].volume == filed[name].volume
    with pytest.raises(JobError, match=r"marking\.narrow_strip.*'leave' or 'take out'"):
        read_job(copied(tmp_path / "b", job_toml=swap(('narrow_strip = "leave"', 'narrow_strip = "cut"'))))


@pytest.mark.parametrize("skew", [0.0, 25.0, -35.0])
def test_a_patch_taken_to_a_skewed_joint_ends_at_it(skew):
    lean = math.tan(math.radians(skew))
    panel = shapely.Polygon([(y * lean + x, y) for x, y in ((0, -4), (18, -4), (18, 4), (0, 4))])
    rules = outlines.Rules(margin=0.06, merge=0.3, least_side=0.15, to_edges=True)
    for left in (0.2, 0.28, 0.32):
        box = shapely.box(16.5, 1.0, 18 + min(1.0 * lean, 1.5 * lean) - left / math.cos(math.radians(skew)), 1.5)
        strip = outlines.edge_strips(box, panel, 0.3)
        made = outlines.to_edges(box, panel, rules)
        assert any(strip) == (left < 0.3) and panel.buffer(1e-6).contains(made) and made.buffer(1e-9).contains(box)
        assert not any(outlines.edge_strips(made, panel, 0.3))
        assert (made.area > box.area) == (left < 0.3)


def test_a_patch_is_not_taken_to_an_edge_through_another_piece():
    panel, box = shapely.box(0, 0, 10, 8), shapely.box(5.0, 1.0, 9.9, 2.0)
    rules = outlines.Rules(margin=0.06, merge=0.3, least_side=0.15, to_edges=True)
    assert outlines.to_edges(box, panel, rules, [shapely.box(9.9, 1.5, 10, 3)]).equals(box)


def test_a_patch_may_be_made_longer_both_ways_at_once(tmp_path, jobs):
    job = Job(read_job(copied(tmp_path, job_toml=longer("P2", along="4 in", across="6 in"))))
    old, new = jobs["US"].patch["P2"].limits, job.patch["P2"].limits
    assert (new.L - old.L).m_as("in") == pytest.approx(4, abs=1e-6)
    assert (new.B - old.B).m_as("in") == pytest.approx(6, abs=1e-6)
    assert "4 in in length and 6 in in width" in job.patch.decisions["patch P2"]


# --- what is asked about


def cover(value):
    """Return a cover of the bottom mat, which two sections state."""
    return {"deck.bottom_cover": value, "deck_strip.bottom_cover": value}


def wide(right):
    """Return a deck to so far on the right."""
    return {"plan.left": "-100 ft", "plan.left_edge": "-100 ft", "plan.right": right, "plan.right_edge": right}


#: Inputs, the field that is asked about, and inputs just within.
ASKED = {
    "rectangle past the joint": ({"rectangles.F2.middle_station": "169.3 ft"}, "rectangles.F2", {"rectangles.F2.middle_station": "169.25 ft"}),
    "long rectangle": ({"rectangles.F1.length": "15.1 m"}, "rectangles.F1.size", None),
    "spacing in feet": ({"deck.bar_spacing": "2.9 in"}, "deck.bar_spacing", {"deck.bar_spacing": "3 in"}),
    "wide spacing": ({"deck.bar_spacing": "18.2 in"}, "deck.bar_spacing", {"deck.bar_spacing": "18 in"}),
    "thick slab": ({"deck.slab_thickness": "14.1 in"}, "deck.slab_thickness", {"deck.slab_thickness": "14 in"}),
    "spacing of the strip": ({"deck_strip.bottom_spacing": "2.9 in"}, "deck_strip.bottom_spacing", {"deck_strip.bottom_spacing": "3 in"}),
    "top cover of the strip": ({"deck_strip.top_cover": "4.1 in"}, "deck_strip.top_cover", None),
    "bottom cover of the strip": ({"deck_strip.bottom_cover": "4.1 in"}, "deck_strip.bottom_cover", None),
    "long trace": ({"traces.T1-2.station": "160 m"}, "traces.T1.size", None),
    "bottom cover": (cover("3 in"), "deck.bottom_cover", cover("2.9 in")),
    "over-break as a fraction": ({"removal.overbreak": "0.08 %"}, "removal.overbreak", {"removal.overbreak": "1 %"}),
    "growth as a fraction": ({"removal.growth": "0.05 %"}, "removal.growth", {"removal.growth": "0 %"}),
    "bulking as a fraction": ({"haulage.bulking": "0.5 %"}, "haulage.bulking", {"haulage.bulking": "10 %"}),
    "width in another unit": (wide("40 ft"), "plan.right", wide("31 ft")),
    "thin cover": ({"depths.D1.cover": "0.39 in"}, "depths.D1.cover", {"depths.D1.cover": "0.4 in"}),
    "deep cover": ({"depths.D1.cover": "4.01 in"}, "depths.D1.cover", {"depths.D1.cover": "4 in"}),
    "deep cover of a point": ({"covers.K1.cover": "4.01 in"}, "covers.K1.cover", {"covers.K1.cover": "4 in"}),
    "deep bar of a core": ({"cores.C1.bar_depth": "4.01 in"}, "cores.C1.bar_depth", {"cores.C1.bar_depth": "4 in"}),
    "depth a tenth": ({"depths.D2.depth": "0.5 in"}, "depths.D2.depth", {"depths.D2.depth": "0.6 in"}),
}  # fmt: skip


@pytest.mark.parametrize("name", ASKED)
def test_a_probable_slip_is_asked_about_and_may_be_confirmed(name):
    slip, field, within = ASKED[name]
    with pytest.raises(JobError) as caught:
        strict(DEMO, slip)
    assert any(f"add “{field}” to the list confirmed" in fault for fault in caught.value.faults), caught.value.faults
    if within is not None:
        assert read_job(DEMO, within).confirmed == {}
        assert list(read_job(DEMO, {**slip, "confirmed": field}).confirmed) == [field]


def test_a_span_of_joints_in_another_unit_is_asked_about(tmp_path):
    job = copied(tmp_path, job_toml=swap(('joints = ["110 ft", "170 ft"]', 'joints = ["110 m", "170 ft"]')))
    assert any("plan.joints: stations do not rise" in fault for fault in faults_of(job))
    job = copied(
        tmp_path / "b", job_toml=swap(('joints = ["110 ft", "170 ft"]', 'joints = ["110 ft", "170 ft", "178 ft"]'))
    )
    assert any("plan.joints, length of a span: found" in fault for fault in faults_of(job))


def test_a_confirmed_rectangle_ends_at_the_deck(jobs):
    patched = Job(read_job(DEMO, {"rectangles.F2.middle_station": "169.3 ft", "confirmed": "rectangles.F2"})).patch
    ends = max(one.piece.outline.bounds[2] for one in patched.marked.patches)
    assert ends == pytest.approx(170 * 0.3048, abs=1e-6)


def test_a_rectangle_whose_middle_is_off_the_deck_is_no_question():
    with pytest.raises(JobError, match=r"area F2, a corner: .* is off the deck"):
        read_job(DEMO, {"rectangles.F2.middle_station": "171 ft", "confirmed": "rectangles.F2"})


def test_one_area_written_down_twice_is_named():
    same = {f"rectangles.F3.{key}": value for key, value in (
        ("middle_station", "142"), ("middle_offset", "6"), ("length", "4"), ("width", "2.5"))}  # fmt: skip
    with pytest.raises(JobError, match="rectangle F1 and rectangle F3: the same area twice"):
        read_job(DEMO, same)
    assert read_job(DEMO, {**same, "rectangles.F3.length": "4.05"})


def test_the_head_of_the_table_says_that_the_middle_is_meant():
    for system in ("si", "us"):
        head = (folder("notebooks") / f"demo_{system}" / "rectangles.csv").read_text(encoding="utf-8").splitlines()[0]
        assert "middle station" in head and "middle offset" in head
