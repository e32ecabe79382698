"""Check that a job folder is data: its notebooks run only when asked for, apart, and held against the computed job."""

import hashlib
import os
import re
import shutil
import time

import nbformat
import pytest
from samples import DEMO, demo

from deckcalc import cli
from deckcalc.package import build as package
from deckcalc.package import decisions, front, notebook_run, own_notebooks
from deckcalc.package.documents import PackageError
from deckcalc.package.own_notebooks import Own, hold, run_apart
from deckcalc.show import sections


def notebook(*cells):
    """Return a notebook as bytes; a cell that begins with # and a space is text."""
    book = nbformat.v4.new_notebook()
    book.cells = [
        nbformat.v4.new_markdown_cell(one) if one.startswith("# ") else nbformat.v4.new_code_cell(one) for one in cells
    ]
    return nbformat.writes(book).encode()


def shown(*cells, job="nowhere"):
    """Run cells here and return what they show."""
    return list(notebook_run.run("01_x.ipynb", notebook_run.cells_of("01_x.ipynb", notebook(*cells)), job))


def markdown(text):
    """Return what a cell shows that ends in this text."""
    return [[{"data": {"text/markdown": text}}]]


@pytest.fixture(scope="module")
def known():
    """Every line that the library prints for the demo job by its functions."""
    return own_notebooks.printed_by_the_library(demo("SI"), [])


@pytest.fixture
def few(monkeypatch, known):
    """Let a build run two sheets, and bind nothing; gives what would have been bound."""
    sheets = [one for one in package.built_in() if one.name.startswith(("00", "09"))]
    bound = {}

    def bind(documents, imprint, figures, out):
        bound.update(text="\n".join(one.markdown for one in documents), attached=documents[0].attachments)
        (out / "package.pdf").write_bytes(b"pdf")

    monkeypatch.setattr(package, "built_in", lambda: sheets)
    monkeypatch.setattr(own_notebooks, "printed_by_the_library", lambda job, texts: known)
    monkeypatch.setattr(package, "bind", bind)
    return bound


@pytest.fixture
def job(tmp_path):
    """A copy of the demo job."""
    return shutil.copytree(DEMO["SI"], tmp_path / "job")


# --- the runner


def test_cells_show_what_jupyter_shows():
    found = shown(
        "# Title", "1 + 1", "x = 3", "x;", "print('a', end='')\nprint('b')\nx", "None", "from IPython.display import display\ndisplay(x, 'y')",
        "from IPython.display import Markdown, display\nMarkdown('**m**')", "for i in range(2):\n    display(i)\n    print(i)", "",
    )  # fmt: skip
    plain = [
        [one.get("text") or one["data"].get("text/markdown") or one["data"]["text/plain"] for one in cell]
        for cell in found
    ]
    assert plain == [
        ["# Title"],
        ["2"],
        [],
        [],
        ["ab\n", "3"],
        [],
        ["3", "'y'"],
        ["**m**"],
        ["0", "0\n", "1", "1\n"],
        [],
    ]


def test_each_notebook_has_names_of_its_own_and_the_job_that_was_read():
    cells = notebook_run.cells_of("a", notebook("JOB", "y = 1"))
    marked = nbformat.from_dict({"cell_type": "code", "source": "JOB = 'other'", "metadata": {"tags": ["parameters"]}})
    assert list(notebook_run.run("a", [marked, *cells], 7))[1] == [{"data": {"text/plain": "7"}}]
    with pytest.raises(PackageError, match="b, cell 1: NameError: name 'y'"):
        list(notebook_run.run("b", notebook_run.cells_of("b", notebook("y")), 7))


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("1/0", "ZeroDivisionError: division by zero"), ("raise SystemExit(0)", "SystemExit: 0"), ("import sys\nsys.exit('bye')", "SystemExit: bye"),
        ("%matplotlib inline", "SyntaxError: invalid syntax"), ("def f(:", "SyntaxError: "), ("raise ValueError", "ValueError: no more is known"),
        ("class X:\n    def _repr_markdown_(self): raise RuntimeError('torn')\nX()", "RuntimeError: torn"), ("x = 1\n\0", "SyntaxError"),
    ],
)  # fmt: skip
def test_a_cell_that_fails_is_named_with_its_error(cell, words):
    with pytest.raises(PackageError, match=rf"^01_x\.ipynb, cell 2: {words}"):
        shown("# text", cell)


def test_an_interruption_in_a_cell_is_one():
    with pytest.raises(KeyboardInterrupt):
        shown("raise KeyboardInterrupt")


def test_the_output_goes_back_to_where_it_was_when_a_cell_fails(capsys):
    import IPython.display

    before = IPython.display.display
    with pytest.raises(PackageError):
        shown("print('inside')\n1/0")
    print("outside")
    assert capsys.readouterr().out == "outside\n" and IPython.display.display is before


