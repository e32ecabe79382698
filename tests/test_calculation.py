"""Check what a calculation is: what its body may hold, and that number, array and refusal come out right for every one."""

import importlib.util
import inspect
import math
import random
import re
import textwrap

import numpy as np
import pytest
from samples import CASES, REGISTER, arguments, base, cases_of, each_argument, good, results

from deckcalc import InputError, Q
from deckcalc.core import calculation, sources, tables, units
from deckcalc.core.boundary import Lookup, documented

# --- what a body may hold: one sound declaration, and every way of spoiling it

HEAD = '''
from typing import Annotated, NamedTuple
import numpy as np
from deckcalc.core.calculation import Range, calculation, larger, lookup, pi, round_up, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import Area, Length, Ratio, Stress

Side = Annotated[Length, Range("1 mm", "9 m")]
MADE_UP = Cite("", "made up for this test", "common practice")
FACTOR = 2

class Result(NamedTuple):
    """Result."""

    p: Length
    A: Area

def swapped(p, A):
    return Result(A, p)

@lookup("the side {a} doubled")
def doubled(a: Side) -> Length:
    """Double."""
    return 2 * a
'''
SOUND = '''
@calculation(title="Sides", source=MADE_UP)
def rectangle(a: Side, b: Side) -> Result:
    """Perimeter and area of a rectangle."""
    p = 2 * a + 2 * b  # perimeter
    A = a * b  # area
    return Result(p, A)
'''
EMPIRICAL = '''
@calculation(title="Strength", source=MADE_UP, units={"f": "psi", "r": "psi"})
def raised(f: Annotated[Stress, Range("100 psi", "9000 psi")]) -> Stress:
    """Raised strength."""
    r = f + 1200  # raised
    return r
'''
P, A, RETURN = "p = 2 * a + 2 * b  # perimeter", "A = a * b  # area", "return Result(p, A)"


