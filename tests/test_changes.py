"""Check changes of inputs: each gives the job that the folder gives when it is edited by hand, and what is wrong is named."""

import csv
import io
import re
import shutil

import pytest
from samples import DEMO, demo

from deckcalc import cli
from deckcalc.job import review
from deckcalc.job.changes import pairs_of
from deckcalc.job.file import JobError, asked, read_folder, read_job
from deckcalc.job.given import differing
from deckcalc.job.order import compute


def toml(*pairs):
    """Return what replaces texts in job.toml."""

    def edit(folder):
        text = (folder / "job.toml").read_text("utf-8")
        for old, new in pairs:
            found = text.replace(old, new, 1) if old else text + new
            assert found != text, old
            text = found
        (folder / "job.toml").write_text(text, "utf-8")

    return edit


def without(head):
    """Return what takes a section out of job.toml, to the next head."""

    def edit(folder):
        text = (folder / "job.toml").read_text("utf-8")
        found = re.sub(rf"(?ms)^{re.escape(head)}.*?(?=^\[|\Z)", "", text, count=1)
        assert found != text
        (folder / "job.toml").write_text(found, "utf-8")

    return edit


def table(name, change):
    """Return what changes the rows of a table, heads first."""

    def edit(folder):
        path = folder / f"{name}.csv"
        rows = change([*csv.reader(io.StringIO(path.read_text("utf-8")))])
        with path.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(rows)

    return edit


def cell(name, id_, column, value):
    """Return what changes a cell."""

    def change(rows):
        place = [head.partition(" [")[0].replace(" ", "_") for head in rows[0]].index(column)
        (row,) = (row for row in rows if row[0] == id_)
        row[place] = value
        return rows

    return table(name, change)


def no_row(name, id_):
    """Return what takes a row out."""
    return table(name, lambda rows: [row for row in rows if row[0] != id_])


def no_table(name):
    """Return what takes a table out."""
    return lambda folder: (folder / f"{name}.csv").unlink()


