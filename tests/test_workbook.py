"""Check the forms: one for every calculation, made from its declaration alone."""

import re
from functools import cache

import pytest
from samples import REGISTER, SYSTEMS, good

from deckcalc import InputError, published
from deckcalc.core import units
from deckcalc.show.form import middle, workbook, written


def shown(form):
    """Return the hand calculation that a form shows."""
    return form.sheet.outputs[0]["data"]["text/markdown"] if form.sheet.outputs else ""


def filled(key, system="SI"):
    """Return the form of a calculation with the inputs of a check case."""
    start = {}
    for name, value in good(key).items():
        param = REGISTER[key].params[name]
        start[name] = written(units.magnitude(value, param.kind, "SI"), param.kind, "SI") if param.kind else value
    return workbook(REGISTER[key], system, **start)


@pytest.mark.parametrize("key", REGISTER)
@pytest.mark.parametrize("system", SYSTEMS)
def test_every_calculation_makes_a_form_from_its_declaration(key, system):
    form = workbook(REGISTER[key], system)
    one = REGISTER[key]
    for name, param in one.params.items():
        if param.range and param.range.low == param.range.high:
            assert name not in form.fields  # can be nothing else
            continue
        field = form.fields[name]
        assert field.description == name and field.tooltip == param.meaning
        assert param.meaning in form.hints[name].value
        if param.choices:
            assert field.options == param.choices
        else:
            published.read_argument(one, name, field.value)
            assert form.messages[name].value == ""  # what the form begins with lies in its range
    assert form.status.value == "" or form.sheet.outputs == ()


@pytest.mark.parametrize("key", REGISTER)
def test_the_form_shows_the_hand_calculation(key):
    form = filled(key)
    assert form.status.value == ""
    assert shown(form).startswith(f"### {REGISTER[key].title}")
    assert "$$" in shown(form)


QUANTITIES = [
    (key, name) for key, one in REGISTER.items() for name, param in one.params.items()
    if param.kind and not (param.range and param.range.low == param.range.high)
]  # fmt: skip


@cache
def form_of(key):
    """Return one form for several tests; each leaves it as it was."""
    return filled(key)


@pytest.mark.parametrize(("key", "name"), QUANTITIES)
def test_a_bad_value_gets_a_message_beside_its_field_and_the_last_sheet_stays(key, name):
    form = form_of(key)
    before, good = shown(form), form.fields[name].value
    param = REGISTER[key].params[name]
    high = units.read(param.range.high, param.kind)
    strange = "3 kg" if str(param.kind.dimensionality) == "[time]" else "3 s"
    twofold = f"22,000 {units.example(param.kind).partition(' ')[2]}".strip()
    for bad in ("plenty", "", strange, f"{2 * float(high.magnitude) + 1} {high.units:~P}".strip(), twofold):
        form.fields[name].value = bad
        said = (
            "which may be 22.* or 22000.*; write one|where a comma may stand .*; write a point"
            if bad == twofold
            else "want"
        )
        assert re.search(said, form.messages[name].value), (bad, form.messages[name].value)
        assert all(message.value == "" for other, message in form.messages.items() if other != name)
        assert "last good values" in form.status.value
        assert shown(form) == before
        assert form.fields[name].value == bad  # nothing is clamped or put right
    form.fields[name].value = good
    assert form.messages[name].value == "" and form.status.value == ""
    assert shown(form) == before


def numbers(form):
    """Return the values of the quantity fields of a form, in coherent SI."""
    found = {}
    for name, value in form.values().items():
        kind = form.calculation.params[name].kind
        if kind:
            found[name] = units.registry().Quantity(value).m_as(kind.base)
    return found


@pytest.mark.parametrize("key", REGISTER)
def test_the_other_unit_system_restates_the_same_physical_values(key):
    form = filled(key)
    before = numbers(form)
    form.system.value = "US"
    after = numbers(form)
    assert set(after) == set(before)
    for name, value in before.items():
        assert after[name] == pytest.approx(value, rel=1e-6)
        symbol = form.calculation.params[name].kind.us
        assert form.fields[name].value.endswith(symbol)
        assert symbol in form.hints[name].value
    assert form.status.value == "" and all(message.value == "" for message in form.messages.values())
    assert shown(form) != ""
    form.system.value = "SI"
    for name, value in before.items():
        assert numbers(form)[name] == pytest.approx(value, rel=1e-6)
        assert form.fields[name].value.endswith(form.calculation.params[name].kind.si)


def test_a_bad_value_is_not_restated():
    form = filled("patch.saw_cut")
    form.fields["c_min"].value = "plenty"
    form.system.value = "US"
    assert form.fields["c_min"].value == "plenty"
    assert form.fields["m_saw"].value.endswith(" in")
    assert "last good values" in form.status.value


def test_moving_a_value_moves_formula_numbers_and_result():
    form = workbook(REGISTER["patch.saw_cut"], "SI", c_min="50 mm", m_saw="6 mm")
    assert r"50\ \text{mm} - 6\ \text{mm} = 44\ \text{mm}" in shown(form)
    form.fields["c_min"].value = "48 mm"
    assert r"48\ \text{mm} - 6\ \text{mm} = 42\ \text{mm}" in shown(form)
    form.fields["m_saw"].value = "1/4 in"
    assert r"48\ \text{mm} - 6.35\ \text{mm} =" in shown(form)


def test_a_choice_moves_the_sheet():
    form = filled("mix.mixing_water (SI)")
    before = shown(form)
    field = form.fields["exposure"]
    field.value = next(option for option in field.options if option != field.value)
    assert shown(form) != before


def test_values_that_do_not_go_together_keep_the_last_sheet():
    form = workbook(
        REGISTER["chloride.content_at_depth"],
        "SI",
        x="50 mm",
        x_1="44 mm",
        C_1="1.3 kg/m³",
        x_2="57 mm",
        C_2="0.8 kg/m³",
    )
    before = shown(form)
    form.fields["x"].value = "70 mm"  # below both readings
    assert "beyond the two readings" in form.status.value and "last good values" in form.status.value
    assert shown(form) == before != ""


@pytest.mark.parametrize(
    ("key", "name", "of"), [("mix.time_to_strength", "S_2", "S_1"), ("mix.strength_at_time", "t_2", "t_1")]
)
def test_values_that_divide_by_nothing_keep_the_last_sheet(key, name, of):
    form = filled(key)
    before = shown(form)
    form.fields[name].value = form.fields[of].value  # nothing lies between the two rows
    assert "division by nothing" in form.status.value and "last good values" in form.status.value
    assert shown(form) == before != ""


def test_a_message_cannot_break_the_page():
    form = filled("patch.saw_cut")
    form.fields["c_min"].value = "<script>alert(1)</script>"
    assert "<script" not in form.messages["c_min"].value and "&lt;script" in form.messages["c_min"].value


def test_a_value_for_no_argument_is_refused():
    with pytest.raises(InputError, match="patch.saw_cut has no argument depth; it takes c_min, m_saw"):
        workbook(REGISTER["patch.saw_cut"], depth="3 mm")


@pytest.mark.parametrize(("key", "name"), QUANTITIES)
@pytest.mark.parametrize("system", SYSTEMS)
def test_what_a_form_begins_with_lies_in_the_range(key, name, system):
    param = REGISTER[key].params[name]
    value = published.read_argument(REGISTER[key], name, middle(param, system))
    param.plain(value, key)
    assert re.search(r"\d", middle(param, system))