def declare(tmp_path, monkeypatch, text):
    """Import a module that declares a calculation; it is kept out of the register of the project."""
    monkeypatch.setattr(calculation, "REGISTER", {})
    path = tmp_path / "declared.py"
    path.write_text(HEAD + text, encoding="utf-8")
    spec = importlib.util.spec_from_file_location(f"declared_{tmp_path.name}", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_sound_declarations_are_accepted(tmp_path, monkeypatch):
    module = declare(tmp_path, monkeypatch, SOUND + EMPIRICAL)
    found = module.rectangle(Q(2, "m"), Q(300, "cm"))
    assert found.p == Q(10, "m") and Q(6, "m²") == found.A
    assert module.raised(Q(4, "ksi")).m_as("psi") == pytest.approx(5200)
    assert [line.comment for line in module.rectangle.lines] == ["perimeter", "area"]
    assert set(calculation.REGISTER) == {f"{module.__name__}.rectangle", f"{module.__name__}.raised"}


@pytest.mark.parametrize(
    "line",
    [
        "A = larger(a, b) * smaller(a, b) * pi / pi  # larger, smaller and pi",
        "A = sqrt(a**2) * b  # root and power",
        "A = -a * -b  # signs before names",
        "A = a * b * round_up(a / b) / round_up(a / b)  # rounded up",
        "A = 2.5e-1 * 4 * a * b  # numbers",
    ],
)
def test_what_a_line_may_hold(tmp_path, monkeypatch, line):
    module = declare(tmp_path, monkeypatch, SOUND.replace(A, line))
    assert module.rectangle(Q(2, "m"), Q(3, "m")).A.m_as("m²") == pytest.approx(6)


SPOILED = {
    "name given twice": (A, "A = a * b  # area\n    A = A + a * b  # twice the area", "A = A + a * b"),
    "argument given anew": (P, "a = 2 * b  # side", "a = 2 * b"),
    "added to": (P, "p = 2 * a  # part\n    p += 2 * b  # rest", "p += 2 * b"),
    "if": (A, "if a > b:\n        A = a * b  # area", "if a > b:"),
    "for": (A, "for i in (1,):\n        A = a * b  # area", "for i in"),
    "while": (A, "while a < b:\n        A = a * b  # area", "while a < b"),
    "with": (A, "with a:\n        A = a * b  # area", "with a"),
    "try": (A, "try:\n        A = a * b  # area\n    finally:\n        pass", "try:"),
    "bare expression": (A, "a * b  # area\n    A = a * b  # area", "a * b  # area"),
    "assertion": (A, "assert a\n    A = a * b  # area", "assert a"),
    "import": (A, "import math\n    A = a * b  # area", "import math"),
    "inner function": (A, "def f():\n        return 1\n    A = a * b  # area", "def f()"),
    "global": (A, "global FACTOR\n    A = a * b  # area", "global FACTOR"),
    "delete": (A, "del p\n    A = a * b  # area", "del p"),
    "typed name": (A, "A: float = a * b  # area", "A: float"),
    "attribute": (A, "A = a.real * b  # area", "a.real"),
    "method": (A, "A = a.to('m') * b  # area", "a.to('m')"),
    "numpy call": (A, "A = np.multiply(a, b)  # area", "np.multiply"),
    "subscript": (A, "A = a[0] * b  # area", "a[0]"),
    "slice": (A, "A = a[:] * b  # area", "a[:]"),
    "call with a keyword": (A, "A = larger(a, b=b) * b  # area", "larger(a, b=b)"),
    "call with a star": (A, "A = larger(*a) * b  # area", "larger(*a)"),
    "call with too many": (A, "A = larger(a, a, b) * b  # area", "larger(a, a, b)"),
    "call with too few": (A, "A = larger(a) * b  # area", "larger(a)"),
    "lambda": (A, "A = (lambda x: x)(a) * b  # area", "lambda"),
    "text": (A, "A = a * 'b'  # area", "a * 'b'"),
    "formatted text": (A, "A = a * f'{b}'  # area", "f'{b}'"),
    "true": (A, "A = a * b * True  # area", "True"),
    "none": (A, "A = None  # area", "None"),
    "imaginary": (A, "A = a * 1j  # area", "1j"),
    "elementary function of the module that is not ours": (A, "A = a * b * exp(a / b)  # area", "exp(a / b)"),
    "unknown function": (A, "A = abs(a) * b  # area", "abs(a)"),
    "builtin max": (A, "A = max(a, b) * b  # area", "max(a, b)"),
    "builtin round": (A, "A = round(a) * b  # area", "round(a)"),
    "plain function as a look-up": (A, "A = swapped(a, b)  # area", "swapped(a, b)"),
    "look-up of an expression": (P, "p = doubled(a + b)  # perimeter", "doubled(a + b)"),
    "look-up with a keyword": (P, "p = doubled(a=a)  # perimeter", "doubled(a=a)"),
    "look-up inside an expression": (P, "p = doubled(a) + 2 * b  # perimeter", "doubled(a) + 2 * b"),
    "comparison": (A, "A = a < b  # area", "a < b"),
    "and": (A, "A = a and b  # area", "a and b"),
    "not": (A, "A = not a  # area", "not a"),
    "choice in a line": (A, "A = a * b if a else b * b  # area", "if a else"),
    "list": (A, "A = [a, b]  # area", "[a, b]"),
    "tuple": (A, "A = a, b  # area", "A = a, b"),
    "comprehension": (A, "A = [x for x in a]  # area", "for x in a"),
    "remainder": (A, "A = a % b  # area", "a % b"),
    "whole division": (A, "A = a // b  # area", "a // b"),
    "matrix product": (A, "A = a @ b  # area", "a @ b"),
    "bit operator": (A, "A = a ^ b  # area", "a ^ b"),
    "plus sign": (A, "A = +a * b  # area", "+a * b"),
    "assignment in a line": (A, "A = (p2 := a) * b  # area", "p2 := a"),
    "unknown name": (A, "A = a * c  # area", "a * c"),
    "name before its line": (P, "p = A / a  # perimeter", "p = A / a"),
    "name of the module": (A, "A = FACTOR * a * b / FACTOR  # area", "FACTOR * a"),
    "no comment": (A, "A = a * b", "A = a * b"),
    "two on one line": (P, "p = 2 * a + 2 * b; A = a * b  # both", "p = 2 * a + 2 * b; A = a * b"),
    "one value for two names": (P, "p = q = 2 * a + 2 * b  # perimeter", "p = q ="),
    "names unpacked": (P, "p, q = a, b  # perimeter", "p, q = a, b"),
    "part of a name": (P, "p.x = a  # perimeter", "p.x = a"),
    "broken over two lines": (A, "A = (a\n        * b)  # area", "A = (a"),
    "returned in other order": (RETURN, "return Result(A, p)", "return Result(A, p)"),
    "a name not returned": (RETURN, "return Result(p)", "return Result(p)"),
    "a value returned that is no name": (RETURN, "return Result(p, A * 1)", "A * 1"),
    "returned by keyword": (RETURN, "return Result(p=p, A=A)", "Result(p=p, A=A)"),
    "returned through another function": (RETURN, "return swapped(p, A)", "return swapped(p, A)"),
    "returned as a tuple": (RETURN, "return p, A", "return p, A"),
    "nothing returned": (RETURN, "return None", "return None"),
    "no return": ("    " + RETURN, "", "A = a * b  # area"),
    "early return": (A, "return Result(p, p)\n    A = a * b  # area", "return Result(p, p)"),
    "nothing at all": (f"{P}\n    {A}\n    {RETURN}", "pass", "pass"),
}  # fmt: skip


@pytest.mark.parametrize("spoiled", SPOILED)
def test_what_could_print_falsely_is_refused_when_it_is_declared(tmp_path, monkeypatch, spoiled):
    old, new, named = SPOILED[spoiled]
    text = SOUND.replace(f"    {A}\n", "") if spoiled == "two on one line" else SOUND
    text = text.replace(old, new)
    assert text != SOUND
    with pytest.raises(TypeError) as caught:
        declare(tmp_path, monkeypatch, text)
    assert str(caught.value).startswith("rectangle, line ") and named in str(caught.value)
    assert calculation.REGISTER == {}


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"f": "psi", ', "", "raised: .*the unit of every symbol; f has none"),
        (', "r": "psi"', "", "raised.*the unit of r is not declared"),
        ("r = f + 1200  # raised", "r = f + g  # raised", "raised, line .*g has no value"),
        ("return r", "return abs(r)", "raised, line .*return abs"),
    ],
)
def test_an_empirical_formula_declares_the_unit_of_every_symbol(tmp_path, monkeypatch, old, new, words):
    with pytest.raises(TypeError, match=words):
        declare(tmp_path, monkeypatch, EMPIRICAL.replace(old, new))


