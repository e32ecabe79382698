"""Check the reference of fields and tables: all of it is declared, valid, in the asked units, and no second copy can drift."""

import csv
import datetime
import re
import tomllib
from decimal import ROUND_CEILING, ROUND_FLOOR
from functools import cache

import pytest
from pydantic import Field, ValidationError, create_model
from pydantic.fields import FieldInfo

from deckcalc import InputError
from deckcalc.base.fields import InRange, Strict
from deckcalc.core import units
from deckcalc.core.units import SYSTEMS
from deckcalc.job import declared
from deckcalc.job.bounded import most_rows
from deckcalc.job.dialect import read_csv
from deckcalc.job.folder import read_contents
from deckcalc.job.reference import NAME, csv_text, example_rows, fits, reference, shown
from deckcalc.job.rows import read_rows
from deckcalc.job.settings import ROWS, WORDS, JobSettings

HEADS = re.compile(r"# (\[\[?)([^\]]+)\]")


def models():
    """Return every model of job.toml and of the tables."""
    found, left = [], [JobSettings, *ROWS.values()]
    while left:
        model = left.pop()
        if model not in found:
            found.append(model)
            left += [one for info in model.model_fields.values() for one in declared.sections(info)]
    return found


def fields():
    """Return every field and column, with its model."""
    return [(model, name, info) for model in models() for name, info in model.model_fields.items()]


@cache
def blocks(system):
    """Return the heads of the reference with the lines of their fields, the marks of comment taken away."""
    found = [("", [])]
    for line in reference(system).splitlines():
        if head := HEADS.match(line):
            found.append((head[2], [line.removeprefix("# ")]))
        elif line.startswith("# "):
            found[-1][1].append(line.removeprefix("# "))
    return found


def model_of(path, data):
    """Return the model of a section by its path."""
    model, parts = JobSettings, path.split(".") if path else []
    while parts:
        info = model.model_fields[parts.pop(0)]
        if declared.shape(info) == "dict":
            parts.pop(0)
        known = declared.sections(info)
        model = next(one for one in known if parts or fits(one, data)) if len(known) > 1 else known[0]
        if parts and len(known) > 1:  # of concretes, the one that has this part
            model = next(one for one in known if parts[0] in one.model_fields)
    return model


def inner(path, data):
    """Return the data of a section, without the tables round it."""
    for part in path.split(".") if path else ():
        data = data[part]
    return data[0] if isinstance(data, list) else data


def alone(model, name):
    """Return a model that has one field of another."""
    info = model.model_fields[name]
    return create_model("Alone", __base__=Strict, **{name: (info.annotation, info)})


# --- declarations


def test_every_field_and_every_column_says_what_it_is():
    assert len(fields()) > 400
    for model, name, info in fields():
        assert len(declared.first_sentence(model)) > 10, model
        if declared.holds_value(info):
            assert info.description and len(info.description) > 3, (model.__name__, name)


def test_a_field_from_which_no_example_follows_is_named():
    with pytest.raises(InputError, match=r"no example follows from .*give one with Field\(examples=\.\.\.\)"):
        declared.example(FieldInfo.from_annotation(str), "SI")
    assert declared.example(Field(examples=["2 in", "50 mm"]), "SI") == "2 in"  # no quantity: the first
    length = FieldInfo.from_annotated_attribute(
        InRange(units.Length, "5 mm", "150 mm"), Field(examples=["2 in", "50 mm"])
    )
    length.metadata.append(InRange(units.Length, "5 mm", "150 mm"))
    assert (declared.example(length, "SI"), declared.example(length, "US")) == ("50 mm", "2 in")


@pytest.mark.parametrize(
    ("low", "high", "system", "text"),
    [
        ("5 mm", "150 mm", "SI", "80 mm"), ("5 mm", "150 mm", "US", "3 in"), ("-20 °C", "60 °C", "US", "70 °F"),
        ("100 mm", "101 mm", "SI", "100 mm"), ("101 mm", "102 mm", "SI", "102 mm"),
    ],
)  # fmt: skip
def test_an_example_from_a_range_is_a_round_number_inside_it(low, high, system, text):
    kind = units.Temperature if "°C" in low else units.Length
    one = InRange(kind, low, high)
    assert declared.middle(one, system) == text
    one.read(text)


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [("100 mm", "600 mm", ("3.94 in", "23.6 in")), ("1/2 in", "2 in", ("1/2 in", "2 in")), ("0 mm", "1 m", ("0 in", "39.3 in"))],
)  # fmt: skip
def test_a_range_is_converted_to_its_inside(low, high, said):
    kind = units.kind_of(units.Length)
    found = (declared.bound(low, kind, "US", ROUND_CEILING), declared.bound(high, kind, "US", ROUND_FLOOR))
    assert found == said


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_bound_that_is_printed_is_admitted_and_near_the_declared_one(system):
    for model, name, info in fields():
        for one in declared.ranges(info):
            kind = declared.kind_of(one)
            for text, rounding in ((one.low, ROUND_CEILING), (one.high, ROUND_FLOOR)):
                said = declared.bound(text, kind, system, rounding)
                read = one.one(said)
                assert declared.is_written_in(read, system, kind) or not read.magnitude, (model.__name__, name, said)
                was, now = (float(units.read(each, kind).m_as(kind.base)) for each in (text, said))
                assert now == pytest.approx(was, rel=0.01, abs=1e-9), (model.__name__, name, said)


# --- the reference


