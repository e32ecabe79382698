"""The concretes of a job: what other subjects rely on, both unit systems, and what a faulty job folder gets."""

from __future__ import annotations

import itertools
import re
import shutil
from pathlib import Path

import pytest
from samples import DEMO, refusal

from deckcalc import mix
from deckcalc.base.fields import FULL, PARTIAL
from deckcalc.core.check import NOT_SATISFIED, SATISFIED
from deckcalc.core.units import InputError
from deckcalc.job import Job, compute
from deckcalc.job.file import read_job
from deckcalc.mix import sheet
from deckcalc.mix.formulas import solver
from deckcalc.mix.sheet import detail
from deckcalc.mix.sheet import drawings as drawn
from deckcalc.mix.sheet.cards import cards, scale

CONTENT = "kg/m³"


@pytest.fixture(scope="module", params=["SI", "US"])
def job(request) -> Job:
    return compute(DEMO[request.param])


def test_every_patch_has_one_concrete(job: Job) -> None:
    by_depth = {PARTIAL: job.settings.mix.partial_depth, FULL: job.settings.mix.full_depth}
    taken = {patch: one.name for one in job.mix for patch in one.patches}
    assert taken == {patch: by_depth[known] for patch, known in job.patch.depth_class.items()}
    for fact in job.mix.in_use:
        mine = [patch for patch, name in taken.items() if name == fact.name]
        total = sum(job.patch[patch].volume.V_order.m_as("m³") for patch in mine)
        assert fact.order_volume.m_as("m³") == pytest.approx(total, rel=1e-12)
        assert all(job.mix.for_patch(patch) is fact for patch in mine)
    for fact in job.mix.designed:
        assert fact.temperature is not None and 5 < fact.temperature.m_as("degC") < 40
        assert fact.w_cm.m_as("") <= fact.w_cm_most.m_as("") * (1 + 1e-9)
        binder = sum(fact.masses[key].m_as(CONTENT) for key in ("cement", "fly ash", "slag cement", "silica fume"))
        assert binder == pytest.approx(fact.cementitious.m_as(CONTENT), rel=1e-12)
        assert fact.masses["water"].m_as(CONTENT) / binder == pytest.approx(fact.w_cm.m_as(""), rel=1e-9)


def test_the_loads_of_a_patch_make_what_was_ordered(job: Job) -> None:
    for patch, plan in job.mix.loads.items():
        assert plan.patch == patch
        volume = job.patch[patch].volume.V_order
        assert plan.count * plan.volume.m_as("m³") == pytest.approx(volume.m_as("m³"), rel=1e-12)
        assert plan.volume <= job.settings.mix.load * (1 + 1e-9)
    for patch, plan in job.mix.bag_loads.items():
        assert sum(plan.bags) == plan.found.n.magnitude and max(plan.bags) - min(plan.bags) <= 1
        made = sum(plan.bags) * plan.found.V_bag
        assert made >= job.patch[patch].volume.V_order and max(
            plan.bags
        ) * plan.found.V_bag <= job.settings.mix.load * (1 + 1e-9)
        assert made - plan.found.V_bag < job.patch[patch].volume.V_order
    assert set(job.mix.loads) | set(job.mix.bag_loads) == set(job.patch.depth_class)
    assert job.mix.load_count == sum(plan.count for plan in (*job.mix.loads.values(), *job.mix.bag_loads.values()))
    assert len(cards(job.mix, job.reference)) == job.mix.load_count


def test_a_card_never_tells_more_water_than_the_most(job: Job) -> None:
    for plan in job.mix.loads.values():
        for decimals in (1, 2):
            first, held, most = (
                float(scale(q, job.system, decimals=decimals))
                for q in (plan.water.m_first, plan.water.m_held, plan.water.m_most)
            )
            assert first + held <= most + 1e-9
        for one in plan.weights:
            if one.mass is not None:
                assert one.low <= one.mass <= one.high


