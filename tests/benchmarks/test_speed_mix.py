"""How fast a hundred thousand mixes are, as a ratio: ours against bare numpy, timed in turn in one run.

    pytest tests/benchmarks/test_speed_mix.py --benchmark-enable -s

prints the ratio of medians. No test is judged by the clock; what is asserted is that both ways give the same result.
"""

from statistics import median
from time import perf_counter

import numpy as np
import pytest

from deckcalc import Q, mix
from deckcalc.mix.formulas import uncertainty as sampling

COUNT = 100_000
DRAW = np.random.default_rng(1)
WATER, RATIO = DRAW.uniform(150, 180, COUNT), DRAW.uniform(0.35, 0.55, COUNT)
LOAD = sampling.Load(40, 95, 62, 11.5, 0.015, 0.045, 0.008, 0.011, 3150, 2650, 2600, 1000, 0.06)
ERRORS = sampling.Errors(0.01, 0.02, 0.015, 0.004, 0.008, 0.01)


def by_quantities():
    """Proportion all mixes in one call."""
    return mix.proportions(
        W=Q(WATER, "kg/m³"), w_cm=RATIO, air=Q(6, "%"), b=0.6, rho_dr=Q(1560, "kg/m³"), RD_c=3.15, RD_ca=2.65,
        RD_fa=2.6, rho_w=Q(1000, "kg/m³"),
    )  # fmt: skip


def by_numpy():
    """The same formulas on bare arrays, every line of the record kept."""
    cement = WATER / RATIO
    stone = 0.6 * 1560.0
    V_w, V_c, V_a, V_ca = WATER / 1000, cement / (3.15 * 1000), 0.06, stone / (2.65 * 1000)
    total = V_w + V_c + V_a + V_ca
    left = 1 - total
    if left.min() <= 0:
        raise ValueError("no room for sand")
    return cement, stone, V_w, V_c, V_a, V_ca, total, left, left.copy(), left * 2.6 * 1000


def outcomes_by_numpy():
    """The draws and formulas of `sampling.sample` written out."""
    draw = np.random.default_rng(1)
    e = [draw.normal(0, half / 2, COUNT) for half in (0.01, 0.02, 0.02, 0.015, 0.004, 0.008, 0.01)]
    cement, coarse, fine = 40 * (1 + e[0]), 95 * (1 + e[1]), 62 * (1 + e[2])
    stone, sand = coarse / (1.015 + e[4]) * 1.008, fine / (1.045 + e[5]) * 1.011
    water = 11.5 * (1 + e[3]) + coarse - stone + fine - sand
    solid = cement / 3150 + stone / 2650 + sand / 2600 + water / 1000
    return water / cement, solid / (0.94 - e[6])


@pytest.mark.parametrize(
    ("label", "ours", "plain"),
    [
        ("100 000 mixes proportioned", by_quantities, by_numpy),
        ("100 000 loads drawn", lambda: sampling.sample(LOAD, ERRORS, COUNT), outcomes_by_numpy),
    ],
    ids=["mixes", "loads"],
)
def test_arrays(benchmark, label, ours, plain):
    found, wanted = ours(), plain()
    if len(found) == 2:
        assert np.allclose(found.w_cm, wanted[0]) and np.allclose(found.volume, wanted[1])
    else:
        assert np.allclose(found.C.magnitude, wanted[0]) and np.allclose(found.M_fa.magnitude, wanted[-1])
    pairs = []

    def timed():
        start = perf_counter()
        plain()
        middle = perf_counter()
        ours()
        pairs.append((perf_counter() - middle, middle - start))

    benchmark.pedantic(timed, rounds=1 if benchmark.disabled else 31)
    mine, other = (median(column) for column in zip(*pairs, strict=True))
    ratio = median(a / b for a, b in pairs)
    print(f"\n{label}: {ratio:.2f} times bare numpy ({1e3 * mine:.2f} ms against {1e3 * other:.2f} ms)")
