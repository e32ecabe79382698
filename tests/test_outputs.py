"""Check that nothing of the user's is lost: what may be replaced, builds that are killed, full disks, and tables of many jobs."""

import csv
import errno
import io
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from samples import DEMO, demo

from deckcalc import cli
from deckcalc.base import replacing
from deckcalc.base.fields import JobError
from deckcalc.core.units import InputError
from deckcalc.job import compute, programme
from deckcalc.package import build as package
from deckcalc.package.documents import PackageError

FILES = ["manifest.json", "package.docx", "package.html", "package.pdf"]
BESIDE = [".deckcalc-", ".binding-", ".programme-"]


def stand_in(monkeypatch, text="first"):
    """Let a build take no time: one sheet of one sentence, three small files."""

    def bind(documents, imprint, figures, out):
        for name in FILES[1:]:
            (out / name).write_bytes(f"{name} {text}".encode())

    monkeypatch.setattr(package, "compute", lambda folder: demo("SI"))
    monkeypatch.setattr(package, "run_sheets", lambda *args: {"01_sheet.ipynb": "# Sheet\n\nText.\n"})
    monkeypatch.setattr(package, "bind", bind)
    monkeypatch.setattr(package, "manifest", lambda *asked: {"checks": [{"verdict": "satisfied"}]})


def tree(place):
    """Return everything below a folder: names, and what files hold."""
    return {
        path.relative_to(place).as_posix(): path.read_bytes() if path.is_file() else "folder"
        for path in sorted(place.rglob("*"))
    }


@pytest.fixture
def job(tmp_path, monkeypatch):
    """A job folder with a package built into it."""
    stand_in(monkeypatch)
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.toml").write_bytes(b"the job")
    package.build(folder)
    stand_in(monkeypatch, "second")
    return folder


def whole(place, *texts):
    """Whether a folder is one of some packages, whole."""
    return place.is_dir() and not replacing.strangers(place) and sorted(tree(place)) == FILES and (
        (place / "package.pdf").read_text(encoding="utf-8").split()[1] in texts
    )  # fmt: skip


# --- what may be replaced


def test_an_unchanged_package_is_replaced_and_nothing_is_left_beside_it(job):
    said = []
    assert package.build(job, say=said.append) == job / "package" and said == []
    assert whole(job / "package", "second") and sorted(os.listdir(job)) == ["job.toml", "package"]


def add(name):
    """Return a change that lays something into the package."""
    return lambda place: (place / name).write_bytes(b"mine")


CHANGES = {
    "a signed copy": (add("package-SIGNED.pdf"), "package-SIGNED.pdf (not made by deckcalc)"),
    "a signature in the file": (lambda place: (place / "package.pdf").write_bytes(b"signed"), "package.pdf (changed since it was made)"),
    "a comment in the DOCX": (lambda place: (place / "package.docx").write_bytes(b"comment"), "package.docx (changed"),
    "a manifest that was edited": (lambda place: (place / "manifest.json").write_text((place / "manifest.json").read_text(encoding="utf-8").replace('"satisfied"', '"fine"'), encoding="utf-8"), "manifest.json (changed or incomplete)"),
    "a manifest with another end": (lambda place: (place / "manifest.json").write_bytes((place / "manifest.json").read_bytes() + b"\n"), "manifest.json (changed or incomplete)"),
    "no manifest": (lambda place: (place / "manifest.json").unlink(), "package.pdf (not made by deckcalc)"),
    "a manifest that is no JSON": (lambda place: (place / "manifest.json").write_bytes(b"[" * 5000), "manifest.json (changed or incomplete)"),
    "a job": (add("job.toml"), "job.toml (not made by deckcalc)"),
    "a hidden file": (add(".note"), ".note (not made by deckcalc)"),
    "a folder": (lambda place: (place / "letters").mkdir(), "letters (not made by deckcalc)"),
    "a folder in the place of a file": (lambda place: ((place / "package.pdf").unlink(), (place / "package.pdf").mkdir()), "package.pdf (changed"),
    "a link in the place of a file": (lambda place: ((place / "package.pdf").rename(place.parent / "moved.pdf"), (place / "package.pdf").symlink_to(place.parent / "moved.pdf")), "package.pdf (changed"),
    "another case": (lambda place: (place / "package.pdf").rename(place / "Package.PDF"), "Package.PDF (not made by deckcalc)"),
}  # fmt: skip


