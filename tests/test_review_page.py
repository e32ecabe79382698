"""Check the page of a review: inputs changed and taken back, verdicts that flip, reasons, and values written into the job folder."""

import re
import shutil
import threading

import pytest
from browser import axe, served
from in_browser import browser as browsing
from samples import DEMO, folder

from deckcalc import InputError
from deckcalc.job import compute
from deckcalc.live import review_page
from deckcalc.live.desk import by_input

CHECK = "bar B3: section loss of one bar (at most)"
KEY = "bars.B3.readings"


def copied(source, place):
    return shutil.copytree(source, place, ignore=shutil.ignore_patterns("package*", ".*"))


@pytest.fixture
def job(tmp_path):
    return copied(folder("notebooks") / "small_bars", tmp_path / "my_job")


@pytest.fixture
def page(job):
    return review_page(job)


def flipped(page):
    return [(where, old, new) for sort, where, old, new in page.shown["flipped"] if sort in ("better", "worse")]


# --- without a browser


def test_inputs_stand_with_meaning_range_and_value(page):
    inputs = {one[0]: one[1:] for one in page.declared["inputs"]}
    meaning, hint, choices, filed = inputs[KEY]
    assert "calliper" in meaning or "diameter" in meaning
    assert re.search(r"\d.* to \d", hint) and choices == [] and filed == "14.2 mm; 13.9 mm"
    assert inputs["marking.direction"][2] == ["centreline", "skew"]
    assert inputs["limits.bar_loss_single"][0] and page.declared["writes"]


def test_a_changed_input_flips_a_verdict_and_is_taken_back(page):
    page.enter({KEY: "12.5 mm; 12.6 mm", "bars.B1.readings": "15 mm; 15 mm"})
    assert (CHECK, "satisfied", "not satisfied") in flipped(page)
    assert page.shown["moved"][0][0] == "Reinforcement" and "2 inputs changed" in page.shown["counted"]
    page.enter({KEY: ""})
    assert CHECK not in {one[0] for one in flipped(page)} and "1 input changed" in page.shown["counted"]
    page.enter({"bars.B1.readings": " "})
    assert page.shown["moved"] == page.shown["flipped"] == [] and page.desk.now is page.desk.filed


def test_what_is_computed_on_what_was_changed_before_is_what_is_computed_at_once(page):
    page.enter({KEY: "12.5 mm; 12.6 mm"})
    page.enter({"limits.bar_loss_single": "40 %"})
    both = page.shown["moved"], page.shown["flipped"]
    other = review_page(page.place)
    other.enter({"limits.bar_loss_single": "40 %", KEY: "12.5 mm; 12.6 mm"})
    assert both == (other.shown["moved"], other.shown["flipped"]) and both[0]


def test_a_fault_stands_beside_its_input_and_the_last_review_stays(page):
    page.enter({KEY: "12.5 mm; 12.6 mm"})
    before = page.shown
    page.enter({"bars.B1.readings": "15 kg", "limits.bar_loss_single": "x"})
    assert page.shown["old"] and page.shown["flipped"] == before["flipped"]
    assert page.shown["faults"]["bars.B1.readings"].startswith("bars.csv, row 2")
    assert page.shown["faults"]["limits.bar_loss_single"].startswith("found “x”")
    assert KEY not in page.shown["faults"] and page.shown["status"] == ""
    page.enter({"bars.B1.readings": "", "limits.bar_loss_single": ""})
    assert not page.shown["old"] and page.shown["faults"] == {}


def test_a_fault_that_names_no_input_stands_above():
    found, others = by_input(InputError("deck.a_b: wrong\nsurvey: wrong too"), {"deck.a": "1", "deck.a_b": "2"})
    assert found == {"deck.a_b": "deck.a_b: wrong"} and others == ["survey: wrong too"]


def test_why_affects_and_questions_without_an_answer(page):
    chain = page.ask("why", CHECK)["chain"]
    assert chain[0][1].startswith(CHECK) and KEY in {key for *_, key in chain}
    tables = page.ask("affects", KEY)["tables"]
    assert any(row[0] == CHECK for row in tables[1][2])
    assert "names no result" in page.ask("why", "zeppelin")["fault"]
    assert "no such input" in page.ask("affects", "bars.B99.readings")["fault"]
    assert "wanted a check" in page.ask("turns", page.desk.chains.results[0].printed)["fault"]


