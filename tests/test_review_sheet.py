"""Check the review sheet: what it holds, in which order, what it leaves to the JSON, and that it is written whole or not at all."""

import json
import os
import re
import shutil

import pytest

from deckcalc import cli
from deckcalc.base.errors import PackageError
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED
from deckcalc.core.sources import folder
from deckcalc.job import compute, review
from deckcalc.job.review import Moved, Review
from deckcalc.package import review_sheet

SMALL = folder("notebooks") / "small_patches"
CHANGES = {"deck.slab_thickness": "7 in", "limits.saw_depth": "1/2 in", "patches.P2.depth": "4 in"}


@pytest.fixture(scope="module")
def outcome():
    """A review of three changed inputs of a small job."""
    return review.rerun(SMALL, CHANGES)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The same, as the command writes it."""
    out = tmp_path_factory.mktemp("review") / "below" / "sheet"
    options = [part for key, value in CHANGES.items() for part in ("--set", f"{key}={value}")]
    assert cli.main(["rerun", str(SMALL), *options, "--out", str(out)]) == 0
    return out


def made(moved=(), flipped=(), changed=()):
    """Return a review with these lines."""
    return Review([*changed], [*moved], [*flipped])


# --- what it holds


def test_it_says_what_is_held_against_what_and_bears_the_date_of_the_revision(outcome):
    job = compute(SMALL)
    text = review_sheet.markdown(outcome, job)
    assert text.startswith("# Review of package SP-1\n") and "revision 0, 2026-11-02" in text
    assert review_sheet.head(job)["inputs as filed"] in text
    assert not re.search(r"20(?!26-11-02)\d\d-\d\d-\d\d", text)  # no other date, so none of today's
    assert review_sheet.markdown(outcome, job) == text


def test_its_parts_come_in_the_order_in_which_a_reviewer_asks(outcome):
    heads = re.findall(r"^## (.*)$", review_sheet.markdown(outcome, compute(SMALL)), re.MULTILINE)
    assert heads == [
        "Inputs changed", "Verdicts that flipped", "Decisions that read otherwise", "Results that moved", "Review",
    ]  # fmt: skip


def test_verdicts_come_worst_first_and_before_decisions():
    lines = [
        Moved("Patches, patch P1", "partial depth", "full depth", ""),
        Moved("b: gone", SATISFIED, "(none)", ""),
        Moved("c: good", NOT_SATISFIED, SATISFIED, ""),
        Moved("d: beyond", SATISFIED, NOT_COVERED, ""),
        Moved("e: bad", SATISFIED, NOT_SATISFIED, ""),
    ]
    text = review_sheet.markdown(made(flipped=lines), compute(SMALL))
    places = [text.index(one) for one in ("e: bad", "d: beyond", "c: good", "b: gone", "Patches, patch P1")]
    assert places == sorted(places) and "**not satisfied**" in text and "**satisfied**" not in text
    assert "verdicts flipped, new or gone: 4; decisions that read otherwise: 1; results moved: 0" in text


def test_results_stand_by_sheet_the_largest_change_first_and_no_more_than_are_declared():
    most = review_sheet.MOST_MOVED
    lines = [Moved(f"Patches, patch P{n}: area, A", "1 m²", "2 m²", f"{n:+.1f} %") for n in range(-3, most + 5)]
    lines += [Moved("Safety, saw: noise, L", "1", "(none)", "")]
    text = review_sheet.markdown(made(moved=lines), compute(SMALL))
    first, second = text.split("### ")[1:]
    assert first.startswith(f"Patches: {most + 8}\n") and second.startswith("Safety: 1\n")
    shown = re.findall(r"patch P(-?\d+):", first)
    assert shown == [str(n) for n in range(most + 4, 4, -1)] and f"And {8} more in review.json." in first
    assert "Patches, patch" not in first and "more in" not in second.partition("## Review")[0]


def test_a_sheet_that_a_result_names_goes_before_the_words_of_its_place():
    one = Moved("patch P1: area", "1", "2", "+100.0 %")
    object.__setattr__(one, "sheet", "Patches")
    assert "### Patches: 1" in review_sheet.markdown(made(moved=[one]), compute(SMALL))


def test_words_of_a_job_are_no_markdown_on_it():
    text = review_sheet.markdown(made(changed=[Moved("people.checker", "", "| *x* <b> $y$", "")]), compute(SMALL))
    assert r"&#124; \*x\* \<b\> \$y\$" in text


def test_nothing_moved_is_said():
    text = review_sheet.markdown(made(), compute(SMALL))
    assert text.count("\nNone.\n") == 4 and "Reviewer" in text


# --- as data


def test_the_same_stands_in_the_frames_the_json_and_the_review(outcome, written):
    data = json.loads((written / "review.json").read_bytes())
    assert data["package"] == "SP-1" and data["date"] == "2026-11-02" and data["revision"] == "0"
    frames = outcome.frames()
    for part in ("changed", "flipped", "moved"):
        rows = getattr(outcome, part)
        assert rows and [one["where"] for one in data[part]] == [one.where for one in rows] == [*frames[part]["where"]]
        assert [(one["old"], one["new"]) for one in data[part]] == [(one.old, one.new) for one in rows]
    assert [*frames["moved"]["change"]] == [one.percent for one in outcome.moved]
    assert set(frames["moved"]["sheet"]) <= {"Patches", "Mix and batch"}
    whole = outcome.frame()
    assert len(whole) == sum(map(len, frames.values())) and [*whole["part"].unique()] == ["changed", "flipped", "moved"]
    assert made().frame().empty and [*made().frames()["moved"].columns] == ["where", "old", "new", "change", "sheet"]


def test_json_is_printed_where_it_is_asked_for(capsys, written):
    options = [part for key, value in CHANGES.items() for part in ("--set", f"{key}={value}")]
    assert cli.main(["rerun", str(SMALL), *options, "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads((written / "review.json").read_bytes())


# --- written


def test_three_files_are_written_and_the_pdf_has_few_pages(written, outcome):
    import pikepdf

    assert sorted(os.listdir(written)) == ["review.html", "review.json", "review.pdf"]
    assert os.listdir(written.parent) == ["sheet"]  # no holder is left
    with pikepdf.open(written / "review.pdf") as document:
        assert len(document.pages) <= 3
    text = (written / "review.html").read_text(encoding="utf-8")
    assert review_sheet.MARK in text and "Seen by the engineer of record" in text
    assert ">OK<" in text and "satisfied<" not in text  # a US job reads American
    again = review_sheet.write(outcome, compute(SMALL), written.parent.parent / "again")
    for name in os.listdir(written):
        assert (again / name).read_bytes() == (written / name).read_bytes(), name
    shutil.rmtree(again)


@pytest.mark.parametrize("there", ["letter.txt", "review.pdf", "package.pdf"])
def test_a_folder_that_holds_anything_is_refused_before_anything_is_computed(tmp_path, capsys, monkeypatch, there):
    monkeypatch.setattr(review, "rerun", None)
    (tmp_path / there).write_text("mine")
    assert cli.main(["rerun", str(SMALL), "--set", "deck.slab_thickness=7 in", "--out", str(tmp_path)]) == 1
    assert "holds something already; name a folder that is new or empty" in capsys.readouterr().err
    assert os.listdir(tmp_path) == [there] and (tmp_path / there).read_text() == "mine"


def test_what_fails_on_the_way_leaves_nothing(tmp_path, outcome, monkeypatch):
    def fails(documents, imprint, resources, out):
        (out / "review.pdf").write_bytes(b"half")
        raise PackageError("no room")

    monkeypatch.setattr(review_sheet, "bind", fails)
    with pytest.raises(PackageError, match="no room"):
        review_sheet.write(outcome, compute(SMALL), tmp_path / "below" / "sheet")
    assert os.listdir(tmp_path) == []
