"""Check the reading of a job folder: what is no plain data is a fault at once, and nothing of it is passed over in silence."""

import os
import re
import shutil
import socket

import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples import DEMO

from deckcalc import cli
from deckcalc.base import fields
from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.core.units import InputError
from deckcalc.job import Job, bounded, compute, programme
from deckcalc.job import folder as jobfolder
from deckcalc.job.file import read_folder, read_job
from deckcalc.job.settings import ROWS as NEEDED
from deckcalc.package import front


@pytest.fixture
def folder(tmp_path):
    """A copy of the SI demo job."""
    return shutil.copytree(DEMO["SI"], tmp_path / "job", ignore=shutil.ignore_patterns("package", "kernel-*", ".*"))


def faults_of(folder, changes=None):
    """Read a folder; return every fault, none of them longer than a person reads or with a sign that no screen prints."""
    with pytest.raises(JobError) as caught:
        read_job(folder, changes)
    for fault in caught.value.faults:
        assert fault.isprintable() and len(fault) <= 2001 and "Traceback" not in fault
    return caught.value.faults


def named(folder, words, changes=None):
    """Hold that a fault of these words is found; return all of them."""
    faults = faults_of(folder, changes)
    assert any(re.search(words, fault) for fault in faults), faults
    return faults


def replace(folder, name, old, new):
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")


# --- spelled as the trade does


def test_a_job_spelled_in_other_ways_is_the_same_job():
    spelled = {
        "deck.slab_thickness": "8″", "deck.bar_spacing": "½ ft", "deck.top_bar_outer": "No. 5", "deck.bottom_cover": "1 IN",
        "rectangles.F1.middle_station": "1+42", "rectangles.F1.width": "2½", "rectangles.F2.middle_station": "sta 1+69,25", "bars.B1.size": "# 5",
        "bars.B1.loss_length": "3″", "depths.D1.depth": "2½", "depths.D1.cover": "1 7/8″", "placements.N1.start": "4/14/2026 10:30 p.m.",
        "placements.N1.opening": "15.4.2026, 6:00",
    }  # fmt: skip
    plain, other = read_job(DEMO["US"]), read_job(DEMO["US"], spelled)
    kept = {"deck", "plan"}
    assert other.settings.model_dump(include=kept) == plain.settings.model_dump(include=kept)
    assert [str(row) for name in plain.rows for row in other.rows[name]] == [
        str(row) for name in plain.rows for row in plain.rows[name]
    ]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"deck.slab_thickness": "22,000 mm"}, "job.toml: deck.slab_thickness: found “22,000 mm”, which may be 22 mm or 22000 mm; write one of them"),
        ({"deck.slab_thickness": "8' 14\""}, "job.toml: deck.slab_thickness: .*inches beside feet are less than 12"),
        ({"deck.top_bar_outer": "#16"}, r"job.toml: deck.top_bar_outer: found “#16”, which may be the bar M16 .* or 16 \(ISO\); write one of them"),
        ({"bars.B1.size": "T16"}, "bars.csv, row 2, column size: found “T16”, where the letter is not usual"),
        ({"rectangles.F1.length": "0,900"}, ""), ({"rectangles.F1.length": "1,200"}, r"rectangles.csv, row 2, column length \[m\]: found “1,200 m”, which may be 1.2 m or 1200 m"),
        ({"plan.right": "0+05"}, r"job.toml: plan.right: found “0\+05”, which may be 5 ft or 5 m"),
        ({"placements.W1.start": "05/07/2027 23:50"}, "placements.csv, row [0-9]+, column start: found “05/07/2027 23:50”, which may be 5 July 2027 or 7 May 2027"),
        ({"placements.W1.start": "2027-05-07 23:50+02:00"}, "placements.csv, row [0-9]+, column start: .*leave out the time zone"),
        ({"closure.closes": "2100"}, "job.toml: closure.closes: found “2100”: write the hour as 21:00"),
    ],
)  # fmt: skip
def test_what_can_be_read_in_two_ways_is_named_with_its_place(folder, changes, words):
    if words:
        named(folder, words, changes)
    else:
        assert read_job(folder, changes).rows["rectangles"][0].length == 0.9


