"""Check the Word document of a package: pages, contents, tables that stay whole, and an office's own document."""

import io
import re
import zipfile
from dataclasses import replace
from pathlib import Path
from xml.etree.ElementTree import Element, fromstring

import pytest
from PIL import Image
from test_binder import IMPRINT

from deckcalc.base.errors import PackageError
from deckcalc.package import word
from deckcalc.package.documents import Document, bind

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
LONG = 30
MARKDOWN = f"""# Title sheet

::: contents
:::

::: caution
Not for construction.
:::

# Bar area

| symbol | meaning |
|--------|---------|
| $A_0$  | area of one bar, a meaning of some length |
| d      | short |

## Result

| a | b |
|---|---|
{"| 1 | 2 |" + chr(10)}{("| 1 | 2 |" + chr(10)) * (LONG - 1)}

| a | b | c | d | e | f | g | h | i |
|---|--:|--:|--:|--:|--:|--:|--:|--:|
| 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9 |

### Steps

```
code
```

# Input
"""


def made(folder: Path, reference: bytes | None = None) -> bytes:
    Image.new("L", (40, 30), 128).save(folder / "gain.png")
    bind([Document("package", "", MARKDOWN, ("docx",))], replace(IMPRINT, reference=reference), folder, folder)
    return (folder / "package.docx").read_bytes()


def parts(docx: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(docx)) as package:
        return {name: package.read(name) for name in package.namelist()}