def test_a_record_with_other_fields_is_refused(tmp_path, monkeypatch):
    with pytest.raises(TypeError, match="the result has the fields p, A"):
        declare(tmp_path, monkeypatch, SOUND.replace("p = 2", "q = 2").replace("Result(p, A)", "Result(q, A)"))


def test_an_own_function_named_like_ours_is_refused(tmp_path, monkeypatch):
    own = "\ndef larger(a, b):\n    return a\n"
    with pytest.raises(TypeError, match=r"larger\(a, b\)"):
        declare(tmp_path, monkeypatch, own + SOUND.replace(A, "A = larger(a, b) * b  # area"))


# --- every calculation of the register: the same thing in any units

POOL = {
    "[length]": ["mm", "cm", "m", "in", "ft", "yd", "thou", "km"],
    "[length] ** 2": ["mm²", "cm²", "m²", "in²", "ft²", "yd²"],
    "[length] ** 3": ["m³", "ft³", "yd³", "in³", "cm³", "L"],
    "[mass]": ["kg", "g", "lb", "oz", "tonne", "bag94", "bag42_6"],
    "[mass] / [length] ** 3": ["kg/m³", "lb/ft³", "lb/yd³", "g/cm³", "pcf", "lb/in³"],
    "[mass] / [length] / [time] ** 2": ["MPa", "psi", "ksi", "kPa", "N/mm²", "psf"],
    "dimensionless": ["", "%", "ppm"],
}
ALL = [(key, case) for key, one in REGISTER.items() for case in cases_of(one, most=2)]


