"""Check the closure: paths against networkx, samples against exact results, nights against brute force, loads against the sheets."""

import csv
import itertools
import math
import shutil

import networkx
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from samples import demo
from scipy import stats

from deckcalc import Q, cli, closure, mix, patch
from deckcalc.base.fields import JobError
from deckcalc.closure import sheet
from deckcalc.closure.design import ClosurePlan
from deckcalc.closure.design import stock as load_stock
from deckcalc.closure.design.loads import CUT, KINDS, WATER, measured
from deckcalc.closure.design.results import CONCRETE, DEBRIS
from deckcalc.closure.design.steps import steps_of
from deckcalc.closure.formulas import assignment as nights
from deckcalc.closure.formulas import critical_path as network
from deckcalc.closure.formulas import durations
from deckcalc.closure.formulas.cost import sampled
from deckcalc.closure.formulas.critical_path import Step
from deckcalc.closure.inputs import Inputs
from deckcalc.closure.sheet import drawings as drawn
from deckcalc.closure.sheet import loads as load
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.core.units import InputError
from deckcalc.job import Job
from deckcalc.job.file import read_job

SYSTEMS = ["SI", "US"]


# --- networks of steps made up for the tests


@st.composite
def works(draw):
    """Return steps of several patches, in an order of the work, with the crews that they use."""
    kinds = draw(st.integers(2, 5))
    crews = {name: draw(st.integers(1, 3)) for name in ("a", "b", "c")}
    after = [
        [j for j in range(i) if draw(st.booleans())] if i else [] for i in range(kinds)
    ]  # of each kind of step: which it follows
    uses = [tuple(name for name in crews if draw(st.integers(0, 2)) == 0) for _ in range(kinds)]
    steps = []
    for group in range(draw(st.integers(1, 4))):
        for kind in range(kinds):
            likely = draw(st.integers(1, 60))
            steps.append(
                Step(f"{kind} P{group}", tuple(f"{j} P{group}" for j in after[kind]), uses[kind], likely,
                     draw(st.integers(0, likely)), likely + draw(st.integers(0, 60)), f"P{group}", kind)
            )  # fmt: skip
    return steps, crews


def faster(steps, name, likely):
    """Return the steps with one of them faster."""
    return [
        Step(one.name, one.after, one.uses, likely, min(one.least, likely), one.most, one.group, one.rank)
        if one.name == name else one for one in steps
    ]  # fmt: skip


def end(steps, crews):
    made = network.plan(steps, crews)
    return float(made.finishes(made.likely()).max())


def graph_of(made):
    """Return the network as a graph of networkx: an edge is as long as the step that it leaves."""
    graph = networkx.DiGraph()
    graph.add_node("start")
    for i, step in enumerate(made.steps):
        graph.add_edge("start", i, weight=0.0)
        graph.add_edge(i, "end", weight=step.likely)
        for j in made.before[i]:
            graph.add_edge(j, i, weight=made.steps[j].likely)
    return graph


@settings(max_examples=60)
@given(works())
def test_critical_path_is_the_longest_path_of_networkx(work):
    made = network.plan(*work)
    times, graph = network.times(made), graph_of(made)
    assert times.end == networkx.dag_longest_path_length(graph)
    critical = {i for i, on in enumerate(times.critical) if on}
    assert set(networkx.dag_longest_path(graph)) - {"start", "end"} <= critical
    for i in range(len(made.steps)):  # slack: the longest path through a step, short of the longest of all
        before = graph.subgraph(networkx.ancestors(graph, i) | {i})
        behind = graph.subgraph(networkx.descendants(graph, i) | {i})
        through = networkx.dag_longest_path_length(before) + networkx.dag_longest_path_length(behind)
        assert times.slack[i] == pytest.approx(times.end - through)


@settings(max_examples=60)
@given(works())
def test_no_crew_does_two_things_at_once(work):
    steps, crews = work
    made = network.plan(steps, crews)
    times = network.times(made)
    for name, count in crews.items():
        events = []
        for i, step in enumerate(made.steps):
            if name in step.uses:
                events += [(times.start[i], 1), (times.finish[i], -1)]
        at_once = itertools.accumulate(change for _, change in sorted(events))
        assert max(at_once, default=0) <= count
    for i, step in enumerate(made.steps):
        done = {made.steps[j].name: times.finish[j] for j in range(len(made.steps))}
        assert all(done[other] <= times.start[i] + 1e-9 for other in step.after)


@settings(max_examples=80)
@given(works(), st.data())
def test_a_faster_step_never_makes_the_end_later(work, data):
    steps, crews = work
    one = data.draw(st.sampled_from(steps))
    assert end(faster(steps, one.name, data.draw(st.integers(0, int(one.likely)))), crews) <= end(steps, crews) + 1e-9


@settings(max_examples=80)
@given(works(), st.sampled_from("abc"))
def test_another_crew_never_makes_the_end_later(work, name):
    steps, crews = work
    assert end(steps, {**crews, name: crews[name] + 1}) <= end(steps, crews) + 1e-9


