"""Check tables in a spreadsheet: values as they are stored and shown, each fault with its cell, and bounds before anything is read."""

import csv
import datetime
import io
import re
import shutil
import sys
import zipfile

import openpyxl
import pandas as pd
import pytest
from samples import DEMO

from deckcalc import cli
from deckcalc.base.fields import JobError
from deckcalc.core.sources import folder as files
from deckcalc.core.units import InputError
from deckcalc.job import adopt, spreadsheet, workbook
from deckcalc.job.file import read_folder, read_job
from deckcalc.job.from_python import contents_of
from deckcalc.job.read_tables import read_tables
from deckcalc.job.rows import read_rows
from deckcalc.job.settings import ROWS
from deckcalc.job.table import head_of

MODELS = ROWS
BARS = [
    ["bar", "patch", "size", "readings [mm]", "station (m)"],
    ["B1", "P1", 16, "15.2; 14.9", 30.5],
    ["B2", "P1", "#5", 15.1, None],
]
AGGREGATE = [
    ["aggregate", "use", "nominal size", "shape", "relative density", "density basis", "absorption", "moisture [%]", "moisture basis",
     "dry rodded density", "fineness modulus", "loose density [kg/m^3]", "bulking [%]"],
    ["sand", "Fine", "", "", 2.65, "oven-dry", 0.012, 3, "total", "", 2.75, 1500, 25],
]  # fmt: skip


