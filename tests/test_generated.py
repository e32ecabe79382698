"""What holds for every job: one value for each fact, one place, one concrete, one placing and one instruction a patch."""

import dataclasses
import re
from itertools import pairwise

import numpy as np
from generated import START, Area, Small, small_jobs
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from printed import PRINTED, pages
from test_facts import KNOWN

from deckcalc.base.fields import FULL, PARTIAL
from deckcalc.job.facts import contradictions, facts
from deckcalc.job.read_facts import READERS

KEYS = ("patch", "steel", "chloride", "mix")
JOBS = 200
every_job = settings(max_examples=JOBS, suppress_health_check=list(HealthCheck))


def zones(small, low, high):
    """Return where a strip across the deck from one offset to another lies, by the words of the deck alone."""
    half, names, found = small.flange / 2, [], set()
    if not small.girders:
        return {"in the slab span"}
    for number, y in enumerate(small.girders, 1):
        names.append(f"G{number}")
        if low < y + half - 2e-6 and high > y - half + 2e-6:
            found.add(names[-1])
    for (first, a), (second, b) in pairwise(zip(names, small.girders, strict=True)):
        if low < b - half - 2e-6 and high > a + half + 2e-6:
            found.add(f"{first}-{second}")
    if low < small.girders[0] - half - 2e-6:
        found.add("left")
    if high > small.girders[-1] + half + 2e-6:
        found.add("right")
    return found


made = []


@every_job
@given(small_jobs())
def test_every_fact_has_one_value_and_every_patch_one_of_each(small):
    job = small.job()
    assert all(job.of(key) for key in KEYS), job.faults
    made.append(small)
    apart = contradictions(facts(job, {**READERS, **PRINTED}, KEYS))
    assert not {key: [(one.shown, one.where) for one in v] for key, v in apart.items() if key[0] not in KNOWN}
    said = pages(job)
    placed = [name for row in job.file.work.placings for name in row.names]
    assert len(placed) == len(set(placed)) == sum(map(len, small.placings))
    for one in job.patch:
        location = one.marked.location
        _, low, _, high = one.marked.piece.outline.bounds
        found = {*location.girders, *location.overhangs, *(bay.name for bay in location.bays)}
        assert (found or {"in the slab span"}) == zones(small, low, high)
        assert job.patch.depth_class[one.name] in (PARTIAL, FULL)
        assert sum(one.name in mix.patches for mix in job.mix) == 1
        row, closure = job.file.work.placing_of(one.name), job.file.work.closure_of(one.name)
        assert (row is None) == (closure is None) == (one.name not in placed)
        if row and closure:
            assert closure.placings.count(row) == 1 and closure.opening == row.opening
        assert (one.name in said) == (one.name in placed)
        if one.name not in placed:
            continue
        steps = re.findall(r"\*\*(\d+)\. ([^*]+)\*\*", said[one.name])
        assert [int(number) for number, _ in steps] == list(range(1, len(steps) + 1))
        assert len({name for _, name in steps}) == len(steps) > 5
        assert sum(name == "Break out" for _, name in steps) == 1
    left = {name for item in job.open_items for name in item.patches if "not in the plan" in item.what}
    none = "no plan of the work is adopted" in [item.what for item in job.open_items]
    asked = bool({"curing", "closure"} & {*job.file.ready}) or bool(job.file.work.rows)
    assert none == (not placed and asked)
    assert none or not asked or left == {one.name for one in job.patch} - set(placed)


def test_two_hundred_jobs_were_carried():
    assert len(made) >= JOBS
    assert len({small.girders for small in made}) > 20 and {small.system for small in made} == {"SI", "US"}
    assert any(small.bars for small in made) and any(len(small.placings) > 1 for small in made)


def one_area(girders, overhang, flange, offset, system):
    """Return a job of one small rectangle at an offset."""
    area = Area(START + 8.0, offset, 0.4, 0.3, (0.05, 0.06), 0.05)
    return Small(system, girders, flange, overhang, 1, 0.2, (area,), ((1,),), (32, 32))


@settings(max_examples=12, suppress_health_check=list(HealthCheck))
@given(
    st.integers(2, 5), st.floats(2.2, 3.4), st.floats(1.2, 1.8), st.floats(0.2, 0.4), st.sampled_from(("SI", "US")),
    st.sampled_from((-1, 1)),
)  # fmt: skip
def test_a_patch_that_moves_from_a_bay_into_an_overhang_changes_its_location(
    count, spacing, overhang, flange, system, side
):
    girders = tuple(spacing * (i - (count - 1) / 2) for i in range(count))
    bay = side * (girders[-1] - spacing / 2)
    out = side * (girders[-1] + flange / 2 + (overhang - flange / 2) / 2)
    inside, outside = (
        next(iter(one_area(girders, overhang, flange, y, system).job().patch)).marked.location for y in (bay, out)
    )
    assert inside.in_bay and not inside.in_overhang and not inside.over_girder
    assert outside.in_overhang and not outside.in_bay and not outside.over_girder
    assert outside.overhangs == ("right" if side > 0 else "left",)
    assert inside.words(system) != outside.words(system)


@settings(max_examples=10, suppress_health_check=list(HealthCheck))
@given(small_jobs())
def test_adopting_a_plan_changes_only_what_the_plan_carries(small):
    with_plan, without = (one.job() for one in (small, dataclasses.replace(small, placings=())))
    for key in KEYS:
        ours, theirs = with_plan.of(key), without.of(key)
        assert [(run.item, run.calculation.key) for run in ours.runs] == [
            (run.item, run.calculation.key) for run in theirs.runs
        ]
        for mine, other in zip(ours.runs, theirs.runs, strict=True):
            for name, value in mine.results().items():
                assert np.array_equal(value.m, other.results()[name].m), (mine.item, name)
        assert [(one.item, one.title, one.verdict) for one in ours.checks] == [
            (one.item, one.title, one.verdict) for one in theirs.checks
        ]