def test_list_scheduling_breaks_what_ours_keeps():
    """Graham 1969, anomalies of lists (from memory): 9 jobs, 3 machines end at 12; with 4 machines at 15, each a time less at 13."""
    lengths = (3, 2, 2, 2, 4, 4, 4, 4, 9)
    after = {9: (1,), 5: (4,), 6: (4,), 7: (4,), 8: (4,)}

    def listed(durations, machines):
        free, done, waiting, clock = machines, {}, list(range(1, 10)), 0
        running = []
        while waiting or running:
            for job in list(waiting):
                if free and all(other in done for other in after.get(job, ())):
                    waiting.remove(job)
                    running.append((clock + durations[job - 1], job))
                    free -= 1
            clock, finished = min(running)[0], [r for r in running if r[0] == min(running)[0]]
            for item in finished:
                running.remove(item)
                done[item[1]] = clock
                free += 1
        return clock

    assert listed(lengths, 3) == 12
    assert listed(lengths, 4) == 15
    assert listed([x - 1 for x in lengths], 3) == 13
    steps = [
        Step(f"{i} J", tuple(f"{j} J" for j in after.get(i, ())), ("m",), x, x, x, "J", i)
        for i, x in enumerate(lengths, 1)
    ]
    ours = end(steps, {"m": 3})
    assert end(steps, {"m": 4}) <= ours
    quicker = [Step(s.name, s.after, s.uses, s.likely - 1, s.least - 1, s.most - 1, s.group, s.rank) for s in steps]
    assert end(quicker, {"m": 3}) <= ours


def test_a_circle_is_named_with_its_steps():
    steps = [Step("a", ("c",), (), 1, 1, 1), Step("b", ("a",), (), 1, 1, 1), Step("c", ("b",), (), 1, 1, 1)]
    with pytest.raises(InputError, match="circle: a after c after b after a"):
        network.plan(steps, {})
    with pytest.raises(InputError, match="follows “x”, which is no step"):
        network.sorted_steps([Step("a", ("x",), (), 1, 1, 1)])
    with pytest.raises(InputError, match="of which there is none"):
        network.plan([Step("a", (), ("crane",), 1, 1, 1)], {})


# --- sampling against exact results


def chain(triples):
    """Return a chain of steps, one after the other."""
    return [
        Step(f"s{i}", (f"s{i - 1}",) if i else (), (), mode, low, high, "P", i)
        for i, (low, mode, high) in enumerate(triples)
    ]  # fmt: skip


def exact(triples, at):
    """Probability that the sum of independent triangles is no more than a time, by convolving their densities."""
    step = 0.02
    density = np.array([1.0])
    offset = 0.0
    for low, mode, high in triples:
        grid = np.arange(low, high + step / 2, step)
        mass = np.diff(
            stats.triang.cdf(
                np.append(grid - step / 2, grid[-1] + step / 2), (mode - low) / (high - low), low, high - low
            )
        )
        density, offset = np.convolve(density, mass), offset + low
    return float(density[: round((at - offset) / step) + 1].sum())


def test_a_chain_of_independent_steps_keeps_its_exact_distribution():
    triples = [(25, 35, 50), (5, 8, 15), (10, 14, 22), (20, 31, 55), (150, 180, 210)]
    made = network.plan(chain(triples), {})
    samples = 40_000
    for at in (255, 270, 285, 300, 315):
        found = network.spread(made, at, samples, 7, 0.0).in_time
        wanted = exact(triples, at)
        assert abs(found - wanted) < 4 * math.sqrt(wanted * (1 - wanted) / samples) + 1e-3
    ends = network.spread(made, 300, samples, 7, 0.0).ends
    mean = sum(sum(triple) / 3 for triple in triples)
    variance = sum((a * a + b * b + c * c - a * b - a * c - b * c) / 18 for a, b, c in triples)
    assert ends.mean() == pytest.approx(mean, abs=4 * math.sqrt(variance / samples))
    assert ends.std() == pytest.approx(math.sqrt(variance), rel=0.02)


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0.1, 100))
def test_a_triangle_is_that_of_scipy(low, rise, fall):
    draw = np.linspace(0.001, 0.999, 37)
    ours = network.triangle(draw, low, low + rise, low + rise + fall)
    wanted = stats.triang.ppf(draw, rise / (rise + fall), low, rise + fall)
    assert ours == pytest.approx(wanted, rel=1e-6, abs=1e-6)


def test_steps_that_have_all_in_common_add_up_quantile_by_quantile():
    """Comonotone variables: the quantile of their sum is the sum of their quantiles (probability theory)."""
    triples = [(25, 35, 50), (5, 8, 15), (150, 180, 210)]
    found = network.spread(network.plan(chain(triples), {}), 300, 40_000, 7, 1.0)
    for share in (0.05, 0.5, 0.9, 0.99):
        wanted = sum(stats.triang.ppf(share, (m - a) / (b - a), a, b - a) for a, m, b in triples)
        assert found.quantile(share) == pytest.approx(wanted, abs=0.6)