# --- read once


def test_everything_comes_from_one_reading(folder):
    contents = read_folder(folder)
    before = {name: (folder / name).read_bytes() for name in contents.files}
    for path in folder.iterdir():
        path.unlink()
    file = read_job(contents)
    assert file.verbatim == before and set(before) > {"job.toml", "bars.csv"}
    assert [name for name, _ in contents.sha256] == [*file.verbatim]


def test_a_file_that_was_read_is_carried_without_reading_again(folder, monkeypatch):
    monkeypatch.setattr(Job, "compute_all", lambda self: None)
    file = read_job(folder)
    shutil.rmtree(folder)
    carried = compute(file)
    assert carried.file is file and compute(file) is carried
    assert compute(file, {"limits.waste": "21 %"}).file.changes == {"limits.waste": "21 %"}
    assert compute(file.contents).file.verbatim == file.verbatim


def test_changed_content_of_the_same_size_and_time_gives_another_job(folder, monkeypatch):
    monkeypatch.setattr(Job, "compute_all", lambda self: None)
    first, path = compute(folder), folder / "pits.csv"
    assert compute(folder) is first
    status = path.stat()
    replace(folder, "pits.csv", "1.27", "1.72")
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))
    assert (path.stat().st_size, path.stat().st_mtime_ns) == (status.st_size, status.st_mtime_ns)
    second = compute(folder)
    assert float(second.file.rows["pits"][0].depth.m_as("mm")) == 1.72
    assert float(first.file.rows["pits"][0].depth.m_as("mm")) == 1.27


def test_a_file_that_grows_while_it_is_read_is_a_fault(folder, monkeypatch):
    whole, path = os.fstat, folder / "pits.csv"
    calls = []

    def growing(handle):
        if os.path.samestat(whole(handle), path.stat()):
            calls.append(handle)
            if len(calls) == 2:
                with path.open("a", encoding="utf-8") as file:
                    file.write("B3,1 mm\n")
        return whole(handle)

    monkeypatch.setattr(jobfolder.os, "fstat", growing)
    assert "pits.csv: changed while it was read; run again when it is saved" in faults_of(folder)


# --- what is no plain file


def test_a_folder_a_pipe_a_socket_and_links_out_of_the_folder_are_faults(folder, tmp_path):
    outside = tmp_path / "outside.csv"
    shutil.copyfile(folder / "bars.csv", outside)
    listener = socket.socket(socket.AF_UNIX)
    for name in ("bars", "pits", "cores", "depths", "stock", "covers", "zones", "rules"):
        (folder / f"{name}.csv").unlink()
    (folder / "bars.csv").symlink_to(outside)
    (folder / "pits.csv").mkdir()
    os.mkfifo(folder / "cores.csv")
    (folder / "depths.csv").symlink_to("/dev/zero")
    (folder / "covers.csv").symlink_to("nowhere.csv")
    (folder / "zones.csv").symlink_to("zones.csv")
    (folder / "rules.csv").symlink_to("/dev/stdin")
    here = os.getcwd()
    try:
        os.chdir(folder)  # the name of a socket is short
        listener.bind("stock.csv")
    finally:
        os.chdir(here)
    faults = faults_of(folder)
    listener.close()
    for words in (
        r"bars.csv: a link that leads out of the job folder, to .*outside.csv; put the file itself there", "pits.csv: a folder, wanted a file",
        "cores.csv: a pipe, a socket or a device", "stock.csv: a pipe, a socket or a device", "depths.csv: a link that leads out",
        "covers.csv: a link that leads nowhere", "zones.csv: a link that leads", "rules.csv: (a link that leads|cannot be read)",
    ):  # fmt: skip
        assert any(re.match(words, fault) for fault in faults), (words, faults)
    assert not any("missing" in fault for fault in faults)


