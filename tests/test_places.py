"""Each verdict by the place of its patch: bay, inner and outer girder, overhang, joint, slab span; what follows for the patch."""

import dataclasses
import math

import pytest
from generated import START, Area, Small
from samples import demo, refusal

from deckcalc import Q
from deckcalc.base.fields import GIRDERS, NOT_HERE
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, Check, Limit
from deckcalc.core.units import Length, kind_of
from deckcalc.job import compute
from deckcalc.patch.sheet import drawings, locations
from deckcalc.steel import sheet
from deckcalc.steel.design.at_patches import BESIDE, WHOLE
from deckcalc.steel.design.results import NOT_ASKED
from deckcalc.steel.sheet import appendix

GIRDER_LINES = (-3.6, -1.2, 1.2, 3.6)
#: Half of the sides of the patch that comes of the rectangle, margin included.
HALF_WIDTH, HALF_LENGTH = 0.15 + 0.0635, 0.2 + 0.0635
ZONE, END = 0.25 * 2.4, 0.6096  # the limits girder_zone and joint_zone in a US job


def small(offset, station=START + 8.0, girders=GIRDER_LINES, bars=((1, 0.61), (1, 0.62)), depths=(0.05, 0.06), **other):
    """Return a job of one patch at an offset."""
    area = Area(station, offset, 0.4, 0.3, depths, 0.05)
    return Small("US", girders, 0.3, 1.2, 1, 0.2, (area,), ((1,),), (32, 32), bars, **other)


def carried(*args, **other):
    """Return the reinforcement and the patch of such a job."""
    job = small(*args, **other).job()
    return job.steel, job.patch["P1"], job


def found(steel):
    """Return the verdicts at the patch by the titles of the checks."""
    return {one.title: one.verdict for one in steel.checks if one.item == "patch P1"}


def test_a_patch_that_moves_gets_the_verdict_of_its_place():
    bay, inner, outer, over_edge, overhang, end = (
        carried(*place)[0] for place in ((0.0,), (1.2,), (3.3,), (3.8,), (4.3,), (0.0, START + 0.6))
    )
    reach = [steel.reach["P1"] for steel in (bay, inner, outer, over_edge, overhang, end)]
    assert reach[0].over == NOT_ASKED and reach[1].over in (SATISFIED, NOT_SATISFIED)
    assert [one.over for one in reach[2:]] == [NOT_COVERED] * 4
    assert [bool(one.beyond) for one in reach] == [False, False, False, True, True, True]
    assert "right overhang" in reach[4].beyond and "joint or deck end" in reach[5].beyond
    assert "outer girder" in outer.decisions["strip at patch P1"] and "mid-bay" in bay.decisions["strip at patch P1"]
    for steel in (over_edge, overhang, end):
        assert found(steel)[WHOLE] == NOT_COVERED and not [one for one in steel.states if one.patch]
        assert not [run for run in steel.runs if run.item.startswith("patch P1")]
    assert "engineer to assess" in overhang.decisions["strip at patch P1"]


@pytest.mark.parametrize(("apart", "over"), [(-0.001, True), (0.0, False), (0.001, False)])
def test_the_top_bars_are_judged_over_the_girder_nearer_than_the_share_of_the_spacing(apart, over):
    steel, patch, _ = carried(1.2 - ZONE - HALF_WIDTH - apart)
    assert patch.location.to_girder == pytest.approx(ZONE + apart, abs=1e-6)
    assert (steel.reach["P1"].over != NOT_ASKED) is over
    assert any(state.state == "as found" for state in steel.states) is over


@pytest.mark.parametrize(("apart", "near"), [(-0.001, True), (0.0, False), (0.001, False)])
def test_the_strip_ends_nearer_to_a_joint_than_the_limit(apart, near):
    steel, patch, _ = carried(0.0, START + END + HALF_LENGTH + apart)
    assert patch.location.joint == pytest.approx(END + apart, abs=1e-6)
    assert bool(steel.reach["P1"].beyond) is near and (found(steel).get(WHOLE) == NOT_COVERED) is near