def quantity(value):
    """Return a bare number as a quantity without dimension."""
    return value if isinstance(value, units.Quantity) else Q(value)


def pool(kind):
    """Return other units of a kind: those above, or all in which kinds of its dimension are printed."""
    if kind.is_temperature:
        return ["°C", "°F", "K"]
    if kind.name == "difference of temperature":
        return ["Δ°C", "Δ°F", "K"]
    kinds = {param.kind for one in REGISTER.values() for param in one.params.values() if param.kind}
    alike = {k for k in kinds if k.dimensionality == kind.dimensionality and "°" not in k.si}
    return POOL.get(str(kind.dimensionality)) or sorted({text for k in alike | {kind} for text in (k.si, k.us)})


def restated(value, kind, rng):
    """Return the same physical value in another unit."""
    return value.to(units.unit(rng.choice(pool(kind))))


def size_of(one, given, wanted, kind):
    """Return the maximum value of a dimension in a calculation; of pure numbers at least one."""
    named = [(value, one.params[name]) for name, value in given.items()]
    found = [(value, param.kind) for value, param in named if param.kind]
    found += [(value, one.kinds[name]) for name, value in wanted.items()]
    alike = [np.max(np.abs(base(value, k))) for value, k in found if k.dimensionality == kind.dimensionality]
    return max([1.0] * kind.dimensionless + alike)


@pytest.mark.parametrize(("key", "case"), ALL, ids=[f"{key}:{case.id}" for key, case in ALL])
def test_restated_in_any_other_units_the_result_is_the_same(key, case):
    one, given, rng = REGISTER[key], arguments(case), random.Random(f"{key} {case.id}")
    wanted = results(one, one(**given))
    for _ in range(4):
        other = {
            name: restated(quantity(value), one.params[name].kind, rng) if one.params[name].kind else value
            for name, value in given.items()
        }
        for name, value in results(one, one(**other)).items():
            kind = one.kinds[name]
            # 1e-12 of the value, or of what it is a small difference of
            least = 1e-12 * size_of(one, given, wanted, kind)
            assert base(value, kind) == pytest.approx(base(wanted[name], kind), rel=1e-12, abs=least), (name, other)


def test_every_kind_of_the_register_has_units_to_be_restated_in():
    kinds = {param.kind for one in REGISTER.values() for param in one.params.values() if param.kind}
    assert all(pool(kind) for kind in kinds) and set(POOL) <= {str(kind.dimensionality) for kind in kinds}


# --- every argument of every calculation, made wrong in every way

ARGUMENTS = [(key, name) for key, one in REGISTER.items() for name in one.params]
QUANTITIES = [(key, name) for key, name in ARGUMENTS if REGISTER[key].params[name].kind]
CHOICES = [(key, name) for key, name in ARGUMENTS if REGISTER[key].params[name].choices]


def refused(key, name, value):
    """Call with one argument changed, and return the message."""
    one = REGISTER[key]
    with pytest.raises(InputError) as caught:
        one(**{**good(key), name: value})
    message = str(caught.value)
    assert message.startswith(f"{one.name}: {name} "), message
    assert "want" in message  # what would be right
    assert len(message.splitlines()) == 1  # no other argument is blamed
    return message


def strange(param):
    """Return a quantity of another kind."""
    return Q(3, "kg" if str(param.kind.dimensionality) == "[time]" else "s")


def spoil(key, name, change):
    """Return the good value with one number of it changed."""
    value = quantity(good(key)[name])
    magnitude = np.array(value.magnitude, dtype=float)
    if magnitude.ndim:
        magnitude[-1] = change(magnitude[-1])
        return units.registry().Quantity(magnitude, value.units)
    return units.registry().Quantity(change(float(magnitude)), value.units)