def test_a_link_within_the_folder_is_read_and_its_target_is_no_stranger(folder):
    (folder / "bars.csv").rename(folder / "measured in May.csv")
    (folder / "bars.csv").symlink_to("measured in May.csv")
    file = read_job(folder)
    assert "bars.csv" in file.verbatim and file.unread == []


def test_a_folder_of_jobs_may_be_a_link(folder, tmp_path):
    (tmp_path / "link").symlink_to(folder)
    assert read_job(tmp_path / "link").verbatim == read_job(folder).verbatim


def test_a_file_without_permission_is_a_fault(folder, monkeypatch):
    opened = os.open

    def refused(path, *rest):
        if str(path).endswith("bars.csv"):
            raise PermissionError(13, "Permission denied")
        return opened(path, *rest)

    monkeypatch.setattr(jobfolder.os, "open", refused)
    assert faults_of(folder) == ["bars.csv: cannot be read: Permission denied"]


@pytest.mark.parametrize("name", ["nowhere", "x" * 5000, "a\0b"])
def test_a_folder_that_cannot_be_listed_is_a_fault(tmp_path, name):
    with pytest.raises(JobError, match="there is no such folder|the folder cannot be read"):
        compute(str(tmp_path) + "/" + name)


def test_a_folder_that_links_to_itself_or_holds_too_much_is_a_fault(folder):
    (folder.parent / "loop").symlink_to("loop")
    with pytest.raises(JobError, match="cannot be read"):
        read_folder(folder.parent / "loop")
    for number in range(jobfolder.MOST_ENTRIES):
        (folder / f"photo {number}.jpg").touch()
    assert faults_of(folder) == [
        f"{folder}: more than 1000 files; a job folder holds one job: keep the others in a folder below it"
    ]


# --- sizes


def test_a_file_beyond_its_bound_is_not_read(folder):
    with (folder / "bars.csv").open("r+b") as file:
        file.truncate(92 * jobfolder.MEGABYTE)  # takes no room on the disk
    with (folder / "job.toml").open("r+b") as file:
        file.truncate(50 * jobfolder.MEGABYTE)
    assert faults_of(folder) == [
        "job.toml: 50.0 MB; at most 1 MB are read, as every row is printed in the package",
        "bars.csv: 92.0 MB; at most 16 MB are read, as every row is printed in the package",
    ]


def test_tables_that_are_too_large_together_are_a_fault(folder):
    for name in ("bars", "depths", "cores", "chlorides", "aggregates"):
        with (folder / f"{name}.csv").open("r+b") as file:
            file.truncate(jobfolder.MOST_TABLE)
    assert faults_of(folder) == [f"{folder}: its tables are larger than 64 MB together"]


