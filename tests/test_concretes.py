"""One concrete for each patch: what follows from it moves with it, in every room, and nothing else does."""

import re
import shutil

import pytest
from samples import DEMO, SYSTEMS, demo, refusal

from deckcalc import Q
from deckcalc.base.concrete import Concretes, SpecifiedConcrete
from deckcalc.base.fields import FULL, PARTIAL, JobError
from deckcalc.chloride.formulas.patch_concrete import binder_of, migration_coefficient
from deckcalc.core.check import NOT_COVERED
from deckcalc.formwork.sheet import basis
from deckcalc.job.adopt import propose
from deckcalc.job.file import read_job
from deckcalc.job.order import Job
from deckcalc.mix.sheet.cards import cards
from deckcalc.package.crew import page

ROOMS = ("patch", "steel", "chloride", "mix", "formwork", "curing")


def numbers(job):
    """Return every result up to the curing, by room, item, calculation and name."""
    return {
        (key, run.item, run.calculation.name, name): float(value.magnitude)
        for key in ROOMS
        for run in job.of(key).runs
        for name, value in run.results().items()
        if not getattr(value.magnitude, "shape", ())
    }


def moved(changes):
    """Return what moved, appeared or went with a change of the job in SI units, and the job.

    It is the one whose full-depth holes lie clear of the girders, and get a form.
    """
    job = Job(read_job(DEMO["clear SI"], changes))
    old, new = numbers(demo("clear SI")), numbers(job)
    return {key for key in old | new if old.get(key) != new.get(key)}, job


#: Items that a concrete of the full-depth patches may move: its own, those of its patches and its placing, and the deck's.
OF_C5 = re.compile(r"C5|\bP4\b|\bP8\b|\bW1\b|order")


@pytest.mark.parametrize(
    ("change", "rooms"),
    [
        ({"strength": "32 MPa"}, {"mix", "curing"}), ({"cement": "III"}, {"mix", "curing"}),
        ({"supplementary.fly_ash": "30 %"}, {"mix", "curing", "formwork"}), ({"slump": "50 mm"}, {"mix", "curing", "formwork"}),
        ({"water_reduction": "10 %"}, {"mix", "curing", "formwork"}),
    ],
    ids=lambda one: next(iter(one)) if isinstance(one, dict) else "",
)  # fmt: skip
def test_a_changed_concrete_moves_what_depends_on_it_and_nothing_else(change, rooms):
    found, _ = moved({f"mix.concretes.C5.{field}": value for field, value in change.items()})
    assert not {key for key in found if not OF_C5.search(key[1])}
    assert rooms <= {key[0] for key in found}


def test_a_weaker_concrete_moves_stripping_of_its_patches_and_laps_of_no_others():
    found, job = moved({"mix.concretes.C5.strength": "22 MPa"})
    assert {"P4", "P8"} == set(job.mix.stripping)
    assert [one.m_as("MPa") for one in job.mix.stripping.values()] == pytest.approx([0.7 * 22] * 2)
    assert [bar.row.patch for bar in job.steel if bar.lap is not None] == ["P1", "P3"]  # of the other concrete
    assert not {key for key in found if key[0] == "steel"}


def test_laps_are_made_for_the_opening_and_compared_with_the_strength_of_their_own_concrete():
    before = {bar.item: bar for bar in demo("SI").steel if bar.lap is not None}
    for concrete, more in (("R1", True), ("C5", False)):
        weaker = Job(read_job(DEMO["SI"], {f"mix.concretes.{concrete}.strength": "25 MPa"}))
        after = {bar.item: bar for bar in weaker.steel if bar.lap is not None}
        assert after.keys() == before.keys()
        for item, bar in after.items():
            assert bar.lap_strength == before[item].lap_strength == weaker.limit("opening_strength").value
            if more:
                assert bar.lap_specified > before[item].lap_specified
            else:
                assert bar.lap_specified == before[item].lap_specified


