"""Speed of the chlorides, as ratios in one run: many fits against a loop, many samples against drawing them."""

from __future__ import annotations

import time

import numpy as np
import pytest
from scipy.optimize import curve_fit
from scipy.special import erfc

from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.fit import Profiles, fit_profiles
from deckcalc.chloride.formulas.probability import CHUNK, Exposure, sample

YEAR = 31_557_600.0


def measured(count):
    """Return noisy profiles of six slices."""
    rng = np.random.default_rng(1)
    x = np.tile((np.arange(6) * 12.7 + 6.35) / 1000, (count, 1))
    D, C_s, C_0 = rng.lognormal(np.log(1e-12), 0.4, count), rng.uniform(3, 10, count), rng.uniform(0.1, 0.4, count)
    t = rng.uniform(8, 40, count) * YEAR
    C = C_0[:, None] + (C_s - C_0)[:, None] * erfc(x / (2 * np.sqrt(D * t)[:, None]))
    C = np.abs(C * (1 + 0.03 * rng.standard_normal(C.shape)))
    return Profiles(x, x, C, np.ones(x.shape, bool), t), C_0


def loop(profiles, C_0):
    """Fit one profile after the other with the general library, to the same precision."""
    found = []
    for x, C, t, base in zip(profiles.upper, profiles.content, profiles.age, C_0, strict=True):

        def model(depth, rise, log_d, base=base, t=t):
            return base + rise * erfc(depth / (2 * np.sqrt(np.exp(log_d) * t)))

        best, _ = curve_fit(model, x, C, [C[0] - base, np.log(1e-12)], ftol=1e-14, xtol=1e-14, gtol=1e-14)
        found.append((np.exp(best[1]), best[0] + base))
    return np.array(found)


@pytest.mark.benchmark(group="fits")
def test_many_fits_in_one_call(benchmark, request):
    count = 10_000 if request.config.getoption("benchmark_enable") else 200
    profiles, C_0 = measured(count)
    fits = benchmark(fit_profiles, profiles, C_0)
    start = time.perf_counter()
    one_by_one = loop(profiles, C_0)
    elapsed = time.perf_counter() - start
    good = np.array([not text for text in fits.why])
    assert good.mean() > 0.95
    assert fits.D[good] == pytest.approx(one_by_one[good, 0], rel=1e-6)
    assert fits.C_s[good] == pytest.approx(one_by_one[good, 1], rel=1e-6)
    if benchmark.stats:
        benchmark.extra_info["loop over ours"] = elapsed / benchmark.stats.stats.median


EXPOSURE = Exposure(
    Law("normal", 0.05, 0.01), Law("lognormal", 6, 2), Law("fixed", 0.1), Law("lognormal", 1, 0.2), Law("lognormal", 1e-12, 4e-13),
    Law("fixed", 0.0), 20 * YEAR,
)  # fmt: skip


def bare(count):
    """Draw the same variables in the same chunks, and take one erfc of each."""
    rng = np.random.Generator(np.random.SFC64(1))
    for _ in range(0, count, CHUNK):
        v = {name: law.draw(rng, CHUNK) for name, law in EXPOSURE.laws.items()}
        erfc(v["x"])


@pytest.mark.benchmark(group="samples")
def test_many_samples(benchmark, request):
    count = 10_000_000 if request.config.getoption("benchmark_enable") else 100_000
    made = benchmark.pedantic(sample, (EXPOSURE, [30 * YEAR], count, 1), rounds=3)
    start = time.perf_counter()
    bare(count)
    elapsed = time.perf_counter() - start
    assert 0 < made.share[0] < 1
    if benchmark.stats:
        benchmark.extra_info["ours over drawing and one erfc"] = benchmark.stats.stats.median / elapsed