@pytest.mark.parametrize("common", [0.0, 0.3, 0.5, 0.9])
def test_a_common_factor_leaves_each_step_as_it_is_and_ties_them_together(common):
    triples = [(10, 14, 22), (20, 31, 55)]
    made = network.plan(chain(triples), {})
    drawn_ = network.triangular(made, 40_000, 5, common)
    for (a, m, b), values in zip(triples, drawn_, strict=True):
        shape = stats.triang((m - a) / (b - a), a, b - a)
        assert stats.kstest(values, shape.cdf).statistic < 0.01
    scores = [
        stats.norm.ppf(stats.triang.cdf(v, (m - a) / (b - a), a, b - a))
        for (a, m, b), v in zip(triples, drawn_, strict=True)
    ]
    assert np.corrcoef(scores)[0, 1] == pytest.approx(common, abs=0.02)


def test_what_steps_have_in_common_widens_the_night_and_not_its_mean():
    made = network.plan(chain([(25, 35, 50)] * 6), {})
    ends = [network.spread(made, 300, 20_000, 1, common).ends for common in (0.0, 0.25, 0.5, 1.0)]
    assert all(wide.std() > narrow.std() for narrow, wide in itertools.pairwise(ends))
    assert [one.mean() for one in ends] == pytest.approx([220.0] * 4, abs=1.0)


@given(st.floats(0.5, 0.99), st.integers(500, 200_000))
def test_the_share_to_keep_is_that_whose_lower_end_reaches_the_chance(wanted, n):
    """Wilson's interval is the score test turned round: both ways must agree, from either side of the threshold."""
    share = durations.share_to_keep(wanted, n)
    for count in (math.ceil(share * n + 1e-6), math.floor(share * n - 1e-6)):
        if 0 <= count <= n and share < 1:
            low = closure.share_in_time(Q(count, ""), Q(n, "")).p_l.m_as("")
            assert (low >= wanted - 1e-9) == (count >= share * n - 1e-6)


@given(st.integers(200, 200_000), st.data())
def test_no_chance_is_printed_as_certain_or_as_nothing(n, data):
    k = data.draw(st.one_of(st.just(0), st.just(n), st.integers(0, n)))
    made = closure.share_in_time(Q(k, ""), Q(n, ""))
    text = durations.said(made)
    assert "100.0 " not in text and not text.startswith(("0.0 in", "100"))
    numbers = [float(word) for word in text.split() if word[0].isdigit()][:-1]
    assert all(0 < number < 100 or "to" in text for number in numbers)
    assert not (text.startswith("more than") and numbers[0] > 100 * made.p_l.m_as("") + 1e-9)


def test_two_chains_side_by_side_end_with_the_later_one():
    """The greatest of independent ends: the product of their distributions."""
    one, other = [(20, 30, 45), (10, 20, 40)], [(30, 40, 60), (5, 10, 20)]
    steps = chain(one) + [
        Step(f"t{i}", (f"t{i - 1}",) if i else (), (), mode, low, high, "R", i) for i, (low, mode, high) in enumerate(other)
    ]  # fmt: skip
    made = network.plan(steps, {})
    for at in (55, 60, 68):
        found = network.spread(made, at, 40_000, 3, 0.0).in_time
        assert found == pytest.approx(exact(one, at) * exact(other, at), abs=0.012)


@given(st.integers(0, 400), st.integers(1, 400))
def test_interval_is_that_of_scipy(k, n):
    if k > n:
        with pytest.raises(InputError, match="more samples in time"):
            closure.share_in_time(Q(k, ""), Q(n, ""))
        return
    made = closure.share_in_time(Q(k, ""), Q(n, ""))
    z = 2 * stats.norm.cdf(1.96) - 1
    low, high = stats.binomtest(k, n).proportion_ci(z, "wilson")
    assert (made.p_l.m_as(""), made.p_u.m_as("")) == pytest.approx((low, high), abs=1e-9)


@settings(max_examples=30)
@given(works(), st.integers(0, 50), st.floats(0, 1))
def test_least_likely_and_most_hold_the_samples_between_them(work, seed, common):
    made = network.plan(*work)
    ends = network.spread(made, 1e9, 200, seed, common).ends
    low = made.finishes(np.array([step.least for step in made.steps])).max()
    high = made.finishes(np.array([step.most for step in made.steps])).max()
    assert low - 1e-9 <= ends.min() and ends.max() <= high + 1e-9


@settings(max_examples=30)
@given(works())
def test_begun_at_its_latest_start_a_step_still_opens_in_time(work):
    made = network.plan(*work)
    total = float(made.finishes(made.likely()).max()) + 25
    times = network.times(made, total)
    tail = network.remaining(made, made.likely()[:, None])[:, 0]
    assert times.latest_start + tail == pytest.approx(np.full(len(tail), total))


# --- nights against brute force


