"""Check the crew pages: every number is the one that the job carries, one page for each patch, printed alone or in the package."""

import hashlib
import re
import shutil
from fractions import Fraction

import matplotlib.text
import pytest
from pypdf import PdfReader
from samples import SYSTEMS, demo, edit_table, planned, planned_place

from deckcalc import mix, patch, steel
from deckcalc.base.fields import JobError
from deckcalc.base.replacing import as_json
from deckcalc.cli import main
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.curing.formulas import opening
from deckcalc.job import compute
from deckcalc.job.holds import AFTER_TYING, WHEN, hold_points
from deckcalc.mix.sheet import cards
from deckcalc.package import build as package
from deckcalc.package import crew, field, night
from deckcalc.package.documents import PackageError
from deckcalc.patch.sheet.hole import sketch
from deckcalc.show.sections import Text, plain

PATCHES = [(system, one.patch) for system in SYSTEMS for one in planned(system).patch.marked.patches]


def read(system, name):
    """Return a page as it is read: number and unit parted by a plain space."""
    return crew.page(planned(system), name).replace("\u00a0", " ")


def result(job, name, calculation):
    """Return the result of a calculation of the patch subject."""
    return next((run.result for run in job.patch.runs_of(calculation) if run.item == f"patch {name}"), None)


def row(text, step):
    """Return what is said of a step, after its name and its planned start."""
    line = next(line for line in text.splitlines() if re.match(rf"\| □ \| \*\*\d+\. {step}\*\*", line))
    said = line.split(" | ")[1].partition("**")[2].partition("**")[2]
    return said.partition(": ")[2] if said.startswith(",") else said.strip()


def steps(text):
    """Return the names of the steps of a page."""
    return re.findall(r"^\| □ \| \*\*\d+\. (.+?)\*\*", text, re.M)


def reached(job, name):
    """Whether the removal of a patch exposes bars."""
    removal = job.patch[name].removal
    return removal is None or float(removal.n_r.magnitude) > 0


@pytest.mark.parametrize("system", SYSTEMS)
def test_one_sheet_for_each_patch_of_the_plan_under_its_closure_in_the_order_of_the_work(system):
    job = planned(system)
    texts = [one for one in night.sheets(job) if isinstance(one, Text)]
    heads = re.findall(r"^# (.+)$", "\n".join(texts), re.M)
    wanted = []
    for closing in job.file.work:
        wanted += [
            f"Closure {closing.name}: night sheet",
            f"Closure {closing.name}: safety sheet for the tool-box talk",
        ]
        wanted += [f"Crew page: patch {name}" for name in closing.patches]
    assert heads == wanted
    for text in texts:
        assert "nan" not in text.lower().split() and "Quantity" not in text