def test_the_same_tables_give_the_same_concrete_in_both_systems() -> None:
    si, us = (compute(DEMO[system]) for system in ("SI", "US"))
    assert si.settings.mix.tables == us.settings.mix.tables
    for fact in us.mix.designed:
        name = fact.name
        for key, mass in fact.masses.items():
            assert si.mix[name].masses[key].m_as(CONTENT) == pytest.approx(mass.m_as(CONTENT), rel=2e-4, abs=1e-9)


def test_hard_metric_tables_move_the_mix_by_their_rounding_only() -> None:
    si, us = compute(DEMO["SI"], {"mix.tables": "SI"}), compute(DEMO["US"])
    assert us.settings.mix.tables == "US"
    assert any(si.mix[fact.name].masses["water"] != fact.masses["water"] for fact in us.mix.designed)
    for fact in us.mix.designed:
        name = fact.name
        for key in ("water", "coarse", "fine"):
            ours = si.mix[name].masses[key].m_as(CONTENT)
            assert ours == pytest.approx(fact.masses[key].m_as(CONTENT), rel=0.05)


def test_ice_cools_the_concrete_and_stands_on_the_card() -> None:
    warm, cold = (compute(DEMO["SI"], {"mix.temperature.ice": ice}) for ice in ("0 kg/m^3", "20 kg/m^3"))
    for fact in cold.mix.designed:
        assert fact.temperature < warm.mix[fact.name].temperature
    for plan in cold.mix.loads.values():
        assert plan.ice.m_as("kg") == pytest.approx(20 * plan.volume.m_as("m³"))


def test_the_governing_concrete_is_the_worst_and_is_written_out_to_its_batches(job: Job) -> None:
    one = sheet.governing_concrete(job.mix)
    used = {}
    for each in job.mix.in_use:
        led = sheet.calculated(job.mix, each)
        used[each.name] = max(check.utilisation or 0 for check in led)
    assert used[one.name] == max(used.values())
    said, made = sheet.by_hand(job.mix, job.written), sheet.worked(job.mix)
    assert sheet.worst(job.mix, one).title in said and 5 <= len(made) <= 10
    assert all(job.written.numbers[run] in said for run in made)
    assert [run for run in made if run.calculation is mix.batch_masses and run.item == one.batch_item]
    superseded = {run.item for run in made if run.calculation is mix.proportions}
    assert superseded == (set() if one.adjusted else {one.item})
    table = sheet.result(job.mix, job.written)
    for each in job.mix.in_use:
        (run,) = sheet.decided(job.mix, each)
        assert f"({job.written.numbers[run]})" in next(r for r in table.splitlines() if r.startswith(f"| {each.name} "))


def test_a_verdict_without_a_ratio_that_is_worse_stands_in_the_row_of_its_concrete() -> None:
    hot = compute(DEMO["SI"], {"mix.temperature.aggregate": "45 °C", "mix.temperature.water": "45 °C"})
    failed = [one for one in hot.mix.checks if one.utilisation is None and one.verdict == NOT_SATISFIED]
    names = {one.item.removeprefix("temperature, concrete ") for one in failed} & {one.name for one in hot.mix.in_use}
    assert names
    table = sheet.result(hot.mix, hot.written).splitlines()
    for name in names:
        row = next(line for line in table if line.startswith(f"| {name} "))
        assert "**not satisfied**" in row


def test_each_table_of_the_appendix_stands_under_its_heading_and_nothing_stands_twice(job: Job) -> None:
    parts = sheet.further(job.mix)
    heads = [part for part in parts if isinstance(part, str) and part.startswith("## ")]
    assert len(heads) == len(set(heads)) == 8 and not any(
        a in heads and b in heads for a, b in itertools.pairwise(parts)
    )
    filed = [
        sheet.concretes(job.mix),
        sheet.aggregates(job.mix),
        sheet.result(job.mix, job.written),
        sheet.batches(job.mix),
    ]
    assert not set(map(str, filed)) & set(map(str, parts))


