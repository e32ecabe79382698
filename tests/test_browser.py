"""Check the forms as people use them: typed in, dragged, tabbed through, switched and filled with nonsense in a real browser."""

import re

import pytest
from browser import axe, served
from in_browser import browser as browsing
from samples import REGISTER

from deckcalc import published
from deckcalc.live import chain, workbook

SAW = {"c_min": "50 mm", "m_saw": "6 mm"}
LONGEST = "formwork.panel_check"
SIZES = {"a screen": (1400, 800), "twice as large": (700, 400), "a phone": (400, 800)}


@pytest.fixture(scope="module")
def browser():
    with browsing() as made:
        yield made


@pytest.fixture
def opened(browser):
    """Return a function that opens the page of a widget; what the page complains of fails the test."""
    closing, wrong = [], []

    def open_page(widget, size="a screen", scheme="light", clock=False):
        width, height = SIZES[size]
        server = served(widget)
        context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        closing[:0] = [context.close, lambda: server.__exit__(None, None, None)]
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
        address = server.__enter__()
        page.on(
            "request", lambda request: None if request.url.startswith((address, "data:")) else wrong.append(request.url)
        )
        if clock:
            page.clock.install()
        page.goto(address)
        page.wait_for_selector(".deckcalc .field")
        return page

    yield open_page
    for close in closing:
        close()
    assert not wrong


def saw(opened, **more):
    """Open the form of a saw cut."""
    return opened(workbook(REGISTER["patch.saw_cut"], **SAW), **more)


def example_of(key):
    """Return a form with the values of a check case."""
    return workbook(REGISTER[key], **published.example(REGISTER[key], "SI")[0])


def labelled(page, words):
    """Return the field of a label, as somebody finds it who hears the page."""
    return page.get_by_role("textbox", name=re.compile(words, re.I))


def settled(page):
    """Wait until what was asked last is answered."""
    page.wait_for_function(
        "() => { const root = document.querySelector('.deckcalc'); return !root.matches('.unanswered') }"
    )
    page.wait_for_timeout(60)


def result(page, at=0):
    """Return the results that stand above a calculation."""
    return page.locator(".result").nth(at).inner_text()


def test_typing_moves_the_calculation(opened):
    page = saw(opened)
    assert "44 mm" in result(page)
    labelled(page, "minimum cover").fill("48 mm")
    page.wait_for_selector(".result:has-text('42 mm')")
    labelled(page, "minimum cover").fill("2 1/2 in")
    page.wait_for_selector(".result:has-text('58 mm')")
    assert page.locator(".lines math").count() == 1 and page.locator(".moved").count() == 1


def test_a_slider_is_dragged_and_moved_by_keys(opened):
    page = saw(opened)
    slider = page.get_by_role("slider", name=re.compile("minimum cover", re.I))
    box = slider.bounding_box()
    page.mouse.move(box["x"] + 5, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] - 2, box["y"] + box["height"] / 2, steps=12)
    page.mouse.up()
    page.wait_for_selector(".result:has-text('144 mm')")  # the farthest stop
    assert labelled(page, "minimum cover").input_value() == slider.get_attribute("aria-valuetext") == "150 mm"
    slider.press("Home")
    page.wait_for_selector(".result:has-text('12 mm')")
    slider.press("ArrowRight")
    page.wait_for_selector(".result:has-text('14 mm')")
    assert labelled(page, "minimum cover").input_value() == "20 mm"


@pytest.mark.parametrize("backwards", [False, True])
def test_units_are_switched_and_nothing_typed_is_lost(opened, backwards):
    page = saw(opened)
    page.evaluate("backwards => { window.backwards = backwards }", backwards)
    cover = labelled(page, "minimum cover")
    cover.fill("60 mm")
    page.get_by_role("radio", name="SI").press("ArrowRight")
    page.wait_for_selector(".result:has-text(' in')")
    assert cover.input_value() == "2.3622 in"
    assert page.evaluate("document.activeElement.type") == "radio"  # the key stays where it was
    assert "in" in page.locator(".hint").first.inner_text()
    page.get_by_role("radio", name="SI").check()
    page.wait_for_selector(".result:has-text('54 mm')")
    assert cover.input_value() == "60 mm"
    page.evaluate(
        """() => {
          const [, inches] = document.querySelectorAll("[type=radio]"), entry = document.querySelector(".entry [type=text]");
          inches.click();
          entry.value = "3 in";
          entry.dispatchEvent(new Event("input"));
        }"""
    )  # typed before the units have come
    page.wait_for_selector(".result:has-text('2.76 in')")
    assert cover.input_value() == "3 in"


@pytest.mark.parametrize("text", ["plenty", "", "3 kg", "900 mm", "<img src=x onerror=alert(1)>"])
def test_nonsense_gets_a_message_that_belongs_to_its_field(opened, text):
    page = saw(opened)
    cover, before = labelled(page, "minimum cover"), page.locator(".lines").inner_html()
    cover.fill(text)
    page.wait_for_selector(".part.old")
    cover.blur()
    page.wait_for_selector(".message:not(:empty)")
    assert cover.get_attribute("aria-invalid") == "true" and cover.input_value() == text
    described = cover.get_attribute("aria-describedby").split()
    said = page.locator(f"#{described[1]}").inner_text()
    assert "wanted" in said and (text[:5] in said) and page.locator(f"#{described[0]}").inner_text() == "0 to 500 mm"
    assert "last good values" in page.locator(".status").inner_text()
    assert page.locator(".lines").inner_html() == before and page.locator("img").count() == 0
    assert axe(page, "serious", "critical") == []
    cover.fill("50 mm")
    page.wait_for_selector(".part:not(.old)")
    assert page.locator(".message:not(:empty)").count() == 0 and cover.get_attribute("aria-invalid") is None