def test_the_stone_of_its_concrete_frees_the_bars_of_a_patch():
    """A patch that takes a concrete of larger stone is broken out deeper; the others stay as they were."""
    found, job = moved({"mix.patches.P5": "C5"})
    assert job.mix.for_patch("P5").name == "C5" and job.patch["P5"].clear > demo("clear SI").patch["P5"].clear
    assert job.patch["P5"].volume.V_order > demo("clear SI").patch["P5"].volume.V_order
    assert (
        job.mix.loads["P5"].mix.name == "C5"
        and "P5" not in job.mix.bag_loads
        and job.mix.bag_loads["P1"].design.name == "R1"
    )
    apart = re.compile(r"\bP[123467]\b")
    assert not {key for key in found if apart.search(key[1]) and "beside" not in key[1]}


def test_formwork_and_curing_print_one_strength_before_the_form_is_struck():
    for system in SYSTEMS:
        job = demo(f"clear {system}")
        strength = job.formwork.strip_strength("P4")
        share = job.limit("stripping_share").value
        assert job.mix.stripping["P4"].m_as("MPa") == pytest.approx(
            (share * job.mix.for_patch("P4").strength).m_as("MPa")
        )
        assert f"until the concrete has {strength}" in job.formwork.decisions["hole P4, traffic"]
        where = next(item for item in job.curing.decisions if item.endswith("form of patch P4"))
        assert f"soffit form needs {strength}" in job.curing.decisions[where]
        assert any(strength in note for note in job.formwork.notes)


def weight_of(job, name):
    """Return the run of the unit weight of the concrete of a hole."""
    return next(run for run in job.formwork.runs if run.item == f"hole {name}, concrete")


def test_the_heavier_of_two_unit_weights_loads_the_form():
    job = demo("clear SI")
    run = weight_of(job, "P4")
    assert run.arguments["rho_c"] == job.mix.for_patch("P4").density
    assert run.result.w_c == max(run.result.w_m, job.settings.formwork.unit_weight)
    changes = {"formwork.unit_weight": "15 kN/m^3", "confirmed": "formwork.unit_weight"}
    light = weight_of(Job(read_job(DEMO["clear SI"], changes)), "P4").result
    assert light.w_c == light.w_m > Q(15, "kN/m³")
    assert "that by its materials where greater" in basis(job.formwork)


def test_a_placing_takes_the_temperature_of_its_own_concrete():
    job = demo("US")
    for one in job.curing:
        if one.patches and not one.row.concrete_temperature:
            assert one.concrete == job.mix.for_patch(one.names[0]).temperature
    assert job.curing["N1"].design.name == "R1" and job.curing["W1"].design.name == "C5"
    assert (
        job.curing["N1"].computed
        and job.curing["W1"].computed
        and "8 cylinders (R1)" in job.curing.decisions["placing N1: opening"]
    )


def test_a_proposed_plan_places_one_concrete_at_a_time():
    job = demo("US")
    rows = [row for row in propose(job).rows if row[2]]
    assert {name for row in rows for name in row[2].split("; ")} == set(job.patch.depth_class)
    for row in rows:
        assert len({job.mix.for_patch(name).name for name in row[2].split("; ")}) == 1


def test_bags_stand_on_cards_crew_page_and_load_list():
    job = demo("US")
    loads = job.mix.bag_loads["P1"]
    assert loads.found.n.magnitude == sum(loads.bags)
    text = page(job, "P1")
    text = text.replace("\u00a0", " ")
    assert f"**{loads.count} batches**, {sum(loads.bags)} bags in all" in text and "never more" in text
    assert len(cards(job.mix, job.reference)) == job.mix.load_count
    material = job.mix["R1"].bag_item
    taken = job.closure.loads["P1"][material]
    assert taken.number == pytest.approx((loads.found.n * job.mix["R1"].concrete.bag).m_as("kg"))
    assert "bag of R1" in job.safety.bags


