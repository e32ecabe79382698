"""Sheets bound into one filed document: notebooks run on a job, PDF, HTML and DOCX made of what they show."""

from __future__ import annotations

import base64
import hashlib
import json
import platform
import re
from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

from tqdm import tqdm

from deckcalc import __version__
from deckcalc.base.replacing import MANIFEST, as_json, free_place, hashes, holding, put, sealed
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.core.text import fenced, plain
from deckcalc.core.words import worded
from deckcalc.job import Job, compute
from deckcalc.job.record_rows import RECORD
from deckcalc.job.report import own_words
from deckcalc.package import comments, front, library_text, notebook_run, own_notebooks, word, works
from deckcalc.package.decisions import has_patches
from deckcalc.package.documents import Document, Imprint, PackageError, bind
from deckcalc.package.notebook_run import Output
from deckcalc.package.own_notebooks import Own
from deckcalc.show.decimal import with_comma
from deckcalc.show.figures import DPI, READING

SHEET = re.compile(r"\d\d_\w+\.ipynb")
#: The sheet of the works cited, whose titles are nobody's to reword.
SOURCES = "09_sources.ipynb"
#: Entry of the manifest for the notebooks and templates that the PDF was made with.
TEXT = "text of the library"
#: Width of the text of a sheet.
TEXT_MM = 168
LIBRARIES = ("numpy", "pint", "handcalcs", "matplotlib", "pikepdf", "typst", "pypandoc_binary")

#: Documents of a package: what each is called, and the digits with which its sheets begin.
PARTS = {
    "package": ("Calculation package", "0"), "appendix": ("Appendix", "7"), "field": ("Field set", "8"), "record": ("Record", "6"),
}  # fmt: skip


def build(
    job_folder: str | Path | Job,
    out: str | Path | None = None,
    quiet: bool = False,
    only: str | None = None,
    own: bool = False,
    parts: Iterable[str] = (),
    word_reference: str | Path | None = None,
    say: Callable[[str], object] = lambda line: None,
) -> Path:
    """Build the calculation package of a job: the filed document, its appendix, the field set, and manifest.json.

    The job folder is read once, and every part of the package comes from what was read.

    Parameters
    ----------
    job_folder : path or Job
        A job folder, or a job that was computed, with its changed inputs. It is data: nothing in it is run or imported, unless `own` is set.
    out : path, optional
        Folder of the package; a link is followed. What stands there is replaced when the new package is complete, and
        only if it is an unchanged package; otherwise nothing is touched and the build is refused. By default
        ``package`` in the job folder; what may not be replaced there stays, and the new package goes to ``package-2``
        beside it, or the next number that is free or holds an unchanged package.
    quiet : bool
        Without a progress bar.
    only : str, optional
        Name of one sheet, such as ``crew_sheets``: it is printed alone, by default in a folder of that name.
    own : bool
        Run the notebooks of the job folder named like ``01_patches.ipynb``, instead of the built-in sheets of the same
        name or beside them. They run apart; what they show is held against the job, and their sheets are marked.
    parts : iterable of str
        Which documents are made, of ``PARTS``; by default all that the job has anything for.
    word_reference : path, optional
        Word document of an office whose page, styles, header and footer stand in place of ours in DOCX.
    say : callable
        Is given a line where something was not done as usual.

    Returns
    -------
    Path
        The folder of the package.

    Raises
    ------
    JobError
        If the job folder is faulty; nothing is written.
    PackageError
        If a notebook fails, a document cannot be made or the folder may not be replaced; nothing is written.
    """
    beside = out is None
    reference = word.read(Path(word_reference)) if word_reference else None
    source = job_folder.file.folder if isinstance(job_folder, Job) else Path(job_folder)
    job = compute(job_folder)
    if beside and job.file.contents.handed_over:
        raise PackageError("the job was made in Python and stands in no folder; say with out= where the package goes")
    lying = own_notebooks.lying_in(source)
    brought = [Own(path.name, path.read_bytes()) for path in lying if own and SHEET.fullmatch(path.name)]
    asked = {*parts} or {*PARTS}
    if strange := asked - {*PARTS}:
        raise PackageError(f"a package has no part “{min(strange)}”; there are {', '.join(PARTS)}")
    sheets = chosen(brought, only, job)
    if only is None and "package" not in asked:  # the filed document lists the works that all sheets cite
        sheets = [sheet for sheet in sheets if part_of(sheet.name) in asked]
    out = Path(out) if out else source / (only or "package")
    place = free_place(out, beside)
    ran = [sheet.own for sheet in sheets if sheet.own]
    left = [path.name for path in lying if path.name not in {one.name for one in brought}]
    for one in job.file.understood:
        say(f"understood: {one}")
    if left:
        say(f"notebooks in the job folder were not run: {', '.join(left)}")
    with holding(place) as holder:
        work, figures = holder / "new", holder / "figures"
        work.mkdir()
        figures.mkdir()
        shown = run_sheets(job, sheets, figures, quiet)
        if ran or left:
            note = front.notebooks_of_the_job({one.name: one.digest for one in ran}, left)
            shown = with_note(shown, note)
        shown = comments.with_marks(job, shown)
        contents = {**manifest(job, ran, left), TEXT: text_of(sheets)}
        attached = {**job.file.verbatim, **{one.name: one.data for one in ran}, MANIFEST: as_json(contents)}
        documents = documents_of(job, shown, attached, asked, only is not None)
        head, now = job.settings, job.file.revision
        imprint = Imprint(
            head.package.number, head.bridge.name, now.revision, now.date, head.people.firm, head.package.subject,
            version=__version__, paper=head.paper, font=head.package.font,
            prepared=head.people.originator, checked="" if job.undecided or job.unanswered else head.people.checker,
            reference=reference,
        )  # fmt: skip
        bind(documents, imprint, figures, work)
        forms = {"text of other forms": library_text.of_other_forms(reference)}
        (work / MANIFEST).write_bytes(sealed({**contents, **forms, "files": hashes(work)}))
        place = put(work, out, beside)
    if place.name != Path(out).resolve().name:
        say(f"{out} holds what is not an unchanged package and was left as it is; the new one goes beside it")
        return place
    return out