def beyond(key, name, high):
    """Return a value just outside the range."""
    param = REGISTER[key].params[name]
    unit = quantity(good(key)[name]).units
    low, most = (float(units.read(text, param.kind).m_as(unit)) for text in (param.range.low, param.range.high))
    step = 1e-3 * max(abs(low), abs(most))
    return spoil(key, name, lambda _: most + step if high else low - step)


@pytest.mark.parametrize("key", REGISTER)
def test_what_every_refusal_begins_with_is_good(key):
    REGISTER[key](**good(key))


@each_argument(QUANTITIES)
def test_a_quantity_of_another_kind_is_refused(key, name):
    message = refused(key, name, strange(REGISTER[key].params[name]))
    assert REGISTER[key].params[name].kind.name in message


@each_argument(QUANTITIES)
def test_a_number_that_is_not_finite_is_refused(key, name):
    for number in (math.nan, math.inf, -math.inf):
        refused(key, name, spoil(key, name, lambda _, n=number: n))


@each_argument(QUANTITIES)
def test_every_argument_has_a_range_and_its_ends_are_refused_from_outside(key, name):
    span = REGISTER[key].params[name].range
    assert span is not None
    assert span.high in refused(key, name, beyond(key, name, high=True))
    assert span.low in refused(key, name, beyond(key, name, high=False))


@each_argument(QUANTITIES)
def test_a_negative_value_is_refused_unless_the_range_says_otherwise(key, name):
    if REGISTER[key].params[name].kind.is_temperature:
        return  # below zero is no more than cold
    if REGISTER[key].params[name].bounds[0] < 0:
        assert units.read(REGISTER[key].params[name].range.low, REGISTER[key].params[name].kind).magnitude < 0
        return
    refused(key, name, spoil(key, name, lambda x: -abs(x) - 1e-3))


@each_argument(QUANTITIES)
def test_what_is_no_quantity_is_refused(key, name):
    bare = () if REGISTER[key].params[name].kind.dimensionless else ("12",)
    for value in ("thick", "12 lemons", True, None, *bare):
        refused(key, name, value)


@each_argument(QUANTITIES)
def test_a_bare_number_is_refused_where_a_unit_is_due(key, name):
    number = np.asarray(quantity(good(key)[name]).magnitude).ravel()[0]
    if REGISTER[key].params[name].kind.dimensionless:
        ratio = quantity(good(key)[name]).m_as("")
        REGISTER[key](**{**good(key), name: ratio})
        return
    assert "without a unit" in refused(key, name, float(number))


@each_argument(QUANTITIES)
def test_nothing_is_not_a_value(key, name):
    refused(key, name, units.registry().Quantity(np.array([]), quantity(good(key)[name]).units))


@each_argument(CHOICES)
def test_an_unknown_choice_is_refused(key, name):
    for value in ("", "extreme", "si", 3, None, ["SI"]):
        message = refused(key, name, value)
        assert all(choice in message for choice in REGISTER[key].params[name].choices)


@pytest.mark.parametrize("key", REGISTER)
def test_a_missing_and_an_unknown_argument_are_named(key):
    one = REGISTER[key]
    needed = next(name for name, param in one.params.items() if param.required)
    with pytest.raises(InputError, match=rf"{re.escape(one.name)}: missing a required argument: '{needed}'"):
        one(**{name: value for name, value in good(key).items() if name != needed})
    with pytest.raises(InputError, match=rf"{re.escape(one.name)}: got an unexpected keyword argument 'zeal'"):
        one(**good(key), zeal=3)


@pytest.mark.parametrize("key", [key for key, one in REGISTER.items() if len(one.params) > 1])
def test_all_wrong_arguments_are_named_at_once(key):
    one = REGISTER[key]
    with pytest.raises(InputError) as caught:
        one(**{name: strange(param) if param.kind else "?" for name, param in one.params.items()})
    lines = str(caught.value).splitlines()
    assert [line.split(" is ")[0] for line in lines] == [f"{one.name}: {name}" for name in one.params]