def xlsx(sheets, change=lambda book: None):
    """Return a spreadsheet as bytes; `change` may alter it before."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    change(book)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def ods(sheets):
    """Return an OpenDocument spreadsheet as bytes."""
    data = io.BytesIO()
    with pd.ExcelWriter(data, engine="odf") as writer:
        for name, rows in sheets.items():
            pd.DataFrame(rows[1:], columns=rows[0], dtype=object).to_excel(writer, sheet_name=name, index=False)
    return data.getvalue()


def tables_of(place, data, file="tables.xlsx", **others):
    """Read the tables of a folder that holds a spreadsheet."""
    (place / file).write_bytes(data)
    for name, text in others.items():
        (place / f"{name}.csv").write_text(text, encoding="utf-8")
    return read_tables(read_folder(place), MODELS)


def rows_of(place, data, name, file="tables.xlsx"):
    """Read one table of a spreadsheet; return its rows and all faults."""
    tables = tables_of(place, data, file)
    faults = list(tables.faults)
    return read_rows(tables.found[name], MODELS[name], faults) if name in tables.found else [], faults


def edit(sheet, **cells):
    """Return a change of a spreadsheet: cells of one sheet, by value or by number format."""

    def change(book):
        for cell, value in cells.items():
            if isinstance(value, tuple):
                book[sheet][cell].number_format = value[0]
            else:
                book[sheet][cell] = value

    return change


@pytest.mark.parametrize(("file", "write"), [("tables.xlsx", xlsx), ("tables.ods", ods)])
def test_a_sheet_is_read_as_a_table_and_filed_as_plain_csv(tmp_path, file, write):
    tables = tables_of(tmp_path, write({"bars": BARS, "prices of last year": [["a"]]}), file)
    assert tables.faults == [] and tables.unread == [f"{file}, sheet prices of last year: no table of a job; not read"]
    table = tables.found["bars"]
    assert (
        table.filed(MODELS["bars"])
        == b"bar,patch,size,readings [mm],station [m]\nB1,P1,16,15.2; 14.9,30.5\nB2,P1,#5,15.1,\n"
    )
    assert table.understood == ("“station (m)” is station [m]",)
    faults = []
    rows = read_rows(table, MODELS["bars"], faults)
    assert faults == [] and [row.size for row in rows] == ["16", "#5"] and rows[0].station == 30.5


def test_numbers_dates_and_times_come_as_the_cell_holds_them(tmp_path):
    head = ["time", "air [°C]", "humidity [%]", "wind [km/h]", "sun [W/m^2]"]
    night = datetime.datetime(2026, 9, 23)
    rows = [head, [night, 15.199999999999999, 0.1 + 0.2, 5.0, 1e-05], [night.replace(hour=8, minute=30), 15, 0.8, 5, 0]]
    change = edit("weather", C2="=0.1+0.2", C3=("0.0 %",))
    data = xlsx({"weather": rows}, change)
    assert any("C2" in fault and "formula" in fault for fault in tables_of(tmp_path, data).found["weather"].faults)
    table = tables_of(tmp_path, xlsx({"weather": rows}, edit("weather", C3=("0.0 %",)))).found["weather"]
    assert table.rows == (("2026-09-23 00:00", "15.2", "0.3", "5", "1e-05"), ("2026-09-23 08:30", "15", "80", "5", "0"))
    assert table.understood == ("a cell shown in per cent is read as shown, 0.8 as 80 %",)


def test_a_share_without_a_unit_is_refused_with_both_readings_unless_it_is_shown_in_per_cent(tmp_path):
    rows, faults = rows_of(tmp_path, xlsx({"aggregates": AGGREGATE}), "aggregates")
    assert rows == [] and faults == [
        "tables.xlsx, sheet aggregates, cell G2, column absorption: found 0.012, which can be read as 0.012 % or as 1.2 %; write the "
        "unit into the head, absorption [%], or show the cell in per cent"
    ]
    rows, faults = rows_of(
        tmp_path, xlsx({"aggregates": AGGREGATE}, edit("aggregates", G2=('0.00" of mass "%',))), "aggregates"
    )
    assert faults == [] and f"{rows[0].absorption:~P}" == "1.2 %" and rows[0].use == "fine"
    assert rows_of(tmp_path, xlsx({"aggregates": AGGREGATE}, edit("aggregates", G2=('0.00" %"',))), "aggregates")[1]


def cell_faults():
    """Give spreadsheets with one slip, and the fault that names its cell."""

    def error(book):
        book["bars"]["C3"].value, book["bars"]["C3"].data_type = "#REF!", "e"

    long = [*BARS, *([[f"C{i}", "P1", "16", 15] for i in range(2001)])]
    return {
        "an error": (xlsx({"bars": BARS}, error), "tables.xlsx, sheet bars, cell C3, column size: holds the error #REF!"),
        "a formula": (xlsx({"bars": BARS}, edit("bars", D3="=15+1")), "tables.xlsx, sheet bars, cell D3, column readings [mm]: holds a formula whose"),
        "a wrong size": (xlsx({"bars": BARS}, edit("bars", C3="#12")), "tables.xlsx, sheet bars, cell C3, column size: "),
        "a wrong reading": (xlsx({"bars": BARS}, edit("bars", D2=150)), "tables.xlsx, sheet bars, cell D2, column readings [mm]: found “150 mm”"),
        "below empty rows": (xlsx({"bars": [[], [None, None], *[[None, *row] for row in BARS]]}, edit("bars", D5="#12")),
                             "tables.xlsx, sheet bars, cell D5, column size: "),
        "an unknown head": (xlsx({"bars": BARS}, edit("bars", E1="colour")), "tables.xlsx, sheet bars, cell E1: unknown column “colour”"),
        "a head missing": (xlsx({"bars": BARS}, edit("bars", D1="notes")), "tables.xlsx, sheet bars, row 1: column readings is missing"),
        "a bar twice": (xlsx({"bars": BARS}, edit("bars", A3="B1")), "tables.xlsx, sheet bars, row 3: bar “B1” is already in row 2"),
        "no rows": (xlsx({"bars": BARS[:1]}), "tables.xlsx, sheet bars: has a header but no rows"),
        "nothing": (xlsx({"bars": []}), "tables.xlsx, sheet bars: the sheet is empty"),
        "a name near a table": (xlsx({"bar": BARS}), "tables.xlsx, sheet bar: not read; is it bars? Give it"),
        "a table twice": (xlsx({"cut lengths": [], "cut_lengths": []}), "sheet cut_lengths: the table cut_lengths is already in another"),
        "too many rows": (xlsx({"bars": long}), "tables.xlsx, sheet bars: more than 2000 rows"),
        "a far cell": (xlsx({"bars": BARS}, edit("bars", XFD1048576="x")), "tables.xlsx: sheet bars: its cells reach to XFD1048576; at most 100"),
        "a long cell": (xlsx({"bars": BARS}, edit("bars", A3="x" * 5000)), "tables.xlsx, sheet bars, cell A3, column bar: more than 4000"),
        "very many": (xlsx({"bars": [BARS[0], *([[f"C{i}", "P1", "16", "=1"] for i in range(30)])]}), "tables.xlsx, sheet bars: more cells are at fault"),
        "no zip": (b"bar,patch", "tables.xlsx: no spreadsheet that can be read (File is not a zip file)"),
        "another zip": (zipped({"a.txt": b"x"}), "tables.xlsx: no spreadsheet that can be read"),
        "cut off": (xlsx({"bars": BARS})[:-200], "tables.xlsx: no spreadsheet that can be read"),
    }  # fmt: skip


def zipped(parts):
    """Return a zip file."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in parts.items():
            file.writestr(name, content)
    return data.getvalue()


