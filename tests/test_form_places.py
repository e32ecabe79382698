"""A form stands where the deck leaves room for it: clear of girders, joints, edges; elsewhere the engineer assesses it."""

import dataclasses
import shutil

import matplotlib
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure
from samples import DEMO, demo
from shapely import affinity

from deckcalc import Q, formwork
from deckcalc.base.fields import JobError
from deckcalc.closure.design.steps import to_take_off
from deckcalc.formwork import sheet
from deckcalc.formwork.design import compute as design
from deckcalc.formwork.design.access import coming_off, steps
from deckcalc.formwork.design.standing import ABOVE, crossing, not_here, on_deck, parts
from deckcalc.formwork.inputs import check_plates
from deckcalc.formwork.sheet import drawings, sequence
from deckcalc.job import compute
from deckcalc.package import crew, crew_steps
from deckcalc.patch.design.location import locate
from deckcalc.safety import sheet as safety_sheet
from deckcalc.show.sections import plain

LAP = 0.0762  # of the soffit in the demo job


@pytest.fixture(scope="module")
def job():
    """The US demo job with girder lines that its holes lie clear of."""
    return demo("clear US")


def moved(patches, name, along=0.0, across=0.0, **plan):
    """Return the patches with one of them somewhere else on the deck, or on a deck of another plan."""
    inputs = dataclasses.replace(patches.inputs, plan=patches.inputs.plan.model_copy(update=plan))
    context = dataclasses.replace(patches.context, inputs=inputs)
    one = patches[name]
    outline = affinity.translate(one.marked.piece.outline, along, across)
    marked = dataclasses.replace(
        one.marked,
        piece=dataclasses.replace(one.marked.piece, outline=outline),
        location=locate(inputs.plan, outline),
    )
    each = {**patches.each, name: dataclasses.replace(one, marked=marked)}
    return dataclasses.replace(patches, context=context, each=each)


def forms_at(job, name="P4", along=0.0, across=0.0, **plan):
    """Return the forms of the job with one hole moved."""
    return design(job.formwork.context, moved(job.patch, name, along, across, **plan), job.mix)


def clear_of(job, across, flange):
    """Whether the lap of the soffit of P4 is clear of every flange and of both overhangs, by plain numbers."""
    _, low, _, high = job.patch["P4"].marked.piece.outline.bounds
    low, high, half = low + across - LAP, high + across + LAP, flange / 2
    lines = job.patch.inputs.plan.girders
    inside = low + LAP >= lines[0] - half and high - LAP <= lines[-1] + half
    return inside and all(high <= y - half + 1e-6 or low >= y + half - 1e-6 for y in lines)


def nothing_of(forms, name):
    """Hold that nothing of a form is there."""
    assert name not in forms and name not in forms.loads and name in forms.uncovered
    assert not [run for run in forms.runs if run.item.startswith(f"hole {name}")]
    assert not [
        one for one in forms.materials if f"hole {name}" in one.material and "plate" not in one.material.lower()
    ]
    assert len(drawings.every_form(forms)) == 2 * len(forms.each) and name in forms.uncovered
    found = [check for check in forms.checks if check.item == f"hole {name}"]
    assert [check.verdict for check in found] == ["not covered"] and found[0].why.endswith("engineer to assess")


@settings(max_examples=15, deadline=None)
@given(st.floats(-1.6, 0.9), st.floats(0.15, 0.6))
def test_a_hole_that_is_moved_to_a_flange_has_no_form(across, flange):
    job = demo("clear US")
    forms = forms_at(job, across=across, flange_width=flange)
    if clear_of(job, across, flange):
        assert "P4" in forms and "P4" not in forms.uncovered
    else:
        nothing_of(forms, "P4")


@pytest.mark.parametrize(("gap", "there"), [(1e-3, True), (1e-5, True), (0.0, True), (-1e-5, False), (-1e-3, False)])
def test_the_lap_of_the_soffit_decides_from_both_sides(job, gap, there):
    """Between the lap of the soffit and the flange of G4: one of them moved, then the other."""
    plan, outline = job.patch.inputs.plan, job.patch["P4"].marked.piece.outline
    room = plan.girders[-1] - plan.flange_width / 2 - (outline.bounds[3] + LAP)
    assert room > 0
    by_hole = forms_at(job, across=room - gap)
    by_flange = forms_at(job, flange_width=plan.flange_width + 2 * (room - gap))
    for forms in (by_hole, by_flange):
        assert ("P4" in forms) == there
        if not there:
            nothing_of(forms, "P4")
            assert "the lap of its soffit, 3 in, meets the flange of G4" in forms.uncovered["P4"]