HEADER = "bar,depth [mm]\n"
TABLES = {
    "too many rows": (HEADER + "B1,1\n" * (bounded.MOST_WRITTEN + 1), "pits.csv: more than 2000 rows"),
    "a million columns": (",".join("x" * 10**6) + "\n", "pits.csv, row 1: 1000000 cells; at most 100 columns"),
    "a million cells in a row": (HEADER + "B1," * 10**6 + "\n", "pits.csv, row 2: 1000001 cells; at most 100 columns"),
    "a cell beyond the reader": (HEADER + "B1," + "1" * 200_000 + "\n", "pits.csv, row 2: no comma-separated cells: field larger"),
    "a long cell": (HEADER + "B1," + "1" * 5000 + "\n", "pits.csv, row 2: a cell of more than 4000 characters"),
    "a long number": (HEADER + "B1," + "1" * 3000 + "\n", "pits.csv, row 2, column depth .*in at most 60 characters"),
    "a null byte": (HEADER + "B1,1\0\n", r"pits.csv, row 2: holds the control character U\+0000"),
    "a bell": (HEADER + "B6,1\nB\a1,1\n", r"pits.csv, row 3: holds the control character U\+0007"),
    "a surrogate": (b"bar,depth [mm]\nB\xed\xa0\x80,1\n", "pits.csv, row 2: not UTF-8"),
    "an open quotation mark": (HEADER + '"B6,1\nB21,2\n', "pits.csv, row 2: .*is a quotation mark left open"),
    "a pair of open quotation marks": (HEADER + '"B6,1\nB21",2\n', "pits.csv, row 2: a cell goes over the end of the line"),
    "a quotation mark in a cell": (HEADER + '"B6"x,1\n', "pits.csv, row 2: no comma-separated cells"),
    "a comment line": (HEADER + "# from the second visit\nB6,1\n", "pits.csv, row 2: 1 cells, the header has 2"),
    "a comment with a comma": (HEADER + "# bar, depth\nB6,1\n", "pits.csv, row 2, column bar"),
    "an unknown column": ("bar,depth [mm],colour\nB6,1,red\n", "pits.csv, row 1: unknown column “colour”"),
    "a column twice": ("bar,depth [mm],Depth [in]\nB6,1,1\n", "pits.csv, row 1: column “Depth .in.” appears twice"),
    "a header alone": (HEADER, "pits.csv: has a header but no rows"),
    "nothing": ("", "pits.csv: the file is empty"),
    "a path as a bar": (HEADER + "../../etc/passwd,1\n", "pits.csv, row 2, column bar"),
    "powers in a unit": ("bar,depth [mm**9**9**9]\nB6,1\n", "pits.csv, row 2, column depth .*not a unit"),
    "powers in a cell": ("bar,depth\nB6,220 mm**9**9**9\n", "pits.csv, row 2, column depth.*not a unit"),
    "no number": (HEADER + "B6,nan\nB21,inf\n", "pits.csv, row 3, column depth"),
    "digits of another script": (HEADER + "B6,\u0661\n", r"pits.csv, row 2, column depth .*U\+0661\) cannot be printed"),
    "very many faults": (HEADER + "B6,none\n" * 500, "pits.csv: more faults after row"),
}  # fmt: skip


