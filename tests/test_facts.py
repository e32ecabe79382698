"""One value for each fact: no fact of an item stands with two values, in calculations, records, lists or crew pages."""

import re

import numpy as np
import pytest
from printed import PRINTED
from samples import REGISTER, demo, twins

from deckcalc.job.changes import Shape
from deckcalc.job.facts import contradictions, facts, item_of, names, register
from deckcalc.job.order import ORDER
from deckcalc.job.read_facts import READERS
from deckcalc.job.settings import JobSettings

ALL = {**READERS, **PRINTED}
#: Facts that stand with two values in the demo jobs of today, each with what is wrong; none may be here that agrees.
KNOWN: dict[str, str] = {}


def jobs():
    return {"US": demo("US"), "metric": demo("metric"), "converted": twins()["SI"]}


@pytest.fixture(scope="module", params=("US", "metric", "converted"))
def found(request):
    """Every value of every fact of a job."""
    job = jobs()[request.param]
    return facts(job, ALL, ORDER)


def test_no_fact_of_an_item_stands_with_two_values(found):
    apart = contradictions(found)
    new = {key: [(one.shown, one.where) for one in values] for key, values in apart.items() if key[0] not in KNOWN}
    assert not new
    assert len(found) > 500


def test_what_is_known_to_differ_still_does():
    apart = {fact for job in jobs().values() for fact, _ in contradictions(facts(job, ALL, ORDER))}
    assert apart == set(KNOWN), f"these agree now, take them out: {sorted(set(KNOWN) - apart)}"


def test_most_facts_stand_in_more_than_one_place(found):
    held = {}
    for one in found:
        held.setdefault((one.fact, one.item), set()).add(one.where.partition(" (")[0])
    assert sum(len(places) > 1 for places in held.values()) > 100


@pytest.mark.parametrize("place", register(), ids=lambda one: f"{one.fact}: {one.place}")
def test_every_place_of_the_register_is_there(place):
    room, _, rest = place.place.partition(".")
    if room == "read":
        assert rest in ALL
    elif room == "job":
        section = JobSettings
        for part in rest.split("."):
            assert part in section.model_fields, place.place
            section = next(iter(Shape(section.model_fields[part].annotation).models), None)
    else:
        key, _, name = place.place.rpartition(".")
        forms = [one for known, one in REGISTER.items() if known.partition(" (")[0] == key]
        assert forms and all(name in one.params or name in one.kinds for one in forms), place.place


def test_a_second_value_is_found():
    first = [one for one in facts(demo("US"), READERS, ("patch", "steel")) if one.fact == "thickness of the slab"]
    assert len(first) > 5 and not contradictions(first)
    moved = [type(first[0])(**{**vars(first[0]), "value": first[0].value * 1.001, "where": "elsewhere"})]
    assert list(contradictions([*first, *moved])) == [("thickness of the slab", "deck")]


# --- arguments that go by one name and one meaning

#: Arguments of one symbol and one meaning that are different facts of the same item, with the reason.
APART: dict[tuple[str, str], str] = {
    ("C_1", "chloride content read there"): "one pair of readings is about the bar, the other about the limit",
    ("C_2", "chloride content read there"): "one pair of readings is about the bar, the other about the limit",
    ("x_2", "depth of the reading below it"): "one pair of readings is about the bar, the other about the limit",
    ("t", "age of exposure"): "each way for the surface to grow reaches the bar at an age of its own",
    ("C_a", "content of the surface at a known age"): "each way for the surface to grow is fitted by itself",
    ("RD_c", "relative density of the cement"): "proportions take that of all cementitious material by this name",
}


def scope_of(job, run):
    """Return what an item of a calculation is, to the last word: runs of one item may be compared."""
    named = names(job)
    for scope in ("bar", "patch", "core", "placing", "concrete"):
        if item := item_of(scope, run, named):
            rest = re.sub(r"[^\w ]+", " ", run.item.replace(item, "")).split()
            return scope, item, " ".join(word for word in rest if word not in ("patch", "bar", "core", "placing"))
    return "deck", run.item, ""


def test_arguments_of_one_name_and_meaning_agree_for_the_same_item():
    apart = {}
    for job in jobs().values():
        held = {}
        for key in ORDER:
            subject = job.of(key)
            for run in subject.runs if subject else ():
                for name, value in run.arguments.items():
                    param = run.calculation.params.get(name)
                    if param is None or param.kind is None or isinstance(value, str):
                        continue
                    place = (name, param.meaning, *scope_of(job, run))
                    number = np.atleast_1d(np.asarray(value.m_as(param.kind.base), float))
                    held.setdefault(place, []).append((run.calculation.key, number))
        for place, values in held.items():
            first = values[0][1]
            if len({key for key, _ in values}) > 1 and any(
                one.shape != first.shape or not np.allclose(one, first, rtol=1e-6) for _, one in values
            ):
                apart.setdefault(place[:2], []).append((place[2:], sorted({key for key, _ in values})))
    assert not {key: places for key, places in apart.items() if key not in APART}
    assert set(apart) == set(APART), f"these agree now, take them out: {sorted(set(APART) - set(apart))}"
