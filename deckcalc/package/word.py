"""Finish the DOCX of a package: our styles, header and footer, or those of an office; rows that stay whole."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from string import Template
from xml.etree.ElementTree import Element, ParseError
from xml.sax.saxutils import escape

from defusedxml import DefusedXmlException, ElementTree

from deckcalc.base.errors import PackageError

DOCX = Path(__file__).parent / "binding" / "docx"
TEXT_WIDTH = {"a4": 9468, "us-letter": 9802}  # twips between the margins

COMPACT = '<w:pStyle w:val="Compact" />'  # pandoc's style of a cell
KEPT = 12  # rows of a table that stays on one page
LETTER, MARGINS = 105, 220  # twips of a letter in a cell, and of the margins of a cell

CONTENT = "application/vnd.openxmlformats-officedocument.wordprocessingml"
RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
WORD = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
LARGEST = 50_000_000  # bytes of a reference document, unpacked


def read(path: Path) -> bytes:
    """Return the reference document of an office.

    Raises
    ------
    PackageError
        If it cannot be read, or is not a Word document that stands alone.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise PackageError(f"{path}: {error.strerror}; a Word document saved as .docx is wanted") from None
    checked(data)
    return data


def checked(reference: bytes) -> None:
    """Raise `PackageError` unless ``reference`` is a Word document that brings nothing in from elsewhere."""
    try:
        with zipfile.ZipFile(io.BytesIO(reference)) as source:
            if sum(part.file_size for part in source.infolist()) > LARGEST:
                raise PackageError(f"The reference document is larger than {LARGEST // 1_000_000} MB when unpacked.")
            parts = {name: source.read(name) for name in source.namelist() if name.endswith((".xml", ".rels"))}
            read = {name: ElementTree.fromstring(data) for name, data in parts.items()}
    except (zipfile.BadZipFile, ParseError, DefusedXmlException, NotImplementedError, RuntimeError):
        read = {}
    if not {"word/document.xml", "word/styles.xml"} <= set(read):
        raise PackageError("The reference document is not a Word document: a file saved as .docx is wanted.")
    for name, root in read.items():
        for one in root.iter():
            if one.get("TargetMode") == "External" and not (one.get("Type") or "").endswith("/hyperlink"):
                told = f"{name} of the reference document brings in {one.get('Target')!r} from outside"
                raise PackageError(f"{told}: embed it, or leave it out.")


def finished(docx: bytes, facts: Mapping[str, str], paper: str, reference: bytes | None = None) -> bytes:
    """Return pandoc's document as a package is filed; the same arguments give the same bytes.

    Parameters
    ----------
    docx : bytes
        The document as pandoc writes it, on ``reference`` where there is one.
    facts : Mapping[str, str]
        Texts of the header, the footer and the properties.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    reference : bytes | None
        A document whose page, styles, header and footer stand in place of ours.
    """
    with zipfile.ZipFile(io.BytesIO(docx)) as source:
        parts = {name: source.read(name) for name in source.namelist()}
    known = {key: escape(value) for key, value in facts.items()} | {"right": str(TEXT_WIDTH[paper])}
    ours = {
        path.relative_to(DOCX).as_posix(): Template(path.read_text(encoding="utf-8")).substitute(known)
        for path in sorted(DOCX.rglob("*.xml"))
    }
    body = parts["word/document.xml"].decode().replace('<m:jc m:val="center" />', '<m:jc m:val="left" />')
    body = re.sub("<w:tbl>.*?</w:tbl>", _table(TEXT_WIDTH[paper]), body, flags=re.DOTALL)
    if reference is None:
        parts |= {name: text.encode() for name, text in ours.items()}
        for kind in ("header", "footer"):
            content = f'PartName="/word/{kind}.xml" ContentType="{CONTENT}.{kind}+xml"'
            _append(parts, "[Content_Types].xml", f"<Override {content}/>")
            relation = f'Id="sheet{kind.title()}" Type="{RELATION}/{kind}" Target="{kind}.xml"'
            _append(parts, "word/_rels/document.xml.rels", f"<Relationship {relation}/>")
    else:
        parts |= {name: text.encode() for name, text in ours.items() if name.startswith("docProps")}
        styles, heading = _styles(parts["word/styles.xml"].decode(), ours["word/styles.xml"], reference)
        parts["word/styles.xml"] = styles.encode()
        sheet = f'<w:pStyle w:val="{heading}" />'
        body = body.replace(sheet, sheet + "<w:pageBreakBefore />")
    parts["word/document.xml"] = body.encode()
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in parts.items():
            target.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def _append(parts: dict[str, bytes], name: str, element: str) -> None:
    """Add ``element`` as the last child of the root of an XML part."""
    head, close, tail = parts[name].decode().rpartition("</")
    parts[name] = (head + element + close + tail).encode()


