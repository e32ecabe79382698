"""Formulas as MathML: every line of every calculation is set, in both unit systems, and nothing of TeX is left in it."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from deckcalc.published import example, register
from deckcalc.show.mathml import mathml

TEX = re.compile(r"\$\$(.+?)\$\$|(?<!\$)\$([^$]+)\$(?!\$)", re.DOTALL)


@pytest.mark.parametrize("system", ["SI", "US"])
@pytest.mark.parametrize("key", register())
def test_every_line_is_set(key: str, system: str) -> None:
    calculation = register()[key]
    given, _ = example(calculation, system)
    printed = calculation.by_hand(**given, system=system)._repr_markdown_()
    formulas = [display or inline for display, inline in TEX.findall(printed)]
    assert formulas
    for tex in formulas:
        words = "".join(ElementTree.fromstring(mathml(tex)).itertext())
        assert "\\" not in words, tex
        for number in re.findall(r"\d+(?:\.\d+)?", tex):
            assert number in words


def test_a_name_of_several_letters_is_one_identifier() -> None:
    assert "<mtext>lost</mtext>" in mathml(r"A_{\mathrm{lost}} = 2")


def test_a_long_formula_has_a_row_for_each_of_its_lines() -> None:
    long = r"\begin{aligned} K &= A \cdot k_{A} \\ &= 1.4\ \text{m²} \cdot 2 \\ &= 2.8\ \text{m²} \end{aligned}"
    assert mathml(long).count("<mtr>") == 3