def test_a_calculation_can_be_declared_in_a_cell():
    found = shown(
        "from typing import Annotated\nfrom deckcalc.core.boundary import Range\nfrom deckcalc.core.calculation import calculation\nfrom deckcalc.core.sources import Cite\n"
        "from deckcalc.core.units import Length\n"
        '@calculation(title="Twice", source=Cite("", "made up"))\ndef twice(a: Annotated[Length, Range("0 mm", "9 m")]) -> Length:\n    """Twice.\n\n    Parameters\n    ----------\n    a : Length\n        Side.\n    """\n'
        "    b = 2 * a  # both sides\n    return b\n",
        "from deckcalc import Q\ntwice(Q(2, 'm')).m_as('m')",
    )
    assert found[1] == [{"data": {"text/plain": "4.0"}}]


@pytest.mark.parametrize(
    "data", [b"", b"{}", b"not a notebook", b"\xff\xfe", b"[]", b"[" * 9000, b'{"cells": 3, "nbformat": 4}', b"null"]
)
def test_what_is_no_notebook_is_named(data):
    with pytest.raises(PackageError, match="^01_x.ipynb cannot be read as a notebook: "):
        notebook_run.cells_of("01_x.ipynb", data)


# --- asked for or not


def test_notebooks_of_the_job_are_not_run_unasked_and_the_package_and_the_command_say_so(job, few, tmp_path, capsys):
    trace = tmp_path / "ran"
    for name in ("09_sources.ipynb", "07_mine.ipynb", "notes.ipynb"):
        (job / name).write_bytes(notebook(f"open({str(trace)!r}, 'w')"))
    assert cli.main(["package", str(job), "--out", str(tmp_path / "out"), "--quiet"]) == 0
    names = "07_mine.ipynb, 09_sources.ipynb, notes.ipynb"
    assert not trace.exists() and f"notebooks in the job folder were not run: {names}" in capsys.readouterr().err
    words = few["text"].replace("\\", "")
    assert f"**Not run.** Notebooks in the job folder were not run and are not in this package: {names}." in words
    assert words.index("**Not run.**") < words.index("## Sign-off") and "# Sources cited" in words
    assert not [name for name in few["attached"] if name.endswith(".ipynb")]


def test_without_notebooks_nothing_is_said_of_them(job, few, tmp_path, capsys):
    package.build(job, tmp_path / "out", quiet=True)
    assert "otebook" not in few["text"] and capsys.readouterr().err == ""


def test_asked_for_they_are_named_hashed_attached_and_marked(job, few, tmp_path):
    data = notebook(
        "# # 07 Mine\n\nA word of the engineer's, with 12 mm typed.",
        "from deckcalc.job import compute\nfrom deckcalc.package import front\njob = compute(JOB)",
        "front.summary(job)", "job.written.by_hand(job.steel, job.steel.items[0])",
    )  # fmt: skip
    (job / "07_mine.ipynb").write_bytes(data.replace(b"# # 07", b"# 07"))
    data = (job / "07_mine.ipynb").read_bytes()
    (job / "notes.ipynb").write_bytes(data)
    out = package.build(job, tmp_path / "out", quiet=True, own=True)
    digest = hashlib.sha256(data).hexdigest()
    words = few["text"].replace("\\", "")
    assert words.index(f"07_mine.ipynb (SHA-256 {digest})") < words.index("## Sign-off")
    assert re.search(
        r"# 07 Mine\n\n<div class=\"caution\">\n\n\*\*Caution\.\*\* This sheet is the job’s own: it comes from 07_mine",
        words,
    )
    assert few["attached"]["07_mine.ipynb"] == data and "notes.ipynb" not in few["attached"]
    assert "not in this package: notes.ipynb" in words and digest in (out / "manifest.json").read_text(encoding="utf-8")
    assert words.count(str(front.summary(demo("SI"))).replace("\\", "").splitlines()[0]) == 1


def test_a_cell_that_says_all_is_satisfied_stops_the_build(job, few, tmp_path, capsys):
    (job / "07_mine.ipynb").write_bytes(notebook("# Fine", "print('20 of 20 satisfied')"))
    command = ["package", str(job), "--out", str(tmp_path / "out"), "--quiet", "--own-notebooks"]
    assert cli.main(command) == 1
    assert "07_mine.ipynb, cell 2: “20 of 20 satisfied” is not what the job comes to" in capsys.readouterr().err
    assert os.listdir(tmp_path) == ["job"] and not few


