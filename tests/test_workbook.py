"""Check the forms: one for every calculation, made from its declaration alone; what they begin with, say, keep and restore."""

import ast
import json
import re
from functools import cache

import pytest
from samples import REGISTER, SYSTEMS, good

from deckcalc import InputError, published
from deckcalc.core import units
from deckcalc.core.ranges import usual
from deckcalc.core.sources import folder
from deckcalc.live import CHAINS, Workbook, chain, slider, verdicts, workbook
from deckcalc.live.pages import hint
from deckcalc.published import middle, written

OTHER = {"SI": "US", "US": "SI"}
EXPLORE = sorted(folder("notebooks").glob("explore_*.ipynb"))


def part(form, at=0):
    """Return what one calculation of a page shows."""
    return form.shown["parts"][at]


def typed(form, name, at=0):
    """Return what stands in a field."""
    return part(form, at)["fields"][name]["text"]


def sheet(form, at=0):
    """Return the lines that a form shows, in one text."""
    return "\n".join(part(form, at).get("lines", ()))


def values_of(form, at=0):
    """Return the values that a form is worked out with, in coherent SI."""
    one = list(form.page.parts.values())[at]
    kinds = {name: param.kind for name, param in one.calculation.params.items() if param.kind}
    plain = {name: units.registry().Quantity(value).m_as(kinds[name].base) for name, value in one.values.items() if name in kinds}  # fmt: skip
    return {(name, at): float(x) for name, value in plain.items() for at, x in enumerate(units.np.atleast_1d(value))}


def clean(form):
    """Hold that nothing is wrong with any calculation of a page."""
    for at, one in enumerate(form.shown["parts"]):
        assert one["status"] == "" and not one["old"] and one["lines"]
        assert not [field["message"] for field in one["fields"].values() if field.get("message")], at


def filled(key, system="SI"):
    """Return the form of a calculation with the inputs of a check case."""
    start = {}
    for name, value in good(key).items():
        param = REGISTER[key].params[name]
        start[name] = written(units.magnitude(value, param.kind, "SI"), param.kind, "SI") if param.kind else value
    return workbook(REGISTER[key], system, **start)


@pytest.mark.parametrize("key", REGISTER)
@pytest.mark.parametrize("system", SYSTEMS)
def test_every_form_starts_clean_and_stays_so_in_the_other_units(key, system):
    form, one = workbook(REGISTER[key], system), REGISTER[key]
    clean(form)
    declared = {field["name"]: field for field in form.declared[0]["fields"]}
    for name, param in one.params.items():
        if param.range and param.range.low == param.range.high and not param.required:
            assert name not in declared  # can be nothing else
            continue
        assert declared[name]["label"][1:] == param.meaning[1:] and declared[name]["choices"] == list(param.choices)
        assert not re.search(r"e[-+]\d|\d{7}|\.\d+0\b", declared[name]["hint"]), declared[name]["hint"]
    form.type(OTHER[system])
    clean(form)


def forms_of(path):
    """Return the forms that the cells of a notebook make."""
    made, space = [], {}
    for cell in json.loads(path.read_text("utf-8"))["cells"]:
        if cell["cell_type"] == "code":
            body = ast.parse("".join(cell["source"])).body
            last = body.pop() if isinstance(body[-1], ast.Expr) else None
            exec(compile(ast.Module(body, []), path.name, "exec"), space)
            if last is not None:
                made.append(eval(compile(ast.Expression(last.value), path.name, "eval"), space))
    return [form for form in made if isinstance(form, Workbook)]


@pytest.mark.parametrize("path", EXPLORE, ids=lambda path: path.stem)
def test_every_form_of_a_notebook_starts_clean(path):
    found = forms_of(path)
    assert len(found) >= 5 and "".join(path.read_text("utf-8")).count("workbook(") >= len(found) // 2
    for form in found:
        clean(form)
        form.type(OTHER[form.system])
        clean(form)