@each_argument(QUANTITIES)
def test_both_ends_of_every_range_may_be_written_in_either_system(key, name):
    param = REGISTER[key].params[name]
    low, high = (units.read(text, param.kind) for text in (param.range.low, param.range.high))
    for bound in (low, high):
        for system in units.SYSTEMS:
            if not (param.range.above and bound is low):
                param.plain(bound.to(param.kind.unit(system)), "range")


# --- arrays

LISTS = [key for key, one in REGISTER.items() if one.takes_lists]
#: A table, or a check against another value, that is read for one value at a time.
ONE_BY_ONE = {
    "chloride.depth_at_content", "chloride.migration_coefficient", "curing.least_placing_temperature (SI)", "curing.least_placing_temperature (US)", "formwork.class_values",
    "formwork.form_load (SI)", "formwork.form_load (US)", "formwork.lumber_values", "formwork.panel_values", "formwork.plywood_values", "mix.mass_method (SI)", "mix.mass_method (US)", "steel.deck_moment",
    "steel.depth_to_bars", "steel.depth_under_removal", "steel.flexure_layers (SI)", "steel.flexure_layers (US)",
}  # fmt: skip
SINGLES = [
    key
    for key, one in REGISTER.items()
    if key not in [*LISTS, *ONE_BY_ONE] and any(p.kind for p in one.params.values())
]
FORMULAS = [key for key in SINGLES if not any(line.helper for line in REGISTER[key].lines)]
COUNT = 3 * calculation.BLOCK + 7  # more than the two blocks from which on a call is cut in blocks
FEW_AND_MANY = [(key, 5) for key in SINGLES] + [(key, COUNT) for key in FORMULAS]


@pytest.mark.parametrize("key", sorted(ONE_BY_ONE))
def test_what_is_read_for_one_value_at_a_time_never_gives_a_wrong_array(key):
    one, rng = REGISTER[key], np.random.default_rng(11)
    many = {name: spread(key, name, 5, rng) for name, param in one.params.items() if param.kind}
    try:
        found = results(one, one(**{**good(key), **many}))
    except InputError as error:
        found, said = {}, str(error)
    else:
        said = f"{one.name}: "
    assert said.startswith(f"{one.name}: ")
    assert all(np.all(np.isfinite(value.magnitude)) for value in found.values())


def filled(value, count):
    """Return one value as an array of it."""
    value = quantity(value)
    return units.registry().Quantity(np.full(count, float(value.magnitude)), value.units)


def spread(key, name, count, rng):
    """Return many good values: a few per cent about a good one, held inside the range."""
    param = REGISTER[key].params[name]
    value = base(good(key)[name], param.kind)
    low, high = (base(units.read(text, param.kind), param.kind) for text in (param.range.low, param.range.high))
    numbers = np.clip(value * rng.uniform(0.97, 1.03, count), low, high)
    if param.kind.name == "count":
        numbers = np.clip(np.round(value) + rng.integers(0, 9, count), low, high)
    return units.registry().Quantity(numbers, param.kind.base).to(param.kind.unit("US"))


@pytest.mark.parametrize("key", SINGLES)
def test_a_long_array_is_what_the_single_calls_give(key):
    one, rng = REGISTER[key], np.random.default_rng(7)
    many = {name: spread(key, name, COUNT, rng) for name, param in one.params.items() if param.kind}
    chosen = {name: value for name, value in good(key).items() if name not in many}
    found = results(one, one(**many, **chosen))
    edges = [k * calculation.BLOCK + i for k in range(4) for i in (-1, 0, 1)]
    for index in {*rng.integers(0, COUNT, 60).tolist(), *(i for i in edges if 0 <= i < COUNT), COUNT - 1}:
        single = results(one, one(**{name: value[index] for name, value in many.items()}, **chosen))
        for name, value in found.items():
            every = np.broadcast_to(value.magnitude, COUNT)  # what depends on no array is one number
            assert every[index] == pytest.approx(single[name].magnitude, rel=1e-13, abs=1e-300), (name, index)
            assert value.units == single[name].units


