"""Check every published value that the project holds against ours, and that a faulty record is refused."""

import re
from collections import Counter

import pytest
from samples import CASES, REGISTER

from deckcalc import InputError, published
from deckcalc.core import sources, units
from deckcalc.published import cases, compare, precision


@pytest.mark.parametrize("case", CASES, ids=[case.id for case in CASES])
def test_our_value_agrees_with_the_published_one(case):
    compared = compare(case)
    assert compared, "a case without an expected value proves nothing"
    for one in compared:
        assert one.agrees, f"{one.name}: published {one.published}, ours {one.ours}"


def test_there_are_enough_cases_and_none_is_counted_twice():
    assert len(CASES) >= 40
    assert [name for name, count in Counter(case.id for case in CASES).items() if count > 1] == []
    known = Counter(case.provenance for case in CASES)
    assert known["published"] > known["common practice"] + known["memory"]


def test_a_published_case_names_its_source_and_the_place_in_it():
    for case in CASES:
        assert case.calculation in REGISTER
        if case.provenance == "published":
            assert case.source and case.where, case.id
        if case.source:
            assert case.source in sources.bibliography(), case.id


def test_a_wider_tolerance_is_rare_and_concerns_an_expected_value():
    wide = [case for case in CASES if case.within and case.provenance != "memory"]
    assert len(wide) <= 0.2 * len(CASES)
    for case in wide:
        assert set(case.within) <= set(case.expected), case.id
        for name, text in case.within.items():
            kind = REGISTER[case.calculation].kinds[name]
            wanted = units.read(case.expected[name], kind)
            allowed = float(units.read(text, kind).m_as(wanted.units))
            assert (
                precision(case.expected[name])
                <= allowed
                <= 0.15 * abs(float(wanted.magnitude)) + 2 * precision(case.expected[name])
            ), case.id


def test_no_expected_value_is_also_listed_as_different():
    assert all(not set(case.expected) & set(case.differs) for case in CASES)


@pytest.mark.parametrize("case", [case for case in CASES if case.expected][::9], ids=lambda case: case.id)
def test_a_published_value_changed_by_two_of_its_last_digit_no_longer_agrees(case):
    free = [(name, text) for name, text in case.expected.items() if name not in case.within]
    if not free:
        pytest.skip("every result of this case has a tolerance of its own")
    name, text = free[0]
    number = re.search(r"\d+(?:\.\d+)?(?:[eE][-+]?\d+)?", text)[0]
    if "e" in number.lower():
        pytest.skip("printed with a power of ten")
    decimals = len(number.partition(".")[2])
    wrong = text.replace(number, units.fixed(float(number) + 4.1 * precision(text), decimals), 1)
    changed = published.Case(**{**vars(case), "expected": {name: wrong}, "within": {}, "differs": {}})
    assert [one.agrees for one in compare(changed)] == [False]
    listed = published.Case(**{**vars(case), "expected": {}, "within": {}, "differs": {name: wrong}})
    assert [one.agrees for one in compare(listed)] == [True]  # known to differ, and it does
    false = published.Case(**{**vars(case), "expected": {}, "within": {}, "differs": {name: text}})
    assert [one.agrees for one in compare(false)] == [False]  # said to differ, but it does not


GOOD = {
    "id": "one", "calculation": "patch.saw_cut", "source": "ufgs-03931", "where": "somewhere", "provenance": "published",
    "given": {"c_min": "2 in", "m_saw": "1/4 in"}, "expected": {"d_saw_max": "1.75 in"},
}  # fmt: skip


def filed(tmp_path, monkeypatch, record, head="[[case]]"):
    """Write one record into a folder of cases of its own, and read it."""

    def text(value):
        if isinstance(value, dict):
            return "{ " + ", ".join(f"{key} = {text(item)}" for key, item in value.items()) + " }"
        return "[" + ", ".join(map(text, value)) + "]" if isinstance(value, list) else f'"{value}"'

    place = tmp_path / "cases"
    place.mkdir()
    (place / "made.toml").write_text(
        f"{head}\n" + "\n".join(f"{key} = {text(value)}" for key, value in record.items()), encoding="utf-8"
    )
    monkeypatch.setattr(published, "folder", lambda name: tmp_path)
    return cases()


def test_a_sound_record_is_read_without_code(tmp_path, monkeypatch):
    (case,) = filed(tmp_path, monkeypatch, GOOD)
    assert [one.agrees for one in compare(case)] == [True]
    assert str(case.cite) == "[UFGS 03931], somewhere"


def test_rows_of_a_printed_table_become_one_case_each(tmp_path, monkeypatch):
    block = {
        **{key: value for key, value in GOOD.items() if key not in ("given", "expected")}, "given": {"m_saw": "1/4 in"},
        "columns": ["c_min", "=d_saw_max"], "rows": [["2 in", "1.75 in"], ["3 in", "2.75 in"]],
    }  # fmt: skip
    found = filed(tmp_path, monkeypatch, block, "[[rows]]")
    assert [case.id for case in found] == ["one-1", "one-2"]
    assert all(one.agrees for case in found for one in compare(case))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"expectd": {"d_saw_max": "1.75 in"}}, "made.toml: one: unknown key expectd; known are"),
        ({"provenance": "hearsay"}, "made.toml: one: provenance is one of published, common practice, memory"),
        ({"provenance": ""}, "made.toml: one: provenance is one of"),
        ({"within": {"d_saw_max": "0.1 in"}}, "made.toml: one: a wider tolerance .*needs a reason"),
        ({"differs": {"d_saw_max": "1.8 in"}}, "made.toml: one: .*a difference needs a reason"),
    ],
)
def test_a_malformed_record_is_refused_with_file_and_id(tmp_path, monkeypatch, change, words):
    with pytest.raises(InputError, match=words):
        filed(tmp_path, monkeypatch, {**GOOD, **change})


@pytest.mark.parametrize("missing", ["id", "calculation", "given"])
def test_a_record_without_a_needed_key_is_refused(tmp_path, monkeypatch, missing):
    with pytest.raises(InputError, match=rf"made.toml: .*{missing}"):
        filed(tmp_path, monkeypatch, {key: value for key, value in GOOD.items() if key != missing})


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"given": {"c_min": "2 in", "saw": "1/4 in"}}, "patch.saw_cut has no argument “saw”; it takes c_min, m_saw"),
        ({"given": {"c_min": "2", "m_saw": "1/4 in"}}, "found “2” without a unit"),
        ({"expected": {"d_saw_max": "about 2 in"}}, "found “about 2 in”"),
    ],
)
def test_a_record_that_does_not_fit_its_calculation_is_refused(tmp_path, monkeypatch, change, words):
    (case,) = filed(tmp_path, monkeypatch, {**GOOD, **change})
    with pytest.raises(InputError, match=words):
        compare(case)


@pytest.mark.parametrize(
    ("text", "half"), [("610 lb/yd³", 0.5), ("3.10 ft³/yd³", 0.005), ("0.40", 0.005), ("1.2e3 mm", 50), ("5 %", 0.5)]
)
def test_the_digits_printed_are_the_precision_asked_for(text, half):
    assert precision(text) == pytest.approx(half)
