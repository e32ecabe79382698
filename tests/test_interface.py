"""Check the interface that users of pint, pandas and notebooks expect: units, pickles, reading, help, tables, display."""

import copy
import html.parser
import inspect
import multiprocessing
import pickle
import pydoc
import subprocess
import sys

import numpy as np
import pandas as pd
import pint
import pytest
from samples import REGISTER, good

from deckcalc import InputError, Q, frame
from deckcalc.base.context import Context
from deckcalc.base.subject import Run, Subject
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Length
from deckcalc.mix import average_strength
from deckcalc.patch import patch_volume
from deckcalc.steel import development_aci, section_loss

READ = {"A_0": Q(0.31, "in²"), "d": Q([0.60, 0.55], "in")}
LOSS = section_loss(**READ)


def alone(code):
    """Run code in an interpreter of its own; return what it prints."""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


# --- pint's application registry


def test_results_work_with_the_users_own_quantities():
    for own in (
        pint.Quantity(2, "m"),
        pint.application_registry.Quantity(2, "m"),
        pint.get_application_registry()("2 m"),
    ):
        assert (LOSS.A_lost * own).check("[volume]")
    assert (pickle.loads(pickle.dumps(LOSS)).A_r + LOSS.A_lost).m_as("in²") == pytest.approx(0.31)


def test_nothing_of_the_users_registry_changes_but_the_units_added():
    code = (
        "import pint; own = pint.application_registry; own.formatter.default_format = '.2f'; "
        "before = str(own.Quantity(1, 'inch')), own.autoconvert_offset_to_baseunit; "
        "import deckcalc; deckcalc.Q(1, 'pcf'); "
        "print(before == (str(own.Quantity(1, 'inch')), own.autoconvert_offset_to_baseunit), 'bag94' in own)"
    )
    assert alone(code) == "True True"
    assert alone("import deckcalc, pint; deckcalc.Q(1, 'in'); print(pint.Quantity(1, 'in'))") == "1 inch"


@pytest.mark.parametrize("when", ["before", "after", "after use"])
def test_an_application_registry_of_the_users_own_is_taken(when):
    start = {"before": "pint.set_application_registry(own); import deckcalc", "after": "import deckcalc",
             "after use": "import deckcalc; from deckcalc.steel import section_loss; "
                          "section_loss('0.31 in^2', '0.60 in')"}  # fmt: skip
    code = (
        f"import pint; own = pint.UnitRegistry(); {start[when]}; pint.set_application_registry(own); "
        "from deckcalc.steel import section_loss; loss = section_loss(own('0.31 in^2'), '0.60 in, 0.55 in'); "
        "sheet = section_loss.by_hand('0.31 in^2', own.Quantity([0.6, 0.55], 'inch'), system='US'); "
        "print((loss.A_r * own('2 m')).check('[volume]'), len(sheet.lines), f'{loss.loss:.1f~P}', own('1 pcf').units)"
    )
    assert alone(code) == "True 5 23.4 % pound_per_cubic_foot"


@pytest.mark.parametrize(
    "first", ["app.Quantity(1, 'm')", "app('1 m')", "app['m']", "setattr(app, 'default_as_delta', True)"]
)
def test_units_of_the_trade_are_known_however_the_registry_is_first_used(first):
    given = pickle.dumps(Q(145, "pcf"))
    code = (
        f"import pickle, pint; from deckcalc import registry; app = pint.application_registry; {first}; "
        f"print(pickle.loads({given!r}))"
    )
    assert alone(code) == "145 pound_per_cubic_foot"


def test_a_unit_of_the_same_name_and_another_size_is_refused_in_words():
    code = (
        "import pint; own = pint.UnitRegistry(); own.define('bag94 = 94 * kilogram'); pint.set_application_registry(own)\n"
        "import deckcalc\n"
        "try: deckcalc.Q(1, 'mm')\nexcept deckcalc.InputError as error: print(error)"
    )
    assert "has a unit “bag94” that is not 94 * pound; rename it" in alone(code)


