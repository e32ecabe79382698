"""The page for the phone: its results against the library's, and as a crew meets it, in a real browser without a connection."""

from __future__ import annotations

import json
import random
import re
import shutil
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from browser import axe
from in_browser import browser
from samples import DEMO, demo

from deckcalc import patch, steel
from deckcalc.base.errors import PackageError
from deckcalc.base.fields import FULL
from deckcalc.base.work import WorkPlan
from deckcalc.cli import main
from deckcalc.core.bars import bar_diameter
from deckcalc.core.units import InputError, Quantity, quantity
from deckcalc.job.field_opening import opening_table
from deckcalc.job.field_tables import batched, looked_up, patch_tables
from deckcalc.job.holds import hold_points
from deckcalc.live import phone, phone_data
from deckcalc.patch.design import none_is_zero

#: The night of each demo job that is looked at, and a full-depth patch of another night.
NIGHTS = {"metric": "weekend-1", "US": "night-3"}
THROUGH = "P4"
UNIT = {"metric": "mm", "US": "in"}
BATCHED = 9  # one entry in so many is taken to batches as well


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages of both jobs."""
    out = tmp_path_factory.mktemp("pages")
    with pytest.MonkeyPatch.context() as patched:  # worked out once for pages and tests
        patched.setattr(phone_data, "patch_tables", lambda job, name: tables(system_of(job), name))
        patched.setattr(phone_data, "opening_table", lambda job, row: openings(system_of(job), row.placement))
        for system, name in NIGHTS.items():
            made, gone = phone.write(demo(system), out / system, [name])
            assert len(made) == 1 and made[0].is_file() and not gone
    return out


def system_of(job: Any) -> str:
    return {"SI": "metric", "US": "US"}[job.system]


@cache
def tables(system: str, name: str) -> Any:
    return patch_tables(demo(system), name)


@cache
def openings(system: str, placement: str) -> Any:
    job = demo(system)
    return opening_table(job, next(row for row in job.file.work.placings if row.placement == placement))


def file_of(folder: Path, system: str) -> Path:
    return next((folder / system).glob("*.html"))


def data_of(folder: Path, system: str) -> Any:
    """Return what a page knows, out of its text."""
    found = re.search(r"<script>phone\((.*)\);</script>", file_of(folder, system).read_text(encoding="utf-8"))
    assert found
    return json.loads(found[1].replace("<\\/", "</"))


@pytest.fixture(scope="module")
def window() -> Iterator[Any]:
    with browser() as opened:
        yield opened


@pytest.fixture
def opened(window: Any, folder: Path) -> Iterator[Any]:
    """Give a function that opens the page of a job at the size of a phone; it may meet no fault, and ask for nothing."""
    contexts: list[Any] = []
    faults: list[str] = []

    def open_page(system: str, at: str = "", scheme: str = "light", before: str = "") -> Any:
        where = file_of(folder, system).as_uri()
        context = window.new_context(
            viewport={"width": 390, "height": 844}, has_touch=True, color_scheme=scheme, accept_downloads=True
        )
        context.set_offline(True)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
        page.on(
            "request", lambda asked: faults.append(asked.url) if not asked.url.startswith((where, "blob:")) else None
        )
        if before:
            page.add_init_script(before)
        page.goto(where + at)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not faults


# --- results


def entry(system: str, name: str, chance: random.Random) -> dict[str, str]:
    """Return entries of a patch at random, some of them outside its tables."""
    job, unit = demo(system), UNIT[system]
    slab = float(job.patch.deck.slab_thickness.m_as(unit))
    one = job.patch[name]
    deep = 1.02 * slab if chance.random() < 0.2 else 0.48 * slab
    decimals = 2 if unit == "in" else 0
    found = {f"d{at}": f"{chance.uniform(0.1 * slab, deep):.{decimals}f}" for at in range(chance.randint(1, 6))}
    if chance.random() < 0.7:
        low, high = 0.6 * float(one.cover.least.m_as(unit)), 1.5 * float(one.cover.greatest.m_as(unit))
        found |= {f"c{at}": f"{chance.uniform(low, high):.{decimals}f}" for at in range(chance.randint(1, 3))}
    return found


def bar_entry(bars: list[Any], reads: int, unit: str, chance: random.Random) -> dict[str, str]:
    """Return readings of some bars of a patch."""
    found = {}
    for bar in chance.sample(bars, min(len(bars), 4)):
        whole = float(bar_diameter(bar["size"]).m_as(unit))
        worst = chance.choice([0.6, 0.8, 0.88])
        for at in range(reads):
            found[f"b.{bar['name']}.{at}"] = f"{chance.uniform(worst, 1.0) * whole:.{3 if unit == 'in' else 1}f}"
    return found


def several(found: dict[str, str], start: str, unit: str) -> Quantity | None:
    """Return readings as the library takes them."""
    numbers = [float(value) for key, value in found.items() if re.fullmatch(rf"{re.escape(start)}\d", key)]
    return quantity(numbers, unit) if numbers else None


@cache
def row_of(system: str, name: str, kind: str, reading: float, side: Any) -> Any:
    """Return the row of a table for a reading in metres."""
    keys = {"depths": lambda row: row.depth, "covers": lambda row: row.cover}
    return looked_up(getattr(tables(system, name), kind), quantity(reading, "m"), side, keys[kind])


def by_library(system: str, name: str, found: dict[str, str], batches: bool) -> dict[str, Any] | None:
    """Return what the depths and covers of an entry come to by the library; None where the engineer is called for all of it."""
    job, unit, one = demo(system), UNIT[system], demo(system).patch[name]
    h, c, t = several(found, "d", unit), several(found, "c", unit), job.patch.deck.slab_thickness
    assert h is not None
    try:
        depth = patch.patch_depth(h=h, t=t)
    except InputError:
        return None
    row = row_of(system, name, "depths", float(depth.h_max.m_as("m")), "up") if one.removal is not None else None
    if one.removal is not None and row is None:
        return None
    cover = one.cover if c is None else patch.patch_cover(c=c)
    if c is not None and one.removal is not None:
        ends = ((cover.least, "down"), (cover.greatest, "up"))
        if any(row_of(system, name, "covers", float(value.m_as("m")), side) is None for value, side in ends):
            return None
    full = row is None or row.depth_class == FULL
    result: dict[str, Any] = {
        "class": FULL if full else row.depth_class,
        "full": full,
        "deepest": depth.h_max,
        "mean": depth.h_mean,
    }
    under, h_v = quantity(0, "m^3"), t
    removal = job.patch.inputs.removal
    if not full:
        deck = job.patch.deck
        out = patch.removal_depth(
            h_i=h, c_min=cover.least, c_max=cover.greatest, d_1=bar_diameter(deck.top_bar_outer),
            d_2=bar_diameter(deck.top_bar_inner), s_c=one.clear,
        )  # fmt: skip
        h_v = out.h
        result |= {"to": out.h_r, "out": max(out.h_max, out.h_r), "saw": patch.saw_cut(c_min=cover.least, m_saw=job.limit("saw_margin").value)}  # fmt: skip
        if removal.undercut is not None:
            under = patch.undercut_volume(P_e=one.limits.P_cut, h=h_v, d_saw=job.limit("saw_depth").value, u=removal.undercut).V_u  # fmt: skip
    shares = {"q_grow": none_is_zero(removal.growth), "q_over": none_is_zero(removal.overbreak)}
    volume = patch.patch_volume(A=one.limits.A, h=h_v, V_u=under, q_waste=job.limit("waste").value, **shares)
    result["volume"] = volume.V_order
    if batches:
        fake: Any = SimpleNamespace(name=name, item="patch", depth_class=result["class"], h=h_v, volume=volume)
        result |= dict(zip(("concrete", "batches", "bags"), batched(job, fake), strict=True))
    return result


def same(mine: dict[str, Any], wanted: dict[str, Any]) -> None:
    """Hold what the page makes of depths against the library."""
    for key, value in wanted.items():
        if isinstance(value, str | bool):
            assert mine[key] == value, key
        else:
            number = value if isinstance(value, int | float) else value.to_base_units().magnitude
            assert mine[key] == pytest.approx(float(number), rel=1e-9), key


def bars_by_library(system: str, given: list[Any], found: dict[str, str]) -> dict[str, tuple[float, str]]:
    """Return loss and verdict of every bar that is read."""
    job, unit = demo(system), UNIT[system]
    read = {bar["name"]: d for bar in given if (d := several(found, f"b.{bar['name']}.", unit)) is not None}
    beside: dict[str, list[Quantity]] = {}
    for a, b in pairwise(given):
        if a["layer"] == b["layer"] and a["name"] in read and b["name"] in read:
            beside.setdefault(a["name"], []).append(min(read[b["name"]]))
            beside.setdefault(b["name"], []).append(min(read[a["name"]]))
    made = {}
    mine = [bar for bar in given if bar["name"] in read]
    areas = quantity([float(job.steel.sound_area(bar["size"]).m_as("mm²")) for bar in mine], "mm²")
    lost = steel.section_loss(A_0=areas, d=quantity([read[bar["name"]].magnitude for bar in mine], unit)).loss.m_as("")
    for bar, loss in zip(mine, lost, strict=True):
        d = read[bar["name"]]
        name = bar["name"].partition("-")[0] if bar["new"] else job.steel[bar["name"]].row.patch
        table = next(one for one in tables(system, name).calipers if (one.size, one.main) == (bar["size"], "main" in bar["layer"]))  # fmt: skip
        verdicts = [table.verdict(min(d))] + [table.verdict(min(d), other) for other in beside.get(bar["name"], [])]
        verdict = next(word for word in ("call", "add", "leave") if word in verdicts)
        if verdict == "add" and not table.cuts:
            verdict = "call"
        made[bar["name"]] = (float(loss), verdict)
    return made


@pytest.mark.parametrize("system", NIGHTS)
def test_results_are_those_of_the_library_at_random_entries(system: str, opened: Any, folder: Path) -> None:
    data, chance, unit = data_of(folder, system), random.Random(system), UNIT[system]
    data["patches"].append(json.loads(json.dumps(phone_data.of_patch(demo(system), THROUGH))))
    data["placings"].setdefault(data["patches"][-1]["placing"], next(iter(data["placings"].values())))
    names = [one["name"] for one in data["patches"]]
    rows = []
    for at in range(500):
        place = at % len(names)
        found = entry(system, names[place], chance) | bar_entry(
            data["patches"][place]["bars"], data["reads"], unit, chance
        )
        rows.append((place, found))
    made = opened(system).evaluate(
        "([data, rows]) => rows.map(([place, found]) => rules.work(data, data.patches[place], found))", [data, rows]
    )
    seen = {"none": 0, "full": 0, "partial": 0, "leave": 0, "add": 0, "call": 0}
    for at, ((place, found), mine) in enumerate(zip(rows, made, strict=True)):
        assert not mine["faults"], (found, mine["faults"])
        wanted = by_library(system, names[place], found, batches=at % BATCHED == 0)
        if wanted is None:
            assert mine["hole"] is None and mine["calls"], found
            seen["none"] += 1
        else:
            same(mine["hole"], wanted)
            seen["full" if wanted["full"] else "partial"] += 1
        judged = bars_by_library(system, data["patches"][place]["bars"], found)
        assert {name: one["verdict"] for name, one in mine["bars"].items()} == {name: one[1] for name, one in judged.items()}  # fmt: skip
        for name, (loss, verdict) in judged.items():
            assert mine["bars"][name]["loss"] == pytest.approx(loss, abs=1e-12)
            seen[verdict] += 1
            assert verdict != "call" or any(f"bar {name}:" in one for one in mine["calls"])
    assert min(value for key, value in seen.items() if key != "add") > 10, seen
    assert seen["add"] > 20 or not any(table["cuts"] for one in data["patches"] for table in one["calipers"].values())


@pytest.mark.parametrize("system", NIGHTS)
def test_hours_are_those_of_the_table_on_the_cold_side_and_none_beyond_it(
    system: str, opened: Any, folder: Path
) -> None:
    data, job, chance = data_of(folder, system), demo(system), random.Random(f"hours {system}")
    row = next(row for row in job.file.work.placings if row.placement in data["placings"])
    table = openings(system, row.placement)
    assert table is not None and table.rows
    placing = data["placings"][row.placement]
    kelvin = lambda value: float(value.m_as("K"))  # noqa: E731
    airs = sorted({kelvin(one.air) for one in table.rows})
    asked = [(chance.uniform(275, 310), chance.uniform(airs[0] - 3, airs[-1] + 8)) for _ in range(200)]
    asked += [(kelvin(one.concrete), kelvin(one.air)) for one in table.rows]
    made = opened(system).evaluate(
        "([placing, rows]) => rows.map(([warm, air]) => rules.opening(placing, warm, air))", [placing, asked]
    )
    for (warm, air), mine in zip(asked, made, strict=True):
        level = max((one for one in airs if one <= air * (1 + 1e-9)), default=None)
        rows = [one for one in table.rows if level is not None and kelvin(one.air) == level]
        wanted = looked_up(rows, quantity(warm, "K"), "down", lambda one: one.concrete.to("K"))
        assert (mine is None) == (wanted is None), (warm, air)
        if wanted is not None:
            assert mine["opens"] == (wanted.opens and f"{wanted.opens:%Y-%m-%dT%H:%M}")
            assert mine["by"] == (wanted.start_by and f"{wanted.start_by:%Y-%m-%dT%H:%M}")
    assert any(one is None for one in made) and any(made)


def test_a_page_names_the_hold_points_of_the_package_and_what_it_rests_on(folder: Path) -> None:
    for system in NIGHTS:
        data, job, text = data_of(folder, system), demo(system), file_of(folder, system).read_text(encoding="utf-8")
        for one in data["patches"]:
            wanted = [[hold.when, hold.what, hold.rule, hold.who] for hold in hold_points(job, one["name"])]
            assert [list(hold.values()) for hold in one["holds"]] == wanted
        assert (
            job.settings.package.number in text and data["inputs"] in text and "does not replace the engineer" in text
        )
        assert "NOT FOR WORK" in text and "default-src 'none'" in text and "connect-src" not in text
        assert not re.search(r"\son\w+=|\sstyle=|src=", text.split("</style>")[1].split("<script>")[0])


# --- as a crew meets it


def fill(page: Any, found: dict[str, str]) -> None:
    for key, value in found.items():
        place = page.locator(f'[id="f-{key}"]')
        if key.startswith("b.") and not place.is_visible():
            page.click(f"#open-{key.split('.')[1]} > summary")
        place.fill(value)


def save(page: Any, button: str, place: Path) -> Any:
    """Press a button that gives out a file, and return where it is."""
    with page.expect_download() as waiting:
        page.click(button)
    waiting.value.save_as(place)
    return json.loads(place.read_text(encoding="utf-8"))


def test_a_hole_that_goes_through_a_thin_bar_and_a_cold_night_are_told_to_the_engineer(opened: Any) -> None:
    page = opened("metric")
    assert not page.is_visible("#brief")
    fill(page, {"d0": "93", "d1": "70", "c0": "38", "c1": "47"})
    assert "95 mm at least all over" in page.inner_text("#r-hole")  # 47 + 16 + 12 + 20
    assert "partial depth" in page.inner_text("#r-hole") and "none" in page.inner_text("#r-hole")
    page.fill("#f-d0", "111")
    assert "full depth" in page.inner_text("#r-hole") and "needed, and none is drawn" in page.inner_text("#r-hole")
    assert "it goes through" in page.inner_text("#verdict")
    assert page.get_attribute("#verdict a", "href").startswith("tel:01632")
    page.fill("#f-d0", "93")
    assert page.inner_text("#verdict") == ""
    fill(page, {f"b.B2.{at}": "12.4" for at in range(3)})
    assert page.inner_text("#v-B2") == "CALL" and "thinner than its table" in page.inner_text("#verdict")
    fill(page, {"air": "3", "slab": "12", "warm": "18"})
    assert "NO-GO: 4 °C or more" in page.inner_text("#r-placing") and "No-go: air" in page.inner_text("#verdict")
    fill(page, {"air": "8", "begin": "2027-05-08T14:10"})
    assert "NO-GO: by Sat" in page.inner_text("#r-placing") and "the lane stays closed" in page.inner_text("#verdict")
    page.fill("#f-begin", "2027-05-08T00:00")
    assert "Mon 05:00" in page.inner_text("#r-placing")
    page.fill("#f-begin", "2027-05-07T23:50")
    assert "Sun 14:20" in page.inner_text("#r-placing")
    page.fill("#f-warm", "12.9")
    assert "outside the table" in page.inner_text("#verdict") and "strong from" not in page.inner_text("#r-placing")
    assert page.is_visible("#brief")


def test_nonsense_and_what_is_half_entered_is_said_beside_its_field(opened: Any) -> None:
    page = opened("US")
    for text, part, why in (
        ("soon", "", "found"), ("3.", "", "not finished"), ("3 1/", "", "not finished"), ("3.5", "3", "whole inches"), ("900", "", "wanted"),
        ("<b>3</b>", "", "found"), ("3 kg", "", "no length"), ("0", "", "wanted"),
    ):  # fmt: skip
        page.fill("#f-d0", text)
        page.select_option('[aria-label^="Depth 1"]', part)
        assert why in page.inner_text("#e-d0"), text
        assert page.get_attribute("#f-d0", "aria-invalid") == "true"
        assert "No result" in page.inner_text("#r-hole") and "cannot be used" in page.inner_text("#verdict")
    page.fill("#f-d0", "3")
    page.select_option('[aria-label^="Depth 1"]', "3")
    assert page.inner_text("#e-d0") == "" and "3 3/8 in" in page.inner_text("#r-hole")
    page.select_option('[aria-label^="Depth 1"]', "")
    for text, shown in (("3 1/2", "3 1/2 in"), ("89 mm", "3 5/8 in"), ("3.5", "3 1/2 in")):
        page.fill("#f-d0", text)
        assert shown in page.inner_text("#r-hole")
    page.fill("#f-d0", "0.5")  # shallower than the table
    assert "outside the table" in page.inner_text("#verdict")
    fill(page, {"k0.bags": "3"})
    assert "no hour" in page.locator('[id="e-k0.time"]').inner_text()


def test_entries_outlive_the_page_and_clearing_asks_twice(opened: Any) -> None:
    page = opened("metric", "#P2")
    fill(page, {"d0": "80", "who": "A. Foreman"})
    page.check('[id="f-h.0"]')
    page.reload()
    assert page.input_value("#f-d0") == "80" and page.is_checked('[id="f-h.0"]')
    page.click("#patches >> text=P1")
    assert page.input_value("#f-d0") == ""
    for said in ("Really", "Last time"):
        page.click("#clear")
        assert said in page.inner_text("#clear")
    page.focus("#give")  # left alone, it asks anew
    page.click("#patches >> text=P2")
    assert page.input_value("#f-d0") == "80"
    for _ in range(3):
        page.click("#clear")
    assert page.input_value("#f-d0") == "" and "cleared" in page.inner_text("#given")
    page.reload()
    assert page.input_value("#f-d0") == "" and not page.is_checked('[id="f-h.0"]')
    page.click("#give")
    assert "Nothing is entered" in page.inner_text("#given")


def test_what_is_given_out_is_taken_by_the_record_which_names_the_deviations(
    opened: Any, folder: Path, tmp_path: Path, capsys: Any
) -> None:
    page = opened("metric")
    fill(page, {"d0": "105", "d1": "99", "d2": "soon", "c0": "38", "f.time": "2027-05-07T22:40", "who": "A. Foreman"})
    fill(page, {f"b.B2.{at}": "12.4" for at in range(3)} | {"b.B3.0": "15.8"})
    fill(page, {"air": "8", "warm": "18", "k0.time": "2027-05-08T00:55", "k0.bags": "3"})
    page.check('[id="f-h.0"]')
    page.locator('[id="f-n.after removal.inspector"]').fill("B. Inspector")
    made = save(page, "#give", tmp_path / "night.json")
    assert "Left out: P1: “soon”; P1: “”" in page.inner_text("#given") and "1 hold points" in page.inner_text("#given")
    assert [one["table"] for one in made["entries"]] == ["as_found", "as_found_bars", "as_built"]
    job = shutil.copytree(DEMO["metric"], tmp_path / "job")
    assert main(["record", str(job), str(tmp_path / "night.json")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "depths 105 mm; 99 mm" in said and "ticked by B. Inspector" in said
    assert "What differs from the plan" in said and "B2" in said and "105 mm" in said
    assert main(["record", str(DEMO["US"]), str(tmp_path / "night.json")]) == 1
    assert "nothing of it was taken" in capsys.readouterr().err


def test_entries_of_another_revision_are_kept_apart_and_can_be_given_out(
    opened: Any, folder: Path, tmp_path: Path
) -> None:
    data = data_of(folder, "metric")
    other = {"package": data["package"], "revision": "0", "inputs": "f" * 64, "entries": {"P1": {"d0": "50"}}}
    other["file"] = {
        "package": data["package"],
        "revision": "0",
        "closure": data["closure"],
        "entries": [],
        "holds": [],
    }
    key = f"deckcalc field {data['package']} {data['closure']} {'f' * 64}"
    page = opened("metric", before=f"localStorage.setItem({json.dumps(key)}, {json.dumps(json.dumps(other))})")
    assert "revision 0" in page.inner_text("#others") and "kept apart" in page.inner_text("#others")
    assert page.input_value("#f-d0") == ""
    assert save(page, "#others button", tmp_path / "old.json")["revision"] == "0"


def test_a_browser_that_keeps_nothing_says_so_and_works(opened: Any) -> None:
    none = "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } })"
    page = opened("metric", before=none)
    assert "keeps nothing" in page.inner_text("#said")
    fill(page, {"d0": "93"})
    assert "partial depth" in page.inner_text("#r-hole")


def test_the_code_of_a_crew_page_shows_its_patch_and_names_another_revision(opened: Any, folder: Path) -> None:
    data = data_of(folder, "metric")
    page = opened("metric", "#P3")
    assert "Patch P3" in page.inner_text("#plan")
    mark = data["inputs"][:16]
    for code, said in ((f"package=x;revision=A;patch=P2;inputs={mark}", ""), ("package=x;patch=P2;inputs=0123", "another revision"), ("P99", "no patch P99")):  # fmt: skip
        page.evaluate("(code) => { location.hash = code; }", code)
        page.wait_for_function("(said) => document.getElementById('said').textContent.includes(said)", arg=said)
        assert "Patch P2" in page.inner_text("#plan")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("system", NIGHTS)
def test_targets_are_large_nothing_runs_off_and_a_scan_for_accessibility_finds_nothing(
    system: str, scheme: str, opened: Any
) -> None:
    page = opened(system, scheme=scheme)
    fill(page, {"d0": "111" if system == "metric" else "4.5", "d1": "soon", "air": "1"})
    page.click("details > summary")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    small = page.eval_on_selector_all(
        "button, input:not([type=checkbox]), select, summary, a, .tick",
        "all => all.filter((one) => one.offsetParent && Math.min(one.offsetWidth, one.offsetHeight) < 48).map((one) => one.outerHTML)",
    )
    assert not small
    assert page.eval_on_selector_all("input[type=text]", "all => all.filter((one) => one.inputMode === 'decimal').length") > 10  # fmt: skip
    assert not axe(page)


# --- written whole or not at all


def test_pages_of_one_job_stand_beside_one_another_and_replace_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job: Any = demo("US")
    monkeypatch.setattr(phone, "pages", lambda job, names: {f"{name}.html": name for name in names})
    assert phone.write(job, tmp_path / "p", ["a"]) == ([tmp_path / "p" / "a.html"], [])
    phone.write(job, tmp_path / "p", ["b"])
    assert sorted(one.name for one in (tmp_path / "p").glob("*.html")) == ["a.html", "b.html"]
    monkeypatch.setattr(phone.crew, "inputs_hash", lambda job: "other")
    assert phone.write(job, tmp_path / "p", ["b"])[1] == ["a.html"]
    (tmp_path / "p" / "notes.txt").write_text("mine")
    with pytest.raises(PackageError, match=r"notes\.txt"):
        phone.write(job, tmp_path / "p", ["b"])
    assert (tmp_path / "p" / "notes.txt").read_text() == "mine"


def test_a_night_that_is_not_of_the_plan_and_a_job_without_a_plan_are_faults(tmp_path: Path, capsys: Any) -> None:
    with pytest.raises(InputError, match=r"“tonight”, which is no night of the plan; wanted one of weekend-1"):
        phone.pages(demo("metric"), ["tonight"])
    unmixed: Any = SimpleNamespace(file=SimpleNamespace(ready=("patch",), work=WorkPlan()))
    with pytest.raises(InputError, match="No page for the crew: the job has no"):
        phone.pages(unmixed)
    job = shutil.copytree(DEMO["US"].parent / "small_patches", tmp_path / "job")
    assert main(["field", str(job)]) == 1
    assert "No plan of the work is adopted" in capsys.readouterr().err
    assert not (job / "phone").exists()
