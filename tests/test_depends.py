"""Check what depends on what: the register of inputs, the chain behind a result, and what an input moves."""

import random

import pytest
from samples import DEMO, SYSTEMS, demo

from deckcalc import cli
from deckcalc.core.sources import folder
from deckcalc.core.units import InputError
from deckcalc.job import compute, depends, order
from deckcalc.job.file import JobError, read_job
from deckcalc.job.order import Job, finished
from deckcalc.job.register import register
from deckcalc.job.trials import Trials, named
from deckcalc.package import build as package

SMALL = sorted(folder("notebooks").glob("small_*"))
CHAINS = {}


def chains(system):
    """Return the chains of a demo job, made once."""
    if system not in CHAINS:
        CHAINS[system] = depends.Chains(demo(system))
    return CHAINS[system]


def said(job):
    """Return all that a job comes to: results, checks, open items and notes."""
    return (
        package.manifest(job), [str(one) for one in job.checks], [str(one) for one in job.open_items],
        {one.key: (one.notes, one.decisions) for one in job.subjects},
    )  # fmt: skip


# --- the register


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_input_set_to_what_it_is_gives_the_same_job(system):
    """Each key of the register is one that a review may set, and each value is printed as it is read."""
    inputs = chains(system).inputs
    assert len(inputs) > 2000
    again = order.changed(demo(system), {key: one.printed for key, one in inputs.items()})
    old, new = package.results(demo(system)), package.results(again)
    assert old.keys() == new.keys()
    assert [
        key for key in old if float(new[key].split()[0]) != pytest.approx(float(old[key].split()[0]), rel=1e-8)
    ] == []  # inputs are printed in twelve digits, of which the difference of two loses some


@pytest.mark.parametrize("key", [
    "deck.slab_thickness", "depths.D3.depth", "bars.B6.readings", "bars.B6.size", "limits.waste", "traffic.speed",
    "mix.record.tests", "equipment.compressor.number",
])  # fmt: skip
def test_fields_cells_and_limits_are_inputs(key):
    assert key in chains("US").inputs


def test_names_and_people_are_no_inputs():
    found = chains("SI").inputs
    assert not [key for key in found if key.startswith(("people.", "package.", "revisions.", "bridge.", "decisions."))]
    assert "bars.B6.bar" not in found


@pytest.mark.parametrize("place", SMALL, ids=[one.name for one in SMALL])
def test_a_small_job_has_inputs_and_chains(place):
    job = compute(place)
    made = depends.Chains(job)
    assert made.inputs and made.results
    assert all(made.why(name).holds(key) for name in made.checks for key in made.keys_of(name))


# --- only what depends is computed again


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_changed_job_is_the_one_computed_afresh(system):
    """Inputs drawn from all sections: results, checks, open items and notes are those of a computation from the start."""
    before, inputs = demo(system), chains(system).inputs
    draw = random.Random(18)
    sections = sorted({one.section for one in inputs.values()})
    done = 0
    for section in draw.sample(sections, len(sections)):
        key = draw.choice([key for key, one in inputs.items() if one.section == section])
        change = {key: draw.choice(inputs[key].near() or [inputs[key].printed])}
        try:
            after = order.changed(before, change)
        except JobError:
            continue
        done += 1
        afresh = finished(Job(read_job(before.file.contents, change)))
        assert said(after) == said(afresh), change
        assert afresh.rests_on <= after.rests_on, change  # a subject that was kept has had its sheets read besides
        if done == 5:
            break
    assert done == 5


# --- why


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_chain_behind_a_loss_ends_at_the_readings_of_the_bar(system):
    found = chains(system).why("bar B6: section loss of one bar (at most)")
    assert {"bars.B6.readings", "limits.bar_loss_single"} <= found.keys
    assert not any(key.startswith("bars.") and ".B6." not in key for key in found.keys)
    lines = list(found.lines())
    assert lines[0].startswith("bar B6: section loss of one bar") and any(
        "input bars.B6.readings" in one for one in lines
    )


def test_a_result_is_found_by_the_names_of_manifest_and_terminal():
    made = chains("US")
    one = next(one for one in made.results if one.run.item == "bar B6")
    assert made.why(one.filed) == made.why(one.printed)


@pytest.mark.parametrize(
    ("words", "answer"), [("bar B6", "names .* results"), ("no such thing at all", "names no result"), ("", "names")]
)
def test_a_result_that_is_none_or_several_is_told_with_near_names(words, answer):
    with pytest.raises(InputError, match=answer):
        chains("US").why(words)


@pytest.mark.parametrize(
    ("system", "key"),
    [("US", "bars.B6.readings"), ("US", "cores.C2.bar_depth"), ("US", "traffic.speed"), ("SI", "formwork.plates.overlap"),
     ("SI", "chloride.profile.background"), ("SI", "limits.bar_loss_single")],
)  # fmt: skip
def test_what_a_trial_moves_has_the_input_in_its_chain(system, key):
    made = chains(system)
    found = depends.affects(made.job, key, made.inputs)
    assert found.margins
    missing = [name for name, *_ in found.margins if name in made.checks and not made.why(name).holds(key)]
    assert missing == []
    assert "" in found.tried.values() and all(found.sheets.values())


def test_an_input_is_moved_by_one_and_by_ten_percent():
    one = chains("US").inputs["deck.slab_thickness"]
    assert [float(text.split()[0]) / one.number for text in (*one.near(), *one.near(10))] == pytest.approx(
        [1.01, 0.99, 1.1, 0.9]
    )


def test_a_chain_names_value_and_limit_without_a_step_that_says_so_again():
    made = chains("US")
    for name, check in made.checks.items():
        words = [one.text.split(" ")[0].rstrip(":") for one in made.why(name).behind]
        assert words == (["value", "limit"] if check.demand is not None else ["limit", "which"]), name


def test_an_unknown_input_is_told_with_near_keys():
    with pytest.raises(
        InputError, match=r"bars\.B6\.reading”: no such input of this job; there are .*bars\.B6\.readings"
    ):
        depends.affects(demo("US"), "bars.B6.reading", chains("US").inputs)


def test_a_job_with_a_subject_that_fell_out_has_chains_of_the_others():
    job = order.changed(demo("SI"), {"mix.concretes.C3.strength": "55 MPa"})
    assert "mix" in job.faults
    made = depends.Chains(job)
    assert "bars.B6.readings" in made.keys_of("bar B6: section loss of one bar (at most)")
    assert register(job).keys() >= {"mix.concretes.C3.strength"}


def test_a_trial_that_is_faulty_says_why():
    assert "slice C2-6: overlaps slice C2-5" in Trials(demo("SI")).tried({"chlorides.C2-5.lower": "75 mm"})


def test_the_command_prints_chains_and_what_moves(capsys):
    assert (
        cli.main(
            [
                "rerun",
                str(DEMO["US"]),
                "--why",
                "bar B6: section loss of one bar (at most)",
                "--affects",
                "traffic.speed",
            ]
        )
        == 0
    )
    out = capsys.readouterr().out
    assert "<- input bars.B6.readings" in out and "Checks whose margin moves" in out and "Traffic" in out
    with pytest.raises(SystemExit):
        cli.main(["rerun", str(DEMO["US"])])
    assert "wants --set, --add, --remove, --why or --affects" in capsys.readouterr().err
    assert cli.main(["rerun", str(DEMO["US"]), "--why", "wish"]) == 1
    assert set(named(demo("US").checks)) == set(chains("US").checks)
