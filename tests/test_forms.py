"""Check calculations that are in print in two unit systems, rounded apart: one body, the constants of each form."""

import copy
import inspect
import pickle
import pydoc
import re
import subprocess
import sys

import pytest
from samples import REGISTER
from test_calculation import declare

from deckcalc import InputError, Q, cli, curing, mix, published, steel, traffic
from deckcalc.core.forms import ByForm
from deckcalc.live import workbook
from deckcalc.show.hand import HandCalculation
from deckcalc.show.proof import ReadBackError

FORMED = [key for key, one in REGISTER.items() if one.form_name]


def printed(calculation, system, **given):
    """Return a hand calculation in one line."""
    return " ".join(HandCalculation(calculation, system, given).markdown().split())


def test_every_form_stands_in_the_register_under_its_name():
    assert {"curing.modulus (SI)", "curing.modulus (US)", "steel.development_aci (SI 1/1.1)"} <= set(FORMED)
    assert len(FORMED) >= 38
    for key in FORMED:
        assert (
            key.endswith(f" ({REGISTER[key].form_name})")
            and key.removesuffix(f" ({REGISTER[key].form_name})") not in REGISTER
        )


@pytest.mark.parametrize(
    ("form", "says"), [({}, "modulus: no form is given, wanted one of SI, US"), ({"form": "metric"}, "modulus: form is “metric”, wanted one of SI, US")]
)  # fmt: skip
def test_a_call_without_a_form_that_there_is_names_the_choices(form, says):
    with pytest.raises(InputError, match=re.escape(says)):
        curing.modulus(Q(28, "MPa"), **form)


def test_a_refusal_names_the_form_and_its_range():
    with pytest.raises(
        InputError, match=re.escape("average_strength (US): f_c (specified compressive strength) is 5001")
    ):
        mix.average_strength(Q(5001, "psi"), Q(500, "psi"), 30, form="US")
    with pytest.raises(InputError, match=re.escape("stopping (SI): V (speed of traffic) is 15 km/h, wanted a")):
        traffic.stopping(Q(15, "km/h"), form="SI")


def test_a_constant_of_the_form_cannot_be_given_by_the_caller():
    with pytest.raises(InputError, match="modulus .SI.: .*'c'"):
        curing.modulus(Q(28, "MPa"), c=5000, form="SI")


def test_each_form_prints_its_own_numbers_and_units():
    given = {"f_c": Q(28, "MPa"), "s_s": Q(3, "MPa"), "n": Q(30)}
    si, us = (printed(mix.average_strength, "SI", **given, form=form) for form in ("SI", "US"))
    assert r"k \cdot s_{s} - 3.45 = 28" in si and "seldom falls 3.45 MPa below f'c" in si
    assert r"k \cdot s_{s} - 500 = 4061" in us and "seldom falls 500 psi below f'c" in us
    assert "$f'_{c}$ in MPa" in si and "$f'_{c}$ in psi" in us


def test_a_constant_that_changes_nothing_is_not_printed():
    given = {"W": Q(12, "ft"), "S": Q(55, "mph")}
    assert r"L_{2} = W \cdot S = 12 \cdot 55" in printed(traffic.taper, "US", **given, form="US")
    assert r"L_{2} = W \cdot \frac{ S }{ 1.6 }" in printed(traffic.taper, "US", **given, form="SI")


def test_a_constant_of_a_homogeneous_body_has_a_line_and_says_how_it_is_written():
    given = {"f_s": Q(200, "MPa"), "c_c": Q(50, "mm")}
    us, si = (printed(steel.crack_spacing, "SI", **given, form=form) for form in ("US", "SI"))
    assert r"Length of reference, 15 in by the form US: $$s_{0} = 381\ \text{mm}$$" in us
    assert r"Length of reference, 380 mm by the form SI: $$s_{0} = 380\ \text{mm}$$" in si


def test_a_constant_that_is_not_what_it_says_is_not_printed(monkeypatch):
    one = steel.crack_spacing.form("SI")
    made = HandCalculation(one, "SI", {"f_s": Q(200, "MPa"), "c_c": Q(50, "mm")})
    monkeypatch.setitem(one.written_constants, "s_a", "381 mm")
    with pytest.raises(ReadBackError, match="does not come to"):
        made.markdown()


def test_the_signature_has_the_form_and_none_of_its_constants():
    assert list(inspect.signature(curing.modulus).parameters) == ["f_c", "form"]


def test_runs_and_workbooks_take_the_form_with_the_arguments():
    form = workbook(curing.modulus, "US", f_c="4000 psi", form="US")
    assert (
        form.page.parts["modulus (US)"].calculation is REGISTER["curing.modulus (US)"]
        and "57000" in form.page.markdown()
    )
    with pytest.raises(InputError, match="no form is given"):
        workbook(curing.modulus, f_c="28 MPa")


def test_a_calculation_is_found_by_name_and_form():
    assert published.find("curing.modulus", "US") is published.find("curing.modulus (US)") is curing.modulus.form("US")
    assert published.find("curing.modulus") is published.find("curing.modulus", "metric") is None


