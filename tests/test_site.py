"""The site of live calculations, as a reader meets it: opened from a folder, without a network, in a real browser."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from browser import axe
from in_browser import browser
from translated import LEFT

from deckcalc.base.errors import PackageError
from deckcalc.cli import main
from deckcalc.core import sources, units
from deckcalc.live import site as sites
from deckcalc.live.exercises import FACTORS, ROUNDED
from deckcalc.live.questions import EXERCISES
from deckcalc.published import register

#: Pages that the tests name, and every so many of the others.
NAMED = {
    "steel.section_loss",
    "mix.proportions",
    "steel.development_aci (US)",
    "chloride.content_linear_surface",
    "mix.mixing_water (US)",
}
EVERY = 6
LESSONS = [path.stem.replace("learn_", "lesson-") for path in sorted(sources.folder("notebooks").glob("learn_*.ipynb"))]


@cache
def some() -> dict[str, Any]:
    """Return the calculations that the site of these tests shows; the others are translated alike elsewhere."""
    ours = {key: one for key, one in register().items() if one.function.__module__.startswith("deckcalc.")}
    return {key: one for at, (key, one) in enumerate(ours.items()) if at % EVERY == 0 or key in NAMED | LEFT}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shown = some()
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(sites, "published", SimpleNamespace(register=lambda: shown))
        out, count, left = sites.site(tmp_path_factory.mktemp("stick") / "site")
    assert count == len(shown) - len(LEFT)
    assert set(left) == LEFT
    return out


@pytest.fixture(scope="module")
def window() -> Iterator[Any]:
    with browser() as opened:
        yield opened


@pytest.fixture
def page(window: Any, folder: Path) -> Iterator[Any]:
    """A page of the section loss, at the size of a desk, that may meet no fault and ask for nothing elsewhere."""
    context = window.new_context(viewport={"width": 1400, "height": 800}, offline=True)
    page, faults = context.new_page(), []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.on("request", lambda asked: faults.append(asked.url) if not asked.url.startswith(folder.as_uri()) else None)
    page.goto((folder / "steel.section_loss.html").as_uri())
    yield page
    context.close()
    assert not faults


class Marks(HTMLParser):
    """Elements of a page with their attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def test_every_page_names_its_fields_and_loads_nothing_from_elsewhere(folder: Path) -> None:
    pages = sorted(folder.glob("*.html"))
    assert len(pages) == len(some()) - len(LEFT) + 1 + len(LESSONS)
    for path in pages:
        text = path.read_text(encoding="utf-8")
        marks = Marks(text).found
        ids = [given["id"] for _, given in marks if "id" in given]
        assert len(ids) == len(set(ids)), path.name
        labelled = {given.get("for") for tag, given in marks if tag == "label"}
        for tag, given in marks:
            assert not any(name.startswith("on") for name in given), path.name
            if tag in ("input", "select") and given.get("type") != "radio":
                assert given["id"] in labelled, (path.name, given)
                assert set((given.get("aria-describedby") or "").split()) <= set(ids)
            for name in ("src", "href"):
                if given.get(name):
                    assert (folder / str(given[name])).is_file(), (path.name, given[name])
        assert "default-src 'none'" in text and "connect-src" not in text
        assert "licensed engineer" in text
        assert "http" not in re.sub(r"http-equiv", "", text).lower().replace("https", "http") or "bibliography" in text


def test_a_site_is_the_same_bytes_again_and_replaces_only_itself(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made = {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir() if path.name != "manifest.json"}
    monkeypatch.setattr(sites, "pages", lambda: (dict(reversed(made.items())), {}))
    before = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))["files"]
    sites.site(folder)
    assert json.loads((folder / "manifest.json").read_text(encoding="utf-8"))["files"] == before
    one = sites.page(register()["steel.section_loss"], [])
    assert one == made["steel.section_loss.html"]
    (folder / "letter.txt").write_text("mine")
    with pytest.raises(PackageError, match=r"letter\.txt"):
        sites.site(folder)
    assert (folder / "letter.txt").read_text() == "mine"
    (folder / "letter.txt").unlink()