def brute(names, ends, limit, worth, prices, wants):
    """Return least nights, then least hire, then the sum of area by night, over all ways to divide the patches."""
    best = None
    for colours in itertools.product(range(len(names)), repeat=len(names)):
        used = max(colours) + 1
        if set(colours) != set(range(used)):
            continue
        sets = [tuple(name for name, c in zip(names, colours, strict=True) if c == k) for k in range(used)]
        if any(ends(part) > limit + 1e-6 for part in sets):
            continue
        hire = sum(
            price for price, wanted in zip(prices, wants, strict=True)
            for k in range(used) if any(w for w, c in zip(wanted, colours, strict=True) if c == k)
        )  # fmt: skip
        early = sum(w * c for w, c in zip(worth, colours, strict=True))
        score = used, round(hire, 6), round(early, 6)
        best = score if best is None or score < best else best
    return best


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_nights_are_those_of_brute_force(data):
    n = data.draw(st.integers(1, 5))
    names = [f"P{i}" for i in range(n)]
    size = {name: data.draw(st.integers(1, 60)) for name in names}
    odd = {name: data.draw(st.integers(0, 30)) for name in names}  # what no load on a crew shows
    limit = 70

    def ends(chosen):
        return sum(size[name] for name in chosen) + max((odd[name] for name in chosen), default=0) * (len(chosen) > 1)

    worth = np.array([data.draw(st.integers(1, 9)) for _ in names], dtype=float)
    prices = np.array([data.draw(st.integers(1, 50)) for _ in range(data.draw(st.integers(0, 2)))], dtype=float)
    wants = np.array([[data.draw(st.booleans()) for _ in names] for _ in prices], dtype=bool).reshape(len(prices), n)
    load_ = np.array([[size[name] for name in names]], dtype=float)
    found = nights.spread_over_nights(names, load_, np.array([70.0]), ends, limit, worth, prices, wants)
    assert sorted(name for night in found for name in night) == names
    hire = sum(
        price
        for price, w in zip(prices, wants, strict=True)
        for night in found
        if any(w[names.index(x)] for x in night)
    )
    early = sum(worth[names.index(name)] * k for k, night in enumerate(found) for name in night)
    assert (len(found), round(hire, 6), round(early, 6)) == brute(names, ends, limit, worth, prices, wants)


def test_a_patch_that_fits_no_night_is_named():
    with pytest.raises(InputError, match="no night is long enough for P2 by itself"):
        nights.spread_over_nights(
            ["P1", "P2"], np.ones((1, 2)), np.ones(1), lambda chosen: 900.0 if "P2" in chosen else 10.0, 600.0,
            np.ones(2), np.zeros(0), np.zeros((0, 2), bool),
        )  # fmt: skip


def test_nights_of_the_demo_are_the_fewest_of_all_ways():
    """Four patches of the job, every way to divide them, each timetable worked."""
    job = demo("SI")
    plan, names = job.closure, ["P4", "P6", "P7", "P8"]
    want = plan.section

    def ends(chosen):
        made = network.plan(steps_of(plan, chosen), want.crews)
        return network.end_kept(made, 0.9, 2000, want.seed, 0.5)

    known = {part: ends(part) for size in range(1, 5) for part in itertools.combinations(names, size)}
    lookup = lambda chosen: known[tuple(sorted(chosen))]  # noqa: E731
    worth, none = np.ones(4), (np.zeros(0), np.zeros((0, 4), bool))
    found = nights.spread_over_nights(names, np.zeros((1, 4)), np.ones(1), lookup, plan.length, worth, *none)
    assert len(found) == brute(names, lookup, plan.length, worth, *none)[0]


# --- cost


@given(
    st.lists(st.tuples(st.floats(0, 1e4), st.floats(0, 1e4)), min_size=1, max_size=8),
    st.floats(0, 100),
    st.floats(0, 1e4),
)
def test_cost_is_the_sum_of_its_parts(parts, hours, price):
    q, p = zip(*parts, strict=True)
    if not sum(a * b for a, b in parts) + hours * price > 1e-6:
        return
    made = closure.cost(Q(list(q), ""), Q(list(p), ""), Q(hours, "h"), Q(price, "1/h"))
    assert made.K.m_as("") == pytest.approx(math.fsum(a * b for a, b in parts) + hours * price)


def test_ways_that_share_a_price_get_the_same_draw():
    found = sampled(np.array([[2.0, 1.0], [2.0, 3.0]]), [(1, 5, 20), (7, 7, 7)], np.array([0.0, 0.0]), 500, 4)
    assert found[1] - found[0] == pytest.approx(np.full(500, 14.0))
    assert sampled(np.array([[1.0]]), [(1, 5, 20)], np.zeros(1), 40_000, 4).mean() == pytest.approx(26 / 3, rel=0.02)


# --- the demo jobs


@pytest.mark.parametrize("system", SYSTEMS)
def test_one_night_fits_and_all_patches_take_four(system):
    plan = demo(system).closure
    assert plan.this.times.end <= plan.length and plan.this.in_time.p_l.m_as("") >= 0.9
    assert len(plan.nights) == 4
    named = [name for night in plan.nights for name in night.patches]
    assert sorted(named) == sorted(plan.loads) == [f"P{i}" for i in range(1, 9)]
    for night in plan.nights:
        assert night.times.end <= plan.length and night.end <= plan.length + 1e-6
        assert night.in_time.p_l.m_as("") >= 0.9 - 1e-9
        assert night.apart.p_l > night.together.p_l - Q(0.01, "") and night.together.p_u <= night.apart.p_u
        assert night.latest_starts and all(one.fallback for one in night.latest_starts)
        assert all(one.planned <= one.by_likely for one in night.latest_starts)


