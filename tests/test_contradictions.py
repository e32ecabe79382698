"""Inputs of one job that contradict one another are faults, and both fields are named."""

import pytest
from samples import DEMO, strict

from deckcalc.job.contradictions import RULES
from deckcalc.job.file import JobError

#: By rule: changed inputs, and the two fields that the fault names.
CONTRADICTING = [
    ("years_of_building", {"deck.year_built": "2030"}, "deck.year_built", "revisions.date"),
    ("exposure_within_the_age", {"chloride.profile.age": "30 yr"}, "chloride.profile.age", "deck.year_built"),
    ("exposure_within_the_age", {"deck.year_built": "2015", "chloride.profile.age": "10 yr"},
     "reinforcement.corrosion_age", "deck.year_built"),
    ("exposure_within_the_age", {"chloride.profile.age": "16 yr"}, "reinforcement.corrosion_age", "chloride.profile.age"),
    ("exposure_from_the_beginning", {"deck.year_built": "1968"}, "chloride.profile.age", "deck.year_built"),
    ("bottom_mat", {"deck_strip.bottom_cover": "1.5 in"}, "deck.bottom_cover", "deck_strip.bottom_cover"),
    ("bottom_mat", {"deck_strip.bottom_bar": "#4"}, "deck.bottom_bar_outer", "deck_strip.bottom_bar"),
    ("cover_within_the_readings", {"deck_strip.top_cover": "3 in"}, "deck_strip.top_cover", "covers.csv"),
    ("cover_within_the_readings", {"deck_strip.top_cover": "0.75 in"}, "deck_strip.top_cover", "depths.csv"),
    ("weight_of_the_forms", {"formwork.unit_weight": "115 lbf/ft^3"}, "formwork.unit_weight", "deck.unit_weight"),
    ("weight_of_the_overlay", {"deck.overlay": "0.25 in", "deck_strip.overlay": "0 psf"}, "deck.overlay", "deck_strip.overlay"),
    ("temperature_as_placed", {"placements.W1.concrete_temperature": "80.6 °F", "placements.W1.concrete": "C5"}, "placements.csv, placement W1, column concrete temperature",
     "mix.temperature.wanted"),
    ("strengths", {"limits.opening_strength": "5500 psi"}, "limits.opening_strength", "mix.concretes.C5.strength"),
    ("height_above_ground", {"formwork.holes.P8.height": "8 ft"}, "safety.drop", "formwork.holes.P8.height"),
    ("lane_on_the_roadway", {"plan.left": "-2 ft", "traffic.lane_width": "16.5 ft"}, "traffic.lane_width", "plan.left"),
    ("dates_before_the_revision", {"rates.saw.date": "2026-05-01"}, "rates.csv, column date", "revisions.date"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "changes", "first", "second"), CONTRADICTING, ids=lambda one: str(one)[:40])
def test_two_inputs_that_contradict_are_named(rule, changes, first, second):
    with pytest.raises(JobError) as caught:
        strict(DEMO["US"], changes)
    said = [fault for fault in caught.value.faults if first in fault and second in fault]
    assert said, caught.value.faults
    assert all("Traceback" not in fault and len(fault) < 300 for fault in said)


def test_every_rule_has_a_job_that_breaks_it_and_one_that_keeps_it():
    assert {function.__name__ for function, _ in RULES} == {rule for rule, *_ in CONTRADICTING}
    for name in ("US", "SI", "metric"):
        strict(DEMO[name])


def test_what_is_asked_may_be_confirmed():
    changes = {"formwork.unit_weight": "115 lbf/ft^3", "confirmed": "formwork.unit_weight"}
    assert list(strict(DEMO["US"], changes).confirmed) == ["formwork.unit_weight"]


@pytest.mark.parametrize(
    "changes",
    [
        {"chloride.profile.age": "25.9 yr"}, {"deck_strip.bottom_cover": "25.4 mm"}, {"deck_strip.top_cover": "1.5 in"},
        {"mix.temperature.wanted": "69 °F"}, {"limits.opening_strength": "5000 psi"}, {"formwork.holes.P8.height": "10.1 ft"},
        {"rates.saw.date": "2026-03-14"}, {"deck.year_built": "2001"}, {"placements.N1.concrete_temperature": "80.6 °F"},
    ],
)  # fmt: skip
def test_two_inputs_that_agree_to_their_rounding_are_no_fault(changes):
    strict(DEMO["US"], changes)
