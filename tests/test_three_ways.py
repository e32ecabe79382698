"""Check that one job is the same job, whether it stands in CSV files, in a spreadsheet, or is handed over in Python."""

import csv
import datetime
import json
import re
import subprocess
import sys
import tomllib
from functools import cache

import numpy as np
import pandas as pd
import pytest
from samples import DEMO

import deckcalc
from deckcalc import Q, cli
from deckcalc.base.errors import PackageError
from deckcalc.base.fields import JobError
from deckcalc.core.sources import folder
from deckcalc.core.units import InputError
from deckcalc.job import Job, compute, result_tables
from deckcalc.job.file import read_job
from deckcalc.job.settings import ROWS
from deckcalc.package.build import build, manifest

MODELS = ROWS


def value_of(cell):
    """Return a cell of a CSV file as a person would enter it elsewhere: a number, a date, or text."""
    if re.fullmatch(r"-?\d+", cell):
        return int(cell)
    if re.fullmatch(r"-?\d+\.\d+", cell):
        return float(cell)
    if re.fullmatch(r"\d{4}-\d\d-\d\d( \d\d:\d\d)?", cell):
        return datetime.datetime.fromisoformat(cell)
    return cell or None


@cache
def given():
    """Return settings and tables of the metric demo job, numbers without zeros at their ends, as Python has them."""
    settings = tomllib.loads((DEMO["metric"] / "job.toml").read_text(encoding="utf-8"))
    tables = {}
    for name in MODELS:
        if (path := DEMO["metric"] / f"{name}.csv").exists():
            head, *rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
            tables[name] = pd.DataFrame([[value_of(cell) for cell in row] for row in rows], columns=head, dtype=object)
    return settings, tables


@pytest.fixture(scope="module")
def built():
    """The job, handed over in Python and computed once."""
    return Job.build(*given())


def test_one_job_in_csv_in_a_spreadsheet_and_in_python_has_one_manifest(built, tmp_path):
    folder = built.write(tmp_path / "csv")
    by_files = compute(folder)
    assert {path.name for path in folder.iterdir()} == {*built.file.verbatim}
    assert by_files.file.understood == [] and by_files.file.verbatim == built.file.verbatim
    assert manifest(by_files) == manifest(built)

    sheets = tmp_path / "sheets"
    sheets.mkdir()
    (sheets / "job.toml").write_bytes(built.file.verbatim["job.toml"])
    with pd.ExcelWriter(sheets / "tables.xlsx", engine="openpyxl") as writer:
        for name, frame in given()[1].items():
            frame.to_excel(writer, sheet_name=name, index=False)
    file = read_job(sheets)
    assert file.verbatim == built.file.verbatim and [*file.verbatim] == [*built.file.verbatim]
    assert manifest(Job(file)) == manifest(built)


def test_the_job_in_python_is_the_demo_job_in_all_but_the_comments_of_its_files(built):
    mine, theirs = manifest(built), manifest(compute(DEMO["metric"]))
    differ = {name for name in theirs["inputs"] if mine["inputs"][name] != theirs["inputs"][name]}
    assert {"job.toml", "bars.csv"} < differ and not {
        "soundings.csv",
        "rates.csv",
        "weather.csv",
    } & differ  # 1.0 became 1
    assert {**mine, "inputs": ""} == {**theirs, "inputs": ""}


def test_bars_alone_with_four_settings_are_a_whole_job(tmp_path):
    """The job of twelve bars: a frame, and what the package is of; the same job as its folder."""
    place = folder("notebooks") / "small_bars"
    settings = tomllib.loads((place / "job.toml").read_text(encoding="utf-8"))
    assert set(settings) == {"units", "package", "people", "bridge"}
    bars = pd.read_csv(place / "bars.csv")
    job = Job.build(settings, {"bars": bars})
    assert job.file.ready == ("steel",) and not job.file.lacking and not job.not_computed
    assert {one.item for one in job.steel} == {f"bar {name}" for name in bars["bar"]}
    assert manifest(job) == manifest(compute(place))
    assert len(job.tables()["steel.section_loss"]) == len(bars) and "patch.patch_limits" not in job.tables()
    assert read_job(job.write(tmp_path / "written")).verbatim == job.file.verbatim
    assert faults_of(settings, {"bars": bars.assign(size="#99")})[0].startswith("table bars, row 0, column size: ")


def test_a_folder_that_was_written_is_not_written_again(built, tmp_path):
    (tmp_path / "there").mkdir()
    with pytest.raises(InputError, match="there exists already; name a folder that does not"):
        built.write(tmp_path / "there")
    assert list(tmp_path.iterdir()) == [tmp_path / "there"] and not list((tmp_path / "there").iterdir())
    changed = read_job(DEMO["metric"], {"limits.waste": "8 %"})
    with pytest.raises(InputError, match="read with changed inputs .limits.waste."):
        changed.write(tmp_path / "changed")