def test_both_jobs_plan_the_same_night():
    si, us = (demo(system).closure for system in SYSTEMS)
    assert us.durations == si.durations  # whole minutes
    assert [night.patches for night in us.nights] == [night.patches for night in si.nights]
    assert us.this.times.end == si.this.times.end
    assert [night.end for night in us.nights] == pytest.approx([night.end for night in si.nights], abs=1e-9)
    for a, b in zip([si.estimate, *si.alternatives], [us.estimate, *us.alternatives], strict=True):
        assert b.cost.K.m_as("") == pytest.approx(a.cost.K.m_as(""), rel=1e-6)
    same = [
        CUT,
        CONCRETE,
        "bonding grout",
        "diesel",
        "petrol",
        "tie wire",
        "stone-10",
        "sealing strip",
    ]
    for name, loads in si.loads.items():
        for material in same:
            if material in loads:
                assert us.loads[name][material][0] == pytest.approx(loads[material][0], rel=1e-4), material


@pytest.mark.parametrize("system", SYSTEMS)
def test_timetable_adds_up_as_it_is_printed(system):
    job = demo(system)
    rows = [line.split("|")[1:-1] for line in sheet.timetable(job.closure).splitlines() if line.startswith("|")][2:]
    assert len(rows) == len(job.closure.this.network.steps)

    def clock(text):
        hours, minutes = text.strip().split(":")
        return (int(hours) * 60 + int(minutes) - 20 * 60) % 1440

    for row in rows:
        begins, ends, length, latest, slack = (row[i].strip() for i in (0, 1, 5, 6, 7))
        assert clock(begins) + int(length) == clock(ends)
        assert clock(latest) - clock(begins) == int(slack)
    assert max(clock(row[1]) for row in rows) == job.closure.this.times.end


@pytest.mark.parametrize("system", SYSTEMS)
def test_totals_are_sums_of_patches_and_what_the_sheets_say(system):
    job = demo(system)
    plan = job.closure
    whole = load_stock.of_job(plan)
    nightly = plan.of_closure
    for material, (amount, _) in whole.items():
        parts = sum(loads[material][0] for loads in plan.loads.values() if material in loads)
        extra = nightly.get(material, (0.0, ""))[0] * len(plan.nights)
        assert amount == pytest.approx(parts + extra), material
    orders = [run for run in job.mix.runs_of(mix.batch_for_volume) if run.item.startswith("order,")]
    cement = sum(float(run.result.m_c.m_as("kg")) for run in orders)
    assert sum(v for k, (v, _) in whole.items() if k.startswith("cement")) == pytest.approx(cement, rel=1e-6)
    water = sum(float(run.result.m_w.m_as("kg")) for run in orders)
    assert whole[WATER][0] == pytest.approx(water, rel=1e-6)
    order = job.patch.runs_of(patch.order_total)[0].result.V_total
    assert whole[CONCRETE][0] == pytest.approx(order.m_as("m³"))
    debris = job.patch.runs_of(patch.debris)[0].result.m_d
    assert whole[DEBRIS][0] == pytest.approx(debris.m_as("kg"))
    lumber = {m.material.split(",")[0].lower(): m.quantity for m in job.materials if m.material.startswith("Lumber")}
    for material, quantity in lumber.items():
        assert f"{whole[material][0]:.0f} pieces" == quantity


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_line_of_the_hand_calculations_is_proved(system):
    job = demo(system)
    for run in [*job.traffic.runs, *job.closure.runs]:
        assert job.written.by_run[run].markdown()
    assert "all items" in sheet.hand(job.closure, job.written)


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_part_of_the_sheet_has_content(system):
    plan = demo(system).closure
    for part in (sheet.first_line, sheet.night, sheet.timetable, sheet.latest_starts, sheet.latest_starts_of_nights,
                 sheet.placing, sheet.chance, sheet.all_nights, load.by_night, load.trucks, load.by_patch, load.of_job,
                 load.equipment, load.cost, load.alternatives, load.carbon):  # fmt: skip
        assert len(part(plan)) > 100, part
    for picture in (drawn.bars(plan), drawn.by_night(plan), drawn.alternatives(plan)):
        assert picture.png[:4] == b"\x89PNG"
    assert not drawn.bars(plan, 1)


@pytest.mark.parametrize("system", SYSTEMS)
def test_cost_follows_from_its_printed_lines(system):
    for line in load.cost(demo(system).closure).splitlines():
        cells = [cell.strip() for cell in line.split("|")[1:-1]]
        if len(cells) == 7 and cells[6].startswith("2026"):
            assert float(cells[1]) * float(cells[3]) == pytest.approx(float(cells[4]), abs=0.0051)