def test_quantities_of_a_foreign_registry_are_accepted_in_whatever_format_it_prints():
    foreign = pint.UnitRegistry()
    foreign.formatter.default_format = ".1f~L"
    assert section_loss(foreign.Quantity(0.31, "in**2"), foreign.Quantity([0.6, 0.55], "in")) == LOSS


# --- pickles and copies


@pytest.mark.parametrize("key", sorted(REGISTER)[::7])
def test_a_calculation_pickles_and_copies_as_itself(key):
    one = REGISTER[key]
    for found in (pickle.loads(pickle.dumps(one)), copy.copy(one), copy.deepcopy(one)):
        assert found is one


def test_a_pickle_is_read_where_nothing_was_imported():
    given = pickle.dumps((section_loss, READ, LOSS, Run(section_loss, READ, "B1")))
    code = f"import pickle; c, given, loss, run = pickle.loads({given!r}); print(c(**given) == loss == run.result)"
    assert alone(code) == "True"


def test_a_worker_of_another_process_calculates():
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        found = pool.apply(section_loss, (), READ)
        volume = pool.apply(units.read, ("145 pcf", units.Density))
    assert found == LOSS and (found.A_r + LOSS.A_lost).m_as("in²") == pytest.approx(0.31)
    assert volume == Q(145, "pcf")


def test_a_calculation_that_is_gone_is_named():
    from deckcalc.core.calculation import declared

    with pytest.raises(InputError, match="no calculation steel.nothing; deckcalc.steel does not declare it"):
        declared("steel.nothing", "deckcalc.steel")
    with pytest.raises(InputError, match="calculation mine.x: its module mine cannot be imported"):
        declared("mine.x", "mine")


# --- calls as people write


@pytest.mark.parametrize(
    ("A_0", "d"),
    [
        ("0.31 in^2", "0.60 in, 0.55 in"), ("0.31 in²", "0.60 in; 0.55 in"), ("0.31 in2", ["0.60 in", "0.55 in"]),
        (READ["A_0"], ("0.60 in", Q(0.55, "in"))), ("0.31 in²", np.array(["0.60 in", "0.55 in"])),
        ("0.31 in²", np.array([0.60, 0.55]) * units.unit("in")), ("0.31 in²", pd.Series([0.60, 0.55], name="d [in]")),
        ("0.31 in²", pd.Series(["0.60 in", "13.97 mm"])),
    ],
)  # fmt: skip
def test_each_way_of_writing_gives_the_same(A_0, d):
    for ours, same in zip(section_loss(A_0, d), LOSS, strict=True):
        assert float(ours.m_as(same.units)) == pytest.approx(float(same.magnitude), rel=1e-12)


def test_a_bar_size_a_share_and_a_choice_are_read():
    given = good("steel.development_aci (US)")
    written = {**given, "d_b": "#5", "f_y": "60 ksi"}
    assert (
        development_aci(**written, form="US").l_d
        == development_aci(**{**given, "form": "US", "d_b": Q(0.625, "in"), "f_y": Q(60, "ksi")}).l_d
    )
    assert patch_volume("6 ft^2", "3 1/2 in", "0.1 ft^3", "0", "8 %", 0.1) == patch_volume(
        Q(6.0, "ft²"), Q(3.5, "in"), Q(0.1, "ft³"), 0.0, 0.08, 0.1
    )
    assert (
        average_strength("4 ksi", "2.5 MPa", "20", form="US").f_cr
        == average_strength(Q(4, "ksi"), Q(2.5, "MPa"), 20, form="US").f_cr
    )