def test_a_reviewer_finds_which_input_flips_a_check(page):
    """The flip point that is named, set as it is named, turns the verdict; a last digit before it does not."""
    rows = page.ask("turns", CHECK)["tables"][0][2]
    mine = next(row for row in rows if row[1] == KEY)
    assert mine[0] == "satisfied → not satisfied"
    page.enter({KEY: mine[3]})
    assert (CHECK, "satisfied", "not satisfied") in flipped(page)
    numbers = "; ".join(f"{float(number) + 0.01:.10g} mm" for number in re.findall(r"[\d.]+", mine[3]))
    page.enter({KEY: numbers})
    assert flipped(page) == []


def test_nothing_is_written_before_the_difference_was_shown(page, job):
    page.enter({KEY: "12.5 mm; 12.6 mm"})
    stood = (job / "bars.csv").read_bytes()
    assert "show the difference first" in page.ask("write")["fault"]
    assert "+" in page.ask("difference")["difference"]
    page.enter({KEY: "12 mm; 12 mm"})  # what was shown is not what would be written now
    assert "show the difference first" in page.ask("write")["fault"]
    assert (job / "bars.csv").read_bytes() == stood
    page.ask("difference")
    assert page.ask("write")["text"].endswith("bars.csv")
    assert page.typed == {} and {one[0]: one[4] for one in page.declared["inputs"]}[KEY] == "12 mm; 12 mm"
    assert "no input is changed" in page.ask("difference")["fault"]


def test_a_file_changed_meanwhile_is_named_and_left(page, job):
    page.enter({KEY: "12.5 mm; 12.6 mm"})
    page.ask("difference")
    (job / "bars.csv").write_text((job / "bars.csv").read_text() + "\n")
    stood = (job / "bars.csv").read_bytes()
    assert "bars.csv was changed since it was read" in page.ask("write")["fault"]
    assert (job / "bars.csv").read_bytes() == stood and page.typed


def test_another_job_is_opened_and_one_that_is_none_is_refused(page, tmp_path):
    page.enter({KEY: "12.5 mm; 12.6 mm"})
    page.place = str(tmp_path / "nowhere")
    page.asked += 1
    assert "there is no such folder" in page.shown["place"] and page.place == page.opened and flipped(page)
    page.place = str(folder("notebooks") / "small_mix")
    page.asked += 1
    assert page.shown["place"] == "" and page.typed == {} and any("mix." in one[0] for one in page.declared["inputs"])


def test_a_file_that_is_no_document_is_refused(tmp_path):
    (tmp_path / "package.pdf").write_bytes(b"no PDF")
    with pytest.raises(Exception, match=r"package\.pdf"):
        review_page(tmp_path / "package.pdf")


def test_without_a_page_a_short_table_stands_there(page):
    page.enter({KEY: "12.5 mm; 12.6 mm"})
    lines = re.sub(r" +", " ", page.markdown()).splitlines()
    assert any(line.startswith(f"| changed | {KEY} | 14.2") and "12.5 mm; 12.6 mm" in line for line in lines)
    assert f"| verdict | {CHECK} | satisfied | not satisfied |" in lines


# --- in a browser


@pytest.fixture(scope="module")
def browser():
    with browsing() as made:
        yield made


@pytest.fixture
def opened(browser):
    """Return a function that opens a page; what it complains of fails the test."""
    closing, wrong = [], []

    def open_page(widget, width=1400, height=800, scheme="light"):
        server = served(widget)
        context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        closing[:0] = [context.close, lambda: server.__exit__(None, None, None)]
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
        page.goto(server.__enter__())
        page.wait_for_selector(".review tbody tr")
        return page

    yield open_page
    for close in closing:
        close()
    assert not wrong


def field(page, key):
    """Find the field of an input, as somebody does who types its key."""
    page.get_by_label("Find inputs").fill(key)
    return page.get_by_role("textbox", name=re.compile(rf"^{re.escape(key)}"))


def serious(page):
    return axe(page, "serious", "critical")


def test_typing_flips_a_verdict_and_taking_back_clears_it(opened, page):
    shown = opened(page)
    field(shown, KEY).fill("12.5 mm; 12.6 mm")
    shown.wait_for_selector(".worse:has-text('not satisfied')")
    assert serious(shown) == []
    field(shown, KEY).fill("12.5 kg")
    shown.wait_for_selector(".stale")
    entry = field(shown, KEY)
    assert entry.get_attribute("aria-invalid") == "true" and serious(shown) == []
    said = shown.locator(f"#{entry.get_attribute('aria-describedby').split()[1]}")
    assert (
        "12.5 kg" in said.inner_text()
        and "last values that could be computed" in shown.locator(".status").first.inner_text()
    )
    shown.get_by_role("button", name=f"Take back {KEY}").click()
    shown.wait_for_selector(".answer:has-text('0 inputs changed')")
    assert field(shown, KEY).input_value() == "14.2 mm; 13.9 mm" and shown.locator(".worse").count() == 0


