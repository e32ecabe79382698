"""Check the bound package: three complete, repeatable, self-contained files."""

import datetime
import io
import os
import re
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import Image

from deckcalc.base.fields import DRAFT
from deckcalc.package.documents import Document, Imprint, PackageError, bind

IMPRINT = Imprint(
    package="P-7",
    bridge="Mill & Creek <east>",
    revision="B",
    date=datetime.date(2024, 5, 6),
    firm="Example Engineers",
    subject="Deck patches",
    version="0.1",
)
MARKDOWN = r"""# Title sheet

::: contents
:::

::: caution
Not for construction.
:::

# Bar area

The area follows from the diameter.

$$\begin{aligned} A_0 &= \frac{\pi \cdot d_0^{2}}{4} \\ &= 1{,}285.0\ \text{mm²} \end{aligned}$$

$$n = \left\lceil \frac{A_{s,req}}{A_0} \right\rceil = \operatorname{max}\left(3,\ \sqrt{x}\right)\ \text{lb/yd³}$$

::: where
- $A_0$: area of one bar
:::

![Strength gain of `mix.patch_overlay.long_name`](gain.png){width=50%}

| a | b | c | d | e | f | g | h | i |
|---|--:|--:|--:|--:|--:|--:|--:|--:|
| 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9 |

# Input

The text <script>alert(1)</script> and "12"" stay as written.

```toml
key = "LONG"
```
""".replace("LONG", "x" * 300)
CAPTION = "Strength gain of mix.patch_overlay.long_name"
ATTACHMENTS = {"job.toml": b"a = 1\n", "records/run.json": b"{}"}
FILES = ("package.docx", "package.html", "package.pdf")


@pytest.fixture(scope="module")
def resources(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("images")
    Image.new("L", (40, 30), 128).save(folder / "gain.png")
    return folder


def document(markdown: str = MARKDOWN) -> Document:
    return Document("package", "Calculation package", markdown, ("pdf", "html", "docx"), DRAFT, attachments=ATTACHMENTS)


def build(
    folder: Path, resources: Path, markdown: str = MARKDOWN, imprint: Imprint = IMPRINT, mark: str = DRAFT
) -> dict[str, bytes]:
    out = folder / "out"
    out.mkdir()
    bind([replace(document(markdown), mark=mark)], imprint, resources, out)
    return {path.name: path.read_bytes() for path in out.iterdir()}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory, resources: Path) -> dict[str, bytes]:
    return build(tmp_path_factory.mktemp("package"), resources)


def part(files: dict[str, bytes], name: str) -> str:
    with zipfile.ZipFile(io.BytesIO(files["package.docx"])) as package:
        return package.read(name).decode()


def test_three_files_and_nothing_else(files: dict[str, bytes]) -> None:
    assert sorted(files) == list(FILES)


