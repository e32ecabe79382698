"""A folder of notebooks marked: the answers are read as text, and nothing in a notebook is run.

What counts is what was written as ``lesson = Lesson("name")`` and ``lesson.answer("exercise", "value with unit")``, with plain
text between the quotation marks; of several answers to one exercise the last one.
"""

from __future__ import annotations

import ast
import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from pathlib import Path

from deckcalc.base.replacing import put_table
from deckcalc.core import units
from deckcalc.core.units import InputError, clipped
from deckcalc.job.folder import MEGABYTE, MOST_ENTRIES, bytes_of
from deckcalc.live.lesson import task
from deckcalc.live.questions import EXERCISES

#: The largest notebook that is read, and the longest cell.
MOST_NOTEBOOK, LONGEST_CELL = 16 * MEGABYTE, 100_000
HEADS = ("notebook", "student", "exercise", "answer", "mark", "said")


@dataclass(frozen=True)
class Marked:
    """One answer, marked: 1 where it is right, 0 where it is not; or what is wrong with a notebook, without a mark."""

    notebook: str
    student: str
    exercise: str
    answer: str
    mark: str
    said: str


@dataclass
class Written:
    """What a notebook holds: the student, the unit system, and the answers by exercise."""

    student: str
    system: str
    answers: dict[str, str]


def mark_folder(folder: str | Path) -> list[Marked]:
    """Mark every notebook of a folder.

    Parameters
    ----------
    folder : path

    Returns
    -------
    list of Marked
        By notebook, then by exercise; an exercise that a notebook begins and does not answer stands there with mark 0.

    Raises
    ------
    InputError
        If there is no such folder, or no notebook in it.
    """
    place = Path(folder)
    if not place.is_dir():
        raise InputError(f"{clipped(folder, 200)}: there is no such folder; name the one that holds the notebooks")
    names = sorted(path.name for path in place.iterdir() if path.suffix == ".ipynb")[: MOST_ENTRIES + 1]
    if not names:
        raise InputError(f"{clipped(folder, 200)} holds no notebook (.ipynb)")
    if len(names) > MOST_ENTRIES:
        raise InputError(f"{clipped(folder, 200)} holds more than {MOST_ENTRIES} notebooks; mark them in parts")
    return [one for name in names for one in marks(place.resolve(), name)]


def marks(place: Path, name: str) -> list[Marked]:
    """Mark one notebook."""
    try:
        written = read(place, name)
    except InputError as error:
        return [Marked(name, "", "", "", "", str(error))]
    found = []
    for key, text in written.answers.items():
        if key not in EXERCISES:
            found.append(Marked(name, written.student, clipped(key), clipped(text), "", "there is no such exercise"))
            continue
        said = task(key, written.student, written.system).mark(text)  # type: ignore[arg-type]
        found.append(Marked(name, written.student, key, clipped(text), f"{said.right:d}", f"{said.kind}: {said.words}"))
    return found or [Marked(name, written.student, "", "", "", "holds no answer")]


def read(place: Path, name: str) -> Written:
    """Read the answers of a notebook without running it.

    Raises
    ------
    InputError
        If it is no notebook, or names no student.
    """
    try:
        cells = json.loads(bytes_of(place, name, MOST_NOTEBOOK))["cells"]
        sources = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise InputError("is no notebook, or damaged") from None
    found = Written("", "SI", {})
    for source in sources:
        for call in calls(source):
            texts = [arg.value for arg in call.args if isinstance(arg, ast.Constant) and isinstance(arg.value, str)]
            named = {one.arg: one.value.value for one in call.keywords if isinstance(one.value, ast.Constant)}
            if isinstance(call.func, ast.Name) and call.func.id == "Lesson" and texts:
                found.student, found.system = texts[0].strip(), str(named.get("system", (*texts, "SI")[1]))
            elif isinstance(call.func, ast.Attribute) and call.func.attr in ("ask", "answer") and texts:
                text = (*texts, "")[1]
                found.answers[texts[0]] = text or found.answers.get(texts[0], "")
    if not found.student:
        raise InputError('names no student: wanted lesson = Lesson("name")')
    if found.system not in units.SYSTEMS:
        raise InputError(f"has unit system “{clipped(found.system)}”, wanted {' or '.join(units.SYSTEMS)}")
    return found


def calls(source: str) -> Iterator[ast.Call]:
    """Give the calls of a cell, in the order in which they are written; none where it cannot be read as Python."""
    if len(source) > LONGEST_CELL:
        return
    try:
        tree = ast.parse("\n".join(line for line in source.splitlines() if not line.lstrip().startswith(("%", "!"))))
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return
    found = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    yield from sorted(found, key=lambda node: (node.lineno, node.col_offset))


def table(rows: Sequence[Marked]) -> str:
    """Return marks as a CSV table; no cell of it is a formula to a spreadsheet."""
    with io.StringIO() as text:
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(HEADS)
        writer.writerows([safe(getattr(row, one.name)) for one in fields(row)] for row in rows)
        return text.getvalue()


def write(rows: Sequence[Marked], out: Path) -> Path:
    """Write marks as a CSV table, whole, where nothing stands yet.

    Raises
    ------
    InputError
        If something stands there.
    """
    if out.exists():
        raise InputError(f"{out} exists already and was left as it is; name another file with --out")
    return put_table(out, table(rows), None)


def safe(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell
