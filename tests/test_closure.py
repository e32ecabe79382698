"""Check the closure: paths against networkx, samples against exact results, nights against brute force, loads against the sheets."""

import csv
import itertools
import math
import re
import shutil

import networkx
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from samples import DEMO, demo, edit_table, planned, planned_place, set_toml
from scipy import stats

from deckcalc import Q, cli, closure, curing, mix, patch
from deckcalc.base.fields import JobError
from deckcalc.closure import sheet
from deckcalc.closure.design import ClosurePlan
from deckcalc.closure.design import stock as load_stock
from deckcalc.closure.design.loads import CUT, KINDS, bags_of_patch, measured
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
from deckcalc.core.units import InputError
from deckcalc.curing import sheet as curing_sheet
from deckcalc.curing.sheet import detail as curing_detail
from deckcalc.curing.sheet import drawings as curing_drawn
from deckcalc.job import Job, adopt
from deckcalc.job.file import read_job
from deckcalc.package import build as package
from deckcalc.package import crew, decisions, field
from deckcalc.show import sections
from deckcalc.show.written import HandCalculations

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
    """The maximum of independent ends: the product of their distributions."""
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
        with pytest.raises(InputError, match="more samples on time than there are samples"):
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
    """Return minimum nights, then minimum hire, then the sum of area by night, over all ways to divide the patches."""
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
    plan, names = planned("US").closure, ["P4", "P6", "P7", "P8"]
    want, length = plan.section, plan.closures[0].length

    def ends(chosen):
        made = network.plan(steps_of(plan, chosen), want.crews)
        return network.end_kept(made, 0.9, 2000, want.seed, 0.5)

    known = {part: ends(part) for size in range(1, 5) for part in itertools.combinations(names, size)}
    lookup = lambda chosen: known[tuple(sorted(chosen))]  # noqa: E731
    worth, none = np.ones(4), (np.zeros(0), np.zeros((0, 4), bool))
    limit = max(length, *(known[(name,)] for name in names))
    found = nights.spread_over_nights(names, np.zeros((1, 4)), np.ones(1), lookup, limit, worth, *none)
    assert len(found) == brute(names, lookup, limit, worth, *none)[0]


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
def test_every_closure_of_the_plan_has_its_timetable_and_every_patch_one_closure(system):
    job = planned(system)
    plan = job.closure
    assert [one.patches for one in plan.closures] == [tuple(one.patches) for one in job.file.work]
    named = [name for one in plan.closures for name in one.patches]
    assert sorted(named) == sorted(plan.loads) == sorted(one.name for one in job.patch)
    for made, adopted in zip(plan.closures, job.file.work, strict=True):
        assert (made.closing, made.moment(made.length)) == (adopted.closing, adopted.opening)
        assert made.apart.p_l > made.together.p_l - Q(0.01, "") and made.together.p_u <= made.apart.p_u
        assert made.latest_starts and all(one.fallback for one in made.latest_starts)
        for i, step in enumerate(made.network.steps):
            assert made.last_start[i] <= made.times.latest_start[i]
            for before in made.network.before[i]:
                later = made.last_start[before] + 1e-6
                assert made.last_start[i] >= later - made.network.steps[before].most or step.likely == 0
    assert not plan.proposal


def test_both_jobs_plan_the_same_closures():
    si, us = (planned(system).closure for system in SYSTEMS)
    grown = {name for one in planned("US").rounds.grown for name in one}  # as long as either edition asks: not the same
    assert us.durations.keys() == si.durations.keys()
    assert [one.patches for one in us.closures] == [one.patches for one in si.closures]
    same = [CUT, CONCRETE, "bonding grout", "diesel", "petrol", "tie wire", "form seal tape", "wet fabric and sheet"]
    for name, loads in si.loads.items():
        for material in same if name not in grown else ():
            if material in loads:
                assert us.loads[name][material][0] == pytest.approx(loads[material][0], rel=1e-3), material


@pytest.mark.parametrize("system", SYSTEMS)
def test_timetable_adds_up_as_it_is_printed(system):
    plan = planned(system).closure
    for one in plan.closures:
        rows = [line.split("|")[1:-1] for line in sheet.steps_of(plan, one).splitlines() if line.startswith("|")][2:]
        assert len(rows) == len(one.network.steps)
        for place, row in zip(one.in_order, rows, strict=True):
            begins, ends, length, latest, slack = (row[i].strip() for i in (0, 1, 5, 6, 7))
            assert (begins, ends) == (one.hour(one.times.start[place]), one.hour(one.times.finish[place]))
            start = int(one.times.start[place])
            assert one.hour(start + int(length)) == ends and one.hour(start + int(slack)) == latest


@pytest.mark.parametrize("system", SYSTEMS)
def test_totals_are_sums_of_patches_and_what_the_sheets_say(system):
    job = planned(system)
    plan = job.closure
    whole = load_stock.of_job(plan)
    for material, (amount, _) in whole.items():
        parts = sum(loads[material][0] for loads in plan.loads.values() if material in loads)
        extra = sum(loads[material][0] for loads in plan.of_closure.values() if material in loads)
        assert amount == pytest.approx(parts + extra), material
    orders = [run for run in job.mix.runs_of(mix.batch_for_volume) if run.item.startswith("order,")]
    cement = sum(float(run.result.m_c.m_as("kg")) for run in orders)
    assert sum(v for k, (v, _) in whole.items() if k.startswith("cement")) == pytest.approx(cement, rel=1e-6)
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
    text = sheet.by_hand(job.closure, job.written)
    runs = sheet.governing_runs(job.closure)
    assert 3 <= len(runs) <= 5 and all(f"{job.written.numbers[run]} " in text for run in runs)


@pytest.mark.parametrize("system", SYSTEMS)
def test_what_is_worked_out_by_hand_is_the_closure_nearest_to_its_limit(system):
    plan = demo(system).closure
    nights = {one.name for one in plan.planned}
    most = max((one for one in plan.checks if one.item in nights), key=lambda one: one.utilisation or 0.0)
    gap = max(
        (one for one in plan.checks if one.title == "gap between two batches"), key=lambda one: one.utilisation or 0.0
    )
    assert {run.item for run in sheet.governing_runs(plan)} == {most.item, gap.item}


@pytest.mark.parametrize("system", SYSTEMS)
def test_no_check_of_a_closure_that_passes_is_printed_beside_its_table(system):
    plan = demo(system).closure
    table, checks = sheet.results(plan, demo(system).written), sections.checks(plan, elsewhere=sheet.elsewhere(plan))
    for night in plan.planned:
        assert f"**{night.name.removeprefix('closure ')}**: " in table and f"| {night.name} |" not in checks


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_part_of_the_sheet_has_content(system):
    plan = planned(system).closure
    written = planned(system).written
    for part in (sheet.lead, lambda plan: sheet.results(plan, written), sheet.timetable, sheet.latest_starts,
                 lambda plan: sheet.placing(plan, written), sheet.chance, load.to_order, load.trucks, load.by_patch, load.equipment,
                 load.cost, load.alternatives, load.carbon):  # fmt: skip
        said = part(plan)
        assert len(said) > 100, part
        for row in plan.rates.values():  # the words of the job are its own
            said = said.replace(row.fallback, "").replace(row.with_plates, "")
        assert not re.search("(?i)tonight|this closure|this night", said), part
    for picture in (*drawn.bars(plan), drawn.programme(plan)):
        assert picture.png[:4] == b"\x89PNG"
    assert len(drawn.bars(plan)) >= len(plan.planned)
    assert [str(part) for part in sheet.further(plan) if isinstance(part, str) and part.startswith("## ")]


@pytest.mark.parametrize("system", SYSTEMS)
def test_cost_follows_from_its_printed_lines(system):
    for line in load.cost(planned(system).closure).splitlines():
        cells = [cell.strip() for cell in line.split("|")[1:-1]]
        if len(cells) == 7 and cells[6].startswith("2026"):
            assert float(cells[1]) * float(cells[3]) == pytest.approx(float(cells[4]), abs=0.0051)


def test_containers_hold_what_is_listed_with_its_spare():
    plan = planned("US").closure
    for line in plan.stock:
        if not line.number:
            continue
        every = {night.name: plan.loads_of(night) for night in plan.closures}
        amounts = [
            (line.by_night[name], loads[line.material]) for name, loads in every.items() if line.material in loads
        ]
        for number, amount in [*amounts, *([(line.number, line.amount)] if line.keeps else [])]:
            packed = load_stock.contained(plan, line.material, amount)
            wanted = float(packed["q"].m_as("")) * (1 + float(packed["s"].m_as("")))
            contents = float(packed["c"].m_as(""))
            assert wanted <= number * contents * (1 + 1e-9)
            assert (number - 1) * contents < wanted or line.material.startswith("cement, type")
        assert line.keeps or line.number == sum(line.by_night.values())


@pytest.mark.parametrize("system", SYSTEMS)
def test_cement_has_one_count_of_bags(system):
    """Crew pages, batch, lists of the closures and materials list say the same: opened batch by batch, whole."""
    job = planned(system)
    plan = job.closure
    said = re.search(r"Bags of cement, opened batch by batch and whole: (.+)\.", load.by_patch(plan))[1]
    by_patch = {word.split()[0]: int(word.split()[1]) for word in said.split(", ")}
    for name, loads in job.mix.loads.items():
        bag = float(job.mix.inputs.mix.bag.m_as("kg"))
        assert loads.opened == loads.count * math.ceil(loads.batch.m_c.m_as("kg") / bag - 1e-9) == by_patch[name]
        assert f"{loads.opened} bag{'s' * (loads.opened > 1)} of cement opened in all" in crew.page(job, name).replace(
            "\u00a0", " "
        )
    for line in plan.stock:
        if line.material.startswith("cement"):
            listed = [one.quantity for one in job.materials if one.material == f"Of it, {line.material} to load"]
            assert listed == [f"{line.number} bags"] and not line.keeps
            for made in plan.closures:
                opened = sum(bags_of_patch(plan, name, line.material) for name in made.patches)
                assert line.by_night.get(made.name, 0) >= opened
    assert not [one for one in job.mix.materials if "Cement" in one.material and "bags" in one.quantity]
    assert by_patch == {name: loads.opened for name, loads in job.mix.loads.items()} != {}


@pytest.mark.parametrize("system", SYSTEMS)
def test_prepackaged_concrete_has_one_count_of_bags(system):
    """Materials list, batch, and loads of the patches say the same: whole bags, patch by patch."""
    job = planned(system)
    for made in job.mix.prepackaged:
        bags = {name: int(one.found.n.m) for name, one in job.mix.bag_loads.items() if one.design is made}
        assert set(bags) == set(made.patches) and bags
        for name, count in bags.items():
            mass = count * made.concrete.bag.m_as("kg")
            assert job.closure.loads[name][made.bag_item].number == pytest.approx(mass)
        listed = [one.quantity for one in job.mix.materials if "bags" in one.quantity and made.name in one.material]
        assert listed == [f"{sum(bags.values())} bags"]
        line = next(one for one in job.closure.stock if one.material == made.bag_item)
        assert line.number >= sum(bags.values()) and line.keeps


@pytest.mark.parametrize("system", SYSTEMS)
def test_fabric_and_compound_have_one_value(system):
    """Sheet of patches, sheet of curing, materials list and loads of the closures."""
    job = planned(system)
    for row in job.file.work.placings:
        covers = sum(float(job.patch[name].wet_cover.A_c.m_as("m²")) for name in row.names)
        loads = sum(job.closure.loads[name]["wet fabric and sheet"].number for name in row.names)
        listed = next(one for one in job.materials if one.material == f"Wet fabric and sheet, placing {row.placement}")
        assert loads == pytest.approx(covers) and listed.quantity == job.show(Q(covers, "m²"), units.Area, 1)
        water = [run for run in job.curing.runs_of(curing.wet_cure_water) if run.item == f"placing {row.placement}"]
        assert all(run.arguments["A"].m_as("m²") == pytest.approx(covers) for run in water)
    assert job.mix.load_count == sum(one.loads for one in job.closure.placing.values())


def test_what_cures_a_patch_is_what_the_plan_says(copy):
    edit_table(copy, "placements", {"closure": "night-1"}, curing="curing compound")
    edit_table(copy, "placements", {"closure": "night-2"}, curing="wet fabric, then compound")
    job = Job(read_job(copy))
    for closing in job.file.work:
        for name in closing.patches:
            sprayed, covered = (
                "curing compound" in job.closure.loads[name],
                "wet fabric and sheet" in job.closure.loads[name],
            )
            assert (sprayed, covered) == {"night-1": (True, False), "night-2": (True, True)}.get(
                closing.name, (False, True)
            )
            text = crew.page(job, name)
            assert ("Spray, cure" in text) == (not covered) and ("curing compound, " in text) == sprayed
    for row in job.file.work.placings:
        runs = [run for run in job.curing.runs_of(curing.curing_compound) if run.item == f"placing {row.placement}"]
        loads = sum(job.closure.loads[name].get("curing compound", (0.0, ""))[0] for name in row.names)
        assert loads == pytest.approx(sum(float(run.result.V.m_as("L")) for run in runs))


def test_a_closure_that_needs_two_truck_loads_in_whole_containers_says_so(copy):
    """What is mixed fits into a truck that its whole containers do not fit into: it goes twice."""
    plan = Job(read_job(copy)).closure
    first = plan.closures[0]
    loose = sum(load_stock.mass_of(plan, *item) for item in plan.loads_of(first).items()) * 1.1
    whole = next(one for one in plan.trucks if one.item == f"{first.name}, materials").mass.m_as("kg")
    assert loose < 0.95 * whole
    set_toml(copy, "closure", payload=f"{(loose + whole) / 2} kg")
    plan = Job(read_job(copy)).closure
    truck = next(one for one in plan.trucks if one.item == f"{first.name}, materials")
    assert truck.mass.m_as("kg") == pytest.approx(whole) and truck.loads.n.m_as("") == 2


# --- forms that come off, and the clock


@pytest.mark.parametrize("which", ["by night", "metric"])
def test_steps_that_take_forms_off_are_in_the_plan_of_full_depth_holes_alone(which):
    job = planned("SI") if which == "by night" else demo(which)
    plan = job.closure
    steps = {step.name for step in steps_of(plan, list(plan.loads))}
    forms = plan.trades.formwork
    for name in plan.loads:
        full = plan.trades.patches[name].full
        hung = full and name in forms and forms[name].hanger is not None
        assert (f"strip {name}" in steps) == full
        assert (f"strongbacks {name}" in steps) == (f"hangers {name}" in steps) == hung
    off = [check for check in plan.checks if check.title.startswith("steps that take the form off")]
    assert off and all(check.verdict == "satisfied" for check in off)


def test_a_job_whose_forms_never_come_off_says_so(tmp_path):
    copy = shutil.copytree(DEMO["metric"], tmp_path / "job")
    path = copy / "rates.csv"
    text = path.read_text(encoding="utf-8").replace("strength; hangers", "strength")
    kept = [line for line in text.splitlines() if not line.startswith(("strongbacks,", "hangers,"))]
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    job = Job(read_job(copy))
    checks = [one for one in job.closure.checks if one.title.startswith("steps that take the form off")]
    hung = {one.name for one in job.formwork if one.hanger is not None}
    assert hung and {one.item.removeprefix("patch ") for one in checks if one.verdict == "not satisfied"} == hung
    assert all("missing: strongbacks, hangers" in one.why for one in checks if one.verdict != "satisfied")


def told(plan):
    """Return the table of the closures."""
    return sheet.results(plan, HandCalculations([plan], plan.system))


def clocked(copy, zone, closing, opening, clock="24 h"):
    """Return the plan of a job with one closure, P1, in a time zone."""
    start, end = (f"{closing[:10]} {hour}" for hour in ("22:00", "22:30"))
    write_plan(copy, ["N1", "night-1", "P1", "", closing, start, end, opening, "18 °C", "9 °C", "wet fabric", ""])
    for name in ("weather", "days", "history"):  # of other days
        (copy / f"{name}.csv").unlink(missing_ok=True)
    set_toml(copy, "bridge", time_zone=zone, clock=clock)
    return Job(read_job(copy)).closure