def test_other_choices_carry_through() -> None:
    bags = compute(DEMO["SI"], {"mix.batch_by": "whole bags"})
    bag = bags.settings.mix.bag.m_as("kg")
    for plan in bags.mix.loads.values():
        cement = plan.volume.m_as("m³") * plan.mix.masses["cement"].m_as(CONTENT)
        assert cement / bag == pytest.approx(round(cement / bag), abs=1e-9)
    by_volume = compute(DEMO["SI"], {"mix.concretes.C5.supplementary.shares": "by volume"})
    share = by_volume.mix["C5"].masses["fly ash"] / by_volume.mix["C5"].cementitious
    assert share.m_as("%") == pytest.approx(22 * 2.4 / (0.78 * 3.15 + 0.22 * 2.4), rel=1e-12)
    handbook = compute(DEMO["SI"], {"mix.bookkeeping": "as in handbooks"}).mix["C5"].masses["fine"]
    strict = compute(DEMO["SI"]).mix["C5"].masses["fine"]
    assert handbook > strict
    as_designed = compute(DEMO["SI"], {"mix.concretes.C3.trial.accepted": "false"}).mix
    assert as_designed.decisions["trial batch, concrete C3"].endswith("awaits the engineer")
    assert "silica fume" not in sheet.proportions(compute(DEMO["US"]).mix)


def test_a_job_without_the_optional_sections_still_builds(tmp_path: Path) -> None:
    shutil.copytree(DEMO["metric"], tmp_path / "job")
    path = tmp_path / "job" / "job.toml"
    text = path.read_text(encoding="utf-8")
    text = re.sub(
        r"(?ms)^\[+mix\.(concretes\.C35-\d+\.(admixture|trial)|concretes\.(ready-mix|M40)|temperature|grading|doubt|factors).*?(?=^\[)",
        "",
        text,
    )
    path.write_text(text, encoding="utf-8")
    job = compute(tmp_path / "job")
    assert [one.name for one in job.mix] == ["C35-10", "C35-19"]
    assert all(
        one.uncertainty is None and one.alternatives is None and one.temperature is None for one in job.mix.designed
    )
    for made in (
        detail.given(job.mix),
        detail.bags(job.mix),
        detail.uncertainty(job.mix),
        detail.alternatives(job.mix),
    ):
        assert made == ""  # its heading goes with it
    assert len(cards(job.mix, job.reference)) == sum(plan.count for plan in job.mix.loads.values())


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"mix.concretes.C3.coarse": "river-sand"}, r"mix.concretes.C3.coarse: “river-sand” is no coarse aggregate"),
        ({"mix.durability": "C1"}, r"mix.durability: “C1” limits no w/cm"),
        ({"mix.concretes.R1.aggregate": "gravel"}, r"mix.concretes.R1.aggregate: “gravel” is no coarse aggregate"),
        ({"mix.grading.river-sand.size": "9"}, r"mix.grading.river-sand.size: .*no size “9”"),
        ({"aggregates.river-sand.fineness_modulus": "2.45"}, r"differ by more than 0.20"),
        ({"aggregates.stone-10.relative_density": "26.5"}, r"column relative density: found “26.5”.*from 2.0 to 3.5"),
        ({"aggregates.stone-10.absorption": "0.8 m"}, r"column absorption"),
        ({"aggregates.stone-10.absorption": "80"}, r"column absorption.*from 0 % to 15 %"),
        ({"aggregates.stone-10.moisture": "-1"}, r"total moisture is not negative"),
        ({"aggregates.stone-10.shape": ""}, r"column shape: empty"),
        ({"aggregates.stone-19.nominal_size": "16 mm"}, r"16 mm.*is not in the tables"),
        ({"aggregates.river-sand.moisture": "18", "confirmed": "aggregates.river-sand.moisture"}, r"more free water than the mix may have"),
        ({"mix.concretes.C3.strength": "55 MPa"}, r"lies outside the table|f_c"),
        ({"mix.strength_table": "newest"}, r"mix.strength_table: found “newest”, wanted"),
        ({"mix.concretes.C5.supplementary.fly_ash": "15"}, r"fly_ash: found “15”.*from 0 % to 75 %"),
        ({"mix.concretes.C3.cement": "IV"}, r"mix.concretes.C3.cement: found “IV”"),
    ],
)  # fmt: skip
def test_a_faulty_job_is_named(change: dict[str, str], says: str) -> None:
    assert re.search(says, refusal(DEMO["SI"], change))