@pytest.mark.parametrize("key", REGISTER)
def test_the_form_shows_the_hand_calculation(key):
    form = filled(key)
    shown = sheet(form)
    assert len(part(form)["lines"]) == len(REGISTER[key].lines) + REGISTER[key].empirical
    assert shown.count("<math") >= len(REGISTER[key].lines)
    assert not re.search(r"\$|\\[a-z{]", shown), re.search(r".{30}(\$|\\[a-z{]).{30}", shown)
    alone, _ = form._repr_mimebundle_()
    assert alone["text/markdown"].startswith(f"### {REGISTER[key].title}") and "$$" in alone["text/markdown"]
    assert alone["text/plain"] == REGISTER[key].title


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
    before, good = sheet(form), typed(form, name)
    param = REGISTER[key].params[name]
    high = units.read(param.range.high, param.kind)
    strange = "3 kg" if str(param.kind.dimensionality) == "[time]" else "3 s"
    twofold = f"22,000 {units.example(param.kind).partition(' ')[2]}".strip()
    for bad in ("plenty", "", strange, f"{2 * float(high.magnitude) + 1} {high.units:~P}".strip(), twofold):
        form.type(**{name: bad})
        said = (
            "which may be 22.* or 22000.*; write one|where a comma may stand .*; write a point"
            if bad == twofold
            else "want"
        )
        fields = part(form)["fields"]
        assert re.search(said, fields[name]["message"]), (bad, fields[name]["message"])
        assert not any(field["message"] for other, field in fields.items() if other != name)
        assert part(form)["old"] and "last good values" in part(form)["status"]
        assert sheet(form) == before
        assert typed(form, name) == form.typed[f"{REGISTER[key].name}.{name}"] == bad  # nothing is put right
    form.type(**{name: good})
    clean(form)
    assert sheet(form) == before


@pytest.mark.parametrize("key", REGISTER)
def test_the_other_unit_system_states_the_same_values_and_back_again_what_was_typed(key):
    form = filled(key)
    before, texts, shown = values_of(form), dict(form.typed), sheet(form)
    form.type("US")
    clean(form)
    assert values_of(form) == pytest.approx(before, rel=1e-12) and list(values_of(form)) == list(before)
    for name, param in REGISTER[key].params.items():
        if param.kind and param.kind.si != param.kind.us and f"{REGISTER[key].name}.{name}" in form.typed:
            assert units.read(typed(form, name).split(",")[0], param.kind).units in usual("US") | {
                param.kind.unit("US")
            }
    form.type("SI")
    assert form.typed == texts and sheet(form) == shown
    assert values_of(form) == before  # exactly


@pytest.mark.parametrize(("text", "there"), [("60 mm", "2.3622 in"), ("2 1/2 in", "2 1/2 in"), ("6 cm", "2.3622 in")])
def test_what_was_typed_comes_back_as_it_was(text, there):
    form = workbook(REGISTER["patch.saw_cut"], c_min=text)
    for _ in range(3):
        form.type("US")
        assert typed(form, "c_min") == there
        form.type("SI")
        assert typed(form, "c_min") == text
    form.type("US")
    form.type(c_min="3 in")  # typed anew, and so it is this that is kept
    form.type("SI")
    assert typed(form, "c_min") == "76.2 mm"
    form.type("US")
    assert typed(form, "c_min") == "3 in"


def test_a_value_in_other_units_is_worked_with_as_it_was_typed():
    form = workbook(REGISTER["patch.saw_cut"], c_min="60 mm", m_saw="1/3 in")
    form.type("US")
    form.type(m_saw="1/4 in")
    assert list(values_of(form).values()) == pytest.approx([0.06, 0.00635], rel=1e-14)


def test_a_bad_value_is_not_restated():
    form = filled("patch.saw_cut")
    form.type(c_min="plenty")
    form.type("US")
    assert typed(form, "c_min") == "plenty" and typed(form, "m_saw").endswith(" in")
    assert "last good values" in part(form)["status"]


def test_a_value_out_of_range_is_told_as_it_was_typed():
    form = workbook(REGISTER["chloride.face_content"])
    form.type(t="0 yr")
    assert (
        part(form)["fields"]["t"]["message"] == "found “0 yr”, wanted a time in years more than 0 yr and up to 500 yr"
    )


def test_a_form_that_has_nothing_good_yet_says_so():
    form = workbook(REGISTER["patch.saw_cut"], c_min="plenty")
    assert part(form)["status"] == "One value cannot be used. Nothing can be worked out yet."
    assert "lines" not in part(form)
    form.type(c_min="50 mm")
    clean(form)


def test_moving_a_value_moves_formula_numbers_and_result():
    form = workbook(REGISTER["patch.saw_cut"], "SI", c_min="50 mm", m_saw="6 mm")
    plain = lambda: re.sub(r"&#x0*A0;", " ", re.sub(r"<[^>]+>", "", sheet(form)))  # noqa: E731
    assert "44 mm" in plain() and part(form)["result"][0].endswith(": 44 mm")
    form.type(c_min="48 mm")
    assert "48 mm" in plain() and "42 mm" in plain()
    form.type(m_saw="1/4 in")
    assert "6.35 mm" in plain()