def write_plan(place, *rows):
    with (place / "placements.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([adopt.HEADS, *rows])


@pytest.mark.parametrize(
    ("zone", "closing", "opening", "hours", "words"),
    [
        ("America/Chicago", "2026-10-31 20:00", "2026-11-01 06:00", 11, "set back by 60 min"),
        ("America/Chicago", "2026-03-07 20:00", "2026-03-08 06:00", 9, "set forward by 60 min"),
        ("America/Regina", "2026-10-31 20:00", "2026-11-01 06:00", 10, ""),  # no daylight saving there
        ("Australia/Lord_Howe", "2026-04-04 20:00", "2026-04-05 06:00", 10.5, "set back by 30 min"),
    ],
)
def test_a_closure_is_as_long_as_the_clocks_make_it(copy, zone, closing, opening, hours, words):
    """Changes of the clocks of 2026, as the time zone database has them."""
    plan = clocked(copy, zone, closing, opening)
    (one,) = plan.closures
    assert one.length == hours * 60 and words in told(plan)
    assert f"{one.moment(one.length):%Y-%m-%d %H:%M}" == opening


def test_an_hour_that_stands_twice_is_told_apart(copy):
    (one,) = clocked(copy, "America/Chicago", "2026-10-31 20:00", "2026-11-01 06:00").closures
    assert [one.hour(60 * n) for n in (4, 5, 6, 7)] == ["00:00", "01:00 CDT", "01:00 CST", "02:00"]


def test_the_clock_of_the_job_prints_twelve_hours(copy):
    plan = clocked(copy, "America/Chicago", "2026-04-10 20:00", "2026-04-11 06:00", "12 h")
    assert "Friday 10 April 2026, 8:00 p.m." in told(plan) and "11:00 p.m." in plan.closures[0].hour(180)


# --- a plan that the weather does not reach yet


def test_a_placing_without_weather_is_not_covered_and_the_rest_stands(copy):
    (copy / "weather.csv").unlink()
    (copy / "days.csv").unlink(missing_ok=True)
    job = Job(read_job(copy))
    said = {one.item: one for one in job.curing.checks if one.title == "drying, temperatures and strength at opening"}
    assert set(said) == {f"placing {row.placement}" for row in job.file.work.rows}
    for row in job.file.work.placings:
        one = said[f"placing {row.placement}"]
        assert one.verdict == "not covered" and f"no weather record for placing {row.placement}" in one.why
        assert any(item.why and f"placing {row.placement}" in item.what + item.why for item in job.open_items)
        for name in row.names:
            assert job.closure.evidence[name] == "estimate" and "no weather record" in crew.page(job, name)
    assert not len(job.curing) and "not covered: no weather record" in curing_sheet.schedule(job.curing)
    for part in (
        curing_detail.drying,
        curing_detail.each_item,
        curing_detail.opening_table,
        curing_drawn.strength,
        curing_drawn.drying,
    ):
        assert part(job.curing) == ""


# --- adopting a plan


def adopted(place, *more):
    return cli.main(["adopt", str(place), "--write", *more])


def test_a_plan_that_is_adopted_reads_back_and_its_checks_hold():
    job = planned("US")
    checks = [one for one in job.closure.checks if one.title.endswith("plan against timetable")]
    assert len(checks) == 2 * len(job.file.work.placings) and all(one.verdict == "satisfied" for one in checks)
    before, after = ([row for row in one.file.work.rows if not row.names] for one in (demo("US"), job))
    assert [vars(row) for row in after] == [vars(row) for row in before]  # trial slabs stay, with their units
    for row in job.file.work.placings:
        assert {job.mix.for_patch(name).name for name in row.names} == {row.concrete}


def test_adopting_a_plan_changes_only_what_the_plan_carries():
    """Patches, chlorides, proportions and forms are those of before; of the reinforcement only laps for another strength move."""
    before, after = (package.results(one) for one in (demo("US"), planned("US")))
    rooms = ("patch", "chloride", "mix", "formwork", "traffic")
    kept = {key: value for key, value in before.items() if key.partition(" / ")[0] in rooms}
    moved = sorted(key for key, value in kept.items() if after.get(key) != value)
    assert len(kept) > 500 and not moved
    steel = {key for key, value in before.items() if key.startswith("steel / ") and after.get(key) != value}
    assert all("lap" in key for key in steel)


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_patch_has_one_placing_and_one_opening_wherever_they_are_printed(system):
    job = planned(system)
    work = job.file.work
    for name in job.patch.depth_class:
        mine, row = work.closure_of(name), work.placing_of(name)
        made = job.closure.closure_of(name)
        assert row.opening == mine.opening == made.moment(made.length)
        text = crew.page(job, name).replace("\u00a0", " ")
        short = lambda moment: crew.short(work.in_words(moment)).replace("\u00a0", " ")  # noqa: E731
        assert f"Planned **{work.in_words(mine.opening)}**" in text and f"lane open {short(mine.opening)}" in text
        assert f"concrete {short(row.start)}" in text
        line = next(one for one in decisions.patches(job).splitlines() if one.startswith(f"| {name} |"))
        assert f"{mine.name}: {work.in_words(mine.opening)}" in line
        one = job.curing.of_patch(name)
        assert one is None or one.row is row


def test_patches_are_left_out_by_name(copy, capsys):
    assert adopted(copy, "--without", "P7", "--without", "P4") == 0
    assert "Left out: P7, P4" in capsys.readouterr().out
    job = Job(read_job(copy))
    assert job.file.work.unplanned([one.name for one in job.patch]) == ["P4", "P7"]
    assert "Not in the plan, and without a crew page: P4, P7." in field.plan(job)
    assert "not in the plan, and not priced: P4, P7" in load.cost(job.closure)


@pytest.mark.parametrize(
    ("change", "more", "words"),
    [
        (lambda place: set_toml(place, "closure", first_night=None), (), "job.toml: closure.first_night: missing"),
        (lambda place: set_toml(place, "closure", slab_temperature=None), (), "job.toml: closure.slab_temperature: missing"),
        (lambda place: set_toml(place, "closure", opens="21:00"), (), "closure.opens: no night is long enough for P1, P2"),
        (lambda place: None, ("--without", "P99"), "--without P99: there is no patch “P99”; there are P1"),
        (lambda place: None, [x for i in range(1, 9) for x in ("--without", f"P{i}")], "--without: every patch is left out"),
        (lambda place: edit_table(place, "rates", {"per": "mixer"}, per="patch", least="9 min", likely="9 min", most="9 min"), (),
         "rates.csv, column per: no step counted by “mixer”"),
        (lambda place: edit_table(place, "rates", {"step": "saw"}, likely="1 kg"), (), "rates.csv, step saw, column likely"),
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_proposed_names_the_field_and_writes_nothing(copy, capsys, change, more, words):
    change(copy)
    before = {path.name: path.read_bytes() for path in copy.iterdir()}
    assert adopted(copy, *more) == 1
    assert words in capsys.readouterr().err
    assert {path.name: path.read_bytes() for path in copy.iterdir()} == before


def test_a_job_without_a_closure_proposes_nothing(copy, capsys):
    path = copy / "job.toml"
    parts = re.split(r"(?m)^(?=\[)", path.read_text(encoding="utf-8"))
    kept = [part for part in parts if not re.match(r"\[+(closure|safety)[\].]", part)]
    path.write_text("".join(kept), encoding="utf-8")
    (copy / "prices.csv").unlink()
    before = (copy / "placements.csv").read_bytes()
    assert adopted(copy) == 1 and "job.toml: closure: missing" in capsys.readouterr().err
    assert (copy / "placements.csv").read_bytes() == before


def test_a_plan_that_changed_meanwhile_is_left(copy):
    job = Job(read_job(copy))
    made = adopt.propose(job)
    path = copy / "placements.csv"
    path.write_bytes(path.read_bytes() + b"\n")
    before = {one.name: one.read_bytes() for one in copy.iterdir()}
    with pytest.raises(InputError, match="was changed since it was read"):
        adopt.write(made, job.file.contents)
    assert {one.name: one.read_bytes() for one in copy.iterdir()} == before


def test_a_folder_that_cannot_be_written_is_named_and_left(copy, monkeypatch, capsys):
    def refuse(*args, **kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("deckcalc.base.replacing.tempfile.mkdtemp", refuse)
    before = {one.name: one.read_bytes() for one in copy.iterdir()}
    assert adopted(copy) == 1
    assert "cannot be written: Permission denied; what stood there was left as it was" in capsys.readouterr().err
    assert {one.name: one.read_bytes() for one in copy.iterdir()} == before


def test_a_job_folder_that_is_gone_is_not_made_again(copy):
    (copy / "placements.csv").unlink()
    job = Job(read_job(copy))
    made = adopt.propose(job)
    shutil.rmtree(copy)
    with pytest.raises(InputError, match="is no longer there"):
        adopt.write(made, job.file.contents)
    assert not copy.exists()


def test_a_proposal_alone_writes_nothing_and_says_how_it_is_adopted(copy, capsys):
    before = {one.name: one.read_bytes() for one in copy.iterdir()}
    assert cli.main(["adopt", str(copy)]) == 0
    said = capsys.readouterr().out
    assert "Nothing was written" in said and "In place of the plan that stands" in said
    assert {one.name: one.read_bytes() for one in copy.iterdir()} == before


def test_without_a_plan_the_sheets_say_so_and_propose_one(copy):
    (copy / "placements.csv").unlink()
    job = Job(read_job(copy))
    assert "No plan adopted" in told(job.closure) and "deckcalc adopt" in told(job.closure)
    assert "No plan of the work is adopted" in crew.why_none(job) and "No plan adopted" in decisions.plan(job)
    assert job.closure.proposal and not job.closure.closures
    assert "the plan that is proposed, not adopted" in load.alternatives(job.closure)


# --- what is refused


@pytest.fixture
def copy(tmp_path):
    return shutil.copytree(planned_place(), tmp_path / "job")


def refused(place):
    with pytest.raises(JobError) as caught:
        Job(read_job(place)).closure  # noqa: B018
    return str(caught.value)


def rate(step, **values):
    return lambda place: edit_table(place, "rates", {"step": step}, **values)


def price(name, **values):
    return lambda place: edit_table(place, "prices", {"price": name}, **values)


def stock(material, **values):
    return lambda place: edit_table(place, "stock", {"material": material}, **values)


def tool(name, **values):
    return lambda place: edit_table(place, "equipment", {"tool": name}, **values)


def section(**values):
    return lambda place: set_toml(place, "closure", **values)


def way(number, **values):
    """Set entries of one of the ways that are compared."""

    def change(place):
        path = place / "job.toml"
        parts = path.read_text(encoding="utf-8").split("[[closure.alternatives]]")
        for key, value in values.items():
            said = re.sub(rf"(?m)^(# )?{key} = .*\n", "", parts[number + 1])
            parts[number + 1] = f"\n{key} = {value}\n{said.lstrip()}"
        path.write_text("[[closure.alternatives]]".join(parts), encoding="utf-8")

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (rate("saw", likely=""), "rates.csv, row 4, column likely"),
        (rate("mark", likely="8 m"), "rates.csv, step mark, column likely"),
        (rate("mark", least="9 min", likely="8 min"), "rates.csv, step mark: wanted “least” ≤ “likely” ≤ “most”"),
        (rate("set-out", after="lift"), "rates.csv, column after: the order goes round in a circle"),
        (rate("mark", after="sett-out"), "follows “sett-out”, which is no step"),
        (rate("tie", uses="welders"), "rates.csv, step tie, column uses"),
        (rate("set-out", date="last winter"), "rates.csv, row 2, column date"),
        (rate("strongbacks", after="tie"), "rates.csv, step strongbacks, column after: wanted the wait for strength"),
        (rate("strip", takes_off="all"), "column takes off: found “all”"),
        (rate("strip", per="patch"), "rates.csv, step strip, column per: found “patch”, wanted “hole”"),
        (price("setup", date=""), "prices.csv, row 2, column date"),
        (price("setup", currency=""), "prices.csv, row 2, column currency"),
        (price("setup", currency="marks"), "prices.csv, price setup, column currency: “marks”"),
        (price("setup", least="1800"), "prices.csv, price setup: wanted “least” ≤ “likely” ≤ “most”"),
        (price("crew", plan="rapidd"), "prices.csv, price crew, column plan: found “rapidd”"),
        (price("carpenters", price="joiners"), "prices.csv, price joiners"),
        (stock("stone-10", contents="a lot"), "stock.csv, row 2, column contents"),
        (stock("stone-10", contents="400 L"), "stock.csv, material stone-10, column contents"),
        (stock("stone-10", keeps="never"), "column keeps: found “never”"),
        (stock("tie wire", rate=""), "stock.csv, material tie wire, column rate"),
        (tool("breaker", limit="hamer"), "equipment.csv, tool breaker, column limit"),
        (tool("breaker", value="13 m"), "equipment.csv, tool breaker, column value"),
        (tool("compressor", burns=""), "equipment.csv, tool compressor: columns fuel and burns"),
        (section(common="120 %"), "closure.common"),
        (section(payload="1814"), "closure.payload"),
        (section(closes="25:00"), "closure.closes: found “25:00”, wanted an hour of the day such as 20:00"),
        (lambda place: set_toml(place, "bridge", clock="13 h"), "bridge.clock: found “13 h”"),
        (way(1, name='"rapid"'), "closure.alternatives: a name appears twice"),
        (way(0, closures=7), "closure.alternatives.0.closures: 7, and placements.csv has 4"),
        (way(0, hours='"3 h"'), "closure.alternatives.0.hours: 3.0 h, and the longest closure of placements.csv has 10 h"),
    ],
)  # fmt: skip
def test_each_fault_is_named_with_file_row_and_column(copy, change, words):
    change(copy)
    assert words in refused(copy)


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("closing", "2026-03-08 02:30", "column closing: 2026-03-08 02:30 is skipped"),
        ("opening", "2026-11-01 01:30", "column opening: 2026-11-01 01:30 is shown twice"),
        ("opening", "2026-04-09 06:00", "closing, start, end and opening do not follow one another"),
        ("patches", "P1; P99", "the survey gives no patch “P99”"),
        ("closure", "", "column closure: empty"),
    ],
)
def test_each_fault_of_the_plan_is_named(copy, column, value, words):
    edit_table(copy, "placements", {"placement": "N1"}, **{column: value})
    assert words in refused(copy)