@pytest.mark.parametrize("slip", TABLES)
def test_a_table_that_is_no_such_table_is_a_fault_at_once(folder, slip):
    text, words = TABLES[slip]
    (folder / "pits.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    assert len(named(folder, words)) <= 250


def test_a_grid_may_have_more_rows_and_has_a_bound_too(folder):
    with (folder / "covers.csv").open("a", encoding="utf-8") as file:
        file.write("K1,40,1,50\n" * bounded.MOST_ROWS)
    named(folder, "covers.csv: more than 50000 rows; the package prints every one of them")


def test_readings_that_clash_in_pairs_end_the_reading(folder):
    with (folder / "depths.csv").open("a", encoding="utf-8") as file:
        file.writelines(f"K{number},37.5666,2.1336,63.5,47.6\n" for number in range(200))
    faults = faults_of(folder)
    assert len(faults) == fields.MOST_FAULTS + 1 and faults[-1].startswith("there are more faults than these")


def test_old_line_ends_are_read(folder):
    data = (folder / "pits.csv").read_bytes()
    (folder / "pits.csv").write_bytes(data.replace(b"\n", b"\r"))
    assert [row.bar for row in read_job(folder).rows["pits"]] == ["B6", "B21"]


HEADS = {
    "brackets nested": ("x = " + "[" * 2000 + "]" * 2000, "job.toml: brackets are nested too deep"),
    "tables nested": ("x = " + "{a=" * 2000 + "1" + "}" * 2000, "job.toml: brackets are nested too deep"),
    "nested a little": ("x = " + "[" * 12 + "]" * 12, "job.toml: x.0.0.*: nested too deep"),
    "a deep key": ("a." * 400_000 + "a = 1", "job.toml: row 1: a key of very many parts"),
    "a deep section": ("[" + "'a b'." * 100_000 + "a]", "job.toml: row 1: a key of very many parts"),
    "deep keys in quotation marks": ('"a"."b" . ' * 1000 + "a = 1", "job.toml: row 1: a key of very many parts"),
    "a long list": ("x = [" + "1," * 400_000 + "]", "job.toml: x: 400000 items, wanted at most 2000"),
    "a long text": (f'x = "{"y" * 100_000}"', "job.toml: x: 100000 characters, wanted at most 10000"),
    "a long key": ("x" * 100_000 + " = 1", "job.toml: x+….*|job.toml: x+: unknown"),
    "a number of many digits": ("x = " + "9" * 10_000, "job.toml: holds a number that cannot be read"),
    "a number of many hexadecimal digits": ("x = 0x" + "f" * 100_000, "job.toml: x: found a number of very many digits"),
    "no number": ("x = nan\ny = inf", "job.toml: y: found inf, wanted a finite number"),
    "a date long ago": ("x = 0202-03-14", "job.toml: x: found 0202-03-14, wanted a year from 1900 to 2100"),
    "a date that is none": ("x = 2026-13-45", "job.toml: "),
    "a null byte": ("x = 1\0", r"job.toml, row 1: holds the control character U\+0000"),
    "a surrogate": ('x = "\\ud800"', "job.toml: "),
    "the same section twice": ("[package]\n[package]", "job.toml: Cannot declare"),
}  # fmt: skip


@pytest.mark.parametrize("slip", HEADS)
def test_a_job_file_beyond_its_bounds_is_a_fault_at_once(folder, slip):
    text, words = HEADS[slip]
    (folder / "job.toml").write_text(text, encoding="utf-8")
    named(folder, words)


def test_a_year_of_a_table_that_cannot_be_is_a_fault(folder):
    replace(folder, "weather.csv", "2025-08-16 12:00", "0001-01-01 00:00")
    replace(folder, "prices.csv", "2026-02-20", "9999-12-31")
    named(folder, r"weather.csv, row 2, column time: found 0001-01-01 00:00:00, wanted a year from 1900 to 2100")
    named(folder, r"prices.csv, row 2, column date: found 9999-12-31")


@pytest.mark.parametrize("number", ["86400", "1.0e9", "true"])
def test_a_number_is_no_date(folder, number):
    replace(folder, "job.toml", "date = 2026-03-14", f"date = {number}")
    named(folder, "job.toml: revisions.0.date: ")


# --- units and quantities


def tried(read, *given):
    """Return what is read, or the words that refuse it."""
    try:
        return read(*given), ""
    except InputError as error:
        return None, str(error)


@given(st.text("m k·*/^()²⁻-19.e%°CΔ_", max_size=45))
def test_a_text_is_a_unit_or_is_refused(text):
    found, refused = tried(units.unit, text)
    if found is None:
        assert "is not a unit" in refused
    else:
        assert all(abs(power) <= 4 * 20 for power in found.dimensionality.values())


@given(
    st.text("0123456789 -+./eEmin#½٣,*^()%°\0", max_size=70), st.sampled_from([units.Length, units.Ratio, units.Stress])
)
def test_a_text_is_a_quantity_or_is_refused(text, kind):
    found, refused = tried(units.read, text, kind)
    if found is None:
        assert 0 < len(refused) < 1000
    else:
        assert units.np.isfinite(found.magnitude) and found.dimensionality == units.kind_of(kind).dimensionality


@pytest.mark.parametrize(
    "text",
    [
        "220 mm**9**9**9", "220 mm^9", "220 (mm**4)**4", "220 ((mm))", "1 " + "mm*" * 30 + "mm", "9" * 10_000 + " mm", 10**10_000, -(10**10_000),
        "1e999999 mm", "1e-999999 mm", "1/0 mm", "2½½ in", "٢٢٠ mm", "\u2212\u22125 mm", "5 mm\0", "\ud800 mm", "5 " + "k" * 50, "5 mm/mm**0", "5 mm**0.5",
        "5 mm; rm", "5 __class__", "5 mm.__class__", "0x10 mm", "1_000 mm",
    ],
    ids=lambda text: ascii(text)[:20] if isinstance(text, str) else "digits",
)  # fmt: skip
def test_a_quantity_that_is_none_is_refused_at_once(text):
    with pytest.raises(InputError, match="“") as caught:
        units.read(text, units.Length)
    assert len(str(caught.value)) < 200 and str(caught.value).isprintable()


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("220\u00a0mm", "220 mm"), ("  220   mm ", "220 mm"), ("8 in.", "8 in"), ("8 µm", "8 μm"), ("1e2 mm", "100 mm"), ("2 1/2 in", "2.5 in"),
        ("5 m^2/m", "5 m"), ("5 mm (m/m)", ""),
    ],
)  # fmt: skip
def test_what_people_write_is_read_as_before(text, same):
    if not same:
        assert units.read(text, units.Length).m_as("mm") == 5
    else:
        assert units.read(text, units.Length).m_as("mm") == pytest.approx(units.read(same, units.Length).m_as("mm"))