DEPTHS = "reading,station [m],offset [m],depth [mm],cover [mm]\nD1,27.4,0.7,70,42\nD6,31.1,2,45,43\nD9,34.7,2.7,75,40\nD14,38.2,1.2,205,39\nD17,41.2,4.7,55,38\nD21,45.4,2.8,210,39\n"
BLASTING = 'abrasive = "crushed slag"\nsilica = "0.4 %"\nlevel = "300 µg/m^3"\nhours = "1 h"\nrespirator = "supplied air"\ndistance = "15 m"\nshield = "sheeted screen"\n'
ITEM = "P5, P6: not in the plan of the work"
BOTH = ("metric", "US")
#: Of the demo jobs: changes, and the same by hand.
CHANGES = [
    (BOTH, {"people.checker": "Q. Reed"}, toml(('checker = ""', 'checker = "Q. Reed"'))),
    (("metric",), {"deck.slab_thickness": "225 mm"}, toml(('slab_thickness = "220 mm"', 'slab_thickness = "225 mm"'))),
    (("metric",), {"mix.record.tests": "30"}, toml(("tests = 24", "tests = 30"))),
    (("metric",), {"deck.year_built": "1973"}, toml(("year_built = 1974", "year_built = 1973"))),
    (("metric",), {"closure.first_night": "2027-05-14"}, toml(("first_night = 2027-05-07", "first_night = 2027-05-14"))),
    (("metric",), {"revisions.1.date": "16.05.2027"}, toml(("date = 2027-04-16", "date = 2027-05-16"))),
    (("metric",), {"plan.girders": "-4.2 m; -1.4 m; 1.4 m; 4.2 m"}, toml(('["-4.2 m", "-2.1 m", "0 m", "2.1 m", "4.2 m"]', '["-4.2 m", "-1.4 m", "1.4 m", "4.2 m"]'))),
    (("metric",), {"sensitivity.overbreak": '["5 %", "15 %"]'}, toml(('overbreak = ["0 %", "20 %"]', 'overbreak = ["5 %", "15 %"]'))),
    (("metric",), {"plan.lanes.2.to_offset": "3.5 m"}, toml(('to_offset = "3.75 m"', 'to_offset = "3.5 m"'))),
    (("metric",), {"closure.noise.saw.level": "99"}, toml(("level = 102", "level = 99"))),
    (("metric",), {"mix.concretes.C35-10.slump": "60 mm"}, toml(('slump = "50 mm"', 'slump = "60 mm"'))),
    (("metric",), {"mix.concretes.C35-10.admixture.2.dose": "450 mL/100 kg"}, toml(('dose = "500 mL/100 kg"', 'dose = "450 mL/100 kg"'))),
    (("metric",), {"mix.concretes.C35-10.w_cm": "0.36", "mix.concretes.C35-10.w_cm_source": "trial batches"}, toml(('cement = "III"', 'cement = "III"\nw_cm = "0.36"\nw_cm_source = "trial batches"'))),
    (("metric",), {"mix.patches.P3": "C35-19"}, toml(("[mix.record]", '[mix.patches]\nP3 = "C35-19"\n[mix.record]'))),
    (("metric",), {"mix.record": None}, without("[mix.record]")),
    (("metric",), {"mix.concretes.C35-10.trial": None}, without("[mix.concretes.C35-10.trial]")),
    (("metric",), {"safety.over_water": None}, without("[safety.over_water]")),
    (("metric",), {"safety.blasting.+1": BLASTING}, toml(("", f"\n[safety.blasting]\n{BLASTING}"))),
    (("metric",), {"safety.tools.2": None, "safety.tools.1.place": "enclosed", "safety.tools.1.tool": "breaker or chipping hammer"}, lambda folder: (without('[[safety.tools]]\ntool = "breaker')(folder), toml(('tool = "walk-behind saw"', 'tool = "breaker or chipping hammer"'), ('place = "outdoors"', 'place = "enclosed"'))(folder))),
    (("metric",), {"marking.longer.P1.+1": "along = 100 mm, why = laps"}, toml(("[removal]", '[marking.longer.P1]\nalong = "100 mm"\nwhy = "laps"\n[removal]'))),
    (("metric",), {"decisions.+1": f"item = {ITEM}, decision = later, by = engineer, date = 2027-04-20"}, toml(("[bridge]", f'[[decisions]]\nitem = "{ITEM}"\ndecision = "later"\nby = "engineer"\ndate = 2027-04-20\n[bridge]'))),
    (BOTH, {"revisions.+1": "revision = B, date = 2027-06-01, by = R. Tallis, note = rerun"}, toml(("[people]", '[[revisions]]\nrevision = "B"\ndate = 2027-06-01\nby = "R. Tallis"\nnote = "rerun"\n[people]'))),
    (("metric",), {"limits.waste": "5 %", "limits.waste.source": "owner"}, toml(("", '\n[limits.waste]\nvalue = "5 %"\nsource = "owner"\n'))),
    (("metric",), {"limits.curing_time": None}, without("[limits.curing_time]")),
    (("metric",), {"depths.D3.depth": "80 mm"}, cell("depths", "D3", "depth", "80")),
    (("metric",), {"depths.D3.cover": ""}, cell("depths", "D3", "cover", "")),
    (("metric",), {"bars.B6.readings": "14.5; 14.6 mm; 14.7"}, cell("bars", "B6", "readings", "14.5; 14.6; 14.7")),
    (("metric",), {"weather.2027-05-08 01:00.air": "7 °C"}, cell("weather", "2027-05-08 01:00", "air", "7")),
    (("metric",), {"rates.saw.date": "1 Mar 2027"}, cell("rates", "saw", "date", "2027-03-01")),
    (("metric",), {"placements.W1.curing": "wet fabric, then compound"}, cell("placements", "W1", "curing", "wet fabric, then compound")),
    (("metric",), {"depths.+1": "reading = D30, station = 28 m, offset = 1 m, depth = 90 mm"}, table("depths", lambda rows: [*rows, ["D30", "28", "1", "90", ""]])),
    (("metric",), {"depths.D4": None, "bars.B1": None}, lambda folder: (no_row("depths", "D4")(folder), no_row("bars", "B1")(folder))),
    (("metric",), {"depths": DEPTHS}, lambda folder: (folder / "depths.csv").write_text(DEPTHS, "utf-8")),
    (("metric",), {"rules": None}, no_table("rules")),
]  # fmt: skip
IDS = [f"{system}: {', '.join(changes)}" for systems, changes, _ in CHANGES for system in systems]


