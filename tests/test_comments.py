"""Check that a checker's comments are read, held against the job, stop the signature until answered, and are printed."""

import json
import re
import shutil
import tomllib

import pandas as pd
import pikepdf
import pytest
from samples import SYSTEMS, demo

from deckcalc import cli
from deckcalc.core.sources import folder
from deckcalc.job import Job, JobError, compute
from deckcalc.job import comments as held
from deckcalc.job.new import begin
from deckcalc.job.report import status, tally
from deckcalc.package import build, comments, decisions, front

SMALL = folder("notebooks") / "small_patches"
HEAD = "number,revision,at,by,date,comment,answer,answered by,answered on,status"
OPEN = "1,0,patch P2,B. Checker,2026-11-05,Which drawing gives the cover?,,,,open"
PROPOSED = "3,0,01-01.2,B. Checker,2026-11-05,Why this margin?,The owner asks for it,M. Alder,2026-11-06,open"
ANSWERED = "2,0,Patches,B. Checker,2026-11-05,How many readings?,Three | in the field book,M. Alder,2026-11-06,answered"
WITHDRAWN = "4,0,Conclusions,B. Checker,2026-11-05,Never mind,,,,withdrawn"


def job_with(place, *rows, settings=lambda text: text):
    """Return a copy of the small job with comments."""
    shutil.copytree(SMALL, place, ignore=shutil.ignore_patterns("package"))
    text = (place / "job.toml").read_text(encoding="utf-8")
    (place / "job.toml").write_text(settings(text), encoding="utf-8")
    (place / "comments.csv").write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")
    return place


def signed(text):
    """Name checker and engineer of the small job, and decide what is open."""
    items = [one.what for one in compute(SMALL).open_items]
    decided = "\n".join(
        f'[[decisions]]\nitem = "{item}"\ndecision = "agreed"\nby = "C. Engineer"\ndate = 2026-11-04\n'
        for item in items
    )
    names = 'originator = "M. Alder"\nchecker = "B. Checker"\nengineer = "C. Engineer"'
    return text.replace('originator = "M. Alder"', names) + f"\n{decided}"


def revised(text):
    """Give the small job two revisions."""
    rows = [("A", "2026-11-02", "first issue"), ("B", "2026-12-01", "answers to the checker")]
    return text + "".join(
        f'\n[[revisions]]\nrevision = "{name}"\ndate = {date}\nby = "M. Alder"\nnote = "{note}"\n'
        for name, date, note in rows
    )


# --- read and held against the job


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (OPEN.replace(",0,", ",C,", 1), "comment 1, column revision: found “C”, wanted a revision of the package: 0"),
        (OPEN.replace("11-05", "11-01"), "comment 1, column date: found 2026-11-01, before revision 0 of 2026-11-02.*add “comments.1.date”"),
        (OPEN.replace("11-05", "13-05"), "row 2, column date: "),
        (ANSWERED.replace("M. Alder", ""), "comment 2, column answered by: missing, wanted the name of who answered"),
        (ANSWERED.replace("Three | in the field book,M. Alder,2026-11-06", ",,"), "comment 2, column status: found “answered”, but there is no answer"),
        (ANSWERED.replace("Three | in the field book", ""), "comment 2, column answer: missing, wanted what was answered"),
        (ANSWERED.replace("M. Alder", "b.  checker"), "comment 2, column answered by: found “b. *checker”, who made the comment"),
        (ANSWERED.replace("11-06", "11-04"), "comment 2, column answered on: found 2026-11-04, before the comment of 2026-11-05"),
        (ANSWERED.replace(",answered", ",settled"), "row 2, column status: found “settled”, wanted 'open', 'answered' or 'withdrawn'"),
        (OPEN.replace("Which drawing gives the cover?", ""), "row 2, column comment: empty, wanted text"),
        (OPEN.replace("patch P2", "patch P22"), "comment 1, column at: found “patch P22”, wanted a place as the package prints it; is it “patch P2”"),
        (OPEN.replace("patch P2", "02 Reinforcement"), "comment 1, column at: found “02 Reinforcement”.*; its sheets are 01 Patches, 04 Mix and batch"),
    ],
)  # fmt: skip
def test_a_comment_that_cannot_be_so_is_a_fault_with_its_place(tmp_path, row, says):
    with pytest.raises(JobError, match=r"comments\.csv, ") as caught:
        compute(job_with(tmp_path / "job", row))
    assert any(re.search(says, fault) for fault in caught.value.faults), caught.value.faults