def test_where_no_slab_projects_the_outer_girder_carries_no_overhang():
    steel, patch, _ = carried(3.3)
    assert patch.location.to_outer < ZONE and steel.reach["P1"].over == NOT_COVERED
    flush = dataclasses.replace(small(3.3), overhang=0.15).job()
    assert flush.patch["P1"].location.to_outer == math.inf
    assert flush.steel.reach["P1"].over in (SATISFIED, NOT_SATISFIED)


def test_over_a_girder_without_a_measured_bar_nothing_is_called_sufficient():
    job = small(1.2, bars=((2, 0.61),))
    job = dataclasses.replace(job, areas=(*job.areas, dataclasses.replace(job.areas[0], station=START + 12.0))).job()
    steel = job.steel
    assert steel.reach["P2"].over in (SATISFIED, NOT_SATISFIED)
    assert steel.reach["P1"].over == NOT_COVERED and "sufficient" not in steel.decisions["strip at patch P1"]
    assert "measure its top bars" in job.instructions["P1"] or "not reached" in job.instructions["P1"]


def test_the_open_slab_is_what_is_left_under_the_deepest_reading():
    steel, patch, _ = carried(0.0, depths=(0.03, 0.045))
    (under,) = [run for run in steel.of("patch P1 open") if run.calculation.name == "depth_under_removal"]
    assert under.arguments["h_r"] == patch.left.h_d > patch.removal.h
    shallow = carried(0.0, depths=(0.03, 0.031))[0]
    strength = [next(one.strength for one in made.states if one.state == "open") for made in (steel, shallow)]
    assert strength[0] < strength[1]


def test_a_removal_to_the_bottom_bars_is_not_covered_and_stops_nothing_else():
    steel, patch, job = carried(0.0, depths=(0.04, 0.16), changed={"limits": LATE})
    assert not patch.full and steel.reach["P1"].in_span == NOT_COVERED
    assert found(steel)["capacity to demand in the span, open"] == NOT_COVERED and not job.not_computed


LATE = {"partial_depth_ratio": {"value": "0.9", "source": "invented"}}


def test_beside_an_open_patch_is_asked_only_where_the_slab_left_does_not_carry():
    strong = carried(0.0, depths=(0.03, 0.031))[0]
    for steel in (strong, carried(0.0, depths=(0.05, 0.09))[0]):
        reach = steel.reach["P1"]
        assert (BESIDE in found(steel)) is (reach.in_span != SATISFIED)
    assert found(carried(1.2)[0])[BESIDE] == NOT_COVERED


def test_a_slab_span_has_no_strip_and_says_so():
    steel, _, job = carried(0.0, girders=(), bars=())
    assert found(steel)[WHOLE] == NOT_COVERED and "slab span" in steel.reach["P1"].beyond
    assert any("the deck is a slab span" in note for note in steel.notes)
    assert any("P1" in one.patches and WHOLE in one.what for one in job.open_items)
    assert job.instructions["P1"].startswith("Hold until the engineer has decided: no strip reaches it")


@pytest.mark.parametrize("kind", NOT_HERE)
def test_stressed_decks_and_boxes_are_refused(kind):
    message = refusal(demo("US").file.contents, {"deck.kind": kind})
    assert "deck.kind" in message and "needs its own design" in message and f"“{kind}”" in message


def test_a_deck_on_girders_without_their_lines_has_no_place_for_a_patch():
    on_girders = small(0.0, girders=(), bars=())
    job = compute(dataclasses.replace(on_girders, changed={"deck": deck(on_girders, kind=GIRDERS)}).contents())
    assert job.patch["P1"].location.kind == "not known: no girder lines in the plan"
    assert found(job.steel)[WHOLE] == NOT_COVERED and "no girder lines" in job.steel.reach["P1"].beyond
    assert job.instructions["P1"].startswith("Hold until the engineer has decided: no strip reaches it")


def test_a_girder_beyond_the_edge_is_refused():
    outside = small(0.0)
    plan = {**outside.head()["plan"], "girders": ["-12 ft", "0 ft", "20 ft"]}
    assert "beyond the edge of the slab" in refusal(dataclasses.replace(outside, changed={"plan": plan}).contents())


def deck(one, **other):
    """Return the section of the deck of a small job with fields changed."""
    return {**one.head()["deck"], **other}