@pytest.mark.parametrize(("width", "there"), [("12.99 in", True), ("13.01 in", False)])
def test_a_job_whose_flanges_reach_the_soffit_lays_no_form_out(tmp_path, width, there):
    place = tmp_path / "job"
    text = (DEMO["clear US"] / "job.toml").read_text("utf-8")
    shutil.copytree(DEMO["clear US"], place)
    (place / "job.toml").write_text(
        text.replace('flange_width = "12 in"', f'flange_width = "{width}"'), encoding="utf-8"
    )
    made = compute(place)
    assert ("P4" in made.formwork) == ("P8" in made.formwork) == there
    opened = [one for one in made.open_items if "form designed" in one.what]
    assert bool(opened) != there and all(one.patches for one in opened)


def test_a_hole_over_a_girder_says_what_is_clear_of_it(job):
    plan = job.patch.inputs.plan
    middle = sum(job.patch["P4"].marked.piece.outline.bounds[1::2]) / 2
    why = forms_at(job, across=plan.girders[2] - middle).uncovered["P4"]
    assert why.startswith("it lies over G3") and "each part with a form of its own" in why
    assert "overhang" in forms_at(job, across=plan.girders[-1] + 0.3 - middle).uncovered["P4"]


@pytest.mark.parametrize(("gap", "there"), [(LAP + 1e-4, True), (LAP - 1e-4, False), (0.0, False)])
def test_the_lap_stops_at_the_joint(job, gap, there):
    room = job.patch["P8"].location.joint
    forms = forms_at(job, "P8", along=room - gap)
    assert ("P8" in forms) == there
    assert there or "joint" in forms.uncovered["P8"]


def test_strongbacks_bear_on_the_deck(job):
    """A slab span: the hole is moved to the kerb, its lap stays on the slab, its strongbacks do not."""
    slab = {"girders": [], "flange_width": None}
    room = job.patch["P4"].location.kerb
    rules = job.formwork["P4"].rules
    end = rules.clear + rules.bearing
    for gap, there in ((end + 1e-4, True), (end - 1e-4, False)):
        forms = forms_at(job, across=room - gap, **slab)
        assert ("P4" in forms) == there
        if not there:
            nothing_of(forms, "P4")
            assert "strongbacks would bear beyond" in forms.uncovered["P4"]


def test_every_part_below_the_deck_lies_within_the_soffit(job):
    for form in job.formwork:
        made = parts(form)
        soffit = next(part for part in made if part.kind == "soffit")
        below = [part for part in made if part.kind not in ABOVE]
        assert all(soffit.shape.buffer(1e-9).covers(part.shape) for part in below)
        counted = {kind: sum(part.kind == kind for part in made) for kind in {part.kind for part in made}}
        assert counted["joist"] == form.found.n_b + 1 and counted[form.carrier_part] == form.found.n_a + 1
        assert counted.get("hanger", counted.get("shore")) == (form.hangers if form.hanger else form.shores)
        assert counted.get("block", 0) == (form.blocks if form.hanger else 0)


def test_a_part_that_would_stand_in_a_girder_is_named(job):
    wide = dataclasses.replace(job.formwork, patches=moved(job.patch, "P4", flange_width=0.6))
    assert "in G4" in crossing(wide, job.formwork["P4"])
    assert crossing(job.formwork, job.formwork["P4"]) is None and not_here(wide, "P4") is not None