def test_containers_hold_what_is_listed_with_its_spare():
    plan = demo("US").closure
    for line in plan.stock:
        if not line.number:
            continue
        nights = {night.name: plan.loads_of(night) for night in plan.nights}
        amounts = [
            (line.by_night[name], loads[line.material]) for name, loads in nights.items() if line.material in loads
        ]
        for number, amount in [*amounts, *([(line.number, line.amount)] if line.keeps else [])]:
            packed = load_stock.contained(plan, line.material, amount)
            wanted = float(packed["q"].m_as("")) * (1 + float(packed["s"].m_as("")))
            contents = float(packed["c"].m_as(""))
            assert (number - 1) * contents < wanted <= number * contents * (1 + 1e-9)
        assert line.keeps or line.number == sum(line.by_night.values())


def test_cement_has_one_count_of_bags():
    """The materials list, the nights and the order of the job say the same."""
    job = demo("SI")
    for line in job.closure.stock:
        if line.material.startswith("cement"):
            listed = [one.quantity for one in job.materials if one.material == f"Of it, {line.material} to load"]
            assert listed == [f"{line.number} bags"] and not line.keeps
    assert not [one for one in job.mix.materials if "bags" in one.quantity]


def test_a_night_that_needs_two_truck_loads_in_whole_containers_says_so(copy):
    """1.3 t in whole containers and less than half of it by what is mixed: a truck of 1.2 t goes twice."""
    edit(copy, "job.toml", 'payload = "1814.36948 kg"', 'payload = "1200 kg"')
    plan = Job(read_job(copy)).closure
    night = plan.nights[0]
    loose = sum(load_stock.mass_of(plan, *item) for item in plan.loads_of(night).items())
    truck = next(one for one in plan.trucks if one.item == f"{night.name}, materials")
    assert loose * 1.1 < 1200 < truck.mass.m_as("kg") and truck.loads.n.m_as("") == 2


# --- forms that come off, and the clock


def test_steps_that_take_forms_off_are_in_the_plan_of_full_depth_holes_alone():
    plan = demo("SI").closure
    steps = {step.name for step in steps_of(plan, list(plan.loads))}
    forms = plan.trades.formwork
    for name in plan.loads:
        full = plan.trades.patches[name].full
        hung = full and forms[name].hanger is not None
        assert (f"strip {name}" in steps) == full
        assert (f"strongbacks {name}" in steps) == (f"hangers {name}" in steps) == hung
    off = [check for check in plan.checks if check.title.startswith("steps that take the form off")]
    assert len(off) == 2 and all(check.verdict == "satisfied" for check in off)


def test_a_job_whose_forms_never_come_off_says_so(copy):
    path = copy / "rates.csv"
    kept = [
        line
        for line in path.read_text(encoding="utf-8").splitlines()
        if not line.startswith(("strongbacks,", "hangers,"))
    ]
    text = (
        "\n".join(kept)
        .replace("strength; hangers; clean-up", "strength; clean-up")
        .replace("strength; hangers", "strength")
    )
    path.write_text(text + "\n", encoding="utf-8")
    checks = [one for one in Job(read_job(copy)).closure.checks if one.title.startswith("steps that take the form off")]
    assert [(one.item, one.verdict) for one in checks] == [("patch P4", "not satisfied"), ("patch P8", "satisfied")]
    assert "missing: strongbacks, hangers" in checks[0].why


def clocked(copy, zone, closing, opening):
    edit(copy, "job.toml", 'closing = "2026-04-10 20:00"', f'closing = "{closing}"')
    edit(copy, "job.toml", 'opening = "2026-04-11 06:00"', f'opening = "{opening}"')
    text = (copy / "job.toml").read_text(encoding="utf-8").replace("America/Chicago", zone)
    (copy / "job.toml").write_text(text, encoding="utf-8")
    return Job(read_job(copy)).closure


@pytest.mark.parametrize(
    ("zone", "closing", "opening", "hours", "words"),
    [
        ("America/Chicago", "2026-10-31 20:00", "2026-11-01 06:00", 11, "set back by 60 min"),
        ("America/Chicago", "2026-03-07 20:00", "2026-03-08 06:00", 9, "set forward by 60 min"),
        ("America/Regina", "2026-10-31 20:00", "2026-11-01 06:00", 10, ""),  # no daylight saving there
        ("Australia/Lord_Howe", "2026-04-04 20:00", "2026-04-05 06:00", 10.5, "set back by 30 min"),
    ],
)
def test_a_night_is_as_long_as_the_clocks_make_it(copy, zone, closing, opening, hours, words):
    """Changes of the clocks of 2026, as the time zone data base has them."""
    plan = clocked(copy, zone, closing, opening)
    assert plan.length == hours * 60 and words in sheet.night(plan)
    assert f"{plan.moment(plan.length):%Y-%m-%d %H:%M}" == opening


def test_an_hour_that_stands_twice_is_told_apart(copy):
    plan = clocked(copy, "America/Chicago", "2026-10-31 20:00", "2026-11-01 06:00")
    assert [plan.hour(60 * n) for n in (4, 5, 6, 7)] == ["00:00", "01:00 CDT", "01:00 CST", "02:00"]