def test_an_unknown_kind_of_deck_names_those_that_there_are():
    assert GIRDERS in refusal(demo("US").file.contents, {"deck.kind": "timber"})


@pytest.mark.parametrize("system", ["US", "SI"])
def test_each_place_is_printed_once_and_drawn(system):
    job = demo(system)
    table = str(locations(job.patch))
    for one in job.patch:
        for name, place in one.places:
            assert f"| {name} | {place.kind} |" in table
    assert all(bar.location.kind in str(appendix.bars(job.steel)) for bar in job.steel if bar.location)
    assert "n.c." in str(sheet.results(job.steel, job.written))
    assert len(drawings.deck_plan(job.patch).png) > 20_000


def test_a_part_that_goes_through_has_a_place_of_its_own():
    part = {"removal": {"overbreak": "10 %", "overbreak_source": "invented", "full_depth_area": "where deep"}}
    area = Area(START + 8.0, 0.0, 1.2, 1.0, (0.05, 0.05, 0.05, 0.17), 0.05)
    job = dataclasses.replace(small(0.0), areas=(area,), changed=part).job()
    one = job.patch["P1"]
    if one.through is None:
        pytest.skip("the deep place takes more than half of the patch")
    assert [name for name, _ in one.places] == ["P1", "P1, part that goes through"]
    assert one.part.to_girder >= one.location.to_girder and one.part.joint >= one.location.joint


# --- what is settled, and what is said at the limit


def test_added_bars_settle_the_loss_that_asks_for_them():
    steel = demo("US").steel
    by_bar = {one.item: one for one in steel.checks if one.title == "section loss of one bar"}
    failing = [one for one in by_bar.values() if one.verdict == NOT_SATISFIED]
    assert failing and all(one.settled for one in failing)
    bar = next(bar for bar in steel if bar.over)
    assert bar.name in by_bar[bar.item].settled and "cut to" in by_bar[bar.item].settled
    assert not [one for one in demo("US").open_items if "section loss of one bar" in one.what]


def check(demand, limit, sense="at most"):
    return Check("patch P1", "a length", Q(demand, "m"), Limit("x", "", Q(limit, "m"), kind_of(Length), ""), sense)


@pytest.mark.parametrize(
    ("demand", "sense", "words"),
    [
        (0.99998, "at most", "satisfied, at the limit"), (0.9991, "at most", "satisfied, at the limit"),
        (0.9989, "at most", "satisfied"), (1.0, "at most", "satisfied, at the limit"),
        (1.0009, "at most", "not satisfied, at the limit"), (1.0011, "at most", "not satisfied"),
        (1.00002, "at least", "satisfied, at the limit"), (0.99998, "at least", "not satisfied, at the limit"),
        (0.5, "at most", "satisfied"),
    ],
)  # fmt: skip
def test_a_verdict_within_a_thousandth_of_its_limit_says_so(demand, sense, words):
    one = check(demand, 1.0, sense)
    assert one.words == words and one.verdict == words.partition(",")[0]


def test_the_shallowest_reading_is_held_against_the_least_depth_beside_the_mean():
    least = {"least_patch_depth": {"value": "35 mm", "source": "invented"}}
    job = carried(0.0, depths=(0.03, 0.045), bars=(), changed={"limits": least})[2]
    verdicts = {one.title: one.verdict for one in job.patch.checks if "minimum depth" in one.title}
    assert list(verdicts.values()) == [SATISFIED, NOT_SATISFIED] and "shallowest" in list(verdicts)[1]


# --- one instruction a patch


@pytest.mark.parametrize("system", ["US", "SI"])
def test_every_patch_has_one_instruction(system):
    job = demo(system)
    assert list(job.instructions) == [one.name for one in job.patch]
    for one in job.patch:
        said, reach = job.instructions[one.name], job.steel.reach[one.name]
        assert said.startswith("Hold") is bool(
            reach.beyond
            or reach.over in (NOT_COVERED, NOT_SATISFIED)
            or "mean loss" in said
            or "is to be treated" in said
        )
        assert ("through the slab" in said) is one.full
        assert said.count("Hold") <= 1 and said.endswith(".")
        for bar in job.steel.bars_in(one.name):
            assert (f"beside {bar.name}" in said) is (bar.supplement is not None)