def parts(file):
    """Return what a job is computed from."""
    limits = {key: (str(one.value), one.source) for key, one in file.limits.items()}
    patches = [
        (one.patch, one.piece.outline.wkt, [reading.name for reading in one.readings]) for one in file.marked.patches
    ]
    return (
        repr(file.settings),
        {name: repr(rows) for name, rows in file.rows.items()},
        limits,
        patches,
        file.ready,
        file.lacking,
    )


@pytest.fixture(scope="module")
def contents():
    return {system: read_folder(DEMO[system]) for system in BOTH}


@pytest.mark.parametrize(
    ("system", "changes", "edit"), [(system, *rest) for systems, *rest in CHANGES if rest[1] for system in systems],
    ids=IDS,
)  # fmt: skip
def test_a_change_gives_the_job_of_the_edited_folder(system, changes, edit, contents, tmp_path):
    folder = shutil.copytree(DEMO[system], tmp_path / "job")
    edit(folder)
    changed, edited = read_job(contents[system], changes), read_job(folder)
    alike = lambda text: re.sub(r"changed for review", "owner", str(text))  # noqa: E731
    assert [alike(one) for one in parts(changed)] == [alike(one) for one in parts(edited)]
    assert not changed.fitted
    filed = read_job(contents[system])
    assert parts(filed) != parts(changed)
    # what is said to differ is the same either way, and is read the same backwards
    said = {tuple(one) for one in differing(filed, edited)}
    assert said and said == {(where, new, old) for where, old, new in differing(edited, filed)}
    assert {one[0] for one in said} == {one.where for one in differing(filed, changed)}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"deck.slab_thicknes": "190 mm"}, r"--set deck.slab_thicknes: no such input; did you mean slab_thickness"),
        ({"decks.slab_thickness": "190 mm"}, r"no such input; write section.key.*did you mean deck"),
        ({"depths.D3.dept": "190 mm"}, r"--set depths.D3.dept: no such input; the columns of depths.csv are .*did you mean depth"),
        ({"depths.D99": None}, r"--set depths.D99: no such input; depths.csv has no reading “D99”; did you mean D9"),
        ({"mix.concretes.C35.slump": "60 mm"}, "no such input; did you mean C35-19, C35-10"),
        ({"mix.concretes.C40.+1": "kind = site-mixed"}, "job.toml: mix.concretes.C40.strength: missing"),
        ({"plan.lanes.9.to_offset": "1 m"}, "--set plan.lanes.9.to_offset: no such input; its entries are 1 to 2"),
        ({"plan.lanes": "x"}, "--set plan.lanes: a list of entries; name one by its number"),
        ({"deck.slab_thickness.+1": "x = 1"}, "--add deck.slab_thickness: takes one value"),
        ({"deck.+1": "kind = slab span"}, "--add deck: stands in the job already"),
        ({"safety.blasting": None}, "--set safety.blasting: stands in no input"),
        ({"days": None}, "--set days: the job has no days.csv"), ({"depths": "x"}, "--set depths: a table; write depths.id.column"),
        ({"depths.+1": "D30"}, "--add depths: found “D30”, wanted “name = value"),
        ({"depths.+1": "reading = D30, dept = 5 mm"}, "--add depths: unknown column “dept”; did you mean depth"),
        ({"depths.+1": "reading = D30, station = 28 m, offset = 1 m, depth = 5 kg"}, r"depths.csv, row 25 \(new\), column depth.*\(--add depths\)"),
        ({"depths.+1": "reading = D3, station = 28 m, offset = 1 m, depth = 50 mm"}, "reading “D3” is already in row 4"),
        ({"depths": "reading,station\nD1,\n"}, "depths.csv"), ({"depths.D14.depth": "230 mm"}, "depth of 230 mm is more than the slab 220 mm"),
        ({"deck.bottom_cover": "40 mm"}, "deck.bottom_cover and job.toml: deck_strip.bottom_cover: 40 mm and 30 mm"),
        ({"revisions.1": None}, "package.date: missing"), ({"safety.blasting.+1": "abrasive = [\n"}, "--add safety.blasting: "),
    ],
    ids=str,
)  # fmt: skip
def test_what_is_wrong_with_a_change_is_named(changes, words, contents):
    with pytest.raises(JobError) as caught:
        read_job(contents["metric"], changes)
    assert any(re.search(words, fault) for fault in caught.value.faults), caught.value.faults


