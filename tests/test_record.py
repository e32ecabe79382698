"""The record of a job: its hold points, what was found and built, and what differs from the plan."""

import datetime
import json
import math
import shutil
from types import SimpleNamespace

import pytest
import shapely
from samples import CASES, DEMO, demo

from deckcalc import cli
from deckcalc.base.fields import JobError
from deckcalc.base.replacing import put_files
from deckcalc.core import units
from deckcalc.core.units import InputError, quantity
from deckcalc.curing.design.logged import band_of
from deckcalc.curing.formulas.heat import nurse_saul_rate
from deckcalc.curing.formulas.regression import NoCurve
from deckcalc.job import compute, loggers, record_files
from deckcalc.job.deviations import deviations
from deckcalc.job.file import read_job
from deckcalc.job.holds import WHEN, hold_points
from deckcalc.job.record import record_of
from deckcalc.package import build
from deckcalc.package import record as sheet
from deckcalc.package.build import results


@pytest.mark.parametrize("system", ["metric", "US"])
def test_hold_points_stand_in_the_order_of_the_work_with_the_limits_of_the_job(system):
    """Every patch is held four times, and each number is that of the job’s own limit."""
    job = demo(system)
    for patch in (one.name for one in job.patch):
        found = hold_points(job, patch)
        removal = job.patch[patch].removal
        tied = removal is None or float(removal.n_r.m_as("")) > 0  # nothing is tied where no bar is reached
        assert list(dict.fromkeys(hold.when for hold in found)) == [
            when for when in WHEN if tied or when != "after tying"
        ]
        strength = next(hold for hold in found if hold.what.startswith("strength"))
        assert job.show(job.limit("opening_strength").value, units.Stress) in strength.rule
        assert strength.who == "engineer"
        assert all(hold.what and hold.rule and hold.who and hold.record for hold in found)


def test_a_hold_asks_for_depths_only_where_slab_is_left_below():
    """A patch that goes through has no depth to read; one that does not names the depth from which it would."""
    job = demo("metric")
    said = {
        one.name: [hold.rule for hold in hold_points(job, one.name) if hold.record == "as_found: depths"]
        for one in job.patch
    }
    for one in job.patch:
        assert bool(said[one.name]) == (one.removal is not None)
    assert said["P1"][0].startswith("less than 110 mm")  # half of 220 mm


def test_hold_points_of_no_patch_are_refused():
    """A name that the survey does not give is a fault."""
    with pytest.raises(JobError, match="patch P99"):
        hold_points(demo("metric"), "P99")


# --- a played night: three patches planned, one found 30 mm deeper, one bar at 40 % loss, an hour late, two batches short

FOUND = """patch,depths [mm],time,by
P1,93; 90; 96; 94; 92,2027-05-07 22:40,inspector
P2,95; 92; 96; 94; 93,2027-05-07 22:55,inspector
P3,115; 125; 118; 120; 122,2027-05-07 23:20,inspector
"""
BARS = "bar,readings [mm]\nB12,12.4; 12.4; 12.4\nB4,15.2; 15.0; 15.3\n"
LOADS = (("P1", 108), ("P1", 108), ("P2", 61), ("P3", 72), ("P3", 72))
BUILT = "load,patches,time,volume [L],slump [mm],air [%],concrete temperature [°C]\n" + "".join(
    f"{k},{patch},{moment},{volume},50,7.5,15\n"
    for k, ((patch, volume), moment) in enumerate(
        zip(LOADS, ("2027-05-08 00:50", "2027-05-08 01:20", "2027-05-08 01:50", "2027-05-08 02:20", "2027-05-08 02:55"), strict=True), 1
    )
)  # fmt: skip
PHOTO = b"not looked at, only hashed"