@pytest.mark.parametrize("change", CHANGES)
def test_what_is_the_users_is_named_and_kept_and_a_build_asked_for_there_is_refused(job, change):
    make, words = CHANGES[change]
    make(job / "package")
    before = tree(job)
    with pytest.raises(PackageError, match="is not a package that may be replaced") as refused:
        package.build(job, job / "package")
    assert words in str(refused.value) and "nothing was touched" in str(refused.value)
    assert tree(job) == before


@pytest.mark.parametrize("change", CHANGES)
def test_the_default_build_goes_beside_what_is_the_users_and_says_so(job, change):
    CHANGES[change][0](job / "package")
    before, said = tree(job), []
    assert package.build(job, say=said.append) == job / "package-2"
    assert whole(job / "package-2", "second") and "goes beside it" in said[0]
    after = tree(job)
    assert {name: after[name] for name in before} == before and len(after) == len(before) + 5


def test_beside_means_the_next_number_that_is_free_or_an_unchanged_package(job):
    for name in ("package", "package-2"):
        package.build(job)
        (job / name / "signed.pdf").write_bytes(b"mine")
    for _ in range(2):
        assert package.build(job).name == "package-3"
    assert sorted(os.listdir(job)) == ["job.toml", "package", "package-2", "package-3"]


def test_many_strangers_are_named_up_to_a_number(tmp_path):
    for number in range(20):
        (tmp_path / f"{number:02}.txt").touch()
    words = replacing.named(replacing.strangers(tmp_path))
    assert words.startswith("00.txt (not made by deckcalc), ") and words.endswith(" and 14 more")


