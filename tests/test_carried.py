"""Check that a filed PDF gives its job back, that what was altered in it is named, and that a stranger's PDF does nothing."""

import io
import json
import os
import shutil
import zlib

import pikepdf
import pytest

from deckcalc import cli
from deckcalc.base.errors import PackageError
from deckcalc.core.sources import folder
from deckcalc.job import compute
from deckcalc.package import build, carried, library_text
from deckcalc.show.figures import READING

SMALL = folder("notebooks") / "small_patches"


@pytest.fixture(scope="module")
def filed(tmp_path_factory):
    """The filed document of a small job, with a file beside the job that was not read."""
    job = tmp_path_factory.mktemp("filed") / "job"
    shutil.copytree(SMALL, job, ignore=shutil.ignore_patterns("package"))
    (job / "letter.txt").write_text("dear sirs")
    (job / "12_mine.ipynb").write_text("{}")
    return build.build(job, quiet=True, parts=["package"]) / "package.pdf"


@pytest.fixture
def pdf(filed, tmp_path):
    """A copy of the filed document."""
    return shutil.copy(filed, tmp_path / "package.pdf")


def edited(pdf, change):
    """Change a PDF by a function of the opened document."""
    with pikepdf.open(pdf, allow_overwriting_input=True) as document:
        change(document)
        document.save(pdf, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    return pdf


def put(document, name, data, **entries):
    """Put a file into a document under a name."""
    spec = pikepdf.AttachedFileSpec(document, data, filename=name)
    document.attachments[name] = spec
    for key, value in entries.items():
        document.attachments[name].get_file().obj[f"/{key}"] = value


def in_manifest(document, change):
    """Change the manifest in a document."""
    data = json.loads(document.attachments["manifest.json"].get_file().read_bytes())
    change(data)
    put(document, "manifest.json", json.dumps(data).encode())


def in_job(document, old, new):
    """Change job.toml in a document."""
    text = document.attachments["job.toml"].get_file().read_bytes()
    assert old in text
    put(document, "job.toml", text.replace(old, new))


# --- what was filed comes back


def test_a_filed_package_is_the_same_when_computed_again(filed):
    assert carried.verify(filed) == []


def test_the_command_says_so_and_unpacks_the_job(filed, tmp_path, capsys):
    out = tmp_path / "new" / "job"
    assert cli.main(["unpack", str(filed), str(out)]) == 0
    for name in ("job.toml", "patches.csv"):
        assert (out / name).read_bytes() == (SMALL / name).read_bytes()
    assert sorted(os.listdir(out)) == ["job.toml", "patches.csv"] and os.listdir(tmp_path) == ["new"]
    assert build.results(compute(out)) == json.loads((filed.parent / "manifest.json").read_bytes())["results"]
    assert str(out) in capsys.readouterr().out


def test_it_is_unpacked_into_a_new_or_empty_folder_alone(filed, tmp_path, capsys):
    (tmp_path / "empty").mkdir()
    assert carried.unpack(filed, tmp_path / "empty") == tmp_path / "empty"
    for place in (tmp_path / "empty", tmp_path / "file"):
        (tmp_path / "file").touch()
        with pytest.raises(PackageError, match="holds something already; name a folder that is new or empty"):
            carried.unpack(filed, place)
    assert cli.main(["unpack", str(filed), str(tmp_path / "empty")]) == 1
    assert "holds something already" in capsys.readouterr().err


def test_a_filed_document_can_be_run_again_with_a_changed_input(filed, tmp_path, capsys):
    change = ["--set", "limits.margin=75 mm"]
    said = []
    for place in (filed, carried.unpack(filed, tmp_path / "job")):
        assert cli.main(["rerun", str(place), *change]) == 0
        said.append(capsys.readouterr().out)
    assert said[0] == said[1] and "limits.margin" in said[0] and "%" in said[0]
    assert cli.main(["rerun", str(filed), "--set", "limits.margin=big"]) == 1
    assert "limits.margin" in capsys.readouterr().err


# --- what was altered is named


def replaced_picture(document):
    for page in document.pages:
        for image in dict(page.obj.Resources.get("/XObject", {})).values():
            image.write(zlib.compress(bytes(3 * image.Width * image.Height)), filter=pikepdf.Name.FlateDecode)
            return


def replaced_page(document):
    page = document.pages[1]
    page.Contents = document.make_stream(page.Contents.read_bytes().replace(b" Tf", b" Tf "))


ALTERED = {
    "an input": (lambda d: in_job(d, b"units", b"#  a\nunits"), r"job\.toml was altered after it was filed"),
    "an input and its hash": (
        lambda d: (in_job(d, b'"8 in"', b'"9 in"'),
                   in_manifest(d, lambda m: m["inputs"].update({"job.toml": __import__("hashlib").sha256(
                       d.attachments["job.toml"].get_file().read_bytes()).hexdigest()}))),
        r"patch / .*: filed .*, comes to"),
    "an input is gone": (lambda d: d.attachments.__delitem__("patches.csv"), r"patches\.csv is not in it any more"),
    "an input was added": (lambda d: put(d, "bars.csv", b"bar\n"), r"bars\.csv was put into it after it was filed"),
    "a result": (
        lambda d: in_manifest(d, lambda m: m["results"].update({next(iter(m["results"])): "1 mm"})), "filed 1 mm, comes to"),
    "a verdict": (lambda d: in_manifest(d, lambda m: m["checks"][0].update(verdict="satisfied?")), "manifest was altered.*: checks"),
    "an open item": (lambda d: in_manifest(d, lambda m: m.update({"open items": []})), "manifest was altered.*: open items"),
    "the revision": (lambda d: in_manifest(d, lambda m: m.update(revision="Z")), "manifest was altered.*: revision"),
    "a version": (lambda d: in_manifest(d, lambda m: m["made with"].update(typst="0.1")), "filed with typst 0.1, here"),
    "a page": (replaced_page, "^not as its inputs give them: page 2$"),
    "a picture": (replaced_picture, "^not as its inputs give them: page "),
    "a page is gone": (lambda d: d.pages.__delitem__(2), r"it has 6 pages, and its inputs give 7"),
    "a page was added": (lambda d: d.pages.append(d.pages[0]), r"it has 8 pages, and its inputs give 7"),
    "a mark on a page": (
        lambda d: d.pages[3].obj.__setitem__("/Annots", d.make_indirect(pikepdf.Array([d.make_indirect(pikepdf.Dictionary(
            Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Text, Rect=[0, 0, 9, 9]))]))), "page 4$"),
    "its title": (lambda d: d.docinfo.__setitem__("/Title", "Other"), "something beside them was altered"),
}  # fmt: skip


@pytest.mark.parametrize("what", ALTERED)
def test_what_was_altered_is_named(what, pdf):
    change, words = ALTERED[what]
    found = carried.verify(edited(pdf, change))
    assert found
    with pytest.raises(AssertionError, match=words):
        raise AssertionError("\n".join(found)) if "^" not in words else AssertionError(found[-1])


def test_bytes_added_after_it_are_counted(pdf, capsys):
    with open(pdf, "ab") as file:
        file.write(b"\n% more\n")
    assert carried.verify(pdf) == [
        "the filed document is whole; 8 bytes were added after it, as a signature or a mark is"
    ]
    assert cli.main(["verify", str(pdf)]) == 1 and "8 bytes were added" in capsys.readouterr().out


def test_an_altered_job_is_not_unpacked(pdf, tmp_path):
    edited(pdf, lambda d: in_job(d, b"units", b"#  a\nunits"))
    with pytest.raises(PackageError, match=r"job\.toml was altered after it was filed.*nothing was unpacked"):
        carried.unpack(pdf, tmp_path / "out")
    with pytest.raises(PackageError, match=r"package\.pdf: job\.toml was altered after it was filed"):
        carried.contents(pdf)
    assert not (tmp_path / "out").exists()


# --- a stranger's file


def object_bomb(document):
    """Make a page whose description would fill the memory, behind two filters."""
    inner = zlib.compress(bytes(2**24), 9)
    stream = pikepdf.Stream(document, zlib.compress(inner))
    stream.Filter = [pikepdf.Name.FlateDecode, pikepdf.Name.FlateDecode]
    spec = pikepdf.AttachedFileSpec(document, b"x", filename="depths.csv")
    document.attachments["depths.csv"] = spec
    file = document.attachments["depths.csv"].get_file().obj
    file.write(zlib.compress(inner), filter=pikepdf.Array([pikepdf.Name.FlateDecode, pikepdf.Name.FlateDecode]))


def bomb(document):
    put(document, "depths.csv", b"x")
    document.attachments["depths.csv"].get_file().obj.write(
        zlib.compress(bytes(2**26), 9), filter=pikepdf.Name.FlateDecode
    )


def script(document):
    document.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=pikepdf.String("app.alert(1)"))