@pytest.mark.parametrize(
    ("shares", "portland", "row"),
    [
        ({}, True, "CEM I"), ({"fly ash": 0.20}, True, "CEM I with fly ash"), ({"fly ash": 0.35}, True, "CEM I with fly ash"),
        ({"fly ash": 0.199}, True, None), ({"fly ash": 0.351}, True, None), ({"slag cement": 0.66}, True, "CEM III/B"),
        ({"slag cement": 0.80}, True, "CEM III/B"), ({"slag cement": 0.659}, True, None), ({"slag cement": 0.5}, True, None),
        ({"silica fume": 0.07}, True, None), ({"fly ash": 0.25, "silica fume": 0.05}, True, None), ({}, False, None),
    ],
)  # fmt: skip
def test_a_binder_has_a_row_of_the_table_or_a_reason(shares, portland, row):
    found, why = binder_of(shares, portland)
    assert found == row and bool(why) == (row is None)


@pytest.mark.parametrize(
    ("w_cm", "column"), [("0.36", 8.9), ("0.40", 8.9), ("0.401", 10.0), ("0.45", 10.0), ("0.52", 19.7), ("0.60", 25.0)]
)
def test_a_ratio_between_two_columns_takes_the_greater_diffusion(w_cm, column):
    assert migration_coefficient("CEM I", w_cm).m_as("m**2/s") == pytest.approx(column * 1e-12, rel=1e-12)


def test_the_life_of_patches_follows_their_concretes():
    metric, us = demo("metric"), demo("US")
    assert [one.where for one in metric.chloride.forecast.patches] == ["patches of C35-10", "patches of C35-19"]
    assert [one.where for one in us.chloride.forecast.patches] == ["patches of C5"]
    plain, ash = metric.chloride.forecast.patches
    assert plain.initiation < 20 < ash.initiation  # plain portland cement, and 20 % of fly ash
    run = next(
        run
        for run in metric.chloride.runs
        if run.item == "patches of C35-10" and run.calculation.name == "migration_coefficient"
    )
    assert run.arguments["w_cm"] == metric.mix["C35-10"].w_cm
    check = next(one for one in us.chloride.checks if one.item == "patches of R1")
    assert check.verdict == NOT_COVERED and "P1, P2, P3" in check.why and "binder is not stated" in check.why
    less = Job(read_job(DEMO["SI"], {"mix.concretes.C5.supplementary.fly_ash": "15 %"}))
    why = next(one for one in less.chloride.checks if one.item == "patches of C5").why
    assert "of 20 to 35 % of it, the binder has 15 %" in why


def test_a_concrete_may_state_its_own_placing_limits_and_curing():
    job = demo("US")
    least, most = job.mix.placing_limits(job.mix["R1"])
    assert least.value == Q(50, "degF") and most.value == Q(90, "degF") and "R1" in most.meaning
    assert job.mix.placing_limits(job.mix["C5"])[1] == job.limit("concrete_hot")
    assert job.curing["N1"].moist < job.curing["W1"].moist  # the wet cure of its manufacturer
    warm = Job(read_job(DEMO["US"], {"mix.concretes.R1.placed_most": "60 °F"}))
    check = next(
        one
        for one in warm.curing.checks
        if one.item == "placing N1" and one.title == "temperature of the concrete as placed"
    )
    assert check.verdict == "not satisfied"


def test_a_concrete_without_a_temperature_as_mixed_wants_it_with_the_placing(tmp_path):
    place = DEMO["US"]
    job = Job(read_job(place))
    assert job.mix["R1"].temperature is not None
    shutil.copytree(place, tmp_path / "job")
    path = tmp_path / "job" / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r'(?m)^temperature = "68 °F".*\n', "", text), encoding="utf-8")
    assert "placement N1, column concrete temperature: empty, and none is known of R1 as mixed" in refusal(
        tmp_path / "job"
    )


def test_a_patch_whose_concrete_nobody_names_is_refused():
    one = SpecifiedConcrete("A", Q(35, "MPa"), Q(10, "mm"), "I")
    known = Concretes({"A": one}, {PARTIAL: "A", FULL: ""}, {"P2": "A"})
    assert known.of("P1", PARTIAL) is known.of("P2", FULL) is known["A"] is one
    with pytest.raises(JobError, match=r"mix.full_depth: missing; patch P1 is full depth"):
        known.of("P1", FULL)
