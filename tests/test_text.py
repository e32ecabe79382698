"""Text of a job is text: in every field, in every format, and with every character that can be printed."""

import ast
import datetime
import io
import json
import re
import subprocess
import unicodedata
import xml.etree.ElementTree as ET
import zipfile
from html.parser import HTMLParser

import pypandoc
import pypdf
import pytest
import typst
from fontTools.ttLib import TTFont
from injected import LOOKED_UP, copy, injected
from injections import INJECTIONS
from matplotlib import font_manager
from matplotlib.text import Text as Written
from pydantic import TypeAdapter, ValidationError

from deckcalc.base.fields import Id, JobError
from deckcalc.core.text import COVERED, fenced, in_style, plain, printable_faults, visible
from deckcalc.job.file import read_job
from deckcalc.package import build as package
from deckcalc.package.documents import READER, Document, Imprint, PackageError, bind
from deckcalc.show.figures import Picture, axes
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import caution

SECRET = "what-stands-in-a-file-of-somebody-else"
WORD = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
COVERED_SIGNS = [
    chr(code)
    for one in COVERED.split()
    for code in range(int(one.partition("-")[0], 16), int(one.rpartition("-")[2], 16) + 1)
]


def squeezed(text):
    """Return text without what a line break, a hyphen or a place to break a word adds."""
    return re.sub(r"[\s\u200b\u00ad-]", "", text).casefold()


def strings(node, end=" "):
    """Return the words of a part of pandoc's document."""
    if isinstance(node, list):
        return "".join(strings(one) for one in node)
    if not isinstance(node, dict):
        return ""
    return {"Str": node.get("c"), "Space": " ", "SoftBreak": "\n"}.get(node.get("t", "")) or strings(
        list(node.values())
    )


def parsed(markdown):
    """Return pandoc's document, read as the package reads it."""
    command = [pypandoc.get_pandoc_path(), f"--from={READER}", "--to=json"]
    run = subprocess.run(command, input=markdown.encode(), capture_output=True, check=True)
    return json.loads(run.stdout)["blocks"]