def test_forms_of_a_skew_marking_lie_as_the_hole_does(job):
    """A form is turned with its hole: the soffit of a hole that is turned by 20 degrees covers it and no more than its lap."""
    patches = moved(job.patch, "P4")
    marking = patches.inputs.marking.model_copy(update={"direction": "skew"})
    inputs = dataclasses.replace(
        patches.inputs, marking=marking, plan=patches.inputs.plan.model_copy(update={"skew": 20.0})
    )
    one = patches["P4"]
    turned = affinity.rotate(one.marked.piece.outline, 20.0, origin=one.marked.piece.outline.centroid)
    marked = dataclasses.replace(one.marked, piece=dataclasses.replace(one.marked.piece, outline=turned))
    patches = dataclasses.replace(
        patches,
        context=dataclasses.replace(patches.context, inputs=inputs),
        each={**patches.each, "P4": dataclasses.replace(one, marked=marked)},
    )
    forms = dataclasses.replace(job.formwork, patches=patches)
    soffit = on_deck(forms, "P4", next(part for part in parts(job.formwork["P4"]) if part.kind == "soffit").shape)
    assert soffit.symmetric_difference(turned.buffer(LAP, join_style="mitre")).area < 1e-6


def test_a_hole_that_is_no_rectangle_is_not_covered(job):
    one = job.patch["P4"].marked.piece.outline
    x_1, y_1, *_ = one.bounds
    cut = one.difference(shapely.Polygon([(x_1, y_1), (x_1 + 0.2, y_1), (x_1, y_1 + 0.2)]))
    patches = moved(job.patch, "P4")
    patches["P4"].marked.__dict__["piece"] = dataclasses.replace(patches["P4"].marked.piece, outline=cut)
    assert "no rectangle" in not_here(dataclasses.replace(job.formwork, patches=patches), "P4")


# --- weight, wheel, what is below


@pytest.mark.parametrize(("stated", "governs"), [(100, "materials"), (200, "stated")])
def test_the_heavier_of_two_unit_weights_counts(job, stated, governs):
    want = job.formwork.choices.model_copy(update={"unit_weight": Q(stated, "lbf/ft^3")})
    context = job.formwork.context
    context = dataclasses.replace(context, inputs=dataclasses.replace(context.inputs, formwork=want))
    forms = design(context, job.patch, job.mix)
    for name in forms.loads:
        made = next(run for run in forms.of(f"hole {name}, concrete") if run.calculation is formwork.concrete_weight)
        assert made.arguments["rho_c"] == job.mix.for_patch(name).density
        load = next(run for run in forms.of(f"hole {name}, load"))
        by_materials, w_c, w_s = (
            float(w.m_as("kN/m³")) for w in (made.result.w_m, load.arguments["w_c"], want.unit_weight)
        )
        assert w_c == pytest.approx(max(by_materials, w_s)) and (by_materials < w_s) == (governs == "stated")


def test_what_is_below_stands_in_the_plan_alone(job, tmp_path):
    text = sheet.basis(job.formwork)
    for name in ("P4", "P8"):
        below = ", ".join(job.patch[name].location.below)
        assert below and below in next(line for line in text.splitlines() if line.startswith(f"| {name} "))
    talk = safety_sheet.talk(job.safety, job.steel, job.formwork, job.traffic, job.closure)
    for what, names in job.safety.below.items():
        assert f"{what} under {', '.join(names)}".lower() in talk.lower()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('what = "water"', 'what = "ground"\nto_offset = "0 ft"', "plan.below: names nothing under hole P4"),
        ('what = "footpath"', 'what = "water"', "formwork.holes.P8.carried: shores stand on ground"),
        ("[formwork.plates]", '[formwork.plates]\nwheel = "16 kip"', "formwork.plates.wheel: deck_strip.wheel says it"),
        (
            "[formwork.plates]",
            '[formwork.plates]\nconcrete_strength = "3500 psi"',
            "deck_strip.concrete_strength says it",
        ),
        ("[formwork.holes.P4]", '[formwork.holes.P4]\nbelow = "water"', "formwork.holes.P4.below"),
    ],
)
def test_a_fact_in_two_places_or_in_none_is_refused(tmp_path, old, new, says):
    place = tmp_path / "job"
    shutil.copytree(DEMO["clear US"], place)
    text = (place / "job.toml").read_text("utf-8")
    assert old in text
    (place / "job.toml").write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        compute(place)
    assert says in str(caught.value)