def test_a_patch_without_a_concrete_is_named(tmp_path: Path) -> None:
    shutil.copytree(DEMO["SI"], tmp_path / "job")
    path = tmp_path / "job" / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r"(?m)^full_depth = .*\n", "", text), encoding="utf-8")
    assert "not computed: mix: job.toml: mix.full_depth: missing; patch P4 is full depth" in refusal(tmp_path / "job")


# --- probable slips

SI = DEMO["SI"]
#: Input, value that is asked about, nearest value that is not.
ASKED = [
    ("aggregates.river-sand.moisture", "0.034", "0.1"), ("aggregates.river-sand.moisture", "-0.05", "0"),
    ("aggregates.river-sand.moisture", "15.1", "15"), ("aggregates.stone-10.absorption", "0.008", "0.1"),
    ("aggregates.stone-10.absorption", "10.5", "10"), ("aggregates.river-sand.bulking", "0.22", "1"),
    ("mix.concretes.C3.water_reduction", "0.05 %", "1 %"),
]  # fmt: skip


@pytest.mark.parametrize(("field", "slip", "good"), ASKED)
def test_a_share_typed_as_a_fraction_is_asked_about_and_may_be_confirmed(field: str, slip: str, good: str) -> None:
    said = refusal(SI, {field: slip})
    assert said.count("\n") == 0 and "usual is" in said and f"add “{field}” to the list confirmed" in said
    assert read_job(SI, {field: good}).confirmed == {}
    taken = read_job(SI, {field: slip, "confirmed": field})
    assert list(taken.confirmed) == [field] and "usual is" in taken.confirmed[field]


def test_a_bare_fraction_is_a_share_and_a_bare_percentage_is_refused() -> None:
    text = (SI / "aggregates.csv").read_text(encoding="utf-8")
    assert "moisture [%]" in text  # the unit of the header is what is read
    assert (
        read_job(SI, {"mix.concretes.C3.water_reduction": "0.05"})
        .settings.mix.concretes["C3"]
        .water_reduction.m_as("%")
        == 5
    )
    assert "from 0 % to 40 %" in refusal(SI, {"mix.concretes.C3.water_reduction": "5"})


def test_air_that_nothing_entrains_is_a_failed_check(tmp_path: Path) -> None:
    title = "air-entraining admixture for the air wanted"
    found = {one.item: one for one in compute(SI).checks if one.title == title}
    assert {one.verdict for one in found.values()} == {SATISFIED} and len(found) == 2
    shutil.copytree(SI, tmp_path / "job")
    path = tmp_path / "job" / "job.toml"
    text = path.read_text(encoding="utf-8")
    name = 'name = "air-entraining admixture"'
    for old, new in ((name, 'name = "frost agent"'), (rf'(?m)^({name}.*\ndose = )"[^"]*"', r'\1"0 mL/100 kg"')):
        changed, count = re.subn(old, new, text)
        assert count == 2
        path.write_text(changed, encoding="utf-8")
        job = Job(read_job(tmp_path / "job"))
        poor = [one for one in job.mix.checks if one.title == title]
        assert {one.verdict for one in poor} == {NOT_SATISFIED} and "scales" in poor[0].why


def test_an_air_entrainer_where_no_air_is_wanted_is_asked_about() -> None:
    change = {"mix.exposure": "not air-entrained"}
    assert "“not air-entrained” beside an air-entraining admixture" in refusal(SI, change)
    job = Job(read_job(SI, {**change, "confirmed": "mix.exposure"}))
    assert not any("air-entraining" in one.title for one in job.mix.checks)


@pytest.mark.parametrize(("most", "verdict"), [("478.2 kg/m^3", SATISFIED), ("478.1 kg/m^3", NOT_SATISFIED)])
def test_cementitious_material_is_held_against_a_usual_maximum(most: str, verdict: str) -> None:
    job = Job(read_job(SI, {"limits.most_cementitious": most}))
    found = {one.item: one for one in job.mix.checks if "usual maximum" in one.title}
    assert found["concrete C5"].verdict == verdict  # 478.198 kg/m³
    assert "cracks" in found["concrete C5"].why