def test_a_job_in_python_has_no_place_for_its_package(built):
    with pytest.raises(PackageError, match="stands in no folder; say with out= where the package goes"):
        build(built)


def test_a_sheet_of_a_job_in_python_is_built(built, tmp_path):
    there = build(built, tmp_path / "cards", quiet=True, only="batch_cards")
    assert (
        there == tmp_path / "cards"
        and json.loads((there / "manifest.json").read_bytes())["inputs"] == manifest(built)["inputs"]
    )


def test_a_job_of_csv_files_wants_no_library_of_tables():
    code = f"""
import sys
from deckcalc.job.file import read_job
read_job({str(DEMO["metric"])!r})
print([name for name in ("pandas", "openpyxl", "python_calamine", "tomli_w", "pyarrow", "IPython") if name in sys.modules])
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


# --- values as Python has them


def with_bars(bars):
    """Return settings and tables with other bars."""
    settings, tables = given()
    return settings, {**tables, "bars": bars}


def bars_of(bars):
    """Return how bars are filed."""
    from deckcalc.job.from_python import table_of

    return table_of("bars", bars, MODELS["bars"]).filed(MODELS["bars"]).decode()


PLAIN = "bar,patch,size,readings [mm],layer,station [m]\nB1,P1,16,15.2; 14.9,top main,30.5\nB2,P1,16,15,,\n"
LISTS = {"bar": ["B1", "B2"], "patch": ["P1", "P1"], "size": [16, "16"], "readings [mm]": [[15.2, 14.9], 15], "layer": ["top main", None],
         "station [m]": [30.5, float("nan")]}  # fmt: skip
QUANTITIES = {**LISTS, "readings [mm]": [Q([15.2, 14.9], "mm"), Q(15, "mm")], "station [m]": [Q(30.5, "m"), None]}
UNITS_IN_CELLS = {
    "readings" if "readings" in head else "station" if "station" in head else head: cells
    for head, cells in QUANTITIES.items()
}
WAYS = {
    "a dict of lists": LISTS,
    "a dict of arrays": {**LISTS, "bar": np.array(["B1", "B2"]), "station [m]": np.array([30.5, np.nan])},
    "a list of dicts": [dict(zip(LISTS, row, strict=True)) for row in zip(*LISTS.values(), strict=True)],
    "a list of dicts without the empty ones": [
        {head: cell for head, cell in zip(LISTS, row, strict=True) if cell is not None and cell == cell} for row in zip(*LISTS.values(), strict=True)
    ],
    "a frame": pd.DataFrame(LISTS),
    "a frame with an index": pd.DataFrame(LISTS, index=["x", "y"]),
    "a frame with missing values of pandas": pd.DataFrame({**LISTS, "layer": pd.array(["top main", pd.NA], dtype="string")}),
    "quantities": QUANTITIES,
    "quantities without units in the heads": UNITS_IN_CELLS,
    "texts as in a file": {**LISTS, "readings [mm]": ["15.2; 14.9", "15"], "station [m]": ["30.5", ""]},
    "other heads": {head.replace("[", "(").replace("]", ")").upper() if "station" not in head else "station_m": cells for head, cells in LISTS.items()},
}  # fmt: skip
WAYS["other heads"] = {head.replace("(MM)", "(mm)"): cells for head, cells in WAYS["other heads"].items()}


@pytest.mark.parametrize("way", WAYS)
def test_a_table_may_be_given_in_any_of_these_ways(way):
    assert bars_of(WAYS[way]) == PLAIN


def test_quantities_are_written_in_the_unit_of_the_head():
    inches = {**LISTS, "readings [mm]": [Q([0.5, 0.25], "in"), "#5"]}
    assert "B1,P1,16,12.7; 6.35,top main" in bars_of(inches) and "B2,P1,16,#5,," in bars_of(inches)


def test_every_digit_of_a_number_is_kept():
    number = 0.1 + 0.2
    assert f",{number!r}," in bars_of({**LISTS, "readings [mm]": [number, 15]})
    assert ",3," in bars_of({**LISTS, "readings [mm]": [3.0, 15]})


def test_settings_may_hold_quantities_dates_and_numbers_of_numpy():
    from deckcalc.job.from_python import toml_text

    faults = []
    data = {
        "units": "SI", "deck": {"slab_thickness": Q(220, "mm"), "year_built": np.int64(1974), "overlay": None},
        "revisions": [{"date": pd.Timestamp("2027-04-16"), "note": "x"}], "plan": {"girders": Q([1.0, 2.5], "ft"), "skew": float("nan")},
        "share": Q(5, "%"), "ratio": Q(0.5, ""), "rise": Q(5, "delta_degC"),
    }  # fmt: skip
    made = tomllib.loads(toml_text(data, faults).decode())
    assert faults == [] and made == {
        "units": "SI", "deck": {"slab_thickness": "220 mm", "year_built": 1974}, "revisions": [{"date": datetime.date(2027, 4, 16), "note": "x"}],
        "plan": {"girders": ["1 ft", "2.5 ft"]}, "share": "5 %", "ratio": "0.5", "rise": "5 Δ°C",
    }  # fmt: skip


# --- the same faults, in the same words


def faults_of(settings, tables):
    """Return the faults of a job handed over in Python."""
    with pytest.raises(JobError) as caught:
        Job.build(settings, tables)
    return caught.value.faults


def test_faults_have_the_words_of_a_folder_and_name_job_and_tables(tmp_path):
    settings, tables = given()
    folder = read_job(DEMO["metric"]).write(tmp_path / "job")
    text = (folder / "bars.csv").read_text(encoding="utf-8")
    rows = text.splitlines()
    (folder / "bars.csv").write_text(
        "\n".join([rows[0], rows[1].replace(",16,", ",99,"), *rows[2:]]) + "\n", encoding="utf-8"
    )
    toml = (
        (folder / "job.toml").read_text(encoding="utf-8").replace('slab_thickness = "220 mm"', 'slab_thickness = "22"')
    )
    (folder / "job.toml").write_text(toml, encoding="utf-8")
    cores = (folder / "cores.csv").read_text(encoding="utf-8")
    (folder / "cores.csv").write_text(cores.replace(",crack,", ",notes,"), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(folder)
    bars = tables["bars"].copy()
    bars.loc[0, "size"] = 99
    deck = {**settings["deck"], "slab_thickness": "22"}
    cores = tables["cores"].rename(columns={"crack": "notes"})
    mine = faults_of({**settings, "deck": deck}, {**tables, "bars": bars, "cores": cores})
    theirs = caught.value.faults
    assert len(mine) == len(theirs) == 3
    assert mine[0] == theirs[0].replace("job.toml: ", "job: ") and mine[0].startswith("job: deck.slab_thickness: ")
    said = [fault for fault in mine if fault.startswith("table bars, row 0, column size: ")]
    assert said and said[0].replace("table bars, row 0", "bars.csv, row 2") in theirs
    assert "table cores: column crack is missing" in mine and "cores.csv, row 1: column crack is missing" in theirs


@pytest.mark.parametrize(
    ("bars", "words"),
    [
        (pd.DataFrame({**LISTS, "bar": ["B1", "B1"]}, index=["x", "y"]), "table bars, row y: bar “B1” stands already in row x"),
        ([{**dict.fromkeys(LISTS, ""), "bar": "B1"}], "table bars, row 1, column size: "),
        ({**LISTS, "colour": [1, 2]}, "table bars: unknown column “colour”; wanted bar, size, readings, patch"),
        ({**LISTS, "readings [mm]": [{1}, 15]}, "table bars, row 1, column readings [mm]: found set, wanted text, a number"),
        ({**LISTS, "readings [mm]": [float("inf"), 15]}, "table bars, row 1, column readings [mm]: found inf, wanted a finite number"),
        ({**LISTS, "readings [mm]": [Q(3, "kg"), 15]}, "table bars, row 1, column readings [mm]: found “3 kg”, which is no diameter"),
        ({**LISTS, "station [m]": 3}, "table bars, column station [m]: found int, wanted a list"),
        ({**LISTS, "station [m]": [3]}, "table bars: columns of different lengths: bar 2, patch 2"),
        ({head: cells for head, cells in LISTS.items() if head != "size"}, "table bars: column size is missing"),
        ({head: [] for head in LISTS}, "table bars: has a header but no rows"),
        ([], "table bars: has no columns; wanted bar, size, readings, patch"),
        ("bars.csv", "table bars: found str, wanted a DataFrame, a list of dicts, or a dict of lists"),
    ],
)  # fmt: skip
def test_a_fault_of_a_table_names_table_row_and_column(bars, words):
    faults = faults_of(*with_bars(bars))
    assert any(fault.startswith(words) for fault in faults), faults


def test_an_unknown_table_and_settings_that_are_none_are_faults():
    settings, tables = given()
    assert faults_of(settings, {**tables, "barz": LISTS})[0].startswith("table barz: unknown; is it bars? known are")
    assert faults_of(3, tables) == ["job: found int, wanted a dict of sections"]
    assert faults_of({**settings, "deck": {1, 2}}, tables) == [
        "job: deck: found set, wanted text, a number, a quantity, a date, or a list or dict of such"
    ]
    named = {**settings["bridge"], "name": "a\x07"}
    assert faults_of({**settings, "bridge": named}, tables)[0].startswith("job: bridge.name: ")


def test_a_job_in_python_may_be_changed_and_reviewed(built):
    assert compute(built, {"limits.waste": "8 %"}).file.changes == {"limits.waste": "8 %"}
    assert deckcalc.frame(built)["verdict"].tolist() == [one.verdict for one in built.checks]


# --- what comes out


@pytest.fixture(scope="module")
def tables(built):
    """The tables of the job."""
    return built.tables()


def test_every_calculation_has_a_table_of_its_items_with_units_in_the_heads(built, tables):
    runs = [run for subject in built.subjects for run in subject.runs]
    assert {run.calculation.key for run in runs} | {"checks", "materials", "open_items"} | set(given()[1]) == set(
        tables
    )
    for run in runs:
        row = tables[run.calculation.key][tables[run.calculation.key]["item"] == run.item]
        name, value = next(iter(run.results().items()))
        kind = run.calculation.kinds[name]
        head = f"{name} [{kind.symbol('SI')}]" if kind.symbol("SI") else name
        assert float(value.m_as(kind.unit("SI"))) in [pytest.approx(float(one)) for one in row[head]], (run, head)
    assert len(tables["checks"]) == len(built.checks) and len(tables["materials"]) == len(built.materials)
    assert tables["open_items"]["number"].tolist() == [one.number for one in built.open_items]


def test_inputs_that_came_out_go_in_again(built, tables):
    from deckcalc.job.from_python import contents_of

    again = read_job(contents_of(given()[0], {name: tables[name] for name in given()[1]}))
    assert again.verbatim == built.file.verbatim
    assert tables["bars"]["station [m]"].dtype == float and tables["rectangles"]["width [m]"].dtype == float


@pytest.mark.parametrize("format", ["csv", "parquet", "xlsx", "ods"])
def test_tables_are_written_whole_and_read_back(tables, tmp_path, format):
    some = {name: tables[name] for name in ("bars", "steel.section_loss", "chloride.fit_profile_and_background", "checks", "open_items", "curing.modulus (SI)")
            if name in tables}  # fmt: skip
    out = result_tables.write(some, tmp_path / "out", format)
    assert result_tables.write(some, tmp_path / "out", format) == out and [
        path.name for path in tmp_path.iterdir()
    ] == ["out"]
    readers = {"csv": pd.read_csv, "parquet": pd.read_parquet}
    if format in readers:
        found = {name: readers[format](out / f"{name}.{format}") for name in some}
    else:
        names = result_tables.names_of_sheets(some)
        book = pd.read_excel(out / f"results.{format}", sheet_name=None, engine="calamine")
        found = {name: book[names[name]] for name in some}
    for name, table in some.items():
        assert found[name].columns.tolist() == table.columns.tolist()
        for head in table.columns:
            if table[head].dtype.kind == "f":
                np.testing.assert_allclose(found[name][head].astype(float), table[head], rtol=1e-14)
    (out / "letter.txt").write_text("signed", encoding="utf-8")
    with pytest.raises(PackageError, match=r"letter.txt .not made by deckcalc."):
        result_tables.write(some, out, format)


def test_tables_have_a_format_and_a_library_for_it(tables, tmp_path, monkeypatch):
    with pytest.raises(InputError, match="found the format “doc”, wanted one of csv, parquet, xlsx, ods"):
        result_tables.write({}, tmp_path / "out", "doc")
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(InputError, match="want the library pyarrow; install it with: pip install pyarrow"):
        result_tables.write({"bars": tables["bars"]}, tmp_path / "out", "parquet")
    with pytest.raises(PackageError, match="is a job folder; name another folder"):
        result_tables.write({}, DEMO["metric"])
    assert not list(tmp_path.iterdir())


def test_the_command_writes_the_tables_of_a_job(built, tables, tmp_path, capfd, monkeypatch):
    monkeypatch.setattr("deckcalc.job.compute", lambda place: built)
    assert cli.main(["tables", str(DEMO["metric"]), "--out", str(tmp_path / "out")]) == 0
    assert f"{len(tables)} tables are here: {tmp_path / 'out'}" in capfd.readouterr().out
    assert {path.stem for path in (tmp_path / "out").glob("*.csv")} == set(tables)
    with pytest.raises(SystemExit):
        cli.main(["tables", str(DEMO["metric"]), "--out", str(tmp_path / "out"), "--format", "doc"])
    assert "found “doc”; wanted csv or parquet or xlsx or ods" in capfd.readouterr().err
