"""Bind one Markdown document into a calculation package: PDF, HTML and DOCX."""

from __future__ import annotations

import datetime
import html
import os
import re
import subprocess
import tempfile
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import pypandoc

from deckcalc.base.errors import PackageError
from deckcalc.core.text import in_style
from deckcalc.package import pdf, word

BINDING = Path(__file__).parent / "binding"
# Job text reaches the document, so what no sheet uses stays plain text: raw input, metadata, attributes, notes and the like.
READER = (
    "markdown-raw_html-raw_tex-raw_attribute-native_spans-markdown_in_html_blocks-latex_macros-yaml_metadata_block"
    "-pandoc_title_block-citations-example_lists-smart-bracketed_spans-header_attributes-fenced_code_attributes"
    "-inline_code_attributes-footnotes-inline_notes-table_captions-definition_lists-line_blocks-strikeout-task_lists-fancy_lists"
)
#: Where somebody signs with initials.
BLANK = "\u2026" * 8


#: Founts that come with the typesetter, so that a package is the same on every machine.
FONTS = ("Libertinus Serif", "New Computer Modern")


@dataclass(frozen=True)
class Document:
    """One document of a package.

    Parameters
    ----------
    name : str
        Of its files, such as ``"package"``.
    part : str
        What it is, at the head of each page.
    markdown : str
        The document in pandoc Markdown, each level-1 heading being one sheet.
    formats : tuple of str
        Of ``"pdf"``, ``"html"`` and ``"docx"``.
    mark : str
        Standing of the document in words, at the head of each page; empty where it may be used as it is.
    landscape : bool
    large : bool
        Whether nothing in it is smaller than 11 pt, and each sheet begins on paper of its own.
    following : tuple of str
        Headings of level 1 that begin no page: their part follows where the one before ends.
    attachments : mapping of bytes
        Files embedded in the PDF, by name.
    """

    name: str
    part: str
    markdown: str
    formats: tuple[str, ...] = ("pdf", "html")
    mark: str = ""
    landscape: bool = False
    large: bool = False
    following: tuple[str, ...] = ()
    attachments: Mapping[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True)
class Imprint:
    """Facts printed in the header and footer of every page.

    Parameters
    ----------
    package : str
        Number of the calculation package.
    bridge : str
        Name or number of the bridge.
    revision : str
        Revision of the package.
    date : datetime.date
        Date of the package, the only date found in the files.
    firm : str
        Firm that issues the package.
    subject : str
        Subject in one line.
    version : str
        Version of deckcalc.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    font : str
        One of `FONTS`.
    prepared, checked : str
        Who prepared and who checked the sheets; empty where nobody has.
    reference : bytes | None
        A Word document whose page, styles, header and footer stand in place of ours in DOCX.
    """

    package: str
    bridge: str
    revision: str
    date: datetime.date
    firm: str
    subject: str
    version: str
    paper: str = "a4"
    font: str = FONTS[0]
    prepared: str = ""
    checked: str = ""
    reference: bytes | None = None

    def facts(self) -> dict[str, str]:
        """Return the facts as text, under the names that the templates use."""
        return {
            "title": f"Package {self.package} - {self.bridge} - {self.subject}",
            "package": self.package,
            "bridge": self.bridge,
            "revision": self.revision,
            "day": self.date.isoformat(),
            "firm": self.firm,
            "subject": self.subject,
            "version": self.version,
        }


def bind(documents: Sequence[Document], imprint: Imprint, resources: Path, out: Path) -> None:
    """Write each document in its formats, such as ``package.pdf``, ``package.html`` and ``package.docx``.

    The same arguments give the same bytes. The files are made in a temporary folder and moved into
    ``out`` only when all are complete.

    Parameters
    ----------
    documents : sequence of Document
    imprint : Imprint
        Facts for the header, the footer and the metadata.
    resources : Path
        Folder that holds the images.
    out : Path
        Existing folder for the files.

    Raises
    ------
    PackageError
        If the paper is unknown, an image is missing, an equation cannot be read or a file cannot be made.
    """
    if imprint.paper not in word.TEXT_WIDTH:
        raise PackageError(f"Paper {imprint.paper!r} is not one of: {', '.join(word.TEXT_WIDTH)}.")
    resources = resources.resolve()
    with tempfile.TemporaryDirectory(prefix=".binding-", dir=out.resolve().parent) as name:
        folder = Path(name)
        for document in documents:
            (folder / document.name).mkdir()
        with ThreadPoolExecutor() as pool:
            made = [
                pool.submit(MAKERS[kind], one, imprint, resources, folder / one.name)
                for one in documents
                for kind in one.formats
            ]
        for one in made:
            one.result()
        for document in documents:
            for kind in document.formats:
                os.replace(folder / document.name / f"package.{kind}", out / f"{document.name}.{kind}")