def test_without_a_deck_strip_the_plates_have_their_own_wheel(job):
    inputs, faults = dataclasses.replace(job.formwork.inputs, deck_strip=None), []
    check_plates(inputs, faults)
    assert len(faults) == 4 and all("missing" in fault for fault in faults)
    own = inputs.formwork.plates.model_copy(
        update={
            "wheel": Q(80, "kN"),
            "tyre_width": Q(0.5, "m"),
            "tyre_length": Q(0.2, "m"),
            "concrete_strength": Q(30, "MPa"),
        }
    )
    inputs, faults = dataclasses.replace(inputs, formwork=inputs.formwork.model_copy(update={"plates": own})), []
    check_plates(inputs, faults)
    assert not faults and inputs.plate_load(None).wheel == Q(80, "kN")
    strip = job.settings.deck_strip
    assert job.formwork.inputs.plate_load(2002)[:3] == (strip.wheel, strip.wheel_width, strip.wheel_length)


# --- one list of what comes off; crew pages; drawings


def test_what_comes_off_is_one_list_for_sheet_timetable_and_crew(job):
    forms = job.formwork
    for form in forms:
        off = coming_off(forms, form)
        assert tuple(off) == form.take_off == to_take_off(job.closure, form.name)
        assert steps(forms, form)[-len(off) :] == list(off.values())
        page, drawing = crew_steps.form(job, form.name)[1], sequence(forms)
        assert "steps as on the form drawing" in page and all(plain(step) in drawing for step in steps(forms, form))
        if job.file.work.placing_of(form.name):
            taken = crew.page(job, form.name).replace("\u00a0", " ")
            assert all(plain(step) in taken and plain(step) not in page for step in off.values())
        assert plain(form.keep_off.partition("; ")[0][1:]) in page
    assert to_take_off(demo("US").closure, "P4") == ("form",)


def test_plates_are_a_fallback_only_where_the_hole_may_be_closed(job):
    plan, forms = job.closure, job.formwork
    said = {one.step.name: one.fallback for night in plan.closures for one in night.latest_starts}
    for row in plan.rates.values():
        for name in forms.patches.depth_class if row.with_plates else ():
            if (step := f"{row.step} {name}") in said:
                assert said[step] == (row.with_plates if forms.closable(name) else row.fallback)
                assert ("plate" in said[step]) == forms.closable(name)
    assert any("plate" in fallback for fallback in said.values())


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("do not saw another patch", "lay a plate over it", "step saw, column fallback: found “lay a plate over it”"),
        (
            "no concrete in this closure; keep the lane closed and tell the authority,",
            ",",
            "step form, column fallback: empty",
        ),
        ("hole,strongbacks,carpenters", "hole,strength,carpenters", "step hangers, column after: wanted strongbacks"),
    ],
)
def test_rates_that_do_not_fit_the_forms_are_refused(tmp_path, old, new, says):
    place = tmp_path / "job"
    shutil.copytree(DEMO["clear US"], place)
    text = (place / "rates.csv").read_text("utf-8")
    assert old in text
    (place / "rates.csv").write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        compute(place)
    assert says in str(caught.value)


def test_a_crew_page_without_a_form_says_so():
    said = crew_steps.form(demo("US"), "P4")[1]
    assert (
        "engineer to assess" in said and "over G4" in said and "Do not break through" in said and "joists" not in said
    )


def test_a_plan_lies_as_the_deck_plan_does(job):
    k = 1 / 0.3048
    for system, name in (("clear US", "P4"), ("clear US", "P8"), ("US", "P8")):
        forms = demo(system).formwork
        drawing = Figure().subplots()
        drawings.plan(forms, name, drawing)
        low, high = drawing.get_ylim()
        assert low > high and drawing.get_xlim()[0] < drawing.get_xlim()[1]  # offsets run down, stations to the right
        drawn = [
            patch.get_path().get_extents() for patch in drawing.patches if isinstance(patch, matplotlib.patches.Polygon)
        ]
        wanted = [value * k for value in forms.patches[name].marked.piece.outline.bounds]
        assert any([box.x0, box.y0, box.x1, box.y1] == pytest.approx(wanted) for box in drawn)
        bands = [patch for patch in drawing.patches if isinstance(patch, matplotlib.patches.Rectangle)]
        plan = forms.patches.inputs.plan
        flanges = {round((y - plan.flange_width / 2) * k, 6) for y in plan.girders}
        assert bands and {round(band.get_y(), 6) for band in bands} <= flanges