def logged(start="2027-05-08 01:00", hours=40, celsius=20.0, step=15):
    """Return a file of a logger as a reader gives it out: lines above the heads, seconds, another name for everything."""
    first = datetime.datetime.fromisoformat(start)
    shown = f"{celsius:.1f}".replace(".", ",")
    moments = (first + datetime.timedelta(minutes=step * k) for k in range(hours * 60 // step + 1))
    rows = [f"{k};{moment:%d.%m.%Y %H:%M}:00;{shown}" for k, moment in enumerate(moments, 1)]
    return "Serial 11-22\nSensor: P1\n\nNo.;Date/Time;Temp [°C]\n" + "\n".join(rows) + "\n"


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """The files that come from the deck."""
    place = tmp_path_factory.mktemp("deck")
    for name, text in (("as_found", FOUND), ("as_found_bars", BARS), ("as_built", BUILT), ("reader-17", logged())):
        (place / f"{name}.csv").write_text(text, encoding="utf-8")
    (place / "P1-after-removal.jpg").write_bytes(PHOTO)
    return place


@pytest.fixture(scope="module")
def night(tmp_path_factory, files):
    """The metric demo job with the record of the night written into it, and the record."""
    place = shutil.copytree(DEMO["metric"], tmp_path_factory.mktemp("night") / "job")
    made = record_files.take(place, sorted(files.iterdir()))
    assert not made.faults, made.faults
    assert {path.name for path in record_files.write(made)} == {
        "as_found.csv",
        "as_found_bars.csv",
        "as_built.csv",
        "logger.csv",
        "photographs.csv",
    }
    return record_of(compute(place))


def of(record, what, patch=None):
    """Return the only deviation whose words begin so."""
    found = [one for one in deviations(record) if one.what.startswith(what) and (patch is None or patch in one.patches)]
    assert len(found) == 1, found
    return found[0]


def test_what_was_planned_is_untouched_beside_what_was_found(night):
    """Every result of the planned job is that of the job without a record."""
    assert results(night.planned) == results(demo("metric"))
    assert night.planned.verdicts == demo("metric").verdicts


def test_the_deeper_hole_is_carried_through_the_same_calculations(night):
    """Volumes are prisms over the sides by the shoelace of shapely; class, order and bars are worked out by hand."""
    deep = night.found.patch["P3"]
    assert (night.planned.patch["P3"].depth_class, deep.depth_class) == (
        "partial depth",
        "full depth",
    )  # 125 of 220 mm is not less than half
    outline = shapely.Polygon(shapely.get_coordinates(night.planned.patch["P3"].marked.piece.outline))
    assert deep.volume.V_placed.m_as("m³") == pytest.approx(
        outline.area * 0.220, rel=1e-9
    )  # no growth, no over-break, no undercut
    assert deep.volume.V_order.m_as("m³") == pytest.approx(1.02 * 1.21 * 0.220 * 1.10, rel=1e-9)
    flat = night.found.patch["P1"]
    assert flat.removal.h_r.m_as("mm") == pytest.approx(93)  # so 90 and 92 mm are broken out to 93
    assert flat.volume.V_net.m_as("m³") == pytest.approx(1.62 * 1.12 * (93 + 93 + 96 + 94 + 93) / 5 / 1000, rel=1e-9)
    kept = night.found.patch["P5"]  # not opened that night
    assert kept.volume == night.planned.patch["P5"].volume


def test_the_thin_bar_gets_its_supplement(night):
    """Area lost is that of the caliper; so many bars of 78.5 mm² make it up."""
    bar = night.found.steel["B12"]
    lost = 201 - math.pi * 12.4**2 / 4
    assert bar.loss.m_as("") == pytest.approx(lost / 201, abs=0.0005)
    assert int(bar.supplement.n.magnitude) == math.ceil(lost / 78.5) == 2
    assert of(night, "bar to add beside B12").planned == "none"
    assert night.planned.steel["B12"].supplement is None


def test_deviations_stand_worst_first_and_say_who_acts(night):
    """The hole that is short of concrete and the changed class stop; nothing that is noted stands before what stops."""
    found = deviations(night)
    assert [one.rank for one in found] == sorted(one.rank for one in found)
    assert {one.what.partition(",")[0] for one in found if one.words == "stops"} == {"depth class", "concrete in place"}
    assert all(one.who.partition(":")[0] in ("engineer", "inspector", "foreman") for one in found)
    short = of(night, "concrete in place", "P3")
    # 1.2342 m² by 0.220 m less two batches of 72 L, in batches of 72.0 L
    assert short.what.endswith("2 loads, 2 batches short")
    assert (short.planned, short.found, short.difference) == ("0.2715 m³", "0.1440 m³", "−0.1275 m³")
    assert of(night, "first load in place").difference == "1 h late"
    assert of(night, "last load in place").difference == "1 h late"
    assert of(night, "batches", "P3")[3:6] == ("2", "3", "+1")
    assert "revision A" in of(night, "record later").planned


def test_the_opening_goes_by_the_logged_temperature(night):
    """At the reference temperature an hour is an hour of age, and the hyperbola gives the hour by hand."""
    log, fit = night.logs["P1"], night.found.curing["W1"].curve.fit
    S_u, k, t_0 = fit.values
    assert log.end == datetime.datetime(2027, 5, 8, 1, 20)  # its own last load
    assert log.opens.expected == pytest.approx(t_0 + 20.0 / (S_u - 20.0) / k, abs=0.01)
    assert log.opens.sure > log.opens.expected
    said = of(night, "opening strength reached, by its logger", "P1")
    assert said.found == night.found.file.work.in_words(log.moment(log.opens.sure))


def test_maturity_of_a_logged_record_is_the_published_figure():
    """28 days at 15 °C over a datum of −11 °C are 728 °C·d: the worked question of the bibliography, key quality-notes."""
    case = next(one for one in CASES if one.id == "nurse-saul-728")
    assert case.provenance == "published"
    start = datetime.datetime(2027, 5, 8)
    readings = [
        SimpleNamespace(time=start + datetime.timedelta(hours=6 * k), temperature=quantity(15.0, "degC"))
        for k in range(28 * 4 + 1)
    ]
    placings = SimpleNamespace(rate=nurse_saul_rate(-11.0, 20.0))
    band, pauses = band_of(placings, NoCurve(), start, readings)
    assert band.age[-1] * (20.0 + 11.0) / 24 == pytest.approx(728, abs=1e-6)
    assert not pauses


def test_a_pause_of_a_logger_is_no_age_and_is_named():
    """Readings before and after a pause count, the pause does not: an hour at the reference is an hour."""
    start = datetime.datetime(2027, 5, 8)
    hours = [*range(11), *range(16, 21)]
    readings = [
        SimpleNamespace(time=start + datetime.timedelta(hours=h), temperature=quantity(20.0, "degC")) for h in hours
    ]
    band, pauses = band_of(SimpleNamespace(rate=nurse_saul_rate(0.0, 20.0)), NoCurve(), start, readings)
    assert band.age[-1] == pytest.approx(14)
    assert pauses == [(start + datetime.timedelta(hours=10), start + datetime.timedelta(hours=16))]


def test_a_logger_that_stops_keeps_the_lane_closed(night, files, tmp_path):
    """Ten hours of it show no strength: the deviation is the worst there is, and names when it ended."""
    place = shutil.copytree(DEMO["metric"], tmp_path / "job")
    (tmp_path / "P1.csv").write_text(logged(hours=10), encoding="utf-8")
    made = record_files.take(place, [tmp_path / "P1.csv", files / "as_built.csv"])
    record = record_of(compute(made.after))
    stopped = of(record, "opening strength reached, by its logger")
    assert (stopped.words, stopped.patches) == ("stops", ("P1",))
    assert "11:00" in stopped.found
    assert of(record, "logger stopped").found.endswith("11:00")


# --- files that come from the deck


def test_a_logger_is_read_by_what_its_columns_hold(night):
    """Seconds, decimal commas, a column of numbers, lines above: nothing is asked, all of it is said."""
    made = loggers.read("reader-17.csv", logged().encode(), {"P1": None, "P2": None})
    assert [(log.patch, len(log.readings)) for log in made.logs] == [("P1", 161)]
    assert made.logs[0].readings[0] == (datetime.datetime(2027, 5, 8, 1, 0), "20.0 °C")
    assert any("°C" in said and "161 readings" in said for said in made.understood)
    assert len(night.rows("logger")) == 161


MAY = datetime.datetime(2027, 5, 8, 2)


@pytest.mark.parametrize(
    ("text", "placed", "first"),
    [
        ("Date,Time,Temp (°F)\n05/08/2027,1:00 AM,68\n05/08/2027,2:00 AM,69\n", {"P1": MAY}, (datetime.datetime(2027, 5, 8, 1), "68 °F")),
        ("when\tP1 °C\n13/05/2027 01:00\t20\n", {"P1": None, "P2": None}, (datetime.datetime(2027, 5, 13, 1), "20 °C")),
        ("index,timestamp,humidity,value °C\n1,2027-05-08T01:00:30,95,20.5\n", {"P1": MAY}, (datetime.datetime(2027, 5, 8, 1), "20.5 °C")),
        ("time,P2 temp F\n5/8/27 13:00,70\n", {"P1": MAY, "P2": MAY}, (datetime.datetime(2027, 5, 8, 13), "70 °F")),
    ],
)  # fmt: skip
def test_usual_columns_of_loggers(text, placed, first):
    """Whatever their names, in either order of day and month, as the plan of the work tells."""
    made = loggers.read("P1.csv", text.encode(), placed)
    assert made.logs[0].readings[0] == first


@pytest.mark.parametrize(
    ("text", "placed", "says"),
    [
        ("time,temp C\n05/08/2027 01:00,20\n", {"P1": None}, "may be 2027-08-05 or 2027-05-08"),
        ("time,temp\n2027-05-08 01:00,20\n", {"P1": MAY}, "°C or in °F"),
        ("time,temp C\n2027-05-08 01:00,20\n", {"P2": MAY, "P3": MAY}, "which patch"),
        ("time,temp C top,temp C floor\n2027-05-08 01:00,20,21\n", {"P1": MAY}, "patch into the head of each"),
        ("time,a,b\n2027-05-08 01:00,20,21\n", {"P1": MAY}, "which is the temperature"),
        ("a,b\n1,2\n", {"P1": MAY}, "no column of it holds dates"),
        ("time,temp C\n2027-05-08 01:00,----\n", {"P1": MAY}, "no column holds numbers"),
    ],
)  # fmt: skip
def test_a_logger_that_can_be_read_in_two_ways_is_refused(text, placed, says):
    """With what it may be, or what is missing."""
    name = "P1.csv" if "P1" in placed else "log.csv"
    with pytest.raises(InputError, match=says):
        loggers.read(name, text.encode(), placed)


def field_file(**changes):
    """Return the file of a page for the field."""
    data = {
        "package": "PB-27-C-03",
        "revision": "A",
        "entries": [{"table": "as_found", "row": {"patch": "P2", "depths": "95 mm; 96 mm"}}],
        **changes,
    }
    return json.dumps(data)


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("field.json", field_file(package="PB-1"), "written for the package PB-1, and this job is PB-27-C-03; nothing of it was taken"),
        ("field.json", field_file(revision="Z"), "written for revision Z, and this job is at revision A; nothing of it was taken"),
        ("field.json", field_file(entries=[{"table": "bars", "row": {}}]), "entry 1: table “bars”"),
        ("field.json", field_file(entries=[{"table": "as_found", "row": {"dept": "1"}}]), "unknown column “dept”"),
        ("field.json", field_file(entries=[{"table": "as_found", "row": {"patch": "P1", "depths": "deep"}}]), "field.json, entry 1"),
        ("field.json", "[1]", "field.json"),
        ("field.json", "{" * 9000, "no file of a page for the field"),
        ("as_found.csv", "patch,depths [mm]\nP1,93\nP1,95\n", "a second record of P1 in as_found, and not as in as_found.csv, row 2"),
        ("as_found.csv", "patch,depths [mm]\nP9,93\n", "the survey gives no patch “P9”"),
        ("as_found.csv", "patch,depths [mm]\nP1,250\n", "more than the slab"),
        ("as_built.csv", "load,patches,time\n1,P1,2027-05-08 02:00\n2,P1,2027-05-08 01:00\n", "does not come after 2027-05-08 02:00"),
        ("as_found_bars.csv", "bar,readings [mm]\nX9,12; 12; 12\n", "a new bar wants its patch and its size"),
        ("as_found_bars.csv", "bar,readings [mm]\nB12,19; 19; 19\n", "as_found_bars.csv, bar B12"),
        ("photographs.csv", "file,patch,hold,sha256\na.jpg,P1,after lunch,%s\n" % ("0" * 64), "wanted 'after removal'"),
        ("photographs.csv", "file,patch,hold,sha256\na.jpg,P1,after removal,12\n", "photographs.csv"),
        ("P1.jpg", "x", "one hold point"),
        ("logger.csv", "reading,patch,time,temperature [°C]\n1,P1,2027-05-08 02:00,20\n2,P1,2027-05-08 03:00,68\n", "is one of them in °F"),
    ],
)  # fmt: skip
def test_bad_files_are_named_and_kept(tmp_path, name, text, says):
    """Each fault names the file and the entry; nothing is written, nothing merged."""
    job = DEMO["metric"]
    (tmp_path / name).write_text(text, encoding="utf-8")
    made = record_files.take(job, [tmp_path / name])
    assert any(says in fault for fault in made.faults), made.faults
    assert made.after is None
    with pytest.raises(JobError, match="nothing was written"):
        record_files.write(made)
    assert not (job / "as_found.csv").exists()