def test_the_usual_maximum_is_one_value_in_both_systems() -> None:
    si, us = (compute(DEMO[name]).limit("most_cementitious").value.m_as(CONTENT) for name in ("SI", "US"))
    assert si == pytest.approx(us, rel=5e-4) and si < 577


@pytest.fixture(scope="module")
def no_record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The US job without a record of tests: 5000 psi wants 6200 psi in the mean, and its table ends at 6000 psi."""
    place = tmp_path_factory.mktemp("no_record") / "job"
    shutil.copytree(DEMO["US"], place)
    text = (place / "job.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?ms)^\[mix\.record\].*?(?=^\[)", "", text)
    (place / "job.toml").write_text(text, encoding="utf-8")
    return place


def test_a_table_that_ends_stops_the_mix_alone_and_says_the_ways_out(no_record: Path) -> None:
    said = refusal(no_record)
    assert said.startswith("not computed: mix: Mix and batch, concrete C3: ") and "6200 lies outside the table" in said
    assert all(way in said for way in ("mix.record", "mix.strength_table", "mix.concretes.C3.w_cm_source"))
    assert "not computed: curing: needs mix" in said
    job = Job(read_job(no_record))
    assert job.of("mix") is None and job.of("steel") is not None and job.of("patch") is not None


def test_the_metric_table_reaches_where_the_other_ends(no_record: Path) -> None:
    job = Job(read_job(no_record, {"mix.strength_table": "PCA metric"}))
    fact = job.mix["C3"]
    f_cr = 6200 * 0.006894757  # MPa, between the rows 40 MPa: 0.34 and 45 MPa: 0.30
    assert fact.w_cm.m_as("") == pytest.approx(0.34 - 0.04 * (f_cr - 40) / 5, abs=1e-6)
    rich = {one.item: one.verdict for one in job.mix.checks if "usual maximum" in one.title}
    assert rich["concrete C3"] == rich["concrete C5"] == rich["adjusted concrete C3"] == NOT_SATISFIED
    assert "PCA metric table" in sheet.by_hand(job.mix, job.written)


def test_the_engineer_may_state_the_ratio_with_its_source(no_record: Path) -> None:
    stated = {f"mix.concretes.{name}.w_cm": "0.36" for name in ("C3", "C5")}
    assert "mix.concretes.C3.w_cm_source: missing" in refusal(no_record, stated)
    source = {f"mix.concretes.{name}.w_cm_source": "trial batches of March (invented)" for name in ("C3", "C5")}
    job = Job(read_job(no_record, {**stated, **source}))
    assert {fact.w_cm.m_as("") for fact in job.mix.designed} == {0.36}
    said = job.mix.decisions["ratio, concrete C3"]
    assert "trial batches of March" in said and "6200 psi" in said
    assert drawn.ratio_curve(job.mix) is not None
    assert "trial batches of March" in sheet.result(job.mix, job.written)
    high = Job(read_job(no_record, {**dict.fromkeys(stated, "0.45"), **source}))
    assert {fact.w_cm.m_as("") for fact in high.mix.designed} == {0.40}  # the exposure governs


def test_proportions_that_cannot_be_found_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise InputError("no proportions satisfy the demands")

    monkeypatch.setattr(solver, "solve", none)
    job = Job(read_job(SI))
    said = detail.alternatives(job.mix)
    assert said.count("not covered: no proportions satisfy the demands") == 2 and "No prices" not in said
    assert drawn.cost_and_carbon(job.mix) is None


@pytest.mark.parametrize("name", ["SI", "US"])
def test_what_is_specified_of_a_concrete_is_known_before_it_is_proportioned(name: str) -> None:
    job = Job(read_job(DEMO[name]))
    specified, want = job.concrete.specified, job.settings.mix
    for concrete, made in job.mix.each.items():
        one = specified[concrete]
        assert (
            one.strength == want.concretes[concrete].strength == made.strength and one.nominal_size == made.nominal_size
        )
    for patch in job.patch:
        assert specified.of(patch.name, patch.depth_class).name == job.mix.for_patch(patch.name).name
