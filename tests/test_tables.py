"""Check tables as people have them: CSV of any usual dialect and encoding, read to the same rows, every departure said."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from deckcalc.base.choices import FOLDED
from deckcalc.core.units import InputError
from deckcalc.job.bounded import most_rows, text_of
from deckcalc.job.dialect import read_csv
from deckcalc.job.rows import read_rows
from deckcalc.job.settings import ROWS
from deckcalc.job.table import taken

MODELS = ROWS
BARS = "bar,patch,size,readings [mm],layer,station [m]\nB1,P1,16,15.2; 14.9,top main,30.5\nB2,P1,16,15.1; 15.3,bottom main,31\n"


def read(text, name="bars"):
    """Read a table by itself; return its rows, what was understood, its faults, and how it is filed."""
    data = text if isinstance(text, bytes) else text.encode()
    model, faults = MODELS[name], []
    table = taken(read_csv(name, data, model, most_rows(name)), model)
    rows = read_rows(table, model, faults)
    return rows, list(table.understood), faults, table.filed(model)


def plain(rows):
    """Return rows as text that two readings can be compared by."""
    return [repr(row) for row in rows]


def commas(text):
    """Return a text of comma-separated cells as a European spreadsheet writes it: semicolons, decimal commas."""
    made = io.StringIO()
    writer = csv.writer(made, delimiter=";", lineterminator="\n")
    writer.writerows([[cell.replace(".", ",") for cell in row] for row in csv.reader(text.splitlines())])
    return made.getvalue()


TABS = BARS.replace(",", "\t")
QUOTED = BARS.replace("15.2; 14.9", '"15,2; 14,9"').replace("15.1; 15.3", '"15,1; 15,3"').replace("30.5", '"30,5"')
DIALECTS = {
    "byte order mark": (b"\xef\xbb\xbf" + BARS.encode(), ["read as UTF-8 text with a byte order mark"]),
    "UTF-16, little end first": (BARS.encode("utf-16"), ["read as UTF-16 text"]),
    "UTF-16, big end first": (b"\xfe\xff" + BARS.encode("utf-16-be"), ["read as UTF-16 text"]),
    "UTF-16 without a mark": (BARS.encode("utf-16-le"), ["read as UTF-16 text"]),
    "UTF-16, big end first, without a mark": (BARS.encode("utf-16-be"), ["read as UTF-16 text"]),
    "UTF-32": (BARS.encode("utf-32"), ["read as UTF-32 text"]),
    "CR LF": (BARS.replace("\n", "\r\n"), ["lines ended by CR LF"]),
    "CR": (BARS.replace("\n", "\r"), ["lines ended by CR"]),
    "tabs": (TABS, ["cells separated by tabs"]),
    "semicolons": (commas(BARS).replace("15,", "15.").replace("14,", "14.").replace("30,5", "30.5"), ["cells separated by semicolons"]),
    "decimal comma": (commas(BARS), ["cells separated by semicolons", "decimal comma"]),
    "decimal comma and tabs": (TABS.replace(".", ","), ["cells separated by tabs", "decimal comma"]),
    "decimal comma in quotation marks": (QUOTED, ["decimal comma"]),
    "separator in the first line": ("sep=;\n" + commas(BARS), ["cells separated by semicolons, as its first line says", "decimal comma"]),
    "separator in the first line, quoted": ('"sep=,"\n' + BARS, ["cells separated by commas, as its first line says"]),
    "cells behind the last column": (BARS.replace("\n", ",,\n").replace("[m],,", "[m]"), ["empty cells behind the last column left out"]),
    "columns behind the last": (BARS.replace("\n", ",,\n"), ["2 empty columns left out"]),
    "an empty column": (BARS.replace(",P", ",,P").replace("bar,", "bar,,"), ["1 empty column left out"]),
    "empty rows": (BARS.replace("B2", ",,,,,\n\nB2"), ["2 empty rows left out"]),
    "empty rows above": ("\n\n" + BARS, ["2 empty rows above the heads left out"]),
    "round brackets": (BARS.replace("[m]", "(m)"), ["“station (m)” is station [m]"]),
    "a comma before the unit": (BARS.replace("station [m]", '"Station, m"'), ["“Station, m” is station [m]"]),
    "an underscore before the unit": (BARS.replace("station [m]", "STATION_M"), ["“STATION_M” is station [m]"]),
    "notes": (BARS.replace("station [m]", "station [m],Remarks").replace("30.5", "30.5,1.5 m, deep".replace(", ", " ")).replace(",31\n", ",31,\n"),
              ["the column “Remarks” is for people and not used"]),
    "all at once": (("sep=;\n" + commas(BARS.replace("[m]", "(m)").replace("\n", ",\n"))).replace("\n", "\r\n").encode("utf-16"),
                    ["read as UTF-16 text", "lines ended by CR LF", "cells separated by semicolons, as its first line says", "decimal comma",
                     "1 empty column left out", "“station (m)” is station [m]"]),
}  # fmt: skip


@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_table_in_any_dialect_is_the_same_table_and_what_was_understood_is_said(dialect):
    text, said = DIALECTS[dialect]
    rows, understood, faults, filed = read(text)
    assert faults == [] and understood == said
    assert plain(rows) == plain(read(BARS)[0]) and len(rows) == 2
    if dialect != "notes":  # filed as the plain table
        assert filed == BARS.encode()


def test_a_plain_table_is_filed_as_it_stands():
    rows, understood, _, filed = read(BARS)
    assert understood == [] and filed == BARS.encode() and len(rows) == 2
    odd = BARS.replace("15.2; 14.9", '"15.20 ; 14.9 mm"').replace("readings", "Readings").rstrip("\n")
    assert read(odd)[3] == odd.encode()


@pytest.mark.parametrize("table", ["rates", "prices"])
def test_a_number_in_a_sentence_is_no_decimal_comma(table):
    text = {
        "prices": "price;work;per;plan;least;likely;most;currency;date;source\n"
        "crew;1,5 shifts;hour;nights;1,5;2,5;3,5;crowns;2027-02-15;list 1.2\n",
        "rates": "step;work;per;after;uses;least;likely;most;fallback;date;source\n"
        'mark;sound again 1.5;patch;;"hands; saw";1,5 min;2 min;3 min;;2027-02-15;estimate\n',
    }[table]
    rows, understood, faults, _ = read(text, table)
    assert faults == [] and understood == ["cells separated by semicolons", "decimal comma"]
    assert rows[0].work in ("1,5 shifts", "sound again 1.5")


@pytest.mark.parametrize("separator", [",", ";"])
def test_groups_of_three_digits_beside_a_point_have_one_reading(separator):
    with io.StringIO() as made:
        csv.writer(made, delimiter=separator, lineterminator="\n").writerows(
            [["core", "station [mm]", "offset [m]", "bar depth [mm]", "crack"], ["C1", "1,250,000", "1.5", "50", "no"]]
        )
        rows, _, faults, _ = read(made.getvalue(), "cores")
    assert faults == [] and rows[0].station.m_as("m") == 1250


def test_cp1252_is_told_from_utf_8():
    text = "item,value [m],source\nmerging taper,60,Straßenbau, § 4 – “Sperrung”\n".replace("bau,", "bau")
    rows, understood, faults, filed = read(text.encode("cp1252"), "road_rules")
    assert faults == [] and understood == ["read as cp1252 text"] and filed == text.encode()
    assert rows[0].source == "Straßenbau § 4 – “Sperrung”" == read(text, "road_rules")[0][0].source


MIXED = "item,value [m],source\nmerging taper,60,Straße\nshort taper,30,".encode() + b"Stra\xdfe\n"
REFUSED = {
    "two encodings in one file": (MIXED, "road_rules", "road_rules.csv, row 3: not UTF-8 text, while row 2 is"),
    "an encoding that is not known": (b"item,value [m],source\nshort taper,30,\xa1\xa4\n", "road_rules", "road_rules.csv, row 2: not UTF-8 text, and “¡”"),
    "no sign of cp1252": (b"item,value [m],source\nshort taper,30,\x90\n", "road_rules", "road_rules.csv, row 2: not cp1252 text"),
    "UTF-16 cut off": (BARS.encode("utf-16")[:-1], "bars", "not UTF-16 text; save"),
    "comma and point": (commas(BARS).replace("30,5", "30.5"), "bars",
                        "bars.csv: numbers with a decimal comma in rows 2, 3 (“15,2”) and with a point in row 2 (“30.5”)"),
    "thousands or decimals": ("core;station [mm];offset [m];bar depth [mm];crack\nC1;30,500;1;50;no\n", "cores",
                              "cores.csv, row 2: “30,500” can be read as 30.500 or as 30500"),
    "a decimal comma between commas": (BARS.replace("15.2; 14.9", '"15,2; 14,9"'), "bars",
                                       "bars.csv: numbers with a decimal comma in row 2 (“15,2”) and with a point in rows 2, 3 (“30.5”)"),
    "thousands or decimals between commas": ('core,station [mm],offset [m],bar depth [mm],crack\nC1,"30,500",1,50,no\n', "cores",
                                             "cores.csv, row 2: “30,500” can be read as 30.500 or as 30500"),
    "thousands or decimals beside points": ('core,station [mm],offset [m],bar depth [mm],crack\nC1,"30,500",1.5,50,no\n', "cores",
                                            "cores.csv, row 2, column station [mm]: found “30,500 mm”, which may be 30.5 mm or 30500 mm"),
    "a column without a head": (BARS.replace("bar,", "bar,,").replace("B1,", "B1,x,").replace("B2,", "B2,,"), "bars", "bars.csv, row 1: unknown column “”"),
    "cells behind the last column": (BARS.replace("30.5", "30.5,,x"), "bars", "bars.csv, row 2: 8 cells, the header has 6"),
    "a short row": (BARS.replace(",30.5", ""), "bars", "bars.csv, row 2: 5 cells, the header has 6"),
    "a unit that can be read two ways": ("point,station [m],offset [m],POTENTIAL_MV\nE1,1,1,-200\n", "potentials",
                                        "potentials.csv, row 1: “POTENTIAL_MV” can be read as potential in mV or in MV"),
    "a unit of another kind": (BARS.replace("station [m]", "station_kg"), "bars", "bars.csv, row 1: unknown column “station_kg”"),
    "a row below empty ones": (BARS.replace("B2,P1,16", "\n\nB2,P1,99"), "bars", "bars.csv, row 5, column size"),
    "an open quotation mark between semicolons": (commas(BARS).replace('"15,1', '"x"15,1'), "bars", "bars.csv, row 3: no semicolon-separated cells"),
    "notes twice as a table's own": (BARS.replace("station [m]", "layer").replace("30.5", "top main"), "bars", "column “layer” appears twice"),
    "rows above the heads": ("sep=;\n", "bars", ""),
}  # fmt: skip


@pytest.mark.parametrize("slip", REFUSED)
def test_what_can_be_read_two_ways_or_not_at_all_is_refused_with_its_place(slip):
    text, name, words = REFUSED[slip]
    try:
        faults = read(text, name)[2]
    except InputError as error:
        faults = [f"{name}.csv{error}"]
    if not words:
        assert faults == [] and read(text, name)[0] == []
        return
    assert any(words in fault for fault in faults), faults


def test_job_toml_stays_utf_8_and_the_fault_names_the_encoding():
    for data, seems in (
        ("units = 'ß'\n".encode("cp1252"), "cp1252 text"),
        ("units = 'SI'\n".encode("utf-16"), "UTF-16 text"),
    ):
        with pytest.raises(InputError, match=f"row 1: not UTF-8 text .it seems to be {seems}.; save the file"):
            text_of(data)


@pytest.mark.parametrize("written", ["Top Main", "top  main", "TOP-MAIN", "top_main", "topmain"])
def test_a_choice_may_differ_in_case_hyphens_and_blanks(written):
    token = FOLDED.set({})
    try:
        rows, _, faults, filed = read(BARS.replace("top main", written))
        assert faults == [] and rows[0].layer == "top main" and written.encode() in filed
        assert FOLDED.get() == {written: "top main"}
    finally:
        FOLDED.reset(token)


@pytest.mark.parametrize("written", ["top", "top mains", "upper main", "-"])
def test_another_word_is_no_choice(written):
    assert "wanted 'top main'" in read(BARS.replace("top main", written))[2][0]


TEXT = (
    st.text(st.sampled_from("abz µ°²½ßé-/"), min_size=1, max_size=8)
    .map(str.strip)
    .filter(lambda text: text not in ("", "-"))
)
NUMBER = st.decimals(30, 60, places=2).map(str)
ROWS_OF_HANGERS = st.lists(st.tuples(st.sampled_from(["wire", "rod"]), TEXT, NUMBER, NUMBER), min_size=1, max_size=6)


@given(
    ROWS_OF_HANGERS, st.sampled_from([",", ";", "\t"]), st.sampled_from([".", ","]), st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]), st.booleans(), st.integers(0, 3),
)  # fmt: skip
def test_a_table_written_in_any_dialect_reads_to_the_same_rows(
    rows, separator, decimal, ends, encoding, marked, padding
):
    head = ["hanger", "kind", "size", "strands", "strength [MPa]", "plate [mm]", "source"]
    cells = [[f"H{i}", kind, name, "2", f"4{size}", plate, name] for i, (kind, name, size, plate) in enumerate(rows)]

    def written(separator, decimal, ends, padding=0):
        text = io.StringIO()
        lines = csv.writer(text, delimiter=separator, lineterminator=ends)
        numbers = [
            [cell.replace(".", decimal) if place in (4, 5) else cell for place, cell in enumerate(row)] for row in cells
        ]
        lines.writerows([row + [""] * padding for row in [head, *numbers]])
        return text.getvalue()

    text = written(separator, decimal, ends, padding)
    data = ((f"sep={separator}{ends}" if marked else "") + text).encode(encoding)
    mine, _, faults, filed = read(data, "hangers")
    assert faults == []
    theirs, said, _, stands = read(written(",", ".", "\n"), "hangers")
    assert plain(mine) == plain(theirs) and said == [] and len(mine) == len(rows)
    assert filed == stands