# --- nothing is passed over


@pytest.mark.parametrize(
    "name",
    [
        "pit.csv", "Pits.csv", "pits.txt", "pits.csv.txt", "pits .csv", "PITS.CSV", "pits.CSV", "pits.xlsx", "pits.tsv", "pits", " pits.csv",
        "pits.csv ", "pits (1).csv", "pits - Copy.csv", "Copy of pits.csv", "pits_2026-03.csv", "pist.csv", "pits.csv.bak", "pits.csv~",
        "ｐits.csv", ".pits.csv", "pits-old.csv",
    ],
)  # fmt: skip
def test_a_name_near_that_of_a_table_is_a_fault(folder, name):
    (folder / "pits.csv").rename(folder / name)
    (fault,) = faults_of(folder)
    assert fault.startswith(f"{name}: not read; is it pits.csv? ")


@pytest.mark.parametrize("name", ["job.tml", "Job.toml", "JOB.TOML", "job.toml.txt", "job", "jobs.toml", "job.txt"])
def test_a_name_near_that_of_the_job_file_is_a_fault(folder, name):
    (folder / "job.toml").rename(folder / name)
    faults = named(folder, "job.toml: missing")
    assert any(fault.startswith(f"{name}: not read; is it job.toml? ") for fault in faults)


@pytest.mark.parametrize("name", ["Pits.csv", "pit.csv", "pits.csv.txt", "pits2.csv", "pits"])
def test_two_tables_of_nearly_one_name_are_a_fault(folder, name):
    shutil.copyfile(folder / "pits.csv", folder / name)
    (fault,) = faults_of(folder)
    assert fault.startswith(f"{name}: not read; is it pits.csv, which stands beside it? ")


def test_a_misspelt_table_does_not_leave_a_verdict_that_it_would_turn(folder, capsys):
    def verdict(place):
        checks = Job(read_job(place)).steel.checks
        (one,) = (one for one in checks if (one.item, one.title) == ("bar B21", "section loss of one bar"))
        return one.printed("SI")[0], one.verdict

    replace(folder, "pits.csv", "B21,2.032", "B21,7.5")
    assert verdict(folder) == ("43.5 %", "not satisfied")
    pits = (folder / "pits.csv").read_bytes()
    (folder / "pits.csv").unlink()
    assert verdict(folder) == ("8.8 %", "satisfied")
    (folder / "pit.csv").write_bytes(pits)
    assert cli.main(["check", str(folder)]) == 1
    out, err = capsys.readouterr()
    assert out == "" and err.startswith("pit.csv: not read; is it pits.csv?") and len(err.splitlines()) == 1