def test_a_series_states_its_unit_in_its_name_beside_it_or_in_its_type():
    plain = pd.Series([6.0, 8.0], name="A")
    beside = plain.copy()
    beside.attrs["units"] = "ft^2"
    rest = {"h": "3.5 in", "V_u": "0.1 ft^3", "q_grow": 0, "q_over": pd.Series([0.08, 0.05]), "q_waste": "10 %"}
    one = patch_volume(A=plain.rename("A [ft^2]"), **rest)
    assert one[-1].shape == (2,) and all(one[-1] == patch_volume(A=beside, **rest)[-1])

    class Typed(pd.Series):
        """Stands for a column whose type has units, as extension types do."""

        @property
        def dtype(self):
            return type("Typed", (), {"units": pint.Unit("foot**2")})()

    assert all(one[-1] == patch_volume(A=Typed([6.0, 8.0]), **rest)[-1])


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"A_0": "5 kg"}, "section_loss: A_0 cannot be read: found “5 kg”, which is no area of reinforcement"),
        ({"A_0": "0.31"}, "section_loss: A_0 cannot be read: found “0.31” without a unit"),
        ({"A_0": "3 m^2"}, "section_loss: A_0 .nominal area.* is 3.0 m², wanted an area of reinforcement from 5 mm²"),
        ({"d": "0.60 in, thin"}, "section_loss: d cannot be read: found “thin”, wanted a diameter"),
        ({"d": ["0.60 in", 0.5]}, "section_loss: d cannot be read: found “0.5” without a unit"),
        ({"d": [0.6, 0.5]}, "section_loss: d is .* without a unit, wanted a diameter from 1 mm to 85 mm; attach the unit"),
        ({"d": ["0.60 in", Q(1, "kg")]}, "section_loss: d cannot be read: found 1 kg, which is no diameter"),
        ({"d": [["0.60 in"], ["0.6 in", "0.5 in"]]}, "section_loss: d cannot be read: the lists of readings have different lengths"),
        ({"d": []}, "section_loss: d"), ({"d": ""}, "section_loss: d cannot be read: found “”"), ({"d": None}, "section_loss: d is None"),
        ({"d": pd.Series([0.6, 0.5], name="d")}, r"d cannot be read: its column “d” has no unit.*name, for instance “d \[mm\]”, or"),
        ({"d": pd.Series([0.6, None], name="d [in]")}, "d cannot be read: its column “d .in.” has no value in row 2"),
        ({"d": pd.Series([0.6, 0.5], name="d [kg]")}, "section_loss: d is .* kg, wanted a diameter"),
        ({"d": pd.Series([0.6, 0.5], name="d [inn]")}, "section_loss: d cannot be read: “inn” is not a unit"),
        ({"d": pd.Series([0.6, object()], name="d [in]")}, "d cannot be read: its column “d .in.” holds something that is no number"),
        ({"A_0": "thick", "d": "thin"}, "A_0 cannot be read: found “thick”(.|\n)*d cannot be read: found “thin”"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_by_the_name_of_the_argument(given, words):
    with pytest.raises(InputError, match=words):
        section_loss(**{**READ, **given})


def test_a_series_with_two_units_is_refused():
    both = pd.Series([0.6, 0.5], name="d [in]")
    both.attrs["units"] = "mm"
    with pytest.raises(InputError, match="d cannot be read: its column “d .in.” has two units: mm and in"):
        section_loss(READ["A_0"], both)


# --- help and signatures


def test_help_prints_units_and_ranges():
    text = pydoc.plain(pydoc.render_doc(section_loss))
    assert "section_loss(A_0: an area of reinforcement from 5 mm² to 5000 mm², d: a list of readings" in text
    assert "loss [%]" in text and "nominal area of the bar, from the bar table" in text


@pytest.mark.parametrize("key", sorted(REGISTER))
def test_the_signature_of_each_calculation_says_what_it_takes(key):
    one = REGISTER[key]
    shown = inspect.signature(one)
    written = inspect.signature(one.__wrapped__).parameters.values()
    assert list(shown.parameters) == list(one.params) == [p.name for p in written if p.kind is not p.KEYWORD_ONLY]
    for name, parameter in shown.parameters.items():
        assert one.params[name].wanted in str(parameter.annotation)
        assert (parameter.default is inspect.Parameter.empty) == one.params[name].required
    assert one.__doc__ and one.__name__ in inspect.getsource(one.__wrapped__)


# --- by hand, and in a notebook


def test_by_hand_writes_the_calculation_out_in_either_system():
    for system, unit in (("SI", "mm²"), ("US", "in²")):
        sheet = section_loss.by_hand("0.31 in^2", "0.60 in, 0.55 in", system=system)
        assert unit in sheet.lines[2].result and sheet.result == LOSS
        assert str(sheet) == sheet._repr_markdown_() and "by hand" in repr(sheet)
    with pytest.raises(InputError, match="system is “metric”, wanted one of SI, US"):
        section_loss.by_hand(**READ, system="metric")
    with pytest.raises(InputError, match="A_0 cannot be read: found “x”"):
        section_loss.by_hand("x", "0.6 in")


class Cells(html.parser.HTMLParser):
    """Collects the cells of a table, and holds every tag to be closed."""

    def __init__(self, text):
        super().__init__()
        self.open, self.heads, self.tags = [], 0, set()
        self.feed(text)
        assert not self.open

    def handle_starttag(self, tag, attrs):
        self.open.append(tag)
        self.tags.add(tag)
        self.heads += tag == "th" and dict(attrs).get("scope") in ("col", "row")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


CHECK = Check("core <1>", "depth & cover", Q(40, "mm"), Limit("x", "a limit", Q(50, "mm"), units.kind_of(Length), Cite("", "rule", "common practice")), "at least")  # fmt: skip


class Bars(Subject):
    """A subject of one run."""

    key, title = "steel", "Reinforcement"


def filled():
    """Return a subject with one run and one check."""
    subject = Bars(Context("SI", {}, None, None))
    subject.run(section_loss, "bar B1", A_0="0.31 in^2", d="0.60 in, 0.55 in")
    subject.checks.append(CHECK)
    return subject


@pytest.mark.parametrize(
    "thing", [section_loss, LOSS, CHECK, filled(), filled().runs[0]], ids=lambda one: type(one).__name__
)
def test_a_notebook_shows_a_small_table_with_caption_and_heads(thing):
    text = thing._repr_html_()
    found = Cells(text)
    assert {"table", "caption", "thead", "tbody"} <= found.tags and found.heads >= 3
    assert "style" not in text and "color" not in text and "<1>" not in text


def test_the_table_of_a_record_has_both_systems_and_says_how_large_arrays_are():
    text = LOSS._repr_html_()
    assert "<td>153 mm²</td><td>0.24 in²</td>" in text and "remaining area" in text
    many = section_loss("0.31 in^2", Q(np.linspace(0.5, 0.6, 40).reshape(20, 2), "in"))
    assert "20 values, 12.7 mm to" in many._repr_html_()


def test_the_job_shows_its_checks():
    from samples import demo

    job = demo("US")
    found = Cells(job._repr_html_())
    assert found.heads == 5 + len(job.checks)
    assert list(frame(job)["verdict"]) == [one.verdict for one in job.checks]
    back = pickle.loads(pickle.dumps(job))
    assert [one.verdict for one in back.checks] == [one.verdict for one in job.checks]
    assert back.steel.runs[0].result == job.steel.runs[0].result


def test_the_core_shows_nothing_before_somebody_looks():
    code = (
        "import sys; from deckcalc.steel import section_loss; loss = section_loss('0.31 in^2', '0.60 in'); "
        "print('deckcalc.show.display' in sys.modules, 'pandas' in sys.modules); text = loss._repr_html_(); "
        "print('deckcalc.show.display' in sys.modules, 'pandas' in sys.modules)"
    )
    assert alone(code).split() == ["False", "False", "True", "False"]


# --- tables of pandas

BARS = pd.DataFrame([[0.31, 0.60, 0.55, "x"], [0.31, 0.61, None, "y"]], index=["B1", "B2"])
BARS.columns = ["A_0 [in^2]", "d [in]", "d [in]", "by"]


def test_a_table_with_units_goes_in_and_a_table_with_units_comes_out(tmp_path):
    found = section_loss.table(BARS, "US")
    assert list(found.columns) == ["d_mean [in]", "d_r [in]", "A_r [in²]", "A_lost [in²]", "loss [%]"]
    assert list(found.index) == ["B1", "B2"]
    for row, readings in (("B1", [0.60, 0.55]), ("B2", [0.61])):
        alone = frame(section_loss("0.31 in^2", Q(readings, "in")), "US")
        assert found.loc[row].to_numpy() == pytest.approx(alone.iloc[0].to_numpy(), rel=1e-12)
    BARS.to_csv(tmp_path / "bars.csv")
    again = section_loss.table(pd.read_csv(tmp_path / "bars.csv", index_col=0), "US")
    pd.testing.assert_frame_equal(found, again)
    shared = section_loss.table(BARS.drop(columns="A_0 [in^2]"), "US", A_0="0.31 in^2")
    pd.testing.assert_frame_equal(found, shared)


def test_choices_may_differ_between_rows():
    given = good("steel.development_aci (US)")
    rows = pd.DataFrame({"d_b [in]": [0.625, 0.625], "coating": ["uncoated", "epoxy"]})
    same = {name: value for name, value in given.items() if name not in ("d_b", "coating")}
    found = development_aci.table(rows, **same, form="US")
    for row, coating in enumerate(rows["coating"]):
        one = development_aci(**{**same, "d_b": "#5", "coating": coating}, form="US")
        assert found["l_d [mm]"][row] == pytest.approx(one.l_d.m_as("mm"))


@pytest.mark.parametrize(
    ("data", "given", "words"),
    [
        (BARS.assign(**{"A_0 [in^2]": [0.31, 400.0]}), {}, "^row B2: section_loss: A_0 .* is .*wanted an area"),
        (BARS.rename(columns={"A_0 [in^2]": "A_0"}), {}, "^section_loss: A_0 cannot be read: its column “A_0” has no unit"),
        (BARS.drop(columns="A_0 [in^2]"), {}, "^section_loss: missing a required argument: 'A_0'"),
        (BARS, {"A_0": "#5"}, "A_0 is given twice"), (BARS, {"system": "metric"}, "system is “metric”"),
        (BARS.assign(**{"A_0 [mm^2]": 200.0}), {}, "A_0 has 2 columns, wanted one"), ([1], {}, "found list, wanted a pandas"),
    ],
)  # fmt: skip
def test_a_table_that_cannot_be_calculated_names_the_rows(data, given, words):
    with pytest.raises(InputError, match=words):
        section_loss.table(data, **given)


def test_runs_records_and_checks_come_out_as_tables():
    subject = filled()
    runs = frame(subject.runs, "US")
    assert runs["item"][0] == "bar B1" and runs["loss [%]"][0] == pytest.approx(23.36, abs=0.01)
    assert frame([LOSS, LOSS]).shape == (2, 5)
    checks = frame(subject.checks, "US")
    assert checks["verdict"][0] == "not satisfied" and checks["unit"][0] == "in"
    assert checks["demand"][0] == pytest.approx(40 / 25.4)
    with pytest.raises(InputError, match="found int, wanted a record"):
        frame(3)
    with pytest.raises(InputError, match="all of one calculation"):
        frame([subject.runs[0], Run(patch_volume, {}, "P1")])


def test_a_missing_pandas_is_said_in_words(monkeypatch):
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(InputError, match="wants the library pandas, which is not installed"):
        frame(LOSS)


def test_results_and_sheets_are_shown_as_mathematics_too():
    made = section_loss("0.31 in^2", "0.60 in, 0.55 in")
    assert r"A_{\mathrm{lost}} &= 47\ \text{mm²}" in made._repr_latex_() and made._repr_latex_().count("&=") == 5
    sheet = section_loss.by_hand("0.31 in^2", "0.60 in, 0.55 in")
    assert all(line.tex in sheet._repr_latex_() for line in sheet.lines)
