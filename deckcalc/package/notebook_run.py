"""Notebooks run cell by cell in this process: what each cell shows, as Jupyter would show it.

Cells are plain Python. Every notebook has names of its own; the cell tagged ``parameters`` is not run, and its name JOB
stands for the job that was read.
"""

from __future__ import annotations

import ast
import base64
import io
import linecache
from collections.abc import Iterator, Sequence
from contextlib import redirect_stdout
from typing import Any
from unittest.mock import patch

import IPython.display
import nbformat

from deckcalc.base.fields import NotComputed
from deckcalc.package.documents import PackageError

#: What one cell showed: text that it wrote, or one object under the kinds in which it can be shown.
Output = dict[str, Any]


class Screen(io.TextIOBase):
    """Gathers what a cell shows, in the order in which it is shown."""

    def __init__(self) -> None:
        self.outputs: list[Output] = []

    def writable(self) -> bool:
        """Text can be written here."""
        return True

    def write(self, text: str) -> int:
        """Add text to the stream."""
        if self.outputs and "text" in self.outputs[-1]:
            self.outputs[-1]["text"] += text
        elif text:
            self.outputs.append({"text": text})
        return len(text)

    def display(self, *objects: Any, **options: Any) -> None:
        """Show objects, one after the other; options are of no use on paper."""
        self.outputs += [{"data": bundle(one)} for one in objects]


def bundle(value: Any) -> dict[str, str]:
    """Return an object under the kinds that are bound: Markdown, a PNG picture (in base64), plain text."""
    data: dict[str, Any] = {}
    if hasattr(value, "_repr_mimebundle_"):
        found = value._repr_mimebundle_()
        data = dict(found[0] if isinstance(found, tuple) else found or {})
    for kind, name in (("text/markdown", "_repr_markdown_"), ("image/png", "_repr_png_")):
        if kind not in data and hasattr(value, name) and (made := getattr(value, name)()) is not None:
            data[kind] = made[0] if isinstance(made, tuple) else made
    if "image/png" not in data and type(value).__module__ == "matplotlib.figure":
        with io.BytesIO() as file:
            value.savefig(file, format="png", metadata={"Software": None})
            data["image/png"] = file.getvalue()
    data.setdefault("text/plain", repr(value))
    kinds = ("text/markdown", "image/png", "text/plain")
    return {
        kind: base64.b64encode(data[kind]).decode() if isinstance(data[kind], bytes) else str(data[kind])
        for kind in kinds if kind in data
    }  # fmt: skip


def cells_of(name: str, data: bytes) -> list[Any]:
    """Return the cells of a notebook.

    Raises
    ------
    PackageError
        If it is no notebook.
    """
    try:
        return list(nbformat.reads(data.decode("utf-8"), as_version=4).cells)
    except (ValueError, KeyError, AttributeError, TypeError, RecursionError, nbformat.ValidationError) as error:
        why = " ".join(str(error).split())[:200]
        raise PackageError(f"{name} cannot be read as a notebook: {why}") from None


def run(name: str, cells: Sequence[Any], job: Any) -> Iterator[list[Output]]:
    """Run a notebook and give what each cell shows, cell by cell.

    Parameters
    ----------
    name : str
        Name of the notebook, for messages.
    cells : sequence
        Its cells.
    job : JobFile, Job or path
        What JOB stands for.

    Raises
    ------
    PackageError
        If a cell fails: the message names notebook, cell and error.
    """
    screen = Screen()
    scope: dict[str, Any] = {"__name__": "__main__", "JOB": job, "display": screen.display}
    said: list[Output] = []  # a sheet says once that a subject was not computed
    for number, cell in enumerate(cells, 1):
        screen.outputs = []
        if cell.cell_type == "markdown":
            screen.outputs.append({"data": {"text/markdown": cell.source}})
        elif cell.cell_type == "code" and "parameters" not in cell.metadata.get("tags", []):
            try:
                with redirect_stdout(screen), patch.object(IPython.display, "display", screen.display):
                    run_cell(cell.source, scope, f"<{name}, cell {number}>", screen)
            except NotComputed as error:
                caution: Output = {"data": {"text/markdown": error.markdown}}
                screen.outputs = [] if caution in said else [caution]
                said.append(caution)
            except (Exception, SystemExit) as error:
                why = " ".join(str(error).split()) or "no more is known"
                raise PackageError(f"{name}, cell {number}: {type(error).__name__}: {why}") from None
        yield screen.outputs


def run_cell(source: str, scope: dict[str, Any], where: str, screen: Screen) -> None:
    """Run one cell; the value of a last expression is shown, unless a semicolon ends it."""
    text = source.splitlines(keepends=True)
    linecache.cache[where] = (
        len(source),
        None,
        text,
        where,
    )  # where a calculation that is declared here reads its lines
    tree = ast.parse(source, where)
    last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
    exec(compile(tree, where, "exec", dont_inherit=True), scope)
    if isinstance(last, ast.Expr):
        value = eval(compile(ast.Expression(last.value), where, "eval", dont_inherit=True), scope)
        if value is not None and not source.rstrip().endswith(";"):
            screen.display(value)