@dataclass(frozen=True)
class Sheet:
    """A notebook of the package: a built-in one, or one that the job brings."""

    name: str
    path: Path | None = None
    own: Own | None = None

    @property
    def cells(self) -> list[Any]:
        """Its cells."""
        data = self.own.data if self.own else self.path.read_bytes() if self.path else b""
        return notebook_run.cells_of(self.name, data)


def text_of(sheets: Iterable[Sheet]) -> dict[str, str]:
    """Return the hashes of the built-in sheets and of the templates that a PDF is made with, by name."""
    return library_text.of_pdf({sheet.name: sheet.cells for sheet in sheets if not sheet.own})


def part_of(sheet: str) -> str:
    """Return the document of a package to which a sheet belongs, by the first digit of its name."""
    return next((part for part, (_, digit) in PARTS.items() if digit == sheet[0]), "package")


def built_in() -> list[Sheet]:
    """Return the sheets of the library in filing order."""
    found = sorted(folder("notebooks").glob("*.ipynb"))
    return [Sheet(path.name, path) for path in found if SHEET.fullmatch(path.name)]


#: Subjects of the built-in sheets by the digits of their names; a sheet without them is in every package.
SUBJECTS_OF = {
    "01": ("patch",), "02": ("steel",), "03": ("chloride",), "04": ("mix",), "05": ("formwork",), "06": ("curing",),
    "07": ("traffic", "closure"), "08": ("safety",), "82": ("mix",), "83": ("patch", "formwork", "traffic"),
    "84": ("patch",),
}  # fmt: skip
#: Tables of which one has to be there for a sheet.
TABLES_OF = {"60": tuple(RECORD), "61": ("pay_items",)}


def has(job: Job, sheet: Sheet) -> bool:
    """Whether a job has anything for a sheet."""
    keys = SUBJECTS_OF.get(sheet.name[:2], job.file.ready)
    tables = TABLES_OF.get(sheet.name[:2])
    if tables is not None and not sheet.own:
        return any(job.file.rows[name] for name in tables)
    return bool(sheet.own) or not keys or any(key in job.file.ready for key in keys)


