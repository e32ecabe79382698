"""A job and the same job in the other unit system, converted by program: the same facts, results and verdicts."""

import math
import re

import numpy as np
import pytest
from converted import OTHER, convert
from samples import DEMO, REGISTER, SYSTEMS, twins

from deckcalc.core import units
from deckcalc.core.check import Limit
from deckcalc.core.spelling import readings
from deckcalc.job.file import read_job
from deckcalc.job.order import ORDER
from deckcalc.job.recalled import memory_values

#: Calculations whose results may differ, each with the rule that is printed apart for hard metric work.
SEPARATE = {
    "development_aci": "ACI 318 rounds the constants of development length in its metric edition",
    "lap_length": "laps are multiples of that development length",
    "added_bar": "bars are as long as their laps, and cut to 10 mm or 1/2 in",
    "flexure": "ACI 318 breaks its stress block at 28 MPa and at 4000 psi",
    "flexure_layers": "ACI 318 breaks its stress block at 28 MPa and at 4000 psi",
    "least_steel": "ACI 318 rounds the constants of minimum reinforcement in its metric edition",
    "crack_spacing": "AASHTO rounds the constants of crack control in its metric edition",
    "punching": "ACI 318 rounds the constants of shear in its metric edition",
    "strip_area": "the strip is 1 m or 1 ft wide",
    "service_moment": "the strip is 1 m or 1 ft wide",
    "cracked_section": "the strip is 1 m or 1 ft wide",
    "area_left": "the strip is 1 m or 1 ft wide",
    "added_in_strip": "the strip is 1 m or 1 ft wide",
    "strip_moment": "the strip is 1 m or 1 ft wide",
    "steel_for_moment": "the strip is 1 m or 1 ft wide",
    "missing_steel": "the strip is 1 m or 1 ft wide",
    "least_moment_aashto": "the strip is 1 m or 1 ft wide",
    "wanted_temperature": "the constants for ice and water are rounded apart",
    "fresh_temperature": "the constants for ice and water are rounded apart",
    "evaporation_menzel": "the equation is printed with other constants in either system",
    "wet_cure_water": "what evaporates is by that equation",
    "least_placing_temperature": "the table has steps of its own in either system",
    "modulus": "ACI 318 rounds the constants of the modulus in its metric edition",
    "tensile_strength": "ACI 318 rounds the constants of tensile strength in its metric edition",
    "restrained_stress": "stress is by that modulus",
    "containers": "the amount is a number in the unit of the list",
    "lifting_limit": "the load constant is 23 kg or 51 lb",
    "lifting_index": "the index is over that limit",
}


@pytest.fixture(scope="module")
def pair():
    """A job, and the same converted to SI, each carried through once."""
    return twins()["US"], twins()["SI"]


def in_base(value, kind):
    return np.atleast_1d(np.asarray(value.m_as(kind.base), float))


def named(run):
    """Return the name of a calculation, whatever its form."""
    return run.calculation.name.partition(" (")[0]


def test_every_result_is_the_same_but_for_rules_that_are_printed_apart(pair):
    us, si = pair
    differ, ran, compared = set(), set(), 0
    assert si.system == "SI" and not us.not_computed + si.not_computed
    for key in ORDER:
        ours, theirs = us.of(key).runs, si.of(key).runs
        assert [(named(run), run.item) for run in ours] == [(named(run), run.item) for run in theirs]
        for mine, other in zip(ours, theirs, strict=True):
            name = named(mine)
            ran.add(name)
            if mine.calculation is not other.calculation:
                differ.add(name)
                continue
            for result, value in mine.results().items():
                kind = mine.calculation.kinds[result]
                one, two = in_base(value, kind), in_base(other.results()[result], kind)
                if one.shape != two.shape or not np.allclose(one, two, rtol=1e-6, atol=1e-12):
                    differ.add(name)
                compared += 1
    assert differ <= set(SEPARATE), sorted(differ - set(SEPARATE))
    assert differ == ran & set(SEPARATE), f"no longer apart: {sorted(ran & set(SEPARATE) - differ)}"
    assert set(SEPARATE) <= {key.partition(".")[2].partition(" (")[0] for key in REGISTER}
    assert compared > 2000


def plain(title):
    """Return a title without the quantities that it prints."""
    return re.sub(r"(?:\d+ ft )?(?:\d+ )?[\d./]+ (?:in|ft|mm|m|psi|MPa|°C|°F)\b", "...", title)