def test_strangers_are_said_and_outputs_and_hidden_files_are_not(folder, monkeypatch, capsys):
    for name in (
        "letter.docx",
        "site|plan*.pdf",
        "bars.xlsx",
        "pits.csv~",
        "#pits.csv#",
        "pits from the lab.csv",
        "01_patches.ipynb",
        ".DS_Store",
        "notes\n.txt",
    ):
        (folder / name).write_text("x", encoding="utf-8")
    for name in ("package", "photos", "crew_sheets"):
        (folder / name).mkdir()
    for name in ("package", "crew_sheets"):
        (folder / name / "manifest.json").write_text("{}", encoding="utf-8")
    for number in range(12):
        (folder / f"IMG_{number:02d}.jpg").touch()
    file = read_job(folder)
    assert sorted(file.unread) == [
        "#pits.csv#: a copy that an editor keeps; pits.csv was read", "01_patches.ipynb: no input of a job; not read",
        "IMG_00.jpg and 11 more files “.jpg”: not read", "bars.xlsx: not read; bars.csv was", "letter.docx: no input of a job; not read",
        "notes�.txt: no input of a job; not read", "photos: a folder; what is in it is not read", "pits from the lab.csv: not read; pits.csv was",
        "pits.csv~: a copy that an editor keeps; pits.csv was read", "site|plan*.pdf: no input of a job; not read",
    ]  # fmt: skip
    title = front.cover(Job(file))
    assert r"- site&#124;plan\*.pdf: no input of a job; not read" in title and "hidden files" in title
    monkeypatch.setattr(Job, "compute_all", lambda self: None)
    monkeypatch.setattr(Job, "checks", [])
    assert cli.main(["check", str(folder)]) == 0
    out = capsys.readouterr().out
    assert all(one in out for one in file.unread)


def test_what_cannot_be_looked_at_is_said_or_gone(folder, monkeypatch):
    (folder / "closed").mkdir()
    (folder / "letter.txt").touch()
    (folder / "lost.txt").symlink_to("nowhere")
    (folder / "loop").symlink_to("loop")
    os.mkfifo(folder / "pipe")
    whole = os.stat

    def refused(path, *rest, **more):
        if str(path).endswith("manifest.json"):
            raise PermissionError(13, "Permission denied")
        return whole(path, *rest, **more)

    monkeypatch.setattr(os, "stat", refused)
    assert read_job(folder).unread == [
        "closed: a folder; what is in it is not read", "letter.txt: no input of a job; not read", "loop: no input of a job; not read",
        "lost.txt: no input of a job; not read", "pipe: no input of a job; not read",
    ]  # fmt: skip


def test_a_folder_without_strangers_says_nothing():
    file = read_job(DEMO["SI"])
    assert file.unread == [] and file.not_read("\n") == "" and "not read" not in front.cover(Job(file))


def test_a_table_that_no_section_asks_for_is_said(folder):
    text = (folder / "job.toml").read_text(encoding="utf-8")
    kept = re.sub(
        r"^\[+(closure|safety|traffic)\b.*?(?=^\[(?!\[?(?:closure|safety|traffic)\b)|\Z)", "", text, flags=re.M | re.S
    )
    (folder / "job.toml").write_text(kept, encoding="utf-8")
    assert read_job(folder).unread == [
        f"{name}.csv: read and not used; job.toml has no section [closure]"
        for name in ("rates", "prices", "stock", "equipment")
    ]


@pytest.mark.parametrize("name", sorted(NEEDED))
def test_no_input_is_near_another_one(name):
    known = [f"{one}.csv" for one in NEEDED]
    assert jobfolder.near(f"{name}.csv", known) == (f"{name}.csv", True)
    assert jobfolder.near("letter to the owner.csv", known) == (None, False)


# --- changes for a review