def chosen(own: Iterable[Own] = (), only: str | None = None, job: Job | None = None) -> list[Sheet]:
    """Return the sheets of the package in filing order, the job's own before the built-in ones; or one of them.

    A sheet whose subjects are no part of the job is left out.

    Raises
    ------
    PackageError
        If there is no sheet of that name; the message lists those that there are.
    """
    found = {sheet.name: sheet for sheet in built_in()} | {one.name: Sheet(one.name, own=one) for one in own}
    sheets = [found[name] for name in sorted(found)]
    if only is None:
        return [one for one in sheets if job is None or has(job, one)]
    named = [sheet for sheet in sheets if Path(sheet.name).stem[3:] == only]
    if not named:
        names = ", ".join(Path(sheet.name).stem[3:] for sheet in sheets)
        raise PackageError(f"there is no sheet “{only}”; there are {names}")
    return named


def run_sheets(job: Job, sheets: Sequence[Sheet], figures: Path, quiet: bool = True) -> dict[str, str]:
    """Run sheets on a job and return what each shows, as Markdown by the name of the sheet.

    The sheets of the library run here, on the job itself. Those that the job brings run before them, apart; and where
    there are any, all sheets of the library are run, to hold against them what they show.

    Parameters
    ----------
    job : Job
    sheets : sequence of Sheet
    figures : Path
        Folder for the pictures.
    quiet : bool

    Raises
    ------
    PackageError
        If a cell fails, or a notebook of the job shows what the job does not come to: the message names notebook and cell.
    """
    own = [sheet.own for sheet in sheets if sheet.own]
    shown = own_notebooks.run_apart(own, job.file.verbatim, figures.parent) if own else {}
    ours = [sheet for sheet in (built_in() if own else sheets) if not sheet.own]
    cells = {sheet.name: sheet.cells for sheet in ours}
    inside: dict[str, list[list[Output]]] = {}
    read = reading_of(job)
    drawn = READING.set(read)
    try:
        with tqdm(
            total=sum(map(len, cells.values())), desc="sheets", unit="cell", disable=quiet or None, leave=False
        ) as bar:
            for sheet in ours:
                inside[sheet.name] = []
                for outputs in notebook_run.run(sheet.name, cells[sheet.name], job):
                    inside[sheet.name].append(outputs)
                    bar.update()
    finally:
        READING.reset(drawn)
    if own:
        known = own_notebooks.printed_by_the_library(job, texts(inside.values()))
        for one in own:
            code = [cell.cell_type == "code" for cell in notebook_run.cells_of(one.name, one.data)]
            own_notebooks.hold(one.name, shown[one.name], code, known)
    made: dict[str, str] = {}
    number = 0
    for sheet in sheets:
        parts: list[str] = []
        found = shown[sheet.name] if sheet.own else inside[sheet.name]
        for cell, outputs in zip(sheet.cells, found, strict=True):
            texts_of = [as_markdown(output, figures, f"{number:03d}-{i}") for i, output in enumerate(outputs)]
            titles = cell.cell_type == "markdown" and not sheet.own
            parts += [Title(text) if titles else text for text in texts_of]
            number += 1
        if sheet.own:
            parts = marked(parts, sheet.name)
        text = "\n\n".join(with_content([part for part in parts if part.strip()])) + "\n"
        made[sheet.name] = text if sheet.own or sheet.name == SOURCES else read(text)
    return made


def reading_of(job: Job) -> Callable[[str], str]:
    """Return how the texts of a job's package are read: in the words of its unit system, with its decimal sign."""
    own = own_words(job)
    names = {one for one in own if not one[:1].isdigit()}  # what begins with a digit is a value as it was written

    def read(text: str) -> str:
        text = worded(text, job.system, own)
        return with_comma(text, names) if job.settings.package.decimal == "comma" else text

    return read