def test_a_patch_outside_the_plan_has_no_page_and_is_named(tmp_path):
    place = shutil.copytree(planned_place(), tmp_path / "job")
    edit_table(place, "placements", {"placement": "N1"}, patches="P1; P2")
    job = compute(place)
    assert "P5" not in crew.names(job) and "and without a crew page: P5." in field.plan(job)


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
    else:
        assert (
            not {"Free the bars", "Add bars, tie"} & set(steps(text))
            and "bright steel" not in text
            and "Tie" not in text
        )


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_bars_to_add_are_those_of_the_sheet_of_reinforcement(system, name):
    job = planned(system)
    if not reached(job, name):
        assert not any("bar" in step.lower() for step in steps(read(system, name)))
        return
    text = row(read(system, name), "Add bars, tie")
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
    job, text = planned(system), read(system, name)
    if name in job.mix.bag_loads:
        bags = job.mix.bag_loads[name]
        assert f"**{bags.count} batch" in text and f"{sum(bags.bags)} bag" in text
        for count in set(bags.bags):
            water = cards.water_mass(job.mix, count * bags.design.concrete.water, count * bags.design.concrete.water)
            assert f"**{count} bag" in text and f"| **water, never more** | **{water}** |" in text
        return
    plan = job.mix.loads[name]
    assert re.search(
        rf"\*\*{plan.count} batch(?:es)?\*\* of {re.escape(job.show(plan.volume, units.BatchVolume))}", text
    )
    for one in plan.weights:
        if one.mass is not None:
            mass = job.show(one.mass, units.Mass, cards.places(one, job.system)).partition(" ")[0]
            assert f"| {one.material} | **{mass}** (" in text
        else:
            dose, ounces = cards.in_cup(one.volume, job.system)
            assert f"**{ounces or dose}**" in text
    run = next(r for r in job.mix.runs_of(mix.bags_opened) if r.item == f"patch {name}, {plan.mix.name}")
    assert f"{int(run.result.n_bags.magnitude) * plan.count} bag" in text
    for words, mass in (
        ("first", plan.water.m_first),
        ("held back", plan.water.m_held),
        ("never more in all", plan.water.m_most),
    ):
        assert f"| **water, {words}** | **{cards.water_mass(job.mix, mass, plan.water.m_most)}** |" in text


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_placing_curing_and_opening_are_those_of_the_plan_and_of_the_sheet_of_curing(system, name):
    job, text = planned(system), read(system, name)
    required, work = job.limit("opening_strength").value, job.file.work
    mine, placing = work.closure_of(name), work.placing_of(name)
    assert f"Planned **{work.in_words(mine.opening)}**" in row(text, "Open") and "the lane stays closed" in text
    assert f"only when **{job.show(required, units.Stress)}** is shown" in row(text, "Open")
    short = lambda moment: crew.short(work.in_words(moment)).replace("\u00a0", " ")  # noqa: E731
    hours = f"lane closed {work.in_words(mine.closing)}, concrete {short(placing.start)} to {work.hour(placing.end)}, lane open {short(mine.opening)}"
    assert hours in text
    one = job.curing.of_patch(name)
    cover = result(job, name, patch.curing_area)
    assert f"{job.show(cover.L_c, units.Distance)} by {job.show(cover.B_c, units.Distance)}" in row(text, "Cover, cure")
    if one is None:
        assert "there is no weather record for its placing" in text and "not before" not in row(text, "Open")
        assert job.show(job.limit("curing_time").value, units.Hours, 0) in row(text, "Cover, cure")
        return
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
        made, text = plan.closure_of(name), read(system, name)
        said = {start.step.name: start.fallback for start in made.latest_starts}
        dropped = () if reached(job, name) else ("tie",)
        for i, step in enumerate(made.network.steps):
            if step.group != name or step.activity in dropped:
                continue
            latest = crew.moment(made, made.last_start[i]).replace("\u00a0", " ")
            start = crew.moment(made, float(made.times.start[i])).replace("\u00a0", " ")
            assert any(f", {start}:" in line and f"| **{latest}** |" in line for line in text.splitlines()), step
            if step.name in said:
                assert f"*Late: {said[step.name]}.*" in text


def test_every_step_has_a_box_and_room_for_initials():
    for system, name in PATCHES:
        lines = [line for line in read(system, name).splitlines() if line.startswith(f"| {crew.BOX} |")]
        assert len(lines) >= 10 and all(line.count(" | ") == 3 for line in lines)
        numbers = [int(found[1]) for line in lines if (found := re.search(r"\*\*(\d+)\.", line))]
        assert numbers == list(range(1, len(numbers) + 1)) and len(lines) - len(numbers) == 3 + reached(
            planned(system), name
        )  # the hold points


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_hold_points_are_those_of_the_list_each_with_who_signs(system, name):
    job, text = planned(system), read(system, name)
    holds = hold_points(job, name)
    mine = [when for when in WHEN if when != AFTER_TYING or reached(job, name)]
    lines = {when: next(line for line in text.splitlines() if f"**HOLD {when}**" in line) for when in mine}
    for hold in holds:
        assert f"{plain(hold.what)}: {plain(hold.rule)}" in lines[hold.when], hold
        assert f"**{hold.who.capitalize()}**" in lines[hold.when]
    assert sum(line.count(crew.BOX) - 1 for line in lines.values()) == len(holds)  # no other
    order = [text.index(f"**HOLD {when}**") for when in mine]
    assert {hold.when for hold in holds} == set(mine)
    assert (
        order == sorted(order)
        and text.index("Break out**") < order[0] < order[-2] < text.index("Place, finish**") < order[-1]
    )