def test_a_message_waits_while_somebody_is_typing(opened):
    page = saw(opened)
    cover = labelled(page, "minimum cover")
    cover.fill("")
    cover.press_sequentially("2 1/2")
    page.wait_for_selector(".part.old")
    assert page.locator(".message:not(:empty)").count() == 0
    page.wait_for_selector(".message:not(:empty)")
    cover.press_sequentially(" in")
    page.wait_for_selector(".result:has-text('58 mm')")
    assert page.locator(".message:not(:empty)").count() == 0


def test_a_kernel_that_does_not_answer_is_told(opened):
    page = saw(opened, clock=True)
    page.evaluate("window.lost = true")
    labelled(page, "minimum cover").fill("48 mm")
    page.clock.fast_forward(3000)
    assert page.get_by_role("alert").inner_text() == ""
    page.clock.fast_forward(3000)
    assert "No answer from the calculation" in page.get_by_role("alert").inner_text()
    assert "44 mm" in result(page) and labelled(page, "minimum cover").input_value() == "48 mm"
    page.evaluate("window.lost = false")
    labelled(page, "minimum cover").fill("49 mm")
    page.wait_for_selector(".result:has-text('43 mm')")
    assert page.get_by_role("alert").inner_text() == ""


def test_a_result_runs_down_a_chain(opened):
    page = opened(chain("survey to order volume"))
    before = result(page, 2)
    labelled(page, "margin").first.fill("75 mm")
    page.wait_for_function("before => document.querySelectorAll('.result')[2].innerText !== before", arg=before)
    handed = page.locator("output")
    assert handed.count() == 2 and "from “" in handed.first.inner_text()
    labelled(page, "margin").first.fill("x")
    page.wait_for_function("() => document.querySelectorAll('.part.old').length === 2")
    assert "waits" in handed.first.inner_text()


def test_everything_is_reached_by_keys_alone(opened):
    page = saw(opened)
    reached = []
    for _ in range(7):
        page.keyboard.press("Tab")
        reached.append(
            page.evaluate("[document.activeElement.type, document.activeElement.getAttribute('role')].find(Boolean)")
        )
    assert reached[:6] == ["radio", "text", "range", "text", "range", "region"]


def test_what_was_typed_is_held_by_the_widget_and_shown_again(opened):
    form = workbook(REGISTER["patch.saw_cut"], **SAW)
    page = opened(form)
    labelled(page, "minimum cover").fill("48 mm")
    page.wait_for_selector(".result:has-text('42 mm')")
    assert form.get_state()["typed"]["saw_cut.c_min"] == "48 mm"  # what a saved notebook holds
    page.reload()
    page.wait_for_selector(".result:has-text('42 mm')")
    assert labelled(page, "minimum cover").input_value() == "48 mm"


FORMS = {
    "patch.saw_cut": lambda: workbook(REGISTER["patch.saw_cut"], **SAW),
    LONGEST: lambda: example_of(LONGEST),
    "steel.development_aci (US)": lambda: example_of("steel.development_aci (US)"),
    "steel.section_loss": lambda: example_of("steel.section_loss"),
    "years": lambda: chain("cover and chlorides to years"),
}


@pytest.mark.parametrize("key", FORMS)
@pytest.mark.parametrize(("size", "scheme"), [("a screen", "light"), ("a screen", "dark"), ("a phone", "light")])
def test_a_checker_of_access_finds_nothing_serious(opened, key, size, scheme):
    page = opened(FORMS[key](), size, scheme)
    assert axe(page, "serious", "critical") == []
    background = page.evaluate("getComputedStyle(document.querySelector('.deckcalc')).backgroundColor")
    assert (sum(map(int, re.findall(r"\d+", background)[:3])) < 200) == (scheme == "dark")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("key", FORMS)
def test_nothing_runs_off_the_side(opened, key, size):
    page = opened(FORMS[key](), size)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    left, right = (page.locator(f".{side}").first.bounding_box() for side in ("left", "right"))
    assert (right["x"] > left["x"] + left["width"] - 1) == (size == "a screen")


@pytest.mark.parametrize("key", [LONGEST, "steel.development_aci (US)", "mix.adjusted_mix (SI)"])
def test_while_the_last_field_is_edited_the_line_that_moves_is_in_sight(opened, key):
    page = opened(example_of(key))
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")
    sliders = page.locator("input[type=range]:visible")
    sliders.last.scroll_into_view_if_needed()
    sliders.last.press("Home")
    page.wait_for_selector(".moved")
    page.wait_for_timeout(100)
    seen = """() => [...document.querySelectorAll('.moved')].some(line => {
        const at = line.getBoundingClientRect(), box = line.closest('.sheet').getBoundingClientRect();
        return at.top >= box.top - 1 && at.top < Math.min(box.bottom, innerHeight) - 10; })"""
    assert page.evaluate(seen)
    field = sliders.last.bounding_box()
    assert 0 < field["y"] < 800


def test_every_field_is_called_by_what_it_means(opened):
    page = opened(example_of("steel.rating"))
    for name, param in REGISTER["steel.rating"].params.items():
        assert labelled(page, re.escape(param.meaning[1:])).count() >= 1, name
    assert page.locator(".field math").count() == page.locator(".field").count()