def test_a_choice_moves_the_sheet():
    form = filled("mix.mixing_water (SI)")
    before, chosen = sheet(form), typed(form, "exposure")
    form.type(
        exposure=next(one for one in REGISTER["mix.mixing_water (SI)"].params["exposure"].choices if one != chosen)
    )
    assert sheet(form) != before
    form.type(exposure="on the moon")
    assert "wanted one of" in part(form)["fields"]["exposure"]["message"]


def test_values_that_do_not_go_together_keep_the_last_sheet():
    form = workbook(
        REGISTER["chloride.content_at_depth"], "SI", x="50 mm", x_1="44 mm", C_1="1.3 kg/m³", x_2="57 mm", C_2="0.8 kg/m³"
    )  # fmt: skip
    before = sheet(form)
    form.type(x="70 mm")  # below both readings
    assert "beyond the two readings" in part(form)["status"] and "last good values" in part(form)["status"]
    assert sheet(form) == before != ""


@pytest.mark.parametrize(
    ("key", "name", "of"), [("mix.time_to_strength", "S_2", "S_1"), ("mix.strength_at_time", "t_2", "t_1")]
)
def test_values_that_divide_by_nothing_keep_the_last_sheet(key, name, of):
    form = filled(key)
    before = sheet(form)
    form.type(**{name: typed(form, of)})  # nothing lies between the two rows
    assert "division by nothing" in part(form)["status"] and "last good values" in part(form)["status"]
    assert sheet(form) == before != ""


def test_a_value_for_no_argument_is_refused():
    with pytest.raises(InputError, match="patch.saw_cut has no argument depth; it takes c_min, m_saw"):
        workbook(REGISTER["patch.saw_cut"], depth="3 mm")
    with pytest.raises(InputError, match="the page has no field depth"):
        workbook(REGISTER["patch.saw_cut"]).type(depth="3 mm")


@pytest.mark.parametrize(("key", "name"), QUANTITIES)
@pytest.mark.parametrize("system", SYSTEMS)
def test_what_a_form_begins_with_lies_in_the_range_and_so_does_every_stop_of_its_slider(key, name, system):
    param = REGISTER[key].params[name]
    text = middle(param, system)
    assert re.search(r"\d", text)
    value = published.read_argument(REGISTER[key], name, text)
    param.plain(value, key)
    found = slider.stops(param, value if not param.several else None, system)
    for text in found:
        param.plain(published.read_argument(REGISTER[key], name, text), key)
        assert len(re.sub(r"[^0-9]", "", text.split(" ")[0]).lstrip("0")) <= 7, text
    assert len(set(found)) == len(found) <= 200


def test_a_slider_stands_at_the_value_and_is_laid_anew_when_the_value_leaves_it():
    form = workbook(REGISTER["patch.saw_cut"], c_min="50 mm")
    field = part(form)["fields"]["c_min"]
    assert field["stops"][field["at"]] == "50 mm" and field["stops"][-1] == "150 mm"
    form.type(c_min="52.3 mm")
    assert part(form)["fields"]["c_min"]["stops"] == field["stops"]
    form.type(c_min="400 mm")
    field = part(form)["fields"]["c_min"]
    assert field["stops"][field["at"]] == "400 mm" and field["stops"][-1] == "500 mm"  # no further than the range


def test_a_hint_is_short_and_stays_in_the_range():
    said = {system: hint(REGISTER["chloride.face_content"].params["D"], system) for system in SYSTEMS}
    assert said == {"SI": "0.001 to 10\u202f000 mm²/yr", "US": "up to 15.5 in²/yr"}
    assert hint(REGISTER["patch.saw_cut"].params["c_min"], "US") == "0 to 19.68 in"


# --- verdicts


@pytest.mark.parametrize(
    ("key", "values", "word", "told"),
    [
        ("steel.section_loss", {"A_0": "200 mm²", "d": "13.9 mm"}, "satisfied", "24.1 %, wanted less than 25"),
        ("steel.section_loss", {"A_0": "200 mm²", "d": "13.7 mm"}, "not satisfied", "wanted less than 25"),
        ("curing.strength_hyperbolic", {"t_e": "12 h"}, "not satisfied", "lower edge of its band"),
        ("formwork.hanger_check", {"P": "0.1 kN"}, "satisfied", "wanted at most 1.00"),
    ],
)  # fmt: skip
def test_a_limit_in_print_judges_in_words(key, values, word, told):
    form = workbook(REGISTER[key], **values)
    (verdict,) = part(form)["verdicts"]
    assert f": {word}." in verdict["text"] and told in verdict["text"] and verdict["good"] == (word == "satisfied")


