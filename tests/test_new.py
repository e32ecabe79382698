"""Check how a job is begun: what is written for each subject, what a neighbour job hands on, what is asked, what is refused."""

import csv
import io
import re
import shlex
import shutil
import sys
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from deckcalc import InputError, cli
from deckcalc.base.fields import JobError
from deckcalc.core.sources import folder
from deckcalc.core.units import SYSTEMS
from deckcalc.job import compute, declared, new
from deckcalc.job.file import read_job
from deckcalc.job.reference import NAME, reference
from deckcalc.job.settings import ROWS, SUBJECTS, WORDS, JobSettings

ALL = tuple(WORDS.values())
METRIC = folder("notebooks") / "demo_si"


@pytest.fixture
def run(capsys):
    """Run a command and return its status, output and complaints."""

    def ran(*words):
        try:
            status = cli.main([str(word) for word in words])
        except SystemExit as end:
            status = end.code
        said = capsys.readouterr()
        return status, said.out, said.err

    return ran


def begun(place, system, about, **others):
    """Write a new job and return its folder."""
    new.write(new.begin(system, about, **others), place)
    return place


def lines_of(place):
    """Return the lines of job.toml that say something."""
    return [line for line in (place / "job.toml").read_text(encoding="utf-8").splitlines() if line]


# --- what is written


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("about", [*((word,) for word in ALL), ALL])
def test_a_new_job_is_read_without_a_fault(tmp_path, system, about):
    job = read_job(begun(tmp_path / "job", system, about))
    assert job.system == system and not job.lacking
    assert {WORDS[key] for key in job.ready} >= set(about)
    assert "EXAMPLE VALUES" in job.settings.package.scenario and not job.settings.people.signed
    assert job.unread == [f"{NAME}: no input of a job; not read"]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(about=st.sets(st.sampled_from(ALL), min_size=2), system=st.sampled_from(SYSTEMS))
def test_so_is_one_of_any_subjects(tmp_path, about, system):
    place = tmp_path / "job"
    shutil.rmtree(place, ignore_errors=True)
    job = read_job(begun(place, system, about))
    assert {WORDS[key] for key in job.ready} >= about and not job.lacking


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("about", [word for word in ALL if word != "safety"])
def test_it_can_be_computed_at_once(tmp_path, system, about):
    job = compute(begun(tmp_path / "job", system, [about]))
    assert not job.not_computed and job.checks


@pytest.mark.parametrize("system", SYSTEMS)
def test_two_patches_are_forty_lines_and_one_table(tmp_path, system):
    place = begun(tmp_path / "job", system, ["patches"])
    assert len(lines_of(place)) <= 40
    assert sorted(path.name for path in place.iterdir()) == ["job.toml", "patches.csv", NAME]
    assert [one.patch for one in read_job(place).marked.patches] == ["P1", "P2"]


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("about", [["patches"], ["mix"], ["bars"], ALL])
def test_a_field_is_there_because_it_is_required_or_wanted(tmp_path, system, about):
    """The length of a new job follows from the declarations."""
    keys, _ = new.with_needed(about)
    wanted, always = new.wanted(keys, system), {"bridge", "deck", "package", "people", "units"}

    def look(model, data, path):
        for name, value in data.items():
            info, place = model.model_fields[name], f"{path}{name}"
            inside = any(one == place or one.startswith(f"{place}.") for one in wanted)
            assert info.is_required() or inside or (not path and name in always | new.sections(keys)), place
            inner = declared.sections(info)
            if inner and not declared.holds_value(info) and place not in wanted:
                found = [value] if not declared.shape(info) else value if isinstance(value, list) else value.values()
                for one in found:
                    look(inner[0], one, f"{place}.")

    look(JobSettings, tomllib.loads((begun(tmp_path / "job", system, about) / "job.toml").read_text("utf-8")), "")


def test_each_line_is_explained_and_the_shortest_section_comes_first(tmp_path):
    place = begun(tmp_path / "job", "SI", ALL)
    text = (place / "job.toml").read_text(encoding="utf-8")
    for line in text.splitlines()[1:]:
        assert not line or line.startswith("[") or re.search(r"  # \S", line), line
    blocks = [block.splitlines() for block in text.split("\n\n")[1:]]
    names = [re.match(r"\[+(\w+)", block[0])[1] for block in blocks]
    assert names[:4] == ["package", "people", "bridge", "deck"]
    lengths = [len(block) for block in blocks[4:]]
    assert lengths == sorted(lengths) and len(lengths) >= 6