def _styles(made: str, ours: str, reference: bytes) -> tuple[str, str]:
    """Return the styles of the reference with those of ours that it lacks, and its identifier of a level-1 heading."""
    with zipfile.ZipFile(io.BytesIO(reference)) as source:
        known = {_name(style).lower(): style for style in ElementTree.fromstring(source.read("word/styles.xml"))}
    heading = known["heading 1"].get(WORD + "styleId", "") if "heading 1" in known else "Heading1"
    for text in re.findall(r"<w:style .*?</w:style>", ours):
        found = re.search(r'w:styleId="(\w+)"><w:name w:val="([^"]+)"', text)
        if found and found[2].lower() not in known:
            made = re.sub(
                rf'<w:style (?:(?!</w:style>).)*?w:styleId="{found[1]}".*?</w:style>', "", made, flags=re.DOTALL
            )
            made = made.replace("</w:styles>", text.replace(' w:default="1"', "") + "</w:styles>")
    return made, heading


def _name(style: Element) -> str:
    name = style.find(WORD + "name")
    return "" if name is None else name.get(WORD + "val", "")


def _table(width: int) -> Callable[[re.Match[str]], str]:
    """Return what makes a table of DOCX one whose rows stay whole, under a head that is printed on every page."""

    def made(found: re.Match[str]) -> str:
        table = found[0]
        rows = re.findall(r"<w:tr>.*?</w:tr>", table, flags=re.DOTALL)
        style = "Cell" if table.count("<w:gridCol ") <= 7 else "SmallCell"
        cell = COMPACT.replace("Compact", style)
        # The head stays with the first row, the last row with the one before it, and a short table on one page.
        loose = range(2, len(rows) - 2) if len(rows) > KEPT else range(0)
        kept = [
            row.replace(COMPACT, cell + ("" if index in {*loose, len(rows) - 1} else "<w:keepNext />"))
            for index, row in enumerate(rows)
        ]
        whole = [re.sub(r"<w:tr>(?:<w:trPr>)?", "<w:tr><w:trPr><w:cantSplit />", row) for row in kept]
        whole = [
            row if "</w:trPr>" in row else row.replace("<w:cantSplit />", "<w:cantSplit /></w:trPr>") for row in whole
        ]
        head = table[: table.index("<w:tr>")] if rows else table
        if '<w:tblW w:type="auto"' in head:
            head = _grid(head, rows, width)
        return (
            head + "".join(whole) + "</w:tbl>" if rows else table
        ) + '<w:p><w:pPr><w:pStyle w:val="Gap" /></w:pPr></w:p>'

    return made


def _grid(head: str, rows: list[str], width: int) -> str:
    """Give each column of a table the width of its longest text, as far as the page allows."""
    texts = [[_text(cell) for cell in re.findall(r"<w:tc>.*?</w:tc>", row, flags=re.DOTALL)] for row in rows]
    wanted = [MARGINS + LETTER * max(4, *map(len, column)) for column in zip(*texts, strict=False)]
    if len(wanted) != head.count("<w:gridCol "):  # cells that span columns
        return head
    left, most = float(width), float(width)
    for index, one in enumerate(sorted(wanted)):  # short columns get what they want, long ones share the rest
        most = left / (len(wanted) - index)
        if one > most:
            break
        left -= one
    else:
        most = width
    columns = "".join(f'<w:gridCol w:w="{int(min(one, most))}" />' for one in wanted)
    return re.sub(r"<w:tblGrid>.*?</w:tblGrid>", f"<w:tblGrid>{columns}</w:tblGrid>", head)


def _text(cell: str) -> str:
    return "".join(re.findall(r"<[wm]:t(?: [^>]*)?>([^<]*)</[wm]:t>", cell))
