"""The table of published values: nothing of it is lost where it is folded, and nothing that differs is folded."""

from __future__ import annotations

import re

from deckcalc import published
from deckcalc.show import sections

ROWS = [row for case in published.cases() for row in published.compare(case)]


def test_what_agrees_is_folded_and_what_differs_is_not():
    page = sections.published(ROWS)._repr_html_()
    folded = "".join(re.findall(r"<details>.*?</details>", page, re.DOTALL))
    assert page.count('<th scope="row">') == len(ROWS)
    differ = sum(not (row.agrees and row.reproduces) for row in ROWS)
    assert 0 < differ == len(ROWS) - folded.count('<th scope="row">')
    assert "differs" not in folded and "@media print" in page


def test_markdown_holds_every_row():
    text = sections.published(ROWS)._repr_markdown_()
    assert len([line for line in text.splitlines() if line.startswith("| ")]) == len(ROWS) + text.count(
        "| case and source"
    )