#: Changes after which other inputs no longer fit, and what is done about them.
FITTED = [
    ({"deck.slab_thickness": "180 mm"}, {"depths.D14.depth": "180 mm"}, "taken as through the whole slab"),
    ({f"radii.R1-{k}": None for k in range(1, 9)}, {"placements.W1.patches": "P1; P3", "depths.D6": None, "bars.B10": None}, "left out"),
    ({"bars.B17": None}, {"pits.B17": None}, "there is no bar “B17”"),
    ({"cores.C1": None}, {"chlorides.C1-1": None}, "there is no core “C1”"),
    ({"placements.W2": None}, {"closure.alternatives.1.closures": None}, "placements.csv has 1"),
    ({"deck.unit_weight": "1900 kg/m^3"}, {"confirmed": "formwork.unit_weight"}, "to be looked at"),
    ({"closure": None}, {"safety": None}, "the job has no section \\[closure\\]"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "fitted", "words"), FITTED, ids=[str([*changes][:2]) for changes, _, _ in FITTED])
def test_what_no_longer_fits_is_left_out_and_said(changes, fitted, words, contents):
    file = read_job(contents["metric"], changes)
    found = {key: one.value for key, one in file.fitted.items()}
    assert fitted.items() <= found.items()
    assert all(re.search(words, file.fitted[key].said) for key in [*fitted][:1])
    assert {key for key, one in file.fitted.items() if one.how == "subject"} == {*file.lacking}
    assert read_job(contents["metric"]).fitted == {}


def test_what_needs_a_subject_that_is_left_out_goes_with_it(contents):
    filed = read_job(contents["metric"])
    ready, lacking = asked(filed.settings, filed.rows, {"mix": "no stone"})
    assert lacking["mix"] == "no stone" and "missing" in lacking["curing"] and "missing" in lacking["closure"]
    assert {"patch", "steel", "chloride", "traffic", "safety"} <= {*ready}


def test_a_concrete_whose_stone_is_taken_away_is_a_fault(contents):
    with pytest.raises(JobError, match=r"mix\.concretes\.C35-10\.coarse: “stone-10” is no coarse aggregate"):
        read_job(contents["metric"], {"aggregates.stone-10": None})


def test_what_was_set_is_never_left_out(contents):
    with pytest.raises(JobError, match="a depth of 205 mm is more than the slab 180 mm"):
        read_job(contents["metric"], {"deck.slab_thickness": "180 mm", "depths.D14.depth": "205 mm"})


def test_patches_keep_their_names_when_one_goes(contents):
    filed = read_job(contents["metric"])
    gone = read_job(contents["metric"], {f"radii.R1-{k}": None for k in range(1, 9)})
    places = [
        {one.patch: one.piece.outline.centroid.coords[0] for one in file.marked.patches} for file in (filed, gone)
    ]
    assert {*places[0]} - {*places[1]} == {"P2"} and all(places[0][name] == at for name, at in places[1].items())


