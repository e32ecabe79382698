"""Check the plan and section of the deck and the plans of the patches: what they say, and that it can be read."""

import math
import re
import shutil
from itertools import combinations

import matplotlib
import numpy as np
import pytest
import shapely
from matplotlib.text import Text as Words
from samples import demo

from deckcalc.chloride.sheet.drawings import potential_map
from deckcalc.chloride.sheet.extents import extents
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.core.units import Length
from deckcalc.job import compute
from deckcalc.patch.sheet import deck, drawings, plans
from deckcalc.patch.sheet.plan_lines import ends, lean
from deckcalc.show import drafting
from deckcalc.show.figures import STYLE
from deckcalc.steel.sheet.bar_lines import bar_lines
from deckcalc.steel.sheet.drawings import bar_maps

NOTEBOOKS = folder("notebooks")
SMALL = NOTEBOOKS / "small_patches"
HEAD = "patch,from joint [ft],from kerb [ft],length [ft],width [ft],depth [in],joint,kerb\n"
TWO = "P1,12.5,3.25,2.5,1.75,3,1,left\nP2,13,3.25,4,2,3.5,{},right\n"
GIRDERS = 'girders = ["-12 ft", "-4 ft", "4 ft", "12 ft"]\nflange_width = "12 in"\n'

#: Changes of job.toml of a small job, and its patches.
VARIANTS = {
    "no girders": ([(GIRDERS, "")], TWO.format(1)),
    "slab span": ([(GIRDERS, 'north = "35 deg"\n'), ("[deck]", '[deck]\nkind = "slab span"\noverlay = "1 1/2 in"')], TWO.format(1)),
    "skew": (
        [("[removal]", 'skew = "30 deg"\nnorth = "200 deg"\nleft_edge = "-15.5 ft"\nright_edge = "15.5 ft"\n'
          'left_stands = "footway and parapet"\nright_stands = "parapet"\n'
          'lanes = [{ name = "southbound", from_offset = "-12 ft", to_offset = "0 ft", direction = "back" }, '
          '{ name = "northbound", from_offset = "0 ft", to_offset = "12 ft", direction = "ahead" }]\n'
          'below = [{ what = "railway", from_station = "10 ft", to_station = "30 ft", from_offset = "-3 ft", to_offset = "10 ft" }, '
          '{ what = "footpath", from_station = "30 ft", to_station = "33 ft" }, { what = "ground", from_station = "33 ft", to_station = "36 ft" }]\n\n'
          '[marking]\ndirection = "skew"\n\n[removal]')],
        TWO.format(1),
    ),
    "backward skew": ([("[removal]", 'skew = "-20 deg"\n\n[removal]')], TWO.format(1)),
    "spans": ([('["0 ft", "52 ft"]', '["0 ft", "52 ft", "110 ft", "162.5 ft", "210 ft", "235 ft"]')],
              "".join(f"P{j}{i},{7 * i + 3},{5 * i + 2},2.5,1.75,3,{j},left\n" for j in (1, 2, 3, 4, 5) for i in (0, 1, 2))),
    "many": ([], "".join(f"P{i},{1.5 * i + 3 + i % 2 * 20},{i * 9 % 22 + 2},1,0.75,3,1,left\n" for i in range(1, 16))),
    "short": ([('["0 ft", "52 ft"]', '["-40 ft", "-26 ft"]'), ("[removal]", 'north = "90 deg"\n\n[removal]')], "P1,3,3.25,2.5,1.75,3,1,left\n"),
    "many girders": ([(GIRDERS, f"girders = {[f'{2 * i - 13} ft' for i in range(14)]}\nflange_width = \"8 in\"\n".replace("'", '"'))], TWO.format(1)),
}  # fmt: skip


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """Return a function that carries a variant of the small job once."""
    made = {}

    def carried(name):
        if name not in made:
            place = tmp_path_factory.mktemp("small") / "job"
            shutil.copytree(SMALL, place)
            changes, rows = VARIANTS[name]
            text = (place / "job.toml").read_text("utf-8")
            for old, new in changes:
                assert old in text
                text = text.replace(old, new, 1)
            (place / "job.toml").write_text(text, encoding="utf-8")
            (place / "patches.csv").write_text(HEAD + rows, encoding="utf-8")
            made[name] = compute(place)
        return made[name]

    return carried