def test_a_key_that_is_set_twice_is_a_fault(folder, capsys):
    assert cli.main(["rerun", str(folder), "--set", "limits.waste=5 %", "--set", "limits.waste = 6 %"]) == 1
    out, err = capsys.readouterr()
    assert out == "" and err.strip() == "--set limits.waste: set twice, to “5 %” and to “6 %”; leave one of them out"


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("revisions.0.note", "x", "--set revisions.0.note: no such input; its entries are 1 to 1"), ("plan.girders", "[1 m", "--set plan.girders: found “.1 m”, wanted values apart by semicolons"),
        ("plan.girders.0", "1 m", "--set plan.girders.0: no such input; its entries are 1 to"), ("deck", "5 mm", "--set deck: a section; name one of its fields, such as deck.kind"),
        ("deck.slab_thickness", "", "job.toml: deck.slab_thickness: found “”, wanted a length"), ("people.originator", "", "job.toml: people.originator: empty, wanted text"),
        ("deck.slab thickness", "5 mm", "--set deck.slab thickness: no such input; did you mean slab_thickness"), ("deck.slab_thickness\udcff", "5 mm", "wanted a key of letters"),
        ("people.firm", "A\udcff", "--set people.firm: found “A�”, wanted up to 4000 printable"), ("people.firm", "x" * 5000, "--set people.firm: found"),
        ("floors.F1.depth", "5 mm", "--set floors.F1.depth: no such input; write section.key"), ("depths.D99.depth", "5 mm", "no such input; depths.csv has no reading “D99”"),
        ("depths.D1.girth", "5 mm", "no such input; the columns of depths.csv are reading, station"), ("depths.depth", "5 mm", "no such input; write section.key, or table.id.column"),
        ("road_rules.buffer.value", "5 m", "no such input; road_rules.csv gave no rows"), ("deck.slab_thickness", "220 mm**9**9**9", "not a unit"),
        ("." * 50, "1", "no such input"), ("a." * 99 + "a", "1", "no such input"), ("limits.", "1", "limits.: unknown"),
        ("units", "CGS", "job.toml: units: found “CGS”, wanted 'SI' or 'US'"), ("bridge.name", "", "job.toml: bridge.name: empty"),
    ],
    ids=range(21),
)  # fmt: skip
def test_a_change_that_cannot_be_made_says_what_would_be_right(key, value, words):
    named(DEMO["SI"], words, {key: value})


def test_a_field_that_may_be_empty_is_emptied():
    assert read_job(DEMO["SI"], {"people.checker": ""}).settings.people.checker == ""


# --- many jobs


def test_a_folder_that_is_named_twice_is_planned_once(folder, monkeypatch):
    monkeypatch.setattr(programme, "nights_of", lambda contents, system: [{"job": str(contents.folder)}])
    other = folder / ".." / "job"
    made = programme.plan([folder, other])
    assert made.jobs == len(made.rows) == 1 and made.faults[str(other)] == [
        f"the same folder as {folder}; a job is planned once"
    ]


def test_soundings_far_closer_than_their_spacing_are_a_fault_at_once(folder):
    head, first, *rest = (folder / "soundings.csv").read_text(encoding="utf-8").splitlines()
    marks = first.rpartition(",")[2]
    rows = [head, first.replace(marks, "." * 1500 + "h" * 1500), *rest]
    (folder / "soundings.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert any("other soundings lie nearer to it" in fault for fault in faults_of(folder))


# --- departures from the plain form


def test_check_says_what_was_understood_of_a_table_in_another_dialect(folder, capfd, monkeypatch):
    monkeypatch.setattr(Job, "compute_all", lambda self: None)
    before = read_job(folder).verbatim
    for name in ("pits", "cut_lengths"):
        path = folder / f"{name}.csv"
        path.write_bytes(("sep=,\n" + path.read_text(encoding="utf-8")).encode("utf-16"))
    file = read_job(folder)
    assert file.verbatim == before
    said = "pits.csv, cut_lengths.csv: read as UTF-16 text, cells separated by commas, as its first line says"
    assert file.understood == [said]
    assert f"Understood from the job folder:\n  {said}\n" in output_of(folder, capfd)
    assert read_job(DEMO["SI"]).understood == []


def output_of(folder, capfd):
    """Return what `check` prints of a job that is read and not computed."""
    cli.main(["check", str(folder)])
    return capfd.readouterr().out