def test_a_cell_that_changes_the_library_changes_no_built_in_sheet_and_no_manifest(job, few, tmp_path):
    (job / "01_evil.ipynb").write_bytes(
        notebook(
            "# Quiet",
            "from deckcalc.core import check\nfrom deckcalc.package import build, front\nfrom deckcalc.show import sections\ncheck.Check.verdict = 'satisfied'\n"
            "front.summary = sections.verdicts = lambda *a: sections.Text('all satisfied')\nbuild.results = lambda job: {}",
        )
    )
    out = package.build(job, tmp_path / "out", quiet=True, own=True)
    assert str(decisions.scope(demo("SI"))) in few["text"] and "all satisfied" not in few["text"]
    assert '"not satisfied"' in (out / "manifest.json").read_text(encoding="utf-8")


def test_a_sheet_of_the_same_name_is_replaced_and_alone_it_can_be_asked_for(job, few, tmp_path):
    (job / "09_sources.ipynb").write_bytes(notebook("# Instead"))
    package.build(job, tmp_path / "out", quiet=True, own=True, only="sources")
    assert "# Sources cited" not in few["text"] and "# Instead" in few["text"] and "00_decisions" not in few["text"]


# --- apart


def test_it_starts_in_an_empty_folder_with_a_copy_of_the_job_and_no_way_to_it(tmp_path):
    cells = (
        "import os, sys\nprint(os.listdir('.'), sys.flags.isolated, sys.stdin.read())",
        "print(sorted(os.listdir(JOB)), open(JOB + '/a.csv').read())",
        "print([p for p in sys.path if p in ('', '.') or os.path.realpath(p) == os.path.realpath(JOB)])",
        "import deckcalc\nprint(deckcalc.__file__)",
        "os.write(1, b'{\"done\": true}\\n')\nos.system('echo {\\\"fault\\\": 1}');",
    )
    found = run_apart([Own("01_x.ipynb", notebook(*cells))], {"a.csv": b"1", "numpy.py": b"1/0"}, tmp_path)[
        "01_x.ipynb"
    ]
    assert [cell[0]["text"].strip() for cell in found[:3]] == ["[] 1", "['a.csv', 'numpy.py'] 1", "[]"]
    assert found[3][0]["text"].strip() == own_notebooks.sys.modules["deckcalc"].__file__
    assert os.listdir(tmp_path) == []


def test_two_notebooks_do_not_share_names(tmp_path):
    both = [Own("01_x.ipynb", notebook("z = 1\nz")), Own("02_y.ipynb", notebook("'z' in globals()"))]
    found = run_apart(both, {}, tmp_path)
    assert found == {
        "01_x.ipynb": [[{"data": {"text/plain": "1"}}]],
        "02_y.ipynb": [[{"data": {"text/plain": "False"}}]],
    }


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("import os\nos._exit(0)", r"ended its process \(status 0\)"), ("import os, signal\nos.kill(os.getpid(), 9)", "ended its process"),
        ("import os\nos.kill(os.getppid(), 0)\n1/0", "ZeroDivisionError"), ("input()", "EOFError"),
        ("import ctypes\nctypes.string_at(0)", "ended its process"), ("raise KeyboardInterrupt", "ended its process"),
    ],
)  # fmt: skip
def test_a_process_that_ends_is_named_with_its_cell(tmp_path, cell, words):
    with pytest.raises(PackageError, match=rf"^01_x\.ipynb, cell 2: .*{words}"):
        run_apart([Own("01_x.ipynb", notebook("# first", cell, "# last"))], {}, tmp_path)
    assert os.listdir(tmp_path) == []


def test_a_cell_that_takes_too_long_is_named_and_ended(tmp_path, monkeypatch):
    mark = tmp_path / "hangs"

    class Process(own_notebooks.subprocess.Popen):
        def communicate(self, *args, timeout=None):
            while timeout and not mark.exists():  # the limit is reached as soon as the cell hangs, on any machine
                time.sleep(0.05)
            if timeout:
                raise own_notebooks.subprocess.TimeoutExpired("python", timeout)
            return super().communicate()

    monkeypatch.setattr(own_notebooks.subprocess, "Popen", Process)
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    cell = f"open({str(mark)!r}, 'w').close()\nwhile True: pass"
    with pytest.raises(PackageError, match=r"^01_x\.ipynb, cell 2: the cell took longer than 600 s"):
        run_apart([Own("01_x.ipynb", notebook("# first", cell, "# last"))], {}, scratch)
    assert os.listdir(scratch) == []


@pytest.mark.parametrize(
    "said", [b"", b"nonsense\n", b'{"notebook": "a", "cell": 1}\nnull\n', b'{"notebook": "a", "shown": []}\n', b"[1]\n", b"\xff\n", b'{"cell": 1}\n']
)  # fmt: skip
def test_what_a_process_sends_that_cannot_be_read_is_a_clear_fault(said):
    with pytest.raises(PackageError, match=r"cannot be read|ended its process"):
        own_notebooks.understood(said, 1, False)


