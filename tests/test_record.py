"""The record of a job: its hold points, what was found and built, and what differs from the plan."""

import pytest
from samples import demo

from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.job.holds import WHEN, hold_points


@pytest.mark.parametrize("system", ["metric", "US"])
def test_hold_points_stand_in_the_order_of_the_work_with_the_limits_of_the_job(system):
    """Every patch is held four times, and each number is that of the job’s own limit."""
    job = demo(system)
    for patch in (one.name for one in job.patch):
        found = hold_points(job, patch)
        removal = job.patch[patch].removal
        tied = removal is None or float(removal.n_r.m_as("")) > 0  # nothing is tied where no bar is reached
        assert list(dict.fromkeys(hold.when for hold in found)) == [
            when for when in WHEN if tied or when != "after tying"
        ]
        strength = next(hold for hold in found if hold.what.startswith("strength"))
        assert job.show(job.limit("opening_strength").value, units.Stress) in strength.rule
        assert strength.who == "engineer"
        assert all(hold.what and hold.rule and hold.who and hold.record for hold in found)


def test_a_hold_asks_for_depths_only_where_slab_is_left_below():
    """A patch that goes through has no depth to read; one that does not names the depth from which it would."""
    job = demo("metric")
    said = {
        one.name: [hold.rule for hold in hold_points(job, one.name) if hold.record == "as_found: depths"]
        for one in job.patch
    }
    for one in job.patch:
        assert bool(said[one.name]) == (one.removal is not None)
    assert said["P1"][0].startswith("less than 110 mm")  # half of 220 mm


def test_hold_points_of_no_patch_are_refused():
    """A name that the survey does not give is a fault."""
    with pytest.raises(JobError, match="patch P99"):
        hold_points(demo("metric"), "P99")