def test_a_former_revision_is_taken_where_it_is_named(tmp_path):
    """And its entries stand in the table with the units that they came with."""
    (tmp_path / "field.json").write_text(field_file(revision="0"), encoding="utf-8")
    made = record_files.take(DEMO["metric"], [tmp_path / "field.json"], record_files.Choice(revision="0"))
    assert not made.faults
    assert made.tables["as_found"] == "patch,depths\nP2,95 mm; 96 mm\n"


def test_a_record_is_added_to_and_never_merged_in_silence(night, tmp_path):
    """The same rows again are there already; another reading of the same patch is refused; a new patch is added below."""
    folder = shutil.copytree(night.planned.file.contents.place, tmp_path / "job")
    (tmp_path / "as_found.csv").write_text(FOUND, encoding="utf-8")
    again = record_files.take(folder, [tmp_path / "as_found.csv"])
    assert not again.faults
    assert not again.tables
    assert len(again.there) == 3
    (tmp_path / "as_found.csv").write_text(FOUND.replace("P1,93", "P1,99"), encoding="utf-8")
    other = record_files.take(folder, [tmp_path / "as_found.csv"])
    assert any("a second record of P1 in as_found" in fault for fault in other.faults)
    (tmp_path / "as_found.csv").write_text("patch,depths [in]\nP5,3 1/2; 3 3/4\n", encoding="utf-8")
    more = record_files.take(folder, [tmp_path / "as_found.csv"])
    assert not more.faults
    (folder / "as_found.csv").write_bytes(
        (folder / "as_found.csv").read_bytes() + b"\n"
    )  # somebody else was there meanwhile
    with pytest.raises(InputError, match="changed since it was read"):
        record_files.write(more)
    assert record_files.write(record_files.take(folder, [tmp_path / "as_found.csv"]))
    assert (folder / "as_found.csv").read_text(encoding="utf-8").splitlines()[-1].startswith("P5,3 1/2 in; 3 3/4 in")


