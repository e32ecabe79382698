"""Speed of the search for layouts: time against the number of holes, members and panels, as ratios in one run."""

import time

import numpy as np

from deckcalc.formwork.formulas import layout

INCH, PSI, FT = 0.0254, 6894.757293, 0.3048
RULES = layout.Rules("uneven", 360, INCH / 16, INCH, 2 * INCH, 3 * INCH, 4 * INCH, 4 * INCH, 50)


def case(holes, members, panels):
    """Return holes and yard of that size."""
    pick = np.random.default_rng(0)
    one, o = np.ones(members), np.ones(panels)
    b, d = pick.choice([1.5, 2.5, 3.5], members) * INCH, pick.choice([3.5, 5.5, 7.25, 9.25], members) * INCH
    lumber = layout.Members(
        b, d, 1000 * PSI * one, 200 * PSI * one, 419 * PSI * one, 1300 * PSI * one, 1.44e6 * PSI * one, 522e3 * PSI * one,
        650 * b * d, 16 * FT * one, 60 * one,
    )  # fmt: skip
    t = np.linspace(0.5, 1.0, panels) * INCH
    boards = layout.Panels(
        t, 600 * t, 1930 * PSI * o, 71.5 * PSI * o, 1.65e6 * PSI * o, 1.5e6 * PSI * o, t**2 / 6 * 0.85, t**3 / 12 * 0.9, 0.7 * t,
        120 * o, 8 * FT * o, 4 * FT * o, 20 * o,
    )  # fmt: skip
    hangers = layout.Hangers(np.array([1500.0, 2400.0, 6000.0]), np.array([3, 3, 4]) * INCH)
    sizes = pick.uniform(0.4, 2.4, (2, holes))
    return (
        layout.Holes(*sizes, np.full(holes, 7600.0), np.zeros(holes), np.full(holes, np.nan)),
        boards,
        lumber,
        hangers,
    )


def timed(work):
    """Return the seconds that a search takes."""
    start = time.perf_counter()
    layout.search(*work, RULES)
    return time.perf_counter() - start


def test_search(benchmark):
    full = benchmark.enabled
    size = (1000, 30, 10) if full else (20, 6, 3)
    work = case(*size)
    benchmark.pedantic(lambda: layout.search(*work, RULES), rounds=3 if full else 1)
    if full:
        times = {}
        for factor in ((1, 1, 1), (2, 1, 1), (4, 1, 1), (1, 2, 1), (1, 1, 2)):
            work = case(*(int(n * f / 4) for n, f in zip(size, factor, strict=True)))
            times[factor] = min(timed(work) for _ in range(3))
        base = times[1, 1, 1]
        benchmark.extra_info["growth by holes, members, panels"] = {
            str(k): round(v / base, 2) for k, v in times.items()
        }