def test_a_form_is_found_with_its_own_subject_loaded_alone():
    code = "import sys; from deckcalc import published; print(published.find('curing.modulus', 'US').key, 'deckcalc.steel' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert told == "curing.modulus (US) False\n"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["curing.modulus", "f_c=4 ksi"], ["curing.modulus: no form is given, wanted form= with one of SI, US"]),
        (["curing.modulus", "form=metric"], ["curing.modulus: form is “metric”, wanted form= with one of SI, US"]),
        (["modulus"], ["there is no calculation “modulus”; near it:", "curing.modulus: Modulus of elasticity", "mix.fineness_modulus: ", "“deckcalc list"]),
        (["curing.modulus", "form=US", "form=SI", "f=4", "f_c=4 lb"],
         ["form: given twice", "f: curing.modulus (US) has no argument “f”; it takes f_c, and form", "f_c: found"]),
        (["steel.section_loss", "form=US", "A_0=1 in^2"], ["form: steel.section_loss has no argument “form”; it takes A_0, d", "d: missing"]),
    ],
)  # fmt: skip
def test_the_command_line_names_the_forms_and_all_faults_at_once(capsys, words, told):
    assert cli.main(["run", *words]) == 1
    said = capsys.readouterr().err.strip().split("\n")
    assert len(said) == len(told) and all(part in line for part, line in zip(told, said, strict=True)), said


def test_the_command_line_takes_the_form_with_the_arguments(capsys):
    assert cli.main(["run", "curing.modulus", "f_c=4 ksi", "form=US", "--units", "US"]) == 0
    assert "3605 ksi" in capsys.readouterr().out.replace("3,605", "3605").replace("3605.0", "3605")


def test_forms_pickle_and_copy_as_themselves():
    for one in (curing.modulus, curing.modulus.form("US"), steel.development_aci.form("SI 1/1.1")):
        assert pickle.loads(pickle.dumps(one)) is copy.deepcopy(one) is copy.copy(one) is one


def test_a_form_reads_what_people_write_and_writes_it_out_by_hand():
    assert curing.modulus("4 ksi", form="US") == curing.modulus(Q(4, "ksi"), form="US")
    assert "57000" in curing.modulus.by_hand("4 ksi", form="US", system="US").lines[0].formula
    with pytest.raises(InputError, match="no form is given"):
        curing.modulus.by_hand("4 ksi")


def test_a_table_is_calculated_in_one_form():
    pandas = pytest.importorskip("pandas")
    made = curing.modulus.table(pandas.DataFrame({"f_c [psi]": [3000, 4000]}), "US", form="US")
    assert made["E_c [ksi]"].round().tolist() == [3122, 3605]


def test_help_gives_the_range_of_each_form():
    said = str(inspect.signature(traffic.stopping))
    assert "US: " in said and "mph" in said and "SI: " in said and "km/h" in said and "form: one of" in said
    assert "km/h" in str(inspect.signature(traffic.stopping.form("SI")))
    assert "form: one of" in pydoc.render_doc(curing.modulus, renderer=pydoc.plaintext)


FORMED_BODY = '''
from deckcalc.core.forms import Form, calculation_by_form

@calculation_by_form(title="Reach", source=MADE_UP, forms={"SI": Form({"k": 3, "r": "2 m"}), "US": Form({"k": 1, "r": "7 ft"})})
def reach(a: Side, *, k: float, r: Length) -> Result:
    """Reach of an arm."""
    p = r  # length of the form, {r}
    A = k * p * a  # area
    return Result(p, A)
'''


def test_a_body_takes_the_constants_of_its_form(tmp_path, monkeypatch):
    reach = declare(tmp_path, monkeypatch, FORMED_BODY).reach
    assert isinstance(reach, ByForm) and [one.form_name for one in reach] == ["SI", "US"]
    assert reach(Q(2, "m"), form="SI").A.m_as("m²") == pytest.approx(12)
    assert reach(Q(2, "ft"), form="US").A.m_as("ft²") == pytest.approx(14)
    assert [line.expression for line in reach.form("SI").lines] == ["r", "3 * p * a"]
    assert [line.expression for line in reach.form("US").lines] == ["r", "p * a"]
    assert reach.form("US").lines[0].comment == "length of the form, 7 ft"
    assert list(reach.form("US").params) == ["a"]


@pytest.mark.parametrize(
    ("written", "metres"), [("40 000 mm", 40), ("5/8 m", 0.625), ("25/3 mm", 25 / 3000), ("2.5 m", 2.5)]
)
def test_a_constant_is_taken_and_proved_as_the_rule_writes_it(tmp_path, monkeypatch, written, metres):
    reach = declare(tmp_path, monkeypatch, FORMED_BODY.replace('"2 m"', f'"{written}"')).reach
    assert reach("2 m", form="SI").p.m_as("m") == pytest.approx(metres)
    assert f"{written} by the form SI" in printed(reach, "SI", a=Q(2, "m"), form="SI")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"k": 1, ', "", r"reach \(US\): k is no keyword-only name"),
        ('"k": 1, ', '"k": 1, "j": 2, ', r"reach \(US\): j is no keyword-only name"),
        ("*, k: float, r: Length", "*, k: float", r"reach \(SI\): r is no keyword-only name"),
        ("p = r  #", "k = r  #", r"reach \(SI\), line .*a name is given once"),
        ("A = k * p * a", "A = r * a", r"reach \(SI\), line .*has a line of its own"),
        ("form, {r}", "form, {q}", "names 'q', which is no constant of the form"),
        ("A = k * p * a", "A = k * p * a + b", r"reach \(SI\), line .*b has no value"),
    ],
)
def test_a_form_that_does_not_fit_its_body_is_refused_when_it_is_declared(tmp_path, monkeypatch, old, new, says):
    assert old in FORMED_BODY
    with pytest.raises(TypeError, match=says):
        declare(tmp_path, monkeypatch, FORMED_BODY.replace(old, new))


def test_a_constant_has_no_name_of_a_function(tmp_path, monkeypatch):
    text = re.sub(r"\bk\b", "exp", FORMED_BODY)
    with pytest.raises(
        TypeError, match=r"reach \(SI\): an argument cannot be called exp, which is the name of a function"
    ):
        declare(tmp_path, monkeypatch, text)