def test_tables_are_written_all_or_none(tmp_path):
    """Where one of two changed meanwhile, the other is left as well."""
    (tmp_path / "b.csv").write_text("now")
    with pytest.raises(InputError, match=r"b\.csv was changed since it was read"):
        put_files(tmp_path, {"a.csv": b"new", "b.csv": b"new"}, {"a.csv": None, "b.csv": b"before"})
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.csv"]
    put_files(tmp_path, {"a.csv": b"new", "b.csv": b"new"}, {"a.csv": None, "b.csv": b"now"})
    assert [(tmp_path / name).read_text() for name in ("a.csv", "b.csv")] == ["new", "new"]


def test_photographs_are_known_by_their_hash(night, tmp_path):
    """One that is not there is named, and one that is another file; one that is there is not."""
    folder = shutil.copytree(night.planned.file.contents.place, tmp_path / "job")
    file = read_job(folder)
    assert record_files.album_faults(file) == [
        "photographs.csv, P1-after-removal.jpg: there is no such file in the job folder or in photographs"
    ]
    (folder / "photographs").mkdir()
    (folder / "photographs" / "P1-after-removal.jpg").write_bytes(PHOTO)
    assert record_files.album_faults(file) == []
    (folder / "photographs" / "P1-after-removal.jpg").write_bytes(b"another")
    assert "another file than was recorded" in record_files.album_faults(file)[0]


