"""The text of the library that a package was made with: a hash of each notebook and each template, whichever copy of the library has them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from deckcalc.base.replacing import as_json
from deckcalc.package.documents import BINDING

#: What the pages of a PDF are made with; the other templates make HTML and DOCX alone.
OF_THE_PDF = ("filter.lua", "package.typ", "tagged.lua")
#: Of the sheet of an office, in the place of a name.
REFERENCE = "word reference"


def of_notebook(cells: Iterable[Any]) -> str:
    """Return the hash of what a notebook says and runs, whatever it showed when it was last saved."""
    return hashlib.sha256(as_json([[cell.cell_type, cell.source] for cell in cells])).hexdigest()


def of_template(path: Path) -> str:
    """Return the hash of a template, however its lines end."""
    return hashlib.sha256(path.read_text(encoding="utf-8").encode()).hexdigest()


def of_pdf(notebooks: Mapping[str, Iterable[Any]]) -> dict[str, str]:
    """Return the hashes of what the pages of a PDF are made with.

    Parameters
    ----------
    notebooks : mapping
        Cells of each built-in sheet, by name.
    """
    return {name: of_notebook(cells) for name, cells in notebooks.items()} | {
        name: of_template(BINDING / name) for name in OF_THE_PDF
    }


def of_other_forms(reference: bytes | None) -> dict[str, str]:
    """Return the hashes of what HTML and DOCX are made with besides, the Word document of the office among it."""
    paths = sorted(path for path in BINDING.rglob("*") if path.is_file() and path.name not in OF_THE_PDF)
    found = {path.relative_to(BINDING).as_posix(): of_template(path) for path in paths}
    return found | ({REFERENCE: hashlib.sha256(reference).hexdigest()} if reference is not None else {})


def others(filed: Mapping[str, str], now: Mapping[str, str]) -> Iterator[str]:
    """Name the notebooks and templates that are not those with which a package was made; nothing where it does not say."""
    for name in sorted({*filed, *now}) if filed else ():
        if name not in now:
            yield f"made with {name}, which is not here"
        elif name not in filed:
            yield f"made without {name}, which is here"
        elif filed[name] != now[name]:
            yield f"made with another text of {name}"