def with_part(data, name, content):
    """Return a spreadsheet with one part replaced."""
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        return zipped({**{part: old.read(part) for part in old.namelist()}, name: content})


CELLS = cell_faults()


@pytest.mark.parametrize("slip", CELLS)
def test_a_fault_names_file_sheet_and_cell(tmp_path, slip):
    data, words = CELLS[slip]
    faults = rows_of(tmp_path, data, "bars")[1]
    assert any(words in fault for fault in faults), faults


ENTITIES = (
    b'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>&b;</sheetData></worksheet>'
)
TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"


def repeated(row, cell):
    """Return an OpenDocument spreadsheet whose one cell is repeated."""
    text = (
        f'<office:document-content xmlns:office="{OFFICE}" xmlns:t="{TABLE}"><office:body><office:spreadsheet><t:table t:name="bars">'
        f'<t:table-row t:number-rows-repeated="{row}"><t:table-cell t:number-columns-repeated="{cell}" office:value-type="float" '
        'office:value="1"/></t:table-row></t:table></office:spreadsheet></office:body></office:document-content>'
    )
    return with_part(ods({"bars": BARS}), "content.xml", text.encode())


BOMBS = {
    "unpacked": ("tables.xlsx", lambda: with_part(xlsx({"bars": BARS}), "xl/media/x.bin", bytes(65 * 2**20)), "unpacks to more than 64 MB"),
    "parts": ("tables.xlsx", lambda: zipped({f"x{i}": b"" for i in range(2001)}), "2001 parts; at most 2000"),
    "entities": ("tables.xlsx", lambda: with_part(xlsx({"bars": BARS}), "xl/worksheets/sheet1.xml", ENTITIES), "no spreadsheet that can be read .Entities"),
    "rows": ("tables.ods", lambda: repeated(1_000_000, 1), "reach to A1000000; at most"),
    "columns": ("tables.ods", lambda: repeated(1, 16_000), "reach to .*1; at most 100 columns"),
    "a number that is none": ("tables.ods", lambda: repeated("many", 1), "no spreadsheet that can be read"),
}  # fmt: skip


@pytest.mark.parametrize("bomb", BOMBS)
def test_what_is_too_large_is_refused_before_it_is_read(tmp_path, monkeypatch, bomb):
    file, made, words = BOMBS[bomb]
    monkeypatch.setattr(pd, "read_excel", lambda *given, **how: pytest.fail("it was read"))
    faults = tables_of(tmp_path, made(), file).faults
    assert len(faults) == 1 and re.search(words, faults[0]), faults