def job_of(name, small):
    if name in VARIANTS:
        return small(name)
    return compute(NOTEBOOKS / name) if name.startswith("small") else demo(name)


def drawn(job):
    """Return all pictures of the plans of a job."""
    surveyed = extents(job.chloride) if job.chloride else {}
    bars = bar_lines(job.steel) if job.steel else []
    return [drawings.deck_plan(job.patch), *deck.deck_pages(job.patch, surveyed), *plans.patch_plans(job.patch, bars)]


def words(picture):
    """Return the texts of a picture with their boxes, in millimetres from the lower left corner."""
    with matplotlib.rc_context(STYLE):
        picture.png  # noqa: B018
        renderer, mm = picture.figure.canvas.get_renderer(), 25.4 / picture.figure.dpi
        found = [text for text in picture.figure.findobj(Words) if text.get_text() and text.get_visible()]
        return [
            (text, shapely.box(*(text.get_window_extent(renderer).extents * mm)))
            for text in found
            if text.axes is None or text.axes.axison or text in text.axes.texts
        ]


def texts(pictures):
    return [text.get_text() for picture in pictures for text, _ in words(picture)]


JOBS = ["US", "SI", "metric", "small_patches", "small_hole", *VARIANTS]


@pytest.mark.parametrize("name", JOBS)
def test_texts_lie_apart_in_the_picture_and_are_large_enough(name, small):
    for picture in drawn(job_of(name, small)):
        wide, tall = (float(side) * 25.4 for side in picture.figure.get_size_inches())
        assert wide == pytest.approx(165) and tall <= 215 + 1e-6
        found = words(picture)
        assert found
        page = shapely.box(0, 0, wide, tall).buffer(0.05)
        for text, box in found:
            assert text.get_fontsize() >= 8.5, text.get_text()
            assert page.covers(box), text.get_text()
        for (one, first), (other, second) in combinations(found, 2):
            assert first.intersection(second).area < 0.01, (one.get_text(), other.get_text())


def shown(text, system):
    """Read a length of a drawing back, in metres."""
    if system == "SI" and re.fullmatch(r"\d+", text):
        return int(text) / 1000
    return float(units.read(text, Length).m_as("m"))


@pytest.mark.parametrize("metres", [0.0, 0.0254 / 8, 0.3048, 0.30479, 1.2345, 14.9, 0.0762])
def test_feet_and_inches_read_back_to_a_sixteenth(metres):
    half = drafting.EIGHTH / 2
    for rounded, low, high in ((round, -half, half), (math.floor, -2 * half, 0), (math.ceil, 0, 2 * half)):
        back = shown(drafting.feet_inches(metres, rounded), "US")
        assert low - 1e-9 <= back - metres <= high + 1e-9


def test_twelve_inches_are_a_foot():
    assert drafting.feet_inches(0.3048 - 1e-5) == "1'-0\""
    assert drafting.feet_inches(0.3048 * 2 + 0.0254 / 2) == "2'-0 1/2\""
    assert drafting.feet_inches(0.0) == '0"' and drafting.measured(-0.0, "SI") == "0"