def _midnight(date: datetime.date) -> datetime.datetime:
    return datetime.datetime(date.year, date.month, date.day, tzinfo=datetime.UTC)


def _pandoc(
    document: Document, imprint: Imprint, resources: Path, folder: Path, name: str, writer: str, *options: str
) -> None:
    """Convert a document with pandoc into the file ``name`` of ``folder``."""
    template = {"typst": "package.typ", "html": "package.html", "docx": "package.openxml"}[writer]
    facts = {
        "letter": "letter" if imprint.paper == "us-letter" else "",
        "paper": imprint.paper.replace("us-", "").upper(),
        "wide": "wide" if document.landscape else "",
    }
    if writer == "html":  # variables go into the template as they are
        known = {**imprint.facts(), "draft": document.mark, "part": document.part}
        facts |= {key: html.escape(value) for key, value in known.items()}
        facts |= {f"styled-{key}": in_style(known[key]) for key in ("package", "revision", "draft")}
    command = [
        pypandoc.get_pandoc_path(), f"--from={READER}", f"--to={writer}", f"--output={name}",
        "--standalone", f"--template={BINDING / template}", f"--lua-filter={BINDING / 'filter.lua'}",
        f"--lua-filter={BINDING / 'tagged.lua'}", "--sandbox", f"--resource-path={resources}", "--columns=10000", "--syntax-highlighting=none",
        "--data-dir=.", "--fail-if-warnings", *(["--toc", "--toc-depth=2"] if writer == "html" else []), *options,
        *(f"--variable={key}:{value}" for key, value in facts.items() if value),
    ]  # fmt: skip
    run = subprocess.run(command, input=document.markdown.encode(), capture_output=True, cwd=folder, check=False)
    if run.returncode:
        text = " ".join(run.stderr.decode(errors="replace").split()).removeprefix("[WARNING] ")
        text = re.sub(r"^Scripting warning at .*? column \d+: ", "", text)
        text = re.sub(r"( \[WARNING\]| expecting | Failing because).*", "", text)
        raise PackageError(f"The package could not be made: {text}")


def _html(document: Document, imprint: Imprint, resources: Path, folder: Path) -> None:
    """Make ``package.html`` in ``folder``."""
    _pandoc(document, imprint, resources, folder, "package.html", "html", "--mathml", "--embed-resources")


def _pdf(document: Document, imprint: Imprint, resources: Path, folder: Path) -> None:
    """Make ``package.pdf`` in ``folder``, with the attachments embedded."""
    _pandoc(document, imprint, resources, folder, "package.typ", "typst", "--extract-media=.")
    files = sorted(document.attachments.items())
    for index, (_, data) in enumerate(files):
        (folder / f"attachment-{index}").write_bytes(data)
    facts: dict[str, object] = {
        **imprint.facts(),
        "date": imprint.date.timetuple()[:3],
        "paper": imprint.paper,
        "font": imprint.font,
        "part": document.part,
        "prepared": imprint.prepared or BLANK,
        "checked": imprint.checked or BLANK,
        "mark": document.mark,
        "landscape": document.landscape,
        "large": document.large,
        "following": document.following,
        "margin": not document.landscape and document.name == "package",
        "attachments": [name for name, _ in files],
    }
    (folder / "package.pdf").write_bytes(pdf.compiled(folder / "package.typ", facts, _midnight(imprint.date)))


def _docx(document: Document, imprint: Imprint, resources: Path, folder: Path) -> None:
    """Make ``package.docx`` in ``folder``: pandoc's body, our styles, header and footer, or those of a reference document."""
    options = []
    if imprint.reference is not None:
        (folder / "reference.docx").write_bytes(imprint.reference)
        options = ["--reference-doc=reference.docx", "--variable=reference:1"]
    _pandoc(document, imprint, resources, folder, "package.docx", "docx", *options)
    path = folder / "package.docx"
    facts = {**imprint.facts(), "draft": document.mark}
    path.write_bytes(word.finished(path.read_bytes(), facts, imprint.paper, imprint.reference))


MAKERS: dict[str, Callable[[Document, Imprint, Path, Path], None]] = {"pdf": _pdf, "html": _html, "docx": _docx}