def test_the_reference_beside_it_is_the_generated_one(tmp_path):
    for system in SYSTEMS:
        place = begun(tmp_path / system, system, ["bars"])
        assert (place / NAME).read_text(encoding="utf-8") == reference(system)


@pytest.mark.parametrize("system", SYSTEMS)
def test_tables_have_units_of_the_system_in_their_heads_and_few_rows(tmp_path, system):
    place = begun(tmp_path / "job", system, ALL)
    tables = [path for path in place.iterdir() if path.suffix == ".csv"]
    assert len(tables) > 6
    for path in tables:
        rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
        assert len(rows) <= 6 or path.name == "rates.csv", path.name  # a night has all its steps
        other = r"\[(ft|in|psi|ksi|lb.*)\]" if system == "SI" else r"\[(m|mm|MPa|kg.*)\]"
        assert not [head for head in rows[0] if re.search(other, head)], path.name


def test_what_a_subject_cannot_do_without_is_begun_as_well_and_said(run, tmp_path):
    status, out, _ = run("new", tmp_path / "job", "--about", "closure")
    assert status == 0 and "Begun as well: patches, which closure cannot do without" in out
    assert set(read_job(tmp_path / "job").ready) == {"patch", "mix", "closure"}


def test_what_new_jobs_begin_with_is_declared():
    """Every place that a room names is a field, a section or a table."""
    for module in SUBJECTS.values():
        for place in [*module.START.fields, *module.START.own]:
            first, *path = place.split(".")
            if first in ROWS:
                assert not path or path[0] in ROWS[first].model_fields, place
                continue
            info = JobSettings.model_fields[first]
            for part in path:
                known = [one.model_fields[part] for one in declared.sections(info) if part in one.model_fields]
                assert known, place
                info = known[0]
        assert set(module.START.rows) <= set(ROWS)


# --- the command line


def test_options_are_read_and_the_folder_is_told(run, tmp_path):
    status, out, _ = run("new", tmp_path / "below" / "job", "--units", "US", "--about", "Mix, bars")
    assert status == 0 and f"run: deckcalc check {tmp_path / 'below' / 'job'}" in out
    job = read_job(tmp_path / "below" / "job")
    assert job.system == "US" and set(job.ready) == {"mix", "steel"}


@pytest.mark.parametrize(
    ("options", "status", "says"),
    [
        (["--about", "mixes"], 2, "argument --about: found “mixes” (did you mean mix?); wanted patches, bars"),
        (["--about", "patches,,cheese"], 2, "found “cheese”"), (["--units", "CGS"], 2, "found “CGS”"),
        (["--from", "nowhere"], 1, "nowhere: there is no such folder"), (["--from", " "], 2, "wanted the path"),
    ],
)  # fmt: skip
def test_wrong_options_are_refused_and_nothing_is_made(run, tmp_path, options, status, says):
    found, _, err = run("new", tmp_path / "job", *options)
    assert (found, says in err) == (status, True), err
    assert list(tmp_path.iterdir()) == []


class Terminal(io.StringIO):
    """What a person types."""

    def isatty(self):
        return True


@pytest.mark.parametrize(
    ("typed", "system", "ready"),
    [
        ("us\nmix, bars\n", "US", {"mix", "steel"}), ("\n\n", "SI", {"patch"}), ("", "SI", {"patch"}),
        ("metric\nSI\nMix\n", "SI", {"mix"}), ("US\nbread\nchlorides forms\n", "US", {"chloride", "patch", "formwork"}),
    ],
)  # fmt: skip
def test_in_a_terminal_it_asks(run, tmp_path, monkeypatch, typed, system, ready):
    monkeypatch.setattr(sys, "stdin", Terminal(typed))
    status, out, _ = run("new", tmp_path / "job")
    assert status == 0 and "Units: SI or US? [SI]" in out and "About: patches, bars" in out
    assert ("found “metric”, wanted SI, US" in out) == ("metric" in typed)
    job = read_job(tmp_path / "job")
    assert job.system == system and set(job.ready) == ready