def test_a_comment_before_its_revision_stands_once_it_is_confirmed(tmp_path):
    sure = lambda text: f'confirmed = ["comments.1.date"]\n{text}'  # noqa: E731
    job = compute(job_with(tmp_path / "job", OPEN.replace("11-05", "11-01"), settings=sure))
    assert job.file.confirmed["comments.1.date"].startswith("found 2026-11-01") and len(job.unanswered) == 1


def test_a_place_that_an_answer_or_a_changed_input_took_away_is_no_fault(tmp_path):
    gone = ANSWERED.replace("Patches", "patch P9")
    job = compute(job_with(tmp_path / "job", gone))
    assert "patch P9 (not in this package)" in comments.sheet(job)
    afresh = compute(job_with(tmp_path / "other", OPEN.replace("patch P2", "04 Mix and batch")))
    assert not compute(afresh, {"patches.P2.length": "26 in"}).not_computed


@pytest.mark.parametrize("system", SYSTEMS)
def test_whatever_a_package_prints_can_be_named(system):
    job = demo(system)
    known = {held.same(name): sheet for name, sheet in held.places(job)}
    for place, sheet in {
        "Cover": "Calculation package", "08 safety": "08", "bar B6": "02", "BAR B6:  section loss of one bar": "02",
        "Reinforcement, bar B6: loss of section of a bar, loss": "02", "steel / bar B6 / section_loss / loss": "02",
        "02-01": "02", "02-01.1": "02", "P3": "01", "07T-01": "07", "open item 1": "Conclusions",
    }.items():  # fmt: skip
        assert known.get(held.same(place)) == sheet, place
    assert held.same("bar B66") not in known and held.same("02-01.99") not in known


def test_the_parts_that_may_be_named_are_headings_of_the_sheets():
    heads = {
        cell.source.splitlines()[0].removeprefix("# ")
        for sheet in build.built_in() for cell in sheet.cells if cell.source.startswith("# ")
    }  # fmt: skip
    assert set(held.PARTS.values()) <= heads


def test_comments_come_from_python_as_from_a_file(tmp_path):
    there = compute(job_with(tmp_path / "job", OPEN, ANSWERED))
    rows = pd.read_csv(tmp_path / "job" / "comments.csv", dtype=str)
    patches = pd.read_csv(SMALL / "patches.csv", dtype=str)
    settings = tomllib.loads((SMALL / "job.toml").read_text(encoding="utf-8"))
    built = Job.build(settings, {"patches": patches, "comments": rows})
    assert built.file.rows["comments"] == there.file.rows["comments"] and len(built.unanswered) == 1
    rows.loc[0, "at"] = "patch P22"
    with pytest.raises(JobError, match=r"^table comments, .*1.*column at: found “patch P22”"):
        Job.build(settings, {"patches": patches, "comments": rows})


def test_a_new_job_takes_no_comments_over(tmp_path):
    made = begin(None, (), job_with(tmp_path / "job", ANSWERED))
    assert "comments.csv" not in made.files and any("comments.csv" in line for line in made.said)


# --- the signature


def test_the_draft_goes_only_when_each_is_answered(tmp_path):
    rows = {"open": (OPEN,), "not accepted": (PROPOSED,), "done": (ANSWERED, WITHDRAWN)}
    for name, found in rows.items():
        job = compute(job_with(tmp_path / name.replace(" ", ""), *found, settings=signed))
        assert not job.undecided and bool(job.draft) is (name != "done"), name
        assert ("comment of the checker is open" in front.standing(job)) is (name != "done")
        assert ("not before every comment is answered" in front.sign_off(job)) is (name != "done")
        assert (status(job) == 4) is (name != "done")
        assert bool(comments.waiting(job)) is (name != "done") and comments.waiting(job) in decisions.stops(job)
    assert front.standing(job) == (
        r"Checked by B\. Checker; every open item is decided and every comment answered, see the conclusions."
    )
    assert tally(job).endswith("; 2 comments of the checker, 0 open")


