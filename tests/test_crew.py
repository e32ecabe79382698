"""Check the crew pages: every number is the one that the job carries, one page for each patch, printed alone or in the package."""

import re
import shutil

import pytest
from samples import SYSTEMS, edit_table, planned, planned_place

from deckcalc import mix, patch, steel
from deckcalc.cli import main
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.curing import sheet as curing_sheet
from deckcalc.curing.formulas import opening
from deckcalc.job import compute
from deckcalc.mix.sheet import cards
from deckcalc.package import build as package
from deckcalc.package import crew, field
from deckcalc.package.documents import PackageError
from deckcalc.patch import sheet as patch_sheet
from deckcalc.show.sections import Text, plain

PATCHES = [(system, one.patch) for system in SYSTEMS for one in planned(system).patch.marked.patches]


def read(system, name):
    """Return a page as it is read: number and unit parted by a plain space."""
    return crew.page(planned(system), name).replace("\u00a0", " ")


def result(job, name, calculation):
    """Return the result of a calculation of the patch subject."""
    return next((run.result for run in job.patch.runs_of(calculation) if run.item == f"patch {name}"), None)


def row(text, step):
    """Return what stands in the row of a step."""
    found = re.search(rf"^\| □ \| \*\*\d+\. {step}\*\* \| (.+?) \|", text, re.M)
    assert found, step
    return found[1]


@pytest.mark.parametrize("system", SYSTEMS)
def test_one_page_for_each_patch_of_the_plan_in_its_order(system):
    job, text = planned(system), crew.pages(planned(system))
    heads = re.findall(r"^# Crew page: patch (\S+)$", text, re.M)
    assert heads == [name for closing in job.file.work for name in closing.patches]
    assert len(re.findall(r"^# ", text, re.M)) == len(heads)  # each heading of this level begins a page
    for page in text.split("# Crew page")[1:]:
        assert len(page) < 6000 and "nan" not in page.lower().split() and "Quantity" not in page