@pytest.mark.parametrize("system", ["US", "SI", "metric"])
def test_dimensions_are_those_of_the_patches(system):
    job = demo(system)
    form = job.patch.system
    for one in job.patch:
        with matplotlib.rc_context(STYLE):
            row = plans.PatchRow(job.patch, one, [], drafting.Sheet(1, 1))
            sheet = drafting.Sheet(165, row.height)
            row.draw(sheet, 0.0)
        said = [text.get_text() for text in sheet.axes.texts]
        x_1, y_1, x_2, y_2 = one.marked.piece.outline.bounds
        assert row.square
        joint = max(station for station in job.patch.inputs.plan.joints if station <= x_1 + 1e-6)
        kerb = min(y_1 - job.patch.inputs.plan.left, job.patch.inputs.plan.right - y_2)
        wanted = {"joint": x_1 - joint, "kerb": kerb, "L": one.limits.L.m_as("m"), "B": one.limits.B.m_as("m")}
        lengths = [shown(text, form) for text in said if re.fullmatch(r"\d+|(\d+'-)?\d*( ?\d+/8| ?\d+/[24])?\"", text)]
        for what, metres in wanted.items():
            if metres > 1e-6:
                assert min(abs(length - metres) for length in lengths) <= (5.1e-4 if form == "SI" else 1.6e-3), what
        notes = " ".join(said)
        across = drafting.measured(float(np.hypot(x_2 - x_1, y_2 - y_1)), form)
        assert f"diagonals a–c and b–d: {across}" in notes
        if one.left is not None:
            remove = next(shown(text.removeprefix("remove "), form) for text in said if text.startswith("remove"))
            leave = next(shown(text.removeprefix("leave "), form) for text in said if text.startswith("leave"))
            assert remove >= one.left.h_d.m_as("m") - 1e-6  # what has to be reached is rounded up
            assert leave <= one.left.t_r.m_as("m") + 1e-6
        else:
            assert "through" in said
        most = shown(re.search(r"never over (\S+( \d+/\d+\")?)", notes)[1], form)
        assert most <= one.saw.m_as("m") + 1e-6


def test_corners_at_a_skew_are_given_one_by_one(small):
    for name in ("skew", "backward skew"):
        patches = small(name).patch
        for one in patches:
            row = plans.PatchRow(patches, one, [], drafting.Sheet(1, 1))
            assert not row.square
            said = [line for line in row.notes if re.match(r"[a-h]: ", line)]
            corners = plans.corners_of(one.marked)
            assert len(said) == len(corners) == 4
            for line, (x, y) in zip(said, corners, strict=True):
                along, across = (shown(text, "US") for text in line[3:].split(", "))
                joint = patches.inputs.plan.joints[0]
                assert along == pytest.approx(
                    x - joint - y * math.tan(math.radians(patches.inputs.plan.skew)), abs=1.6e-3
                )
                assert across == pytest.approx(min(y - patches.inputs.plan.left, patches.inputs.plan.right - y) if row.kerb.startswith("left") else patches.inputs.plan.right - y, abs=1.6e-3)  # fmt: skip


def test_a_saw_cut_that_meets_bars_is_not_offered(small, tmp_path):
    place = tmp_path / "job"
    shutil.copytree(SMALL, place)
    text = (place / "job.toml").read_text("utf-8") + '\n[limits.saw_depth]\nvalue = "2 in"\nsource = "invented"\n'
    (place / "job.toml").write_text(text, encoding="utf-8")
    said = " ".join(texts(plans.patch_plans(compute(place).patch)))
    assert 'saw no deeper than 1 3/4"' in said and 'saw 2" deep' not in said


def test_bars_to_be_added_are_named_with_their_length():
    job = demo("metric")
    said = " ".join(texts(plans.patch_plans(job.patch, bar_lines(job.steel))))
    added = [bar for bar in job.steel if bar.supplement is not None and bar.cut is not None]
    assert added
    for bar in added:
        assert re.search(rf"add \d+ bars? {bar.size} × {bar.cut.m_as('mm'):.0f} beside [^×]*{bar.name}\b", said)
    assert "add" not in " ".join(texts(plans.patch_plans(job.patch)))


