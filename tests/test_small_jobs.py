"""Check jobs that hold only a part: what they have is worked out, what they lack is said, and nothing else is."""

import math
import random
import shutil
import tomllib

import pytest
import tomlkit
from samples import DEMO

from deckcalc import cli
from deckcalc.base.fields import JobError
from deckcalc.core.sources import folder
from deckcalc.job import compute, report
from deckcalc.job.file import read_job
from deckcalc.job.order import Job
from deckcalc.job.settings import ROWS, SUBJECTS, WORDS
from deckcalc.package import basis, build, decisions, front, night, schedule

SMALL = {
    "small_patches": ("patch", "mix"),
    "small_hole": ("patch", "formwork"),
    "small_mix": ("mix",),
    "small_bars": ("steel",),
}
#: Sections that say what the job is and which deck.
ALWAYS = {"units", "confirmed", "package", "revisions", "people", "bridge", "deck", "limits"}


def place(name):
    return folder("notebooks") / name


def part_of(demo, sections, tables, made):
    """Write a part of a demo job: some of its sections, some of its tables."""
    made.mkdir()
    data = tomllib.loads((demo / "job.toml").read_text(encoding="utf-8"))
    kept = {name: value for name, value in data.items() if name in ALWAYS or name in sections}
    kept.pop("confirmed", None)
    (made / "job.toml").write_text(tomlkit.dumps(kept), encoding="utf-8")
    for name in tables:
        shutil.copy(demo / f"{name}.csv", made)
    return made


def carried(made):
    """Carry a job through everything that a package says of it, but for its sheets."""
    job = Job(read_job(made))
    assert job.rests_on <= set(job.file.limits)
    for show in (
        front.cover, front.summary, front.materials, front.cited, front.sign_off, decisions.patches,
        decisions.plan, decisions.stops, basis.open_items, basis.unverified, basis.loads, basis.codes, basis.exclusions, schedule.rows, decisions.rounds, night.sheets,
    ):  # fmt: skip
        assert "Traceback" not in str(show(job))
    return job


@pytest.mark.parametrize(("name", "subjects"), SMALL.items())
def test_a_small_job_is_a_whole_job(name, subjects):
    job = compute(place(name))
    assert job.file.ready == subjects and not job.not_computed and not job.file.lacking
    sheets = [sheet.name[:2] for sheet in build.chosen((), None, job)]
    numbers = {"patch": "01", "steel": "02", "mix": "04", "formwork": "05"}
    assert {one for one in sheets if one < "70"} == {"00", "09", *(numbers[key] for key in subjects)}
    left = [WORDS[key] for key in SUBJECTS if key not in subjects]
    assert f"not in it: {', '.join(left)}" in front.cover(job)


def test_two_patches_want_forty_lines_and_a_table():
    made = place("small_patches")
    assert len([line for line in (made / "job.toml").read_text().splitlines() if line.strip()]) <= 40
    assert len(list(made.glob("*.csv"))) == 1


def test_a_rectangle_by_tape_measure_is_marked_and_measured_as_by_hand():
    """Geometry: sides grow by the margin at either end, and the volume is area times depth."""
    job = compute(place("small_patches"))
    margin = job.limit("margin").value.m_as("ft")
    one = job.patch["P2"]
    sides = [4 + 2 * margin, 2 + 2 * margin]
    assert [one.limits.L.m_as("ft"), one.limits.B.m_as("ft")] == pytest.approx(sides)
    assert one.volume.V_net.m_as("ft³") == pytest.approx(math.prod(sides) * one.h.m_as("ft"))
    x, y = one.marked.station.m_as("ft"), one.marked.offset.m_as("ft")
    assert (x, y) == (pytest.approx(31 + 2), pytest.approx(-14 + 20.5 + 1))  # from the joint and from the left kerb


@pytest.mark.parametrize(
    ("kerb", "joint", "at"), [("left", 1, (35, -8.5)), ("right", 1, (35, 8.5)), ("left", 2, (87, -8.5))]
)
def test_a_patch_is_measured_from_either_kerb_and_any_joint(tmp_path, kerb, joint, at):
    made = shutil.copytree(place("small_patches"), tmp_path / "job")
    text = (made / "job.toml").read_text().replace('joints = ["0 ft", "52 ft"]', 'joints = ["0 ft", "52 ft", "104 ft"]')
    (made / "job.toml").write_text(text)
    (made / "patches.csv").write_text(
        f"patch,from joint [ft],from kerb [ft],length [ft],width [ft],depth [in],joint,kerb\nA,33,4.5,4,2,3,{joint},{kerb}\n"
    )
    one = compute(made).patch["A"].marked
    assert (one.station.m_as("ft"), one.offset.m_as("ft")) == (pytest.approx(at[0]), pytest.approx(at[1]))


