"""Exercises: numbers by seed, slips told apart, answers of a folder marked without running anything."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples import SYSTEMS

from deckcalc.cli import main
from deckcalc.core.units import InputError
from deckcalc.live.exercises import RIGHT, ROUNDED, near
from deckcalc.live.lesson import Lesson, worked
from deckcalc.live.marking import mark_folder, table
from deckcalc.live.questions import EXERCISES


def notebook(folder: Path, name: str, *sources: str) -> Path:
    cells = [{"cell_type": "code", "source": source, "metadata": {}, "outputs": []} for source in sources]
    place = folder / name
    place.write_text(json.dumps({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5}))
    return place


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("key", EXERCISES)
class TestEveryExercise:
    def test_the_answer_of_its_solution_is_right(self, key, system):
        for seed in map(str, range(20)):
            task = EXERCISES[key].task(seed, system)
            assert task.mark(task.printed).right
            number = task.number(task.answer)
            unit = task.kind.symbol(system)
            assert task.mark(f"{number!r} {unit}").kind == "right"
            assert task.mark(f"{number * (1 + 0.8 * ROUNDED)!r} {unit}").kind == "rounding"
            assert task.mark(f"{number * 1000!r} {unit}").kind in ("factor", "common mistake")
            assert not task.mark("5 furlong").right

    def test_every_mistake_is_told_by_its_own_words(self, key, system):
        for seed in map(str, range(20)):
            task = EXERCISES[key].task(seed, system)
            for value, words in task.wrong:
                assert not near(value, task.number(task.answer), 2 * RIGHT)
                found = task.mark(f"{value!r} {task.kind.symbol(system)}")
                assert (found.kind, found.words) == ("common mistake", words)

    def test_numbers_go_with_the_seed(self, key, system):
        asked = {EXERCISES[key].task(seed, system).question for seed in map(str, range(20))}
        assert len(asked) > 5
        assert EXERCISES[key].task("x", system).given == EXERCISES[key].task("x", system).given
        assert "{" not in "".join(asked)

    @given(text=st.text(max_size=30))
    def test_any_text_gets_a_word(self, key, system, text):
        assert EXERCISES[key].task("x", system).mark(text).words


def test_a_lesson_leads_on_step_by_step():
    lesson = Lesson("student 7")
    hints = [str(lesson.hint("loss-of-area")) for _ in range(4)]
    assert len(set(hints)) == len(EXERCISES["loss-of-area"].hints)
    assert "Section loss" in lesson.solution("loss-of-area")._repr_markdown_()


@pytest.mark.parametrize("name", ["", "  "])
def test_a_lesson_wants_a_name(name):
    with pytest.raises(InputError, match="your name"):
        Lesson(name)


def test_an_exercise_that_is_none_is_named_with_those_that_are():
    with pytest.raises(InputError, match="loss-of-area"):
        Lesson("x").ask("no-such")


def test_a_folder_is_marked_and_nothing_in_it_is_run(tmp_path, capsys):
    right = EXERCISES["loss-of-area"].task("Ada", "US").printed
    trace = tmp_path / "ran"
    notebook(
        tmp_path, "ada.ipynb", 'lesson = Lesson("Ada", system="US")', f'open({str(trace)!r}, "w")',
        'lesson.answer("loss-of-area", "1 %")', f'lesson.answer("loss-of-area", "{right}")',
    )  # fmt: skip
    notebook(
        tmp_path, "bob.ipynb", "lesson = Lesson('Bob')", "lesson.ask('loss-of-area')", "%pip nothing", "not python ("
    )
    notebook(tmp_path, "eve.ipynb", 'lesson.answer("loss-of-area", "1 %")')
    (tmp_path / "broken.ipynb").write_text("{")
    rows = {row.notebook: row for row in mark_folder(tmp_path)}
    assert not trace.exists()
    assert (rows["ada.ipynb"].mark, rows["ada.ipynb"].student) == ("1", "Ada")
    assert (rows["bob.ipynb"].mark, rows["bob.ipynb"].said.partition(":")[0]) == ("0", "no answer")
    assert "names no student" in rows["eve.ipynb"].said and rows["eve.ipynb"].mark == ""
    assert "no notebook" in rows["broken.ipynb"].said
    out = tmp_path / "marks.csv"
    assert main(["mark", str(tmp_path), "--out", str(out)]) == 0
    assert out.read_text().splitlines()[0] == "notebook,student,exercise,answer,mark,said"
    assert "1 of 2 answers right" in capsys.readouterr().out
    assert main(["mark", str(tmp_path), "--out", str(out)]) == 1
    assert "exists already" in capsys.readouterr().err


def test_no_cell_of_the_table_is_a_formula(tmp_path):
    notebook(tmp_path, "x.ipynb", 'Lesson("=1+1")', 'lesson.answer("loss-of-area", "@SUM(A1)")')
    assert "'=1+1" in table(mark_folder(tmp_path)) and "'@SUM" in table(mark_folder(tmp_path))


@pytest.mark.parametrize("make", [lambda place: place / "none", lambda place: place])
def test_a_folder_without_notebooks_is_refused(tmp_path, make):
    with pytest.raises(InputError, match="no such folder|no notebook"):
        mark_folder(make(tmp_path))


def test_a_published_example_stands_beside_ours():
    shown = worked("navedtra-moisture", "US")
    assert "| $W_{\\mathrm{add}}$ | 201.0 lb/yd³ | 201.00 lb/yd³ |" in shown
    assert "Published: [NAVEDTRA 14070]" in shown


@pytest.mark.parametrize("name", ["no-such-case", "rate-of-age-1"])
def test_an_example_that_is_not_published_is_none(name):
    with pytest.raises(InputError, match="no published case"):
        worked(name)
