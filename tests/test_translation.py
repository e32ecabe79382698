"""Calculations as JavaScript come to what the library comes to: numbers, refusals, readings, published examples."""

from __future__ import annotations

import ast
import math
import random
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest
from in_browser import engine
from translated import HAND, LEFT, Sample, code, translated

from deckcalc import published
from deckcalc.core import javascript, spelling, units
from deckcalc.core.boundary import lookup
from deckcalc.core.calculation import larger, round_up
from deckcalc.core.digits import fixed
from deckcalc.core.javascript import Rules, TranslationError
from deckcalc.core.tables import TableError
from deckcalc.core.units import InputError, Ratio, kind_of

Call = Callable[[str, Any], Any]
#: Inputs of each calculation.
NUMBERS = 1000
NUMBER = """({key, rows}) => rows.map((row) => {
  try { const v = hand.run(C[key], row); return C[key].lines.map((line) => v[line.name]); }
  catch (error) { if (!(error instanceof $.Refused)) throw error; return error.message; }
})"""


@pytest.fixture(scope="module")
def call() -> Iterator[Call]:
    with engine(code()) as found:
        yield found


def test_all_but_least_squares_are_translated() -> None:
    left = javascript.untranslated(published.register().values())
    assert set(left) == LEFT
    assert all("fitted" in why for why in left.values())


def ours(key: str, row: dict[str, Any]) -> list[float] | str:
    """Work out plain inputs as the library does; a text where it refuses them."""
    one = translated()[key]
    given = {name: np.array(value) if isinstance(value, list) else value for name, value in row.items()}
    try:
        with np.errstate(divide="raise", invalid="raise", over="ignore", under="ignore"):
            answer = one.function(**given, **one.constants)
    except (TableError, InputError) as error:
        return str(error)
    except (ArithmeticError, ValueError):
        return "do not go together"
    found = list(answer) if one.record else [answer]
    if any(isinstance(number, complex) or not math.isfinite(number) for number in found):
        return "do not go together"
    return [float(number) for number in found]


def test_numbers_are_those_of_the_library(call: Call) -> None:
    worst, compared = 0.0, 0
    for key, one in translated().items():
        rows = list(Sample(one).numbers(NUMBERS))
        scales = [factor for _, factor, _ in one.outlets]
        for row, theirs in zip(rows, call(NUMBER, {"key": key, "rows": rows}), strict=True):
            mine = ours(key, row)
            if isinstance(mine, str):
                assert mine in theirs, (key, row, mine, theirs)
                continue
            assert not isinstance(theirs, str), (key, row, mine, theirs)
            compared += 1
            for a, b, scale in zip(mine, theirs, scales, strict=True):
                off = abs(a - b) / max(abs(a), abs(b)) if a != b else 0.0
                if abs(a - b) * scale > 1e-12:  # what is less, in print, is noise to the library too
                    worst = max(worst, off)
                    assert off <= 1e-12, (key, row, mine, theirs)
    assert compared > 200 * len(translated())
    assert worst > 0  # something was compared


def test_published_examples_hold(call: Call) -> None:
    count = 0
    everything = published.cases()
    for key, one in translated().items():
        cases = [case for case in everything if case.calculation == key]
        rows = [
            ({n: "; ".join(map(str, v)) if isinstance(v, list) else str(v) for n, v in case.given.items()}, "SI")
            for case in cases
        ]
        for case, theirs in zip(cases, call(HAND, {"key": key, "rows": rows}), strict=True):
            assert "plain" in theirs, (case.id, theirs)
            for name, text in case.expected.items():
                kind = one.kinds[name]
                wanted = units.read(text, kind)
                plain_unit = units.unit(one.unit_of[name]) if one.empirical else kind.base
                off = abs(
                    float(units.quantity(theirs["plain"][name], plain_unit).m_as(wanted.units)) - wanted.magnitude
                )
                within = published.precision(text)
                if name in case.within:
                    within = float(units.read(case.within[name], kind).m_as(wanted.units))
                assert off <= within * (1 + 1e-9), (case.id, name, text, off)
                count += 1
    assert count > 1000


BAD = [
    "",
    "soon",
    "5",
    "5 MPa",
    "1e9 mm",
    "22,000 mm",
    "2'-14\"",
    "-1 mm",
    "2 1/0 in",
    "#99",
    "5 mm mm",
    "1e400 m",
    "३ mm",
    "5 mil",
]


@pytest.mark.parametrize("text", BAD)
def test_bad_entries_are_refused_with_the_field(call: Call, text: str) -> None:
    one = published.register()["steel.strip_area"]
    texts = {"A_b": "#5", "s": text, "b": "1 m"} | {"A_b": "199 mm2"}
    with pytest.raises(InputError, match=r"\bs\b"):
        one(**texts)
    [theirs] = call(HAND, {"key": one.key, "rows": [(texts, "US")]})
    assert set(theirs["faults"]) == {"s"}
    assert "wanted" in theirs["faults"]["s"] or "write" in theirs["faults"]["s"] or "bar" in theirs["faults"]["s"]