def test_every_verdict_and_every_decision_is_the_same(pair):
    us, si = pair
    for key in ORDER:
        ours, theirs = us.of(key), si.of(key)
        assert [(one.item, plain(one.title), one.verdict) for one in ours.checks] == [
            (one.item, plain(one.title), one.verdict) for one in theirs.checks
        ]
        assert list(ours.decisions) == list(theirs.decisions)
        assert [plain(one.material.partition(",")[0]) for one in ours.materials] == [
            plain(one.material.partition(",")[0]) for one in theirs.materials
        ]
    assert us.patch.depth_class == si.patch.depth_class
    ours, theirs = ([one.patches for one in job.open_items if "from memory" not in one.what] for job in (us, si))
    assert ours == theirs and len(ours) > 20
    # a job that was converted has the limits of the first as its own: fewer rest on memory, and the formulas are the same
    ours, theirs = (
        {(one.ground.kind, one.ground.name.replace(" (SI)", "").replace(" (US)", "")) for one in memory_values(job)}
        for job in (us, si)
    )
    assert theirs < ours and {kind for kind, _ in ours - theirs} == {"limit"}


def values(value, where, found):
    """Put every plain value of a job into a dict by its place; quantities in coherent SI."""
    if isinstance(value, units.Quantity):
        found[where] = tuple(np.atleast_1d(np.asarray(value.to_base_units().magnitude, float)).tolist())
    elif isinstance(value, float):
        found[where] = (value,)
    elif isinstance(value, dict):
        for name, one in value.items():
            values(one, f"{where}.{name}", found)
    elif isinstance(value, list | tuple):
        for place, one in enumerate(value):
            values(one, f"{where}.{place}", found)
    elif hasattr(type(value), "model_fields"):
        for name in type(value).model_fields:
            values(getattr(value, name), f"{where}.{name}", found)
    elif isinstance(value, Limit):
        values(value.value, where, found)
    else:
        found[where] = value


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_job_that_is_converted_there_and_back_is_the_same_job(system, tmp_path):
    there = convert(DEMO[system], tmp_path / "there")
    back = convert(there, tmp_path / "back")
    held = []
    for folder in (DEMO[system], there, back):
        file, found = read_job(folder), {}
        values(file.settings.model_dump(exclude={"limits", "units"}), "job", found)
        values(file.rows, "rows", found)
        values(file.limits, "limits", found)
        held.append((file.system, found))
    assert [one for one, _ in held] == [system, OTHER[system], system]
    first, _, last = (found for _, found in held)
    assert list(first) == list(last) and len(first) > 2000
    for where, one in first.items():
        other = last[where]
        if isinstance(one, tuple):
            assert all(math.isclose(a, b, rel_tol=1e-11, abs_tol=1e-11) for a, b in zip(one, other, strict=True)), where
        elif isinstance(one, str) and one != other:
            number = [re.fullmatch(r"(\S+(?: \d+/\d+)?)\s+(.+)", text) for text in (one, other)]
            a, b = (units.quantity(only(m[1]), units.unit(m[2])).to_base_units() for m in number)
            assert a.units == b.units and math.isclose(a.magnitude, b.magnitude, rel_tol=1e-11), where
        else:
            assert one == other, where


def only(text):
    """Return the one reading of a number."""
    (found,) = readings(text)
    return float(found.number)


@pytest.mark.parametrize("system", SYSTEMS)
def test_no_quantity_stays_in_a_unit_of_the_other_system(system, tmp_path):
    folder = convert(DEMO[system], tmp_path / "other")
    text = re.sub(
        r"(?m)(?:#.*$|^(?:note|source|scenario|below|water|size) = .*$)", "", (folder / "job.toml").read_text("utf-8")
    )
    strangers = {"US": r'\d (?:mm|m|kg|MPa|GPa|°C|L|kN)"', "SI": r'\d (?:in|ft|lb|psi|ksi|°F|gal|kip)"'}[OTHER[system]]
    left = [line for line in text.splitlines() if re.search(strangers, line)]
    assert not left
    heads = " ".join(path.read_text("utf-8").splitlines()[0] for path in folder.glob("*.csv"))
    assert not re.search({"US": r"\[(mm|m|°C|MPa)\]", "SI": r"\[(in|ft|°F|psi)\]"}[OTHER[system]], heads)
