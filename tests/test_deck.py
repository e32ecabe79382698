"""The deck and where each patch stands on it, the plan of the work, rounds and open items."""

import datetime

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from deckcalc.base.work import PlacementRow, WorkPlan, check_plan
from deckcalc.core.units import quantity
from deckcalc.patch.design.location import locate
from deckcalc.patch.inputs import Plan

DECK = {
    "left": "-5 m", "right": "5 m", "left_edge": "-5.6 m", "right_edge": "5.6 m", "joints": ["24 m", "48 m"],
    "girders": ["-4.2 m", "-2.1 m", "0 m", "2.1 m", "4.2 m"], "flange_width": "300 mm",
    "below": [
        {"what": "ground", "from_station": "24 m", "to_station": "32 m"},
        {"what": "water", "from_station": "32 m", "to_station": "48 m", "to_offset": "0 m"},
    ],
}  # fmt: skip
PLAN = Plan.model_validate(DECK)


def at(x_1, y_1, x_2, y_2, plan=PLAN):
    return locate(plan, shapely.box(x_1, y_1, x_2, y_2))


@pytest.mark.parametrize(
    ("area", "kind"),
    [
        ((30, 0.5, 31, 1.5), "in bay G3-G4"),
        ((30, 0.15, 31, 1.95), "in bay G3-G4"),  # from flange to flange
        ((30, 0.149, 31, 1.5), "over G3, in bay G3-G4"),
        ((30, 1.9, 31, 2.3), "over G4, in bay G3-G4 and bay G4-G5"),
        ((30, 2.0, 31, 2.2), "over G4"),
        ((30, 4.4, 31, 4.9), "in the right overhang"),
        ((30, 4.35, 31, 4.9), "in the right overhang"),
        ((30, 4.3, 31, 4.9), "in the right overhang, over G5"),
        ((30, -5.0, 31, -4.4), "in the left overhang"),
        ((30, -5.0, 31, 5.0), "in the left overhang, in the right overhang, over G1 and G2 and G3 and G4 and G5, in bay G1-G2 and bay G2-G3 and bay G3-G4 and bay G4-G5"),
    ],
)  # fmt: skip
def test_a_place_on_the_deck_has_one_name(area, kind):
    assert at(*area).kind == kind


def test_distances_run_to_flanges_joints_and_edges():
    found = at(30, 0.5, 31, 1.5)
    bay = found.bays[0]
    assert (bay.to_left, bay.to_right) == (pytest.approx(0.35), pytest.approx(0.45))
    assert found.to_girder == pytest.approx(0.5) and found.joint == pytest.approx(6) and found.joint_station == 24
    assert found.edge == pytest.approx(4.1) and found.kerb == pytest.approx(3.5)
    assert (
        found.below == ("ground",)
        and at(31.5, -1, 32.5, -0.5).below == ("ground", "water")
        and at(40, 1, 41, 2).below == ()
    )
    assert "350 mm from the flange of G3" in found.words("SI") and "; 6.00 m to the joint at 24.00 m" in found.words(
        "SI"
    )
    assert "13 3/4 in from the flange of G3" in found.words("US")
    assert "; 19 ft 8 1/4 in to the joint at 78 ft 8 7/8 in" in found.words("US")


@pytest.mark.parametrize(
    ("within", "near"), [("599.9 mm", False), ("600 mm", False), ("600.1 mm", True), ("2 ft", True)]
)
def test_near_a_joint_is_nearer_than_the_distance(within, near):
    assert at(30, 0.5, 47.4, 1.5).near_joint(quantity(float(within.split()[0]), within.split()[1])) is near


def test_a_skewed_joint_is_measured_at_right_angles():
    plan = Plan.model_validate({**DECK, "skew": "45 deg"})
    found = at(30, 0, 31, 1, plan)  # nearest corner (30, 1): 24 + 1 on the joint line at that offset
    assert found.joint == pytest.approx(5 * 2**-0.5)


def test_a_slab_span_has_no_girders():
    plan = Plan.model_validate({**DECK, "girders": []})
    found = at(30, 0.5, 31, 1.5, plan)
    assert found.kind == "in the slab span" and not (found.in_bay or found.over_girder or found.in_overhang)


@given(st.floats(24, 47), st.floats(-5, 4.9), st.floats(0.05, 1.0), st.floats(0.05, 10))
def test_every_area_stands_somewhere(x, y, length, width):
    high = min(y + width, 5.0)
    found = at(x, y, x + length, max(high, y + 0.01))
    assert found.bays or found.girders or found.overhangs
    assert found.in_bay == (len(found.bays) == 1 and not found.girders and not found.overhangs)


def row(name="N1", closure="night-1", patches="P1; P2", **other):
    day = "2026-04-10"
    given = {
        "placement": name, "closure": closure, "patches": patches, "thickness": "", "closing": f"{day} 20:00", "start": f"{day} 22:00",
        "end": f"{day} 23:00", "opening": "2026-04-11 06:00", "concrete_temperature": "18 degC", "slab_temperature": "9 degC",
    }  # fmt: skip
    return PlacementRow.model_validate({**given, **other})


def faults(*rows):
    found = []
    check_plan(WorkPlan(rows), ["P1", "P2", "P3"], found)
    return "\n".join(found)


def test_a_plan_gives_each_patch_one_closure():
    plan = WorkPlan((row(), row("T1", "", "", thickness="100 mm", closing="")))
    assert plan.adopted and [one.name for one in plan] == ["night-1"] and plan.closures[0].patches == ["P1", "P2"]
    assert (
        plan.minutes(plan.closure_of("P2").closing, plan.closure_of("P2").opening) == 600
        and plan.placing_of("P3") is None
        and plan.unplanned(["P1", "P3"]) == ["P3"]
    )
    assert plan.placing_of("P1").opening == datetime.datetime(2026, 4, 11, 6) and not faults(*plan.rows)
    assert not WorkPlan().adopted and WorkPlan().closures == []


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([row(), row("N2", "night-2", "P2")], "patch P2 is placed in N1 already"),
        ([row(patches="P9")], "the survey gives no patch “P9”"),
        ([row(closure="")], "column closure: empty"),
        ([row(closing="")], "column closing: empty"),
        ([row(end="2026-04-10 21:30")], "do not follow one another"),
        ([row(opening="2026-04-10 22:30")], "do not follow one another"),
        ([row(closing="2026-04-10 22:01")], "do not follow one another"),
        ([row(), row(patches="P3")], "placement N1 appears twice"),
        ([row(), row("N2", "night-1", "P3", opening="2026-04-11 07:00")], "closure night-1: its rows give more than one opening"),
        ([row(), row("N2", "night-2", "P3", closing="2026-04-11 05:00", start="2026-04-11 05:30", end="2026-04-11 05:40",
                     opening="2026-04-11 08:00")], "closure night-2 begins before closure night-1 has opened"),
        ([row(thickness="100 mm")], "wanted either patches, or the thickness of a trial slab"),
        ([row(concrete_temperature="95 degC")], "column concrete temperature"),
    ],
)  # fmt: skip
def test_a_plan_that_contradicts_itself_is_named(rows, said):
    assert said in faults(*rows)