def documents_of(
    job: Job,
    shown: Mapping[str, str],
    attached: Mapping[str, bytes],
    asked: Container[str] = PARTS,
    single: bool = False,
) -> list[Document]:
    """Return the documents that sheets make up, those that were asked for and have anything in them.

    Parameters
    ----------
    job : Job
    shown : mapping of str
        What each sheet shows, by its name, in filing order.
    attached : mapping of bytes
        Files that the filed document carries.
    asked : container of str
        Which documents.
    single : bool
        Whether one sheet is printed alone.
    """
    every, found = "\n".join(shown.values()), []
    for name, (part, _) in PARTS.items():
        mine = [text for sheet, text in shown.items() if single or part_of(sheet) == name]
        text = "\n".join(part for part in mine if part.strip())
        if name not in asked or not text.strip():
            continue
        if name == "package":
            text = with_works(job, text, every)
        found.append(Document(
            name, part, works.linked(kept_links(text)),
            ("pdf", "html", "docx") if name == "package" else ("pdf", "html"),
            mark=front.mark(job, name), landscape=name == "appendix", large={part_of(sheet) for sheet in shown} == {"field"} if single else name == "field",
            following=following(job),
            attachments=attached if name == "package" else {},
        ))  # fmt: skip
        if single:
            break
    return found


#: Parts that follow where the one before ends: in every package, and in one of so few patches that they fill no page.
FOLLOWING = ("Sources cited",)
SMALL, FOLLOWING_IN_SMALL = 3, ("Conclusions", "Plan and section of the deck", "Patch schedule", "Basis")


def following(job: Job) -> tuple[str, ...]:
    """Return the headings of parts that begin no page."""
    return FOLLOWING + (FOLLOWING_IN_SMALL if not has_patches(job) or len([*job.patch]) <= SMALL else ())


LINK = re.compile(r"\[([^\[\]]+)\]\(#([\w-]+)\)")


def kept_links(markdown: str) -> str:
    """Return Markdown without the links into sheets that it does not hold; their words stay."""
    heads = re.findall(r"^#+ (.*)$", markdown, re.MULTILINE)
    known = {
        re.sub(r"^[^a-z]+", "", re.sub(r"[^\w\s.-]", "", head.lower())).strip().replace(" ", "-") for head in heads
    }
    return LINK.sub(lambda found: found[0] if found[2] in known else found[1], markdown)


class Title(str):
    """A cell of a built-in sheet that is text: a heading, and what is said of what follows."""


HEADING = re.compile(r"(#+) ")
DEEPEST = 9


def with_content(parts: Sequence[str]) -> list[str]:
    """Return parts without the headings under which nothing stands: another of the same level or a higher one follows, or nothing.

    A cell of text without a heading leads to what a cell of code shows after it, and goes with that.
    """
    kept: list[str] = []
    following = 0  # the level of the heading that follows; 0 at the end, and the deepest where no heading follows
    for part in reversed(parts):
        begins = HEADING.match(part)
        level = len(begins[1]) if begins else DEEPEST
        leads_nowhere = following <= level if begins else not kept or isinstance(kept[-1], Title)
        if isinstance(part, Title) and leads_nowhere:
            continue
        following = level
        kept.append(part)
    return kept[::-1]


def texts(sheets: Iterable[list[list[Output]]]) -> Iterator[str]:
    """Give the Markdown that sheets show."""
    for cells in sheets:
        yield from (
            one["data"]["text/markdown"] for cell in cells for one in cell if "text/markdown" in one.get("data", {})
        )


def marked(parts: list[str], name: str) -> list[str]:
    """Put the mark of the job's own sheets below the first heading of one."""
    mark = str(front.own_sheet(name))
    head, line, rest = (parts[0] if parts else "").partition("\n")
    if head.startswith("#"):
        return [head, mark, line + rest, *parts[1:]]
    return [mark, *parts]


def with_note(shown: Mapping[str, str], note: str) -> dict[str, str]:
    """Put a note on the cover: before its first heading of the second level, or at the top."""
    first, *_ = shown
    before, heading, rest = shown[first].partition("\n## ")
    return {**shown, first: f"{before}\n{note}{heading}{rest}" if heading else f"{note}\n{shown[first]}"}


