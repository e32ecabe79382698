"""Check the bound package of both demo jobs: complete, repeatable, self-contained, and safe to build again."""

import hashlib
import html
import importlib.util
import json
import re
import shutil
import subprocess
import sys
import zipfile
from html.parser import HTMLParser
from pathlib import Path

import nbformat
import pikepdf
import pytest
from printed import of_page
from samples import DEMO, SYSTEMS, demo

from deckcalc import cli
from deckcalc.core.sources import folder as project_folder
from deckcalc.core.words import worded
from deckcalc.job import compute
from deckcalc.job.facts import contradictions
from deckcalc.package import build as package
from deckcalc.package import front, works
from deckcalc.package.documents import PackageError

FILED = ["manifest.json", "package.docx", "package.html", "package.pdf"]
FILES = ["appendix.html", "appendix.pdf", "field.html", "field.pdf", *FILED]
ADDED = "This sentence stands only in the notebook of the job."


def copy(system, to):
    """Copy a demo job."""
    shutil.copytree(DEMO[system], to, ignore=shutil.ignore_patterns("package", "kernel-*"))
    return to


def contents(out):
    """Return the files of a folder, all of them."""
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in out.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Both demo packages, built once; the US job holds its own copy of one notebook."""
    place = tmp_path_factory.mktemp("built")
    si, us = copy("SI", place / "si"), copy("US", place / "us")
    notebook = nbformat.read(project_folder("notebooks") / "09_sources.ipynb", as_version=4)
    notebook.cells.append(nbformat.v4.new_markdown_cell(f"# 10 Added\n\n{ADDED}"))
    nbformat.write(notebook, us / "09_sources.ipynb")
    out = place / "filed" / "si"
    assert cli.main(["package", str(si), "--out", str(out), "--quiet"]) == 0
    return {"SI": out, "US": package.build(us, quiet=True, own=True)}


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_files_of_a_package_are_there_and_nothing_else(built, system):
    assert sorted(path.name for path in built[system].iterdir()) == FILES
    assert all(path.stat().st_size > 10_000 for path in built[system].iterdir())


def test_by_default_the_package_lies_in_the_job_folder(built):
    assert built["US"].name == "package" and (built["US"].parent / "job.toml").is_file()


def test_no_temporary_folder_is_left_beside_a_package(built):
    assert [path.name for path in built["SI"].parent.iterdir()] == ["si"]
    assert not [path for path in built["US"].parent.iterdir() if path.name.startswith((".", "kernel"))]


def test_built_again_in_another_folder_every_byte_is_the_same(built, tmp_path):
    again = package.build(copy("SI", tmp_path / "elsewhere" / "job"), quiet=True)
    first = contents(built["SI"])
    for name, data in contents(again).items():
        assert data == first[name], name


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_manifest_holds_hashes_versions_results_and_verdicts(built, system):
    filed = json.loads((built[system] / "manifest.json").read_text(encoding="utf-8"))
    job = demo(system)
    assert filed["inputs"] == {
        name: hashlib.sha256((DEMO[system] / name).read_bytes()).hexdigest() for name in filed["inputs"]
    }
    assert sorted(filed["inputs"]) == sorted(
        path.name for path in DEMO[system].iterdir() if path.suffix in (".csv", ".toml")
    )
    for name, digest in filed["files"].items():
        assert hashlib.sha256((built[system] / name).read_bytes()).hexdigest() == digest
    assert sorted(filed["files"]) == sorted({*FILES} - {"manifest.json"})
    assert [(one["item"], one["check"], one["verdict"]) for one in filed["checks"]] == [
        (one.item, one.title, one.verdict) for one in job.checks
    ]
    assert filed["results"] == package.results(job)
    assert {"deckcalc", "python", "numpy", "pint", "handcalcs"} <= set(filed["made with"])
    assert filed["date"] == "2026-03-14" and filed["revision"] == "A"


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_manifest_holds_open_items_places_and_the_plan(built, system):
    filed, job = json.loads((built[system] / "manifest.json").read_text(encoding="utf-8")), demo(system)
    assert filed["verdicts"] == job.verdicts and sum(filed["verdicts"].values()) == len(job.checks)
    assert [(one["number"], one["open"], one["why"]) for one in filed["open items"]] == [
        (number, one.what, one.why) for number, one in enumerate(job.open_items, 1)
    ]
    assert set(filed["locations"]) == {one.patch for one in job.file.marked.patches}
    assert [name for one in filed["plan"] for name in one["patches"]] == [
        name for row in job.file.work.placings for name in row.names
    ]


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_works_listed_are_those_that_the_sheets_mark_and_no_other(built, system):
    filed, *others = (
        re.sub(
            r"<math.*?</math>|<[^>]+>", " ", (built[system] / f"{name}.html").read_text(encoding="utf-8"), flags=re.S
        )
        for name in package.PARTS
        if (built[system] / f"{name}.html").exists()  # no record, of a job of which nothing is built
    )
    texts = [re.sub(r"\s+", " ", html.unescape(text)) for text in (filed, *others)]
    before, _, listed = texts[0].rpartition(" Sources cited ")
    marked = works.marks(" ".join([before, *texts[1:]]))
    assert len(marked) > 80
    assert {key for key in works.marks(listed) if str(works.bibliography()[key]) in listed} == marked
    assert set(works.cited(demo(system))) == marked  # what the notebook of the sheet lists by itself


def test_the_list_of_works_follows_the_sheets():
    job = demo("SI")
    listed = str(front.cited(job))
    made = package.with_works(job, listed, f"only [UFGS 03311] here\n\n{listed}\n\nand [NCHRP Report 540] there")
    assert works.marks(made) == {"ufgs-03311", "nchrp-540"}
    assert package.with_works(job, "no list, [UFGS 03311]", "") == "no list, [UFGS 03311]"


# --- HTML


class Page(HTMLParser):
    """The tags of a page, and its headings with whether something stands below each."""

    def __init__(self):
        super().__init__()
        self.tags, self.headings, self.inside = [], [], None

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch(r"h[1-6]", tag):
            self.inside = tag
            self.headings.append([int(tag[1]), "", False])
        elif tag in ("img", "math", "table", "svg") and self.headings:
            self.headings[-1][2] = True

    def handle_endtag(self, tag):
        if tag == self.inside:
            self.inside = None

    def handle_data(self, data):
        if not self.headings:
            return
        if self.inside:
            self.headings[-1][1] += data
        elif data.strip():
            self.headings[-1][2] = True


@pytest.fixture(scope="module", params=SYSTEMS)
def page(request, built):
    """The HTML file of a package: its text and its parts."""
    text = (built[request.param] / "package.html").read_text(encoding="utf-8")
    found = Page()
    found.feed(text)
    return request.param, text, found


def test_the_page_asks_nothing_of_a_network(page):
    _, text, found = page
    assert not re.findall(r"https?:", re.sub(r'xmlns(:\w+)?="[^"]*"', "", text))
    assert "@import" not in text and not re.search(r"url\((?!['\"]?data:)", text)
    for tag, attrs in found.tags:
        assert tag not in ("script", "link", "iframe", "object", "embed", "form"), tag
        assert (attrs.get("src") or "data:").startswith("data:")
        assert (attrs.get("href") or "#").startswith("#")
    assert sum(tag == "img" for tag, _ in found.tags) >= 4  # plan, sections, losses, profiles, mix


def test_the_page_shows_no_fault_of_the_machine(page):
    _, text, found = page
    words = re.sub(r"<[^>]*>", " ", text)
    for word in ("Traceback", "dimensionless", "Error:", "<function", "Quantity(", "NaN", "DISAGREES"):
        assert word not in words, word
    assert not any(attrs.get("class") == "error" for _, attrs in found.tags)
    assert sum(tag == "math" for tag, _ in found.tags) > 100


def test_no_fact_of_a_patch_is_printed_with_two_values(page, built):
    system, text, _ = page
    job = demo(system)
    text += (built[system] / "field.html").read_text(encoding="utf-8")
    found = of_page(text.replace("<wbr>", ""), {one.name for one in job.patch})
    assert not {key: [(one.shown, one.where) for one in values] for key, values in contradictions(found).items()}
    places = {}
    for one in found:
        places.setdefault((one.fact, one.item), set()).add(one.where)
    assert sum(len(where) > 1 for where in places.values()) > 3 * len(job.patch.each)
    hours = places["hour of opening", job.file.work.placings[0].names[0]]
    assert len(hours) >= 4 and any("Crew page" in where for where in hours)


def test_every_open_item_is_named_by_its_number_on_its_sheet(page):
    system, text, _ = page
    job, words = demo(system), re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", "", text)))
    assert [one.number for one in job.open_items] == [*range(1, len(job.open_items) + 1)]
    for subject in job.subjects:
        numbers = ", ".join(str(one.number) for one in subject.open_items)
        assert not numbers or f"Open items of this sheet, numbered as among the conclusions: {numbers}." in words, (
            subject.title
        )
    assert f"{len(job.open_items)} open items among the conclusions are undecided" in words


def test_no_section_of_the_page_is_empty(page):
    _, _, found = page
    assert len(found.headings) > 40
    for (level, title, filled), (following, *_) in zip(
        found.headings, [*found.headings[1:], (0, "", True)], strict=True
    ):
        assert filled or following > level, title


def test_every_sheet_that_a_package_needs_is_there(page, built):
    system, text, _ = page
    pages = []
    for closing in demo(system).file.work:
        pages += [f"Closure {closing.name}: night sheet", f"Closure {closing.name}: safety sheet for the tool-box talk"]
        pages += [f"Crew page: patch {name}" for name in closing.patches]
    assert len(pages) > 4
    wanted = {
        "package": ["Calculation package", "Conclusions", "Plan and section of the deck", "Patch schedule", "Basis", "01 Patches",
                    "02 Reinforcement", "03 Chlorides", "04 Mix and batch", "05 Formwork of full-depth holes", "06 Curing and opening",
                    "07 Closure", "08 Safety", "Sources cited", *(["10 Added"] if system == "US" else [])],
        "field": ["Field set", *pages, "Batch cards", "Patches and bars to add", "Forms", "Traffic plan", "Inspection and test plan"],
    }  # fmt: skip
    if not demo(system).formwork.each:
        wanted["field"].remove("Forms")
    for name, sheets in wanted.items():
        found = Page()
        found.feed((built[system] / f"{name}.html").read_text(encoding="utf-8"))
        assert [title.strip() for level, title, _ in found.headings if level == 1] == sheets
    for word in ("Sign-off", "Revisions", "Contents", "Originator", "Checker", "Engineer of record", "DRAFT"):
        assert word in text


@pytest.mark.parametrize(("system", "most"), [("SI", (45, 44)), ("US", (45, 44))])
def test_the_filed_document_and_the_field_set_are_short(built, system, most):
    for name, pages in zip(("package", "field"), most, strict=True):
        with pikepdf.open(built[system] / f"{name}.pdf") as opened:
            assert len(opened.pages) <= pages


def test_two_patches_make_a_filed_document_of_eight_pages(tmp_path):
    out = package.build(project_folder("notebooks") / "small_patches", tmp_path / "out", quiet=True)
    with pikepdf.open(out / "package.pdf") as opened:
        assert len(opened.pages) <= 8


def test_everyone_who_could_be_hurt_is_named(page):
    _, text, _ = page
    for word in ("silica dust", "fall edge", "carries traffic while bars are bare", "burns skin", "licensed engineer"):
        assert word in text


def test_every_verdict_is_a_word(page):
    system, text, _ = page
    words = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", text))
    bad = sum(one.verdict == "not satisfied" for one in demo(system).checks)
    assert f"{len(demo(system).checks)} checks: " in words and worded(f"{bad} not satisfied", system) in words


def test_the_page_of_the_job_says_which_limits_are_the_engineers(page):
    system, text, _ = page
    changed = len(demo(system).settings.limits)
    _, _, rest = text.partition('<h2 id="limits-set-by-the-engineer">')
    table = rest[: rest.index("</table>")]
    assert len(re.findall(r"<td[^>]*>the engineer</td>", table)) == changed > 0


def test_the_jobs_own_notebook_is_used_named_hashed_and_marked(built):
    name = "09_sources.ipynb"
    digest = hashlib.sha256((built["US"].parent / name).read_bytes()).hexdigest()
    page = (
        (built["US"] / "package.html").read_text(encoding="utf-8").replace("<wbr>", "")
    )  # a long word may break there
    words = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page.partition("<main>")[2]))
    assert ADDED in words
    assert words.index("DRAFT") < words.index(f"{name} (SHA-256 {digest})") < words.index("Sign-off")
    assert words.count(f"This sheet is the job’s own: it comes from {name}") == 1
    filed = json.loads((built["US"] / "manifest.json").read_text(encoding="utf-8"))
    assert filed["notebooks of the job"] == {name: digest}
    assert "job’s own" not in (built["SI"] / "package.html").read_text(encoding="utf-8")


# --- DOCX and PDF


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_word_file_has_native_equations(built, system):
    with zipfile.ZipFile(built[system] / "package.docx") as file:
        assert file.testzip() is None
        document = file.read("word/document.xml").decode()
        names = file.namelist()
    assert document.count("<m:oMath>") > 100
    assert document.count("<w:tbl>") > 20
    assert sum(name.startswith("word/media/") for name in names) >= 4
    assert "dimensionless" not in document


def embedded(pdf):
    """Return the files that travel in a PDF, by name."""
    with pikepdf.open(pdf) as opened:
        return {name: item.get_file().read_bytes() for name, item in opened.attachments.items()}


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_pdf_carries_its_own_inputs(built, system):
    inside = embedded(built[system] / "package.pdf")
    own = {"09_sources.ipynb"} if system == "US" else set()
    assert set(inside) == {"manifest.json", *own, *demo(system).file.verbatim}
    for name, data in demo(system).file.verbatim.items():
        assert inside[name] == data, name


def test_the_job_can_be_run_again_from_the_pdf_alone(built, tmp_path):
    filed = json.loads((built["SI"] / "manifest.json").read_text(encoding="utf-8"))
    streams = {hashlib.sha256(data).hexdigest(): data for data in embedded(built["SI"] / "package.pdf").values()}
    for name, digest in filed["inputs"].items():
        (tmp_path / name).write_bytes(streams[digest])
    assert package.results(compute(tmp_path)) == filed["results"]


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="no pdftotext on this machine")
@pytest.mark.parametrize("system", SYSTEMS)
def test_every_page_names_package_sheet_revision_and_page(built, system):
    text = subprocess.run(
        ["pdftotext", "-layout", built[system] / "package.pdf", "-"], capture_output=True, check=True
    ).stdout.decode()
    pages = text.split("\f")[:-1]
    assert len(pages) > 15
    for number, page in enumerate(pages, 1):
        assert "TH-114-C-01" in page and re.search(r"[Rr]evision A", page), number
        assert re.search(rf"\b{number} of {len(pages)}\b", page), number


# --- a build that fails


def fingerprint(place):
    """Return every file below a folder with its content."""
    return {
        path.relative_to(place).as_posix(): path.read_bytes() if path.is_file() else None for path in place.rglob("*")
    }


@pytest.fixture
def earlier(built, tmp_path):
    """A job with an earlier package in it."""
    job = copy("SI", tmp_path / "job")
    shutil.copytree(built["SI"], job / "package")
    return job


def quick(monkeypatch):
    """Stand in for the notebooks, so that a build takes little time."""
    monkeypatch.setattr(package, "run_sheets", lambda *args: {"01_sheet.ipynb": "# Sheet\n\nText.\n"})


@pytest.mark.parametrize(
    "error", [PackageError("no room"), OSError("no room"), KeyboardInterrupt()], ids=lambda error: type(error).__name__
)
def test_a_failure_while_binding_leaves_the_earlier_package(earlier, monkeypatch, error):
    before = fingerprint(earlier)
    quick(monkeypatch)

    def bind(documents, imprint, figures, out):
        (out / "package.pdf").write_bytes(b"half a file")
        raise error

    monkeypatch.setattr(package, "bind", bind)
    with pytest.raises(KeyboardInterrupt if isinstance(error, KeyboardInterrupt) else PackageError):
        package.build(earlier, quiet=True)
    assert fingerprint(earlier) == before
    assert [path.name for path in earlier.parent.iterdir()] == ["job"]


def test_a_good_build_replaces_the_earlier_package(earlier, monkeypatch):
    quick(monkeypatch)
    package.build(earlier, quiet=True)
    assert sorted(path.name for path in (earlier / "package").iterdir()) == FILED
    assert "Text." in (earlier / "package" / "package.html").read_text(encoding="utf-8")


def test_a_notebook_that_fails_is_named_with_its_cell_and_leaves_the_earlier_package(earlier, capfd):
    notebook = nbformat.read(project_folder("notebooks") / "00_decisions.ipynb", as_version=4)
    notebook.cells.insert(2, nbformat.v4.new_code_cell("job.no_such_thing"))
    nbformat.write(notebook, earlier / "00_decisions.ipynb")
    before = fingerprint(earlier)
    assert cli.main(["package", str(earlier), "--quiet", "--own-notebooks", "--only", "decisions"]) == 1
    out, err = capfd.readouterr()
    assert "00_decisions.ipynb, cell 3: AttributeError: " in err and "no_such_thing" in err
    assert "Traceback" not in err and out == ""
    assert fingerprint(earlier) == before


def test_a_file_that_is_no_notebook_is_named(earlier, capfd):
    (earlier / "02_reinforcement.ipynb").write_text("not a notebook", encoding="utf-8")
    before = fingerprint(earlier)
    assert cli.main(["package", str(earlier), "--quiet", "--own-notebooks", "--only", "reinforcement"]) == 1
    assert "02_reinforcement.ipynb cannot be read as a notebook" in capfd.readouterr().err
    assert fingerprint(earlier) == before


@pytest.mark.parametrize("what", ["folder", "file", "job"])
def test_what_is_no_package_is_never_replaced(tmp_path, capfd, monkeypatch, what):
    quick(monkeypatch)
    job, out = copy("SI", tmp_path / "job"), tmp_path / "letters"
    if what == "folder":
        out.mkdir()
        (out / "letter.txt").write_text("Dear Sir", encoding="utf-8")
    elif what == "file":
        out.write_text("Dear Sir", encoding="utf-8")
    else:
        out = job
    before = fingerprint(tmp_path)
    assert cli.main(["package", str(job), "--out", str(out), "--quiet"]) == 1
    err = capfd.readouterr().err
    assert f"{out} is not a package that may be replaced: " in err and "name another folder with --out" in err
    assert {"folder": "letter.txt", "file": "it is a file", "job": "job.toml"}[what] in err or what == "job"
    assert fingerprint(tmp_path) == before


def test_an_empty_folder_and_a_new_one_may_be_used(tmp_path, monkeypatch):
    quick(monkeypatch)
    (tmp_path / "empty").mkdir()
    for name in ("empty", "new/below"):
        assert sorted(path.name for path in package.build(DEMO["SI"], tmp_path / name, quiet=True).iterdir()) == FILED


def test_a_place_that_cannot_be_written_is_named(tmp_path, capfd, monkeypatch):
    quick(monkeypatch)
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert cli.main(["package", str(DEMO["SI"]), "--out", str(tmp_path / "file" / "below"), "--quiet"]) == 1
    assert "cannot be written" in capfd.readouterr().err


def test_a_package_is_no_draft_once_it_is_signed_and_every_open_item_is_decided(tmp_path, monkeypatch):
    quick(monkeypatch)
    job = copy("US", tmp_path / "job")
    text = (job / "job.toml").read_text(encoding="utf-8")
    items = demo("US").open_items
    decided = "".join(
        f'\n[[decisions]]\nitem = {json.dumps(one.what, ensure_ascii=False)}\ndecision = "as drawn"\nby = "R. Stone"\ndate = 2026-03-20\n'
        for one in items
    )
    for change, left in (
        ({"checker": "Q. Reed"}, items), ({"checker": "Q. Reed", "engineer": "R. Stone"}, items),
        ({"checker": "Q. Reed"}, []), ({"checker": "Q. Reed", "engineer": "R. Stone"}, []),
    ):  # fmt: skip
        signed = text
        for key, name in change.items():
            signed = signed.replace(f'{key} = ""', f'{key} = "{name}"')
        (job / "job.toml").write_text(signed + ("" if left else decided), encoding="utf-8")
        filed = package.build(job, quiet=True)
        draft = bool(left) or "engineer" not in change
        assert ("DRAFT" in (filed / "package.html").read_text(encoding="utf-8")) is draft
        carried = compute(job)
        assert len(carried.undecided) == len(left) and len(carried.open_items) == len(items)
        ends = str(front.cover(carried)) + str(front.sign_off(carried))
        assert ("It is not to be signed as it stands" in ends) is bool(left) and ("DRAFT" in ends) is draft
        assert ("not before every open item is decided" in ends) is bool(left)
        manifest = json.loads((filed / "manifest.json").read_text(encoding="utf-8"))
        assert [bool(one["decision"]) for one in manifest["open items"]] == [not left] * len(items)


def test_a_decision_on_what_is_not_open_any_more_is_open_itself(tmp_path):
    job = copy("US", tmp_path / "job")
    with (job / "job.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[decisions]]\nitem = "zone Z9: treat it"\ndecision = "no"\nby = "R. Stone"\ndate = 2026-03-20\n')
    carried = compute(job)
    assert (
        carried.open_items[-1].what == "a decision on “zone Z9: treat it”"
        and carried.open_items[-1] in carried.undecided
    )


# --- outside the checkout


@pytest.mark.skipif(
    not importlib.util.find_spec("hatchling"), reason="hatchling, the build backend, is not installed here"
)
def test_an_installed_copy_brings_references_notebooks_and_templates(tmp_path):
    source = tmp_path / "source"
    root = project_folder("notebooks").parent
    for name in (".ci", "deckcalc", "notebooks", "references"):
        shutil.copytree(root / name, source / name, ignore=shutil.ignore_patterns("__pycache__", "kernel-*"))
    for name in ("pyproject.toml", "README.md", ".gitignore"):
        shutil.copyfile(root / name, source / name)
    left = source / "notebooks"
    for name in (".ipynb_checkpoints/01_patches-checkpoint.ipynb", "demo_si/package/job.toml"):  # of somebody's work
        (left / name).parent.mkdir(exist_ok=True)
        (left / name).write_text("no part of the project", encoding="utf-8")
    wheel = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "--no-deps",
        "--no-build-isolation",
        "--quiet",
        "-w",
        str(tmp_path),
        str(source),
    ]
    subprocess.run(wheel, check=True, capture_output=True)
    unpacked = tmp_path / "unpacked"
    zipfile.ZipFile(next(tmp_path.glob("*.whl"))).extractall(unpacked)
    shutil.rmtree(source)

    def run(*arguments):
        code = f"import sys; sys.path.insert(0, {str(unpacked)!r}); import deckcalc.cli; print(deckcalc.cli.__file__); " \
               f"sys.exit(deckcalc.cli.main({list(arguments)!r}))"  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-I", "-c", code], capture_output=True, text=True, cwd=tmp_path, check=False
        )
        assert done.returncode == 0, done.stderr
        where, _, rest = done.stdout.partition("\n")
        assert Path(where).is_relative_to(unpacked)
        return rest

    assert "steel.section_loss" in run("list")
    assert "[ACI 211.1-91]" in run("list", "sources")
    assert "bar_loss_single" in run("list", "limits")
    assert "Started" in run("new", "fresh")
    assert " checks: " in run("check", "fresh")
    assert (unpacked / "deckcalc" / "package" / "binding" / "package.typ").is_file()
    assert (unpacked / "deckcalc" / "_notebooks" / "01_patches.ipynb").is_file()
    assert list((unpacked / "deckcalc" / "_references" / "cases").glob("*.toml"))
    code = f"import json, sys; sys.path.insert(0, {str(unpacked)!r}); from deckcalc.package import build; " \
           "print(json.dumps(build.text_of(build.built_in())))"  # fmt: skip
    done = subprocess.run([sys.executable, "-I", "-c", code], capture_output=True, text=True, cwd=tmp_path, check=True)
    texts = json.loads(done.stdout)  # of notebooks without outputs
    assert texts == package.text_of(package.built_in()) and len(texts) > 15
    brought = {path.relative_to(unpacked / "deckcalc" / "_notebooks") for path in unpacked.rglob("_notebooks/**/*.*")}
    assert brought == {path.relative_to(root / "notebooks") for path in root.glob("notebooks/*.ipynb")} | {
        path.relative_to(root / "notebooks")
        for name in ("csv", "toml")
        for path in root.glob(f"notebooks/demo_*/*.{name}")
    }


def test_results_are_listed_in_full(built):
    filed = json.loads((built["SI"] / "manifest.json").read_text(encoding="utf-8"))["results"]
    assert len(filed) == sum(len(run.results()) for subject in demo("SI").subjects for run in subject.runs)
    key = "steel / bar B6 / section_loss / loss"
    assert float(filed[key].removesuffix(" %")) == pytest.approx(
        100 * (1 - 3.141592653589793 * 12.7**2 / 4 / (0.31 * 645.16)), rel=1e-10
    )


# --- a subject that cannot be computed


@pytest.fixture(scope="module")
def incomplete(tmp_path_factory):
    """A job whose mix cannot be computed, since no table reaches its strength."""
    place = copy("SI", tmp_path_factory.mktemp("incomplete") / "si")
    text = (place / "job.toml").read_text(encoding="utf-8")
    text, changed = re.subn(r'(?m)^strength = "34[.][^"]*"', 'strength = "55 MPa"', text, count=2)
    assert changed == 2
    named = text.replace('checker = ""', 'checker = "A. Checker"').replace('engineer = ""', 'engineer = "An Engineer"')
    (place / "job.toml").write_text(named, encoding="utf-8")
    return place


def test_a_sheet_that_cannot_be_computed_says_so_once_and_prints_no_result(incomplete, tmp_path):
    sheets = [*package.chosen(only="mix_and_batch"), *package.chosen(only="curing_and_opening")]
    text = package.run_sheets(compute(incomplete), sheets, tmp_path)
    mix, curing = text.values()
    for sheet, words in ((mix, "not computed: mix: Mix and batch"), (curing, "not computed: curing: needs mix")):
        assert sheet.count('<div class="caution">') == 1 and sheet.count(words) == 1
        assert not any(word in sheet for word in ("$$", "satisfied", "Error"))  # no result; inputs stand as filed
    assert not list(tmp_path.glob("*.png"))


def test_an_incomplete_package_is_a_draft_whoever_has_signed_and_its_manifest_says_why(incomplete, monkeypatch):
    found = {}
    quick(monkeypatch)
    monkeypatch.setattr(package, "bind", lambda documents, *args: found.update(draft=documents[0].mark))
    out = package.build(incomplete, quiet=True)
    assert found["draft"]
    listed = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    assert [line.split(": ")[1] for line in listed["not computed"]] == [
        "mix",
        "formwork",
        "curing",
        "closure",
        "safety",
    ]
    assert not any(key.startswith(("mix /", "curing /", "closure /", "safety /")) for key in listed["results"])
    assert any(key.startswith("steel /") for key in listed["results"])
    assert "not computed" not in package.manifest(demo("SI"))
