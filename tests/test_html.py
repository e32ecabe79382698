"""Check the page that a package is read on: found by keyboard, heard, read on a phone and printed."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import Image
from test_binder import build

MARKDOWN = r"""# Title sheet

::: contents
:::

### Sign-off

|      | name | $r_{h}$ | $n_{\mathrm{each}}$ |
|------|------|--------:|--------:|
| made | A    |       1 | 2 |

# Bar area

##

## Result

$$A_0 = 1$$

![Strength gain](gain.png)

Beside ![](gain.png) a bar.

#### Steps

## Checks

| a | b | c | d | e | f | g | h |
|---|---|---|---|---|---|---|---|
| `x` | 2 | 3 | 4 | 5 | 6 | 7 | 8 |
"""
VOID = {"meta", "img", "col", "br", "wbr", "hr", "link", "input"}


class Element:
    """One element of the page with what stands in it."""

    def __init__(self, tag: str, attrs: dict[str, str], parents: tuple["Element", ...]) -> None:
        self.tag, self.attrs, self.parents, self.text = tag, attrs, parents, ""


class Page(HTMLParser):
    """The elements of a page in their order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self.open: list[Element] = []
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs}, tuple(self.open))
        self.elements.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        if not any(element.tag == "math" for element in self.open):  # symbols alone are not read as words
            for element in self.open:
                element.text += data

    def all(self, *tags: str) -> list[Element]:
        return [element for element in self.elements if element.tag in tags]


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder: Path = tmp_path_factory.mktemp("page")
    Image.new("L", (40, 30), 128).save(folder / "gain.png")
    return build(folder, folder, MARKDOWN)["package.html"].decode()


@pytest.fixture(scope="module")
def page(source: str) -> Page:
    return Page(source)


def test_landmarks_are_there_once_and_hold_everything(page: Page) -> None:
    for tag in ("header", "main", "footer", "nav", "title"):
        assert len(page.all(tag)) == 1, tag
    assert page.all("html")[0].attrs["lang"] == "en"
    assert page.all("title")[0].text
    labels = [
        element.attrs.get("aria-label")
        for element in page.elements
        if element.tag == "nav" or element.attrs.get("role") == "navigation"
    ]
    assert sorted(labels) == ["Contents", "Sections"]
    inside = {parent.tag for element in page.all("p", "table", "h1") for parent in element.parents[2:3]}
    assert inside == {"main"}


def test_headings_have_words_and_leave_out_no_level(page: Page) -> None:
    headings = [(int(element.tag[1]), element.text) for element in page.all("h1", "h2", "h3", "h4")]
    assert headings == [
        (1, "Title sheet"), (2, "Sign-off"), (1, "Bar area"), (2, "Result"), (3, "Steps"), (2, "Checks"),
    ]  # fmt: skip


def test_navigation_has_two_levels_and_every_link_leads_somewhere(page: Page) -> None:
    places = [element.attrs["id"] for element in page.elements if "id" in element.attrs]
    assert len(places) == len(set(places))
    links = page.all("a")
    assert {link.attrs["href"].removeprefix("#") for link in links} <= set(places)
    assert all(link.text.strip() for link in links)
    side = [link.text for link in links if any(parent.tag == "nav" for parent in link.parents)]
    assert side == ["Title sheet", "Sign-off", "Bar area", "Result", "Checks"]


def test_a_link_leads_back_from_everywhere(page: Page) -> None:
    (back,) = [link for link in page.all("a") if any(parent.tag == "header" for parent in link.parents)]
    (target,) = [element for element in page.elements if "#" + element.attrs.get("id", "") == back.attrs["href"]]
    assert target.parents[-1].tag == "details"  # opened by the link on a narrow screen


def test_pictures_have_words(page: Page) -> None:
    assert [image.attrs["alt"] for image in page.all("img")] == ["Strength gain", "Figure without a caption"]


def test_head_cells_say_what_they_head(page: Page) -> None:
    heads = [(cell.text, cell.attrs.get("role")) for cell in page.all("th")]
    assert heads[:4] == [("", "cell"), ("name", None), ("rh", None), ("neach", None)]
    assert all(text for text, role in heads if role is None)


def test_tables_and_equations_scroll_in_a_box_of_their_own(page: Page) -> None:
    wide = [element for element in page.elements if element.tag == "table" or element.attrs.get("display") == "block"]
    assert len(wide) == 3
    for element in wide:
        boxes = [box.attrs for box in element.parents if box.attrs.get("class") in {"table", "equation"}]
        assert [(box["tabindex"], box["role"]) for box in boxes] == [("0", "group")]
        assert boxes[0]["aria-label"]


def test_print_has_no_navigation_and_a_page_per_sheet(source: str) -> None:
    printed = source[source.index("@media print {") : source.index("</style>")]
    assert ".sections, .to-sections { display: none; }" in printed
    assert "h1:not(:first-child) { break-before: page; }" in printed
    assert re.search(r"thead \{[^}]*display: table-header-group", source)


def test_no_type_is_smaller_than_can_be_read(source: str) -> None:
    style = source[source.index("<style>") : source.index("</style>")]
    sizes = re.findall(r"font(?:-size)?: ([^;]+);", style)
    assert len(sizes) > 10
    points = {"rem": 12.0, "px": 0.75, "pt": 1.0}
    for size in sizes:
        found = re.findall(r"([\d.]+)(rem|px|pt)\b", size)
        assert size == "1em" or max(float(value) * points[unit] for value, unit in found) >= 8.5, size