def named_script(document):
    document.Root.Names.JavaScript = pikepdf.Dictionary(Names=[])


NAMES = [
    "../job.toml", "/etc/passwd", "a/b.csv", "..\\x.csv", ".bashrc", "evil.py", "sitecustomize.py", "JOB.TOML",
    "tables.xlsx", "con", "01_x.ipynb/..", "numpy.csv", " job.toml", "job.toml ", "‮lmot.boj",
]  # fmt: skip
HOSTILE = {
    "a bomb": (bomb, "carries depths.csv, which is larger than a job may be"),
    "a bomb in a bomb": (object_bomb, "packed as deckcalc packs nothing"),
    "a script at the start": (script, "does something when it is opened"),
    "an action of the document": (lambda d: d.Root.__setitem__("/AA", pikepdf.Dictionary()), "does something when it is opened"),
    "scripts by name": (named_script, "carries scripts"),
    "many files": (lambda d: [put(d, f"{n}.csv", b"") for n in range(300)], "carries 30. files, more than any job has"),
    "no manifest": (lambda d: d.attachments.__delitem__("manifest.json"), r"it carries no manifest\.json"),
    "no job": (lambda d: d.attachments.__delitem__("job.toml"), r"it carries no job\.toml"),
    "a deep manifest": (lambda d: put(d, "manifest.json", b"[" * 100_000), r"manifest\.json cannot be read"),
    "another manifest": (lambda d: put(d, "manifest.json", b'{"inputs": 3}'), r"manifest\.json cannot be read"),
    "a manifest of numbers": (lambda d: in_manifest(d, lambda m: m.update(results={"a": 1})), r"manifest\.json cannot be read"),
}  # fmt: skip