def test_a_taped_patch_that_sticks_out_is_asked_about_in_the_words_of_its_table(tmp_path):
    made = shutil.copytree(place("small_patches"), tmp_path / "job")
    text = (made / "patches.csv").read_text()
    (made / "patches.csv").write_text(text.replace("P2,31,20.5,4,2,", "P2,31,26.5,4,2,"))
    asks = r"patches.csv, patch P2: 25 % of it lies off the deck; from joint and from kerb .*“patches.P2” to the list confirmed"
    with pytest.raises(JobError, match=asks):
        compute(made)
    head = (made / "job.toml").read_text()
    (made / "job.toml").write_text(head.replace('units = "US"', 'units = "US"\nconfirmed = ["patches.P2"]'))
    at, width = compute(made).patch["P2"].marked.offset.m_as("ft"), compute(made).patch["P2"].limits.B.m_as("ft")
    assert at + width / 2 <= 14 + 1e-6  # ends at the kerb


def test_names_of_patches_are_the_engineers_as_long_as_each_is_a_row(tmp_path):
    made = shutil.copytree(place("small_patches"), tmp_path / "job")
    rows = "patch,from joint [ft],from kerb [ft],length [ft],width [ft],depth [in]\n"
    (made / "patches.csv").write_text(f"{rows}north,30,4,2,2,3\nsouth,10,4,2,2,3\n")
    assert [one.name for one in compute(made).patch] == ["south", "north"]
    (made / "patches.csv").write_text(f"{rows}north,10,4,2,2,3\nsouth,12.2,4,2,2,3\n")  # marked as one
    assert [one.name for one in compute(made).patch] == ["P1"]


def test_a_cover_that_nobody_measured_is_open_and_one_that_is_missing_is_named(tmp_path):
    job = compute(place("small_patches"))
    assert any(
        one.what == "P1, P2: cover of the bars not measured" and one.stops == "removal" for one in job.open_items
    )
    made = shutil.copytree(place("small_patches"), tmp_path / "job")
    (made / "job.toml").write_text((made / "job.toml").read_text().replace('top_cover = "2 in"\n', ""))
    with pytest.raises(
        JobError, match=r"has no reading of the cover; give the column cover of patches.csv, or deck.top_cover"
    ):
        compute(made)


def test_bars_without_a_patch_are_judged_and_their_laps_are_not_invented():
    job = compute(place("small_bars"))
    bar = job.steel["B4"]
    A_0, d = bar.section.A_r + bar.section.A_lost, 12.8
    assert bar.loss.m_as("") == pytest.approx(1 - math.pi * d**2 / 4 / A_0.m_as("mm²"), rel=1e-9)
    assert (
        bar.lap is None
        and "laps: not worked out, the job does not give the section [reinforcement]" in job.steel.decisions[bar.item]
    )
    assert not any("strip" in check.title for check in job.checks)


def test_a_mix_alone_has_a_card_for_every_load(tmp_path):
    made = shutil.copytree(place("small_mix"), tmp_path / "job")
    (made / "job.toml").write_text(
        (made / "job.toml").read_text().replace('load = "4 ft^3"', 'load = "4 ft^3"\nwanted = "10 ft^3"')
    )
    job = compute(made)
    loads = job.mix.loads["A"]
    assert loads.count == math.ceil(10 / 4) and (loads.count * loads.volume).m_as("ft³") == pytest.approx(10)
    from deckcalc.mix.sheet.cards import cards

    assert len(cards(job.mix, job.reference)) == 3


#: What is taken from a demo job, and how the package names what it then lacks.
LACKS = {
    "patches without depths": ({"depths"}, set(), "patch", "depths.csv or patches.csv missing: no limits, depth class"),
    "patches without a plan": (set(), {"plan"}, "patch", "the section [plan] missing: no limits, depth class"),
    "forms without a yard": ({"lumber", "hangers"}, set(), "formwork", "lumber.csv, hangers.csv missing: no forms"),
    "a closure without rates": ({"rates"}, set(), "closure", "rates.csv missing: no timetable"),
    "curing without a mix": (set(), {"mix"}, "curing", "the section [mix] missing: no placing, curing"),
    "cores without slices": ({"chlorides"}, set(), "chloride", "chlorides.csv missing: no chloride at the bars"),
    "a strip without its plan": (
        set(),
        {"plan"},
        "steel",
        "the patches, the section [plan] missing: no loss of the bars",
    ),
}