class Page(HTMLParser):
    """What an HTML file shows, and the elements and attributes that it does it with."""

    def __init__(self, html):
        super().__init__()
        self.inside, self.words, self.styles, self.elements = [], [], [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in ("meta", "wbr", "img", "br", "hr", "col"):
            self.inside.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.inside.pop() == tag  # every element is closed where it was opened

    def handle_data(self, data):
        (self.styles if "style" in self.inside else self.words).append(data)

    @property
    def text(self):
        return "".join(self.words)

    def harmless(self):
        """Hold the page: nothing runs, nothing is fetched, nothing leads elsewhere."""
        for tag, attrs in self.elements:
            assert tag not in {"script", "iframe", "object", "embed", "link", "base", "form", "svg", "input", "button"}
            assert set(attrs) <= {
                "alt", "aria-hidden", "aria-label", "charset", "class", "columnalign", "content", "display", "encoding", "form",
                "height", "href", "http-equiv", "id", "lang", "mathvariant", "name", "role", "src", "stretchy", "style", "width",
                "xmlns", "accent", "start", "type", "data-pos", "tabindex",
            }, attrs  # fmt: skip
            assert attrs.get("href", "#").startswith("#")
            assert attrs.get("src", "data:").startswith("data:image/png;base64,") or "src" not in attrs
            assert tag == "style" or "url(" not in attrs.get("style", "")
        policy = [attrs["content"] for tag, attrs in self.elements if "http-equiv" in attrs]
        assert policy == [
            "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
        ]
        assert not re.search(r"url\(|@import", "".join(self.styles))


def of_docx(data):
    """Return the text of a DOCX; nothing in it leads outside or is worked out, and every part is well formed."""
    fields, words = [], []
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        for name in parts.namelist():
            if not name.endswith((".xml", ".rels")):
                continue
            root = ET.fromstring(parts.read(name))
            if name.endswith(".rels"):
                assert not [one for one in root if one.get("TargetMode")]
            fields += [one.text.split()[0] for one in root.iter(f"{WORD}instrText")]
            fields += [one.get(f"{WORD}instr").split()[0] for one in root.iter(f"{WORD}fldSimple")]
            words += ["".join(text.text or "" for text in one.iter(f"{WORD}t")) for one in root.iter(f"{WORD}p")]
            if name.startswith("docProps"):
                words += [one.text or "" for one in root.iter()]
    assert set(fields) <= {"TOC", "STYLEREF", "PAGE", "NUMPAGES"}
    return "\n".join(words)


def of_pdf(data):
    """Return the text of a PDF; nothing in it runs or leads outside."""
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert not {"/AA", "/OpenAction", "/JavaScript"} & set(reader.trailer["/Root"])
    for page in reader.pages:
        for one in page.get("/Annots") or ():
            action = one.get_object().get("/A", {})
            assert action.get("/S", "/GoTo") == "/GoTo"
    return "\n".join([*(page.extract_text() for page in reader.pages), *map(str, (reader.metadata or {}).values())])


def bound(folder, markdown, **facts):
    """Bind a document and return its three files as text, each held harmless."""
    given = {
        "package": "P-7",
        "bridge": "Mill Creek",
        "revision": "B",
        "firm": "Example Engineers",
        "subject": "Patches",
    }
    imprint = Imprint(**(given | facts), date=datetime.date(2024, 5, 6), version="0.1")
    out, figures = folder / "out", folder / "figures"
    out.mkdir(exist_ok=True)
    figures.mkdir(exist_ok=True)
    bind([Document("package", "", markdown, ("pdf", "html", "docx"))], imprint, figures, out)
    page = Page((out / "package.html").read_text(encoding="utf-8"))
    page.harmless()
    files = {"docx": of_docx((out / "package.docx").read_bytes()), "pdf": of_pdf((out / "package.pdf").read_bytes())}
    assert not [one for one in (page.text, *files.values()) if SECRET in one]
    return {"html": page, **files}


@pytest.fixture(scope="module")
def stranger(tmp_path_factory):
    path = tmp_path_factory.mktemp("s") / "f.txt"
    path.write_text(SECRET)
    return path


# Markdown


def test_every_injection_is_text_wherever_a_sheet_puts_it():
    for said in INJECTIONS:
        assert printable_faults(said) is None
    marked = [plain(said) for said in INJECTIONS]
    wanted = [" ".join(said.split()) for said in INJECTIONS]
    kinds = {
        "Para": "{}", "BulletList": "- {}", "Header": "### {}", "Strong": "**{}**", "Emph": "*{}*", "after a colon": "Said: {}.",
        "in brackets": "({})", "twice": "{0}; {0}", "after a line": "Words\n{}",
    }  # fmt: skip
    for shape in kinds.values():
        blocks = parsed("\n\n<!-- -->\n\n".join(shape.format(one) for one in marked))
        found = [strings(one) for one in blocks if strings(one) != "<!-- -->"]
        if shape.startswith("- "):
            found = [strings(one) for one in blocks if one["t"] == "BulletList"]
        assert found == [re.sub(r"\*|^- |^### ", "", shape.split("{")[0]) + said + shape.rpartition("}")[2].rstrip("*") if shape != kinds["twice"]
                         else f"{said}; {said}" for said in wanted], shape  # fmt: skip


def test_an_injection_keeps_to_its_cell():
    table = pipe_table(["a", "b"], [[plain(said), f"**{plain(said)}**"] for said in INJECTIONS])
    (block,) = parsed(table)
    rows = block["c"][4][0][3]
    assert [[strings(cell) for cell in row[1]] for row in rows] == [[" ".join(s.split())] * 2 for s in INJECTIONS]


def test_an_injection_keeps_to_its_frame():
    blocks = parsed("\n\n".join(caution(plain(said)) for said in INJECTIONS))
    assert [block["t"] for block in blocks] == ["Div"] * len(INJECTIONS)
    assert [strings(block) for block in blocks] == [f"Caution. {' '.join(said.split())}" for said in INJECTIONS]


@pytest.mark.parametrize(
    "text", ["~~~", "a\n~~~\n# heading", "~~~~~~~~\n</div>", "```\n~~~ {=html}\n<b>", "::: x\n~~~"]
)
def test_a_file_keeps_to_its_block(text):
    (block,) = parsed(fenced(text))
    assert (block["t"], block["c"][1]) == ("CodeBlock", text)


def test_a_name_in_capitals_or_with_an_initial_reads_as_written():
    for said in (
        "M. Muster",
        "C. D. Weir, P.E.",
        "Table 3: a",
        "Ltd.",
        "1.5 mm",
        "3) b",
        "50 % - 60 %",
        "a | b",
        "x_1^2",
    ):
        (block,) = parsed(plain(said))
        assert (block["t"], strings(block)) == ("Para", said)


# what a document lets in


@pytest.mark.parametrize(
    "markdown",
    [
        "[x](javascript:alert(1))", "[x](http://127.0.0.1:9/ \"t\"){onclick=\"alert(1)\"}", "<http://127.0.0.1:9/>", "[x]{onclick=\"alert(1)\"}",
        "# a {onclick=\"alert(1)\"}", "::: {.caution onclick=\"alert(1)\"}\nx\n:::", "<div class=\"caution\" onclick=\"alert(1)\">\n\nx\n\n</div>",
        "<div style=\"background: url(/etc/hostname)\">\n\nx\n\n</div>", "```{.x onclick=\"alert(1)\"}\nx\n```", "`x`{onclick=\"alert(1)\"}",
        "```{=html}\n<script>alert(1)</script>\n```", "`<script>alert(1)</script>`{=html}", "<script>alert(1)</script>",
        "<meta http-equiv=\"refresh\" content=\"0;url=http://127.0.0.1:9/\">", "```{=typst}\n#read(\"/etc/hostname\")\n```",
        "`<w:br/>`{=openxml}", "\\newcommand{\\x}{y} \\x", "---\ntitle: <script>alert(1)</script>\n---", "% <script>alert(1)</script>",
        "![x](f.png){onerror=\"alert(1)\"}", "| = x | / y: z | + a |\n|---|---|---|\n| = x | / y: z | 1. a |",
    ],
)  # fmt: skip
def test_nothing_of_a_notebook_runs_or_leads_outside(markdown, tmp_path):
    (tmp_path / "figures").mkdir()
    (tmp_path / "figures" / "f.png").write_bytes(Picture(axes(1, 1)[0], "").png)
    files = bound(tmp_path, f"# Sheet\n\n{markdown}\n\nend of it\n")
    assert all("end of it" in text for text in (files["html"].text, files["docx"], files["pdf"]))


@pytest.mark.parametrize("source", ["{}", "file:" + "//{}", "../s.txt", "http://127.0.0.1:9/x.png", "data:image/png;base64,AA", "s.txt", "//h/x", "a/../../s.png"])  # fmt: skip
def test_no_picture_but_those_of_the_build(source, stranger, tmp_path):
    (tmp_path / "s.txt").write_text(SECRET)
    with pytest.raises(PackageError, match="outside the package folder"):
        bound(tmp_path, f"# a\n\n![x]({source.format(stranger)})\n")


# header, footer, style sheet, metadata


@pytest.mark.parametrize("start", range(0, 24, 3))
def test_the_imprint_is_text(start, stranger, tmp_path):
    said = [one.replace("/CANARY", str(stranger)).strip() for one in (*INJECTIONS[:21], "true", "false", "${title} $$ ${", "$body$ $for(x)$", "\"] #panic() [\"")]  # fmt: skip
    package_, bridge, firm, subject, revision = (said[(start + i) % len(said)] for i in range(5))
    files = bound(
        tmp_path, "# Sheet\n\nWords.\n", package=package_, bridge=bridge, firm=firm, subject=subject, revision=revision
    )
    page = files["html"]
    assert f"Package {package_}" in page.text and f"Revision {revision}" in page.text
    assert f"Package {package_} - {bridge} - {subject}" in page.text  # the title
    named = {attrs["name"]: attrs["content"] for _, attrs in page.elements if "name" in attrs}
    assert (named["author"], named["description"]) == (firm, subject)
    style = re.sub(r"\\([0-9a-f]{6})", lambda one: chr(int(one[1], 16)), "".join(page.styles))
    assert f'content: "Package {package_}, revision {revision}";' in style
    for text in (files["docx"], files["pdf"]):
        for one in (package_, bridge, firm, revision, f"Package {package_} - {bridge} - {subject}"):
            assert squeezed(one) in squeezed(text)


def test_a_string_of_a_style_sheet_has_no_way_out():
    for said in INJECTIONS:
        assert re.fullmatch(r"(\w| |\\[0-9a-f]{6})*", in_style(said))


# a whole job


def shown(folder):
    """Return what the notebooks of the package show of a job, without their pictures."""
    parts = []

    def display(*answers):
        parts.extend(one._repr_markdown_() for one in answers if hasattr(one, "_repr_markdown_"))

    scope = {"JOB": str(folder), "display": display}
    for sheet in package.built_in():
        for cell in sheet.cells:
            if cell.cell_type == "markdown":
                parts.append(cell.source)
            elif cell.cell_type == "code" and "parameters" not in cell.metadata.get("tags", []):
                body = ast.parse(cell.source.replace("from IPython.display import display", "")).body
                last = body.pop() if isinstance(body[-1], ast.Expr) else None
                exec(compile(ast.Module(body, []), sheet.name, "exec"), scope)
                answer = eval(compile(ast.Expression(last.value), sheet.name, "eval"), scope) if last else None
                display(answer)
    return "\n\n".join(parts) + "\n"


@pytest.fixture(scope="module")
def whole(stranger, tmp_path_factory):
    """A job with an injection in every free field: its marks, its Markdown and the three files, without the inputs as filed."""
    folder = tmp_path_factory.mktemp("injected")
    marks = injected(folder / "job", "SI", stranger)
    markdown = re.sub(r"\n# Inputs as filed\n.*?(?=\n# |\Z)", "\n", shown(folder / "job"), flags=re.DOTALL)
    # paragraphs without a mark are left out, headings and frames stay
    kept = [part for part in markdown.split("\n\n") if re.search(r"(?m)q\d+w|^# |div", part)]
    head = read_job(folder / "job").settings
    facts = {
        "package": head.package.number,
        "bridge": head.bridge.name,
        "firm": head.people.firm,
        "subject": head.package.subject,
    }
    return marks, markdown, bound(folder, package.kept_links("\n\n".join(kept)), **facts)


@pytest.mark.parametrize("format", ["html", "docx", "pdf"])
def test_every_text_of_a_job_comes_out_as_itself(format, whole):
    marks, _, files = whole
    text = squeezed(files[format].text if format == "html" else files[format])
    found = set()
    for mark in re.finditer(r"q\d+w", text):
        said = squeezed(marks[mark[0]])
        assert text[max(0, mark.end() - len(said)) : mark.end()] == said
        found.add(mark[0])
    assert len(found) > 0.7 * len(marks)  # the others stand in the inputs as filed alone


def test_no_text_of_a_job_makes_an_element(whole):
    allowed = {
        "Header", "Para", "Plain", "Str", "Space", "SoftBreak", "Strong", "Emph", "Subscript", "Math", "DisplayMath", "InlineMath",
        "Div", "BulletList", "Table", "AlignLeft", "AlignRight", "AlignDefault", "ColWidth", "ColWidthDefault",
    }  # fmt: skip
    _, markdown, _ = whole
    for block in parsed(re.sub(r"\[(sheet \d\d|Basis)\]\(#[a-z-]+\)", r"\1", markdown)):  # links into its own sheets
        text = json.dumps(block)
        if re.search(r"q\d+w", text):
            assert set(re.findall(r'"t": "(\w+)"', text)) <= allowed
            levels = {one["c"][0] for one in [block] if one["t"] == "Header"}
            assert levels <= {2, 3}


@pytest.mark.parametrize("place", sorted(LOOKED_UP))
def test_a_field_that_is_looked_up_refuses_a_strangers_text(place, tmp_path):
    put = []
    copy(tmp_path, "SI", lambda at, was: put.append(at) or "</style><script>" if at == place else was)
    if not put:
        pytest.skip("no demo job fills this field")
    with pytest.raises(JobError, match="</style><script>"):
        read_job(tmp_path)


# characters


def test_the_fonts_have_every_character_that_is_let_in(tmp_path):
    for weight in ("normal", "bold"):
        path = font_manager.findfont(font_manager.FontProperties(family="DejaVu Sans", weight=weight))
        assert set(map(ord, COVERED_SIGNS)) <= set(TTFont(path).getBestCmap())
    said = '#let s = sys.inputs.s\n#set text(font: "Libertinus Serif")\n#s\n\n*#s*\n\n#show raw: set text(font: "DejaVu Sans Mono")\n#raw(s)\n'
    (tmp_path / "t.typ").write_text(said)
    typst.compile(tmp_path / "t.typ", output=tmp_path / "t.pdf", ignore_system_fonts=True, pdf_standards="a-3b",
                  sys_inputs={"s": " ".join(COVERED_SIGNS)})  # fmt: skip


def test_no_sign_that_steers_is_let_in():
    for sign in COVERED_SIGNS:
        assert unicodedata.category(sign)[0] in "LNPSZ"
        assert unicodedata.bidirectional(sign) not in ("R", "AL", "AN", "BN", "LRE", "RLE", "LRO", "RLO", "PDF", "B")
        assert unicodedata.normalize("NFC", sign) == sign


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("漢字", "“漢” (U+6F22) cannot be printed"), ("한", "(U+D55C) cannot be printed"), ("שלום", "(U+05E9) cannot be printed"),
        ("سلام", "(U+0633) cannot be printed"), ("ok 😀", "(U+1F600) cannot be printed"), ("a\u202eb", "U+202E, right-to-left override, is not seen"),
        ("a\u2066b", "U+2066"), ("a\u200bb", "U+200B, zero width space, is not seen"), ("a\u200db", "U+200D"), ("\ufeffa", "U+FEFF"),
        ("a\x00b", "U+0000"), ("a\x1b[31mb", "U+001B"), ("a\x7fb", "U+007F"), ("a\u0085b", "U+0085"), ("a\u2028b", "U+2028"), ("a\u00adb", "U+00AD"),
        ("a\nb", "line break (U+000A)"), ("a\tb", "tab (U+0009)"), ("q\u0301", "combining acute accent, has no letter"), ("\ue000", "U+E000"),
        ("\ud800", "U+D800"), ("□", "“□” (U+25A1)"), ("\U000e0041", "U+E0041"), ("a\u2003b", "U+2003"), ("กา", "U+0E01"), ("\ufffd", "U+FFFD"),
    ],
)  # fmt: skip
def test_a_character_that_cannot_be_printed_is_named(text, words):
    assert words in printable_faults(text)


