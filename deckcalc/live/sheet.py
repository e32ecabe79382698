"""A hand calculation as HTML: every line with its sentence, formulas as MathML that browsers set by themselves."""

from __future__ import annotations

import re
from functools import cache
from html import escape

from deckcalc.show.hand import HandCalculation
from deckcalc.show.mathml import mathml
from deckcalc.show.typeset import symbol

#: Mathematics in a sentence, and signs that Markdown would have taken for its own.
MARKED = re.compile(r"(?<!\\)\$([^$]+)\$|\\([!-/:-@\[-`{-~])|&#124;")


def lines(sheet: HandCalculation) -> list[str]:
    """Return the lines of a hand calculation, each with its sentence."""
    head = [f"<p>{inline(sheet.plain_units())}</p>"] if sheet.calculation.empirical else []
    made = []
    for line in sheet.lines:
        said = line.comment[0].upper() + line.comment[1:] + (f", {line.sentence}" if line.sentence else "")
        made.append(f"<p>{inline(said)}:</p>{mathml(line.tex)}")
    return head + made


def inline(text: str) -> str:
    r"""Return a sentence that may hold mathematics as HTML, everything else safe in it.

    Examples
    --------
    >>> inline(r"5 < 6, by \[key\]")
    '5 &lt; 6, by [key]'
    """
    found, at = [], 0
    for match in MARKED.finditer(text):
        found.append(escape(text[at : match.start()]))
        found.append(within(match[1]) if match[1] else escape(match[2] or "|"))
        at = match.end()
    return "".join(found) + escape(text[at:])


def within(tex: str) -> str:
    """Return a formula that stands in a row of text."""
    return mathml(tex).replace('display="block"', 'display="inline"')


@cache
def symbol_html(name: str) -> str:
    """Return a symbol as it stands beside its label."""
    return within(symbol(name))
