"""Bind one Markdown document into a calculation package: PDF, HTML and DOCX."""

from __future__ import annotations

import datetime
import html
import json
import os
import re
import subprocess
import tempfile
import warnings
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pypandoc
import typst

from deckcalc.base.errors import PackageError
from deckcalc.base.fields import DRAFT
from deckcalc.core.text import in_style
from deckcalc.package import word

BINDING = Path(__file__).parent / "binding"
# Job text reaches the document, so what no sheet uses stays plain text: raw input, metadata, attributes, notes and the like.
READER = (
    "markdown-raw_html-raw_tex-raw_attribute-native_spans-markdown_in_html_blocks-latex_macros-yaml_metadata_block"
    "-pandoc_title_block-citations-example_lists-smart-bracketed_spans-header_attributes-fenced_code_attributes"
    "-inline_code_attributes-footnotes-inline_notes-table_captions-definition_lists-line_blocks-strikeout-task_lists-fancy_lists"
)


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
    draft : bool
        Whether the package is marked as a draft in words.
    version : str
        Version of deckcalc.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    """

    package: str
    bridge: str
    revision: str
    date: datetime.date
    firm: str
    subject: str
    draft: bool
    version: str
    paper: str = "a4"

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
            "draft": DRAFT if self.draft else "",
            "version": self.version,
        }


def bind(
    markdown: str,
    imprint: Imprint,
    resources: Path,
    out: Path,
    attachments: Mapping[str, bytes] = {},
) -> None:
    """Write ``package.pdf``, ``package.html`` and ``package.docx``.

    The same arguments give the same bytes. The files are made in a temporary folder and moved into
    ``out`` only when all three are complete.

    Parameters
    ----------
    markdown : str
        The document in pandoc Markdown, each level-1 heading being one sheet.
    imprint : Imprint
        Facts for the header, the footer and the metadata.
    resources : Path
        Folder that holds the images.
    out : Path
        Existing folder for the three files.
    attachments : Mapping[str, bytes]
        Files embedded in the PDF, by name.

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
        with ThreadPoolExecutor() as pool:
            made = [
                pool.submit(_pdf, markdown, imprint, resources, folder, attachments),
                pool.submit(
                    _pandoc,
                    markdown,
                    imprint,
                    resources,
                    folder,
                    "package.html",
                    "html",
                    "--mathml",
                    "--embed-resources",
                ),
                pool.submit(_docx, markdown, imprint, resources, folder),
            ]
        for one in made:
            one.result()
        for suffix in ("pdf", "html", "docx"):
            os.replace(folder / f"package.{suffix}", out / f"package.{suffix}")


def _midnight(date: datetime.date) -> datetime.datetime:
    return datetime.datetime(date.year, date.month, date.day, tzinfo=datetime.UTC)


def _pandoc(
    markdown: str, imprint: Imprint, resources: Path, folder: Path, name: str, writer: str, *options: str
) -> None:
    """Convert the document with pandoc into the file ``name`` of ``folder``."""
    template = {"typst": "package.typ", "html": "package.html", "docx": "package.openxml"}[writer]
    facts = {
        "letter": "letter" if imprint.paper == "us-letter" else "",
        "paper": imprint.paper.replace("us-", "").upper(),
    }
    if writer == "html":  # variables go into the template as they are
        facts |= {key: html.escape(value) for key, value in imprint.facts().items()}
        facts |= {f"styled-{key}": in_style(imprint.facts()[key]) for key in ("package", "revision", "draft")}
    command = [
        pypandoc.get_pandoc_path(), f"--from={READER}", f"--to={writer}", f"--output={name}",
        "--standalone", f"--template={BINDING / template}", f"--lua-filter={BINDING / 'filter.lua'}",
        f"--lua-filter={BINDING / 'tagged.lua'}", "--sandbox", f"--resource-path={resources}", "--columns=10000", "--syntax-highlighting=none",
        "--data-dir=.", "--fail-if-warnings", *(["--toc", "--toc-depth=2"] if writer == "html" else []), *options,
        *(f"--variable={key}:{value}" for key, value in facts.items() if value),
    ]  # fmt: skip
    run = subprocess.run(command, input=markdown.encode(), capture_output=True, cwd=folder, check=False)
    if run.returncode:
        text = " ".join(run.stderr.decode(errors="replace").split()).removeprefix("[WARNING] ")
        text = re.sub(r"^Scripting warning at .*? column \d+: ", "", text)
        text = re.sub(r"( \[WARNING\]| expecting | Failing because).*", "", text)
        raise PackageError(f"The package could not be made: {text}")


def _pdf(markdown: str, imprint: Imprint, resources: Path, folder: Path, attachments: Mapping[str, bytes]) -> None:
    """Make ``package.pdf`` in ``folder``, with the attachments embedded."""
    _pandoc(markdown, imprint, resources, folder, "package.typ", "typst", "--extract-media=.")
    files = sorted(attachments.items())
    for index, (_, data) in enumerate(files):
        (folder / f"attachment-{index}").write_bytes(data)
    facts: dict[str, object] = {
        **imprint.facts(),
        "date": imprint.date.timetuple()[:3],
        "paper": imprint.paper,
        "attachments": [name for name, _ in files],
    }
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            typst.compile(
                folder / "package.typ",
                output=folder / "package.pdf",
                root=folder,
                ignore_system_fonts=True,
                sys_inputs={"facts": json.dumps(facts)},
                pdf_standards="a-3b",
                timestamp=_midnight(imprint.date),
            )
    except RuntimeError as error:
        message = getattr(error, "message", str(error))
        raise PackageError(f"The package could not be made: {message}") from None


def _docx(markdown: str, imprint: Imprint, resources: Path, folder: Path, reference: bytes | None = None) -> None:
    """Make ``package.docx`` in ``folder``: pandoc's body, our styles, header and footer, or those of ``reference``."""
    options = []
    if reference is not None:
        word.checked(reference)
        (folder / "reference.docx").write_bytes(reference)
        options = ["--reference-doc=reference.docx", "--variable=reference:1"]
    _pandoc(markdown, imprint, resources, folder, "package.docx", "docx", *options)
    path = folder / "package.docx"
    path.write_bytes(word.finished(path.read_bytes(), imprint.facts(), imprint.paper, reference))
