"""Check flip points: hand values, and that each printed value turns its verdict while the one before it does not."""

from math import pi, sqrt

import pytest
from samples import DEMO, SYSTEMS, demo

from deckcalc import cli
from deckcalc.core import units
from deckcalc.core.bars import bar_area
from deckcalc.job import order
from deckcalc.job.flips import flips
from deckcalc.job.trials import Ask, Asked, Trials, named

LOSS = "bar {}: section loss of one bar (at most)"


def verdict(job, name, key, text):
    """Return the verdict of a check with an input set."""
    return named(order.changed(job, {key: text}).checks)[name].verdict


def holds(job, one):
    """Say whether a flip point turns its verdict when it is set, and the value before it does not."""
    turned = verdict(job, one.check, one.key, one.at) == one.becomes != one.verdict
    return turned and (not one.before or verdict(job, one.check, one.key, one.before) == one.verdict)


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_limit_turns_a_loss_where_it_equals_the_loss(system):
    job = demo(system)
    name = LOSS.format("B6")
    (one,) = flips(job, [name], inputs=["limits.bar_loss_single"]).found
    loss = named(job.checks)[name].demand.m_as("percent")
    assert float(one.at.split()[0]) == pytest.approx(loss, abs=0.1) and float(one.at.split()[0]) >= loss
    assert (one.verdict, one.becomes) == ("not satisfied", "satisfied") and holds(job, one)


def test_a_caliper_reading_turns_a_loss_at_the_diameter_worked_out_by_hand():
    """A bar keeps the share of its area that the square of its least diameter keeps: d = sqrt(4 (1 - loss) A_0 / pi)."""
    job = demo("US")
    for check in job.steel.checks:
        number = check.item.removeprefix("bar ")
        row = next((row for row in job.file.rows["bars"] if row.bar == number), None)
        if row is None or check.title != "section loss of one bar":
            continue
        least, area = float(row.readings.m_as("in").min()), units.number(bar_area(row.size), "in²")
        if abs((1 - pi / 4 * least**2 / area) - check.demand.m_as("")) < 1e-9:
            break
    else:
        raise AssertionError("no bar whose loss follows from its least reading alone")
    (one,) = flips(job, [LOSS.format(number)], inputs=[f"bars.{number}.readings"]).found
    limit = check.limit.value.m_as("")
    wanted = sqrt(4 * (1 - limit) * area / pi)
    found = min(float(text.split()[0]) for text in one.at.split("; "))
    assert found == pytest.approx(wanted, rel=2e-3) and holds(job, one)


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_printed_value_turns_its_verdict_and_the_one_before_does_not(system):
    job = demo(system)
    names = [
        name
        for key in ("traffic", "safety")
        for name, one in named(job.of(key).checks).items()
        if one.demand is not None
    ]
    found = flips(job, names, most=2)
    assert len(found.found) >= 3
    assert all(holds(job, one) for one in found.found)
    assert [one.verdict for one in found.found] == sorted(
        (one.verdict for one in found.found), key="not satisfied".__eq__
    )


def test_inputs_tried_together_answer_as_each_by_itself():
    """Readings of bars apart go into one trial; where one moves more than it was held to, it is tried alone."""
    trials = Trials(demo("US"))
    keys = [f"bars.{bar}.readings" for bar in ("B6", "B10", "B12")]
    asks = [Ask("steel", key, trials.inputs[key].near()[0]) for key in keys]
    names = [LOSS.format(key.split(".")[1]) for key in keys]
    together = Asked(trials, {("steel", key): {name} for key, name in zip(keys, names, strict=True)})
    together.ask(asks)
    assert [together.answers[one] for one in asks] == [trials.moved({one.key: one.text}, "steel") for one in asks]


def test_an_input_that_does_not_reach_a_check_leaves_it_firm():
    name = LOSS.format("B6")
    found = flips(demo("US"), [name], inputs=["traffic.speed"])
    assert (found.found, found.firm) == ([], [name])
    assert list(found.frame().columns)[:3] == ["check", "verdict", "becomes"] and found.data()["flips"] == []


def test_a_search_that_leaves_where_the_job_is_valid_says_where_it_ended():
    name = "core C2: chloride at the bar, all chloride (less than)"
    found = flips(demo("US"), [name], inputs=["chlorides.C2-5.lower"])
    assert found.firm == [name] and "overlaps slice" in "".join(found.ended.values())


def test_the_command_prints_flip_points(capsys):
    assert cli.main(["flips", str(DEMO["US"]), "--check", "bar B6: section loss"]) == 0
    out = capsys.readouterr().out
    assert "limits.bar_loss_single" in out and "not satisfied → satisfied" in out
    assert cli.main(["flips", str(DEMO["US"]), "--check", "no such check"]) == 1
    assert "no check has the words" in capsys.readouterr().err
    assert cli.main(["flips", "nowhere"]) == 1