def packed(contents: dict[str, bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as package:
        for name, content in contents.items():
            package.writestr(name, content)
    return data.getvalue()


@pytest.fixture(scope="module")
def docx(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return made(tmp_path_factory.mktemp("word"))


@pytest.fixture(scope="module")
def document(docx: bytes) -> Element:
    return fromstring(parts(docx)["word/document.xml"])


@pytest.fixture(scope="module")
def office(docx: bytes) -> bytes:
    """A document of an office: its own page, type, header, and names of styles in another language."""
    own = parts(docx)
    styles = own["word/styles.xml"].decode().replace("Times New Roman", "Office Serif")
    for style in ("Caution", "Cell", "SmallCell", "Gap", "Where", "Lead", "toc2"):
        styles = re.sub(rf'<w:style [^>]*w:styleId="{style}">.*?</w:style>\n', "", styles)
    styles = styles.replace('w:styleId="Heading1"', 'w:styleId="berschrift1"').replace("<w:pageBreakBefore/>", "")
    own["word/styles.xml"] = styles.encode()
    own["word/header.xml"] = own["word/header.xml"].replace(b"Package P-7", b"Office letterhead")
    own["word/document.xml"] = own["word/document.xml"].replace(b'w:w="11906"', b'w:w="11000"')
    return packed(own)


def styles_of(row: Element) -> set[str | None]:
    return {one.get(W + "val") for one in row.iter(W + "pStyle")}


def test_every_sheet_begins_a_page(docx: bytes) -> None:
    styles = fromstring(parts(docx)["word/styles.xml"])
    (heading,) = [style for style in styles if style.get(W + "styleId") == "Heading1"]
    assert heading.find(f"{W}pPr/{W}pageBreakBefore") is not None


def test_contents_have_two_levels_that_lead_to_their_headings(document: Element) -> None:
    entries = [
        (one.find(f"{W}pPr/{W}pStyle").get(W + "val"), link.get(W + "anchor"), "".join(t.text for t in link.iter(W + "t")))
        for one in document.iter(W + "p")
        for link in one.findall(W + "hyperlink")
    ]  # fmt: skip
    assert [(style, text) for style, _, text in entries] == [
        ("toc1", "Title sheet"), ("toc1", "Bar area"), ("toc2", "Result"), ("toc1", "Input"),
    ]  # fmt: skip
    assert {anchor for _, anchor, _ in entries} <= {one.get(W + "name") for one in document.iter(W + "bookmarkStart")}
    assert [one.text.strip() for one in document.iter(W + "instrText")] == [r'TOC \o "1-2" \h']
    marks = [one.get(W + "fldCharType") for one in document.iter(W + "fldChar")]
    assert marks == ["begin", "separate", "end"]


def test_no_row_splits_and_heads_are_repeated(document: Element) -> None:
    tables = list(document.iter(W + "tbl"))
    assert len(tables) == 3
    for table in tables:
        rows = table.findall(W + "tr")
        assert all(len(row.findall(f"{W}trPr/{W}cantSplit")) == 1 for row in rows)
        assert [row.find(f"{W}trPr/{W}tblHeader") is not None for row in rows] == [True] + [False] * (len(rows) - 1)


def test_short_tables_stay_on_a_page_and_long_ones_leave_no_row_alone(document: Element) -> None:
    kept = [
        [all(p.find(f"{W}pPr/{W}keepNext") is not None for p in row.iter(W + "p")) for row in table.findall(W + "tr")]
        for table in document.iter(W + "tbl")
    ]
    assert kept[0] == [True, True, False]
    assert kept[1] == [True, True, *[False] * (LONG - 3), True, False]
    assert kept[2] == [True, False]


def test_columns_are_as_wide_as_what_stands_in_them(document: Element) -> None:
    for table in document.iter(W + "tbl"):
        widths = [int(column.get(W + "w")) for column in table.iter(W + "gridCol")]
        assert sum(widths) <= word.TEXT_WIDTH["a4"]
    symbol, meaning = [int(one.get(W + "w")) for one in next(document.iter(W + "tbl")).iter(W + "gridCol")]
    assert meaning > 4 * symbol


def test_a_table_is_followed_by_a_gap(document: Element) -> None:
    body = list(document.find(W + "body"))
    after = [body[index + 1] for index, one in enumerate(body) if one.tag == W + "tbl"]
    assert [styles_of(one) for one in after] == [{"Gap"}] * 3


def test_no_type_is_smaller_than_can_be_read(docx: bytes) -> None:
    sizes = [
        int(one.get(W + "val"))
        for name, data in parts(docx).items()
        if name.startswith("word/") and name.endswith(".xml")
        for one in fromstring(data).iter(W + "sz")
    ]
    assert len(sizes) > 8
    assert min(sizes) / 2 >= 8.5


def test_the_page_of_an_office_stands_in_place_of_ours(docx: bytes, office: bytes, tmp_path: Path) -> None:
    found = made(tmp_path, office)
    assert made(tmp_path, office) == found
    read = parts(found)
    shown = b"".join(data for name, data in read.items() if re.match(r"word/header\d*\.xml", name))
    assert b"Office letterhead" in shown
    assert b"Package P-7" not in shown
    document, styles = (fromstring(read[f"word/{name}.xml"]) for name in ("document", "styles"))
    assert next(document.iter(W + "pgSz")).get(W + "w") == "11000"
    assert len(list(document.iter(W + "sectPr"))) == 1
    assert b"Office Serif" in read["word/styles.xml"]
    assert b"Package P-7" in read["docProps/core.xml"]  # the title stays the package's
    names = [style.find(W + "name").get(W + "val").lower() for style in styles.iter(W + "style")]
    assert len(names) == len(set(names))
    assert {"caution", "cell", "small cell", "gap", "toc 2"} <= set(names)
    (caution,) = [style for style in styles.iter(W + "style") if style.get(W + "styleId") == "Caution"]
    assert caution.find(f"{W}pPr/{W}pBdr") is not None  # ours, since the office has none
    sheets = [p.find(W + "pPr") for p in document.iter(W + "p") if "berschrift1" in styles_of(p)]
    assert len(sheets) == 3
    assert all(sheet.find(W + "pageBreakBefore") is not None for sheet in sheets)
    defined = {style.get(W + "styleId") for style in styles.iter(W + "style")}
    assert styles_of(document) <= defined


def with_picture(office: bytes, target: str) -> bytes:
    kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/image"
    link = f'<Relationship Id="r9" Type="{kind}" Target="{target}" TargetMode="External"/>'
    head = '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    return packed({**parts(office), "word/_rels/header.xml.rels": f"{head}{link}</Relationships>".encode()})


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda office: b"%PDF-1.7", "not a Word document: a file saved as .docx is wanted"),
        (lambda office: packed({"mimetype": b"x"}), "not a Word document"),
        (lambda office: packed({**parts(office), "word/styles.xml": b"<w:styles"}), "not a Word document"),
        (lambda office: packed({**parts(office), "word/styles.xml": b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'}), "not a Word"),
        (lambda office: with_picture(office, "http://127.0.0.1:9/logo.png"), "header.xml.rels .* brings in 'http://127.0.0.1:9/"),
        (lambda office: office + b"", "larger than 0 MB"),
    ],
    ids=["another file", "another archive", "torn", "entities", "picture from outside", "large"],
)  # fmt: skip
def test_what_is_no_reference_document_is_refused(change, words, office, tmp_path, monkeypatch) -> None:
    if "larger" in words:
        monkeypatch.setattr(word, "LARGEST", 100)
    (tmp_path / "office.docx").write_bytes(change(office))
    with pytest.raises(PackageError, match=words):
        word.read(tmp_path / "office.docx")


def test_a_reference_document_that_is_not_there_is_named(tmp_path) -> None:
    with pytest.raises(
        PackageError, match=r"nowhere.docx: No such file or directory; a Word document saved as .docx is wanted"
    ):
        word.read(tmp_path / "nowhere.docx")