def test_a_placing_of_two_concretes_is_named(copy):
    edit_table(copy, "placements", {"placement": "N4"}, patches="P4; P1")
    edit_table(copy, "placements", {"placement": "N1"}, patches="P2; P5")
    assert "a placing is of one concrete" in refused(copy)


def test_a_missing_table_of_rates_is_named(copy):
    (copy / "rates.csv").unlink()
    assert "rates.csv: missing; the tools of the section [safety] run for" in refused(copy)
    text = (copy / "job.toml").read_text(encoding="utf-8")
    kept = "".join(part for part in re.split(r"(?m)^(?=\[)", text) if not part.startswith(("[safety", "[[safety")))
    (copy / "job.toml").write_text(kept, encoding="utf-8")
    assert "rates.csv missing: no timetable" in read_job(copy).lacking["closure"]


def test_alternatives_without_prices_are_named(copy):
    (copy / "prices.csv").unlink()
    assert "prices.csv: missing" in refused(copy)


def test_a_patch_without_volume_is_named(copy):
    job = Job(read_job(copy))
    plan = ClosurePlan(job.context(Inputs), given=job.trades(None))
    job.patch["P2"].volume = None
    with pytest.raises(JobError, match="patch P2 has no volume"):
        measured(plan, "P2")


def test_a_closure_that_is_too_short_fails_and_a_night_too_short_proposes_nothing(copy):
    edit_table(copy, "placements", {"placement": "N1"}, opening="2026-04-11 02:30")
    job = Job(read_job(copy))
    verdict = {check.title: check.verdict for check in job.closure.checks if check.item == "closure night-1"}
    assert verdict["critical path with the wait for strength"] == "not satisfied"
    assert "**not satisfied**" in told(job.closure) and "closure night-1" not in sheet.elsewhere(job.closure)
    assert "| closure night-1 |" in sections.checks(job.closure, elsewhere=sheet.elsewhere(job.closure))
    assert sheet.governing_runs(job.closure)[-1].item == "closure night-1"
    (copy / "placements.csv").unlink()
    set_toml(copy, "closure", opens="22:30")
    plan = Job(read_job(copy)).closure
    assert "no night is long enough for" in plan.decisions["proposal"] and not plan.planned
    assert "No plan adopted" in told(plan)
    assert load.cost(plan) == ""