def test_the_clock_of_the_job_prints_twelve_hours(copy):
    edit(copy, "job.toml", "samples = 20000\n", 'samples = 20000\nclock = "12 h"\n')
    plan = Job(read_job(copy)).closure
    assert "Friday 10 April 2026, 8:00 p.m." in sheet.night(plan) and "11:00 p.m." in plan.hour(180)


# --- what is refused


@pytest.fixture
def copy(tmp_path):
    place = tmp_path / "job"
    shutil.copytree(folder("notebooks") / "demo_si", place)
    return place


def edit(place, name, old, new):
    path = place / name
    text = path.read_text(encoding="utf-8")
    assert old in text, (name, old)
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def refused(place):
    with pytest.raises(JobError) as caught:
        Job(read_job(place)).closure  # noqa: B018
    return str(caught.value)


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        ("rates.csv", ",per,after", ",after", "rates.csv, row 1: column per is missing"),
        ("rates.csv", "mark,hands; saw,2.62467192 min/m,3.93700787 min/m", "mark,hands; saw,2.62467192 min/m,",
         "rates.csv, row 4, column likely"),
        ("rates.csv", "patch,set-out,hands,5 min,8 min,15 min", "patch,set-out,hands,5 min,8 m,15 min",
         "rates.csv, step mark, column likely"),
        ("rates.csv", "patch,set-out,hands,5 min,8 min", "patch,set-out,hands,9 min,8 min",
         "rates.csv, step mark: wanted least ≤ likely ≤ most"),
        ("rates.csv", "closure,,hands,25 min", "closure,lift,hands,25 min", "rates.csv, column after: the order goes round in a circle"),
        ("rates.csv", "patch,set-out,hands", "patch,sett-out,hands", "follows “sett-out”, which is no step"),
        ("rates.csv", "area,inspect,breakers", "area,inspect,welders", "rates.csv, step tie, column uses"),
        ("rates.csv", "50 min,,2026-02-20,", "50 min,,last winter,", "rates.csv, row 2, column date"),
        ("prices.csv", "2100,crowns,2026-02-20", "2100,crowns,", "prices.csv, row 2, column date"),
        ("prices.csv", "2100,crowns,", "2100,,", "prices.csv, row 2, column currency"),
        ("prices.csv", "2100,crowns,", "2100,marks,", "prices.csv, price setup, column currency: “marks”"),
        ("prices.csv", "all,1400,1600,2100", "all,1800,1600,2100", "prices.csv, price setup: wanted least ≤ likely ≤ most"),
        ("prices.csv", "hour,rapid,", "hour,rapidd,", "prices.csv, price crew, column plan: found “rapidd”"),
        ("prices.csv", "carpenters,carpenters and forms", "joiners,carpenters and forms", "prices.csv, price joiners"),
        ("stock.csv", "bulk bag,453.59237 kg", "bulk bag,a lot", "stock.csv, row 2, column contents"),
        ("stock.csv", "area of patch,0.0976485527 kg/m^2", "area of patch,", "stock.csv, material tie wire, column rate"),
        ("equipment.csv", "13.6077711 kg,hammer,", "13.6077711 kg,hamer,", "equipment.csv, tool breaker, column limit"),
        ("equipment.csv", "13.6077711 kg,hammer,", "13.6077711 m,hammer,", "equipment.csv, tool breaker, column value"),
        ("equipment.csv", "diesel,7.57082357 L/h", "diesel,", "equipment.csv, tool compressor: columns fuel and burns"),
        ("job.toml", 'opening = "2026-04-11 06:00"', 'opening = "2026-04-10 06:00"', "closure.opening: not after"),
        ("job.toml", "samples = 20000\n", 'samples = 20000\ntime_zone = "Europe/Berlin"\n', "closure.time_zone: “Europe/Berlin”; curing.time_zone is"),
        ("job.toml", "samples = 20000\n", 'samples = 20000\nclock = "13 h"\n', "closure.clock: found “13 h”"),
        ("job.toml", "samples = 20000\n", 'samples = 20000\ncommon = "120 %"\n', "closure.common"),
        ("job.toml", 'closing = "2026-04-10 20:00"', 'closing = "2026-03-08 02:30"', "closure.closing: 2026-03-08 02:30 is skipped"),
        ("job.toml", 'opening = "2026-04-11 06:00"', 'opening = "2026-11-01 01:30"', "closure.opening: 2026-11-01 01:30 is shown twice"),
        ("rates.csv", "strongbacks,\"loosen hangers, take strongbacks off the deck\",hole,strength", "strongbacks,\"loosen hangers, take strongbacks off the deck\",hole,tie",
         "rates.csv, step strongbacks, column after: wanted the wait for strength"),
        ("rates.csv", "(invented),form", "(invented),all", "rates.csv, row 16, column takes off: found “all”"),
        ("rates.csv", "strip,take the form down from below,hole", "strip,take the form down from below,patch", "rates.csv, step strip, column per: found “patch”, wanted “hole”"),
        ("stock.csv", "yard list (invented),no", "yard list (invented),never", "column keeps: found “never”"),
        ("job.toml", 'tonight = ["P1", "P2", "P3"]', 'tonight = ["P1", "P99"]', "there is no patch “P99”"),
        ("job.toml", 'payload = "1814.36948 kg"', 'payload = "1814.36948"', "closure.payload"),
        ("job.toml", 'name = "standard"', 'name = "rapid"', "closure.alternatives: a name stands twice"),
    ],
)  # fmt: skip
def test_each_fault_is_named_with_file_row_and_column(copy, name, old, new, words):
    edit(copy, name, old, new)
    assert words in refused(copy)