def test_a_patch_outside_the_plan_has_no_page_and_is_named(tmp_path):
    place = shutil.copytree(planned_place(), tmp_path / "job")
    edit_table(place, "placements", {"placement": "N1"}, patches="P1; P2")
    job = compute(place)
    assert "# Crew page: patch P5" not in crew.pages(job) and "and without a crew page: P5." in field.plan(job)


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_limits_and_depths_are_those_of_the_sheet_of_patches(system, name):
    job, text = planned(system), read(system, name)
    sides, volume = (result(job, name, one) for one in (patch.patch_limits, patch.patch_volume))
    for value, kind in (
        (sides.L, units.Distance),
        (sides.B, units.Distance),
        (sides.A, units.Area),
        (volume.V_order, units.OrderVolume),
    ):
        assert job.show(value, kind) in text
    corners = row(text, "Sound, mark")
    row_of_sheet = next(line for line in patch_sheet.set_out(job.patch).splitlines() if line.startswith(f"| {name} |"))
    for cell in (cell.strip() for cell in row_of_sheet.split("|")[2:-1]):
        assert cell in corners  # stations, offsets and diagonals as they are chalked
    saw = row(text, "Saw the edges")
    assert job.show(job.limit("saw_depth").value, units.Length) + " deep" in saw
    deepest = result(job, name, patch.saw_cut)
    printed = re.search(r"Never deeper than ([\d. /]+) ", saw)[1]
    assert printed == units.show_at_most(deepest, units.Length, system).rpartition(" ")[0]
    assert units.read(f"{printed} {'mm' if system == 'SI' else 'in'}", units.Length) <= deepest * (
        1 + 1e-9
    )  # rounded down
    assert (
        job.show(job.patch[name].marked.least_cover, units.Length) in saw
        and job.show(sides.P_cut, units.Distance) in saw
    )
    out = row(text, "Break out")
    assert (
        f"not above {job.show(job.limit('hammer').value, units.Mass, 0)}, not above {job.show(job.limit('hammer_near_bars').value, units.Mass, 0)}"
        in out
    )
    removal, left = result(job, name, patch.removal_depth), result(job, name, patch.remaining_slab)
    if removal is None:
        assert (
            f"Through the slab, {job.show(job.settings.deck.slab_thickness, units.Length)}" in out
            and "Full depth" in text
        )
        return
    assert out.startswith(job.show(removal.h, units.Length)) and job.show(left.t_r, units.Length) in out
    if float(removal.n_r.magnitude):
        assert job.show(removal.h_bars, units.Length) in row(text, "Free the bars")


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_bars_to_add_are_those_of_the_sheet_of_reinforcement(system, name):
    job, text = planned(system), row(read(system, name), "Add bars, tie")
    bars = [one.bar for one in job.file.rows["bars"] if one.patch == name]
    flagged = [bar for bar in bars if bar in job.steel.flagged]
    assert ("No bar to add" in text) == bool(bars and not flagged)
    assert ("No bar of this patch was measured" in text) == (not bars)
    for bar in flagged:
        count = next(run.result.n for run in job.steel.runs_of(steel.supplement) if run.item == f"bar {bar}")
        assert f"beside {bar} " in text and f"{int(count.magnitude)} × {job.settings.reinforcement.added_bar}" in text
        length = job.show(job.steel[bar].cut, units.Length)
        assert length in text and f"each cut to {length}" in job.steel.decisions[f"bar {bar}"]
        lap = job.show(
            next(r.arguments["l_lap"] for r in job.steel.of(f"bar {bar}, lap") if "l_lap" in r.arguments), units.Length
        )
        assert f"lap {lap}" in text and f"laps of {lap}" in job.steel.decisions[f"bar {bar}"]
    if name in job.steel.growth:
        assert job.steel.growth[name].words(job.system) in row(read(system, name), "Sound, mark")


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_batches_are_those_of_the_batch_cards(system, name):
    job, text = planned(system), row(read(system, name), "Batch")
    if name in job.mix.bag_loads:
        bags = job.mix.bag_loads[name]
        assert f"**{bags.count} batch" in text and f"of {max(bags.bags)} bag" in text
        return
    plan = job.mix.loads[name]
    assert re.search(
        rf"\*\*{plan.count} batch(?:es)?\*\* of {re.escape(job.show(plan.volume, units.BatchVolume))}", text
    )
    for one in plan.weights:
        if one.mass is not None:
            assert (
                f"{one.material} {job.show(one.mass, units.Mass, cards.places(one, job.system)).partition(' ')[0]}"
                in text
            )
    run = next(r for r in job.mix.runs_of(mix.bags_opened) if r.item == f"patch {name}, {plan.mix.name}")
    bags = int(run.result.n_bags.magnitude)
    assert f"open {bags} bag" in text and f"{bags * plan.count} in all" in text
    most = re.search(r"Water ([\d.]+) first, ([\d.]+) held back, never more than ([\d.]+)", text)
    first, held, never = (float(part) for part in most.groups())
    exact = [
        float(units.magnitude(v, units.kind_of(units.Mass), system))
        for v in (plan.water.m_first, plan.water.m_held, plan.water.m_most)
    ]
    for printed, true in zip((first, held, never), exact, strict=True):
        assert true - 0.1 < printed <= true + 1e-6  # rounded down, so that the water is never more
    assert first + held <= never + 1e-9


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_placing_curing_and_opening_are_those_of_the_plan_and_of_the_sheet_of_curing(system, name):
    job, text = planned(system), read(system, name)
    required, work = job.limit("opening_strength").value, job.file.work
    mine, placing = work.closure_of(name), work.placing_of(name)
    assert f"Planned: **{work.in_words(mine.opening)}**" in row(text, "Open") and "the lane stays closed" in text
    assert f"only when **{job.show(required, units.Stress)}** is shown" in row(text, "Open")
    hours = f"concrete from {work.in_words(placing.start)} to {work.hour(placing.end)}, lane open {work.in_words(mine.opening)}"
    assert hours in text
    one = job.curing.of_patch(name)
    cover = result(job, name, patch.curing_area)
    assert f"{job.show(cover.L_c, units.Distance)} by {job.show(cover.B_c, units.Distance)}" in row(text, "Cover, cure")
    if one is None:
        assert "there is no weather record for its placing" in text and "not before" not in row(text, "Open")
        assert job.show(job.limit("curing_time").value, units.Hours, 0) in row(text, "Cover, cure")
        return
    check = next(c for c in job.curing.checks if c.item == one.item and c.title.startswith("evaporation"))
    assert curing_sheet.evaporation(job.curing, check.demand) in row(text, "Place, finish")
    if not one.computed:
        assert "the wait is an estimate until a test shows the strength" in text and "not before" not in row(
            text, "Open"
        )
        return
    hour = opening.reached(one.governing.hours, one.governing.low, float(required.m_as("MPa")))
    if hour is None:
        assert "the strength is not reached within the record of the weather" in text
        return
    assert f"not before {work.in_words(one.moment(hour))}" in text
    assert f"{one.moment(hour):%Y-%m-%d %H:%M} by the lower edge" in job.curing.decisions[f"{one.item}: opening"]


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_the_form_comes_off_at_the_strength_of_its_concrete(system, name):
    job, text = planned(system), read(system, name)
    wanted = job.mix.stripping.get(name)
    assert ("Strip the form" in text) == (wanted is not None) == job.patch[name].full
    if wanted is not None:
        assert job.show(wanted, units.Stress) in row(text, "Strip the form")


@pytest.mark.parametrize("system", SYSTEMS)
def test_forms_stand_on_the_pages_of_the_holes_alone(system):
    job = planned(system)
    for name, depth in job.patch.depth_class.items():
        text = read(system, name)
        decided = job.formwork.decisions.get(f"hole {name}")
        assert ("Form**" in text) == (depth == "full depth") == (decided is not None)
        if decided and name in job.formwork:
            assert plain(decided.partition("; ")[0][1:]) in text and "Keep every wheel off" in text
        elif decided:
            assert plain(decided[1:]) in text and "Do not break through" in text