def test_without_optional_tables_the_sheet_leaves_their_parts_out(copy):
    for name in ("prices", "stock", "equipment"):
        (copy / f"{name}.csv").unlink()
    path = copy / "job.toml"
    head, _, rest = path.read_text(encoding="utf-8").partition("[[closure.alternatives]]")
    after = re.search(r"(?m)^\[(?!\[closure\.)", rest)
    path.write_text(head + rest[after.start() :], encoding="utf-8")
    plan = Job(read_job(copy)).closure
    assert len(plan.closures) == 4 and not plan.estimate and not plan.alternatives
    assert load.cost(plan) == load.equipment(plan) == ""
    assert load.alternatives(plan) == "" and len(load.to_order(plan)) > 100


def test_the_first_way_is_the_plan_itself():
    plan = planned("US").closure
    first, cost = plan.alternatives[0], load.cost(plan)
    assert first is plan.estimate and (first.closures, first.hours) == (len(plan.closures), plan.minutes / 60)
    assert cost.startswith(f"{first.closures} closures, {first.hours:.2f} h")
    assert "the adopted plan, 4 closures, concrete" in load.alternatives(plan)


def test_a_heavier_breaker_is_not_satisfied(copy):
    edit_table(copy, "equipment", {"tool": "breaker"}, value="27 kg")
    check = next(one for one in Job(read_job(copy)).closure.checks if one.item == "tool breaker")
    assert check.verdict == "not satisfied" and check.limit.value.m_as("kg") < 27


# --- many jobs


def test_programme_plans_the_good_jobs_and_names_the_others(copy, tmp_path, capsys):
    bad = tmp_path / "bad"
    shutil.copytree(copy, bad)
    edit_table(bad, "rates", {"step": "set-out"}, after="lift")
    out = tmp_path / "out" / "programme.csv"
    assert cli.main(["programme", str(copy), str(bad), str(tmp_path / "none"), "--out", str(out), "--quiet"]) == 1
    said = capsys.readouterr()
    assert "1 jobs planned, 4 nights" in said.out
    assert "bad: rates.csv, column after: the order goes round in a circle" in said.err and "none: " in said.err
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["night"] for row in rows] == ["1", "2", "3", "4", "", ""]
    assert sorted(" ".join(row["patches"] for row in rows[:4]).split()) == [f"P{i}" for i in range(1, 9)]
    assert all(float(row["done by likely times [min]"]) > 0 for row in rows[:4])
    assert {row["plan"] for row in rows[:4]} == {"adopted"}
    plan = planned("US").closure
    for material in ("cement, type I", "R1, dry, in bags"):
        whole = sum(float(row[f"{material} [kg]"] or 0) for row in rows[:4])
        line = next(one for one in plan.stock if one.material == material)
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