@pytest.mark.parametrize("case", LACKS)
def test_what_is_missing_is_said_where_it_matters(case, tmp_path):
    tables, sections, key, words = LACKS[case]
    demo = DEMO["US"]
    data = tomllib.loads((demo / "job.toml").read_text(encoding="utf-8"))
    kept = {name for name in data if name not in sections | {"safety", "decisions"}}
    made = part_of(demo, kept, {one.stem for one in demo.glob("*.csv")} - tables - {"weather"}, tmp_path / "job")
    job = carried(made)
    assert job.file.lacking[key].startswith(words), job.file.lacking
    assert f"not computed: {key}: {job.file.lacking[key]}" in job.not_computed and job.draft
    assert any(one.what == f"{WORDS[key]}: not worked out" for one in job.open_items)
    assert key not in {subject.key for subject in job.subjects}
    assert WORDS[key] not in str(front.in_it(job)).partition("; not in it")[0].split(", ")


def test_the_status_says_whether_what_was_asked_for_could_be_done(tmp_path, capsys):
    assert cli.main(["check", str(place("small_bars"))]) == 0
    made = shutil.copytree(place("small_hole"), tmp_path / "job")
    (made / "lumber.csv").unlink()
    assert cli.main(["check", str(made)]) == 1
    said = capsys.readouterr()
    assert "forms: not worked out" in said.out and "not computed: formwork: lumber.csv missing" in said.err


def test_a_hole_without_a_form_is_open(tmp_path):
    made = shutil.copytree(place("small_hole"), tmp_path / "job")
    text = (made / "job.toml").read_text()
    (made / "job.toml").write_text(text.partition("[formwork]")[0])
    job = compute(made)
    assert any(
        one.what == "P1: full depth, and no form is designed" and one.stops == "placing" for one in job.open_items
    )
    (made / "job.toml").write_text(text.partition("[formwork.holes.P1]")[0])
    job = compute(made)
    assert any("P1: form designed" in one.what for one in job.open_items)


def random_parts(seed, count, demo):
    """Give random parts of a demo job: names of sections and of tables."""
    rng = random.Random(seed)
    sections = [name for name in tomllib.loads((demo / "job.toml").read_text(encoding="utf-8")) if name not in ALWAYS]
    tables = sorted(one.stem for one in demo.glob("*.csv"))
    for _ in range(count):
        share = rng.choice([0.3, 0.5, 0.7, 0.9])
        yield {one for one in sections if rng.random() < share}, {one for one in tables if rng.random() < share}


@pytest.mark.parametrize("system", ["US", "metric"])
def test_any_part_of_a_job_is_a_package_that_names_what_it_lacks_or_a_clear_fault(system, tmp_path):
    packages, faults = 0, []
    for number, (sections, tables) in enumerate(random_parts(16, 24, DEMO[system])):
        made = part_of(DEMO[system], sections, tables, tmp_path / f"job{number}")
        try:
            job = carried(made)
        except JobError as error:
            faults.append(error.faults)
            continue
        packages += 1
        assert {subject.key for subject in job.subjects} | set(job.faults) == set(job.file.ready) | set(
            job.file.lacking
        )
        said = "\n".join(text for _, text in report.open_lines(job))
        assert all(f"{WORDS[key]}: not worked out" in said for key in job.file.lacking)
        build.manifest(job)
    places = ("job.toml: ", *(f"{name}.csv" for name in ROWS))
    assert all(fault.startswith(places) for found in faults for fault in found)
    assert min(packages, len(faults)) > 3


@pytest.mark.parametrize("name", SMALL)
def test_no_heading_of_a_small_package_stands_over_nothing(name, tmp_path):
    job = compute(place(name))
    shown = build.run_sheets(job, build.chosen((), None, job), tmp_path)
    lines = [line for text in shown.values() for line in text.splitlines() if line.strip()]
    for line, after in zip(lines, [*lines[1:], "# end"], strict=True):
        if line.startswith("#") and after.startswith("#"):
            assert len(after.split()[0]) > len(line.split()[0]), (line, after)


def test_headings_over_nothing_are_left_out():
    title = build.Title
    parts = [
        title("# A"),
        title("## B\n\nwhat follows"),
        title("## C"),
        "text",
        title("## D"),
        title("# E"),
        "text",
        title("## F"),
    ]
    assert build.with_content(parts) == ["# A", "## C", "text", "# E", "text"]