@pytest.mark.parametrize(("system", "name"), PATCHES)
def test_corners_and_diagonals_are_those_of_the_outline(system, name):
    """From joint and kerb by subtraction, diagonals by Pythagoras, to a millimetre or an eighth of an inch."""
    job = planned(system)
    one, plan = job.patch[name], job.settings.plan
    found = crew.hole_of(job, name)
    outline = list(one.marked.piece.outline.exterior.coords)[:-1]
    joint = plan.joints[one.marked.span - plan.first_span]
    left = min(y for _, y in outline) - plan.left <= plan.right - max(y for _, y in outline)
    within = 0.0005 if system == "SI" else 0.0254 / 16
    tape = lambda text: float(text) / 1000 if system == "SI" else feet(text)  # noqa: E731
    places = [(tape(x), tape(y)) for _, x, y in found.places()]
    assert len(places) == len(outline) and not plan.skew
    for x, y in outline:
        across = y - plan.left if left else plan.right - y
        assert any(abs(a - (x - joint)) <= within * 1.001 and abs(b - across) <= within * 1.001 for a, b in places)
    if len(outline) == 4:
        for said, (i, j) in zip(found.diagonals(), ((0, 2), (1, 3)), strict=True):
            (a, b), (c, d) = found.corners[i], found.corners[j]
            assert abs(tape(said) - ((a - c) ** 2 + (b - d) ** 2) ** 0.5) <= within * 1.001
    text = read(system, name)
    for _, x, y in found.places():
        assert f"**{x}**" in text and f"**{y}**" in text


def feet(text):
    """Return metres of feet, inches and eighths."""
    whole, _, inches = text.strip('"').rpartition("'-")
    return 0.0254 * (12 * int(whole or 0) + float(sum(map(Fraction, inches.split()))))


def test_telephones_are_those_of_the_job_and_a_missing_one_is_a_blank_to_fill(tmp_path):
    job = planned("US")
    text = crew.call(job, "P1")
    assert (
        f"**{plain(job.settings.people.engineer_telephone)}**" in text
        and f"**{plain(job.settings.bridge.owner_telephone)}**" in text
    )
    emergency = job.settings.safety.emergency
    assert (
        emergency.care in text
        and all(plain(number) in text for number in emergency.numbers.values())
        and "fill in" not in text
    )
    place = shutil.copytree(planned_place(), tmp_path / "job")
    toml = (place / "job.toml").read_text("utf-8")
    (place / "job.toml").write_text(re.sub(r"(?m)^(engineer|owner)_telephone = .*\n", "", toml), encoding="utf-8")
    assert crew.call(compute(place), "P1").count("(fill in before work begins)") == 2
    for wrong in ("call me", "123456", "TBD"):
        changed = re.sub(r"(?m)^engineer_telephone = .*", f'engineer_telephone = "{wrong}"', toml)
        (place / "job.toml").write_text(changed, encoding="utf-8")
        with pytest.raises(JobError, match="people.engineer_telephone"):
            compute(place)


def test_the_code_names_package_patch_and_the_hash_of_the_inputs():
    job = planned("US")
    listed = package.manifest(job)["inputs"]
    assert crew.inputs_hash(job) == hashlib.sha256(as_json(listed)).hexdigest()
    assert crew.code(job, "P1") != crew.code(job, "P2") and crew.code(job, "P1") == crew.code(job, "P1")
    squares = crew.code(job, "P1")
    assert all(len(line) == len(squares) for line in squares) and {one for line in squares for one in line} == {0, 1}