# --- held against the job


LIES = [
    "20 of 20 satisfied", "All 99 checks are satisfied.", "**satis**fied", "sat&shy;isfied", "satis\u00adfied", "satis\u200bfied", "s&#97;tisfied",
    "ＳＡＴＩＳＦＩＥＤ", "not satisfied", "satis\\fied", "not covered", "The deck is adequate.", "OK", "o.k.", "passed", "It did not fail.",
    "3/3", "3 out of 3", "checks: none", "bar B6 | satisfied", "| item | verdict |\n|---|---|\n| bar B6 | satisfied |", "a | b\n--|--\n1 | 2",
    "$$A_s = 1$$", "$$\nA_s = 1\n$$", "The area $A_s = 500$ is enough", "$A_s \\approx 500$", "\\begin{aligned}", "loss of 2 %", "A_s is 500 mm²",
    "f'c = 35 MPa", "12mm", "cover 2 in", "+---+---+\n| a | b |\n+---+---+", "  a    b\n ---  ---\n  1    2", "# Sound\n\nsatisfied", "> satisfied", "- satisfied",
    "~~~\nsatisfied\n~~~", "[satisfied](x)", "<b>satisfied</b>", "satis<b></b>fied",
]  # fmt: skip


@pytest.mark.parametrize("lie", LIES)
def test_what_is_not_of_the_job_stops_the_build(known, lie):
    with pytest.raises(PackageError, match=r"^01_x\.ipynb, cell 1: “.*” is not what the job comes to"):
        hold("01_x.ipynb", markdown(lie), [True], known)


@pytest.mark.parametrize("way", ["print({!r})", "{!r}", "display({!r})", "import sys\nsys.stdout.write({!r});"])
def test_no_way_of_showing_goes_round(known, way):
    with pytest.raises(PackageError, match="20 of 20"):
        hold("01_x.ipynb", shown(way.format("20 of 20 satisfied")), [True], known)


def test_words_of_the_engineers_own_are_free(known):
    for text in (
        "# Remarks\n\nMeet the inspector at the north joint, see drawing 12.",
        '<div class="caution">\n\nMind the gap.\n\n</div>',
    ):
        hold("01_x.ipynb", markdown(text), [True], known)
    hold("01_x.ipynb", markdown("A gap of 12 mm was seen."), [False], known)  # typed, not computed


def rows_of_checks(job):
    """Return the lines of the table of checks of the reinforcement."""
    return [line for line in str(sections.checks(job.steel)).splitlines() if line.startswith("|")]


def test_what_the_library_prints_is_free_in_any_order(known):
    job = demo("SI")
    for text in (
        front.summary(job), sections.checks(job.steel),
        *(job.written.by_hand(one, item) for one in job.subjects for item in one.items[:2]),
    ):  # fmt: skip
        hold("01_x.ipynb", markdown(str(text)), [True], known)
    head, rule, *rows = rows_of_checks(job)
    hold("01_x.ipynb", markdown("\n".join([head, rule, *reversed(rows)])), [True], known)


def test_a_row_of_the_job_under_another_head_stops_the_build(known):
    head, rule, *rows = rows_of_checks(demo("SI"))
    with pytest.raises(PackageError):
        hold("01_x.ipynb", markdown("\n".join([head.replace("value", "limit"), rule, *rows])), [True], known)


def test_a_verdict_that_is_flipped_or_a_digit_that_is_moved_stops_the_build(known):
    table = str(sections.checks(demo("SI").steel))
    for was, now in (("not satisfied", "satisfied"), ("%", " %"), ("25", "26")):
        assert was in table
        if " ".join(table.replace(was, now).split()) == " ".join(table.split()):
            continue
        with pytest.raises(PackageError):
            hold("01_x.ipynb", markdown(table.replace(was, now)), [True], known)


def test_an_equation_under_the_name_of_another_item_stops_the_build(known):
    job = demo("SI")
    runs = [run for run in job.steel.runs if run.calculation.name == "section_loss"]
    hand = job.written.by_run
    other = next(run for run in runs if hand[run].lines[-1].tex != hand[runs[0]].lines[-1].tex)
    first = hand[runs[0]].markdown()
    assert runs[0].item in first.splitlines()[0]
    with pytest.raises(PackageError):
        hold("01_x.ipynb", markdown(first.replace(runs[0].item, other.item)), [True], known)
    hold("01_x.ipynb", markdown(first), [True], known)


def test_every_unit_that_is_printed_marks_an_amount():
    found = own_notebooks.symbols()
    assert {"mm", "mm2", "in", "MPa", "psi", "%", "kg/m3", "°F"} <= set(found)