def test_comments_stay_with_their_revision_and_one_that_is_open_goes_on_to_stop_the_signature(tmp_path):
    rows = [
        OPEN.replace(",0,", ",A,", 1),
        ANSWERED.replace(",0,", ",A,", 1),
        PROPOSED.replace(",0,", ",B,").replace("2026-11-0", "2026-12-0"),
    ]
    both = lambda text: revised(signed(text))  # noqa: E731
    job = compute(job_with(tmp_path / "job", *rows, settings=both))
    assert [one.present for one in job.comments] == [False, False, True]
    assert job.draft and [one.row.number for one in job.unanswered] == ["1", "3"]
    now, former = comments.sheet(job).split("## Comments on revision A")
    assert "Comment 3, open" in now and "Comment 1" not in now and "Comment 1, open" in former and "| 2 " in former


def test_the_command_says_what_is_open(tmp_path, capsys):
    place = job_with(tmp_path / "job", OPEN, PROPOSED, ANSWERED, settings=signed)
    assert cli.main(["check", str(place), "--status"]) == 4
    out = capsys.readouterr().out
    part = out.partition("Open comments of the checker")[2].partition("Checks")[0]
    assert "    1  patch P2; B. Checker, 2026-11-05, revision 0\n       Which drawing gives the cover?\n" in part
    assert "answer of M. Alder, not accepted yet: The owner asks for it" in part and "How many readings?" not in part
    assert "3 comments of the checker, 2 open." in out
    cli.main(["check", str(place), "--json"])
    data = json.loads(capsys.readouterr().out)["comments"]
    assert [(one["number"], one["status"], one["sheet"]) for one in data] == [
        ("1", "open", "01"), ("3", "open", "01"), ("2", "answered", "01"),
    ]  # fmt: skip


def test_a_job_without_comments_says_nothing_of_them(capsys):
    job = compute(SMALL)
    assert "comment" not in tally(job) + front.cover(job) + front.sign_off(job) + decisions.stops(job)
    assert not comments.sheet(job).strip() and "comments" not in build.manifest(job)
    cli.main(["check", str(SMALL)])
    assert "comment" not in capsys.readouterr().out


# --- in print


@pytest.fixture(scope="module")
def package(tmp_path_factory):
    """The package of the small job with comments."""
    place = job_with(tmp_path_factory.mktemp("comments") / "job", OPEN, PROPOSED, ANSWERED, WITHDRAWN)
    return build.build(place, quiet=True, parts=["package", "appendix"])


def test_the_sheet_concerned_says_so_once_near_its_head(package):
    text = (package / "package.html").read_text(encoding="utf-8")
    (found,) = re.findall(r"Open on this sheet: [^<]*", text)
    assert found == "Open on this sheet: comment 1 (patch P2); comment 3 (01-01.2)."
    assert 0 < text.index(found) - text.rindex("01 Patches", 0, text.index(found)) < 200


def test_all_are_printed_with_their_answers_or_lines_to_write_one_on(package):
    text = (package / "appendix.html").read_text(encoding="utf-8")
    part = text[text.rindex("Review comments</h1>") :]
    assert "Three | in the field book" in part and "withdrawn" in part
    open_one = part[part.index("Comment 1, open") : part.index("Comment 3, open")]
    assert open_one.count("_") == (comments.LINES + 1) * comments.LONG and "Answer:" in open_one
    assert "not accepted yet" in part and "every line</h1>\n<h1" not in text


def test_they_travel_with_the_package_and_its_manifest_names_them(package):
    with pikepdf.open(package / "package.pdf") as document:
        assert "comments.csv" in document.attachments
    manifest = json.loads((package / "manifest.json").read_bytes())
    assert [one["status"] for one in manifest["comments"]] == ["open", "open", "answered", "withdrawn"]
    assert manifest["comments"][0] == {"number": "1", "revision": "0", "at": "patch P2", "status": "open"}