@pytest.mark.parametrize(
    "text", ["Ærøskøbing Brücke Łódź", "Πάτρα", "Нева № 5", "#5 @ 6″ ≤ ½ in ± 2 °C", "“a” – b — c…", "Ω µ ² ³ € ✓ ☐ →"]
)
def test_what_engineers_write_is_let_in(text):
    assert printable_faults(text) is None


@pytest.mark.parametrize(
    ("place", "text", "fault"),
    [
        ("people.originator", "漢", "job.toml: people.originator: the character “漢” (U+6F22) cannot be printed"),
        ("package.number", "A\x07", "job.toml: package.number: the sign U+0007"),
        ("bridge.name", "Tern\u202eegdirB", "job.toml: bridge.name: the sign U+202E, right-to-left override"),
        ("package.subject", "one\ntwo", "job.toml: package.subject: a line break"),
        ("closure.alternatives.what", "a\u200bb", "job.toml: closure.alternatives.0.what: the sign U+200B"),
        ("limits.source", "😀", ".source: the character “😀” (U+1F600)"),
        ("rates.work", "a\u2067b", "rates.csv, row 2, column work: the sign U+2067"),
        ("equipment.source", "☃︎", "column source: the sign U+FE0E"),
        ("bridge.owner", "x" * 301, "job.toml: bridge.owner: wanted at most 300 characters"),
        ("bridge.name", "x" * 101, "job.toml: bridge.name: wanted at most 100 characters"),
        ("people.originator", "  ", "job.toml: people.originator: empty, wanted text"),
    ],
)  # fmt: skip
def test_the_fault_names_the_field(place, text, fault, tmp_path):
    copy(tmp_path, "US", lambda at, was: text if at == place else was)
    with pytest.raises(JobError) as caught:
        read_job(tmp_path)
    assert fault in str(caught.value)
    assert visible(str(caught.value)) == str(caught.value)