@pytest.mark.parametrize("system", SYSTEMS)
def test_all_of_it_is_comment_and_every_field_stands_in_its_section(system):
    assert all(line.startswith("#") or not line for line in reference(system).splitlines())
    stated = {(model_of(path, one), name) for path, one in read_blocks(system) for name in one}
    wanted = {
        (model, name) for model, name, info in fields() if declared.holds_value(info) and model not in ROWS.values()
    }
    assert wanted == {(model, name) for model, name in stated if declared.holds_value(model.model_fields[name])}


def read_blocks(system):
    """Return every section of the reference by its path, read as TOML."""
    return [(path, inner(path, tomllib.loads("\n".join(lines)))) for path, lines in blocks(system)]


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_line_without_its_mark_is_valid_by_itself(system):
    count = 0
    for path, lines in blocks(system):
        data = inner(path, tomllib.loads("\n".join(lines)))
        model = model_of(path, data)
        for line in lines[1 if path else 0 :]:
            one = tomllib.loads(line)
            for name in one:
                alone(model, name).model_validate(one)
                count += 1
    assert count > 300


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_required_fields_of_a_section_are_called_so(system):
    for path, lines in blocks(system):
        model = model_of(path, inner(path, tomllib.loads("\n".join(lines))))
        for line in lines[1 if path else 0 :]:
            name = line.partition(" =")[0]
            assert line.endswith("; required") == model.model_fields[name].is_required(), line


@pytest.mark.parametrize("system", SYSTEMS)
def test_examples_are_in_the_units_that_were_asked_for_and_in_round_numbers(system):
    for path, data in read_blocks(system):
        model = model_of(path, data)
        for name, value in data.items():
            info = model.model_fields[name]
            for text in value if isinstance(value, list) else [value]:
                assert not declared.foreign(info, system, text), (path, name, text)
                for one in declared.ranges(info)[:1] if isinstance(text, str) and " " in text else ():
                    digits = re.sub(r"\D", "", re.match(r"[-+\d./ ]*", text)[0]).strip("0")
                    assert len(digits) <= 4, (path, name, text)
                    if system == "SI" and declared.kind_of(one).si in ("mm", "m"):
                        sixteenths = float(units.read(text, one.kind).m_as("in")) * 16
                        assert not sixteenths or abs(sixteenths - round(sixteenths)) > 1e-9, (path, name, text)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", ROWS)
def test_the_example_of_a_table_is_a_table(system, name):
    rows = example_rows(name, ROWS[name], system, shown(name))
    faults, table = [], read_csv(name, csv_text(rows).encode(), ROWS[name], most_rows(name))
    read = read_rows(table, ROWS[name], faults)
    assert not faults and not table.understood and len(read) == len(rows) - 1 >= 1
    text = reference(system)
    start = text.index(f"\n## {name}.csv: ")
    part = text[start : text.index("\n\n", start)] if "\n\n" in text[start:] else text[start:]
    assert [line.removeprefix("##   ") for line in part.splitlines() if line.startswith("##   ")][
        -len(rows[:3]) :
    ] == csv_text(rows[:3]).splitlines()
    for head in rows[0]:
        assert f"\n##   {head}: " in part


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("font", 'left out: "Libertinus Serif"'), ("reduced_yield", "left out: false"), ("alpha_6", 'left out: "1.5"'), ("skew", "left out: 0.0"),
        ("held_back", 'left out: "10 %"'), ("common", 'left out: "50 %"'), ("trucks", "left out: 1"),
    ],
)  # fmt: skip
def test_a_default_is_said(line, says):
    found = re.search(rf"^# {line} = .*$", reference("SI"), re.M)[0]
    assert found.endswith(f"; {says}")


def test_it_keeps_to_the_subjects_that_are_asked_for():
    all_of_it, some = reference("SI"), reference("SI", ["mix"])
    assert "\n# [mix]" in some and "\n## aggregates.csv" in some and "\n# [bridge]" in some
    assert "\n# [chloride]" not in some and "\n## cores.csv" not in some and "\n# [chloride]" in all_of_it
    assert reference("SI", list(WORDS.values())) == all_of_it


@pytest.mark.parametrize("system", SYSTEMS)
def test_in_a_folder_it_is_a_note_and_no_fault(tmp_path, system):
    (tmp_path / "job.toml").write_text('units = "SI"\n', encoding="utf-8")
    (tmp_path / NAME).write_text(reference(system), encoding="utf-8")
    found = read_contents(tmp_path, list(ROWS))
    assert found.faults == () and found.unread == (f"{NAME}: no input of a job; not read",)


def test_values_are_written_so_that_toml_reads_them():
    value = {"a b": [1, 2.5, 'x “y” \\ "z"'], "day": datetime.date(2027, 5, 7), "yes": True, "nested": {"k": []}}
    assert tomllib.loads(f"v = {declared.toml(value)}") == {"v": value}


def test_a_bound_outside_is_refused():
    """The property above can fail: what is rounded to the outside is not admitted."""
    one = InRange(units.Length, "100 mm", "600 mm")
    with pytest.raises(InputError):
        one.one(declared.bound("600 mm", units.kind_of(units.Length), "US", ROUND_CEILING))
    with pytest.raises(ValidationError):
        alone(JobSettings.model_fields["bridge"].annotation, "clock").model_validate({"clock": "13 h"})


def test_rows_are_quoted_where_they_have_to_be():
    assert list(csv.reader(csv_text([["a", "b, c"], ['d"e', ""]]).splitlines())) == [["a", "b, c"], ['d"e', ""]]