@pytest.mark.parametrize(("key", "count"), FEW_AND_MANY)
def test_a_single_value_goes_with_an_array(key, count):
    one, rng = REGISTER[key], np.random.default_rng(8)
    for name in (name for name, param in one.params.items() if param.kind):
        mixed = {**good(key), name: spread(key, name, count, rng)}
        full = {
            other: filled(value, count) if one.params[other].kind and other != name else value
            for other, value in mixed.items()
        }
        for result, wanted in zip(results(one, one(**mixed)).items(), results(one, one(**full)).items(), strict=True):
            both = (np.broadcast_to(one_of.magnitude, count) for one_of in (result[1], wanted[1]))
            np.testing.assert_allclose(*both, rtol=1e-12, atol=1e-12, err_msg=f"{name}, {result[0]}")


def test_rows_and_columns_make_a_grid():
    from deckcalc.patch import patch_limits

    lengths, widths = Q(np.linspace(0.5, 2.0, 300)[:, None], "m"), Q(np.linspace(0.4, 1.0, 200)[None, :], "m")
    rest = {"A_u": Q(0.1, "m²"), "e_L": Q(0, "m"), "e_B": Q(0, "m"), "A_n": Q(0, "m²"), "P_n": Q(0, "m")}
    found = patch_limits(lengths, widths, m=Q(60, "mm"), **rest)
    assert found.A.shape == (300, 200)  # more than two blocks
    assert found.A[17, 5] == patch_limits(lengths[17, 0], widths[0, 5], m=Q(60, "mm"), **rest).A


@pytest.mark.parametrize("key", LISTS)
def test_a_table_of_readings_is_what_its_rows_give(key):
    one, rng = REGISTER[key], np.random.default_rng(9)
    count, many = 40, {}
    for name, param in one.params.items():
        value = quantity(good(key)[name])
        factor = rng.uniform(0.98, 1.02, (count, *np.shape(value.magnitude)))
        many[name] = (
            value * np.minimum(factor, 1.0) if not param.several or param.range.high == "100 %" else value * factor
        )
    try:
        found = results(one, one(**many))
    except InputError as error:  # such as a list of depths beside one slab: the message says so
        pytest.fail(str(error))
    for index in range(count):
        single = results(one, one(**{name: value[index] for name, value in many.items()}))
        for name, value in found.items():
            assert value[index].magnitude == pytest.approx(single[name].magnitude, rel=1e-13)


@pytest.mark.parametrize(("key", "count"), FEW_AND_MANY)
def test_one_bad_element_of_an_array_is_refused(key, count):
    one, rng = REGISTER[key], np.random.default_rng(10)
    name = next(iter(one.params))
    for bad in (math.nan, math.inf, -1e9, 1e12):
        many = spread(key, name, count, rng)
        many.magnitude[count - 2] = bad
        with pytest.raises(InputError, match=rf"^{re.escape(one.name)}: {name} "):
            one(**{**good(key), name: many})


def test_arrays_of_unlike_length_are_refused_in_words():
    from deckcalc.chloride import mid_depth

    with pytest.raises(InputError, match="mid_depth: .*(shape|length)"):
        mid_depth(Q([0.0, 5.0, 10.0], "mm"), Q([5.0, 10.0], "mm"))


# --- what is said of every calculation

KEYS = list(REGISTER)


@pytest.mark.parametrize("key", KEYS)
def test_the_documentation_has_its_parts_and_names_every_argument(key):
    one = REGISTER[key]
    doc = inspect.cleandoc(one.__doc__)
    for part in ("Parameters", "Returns", "Raises", "Notes", "Examples"):
        assert f"\n{part}\n{'-' * len(part)}\n" in doc, part
    assert ".. math::" in doc and ">>> " in doc
    written = documented(one.__doc__, "Parameters")
    named = [*one.params, "form"] if one.form_name else [*one.params]
    assert sorted(written) == sorted(named) and list(one.params) == list(one.signature.parameters)
    assert all(written.values())
    assert "InputError" in doc.partition("\nRaises\n")[2].partition("\nNotes\n")[0]
    for name in one.kinds if one.record else ():
        assert f"`{name}`" in doc.partition("\nReturns\n")[2].partition("\nRaises\n")[0], name