def test_an_accent_typed_apart_is_joined(tmp_path):
    copy(tmp_path, "US", lambda at, was: "Cafe\u0301 Bru\u0308cke" if at == "bridge.name" else was)
    assert read_job(tmp_path).settings.bridge.name == "Caf\u00e9 Br\u00fccke"


@pytest.mark.parametrize(("line", "row"), [("# 漢 in a comment", "job.toml, row"), ("# \u202e", "U+202E")])
def test_a_comment_that_cannot_be_printed_is_named_by_its_row(line, row, tmp_path):
    copy(tmp_path, "US", lambda at, was: was)
    path = tmp_path / "job.toml"
    path.write_text(line + "\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(JobError, match=re.escape(row)) as caught:
        read_job(tmp_path)
    assert "job.toml, row 1: " in str(caught.value)


@pytest.mark.parametrize("name", ["a\u202eb", "\x1b[2J", "漢"])
def test_the_name_of_an_entry_is_looked_at(name, tmp_path):
    copy(tmp_path, "US", lambda at, was: was)
    path = tmp_path / "job.toml"
    for section in ("limits", "bridge"):
        before = path.read_text(encoding="utf-8")
        path.write_text(before.replace(f"{section} = {{", f"{section} = {{{json.dumps(name)} = 1, "), encoding="utf-8")
        with pytest.raises(JobError, match=section) as caught:
            read_job(tmp_path)
        assert "\u202e" not in str(caught.value) and "\x1b" not in str(caught.value)
        path.write_text(before, encoding="utf-8")


@pytest.mark.parametrize(
    "name", ["A/_b_", "-a", "a--b", "a_", "_a", "a b", "a|b", "é", "a*", "<a>", "$a$", "a" * 21, "", "a\n"]
)
def test_a_name_is_letters_and_digits_joined_by_single_signs(name):
    with pytest.raises(ValidationError):
        TypeAdapter(Id).validate_python(name)


@pytest.mark.parametrize("name", ["B12", "2x4-8", "walk-behind_saw", "stone-10", "C1-1/a"])
def test_a_name_needs_no_escape(name):
    assert TypeAdapter(Id).validate_python(name) == name
    (block,) = parsed(f"{name} **{name}** {name}_{name}")
    assert strings(block) == f"{name} {name} {name}_{name}"


# drawings, long words


def test_a_drawing_takes_no_name_for_mathematics():
    figure, drawing = axes(3, 2)
    drawing.plot([0, 1], label="$\\frac{a$")
    drawing.set_title("a_1 $x^2$")
    drawing.set_xlabel("\\mathdefault{x} $")
    drawing.annotate("$\\input{x}$", (0, 0))
    drawing.set_xticks([0, 1], ["$\\frac{b$", "5 $ or 6 $"])
    drawing.legend()
    assert Picture(figure, "").png.startswith(b"\x89PNG")
    assert not [one for one in figure.findobj(Written) if one.get_parse_math()]


@pytest.mark.parametrize("sign", ["W", "ж", "/", "="])
def test_a_word_without_end_is_broken(sign, tmp_path):
    word = sign * 300
    cell = plain(word)
    files = bound(tmp_path, f"# Sheet\n\n{cell}\n\n{pipe_table(['a', 'b'], [[cell, 'x'], ['y', cell]])}", bridge=word)
    assert squeezed(word) in squeezed(files["html"].text)
    printed = files["pdf"].partition("Package P-7 - ")[0].replace("\u200b", "")  # without the title in the metadata
    assert max(map(len, re.findall(f"{re.escape(sign)}+", printed))) < 170
    broken = [attrs for tag, attrs in files["html"].elements if tag == "wbr"]
    assert len(broken) >= 36