def test_by_keyboard_alone(opened, page):
    shown = opened(page)
    shown.get_by_label("Find inputs").focus()
    shown.keyboard.type(KEY)
    shown.keyboard.press("Tab")
    assert shown.evaluate("document.activeElement.value") == "14.2 mm; 13.9 mm"
    shown.keyboard.press("Control+A")
    shown.keyboard.type("12.5 mm; 12.6 mm")
    shown.keyboard.press("Enter")
    shown.wait_for_selector(".worse")
    shown.get_by_role("button", name=f"Why: {CHECK}").focus()
    shown.keyboard.press("Enter")
    shown.wait_for_selector(".chain")
    assert shown.evaluate("document.activeElement.textContent") == f"Behind {CHECK}"
    assert serious(shown) == []
    shown.get_by_role("button", name=f"Change {KEY}").press("Enter")
    assert shown.evaluate("document.activeElement.value") == "12.5 mm; 12.6 mm"


def test_the_page_says_that_it_works_and_answers_what_was_typed_last(opened, page):
    began, go, seen = threading.Event(), threading.Event(), []

    def slow(change):
        began.set()
        assert go.wait(30)
        seen.append(dict(page.typed))
        work(change)

    shown, work = opened(page), page.work
    page.unobserve(work, names=["asked"])
    page.observe(slow, names=["asked"])
    entry = field(shown, KEY)
    for text in ("12.9 mm; 12.9 mm", "12.8 mm; 12.8 mm", "12.5 mm; 12.6 mm"):
        entry.fill(text)
        entry.press("Enter")
        assert began.wait(30)
    assert shown.locator(".working").inner_text() == "Working"
    assert shown.locator(".review").get_attribute("aria-busy") == "true"
    go.set()
    shown.wait_for_selector("td:has-text('12.5 mm; 12.6 mm')")
    assert shown.locator(".working").inner_text() == ""
    assert [one[KEY] for one in seen] == ["12.9 mm; 12.9 mm", "12.5 mm; 12.6 mm"]  # what lay between was never asked


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), [(1400, 800), (700, 400), (400, 800)])
def test_nothing_runs_off_the_page(opened, page, width, height, scheme):
    shown = opened(page, width, height, scheme)
    field(shown, KEY).fill("12.5 mm; 12.6 mm")
    shown.wait_for_selector(".worse")
    shown.get_by_role("button", name="Show what would be written").click()
    shown.wait_for_selector("pre")
    assert shown.evaluate("document.documentElement.scrollWidth") <= width and serious(shown) == []
    boxes = [shown.get_by_role("region", name=name).bounding_box() for name in ("Inputs", "Review")]
    assert (boxes[1]["x"] > boxes[0]["x"]) == (width == 1400)  # side by side, or one below the other
    if width == 1400:
        assert max(box["y"] + box["height"] for box in boxes) <= height


def test_a_mix_is_tried_on_a_job_and_written_back(opened, tmp_path):
    place = copied(DEMO["US"], tmp_path / "job")
    widget = review_page(place, only="mix")
    sections = {one[0].partition(".")[0] for one in widget.declared["inputs"]}
    assert {"mix", "aggregates", "limits"} <= sections and "depths" not in sections
    shown = opened(widget)
    field(shown, "mix.concretes.C3.slump").fill("4 in")
    shown.wait_for_selector(".worse")
    assert "cementitious material against a usual maximum" in shown.locator("tr:has(.worse)").first.inner_text()
    assert widget.shown["moved"][0][0] == "Mix and batch"
    before = shown.locator(".review caption:has-text('Mix and batch')")
    rows = before.locator("xpath=..").locator("tbody tr")
    assert rows.count() == 6
    shown.get_by_role("button", name=re.compile("Show all .*Mix and batch")).click()
    assert shown.locator("table:has(caption:has-text('Mix and batch')) tbody tr").count() > 40
    shown.get_by_role("button", name="Show what would be written").click()
    shown.wait_for_selector("pre ins:has-text('slump')")
    assert compute(place).settings.mix.concretes["C3"].slump.m_as("in") == pytest.approx(2)
    shown.get_by_role("button", name="Write these values").click()
    shown.wait_for_selector(".about h4:text-is('Written')")
    assert 'slump = "4 in"  # slump at placing' in (place / "job.toml").read_text("utf-8")
    assert compute(place).settings.mix.concretes["C3"].slump.m_as("in") == pytest.approx(4)
    assert field(shown, "mix.concretes.C3.slump").input_value() == "4 in"
    assert "0 inputs changed" in shown.locator(".answer").inner_text()