def test_it_does_not_ask_where_nobody_types_or_something_was_said(run, tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO("US\nmix\n"))
    assert "?" not in run("new", tmp_path / "job")[1] and read_job(tmp_path / "job").system == "SI"
    monkeypatch.setattr(sys, "stdin", Terminal("US\nmix\n"))
    assert "?" not in run("new", tmp_path / "other", "--about", "bars")[1]
    monkeypatch.setattr(sys, "stdin", None)
    assert run("new", tmp_path / "third")[0] == 0


def test_it_asks_nothing_for_a_folder_that_is_there(run, tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "stdin", Terminal("US\nmix\n"))
    (tmp_path / "job").mkdir()
    status, out, err = run("new", tmp_path / "job")
    assert status == 1 and "exists already" in err and not out


@pytest.mark.parametrize("system", SYSTEMS)
def test_tables_as_a_spreadsheet_are_the_same_job(tmp_path, system):
    made = new.begin(system, ["patches", "mix", "bars", "closure"])
    new.write(made, tmp_path / "sheets", spreadsheet=True)
    new.write(made, tmp_path / "tables")
    assert sorted(path.name for path in (tmp_path / "sheets").iterdir()) == ["job.toml", NAME, "tables.xlsx"]
    sheets, tables = (read_job(tmp_path / name) for name in ("sheets", "tables"))
    assert sheets.settings == tables.settings
    for name, rows in tables.rows.items():
        assert [str(row) for row in sheets.rows[name]] == [str(row) for row in rows], name


