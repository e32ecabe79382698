"""Concretes that are given by their contents, doses by mass, water by volume, and the chance of too much water."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples import DEMO, demo, refusal

from deckcalc import Q, mix
from deckcalc.core.check import Check
from deckcalc.core.units import InputError, Stress, read
from deckcalc.job.file import read_job
from deckcalc.job.order import Job
from deckcalc.mix.formulas import uncertainty
from deckcalc.mix.sheet import detail

NO_LATEX = (Q(0, "kg"), Q(0, "%"), Q(0, "L"))
TICKET = "mix.concretes.ready-mix"


def job(changes: dict[str, str]) -> Job:
    return Job(read_job(DEMO["SI"], changes))


def written(tmp_path: Path, old: str, new: str) -> Path:
    """Return a copy of the demo job with a text of its job file replaced."""
    place = tmp_path / "job"
    shutil.copytree(DEMO["SI"], place)
    text = (place / "job.toml").read_text(encoding="utf-8")
    assert old in text
    (place / "job.toml").write_text(text.replace(old, new), encoding="utf-8")
    return place


def with_lines(tmp_path: Path, head: str, *lines: str) -> Path:
    """Return a copy of the demo job with lines after a head of its job file."""
    text = (DEMO["SI"] / "job.toml").read_text(encoding="utf-8")
    line = next(line for line in text.split("\n") if line.startswith(f"[{head}]"))
    return written(tmp_path, line, "\n".join([line, *lines]))


def verdicts(made: Job) -> dict[str, str]:
    return {check.title: check.verdict for check in made.mix.checks if check.item == "concrete ready-mix"}


def test_a_ticket_makes_its_volume_in_both_systems() -> None:
    for system in ("SI", "US"):
        found = demo(system).mix["ready-mix"].found
        assert found.R_y.m_as("") == pytest.approx(1.0, abs=0.002)
        assert found.w_cm.m_as("") == pytest.approx(0.39, abs=0.001)
        assert set(verdicts(demo(system)).values()) == {"satisfied"}


@given(st.floats(0, 10), st.floats(0.3, 0.6), st.floats(0, 3), st.floats(0, 6))
def test_what_is_weighed_moist_is_the_same_concrete(air: float, w_cm: float, coarse: float, fine: float) -> None:
    """Moving water from the meter into the aggregate changes nothing of the concrete."""
    dry = {"A_ca": Q(1, "%"), "A_fa": Q(1, "%")}
    water = Q(400 * w_cm, "kg")
    moist = mix.batch_masses(
        W=Q(400 * w_cm, "kg/m³"),
        M_ca=Q(1000, "kg/m³"),
        M_fa=Q(700, "kg/m³"),
        w_ca=Q(coarse, "%"),
        w_fa=Q(fine, "%"),
        **dry,
    )
    used = mix.unbatched(
        Q(400, "kg"), moist.B_ca * Q(1, "m³"), moist.B_fa * Q(1, "m³"), moist.W_add * Q(1, "m³"), Q(coarse, "%"), Q(fine, "%"),
        **dry,
    )  # fmt: skip
    solid = mix.absolute_volumes(
        Q(400, "kg"), used.S_ca, used.S_fa, used.m_net, 3.15, 2.65, 2.60, Q(1000, "kg/m³")
    ).V_solid
    found = mix.contents_yield(
        Q(400, "kg"), used.S_ca, used.S_fa, used.m_net, solid, Q(air, "%"), Q(1, "m³"), *NO_LATEX
    )
    assert used.m_net.m_as("kg") == pytest.approx(water.m_as("kg"), rel=1e-9)
    assert found.w_cm.m_as("") == pytest.approx(w_cm, rel=1e-9)
    assert found.Y.m_as("m³") * (1 - air / 100) == pytest.approx(solid.m_as("m³"), rel=1e-12)
    assert (found.D * found.Y).m_as("kg") == pytest.approx(found.m_all.m_as("kg"), rel=1e-12)


@pytest.mark.parametrize("dose", ["476.6 fl oz/cwt", "313.848 g/kg", "31.3848 %"])
def test_a_latex_counts_with_solids_and_water(tmp_path: Path, dose: str) -> None:
    latex = f'latex = {{ dose = "{dose}", density = "1010 kg/m^3", solids = "48 %" }}'
    made = Job(read_job(with_lines(tmp_path, TICKET, latex)))
    without, found = demo("SI").mix["ready-mix"].found, made.mix["ready-mix"].found
    per_yard = (found.V_all - without.V_all).m_as("gal") / 4
    assert per_yard == pytest.approx(24.5, abs=0.02)  # 3.5 gal for each of seven bags
    more, water = (getattr(found, name) - getattr(without, name) for name in ("m_all", "m_water"))
    assert water.m_as("kg") == pytest.approx(0.52 * more.m_as("kg"), rel=1e-9)


@pytest.mark.parametrize(
    ("change", "title"),
    [
        ({"water": "500 L"}, "water-cement ratio"), ({"volume": "3.2 m^3"}, "relative yield away from one"),
        ({"volume": "2.9 m^3"}, "relative yield away from one"), ({"air": "3 %"}, "air content"),
        ({"strength": "30 MPa"}, "specified strength"), ({"cementitious": "1000 kg"}, "cementitious material"),
    ],
)  # fmt: skip
def test_a_ticket_that_does_not_do_is_a_failed_check(change: dict[str, str], title: str) -> None:
    found = job({f"{TICKET}.{name}": value for name, value in change.items()})
    assert verdicts(found)[title] == "not satisfied"


def test_water_by_mass_and_by_volume_is_the_same_water() -> None:
    want = demo("SI").settings.mix
    ticket, weighed = want.concretes["ready-mix"].water, want.concretes["C3"].trial.water
    assert ticket.check("[volume]") and weighed.check("[mass]")
    by_mass = job({f"{TICKET}.water": f"{(ticket * want.water_density).m_as('kg')} kg"}).mix["ready-mix"].found
    assert by_mass.w_cm.m_as("") == pytest.approx(demo("SI").mix["ready-mix"].found.w_cm.m_as(""), rel=1e-9)
    trial = job({"mix.concretes.C3.trial.water": f"{(weighed / want.water_density).m_as('L')} L"}).mix["C3"]
    assert trial.cementitious.m_as("kg/m³") == pytest.approx(demo("SI").mix["C3"].cementitious.m_as("kg/m³"), rel=1e-9)


def with_dose(tmp_path: Path, dose: str) -> Path:
    """Return a copy of the demo job with another dose of the water-reducing admixture of both its concretes."""
    place = shutil.copytree(DEMO["SI"], tmp_path / "job")
    text = (place / "job.toml").read_text(encoding="utf-8")
    text, found = re.subn(r'(name = "water-reducing admixture"\ndose = ).*', rf'\1"{dose}"', text)
    assert found == 2
    (place / "job.toml").write_text(text, encoding="utf-8")
    return place


def test_a_dose_by_mass_is_the_same_dose(tmp_path: Path) -> None:
    one = demo("SI").settings.mix.concretes["C5"].admixture[1]
    by_mass = Job(read_job(with_dose(tmp_path, f"{(one.dose * one.density).m_as('g/kg')} g/kg"))).mix
    assert demo("SI").mix.loads
    for name, loads in demo("SI").mix.loads.items():
        volumes = [each.weights[-1].volume for each in (by_mass.loads[name], loads)]
        assert volumes[0] is not None and volumes[1] is not None
        assert volumes[0].m_as("mL") == pytest.approx(volumes[1].m_as("mL"), rel=1e-6)


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("water", "300", "without a unit"), ("water", "30 MPa", "water by volume, for instance “10 L”"), ("water", "-3 kg", "from 0 kg"),
        ("air", "20 %", "from 0 % to 15 %"), ("size", "100 mm", "from 9 mm to 80 mm"), ("volume", "4 m", "volume of a load"),
        ("cementitious", "0 kg", "from 0.01 kg"), ("size", "68 mm", "size"), ("strength", "5 MPa", "from 15 MPa"),
    ],
)  # fmt: skip
def test_a_faulty_ticket_is_named(field: str, value: str, says: str) -> None:
    said = refusal(DEMO["SI"], {f"{TICKET}.{field}": value})
    assert says in said and f"{TICKET}.{field}" in said


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('moisture_fine = "50 %"', "moisture_fine"), ('colour = "red"', "colour: unknown"),
        ('latex = { dose = "60000 mL/100 kg", density = "1010 kg/m^3", solids = "48 %" }', "latex.dose"),
        ('latex = { dose = "300 g/kg" }', "latex.density: missing"),
        ('absorption_coarse = "15 %"\nabsorption_fine = "15 %"\nmoisture_coarse = "0 %"\nmoisture_fine = "0 %"', "takes up more"),
    ],
)  # fmt: skip
def test_a_faulty_line_of_a_ticket_is_named(tmp_path: Path, line: str, says: str) -> None:
    assert says in refusal(with_lines(tmp_path, TICKET, line))


@pytest.mark.parametrize("dose", ["31000 mL/100 kg", "300 g/kg", "5 m", "much"])
def test_a_latex_among_the_admixtures_is_refused(tmp_path: Path, dose: str) -> None:
    said = refusal(with_dose(tmp_path, dose))
    assert "mix.concretes.C3.admixture.1.dose" in said and (
        "6000 mL/100 kg" in said or "60 g/kg" in said or "dose by mass" in said
    )


def test_the_sheet_says_what_a_ticket_makes() -> None:
    for system, made in (
        ("SI", "| 3058 L | 3059 L | 1.000 | 0.390 | 390 kg/m³ |"),
        ("US", "| 4.00 yd³ | 4.00 yd³ | 1.000 | 0.390 | 658 lb/yd³ |"),
    ):
        text = detail.given(demo(system).mix)
        assert "| ready-mix | " in text and made in text


def test_a_mix_at_the_limit_of_the_exposure_is_above_it_every_second_time(tmp_path: Path) -> None:
    """The check fails at the limit, and holds where the ratio that it names is aimed for."""
    place = with_lines(tmp_path, "mix.concretes.C5", 'w_cm = "0.40"', 'w_cm_source = "trial batches"')
    title = "probability that a batch is above the w/cm of 0.40 by exposure"

    def check(changes: dict[str, str]) -> Check:
        return next(c for c in Job(read_job(place, changes)).mix.checks if c.title == title and "C5" in c.item)

    at = check({})
    assert at.demand is not None and at.demand.m_as("") == pytest.approx(0.5, abs=0.03)
    assert at.verdict == "not satisfied"
    again = check({"mix.concretes.C5.w_cm": at.why.split(" of ")[1].split(",")[0]})
    assert again.verdict == "satisfied"
    assert again.demand is not None and 0.05 < again.demand.m_as("") <= 0.10  # the ratio is cut to thousandths


def test_the_chance_follows_a_normal_law_of_the_spread() -> None:
    import numpy as np

    values = np.random.default_rng(3).normal(0.40, 0.01, 200_000)
    assert uncertainty.chance_above(values, 0.41) == pytest.approx(0.1587, abs=0.004)
    assert uncertainty.to_aim_for(values, 0.41, 0.1587) == pytest.approx(0.40, abs=2e-4)


def test_an_accepted_trial_is_checked_again_for_its_cementitious_material() -> None:
    found = [c for c in demo("SI").mix.checks if c.item == "adjusted concrete C3"]
    assert {c.title for c in found} == {"cementitious material", "cementitious material against a usual maximum"}
    rich = job({"mix.concretes.C3.trial.slump": "25 mm", "mix.concretes.C3.slump": "100 mm"}).mix
    again = {c.title: c.verdict for c in rich.checks if c.item == "adjusted concrete C3"}
    assert again["cementitious material against a usual maximum"] == "not satisfied"


def test_a_formula_refuses_what_is_no_concrete() -> None:
    with pytest.raises(InputError, match="air"):
        mix.contents_yield(Q(1, "kg"), Q(1, "kg"), Q(1, "kg"), Q(1, "kg"), Q(1, "L"), Q(50, "%"), Q(1, "L"), *NO_LATEX)
    with pytest.raises(InputError, match="q_w"):
        mix.water_content(Q(30, "gal"), Q(1000, "kg/m³"))


# The manufacturer's strength by age -----------------------------------------------------------------------------------------


def test_the_age_of_the_opening_strength_lies_between_rows_of_the_makers_table() -> None:
    for system in ("SI", "US"):
        made = demo(system)
        one = next(iter(made.mix.prepackaged))
        assert one.time is not None and 2 < one.time.m_as("h") < 4
        assert "no lane" in made.mix.decisions[one.makers_item]  # the manufacturer's data are no verdict
        assert "Strength by the manufacturer's data" in detail.bags(made.mix)


@pytest.mark.parametrize(
    ("strength", "age"), [("17.2369 MPa", 2), ("24.1317 MPa", 3), ("37.9211 MPa", 24), ("30.9 MPa", 8.325)]
)
def test_a_row_of_the_table_is_met_at_its_age(strength: str, age: float) -> None:
    curve = next(iter(demo("SI").mix.prepackaged)).curve
    assert curve is not None
    between = curve.between(read(strength, Stress))
    assert between is not None
    assert mix.time_to_strength(**between).t.m_as("h") == pytest.approx(age, rel=2e-3)


@pytest.mark.parametrize("strength", ["17.2 MPa", "38 MPa"])
def test_nothing_is_read_outside_the_table(strength: str) -> None:
    curve = next(iter(demo("SI").mix.prepackaged)).curve
    assert curve is not None and curve.between(read(strength, Stress)) is None


def test_an_opening_strength_beyond_the_table_gets_no_age() -> None:
    mixes = job({"mix.concretes.R1.strengths": "2 h 10 MPa; 4 h 15 MPa"}).mix
    one = mixes.prepackaged[0]
    assert one.time is None and "does not hold" in mixes.decisions[one.makers_item]
    none = job({"mix.concretes.R1.strengths": ""}).mix.prepackaged[0]
    assert none.curve is None and none.makers_curve is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2 h 17 MPa", "at least two ages"), ("2 h 17 MPa; 4 h", "wanted an age and a strength"), ("4 h 17 MPa; 2 h 24 MPa", "rise"),
        ("2 h 24 MPa; 4 h 17 MPa", "rise"), ("2 m 17 MPa; 4 h 24 MPa", "duration in hours"), ("2 h 17 MPa; 4 h 900 MPa", "150 MPa"),
        ("2 h 17 MPa; 9000 h 24 MPa", "2400 h"),
    ],
)  # fmt: skip
def test_a_faulty_makers_table_is_named(text: str, says: str) -> None:
    said = refusal(DEMO["SI"], {"mix.concretes.R1.strengths": text})
    assert "mix.concretes.R1.strengths" in said and says in said
