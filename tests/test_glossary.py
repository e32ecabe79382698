"""Check the words of the trade: the glossary itself, every label of the library against it, and how a US text is worded."""

import ast
import csv
import re
from pathlib import Path

import nbformat
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

import deckcalc
from deckcalc.core import tables
from deckcalc.core.calculation import REGISTER
from deckcalc.core.sources import folder
from deckcalc.core.words import american, glossary, how_many, plural, worded
from deckcalc.job.declared import sections
from deckcalc.job.settings import ROWS, JobSettings

HOUSE = Path(deckcalc.__file__).parent
#: Where an odd wording is none: quoted keys and code, and terms that hold one of the words.
SOUND = re.compile(r"“[^” ]*”|`[^`]*`|\{[^{}]*\}|\bat least\b|\bleast[ -]squares?\b", re.I)
ODD = {
    odd: re.compile(rf"(?<![\w/-]){re.escape(odd)}(?![\w-])", re.I) for term in glossary() for odd in term.instead_of
}
#: A number or a name as programs write it.
PROGRAM = re.compile(r"\d[eE][-+]?\d|\w_\w|[a-z][A-Z]|\(s\)")


def odd(text: str) -> list[str]:
    """Return the odd wordings in a text."""
    plain = SOUND.sub("", text)
    return [word for word, found in ODD.items() if found.search(plain)]