def test_without_what_writes_spreadsheets_it_is_said_and_nothing_is_made(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(InputError, match="a spreadsheet is written with the library openpyxl; install it with"):
        new.write(new.begin("US", ["mix"]), tmp_path / "job", spreadsheet=True)
    assert list(tmp_path.iterdir()) == []


# --- from a neighbour


def test_a_neighbour_hands_on_its_choices_and_nothing_that_was_measured(run, tmp_path):
    status, out, _ = run("new", tmp_path / "job", "--from", METRIC)
    assert status == 0
    was, now = (tomllib.loads((place / "job.toml").read_text(encoding="utf-8")) for place in (METRIC, tmp_path / "job"))
    for section in ("bridge", "deck", "plan", "limits", "removal", "chloride", "traffic"):
        assert now[section] == was[section], section
    assert now["people"] == {name: one for name, one in was["people"].items() if name in ("firm", "originator")}
    assert "holes" not in now["formwork"] and "first_night" not in now["closure"] and now["units"] == "SI"
    assert now["package"]["scenario"].startswith(
        f"STARTED FROM {was['package']['number']}: give this job its own number"
    )
    made = {path.name for path in (tmp_path / "job").iterdir()}
    own = {f"{name}.csv" for module in SUBJECTS.values() for name in module.START.own if name in ROWS} | {
        "placements.csv"
    }
    assert not made & own and {"aggregates.csv", "rates.csv", "panels.csv", "climate.csv"} <= made
    assert (tmp_path / "job" / "rates.csv").read_bytes() == (METRIC / "rates.csv").read_bytes()
    taken, left = (next(line for line in out.splitlines() if line.startswith(word)) for word in ("Taken", "Left"))
    assert "bridge, " in taken and "rates.csv" in taken and "bars.csv" not in taken
    for name in ("bars.csv", "cores.csv", "placements.csv", "formwork.holes"):
        assert name in left, name
    status, out, err = run("check", tmp_path / "job")
    assert status == 1 and "patches: not worked out" in out and "unexpected" not in err
    begun(tmp_path / "measured", "SI", ["patches"])
    shutil.copyfile(tmp_path / "measured" / "patches.csv", tmp_path / "job" / "patches.csv")
    text = (tmp_path / "job" / "job.toml").read_text(encoding="utf-8")
    (tmp_path / "job" / "job.toml").write_text(text.replace("[deck]", '[deck]\ntop_cover = "50 mm"'), encoding="utf-8")
    assert not read_job(tmp_path / "job").lacking


@pytest.fixture
def signed(tmp_path):
    """A neighbour that was signed, with a decision, something confirmed and two revisions."""
    place = tmp_path / "signed"
    shutil.copytree(METRIC, place)
    text = (place / "job.toml").read_text(encoding="utf-8")
    text = text.replace('checker = ""', 'checker = "Q. Reed"').replace('engineer = ""', 'engineer = "S. Ash"')
    text = text.replace('licence = ""', 'licence = "77"').replace(
        'units = "SI"', 'units = "SI"\nconfirmed = ["x.y"]', 1
    )
    text += '\n[[revisions]]\nrevision = "B"\ndate = 2027-05-01\nby = "R. Tallis"\nnote = "second issue"\n'
    text += '\n[[decisions]]\nitem = "x"\ndecision = "y"\nby = "S. Ash"\ndate = 2027-05-01\n'
    (place / "job.toml").write_text(text, encoding="utf-8")
    return place


def test_nothing_that_somebody_signed_or_decided_is_handed_on(run, tmp_path, signed):
    out = run("new", tmp_path / "job", "--from", signed)[1]
    job = read_job(tmp_path / "job").settings
    assert not job.people.signed and not job.people.licence and not job.decisions and not job.confirmed
    assert [one.revision for one in job.revisions] == ["A"]
    left = next(line for line in out.splitlines() if line.startswith("Left"))
    for name in ("confirmed", "decisions", "people.checker", "people.engineer", "people.licence", "revisions after A"):
        assert name in left, name


def test_a_neighbour_is_taken_for_the_subjects_that_are_asked_for(run, tmp_path):
    small = begun(tmp_path / "small", "US", ["bars"])
    status, _, _ = run("new", tmp_path / "job", "--from", METRIC, "--about", "mix,traffic")
    data = tomllib.loads((tmp_path / "job" / "job.toml").read_text(encoding="utf-8"))
    assert status == 0 and {"mix", "traffic"} <= set(data) and not {"chloride", "formwork", "closure"} & set(data)
    run("new", tmp_path / "other", "--from", small, "--about", "bars,mix", "--units", "SI")
    job = read_job(tmp_path / "other")  # what the neighbour has not is begun with examples
    assert job.system == "SI" and job.settings.bridge.name == read_job(small).settings.bridge.name
    assert "mix" in job.ready and not (tmp_path / "other" / "bars.csv").exists()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('units = "SI"\n[deck\n', "job.toml: "), ('units = "SI"\n[bridge]\nnam = "x"\n', "job.toml: bridge.nam: unknown"),
        (None, "job.toml: missing"),
    ],
)  # fmt: skip
def test_a_faulty_neighbour_is_refused_with_its_faults(run, tmp_path, text, says):
    place = tmp_path / "neighbour"
    place.mkdir()
    if text is not None:
        (place / "job.toml").write_text(text, encoding="utf-8")
    status, _, err = run("new", tmp_path / "job", "--from", place)
    assert status == 1 and f"{place}: " in err and says in err and not (tmp_path / "job").exists()
    with pytest.raises(JobError):
        new.begin(None, [], place)


def test_faults_of_the_tables_of_a_neighbour_do_not_matter(tmp_path):
    place = tmp_path / "neighbour"
    shutil.copytree(METRIC, place)
    (place / "bars.csv").write_bytes(b"\xff\xff")
    assert "job.toml" in new.begin(None, [], place).files


def test_subjects_are_known_by_their_words():
    with pytest.raises(InputError, match="about: found “patch”, wanted patches, bars"):
        new.begin("SI", ["patch"])
    assert [new.with_needed([WORDS[key]])[0] for key in ("steel", "closure")] == [
        ["steel"],
        ["patch", "mix", "closure"],
    ]


def test_the_readme_changes_an_input_that_a_new_job_has(tmp_path, monkeypatch, capsys):
    line = re.search(
        r"^deckcalc (rerun my_job .*?) *#", (folder("notebooks").parent / "README.md").read_text("utf-8"), re.M
    )[1]
    monkeypatch.chdir(tmp_path)
    assert cli.main(["new", "my_job", "--units", "SI"]) == 0
    capsys.readouterr()
    assert cli.main(shlex.split(line)) == 0
    assert "patches.P1.depth" in capsys.readouterr().out