def test_contents_of_another_kind_are_named(copy):
    edit(copy, "stock.csv", "bulk bag,453.59237 kg", "bulk bag,453.59237 L")
    assert "stock.csv, material stone-10, column contents" in refused(copy)


def test_a_missing_table_of_rates_is_named(copy):
    (copy / "rates.csv").unlink()
    assert "rates.csv: missing" in refused(copy)


def test_alternatives_without_prices_are_named(copy):
    (copy / "prices.csv").unlink()
    assert "prices.csv: missing" in refused(copy)


def test_a_patch_without_volume_is_named(copy):
    job = Job(read_job(copy))
    plan = ClosurePlan(job.context(Inputs), work=job.closure_trades)
    job.patch["P2"].volume = None
    with pytest.raises(JobError, match="patch P2 has no volume"):
        measured(plan, "P2")


def test_a_night_that_is_too_short_says_which_patch(copy):
    edit(copy, "job.toml", 'opening = "2026-04-11 06:00"', 'opening = "2026-04-11 02:30"')
    job = Job(read_job(copy))
    verdict = {check.title: check.verdict for check in job.closure.checks}
    assert verdict["critical path with the wait for strength"] == "not satisfied"
    assert "no night is long enough for" in job.closure.decisions["all patches"]
    assert "not spread over nights" in sheet.all_nights(job.closure)
    assert load.by_night(job.closure) and drawn.bars(job.closure).png  # tonight is still shown


def test_without_optional_tables_the_sheet_says_so(copy):
    for name in ("prices", "stock", "equipment"):
        (copy / f"{name}.csv").unlink()
    text = (copy / "job.toml").read_text(encoding="utf-8")
    head, _, rest = text.partition("[[closure.alternatives]]")
    tail = rest.partition("# Limits that replace")
    (copy / "job.toml").write_text(head + tail[1] + tail[2], encoding="utf-8")
    job = Job(read_job(copy))
    plan = job.closure
    assert not {"curing", "traffic", "safety"} & vars(job).keys()  # what it does not want is not worked out for it
    assert len(plan.nights) == 4 and not plan.estimate and not plan.alternatives
    assert "no prices.csv" in load.cost(plan) and "no equipment.csv" in load.equipment(plan)
    assert load.alternatives(plan) == "" and len(load.by_night(plan)) > 100


def test_a_heavier_breaker_is_not_satisfied(copy):
    edit(copy, "equipment.csv", "13.6077711 kg,hammer,", "27 kg,hammer,")
    check = next(one for one in Job(read_job(copy)).closure.checks if one.item == "tool breaker")
    assert check.verdict == "not satisfied" and check.limit.value.m_as("kg") == 20


# --- many jobs


def test_programme_plans_the_good_jobs_and_names_the_others(copy, tmp_path, capsys):
    bad = tmp_path / "bad"
    shutil.copytree(copy, bad)
    edit(bad, "rates.csv", "closure,,hands,25 min", "closure,lift,hands,25 min")
    out = tmp_path / "out" / "programme.csv"
    assert cli.main(["programme", str(copy), str(bad), str(tmp_path / "none"), "--out", str(out), "--quiet"]) == 1
    said = capsys.readouterr()
    assert "1 jobs planned, 4 nights" in said.out
    assert "bad: rates.csv, column after: the order goes round in a circle" in said.err and "none: " in said.err
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["night"] for row in rows] == ["1", "2", "3", "4", "", ""]
    assert sorted(" ".join(row["patches"] for row in rows[:4]).split()) == [f"P{i}" for i in range(1, 9)]
    assert all(float(row["done, to be kept [min]"]) <= float(row["opening [min]"]) for row in rows[:4])
    plan = demo("SI").closure
    whole = sum(float(row["cement, type III [kg]"] or 0) for row in rows[:4])
    line = next(one for one in plan.stock if one.material == "cement, type III")
    assert whole == pytest.approx(line.amount.number * 1.1, rel=1e-4)
    assert "circle" in rows[4]["fault"] and "no such folder" in rows[5]["fault"]
    assert [path.name for path in out.parent.iterdir()] == ["programme.csv"]  # nothing half-written beside it


def test_programme_that_cannot_be_written_leaves_nothing(copy, tmp_path, capsys):
    place = tmp_path / "taken"
    place.mkdir()
    assert cli.main(["programme", str(copy), "--out", str(place), "--quiet"]) == 1
    assert "is not a table of the programme and was left as it is" in capsys.readouterr().err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job", "taken"]


def test_every_kind_of_amount_prints(copy):
    for unit, kind in KINDS.items():
        assert units.kind_of(kind).unit("SI").is_compatible_with(units.registry().Unit(unit or ""))