def test_what_was_taken_out_of_a_pdf_is_not_replaced_by_a_build_into_its_own_folder(tmp_path, monkeypatch, capsys):
    stand_in(monkeypatch)
    place = tmp_path / "ex"
    place.mkdir()
    for name in ("job.toml", "bars.csv", "manifest.json"):
        (place / name).write_bytes(b"{}")
    before = tree(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert cli.main(["package", "ex", "--out", "ex", "--quiet"]) == 1
    assert "ex is not a package that may be replaced: bars.csv" in capsys.readouterr().err
    assert tree(tmp_path) == before


@pytest.mark.parametrize(
    "out", ["job", "job/.", "job/../job", "job/package/..", ".", "..", "job/job.toml", "job/job.toml/x"]
)
def test_a_place_that_is_or_holds_the_job_is_refused(job, monkeypatch, out):
    monkeypatch.chdir(job.parent)
    before = tree(job.parent)
    with pytest.raises(PackageError):
        package.build(job, out)
    assert tree(job.parent) == before


def test_a_link_stays_a_link_and_its_target_is_built(job):
    store = job.parent / "store"
    for target in ("empty", "not there yet", "built before"):
        link = job.parent / f"to {target}"
        if target == "empty":
            (store / target).mkdir(parents=True)
        link.symlink_to(store / target)
        assert package.build(job, link) == link
        assert link.is_symlink() and link.readlink() == store / target and whole(store / target, "second")
        package.build(job, link)
        assert link.is_symlink() and sorted(os.listdir(store / target)) == FILES
    assert sorted(os.listdir(store)) == ["built before", "empty", "not there yet"]


def test_a_link_to_what_is_the_users_is_refused(job):
    (job.parent / "link").symlink_to(job)
    (job.parent / "round").symlink_to(job.parent / "round")
    before = tree(job)
    for name in ("link", "round"):
        with pytest.raises(PackageError):
            package.build(job, job.parent / name)
        assert (job.parent / name).is_symlink()
    assert tree(job) == before


def test_what_is_signed_while_the_new_package_is_made_stays(job, monkeypatch):
    made = package.bind

    def bind(*args):
        made(*args)
        (job / "package" / "package.pdf").write_bytes(b"signed meanwhile")

    monkeypatch.setattr(package, "bind", bind)
    said = []
    assert package.build(job, say=said.append) == job / "package-2" and len(said) == 1
    assert (job / "package" / "package.pdf").read_bytes() == b"signed meanwhile" and whole(job / "package-2", "second")
    assert sorted(os.listdir(job)) == ["job.toml", "package", "package-2"]


def test_what_is_signed_between_the_last_look_and_the_move_stays(job, monkeypatch):
    move = os.replace

    def replace(source, target):
        if Path(source) == job / "package" and replacing.AWAY in str(target):
            (job / "package" / "signed.pdf").write_bytes(b"mine")
        move(source, target)

    monkeypatch.setattr(replacing.os, "replace", replace)
    with pytest.raises(PackageError, match=r"signed\.pdf"):
        package.build(job, job / "package")
    assert (job / "package" / "signed.pdf").read_bytes() == b"mine" and sorted(os.listdir(job)) == [
        "job.toml",
        "package",
    ]


def test_folders_that_were_made_for_a_build_that_failed_are_gone(tmp_path, monkeypatch):
    stand_in(monkeypatch)
    monkeypatch.setattr(package, "bind", lambda *args: (_ for _ in ()).throw(PackageError("no ink")))
    with pytest.raises(PackageError, match="no ink"):
        package.build(DEMO["SI"], tmp_path / "a" / "b" / "c")
    assert list(tmp_path.iterdir()) == []


# --- read once


def test_a_file_that_changes_during_a_build_has_no_effect_on_any_part(tmp_path, monkeypatch):
    folder = tmp_path / "job"
    shutil.copytree(DEMO["SI"], folder)
    run, seen = package.run_sheets, {}

    def changing(job, sheets, *args):
        for path in folder.iterdir():
            path.write_bytes(b"changed") if path.suffix == ".csv" else path.unlink()
        return run(job, sheets, *args)

    monkeypatch.setattr(package, "run_sheets", changing)
    monkeypatch.setattr(
        package,
        "bind",
        lambda documents, *args: seen.update(text=documents[0].markdown, files=documents[0].attachments),
    )
    out = package.build(folder, tmp_path / "out", quiet=True, only="appendix")
    filed = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    for path in DEMO["SI"].iterdir():
        assert seen["files"][path.name] == path.read_bytes()
        assert filed["inputs"][path.name] in seen["text"]
    assert filed["results"] == package.results(demo("SI"))


def test_a_job_with_changed_inputs_is_bound_as_it_is_and_its_folder_is_not_read_again(tmp_path, monkeypatch):
    folder, seen = tmp_path / "job", {}
    shutil.copytree(DEMO["SI"], folder)
    job = compute(folder, {"deck.slab_thickness": "210 mm"})
    for path in folder.iterdir():
        path.unlink()
    monkeypatch.setattr(package, "bind", lambda documents, *args: seen.update(text=documents[0].markdown))
    out = package.build(job, tmp_path / "out", quiet=True, only="decisions")
    filed = json.loads((out / "manifest.json").read_text(encoding="utf-8"))["results"]
    assert "deck.slab_thickness = 210 mm" in seen["text"].replace("\\", "")
    assert filed == package.results(job) != package.results(demo("SI"))


def test_the_same_bytes_give_the_same_job_and_other_bytes_with_the_same_date_do_not(tmp_path):
    folder = tmp_path / "job"
    shutil.copytree(DEMO["SI"], folder)
    first = compute(folder)
    assert compute(folder) is first and compute(first) is first
    path = folder / "job.toml"
    stamp = path.stat()
    path.write_bytes(path.read_bytes().replace(b'"TH-114-C-01"', b'"TH-114-C-02"'))
    os.utime(path, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    assert compute(folder).settings.package.number == "TH-114-C-02"


# --- killed


BUILD = """
import sys
from pathlib import Path
sys.path[:0] = [{tests!r}, {root!r}]
from deckcalc.base.replacing import hashes, holding, put, sealed, free_place
out, text = Path(sys.argv[1]), sys.argv[2]
print("ready", flush=True)
while True:
    with holding(free_place(out, False)) as holder:
        work = holder / "new"
        work.mkdir()
        for name in ("package.docx", "package.html", "package.pdf"):
            (work / name).write_text(f"{{name}} {{text}} " + "x" * 200_000)
        (work / "manifest.json").write_bytes(sealed({{"files": hashes(work)}}))
        put(work, out, False)
    print("built", flush=True)
"""


def builder(out, text):
    """Start a process that builds one package again and again."""
    here = Path(__file__).parent
    code = BUILD.format(tests=str(here), root=str(here.parent))
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(out), text], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout.readline() == b"ready\n"
    return process


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_killed_at_any_moment_the_former_package_or_the_new_one_is_there_whole(tmp_path):
    out, dice = tmp_path / "package", random.Random(13)
    for round_, text in zip(range(10), "abcdefghij", strict=True):
        process = builder(out, text)
        assert process.stdout.readline() == b"built\n"
        time.sleep(dice.uniform(0, 0.05))
        os.kill(process.pid, signal.SIGKILL)
        process.communicate(timeout=120)
        with replacing.holding(tmp_path / "other"):  # the next build, of whatever is made in this folder
            pass
        assert whole(out, text), round_
        assert os.listdir(tmp_path) == ["package"], round_


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_two_builds_at_once_leave_one_of_both_whole(tmp_path):
    out = tmp_path / "package"
    both = [builder(out, text) for text in ("one", "two")]
    for process in both:
        for _ in range(5):
            assert process.stdout.readline() == b"built\n", process.stderr.read()
    for process in both:
        process.kill()
        assert process.communicate(timeout=120)[1] == b""
    replacing.tidy(tmp_path)
    assert whole(out, "one", "two") and os.listdir(tmp_path) == ["package"]


@pytest.mark.parametrize("number", [errno.EEXIST, errno.ENOTEMPTY])
def test_a_package_that_came_between_and_is_gone_again_is_no_fault(tmp_path, monkeypatch, number):
    """Another build takes the place between look and move, and the next one has cleared it before it is looked at."""
    new, move, refused = tmp_path / "holder" / "new", os.replace, []
    new.mkdir(parents=True)
    (new / "package.pdf").write_bytes(b"new")

    def replace(source, target):
        if source == new and not refused:
            refused.append(target)
            raise OSError(number, os.strerror(number), str(target))
        move(source, target)

    monkeypatch.setattr(replacing.os, "replace", replace)
    assert replacing.put(new, tmp_path / "package", beside=False) == tmp_path / "package"
    assert refused and (tmp_path / "package" / "package.pdf").read_bytes() == b"new"


@pytest.mark.parametrize("error", [FileNotFoundError, FileExistsError, lambda: replacing.Timeout("lock"), None])
def test_a_holder_that_another_process_tidied_away_is_made_again(tmp_path, monkeypatch, error):
    """It goes before it is locked, while its lock is made, or after it was locked for nothing."""
    gone, acquire = [], replacing.FileLock.acquire

    def locked(lock, **given):
        acquire(lock, **given)
        if not gone:
            gone.append(Path(lock.lock_file).parent)
            shutil.rmtree(gone[0])
            if error:
                raise error()

    monkeypatch.setattr(replacing.FileLock, "acquire", locked)
    with replacing.holding(tmp_path / "package") as holder:
        assert len(gone) == 1 and gone[0] != holder and (holder / replacing.LOCK).is_file()
    assert os.listdir(tmp_path) == []


def killed_at(moment, job, monkeypatch):
    """Build, and leave things as a process that is killed at a moment leaves them."""

    class Killed(BaseException):
        pass

    moves, move = [], os.replace

    def replace(source, target):
        if len(moves) == moment:
            raise Killed
        moves.append(target)
        move(source, target)

    with monkeypatch.context() as patched:
        patched.setattr(replacing.os, "replace", replace)
        patched.setattr(replacing, "restore", lambda holder: None)
        patched.setattr(replacing, "clear", lambda holder, lock: lock.release(force=True))
        with pytest.raises(Killed):
            package.build(job)


@pytest.mark.parametrize("moment", [0, 1])
def test_the_next_build_brings_back_what_a_killed_one_had_moved_away(job, monkeypatch, moment):
    killed_at(moment, job, monkeypatch)
    assert (job / "package").exists() == (moment == 0)
    replacing.tidy(job)
    assert whole(job / "package", "first") and sorted(os.listdir(job)) == ["job.toml", "package"]


def test_what_a_killed_build_had_moved_away_is_kept_where_the_user_has_put_something_in_its_place(job, monkeypatch):
    killed_at(1, job, monkeypatch)
    holder = next(job.glob(".deckcalc-*"))
    (holder / replacing.AWAY / "package" / "signed.pdf").write_bytes(b"mine")
    (job / "package").mkdir()
    (job / "package" / "letter.txt").write_bytes(b"mine too")
    package.build(job)
    assert os.listdir(job / "package") == ["letter.txt"]
    assert (job / "package-2" / "signed.pdf").read_bytes() == b"mine" or (job / "package-3" / "signed.pdf").exists()
    assert not list(job.glob(".deckcalc-*"))


def test_a_build_killed_while_the_former_package_is_removed_leaves_nothing_of_it(job, monkeypatch):
    def cut_short(path):
        for name in ("manifest.json", "package.pdf"):
            (path / "package" / name).unlink()
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(replacing.shutil, "rmtree", cut_short)
        with pytest.raises(KeyboardInterrupt):
            package.build(job)
    assert len(list(job.glob(".deckcalc-*"))) == 1
    replacing.tidy(job)
    assert sorted(os.listdir(job)) == ["job.toml", "package"] and not replacing.strangers(job / "package")


def test_what_became_the_users_is_put_beside_a_package_that_has_its_place(job, monkeypatch):
    killed_at(1, job, monkeypatch)
    holder = next(job.glob(".deckcalc-*"))
    shutil.copytree(holder / replacing.AWAY / "package", job / "package")
    (holder / replacing.AWAY / "package" / "signed.pdf").write_bytes(b"mine")
    replacing.tidy(job)
    assert sorted(os.listdir(job)) == ["job.toml", "package", "package-2"]
    assert (job / "package-2" / "signed.pdf").read_bytes() == b"mine" and not replacing.strangers(job / "package")


def test_a_holder_of_a_process_at_work_is_left_alone(job):
    with replacing.holding(job / "package") as other:
        (other / "new").mkdir()
        package.build(job)
        assert (other / "new").is_dir()
    assert sorted(os.listdir(job)) == ["job.toml", "package"]


def test_a_hidden_folder_that_is_not_ours_is_left_alone(job):
    theirs = job / ".deckcalc-notes"
    theirs.mkdir()
    (theirs / "note.txt").write_bytes(b"mine")
    (job / ".deckcalc-link").symlink_to(theirs)
    package.build(job)
    assert (theirs / "note.txt").read_bytes() == b"mine" and (job / ".deckcalc-link").is_symlink()


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
@pytest.mark.parametrize("number", ["SIGINT", "SIGTERM"])
def test_a_signal_in_a_real_build_leaves_the_former_package(tmp_path, number):
    out = tmp_path / "out"
    process = builder(out, "former")
    process.stdout.readline()
    process.send_signal(getattr(signal, number))
    process.communicate(timeout=60)
    replacing.tidy(tmp_path)
    assert whole(out, "former") and os.listdir(tmp_path) == ["out"]


# --- disks that are full or cannot be written


class Disk:
    """A disk that refuses the n-th thing that is written to it, and counts."""

    def __init__(self, monkeypatch, place, number, refusal):
        self.count = 0
        for module, name in ((os, "mkdir"), (os, "replace"), (os, "rename"), (io, "open"), (os, "rmdir")):
            monkeypatch.setattr(module, name, self.watched(getattr(module, name), place, number, refusal))

    def watched(self, real, place, number, refusal):
        """Return a function that refuses once."""

        def call(path, *args, **kwargs):
            mode = args[0] if args and isinstance(args[0], str) else kwargs.get("mode", "r")
            writes = (real is not io.open and real.__name__ != "open") or set(mode) & set("wax+")
            if writes and not isinstance(path, int) and str(path).startswith(str(place)):
                self.count += 1
                if self.count == number:
                    raise OSError(refusal, os.strerror(refusal), str(path))
            return real(path, *args, **kwargs)

        call.__name__ = real.__name__
        return call


@pytest.mark.parametrize(
    "refusal", [errno.ENOSPC, errno.EROFS, errno.EACCES], ids=lambda number: errno.errorcode[number]
)
def test_a_disk_that_refuses_at_any_moment_leaves_the_former_package_or_the_new_one(job, monkeypatch, refusal):
    there, refused = "first", []
    for number in range(1, 16):
        stand_in(monkeypatch, f"build-{number}")
        with pytest.MonkeyPatch.context() as patched:
            Disk(patched, job, number, refusal)
            try:
                package.build(job)
                there = f"build-{number}"
            except PackageError as error:
                refused.append(str(error))
        replacing.tidy(job)
        assert whole(job / "package", there), number
        assert sorted(os.listdir(job)) == ["job.toml", "package"], number
    assert 5 < len(refused) < 15
    assert all(os.strerror(refusal) in words and "\n" not in words for words in refused)


@pytest.mark.parametrize("number", range(1, 50, 5))
def test_a_new_job_on_a_full_disk_is_made_whole_or_not_at_all(tmp_path, number, capsys):
    target = tmp_path / "below" / "new job"
    with pytest.MonkeyPatch.context() as patched:
        Disk(patched, tmp_path, number, errno.ENOSPC)
        status = cli.main(["new", str(target)])
    if status:
        assert os.strerror(errno.ENOSPC) in capsys.readouterr().err
        assert list(tmp_path.iterdir()) == []
        assert cli.main(["new", str(target)]) == 0
    assert sorted(os.listdir(target)) == ["job.toml", "patches.csv", "reference.toml"] and os.listdir(
        tmp_path / "below"
    ) == ["new job"]


def test_a_new_job_is_not_made_over_a_link_that_leads_nowhere(tmp_path, capsys):
    (tmp_path / "job").symlink_to(tmp_path / "nowhere")
    assert cli.main(["new", str(tmp_path / "job")]) == 1 and "exists already" in capsys.readouterr().err
    assert os.listdir(tmp_path) == ["job"]


# --- the table of many jobs


@pytest.fixture
def table(tmp_path, monkeypatch):
    """A table of the programme, and a way to write another one."""
    rows = [
        {"job": "j1", "package": "TH-1", "night": "1", "sand [kg]": "12"},
        {"job": "j1", "night": "2", "patches": "P1, “P2”"},
    ]
    made = programme.Programme(rows=rows, faults={"j2": ["no closure"]}, jobs=1)
    monkeypatch.setattr(programme, "plan", lambda *args: made)
    out = tmp_path / "plan.csv"
    programme.write(made, out)
    return out, made


def test_an_unchanged_table_is_replaced_and_can_be_read_as_any_table(table):
    out, made = table
    made.rows[0]["sand [kg]"] = "13"
    programme.write(made, out)
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["sand [kg]"] for row in rows] == ["13", "", ""] and os.listdir(out.parent) == ["plan.csv"]
    assert rows[1]["patches"] == "P1, “P2”" and rows[2]["fault"] == "no closure"


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace(",12,", ",11,"), lambda text: text.replace("fault", "note"), lambda text: text + "j9,,,,\n",
        lambda text: "units = SI\n", lambda text: "", lambda text: text.replace("job,", "where,", 1), lambda text: "\0", lambda text: text[:-3],
    ],
)  # fmt: skip
def test_a_table_that_was_edited_or_any_other_file_is_left_as_it_was(table, capsys, change):
    out, _ = table
    out.write_text(change(out.read_text(encoding="utf-8")), encoding="utf-8")
    before = out.read_bytes()
    assert cli.main(["programme", "j1", "--out", str(out), "--quiet"]) == 1
    assert "was left as it is; name another file with --out" in capsys.readouterr().err
    assert out.read_bytes() == before