# --- side by side


@pytest.fixture(scope="module")
def two():
    """The metric demo job as filed, without one of its patches, and with what else fell out."""
    changes = {f"radii.R1-{k}": None for k in range(1, 9)} | {"limits.waste": "5 %"}
    return demo("metric"), compute(demo("metric"), changes), changes


def test_a_job_held_against_itself_differs_in_nothing():
    outcome = review.compare(demo("metric"), demo("metric"))
    assert (outcome.changed, outcome.moved, outcome.flipped) == ([], [], [])
    assert outcome.counted == "0 inputs changed; 0 verdicts flipped; 0 results moved"


def test_two_jobs_the_other_way_round_are_the_mirror(two):
    there, back = review.compare(*two[:2]), review.compare(*two[1::-1])
    for name in ("moved", "flipped"):
        one, other = (
            {(line.where, getattr(line, a), getattr(line, b)) for line in getattr(side, name) if line.percent != ""}
            for side, a, b in ((there, "old", "new"), (back, "new", "old"))
        )
        assert one == other
    assert len(there.moved) == len(back.moved) and len(there.flipped) == len(back.flipped)


def test_a_patch_that_is_gone_is_said_once(two):
    outcome = review.rerun(read_folder(DEMO["metric"]), two[2])
    gone = [one for one in outcome.moved if "P2" in one.where]
    assert [(one.where, one.new) for one in gone] == [("patch P2", "(none)")]
    assert re.fullmatch(r"gone, \d{2,} results", gone[0].old)
    left = {one.where: one.new for one in outcome.changed if one.sheet == review.LEFT_OUT}
    assert left["placements.W1.patches"] == "P1; P3; left out: the survey gives no patch “P2”"
    assert "left out" in outcome.counted and outcome.by_sheet().keys() == {one.sheet for one in outcome.moved}
    assert all(one.sheet for one in outcome.moved)


def test_an_edited_folder_is_held_against_the_filed_one(tmp_path, capsys):
    folder = shutil.copytree(DEMO["metric"], tmp_path / "job")
    toml(("", '\n[limits.waste]\nvalue = "5 %"\nsource = "owner"\n'))(folder)
    no_row("rectangles", "F1")(folder)
    assert cli.main(["rerun", str(DEMO["metric"]), str(folder)]) == 0
    out = capsys.readouterr().out
    assert re.search(r"limits.waste +10.0 % +5.0 %", out) and re.search(r"rectangles.F1 +middle station 35.0 m", out)
    assert re.search(r"3 inputs changed; \d+ verdicts? flipped; \d+ results moved on \d sheets\.\n$", out)


def test_rows_are_added_and_removed_from_the_command_line(tmp_path, capsys):
    (tmp_path / "depths.csv").write_text(DEPTHS, "utf-8")
    where = ["rerun", str(DEMO["metric"])]
    assert cli.main([*where, "--set", f"depths=@{tmp_path / 'depths.csv'}", "--remove", "bars.B1", "--add", "depths", "reading = D30, station = 28 m, offset = 1 m, depth = 90 mm"]) == 0  # fmt: skip
    out = capsys.readouterr().out
    assert re.search(r"bars.B1 +.*\(none\)", out) and re.search(r"depths.D30 +\(none\) +station 28 m", out)
    assert cli.main([*where, "--set", "depths=@nowhere.csv"]) == 1
    assert "nowhere.csv: there is no such file" in capsys.readouterr().err
    assert cli.main([*where, "--remove", "bars", "--set", "bars.B1.size=20"]) == 1
    assert "bars is taken out" in capsys.readouterr().err


def test_a_comma_before_no_name_belongs_to_the_value():
    assert pairs_of('a = "1, b = 2"') != {} and pairs_of("{ a = 1 }") == {"a": "1"}
    with pytest.raises(JobError, match="given twice"):
        read_job(DEMO["metric"], {"depths.+1": "reading = D30, reading = D31"})