def texts(tree: ast.AST) -> list[tuple[int, str]]:
    """Return the texts of a module with their lines: no docstrings, no single words, which are keys."""
    docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    joined = [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]
    parts = {id(part) for node in joined for part in node.values}
    whole = [
        (node.lineno, "".join(str(part.value) if isinstance(part, ast.Constant) else "‹›" for part in node.values))
        for node in joined
    ]
    plain = [
        (node.lineno, node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs | parts
    ]
    return [(line, text) for line, text in whole + plain if " " in text.strip()]


def fields(model: type[BaseModel]) -> list[tuple[str, str]]:
    """Return what a section or a row says of its fields, and those of the sections in it."""
    found = [(f"{model.__name__}.{name}", info.description or "") for name, info in model.model_fields.items()]
    return found + [one for info in model.model_fields.values() for inner in sections(info) for one in fields(inner)]


def labels() -> list[tuple[str, str]]:
    """Return what the declared register, the fields and tables of a job, and the tables in print say, with its place."""
    found = [one for model in (JobSettings, *ROWS.values()) for one in fields(model)]
    for key, one in REGISTER.items():
        found += [(key, text) for text in (one.title, *one.notes, *(param.meaning for param in one.params.values()))]
        found += [(key, line.comment) for line in one.lines]
    for path in sorted((HOUSE / "core" / "tables").glob("*.csv")):
        table = tables.load(path.stem)
        found += [(path.name, text) for text in table.facts.values()]
        found += [(path.name, text) for row in table.rows for text in (*row, row.get("meaning", ""))]
    return found


def test_the_glossary_is_well_formed():
    terms = [one.term for one in glossary()]
    assert terms == sorted(terms) and len(set(terms)) == len(terms)
    replaced = [word for one in glossary() for word in one.instead_of]
    assert len(set(replaced)) == len(replaced) and not set(replaced) & set(terms)
    for one in glossary():
        assert one.us != one.term or one.meaning or one.instead_of, f"{one.term} says nothing"
        assert not odd(one.term) and not odd(one.us) and not odd(one.meaning), one.term
        for text in (one.term, one.us, one.meaning, *one.instead_of):
            assert text == text.strip() and not text.endswith("."), text
    lines = (HOUSE / "core" / "glossary.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert all(row["US"] != row["term"] for row in rows)  # a US form that is given differs


def test_no_us_form_is_replaced_again():
    for us in american().values():
        assert worded(us, "US") == us


@pytest.mark.parametrize("path", sorted(HOUSE.rglob("*.py")), ids=lambda path: path.relative_to(HOUSE).as_posix())
def test_no_text_of_a_module_holds_an_odd_wording(path):
    found = [(line, text, odd(text)) for line, text in texts(ast.parse(path.read_text(encoding="utf-8")))]
    assert not [one for one in found if one[2]]


def test_no_label_holds_an_odd_wording():
    assert not [(place, text, words) for place, text in labels() if (words := odd(text))]


def test_the_look_finds_what_is_odd():
    assert odd("the Greatest spacing of old bars") == ["old bars", "greatest"]
    assert not odd("at least two, by least squares, of the column “least”; three cubic yards")
    tree = ast.parse('"""Old concrete."""\nx = f"{1} of the old concrete"\ny = "least"\n')
    assert [(line, odd(text)) for line, text in texts(tree)] == [(2, ["old concrete"])]


def test_titles_hold_no_word_of_a_program():
    assert not [one.title for one in REGISTER.values() if PROGRAM.search(one.title)]
    assert PROGRAM.search("4e-14") and PROGRAM.search("S_u") and PROGRAM.search("MemberMoment")


@pytest.mark.parametrize(
    ("text", "us"),
    [
        ("Kerbs, KERB and kerb", "Curbs, CURB and curb"),
        ("second moment of area [m⁴]", "moment of inertia [m⁴]"),
        ("relative density 2.65, density of water", "specific gravity 2.65, unit weight of water"),
        ("corrosion current density, molar mass, mass concrete", "corrosion current density, molar mass, mass concrete"),
        ("by mass; masses of the batch", "by weight; weights of the batch"),
        ("| P1 | not satisfied |\n| P2 | satisfied, at the limit |", "| P1 | NG |\n| P2 | OK, at the limit |"),
        ("Utilisation in bending", "D/C in bending"),
        ("a breaker; the hauliers; 2 litres of petrol", "a jackhammer; the haulers; 2 liters of gasoline"),
        ("parametre, kerbside, pre-metre", "parametre, kerbside, pre-metre"),
        ("`kerb` and $m_{kerb} \\text{ kerb}$, kerb", "`kerb` and $m_{kerb} \\text{ kerb}$, curb"),
        ("$$\nkerb\n$$\nkerb", "$$\nkerb\n$$\ncurb"),
        ("```\nkerb\n```\nkerb", "```\nkerb\n```\ncurb"),
        ("costs $5 at the kerb and $6 beyond", "costs $5 at the curb and $6 beyond"),
        ("[kerb](#kerb) ![kerb](kerb.png){#kerb}", "[curb](#kerb) ![curb](kerb.png){#kerb}"),
        ('<td class="mass">mass</td> https://www.w3.org/kerb programme.csv', '<td class="mass">weight</td> https://www.w3.org/kerb programme.csv'),
    ],
)  # fmt: skip
def test_a_us_text_reads_american(text, us):
    assert worded(text, "US") == us
    assert worded(us, "US") == us
    assert worded(text, "SI") == text


def test_what_the_user_wrote_stays():
    keep = ["Kerb Lane Bridge", "Metre & Sons", "", "B1", "kerb unit"]
    text = "Kerb Lane Bridge, by Metre & Sons (kerb unit B1): kerb, a Kerb Lane, one metre"
    assert worded(text, "US", keep) == "Kerb Lane Bridge, by Metre & Sons (kerb unit B1): curb, a Curb Lane, one meter"


@given(st.lists(st.sampled_from([*american(), *american().values(), "`", "$", " ", "\n", "Kerb", "(x)", "B1", "{#a}"])))
def test_a_text_worded_twice_is_as_worded_once(parts):
    once = worded(" ".join(parts), "US", ["B1 kerb"])
    assert worded(once, "US", ["B1 kerb"]) == once


def test_a_long_text_is_read_once():
    """Marks that open and do not close are not looked for again from each of them."""
    for part in ("`", "$", "$a ", "```\n", "{#", "](", "a", "kerb "):
        assert len(worded(part * (200_000 // len(part)), "US")) > 1000


def test_numbers_have_their_word():
    assert [how_many(count, "batch") for count in (0, 1, 2)] == ["0 batches", "1 batch", "2 batches"]
    assert {plural(one.term) for one in glossary()} >= {"kerbs", "masses", "densities"}


def test_no_text_of_a_notebook_holds_an_odd_wording():
    found = {}
    for path in sorted(folder("notebooks").glob("*.ipynb")):
        cells = nbformat.read(path, nbformat.NO_CONVERT).cells
        words = odd("\n".join(cell.source for cell in cells if cell.cell_type == "markdown"))
        if words:
            found[path.name] = words
    assert not found