@pytest.mark.parametrize("content", [b"units = 'SI'\n", b"\xff\xfe\x00", b'"' * 200_000])
def test_a_job_file_or_a_file_that_is_no_text_is_never_replaced_by_a_table(table, content):
    out, made = table
    other = out.with_name("job.toml")
    other.write_bytes(content)
    with pytest.raises(InputError, match="is not a table of the programme and was left as it is"):
        programme.write(made, other)
    assert other.read_bytes() == content


def test_a_run_in_which_no_job_could_be_planned_leaves_the_last_table(table, monkeypatch, capsys, tmp_path):
    out, _ = table
    before = out.read_bytes()
    monkeypatch.setattr(programme, "plan", lambda *args: programme.Programme(faults={"j1": ["job.toml: missing"]}))
    assert cli.main(["programme", "j1", "--out", str(out), "--quiet"]) == 1
    said = capsys.readouterr()
    assert said.out == "" and "j1: job.toml: missing" in said.err and "no job could be planned" in said.err
    assert out.read_bytes() == before and os.listdir(tmp_path) == ["plan.csv"]


def test_a_link_to_a_table_stays_a_link(table):
    out, made = table
    link = out.with_name("latest.csv")
    link.symlink_to(out.name)
    made.rows[0]["sand [kg]"] = "14"
    programme.write(made, link)
    assert link.is_symlink() and ",14," in out.read_text(encoding="utf-8")


