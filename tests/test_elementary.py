"""Check the elementary functions of a body: value, array, quantity, print and proof, and what is refused."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats
from test_calculation import SOUND, A, declare

from deckcalc import InputError, Q
from deckcalc.core import calculation, elementary
from deckcalc.core.calculation import FUNCTIONS
from deckcalc.core.tables import TableError
from deckcalc.show import proof
from deckcalc.show.hand import HandCalculation
from deckcalc.show.proof import ReadBackError, Reader, check_line

NAMES = ("exp", "ln", "log10", "erf", "erfc", "Phi")

#: Abramowitz & Stegun, tables 4.2 (ln), 4.4 (e^x), 7.1 (erf) and 26.1 (normal integral), recalled; held below against scipy.
TABLES = {
    "exp": [(1.0, "2.718281828"), (-0.5, "0.606530660"), (0.0, "1.000000000")],
    "ln": [(2.0, "0.693147181"), (10.0, "2.302585093"), (1.0, "0.000000000")],
    "log10": [(2.0, "0.301029996"), (1000.0, "3.000000000")],
    "erf": [(0.5, "0.520499878"), (1.0, "0.842700793"), (2.0, "0.995322265"), (-1.0, "-0.842700793")],
    "erfc": [(0.5, "0.479500122"), (1.0, "0.157299207")],
    "Phi": [(0.0, "0.500000000"), (1.0, "0.841344746"), (1.96, "0.975002105"), (-3.0, "0.001349898")],
}
OUTSIDE = {
    "exp": lambda x: special.exp10(x / math.log(10)), "ln": lambda x: special.xlogy(1.0, x),
    "log10": math.log10, "erf": lambda x: special.gammainc(0.5, x * x) * math.copysign(1, x),
    "erfc": lambda x: 2 * stats.norm.sf(x * math.sqrt(2)), "Phi": statistics.NormalDist().cdf,
}  # fmt: skip
PRINTED = {"exp": r"\exp", "ln": r"\ln", "log10": r"\log_{10}", "erf": r"\operatorname{erf}", "erfc": r"\operatorname{erfc}",
           "Phi": r"\Phi"}  # fmt: skip


def of(name):
    """Return a function of the body."""
    return getattr(elementary, name)


@pytest.mark.parametrize(("name", "x", "printed"), [(name, *row) for name, rows in TABLES.items() for row in rows])
def test_values_are_those_of_printed_tables(name, x, printed):
    assert of(name)(x) == pytest.approx(float(printed), abs=0.51e-9)


@pytest.mark.parametrize("name", NAMES)
@given(x=st.floats(1e-3, 5.0))
def test_values_are_those_of_other_libraries_by_another_way(name, x):
    for at in (x,) if name in ("ln", "log10") else (x, -x):
        assert of(name)(at) == pytest.approx(OUTSIDE[name](at), rel=1e-12, abs=1e-15)


@pytest.mark.parametrize("name", NAMES)
def test_numbers_arrays_and_quantities_give_the_same(name):
    x = np.array([0.2, 0.5, 1.5])
    found = of(name)(x)
    assert found.shape == x.shape
    assert [of(name)(float(one)) for one in x] == pytest.approx(list(found), rel=1e-15)
    assert of(name)(Q(x, "")) == pytest.approx(found, rel=1e-15)
    assert of(name)(Q(100 * x, "percent")) == pytest.approx(found, rel=1e-12)
    assert of(name)(Q(x, "in") / Q(25.4, "mm")) == pytest.approx(found, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_a_quantity_with_a_dimension_is_refused(name):
    with pytest.raises(InputError, match=f"{name} wants a number without dimension, found one in mm"):
        of(name)(Q(3, "mm"))


@pytest.mark.parametrize("name", ["ln", "log10"])
@pytest.mark.parametrize("x", [0.0, -1.0, np.array([1.0, 0.0])])
def test_a_logarithm_of_nothing_is_refused(name, x):
    with pytest.raises(TableError, match="a logarithm wants a positive number"):
        of(name)(x)


# --- in a body


def body(name):
    """Return a declaration whose area is scaled by a function of a ratio of its sides."""
    text = SOUND.replace(A, f"A = a * b * {name}(a / b)  # area")
    return f"from deckcalc.core.calculation import {name}\n{text}"


@pytest.mark.parametrize("name", NAMES)
def test_a_body_may_call_it_and_its_line_is_proved(tmp_path, monkeypatch, name):
    one = declare(tmp_path, monkeypatch, body(name)).rectangle
    assert one(Q(50, "cm"), Q(2, "m")).A.m_as("m²") == pytest.approx(of(name)(0.25), rel=1e-12)
    many = one(Q([0.5, 1.0], "m"), Q(2, "m")).A.m_as("m²")
    assert many == pytest.approx([of(name)(0.25), 2 * of(name)(0.5)], rel=1e-12)
    for system in ("SI", "US"):
        line = HandCalculation(one, system, {"a": Q(0.7, "m"), "b": Q(2.1, "m")}).lines[1]
        assert f"{PRINTED[name]} \\left( \\frac" in line.formula and PRINTED[name] in line.numbers


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("A = a * b * exp(a)  # area", "exp"),
        ("A = a * b * ln(a * b)  # area", "ln"),
        ("A = a * b * Phi(1 / a)  # area", "Phi"),
    ],
)
def test_an_argument_with_a_dimension_gets_no_sheet(tmp_path, monkeypatch, line, named):
    text = f"from deckcalc.core.calculation import {named}\n{SOUND.replace(A, line)}"
    one = declare(tmp_path, monkeypatch, text).rectangle
    with pytest.raises(InputError, match=f"{named} wants a number without dimension"):
        HandCalculation(one, "SI", {"a": Q(2, "m"), "b": Q(3, "m")})


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("given_to", ["({0}(a / b, 2))", "({0}(x=a / b))", "({0}())", "({0})"])
def test_what_a_body_may_not_do_with_it(tmp_path, monkeypatch, name, given_to):
    text = f"from deckcalc.core.calculation import {name}\n" + SOUND.replace(
        A, f"A = a * b * {given_to.format(name)}  # area"
    )
    with pytest.raises(TypeError, match="rectangle, line "):
        declare(tmp_path, monkeypatch, text)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_named_alike_and_a_symbol_named_alike_are_refused(tmp_path, monkeypatch, name):
    own = f"\ndef {name}(*x):\n    return x[0]\n"
    twice = ", 1" if FUNCTIONS[name][1] == 2 else ""
    with pytest.raises(TypeError, match=f"{name} takes {FUNCTIONS[name][1]} plain"):
        declare(tmp_path, monkeypatch, own + SOUND.replace(A, f"A = a * b * {name}(a / b{twice})  # area"))
    with pytest.raises(TypeError, match=f"{name} is the name of a function"):
        declare(tmp_path, monkeypatch, SOUND.replace(A, f"{name} = a * b  # area"))
    with pytest.raises(TypeError, match=f"cannot be called {name}"):
        declare(tmp_path, monkeypatch, SOUND.replace("b: Side", f"{name}: Side").replace("* b", f"* {name}"))


def test_a_logarithm_that_cannot_be_taken_names_the_calculation(tmp_path, monkeypatch):
    one = declare(tmp_path, monkeypatch, body("ln").replace("ln(a / b)", "ln(a / b - 1)")).rectangle
    with pytest.raises(InputError, match="rectangle: a logarithm wants a positive number"):
        one(Q(1, "m"), Q(2, "m"))


# --- the proof works it out with a code of its own


@pytest.mark.parametrize(("name", "x", "printed"), [(name, *row) for name, rows in TABLES.items() for row in rows])
def test_the_reader_works_printed_functions_out(name, x, printed):
    text = rf"{PRINTED[name]} \left( {x} \right)"
    assert Reader(text).whole() == pytest.approx(float(printed), abs=0.51e-9)


@pytest.mark.parametrize("name", NAMES)
def test_a_false_print_of_a_function_is_caught(name):
    value = f"{of(name)(1.7):.4f}"
    line = [rf"{PRINTED[name]} \left( z \right)", rf"{PRINTED[name]} \left( 1.7 \right)", value]
    symbols = {"z": 1.7}
    assert check_line(*line, symbols) <= 1
    other = next(one for one in NAMES if one != name)
    for place, old, new in (
        (2, value, f"{float(value) + 1e-4:.4f}"), (2, value, f"{float(value) - 1e-4:.4f}"), (1, "1.7", "1.6"),
        (0, PRINTED[name], PRINTED[other]), (1, PRINTED[name], PRINTED[other]), (1, PRINTED[name], r"\tanh"),
        (1, PRINTED[name], r"\operatorname{gamma}"), (1, "1.7", r"1.7\ \text{mm}"), (1, r"1.7 \right)", r"1.7 ,\ 2 \right)"),
    ):  # fmt: skip
        planted = list(line)
        assert old in planted[place]
        planted[place] = planted[place].replace(old, new)
        with pytest.raises(ReadBackError):
            check_line(*planted, symbols)


@pytest.mark.parametrize("text", [r"\ln \left( 0 \right)", r"\log_{10} \left( -1 \right)", r"\exp \left( 1000 \right)"])
def test_the_reader_refuses_what_has_no_value(text):
    with pytest.raises(ReadBackError, match="cannot be taken"):
        check_line(text, text, "1.0", {})


def test_the_proof_shares_no_function_with_the_body():
    ours = {function for function, _, _ in FUNCTIONS.values()} | {np.exp, np.log, np.log10, special.erf, special.ndtr}
    assert not ours & {function for function, _ in proof.FUNCTIONS.values()}
    assert len(proof.FUNCTIONS) == len(NAMES) + 2


def test_decimals_are_added_until_an_exponential_holds(tmp_path, monkeypatch):
    one = declare(tmp_path, monkeypatch, body("exp")).rectangle
    line = HandCalculation(one, "SI", {"a": Q(8.4321, "m"), "b": Q(1.2345, "m")}).lines[1]
    half = 0.5 * 10.0 ** -len(line.result.split(r"\ ")[0].partition(".")[2])
    assert (
        abs(proof.pure(Reader(line.numbers).whole() / Q(1, "m²")) - float(line.result.split(r"\ ")[0]))
        <= half * 1.000001
    )


def test_a_negative_number_stands_in_one_pair_of_brackets_as_an_argument(tmp_path, monkeypatch):
    one = declare(
        tmp_path, monkeypatch, body("exp").replace("exp(a / b)", "exp(p / b)").replace("2 * a + 2 * b", "a - b")
    ).rectangle
    line = HandCalculation(one, "SI", {"a": Q(1, "m"), "b": Q(2, "m")}).lines[1]
    assert r"\left( \left(" not in line.numbers
    assert calculation.exp(-0.5) * 2 == pytest.approx(one(Q(1, "m"), Q(2, "m")).A.m_as("m²"))
