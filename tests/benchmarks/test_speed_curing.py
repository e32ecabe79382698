"""Speed of curing: ten thousand weather histories through the heat model, against bare numpy doing the same sums."""

import numpy as np
import pytest

from deckcalc.curing.formulas import climate, heat
from deckcalc.curing.formulas.hydration import HeatSource

HOURS, CELLS, STEP = 54, 12, 1800.0
SOURCE = HeatSource(1.5e8, 9.7 * 3600, 0.6)
MONTHS = [
    climate.Month(10 - 12 * np.cos(2 * np.pi * m / 12), 20 - 14 * np.cos(2 * np.pi * m / 12), 0.8, 0.5, 3.0, 600.0, 4.0)
    for m in range(12)
]


def histories(count):
    """Return air of many starts, hour by hour round the year and again."""
    year = climate.synthetic_year(MONTHS, extra_days=3)
    starts = np.arange(count) % 8760
    part = {
        name: heat.between_hours(climate.windows(getattr(year, name), starts, HOURS), 2)
        for name in ("temperature", "wind", "sun")
    }
    h = heat.exchange(part["wind"])
    return heat.Air(part["temperature"], h, h, 0.6 * part["sun"])


def model(air, block=500):
    """Run the heat model block by block, as the survey of a year does."""
    found = []
    for first in range(0, air.temperature.shape[1], block):
        cut = slice(first, first + block)
        part = heat.Air(
            *(getattr(air, name)[:, cut] for name in ("temperature", "exchange_top", "exchange_bottom", "sun"))
        )
        made = heat.temperatures(
            heat.Build(0.06, 0.2, 2.0, 2.2e6, 0.09),
            part,
            STEP,
            18.0,
            10.0,
            SOURCE,
            heat.arrhenius(40_000.0, 20.0),
            cells=CELLS,
        )
        found.append(made.age[-1])
    return np.concatenate(found)


def bare_by_blocks(air, block=500):
    """Do the bare sums on the same blocks."""
    return [
        bare(
            heat.Air(
                *(
                    getattr(air, name)[:, i : i + block]
                    for name in ("temperature", "exchange_top", "exchange_bottom", "sun")
                )
            )
        )
        for i in range(0, air.temperature.shape[1], block)
    ]


def bare(air):
    """Do the sums of the scheme with nothing kept and nothing checked: solve, source, age of every cell of every history."""
    steps, width = air.temperature.shape
    dz, a, b = 0.2 / CELLS, 2.0 * CELLS / 0.2, 40_000.0 / 8.314
    store = 2.2e6 * dz / STEP
    fresh = np.clip((0.06 - np.arange(CELLS)[:, None] * dz) / dz, 0, 1)
    rows = int((fresh > 0).sum())
    T = np.full((CELLS, width), 10.0) + fresh * 8.0
    fresh = fresh[:rows]
    age, given = np.zeros((rows, width)), np.zeros((rows, width))
    rate = np.exp(b * (1 / 293.15 - 1 / (T[:rows] + 273.15)))
    for k in range(1, steps):
        top, bottom = 1 / (1 / air.exchange_top[k] + 0.09 + dz / 4), 1 / (1 / air.exchange_bottom[k] + dz / 4)
        new = SOURCE.per_volume * np.exp(-((SOURCE.tau / np.maximum(age + rate * STEP, 1)) ** SOURCE.beta)) * fresh
        right = store * T
        right[:rows] += (new - given) * (dz / STEP)
        given = new
        right[0] += top * (air.temperature[k] + air.sun[k] / air.exchange_top[k])
        right[-1] += bottom * air.temperature[k]
        diagonal = np.full((CELLS, width), store + 2 * a)
        diagonal[0] += top - a
        diagonal[-1] += bottom - a
        for i in range(1, CELLS):
            factor = a / diagonal[i - 1]
            diagonal[i] -= factor * a
            right[i] += factor * right[i - 1]
        right[-1] /= diagonal[-1]
        for i in range(CELLS - 2, -1, -1):
            right[i] = (right[i] + a * right[i + 1]) / diagonal[i]
        T = right
        later = np.exp(b * (1 / 293.15 - 1 / (T[:rows] + 273.15)))
        age += 0.5 * STEP * (rate + later)
        rate = later
    return age


@pytest.fixture(scope="module")
def air(request):
    return histories(10_000 if request.config.getoption("--benchmark-enable") else 200)


def test_both_do_the_same_sums(air):
    small = heat.Air(
        *(getattr(air, name)[:, :50] for name in ("temperature", "exchange_top", "exchange_bottom", "sun"))
    )
    share = np.clip((0.06 - np.arange(CELLS) * 0.2 / CELLS) / (0.2 / CELLS), 0, 1)
    assert model(small) == pytest.approx(bare(small)[share[share > 0] >= 0.5].min(axis=0), rel=1e-9)


@pytest.mark.benchmark(group="ten thousand histories")
def test_histories_through_the_model(benchmark, air):
    benchmark.pedantic(model, args=(air,), rounds=3)


@pytest.mark.benchmark(group="ten thousand histories")
def test_histories_in_bare_numpy(benchmark, air):
    benchmark.pedantic(bare_by_blocks, args=(air,), rounds=3)
