"""Changed inputs written back: only what they name changes, the job is the one that was looked at, and nothing is lost."""

from __future__ import annotations

import csv
import dataclasses
import os
import shutil
from pathlib import Path

import pytest
from samples import DEMO

from deckcalc import cli
from deckcalc.base import replacing
from deckcalc.base.errors import PackageError
from deckcalc.base.fields import JobError
from deckcalc.core.units import InputError
from deckcalc.job.file import read_folder, read_job
from deckcalc.job.write_back import comments, differ, propose


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return shutil.copytree(DEMO["US"], tmp_path / "job", ignore=shutil.ignore_patterns("package*", ".*"))


@pytest.mark.parametrize(
    ("key", "value", "file"),
    [
        ("deck.slab_thickness", "8 1/4 in", "job.toml"),
        ("people.checker", "N. Birch", "job.toml"),
        ("depths.D2.depth", "2.75 in", "depths.csv"),
        ("depths.D2.depth", "70 mm", "depths.csv"),
        ("bars.B1.readings", "0.55 in; 0.6 in; 0.6 in", "bars.csv"),
        ("equipment.breaker.work", 'breaker, with a comma and a "quote"', "equipment.csv"),
    ],
)
def test_one_value_changes_one_line(folder: Path, key: str, value: str, file: str) -> None:
    contents = read_folder(folder)
    made = propose(contents, {key: value})
    assert [*made.files] == [file]
    before, after = contents.files[file].decode(), made.files[file].decode()
    lines = [*map(str.splitlines, (before, after))]
    changed = [pair for pair in zip(*lines, strict=False) if pair[0] != pair[1]]
    assert len(lines[1]) - len(lines[0]) + len(changed) <= 2  # a line, and a head where the section is new
    assert before.count("#") == after.count("#")  # comments stay
    made.write()
    assert not differ(read_job(folder), read_job(contents, {key: value}))


@pytest.mark.parametrize(
    ("changes", "gone", "come"),
    [
        ({"depths.+1": "reading = D60, station = 124 ft, offset = 7.5 ft, depth = 60 mm"}, [], ["D60,124,7.5,60 mm,"]),
        ({"depths.D2": None}, ["D2,124.5,7.25,3,1.75"], []),
        ({"depths.D1": None, "depths.D2.depth": "2.75 in"}, ["D1,123.25,7,2.5,1.875", "D2,124.5,7.25,3,1.75"], ["D2,124.5,7.25,2.75,1.75"]),
        ({"plan.girders.2": "-3 ft"}, ['girders = ["-10.5 ft", "-3.5 ft", "3.5 ft", "10.5 ft"]'], ['girders = ["-10.5 ft", "-3 ft", "3.5 ft", "10.5 ft"]']),
        ({"plan.girders": "-11 ft; 0 ft; 11 ft"}, ['girders = ["-10.5 ft", "-3.5 ft", "3.5 ft", "10.5 ft"]'], ['girders = ["-11 ft", "0 ft", "11 ft"]']),
        ({"plan.joints.+1": "230 ft"}, ['joints = ["110 ft", "170 ft"]'], ['joints = ["110 ft", "170 ft", "230 ft"]']),
        ({"plan.below.1.to_station": "139 ft"}, ['to_station = "140 ft"'], ['to_station = "139 ft"']),
    ],
)  # fmt: skip
def test_rows_and_entries_come_and_go(folder: Path, changes, gone, come) -> None:
    contents = read_folder(folder)
    made = propose(contents, changes)
    lines = [one for one in made.difference.splitlines() if one[:2] not in ("--", "++", "@@")]
    bare = [line.partition("  #")[0] for line in lines]
    assert [one[1:] for one in bare if one[0] == "-"] == gone and [one[1:] for one in bare if one[0] == "+"] == come
    made.write()
    assert not differ(read_job(folder), read_job(contents, changes))


def test_what_would_be_lost_is_named(folder: Path) -> None:
    with pytest.raises(JobError, match="the comment “# how well.*would go"):
        propose(read_folder(folder), {"mix.doubt": None})
    with pytest.raises(JobError, match=r"take hangers\.csv out of the folder"):
        propose(read_folder(folder), {"hangers": None})
    assert comments((folder / "job.toml").read_text())["# thickness of the structural slab"] == 1


def test_a_new_table_is_written_whole(folder: Path) -> None:
    (folder / "hangers.csv").rename(folder.parent / "hangers.csv")
    contents = read_folder(folder)
    changes = {"hangers": (folder.parent / "hangers.csv").read_text()}
    propose(contents, changes).write()
    assert not differ(read_job(folder), read_job(contents, changes))


def test_a_file_that_the_review_rests_on_counts_too(folder: Path) -> None:
    made = propose(read_folder(folder), {"depths.D2.depth": "2.75 in"})
    (folder / "job.toml").write_text((folder / "job.toml").read_text() + "\n")
    with pytest.raises(InputError, match=r"job\.toml was changed since it was read"):
        made.write()