def test_a_table_on_a_full_disk_stays_as_it_was(table):
    out, made = table
    refused = 0
    for number in range(1, 10):
        before, made.rows[0]["sand [kg]"] = out.read_bytes(), f"{20 + number}"
        with pytest.MonkeyPatch.context() as patched:
            Disk(patched, out.parent, number, errno.ENOSPC)
            try:
                programme.write(made, out)
                assert f",{20 + number}," in out.read_text(encoding="utf-8")
            except PackageError:
                refused += 1
                assert out.read_bytes() == before
        replacing.tidy(out.parent)
        assert os.listdir(out.parent) == ["plan.csv"]
    assert 2 < refused < 9


# --- nothing in a job folder is imported


MODULES = ("deckcalc", "numpy", "sitecustomize", "json", "csv", "IPython", "typst")


@pytest.fixture
def trap(tmp_path):
    """A job folder with modules that tell when they are imported."""
    folder = tmp_path / "trap"
    shutil.copytree(DEMO["SI"], folder)
    for name in MODULES:
        (folder / f"{name}.py").write_text(f"open({str(tmp_path / 'sprung')!r}, 'w').close()\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    "command",
    [["check", "."], ["list"], ["package", ".", "--only", "decisions", "--quiet", "--out", "../out"]],
    ids=" ".join,
)
def test_no_module_of_the_job_folder_is_imported_by_the_command(trap, command):
    script = trap.parent / "deckcalc-command"
    script.write_text("import sys\nfrom deckcalc.ends import entry\nentry()\n", encoding="utf-8")
    root = {**os.environ, "PYTHONPATH": str(Path(__file__).parent.parent)}
    done = subprocess.run(
        [sys.executable, script, *command], cwd=trap, env=root, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert not (trap.parent / "sprung").exists()
    assert not (trap / "__pycache__").exists()


def test_no_module_of_the_working_folder_is_imported_by_the_module_that_is_the_command(trap):
    (trap / "deckcalc.py").unlink()  # Python itself would take that for the command
    root = {**os.environ, "PYTHONPATH": str(Path(__file__).parent.parent)}
    done = subprocess.run(
        [sys.executable, "-m", "deckcalc", "list", "limits"],
        cwd=trap,
        env=root,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0 and "saw_depth" in done.stdout, done.stderr
    assert not (trap.parent / "sprung").exists()


def test_a_job_that_cannot_be_read_leaves_no_trace(tmp_path):
    with pytest.raises(JobError):
        package.build(tmp_path / "nowhere", tmp_path / "a" / "b")
    assert list(tmp_path.iterdir()) == []