def with_works(job: Job, markdown: str, every: str) -> str:
    """List the works that all sheets cite, and no other, in the place of those that the job rests on."""
    listed = str(front.cited(job))
    before, found, after = markdown.partition(listed)
    return f"{before}{front.cited(job, every.replace(listed, ''))}{after}" if found else markdown


def as_markdown(output: Output, figures: Path, name: str) -> str:
    """Return one output of a cell as Markdown; a picture is saved beside."""
    if "text" in output:
        return fenced(output["text"].rstrip())
    data = output["data"]
    if "text/markdown" in data:
        return str(data["text/markdown"])
    if "image/png" in data:
        png = base64.b64decode(data["image/png"])
        (figures / f"{name}.png").write_bytes(png)
        caption = plain(data.get("text/plain", ""))
        return f"![{caption}]({name}.png){{width={width_of(png)}mm}}"
    return fenced(data["text/plain"]) if "text/plain" in data else ""


def width_of(png: bytes) -> int:
    """Return the width in mm at which a picture is printed: as drawn, so that its type keeps its size."""
    return min(round(int.from_bytes(png[16:20], "big") / DPI * 25.4), TEXT_MM)


def made_with() -> dict[str, str]:
    """Return the versions of what computes and prints."""
    return {"deckcalc": __version__, "python": platform.python_version(), **{name: version(name) for name in LIBRARIES}}


def manifest(job: Job, own: Sequence[Own] = (), left: Sequence[str] = ()) -> dict[str, Any]:
    """Return what the package was made from and what it found: hashes of inputs, versions, results, verdicts.

    Parameters
    ----------
    job : Job
    own : sequence of Own
        Notebooks of the job that were run.
    left : sequence of str
        Names of those that were not.
    """
    missing = {"not computed": job.not_computed} if job.not_computed else {}
    return {
        "package": job.settings.package.number,
        "revision": job.file.revision.revision,
        "date": job.file.revision.date.isoformat(),
        "made with": made_with(),
        "inputs": {name: hashlib.sha256(data).hexdigest() for name, data in job.file.verbatim.items()},
        **missing,
        **({"not read": list(job.file.contents.unread)} if job.file.contents.unread else {}),
        **({"notebooks of the job": {one.name: one.digest for one in own}} if own else {}),
        **({"notebooks not run": list(left)} if left else {}),
        "verdicts": job.verdicts,
        "open items": [
            {
                "number": one.number,
                "open": one.what,
                "why": one.why,
                "patches": list(one.patches),
                "stops": one.stops,
                "decides": one.decides,
                "by": one.by,
                "sheet": one.sheet,
                "decision": one.decision,
            }
            for one in job.open_items
        ],
        **({"comments": comments.filed(job)} if job.comments else {}),
        "locations": {one.patch: one.location.words(job.system) for one in job.file.marked.patches},
        "plan": [
            {
                "closure": one.name,
                "placing": row.placement,
                "patches": row.names,
                "concrete": row.concrete,
                "curing": row.curing,
                **{
                    hour: f"{moment:%Y-%m-%d %H:%M}"
                    for hour, moment in (
                        ("closing", one.closing),
                        ("start", row.start),
                        ("end", row.end),
                        ("opening", one.opening),
                    )
                },
            }
            for one in job.file.work
            for row in one.placings
        ],
        "results": results(job),
        "checks": [
            {"item": one.item, "check": one.title, "utilisation": one.utilisation, "verdict": one.verdict}
            for one in job.checks
        ],
    }


def missing_in(package: Path) -> list[str]:
    """Return what a package says that it does not hold, by its manifest."""
    path = package / MANIFEST
    found: list[str] = json.loads(path.read_bytes()).get("not computed", []) if path.is_file() else []
    return found


def results(job: Job) -> dict[str, str]:
    """Return every result of every run in the job's units, in full."""
    found: dict[str, str] = {}
    for subject in job.subjects:
        for run in subject.runs:
            for name, value in run.results().items():
                kind = run.calculation.kinds[name]
                number = float(units.magnitude(value, kind, job.system))
                key = f"{subject.key} / {run.item} / {run.calculation.name} / {name}"
                found[key] = f"{number:.12g} {kind.symbol(job.system)}".strip()
    return found