READ = [
    "65 mm", "2 1/2 in", "2½ in", "2'-6½\"", "2 ft 6 in", "1,250.5 mm", "0,5 m", "1 250 mm", "12,5 mm", "12+34.5 ft", "sta 12+60",
    "−3 mm", "1e-2 m", ".5 in", "5 IN", "3 yd.", "#5", "No. 5", "Ø16", "M16", "15M", "square 3/4 in", "3/4\" round", "250 thou", "5 MM",
    "22,000 mm", "2'-6", "5", "mm", "5 kg", "5 mil", "5 in 3", "12 inches", "3 feet", "1.234.567 mm",
]  # fmt: skip
OTHERS = {
    "Stress": ["4 ksi", "4000 psi", "28 MPa", "28 N/mm²", "4 KSI", "28 mpa", "500 lb/in2", "600 lbf per sq in", "5 mm"],
    "Content": ["0.025 lb/yd^3", "305 lb/yd³", "564 lb per cu yd", "350 kg/m3", "350 KG/M^3", "5 %"],
    "Temperature": ["15 °C", "60 °F", "60 degF", "300 K", "5 Δ°C", "15 C", "5 delta_degC"],
    "TemperatureDifference": ["5 Δ°C", "9 Δ°F", "5 °C", "5 K"],
    "Share": ["5.5 %", "0.055", "5,5 %", "55 mm"],
    "Moment": ["5 kN.m", "5 kN·m", "3 kip·ft", "40 lbf ft", "5 N/m"],
    "Dose": ["300 mL/100 kg", "5 fl oz/cwt", "5 mL"],
    "Count": ["5", "1,000", "5 mm"],
    "Conductivity": ["1.5 W/m/K", "1.5 W/(m*K)", "0.9 BTU/h/ft/Δ°F", "1.5 W/m/°C"],
}  # fmt: skip


@pytest.mark.parametrize("kind", ["Length", "Distance", "Diameter", *OTHERS])
def test_quantities_are_read_as_the_library_reads_them(call: Call, kind: str) -> None:
    own = kind_of(getattr(units, kind))
    texts = OTHERS.get(kind, READ)
    data = {"kind": javascript.reading.kind(own), "texts": texts}
    theirs = call(
        "({kind, texts}) => texts.map((text) => { try { const [one] = reading.read(text, kind, false, '');"
        " return one.number * one.scale + one.zero; } catch (error) { return error.message; } })", data,
    )  # fmt: skip
    for text, found in zip(texts, theirs, strict=True):
        try:
            mine = float(units.read(text, own).m_as(own.base))
        except InputError:
            assert isinstance(found, str), (text, found)
            continue
        assert found == pytest.approx(mine, rel=1e-14, abs=1e-15), (text, found)


def test_every_unit_in_print_is_read(call: Call) -> None:
    """The units of all kinds and of all published examples."""
    for kind in javascript.reading.all_kinds().values():
        texts = [
            f"3 {unit}".strip() for unit in {kind.si, kind.us, kind.si_small[0] or kind.si, kind.us_small[0] or kind.us}
        ]
        found = call("({kind, texts}) => texts.map((text) => reading.read(text, kind, false, '')[0].scale)",
                     {"kind": javascript.reading.kind(kind), "texts": texts})  # fmt: skip
        assert found == pytest.approx([kind.scale(units.read(text, kind).units)[0] for text in texts], rel=1e-14)


def test_decimals_are_rounded_alike(call: Call) -> None:
    chance = random.Random(1)
    numbers = [chance.choice([1, -1]) * chance.uniform(0, 10) * 10.0 ** chance.randint(-9, 12) for _ in range(3000)]
    numbers += [chance.randint(-(10**6), 10**6) / 1000 + 0.0005 for _ in range(2000)] + [
        0.0,
        -0.0001,
        82.55,
        0.125,
        2.5,
        1e22,
    ]
    rows = [(number, chance.randint(0, 8)) for number in numbers]
    assert call("(rows) => rows.map(([x, n]) => digits.fixed(x, n))", rows) == [fixed(*row) for row in rows]


def test_error_functions_keep_their_digits(call: Call) -> None:
    """Held against the C library, which Python's math module uses."""
    xs = [x / 50 for x in range(-300, 301)]
    found = call("(xs) => xs.map((x) => [$.erf(x), $.erfc(x), $.Phi(x)])", xs)
    for x, (erf, erfc, normal) in zip(xs, found, strict=True):
        assert erf == pytest.approx(math.erf(x), rel=1e-12, abs=1e-16)
        assert erfc == pytest.approx(math.erfc(x), rel=1e-12)
        assert normal == pytest.approx(math.erfc(-x / math.sqrt(2)) / 2, rel=1e-12)


@lookup("the square of the cosine of {x}")
def outside(x: Ratio) -> Ratio:
    """Return what the small language has no word for."""
    return np.cos(x) ** 2


@lookup("what stands {nowhere}", nowhere="nowhere")
def with_a_loop(x: Ratio) -> Ratio:
    """Return after a loop that has no translation."""
    while x > 1:
        x = x / 2
    return x


@pytest.mark.parametrize(("rule", "why"), [(outside, "cos"), (with_a_loop, "while")])
def test_what_has_no_translation_is_named_with_its_reason(rule: Any, why: str) -> None:
    with pytest.raises(TranslationError, match=why):
        Rules().name(rule)


def test_patterns_of_the_reader_are_those_of_the_library(call: Call) -> None:
    texts = [*READ, "12+345.6 m", "-12+34 ft", "1,234,567", "0.5e3 mm", "3-1/2 in", "5'", '7"', "1.5.2 mm", "+4 mm"]
    found = call(
        "(texts) => texts.map((text) => reading.readings(text, true).map((one) => [one.number, one.unit]))", texts
    )
    for text, theirs in zip(texts, found, strict=True):
        assert theirs == [[float(one.number), one.unit] for one in spelling.readings(text, True)], text


def test_a_body_keeps_its_order_of_operations(call: Call) -> None:
    text = "-a + 3 * (a - b) / (2 - b) ** a ** 0.5 - (a - (b - 1)) / b / 2 - larger(a, 2 * b) * round_up(a / b)"
    made = javascript.expression(ast.parse(text, mode="eval").body)
    given = {"a": 2.3, "b": 0.7}
    mine = eval(text, {**given, "larger": larger, "round_up": round_up})
    assert call(f"(v) => {made}", given) == pytest.approx(float(mine), rel=1e-15)