def test_the_command_says_where_the_site_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    monkeypatch.setattr(sites, "pages", lambda: ({"index.html": "<p>", "a.b.html": "<p>"}, {"a.c": "it calls cos"}))
    assert main(["site", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "1 calculations" in said and "index.html" in said and "a.c has no page: it calls cos" in said
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "notes.txt").write_text("x")
    assert main(["site", str(tmp_path / "mine")]) == 1
    assert "notes.txt" in capsys.readouterr().err


def test_what_is_typed_is_worked_out_at_once(page: Any) -> None:
    page.fill("#f-A_0", "0.31 in^2")
    page.fill("#f-d", "0.60 in, 0.55 in")
    page.check("input[value=US]")
    assert page.input_value("#f-A_0") == "0.31 in^2"  # what was typed stays
    assert page.inner_text("#l-loss .result").replace("\u2009", " ").split() in (["=", "23.4", "%"], ["=23.4%"])
    assert "0.0724" in page.inner_text("#l-A_lost .result")
    assert "23.4 %" in page.inner_text("#status")
    page.check("input[value=SI]")
    assert page.input_value("#f-d") == "0.60 in, 0.55 in"
    assert "mm²" in page.inner_text("#l-A_lost .result")


def test_a_bad_entry_is_said_beside_its_field_and_the_last_good_result_is_marked(page: Any) -> None:
    before = page.inner_text("#l-loss .result")
    for bad, why in (
        ("200", "without a unit"),
        ("9999 mm2", "wanted"),
        ("soon", "found"),
        ("<b>5</b>", "found"),
        ("5 kg", "no area"),
    ):
        page.fill("#f-A_0", bad)
        assert why in page.inner_text("#e-A_0")
        assert page.get_attribute("#f-A_0", "aria-invalid") == "true"
        assert "e-A_0" in page.get_attribute("#f-A_0", "aria-describedby")
        assert page.get_attribute("#f-d", "aria-invalid") == "false"
        assert "last good" in page.inner_text("#status")
        assert page.eval_on_selector("#sheet", "sheet => sheet.classList.contains('old')")
        assert page.inner_text("#l-loss .result") == before
    page.fill("#f-A_0", "200 mm2")
    assert page.inner_text("#e-A_0") == ""
    assert not page.eval_on_selector("#sheet", "sheet => sheet.classList.contains('old')")


def test_the_form_of_a_system_begins_in_it(page: Any, folder: Path) -> None:
    page.goto((folder / "mix.mixing_water-US.html").as_uri())
    assert page.is_checked("input[value=US]")
    assert "lb/yd³" in page.inner_text("#l-W .result")


def test_the_keyboard_alone_reaches_everything(page: Any) -> None:
    reached = []
    for _ in range(8):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.id || document.activeElement.tagName"))
    assert reached[:5] == ["A", "INPUT", "example", "f-A_0", "f-d"]


@pytest.mark.parametrize("width", [400, 700, 1400])
def test_nothing_runs_off_the_page(page: Any, folder: Path, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    for name in ("index", "mix.proportions", "steel.development_aci-US", "chloride.content_linear_surface"):
        page.goto((folder / f"{name}.html").as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
    columns = page.eval_on_selector(".columns", "one => getComputedStyle(one).gridTemplateColumns.split(' ').length")
    assert columns == (2 if width == 1400 else 1)


def test_the_index_is_narrowed_by_words(page: Any, folder: Path) -> None:
    page.goto((folder / "index.html").as_uri())
    page.fill("#words", "section loss bar")
    assert re.match(r"[1-5] of \d+ calculations", page.inner_text("#status"))
    page.fill("#words", "no such thing")
    assert page.inner_text("#status").startswith("0 of")
    page.fill("#words", "")
    page.click("text=Loss of section of a bar")
    assert page.inner_text("h1") == "Loss of section of a bar"


def test_pages_open_with_a_result(page: Any, folder: Path) -> None:
    page.goto((folder / "index.html").as_uri())
    names = page.eval_on_selector_all(".subjects a", "all => all.map((one) => one.getAttribute('href'))")
    assert len(names) == len(some()) - len(LEFT)
    for name in names:
        page.goto((folder / name).as_uri())
        for system in ("SI", "US"):
            page.check(f"input[value={system}]")
            assert not page.eval_on_selector("#status", "one => one.classList.contains('bad')"), (
                name,
                page.inner_text("main"),
            )
            assert not re.search("[\ue000\ue001]|undefined|NaN", page.inner_text("main")), name


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_scan_for_accessibility_finds_nothing(page: Any, folder: Path, scheme: str) -> None:
    page.emulate_media(color_scheme=scheme)
    for name in ("index", "steel.section_loss", "mix.mixing_water-US", "mix.proportions"):
        page.goto((folder / f"{name}.html").as_uri())
        if name != "index":
            page.fill("input[type=text]", "soon")
        found = axe(page)
        assert not found, (name, found)


def answers(task: Any, system: str) -> list[str]:
    """Return answers of every kind to a task, right and wrong."""
    unit, right = task.kind.symbol(system), task.number(task.answer)
    times = [
        1,
        1 + 0.8 * ROUNDED,
        -1,
        2,
        *(10.0**power for power in (-3, -2, -1, 1, 2, 3, 6)),
        *FACTORS,
        *(1 / one for one in FACTORS),
    ]
    numbers = [right * one for one in times] + [value for value, _ in task.wrong]
    other = "5 furlong" if task.kind.dimensionless else "5 %"
    bare = [f"{right!r}", f"{100 * right!r}"]
    return [
        task.printed,
        "",
        "  ",
        "soon",
        "<b>1</b>",
        "1e999 m",
        other,
        *bare,
        *(f"{one:.12g} {unit}".strip() for one in numbers),
    ]


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson_marks_as_python_does(page: Any, folder: Path, name: str) -> None:
    page.goto((folder / f"{name}.html").as_uri())
    keys = [
        key.removeprefix("form-")
        for key in page.eval_on_selector_all("form[id^=form-]", "all => all.map((one) => one.id)")
    ]
    assert keys
    for system in ("SI", "US"):
        page.check(f"input[value={system}]")
        for key in keys:
            for seed in ("1", "40"):
                page.select_option("#set", seed)
                task = EXERCISES[key].task(seed, system)  # type: ignore[arg-type]
                assert page.inner_text(f"#question-{key}") == " ".join(task.question.split())
                for text in answers(task, system):
                    page.fill(f"#answer-{key}", text)
                    page.press(f"#answer-{key}", "Enter")
                    kind, words = task.mark(text).kind, task.mark(text).words
                    assert page.get_attribute(f"#said-{key}", "data-kind") == kind, (
                        key,
                        text,
                        page.inner_text(f"#said-{key}"),
                    )
                    if kind != "unit":
                        assert page.text_content(f"#said-{key}") == words, (key, text)


def test_a_lesson_gives_hints_in_steps_and_the_solution_as_python_prints_it(page: Any, folder: Path) -> None:
    page.goto((folder / "lesson-reinforcement.html").as_uri())
    task = EXERCISES["loss-of-area"].task("3", "US")
    page.check("input[value=US]")
    page.select_option("#set", "3")
    for count in (1, 2, 3, 3):
        page.click("#hint-loss-of-area")
        assert page.locator("#hints-loss-of-area li").count() == count
    page.click("text=Solution by hand")
    page.wait_for_selector("#loss-of-area-US-loss .result math")
    shown = page.inner_text("#loss-of-area-US-loss .result").replace("\u2009", " ")
    assert units.show(task.answer, task.kind, "US").split()[0] in shown
    assert page.locator("#loss-of-area-SI").is_hidden()
    page.select_option("#set", "4")  # another task begins afresh
    assert page.locator("#hints-loss-of-area li").count() == 0 and not page.locator("#loss-of-area-US").is_visible()


@pytest.mark.parametrize("width", [400, 1400])
def test_a_lesson_can_be_read_and_used_by_everybody(page: Any, folder: Path, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    for name in ("lesson-chlorides", "lesson-mix"):
        page.goto((folder / f"{name}.html").as_uri())
        page.locator("input[id^=answer-]").first.fill("soon")
        page.locator("button >> text=Check").first.click()
        page.locator("summary").first.click()
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        assert axe(page) == []
