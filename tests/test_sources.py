"""Check which works a package cites, and which verdicts rest on values from memory."""

from dataclasses import replace

import pytest
from samples import DEMO, REGISTER, SYSTEMS, demo

from deckcalc.base.context import Limits
from deckcalc.core import tables
from deckcalc.core.check import Check
from deckcalc.core.sources import Cite, bibliography
from deckcalc.job.file import read_job
from deckcalc.job.order import ORDER, Job
from deckcalc.job.recalled import memory_values
from deckcalc.package import front, works


@pytest.mark.parametrize("system", SYSTEMS)
def test_what_a_job_rests_on_is_cited_with_its_places(system):
    found = works.cited(demo(system))
    assert list(found) == sorted(found, key=lambda key: bibliography()[key].short.lower())
    for subject in demo(system).subjects:
        for run in subject.runs:
            assert {cite.key for cite in run.calculation.source if cite.key} <= set(found)
    for cite in (one for name in ("agency_mixes", "rapid_materials") for one in tables.load(name).cites):
        assert cite in found[cite.key]
    assert {"txdot-crm", "lindquist-2006"} <= set(found)  # marked in fields of the job


def test_the_text_decides_what_is_cited():
    job = demo("SI")
    text = r"as in \[UFGS 03311\], and [No such work], and McCormac in words"
    assert set(works.cited(job, text)) == works.marks(text) == {"ufgs-03311"}
    listed = str(front.cited(job, text))
    assert "UFGS 03311" in listed and "McCormac" not in listed
    both = str(front.cited(job, "[NCHRP Report 540] [Lindquist 2006]"))
    assert [both.count(f'<div id="{works.anchor(key)}">') for key in ("nchrp-540", "lindquist-2006")] == [1, 1]
    assert both.index("Lindquist 2006") < both.index("NCHRP Report 540") and "from memory" not in both


def test_a_table_cites_each_source_of_its_rows_once():
    assert tables.load("sign_spacing").cites == [Cite("mutcd-2003", tables.load("sign_spacing").facts["where"])]
    assert len(tables.load("rapid_materials").cites) == 4
    assert {cite.provenance for cite in tables.load("strength_age").cites} == {"published", "memory"}


# --- verdicts from memory


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_verdict_on_a_limit_from_memory_is_listed_and_no_other(system):
    job = demo(system)
    found = {one.ground.name: one.checks for one in memory_values(job) if one.ground.kind == "limit"}
    wanted = {}
    for check in job.checks:
        if isinstance(check.limit.source, Cite) and check.limit.source.provenance == "memory":
            wanted.setdefault(check.limit.name, []).append(check)
    assert found == wanted and wanted
    assert all(one.checks and isinstance(one.checks[0], Check) for one in memory_values(job))


def test_the_source_of_the_engineer_takes_a_limit_off_the_list():
    file = read_job(DEMO["US"])
    own = replace(file.limits["sounding_spacing"], source="owner's manual, 4.2", origin="engineer")
    job = Job(replace(file, limits=Limits({**file.limits, "sounding_spacing": own})))
    job.compute_all(ORDER[:4])
    found = {one.ground.name for one in memory_values(job)}
    assert "sounding_spacing" not in found and "ash_and_fume_share" in found
    assert "sounding_spacing" in {one.ground.name for one in memory_values(demo("US"))}


def test_a_source_for_one_choice_counts_for_that_choice_alone():
    job = demo("SI")
    listed = {choice for one in memory_values(job) for choice in one.ground.cite.only}
    chosen = {
        value
        for subject in job.subjects
        for run in subject.runs
        for value in run.arguments.values()
        if isinstance(value, str)
    }
    assert "AASHTO LRFD" in listed & chosen
    assert "caltrans" not in listed | chosen


def test_a_calculation_behind_a_verdict_is_found_through_what_it_handed_on():
    found = {one.ground.name: one for one in memory_values(demo("SI"))}
    cold, shrinkage = found["curing.least_placing_temperature (SI)"], found["curing.free_shrinkage"]
    assert any("maximum drop" in check.title for check in cold.checks)  # which it gives itself
    assert [check.title for check in shrinkage.checks] == ["tension by shrinkage and cooling after 28 d, an estimate"]
    assert not any(
        check.demand is value
        for check in shrinkage.checks
        for run in demo("SI").curing.runs
        if run.calculation.key == "curing.free_shrinkage"
        for value in run.results().values()
    )
    assert all(name.partition(":")[0] in REGISTER or one.ground.kind == "limit" for name, one in found.items())
    assert str(cold).startswith("Minimum temperature as placed") and "from memory" in str(cold)


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_check_asks_for_what_its_limit_says(system):
    checks = demo(system).checks
    assert len(checks) > 100
    for one in checks:
        words = one.limit.meaning.split()[0]
        assert {"greatest": one.sense != "at least", "least": one.sense == "at least"}.get(words, True), (
            one.item,
            one.title,
        )