def test_a_limit_is_written_with_its_source(folder: Path) -> None:
    changes = {"limits.waste": "6 %"}
    with pytest.raises(JobError, match=r"set limits\.waste\.source as well"):
        propose(read_folder(folder), changes)
    changes["limits.waste.source"] = "letter of the owner (invented)"
    propose(read_folder(folder), changes).write()
    limit = read_job(folder).limits["waste"]
    assert (f"{limit.value:.0f~P}", limit.source) == ("6 %", "letter of the owner (invented)")


def test_the_difference_shows_what_goes_and_what_comes(folder: Path) -> None:
    made = propose(read_folder(folder), {"depths.D2.depth": "2.75 in"})
    assert [line[0] for line in made.difference.splitlines() if line[:2] not in ("--", "++", "@@")] == ["-", "+"]
    assert "+D2,124.5,7.25,2.75,1.75" in made.difference


def test_a_file_that_changed_meanwhile_is_left(folder: Path) -> None:
    made = propose(read_folder(folder), {"depths.D2.depth": "2.75 in", "deck.slab_thickness": "8.25 in"})
    (folder / "depths.csv").write_text((folder / "depths.csv").read_text() + "\n")
    stood = {path.name: path.read_bytes() for path in folder.iterdir()}
    with pytest.raises(InputError, match=r"depths\.csv was changed since it was read"):
        made.write()
    assert stood == {path.name: path.read_bytes() for path in folder.iterdir()}


def test_where_the_second_of_two_files_cannot_be_put_the_first_stands_as_it_was(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = propose(read_folder(folder), {"deck.slab_thickness": "8.25 in", "depths.D2.depth": "2.75 in"})
    stood = {path.name: path.read_bytes() for path in folder.iterdir()}
    put = os.replace

    def full(source: Path, target: Path) -> None:
        if Path(target).name == "depths.csv":
            raise OSError(28, "No space left on device")
        put(source, target)

    monkeypatch.setattr(replacing.os, "replace", full)
    with pytest.raises(PackageError, match="No space left"):
        made.write()
    assert stood == {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_table_in_another_dialect_keeps_it(folder: Path) -> None:
    rows = [*csv.reader((folder / "depths.csv").read_text().splitlines())]
    (folder / "depths.csv").write_bytes("".join(";".join(row) + "\r\n" for row in rows).encode())
    propose(read_folder(folder), {"depths.D1.depth": "2.75 in"}).write()
    lines = (folder / "depths.csv").read_bytes().split(b"\r\n")
    assert lines[1].split(b";")[3] == b"2.75"
    assert len(lines) == len(rows) + 1


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (lambda text: text.replace(".", ",").replace(",", ",", 1).encode(), "depths"),
        (
            lambda text: text.replace("reading", "reading,notes", 1).replace("D1", "D1,gemäß", 1).encode("cp1252"),
            "depths",
        ),
    ],
)
def test_what_a_program_would_lose_is_refused(folder: Path, data, said: str) -> None:
    text = (folder / "depths.csv").read_text()
    (folder / "depths.csv").write_bytes(data(text))
    stood = (folder / "depths.csv").read_bytes()
    with pytest.raises(JobError, match=said):
        propose(read_folder(folder), {"depths.D1.depth": "2.75 in"}).write()
    assert stood == (folder / "depths.csv").read_bytes()


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("deck.slab_thickness", "8 kg"),
        ("deck.no_such", "1 in"),
        ("depths.D99.depth", "1 in"),
        ("mix.temperature.no_such", None),
    ],
)
def test_a_faulty_change_writes_nothing(folder: Path, key: str, value: str) -> None:
    with pytest.raises(JobError):
        propose(read_folder(folder), {key: value})


def test_the_command_shows_the_difference_and_then_writes(folder: Path, capsys) -> None:
    words = ["rerun", str(folder), "--set", "mix.concretes.C3.slump=4 in"]
    stood = (folder / "job.toml").read_bytes()
    assert cli.main([*words, "--difference"]) == 0
    assert "Nothing was written" in capsys.readouterr().out and (folder / "job.toml").read_bytes() == stood
    assert cli.main([*words, "--write"]) == 0
    out = capsys.readouterr().out
    assert out.index('+slump = "4 in"  # slump at placing') < out.index("Written:") and "flipped" in out
    assert read_job(folder).settings.mix.concretes["C3"].slump.m_as("in") == pytest.approx(4)


def test_the_command_writes_one_job_and_no_document(folder: Path, capsys) -> None:
    with pytest.raises(SystemExit):
        cli.main(["rerun", str(folder), str(folder), "--write"])
    assert "--write and --difference are of one job" in capsys.readouterr().err
    contents = dataclasses.replace(read_folder(folder), folder=Path("package.pdf"), place=folder / "package.pdf")
    with pytest.raises(JobError, match=r"package\.pdf: a filed document is not changed; .*deckcalc unpack"):
        propose(contents, {"deck.slab_thickness": "8.25 in"})