@pytest.mark.parametrize("what", HOSTILE)
def test_a_strange_document_is_refused(what, pdf, tmp_path):
    change, words = HOSTILE[what]
    edited(pdf, change)
    for use in (carried.verify, lambda path: carried.unpack(path, tmp_path / "out")):
        with pytest.raises(PackageError, match=words):
            use(pdf)
    assert sorted(os.listdir(tmp_path)) == ["package.pdf"]


@pytest.mark.parametrize("name", NAMES)
def test_no_name_of_a_file_leads_anywhere(name, pdf, tmp_path):
    edited(pdf, lambda d: put(d, name, b"x"))
    with pytest.raises(PackageError, match="carries a file under a name that no job has"):
        carried.unpack(pdf, tmp_path / "out")
    assert sorted(os.listdir(tmp_path)) == ["package.pdf"]


def locked(data):
    made = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as document:
        document.save(made, encryption=pikepdf.Encryption(owner="a", user="b"))
    return made.getvalue()


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (lambda data: b"", "is no PDF"), (lambda data: b"PK\x03\x04" + data[4:], "is no PDF"), (lambda data: data[: len(data) // 2], "is damaged or was cut off"),
        (lambda data: data[:-200], "is damaged or was cut off"), (lambda data: b"%PDF-1.7\n" + bytes(1000), "is damaged or was cut off"),
        (locked, "is encrypted"), (lambda data: data[:2000] + bytes(4000) + data[6000:], "is damaged or was cut off|cannot be read|carries"),
    ],
)  # fmt: skip
def test_a_damaged_file_is_one_line(made, words, pdf, capsys):
    with open(pdf, "rb") as file:
        data = made(file.read())
    with open(pdf, "wb") as file:
        file.write(data)
    assert cli.main(["verify", str(pdf)]) == 1
    said = capsys.readouterr().err
    assert "Traceback" not in said and said.count("\n") == 1
    with pytest.raises(AssertionError, match=words):
        raise AssertionError(said)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes by name on this system")