def test_same_arguments_give_same_bytes(
    files: dict[str, bytes], resources: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Another folder, a later moment, another time zone and a stray environment variable change nothing.
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1")
    before = dict(os.environ)
    assert build(tmp_path, resources) == files
    assert dict(os.environ) == before


def test_no_path_of_the_machine_in_the_files(files: dict[str, bytes], resources: Path) -> None:
    with zipfile.ZipFile(io.BytesIO(files["package.docx"])) as package:
        parts = [package.read(name) for name in package.namelist()]
    for data in [files["package.pdf"], files["package.html"], *parts]:
        assert str(resources.parent).encode() not in data
        assert b".binding-" not in data


def test_date_changes_every_file(files: dict[str, bytes], resources: Path, tmp_path: Path) -> None:
    later = build(tmp_path, resources, imprint=replace(IMPRINT, date=datetime.date(2024, 5, 7)))
    assert all(later[name] != files[name] for name in FILES)


def test_pdf_has_a_page_per_sheet_and_the_attachments(files: dict[str, bytes]) -> None:
    pdf = files["package.pdf"]
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 3
    assert re.findall(rb"/UF\s*\((.*?)\)", pdf) == [b"job.toml", b"records/run.json"]
    assert b"<pdfaid:part>3</pdfaid:part>" in pdf
    assert b"D:20240506" in pdf
    assert b"/Alt(" + CAPTION.encode() + b")" in pdf


@pytest.mark.parametrize(
    ("paper", "pdf", "docx"),
    [("a4", (595, 842), ("11906", "16838")), ("us-letter", (612, 792), ("12240", "15840"))],
)
def test_paper(paper: str, pdf: tuple[int, int], docx: tuple[str, str], resources: Path, tmp_path: Path) -> None:
    files = build(tmp_path, resources, imprint=replace(IMPRINT, paper=paper))
    boxes = re.findall(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", files["package.pdf"])
    assert {(round(float(width)), round(float(height))) for width, height in boxes} == {pdf}
    assert f'<w:pgSz w:w="{docx[0]}" w:h="{docx[1]}"' in part(files, "word/document.xml")


def test_html_fetches_nothing_and_runs_nothing(files: dict[str, bytes]) -> None:
    html = files["package.html"].decode()
    rest = re.sub(r'xmlns(:\w+)?="[^"]*"', "", html)
    assert "http:" not in rest
    assert "https:" not in rest
    assert "url(" not in rest
    seen: dict[str, list[dict[str, str | None]]] = {}

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            seen.setdefault(tag, []).append(dict(attrs))

    Reader().feed(html)
    assert not {"script", "link", "iframe", "object", "embed"} & set(seen)
    assert [image["alt"] for image in seen["img"]] == [CAPTION]
    assert all((image["src"] or "").startswith("data:") for image in seen["img"])
    assert all((link["href"] or "").startswith("#") for link in seen["a"])
    assert seen["html"] == [{"lang": "en"}]
    assert len(seen["math"]) == 3


def test_html_states_the_imprint_in_words(files: dict[str, bytes]) -> None:
    html = files["package.html"].decode()
    for text in ("Package P-7", "Mill &amp; Creek &lt;east&gt;", "Revision B", DRAFT, "2024-05-06"):
        assert text in html
    assert "<title>Package P-7 - Mill &amp; Creek &lt;east&gt; - Deck patches</title>" in html
    assert "<strong>Caution.</strong> Not for construction." in html


def test_signed_package_is_not_called_a_draft(resources: Path, tmp_path: Path) -> None:
    files = build(tmp_path, resources, mark="")
    assert DRAFT not in files["package.html"].decode()
    assert DRAFT not in part(files, "word/header.xml")


def test_docx_has_native_equations_at_the_left(files: dict[str, bytes]) -> None:
    document = part(files, "word/document.xml")
    assert document.count("<m:oMath>") == 3
    assert document.count('<m:jc m:val="left" />') == document.count("<m:oMathPara>") == 2
    assert "1,285.0" in document
    assert f'descr="{CAPTION}"' in document


def test_docx_header_footer_and_styles(files: dict[str, bytes]) -> None:
    header, footer = part(files, "word/header.xml"), part(files, "word/footer.xml")
    for text in ("Package P-7", "Mill &amp; Creek &lt;east&gt;", "STYLEREF", "Revision B", DRAFT):
        assert text in header
    for text in ("2024-05-06", "Example Engineers", " PAGE ", " NUMPAGES "):
        assert text in footer
    document, styles = part(files, "word/document.xml"), part(files, "word/styles.xml")
    used = set(re.findall(r'<w:(?:p|r|tbl)Style w:val="(\w+)"', document))
    assert {"Caution", "Lead", "Where", "SmallCell", "toc1"} <= used
    assert used <= set(re.findall(r'w:styleId="(\w+)"', styles))


def test_docx_parts_are_wellformed_and_declared(files: dict[str, bytes]) -> None:
    types = part(files, "[Content_Types].xml")
    with zipfile.ZipFile(io.BytesIO(files["package.docx"])) as package:
        names = [name for name in package.namelist() if name.endswith((".xml", ".rels"))]
    for name in names:
        ET.fromstring(part(files, name))
    assert all(f'PartName="/{name}"' in types for name in names if name.startswith("word/") and "_rels" not in name)


@pytest.mark.parametrize(
    ("markdown", "words"),
    [
        ("# a\n\n![x](missing.png)", "missing.png"),
        ("# a\n\n![x](http://127.0.0.1:9/x.png)", "outside the package folder"),
        ("# a\n\n![x](../gain.png)", "outside the package folder"),
        ("# a\n\n$$\\frac{a$$", "TeX math"),
        ("# a\n\nMark \U0001f600", "could not be displayed"),
    ],
)
def test_errors_leave_the_folder_as_it_was(markdown: str, words: str, resources: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "package.pdf").write_text("earlier")
    with pytest.raises(PackageError, match=words) as caught:
        bind([document(markdown)], IMPRINT, resources, out)
    assert "Traceback" not in str(caught.value)
    assert str(tmp_path) not in str(caught.value)
    assert "filter.lua" not in str(caught.value)
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert [path.read_text() for path in out.iterdir()] == ["earlier"]


def test_unknown_paper(resources: Path, tmp_path: Path) -> None:
    with pytest.raises(PackageError, match="a4, us-letter"):
        bind([document()], replace(IMPRINT, paper="a3"), resources, tmp_path)


def test_nothing_is_printed(resources: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    build(tmp_path, resources)
    assert capfd.readouterr() == ("", "")
