"""A deck of a million bar readings: loss, pit and strength against the same formulas in bare numpy, in one run."""

import math
import time

import numpy as np
import pytest

from deckcalc import Q, steel

MANY = 1_000_000


@pytest.fixture(scope="module")
def deck():
    random = np.random.default_rng(5)
    return random.uniform(12.0, 15.9, (MANY, 2)), random.uniform(0.1, 4.0, MANY), random.uniform(0.3, 0.62, MANY)


def best(work, rounds):
    """Return the shortest of several runs, seconds."""
    taken = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def bare_loss(d):
    d_mean, d_r = d.mean(axis=-1), d.min(axis=-1)
    A_r = math.pi * d_r**2 / 4
    A_lost = 199.0 - A_r
    return d_mean, d_r, A_r, A_lost, A_lost / 199.0


def bare_pit(d, p):
    q = np.minimum(p / d, 1)
    w = 2 * p * np.sqrt(1 - q**2)
    t_2, t_1 = 2 * np.arcsin(np.minimum(w / (2 * p), 1)), 2 * np.arcsin(np.minimum(w / d, 1))
    A_d = math.pi * d**2 / 4
    A_1 = (t_1 * (d / 2) ** 2 - w * np.abs(d / 2 - p**2 / d)) / 2
    A_2 = (t_2 * p**2 - w * p**2 / d) / 2
    A_pit = np.where(p <= d / math.sqrt(2), A_1 + A_2, np.where(p < d, A_d - A_1 + A_2, A_d))
    return A_pit, A_d - A_pit, 1 - (A_d - A_pit) / 199.0


def bare_adjacent(a, b):
    return np.minimum(a, b)


@pytest.mark.parametrize("what", ["loss of section", "pit", "adjacent bars"])
def test_a_million_bars_against_bare_numpy(benchmark, deck, what):
    d, p, loss = deck
    many = slice(None) if not benchmark.disabled else slice(0, 50_000)
    d, p, loss, A_0 = d[many], p[many], loss[many], Q(199, "mm²")
    readings, pits, share = Q(d, "mm"), Q(p, "mm"), Q(loss, "")
    beside = Q(d[:, 0], "mm")
    ours, bare = {
        "loss of section": (lambda: steel.section_loss(A_0, readings), lambda: bare_loss(d)),
        "pit": (lambda: steel.pit_loss(A_0, beside, pits), lambda: bare_pit(d[:, 0], p)),
        "adjacent bars": (
            lambda: steel.adjacent_loss(share[:-1], share[1:]),
            lambda: bare_adjacent(loss[:-1], loss[1:]),
        ),
    }[what]
    benchmark.extra_info["ratio to bare numpy"] = best(ours, 5) / best(bare, 5)
    benchmark(ours)
    found = {
        "loss of section": lambda: ours().loss.m_as(""),
        "pit": lambda: ours().loss_p.m_as(""),
        "adjacent bars": lambda: ours().m_as(""),
    }
    wanted = bare() if what == "adjacent bars" else bare()[-1]
    assert np.allclose(found[what](), wanted, rtol=1e-9, atol=1e-12)