@pytest.mark.parametrize("system", ["US", "metric"])
def test_the_plan_names_everything_and_measures_the_deck(system):
    job = demo(system)
    surveyed = extents(job.chloride)
    said = texts(deck.deck_pages(job.patch, surveyed))
    plan, form = job.patch.inputs.plan, job.patch.system
    for one in job.patch:
        assert said.count(one.name) == 1
    for number in range(1, len(plan.girders) + 1):
        assert said.count(f"G{number}") == 2  # in plan and in section
    for lane in plan.lanes:
        assert lane.name in said
        assert f"{lane.name}   {'→' if lane.direction == 'ahead' else '←'}" in said
    for one in plan.below:
        assert f"{one.what} below" in said
    assert drafting.length(plan.joints[1] - plan.joints[0], form) in said
    assert drafting.length(plan.right - plan.left, form) in said
    assert f"{drafting.length(plan.right_edge - plan.left_edge, form)} from edge to edge" in said
    assert drafting.length(plan.girders[0] - plan.left_edge, form) in said  # overhang
    assert drafting.length(plan.girders[1] - plan.girders[0], form) in said
    assert ("edge of slab" in said) and ({"US": "curb face", "SI": "kerb face"}[form] in said)
    for name in ("soundings", *surveyed):
        assert any(re.match(rf"(.*, )?{name}(, .*)?: stations", text) for text in said), name
        assert any(name in text.split(", ") for text in said), name
    assert not any(re.search(r"\d\.\d{4}", text) for text in said)
    assert sum("looking ahead" in text for text in said) == 1


def test_extents_are_those_of_the_points():
    job = demo("metric")
    for name, rows in (("cover", job.chloride.inputs.covers), ("cores", job.chloride.inputs.cores)):
        x, y = (np.array([getattr(row, side).m_as("m") for row in rows]) for side in ("station", "offset"))
        corners = np.array(extents(job.chloride)[name])
        assert corners.min(axis=0) == pytest.approx([x.min(), y.min()])
        assert corners.max(axis=0) == pytest.approx([x.max(), y.max()])


def test_surveys_of_one_outline_are_named_together_and_a_single_point_is_marked(small):
    patches = small("no girders").patch
    corners = ((1.0, 0.0), (5.0, 0.0), (5.0, 2.0), (1.0, 2.0))
    said = texts(
        [
            deck.plan_and_section(
                patches, {"cover": corners, "half-cell potential": corners[2:] + corners[:2], "cores": ((2.0, -1.0),)}
            )
        ]
    )
    assert "cover, half-cell potential" in said and "cores" in said


def test_all_spans_with_patches_are_drawn_and_the_section_once(small):
    patches = small("spans").patch
    pictures = deck.deck_pages(patches)
    assert len(pictures) > 1
    said = [text for text in texts(pictures) if text.startswith("Span ")]
    assert said == [f"Span {span}, stations ahead" for span in (1, 2, 3, 4, 5)]
    assert sum("looking ahead" in text for text in texts(pictures)) == 1
    assert "on other pages: 3, 4, 5" in pictures[0].caption


def test_stations_run_to_the_right_and_offsets_down(small):
    for name in ("metric", "skew"):
        patches = job_of(name, small).patch
        span = patches.marked.patches[0].span
        with matplotlib.rc_context(STYLE):
            drawing = deck.SpanPlan(patches, drafting.Sheet(165, 100), span, 5.0, 0.0)
        a, b = ends(patches, span)
        assert drawing.at(b, 0)[0] - drawing.at(a, 0)[0] == pytest.approx(5 * (b - a))
        assert drawing.at(a, 2)[1] - drawing.at(a, 0)[1] == pytest.approx(10)
        assert drawing.end(a, 2)[0] - drawing.end(a, 0)[0] == pytest.approx(10 * lean(patches))


def test_maps_of_readings_lie_as_the_plan_does():
    job = demo("metric")
    for picture in (potential_map(job.chloride), *bar_maps(job.steel)):
        for drawing in picture.figure.axes:
            (left, right), (low, high) = drawing.get_xlim(), drawing.get_ylim()
            assert left < right and low > high


def test_a_text_without_room_is_written_at_the_least_of_overlaps():
    with matplotlib.rc_context(STYLE):
        sheet = drafting.Sheet(30, 10)
        sheet.put("one", [drafting.Spot(10, 5)])
        spot = sheet.put("two", [drafting.Spot(10, 5), drafting.Spot(20, 5)])
        assert spot.x == 20
        with pytest.raises(ValueError, match="no spot"):
            sheet.put("three", [])