def test_a_spreadsheet_gives_its_sheets(tmp_path):
    """Tables of the record stand in sheets of their names."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.active.title = "as_found"
    for row in (["patch", "depths [mm]"], ["P2", "95; 96"]):
        book.active.append(row)
    book.save(tmp_path / "deck.xlsx")
    made = record_files.take(DEMO["metric"], [tmp_path / "deck.xlsx"])
    assert not made.faults
    assert made.tables["as_found"] == "patch,depths\nP2,95 mm; 96 mm\n"


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("P1,93,9 m,,", "reaches past a joint, a kerb or the end of the deck"),
        ("P1,93,,,29.9", "as measured it reaches into patch"),
    ],
)
def test_a_hole_that_cannot_be_is_refused(tmp_path, row, says):
    """A hole off the deck, and one in its neighbour."""
    if "neighbour" in says or "into patch" in says:
        middle = demo("metric").patch["P2"].marked.piece.outline.centroid
        row = f"P1,93,,,{middle.x:.3f},{middle.y:.3f}"
        head = "patch,depths [mm],length,width,station [m],offset [m]"
    else:
        head = "patch,depths [mm],length,width,station [m]"
        row = row.replace("9 m", "60 m")
    (tmp_path / "as_found.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")
    made = record_files.take(DEMO["metric"], [tmp_path / "as_found.csv"])
    assert not made.faults
    with pytest.raises(JobError, match=says):
        record_of(compute(made.after))


def test_the_command_prints_first_and_writes_when_asked(tmp_path, files, capsys):
    """What is new, what differs, and where it would be written; a fault ends with 1 and leaves the folder."""
    folder = shutil.copytree(DEMO["metric"], tmp_path / "job")
    asked = ["record", str(folder), str(files / "as_found.csv")]
    assert cli.main(asked) == 0
    said = capsys.readouterr().out
    assert "depth class" in said
    assert "Nothing was written" in said
    assert not (folder / "as_found.csv").exists()
    assert cli.main([*asked, "--write"]) == 0
    assert "Written:" in capsys.readouterr().out
    assert (folder / "as_found.csv").exists()
    (tmp_path / "field.json").write_text(field_file(package="X"), encoding="utf-8")
    assert cli.main(["record", str(folder), str(tmp_path / "field.json"), "--write"]) == 1
    assert "nothing of it was taken" in capsys.readouterr().err


def test_the_sheet_of_the_record_prints_what_the_command_says(night):
    """Every deviation stands on it, and the tables as they were written down."""
    text = str(sheet.differences(night.planned))
    assert text.count("\n") - 2 == len(deviations(night))
    assert "the record is later" in str(sheet.lead(night.planned))
    assert "2027-05-08 02:55" in str(sheet.tables(night.planned))
    assert "equivalent age" in str(sheet.logs(night.planned))
    assert not str(sheet.lead(demo("metric")))
    names = {"60_record.ipynb", "61_payment.ipynb"}
    assert names & {one.name for one in build.chosen(job=night.planned)} == {"60_record.ipynb"}
    assert not names & {one.name for one in build.chosen(job=demo("metric"))}


@pytest.mark.parametrize("system", ["metric", "US"])
def test_the_inspection_plan_is_the_list_of_hold_points(system):
    """A row for each hold that some patch has, and every limit with its source."""
    job = demo(system)
    rows = {hold for one in job.patch for hold in hold_points(job, one.name)}
    assert str(sheet.inspection(job)).count("\n| ") == len(rows) + 1  # and the heads