@pytest.mark.parametrize("key", KEYS)
def test_every_calculation_has_an_outside_case_or_says_why_not(key):
    assert any(case.calculation == key for case in CASES) != bool(REGISTER[key].unchecked)


@pytest.mark.parametrize("key", KEYS)
def test_every_line_is_explained_and_every_source_is_in_the_bibliography(key):
    one = REGISTER[key]
    assert one.title and one.source
    for line in one.lines:
        assert len(line.comment) > 2
        helper = line.helper
        for cite in helper.source if helper else ():
            assert not cite.key or cite.key in sources.bibliography()
    for cite in one.source:
        assert not cite.key or cite.key in sources.bibliography()
        assert cite.key or cite.where
        assert cite.provenance in sources.PROVENANCES


def test_sources_of_cases_and_tables_are_in_the_bibliography():
    known = sources.bibliography()
    cited = {case.source for case in CASES}
    for name in tables.names():
        table = tables.load(name)
        cited |= {table.facts["source"], *(row["source"] for row in table.rows if "source" in row)}
    assert len(cited) > 20
    assert cited - {""} <= set(known)


def test_an_unknown_source_cannot_be_printed():
    with pytest.raises(LookupError, match="the bibliography has no “nowhere-1999”"):
        str(sources.Cite("nowhere-1999"))


def test_a_look_up_answers_in_quantities_and_refuses_like_a_calculation():
    looked = {line.helper.name: line.helper for one in REGISTER.values() for line in one.lines if line.helper}
    assert all(isinstance(helper, Lookup) for helper in looked.values())
    least = looked["least_reading"]
    assert least(Q([15.0, 14.0], "mm")).m_as("mm") == pytest.approx(14)
    with pytest.raises(InputError, match="least_reading: d is 3 kg"):
        least(Q(3, "kg"))


@pytest.mark.parametrize("key", KEYS)
def test_sentences_of_look_ups_name_only_what_they_are_given(key):
    for line in REGISTER[key].lines:
        if line.helper:
            assert line.helper.sentence(dict.fromkeys(line.helper.params, "x"))
            assert len(line.arguments) == len(line.helper.params)


@pytest.mark.parametrize("says", ["{a} and {b}", "{c} of {a}", "{a}"])
def test_a_sentence_that_names_what_it_is_not_given_is_refused(tmp_path, monkeypatch, says):
    text = f'''
@lookup("{says}", b="3 mm"{", a=1" if says == "{a}" else ""})
def thrice(a: Side) -> Length:
    """Thrice."""
    return 3 * a
'''
    if says == "{a} and {b}":
        assert declare(tmp_path, monkeypatch, text).thrice.sentence({"a": "x"}) == "x and 3 mm"
        return
    with pytest.raises(TypeError, match="thrice: the sentence names"):
        declare(tmp_path, monkeypatch, text)


def test_the_body_that_is_printed_is_the_body_that_ran():
    for one in REGISTER.values():
        source = textwrap.dedent(inspect.getsource(one.function))
        for line in one.lines:
            assert any(text.strip().startswith(f"{line.name} = ") for text in source.splitlines()), line.name


# --- the few functions that a body may call


@pytest.mark.parametrize(("x", "up"), [(2.0, 2), (2.0000000001, 2), (2.1, 3), (1.9999999999, 2), (0.0, 0), (-0.5, 0)])
def test_rounding_up_forgives_noise_only(x, up):
    assert calculation.round_up(x) == up


def test_larger_and_smaller_go_element_by_element():
    a, b = np.array([1.0, 5.0]), np.array([2.0, 3.0])
    assert list(calculation.larger(a, b)) == [2.0, 5.0]
    assert list(calculation.smaller(a, b)) == [1.0, 3.0]
    assert calculation.sqrt(9.0) == 3.0
