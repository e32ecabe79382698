"""The lessons: each has what a lesson is made of, and together they ask every exercise once."""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from samples import SYSTEMS

from deckcalc import published
from deckcalc.core.sources import folder
from deckcalc.job.file import read_job
from deckcalc.live import demo
from deckcalc.live.questions import EXERCISES

LESSONS = sorted(folder("notebooks").glob("learn_*.ipynb"))


def cells(path: Path, kind: str) -> list[str]:
    """Return the cells of a kind of a notebook."""
    found = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return ["".join(cell["source"]) for cell in found if cell["cell_type"] == kind]


def calls(path: Path) -> Iterator[tuple[str, list[str]]]:
    """Give each call of a notebook by its last name, with its texts."""
    for source in cells(path, "code"):
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Call):
                texts = [one.value for one in node.args if isinstance(one, ast.Constant)]
                yield ast.unparse(node.func).rpartition(".")[2], texts


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_derives_lets_try_shows_print_asks_and_ends_on_a_job(path: Path) -> None:
    names = [name for name, _ in calls(path)]
    assert {"workbook", "worked", "ask", "answer", "rerun"} <= set(names)
    words = "\n".join(cells(path, "markdown"))
    assert "$" in words and words.count("Predict, change, explain") >= 2
    cases = {case.id for case in published.cases() if case.provenance == "published"}
    assert all(texts[0] in cases for name, texts in calls(path) if name == "worked")
    asked = [texts for name, texts in calls(path) if name in ("ask", "answer")]
    assert asked[::2] == [texts[:1] for texts in asked[1::2]]  # each question has its place for an answer, left empty
    assert all(texts[1] == "" for texts in asked[1::2])


def test_every_exercise_is_asked_in_one_lesson() -> None:
    asked = [texts[0] for path in LESSONS for name, texts in calls(path) if name == "ask"]
    assert sorted(asked) == sorted(EXERCISES)


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_job_of_the_tasks_is_there(system: str) -> None:
    assert read_job(demo(system)).ready  # type: ignore[arg-type]