@pytest.mark.parametrize("system", SYSTEMS)
def test_hours_are_those_of_the_timetable(system):
    job = planned(system)
    plan = job.closure
    for name in job.patch.depth_class:
        made = plan.closure_of(name)
        table = read(system, name).partition(f"**Latest start times, {made.name}")[2]
        assert table
        mine = [(i, step) for i, step in enumerate(made.network.steps) if step.group == name]
        lines = [line for line in table.splitlines() if line.startswith("| ")][1:]
        assert len(lines) == len(mine)  # one hour for each step
        for i, step in mine:
            work = plan.rates[step.activity].work
            start = next((one for one in made.latest_starts if one.step == step), None)
            line = next(line for line in lines if line.startswith(f"| {work} |"))
            cells = [cell.strip() for cell in line.split("|")[1:-1]]
            last = made.last_start[i]
            assert cells[1] == f"**{made.hour(last) if last >= 0 else 'not in time'}**"
            assert cells[3] == (start.fallback if start else "")


def test_every_step_has_a_box_and_room_for_time_and_initials():
    for system, name in PATCHES:
        lines = [line for line in crew.page(planned(system), name).splitlines() if line.startswith(f"| {crew.BOX} |")]
        assert len(lines) >= 10
        assert all(line.split("|")[4].strip(" ") == crew.BLANK for line in lines)
        numbers = [int(re.search(r"\*\*(\d+)\.", line)[1]) for line in lines]
        assert numbers == list(range(1, len(lines) + 1))


def test_both_systems_ask_for_the_same_steps():
    steps = {s: {n: re.findall(r"\*\*\d+\. (.+?)\*\*", crew.page(planned(s), n)) for _, n in PATCHES} for s in SYSTEMS}
    assert steps["SI"] == steps["US"]


def test_a_job_without_timetable_curing_and_forms_still_has_its_pages(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(planned_place(), place)
    text = (place / "job.toml").read_text(encoding="utf-8")
    kept = re.split(r"(?m)^(?=\[)", text)
    text = "".join(part for part in kept if not re.match(r"\[+(formwork|curing|traffic|closure|safety)[\].]", part))
    (place / "job.toml").write_text(text, encoding="utf-8")
    (place / "prices.csv").unlink(missing_ok=True)
    job = compute(place)
    pages = crew.pages(job)
    assert pages.count("# Crew page") == len(job.patch.marked.patches)
    assert "Latest start times" not in pages and "By its own drawing" in pages and isinstance(pages, Text)


# --- printed alone


def test_a_sheet_is_chosen_by_its_name_and_a_wrong_name_is_refused(tmp_path, capsys):
    assert [sheet.name for sheet in package.chosen(only="crew_sheets")] == ["81_crew_sheets.ipynb"]
    assert len(package.chosen()) > 5
    with pytest.raises(PackageError, match="there is no sheet “crew_sheet”; there are .*crew_sheets"):
        package.chosen(only="crew_sheet")
    out = tmp_path / "out"
    assert main(["package", str(planned_place()), "--only", "nonsense", "--out", str(out), "--quiet"]) == 1
    assert "there is no sheet “nonsense”" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_the_crew_sheets_are_printed_alone_and_a_failure_leaves_them_as_they_were(tmp_path, monkeypatch, capsys):
    out = tmp_path / "out"
    assert main(["package", str(planned_place()), "--only", "crew_sheets", "--out", str(out), "--quiet"]) == 0
    assert "The sheet crew_sheets is here:" in capsys.readouterr().out
    html = (out / "package.html").read_text(encoding="utf-8")
    assert (
        html.count("Crew page: patch") >= len(planned("US").patch.marked.patches)
        and "Safety sheet for the tool-box talk" in html
    )
    assert "01 Patches" not in html and crew.BOX in html
    before = (out / "package.pdf").read_bytes()
    monkeypatch.setattr(package, "bind", lambda *a, **k: (_ for _ in ()).throw(PackageError("no ink")))
    assert main(["package", str(planned_place()), "--only", "crew_sheets", "--out", str(out), "--quiet"]) == 1
    assert (out / "package.pdf").read_bytes() == before and [path.name for path in tmp_path.iterdir()] == ["out"]


def test_the_notebook_is_one_of_the_package_and_holds_no_logic():
    import nbformat

    book = nbformat.read(folder("notebooks") / "81_crew_sheets.ipynb", as_version=4)
    code = [cell.source for cell in book.cells if cell.cell_type == "code"]
    assert code[0].startswith("JOB = ") and all(len(cell.splitlines()) <= 5 for cell in code)
    assert not any(word in cell for cell in code for word in ("for ", "if ", "def "))