# --- the field set of the demo jobs, printed


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    """Return the pages of the field set of a demo job, built once."""
    found = {}

    def pages_of(key):
        if key not in found:
            out = package.build(demo(key), tmp_path_factory.mktemp("field") / key, quiet=True, parts=["field"])
            found[key] = PdfReader(out / "field.pdf").pages
        return found[key]

    return pages_of


@pytest.mark.parametrize("key", ["US", "metric"])
def test_nothing_in_the_field_set_is_smaller_than_eleven_points_and_a_patch_has_two_sides(printed, key):
    sides, now = {}, ""
    for page in printed(key):
        sizes = set()

        def seen(text, cm, tm, font, size, sizes=sizes):
            if text.strip():
                sizes.add(round(abs(size * (tm[3] or tm[1]) * (cm[3] or cm[1])), 2))

        text = page.extract_text(visitor_text=seen)
        assert min(sizes) >= 11 - 0.01, sorted(sizes)
        head = re.search(r"^(.*?)\s+side (\d+) of (\d+)", text, re.M)
        now = head[1]
        sides[now] = max(sides.get(now, 0), int(head[3]))
    mine = {name: count for name, count in sides.items() if name.startswith(("Crew page", "Closure"))}
    job = demo(key)
    assert len(mine) == len(crew.names(job)) + 2 * len(list(job.file.work)) and set(mine.values()) == {2}


def test_the_sketch_is_drawn_with_letters_that_are_read_at_arms_length():
    for key in ("US", "metric"):
        for name in crew.names(demo(key)):
            drawn = sketch(crew.hole_of(demo(key), name)).figure.findobj(matplotlib.text.Text)
            assert min(one.get_fontsize() for one in drawn if one.get_text().strip() and one.get_visible()) >= 11


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_night_sheet_has_the_deadline_of_each_placing_and_a_safety_sheet_only_its_patches(system):
    job = planned(system)
    for closing in job.file.work:
        text, made = night.night(job, closing).replace("\u00a0", " "), job.closure.closure_of(closing.patches[0])
        assert job.file.work.in_words(closing.closing) in text and job.file.work.in_words(closing.opening) in text
        for i, step in enumerate(made.network.steps):
            if job.closure.rates[step.activity].per == "mixer":
                by = crew.moment(made, made.last_start[i]).replace("\u00a0", " ")
                assert re.search(rf"\| \*\*{step.group}\*\* \|.*\| \*\*{re.escape(by)}\*\* \|", text)
        others = set(job.patch.depth_class) - set(closing.patches)
        assert not {name for name in others if re.search(rf"\b{name}\b", night.talk(job, closing.patches))}


def test_both_systems_ask_for_the_same_steps():
    found = {s: {n: steps(crew.page(planned(s), n)) for _, n in PATCHES} for s in SYSTEMS}
    assert found["SI"] == found["US"]


def test_a_job_without_timetable_curing_and_forms_still_has_its_pages(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(planned_place(), place)
    text = (place / "job.toml").read_text(encoding="utf-8")
    kept = re.split(r"(?m)^(?=\[)", text)
    text = "".join(part for part in kept if not re.match(r"\[+(formwork|curing|traffic|closure|safety)[\].]", part))
    (place / "job.toml").write_text(text, encoding="utf-8")
    (place / "prices.csv").unlink(missing_ok=True)
    job = compute(place)
    pages = "\n".join(one for one in night.sheets(job) if isinstance(one, Text))
    assert pages.count("# Crew page") == len(job.patch.marked.patches)
    assert "*Late:" not in pages and "By its own drawing" in pages


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
        and "safety sheet for the tool-box talk" in html
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
    assert code[0].startswith("JOB = ") and all(len(cell.splitlines()) <= 6 for cell in code)
    assert not any(word in cell for cell in code for word in ("for ", "if ", "def "))
