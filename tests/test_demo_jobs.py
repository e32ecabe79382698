"""The two demo jobs: whole, invented and saying so, each natural in its own units, with what is open named."""

import re
import tomllib
from typing import get_args

import pytest
from samples import DEMO, demo

from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED
from deckcalc.formwork.formulas.lumber import StrengthClass
from deckcalc.formwork.formulas.regional import MetricPanel
from deckcalc.job.open_items import open_items
from deckcalc.job.order import ORDER

BOTH = pytest.mark.parametrize("name", ["US", "metric"])
MOMENT = re.compile(r"\d{4}-\d\d-\d\d(?: \d\d:\d\d)?")
NUMBER = re.compile(r"(?<![\w.:-])\d+(?:\.\d+)?(?![\w:-])")
#: A unit of US customary work behind a number, or in the head of a column.
CUSTOMARY = re.compile(r"(?:\d |\[|/)(?:in|ft|yd|lb|lbf|psi|ksi|psf|pcf|kip|mph|gal|fl oz|BTU|Δ?°F)\b")
#: A remark behind a value.
COMMENT = re.compile(r"\s+# .*")


def files(name):
    """Return the text of every file of a job, without remarks of job.toml and without dates."""
    for path in sorted(DEMO[name].iterdir()):
        text = path.read_text(encoding="utf-8")
        lines = [COMMENT.sub("", line) for line in text.splitlines() if not line.startswith("#")]
        yield path.name, MOMENT.sub("", "\n".join(lines))


def figures(number):
    """Count the significant figures of a number as written."""
    digits = number.replace(".", "").lstrip("0")
    return len(digits) if "." in number else len(digits.rstrip("0"))


@BOTH
def test_every_subject_is_computed(name):
    job = demo(name)
    assert not job.faults
    assert len(list(job.subjects)) == len(ORDER)


@BOTH
def test_it_is_invented_and_says_so(name):
    given = tomllib.loads((DEMO[name] / "job.toml").read_text(encoding="utf-8"))
    assert given["package"]["scenario"].startswith("Invented scenario")
    told = [given["people"]["firm"], given["bridge"]["owner"], given["traffic"]["authority"], given["safety"]["plan"]]
    emergency = given["safety"]["emergency"]
    told += [emergency[key] for key in ("care", "charge", "first_aid", "access")]
    told += [number for number in emergency["numbers"].values() if number not in ("112", "911")]
    assert all("(invented)" in one for one in told)
    assert not any(given["people"][key] for key in ("checker", "engineer", "licence"))


@BOTH
def test_no_number_shows_that_it_was_converted(name):
    """A reading, a size or a price has no more figures than somebody could have read."""
    for file, text in files(name):
        assert not [number for number in NUMBER.findall(text) if figures(number) > 5], file


def test_the_metric_job_has_no_customary_unit():
    for file, text in files("metric"):
        assert not CUSTOMARY.findall(text), file


def test_the_metric_job_is_worked_by_metric_rules():
    job = demo("metric")
    given = job.settings
    assert {given.units, given.mix.tables, given.formwork.tables, given.traffic.tables} == {"SI"}
    assert given.reinforcement.lap_code == "EN 1992-1-1" and given.bridge.clock == "24 h"
    assert given.closure.noise_rule == "3 dB from 87 dBA" and given.safety.vibration_rule == "Directive 2002/44/EC"
    assert {row.grade for row in job.file.rows["lumber"]} <= set(get_args(StrengthClass))
    assert {row.type for row in job.file.rows["panels"]} <= set(get_args(MetricPanel))
    assert {row.size for row in job.file.rows["bars"]} <= {"10", "12", "16"}


@BOTH
def test_most_checks_hold_and_some_honestly_do_not(name):
    verdicts = [check.verdict for one in demo(name).subjects for check in one.checks]
    assert verdicts.count(NOT_COVERED) >= 1 and verdicts.count(NOT_SATISFIED) >= 1
    assert verdicts.count(SATISFIED) > 0.75 * len(verdicts)


@BOTH
def test_what_is_open_is_named_with_its_reason(name):
    job = demo(name)
    items = open_items(job)
    assert items and all(one.what and one.why for one in items)
    left = job.file.work.unplanned([one.name for one in job.patch])
    assert left and set(left) <= {patch for one in items for patch in one.patches}


def test_the_metric_job_stands_where_it_was_meant_to():
    where = {one.name: one.location for one in demo("metric").patch}
    assert [where[name].in_bay for name in ("P1", "P3", "P4")] == [True, True, True]
    assert where["P2"].over_girder and where["P5"].in_overhang
    classes = demo("metric").patch.depth_class
    assert [name for name, depth in classes.items() if depth == "full depth"] == ["P4", "P6"]
    uncovered = {check.item for one in demo("metric").subjects for check in one.checks if check.verdict == NOT_COVERED}
    assert {"patch P5", "hole P6"} <= uncovered


def test_the_metric_plan_holds_against_its_timetable_and_opens_on_its_own_curves():
    job = demo("metric")
    titles = {
        "start of placing, plan against timetable", "end of placing, plan against timetable",
        "strength at opening, lower edge of the band, by heat model",
        "probability of opening on time, lower end of its interval",
    }  # fmt: skip
    found = [check for one in job.subjects for check in one.checks if check.title in titles]
    assert {check.title for check in found} == titles
    assert len(found) == 2 * len(titles) and all(check.verdict == SATISFIED for check in found)
    assert {row.concrete for row in job.file.rows["cylinders"]} == {row.concrete for row in job.file.work.placings}