def test_empty_rows_far_below_and_formats_far_out_are_no_cells(tmp_path):
    tables = tables_of(tmp_path, xlsx({"bars": BARS}, edit("bars", XFD1048576=("0.0",))))
    assert tables.faults == [] and len(tables.found["bars"].rows) == 2


def test_a_table_both_as_sheet_and_as_file_is_a_fault(tmp_path):
    (tmp_path / "tables.ods").write_bytes(ods({"bars": BARS}))
    tables = tables_of(tmp_path, xlsx({"bars": BARS}), bars="bar,patch,size,readings [mm]\nB1,P1,16,15\n")
    assert tables.faults == [
        "tables.ods and tables.xlsx: both are there; keep one of them in the job folder",
        "bars.csv and tables.xlsx, sheet bars: the table bars stands in both; take one of the two away",
    ]


def test_a_library_that_is_missing_is_named(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pandas", None)
    assert (
        "tables.xlsx: wants the libraries pandas, python-calamine"
        in tables_of(tmp_path, xlsx({"bars": BARS})).faults[0]
    )


def test_a_job_of_sheets_names_them_in_the_faults_of_every_room(tmp_path):
    folder = shutil.copytree(DEMO["metric"], tmp_path / "job", ignore=shutil.ignore_patterns("package", "kernel-*"))
    (folder / "bars.csv").unlink()
    (folder / "tables.xlsx").write_bytes(xlsx({"bars": BARS, "coloured": []}))
    (folder / "faults.xlsx").write_bytes(xlsx({"bars": BARS}))
    with pytest.raises(JobError) as caught:
        read_job(folder)
    faults = caught.value.faults
    assert any(
        fault.startswith("tables.xlsx, sheet bars, bar B2: 1 reading; the job wants at least 3") for fault in faults
    ), faults
    assert not any("bars.csv" in fault for fault in faults if fault.startswith("tables.xlsx"))
    assert not any("faults.xlsx" in fault for fault in faults)


def test_a_spreadsheet_under_another_name_is_a_note_or_a_fault_as_any_file(tmp_path):
    for name in ("measured.xlsx", "faults.xlsx", "~$tables.xlsx"):
        (tmp_path / name).write_bytes(b"x")
    contents = read_folder(tmp_path)
    assert len(contents.unread) == 2 and len(contents.faults) == 1 and "is it tables.xlsx" in contents.faults[0]
    (tmp_path / "tables.xlsx").write_bytes(xlsx({"bars": BARS}))
    assert read_folder(tmp_path).faults == ()


def test_a_password_is_said_to_be_the_trouble():
    with pytest.raises(InputError, match="save it again, without a password"):
        workbook.looked_at("tables.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))


# --- what is written


@pytest.mark.parametrize("system", ["SI", "US"])
def test_a_template_has_heads_that_are_read_and_choices_that_are_those_of_the_fields(tmp_path, system):
    made = spreadsheet.template(list(MODELS), system, tmp_path / "tables.xlsx")
    tables = read_tables(read_folder(tmp_path), MODELS)
    assert tables.faults == [] and tables.unread == [] and set(tables.found) == set(MODELS)
    for name, table in tables.found.items():
        faults = []
        read_rows(table, MODELS[name], faults)
        assert faults == [f"tables.xlsx, sheet {name}: has a header but no rows"], faults
    book = openpyxl.load_workbook(made)
    bars = book["bars"]
    heads = [cell.value for cell in bars[1]]
    assert ("readings [mm]" if system == "SI" else "readings [in]") in heads and bars.freeze_panes == "A2"
    note = bars.cell(1, heads.index("layer") + 1).comment.text
    assert (
        "one of: top main; top distribution; bottom main; bottom distribution" in note and "may be left empty" in note
    )
    assert (
        "from 1 mm to 85 mm"
        in bars.cell(1, heads.index("readings [mm]" if system == "SI" else "readings [in]") + 1).comment.text
    )
    for name, model in MODELS.items():
        for rule in book[name].data_validations.dataValidation:
            sheet, _, cells = rule.formula1.partition("!")
            column = head_of(str(book[name][f"{str(rule.sqref)[0]}1"].value), model)[0]
            options = [cell.value for row in book[sheet][cells.replace("$", "")] for cell in row]
            assert tuple(options) == spreadsheet.choices_of(model.model_fields[column].annotation)
    assert sum(len(book[name].data_validations.dataValidation) for name in MODELS) > 10


def test_a_template_that_is_filled_in_is_read(tmp_path):
    made = spreadsheet.template(["bars", "placements"], "SI", tmp_path / "tables.xlsx")
    book = openpyxl.load_workbook(made)
    book["bars"].append(["B1", "16", "15.2; 14.9", "P1"])
    book["placements"].append(
        ["T1", None, None, 100, None, *[datetime.datetime(2026, 9, 22, hour) for hour in (9, 10, 11)], 19, 16]
    )
    book.save(made)
    faults = []
    tables = read_tables(read_folder(tmp_path), MODELS)
    bars, placed = (read_rows(tables.found[name], MODELS[name], faults) for name in ("bars", "placements"))
    assert faults == [] and bars[0].layer == "top main" and placed[0].start == datetime.datetime(2026, 9, 22, 9)


def test_a_template_takes_no_place_and_no_unknown_table(tmp_path):
    (tmp_path / "tables.xlsx").write_bytes(b"mine")
    with pytest.raises(InputError, match="tables.xlsx exists already; nothing was written"):
        spreadsheet.template(["bars"], "SI", tmp_path / "tables.xlsx")
    with pytest.raises(InputError, match="barz: unknown; known are"):
        spreadsheet.template(["bars", "barz"], "SI", tmp_path / "other.xlsx")
    assert [path.name for path in tmp_path.iterdir()] == ["tables.xlsx"] and (
        tmp_path / "tables.xlsx"
    ).read_bytes() == b"mine"


def marked(path):
    """Return, by sheet, the cells that are filled, and the comments of each; both are of the same cells."""
    book, found = openpyxl.load_workbook(path), {}
    for sheet in book.worksheets[1:]:
        cells = [cell for row in sheet.iter_rows() for cell in row]
        filled = {cell.coordinate for cell in cells if cell.fill.fill_type == "solid"}
        assert filled == {cell.coordinate for cell in cells if cell.comment}
        found[sheet.title] = {cell.coordinate: cell.comment.text for cell in cells if cell.comment}
        for cell in (cell for cell in cells if cell.comment):
            assert all(line in sheet.cell(cell.row, sheet.max_column).value for line in cell.comment.text.split("\n"))
    return found, [[cell.value for cell in row] for row in book.worksheets[0].iter_rows(min_row=2)]


def spoilt(place, sheets):
    """Return a job with six faults in its tables and one in job.toml, in CSV files or with bars in a sheet."""
    folder = shutil.copytree(DEMO["metric"], place / "job", ignore=shutil.ignore_patterns("package", "kernel-*", ".*"))
    head = (folder / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(
        head.replace('slab_thickness = "220 mm"', 'slab_thickness = "22 mm"'), encoding="utf-8"
    )
    for name, row, column, cell in [
        ("bars", 3, 2, "#99"),
        ("bars", 5, 7, "=1+1"),
        ("depths", 2, 3, "9000"),
        ("pits", 0, 1, "depth [mm]"),
        ("pits", 0, 0, "rod"),
    ]:
        path = folder / f"{name}.csv"
        rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
        rows[row][column] = cell
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows(rows)
    if sheets:
        rows = list(csv.reader((folder / "bars.csv").read_text(encoding="utf-8").splitlines()))
        (folder / "bars.csv").unlink()
        rows = [[None, *row] for row in rows]

        def as_text(book):
            book["bars"]["I7"].data_type = "s"

        (folder / "tables.xlsx").write_bytes(xlsx({"bars": [[], *rows]}, as_text))
    return folder


@pytest.mark.parametrize("sheets", [False, True])
def test_exactly_the_cells_at_fault_are_marked_in_a_copy(tmp_path, capfd, sheets):
    folder = spoilt(tmp_path, sheets)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert cli.main(["check", str(folder), "--write-faults"]) == 1
    out, err = capfd.readouterr()
    assert out == f"The cells at fault are marked in {folder / 'faults.xlsx'}\n"
    found, listed = marked(folder / "faults.xlsx")
    bars = {"D5", "I7"} if sheets else {"C4", "H6"}
    assert {name: set(cells) for name, cells in found.items()} == {"bars": bars, "depths": {"D3"}, "pits": {"A1"}}
    assert sorted(row[2] for row in listed) == sorted(err.strip().split("\n")) and len(listed) == 6
    assert [row[:2] for row in listed if row[2].startswith("job.toml")] == [["job", None]]
    assert "“#99”" in found["bars"][min(bars)] and "“=1+1" in found["bars"][max(bars)]
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.name in before} == before
    assert cli.main(["check", str(folder), "--write-faults"]) == 1
    assert {path.name for path in folder.iterdir()} == {*before, "faults.xlsx", "faults-2.xlsx"}


def test_a_fault_of_an_item_is_marked_at_the_item(tmp_path):
    (tmp_path / "pits.csv").write_text("bar,depth [mm]\nB6,1\nB21,2\n", encoding="utf-8")
    faults = [
        "pits.csv, bar B21: there is no bar “B21” in bars.csv",
        "pits.csv, bar B6, column depth: found 1",
        "pits.csv: more",
        "--set x: none",
    ]
    made = spreadsheet.mark_faults(read_folder(tmp_path), faults, tmp_path / "marked.xlsx")
    found, listed = marked(made)
    assert found["pits"] == {"A3": faults[0], "B2": faults[1], "A1": faults[2]}
    assert listed[3] == ["job", None, "--set x: none"]
    with pytest.raises(InputError, match="exists already"):
        spreadsheet.mark_faults(read_folder(tmp_path), faults, made)


def test_nothing_is_marked_where_nothing_is_at_fault(tmp_path, capfd, monkeypatch):
    monkeypatch.setattr("deckcalc.job.order.Job.compute_all", lambda job: None)
    folder = shutil.copytree(
        DEMO["metric"], tmp_path / "job", ignore=shutil.ignore_patterns("package", "kernel-*", ".*")
    )
    before = sorted(path.name for path in folder.iterdir())
    monkeypatch.setattr(cli, "say", lambda *lines: None)
    monkeypatch.setattr("deckcalc.job.report.open_lines", lambda job: [])
    monkeypatch.setattr("deckcalc.job.report.check_rows", lambda job, word, every: [])
    monkeypatch.setattr("deckcalc.job.report.tally", lambda job: "")
    cli.main(["check", str(folder), "--write-faults"])
    assert sorted(path.name for path in folder.iterdir()) == before


@pytest.mark.parametrize(
    ("was", "slip", "cell", "words"),
    [
        ("1.75,3", "1.75 kg,3", "E2", "patches.csv, row 2, column width [ft]: found “1.75 kg”, which is no distance"),
        ("P1,12.5", "P1,80", "A2", "patches.csv, patch P1, a corner: station 82 ft 6 in, offset -10 ft 9 in is off the deck"),
        ("3.25", "28", "A2", "patches.csv, patch P1, a corner: "),
        (",4,2,", ",4,27,", "A3", "patches.csv, patch P2, a corner: "),
        (",2.5,1.75,", ",2.5,26,", "A2", "patches.csv, patch P1: 5 % of it lies off the deck"),
    ],
)  # fmt: skip
def test_a_bad_cell_of_a_small_job_is_marked(tmp_path, capfd, was, slip, cell, words):
    folder = shutil.copytree(files("notebooks") / "small_patches", tmp_path / "job")
    text = (folder / "patches.csv").read_text(encoding="utf-8")
    assert was in text
    (folder / "patches.csv").write_text(text.replace(was, slip, 1), encoding="utf-8")
    assert cli.main(["check", str(folder), "--write-faults"]) == 1
    told = capfd.readouterr()
    assert words in told.err and f"marked in {folder / 'faults.xlsx'}" in told.out
    found, listing = marked(folder / "faults.xlsx")
    assert [*found] == ["patches"] and [*found["patches"]] == [cell] and words in found["patches"][cell]
    assert all(row[:2] == ["patches", cell] for row in listing)


def test_a_marked_copy_that_is_corrected_is_a_spreadsheet_of_tables(tmp_path):
    (tmp_path / "pits.csv").write_text("bar,depth [mm]\nB6,900\nB21,2\n", encoding="utf-8")
    faults = ["pits.csv, row 2, column depth [mm]: found “900 mm”, wanted a length from 0.05 mm to 60 mm"]
    made = spreadsheet.mark_faults(read_folder(tmp_path), faults, tmp_path / "corrected" / "tables.xlsx")
    book = openpyxl.load_workbook(made)
    book["pits"]["B2"] = 9
    book.save(made)
    rows, found = rows_of(made.parent, made.read_bytes(), "pits")
    assert found == [] and [f"{row.depth:~P}" for row in rows] == ["9.0 mm", "2.0 mm"]


def test_faults_are_named_although_they_cannot_be_marked(tmp_path, capfd, monkeypatch):
    folder = spoilt(tmp_path, False)
    before = sorted(folder.iterdir())
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    assert cli.main(["check", str(folder), "--write-faults"]) == 1
    out, err = capfd.readouterr()
    assert out == "" and "bars.csv, row 4, column size" in err and err.count("\n") == 7
    assert "no cell was marked: a spreadsheet is written with the library openpyxl; install it" in err
    assert sorted(folder.iterdir()) == before


# --- a plan of the work that stands in a sheet


def test_a_plan_in_a_sheet_is_tried_in_its_place_and_never_written_beside_it(tmp_path):
    row = (
        "T1",
        "",
        "",
        "100",
        "",
        "2026-09-22 09:00",
        "2026-09-22 10:00",
        "2026-09-24 09:00",
        "",
        "16 °C",
        "wet fabric",
        "",
    )
    sheet = [list(adopt.HEADS), ["T9", *row[1:]]]
    (tmp_path / "tables.xlsx").write_bytes(xlsx({"placements": sheet}))
    contents = read_folder(tmp_path)
    tried = read_tables(adopt.with_table(contents, [row]), MODELS)
    assert tried.faults == [] and [cells[0] for cells in tried.found["placements"].rows] == ["T1"]
    assert adopt.with_table(contents, [row]) != contents
    made = adopt.Proposal([], [row], [], [], [])
    with pytest.raises(
        InputError, match="the plan stands in tables.xlsx, sheet placements, and only placements.csv is written"
    ):
        adopt.write(made, contents)
    assert [path.name for path in tmp_path.iterdir()] == ["tables.xlsx"]
    (tmp_path / "tables.xlsx").write_bytes(xlsx({"bars": BARS}))
    assert adopt.write(made, read_folder(tmp_path)) == tmp_path / "placements.csv"
    assert read_tables(read_folder(tmp_path), MODELS).found["placements"].rows[0][0] == "T1"


def test_a_plan_of_a_job_in_python_has_no_file():
    contents = contents_of({}, {"placements": [{"placement": "T1"}]})
    with pytest.raises(InputError, match="this job stands in no folder, and only placements.csv is written"):
        adopt.write(adopt.Proposal([], [], [], [], []), contents)
