"""Check the PDF that a package is made of: tagged, archival, with words for what is drawn, and repeatable."""

import datetime
import io
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pypandoc
import pytest
import typst
from PIL import Image

from deckcalc.base.errors import PackageError
from deckcalc.package.documents import BINDING
from deckcalc.package.pdf import compiled, finished

MOMENT = datetime.datetime(2024, 5, 6, tzinfo=datetime.UTC)
HEAD = """#set document(title: sys.inputs.facts, date: auto)
#set text(lang: "en")
#set outline(title: none)
#let horizontalrule = line(length: 100%)
#pdf.attach("job.toml", bytes("a = 1"), relationship: "source", mime-type: "text/plain", description: "Job")
#outline()
"""
# A skipped level, headings without words, a picture without a caption and one in a line, a table without a head, a quotation, a list in a list.
MARKDOWN = r"""# Bar area

### Given

#

## ![](gain.png)

Text with $d_b$.m, a [link](#result) and ![](gain.png) in the line.

> Quoted.

- one
    - two "quoted" \\ backslash

$$A_b = \frac{\pi d_b^2}{4} \text{ "mm"}$$

![Strength gain](gain.png)

#### Steps

| a | b |
|---|--:|
| $x$ | 2 |

---

## Result

-- --
1  2
-- --

![](gain.png)
"""


def typeset(folder: Path, markdown: str) -> Path:
    """Write the document as a package would, its pictures beside it."""
    Image.new("L", (40, 30), 128).save(folder / "gain.png")
    made = pypandoc.convert_text(
        markdown, "typst", "markdown-smart", extra_args=[f"--lua-filter={BINDING / 'tagged.lua'}"]
    )
    source = folder / "package.typ"
    source.write_text(HEAD + made, encoding="utf-8")
    return source


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return typeset(tmp_path_factory.mktemp("typst"), MARKDOWN)


@pytest.fixture(scope="module")
def pdf(source: Path) -> bytes:
    return compiled(source, {"title": "Package P-7"}, MOMENT)


@pytest.fixture(scope="module")
def document(pdf: bytes) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        yield opened


def elements(node: pikepdf.Object) -> Iterator[pikepdf.Dictionary]:
    """Go through the tags below ``node`` in reading order."""
    below = node.get("/K", [])
    for child in below if isinstance(below, pikepdf.Array) else [below]:
        if isinstance(child, pikepdf.Dictionary) and "/S" in child:
            yield child
            yield from elements(child)


def test_same_arguments_give_same_bytes(source: Path, pdf: bytes) -> None:
    assert compiled(source, {"title": "Package P-7"}, MOMENT) == pdf
    assert compiled(source, {"title": "Package P-8"}, MOMENT) != pdf


def test_no_entry_that_readers_warn_about(pdf: bytes, document: pikepdf.Pdf) -> None:
    assert dict(document.Root.MarkInfo.items()) == {"/Marked": True}
    assert document.check_pdf_syntax() == []


def test_typst_still_writes_the_entry(source: Path) -> None:
    # When this fails, `finished` has nothing to take out any more.
    assert b"/Suspects false" in typst.compile(
        source, sys_inputs={"facts": "x"}, pdf_standards="ua-1", timestamp=MOMENT
    )


def test_finishing_keeps_the_document_and_halves_it(source: Path) -> None:
    plain = typst.compile(source, sys_inputs={"facts": "x"}, pdf_standards=["a-3a", "ua-1"], timestamp=MOMENT)
    made = finished(plain)
    assert len(made) < 0.8 * len(plain)
    with pikepdf.open(io.BytesIO(plain)) as before, pikepdf.open(io.BytesIO(made)) as after:
        for one, other in zip(before.pages, after.pages, strict=True):
            assert one.Contents.read_bytes() == other.Contents.read_bytes()
        assert before.Root.Metadata.read_bytes() == after.Root.Metadata.read_bytes()
        tags = [[element.S for element in elements(file.Root.StructTreeRoot)] for file in (before, after)]
    assert tags[0] == tags[1] != []


def test_claims_archive_and_accessibility(document: pikepdf.Pdf) -> None:
    with document.open_metadata() as claims:
        assert (claims["pdfaid:part"], claims["pdfaid:conformance"], claims["pdfuaid:part"]) == ("3", "A", "1")
    assert len(document.Root.OutputIntents) == 1


def test_title_and_language_are_shown(document: pikepdf.Pdf) -> None:
    assert str(document.Root.Lang) == "en"
    assert bool(document.Root.ViewerPreferences.DisplayDocTitle)
    assert "Package P-7" in str(document.docinfo["/Title"])


def test_attachment_stays_and_says_what_it_is(document: pikepdf.Pdf) -> None:
    assert {name: item.get_file().read_bytes() for name, item in document.attachments.items()} == {"job.toml": b"a = 1"}
    assert [item.AFRelationship for item in document.Root.AF] == [pikepdf.Name.Source]


def test_bookmarks_are_the_headings_and_leave_out_no_level(document: pikepdf.Pdf) -> None:
    with document.open_outline() as outline:
        (sheet,) = outline.root
        assert (sheet.title, [item.title for item in sheet.children]) == ("Bar area", ["Given", "Result"])
        assert [item.title for item in sheet.children[0].children] == ["Steps"]
    tags = [str(element.S) for element in elements(document.Root.StructTreeRoot)]
    assert [tag for tag in tags if tag[:2] == "/H"] == ["/H1", "/H2", "/H3", "/H2"]


def test_words_for_every_picture_and_equation(document: pikepdf.Pdf) -> None:
    told: dict[str, list[str]] = {}
    for element in elements(document.Root.StructTreeRoot):
        if element.S in ("/Figure", "/Formula"):
            told.setdefault(str(element.S), []).append(str(element.get("/Alt", "")))
    none = "Figure without a caption"
    assert told["/Figure"] == [none, none, "Strength gain", none]
    assert told["/Formula"] == ["d_b", r'A_b = \frac{\pi d_b^2}{4} \text{ "mm"}', "x"]


def test_heads_of_a_table_are_tagged(document: pikepdf.Pdf) -> None:
    heads = [element for element in elements(document.Root.StructTreeRoot) if element.S == "/TH"]
    assert len(heads) == 2


@pytest.mark.parametrize(
    ("typst_text", "words"),
    [
        ('#image("gain.png")', "missing alt text"),
        ("= a\n=== b", "skipped from heading level"),
        ("\U0001f600", "could not be displayed"),
    ],
)
def test_what_keeps_to_no_standard_is_refused(typst_text: str, words: str, tmp_path: Path) -> None:
    source = typeset(tmp_path, "# a")
    source.write_text(source.read_text(encoding="utf-8") + typst_text, encoding="utf-8")
    with pytest.raises(PackageError, match=words) as caught:
        compiled(source, {"title": "P-7"}, MOMENT)
    assert str(tmp_path) not in str(caught.value)