def test_what_is_held_against_a_limit_is_a_result_of_its_kind():
    bases = {key.partition(" (")[0]: one for key, one in REGISTER.items()}
    for place, held in verdicts.HELD.items():
        key, name = place.rsplit(".", 1)
        for system in SYSTEMS:
            limit = verdicts.limit(held.limit, system)
            assert limit.kind.dimensionality == bases[key].kinds[name].dimensionality, place


# --- chains


@pytest.mark.parametrize("name", CHAINS)
@pytest.mark.parametrize("system", SYSTEMS)
def test_every_chain_starts_clean_and_hands_on_what_it_worked_out(name, system):
    form = chain(name, system)
    clean(form)
    parts = form.page.parts
    for one in parts.values():
        for argument, source in one.takes.items():
            giver = parts[source.part]
            assert one.values[argument] is {**giver.values, **giver.results}[source.name]
            assert f"{one.name}.{argument}" not in form.typed
            assert giver.calculation.title in part(form, list(parts).index(one.name))["fields"][argument]["text"]
    before = [values_of(form, at) for at in range(len(parts))]
    form.type(OTHER[system])
    clean(form)
    form.type(system)
    assert [values_of(form, at) for at in range(len(parts))] == before


def test_a_fault_at_the_head_of_a_chain_marks_all_that_waits_for_it():
    form = chain("cover and chlorides to years")
    before = sheet(form, 2)
    form.type(c="plenty")
    assert [one["old"] for one in form.shown["parts"]] == [True, False, True]
    assert part(form, 2)["status"].startswith("It waits for “Cover of the top mat”.") and sheet(form, 2) == before
    assert typed(form, "x", 2) == "waits, from “Cover of the top mat”"
    form.type(c="30 mm")
    clean(form)
    assert sheet(form, 2) != before


def test_a_value_handed_on_is_printed_alike_at_both_ends():
    form = chain("survey to order volume")
    for digits in ("0.91", "0.917", "0.9171"):
        form.type(L_u=f"{digits} m")
        giver, taker = (form.page.parts[name].sheet for name in ("limits", "volume"))
        assert giver.text("A") == taker.text("A")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [(("survey",), "there is no chain “survey”; there are survey to order volume"), (("survey to order volume", "SI", "A"), "has no field A; it has ")],
)  # fmt: skip
def test_what_a_chain_has_not_is_refused(arguments, says):
    name, *rest = arguments
    with pytest.raises(InputError, match=says):
        chain(name, *rest[:1], **dict.fromkeys(rest[1:], "1 m²"))


def test_pictures_follow_the_values():
    form = workbook(REGISTER["steel.section_loss"], A_0="200 mm²", d="15.2 mm")
    before = part(form)["picture"]
    assert before.startswith("<svg") and 'aria-label="Section of the bar: 15.2 mm left' in before
    form.type(d="12 mm")
    assert "12.0 mm left" in part(form)["picture"] != before
    form.type(d="<script>")
    assert "&lt;" not in part(form)["picture"] and "12.0 mm left" in part(form)["picture"]


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_picture_is_drawn_within_its_frame(system):
    from deckcalc.live.pictures import PICTURES, TALL, WIDE

    for key, one in REGISTER.items():
        if key.partition(" (")[0] in PICTURES:
            svg = part(workbook(one, system))["picture"]
            for path in re.findall(r' d="M([^"]+)"', svg):
                points = [tuple(map(float, point.split())) for point in re.split(r" L", path.removesuffix(" Z"))]
                assert all(-1 <= x <= WIDE + 1 and -1 <= y <= TALL + 1 for x, y in points), (key, points)
            for x, anchor, words in re.findall(
                r'<text x="([\d.]+)" y="[\d.]+" dy=".35em" text-anchor="(\w+)">([^<]*)', svg
            ):
                width = 6.2 * len(words) * {"start": 1, "middle": 0.5, "end": 0}[anchor]
                assert float(x) + width <= WIDE + 4, (key, words)


def test_no_value_in_its_range_breaks_a_picture():
    from deckcalc.live.pictures import PICTURES

    drawn = 0
    for key, one in REGISTER.items():
        if key.partition(" (")[0] in PICTURES:
            form = workbook(one)
            good = {name: field["text"] for name, field in part(form)["fields"].items()}
            for name, param in one.params.items():
                for text in (param.range.low, param.range.high) if param.range and name in good else ():
                    form.type(**{name: text})
                    picture = part(form)["picture"]
                    assert "nan" not in picture and "inf " not in picture
                    drawn += bool(picture)
                    form.type(**{name: good[name]})
    assert drawn > 80