def test_what_is_no_plain_file_is_refused_at_once(tmp_path):
    os.mkfifo(tmp_path / "pipe.pdf")
    for path, words in (
        (tmp_path / "pipe.pdf", "pipe.pdf: "),
        (tmp_path, "."),
        (tmp_path / "nowhere.pdf", "there is no such file|leads nowhere"),
    ):
        with pytest.raises(PackageError, match=words):
            carried.verify(path)


def test_a_process_that_ends_or_hangs_is_a_refusal(pdf, monkeypatch):
    for start in ("import os; os._exit(1)", "import sys; sys.stdout.write('[1'); sys.exit(0)"):
        monkeypatch.setattr(carried, "START", start)
        with pytest.raises(PackageError, match="takes more time or memory to open than any package does"):
            carried.read_filed(pdf)


# --- the text of the library


def library(place, name, old, new):
    """Return a copy of the notebooks, without outputs, in which the text of one is another."""
    place.mkdir()
    for path in folder("notebooks").glob("[0-9]*.ipynb"):
        book = json.loads(path.read_text(encoding="utf-8"))
        for cell in book["cells"]:
            text = "".join(cell["source"])
            cell["source"] = text.replace(old, new) if path.name == name else text
            if cell["cell_type"] == "code":
                cell |= {"outputs": [], "execution_count": None}
        (place / path.name).write_text(json.dumps(book), encoding="utf-8")
    return place


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("", "", []),
        ("# folder of the job", "# the job", ["made with another text of 09_sources.ipynb"]),
        ("## Sign-off", "## Signed by", ["made with another text of 00_decisions.ipynb", "not as its inputs give them: page"]),
    ],
)  # fmt: skip
def test_another_text_of_a_notebook_is_named_where_pages_may_differ_for_it(
    filed, tmp_path, monkeypatch, old, new, says
):
    name = "00_decisions.ipynb" if old.startswith("##") else "09_sources.ipynb"
    other = library(tmp_path / "notebooks", name, old, new)
    monkeypatch.setattr(build, "folder", lambda name: other)
    found = carried.verify(filed)
    assert len(found) == len(says) and all(one.startswith(said) for one, said in zip(found, says, strict=True)), found


def test_another_template_is_named(filed, tmp_path, monkeypatch):
    place = tmp_path / "binding"
    shutil.copytree(library_text.BINDING, place)
    for path in place.rglob("*.typ"):
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))  # as some checkouts end their lines
    monkeypatch.setattr(library_text, "BINDING", place)
    filed_with = carried.read_filed(filed).manifest[build.TEXT]
    now = build.text_of(build.chosen(job=compute(SMALL)))
    assert not [*library_text.others(filed_with, now)]
    (place / "filter.lua").write_text("-- another\n", encoding="utf-8")
    now = build.text_of(build.chosen(job=compute(SMALL)))
    assert [*library_text.others(filed_with, now)] == ["made with another text of filter.lua"]
    assert [*library_text.others({**filed_with, "gone.ipynb": ""}, filed_with)] == [
        "made with gone.ipynb, which is not here"
    ]
    assert [*library_text.others({}, now)] == []  # filed before manifests said so


def test_the_manifest_beside_the_package_holds_the_other_forms_and_the_document_of_the_office(filed):
    beside = json.loads((filed.parent / "manifest.json").read_bytes())
    inside = carried.read_filed(filed).manifest
    assert beside[build.TEXT] == inside[build.TEXT] and "text of other forms" not in inside
    assert {"package.html", "package.openxml", "docx/word/styles.xml"} <= {*beside["text of other forms"]}
    assert library_text.REFERENCE not in beside["text of other forms"]
    assert library_text.of_other_forms(b"office")[library_text.REFERENCE].startswith("5cc3f828")


def test_a_cell_that_fails_leaves_drawings_to_be_read_as_before(tmp_path):
    path = tmp_path / "01_faulty.ipynb"
    book = json.loads((folder("notebooks") / "09_sources.ipynb").read_text(encoding="utf-8"))
    book["cells"][1]["source"] = "1 / 0"
    path.write_text(json.dumps(book), encoding="utf-8")
    before = READING.get()
    with pytest.raises(PackageError, match=r"01_faulty\.ipynb"):
        build.run_sheets(compute(SMALL), [build.Sheet(path.name, path)], tmp_path)
    assert READING.get() is before
